//! The search for the depths at several places, by straight lines drawn anew.

use rayon::prelude::*;

use super::balance::Balance;
use super::layers::Layers;
use super::places::{Place, PlaceLimits};
use crate::brace::Brace;
use crate::error::Result;
use crate::goal::{Aim, Goal};
use crate::normal;

/// Step of the slopes, mm.
const STEP_MM: f64 = 0.2;
/// Most rounds of straight lines towards the goals.
const ROUNDS: usize = 5;
/// Lines are good enough when they foretell every goal to this part of its half window.
const FORETOLD: f64 = 0.05;
/// The same on a way of several passes, as a part of the change.
const FORETOLD_FAR: f64 = 0.1;
/// Steps at which the way there is looked at for its chances.
const STEPS: usize = 5;

/// A depth that is none, mm: what rounding leaves.
const NONE_MM: f64 = 1e-6;

/// What the places may lose where all that may be cut are free to.
fn bounds(active: &[bool]) -> Vec<f64> {
    active.iter().map(|a| if *a { f64::INFINITY } else { 0.0 }).collect()
}

/// How much of the spread of stiffness a quantity carries, by its logarithm.
fn share(goal: &Goal) -> f64 {
    match goal.aim() {
        Aim::Frequency => 0.5,
        Aim::Mass => 0.0,
        _ => 1.0,
    }
}

/// Chances of being past the line of a goal, and in its window.
fn chances(goal: &Goal, ln: f64, sd: f64) -> (f64, f64) {
    let below = |limit: f64| {
        let off = limit.ln() - ln;
        if sd > 1e-12 { normal::cdf(off / sd) } else { f64::from(u8::from(off >= 0.0)) }
    };
    let inside = (below(goal.high()) - below(goal.low())).max(0.0);
    (if goal.rises_with_carving() { 1.0 - below(goal.high()) } else { below(goal.low()) }, inside)
}

/// The question, and the figures that stay the same while it is looked into. Depths in here are what comes off on average; the
/// hand aims at them over 1 + bias.
pub(super) struct Cutting<'a> {
    brace: &'a Brace,
    goals: &'a [Goal],
    limits: &'a PlaceLimits,
    pub layers: Layers,
    at: Vec<Vec<f64>>,
    pub grams: Vec<f64>,
    half: Vec<f64>,
    pub now: Vec<f64>,
    pub first: Vec<Vec<f64>>,
}

/// A way to go: depths, the logarithms of the goals there, and their slopes by each place.
#[derive(Clone)]
pub(super) struct Drawn {
    pub depth: Vec<f64>,
    pub ln: Vec<f64>,
    pub slope: Vec<Vec<f64>>,
}

impl<'a> Cutting<'a> {
    pub fn new(brace: &'a Brace, goals: &'a [Goal], places: &[Place], limits: &'a PlaceLimits) -> Result<Self> {
        let layers = Layers::new(brace, places, limits)?;
        let mass = brace.mass_g()?;
        let alone = |i: usize| -> Vec<f64> { (0..places.len()).map(|j| if i == j { STEP_MM } else { 0.0 }).collect() };
        let grams = (0..places.len())
            .map(|i| Ok((mass - layers.lowered(brace, &alone(i)).mass_g()?) / STEP_MM))
            .collect::<Result<_>>()?;
        let half = goals.iter().map(|g| (0.5 * (g.high() / g.low()).ln()).max(1e-4)).collect();
        let at = layers.layers.iter().map(|l| l.at.clone()).collect();
        let mut out = Self { brace, goals, limits, layers, at, grams, half, now: Vec::new(), first: Vec::new() };
        let none = vec![0.0; places.len()];
        out.now = out.ln(&none)?;
        out.first = out.slopes(&none, &out.now, &vec![true; places.len()], &[])?;
        Ok(out)
    }

    /// What comes off where the hand aims at a mm.
    pub fn taken(&self) -> f64 {
        self.limits.hand.mean_mm(1.0)
    }

