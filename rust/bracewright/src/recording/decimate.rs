//! The spectrum of a record in a band: filter, decimate, transform; planned once for each length.
//!
//! The record is filtered and decimated around its own end (the filter's tails wrap), so what comes out is the discrete
//! transform of the whole record at its own bins inside the band, to the 90 dB the filters leave of what is above: no
//! sample is lost at the start, where a tap is loudest, and white noise stays independent from bin to bin.

use std::cell::RefCell;
use std::f64::consts::PI;
use std::sync::Arc;

use realfft::num_complex::Complex;
use realfft::{RealFftPlanner, RealToComplex};

use crate::mechanics::simd::{dispatch, madd};

pub(super) type C = Complex<f64>;

/// Complex numbers split for wide registers.
#[derive(Clone)]
pub(super) struct Column {
    pub re: Vec<f64>,
    pub im: Vec<f64>,
}

/// What the filters leave of a tone above the band, dB.
const STOP_DB: f64 = 90.0;
/// Plans kept for each thread.
const KEPT: usize = 12;

/// One stage: a symmetric low-pass filter and how many samples become one.
struct Stage {
    taps: Vec<f64>,
    factor: usize,
}

/// Everything about a record of one length at one rate that does not depend on its samples.
pub(super) struct Plan {
    pub rate_hz: f64,
    /// Samples of the record used.
    pub len: usize,
    /// Angular frequency of each bin, rad/s.
    pub omega: Vec<f64>,
    /// exp(-i omega / rate) of each bin.
    pub turn: Column,
    band_hz: (f64, f64),
    stages: Vec<Stage>,
    fft: Arc<dyn RealToComplex<f64>>,
    first: usize,
    scale: Vec<f64>,
}

thread_local! {
    static PLANS: RefCell<(RealFftPlanner<f64>, Vec<Arc<Plan>>)> = RefCell::new((RealFftPlanner::new(), Vec::new()));
}

/// Largest number not above `n` with no prime factor above 5, and even when `even`.
fn smooth(n: usize, even: bool) -> usize {
    let plain = |mut k: usize| {
        for p in [2, 3, 5] {
            while k.is_multiple_of(p) {
                k /= p;
            }
        }
        k == 1
    };
    (1..=n.max(1)).rev().find(|&k| plain(k) && (!even || k.is_multiple_of(2))).unwrap_or(1)
}

/// Modified Bessel function of the first kind, order 0, by its series.
fn bessel_i0(x: f64) -> f64 {
    let (mut sum, mut term, mut k) = (1.0, 1.0, 1.0);
    while term > 1e-14 * sum && k < 200.0 {
        term *= (0.5 * x / k) * (0.5 * x / k);
        sum += term;
        k += 1.0;
    }
    sum
}

/// Number of taps of a Kaiser low-pass whose transition is `width` of the rate (Kaiser 1974), odd.
fn tap_count(width: f64) -> usize {
    let half = (0.5 * (STOP_DB - 7.95) / (14.36 * width)).ceil() as usize;
    2 * half + 1
}

/// Kaiser-windowed low-pass; `edge` is its middle and `width` its transition, both as a share of the rate.
fn low_pass(edge: f64, width: f64) -> Vec<f64> {
    let n = tap_count(width);
    let half = (n / 2) as f64;
    let beta = 0.1102 * (STOP_DB - 8.7);
    let top = bessel_i0(beta);
    let mut taps: Vec<f64> = (0..n)
        .map(|i| {
            let t = i as f64 - half;
            let sinc = if t == 0.0 { 2.0 * edge } else { (2.0 * PI * edge * t).sin() / (PI * t) };
            let r = t / (half + 1e-9);
            sinc * bessel_i0(beta * (1.0 - r * r).max(0.0).sqrt()) / top
        })
        .collect();
    let sum: f64 = taps.iter().sum();
    taps.iter_mut().for_each(|t| *t /= sum);
    taps
}

