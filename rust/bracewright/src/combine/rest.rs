//! Whether stock is at rest with the shop: masses over days, the rate they change at, and when they will stop.

use serde::{Deserialize, Serialize};

use super::budget::rounded;
use crate::error::{Error, Result, number, positive, within};
use crate::normal;

/// Chance at which "yes" or "not yet" is said.
const SURE: f64 = 0.95;
/// Time constants tried.
const TRIED: usize = 161;
/// Half the two-sided 90 % of the normal law.
const Z90: f64 = 1.644_853_626_951_472_2;

/// The answer.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Rest {
    /// The rate is below the limit with a chance of 95 % or more.
    AtRest,
    /// It is above the limit with a chance of 95 % or more.
    NotYet,
    /// The scale cannot tell.
    CannotTell,
}

/// What a row of weighings says.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct RestReport {
    /// The answer.
    pub answer: Rest,
    /// Chance that the rate at the last weighing is below the limit.
    pub chance_at_rest: f64,
    /// Rate at the last weighing, percent of the mass a day; negative while it dries.
    pub rate_percent_per_day: f64,
    /// 90 % interval of the rate.
    pub rate_90_percent_per_day: (f64, f64),
    /// Mass it is on its way to, g (median); `None` when the weighings show no end.
    pub settled_mass_g: Option<f64>,
    /// Time constant of the best exponential, days; `None` when none fits better than a straight line.
    pub time_constant_days: Option<f64>,
    /// Days from the last weighing until the rate falls below the limit (median); 0 when it is there.
    pub days_until_rest: f64,
    /// 90 % interval of the same.
    pub days_until_rest_90: (f64, f64),
    /// Days after which one more weighing on this scale would tell; `None` when it can tell now.
    pub weigh_again_days: Option<f64>,
    /// Standard uncertainty of one weighing as used, g: the scale's, or the scatter of the masses where that is larger.
    pub u_used_g: f64,
    /// What should be known, as sentences.
    pub words: Vec<String>,
}

/// The fit at one time constant: mass and rate (g, g a day) at the last weighing and the variance of the rate.
struct Trial {
    tau: f64,
    mass: f64,
    rate: f64,
    rate_variance: f64,
    chi: f64,
}

/// m(t) = mass + rate x shape(t), shape = tau (1 - exp(-(t - last) / tau)): mass and rate both at the last weighing.
fn trial(days: &[f64], mass: &[f64], tau: f64) -> Option<Trial> {
    let last = days[days.len() - 1];
    let shape: Vec<f64> = days.iter().map(|t| -tau * ((last - t) / tau).min(600.0).exp_m1()).collect();
    let n = days.len() as f64;
    let (mx, my) = (shape.iter().sum::<f64>() / n, mass.iter().sum::<f64>() / n);
    let sxx: f64 = shape.iter().map(|x| (x - mx).powi(2)).sum();
    let sxy: f64 = shape.iter().zip(mass).map(|(x, y)| (x - mx) * (y - my)).sum();
    if !(sxx.is_finite() && sxx > 0.0) {
        return None;
    }
    let rate = sxy / sxx;
    let chi = shape.iter().zip(mass).map(|(x, y)| (y - my - rate * (x - mx)).powi(2)).sum();
    Some(Trial { tau, mass: my - rate * mx, rate, rate_variance: 1.0 / sxx, chi })
}

fn spread(days: &[f64], mass: &[f64], shortest: f64, longest: f64, count: usize) -> Vec<Trial> {
    (0..count).filter_map(|k| trial(days, mass, shortest * (longest / shortest).powf(k as f64 / (count - 1) as f64))).collect()
}

/// Least sum of squares over the time constants.
fn best_chi(days: &[f64], mass: &[f64], mut shortest: f64, mut longest: f64) -> Option<f64> {
    let mut least = f64::INFINITY;
    for _ in 0..8 {
        let trials = spread(days, mass, shortest, longest, 41);
        let at = (0..trials.len()).min_by(|a, b| trials[*a].chi.total_cmp(&trials[*b].chi))?;
        least = least.min(trials[at].chi);
        (shortest, longest) = (trials[at.saturating_sub(1)].tau, trials[(at + 1).min(trials.len() - 1)].tau);
        if longest <= shortest {
            break;
        }
    }
    Some(least)
}

