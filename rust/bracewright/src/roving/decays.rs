//! Modes from recordings alone, one or more taps a point, with or without a fixed reference channel.

use std::f64::consts::PI;

use rayon::prelude::*;
use serde::{Deserialize, Serialize};

use super::basis::{C, Kind};
use super::fit::{gathered, joint};
use super::shapes::{RovingModes, shape_mode, told};
use super::{RovingOptions, checked_bins, checked_points};
use crate::error::{Error, Result, number, same_length, within};
use crate::recording::{Mode, tap_modes};

/// What goes from point to point.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Moving {
    /// The tap; the microphone or sensor stays.
    Tap,
    /// The sensor; the place that is struck stays.
    Sensor,
}

fn spectrum(samples: &[f64], take: usize, first: usize, last: usize) -> Result<Vec<C>> {
    let fft = realfft::RealFftPlanner::<f64>::new().plan_fft_forward(take);
    let mut input = fft.make_input_vec();
    input.copy_from_slice(&samples[..take]);
    let mut out = fft.make_output_vec();
    fft.process(&mut input, &mut out).map_err(|e| Error::Refused(format!("the record cannot be transformed: {e}")))?;
    Ok(out[first..=last].to_vec())
}

/// Mean and its standard uncertainty: from the scatter of taps where there are several, never less than the noise's.
fn together(values: &[C], u: &[f64]) -> (C, f64) {
    let n = values.len() as f64;
    let mean = values.iter().sum::<C>() / n;
    let noise = u.iter().map(|u| u * u).sum::<f64>().sqrt() / n;
    if values.len() < 2 {
        return (mean, noise);
    }
    let scatter = (values.iter().map(|v| (v - mean).norm_sqr()).sum::<f64>() / (2.0 * n * (n - 1.0))).sqrt();
    (mean, noise.max(scatter))
}

