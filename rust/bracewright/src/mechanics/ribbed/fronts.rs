//! Cholesky by fronts: the cells are halved again and again, and going back up each unknown is eliminated as soon as all
//! cells that touch it have met.
//!
//! What it costs is dense algebra on fronts of some hundred unknowns, without a sparse matrix to sort. Halves are worked side by
//! side, and each front's sums are taken in one order, so the answer is the same to the bit on any number of threads.

use std::collections::BTreeMap;

use faer::dyn_stack::{MemBuffer, MemStack};
use faer::linalg::cholesky::llt::factor::{cholesky_in_place, cholesky_in_place_scratch};
use faer::linalg::matmul::triangular::{self, BlockStructure};
use faer::linalg::triangular_solve::{solve_lower_triangular_in_place, solve_upper_triangular_in_place};
use faer::reborrow::{Reborrow, ReborrowMut};
use faer::{Accum, Mat, MatMut, MatRef, Par};

use super::buffer::Buffer;

/// Cells below which halves are not worth a thread of their own.
const SIDE_BY_SIDE: usize = 8;

/// Elements that are put together before any unknown is eliminated.
const TOGETHER: usize = 2;

/// A part of the plate: unknowns that end in it, then those it shares with the rest.
#[derive(Debug, Clone)]
struct Front {
    unknowns: Vec<usize>,
    own: usize,
    cells: usize,
    from: From,
}

#[derive(Debug, Clone)]
enum From {
    /// A few elements; places of the unknowns of each in the front.
    Elements(Vec<(usize, Vec<usize>)>),
    /// Two fronts; places of their borders in this one.
    Halves([usize; 2], [Vec<usize>; 2]),
}

/// The order in which a plate is eliminated: it depends on what touches what, not on any dimension.
#[derive(Debug, Clone)]
pub struct Order {
    fronts: Vec<Front>,
    unknowns: usize,
}

/// A dense symmetric matrix over an element's unknowns, column by column; the lower triangle counts.
pub type Element = Buffer;

impl Order {
    /// For elements that lie at some places and touch some unknowns each, listed once and with the held ones left out.
    pub fn new(unknowns: usize, at: &[[f64; 2]], touches: &[Vec<usize>]) -> Self {
        let mut total = vec![0_u32; unknowns];
        touches.iter().flatten().for_each(|u| total[*u] += 1);
        let mut out = Self { fronts: Vec::new(), unknowns };
        let mut all: Vec<usize> = (0..at.len()).collect();
        if !all.is_empty() {
            out.split(&mut all, at, touches, &total);
        }
        out
    }

    /// Adds the front of some elements after those of its parts; returns it with how many elements touch each border unknown.
    fn split(&mut self, part: &mut [usize], at: &[[f64; 2]], touches: &[Vec<usize>], total: &[u32]) -> (usize, Vec<u32>) {
        if part.len() <= TOGETHER {
            let mut met: BTreeMap<usize, u32> = BTreeMap::new();
            part.iter().flat_map(|e| &touches[*e]).for_each(|u| *met.entry(*u).or_insert(0) += 1);
            let elements = part.to_vec();
            return self.front(met.into_iter().collect(), part.len(), total, |places| {
                From::Elements(elements.iter().map(|e| (*e, places(&touches[*e]))).collect())
            });
        }
        // halves across the longer way; ties by number, so that the order is one
        let reach = |d: usize| {
            let (low, high) = part.iter().fold((f64::MAX, f64::MIN), |r, e| (r.0.min(at[*e][d]), r.1.max(at[*e][d])));
            high - low
        };
        let d = usize::from(reach(1) > reach(0));
        part.sort_by(|a, b| at[*a][d].total_cmp(&at[*b][d]).then(at[*a][1 - d].total_cmp(&at[*b][1 - d])).then(a.cmp(b)));
        // never between elements at the same place along it
        let middle = part.len() / 2;
        let apart = |k: usize| at[part[k]][d] - at[part[k - 1]][d] > 1e-9;
        let cut = (0..part.len())
            .flat_map(|step| [middle.saturating_sub(step), middle + step])
            .find(|k| *k > 0 && *k < part.len() && apart(*k))
            .unwrap_or(middle.max(1));
        let cells = part.len();
        let (left, right) = part.split_at_mut(cut);
        let (a, met_a) = self.split(left, at, touches, total);
        let (b, met_b) = self.split(right, at, touches, total);
        let border = |k: usize| self.fronts[k].unknowns[self.fronts[k].own..].to_vec();
        let (border_a, border_b) = (border(a), border(b));
        let mut met: BTreeMap<usize, u32> = BTreeMap::new();
        for (u, n) in border_a.iter().zip(met_a).chain(border_b.iter().zip(met_b)) {
            *met.entry(*u).or_insert(0) += n;
        }
        self.front(met.into_iter().collect(), cells, total, |places| From::Halves([a, b], [places(&border_a), places(&border_b)]))
    }

    fn front(
        &mut self,
        met: Vec<(usize, u32)>,
        cells: usize,
        total: &[u32],
        from: impl FnOnce(&dyn Fn(&[usize]) -> Vec<usize>) -> From,
    ) -> (usize, Vec<u32>) {
        let (own, border): (Vec<_>, Vec<_>) = met.into_iter().partition(|(u, n)| *n == total[*u]);
        let unknowns: Vec<usize> = own.iter().chain(&border).map(|m| m.0).collect();
        let place: std::collections::HashMap<usize, usize> = unknowns.iter().enumerate().map(|(i, u)| (*u, i)).collect();
        let from = from(&|list| list.iter().map(|u| place[u]).collect());
        self.fronts.push(Front { unknowns, own: own.len(), cells, from });
        (self.fronts.len() - 1, border.into_iter().map(|m| m.1).collect())
    }

