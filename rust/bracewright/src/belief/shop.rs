//! The unknowns, the hand that carves and the gauge that reads, each with its spread.

use crate::error::{self, Result};
use crate::normal;
use serde::{Deserialize, Serialize};

/// What is believed of one unknown before any reading.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub enum Unknown {
    /// Its logarithm is normal: `median` (above 0) and the standard deviation of the logarithm (0.12 reads "12 %").
    LogNormal {
        /// Half of the cases lie below.
        median: f64,
        /// Standard deviation of the natural logarithm, 0 to 3.
        sd_ln: f64,
    },
    /// Normal, cut off below 0: for a give that may be next to nothing. `mean` and `sd` are those before the cut.
    AtLeastZero {
        /// Mean before the cut, 0 or more.
        mean: f64,
        /// Standard deviation before the cut; 0 means known exactly.
        sd: f64,
    },
}

/// Greatest figure of any unknown, whatever its unit: far beyond it the squares of draws are no numbers any more.
const GREATEST: f64 = 1e12;

impl Unknown {
    /// A value known exactly, 0 or more.
    pub fn known(value: f64) -> Self {
        Unknown::AtLeastZero { mean: value, sd: 0.0 }
    }

    /// Itself, unless it is what no unknown can be.
    pub fn checked(self) -> Result<Self> {
        self.check("unknown's", "")?;
        Ok(self)
    }

    /// Refuses what no unknown can be; `name` and `unit` are for the sentence.
    pub(super) fn check(&self, name: &str, unit: &'static str) -> Result<()> {
        match *self {
            Unknown::LogNormal { median, sd_ln } => {
                error::positive(&format!("{name} median"), median, unit)?;
                error::within(&format!("{name} median"), median, unit, 0.0, GREATEST)?;
                error::within(&format!("{name} sd_ln"), sd_ln, "", 0.0, 3.0)?;
            }
            Unknown::AtLeastZero { mean, sd } => {
                error::not_negative(&format!("{name} mean"), mean, unit)?;
                error::not_negative(&format!("{name} sd"), sd, unit)?;
                error::within(&format!("{name} mean"), mean, unit, 0.0, GREATEST)?;
                error::within(&format!("{name} sd"), sd, unit, 0.0, GREATEST)?;
            }
        }
        Ok(())
    }

    /// The value that a standard normal `z` stands for; rises with `z`.
    pub(super) fn at(&self, z: f64) -> f64 {
        match *self {
            Unknown::LogNormal { median, sd_ln } => median * (sd_ln * z).exp(),
            Unknown::AtLeastZero { mean, sd } if sd > 0.0 => {
                let above = normal::cdf(-z) * normal::cdf(mean / sd);
                // Where the tail has run out of digits the cut no longer matters.
                if above > 1e-300 && above < 1.0 {
                    (mean - sd * normal::quantile_unchecked(above)).max(0.0)
                } else {
                    (mean + sd * z).max(0.0)
                }
            }
            Unknown::AtLeastZero { mean, .. } => mean,
        }
    }

    /// Mean and standard deviation where the standard normal behind it has mean `z` and standard deviation `sd_z`,
    /// by five Gauss-Hermite points (Abramowitz and Stegun 25.4.46, for the weight exp(-z^2/2)).
    pub(super) fn mean_sd(&self, z: f64, sd_z: f64) -> (f64, f64) {
        let (a, b) = ((5.0 + 10f64.sqrt()).sqrt(), (5.0 - 10f64.sqrt()).sqrt());
        let (wa, wb) = ((7.0 - 2.0 * 10f64.sqrt()) / 60.0, (7.0 + 2.0 * 10f64.sqrt()) / 60.0);
        let points = [(-a, wa), (-b, wb), (0.0, 8.0 / 15.0), (b, wb), (a, wa)];
        let mean: f64 = points.iter().map(|&(t, w)| w * self.at(z + sd_z * t)).sum();
        let var: f64 = points.iter().map(|&(t, w)| w * (self.at(z + sd_z * t) - mean).powi(2)).sum();
        (mean, var.sqrt())
    }
}

/// How truly the hand takes what was aimed at: aimed D, it takes D (1 + bias) on average, with standard deviation
/// sqrt((scatter_fraction D)^2 + scatter_mm^2), and never less than nothing.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Hand {
    /// Average excess as a part of the aim; -0.5 to 1; 0 for a true hand.
    pub bias_fraction: f64,
    /// Scatter that grows with the aim, as a part of it; 0 to 1.
    pub scatter_fraction: f64,
    /// Scatter in mm that is there even for a thin shaving; 0 to 5.
    pub scatter_mm: f64,
}

impl Hand {
    /// A hand with its bias and both scatters, checked.
    pub fn new(bias_fraction: f64, scatter_fraction: f64, scatter_mm: f64) -> Result<Self> {
        let hand = Self { bias_fraction, scatter_fraction, scatter_mm };
        hand.check()?;
        Ok(hand)
    }

    pub(crate) fn check(&self) -> Result<()> {
        error::within("bias_fraction", self.bias_fraction, "", -0.5, 1.0)?;
        error::within("scatter_fraction", self.scatter_fraction, "", 0.0, 1.0)?;
        error::within("scatter_mm", self.scatter_mm, "mm", 0.0, 5.0)?;
        Ok(())
    }

    /// Average depth taken for an aim, mm.
    pub fn mean_mm(&self, aim_mm: f64) -> f64 {
        aim_mm * (1.0 + self.bias_fraction)
    }

    /// Standard deviation of the depth taken for an aim, mm.
    pub fn sd_mm(&self, aim_mm: f64) -> f64 {
        (self.scatter_fraction * aim_mm).hypot(self.scatter_mm)
    }
}

/// A dial gauge and how it is used; one reading is the mean of `readings_per_seat` in each of `seats` seats.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Gauge {
    /// Standard deviation of readings in one seat, mm.
    pub repeat_mm: f64,
    /// Standard deviation from taking the brace off and seating it again, mm.
    pub reseat_mm: f64,
    /// Smallest step the gauge shows, mm.
    pub resolution_mm: f64,
    /// Standard uncertainty of the calibration, mm; no repeating makes it smaller.
    pub calibration_mm: f64,
    /// Readings taken in each seat, 1 or more.
    pub readings_per_seat: u32,
    /// Times the brace was seated, 1 or more.
    pub seats: u32,
}

impl Gauge {
    /// Standard uncertainty of the mean, mm: sqrt(repeat^2/(n m) + reseat^2/m + resolution^2/12 + calibration^2)
    /// with n readings in each of m seats (JCGM 100). It must come out above 0.
    pub fn u_mm(&self) -> Result<f64> {
        error::not_negative("repeat_mm", self.repeat_mm, "mm")?;
        error::not_negative("reseat_mm", self.reseat_mm, "mm")?;
        error::not_negative("resolution_mm", self.resolution_mm, "mm")?;
        error::not_negative("calibration_mm", self.calibration_mm, "mm")?;
        let (n, m) = (f64::from(self.readings_per_seat), f64::from(self.seats));
        error::within("readings_per_seat", n, "", 1.0, 1e6)?;
        error::within("seats", m, "", 1.0, 1e6)?;
        let variance = self.repeat_mm.powi(2) / (n * m)
            + self.reseat_mm.powi(2) / m
            + self.resolution_mm.powi(2) / 12.0
            + self.calibration_mm.powi(2);
        error::positive("uncertainty of the reading", variance.sqrt(), "mm")
    }
}
