//! The section beam: EI(x) and GA(x) of the drawing, bending with or without shear, plane sections.
//!
//! x runs along the brace; loads and deflections are positive downward, a sagging moment M is positive.
//! With the rigid motion a + b x,
//!
//! w(X) = a + b X - int_0^X (X - s) M(s)/EI ds + int_0^X V(s)/GA ds
//!
//! integrated by Gauss-Legendre between all kinks, loads and supports: exact statics, any supports.

use crate::mechanics::dense::{self, Square};
use crate::mechanics::quadrature::{gauss, legendre, merge_breaks};

/// Points between two kinks unless asked otherwise: 1e-12 on ordinary scallops.
pub const POINTS: usize = 16;

/// A load, positive downward.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Load {
    /// Left edge.
    pub start: f64,
    /// Right edge; the same as `start` for a point load.
    pub end: f64,
    /// Total force.
    pub force: f64,
}

impl Load {
    /// A force at one point.
    pub fn point(x: f64, force: f64) -> Self {
        Self { start: x, end: x, force }
    }

    /// The same total force spread evenly from `start` to `end`.
    pub fn spread(start: f64, end: f64, force: f64) -> Self {
        Self { start, end, force }
    }

    /// Moment (about x) and shear just right of x that this load alone causes, counted from the left end.
    fn moment_and_shear(&self, x: f64) -> (f64, f64) {
        if x <= self.start {
            (0.0, 0.0)
        } else if x >= self.end || self.end == self.start {
            (-self.force * (x - 0.5 * (self.start + self.end)), -self.force)
        } else {
            let q = self.force / (self.end - self.start);
            let d = x - self.start;
            (-0.5 * q * d * d, -q * d)
        }
    }
}

/// What a support holds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Support {
    /// Held vertically, giving `compliance` (deflection per force; 0 is rigid).
    Rest {
        /// Where.
        x: f64,
        /// Deflection per unit of force.
        compliance: f64,
    },
    /// Held vertically and against turning.
    Clamp {
        /// Where.
        x: f64,
    },
}

impl Support {
    /// A rigid rest.
    pub fn rest(x: f64) -> Self {
        Self::Rest { x, compliance: 0.0 }
    }

    fn x(&self) -> f64 {
        match *self {
            Self::Rest { x, .. } | Self::Clamp { x } => x,
        }
    }
}

/// Flexibilities at the points of a quadrature rule.
#[derive(Debug, Clone, PartialEq)]
pub struct Flexibility {
    start: f64,
    breaks: Vec<f64>,
    points: usize,
    x: Vec<f64>,
    weight: Vec<f64>,
    bend: Vec<f64>,
    shear: Vec<f64>,
}

/// Where everything stands once solved.
#[derive(Debug, Clone, PartialEq)]
pub struct Static {
    loads: Vec<Load>,
    reactions: Vec<(f64, f64, f64)>,
    rigid: (f64, f64),
}

impl Flexibility {
    /// Samples `f(x, inside)` = (1/EI, 1/GA) with `points` Gauss points in each interval between the `breaks`
    /// (kinks, loads and supports; increasing; the ends of the beam first and last).
    pub fn new(breaks: Vec<f64>, points: usize, f: impl Fn(f64, f64) -> (f64, f64)) -> Self {
        let (t, w) = gauss(points);
        let n = (breaks.len() - 1) * t.len();
        let (mut x, mut weight, mut bend, mut shear) =
            (Vec::with_capacity(n), Vec::with_capacity(n), Vec::with_capacity(n), Vec::with_capacity(n));
        for pair in breaks.windows(2) {
            let (a, len) = (pair[0], pair[1] - pair[0]);
            for (t, w) in t.iter().zip(w) {
                let xi = a + len * t;
                let (fb, fs) = f(xi, a + 0.5 * len);
                x.push(xi);
                weight.push(len * w);
                bend.push(fb);
                shear.push(fs);
            }
        }
        Self { start: breaks[0], breaks, points: t.len(), x, weight, bend, shear }
    }

    /// The breaks a problem needs: kinks of the beam with every load and support.
    pub fn breaks_for(kinks: &[f64], loads: &[Load], supports: &[Support], more: &[f64]) -> Vec<f64> {
        let mut extra: Vec<f64> = loads.iter().flat_map(|l| [l.start, l.end]).collect();
        extra.extend(supports.iter().map(Support::x));
        let (a, b) = (kinks[0], kinks[kinks.len() - 1]);
        merge_breaks(a, b, &[kinks, &extra, more], 1e-9 * (b - a))
    }

