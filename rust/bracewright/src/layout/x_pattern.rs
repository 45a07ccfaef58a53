//! An X pattern from a few numbers. The defaults are common practice, no source: middles of wide ranges, all to be changed.

use super::bridge_place::PlacedBridge;
use super::geometry::{Point, along, direction};
use super::hole::SoundHole;
use super::lap::LapAt;
use super::outline::Outline;
use super::pattern::{Pattern, PatternBrace, PatternLine, PatternPart};
use super::place::{Ending, Role};
use super::plate_part::PartRole;
use super::stick::{Stick, StickScallop, WoodOf};
use crate::error::{Error, Result, number, within};

/// Numbers of an X pattern.
#[derive(Debug, Clone, PartialEq)]
pub struct XPattern {
    /// Angle between the legs, opening to the tail, degrees.
    pub angle_deg: f64,
    /// From the crossing to the edge of the sound hole, mm.
    pub crossing_to_hole_mm: f64,
    /// Width of the legs, mm.
    pub leg_width_mm: f64,
    /// Height of the legs, mm.
    pub leg_height_mm: f64,
    /// Height of the legs at their tucked ends, mm.
    pub leg_end_mm: f64,
    /// Depth of one scallop in each lower leg, mm; 0 for none.
    pub scallop_depth_mm: f64,
    /// Its length, mm.
    pub scallop_length_mm: f64,
    /// Thickness of the cap over the crossing, mm; 0 for none.
    pub cap_mm: f64,
    /// Number of tone bars, 0 to 4.
    pub tone_bars: usize,
    /// True when they start on the leg of the bass side.
    pub tone_bars_from_bass: bool,
    /// Width of the tone bars, mm.
    pub tone_bar_width_mm: f64,
    /// Height of the tone bars, mm.
    pub tone_bar_height_mm: f64,
    /// Number of finger braces on each side, 0 to 4.
    pub fingers: usize,
    /// Width of the finger braces, mm.
    pub finger_width_mm: f64,
    /// Height of the finger braces, mm.
    pub finger_height_mm: f64,
    /// Width of the transverse brace, mm; 0 for none.
    pub transverse_width_mm: f64,
    /// Height of the transverse brace, mm.
    pub transverse_height_mm: f64,
    /// Thickness of the grafts beside the sound hole, mm; 0 for none.
    pub graft_mm: f64,
    /// Thickness of the bridge plate, mm; 0 for none.
    pub bridge_plate_mm: f64,
    /// Its size fore and aft, mm.
    pub bridge_plate_length_mm: f64,
    /// How deep legs and transverse brace are tucked into the lining, mm.
    pub pocket_mm: f64,
    /// Wood of the braces.
    pub wood: WoodOf,
    /// Wood of the bridge plate.
    pub plate_wood: WoodOf,
}

impl Default for XPattern {
    fn default() -> Self {
        Self {
            angle_deg: 98.0,
            crossing_to_hole_mm: 35.0,
            leg_width_mm: 8.0,
            leg_height_mm: 15.0,
            leg_end_mm: 2.5,
            scallop_depth_mm: 6.0,
            scallop_length_mm: 110.0,
            cap_mm: 2.0,
            tone_bars: 2,
            tone_bars_from_bass: false,
            tone_bar_width_mm: 7.0,
            tone_bar_height_mm: 11.0,
            fingers: 2,
            finger_width_mm: 6.0,
            finger_height_mm: 8.0,
            transverse_width_mm: 11.0,
            transverse_height_mm: 16.0,
            graft_mm: 2.0,
            bridge_plate_mm: 2.5,
            bridge_plate_length_mm: 40.0,
            pocket_mm: 2.5,
            wood: WoodOf::Name("Sitka spruce".into()),
            plate_wood: WoodOf::Name("sugar maple".into()),
        }
    }
}

/// Ramp of a leg's ends, mm.
const RAMP_MM: f64 = 45.0;

pub(super) fn feathered() -> Ending {
    Ending::Feathered { gap_mm: 1.0 }
}

pub(super) fn through(
    name: impl Into<String>,
    role: Role,
    at: Point,
    angle_deg: f64,
    ends: [Ending; 2],
    stick: Stick,
) -> PatternBrace {
    let [at_start, at_end] = ends;
    PatternBrace { name: name.into(), role, line: PatternLine::Through { through_mm: at, angle_deg }, at_start, at_end, stick }
}

