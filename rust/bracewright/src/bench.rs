//! The bench: a plan, a rig and a window, what has been read and weighed so far, and what to do next.

mod after;
pub(crate) mod limits;
mod options;
mod stored;
mod words;

pub use options::BenchOptions;

use std::sync::Arc;

use serde::{Deserialize, Serialize};

use crate::advice::{Kind, Limit, Rule, Stop, Window};
use crate::brace::Brace;
use crate::carve::Plan;
use crate::decide::{Aimed, Curves, Decision, Known, Look, Prior, Surprise, WhatToMeasure};
use crate::error::{Error, Result, number};
use crate::goal::{Aim, Goal};
use crate::rig::{Reading, Rig};

/// What was seen after a pass; anything may be left out.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Seen {
    /// Depth that was aimed at, mm; the last advice when left out; 0 where nothing was carved.
    pub aimed_mm: Option<f64>,
    /// Shavings in the pan, g.
    pub shavings_g: Option<f64>,
    /// The brace on the scale, g.
    pub brace_g: Option<f64>,
    /// Heights measured: stations and heights, mm.
    pub heights_mm: Option<(Vec<f64>, Vec<f64>)>,
    /// First free bending frequency by tap, Hz.
    #[serde(default)]
    pub frequency_hz: Option<f64>,
    /// The dial.
    pub reading: Option<Reading>,
}

/// One line of the log.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Entry {
    /// True where the cap or the sides were worked.
    #[serde(default)]
    pub cap: bool,
    /// What was seen.
    pub seen: Seen,
    /// Depth that was advised before a pass, mm; `None` where nothing was carved.
    #[serde(default)]
    pub advised_mm: Option<f64>,
    /// Depth removed so far as then believed, mm, and its standard deviation.
    pub depth_mm: (f64, f64),
    /// E as then believed, GPa, and its standard deviation.
    pub modulus_gpa: (f64, f64),
    /// Grams that should have been in the pan, and that were.
    pub grams: Option<(f64, f64)>,
    /// What of it did not go with the rest and was set aside, in words.
    #[serde(default)]
    pub set_aside: Vec<String>,
}

/// A look that does not go with the rest.
#[derive(Debug, Clone, PartialEq)]
struct Doubt {
    look: Look,
    met: Surprise,
    /// Passes carved when it was taken.
    passes: usize,
}

impl Doubt {
    fn words(&self, end: &str) -> String {
        let (what, met) = (self.met.what, &self.met);
        format!(
            "the {} of {} where about {} was to be expected ({:.1} standard deviations){end}",
            what.name(),
            what.figure(met.read),
            what.figure(met.expected),
            met.sigmas.abs()
        )
    }
}

/// The bench. A value: every step gives a new one. What is stored of it is plan, goal, settings and log; the rest comes back by
/// replaying the log.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(try_from = "stored::Stored", into = "stored::Stored")]
pub struct Bench {
    plan: Plan,
    rig: Rig,
    goal: Goal,
    options: BenchOptions,
    known: Known,
    /// Readings before the cap was worked, which tell of the modulus together.
    uncapped: Vec<Reading>,
    /// What does not go with the rest, set aside until another look settles it.
    doubts: Vec<Doubt>,
    /// Whole depth that strength allows, mm, where it was asked for.
    strong_mm: Option<f64>,
    log: Vec<Entry>,
    cap_worked: bool,
}

/// What to do next, with the table to carve by.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct NextStep {
    /// The decision and the figures behind it.
    pub decision: Decision,
    /// Depth to aim at, mm; 0 at a stop.
    pub depth_mm: f64,
    /// What chance, target and plan would allow if one pass could take it all, mm.
    pub allowed_mm: f64,
    /// True when the deepest cut of one pass, not the chance or the target, sets the depth.
    pub capped: bool,
    /// Grams to expect in the pan.
    pub grams: f64,
    /// Stations, mm.
    pub x_mm: Vec<f64>,
    /// Height to leave at each, mm.
    pub leave_mm: Vec<f64>,
    /// Depth to take at each, mm.
    pub take_mm: Vec<f64>,
    /// True when the bench says stop.
    pub stop: bool,
    /// In a sentence or two.
    pub words: String,
}