    /// Deflection at `at` from the moments and shears of `m`, without rigid motion.
    fn strain_part(&self, at: f64, m: impl Fn(f64) -> (f64, f64)) -> f64 {
        let mut sum = 0.0;
        for i in 0..self.x.len() {
            let s = self.x[i];
            if s < at {
                let (moment, v) = m(s);
                sum += self.weight[i] * (-(at - s) * moment * self.bend[i] + v * self.shear[i]);
            }
        }
        sum
    }

    /// Turn of the section at `at` from bending, without rigid motion.
    fn turn_part(&self, at: f64, m: impl Fn(f64) -> (f64, f64)) -> f64 {
        let mut sum = 0.0;
        for i in 0..self.x.len() {
            if self.x[i] < at {
                sum -= self.weight[i] * m(self.x[i]).0 * self.bend[i];
            }
        }
        sum
    }

    /// Solves for the reactions and the rigid motion. `None` when the supports do not hold the beam.
    pub fn solve(&self, loads: &[Load], supports: &[Support]) -> Option<Static> {
        // unknowns: one force a support, one couple a clamp, then the rigid a and b
        let mut unknown: Vec<(f64, bool, f64)> = Vec::new(); // x, is a couple, compliance
        for s in supports {
            match *s {
                Support::Rest { x, compliance } => unknown.push((x, false, compliance)),
                Support::Clamp { x } => {
                    unknown.push((x, false, 0.0));
                    unknown.push((x, true, 0.0));
                }
            }
        }
        let n = unknown.len();
        let mut a = Square::zeros(n + 2);
        let mut b = vec![0.0; n + 2];
        let x0 = self.start;
        let of_unknown = |k: usize, x: f64| {
            let (s, couple, _) = unknown[k];
            if x <= s {
                (0.0, 0.0)
            } else if couple {
                (1.0, 0.0)
            } else {
                (x - s, 1.0)
            }
        };
        let of_loads = |x: f64| {
            loads.iter().fold((0.0, 0.0), |s, l| {
                let m = l.moment_and_shear(x);
                (s.0 + m.0, s.1 + m.1)
            })
        };
        // lengths and forces enter one system: scale the rows of displacement by a typical flexibility
        let scale = self.strain_part(self.breaks[self.breaks.len() - 1], |s| (s - x0, 1.0)).abs().max(f64::MIN_POSITIVE);
        for (i, &(x, couple, compliance)) in unknown.iter().enumerate() {
            for k in 0..n {
                let v = if couple { self.turn_part(x, |s| of_unknown(k, s)) } else { self.strain_part(x, |s| of_unknown(k, s)) };
                a[(i, k)] = v / scale;
            }
            a[(i, i)] -= compliance / scale; // an upward reaction R lets the beam sink by c R: w - c R = 0
            a[(i, n)] = if couple { 0.0 } else { 1.0 };
            a[(i, n + 1)] = if couple { 1.0 } else { x - x0 };
            let l = if couple { self.turn_part(x, of_loads) } else { self.strain_part(x, of_loads) };
            b[i] = -l / scale;
            // equilibrium: forces, and moments about the left end
            a[(n, i)] = if couple { 0.0 } else { 1.0 };
            a[(n + 1, i)] = if couple { -1.0 } else { x - x0 };
        }
        for l in loads {
            b[n] += l.force;
            b[n + 1] += l.force * (0.5 * (l.start + l.end) - x0);
        }
        let v = dense::solve(&a, &b)?;
        // a beam that is not held comes back with an equation unmet
        let largest = v.iter().fold(0.0_f64, |m, x| m.max(x.abs()));
        for i in 0..n + 2 {
            let left: f64 = (0..n + 2).map(|k| a[(i, k)] * v[k]).sum();
            if (left - b[i]).abs() > 1e-6 * (b[i].abs() + largest) {
                return None;
            }
        }
        let reactions =
            unknown.iter().zip(&v).map(|(&(x, couple, _), &r)| if couple { (x, 0.0, r) } else { (x, r, 0.0) }).collect();
        Some(Static { loads: loads.to_vec(), reactions, rigid: (v[n] * scale, v[n + 1] * scale) })
    }

