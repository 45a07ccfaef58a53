//! What any next pass would lead to, by draws: for every draw the further depths at which it enters the window, meets
//! the target and leaves the window again; then chances as sums over the draws.

use super::Window;
use crate::belief::{Draws, Estimate, Hand, Response, Sequence, quantiles, sum};
use crate::error::{self, Result};
use crate::normal;
use rayon::prelude::*;

/// The draws of a belief, looked at from one window and one hand.
pub struct Outlook<'a, R: Response + ?Sized> {
    response: &'a R,
    draws: &'a Draws,
    window: Window,
    hand: Hand,
    further_mm: f64,
    low_mm: Vec<f64>,
    target_mm: Vec<f64>,
    high_mm: Vec<f64>,
}

/// What one aim leads to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Chances {
    /// Chance of going past the window.
    pub over: f64,
    /// Chance of landing in the window.
    pub inside: f64,
    /// Chance of staying short of it.
    pub short: f64,
}

impl<'a, R: Response + ?Sized> Outlook<'a, R> {
    /// `deepest_mm` is the whole depth, counted from the start, that the plan and its floor allow (above 0).
    pub fn new(response: &'a R, draws: &'a Draws, window: Window, hand: Hand, deepest_mm: f64) -> Result<Self> {
        window.check()?;
        hand.check()?;
        error::within("deepest_mm", deepest_mm, "mm", 1e-6, 1000.0)?;
        let depth = sum(&draws.depth_mm, &draws.weight, |d| d);
        let further_mm = (deepest_mm - depth).max(0.0);
        // The hand can slip past the deepest aim.
        let limit = hand.mean_mm(further_mm) + 6.0 * hand.sd_mm(further_mm);
        let reach: Vec<[f64; 3]> = (0..draws.len())
            .into_par_iter()
            .with_min_len(256)
            .map(|i| {
                if draws.weight[i] == 0.0 {
                    return [f64::INFINITY; 3];
                }
                let ln = |further: f64| response.deflection_mm(draws.e_gpa[i], draws.second[i], draws.depth_mm[i] + further).ln();
                let now = draws.deflection_mm[i].ln();
                let end = ln(limit);
                let high = depth_to(&ln, window.high_mm.ln(), (0.0, now), (limit, end));
                let bracket = |top: f64, target: f64| if top.is_finite() { (top, target) } else { (limit, end) };
                let target = depth_to(&ln, window.target_mm.ln(), (0.0, now), bracket(high, window.high_mm.ln()));
                let low = depth_to(&ln, window.low_mm.ln(), (0.0, now), bracket(target, window.target_mm.ln()));
                [low, target, high]
            })
            .collect();
        let part = |k: usize| reach.iter().map(|r| r[k]).collect();
        Ok(Self { response, draws, window, hand, further_mm, low_mm: part(0), target_mm: part(1), high_mm: part(2) })
    }

    /// How much further the plan and its floor allow, mm.
    pub fn further_mm(&self) -> f64 {
        self.further_mm
    }

    /// Chances as the brace stands.
    pub fn now(&self) -> Chances {
        let reached = |v: &[f64]| sum(v, &self.draws.weight, |d| f64::from(u8::from(d <= 0.0)));
        Chances::from_reached(reached(&self.low_mm), reached(&self.high_mm))
    }

    /// Chances after a pass with this aim. What is taken is normal around the aim, and never less than nothing.
    pub fn after(&self, aim_mm: f64) -> Chances {
        Chances::from_reached(self.reached(&self.low_mm, aim_mm), self.reached(&self.high_mm, aim_mm))
    }

    /// Chance that a pass with this aim takes at least the depths given, draw by draw.
    fn reached(&self, depth_mm: &[f64], aim_mm: f64) -> f64 {
        let (mean, sd) = (self.hand.mean_mm(aim_mm), self.hand.sd_mm(aim_mm));
        sum(depth_mm, &self.draws.weight, |d| {
            if d <= 0.0 {
                1.0
            } else if sd > 0.0 {
                normal::cdf((mean - d) / sd)
            } else {
                f64::from(u8::from(mean >= d))
            }
        })
    }

