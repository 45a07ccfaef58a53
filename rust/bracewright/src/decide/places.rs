//! Where to cut: several places at once, towards several goals, by what each takes and gives.

use serde::{Deserialize, Serialize};

use super::cut_words::{Ended, words};
use super::cutting::{Cutting, Drawn};
use crate::advice::room_for_a_shaving;
use crate::belief::Hand;
use crate::brace::Brace;
use crate::error::{Error, Result, not_negative, positive, within};
use crate::goal::Goal;

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
    /// Chance of being in its window at which a goal is near enough; the chisel stops when all are.
    pub enough: f64,
    /// Deepest cut of one pass, mm: of all layers together, wherever they overlap.
    pub deepest_pass_mm: f64,
    /// Thinnest cut the tool can be trusted with, mm; a thinner one is not taken.
    pub smallest_shaving_mm: f64,
    /// Least height to leave, mm, by all layers together.
    pub smallest_height_mm: f64,
    /// Bending moment the brace has to bear for years, N m; `None`: strength is not looked at.
    pub working_moment_n_m: Option<f64>,
    /// Short-term bending strength of clear wood, MPa; the wood's own when `None`.
    pub bending_strength_mpa: Option<f64>,
    /// Strength over the stress of that moment, at least.
    pub least_margin: f64,
}

