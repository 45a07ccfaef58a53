//! The next pass from what is known: as deep as the chance of going past allows, or stop, and why; and whether one more
//! reading would allow more.

use serde::{Deserialize, Serialize};

use super::known::{BIAS, Known, LAST, State};
use super::look::{Look, Looked};
use crate::advice::{INCONSISTENT_SIGMAS, Kind, Limit, OUT_OF_REACH, Rule, Stop, Window};
use crate::error::{Result, within};
use crate::normal;

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
/// Furthest slip of the hand looked at, in its standard deviations.
const MOST_SLIP: f64 = 5.0;
/// Most passes looked ahead.
const MOST_PASSES: usize = 50;
/// 95 % quantile of the standard normal.
const Z95: f64 = 1.644_853_626_951_472_7;

impl Known {
    /// Logarithm of what is aimed at after a pass with this aim (0: as it stands), mm, and its standard deviation.
    fn ahead(&self, aim_mm: f64, aimed: Aimed) -> (f64, f64) {
        if aim_mm <= 0.0 {
            return self.here(aimed);
        }
        let mut after = self.light();
        after.carve(aim_mm);
        after.here(aimed)
    }

    fn here(&self, aimed: Aimed) -> (f64, f64) {
        let (ln, slope) = self.ln_aimed(&self.mean, aimed);
        (ln, self.sd_along(&slope))
    }

    fn ln_aimed(&self, x: &State, aimed: Aimed) -> (f64, State) {
        match aimed {
            Aimed::Brace => self.ln_own(x),
            Aimed::Dial => {
                let (value, slope) = self.dial(x, 1.0);
                (value.ln(), slope.map(|s| s / value))
            }
        }
    }

    /// Chances of being past the window, and in it, after a pass with this aim.
    pub fn chances(&self, aim_mm: f64, window: &Window, aimed: Aimed) -> (f64, f64) {
        let (over, low) = (self.past(aim_mm, window.high_mm, aimed), self.past(aim_mm, window.low_mm, aimed));
        (over, (low - over).max(0.0))
    }

    /// Chance of being past a limit after a pass with this aim. Straight lines are drawn where the hand's slip would meet the
    /// limit, not at its mean: a slip softens the more the further it goes.
    fn past(&self, aim_mm: f64, limit_mm: f64, aimed: Aimed) -> f64 {
        let limit = limit_mm.ln();
        let tail = |over: f64, sd: f64| if sd > 0.0 { normal::cdf(over / sd) } else { f64::from(u8::from(over > 0.0)) };
        if aim_mm <= 0.0 {
            let (ln, sd) = self.here(aimed);
            return tail(ln - limit, sd);
        }
        let mut after = self.light();
        after.carve(aim_mm);
        let (all, scatter) = (after.cov[LAST][LAST], after.scatter_variance(aim_mm));
        let mut chance = 0.0;
        for (weight, factor) in after.hand.factors() {
            after.cov[LAST][LAST] = all + (factor - 1.0) * scatter;
            let (over, sd) = after.at_the_limit(limit, aimed);
            chance += weight * tail(over, sd);
        }
        chance
    }

    /// How far the straight line through the state at which the hand's slip meets a limit lies past it, in logarithms, and its
    /// standard deviation.
    fn at_the_limit(&self, limit: f64, aimed: Aimed) -> (f64, f64) {
        let hand = self.cov[LAST][LAST].max(0.0).sqrt();
        let at = |t: f64| {
            let mut x = self.mean;
            x[LAST] += t * hand;
            self.ln_aimed(&x, aimed)
        };
        let mut t = 0.0;
        let (mut ln, mut slope) = at(t);
        for _ in 0..6 {
            let by_hand = hand * slope[LAST];
            if by_hand <= 1e-12 {
                break;
            }
            let next = (t + (limit - ln) / by_hand).clamp(-MOST_SLIP, MOST_SLIP);
            let moved = (next - t).abs();
            t = next;
            (ln, slope) = at(t);
            if moved < 1e-3 {
                break;
            }
        }
        (ln - t * hand * slope[LAST] - limit, self.sd_along(&slope))
    }

