//! What to do next: how deep the next pass may go, or that it is time to stop, and why.

mod closed;
mod outlook;
mod words;

pub(crate) use words::Spoken;

pub use closed::{ClosedForm, LnDeflection, alpha_from_costs, d_max_closed_form};
pub use outlook::{Chances, Outlook};

use crate::belief::{Belief, DEFAULT_DRAWS, Estimate, Posterior, Response};
use crate::decide::Looked;
use crate::error::{self, Error, Result};
use serde::{Deserialize, Serialize};

/// Where the deflection should end, mm: softer than `high_mm` is too soft for good, stiffer than `low_mm` not done.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Window {
    /// Lower limit, mm, above 0.
    pub low_mm: f64,
    /// Upper limit, mm, above the lower.
    pub high_mm: f64,
    /// What is aimed at, mm, between the limits.
    pub target_mm: f64,
}

impl Window {
    /// A checked window.
    pub fn new(low_mm: f64, high_mm: f64, target_mm: f64) -> Result<Self> {
        let window = Self { low_mm, high_mm, target_mm };
        window.check()?;
        Ok(window)
    }

    /// A window aimed at its middle.
    pub fn between(low_mm: f64, high_mm: f64) -> Result<Self> {
        Self::new(low_mm, high_mm, 0.5 * (low_mm + high_mm))
    }

    pub(crate) fn check(&self) -> Result<()> {
        error::positive("low_mm", self.low_mm, "mm")?;
        error::positive("high_mm", self.high_mm, "mm")?;
        if self.high_mm <= self.low_mm {
            let (low, high) = (error::number(self.low_mm), error::number(self.high_mm));
            return Err(Error::Refused(format!("the window runs from {low} mm to {high} mm; high_mm must be above low_mm")));
        }
        error::within("target_mm", self.target_mm, "mm", self.low_mm, self.high_mm)?;
        Ok(())
    }
}

/// What things cost, in any one money.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Costs {
    /// One more pass.
    pub per_pass: f64,
    /// A brace left too stiff.
    pub short: f64,
    /// A brace gone too soft.
    pub over: f64,
}

/// The rule by which the next pass is chosen.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Rule {
    /// Allowed chance of going past the window in one pass, above 0 and up to 0.5.
    pub alpha: f64,
    /// Whole depth from the start that the plan and its smallest safe height allow, mm.
    pub deepest_mm: f64,
    /// Whole depth down to which the brace is strong enough, mm; kept with the same chance as the window.
    #[serde(default)]
    pub strong_mm: Option<f64>,
    /// Chance of being in the window at which to stop, 0.5 to 1; 0.90 unless said otherwise.
    pub enough: f64,
    /// Deepest aim of one pass, mm, above 0; none unless said otherwise. More is then taken in several passes, with a
    /// reading after each.
    pub deepest_pass_mm: Option<f64>,
    /// Thinnest pass the tool can be trusted with, mm; 0.15 (an edge tool by hand) unless said otherwise; a scraper
    /// manages 0.08.
    pub smallest_shaving_mm: f64,
    /// Grams per mm of depth here, to say the pass in grams as well.
    pub grams_per_mm: Option<f64>,
    /// Costs; with them a pass that is not worth its risk is refused.
    pub costs: Option<Costs>,
    /// Draws to work with.
    pub draws: usize,
    /// Their seed.
    pub seed: u64,
}

impl Rule {
    /// A rule with the usual settings.
    pub fn new(alpha: f64, deepest_mm: f64) -> Result<Self> {
        let rule = Self {
            alpha,
            deepest_mm,
            strong_mm: None,
            enough: 0.90,
            deepest_pass_mm: None,
            smallest_shaving_mm: 0.15,
            grams_per_mm: None,
            costs: None,
            draws: DEFAULT_DRAWS,
            seed: 1,
        };
        rule.check()?;
        Ok(rule)
    }

