//! A year of air, and the top that follows it slowly.

use serde::{Deserialize, Serialize};

use super::gate::{crack_stress_mpa, strength_across};
use super::strip::ArchStrip;
use crate::cautions::{Hazard, cautions};
use crate::error::{self, Error, Result, number, within};
use crate::wood::{Wood, emc_percent};

/// Days of a month and of a year, taken alike.
const MONTH: f64 = 365.25 / 12.0;
/// Rows of the year.
const ROWS: usize = 360;

/// What a season needs beside the air.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct SeasonOptions {
    /// Moisture content at which the glue set, percent.
    pub glued_mc_percent: f64,
    /// Time constant of the wood's sorption, days; 0 follows the air at once.
    pub time_constant_days: f64,
    /// Arch built in, mm.
    pub built_arch_mm: f64,
    /// Strength across the grain, MPa; `None` for the wood's own figure.
    pub tension_perpendicular_mpa: Option<f64>,
}

/// A year, the same every year.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Season {
    /// Day of the year, from 0.
    pub day: Vec<f64>,
    /// Relative humidity, percent, straight between the middles of months.
    pub rh_percent: Vec<f64>,
    /// Moisture content the air would give, percent.
    pub emc_percent: Vec<f64>,
    /// Moisture content of the wood, percent.
    pub mc_percent: Vec<f64>,
    /// Arch, mm.
    pub arch_mm: Vec<f64>,
    /// Change of action at the 12th fret from the arch alone, mm.
    pub action_mm: Vec<f64>,
    /// Tension across the grain over its strength, the top held; 0 where it is damper than at gluing.
    pub crack_index: Vec<f64>,
    /// Moisture content at which the glue set, percent.
    pub glued_mc_percent: f64,
    /// Arch built in, mm.
    pub built_arch_mm: f64,
    /// Lowest arch of the year, mm.
    pub lowest_arch_mm: f64,
    /// Highest arch of the year, mm.
    pub highest_arch_mm: f64,
    /// Largest crack index of the year.
    pub most_crack_index: f64,
    /// Driest air of the year, percent.
    pub driest_rh_percent: f64,
    /// What should be known, as sentences.
    pub words: Vec<String>,
}

