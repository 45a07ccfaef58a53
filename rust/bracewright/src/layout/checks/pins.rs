//! Pins against legs and other braces.

use super::{Checker, FAR_MM, Found, middle};
use crate::layout::chance::{Shift, outside, within as closer};
use crate::layout::geometry::{Bar, Point};
use crate::layout::place::{PlacedBrace, Role};
use crate::strings::BridgeKind;

impl Checker<'_> {
    fn inner_side(&self, b: &PlacedBrace) -> Option<f64> {
        let bridge = self.layout.parts().bridge.as_ref()?;
        let (_, t) = b.bar().local(bridge.middle());
        (b.role == Role::Leg && t.abs() > 1e-6).then_some(t.signum())
    }

    pub(super) fn pins(&mut self) {
        let Some(bridge) = self.layout.parts().bridge.clone() else { return };
        if bridge.bridge.kind == BridgeKind::Tie {
            self.notes.push("tie bridge: its holes run along the top and pierce nothing under it".into());
            return;
        }
        let (pins, r, least) = (bridge.pins_mm(), 0.5 * bridge.hole_mm, self.limits.pin_mm);
        for (i, b) in self.layout.braces().iter().enumerate() {
            let (bar, pivot, side) = (b.bar(), self.layout.pivot(i), self.inner_side(b));
            let signed = |bar: &Bar, p: Point| {
                let (s, t) = bar.local(p);
                match side {
                    Some(side) if (0.0..=bar.length()).contains(&s) => side * t - bar.half,
                    _ => bar.signed_distance(p),
                }
            };
            let gaps: Vec<f64> = pins.iter().map(|p| signed(&bar, *p) - r).collect();
            let Some(worst) = (0..pins.len()).min_by(|&a, &b| gaps[a].total_cmp(&gaps[b])) else { continue };
            if gaps[worst] > FAR_MM {
                continue;
            }
            // pins on one side of a brace go together: the likeliest counts; the two sides exclude each other
            let mut chances = [0.0_f64; 2];
            let mut sd_worst = 0.0;
            for (k, p) in pins.iter().enumerate() {
                let f = |a: Shift, b: Shift| signed(&a.of_bar(&bar, pivot), b.of(*p, bridge.middle())) - r;
                let aside = |a: Shift, b: Shift| a.of_bar(&bar, pivot).local(b.of(*p, bridge.middle())).1;
                let (s, t) = bar.local(*p);
                let beside = side.is_none() && (0.0..=bar.length()).contains(&s);
                let (sd, chance) = if beside {
                    let sd = self.errors.sd(&aside);
                    (sd, closer(t, sd, least + bar.half + r))
                } else {
                    let sd = self.errors.sd(&f);
                    (sd, outside(gaps[k], sd, Some(least), None))
                };
                let c = &mut chances[usize::from(t > 0.0)];
                *c = c.max(chance);
                if k == worst {
                    sd_worst = sd;
                }
            }
            self.add(Found {
                check: if b.role == Role::Leg { "pins and legs" } else { "pins and braces" },
                what: format!("pin {} and {}", worst + 1, b.name),
                clearance: gaps[worst],
                allowed: (Some(least), None),
                sd: Some(sd_worst),
                chance: Some((chances[0] + chances[1]).min(1.0)),
                at: middle(pins[worst], bar.nearest(pins[worst])),
            });
        }
    }
}
