//! E and G from the tapped frequencies of a stick, with their budget.

use serde::{Deserialize, Serialize};

use super::budget::{DynamicOverStatic, StaticModulus, TapShare, combined, sorted};
use super::stick::{Bending, StickTap, TapReading};
use super::stick_model::{Model, Trial};
use crate::error::{Error, Result, number};

/// What taps say of a stick.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct StickEstimate {
    /// Dynamic E along the grain, GPa.
    pub modulus_gpa: f64,
    /// Its standard uncertainty, GPa.
    pub u_gpa: f64,
    /// Shares of the relative uncertainty of E, largest first.
    pub budget: Vec<TapShare>,
    /// Shear modulus in the plane of the bending, GPa: found from two modes or more, otherwise E times the wood's ratio.
    pub shear_gpa: f64,
    /// Its standard uncertainty, GPa.
    pub u_shear_gpa: f64,
    /// Shares of the relative uncertainty of G.
    pub shear_budget: Vec<TapShare>,
    /// Correlation of E and G, -1 to 1.
    pub correlation: f64,
    /// True when G was found and not assumed.
    pub shear_found: bool,
    /// Each reading over the model's frequency, less 1, percent.
    pub residual_percent: Vec<f64>,
    /// What the springs that hold it add to each frequency, percent (taken off).
    pub foam_percent: Vec<f64>,
    /// E over what the wood's own figures say.
    pub over_wood: f64,
    /// The answer in words.
    pub words: String,
}

impl StickEstimate {
    /// The static modulus by a stated factor.
    pub fn static_modulus(&self, factor: &DynamicOverStatic) -> StaticModulus {
        StaticModulus::from_dynamic(self.modulus_gpa, self.u_gpa, factor)
    }
}

/// E over the wood's own figure outside of which a slip is likelier than such a stick: five times the spread within a species
/// (22 %, Wood Handbook) and the dynamic factor leave it on either side (common practice, no source).
pub(crate) const LIKELY: std::ops::RangeInclusive<f64> = 0.3..=2.5;

/// Ratio of G to E over the wood's own that is looked for, as far as it still makes a wood: from a fifth to five times.
const WIDEST_RATIO: f64 = 5.0;

/// Rows of a two-parameter least squares: gain of ln E and ln(G/E) per unit of each reading's ln(omega squared).
struct Gain {
    rows: Vec<[f64; 2]>,
}

impl Gain {
    /// `slope` is d ln(lambda)/d ln(ratio), `u` the uncertainty of each ln(omega squared). `None` when G cannot be told.
    fn new(slope: Option<&[f64]>, u: &[f64]) -> Option<Self> {
        let w: Vec<f64> = u.iter().map(|u| 1.0 / (u * u)).collect();
        let total: f64 = w.iter().sum();
        let Some(slope) = slope else {
            return Some(Self { rows: w.iter().map(|w| [w / total, 0.0]).collect() });
        };
        let mean = w.iter().zip(slope).map(|(w, s)| w * s).sum::<f64>() / total;
        let spread: f64 = w.iter().zip(slope).map(|(w, s)| w * (s - mean) * (s - mean)).sum();
        let scale: f64 = w.iter().zip(slope).map(|(w, s)| w * s * s).sum();
        if spread <= 1e-12 * scale || spread == 0.0 {
            return None;
        }
        let rows = w
            .iter()
            .zip(slope)
            .map(|(w, s)| {
                let b = w * (s - mean) / spread;
                [w / total - mean * b, b]
            })
            .collect();
        Some(Self { rows })
    }

    /// (ln E, ln ratio) from a change of the readings.
    fn of(&self, change: &[f64]) -> [f64; 2] {
        let mut out = [0.0; 2];
        for (r, c) in self.rows.iter().zip(change) {
            out[0] += r[0] * c;
            out[1] += r[1] * c;
        }
        out
    }
}

