//! Stiffness and mass of one element.

use super::Law;
use super::through::{Basis, Through, height_rule};
use crate::mechanics::quadrature::gauss;
use crate::mechanics::simd::{dispatch, madd};
use crate::mechanics::solid::Solid;

/// Gauss-Lobatto points on [-1, 1] for elements of order 1 to 6.
pub(super) fn lobatto(order: usize) -> Vec<f64> {
    match order {
        0 | 1 => vec![-1.0, 1.0],
        2 => vec![-1.0, 0.0, 1.0],
        3 => vec![-1.0, -(0.2_f64.sqrt()), 0.2_f64.sqrt(), 1.0],
        4 => vec![-1.0, -((3.0 / 7.0_f64).sqrt()), 0.0, (3.0 / 7.0_f64).sqrt(), 1.0],
        5 => {
            let (a, b) = ((1.0 / 3.0 + 2.0 * 7.0_f64.sqrt() / 21.0).sqrt(), (1.0 / 3.0 - 2.0 * 7.0_f64.sqrt() / 21.0).sqrt());
            vec![-1.0, -a, -b, b, a, 1.0]
        }
        _ => {
            let r = (5.0 / 3.0_f64).sqrt();
            let (a, b) = (((5.0 + 2.0 * r) / 11.0).sqrt(), ((5.0 - 2.0 * r) / 11.0).sqrt());
            vec![-1.0, -a, -b, 0.0, b, a, 1.0]
        }
    }
}

/// Lagrange shape functions and their slopes at s.
pub(super) fn lagrange(nodes: &[f64], s: f64) -> (Vec<f64>, Vec<f64>) {
    let n = nodes.len();
    let (mut v, mut d) = (vec![0.0; n], vec![0.0; n]);
    for i in 0..n {
        let mut denominator = 1.0;
        let (mut value, mut slope) = (1.0, 0.0);
        for k in 0..n {
            if k != i {
                denominator *= nodes[i] - nodes[k];
                slope = slope * (s - nodes[k]) + value;
                value *= s - nodes[k];
            }
        }
        v[i] = value / denominator;
        d[i] = slope / denominator;
    }
    (v, d)
}

/// An element's ends and what its integrals need.
#[derive(Debug, Clone, Copy)]
pub(super) struct Place<'a> {
    pub solid: &'a Solid,
    pub thinnest: f64,
    pub from: f64,
    pub to: f64,
    /// Nodes on [-1, 1].
    pub nodes: &'a [f64],
}

/// Stiffness and mass of one element, full square matrices; no mass where there is no density.
pub(super) fn element(at: &Place, through: &Through, laws: [&Law; 2], density: f64) -> (Vec<f64>, Vec<f64>) {
    let (a, b) = (at.from, at.to);
    let nd = through.count();
    let m = at.nodes.len() * nd;
    let (t, w) = gauss(at.nodes.len() + 1);
    let padded = (nd * nd).next_multiple_of(CHUNK);
    let mut tables = vec![0.0; t.len() * TABLES * padded];
    let mut room = Room::new(through);
    let (mut shapes, mut slopes) = (Vec::with_capacity(t.len()), Vec::with_capacity(t.len()));
    for ((t, wx), table) in t.iter().zip(w).zip(tables.chunks_exact_mut(TABLES * padded)) {
        let x = a + (b - a) * t;
        let basis = through.at(at.solid, at.thinnest, x, x);
        for layer in 0..basis.layers() {
            room.layer(at, &basis, layer, x);
            for (sums, law) in room.sums.iter().zip(laws).filter(|s| s.0.used) {
                let h = basis.borders[layer + 1][0] - basis.borders[layer][0];
                dispatch!(combine(&law.c, 2.0 / h, sums, &basis, layer, nd, padded, table));
            }
        }
        for r in 0..nd {
            for s in 0..nd {
                table[3 * padded + s * nd + r] = table[padded + r * nd + s];
            }
        }
        let (shape, mut slope) = lagrange(at.nodes, 2.0 * t - 1.0);
        slope.iter_mut().for_each(|s| *s *= 2.0 / (b - a));
        shapes.push((shape, wx * (b - a)));
        slopes.push(slope);
    }
    let (mut k, mut mass) = (vec![0.0; m * m], Vec::new());
    let mut block = vec![0.0; padded];
    let mut weights = vec![0.0; t.len() * TABLES];
    let n = at.nodes.len();
    for i in 0..n {
        for j in i..n {
            for (((shape, w), slope), c) in shapes.iter().zip(&slopes).zip(weights.chunks_exact_mut(TABLES)) {
                c[0] = w * slope[i] * slope[j];
                c[1] = w * slope[i] * shape[j];
                c[2] = w * shape[i] * shape[j];
                c[3] = w * shape[i] * slope[j];
                c[4] = 0.0;
            }
            dispatch!(weighed(&tables, &weights, padded, &mut block));
            place_block(&block, nd, m, i, j, &mut k);
        }
    }
    if density != 0.0 {
        mass = vec![0.0; m * m];
        for i in 0..n {
            for j in i..n {
                for ((shape, w), c) in shapes.iter().zip(weights.chunks_exact_mut(TABLES)) {
                    c.fill(0.0);
                    c[4] = density * w * shape[i] * shape[j];
                }
                dispatch!(weighed(&tables, &weights, padded, &mut block));
                place_block(&block, nd, m, i, j, &mut mass);
            }
        }
    }
    (k, mass)
}

