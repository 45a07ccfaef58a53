//! The oscillators behind tapped frequencies: a start by closed forms, then least squares weighed by the uncertainties.
//!
//! Unknown are the logarithms of f_h^2, f_t^2 and g_t (and f_b^2, g_b; and of the top's mass over the added one), g = v^2 being
//! what the cavity's spring adds to a plate's square. A mass on the top scales f_t^2 and g_t by r = M / (M + m).

use super::air::BodyAir;
use super::oscillators::{Hole, levels};
use super::taps::{BodyTaps, TopIs};
use crate::error::{Error, Result, number};
use crate::mechanics::dense::{Square, solve_positive};

/// One frequency that the fit is to meet.
#[derive(Debug, Clone)]
pub(super) struct Reading {
    pub name: String,
    pub hz: f64,
    pub u_hz: f64,
    pub what: What,
}

#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum What {
    Mode {
        hole: Hole,
        with_mass: bool,
        index: usize,
    },
    /// The Helmholtz frequency as volume and hole have it.
    Helmholtz,
}

/// Which unknowns stand where.
#[derive(Debug, Clone, Copy)]
pub(super) struct Layout {
    pub back: bool,
    pub mass: bool,
}

impl Layout {
    pub const HELMHOLTZ: usize = 0;
    pub const TOP: usize = 1;
    pub const TOP_SPRING: usize = 2;
    pub const BACK: usize = 3;
    pub const BACK_SPRING: usize = 4;

    pub fn mass_at(self) -> usize {
        if self.back { 5 } else { 3 }
    }

    pub fn count(self) -> usize {
        self.mass_at() + usize::from(self.mass)
    }
}

/// A fit: the unknowns, how they move with each reading (a row an unknown), what the readings should be, chi squared.
#[derive(Debug, Clone)]
pub(super) struct Fitted {
    pub theta: Vec<f64>,
    pub gain: Vec<Vec<f64>>,
    pub hz: Vec<f64>,
    pub chi_squared: f64,
}

/// All readings, those of volume and hole last where taps alone say too little.
pub(super) fn readings(taps: &BodyTaps, air: Option<&BodyAir>) -> Vec<Reading> {
    let mut out = Vec::new();
    let mut add = |name: &str, hz: &[f64], u: &[f64], hole: Hole, with_mass: bool| {
        for (index, (&hz, &u_hz)) in hz.iter().zip(u).enumerate() {
            out.push(Reading { name: format!("{name}[{index}]"), hz, u_hz, what: What::Mode { hole, with_mass, index } });
        }
    };
    add("open_hz", &taps.open_hz, &taps.u_open_hz, Hole::Open, false);
    add("closed_hz", &taps.closed_hz, &taps.u_closed_hz, Hole::Closed, false);
    add("open_with_mass_hz", &taps.open_with_mass_hz, &taps.u_open_with_mass_hz, Hole::Open, true);
    add("closed_with_mass_hz", &taps.closed_with_mass_hz, &taps.u_closed_with_mass_hz, Hole::Closed, true);
    if let Some(air) = air {
        // it meets the fit exactly: any weight will do
        let hz = air.helmholtz_hz();
        out.push(Reading {
            name: "the Helmholtz frequency of volume and hole".into(),
            hz,
            u_hz: 0.01 * hz,
            what: What::Helmholtz,
        });
    }
    out
}

fn sum(f: &[f64]) -> f64 {
    f.iter().map(|f| f * f).sum()
}

fn product(f: &[f64]) -> f64 {
    f.iter().map(|f| f * f).product()
}

