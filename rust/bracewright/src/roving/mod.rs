//! Roving taps: a stick or plate struck (or listened to) at many points, its modes with their shapes.
//!
//! With a force channel, [`frf`] makes frequency responses (accelerance, mobility, receptance of ISO 7626-1) and
//! [`roving_frfs`] the modes, with modal mass where the point of the fixed sensor was struck too. Without one,
//! [`roving_decays`] works on the recordings; how hard each tap was then stands in the shape of a roving tap, while a roving
//! sensor is put right by a fixed reference channel.
//!
//! Frequencies and damping are common to all points: the modes of every record ([`crate::recording`]) are gathered, and all
//! records are fitted at once.

mod basis;
mod decays;
mod fit;
mod frf;
mod frfs;
mod shapes;

pub use decays::{Moving, roving_decays};
pub use frf::{Estimator, Frf, frf};
pub use frfs::{FrfSet, Response, roving_frfs};
pub use shapes::{RovingModes, ShapeMode, mac};

use serde::{Deserialize, Serialize};

use crate::error::{Error, Result, within};
use crate::recording::ModeOptions;

/// What is looked for.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct RovingOptions {
    /// Lowest frequency, Hz.
    pub low_hz: f64,
    /// Highest frequency, Hz.
    pub high_hz: f64,
    /// Most modes, 1 to 24.
    pub most: usize,
}

impl Default for RovingOptions {
    fn default() -> Self {
        Self { low_hz: 40.0, high_hz: 1000.0, most: 12 }
    }
}

impl RovingOptions {
    fn checked(&self) -> Result<()> {
        within("most", self.most as f64, "", 1.0, 24.0)?;
        within("high_hz", self.high_hz, "Hz", 2.0, 1e6)?;
        within("low_hz", self.low_hz, "Hz", 1.0, 0.9 * self.high_hz).map(|_| ())
    }

    fn search(&self) -> ModeOptions {
        ModeOptions { low_hz: self.low_hz, high_hz: self.high_hz, most: 2 * self.most, ..ModeOptions::default() }
    }
}

/// Frequencies in the band that are fitted at most: more would only fill the memory.
const MOST_BINS: usize = 65_536;

fn checked_bins(count: usize, modes: usize, options: &RovingOptions) -> Result<()> {
    let (low, high) = (crate::error::number(options.low_hz), crate::error::number(options.high_hz));
    if count < 4 * (modes + 2) {
        return Err(Error::Refused(format!(
            "from {low} to {high} Hz the records give {count} frequencies for {modes} modes; record longer, or look at a wider band"
        )));
    }
    if count > MOST_BINS {
        return Err(Error::Refused(format!(
            "from {low} to {high} Hz there are {count} frequencies; at most {MOST_BINS} are fitted: look at a narrower band"
        )));
    }
    Ok(())
}

/// Points of a grid: at most 2000, each finite and within 10 m.
fn checked_points(points_mm: &[(f64, f64)]) -> Result<()> {
    if points_mm.is_empty() || points_mm.len() > 2000 {
        return Err(Error::BadList {
            name: "points_mm".into(),
            problem: format!("has {} points; give 1 to 2000", points_mm.len()),
        });
    }
    for (i, p) in points_mm.iter().enumerate() {
        within(&format!("points_mm[{i}]"), p.0, "mm", -1e4, 1e4)?;
        within(&format!("points_mm[{i}]"), p.1, "mm", -1e4, 1e4)?;
    }
    Ok(())
}
