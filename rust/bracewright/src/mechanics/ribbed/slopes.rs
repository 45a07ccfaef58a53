//! How stiffness and mass change with the height of a rib and with the thickness of the plate, between states of the whole plate.
//!
//! For states a and b, what is asked is the derivative of a^T K b and a^T M b: with the answer to a reading for one of them that is
//! the reading's derivative, with a mode for both its frequency's.

use rayon::prelude::*;

use super::cells::{NODES, ORDER};
use super::joint::Block;
use super::plate::{W, field, thickness_at};
use super::rib::Stretch;
use super::{Piece, Ribbed};
use crate::mechanics::plate::SHEAR_FACTOR;

/// What raising a rib's crest by a hat over one place does.
#[derive(Debug, Clone, PartialEq)]
pub struct RibSlope {
    /// Derivatives of a^T K b and a^T M b for each pair, per unit of height.
    pub of_pairs: Vec<[f64; 2]>,
    /// Volume per unit of height.
    pub volume: f64,
}

/// Step of the height that derivatives are taken by, as a part of the rib's greatest; the difference is central.
const STEP: f64 = 1e-5;

impl Ribbed {
    /// Derivatives to the height of a rib at places along it, rising: hats between them. `states` are solved plates.
    pub fn rib_slopes(&self, rib: usize, places: &[f64], states: &[&[f64]], pairs: &[(usize, usize)]) -> Vec<RibSlope> {
        let r = &self.ribs[rib];
        let step = STEP * r.solid.tallest();
        let n = places.len();
        let hats: Vec<[f64; 3]> = (0..n)
            .map(|i| {
                let (a, b) = (i.checked_sub(1).map_or(places[i] - 1.0, |k| places[k]), places.get(i + 1).copied());
                [a, places[i], b.unwrap_or(places[i] + 1.0)]
            })
            .collect();
        let jobs: Vec<(usize, usize)> = (0..r.cells.len())
            .flat_map(|k| {
                let (low, high) = self.along_of(rib, k);
                let hats = &hats;
                (0..n).filter(move |i| hats[*i][0] < high - 1e-9 && hats[*i][2] > low + 1e-9).map(move |i| (k, i))
            })
            .collect();
        let parts: Vec<(usize, RibSlope)> = jobs
            .par_iter()
            .map(|&(k, i)| {
                let piece = self.piece_of_rib(rib, k);
                let places = self.places(piece);
                let states: Vec<Vec<f64>> = states.iter().map(|s| places.values(s)).collect();
                let of = |by: f64| self.products(rib, k, Some((by, hats[i])), &states, pairs);
                let ((more, volume), (less, smaller)) = (of(step), of(-step));
                let slope = |a: f64, b: f64| (a - b) / (2.0 * step);
                let of_pairs = more.iter().zip(&less).map(|(a, b)| [slope(a[0], b[0]), slope(a[1], b[1])]).collect();
                (i, RibSlope { of_pairs, volume: slope(volume, smaller) })
            })
            .collect();
        let mut out = vec![RibSlope { of_pairs: vec![[0.0; 2]; pairs.len()], volume: 0.0 }; n];
        for (i, part) in parts {
            out[i].volume += part.volume;
            for (sum, v) in out[i].of_pairs.iter_mut().zip(&part.of_pairs) {
                sum[0] += v[0];
                sum[1] += v[1];
            }
        }
        out
    }

    /// Least and greatest place along a rib that its k-th cell reaches, corners and all.
    fn along_of(&self, rib: usize, k: usize) -> (f64, f64) {
        let r = &self.ribs[rib];
        self.cells.corners_of(r.cells[k]).map(|p| r.local(p)[0]).fold((f64::MAX, f64::MIN), |a, x| (a.0.min(x), a.1.max(x)))
    }

    /// Products of states over a rib's cell with its crest raised.
    fn products(
        &self,
        rib: usize,
        k: usize,
        raised: Option<(f64, [f64; 3])>,
        states: &[Vec<f64>],
        pairs: &[(usize, usize)],
    ) -> (Vec<[f64; 2]>, f64) {
        let piece = self.piece_of_rib(rib, k);
        let by_block = self.on_raised_block(piece, raised.map(|r| (rib, r)), &|b: &Block| b.products(states, pairs));
        by_block.unwrap_or_else(|| {
            let mut stretch = self.stretch(rib, k);
            stretch.raised = raised;
            by_points(&stretch, self.ribs[rib].density, states, pairs)
        })
    }

