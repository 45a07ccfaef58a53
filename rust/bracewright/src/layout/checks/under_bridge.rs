//! Legs under the wings of the bridge, and the place of its saddle.

use super::{Checker, Found};
use crate::layout::bridge_place::PlacedBridge;
use crate::layout::chance::Shift;
use crate::layout::geometry::{Bar, cross, minus, unit};
use crate::layout::place::Role;
use crate::layout::report::LegAtBridge;

impl Checker<'_> {
    pub(super) fn legs_under_bridge(&mut self) -> Vec<LegAtBridge> {
        let Some(bridge) = self.layout.parts().bridge.clone() else { return vec![] };
        let b = bridge.bridge;
        let half = 0.5 * b.foot_length_mm;
        let (front, rear) = (-b.saddle_from_front_mm, b.foot_width_mm - b.saddle_from_front_mm);
        let mut out = vec![];
        for (i, leg) in self.layout.braces().iter().enumerate().filter(|(_, l)| l.role == Role::Leg) {
            let (bar, pivot) = (leg.bar(), self.layout.pivot(i));
            let (Some(f), Some(r)) = (across_at(&bar, &bridge, front), across_at(&bar, &bridge, rear)) else { continue };
            out.push(LegAtBridge { brace: leg.name.clone(), front_mm: f.abs(), rear_mm: r.abs(), half_bridge_mm: half });
            let mid = 0.5 * (front + rear);
            let gap = |a: Shift, b: Shift| {
                let moved = b.of(bridge.middle(), bridge.middle());
                let placed = PlacedBridge {
                    x_mm: moved.0,
                    y_mm: moved.1,
                    turn_deg: bridge.turn_deg + b.turn.to_degrees(),
                    ..bridge.clone()
                };
                across_at(&a.of_bar(&bar, pivot), &placed, mid).map_or(f64::NEG_INFINITY, |x| half - x.abs())
            };
            let Some(x) = across_at(&bar, &bridge, mid) else { continue };
            self.add(Found {
                check: "legs under the wings",
                what: format!("{} inside the bridge's end, at the middle of its foot", leg.name),
                clearance: half - x.abs(),
                allowed: (Some(0.0), None),
                sd: Some(self.errors.sd(&gap)),
                chance: None,
                at: bridge.place(x, mid),
            });
        }
        out
    }

    pub(super) fn saddle(&mut self) {
        let Some(bridge) = self.layout.parts().bridge.clone() else { return };
        let Some(plain) = bridge.uncompensated_mm() else { return };
        let outline = self.layout.outline();
        let neck = outline.until(bridge.middle(), (0.0, -1.0), 0.0).1;
        let (treble, bass) = bridge.saddle_mm();
        for (name, p) in [("outer treble string", treble), ("outer bass string", bass)] {
            let f = |s: Shift, _: Shift| s.of(p, bridge.middle()).1 - neck - plain;
            self.add(Found {
                check: "saddle",
                what: format!("compensation at the {name}"),
                clearance: f(Shift::default(), Shift::default()),
                allowed: (Some(self.limits.compensation_least_mm), Some(self.limits.compensation_most_mm)),
                sd: Some(self.errors.sd(&f)),
                chance: None,
                at: p,
            });
        }
    }
}

/// How far from the bridge's middle a bar's line passes the line `behind` the saddle.
fn across_at(bar: &Bar, bridge: &PlacedBridge, behind: f64) -> Option<f64> {
    let o = bridge.place(0.0, behind);
    let side = unit(minus(bridge.place(1.0, behind), o));
    let turn = cross(side, bar.way());
    (turn.abs() > 1e-6).then(|| cross(minus(bar.from, o), bar.way()) / turn)
}
