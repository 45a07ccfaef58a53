//! The transformed section: brace and plate as one beam whose plane sections stay plane.

use serde::{Deserialize, Serialize};

use super::Strip;
use crate::error::{Result, within};
use crate::mechanics::solid::Moments;

/// The section of a brace and the plate under it, at some places. Heights count from the glue line, up into the brace.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct GluedSection {
    /// Where along the brace, mm.
    pub x_mm: Vec<f64>,
    /// EI of brace and plate together, N m2.
    pub ei_n_m2: Vec<f64>,
    /// EI of the brace by itself, N m2.
    pub brace_ei_n_m2: Vec<f64>,
    /// Height of the neutral axis above the glue line, mm; below 0 it lies in the plate.
    pub neutral_mm: Vec<f64>,
    /// d ln EI / d ln h: what a percent of height does to EI, in percent. 3 for a rectangular brace by itself.
    pub exponent_height: Vec<f64>,
    /// d ln EI / d ln E of the brace; 1 for a brace by itself.
    pub exponent_modulus: Vec<f64>,
    /// Shear flow over shear force at the glue line, 1/m: first moment of the brace about the neutral axis, times E, over EI.
    pub glue_flow_per_m: Vec<f64>,
}

/// Two parts glued together, in consistent units.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Composite {
    /// EI about the common neutral axis.
    pub ei: f64,
    /// Its height above the joint.
    pub neutral: f64,
    /// E times the first moment of the upper part about the neutral axis.
    pub upper_first: f64,
}

/// A part above a joint (modulus, area, centroid above the joint, second moment about its centroid) glued to a rectangle below
/// it (modulus, width, thickness): the transformed section.
pub fn composite(upper: (f64, f64, f64, f64), lower: (f64, f64, f64)) -> Composite {
    let ((e2, area, centroid, second), (e1, width, thick)) = (upper, lower);
    let (a1, a2) = (e1 * width * thick, e2 * area);
    let neutral = (a2 * centroid - a1 * 0.5 * thick) / (a1 + a2);
    let apart = 0.5 * thick + centroid;
    let ei = e1 * width * thick.powi(3) / 12.0 + e2 * second + a1 * a2 / (a1 + a2) * apart * apart;
    Composite { ei, neutral, upper_first: a2 * (centroid - neutral) }
}

/// Step of the logarithms in the exponents.
const STEP: f64 = 1e-4;

impl Strip {
    /// The transformed section at places along the brace, mm, with a flange `width_mm` wide (the whole strip when `None`).
    ///
    /// Plane sections are assumed, so wide strips come out too stiff: shear lag is what [`Strip::bend`] has besides.
    pub fn section(&self, x_mm: &[f64], width_mm: Option<f64>) -> Result<GluedSection> {
        let width = match width_mm {
            Some(w) => within("width_mm", w, "mm", 1e-3, 2000.0)?,
            None => self.width_mm,
        };
        self.brace.profile().on_brace("x_mm", x_mm)?;
        let solid = self.brace.solid()?;
        let (e_brace, e_plate) = (self.brace.modulus_x_mpa()?, self.plate_modulus_mpa()?);
        let lower = (e_plate, width, self.thickness_mm);
        let of = |m: &Moments, e: f64| composite((e, m.area, m.centroid(), m.about_centroid().max(0.0)), lower);
        let mut out = GluedSection { x_mm: x_mm.to_vec(), ..Default::default() };
        let (mut lower_crest, mut higher_crest) = (solid.clone(), solid.clone());
        lower_crest.crest = solid.crest.times((-STEP).exp());
        higher_crest.crest = solid.crest.times(STEP.exp());
        for &x in x_mm {
            let m = solid.moments(x, x, true);
            if m.area <= 1e-9 {
                // feathered to nothing: the plate alone
                let ei = e_plate * width * self.thickness_mm.powi(3) / 12.0;
                for (list, v) in [
                    (&mut out.ei_n_m2, ei * 1e-6),
                    (&mut out.brace_ei_n_m2, 0.0),
                    (&mut out.neutral_mm, -0.5 * self.thickness_mm),
                    (&mut out.exponent_height, 0.0),
                    (&mut out.exponent_modulus, 0.0),
                    (&mut out.glue_flow_per_m, 0.0),
                ] {
                    list.push(v);
                }
                continue;
            }
            let c = of(&m, e_brace);
            let by_height =
                (of(&higher_crest.moments(x, x, true), e_brace).ei / of(&lower_crest.moments(x, x, true), e_brace).ei).ln()
                    / (2.0 * STEP);
            let by_modulus = (of(&m, e_brace * STEP.exp()).ei / of(&m, e_brace * (-STEP).exp()).ei).ln() / (2.0 * STEP);
            out.ei_n_m2.push(c.ei * 1e-6);
            out.brace_ei_n_m2.push(e_brace * m.about_centroid().max(0.0) * 1e-6);
            out.neutral_mm.push(c.neutral);
            out.exponent_height.push(by_height);
            out.exponent_modulus.push(by_modulus);
            out.glue_flow_per_m.push(1000.0 * c.upper_first / c.ei);
        }
        Ok(out)
    }
}
