//! Cholesky by fronts: the elements are halved again and again, and going back up each unknown is eliminated as soon as all
//! elements that touch it have met.
//!
//! What it costs is dense algebra on fronts of some hundred unknowns, without a sparse matrix to sort. Unknowns come in groups
//! (a node, a station) that are touched together, and stand in the order in which they go: so each list is sorted and its
//! parts are moved in runs. Halves are worked side by side, and each front's sums are taken in one order, so the answer is the
//! same to the bit on any number of threads.

use faer::dyn_stack::{MemBuffer, MemStack};
use faer::linalg::cholesky::llt::factor::{cholesky_in_place, cholesky_in_place_scratch};
use faer::linalg::matmul::matmul;
use faer::linalg::matmul::triangular::{self, BlockStructure};
use faer::linalg::triangular_solve::{solve_lower_triangular_in_place, solve_upper_triangular_in_place};
use faer::reborrow::{Reborrow, ReborrowMut};
use faer::{Accum, MatMut, MatRef, Par};

use super::buffer::Buffer;

/// Elements below which halves are not worth a thread of their own.
const SIDE_BY_SIDE: usize = 8;

/// Elements that are put together before any unknown is eliminated.
const TOGETHER: usize = 2;

/// Border from which on what a front sheds is worked out in two parts, side by side.
const WIDE: usize = 256;

/// A part of the plate: unknowns that end in it, then those it shares with the rest.
#[derive(Debug, Clone)]
struct Front {
    /// Place of its first own unknown.
    first: usize,
    own: usize,
    /// Places of those on its border, rising.
    border: Vec<usize>,
    elements: usize,
    from: From,
}

#[derive(Debug, Clone)]
enum From {
    /// A few elements, and where their unknowns lie in the front.
    Elements(Vec<(usize, Vec<Run>)>),
    /// Two fronts, and where their borders lie in this one.
    Halves([usize; 2], [Vec<Run>; 2]),
}

/// Numbers one after the other in a list and in another it is taken into.
#[derive(Debug, Clone, Copy)]
struct Run {
    from: usize,
    to: usize,
    length: usize,
}

/// The order in which a plate is eliminated: it depends on what touches what, not on any dimension.
#[derive(Debug, Clone)]
pub struct Order {
    fronts: Vec<Front>,
    /// Place of the first unknown of each group, and how many it has.
    group_at: Vec<usize>,
    sizes: Vec<usize>,
    unknowns: usize,
}

/// A dense symmetric matrix over an element's unknowns, in the order they go, column by column; the lower triangle counts.
pub type Element = Buffer;

/// While the order is built: groups of each front.
struct Drafts<'a> {
    at: &'a [[f64; 2]],
    touches: &'a [Vec<usize>],
    total: Vec<u32>,
    fronts: Vec<Draft>,
}

struct Draft {
    own: Vec<usize>,
    border: Vec<(usize, u32)>,
    elements: usize,
    from: Result<Vec<usize>, [usize; 2]>,
}

