//! E_L, E_R and G_LR of a bare plate from its tapped modes.

use serde::{Deserialize, Serialize};

use super::budget::TapShare;
use super::plate::{BarePlate, Fineness, PlateModeHz, PlateReading, Ready, mode_hz, named};
use crate::error::{Error, Result, number};
use crate::mechanics::dense::{Square, solve};
use crate::mechanics::plate::{LAW_NUMBERS, PlateMode};
use crate::wood::{Figure, Quantity, Standing, Wood};

/// One modulus of a plate.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PlateModulus {
    /// GPa.
    pub modulus_gpa: f64,
    /// Standard uncertainty, GPa.
    pub u_gpa: f64,
    /// Shares of the relative uncertainty, largest first.
    pub budget: Vec<TapShare>,
}

/// What the taps say of a plate. Dynamic moduli.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PlateEstimate {
    /// E along the grain.
    pub e_l: PlateModulus,
    /// E across, radial in a quarter-sawn plate.
    pub e_r: PlateModulus,
    /// In-plane shear modulus.
    pub g_lr: PlateModulus,
    /// Correlations of E_L with E_R, E_L with G_LR, E_R with G_LR.
    pub correlation: [f64; 3],
    /// The model's modes for the readings, in their order.
    pub modes: Vec<PlateModeHz>,
    /// Each reading over the model's frequency, less 1, percent.
    pub residual_percent: Vec<f64>,
    /// True when the search came to rest.
    pub converged: bool,
    /// What was assumed and what to know of the answer, in words.
    pub words: Vec<String>,
}

/// Names of the unknowns, in order.
pub(super) const NAMES: [&str; 3] = ["E_L", "E_R", "G_LR"];

/// A mode that feels each unknown.
const HELPS: [&str; 3] = ["2,0", "0,2", "1,1"];

/// Furthest a modulus is sought from the wood's own, as a factor.
const WIDEST: f64 = 6.0;

/// Model of the readings at some moduli: ln frequency and its derivatives by the logarithms of the moduli.
pub(super) struct At {
    pub ln_f: Vec<f64>,
    pub slope: Vec<[f64; 3]>,
    pub modes: Vec<PlateModeHz>,
}

impl BarePlate {
    /// Modes of the readings' labels at moduli; every label must be among the lowest modes.
    pub(super) fn at(
        &self,
        ready: &Ready,
        moduli: &[f64; 3],
        assumed: &super::plate::Assumed,
        labels: &[PlateReading],
    ) -> Result<At> {
        let law = self.law(ready, moduli, assumed);
        let found = named(&ready.plate, &law, (labels.len() + 9).min(18))?;
        let mut out = At { ln_f: Vec::new(), slope: Vec::new(), modes: Vec::new() };
        let steps = self.law_slopes(ready, moduli, assumed);
        for r in labels {
            let Some((mode, name)) = found.iter().find(|(_, n)| n.label == r.label) else {
                return Err(Error::Refused(format!(
                    "mode {} is not among the lowest modes of this plate; check the label: the first figure counts nodal lines across the length, the second those along it",
                    r.label
                )));
            };
            out.ln_f.push(0.5 * mode.omega_squared.ln() - std::f64::consts::TAU.ln());
            out.slope.push(slope(mode, &steps));
            out.modes.push(mode_hz(mode, name));
        }
        Ok(out)
    }

    /// Derivatives of the law's numbers by the logarithm of each modulus.
    pub(super) fn law_slopes(&self, ready: &Ready, moduli: &[f64; 3], a: &super::plate::Assumed) -> [[f64; LAW_NUMBERS]; 3] {
        const STEP: f64 = 1e-4;
        std::array::from_fn(|k| {
            let moved = |s: f64| {
                let mut m = *moduli;
                m[k] *= s.exp();
                self.law(ready, &m, a).numbers()
            };
            let (up, down) = (moved(STEP), moved(-STEP));
            std::array::from_fn(|i| (up[i] - down[i]) / (2.0 * STEP))
        })
    }

