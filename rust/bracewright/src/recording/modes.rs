//! The decaying modes of a tap, with uncertainties.

use std::borrow::Cow;
use std::f64::consts::PI;

use rayon::prelude::*;
use serde::{Deserialize, Serialize};

use super::decimate::Plan;
use super::heard::{Heard, again_where_others_hear};
use super::sound::first_foreign;
use super::taps::{Tap, TapOptions, find_taps};
use super::{Sound, SoundChecks};
use crate::error::{Error, Result, number, within};

/// Half the two-sided 90 % of the normal law.
const Z90: f64 = 1.644_853_626_951_472_2;
/// A tone at the mains or a multiple of it that decays slower than this is hum, 1/s.
const HUM_DECAY: f64 = 0.5;
/// And lies within this of the multiple, Hz at the mains itself: grids hold their frequency closer.
const HUM_REACH_HZ: f64 = 0.1;

/// What the uncertainty of the damping, as a share, adds to those of frequency and damping, per its square: both are worked out from
/// the damping found, and the misfit is no parabola that far from its bottom. To the second order a lone tone gives at least 1.6 for
/// the frequency; these hold the intervals of weak lone tones at 90 % (simulated, shares of 0.08 to 0.4).
const LOOSE: (f64, f64) = (2.4, 1.5);
/// Beyond this square the rule is not pressed further.
const LOOSE_MOST: f64 = 0.25;

/// A sound that stays within so many steps of the converter is no longer told from the steps.
const COARSE: f64 = 2.5;
/// And a tap that does so is none.
const COARSE_TAP: f64 = 4.0;

/// What is looked for.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ModeOptions {
    /// Lowest frequency looked at, Hz.
    pub low_hz: f64,
    /// Highest frequency looked at, Hz; at most 0.45 of the recording's rate.
    pub high_hz: f64,
    /// Most tones taken, 1 to 64.
    pub most: usize,
    /// Longest piece of a tap used, s.
    pub longest_s: f64,
}

impl Default for ModeOptions {
    fn default() -> Self {
        Self { low_hz: 40.0, high_hz: 1000.0, most: 24, longest_s: 8.0 }
    }
}

impl ModeOptions {
    /// Shortest record that can be looked at, s: four periods of the lowest frequency, and bins enough for the noise.
    pub fn shortest_s(&self) -> f64 {
        (4.0 / self.low_hz).max(24.0 / (self.high_hz - self.low_hz))
    }

    fn checked(&self, rate_hz: f64) -> Result<()> {
        within("rate_hz", rate_hz, "Hz", 100.0, 1e7)?;
        within("high_hz", self.high_hz, "Hz", 2.0, 0.45 * rate_hz)?;
        within("low_hz", self.low_hz, "Hz", 1.0, 0.9 * self.high_hz)?;
        within("most", self.most as f64, "", 1.0, 64.0)?;
        within("longest_s", self.longest_s, "s", self.shortest_s(), 60.0)?;
        Ok(())
    }
}

/// One decaying mode: amplitude x exp(-decay t) x cos(2 pi frequency t + phase), from the start of the record.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Mode {
    /// Frequency of the ringing, Hz.
    pub frequency_hz: f64,
    /// Its standard uncertainty, Hz.
    pub u_frequency_hz: f64,
    /// 90 % interval of the frequency, Hz.
    pub frequency_90_hz: (f64, f64),
    /// Decay rate of the amplitude, 1/s.
    pub decay_per_s: f64,
    /// Its standard uncertainty, 1/s.
    pub u_decay_per_s: f64,
    /// 90 % interval of the decay rate, 1/s.
    pub decay_90_per_s: (f64, f64),
    /// Amplitude at the start of the record, in the units of the samples (full scale 1); of a mode that only just stands out of the
    /// noise, taken down by what noise must have helped it.
    pub amplitude: f64,
    /// Its standard uncertainty.
    pub u_amplitude: f64,
    /// Phase at the start of the record, rad, from -pi to pi.
    pub phase_rad: f64,
    /// Its standard uncertainty, rad.
    pub u_phase_rad: f64,
    /// Noise about the mode, units of the samples over the root of Hz (one-sided density).
    pub noise_per_root_hz: f64,
    /// Amplitude over its standard uncertainty, dB.
    pub clear_by_db: f64,
}

/// A tone that does not decay: mains hum, or another steady source in the room.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SteadyTone {
    /// Frequency, Hz.
    pub frequency_hz: f64,
    /// Its standard uncertainty, Hz.
    pub u_frequency_hz: f64,
    /// Amplitude, in the units of the samples.
    pub amplitude: f64,
    /// 50 or 60 when the tone is the mains or a multiple of it, Hz.
    pub mains_hz: Option<f64>,
    /// Which multiple of the mains.
    pub harmonic: Option<u32>,
}