impl Drafts<'_> {
    /// Adds the front of some elements after those of its parts, and returns its number.
    fn split(&mut self, part: &mut [usize]) -> usize {
        if part.len() <= TOGETHER {
            let met = part.iter().flat_map(|e| self.touches[*e].iter().map(|g| (*g, 1))).collect();
            return self.front(met, part.len(), Ok(part.to_vec()));
        }
        let at = self.at;
        // halves across the longer way; ties by number, so that the order is one
        let reach = |d: usize| {
            let (low, high) = part.iter().fold((f64::MAX, f64::MIN), |r, e| (r.0.min(at[*e][d]), r.1.max(at[*e][d])));
            high - low
        };
        let d = usize::from(reach(1) > reach(0));
        part.sort_unstable_by(|a, b| {
            at[*a][d].total_cmp(&at[*b][d]).then(at[*a][1 - d].total_cmp(&at[*b][1 - d])).then(a.cmp(b))
        });
        // never between elements at the same place along it
        let middle = part.len() / 2;
        let apart = |k: usize| at[part[k]][d] - at[part[k - 1]][d] > 1e-9;
        let cut = (0..part.len())
            .flat_map(|step| [middle.saturating_sub(step), middle + step])
            .find(|k| *k > 0 && *k < part.len() && apart(*k))
            .unwrap_or(middle.max(1));
        let elements = part.len();
        let (left, right) = part.split_at_mut(cut);
        let halves = [self.split(left), self.split(right)];
        let met = halves.iter().flat_map(|k| self.fronts[*k].border.iter().copied()).collect();
        self.front(met, elements, Err(halves))
    }

    fn front(&mut self, mut met: Vec<(usize, u32)>, elements: usize, from: Result<Vec<usize>, [usize; 2]>) -> usize {
        met.sort_unstable();
        met.dedup_by(|next, kept| {
            let same = next.0 == kept.0;
            if same {
                kept.1 += next.1;
            }
            same
        });
        let (own, border): (Vec<_>, Vec<_>) = met.into_iter().partition(|(g, n)| *n == self.total[*g]);
        self.fronts.push(Draft { own: own.into_iter().map(|m| m.0).collect(), border, elements, from });
        self.fronts.len() - 1
    }
}

impl Order {
    /// For elements that lie at some places and touch some groups each, listed once; `sizes` are the groups' unknowns, the held
    /// ones left out.
    pub fn new(sizes: &[usize], at: &[[f64; 2]], touches: &[Vec<usize>]) -> Self {
        let mut total = vec![0; sizes.len()];
        touches.iter().flatten().for_each(|g| total[*g] += 1);
        let mut drafts = Drafts { at, touches, total, fronts: Vec::new() };
        let mut all: Vec<usize> = (0..at.len()).collect();
        if !all.is_empty() {
            drafts.split(&mut all);
        }
        let mut group_at = vec![usize::MAX; sizes.len()];
        let mut unknowns = 0;
        for g in drafts.fronts.iter().flat_map(|f| &f.own) {
            group_at[*g] = unknowns;
            unknowns += sizes[*g];
        }
        let places = |groups: &[usize]| places(groups, &group_at, sizes);
        let mut fronts: Vec<Front> = Vec::with_capacity(drafts.fronts.len());
        let mut first = 0;
        for d in &drafts.fronts {
            let own = d.own.iter().map(|g| sizes[*g]).sum();
            let border = places(&d.border.iter().map(|b| b.0).collect::<Vec<usize>>());
            let into = |list: &[usize]| runs(list, first, own, &border);
            let from = match &d.from {
                Ok(elements) => From::Elements(elements.iter().map(|e| (*e, into(&places(&touches[*e])))).collect()),
                Err(halves) => From::Halves(*halves, halves.map(|k| into(&fronts[k].border))),
            };
            fronts.push(Front { first, own, border, elements: d.elements, from });
            first += own;
        }
        Self { fronts, group_at, sizes: sizes.to_vec(), unknowns }
    }

    /// How many unknowns are eliminated.
    pub fn unknowns(&self) -> usize {
        self.unknowns
    }

    /// Place of a group's first unknown.
    pub fn place_of(&self, group: usize) -> usize {
        self.group_at[group]
    }

