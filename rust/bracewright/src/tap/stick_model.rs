//! Frequencies of a tapped stick as functions of what is not known of it.

use super::stick::{Bending, StickTap};
use crate::blank::Blank;
use crate::brace::Brace;
use crate::error::{Error, Result};
use crate::mechanics::section_beam::vibrations;
use crate::mechanics::solid::Solid;
use crate::wood::{Quantity, Wood};

/// A stick a little different from the one measured.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Trial {
    /// The ratio of G to E over the wood's own.
    pub ratio: f64,
    /// Length over the measured one.
    pub long: f64,
    /// Added to the height, mm.
    pub high_mm: f64,
    /// Width over the measured one.
    pub wide: f64,
    /// Mass over the measured one.
    pub heavy: f64,
    /// Added to the pickup's mass, g.
    pub pickup_g: f64,
}

impl Default for Trial {
    fn default() -> Self {
        Self { ratio: 1.0, long: 1.0, high_mm: 0.0, wide: 1.0, heavy: 1.0, pickup_g: 0.0 }
    }
}

pub(super) struct Model<'a> {
    tap: &'a StickTap,
    solid: Solid,
    /// E along the stick and G in the plane of bending, MPa, at E_L = 1 GPa.
    e: f64,
    g: f64,
    mass_t: f64,
}

/// The wood with both shear moduli of the grain times a factor.
fn sheared(wood: &Wood, factor: f64) -> Result<Wood> {
    wood.with_shear_ratios(wood.glr_el() * factor, wood.glt_el() * factor, wood.grt_el())
}

impl<'a> Model<'a> {
    pub fn new(tap: &'a StickTap) -> Result<Self> {
        let (e, g) = laws(tap, 1.0)?;
        Ok(Self { tap, solid: tap.brace.solid()?, e, g, mass_t: tap.brace.mass_g()? * 1e-6 })
    }

    /// Smallest and largest ratio that still make a wood, within `widest` of the wood's own.
    pub fn ratio_bounds(&self, widest: f64) -> (f64, f64) {
        let wood = self.tap.brace.blank().wood();
        let ratios = [wood.glr_el(), wood.glt_el()];
        let (low, high) = Quantity::GltEl.range();
        let (least, most) = (ratios[0].min(ratios[1]), ratios[0].max(ratios[1]));
        ((low / least).max(1.0 / widest).min(1.0), (high / most).min(widest).max(1.0))
    }

    /// G in the plane of bending in GPa at E_L in GPa and a ratio.
    pub fn shear_gpa(&self, modulus_gpa: f64, ratio: f64) -> Result<f64> {
        Ok(modulus_gpa * laws(self.tap, ratio)?.1 / 1000.0)
    }

    /// Squared angular frequencies at E_L = 1 GPa by the section beam, with pickup.
    pub fn section(&self, trial: &Trial, count: usize, more: Option<(f64, f64)>) -> Result<Vec<f64>> {
        let high;
        let solid = if trial.high_mm == 0.0 {
            &self.solid
        } else {
            high = self.tap.brace.with_crest(self.tap.brace.profile().crest().plus(trial.high_mm)).solid()?;
            &high
        };
        let (e, g) = if trial.ratio == 1.0 { (self.e, self.g) } else { laws(self.tap, trial.ratio)? };
        let (first, last) = solid.ends();
        let volume = solid.volume(first, last) * trial.wide * trial.long;
        let rho = self.mass_t * trial.heavy / volume;
        let breaks: Vec<f64> = solid.kinks().iter().map(|x| x * trial.long).collect();
        let mut lumps: Vec<(f64, f64)> = Vec::new();
        if let Some(p) = self.tap.pickup {
            lumps.push((p.x_mm * trial.long, (p.mass_g + trial.pickup_g) * 1e-6));
        }
        lumps.extend(more);
        let f = |x: f64, inside: f64| {
            self.tap.inertia(&solid.moments(x / trial.long, inside / trial.long, true), e, g, rho, trial.wide)
        };
        // one straight piece needs its modes from one series
        let degree = if breaks.len() < 5 { 12 } else { 5 };
        vibrations(&breaks, degree, true, f, &[], &lumps, count).ok_or_else(no_stiffness)
    }

