//! A whole braced top as drawn: outline, sound hole, thickness, braces, plates and bridge, and whether they get along.
//!
//! Axes: x across the top, y from the neck end of the outline at the centreline towards the tail, as the bracer sees it from
//! inside, so that +x is the bass side. Angles count from the centreline towards the tail, positive towards +x.

mod bouts;
mod bridge_place;
mod chance;
mod checks;
mod crossings;
mod curve;
mod fan_pattern;
mod geometry;
mod hole;
mod lap;
mod outline;
mod outline_read;
mod pattern;
mod place;
mod plate_part;
mod report;
mod stick;
mod stored;
mod thickness;
mod x_pattern;

use serde::{Deserialize, Serialize};

pub use bouts::{Bouts, USUAL_FULLNESS};
pub use bridge_place::{PlacedBridge, USUAL_PIN_MM, USUAL_SPREAD_MM, USUAL_TIE_MM};
pub use checks::{LayoutLimits, LayoutTolerance};
pub use curve::Piece;
pub use fan_pattern::{FanPattern, fan_pattern};
pub use geometry::Point;
pub(crate) use geometry::{
    Bar, apart, cross, crosses_itself, crossing, gap_of, inside, minus, nearest_edge, nearest_on, signed_area,
};
pub use hole::SoundHole;
pub use lap::{Crossing, LapAt};
pub use outline::{Outline, OutlinePoint, USUAL_CORNER_DEG};
pub use outline_read::{LyingAs, Neck, SeenFrom, outline_from_csv, outline_from_dxf, outline_from_svg};
pub use pattern::{PATTERN_FAMILY, PATTERN_VERSION, Pattern, PatternBrace, PatternLine, PatternPart};
pub use place::{Ending, PlacedBrace, Role};
pub use plate_part::{PartRole, PlatePart};
pub(crate) use report::percent;
pub use report::{LayoutReport, LayoutRow, LegAtBridge, RowState};
pub use stick::{Stick, StickScallop, WoodOf};
pub use stored::{LAYOUT_FAMILY, LAYOUT_VERSION};
pub use thickness::{PlateThickness, ThinEdge};
pub use x_pattern::{XPattern, x_pattern};

use crate::error::{Error, Result, within};
use crate::wood::Wood;

/// A block at an end of the top, as wide as it is glued.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Block {
    /// Across, mm.
    pub width_mm: f64,
    /// Along the centreline, mm.
    pub length_mm: f64,
}

/// What a layout is made of; [`Layout::new`] checks it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct LayoutParts {
    /// What it is called.
    pub name: String,
    /// The outline.
    pub outline: Outline,
    /// Width of the lining on the top, from the outline inwards, mm.
    pub lining_mm: f64,
    /// The sound hole, if there is one.
    pub hole: Option<SoundHole>,
    /// Wood of the top.
    pub wood: Wood,
    /// Thickness of the top.
    pub thickness: PlateThickness,
    /// Direction of its grain from the centreline, degrees.
    pub grain_angle_deg: f64,
    /// Radius of the dish the top is glued in, mm; `None` where it is flat.
    pub arch_radius_mm: Option<f64>,
    /// The bridge, if there is one.
    pub bridge: Option<PlacedBridge>,
    /// The braces.
    pub braces: Vec<PlacedBrace>,
    /// Half-laps where braces cross.
    pub laps: Vec<LapAt>,
    /// Bridge plate, grafts.
    pub parts: Vec<PlatePart>,
    /// Neck block, in the middle of the neck end.
    pub neck_block: Option<Block>,
    /// Tail block, in the middle of the tail end.
    pub tail_block: Option<Block>,
}

/// A whole braced top. A value: it holds together, or it was refused.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(try_from = "LayoutParts", into = "LayoutParts")]
pub struct Layout {
    parts: LayoutParts,
    crossings: Vec<Crossing>,
}

/// Most braces on one top.
pub const MOST_BRACES: usize = 60;
/// Lining taken when nothing is said, mm (common practice, no source).
pub const USUAL_LINING_MM: f64 = 6.0;

impl TryFrom<LayoutParts> for Layout {
    type Error = Error;
    fn try_from(parts: LayoutParts) -> Result<Self> {
        Self::new(parts)
    }
}

impl From<Layout> for LayoutParts {
    fn from(l: Layout) -> Self {
        l.parts
    }
}