impl Bench {
    /// A bench before anything is read. The goal must be a reading on a rig, which the bench then uses.
    pub fn new(plan: &Plan, goal: &Goal, options: &BenchOptions) -> Result<Self> {
        let Aim::Deflection(rig) = goal.aim() else {
            return Err(Error::Refused(format!(
                "the goal of a bench is a reading on a rig, made with rig.between(low, high); this one is about the {}",
                goal.quantity()
            )));
        };
        options.check(plan)?;
        if goal.high() <= goal.low() {
            return Err(Error::Refused(format!(
                "the window runs from {} to {} mm; a bench needs a window with some width",
                number(goal.low()),
                number(goal.high())
            )));
        }
        let (wide, u) = (goal.high() - goal.low(), rig.gauge().u_mm()?);
        if wide < u {
            return Err(Error::Refused(format!(
                "the window is {} mm wide, less than one reading is known to ({} mm): no reading could say that the brace is in it; widen the window to at least {} mm, or read with a finer dial, more repeats and seats",
                number((wide * 1e4).round() / 1e4),
                number((u * 1e4).round() / 1e4),
                number((4.0 * u * 1e3).ceil() / 1e3)
            )));
        }
        if plan.whole_depth_mm() < 1e-6 {
            return Err(Error::Refused("the plan takes nothing off; there is no pass to advise".into()));
        }
        if !rig.is_zeroed_in_place() {
            return Err(Error::Refused(
                "a bench needs the dial zeroed with the brace in place, so that it shows what the load does alone: make the rig with zero_in_place=True"
                    .into(),
            ));
        }
        let strong_mm = match options.working_moment_n_m {
            Some(m) => Some(limits::deepest_strong_mm(plan, rig, m, options)?),
            None => None,
        };
        let curves = Arc::new(Curves::new(plan, rig, false)?);
        let known = Known::new(&curves, &Self::prior(plan, rig, options))?;
        Ok(Self {
            plan: plan.clone(),
            rig: (**rig).clone(),
            goal: goal.clone(),
            options: options.clone(),
            known,
            uncapped: Vec::new(),
            doubts: Vec::new(),
            strong_mm,
            log: Vec::new(),
            cap_worked: !plan.works_section(),
        })
    }

    fn prior(plan: &Plan, rig: &Rig, options: &BenchOptions) -> Prior {
        Prior {
            bias_fraction: options.hand.bias_fraction,
            u_bias_fraction: options.u_bias_fraction,
            scatter_fraction: options.hand.scatter_fraction,
            scatter_mm: options.hand.scatter_mm,
            hand_passes: options.hand_passes,
            shavings_lost: options.shavings_lost,
            // what was lost on the floor is known to a third of itself
            u_shavings_lost: options.shavings_lost / 3.0,
            ..Prior::of(plan, rig)
        }
    }

    /// The window, on the dial.
    pub fn window(&self) -> Result<Window> {
        Window::between(self.goal.low(), self.goal.high())
    }

    /// The plan.
    pub fn plan(&self) -> &Plan {
        &self.plan
    }

    /// The goal.
    pub fn goal(&self) -> &Goal {
        &self.goal
    }

    /// The rig.
    pub fn rig(&self) -> &Rig {
        &self.rig
    }

    /// The settings.
    pub fn options(&self) -> &BenchOptions {
        &self.options
    }

    /// Everything known of the brace, its rig and its maker.
    pub fn known(&self) -> &Known {
        &self.known
    }

    /// The log so far.
    pub fn log(&self) -> &[Entry] {
        &self.log
    }

