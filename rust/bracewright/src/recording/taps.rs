//! Where the taps are.
//!
//! What rings can be foretold from the samples before it; a blow cannot. The recording is brought down to a few kHz, a
//! linear prediction (Levinson's recursion) foretells each sample, and a tap is where the error jumps over what it was
//! in the milliseconds before: so a second blow is found inside the ring of the first.

use serde::{Deserialize, Serialize};

use super::decimate::{brought_down, filtered};
use super::sound::{first_foreign, sum};
use crate::error::{Error, Result, within};

/// Number of samples each prediction looks back on.
const ORDER: usize = 32;
/// Highest frequency kept for the search, Hz.
const KEPT_HZ: f64 = 2000.0;
/// Length over which the error is gathered, s.
const WINDOW_S: f64 = 0.002;
/// Length before it that it is compared with, s.
const BEFORE_S: f64 = 0.012;
/// How far the error must jump over what it was, in power.
const JUMP: f64 = 10.0;
/// Onsets closer than this are one, s.
const SAME_S: f64 = 0.006;

/// How taps are looked for.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct TapOptions {
    /// Blows closer than this to the one before are bounces of it, ms, 6 to 1000.
    pub bounce_ms: f64,
    /// Time left out after each blow, while the hand or hammer still touches, ms, 0 to 100.
    pub skip_ms: f64,
    /// Taps weaker than the strongest by more than this are passed over, dB, 3 to 80.
    pub range_db: f64,
}

impl Default for TapOptions {
    fn default() -> Self {
        Self { bounce_ms: 60.0, skip_ms: 2.0, range_db: 30.0 }
    }
}

/// One tap of a recording; times from the start of the recording.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Tap {
    /// When the first blow came, s; 0 when the recording starts inside the ring.
    pub onset_s: f64,
    /// Where the record to be used starts, s: after the last bounce, and the time left out.
    pub start_s: f64,
    /// How long it can be used, s: to the next blow or the end.
    pub usable_s: f64,
    /// How long it stands out of the noise, s; at most the usable length.
    pub clear_s: f64,
    /// Further blows within the bounce time of one another.
    pub bounces: u32,
    /// Largest value in the record, in the units of the samples.
    pub peak: f64,
}

/// Prediction coefficients from the samples' own correlation, a trace of white noise added so that they exist.
fn predictor(x: &[f64]) -> Vec<f64> {
    let r: Vec<f64> = (0..=ORDER).map(|k| filtered(&x[..x.len() - k], &x[k..])[0]).collect();
    let mut a = vec![0.0; ORDER];
    let mut error = r[0] * (1.0 + 1e-9);
    for i in 0..ORDER {
        if error <= 0.0 {
            break;
        }
        let reflect = (r[i + 1] - (0..i).map(|j| a[j] * r[i - j]).sum::<f64>()) / error;
        let before = a.clone();
        a[i] = reflect;
        for j in 0..i {
            a[j] = before[j] - reflect * before[i - 1 - j];
        }
        error *= 1.0 - reflect * reflect;
    }
    a
}

/// Square of the prediction's error at each sample; before the first sample is silence.
fn surprise(x: &[f64]) -> Vec<f64> {
    let mut taps: Vec<f64> = predictor(x).iter().rev().map(|c| -c).collect();
    taps.push(1.0);
    let mut padded = vec![0.0; ORDER];
    padded.extend_from_slice(x);
    filtered(&taps, &padded).iter().map(|e| e * e).collect()
}

fn running(p: &[f64]) -> Vec<f64> {
    let mut sums = Vec::with_capacity(p.len() + 1);
    sums.push(0.0);
    let mut s = 0.0;
    for v in p {
        s += v;
        sums.push(s);
    }
    sums
}

