//! The clearances of a layout, each with the chance that errors of place spoil it.

use serde::{Deserialize, Serialize};

use super::Layout;
use super::bridge_place::PlacedBridge;
use super::chance::{Errors, Shift, outside, within as closer};
use super::geometry::{Bar, Point, apart, centroid, cross, dot, minus, nearest_edge, sides, signed_distance, unit};
use super::place::{Ending, PlacedBrace, Role};
use super::plate_part::PartRole;
use super::report::{LayoutReport, LayoutRow, LegAtBridge, RowState};
use crate::error::{Result, within};
use crate::strings::BridgeKind;

/// Standard uncertainties of where things end up.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct LayoutTolerance {
    /// Of the place of every part, each way, mm.
    pub u_position_mm: f64,
    /// Of its turn, degrees: a brace turns about its lap, or its middle without one.
    pub u_angle_deg: f64,
}

impl Default for LayoutTolerance {
    fn default() -> Self {
        Self { u_position_mm: 0.5, u_angle_deg: 0.5 }
    }
}

/// What clearances are allowed. All are common practice, no source.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct LayoutLimits {
    /// From the edge of a pin hole to a brace, at least, mm.
    pub pin_mm: f64,
    /// From the edge of the sound hole to a brace, at least, mm.
    pub hole_mm: f64,
    /// From the edge of a pin hole to that of the bridge plate, at least, mm.
    pub plate_past_pins_mm: f64,
    /// From a lap to the edge of the sound hole, at least, mm.
    pub lap_to_hole_mm: f64,
    /// How far a tucked end reaches into the lining, at least, mm.
    pub tuck_mm: f64,
    /// How far every end stays from the outline, for the binding's channel, at least, mm.
    pub binding_mm: f64,
    /// How far from the lining a feathered end stops, at most, mm.
    pub feather_mm: f64,
    /// Open joint of a brace that ends on another, at most, mm.
    pub joint_mm: f64,
    /// Compensation of the saddle, at least, mm.
    pub compensation_least_mm: f64,
    /// Compensation of the saddle, at most, mm.
    pub compensation_most_mm: f64,
    /// Chance from which on a clearance counts as close.
    pub close_chance: f64,
}

impl Default for LayoutLimits {
    fn default() -> Self {
        Self {
            pin_mm: 4.0,
            hole_mm: 3.0,
            plate_past_pins_mm: 3.0,
            lap_to_hole_mm: 8.0,
            tuck_mm: 1.0,
            binding_mm: 2.0,
            feather_mm: 2.0,
            joint_mm: 0.5,
            compensation_least_mm: 2.0,
            compensation_most_mm: 4.0,
            close_chance: 0.05,
        }
    }
}

impl LayoutLimits {
    /// Itself, unless a limit is out of range.
    pub fn checked(self) -> Result<Self> {
        let l = &self;
        for (name, v) in [
            ("pin_mm", l.pin_mm),
            ("hole_mm", l.hole_mm),
            ("plate_past_pins_mm", l.plate_past_pins_mm),
            ("lap_to_hole_mm", l.lap_to_hole_mm),
            ("tuck_mm", l.tuck_mm),
            ("binding_mm", l.binding_mm),
            ("feather_mm", l.feather_mm),
            ("joint_mm", l.joint_mm),
        ] {
            within(name, v, "mm", 0.0, 100.0)?;
        }
        within("compensation_least_mm", l.compensation_least_mm, "mm", -20.0, 20.0)?;
        within("compensation_most_mm", l.compensation_most_mm, "mm", l.compensation_least_mm, 20.0)?;
        within("close_chance", l.close_chance, "", 0.0, 1.0)?;
        Ok(self)
    }
}

/// Things further apart than this are not listed, mm.
const FAR_MM: f64 = 60.0;

struct Checker<'a> {
    layout: &'a Layout,
    errors: Errors,
    limits: LayoutLimits,
    rows: Vec<LayoutRow>,
    notes: Vec<String>,
}

