//! What was seen, and what the bench makes of it.

use std::sync::Arc;

use super::{Bench, Entry, Seen};
use crate::advice::INCONSISTENT_SIGMAS;
use crate::decide::{Curves, Known, Look, Prior, Surprise};
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
        let grams = shavings_g.map(|g| (self.plan.passes[0].grams_off, g));
        let next = Self { cap_worked: true, ..self.clone() };
        Ok(next.logged(true, Seen { shavings_g, ..Seen::default() }, None, grams))
    }

    /// After a reading of the brace as it stands; before the cap is worked, of the brace without it.
    pub fn after_reading(&self, reading: &Reading) -> Result<Self> {
        if !self.cap_worked {
            // the modulus is the same wood's: learn it from the shape that was read
            let (e, u) = self.known.modulus_gpa();
            let start = self.plan.start.with_blank(&self.plan.start.blank().with_modulus(e, (u / e).min(1.0))?)?;
            let blank = start.blank().learn_carved(reading, &start)?;
            let prior = Prior { modulus_gpa: blank.modulus_gpa(), modulus_ln: blank.modulus_spread(), ..*self.known.prior() };
            let next = Self { known: Known::new(self.known.curves(), &prior)?, ..self.clone() };
            return Ok(next.logged(false, Seen { reading: Some(reading.clone()), ..Seen::default() }, None, None));
        }
        self.after(&Seen { aimed_mm: Some(0.0), reading: Some(reading.clone()), ..Seen::default() })
    }

    /// After anything was read, weighed, measured or tapped with nothing carved.
    pub fn after_look(&self, seen: &Seen) -> Result<Self> {
        if seen.aimed_mm.is_some_and(|a| a != 0.0) || seen.shavings_g.is_some() {
            return Err(Error::Refused("a look carves nothing: a depth aimed at and shavings go with a pass".into()));
        }
        let only = seen.brace_g.is_none() && seen.heights_mm.is_none() && seen.frequency_hz.is_none();
        match &seen.reading {
            Some(r) if only => self.after_reading(r),
            None if only => Err(Error::Refused("there is nothing to take in: give a reading, brace_g, a height or a tap".into())),
            _ => {
                self.needs_cap()?;
                self.after(&Seen { aimed_mm: Some(0.0), ..seen.clone() })
            }
        }
    }

    /// After a pass: what was weighed, measured, tapped and read. The depth taken is found from the shavings, from the brace's
    /// own loss on the scale and from the stations, whichever there are, together with what the hand usually does.
    pub fn after_pass(&self, seen: &Seen) -> Result<Self> {
        self.needs_cap()?;
        let aimed = match seen.aimed_mm {
            Some(a) => within("aimed_mm", a, "mm", 1e-3, 1.5 * self.plan.whole_depth_mm())?,
            None => self.next_pass(None)?.depth_mm,
        };
        if aimed == 0.0 {
            return Err(Error::Refused(
                "the last advice was to stop; if a pass was carved all the same, say how deep it was aimed: aimed_mm".into(),
            ));
        }
        self.after(&Seen { aimed_mm: Some(aimed), ..seen.clone() })
    }

    /// After one line of a log, as it was written.
    pub(super) fn replayed(&self, e: &Entry) -> Result<Self> {
        match (e.cap, e.seen.aimed_mm) {
            (true, _) => self.after_cap(e.seen.shavings_g),
            (false, Some(a)) if a > 0.0 => self.after_pass(&e.seen),
            (false, _) => self.after_look(&Seen { aimed_mm: None, ..e.seen.clone() }),
        }
    }

    fn needs_cap(&self) -> Result<()> {
        if self.cap_worked {
            return Ok(());
        }
        Err(Error::Refused(format!(
            "the plan works the {} first; say after_cap when that is done, and passes follow",
            self.plan.section().name()
        )))
    }

    fn logged(mut self, cap: bool, seen: Seen, advised_mm: Option<f64>, grams: Option<(f64, f64)>) -> Self {
        let (depth_mm, modulus_gpa) = (self.removed_mm(), self.modulus_gpa());
        self.log.push(Entry { cap, seen, advised_mm, depth_mm, modulus_gpa, grams });
        self
    }

    fn after(&self, seen: &Seen) -> Result<Self> {
        let mut next = self.clone();
        let aimed = seen.aimed_mm.unwrap_or(0.0);
        let (mut grams, mut advised_mm) = (None, None);
        let mut worst: Option<Surprise> = None;
        if aimed > 0.0 {
            advised_mm = Some(self.next_pass(None)?.depth_mm);
            next.known = next.known.after_pass(aimed)?;
        }
        if let Some(g) = seen.brace_g {
            next.check_brace_g(g)?;
            self.check_no_gain(g)?;
        }
        let mut looks = Vec::new();
        if let (Some(g), true) = (seen.shavings_g, aimed > 0.0) {
            grams = Some((self.check_shavings_g(g, aimed)?, g));
            looks.push(Look::Shavings { mass_g: g, u_g: self.options.u_scale_g });
        }
        if let Some(g) = seen.brace_g {
            looks.push(Look::Mass { mass_g: g, u_g: self.options.u_scale_g });
        }
        if let Some((x, h)) = &seen.heights_mm {
            // one calliper measured all stations: its error does not average away with them
            looks.push(Look::Depth { depth_mm: self.depth_of_heights(x, h)?, u_mm: self.options.u_calliper_mm });
        }
        if let Some(hz) = seen.frequency_hz {
            if !next.known.curves().has_frequency() {
                next.known = next.known.on(&Arc::new(Curves::new(&self.plan, &self.rig, true)?));
            }
            next.check_frequency_hz(hz)?;
            looks.push(Look::Frequency { frequency_hz: hz, u_hz: self.options.u_tap_fraction * hz });
        }
        if let Some(r) = &seen.reading {
            if !self.rig.same_as(r.rig()) {
                return Err(Error::Refused(format!(
                    "the reading was taken on the rig \"{}\", the window is on \"{}\"; two rigs are not compared",
                    r.rig().name(),
                    self.rig.name()
                )));
            }
            if aimed == 0.0 && self.confirms(r) {
                // seated anew it shows the same: what was believed gives way
                let off = (r.deflection_mm() / next.known.dial_mm().0).ln();
                next.known = next.known.doubted(off);
            }
            looks.push(Look::Deflection { deflection_mm: r.deflection_mm(), u_mm: r.u_mm(), load_ratio: 1.0 });
        }
        for look in &looks {
            next.known = next.known.after(look)?;
            worst = [worst, next.known.surprise()].into_iter().flatten().max_by(|a, b| a.sigmas.abs().total_cmp(&b.sigmas.abs()));
        }
        next.known = next.known.surprised_by(worst);
        Ok(next.logged(false, Seen { aimed_mm: Some(aimed), ..seen.clone() }, advised_mm, grams))
    }

    /// True when the last reading did not fit and this one, with nothing carved between, shows the same.
    fn confirms(&self, r: &Reading) -> bool {
        let doubtful = self.known.surprise().is_some_and(|s| s.sigmas.abs() > INCONSISTENT_SIGMAS);
        let last = self.log.last().and_then(|e| e.seen.reading.as_ref());
        last.is_some_and(|was| {
            let apart = (r.deflection_mm() - was.deflection_mm()).abs();
            doubtful && apart <= INCONSISTENT_SIGMAS * r.u_mm().hypot(was.u_mm())
        })
    }

    /// What the pan should have held, g; refused when it holds what no pass gives.
    fn check_shavings_g(&self, g: f64, aimed: f64) -> Result<f64> {
        not_negative("shavings_g", g, "g")?;
        let whole = self.plan.whole_depth_mm();
        let from = self.removed_mm().0.clamp(0.0, whole);
        let (of_pass, of_plan) = (self.grams(from, from + aimed), self.grams(0.0, whole));
        let true_g = g / (1.0 - self.options.shavings_lost);
        // a hand takes twice its aim at most, and never more than the plan
        let most = (2.0 * of_pass + 0.5).min(1.5 * of_plan + 0.5);
        if true_g <= most {
            return Ok(of_pass);
        }
        Err(Error::OutOfRange {
            quantity: "shavings_g".into(),
            value: g,
            unit: "g",
            allowed: format!(
                "no more than {} g, for {} g were to be expected of this pass; were the units right?",
                number((most * 100.0).round() / 100.0),
                number((of_pass * 100.0).round() / 100.0)
            ),
        })
    }

    /// Mass does not come back with carving.
    fn check_no_gain(&self, now: f64) -> Result<()> {
        let Some(before) = self.log.iter().rev().find_map(|e| e.seen.brace_g) else { return Ok(()) };
        if now - before <= 5.0 * self.options.u_scale_g {
            return Ok(());
        }
        Err(Error::OutOfRange {
            quantity: "brace_g".into(),
            value: now,
            unit: "g",
            allowed: format!(
                "no more than at the last weighing, {} g: mass does not come back with carving; did it take up moisture, or was another brace on the scale?",
                number(before)
            ),
        })
    }

    /// A tap is near what modulus, density and shape say; anything else is a slip of unit or another mode.
    fn check_frequency_hz(&self, hz: f64) -> Result<()> {
        within("frequency_hz", hz, "Hz", 1.0, 1e5)?;
        let Some((expected, _)) = self.known.frequency_hz() else { return Ok(()) };
        if (0.6 * expected..=1.7 * expected).contains(&hz) {
            return Ok(());
        }
        Err(Error::OutOfRange {
            quantity: "frequency_hz".into(),
            value: hz,
            unit: "Hz",
            allowed: format!(
                "within a factor of 1.7 of the {} Hz that modulus, density and shape say of its first free bending mode; was it another mode, or was the brace held?",
                number(expected.round())
            ),
        })
    }

    /// A brace weighs about what its shape and density say; anything else is a slip of unit or another brace.
    fn check_brace_g(&self, brace_g: f64) -> Result<()> {
        let expected = self.mass_g(self.removed_mm().0);
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
