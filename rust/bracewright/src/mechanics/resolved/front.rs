//! Elimination along the beam, element by element, and solving with it.

use super::{Face, Hold, Resolved, Solution};
use crate::mechanics::simd::{axpy_minus, dispatch, madd};

/// A factor of the stiffness (plus a shift of the mass), some unknowns held at zero.
#[derive(Debug, Clone)]
pub struct Factor {
    rows: Vec<f64>,
    held: Vec<bool>,
}

/// One front: its first unknown, its size and how many unknowns it eliminates.
#[derive(Debug, Clone, Copy)]
struct Front {
    start: usize,
    size: usize,
    pivots: usize,
}

impl Front {
    /// Length of a row: its size, padded.
    fn stride(&self) -> usize {
        self.size.next_multiple_of(GROUP)
    }
}

impl Resolved {
    fn front(&self, e: usize) -> Front {
        let (start, size) = (self.lines[e].start, self.block(e));
        let last = e + 2 == self.mesh.len();
        Front { start, size, pivots: if last { size } else { self.lines[e + 1].start - start } }
    }

    fn fronts(&self) -> Vec<Front> {
        (0..self.mesh.len() - 1).map(|e| self.front(e)).collect()
    }

    /// Factors stiffness + shift * mass with the sections of `holds` fixed (pads are not part of it) and, for what rigid
    /// motion is left, as many pins. `None` when the matrix is not positive: a part of no stiffness.
    pub fn factor(&self, holds: &[Hold], shift: f64) -> Option<Factor> {
        let mut held = vec![false; self.unknowns()];
        let (mut sections, mut clamped) = (0, false);
        for h in holds {
            match *h {
                Hold::Pad { .. } => {}
                Hold::Section { x } | Hold::Clamp { x } => {
                    let line = &self.lines[self.line_at(x)];
                    let clamp = matches!(h, Hold::Clamp { .. });
                    let from = if clamp { 0 } else { line.along };
                    held[line.start + from..line.start + line.count].fill(true);
                    clamped |= clamp;
                    sections += 1;
                }
            }
        }
        if shift == 0.0 && !clamped {
            let last = (self.mesh.len() - 1) * self.degrees.order;
            held[self.node(last / 2).0] = true; // sliding along x
            // pins far apart, near the quarter points, where the wood is thick
            let mut pins = [last / 4, last - last / 4].into_iter();
            while sections < 2 {
                let Some(node) = pins.next() else { break };
                let (start, along) = self.node(node);
                held[start + along] = true;
                sections += 1;
            }
        }
        let fronts = self.fronts();
        // each front is eliminated where its rows stay
        let mut rows = Vec::with_capacity(fronts.iter().map(|f| f.size * f.stride()).sum());
        let mut carry: Vec<f64> = Vec::new();
        for (e, f) in fronts.iter().enumerate() {
            let (m, stride, last) = (f.size, f.stride(), e + 1 == fronts.len());
            let start = rows.len();
            for (i, row) in self.stiffness[e].chunks_exact(m).enumerate() {
                rows.extend_from_slice(row);
                rows.resize(start + (i + 1) * stride, 0.0);
            }
            let front = &mut rows[start..];
            if shift != 0.0 {
                for (f, m) in front.chunks_exact_mut(stride).zip(self.mass[e].chunks_exact(m)) {
                    f.iter_mut().zip(m).for_each(|(f, m)| *f += shift * m);
                }
            }
            if e > 0 {
                let n = self.lines[e].count;
                for i in 0..n {
                    for j in i..n {
                        front[i * stride + j] += carry[i * n + j];
                    }
                }
            }
            for i in 0..m {
                if held[f.start + i] {
                    for j in 0..m {
                        front[i * stride + j] = 0.0;
                        front[j * stride + i] = 0.0;
                    }
                    // the node shared with the next element meets its unit pivot there
                    front[i * stride + i] = if i < f.pivots || last { 1.0 } else { 0.0 };
                }
            }
            if !eliminate(front, stride, m, f.pivots) {
                return None;
            }
            let n = m - f.pivots;
            carry.clear();
            carry.resize(n * n, 0.0);
            for i in 0..n {
                let row = &front[(f.pivots + i) * stride + f.pivots..];
                carry[i * n + i..(i + 1) * n].copy_from_slice(&row[i..n]);
            }
            rows.truncate(start + f.pivots * stride);
        }
        Some(Factor { rows, held })
    }

