//! The next pass from what is known: as deep as the chance of going past allows, or stop, and why; and whether one more
//! reading would allow more.

use serde::{Deserialize, Serialize};

use super::ahead::{Ahead, greatest, in_deviations, tail};
use super::known::{BIAS, DRIFT, Known, State};
use super::look::Look;
use crate::advice::{INCONSISTENT_SIGMAS, Kind, Limit, OUT_OF_REACH, Rule, Stop, Window};
use crate::error::{Result, within};

/// What the window is on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Aimed {
    /// The deflection of the brace itself, the give of the supports left out.
    Brace,
    /// What the dial shows, give and all.
    Dial,
}

/// The next step, with the figures behind it. Estimates from beam models and readings; it certifies nothing.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Decision {
    /// Carve or stop.
    pub kind: Kind,
    /// Depth to aim at, mm; 0 at a stop.
    pub depth_mm: f64,
    /// What chance, target and plan would allow if one pass could take it all, mm.
    pub allowed_mm: f64,
    /// Deepest aim within the allowed chance, mm.
    pub d_max_mm: f64,
    /// Aim straight at the target, mm; `None` where the plan does not get there.
    pub straight_at_target_mm: Option<f64>,
    /// Chance of being past the window after this step (at a stop: as it stands).
    pub chance_over: f64,
    /// Chance of being in the window after this step.
    pub chance_in_window: f64,
    /// Chances of being past the window and in it as it stands.
    pub standing: (f64, f64),
    /// What is aimed at as it stands, mm: median and the 5 and 95 % quantiles.
    pub now_mm: [f64; 3],
    /// The same after this step.
    pub after_mm: [f64; 3],
    /// What the dial should show after this step, give and its own uncertainty counted, mm.
    pub dial_mm: [f64; 3],
    /// Shavings to expect in the pan, g, and their standard deviation.
    pub shavings_g: (f64, f64),
    /// Passes to expect to the end, this one counted, with a reading like the last after each; 0 at a stop.
    pub passes_to_expect: usize,
    /// The window.
    pub window: Window,
    /// The allowed chance.
    pub alpha: f64,
}

/// What one more reading would be worth before the next pass.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Worth {
    /// The reading's name.
    pub name: String,
    /// Depth allowed after it, mm, on average.
    pub allowed_mm: f64,
    /// More than without it, mm.
    pub gain_mm: f64,
    /// The same per minute of bench time.
    pub mm_per_minute: f64,
}

/// Readings weighed against each other, and which to take.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct WhatToMeasure {
    /// Depth allowed as it stands, mm.
    pub allowed_mm: f64,
    /// What each reading would allow, the best per minute first.
    pub worth: Vec<Worth>,
    /// The one to take; `None`: measure nothing more.
    pub best: Option<String>,
    /// In a sentence.
    pub words: String,
}

/// Spread of a reading where none was taken yet, as a part of it.
const USUAL_U: f64 = 0.01;
/// Most passes looked ahead.
const MOST_PASSES: usize = 50;
/// 95 % quantile of the standard normal.
const Z95: f64 = 1.644_853_626_951_472_7;

/// What lies ahead on the middle of what is expected.
struct Path {
    passes: usize,
    /// Chance of having gone past on the way.
    past: f64,
    /// Chance of ending short of the window, given it was not gone past.
    short: f64,
}

/// What allows how deep a pass.
struct Allowed {
    /// Deepest aim within the allowed chance; not looked for where the target comes first and only the pass is asked.
    safe: f64,
    /// Aim straight at the target, where the plan gets there.
    straight: Option<f64>,
    /// The least of all.
    aim: f64,
    held_by: Limit,
}

impl Known {
    fn here(&self, aimed: Aimed) -> (f64, f64) {
        let (ln, slope) = self.ln_aimed(&self.mean, aimed);
        (ln, self.sd_along(&slope))
    }

    /// What is aimed at is meant without what moisture adds for the day.
    fn ln_aimed(&self, x: &State, aimed: Aimed) -> (f64, State) {
        match aimed {
            Aimed::Brace => self.ln_own(x),
            Aimed::Dial => {
                let mut settled = *x;
                settled[DRIFT] = 0.0;
                let (value, slope) = self.dial(&settled, 1.0);
                let mut slope = slope.map(|s| s / value);
                slope[DRIFT] = 0.0;
                (value.ln(), slope)
            }
        }
    }

