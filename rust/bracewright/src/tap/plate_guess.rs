//! Which tapped frequency is which mode, when only frequencies are given.

use serde::{Deserialize, Serialize};

use super::plate::{BarePlate, Fineness, named};
use super::plate_fit::slope;
use crate::error::{Error, Result, positive};
use crate::mechanics::dense::{Square, solve};
use crate::mechanics::plate::Label;
use crate::wood::Quantity;

/// A frequency and the mode it is taken for.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct LabelledMode {
    /// Nodal lines across the length, then along it.
    pub label: Label,
    /// As given, Hz.
    pub frequency_hz: f64,
}

/// The likeliest labels, and how sure they are.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct LabelGuess {
    /// In the order the frequencies were given.
    pub modes: Vec<LabelledMode>,
    /// Chance that all of them are right, given the spread of the wood's published figures, 0 to 1.
    pub probability: f64,
    /// The next likeliest labels, in the same order; empty when there are none.
    pub next: Vec<Label>,
    /// Their chance.
    pub next_probability: f64,
    /// What to make of it, in words.
    pub words: String,
}

/// Lowest modes of the model that are considered.
const CONSIDERED: usize = 9;

/// Standard deviation of ln frequency that a linear law and uneven wood leave over.
const LEFT_OVER: f64 = 0.015;

/// Cost of each mode that lies below the highest given and was not tapped.
const MISSED: f64 = 2.0;

/// Ways to call the frequencies that are looked at closely.
const REFINED: usize = 8;

/// Relative spread taken for the ratios E_R/E_L and G_LR/E_L where the wood names none (common practice, no source).
const RATIO_SPREAD: f64 = 0.20;

/// Chance from which on the answer is called clear.
const CLEAR: f64 = 0.9;

struct Known {
    label: Label,
    ln_f: f64,
    slope: [f64; 3],
}

struct Search<'a> {
    known: &'a [Known],
    measured: &'a [f64],
    prior: Square,
    best: Vec<Candidate>,
}

/// A way to call the frequencies: its log weight, the modes by their place among those known, the moduli it calls for.
#[derive(Clone)]
struct Candidate {
    weight: f64,
    choice: Vec<usize>,
    moved: [f64; 3],
}