/// M / (M + m): a mass scales the determinant of either hole's matrix by it, the product of the squares.
fn mass_ratio(taps: &BodyTaps) -> Result<f64> {
    let pairs = [
        (&taps.open_hz, &taps.u_open_hz, &taps.open_with_mass_hz, &taps.u_open_with_mass_hz),
        (&taps.closed_hz, &taps.u_closed_hz, &taps.closed_with_mass_hz, &taps.u_closed_with_mass_hz),
    ];
    let (mut weight, mut total) = (0.0, 0.0);
    for (f, u, with, u_with) in pairs.into_iter().filter(|p| !p.2.is_empty()) {
        let ln = (product(with) / product(f)).ln();
        let relative = |f: &[f64], u: &[f64]| -> f64 { f.iter().zip(u).map(|(f, u)| (u / f).powi(2)).sum() };
        let variance = 4.0 * (relative(f, u) + relative(with, u_with));
        weight += 1.0 / variance;
        total += ln / variance;
    }
    let (ln, u) = (total / weight, weight.sqrt().recip());
    if -ln <= 2.0 * u {
        return Err(Error::NotIdentifiable {
            unknown: "the top's mass".into(),
            reason: format!(
                "the added mass lowered the frequencies together by {:.2} %, which is not more than twice its standard uncertainty of {:.2} %; use a heavier mass, or read the frequencies better",
                -50.0 * ln,
                50.0 * u
            ),
        });
    }
    Ok(ln.exp())
}

/// The unknowns by closed forms, from as many readings as they need.
///
/// Two oscillators: f-^2 + f+^2 = f_c^2 + f_h^2 and f- f+ = f_t f_h, f_c that of the closed hole. Three: with P the polynomial of
/// the open hole and Q of the closed, x Q(x) - P(x) = f_h^2 (x - f_t^2)(x - f_b^2), and what the spring adds are the residues of Q.
pub(super) fn start(taps: &BodyTaps, air: Option<&BodyAir>, top: Option<TopIs>) -> Result<Vec<f64>> {
    let ratio = if taps.added_mass_g.is_some() { Some(mass_ratio(taps)?) } else { None };
    let open = &taps.open_hz;
    let mut theta = if open.len() == 2 {
        let closed_square = two_closed(taps, air, ratio)?;
        let h = sum(open) - closed_square;
        let t = product(open) / h;
        vec![h.ln(), t.ln(), (closed_square - t).ln()]
    } else {
        three(taps, top)?
    };
    if let Some(r) = ratio {
        theta.push((r / (1.0 - r)).ln());
    }
    Ok(theta)
}

/// The square of the closed hole's frequency, of two oscillators: read, or by the mass, or by volume and hole.
fn two_closed(taps: &BodyTaps, air: Option<&BodyAir>, ratio: Option<f64>) -> Result<f64> {
    let open = &taps.open_hz;
    if let Some(&closed) = taps.closed_hz.first() {
        return Ok(closed * closed);
    }
    if let Some(r) = ratio {
        let square = (sum(open) - sum(&taps.open_with_mass_hz)) / (1.0 - r);
        if square > open[0] * open[0] && square < open[1] * open[1] {
            return Ok(square);
        }
        return Err(Error::NotIdentifiable {
            unknown: "the Helmholtz frequency".into(),
            reason: format!(
                "open_hz and open_with_mass_hz together put the closed hole's frequency at {:.1} Hz, and it must lie above {} Hz and below {} Hz; tap with the hole closed, or use a heavier mass",
                square.max(0.0).sqrt(),
                number(open[0]),
                number(open[1])
            ),
        });
    }
    let Some(air) = air else {
        return Err(Error::NotIdentifiable {
            unknown: "the Helmholtz frequency".into(),
            reason: "two frequencies with the hole open leave one unknown over; tap with the hole closed (closed_hz), or with a mass on the bridge, or give volume and hole (air)".into(),
        });
    };
    let h = air.helmholtz_hz();
    if h > open[0] && h < open[1] {
        return Ok(sum(open) - h * h);
    }
    Err(Error::OutOfRange {
        quantity: "the Helmholtz frequency of air".into(),
        value: (100.0 * h).round() / 100.0,
        unit: "Hz",
        allowed: format!("above open_hz[0] = {} Hz and below open_hz[1] = {} Hz", number(open[0]), number(open[1])),
    })
}