/// What one tap rings with.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct TapModes {
    /// Modes by rising frequency.
    pub modes: Vec<Mode>,
    /// Tones that do not decay, by rising frequency.
    pub steady: Vec<SteadyTone>,
    /// Length of record used, s.
    pub seconds: f64,
    /// Whether samples of the record used were cut off: damping, levels and weak modes are then not to be trusted.
    pub clipped: bool,
    /// What should be known, as sentences.
    pub words: Vec<String>,
}

/// A tap of a recording and its modes.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct RecordedTap {
    /// Where it is.
    pub tap: Tap,
    /// What it rings with; `None` when the record is too short, said in the words of the recording.
    pub found: Option<TapModes>,
}

/// All taps of a recording.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct RecordingModes {
    /// The checks of the recording itself.
    pub checks: SoundChecks,
    /// Its taps.
    pub taps: Vec<RecordedTap>,
    /// What should be known, as sentences, those of the checks among them.
    pub words: Vec<String>,
}

/// Modes of one tap: `samples` start when the tap has ended and the piece rings freely. Error when the record is shorter
/// than [`ModeOptions::shortest_s`].
pub fn tap_modes(rate_hz: f64, samples: &[f64], options: &ModeOptions) -> Result<TapModes> {
    Ok(told(&heard(rate_hz, samples, options)?, options))
}

fn heard(rate_hz: f64, samples: &[f64], options: &ModeOptions) -> Result<Heard> {
    options.checked(rate_hz)?;
    let seconds = samples.len() as f64 / rate_hz;
    if seconds < options.shortest_s() {
        return Err(Error::Refused(format!(
            "the record is {:.3} s long; from {} to {} Hz it must be at least {:.3} s",
            seconds,
            number(options.low_hz),
            number(options.high_hz),
            options.shortest_s()
        )));
    }
    if let Some(k) = first_foreign(samples) {
        within(&format!("samples[{k}]"), samples[k], "", -1e6, 1e6)?;
    }
    if samples.iter().all(|v| *v == samples[0]) {
        return Err(Error::Refused("the record is silent: all its samples are equal".into()));
    }
    Heard::new(rate_hz, samples, options)
}

/// Level of a record over the bins of a band, dB below its largest, for a picture: frequencies in Hz and levels.
pub fn tap_spectrum(rate_hz: f64, samples: &[f64], options: &ModeOptions) -> Result<(Vec<f64>, Vec<f64>)> {
    options.checked(rate_hz)?;
    if let Some(k) = first_foreign(samples) {
        within(&format!("samples[{k}]"), samples[k], "", -1e6, 1e6)?;
    }
    let plan = Plan::get(rate_hz, (options.low_hz, options.high_hz), samples.len().min((options.longest_s * rate_hz) as usize));
    let Some(plan) = plan else {
        return Err(Error::Refused(format!(
            "the record is too short for a spectrum; it must be at least {:.3} s",
            options.shortest_s()
        )));
    };
    let power: Vec<f64> = plan.spectrum(samples).iter().map(|v| v.norm_sqr()).collect();
    let top = power.iter().copied().fold(f64::MIN_POSITIVE, f64::max);
    let hz = plan.omega.iter().map(|w| w / (2.0 * PI)).collect();
    Ok((hz, power.iter().map(|p| 10.0 * (p / top).max(1e-15).log10()).collect()))
}

/// Student's quantile at 95 % for `freedom` degrees of freedom, to the first order of Cornish and Fisher.
fn quantile_95(freedom: f64) -> f64 {
    Z90 + (Z90.powi(3) + Z90) / (4.0 * freedom.max(4.0))
}

fn mains(frequency: f64, u: f64) -> Option<(f64, u32)> {
    [50.0, 60.0].into_iter().find_map(|m| {
        let k = (frequency / m).round();
        let near = (frequency - k * m).abs() <= HUM_REACH_HZ * k.max(1.0) + 3.0 * u;
        (k >= 1.0 && near && 3.0 * u < 0.2 * m).then_some((m, k as u32))
    })
}