    /// E_L, E_R and G_LR from three or more tapped modes with their labels, by least squares on the logarithms of the
    /// frequencies. nu_LR, G_LT and G_RT follow the wood's ratios.
    pub fn moduli(&self, readings: &[PlateReading]) -> Result<PlateEstimate> {
        check(readings)?;
        let (coarse, fine) = (self.ready(0.0, 0.0, 0.0, Fineness::Coarse)?, self.ready(0.0, 0.0, 0.0, Fineness::Fine)?);
        let assumed = self.assumed();
        let start = self.start();
        let mut moduli = start;
        let u: Vec<f64> = readings.iter().map(|r| (r.u_hz / r.frequency_hz).hypot(self.u.model_spread).max(1e-9)).collect();
        let measured: Vec<f64> = readings.iter().map(|r| r.frequency_hz.ln()).collect();
        // the coarse plate searches for frequencies shifted by what the fine one adds to them
        let mut shift = vec![0.0; readings.len()];
        let mut at = self.at(&coarse, &moduli, &assumed, readings)?;
        let mut converged = false;
        for _ in 0..6 {
            let before = moduli;
            let mut settled = false;
            for _ in 0..25 {
                let left: Vec<f64> = (0..u.len()).map(|i| measured[i] - shift[i] - at.ln_f[i]).collect();
                let gain = gain(&at.slope, &u)?;
                let step: [f64; 3] =
                    std::array::from_fn(|k| gain[k].iter().zip(&left).map(|(g, l)| g * l).sum::<f64>().clamp(-0.5, 0.5));
                for k in 0..3 {
                    moduli[k] = (moduli[k] * step[k].exp()).clamp(start[k] / WIDEST, start[k] * WIDEST);
                }
                at = self.at(&coarse, &moduli, &assumed, readings)?;
                settled = step.iter().all(|s| s.abs() < 1e-7);
                if settled {
                    break;
                }
            }
            let exact = self.at(&fine, &moduli, &assumed, readings)?;
            shift = exact.ln_f.iter().zip(&at.ln_f).map(|(f, c)| f - c).collect();
            converged = settled && (0..3).all(|k| (moduli[k] / before[k]).ln().abs() < 1e-5);
            if converged || !settled {
                at = exact;
                break;
            }
        }
        let gain = gain(&at.slope, &u)?;
        let shares = self.plate_shares(&coarse, &moduli, readings, &gain)?;
        let residual_percent: Vec<f64> = measured.iter().zip(&at.ln_f).map(|(m, f)| 100.0 * (m - f)).collect();
        let [e_l, e_r, g_lr]: [PlateModulus; 3] = std::array::from_fn(|k| {
            let budget = super::budget::sorted(shares.iter().map(|(s, v)| (s.clone(), v[k])));
            PlateModulus { modulus_gpa: moduli[k], u_gpa: moduli[k] * super::budget::combined(&budget), budget }
        });
        let relative = [&e_l, &e_r, &g_lr].map(|m| m.u_gpa / m.modulus_gpa);
        let correlation = [(0, 1), (0, 2), (1, 2)].map(|(i, j)| {
            let c: f64 = shares.iter().map(|(_, v)| v[i] * v[j]).sum();
            if relative[i] * relative[j] > 0.0 { (c / (relative[i] * relative[j])).clamp(-1.0, 1.0) } else { 0.0 }
        });
        let mut words = vec![format!(
            "assumed, not found: nu_LR {}, G_LT/E_L {}, G_RT/E_L {}, as {} has them",
            number(assumed.nu_lr),
            number(assumed.glt_el),
            number(assumed.grt_el),
            self.wood.name()
        )];
        for (k, m) in [&e_l, &e_r, &g_lr].iter().enumerate() {
            words.push(format!(
                "{} {:.3} GPa, standard uncertainty {:.3} ({:.1} %){}",
                NAMES[k],
                m.modulus_gpa,
                m.u_gpa,
                100.0 * relative[k],
                m.budget.first().map_or_else(String::new, |s| format!("; most of it from: {}", s.source))
            ));
            let far = (m.modulus_gpa / start[k]).ln().abs();
            if far > 0.99 * WIDEST.ln() {
                words.push(format!(
                    "{} went to the end of what is looked for, {WIDEST} times the wood's own: the labels are not right",
                    NAMES[k]
                ));
            } else if far > 0.7 {
                words
                    .push(format!("{} is far from the wood's own {:.2} GPa: check the labels and the units", NAMES[k], start[k]));
            }
        }
        for m in at.modes.iter().filter(|m| m.share < 0.7) {
            words.push(format!(
                "the mode called {} is a mixture ({:.0} % of that shape): its nodal lines will not look like the label",
                m.label,
                100.0 * m.share
            ));
        }
        if !converged {
            words.push("the search did not come to rest: the labels do not go with the frequencies".into());
        }
        if residual_percent.iter().zip(&u).any(|(r, u)| (0.01 * r).abs() > 3.0 * u) {
            words.push("the modes do not agree with one another within three standard uncertainties: check labels, size and how the plate was held".into());
        }
        Ok(PlateEstimate { e_l, e_r, g_lr, correlation, modes: at.modes, residual_percent, converged, words })
    }
}

