//! What is read at the bench, and how it went with what was known.

use serde::{Deserialize, Serialize};

use crate::advice::Stop;
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
    /// Something was read that did not fit, and was believed all the same.
    Believed(Look),
}

/// Kinds of look.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Looked {
    /// The dial.
    Deflection,
    /// A tap.
    Frequency,
    /// The brace on the scale.
    Mass,
    /// The pan of shavings.
    Shavings,
    /// The depth by calliper.
    Depth,
}

impl Looked {
    /// What a maker calls it.
    pub fn name(self) -> &'static str {
        match self {
            Looked::Deflection => "reading",
            Looked::Frequency => "tap",
            Looked::Mass => "weight of the brace",
            Looked::Shavings => "weight of the shavings",
            Looked::Depth => "measured height",
        }
    }

    /// A figure of its kind, with the unit.
    pub(crate) fn figure(self, value: f64) -> String {
        match self {
            Looked::Deflection => format!("{value:.3} mm"),
            Looked::Frequency => format!("{value:.1} Hz"),
            Looked::Mass | Looked::Shavings => format!("{value:.2} g"),
            Looked::Depth => format!("{value:.2} mm off"),
        }
    }

    /// What to do about one that does not fit.
    pub(crate) fn remedy(self) -> &'static str {
        match self {
            Looked::Deflection => {
                "Seat the brace again and read; if the new reading agrees with this one, leave both in the log; if not, take this one out."
            }
            Looked::Frequency => "Tap again, held at the nodes; is it the lowest mode, and the same brace?",
            Looked::Mass => "Weigh it again; is it this brace, is the scale at zero, has it taken up moisture?",
            Looked::Shavings => {
                "Gather and weigh the shavings again, then measure the height: more or less came off than was aimed at."
            }
            Looked::Depth => "Measure again from the same face; was the height taken at the stations of the plan?",
        }
    }
}

/// How a reading went with what was known before it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Surprise {
    /// What was read.
    pub what: Looked,
    /// Its figure, in the unit of the reading.
    pub read: f64,
    /// What was to be expected, in the unit of the reading.
    pub expected: f64,
    /// How far off it was, in standard deviations of what was to be expected; positive when it read more.
    pub sigmas: f64,
}

impl Surprise {
    /// The reason to stop it makes.
    pub(crate) fn stop(&self) -> Stop {
        match self.what {
            Looked::Deflection => {
                Stop::ReadingInconsistent { reading_mm: Some(self.read), expected_mm: self.expected, sigmas: self.sigmas }
            }
            what => Stop::DoesNotFit { what, read: self.read, expected: self.expected, sigmas: self.sigmas },
        }
    }
}

impl Look {
    /// Its kind.
    pub fn kind(&self) -> Looked {
        match self {
            Look::Deflection { .. } => Looked::Deflection,
            Look::Frequency { .. } => Looked::Frequency,
            Look::Mass { .. } => Looked::Mass,
            Look::Shavings { .. } => Looked::Shavings,
            Look::Depth { .. } => Looked::Depth,
        }
    }

    /// Its figure.
    pub fn value(&self) -> f64 {
        match *self {
            Look::Deflection { deflection_mm: v, .. }
            | Look::Frequency { frequency_hz: v, .. }
            | Look::Mass { mass_g: v, .. }
            | Look::Shavings { mass_g: v, .. }
            | Look::Depth { depth_mm: v, .. } => v,
        }
    }

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
