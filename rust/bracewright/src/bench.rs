//! The bench: a plan, a rig and a window, what has been read and weighed so far, and what to do next.

mod after;

use rayon::prelude::*;
use serde::{Deserialize, Serialize};

use crate::advice::{Advice, Kind, Limit, Rule, Window, room_for_a_shaving};
use crate::belief::{Belief, Hand, ProportionalCurve, Second, Unknown};
use crate::brace::Brace;
use crate::carve::Plan;
use crate::error::{Error, Result, not_negative, number, positive, within};
use crate::goal::{Aim, Goal};
use crate::rig::{Reading, Rig};

/// Settings of a bench that have usual values.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct BenchOptions {
    /// Allowed chance of going past the window in one pass.
    pub overshoot: f64,
    /// The hand that carves.
    pub hand: Hand,
    /// Deepest pass to advise, mm; the plan's own deepest cut when `None`.
    #[serde(default)]
    pub deepest_pass_mm: Option<f64>,
    /// Thinnest pass the tool can be trusted with, mm.
    pub smallest_shaving_mm: f64,
    /// Chance of being in the window at which to stop, 0.5 to 1.
    pub enough: f64,
    /// Standard uncertainty of the scale, g.
    pub u_scale_g: f64,
    /// Part of the shavings that never reaches the pan.
    pub shavings_lost: f64,
    /// Standard uncertainty of a calliper at one station, mm.
    pub u_calliper_mm: f64,
    /// Draws of the belief.
    pub draws: usize,
    /// Their seed.
    pub seed: u64,
}

impl Default for BenchOptions {
    /// 2 %; a practised hand (10 % and 0.1 mm, no bias); the plan's deepest cut; 0.15 mm; 90 %; 0.01 g; 3 %; 0.05 mm (common practice, no source).
    fn default() -> Self {
        Self {
            overshoot: 0.02,
            hand: Hand { bias_fraction: 0.0, scatter_fraction: 0.10, scatter_mm: 0.10 },
            deepest_pass_mm: None,
            smallest_shaving_mm: 0.15,
            enough: 0.90,
            u_scale_g: 0.01,
            shavings_lost: 0.03,
            u_calliper_mm: 0.05,
            draws: crate::belief::DEFAULT_DRAWS,
            seed: 1,
        }
    }
}

/// What was seen after a pass; anything may be left out.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Seen {
    /// Depth that was aimed at, mm; the last advice when left out.
    pub aimed_mm: Option<f64>,
    /// Shavings in the pan, g.
    pub shavings_g: Option<f64>,
    /// The brace on the scale, g.
    pub brace_g: Option<f64>,
    /// Heights measured: stations and heights, mm.
    pub heights_mm: Option<(Vec<f64>, Vec<f64>)>,
    /// The dial.
    pub reading: Option<Reading>,
}

/// One line of the log.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Entry {
    /// What was seen.
    pub seen: Seen,
    /// Depth removed so far as then believed, mm, and its standard deviation.
    pub depth_mm: (f64, f64),
    /// E as then believed, GPa, and its standard deviation.
    pub modulus_gpa: (f64, f64),
    /// Grams that should have been in the pan, and that were.
    pub grams: Option<(f64, f64)>,
}

/// The bench. A value: every step gives a new one.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Bench {
    plan: Plan,
    rig: Rig,
    goal: Goal,
    options: BenchOptions,
    depth_mm: Vec<f64>,
    compliance: Vec<f64>,
    mass_g: Vec<f64>,
    belief: Belief,
    log: Vec<Entry>,
    cap_worked: bool,
    density: (f64, f64),
}

/// What to do next, with the table to carve by.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct NextStep {
    /// The advice and the figures behind it.
    pub advice: Advice,
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

/// Depths at which the beam is solved to make the curve.
const CURVE_POINTS: usize = 17;