    /// Derivatives to the thickness of the plate at the corners of a cell, straight between them: of a^T K b and a^T M b for each
    /// pair, per unit of thickness, then area.
    fn cell_slopes(&self, cell: usize, states: &[&[f64]], pairs: &[(usize, usize)]) -> Vec<(Vec<[f64; 2]>, f64)> {
        let places = self.places(Piece::Cell { cell, times: 1.0 });
        let cubic = self.cubic_cell[cell];
        let degrees = if cubic { 4 } else { 2 };
        let thickness = self.thickness_of(cell);
        let corners = self.cells.cells[cell].len();
        let mut out = vec![(vec![[0.0; 2]; pairs.len()], 0.0); corners];
        let local: Vec<Vec<f64>> = states.iter().map(|s| places.values(s)).collect();
        let at = |x: &[f64], f: usize, row: &[f64; NODES]| -> f64 { row.iter().zip(&x[f * NODES..]).map(|(a, b)| a * b).sum() };
        let middle = |x: &[f64], component: usize, row: &[f64; NODES]| {
            (0..degrees).map(|d| if d == 0 { 1.0 } else { -1.0 } * at(x, field(component, d), row)).sum::<f64>()
        };
        let share = |at: [f64; 2]| self.corner_shares(cell, at);
        for (shape, weight) in self.cells.points(cell, ORDER + 1) {
            let to = share(shape.at);
            // strains of each degree, and displacements of each
            let of = |x: &[f64]| -> Vec<([f64; 3], [f64; 2])> {
                (0..degrees)
                    .map(|d| {
                        let u = |c: usize, row: &[f64; NODES]| if d == 0 { middle(x, c, row) } else { at(x, field(c, d), row) };
                        let mut e = [u(0, &shape.dx), u(1, &shape.dy), u(0, &shape.dy) + u(1, &shape.dx)];
                        if d == 0 {
                            let w = at(x, W, &shape.value);
                            e = [e[0] - w * self.arch[0], e[1] - w * self.arch[1], e[2] - 2.0 * w * self.arch[2]];
                        }
                        (e, [u(0, &shape.value), u(1, &shape.value)])
                    })
                    .collect()
            };
            let all: Vec<_> = local.iter().map(|x| of(x)).collect();
            let up: Vec<f64> = local.iter().map(|x| at(x, W, &shape.value)).collect();
            for (p, (i, j)) in pairs.iter().enumerate() {
                let (mut k, mut m) = (0.0, up[*i] * up[*j]);
                for (d, ((e, u), (f, v))) in all[*i].iter().zip(&all[*j]).enumerate() {
                    let by = 1.0 / (2 * d + 1) as f64;
                    for a in 0..3 {
                        k += by * e[a] * (0..3).map(|b| self.law.plane[a][b] * f[b]).sum::<f64>();
                    }
                    m += by * (u[0] * v[0] + u[1] * v[1]);
                }
                for (c, share) in to.iter().enumerate().take(corners) {
                    out[c].0[p][0] += weight * share * k;
                    out[c].0[p][1] += weight * share * m * self.law.density;
                }
            }
            for (c, share) in to.iter().enumerate().take(corners) {
                out[c].1 += weight * share;
            }
        }
        let factor = if cubic { 1.0 } else { SHEAR_FACTOR };
        for (shape, weight) in super::plate::shear_points(&self.cells, cell) {
            let to = share(shape.at);
            let t = thickness_at(&shape, &thickness);
            // strain of the constant part by turn and slope, and of the higher ones
            let of = |x: &[f64]| -> [[f64; 4]; 2] {
                [0, 1].map(|c| {
                    let slope = at(x, W, if c == 0 { &shape.dx } else { &shape.dy });
                    let mut turn = at(x, field(c, 1), &shape.value);
                    let (mut second, mut third) = (0.0, 0.0);
                    if cubic {
                        second = at(x, field(c, 2), &shape.value);
                        third = at(x, field(c, 3), &shape.value);
                        turn += third;
                    }
                    [slope, 2.0 * turn, 6.0 * second, 10.0 * third]
                })
            };
            let all: Vec<_> = local.iter().map(|x| of(x)).collect();
            for (p, (i, j)) in pairs.iter().enumerate() {
                let mut k = 0.0;
                for a in 0..2 {
                    for b in 0..2 {
                        let (x, y) = (&all[*i][a], &all[*j][b]);
                        // t (s + q/t)(s' + q'/t) + ...: its derivative to t
                        let plain = x[0] * y[0] - x[1] * y[1] / (t * t);
                        let higher = -(x[2] * y[2] / 3.0 + 0.2 * x[3] * y[3]) / (t * t);
                        k += factor * self.law.shear[a][b] * (plain + higher);
                    }
                }
                for (c, share) in to.iter().enumerate().take(corners) {
                    out[c].0[p][0] += weight * share * k;
                }
            }
        }
        out
    }