    /// The same by the depth-resolved beam on edge, with the error of its discretisation (relative, of the square). Pickup as
    /// the section beam sees it: a small change of either beam by the same mass is the same to second order.
    pub fn resolved(&self, trial: &Trial, count: usize) -> Result<(Vec<f64>, Vec<f64>)> {
        let section = self.section(trial, count, None)?;
        if self.tap.bending == Bending::Flat {
            return Ok((section, vec![0.0; count]));
        }
        let (factor, error) = self.resolved_over_section(trial.ratio, count)?;
        Ok((section.iter().zip(&factor).map(|(s, f)| s * f).collect(), error))
    }

    /// Depth-resolved over section beam, squared frequencies of the free stick without pickup, and the error of it.
    pub fn resolved_over_section(&self, ratio: f64, count: usize) -> Result<(Vec<f64>, Vec<f64>)> {
        if self.tap.bending == Bending::Flat {
            return Ok((vec![1.0; count], vec![0.0; count]));
        }
        let old = self.tap.brace.blank();
        let wood = sheared(old.wood(), ratio)?;
        let blank = Blank::shaped(&wood, old.start().clone(), old.width_mm(), old.mass_g())?
            .with_size_uncertainty(old.size_uncertainty())?
            .with_grain(old.ring_angle_deg(), old.run_out())?
            .with_modulus(old.modulus_gpa(), old.modulus_spread())?;
        let brace: Brace = self.tap.brace.with_blank(&blank)?;
        // a mode of stretching may lie among them
        let found = brace.frequencies((count + 1).min(12), false)?;
        let mut from = 0;
        let (mut factor, mut error) = (Vec::new(), Vec::new());
        for k in 0..count {
            let s = found.section_frequency_hz[k];
            let near = |i: &usize| (found.frequency_hz[*i] / s).ln().abs();
            let last = (from + 1).min(found.frequency_hz.len() - 1);
            let best = if near(&last) < near(&from) { last } else { from };
            factor.push((found.frequency_hz[best] / s).powi(2));
            error.push(2.0 * found.discretisation_hz[best] / found.frequency_hz[best]);
            from = (best + 1).min(found.frequency_hz.len() - 1);
        }
        Ok((factor, error))
    }

    /// Squared deflection of a mode at x over its modal mass, 1/t: what a mass there takes off.
    pub fn shape_squared(&self, trial: &Trial, mode: usize, x: f64) -> Result<f64> {
        let small = 1e-5 * self.mass_t;
        let with = self.section(trial, mode, Some((x, small)))?[mode - 1];
        let without = self.section(trial, mode, Some((x, 0.0)))?[mode - 1];
        Ok((without / with - 1.0) / small)
    }

    /// What foam adds to the squared angular frequencies, first order; `more` is added to each foam's stiffness, N/mm.
    pub fn foam_terms(&self, trial: &Trial, count: usize, more: &[f64]) -> Result<Vec<f64>> {
        let mut out = vec![0.0; count];
        for (i, f) in self.tap.foam.iter().enumerate() {
            let k = f.stiffness_n_per_mm + more.get(i).copied().unwrap_or(0.0);
            if k != 0.0 {
                for (mode, o) in out.iter_mut().enumerate() {
                    *o += k * self.shape_squared(trial, mode + 1, f.x_mm)?;
                }
            }
        }
        Ok(out)
    }
}

fn laws(tap: &StickTap, ratio: f64) -> Result<(f64, f64)> {
    let blank = tap.brace.blank();
    let wood = if ratio == 1.0 { blank.wood().clone() } else { sheared(blank.wood(), ratio)? };
    let p = match tap.bending {
        Bending::Edge => wood.plane_stiffness(blank.ring_angle_deg(), blank.run_out(), 0.0)?,
        // turned on its side: what was the width is now the height, and the slope of the grain lies in the plan
        Bending::Flat => wood.plane_stiffness(blank.ring_angle_deg() + 90.0, 0.0, blank.run_out())?,
    };
    let unit = 1000.0 / wood.modulus_l_gpa();
    Ok((p.e_x_gpa * unit, p.g_xz_gpa * unit))
}

pub(super) fn no_stiffness() -> Error {
    Error::Refused("the stick has no wood somewhere along its length, so it has no frequency; check its profile".into())
}
