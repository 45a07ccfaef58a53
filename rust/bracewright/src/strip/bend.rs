//! A strip under loads, by the plate with its rib.

use serde::{Deserialize, Serialize};

use super::mesh::{Fineness, across, along};
use super::recovered::Lines;
use super::{Strip, lag};
use crate::error::{Error, Result, within};
use crate::mechanics::plate::PlateLaw;
use crate::mechanics::ribbed::{Cells, Factor, Rib, RibDegrees, Ribbed};
use crate::mechanics::section_beam::{self, Flexibility};

/// Most loads, and most places read, of one call.
const MOST_LOADS: usize = 24;
const MOST_PLACES: usize = 2000;

/// What a load presses on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum PressedOn {
    /// The outer face of the top, over the width of the brace.
    Top,
    /// The crest of the brace.
    Crest,
}

/// A force on a strip.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct GluedLoad {
    /// Middle of the pad, mm along the brace.
    pub at_mm: f64,
    /// Force, N; positive bends the strip towards the brace where it presses on the top, away from it on the crest: in both it
    /// pushes into the wood.
    pub load_n: f64,
    /// Length of the pad along the brace, mm; near an end it shrinks about its middle.
    pub pad_mm: f64,
    /// What it presses on.
    pub on: PressedOn,
}

/// The answer. Deflections are positive the way a load on the top pushes, and count from the line through the brace's ends.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct GluedBend {
    /// Where along the brace, mm.
    pub x_mm: Vec<f64>,
    /// Deflection at the glue line, mm.
    pub deflection_mm: Vec<f64>,
    /// Its discretisation error, mm: what the last step of refinement changed.
    pub discretisation_mm: Vec<f64>,
    /// Deflection of the transformed section with the whole strip for a flange, mm, to compare.
    pub whole_width_deflection_mm: Vec<f64>,
    /// Flange with which the transformed section deflects as much as the strip does at its first place, mm; `None` where no
    /// width does.
    pub effective_width_mm: Option<f64>,
    /// Stress along the brace at its crest, MPa, tension positive.
    pub crest_mpa: Vec<f64>,
    /// The same at its glue face.
    pub foot_mpa: Vec<f64>,
    /// Discretisation error of either, MPa: what the last step of refinement changed.
    pub stress_discretisation_mpa: Vec<f64>,
    /// Stress of the top along the brace on its outer face under the brace's middle, MPa; where the grain slants it comes out up to
    /// an eighth too great (one cell spans the brace there).
    pub top_mpa: Vec<f64>,
    /// Moment, N m, and shear, N, that the strip carries there: of the loads, on supports at its ends.
    pub moment_n_m: Vec<f64>,
    /// See `moment_n_m`.
    pub shear_n: Vec<f64>,
}

/// Change of the crest between two kinks, as a part of its greatest height, from which on several elements follow it.
const STEEP_PART: f64 = 0.1;

/// A solved strip.
pub(super) struct Solved {
    plate: Ribbed,
    unknowns: Vec<f64>,
    start: f64,
    length: f64,
    lines: Lines,
}

impl Strip {
    /// Deflection and stresses at places along the brace under loads, the ends of the strip held vertically over their faces.
    pub fn bend(&self, loads: &[GluedLoad], read_mm: &[f64]) -> Result<GluedBend> {
        self.check(loads, read_mm)?;
        let at_mm = read_mm;
        let (fine, coarse) = rayon::join(|| self.solved(loads, Fineness::ORDINARY), || self.solved(loads, Fineness::COARSER));
        let (fine, coarse) = (fine?, coarse?);
        let deflection_mm: Vec<f64> = at_mm.iter().map(|x| fine.deflection(*x)).collect();
        if deflection_mm.iter().any(|d| !d.is_finite()) {
            return Err(no_stiffness());
        }
        let discretisation_mm = at_mm.iter().zip(&deflection_mm).map(|(x, d)| (coarse.deflection(*x) - d).abs()).collect();
        let beam = self.on_beam(loads);
        let whole = self.section_deflection(&beam, self.width_mm, at_mm)?;
        let effective_width_mm = match (at_mm.first(), deflection_mm.first()) {
            (Some(x), Some(d)) => self.flange_for(&beam, *x, *d)?,
            _ => None,
        };
        let stresses = fine.stresses(at_mm).ok_or_else(no_stiffness)?;
        let rough = coarse.stresses(at_mm).ok_or_else(no_stiffness)?;
        let moved = stresses.iter().zip(&rough).map(|(a, b)| (a[0] - b[0]).abs().max((a[1] - b[1]).abs())).collect();
        let (moment_n_m, shear_n) = self.statics(&beam, at_mm)?;
        Ok(GluedBend {
            x_mm: at_mm.to_vec(),
            deflection_mm,
            discretisation_mm,
            whole_width_deflection_mm: whole,
            effective_width_mm,
            crest_mpa: stresses.iter().map(|s| s[0]).collect(),
            foot_mpa: stresses.iter().map(|s| s[1]).collect(),
            stress_discretisation_mpa: moved,
            top_mpa: stresses.iter().map(|s| s[2]).collect(),
            moment_n_m,
            shear_n,
        })
    }

