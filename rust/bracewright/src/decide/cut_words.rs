//! Where to cut, said for the bench.

use super::places::{GoalAhead, PlaceLimits, PlaceWorth};
use crate::error::number;
use crate::goal::Goal;

/// Why nothing is to be taken.
pub(super) enum Ended {
    /// Every goal is in its window surely enough.
    InWindow,
    /// This goal is past its line with more than the allowed chance.
    Past(usize),
    /// The deepest cut that is allowed, mm, is no shaving.
    Thin(f64),
    /// No place has a cut that brings the goals nearer.
    Nothing,
}

pub(super) fn words(
    worth: &[PlaceWorth],
    shortened: &dyn Fn(&PlaceWorth) -> bool,
    goals: &[GoalAhead],
    grams: f64,
    ended: Option<&Ended>,
    end: &[f64],
    of: &[Goal],
    limits: &PlaceLimits,
) -> String {
    let mut out = first(worth, goals, grams, ended, of, limits);
    for w in worth.iter().filter(|w| w.take_mm > 0.0 && shortened(w)) {
        out.push_str(&format!(
            " The {} is cut from {:.0} to {:.0} mm: beyond that there is no {} to give.",
            w.name,
            w.from_mm,
            w.to_mm,
            if limits.working_moment_n_m.is_some() { "height or strength" } else { "height" }
        ));
    }
    if let Some(best) = worth.first() {
        out.push_str(&format!(
            " Most per gram: the {}, {:.1} % a gram, {:.1} mm of room{}.",
            best.name,
            best.percent_per_gram,
            best.room_mm,
            if best.held_by_strength { ", which strength ends" } else { "" }
        ));
    }
    for (k, g) in goals.iter().enumerate() {
        let window = format!("window {} to {}", number(short(g.low)), number(short(g.high)));
        if ended.is_some() {
            out.push_str(&format!(
                " The {} stands at {} {} ({window}, chance of being in it {:.0} %).",
                g.quantity,
                number(short(g.now)),
                g.unit,
                100.0 * g.chance_in_window
            ));
        } else {
            out.push_str(&format!(
                " The {} goes from {} to {} {} ({window}, chance of going past {:.1} %).",
                g.quantity,
                number(short(g.now)),
                number(short(g.after)),
                g.unit,
                100.0 * g.chance_past
            ));
        }
        let looked = !matches!(ended, Some(Ended::Past(_) | Ended::InWindow));
        if looked && !of[k].holds(end[k]) && !of[k].holds(g.now) {
            let miss = |v: f64| (v / of[k].target()).ln().abs();
            let nearest = if miss(end[k]) < miss(g.now) { end[k] } else { g.now };
            out.push_str(&format!(
                " With these places, down to {} mm{} and with the other goals kept, it comes no nearer than {} {}.",
                number(limits.smallest_height_mm),
                if limits.working_moment_n_m.is_some() { ", within the strength" } else { "" },
                number(short(nearest)),
                g.unit
            ));
        }
    }
    out
}

fn first(
    worth: &[PlaceWorth],
    goals: &[GoalAhead],
    grams: f64,
    ended: Option<&Ended>,
    of: &[Goal],
    limits: &PlaceLimits,
) -> String {
    match ended {
        None => {
            let cuts: Vec<String> =
                worth.iter().filter(|w| w.take_mm > 0.0).map(|w| format!("{:.2} mm at the {}", w.take_mm, w.name)).collect();
            format!("Take {}: {grams:.2} g in all.", cuts.join(" and "))
        }
        Some(Ended::InWindow) => {
            let least = goals.iter().map(|g| g.chance_in_window).fold(1.0, f64::min);
            format!("Stop: every goal is in its window with a chance of at least {:.0} %.", (100.0 * least).floor().min(99.0))
        }
        Some(Ended::Past(k)) => {
            let (line, way) = if of[*k].rises_with_carving() { (goals[*k].high, "above") } else { (goals[*k].low, "below") };
            format!(
                "Stop: as it stands the {} is {way} {} {} with a chance of {:.1} %, and {:.1} % is allowed; wood cannot be put back.",
                goals[*k].quantity,
                number(short(line)),
                goals[*k].unit,
                100.0 * goals[*k].chance_past,
                100.0 * limits.overshoot
            )
        }
        Some(Ended::Thin(most)) if *most < 0.005 => "Stop: no cut keeps to the allowed chance of going past.".into(),
        Some(Ended::Thin(most)) => format!(
            "Stop: the deepest cut that helps and is allowed, {most:.2} mm, is thinner than a shaving of {} mm.",
            number(limits.smallest_shaving_mm)
        ),
        Some(Ended::Nothing) => "Stop: no place has a cut that brings the goals nearer within the limits.".into(),
    }
}

/// Four figures.
fn short(v: f64) -> f64 {
    if v == 0.0 || !v.is_finite() {
        return v;
    }
    let by = 10f64.powi(3 - v.abs().log10().floor() as i32);
    (v * by).round() / by
}
