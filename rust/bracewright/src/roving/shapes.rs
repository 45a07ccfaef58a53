//! Mode shapes: made real, scaled, compared.

use std::f64::consts::PI;

use serde::{Deserialize, Serialize};

use super::basis::C;
use crate::error::{Error, Result, finite, same_length};

/// A mode with its shape.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ShapeMode {
    /// Frequency of the ringing, Hz.
    pub frequency_hz: f64,
    /// Its standard uncertainty, Hz.
    pub u_frequency_hz: f64,
    /// Decay rate of the amplitude, 1/s.
    pub decay_per_s: f64,
    /// Its standard uncertainty, 1/s.
    pub u_decay_per_s: f64,
    /// Shape, one value a point, largest 1: the real part after the turn that makes it most real.
    pub shape: Vec<f64>,
    /// Standard uncertainty of each beside the largest, which is 1 by the scale chosen.
    pub u_shape: Vec<f64>,
    /// What is left in the imaginary part.
    pub imaginary: Vec<f64>,
    /// Modal phase collinearity, 0 to 1: 1 when all points move in step; low with close modes, noise or a bad record.
    pub collinearity: f64,
    /// Points where the mode stands more than four times its uncertainty out of the noise.
    pub seen_at: usize,
    /// Modal mass for a shape of largest value 1, g: only with force, a calibrated response and the sensor's own point struck.
    pub modal_mass_g: Option<f64>,
    /// Its standard uncertainty from noise, g.
    pub u_modal_mass_g: Option<f64>,
}

impl ShapeMode {
    /// Quality factor.
    pub fn quality(&self) -> f64 {
        PI * self.frequency_hz / self.decay_per_s
    }

    /// Loss factor, 1 / Q.
    pub fn loss_factor(&self) -> f64 {
        self.decay_per_s / (PI * self.frequency_hz)
    }

    fn complex(&self) -> Vec<C> {
        self.shape.iter().zip(&self.imaginary).map(|(r, i)| C::new(*r, *i)).collect()
    }
}

/// Modes and shapes over a grid.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct RovingModes {
    /// The points, x and y in mm, in the order of the shapes.
    pub points_mm: Vec<(f64, f64)>,
    /// Modes by rising frequency.
    pub modes: Vec<ShapeMode>,
    /// What should be known, as sentences.
    pub words: Vec<String>,
}

impl RovingModes {
    /// Modal assurance criterion of every mode of this (rows) with every mode of another on the same points (columns),
    /// imaginary parts in.
    pub fn mac_with(&self, other: &Self) -> Result<Vec<Vec<f64>>> {
        if self.points_mm != other.points_mm {
            return Err(Error::Refused(
                "the two sets of shapes stand on different points; shapes are compared on the same ones".into(),
            ));
        }
        Ok(self.modes.iter().map(|a| other.modes.iter().map(|b| of_complex(&a.complex(), &b.complex())).collect()).collect())
    }
}

fn of_complex(a: &[C], b: &[C]) -> f64 {
    let across: C = a.iter().zip(b).map(|(a, b)| a.conj() * b).sum();
    let (aa, bb): (f64, f64) = (a.iter().map(|v| v.norm_sqr()).sum(), b.iter().map(|v| v.norm_sqr()).sum());
    if aa > 0.0 && bb > 0.0 { (across.norm_sqr() / (aa * bb)).min(1.0) } else { 0.0 }
}