/// The pattern on that outline with that sound hole and bridge, both on the centreline.
pub fn x_pattern(outline: &Outline, lining_mm: f64, hole: &SoundHole, bridge: &PlacedBridge, x: &XPattern) -> Result<Pattern> {
    within("lining_mm", lining_mm, "mm", 0.0, 60.0)?;
    within("angle_deg", x.angle_deg, "deg", 60.0, 140.0)?;
    within("crossing_to_hole_mm", x.crossing_to_hole_mm, "mm", 1.0, 120.0)?;
    within("tone_bars", x.tone_bars as f64, "", 0.0, 4.0)?;
    within("fingers", x.fingers as f64, "", 0.0, 4.0)?;
    for (name, v, most) in [
        ("scallop_depth_mm", x.scallop_depth_mm, 30.0),
        ("transverse_width_mm", x.transverse_width_mm, 40.0),
        ("graft_mm", x.graft_mm, 10.0),
        ("bridge_plate_mm", x.bridge_plate_mm, 10.0),
        ("cap_mm", x.cap_mm, 10.0),
    ] {
        within(name, v, "mm", 0.0, most)?;
    }
    within("bridge_plate_length_mm", x.bridge_plate_length_mm, "mm", 10.0, 120.0)?;
    within("leg_width_mm", x.leg_width_mm, "mm", 2.0, 30.0)?;
    let (x0, half) = (hole.x_mm, 0.5 * x.angle_deg);
    let crossing = (x0, hole.y_mm + 0.5 * hole.length_mm + x.crossing_to_hole_mm);
    outline.inside_by("the crossing of the X", crossing, lining_mm)?;
    let tucked = || Ending::Tucked { pocket_mm: x.pocket_mm };
    let mut leg = Stick::plain(x.leg_width_mm, x.leg_height_mm, x.leg_end_mm, RAMP_MM);
    leg.cap_of_height = Some(0.3);
    if x.scallop_depth_mm > 0.0 {
        leg.scallops.push(StickScallop {
            at_mm: -(RAMP_MM + 0.5 * x.scallop_length_mm),
            length_mm: x.scallop_length_mm,
            depth_mm: x.scallop_depth_mm,
        });
    }
    let front = hole.y_mm - 0.5 * hole.length_mm;
    let mut braces = Vec::new();
    let mut upper = [tucked(), tucked()];
    if x.transverse_width_mm > 0.0 {
        let wide = 0.5 * x.transverse_width_mm;
        let neck = outline.until((x0, hole.y_mm), (0.0, -1.0), lining_mm).1;
        let mut y = (front - 14.0 - wide).max(0.5 * (neck + front));
        let tops = [half, -half].map(|a| {
            let way = direction(a);
            outline.until(crossing, (-way.0, -way.1), (lining_mm - x.pocket_mm).max(0.0)).1
        });
        // legs that would just touch it at the lining make it give way; those that reach past it end on it
        for top in tops {
            if (wide - 2.0..wide + x.leg_width_mm + 2.0).contains(&(top - y)) {
                y = top - wide - x.leg_width_mm - 2.0;
            }
        }
        for (end, top) in upper.iter_mut().zip(tops) {
            if top < y + wide {
                *end = Ending::Butted { to: "transverse brace".into() };
            }
        }
        let stick = Stick::plain(x.transverse_width_mm, x.transverse_height_mm, x.leg_end_mm, RAMP_MM);
        braces.push(through("transverse brace", Role::Transverse, (x0, y), 90.0, [tucked(), tucked()], stick));
    }
    let [bass, treble] = upper;
    braces.push(through("bass leg", Role::Leg, crossing, half, [bass, tucked()], leg.clone()));
    braces.push(through("treble leg", Role::Leg, crossing, -half, [treble, tucked()], leg));
    let (rear, tail) = {
        let b = &bridge.bridge;
        let rear = bridge.y_mm + b.foot_width_mm - b.saddle_from_front_mm;
        let tail = outline.until(crossing, (0.0, 1.0), lining_mm).1;
        if rear >= tail {
            return Err(Error::AtPlace {
                problem: "the bridge leaves no room between it and the tail".into(),
                x_mm: bridge.x_mm,
                y_mm: rear,
            });
        }
        (rear, tail)
    };
    let tone = Stick::plain(x.tone_bar_width_mm, x.tone_bar_height_mm, 1.0, 35.0);
    // from a leg, past the middle of the room behind the bridge, to the other side's lining
    let (on, side) = if x.tone_bars_from_bass { ("bass leg", -1.0) } else { ("treble leg", 1.0) };
    for k in 0..x.tone_bars {
        let y = rear + (tail - rear) * (0.36 + 0.64 * (k as f64) / (x.tone_bars as f64 + 0.4));
        let mut stick = tone.clone();
        stick.start_height_mm = Some(0.6 * x.tone_bar_height_mm);
        let ends = [Ending::Butted { to: on.into() }, feathered()];
        braces.push(through(format!("tone bar {}", k + 1), Role::ToneBar, (x0, y), side * 66.0, ends, stick));
    }
    for (name, sign) in [("bass", 1.0), ("treble", -1.0)] {
        let way = direction(sign * half);
        let end = outline.until(crossing, way, lining_mm);
        let long = super::apart(crossing, end);
        for k in 0..x.fingers {
            let share = 0.3 + 0.4 * (k as f64 + 0.5) / x.fingers as f64;
            let angle = sign * (half + 84.0);
            let from = along(along(crossing, way, share * long), direction(angle), 0.5 * x.leg_width_mm + 2.0);
            let mut stick = Stick::plain(x.finger_width_mm, x.finger_height_mm, 1.0, 30.0);
            stick.start_height_mm = Some(0.5 * x.finger_height_mm);
            let ends = [Ending::Butted { to: format!("{name} leg") }, feathered()];
            braces.push(through(format!("{name} finger {}", k + 1), Role::Finger, from, angle, ends, stick));
        }
    }
    let mut parts = Vec::new();
    let (tan, cos) = (half.to_radians().tan(), half.to_radians().cos());
    // how far from the centreline the inner and outer sides of a leg are
    let inner = |y: f64| (y - crossing.1) * tan - 0.5 * x.leg_width_mm / cos;
    if x.bridge_plate_mm > 0.0 {
        let plate_front = bridge.y_mm - bridge.bridge.saddle_from_front_mm + 2.0;
        let plate_rear = plate_front + x.bridge_plate_length_mm;
        let (w0, w1) = (inner(plate_front) - 0.5, inner(plate_rear) - 0.5);
        if w0 < 5.0 {
            return Err(Error::AtPlace {
                problem: format!(
                    "the legs leave no room for a bridge plate: the bridge's front is {} mm behind the crossing",
                    number((10.0 * (plate_front - crossing.1)).round() / 10.0)
                ),
                x_mm: x0,
                y_mm: plate_front,
            });
        }
        parts.push(PatternPart {
            name: "bridge plate".into(),
            role: PartRole::BridgePlate,
            wood: Some(x.plate_wood.clone()),
            thickness_mm: x.bridge_plate_mm,
            grain_angle_deg: 90.0,
            corners_mm: vec![(x0 - w0, plate_front), (x0 + w0, plate_front), (x0 + w1, plate_rear), (x0 - w1, plate_rear)],
        });
    }
    if x.graft_mm > 0.0 {
        let (a, b) = (0.5 * hole.width_mm + 6.0, 0.5 * hole.width_mm + 26.0);
        let outer = (crossing.1 - hole.y_mm + 0.2 * hole.length_mm) * tan;
        // beside the hole, as far towards the tail as the legs let them
        let end = (crossing.1 - (b + 0.5 * x.leg_width_mm / cos + 5.0) / tan).min(hole.y_mm + 0.5 * hole.length_mm);
        if end - front > 20.0 && outer > b {
            for (name, s) in [("bass", 1.0), ("treble", -1.0)] {
                parts.push(PatternPart {
                    name: format!("{name} graft"),
                    role: PartRole::Graft,
                    wood: None,
                    thickness_mm: x.graft_mm,
                    grain_angle_deg: 90.0,
                    corners_mm: vec![(x0 + s * a, front), (x0 + s * b, front), (x0 + s * b, end), (x0 + s * a, end)],
                });
            }
        }
    }
    Ok(Pattern {
        name: format!("X of {} degrees", number(x.angle_deg)),
        wood: x.wood.clone(),
        braces,
        laps: vec![LapAt { crest_cut: "treble leg".into(), glue_cut: "bass leg".into(), cap_mm: x.cap_mm }],
        parts,
    })
}