impl BarePlate {
    /// Labels for 2 to 6 frequencies: every way of calling them is weighed by how well moduli within the spread of the wood's
    /// own explain it, and by the modes it leaves out.
    pub fn suggest_labels(&self, frequency_hz: &[f64]) -> Result<LabelGuess> {
        if !(2..=6).contains(&frequency_hz.len()) {
            return Err(Error::BadList {
                name: "frequency_hz".into(),
                problem: format!("has {} values; give 2 to 6 frequencies", frequency_hz.len()),
            });
        }
        let mut order: Vec<usize> = (0..frequency_hz.len()).collect();
        for (i, f) in frequency_hz.iter().enumerate() {
            positive(&format!("frequency_hz[{i}]"), *f, "Hz")?;
        }
        order.sort_by(|&a, &b| frequency_hz[a].total_cmp(&frequency_hz[b]));
        let measured: Vec<f64> = order.iter().map(|&i| frequency_hz[i].ln()).collect();
        let ready = self.ready(0.0, 0.0, 0.0, Fineness::Coarse)?;
        let (start, assumed) = (self.start(), self.assumed());
        let model = |moduli: &[f64; 3], count: usize| -> Result<Vec<Known>> {
            let steps = self.law_slopes(&ready, moduli, &assumed);
            Ok(named(&ready.plate, &self.law(&ready, moduli, &assumed), count)?
                .iter()
                .map(|(m, n)| Known {
                    label: n.label,
                    ln_f: 0.5 * m.omega_squared.ln() - std::f64::consts::TAU.ln(),
                    slope: slope(m, &steps),
                })
                .collect())
        };
        let known = model(&start, CONSIDERED)?;
        let e = self.wood.figure(Quantity::ModulusL).and_then(|f| f.spread).unwrap_or(crate::blank::SPECIES_SPREAD);
        let ratio = |q| self.wood.figure(q).and_then(|f| f.spread).unwrap_or(RATIO_SPREAD);
        let own = [0.0, ratio(Quantity::ErEl), ratio(Quantity::GlrEl)];
        // E_R and G_LR move with E_L, and by themselves
        let mut covariance = Square::zeros(3);
        for i in 0..3 {
            for j in 0..3 {
                covariance[(i, j)] = e * e + if i == j { own[i] * own[i] } else { 0.0 };
            }
            covariance[(i, i)] += 1e-6;
        }
        let mut search = Search { known: &known, measured: &measured, prior: covariance, best: Vec::new() };
        search.extend(&mut Vec::new());
        let mut best = std::mem::take(&mut search.best);
        best.sort_by(|a, b| b.weight.total_cmp(&a.weight));
        best.truncate(REFINED);
        // where two modes cross, a line drawn at the wood's own moduli misleads: draw it again at those each choice calls for
        for c in &mut best {
            let flat = c.weight;
            for _ in 0..2 {
                let moduli: [f64; 3] = std::array::from_fn(|p| start[p] * c.moved[p].clamp(-1.0, 1.0).exp());
                let about: [f64; 3] = std::array::from_fn(|p| (moduli[p] / start[p]).ln());
                let near = model(&moduli, CONSIDERED + 3)?;
                let chosen: Vec<&Known> =
                    c.choice.iter().filter_map(|&i| near.iter().find(|k| k.label == known[i].label)).collect();
                let straight: Vec<&Known> = c.choice.iter().map(|&i| &known[i]).collect();
                let old = evidence(&straight, &measured, &search.prior, &[0.0; 3]).map(|e| e.0);
                match (
                    old,
                    (chosen.len() == measured.len()).then(|| evidence(&chosen, &measured, &search.prior, &about)).flatten(),
                ) {
                    (Some(old), Some((log, moved))) => (c.weight, c.moved) = (flat - old + log, moved),
                    _ => c.weight = flat - MISSED,
                }
            }
        }
        best.sort_by(|a, b| b.weight.total_cmp(&a.weight));
        let most = best.first().map_or(0.0, |b| b.weight);
        let total: f64 = best.iter().map(|b| (b.weight - most).exp()).sum();
        if best.is_empty() {
            return Err(Error::NotIdentifiable {
                unknown: "mode labels".into(),
                reason: "no mode of this plate lies near these frequencies; check size, mass and the wood".into(),
            });
        }
        let chance = |k: usize| best.get(k).map_or(0.0, |b| (b.weight - most).exp() / total);
        let labels = |k: usize| -> Vec<Label> {
            let mut out = vec![known[0].label; order.len()];
            if let Some(b) = best.get(k) {
                order.iter().zip(&b.choice).for_each(|(&i, &c)| out[i] = known[c].label);
            }
            out
        };
        let (first, next) = (labels(0), if best.len() > 1 { labels(1) } else { Vec::new() });
        let say =
            |l: &[Label]| l.iter().zip(frequency_hz).map(|(l, f)| format!("{l} at {f:.1} Hz")).collect::<Vec<_>>().join(", ");
        let words = if chance(0) >= CLEAR {
            format!("{} (chance {:.0} %)", say(&first), 100.0 * chance(0))
        } else {
            let differ: Vec<f64> =
                first.iter().zip(&next).zip(frequency_hz).filter(|((a, b), _)| a != b).map(|(_, f)| *f).collect();
            format!(
                "not clear: {} (chance {:.0} %), or {} (chance {:.0} %); sprinkle fine dust, or hold the plate on the nodal lines, to see which mode lies at {}",
                say(&first),
                100.0 * chance(0),
                say(&next),
                100.0 * chance(1),
                differ.iter().map(|f| format!("{f:.1}")).collect::<Vec<_>>().join(" and ") + " Hz"
            )
        };
        Ok(LabelGuess {
            modes: first.iter().zip(frequency_hz).map(|(l, f)| LabelledMode { label: *l, frequency_hz: *f }).collect(),
            probability: chance(0),
            next,
            next_probability: chance(1),
            words,
        })
    }
}

