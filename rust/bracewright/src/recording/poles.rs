//! Decaying tones fitted to the bins of a spectrum, all jointly, by Gauss-Newton on their poles.
//!
//! A tone 2 Re(c exp(s t)) that starts with the record has the closed spectrum c (1 - e^{sT}) / (1 - e^{(s - i w)/rate}),
//! and so has its derivative by s. Each step is one complex linear problem in those columns; the mirror image at negative
//! frequency is taken off the data with the amplitudes of the step before. Weights are one over the noise power, so the
//! inverse of the matrix is the covariance (Whittle's likelihood).

use super::decimate::{C, Column, Plan};
use crate::mechanics::simd::{dispatch, madd};

/// Where a fit ended.
#[derive(Debug, Clone)]
pub(super) struct Fit {
    /// Poles: minus the decay rate, and the angular frequency, 1/s.
    pub poles: Vec<C>,
    /// Half amplitudes with phase: the tone is 2 Re(c exp(s t)).
    pub weights: Vec<C>,
    /// Data less the model.
    pub residual: Vec<C>,
    /// Sum of |residual|^2 over noise power.
    pub cost: f64,
    /// Standard uncertainty of the real and of the imaginary part of each pole, 1/s.
    pub u_poles: Vec<f64>,
    /// Standard uncertainty of the real and of the imaginary part of each weight.
    pub u_weights: Vec<f64>,
}

/// conj(a) times b, summed, in eight running sums.
#[inline(always)]
fn dots_kernel<const FMA: bool>(a: &Column, b: &Column) -> C {
    const W: usize = 8;
    let n = a.re.len();
    let (ar, ai, br, bi) = (&a.re[..n], &a.im[..n], &b.re[..n], &b.im[..n]);
    let (mut re, mut im) = ([0.0; W], [0.0; W]);
    let whole = n / W * W;
    let blocks = ar.chunks_exact(W).zip(ai.chunks_exact(W)).zip(br.chunks_exact(W).zip(bi.chunks_exact(W)));
    for ((ar, ai), (br, bi)) in blocks {
        for i in 0..W {
            re[i] = madd::<FMA>(ar[i], br[i], re[i]);
            im[i] = madd::<FMA>(ar[i], bi[i], im[i]);
        }
        for i in 0..W {
            re[i] = madd::<FMA>(ai[i], bi[i], re[i]);
            im[i] = madd::<FMA>(-ai[i], br[i], im[i]);
        }
    }
    for i in whole..n {
        re[0] += ar[i] * br[i] + ai[i] * bi[i];
        im[0] += ar[i] * bi[i] - ai[i] * br[i];
    }
    C::new(re.iter().sum(), im.iter().sum())
}

/// conj(a) times b and conj(a) times c, summed: twice the running sums, so that the next product need not wait for the last.
#[inline(always)]
fn two_dots_kernel<const FMA: bool>(a: &Column, b: &Column, c: &Column) -> (C, C) {
    const W: usize = 8;
    let n = a.re.len() / W * W;
    let (mut br, mut bi, mut cr, mut ci) = ([0.0; W], [0.0; W], [0.0; W], [0.0; W]);
    let mut at = 0;
    while at < n {
        let (x, y) = (&a.re[at..at + W], &a.im[at..at + W]);
        let (p, q) = (&b.re[at..at + W], &b.im[at..at + W]);
        let (r, s) = (&c.re[at..at + W], &c.im[at..at + W]);
        for i in 0..W {
            br[i] = madd::<FMA>(x[i], p[i], br[i]);
            bi[i] = madd::<FMA>(x[i], q[i], bi[i]);
            cr[i] = madd::<FMA>(x[i], r[i], cr[i]);
            ci[i] = madd::<FMA>(x[i], s[i], ci[i]);
        }
        for i in 0..W {
            br[i] = madd::<FMA>(y[i], q[i], br[i]);
            bi[i] = madd::<FMA>(-y[i], p[i], bi[i]);
            cr[i] = madd::<FMA>(y[i], s[i], cr[i]);
            ci[i] = madd::<FMA>(-y[i], r[i], ci[i]);
        }
        at += W;
    }
    let (mut first, mut second) = (C::new(br.iter().sum(), bi.iter().sum()), C::new(cr.iter().sum(), ci.iter().sum()));
    for i in n..a.re.len() {
        let x = C::new(a.re[i], -a.im[i]);
        first += x * C::new(b.re[i], b.im[i]);
        second += x * C::new(c.re[i], c.im[i]);
    }
    (first, second)
}

