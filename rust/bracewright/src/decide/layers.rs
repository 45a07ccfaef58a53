//! Layers that may come off a crest, and how much all of them together may take at every station.

use super::places::{Place, PlaceLimits};
use crate::bench::limits::strength_mpa;
use crate::brace::Brace;
use crate::error::Result;
use crate::mechanics::pieces::Pieces;
use crate::profile::{Blend, through};

/// Part of a place over which its layer runs out at either end.
const RUN_OUT: f64 = 0.25;
/// The same, mm, at most.
const LONGEST_RUN_MM: f64 = 40.0;
/// Stations at which height and strength are looked at, besides the breaks of crest and layers.
const STATIONS: usize = 401;
/// Shortest layer, mm.
const SHORTEST_MM: f64 = 5.0;
/// A station whose wood is thinner than this has no stress to speak of, mm.
const NO_WOOD_MM: f64 = 0.5;

/// One layer of 1 mm.
pub(super) struct Layer {
    /// Where it lies: the place, or as much of it as has height and strength to give, mm.
    pub from_mm: f64,
    pub to_mm: f64,
    /// Its depth along the brace.
    pub shape: Pieces,
    /// The same at the stations.
    pub at: Vec<f64>,
    /// How deep it may go by itself, mm, and whether strength ends it.
    pub room_mm: f64,
    pub held_by_strength: bool,
}

/// All layers on one brace.
pub(super) struct Layers {
    pub layers: Vec<Layer>,
    /// What may come off at each station by height and strength, mm.
    pub allowed_mm: Vec<f64>,
}

impl Layers {
    pub fn new(brace: &Brace, places: &[Place], limits: &PlaceLimits) -> Result<Self> {
        let length = brace.length_mm();
        let mut x = brace.stations_mm(STATIONS);
        x.extend(brace.profile().crest().breaks().iter().filter(|v| (0.0..=length).contains(*v)));
        x.extend(places.iter().flat_map(|p| [p.from_mm, p.to_mm]));
        x.sort_by(f64::total_cmp);
        x.dedup_by(|a, b| (*a - *b).abs() < 1e-6);
        let (allowed_mm, by_strength) = allowed(brace, &x, limits)?;
        let layers = places
            .iter()
            .map(|p| {
                let (from_mm, to_mm) = stretch(p, &x, &allowed_mm, limits.smallest_shaving_mm.max(1e-3));
                let shape = layer(from_mm, to_mm, length);
                let at: Vec<f64> = x.iter().map(|v| shape.at(*v).max(0.0)).collect();
                let mut room = (f64::INFINITY, false);
                for (k, part) in at.iter().enumerate().filter(|(_, s)| **s > 1e-6) {
                    if allowed_mm[k] / part < room.0 {
                        room = (allowed_mm[k] / part, by_strength[k]);
                    }
                }
                Layer { from_mm, to_mm, shape, at, room_mm: room.0, held_by_strength: room.1 }
            })
            .collect();
        Ok(Self { layers, allowed_mm })
    }

    /// The brace with every layer taken off to its depth.
    pub fn lowered(&self, brace: &Brace, depth_mm: &[f64]) -> Brace {
        let crest = self
            .layers
            .iter()
            .zip(depth_mm)
            .filter(|(_, d)| **d > 0.0)
            .fold(brace.profile().crest().clone(), |c, (l, d)| c.combined(&l.shape, 1.0, -d));
        brace.with_crest(crest)
    }

    /// The deepest that all of them together go anywhere, mm.
    pub fn deepest_mm(&self, depth_mm: &[f64]) -> f64 {
        (0..self.allowed_mm.len())
            .map(|k| self.layers.iter().zip(depth_mm).map(|(l, d)| l.at[k] * d).sum::<f64>())
            .fold(0.0, f64::max)
    }
}