    /// Deepest aim whose chance of going past the window is `alpha` (above 0, below one half), mm: 0 where there is
    /// none, the deepest the plan allows where even that stays under it.
    pub fn d_max_exact(&self, alpha: f64) -> Result<f64> {
        error::within("alpha", alpha, "", 1e-9, 0.5)?;
        let deepest = self.further_mm / (1.0 + self.hand.bias_fraction);
        // As a normal quantile the chance is nearly straight over depth.
        let over = |aim: f64| normal::quantile_unchecked(self.reached(&self.high_mm, aim).clamp(1e-300, 1.0 - 1e-16));
        let (target, start, end) = (normal::quantile(alpha)?, over(0.0), over(deepest));
        if start >= target || deepest <= 0.0 {
            return Ok(0.0);
        }
        Ok(depth_to(&over, target, (0.0, start), (deepest, end)).min(deepest))
    }

    /// Aim that would put the median deflection on the target with a hand that does not scatter, mm: 0 when it is
    /// there already; infinite when more than half of the draws cannot get there.
    pub fn straight_at_target_mm(&self) -> f64 {
        quantiles(&self.target_mm, &self.draws.weight, &[0.5])[0] / (1.0 + self.hand.bias_fraction)
    }

    /// Chance that the window can be reached at all within the depth allowed.
    pub fn chance_within_reach(&self) -> f64 {
        sum(&self.low_mm, &self.draws.weight, |d| f64::from(u8::from(d <= self.further_mm)))
    }

    /// Deflection after a pass with this aim, mm, and what a dial of uncertainty `u_mm` will show of it.
    pub fn expected_mm(&self, aim_mm: f64, u_mm: f64) -> (Estimate, Estimate) {
        let d = self.draws;
        let (mean, sd) = (self.hand.mean_mm(aim_mm), self.hand.sd_mm(aim_mm));
        let sequence = Sequence::new(d.seed, d.dims + 2);
        let after: Vec<(f64, f64)> = (0..d.len())
            .into_par_iter()
            .with_min_len(256)
            .map(|i| {
                let taken = if aim_mm > 0.0 { (mean + sd * sequence.normal(i, d.dims)).max(0.0) } else { 0.0 };
                let deflection = self.response.deflection_mm(d.e_gpa[i], d.second[i], d.depth_mm[i] + taken);
                (deflection, deflection + u_mm * sequence.normal(i, d.dims + 1))
            })
            .collect();
        let (brace, dial): (Vec<f64>, Vec<f64>) = after.into_iter().unzip();
        (Estimate::weighted(&brace, &d.weight), Estimate::weighted(&dial, &d.weight))
    }

    /// The window looked at.
    pub fn window(&self) -> Window {
        self.window
    }
}

impl Chances {
    fn from_reached(low: f64, high: f64) -> Self {
        // Weights sum to 1 only to rounding.
        let (low, high) = (low.clamp(0.0, 1.0), high.clamp(0.0, 1.0));
        Self { over: high, inside: (low - high).max(0.0), short: 1.0 - low.max(high) }
    }
}

/// Depth in mm at which a rising function of depth meets `target`, between two points (depth, value): 0 if it is met at
/// the first, infinite if not by the second. Regula falsi with the Illinois step, and bisection when that dawdles.
fn depth_to(value: &impl Fn(f64) -> f64, target: f64, from: (f64, f64), to: (f64, f64)) -> f64 {
    if from.1 >= target {
        return 0.0;
    }
    if to.1 < target || to.1.is_nan() {
        return f64::INFINITY;
    }
    let (mut a, mut fa) = (from.0, from.1 - target);
    let (mut b, mut fb) = (to.0, to.1 - target);
    let mut last = 0;
    for round in 0..80 {
        if b - a < 1e-7 {
            break;
        }
        let secant = b - fb * (b - a) / (fb - fa);
        let c = if round < 12 && secant > a && secant < b { secant } else { 0.5 * (a + b) };
        let fc = value(c) - target;
        if fc.abs() < 1e-9 {
            return c;
        }
        // An end that stays twice counts half, so that the other end moves.
        if fc > 0.0 {
            (b, fb) = (c, fc);
            fa *= if last == 1 { 0.5 } else { 1.0 };
            last = 1;
        } else {
            (a, fa) = (c, fc);
            fb *= if last == -1 { 0.5 } else { 1.0 };
            last = -1;
        }
    }
    b
}
