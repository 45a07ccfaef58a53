//! A dimension, or two, that reach a goal.

use serde::{Deserialize, Serialize};

use super::root::bracketed;
use crate::brace::Brace;
use crate::error::{Error, Result, number, positive};
use crate::goal::Goal;

/// What a fit respects.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct FitOptions {
    /// No floor between the end ramps goes below this, mm.
    pub smallest_safe_height_mm: f64,
    /// Relative distance from the target that counts as reached.
    pub tolerance: f64,
}

impl Default for FitOptions {
    /// 3 mm (common practice, no source) and one part in 20 000.
    fn default() -> Self {
        Self { smallest_safe_height_mm: 3.0, tolerance: 5e-5 }
    }
}

/// How a fit ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Outcome {
    /// The target is met.
    Reached,
    /// The dimension is at the end of its range and the goal is not met; the nearest is given.
    OutOfReach,
    /// The search stopped before it settled; the best found is given.
    NotSettled,
}

/// What was found.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct FitReport {
    /// How it ended.
    pub outcome: Outcome,
    /// The brace found: the target itself, or the nearest to it.
    pub brace: Brace,
    /// Each dimension that was varied: name, before, after, mm.
    pub dimensions: Vec<(String, f64, f64)>,
    /// Range each could take inside blank and floor, mm.
    pub ranges: Vec<(f64, f64)>,
    /// The goal.
    pub goal: Goal,
    /// The quantity of the brace found, by the depth-resolved beam.
    pub value: f64,
    /// Its discretisation error.
    pub discretisation: f64,
    /// The same by the section beam.
    pub section_value: f64,
    /// The range of the quantity over the range of the (first) dimension.
    pub reach: (f64, f64),
    /// Mass of the brace found, g.
    pub mass_g: f64,
    /// Grams less than the brace given (negative: more wood stays).
    pub grams_off: f64,
    /// Depth-resolved solves used in the search.
    pub solves: usize,
    /// The same in words.
    pub words: String,
}

/// Solves for `vary`, one or two dimensions, so that the goal's target is met; with two, the pair that takes the least
/// wood off. Searches on the section beam, corrected by the ratio of the two beams, which moves slowly: a handful of
/// depth-resolved solves settle it.
pub fn carve_to(brace: &Brace, goal: &Goal, vary: &[&str], options: &FitOptions) -> Result<FitReport> {
    positive("smallest_safe_height_mm", options.smallest_safe_height_mm, "mm")?;
    crate::error::within("tolerance", options.tolerance, "", 1e-9, 0.1)?;
    for name in vary {
        brace.dimension(name).map_err(|e| match e {
            Error::UnknownName { given, allowed, .. } => Error::UnknownName { what: "vary".into(), given, allowed },
            other => other,
        })?;
    }
    match vary {
        [one] => Search::new(brace, goal, options)?.one(one),
        [one, two] if one != two => Search::new(brace, goal, options)?.two(one, two),
        _ => Err(Error::BadList {
            name: "vary".into(),
            problem: format!("holds {} names; give one dimension, or two different ones", vary.len()),
        }),
    }
}

/// Most depth-resolved solves of one search.
const MOST_SOLVES: usize = 12;

struct Search<'a> {
    brace: &'a Brace,
    goal: &'a Goal,
    options: &'a FitOptions,
    solves: usize,
    /// Resolved over section, and the dimension it was found at.
    ratio: f64,
}

impl<'a> Search<'a> {
    fn new(brace: &'a Brace, goal: &'a Goal, options: &'a FitOptions) -> Result<Self> {
        let mut out = Self { brace, goal, options, solves: 0, ratio: 1.0 };
        let value = out.resolved(brace)?;
        out.ratio = value / goal.section_value(brace)?;
        Ok(out)
    }

    fn resolved(&mut self, brace: &Brace) -> Result<f64> {
        self.solves += 1;
        self.goal.value(brace)
    }

    /// A dimension can take this value: the shape is a cut of the blank and keeps the floor.
    fn allowed(&self, base: &Brace, name: &str, v: f64) -> bool {
        base.with_dimension(name, v).is_ok_and(|b| {
            let (x0, x1) = b.profile().body_mm();
            let low = b.profile().crest().extremes(x0, x1).0.1;
            // a brace that starts below the floor may stay as it is, not go lower
            let was = self.brace.profile().crest().extremes(x0, x1).0.1;
            low >= self.options.smallest_safe_height_mm.min(was) - 1e-9
        })
    }

