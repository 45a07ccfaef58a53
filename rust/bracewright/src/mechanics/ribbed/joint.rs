//! A rib's cell whose nodes are free through its height: the crossing of two ribs, half of it one leg's wood and half the other's,
//! and the cells beside it.

use faer::linalg::matmul::matmul;
use faer::{Accum, MatMut, MatRef, Par};

use super::blocks::{Blocks, Row};
use super::cells::{Cells, NODES, ORDER};
use super::rib::through;
use crate::mechanics::quadrature::gauss;

/// Degrees through the height of the displacements along, across and up.
const DEGREES: [usize; 3] = [4, 4, 3];
/// Points through each half of a crossing, and through the height of a cell beside it.
pub const HALF_POINTS: usize = 3;
pub const POINTS: usize = 5;
/// Own unknowns of a node.
pub const JOINT_OWN: usize = DEGREES[0] + DEGREES[1] + DEGREES[2];
const FIELDS: usize = 3 + JOINT_OWN;

/// Stress (xx, yy, zz, yz, xz, xy) from strain, engineering shears.
pub type SolidLaw = [[f64; 6]; 6];

/// Component and degree of each own field.
pub fn own_fields() -> [(usize, usize); JOINT_OWN] {
    let mut out = [(0, 0); JOINT_OWN];
    let mut k = 0;
    for (component, degrees) in DEGREES.into_iter().enumerate() {
        for degree in 1..=degrees {
            out[k] = (component, degree);
            k += 1;
        }
    }
    out
}

/// Own field of a component and degree.
pub fn field(component: usize, degree: usize) -> usize {
    DEGREES[..component].iter().sum::<usize>() + degree - 1
}

/// Two ribs that cross.
#[derive(Debug, Clone)]
pub struct Joint {
    /// The two ribs; the cell's first direction runs along the first.
    pub ribs: [usize; 2],
    /// Which of the cells of each it is.
    pub at: [usize; 2],
    /// The cell.
    pub cell: usize,
    /// Laws of the lower and the upper half, in the axes of the first rib.
    pub laws: [SolidLaw; 2],
    /// Their densities.
    pub densities: [f64; 2],
}

/// A place through the height of a block: part of the height, weight (parts of the width times parts of the height), part of the
/// width there, and which of the laws holds.
#[derive(Debug, Clone, Copy)]
pub struct Level {
    pub part: f64,
    pub weight: f64,
    pub width: f64,
    pub law: usize,
}

/// A cell with free nodes through its height.
pub struct Block<'a> {
    pub cells: &'a Cells,
    pub cell: usize,
    /// Its first axis.
    pub direction: [f64; 2],
    /// Height and its slopes along and across at a point of the plane, on the side of the cell.
    pub height: &'a (dyn Fn([f64; 2]) -> [f64; 3] + Sync),
    /// Levels at a place along it.
    pub levels: &'a (dyn Fn(f64) -> Vec<Level> + Sync),
    pub laws: &'a [SolidLaw],
    pub densities: &'a [f64],
}

/// A point of a block: rows of the six strains and of the three displacements over all fields, and the volume that goes with it.
struct Rows {
    strains: [Vec<(usize, Row)>; 6],
    moved: [Vec<(usize, Row)>; 3],
}

