//! Measures of the trade's sound tests: decay time per band, level over bands and recordings, amplitude per unit tap.

use std::f64::consts::PI;

use realfft::RealFftPlanner;
use serde::{Deserialize, Serialize};

use super::decimate::C;
use super::modes::TapModes;
use super::sound::first_foreign;
use crate::error::{Error, Result, within};

/// How wide a band is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum BandWidth {
    /// Octaves.
    Octave,
    /// Thirds of an octave.
    ThirdOctave,
}

/// A band of IEC 61260-1 (2014), base-ten system: octave ratio G = 10^0.3, mid-band 1000 G^(x/b) Hz, edges G^(1/2b) off.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Band {
    /// Exact mid-band frequency, Hz.
    pub middle_hz: f64,
    /// Lower edge, Hz.
    pub low_hz: f64,
    /// Upper edge, Hz.
    pub high_hz: f64,
}

/// Decay of one band.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct BandDecay {
    /// The band.
    pub band: Band,
    /// Time to fall by 60 dB, s, from the line through the decay curve; `None` when the curve falls less than 10 dB clear
    /// of the noise.
    pub decay_time_s: Option<f64>,
    /// The range the line was fitted over, dB below the start: from 5 to at most 35 (then the value is a T30).
    pub range_db: (f64, f64),
    /// Energy of the band, sum of squares over the rate.
    pub energy: f64,
}

/// Every band that lies whole between `low_hz` and `high_hz`.
pub fn bands(width: BandWidth, low_hz: f64, high_hz: f64) -> Result<Vec<Band>> {
    within("low_hz", low_hz, "Hz", 1.0, 1e5)?;
    within("high_hz", high_hz, "Hz", low_hz, 1e5)?;
    let b = match width {
        BandWidth::Octave => 1.0,
        BandWidth::ThirdOctave => 3.0,
    };
    let g = 10f64.powf(0.3);
    Ok((-40..=40)
        .map(|x| {
            let middle_hz = 1000.0 * g.powf(f64::from(x) / b);
            Band { middle_hz, low_hz: middle_hz * g.powf(-0.5 / b), high_hz: middle_hz * g.powf(0.5 / b) }
        })
        .filter(|k| k.low_hz >= low_hz * (1.0 - 1e-9) && k.high_hz <= high_hz * (1.0 + 1e-9))
        .collect())
}

/// The spectrum of a record, doubled in length so that a band's ring does not wrap onto its start.
fn spectrum(samples: &[f64]) -> (Vec<C>, RealFftPlanner<f64>, usize) {
    let n = (2 * samples.len()).next_power_of_two();
    let mut planner = RealFftPlanner::new();
    let fft = planner.plan_fft_forward(n);
    // an offset of the converter is no sound; cut off at the end of the record it would fill every band
    let mean = samples.iter().sum::<f64>() / samples.len() as f64;
    let mut x: Vec<f64> = samples.iter().map(|v| v - mean).collect();
    x.resize(n, 0.0);
    let mut out = fft.make_output_vec();
    // Lengths agree by construction.
    let _ = fft.process(&mut x, &mut out);
    (out, planner, n)
}

/// Share of a band's amplitude at a frequency: 1 inside, raised-cosine flanks a tenth of the band wide at either edge.
fn share(band: &Band, f: f64) -> f64 {
    let flank = 0.1 * (band.high_hz - band.low_hz);
    let edge = |d: f64| (0.5 * PI * (0.5 + d / flank).clamp(0.0, 1.0)).sin();
    edge(f - band.low_hz) * edge(band.high_hz - f)
}

fn checked(rate_hz: f64, name: &str, samples: &[f64], bands: &[Band]) -> Result<()> {
    within("rate_hz", rate_hz, "Hz", 100.0, 1e7)?;
    if samples.len() < 64 {
        return Err(Error::BadList { name: name.into(), problem: format!("has {} values; it needs at least 64", samples.len()) });
    }
    if let Some(k) = first_foreign(samples) {
        within(&format!("{name}[{k}]"), samples[k], "", -1e6, 1e6)?;
    }
    for (i, b) in bands.iter().enumerate() {
        within(&format!("bands[{i}].high_hz"), b.high_hz, "Hz", 0.0, 0.5 * rate_hz)?;
        within(&format!("bands[{i}].low_hz"), b.low_hz, "Hz", 0.0, b.high_hz)?;
    }
    Ok(())
}

/// Decay time of a tap in each band, by backward integration (Schroeder 1965) with the power of the last tenth of the
/// record taken off as noise. `samples` start with the ring. The bands here are cut from the spectrum, so a short ring
/// is not lengthened by a filter; a band still cannot show a decay faster than about 1 / its width.
pub fn band_decays(rate_hz: f64, samples: &[f64], bands: &[Band]) -> Result<Vec<BandDecay>> {
    checked(rate_hz, "samples", samples, bands)?;
    let (whole, mut planner, n) = spectrum(samples);
    let back = planner.plan_fft_inverse(n);
    Ok(bands
        .iter()
        .map(|band| {
            let mut part: Vec<C> =
                whole.iter().enumerate().map(|(k, v)| v * share(band, k as f64 * rate_hz / n as f64) / n as f64).collect();
            let mut y = back.make_output_vec();
            part[0].im = 0.0;
            if let Some(l) = part.last_mut() {
                l.im = 0.0;
            }
            let _ = back.process(&mut part, &mut y);
            one_decay(rate_hz, &y[..samples.len()], *band)
        })
        .collect())
}

