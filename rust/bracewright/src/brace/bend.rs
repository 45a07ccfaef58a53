//! Bending a brace under loads: both beams, side by side.

use serde::{Deserialize, Serialize};

use super::Brace;
use crate::error::{Error, Result, finite, not_negative, number, positive, within};
use crate::mechanics::resolved::{Degrees, Face, Hold, Law, Patch, Resolved};
use crate::mechanics::section_beam::{self, Flexibility};

/// Gravity, m/s2 (standard, ISO 80000-3).
pub const GRAVITY_M_S2: f64 = 9.80665;

/// Longest element of the depth-resolved beam, as a part of the greatest height.
pub(crate) const ELEMENT_PER_HEIGHT: f64 = 0.75;

/// Relative discretisation error above which the beam is resolved further.
pub(crate) const TOLERANCE: f64 = 1e-3;

/// Half a pad that is left at the very end of a brace, mm.
const SMALLEST_HALF_PAD_MM: f64 = 0.25;

/// Slope of the crest from which on every answer is resolved one step finer: tan of 25 degrees. The ordinary step is 2 %
/// off on walls of 40 degrees.
const STEEP: f64 = 0.466;

/// A downward force spread over a pad.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Load {
    /// Middle of the pad, mm from the left end.
    pub x_mm: f64,
    /// Force, N, downward.
    pub force_n: f64,
    /// Length of the pad along the brace, mm.
    pub pad_mm: f64,
    /// The face it presses on; [`Face::Body`] spreads it through the height, so that no dent is part of the answer.
    pub face: Face,
}

/// What holds the brace.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub enum Support {
    /// A pad under the glue face.
    Pad {
        /// Middle, mm.
        x_mm: f64,
        /// Length along the brace, mm.
        pad_mm: f64,
        /// Give, mm/N.
        give_mm_per_n: f64,
    },
    /// The whole section is kept from moving vertically.
    Held {
        /// Where, mm.
        x_mm: f64,
    },
    /// The whole section is kept from moving or turning.
    Clamped {
        /// Where, mm.
        x_mm: f64,
    },
}

impl Support {
    /// Its middle, mm.
    pub(crate) fn x_mm(&self) -> f64 {
        match *self {
            Support::Pad { x_mm, .. } | Support::Held { x_mm } | Support::Clamped { x_mm } => x_mm,
        }
    }
}

/// The answer of both beams.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Bend {
    /// Where, mm.
    pub x_mm: Vec<f64>,
    /// Deflection by the depth-resolved beam, mm, downward: the one to act on.
    pub deflection_mm: Vec<f64>,
    /// Its discretisation error, mm: the last step of refinement.
    pub discretisation_mm: Vec<f64>,
    /// Deflection by the section beam, mm, to compare.
    pub section_deflection_mm: Vec<f64>,
    /// Moment, N m, sagging positive, at each place.
    pub moment_n_m: Vec<f64>,
    /// Upward force of each support, N.
    pub reaction_n: Vec<f64>,
}

/// Which beam to solve how finely.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Resolution {
    pub degrees: Degrees,
    /// Longest element.
    pub element_mm: f64,
    /// Longest element of a bend where the crest is calm; what vibrates or is differentiated keeps to the other.
    pub stretched_mm: f64,
}

impl Brace {
    /// Resolution at which answers are given: 0 ordinary, -1 coarser, 1 finer; each one step finer on a steep brace.
    pub(crate) fn resolution(&self, step: i32) -> Resolution {
        let crest = self.profile.crest();
        let size = ELEMENT_PER_HEIGHT * self.profile.tallest_mm();
        let of = |degrees, element: f64, stretched: f64| Resolution {
            degrees,
            element_mm: element * size,
            stretched_mm: stretched * size,
        };
        match step + i32::from(crest.steepest() > STEEP) {
            ..=-1 => of(Degrees { along: 4, across: 3, order: 4 }, 1.6, 2.5),
            0 => of(Degrees::ORDINARY, 1.0, 2.5),
            1 => of(Degrees::FINER, 0.5, 0.5),
            _ => of(Degrees::FINER, 0.3, 0.3),
        }
    }

