//! Free vibration: the consistent mass, and the lowest modes by Lanczos in blocks on the factored stiffness.

use rayon::prelude::*;

use super::blocks::Blocks;
use super::cells::NODES;
use super::factor::Factor;
use super::places::Places;
use crate::mechanics::dense::{Square, symmetric};

/// A block of a piece's mass: two fields and their products.
type Part = (usize, usize, Box<[f64; NODES * NODES]>);

/// Mass of a plate, piece by piece; most pairs of fields have none.
#[derive(Debug, Clone)]
pub struct Mass {
    pieces: Vec<Option<(Vec<Part>, Blocks)>>,
    places: Vec<Places>,
    unknowns: usize,
}

/// A free vibration, its shape such that shape^T M shape = 1.
#[derive(Debug, Clone, PartialEq)]
pub struct Mode {
    /// Angular frequency squared.
    pub omega_squared: f64,
    /// Value of every unknown.
    pub shape: Vec<f64>,
}

/// Vectors worked on at once, so that a mode that is there twice is found twice.
const AT_ONCE: usize = 4;
/// What is left of a mode's own equation, as a part of it, when it counts as found.
const LEFT: f64 = 1e-10;
/// Modes beyond those asked for that are looked at too, and what may be left of them: one that shows late shows among them first.
const BEYOND: usize = 2;
const LEFT_BEYOND: f64 = 1e-3;
/// Most blocks taken.
const MOST_BLOCKS: usize = 60;

impl Mass {
    pub(super) fn new(pieces: Vec<Option<Blocks>>, places: &[Places], unknowns: usize) -> Self {
        let parts = |blocks: Blocks| {
            let mut out: Vec<Part> = Vec::new();
            for f in 0..blocks.fields() {
                for g in f..blocks.fields() {
                    let b = blocks.read(f, g);
                    if b.iter().any(|v| *v != 0.0) {
                        let mut part = Box::new([0.0; NODES * NODES]);
                        part.copy_from_slice(b);
                        out.push((f, g, part));
                    }
                }
            }
            (out, blocks)
        };
        Self { pieces: pieces.into_iter().map(|p| p.map(parts)).collect(), places: places.to_vec(), unknowns }
    }

    pub(super) fn of_piece(&self, piece: usize) -> Option<&Blocks> {
        self.pieces[piece].as_ref().map(|p| &p.1)
    }

