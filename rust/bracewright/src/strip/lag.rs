//! Effective width: how much of a strip goes along with its brace.

use rayon::prelude::*;
use serde::{Deserialize, Serialize};

use super::{GluedLoad, PressedOn, Strip, StripSize};
use crate::brace::Brace;
use crate::error::{Error, Result, number, within};
use crate::wood::Wood;

/// Limits of EN 1995-1-1:2004 Table 9.1 (from memory) to the effective width of a flange for shear lag, as parts of the span:
/// what the flange is, and the limit. Solid wood is not among them; the plywood row is the nearest.
pub const BEF_LIMITS: [(&str, f64); 4] = [
    ("plywood, grain parallel to the web", 0.10),
    ("plywood, grain across the web", 0.10),
    ("oriented strand board", 0.15),
    ("particleboard or fibreboard", 0.20),
];

/// Effective width of a strip under a straight brace by the first term of its shear lag, mm: b tanh(X)/X with
/// X = (pi b / 2 span) sqrt(E/G) and b the width of the strip. E and G are those of the top along the brace and in its plane,
/// free of other stress.
///
/// Within a few percent on straight braces under a load in the middle; a scalloped brace is another matter.
pub fn lag_width_mm(width_mm: f64, span_mm: f64, modulus_gpa: f64, shear_gpa: f64) -> Result<f64> {
    let b = within("width_mm", width_mm, "mm", 1.0, 2000.0)?;
    let l = within("span_mm", span_mm, "mm", 1.0, 5000.0)?;
    let e = within("modulus_gpa", modulus_gpa, "GPa", 1e-3, 1000.0)?;
    let g = within("shear_gpa", shear_gpa, "GPa", 1e-3, 1000.0)?;
    let x = 0.5 * std::f64::consts::PI * b / l * (e / g).sqrt();
    Ok(b * x.tanh() / x)
}

/// Widest flange that can be given, as a part of the strip's width: on slanting grain a narrow strip counts for a few hundredths
/// more than its width, and what was learned scatters.
const WIDEST_FLANGE: f64 = 1.25;

/// Most cases of a table.
const MOST_CASES: usize = 400;

/// Effective widths over width, span and angle.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct EffectiveWidths {
    /// Width of the strip, mm, row after row.
    pub width_mm: Vec<f64>,
    /// Length of the strip and the brace, mm.
    pub span_mm: Vec<f64>,
    /// Angle from the brace to the grain of the top, degrees.
    pub grain_angle_deg: Vec<f64>,
    /// Width of flange with which the transformed section deflects as much as the strip, mm.
    pub effective_width_mm: Vec<f64>,
    /// The estimate by tanh, mm.
    pub estimate_mm: Vec<f64>,
    /// The limit of a flange of plywood, EN 1995-1-1 Table 9.1 (from memory), brace and all, mm.
    pub en_limit_mm: Vec<f64>,
}