/// Every `factor`-th sample of `x` filtered with `taps`, in sixteen running sums.
#[inline(always)]
fn filter_kernel<const FMA: bool>(taps: &[f64], factor: usize, x: &[f64], out: &mut [f64]) {
    const W: usize = 16;
    for (k, o) in out.iter_mut().enumerate() {
        let piece = &x[k * factor..k * factor + taps.len()];
        let (ca, cb) = (taps.chunks_exact(W), piece.chunks_exact(W));
        let rest: f64 = ca.remainder().iter().zip(cb.remainder()).map(|(x, y)| x * y).sum();
        let mut s = [0.0; W];
        for (x, y) in ca.zip(cb) {
            for i in 0..W {
                s[i] = madd::<FMA>(x[i], y[i], s[i]);
            }
        }
        *o = s.iter().sum::<f64>() + rest;
    }
}

impl Stage {
    fn new(rate_hz: f64, high_hz: f64, factor: usize) -> Self {
        let stop = rate_hz / factor as f64 - high_hz;
        Self { taps: low_pass(0.5 * (high_hz + stop) / rate_hz, (stop - high_hz) / rate_hz), factor }
    }

    /// Filtered around the end and decimated; the length must be a multiple of the factor.
    fn apply(&self, x: &[f64]) -> Vec<f64> {
        let half = self.taps.len() / 2;
        let (n, factor, taps) = (x.len(), self.factor, &self.taps);
        let mut out = vec![0.0; n / factor];
        // Outputs whose window reaches over an end of the record, and those between.
        let first = half.div_ceil(factor).min(out.len());
        let last = (n.saturating_sub(half + 1) / factor + 1).clamp(first, out.len());
        let mut around = Vec::new();
        for (from, to) in [(0, first), (last, out.len())] {
            if from < to {
                let start = n * half + from * factor - half;
                around.clear();
                around.extend((start..start + (to - from - 1) * factor + taps.len()).map(|i| x[i % n]));
                let part = &mut out[from..to];
                dispatch!(filter_kernel(taps, factor, &around, part));
            }
        }
        if first < last {
            let (inner, part) = (&x[first * factor - half..], &mut out[first..last]);
            dispatch!(filter_kernel(taps, factor, inner, part));
        }
        out
    }

    /// Gain at a frequency given as a share of the rate.
    fn gain(&self, share: f64) -> f64 {
        let half = self.taps.len() / 2;
        let (turn, mut at) = (C::from_polar(1.0, 2.0 * PI * share), C::new(1.0, 0.0));
        let mut sum = self.taps[half];
        for t in &self.taps[half + 1..] {
            at *= turn;
            sum += 2.0 * t * at.re;
        }
        sum
    }
}

/// The stages that bring `rate_hz` down while `high_hz` stays clear of the fold, cheapest first split in two.
fn stages(rate_hz: f64, high_hz: f64) -> Vec<Stage> {
    let factor = smooth((rate_hz / (2.5 * high_hz)).floor() as usize, false);
    if factor < 2 {
        return Vec::new();
    }
    let cost = |rate: f64, m: usize| {
        let stop = rate / m as f64 - high_hz;
        tap_count((stop - high_hz) / rate) as f64 / m as f64
    };
    let whole = (cost(rate_hz, factor), 1);
    let (_, first) = (2..factor)
        .filter(|m| factor.is_multiple_of(*m))
        .map(|m| (cost(rate_hz, m) + cost(rate_hz / m as f64, factor / m) / m as f64, m))
        .fold(whole, |a, b| if b.0 < a.0 { b } else { a });
    let mut out = Vec::new();
    if first > 1 {
        out.push(Stage::new(rate_hz, high_hz, first));
    }
    out.push(Stage::new(rate_hz / first as f64, high_hz, factor / first));
    out
}

