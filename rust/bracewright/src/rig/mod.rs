//! Rigs: how a brace is held, loaded and read, and what its reading should be.

mod calibrate;
mod expect;
mod reading;

pub use calibrate::{Bar, Calibration};
pub use expect::{Expected, Share};
pub use reading::{ModulusEstimate, Reading};

use serde::{Deserialize, Serialize};

use crate::belief::Gauge;
use crate::brace::{Brace, Load, Support};
use crate::error::{Error, Result, not_negative, number, positive, within};
use crate::mechanics::resolved::Face;
use crate::profile::{LONGEST_MM, SHORTEST_MM};

/// How the brace is held and loaded.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub enum SetUp {
    /// Two supports, one load midway, dial midway.
    ThreePoint {
        /// Between the supports, mm.
        span_mm: f64,
    },
    /// Two supports, two loads the same distance from the middle, dial midway.
    FourPoint {
        /// Between the supports, mm.
        span_mm: f64,
        /// Between the loads, mm.
        inner_mm: f64,
    },
    /// Clamped at one place, loaded and read at another further right.
    Cantilever {
        /// From the clamp to the load, mm.
        reach_mm: f64,
    },
}

/// A rig. A value; a reading carries it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Rig {
    name: String,
    set_up: SetUp,
    load_n: f64,
    u_load: f64,
    u_span_mm: f64,
    middle_mm: Option<f64>,
    pad_mm: f64,
    dial: Face,
    zeroed: bool,
    gauge: Gauge,
    give_mm_per_n: f64,
    u_give_mm_per_n: f64,
    dial_scale: f64,
    u_dial_scale: f64,
    calibrated: bool,
}

/// Gauge taken unless another is given: dial of 0.01 mm, three readings in one seat, repeat 0.006 and re-seat 0.004 mm
/// (common practice, no source).
pub const USUAL_GAUGE: Gauge =
    Gauge { repeat_mm: 0.006, reseat_mm: 0.004, resolution_mm: 0.01, calibration_mm: 0.0, readings_per_seat: 3, seats: 1 };

/// Lightest load taken, N: 0.1 g on the brace.
pub const LIGHTEST_N: f64 = 1e-3;
/// Heaviest load taken, N: beyond it a unit has been mistaken.
pub const HEAVIEST_N: f64 = 2000.0;

/// A span, as long as a brace may be.
fn long(name: &str, mm: f64) -> Result<f64> {
    positive(name, mm, "mm")?;
    within(name, mm, "mm", SHORTEST_MM, LONGEST_MM)
}

impl Rig {
    fn new(set_up: SetUp, load_n: f64) -> Result<Self> {
        positive("load_n", load_n, "N")?;
        within("load_n", load_n, "N", LIGHTEST_N, HEAVIEST_N)?;
        let name = match set_up {
            SetUp::ThreePoint { .. } => "three-point",
            SetUp::FourPoint { .. } => "four-point",
            SetUp::Cantilever { .. } => "cantilever",
        };
        Ok(Self {
            name: name.into(),
            set_up,
            load_n,
            u_load: 0.0005,
            u_span_mm: 0.25,
            middle_mm: None,
            pad_mm: 10.0,
            dial: Face::Glue,
            zeroed: true,
            gauge: USUAL_GAUGE,
            give_mm_per_n: 0.0,
            u_give_mm_per_n: 0.0,
            dial_scale: 1.0,
            u_dial_scale: 0.0,
            calibrated: false,
        })
    }

    /// Two supports and a load midway.
    pub fn three_point(span_mm: f64, load_n: f64) -> Result<Self> {
        long("span_mm", span_mm)?;
        Self::new(SetUp::ThreePoint { span_mm }, load_n)
    }

