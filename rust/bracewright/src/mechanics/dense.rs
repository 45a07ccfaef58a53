//! Small dense linear algebra, the only place that knows the library that does it.

use faer::Mat;
use faer::Side;
use faer::linalg::solvers::Solve;

/// A symmetric or general square matrix, row-major, `n` by `n`.
#[derive(Debug, Clone, PartialEq)]
pub struct Square {
    /// Rows and columns.
    pub n: usize,
    /// Entries, row after row.
    pub a: Vec<f64>,
}

impl Square {
    /// All zeros.
    pub fn zeros(n: usize) -> Self {
        Self { n, a: vec![0.0; n * n] }
    }

    fn to_mat(&self) -> Mat<f64> {
        Mat::from_fn(self.n, self.n, |i, j| self.a[i * self.n + j])
    }
}

impl std::ops::Index<(usize, usize)> for Square {
    type Output = f64;
    fn index(&self, (i, j): (usize, usize)) -> &f64 {
        &self.a[i * self.n + j]
    }
}

impl std::ops::IndexMut<(usize, usize)> for Square {
    fn index_mut(&mut self, (i, j): (usize, usize)) -> &mut f64 {
        &mut self.a[i * self.n + j]
    }
}

/// Solves `a x = b`; `None` when `a` is singular to working precision.
pub fn solve(a: &Square, b: &[f64]) -> Option<Vec<f64>> {
    let rhs = Mat::from_fn(a.n, 1, |i, _| b[i]);
    let x = a.to_mat().full_piv_lu().solve(&rhs);
    let x: Vec<f64> = (0..a.n).map(|i| x[(i, 0)]).collect();
    x.iter().all(|v| v.is_finite()).then_some(x)
}

/// Solves `a x = b` for a symmetric positive `a`; `None` when it is not.
pub fn solve_positive(a: &Square, b: &[f64]) -> Option<Vec<f64>> {
    let rhs = Mat::from_fn(a.n, 1, |i, _| b[i]);
    let x = a.to_mat().llt(Side::Lower).ok()?.solve(&rhs);
    let x: Vec<f64> = (0..a.n).map(|i| x[(i, 0)]).collect();
    x.iter().all(|v| v.is_finite()).then_some(x)
}

/// An orthonormal basis of the vectors that every row of `rows` (each of length `n`) annihilates.
pub fn null_space(rows: &[Vec<f64>], n: usize) -> Vec<Vec<f64>> {
    if rows.is_empty() {
        return (0..n).map(|k| (0..n).map(|i| f64::from(u8::from(i == k))).collect()).collect();
    }
    let mut basis: Vec<Vec<f64>> = Vec::new();
    // two passes of Gram-Schmidt: first the rows, then the unit vectors against them
    let against = |v: &mut Vec<f64>, set: &[Vec<f64>]| {
        for _ in 0..2 {
            for q in set {
                let d: f64 = v.iter().zip(q).map(|(a, b)| a * b).sum();
                v.iter_mut().zip(q).for_each(|(a, b)| *a -= d * b);
            }
        }
    };
    let norm = |v: &[f64]| v.iter().map(|a| a * a).sum::<f64>().sqrt();
    for row in rows {
        let size = norm(row);
        let mut v = row.clone();
        against(&mut v, &basis);
        let left = norm(&v);
        if left > 1e-12 * size && left > 0.0 {
            v.iter_mut().for_each(|a| *a /= left);
            basis.push(v);
        }
    }
    let fixed = basis.len();
    for k in 0..n {
        if basis.len() == n {
            break;
        }
        let mut v = vec![0.0; n];
        v[k] = 1.0;
        against(&mut v, &basis);
        let left = norm(&v);
        if left > 1e-8 {
            v.iter_mut().for_each(|a| *a /= left);
            basis.push(v);
        }
    }
    basis.split_off(fixed)
}

/// Eigenvalues of a symmetric matrix, rising, with their vectors; `None` where they are not found.
pub fn symmetric(a: &Square) -> Option<(Vec<f64>, Vec<Vec<f64>>)> {
    let eig = a.to_mat().self_adjoint_eigen(Side::Lower).ok()?;
    let (values, vectors) = (eig.S(), eig.U());
    let column = |c: usize| (0..a.n).map(|i| vectors[(i, c)]).collect();
    Some(((0..a.n).map(|c| values[c]).collect(), (0..a.n).map(column).collect()))
}

/// The `count` lowest eigenvalues and vectors of `k v = lambda m v`, `k` symmetric and not negative, `m`
/// symmetric and positive, by shift and inversion about `-shift` (positive). `None` if `m` or `k` is not so.
pub fn lowest_modes(k: &Square, m: &Square, shift: f64, count: usize) -> Option<Vec<(f64, Vec<f64>)>> {
    let n = k.n;
    // scaling by the diagonal keeps the factor accurate where the pieces are of very different stiffness
    let d: Vec<f64> = (0..n).map(|i| 1.0 / (k[(i, i)] + shift * m[(i, i)]).max(f64::MIN_POSITIVE).sqrt()).collect();
    let a = Mat::from_fn(n, n, |i, j| (k[(i, j)] + shift * m[(i, j)]) * d[i] * d[j]);
    let llt = a.llt(Side::Lower).ok()?;
    let l = llt.L();
    // S <- L^-1 M L^-T
    let mut s = Mat::from_fn(n, n, |i, j| m[(i, j)] * d[i] * d[j]);
    l.solve_lower_triangular_in_place(&mut s);
    let mut s = s.transpose().to_owned();
    l.solve_lower_triangular_in_place(&mut s);
    let eig = s.self_adjoint_eigen(Side::Lower).ok()?;
    let (values, vectors) = (eig.S(), eig.U());
    let mut out = Vec::new();
    for c in 0..count.min(n) {
        let col = n - 1 - c;
        let mu = values[col];
        let mut v: Vec<f64> = (0..n).map(|i| vectors[(i, col)]).collect();
        // v <- D L^-T v
        for i in (0..n).rev() {
            for j in i + 1..n {
                v[i] -= l[(j, i)] * v[j];
            }
            v[i] /= l[(i, i)];
        }
        v.iter_mut().zip(&d).for_each(|(v, d)| *v *= d);
        out.push((1.0 / mu - shift, v));
    }
    Some(out)
}
