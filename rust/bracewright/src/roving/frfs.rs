//! Modes from frequency responses over a grid.

use std::f64::consts::PI;

use rayon::prelude::*;
use serde::{Deserialize, Serialize};

use super::basis::{C, Kind};
use super::fit::{gathered, joint};
use super::shapes::{RovingModes, shape_mode, told};
use super::{RovingOptions, checked_bins, checked_points};
use crate::error::{Error, Result, finite, same_length, within};
use crate::recording::{Mode, tap_modes};

/// What the response is of (ISO 7626-1).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Response {
    /// Displacement over force, m/N.
    Receptance,
    /// Velocity over force, m/s per N.
    Mobility,
    /// Acceleration over force, m/s2 per N.
    Accelerance,
}

impl Response {
    /// Power of i omega over the receptance.
    pub(crate) fn power(self) -> i32 {
        match self {
            Response::Receptance => 0,
            Response::Mobility => 1,
            Response::Accelerance => 2,
        }
    }
}

/// Frequency responses over a grid, all on the same frequencies.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct FrfSet {
    /// Points, mm.
    pub points_mm: Vec<(f64, f64)>,
    /// Frequencies, Hz, evenly spaced.
    pub hz: Vec<f64>,
    /// Real part, one list a point.
    pub re: Vec<Vec<f64>>,
    /// Imaginary part.
    pub im: Vec<Vec<f64>>,
    /// What it is of.
    pub response: Response,
    /// Whether the response is in SI units per N; a microphone or an uncalibrated sensor is not.
    pub calibrated: bool,
    /// Which point the fixed end (the sensor of a roving tap) sits at, from 0; `None` when it is none of them.
    pub driving: Option<usize>,
}

impl FrfSet {
    fn checked(&self, options: &RovingOptions) -> Result<f64> {
        options.checked()?;
        let step = self.check()?;
        within("high_hz", options.high_hz, "Hz", 2.0, self.hz[self.hz.len() - 1] * (1.0 + 1e-9))?;
        Ok(step)
    }

    /// Error unless the set is whole: as many responses as points, evenly spaced frequencies, finite values. Gives the step, Hz.
    pub fn check(&self) -> Result<f64> {
        checked_points(&self.points_mm)?;
        same_length("points_mm", self.points_mm.len(), "frfs", self.re.len())?;
        same_length("re", self.re.len(), "im", self.im.len())?;
        crate::error::increasing("hz", &self.hz, "Hz", 16)?;
        let n = self.hz.len();
        let step = (self.hz[n - 1] - self.hz[0]) / (n - 1) as f64;
        within("hz[0]", self.hz[0], "Hz", 0.0, 1e6)?;
        if self.hz.windows(2).any(|w| (w[1] - w[0] - step).abs() > 0.01 * step) {
            return Err(Error::BadList { name: "hz".into(), problem: "must be evenly spaced within 1 %".into() });
        }
        let low = (self.hz[0] / step).round();
        if (self.hz[0] - low * step).abs() > 0.02 * step {
            return Err(Error::BadList {
                name: "hz".into(),
                problem: format!("starts at {} Hz, which is no multiple of its step of {} Hz", self.hz[0], step),
            });
        }
        for (p, (re, im)) in self.re.iter().zip(&self.im).enumerate() {
            same_length(&format!("frfs[{p}]"), re.len(), "hz", n)?;
            same_length(&format!("frfs[{p}]"), im.len(), "hz", n)?;
            for (k, v) in re.iter().chain(im).enumerate() {
                finite(&format!("frfs[{p}][{}]", k % n), *v, "")?;
            }
            if re.iter().chain(im).all(|v| *v == 0.0) {
                return Err(Error::BadList { name: format!("frfs[{p}]"), problem: "is 0 at all frequencies".into() });
            }
        }
        if let Some(d) = self.driving {
            within("driving", d as f64, "", 0.0, (self.points_mm.len() - 1) as f64)?;
        }
        Ok(step)
    }

