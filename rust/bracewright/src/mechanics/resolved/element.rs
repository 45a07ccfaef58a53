//! Stiffness and mass of one element.

use super::Law;
use super::through::{Through, height_rule};
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

/// Stiffness and mass of one element, full square matrices.
pub(super) fn element(at: &Place, through: &Through, laws: [&Law; 2], density: f64) -> (Vec<f64>, Vec<f64>) {
    let (a, b) = (at.from, at.to);
    let nd = through.count();
    let nu = through.along + 1;
    let own = nu + through.across + 1;
    let np = nu.max(through.across + 1);
    let m = at.nodes.len() * nd;
    let (mut k, mut mass) = (vec![0.0; m * m], vec![0.0; m * m]);
    let (t, w) = gauss(at.nodes.len() + 1);
    let (mut p, mut dp) = (vec![0.0; np], vec![0.0; np]);
    // aa, ab, bb: products of the strains that go with N' and with N
    let mut work = vec![0.0; 4 * nd * nd];
    let mut turned = vec![0.0; nd * nd];
    let mut part = vec![0.0; if through.layers() > 1 { 4 * own * own } else { 0 }];
    for (t, wx) in t.iter().zip(w) {
        let x = a + (b - a) * t;
        let basis = through.at(at.solid, at.thinnest, x, x);
        work.fill(0.0);
        for layer in 0..basis.layers() {
            let ([low, dlow], [high, dhigh]) = (basis.borders[layer], basis.borders[layer + 1]);
            let h = high - low;
            let window = basis.layered.then_some((low, high));
            let rule = height_rule(at.solid, at.thinnest, x, x, np + 1, window);
            let table = if basis.layered { &mut part } else { &mut work };
            if basis.layered {
                table.fill(0.0);
            }
            for (z, wz, filler) in rule {
                let zeta = 2.0 * (z - low) / h - 1.0;
                basis.fill(zeta, &mut p, &mut dp);
                let zeta_x = -(2.0 * dlow + (zeta + 1.0) * (dhigh - dlow)) / h;
                let c = &laws[usize::from(filler)].c;
                dispatch!(height_point(c, &p, &dp, zeta_x, 2.0 / h, wz, nu, own, table));
            }
            if basis.layered {
                let place: Vec<usize> = (0..own)
                    .map(|i| {
                        if i < nu {
                            basis.place(layer, i, through.along)
                        } else {
                            basis.count_along() + basis.place(layer, i - nu, through.across)
                        }
                    })
                    .collect();
                for q in 0..4 {
                    for (i, r) in place.iter().enumerate() {
                        for (j, s) in place.iter().enumerate() {
                            work[(q * nd + r) * nd + s] += part[(q * own + i) * own + j];
                        }
                    }
                }
            }
        }
        let (shape, mut slope) = lagrange(at.nodes, 2.0 * t - 1.0);
        slope.iter_mut().for_each(|s| *s *= 2.0 / (b - a));
        for r in 0..nd {
            for s in 0..nd {
                turned[s * nd + r] = work[(nd + r) * nd + s];
            }
        }
        dispatch!(spread(&shape, &slope, &work, &turned, wx * (b - a), density, nd, m, &mut k, &mut mass));
    }
    for i in 0..m {
        for j in 0..i {
            k[i * m + j] = k[j * m + i];
            mass[i * m + j] = mass[j * m + i];
        }
    }
    (k, mass)
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

/// Adds one point of the height to the four nd-by-nd tables.
#[inline(always)]
fn height_point<const FMA: bool>(
    c: &[[f64; 3]; 3],
    p: &[f64],
    dp: &[f64],
    zeta_x: f64,
    zeta_z: f64,
    w: f64,
    nu: usize,
    nd: usize,
    work: &mut [f64],
) {
    const MOST: usize = 32;
    let (aa, rest) = work.split_at_mut(nd * nd);
    let (ab, rest) = rest.split_at_mut(nd * nd);
    let (bb, mm) = rest.split_at_mut(nd * nd);
    // strain of unknown s that goes with N (not N'): (xx, zz, xz)
    let mut beta = [[0.0; 3]; MOST];
    let mut stress = [[0.0; 3]; MOST];
    let mut value = [0.0; MOST];
    for s in 0..nd {
        let along = s < nu;
        let i = if along { s } else { s - nu };
        value[s] = p[i];
        let (vx, vz) = (dp[i] * zeta_x, dp[i] * zeta_z);
        beta[s] = if along { [vx, 0.0, vz] } else { [0.0, vz, vx] };
        for r in 0..3 {
            stress[s][r] = w * (c[r][0] * beta[s][0] + c[r][1] * beta[s][1] + c[r][2] * beta[s][2]);
        }
    }
    for r in 0..nd {
        let row = if r < nu { 0 } else { 2 };
        let pr = value[r];
        let (cu, cw) = (w * c[row][0] * pr, w * c[row][2] * pr);
        let b = beta[r];
        for s in 0..nd {
            let k = r * nd + s;
            aa[k] = madd::<FMA>(if s < nu { cu } else { cw }, value[s], aa[k]);
            ab[k] = madd::<FMA>(pr, stress[s][row], ab[k]);
            let e = b[0] * stress[s][0] + b[1] * stress[s][1] + b[2] * stress[s][2];
            bb[k] += e;
        }
        let (from, to) = if r < nu { (0, nu) } else { (nu, nd) };
        for s in from..to {
            mm[r * nd + s] = madd::<FMA>(w * pr, value[s], mm[r * nd + s]);
        }
    }
}

/// Spreads the tables over the nodes of an element (upper triangle of blocks); `turned` is the second one transposed.
#[inline(always)]
fn spread<const FMA: bool>(
    shape: &[f64],
    slope: &[f64],
    work: &[f64],
    turned: &[f64],
    wx: f64,
    density: f64,
    nd: usize,
    m: usize,
    k: &mut [f64],
    mass: &mut [f64],
) {
    let (aa, rest) = work.split_at(nd * nd);
    let (ab, rest) = rest.split_at(nd * nd);
    let (bb, mm) = rest.split_at(nd * nd);
    for i in 0..shape.len() {
        for j in i..shape.len() {
            let (dd, dn) = (wx * slope[i] * slope[j], wx * slope[i] * shape[j]);
            let (nd_, nn) = (wx * shape[i] * slope[j], wx * shape[i] * shape[j]);
            let rho = density * nn;
            for r in 0..nd {
                let out = &mut k[(i * nd + r) * m + j * nd..(i * nd + r) * m + j * nd + nd];
                let [ra, rb, rt, rc] = [aa, ab, turned, bb].map(|t| &t[r * nd..r * nd + nd]);
                for s in 0..nd {
                    let v = madd::<FMA>(dd, ra[s], out[s]);
                    let v = madd::<FMA>(dn, rb[s], v);
                    let v = madd::<FMA>(nd_, rt[s], v);
                    out[s] = madd::<FMA>(nn, rc[s], v);
                }
                if rho != 0.0 {
                    let out = &mut mass[(i * nd + r) * m + j * nd..(i * nd + r) * m + j * nd + nd];
                    for s in 0..nd {
                        out[s] = madd::<FMA>(rho, mm[r * nd + s], out[s]);
                    }
                }
            }
        }
    }
}