fn three(taps: &BodyTaps, top: Option<TopIs>) -> Result<Vec<f64>> {
    let (open, closed) = (&taps.open_hz, &taps.closed_hz);
    if closed.is_empty() {
        return Err(Error::NotIdentifiable {
            unknown: "the back's part".into(),
            reason: "three frequencies with the hole open leave two unknowns over; tap with the hole closed too (closed_hz, two of them)".into(),
        });
    }
    let (l, m): (Vec<f64>, Vec<f64>) = (open.iter().map(|f| f * f).collect(), closed.iter().map(|f| f * f).collect());
    let h = l[0] + (l[1] - m[0]) + (l[2] - m[1]);
    // x Q - P = h x^2 - (pairs(l) - m0 m1) x + l0 l1 l2, whose roots lie between the open hole's squares
    let d = |x: f64| x * (x - m[0]) * (x - m[1]) - (x - l[0]) * (x - l[1]) * (x - l[2]);
    let root = |low: f64, high: f64| {
        let (mut low, mut high) = (low, high);
        let rising = d(high) > 0.0;
        for _ in 0..200 {
            let mid = 0.5 * (low + high);
            if mid <= low || mid >= high {
                break;
            }
            if (d(mid) > 0.0) == rising { high = mid } else { low = mid }
        }
        0.5 * (low + high)
    };
    let (lower, higher) = (root(l[0], m[0]), root(l[1], m[1]));
    let q = |x: f64| (x - m[0]) * (x - m[1]);
    let (g_lower, g_higher) = (q(lower) / (higher - lower), -q(higher) / (higher - lower));
    let ((t, gt), (b, gb)) = match top {
        Some(TopIs::Higher) => ((higher, g_higher), (lower, g_lower)),
        _ => ((lower, g_lower), (higher, g_higher)),
    };
    Ok([h, t, gt, b, gb].into_iter().map(|x| x.max(f64::MIN_POSITIVE).ln()).collect())
}

/// What a reading should be, and its slopes.
fn expected(layout: Layout, theta: &[f64], readings: &[Reading]) -> Result<(Vec<f64>, Vec<Vec<f64>>)> {
    let h = (0.5 * theta[Layout::HELMHOLTZ]).exp();
    let r = |with_mass: bool| if with_mass { 1.0 / (1.0 + (-theta[layout.mass_at()]).exp()) } else { 1.0 };
    let mut solved = Vec::new();
    for hole in [Hole::Open, Hole::Closed] {
        for with_mass in [false, true] {
            let wanted = |x: &Reading| matches!(x.what, What::Mode { hole: a, with_mass: b, .. } if a == hole && b == with_mass);
            if readings.iter().any(wanted) {
                let (mut d, mut v) = (
                    vec![theta[Layout::TOP].exp() * r(with_mass)],
                    vec![(0.5 * theta[Layout::TOP_SPRING]).exp() * r(with_mass).sqrt()],
                );
                if hole == Hole::Open {
                    d.push(0.0);
                    v.push(h);
                }
                if layout.back {
                    d.push(theta[Layout::BACK].exp());
                    v.push((0.5 * theta[Layout::BACK_SPRING]).exp());
                }
                solved.push((hole, with_mass, levels(&d, &v)?, d, v));
            }
        }
    }
    let (mut hz, mut slopes) = (Vec::with_capacity(readings.len()), Vec::with_capacity(readings.len()));
    for reading in readings {
        let mut slope = vec![0.0; layout.count()];
        let What::Mode { hole, with_mass, index } = reading.what else {
            slope[Layout::HELMHOLTZ] = 0.5 * h;
            hz.push(h);
            slopes.push(slope);
            continue;
        };
        let Some((_, _, levels, d, v)) = solved.iter().find(|s| s.0 == hole && s.1 == with_mass) else { continue };
        let level = &levels[index];
        let f = level.square.sqrt().max(f64::MIN_POSITIVE);
        // Hellmann and Feynman: d lambda / d d_i = y_i^2, d lambda / d ln v_i^2 = v_i y_i (v . y)
        let along: f64 = v.iter().zip(&level.y).map(|(v, y)| v * y).sum();
        let own = |i: usize| d[i] * level.y[i] * level.y[i] / (2.0 * f);
        let spring = |i: usize| v[i] * level.y[i] * along / (2.0 * f);
        (slope[Layout::TOP], slope[Layout::TOP_SPRING]) = (own(0), spring(0));
        if hole == Hole::Open {
            slope[Layout::HELMHOLTZ] = spring(1);
        }
        if layout.back {
            let b = d.len() - 1;
            (slope[Layout::BACK], slope[Layout::BACK_SPRING]) = (own(b), spring(b));
        }
        if with_mass {
            slope[layout.mass_at()] = (own(0) + spring(0)) * (1.0 - r(true));
        }
        hz.push(f);
        slopes.push(slope);
    }
    Ok((hz, slopes))
}