    pub fn ln(&self, depth: &[f64]) -> Result<Vec<f64>> {
        let b = self.layers.lowered(self.brace, depth);
        self.goals.iter().map(|g| Ok(g.value(&b)?.max(1e-12).ln())).collect()
    }

    /// Slopes of the logarithms at these depths by each place that is asked for, 1/mm; the others as they were.
    pub fn slopes(&self, depth: &[f64], ln: &[f64], of: &[bool], before: &[Vec<f64>]) -> Result<Vec<Vec<f64>>> {
        (0..depth.len())
            .into_par_iter()
            .map(|i| {
                if !of[i] {
                    return Ok(before[i].clone());
                }
                let mut more = depth.to_vec();
                let step = STEP_MM.min(0.5 * self.layers.layers[i].room_mm.max(1e-3));
                more[i] += step;
                Ok(self.ln(&more)?.iter().zip(ln).map(|(a, b)| (a - b) / step).collect())
            })
            .collect()
    }

    /// Depths by the straight lines of `drawn` that bring all goals nearest their middles; no place is cut deeper than `upper`,
    /// nor all together deeper than `pass_mm`.
    fn by_lines(&self, drawn: &Drawn, upper: &[f64], pass_mm: f64) -> Vec<f64> {
        let miss: Vec<f64> = (0..self.goals.len()).map(|k| (self.goals[k].target().ln() - drawn.ln[k]) / self.half[k]).collect();
        let per_mm: Vec<Vec<f64>> = drawn.slope.iter().map(|s| s.iter().zip(&self.half).map(|(v, h)| v / h).collect()).collect();
        // a hand that takes less than it aims at is held at its aim
        let most: Vec<f64> = self.layers.allowed_mm.iter().map(|a| (a * self.taken().min(1.0)).min(pass_mm)).collect();
        let at: Vec<&[f64]> = self.at.iter().map(Vec::as_slice).collect();
        Balance {
            miss: &miss,
            per_mm: &per_mm,
            from_mm: &drawn.depth,
            grams: &self.grams,
            at: &at,
            most_mm: &most,
            upper_mm: upper,
        }
        .depths_mm()
        .into_iter()
        .map(|d| if d > NONE_MM { d } else { 0.0 })
        .collect()
    }

    /// The depths nearest all goals, the lines drawn anew until they foretell what comes.
    pub fn towards(&self, from: Drawn, active: &[bool]) -> Result<Drawn> {
        let upper = bounds(active);
        let mut drawn = from;
        for _ in 0..ROUNDS {
            let depth = self.by_lines(&drawn, &upper, f64::INFINITY);
            let told: Vec<f64> = (0..self.goals.len())
                .map(|k| drawn.ln[k] + (0..depth.len()).map(|i| drawn.slope[i][k] * (depth[i] - drawn.depth[i])).sum::<f64>())
                .collect();
            let ln = self.ln(&depth)?;
            // of a way of several passes only the first is taken, and the next is drawn anew
            let far = self.layers.deepest_mm(&depth) > 1.5 * self.limits.deepest_pass_mm * self.taken();
            let good = (0..ln.len()).all(|k| {
                let whole = if far { FORETOLD_FAR * (ln[k] - self.now[k]).abs() } else { 0.0 };
                (ln[k] - told[k]).abs() < whole.max(FORETOLD * self.half[k])
            });
            drawn = Drawn { depth, ln, ..drawn };
            if good {
                break;
            }
            let cut: Vec<bool> = drawn.depth.iter().map(|d| *d > 1e-6).collect();
            drawn.slope = self.slopes(&drawn.depth, &drawn.ln, &cut, &drawn.slope)?;
        }
        Ok(drawn)
    }

    /// Spread of a goal's logarithm with these depths off.
    pub fn sd(&self, depth: &[f64], k: usize, slope: &[Vec<f64>]) -> f64 {
        let mut variance = (share(&self.goals[k]) * self.limits.stiffness_ln).powi(2);
        for (d, s) in depth.iter().zip(slope).filter(|(d, _)| **d > 0.0) {
            variance += (s[k] * self.limits.hand.sd_mm(d / self.taken())).powi(2);
        }
        variance.sqrt()
    }