fn told(heard: &Heard, options: &ModeOptions) -> TapModes {
    let Heard { plan, found, whole, .. } = heard;
    let fit = &found.fit;
    let seconds = plan.seconds();
    let (mut modes, mut steady, mut words) = (Vec::new(), Vec::new(), Vec::new());
    for i in 0..fit.poles.len() {
        let (s, c) = (fit.poles[i], fit.weights[i]);
        let (frequency, u) = (s.im / (2.0 * PI), found.u_parts[i].1 / (2.0 * PI));
        let (decay, u_decay) = (-s.re, found.u_parts[i].0);
        let bin =
            ((s.im - plan.omega[0]) / (plan.omega[1] - plan.omega[0])).round().clamp(0.0, (plan.omega.len() - 1) as f64) as usize;
        let hum = mains(frequency, u);
        let undamped = decay < 2.0 * fit.u_poles[i] || decay * seconds < 0.05;
        if undamped || (hum.is_some() && decay < HUM_DECAY) {
            steady.push(SteadyTone {
                frequency_hz: frequency,
                u_frequency_hz: u,
                amplitude: 2.0 * c.norm(),
                mains_hz: hum.map(|h| h.0),
                harmonic: hum.map(|h| h.1),
            });
            continue;
        }
        let t = quantile_95(found.freedom[bin]);
        let loose = (found.widening[i] * fit.u_poles[i] / decay).powi(2).min(LOOSE_MOST);
        let (u, u_decay) =
            (found.widening[i] * u * (1.0 + LOOSE.0 * loose), found.widening[i] * u_decay * (1.0 + LOOSE.1 * loose));
        let level = 2.0 * c.norm() / found.widening[i];
        modes.push(Mode {
            frequency_hz: frequency,
            u_frequency_hz: u,
            frequency_90_hz: (frequency - t * u, frequency + t * u),
            decay_per_s: decay,
            u_decay_per_s: u_decay,
            // Symmetric on a logarithmic scale, where the uncertainty does not follow the estimate's own error.
            decay_90_per_s: (decay * (-t * u_decay / decay).exp(), decay * (t * u_decay / decay).exp()),
            amplitude: level,
            u_amplitude: 2.0 * fit.u_weights[i],
            phase_rad: c.arg(),
            u_phase_rad: fit.u_weights[i] / c.norm(),
            noise_per_root_hz: (2.0 * found.noise[bin] / (plan.len as f64 * plan.rate_hz)).sqrt(),
            clear_by_db: 20.0 * (c.norm() / fit.u_weights[i]).log10(),
        });
        if *whole && decay * seconds < 1.5 {
            words.push(format!(
                "the mode at {frequency:.1} Hz outlasts the record: {seconds:.2} s hold {:.1} of its decay times; record {:.1} s",
                decay * seconds,
                3.0 / decay
            ));
        }
    }
    for b in &found.beside {
        let (at, of, share) = (b.tone.im / (2.0 * PI), fit.poles[b.mode].im / (2.0 * PI), b.share);
        words.push(format!(
            "beside the mode at {of:.1} Hz there may be a weaker one near {at:.1} Hz ({share:.2} of its level), too near the noise to be \
             told; the damping of the mode allows for it: more taps, or a quieter room, would tell"
        ));
    }
    modes.sort_by(|a, b| a.frequency_hz.total_cmp(&b.frequency_hz));
    steady.sort_by(|a, b| a.frequency_hz.total_cmp(&b.frequency_hz));
    for t in &steady {
        words.push(match (t.mains_hz, t.harmonic) {
            (Some(m), Some(k)) => format!("mains hum at {:.2} Hz ({k} x {m} Hz), kept apart from the modes", t.frequency_hz),
            _ => format!("a steady tone at {:.2} Hz that does not decay, kept apart from the modes", t.frequency_hz),
        });
    }
    if modes.is_empty() {
        words.push(format!(
            "no decaying mode stands out of the noise from {} to {} Hz",
            number(options.low_hz),
            number(options.high_hz)
        ));
    }
    TapModes { modes, steady, seconds, clipped: false, words }
}

/// Where the sound sinks among the converter's steps, which are no noise but follow it: the end of the last `window` that passes
/// [`COARSE`] of them. With noise of a step or more it is the end of the record.
fn fine_until(samples: &[f64], from: usize, to: usize, step: f64, window: usize) -> usize {
    if step <= 0.0 || window == 0 {
        return to;
    }
    let mut end = to;
    while end > from {
        let start = end.saturating_sub(window).max(from);
        if samples[start..end].iter().any(|v| v.abs() > COARSE * step) {
            return end;
        }
        end = start;
    }
    to
}

fn clip_words(tap: &Tap, passed: bool) -> String {
    if passed {
        format!(
            "clipped until {:.3} s; its record starts there, {:.0} ms after the blow: modes that die away sooner are lost, levels are \
             those of the later start (tap softer or turn the level down)",
            tap.start_s,
            1e3 * (tap.start_s - tap.onset_s)
        )
    } else {
        "clipped through its record: damping, levels and weak modes below are not to be trusted (tap softer or turn the level \
         down)"
            .into()
    }
}