    /// Range of a dimension about its present value.
    fn range(&self, base: &Brace, name: &str) -> Result<(f64, f64)> {
        let now = base.dimension(name)?;
        let (least, most) = match name {
            "width" => (0.1 * now, base.blank().width_mm()),
            "scallop length" => (0.2 * now, base.length_mm()),
            "cap rise" => (0.02 * now, base.blank().height_mm()),
            _ => (0.0, base.blank().height_mm()),
        };
        let now = now.clamp(least, most);
        if !self.allowed(base, name, now) {
            return Err(Error::Refused(format!(
                "{name} is {} mm, where the brace already breaks the smallest safe height of {} mm",
                number(now),
                number(self.options.smallest_safe_height_mm)
            )));
        }
        let edge = |far: f64| {
            if self.allowed(base, name, far) {
                return far;
            }
            let (mut good, mut bad) = (now, far);
            while (good - bad).abs() > 1e-7 {
                let m = 0.5 * (good + bad);
                if self.allowed(base, name, m) { good = m } else { bad = m }
            }
            good
        };
        Ok((edge(least), edge(most)))
    }

    /// The dimension at which section value times ratio meets the target, and the corrected values at the ends.
    fn on_section(&self, base: &Brace, name: &str, range: (f64, f64), ratio: f64) -> Result<Option<f64>> {
        let target = self.goal.target();
        let f = |v: f64| -> Result<f64> { Ok(self.goal.section_value(&base.with_dimension(name, v)?)? * ratio / target - 1.0) };
        let now = base.dimension(name)?.clamp(range.0, range.1);
        // look on both sides of the present value, nearest bracket first: a frequency may turn
        let n = 8;
        let mut stations: Vec<f64> = (0..=n).map(|k| range.0 + (range.1 - range.0) * f64::from(k) / f64::from(n)).collect();
        stations.push(now);
        stations.sort_by(f64::total_cmp);
        stations.dedup();
        let values = stations.iter().map(|&v| f(v)).collect::<Result<Vec<_>>>()?;
        let mut best: Option<(f64, usize)> = None;
        for k in 0..stations.len() - 1 {
            if (values[k] <= 0.0) != (values[k + 1] <= 0.0) {
                let far = (0.5 * (stations[k] + stations[k + 1]) - now).abs();
                if best.is_none_or(|(d, _)| far < d) {
                    best = Some((far, k));
                }
            }
        }
        let Some((_, k)) = best else { return Ok(None) };
        bracketed(stations[k], values[k], stations[k + 1], values[k + 1], 1e-8, f).map(Some)
    }

    fn one(mut self, name: &str) -> Result<FitReport> {
        let range = self.range(self.brace, name)?;
        let base = self.brace.clone();
        let (found, value, outcome) = self.settle(&base, name, range)?;
        self.report(found, vec![name.to_string()], vec![range], value, outcome)
    }

    /// The one-dimensional search on the resolved beam.
    fn settle(&mut self, base: &Brace, name: &str, range: (f64, f64)) -> Result<(Brace, f64, Outcome)> {
        let target = self.goal.target();
        let mut best: Option<(f64, Brace, f64)> = None; // distance, brace, value
        let mut seen: Vec<(f64, f64)> = Vec::new(); // dimension, ratio
        let mut at_end: Option<f64> = None;
        while self.solves < MOST_SOLVES {
            // the ratio as a straight line through the last two solves
            let guess = |v: f64| match seen.as_slice() {
                [.., (v0, r0), (v1, r1)] if (v1 - v0).abs() > 1e-9 => r1 + (r1 - r0) / (v1 - v0) * (v - v1),
                [.., (_, r)] => *r,
                [] => self.ratio,
            };
            let mut v = self.on_section(base, name, range, self.ratio)?;
            for _ in 0..3 {
                let Some(x) = v else { break };
                v = self.on_section(base, name, range, guess(x))?;
            }
            let v = match v {
                Some(v) => v,
                None => {
                    // nowhere: try the end that comes closest, with its own ratio
                    let d = |x: f64| -> Result<f64> {
                        Ok((self.goal.section_value(&base.with_dimension(name, x)?)? * self.ratio - target).abs())
                    };
                    let end = if d(range.0)? < d(range.1)? { range.0 } else { range.1 };
                    if at_end == Some(end) {
                        break;
                    }
                    at_end = Some(end);
                    end
                }
            };
            let b = base.with_dimension(name, v)?;
            let value = self.resolved(&b)?;
            let ratio = value / self.goal.section_value(&b)?;
            seen.push((v, ratio));
            self.ratio = ratio;
            let far = (value / target - 1.0).abs();
            if best.as_ref().is_none_or(|(d, _, _)| far < *d) {
                best = Some((far, b, value));
            }
            if far <= self.options.tolerance {
                break;
            }
        }
        let (far, b, value) = best.ok_or_else(|| Error::Refused("the search found no shape to try".into()))?;
        let outcome = if far <= self.options.tolerance || (self.goal.low() < self.goal.high() && self.goal.holds(value)) {
            Outcome::Reached
        } else if at_end.is_some() {
            Outcome::OutOfReach
        } else {
            Outcome::NotSettled
        };
        Ok((b, value, outcome))
    }