impl StickTap {
    /// E, and with two modes or more G, from tapped frequencies. The density is that of the stick as weighed.
    ///
    /// One mode: E with the wood's own ratio of G to E, whose spread is in the budget. More: weighted least squares of both on
    /// the logarithms of the frequencies. Whether the readings fit is in `residual_percent`.
    pub fn modulus(&self, readings: &[TapReading]) -> Result<StickEstimate> {
        let count = check(readings)?;
        let model = Model::new(self)?;
        let pick = |all: &[f64]| -> Vec<f64> { readings.iter().map(|r| all[r.mode - 1]).collect() };
        let measured: Vec<f64> = readings.iter().map(|r| (std::f64::consts::TAU * r.frequency_hz).powi(2)).collect();
        let u: Vec<f64> = readings.iter().map(|r| 2.0 * (r.u_hz / r.frequency_hz).hypot(self.model_spread)).collect();
        let joint = readings.len() > 1;
        // ln of what the springs leave over, less ln lambda at E = 1 GPa
        let gap = |factor: &[f64], t: &Trial| -> Result<Vec<f64>> {
            let (section, foam) = (pick(&model.section(t, count, None)?), pick(&model.foam_terms(t, count, &[])?));
            let own = measured.iter().zip(&foam).map(|(m, f)| m - f);
            Ok(own.zip(section).zip(factor).map(|((m, s), f)| (m / (s * f)).ln()).collect())
        };
        let foam = pick(&model.foam_terms(&Trial::default(), count, &[])?);
        let shift: Vec<f64> = foam.iter().zip(&measured).map(|(f, m)| 0.5 * f / m).collect();
        if let Some(worst) = shift.iter().copied().reduce(f64::max).filter(|s| *s > 0.05) {
            return Err(Error::Refused(format!(
                "the foam raises a frequency by {:.0} %, too much to take off: hold the stick nearer its nodes, or softer",
                100.0 * worst
            )));
        }
        let (lowest, highest) = model.ratio_bounds(WIDEST_RATIO);
        let step = 0.02_f64;
        let slopes = |trial: &Trial| -> Result<Vec<f64>> {
            let (a, b) = ((trial.ratio * (-step).exp()).max(lowest), (trial.ratio * step.exp()).min(highest));
            let at = |ratio: f64| model.section(&Trial { ratio, ..*trial }, count, None).map(|v| pick(&v));
            let (down, up) = (at(a)?, at(b)?);
            Ok(up.iter().zip(&down).map(|(u, d)| (u / d).ln() / (b / a).ln()).collect())
        };
        let mut trial = Trial::default();
        let (mut factor, mut error) = model.resolved_over_section(1.0, count).map(|(f, e)| (pick(&f), pick(&e)))?;
        let mut ln_e = 0.0;
        let mut gain = Gain::new(None, &u);
        let mut slope = slopes(&trial)?;
        let mut at_bound = false;
        for outer in 0..3 {
            if outer > 0 {
                (factor, error) = model.resolved_over_section(trial.ratio, count).map(|(f, e)| (pick(&f), pick(&e)))?;
            }
            let before = trial.ratio;
            for _ in 0..if joint { 20 } else { 1 } {
                slope = slopes(&trial)?;
                gain = Gain::new(joint.then_some(&slope[..]), &u);
                let Some(g) = &gain else {
                    return Err(Error::NotIdentifiable {
                        unknown: "shear modulus".into(),
                        reason: "the modes read all feel shear alike; add a higher mode, or give one mode alone".into(),
                    });
                };
                let [e, r] = g.of(&gap(&factor, &trial)?);
                ln_e = e;
                let next = (trial.ratio * r.clamp(-0.7, 0.7).exp()).clamp(lowest, highest);
                at_bound = joint && (next == lowest || next == highest);
                let moved = (next / trial.ratio).ln().abs();
                trial.ratio = next;
                if moved < 1e-9 {
                    break;
                }
            }
            if (trial.ratio / before).ln().abs() < 1e-3 {
                break;
            }
        }
        let Some(gain) = gain else { return Err(super::stick_model::no_stiffness()) };
        // the search takes the resolved beam's part as it stands; what it does with the ratio belongs to the uncertainty
        let tilted = if joint { self.tilted(&model, count, &slope, trial.ratio, (lowest, highest), &pick)? } else { None };
        let (gain, slope) = match tilted.and_then(|s| Gain::new(Some(&s), &u).map(|g| (g, s))) {
            Some(both) => both,
            None => (gain, slope),
        };
        let left = gap(&factor, &trial)?;
        if at_bound || !joint {
            ln_e = left.iter().zip(&u).map(|(g, u)| g / (u * u)).sum::<f64>() / u.iter().map(|u| 1.0 / (u * u)).sum::<f64>();
        }
        let e = ln_e.exp();
        let shares = self.shares(&model, readings, &trial, &gain, &slope, &error, &measured, &foam)?;
        let (budget, shear_budget) =
            (sorted(shares.iter().map(|(s, v)| (s.clone(), v[0]))), sorted(shares.iter().map(|(s, v)| (s.clone(), v[0] + v[1]))));
        let (u_e, u_g) = (combined(&budget), combined(&shear_budget));
        let covariance: f64 = shares.iter().map(|(_, v)| v[0] * (v[0] + v[1])).sum();
        let shear = model.shear_gpa(e, trial.ratio)?;
        let residual_percent: Vec<f64> = left.iter().map(|g| 50.0 * (g - ln_e)).collect();
        let mut words = words(e, u_e, shear, u_g, joint, at_bound, &budget, &residual_percent, &u);
        let wood = self.brace.blank().wood();
        let over_wood = e / wood.modulus_l_gpa();
        if !LIKELY.contains(&over_wood) {
            words.push_str(&format!("; {}", unlikely(over_wood, wood.name(), wood.modulus_l_gpa())));
        }
        Ok(StickEstimate {
            modulus_gpa: e,
            u_gpa: e * u_e,
            budget,
            shear_gpa: shear,
            u_shear_gpa: shear * u_g,
            shear_budget,
            correlation: if u_e * u_g > 0.0 { (covariance / (u_e * u_g)).clamp(-1.0, 1.0) } else { 0.0 },
            shear_found: joint && !at_bound,
            residual_percent,
            foam_percent: shift.iter().map(|s| 100.0 * s).collect(),
            over_wood,
            words,
        })
    }