    /// Deflection at `at`, positive downward.
    pub fn deflection(&self, s: &Static, at: f64) -> f64 {
        s.rigid.0 + s.rigid.1 * (at - self.start) + self.strain_part(at, |x| s.moment_and_shear(x))
    }

    /// Deflections at many places.
    pub fn deflections(&self, s: &Static, at: &[f64]) -> Vec<f64> {
        at.iter().map(|&x| self.deflection(s, x)).collect()
    }

    /// Work of the moments and shears of two states on each other: the deflection under one load system in the
    /// direction of the other, when both are in equilibrium over rigid supports.
    pub fn mutual(&self, m: impl Fn(f64) -> (f64, f64), n: impl Fn(f64) -> (f64, f64)) -> f64 {
        let mut sum = 0.0;
        for i in 0..self.x.len() {
            let ((m1, v1), (m2, v2)) = (m(self.x[i]), n(self.x[i]));
            sum += self.weight[i] * (m1 * m2 * self.bend[i] + v1 * v2 * self.shear[i]);
        }
        sum
    }
}

impl Static {
    /// Bending moment and shear force just right of `x`.
    pub fn moment_and_shear(&self, x: f64) -> (f64, f64) {
        let mut sum = (0.0, 0.0);
        for l in &self.loads {
            let m = l.moment_and_shear(x);
            sum = (sum.0 + m.0, sum.1 + m.1);
        }
        for &(s, force, couple) in &self.reactions {
            if x > s {
                sum = (sum.0 + force * (x - s) + couple, sum.1 + force);
            }
        }
        sum
    }

    /// Upward force (and couple) of each support: `(x, force, couple)`.
    pub fn reactions(&self) -> &[(f64, f64, f64)] {
        &self.reactions
    }
}

/// What a vibration needs to know of the section at a point.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Inertia {
    /// EI.
    pub bend: f64,
    /// GA with its shear factor.
    pub shear: f64,
    /// Mass per length.
    pub mass: f64,
    /// Rotary inertia per length, rho I.
    pub rotary: f64,
}

