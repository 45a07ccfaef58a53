//! The reading to expect from a brace on a rig, with its budget.

use serde::{Deserialize, Serialize};

use super::Rig;
use crate::brace::Brace;
use crate::brace::bend::{GRAVITY_M_S2, TOLERANCE};
use crate::error::{Error, Result};

/// One line of an uncertainty budget (JCGM 100).
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Share {
    /// Where it comes from.
    pub source: String,
    /// What it is worth as a standard uncertainty, mm.
    pub u_mm: f64,
}

/// The reading to expect.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Expected {
    /// By the depth-resolved beam, mm.
    pub deflection_mm: f64,
    /// Standard uncertainty, mm: what is not known of the brace and of the rig together.
    pub u_mm: f64,
    /// Its parts, largest first.
    pub budget: Vec<Share>,
    /// Discretisation error, mm.
    pub discretisation_mm: f64,
    /// By the section beam, mm, to compare.
    pub section_deflection_mm: f64,
}

/// Relative uncertainty of the reading that stands for the ratio of moduli not being the species' own: E/G within a
/// species varies by about 20 % on a shear part of about 3 % (common practice, no source).
const MODEL_SPREAD: f64 = 0.006;

impl Rig {
    /// Deflection per newton of the brace alone by the depth-resolved beam and its discretisation error, mm/N.
    pub fn compliance_mm_per_n(&self, brace: &Brace) -> Result<(f64, f64)> {
        let (loads, supports, at) = self.on(brace, 0.0)?;
        let fine = brace.resolved_deflection(&loads, &supports, at, self.dial, 0)?;
        let coarse = brace.resolved_deflection(&loads, &supports, at, self.dial, -1)?;
        let (best, error) = if (fine - coarse).abs() > TOLERANCE * fine.abs() {
            let finer = brace.resolved_deflection(&loads, &supports, at, self.dial, 1)?;
            (finer, (finer - fine).abs())
        } else {
            (fine, (fine - coarse).abs())
        };
        positive_compliance(best)?;
        Ok((best / self.load_n, error / self.load_n))
    }

    /// The same at the ordinary resolution alone, for searches.
    pub(crate) fn resolved_compliance(&self, brace: &Brace) -> Result<f64> {
        let (loads, supports, at) = self.on(brace, 0.0)?;
        let d = brace.resolved_deflection(&loads, &supports, at, self.dial, 0)?;
        positive_compliance(d)?;
        Ok(d / self.load_n)
    }

    /// Deflection per newton of the brace alone by the section beam, mm/N.
    pub fn section_compliance_mm_per_n(&self, brace: &Brace) -> Result<f64> {
        self.section_compliance(brace, 0.0)
    }

    fn section_compliance(&self, brace: &Brace, span_more_mm: f64) -> Result<f64> {
        let (loads, supports, at) = self.on(brace, span_more_mm)?;
        let d = brace.section_bend(&loads, &supports, &[at])?.0[0];
        positive_compliance(d)?;
        Ok(d / self.load_n)
    }

    /// Deflection under the brace's own weight at the dial, mm; 0 when the dial is zeroed in place.
    pub fn self_weight_mm(&self, brace: &Brace) -> Result<f64> {
        if self.zeroed {
            return Ok(0.0);
        }
        // the section beam is enough for a term of a few micrometres
        let (_, supports, at) = self.on(brace, 0.0)?;
        let n = 40;
        let l = brace.length_mm() / f64::from(n);
        let loads = (0..n)
            .map(|k| {
                let a = l * f64::from(k);
                let g = brace.mass_between_g(a, a + l)?;
                Ok(crate::brace::Load { x_mm: a + 0.5 * l, force_n: g * 1e-3 * GRAVITY_M_S2, pad_mm: l, face: crate::Face::Body })
            })
            .collect::<Result<Vec<_>>>()?;
        Ok(brace.section_bend(&loads, &supports, &[at])?.0[0])
    }

    /// What the dial should show for this brace, with the uncertainty of brace and rig.
    pub fn expected(&self, brace: &Brace) -> Result<Expected> {
        let (compliance, error) = self.compliance_mm_per_n(brace)?;
        let section = self.section_compliance(brace, 0.0)?;
        let own = self.load_n * compliance;
        let give = self.load_n * self.give_mm_per_n;
        let weight = self.self_weight_mm(brace)?;
        let reading = self.dial_scale * (own + give + weight);
        let mut budget = vec![share("stiffness of the wood", own * brace.blank().modulus_spread())];
        budget.extend(self.rig_budget(brace, section, own)?);
        budget.push(share("discretisation of the beam", self.load_n * error));
        Ok(Expected {
            deflection_mm: reading,
            u_mm: combined(&budget),
            budget: sorted(budget),
            discretisation_mm: self.load_n * error,
            section_deflection_mm: self.dial_scale * (self.load_n * section + give + weight),
        })
    }

    /// The parts of the budget that are not the wood's modulus: size, span, load, give, dial and gauge.
    pub(super) fn rig_budget(&self, brace: &Brace, section: f64, own_mm: f64) -> Result<Vec<Share>> {
        let u = brace.blank().size_uncertainty();
        let relative = |c: f64| (c / section - 1.0).abs();
        // one step of the uncertainty itself, by the section beam: the parts are small
        let height = if u.height_mm > 0.0 {
            let lower = brace.with_crest(
                brace
                    .profile()
                    .crest()
                    .plus(-u.height_mm.min(0.2 * brace.profile().crest().extremes(0.0, brace.length_mm()).1.1)),
            );
            self.section_compliance(&lower, 0.0).map_or(0.0, relative)
        } else {
            0.0
        };
        let span = if self.u_span_mm > 0.0 { self.section_compliance(brace, -self.u_span_mm).map_or(0.0, relative) } else { 0.0 };
        Ok(vec![
            share("height of the brace", own_mm * height),
            share("width of the brace", own_mm * u.width_mm / brace.width_mm()),
            share("span of the rig", own_mm * span),
            share("load", own_mm * self.u_load),
            share("ratio of E to G, and the model", own_mm * MODEL_SPREAD),
            share("give of the supports", self.load_n * self.u_give_mm_per_n),
            share("scale of the dial", own_mm * self.u_dial_scale / self.dial_scale),
            share("reading and seat", self.gauge.u_mm()?),
        ])
    }
}

fn share(source: &str, u_mm: f64) -> Share {
    Share { source: source.into(), u_mm: u_mm.abs() }
}

fn positive_compliance(d: f64) -> Result<()> {
    if d.is_finite() && d > 0.0 {
        Ok(())
    } else {
        Err(Error::Refused(
            "the load on this rig does not press the brace down at the dial; move the load between the supports".into(),
        ))
    }
}

pub(super) fn combined(budget: &[Share]) -> f64 {
    budget.iter().map(|s| s.u_mm * s.u_mm).sum::<f64>().sqrt()
}

pub(super) fn sorted(mut budget: Vec<Share>) -> Vec<Share> {
    budget.retain(|s| s.u_mm > 0.0);
    budget.sort_by(|a, b| b.u_mm.total_cmp(&a.u_mm));
    budget
}
