//! Outline and thickness of a plate, and where both are sampled.

use crate::mechanics::quadrature::{gauss, merge_breaks};

/// The outline of a plate.
#[derive(Debug, Clone, PartialEq)]
pub enum Outline {
    /// From (0, 0) to (length, width).
    Rectangle {
        /// Along x.
        length: f64,
        /// Along y.
        width: f64,
    },
    /// Touching those sides.
    Ellipse {
        /// Along x.
        length: f64,
        /// Along y.
        width: f64,
    },
    /// Between two sides given over x, straight from station to station; ends square to x.
    Sided {
        /// Stations, increasing, at least two.
        x: Vec<f64>,
        /// The side of lower y at each station.
        low: Vec<f64>,
        /// The side of higher y.
        high: Vec<f64>,
    },
}

/// Thickness over the plate: bilinear between the lines of a grid, level beyond it.
#[derive(Debug, Clone, PartialEq)]
pub struct Grid {
    /// Lines across x, increasing; one is enough.
    pub x: Vec<f64>,
    /// Lines across y.
    pub y: Vec<f64>,
    /// Values, `x.len()` rows of `y.len()`.
    pub value: Vec<Vec<f64>>,
}

/// A point of the rule over the plate.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Point {
    pub x: f64,
    pub y: f64,
    pub weight: f64,
    pub thickness: f64,
}

impl Grid {
    /// The same everywhere.
    pub fn even(value: f64) -> Self {
        Self { x: vec![0.0], y: vec![0.0], value: vec![vec![value]] }
    }

    /// The value at a place.
    pub fn at(&self, x: f64, y: f64) -> f64 {
        let ((i, u), (j, v)) = (place(&self.x, x), place(&self.y, y));
        let (i1, j1) = ((i + 1).min(self.x.len() - 1), (j + 1).min(self.y.len() - 1));
        (1.0 - u) * ((1.0 - v) * self.value[i][j] + v * self.value[i][j1])
            + u * ((1.0 - v) * self.value[i1][j] + v * self.value[i1][j1])
    }
}

fn place(lines: &[f64], x: f64) -> (usize, f64) {
    if lines.len() < 2 {
        return (0, 0.0);
    }
    let i = lines.partition_point(|&l| l <= x).clamp(1, lines.len() - 1) - 1;
    (i, ((x - lines[i]) / (lines[i + 1] - lines[i])).clamp(0.0, 1.0))
}

impl Outline {
    /// The smallest rectangle around it: x low, x high, y low, y high.
    pub fn bounds(&self) -> [f64; 4] {
        match self {
            Self::Rectangle { length, width } | Self::Ellipse { length, width } => [0.0, *length, 0.0, *width],
            Self::Sided { x, low, high } => [
                x[0],
                x[x.len() - 1],
                low.iter().copied().fold(f64::INFINITY, f64::min),
                high.iter().copied().fold(f64::NEG_INFINITY, f64::max),
            ],
        }
    }

    /// The two sides at x.
    fn sides(&self, at: f64) -> (f64, f64) {
        match self {
            Self::Rectangle { width, .. } => (0.0, *width),
            Self::Ellipse { length, width } => {
                let s = 2.0 * at / length - 1.0;
                let half = 0.5 * width * (1.0 - s * s).max(0.0).sqrt();
                (0.5 * width - half, 0.5 * width + half)
            }
            Self::Sided { x, low, high } => {
                let (i, u) = place(x, at);
                (low[i] + u * (low[i + 1] - low[i]), high[i] + u * (high[i + 1] - high[i]))
            }
        }
    }

    /// True when the place lies on the plate or its edge.
    pub fn holds(&self, x: f64, y: f64) -> bool {
        let b = self.bounds();
        let slack = 1e-9 * (b[1] - b[0] + b[3] - b[2]);
        if x < b[0] - slack || x > b[1] + slack {
            return false;
        }
        let (low, high) = self.sides(x.clamp(b[0], b[1]));
        y >= low - slack && y <= high + slack
    }

    /// A rule of `n` Gauss points in each direction between the lines of the grid.
    pub(super) fn points(&self, thickness: &Grid, n: usize) -> Vec<Point> {
        let mut out = Vec::new();
        let mut add = |x: f64, y: f64, weight: f64| out.push(Point { x, y, weight, thickness: thickness.at(x, y) });
        let (t, w) = gauss(n);
        if let Self::Ellipse { length, width } = self {
            let around = 4 * n;
            for (r, wr) in t.iter().zip(w) {
                for k in 0..around {
                    let (s, c) = (std::f64::consts::TAU * (k as f64 + 0.5) / around as f64).sin_cos();
                    let weight = wr * r * std::f64::consts::TAU / around as f64 * 0.25 * length * width;
                    add(0.5 * length * (1.0 + r * c), 0.5 * width * (1.0 + r * s), weight);
                }
            }
            return out;
        }
        let b = self.bounds();
        let stations: &[f64] = if let Self::Sided { x, .. } = self { x } else { &[] };
        for pair in merge_breaks(b[0], b[1], &[stations, &thickness.x], 1e-9 * (b[1] - b[0])).windows(2) {
            for (tx, wx) in t.iter().zip(w) {
                let x = pair[0] + (pair[1] - pair[0]) * tx;
                let (low, high) = self.sides(x);
                for side in merge_breaks(low, high, &[&thickness.y], 1e-9 * (high - low)).windows(2) {
                    for (ty, wy) in t.iter().zip(w) {
                        let y = side[0] + (side[1] - side[0]) * ty;
                        add(x, y, wx * wy * (pair[1] - pair[0]) * (side[1] - side[0]));
                    }
                }
            }
        }
        out
    }
}
