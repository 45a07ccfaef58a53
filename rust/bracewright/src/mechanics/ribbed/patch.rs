//! A flat piece glued to a face of the plate: a bridge, a bridge plate, a graft.
//!
//! It moves with the face it is glued to and shears and stretches through its thickness; nothing presses it thinner.

use super::blocks::{Blocks, Row};
use super::cells::{Cells, ORDER};
use super::rib::through;
use crate::mechanics::plate::PlateLaw;
use crate::mechanics::quadrature::gauss;

/// Degree through the thickness of its displacements in the plane.
const DEGREE: usize = 3;
/// Own unknowns of a node.
pub const OWN: usize = 2 * DEGREE;
const FIELDS: usize = 3 + OWN;

/// A flat piece.
#[derive(Debug, Clone)]
pub struct Patch {
    /// Glued to the face the ribs are on; else to the outer one.
    pub inside: bool,
    /// Its law, in the axes of the plate.
    pub law: PlateLaw,
    /// Its thickness.
    pub thickness: f64,
    /// Cells that it covers, wholly or in part, and the part: over a cell that its edge cuts it is that much weaker all over, so
    /// that no unknown is left without stiffness.
    pub cells: Vec<usize>,
    /// See `cells`.
    pub covered: Vec<f64>,
}

impl Patch {
    /// Points of its k-th cell with their weights in area.
    fn points<'a>(&'a self, cells: &'a Cells, k: usize, n: usize) -> impl Iterator<Item = (super::cells::Shape, f64)> + 'a {
        cells.points(self.cells[k], n).into_iter().map(move |(shape, weight)| (shape, weight * self.covered[k]))
    }

    /// Stiffness over its k-th cell.
    pub fn stiffness(&self, cells: &Cells, k_th: usize) -> Blocks {
        let mut k = Blocks::new(FIELDS);
        let (t, w) = gauss(DEGREE + 1);
        // away from the plate: down where it is glued to the outer face
        let away = if self.inside { 1.0 } else { -1.0 };
        for (shape, weight) in self.points(cells, k_th, ORDER + 1) {
            for (t, w) in t.iter().zip(w) {
                let (f, df) = through(*t, DEGREE);
                let by = weight * w * self.thickness;
                let rows = |component: usize, row: &Row| {
                    let mut out = vec![(component, *row)];
                    out.extend((1..=DEGREE).map(|d| (own(component, d), row.map(|v| v * f[d]))));
                    out
                };
                let mut sheared = rows(0, &shape.dy);
                sheared.extend(rows(1, &shape.dx));
                let strains = [rows(0, &shape.dx), rows(1, &shape.dy), sheared];
                for i in 0..3 {
                    k.square(&strains[i], by * self.law.plane[i][i]);
                    for j in i + 1..3 {
                        k.cross(&strains[i], &strains[j], by * self.law.plane[i][j]);
                    }
                }
                let lean = |component: usize, slope: &Row| {
                    let mut out = vec![(2, *slope)];
                    out.extend((1..=DEGREE).map(|d| (own(component, d), shape.value.map(|v| away * v * df[d] / self.thickness))));
                    out
                };
                let (x, y) = (lean(0, &shape.dx), lean(1, &shape.dy));
                k.square(&x, by * self.law.shear[0][0]);
                k.square(&y, by * self.law.shear[1][1]);
                k.cross(&x, &y, by * self.law.shear[0][1]);
            }
        }
        k
    }

    /// Consistent mass over its k-th cell.
    pub fn mass(&self, cells: &Cells, k_th: usize) -> Blocks {
        let mut m = Blocks::new(FIELDS);
        let (t, w) = gauss(DEGREE + 1);
        for (shape, weight) in self.points(cells, k_th, ORDER + 1) {
            for (t, w) in t.iter().zip(w) {
                let (f, _) = through(*t, DEGREE);
                let by = weight * w * self.thickness * self.law.density;
                for component in 0..2 {
                    let mut row = vec![(component, shape.value)];
                    row.extend((1..=DEGREE).map(|d| (own(component, d), shape.value.map(|v| v * f[d]))));
                    m.square(&row, by);
                }
                m.square(&[(2, shape.value)], by);
            }
        }
        m
    }
}

fn own(component: usize, degree: usize) -> usize {
    3 + component * DEGREE + degree - 1
}

/// True for a point inside a closed polygon.
pub fn within(polygon: &[[f64; 2]], at: [f64; 2]) -> bool {
    let mut odd = false;
    for (i, a) in polygon.iter().enumerate() {
        let b = polygon[(i + 1) % polygon.len()];
        if (a[1] > at[1]) != (b[1] > at[1]) && at[0] < a[0] + (at[1] - a[1]) / (b[1] - a[1]) * (b[0] - a[0]) {
            odd = !odd;
        }
    }
    odd
}
