//! Stiffness and mass of one element.

use super::Law;
use super::through::{Basis, Through, height_rule};
use crate::mechanics::lagrange::lagrange;
use crate::mechanics::quadrature::gauss;
use crate::mechanics::simd::{dispatch, madd};
use crate::mechanics::solid::Solid;

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

/// What elements are made in, kept from one to the next.
#[derive(Debug, Default)]
pub(super) struct Workshop {
    tables: Vec<f64>,
    block: Vec<f64>,
    weights: Vec<f64>,
    /// Of the brace's own wood and of the filler.
    sums: [Sums; 2],
    points: [Vec<Point>; 2],
    shapes: Vec<(Vec<f64>, Vec<f64>, f64)>,
}

/// Tables of one place along the element, each unknown by unknown: products of the strains that go with N' and N' (0), N'
/// and N (1), N and N (2), N and N' (3, the second one turned over).
const TABLES: usize = 4;
/// Numbers taken together.
const CHUNK: usize = 32;

impl Workshop {
    /// Stiffness and mass of one element, full square matrices; no mass where there is no density.
    pub fn element(&mut self, at: &Place, through: &Through, laws: [&Law; 2], density: f64) -> (Vec<f64>, Vec<f64>) {
        let (a, b) = (at.from, at.to);
        let nd = through.count();
        let n = at.nodes.len();
        let m = n * nd;
        let (t, w) = gauss(n + 1);
        let places = t.len();
        let padded = (nd * nd).next_multiple_of(CHUNK);
        // the tables of stiffness, place after place, then those of mass
        let masses = places * TABLES * padded;
        self.tables.clear();
        self.tables.resize(masses + places * padded, 0.0);
        self.shapes.clear();
        for (q, (t, wx)) in t.iter().zip(w).enumerate() {
            let x = a + (b - a) * t;
            let basis = through.at(at.solid, at.thinnest, x, x);
            let (stiff, heavy) = self.tables.split_at_mut(masses);
            let table = &mut stiff[q * TABLES * padded..(q + 1) * TABLES * padded];
            let heavy = &mut heavy[q * padded..(q + 1) * padded];
            for layer in 0..basis.layers() {
                self.points.iter_mut().for_each(Vec::clear);
                points(at, &basis, layer, x, &mut self.points);
                for ((points, sums), law) in self.points.iter().zip(&mut self.sums).zip(laws) {
                    if points.is_empty() {
                        continue;
                    }
                    // functions of a layer fit rows of eight or of sixteen
                    if through.along.max(through.across) < 8 {
                        dispatch!(through_height::<8>(points, sums));
                    } else {
                        dispatch!(through_height::<16>(points, sums));
                    }
                    let h = basis.borders[layer + 1][0] - basis.borders[layer][0];
                    dispatch!(combine(&law.c, 2.0 / h, sums, &basis, layer, nd, table, heavy));
                }
            }
            let (ab, turned) = (padded, 3 * padded);
            for r in 0..nd {
                for s in 0..nd {
                    table[turned + s * nd + r] = table[ab + r * nd + s];
                }
            }
            let (shape, mut slope) = lagrange(at.nodes, 2.0 * t - 1.0);
            slope.iter_mut().for_each(|s| *s *= 2.0 / (b - a));
            self.shapes.push((shape, slope, wx * (b - a)));
        }
        let mut k = vec![0.0; m * m];
        let mut mass = vec![0.0; if density == 0.0 { 0 } else { m * m }];
        self.block.resize(padded, 0.0);
        for i in 0..n {
            for j in i..n {
                self.weights.clear();
                for (shape, slope, w) in &self.shapes {
                    let (s, d) = (shape, slope);
                    self.weights.extend([w * d[i] * d[j], w * d[i] * s[j], w * s[i] * s[j], w * s[i] * d[j]]);
                }
                dispatch!(weighed(&self.tables, &self.weights, padded, &mut self.block[..padded]));
                place_block(&self.block, nd, m, i, j, &mut k);
                if density != 0.0 {
                    self.weights.clear();
                    self.weights.extend(self.shapes.iter().map(|(s, _, w)| density * w * s[i] * s[j]));
                    dispatch!(weighed(&self.tables[masses..], &self.weights, padded, &mut self.block[..padded]));
                    place_block(&self.block, nd, m, i, j, &mut mass);
                }
            }
        }
        (k, mass)
    }
}