/// Tables of one place along the element, each unknown by unknown: products of the strains that go with N' and N' (0), N'
/// and N (1), N and N (2), N and N' (3, the second one turned over), and of the displacements themselves (4).
const TABLES: usize = 5;
/// Numbers taken together.
const CHUNK: usize = 16;

/// Sums over a layer's height of products of its functions P and their slopes D by the layer's coordinate, which changes
/// along the brace at a rate zx that is a straight line through the height. `n` functions, in rows of `stride`.
struct Sums {
    n: usize,
    stride: usize,
    /// P P, P D, P D zx, D D, D D zx, D D zx^2
    tables: [Vec<f64>; 6],
    used: bool,
}

/// What the integrals through the height are made in, kept from place to place.
struct Room {
    /// Of the brace's own wood and of the filler.
    sums: [Sums; 2],
    p: Vec<f64>,
    dp: Vec<f64>,
}

impl Room {
    fn new(through: &Through) -> Self {
        let n = through.along.max(through.across) + 1;
        let stride = n.next_multiple_of(4);
        let sums = || Sums { n, stride, tables: std::array::from_fn(|_| vec![0.0; n * stride]), used: false };
        Self { sums: [sums(), sums()], p: vec![0.0; stride], dp: vec![0.0; stride] }
    }

    /// Integrates over one layer.
    fn layer(&mut self, at: &Place, basis: &Basis, layer: usize, x: f64) {
        for s in self.sums.iter_mut().filter(|s| s.used) {
            s.tables.iter_mut().for_each(|t| t.fill(0.0));
            s.used = false;
        }
        let n = self.sums[0].n;
        let ([low, dlow], [high, dhigh]) = (basis.borders[layer], basis.borders[layer + 1]);
        let h = high - low;
        let window = basis.layered.then_some((low, high));
        for (z, w, filler) in height_rule(at.solid, at.thinnest, x, x, n + 1, window) {
            let zeta = 2.0 * (z - low) / h - 1.0;
            basis.fill(zeta, &mut self.p[..n], &mut self.dp[..n]);
            let zeta_x = -(2.0 * dlow + (zeta + 1.0) * (dhigh - dlow)) / h;
            let sums = &mut self.sums[usize::from(filler)];
            sums.used = true;
            dispatch!(height_point(&self.p, &self.dp, zeta_x, w, sums));
        }
    }
}

/// Adds one point of the height.
#[inline(always)]
fn height_point<const FMA: bool>(p: &[f64], d: &[f64], zx: f64, w: f64, sums: &mut Sums) {
    let stride = sums.stride;
    let [pp, pd, pdx, dd, ddx, ddxx] = &mut sums.tables;
    for i in 0..sums.n {
        let row = i * stride..(i + 1) * stride;
        let (wp, wd) = (w * p[i], w * d[i]);
        let (wpx, wdx) = (wp * zx, wd * zx);
        let wdxx = wdx * zx;
        let rows = [&mut pp[row.clone()], &mut pd[row.clone()], &mut pdx[row.clone()]];
        let more = [&mut dd[row.clone()], &mut ddx[row.clone()], &mut ddxx[row]];
        for (out, (c, v)) in rows.into_iter().chain(more).zip([(wp, p), (wp, d), (wpx, d), (wd, d), (wdx, d), (wdxx, d)]) {
            for (o, v) in out.chunks_exact_mut(4).zip(v.chunks_exact(4)) {
                for l in 0..4 {
                    o[l] = madd::<FMA>(c, v[l], o[l]);
                }
            }
        }
    }
}