    /// Mass times a vector.
    pub fn times(&self, x: &[f64]) -> Vec<f64> {
        let mut out = vec![0.0; self.unknowns];
        let mut moved = Vec::new();
        for (piece, places) in self.pieces.iter().zip(&self.places) {
            let Some((parts, _)) = piece else { continue };
            let local = places.values(x);
            moved.clear();
            moved.resize(local.len(), 0.0);
            for (f, g, block) in parts {
                let (from, to) = (&local[g * NODES..][..NODES], f * NODES);
                for (i, row) in block.chunks_exact(NODES).enumerate() {
                    moved[to + i] += row.iter().zip(from).map(|(a, b)| a * b).sum::<f64>();
                }
                if f != g {
                    for (row, x) in block.chunks_exact(NODES).zip(&local[f * NODES..]) {
                        let to = &mut moved[g * NODES..][..NODES];
                        to.iter_mut().zip(row).for_each(|(t, a)| *t += a * x);
                    }
                }
            }
            for (i, v) in moved.iter().enumerate() {
                places.of(i).iter().for_each(|(u, by)| out[*u] += by * v);
            }
        }
        out
    }
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

fn less(a: &mut [f64], by: f64, b: &[f64]) {
    a.iter_mut().zip(b).for_each(|(a, b)| *a -= by * b);
}

impl Factor {
    /// The lowest modes of a plate whose stiffness, with `shift` times its mass added, this is; `None` where fewer are found.
    pub fn modes(&self, mass: &Mass, shift: f64, count: usize) -> Option<Vec<Mode>> {
        let n = mass.unknowns;
        let plan = self.plan();
        let count = count.min(self.solved_for());
        // a start of no pattern, the same each time
        let mut block: Vec<Vec<f64>> = (0..AT_ONCE)
            .map(|k| {
                let noise = |i: usize| ((i + 1) as f64 * 0.618_033_988_749_895 + (k + 1) as f64 * 0.754_877_666_246_693).fract();
                (0..n).map(|i| if plan.free(i) { noise(i * (k + 3)) - 0.5 } else { 0.0 }).collect()
            })
            .collect();
        // smooth before it counts
        let loads: Vec<Vec<f64>> = block.par_iter().map(|v| mass.times(v)).collect();
        block = self.solve_all(&loads.iter().map(Vec::as_slice).collect::<Vec<_>>());
        let mut found = Krylov::default();
        found.take(block, mass);
        for step in 0..MOST_BLOCKS {
            let sides: Vec<&[f64]> = found.loaded[found.h.len()..].iter().map(Vec::as_slice).collect();
            if sides.is_empty() {
                break;
            }
            let block = self.solve_all(&sides);
            let first = found.h.len();
            for w in &block {
                found.h.push(found.loaded.iter().map(|m| dot(w, m)).collect());
            }
            let size = found.h.len();
            let outside = found.take(block, mass);
            if size < (count + BEYOND).min(self.solved_for()) || (size < 2 * count && step < 3) {
                continue;
            }
            let (values, vectors) = found.ritz(size)?;
            let near = |k: usize| {
                let at = size - 1 - k;
                let left: f64 = outside.iter().enumerate().map(|(j, s)| s * vectors[at][first + j].abs()).sum();
                left <= if k < count { LEFT } else { LEFT_BEYOND } * values[at].abs()
            };
            if (0..(count + BEYOND).min(size)).all(near) || size >= self.solved_for() {
                let shape = |k: usize| {
                    let mut out = vec![0.0; n];
                    for (q, by) in found.basis.iter().zip(&vectors[size - 1 - k]) {
                        less(&mut out, -by, q);
                    }
                    out
                };
                return Some(
                    (0..count).map(|k| Mode { omega_squared: 1.0 / values[size - 1 - k] - shift, shape: shape(k) }).collect(),
                );
            }
        }
        None
    }
}

/// Vectors that span what has been looked at, orthonormal in the mass; each also times the mass; and of the inverse stiffness among
/// them the products known.
#[derive(Default)]
struct Krylov {
    basis: Vec<Vec<f64>>,
    loaded: Vec<Vec<f64>>,
    h: Vec<Vec<f64>>,
}

impl Krylov {
    /// Takes a block in; how much of each vector lay outside of all before the block.
    fn take(&mut self, block: Vec<Vec<f64>>, mass: &Mass) -> Vec<f64> {
        let before = self.basis.len();
        let mut outside = Vec::with_capacity(block.len());
        let loaded: Vec<Vec<f64>> = block.par_iter().map(|v| mass.times(v)).collect();
        for (mut v, mut m) in block.into_iter().zip(loaded) {
            let whole = dot(&v, &m).max(0.0).sqrt();
            let mut within = 0.0;
            for _ in 0..2 {
                for (k, (q, l)) in self.basis.iter().zip(&self.loaded).enumerate() {
                    let d = dot(&v, l);
                    less(&mut v, d, q);
                    less(&mut m, d, l);
                    within += if k >= before { d * d } else { 0.0 };
                }
            }
            let size = dot(&v, &m).max(0.0).sqrt();
            outside.push((size * size + within).sqrt());
            if size > 1e-13 * whole {
                self.basis.push(v.iter().map(|x| x / size).collect());
                self.loaded.push(m.iter().map(|x| x / size).collect());
            }
        }
        outside
    }

    /// Eigenvalues of the inverse among the first vectors, rising, with their vectors.
    fn ritz(&self, size: usize) -> Option<(Vec<f64>, Vec<Vec<f64>>)> {
        let mut a = Square::zeros(size);
        for i in 0..size {
            for j in 0..=i {
                let v = self.h[i].get(j).copied().unwrap_or(0.0);
                (a[(i, j)], a[(j, i)]) = (v, v);
            }
        }
        symmetric(&a)
    }
}
