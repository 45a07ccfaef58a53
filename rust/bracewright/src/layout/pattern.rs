//! A bracing pattern as data: lines and sticks, that any outline turns into braces of the right length.

use serde::{Deserialize, Serialize};

use super::geometry::{Bar, Point, along, cross, direction, dot};
use super::lap::LapAt;
use super::outline::Outline;
use super::place::{Ending, PlacedBrace, Role};
use super::plate_part::{PartRole, PlatePart};
use super::stick::{Stick, WoodOf, of};
use crate::error::{Error, Result, within};

/// Schema of a pattern's file.
pub const PATTERN_FAMILY: &str = "bracewright/pattern";
/// Its newest version.
pub const PATTERN_VERSION: u32 = 1;

/// The line a brace lies on.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(untagged)]
pub enum PatternLine {
    /// From one place to another; how it ends is then only said, not made.
    Between {
        /// Where it starts, mm.
        from_mm: Point,
        /// Where it ends, mm.
        to_mm: Point,
    },
    /// Through a place at an angle, until its ends are what they are to be: in the lining, short of it, or on another brace.
    Through {
        /// A place on the line, inside the outline, mm.
        through_mm: Point,
        /// Direction in which it ends, degrees from the centreline: 0 towards the tail, 90 towards +x.
        angle_deg: f64,
    },
}

/// A brace of a pattern.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PatternBrace {
    /// What it is called.
    pub name: String,
    /// What it is there for.
    pub role: Role,
    /// Its line.
    pub line: PatternLine,
    /// How it ends at the start.
    pub at_start: Ending,
    /// How it ends at the end.
    pub at_end: Ending,
    /// Its sizes.
    pub stick: Stick,
}

/// A flat piece of a pattern.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PatternPart {
    /// What it is called.
    pub name: String,
    /// What it is there for.
    pub role: PartRole,
    /// Its wood; the pattern's own where it says none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub wood: Option<WoodOf>,
    /// Thickness, mm.
    pub thickness_mm: f64,
    /// Direction of its grain from the centreline, degrees.
    pub grain_angle_deg: f64,
    /// Its corners in order, mm.
    pub corners_mm: Vec<Point>,
}

/// A bracing pattern.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Pattern {
    /// What it is called.
    pub name: String,
    /// Wood of what says none of its own.
    pub wood: WoodOf,
    /// The braces; one that ends on another comes after it.
    pub braces: Vec<PatternBrace>,
    /// Half-laps where they cross.
    #[serde(default)]
    pub laps: Vec<LapAt>,
    /// Bridge plate, grafts.
    #[serde(default)]
    pub parts: Vec<PatternPart>,
}

impl Pattern {
    /// From JSON text; `place` is its name in errors.
    pub fn from_json_str(place: &str, text: &str) -> Result<Self> {
        crate::json::read(place, text, PATTERN_FAMILY, PATTERN_VERSION)
    }

    /// As JSON text with its schema.
    pub fn to_json(&self) -> Result<String> {
        crate::json::write(PATTERN_FAMILY, PATTERN_VERSION, self)
    }

    /// The braces on an outline with a lining so wide; glue faces arched where a radius is given.
    pub fn placed(&self, outline: &Outline, lining_mm: f64, arch_radius_mm: Option<f64>) -> Result<Vec<PlacedBrace>> {
        within("lining_mm", lining_mm, "mm", 0.0, 60.0)?;
        super::few(self.braces.len())?;
        let mut out: Vec<PlacedBrace> = Vec::new();
        for b in &self.braces {
            let placed = b.placed(&out, outline, lining_mm, &self.wood, arch_radius_mm)?;
            out.push(placed);
        }
        Ok(out)
    }

    /// Its flat pieces.
    pub fn plates(&self) -> Result<Vec<PlatePart>> {
        self.parts.iter().map(|p| p.part(&self.wood)).collect()
    }
}

impl PatternPart {
    pub(super) fn part(&self, wood: &WoodOf) -> Result<PlatePart> {
        let part = PlatePart {
            name: self.name.clone(),
            role: self.role,
            wood: self.wood.as_ref().unwrap_or(wood).wood()?,
            thickness_mm: self.thickness_mm,
            grain_angle_deg: self.grain_angle_deg,
            corners_mm: self.corners_mm.clone(),
        };
        part.checked().map_err(|e| of(&self.name, e))
    }
}

