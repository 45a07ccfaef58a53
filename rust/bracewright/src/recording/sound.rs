//! A recording as numbers, and what is wrong with it in words.

use serde::{Deserialize, Serialize};

use super::wav;
use crate::error::{Error, Result, finite, number, within};

/// A level this far below full scale is silence, as a share of full scale (-80 dB).
const SILENT: f64 = 1e-4;
/// A channel this much weaker than the strongest is dead (-40 dB).
const DEAD: f64 = 0.01;
/// So many samples in a row at the same extreme are clipped.
const CLIPPED_RUN: usize = 3;
/// A smooth peak that falls within one step of the converter lies flat as well; a run's length away it is down by no more than
/// 9 steps (a parabola), and noise. What was cut off is down by more.
const SMOOTH_FALL_STEPS: f64 = 16.0;

/// A recording.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Sound {
    rate_hz: f64,
    bits: u16,
    channels: Vec<Vec<f64>>,
    notes: Vec<String>,
}

/// What the checks of a recording found.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SoundChecks {
    /// The channel that will be used, from 0.
    pub channel: usize,
    /// Channels far weaker than the one used.
    pub dead_channels: Vec<usize>,
    /// Mean of the channel used, full scale 1; it is taken off before any analysis.
    pub offset: f64,
    /// Largest value of the channel used, full scale 1, offset taken off.
    pub peak: f64,
    /// Samples of the channel used that lie in flat runs at its extreme.
    pub clipped_samples: usize,
    /// The first of them, s from the start of the recording.
    pub clipped_at_s: Vec<f64>,
    /// All that should be known before the recording is believed, as sentences.
    pub words: Vec<String>,
}

impl Sound {
    /// Reads a WAV file from its bytes: 8 to 32-bit PCM or 32/64-bit float, any rate, 1 to 64 channels. What is odd but
    /// readable (cut short, length left open) is said in [`Sound::notes`]; what cannot be read is an error that says why
    /// and, for another kind of file, which kind it looks like. `name` is the file's name for that sentence.
    pub fn from_wav(bytes: &[u8], name: &str) -> Result<Self> {
        let w = wav::read(bytes, if name.is_empty() { "recording" } else { name })?;
        Ok(Self { rate_hz: w.rate_hz, bits: w.bits, channels: w.channels, notes: w.notes })
    }

    /// A recording from samples, one list a channel, all of the same length; full scale is 1.
    /// `rate_hz` from 100 to 10 000 000.
    pub fn from_samples(rate_hz: f64, samples: Vec<Vec<f64>>) -> Result<Self> {
        within("rate_hz", rate_hz, "Hz", 100.0, 1e7)?;
        let Some(first) = samples.first().filter(|c| !c.is_empty()) else {
            return Err(Error::BadList {
                name: "samples".into(),
                problem: "is empty; give at least one channel with samples".into(),
            });
        };
        for (i, c) in samples.iter().enumerate() {
            crate::error::same_length("samples[0]", first.len(), &format!("samples[{i}]"), c.len())?;
            if let Some(k) = first_foreign(c) {
                finite(&format!("samples[{i}][{k}]"), c[k], "")?;
                within(&format!("samples[{i}][{k}]"), c[k], "", -1e6, 1e6)?;
            }
        }
        Ok(Self { rate_hz, bits: 64, channels: samples, notes: Vec::new() })
    }

    /// The same samples, known to come from a file of so many bits a sample, about which the notes were made.
    pub fn with_origin(self, bits: u16, notes: Vec<String>) -> Result<Self> {
        if !matches!(bits, 8 | 16 | 24 | 32 | 64) {
            return Err(Error::Refused(format!("bits is {bits}; it must be 8, 16, 24, 32 or 64")));
        }
        Ok(Self { bits, notes, ..self })
    }

    /// Samples a second, Hz.
    pub fn rate_hz(&self) -> f64 {
        self.rate_hz
    }

    /// Bits a sample in the file; 64 for samples given as numbers.
    pub fn bits(&self) -> u16 {
        self.bits
    }

