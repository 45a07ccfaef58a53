//! A layout in a file: braces whole, or as a pattern says them.

use serde::{Deserialize, Serialize};
use serde_json::Value;

use super::bridge_place::PlacedBridge;
use super::hole::SoundHole;
use super::lap::LapAt;
use super::outline::Outline;
use super::pattern::{Pattern, PatternBrace, PatternPart};
use super::place::PlacedBrace;
use super::stick::WoodOf;
use super::thickness::PlateThickness;
use super::{Block, Layout, LayoutParts, USUAL_LINING_MM};
use crate::error::{Error, Result};

/// Schema of a layout's file.
pub const LAYOUT_FAMILY: &str = "bracewright/layout";
/// Its newest version.
pub const LAYOUT_VERSION: u32 = 1;

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct LayoutFile {
    name: String,
    outline: Outline,
    #[serde(default = "lining")]
    lining_mm: f64,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    hole: Option<SoundHole>,
    wood: WoodOf,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    brace_wood: Option<WoodOf>,
    thickness: ThicknessFile,
    #[serde(default)]
    grain_angle_deg: f64,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    arch_radius_mm: Option<f64>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    bridge: Option<PlacedBridge>,
    #[serde(default)]
    braces: Vec<Value>,
    #[serde(default)]
    laps: Vec<LapAt>,
    #[serde(default)]
    parts: Vec<PatternPart>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    neck_block: Option<Block>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    tail_block: Option<Block>,
}

#[derive(Serialize, Deserialize)]
#[serde(untagged)]
enum ThicknessFile {
    Even(f64),
    Whole(PlateThickness),
}

fn lining() -> f64 {
    USUAL_LINING_MM
}

impl Layout {
    /// A pattern on an outline: its lines are carried to the lining and its sticks cut to length. `rest` says everything else; its
    /// own braces, laps and parts are kept and those of the pattern put behind them.
    pub fn of_pattern(rest: LayoutParts, pattern: &Pattern) -> Result<Self> {
        let mut parts = rest;
        parts.braces.extend(pattern.placed(&parts.outline, parts.lining_mm, parts.arch_radius_mm)?);
        parts.laps.extend(pattern.laps.iter().cloned());
        parts.parts.extend(pattern.plates()?);
        Self::new(parts)
    }

    /// From JSON text; `place` is its name in errors. A brace there is whole (`"brace"`), or as a pattern says it (`"line"` and
    /// `"stick"`).
    pub fn from_json_str(place: &str, text: &str) -> Result<Self> {
        let file: LayoutFile = crate::json::read(place, text, LAYOUT_FAMILY, LAYOUT_VERSION)?;
        let brace_wood = file.brace_wood.as_ref().unwrap_or(&file.wood);
        super::few(file.braces.len())?;
        let mut braces: Vec<PlacedBrace> = Vec::new();
        for (i, value) in file.braces.iter().enumerate() {
            let name = value.get("name").and_then(Value::as_str).unwrap_or("without a name");
            let wrong = |e: serde_json::Error| Error::Unreadable {
                place: place.into(),
                problem: format!("brace {} ({name}) cannot be read: {e}", i + 1),
            };
            braces.push(if value.get("brace").is_some() {
                PlacedBrace::deserialize(value).map_err(wrong)?
            } else {
                let b = PatternBrace::deserialize(value).map_err(wrong)?;
                b.placed(&braces, &file.outline, file.lining_mm, brace_wood, file.arch_radius_mm)?
            });
        }
        Self::new(LayoutParts {
            name: file.name,
            outline: file.outline,
            lining_mm: file.lining_mm,
            hole: file.hole,
            wood: file.wood.wood()?,
            thickness: match file.thickness {
                ThicknessFile::Even(t) => PlateThickness::even(t)?,
                ThicknessFile::Whole(t) => t,
            },
            grain_angle_deg: file.grain_angle_deg,
            arch_radius_mm: file.arch_radius_mm,
            bridge: file.bridge,
            braces,
            laps: file.laps,
            parts: file.parts.iter().map(|p| p.part(&file.wood)).collect::<Result<_>>()?,
            neck_block: file.neck_block,
            tail_block: file.tail_block,
        })
    }

    /// As JSON text with its schema; every brace is written whole.
    pub fn to_json(&self) -> Result<String> {
        let p = self.parts();
        let written = |e: serde_json::Error| Error::Refused(format!("the layout cannot be written: {e}"));
        let file = LayoutFile {
            name: p.name.clone(),
            outline: p.outline.clone(),
            lining_mm: p.lining_mm,
            hole: p.hole,
            wood: WoodOf::from(&p.wood),
            brace_wood: None,
            thickness: ThicknessFile::Whole(p.thickness.clone()),
            grain_angle_deg: p.grain_angle_deg,
            arch_radius_mm: p.arch_radius_mm,
            bridge: p.bridge.clone(),
            braces: p.braces.iter().map(serde_json::to_value).collect::<std::result::Result<_, _>>().map_err(written)?,
            laps: p.laps.clone(),
            parts: p
                .parts
                .iter()
                .map(|q| PatternPart {
                    name: q.name.clone(),
                    role: q.role,
                    wood: Some(WoodOf::from(&q.wood)),
                    thickness_mm: q.thickness_mm,
                    grain_angle_deg: q.grain_angle_deg,
                    corners_mm: q.corners_mm.clone(),
                })
                .collect(),
            neck_block: p.neck_block,
            tail_block: p.tail_block,
        };
        crate::json::write(LAYOUT_FAMILY, LAYOUT_VERSION, &file)
    }
}