impl Block<'_> {
    /// At a place of the cell and a level; height and slopes as given.
    fn rows(&self, s: f64, v: f64, part: f64, [h, hx, hy]: [f64; 3]) -> (Rows, f64) {
        let shape = self.cells.shape(self.cell, s, v);
        let [c, n] = self.direction;
        let dx: Row = std::array::from_fn(|i| c * shape.dx[i] + n * shape.dy[i]);
        let dy: Row = std::array::from_fn(|i| c * shape.dy[i] - n * shape.dx[i]);
        let (f, df) = through(part, 4);
        // z / h moves with the height
        let (lean_x, lean_y) = (-part * hx / h, -part * hy / h);
        let mut strains: [Vec<(usize, Row)>; 6] = Default::default();
        let mut moved: [Vec<(usize, Row)>; 3] = Default::default();
        let [xx, yy, zz, yz, xz, xy] = &mut strains;
        let mut put = |component: usize, field: usize, f: f64, df: f64| {
            let x: Row = std::array::from_fn(|i| f * dx[i] + df * lean_x * shape.value[i]);
            let y: Row = std::array::from_fn(|i| f * dy[i] + df * lean_y * shape.value[i]);
            let up = shape.value.map(|v| v * df / h);
            moved[component].push((field, shape.value.map(|v| v * f)));
            match component {
                0 => {
                    xx.push((field, x));
                    xy.push((field, y));
                    xz.push((field, up));
                }
                1 => {
                    yy.push((field, y));
                    xy.push((field, x));
                    yz.push((field, up));
                }
                _ => {
                    zz.push((field, up));
                    xz.push((field, x));
                    yz.push((field, y));
                }
            }
        };
        for component in 0..3 {
            put(component, component, 1.0, 0.0);
        }
        for (k, (component, degree)) in own_fields().into_iter().enumerate() {
            put(component, 3 + k, f[degree], df[degree]);
        }
        (Rows { strains, moved }, shape.area)
    }

    /// Every point with its weight in volume and its law.
    fn points(&self, mut each: impl FnMut(Rows, f64, usize)) {
        let (t, w) = gauss(ORDER + 2);
        let (ty, wy) = gauss(ORDER + 1);
        for (s, ws) in t.iter().zip(w) {
            let s = 2.0 * s - 1.0;
            let levels = (self.levels)(s);
            for (v, wv) in ty.iter().zip(wy) {
                for l in &levels {
                    let v = l.width * (2.0 * v - 1.0);
                    let height = (self.height)(self.cells.place(self.cell, s, v).0);
                    let (rows, area) = self.rows(s, v, l.part, height);
                    each(rows, 4.0 * ws * wv * l.weight * height[0] * area, l.law);
                }
            }
        }
    }

    /// Stiffness.
    pub fn stiffness(&self) -> Blocks {
        let n = FIELDS * NODES;
        let (mut strains, mut stresses) = (Vec::new(), Vec::new());
        self.points(|rows, weight, law| {
            let at = strains.len();
            strains.resize(at + 6 * n, 0.0);
            stresses.resize(at + 6 * n, 0.0);
            for (i, parts) in rows.strains.iter().enumerate() {
                for (field, row) in parts {
                    strains[at + i * n + field * NODES..][..NODES].copy_from_slice(row);
                    for j in 0..6 {
                        let by = weight * self.laws[law][j][i];
                        if by != 0.0 {
                            let to = &mut stresses[at + j * n + field * NODES..][..NODES];
                            to.iter_mut().zip(row).for_each(|(t, v)| *t += by * v);
                        }
                    }
                }
            }
        });
        let count = strains.len() / n;
        let mut k = vec![0.0; n * n];
        // both hold a row of strains after the other: columns of their transposes
        let (a, b) = (MatRef::from_column_major_slice(&strains, n, count), MatRef::from_column_major_slice(&stresses, n, count));
        matmul(MatMut::from_column_major_slice_mut(&mut k, n, n), Accum::Replace, a, b.transpose(), 1.0, Par::Seq);
        let mut out = Blocks::new(FIELDS);
        for f in 0..FIELDS {
            for g in f..FIELDS {
                let block = out.block(f, g);
                for i in 0..NODES {
                    for j in 0..NODES {
                        block[i * NODES + j] = k[(g * NODES + j) * n + f * NODES + i];
                    }
                }
            }
        }
        out
    }

    /// Consistent mass.
    pub fn mass(&self) -> Blocks {
        let mut out = Blocks::new(FIELDS);
        self.points(|rows, weight, law| {
            for m in &rows.moved {
                out.square(m, weight * self.densities[law]);
            }
        });
        out
    }

    /// Stresses (xx, yy, zz, yz, xz, xy) at a place of the cell and a part of the height, from the block's own values; at the border of
    /// two laws the upper holds.
    pub fn stress(&self, s: f64, v: f64, part: f64, values: &[f64]) -> [f64; 6] {
        let height = (self.height)(self.cells.place(self.cell, s, v).0);
        let (rows, _) = self.rows(s, v, part, height);
        let strain = rows.strains.each_ref().map(|p| of_rows(values, p));
        let levels = (self.levels)(s);
        let near = levels.iter().min_by(|a, b| (a.part - part - 1e-9).abs().total_cmp(&(b.part - part - 1e-9).abs()));
        let c = &self.laws[near.map_or(0, |l| l.law)];
        [0, 1, 2, 3, 4, 5].map(|i: usize| (0..6).map(|j| c[i][j] * strain[j]).sum())
    }

    /// For several states, each by the block's own values: work of the stresses of one on the strains of another, and the product of
    /// their displacements times density, for each pair asked for; then volume.
    pub fn products(&self, states: &[Vec<f64>], pairs: &[(usize, usize)]) -> (Vec<[f64; 2]>, f64) {
        let mut out = vec![[0.0; 2]; pairs.len()];
        let mut volume = 0.0;
        self.points(|rows, weight, law| {
            volume += weight;
            let strains: Vec<[f64; 6]> = states.iter().map(|x| rows.strains.each_ref().map(|p| of_rows(x, p))).collect();
            let moved: Vec<[f64; 3]> = states.iter().map(|x| rows.moved.each_ref().map(|p| of_rows(x, p))).collect();
            let c = &self.laws[law];
            for (sum, (i, j)) in out.iter_mut().zip(pairs) {
                let (a, b) = (&strains[*i], &strains[*j]);
                sum[0] += weight * (0..6).map(|i| a[i] * (0..6).map(|j| c[i][j] * b[j]).sum::<f64>()).sum::<f64>();
                sum[1] += weight * self.densities[law] * moved[*i].iter().zip(&moved[*j]).map(|(a, b)| a * b).sum::<f64>();
            }
        });
        (out, volume)
    }
}

fn of_rows(values: &[f64], parts: &[(usize, Row)]) -> f64 {
    parts.iter().map(|(f, row)| dot(row, &values[f * NODES..])).sum()
}

fn dot(row: &Row, values: &[f64]) -> f64 {
    row.iter().zip(values).map(|(a, b)| a * b).sum()
}
