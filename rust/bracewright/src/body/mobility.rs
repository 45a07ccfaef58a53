//! How readily the top moves when it is driven where it is tapped.

use std::f64::consts::TAU;

use realfft::num_complex::Complex;
use serde::{Deserialize, Serialize};

use super::coupled::CoupledBody;
use super::oscillators::Hole;
use crate::error::{Error, Result, finite, positive};

/// Driving-point mobility of the top over frequency.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct BodyMobility {
    /// Frequencies, Hz.
    pub frequency_hz: Vec<f64>,
    /// Real part of velocity over force, s/kg (m/s per N).
    pub re_s_per_kg: Vec<f64>,
    /// Imaginary part, s/kg.
    pub im_s_per_kg: Vec<f64>,
    /// Size, s/kg.
    pub size_s_per_kg: Vec<f64>,
}

/// More frequencies than anyone draws.
const MOST: usize = 1_000_000;

impl CoupledBody {
    /// Velocity over force at the place on the top that is tapped, both positive outwards and as exp(+j w t), so that a spring has a
    /// positive imaginary part and a mass a negative one; the real part is above 0. `frequency_hz` are above 0.
    ///
    /// Damping is viscous, R_i = 2 pi f_i M_i / Q_i with each oscillator's own frequency (of the air: the rigid box's), and
    /// exact: Y = j f / (2 pi M_t) / (D_t + v_t^2 / (1 + sum_i v_i^2 / D_i)), D_i = d_i - f^2 + j f f_i / Q_i, i over the others.
    pub fn mobility(&self, frequency_hz: &[f64], hole: Hole) -> Result<BodyMobility> {
        if frequency_hz.is_empty() || frequency_hz.len() > MOST {
            return Err(Error::BadList {
                name: "frequency_hz".into(),
                problem: format!("has {} values; it must have 1 to {MOST}", frequency_hz.len()),
            });
        }
        let p = self.parts(hole);
        let (mut re, mut im) = (Vec::with_capacity(frequency_hz.len()), Vec::with_capacity(frequency_hz.len()));
        for (k, &f) in frequency_hz.iter().enumerate() {
            let name = || format!("frequency_hz[{k}]");
            positive(&name(), f, "Hz")?;
            let d = |i: usize| Complex::new(p.d[i] - f * f, f * p.width[i]);
            let others: Complex<f64> = (1..p.d.len()).map(|i| p.v[i] * p.v[i] / d(i)).sum();
            let y = Complex::new(0.0, f / (TAU * 1e-3 * self.top.mass_g)) / (d(0) + p.v[0] * p.v[0] / (1.0 + others));
            re.push(finite(&name(), y.re, "Hz")?);
            im.push(finite(&name(), y.im, "Hz")?);
        }
        let size = re.iter().zip(&im).map(|(r, i)| r.hypot(*i)).collect();
        Ok(BodyMobility { frequency_hz: frequency_hz.to_vec(), re_s_per_kg: re, im_s_per_kg: im, size_s_per_kg: size })
    }
}
