//! What one decaying mode looks like over the bins of a record's spectrum, and least squares in such columns.

pub(super) type C = realfft::num_complex::Complex<f64>;

/// The kind of spectrum.
#[derive(Clone, Copy)]
pub(super) enum Kind {
    /// Discrete transform of a free decay that starts with its record.
    Decay { rate_hz: f64, samples: usize },
    /// A frequency response: receptance times (i omega) to this power.
    Response { power: i32 },
}

impl Kind {
    /// Spectrum of a unit residue at pole `s`, and its derivative by `s`.
    fn tone(self, s: C, omega: f64) -> (C, C) {
        match self {
            Kind::Decay { rate_hz, samples } => {
                let dt = 1.0 / rate_hz;
                let seconds = samples as f64 * dt;
                let end = (s * seconds).exp();
                let u = ((s - C::new(0.0, omega)) * dt).exp();
                let inverse = (C::new(1.0, 0.0) - u).inv();
                let value = (C::new(1.0, 0.0) - end) * inverse;
                (value, (value * u * dt - end * seconds) * inverse)
            }
            Kind::Response { power } => {
                let scale = C::new(0.0, omega).powi(power);
                let inverse = (C::new(0.0, omega) - s).inv();
                (scale * inverse, scale * inverse * inverse)
            }
        }
    }

    /// Smooth columns for what lies outside the band.
    fn background(self, omega: &[f64]) -> Vec<Vec<C>> {
        let (first, last) = (omega[0], omega[omega.len() - 1]);
        match self {
            Kind::Decay { .. } => (0..3)
                .map(|j| {
                    let x = |w: f64| (2.0 * (w - first) / (last - first).max(1e-9) - 1.0).clamp(-1.0, 1.0);
                    omega.iter().map(|&w| C::new((f64::from(j) * x(w).acos()).cos(), 0.0)).collect()
                })
                .collect(),
            // modes below act as a mass, modes above as a spring with a little of their own slope
            Kind::Response { power } => [-2, 0, 2]
                .into_iter()
                .map(|k| omega.iter().map(|&w| C::new(0.0, w / last).powi(power) * (w / last).powi(k)).collect())
                .collect(),
        }
    }
}

/// Columns of reals: the real parts over the imaginary parts. For each mode those of its residue's real and imaginary part,
/// then (where `slopes`) those of the product of residue and pole step, then the background.
pub(super) fn columns(kind: Kind, poles: &[C], omega: &[f64], slopes: bool) -> Vec<Vec<f64>> {
    let stacked = |v: &[C]| v.iter().map(|c| c.re).chain(v.iter().map(|c| c.im)).collect::<Vec<f64>>();
    let pair = |a: &[C], b: &[C]| {
        let sum: Vec<C> = a.iter().zip(b).map(|(a, b)| a + b).collect();
        let difference: Vec<C> = a.iter().zip(b).map(|(a, b)| C::new(0.0, 1.0) * (a - b)).collect();
        [stacked(&sum), stacked(&difference)]
    };
    let (mut values, mut by) = (Vec::new(), Vec::new());
    for &s in poles {
        let own: Vec<(C, C)> = omega.iter().map(|&w| kind.tone(s, w)).collect();
        let image: Vec<(C, C)> = omega.iter().map(|&w| kind.tone(s.conj(), w)).collect();
        let part = |list: &[(C, C)], k: usize| list.iter().map(|t| if k == 0 { t.0 } else { t.1 }).collect::<Vec<C>>();
        values.extend(pair(&part(&own, 0), &part(&image, 0)));
        if slopes {
            by.extend(pair(&part(&own, 1), &part(&image, 1)));
        }
    }
    values.extend(by);
    for b in kind.background(omega) {
        let turned: Vec<C> = b.iter().map(|v| v * C::new(0.0, 1.0)).collect();
        values.push(stacked(&b));
        values.push(stacked(&turned));
    }
    values
}

/// Columns made orthonormal: least squares for many right-hand sides.
pub(super) struct Solver {
    q: Vec<Vec<f64>>,
    /// Upper triangle, by column; a column that the others already hold is left out (0 on the diagonal).
    r: Vec<Vec<f64>>,
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

impl Solver {
    pub fn new(columns: Vec<Vec<f64>>) -> Self {
        let (mut q, mut r): (Vec<Vec<f64>>, Vec<Vec<f64>>) = (Vec::new(), Vec::new());
        for mut v in columns {
            let size = dot(&v, &v).sqrt();
            let mut coefficients = vec![0.0; q.len() + 1];
            for _ in 0..2 {
                for (k, e) in q.iter().enumerate() {
                    let d = dot(e, &v);
                    coefficients[k] += d;
                    v.iter_mut().zip(e).for_each(|(v, e)| *v -= d * e);
                }
            }
            let left = dot(&v, &v).sqrt();
            if left > 1e-11 * size && left > 0.0 && left.is_finite() {
                v.iter_mut().for_each(|v| *v /= left);
                coefficients[q.len()] = left;
            } else {
                v.iter_mut().for_each(|v| *v = 0.0);
            }
            q.push(v);
            r.push(coefficients);
        }
        Self { q, r }
    }

    /// Coefficients, and the sum of squares that is left over.
    pub fn solve(&self, b: &[f64]) -> (Vec<f64>, f64) {
        let mut left = b.to_vec();
        let mut x: Vec<f64> = Vec::with_capacity(self.q.len());
        for e in &self.q {
            let d = dot(e, &left);
            left.iter_mut().zip(e).for_each(|(l, e)| *l -= d * e);
            x.push(d);
        }
        for j in (0..x.len()).rev() {
            x[j] = if self.r[j][j] > 0.0 { x[j] / self.r[j][j] } else { 0.0 };
            for k in 0..j {
                x[k] -= self.r[j][k] * x[j];
            }
        }
        (x, dot(&left, &left))
    }

    /// Variance of each coefficient for noise of unit variance: squared length of the rows of the inverse of R.
    pub fn variances(&self) -> Vec<f64> {
        let n = self.r.len();
        let mut out = vec![0.0; n];
        // columns of the inverse, one after another
        for c in 0..n {
            if self.r[c][c] <= 0.0 {
                continue;
            }
            let mut x = vec![0.0; c + 1];
            x[c] = 1.0 / self.r[c][c];
            for j in (0..=c).rev() {
                if j < c {
                    x[j] = if self.r[j][j] > 0.0 { x[j] / self.r[j][j] } else { 0.0 };
                }
                for k in 0..j {
                    x[k] -= self.r[j][k] * x[j];
                }
                out[j] += x[j] * x[j];
            }
        }
        out
    }
}
