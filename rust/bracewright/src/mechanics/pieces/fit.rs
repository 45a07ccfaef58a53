//! A polynomial through a smooth function, at the Chebyshev points.

use super::{MAX_COEFFICIENTS, Poly};

/// What interpolation needs and does not depend on the function: places on [-1, 1], values of the Chebyshev polynomials
/// there, and each polynomial as powers.
struct Chebyshev {
    places: [f64; MAX_COEFFICIENTS],
    values: [[f64; MAX_COEFFICIENTS]; MAX_COEFFICIENTS],
    powers: [[f64; MAX_COEFFICIENTS]; MAX_COEFFICIENTS],
}

fn chebyshev() -> &'static Chebyshev {
    static TABLE: std::sync::OnceLock<Chebyshev> = std::sync::OnceLock::new();
    TABLE.get_or_init(|| {
        const N: usize = MAX_COEFFICIENTS;
        let angle = |j: usize| std::f64::consts::PI * (j as f64 + 0.5) / N as f64;
        let mut out = Chebyshev { places: [0.0; N], values: [[0.0; N]; N], powers: [[0.0; N]; N] };
        for j in 0..N {
            out.places[j] = angle(j).cos();
            for k in 0..N {
                out.values[k][j] = (k as f64 * angle(j)).cos();
            }
        }
        out.powers[0][0] = 1.0;
        out.powers[1][1] = 1.0;
        for k in 2..N {
            for j in 0..N {
                out.powers[k][j] = if j > 0 { 2.0 * out.powers[k - 1][j - 1] } else { 0.0 } - out.powers[k - 2][j];
            }
        }
        out
    })
}

/// Interpolation at the Chebyshev points of [a, b], as powers of t, and the size of what was left out.
pub(super) fn chebyshev_fit(a: f64, b: f64, f: &impl Fn(f64) -> f64) -> (Poly, f64) {
    const N: usize = MAX_COEFFICIENTS;
    let table = chebyshev();
    let values: [f64; N] = std::array::from_fn(|j| f(0.5 * (a + b) + 0.5 * (b - a) * table.places[j]));
    let mut cheb = [0.0; N];
    for (k, c) in cheb.iter_mut().enumerate() {
        let s: f64 = values.iter().zip(&table.values[k]).map(|(v, t)| v * t).sum();
        *c = s * if k == 0 { 1.0 } else { 2.0 } / N as f64;
    }
    let scale = cheb.iter().fold(0.0_f64, |m, c| m.max(c.abs()));
    let tail = cheb[N - 1].abs().max(cheb[N - 2].abs()).max(cheb[N - 3].abs());
    let mut used = N;
    while used > 1 && cheb[used - 1].abs() < 4e-16 * scale.max(1e-300) {
        used -= 1;
    }
    let mut out = [0.0; N];
    for (c, powers) in cheb.iter().zip(&table.powers).take(used) {
        for (o, p) in out[..used].iter_mut().zip(powers) {
            *o += c * p;
        }
    }
    (Poly::new(&out[..used]), tail)
}