/// The lower half of the matrix of all products, and the products with the data.
#[inline(always)]
fn gram_kernel<const FMA: bool>(columns: &[Column], data: &Column, gram: &mut [C], right: &mut [C]) {
    let m = columns.len();
    for i in 0..m {
        for j in (0..i).step_by(2) {
            (gram[i * m + j], gram[i * m + j + 1]) = two_dots_kernel::<FMA>(&columns[i], &columns[j], &columns[j + 1]);
        }
        if i % 2 == 0 {
            (gram[i * m + i], right[i]) = two_dots_kernel::<FMA>(&columns[i], &columns[i], data);
        } else {
            right[i] = dots_kernel::<FMA>(&columns[i], data);
        }
    }
}

/// value and slope of a tone over the bins: rise / (1 - u) and slope / (1 - u) + u rise dt / (1 - u)^2, times the root.
#[inline(always)]
fn tone_kernel<const FMA: bool>(
    step: C,
    rise: C,
    slope: C,
    dt: f64,
    turn: &Column,
    root: &[f64],
    value: &mut Column,
    by: &mut Column,
) {
    let n = root.len();
    let (tr, ti) = (&turn.re[..n], &turn.im[..n]);
    let (vr, vi) = (&mut value.re[..n], &mut value.im[..n]);
    let (sr, si) = (&mut by.re[..n], &mut by.im[..n]);
    for m in 0..n {
        let ur = madd::<FMA>(step.re, tr[m], -step.im * ti[m]);
        let ui = madd::<FMA>(step.re, ti[m], step.im * tr[m]);
        let (dr, di) = (1.0 - ur, -ui);
        let size = madd::<FMA>(dr, dr, di * di);
        let (ir, ii) = (dr / size, -di / size);
        let gr = madd::<FMA>(rise.re, ir, -rise.im * ii);
        let gi = madd::<FMA>(rise.re, ii, rise.im * ir);
        // slope + u g dt, times the inverse.
        let hr = madd::<FMA>(dt, madd::<FMA>(ur, gr, -ui * gi), slope.re);
        let hi = madd::<FMA>(dt, madd::<FMA>(ur, gi, ui * gr), slope.im);
        vr[m] = gr * root[m];
        vi[m] = gi * root[m];
        sr[m] = madd::<FMA>(hr, ir, -hi * ii) * root[m];
        si[m] = madd::<FMA>(hr, ii, hi * ir) * root[m];
    }
}

/// Takes top / (1 - step turn) times the root off `data`.
#[inline(always)]
fn image_kernel<const FMA: bool>(step: C, top: C, turn: &Column, root: &[f64], data: &mut Column) {
    let n = root.len();
    let (tr, ti) = (&turn.re[..n], &turn.im[..n]);
    let (xr, xi) = (&mut data.re[..n], &mut data.im[..n]);
    for m in 0..n {
        let dr = 1.0 - madd::<FMA>(step.re, tr[m], -step.im * ti[m]);
        let di = -madd::<FMA>(step.re, ti[m], step.im * tr[m]);
        let share = root[m] / madd::<FMA>(dr, dr, di * di);
        xr[m] -= madd::<FMA>(top.re, dr, top.im * di) * share;
        xi[m] -= madd::<FMA>(top.im, dr, -top.re * di) * share;
    }
}

/// A Hermitian matrix, its columns scaled to unit length, in Cholesky factors.
struct Factor {
    n: usize,
    low: Vec<C>,
    scale: Vec<f64>,
}

impl Factor {
    /// Factors the leading `n` of the `m` by `m` matrix `gram`.
    fn new(gram: &[C], m: usize, n: usize) -> Self {
        let scale: Vec<f64> = (0..n).map(|i| 1.0 / gram[i * m + i].re.max(1e-300).sqrt()).collect();
        let mut low = vec![C::new(0.0, 0.0); n * n];
        for i in 0..n {
            for j in 0..=i {
                let mut v = gram[i * m + j] * scale[i] * scale[j];
                for k in 0..j {
                    v -= low[i * n + k] * low[j * n + k].conj();
                }
                low[i * n + j] = if i == j { C::new((v.re + 1e-13).max(1e-13).sqrt(), 0.0) } else { v / low[j * n + j].re };
            }
        }
        Self { n, low, scale }
    }

    fn solve(&self, b: &[C]) -> Vec<C> {
        let n = self.n;
        let mut x: Vec<C> = (0..n).map(|i| b[i] * self.scale[i]).collect();
        for i in 0..n {
            for k in 0..i {
                let t = self.low[i * n + k] * x[k];
                x[i] -= t;
            }
            x[i] /= self.low[i * n + i].re;
        }
        for i in (0..n).rev() {
            for k in i + 1..n {
                let t = self.low[k * n + i].conj() * x[k];
                x[i] -= t;
            }
            x[i] /= self.low[i * n + i].re;
        }
        (0..n).map(|i| x[i] * self.scale[i]).collect()
    }

