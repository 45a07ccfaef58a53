//! Effective width learned from two readings: of the brace bare and glued, or glued and then carved.

mod odds;
mod words;

use serde::{Deserialize, Serialize};

use self::odds::{ANY_LOAD, At, Readings, STATIONS, State, TOP, parts, posterior};
use self::words::{MISFIT, words};
use super::{GluedLoad, PressedOn, Strip};
use crate::Face;
use crate::brace::{Brace, Load, Support};
use crate::cautions::{Hazard, cautions};
use crate::error::{Error, Result, number, within};
use crate::wood::Quantity;

/// Two readings of one dial under one load, and what is known of rig and woods.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct WidthReadings {
    /// The reading before, mm.
    pub before_mm: f64,
    /// The reading after, mm.
    pub after_mm: f64,
    /// Standard uncertainty of each, mm.
    pub u_deflection_mm: f64,
    /// Middle of the pad and of the dial, mm along the brace. The dial counts from the line through the brace's ends.
    pub at_mm: f64,
    /// Length of the pad, mm.
    pub pad_mm: f64,
    /// What pressed, N; `None` where only the readings' ratio counts.
    pub load_n: Option<f64>,
    /// Relative standard uncertainty of the load.
    pub u_load: f64,
    /// Give of supports and frame, mm/N, in both readings.
    pub give_mm_per_n: f64,
    /// Its standard uncertainty, mm/N.
    pub u_give_mm_per_n: f64,
    /// Relative standard uncertainty of the top's modulus along the brace; its wood's own when `None`.
    pub plate_spread: Option<f64>,
}

/// What two readings say of the effective width.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct LearnedWidth {
    /// Effective width to use with this strip's own modulus of the top, mm: mean of what the readings leave possible.
    pub width_mm: f64,
    /// Its standard uncertainty, mm.
    pub u_width_mm: f64,
    /// Standard uncertainty where the width is used with this strip's own modulus of the top, mm: the readings tell modulus times
    /// width, so that the modulus's own spread drops out.
    pub u_used_mm: f64,
    /// Where the width lies with 95 % chance, used with this strip's own modulus of the top, mm: from and to.
    pub interval_mm: (f64, f64),
    /// Whether the readings pin it down: that interval spans no more than a factor of three, and ends within 1/20 of the strip's
    /// width and four times it, where widths were looked for.
    pub pinned: bool,
    /// Part of each source in `u_width_mm`, mm, by its sensitivity there: the squares add to its square as far as the width goes
    /// straight with the readings.
    pub parts: Vec<(String, f64)>,
    /// The same uncertainty as `u_used_mm` of readings before and after gluing, with the same rig and gauge, mm; `None` where that
    /// is what was read.
    pub u_by_gluing_mm: Option<f64>,
    /// Misfit of the best width, in standard uncertainties of the readings' own scatter and all that is not known beside.
    pub misfit: f64,
    /// What should be known, as sentences.
    pub words: Vec<String>,
}

/// Widths looked for, as parts of the strip's.
const SEARCHED: (f64, f64) = (0.05, 4.0);
/// How well a bare brace's own correction from its section beam to the resolved one holds for it once glued, as a part of that
/// correction: judgement, from strips solved at 0 to 90 degrees with scallops of 0 to 9 mm (at most a fifth).
const MODEL: f64 = 0.12;
/// Interval that still counts as pinned down.
const PINNED: f64 = 3.0;
impl Strip {
    /// Effective width from deflections of the brace bare and then glued down, on supports at its ends, both under the same load
    /// on its glue face or on the top over it.
    ///
    /// The width is the flange with which the transformed section, times what the bare brace's depth-resolved beam says over its
    /// section beam, gives the readings; every width from a twentieth of the strip's to four times it is beforehand as likely as
    /// its double.
    pub fn width_by_gluing(&self, readings: &WidthReadings) -> Result<LearnedWidth> {
        let r = self.readings(readings)?;
        if readings.after_mm >= readings.before_mm {
            return Err(Error::Refused(format!(
                "after_mm is {} mm and before_mm {} mm: a glued brace deflects less than a bare one",
                number(readings.after_mm),
                number(readings.before_mm)
            )));
        }
        self.learned([&self.bare(readings)?, &self.glued(readings)?], &r, None)
    }