/// Sample numbers, in the lowered rate, where blows begin.
fn onsets(x: &[f64], rate: f64, range_db: f64) -> Vec<usize> {
    let n = x.len();
    let e = surprise(x);
    let sums = running(&e);
    let window = ((WINDOW_S * rate) as usize).max(4);
    let before = ((BEFORE_S * rate) as usize).max(12);
    let mean = |from: usize, to: usize| (sums[to] - sums[from]).max(0.0) / (to - from).max(1) as f64;
    let ahead: Vec<f64> = (0..n).map(|k| mean(k, (k + window).min(n))).collect();
    let top = ahead.iter().copied().fold(0.0, f64::max);
    let mut sorted = ahead.clone();
    let mid = n / 2;
    let (_, middle, _) = sorted.select_nth_unstable_by(mid, f64::total_cmp);
    let floor = (6.0 * *middle).max(top * 10f64.powf(-0.1 * range_db));
    let same = (SAME_S * rate) as usize;
    let mut out: Vec<usize> = Vec::new();
    let mut k = 0;
    while k + window < n {
        let was = if k < 4 { 0.0 } else { mean(k.saturating_sub(before), k) };
        if ahead[k] > floor && ahead[k] > JUMP * was {
            // The blow is at the steepest of the next few: where the error first reaches a quarter of its peak there.
            let end = (k + window + window / 2).min(n);
            let peak = e[k..end].iter().copied().fold(0.0, f64::max);
            let at = (k..end).find(|&i| e[i] >= 0.25 * peak).unwrap_or(k);
            if out.last().is_none_or(|l| at > l + same) {
                out.push(at);
            }
            k = at.max(k) + same;
        } else {
            k += 1;
        }
    }
    out
}

/// Finds the taps of a recording. No tap at all is an empty list; a recording shorter than 20 ms is an error.
pub fn find_taps(rate_hz: f64, samples: &[f64], options: &TapOptions) -> Result<Vec<Tap>> {
    within("rate_hz", rate_hz, "Hz", 100.0, 1e7)?;
    within("bounce_ms", options.bounce_ms, "ms", 1e3 * SAME_S, 1000.0)?;
    within("skip_ms", options.skip_ms, "ms", 0.0, 100.0)?;
    within("range_db", options.range_db, "dB", 3.0, 80.0)?;
    if let Some(k) = first_foreign(samples) {
        within(&format!("samples[{k}]"), samples[k], "", -1e6, 1e6)?;
    }
    if (samples.len() as f64) < 0.02 * rate_hz || samples.len() < 64 {
        return Err(Error::Refused(format!(
            "the recording holds {:.4} s; to find a tap in it takes at least {:.4} s",
            samples.len() as f64 / rate_hz,
            (64.0 / rate_hz).max(0.02)
        )));
    }
    let (low, factor) = brought_down(samples, rate_hz, KEPT_HZ.min(0.45 * rate_hz));
    let rate = rate_hz / factor as f64;
    let blows = onsets(&low, rate, options.range_db);
    let end = samples.len() as f64 / rate_hz;
    let mut taps: Vec<Tap> = Vec::new();
    let mut last = f64::NEG_INFINITY;
    for b in blows {
        let t = b as f64 / rate;
        let start = if t < 0.001 { 0.0 } else { t + 1e-3 * options.skip_ms };
        match taps.last_mut() {
            Some(tap) if t - last < 1e-3 * options.bounce_ms => {
                tap.bounces += 1;
                tap.start_s = start;
            }
            _ => taps.push(Tap {
                onset_s: if t < 0.001 { 0.0 } else { t },
                start_s: start,
                usable_s: 0.0,
                clear_s: 0.0,
                bounces: 0,
                peak: 0.0,
            }),
        }
        last = t;
    }
    let window = ((0.02 * rate_hz) as usize).max(1);
    let power = |from: usize| {
        let part = &samples[from.min(samples.len())..(from + window).min(samples.len())];
        sum(part, |v| v * v) / part.len().max(1) as f64
    };
    let floor = (0..samples.len() / window).map(|k| power(k * window)).fold(f64::INFINITY, f64::min);
    // A recording that starts inside a steady sound starts with no tap; inside a ring, with one.
    if taps.first().is_some_and(|t| t.onset_s == 0.0 && t.bounces == 0) && power(0) < 4.0 * floor {
        taps.remove(0);
    }
    let ends: Vec<f64> = taps.iter().skip(1).map(|t| t.onset_s - 0.002).chain([end]).collect();
    for (tap, stop) in taps.iter_mut().zip(ends) {
        tap.usable_s = (stop - tap.start_s).max(0.0);
        let (from, to) = ((tap.start_s * rate_hz) as usize, ((stop * rate_hz) as usize).min(samples.len()));
        let from = from.min(to);
        tap.peak = samples[from..to].iter().fold(0.0, |p: f64, v| p.max(v.abs()));
        let quiet = (from..to).step_by(window).find(|&k| power(k) < 2.0 * floor).unwrap_or(to);
        tap.clear_s = ((quiet - from) as f64 / rate_hz).min(tap.usable_s);
    }
    Ok(taps)
}
