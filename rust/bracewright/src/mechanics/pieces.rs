//! Functions of one variable made of polynomial pieces: heights, widths and arches of a brace.
//!
//! Every shape of this library becomes polynomials on intervals: exactly where it is polynomial, to
//! machine precision where it is a cosine or an arc. So evaluation, slopes, integrals and crossings
//! are one code for all of them. Jumps between pieces are allowed (a notch has walls).

mod fit;
mod roots;

use fit::chebyshev_fit;
use roots::roots;

use crate::mechanics::quadrature::merge_breaks;
use crate::mechanics::simd;

/// Most coefficients of one piece.
pub const MAX_COEFFICIENTS: usize = 20;

/// A polynomial in t on [-1, 1]: `c[0] + c[1] t + ...`, `n` coefficients in use.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Poly {
    /// Coefficients in use, 1..=[`MAX_COEFFICIENTS`].
    pub n: usize,
    /// Coefficients by power of t; those from `n` on are zero.
    pub c: [f64; MAX_COEFFICIENTS],
}

impl Poly {
    /// From coefficients by power; more than [`MAX_COEFFICIENTS`] are cut off.
    pub fn new(coefficients: &[f64]) -> Self {
        let n = coefficients.len().clamp(1, MAX_COEFFICIENTS);
        let mut c = [0.0; MAX_COEFFICIENTS];
        let m = n.min(coefficients.len());
        c[..m].copy_from_slice(&coefficients[..m]);
        Self { n, c }
    }

    /// Value at t.
    #[inline]
    pub fn at(&self, t: f64) -> f64 {
        let mut v = 0.0;
        for k in (0..self.n).rev() {
            v = v * t + self.c[k];
        }
        v
    }

    /// Derivative with respect to t, at t.
    #[inline]
    pub fn slope(&self, t: f64) -> f64 {
        let mut v = 0.0;
        for k in (1..self.n).rev() {
            v = v * t + k as f64 * self.c[k];
        }
        v
    }

    fn derivative(&self) -> Self {
        let mut c = [0.0; MAX_COEFFICIENTS];
        for k in 1..self.n {
            c[k - 1] = k as f64 * self.c[k];
        }
        Self { n: (self.n - 1).max(1), c }
    }

    /// The polynomial t -> self(m + r t): the same function seen from a smaller interval.
    pub fn rebased(&self, m: f64, r: f64) -> Self {
        let mut out = [0.0; MAX_COEFFICIENTS];
        // Horner in polynomial arithmetic: out <- out * (m + r t) + c_k
        for k in (0..self.n).rev() {
            for j in (0..self.n).rev() {
                out[j] = out[j] * m + if j > 0 { out[j - 1] * r } else { 0.0 };
            }
            out[0] += self.c[k];
        }
        Self { n: self.n, c: out }
    }

    /// Value at zero and a bound on how far the rest can move it on [-1, 1].
    fn centre_and_reach(&self) -> (f64, f64) {
        (self.c[0], self.c[1..self.n].iter().map(|v| v.abs()).sum())
    }

    fn combined(&self, other: &Self, a: f64, b: f64) -> Self {
        let mut c = [0.0; MAX_COEFFICIENTS];
        for k in 0..self.n.max(other.n) {
            c[k] = a * self.c[k] + b * other.c[k];
        }
        Self { n: self.n.max(other.n), c }
    }
}

/// Polynomial pieces between increasing breaks.
#[derive(Debug, Clone, PartialEq)]
pub struct Pieces {
    breaks: Vec<f64>,
    polys: Vec<Poly>,
}

impl Pieces {
    /// From breaks (increasing, one more than `polys`). The caller ensures that.
    pub fn new(breaks: Vec<f64>, polys: Vec<Poly>) -> Self {
        debug_assert_eq!(breaks.len(), polys.len() + 1);
        Self { breaks, polys }
    }

    /// One value from `a` to `b`.
    pub fn constant(a: f64, b: f64, value: f64) -> Self {
        Self::new(vec![a, b], vec![Poly::new(&[value])])
    }

    /// A straight line from (a, va) to (b, vb).
    pub fn line(a: f64, b: f64, va: f64, vb: f64) -> Self {
        Self::new(vec![a, b], vec![line(va, vb)])
    }