/// The feather of a brace starts this near to the inner edge of the lining, at least, mm.
const TOUCH_MM: f64 = 1e-6;

impl PatternBrace {
    /// The brace in its place; `before` are those it may end on.
    pub(super) fn placed(
        &self,
        before: &[PlacedBrace],
        outline: &Outline,
        lining_mm: f64,
        wood: &WoodOf,
        arch_radius_mm: Option<f64>,
    ) -> Result<PlacedBrace> {
        let (start_mm, end_mm) = match self.line {
            PatternLine::Between { from_mm, to_mm } => (from_mm, to_mm),
            PatternLine::Through { through_mm, angle_deg } => {
                within("angle_deg", angle_deg, "deg", -360.0, 360.0).map_err(|e| of(&self.name, e))?;
                outline.inside_by(&format!("the place that the line of {} goes through", self.name), through_mm, 0.0)?;
                let way = direction(angle_deg);
                let end = |ending: &Ending, way: Point| self.until(before, outline, lining_mm, ending, through_mm, way);
                (end(&self.at_start, (-way.0, -way.1))?, end(&self.at_end, way)?)
            }
        };
        let length = super::apart(start_mm, end_mm);
        if length < 5.0 || dot(direction_of(self.line), super::geometry::minus(end_mm, start_mm)) < 0.0 {
            return Err(Error::AtPlace {
                problem: format!("nothing is left of the line of {} between what it ends on", self.name),
                x_mm: start_mm.0,
                y_mm: start_mm.1,
            });
        }
        let brace = self.stick.brace(length, wood, arch_radius_mm).map_err(|e| of(&self.name, e))?;
        let placed = PlacedBrace {
            name: self.name.clone(),
            role: self.role,
            start_mm,
            end_mm,
            at_start: self.at_start.clone(),
            at_end: self.at_end.clone(),
            offset_mm: 0.0,
            brace,
        };
        placed.checked()
    }

    fn until(
        &self,
        before: &[PlacedBrace],
        outline: &Outline,
        lining: f64,
        ending: &Ending,
        from: Point,
        way: Point,
    ) -> Result<Point> {
        let inset = match ending {
            Ending::Tucked { pocket_mm } => lining - pocket_mm,
            Ending::Feathered { gap_mm } => lining + gap_mm.max(TOUCH_MM),
            Ending::Short { .. } => lining,
            Ending::LetIn { .. } | Ending::Butted { .. } => 0.0,
        };
        let by = if let Ending::Short { by_mm } = ending { *by_mm } else { 0.0 };
        let Some(other) = ending.other() else {
            if inset < 0.0 {
                return Err(Error::AtPlace {
                    problem: format!("the pocket of {} is deeper than the lining is wide", self.name),
                    x_mm: from.0,
                    y_mm: from.1,
                });
            }
            return Ok(along(outline.until(from, way, inset), way, -by));
        };
        let on = before.iter().find(|b| b.name == other).ok_or_else(|| {
            crate::error::unknown_name(
                &format!("the brace that {} ends on", self.name),
                other,
                before.iter().map(|b| b.name.as_str()),
            )
        })?;
        let past = if let Ending::LetIn { depth_mm, .. } = ending { *depth_mm } else { 0.0 };
        side_met(&on.bar(), from, way, past).ok_or_else(|| Error::AtPlace {
            problem: format!("the line of {} does not meet {other}, on which it is to end", self.name),
            x_mm: from.0,
            y_mm: from.1,
        })
    }
}

fn direction_of(line: PatternLine) -> Point {
    match line {
        PatternLine::Between { from_mm, to_mm } => super::geometry::minus(to_mm, from_mm),
        PatternLine::Through { angle_deg, .. } => direction(angle_deg),
    }
}

/// Where the line from a place meets the near side of a bar, `past` beyond it.
fn side_met(bar: &Bar, from: Point, way: Point, past: f64) -> Option<Point> {
    let u = bar.way();
    let (_, t) = bar.local(from);
    let closing = -t.signum() * cross(u, way);
    if closing <= 1e-6 {
        return None;
    }
    let to_side = (t.abs() - bar.half) / closing;
    let p = along(from, way, to_side + past / closing);
    let (s, _) = bar.local(p);
    (to_side >= 0.0 && s >= 0.0 && s <= bar.length()).then_some(p)
}
