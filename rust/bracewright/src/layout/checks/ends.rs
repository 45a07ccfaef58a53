//! Ends against lining and other braces, and braces against blocks.

use super::{Checker, FAR_MM, Found, middle};
use crate::layout::chance::{Errors, Shift};
use crate::layout::geometry::gap_of;
use crate::layout::place::Ending;

impl Checker<'_> {
    pub(super) fn ends(&mut self) {
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

    pub(super) fn blocks(&mut self) {
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
}
