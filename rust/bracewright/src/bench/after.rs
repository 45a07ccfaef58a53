//! What was seen, and what the bench makes of it.

use super::{Bench, Entry, Seen};
use crate::belief::{Belief, Pass as CarvedPass, Unknown};
use crate::error::{Error, Result, not_negative, number, within};
use crate::rig::Reading;

impl Bench {
    /// After the cap (or the sides) of the plan has been worked on the height as it stands.
    pub fn after_cap(&self, shavings_g: Option<f64>) -> Result<Self> {
        if self.cap_worked {
            return Err(Error::Refused("the section is already the one the layers keep; there is no cap left to work".into()));
        }
        if let Some(g) = shavings_g {
            not_negative("shavings_g", g, "g")?;
        }
        let mut next = Self { cap_worked: true, ..self.clone() };
        next.log.push(Entry {
            seen: Seen { shavings_g, ..Seen::default() },
            depth_mm: (0.0, 0.0),
            modulus_gpa: self.modulus_gpa()?,
            grams: shavings_g.map(|g| (self.plan.passes[0].grams_off, g)),
        });
        Ok(next)
    }

    /// After a reading of the brace as it stands; before the cap is worked, of the brace without it.
    pub fn after_reading(&self, reading: &Reading) -> Result<Self> {
        if !self.cap_worked {
            // the modulus is the same wood's: learn it from the shape that was read
            let blank = self.plan.start.blank().learn_carved(reading, &self.plan.start)?;
            let mut next = self.clone();
            let (give, u_give) = self.rig.give_mm_per_n();
            next.plan.start = self.plan.start.with_blank(&blank)?;
            next.belief = Belief::new(
                Unknown::LogNormal { median: blank.modulus_gpa(), sd_ln: blank.modulus_spread() },
                Unknown::AtLeastZero { mean: give, sd: u_give },
                self.options.hand,
            )?;
            next.log.push(Entry {
                seen: Seen { reading: Some(reading.clone()), ..Seen::default() },
                depth_mm: (0.0, 0.0),
                modulus_gpa: (blank.modulus_gpa(), blank.modulus_gpa() * blank.modulus_spread()),
                grams: None,
            });
            return Ok(next);
        }
        self.after(&Seen { aimed_mm: Some(0.0), reading: Some(reading.clone()), ..Seen::default() })
    }

    /// After a pass: what was weighed, measured and read. The depth taken is found from the shavings, from the brace's
    /// own loss on the scale and from the stations, whichever there are, together with what the hand usually does.
    pub fn after_pass(&self, seen: &Seen) -> Result<Self> {
        if !self.cap_worked {
            return Err(Error::Refused(format!(
                "the plan works the {} first; say after_cap when that is done, and passes follow",
                self.plan.section().name()
            )));
        }
        let aimed = match seen.aimed_mm {
            Some(a) => within("aimed_mm", a, "mm", 1e-3, 1.5 * self.plan.whole_depth_mm())?,
            None => self.next_pass()?.depth_mm,
        };
        if aimed == 0.0 {
            return Err(Error::Refused(
                "the last advice was to stop; if a pass was carved all the same, say how deep it was aimed: aimed_mm".into(),
            ));
        }
        self.after(&Seen { aimed_mm: Some(aimed), ..seen.clone() })
    }