    /// Two supports and two loads; `load_n` is both together.
    pub fn four_point(span_mm: f64, inner_mm: f64, load_n: f64) -> Result<Self> {
        long("span_mm", span_mm)?;
        long("inner_mm", inner_mm)?;
        if inner_mm >= span_mm {
            return Err(Error::OutOfRange {
                quantity: "inner_mm".into(),
                value: inner_mm,
                unit: "mm",
                allowed: format!("below the span, {} mm", number(span_mm)),
            });
        }
        Self::new(SetUp::FourPoint { span_mm, inner_mm }, load_n)
    }

    /// Clamped at one end, loaded and read at `reach_mm` from the clamp.
    pub fn cantilever(reach_mm: f64, load_n: f64) -> Result<Self> {
        long("reach_mm", reach_mm)?;
        Self::new(SetUp::Cantilever { reach_mm }, load_n)
    }

    /// Under a name of the user's own; readings of rigs of different names are not compared.
    pub fn named(&self, name: &str) -> Result<Self> {
        if name.trim().is_empty() {
            return Err(Error::BadList { name: "name".into(), problem: "is empty; a rig needs a name".into() });
        }
        Ok(Self { name: name.trim().into(), ..self.clone() })
    }

    /// With the middle (or the clamp of a cantilever) at a place on the brace; otherwise the middle of the brace, and
    /// its left end for a clamp.
    pub fn with_middle_mm(&self, middle_mm: f64) -> Result<Self> {
        not_negative("middle_mm", middle_mm, "mm")?;
        Ok(Self { middle_mm: Some(middle_mm), ..self.clone() })
    }

    /// With pads of another length under supports and load, mm.
    pub fn with_pad_mm(&self, pad_mm: f64) -> Result<Self> {
        within("pad_mm", pad_mm, "mm", 0.5, 100.0)?;
        Ok(Self { pad_mm, ..self.clone() })
    }

    /// With the dial on another face: the underside (where it stands on the supports) or the crest.
    pub fn with_dial(&self, dial: Face) -> Self {
        Self { dial, ..self.clone() }
    }

    /// True when the dial is zeroed with the brace in place, so that it shows what the load does alone.
    pub fn is_zeroed_in_place(&self) -> bool {
        self.zeroed
    }

    /// Zeroed with the brace in place (a difference of two loads), or read from an empty rig, so that the brace's own
    /// weight is in the reading.
    pub fn with_zero_in_place(&self, zeroed: bool) -> Self {
        Self { zeroed, ..self.clone() }
    }

    /// With another gauge.
    pub fn with_gauge(&self, gauge: Gauge) -> Result<Self> {
        gauge.u_mm()?;
        Ok(Self { gauge, ..self.clone() })
    }

    /// With other uncertainties: of the load (relative) and of the span (mm).
    pub fn with_uncertainty(&self, u_load: f64, u_span_mm: f64) -> Result<Self> {
        within("u_load", u_load, "", 0.0, 1.0)?;
        not_negative("u_span_mm", u_span_mm, "mm")?;
        Ok(Self { u_load, u_span_mm, ..self.clone() })
    }

    /// With a give of the supports and frame that the dial sees, mm per N of load, and its uncertainty.
    pub fn with_give(&self, give_mm_per_n: f64, u_give_mm_per_n: f64) -> Result<Self> {
        not_negative("give_mm_per_n", give_mm_per_n, "mm/N")?;
        not_negative("u_give_mm_per_n", u_give_mm_per_n, "mm/N")?;
        Ok(Self { give_mm_per_n, u_give_mm_per_n, ..self.clone() })
    }

    /// With another load, N.
    pub fn with_load_n(&self, load_n: f64) -> Result<Self> {
        positive("load_n", load_n, "N")?;
        within("load_n", load_n, "N", LIGHTEST_N, HEAVIEST_N)?;
        Ok(Self { load_n, ..self.clone() })
    }

    /// Its name.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// How the brace is held and loaded.
    pub fn set_up(&self) -> SetUp {
        self.set_up
    }

    /// Load, or difference of two loads, N.
    pub fn load_n(&self) -> f64 {
        self.load_n
    }

