//! What stops the chisel whatever the window says: strength, and the climate of the shop.

use super::{Bench, BenchOptions};
use crate::advice::{Kind, Stop};
use crate::carve::Plan;
use crate::decide::Decision;
use crate::error::{Error, Result, within};
use crate::rig::Rig;
use crate::wood::{Quantity, Wood};

/// Stations at which the stress is looked at.
const STATIONS: usize = 101;

/// Strength in bending, MPa: the one given, or the wood's own.
pub(crate) fn strength_mpa(wood: &Wood, given: Option<f64>) -> Result<f64> {
    given.or_else(|| wood.value(Quantity::ModulusOfRupture)).ok_or_else(|| {
        Error::Refused(format!(
            "working_moment_n_m was given, but {} carries no bending strength to set the stress against: give bending_strength_mpa",
            wood.name()
        ))
    })
}

/// Strength over the largest bending stress of a moment anywhere between the supports, at a depth of the plan.
pub(super) fn margin(plan: &Plan, rig: &Rig, moment_n_m: f64, strength_mpa: f64, depth_mm: f64) -> Result<f64> {
    let b = plan.at_depth(depth_mm)?;
    let (_, supports, _) = rig.on(&b, 0.0)?;
    let places: Vec<f64> = supports.iter().map(|s| s.x_mm()).collect();
    let (from, to) = match places.as_slice() {
        [one] => (*one, b.length_mm() - one),
        many => many.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| (l.min(*v), h.max(*v))),
    };
    let x: Vec<f64> = (0..STATIONS).map(|k| from + (to - from) * k as f64 / (STATIONS - 1) as f64).collect();
    let (crest, glue) = b.stress_mpa(&x, &vec![moment_n_m; STATIONS])?;
    let most = crest.iter().chain(&glue).fold(0.0_f64, |m, v| m.max(v.abs()));
    Ok(strength_mpa / most)
}

/// Whole depth of the plan down to which strength stays above the least margin, mm.
pub(super) fn deepest_strong_mm(plan: &Plan, rig: &Rig, moment_n_m: f64, options: &BenchOptions) -> Result<f64> {
    let strength = strength_mpa(plan.start.blank().wood(), options.bending_strength_mpa)?;
    let enough = |d: f64| Ok::<bool, Error>(margin(plan, rig, moment_n_m, strength, d)? >= options.least_margin);
    let whole = plan.whole_depth_mm();
    if enough(whole)? {
        return Ok(whole);
    }
    let (mut lo, mut hi) = (0.0, whole);
    for _ in 0..40 {
        let m = 0.5 * (lo + hi);
        if enough(m)? { lo = m } else { hi = m }
    }
    Ok(lo)
}

impl Bench {
    /// Strength over stress as the brace stands; `None` where no working moment was given.
    pub fn margin(&self) -> Result<Option<f64>> {
        let depth = self.removed_mm().0.clamp(0.0, self.plan.whole_depth_mm());
        let Some(moment) = self.options.working_moment_n_m else { return Ok(None) };
        let strength = strength_mpa(self.plan.start.blank().wood(), self.options.bending_strength_mpa)?;
        margin(&self.plan, &self.rig, moment, strength, depth).map(Some)
    }

    /// Doubts come first; then the figures of strength where that stops the chisel, and the climate of the shop.
    pub(super) fn hold_to_limits(&self, decision: &mut Decision, rh_percent: Option<f64>) -> Result<()> {
        if let Some(worst) = self.doubts.iter().max_by(|a, b| a.met.sigmas.abs().total_cmp(&b.met.sigmas.abs())) {
            halt(decision, worst.met.stop());
        } else if matches!(decision.kind, Kind::Stop(Stop::TooWeak { .. })) {
            let margin = self.margin()?.unwrap_or(f64::INFINITY);
            decision.kind = Kind::Stop(Stop::TooWeak { margin, least_margin: self.options.least_margin });
        }
        let Some(rh) = rh_percent else { return Ok(()) };
        within("rh_percent", rh, "%", 0.0, 100.0)?;
        let (low, high) = self.options.rh_percent;
        // a stop for another reason stands
        if matches!(decision.kind, Kind::Carve { .. }) && !(low..=high).contains(&rh) {
            halt(
                decision,
                if rh < low {
                    Stop::TooDry { rh_percent: rh, low_percent: low }
                } else {
                    Stop::TooDamp { rh_percent: rh, high_percent: high }
                },
            );
        }
        Ok(())
    }
}

/// Turns a decision into a stop.
fn halt(decision: &mut Decision, why: Stop) {
    decision.kind = Kind::Stop(why);
    (decision.depth_mm, decision.passes_to_expect, decision.shavings_g) = (0.0, 0, (0.0, 0.0));
    (decision.after_mm, decision.chance_over, decision.chance_in_window) =
        (decision.now_mm, decision.standing.0, decision.standing.1);
}