/// Free bending vibration: angular frequencies squared.
///
/// The unknowns are the curvature and the shear strain, each a Legendre series on every interval; the deflection is
/// their integral, so that slender beams do not lock and steps in EI cost nothing. `degree` is that of the
/// curvature; without `shear` plane sections stay square to the axis (Euler-Bernoulli), rotary inertia left out.
/// `lumps` are point masses `(x, m)`. Rigid motions are not returned. `None` when the section has no mass or stiffness.
pub fn vibrations(
    breaks: &[f64],
    degree: usize,
    shear: bool,
    f: impl Fn(f64, f64) -> Inertia,
    supports: &[Support],
    lumps: &[(f64, f64)],
    count: usize,
) -> Option<Vec<f64>> {
    let nb = degree + 1;
    let pieces = breaks.len() - 1;
    let per = if shear { 2 * nb } else { nb };
    let n = pieces * per + 2;
    let x0 = breaks[0];
    let length = breaks[pieces] - x0;
    let (t, weights) = gauss((degree + 6).min(40));
    // basis at x: deflection, turn (psi), curvature and shear strain of every unknown
    let basis = |x: f64, piece: usize, w: &mut [f64], psi: &mut [f64]| {
        w.fill(0.0);
        psi.fill(0.0);
        w[n - 2] = 1.0;
        w[n - 1] = (x - x0) / length;
        psi[n - 1] = 1.0 / length;
        let (mut p, mut dp) = ([0.0; 64], [0.0; 64]);
        for k in 0..=piece {
            let (a, half) = (breaks[k], 0.5 * (breaks[k + 1] - breaks[k]));
            let s = ((x - a) / half - 1.0).min(1.0);
            let beyond = (x - breaks[k + 1]).max(0.0);
            legendre(s, &mut p[..nb + 3], &mut dp[..nb + 3]);
            for i in 0..nb {
                // first and second integrals of P_i from -1
                let one = if i == 0 { s + 1.0 } else { (p[i + 1] - p[i - 1]) / (2 * i + 1) as f64 };
                let first = |j: usize| if j == 0 { s + 1.0 } else { (p[j + 1] - p[j - 1]) / (2 * j + 1) as f64 };
                let two = match i {
                    0 => 0.5 * (s + 1.0) * (s + 1.0),
                    1 => (first(2) - first(0)) / 3.0,
                    _ => (first(i + 1) - first(i - 1)) / (2 * i + 1) as f64,
                };
                let end_one = if i == 0 { 2.0 } else { 0.0 };
                psi[k * per + i] = half * if beyond > 0.0 { end_one } else { one };
                w[k * per + i] = half * half * two + half * end_one * beyond;
                if shear {
                    w[k * per + nb + i] = half * if beyond > 0.0 { end_one } else { one };
                }
            }
        }
    };
    let (mut w, mut psi) = (vec![0.0; n], vec![0.0; n]);
    let mut km = Square::zeros(n);
    let mut mm = Square::zeros(n);
    let (mut p, mut dp) = ([0.0; 64], [0.0; 64]);
    let (mut stiff, mut heavy) = (0.0_f64, 0.0_f64);
    for k in 0..pieces {
        let (a, len) = (breaks[k], breaks[k + 1] - breaks[k]);
        for (ti, wi) in t.iter().zip(weights) {
            let x = a + len * ti;
            let q = f(x, a + 0.5 * len);
            basis(x, k, &mut w, &mut psi);
            legendre(2.0 * ti - 1.0, &mut p[..nb], &mut dp[..nb]);
            let dx = len * wi;
            (stiff, heavy) = (stiff + dx * q.bend, heavy + dx * q.mass);
            for i in 0..nb {
                for j in 0..nb {
                    km[(k * per + i, k * per + j)] += dx * q.bend * p[i] * p[j];
                    if shear {
                        km[(k * per + nb + i, k * per + nb + j)] += dx * q.shear * p[i] * p[j];
                    }
                }
            }
            let rotary = if shear { q.rotary } else { 0.0 };
            // unknowns of later pieces are zero here; the last two are the rigid motions
            let live = (k + 1) * per;
            for i in (0..live).chain(n - 2..n) {
                let (wi, pi) = (dx * q.mass * w[i], dx * rotary * psi[i]);
                let row = &mut mm.a[i * n..(i + 1) * n];
                for (m, (w, psi)) in row[..live].iter_mut().zip(w.iter().zip(&psi)) {
                    *m += wi * w + pi * psi;
                }
                for j in n - 2..n {
                    row[j] += wi * w[j] + pi * psi[j];
                }
            }
        }
    }
    let piece_of = |x: f64| (breaks.partition_point(|&b| b < x)).clamp(1, pieces) - 1;
    for &(x, m) in lumps {
        basis(x, piece_of(x), &mut w, &mut psi);
        for i in 0..n {
            for j in 0..n {
                mm[(i, j)] += m * w[i] * w[j];
            }
        }
    }
    let mut rows = Vec::new();
    for s in supports {
        basis(s.x(), piece_of(s.x()), &mut w, &mut psi);
        rows.push(w.clone());
        if matches!(s, Support::Clamp { .. }) {
            rows.push(psi.clone());
        }
    }
    let clamps = supports.iter().filter(|s| matches!(s, Support::Clamp { .. })).count();
    let rigid = 2usize.saturating_sub(supports.len() + clamps);
    let z = dense::null_space(&rows, n);
    let project = |m: &Square| {
        if rows.is_empty() {
            return m.clone();
        }
        let half: Vec<Vec<f64>> =
            z.iter().map(|v| (0..n).map(|i| (0..n).map(|j| m[(i, j)] * v[j]).sum::<f64>()).collect()).collect();
        let mut out = Square::zeros(z.len());
        for i in 0..z.len() {
            for j in 0..z.len() {
                out[(i, j)] = z[i].iter().zip(&half[j]).map(|(a, b)| a * b).sum();
            }
        }
        out
    };
    let shift = 20.0 * stiff / heavy / length.powi(4);
    if !(shift.is_finite() && shift > 0.0) {
        return None;
    }
    let modes = dense::lowest_modes(&project(&km), &project(&mm), shift, count + rigid)?;
    let values: Vec<f64> = modes.into_iter().skip(rigid).map(|(v, _)| v).collect();
    values.iter().all(|v| v.is_finite() && *v > 0.0).then_some(values)
}
