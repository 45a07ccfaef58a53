//! Where the draws come from.
//!
//! A low-discrepancy sequence (multiples of the square roots of primes, Richtmyer 1951, shifted by the seed) is pushed
//! through a proposal close to the posterior: the second unknown from a normal law around its most likely value; the
//! modulus and what each pass took from the normal law at their own mode given that second unknown, so that the thin
//! bent ridge on which sharp readings leave modulus against second unknown is followed. Weights make the result exact
//! whatever the proposal. Every draw is computed from its own number alone and sums run in a fixed order, so the bits do
//! not depend on the threads.

use super::Response;
use super::history::{Chain, Seen};
use super::linear::Mode;
use crate::normal;

/// The law draws come from.
pub(super) struct Proposal {
    /// Second unknown, as a standard normal: centre and spread.
    centre: f64,
    spread: f64,
    /// Where to start looking for the rest: its mode, and its regression on the second unknown.
    start: Vec<f64>,
    slope: Vec<f64>,
    start_at: f64,
    /// How much wider than the normal law at the mode the rest is drawn.
    wider: f64,
}

/// Working space of one thread: Gauss-Newton matrix, its factor row by row, and two vectors.
pub(super) struct Scratch {
    matrix: Vec<f64>,
    gradient: Vec<f64>,
    white: Vec<f64>,
}

impl Scratch {
    pub(super) fn new(chain: &Chain) -> Self {
        let n = chain.dims() - 1;
        Self { matrix: vec![0.0; n * n], gradient: vec![0.0; n], white: vec![0.0; n] }
    }
}

impl Proposal {
    pub(super) fn new(chain: &Chain, mode: &Mode) -> Self {
        let known = chain.readings.is_empty() && chain.depths.is_empty();
        let variance = mode.covariance[1][1];
        let rest = || (0..chain.dims()).filter(|&i| i != 1);
        Self {
            centre: mode.z[1],
            spread: if known { 1.0 } else { 1.2 } * variance.sqrt(),
            start: rest().map(|i| mode.z[i]).collect(),
            slope: rest().map(|i| mode.covariance[i][1] / variance).collect(),
            start_at: mode.z[1],
            wider: if known { 1.0 } else { 1.1 },
        }
    }

    /// State and logarithm of its weight for draw `i`.
    pub(super) fn draw<R: Response + ?Sized>(
        &self,
        chain: &Chain,
        response: &R,
        sequence: &Sequence,
        i: usize,
        s: &mut Scratch,
    ) -> (Vec<f64>, f64) {
        let n = chain.dims() - 1;
        let own = sequence.normal(i, 1);
        let mut z = vec![0.0; n + 1];
        z[1] = self.centre + self.spread * own;
        for k in 0..n {
            z[place(k)] = self.start[k] + self.slope[k] * (z[1] - self.start_at);
        }
        let second = chain.second.at(z[1]);
        let mut moved = true;
        for _ in 0..8 {
            if !(quadratic(chain, response, &z, second, s) && factor(&mut s.matrix, n)) {
                return (z, f64::NEG_INFINITY);
            }
            if !moved {
                break;
            }
            solve_lower(&s.matrix, &mut s.gradient);
            // In whitened terms the gradient is the step in standard deviations.
            moved = s.gradient.iter().any(|g| g.abs() > 0.03);
            solve_upper(&s.matrix, &mut s.gradient);
            for k in 0..n {
                z[place(k)] -= s.gradient[k].clamp(-1.0, 1.0);
            }
        }
        let mut proposed = 0.5 * own * own;
        for k in 0..n {
            s.white[k] = sequence.normal(i, place(k));
            proposed += 0.5 * s.white[k] * s.white[k] - s.matrix[k * n + k].ln();
        }
        solve_upper(&s.matrix, &mut s.white);
        for k in 0..n {
            z[place(k)] += self.wider * s.white[k];
        }
        let cost = chain.cost(response, &z);
        (z, proposed - cost)
    }

    /// Centre and spread of the second unknown anew, from draws that turned out badly placed.
    pub(super) fn refit(&mut self, drawn: &[(Vec<f64>, f64)], weight: &[f64]) {
        self.centre = drawn.iter().zip(weight).map(|(d, w)| w * d.0[1]).sum();
        let variance: f64 = drawn.iter().zip(weight).map(|(d, w)| w * (d.0[1] - self.centre).powi(2)).sum();
        self.spread = (1.5 * variance + 0.1 * self.spread * self.spread).sqrt();
    }
}

/// Where the k-th number of the rest stands among all: the second unknown, number 1, is left out.
fn place(k: usize) -> usize {
    if k == 0 { 0 } else { k + 1 }
}

