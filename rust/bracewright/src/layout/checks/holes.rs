//! The sound hole against braces and laps.

use super::{Checker, FAR_MM, Found, middle};
use crate::layout::chance::Shift;
use crate::layout::geometry::Point;

impl Checker<'_> {
    pub(super) fn holes(&mut self) {
        let Some(hole) = self.layout.parts().hole else { return };
        for (i, b) in self.layout.braces().iter().enumerate() {
            let (bar, pivot) = (b.bar(), self.layout.pivot(i));
            let (gap, at) = hole.gap(&bar);
            if gap > FAR_MM {
                continue;
            }
            // a hole sawn round a centre has no turn of its own
            let f = |a: Shift, s: Shift| {
                let mut moved = hole;
                (moved.x_mm, moved.y_mm) = (hole.x_mm + s.dx, hole.y_mm + s.dy);
                moved.gap(&a.of_bar(&bar, pivot)).0
            };
            self.add(Found {
                check: "sound hole and braces",
                what: format!("sound hole and {}", b.name),
                clearance: gap,
                allowed: (Some(self.limits.hole_mm), None),
                sd: Some(self.errors.sd(&f)),
                chance: None,
                at: middle(at, hole.nearest(at).0),
            });
        }
    }

    pub(super) fn laps(&mut self) {
        let Some(hole) = self.layout.parts().hole else { return };
        for c in self.layout.crossings().to_vec() {
            let (a, b) = (&self.layout.braces()[c.first], &self.layout.braces()[c.second]);
            let lap = a.bar().common(&b.bar());
            let f = |s: Shift, h: Shift| {
                let moved: Vec<Point> = lap.iter().map(|p| s.of(*p, (c.x_mm, c.y_mm))).collect();
                let mut there = hole;
                (there.x_mm, there.y_mm) = (hole.x_mm + h.dx, hole.y_mm + h.dy);
                there.gap_to(&moved).0
            };
            let (gap, at) = hole.gap_to(&lap);
            if gap > FAR_MM {
                continue;
            }
            self.add(Found {
                check: "sound hole and laps",
                what: format!("sound hole and the lap of {} and {}", a.name, b.name),
                clearance: gap,
                allowed: (Some(self.limits.lap_to_hole_mm), None),
                sd: Some(self.errors.sd(&f)),
                chance: None,
                at: middle(at, hole.nearest(at).0),
            });
        }
    }
}
