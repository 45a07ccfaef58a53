//! What was seen, and what the bench makes of it.

use std::sync::Arc;

use super::{Bench, Doubt, Entry, Seen};
use crate::advice::INCONSISTENT_SIGMAS;
use crate::decide::{Aimed, Curves, Happened, Known, Look, Looked, Prior};
use crate::error::{Error, Result, not_negative, number, within};
use crate::rig::Reading;

/// A reading before the cap that lies further off than this is another stick's, or a slip.
const MOST_OFF_SIGMAS: f64 = 4.0;
/// Layer over which heights are looked at, mm.
const LAYER_MM: f64 = 0.1;
/// A station that sinks by less than this part of a layer tells nothing of its depth.
const LEAST_SLOPE: f64 = 0.2;

impl Bench {
    /// After the cap (or the sides) of the plan has been worked on the height as it stands.
    pub fn after_cap(&self, shavings_g: Option<f64>) -> Result<Self> {
        if self.cap_worked {
            return Err(Error::Refused("the section is already the one the layers keep; there is no cap left to work".into()));
        }
        if let Some(g) = shavings_g {
            not_negative("shavings_g", g, "g")?;
        }
        let of_cap = self.plan.passes[0].grams_off * self.density_kg_m3().0 / self.plan.start.blank().density_kg_m3();
        if let Some(g) = shavings_g.filter(|g| *g > 2.0 * of_cap + 0.5) {
            return Err(Error::OutOfRange {
                quantity: "shavings_g".into(),
                value: g,
                unit: "g",
                allowed: format!(
                    "near the {} g the cap should give; were the units right?",
                    number((of_cap * 100.0).round() / 100.0)
                ),
            });
        }
        let grams = shavings_g.map(|g| (of_cap, g));
        let next = Self { cap_worked: true, ..self.clone() };
        Ok(next.logged(true, Seen { shavings_g, ..Seen::default() }, None, grams, Vec::new()))
    }

