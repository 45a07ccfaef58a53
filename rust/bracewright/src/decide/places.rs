//! Where to cut: several places at once, towards several goals, by what each takes and gives.

use rayon::prelude::*;
use serde::{Deserialize, Serialize};

use crate::belief::Hand;
use crate::bench::limits::strength_mpa;
use crate::brace::Brace;
use crate::error::{Error, Result, not_negative, number, positive, within};
use crate::goal::Goal;
use crate::mechanics::pieces::Pieces;
use crate::normal;
use crate::profile::{Blend, through};

/// A stretch of the crest that may be lowered: a layer run out to nothing at both ends.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Place {
    /// Its name.
    pub name: String,
    /// Left end, mm.
    pub from_mm: f64,
    /// Right end, mm.
    pub to_mm: f64,
}

/// What holds every cut, wherever it is.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PlaceLimits {
    /// Allowed chance of going past the line of any goal.
    pub overshoot: f64,
    /// What is not known of the brace as it stands: spread of its stiffness.
    pub stiffness_ln: f64,
    /// The hand.
    pub hand: Hand,
    /// Deepest cut of one pass, mm.
    pub deepest_pass_mm: f64,
    /// Least height to leave, mm.
    pub smallest_height_mm: f64,
    /// Bending moment the brace has to bear for years, N m; `None`: strength is not looked at.
    pub working_moment_n_m: Option<f64>,
    /// Short-term bending strength of clear wood, MPa; the wood's own when `None`.
    pub bending_strength_mpa: Option<f64>,
    /// Strength over the stress of that moment, at least.
    pub least_margin: f64,
}

impl Default for PlaceLimits {
    /// 2 %; a stiffness known to 1 %; a practised hand; 1 mm a pass; 3 mm of height; four times where a moment is given (common
    /// practice, no source).
    fn default() -> Self {
        Self {
            overshoot: 0.02,
            stiffness_ln: 0.01,
            hand: Hand { bias_fraction: 0.0, scatter_fraction: 0.10, scatter_mm: 0.10 },
            deepest_pass_mm: 1.0,
            smallest_height_mm: 3.0,
            working_moment_n_m: None,
            bending_strength_mpa: None,
            least_margin: 4.0,
        }
    }
}

/// What one place takes and gives.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PlaceWorth {
    /// The place.
    pub name: String,
    /// Left end, mm.
    pub from_mm: f64,
    /// Right end, mm.
    pub to_mm: f64,
    /// Change of each goal's quantity by a mm there, percent.
    pub percent_per_mm: Vec<f64>,
    /// Grams by a mm there.
    pub grams_per_mm: f64,
    /// Change of the first goal's quantity by a gram there, percent.
    pub percent_per_gram: f64,
    /// How deep it may go by height and strength, mm.
    pub room_mm: f64,
    /// True when strength, not height, ends it.
    pub held_by_strength: bool,
    /// How deep to go now, mm.
    pub take_mm: f64,
}

/// One goal before and after.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct GoalAhead {
    /// The quantity.
    pub quantity: String,
    /// Its unit.
    pub unit: String,
    /// As it stands.
    pub now: f64,
    /// After this pass.
    pub after: f64,
    /// Low end.
    pub low: f64,
    /// High end.
    pub high: f64,
    /// Chance of being past its line for good after this pass.
    pub chance_past: f64,
    /// Chance of being in its window after this pass.
    pub chance_in_window: f64,
}

/// Where to cut now, and what comes of it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct WhereToCut {
    /// The places, that which gives most per gram first.
    pub places: Vec<PlaceWorth>,
    /// The goals.
    pub goals: Vec<GoalAhead>,
    /// Grams off in this pass.
    pub grams: f64,
    /// The brace after it.
    pub after: Brace,
    /// True when there is nothing to take.
    pub stop: bool,
    /// In a few sentences.
    pub words: String,
}

