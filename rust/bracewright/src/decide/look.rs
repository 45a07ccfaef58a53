//! What is read at the bench, and how it went with what was known.

use serde::{Deserialize, Serialize};

use crate::error::{Result, within};

/// One thing read, each with its standard uncertainty.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub enum Look {
    /// The dial, mm, under the load of the rig times `load_ratio` (1 unless a heavier weight was hung on).
    Deflection {
        /// What it showed, mm.
        deflection_mm: f64,
        /// Its uncertainty, mm.
        u_mm: f64,
        /// Load over that of the rig.
        load_ratio: f64,
    },
    /// First free bending frequency by tap, Hz.
    Frequency {
        /// Hz.
        frequency_hz: f64,
        /// Its uncertainty, Hz.
        u_hz: f64,
    },
    /// The brace on the scale, g.
    Mass {
        /// g.
        mass_g: f64,
        /// Its uncertainty, g.
        u_g: f64,
    },
    /// The shavings of the last pass in the pan, g.
    Shavings {
        /// g.
        mass_g: f64,
        /// Its uncertainty, g.
        u_g: f64,
    },
    /// The depth removed since the start, by calliper, mm.
    Depth {
        /// mm.
        depth_mm: f64,
        /// Its uncertainty, mm.
        u_mm: f64,
    },
}

/// What happened, in order.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub enum Happened {
    /// A pass aimed so deep, mm.
    Pass {
        /// mm.
        aim_mm: f64,
    },
    /// Something was read.
    Looked(Look),
}

/// How a reading went with what was known before it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Surprise {
    /// What was to be expected, in the unit of the reading.
    pub expected: f64,
    /// How far off it was, in standard deviations of what was to be expected; positive when it read more.
    pub sigmas: f64,
}

impl Look {
    pub(super) fn check(&self) -> Result<()> {
        match *self {
            Look::Deflection { deflection_mm, u_mm, load_ratio } => {
                within("deflection_mm", deflection_mm, "mm", 1e-6, 1000.0)?;
                within("u_mm", u_mm, "mm", 1e-9, 100.0)?;
                within("load_ratio", load_ratio, "", 0.05, 20.0)?;
            }
            Look::Frequency { frequency_hz, u_hz } => {
                within("frequency_hz", frequency_hz, "Hz", 1.0, 1e5)?;
                within("u_hz", u_hz, "Hz", 1e-9, 1e4)?;
            }
            Look::Mass { mass_g, u_g } => {
                within("mass_g", mass_g, "g", 1e-3, 1e5)?;
                within("u_g", u_g, "g", 1e-9, 1e4)?;
            }
            Look::Shavings { mass_g, u_g } => {
                within("mass_g", mass_g, "g", 0.0, 1e5)?;
                within("u_g", u_g, "g", 1e-9, 1e4)?;
            }
            Look::Depth { depth_mm, u_mm } => {
                within("depth_mm", depth_mm, "mm", 0.0, 200.0)?;
                within("u_mm", u_mm, "mm", 1e-9, 100.0)?;
            }
        }
        Ok(())
    }
}