impl Bench {
    /// A bench before anything is read. The goal must be a reading on a rig, which the bench then uses.
    pub fn new(plan: &Plan, goal: &Goal, options: &BenchOptions) -> Result<Self> {
        let Aim::Deflection(rig) = goal.aim() else {
            return Err(Error::Refused(format!(
                "the goal of a bench is a reading on a rig, made with rig.between(low, high); this one is about the {}",
                goal.quantity()
            )));
        };
        within("overshoot", options.overshoot, "", 1e-6, 0.5)?;
        within("shavings_lost", options.shavings_lost, "", 0.0, 0.5)?;
        within("draws", options.draws as f64, "", 100.0, 2e6)?;
        if let Some(d) = options.deepest_pass_mm {
            positive("deepest_pass_mm", d, "mm")?;
        }
        within("enough", options.enough, "", 0.5, 1.0)?;
        not_negative("smallest_shaving_mm", options.smallest_shaving_mm, "mm")?;
        let (name, deepest) = match options.deepest_pass_mm {
            Some(d) => ("deepest_pass_mm", d),
            None => ("max_depth_mm of the plan", plan.options.max_depth_mm),
        };
        room_for_a_shaving(name, deepest, options.smallest_shaving_mm)?;
        positive("u_scale_g", options.u_scale_g, "g")?;
        positive("u_calliper_mm", options.u_calliper_mm, "mm")?;
        if goal.high() <= goal.low() {
            return Err(Error::Refused(format!(
                "the window runs from {} to {} mm; a bench needs a window with some width",
                number(goal.low()),
                number(goal.high())
            )));
        }
        let whole = plan.whole_depth_mm();
        if whole < 1e-6 {
            return Err(Error::Refused("the plan takes nothing off; there is no pass to advise".into()));
        }
        let depth_mm: Vec<f64> = (0..CURVE_POINTS).map(|k| whole * k as f64 / (CURVE_POINTS - 1) as f64).collect();
        let e = plan.start.blank().modulus_gpa();
        let solved = depth_mm
            .par_iter()
            .map(|&d| {
                let b = plan.at_depth(d)?;
                Ok((e * rig.resolved_compliance(&b)?, b.mass_g()?))
            })
            .collect::<Result<Vec<(f64, f64)>>>()?;
        let mut compliance: Vec<f64> = Vec::new();
        for &(c, _) in &solved {
            // a layer that touches nothing between the supports leaves the answer at rounding
            compliance.push(compliance.last().map_or(c, |&last: &f64| c.max(last * (1.0 + 1e-12))));
        }
        let mass_g: Vec<f64> = solved.iter().map(|s| s.1).collect();
        let (give, u_give) = rig.give_mm_per_n();
        let blank = plan.start.blank();
        let belief = Belief::new(
            Unknown::LogNormal { median: e, sd_ln: blank.modulus_spread() },
            Unknown::AtLeastZero { mean: give, sd: u_give },
            options.hand,
        )?;
        let density = (blank.density_kg_m3(), blank.density_kg_m3() * blank.density_spread());
        let out = Self {
            plan: plan.clone(),
            rig: (**rig).clone(),
            goal: goal.clone(),
            options: options.clone(),
            depth_mm,
            compliance,
            mass_g,
            belief,
            log: Vec::new(),
            cap_worked: !plan.works_section(),
            density,
        };
        out.response()?;
        out.window()?;
        Ok(out)
    }

    fn response(&self) -> Result<ProportionalCurve> {
        // the dial's own scale goes with the load, so that windows and readings stay as the dial shows them
        let load = self.rig.load_n() * self.rig.dial_scale().0;
        ProportionalCurve::new(&self.depth_mm, &self.compliance, load, Second::SupportCompliance)
    }