/// A year of air by months (12 humidities 5 to 95 %, 12 temperatures 0 to 50 deg C or one) on a strip of top.
///
/// The wood follows the air's equilibrium with one time constant, dM/dt = (EMC - M)/tau (0 to 365 days), exactly between the
/// points of the year, and the year repeats: it ends where it began. A bare top takes hours to a day, a finished box weeks (common
/// practice, no source). Real sorption is quicker at first and slower later, and differs between face and core.
pub fn season(
    strip: &ArchStrip,
    top: &Wood,
    rh_percent: &[f64],
    temperature_c: &[f64],
    options: &SeasonOptions,
) -> Result<Season> {
    let twelve = |name: &str, values: &[f64], one: bool| -> Result<Vec<f64>> {
        match values.len() {
            12 => Ok(values.to_vec()),
            1 if one => Ok(vec![values[0]; 12]),
            n => Err(Error::BadList {
                name: name.into(),
                problem: format!(
                    "has {n} values; it must have 12, one a month from January{}",
                    if one { ", or one for all" } else { "" }
                ),
            }),
        }
    };
    let rh = twelve("rh_percent", rh_percent, false)?;
    let celsius = twelve("temperature_c", temperature_c, true)?;
    let glued = within("glued_mc_percent", options.glued_mc_percent, "% MC", 0.0, 30.0)?;
    let tau = within("time_constant_days", options.time_constant_days, "days", 0.0, 365.0)?;
    let built = within("built_arch_mm", options.built_arch_mm, "mm", 0.0, 30.0)?;
    let strength = strength_across(top, options.tension_perpendicular_mpa)?;
    for k in 0..12 {
        within(&format!("rh_percent[{k}]"), rh[k], "% RH", 5.0, 95.0)?;
        within(&format!("temperature_c[{k}]"), celsius[k], "deg C", 0.0, 50.0)?;
    }
    error::same_length("rh_percent", rh.len(), "temperature_c", celsius.len())?;

    let between = |values: &[f64], day: f64| {
        let place = (day / MONTH - 0.5).rem_euclid(12.0);
        let k = place.floor() as usize % 12;
        values[k] + (place - place.floor()) * (values[(k + 1) % 12] - values[k])
    };
    let step = 12.0 * MONTH / ROWS as f64;
    let day: Vec<f64> = (0..=ROWS).map(|k| k as f64 * step).collect();
    let air: Vec<f64> = day.iter().map(|d| between(&rh, *d)).collect();
    let emc = day.iter().zip(&air).map(|(d, h)| emc_percent(between(&celsius, *d), *h)).collect::<Result<Vec<f64>>>()?;
    let mc = followed(&emc, step, tau);

    let (mut arch, mut action, mut crack) = (Vec::new(), Vec::new(), Vec::new());
    for m in &mc {
        let change = strip.change(glued, m.clamp(0.0, 30.0))?.restrained_mm;
        arch.push(built + change);
        action.push(0.5 * change);
        crack.push(crack_stress_mpa(top, glued, m.clamp(0.0, 30.0))? / strength);
    }
    let least = |v: &[f64]| v.iter().copied().fold(f64::INFINITY, f64::min);
    let most = |v: &[f64]| v.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let (low, high, worst, driest) = (least(&arch), most(&arch), most(&crack), least(&air));
    let month = |v: &[f64], x: f64| {
        const NAMES: [&str; 12] = [
            "January",
            "February",
            "March",
            "April",
            "May",
            "June",
            "July",
            "August",
            "September",
            "October",
            "November",
            "December",
        ];
        let k = v.iter().position(|y| *y == x).unwrap_or(0);
        NAMES[((day[k] / MONTH) as usize).min(11)]
    };
    let mut words = vec![
        format!(
            "arch {low:.2} mm in {} to {high:.2} mm in {} (built {built:.2}); action at the 12th fret {:+.2} to {:+.2} mm; crack index up to \
             {worst:.2}",
            month(&arch, low),
            month(&arch, high),
            least(&action),
            most(&action)
        ),
        format!(
            "the wood follows the air with a time constant of {} days and swings {:.1} % MC where the air would have it swing {:.1}",
            number(tau),
            most(&mc) - least(&mc),
            most(&emc) - least(&emc)
        ),
    ];
    if low < 0.0 {
        words.push(format!("caution: the top goes below flat, to {low:.2} mm: alarm"));
    }
    if worst >= 1.0 {
        words.push(format!("caution: the crack index reaches {worst:.2}: such a winter splits held tops"));
    }
    if driest < 35.0 {
        words.push(format!("caution: air of {driest:.0} % RH; below 35 % the risk of damage is commonly put as high"));
    }
    Ok(Season {
        day,
        rh_percent: air,
        emc_percent: emc,
        mc_percent: mc,
        arch_mm: arch,
        action_mm: action,
        crack_index: crack,
        glued_mc_percent: glued,
        built_arch_mm: built,
        lowest_arch_mm: low,
        highest_arch_mm: high,
        most_crack_index: worst,
        driest_rh_percent: driest,
        words,
    })
}

/// First-order lag of a course that is straight between its points and repeats.
fn followed(air: &[f64], step: f64, tau: f64) -> Vec<f64> {
    if tau < 1e-6 {
        return air.to_vec();
    }
    let fade = (-step / tau).exp();
    // exact for a straight piece: y1 = f y0 + (x1 - f x0) - (1 - f) tau slope
    let next = |y: f64, k: usize| fade * y + air[k + 1] - fade * air[k] - (1.0 - fade) * tau * (air[k + 1] - air[k]) / step;
    let pieces = air.len() - 1;
    let once = (0..pieces).fold(0.0, next);
    let whole = fade.powi(pieces as i32);
    let mut y = vec![once / (1.0 - whole)];
    for k in 0..pieces {
        y.push(next(y[k], k));
    }
    y
}

impl Season {
    /// What to mind.
    pub fn cautions(&self) -> Vec<String> {
        let mut hazards = Vec::new();
        if self.driest_rh_percent < 40.0 {
            hazards.push(Hazard::DryClimate);
        }
        if self.rh_percent.iter().any(|h| *h > 60.0) {
            hazards.push(Hazard::DampClimate);
        }
        hazards.extend([Hazard::Heat, Hazard::Estimate]);
        cautions(&hazards)
    }
}