    /// After a reading of the brace as it stands; before the cap is worked, of the brace without it.
    pub fn after_reading(&self, reading: &Reading) -> Result<Self> {
        if self.cap_worked {
            return self.after(&Seen { aimed_mm: Some(0.0), reading: Some(reading.clone()), ..Seen::default() });
        }
        self.check_rig(reading)?;
        // the modulus is the same wood's: learn it from the shape that was read, from all such readings together, since the give
        // of the supports is the same in each
        let mut next = self.clone();
        next.uncapped.push(reading.clone());
        let seats: Vec<Vec<f64>> = next.uncapped.iter().flat_map(|r| r.seats().to_vec()).collect();
        let together = if next.uncapped.len() == 1 { reading.clone() } else { self.rig.readings(&seats)? };
        let first = Self::prior(&self.plan, &self.rig, &self.options);
        let blank = self.plan.start.blank().learn_carved(&together, &self.plan.start)?;
        let (e, spread) = (blank.modulus_gpa(), blank.modulus_spread());
        let sigmas = (e / first.modulus_gpa).ln() / first.modulus_ln.hypot(spread);
        if sigmas.abs() > MOST_OFF_SIGMAS {
            return Err(Error::Refused(format!(
                "a reading of {} mm would make E {} GPa, {:.0} standard deviations from the {} GPa believed of this stick; check the decimal, the load and the brace",
                number(reading.deflection_mm()),
                number((e * 100.0).round() / 100.0),
                sigmas.abs(),
                number((first.modulus_gpa * 100.0).round() / 100.0)
            )));
        }
        let prior = Prior { modulus_gpa: e, modulus_ln: spread, ..first };
        next.known = Known::new(self.known.curves(), &prior)?.first_spread(first.modulus_ln);
        Ok(next.logged(false, Seen { reading: Some(reading.clone()), ..Seen::default() }, None, None, Vec::new()))
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
            None => self.advised_mm()?,
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

    /// The bench without the last line of its log: the one before it, from which a reading that proved wrong is out.
    pub fn without_last(&self) -> Result<Self> {
        let Some((_, before)) = self.log.split_last() else {
            return Err(Error::Refused("the log of this bench is empty; there is no line to take out".into()));
        };
        before.iter().try_fold(Self::new(&self.plan, &self.goal, &self.options)?, |b, e| b.replayed(e))
    }

    /// Depth now advised, mm; 0 at a stop.
    fn advised_mm(&self) -> Result<f64> {
        if !self.doubts.is_empty() {
            return Ok(0.0);
        }
        Ok(self.known.quick_next(&self.window()?, &self.rule()?, Aimed::Dial).1)
    }

    fn check_rig(&self, r: &Reading) -> Result<()> {
        if self.rig.same_as(r.rig()) {
            return Ok(());
        }
        Err(Error::Refused(format!(
            "the reading was taken on the rig \"{}\", the window is on \"{}\"; two rigs are not compared",
            r.rig().name(),
            self.rig.name()
        )))
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

    fn logged(
        mut self,
        cap: bool,
        seen: Seen,
        advised_mm: Option<f64>,
        grams: Option<(f64, f64)>,
        set_aside: Vec<String>,
    ) -> Self {
        let (depth_mm, modulus_gpa) = (self.removed_mm(), self.modulus_gpa());
        self.log.push(Entry { cap, seen, advised_mm, depth_mm, modulus_gpa, grams, set_aside });
        self
    }

    fn after(&self, seen: &Seen) -> Result<Self> {
        let mut next = self.clone();
        let aimed = seen.aimed_mm.unwrap_or(0.0);
        let (mut grams, mut advised_mm) = (None, None);
        if aimed > 0.0 {
            advised_mm = Some(self.advised_mm()?);
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
            let (depth_mm, u_mm) = self.depth_of_heights(x, h)?;
            looks.push(Look::Depth { depth_mm, u_mm });
        }
        if let Some(hz) = seen.frequency_hz {
            if !next.known.curves().has_frequency() {
                next.known = next.known.on(&Arc::new(Curves::new(&self.plan, &self.rig, true)?));
            }
            next.check_frequency_hz(hz)?;
            looks.push(Look::Frequency { frequency_hz: hz, u_hz: self.options.u_tap_fraction * hz });
        }
        if let Some(r) = &seen.reading {
            self.check_rig(r)?;
            let load_ratio = r.rig().load_n() / self.rig.load_n();
            looks.push(Look::Deflection { deflection_mm: r.deflection_mm(), u_mm: r.u_mm(), load_ratio });
        }
        let set_aside = next.take_in(&looks)?;
        Ok(next.logged(false, Seen { aimed_mm: Some(aimed), ..seen.clone() }, advised_mm, grams, set_aside))
    }

    /// Passes carved so far.
    fn passes(&self) -> usize {
        self.known.happened().iter().filter(|h| matches!(h, Happened::Pass { .. })).count()
    }

    /// Takes looks in: first what goes with what is known, then what goes with another that did not. What is left is set aside,
    /// and no pass is advised until it is settled: by the same shown again, by a look of its kind that fits, or, for grams, by a
    /// dial or a calliper that fits. What was set aside, in words.
    fn take_in(&mut self, looks: &[Look]) -> Result<Vec<String>> {
        let (passes, old) = (self.passes(), self.doubts.len());
        let mut fitted: Vec<Looked> = Vec::new();
        for look in looks {
            let met = self.known.met(look)?;
            if met.sigmas.abs() <= INCONSISTENT_SIGMAS {
                self.known = self.known.after(look)?;
                fitted.push(look.kind());
            } else {
                self.doubts.push(Doubt { look: *look, met, passes });
            }
        }
        let mut words: Vec<String> = self.doubts[old..].iter().map(|d| d.words("")).collect();
        while let Some(pair) = self.settle_pair(passes)? {
            fitted.extend(pair);
        }
        let told = |k: Looked| fitted.contains(&k);
        let by_shape = told(Looked::Deflection) || told(Looked::Depth);
        let (out, kept): (Vec<Doubt>, Vec<Doubt>) = std::mem::take(&mut self.doubts).into_iter().partition(|d| {
            let grams = matches!(d.met.what, Looked::Shavings | Looked::Mass);
            told(d.met.what) || (grams && by_shape)
        });
        words.extend(out.iter().map(|d| d.words(": left out, the others go together")));
        self.doubts = kept;
        Ok(words)
    }

    /// Two looks of the brace as it stands that did not fit but go together are believed both; what they were.
    fn settle_pair(&mut self, passes: usize) -> Result<Option<[Looked; 2]>> {
        let now: Vec<usize> = (0..self.doubts.len()).filter(|i| self.doubts[*i].passes == passes).collect();
        for &i in &now {
            for &j in &now {
                if i == j {
                    continue;
                }
                let Ok(with) = self.known.after_against(&self.doubts[i].look) else { continue };
                if with.met(&self.doubts[j].look)?.sigmas.abs() > INCONSISTENT_SIGMAS {
                    continue;
                }
                self.known = with.after(&self.doubts[j].look)?;
                let (a, b) = (self.doubts.remove(i.max(j)), self.doubts.remove(i.min(j)));
                return Ok(Some([a.met.what, b.met.what]));
            }
        }
        Ok(None)
    }

    /// What the pan should have held, g; refused when it holds what no pass gives.
    fn check_shavings_g(&self, g: f64, aimed: f64) -> Result<f64> {
        not_negative("shavings_g", g, "g")?;
        let whole = self.plan.whole_depth_mm();
        let from = self.removed_mm().0.clamp(0.0, whole);
        // past the plan's end wood still comes off as it did in its last tenth
        let beyond = (from + aimed - whole).max(0.0) * 10.0 * self.grams(whole - 0.1, whole);
        let (of_pass, of_plan) = (self.grams(from, from + aimed) + beyond, self.grams(0.0, whole) + beyond);
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

    /// Depth of the plan that fits measured heights best, and its standard uncertainty, mm. A station the layers no longer lower
    /// says nothing of the depth; beyond the plan's end the last layer goes on. One calliper measured all stations: its error
    /// does not average away with them.
    fn depth_of_heights(&self, x: &[f64], h: &[f64]) -> Result<(f64, f64)> {
        crate::error::same_length("x_mm", x.len(), "height_mm", h.len())?;
        crate::error::increasing("x_mm", x, "mm", 1)?;
        let whole = self.plan.whole_depth_mm();
        let at = |d: f64| -> Result<Vec<f64>> { self.plan.at_depth(d)?.profile().height_mm(x) };
        let (start, end, before_end) = (at(0.0)?, at(whole)?, at((whole - LAYER_MM).max(0.0))?);
        let last: Vec<f64> = before_end.iter().zip(&end).map(|(a, b)| ((a - b) / LAYER_MM).clamp(0.0, 1.0)).collect();
        for (i, v) in h.iter().enumerate() {
            // a slip goes past the plan's end, but not by half of what it leaves
            within(&format!("height_mm[{i}]"), *v, "mm", 0.5 * end[i], start[i] + 5.0 * self.options.u_calliper_mm)?;
        }
        let height = |d: f64| -> Result<Vec<f64>> {
            if d <= whole {
                return at(d);
            }
            Ok(end.iter().zip(&last).map(|(e, l)| e - (d - whole) * l).collect())
        };
        let misfit = |d: f64| -> Result<f64> { Ok(height(d)?.iter().zip(h).map(|(a, b)| (a - b).powi(2)).sum()) };
        let far = 1.5 * whole;
        let step = far / 150.0;
        let mut best = (f64::INFINITY, 0.0);
        for k in 0..=150 {
            let m = misfit(k as f64 * step)?;
            if m < best.0 {
                best = (m, k as f64 * step);
            }
        }
        let (mut lo, mut hi) = ((best.1 - step).max(0.0), (best.1 + step).min(far));
        let g = 0.5 * (5.0_f64.sqrt() - 1.0);
        for _ in 0..30 {
            let (p, q) = (hi - g * (hi - lo), lo + g * (hi - lo));
            if misfit(p)? < misfit(q)? { hi = q } else { lo = p }
        }
        let d = 0.5 * (lo + hi);
        let (a, b) = (height((d - 0.5 * LAYER_MM).max(0.0))?, height(d + 0.5 * LAYER_MM)?);
        let slope: f64 = a.iter().zip(&b).map(|(a, b)| ((a - b) / LAYER_MM).powi(2)).sum::<f64>() / x.len() as f64;
        if slope < LEAST_SLOPE * LEAST_SLOPE {
            return Err(Error::Refused(format!(
                "at x = {} mm the layers have taken all the plan asks for, or none: a height there says nothing of the depth; measure where the next pass takes wood",
                x.iter().map(|v| number(*v)).collect::<Vec<_>>().join(", ")
            )));
        }
        Ok((d, self.options.u_calliper_mm / slope.sqrt().min(1.0)))
    }
}
