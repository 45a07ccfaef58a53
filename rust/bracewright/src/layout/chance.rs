//! What errors of place do to a clearance: two things, each shifted and turned a little, by first order and the normal law.

use super::geometry::{Bar, Point};
use crate::normal::cdf;

/// How a thing stands off its place.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub(super) struct Shift {
    pub dx: f64,
    pub dy: f64,
    /// Radians, from x to y.
    pub turn: f64,
}

impl Shift {
    /// A point of a thing that turns about `pivot`.
    pub fn of(&self, p: Point, pivot: Point) -> Point {
        let (s, c) = self.turn.sin_cos();
        let (x, y) = (p.0 - pivot.0, p.1 - pivot.1);
        (pivot.0 + c * x - s * y + self.dx, pivot.1 + s * x + c * y + self.dy)
    }

    /// A bar that turns about `pivot`.
    pub fn of_bar(&self, bar: &Bar, pivot: Point) -> Bar {
        Bar { from: self.of(bar.from, pivot), to: self.of(bar.to, pivot), half: bar.half }
    }
}

/// Standard uncertainties of the place of every thing: each way, mm, and of its turn, radians.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Errors {
    pub u_mm: f64,
    pub u_rad: f64,
}

impl Errors {
    /// Standard uncertainty of a clearance between two things.
    pub fn sd(&self, f: &dyn Fn(Shift, Shift) -> f64) -> f64 {
        let (h, turn) = (1e-3, 1e-5);
        let one = |k: usize, v: f64| match k {
            0 => Shift { dx: v, ..Shift::default() },
            1 => Shift { dy: v, ..Shift::default() },
            _ => Shift { turn: v, ..Shift::default() },
        };
        let still = Shift::default();
        let mut sum = 0.0;
        for k in 0..3 {
            let (step, u) = if k < 2 { (h, self.u_mm) } else { (turn, self.u_rad) };
            let first = (f(one(k, step), still) - f(one(k, -step), still)) / (2.0 * step);
            let second = (f(still, one(k, step)) - f(still, one(k, -step))) / (2.0 * step);
            sum += (first * u).powi(2) + (second * u).powi(2);
        }
        sum.sqrt()
    }
}

/// Chance that a normal figure lies outside a range.
pub(super) fn outside(nominal: f64, sd: f64, least: Option<f64>, most: Option<f64>) -> f64 {
    if sd <= 0.0 {
        return f64::from(u8::from(least.is_some_and(|l| nominal < l) || most.is_some_and(|m| nominal > m)));
    }
    let below = least.map_or(0.0, |l| cdf((l - nominal) / sd));
    let above = most.map_or(0.0, |m| cdf((nominal - m) / sd));
    (below + above).min(1.0)
}

/// Chance that a normal figure of either sign is smaller than `least` in size.
pub(super) fn within(aside: f64, sd: f64, least: f64) -> f64 {
    if sd <= 0.0 {
        return f64::from(u8::from(aside.abs() < least));
    }
    (cdf((least - aside.abs()) / sd) - cdf((-least - aside.abs()) / sd)).clamp(0.0, 1.0)
}