    fn window(&self) -> Result<Window> {
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

    /// What is believed.
    pub fn belief(&self) -> &Belief {
        &self.belief
    }

    /// The log so far.
    pub fn log(&self) -> &[Entry] {
        &self.log
    }

    /// Density, kg/m3, and its standard uncertainty, from the weighings so far.
    pub fn density_kg_m3(&self) -> (f64, f64) {
        self.density
    }

    /// Grams between two depths of the plan, at the density now believed.
    fn grams(&self, from: f64, to: f64) -> f64 {
        (self.mass_at(from) - self.mass_at(to)) * self.density.0 / self.plan.start.blank().density_kg_m3()
    }

    /// Grams in the next 0.1 mm from a depth, per mm.
    fn grams_per_mm(&self, depth: f64) -> f64 {
        let from = depth.clamp(0.0, (self.plan.whole_depth_mm() - 0.1).max(0.0));
        10.0 * self.grams(from, from + 0.1)
    }

    fn mass_at(&self, depth: f64) -> f64 {
        self.plan
            .at_depth(depth.clamp(0.0, self.plan.whole_depth_mm()))
            .and_then(|b| b.mass_g())
            .unwrap_or_else(|_| self.mass_g[0])
    }

    /// Depth at which the plan has lost so many grams, at the density now believed.
    fn depth_of_grams(&self, from: f64, grams: f64) -> f64 {
        let (mut lo, mut hi) = (from, self.plan.whole_depth_mm());
        for _ in 0..50 {
            let m = 0.5 * (lo + hi);
            if self.grams(from, m) < grams { lo = m } else { hi = m }
        }
        0.5 * (lo + hi)
    }

    /// Depth removed as now believed: mean and standard deviation, mm.
    pub fn removed_mm(&self) -> Result<(f64, f64)> {
        let d = self.belief.linear(&self.response()?)?.depth_mm;
        Ok((d.mean, d.sd))
    }

    /// True once the section is the one the layers keep: the cap of the plan has been worked.
    pub fn cap_worked(&self) -> bool {
        self.cap_worked
    }

    /// E as now believed: mean and standard deviation, GPa.
    pub fn modulus_gpa(&self) -> Result<(f64, f64)> {
        let e = self.belief.linear(&self.response()?)?.e_gpa;
        Ok((e.mean, e.sd))
    }

    /// The next pass: as deep as the window allows under the chosen chance and one pass may take, or stop, and why.
    pub fn next_pass(&self) -> Result<NextStep> {
        let whole = self.plan.whole_depth_mm();
        let mut rule = Rule::new(self.options.overshoot, whole)?;
        rule.enough = self.options.enough;
        rule.deepest_pass_mm = Some(self.options.deepest_pass_mm.unwrap_or(self.plan.options.max_depth_mm));
        rule.smallest_shaving_mm = self.options.smallest_shaving_mm;
        rule.draws = self.options.draws;
        rule.seed = self.options.seed;
        let (from, _) = self.removed_mm()?;
        rule.grams_per_mm = Some(self.grams(from, whole) / (whole - from).max(1e-6));
        let mut advice = self.belief.advise(&self.response()?, &self.window()?, &rule)?;
        let stop = matches!(advice.kind, Kind::Stop(_));
        let to = (from + advice.depth_mm).min(whole);
        let grams = if stop { 0.0 } else { self.grams(from, to) };
        advice.mass_g = (!stop).then_some(grams);
        let x: Vec<f64> = match self.plan.passes.first() {
            Some(pass) => pass.stations.iter().map(|s| s.x_mm).collect(),
            None => self.plan.start.stations_mm(crate::carve::USUAL_STATIONS),
        };
        if !self.cap_worked {
            let grams = self.plan.passes[0].grams_off * self.density.0 / self.plan.start.blank().density_kg_m3();
            let words =
                format!("First {}: {grams:.2} g should come off. Then read the dial, and ask again.", self.plan.passes[0].what);
            let height = self.plan.start.profile().height_mm(&x)?;
            let take = vec![0.0; x.len()];
            advice.depth_mm = 0.0;
            return Ok(NextStep {
                depth_mm: 0.0,
                allowed_mm: advice.allowed_mm,
                capped: false,
                grams,
                x_mm: x,
                leave_mm: height,
                take_mm: take,
                stop: false,
                words,
                advice,
            });
        }
        let now = self.plan.at_depth(from)?.profile().height_mm(&x)?;
        let leave = self.plan.at_depth(to)?.profile().height_mm(&x)?;
        let take = now.iter().zip(&leave).map(|(a, b)| (a - b).max(0.0)).collect();
        let words = advice.text();
        Ok(NextStep {
            depth_mm: advice.depth_mm,
            allowed_mm: advice.allowed_mm,
            capped: advice.kind == Kind::Carve { held_by: Limit::OnePass },
            grams,
            x_mm: x,
            leave_mm: leave,
            take_mm: take,
            stop,
            words,
            advice,
        })
    }

    /// The brace as it is believed to stand.
    pub fn now(&self) -> Result<Brace> {
        let (d, _) = self.removed_mm()?;
        let e = self.belief.linear(&self.response()?)?.e_gpa;
        let b = self.plan.at_depth(d)?;
        b.with_blank(&b.blank().with_modulus(e.mean, (e.sd / e.mean).min(1.0))?)
    }
}
