//! Free vibration: the consistent mass, and the lowest modes by Lanczos in blocks on the factored stiffness.

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
        let loads: Vec<Vec<f64>> = block.iter().map(|v| mass.times(v)).collect();
        block = self.solve_all(&loads.iter().map(Vec::as_slice).collect::<Vec<_>>());
        let mut basis: Vec<Vec<f64>> = Vec::new();
        let mut loaded: Vec<Vec<f64>> = Vec::new();
        let mut h: Vec<Vec<f64>> = Vec::new();
        for step in 0..MOST_BLOCKS {
            // the block orthonormal in the mass to the basis and in itself
            let mut beyond = Vec::new();
            for mut v in block {
                let mut parts = vec![0.0; basis.len()];
                for _ in 0..2 {
                    for (k, (q, m)) in basis.iter().zip(&loaded).enumerate() {
                        let d = dot(&v, m);
                        parts[k] += d;
                        less(&mut v, d, q);
                    }
                }
                let m = mass.times(&v);
                let size = dot(&v, &m).max(0.0).sqrt();
                let kept = size > 1e-13 * parts.iter().fold(1e-300, |s, p| s + p.abs());
                beyond.push((parts, size, kept));
                if kept {
                    basis.push(v.iter().map(|x| x / size).collect());
                    loaded.push(m.iter().map(|x| x / size).collect());
                }
            }
            let sides: Vec<&[f64]> = loaded[h.len()..].iter().map(Vec::as_slice).collect();
            if sides.is_empty() {
                break;
            }
            block = self.solve_all(&sides);
            for w in &block {
                h.push(loaded.iter().map(|m| dot(w, m)).collect());
            }
            let size = h.len();
            if size < count || (size < 2 * count && step < 3) {
                continue;
            }
            let mut a = Square::zeros(size);
            for i in 0..size {
                for j in 0..=i {
                    let v = h[i].get(j).copied().unwrap_or(0.0);
                    (a[(i, j)], a[(j, i)]) = (v, v);
                }
            }
            let (values, vectors) = symmetric(&a)?;
            // what the last block's images hold outside of the basis
            let outside: Vec<Vec<f64>> = block
                .iter()
                .map(|w| {
                    let mut v = w.clone();
                    basis.iter().zip(&loaded).for_each(|(q, m)| {
                        let d = dot(&v, m);
                        less(&mut v, d, q);
                    });
                    v
                })
                .collect();
            let sizes: Vec<f64> = outside.iter().map(|v| dot(v, &mass.times(v)).max(0.0).sqrt()).collect();
            let last = size - block.len();
            let found = |k: usize| {
                let at = size - 1 - k;
                let left: f64 = sizes.iter().enumerate().map(|(j, s)| s * vectors[at][last + j].abs()).sum();
                left <= LEFT * values[at].abs()
            };
            if (0..count).all(found) || size >= self.solved_for() {
                let shape = |k: usize| {
                    let mut out = vec![0.0; n];
                    for (q, by) in basis.iter().zip(&vectors[size - 1 - k]) {
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