/// Widths at which a straight brace like this one (its blank and section, as tall as its tallest place) goes along with strips of
/// a top, for every combination of width, span and angle, under a load in the middle.
pub fn effective_widths(
    brace: &Brace,
    top: &Wood,
    thickness_mm: f64,
    width_mm: &[f64],
    span_mm: &[f64],
    grain_angle_deg: &[f64],
) -> Result<EffectiveWidths> {
    let cases: Vec<(f64, f64, f64)> = width_mm
        .iter()
        .flat_map(|w| span_mm.iter().flat_map(move |l| grain_angle_deg.iter().map(move |a| (*w, *l, *a))))
        .collect();
    if cases.len() > MOST_CASES {
        return Err(Error::BadList {
            name: "width_mm, span_mm, grain_angle_deg".into(),
            problem: format!("make {} cases; give {MOST_CASES} at most", cases.len()),
        });
    }
    let height = brace.profile().tallest_mm();
    let rows = cases
        .par_iter()
        .map(|&(w, l, a)| {
            within("span_mm", l, "mm", 20.0, 1500.0)?;
            let own = brace.blank();
            let blank = crate::Blank::new(own.wood(), l, own.width_mm(), height, None)?
                .with_grain(own.ring_angle_deg(), own.run_out())?
                .with_modulus(own.modulus_gpa(), own.modulus_spread())?;
            let straight = Brace::new(&blank, &crate::Profile::straight(l, height)?, brace.section())?;
            let size = StripSize { thickness_mm, width_mm: w, grain_angle_deg: a, length_mm: None };
            let strip = Strip::new(&straight, top, size)?;
            let load = GluedLoad { at_mm: 0.5 * l, load_n: 10.0, pad_mm: 10.0_f64.min(0.1 * l), on: PressedOn::Top };
            let bend = strip.bend(&[load], &[0.5 * l])?;
            let effective = bend.effective_width_mm.ok_or_else(|| {
                Error::Refused(format!(
                    "no flange deflects as much as a strip {} mm wide over {} mm at {} degrees; leave this one out",
                    number(w),
                    number(l),
                    number(a)
                ))
            })?;
            Ok((effective, strip.lag_width_mm()?, strip.en_limit_mm()))
        })
        .collect::<Result<Vec<_>>>()?;
    let mut out = EffectiveWidths::default();
    for ((w, l, a), (effective, estimate, limit)) in cases.iter().zip(rows) {
        out.width_mm.push(*w);
        out.span_mm.push(*l);
        out.grain_angle_deg.push(*a);
        out.effective_width_mm.push(effective);
        out.estimate_mm.push(estimate);
        out.en_limit_mm.push(limit);
    }
    Ok(out)
}

impl Strip {
    /// Effective width by [`lag_width_mm`] for this strip, mm.
    pub fn lag_width_mm(&self) -> Result<f64> {
        lag_width_mm(self.width_mm, self.length_mm, self.plate_modulus_gpa()?, self.plate_shear_gpa()?)
    }

    /// A width that was learned, from 1 mm to [`WIDEST_FLANGE`] times the strip's, or the estimate of shear lag, mm.
    pub(super) fn flange_or_lag_mm(&self, flange_mm: Option<f64>) -> Result<f64> {
        let most = (WIDEST_FLANGE * self.width_mm).max(1.0);
        flange_mm.map_or_else(|| self.lag_width_mm(), |w| within("flange_mm", w, "mm", 1.0, most))
    }

    /// Limit of EN 1995-1-1 Table 9.1 (from memory) to the effective width of a flange of plywood on a web as wide as the brace,
    /// mm: a tenth of the span on the web and its width; no more than the strip.
    pub fn en_limit_mm(&self) -> f64 {
        (BEF_LIMITS[0].1 * self.length_mm + self.brace.width_mm()).min(self.width_mm)
    }

    /// Shear modulus of the top in its plane along the brace, GPa: 1/G = 4 c^2 s^2 ((1 + nu_LR)/E_L + (1 + nu_RL)/E_R) +
    /// (c^2 - s^2)^2 / G_LR.
    fn plate_shear_gpa(&self) -> Result<f64> {
        let (s, c) = self.grain_angle_deg.to_radians().sin_cos();
        let w = &self.top;
        let (el, er) = (w.modulus_l_gpa(), w.modulus_r_gpa());
        let nu_rl = w.nu_lr() * er / el;
        let both = 4.0 * c * c * s * s * ((1.0 + w.nu_lr()) / el + (1.0 + nu_rl) / er);
        Ok(1.0 / (both + (c * c - s * s).powi(2) / w.shear_lr_gpa()))
    }
}

/// Where a falling function is zero between two positive places, by halving the logarithm; `None` where it keeps its sign.
pub(super) fn falling_root(of: impl Fn(f64) -> Result<f64>, low: f64, high: f64) -> Result<Option<f64>> {
    let (mut low, mut high) = (low, high);
    if !(of(low)? >= 0.0 && of(high)? <= 0.0) {
        return Ok(None);
    }
    while high / low > 1.0 + 1e-9 {
        let middle = (low * high).sqrt();
        if of(middle)? >= 0.0 { low = middle } else { high = middle }
    }
    Ok(Some((low * high).sqrt()))
}