    /// Effective width from deflections of the glued brace before and after it was carved to `carved`, under the same load on the
    /// top over it. See [`Strip::width_by_gluing`]; the ratio of these two readings goes by far less with the width, and with
    /// `load_n` it is each reading's size, by the brace's own modulus, that tells most.
    pub fn width_by_carving(&self, carved: &Brace, readings: &WidthReadings) -> Result<LearnedWidth> {
        let r = self.readings(readings)?;
        self.is_cut(carved)?;
        if readings.before_mm - readings.after_mm > MISFIT * std::f64::consts::SQRT_2 * readings.u_deflection_mm {
            return Err(Error::Refused(format!(
                "after_mm is {} mm and before_mm {} mm: a carved brace deflects more than before the cut",
                number(readings.after_mm),
                number(readings.before_mm)
            )));
        }
        let (first, second) = (self.glued(readings)?, self.with_brace(carved)?.glued(readings)?);
        let mut out = self.learned([&first, &second], &r, Some(&self.bare(readings)?))?;
        if readings.after_mm <= readings.before_mm {
            out.words.push("the second reading is no greater than the first: the cut is lost in the gauge's scatter".into());
        }
        Ok(out)
    }

    /// Whether `carved` is this brace with wood taken off.
    fn is_cut(&self, carved: &Brace) -> Result<()> {
        let own = &self.brace;
        if (carved.length_mm() - own.length_mm()).abs() > 1e-6 {
            return Err(Error::Refused(format!(
                "carved is {} mm long and the brace on the strip {} mm: give the same brace after the cut",
                number(carved.length_mm()),
                number(own.length_mm())
            )));
        }
        if (carved.modulus_x_mpa()? / own.modulus_x_mpa()? - 1.0).abs() > 1e-9 {
            return Err(Error::Refused("carved is of another modulus than the brace on the strip: give the same stick".into()));
        }
        let x = own.stations_mm(201);
        let (before, after) = (own.along(&x)?.area_mm2, carved.along(&x)?.area_mm2);
        if before.iter().zip(&after).any(|(b, a)| *a > b + 1e-6) {
            return Err(Error::Refused("carved has wood that the brace on the strip has not: a cut only takes wood away".into()));
        }
        if own.volume_mm3()? - carved.volume_mm3()? < 1e-6 {
            return Err(Error::Refused("carved is the brace on the strip: there is no cut between the readings".into()));
        }
        Ok(())
    }

    fn readings(&self, r: &WidthReadings) -> Result<Readings> {
        let before = within("before_mm", r.before_mm, "mm", 1e-4, 1000.0)?;
        let after = within("after_mm", r.after_mm, "mm", 1e-4, 1000.0)?;
        let u = within("u_deflection_mm", r.u_deflection_mm, "mm", 1e-6, 100.0)?;
        let load = r.load_n.map(|f| within("load_n", f, "N", 1e-3, 1e4)).transpose()?;
        let u_load = within("u_load", r.u_load, "", 0.0, 0.5)?;
        within("give_mm_per_n", r.give_mm_per_n, "mm/N", 0.0, 1.0)?;
        let u_give = within("u_give_mm_per_n", r.u_give_mm_per_n, "mm/N", 0.0, 1.0)?;
        let top = match r.plate_spread {
            Some(s) => within("plate_spread", s, "", 0.0, 1.0)?,
            None => self.top_spread(),
        };
        self.check(&[load_of(r)], &[r.at_mm])?;
        let f = load.unwrap_or(1.0).ln();
        Ok(Readings {
            ln_d: [before.ln() - f, after.ln() - f],
            u: [u / before, u / after],
            spread: [self.brace.blank().modulus_spread(), top, u_give, load.map_or(ANY_LOAD, |_| u_load), MODEL],
        })
    }

    fn top_spread(&self) -> f64 {
        let own = self.top.figure(Quantity::ModulusL).and_then(|f| f.sigma());
        own.map_or(crate::blank::SPECIES_SPREAD, |s| s / self.top.modulus_l_gpa())
    }

    /// Deflection per newton of the bare brace by both beams, mm.
    fn bare_mm_per_n(&self, r: &WidthReadings) -> Result<(f64, f64)> {
        let load = Load { x_mm: r.at_mm, force_n: 1.0, pad_mm: r.pad_mm, face: Face::Body };
        let held = [Support::Held { x_mm: 0.0 }, Support::Held { x_mm: self.brace.length_mm() }];
        let bend = self.brace.bend(&[load], &held, &[r.at_mm], Face::Glue)?;
        match (bend.deflection_mm.first(), bend.section_deflection_mm.first()) {
            (Some(&d), Some(&s)) if d > 0.0 && s > 0.0 => Ok((d, s)),
            _ => Err(Error::Refused(format!(
                "at_mm is {} mm, where the brace does not deflect: read it between its ends",
                number(r.at_mm)
            ))),
        }
    }