    /// Deflection, moments and reactions under loads. `dial` is the face read.
    pub fn bend(&self, loads: &[Load], supports: &[Support], at_mm: &[f64], dial: Face) -> Result<Bend> {
        self.check_loads(loads, supports, at_mm)?;
        let (fine, (coarse, section)) = rayon::join(
            || self.resolved_bend(loads, supports, at_mm, dial, self.resolution(0)),
            || {
                let coarse = self.resolved_bend(loads, supports, at_mm, dial, self.resolution(-1));
                (coarse, self.section_bend(loads, supports, at_mm))
            },
        );
        let (fine, coarse, section) = (fine?, coarse?, section?);
        let far = |a: &[f64], b: &[f64]| -> Vec<f64> { a.iter().zip(b).map(|(a, b)| (a - b).abs()).collect() };
        let mut discretisation = far(&fine.0, &coarse.0);
        let mut best = fine;
        let size = best.0.iter().fold(0.0_f64, |m, v| m.max(v.abs()));
        if discretisation.iter().any(|d| *d > TOLERANCE * size) {
            let finer = self.resolved_bend(loads, supports, at_mm, dial, self.resolution(1))?;
            discretisation = far(&finer.0, &best.0);
            best = finer;
        }
        Ok(Bend {
            x_mm: at_mm.to_vec(),
            deflection_mm: best.0,
            discretisation_mm: discretisation,
            section_deflection_mm: section.0,
            moment_n_m: section.1,
            reaction_n: best.1,
        })
    }

    fn check_loads(&self, loads: &[Load], supports: &[Support], at_mm: &[f64]) -> Result<()> {
        let l = self.length_mm();
        let pad_on = |what: &str, x: f64, pad: f64| -> Result<()> {
            finite(&format!("x_mm of {what}"), x, "mm")?;
            positive(&format!("pad_mm of {what}"), pad, "mm")?;
            within(&format!("pad_mm of {what}"), pad, "mm", 0.01, 1000.0)?;
            if x < 0.0 || x > l {
                return Err(Error::OutOfRange {
                    quantity: format!("x_mm of {what}"),
                    value: x,
                    unit: "mm",
                    allowed: format!("on the brace, from 0 to {} mm", number(l)),
                });
            }
            Ok(())
        };
        for (i, q) in loads.iter().enumerate() {
            pad_on(&format!("load {}", i + 1), q.x_mm, q.pad_mm)?;
            finite(&format!("force_n of load {}", i + 1), q.force_n, "N")?;
        }
        if loads.is_empty() {
            return Err(Error::Refused("loads is empty; give at least one load".into()));
        }
        for (i, s) in supports.iter().enumerate() {
            let what = format!("support {}", i + 1);
            match *s {
                Support::Pad { x_mm, pad_mm, give_mm_per_n } => {
                    pad_on(&what, x_mm, pad_mm)?;
                    not_negative(&format!("give_mm_per_n of {what}"), give_mm_per_n, "mm/N")?;
                }
                Support::Held { x_mm } | Support::Clamped { x_mm } => pad_on(&what, x_mm, 1.0)?,
            }
        }
        if self.profile.tallest_mm() <= 0.0 {
            return Err(Error::Refused("the brace has no height".into()));
        }
        self.profile.on_brace("at_mm", at_mm)
    }

    /// A pad on the brace: near an end it shrinks evenly about its middle, so that its force stays where it was asked for;
    /// at the very end a quarter of a millimetre is left.
    pub(crate) fn pad_on(&self, x: f64, pad: f64) -> (f64, f64) {
        let l = self.length_mm();
        let half = (0.5 * pad).min(x).min(l - x).max(SMALLEST_HALF_PAD_MM.min(0.5 * pad));
        ((x - half).max(0.0), (x + half).min(l))
    }

    /// The section beam alone: deflections (mm) and moments (N m).
    pub fn section_bend(&self, loads: &[Load], supports: &[Support], at_mm: &[f64]) -> Result<(Vec<f64>, Vec<f64>)> {
        let stiff = self.blank().stiffness()?;
        let moduli = (1000.0 * stiff.e_x_gpa, 1000.0 * stiff.g_xz_gpa);
        self.varied_section_bend(loads, supports, at_mm, section_beam::POINTS, &|_| moduli)
    }

