//! The exact belief: weighted draws of the whole state, and the figures they give.

use super::linear::Mode;
use super::sampler::{Proposal, Scratch, Sequence};
use super::{Belief, Response};
use crate::error::{self, Error, Result};
use rayon::prelude::*;
use serde::{Deserialize, Serialize};

/// Draws enough for the worked example's printed digits, with room.
pub const DEFAULT_DRAWS: usize = 20_000;

/// Mean, standard deviation and the 5, 50 and 95 % quantiles of one quantity, in its own unit.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Estimate {
    /// Mean.
    pub mean: f64,
    /// Standard deviation.
    pub sd: f64,
    /// 5 % quantile.
    pub q05: f64,
    /// Median.
    pub q50: f64,
    /// 95 % quantile.
    pub q95: f64,
}

impl Estimate {
    /// Of weighted values; weights sum to 1.
    pub(crate) fn weighted(values: &[f64], weight: &[f64]) -> Self {
        let mean = sum(values, weight, |v| v);
        let sd = sum(values, weight, |v| (v - mean) * (v - mean)).sqrt();
        let q = quantiles(values, weight, &[0.05, 0.5, 0.95]);
        Self { mean, sd, q05: q[0], q50: q[1], q95: q[2] }
    }
}

/// What the draws say, in figures.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Posterior {
    /// Deflection as the brace stands, mm.
    pub deflection_mm: Estimate,
    /// Young's modulus along the brace, GPa.
    pub e_gpa: Estimate,
    /// The second unknown, N/mm or mm/N.
    pub second: Estimate,
    /// Depth removed so far, mm.
    pub depth_mm: Estimate,
    /// Correlation of modulus and second unknown; 0 where one of them is known exactly.
    pub correlation: f64,
    /// Spread left of the modulus, as a part of what it was before any reading: 1 nothing learned, 0 pinned down.
    pub e_spread_left: f64,
    /// The same of the second unknown; 0 where it was known exactly.
    pub second_spread_left: f64,
    /// Equal draws these weighted ones are worth.
    pub effective_draws: f64,
}

impl Posterior {
    /// What is pinned down and what is not, in plain words.
    pub fn text(&self) -> String {
        let percent = |e: &Estimate| format!("{:.2} %", 100.0 * e.sd / e.mean);
        let mut s = format!(
            "Deflection {:.4} mm, known to {}; modulus {:.2} GPa, known to {}.",
            self.deflection_mm.mean,
            percent(&self.deflection_mm),
            self.e_gpa.mean,
            percent(&self.e_gpa)
        );
        if self.correlation.abs() > 0.8 {
            s += &format!(
                " Modulus and second unknown go together (correlation {:.2}): the readings fix what they add up to, not each of them.",
                self.correlation
            );
        } else if self.e_spread_left > 0.8 {
            s += " The readings so far say little about the modulus.";
        }
        s
    }
}

/// Weighted draws of the state of one brace. All lists have the same length; weights sum to 1.
#[derive(Debug, Clone, PartialEq)]
pub struct Draws {
    /// Young's modulus along the brace, GPa.
    pub e_gpa: Vec<f64>,
    /// The second unknown, N/mm or mm/N.
    pub second: Vec<f64>,
    /// Depth removed so far, mm.
    pub depth_mm: Vec<f64>,
    /// Deflection as the brace stands, mm.
    pub deflection_mm: Vec<f64>,
    /// Weights.
    pub weight: Vec<f64>,
    /// The seed they were drawn with.
    pub seed: u64,
    /// Numbers of the sequence already used for each draw; what comes next starts here.
    pub(crate) dims: usize,
    prior_sd: (f64, f64),
}

impl Belief {
    /// The exact posterior as `count` weighted draws (100 to 4 000 000; [`DEFAULT_DRAWS`] will do). The same `seed`
    /// gives the same bits on any number of threads.
    pub fn draws<R: Response + ?Sized>(&self, response: &R, count: usize, seed: u64) -> Result<Draws> {
        self.check()?;
        error::within("count", count as f64, "", 100.0, 4e6)?;
        let chain = self.chain();
        let mode = Mode::find(&chain, response)?;
        let mut proposal = Proposal::new(&chain, &mode);
        let passes = chain.removal.len();
        let sequence = Sequence::new(seed, chain.dims());
        let mut round = 0;
        let (drawn, weight) = loop {
            let drawn: Vec<(Vec<f64>, f64)> = (0..count)
                .into_par_iter()
                .with_min_len(256)
                .map_init(|| Scratch::new(&chain), |s, i| proposal.draw(&chain, response, &sequence, i, s))
                .collect();
            let most = drawn.iter().fold(f64::NEG_INFINITY, |a, d| a.max(d.1));
            if most == f64::NEG_INFINITY {
                return Err(Error::NotIdentifiable {
                    unknown: "the state of the brace".into(),
                    reason: "no state that can be imagined gives a finite deflection".into(),
                });
            }
            let mut weight: Vec<f64> = drawn.iter().map(|d| (d.1 - most).exp()).collect();
            let total: f64 = weight.iter().sum();
            weight.iter_mut().for_each(|w| *w /= total);
            if effective(&weight) >= 0.05 * count as f64 || round == 4 {
                break (drawn, weight);
            }
            proposal.refit(&drawn, &weight);
            round += 1;
        };
        Ok(Draws {
            e_gpa: drawn.iter().map(|d| chain.e_gpa.at(d.0[0])).collect(),
            second: drawn.iter().map(|d| chain.second.at(d.0[1])).collect(),
            depth_mm: drawn.iter().map(|d| chain.depth_mm(&d.0, passes)).collect(),
            deflection_mm: drawn.par_iter().with_min_len(256).map(|d| chain.deflection_mm(response, &d.0, passes)).collect(),
            weight,
            seed,
            dims: chain.dims(),
            prior_sd: (chain.e_gpa.mean_sd(0.0, 1.0).1, chain.second.mean_sd(0.0, 1.0).1),
        })
    }
}