    /// Impulse response of one point in mobility form, and its rate.
    fn ringing(&self, point: usize, step: f64) -> Result<(f64, Vec<f64>)> {
        let first = (self.hz[0] / step).round() as usize;
        let last = first + self.hz.len();
        // twice as far as the data go, so that the search has its band well inside
        let bins = 2 * last + 1;
        let fft = realfft::RealFftPlanner::<f64>::new().plan_fft_inverse(2 * (bins - 1));
        let mut spectrum = fft.make_input_vec();
        let power = 1 - self.response.power();
        let mut top: f64 = 0.0;
        for (k, (re, im)) in self.re[point].iter().zip(&self.im[point]).enumerate() {
            let w = 2.0 * PI * self.hz[k];
            if first + k == 0 || w <= 0.0 {
                continue;
            }
            spectrum[first + k] = C::new(*re, *im) * C::new(0.0, w).powi(power);
            top = top.max(spectrum[first + k].norm());
        }
        // whatever its unit, a record of ordinary size
        spectrum.iter_mut().for_each(|v| *v /= top.max(f64::MIN_POSITIVE) * (bins as f64).sqrt());
        let mut out = fft.make_output_vec();
        fft.process(&mut spectrum, &mut out).map_err(|e| Error::Refused(format!("the response cannot be transformed: {e}")))?;
        Ok((2.0 * (bins - 1) as f64 * step, out))
    }
}

/// Modes of a grid of frequency responses: poles common to all, complex residues at each point, real shapes, and modal mass
/// where the set is calibrated and its driving point known. The residues of modes outside the band are taken up by a mass
/// and a spring at each point.
pub fn roving_frfs(set: &FrfSet, options: &RovingOptions) -> Result<RovingModes> {
    let step = set.checked(options)?;
    let mut search = options.search();
    search.low_hz = search.low_hz.max(set.hz[0].max(step));
    search.longest_s = search.longest_s.max(search.shortest_s());
    let found: Vec<Vec<Mode>> = (0..set.points_mm.len())
        .into_par_iter()
        .map(|p| {
            let (rate, ring) = set.ringing(p, step)?;
            Ok(tap_modes(rate, &ring, &search)?.modes)
        })
        .collect::<Result<_>>()?;
    let start = gathered(&found, options.most);
    let inside: Vec<usize> =
        (0..set.hz.len()).filter(|k| set.hz[*k] >= options.low_hz && set.hz[*k] <= options.high_hz && set.hz[*k] > 0.0).collect();
    let mut words = Vec::new();
    checked_bins(inside.len(), start.len(), options)?;
    let omega: Vec<f64> = inside.iter().map(|k| 2.0 * PI * set.hz[*k]).collect();
    let spectra: Vec<Vec<C>> =
        set.re.iter().zip(&set.im).map(|(re, im)| inside.iter().map(|k| C::new(re[*k], im[*k])).collect()).collect();
    let fit = joint(Kind::Response { power: set.response.power() }, &omega, &spectra, &start, options);
    let mut modes = Vec::new();
    for (k, pole) in fit.poles.iter().enumerate() {
        let residues: Vec<C> = fit.residues.iter().map(|r| r[k]).collect();
        let u: Vec<f64> = fit.u_residues.iter().map(|r| r[k]).collect();
        let Some(mut mode) = shape_mode(*pole, fit.u_poles[k], &residues, &u) else { continue };
        if let (true, Some(d)) = (set.calibrated, set.driving) {
            // R at the driving point is shape^2 / (2 i omega m)
            let whole = C::new(0.0, 2.0 * pole.im) * residues[d];
            let top = (0..residues.len()).fold(0, |t, p| if residues[p].norm() > residues[t].norm() { p } else { t });
            let relative = (u[d] / residues[d].norm()).hypot(2.0 * u[top] / residues[top].norm());
            let at = mode.shape[d];
            if at.abs() < 0.05 || residues[d].norm() < 4.0 * u[d] {
                words.push(format!(
                    "the fixed sensor sits near a node of the mode at {:.1} Hz: no modal mass is given for it",
                    mode.frequency_hz
                ));
            } else if whole.re <= 0.0 {
                words.push(format!(
                    "at the driving point the mode at {:.1} Hz moves against the force: a channel has its sign turned, or the point is not the sensor's",
                    mode.frequency_hz
                ));
            } else {
                let mass_g = 1000.0 * at * at * whole.re / whole.norm_sqr();
                mode.modal_mass_g = Some(mass_g);
                mode.u_modal_mass_g = Some(mass_g * relative);
            }
        }
        modes.push(mode);
    }
    words.push(match (set.calibrated, set.driving) {
        (false, _) => "the response is not calibrated: frequencies, damping and shapes stand, modal masses are not given".into(),
        (true, None) => "the point of the fixed sensor was not struck: shapes stand, modal masses are not given".into(),
        (true, Some(_)) => {
            "modal masses hold for a shape of largest value 1; the calibration of hammer and sensor is not in their \
                            uncertainty"
                .into()
        }
    });
    if modes.is_empty() {
        words.push(format!("no mode stands out from {} to {} Hz", options.low_hz, options.high_hz));
    }
    told(&modes, &mut words);
    Ok(RovingModes { points_mm: set.points_mm.clone(), modes, words })
}