    /// Places of the unknowns of some groups, in the order they go.
    pub fn places(&self, groups: &[usize]) -> Vec<usize> {
        places(groups, &self.group_at, &self.sizes)
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
        let (own, border) = (front.own, front.border.len());
        let parts = match &front.from {
            From::Elements(_) => [None, None],
            From::Halves([l, r], _) => {
                let (left, right) = columns.split_at_mut(l + 1 - first);
                let right = &mut right[..r - l];
                let parts = if front.elements >= SIDE_BY_SIDE {
                    rayon::join(|| self.eliminate(*l, first, left, element), || self.eliminate(*r, l + 1, right, element))
                } else {
                    (self.eliminate(*l, first, left, element), self.eliminate(*r, l + 1, right, element))
                };
                [Some(parts.0?), Some(parts.1?)]
            }
        };
        let n = own + border;
        let mut a = Lower { columns: Buffer::lower(n, own), rest: Buffer::lower(border, border), n, own };
        match &front.from {
            From::Elements(all) => all.iter().for_each(|(e, runs)| a.add(runs, &element(*e))),
            From::Halves(_, runs) => {
                for (runs, part) in runs.iter().zip(parts.iter().flatten()) {
                    a.add(runs, part);
                }
            }
        }
        drop(parts);
        if own > 0 {
            let mut whole = MatMut::from_column_major_slice_mut(&mut a.columns, n, own);
            let (mut top, mut below) = whole.rb_mut().split_at_row_mut(own);
            let need = cholesky_in_place_scratch::<f64>(own, Par::Seq, Default::default());
            let mut memory = MemBuffer::try_new(need).ok()?;
            let stack = MemStack::new(&mut memory);
            cholesky_in_place(top.rb_mut(), Default::default(), Par::Seq, stack, Default::default()).ok()?;
            solve_lower_triangular_in_place(top.rb(), below.rb_mut().transpose_mut(), Par::Seq);
            shed(MatMut::from_column_major_slice_mut(&mut a.rest, border, border), below.rb());
        }
        columns[k - first] = a.columns;
        Some(a.rest)
    }

    /// Solves in place for right sides one after the other, each in the order the unknowns go; several at once share what is read,
    /// and halves of them are worked side by side.
    pub fn solve(&self, columns: &Columns, sides: &mut [f64]) {
        let n = self.unknowns;
        if n == 0 {
            return;
        }
        let count = sides.len() / n;
        if count > 2 {
            let (one, other) = sides.split_at_mut(n * count.div_ceil(2));
            rayon::join(|| self.solve(columns, one), || self.solve(columns, other));
            return;
        }
        let mut own: Vec<f64> = Vec::new();
        let mut border: Vec<f64> = Vec::new();
        let fronts = || self.fronts.iter().zip(&columns.0).filter(|f| f.0.own > 0);
        for (front, l) in fronts() {
            let (top, below) = front.columns(l);
            front.gather(sides, n, &mut own, &mut border);
            let mut y = MatMut::from_column_major_slice_mut(&mut own, front.own, count);
            solve_lower_triangular_in_place(top, y.rb_mut(), Par::Seq);
            let b = MatMut::from_column_major_slice_mut(&mut border, front.border.len(), count);
            matmul(b, Accum::Replace, below, y.rb(), 1.0, Par::Seq);
            front.put_own(sides, n, &own);
            for (k, x) in sides.chunks_exact_mut(n).enumerate() {
                let of = &border[k * front.border.len()..][..front.border.len()];
                front.border.iter().zip(of).for_each(|(p, b)| x[*p] -= b);
            }
        }
        for (front, l) in fronts().rev() {
            let (top, below) = front.columns(l);
            front.gather(sides, n, &mut own, &mut border);
            let mut y = MatMut::from_column_major_slice_mut(&mut own, front.own, count);
            let b = MatRef::from_column_major_slice(&border, front.border.len(), count);
            matmul(y.rb_mut(), Accum::Add, below.transpose(), b, -1.0, Par::Seq);
            solve_upper_triangular_in_place(top.transpose(), y.rb_mut(), Par::Seq);
            front.put_own(sides, n, &own);
        }
    }
}

