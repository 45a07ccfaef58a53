//! One set for another.

use serde::{Deserialize, Serialize};

use super::bridge::{Bridge, BridgeLoad};
use super::set::StringSet;
use crate::cautions::{Hazard, cautions};
use crate::error::{Result, within};

/// What changing strings changes.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SetSwap {
    /// The load of the set that comes off.
    pub before: BridgeLoad,
    /// The load of the set that goes on.
    pub after: BridgeLoad,
    /// New tension less old, N.
    pub tension_change_n: f64,
    /// The same, percent of the old.
    pub tension_change_percent: f64,
    /// New couple less old, N m.
    pub couple_change_n_m: f64,
    /// Couple the top was designed for, N m; `None` where none was said.
    pub design_couple_n_m: Option<f64>,
    /// New couple, percent of the design couple.
    pub percent_of_design: Option<f64>,
    /// Whether the new couple is above the design couple.
    pub over_design: bool,
    /// What should be known, as sentences.
    pub words: Vec<String>,
}

/// What a new set does on a bridge beside the old one. `design_couple_n_m` (0.1 to 100) is the couple the braces were carved
/// for. A set over it is a caution in the report, not an error.
pub fn swapped(old: &StringSet, new: &StringSet, bridge: &Bridge, design_couple_n_m: Option<f64>) -> Result<SetSwap> {
    let design = design_couple_n_m.map(|d| within("design_couple_n_m", d, "N m", 0.1, 100.0)).transpose()?;
    let (before, after) = (bridge.load(&old.tensions())?, bridge.load(&new.tensions())?);
    let change = after.total_n - before.total_n;
    let percent = 100.0 * change / before.total_n;
    let of_design = design.map(|d| 100.0 * after.couple_n_m / d);
    let over = of_design.is_some_and(|p| p > 100.0);
    let mut words = vec![format!(
        "{} for {}: {change:+.0} N ({percent:+.1} %), couple {:.2} N m for {:.2}",
        named(&new.name, "the new set"),
        named(&old.name, "the old one"),
        after.couple_n_m,
        before.couple_n_m
    )];
    if let (Some(d), Some(p)) = (design, of_design) {
        words.push(format!("{p:.0} % of the design couple of {d:.2} N m"));
        if over {
            words.push(format!(
                "caution: over the design load by {:.0} % (u {:.0} %); stresses, rotation and creep go up in the same measure: do not leave \
                 it on without carving margins looked at again",
                p - 100.0,
                100.0 * after.u_couple_n_m / d
            ));
        } else if after.couple_n_m + 2.0 * after.u_couple_n_m > d {
            words.push(format!(
                "caution: within the design load, but not by two standard uncertainties (u {:.2} N m)",
                after.u_couple_n_m
            ));
        }
    }
    Ok(SetSwap {
        tension_change_n: change,
        tension_change_percent: percent,
        couple_change_n_m: after.couple_n_m - before.couple_n_m,
        design_couple_n_m: design,
        percent_of_design: of_design,
        over_design: over,
        before,
        after,
        words,
    })
}

fn named<'a>(name: &'a str, otherwise: &'a str) -> &'a str {
    if name.is_empty() { otherwise } else { name }
}

impl SetSwap {
    /// What to mind.
    pub fn cautions(&self) -> Vec<String> {
        cautions(&[Hazard::Strings, Hazard::LongLoad, Hazard::Estimate])
    }
}
