//! Tops that several test files share.
#![allow(clippy::unwrap_used)]

use bracewright::Wood;
use bracewright::layout::{
    Bouts, FanPattern, Layout, LayoutParts, Outline, Pattern, PlacedBridge, PlateThickness, SoundHole, XPattern, fan_pattern,
    x_pattern,
};
use bracewright::strings::{Bridge, BridgeKind};

pub fn bridge(kind: BridgeKind) -> Bridge {
    let (foot_length_mm, foot_width_mm) = if kind == BridgeKind::Pin { (152.0, 33.0) } else { (185.0, 29.0) };
    Bridge {
        kind,
        saddle_height_mm: 12.5,
        u_saddle_height_mm: 0.3,
        end_height_mm: if kind == BridgeKind::Pin { 9.0 } else { 6.0 },
        end_behind_mm: if kind == BridgeKind::Pin { 16.0 } else { 12.0 },
        foot_length_mm,
        foot_width_mm,
        saddle_from_front_mm: 11.0,
        top_thickness_mm: 2.8,
        neck_angle_deg: 0.0,
    }
}

pub fn outline() -> Outline {
    Outline::from_bouts(&Bouts::usual(505.0, 292.0, 245.0, 400.0)).unwrap()
}

pub fn hole() -> SoundHole {
    SoundHole::round(0.0, 151.0, 100.0).unwrap()
}

/// Everything but the bracing, the saddle `behind_mm` behind the hole's edge.
pub fn bare(kind: BridgeKind, behind_mm: f64) -> LayoutParts {
    LayoutParts {
        name: "a top".into(),
        outline: outline(),
        lining_mm: 6.0,
        hole: Some(hole()),
        wood: Wood::published("Sitka spruce").unwrap(),
        thickness: PlateThickness::even(2.8).unwrap(),
        grain_angle_deg: 0.0,
        arch_radius_mm: None,
        bridge: Some(PlacedBridge::new(&bridge(kind), 201.0 + behind_mm)),
        braces: vec![],
        laps: vec![],
        parts: vec![],
        neck_block: None,
        tail_block: None,
    }
}

pub fn with(parts: LayoutParts, make: impl FnOnce(&Outline, &SoundHole, &PlacedBridge) -> Pattern) -> Layout {
    let pattern = make(&parts.outline, &parts.hole.unwrap(), parts.bridge.as_ref().unwrap());
    Layout::of_pattern(parts, &pattern).unwrap()
}

pub fn with_x(parts: LayoutParts, x: &XPattern) -> Layout {
    with(parts, |o, h, b| x_pattern(o, 6.0, h, b, x).unwrap())
}

pub fn with_fan(parts: LayoutParts, f: &FanPattern) -> Layout {
    with(parts, |o, h, b| fan_pattern(o, 6.0, h, b, f).unwrap())
}
