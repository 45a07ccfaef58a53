//! Settings of a bench.

use serde::{Deserialize, Serialize};

use crate::advice::{Costs, room_for_a_shaving};
use crate::belief::Hand;
use crate::carve::Plan;
use crate::error::{Result, not_negative, positive, within};

/// Settings of a bench that have usual values.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct BenchOptions {
    /// Allowed chance of going past the window in one pass.
    pub overshoot: f64,
    /// The hand that carves.
    pub hand: Hand,
    /// What is not known of its bias.
    pub u_bias_fraction: f64,
    /// How many passes its scatter is as well known as from.
    pub hand_passes: f64,
    /// Deepest pass to advise, mm; the plan's own deepest cut when `None`.
    #[serde(default)]
    pub deepest_pass_mm: Option<f64>,
    /// Thinnest pass the tool can be trusted with, mm.
    pub smallest_shaving_mm: f64,
    /// Chance of being in the window at which to stop, 0.5 to 1.
    pub enough: f64,
    /// Costs, in any one money; with them a pass that is not worth its risk is refused.
    #[serde(default)]
    pub costs: Option<Costs>,
    /// Standard uncertainty of the scale, g.
    pub u_scale_g: f64,
    /// Part of the shavings that never reaches the pan.
    pub shavings_lost: f64,
    /// Standard uncertainty of a calliper at one station, mm.
    pub u_calliper_mm: f64,
    /// Standard uncertainty of a frequency by tap, relative.
    pub u_tap_fraction: f64,
    /// Relative humidity at which to carve, percent: least and most.
    pub rh_percent: (f64, f64),
    /// Bending moment the brace has to bear for years, N m, anywhere between its supports; `None`: strength is not looked at.
    #[serde(default)]
    pub working_moment_n_m: Option<f64>,
    /// Short-term bending strength of clear wood, MPa; the wood's own when `None`.
    #[serde(default)]
    pub bending_strength_mpa: Option<f64>,
    /// Strength over the stress of that moment, at least.
    pub least_margin: f64,
}

impl Default for BenchOptions {
    /// 2 %; a practised hand (10 % and 0.1 mm, no bias but 5 % unknown, as from 30 passes); the plan's deepest cut; 0.15 mm;
    /// 90 %; 0.01 g; 3 %; 0.05 mm; 0.5 %; 40 to 50 %; four times, for load that never lets go (all common practice, no source).
    fn default() -> Self {
        Self {
            overshoot: 0.02,
            hand: Hand { bias_fraction: 0.0, scatter_fraction: 0.10, scatter_mm: 0.10 },
            u_bias_fraction: 0.05,
            hand_passes: 30.0,
            deepest_pass_mm: None,
            smallest_shaving_mm: 0.15,
            enough: 0.90,
            costs: None,
            u_scale_g: 0.01,
            shavings_lost: 0.03,
            u_calliper_mm: 0.05,
            u_tap_fraction: 0.005,
            rh_percent: (40.0, 50.0),
            working_moment_n_m: None,
            bending_strength_mpa: None,
            least_margin: 4.0,
        }
    }
}

impl BenchOptions {
    pub(super) fn check(&self, plan: &Plan) -> Result<()> {
        within("overshoot", self.overshoot, "", 1e-6, 0.5)?;
        within("shavings_lost", self.shavings_lost, "", 0.0, 0.5)?;
        within("u_bias_fraction", self.u_bias_fraction, "", 0.0, 0.5)?;
        within("hand_passes", self.hand_passes, "", 4.0, 1e6)?;
        if let Some(d) = self.deepest_pass_mm {
            positive("deepest_pass_mm", d, "mm")?;
        }
        within("enough", self.enough, "", 0.5, 1.0)?;
        not_negative("smallest_shaving_mm", self.smallest_shaving_mm, "mm")?;
        let (name, deepest) = match self.deepest_pass_mm {
            Some(d) => ("deepest_pass_mm", d),
            None => ("max_depth_mm of the plan", plan.options.max_depth_mm),
        };
        room_for_a_shaving(name, deepest, self.smallest_shaving_mm)?;
        positive("u_scale_g", self.u_scale_g, "g")?;
        positive("u_calliper_mm", self.u_calliper_mm, "mm")?;
        within("u_tap_fraction", self.u_tap_fraction, "", 1e-5, 0.2)?;
        within("rh_low_percent", self.rh_percent.0, "%", 0.0, 100.0)?;
        within("rh_high_percent", self.rh_percent.1, "%", self.rh_percent.0, 100.0)?;
        within("least_margin", self.least_margin, "", 1.0, 100.0)?;
        if let Some(m) = self.working_moment_n_m {
            within("working_moment_n_m", m, "N m", 1e-6, 1e3)?;
        }
        if let Some(v) = self.bending_strength_mpa {
            within("bending_strength_mpa", v, "MPa", 1.0, 500.0)?;
        }
        if let Some(c) = self.costs {
            not_negative("per_pass", c.per_pass, "")?;
            not_negative("short", c.short, "")?;
            not_negative("over", c.over, "")?;
        }
        Ok(())
    }
}