/// Adds a layer's sums to the tables of a place, with its law. Strains (xx, zz, xz) of a function of the displacement along
/// the brace are (D zx, 0, D zz), of one across it (0, D zz, D zx).
#[inline(always)]
fn combine<const FMA: bool>(
    c: &[[f64; 3]; 3],
    zz: f64,
    sums: &Sums,
    basis: &Basis,
    layer: usize,
    nd: usize,
    padded: usize,
    table: &mut [f64],
) {
    let [pp, pd, pdx, dd, ddx, ddxx] = &sums.tables;
    let zz2 = zz * zz;
    let counts = [basis.along + 1, basis.across + 1];
    let starts = [0, basis.count_along()];
    // stress that meets N' of each displacement: xx along, xz across
    let meets = [0, 2];
    for (r, c_r) in meets.iter().map(|&m| c[m]).enumerate() {
        for s in 0..2 {
            // stress from the slope along x and from the slope through the height of a function of kind s
            let by = |row: &[f64; 3]| if s == 0 { (row[0], row[2]) } else { (row[2], row[1]) };
            let straight = if s == 0 { c_r[0] } else { c_r[2] };
            let (ax, az) = by(&c_r);
            // a function of kind r strains by its slope along x where N' meets it, by that through the height elsewhere
            let (xx, xz) = by(&c[if r == 0 { 0 } else { 2 }]);
            let (zx, zzz) = by(&c[if r == 0 { 2 } else { 1 }]);
            let (bxx, bx, b) = (xx, zz * (xz + zx), zz2 * zzz);
            for i in 0..counts[r] {
                let at = (starts[r] + basis.place(layer, i, counts[r] - 1)) * nd + starts[s];
                for j in 0..counts[s] {
                    let k = at + basis.place(layer, j, counts[s] - 1);
                    let q = i * sums.stride + j;
                    table[k] = madd::<FMA>(straight, pp[q], table[k]);
                    table[padded + k] += madd::<FMA>(ax, pdx[q], az * zz * pd[q]);
                    table[2 * padded + k] += madd::<FMA>(bxx, ddxx[q], madd::<FMA>(bx, ddx[q], b * dd[q]));
                    if r == s {
                        table[4 * padded + k] += pp[q];
                    }
                }
            }
        }
    }
}

/// The sum of all tables, each times its weight.
#[inline(always)]
fn weighed<const FMA: bool>(tables: &[f64], weights: &[f64], padded: usize, out: &mut [f64]) {
    for (k, out) in out.chunks_exact_mut(CHUNK).enumerate() {
        let mut sum = [0.0; CHUNK];
        for (t, c) in tables.chunks_exact(padded).zip(weights) {
            if *c != 0.0 {
                let t = &t[k * CHUNK..(k + 1) * CHUNK];
                for l in 0..CHUNK {
                    sum[l] = madd::<FMA>(*c, t[l], sum[l]);
                }
            }
        }
        out.copy_from_slice(&sum);
    }
}

/// Puts the block of nodes i and j into a square matrix, and its mirror image.
fn place_block(block: &[f64], nd: usize, m: usize, i: usize, j: usize, out: &mut [f64]) {
    for r in 0..nd {
        let from = (i * nd + r) * m + j * nd;
        out[from..from + nd].copy_from_slice(&block[r * nd..(r + 1) * nd]);
    }
    if i != j {
        for s in 0..nd {
            for (r, o) in out[(j * nd + s) * m + i * nd..(j * nd + s) * m + i * nd + nd].iter_mut().enumerate() {
                *o = block[r * nd + s];
            }
        }
    }
}

/// T' K T, where T turns the unknowns of the two end lines into the element's own (none: the same ones). `inner` are the
/// unknowns between them.
pub(super) fn with_ends(k: Vec<f64>, ends: &[Option<Vec<f64>>; 2], nd: usize, inner: usize, counts: [usize; 2]) -> Vec<f64> {
    if ends.iter().all(Option::is_none) {
        return k;
    }
    let (rows, columns) = (2 * nd + inner, counts[0] + inner + counts[1]);
    let half = columns_of(&k, rows, ends, nd, inner, counts);
    // the transpose of K T is T' K: once more the same step
    let mut turned = vec![0.0; rows * columns];
    for r in 0..rows {
        for c in 0..columns {
            turned[c * rows + r] = half[r * columns + c];
        }
    }
    columns_of(&turned, columns, ends, nd, inner, counts)
}

/// K T for `rows` rows.
fn columns_of(k: &[f64], rows: usize, ends: &[Option<Vec<f64>>; 2], nd: usize, inner: usize, counts: [usize; 2]) -> Vec<f64> {
    let (from, to) = (2 * nd + inner, counts[0] + inner + counts[1]);
    let mut out = vec![0.0; rows * to];
    for r in 0..rows {
        let (row, new) = (&k[r * from..(r + 1) * from], &mut out[r * to..(r + 1) * to]);
        new[counts[0]..counts[0] + inner].copy_from_slice(&row[nd..nd + inner]);
        for (t, at, put, count) in [(&ends[0], 0, 0, counts[0]), (&ends[1], nd + inner, counts[0] + inner, counts[1])] {
            match t {
                None => new[put..put + count].copy_from_slice(&row[at..at + nd]),
                Some(t) => {
                    for (v, line) in row[at..at + nd].iter().zip(t.chunks_exact(count)) {
                        if *v != 0.0 {
                            new[put..put + count].iter_mut().zip(line).for_each(|(n, t)| *n += v * t);
                        }
                    }
                }
            }
        }
    }
    out
}