    /// How much further the plan allows to aim, mm: no deeper than the drawing, nor than the wood that is left of it.
    fn further_mm(&self, deepest_mm: f64) -> f64 {
        let left = (deepest_mm - self.depth()) / (1.0 + self.mean[BIAS]).max(0.1);
        left.min(self.curves().whole_depth_mm() - self.aimed_mm()).max(0.0)
    }

    /// Deepest aim whose chance of going past the window stays under `alpha`, mm.
    fn deepest_safe_mm(&self, alpha: f64, window: &Window, aimed: Aimed, further: f64) -> f64 {
        greatest(|aim| alpha - self.past(aim, window.high_mm, aimed), further)
    }

    /// The deepest aim, the aim at the target where the plan gets there, the lesser of both and the plan's end, and what
    /// holds it.
    fn aim(&self, window: &Window, rule: &Rule, aimed: Aimed) -> (f64, Option<f64>, f64, Limit) {
        let further = self.further_mm(rule.deepest_mm);
        let safe = self.deepest_safe_mm(rule.alpha, window, aimed, further);
        let short = |aim: f64| window.target_mm.ln() - self.ahead(aim, aimed).0;
        let straight = (further > 0.0 && short(further) <= 0.0).then(|| greatest(short, further));
        let (mut aim, mut held_by) = (further, Limit::Deepest);
        if safe < aim {
            (aim, held_by) = (safe, Limit::Chance);
        }
        if let Some(s) = straight.filter(|s| *s < aim) {
            (aim, held_by) = (s, Limit::Target);
        }
        (safe, straight, aim, held_by)
    }

    fn stop(&self, window: &Window, rule: &Rule, aimed: Aimed, aim: f64, held_by: Limit) -> Option<Stop> {
        let (over, inside) = self.chances(0.0, window, aimed);
        if let Some(s) = self.surprise().filter(|s| s.sigmas.abs() > INCONSISTENT_SIGMAS) {
            return Some(match s.what {
                Looked::Deflection => {
                    Stop::ReadingInconsistent { reading_mm: Some(s.read), expected_mm: s.expected, sigmas: s.sigmas }
                }
                what => Stop::DoesNotFit { what, read: s.read, expected: s.expected, sigmas: s.sigmas },
            });
        }
        if over > 0.5 {
            return Some(Stop::AlreadyPast);
        }
        if inside >= rule.enough {
            return Some(Stop::InWindow);
        }
        if aim < rule.smallest_shaving_mm || aim <= 0.0 {
            return Some(match held_by {
                Limit::Deepest => Stop::SafetyFloor,
                _ => Stop::ShavingTooSmall { allowed_mm: aim, held_by },
            });
        }
        if held_by == Limit::Deepest {
            let (past, inside) = self.chances(self.further_mm(rule.deepest_mm), window, aimed);
            if past + inside < OUT_OF_REACH {
                return Some(Stop::CannotReach { chance: past + inside });
            }
        }
        let costs = rule.costs?;
        let (over_after, inside_after) = self.chances(aim, window, aimed);
        let stopping = costs.short * (1.0 - over - inside).max(0.0) + costs.over * over;
        let passes = rule.deepest_pass_mm.map_or(1.0, |most| (aim / most).ceil().max(1.0));
        let carving =
            passes * costs.per_pass + costs.short * (1.0 - over_after - inside_after).max(0.0) + costs.over * over_after;
        (carving >= stopping).then_some(Stop::GainBelowLoss { stopping, carving })
    }

    /// The pass to aim at, or why to stop: the part of [`Known::next`] a policy needs.
    pub(crate) fn quick_next(&self, window: &Window, rule: &Rule, aimed: Aimed) -> (Kind, f64) {
        let (_, _, aim, held_by) = self.aim(window, rule, aimed);
        match self.stop(window, rule, aimed, aim, held_by) {
            Some(s) => (Kind::Stop(s), 0.0),
            None => {
                let (depth, held_by) = one_pass(aim, held_by, rule);
                (Kind::Carve { held_by }, depth)
            }
        }
    }