/// Modal assurance criterion of two real shapes of the same length: 1 when one is a multiple of the other.
pub fn mac(first: &[f64], second: &[f64]) -> Result<f64> {
    same_length("first", first.len(), "second", second.len())?;
    if first.is_empty() {
        return Err(Error::BadList { name: "first".into(), problem: "is empty; give at least one value".into() });
    }
    for (name, list) in [("first", first), ("second", second)] {
        let largest = list.iter().fold(0.0_f64, |m, v| m.max(v.abs()));
        list.iter().enumerate().try_for_each(|(i, v)| finite(&format!("{name}[{i}]"), *v, "").map(|_| ()))?;
        if largest == 0.0 {
            return Err(Error::BadList { name: name.into(), problem: "is 0 everywhere; a shape must move somewhere".into() });
        }
    }
    let scaled = |list: &[f64]| {
        let largest = list.iter().fold(0.0_f64, |m, v| m.max(v.abs()));
        list.iter().map(|v| C::new(v / largest, 0.0)).collect::<Vec<C>>()
    };
    Ok(of_complex(&scaled(first), &scaled(second)))
}

/// A shape made real: the turned values (largest real part 1), and the collinearity (Pappa, Elliott and Schenk 1993; without
/// their mean, as a free shape has none to take off).
pub(super) fn made_real(residues: &[C]) -> Option<(Vec<C>, C, f64)> {
    let largest = residues.iter().map(|v| v.norm()).fold(0.0, f64::max);
    if !(largest.is_finite() && largest > 0.0) {
        return None;
    }
    let scaled: Vec<C> = residues.iter().map(|v| v / largest).collect();
    let xx: f64 = scaled.iter().map(|v| v.re * v.re).sum();
    let yy: f64 = scaled.iter().map(|v| v.im * v.im).sum();
    let xy: f64 = scaled.iter().map(|v| v.re * v.im).sum();
    let angle = 0.5 * (2.0 * xy).atan2(xx - yy);
    let turn = C::from_polar(1.0, -angle);
    let turned: Vec<C> = scaled.iter().map(|v| v * turn).collect();
    let top = turned.iter().copied().fold(C::new(0.0, 0.0), |m, v| if v.re.abs() > m.re.abs() { v } else { m });
    let scale = turn / (largest * top.re);
    let collinearity = ((xx - yy).powi(2) + 4.0 * xy * xy) / (xx + yy).powi(2);
    Some((residues.iter().map(|v| v * scale).collect(), scale, collinearity.min(1.0)))
}

/// A mode from its pole and its residues with their uncertainties.
pub(super) fn shape_mode(pole: C, u_pole: f64, residues: &[C], u: &[f64]) -> Option<ShapeMode> {
    let (values, scale, collinearity) = made_real(residues)?;
    let top = (0..values.len()).fold(0, |t, p| if values[p].re.abs() > values[t].re.abs() { p } else { t });
    Some(ShapeMode {
        frequency_hz: pole.im / (2.0 * PI),
        u_frequency_hz: u_pole / (2.0 * PI),
        decay_per_s: -pole.re,
        u_decay_per_s: u_pole,
        shape: values.iter().map(|v| v.re).collect(),
        imaginary: values.iter().map(|v| v.im).collect(),
        // the largest value, which all are divided by, has its own
        u_shape: (0..u.len()).map(|p| if p == top { 0.0 } else { scale.norm() * u[p].hypot(values[p].re * u[top]) }).collect(),
        collinearity,
        seen_at: residues.iter().zip(u).filter(|(r, u)| r.norm() > 4.0 * **u).count(),
        modal_mass_g: None,
        u_modal_mass_g: None,
    })
}

/// Sentences about modes whose points do not move in step.
pub(super) fn told(modes: &[ShapeMode], words: &mut Vec<String>) {
    for m in modes {
        if m.collinearity < 0.8 {
            words.push(format!(
                "the points of the mode at {:.1} Hz do not move in step (collinearity {:.2}): a close neighbour, noise, or records that \
                 do not start with the blow",
                m.frequency_hz, m.collinearity
            ));
        }
        if m.seen_at < m.shape.len().div_ceil(4) {
            words.push(format!(
                "the mode at {:.1} Hz stands out of the noise at {} of {} points only",
                m.frequency_hz,
                m.seen_at,
                m.shape.len()
            ));
        }
    }
}