    /// Density, kg/m3, and its standard uncertainty, from the weighings so far.
    pub fn density_kg_m3(&self) -> (f64, f64) {
        self.known.density_kg_m3()
    }

    /// Depth removed as now believed: mean and standard deviation, mm.
    pub fn removed_mm(&self) -> (f64, f64) {
        self.known.depth_mm()
    }

    /// E as now believed, GPa, and its standard deviation.
    pub fn modulus_gpa(&self) -> (f64, f64) {
        self.known.modulus_gpa()
    }

    /// True once the cap or the sides of the plan have been worked.
    pub fn cap_worked(&self) -> bool {
        self.cap_worked
    }

    /// Grams between two depths of the plan, at the density now believed.
    fn grams(&self, from: f64, to: f64) -> f64 {
        (self.mass_g(from) - self.mass_g(to)).max(0.0)
    }

    /// Grams of the brace at a depth of the plan, at the density now believed.
    fn mass_g(&self, depth: f64) -> f64 {
        let curves = self.known.curves();
        curves.mass_g(depth.clamp(0.0, curves.whole_depth_mm())).0 * self.density_kg_m3().0 / curves.density_kg_m3()
    }

    fn rule(&self) -> Result<Rule> {
        let whole = self.plan.whole_depth_mm();
        let mut rule = Rule::new(self.options.overshoot, whole)?;
        rule.strong_mm = self.strong_mm.filter(|d| *d < whole);
        rule.enough = self.options.enough;
        rule.deepest_pass_mm = Some(self.options.deepest_pass_mm.unwrap_or(self.plan.options.max_depth_mm));
        rule.smallest_shaving_mm = self.options.smallest_shaving_mm;
        rule.costs = self.options.costs;
        rule.checked()
    }

    /// The next pass: as deep as the window allows under the chosen chance and one pass may take, or stop, and why.
    /// `rh_percent` is the relative humidity of the shop; outside its limits the advice is not to carve.
    pub fn next_pass(&self, rh_percent: Option<f64>) -> Result<NextStep> {
        let whole = self.plan.whole_depth_mm();
        let mut decision = self.known.next(&self.window()?, &self.rule()?, Aimed::Dial)?;
        self.hold_to_limits(&mut decision, rh_percent)?;
        if !self.cap_worked && self.may_cap(&mut decision) {
            return self.cap_first(decision);
        }
        let stop = matches!(decision.kind, Kind::Stop(_));
        let from = self.removed_mm().0.clamp(0.0, whole);
        let to = (from + decision.depth_mm).min(whole);
        let x = self.stations_mm();
        let at = |d: f64| -> Result<Vec<f64>> { self.plan.at_depth(d)?.profile().height_mm(&x) };
        let (now, leave) = (at(from)?, at(to)?);
        Ok(NextStep {
            depth_mm: decision.depth_mm,
            allowed_mm: decision.allowed_mm,
            capped: decision.kind == Kind::Carve { held_by: Limit::OnePass },
            grams: if stop { 0.0 } else { decision.shavings_g.0 },
            take_mm: now.iter().zip(&leave).map(|(a, b)| (a - b).max(0.0)).collect(),
            leave_mm: leave,
            x_mm: x,
            stop,
            words: self.no_cap(&decision).unwrap_or_else(|| decision.text()) + &self.narrow() + &self.remarks()?,
            decision,
        })
    }

    fn stations_mm(&self) -> Vec<f64> {
        match self.plan.passes.first() {
            Some(pass) => pass.stations.iter().map(|s| s.x_mm).collect(),
            None => self.plan.start.stations_mm(crate::carve::USUAL_STATIONS),
        }
    }