/// A layer of 1 mm, its ends run out in half-cosines; at an end of the brace it stays whole.
fn layer(from_mm: f64, to_mm: f64, length: f64) -> Pieces {
    let run = (RUN_OUT * (to_mm - from_mm)).min(LONGEST_RUN_MM);
    let (mut at, mut height, mut blend) = (Vec::new(), Vec::new(), Vec::new());
    if from_mm > 1e-9 {
        at.extend([0.0, from_mm, from_mm + run]);
        height.extend([0.0, 0.0, 1.0]);
        blend.extend([Blend::Straight, Blend::Cosine]);
    } else {
        at.push(0.0);
        height.push(1.0);
    }
    if to_mm < length - 1e-9 {
        at.extend([to_mm - run, to_mm, length]);
        height.extend([1.0, 0.0, 0.0]);
        blend.extend([Blend::Straight, Blend::Cosine, Blend::Straight]);
    } else {
        at.push(length);
        height.push(1.0);
        blend.push(Blend::Straight);
    }
    through(&at, &height, &blend)
}

/// The longest stretch of a place with more than `least` to give; all of it where there is none.
fn stretch(place: &Place, x: &[f64], allowed: &[f64], least: f64) -> (f64, f64) {
    let (mut best, mut start) = ((place.from_mm, place.from_mm), None);
    for (v, a) in x.iter().zip(allowed).filter(|(v, _)| **v >= place.from_mm - 1e-6 && **v <= place.to_mm + 1e-6) {
        start = if *a > least { start.or(Some(*v)) } else { None };
        if let Some(from) = start.filter(|s| v - s > best.1 - best.0 + 1e-9) {
            best = (from, *v);
        }
    }
    if best.1 - best.0 < SHORTEST_MM {
        return (place.from_mm, place.to_mm);
    }
    (best.0.max(place.from_mm), best.1.min(place.to_mm))
}

/// What may come off at each station, mm: down to the smallest height, and to where strength is the least margin times the
/// stress. True where strength ends it.
fn allowed(brace: &Brace, x: &[f64], limits: &PlaceLimits) -> Result<(Vec<f64>, Vec<bool>)> {
    let height: Vec<f64> = x.iter().map(|v| brace.profile().crest().at(*v)).collect();
    let by_height: Vec<f64> = height.iter().map(|h| (h - limits.smallest_height_mm).max(0.0)).collect();
    let Some(moment) = limits.working_moment_n_m else {
        let none = vec![false; x.len()];
        return Ok((by_height, none));
    };
    let most = strength_mpa(brace.blank().wood(), limits.bending_strength_mpa)? / limits.least_margin;
    let lines = vec![Blend::Straight; x.len() - 1];
    // the stress at a station depends on the height there alone, so all stations are halved together
    let strong = |off: &[f64]| -> Result<Vec<bool>> {
        let lowered: Vec<f64> = height.iter().zip(off).map(|(h, t)| h - t).collect();
        let a = brace.with_crest(through(x, &lowered, &lines)).along(x)?;
        let modulus = a.modulus_crest_mm3.iter().zip(&a.modulus_glue_mm3).map(|(c, g)| c.min(*g));
        Ok(modulus.map(|w| w > 0.0 && 1000.0 * moment <= most * w).collect())
    };
    let whole = strong(&by_height)?;
    let (mut low, mut high) = (vec![0.0; x.len()], by_height.clone());
    for _ in 0..30 {
        let middle: Vec<f64> = low.iter().zip(&high).map(|(l, h)| 0.5 * (l + h)).collect();
        for (k, ok) in strong(&middle)?.into_iter().enumerate() {
            if ok { low[k] = middle[k] } else { high[k] = middle[k] }
        }
    }
    let held: Vec<bool> = (0..x.len()).map(|k| !whole[k] && height[k] > NO_WOOD_MM && by_height[k] > 0.0).collect();
    Ok(((0..x.len()).map(|k| if held[k] { low[k] } else { by_height[k] }).collect(), held))
}