    /// Diagonal of the inverse: squared length of each column of the inverse of the lower factor.
    fn inverse_diagonal(&self) -> Vec<f64> {
        let n = self.n;
        (0..n)
            .map(|j| {
                let mut x = vec![C::new(0.0, 0.0); n];
                x[j] = C::new(1.0 / self.low[j * n + j].re, 0.0);
                let mut sum = x[j].norm_sqr();
                for i in j + 1..n {
                    let mut v = C::new(0.0, 0.0);
                    for k in j..i {
                        v -= self.low[i * n + k] * x[k];
                    }
                    x[i] = v / self.low[i * n + i].re;
                    sum += x[i].norm_sqr();
                }
                sum * self.scale[j] * self.scale[j]
            })
            .collect()
    }
}

/// Data, noise and smooth background of one record.
pub(super) struct Problem<'a> {
    pub plan: &'a Plan,
    pub data: &'a [C],
    /// One over the square root of the noise power of each bin.
    pub root: Vec<f64>,
    /// Number of smooth background columns (polynomials over the band).
    pub background: usize,
}

impl Problem<'_> {
    /// Whitened spectrum of a unit tone at pole `s`, and its derivative by `s`.
    fn tone(&self, s: C) -> (Column, Column) {
        let (dt, n) = (1.0 / self.plan.rate_hz, self.plan.len as f64);
        let end = (s * (dt * n)).exp();
        let (step, rise, slope) = ((s * dt).exp(), C::new(1.0, 0.0) - end, -end * (dt * n));
        let bins = self.data.len();
        let mut value = Column { re: vec![0.0; bins], im: vec![0.0; bins] };
        let mut by = value.clone();
        let (turn, root) = (&self.plan.turn, &self.root);
        dispatch!(tone_kernel(step, rise, slope, dt, turn, root, &mut value, &mut by));
        // An undamped tone on a bin: the quotient is 0 / 0, its limit is the number of samples.
        let omega = &self.plan.omega;
        let near = ((s.im - omega[0]) / (omega[1] - omega[0])).round();
        if near >= 0.0 && near < bins as f64 {
            let m = near as usize;
            let u = step * C::new(turn.re[m], turn.im[m]);
            if (C::new(1.0, 0.0) - u).norm() * n < 1e-4 {
                (value.re[m], value.im[m]) = (n * root[m], 0.0);
                (by.re[m], by.im[m]) = (0.5 * dt * n * (n - 1.0) * root[m], 0.0);
            }
        }
        (value, by)
    }

    fn background_columns(&self, count: usize) -> Vec<Column> {
        let n = self.data.len();
        (0..count)
            .map(|j| Column {
                re: (0..n)
                    .map(|m| {
                        let x = 2.0 * m as f64 / (n - 1) as f64 - 1.0;
                        (j as f64 * x.acos()).cos() * self.root[m]
                    })
                    .collect(),
                im: vec![0.0; n],
            })
            .collect()
    }

    /// Poles moved until no step is above `within` of its standard uncertainty, or `most` steps are made.
    pub fn refine(&self, start: &[C], weights: Option<&[C]>, within: f64, most: usize) -> Fit {
        let k = start.len();
        let lead = k + self.background;
        let smooth = self.background_columns(self.background);
        let seconds = self.plan.seconds();
        let mut poles = start.to_vec();
        let mut c: Vec<C> = weights.map_or_else(|| vec![C::new(0.0, 0.0); k], <[C]>::to_vec);
        let mut best: Option<(f64, Vec<C>, Vec<C>)> = None;
        let mut halved = 0;
        let mut round = 0;
        loop {
            round += 1;
            let data = self.whitened(&poles, &c);
            let (columns, gram, right) = self.normal(&poles, &smooth, &data);
            let m = columns.len();
            let amplitude = Factor::new(&gram, m, lead).solve(&right[..lead]);
            let own: f64 = right[..lead].iter().zip(&amplitude).map(|(b, a)| (b.conj() * a).re).sum();
            let all: f64 = data.re.iter().chain(&data.im).map(|v| v * v).sum();
            let cost = (all - own).max(0.0);
            if let Some((least, kept, last)) = &best
                && cost > least * (1.0 + 1e-9) + 1e-9
                && halved < 6
                && round < most
            {
                // Too far: halfway back.
                halved += 1;
                for i in 0..k {
                    poles[i] = 0.5 * (poles[i] + kept[i]);
                }
                c.clone_from(last);
                continue;
            }
            halved = 0;
            c = amplitude[..k].to_vec();
            let factor = Factor::new(&gram, m, m);
            let full = factor.solve(&right);
            let inverse = factor.inverse_diagonal();
            let u_poles: Vec<f64> = (0..k).map(|i| (0.5 * inverse[lead + i]).sqrt() / c[i].norm().max(1e-300)).collect();
            let mut largest: f64 = 0.0;
            let before = poles.clone();
            for i in 0..k {
                let mut move_by = full[lead + i] / c[i];
                let reach = 0.6 * (-poles[i].re).max(3.0 / seconds);
                if move_by.norm().is_nan() || move_by.norm() > reach {
                    move_by = if move_by.is_finite() { move_by * (reach / move_by.norm()) } else { C::new(0.0, 0.0) };
                }
                largest = largest.max(move_by.norm() / u_poles[i].max(1e-9));
                poles[i] += move_by;
                poles[i].re = poles[i].re.min(1.0 / seconds);
            }
            best = Some((cost, before, c.clone()));
            if largest <= within || round >= most {
                if round >= most || largest > 1e-2 {
                    // The last step was not tried: stay where the cost is known.
                    if let Some((_, kept, _)) = &best {
                        poles.clone_from(kept);
                    }
                }
                let u_weights = (0..k).map(|i| (0.5 * inverse[i]).sqrt()).collect();
                return Fit { residual: self.left(&columns, &amplitude, &data), poles, weights: c, cost, u_poles, u_weights };
            }
        }
    }

    /// Data less the mirror images of the tones, over the root of the noise.
    fn whitened(&self, poles: &[C], weights: &[C]) -> Column {
        let n = self.data.len();
        let mut out = Column {
            re: (0..n).map(|m| self.data[m].re * self.root[m]).collect(),
            im: (0..n).map(|m| self.data[m].im * self.root[m]).collect(),
        };
        let (dt, samples) = (1.0 / self.plan.rate_hz, self.plan.len as f64);
        for (s, c) in poles.iter().zip(weights) {
            let s = s.conj();
            let (step, top) = ((s * dt).exp(), c.conj() * (C::new(1.0, 0.0) - (s * (dt * samples)).exp()));
            let (turn, root) = (&self.plan.turn, &self.root);
            dispatch!(image_kernel(step, top, turn, root, &mut out));
        }
        out
    }

    fn normal(&self, poles: &[C], smooth: &[Column], data: &Column) -> (Vec<Column>, Vec<C>, Vec<C>) {
        let (mut columns, mut slopes): (Vec<Column>, Vec<Column>) = poles.iter().map(|s| self.tone(*s)).unzip();
        columns.extend_from_slice(smooth);
        columns.append(&mut slopes);
        let m = columns.len();
        let mut gram = vec![C::new(0.0, 0.0); m * m];
        let mut right = vec![C::new(0.0, 0.0); m];
        dispatch!(gram_kernel(&columns, data, &mut gram, &mut right));
        (columns, gram, right)
    }

    /// Data less the whole model, in the units of the data.
    fn left(&self, columns: &[Column], amplitude: &[C], data: &Column) -> Vec<C> {
        let mut out = data.clone();
        for (a, col) in amplitude.iter().zip(columns) {
            for m in 0..out.re.len() {
                out.re[m] -= a.re * col.re[m] - a.im * col.im[m];
                out.im[m] -= a.re * col.im[m] + a.im * col.re[m];
            }
        }
        (0..out.re.len()).map(|m| C::new(out.re[m], out.im[m]) / self.root[m]).collect()
    }

    /// Fall of the misfit if smooth columns alone were fitted to a residual: a lower bound of what they bring to the whole.
    pub fn smooth_fall(&self, residual: &[C], count: usize) -> f64 {
        let columns = self.background_columns(count);
        let data = Column {
            re: residual.iter().zip(&self.root).map(|(v, r)| v.re * r).collect(),
            im: residual.iter().zip(&self.root).map(|(v, r)| v.im * r).collect(),
        };
        let mut gram = vec![C::new(0.0, 0.0); count * count];
        let mut right = vec![C::new(0.0, 0.0); count];
        dispatch!(gram_kernel(&columns, &data, &mut gram, &mut right));
        let x = Factor::new(&gram, count, count).solve(&right);
        right.iter().zip(&x).map(|(b, a)| (b.conj() * a).re).sum()
    }
}
