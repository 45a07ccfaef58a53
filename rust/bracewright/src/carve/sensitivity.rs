//! What a millimetre and a gram are worth at each place.

use rayon::prelude::*;
use serde::{Deserialize, Serialize};

use crate::brace::Brace;
use crate::brace::bend::{no_stiffness, unheld};
use crate::error::{Error, Result, positive};
use crate::mechanics::pieces::Pieces;
use crate::mechanics::resolved::{Hold, Patch};
use crate::profile::Blend;
use crate::rig::Rig;

/// How the stiffness on a rig falls when a little is taken off at each place.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Sensitivity {
    /// Middle of each place, mm.
    pub x_mm: Vec<f64>,
    /// Length of crest that one place stands for, mm.
    pub place_mm: f64,
    /// Percent of stiffness lost per mm taken off that place (run out to nothing over one place on either side).
    pub percent_per_mm: Vec<f64>,
    /// Grams per mm of depth at that place.
    pub grams_per_mm: Vec<f64>,
    /// Percent of stiffness lost per gram taken there.
    pub percent_per_gram: Vec<f64>,
}

/// Step of the derivative, mm: small against the height, large against rounding.
const STEP_MM: f64 = 1e-3;

impl Brace {
    /// Stiffness lost at each of `places` equal stretches, by the depth-resolved beam: the derivative of the discrete
    /// answer, from the element matrices under a small cut and the one solved state (the problem is its own adjoint when
    /// the dial stands where the load does).
    pub fn sensitivity(&self, rig: &Rig, places: usize) -> Result<Sensitivity> {
        if !(2..=400).contains(&places) {
            return Err(Error::OutOfRange {
                quantity: "places".into(),
                value: places as f64,
                unit: "",
                allowed: "from 2 to 400".into(),
            });
        }
        let (loads, supports, at) = rig.on(self, 0.0)?;
        let l = self.length_mm();
        let mut lines = vec![at];
        let patches: Vec<Patch> = loads
            .iter()
            .map(|q| {
                let (start, end) = self.pad_on(q.x_mm, q.pad_mm);
                lines.extend([start, end]);
                Patch { start, end, face: q.face, force: q.force_n }
            })
            .collect();
        let holds: Vec<Hold> = supports
            .iter()
            .map(|s| match *s {
                crate::Support::Pad { x_mm, pad_mm, give_mm_per_n } => {
                    let (a, b) = self.pad_on(x_mm, pad_mm);
                    lines.extend([a, b]);
                    Hold::Pad { x: 0.5 * (a + b), width: b - a, compliance: give_mm_per_n }
                }
                crate::Support::Held { x_mm } => Hold::Section { x: x_mm },
                crate::Support::Clamped { x_mm } => {
                    lines.push(x_mm);
                    Hold::Clamp { x: x_mm }
                }
            })
            .collect();
        let beam = self.resolved(&lines, self.resolution(0))?;
        let factor = beam.factor(&holds, 0.0).ok_or_else(no_stiffness)?;
        let state = |p: &[Patch], force: f64, moment: f64| {
            let rhs = beam.load(p);
            beam.solve(&factor, &rhs, force, moment, &holds).ok_or_else(unheld)
        };
        let (force, moment) = patches.iter().fold((0.0, 0.0), |s, p| (s.0 + p.force, s.1 + p.force * 0.5 * (p.start + p.end)));
        let u = state(&patches, force, moment)?;
        // the adjoint: a unit force where the dial stands
        let dial = [Patch { start: at, end: at, face: rig.dial(), force: 1.0 }];
        let v = state(&dial, 1.0, at)?;
        let deflection = beam.deflection(&u, at, at, rig.dial());
        positive("deflection", deflection, "mm")?;

        let solid = self.solid()?;
        let laws = self.blank().laws()?;
        let mesh = beam.mesh().to_vec();
        let place = l / places as f64;
        let x: Vec<f64> = (0..places).map(|k| (k as f64 + 0.5) * place).collect();
        let percent: Vec<f64> = x
            .par_iter()
            .map(|&c| {
                let (plus, minus) = (nudged(&solid.crest, c, place, STEP_MM), nudged(&solid.crest, c, place, -STEP_MM));
                let with = |crest: Pieces| crate::mechanics::solid::Solid { crest, ..solid.clone() };
                let (low, high) = (with(minus), with(plus));
                let mut slope = 0.0;
                for e in 0..mesh.len() - 1 {
                    if mesh[e + 1] > c - place && mesh[e] < c + place {
                        let (a, b) = (
                            beam.element_stiffness(e, &low, [&laws[0], &laws[1]]),
                            beam.element_stiffness(e, &high, [&laws[0], &laws[1]]),
                        );
                        let k: Vec<f64> = a.iter().zip(&b).map(|(a, b)| (b - a) / (2.0 * STEP_MM)).collect();
                        slope += beam.mutual_energy(e, &k, &u.values, &v.values);
                    }
                }
                // deflection falls by `slope` per mm of height; stiffness goes as its inverse
                100.0 * slope / deflection
            })
            .collect();
        let grams: Vec<f64> = x
            .iter()
            .map(|&c| {
                let less = self.with_crest(nudged(&solid.crest, c, place, -STEP_MM));
                Ok((self.mass_g()? - less.mass_g()?) / STEP_MM)
            })
            .collect::<Result<_>>()?;
        let per_gram = percent.iter().zip(&grams).map(|(p, g)| if *g > 1e-9 { p / g } else { 0.0 }).collect();
        Ok(Sensitivity { x_mm: x, place_mm: place, percent_per_mm: percent, grams_per_mm: grams, percent_per_gram: per_gram })
    }
}

/// The crest raised by `step` at c, running out to nothing one place away in a half-cosine: the places sum to an even
/// layer.
fn nudged(crest: &Pieces, c: f64, place: f64, step: f64) -> Pieces {
    let (a, b) = (crest.start(), crest.end());
    let (mut at, mut height, mut blend) = (vec![c - place, c, c + place], vec![0.0, step, 0.0], vec![Blend::Cosine; 2]);
    if a < c - place {
        at.insert(0, a);
        height.insert(0, 0.0);
        blend.insert(0, Blend::Straight);
    }
    if b > c + place {
        at.push(b);
        height.push(0.0);
        blend.push(Blend::Straight);
    }
    crest.combined(&crate::profile::through(&at, &height, &blend), 1.0, 1.0)
}