impl Layout {
    /// The top, unless something lies outside the outline, braces cross without a lap, or a size is out of range.
    pub fn new(parts: LayoutParts) -> Result<Self> {
        place::check_name(&parts.name)?;
        within("lining_mm", parts.lining_mm, "mm", 0.0, 60.0)?;
        within("grain_angle_deg", parts.grain_angle_deg, "deg", -180.0, 180.0)?;
        if let Some(r) = parts.arch_radius_mm {
            within("arch_radius_mm", r, "mm", 500.0, 1e6)?;
        }
        few(parts.braces.len().max(parts.parts.len()))?;
        let outline = &parts.outline;
        if let Some(hole) = parts.hole {
            hole.checked()?;
            for p in hole.points(0.05)? {
                outline.inside_by("the edge of the sound hole", p, 0.0)?;
            }
        }
        if let Some(bridge) = &parts.bridge {
            bridge.clone().checked()?;
            for p in bridge.foot_mm() {
                outline.inside_by("a corner of the bridge's foot", p, 0.0)?;
            }
        }
        for part in &parts.parts {
            part.clone().checked()?;
            for p in &part.corners_mm {
                outline.inside_by(&format!("a corner of {}", part.name), *p, 0.0)?;
            }
        }
        for (i, b) in parts.braces.iter().enumerate() {
            b.clone().checked()?;
            if parts.braces[..i].iter().any(|other| other.name == b.name) {
                return Err(Error::Refused(format!("two braces are called {:?}; each needs a name of its own", b.name)));
            }
            on_the_top(outline, b)?;
        }
        for (name, block) in [("neck_block_mm", parts.neck_block), ("tail_block_mm", parts.tail_block)] {
            if let Some(b) = block {
                within(&format!("{name} across"), b.width_mm, "mm", 1.0, 300.0)?;
                within(&format!("{name} along"), b.length_mm, "mm", 1.0, 300.0)?;
            }
        }
        let crossings = crossings::found(&parts.braces, &parts.laps)?;
        Ok(Self { parts, crossings })
    }

    /// What it is made of.
    pub fn parts(&self) -> &LayoutParts {
        &self.parts
    }

    /// Its name.
    pub fn name(&self) -> &str {
        &self.parts.name
    }

    /// The outline.
    pub fn outline(&self) -> &Outline {
        &self.parts.outline
    }

    /// The braces.
    pub fn braces(&self) -> &[PlacedBrace] {
        &self.parts.braces
    }

    /// The brace of that name, and its place in the list.
    pub fn brace(&self, name: &str) -> Result<(usize, &PlacedBrace)> {
        let all = &self.parts.braces;
        all.iter()
            .position(|b| b.name == name)
            .map(|i| (i, &all[i]))
            .ok_or_else(|| crate::error::unknown_name("name of the brace", name, all.iter().map(|b| b.name.as_str())))
    }

    /// Where braces cross.
    pub fn crossings(&self) -> &[Crossing] {
        &self.crossings
    }

    /// Thickness of the top at places inside the outline, mm.
    pub fn thickness_mm(&self, x_mm: &[f64], y_mm: &[f64]) -> Result<Vec<f64>> {
        crate::error::same_length("x_mm", x_mm.len(), "y_mm", y_mm.len())?;
        x_mm.iter()
            .zip(y_mm)
            .map(|(x, y)| {
                let depth = self.parts.outline.distance_mm(*x, *y)?;
                if depth < -1e-3 {
                    let problem = format!("the place lies {:.1} mm outside the outline; it must lie inside", -depth);
                    return Err(Error::AtPlace { problem, x_mm: *x, y_mm: *y });
                }
                Ok(self.parts.thickness.at((*x, *y), depth.max(0.0)))
            })
            .collect()
    }