/// Time constants over the range that the weighings leave open, close enough together for a precise scale.
fn believable(days: &[f64], mass: &[f64], mut shortest: f64, mut longest: f64, u: f64) -> Vec<Trial> {
    let mut trials = spread(days, mass, shortest, longest, TRIED);
    for _ in 0..12 {
        let least = trials.iter().map(|t| t.chi).fold(f64::INFINITY, f64::min);
        let open: Vec<usize> = (0..trials.len()).filter(|k| trials[*k].chi - least < 30.0 * u * u).collect();
        let (Some(&first), Some(&last)) = (open.first(), open.last()) else { break };
        if last - first > TRIED / 4 {
            break;
        }
        (shortest, longest) = (trials[first.saturating_sub(1)].tau, trials[(last + 1).min(trials.len() - 1)].tau);
        if longest <= shortest * (1.0 + 1e-12) {
            break;
        }
        trials = spread(days, mass, shortest, longest, TRIED);
    }
    trials
}

fn quantile(mixture: &[(f64, f64, f64)], chance: f64) -> f64 {
    let at = |x: f64| mixture.iter().map(|(w, m, s)| w * normal::cdf((x - m) / s)).sum::<f64>();
    let (mut low, mut high) =
        mixture.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), (_, m, s)| (l.min(m - 9.0 * s), h.max(m + 9.0 * s)));
    for _ in 0..100 {
        let mid = 0.5 * (low + high);
        if at(mid) < chance { low = mid } else { high = mid }
    }
    0.5 * (low + high)
}

fn of_weighed(mut list: Vec<(f64, f64)>, chance: f64) -> f64 {
    list.sort_by(|a, b| a.0.total_cmp(&b.0));
    let all: f64 = list.iter().map(|v| v.1).sum();
    let mut sum = 0.0;
    for (v, w) in &list {
        sum += w;
        if sum >= chance * all {
            return *v;
        }
    }
    list.last().map_or(0.0, |v| v.0)
}

