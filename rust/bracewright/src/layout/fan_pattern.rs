//! A fan with closing bars from a few numbers. The defaults are common practice, no source.

use super::bridge_place::PlacedBridge;
use super::hole::SoundHole;
use super::outline::Outline;
use super::pattern::Pattern;
use super::place::{Ending, Role};
use super::stick::{Stick, WoodOf};
use super::x_pattern::{feathered, through};
use crate::error::{Result, number, within};

/// Numbers of a fan.
#[derive(Debug, Clone, PartialEq)]
pub struct FanPattern {
    /// Number of fans, 1 to 13.
    pub fans: usize,
    /// Distance between them at the saddle, mm.
    pub spacing_mm: f64,
    /// How far in front of the saddle their lines meet, mm; the larger, the more parallel.
    pub focus_mm: f64,
    /// Width of the fans, mm.
    pub fan_width_mm: f64,
    /// Height of the fans, mm.
    pub fan_height_mm: f64,
    /// Height of their ends, mm.
    pub fan_end_mm: f64,
    /// True for two closing bars at the tail.
    pub closing_bars: bool,
    /// Width of the closing bars, mm.
    pub closing_width_mm: f64,
    /// Height of the closing bars, mm.
    pub closing_height_mm: f64,
    /// Width of the two transverse bars, mm.
    pub transverse_width_mm: f64,
    /// Height of the two transverse bars, mm.
    pub transverse_height_mm: f64,
    /// From the edge of the sound hole to the middle of a transverse bar, mm.
    pub transverse_from_hole_mm: f64,
    /// How deep the transverse bars are tucked into the lining, mm.
    pub pocket_mm: f64,
    /// Wood of the braces.
    pub wood: WoodOf,
}

impl Default for FanPattern {
    fn default() -> Self {
        Self {
            fans: 7,
            spacing_mm: 30.0,
            focus_mm: 400.0,
            fan_width_mm: 5.0,
            fan_height_mm: 4.0,
            fan_end_mm: 1.0,
            closing_bars: true,
            closing_width_mm: 5.0,
            closing_height_mm: 4.0,
            transverse_width_mm: 6.0,
            transverse_height_mm: 16.0,
            transverse_from_hole_mm: 18.0,
            pocket_mm: 2.5,
            wood: WoodOf::Name("Engelmann spruce".into()),
        }
    }
}

/// The fan on that outline with that sound hole and bridge, both on the centreline.
pub fn fan_pattern(
    outline: &Outline,
    lining_mm: f64,
    hole: &SoundHole,
    bridge: &PlacedBridge,
    f: &FanPattern,
) -> Result<Pattern> {
    within("lining_mm", lining_mm, "mm", 0.0, 60.0)?;
    within("fans", f.fans as f64, "", 1.0, 13.0)?;
    within("spacing_mm", f.spacing_mm, "mm", 5.0, 100.0)?;
    within("focus_mm", f.focus_mm, "mm", 50.0, 1e5)?;
    within("fan_width_mm", f.fan_width_mm, "mm", 1.0, 30.0)?;
    within("transverse_from_hole_mm", f.transverse_from_hole_mm, "mm", 2.0, 80.0)?;
    let x0 = hole.x_mm;
    let tucked = || Ending::Tucked { pocket_mm: f.pocket_mm };
    let bar = Stick::plain(f.transverse_width_mm, f.transverse_height_mm, 2.5, 40.0);
    let mut braces = Vec::new();
    for (name, y) in [
        ("upper transverse bar", hole.y_mm - 0.5 * hole.length_mm - f.transverse_from_hole_mm),
        ("lower transverse bar", hole.y_mm + 0.5 * hole.length_mm + f.transverse_from_hole_mm),
    ] {
        braces.push(through(name, Role::Transverse, (x0, y), 90.0, [tucked(), tucked()], bar.clone()));
    }
    let middle = (x0, bridge.y_mm);
    outline.inside_by("the middle of the saddle", middle, lining_mm)?;
    let tail = outline.until(middle, (0.0, 1.0), lining_mm).1;
    let gap = 0.5 * f.fan_width_mm + 3.0;
    if f.closing_bars {
        for (name, s) in [("bass", 1.0), ("treble", -1.0)] {
            // from beside the centreline near the tail, outwards and towards the bridge
            let y = tail - 0.22 * (tail - bridge.y_mm);
            let way = super::geometry::direction(s * 112.0);
            let from = (x0 + s * gap, y);
            let end = outline.until(from, way, lining_mm + 1.0);
            braces.push(super::pattern::PatternBrace {
                name: format!("{name} closing bar"),
                role: Role::ClosingBar,
                line: super::pattern::PatternLine::Between { from_mm: from, to_mm: end },
                at_start: Ending::Short { by_mm: 0.0 },
                at_end: feathered(),
                stick: Stick::plain(f.closing_width_mm, f.closing_height_mm, f.fan_end_mm, 25.0),
            });
        }
    }
    for k in 0..f.fans {
        let aside = f.spacing_mm * (k as f64 - 0.5 * (f.fans as f64 - 1.0));
        let angle = (aside / f.focus_mm).atan().to_degrees();
        let end = if f.closing_bars && aside.abs() > gap + f.fan_width_mm {
            Ending::Butted { to: format!("{} closing bar", if aside > 0.0 { "bass" } else { "treble" }) }
        } else {
            feathered()
        };
        let stick = Stick::plain(f.fan_width_mm, f.fan_height_mm, f.fan_end_mm, 30.0);
        let ends = [Ending::Butted { to: "lower transverse bar".into() }, end];
        braces.push(through(format!("fan {}", k + 1), Role::Fan, (x0 + aside, bridge.y_mm), angle, ends, stick));
    }
    Ok(Pattern {
        name: format!("fan of {} at {} mm", f.fans, number(f.spacing_mm)),
        wood: f.wood.clone(),
        braces,
        laps: vec![],
        parts: vec![],
    })
}