    /// Fits `f`, smooth between `breaks`, to `tolerance` (absolute) by interpolation at Chebyshev points;
    /// an interval that needs a higher degree is halved, down to a 4096th part of the whole.
    pub fn fit(breaks: &[f64], tolerance: f64, f: impl Fn(f64) -> f64) -> Self {
        let whole = breaks[breaks.len() - 1] - breaks[0];
        let mut out = Self { breaks: vec![breaks[0]], polys: Vec::new() };
        for pair in breaks.windows(2) {
            let mut todo = vec![(pair[0], pair[1])];
            while let Some((a, b)) = todo.pop() {
                let (poly, tail) = chebyshev_fit(a, b, &f);
                if tail <= tolerance || (b - a) < whole / 4096.0 {
                    out.breaks.push(b);
                    out.polys.push(poly);
                } else {
                    let m = 0.5 * (a + b);
                    todo.push((m, b));
                    todo.push((a, m));
                }
            }
        }
        out
    }

    /// Where one polynomial ends and the next begins, ends included.
    pub fn breaks(&self) -> &[f64] {
        &self.breaks
    }

    /// The polynomials, one between each pair of breaks.
    pub fn polys(&self) -> &[Poly] {
        &self.polys
    }

    /// Left end.
    pub fn start(&self) -> f64 {
        self.breaks[0]
    }

    /// Right end.
    pub fn end(&self) -> f64 {
        self.breaks[self.breaks.len() - 1]
    }

    /// Index of the piece that holds `x`; at a break the piece to the right, at the end the last one.
    pub fn index(&self, x: f64) -> usize {
        let i = self.breaks.partition_point(|&b| b <= x);
        i.clamp(1, self.polys.len()) - 1
    }

    fn local(&self, i: usize, x: f64) -> f64 {
        let (a, b) = (self.breaks[i], self.breaks[i + 1]);
        (2.0 * x - a - b) / (b - a)
    }

    /// Value at `x` (at a jump the value to the right). Outside the ends the end value is held.
    pub fn at(&self, x: f64) -> f64 {
        let x = x.clamp(self.start(), self.end());
        let i = self.index(x);
        self.polys[i].at(self.local(i, x))
    }

    /// Value and slope at `x`, as seen from the interval that contains `inside`.
    pub fn at_from(&self, x: f64, inside: f64) -> (f64, f64) {
        let i = self.index(inside);
        let t = self.local(i, x);
        (self.polys[i].at(t), self.polys[i].slope(t) * 2.0 / (self.breaks[i + 1] - self.breaks[i]))
    }

    /// Second derivative of piece `i` at its left (t = -1) or right (t = 1) end.
    pub(crate) fn end_curvature(&self, i: usize, t: f64) -> f64 {
        let p = &self.polys[i];
        let half = 0.5 * (self.breaks[i + 1] - self.breaks[i]);
        (2..p.n).map(|k| (k * (k - 1)) as f64 * p.c[k] * t.powi(k as i32 - 2)).sum::<f64>() / (half * half)
    }

    /// Slope at `x` (right of a break).
    pub fn slope(&self, x: f64) -> f64 {
        let x = x.clamp(self.start(), self.end());
        self.at_from(x, x).1
    }

    /// Values at sorted or unsorted `x`; sorted stations are evaluated a piece at a time.
    pub fn fill(&self, x: &[f64], out: &mut [f64]) {
        let mut i = 0;
        while i < x.len() {
            let p = self.index(x[i].clamp(self.start(), self.end()));
            let last = p + 1 == self.polys.len();
            let (a, b) = (self.breaks[p], self.breaks[p + 1]);
            let (low, high) = (if p == 0 { f64::NEG_INFINITY } else { a }, if last { f64::INFINITY } else { b });
            let mut j = i + 1;
            // a run of stations that stay in this piece, by sixteens while it lasts
            while x[j..].first_chunk::<16>().is_some_and(|c| c.iter().fold(true, |s, x| s & (*x >= low) & (*x < high))) {
                j += 16;
            }
            while j < x.len() && x[j] >= low && (last || x[j] < high) {
                j += 1;
            }
            simd::horner(&self.polys[p].c[..self.polys[p].n], 2.0 / (b - a), -(a + b) / (b - a), &x[i..j], &mut out[i..j]);
            i = j;
        }
    }