/// Reads a row of weighings: `days` increasing, `mass_g` beside them, `u_scale_g` the standard uncertainty of one weighing
/// (repeat and resolution; a fixed error of the scale does not matter), `limit` the rate that counts as rest, percent of the
/// mass a day (0.1 is usual).
///
/// An exponential approach is fitted with its time constant left open, each weighed by its likelihood from a fifth of the
/// mean interval to thirty times the whole; what comes out is a statement about rates with the scale's uncertainty in it.
pub fn rest(days: &[f64], mass_g: &[f64], u_scale_g: f64, limit_percent_per_day: f64) -> Result<RestReport> {
    crate::error::same_length("days", days.len(), "mass_g", mass_g.len())?;
    crate::error::increasing("days", days, "days", 2)?;
    for (i, m) in mass_g.iter().enumerate() {
        within(&format!("mass_g[{i}]"), *m, "g", 1e-3, 1e7)?;
    }
    let span = days[days.len() - 1] - days[0];
    within("days", span, "days from first to last", 1e-3, 1e5)?;
    positive("u_scale_g", u_scale_g, "g")?;
    within("limit_percent_per_day", limit_percent_per_day, "%/day", 1e-4, 10.0)?;
    let largest = mass_g.iter().fold(0.0_f64, |m, v| m.max(*v));
    within("u_scale_g", u_scale_g, "g", 1e-9 * largest, 0.1 * largest)?;
    let (n, mean) = (days.len(), mass_g.iter().sum::<f64>() / mass_g.len() as f64);
    // about the mean, so that the digits are those of the change
    let change: Vec<f64> = mass_g.iter().map(|m| m - mean).collect();
    let (shortest, longest) = ((0.2 * span / (n - 1) as f64).max(span / 200.0), 30.0 * span);
    let nothing = || Error::Refused("days hold no change of time that a rate could be read from".into());
    let least = best_chi(days, &change, shortest, longest).ok_or_else(nothing)?;
    let scatter = if n > 3 { (least / (n - 3) as f64).sqrt() } else { 0.0 };
    let u = u_scale_g.max(scatter);
    let trials = believable(days, &change, shortest, longest, u);
    let Some(best) = trials.iter().min_by(|a, b| a.chi.total_cmp(&b.chi)) else { return Err(nothing()) };
    let mut words = Vec::new();
    if scatter > 2.0 * u_scale_g {
        words.push(format!(
            "the masses scatter by {:.3} g about a smooth approach, more than the scale's {} g: the air of the shop changed, or the \
             scale is worse than said",
            scatter,
            number(u_scale_g)
        ));
    }
    let weight = |t: &Trial| (-0.5 * (t.chi - best.chi) / (u * u)).exp();
    let total: f64 = trials.iter().map(weight).sum();
    let mass_now = mean + best.mass;
    let limit = 0.01 * limit_percent_per_day * mass_now;
    let mixture: Vec<(f64, f64, f64)> = trials.iter().map(|t| (weight(t) / total, t.rate, u * t.rate_variance.sqrt())).collect();
    let chance: f64 = mixture
        .iter()
        .map(|(w, m, s)| w * (normal::cdf((limit - m) / s) - normal::cdf((-limit - m) / s)))
        .sum::<f64>()
        .clamp(0.0, 1.0);
    let (low, mid, high) = (quantile(&mixture, 0.05), quantile(&mixture, 0.5), quantile(&mixture, 0.95));
    let answer = if chance >= SURE {
        Rest::AtRest
    } else if chance <= 1.0 - SURE {
        Rest::NotYet
    } else {
        Rest::CannotTell
    };
    let mut waits = Vec::with_capacity(trials.len() * 19);
    for (t, (w, _, s)) in trials.iter().zip(&mixture) {
        for q in 0..19 {
            let r = t.rate + s * normal::quantile_unchecked((q as f64 + 0.5) / 19.0);
            waits.push((t.tau * (r.abs() / limit).ln().max(0.0), w / 19.0));
        }
    }
    let (soon, until, late) = (of_weighed(waits.clone(), 0.05), of_weighed(waits.clone(), 0.5), of_weighed(waits, 0.95));
    // a straight line is the longest time constant; the exponential must beat it
    let straight = trial(days, &change, longest).map_or(best.chi, |t| t.chi);
    let curved = (straight - best.chi) / (u * u) > 3.84 && n > 2;
    let time_constant = curved.then_some(best.tau);
    let settled = curved.then(|| {
        let ends = trials.iter().zip(&mixture).map(|(t, (w, ..))| (mean + t.mass + t.rate * t.tau, *w)).collect();
        of_weighed(ends, 0.5)
    });
    // one more weighing and the last one, a straight line between them, half the limit to spare
    let again = (answer == Rest::CannotTell).then(|| 2.0 * Z90 * 2.0_f64.sqrt() * u / limit);
    let percent = |r: f64| 100.0 * r / mass_now;
    let rate_words = format!(
        "{:+.3} % a day at the last weighing (90 %: {:+.3} to {:+.3}), limit {} %",
        percent(mid),
        percent(low),
        percent(high),
        number(limit_percent_per_day)
    );
    words.insert(
        0,
        match answer {
            Rest::AtRest => format!("at rest with the shop: {rate_words}"),
            Rest::NotYet => format!(
                "not yet at rest: {rate_words}; about {:.1} days more if the air stays as it is (90 %: {:.1} to {:.1})",
                until, soon, late
            ),
            Rest::CannotTell => {
                let days = again.unwrap_or(0.0);
                let how = if days > 30.0 { "; use a finer scale" } else { "" };
                format!(
                    "cannot tell with this scale (one weighing is good to {} g): {rate_words}; weigh again in {:.1} days{how}",
                    rounded(u, u).1,
                    days
                )
            }
        },
    );
    if n == 2 {
        words.push("two weighings give a mean rate between them, not the shape of the approach; weigh a third time".into());
    }
    Ok(RestReport {
        answer,
        chance_at_rest: chance,
        rate_percent_per_day: percent(mid),
        rate_90_percent_per_day: (percent(low), percent(high)),
        settled_mass_g: settled,
        time_constant_days: time_constant,
        days_until_rest: until,
        days_until_rest_90: (soon, late),
        weigh_again_days: again,
        u_used_g: u,
        words,
    })
}
