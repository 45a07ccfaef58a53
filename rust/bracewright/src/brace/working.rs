//! The stiffness that works: where a peak lends nothing.

use serde::{Deserialize, Serialize};

use super::Brace;
use super::bend::{Resolution, TOLERANCE, no_stiffness};
use crate::error::{Error, Result, number};

/// EI as drawn and as it works, along the brace.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Working {
    /// Stations, mm from the left end.
    pub x_mm: Vec<f64>,
    /// EI of the drawing, N m2.
    pub drawn_n_m2: Vec<f64>,
    /// EI that works, N m2: the moment over the rate of turn of the section's best-fit plane, under pure bending of the
    /// brace.
    pub working_n_m2: Vec<f64>,
    /// Working over drawn.
    pub ratio: Vec<f64>,
    /// The last step of refinement, relative, at its largest over the stations.
    pub discretisation: f64,
}

/// Height below which an end carries no couple in the definition of the working stiffness, as a part of the greatest.
const COUPLE_FROM: f64 = 0.06;

impl Brace {
    /// Where the couples of the definition are applied: the outermost sections that have some height, mm.
    pub(crate) fn couple_span_mm(&self) -> (f64, f64) {
        let l = self.length_mm();
        let crest = self.profile.crest();
        let least = COUPLE_FROM * crest.extremes(0.0, l).1.1;
        let n = 400;
        let tall = |k: usize| crest.at(l * k as f64 / n as f64) >= least;
        let first = (0..=n).find(|&k| tall(k)).unwrap_or(0);
        let last = (0..=n).rev().find(|&k| tall(k)).unwrap_or(n);
        (l * first as f64 / n as f64, l * last as f64 / n as f64)
    }

    /// Working stiffness at each station: the couples are applied as linear stress at the outermost sections of at least
    /// 6 % of the greatest height, and the rate of turn of the best-fit plane (least squares over the area) is the mean
    /// over `window_mm` (0.1 to the length) about the station. Its double integral gives back the deflection under that bending.
    pub fn working(&self, x_mm: &[f64], window_mm: f64) -> Result<Working> {
        self.profile.on_brace("x_mm", x_mm)?;
        // a shorter window would divide rounding by rounding
        crate::error::within("window_mm", window_mm, "mm", 0.1, self.length_mm())?;
        let drawn = self.along(x_mm)?.ei_n_m2;
        let mut best = self.working_at(x_mm, window_mm, self.resolution(0))?;
        let far = |a: &[f64], b: &[f64]| {
            a.iter().zip(b).map(|(a, b)| if *a > 0.0 { (a / b - 1.0).abs() } else { 0.0 }).fold(0.0, f64::max)
        };
        let mut discretisation = far(&best, &self.working_at(x_mm, window_mm, self.resolution(-1))?);
        if discretisation > TOLERANCE {
            let finer = self.working_at(x_mm, window_mm, self.resolution(1))?;
            discretisation = far(&finer, &best);
            best = finer;
        }
        let ratio: Vec<f64> = best.iter().zip(&drawn).map(|(w, d)| if *d > 0.0 { w / d } else { 0.0 }).collect();
        Ok(Working { x_mm: x_mm.to_vec(), drawn_n_m2: drawn, working_n_m2: best, ratio, discretisation })
    }

    pub(crate) fn working_at(&self, x_mm: &[f64], window_mm: f64, r: Resolution) -> Result<Vec<f64>> {
        let (a, b) = self.couple_span_mm();
        if b - a <= window_mm {
            return Err(Error::Refused(format!(
                "the brace has height only from {} to {} mm; that is too short to speak of its stiffness",
                number(a),
                number(b)
            )));
        }
        let beam = self.resolved(&[a, b], r)?;
        let factor = beam.factor(&[], 0.0).ok_or_else(no_stiffness)?;
        let u = beam.back_solve(&factor, &beam.end_couples(a, b, 1000.0));
        Ok(x_mm
            .iter()
            .map(|&x| {
                if x <= a || x >= b {
                    return 0.0;
                }
                // a window that fits between the couples, as near the station as can be
                let half = (0.5 * window_mm).min(0.25 * (b - a));
                let c = x.clamp(a + half, b - half);
                let turn = beam.plane_turn(&u, c - half) - beam.plane_turn(&u, c + half);
                // N mm over 1/mm, in N m2
                1000.0 * 2.0 * half / turn * 1e-6
            })
            .collect())
    }
}