    /// Definite integral over [a, b] inside the ends, exact.
    pub fn integral(&self, a: f64, b: f64) -> f64 {
        let mut sum = 0.0;
        for i in self.index(a)..=self.index(b) {
            let p = &self.polys[i];
            let (l, r) = (self.breaks[i].max(a), self.breaks[i + 1].min(b));
            if r > l {
                let half = 0.5 * (self.breaks[i + 1] - self.breaks[i]);
                let (t0, t1) = (self.local(i, l), self.local(i, r));
                let mut s = 0.0;
                for k in (0..p.n).rev() {
                    s += p.c[k] * (t1.powi(k as i32 + 1) - t0.powi(k as i32 + 1)) / (k as f64 + 1.0);
                }
                sum += s * half;
            }
        }
        sum
    }

    /// Least and greatest value over [a, b] and where they stand: `((x, min), (x, max))`.
    pub fn extremes(&self, a: f64, b: f64) -> ((f64, f64), (f64, f64)) {
        let (mut low, mut high) = ((a, f64::INFINITY), (a, f64::NEG_INFINITY));
        for (i, p) in self.polys.iter().enumerate() {
            let (l, r) = (self.breaks[i].max(a), self.breaks[i + 1].min(b));
            if r < l || (r == l && a != b) {
                continue;
            }
            let (t0, t1) = (self.local(i, l), self.local(i, r));
            let inner = if p.n < 3 {
                vec![]
            } else {
                let size = p.c[..p.n].iter().fold(0.0_f64, |m, c| m.max(c.abs()));
                let (m, h) = (0.5 * (t0 + t1), 0.5 * (t1 - t0));
                let slope = p.derivative();
                let sub = if (m, h) == (0.0, 1.0) { slope } else { slope.rebased(m, h) };
                roots(&sub, 1e-10, size).iter().map(|s| m + h * s).collect()
            };
            for t in [t0, t1].into_iter().chain(inner) {
                let v = p.at(t);
                let x = 0.5 * (self.breaks[i] + self.breaks[i + 1]) + 0.5 * (self.breaks[i + 1] - self.breaks[i]) * t;
                if v < low.1 {
                    low = (x, v);
                }
                if v > high.1 {
                    high = (x, v);
                }
            }
        }
        (low, high)
    }

    /// Where the function passes `level`, without those at breaks.
    pub fn crossings(&self, level: f64) -> Vec<f64> {
        let mut out = Vec::new();
        for (i, p) in self.polys.iter().enumerate() {
            let mut q = *p;
            q.c[0] -= level;
            let (centre, reach) = q.centre_and_reach();
            if centre.abs() > reach {
                continue;
            }
            let size = q.c[..q.n].iter().fold(level.abs(), |m, c| m.max(c.abs()));
            let (a, b) = (self.breaks[i], self.breaks[i + 1]);
            out.extend(roots(&q, 1e-12, size).iter().filter(|t| t.abs() < 1.0 - 1e-9).map(|t| 0.5 * (a + b) + 0.5 * (b - a) * t));
        }
        out
    }

    /// Steepest slope met at nine places of each piece, as a magnitude.
    pub fn steepest(&self) -> f64 {
        let mut most = 0.0_f64;
        for (i, p) in self.polys.iter().enumerate() {
            let half = 0.5 * (self.breaks[i + 1] - self.breaks[i]);
            for k in 0..=8 {
                most = most.max(p.slope(-1.0 + 0.25 * f64::from(k)).abs() / half);
            }
        }
        most
    }

    /// Extremes of piece `i` alone: at its ends as seen from inside it.
    pub fn extremes_of_piece(&self, i: usize) -> ((f64, f64), (f64, f64)) {
        Self { breaks: self.breaks[i..=i + 1].to_vec(), polys: vec![self.polys[i]] }.extremes(self.breaks[i], self.breaks[i + 1])
    }

    /// The same function with more breaks; those outside the ends are ignored.
    pub fn refined(&self, breaks: &[f64]) -> Self {
        let all = merge_breaks(self.start(), self.end(), &[&self.breaks, breaks], 1e-9 * (self.end() - self.start()));
        self.on(&all)
    }