    pub fn chances(&self, depth: &[f64], ln: &[f64], slope: &[Vec<f64>]) -> Vec<(f64, f64)> {
        (0..self.goals.len()).map(|k| chances(&self.goals[k], ln[k], self.sd(depth, k, slope))).collect()
    }

    pub fn safe(&self, depth: &[f64], ln: &[f64], slope: &[Vec<f64>]) -> bool {
        self.chances(depth, ln, slope).iter().all(|c| c.0 <= self.limits.overshoot)
    }

    /// Of these depths, as much as one pass may take: the places that bring the goals nearest first.
    pub fn one_pass(&self, here: &Drawn, depth: &[f64]) -> Vec<f64> {
        let pass = self.limits.deepest_pass_mm * self.taken();
        if self.layers.deepest_mm(depth) <= pass {
            return depth.to_vec();
        }
        let upper: Vec<f64> = depth.iter().map(|d| if *d > 1e-9 { *d } else { 0.0 }).collect();
        self.by_lines(here, &upper, pass)
    }

    /// Part of the way to these depths at whose end no goal is past its line with more than the allowed chance; the depths there
    /// with their logarithms and slopes.
    pub fn safe_part(&self, depth: &[f64]) -> Result<(f64, Drawn)> {
        let of = |part: f64| -> Vec<f64> { depth.iter().map(|d| part * d).collect() };
        let end = depth.to_vec();
        let cut: Vec<bool> = end.iter().map(|d| *d > 1e-6).collect();
        let ln = self.ln(&end)?;
        let slope = self.slopes(&end, &ln, &cut, &self.first)?;
        if self.safe(&end, &ln, &slope) {
            return Ok((1.0, Drawn { depth: end, ln, slope }));
        }
        let mut steps = (1..STEPS).into_par_iter().map(|k| self.ln(&of(k as f64 / STEPS as f64))).collect::<Result<Vec<_>>>()?;
        steps.insert(0, self.now.clone());
        steps.push(ln);
        let between = |part: f64| -> Vec<f64> {
            let t = part * STEPS as f64;
            let i = (t.floor() as usize).min(STEPS - 1);
            steps[i].iter().zip(&steps[i + 1]).map(|(a, b)| a + (t - i as f64) * (b - a)).collect()
        };
        let (mut lo, mut hi) = (0.0, 1.0);
        for _ in 0..40 {
            let m = 0.5 * (lo + hi);
            if self.safe(&of(m), &between(m), &slope) { lo = m } else { hi = m }
        }
        // between its steps the way is not quite straight
        for _ in 0..6 {
            let (depth, ln) = (of(lo), self.ln(&of(lo))?);
            if self.safe(&depth, &ln, &slope) {
                return Ok((lo, Drawn { depth, ln, slope }));
            }
            lo *= 0.97;
        }
        Ok((0.0, Drawn { depth: of(0.0), ln: self.now.clone(), slope }))
    }

    /// Leaves out, by the lines, the places whose cut would be thinner than the tool can take, thinnest first.
    pub fn without_thin(&self, here: &Drawn, way: &Drawn, safe: f64, active: &mut [bool]) {
        let mut depth = way.depth.clone();
        loop {
            let pass = self.one_pass(here, &depth);
            let thin = (0..pass.len())
                .filter(|i| pass[*i] > NONE_MM && safe * pass[*i] < self.least())
                .min_by(|a, b| pass[*a].total_cmp(&pass[*b]));
            let Some(i) = thin else { return };
            active[i] = false;
            depth = self.by_lines(way, &bounds(active), f64::INFINITY);
        }
    }

    /// Thinnest cut, as it comes off on average, mm.
    pub fn least(&self) -> f64 {
        (self.limits.smallest_shaving_mm.max(1e-3) * self.taken()).min(self.limits.deepest_pass_mm * self.taken()) * (1.0 - 1e-9)
    }
}