    /// Factors the sum of the elements; `None` where it is not positive definite.
    pub fn factor(&self, element: &(dyn Fn(usize) -> Element + Sync)) -> Option<Columns> {
        let mut columns: Vec<Buffer> = vec![Buffer::default(); self.fronts.len()];
        if !self.fronts.is_empty() {
            self.eliminate(self.fronts.len() - 1, 0, &mut columns, element)?;
        }
        Some(Columns(columns))
    }

    /// Eliminates a front and all below it, whose columns stand in `columns` from the number `first` on; returns what is left
    /// on its border.
    fn eliminate(
        &self,
        k: usize,
        first: usize,
        columns: &mut [Buffer],
        element: &(dyn Fn(usize) -> Element + Sync),
    ) -> Option<Buffer> {
        let front = &self.fronts[k];
        let n = front.unknowns.len();
        let mut a = Buffer::zeros(n * n);
        match &front.from {
            From::Elements(all) => {
                for (e, places) in all {
                    add(&mut a, n, places, &element(*e));
                }
            }
            From::Halves([l, r], places) => {
                let (left, right) = columns.split_at_mut(l + 1 - first);
                let right = &mut right[..r - l];
                let parts = if front.cells >= SIDE_BY_SIDE {
                    rayon::join(|| self.eliminate(*l, first, left, element), || self.eliminate(*r, l + 1, right, element))
                } else {
                    (self.eliminate(*l, first, left, element), self.eliminate(*r, l + 1, right, element))
                };
                for (places, part) in places.iter().zip([parts.0?, parts.1?]) {
                    add(&mut a, n, places, &part);
                }
            }
        }
        let own = front.own;
        let left = {
            let (mut a11, _, mut a21, mut a22) = MatMut::from_column_major_slice_mut(&mut a, n, n).split_at_mut(own, own);
            if own > 0 {
                let need = cholesky_in_place_scratch::<f64>(own, Par::Seq, Default::default());
                let mut memory = MemBuffer::try_new(need).ok()?;
                let stack = MemStack::new(&mut memory);
                cholesky_in_place(a11.rb_mut(), Default::default(), Par::Seq, stack, Default::default()).ok()?;
                solve_lower_triangular_in_place(a11.rb(), a21.rb_mut().transpose_mut(), Par::Seq);
                triangular::matmul(
                    a22.rb_mut(),
                    BlockStructure::TriangularLower,
                    Accum::Add,
                    a21.rb(),
                    BlockStructure::Rectangular,
                    a21.rb().transpose(),
                    BlockStructure::Rectangular,
                    -1.0,
                    Par::Seq,
                );
            }
            let border = n - own;
            Buffer::columns(border * border, a[own * n..].chunks_exact(n).map(|c| &c[own..]))
        };
        columns[k - first] = Buffer::columns(own * n, std::iter::once(&a[..own * n]));
        Some(left)
    }

    /// Solves for one right side.
    pub fn solve(&self, columns: &Columns, load: &[f64]) -> Vec<f64> {
        let mut x = load.to_vec();
        x.resize(self.unknowns, 0.0);
        let gather = |x: &[f64], u: &[usize]| Mat::from_fn(u.len(), 1, |i, _| x[u[i]]);
        for (front, l) in self.fronts.iter().zip(&columns.0) {
            let l = MatRef::from_column_major_slice(l, front.unknowns.len(), front.own);
            let (own, border) = front.unknowns.split_at(front.own);
            let mut y = gather(&x, own);
            solve_lower_triangular_in_place(l.get(..front.own, ..), y.as_mut(), Par::Seq);
            let shed = l.get(front.own.., ..) * &y;
            own.iter().enumerate().for_each(|(i, u)| x[*u] = y[(i, 0)]);
            border.iter().enumerate().for_each(|(i, u)| x[*u] -= shed[(i, 0)]);
        }
        for (front, l) in self.fronts.iter().zip(&columns.0).rev() {
            let l = MatRef::from_column_major_slice(l, front.unknowns.len(), front.own);
            let (own, border) = front.unknowns.split_at(front.own);
            let mut y = gather(&x, own) - l.get(front.own.., ..).transpose() * gather(&x, border);
            solve_upper_triangular_in_place(l.get(..front.own, ..).transpose(), y.as_mut(), Par::Seq);
            own.iter().enumerate().for_each(|(i, u)| x[*u] = y[(i, 0)]);
        }
        x
    }
}

/// Of each front the columns of its own unknowns, factored: lower triangle, then the border's rows.
#[derive(Debug, Clone)]
pub struct Columns(Vec<Buffer>);

/// Adds a matrix to a greater one of `n` columns, its unknowns at these places; lower triangles.
fn add(a: &mut [f64], n: usize, places: &[usize], b: &[f64]) {
    let m = places.len();
    for (j, (q, column)) in places.iter().zip(b.chunks_exact(m)).enumerate() {
        for (p, v) in places[j..].iter().zip(&column[j..]) {
            a[p.min(q) * n + p.max(q)] += v;
        }
    }
}
