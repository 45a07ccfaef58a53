//! The first stringing in stages: the rotation to expect at each, and where to stop.

use serde::{Deserialize, Serialize};

use super::bridge::BridgeLoad;
use crate::cautions::{Hazard, cautions};
use crate::error::{Error, Result, number, unknown_name, within};
use crate::wood::k_def;
use crate::years::creep_ratio;

/// Stages, hours at pitch, share of the tension. Half tension is read at once.
const STAGES: [(&str, f64, f64); 6] = [
    ("half tension", 0.0, 0.5),
    ("at pitch", 0.0, 1.0),
    ("1 hour", 1.0, 1.0),
    ("1 day", 24.0, 1.0),
    ("1 week", 168.0, 1.0),
    ("1 month", 730.5, 1.0),
];
/// How well the course of creep is guessed, relative; no source.
const U_CREEP: f64 = 0.5;

/// A couple put on the top without strings: two equal weights, one up and one down, an arm apart.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct RotationTest {
    /// Rotational stiffness of the top at the bridge, N m per degree.
    pub stiffness_n_m_per_deg: f64,
    /// Its standard uncertainty.
    pub u_stiffness_n_m_per_deg: f64,
}

impl RotationTest {
    /// From a force (0.1 to 500 N) at either end of an arm (5 to 500 mm), one up and one down, and the rotation read, with
    /// standard uncertainties.
    pub fn new(force_n: f64, arm_mm: f64, rotation_deg: f64, u_rotation_deg: f64, u_force_n: f64) -> Result<Self> {
        let f = within("force_n", force_n, "N", 0.1, 500.0)?;
        let arm = within("arm_mm", arm_mm, "mm", 5.0, 500.0)?;
        let r = within("rotation_deg", rotation_deg, "deg", 1e-4, 30.0)?;
        let ur = within("u_rotation_deg", u_rotation_deg, "deg", 0.0, r)?;
        let uf = within("u_force_n", u_force_n, "N", 0.0, f)?;
        let k = 1e-3 * f * arm / r;
        Ok(Self { stiffness_n_m_per_deg: k, u_stiffness_n_m_per_deg: k * (ur / r).hypot(uf / f) })
    }
}

/// Rotation of a bridge in degrees from two dials `apart_mm` apart (5 to 500): how far the top rose behind it and sank before
/// it, mm (each -20 to 20).
pub fn bridge_rotation_deg(rise_behind_mm: f64, sink_before_mm: f64, apart_mm: f64) -> Result<f64> {
    let rise = within("rise_behind_mm", rise_behind_mm, "mm", -20.0, 20.0)?;
    let sink = within("sink_before_mm", sink_before_mm, "mm", -20.0, 20.0)?;
    Ok(((rise + sink) / within("apart_mm", apart_mm, "mm", 5.0, 500.0)?).atan().to_degrees())
}

/// One stage.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct StringingStage {
    /// Its name.
    pub name: String,
    /// Hours at pitch.
    pub hours: f64,
    /// Share of the tension that is on.
    pub tension_share: f64,
    /// Couple, N m.
    pub couple_n_m: f64,
    /// Rotation to expect, degrees.
    pub rotation_deg: f64,
    /// Its standard uncertainty, degrees.
    pub u_rotation_deg: f64,
    /// Stop here when more is read, degrees: the last stage would pass the limit.
    pub stop_deg: f64,
}

/// A first stringing.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Stringing {
    /// The stages, in order.
    pub stages: Vec<StringingStage>,
    /// Rotational stiffness used, N m per degree.
    pub stiffness_n_m_per_deg: f64,
    /// The limit, degrees, as given.
    pub limit_deg: f64,
    /// Whether the last stage is expected to pass the limit.
    pub over_limit: bool,
    /// What should be known, as sentences.
    pub words: Vec<String>,
}

/// What a reading at a stage says.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct StageAnswer {
    /// Whether to go on.
    pub go_on: bool,
    /// Rotational stiffness as the reading has it, N m per degree, creep taken out.
    pub stiffness_n_m_per_deg: f64,
    /// Rotation at the last stage if the rest goes as foreseen, degrees.
    pub last_deg: f64,
    /// What to do, as a sentence.
    pub words: String,
}