    /// Chances of being past the window, and in it, after a pass with this aim.
    pub fn chances(&self, aim_mm: f64, window: &Window, aimed: Aimed) -> (f64, f64) {
        let past: [f64; 2] = if aim_mm <= 0.0 {
            let (ln, sd) = self.here(aimed);
            [window.high_mm, window.low_mm].map(|limit| tail(ln - limit.ln(), sd))
        } else {
            let ahead = Ahead::new(self, aimed);
            [window.high_mm, window.low_mm].map(|limit| ahead.past(aim_mm, limit))
        };
        (past[0], (past[1] - past[0]).max(0.0))
    }

    /// How much further the plan allows to aim, mm: no deeper than the drawing, nor than the wood that is left of it.
    fn further_mm(&self, deepest_mm: f64) -> f64 {
        let left = (deepest_mm - self.depth()) / (1.0 + self.mean[BIAS]).max(0.1);
        left.min(self.curves().whole_depth_mm() - self.aimed_mm()).max(0.0)
    }

    /// What target, chance, strength and plan allow. `all` looks for the deepest safe aim even where the target comes first.
    fn allowed(&self, window: &Window, rule: &Rule, aimed: Aimed, all: bool) -> Allowed {
        let ahead = Ahead::new(self, aimed);
        let z = in_deviations(rule.alpha);
        let (mut aim, mut held_by) = (self.further_mm(rule.deepest_mm), Limit::Deepest);
        let further = aim;
        if let Some(strong) = rule.strong_mm {
            let strong = greatest(|a| z - in_deviations(ahead.deeper(a, strong)), aim);
            if strong < aim {
                (aim, held_by) = (strong, Limit::Strength);
            }
        }
        let target = window.target_mm.ln();
        let straight =
            (further > 0.0 && ahead.middle(further).0 >= target).then(|| greatest(|a| target - ahead.middle(a).0, further));
        if let Some(s) = straight.filter(|s| *s < aim) {
            (aim, held_by) = (s, Limit::Target);
        }
        let end = if all { further } else { aim };
        let safe = greatest(|a| z - in_deviations(ahead.past(a, window.high_mm)), end);
        if safe < aim {
            (aim, held_by) = (safe, Limit::Chance);
        }
        Allowed { safe, straight, aim, held_by }
    }

    /// Reasons to stop that lie in the state as it stands.
    fn stands(&self, rule: &Rule, (over, inside): (f64, f64)) -> Option<Stop> {
        if let Some(s) = self.surprise().filter(|s| s.sigmas.abs() > INCONSISTENT_SIGMAS) {
            return Some(s.stop());
        }
        if over > 0.5 {
            return Some(Stop::AlreadyPast);
        }
        (inside >= rule.enough).then_some(Stop::InWindow)
    }

    /// Reasons to stop that lie in what may come off.
    fn hardly(&self, window: &Window, rule: &Rule, aimed: Aimed, a: &Allowed) -> Option<Stop> {
        if a.aim < rule.smallest_shaving_mm || a.aim <= 0.0 {
            return Some(match a.held_by {
                Limit::Deepest => Stop::SafetyFloor,
                Limit::Strength => Stop::TooWeak { margin: 0.0, least_margin: 0.0 },
                held_by => Stop::ShavingTooSmall { allowed_mm: a.aim, held_by },
            });
        }
        if a.held_by == Limit::Deepest {
            let (past, inside) = self.chances(self.further_mm(rule.deepest_mm), window, aimed);
            if past + inside < OUT_OF_REACH {
                return Some(Stop::CannotReach { chance: past + inside });
            }
        }
        None
    }

    /// A whole way to the end that is expected to cost more than stopping here.
    fn costly(&self, window: &Window, rule: &Rule, aimed: Aimed, (over, inside): (f64, f64)) -> Option<Stop> {
        let costs = rule.costs?;
        let path = self.path(window, &Rule { costs: None, ..rule.clone() }, aimed);
        let stopping = costs.short * (1.0 - over - inside).max(0.0) + costs.over * over;
        let carving = path.passes as f64 * costs.per_pass + costs.over * path.past + costs.short * (1.0 - path.past) * path.short;
        (carving >= stopping).then_some(Stop::GainBelowLoss { stopping, carving })
    }