    pub(super) fn check(&self, loads: &[GluedLoad], read_mm: &[f64]) -> Result<()> {
        if loads.is_empty() {
            return Err(Error::BadList { name: "load_n".into(), problem: "is empty; give at least one load".into() });
        }
        for (name, count, most) in [("load_n", loads.len(), MOST_LOADS), ("read_mm", read_mm.len(), MOST_PLACES)] {
            if count > most {
                return Err(Error::BadList { name: name.into(), problem: format!("has {count} values; give {most} at most") });
            }
        }
        let l = self.brace.length_mm();
        for (i, q) in loads.iter().enumerate() {
            within(&format!("at_mm[{i}]"), q.at_mm, "mm", 0.0, l)?;
            within("pad_mm", q.pad_mm, "mm", 1.0, 500.0)?;
            within(&format!("load_n[{i}]"), q.load_n, "N", -1e6, 1e6)?;
        }
        if read_mm.is_empty() {
            return Err(Error::BadList { name: "read_mm".into(), problem: "is empty; give at least one place, mm".into() });
        }
        if self.brace.profile().tallest_mm() <= 0.0 {
            return Err(Error::Refused("the brace has no height".into()));
        }
        self.brace.profile().on_brace("read_mm", read_mm)
    }

    /// Ends of a load's pad along the brace.
    fn pad(&self, load: &GluedLoad) -> (f64, f64) {
        self.brace.pad_on(load.at_mm, load.pad_mm)
    }

    pub(super) fn solved(&self, loads: &[GluedLoad], fine: Fineness) -> Result<Solved> {
        let solid = self.brace.solid()?;
        let (start, length) = (self.start_mm(), self.length_mm);
        let busy: Vec<f64> = loads
            .iter()
            .flat_map(|l| {
                let (a, b) = self.pad(l);
                [a + start, b + start]
            })
            .chain([start, start + self.brace.length_mm()])
            .collect();
        let kinks: Vec<f64> = solid.sharp_kinks().iter().map(|x| x + start).collect();
        let crest = &solid.crest;
        let tallest = solid.tallest();
        // where the crest falls by much between two kinks, one element would bridge the hollow
        let steep = |a: f64, b: f64| {
            let at = |t: f64| crest.at((a + t * (b - a) - start).clamp(crest.start(), crest.end()));
            let heights = [0.0, 0.25, 0.5, 0.75, 1.0].map(at);
            heights.iter().fold(0.0, |m, h| f64::max(m, *h)) - heights.iter().fold(f64::MAX, |m, h| m.min(*h))
                > STEEP_PART * tallest
        };
        let x = along(length, &kinks, &busy, fine, &steep);
        let y = across(self.width_mm, self.brace.width_mm(), fine);
        let grid = Cells::grid(&x, &y);
        // the brace lies in the middle row
        let (n, row) = (x.len() - 1, (y.len() - 1) / 2);
        let cells = (0..n)
            .filter(|i| {
                let middle = 0.5 * (x[*i] + x[i + 1]);
                middle > start && middle < start + self.brace.length_mm()
            })
            .map(|i| row * n + i)
            .collect();
        let own = x.iter().map(|x| x - start).filter(|x| *x > -0.49 && *x < self.brace.length_mm() + 0.49).collect();
        let lines = Lines::new(own, &solid, &busy.iter().map(|x| x - start).collect::<Vec<_>>());
        let rib = Rib {
            solid,
            laws: self.brace.blank().rib_laws()?,
            density: self.brace.blank().density_kg_m3() * 1e-12,
            start: [start, 0.0],
            direction: [1.0, 0.0],
            cells,
        };
        let law = self.plate_law();
        let mirrored = alike(&law, &rib);
        let plate = Ribbed::new(grid, law, self.thickness_mm, vec![rib], RibDegrees::RICH, mirrored);
        let factor = plate.factor(&held(&plate, length, mirrored)).ok_or_else(no_stiffness)?;
        let mut load = vec![0.0; plate.unknowns()];
        let half = 0.5 * self.brace.width_mm();
        for l in loads {
            let (a, b) = self.pad(l);
            let of = match l.on {
                PressedOn::Top => plate.pressed([a + start, b + start], [-half, half], l.load_n),
                PressedOn::Crest => plate.pressed_on_crest(0, [a, b], -l.load_n),
            };
            load.iter_mut().zip(of).for_each(|(sum, v)| *sum += v);
        }
        Ok(Solved::new(plate, &factor, load, start, self.brace.length_mm(), lines))
    }

