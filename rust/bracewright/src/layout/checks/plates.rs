//! The bridge plate past the pins and between the legs, grafts against braces.

use super::{Checker, FAR_MM, Found, middle};
use crate::layout::chance::Shift;
use crate::layout::geometry::{Point, gap_of, nearest_edge, signed_distance};
use crate::layout::place::Role;
use crate::layout::plate_part::PartRole;
use crate::strings::BridgeKind;

impl Checker<'_> {
    pub(super) fn plates(&mut self) {
        let layout = self.layout;
        let plates: Vec<_> = layout.parts().parts.iter().filter(|p| p.role == PartRole::BridgePlate).collect();
        if let Some(bridge) = layout.parts().bridge.as_ref().filter(|b| b.bridge.kind == BridgeKind::Pin) {
            let (pins, r) = (bridge.pins_mm(), 0.5 * bridge.hole_mm);
            let past = |corners: &[Point], p: Point| -signed_distance(corners, p) - r;
            if plates.is_empty() {
                self.notes.push("there is no bridge plate: ball ends would bear on the bare top".into());
            }
            let mut worst: Option<(f64, usize, usize)> = None;
            for (k, p) in pins.iter().enumerate() {
                let best =
                    plates.iter().enumerate().map(|(i, q)| (past(&q.corners_mm, *p), k, i)).max_by(|a, b| a.0.total_cmp(&b.0));
                if let Some(best) = best.filter(|b| worst.is_none_or(|w| b.0 < w.0)) {
                    worst = Some(best);
                }
            }
            if let Some((gap, k, i)) = worst {
                let (plate, pin) = (plates[i], pins[k]);
                let f = |a: Shift, b: Shift| {
                    let corners: Vec<Point> = plate.corners_mm.iter().map(|c| a.of(*c, plate.middle())).collect();
                    past(&corners, b.of(pin, bridge.middle()))
                };
                self.add(Found {
                    check: "bridge plate past the pins",
                    what: format!("{} past pin {}", plate.name, k + 1),
                    clearance: gap,
                    allowed: (Some(self.limits.plate_past_pins_mm), None),
                    sd: Some(self.errors.sd(&f)),
                    chance: None,
                    at: middle(pin, nearest_edge(&plate.corners_mm, pin)),
                });
            }
        }
        for plate in &plates {
            for leg in layout.braces().iter().filter(|b| b.role == Role::Leg) {
                let bar = leg.bar();
                let side = bar.local(plate.middle()).1.signum();
                let gap = |p: &Point| side * bar.local(*p).1 - bar.half;
                let Some(p) = plate.corners_mm.iter().min_by(|a, b| gap(a).total_cmp(&gap(b))) else { continue };
                self.add(Found {
                    check: "bridge plate between the legs",
                    what: format!("{} and {}", plate.name, leg.name),
                    clearance: gap(p),
                    allowed: (Some(0.0), None),
                    sd: None,
                    chance: None,
                    at: *p,
                });
            }
        }
        for part in layout.parts().parts.iter().filter(|p| p.role == PartRole::Graft) {
            for (i, b) in layout.braces().iter().enumerate() {
                let (bar, pivot) = (b.bar(), layout.pivot(i));
                let f = |a: Shift, s: Shift| {
                    let corners: Vec<Point> = part.corners_mm.iter().map(|c| s.of(*c, part.middle())).collect();
                    gap_of(&a.of_bar(&bar, pivot).corners(), &corners)
                };
                let gap = f(Shift::default(), Shift::default());
                if gap < 0.25 * FAR_MM {
                    let at = bar.nearest(part.middle());
                    self.add(Found {
                        check: "grafts and braces",
                        what: format!("{} and {}", part.name, b.name),
                        clearance: gap,
                        allowed: (Some(0.0), None),
                        sd: Some(self.errors.sd(&f)),
                        chance: None,
                        at: middle(at, nearest_edge(&part.corners_mm, at)),
                    });
                }
            }
        }
    }
}