    /// Mass, g: the top less its hole, braces, plates and grafts, each at its own density; bridge and lining are not counted, and what laps take
    /// off the braces (some tenths of a gram) is not taken off. The top's thickness is taken by the middle of each of some ten thousand squares.
    pub fn mass_g(&self) -> Result<f64> {
        let p = &self.parts;
        let [x0, x1, y0, y1] = p.outline.bounds_mm();
        let step = ((x1 - x0) * (y1 - y0) / 10_000.0).sqrt();
        let (mut sum, mut count) = (0.0, 0.0);
        let (nx, ny) = (((x1 - x0) / step) as usize, ((y1 - y0) / step) as usize);
        for i in 0..nx {
            for j in 0..ny {
                let q = (x0 + (i as f64 + 0.5) * step, y0 + (j as f64 + 0.5) * step);
                let depth = p.outline.depth(q);
                if depth > 0.0 && p.hole.is_none_or(|h| h.nearest(q).1 > 0.0) {
                    sum += p.thickness.at(q, depth);
                    count += 1.0;
                }
            }
        }
        let hole = p.hole.map_or(0.0, |h| 0.25 * std::f64::consts::PI * h.width_mm * h.length_mm);
        let plate = sum / f64::max(count, 1.0) * (p.outline.area_mm2() - hole) * p.wood.density_kg_m3() * 1e-6;
        let braces = p.braces.iter().map(PlacedBrace::mass_g).sum::<Result<f64>>()?;
        Ok(plate + braces + p.parts.iter().map(PlatePart::mass_g).sum::<f64>())
    }

    /// The rectangle of a block: at the neck end, or at the tail end of the outline on its centreline.
    pub(crate) fn block(&self, tail: bool) -> Option<Bar> {
        let b = if tail { self.parts.tail_block } else { self.parts.neck_block }?;
        let [_, _, y0, y1] = self.parts.outline.bounds_mm();
        let x = self.parts.bridge.as_ref().map_or(0.0, |b| b.x_mm);
        let way = if tail { 1.0 } else { -1.0 };
        let end = self.parts.outline.until((x, 0.5 * (y0 + y1)), (0.0, way), 0.0);
        Some(Bar { from: end, to: (end.0, end.1 - way * b.length_mm), half: 0.5 * b.width_mm })
    }

    /// The same top for the other hand: everything mirrored about the centreline.
    pub fn mirrored(&self) -> Result<Self> {
        let p = &self.parts;
        let m = |q: Point| (-q.0, q.1);
        self.mapped(p.outline.mirrored()?, m, true)
    }

    /// Everything moved by so much, mm.
    pub fn moved(&self, dx_mm: f64, dy_mm: f64) -> Result<Self> {
        self.mapped(self.parts.outline.moved(dx_mm, dy_mm)?, |q| (q.0 + dx_mm, q.1 + dy_mm), false)
    }

    fn mapped(&self, outline: Outline, f: impl Fn(Point) -> Point, turned: bool) -> Result<Self> {
        let mut p = self.parts.clone();
        p.outline = outline;
        let side = if turned { -1.0 } else { 1.0 };
        if let Some(h) = &mut p.hole {
            (h.x_mm, h.y_mm) = f((h.x_mm, h.y_mm));
        }
        if let Some(b) = &mut p.bridge {
            (b.x_mm, b.y_mm) = f((b.x_mm, b.y_mm));
            b.turn_deg *= side;
            b.slant_mm *= side;
        }
        p.grain_angle_deg *= side;
        p.thickness = p.thickness.mapped(&f)?;
        for b in &mut p.braces {
            (b.start_mm, b.end_mm) = (f(b.start_mm), f(b.end_mm));
        }
        for part in &mut p.parts {
            part.grain_angle_deg *= side;
            part.corners_mm.iter_mut().for_each(|q| *q = f(*q));
        }
        Self::new(p)
    }
}

/// Error where there are more braces, or plates, than are taken.
fn few(count: usize) -> Result<()> {
    if count <= MOST_BRACES {
        return Ok(());
    }
    Err(Error::BadList {
        name: "braces".into(),
        problem: format!("has {count} braces or plates; at most {MOST_BRACES} are taken"),
    })
}

/// Error unless the middle of a brace's glue face stays inside the outline.
fn on_the_top(outline: &Outline, b: &PlacedBrace) -> Result<()> {
    for (which, p) in [("start", b.start_mm), ("end", b.end_mm)] {
        outline.inside_by(&format!("the {which} of {}", b.name), p, 0.0)?;
    }
    for (p, q) in geometry::sides(outline.fine()) {
        if let Some((t, _)) = geometry::crossing(b.start_mm, b.end_mm, p, q) {
            let at = b.at(t * b.length_mm());
            // an end that lies on the outline itself is not outside
            let ends = apart(at, b.start_mm).min(apart(at, b.end_mm));
            if ends > 1e-6 {
                return Err(Error::AtPlace {
                    problem: format!("{} runs out of the outline; it must lie inside all along", b.name),
                    x_mm: at.0,
                    y_mm: at.1,
                });
            }
        }
    }
    Ok(())
}