impl Default for PlaceLimits {
    /// 2 %; a stiffness known to 1 %; a practised hand; enough at 90 %; 1 mm a pass and 0.15 mm at least; 3 mm of height; four
    /// times where a moment is given (common practice, no source).
    fn default() -> Self {
        Self {
            overshoot: 0.02,
            stiffness_ln: 0.01,
            hand: Hand { bias_fraction: 0.0, scatter_fraction: 0.10, scatter_mm: 0.10 },
            enough: 0.90,
            deepest_pass_mm: 1.0,
            smallest_shaving_mm: 0.15,
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
    /// Left end of its layer, mm: where a place has no height or strength to give, its layer runs out before it.
    pub from_mm: f64,
    /// Right end of its layer, mm.
    pub to_mm: f64,
    /// Change of each goal's quantity by a mm there, percent.
    pub percent_per_mm: Vec<f64>,
    /// Grams by a mm there.
    pub grams_per_mm: f64,
    /// Change of the first goal's quantity by a gram there, percent.
    pub percent_per_gram: f64,
    /// How deep it may go by itself, by height and strength, mm; layers that overlap share it.
    pub room_mm: f64,
    /// True when strength, not height, ends it.
    pub held_by_strength: bool,
    /// How deep to aim now, mm; the hand takes its bias more.
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

/// Times the way is drawn anew after places were left out.
const LEFT_OUT: usize = 2;

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
}

/// Where to cut now. The depths are those that bring all goals nearest their middles with little wood off, found on straight
/// lines that are drawn anew until they foretell the depth-resolved beam; places worth the same share the cut. No station is
/// lowered by all layers together below its height or its strength. Of these cuts one pass is taken, no deeper than a pass
/// anywhere, shortened until no goal is past its line with more than the allowed chance; cuts thinner than a shaving are left out.
pub fn where_to_cut(brace: &Brace, goals: &[Goal], places: &[Place], limits: &PlaceLimits) -> Result<WhereToCut> {
    check(brace, goals, places, limits)?;
    let c = Cutting::new(brace, goals, places, limits)?;
    let none = vec![0.0; places.len()];
    let here = Drawn { depth: none.clone(), ln: c.now.clone(), slope: c.first.clone() };
    let standing = c.chances(&none, &c.now, &c.first);
    let mut active: Vec<bool> = c.layers.layers.iter().map(|l| l.room_mm >= limits.smallest_shaving_mm).collect();
    let (mut end, mut cut) = (here.clone(), here.clone());
    let ended = if standing.iter().all(|s| s.1 >= limits.enough) {
        Some(Ended::InWindow)
    } else if let Some(k) = (0..goals.len()).find(|k| standing[*k].0 > limits.overshoot) {
        Some(Ended::Past(k))
    } else {
        let (mut way, mut thinnest) = (c.towards(here.clone(), &active)?, None::<f64>);
        end = way.clone();
        for left in 0..=LEFT_OUT {
            let pass = c.one_pass(&here, &way.depth);
            let (part, at) = c.safe_part(&pass)?;
            let thin: Vec<usize> = (0..none.len()).filter(|i| at.depth[*i] > 0.0 && at.depth[*i] < c.least()).collect();
            let deepest = at.depth.iter().copied().fold(0.0, f64::max);
            if part <= 0.0 && pass.iter().any(|d| *d > 0.0) {
                thinnest = thinnest.or(Some(0.0));
            }
            if thin.is_empty() {
                cut = at;
                break;
            }
            thinnest = Some(deepest / c.taken());
            if left == LEFT_OUT {
                // the rest is dropped as it stands, where that keeps the chances
                let depth: Vec<f64> = at.depth.iter().map(|d| if *d < c.least() { 0.0 } else { *d }).collect();
                let ln = c.ln(&depth)?;
                if c.safe(&depth, &ln, &at.slope) {
                    cut = Drawn { depth, ln, slope: at.slope };
                }
                break;
            }
            // what the goals did not ask for is not cut in the place of what is too thin
            active.iter_mut().zip(&way.depth).for_each(|(a, d)| *a &= *d > 0.0);
            c.without_thin(&here, &way, part, &mut active);
            way = c.towards(way, &active)?;
        }
        let any = cut.depth.iter().any(|d| *d > 0.0);
        (!any).then_some(thinnest.map_or(Ended::Nothing, Ended::Thin))
    };
    let after = c.layers.lowered(brace, &cut.depth);
    let ahead: Vec<GoalAhead> = c
        .chances(&cut.depth, &cut.ln, &cut.slope)
        .into_iter()
        .enumerate()
        .map(|(k, (chance_past, chance_in_window))| GoalAhead {
            quantity: goals[k].quantity(),
            unit: goals[k].unit().into(),
            now: c.now[k].exp(),
            after: cut.ln[k].exp(),
            low: goals[k].low(),
            high: goals[k].high(),
            chance_past,
            chance_in_window,
        })
        .collect();
    let mut worth: Vec<PlaceWorth> = (0..places.len())
        .map(|i| PlaceWorth {
            name: places[i].name.clone(),
            from_mm: c.layers.layers[i].from_mm,
            to_mm: c.layers.layers[i].to_mm,
            percent_per_mm: c.first[i].iter().map(|s| 100.0 * s).collect(),
            grams_per_mm: c.grams[i],
            percent_per_gram: if c.grams[i] > 1e-9 { 100.0 * c.first[i][0] / c.grams[i] } else { 0.0 },
            room_mm: c.layers.layers[i].room_mm,
            held_by_strength: c.layers.layers[i].held_by_strength,
            take_mm: cut.depth[i] / c.taken(),
        })
        .collect();
    let shortened =
        |w: &PlaceWorth| places.iter().any(|p| p.name == w.name && (p.from_mm < w.from_mm - 0.5 || p.to_mm > w.to_mm + 0.5));
    worth.sort_by(|a, b| b.percent_per_gram.abs().total_cmp(&a.percent_per_gram.abs()));
    let grams = brace.mass_g()? - after.mass_g()?;
    let end: Vec<f64> = end.ln.iter().map(|v| v.exp()).collect();
    let words = words(&worth, &shortened, &ahead, grams, ended.as_ref(), &end, goals, limits);
    Ok(WhereToCut { places: worth, goals: ahead, grams, after, stop: ended.is_some(), words })
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
    within("enough", limits.enough, "", 0.5, 1.0)?;
    limits.hand.check()?;
    positive("deepest_pass_mm", limits.deepest_pass_mm, "mm")?;
    not_negative("smallest_shaving_mm", limits.smallest_shaving_mm, "mm")?;
    room_for_a_shaving("deepest_pass_mm", limits.deepest_pass_mm, limits.smallest_shaving_mm)?;
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
