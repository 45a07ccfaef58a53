//! A plan at fixed stations, for the virtual shop whose truth is the section beam: every brace of a run shares all but its
//! heights and its wood.

use crate::carve::Plan;
use crate::error::Result;
use crate::mechanics::quadrature::{gauss, merge_breaks};
use crate::mechanics::section_law::SectionLaw;
use crate::rig::Rig;

/// Gauss points between two kinks: the wood goes straight between its places, and knots are short.
const POINTS: usize = 4;

/// The stations, and what a load asks at each of them.
pub(super) struct Stations {
    pub x_mm: Vec<f64>,
    /// Length each stands for, mm.
    weight: Vec<f64>,
    /// Deflection at the dial is the sum of `bend` / EI and `shear` / GA.
    bend: Vec<f64>,
    shear: Vec<f64>,
    /// Heights before the layers and after all of them, mm.
    start_mm: Vec<f64>,
    end_mm: Vec<f64>,
    law: SectionLaw,
    width_mm: f64,
    /// Cell of the places at which the wood is drawn, and how far into it.
    cell: Vec<(usize, f64)>,
    density: f64,
}

impl Stations {
    /// `None` where the brace has what this form does not: half-laps, or an arched glue face.
    pub fn new(plan: &Plan, rig: &Rig, places_mm: &[f64]) -> Result<Option<Self>> {
        let brace = plan.at_depth(0.0)?;
        let solid = brace.solid()?;
        if !brace.profile().half_laps().is_empty() || solid.arch.is_some() {
            return Ok(None);
        }
        let (loads, supports, at) = rig.on(&brace, 0.0)?;
        let end = plan.at_depth(plan.whole_depth_mm())?;
        let statics = brace.statics(&loads, &supports, at)?;
        let kinks = [solid.kinks(), end.solid()?.kinks(), statics.kinks.clone(), places_mm.to_vec()];
        let lists: Vec<&[f64]> = kinks.iter().map(Vec::as_slice).collect();
        let length = brace.length_mm();
        let breaks = merge_breaks(0.0, length, &lists, 1e-6 * length);
        let (t, w) = gauss(POINTS);
        let (mut x_mm, mut weight) = (Vec::new(), Vec::new());
        for pair in breaks.windows(2) {
            let long = pair[1] - pair[0];
            for (t, w) in t.iter().zip(w) {
                x_mm.push(pair[0] + long * t);
                weight.push(long * w);
            }
        }
        let mut bend = Vec::new();
        let mut shear = Vec::new();
        for (x, w) in x_mm.iter().zip(&weight) {
            let ((m, v), (m1, v1)) = (statics.loaded.moment_and_shear(*x), statics.unit.moment_and_shear(*x));
            bend.push(w * m * m1);
            shear.push(1.2 * w * v * v1);
        }
        let cell = x_mm
            .iter()
            .map(|x| {
                let i = places_mm.partition_point(|p| p <= x).clamp(1, places_mm.len() - 1) - 1;
                (i, ((x - places_mm[i]) / (places_mm[i + 1] - places_mm[i])).clamp(0.0, 1.0))
            })
            .collect();
        let mut start_mm = vec![0.0; x_mm.len()];
        let mut end_mm = start_mm.clone();
        brace.profile().crest().fill(&x_mm, &mut start_mm);
        end.profile().crest().fill(&x_mm, &mut end_mm);
        Ok(Some(Self {
            law: SectionLaw::new(&solid.outline),
            width_mm: brace.width_mm(),
            density: brace.blank().density_kg_m3() * 1e-6,
            x_mm,
            weight,
            bend,
            shear,
            start_mm,
            end_mm,
            cell,
        }))
    }

    pub fn start_mm(&self) -> Vec<f64> {
        self.start_mm.clone()
    }

    /// Height of the plan at a station and depth, mm.
    pub fn planned_mm(&self, i: usize, depth_mm: f64) -> f64 {
        (self.start_mm[i] - depth_mm).max(self.end_mm[i])
    }

    /// Between the places at which the wood is drawn.
    pub fn drawn(&self, i: usize, at_places: &[f64]) -> f64 {
        let (k, t) = self.cell[i];
        at_places[k] + t * (at_places[k + 1] - at_places[k])
    }

    /// Deflection at the dial, mm; `moduli` are E and G at a station, MPa.
    pub fn deflection_mm(&self, height_mm: &[f64], moduli: impl Fn(usize) -> (f64, f64)) -> f64 {
        let mut sum = 0.0;
        for (i, h) in height_mm.iter().enumerate() {
            if self.bend[i] == 0.0 && self.shear[i] == 0.0 {
                continue;
            }
            let (area, inertia) = self.law.at::<false>(h.max(1e-9));
            let (e, g) = moduli(i);
            sum += self.bend[i] / (e * self.width_mm * inertia) + self.shear[i] / (g * self.width_mm * area);
        }
        sum
    }

    /// Mass at the plan's density, g.
    pub fn mass_g(&self, height_mm: &[f64]) -> f64 {
        let volume: f64 = height_mm.iter().zip(&self.weight).map(|(h, w)| w * self.law.at::<false>(h.max(1e-9)).0).sum();
        volume * self.width_mm * self.density
    }
}