    /// Whether the cap may be worked now: not where the brace with it would go past the window with more than the allowed
    /// chance, nor where anything else stops the chisel.
    fn may_cap(&self, decision: &mut Decision) -> bool {
        if matches!(decision.kind, Kind::Carve { .. }) || decision.kind == Kind::Stop(Stop::InWindow) {
            if decision.standing.0 <= self.options.overshoot {
                return true;
            }
            decision.kind = Kind::Stop(Stop::ShavingTooSmall { allowed_mm: 0.0, held_by: Limit::Chance });
            decision.depth_mm = 0.0;
            return false;
        }
        // what only the layers lack is no reason against the cap
        matches!(
            decision.kind,
            Kind::Stop(Stop::ShavingTooSmall { .. } | Stop::SafetyFloor | Stop::CannotReach { .. } | Stop::GainBelowLoss { .. })
        ) && decision.standing.0 <= self.options.overshoot
    }

    fn cap_first(&self, mut decision: Decision) -> Result<NextStep> {
        let first = &self.plan.passes[0];
        let grams = first.grams_off * self.density_kg_m3().0 / self.plan.start.blank().density_kg_m3();
        decision.kind = Kind::Carve { held_by: Limit::OnePass };
        decision.depth_mm = 0.0;
        let x = self.stations_mm();
        Ok(NextStep {
            depth_mm: 0.0,
            allowed_mm: decision.allowed_mm,
            capped: false,
            grams,
            leave_mm: self.plan.start.profile().height_mm(&x)?,
            take_mm: vec![0.0; x.len()],
            x_mm: x,
            stop: false,
            words: format!("First {}: {grams:.2} g should come off. Then read the dial, and ask again.", first.what),
            decision,
        })
    }

    /// Whether one more reading before the next pass would allow a deeper one: seat it again, a heavier load, weigh, tap,
    /// measure a station more, each with the minutes it takes.
    pub fn what_to_measure(&self, offers: &[(String, Look, f64)]) -> Result<WhatToMeasure> {
        if let Some(d) = self.doubts.last() {
            let words = format!("First settle the {}: {}", d.met.what.name(), d.met.what.remedy());
            return Ok(WhatToMeasure { allowed_mm: 0.0, worth: Vec::new(), best: None, words });
        }
        self.known.what_to_measure(&self.window()?, &self.rule()?, Aimed::Dial, offers)
    }

    /// The readings a bench usually can take once more, with the uncertainties of this one and the minutes each takes (common
    /// practice, no source): one seat more, twice the load, the brace on the scale, a height by calliper, and a tap where
    /// frequencies have been read.
    pub fn usual_offers(&self) -> Result<Vec<(String, Look, f64)>> {
        let u = self.rig.gauge().u_mm()?;
        let dial = |load_ratio: f64| Look::Deflection { deflection_mm: 1.0, u_mm: u, load_ratio };
        let mut offers = vec![
            (
                if self.log.iter().any(|e| e.seen.reading.is_some()) { "seat it again and read" } else { "read the dial" }
                    .to_string(),
                dial(1.0),
                1.0,
            ),
            ("read under twice the load".to_string(), dial(2.0), 2.0),
            ("weigh the brace".to_string(), Look::Mass { mass_g: 1.0, u_g: self.options.u_scale_g }, 0.5),
            ("measure the height once more".to_string(), Look::Depth { depth_mm: 1.0, u_mm: self.options.u_calliper_mm }, 1.0),
        ];
        if self.known.curves().has_frequency() {
            let hz = self.known.frequency_hz().map_or(100.0, |f| f.0);
            let tap = Look::Frequency { frequency_hz: hz, u_hz: self.options.u_tap_fraction * hz };
            offers.push(("tap it again".to_string(), tap, 1.5));
        }
        Ok(offers)
    }

    /// The brace as it is believed to stand.
    pub fn now(&self) -> Result<Brace> {
        let (e, u) = self.modulus_gpa();
        let b = self.plan.at_depth(self.removed_mm().0.clamp(0.0, self.plan.whole_depth_mm()))?;
        b.with_blank(&b.blank().with_modulus(e, (u / e).min(1.0))?)
    }
}