    /// The pass to aim at, or why to stop: the part of [`Known::next`] a policy needs.
    pub(crate) fn quick_next(&self, window: &Window, rule: &Rule, aimed: Aimed) -> (Kind, f64) {
        let standing = self.chances(0.0, window, aimed);
        if let Some(s) = self.stands(rule, standing) {
            return (Kind::Stop(s), 0.0);
        }
        let a = self.allowed(window, rule, aimed, false);
        match self.hardly(window, rule, aimed, &a).or_else(|| self.costly(window, rule, aimed, standing)) {
            Some(s) => (Kind::Stop(s), 0.0),
            None => {
                let (depth, held_by) = one_pass(a.aim, a.held_by, rule);
                (Kind::Carve { held_by }, depth)
            }
        }
    }

    /// The next step towards the window: the lesser of the deepest aim within the allowed chance and the one straight at the
    /// target, and no more than one pass may take. Of the rule, its draws and seed are not used.
    pub fn next(&self, window: &Window, rule: &Rule, aimed: Aimed) -> Result<Decision> {
        window.check()?;
        let rule = rule.clone().checked()?;
        let standing = self.chances(0.0, window, aimed);
        let a = self.allowed(window, &rule, aimed, true);
        let stop = self
            .stands(&rule, standing)
            .or_else(|| self.hardly(window, &rule, aimed, &a))
            .or_else(|| self.costly(window, &rule, aimed, standing));
        let (depth, held_by) = if stop.is_some() { (0.0, a.held_by) } else { one_pass(a.aim, a.held_by, &rule) };
        let band = |(ln, sd): (f64, f64)| [ln.exp(), (ln - Z95 * sd).exp(), (ln + Z95 * sd).exp()];
        let mut after = self.light();
        if depth > 0.0 {
            after.carve(depth);
        }
        let (dial, slope) = after.dial(&after.mean, 1.0);
        let u = self.last_u(dial);
        let dial_sd = after.sd_along(&slope).hypot(u);
        let (over, inside) = self.chances(depth, window, aimed);
        let shavings = if depth > 0.0 {
            let (g, slope, ..) = after.seen(&Look::Shavings { mass_g: 1.0, u_g: 1.0 }, &after.mean)?;
            (g.max(0.0), after.sd_along(&slope))
        } else {
            (0.0, 0.0)
        };
        Ok(Decision {
            kind: stop.map_or(Kind::Carve { held_by }, Kind::Stop),
            depth_mm: depth,
            allowed_mm: a.aim,
            d_max_mm: a.safe,
            straight_at_target_mm: a.straight,
            chance_over: over,
            chance_in_window: inside,
            standing,
            now_mm: band(self.here(aimed)),
            after_mm: band(if depth > 0.0 { Ahead::new(self, aimed).middle(depth) } else { self.here(aimed) }),
            dial_mm: [dial, dial - Z95 * dial_sd, dial + Z95 * dial_sd],
            shavings_g: shavings,
            passes_to_expect: if stop.is_some() {
                0
            } else {
                self.path(window, &Rule { costs: None, ..rule.clone() }, aimed).passes
            },
            window: *window,
            alpha: rule.alpha,
        })
    }

    /// Passes to the end along the middle of what is expected, with a reading like the last after each.
    pub(super) fn passes_to_expect(&self, window: &Window, rule: &Rule, aimed: Aimed) -> usize {
        self.path(window, rule, aimed).passes
    }

    fn path(&self, window: &Window, rule: &Rule, aimed: Aimed) -> Path {
        let mut ahead = self.light();
        let mut not_past = 1.0;
        let mut passes = 0;
        while passes < MOST_PASSES {
            let (kind, depth) = ahead.quick_next(window, rule, aimed);
            if matches!(kind, Kind::Stop(_)) {
                break;
            }
            not_past *= 1.0 - ahead.chances(depth, window, aimed).0;
            passes += 1;
            ahead.carve(depth);
            let dial = ahead.dial(&ahead.mean, 1.0).0;
            let look = Look::Deflection { deflection_mm: dial, u_mm: self.last_u(dial), load_ratio: 1.0 };
            if ahead.take_in(&look).is_err() {
                break;
            }
        }
        let (over, inside) = ahead.chances(0.0, window, aimed);
        Path { passes, past: 1.0 - not_past, short: (1.0 - over - inside).max(0.0) }
    }

