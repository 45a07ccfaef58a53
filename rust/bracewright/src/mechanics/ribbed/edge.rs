//! Springs along an edge of the plate: what a rim gives.

use super::blocks::{Blocks, Row};
use super::cells::{NODES, ORDER, SIDE, along};
use super::plate::{CUBIC, W, field};
use crate::mechanics::quadrature::gauss;

/// A side of a cell on springs.
#[derive(Debug, Clone, PartialEq)]
pub struct EdgeSpring {
    /// Its nodes, from corner to corner.
    pub nodes: [usize; SIDE],
    /// From corner to corner.
    pub ends: [[f64; 2]; 2],
    /// Thickness of the plate there.
    pub thickness: f64,
    /// Force per length and displacement in the plane of the middle of the plate.
    pub in_plane: f64,
    /// The same up and down.
    pub up: f64,
    /// Moment per length and turn about the edge.
    pub turn: f64,
}

impl EdgeSpring {
    /// Stiffness over the fields of a cubic cell; its nodes are the first of each.
    pub fn stiffness(&self) -> Blocks {
        let mut k = Blocks::new(CUBIC);
        let [a, b] = self.ends;
        let length = (b[0] - a[0]).hypot(b[1] - a[1]);
        let normal = [(b[1] - a[1]) / length, -(b[0] - a[0]) / length];
        let (t, w) = gauss(ORDER + 1);
        for (t, w) in t.iter().zip(w) {
            let (shapes, _) = along(2.0 * t - 1.0);
            let mut row: Row = [0.0; NODES];
            row[..SIDE].copy_from_slice(&shapes);
            let by = w * length;
            for component in 0..2 {
                let middle: Vec<(usize, Row)> =
                    (0..4).map(|d| (field(component, d), if d == 0 { row } else { row.map(|v| -v) })).collect();
                k.square(&middle, by * self.in_plane);
            }
            k.square(&[(W, row)], by * self.up);
            // the normal turns by 2 u1 / t in the direction across the edge
            let turned: Vec<(usize, Row)> =
                (0..2).map(|c| (field(c, 1), row.map(|v| 2.0 * v * normal[c] / self.thickness))).collect();
            k.square(&turned, by * self.turn);
        }
        k
    }
}