fn one_decay(rate_hz: f64, y: &[f64], band: Band) -> BandDecay {
    let n = y.len();
    // The last tenth is taken for noise, less its very end where the cut of the record rings in the band.
    let guard = ((2.0 / (band.high_hz - band.low_hz)) * rate_hz) as usize;
    let end = n.saturating_sub(guard.min(n / 20)).max(1);
    let from = end - (n / 10).min(end - 1).max(1).min(end);
    let noise = y[from..end].iter().map(|v| v * v).sum::<f64>() / (end - from).max(1) as f64;
    let mut curve = vec![0.0; end];
    let mut sum = 0.0;
    for k in (0..end).rev() {
        sum += y[k] * y[k] - noise;
        curve[k] = sum;
    }
    let energy = curve[0].max(0.0) / rate_hz;
    // What is left of the noise after its mean is off wanders as the root of the count.
    let doubt = noise * (end as f64 * rate_hz / (band.high_hz - band.low_hz)).sqrt();
    let level = |v: f64| 10.0 * (v / curve[0]).log10();
    let deepest = if curve[0] > 0.0 && doubt > 0.0 { -10.0 * (5.0 * doubt / curve[0]).log10() } else { 35.0 };
    let low = deepest.min(35.0);
    let none = BandDecay { band, decay_time_s: None, range_db: (5.0, low.max(5.0)), energy };
    if curve[0] <= 0.0 || low.is_nan() || low < 15.0 {
        return none;
    }
    let first = curve.iter().position(|v| *v <= 0.0 || level(*v) <= -5.0).unwrap_or(end);
    let last = curve.iter().position(|v| *v <= 0.0 || level(*v) <= -low).unwrap_or(end);
    if last < first + 8 {
        return none;
    }
    let (mut st, mut sl, mut stt, mut stl) = (0.0, 0.0, 0.0, 0.0);
    for k in first..last {
        let (t, l) = ((k - first) as f64 / rate_hz, level(curve[k]));
        st += t;
        sl += l;
        stt += t * t;
        stl += t * l;
    }
    let m = (last - first) as f64;
    let slope = (m * stl - st * sl) / (m * stt - st * st);
    let decay_time_s = (slope < 0.0 && slope.is_finite()).then_some(-60.0 / slope);
    BandDecay { band, decay_time_s, range_db: (5.0, low), energy }
}

/// Level of each band of each recording, dB below the sum of its own bands: how the same piece, or the notes of one
/// instrument, spread their energy. One list for each recording, one value a band; `None` where a band holds nothing.
pub fn band_balance(rate_hz: f64, recordings: &[Vec<f64>], bands: &[Band]) -> Result<Vec<Vec<Option<f64>>>> {
    if bands.is_empty() {
        return Err(Error::BadList { name: "bands".into(), problem: "is empty; give at least one band".into() });
    }
    recordings
        .iter()
        .enumerate()
        .map(|(i, samples)| {
            checked(rate_hz, &format!("recordings[{i}]"), samples, bands)?;
            let (whole, _, n) = spectrum(samples);
            let energies: Vec<f64> = bands
                .iter()
                .map(|b| {
                    let step = rate_hz / n as f64;
                    let (lo, hi) = ((b.low_hz / step).ceil() as usize, (b.high_hz / step).ceil() as usize);
                    whole[lo.min(whole.len())..hi.min(whole.len())].iter().map(|v| v.norm_sqr()).sum()
                })
                .collect();
            let all: f64 = energies.iter().sum();
            Ok(energies.iter().map(|e| (*e > 0.0 && all > 0.0).then(|| 10.0 * (e / all).log10())).collect())
        })
        .collect()
}

/// Amplitude of each mode per unit impulse of the tap, in units of the samples per N s. `force_n` is the force channel
/// over the blow, N, at `rate_hz`, zero before and after it; without one the request is refused: how hard a tap was
/// cannot be heard.
pub fn amplitude_per_impulse(tap: &TapModes, rate_hz: f64, force_n: Option<&[f64]>) -> Result<Vec<f64>> {
    within("rate_hz", rate_hz, "Hz", 100.0, 1e7)?;
    let Some(force) = force_n.filter(|f| !f.is_empty()) else {
        return Err(Error::Refused(
            "amplitude per unit tap needs the force of the tap; this recording has no force channel, and how hard a tap was cannot be heard"
                .into(),
        ));
    };
    for (i, f) in force.iter().enumerate() {
        crate::error::finite(&format!("force_n[{i}]"), *f, "N")?;
    }
    let impulse = force.iter().sum::<f64>() / rate_hz;
    crate::error::positive("impulse of force_n", impulse, "N s")?;
    Ok(tap.modes.iter().map(|m| m.amplitude / impulse).collect())
}