    /// The loads as a beam has them, from the strip's left end, positive as they push on the top.
    pub(super) fn on_beam(&self, loads: &[GluedLoad]) -> Vec<section_beam::Load> {
        loads
            .iter()
            .map(|l| {
                let (a, b) = self.pad(l);
                let sign = if l.on == PressedOn::Top { 1.0 } else { -1.0 };
                section_beam::Load::spread(a + self.start_mm(), b + self.start_mm(), sign * l.load_n)
            })
            .collect()
    }

    fn flexibility(&self, loads: &[section_beam::Load], width: f64, at: &[f64]) -> Result<Flexibility> {
        let solid = self.brace.solid()?;
        let start = self.start_mm();
        let (e_brace, e_plate) = (self.brace.modulus_x_mpa()?, self.plate_modulus_mpa()?);
        let g_brace = 1000.0 * self.brace.blank().stiffness()?.g_xz_gpa;
        let g_plate = self.plate_law().shear[0][0];
        let kinks: Vec<f64> = solid.kinks().iter().map(|x| x + start).chain([0.0, self.length_mm]).collect();
        let supports = self.beam_supports();
        let breaks = Flexibility::breaks_for(&sorted(kinks), loads, &supports, at);
        Ok(Flexibility::new(breaks, section_beam::POINTS, |x, inside| {
            let (x, inside) = (x - start, inside - start);
            let alone = 1.0 / (e_plate * width * self.thickness_mm.powi(3) / 12.0);
            if inside < 0.0 || inside > self.brace.length_mm() {
                return (alone, 1.2 / (g_plate * width * self.thickness_mm));
            }
            let m = solid.moments(x, inside, true);
            if m.area <= 1e-9 {
                return (alone, 1.2 / (g_plate * width * self.thickness_mm));
            }
            let upper = (e_brace, m.area, m.centroid(), m.about_centroid().max(0.0));
            let c = super::composite(upper, (e_plate, width, self.thickness_mm));
            // the top under the brace and its own thickness on either side shears along
            let along = (self.brace.width_mm() + 2.0 * self.thickness_mm).min(width) * self.thickness_mm;
            (1.0 / c.ei, 1.2 / (g_brace * m.area + g_plate * along))
        }))
    }

    fn beam_supports(&self) -> [section_beam::Support; 2] {
        [section_beam::Support::rest(0.0), section_beam::Support::rest(self.length_mm)]
    }

    /// Deflection of the transformed section with a flange of some width, from the line through the brace's ends, mm.
    pub(super) fn section_deflection(&self, loads: &[section_beam::Load], width: f64, at_mm: &[f64]) -> Result<Vec<f64>> {
        let (start, length) = (self.start_mm(), self.brace.length_mm());
        let mut at: Vec<f64> = at_mm.iter().map(|x| x + start).collect();
        at.extend([start, start + length]);
        let flex = self.flexibility(loads, width, &at)?;
        let solved = flex.solve(loads, &self.beam_supports()).ok_or_else(crate::brace::bend::unheld)?;
        let mut d = flex.deflections(&solved, &at);
        let (right, left) = (d.pop().unwrap_or(0.0), d.pop().unwrap_or(0.0));
        Ok(d.iter().zip(at_mm).map(|(d, x)| d - left - (right - left) * x / length).collect())
    }

    /// Moment, N m, and shear, N.
    fn statics(&self, loads: &[section_beam::Load], at_mm: &[f64]) -> Result<(Vec<f64>, Vec<f64>)> {
        // just inside the supports, where their forces count
        let step = 1e-9 * self.length_mm;
        let at: Vec<f64> = at_mm.iter().map(|x| (x + self.start_mm()).clamp(step, self.length_mm - step)).collect();
        let flex = self.flexibility(loads, self.width_mm, &at)?;
        let solved = flex.solve(loads, &self.beam_supports()).ok_or_else(crate::brace::bend::unheld)?;
        Ok(at
            .iter()
            .map(|x| {
                let (m, v) = solved.moment_and_shear(*x);
                (m * 1e-3, v)
            })
            .unzip())
    }

    /// What the ends of the strip press on their supports, N; below 0 they lift.
    pub(super) fn end_forces(&self, loads: &[GluedLoad]) -> Result<(f64, f64)> {
        let beam = self.on_beam(loads);
        let flex = self.flexibility(&beam, self.width_mm, &[])?;
        let solved = flex.solve(&beam, &self.beam_supports()).ok_or_else(crate::brace::bend::unheld)?;
        let of = |k: usize| solved.reactions().get(k).map_or(0.0, |r| r.1);
        Ok((of(0), of(1)))
    }

