//! Ways of deciding by name, each a policy once plan, rig and window are known.

use std::sync::Arc;

use serde::{Deserialize, Serialize};

use super::policy::{BookHeight, ByChance, Policy, StraightAtTarget};
use super::settings::ShopSettings;
use crate::advice::{Rule, Window};
use crate::carve::Plan;
use crate::decide::{Aimed, Curves, Prior};
use crate::error::{Result, not_negative, within};
use crate::fit::Beam;
use crate::rig::Rig;

/// The rule that keeps the chance of going past the window, and what it believes before a brace is read.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ChanceRule {
    /// Allowed chance of going past the window in one pass.
    pub overshoot: f64,
    /// Chance of being in the window at which to stop.
    pub enough: f64,
    /// Deepest pass, mm; `None`: as deep as the chance allows.
    pub deepest_pass_mm: Option<f64>,
    /// Thinnest pass the tool can be trusted with, mm.
    pub smallest_shaving_mm: f64,
    /// Spread of the modulus between sticks before the first reading.
    pub modulus_ln: f64,
    /// What the hand takes beyond its aim, as a part of it.
    pub bias_fraction: f64,
    /// Its spread.
    pub u_bias_fraction: f64,
    /// Scatter of the hand that grows with the aim, as a part of it.
    pub scatter_fraction: f64,
    /// Scatter that is there even for a thin shaving, mm.
    pub scatter_mm: f64,
    /// How many passes the scatter is as well known as from.
    pub hand_passes: f64,
    /// What is not known of how much a cut softens, as a part of the softening.
    pub slope_doubt: f64,
    /// Uncertainty of the shavings on the scale, g; `None`: they are not weighed.
    pub u_scale_g: Option<f64>,
}

impl Default for ChanceRule {
    /// 2 %, in the window at 90 %, shavings of 0.15 mm; sticks that differ by 12 %; a practised hand of which the maker knows
    /// that it takes about 5 % too much, 8 % between makers, with a scatter of 8 % and 0.05 mm known as from 30 passes; a slope
    /// known to 8 %; shavings weighed to 0.02 g (common practice, no source).
    fn default() -> Self {
        Self {
            overshoot: 0.02,
            enough: 0.90,
            deepest_pass_mm: None,
            smallest_shaving_mm: 0.15,
            modulus_ln: 0.12,
            bias_fraction: 0.05,
            u_bias_fraction: 0.08,
            scatter_fraction: 0.08,
            scatter_mm: 0.05,
            hand_passes: 30.0,
            slope_doubt: 0.08,
            u_scale_g: Some(0.02),
        }
    }
}

impl ChanceRule {
    /// The same for a coarse hand of 20 % and 0.2 mm, which also takes unevenly along its layer: 22 % in all, a slope known to
    /// 10 %, and no shaving thinner than one and a half times what the hand scatters by.
    pub fn with_coarse_hand(self) -> Self {
        Self { scatter_fraction: 0.22, scatter_mm: 0.2, slope_doubt: 0.10, smallest_shaving_mm: 0.3, ..self }
    }

    /// What is believed of a brace before it is read.
    pub fn prior(&self, plan: &Plan, rig: &Rig) -> Result<Prior> {
        Prior {
            modulus_ln: self.modulus_ln,
            bias_fraction: self.bias_fraction,
            u_bias_fraction: self.u_bias_fraction,
            scatter_fraction: self.scatter_fraction,
            scatter_mm: self.scatter_mm,
            hand_passes: self.hand_passes,
            slope_doubt: self.slope_doubt,
            ..Prior::of(plan, rig)
        }
        .checked()
    }

    /// The rule of one pass.
    pub fn rule(&self, plan: &Plan) -> Result<Rule> {
        let mut rule = Rule::new(self.overshoot, plan.whole_depth_mm())?;
        (rule.enough, rule.deepest_pass_mm, rule.smallest_shaving_mm) =
            (self.enough, self.deepest_pass_mm, self.smallest_shaving_mm);
        rule.checked()
    }
}

/// A way of deciding.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub enum Way {
    /// Once to a depth out of a book, mm.
    Book {
        /// mm.
        depth_mm: f64,
    },
    /// Read, and carve straight at the target.
    Straight,
    /// The rule that keeps a chance.
    Chance(ChanceRule),
}

impl Way {
    /// The policy on this plan and rig, towards this window on the brace's own deflection.
    pub fn policy(&self, plan: &Plan, rig: &Rig, window: &Window, settings: &ShopSettings) -> Result<Box<dyn Policy>> {
        window.check()?;
        // the curves are of the beam the shop takes for true, of uniform wood; the unevenness stays hidden
        let curves = || match settings.beam {
            Beam::Resolved => Curves::new(plan, rig, false).map(Arc::new),
            Beam::Section => Curves::of_section(plan, rig).map(Arc::new),
        };
        Ok(match self {
            Way::Book { depth_mm } => {
                not_negative("depth_mm", *depth_mm, "mm")?;
                Box::new(BookHeight { depth_mm: within("depth_mm", *depth_mm, "mm", 0.0, plan.whole_depth_mm())? })
            }
            Way::Straight => Box::new(StraightAtTarget {
                curves: curves()?,
                window: *window,
                // the same average give and hand as the rule knows of
                give_mm: rig.load_n() * rig.give_mm_per_n().0,
                bias_fraction: ChanceRule::default().bias_fraction,
            }),
            Way::Chance(c) => {
                if let Some(u) = c.u_scale_g {
                    within("u_scale_g", u, "g", 1e-6, 10.0)?;
                }
                let (prior, rule) = (c.prior(plan, rig)?, c.rule(plan)?);
                Box::new(ByChance::new(&curves()?, &prior, window, &rule, Aimed::Brace, c.u_scale_g)?)
            }
        })
    }
}