    /// Itself, unless a setting is out of its range.
    pub fn checked(self) -> Result<Self> {
        self.check()?;
        Ok(self)
    }

    fn check(&self) -> Result<()> {
        error::within("alpha", self.alpha, "", 1e-9, 0.5)?;
        error::within("deepest_mm", self.deepest_mm, "mm", 1e-6, 1000.0)?;
        if let Some(d) = self.strong_mm {
            error::within("strong_mm", d, "mm", 0.0, 1000.0)?;
        }
        error::within("enough", self.enough, "", 0.5, 1.0)?;
        error::within("draws", self.draws as f64, "", 100.0, 4e6)?;
        error::not_negative("smallest_shaving_mm", self.smallest_shaving_mm, "mm")?;
        if let Some(d) = self.deepest_pass_mm {
            error::positive("deepest_pass_mm", d, "mm")?;
            room_for_a_shaving("deepest_pass_mm", d, self.smallest_shaving_mm)?;
        }
        if let Some(g) = self.grams_per_mm {
            error::not_negative("grams_per_mm", g, "g/mm")?;
        }
        if let Some(c) = self.costs {
            error::not_negative("per_pass", c.per_pass, "")?;
            error::not_negative("short", c.short, "")?;
            error::not_negative("over", c.over, "")?;
        }
        Ok(())
    }
}

/// A deepest pass thinner than the thinnest shaving leaves no pass to advise.
pub(crate) fn room_for_a_shaving(name: &str, deepest_mm: f64, smallest_shaving_mm: f64) -> Result<()> {
    if deepest_mm >= smallest_shaving_mm {
        return Ok(());
    }
    Err(Error::OutOfRange {
        quantity: name.into(),
        value: deepest_mm,
        unit: "mm",
        allowed: format!("no less than smallest_shaving_mm, {} mm", error::number(smallest_shaving_mm)),
    })
}

/// What holds the next pass back.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Limit {
    /// It goes straight at the target.
    Target,
    /// Deeper would go past the window with more than the allowed chance.
    Chance,
    /// The plan or its smallest safe height ends there.
    Deepest,
    /// Deeper, strength over stress would fall below the least allowed.
    Strength,
    /// One pass takes no more at a time; `Advice::allowed_mm` says what chance, target and plan would allow.
    OnePass,
}

/// Why to stop.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub enum Stop {
    /// In the window, surely enough.
    InWindow,
    /// What may still come off is thinner than the tool can be trusted with.
    ShavingTooSmall {
        /// What may come off, mm.
        allowed_mm: f64,
        /// What holds it back.
        held_by: Limit,
    },
    /// The pass would cost more, in chances of a loss, than it gains.
    GainBelowLoss {
        /// Expected cost of stopping here.
        stopping: f64,
        /// Expected cost of the pass and stopping after it.
        carving: f64,
    },
    /// The smallest safe height is reached, short of the window.
    SafetyFloor,
    /// The last reading does not go with what was known before it: seat it again and read, do not carve.
    ReadingInconsistent {
        /// What the dial showed, mm, where it was the dial.
        #[serde(default)]
        reading_mm: Option<f64>,
        /// What it should have shown, mm.
        expected_mm: f64,
        /// How far off it is, in standard deviations of what was to be expected.
        sigmas: f64,
    },
    /// Something weighed, measured or tapped does not go with what was known before it: look again, do not carve.
    DoesNotFit {
        /// What it was.
        what: Looked,
        /// What was read, in the unit of its kind.
        read: f64,
        /// What was to be expected, likewise.
        expected: f64,
        /// How far off it is, in standard deviations of what was to be expected.
        sigmas: f64,
    },
    /// The shop is too dry to believe a reading.
    TooDry {
        /// Relative humidity now, percent.
        rh_percent: f64,
        /// The least at which to carve, percent.
        low_percent: f64,
    },
    /// The shop is too damp to believe a reading.
    TooDamp {
        /// Relative humidity now, percent.
        rh_percent: f64,
        /// The most at which to carve, percent.
        high_percent: f64,
    },
    /// Deeper, the wood would not be strong enough; short of the window.
    TooWeak {
        /// Strength over stress now.
        margin: f64,
        /// The least allowed.
        least_margin: f64,
    },
    /// Even the whole depth allowed leaves it too stiff.
    CannotReach {
        /// Chance that it could be reached after all.
        chance: f64,
    },
    /// Too soft already.
    AlreadyPast,
}