/// Most functions of a layer.
const MOST: usize = 16;

/// A point of the height: functions P and their slopes D by the layer's coordinate, the rate at which that coordinate
/// changes along the brace, and the weight.
#[derive(Debug, Clone, Copy)]
struct Point {
    p: [f64; MOST],
    d: [f64; MOST],
    zx: f64,
    w: f64,
}

/// Sums over a layer's height: P P, P D, P D zx, D D, D D zx, D D zx^2, in rows of sixteen.
#[derive(Debug)]
struct Sums([[[f64; MOST]; MOST]; 6]);

impl Default for Sums {
    fn default() -> Self {
        Self([[[0.0; MOST]; MOST]; 6])
    }
}

fn points(at: &Place, basis: &Basis, layer: usize, x: f64, out: &mut [Vec<Point>; 2]) {
    let n = basis.along.max(basis.across) + 1;
    let ([low, dlow], [high, dhigh]) = (basis.borders[layer], basis.borders[layer + 1]);
    let h = high - low;
    let window = basis.layered.then_some((low, high));
    for (z, w, filler) in height_rule(at.solid, at.thinnest, x, x, n + 1, window) {
        let zeta = 2.0 * (z - low) / h - 1.0;
        let mut q = Point { p: [0.0; MOST], d: [0.0; MOST], zx: -(2.0 * dlow + (zeta + 1.0) * (dhigh - dlow)) / h, w };
        basis.fill(zeta, &mut q.p[..n], &mut q.d[..n]);
        out[usize::from(filler)].push(q);
    }
}

/// The sums of the first `N` functions.
#[inline(always)]
fn through_height<const FMA: bool, const N: usize>(points: &[Point], sums: &mut Sums) {
    for i in 0..N {
        let mut rows = [[0.0; N]; 6];
        for q in points {
            let (wp, wd) = (q.w * q.p[i], q.w * q.d[i]);
            let (wpx, wdx) = (wp * q.zx, wd * q.zx);
            let wdxx = wdx * q.zx;
            for j in 0..N {
                rows[0][j] = madd::<FMA>(wp, q.p[j], rows[0][j]);
                rows[1][j] = madd::<FMA>(wp, q.d[j], rows[1][j]);
                rows[2][j] = madd::<FMA>(wpx, q.d[j], rows[2][j]);
                rows[3][j] = madd::<FMA>(wd, q.d[j], rows[3][j]);
                rows[4][j] = madd::<FMA>(wdx, q.d[j], rows[4][j]);
                rows[5][j] = madd::<FMA>(wdxx, q.d[j], rows[5][j]);
            }
        }
        for (table, row) in sums.0.iter_mut().zip(&rows) {
            table[i][..N].copy_from_slice(row);
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
    table: &mut [f64],
    mass: &mut [f64],
) {
    let [pp, pd, pdx, dd, ddx, ddxx] = &sums.0;
    let padded = mass.len();
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
                    table[k] = madd::<FMA>(straight, pp[i][j], table[k]);
                    table[padded + k] += madd::<FMA>(ax, pdx[i][j], az * zz * pd[i][j]);
                    table[2 * padded + k] += madd::<FMA>(bxx, ddxx[i][j], madd::<FMA>(bx, ddx[i][j], b * dd[i][j]));
                    if r == s {
                        mass[k] += pp[i][j];
                    }
                }
            }
        }
    }
}

/// The sum of as many tables as there are weights, each times its own.
#[inline(always)]
fn weighed<const FMA: bool>(tables: &[f64], weights: &[f64], padded: usize, out: &mut [f64]) {
    for (k, out) in out.chunks_exact_mut(CHUNK).enumerate() {
        let mut sum = [0.0; CHUNK];
        for (t, c) in tables.chunks_exact(padded).zip(weights) {
            if let Some(t) = t[k * CHUNK..].first_chunk::<CHUNK>() {
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