/// Part of a place over which its layer runs out at either end.
const RUN_OUT: f64 = 0.25;
/// Step of the slopes, mm.
const STEP_MM: f64 = 0.2;
/// Rounds of straight lines towards the goals.
const ROUNDS: usize = 4;
/// Steps at which the way there is looked at for its chances.
const STEPS: usize = 6;

impl Brace {
    /// The places a maker thinks of: each scallop, each end outside them, and the whole crest.
    pub fn usual_places(&self) -> Vec<Place> {
        let l = self.length_mm();
        let mut scallops: Vec<(f64, f64)> =
            self.profile().scallops().iter().map(|s| ((s.at_mm - s.left_mm).max(0.0), (s.at_mm + s.right_mm).min(l))).collect();
        scallops.sort_by(|a, b| a.0.total_cmp(&b.0));
        let place = |name: String, from_mm: f64, to_mm: f64| Place { name, from_mm, to_mm };
        let mut out: Vec<Place> =
            scallops.iter().enumerate().map(|(k, s)| place(format!("scallop {}", k + 1), s.0, s.1)).collect();
        let (left, right) = match (scallops.first(), scallops.last()) {
            (Some(a), Some(z)) => (a.0, z.1),
            _ => (0.25 * l, 0.75 * l),
        };
        // an end too short to take a layer is no place
        if left > 0.08 * l {
            out.push(place("left end".into(), 0.0, left));
        }
        if l - right > 0.08 * l {
            out.push(place("right end".into(), right, l));
        }
        out.push(place("whole crest".into(), 0.0, l));
        out
    }

    /// The crest lowered by a layer at each place.
    fn lowered(&self, layers: &[Pieces], depth_mm: &[f64]) -> Self {
        let crest = layers
            .iter()
            .zip(depth_mm)
            .filter(|(_, d)| **d > 0.0)
            .fold(self.profile().crest().clone(), |c, (p, d)| c.combined(p, 1.0, -d));
        self.with_crest(crest)
    }
}

/// A layer of 1 mm over a place, its ends run out in half-cosines; at an end of the brace it stays whole.
fn layer(place: &Place, length: f64) -> Pieces {
    let run = RUN_OUT * (place.to_mm - place.from_mm);
    let (mut at, mut height, mut blend) = (Vec::new(), Vec::new(), Vec::new());
    if place.from_mm > 1e-9 {
        at.extend([0.0, place.from_mm, place.from_mm + run]);
        height.extend([0.0, 0.0, 1.0]);
        blend.extend([Blend::Straight, Blend::Cosine]);
    } else {
        at.push(0.0);
        height.push(1.0);
    }
    if place.to_mm < length - 1e-9 {
        at.extend([place.to_mm - run, place.to_mm, length]);
        height.extend([1.0, 0.0, 0.0]);
        blend.extend([Blend::Straight, Blend::Cosine, Blend::Straight]);
    } else {
        at.push(length);
        height.push(1.0);
        blend.push(Blend::Straight);
    }
    through(&at, &height, &blend)
}

/// How deep a place may go: by height, and by strength where a moment is given.
fn room(brace: &Brace, shape: &Pieces, place: &Place, limits: &PlaceLimits) -> Result<(f64, bool)> {
    let x: Vec<f64> = (0..=100).map(|k| place.from_mm + (place.to_mm - place.from_mm) * f64::from(k) / 100.0).collect();
    let by_height = x
        .iter()
        .filter(|v| shape.at(**v) > 0.05)
        .map(|v| (brace.profile().crest().at(*v) - limits.smallest_height_mm) / shape.at(*v))
        .fold(f64::INFINITY, f64::min)
        .max(0.0);
    let Some(moment) = limits.working_moment_n_m else { return Ok((by_height, false)) };
    let strength = strength_mpa(brace.blank().wood(), limits.bending_strength_mpa)?;
    let inner: Vec<f64> = x.into_iter().filter(|v| brace.profile().crest().at(*v) > 0.5).collect();
    let margin = |d: f64| -> Result<f64> {
        let b = brace.lowered(std::slice::from_ref(shape), &[d]);
        let (crest, glue) = b.stress_mpa(&inner, &vec![moment; inner.len()])?;
        let most = crest.iter().chain(&glue).fold(0.0_f64, |m, v| m.max(v.abs()));
        Ok(if most > 0.0 { strength / most } else { f64::INFINITY })
    };
    if by_height <= 0.0 || margin(by_height)? >= limits.least_margin {
        return Ok((by_height, false));
    }
    let (mut lo, mut hi) = (0.0, by_height);
    for _ in 0..30 {
        let m = 0.5 * (lo + hi);
        if margin(m)? >= limits.least_margin { lo = m } else { hi = m }
    }
    Ok((lo, true))
}