/// Modes and shapes from free decays: `samples[point][tap]` starts with the ring of each tap, `reference` (the same shape)
/// is a channel that stays in its place, recorded together with it. All records are cut to the shortest.
///
/// With a roving sensor the reference takes strength and start of every tap out of the shape. With a roving tap it cannot: a
/// second fixed channel hears the same strength times the same shape. There the strength of each tap stands in the shape
/// unless a force channel is used ([`super::frf`]), and the words say so.
pub fn roving_decays(
    points_mm: &[(f64, f64)],
    rate_hz: f64,
    samples: &[Vec<Vec<f64>>],
    reference: Option<&[Vec<Vec<f64>>]>,
    moving: Moving,
    options: &RovingOptions,
) -> Result<RovingModes> {
    checked_points(points_mm)?;
    options.checked()?;
    within("rate_hz", rate_hz, "Hz", 100.0, 1e7)?;
    within("high_hz", options.high_hz, "Hz", 2.0, 0.45 * rate_hz)?;
    same_length("points_mm", points_mm.len(), "samples", samples.len())?;
    if let Some(r) = reference {
        same_length("samples", samples.len(), "reference", r.len())?;
    }
    let mut records: Vec<&[f64]> = Vec::new();
    // record numbers of each point: sensor, reference
    let mut of_point: Vec<Vec<(usize, Option<usize>)>> = Vec::new();
    for (p, taps) in samples.iter().enumerate() {
        if taps.is_empty() {
            return Err(Error::BadList { name: format!("samples[{p}]"), problem: "holds no tap; give at least one".into() });
        }
        let fixed = reference.map(|r| &r[p]);
        if let Some(f) = fixed {
            same_length(&format!("samples[{p}]"), taps.len(), &format!("reference[{p}]"), f.len())?;
        }
        let mut own = Vec::new();
        for (i, tap) in taps.iter().enumerate() {
            records.push(tap);
            let at = records.len() - 1;
            own.push((
                at,
                fixed.map(|f| {
                    records.push(&f[i]);
                    at + 1
                }),
            ));
        }
        of_point.push(own);
    }
    let take = records.iter().map(|r| r.len()).min().unwrap_or(0);
    let take = take.min((options.search().longest_s * rate_hz) as usize) & !1;
    let (long, needed) = (take as f64 / rate_hz, options.search().shortest_s());
    if long < needed {
        return Err(Error::Refused(format!(
            "the shortest record of samples is {long:.3} s long; from {} to {} Hz it must be at least {needed:.3} s",
            number(options.low_hz),
            number(options.high_hz)
        )));
    }
    let found: Vec<Vec<Mode>> =
        records.par_iter().map(|r| Ok(tap_modes(rate_hz, &r[..take], &options.search())?.modes)).collect::<Result<_>>()?;
    let start = gathered(&found, options.most);
    let step = rate_hz / take as f64;
    let (first, last) = ((options.low_hz / step).ceil() as usize, ((options.high_hz / step) as usize).min(take / 2));
    checked_bins((last + 1).saturating_sub(first), start.len(), options)?;
    let omega: Vec<f64> = (first..=last).map(|k| 2.0 * PI * step * k as f64).collect();
    let spectra: Vec<Vec<C>> = records.par_iter().map(|r| spectrum(r, take, first, last)).collect::<Result<_>>()?;
    let fit = joint(Kind::Decay { rate_hz, samples: take }, &omega, &spectra, &start, options);
    let steadied = moving == Moving::Sensor && reference.is_some();
    let mut modes = Vec::new();
    let mut words = Vec::new();
    for (k, pole) in fit.poles.iter().enumerate() {
        let (mut values, mut u) = (Vec::new(), Vec::new());
        for own in &of_point {
            let (mut c, mut uc) = (Vec::new(), Vec::new());
            for &(at, fixed) in own {
                let (v, uv) = (fit.residues[at][k], fit.u_residues[at][k]);
                match fixed {
                    Some(f) if steadied => {
                        let (r, ur) = (fit.residues[f][k], fit.u_residues[f][k]);
                        let size = r.norm().max(f64::MIN_POSITIVE);
                        c.push(v / r);
                        uc.push((uv / size).hypot(v.norm() / size * ur / size));
                    }
                    _ => {
                        c.push(v);
                        uc.push(uv);
                    }
                }
            }
            let (mean, um) = together(&c, &uc);
            values.push(mean);
            u.push(um);
        }
        if steadied {
            let faint = of_point
                .iter()
                .flatten()
                .filter(|(_, f)| f.is_some_and(|f| fit.residues[f][k].norm() < 4.0 * fit.u_residues[f][k]))
                .count();
            if faint > 0 {
                words.push(format!(
                    "the reference hardly hears the mode at {:.1} Hz in {faint} of {} taps: it stands near a node of it",
                    pole.im / (2.0 * PI),
                    of_point.iter().map(Vec::len).sum::<usize>()
                ));
            }
        }
        if let Some(mode) = shape_mode(*pole, fit.u_poles[k], &values, &u).filter(|m| m.shape.iter().all(|v| v.is_finite())) {
            modes.push(mode);
        }
    }
    words.insert(0, match (moving, reference.is_some()) {
        (Moving::Sensor, true) => "each tap was put right by the reference channel: shapes hold, in units of the reference".into(),
        (Moving::Sensor, false) => {
            "no reference channel was given: how hard each tap was is mixed into the shapes; repeat taps, or record a fixed second channel".into()
        }
        (Moving::Tap, false) => {
            "no force was recorded: how hard each tap was is mixed into the shapes (the same factor in all modes of a point); repeat taps, \
             or use a hammer with a force channel"
                .into()
        }
        (Moving::Tap, true) => {
            "no force was recorded: a fixed reference cannot tell how hard a roving tap was, as it hears strength and shape together; \
             both stand in the shapes. Move the sensor and strike one place, or use a hammer with a force channel"
                .into()
        }
    });
    words.push("no amplitude per unit of force and no modal mass is claimed without a force channel".into());
    if modes.is_empty() {
        words.push(format!("no mode stands out of the noise from {} to {} Hz", options.low_hz, options.high_hz));
    }
    told(&modes, &mut words);
    Ok(RovingModes { points_mm: points_mm.to_vec(), modes, words })
}