    /// The function re-expressed on `breaks`, which must contain its own (to rounding).
    fn on(&self, breaks: &[f64]) -> Self {
        let polys = breaks
            .windows(2)
            .map(|w| {
                let i = self.index(0.5 * (w[0] + w[1]));
                let (a, b) = (self.breaks[i], self.breaks[i + 1]);
                if a == w[0] && b == w[1] {
                    self.polys[i]
                } else {
                    self.polys[i].rebased((w[0] + w[1] - a - b) / (b - a), (w[1] - w[0]) / (b - a))
                }
            })
            .collect();
        Self { breaks: breaks.to_vec(), polys }
    }

    fn common(&self, other: &Self) -> (Self, Self) {
        let (a, b) = (self.start().max(other.start()), self.end().min(other.end()));
        let all = merge_breaks(a, b, &[&self.breaks, &other.breaks], 1e-9 * (b - a));
        (self.on(&all), other.on(&all))
    }

    /// `a * self + b * other` on the interval both cover.
    pub fn combined(&self, other: &Self, a: f64, b: f64) -> Self {
        let (p, q) = self.common(other);
        let polys = p.polys.iter().zip(&q.polys).map(|(x, y)| x.combined(y, a, b)).collect();
        Self { breaks: p.breaks, polys }
    }

    /// `self + value`.
    pub fn plus(&self, value: f64) -> Self {
        let mut out = self.clone();
        for p in &mut out.polys {
            p.c[0] += value;
        }
        out
    }

    /// `self * factor`.
    pub fn times(&self, factor: f64) -> Self {
        let mut out = self.clone();
        for p in &mut out.polys {
            for c in &mut p.c {
                *c *= factor;
            }
        }
        out
    }

    /// The part between `a` and `b`.
    pub fn between(&self, a: f64, b: f64) -> Self {
        self.on(&merge_breaks(a, b, &[&self.breaks], 1e-12 * (self.end() - self.start())))
    }

    /// Mirrored about the middle of its own interval.
    pub fn mirrored(&self) -> Self {
        let (a, b) = (self.start(), self.end());
        let breaks = self.breaks.iter().rev().map(|x| a + b - x).collect();
        let polys = self
            .polys
            .iter()
            .rev()
            .map(|p| {
                let mut q = *p;
                for k in (1..q.n).step_by(2) {
                    q.c[k] = -q.c[k];
                }
                q
            })
            .collect();
        Self { breaks, polys }
    }

    /// The lower of the two at each x, kinks found to 1e-12 of the length.
    pub fn min(&self, other: &Self) -> Self {
        self.chosen(other, |d| d <= 0.0)
    }

    /// The higher of the two at each x.
    pub fn max(&self, other: &Self) -> Self {
        self.chosen(other, |d| d >= 0.0)
    }

    fn chosen(&self, other: &Self, keep_self: impl Fn(f64) -> bool) -> Self {
        let (p, q) = self.common(other);
        let mut out = Self { breaks: vec![p.breaks[0]], polys: Vec::new() };
        for i in 0..p.polys.len() {
            let (a, b) = (p.breaks[i], p.breaks[i + 1]);
            let diff = p.polys[i].combined(&q.polys[i], 1.0, -1.0);
            let size = p.polys[i].c.iter().chain(&q.polys[i].c).fold(0.0_f64, |m, c| m.max(c.abs()));
            let mut roots = roots(&diff, 1e-12, size);
            roots.sort_by(f64::total_cmp);
            roots.retain(|t| *t > -1.0 + 1e-9 && *t < 1.0 - 1e-9);
            roots.dedup_by(|x, y| (*x - *y).abs() < 1e-9);
            let mut ends = vec![-1.0];
            ends.extend(roots);
            ends.push(1.0);
            for w in ends.windows(2) {
                let (mid, half) = (0.5 * (w[0] + w[1]), 0.5 * (w[1] - w[0]));
                // three places: the curves may touch at one of them without crossing
                let d = diff.at(mid - 0.61 * half) + diff.at(mid) + diff.at(mid + 0.37 * half);
                let from = if keep_self(d) { &p.polys[i] } else { &q.polys[i] };
                out.polys.push(from.rebased(mid, half));
                out.breaks.push(if w[1] == 1.0 { b } else { 0.5 * (a + b) + 0.5 * (b - a) * w[1] });
            }
        }
        out
    }
}

/// The straight line on [-1, 1] through both end values.
pub fn line(left: f64, right: f64) -> Poly {
    if left == right { Poly::new(&[left]) } else { Poly::new(&[0.5 * (left + right), 0.5 * (right - left)]) }
}
