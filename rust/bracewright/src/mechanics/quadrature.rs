//! Gauss-Legendre rules and Legendre polynomials.

use std::sync::OnceLock;

/// Largest rule kept.
pub const MAX_POINTS: usize = 64;

/// Nodes and weights on [0, 1] of the `n`-point Gauss-Legendre rule (exact to degree 2n - 1).
///
/// `n` is clamped to 1..=[`MAX_POINTS`]. Computed once by Newton's method on the recurrence
/// (Abramowitz & Stegun 25.4.30) and kept.
pub fn gauss(n: usize) -> &'static (Vec<f64>, Vec<f64>) {
    static RULES: [OnceLock<(Vec<f64>, Vec<f64>)>; MAX_POINTS + 1] = [const { OnceLock::new() }; MAX_POINTS + 1];
    let n = n.clamp(1, MAX_POINTS);
    RULES[n].get_or_init(|| {
        let (mut x, mut w) = (vec![0.0; n], vec![0.0; n]);
        for i in 0..n {
            let mut t = (std::f64::consts::PI * (i as f64 + 0.75) / (n as f64 + 0.5)).cos();
            let mut slope = 1.0;
            for _ in 0..100 {
                let (p, dp) = legendre_with_slope(n, t);
                slope = dp;
                let step = p / dp;
                t -= step;
                if step.abs() < 1e-16 {
                    break;
                }
            }
            x[n - 1 - i] = 0.5 * (1.0 + t);
            w[n - 1 - i] = 1.0 / ((1.0 - t * t) * slope * slope);
        }
        (x, w)
    })
}

fn legendre_with_slope(n: usize, t: f64) -> (f64, f64) {
    let (mut p0, mut p1) = (1.0, t);
    for k in 2..=n {
        let k = k as f64;
        (p0, p1) = (p1, ((2.0 * k - 1.0) * t * p1 - (k - 1.0) * p0) / k);
    }
    (p1, n as f64 * (t * p1 - p0) / (t * t - 1.0))
}

/// Fills `p[i]` with the Legendre polynomial of degree i at `t` and `dp[i]` with its derivative.
pub fn legendre(t: f64, p: &mut [f64], dp: &mut [f64]) {
    for i in 0..p.len() {
        match i {
            0 => (p[0], dp[0]) = (1.0, 0.0),
            1 => (p[1], dp[1]) = (t, 1.0),
            _ => {
                let k = i as f64;
                p[i] = ((2.0 * k - 1.0) * t * p[i - 1] - (k - 1.0) * p[i - 2]) / k;
                dp[i] = dp[i - 2] + (2.0 * k - 1.0) * p[i - 1];
            }
        }
    }
}

/// Integral of `f` over each interval of `breaks`, `n` points an interval.
pub fn integrate(breaks: &[f64], n: usize, mut f: impl FnMut(f64) -> f64) -> f64 {
    let (x, w) = gauss(n);
    let mut sum = 0.0;
    for pair in breaks.windows(2) {
        let (a, len) = (pair[0], pair[1] - pair[0]);
        let mut part = 0.0;
        for (t, weight) in x.iter().zip(w) {
            part += weight * f(a + len * t);
        }
        sum += part * len;
    }
    sum
}

/// Union of several lists of break points, sorted, those closer than `gap` merged, clipped to [a, b].
pub fn merge_breaks(a: f64, b: f64, lists: &[&[f64]], gap: f64) -> Vec<f64> {
    let mut all: Vec<f64> = lists.iter().flat_map(|l| l.iter().copied()).filter(|&x| x > a + gap && x < b - gap).collect();
    all.push(a);
    all.push(b);
    all.sort_by(f64::total_cmp);
    all.dedup_by(|x, y| (*x - *y).abs() <= gap);
    all
}