    fn bare(&self, r: &WidthReadings) -> Result<State> {
        let (d, _) = self.bare_mm_per_n(r)?;
        let all = d + r.give_mm_per_n;
        let at = At { ln_d: all.ln(), by: [-d / all, 0.0, 1.0 / all, 1.0, 0.0] };
        Ok(State { at: vec![at; STATIONS] })
    }

    fn glued(&self, r: &WidthReadings) -> Result<State> {
        let (resolved, section) = self.bare_mm_per_n(r)?;
        let more = resolved / section;
        let loads = self.on_beam(&[GluedLoad { load_n: 1.0, ..load_of(r) }]);
        let own = self.top.modulus_l_gpa();
        // the stiffest woods that can be given have none stiffer beside them
        let step = if own < STIFFEST_GPA { STEP } else { -STEP };
        let stiffer = Self { top: self.top.with_modulus_l_gpa(own * step.exp())?, ..self.clone() };
        let at = (0..STATIONS)
            .map(|k| {
                let width = self.searched(k).exp();
                let d = more * self.section_deflection(&loads, width, &[r.at_mm])?[0];
                let with = more * stiffer.section_deflection(&loads, width, &[r.at_mm])?[0];
                let (all, part) = (d + r.give_mm_per_n, d / (d + r.give_mm_per_n));
                let by_top = (with / d).ln() / step;
                // all moduli together go straight into the deflection
                Ok(At { ln_d: all.ln(), by: [-part * (1.0 + by_top), part * by_top, 1.0 / all, 1.0, part * (more - 1.0)] })
            })
            .collect::<Result<Vec<_>>>()?;
        if at.iter().any(|a| !a.ln_d.is_finite() || a.by.iter().any(|b| !b.is_finite())) {
            return Err(Error::Refused(format!(
                "at_mm is {} mm, where the brace does not deflect: read it between its ends",
                number(r.at_mm)
            )));
        }
        Ok(State { at })
    }

    /// Logarithm of a width at which the deflections are worked out.
    fn searched(&self, k: usize) -> f64 {
        let (low, high) = self.searched_ln();
        low + (high - low) * k as f64 / (STATIONS - 1) as f64
    }

    fn searched_ln(&self) -> (f64, f64) {
        ((SEARCHED.0 * self.width_mm).ln(), (SEARCHED.1 * self.width_mm).ln())
    }

    fn learned(&self, states: [&State; 2], r: &Readings, bare: Option<&State>) -> Result<LearnedWidth> {
        let range = self.searched_ln();
        let without = |source: usize| {
            let mut spread = r.spread;
            spread[source] = 0.0;
            posterior(states, &Readings { spread, ..*r }, range)
        };
        let all = posterior(states, r, range);
        let used = without(TOP);
        let parts = parts(states, r, used.mean.ln(), range);
        let (low, high) = used.interval;
        let ends = (1.02 * range.0.exp(), range.1.exp() / 1.02);
        let pinned = high <= PINNED * low && low > ends.0 && high < ends.1 && used.misfit <= MISFIT;
        let u_by_gluing_mm = bare.map(|bare| {
            let at = used.mean.ln();
            let glued = states[0].at(at, range).ln_d;
            let first = bare.at(at, range).ln_d;
            // the same load: what it is by the first reading, where it is not known
            let shift = r.ln_d[0] - glued;
            let u_mm = r.u[0] * r.ln_d[0].exp();
            let shown = [first + shift, glued + shift];
            let u = shown.map(|d| u_mm / d.exp());
            let mut spread = r.spread;
            spread[TOP] = 0.0;
            posterior([bare, states[0]], &Readings { ln_d: shown, u, spread }, range).sd
        });
        let mut out = LearnedWidth {
            width_mm: used.mean,
            u_width_mm: all.sd,
            u_used_mm: used.sd,
            interval_mm: used.interval,
            pinned,
            parts,
            u_by_gluing_mm,
            misfit: used.misfit,
            words: Vec::new(),
        };
        out.words = words(&out, r.spread[3] < ANY_LOAD, self.width_mm);
        Ok(out)
    }
}

/// Step of the logarithm of the top's modulus, and where it goes down instead.
const STEP: f64 = 0.02;
const STIFFEST_GPA: f64 = 50.0;

fn load_of(r: &WidthReadings) -> GluedLoad {
    GluedLoad { at_mm: r.at_mm, load_n: r.load_n.unwrap_or(1.0), pad_mm: r.pad_mm, on: PressedOn::Top }
}

impl LearnedWidth {
    /// What to mind.
    pub fn cautions(&self) -> Vec<String> {
        cautions(&[Hazard::Edges, Hazard::Dust, Hazard::Glue, Hazard::Estimate])
    }
}
