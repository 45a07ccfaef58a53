//! Flat pieces glued to the inside of the top: bridge plate, grafts, patches.

use serde::{Deserialize, Serialize};

use super::geometry::{Point, centroid, crosses_itself, finite, signed_area};
use super::place::check_name;
use crate::error::{Error, Result, within};
use crate::wood::Wood;

/// What a flat piece is there for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum PartRole {
    /// Under the bridge.
    BridgePlate,
    /// Beside the sound hole, or over a seam.
    Graft,
}

impl PartRole {
    /// Its word.
    pub fn name(self) -> &'static str {
        match self {
            PartRole::BridgePlate => "bridge-plate",
            PartRole::Graft => "graft",
        }
    }

    /// The role of that word.
    pub fn named(name: &str) -> Result<Self> {
        let all = [PartRole::BridgePlate, PartRole::Graft];
        let plain = name.trim().to_lowercase().replace([' ', '_'], "-");
        all.into_iter()
            .find(|r| r.name() == plain)
            .ok_or_else(|| crate::error::unknown_name("role", name, all.map(PartRole::name)))
    }
}

/// A flat piece glued to the inside of the top.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PlatePart {
    /// What it is called.
    pub name: String,
    /// What it is there for.
    pub role: PartRole,
    /// Its wood.
    pub wood: Wood,
    /// Its thickness, mm.
    pub thickness_mm: f64,
    /// Direction of its grain from the centreline, degrees.
    pub grain_angle_deg: f64,
    /// Its corners in order, mm.
    pub corners_mm: Vec<Point>,
}

impl PlatePart {
    /// Itself, unless a size is out of range or its edge crosses itself.
    pub fn checked(self) -> Result<Self> {
        check_name(&self.name)?;
        within("thickness_mm", self.thickness_mm, "mm", 0.2, 20.0)?;
        within("grain_angle_deg", self.grain_angle_deg, "deg", -180.0, 180.0)?;
        let n = self.corners_mm.len();
        if !(3..=400).contains(&n) || !self.corners_mm.iter().all(|p| finite(*p)) {
            return Err(Error::BadList {
                name: format!("corners_mm of {}", self.name),
                problem: format!("has {n} corners; it needs 3 to 400, all finite"),
            });
        }
        let wrong = |problem: String, p: Point| Error::AtPlace { problem, x_mm: p.0, y_mm: p.1 };
        if let Some(p) = crosses_itself(&self.corners_mm) {
            return Err(wrong(format!("the edge of {} crosses itself; give its corners in order round it", self.name), p));
        }
        if self.area_mm2() < 25.0 {
            return Err(wrong(format!("{} has less than 25 mm2", self.name), self.corners_mm[0]));
        }
        Ok(self)
    }

    /// Area, mm2.
    pub fn area_mm2(&self) -> f64 {
        signed_area(&self.corners_mm).abs()
    }

    /// Mass, g, at the wood's own density.
    pub fn mass_g(&self) -> f64 {
        self.area_mm2() * self.thickness_mm * self.wood.density_kg_m3() * 1e-6
    }

    pub(crate) fn middle(&self) -> Point {
        centroid(&self.corners_mm)
    }
}
