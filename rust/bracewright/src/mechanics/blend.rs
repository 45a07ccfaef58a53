//! Ramps between two heights as odd polynomials: the one form in which lots of shapes are evaluated.

use crate::mechanics::simd::{dispatch, madd};

/// Odd terms kept; ten give the half-cosine to 1e-16.
pub const TERMS: usize = 10;

/// A ramp from -1 at t = -1 to +1 at t = 1: t (c0 + c1 t^2 + ...).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ramp {
    /// Coefficients in use.
    pub n: usize,
    /// By power of t^2.
    pub c: [f64; TERMS],
}

impl Ramp {
    /// From the coefficients of an odd polynomial in powers of t (even ones are ignored).
    pub fn from_powers(c: &[f64]) -> Self {
        let mut out = Self { n: 1, c: [0.0; TERMS] };
        for (k, v) in c.iter().enumerate().skip(1).step_by(2).take(TERMS) {
            out.c[k / 2] = *v;
            if *v != 0.0 {
                out.n = k / 2 + 1;
            }
        }
        out
    }

    /// Value at t.
    #[inline(always)]
    pub(crate) fn at<const FMA: bool>(&self, t: f64) -> f64 {
        let s = t * t;
        let mut v = self.c[self.n - 1];
        for k in (0..self.n - 1).rev() {
            v = madd::<FMA>(v, s, self.c[k]);
        }
        v * t
    }

    /// Heights at evenly spaced x = x0 + k dx between a at `start` and b at `end` of the interval.
    pub fn fill_even(&self, start: f64, end: f64, a: f64, b: f64, x0: f64, dx: f64, out: &mut [f64]) {
        if a == b {
            out.fill(a);
            return;
        }
        match self.n {
            1 => dispatch!(fill_even::<1>(self, start, end, a, b, x0, dx, out)),
            2 => dispatch!(fill_even::<2>(self, start, end, a, b, x0, dx, out)),
            3 => dispatch!(fill_even::<3>(self, start, end, a, b, x0, dx, out)),
            _ => dispatch!(fill_even::<TERMS>(self, start, end, a, b, x0, dx, out)),
        }
    }
}

#[inline(always)]
fn fill_even<const FMA: bool, const N: usize>(
    ramp: &Ramp,
    start: f64,
    end: f64,
    a: f64,
    b: f64,
    x0: f64,
    dx: f64,
    out: &mut [f64],
) {
    const W: usize = 8;
    let (mid, half) = (0.5 * (a + b), 0.5 * (b - a));
    let scale = 2.0 / (end - start);
    let (t0, dt) = ((x0 - start) * scale - 1.0, dx * scale);
    let one = |k: f64| {
        let t = madd::<FMA>(dt, k, t0);
        let s = t * t;
        let mut v = ramp.c[N - 1];
        for j in (0..N - 1).rev() {
            v = madd::<FMA>(v, s, ramp.c[j]);
        }
        madd::<FMA>(half, v * t, mid)
    };
    let mut at = 0.0;
    let mut chunks = out.chunks_exact_mut(W);
    for chunk in &mut chunks {
        for l in 0..W {
            chunk[l] = one(at + l as f64);
        }
        at += W as f64;
    }
    for (l, o) in chunks.into_remainder().iter_mut().enumerate() {
        *o = one(at + l as f64);
    }
}