impl Search<'_> {
    fn extend(&mut self, choice: &mut Vec<usize>) {
        if choice.len() == self.measured.len() {
            if let Some((weight, moved)) = self.weight(choice) {
                self.best.push(Candidate { weight, choice: choice.clone(), moved });
            }
            return;
        }
        for c in 0..self.known.len() {
            // further than three spreads of any modulus is no candidate
            let far = (self.measured[choice.len()] - self.known[c].ln_f).abs() > 0.8;
            if !far && !choice.contains(&c) {
                choice.push(c);
                self.extend(choice);
                choice.pop();
            }
        }
    }

    /// Log of the evidence of a choice, less what the modes it leaves out cost; and the moduli it calls for.
    fn weight(&self, choice: &[usize]) -> Option<(f64, [f64; 3])> {
        let chosen: Vec<&Known> = choice.iter().map(|&c| &self.known[c]).collect();
        let (log, moved) = evidence(&chosen, self.measured, &self.prior, &[0.0; 3])?;
        let highest = self.measured[choice.len() - 1] - LEFT_OVER;
        let missed = (0..self.known.len())
            .filter(|c| !choice.contains(c))
            .filter(|&c| self.known[c].ln_f + (0..3).map(|p| moved[p] * self.known[c].slope[p]).sum::<f64>() < highest)
            .count();
        Some((log - MISSED * missed as f64, moved))
    }
}

/// ln f ~ N(model, J P J' + s^2), the model linear about moduli moved by `about` from the wood's own. Log of the evidence, and the
/// moduli (as logarithms from the wood's own) that the readings call for.
fn evidence(chosen: &[&Known], measured: &[f64], prior: &Square, about: &[f64; 3]) -> Option<(f64, [f64; 3])> {
    let n = chosen.len();
    let along = |k: &Known, m: &[f64; 3]| (0..3).map(|p| k.slope[p] * m[p]).sum::<f64>();
    let left: Vec<f64> = chosen.iter().zip(measured).map(|(k, m)| m - k.ln_f + along(k, about)).collect();
    // P J'
    let spread: Vec<[f64; 3]> =
        chosen.iter().map(|k| std::array::from_fn(|p| (0..3).map(|q| prior[(p, q)] * k.slope[q]).sum())).collect();
    let mut covariance = Square::zeros(n);
    for i in 0..n {
        for j in 0..n {
            covariance[(i, j)] = along(chosen[i], &spread[j]);
        }
        covariance[(i, i)] += LEFT_OVER * LEFT_OVER;
    }
    let answer = solve(&covariance, &left)?;
    let misfit: f64 = answer.iter().zip(&left).map(|(a, l)| a * l).sum();
    let moved = std::array::from_fn(|p| answer.iter().zip(&spread).map(|(a, s)| a * s[p]).sum());
    Some((-0.5 * (misfit + ln_det(&covariance)?), moved))
}

/// Logarithm of the determinant of a small positive matrix, by Cholesky.
fn ln_det(a: &Square) -> Option<f64> {
    let mut l = a.clone();
    let mut sum = 0.0;
    for k in 0..a.n {
        let d = l[(k, k)];
        if d <= 0.0 || !d.is_finite() {
            return None;
        }
        sum += d.ln();
        for i in k + 1..a.n {
            let f = l[(i, k)] / d;
            for j in k + 1..a.n {
                l[(i, j)] -= f * l[(k, j)];
            }
        }
    }
    Some(sum)
}
