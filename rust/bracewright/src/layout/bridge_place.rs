//! The bridge in its place: saddle, foot, and the holes where the strings end.

use serde::{Deserialize, Serialize};

use super::geometry::{Point, direction};
use crate::error::{Error, Result, finite, number, within};
use crate::strings::{Bridge, BridgeKind};

/// A bridge on the top.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PlacedBridge {
    /// The bridge.
    pub bridge: Bridge,
    /// Middle of the saddle across, mm.
    #[serde(default)]
    pub x_mm: f64,
    /// Middle of the saddle from the neck end, mm.
    pub y_mm: f64,
    /// Turn of the whole bridge about that place, degrees, positive when its bass end lies nearer the tail.
    #[serde(default)]
    pub turn_deg: f64,
    /// How much further from the neck the saddle is at the outer bass string than at the outer treble string, mm.
    #[serde(default)]
    pub slant_mm: f64,
    /// Number of strings.
    #[serde(default = "six")]
    pub strings: usize,
    /// Distance between the outer holes, mm.
    pub spread_mm: f64,
    /// Diameter of the holes, mm.
    pub hole_mm: f64,
    /// Length of the strings from nut to saddle without compensation, mm; `None` where the saddle's place is not to be checked.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub scale_mm: Option<f64>,
    /// Fret at the neck end of the outline.
    #[serde(default = "fourteen")]
    pub body_fret: usize,
}

fn six() -> usize {
    6
}

fn fourteen() -> usize {
    14
}

/// Distance between the outer holes when nothing is said, mm (common practice, no source).
pub const USUAL_SPREAD_MM: f64 = 58.0;
/// Diameter of a pin hole when nothing is said, mm (common practice, no source).
pub const USUAL_PIN_MM: f64 = 5.0;
/// Diameter of a tie hole when nothing is said, mm (common practice, no source).
pub const USUAL_TIE_MM: f64 = 1.6;

impl PlacedBridge {
    /// A bridge square to the centreline and in the middle of it.
    pub fn new(bridge: &Bridge, y_mm: f64) -> Self {
        Self {
            bridge: *bridge,
            x_mm: 0.0,
            y_mm,
            turn_deg: 0.0,
            slant_mm: 0.0,
            strings: 6,
            spread_mm: USUAL_SPREAD_MM,
            hole_mm: if bridge.kind == BridgeKind::Pin { USUAL_PIN_MM } else { USUAL_TIE_MM },
            scale_mm: None,
            body_fret: 14,
        }
    }

    /// Itself, unless a size is out of range or the holes do not lie on the foot.
    pub fn checked(self) -> Result<Self> {
        self.bridge.checked()?;
        finite("x_mm", self.x_mm, "mm")?;
        finite("y_mm", self.y_mm, "mm")?;
        within("turn_deg", self.turn_deg, "deg", -30.0, 30.0)?;
        within("slant_mm", self.slant_mm, "mm", -20.0, 20.0)?;
        within("strings", self.strings as f64, "", 1.0, 24.0)?;
        within("spread_mm", self.spread_mm, "mm", 0.0, self.bridge.foot_length_mm)?;
        within("hole_mm", self.hole_mm, "mm", 0.3, 15.0)?;
        if let Some(scale) = self.scale_mm {
            within("scale_mm", scale, "mm", 200.0, 1200.0)?;
        }
        within("body_fret", self.body_fret as f64, "", 1.0, 30.0)?;
        if self.strings > 1 && self.spread_mm <= 0.0 {
            return Err(Error::OutOfRange {
                quantity: "spread_mm".into(),
                value: self.spread_mm,
                unit: "mm",
                allowed: format!("above 0 for {} strings", self.strings),
            });
        }
        let b = &self.bridge;
        let behind = b.foot_width_mm - b.saddle_from_front_mm;
        if b.kind == BridgeKind::Pin && b.end_behind_mm + 0.5 * self.hole_mm > behind {
            return Err(Error::Refused(format!(
                "the pins stand {} mm behind the saddle, but the foot ends {} mm behind it; holes of {} mm must lie on the foot",
                number(b.end_behind_mm),
                number(behind),
                number(self.hole_mm)
            )));
        }
        Ok(self)
    }

    /// Middle of the saddle, mm.
    pub fn middle(&self) -> Point {
        (self.x_mm, self.y_mm)
    }

    /// Place of a point of the bridge: `across` to the bass, `behind` the saddle's middle towards the tail, mm.
    pub fn place(&self, across_mm: f64, behind_mm: f64) -> Point {
        let (side, back) = (direction(90.0 - self.turn_deg), direction(-self.turn_deg));
        (self.x_mm + across_mm * side.0 + behind_mm * back.0, self.y_mm + across_mm * side.1 + behind_mm * back.1)
    }

    /// Corners of the glued foot, mm: front treble, front bass, rear bass, rear treble.
    pub fn foot_mm(&self) -> [Point; 4] {
        let b = &self.bridge;
        let (half, front, rear) = (0.5 * b.foot_length_mm, -b.saddle_from_front_mm, b.foot_width_mm - b.saddle_from_front_mm);
        [self.place(-half, front), self.place(half, front), self.place(half, rear), self.place(-half, rear)]
    }

    /// Where the strings lie across, from treble to bass, mm.
    fn across(&self) -> impl Iterator<Item = f64> {
        let (n, spread) = (self.strings, self.spread_mm);
        (0..n).map(move |k| if n == 1 { 0.0 } else { spread * (k as f64 / (n - 1) as f64 - 0.5) })
    }

    /// Middles of the holes, mm, from treble to bass. Those of a tie bridge run along the top and do not pierce it.
    pub fn holes_mm(&self) -> Vec<Point> {
        self.across().map(|x| self.place(x, self.bridge.end_behind_mm)).collect()
    }

    /// Middles of the holes through the top, mm: none under a tie bridge.
    pub fn pins_mm(&self) -> Vec<Point> {
        if self.bridge.kind == BridgeKind::Pin { self.holes_mm() } else { Vec::new() }
    }

    /// The saddle's ends under the outer strings, mm: treble, then bass.
    pub fn saddle_mm(&self) -> (Point, Point) {
        let half = 0.5 * self.spread_mm;
        (self.place(-half, -0.5 * self.slant_mm), self.place(half, 0.5 * self.slant_mm))
    }

    /// Distance of an uncompensated saddle from the neck end of the body: the string length less what lies before that fret, twelve
    /// equal steps to the octave, mm.
    pub fn uncompensated_mm(&self) -> Option<f64> {
        self.scale_mm.map(|scale| scale * 0.5_f64.powf(self.body_fret as f64 / 12.0))
    }
}