/// How much of the spread of stiffness a quantity carries, by its logarithm.
fn share(goal: &Goal) -> f64 {
    match goal.aim() {
        crate::Aim::Frequency => 0.5,
        crate::Aim::Mass => 0.0,
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

/// Where to cut now. The depths are those that bring all goals nearest their middles with the least wood off, found on straight
/// lines that are drawn anew four times, then shortened until no goal is past its line with more than the allowed chance and no
/// place is cut deeper than one pass. Every figure is the depth-resolved beam's.
pub fn where_to_cut(brace: &Brace, goals: &[Goal], places: &[Place], limits: &PlaceLimits) -> Result<WhereToCut> {
    check(brace, goals, places, limits)?;
    let length = brace.length_mm();
    let layers: Vec<Pieces> = places.iter().map(|p| layer(p, length)).collect();
    let rooms = places.iter().zip(&layers).map(|(p, s)| room(brace, s, p, limits)).collect::<Result<Vec<_>>>()?;
    let ln_values = |b: &Brace| goals.iter().map(|g| Ok(g.value(b)?.max(1e-12).ln())).collect::<Result<Vec<f64>>>();
    let slopes = |depth: &[f64], base: &[f64]| -> Result<Vec<Vec<f64>>> {
        (0..places.len())
            .into_par_iter()
            .map(|i| {
                let mut more = depth.to_vec();
                let step = STEP_MM.min(0.5 * rooms[i].0.max(1e-3));
                more[i] += step;
                let v = ln_values(&brace.lowered(&layers, &more))?;
                Ok(v.iter().zip(base).map(|(a, b)| (a - b) / step).collect())
            })
            .collect()
    };
    let now = ln_values(brace)?;
    let mass = brace.mass_g()?;
    let grams: Vec<f64> = layers
        .iter()
        .map(|s| Ok((mass - brace.lowered(std::slice::from_ref(s), &[STEP_MM]).mass_g()?) / STEP_MM))
        .collect::<Result<_>>()?;
    let first = slopes(&vec![0.0; places.len()], &now)?;

    let mut depth = vec![0.0; places.len()];
    let (mut at, mut slope) = (now.clone(), first.clone());
    for round in 0..ROUNDS {
        depth = nearest(&depth, &at, &slope, goals, &rooms, &grams);
        at = ln_values(&brace.lowered(&layers, &depth))?;
        if round + 1 < ROUNDS {
            slope = slopes(&depth, &at)?;
        }
    }
    // one pass is as deep as it is, and a slip is a slip wherever the hand is
    let deepest = depth.iter().copied().fold(0.0, f64::max);
    let most = if deepest > 0.0 { (limits.deepest_pass_mm / deepest).min(1.0) } else { 0.0 };
    let sd_of = |part: f64, k: usize, slope: &[Vec<f64>]| {
        let mut variance = (share(&goals[k]) * limits.stiffness_ln).powi(2);
        for i in 0..places.len() {
            let aim = part * depth[i];
            if aim > 0.0 {
                variance += (slope[i][k] * limits.hand.sd_mm(aim)).powi(2);
            }
        }
        variance.sqrt()
    };
    let mut way = vec![(0.0, now.clone())];
    for k in 1..=STEPS {
        let part = most * k as f64 / STEPS as f64;
        let d: Vec<f64> = depth.iter().map(|d| part * d).collect();
        way.push((part, if deepest > 0.0 { ln_values(&brace.lowered(&layers, &d))? } else { now.clone() }));
    }
    let ln_at = |part: f64, k: usize| {
        let i = way.iter().rposition(|w| w.0 <= part + 1e-12).unwrap_or(0).min(way.len() - 2);
        let (a, b) = (&way[i], &way[i + 1]);
        let t = if b.0 > a.0 { ((part - a.0) / (b.0 - a.0)).clamp(0.0, 1.0) } else { 0.0 };
        a.1[k] + t * (b.1[k] - a.1[k])
    };
    let safe =
        |part: f64| (0..goals.len()).all(|k| chances(&goals[k], ln_at(part, k), sd_of(part, k, &slope)).0 <= limits.overshoot);
    let mut part = most;
    if !safe(most) {
        let (mut lo, mut hi) = (0.0, most);
        for _ in 0..40 {
            let m = 0.5 * (lo + hi);
            if safe(m) { lo = m } else { hi = m }
        }
        part = lo;
    }
    let take: Vec<f64> = depth.iter().map(|d| part * d).collect();
    let after = brace.lowered(&layers, &take);
    let ahead = goals
        .iter()
        .enumerate()
        .map(|(k, g)| {
            let (chance_past, chance_in_window) = chances(g, ln_at(part, k), sd_of(part, k, &slope));
            Ok(GoalAhead {
                quantity: g.quantity(),
                unit: g.unit().into(),
                now: now[k].exp(),
                after: g.value(&after)?,
                low: g.low(),
                high: g.high(),
                chance_past,
                chance_in_window,
            })
        })
        .collect::<Result<Vec<_>>>()?;
    let mut worth: Vec<PlaceWorth> = (0..places.len())
        .map(|i| PlaceWorth {
            name: places[i].name.clone(),
            from_mm: places[i].from_mm,
            to_mm: places[i].to_mm,
            percent_per_mm: first[i].iter().map(|s| 100.0 * s).collect(),
            grams_per_mm: grams[i],
            percent_per_gram: if grams[i] > 1e-9 { 100.0 * first[i][0] / grams[i] } else { 0.0 },
            room_mm: rooms[i].0,
            held_by_strength: rooms[i].1,
            take_mm: take[i],
        })
        .collect();
    worth.sort_by(|a, b| b.percent_per_gram.abs().total_cmp(&a.percent_per_gram.abs()));
    let grams_off = mass - after.mass_g()?;
    let stop = take.iter().all(|d| *d < 1e-3);
    let words = words(&worth, &ahead, grams_off, stop, &at, goals, limits);
    Ok(WhereToCut { places: worth, goals: ahead, grams: grams_off, after, stop, words })
}

/// Depths that bring the straight lines nearest the middles of all goals, in half widths of their windows, within the rooms; of
/// those alike the one with the least wood off. Coordinate descent on a strictly convex function.
fn nearest(depth: &[f64], at: &[f64], slope: &[Vec<f64>], goals: &[Goal], rooms: &[(f64, bool)], grams: &[f64]) -> Vec<f64> {
    let half: Vec<f64> = goals.iter().map(|g| (0.5 * (g.high() / g.low()).ln()).max(1e-4)).collect();
    let least = grams.iter().copied().fold(f64::INFINITY, f64::min).max(1e-6);
    let mut d = depth.to_vec();
    // in half widths: what is missing at these depths
    let mut miss: Vec<f64> = (0..goals.len()).map(|k| (goals[k].target().ln() - at[k]) / half[k]).collect();
    let column = |i: usize, k: usize| slope[i][k] / half[k];
    for _ in 0..4000 {
        let mut moved = 0.0_f64;
        for i in 0..d.len() {
            let curvature: f64 = (0..goals.len()).map(|k| column(i, k).powi(2)).sum::<f64>() + 1e-6;
            let pull: f64 = (0..goals.len()).map(|k| column(i, k) * miss[k]).sum::<f64>() - 1e-3 * grams[i] / least;
            let next = (d[i] + pull / curvature).clamp(0.0, rooms[i].0);
            let step = next - d[i];
            for k in 0..goals.len() {
                miss[k] -= column(i, k) * step;
            }
            d[i] = next;
            moved = moved.max(step.abs());
        }
        if moved < 1e-7 {
            break;
        }
    }
    d
}

fn words(
    worth: &[PlaceWorth],
    goals: &[GoalAhead],
    grams: f64,
    stop: bool,
    end: &[f64],
    of: &[Goal],
    limits: &PlaceLimits,
) -> String {
    let mut out = if stop {
        "Stop: no place has a cut that brings the goals nearer within the allowed chance.".to_string()
    } else {
        let cuts: Vec<String> =
            worth.iter().filter(|w| w.take_mm >= 1e-3).map(|w| format!("{:.2} mm at the {}", w.take_mm, w.name)).collect();
        format!("Take {}: {grams:.2} g in all.", cuts.join(" and "))
    };
    if let Some(best) = worth.first() {
        out.push_str(&format!(
            " Most per gram: the {}, {:.1} % a gram, {:.1} mm of room.",
            best.name, best.percent_per_gram, best.room_mm
        ));
    }
    for (k, g) in goals.iter().enumerate() {
        out.push_str(&format!(
            " The {} goes from {} to {} {} (window {} to {}, chance of going past {:.1} %).",
            g.quantity,
            number(short(g.now)),
            number(short(g.after)),
            g.unit,
            number(short(g.low)),
            number(short(g.high)),
            100.0 * g.chance_past
        ));
        if !of[k].holds(end[k].exp()) {
            out.push_str(&format!(
                " With these places, down to {} mm and with the other goals kept, it comes no nearer than {} {}.",
                number(limits.smallest_height_mm),
                number(short(end[k].exp())),
                g.unit
            ));
        }
    }
    out
}

/// Four figures.
fn short(v: f64) -> f64 {
    if v == 0.0 || !v.is_finite() {
        return v;
    }
    let by = 10f64.powi(3 - v.abs().log10().floor() as i32);
    (v * by).round() / by
}

fn check(brace: &Brace, goals: &[Goal], places: &[Place], limits: &PlaceLimits) -> Result<()> {
    if goals.is_empty() {
        return Err(Error::BadList { name: "goals".into(), problem: "is empty; give at least one goal".into() });
    }
    if places.is_empty() || places.len() > 40 {
        return Err(Error::BadList {
            name: "places".into(),
            problem: format!("holds {} places; give from 1 to 40", places.len()),
        });
    }
    let l = brace.length_mm();
    for (i, p) in places.iter().enumerate() {
        within(&format!("from_mm of places[{i}]"), p.from_mm, "mm", 0.0, l - 5.0)?;
        within(&format!("to_mm of places[{i}]"), p.to_mm, "mm", p.from_mm + 5.0, l)?;
    }
    within("overshoot", limits.overshoot, "", 1e-6, 0.5)?;
    within("stiffness_ln", limits.stiffness_ln, "", 0.0, 0.5)?;
    positive("deepest_pass_mm", limits.deepest_pass_mm, "mm")?;
    not_negative("smallest_height_mm", limits.smallest_height_mm, "mm")?;
    within("smallest_height_mm", limits.smallest_height_mm, "mm", 0.5, 100.0)?;
    within("least_margin", limits.least_margin, "", 1.0, 100.0)?;
    if let Some(m) = limits.working_moment_n_m {
        within("working_moment_n_m", m, "N m", 1e-6, 1e3)?;
    }
    if let Some(v) = limits.bending_strength_mpa {
        within("bending_strength_mpa", v, "MPa", 1.0, 500.0)?;
    }
    Ok(())
}