    /// The next step towards the window: the lesser of the deepest aim within the allowed chance and the one straight at the
    /// target, and no more than one pass may take. Of the rule, its draws and seed are not used.
    pub fn next(&self, window: &Window, rule: &Rule, aimed: Aimed) -> Result<Decision> {
        window.check()?;
        let rule = rule.clone().checked()?;
        let (safe, straight, allowed, held_by) = self.aim(window, &rule, aimed);
        let stop = self.stop(window, &rule, aimed, allowed, held_by);
        let (depth, held_by) = if stop.is_some() { (0.0, held_by) } else { one_pass(allowed, held_by, &rule) };
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
            allowed_mm: allowed,
            d_max_mm: safe,
            straight_at_target_mm: straight,
            chance_over: over,
            chance_in_window: inside,
            standing: self.chances(0.0, window, aimed),
            now_mm: band(self.here(aimed)),
            after_mm: band(self.ahead(depth, aimed)),
            dial_mm: [dial, dial - Z95 * dial_sd, dial + Z95 * dial_sd],
            shavings_g: shavings,
            passes_to_expect: if stop.is_some() { 0 } else { self.passes_to_expect(window, &rule, aimed) },
            window: *window,
            alpha: rule.alpha,
        })
    }

    /// Passes to the end along the middle of what is expected, with a reading like the last after each.
    pub(super) fn passes_to_expect(&self, window: &Window, rule: &Rule, aimed: Aimed) -> usize {
        let mut ahead = self.light();
        for k in 0..MOST_PASSES {
            let (kind, depth) = ahead.quick_next(window, rule, aimed);
            if matches!(kind, Kind::Stop(_)) {
                return k;
            }
            ahead.carve(depth);
            let dial = ahead.dial(&ahead.mean, 1.0).0;
            let look = Look::Deflection { deflection_mm: dial, u_mm: self.last_u(dial), load_ratio: 1.0 };
            if ahead.foreseen(&look).is_err() {
                return k + 1;
            }
        }
        MOST_PASSES
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
        let (_, straight, allowed, held_by) = self.aim(window, &rule, aimed);
        let mut worth = Vec::new();
        for (name, look, minutes) in readings {
            within(&format!("minutes of {name}"), *minutes, "min", 0.01, 10_000.0)?;
            let mut after = self.light();
            after.foreseen(&after.as_expected(look)?)?;
            let then = after.aim(window, &rule, aimed).2;
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

    /// Uncertainty of the last deflection, mm; a hundredth of `value` where none was read.
    fn last_u(&self, value: f64) -> f64 {
        let u = self.happened().iter().rev().find_map(|h| match h {
            super::Happened::Looked(Look::Deflection { u_mm, .. }) => Some(*u_mm),
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

/// Greatest x from 0 to `end` at which a falling `room` is not below 0: 0 where there is none.
fn greatest(room: impl Fn(f64) -> f64, end: f64) -> f64 {
    if end <= 0.0 || room(1e-9) < 0.0 {
        return 0.0;
    }
    if room(end) >= 0.0 {
        return end;
    }
    let (mut lo, mut hi) = (0.0, end);
    for _ in 0..40 {
        let m = 0.5 * (lo + hi);
        if room(m) >= 0.0 {
            lo = m
        } else {
            hi = m
        }
        if hi - lo < 1e-7 * end {
            break;
        }
    }
    lo
}

#[cfg(test)]
mod tests {
    use super::greatest;

    #[test]
    fn greatest_is_where_the_room_ends() {
        assert!((greatest(|x| 1.0 - x, 3.0) - 1.0).abs() < 1e-6);
        assert_eq!(greatest(|x| 5.0 - x, 3.0), 3.0);
        assert_eq!(greatest(|x| -1.0 - x, 3.0), 0.0);
    }
}
