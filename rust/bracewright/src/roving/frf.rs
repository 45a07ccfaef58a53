//! Frequency responses from blows with a force channel, averaged over blows.

use serde::{Deserialize, Serialize};

use super::basis::C;
use crate::error::{Error, Result, finite, same_length, within};

/// How the average is made (ISO 7626-5, terms).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Estimator {
    /// Cross spectrum over the force's own: noise of the response averages out; the usual one.
    H1,
    /// The response's own spectrum over the cross spectrum: noise of the force channel averages out.
    H2,
}

/// A frequency response: response over force.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Frf {
    /// Frequencies, Hz.
    pub hz: Vec<f64>,
    /// Real part, units of the response over N.
    pub re: Vec<f64>,
    /// Imaginary part.
    pub im: Vec<f64>,
    /// Coherence, 0 to 1; `None` with one blow, where it would be 1 whatever was recorded.
    pub coherence: Option<Vec<f64>>,
    /// Blows averaged.
    pub taps: usize,
    /// What should be known, as sentences.
    pub words: Vec<String>,
}

fn transform(samples: &[f64], padded: usize) -> Result<Vec<C>> {
    let fft = realfft::RealFftPlanner::<f64>::new().plan_fft_forward(padded);
    let mut input = fft.make_input_vec();
    input[..samples.len()].copy_from_slice(samples);
    let mut out = fft.make_output_vec();
    fft.process(&mut input, &mut out).map_err(|e| Error::Refused(format!("the record cannot be transformed: {e}")))?;
    Ok(out)
}

/// Response over force from 1 to `high_hz`, from blows of the same point: `force_n` and `response` hold one record a blow,
/// force and response of a blow of equal length and recorded together. No window is used: the response must have died down
/// within the record, and the words say when it has not.
pub fn frf(rate_hz: f64, force_n: &[Vec<f64>], response: &[Vec<f64>], estimator: Estimator, high_hz: f64) -> Result<Frf> {
    within("rate_hz", rate_hz, "Hz", 100.0, 1e7)?;
    within("high_hz", high_hz, "Hz", 2.0, 0.5 * rate_hz)?;
    same_length("force_n", force_n.len(), "response", response.len())?;
    if force_n.is_empty() {
        return Err(Error::BadList { name: "force_n".into(), problem: "is empty; give at least one blow".into() });
    }
    let mut longest = 0;
    let mut words = Vec::new();
    for (i, (f, y)) in force_n.iter().zip(response).enumerate() {
        same_length(&format!("force_n[{i}]"), f.len(), &format!("response[{i}]"), y.len())?;
        for (name, list) in [("force_n", f), ("response", y)] {
            if let Some(k) = list.iter().position(|v| !v.is_finite() || v.abs() > 1e9) {
                within(&format!("{name}[{i}][{k}]"), list[k], "", -1e9, 1e9)?;
            }
            if list.len() < 64 {
                return Err(Error::BadList {
                    name: format!("{name}[{i}]"),
                    problem: format!("has {} samples; it needs at least 64", list.len()),
                });
            }
            if list.iter().all(|v| *v == list[0]) {
                return Err(Error::BadList {
                    name: format!("{name}[{i}]"),
                    problem: "is silent: all its samples are equal".into(),
                });
            }
        }
        longest = longest.max(f.len());
        let rms = |v: &[f64]| (v.iter().map(|v| v * v).sum::<f64>() / v.len() as f64).sqrt();
        let n = y.len();
        let (head, tail) = (rms(&y[..n / 2]), rms(&y[n - n / 20..]));
        if tail > 0.02 * head {
            words.push(format!(
                "the response to blow {} still rings at {:.0} % when its record ends: damping will read high; record longer",
                i + 1,
                100.0 * tail / head
            ));
        }
        let peak = f.iter().fold(0.0_f64, |m, v| m.max(v.abs()));
        let at = f.iter().position(|v| v.abs() == peak).unwrap_or(0);
        let after = at + ((0.005 * rate_hz) as usize).max(2);
        if f.iter().skip(after).any(|v| v.abs() > 0.1 * peak) {
            words.push(format!("blow {} has a second one after it: strike again", i + 1));
        }
    }
    let (mut sxx, mut syy, mut sxy): (Vec<f64>, Vec<f64>, Vec<C>) = (Vec::new(), Vec::new(), Vec::new());
    for (f, y) in force_n.iter().zip(response) {
        let (x, y) = (transform(f, longest)?, transform(y, longest)?);
        sxx.resize(x.len(), 0.0);
        syy.resize(x.len(), 0.0);
        sxy.resize(x.len(), C::new(0.0, 0.0));
        for k in 0..x.len() {
            sxx[k] += x[k].norm_sqr();
            syy[k] += y[k].norm_sqr();
            sxy[k] += x[k].conj() * y[k];
        }
    }
    let step = rate_hz / longest as f64;
    let take = ((high_hz / step) as usize).min(sxx.len() - 1);
    let first = ((1.0 / step).ceil() as usize).max(1);
    if take < first + 8 {
        return Err(Error::Refused(format!(
            "up to {high_hz} Hz the records hold too few bins, {step:.2} Hz apart; lengthen them or raise high_hz"
        )));
    }
    let strongest = sxx[first..=take].iter().copied().fold(0.0, f64::max);
    let largest = syy[first..=take].iter().copied().fold(0.0, f64::max);
    let mut out = Frf {
        hz: (first..=take).map(|k| k as f64 * step).collect(),
        re: Vec::new(),
        im: Vec::new(),
        coherence: None,
        taps: force_n.len(),
        words,
    };
    let mut coherence = Vec::new();
    for k in first..=take {
        // a bin the blow did not drive, or where nothing moved, says 0 rather than noise over nothing
        let h = match estimator {
            Estimator::H1 => sxy[k] / sxx[k].max(1e-18 * strongest),
            Estimator::H2 if sxy[k].norm_sqr() > 1e-30 * strongest * largest => sxy[k] * (syy[k] / sxy[k].norm_sqr()),
            Estimator::H2 => C::new(0.0, 0.0),
        };
        finite("response over force", h.norm(), "")?;
        out.re.push(h.re);
        out.im.push(h.im);
        coherence.push((sxy[k].norm_sqr() / (sxx[k] * syy[k]).max(1e-300)).min(1.0));
    }
    if let Some(k) = (first..=take).find(|k| sxx[*k] < 0.01 * strongest) {
        out.words.push(format!(
            "above {:.0} Hz the blow drives less than a tenth of its best: use a harder tip for what lies there",
            k as f64 * step
        ));
    }
    if force_n.len() > 1 {
        let driven: Vec<f64> = coherence.iter().zip(first..).filter(|(_, k)| syy[*k] > 0.01 * largest).map(|(c, _)| *c).collect();
        let mean = driven.iter().sum::<f64>() / driven.len().max(1) as f64;
        if mean < 0.9 {
            out.words.push(format!(
                "coherence is {mean:.2} where the piece rings: the blows differ in place or direction, or noise is loud"
            ));
        }
        out.coherence = Some(coherence);
    }
    Ok(out)
}