    /// What each of some readings would add to the depth allowed, per minute; `readings` are a name, the reading with its
    /// uncertainty (its value is not used) and the minutes it takes. The best is worth taking when it allows at least a
    /// smallest shaving more, or lets the pass go on to the target.
    pub fn what_to_measure(
        &self,
        window: &Window,
        rule: &Rule,
        aimed: Aimed,
        readings: &[(String, Look, f64)],
    ) -> Result<WhatToMeasure> {
        window.check()?;
        let rule = rule.clone().checked()?;
        if let Some(words) = self.nothing_to_measure(window, &rule, aimed) {
            let allowed_mm = 0.0;
            return Ok(WhatToMeasure { allowed_mm, worth: Vec::new(), best: None, words });
        }
        let Allowed { straight, aim: allowed, held_by, .. } = self.allowed(window, &rule, aimed, false);
        let mut worth = Vec::new();
        for (name, look, minutes) in readings {
            within(&format!("minutes of {name}"), *minutes, "min", 0.01, 10_000.0)?;
            let mut after = self.light();
            after.take_in(&after.as_expected(look)?)?;
            let then = after.allowed(window, &rule, aimed, false).aim;
            let gain = then - allowed;
            worth.push(Worth { name: name.clone(), allowed_mm: then, gain_mm: gain, mm_per_minute: gain / minutes });
        }
        worth.sort_by(|a, b| b.mm_per_minute.total_cmp(&a.mm_per_minute));
        let least = rule.smallest_shaving_mm.min(straight.map_or(f64::INFINITY, |s| (s - allowed).max(0.0)));
        let best = worth.iter().find(|w| held_by == Limit::Chance && w.gain_mm >= least.max(1e-3)).map(|w| w.name.clone());
        let words = match (&best, worth.first()) {
            (Some(name), _) => {
                let w = worth.iter().find(|w| w.name == *name).map_or(0.0, |w| w.gain_mm);
                format!("Take one more reading first: {name} would let this pass go about {w:.2} mm deeper at the same chance.")
            }
            (None, _) if held_by != Limit::Chance => {
                "Measure nothing more: it is not the chance of going past that holds this pass.".into()
            }
            (None, Some(w)) => format!(
                "Measure nothing more: the best of these, {}, would add only {:.2} mm, less than a shaving.",
                w.name,
                w.gain_mm.max(0.0)
            ),
            (None, None) => "Measure nothing more: no reading was offered.".into(),
        };
        Ok(WhatToMeasure { allowed_mm: allowed, worth, best, words })
    }

    /// Why there is no question of cutting or measuring, in a sentence.
    fn nothing_to_measure(&self, window: &Window, rule: &Rule, aimed: Aimed) -> Option<String> {
        match self.stands(rule, self.chances(0.0, window, aimed))? {
            Stop::InWindow => Some("Nothing to measure: it is in the window.".into()),
            Stop::AlreadyPast => Some("Nothing to measure for the next pass: it is past the window.".into()),
            _ => Some("First settle what does not fit: look at it again before anything else.".into()),
        }
    }

    /// Uncertainty of the last deflection, mm; a hundredth of `value` where none was read.
    fn last_u(&self, value: f64) -> f64 {
        let u = self.happened().iter().rev().find_map(|h| match h {
            super::Happened::Looked(Look::Deflection { u_mm, .. }) | super::Happened::Believed(Look::Deflection { u_mm, .. }) => {
                Some(*u_mm)
            }
            _ => None,
        });
        u.unwrap_or(self.usual_u.unwrap_or(USUAL_U * value))
    }
}

/// Whole, or what one pass may take; a rest too thin for a pass of its own is shared by two.
fn one_pass(aim: f64, held_by: Limit, rule: &Rule) -> (f64, Limit) {
    match rule.deepest_pass_mm.filter(|most| *most < aim) {
        None => (aim, held_by),
        Some(most) => {
            let halves = aim - most < rule.smallest_shaving_mm && 0.5 * aim >= rule.smallest_shaving_mm;
            (if halves { 0.5 * aim } else { most }, Limit::OnePass)
        }
    }
}