impl Front {
    /// Its columns as the triangle of its own unknowns and the rows of its border.
    fn columns<'a>(&self, l: &'a [f64]) -> (MatRef<'a, f64>, MatRef<'a, f64>) {
        MatRef::from_column_major_slice(l, self.own + self.border.len(), self.own).split_at_row(self.own)
    }

    /// Takes its own values and those of its border out of right sides of n each.
    fn gather(&self, sides: &[f64], n: usize, own: &mut Vec<f64>, border: &mut Vec<f64>) {
        own.clear();
        border.clear();
        for x in sides.chunks_exact(n) {
            own.extend_from_slice(&x[self.first..self.first + self.own]);
            border.extend(self.border.iter().map(|p| x[*p]));
        }
    }

    fn put_own(&self, sides: &mut [f64], n: usize, own: &[f64]) {
        for (x, y) in sides.chunks_exact_mut(n).zip(own.chunks_exact(self.own)) {
            x[self.first..self.first + self.own].copy_from_slice(y);
        }
    }
}

/// Places of the unknowns of some groups, rising.
fn places(groups: &[usize], at: &[usize], sizes: &[usize]) -> Vec<usize> {
    let mut sorted: Vec<(usize, usize)> = groups.iter().map(|g| (at[*g], sizes[*g])).collect();
    sorted.sort_unstable();
    sorted.into_iter().flat_map(|(at, size)| at..at + size).collect()
}

/// Subtracts the square of the rows below from the lower triangle; a wide one in two parts of much the same work.
fn shed(rest: MatMut<f64>, below: MatRef<f64>) {
    let square = |rest: MatMut<f64>, below: MatRef<f64>| {
        let lower = BlockStructure::TriangularLower;
        let whole = BlockStructure::Rectangular;
        triangular::matmul(rest, lower, Accum::Add, below, whole, below.transpose(), whole, -1.0, Par::Seq);
    };
    let n = rest.nrows();
    if n < WIDE {
        return square(rest, below);
    }
    let (low, high) = below.split_at_row(n / 2);
    let (first, _, across, last) = rest.split_at_mut(n / 2, n / 2);
    rayon::join(
        || matmul(across, Accum::Add, high, low.transpose(), -1.0, Par::Seq),
        || {
            square(first, low);
            square(last, high);
        },
    );
}

/// Of each front the columns of its own unknowns, factored: lower triangle, then the border's rows.
#[derive(Debug, Clone)]
pub struct Columns(Vec<Buffer>);

/// Lower triangle of a front: columns of its own unknowns, and of its border.
struct Lower {
    columns: Buffer,
    rest: Buffer,
    n: usize,
    own: usize,
}

impl Lower {
    /// Adds the lower triangle of a matrix whose unknowns lie in these runs.
    fn add(&mut self, runs: &[Run], b: &[f64]) {
        let m = runs.last().map_or(0, |r| r.from + r.length);
        for (k, across) in runs.iter().enumerate() {
            for step in 0..across.length {
                let (j, q) = (across.from + step, across.to + step);
                let column = &b[j * m..(j + 1) * m];
                let (into, start) = if q < self.own {
                    (&mut self.columns[q * self.n..(q + 1) * self.n], 0)
                } else {
                    let border = self.n - self.own;
                    (&mut self.rest[(q - self.own) * border..(q - self.own + 1) * border], self.own)
                };
                let below = [Run { from: j, to: q, length: across.length - step }];
                for r in below.iter().chain(&runs[k + 1..]) {
                    let to = &mut into[r.to - start..r.to - start + r.length];
                    to.iter_mut().zip(&column[r.from..r.from + r.length]).for_each(|(a, b)| *a += b);
                }
            }
        }
    }
}

/// Runs of a rising list of places in a front's own ones from `first` on and then its border.
fn runs(list: &[usize], first: usize, own: usize, border: &[usize]) -> Vec<Run> {
    let mut out: Vec<Run> = Vec::new();
    let mut k = 0;
    for (from, place) in list.iter().enumerate() {
        let to = if *place < first + own {
            place - first
        } else {
            while border[k] < *place {
                k += 1;
            }
            own + k
        };
        match out.last_mut() {
            Some(r) if r.to + r.length == to => r.length += 1,
            _ => out.push(Run { from, to, length: 1 }),
        }
    }
    out
}
