//! The maker's hand: what it takes beyond its aims, learned from passes that were weighed or measured.

use serde::{Deserialize, Serialize};

use super::Prior;
use crate::error::{Error, Result, positive, within};

/// How much more or less a hand scatters than was believed: a scaled inverse chi-squared law of the variance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct HandScatter {
    /// Variance over the one believed at first.
    pub squared: f64,
    /// Passes it is as well known as from: the degrees of freedom.
    pub passes: f64,
}

impl HandScatter {
    pub fn new(passes: f64) -> Self {
        Self { squared: 1.0, passes }
    }

    /// After a pass whose slip squared, over what was believed of it at first, is `squared`, known to a part of `known`.
    pub fn after(self, squared: f64, known: f64) -> Self {
        let known = known.clamp(0.0, 1.0);
        // a slip that no reading told of teaches nothing
        if known < 0.05 {
            return self;
        }
        let passes = self.passes + known;
        Self { squared: (self.passes * self.squared + squared) / passes, passes }
    }

    /// Variances it may have over the one now believed, with their weights: three points of the law of its logarithm, taken
    /// for normal (Gauss-Hermite).
    pub fn factors(self) -> [(f64, f64); 3] {
        // mean and variance of the logarithm of a scaled inverse chi-squared variable, by their series in 1 / passes
        let n = self.passes;
        let (mean, sd) = (1.0 / n, (2.0 / n + 2.0 / (n * n)).sqrt());
        let far = 3.0_f64.sqrt() * sd;
        [(1.0 / 6.0, (mean - far).exp()), (2.0 / 3.0, mean.exp()), (1.0 / 6.0, (mean + far).exp())]
    }
}

/// One pass of a maker of which it is known what it took.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct PassTaken {
    /// Depth aimed at, mm.
    pub aim_mm: f64,
    /// Depth taken, mm, by shavings, scale or calliper.
    pub taken_mm: f64,
    /// Its standard uncertainty, mm.
    pub u_mm: f64,
}

/// A maker's hand and how well it is known. The fields go by the names of the settings of a bench and of a virtual shop.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct KnownHand {
    /// What it takes beyond its aim, as a part of it.
    pub bias_fraction: f64,
    /// Standard deviation of what is not known of that.
    pub u_bias_fraction: f64,
    /// Scatter that grows with the aim, as a part of it.
    pub scatter_fraction: f64,
    /// Scatter that is there even for a thin shaving, mm.
    pub scatter_mm: f64,
    /// How many passes the scatter is as well known as from.
    pub hand_passes: f64,
}

impl Default for KnownHand {
    /// A practised hand: no bias but 5 % unknown, scatter 10 % and 0.1 mm as from 30 passes (common practice, no source).
    fn default() -> Self {
        Self { bias_fraction: 0.0, u_bias_fraction: 0.05, scatter_fraction: 0.10, scatter_mm: 0.10, hand_passes: 30.0 }
    }
}

impl KnownHand {
    /// Itself, unless a figure is what none can be.
    pub fn checked(self) -> Result<Self> {
        within("bias_fraction", self.bias_fraction, "", -0.5, 1.0)?;
        within("u_bias_fraction", self.u_bias_fraction, "", 0.0, 0.5)?;
        within("scatter_fraction", self.scatter_fraction, "", 0.0, 1.0)?;
        within("scatter_mm", self.scatter_mm, "mm", 0.0, 5.0)?;
        within("hand_passes", self.hand_passes, "", 4.0, 1e6)?;
        Ok(self)
    }

    /// The hand with what some passes tell of it: bias, and how much more or less it scatters than was believed, each starting
    /// from what is believed here (a normal law for the bias, a scaled inverse chi-squared one for the variance).
    pub fn after(&self, passes: &[PassTaken]) -> Result<Self> {
        self.checked()?;
        if passes.is_empty() {
            return Err(Error::BadList { name: "passes".into(), problem: "is empty; give at least one pass".into() });
        }
        for (i, p) in passes.iter().enumerate() {
            within(&format!("aim_mm[{i}]"), p.aim_mm, "mm", 1e-3, 100.0)?;
            within(&format!("taken_mm[{i}]"), p.taken_mm, "mm", 0.0, 200.0)?;
            positive(&format!("u_mm[{i}]"), p.u_mm, "mm")?;
            within(&format!("u_mm[{i}]"), p.u_mm, "mm", 1e-6, 10.0)?;
        }
        let believed = |aim: f64| (self.scatter_fraction * aim).powi(2) + self.scatter_mm.powi(2);
        let mut squared = 1.0;
        let (mut bias, mut u_bias) = (self.bias_fraction, self.u_bias_fraction);
        let mut known = self.hand_passes;
        // each given the other, in turn, until they rest
        for _ in 0..200 {
            let (mut weight, mut sum) = (0.0, 0.0);
            if self.u_bias_fraction > 0.0 {
                weight = self.u_bias_fraction.powi(-2);
                sum = self.bias_fraction * weight;
            }
            for p in passes {
                let variance = squared * believed(p.aim_mm) + p.u_mm * p.u_mm;
                weight += p.aim_mm * p.aim_mm / variance;
                sum += p.aim_mm * (p.taken_mm - p.aim_mm) / variance;
            }
            if self.u_bias_fraction > 0.0 {
                (bias, u_bias) = (sum / weight, weight.powf(-0.5));
            }
            let (mut passes_known, mut squares) = (self.hand_passes, self.hand_passes);
            for p in passes {
                let (was, u) = (believed(p.aim_mm), p.u_mm * p.u_mm);
                if was <= 0.0 {
                    continue;
                }
                // the slip itself, its reading's own error taken out
                let part = squared * was / (squared * was + u);
                let off = part * (p.taken_mm - p.aim_mm * (1.0 + bias));
                let left = part * u + (part * p.aim_mm * u_bias).powi(2);
                passes_known += 1.0;
                squares += (off * off + left) / was;
            }
            let next = squares / passes_known;
            let moved = (next / squared - 1.0).abs();
            (squared, known) = (next, passes_known);
            if moved < 1e-12 {
                break;
            }
        }
        let by = squared.sqrt();
        Self {
            bias_fraction: bias,
            u_bias_fraction: u_bias,
            scatter_fraction: by * self.scatter_fraction,
            scatter_mm: by * self.scatter_mm,
            hand_passes: known,
        }
        .checked()
    }
}

impl Prior {
    /// What is believed of the hand.
    pub fn hand(&self) -> KnownHand {
        let Self { bias_fraction, u_bias_fraction, scatter_fraction, scatter_mm, hand_passes, .. } = *self;
        KnownHand { bias_fraction, u_bias_fraction, scatter_fraction, scatter_mm, hand_passes }
    }

    /// The same with another hand.
    pub fn with_hand(&self, hand: &KnownHand) -> Result<Self> {
        let KnownHand { bias_fraction, u_bias_fraction, scatter_fraction, scatter_mm, hand_passes } = hand.checked()?;
        Self { bias_fraction, u_bias_fraction, scatter_fraction, scatter_mm, hand_passes, ..*self }.checked()
    }
}
