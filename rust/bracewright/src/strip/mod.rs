//! A brace glued to a strip of top.
//!
//! [`Strip::section`] is the transformed section of the handbooks; [`Strip::bend`] solves the plate with the brace as a rib
//! (see `mechanics::ribbed`), so that shear lag in the plate and the peaks that lend nothing come out of it.

mod arch;
mod bend;
mod lag;
mod lap;
mod learned;
mod margins;
mod mesh;
mod recovered;
mod section;

use serde::{Deserialize, Serialize};

use crate::brace::Brace;
use crate::error::{Error, Result, number, within};
use crate::mechanics::plate::PlateLaw;
use crate::wood::Wood;

pub use arch::{DishShape, Sprung, curvature_per_m, radius_mm, rise_mm};
pub use bend::{GluedBend, GluedLoad, PressedOn};
pub use lag::{BEF_LIMITS, EffectiveWidths, effective_widths, lag_width_mm};
pub use lap::{HalfLaps, Lap, LapState, half_laps};
pub use learned::{LearnedWidth, WidthReadings};
pub use margins::{MarginOptions, Margins};
pub use section::{Composite, GluedSection, composite};

/// Plate on either side of the brace that a strip has at least, mm.
const LEAST_BESIDE_MM: f64 = 3.0;

/// A brace glued along the middle of a strip of top, whose ends are held vertically.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Strip {
    brace: Brace,
    top: Wood,
    thickness_mm: f64,
    width_mm: f64,
    grain_angle_deg: f64,
    length_mm: f64,
}

/// Size of the strip and how its grain lies.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct StripSize {
    /// Thickness of the top, mm.
    pub thickness_mm: f64,
    /// Width of the strip, mm.
    pub width_mm: f64,
    /// Angle from the brace to the grain of the top, degrees.
    pub grain_angle_deg: f64,
    /// Length of the strip, mm; the brace's own when `None`. The brace sits in the middle of it.
    pub length_mm: Option<f64>,
}

impl Strip {
    /// The brace on a strip of a quarter-sawn top of this wood: thickness 0.5 to 12 mm; width from that of the brace and 3 mm on
    /// either side to 600 mm; grain at -180 to 180 degrees to the brace; length from the brace's own to 1500 mm.
    pub fn new(brace: &Brace, top: &Wood, size: StripSize) -> Result<Self> {
        let thickness_mm = within("thickness_mm", size.thickness_mm, "mm", 0.5, 12.0)?;
        let width_mm = within("width_mm", size.width_mm, "mm", brace.width_mm() + 2.0 * LEAST_BESIDE_MM, 600.0)?;
        let grain_angle_deg = within("grain_angle_deg", size.grain_angle_deg, "deg", -180.0, 180.0)?;
        let length_mm = match size.length_mm {
            Some(l) => within("length_mm", l, "mm", brace.length_mm(), 1500.0)?,
            None => brace.length_mm(),
        };
        let spare = 0.5 * (length_mm - brace.length_mm());
        if spare > 0.0 && spare < LEAST_BESIDE_MM {
            return Err(Error::Refused(format!(
                "length_mm is {} mm for a brace of {} mm; give the brace's own length, or at least {} mm more",
                number(length_mm),
                number(brace.length_mm()),
                number(2.0 * LEAST_BESIDE_MM)
            )));
        }
        Ok(Self { brace: brace.clone(), top: top.clone(), thickness_mm, width_mm, grain_angle_deg, length_mm })
    }

    /// The brace.
    pub fn brace(&self) -> &Brace {
        &self.brace
    }

    /// The same strip under another brace.
    pub fn with_brace(&self, brace: &Brace) -> Result<Self> {
        Self::new(
            brace,
            &self.top,
            StripSize { length_mm: (self.length_mm > self.brace.length_mm()).then_some(self.length_mm), ..self.size() },
        )
    }

    /// Its size.
    pub fn size(&self) -> StripSize {
        StripSize {
            thickness_mm: self.thickness_mm,
            width_mm: self.width_mm,
            grain_angle_deg: self.grain_angle_deg,
            length_mm: Some(self.length_mm),
        }
    }

    /// Length of the strip, mm.
    pub fn length_mm(&self) -> f64 {
        self.length_mm
    }

    /// The wood of the top.
    pub fn top(&self) -> &Wood {
        &self.top
    }

    /// Young's modulus of the top along the brace, GPa, nothing held beside it.
    pub fn plate_modulus_gpa(&self) -> Result<f64> {
        self.top.off_axis_modulus_gpa(self.grain_angle_deg)
    }

    fn plate_modulus_mpa(&self) -> Result<f64> {
        Ok(1000.0 * self.plate_modulus_gpa()?)
    }

    /// Where the brace starts on the strip, mm.
    fn start_mm(&self) -> f64 {
        0.5 * (self.length_mm - self.brace.length_mm())
    }

    /// Law of the plate for the mechanics, MPa and t/mm3, x along the brace: quarter-sawn, R across the grain, T through it.
    fn plate_law(&self) -> PlateLaw {
        let w = &self.top;
        PlateLaw::orthotropic(
            [1000.0 * w.modulus_l_gpa(), 1000.0 * w.modulus_r_gpa()],
            w.nu_lr(),
            1000.0 * w.shear_lr_gpa(),
            [1000.0 * w.shear_lt_gpa(), 1000.0 * w.shear_rt_gpa()],
            w.density_kg_m3() * 1e-12,
            self.grain_angle_deg.to_radians(),
        )
    }
}