    fn two(mut self, one: &str, two: &str) -> Result<FitReport> {
        let ra = self.range(self.brace, one)?;
        let mut base = self.brace.clone();
        let rb = self.range(self.brace, two)?;
        let before = self.ratio;
        for _ in 0..2 {
            // least wood off on the section beam with the ratio held, over the first dimension
            let mass = |x: f64| -> Result<Option<(f64, Brace)>> {
                let Ok(b) = self.brace.with_dimension(one, x) else { return Ok(None) };
                let Ok(range) = self.range(&b, two) else { return Ok(None) };
                let Some(y) = self.on_section(&b, two, range, self.ratio)? else { return Ok(None) };
                let b = b.with_dimension(two, y)?;
                Ok(Some((b.mass_g()?, b)))
            };
            let n = 16;
            let mut top: Option<(f64, f64, Brace)> = None;
            for k in 0..=n {
                let x = ra.0 + (ra.1 - ra.0) * f64::from(k) / f64::from(n);
                if let Some((m, b)) = mass(x)?
                    && top.as_ref().is_none_or(|t| m > t.1)
                {
                    top = Some((x, m, b));
                }
            }
            let Some((x, _, b)) = top else { break };
            // golden section about the best of the grid
            let step = (ra.1 - ra.0) / f64::from(n);
            let (mut lo, mut hi) = ((x - step).max(ra.0), (x + step).min(ra.1));
            let g = 0.5 * (5.0_f64.sqrt() - 1.0);
            let mut kept = b;
            let mut most = kept.mass_g()?;
            for _ in 0..18 {
                let (p, q) = (hi - g * (hi - lo), lo + g * (hi - lo));
                let (mp, mq) = (mass(p)?, mass(q)?);
                let weight = |m: &Option<(f64, Brace)>| m.as_ref().map_or(f64::NEG_INFINITY, |m| m.0);
                if weight(&mp) > weight(&mq) {
                    hi = q
                } else {
                    lo = p
                }
                for m in [mp, mq].into_iter().flatten() {
                    if m.0 > most {
                        (most, kept) = m;
                    }
                }
            }
            base = kept;
            let value = self.resolved(&base)?;
            self.ratio = value / self.goal.section_value(&base)?;
            if (self.ratio / before - 1.0).abs() < 1e-3 {
                break;
            }
        }
        let range = self.range(&base, two)?;
        let (found, value, outcome) = self.settle(&base, two, range)?;
        self.report(found, vec![one.into(), two.into()], vec![ra, rb], value, outcome)
    }

    fn report(
        mut self,
        found: Brace,
        names: Vec<String>,
        ranges: Vec<(f64, f64)>,
        value: f64,
        outcome: Outcome,
    ) -> Result<FitReport> {
        let mut dimensions = Vec::new();
        for n in &names {
            dimensions.push((n.clone(), self.brace.dimension(n)?, found.dimension(n)?));
        }
        let reach = if outcome == Outcome::OutOfReach {
            let ends =
                [ranges[0].0, ranges[0].1].map(|v| self.brace.with_dimension(&names[0], v).and_then(|b| self.resolved(&b)));
            let [a, b] = ends;
            let (a, b) = (a?, b?);
            (a.min(b), a.max(b))
        } else {
            (value, value)
        };
        let discretisation = self.goal.discretisation(&found)?;
        let section_value = self.goal.section_value(&found)?;
        let mass_g = found.mass_g()?;
        let grams_off = self.brace.mass_g()? - mass_g;
        let (what, unit) = (self.goal.quantity(), self.goal.unit());
        let list = dimensions
            .iter()
            .map(|(n, a, b)| format!("{n} {b:.2} mm (was {})", number((a * 100.0).round() / 100.0)))
            .collect::<Vec<_>>()
            .join(", ");
        let words = match outcome {
            Outcome::Reached => format!(
                "{list}: {what} {} {unit}; {} {:.2} g",
                short(value),
                if grams_off < 0.0 { "heavier than the drawing by" } else { "wood off" },
                grams_off.abs()
            ),
            Outcome::OutOfReach => format!(
                "{} {unit} cannot be reached with {} alone inside this blank and above a floor of {} mm: it goes from {} to {} {unit}; the nearest is {list}, at {} {unit}",
                short(self.goal.target()),
                names.join(" and "),
                number(self.options.smallest_safe_height_mm),
                short(reach.0),
                short(reach.1),
                short(value)
            ),
            Outcome::NotSettled => {
                format!("the search did not settle within {MOST_SOLVES} solves; the best is {list}, at {} {unit}", short(value))
            }
        };
        Ok(FitReport {
            outcome,
            brace: found,
            dimensions,
            ranges,
            goal: self.goal.clone(),
            value,
            discretisation,
            section_value,
            reach,
            mass_g,
            grams_off,
            solves: self.solves,
            words,
        })
    }
}

/// Four significant digits.
fn short(v: f64) -> String {
    if v == 0.0 || !v.is_finite() {
        return format!("{v}");
    }
    let digits = (3 - v.abs().log10().floor() as i32).clamp(0, 6) as usize;
    format!("{v:.digits$}")
}