/// What one row says before its state is known.
struct Found<'a> {
    check: &'a str,
    what: String,
    clearance: f64,
    allowed: (Option<f64>, Option<f64>),
    sd: Option<f64>,
    /// Where the normal law of the clearance itself does not say it.
    chance: Option<f64>,
    at: Point,
}

impl Layout {
    /// Every clearance, its standard uncertainty and the chance that it is outside its limits as built.
    ///
    /// Errors of place are normal and independent from part to part; their effect is taken by first order.
    pub fn check(&self, tolerance: &LayoutTolerance, limits: &LayoutLimits) -> Result<LayoutReport> {
        within("u_position_mm", tolerance.u_position_mm, "mm", 0.0, 20.0)?;
        within("u_angle_deg", tolerance.u_angle_deg, "deg", 0.0, 10.0)?;
        let limits = &limits.checked()?;
        let errors = Errors { u_mm: tolerance.u_position_mm, u_rad: tolerance.u_angle_deg.to_radians() };
        let mut c = Checker { layout: self, errors, limits: *limits, rows: vec![], notes: vec![] };
        c.pins();
        let legs = c.legs_under_bridge();
        c.plates();
        c.holes();
        c.laps();
        c.ends();
        c.blocks();
        c.saddle();
        Ok(LayoutReport::of(self.name(), c.rows, legs, *tolerance, *limits, c.notes))
    }

    /// The place about which a brace turns when it is glued down: its first lap, or its middle.
    pub(crate) fn pivot(&self, brace: usize) -> Point {
        let lap = self.crossings().iter().find(|c| c.first == brace || c.second == brace);
        lap.map_or_else(|| self.braces()[brace].bar().middle(), |c| (c.x_mm, c.y_mm))
    }
}