    /// Span, or reach of a cantilever, mm.
    pub fn span_mm(&self) -> f64 {
        match self.set_up {
            SetUp::ThreePoint { span_mm } | SetUp::FourPoint { span_mm, .. } => span_mm,
            SetUp::Cantilever { reach_mm } => reach_mm,
        }
    }

    /// The gauge.
    pub fn gauge(&self) -> Gauge {
        self.gauge
    }

    /// The face the dial touches.
    pub fn dial(&self) -> Face {
        self.dial
    }

    /// Length of the pads, mm.
    pub fn pad_mm(&self) -> f64 {
        self.pad_mm
    }

    /// Give of supports and frame and its uncertainty, mm/N.
    pub fn give_mm_per_n(&self) -> (f64, f64) {
        (self.give_mm_per_n, self.u_give_mm_per_n)
    }

    /// What the dial shows for a millimetre, and its uncertainty.
    pub fn dial_scale(&self) -> (f64, f64) {
        (self.dial_scale, self.u_dial_scale)
    }

    /// True once a bar of known modulus has been read on it.
    pub fn is_calibrated(&self) -> bool {
        self.calibrated
    }

    /// True when two readings may be compared as they stand: same name, set-up, dial and pads.
    pub fn same_as(&self, other: &Self) -> bool {
        self.name == other.name
            && self.set_up == other.set_up
            && self.dial == other.dial
            && self.pad_mm == other.pad_mm
            && self.middle_mm == other.middle_mm
            && self.zeroed == other.zeroed
            && self.give_mm_per_n == other.give_mm_per_n
            && self.dial_scale == other.dial_scale
    }

    /// Loads, supports and where the dial stands, for a brace; `span_more_mm` stretches the span (for its uncertainty).
    pub(crate) fn on(&self, brace: &Brace, span_more_mm: f64) -> Result<(Vec<Load>, Vec<Support>, f64)> {
        let length = brace.length_mm();
        // through the height: the dent under the load is not what an underside dial sees, and a cap has no flat to press
        let face = if self.dial == Face::Crest && brace.section().flat_crest() { Face::Crest } else { Face::Body };
        let load = |x_mm: f64, force_n: f64| Load { x_mm, force_n, pad_mm: self.pad_mm, face };
        let pad = |x_mm: f64| Support::Pad { x_mm, pad_mm: self.pad_mm, give_mm_per_n: 0.0 };
        let middle = self.middle_mm.unwrap_or(match self.set_up {
            SetUp::Cantilever { .. } => 0.0,
            _ => 0.5 * length,
        });
        let fits = |what: &str, x: f64| {
            if x < -1e-9 || x > length + 1e-9 {
                Err(Error::Refused(format!(
                    "the {what} of the {} rig stands at x = {} mm, off the brace, which runs from 0 to {} mm; shorten the span or move the middle",
                    self.name,
                    number((x * 10.0).round() / 10.0),
                    number(length)
                )))
            } else {
                Ok(x.clamp(0.0, length))
            }
        };
        let half = 0.5 * (self.span_mm() + span_more_mm);
        match self.set_up {
            SetUp::ThreePoint { .. } => {
                let s = [fits("left support", middle - half)?, fits("right support", middle + half)?];
                Ok((vec![load(middle, self.load_n)], vec![pad(s[0]), pad(s[1])], middle))
            }
            SetUp::FourPoint { inner_mm, .. } => {
                let s = [fits("left support", middle - half)?, fits("right support", middle + half)?];
                let f = 0.5 * self.load_n;
                Ok((vec![load(middle - 0.5 * inner_mm, f), load(middle + 0.5 * inner_mm, f)], vec![pad(s[0]), pad(s[1])], middle))
            }
            SetUp::Cantilever { .. } => {
                let clamp = fits("clamp", middle)?;
                let tip = fits("load", middle + 2.0 * half)?;
                Ok((vec![load(tip, self.load_n)], vec![Support::Clamped { x_mm: clamp }], tip))
            }
        }
    }
}
