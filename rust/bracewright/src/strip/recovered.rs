//! Stresses of a solved strip at any place, from those at the places where an element knows them best.

use crate::mechanics::quadrature::gauss;
use crate::mechanics::solid::Solid;

/// Points of each element at which the slope of third-order displacements is good to an order more: those of Gauss.
const POINTS: usize = 3;
/// Points taken besides from the elements on either side.
const BESIDE: usize = 2;
/// A turn of the crest or of the width from which on the stress is not smooth over a line.
const TURN: f64 = 0.02;

/// The lines of a mesh along a brace.
pub struct Lines {
    at: Vec<f64>,
    /// Whether the stress is smooth over each line.
    smooth: Vec<bool>,
    points: Vec<f64>,
}

impl Lines {
    /// Of lines along the brace, its solid, and where loads begin and end.
    pub fn new(at: Vec<f64>, solid: &Solid, busy: &[f64]) -> Self {
        let near = |x: f64, other: f64| (x - other).abs() < 0.5;
        let step = 1e-6 * solid.crest.end();
        let turns = |x: f64| {
            [&solid.crest, &solid.width].into_iter().any(|p| {
                let (l, r) = (p.at_from(x, x - step), p.at_from(x, x + step));
                (l.0 - r.0).abs() > 1e-6 || (l.1 - r.1).abs() > TURN
            })
        };
        let walls = |x: f64| solid.notches.iter().any(|n| x > n.start - 0.5 && x < n.end + 0.5);
        let last = at.len() - 1;
        let smooth = at
            .iter()
            .enumerate()
            .map(|(k, x)| k > 0 && k < last && !busy.iter().any(|b| near(*x, *b)) && !walls(*x) && !turns(*x))
            .collect();
        let (best, _) = gauss(POINTS);
        let points = at.windows(2).flat_map(|w| best.iter().map(|t| w[0] + (w[1] - w[0]) * t)).collect();
        Self { at, smooth, points }
    }

    /// The best places.
    pub fn points(&self) -> &[f64] {
        &self.points
    }

    /// Weights of the best places in the stress at a place: the polynomial through those of its element and, where the stress
    /// is smooth over both its ends, the nearest beside it; on a line the mean of both sides.
    pub fn weights(&self, x: f64) -> Vec<(usize, f64)> {
        let last = self.at.len() - 2;
        let step = 1e-6 * self.at[last + 1];
        let of = |x: f64| (self.at.partition_point(|a| *a <= x).max(1) - 1).min(last);
        let (left, right) = (of(x - step), of(x + step));
        let sides = if left == right { vec![left] } else { vec![left, right] };
        let part = 1.0 / sides.len() as f64;
        sides
            .into_iter()
            .flat_map(|e| {
                // from one side only, a place near the other would lie far outside of its points
                let more = if self.smooth[e] && self.smooth[e + 1] { BESIDE } else { 0 };
                let (first, end) = (POINTS * e - more, POINTS * (e + 1) + more);
                let p = &self.points[first..end];
                (0..p.len()).map(move |i| {
                    let others = (0..p.len()).filter(|j| *j != i);
                    (first + i, part * others.map(|j| (x - p[j]) / (p[i] - p[j])).product::<f64>())
                })
            })
            .collect()
    }
}