    /// The samples, one list a channel, full scale 1.
    pub fn channels(&self) -> &[Vec<f64>] {
        &self.channels
    }

    /// What was odd about the file, as sentences.
    pub fn notes(&self) -> &[String] {
        &self.notes
    }

    /// Length, s.
    pub fn seconds(&self) -> f64 {
        self.channels.first().map_or(0, Vec::len) as f64 / self.rate_hz
    }

    /// The samples of one channel with their mean taken off.
    pub fn centred(&self, channel: usize) -> Result<Vec<f64>> {
        let Some(c) = self.channels.get(channel) else {
            return Err(Error::Refused(format!(
                "channel is {channel}; this recording has {} and they count from 0",
                self.channels.len()
            )));
        };
        let mean = mean(c);
        Ok(c.iter().map(|v| v - mean).collect())
    }

    /// Where the last clipped run that starts at or after `from` and before `to` ends, in samples of `checks`' channel.
    pub(super) fn clipped_until(&self, checks: &SoundChecks, from: usize, to: usize) -> Option<usize> {
        let c = self.channels.get(checks.channel).filter(|_| checks.clipped_samples > 0)?;
        let (low, high) = extremes(c);
        let last = flat_runs(c, low, high, self.step()).1.into_iter().rfind(|k| (from..to).contains(k))?;
        Some(run_end(c, last))
    }

    /// Looks for clipping, silence, dead channels and offset, and picks the channel to use: the strongest, or the first
    /// of channels within 1 dB of it. Silence is refused.
    pub fn checked(&self) -> Result<SoundChecks> {
        let seen: Vec<Seen> = self.channels.iter().map(|c| Seen::of(c)).collect();
        let levels: Vec<f64> = seen.iter().map(|s| s.level).collect();
        let top = levels.iter().copied().fold(0.0, f64::max);
        let loudest = seen.iter().map(Seen::peak).fold(0.0, f64::max);
        // Samples given as numbers may be in any unit; only a file has a full scale.
        if loudest <= f64::MIN_POSITIVE || (self.bits < 64 && loudest < SILENT) {
            return Err(Error::Refused(format!(
                "the recording is silent: its largest value is {} of full scale; it must be above {} (check the microphone and its level)",
                number(loudest),
                number(SILENT)
            )));
        }
        let channel = levels.iter().position(|l| *l >= 0.89 * top).unwrap_or(0);
        let c = &self.channels[channel];
        let offset = seen[channel].mean;
        let peak = seen[channel].peak();
        let dead: Vec<usize> = (0..levels.len()).filter(|&i| levels[i] < DEAD * top).collect();
        let mut words = self.notes.clone();
        if !dead.is_empty() {
            let list: Vec<String> = dead.iter().map(|i| (i + 1).to_string()).collect();
            words.push(format!(
                "channel {} is dead (more than 40 dB below the other); channel {} is used",
                list.join(", "),
                channel + 1
            ));
        }
        if offset.abs() > (0.02 * peak).max(2.0 * self.step()) {
            words.push(format!(
                "the recording is offset by {} of full scale; the offset was taken off",
                number((offset * 1e4).round() / 1e4)
            ));
        }
        let (clipped_samples, starts) = flat_runs(c, seen[channel].low, seen[channel].high, self.step());
        if clipped_samples > 0 {
            words.push(format!(
                "clipped: {clipped_samples} samples lie flat at the extreme, first at {:.3} s; levels and damping there are not to be trusted (tap softer or turn the level down)",
                starts[0] as f64 / self.rate_hz
            ));
        }
        if self.bits == 8 {
            words.push("8-bit recording: its steps are as coarse as noise 50 dB below full scale; use 16 bits or more".into());
        }
        Ok(SoundChecks {
            channel,
            dead_channels: dead,
            offset,
            peak,
            clipped_samples,
            clipped_at_s: starts.iter().take(100).map(|s| *s as f64 / self.rate_hz).collect(),
            words,
        })
    }

    /// Smallest step between samples, full scale 1.
    pub(super) fn step(&self) -> f64 {
        if self.bits >= 32 { 0.0 } else { 2.0_f64.powi(1 - i32::from(self.bits)) }
    }
}