/// Gauss-Newton matrix and gradient of the cost in modulus and passes, second unknown held fixed; false where the
/// response has no answer.
fn quadratic<R: Response + ?Sized>(chain: &Chain, response: &R, z: &[f64], second: f64, s: &mut Scratch) -> bool {
    const H: f64 = 1e-3;
    let n = chain.dims() - 1;
    s.matrix.fill(0.0);
    for k in 0..n {
        s.matrix[k * n + k] = 1.0;
        s.gradient[k] = z[place(k)];
    }
    let (e0, e1) = (chain.e_gpa.at(z[0]), chain.e_gpa.at(z[0] + H));
    let pass_slope = |k: usize| {
        let (mean, sd) = chain.removal[k - 1];
        if mean + sd * z[k + 1] > 0.0 { sd } else { 0.0 }
    };
    let mut add = |seen: &Seen, by_modulus: f64, per_mm: f64, residual: f64| {
        let u = seen.u;
        let slope = |k: usize| match k {
            0 => by_modulus / u,
            _ if k <= seen.since => 0.0,
            _ => per_mm * pass_slope(k) / u,
        };
        for a in 0..=seen.passes {
            let left = slope(a);
            s.gradient[a] += left * residual / u;
            for b in 0..=a {
                s.matrix[a * n + b] += left * slope(b);
            }
        }
    };
    for seen in &chain.readings {
        let depth = chain.depth_mm(z, seen.passes);
        let d = response.deflection_mm(e0, second, depth);
        let by_modulus = (response.deflection_mm(e1, second, depth) - d) / H;
        let per_mm = if seen.passes == 0 { 0.0 } else { (response.deflection_mm(e0, second, depth + H) - d) / H };
        add(seen, by_modulus, per_mm, d - seen.value);
    }
    for seen in &chain.depths {
        add(seen, 0.0, 1.0, chain.depth_since_mm(z, seen.since, seen.passes) - seen.value);
    }
    s.gradient.iter().all(|g| g.is_finite())
}

/// Lower Cholesky factor in place; false where there is none.
fn factor(a: &mut [f64], n: usize) -> bool {
    for i in 0..n {
        for j in 0..=i {
            let mut v = a[i * n + j];
            for k in 0..j {
                v -= a[i * n + k] * a[j * n + k];
            }
            if i != j {
                a[i * n + j] = v / a[j * n + j];
            } else if v > 0.0 && v.is_finite() {
                a[i * n + i] = v.sqrt();
            } else {
                return false;
            }
        }
    }
    true
}

/// Solves L x = b in place.
fn solve_lower(l: &[f64], b: &mut [f64]) {
    let n = b.len();
    for i in 0..n {
        let known: f64 = (0..i).map(|k| l[i * n + k] * b[k]).sum();
        b[i] = (b[i] - known) / l[i * n + i];
    }
}

/// Solves L^T x = b in place.
fn solve_upper(l: &[f64], b: &mut [f64]) {
    let n = b.len();
    for i in (0..n).rev() {
        let known: f64 = (i + 1..n).map(|k| l[k * n + i] * b[k]).sum();
        b[i] = (b[i] - known) / l[i * n + i];
    }
}

/// A low-discrepancy sequence: coordinate `j` of point `i` depends on `i`, `j` and the seed alone.
pub(crate) struct Sequence {
    step: Vec<u64>,
    shift: Vec<u64>,
}

impl Sequence {
    pub(crate) fn new(seed: u64, dims: usize) -> Self {
        let primes = (2u32..).filter(|&n| (2..).take_while(|d| d * d <= n).all(|d| n % d != 0));
        let step = primes.take(dims).map(|p| (f64::from(p).sqrt().fract() * 2f64.powi(64)) as u64).collect();
        let shift = (0..dims as u64).map(|j| scramble(seed ^ scramble(j))).collect();
        Self { step, shift }
    }

    /// Inside (0, 1).
    pub(crate) fn uniform(&self, i: usize, j: usize) -> f64 {
        let bits = (i as u64).wrapping_mul(self.step[j]).wrapping_add(self.shift[j]);
        ((bits >> 12) as f64 + 0.5) * 2f64.powi(-52)
    }

    pub(crate) fn normal(&self, i: usize, j: usize) -> f64 {
        normal::quantile_unchecked(self.uniform(i, j))
    }
}

/// Mixes the bits of a number (the finaliser of SplitMix64, Steele, Lea and Flood 2014).
fn scramble(x: u64) -> u64 {
    let x = x.wrapping_add(0x9e37_79b9_7f4a_7c15);
    let x = (x ^ (x >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    let x = (x ^ (x >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    x ^ (x >> 31)
}