    /// The slopes of the section beam with what the depth-resolved beam adds to them; `None` flat, where it adds nothing.
    fn tilted(
        &self,
        model: &Model,
        count: usize,
        slope: &[f64],
        ratio: f64,
        (lowest, highest): (f64, f64),
        pick: &(impl Fn(&[f64]) -> Vec<f64> + Sync),
    ) -> Result<Option<Vec<f64>>> {
        if self.bending == Bending::Flat {
            return Ok(None);
        }
        const STEP: f64 = 0.05;
        let (a, b) = ((ratio * (-STEP).exp()).max(lowest), (ratio * STEP.exp()).min(highest));
        let at = |ratio: f64| model.resolved_over_section(ratio, count).map(|(f, _)| pick(&f));
        let (down, up) = rayon::join(|| at(a), || at(b));
        let (down, up) = (down?, up?);
        Ok(Some(slope.iter().zip(up.iter().zip(&down)).map(|(s, (u, d))| s + (u / d).ln() / (b / a).ln()).collect()))
    }

    /// What one standard uncertainty of every input does to ln E and ln(G/E).
    fn shares(
        &self,
        model: &Model,
        readings: &[TapReading],
        trial: &Trial,
        gain: &Gain,
        slope: &[f64],
        error: &[f64],
        measured: &[f64],
        foam: &[f64],
    ) -> Result<Vec<(String, [f64; 2])>> {
        let count = readings.iter().map(|r| r.mode).max().unwrap_or(1);
        let one = |k: usize, v: f64| -> Vec<f64> { (0..readings.len()).map(|i| if i == k { v } else { 0.0 }).collect() };
        let mut out = Vec::new();
        for (k, r) in readings.iter().enumerate() {
            // the springs' part does not scale with the frequency read
            let whole = measured[k] / (measured[k] - foam[k]);
            out.push((format!("frequency of mode {}", r.mode), gain.of(&one(k, 2.0 * whole * r.u_hz / r.frequency_hz))));
            out.push((format!("evenness of the wood, mode {}", r.mode), gain.of(&one(k, 2.0 * self.model_spread))));
            out.push((format!("discretisation, mode {}", r.mode), gain.of(&one(k, error[k]))));
        }
        let base = model.section(trial, count, None)?;
        let u = self.brace.blank().size_uncertainty();
        let (mass, weighed) = (self.brace.mass_g()?, self.brace.blank().mass_g().is_some());
        let u_mass = if weighed { u.mass_g / mass } else { self.brace.blank().density_spread() };
        let mut tried = vec![
            ("length", Trial { long: 1.0 + u.length_mm / self.brace.length_mm(), ..*trial }),
            ("height", Trial { high_mm: u.height_mm, ..*trial }),
            ("width", Trial { wide: 1.0 + u.width_mm / self.brace.width_mm(), ..*trial }),
            (if weighed { "mass" } else { "density of the wood, not weighed" }, Trial { heavy: 1.0 + u_mass, ..*trial }),
        ];
        if let Some(p) = self.pickup {
            tried.push(("mass of the pickup", Trial { pickup_g: p.u_mass_g, ..*trial }));
        }
        for (source, t) in tried {
            let moved = model.section(&t, count, None)?;
            let change: Vec<f64> = readings.iter().map(|r| -(moved[r.mode - 1] / base[r.mode - 1]).ln()).collect();
            out.push((source.into(), gain.of(&change)));
        }
        for (i, f) in self.foam.iter().enumerate() {
            let mut more = vec![0.0; self.foam.len()];
            more[i] = f.u_stiffness_n_per_mm;
            let moved = model.foam_terms(trial, count, &more)?;
            let change: Vec<f64> =
                readings.iter().enumerate().map(|(k, r)| -(moved[r.mode - 1] - foam[k]) / (measured[k] - foam[k])).collect();
            out.push((format!("stiffness of the support at {} mm", number(f.x_mm)), gain.of(&change)));
        }
        if readings.len() == 1 {
            out.push(("ratio of G to E, assumed".into(), [-slope[0] * self.ratio_spread, self.ratio_spread]));
        }
        Ok(out)
    }
}

