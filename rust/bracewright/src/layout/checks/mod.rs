//! The clearances of a layout, each with the chance that errors of place spoil it.

mod ends;
mod holes;
mod pins;
mod plates;
mod under_bridge;

use serde::{Deserialize, Serialize};

use super::Layout;
use super::chance::{Errors, outside};
use super::geometry::Point;
use super::report::{LayoutReport, LayoutRow, RowState};
use crate::error::{Result, within};

/// Standard uncertainties of where things end up.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct LayoutTolerance {
    /// Of the place of every part, each way, mm.
    pub u_position_mm: f64,
    /// Of its turn, degrees: a brace turns about its lap, or its middle without one.
    pub u_angle_deg: f64,
}

impl Default for LayoutTolerance {
    fn default() -> Self {
        Self { u_position_mm: 0.5, u_angle_deg: 0.5 }
    }
}

/// What clearances are allowed. All are common practice, no source.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct LayoutLimits {
    /// From the edge of a pin hole to a brace, at least, mm.
    pub pin_mm: f64,
    /// From the edge of the sound hole to a brace, at least, mm.
    pub hole_mm: f64,
    /// From the edge of a pin hole to that of the bridge plate, at least, mm.
    pub plate_past_pins_mm: f64,
    /// From a lap to the edge of the sound hole, at least, mm.
    pub lap_to_hole_mm: f64,
    /// How far a tucked end reaches into the lining, at least, mm.
    pub tuck_mm: f64,
    /// How far every end stays from the outline, for the binding's channel, at least, mm.
    pub binding_mm: f64,
    /// How far from the lining a feathered end stops, at most, mm.
    pub feather_mm: f64,
    /// Open joint of a brace that ends on another, at most, mm.
    pub joint_mm: f64,
    /// Compensation of the saddle, at least, mm.
    pub compensation_least_mm: f64,
    /// Compensation of the saddle, at most, mm.
    pub compensation_most_mm: f64,
    /// Chance from which on a clearance counts as close.
    pub close_chance: f64,
}

impl Default for LayoutLimits {
    fn default() -> Self {
        Self {
            pin_mm: 4.0,
            hole_mm: 3.0,
            plate_past_pins_mm: 3.0,
            lap_to_hole_mm: 8.0,
            tuck_mm: 1.0,
            binding_mm: 2.0,
            feather_mm: 2.0,
            joint_mm: 0.5,
            compensation_least_mm: 2.0,
            compensation_most_mm: 4.0,
            close_chance: 0.05,
        }
    }
}

impl LayoutLimits {
    /// Itself, unless a limit is out of range.
    pub fn checked(self) -> Result<Self> {
        let l = &self;
        for (name, v) in [
            ("pin_mm", l.pin_mm),
            ("hole_mm", l.hole_mm),
            ("plate_past_pins_mm", l.plate_past_pins_mm),
            ("lap_to_hole_mm", l.lap_to_hole_mm),
            ("tuck_mm", l.tuck_mm),
            ("binding_mm", l.binding_mm),
            ("feather_mm", l.feather_mm),
            ("joint_mm", l.joint_mm),
        ] {
            within(name, v, "mm", 0.0, 100.0)?;
        }
        within("compensation_least_mm", l.compensation_least_mm, "mm", -20.0, 20.0)?;
        within("compensation_most_mm", l.compensation_most_mm, "mm", l.compensation_least_mm, 20.0)?;
        within("close_chance", l.close_chance, "", 0.0, 1.0)?;
        Ok(self)
    }
}

/// Things further apart than this are not listed, mm.
const FAR_MM: f64 = 60.0;

struct Checker<'a> {
    layout: &'a Layout,
    errors: Errors,
    limits: LayoutLimits,
    rows: Vec<LayoutRow>,
    notes: Vec<String>,
}

/// What one row says before its state is known.
struct Found<'a> {
    check: &'a str,
    what: String,
    clearance: f64,
    allowed: (Option<f64>, Option<f64>),
    sd: Option<f64>,
    /// Where the normal law of the clearance itself does not say it.
    chance: Option<f64>,
    at: Point,
}

impl Layout {
    /// Every clearance, its standard uncertainty and the chance that it is outside its limits as built.
    ///
    /// Errors of place are normal and independent from part to part; their effect is taken by first order.
    pub fn check(&self, tolerance: &LayoutTolerance, limits: &LayoutLimits) -> Result<LayoutReport> {
        within("u_position_mm", tolerance.u_position_mm, "mm", 0.0, 20.0)?;
        within("u_angle_deg", tolerance.u_angle_deg, "deg", 0.0, 10.0)?;
        let limits = &limits.checked()?;
        let errors = Errors { u_mm: tolerance.u_position_mm, u_rad: tolerance.u_angle_deg.to_radians() };
        let mut c = Checker { layout: self, errors, limits: *limits, rows: vec![], notes: vec![] };
        c.pins();
        let legs = c.legs_under_bridge();
        c.plates();
        c.holes();
        c.laps();
        c.ends();
        c.blocks();
        c.saddle();
        Ok(LayoutReport::of(self.name(), c.rows, legs, *tolerance, *limits, c.notes))
    }

    /// The place about which a brace turns when it is glued down: its first lap, or its middle.
    pub(crate) fn pivot(&self, brace: usize) -> Point {
        let lap = self.crossings().iter().find(|c| c.first == brace || c.second == brace);
        lap.map_or_else(|| self.braces()[brace].bar().middle(), |c| (c.x_mm, c.y_mm))
    }
}

impl Checker<'_> {
    fn add(&mut self, f: Found<'_>) {
        let (least, most) = f.allowed;
        let bad = least.is_some_and(|l| f.clearance < l - 1e-9) || most.is_some_and(|m| f.clearance > m + 1e-9);
        let chance = f.chance.or_else(|| f.sd.map(|sd| outside(f.clearance, sd, least, most)));
        let state = match chance {
            _ if bad => RowState::Clash,
            Some(c) if c >= self.limits.close_chance => RowState::Close,
            _ => RowState::Clear,
        };
        self.rows.push(LayoutRow {
            check: f.check.into(),
            what: f.what,
            clearance_mm: f.clearance,
            least_mm: least,
            most_mm: most,
            sd_mm: f.sd,
            chance,
            x_mm: f.at.0,
            y_mm: f.at.1,
            state,
        });
    }
}

fn middle(a: Point, b: Point) -> Point {
    (0.5 * (a.0 + b.0), 0.5 * (a.1 + b.1))
}
