//! Where braces cross: which is cut from its crest and which from its glue face.

use serde::{Deserialize, Serialize};

use crate::error::{Result, within};

/// A half-lap as a drawing asks for it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LapAt {
    /// The brace cut from its crest.
    pub crest_cut: String,
    /// The brace cut from its glue face.
    pub glue_cut: String,
    /// Thickness of a wooden cap glued over the crest-cut brace, mm; 0 for none.
    #[serde(default)]
    pub cap_mm: f64,
}

impl LapAt {
    /// Itself, unless the cap is out of range.
    pub fn checked(self) -> Result<Self> {
        within("cap_mm", self.cap_mm, "mm", 0.0, 10.0)?;
        Ok(self)
    }
}

/// Two braces that cross.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Crossing {
    /// Place of one brace in the layout's list.
    pub first: usize,
    /// Place of the other, further down the list.
    pub second: usize,
    /// Place in the list of the one that is cut from its crest; the other is cut from its glue face.
    pub crest_cut: usize,
    /// Across the top, mm.
    pub x_mm: f64,
    /// From the neck end, mm.
    pub y_mm: f64,
    /// Angle between them, 0 to 90 degrees.
    pub angle_deg: f64,
    /// How far along the line of the first from its start, mm.
    pub along_first_mm: f64,
    /// How far along the line of the second.
    pub along_second_mm: f64,
    /// Length of the notch along the first: the width of the second over the sine of the angle, mm.
    pub notch_first_mm: f64,
    /// Length of the notch along the second, mm.
    pub notch_second_mm: f64,
    /// Cap over the crest-cut brace, mm; 0 for none.
    pub cap_mm: f64,
}