/// That an E is out of all proportion, and what to look at.
pub(crate) fn unlikely(over_wood: f64, wood: &str, usual_gpa: f64) -> String {
    let digits = if over_wood < 0.1 { 3 } else { 1 };
    format!(
        "that is {over_wood:.digits$} times the {usual_gpa:.1} GPa of {wood}: check frequency, sizes and mass, which mode it is, \
         and which way it was tapped"
    )
}

fn check(readings: &[TapReading]) -> Result<usize> {
    if readings.is_empty() {
        return Err(Error::BadList { name: "readings".into(), problem: "is empty; give at least one tapped mode".into() });
    }
    for (i, r) in readings.iter().enumerate() {
        TapReading::new(r.mode, r.frequency_hz, r.u_hz)?;
        for s in &readings[..i] {
            if s.mode == r.mode {
                return Err(Error::BadList {
                    name: "readings".into(),
                    problem: format!("has mode {} twice; give its mean and the uncertainty of the mean", r.mode),
                });
            }
            if (s.mode < r.mode) != (s.frequency_hz < r.frequency_hz) {
                return Err(Error::BadList {
                    name: "readings".into(),
                    problem: format!(
                        "says mode {} is at {} Hz and mode {} at {} Hz; a higher mode has a higher frequency",
                        s.mode,
                        number(s.frequency_hz),
                        r.mode,
                        number(r.frequency_hz)
                    ),
                });
            }
        }
    }
    Ok(readings.iter().map(|r| r.mode).max().unwrap_or(1))
}

fn words(
    e: f64,
    u_e: f64,
    g: f64,
    u_g: f64,
    joint: bool,
    at_bound: bool,
    budget: &[TapShare],
    residual: &[f64],
    u: &[f64],
) -> String {
    let mut out = format!("dynamic E along the grain {e:.2} GPa, standard uncertainty {:.2} ({:.1} %)", e * u_e, 100.0 * u_e);
    if let Some(most) = budget.first() {
        out.push_str(&format!("; most of it from: {}", most.source));
    }
    if at_bound {
        out.push_str(
            "; the modes together ask for a shear modulus out of all proportion: check that the modes are counted right",
        );
    } else if joint {
        out.push_str(&format!("; G {g:.3} GPa, standard uncertainty {:.3} ({:.0} %)", g * u_g, 100.0 * u_g));
        if u_g > 0.3 {
            out.push_str(": these modes say little of it");
        }
    } else {
        out.push_str(&format!("; G {g:.3} GPa is the wood's usual ratio, not found"));
    }
    if residual.iter().zip(u).any(|(r, u)| (0.02 * r).abs() > 3.0 * u) {
        out.push_str(
            "; the modes do not agree with one another within three standard uncertainties: check modes, size and supports",
        );
    }
    out
}
