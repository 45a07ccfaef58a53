//! What is read off a solved plate.

use super::cells::NODES;
use super::joint::Block;
use super::plate::W;
use super::{Piece, Ribbed, plate};
use crate::mechanics::quadrature::legendre;

impl Ribbed {
    /// A field's value at a node.
    fn value(&self, solved: &[f64], node: usize, field: usize) -> f64 {
        self.sign(node, field) * solved[self.first[node] + field]
    }

    /// Stresses (xx, zz, xz, xy, yz) in the middle of a rib's width at places along it (x, on the side of another x, at a part of
    /// the height); `None` where one is off the rib.
    pub fn rib_stresses(&self, solved: &[f64], rib: usize, at: &[(f64, f64, f64)]) -> Option<Vec<[f64; 5]>> {
        let r = &self.ribs[rib];
        let mut local: Vec<Option<Vec<f64>>> = vec![None; r.cells.len()];
        at.iter()
            .map(|&(x, inside, part)| {
                let (k, s, v) = self.stretch_at(rib, x, inside)?;
                let piece = self.piece_of_rib(rib, k);
                let values = local[k].get_or_insert_with(|| self.places(piece).values(solved));
                if let Some(stress) = self.on_block(piece, &|b: &Block| b.stress(s, v, part, values)) {
                    // a crossing has the axes of its first rib
                    let [c, n] = match piece {
                        Piece::Joint(j) => self.ribs[self.joints[j].ribs[0]].direction,
                        _ => r.direction,
                    };
                    let [a, b] = r.direction;
                    return Some(turned(stress, [c * a + n * b, c * b - n * a]));
                }
                let stretch = self.stretch(rib, k);
                let height = stretch.height(x, inside).0;
                let (rows, _) = stretch.strains(s, v, part * height);
                let strain = rows.map(|rows| {
                    let of = |(field, row): &(usize, [f64; NODES])| -> f64 {
                        row.iter().zip(&values[field * NODES..]).map(|(v, u)| v * u).sum()
                    };
                    rows.iter().map(of).sum::<f64>()
                });
                let c = &r.laws[0].c;
                Some([0, 1, 2, 3, 4].map(|i: usize| (0..5).map(|j| c[i][j] * strain[j]).sum()))
            })
            .collect()
    }

    /// Stresses (xx, yy, xy) of the plate at a point of its plane, at a part of its thickness: -1 the face away from the ribs,
    /// 1 the face they are glued to; `None` off the plate.
    pub fn plate_stress(&self, solved: &[f64], x: f64, y: f64, part: f64) -> Option<[f64; 3]> {
        let (cell, s, t) = self.cells.find(x, y)?;
        let shape = self.cells.shape(cell, s, t);
        let (mut p, mut d) = ([0.0; 4], [0.0; 4]);
        legendre(part, &mut p, &mut d);
        let mut strain = [0.0; 3];
        for (i, n) in self.cells.of_cell[cell].iter().enumerate() {
            let degrees = if self.cubic_node[*n] { 4 } else { 2 };
            let of = |component: usize| -> f64 {
                let at = |k: usize| self.value(solved, *n, plate::field(component, k));
                at(0) + (1..degrees).map(|k| (p[k] - 1.0) * at(k)).sum::<f64>()
            };
            let (u, v) = (of(0), of(1));
            strain[0] += shape.dx[i] * u;
            strain[1] += shape.dy[i] * v;
            strain[2] += shape.dy[i] * u + shape.dx[i] * v;
        }
        Some([0, 1, 2].map(|i: usize| (0..3).map(|j| self.law.plane[i][j] * strain[j]).sum()))
    }

    /// Deflection at a point of the plate; `None` outside of it.
    pub fn deflection(&self, solved: &[f64], x: f64, y: f64) -> Option<f64> {
        let (cell, s, t) = self.cells.find(x, y)?;
        let shape = self.cells.shape(cell, s, t);
        Some(self.cells.of_cell[cell].iter().zip(shape.value).map(|(n, v)| v * solved[self.first[*n] + W]).sum())
    }
}

/// Stresses (xx, zz, xz, xy, yz) along and across a direction, from those (xx, yy, zz, yz, xz, xy) in the axes it is given in.
fn turned([xx, yy, zz, yz, xz, xy]: [f64; 6], [c, s]: [f64; 2]) -> [f64; 5] {
    [c * c * xx + s * s * yy + 2.0 * c * s * xy, zz, c * xz + s * yz, c * s * (yy - xx) + (c * c - s * s) * xy, c * yz - s * xz]
}