/// Modes of every tap of a recording, in the channel the checks pick. What one tap lists, or two nearly, is looked for in the others. A tap that is clipped is used from where the clipping
/// ends, if enough is left.
pub fn recording_modes(sound: &Sound, taps: &TapOptions, options: &ModeOptions) -> Result<RecordingModes> {
    options.checked(sound.rate_hz())?;
    let checks = sound.checked()?;
    let samples = sound.centred(checks.channel)?;
    let rate = sound.rate_hz();
    if sound.seconds() < options.shortest_s() {
        return Err(Error::Refused(format!(
            "the recording is {:.3} s long; from {} to {} Hz it must be at least {:.3} s",
            sound.seconds(),
            number(options.low_hz),
            number(options.high_hz),
            options.shortest_s()
        )));
    }
    let mut words = checks.words.clone();
    let mut found = find_taps(rate, &samples, taps)?;
    // the last steps of a converter look like blows and ring like modes
    found.retain(|t| t.peak > COARSE_TAP * sound.step());
    if found.is_empty() {
        words.push("no tap stands out of this recording; tap harder or nearer to the microphone".into());
    }
    let mut each = Vec::with_capacity(found.len());
    for (i, mut tap) in found.into_iter().enumerate() {
        let mut from = ((tap.start_s * rate).round() as usize).min(samples.len());
        let to = (from + (tap.usable_s * rate).round() as usize).min(samples.len());
        let to = fine_until(&samples, from, to, sound.step(), (0.02 * rate) as usize);
        tap.usable_s = tap.usable_s.min((to - from) as f64 / rate);
        tap.clear_s = tap.clear_s.min(tap.usable_s);
        let cut = sound.clipped_until(&checks, from, to);
        let after = cut.filter(|k| (to - k.min(&to)) as f64 >= rate * options.shortest_s());
        if let Some(k) = after {
            let left_out = (k - from) as f64 / rate;
            tap.start_s += left_out;
            tap.usable_s -= left_out;
            tap.clear_s = (tap.clear_s - left_out).max(0.0);
            tap.peak = samples[k..to].iter().fold(0.0, |p: f64, v| p.max(v.abs()));
            from = k;
        }
        if tap.bounces > 0 {
            words.push(format!(
                "tap {} at {:.3} s bounced ({} more within {} ms each); its record starts after the last",
                i + 1,
                tap.onset_s,
                tap.bounces,
                number(taps.bounce_ms)
            ));
        }
        each.push((tap, heard(rate, &samples[from..to], options), cut.is_some(), after.is_some()));
    }
    let mut records: Vec<&mut Heard> = each.iter_mut().filter_map(|e| e.1.as_mut().ok()).collect();
    again_where_others_hear(&mut records, options.most);
    let mut out = Vec::with_capacity(each.len());
    for (i, (tap, heard, cut, passed)) in each.into_iter().enumerate() {
        let modes = match heard.map(|h| told(&h, options)) {
            Ok(mut m) => {
                if cut {
                    m.clipped = !passed;
                    m.words.insert(0, clip_words(&tap, passed));
                }
                words.extend(m.words.iter().map(|w| format!("tap {}: {w}", i + 1)));
                Some(m)
            }
            Err(e) => {
                words.push(format!("tap {}: {e}", i + 1));
                None
            }
        };
        out.push(RecordedTap { tap, found: modes });
    }
    Ok(RecordingModes { checks, taps: out, words })
}

/// [`recording_modes`] of many recordings, on all cores; each has its own result.
pub fn many_recordings(sounds: &[Sound], taps: &TapOptions, options: &ModeOptions) -> Vec<Result<RecordingModes>> {
    many_made(sounds.len(), |i| Ok(Cow::Borrowed(&sounds[i])), taps, options)
}

/// The same of recordings that are made (read from a file, say) where they are looked at, so that no more than one for
/// each core is held at a time. `make` is given the number of the recording, from 0.
pub fn many_made<'a, E: From<Error> + Send>(
    count: usize,
    make: impl Fn(usize) -> std::result::Result<Cow<'a, Sound>, E> + Sync,
    taps: &TapOptions,
    options: &ModeOptions,
) -> Vec<std::result::Result<RecordingModes, E>> {
    (0..count).into_par_iter().map(|i| Ok(recording_modes(make(i)?.as_ref(), taps, options)?)).collect()
}