/// Carve or stop.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub enum Kind {
    /// One more pass.
    Carve {
        /// What sets its depth.
        held_by: Limit,
    },
    /// No more.
    Stop(Stop),
}

/// The next step, with the figures behind it. Estimates from beam models and readings; it certifies nothing.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Advice {
    /// Carve or stop.
    pub kind: Kind,
    /// Depth to aim at, mm; 0 at a stop.
    pub depth_mm: f64,
    /// What chance, target and plan would allow if one pass could take it all, mm; at a stop, what it would have been.
    pub allowed_mm: f64,
    /// The same as `depth_mm` in grams, where grams per mm are known.
    pub mass_g: Option<f64>,
    /// Chance of being past the window after this step (at a stop: as it stands).
    pub chance_over: f64,
    /// Chance of being in the window after this step.
    pub chance_in_window: f64,
    /// Deflection after this step, mm.
    pub expected_mm: Estimate,
    /// What the dial should show after this step, mm; its uncertainty that of the last reading.
    pub expected_reading_mm: Estimate,
    /// Deepest aim within the allowed chance, by the draws, mm.
    pub d_max_mm: f64,
    /// The same by the closed form, which carries no doubt about the slope; `None` where no pass could be tried.
    pub d_max_closed_form: Option<ClosedForm>,
    /// Aim straight at the target, mm; `None` where more than half of the draws cannot get there.
    pub straight_at_target_mm: Option<f64>,
    /// Chance of going past the window with that aim.
    pub chance_over_straight: Option<f64>,
    /// What is believed now.
    pub now: Posterior,
    /// The window.
    pub window: Window,
    /// The allowed chance.
    pub alpha: f64,
}

/// A reading further off than this, in standard deviations, is not believed before it is repeated.
pub const INCONSISTENT_SIGMAS: f64 = 3.0;
/// Below this chance of reaching the window with the whole depth allowed, it is out of reach.
pub const OUT_OF_REACH: f64 = 0.05;