impl Draws {
    /// Number of draws.
    pub fn len(&self) -> usize {
        self.weight.len()
    }

    /// Never true.
    pub fn is_empty(&self) -> bool {
        self.weight.is_empty()
    }

    /// What the draws say, in figures.
    pub fn posterior(&self) -> Posterior {
        let w = &self.weight;
        let (e_gpa, second) = (Estimate::weighted(&self.e_gpa, w), Estimate::weighted(&self.second, w));
        let product = |i: usize| w[i] * (self.e_gpa[i] - e_gpa.mean) * (self.second[i] - second.mean);
        let covariance: f64 = (0..w.len()).filter(|&i| w[i] > 0.0).map(product).sum();
        let spread = e_gpa.sd * second.sd;
        let left = |sd: f64, prior: f64| if prior > 0.0 { sd / prior } else { 0.0 };
        Posterior {
            deflection_mm: Estimate::weighted(&self.deflection_mm, w),
            e_gpa,
            second,
            depth_mm: Estimate::weighted(&self.depth_mm, w),
            correlation: if spread > 0.0 { covariance / spread } else { 0.0 },
            e_spread_left: left(e_gpa.sd, self.prior_sd.0),
            second_spread_left: left(second.sd, self.prior_sd.1),
            effective_draws: effective(w),
        }
    }

    /// Chance that the deflection as the brace stands lies from `low_mm` to `high_mm`.
    pub fn chance_between(&self, low_mm: f64, high_mm: f64) -> f64 {
        sum(&self.deflection_mm, &self.weight, |d| f64::from(u8::from(d >= low_mm && d <= high_mm)))
    }

    /// The same belief as draws of equal weight, by systematic resampling in the order of deflection; as many as before.
    pub fn resampled(&self) -> Self {
        let n = self.len();
        let mut order: Vec<usize> = (0..n).collect();
        order.sort_unstable_by(|&a, &b| self.deflection_mm[a].total_cmp(&self.deflection_mm[b]).then(a.cmp(&b)));
        let offset = Sequence::new(self.seed, self.dims + 1).uniform(0, self.dims);
        let mut pick = Vec::with_capacity(n);
        let (mut i, mut reached) = (0, self.weight[order[0]]);
        for k in 0..n {
            let at = (k as f64 + offset) / n as f64;
            while reached < at && i + 1 < n {
                i += 1;
                reached += self.weight[order[i]];
            }
            pick.push(order[i]);
        }
        let take = |v: &[f64]| pick.iter().map(|&i| v[i]).collect();
        Self {
            e_gpa: take(&self.e_gpa),
            second: take(&self.second),
            depth_mm: take(&self.depth_mm),
            deflection_mm: take(&self.deflection_mm),
            weight: vec![1.0 / n as f64; n],
            ..*self
        }
    }
}

/// Sum of weight times `f(value)`, in parallel over fixed pieces added up in order.
pub(crate) fn sum(values: &[f64], weight: &[f64], f: impl Fn(f64) -> f64 + Sync) -> f64 {
    const PIECE: usize = 2048;
    let parts: Vec<f64> = values
        .par_chunks(PIECE)
        .zip(weight.par_chunks(PIECE))
        .map(|(v, w)| v.iter().zip(w).map(|(&v, &w)| if w > 0.0 { w * f(v) } else { 0.0 }).sum())
        .collect();
    parts.iter().sum()
}

/// Weighted quantiles, between the midpoints of the weights. Values may be infinite.
pub(crate) fn quantiles(values: &[f64], weight: &[f64], chances: &[f64]) -> Vec<f64> {
    let mut order: Vec<usize> = (0..values.len()).filter(|&i| weight[i] > 0.0).collect();
    order.sort_unstable_by(|&a, &b| values[a].total_cmp(&values[b]).then(a.cmp(&b)));
    let mut middle = Vec::with_capacity(order.len());
    let mut below = 0.0;
    for &i in &order {
        middle.push(below + 0.5 * weight[i]);
        below += weight[i];
    }
    let at = |p: f64| {
        let k = middle.partition_point(|&m| m < p);
        let last = order.len().saturating_sub(1);
        let (Some(&lo), Some(&hi)) = (order.get(k.saturating_sub(1)), order.get(k.min(last))) else { return f64::NAN };
        let (a, b) = (values[lo], values[hi]);
        if lo == hi || a == b || !b.is_finite() {
            return b;
        }
        a + (b - a) * (p - middle[k - 1]) / (middle[k] - middle[k - 1])
    };
    chances.iter().map(|&p| at(p)).collect()
}

/// Equal draws that weighted ones are worth.
fn effective(weight: &[f64]) -> f64 {
    1.0 / weight.iter().map(|w| w * w).sum::<f64>()
}