    /// The section beam of a brace whose wood differs along it: `moduli` are E and G at a place, MPa.
    pub(crate) fn varied_section_bend(
        &self,
        loads: &[Load],
        supports: &[Support],
        at_mm: &[f64],
        points: usize,
        moduli: &dyn Fn(f64) -> (f64, f64),
    ) -> Result<(Vec<f64>, Vec<f64>)> {
        let solid = self.solid()?;
        let (loads, supports) = self.on_section_beam(loads, supports);
        let breaks = Flexibility::breaks_for(&solid.kinks(), &loads, &supports, at_mm);
        let flex = Flexibility::new(breaks, points, |x, inside| {
            let (e, g) = moduli(x);
            let m = solid.moments(x, inside, true);
            // shear factor 6/5 of the rectangle for all families: the caps lie within a few percent of it, on a term of 3 %
            if m.area > 1e-9 { (1.0 / (e * m.about_centroid()), 1.2 / (g * m.area)) } else { (0.0, 0.0) }
        });
        let s = flex.solve(&loads, &supports).ok_or_else(unheld)?;
        let moments = at_mm.iter().map(|&x| s.moment_and_shear(x).0 * 1e-3).collect();
        Ok((flex.deflections(&s, at_mm), moments))
    }

    /// Deflection at one place, mm, of a section beam with the brace's outline but 1/EI and 1/GA of its own (N, mm), with more
    /// kinks than the brace's.
    pub(crate) fn section_deflection_of(
        &self,
        loads: &[Load],
        supports: &[Support],
        at_mm: f64,
        kinks: &[f64],
        points: usize,
        flexibility: &dyn Fn(f64, f64) -> (f64, f64),
    ) -> Result<f64> {
        let solid = self.solid()?;
        let (loads, supports) = self.on_section_beam(loads, supports);
        let mut more = kinks.to_vec();
        more.push(at_mm);
        let flex = Flexibility::new(Flexibility::breaks_for(&solid.kinks(), &loads, &supports, &more), points, flexibility);
        let s = flex.solve(&loads, &supports).ok_or_else(unheld)?;
        Ok(flex.deflection(&s, at_mm))
    }

    /// Moments and shears of the loads, and of one newton where the dial stands: what supports that just hold it make of them,
    /// whatever the stiffness.
    pub(crate) fn statics(&self, loads: &[Load], supports: &[Support], at_mm: f64) -> Result<Statics> {
        let solid = self.solid()?;
        let (loads, supports) = self.on_section_beam(loads, supports);
        let unit = [section_beam::Load::point(at_mm, 1.0)];
        let kinks = Flexibility::breaks_for(&solid.kinks(), &loads, &supports, &[at_mm]);
        let flex = Flexibility::new(kinks.clone(), 2, |_, _| (1.0, 0.0));
        let of = |l: &[section_beam::Load]| flex.solve(l, &supports).ok_or_else(unheld);
        Ok(Statics { loaded: of(&loads)?, unit: of(&unit)?, kinks })
    }

    fn on_section_beam(&self, loads: &[Load], supports: &[Support]) -> (Vec<section_beam::Load>, Vec<section_beam::Support>) {
        let loads = loads
            .iter()
            .map(|l| {
                let (a, b) = self.pad_on(l.x_mm, l.pad_mm);
                section_beam::Load::spread(a, b, l.force_n)
            })
            .collect();
        let supports = supports
            .iter()
            .map(|s| match *s {
                Support::Pad { x_mm, pad_mm, give_mm_per_n } => {
                    let (a, b) = self.pad_on(x_mm, pad_mm);
                    section_beam::Support::Rest { x: 0.5 * (a + b), compliance: give_mm_per_n }
                }
                Support::Held { x_mm } => section_beam::Support::rest(x_mm),
                Support::Clamped { x_mm } => section_beam::Support::Clamp { x: x_mm },
            })
            .collect();
        (loads, supports)
    }

    /// The assembled resolved beam with element lines at the given places, without mass.
    pub(crate) fn resolved(&self, lines: &[f64], r: Resolution) -> Result<Resolved> {
        self.assembled(lines, r, 0.0)
    }

    /// The same with the mass of its wood.
    pub(crate) fn resolved_with_mass(&self, lines: &[f64], r: Resolution) -> Result<Resolved> {
        self.assembled(lines, r, self.blank().density_kg_m3() * 1e-12)
    }