impl Plan {
    /// The plan for at most `most` samples; `None` when fewer than 16 decimated samples or 8 bins would be left.
    pub fn get(rate_hz: f64, band_hz: (f64, f64), most: usize) -> Option<Arc<Self>> {
        let factor = smooth((rate_hz / (2.5 * band_hz.1)).floor() as usize, false).max(1);
        let points = smooth(most / factor, true);
        if points < 16 {
            return None;
        }
        let len = points * factor;
        PLANS.with_borrow_mut(|(planner, kept)| {
            if let Some(p) = kept.iter().find(|p| p.len == len && p.rate_hz == rate_hz && p.band_hz == band_hz) {
                return Some(p.clone());
            }
            let plan = Arc::new(Self::made(rate_hz, band_hz, points, factor, planner)?);
            if kept.len() >= KEPT {
                kept.remove(0);
            }
            kept.push(plan.clone());
            Some(plan)
        })
    }

    fn made(rate_hz: f64, band_hz: (f64, f64), points: usize, factor: usize, planner: &mut RealFftPlanner<f64>) -> Option<Self> {
        let len = points * factor;
        let stages = stages(rate_hz, band_hz.1);
        let step = rate_hz / len as f64;
        let (first, last) = ((band_hz.0 / step).ceil() as usize, (band_hz.1 / step).floor() as usize);
        let first = first.max(1);
        let last = last.min(points / 2 - 1);
        if last < first + 7 {
            return None;
        }
        let hz: Vec<f64> = (first..=last).map(|k| k as f64 * step).collect();
        let scale = hz
            .iter()
            .map(|f| {
                let mut rate = rate_hz;
                let mut gain = 1.0;
                for s in &stages {
                    gain *= s.gain(f / rate);
                    rate /= s.factor as f64;
                }
                factor as f64 / gain
            })
            .collect();
        Some(Self {
            rate_hz,
            len,
            omega: hz.iter().map(|f| 2.0 * PI * f).collect(),
            turn: Column {
                re: hz.iter().map(|f| (2.0 * PI * f / rate_hz).cos()).collect(),
                im: hz.iter().map(|f| -(2.0 * PI * f / rate_hz).sin()).collect(),
            },
            band_hz,
            stages,
            fft: planner.plan_fft_forward(points),
            first,
            scale,
        })
    }

    /// Length of the record used, s.
    pub fn seconds(&self) -> f64 {
        self.len as f64 / self.rate_hz
    }

    /// Distance between bins, Hz.
    pub fn step_hz(&self) -> f64 {
        self.rate_hz / self.len as f64
    }

    /// The transform of the first `len` samples at the bins of the band.
    pub fn spectrum(&self, samples: &[f64]) -> Vec<C> {
        let record = &samples[..self.len];
        let mut x = match self.stages.split_first() {
            Some((first, rest)) => rest.iter().fold(first.apply(record), |x, s| s.apply(&x)),
            None => record.to_vec(),
        };
        let mut out = self.fft.make_output_vec();
        // Lengths agree by construction; a failure would leave zeros, which read as silence.
        let _ = self.fft.process(&mut x, &mut out);
        self.scale.iter().zip(&out[self.first..]).map(|(s, v)| v * s).collect()
    }
}

/// Samples filtered and brought down while `high_hz` stays clear of the fold, and the factor.
pub(super) fn brought_down(samples: &[f64], rate_hz: f64, high_hz: f64) -> (Vec<f64>, usize) {
    let steps = stages(rate_hz, high_hz);
    let factor: usize = steps.iter().map(|s| s.factor).product();
    let whole = &samples[..samples.len() / factor * factor];
    let low = match steps.split_first() {
        Some((first, rest)) => rest.iter().fold(first.apply(whole), |x, s| s.apply(&x)),
        None => whole.to_vec(),
    };
    (low, factor)
}

/// Each sample filtered with `taps` from itself on: out[k] = sum of taps[i] x[k + i]; as many as fit.
pub(super) fn filtered(taps: &[f64], x: &[f64]) -> Vec<f64> {
    let mut out = vec![0.0; (x.len() + 1).saturating_sub(taps.len())];
    dispatch!(filter_kernel(taps, 1, x, &mut out));
    out
}