    /// Shares of the corners of a cell at a point: straight along its sides.
    fn corner_shares(&self, cell: usize, at: [f64; 2]) -> [f64; 4] {
        let Some((s, t)) = self.cells.local(cell, at) else { return [0.0; 4] };
        if self.cells.cells[cell].len() == 3 {
            return [1.0 - s - t, s, t, 0.0];
        }
        let (a, b, c, d) = (1.0 - s, 1.0 + s, 1.0 - t, 1.0 + t);
        [0.25 * a * c, 0.25 * b * c, 0.25 * b * d, 0.25 * a * d]
    }

    /// Derivatives to the thickness at every corner of the plate, straight between them: of a^T K b and a^T M b for each pair, and
    /// area.
    pub fn plate_slopes(&self, states: &[&[f64]], pairs: &[(usize, usize)]) -> Vec<(Vec<[f64; 2]>, f64)> {
        let parts: Vec<_> = (0..self.cells.cells.len()).into_par_iter().map(|c| self.cell_slopes(c, states, pairs)).collect();
        let mut out = vec![(vec![[0.0; 2]; pairs.len()], 0.0); self.cells.corners.len()];
        for (cell, part) in self.cells.cells.iter().zip(parts) {
            for (corner, (values, area)) in cell.iter().zip(part) {
                out[*corner].1 += area;
                for (sum, v) in out[*corner].0.iter_mut().zip(values) {
                    sum[0] += v[0];
                    sum[1] += v[1];
                }
            }
        }
        out
    }
}

/// Products of states over a stretch.
fn by_points(stretch: &Stretch, density: f64, states: &[Vec<f64>], pairs: &[(usize, usize)]) -> (Vec<[f64; 2]>, f64) {
    let mut out = vec![[0.0; 2]; pairs.len()];
    let mut volume = 0.0;
    let of = |x: &[f64], parts: &[(usize, [f64; NODES])]| -> f64 {
        parts.iter().map(|(f, row)| row.iter().zip(&x[f * NODES..]).map(|(a, b)| a * b).sum::<f64>()).sum()
    };
    stretch.points(|s, v, z, filler, weight| {
        let (strains, area) = stretch.strains(s, v, z);
        let (moved, _) = stretch.moved(s, v, z);
        let weight = weight * area;
        volume += weight;
        let e: Vec<[f64; 5]> = states.iter().map(|x| strains.each_ref().map(|p| of(x, p))).collect();
        let u: Vec<[f64; 3]> = states.iter().map(|x| moved.each_ref().map(|p| of(x, p))).collect();
        let c = &stretch.rib.laws[usize::from(filler)].c;
        for (sum, (i, j)) in out.iter_mut().zip(pairs) {
            let (a, b) = (&e[*i], &e[*j]);
            sum[0] += weight * (0..5).map(|i| a[i] * (0..5).map(|j| c[i][j] * b[j]).sum::<f64>()).sum::<f64>();
            sum[1] += weight * density * u[*i].iter().zip(&u[*j]).map(|(a, b)| a * b).sum::<f64>();
        }
    });
    (out, volume)
}