    fn assembled(&self, lines: &[f64], r: Resolution, density: f64) -> Result<Resolved> {
        let solid = self.solid()?;
        let laws = self.blank().laws()?;
        Ok(Resolved::new(&solid, [&laws[0], &laws[1]], density, lines, r.element_mm, r.degrees))
    }

    /// Deflection at one place by the depth-resolved beam at one resolution, mm.
    pub(crate) fn resolved_deflection(
        &self,
        loads: &[Load],
        supports: &[Support],
        at_mm: f64,
        dial: Face,
        step: i32,
    ) -> Result<f64> {
        Ok(self.resolved_bend(loads, supports, &[at_mm], dial, self.resolution(step))?.0[0])
    }

    fn resolved_bend(
        &self,
        loads: &[Load],
        supports: &[Support],
        at_mm: &[f64],
        dial: Face,
        r: Resolution,
    ) -> Result<(Vec<f64>, Vec<f64>)> {
        let laws = self.blank().laws()?;
        self.varied_bend(loads, supports, at_mm, dial, r, &|_| laws)
    }

    /// Deflection at one place of a brace whose wood differs along it, at the coarsest resolution that is good to a tenth of a
    /// percent on ordinary scallops, mm.
    pub(crate) fn varied_deflection(
        &self,
        loads: &[Load],
        supports: &[Support],
        at_mm: f64,
        dial: Face,
        laws: &dyn Fn(f64) -> [Law; 2],
    ) -> Result<f64> {
        let r = self.resolution(-1);
        let r = Resolution { stretched_mm: r.element_mm, ..r };
        Ok(self.varied_bend(loads, supports, &[at_mm], dial, r, laws)?.0[0])
    }

    fn varied_bend(
        &self,
        loads: &[Load],
        supports: &[Support],
        at_mm: &[f64],
        dial: Face,
        r: Resolution,
        laws: &dyn Fn(f64) -> [Law; 2],
    ) -> Result<(Vec<f64>, Vec<f64>)> {
        let mut lines = Vec::new();
        let patches: Vec<Patch> = loads
            .iter()
            .map(|l| {
                let (start, end) = self.pad_on(l.x_mm, l.pad_mm);
                lines.extend([start, end]);
                Patch { start, end, face: l.face, force: l.force_n }
            })
            .collect();
        let holds: Vec<Hold> = supports
            .iter()
            .map(|s| match *s {
                Support::Pad { x_mm, pad_mm, give_mm_per_n } => {
                    let (a, b) = self.pad_on(x_mm, pad_mm);
                    lines.extend([a, b]);
                    Hold::Pad { x: 0.5 * (a + b), width: b - a, compliance: give_mm_per_n }
                }
                Support::Held { x_mm } => {
                    lines.push(x_mm);
                    Hold::Section { x: x_mm }
                }
                Support::Clamped { x_mm } => {
                    lines.push(x_mm);
                    Hold::Clamp { x: x_mm }
                }
            })
            .collect();
        let longest = (r.element_mm, r.stretched_mm);
        let beam = Resolved::varied(&self.solid()?, laws, 0.0, &lines, longest, r.degrees);
        let factor = beam.factor(&holds, 0.0).ok_or_else(no_stiffness)?;
        let (force, moment) = patches.iter().fold((0.0, 0.0), |s, p| (s.0 + p.force, s.1 + p.force * 0.5 * (p.start + p.end)));
        let s = beam.solve(&factor, &beam.load(&patches), force, moment, &holds).ok_or_else(unheld)?;
        Ok((at_mm.iter().map(|&x| beam.deflection(&s, x, x, dial)).collect(), s.pads))
    }
}

/// A load and a unit load on supports.
pub(crate) struct Statics {
    pub loaded: section_beam::Static,
    pub unit: section_beam::Static,
    /// Kinks of brace, loads and supports, mm.
    pub kinks: Vec<f64>,
}

pub(crate) fn unheld() -> Error {
    Error::Refused("the supports do not hold the brace: it needs two pads at different places, or one clamped section".into())
}

pub(crate) fn no_stiffness() -> Error {
    Error::Refused("the brace has no stiffness somewhere along its length; its height there is too small to be resolved".into())
}
