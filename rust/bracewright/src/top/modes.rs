//! Modes of the top.

use serde::{Deserialize, Serialize};

use super::Top;
use crate::error::{Error, Result, within};
use crate::layout::Point;
use crate::mechanics::ribbed::Mode;

/// Most modes asked for at once.
const MOST_MODES: usize = 40;

/// One mode.
#[derive(Debug, Clone, PartialEq)]
pub struct TopMode {
    /// Frequency, Hz, in vacuo.
    pub frequency_hz: f64,
    mode: Mode,
}

/// Modes of a top, rising. A value: the top and how many were asked for, and what follows from them.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(try_from = "ModesParts", into = "ModesParts")]
pub struct TopModes {
    top: Top,
    count: usize,
    /// The modes.
    pub modes: Vec<TopMode>,
}

#[derive(Serialize, Deserialize)]
struct ModesParts {
    top: Top,
    count: usize,
}

impl TryFrom<ModesParts> for TopModes {
    type Error = Error;
    fn try_from(p: ModesParts) -> Result<Self> {
        p.top.modes(p.count)
    }
}

impl From<TopModes> for ModesParts {
    fn from(m: TopModes) -> Self {
        Self { top: m.top, count: m.count }
    }
}

impl PartialEq for TopModes {
    fn eq(&self, other: &Self) -> bool {
        self.top == other.top && self.count == other.count
    }
}

impl Top {
    /// The lowest modes, 1 to 40; of a free top those that bend it.
    pub fn modes(&self, count: usize) -> Result<TopModes> {
        within("count", count as f64, "", 1.0, MOST_MODES as f64)?;
        let (factor, mass, shift) = self.factored_for_modes()?;
        let whole = self.loose();
        let modes = factor
            .modes(&mass, shift, count + whole)
            .ok_or_else(|| Error::Refused("the modes were not found: the top has next to no stiffness somewhere".into()))?;
        let hz = |m: &Mode| m.omega_squared.max(0.0).sqrt() / (2.0 * std::f64::consts::PI);
        let modes: Vec<TopMode> = modes.into_iter().skip(whole).map(|mode| TopMode { frequency_hz: hz(&mode), mode }).collect();
        Ok(TopModes { top: self.clone(), count, modes })
    }
}

impl TopMode {
    pub(super) fn shape(&self) -> &[f64] {
        &self.mode.shape
    }

    pub(super) fn omega_squared(&self) -> f64 {
        self.mode.omega_squared
    }
}

impl TopModes {
    /// The top.
    pub fn top(&self) -> &Top {
        &self.top
    }

    /// Frequencies, Hz.
    pub fn frequencies_hz(&self) -> Vec<f64> {
        self.modes.iter().map(|m| m.frequency_hz).collect()
    }

    /// Deflection of a mode at places, for a modal mass of 1 g.
    pub fn shape(&self, mode: usize, x_mm: &[f64], y_mm: &[f64]) -> Result<Vec<f64>> {
        crate::error::same_length("x_mm", x_mm.len(), "y_mm", y_mm.len())?;
        let m = self.mode(mode)?;
        x_mm.iter()
            .zip(y_mm)
            .map(|(x, y)| {
                let d = self.top.plate.deflection(m.shape(), *x, *y);
                // shapes are normal for 1 t
                d.map(|d| 1e-3 * d).ok_or_else(|| Error::AtPlace {
                    problem: "the place lies off the top".into(),
                    x_mm: *x,
                    y_mm: *y,
                })
            })
            .collect()
    }

    /// Deflection of a mode at every place of the mesh, as [`Top::drawn`] has them, for a modal mass of 1 g.
    pub fn drawn(&self, mode: usize) -> Result<Vec<f64>> {
        let m = self.mode(mode)?;
        Ok((0..self.top.plate.cells().nodes.len()).map(|n| 1e-3 * m.shape()[self.top.plate.deflection_of(n)]).collect())
    }

    fn mode(&self, mode: usize) -> Result<&TopMode> {
        self.modes.get(mode).ok_or_else(|| Error::OutOfRange {
            quantity: "mode".into(),
            value: mode as f64,
            unit: "",
            allowed: format!("0 to {}", self.modes.len().saturating_sub(1)),
        })
    }

    /// Deflection of a mode at a place that it moves.
    fn moving(&self, mode: usize, place: Point) -> Result<f64> {
        let d = self.shape(mode, &[place.0], &[place.1])?[0];
        if d.abs() > 1e-12 {
            return Ok(d);
        }
        Err(Error::AtPlace { problem: format!("mode {mode} does not move there"), x_mm: place.0, y_mm: place.1 })
    }

    /// Modal mass at a place, g: what a single mass there would weigh with the mode's frequency and the mode's own motion.
    pub fn modal_mass_g(&self, mode: usize, place: Point) -> Result<f64> {
        let d = self.moving(mode, place)?;
        Ok(1.0 / (d * d))
    }

    /// Area that moves as much air as the mode does when the place moves as a piston would, cm2; below 0 where most of it goes the
    /// other way.
    pub fn effective_area_cm2(&self, mode: usize, place: Point) -> Result<f64> {
        let d = self.moving(mode, place)?;
        let m = self.mode(mode)?;
        let cells = self.top.plate.cells();
        let mut moved = 0.0;
        for cell in 0..cells.cells.len() {
            for (shape, weight) in cells.points(cell, 4) {
                let w: f64 = cells.of_cell[cell]
                    .iter()
                    .zip(shape.value)
                    .map(|(n, v)| v * m.shape()[self.top.plate.deflection_of(*n)])
                    .sum();
                moved += weight * w;
            }
        }
        Ok(1e-2 * 1e-3 * moved / d)
    }

    /// Mobility at a place, s/kg, at frequencies, with the same quality factor for every mode: magnitude of velocity over force, the
    /// sum of these modes.
    pub fn mobility_s_kg(&self, place: Point, frequency_hz: &[f64], quality: f64) -> Result<Vec<f64>> {
        within("quality", quality, "", 1.0, 1e4)?;
        let moved: Vec<f64> =
            (0..self.modes.len()).map(|k| Ok(self.shape(k, &[place.0], &[place.1])?[0])).collect::<Result<_>>()?;
        frequency_hz
            .iter()
            .map(|f| {
                within("frequency_hz", *f, "Hz", 1e-3, 1e5)?;
                let w = 2.0 * std::f64::consts::PI * f;
                let (mut re, mut im) = (0.0, 0.0);
                for (m, d) in self.modes.iter().zip(&moved) {
                    // i w / (m (w0^2 (1 + i / Q) - w^2))
                    let w0 = m.omega_squared();
                    let (a, b) = (w0 - w * w, w0 / quality);
                    // the modal mass is 1 g over the square of the deflection
                    let by = d * d / (1e-3 * (a * a + b * b));
                    re += w * b * by;
                    im += w * a * by;
                }
                Ok(re.hypot(im))
            })
            .collect()
    }
}
