//! What is believed of a brace, its rig and its maker before anything is read.

use serde::{Deserialize, Serialize};

use super::KnownHand;
use crate::error::{Result, within};
use crate::tap::DynamicOverStatic;

/// What is believed before anything is read. Spreads are standard deviations; those named `_ln` are of a logarithm (0.12 reads
/// "12 %").
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Prior {
    /// Young's modulus along the brace, GPa: its median.
    pub modulus_gpa: f64,
    /// Its spread.
    pub modulus_ln: f64,
    /// Density, kg/m3: its median.
    pub density_kg_m3: f64,
    /// Its spread.
    pub density_ln: f64,
    /// Spread of the ratio of shear to Young's modulus about the wood's own.
    pub shear_ratio_ln: f64,
    /// Give of the supports, mm/N.
    pub give_mm_per_n: f64,
    /// Its spread, mm/N.
    pub u_give_mm_per_n: f64,
    /// Stiffness of the rest of the top, which carries beside a glued brace, N/mm; 0 for a brace by itself.
    pub rest_n_per_mm: f64,
    /// Its spread, N/mm.
    pub u_rest_n_per_mm: f64,
    /// Modulus a tap feels over the one a dial does.
    pub dynamic_over_static: f64,
    /// Its spread.
    pub u_dynamic_over_static: f64,
    /// Spread of the brace's own compliance about what the model makes of modulus and shape.
    pub model_ln: f64,
    /// What is not known of how much a cut softens, as a part of the softening: wood that varies along the brace, and a hand
    /// that takes more here and less there.
    pub slope_doubt: f64,
    /// Change of the compliance by moisture from before a pass to after it, its spread; it goes again, and the brace's own
    /// deflection is meant without it.
    pub drift_ln: f64,
    /// What the hand takes beyond its aim, as a part of it.
    pub bias_fraction: f64,
    /// Its spread.
    pub u_bias_fraction: f64,
    /// Scatter of the hand that grows with the aim, as a part of it.
    pub scatter_fraction: f64,
    /// Scatter that is there even for a thin shaving, mm.
    pub scatter_mm: f64,
    /// How many passes the scatter is as well known as from; learned from those that follow.
    pub hand_passes: f64,
    /// Part of the shavings that never reaches the pan.
    pub shavings_lost: f64,
    /// Its spread.
    pub u_shavings_lost: f64,
}

impl Prior {
    /// Of the plan's own blank and rig, with a practised hand: spreads of the blank's modulus and density; shear ratio 16 %
    /// (Wood Handbook, range of G_LT/E_L over the spruces, from memory); a tap's modulus 1.065 +- 0.02 times a dial's (from
    /// memory); nothing beside the brace; model 1.3 % (wood uneven along the brace by 4 %), slope 8 % (that, and a layer uneven by
    /// 12 %), drift 0.5 %, hand 0 +- 5 % with a scatter of 10 % and 0.1 mm known as from 30 passes, shavings lost 3 +- 1 % (common
    /// practice, no source).
    pub fn of(plan: &crate::carve::Plan, rig: &crate::rig::Rig) -> Self {
        let blank = plan.start.blank();
        let (give, u_give) = rig.give_mm_per_n();
        let (dynamic, hand) = (DynamicOverStatic::usual(), KnownHand::default());
        Self {
            modulus_gpa: blank.modulus_gpa(),
            modulus_ln: blank.modulus_spread(),
            density_kg_m3: blank.density_kg_m3(),
            density_ln: blank.density_spread(),
            shear_ratio_ln: 0.16,
            give_mm_per_n: give,
            u_give_mm_per_n: u_give,
            rest_n_per_mm: 0.0,
            u_rest_n_per_mm: 0.0,
            dynamic_over_static: dynamic.ratio,
            u_dynamic_over_static: dynamic.u_ratio,
            model_ln: 0.013,
            slope_doubt: 0.08,
            drift_ln: 0.005,
            bias_fraction: hand.bias_fraction,
            u_bias_fraction: hand.u_bias_fraction,
            scatter_fraction: hand.scatter_fraction,
            scatter_mm: hand.scatter_mm,
            hand_passes: hand.hand_passes,
            shavings_lost: 0.03,
            u_shavings_lost: 0.01,
        }
    }

    /// Itself, unless a figure is what none can be.
    pub fn checked(self) -> Result<Self> {
        self.check()?;
        Ok(self)
    }

    pub(super) fn check(&self) -> Result<()> {
        within("modulus_gpa", self.modulus_gpa, "GPa", 0.1, 100.0)?;
        within("density_kg_m3", self.density_kg_m3, "kg/m3", 50.0, 2000.0)?;
        for (name, value, most) in [
            ("modulus_ln", self.modulus_ln, 1.0),
            ("density_ln", self.density_ln, 1.0),
            ("shear_ratio_ln", self.shear_ratio_ln, 0.5),
            ("model_ln", self.model_ln, 0.5),
            ("slope_doubt", self.slope_doubt, 1.0),
            ("drift_ln", self.drift_ln, 0.2),
            ("shavings_lost", self.shavings_lost, 0.5),
            ("u_shavings_lost", self.u_shavings_lost, 0.5),
        ] {
            within(name, value, "", 0.0, most)?;
        }
        self.hand().checked()?;
        within("rest_n_per_mm", self.rest_n_per_mm, "N/mm", 0.0, 1e4)?;
        within("u_rest_n_per_mm", self.u_rest_n_per_mm, "N/mm", 0.0, 1e4)?;
        within("dynamic_over_static", self.dynamic_over_static, "", 0.8, 1.5)?;
        within("u_dynamic_over_static", self.u_dynamic_over_static, "", 0.0, 0.5)?;
        within("give_mm_per_n", self.give_mm_per_n, "mm/N", 0.0, 1.0)?;
        within("u_give_mm_per_n", self.u_give_mm_per_n, "mm/N", 0.0, 1.0)?;
        Ok(())
    }
}