    /// Solves with a factor; held unknowns come out zero.
    pub fn back_solve(&self, factor: &Factor, rhs: &[f64]) -> Vec<f64> {
        let mut x = rhs.to_vec();
        x.iter_mut().zip(&factor.held).for_each(|(x, h)| {
            if *h {
                *x = 0.0;
            }
        });
        back_solve(&factor.rows, &self.fronts(), &mut x);
        x
    }

    /// Solves a static problem: loads in `rhs` whose total is `force` with moment `moment` about x = 0 (both downward
    /// positive), held by `holds`. `None` when nothing holds the beam or it has no stiffness somewhere.
    pub fn solve(&self, factor: &Factor, rhs: &[f64], force: f64, moment: f64, holds: &[Hold]) -> Option<Solution> {
        let fixed: Vec<f64> = holds
            .iter()
            .filter_map(|h| match *h {
                Hold::Pad { .. } => None,
                Hold::Section { x } | Hold::Clamp { x } => Some(x),
            })
            .collect();
        let clamped = holds.iter().any(|h| matches!(h, Hold::Clamp { .. }));
        let pads: Vec<(Vec<f64>, f64, f64)> = holds
            .iter()
            .filter_map(|h| match *h {
                Hold::Pad { x, width, compliance } => {
                    Some((self.mean_deflection(x - 0.5 * width, x + 0.5 * width, Face::Glue), x, compliance))
                }
                _ => None,
            })
            .collect();
        // rigid motions still free: a + b x, or a turn about the one held section
        let rigid: Vec<[f64; 2]> = match (clamped, fixed.len()) {
            (true, _) | (_, 2..) => vec![],
            (false, 1) => vec![[-fixed[0], 1.0]],
            (false, 0) => vec![[1.0, 0.0], [0.0, 1.0]],
        };
        let mut values = self.back_solve(factor, rhs);
        let n = pads.len() + rigid.len();
        if n == 0 {
            return Some(Solution { values, rigid: (0.0, 0.0), pads: vec![] });
        }
        let unit: Vec<Vec<f64>> = pads.iter().map(|p| self.back_solve(factor, &p.0)).collect();
        let dot = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(x, y)| x * y).sum::<f64>();
        let mut a = crate::mechanics::dense::Square::zeros(n);
        let mut b = vec![0.0; n];
        let scale = pads.iter().zip(&unit).map(|(p, u)| dot(&p.0, u)).fold(f64::MIN_POSITIVE, |m, v| m.max(v.abs()));
        for (i, (g, x, compliance)) in pads.iter().enumerate() {
            // deflection of the pad: loads, less every pad's upward force, plus rigid motion = compliance * force
            for (k, u) in unit.iter().enumerate() {
                a[(i, k)] = -dot(g, u) / scale;
            }
            a[(i, i)] -= compliance / scale;
            for (r, mode) in rigid.iter().enumerate() {
                a[(i, pads.len() + r)] = mode[0] + mode[1] * x;
                a[(pads.len() + r, i)] = mode[0] + mode[1] * x;
            }
            b[i] = -dot(g, &values) / scale;
        }
        for (r, mode) in rigid.iter().enumerate() {
            b[pads.len() + r] = mode[0] * force + mode[1] * moment;
        }
        let s = crate::mechanics::dense::solve(&a, &b)?;
        if pads.len() < rigid.len() {
            return None;
        }
        for (k, u) in unit.iter().enumerate() {
            values.iter_mut().zip(u).for_each(|(v, u)| *v -= s[k] * u);
        }
        let mut motion = (0.0, 0.0);
        for (r, mode) in rigid.iter().enumerate() {
            motion.0 += mode[0] * s[pads.len() + r] * scale;
            motion.1 += mode[1] * s[pads.len() + r] * scale;
        }
        Some(Solution { values, rigid: motion, pads: s[..pads.len()].to_vec() })
    }
}

/// Eliminates the first `pivots` unknowns of a symmetric front (upper triangle) of `m` unknowns in rows of `stride`. False
/// on a pivot that is not positive.
fn eliminate(front: &mut [f64], stride: usize, m: usize, pivots: usize) -> bool {
    dispatch!(eliminate_kernel(front, stride, m, pivots))
}

