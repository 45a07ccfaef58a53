//! Files in the universal format: functions (dataset 58 in text, 58b in binary), nodes (15 and 2411) and units (164), read
//! and written. The layout is that of the record descriptions published with the format; other datasets are passed over and
//! named in the words.

mod read;
mod set;
mod text;
mod write;

use serde::{Deserialize, Serialize};

pub use read::read_universal;
pub use set::frf_set;
pub use write::{write_universal, write_universal_binary};

/// What a function is (record 6, field 1).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum FunctionKind {
    /// 1: values over time.
    TimeResponse,
    /// 4: response over force.
    FrequencyResponse,
    /// 6: coherence.
    Coherence,
    /// Any other, by its number.
    Other(u32),
}

impl FunctionKind {
    /// Its number in the file.
    pub fn number(self) -> u32 {
        match self {
            Self::TimeResponse => 1,
            Self::FrequencyResponse => 4,
            Self::Coherence => 6,
            Self::Other(n) => n,
        }
    }

    /// From its number.
    pub fn of(number: u32) -> Self {
        match number {
            1 => Self::TimeResponse,
            4 => Self::FrequencyResponse,
            6 => Self::Coherence,
            n => Self::Other(n),
        }
    }
}

/// What an axis measures (records 8 to 10, field 1).
pub mod axis {
    /// Not said.
    pub const UNKNOWN: u32 = 0;
    /// Displacement.
    pub const DISPLACEMENT: u32 = 8;
    /// Velocity.
    pub const VELOCITY: u32 = 11;
    /// Acceleration.
    pub const ACCELERATION: u32 = 12;
    /// Excitation force.
    pub const FORCE: u32 = 13;
    /// Pressure.
    pub const PRESSURE: u32 = 15;
    /// Time.
    pub const TIME: u32 = 17;
    /// Frequency.
    pub const FREQUENCY: u32 = 18;
}

/// One function of a file.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct UniversalFunction {
    /// What it is.
    pub kind: FunctionKind,
    /// First line of text about it.
    pub title: String,
    /// Node of the response.
    pub response_node: i64,
    /// Its direction: 1, 2, 3 for x, y, z, minus the other way, 0 for a scalar.
    pub response_direction: i32,
    /// Node of the reference (of a frequency response, the force).
    pub reference_node: i64,
    /// Its direction.
    pub reference_direction: i32,
    /// Times, s, or frequencies, Hz.
    pub abscissa: Vec<f64>,
    /// Values, or their real parts, in the units of the file.
    pub re: Vec<f64>,
    /// Imaginary parts; empty when the values are real.
    pub im: Vec<f64>,
    /// What the abscissa measures: a number of [`axis`].
    pub abscissa_kind: u32,
    /// What the values measure, or their numerator.
    pub ordinate_kind: u32,
    /// What their denominator measures; 0 when there is none.
    pub denominator_kind: u32,
}

/// A node.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct UniversalNode {
    /// Its label.
    pub node: i64,
    /// Place, mm, turned from the file's own unit.
    pub x_mm: f64,
    /// Place, mm.
    pub y_mm: f64,
    /// Place, mm.
    pub z_mm: f64,
}

/// The units of a file.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct UniversalUnits {
    /// Code of dataset 164; 1 is SI.
    pub code: u32,
    /// Its description.
    pub description: String,
    /// A length of the file over this is in m.
    pub length_factor: f64,
    /// A force of the file over this is in N.
    pub force_factor: f64,
}

/// What a file holds.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Universal {
    /// Functions in the order of the file.
    pub functions: Vec<UniversalFunction>,
    /// Nodes.
    pub nodes: Vec<UniversalNode>,
    /// Units; `None` when the file names none, and SI was taken.
    pub units: Option<UniversalUnits>,
    /// What should be known, as sentences.
    pub words: Vec<String>,
}