    /// Width of flange with which the transformed section deflects by so much at a place.
    fn flange_for(&self, loads: &[section_beam::Load], x_mm: f64, deflection_mm: f64) -> Result<Option<f64>> {
        let of = |width: f64| Ok::<f64, Error>(self.section_deflection(loads, width, &[x_mm])?[0] / deflection_mm - 1.0);
        lag::falling_root(of, 0.01 * self.width_mm, 4.0 * self.width_mm)
    }
}

fn sorted(mut x: Vec<f64>) -> Vec<f64> {
    x.sort_by(f64::total_cmp);
    x.dedup();
    x
}

fn no_stiffness() -> Error {
    Error::Refused("the strip cannot be solved: somewhere brace and top are too thin or too soft to be resolved".into())
}

/// Whether plate and rib are alike on both sides of the brace's middle.
fn alike(law: &PlateLaw, rib: &Rib) -> bool {
    let none = |v: f64, of: f64| v.abs() < 1e-9 * of;
    let (p, s) = (&law.plane, &law.shear);
    let plate = none(p[0][2], p[0][0]) && none(p[1][2], p[0][0]) && none(s[0][1], s[0][0]);
    plate && rib.laws.iter().all(|l| (0..3).all(|i| none(l.c[i][3], l.c[0][0]) && none(l.c[i][4], l.c[0][0])))
}

/// Ends held vertically; against sliding and turning in the plane no more than that.
fn held(plate: &Ribbed, length: f64, mirrored: bool) -> Vec<usize> {
    let mut out = Vec::new();
    let (mut first, mut last) = (None, None);
    for (k, p) in plate.cells().nodes.iter().enumerate() {
        let (left, right) = (p[0] <= 1e-9, p[0] >= length - 1e-9);
        if left || right {
            out.push(plate.deflection_of(k));
        }
        // the node nearest the middle line
        for (is, best) in [(left, &mut first), (right, &mut last)] {
            if is && best.is_none_or(|(d, _)| p[1].abs() < d) {
                *best = Some((p[1].abs(), k));
            }
        }
    }
    if let (Some((_, a)), Some((_, b))) = (first, last) {
        let ([along, across], [_, far]) = (plate.sliding_of(a), plate.sliding_of(b));
        out.push(along);
        if !mirrored {
            out.extend([across, far]);
        }
    }
    out
}

impl Solved {
    fn new(plate: Ribbed, factor: &Factor, load: Vec<f64>, start: f64, length: f64, lines: Lines) -> Self {
        let unknowns = factor.solve(&load);
        Self { plate, unknowns, start, length, lines }
    }

    /// Deflection at the glue line from the line through the brace's ends.
    pub fn deflection(&self, x: f64) -> f64 {
        let at = |x: f64| self.plate.deflection(&self.unknowns, x + self.start, 0.0).unwrap_or(f64::NAN);
        let (left, right) = (at(0.0), at(self.length));
        at(x) - left - (right - left) * x / self.length
    }

    /// Stress along the brace at crest and foot, and of the top on its outer face, at each place. `None` off the brace.
    pub fn stresses(&self, at: &[f64]) -> Option<Vec<[f64; 3]>> {
        let weights: Vec<_> = at.iter().map(|x| self.lines.weights(*x)).collect();
        let mut known: Vec<Option<[f64; 3]>> = vec![None; self.lines.points().len()];
        let wanted: Vec<usize> = {
            let mut all: Vec<usize> = weights.iter().flatten().map(|w| w.0).collect();
            all.sort_unstable();
            all.dedup();
            all
        };
        let step = 1e-6 * self.length;
        let places: Vec<f64> = wanted.iter().map(|k| self.lines.points()[*k].clamp(step, self.length - step)).collect();
        let asked: Vec<(f64, f64, f64)> = places.iter().flat_map(|x| [1.0, 0.0].map(|part| (*x, *x, part))).collect();
        let rib = self.plate.rib_stresses(&self.unknowns, 0, &asked)?;
        for ((k, x), rib) in wanted.iter().zip(&places).zip(rib.chunks_exact(2)) {
            let plate = self.plate.plate_stress(&self.unknowns, x + self.start, 0.0, -1.0)?;
            known[*k] = Some([rib[0][0], rib[1][0], plate[0]]);
        }
        weights
            .iter()
            .map(|w| {
                w.iter().try_fold([0.0; 3], |sum, (k, w)| {
                    let s = known[*k]?;
                    Some([0, 1, 2].map(|i: usize| sum[i] + w * s[i]))
                })
            })
            .collect()
    }
}