/// Where the first sample is that no recording holds, if there is one.
pub(super) fn first_foreign(c: &[f64]) -> Option<usize> {
    // Blocks first: whole ones pass without a branch a sample.
    let foreign = |v: &f64| v.is_nan() || v.abs() > 1e6;
    let block = c.chunks(64).position(|b| b.iter().fold(false, |f, v| f | foreign(v)))?;
    c[64 * block..].iter().position(foreign).map(|k| 64 * block + k)
}

/// Sum of a function of each sample, in eight running sums.
pub(super) fn sum(c: &[f64], of: impl Fn(f64) -> f64) -> f64 {
    let mut s = [0.0; 8];
    let parts = c.chunks_exact(8);
    let rest: f64 = parts.remainder().iter().map(|v| of(*v)).sum();
    for p in parts {
        for i in 0..8 {
            s[i] += of(p[i]);
        }
    }
    s.iter().sum::<f64>() + rest
}

fn mean(c: &[f64]) -> f64 {
    sum(c, |v| v) / c.len().max(1) as f64
}

/// What is asked of every channel, each passage over the samples made once.
struct Seen {
    mean: f64,
    /// Root mean square about the mean.
    level: f64,
    low: f64,
    high: f64,
}

impl Seen {
    fn of(c: &[f64]) -> Self {
        let m = mean(c);
        let (low, high) = extremes(c);
        Self { mean: m, level: (sum(c, |v| (v - m) * (v - m)) / c.len().max(1) as f64).sqrt(), low, high }
    }

    /// Largest value about the mean.
    fn peak(&self) -> f64 {
        (self.high - self.mean).max(self.mean - self.low)
    }
}

/// Smallest and largest sample.
fn extremes(c: &[f64]) -> (f64, f64) {
    let (mut low, mut high) = ([f64::INFINITY; 8], [f64::NEG_INFINITY; 8]);
    for p in c.chunks(8) {
        for (i, v) in p.iter().enumerate() {
            low[i] = if *v < low[i] { *v } else { low[i] };
            high[i] = if *v > high[i] { *v } else { high[i] };
        }
    }
    (low.into_iter().fold(f64::INFINITY, f64::min), high.into_iter().fold(f64::NEG_INFINITY, f64::max))
}

/// Samples in runs that lie flat at the largest or smallest value and were cut off there, and where the runs start. `step` is
/// the converter's, 0 when unknown. Runs at its full scale count whatever stands beside them.
fn flat_runs(c: &[f64], low: f64, high: f64, step: f64) -> (usize, Vec<usize>) {
    const BLOCK: usize = 64;
    if high <= low {
        return (0, Vec::new());
    }
    let near = 1e-3 * (high - low);
    let (mut count, mut starts, mut k) = (0, Vec::new(), 0);
    let extreme = |v: f64| (high - v < near) | (v - low < near);
    while k < c.len() {
        // Most blocks hold nothing near an extreme: they are passed over whole.
        if k.is_multiple_of(BLOCK)
            && let Some(block) = c.get(k..k + BLOCK)
            && !block.iter().fold(false, |f, v| f | extreme(*v))
        {
            k += BLOCK;
            continue;
        }
        let v = c[k];
        if !extreme(v) {
            k += 1;
            continue;
        }
        let end = run_end(c, k);
        if end - k >= CLIPPED_RUN {
            let fall = |at: Option<usize>| at.and_then(|i| c.get(i)).map_or(f64::INFINITY, |w| (v - w).abs());
            let beside = fall(k.checked_sub(end - k)).min(fall(Some(2 * end - k - 1)));
            if step <= 0.0 || v.abs() > 1.0 - 2.5 * step || beside > SMOOTH_FALL_STEPS * step {
                count += end - k;
                starts.push(k);
            }
        }
        k = end;
    }
    (count, starts)
}

/// Where the run of equal samples that starts at `k` ends.
fn run_end(c: &[f64], k: usize) -> usize {
    c[k..].iter().position(|w| *w != c[k]).map_or(c.len(), |d| k + d)
}
