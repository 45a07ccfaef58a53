//! Free bending vibration of a brace.

use serde::{Deserialize, Serialize};

use super::Brace;
use super::bend::{Resolution, TOLERANCE, no_stiffness};
use crate::error::{Error, Result};
use crate::mechanics::modes;
use crate::mechanics::resolved::{Face, Hold};
use crate::mechanics::section_beam::{self, Inertia};

/// Frequencies of both beams.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Frequencies {
    /// By the depth-resolved beam, Hz: the ones to act on.
    pub frequency_hz: Vec<f64>,
    /// Their discretisation error, Hz.
    pub discretisation_hz: Vec<f64>,
    /// By the section beam, Hz, to compare. A mode of stretching along the brace is not in it.
    pub section_frequency_hz: Vec<f64>,
}

/// Most modes asked for at once.
pub const MOST_MODES: usize = 12;

impl Brace {
    /// The lowest `count` frequencies in the plane of the side view, free on all sides, or with the left end section
    /// clamped.
    pub fn frequencies(&self, count: usize, clamped_left: bool) -> Result<Frequencies> {
        some_modes(count)?;
        let section = self.section_frequencies_hz(count, clamped_left)?;
        let solve = |step: i32| self.resolved_frequencies(count, clamped_left, section[0], self.resolution(step));
        let far = |a: &[f64], b: &[f64]| -> Vec<f64> { a.iter().zip(b).map(|(a, b)| (a - b).abs()).collect() };
        let mut best = solve(0)?;
        let mut discretisation = far(&best, &solve(-1)?);
        if discretisation.iter().zip(&best).any(|(d, f)| *d > TOLERANCE * f) {
            let finer = solve(1)?;
            discretisation = far(&finer, &best);
            best = finer;
        }
        Ok(Frequencies { frequency_hz: best, discretisation_hz: discretisation, section_frequency_hz: section })
    }

    /// Shapes of those modes by the depth-resolved beam: the deflection averaged over the height at each station, one list a
    /// mode, its greatest 1; upward and downward are of opposite sign. At a node it is 0.
    pub fn mode_shapes(&self, x_mm: &[f64], count: usize, clamped_left: bool) -> Result<Vec<Vec<f64>>> {
        some_modes(count)?;
        self.profile.on_brace("x_mm", x_mm)?;
        let guess = self.section_frequencies_hz(count, clamped_left)?[0];
        let beam = self.resolved_with_mass(&[], self.resolution(0))?;
        let modes = modes::lowest_shapes(&beam, &holds(clamped_left), shift(guess), count).ok_or_else(no_stiffness)?;
        // the greatest may stand between the stations asked for
        let everywhere = self.stations_mm(201);
        let seen: Vec<Vec<f64>> = x_mm.iter().chain(&everywhere).map(|&x| beam.mean_deflection(x, x, Face::Body)).collect();
        let at = |see: &[f64], mode: &[f64]| see.iter().zip(mode).map(|(a, b)| a * b).sum::<f64>();
        Ok(modes
            .iter()
            .map(|(_, mode)| {
                let all: Vec<f64> = seen.iter().map(|s| at(s, mode)).collect();
                let most = all.iter().fold(0.0_f64, |m, v| m.max(v.abs())).max(f64::MIN_POSITIVE);
                // of several greatest the leftmost is the positive one
                let first = all[x_mm.len()..].iter().find(|v| v.abs() > 0.999 * most).map_or(1.0, |v| v.signum());
                all[..x_mm.len()].iter().map(|v| first * v / most).collect()
            })
            .collect())
    }

    /// The section beam's frequencies alone, with shear and rotary inertia, Hz.
    pub fn section_frequencies_hz(&self, count: usize, clamped_left: bool) -> Result<Vec<f64>> {
        let solid = self.solid()?;
        let stiff = self.blank().stiffness()?;
        let (e, g, rho) = (1000.0 * stiff.e_x_gpa, 1000.0 * stiff.g_xz_gpa, self.blank().density_kg_m3() * 1e-12);
        let supports = if clamped_left { vec![section_beam::Support::Clamp { x: 0.0 }] } else { vec![] };
        let f = |x: f64, inside: f64| {
            let m = solid.moments(x, inside, true);
            let i = if m.area > 1e-9 { m.about_centroid() } else { 0.0 };
            Inertia { bend: e * i, shear: g * m.area / 1.2, mass: rho * m.area, rotary: rho * i }
        };
        section_beam::vibrations(&solid.kinks(), 4, true, f, &supports, &[], count)
            .map(|v| v.into_iter().map(hertz).collect())
            .ok_or_else(no_stiffness)
    }

    /// The first free bending frequency by the depth-resolved beam at its ordinary resolution, Hz.
    pub(crate) fn first_frequency_hz(&self) -> Result<f64> {
        let guess = self.section_frequencies_hz(1, false)?[0];
        Ok(self.resolved_frequencies(1, false, guess, self.resolution(0))?[0])
    }

    fn resolved_frequencies(&self, count: usize, clamped: bool, guess_hz: f64, r: Resolution) -> Result<Vec<f64>> {
        let beam = self.resolved_with_mass(&[], r)?;
        modes::lowest(&beam, &holds(clamped), shift(guess_hz), count)
            .map(|v| v.into_iter().map(hertz).collect())
            .ok_or_else(no_stiffness)
    }
}

fn some_modes(count: usize) -> Result<()> {
    if (1..=MOST_MODES).contains(&count) {
        return Ok(());
    }
    Err(Error::OutOfRange { quantity: "count".into(), value: count as f64, unit: "", allowed: format!("from 1 to {MOST_MODES}") })
}

fn holds(clamped: bool) -> Vec<Hold> {
    if clamped { vec![Hold::Clamp { x: 0.0 }] } else { vec![] }
}

fn shift(guess_hz: f64) -> f64 {
    (2.0 * std::f64::consts::PI * guess_hz).powi(2)
}

fn hertz(omega_squared: f64) -> f64 {
    omega_squared.sqrt() / (2.0 * std::f64::consts::PI)
}