impl PlateEstimate {
    /// The wood with the moduli found, the other figures kept.
    pub fn wood(&self, plate: &BarePlate) -> Result<Wood> {
        let own = |q, m: &PlateModulus, value: f64| {
            let mut f = Figure::new(q, value, Standing::Own, "found from taps of the plate");
            f.spread = Some(m.u_gpa / m.modulus_gpa);
            f
        };
        let e = self.e_l.modulus_gpa;
        plate
            .wood()
            .with_figure(Quantity::ModulusL, own(Quantity::ModulusL, &self.e_l, e))?
            .with_figure(Quantity::ErEl, own(Quantity::ErEl, &self.e_r, self.e_r.modulus_gpa / e))?
            .with_figure(Quantity::GlrEl, own(Quantity::GlrEl, &self.g_lr, self.g_lr.modulus_gpa / e))
    }
}

/// d ln f / d ln modulus.
pub(super) fn slope(mode: &PlateMode, steps: &[[f64; LAW_NUMBERS]; 3]) -> [f64; 3] {
    std::array::from_fn(|k| steps[k].iter().zip(&mode.per_number).map(|(s, p)| s * p).sum::<f64>() / (2.0 * mode.omega_squared))
}

fn check(readings: &[PlateReading]) -> Result<()> {
    if !(3..=9).contains(&readings.len()) {
        return Err(Error::BadList {
            name: "readings".into(),
            problem: format!("has {} modes; three moduli need from 3 to 9", readings.len()),
        });
    }
    for (i, r) in readings.iter().enumerate() {
        crate::error::positive(&format!("frequency_hz of mode {}", r.label), r.frequency_hz, "Hz")?;
        crate::error::not_negative(&format!("u_hz of mode {}", r.label), r.u_hz, "Hz")?;
        if readings[..i].iter().any(|s| s.label == r.label) {
            return Err(Error::BadList {
                name: "readings".into(),
                problem: format!("has mode {} twice; give its mean and the uncertainty of the mean", r.label),
            });
        }
    }
    Ok(())
}

/// (J' W J)^-1 J' W: the change of each ln modulus per change of each ln frequency.
fn gain(slope: &[[f64; 3]], u: &[f64]) -> Result<[Vec<f64>; 3]> {
    let mut normal = Square::zeros(3);
    for (s, u) in slope.iter().zip(u) {
        for i in 0..3 {
            for j in 0..3 {
                normal[(i, j)] += s[i] * s[j] / (u * u);
            }
        }
    }
    let mut out: [Vec<f64>; 3] = Default::default();
    let finest = u.iter().copied().fold(f64::INFINITY, f64::min);
    for k in 0..3 {
        let mut unit = [0.0; 3];
        unit[k] = 1.0;
        let row =
            solve(&normal, &unit).filter(|r| r[k] > 0.0 && (r[k].sqrt() / finest).is_finite() && r[k].sqrt() / finest < 300.0);
        let Some(row) = row else {
            return Err(Error::NotIdentifiable {
                unknown: NAMES[k].into(),
                reason: format!("the modes read hardly feel it; add mode {}", HELPS[k]),
            });
        };
        out[k] = slope.iter().zip(u).map(|(s, u)| (0..3).map(|i| row[i] * s[i]).sum::<f64>() / (u * u)).collect();
    }
    Ok(out)
}