impl Checker<'_> {
    fn add(&mut self, f: Found<'_>) {
        let (least, most) = f.allowed;
        let bad = least.is_some_and(|l| f.clearance < l - 1e-9) || most.is_some_and(|m| f.clearance > m + 1e-9);
        let chance = f.chance.or_else(|| f.sd.map(|sd| outside(f.clearance, sd, least, most)));
        let state = match chance {
            _ if bad => RowState::Clash,
            Some(c) if c >= self.limits.close_chance => RowState::Close,
            _ => RowState::Clear,
        };
        self.rows.push(LayoutRow {
            check: f.check.into(),
            what: f.what,
            clearance_mm: f.clearance,
            least_mm: least,
            most_mm: most,
            sd_mm: f.sd,
            chance,
            x_mm: f.at.0,
            y_mm: f.at.1,
            state,
        });
    }

    /// The side of a leg on which the bridge lies; `None` for a brace that is no leg, or runs through the bridge's middle.
    fn inner_side(&self, b: &PlacedBrace) -> Option<f64> {
        let bridge = self.layout.parts().bridge.as_ref()?;
        let (_, t) = b.bar().local(bridge.middle());
        (b.role == Role::Leg && t.abs() > 1e-6).then_some(t.signum())
    }

    fn pins(&mut self) {
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

    fn legs_under_bridge(&mut self) -> Vec<LegAtBridge> {
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

    fn plates(&mut self) {
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

    fn holes(&mut self) {
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

    fn laps(&mut self) {
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

    fn ends(&mut self) {
        let (layout, limits) = (self.layout, self.limits);
        let (outline, lining) = (layout.outline(), layout.parts().lining_mm);
        for b in layout.braces() {
            for (which, p, ending) in [("start", b.start_mm, &b.at_start), ("end", b.end_mm, &b.at_end)] {
                let what = format!("{which} of {}, {}", b.name, ending.words());
                if let Some(other) = ending.other() {
                    let Ok((_, on)) = layout.brace(other) else { continue };
                    let reach = -on.bar().signed_distance(p);
                    let allowed = if matches!(ending, Ending::LetIn { .. }) {
                        (Some(0.5), Some(0.75 * on.width_mm()))
                    } else {
                        (Some(-limits.joint_mm), Some(limits.joint_mm))
                    };
                    self.add(Found { check: "joints", what, clearance: reach, allowed, sd: None, chance: None, at: p });
                    let (s, _) = on.bar().local(p);
                    let (own, there) = (b.height_mm(if which == "start" { 0.0 } else { b.length_mm() }), on.height_mm(s));
                    if own > there {
                        self.notes.push(format!(
                            "{} is {own:.1} mm high where it ends on {other}, which has {there:.1} mm there: bring it down",
                            b.name
                        ));
                    }
                    continue;
                }
                let depth = outline.depth(p);
                if depth > lining + FAR_MM {
                    continue;
                }
                // an end is marked on the lining itself: only its place errs, not the brace's turn
                let f = |s: Shift, _: Shift| lining - outline.depth((p.0 + s.dx, p.1 + s.dy));
                let sd = Errors { u_rad: 0.0, ..self.errors }.sd(&f);
                let reach = lining - depth;
                let (clearance, allowed, words) = match ending {
                    Ending::Tucked { .. } => {
                        (reach, (Some(limits.tuck_mm), Some((lining - limits.binding_mm).max(limits.tuck_mm))), "into the lining")
                    }
                    Ending::Feathered { .. } => (-reach, (Some(0.0), Some(limits.feather_mm)), "from the lining"),
                    _ => (-reach, (Some(0.0), None), "from the lining"),
                };
                self.add(Found {
                    check: "ends and lining",
                    what: format!("{what}: {words}"),
                    clearance,
                    allowed,
                    sd: Some(sd),
                    chance: None,
                    at: p,
                });
            }
        }
    }

    fn blocks(&mut self) {
        for (name, tail) in [("neck block", false), ("tail block", true)] {
            let Some(block) = self.layout.block(tail) else { continue };
            for (i, b) in self.layout.braces().iter().enumerate() {
                let (bar, pivot) = (b.bar(), self.layout.pivot(i));
                let f =
                    |a: Shift, s: Shift| gap_of(&a.of_bar(&bar, pivot).corners(), &s.of_bar(&block, block.middle()).corners());
                let gap = f(Shift::default(), Shift::default());
                if gap < 0.5 * FAR_MM {
                    let at = bar.nearest(block.middle());
                    self.add(Found {
                        check: "blocks and braces",
                        what: format!("{name} and {}", b.name),
                        clearance: gap,
                        allowed: (Some(0.0), None),
                        sd: Some(self.errors.sd(&f)),
                        chance: None,
                        at: middle(at, block.nearest(at)),
                    });
                }
            }
        }
    }

    fn saddle(&mut self) {
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

fn middle(a: Point, b: Point) -> Point {
    (0.5 * (a.0 + b.0), 0.5 * (a.1 + b.1))
}

/// How far from the bridge's middle a bar's line passes the line `behind` the saddle.
fn across_at(bar: &Bar, bridge: &PlacedBridge, behind: f64) -> Option<f64> {
    let o = bridge.place(0.0, behind);
    let side = unit(minus(bridge.place(1.0, behind), o));
    let turn = cross(side, bar.way());
    (turn.abs() > 1e-6).then(|| cross(minus(bar.from, o), bar.way()) / turn)
}

/// Distance between two convex polygons, below 0 by how far they would have to be moved apart.
fn gap_of(p: &[Point], q: &[Point]) -> f64 {
    let mut most = f64::NEG_INFINITY;
    for (shape, other) in [(p, q), (q, p)] {
        let m = centroid(shape);
        for (a, b) in sides(shape) {
            let u = unit(minus(b, a));
            let n = if cross(u, minus(m, a)) > 0.0 { (u.1, -u.0) } else { (-u.1, u.0) };
            most = most.max(other.iter().map(|c| dot(minus(*c, a), n)).fold(f64::INFINITY, f64::min));
        }
    }
    if most <= 0.0 {
        return most;
    }
    let near = |s: &[Point], t: &[Point]| s.iter().map(|c| apart(nearest_edge(t, *c), *c)).fold(f64::INFINITY, f64::min);
    near(p, q).min(near(q, p))
}
