//! The sound hole: round or oval.

use serde::{Deserialize, Serialize};

use super::geometry::{Bar, Point, along, inside, minus, sides};
use crate::error::{Result, finite, within};

/// An oval hole with its axes along and across the top; round when both sizes agree.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SoundHole {
    /// Middle across, mm.
    pub x_mm: f64,
    /// Middle from the neck end, mm.
    pub y_mm: f64,
    /// Size across, mm.
    pub width_mm: f64,
    /// Size along the centreline, mm.
    pub length_mm: f64,
}

impl SoundHole {
    /// A round hole.
    pub fn round(x_mm: f64, y_mm: f64, diameter_mm: f64) -> Result<Self> {
        within("diameter_mm", diameter_mm, "mm", 5.0, 400.0)?;
        Self::oval(x_mm, y_mm, diameter_mm, diameter_mm)
    }

    /// An oval hole.
    pub fn oval(x_mm: f64, y_mm: f64, width_mm: f64, length_mm: f64) -> Result<Self> {
        Self { x_mm, y_mm, width_mm, length_mm }.checked()
    }

    /// Itself, unless a size is out of range.
    pub fn checked(self) -> Result<Self> {
        finite("x_mm", self.x_mm, "mm")?;
        finite("y_mm", self.y_mm, "mm")?;
        within("width_mm", self.width_mm, "mm", 5.0, 400.0)?;
        within("length_mm", self.length_mm, "mm", 5.0, 400.0)?;
        Ok(self)
    }

    /// Its middle.
    pub fn middle(&self) -> Point {
        (self.x_mm, self.y_mm)
    }

    /// The edge as a polygon whose sides keep within a tolerance (0.0005 to 10 mm) of it.
    pub fn points(&self, tolerance_mm: f64) -> Result<Vec<Point>> {
        let tolerance = within("tolerance_mm", tolerance_mm, "mm", 0.0005, 10.0)?;
        let r = 0.5 * self.width_mm.max(self.length_mm);
        // an ellipse is a stretched circle: its chords stand off by no more than the circle's
        let half = (1.0 - (tolerance / r).min(0.5)).acos();
        let n = 4 * (std::f64::consts::PI / half / 4.0).ceil().max(2.0) as usize;
        Ok((0..n)
            .map(|k| {
                let (s, c) = (std::f64::consts::TAU * k as f64 / n as f64).sin_cos();
                (self.x_mm + 0.5 * self.width_mm * c, self.y_mm + 0.5 * self.length_mm * s)
            })
            .collect())
    }

    /// The place on the edge nearest to `p`, and its distance, below 0 inside the hole.
    pub(crate) fn nearest(&self, p: Point) -> (Point, f64) {
        let (a, b) = (0.5 * self.width_mm, 0.5 * self.length_mm);
        let (dx, dy) = (p.0 - self.x_mm, p.1 - self.y_mm);
        let (u, v) = (dx.abs(), dy.abs());
        let (x, y) = if (a - b).abs() < 1e-9 {
            let r = u.hypot(v);
            if r > 0.0 { (a * u / r, a * v / r) } else { (a, 0.0) }
        } else {
            nearest_on_ellipse(a, b, u, v)
        };
        let d = (u - x).hypot(v - y);
        let within = (u / a).powi(2) + (v / b).powi(2) < 1.0;
        let place = (self.x_mm + x * if dx < 0.0 { -1.0 } else { 1.0 }, self.y_mm + y * if dy < 0.0 { -1.0 } else { 1.0 });
        (place, if within { -d } else { d })
    }

    /// Distance from a bar's edge to the hole's, below 0 where they overlap, and the nearest place of the bar. The distance is
    /// convex, so two nested searches find the least of it.
    pub(crate) fn gap(&self, bar: &Bar) -> (f64, Point) {
        if (self.width_mm - self.length_mm).abs() < 1e-9 {
            let m = self.middle();
            return (bar.signed_distance(m).max(0.0) - 0.5 * self.width_mm, bar.nearest(m));
        }
        let across = |s: f64| least(-bar.half, bar.half, |t| self.nearest(bar.place(s, t)).1);
        let (s, d) = least(0.0, bar.length(), |s| across(s).1);
        (d, bar.place(s, across(s).0))
    }
}

impl SoundHole {
    /// Distance from a convex polygon's edge to the hole's, below 0 where they overlap, and the nearest place of the polygon.
    pub(crate) fn gap_to(&self, polygon: &[Point]) -> (f64, Point) {
        let m = self.middle();
        let mut best = if inside(polygon, m) { (self.nearest(m).1, m) } else { (f64::INFINITY, m) };
        for (a, b) in sides(polygon) {
            let d = minus(b, a);
            let (t, gap) = least(0.0, 1.0, |t| self.nearest(along(a, d, t)).1);
            if gap < best.0 {
                best = (gap, along(a, d, t));
            }
        }
        best
    }
}

/// Where a convex function of one number is least, and that value.
fn least(mut low: f64, mut high: f64, f: impl Fn(f64) -> f64) -> (f64, f64) {
    const GOLD: f64 = 0.618_033_988_749_894_9;
    let (mut a, mut b) = (high - GOLD * (high - low), low + GOLD * (high - low));
    let (mut fa, mut fb) = (f(a), f(b));
    // a part in 1e8 of the range, the value to its square
    for _ in 0..40 {
        if fa < fb {
            (high, b, fb) = (b, a, fa);
            a = high - GOLD * (high - low);
            fa = f(a);
        } else {
            (low, a, fa) = (a, b, fb);
            b = low + GOLD * (high - low);
            fb = f(b);
        }
    }
    let x = 0.5 * (low + high);
    (x, f(x))
}

/// The place of an ellipse nearest to (u, v) in its first quadrant: the root of a decreasing function, by halving.
fn nearest_on_ellipse(a: f64, b: f64, u: f64, v: f64) -> (f64, f64) {
    // at the nearest place (u - x, v - y) = t (x / a^2, y / b^2), so x = a^2 u / (t + a^2); the root lies above -min(a, b)^2
    let least = a.min(b).powi(2);
    let on = |t: f64| (a * u / (t + a * a)).powi(2) + (b * v / (t + b * b)).powi(2) - 1.0;
    let (mut low, mut high) = (-least + a.min(b) * if a < b { u } else { v }, -least + (a * u).hypot(b * v));
    if low <= -least * (1.0 - 1e-12) && on(-least * (1.0 - 1e-9)) < 0.0 {
        // on the longer axis and near the middle: the nearest place is off the axis
        let (long, short, w) = if a < b { (b, a, v) } else { (a, b, u) };
        let x = (long * long * w / (long * long - short * short)).min(long);
        let y = short * (1.0 - (x / long).powi(2)).max(0.0).sqrt();
        return if a < b { (y, x) } else { (x, y) };
    }
    for _ in 0..80 {
        let mid = 0.5 * (low + high);
        if on(mid) > 0.0 { low = mid } else { high = mid }
    }
    let t = 0.5 * (low + high);
    (a * a * u / (t + a * a), b * b * v / (t + b * b))
}