fn chi_squared(hz: &[f64], readings: &[Reading]) -> f64 {
    hz.iter().zip(readings).map(|(f, r)| ((f - r.hz) / r.u_hz).powi(2)).sum()
}

/// Normal matrix with `damp` of its diagonal added.
fn normal(slopes: &[Vec<f64>], readings: &[Reading], n: usize, damp: f64) -> Square {
    let mut a = Square::zeros(n);
    for (s, r) in slopes.iter().zip(readings) {
        for i in 0..n {
            for j in 0..n {
                a[(i, j)] += s[i] * s[j] / (r.u_hz * r.u_hz);
            }
        }
    }
    for i in 0..n {
        a[(i, i)] *= 1.0 + damp;
    }
    a
}

const MOST_STEPS: usize = 300;
/// A step this small in every logarithm is the end.
const STILL: f64 = 1e-12;

/// Least squares from a start, by Levenberg's steps.
pub(super) fn fit(layout: Layout, mut theta: Vec<f64>, readings: &[Reading]) -> Result<Fitted> {
    let n = layout.count();
    let untold = || {
        Error::NotIdentifiable {
        unknown: "the oscillators".into(),
        reason: "the frequencies do not agree on any, or leave one of them without a part; tap again, hole open and closed on one day, with a heavier mass where there is one".into(),
    }
    };
    let (mut hz, mut slopes) = expected(layout, &theta, readings)?;
    let mut chi = chi_squared(&hz, readings);
    let mut damp = 1e-3;
    for _ in 0..MOST_STEPS {
        let right: Vec<f64> = (0..n)
            .map(|i| slopes.iter().zip(readings).zip(&hz).map(|((s, r), f)| s[i] * (r.hz - f) / (r.u_hz * r.u_hz)).sum())
            .collect();
        let Some(step) = solve_positive(&normal(&slopes, readings, n, damp), &right) else { return Err(untold()) };
        let largest = step.iter().fold(0.0_f64, |l, s| l.max(s.abs()));
        let trial: Vec<f64> = theta.iter().zip(&step).map(|(t, s)| t + s / largest.max(1.0)).collect();
        if trial.iter().any(|t| !t.is_finite() || t.abs() > 60.0) {
            return Err(untold());
        }
        let (next_hz, next_slopes) = expected(layout, &trial, readings)?;
        let next = chi_squared(&next_hz, readings);
        if next <= chi {
            (theta, hz, slopes, chi) = (trial, next_hz, next_slopes, next);
            damp = (0.1 * damp).max(1e-15);
        } else {
            damp *= 10.0;
        }
        if largest < STILL || damp > 1e12 {
            break;
        }
    }
    let a = normal(&slopes, readings, n, 0.0);
    let mut gain = vec![vec![0.0; readings.len()]; n];
    for (k, (s, r)) in slopes.iter().zip(readings).enumerate() {
        let right: Vec<f64> = s.iter().map(|s| s / (r.u_hz * r.u_hz)).collect();
        let column = solve_positive(&a, &right).ok_or_else(untold)?;
        column.iter().enumerate().for_each(|(i, c)| gain[i][k] = *c);
    }
    Ok(Fitted { theta, gain, hz, chi_squared: chi })
}