/// Pivots taken at once: a large front then passes through the cache a quarter as often. Every entry still sees them one
/// after the other.
const AT_ONCE: usize = 4;
/// Numbers taken together; rows are padded to it. What lies left of the diagonal in a group is changed too, and never read.
const GROUP: usize = 8;

#[inline(always)]
fn eliminate_kernel<const FMA: bool>(front: &mut [f64], stride: usize, m: usize, pivots: usize) -> bool {
    let mut k = 0;
    while k < pivots {
        let count = AT_ONCE.min(pivots - k);
        let (above, below) = front.split_at_mut((k + count) * stride);
        let block = &mut above[k * stride..];
        let mut inverse = [0.0; AT_ONCE];
        for p in 0..count {
            let (done, rest) = block.split_at_mut((p + 1) * stride);
            let row = &done[p * stride..];
            let pivot = row[k + p];
            if pivot <= 0.0 || pivot.is_nan() {
                return false;
            }
            inverse[p] = 1.0 / pivot;
            for q in p + 1..count {
                let l = row[k + q] * inverse[p];
                let (from, at) = ((k + q) / GROUP * GROUP, (q - p - 1) * stride);
                axpy_minus::<FMA>(l, &row[from..stride], &mut rest[at + from..at + stride]);
            }
        }
        if count == AT_ONCE {
            let rows: [&[f64]; AT_ONCE] = std::array::from_fn(|p| &block[p * stride..(p + 1) * stride]);
            for (i, out) in below.chunks_exact_mut(stride).enumerate().take(m - k - count) {
                let i = k + count + i;
                let l: [f64; AT_ONCE] = std::array::from_fn(|p| rows[p][i] * inverse[p]);
                let from = i / GROUP * GROUP;
                let [a, b, c, d] = rows.map(|r| r[from..].as_chunks::<GROUP>().0);
                for ((((o, a), b), c), d) in out[from..].as_chunks_mut::<GROUP>().0.iter_mut().zip(a).zip(b).zip(c).zip(d) {
                    // through a copy: the compiler then sees that nothing overlaps
                    let mut v = *o;
                    for (row, l) in [(a, l[0]), (b, l[1]), (c, l[2]), (d, l[3])] {
                        for g in 0..GROUP {
                            v[g] = madd::<FMA>(-l, row[g], v[g]);
                        }
                    }
                    *o = v;
                }
            }
        } else {
            for (i, out) in below.chunks_exact_mut(stride).enumerate().take(m - k - count) {
                let i = k + count + i;
                let from = i / GROUP * GROUP;
                for p in 0..count {
                    let row = &block[p * stride..(p + 1) * stride];
                    axpy_minus::<FMA>(row[i] * inverse[p], &row[from..], &mut out[from..]);
                }
            }
        }
        k += count;
    }
    true
}

fn back_solve(rows: &[f64], fronts: &[Front], x: &mut [f64]) {
    dispatch!(back_solve_kernel(rows, fronts, x))
}

#[inline(always)]
fn back_solve_kernel<const FMA: bool>(rows: &[f64], fronts: &[Front], x: &mut [f64]) {
    let mut at = 0;
    for f in fronts {
        let (m, stride) = (f.size, f.stride());
        let x = &mut x[f.start..f.start + m];
        for k in 0..f.pivots {
            let row = &rows[at + k * stride..at + k * stride + m];
            let v = x[k] / row[k];
            axpy_minus::<FMA>(v, &row[k + 1..m], &mut x[k + 1..m]);
        }
        at += f.pivots * stride;
    }
    for f in fronts.iter().rev() {
        let (m, stride) = (f.size, f.stride());
        at -= f.pivots * stride;
        let x = &mut x[f.start..f.start + m];
        for k in (0..f.pivots).rev() {
            let row = &rows[at + k * stride..at + k * stride + m];
            // in lanes, so that no sum waits for the one before it
            let mut lanes = [0.0; GROUP];
            let (r, v) = (row[k + 1..].chunks_exact(GROUP), x[k + 1..].chunks_exact(GROUP));
            let rest: f64 = r.remainder().iter().zip(v.remainder()).map(|(r, v)| r * v).sum();
            for (r, v) in r.zip(v) {
                for g in 0..GROUP {
                    lanes[g] = madd::<FMA>(r[g], v[g], lanes[g]);
                }
            }
            x[k] = (x[k] - lanes.iter().sum::<f64>() - rest) / row[k];
        }
    }
}