/// The stages of a first stringing: half tension, pitch, an hour, a day, a week, a month.
///
/// Rotation is couple over `stiffness_n_m_per_deg` (0.05 to 1000, from [`RotationTest`], from a like instrument or computed;
/// relative standard uncertainty `u_stiffness`, 0 to 1), and grows by [`creep_ratio`] with k_def of the service class, known
/// within half of itself. `limit_deg` (0.01 to 20) is yours: no ceiling is built in.
pub fn stringing(
    load: &BridgeLoad,
    stiffness_n_m_per_deg: f64,
    u_stiffness: f64,
    limit_deg: f64,
    service_class: f64,
) -> Result<Stringing> {
    let k = within("stiffness_n_m_per_deg", stiffness_n_m_per_deg, "N m/deg", 0.05, 1000.0)?;
    let uk = within("u_stiffness", u_stiffness, "", 0.0, 1.0)?;
    let limit = within("limit_deg", limit_deg, "deg", 0.01, 20.0)?;
    let kd = k_def(service_class)?;
    let mut stages = Vec::with_capacity(STAGES.len());
    let u_couple = if load.couple_n_m > 0.0 { load.u_couple_n_m / load.couple_n_m } else { 0.0 };
    for (name, hours, share) in STAGES {
        let creep = creep_ratio(hours, kd)?;
        let elastic = share * load.couple_n_m / k;
        let rotation = elastic * (1.0 + creep);
        let u = (rotation * u_couple.hypot(uk)).hypot(elastic * creep * U_CREEP);
        stages.push(StringingStage {
            name: name.into(),
            hours,
            tension_share: share,
            couple_n_m: share * load.couple_n_m,
            rotation_deg: rotation,
            u_rotation_deg: u,
            stop_deg: 0.0,
        });
    }
    let last = stages[stages.len() - 1].rotation_deg;
    if last <= 0.0 {
        return Err(Error::Refused("a set without tension needs no stages; load it first".into()));
    }
    for s in &mut stages {
        s.stop_deg = limit * s.rotation_deg / last;
    }
    let over = last > limit;
    let mut words: Vec<String> = stages
        .iter()
        .map(|s| {
            format!("{}: {:.2} degrees (u {:.2}); stop if more than {:.2}", s.name, s.rotation_deg, s.u_rotation_deg, s.stop_deg)
        })
        .collect();
    words.push(format!(
        "stops are those that lead to the limit of {} degrees after a month; creep is k_def {} in 50 years spread over log time, a guess \
         until your own readings replace it",
        number(limit),
        number(kd)
    ));
    if over {
        words.push(format!(
            "caution: {last:.2} degrees are expected after a month, more than the limit of {} degrees",
            number(limit)
        ));
    }
    Ok(Stringing { stages, stiffness_n_m_per_deg: k, limit_deg: limit, over_limit: over, words })
}

impl Stringing {
    /// What a rotation read at a stage (0 to 30 degrees, standard uncertainty `u_deg`) says: go on, or slacken.
    pub fn judge(&self, stage: &str, rotation_deg: f64, u_deg: f64) -> Result<StageAnswer> {
        let plain = stage.trim().to_lowercase();
        let s = self
            .stages
            .iter()
            .find(|s| s.name == plain)
            .ok_or_else(|| unknown_name("stage", stage, self.stages.iter().map(|s| s.name.as_str())))?;
        let read = within("rotation_deg", rotation_deg, "deg", 0.0, 30.0)?;
        let u = within("u_deg", u_deg, "deg", 0.0, 10.0)?;
        let last = read * self.limit_deg / s.stop_deg;
        let ratio = read / s.rotation_deg;
        let go_on = read <= s.stop_deg;
        let words = if go_on {
            let close =
                if read + 2.0 * u > s.stop_deg { ", though not by two standard uncertainties: read it again" } else { "" };
            format!(
                "{}: {read:.2} degrees, under the stop of {:.2}{close}; {last:.2} to expect after a month",
                s.name, s.stop_deg
            )
        } else {
            format!(
                "stop: {read:.2} degrees at {} is past {:.2}; at this rate a month ends at {last:.2}, over the limit of {}. Slacken all strings \
                 and look for what gave",
                s.name,
                s.stop_deg,
                number(self.limit_deg)
            )
        };
        let odd = (read - s.rotation_deg).abs() > 3.0 * u.hypot(s.u_rotation_deg);
        let words = if odd {
            format!(
                "{words}; it is {ratio:.2} times what was expected, further off than chance: look at braces, glue and the reading"
            )
        } else {
            words
        };
        let stiffness = if ratio > 0.0 { self.stiffness_n_m_per_deg / ratio } else { f64::INFINITY };
        if !stiffness.is_finite() {
            return Err(Error::OutOfRange {
                quantity: "rotation_deg".into(),
                value: read,
                unit: "deg",
                allowed: "above 0: a bridge under tension turns".into(),
            });
        }
        Ok(StageAnswer { go_on, stiffness_n_m_per_deg: stiffness, last_deg: last, words })
    }

    /// What to mind.
    pub fn cautions(&self) -> Vec<String> {
        cautions(&[Hazard::Strings, Hazard::LongLoad, Hazard::Estimate])
    }
}