    fn after(&self, seen: &Seen) -> Result<Self> {
        if let Some(g) = seen.brace_g {
            self.check_brace_g(g)?;
        }
        let mut next = self.clone();
        let aimed = seen.aimed_mm.unwrap_or(0.0);
        let (from, _) = self.removed_mm()?;
        let mut grams = None;
        if aimed > 0.0 {
            let mut pass = CarvedPass::aimed(aimed)?;
            let slope = (self.grams(from, (from + aimed).min(self.plan.whole_depth_mm())) / aimed).max(1e-6);
            let u_density = self.density.1 / self.density.0;
            if let Some(g) = seen.shavings_g {
                not_negative("shavings_g", g, "g")?;
                let whole = self.grams(0.0, self.plan.whole_depth_mm());
                let true_g = g / (1.0 - self.options.shavings_lost);
                // a hand takes twice its aim at most, and never more than the plan
                let most = (2.0 * self.grams(from, from + aimed) + 0.5).min(1.5 * whole + 0.5);
                if true_g > most {
                    return Err(Error::OutOfRange {
                        quantity: "shavings_g".into(),
                        value: g,
                        unit: "g",
                        allowed: format!(
                            "no more than {} g, for {} g were to be expected of this pass; were the units right?",
                            number((most * 100.0).round() / 100.0),
                            number((self.grams(from, from + aimed) * 100.0).round() / 100.0)
                        ),
                    });
                }
                grams = Some((self.grams(from, from + aimed), g));
                // what was lost on the floor is known to a third of itself
                let u = self.options.u_scale_g.hypot(true_g * (self.options.shavings_lost / 3.0).hypot(u_density));
                let d = self.depth_of_grams(from, true_g) - from;
                pass = pass.with_caliper(d.max(0.0), (u / slope).max(1e-3))?;
            }
            next.belief = next.belief.after_pass(pass)?;
            if let (Some(now), Some((before, was))) = (seen.brace_g, self.last_weighing()) {
                let off = before.1 - now;
                if off < -5.0 * self.options.u_scale_g {
                    return Err(Error::OutOfRange {
                        quantity: "brace_g".into(),
                        value: now,
                        unit: "g",
                        allowed: format!(
                            "no more than at the last weighing, {} g: mass does not come back with carving; did it take up moisture, or was another brace on the scale?",
                            number(before.1)
                        ),
                    });
                }
                let u = (std::f64::consts::SQRT_2 * self.options.u_scale_g).hypot(off * u_density);
                let d = (self.depth_of_grams(was, off.max(0.0)) - was).max(0.0);
                next.belief = next.belief.after_depth_since(before.0, d, (u / slope).max(1e-3))?;
            }
            if let Some((x, h)) = &seen.heights_mm {
                // one calliper measured all stations: its error does not average away with them
                next.belief = next.belief.after_total_depth(self.depth_of_heights(x, h)?, self.options.u_calliper_mm)?;
            }
        }
        if let Some(r) = &seen.reading {
            if !self.rig.same_as(r.rig()) {
                return Err(Error::Refused(format!(
                    "the reading was taken on the rig \"{}\", the window is on \"{}\"; two rigs are not compared",
                    r.rig().name(),
                    self.rig.name()
                )));
            }
            next.belief = next.belief.after_reading_with_u(r.deflection_mm(), r.u_mm())?;
        }
        let now = next.belief.linear(&next.response()?)?;
        if let Some(m) = seen.brace_g {
            // the brace on the scale over the volume it should have now
            let (d0, u0) = self.density;
            let volume = next.mass_at(now.depth_mm.mean) / self.plan.start.blank().density_kg_m3();
            let d = m / volume;
            let u = d
                * ((self.options.u_scale_g / m).powi(2)
                    + (now.depth_mm.sd * self.grams_per_mm(now.depth_mm.mean) / m).powi(2)
                    + (self.options.u_calliper_mm / self.plan.start.blank().height_mm()).powi(2))
                .sqrt();
            let w = u0 * u0 / (u0 * u0 + u * u);
            if u0 > 0.0 {
                next.density = (d0 + w * (d - d0), u0 * u / u0.hypot(u));
            }
        }
        next.log.push(Entry {
            seen: seen.clone(),
            depth_mm: (now.depth_mm.mean, now.depth_mm.sd),
            modulus_gpa: (now.e_gpa.mean, now.e_gpa.sd),
            grams,
        });
        Ok(next)
    }

    /// Passes done at the last weighing and what the scale showed, g; and the depth then believed removed, mm.
    fn last_weighing(&self) -> Option<((usize, f64), f64)> {
        let last = self.log.iter().rposition(|e| e.seen.brace_g.is_some())?;
        let passes = self.log[..=last].iter().filter(|e| e.seen.aimed_mm.is_some_and(|a| a > 0.0)).count();
        Some(((passes, self.log[last].seen.brace_g?), self.log[last].depth_mm.0))
    }

    /// A brace weighs about what its shape and density say; anything else is a slip of unit or another brace.
    fn check_brace_g(&self, brace_g: f64) -> Result<()> {
        let expected = self.mass_at(self.removed_mm()?.0) * self.density.0 / self.plan.start.blank().density_kg_m3();
        if (0.7 * expected..=1.3 * expected).contains(&brace_g) {
            return Ok(());
        }
        Err(Error::OutOfRange {
            quantity: "brace_g".into(),
            value: brace_g,
            unit: "g",
            allowed: format!(
                "within 30 % of the {} g that shape and density say; were the units right, and is it this brace?",
                number((expected * 100.0).round() / 100.0)
            ),
        })
    }

    /// Depth of the plan that fits measured heights best, mm.
    fn depth_of_heights(&self, x: &[f64], h: &[f64]) -> Result<f64> {
        crate::error::same_length("x_mm", x.len(), "height_mm", h.len())?;
        crate::error::increasing("x_mm", x, "mm", 1)?;
        let start = self.plan.start.profile().height_mm(x)?;
        let end = self.plan.at_depth(self.plan.whole_depth_mm())?.profile().height_mm(x)?;
        for (i, v) in h.iter().enumerate() {
            // a slip goes past the plan's end, but not by half of what it leaves
            within(&format!("height_mm[{i}]"), *v, "mm", 0.5 * end[i], start[i] + 5.0 * self.options.u_calliper_mm)?;
        }
        let misfit = |d: f64| -> Result<f64> {
            let want = self.plan.at_depth(d)?.profile().height_mm(x)?;
            Ok(want.iter().zip(h).map(|(a, b)| (a - b).powi(2)).sum())
        };
        let (mut lo, mut hi) = (0.0, self.plan.whole_depth_mm());
        let g = 0.5 * (5.0_f64.sqrt() - 1.0);
        for _ in 0..40 {
            let (p, q) = (hi - g * (hi - lo), lo + g * (hi - lo));
            if misfit(p)? < misfit(q)? { hi = q } else { lo = p }
        }
        Ok(0.5 * (lo + hi))
    }
}
