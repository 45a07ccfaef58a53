//! Creep before there are readings: k_def of a standard, spread over log time.

use serde::{Deserialize, Serialize};

use crate::cautions::{Hazard, cautions};
use crate::error::{Result, number, within};
use crate::wood::k_def;

/// Hours that k_def stands for: the standard's design life of 50 years.
pub const DESIGN_LIFE_H: f64 = 50.0 * 8766.0;

/// Creep over the elastic deflection after `hours` (0 to 1e7) under load that stays: `k_def` (0 to 10) reached after 50
/// years, with log(1 + t / 1 h) in between. The end is the standard's; that it grows evenly over log time from the first hour is
/// common practice, no source: a quarter of it on the first day, half in a month, 70 % in a year.
pub fn creep_ratio(hours: f64, k_def: f64) -> Result<f64> {
    let t = within("hours", hours, "h", 0.0, 1e7)?;
    let k = within("k_def", k_def, "", 0.0, 10.0)?;
    Ok(k * t.ln_1p() / DESIGN_LIFE_H.ln_1p())
}

/// A deflection or rotation over the years.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CreepOutlook {
    /// Elastic value, in the unit it was given in.
    pub elastic: f64,
    /// k_def used.
    pub k_def: f64,
    /// Years.
    pub years: Vec<f64>,
    /// Value after each.
    pub value: Vec<f64>,
    /// The same if air that cycles makes creep come to twice the elastic value in 50 years.
    pub cycling: Vec<f64>,
    /// What should be known, as sentences.
    pub words: Vec<String>,
}

/// What an elastic deflection or rotation becomes in so many years, by k_def of the service class (1 for heated rooms).
pub fn creep_outlook(elastic: f64, service_class: f64, years: &[f64]) -> Result<CreepOutlook> {
    let elastic = within("elastic", elastic, "", -1e6, 1e6)?;
    let k = k_def(service_class)?;
    let mut value = Vec::with_capacity(years.len());
    let mut cycling = Vec::with_capacity(years.len());
    for (i, y) in years.iter().enumerate() {
        let h = 8766.0 * within(&format!("years[{i}]"), *y, "years", 0.0, 200.0)?;
        value.push(elastic * (1.0 + creep_ratio(h, k)?));
        cycling.push(elastic * (1.0 + creep_ratio(h, 2.0_f64.max(k))?));
    }
    Ok(CreepOutlook {
        elastic,
        k_def: k,
        years: years.to_vec(),
        value,
        cycling,
        words: vec![
            format!(
                "k_def {} (EN 1995-1-1 Table 3.2, service class {}, from memory): {} in 50 years for an elastic {}; its course over log \
                 time is assumed",
                number(k),
                number(service_class),
                number((1e4 * elastic * (1.0 + k)).round() / 1e4),
                number(elastic)
            ),
            MECHANO_SORPTIVE.into(),
        ],
    })
}

/// Said wherever creep is.
pub const MECHANO_SORPTIVE: &str = "air that goes dry and damp in turn makes loaded wood creep more than either (mechano-sorptive \
                                    creep): two to three times the elastic value has been measured on timber; no published figures \
                                    for braced tops are known here";

impl CreepOutlook {
    /// What to mind.
    pub fn cautions(&self) -> Vec<String> {
        cautions(&[Hazard::LongLoad, Hazard::DryClimate, Hazard::Heat, Hazard::Estimate])
    }
}