impl Belief {
    /// The next step towards the window, by exact draws. The aim is the lesser of the deepest within the allowed
    /// chance and the one straight at the target, and no more than one pass may take.
    pub fn advise<R: Response + ?Sized>(&self, response: &R, window: &Window, rule: &Rule) -> Result<Advice> {
        window.check()?;
        rule.check()?;
        let draws = self.draws(response, rule.draws, rule.seed)?;
        let hand = self.hand();
        let outlook =
            Outlook::new(response, &draws, *window, hand, rule.deepest_mm.min(rule.strong_mm.unwrap_or(f64::INFINITY)))?;
        let now = draws.posterior();
        let standing = outlook.now();
        let d_max_mm = outlook.d_max_exact(rule.alpha)?;
        let straight = outlook.straight_at_target_mm();
        let deepest = outlook.further_mm() / (1.0 + hand.bias_fraction);
        let (mut aim, mut held_by) = (deepest, Limit::Deepest);
        if d_max_mm < aim {
            (aim, held_by) = (d_max_mm, Limit::Chance);
        }
        if straight < aim {
            (aim, held_by) = (straight, Limit::Target);
        }
        let stop = if let Some((expected_mm, sigmas)) = self.surprise(response)?.filter(|s| s.1.abs() > INCONSISTENT_SIGMAS) {
            let reading_mm = self.without_last_reading().map(|r| r.1);
            Some(Stop::ReadingInconsistent { reading_mm, expected_mm, sigmas })
        } else if standing.over > 0.5 {
            Some(Stop::AlreadyPast)
        } else if standing.inside >= rule.enough {
            Some(Stop::InWindow)
        } else if aim < rule.smallest_shaving_mm || aim <= 0.0 {
            Some(if held_by == Limit::Deepest { Stop::SafetyFloor } else { Stop::ShavingTooSmall { allowed_mm: aim, held_by } })
        } else if outlook.chance_within_reach() < OUT_OF_REACH {
            Some(Stop::CannotReach { chance: outlook.chance_within_reach() })
        } else {
            // what several passes together gain is set against what they cost together
            let after = outlook.after(aim);
            rule.costs.and_then(|c| {
                let stopping = c.short * standing.short + c.over * standing.over;
                let passes = rule.deepest_pass_mm.map_or(1.0, |most| (aim / most).ceil().max(1.0));
                let carving = passes * c.per_pass + c.short * after.short + c.over * after.over;
                (carving >= stopping).then_some(Stop::GainBelowLoss { stopping, carving })
            })
        };
        let allowed_mm = aim;
        if let Some(most) = rule.deepest_pass_mm.filter(|most| *most < aim) {
            // a rest too thin for a pass of its own is shared by two
            let halves = aim - most < rule.smallest_shaving_mm && 0.5 * aim >= rule.smallest_shaving_mm;
            aim = if halves { 0.5 * aim } else { most };
            held_by = Limit::OnePass;
        }
        let depth_mm = if stop.is_some() { 0.0 } else { aim };
        let chances = if stop.is_some() { standing } else { outlook.after(aim) };
        let (expected_mm, expected_reading_mm) = outlook.expected_mm(depth_mm, self.last_u_mm());
        Ok(Advice {
            kind: stop.map_or(Kind::Carve { held_by }, Kind::Stop),
            depth_mm,
            allowed_mm,
            mass_g: rule.grams_per_mm.map(|g| g * hand.mean_mm(depth_mm)),
            chance_over: chances.over,
            chance_in_window: chances.inside,
            expected_mm,
            expected_reading_mm,
            d_max_mm,
            d_max_closed_form: closed_form(&now, window, &hand, straight, rule.alpha)?,
            straight_at_target_mm: straight.is_finite().then_some(straight),
            chance_over_straight: straight.is_finite().then(|| outlook.after(straight).over),
            now,
            window: *window,
            alpha: rule.alpha,
        })
    }

    /// What the dial should have shown at the last reading, mm, and how far off it was in standard deviations; `None`
    /// if nothing was read since the last pass.
    pub fn surprise<R: Response + ?Sized>(&self, response: &R) -> Result<Option<(f64, f64)>> {
        let Some((before, reading_mm, u_mm)) = self.without_last_reading() else { return Ok(None) };
        let was = before.linear(response)?.deflection_mm;
        // On the scale of ln deflection, where the belief is closest to normal.
        let variance = (was.sd / was.mean).powi(2).ln_1p() + (u_mm / was.q50).powi(2);
        Ok(Some((was.q50, (reading_mm / was.q50).ln() / variance.sqrt())))
    }
}

/// The closed form on the mean and spread of the draws, with the secant from here to the target as its slope.
fn closed_form(
    now: &Posterior,
    window: &Window,
    hand: &crate::belief::Hand,
    straight_mm: f64,
    alpha: f64,
) -> Result<Option<ClosedForm>> {
    let mean = now.deflection_mm.mean;
    let g_per_mm = (window.target_mm / mean).ln() / hand.mean_mm(straight_mm);
    if !(g_per_mm > 0.0 && g_per_mm.is_finite()) {
        return Ok(None);
    }
    let ln = LnDeflection { mean: mean.ln(), variance: (now.deflection_mm.sd / mean).powi(2) };
    ln.d_max(window, hand, g_per_mm, 0.0, alpha).map(Some)
}
