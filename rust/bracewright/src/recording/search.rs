//! How many decaying tones a spectrum holds, and where: candidates, joint fit, and a test for every one kept.
//!
//! A candidate is where the residual looks most like a decaying tone. It stays when the misfit falls by more than chance
//! would give anywhere in the band (the Bayesian criterion's charge for four numbers, and three more; measured, noise passes it
//! in one record of a thousand), and each weak tone must pass the same test again when all others are in. Matched to the same
//! chance of noise, no test sees a lone tone of noncentrality 31 in more than half of the records: what is missed is a limit.

use std::f64::consts::PI;

use super::beside::{Beside, allowed_for, neighbours};
use super::decimate::{C, Plan};
use super::passed::widening;
use super::poles::{Fit, Problem};

/// Rounds of candidates before the search stops.
const ROUNDS: usize = 16;
/// Steps after which a trial must have brought this share of the charge to be carried on: chance seldom does.
const LOOK: usize = 6;
const HOPE: f64 = 0.25;
/// Share of the charge at which a tone is taken in while the search goes on: the noise then still holds tones not yet found, its own
/// among them, and makes each look weaker than it is. The last test asks the whole.
const GROW: f64 = 0.75;
/// Fall asked of a tone at a known place: chance passes it once in a thousand tries (chi squared of four degrees).
const KNOWN: f64 = 18.5;
/// Columns of the smooth background, when the residual asks for one.
const BACKGROUND: usize = 4;
/// Fall of the misfit the background must bring: chance is below one in a million for eight numbers.
const BACKGROUND_TEST: f64 = 45.0;
/// Half width of the neighbourhood the noise is taken from, Hz.
const NEIGHBOURS_HZ: f64 = 60.0;
/// And at least so many bins to either side.
const NEIGHBOURS: usize = 24;

/// What the search found.
pub(super) struct Found {
    pub fit: Fit,
    /// Standard uncertainties of the poles' real and imaginary parts, what a neighbour too weak to be seen may do in them.
    pub u_parts: Vec<(f64, f64)>,
    /// Places of tones that did not pass for the whole band but would at a known place.
    pub doubtful: Vec<C>,
    /// Fall of the misfit that was asked of each tone.
    pub charges: Vec<f64>,
    /// By how much each tone's level is too high and its uncertainty too low for having just passed the test.
    pub widening: Vec<f64>,
    /// Neighbours that may be there.
    pub beside: Vec<Beside>,
    /// Columns of the smooth background.
    pub background: usize,
    /// Noise power of each bin.
    pub noise: Vec<f64>,
    /// Degrees of freedom behind the noise at each bin.
    pub freedom: Vec<f64>,
}

/// Misfit (twice the fall of minus log likelihood) a tone must take away to be believed: the criterion's charge, were the noise
/// known; taken from so few bins its chance is that of an F law, not of chi squared, and the same chance asks for more.
fn charge(plan: &Plan) -> f64 {
    let known = 2.0 * (2.0 * plan.omega.len() as f64).ln() + 1.5;
    let free = (2 * reach(plan) + 1).min(plan.omega.len()) as f64 - 4.0;
    2.0 * free * (known / free).exp_m1()
}

/// Half width of a neighbourhood in bins.
fn reach(plan: &Plan) -> usize {
    ((NEIGHBOURS_HZ / plan.step_hz()).round() as usize).max(NEIGHBOURS)
}

/// Noise power by medians over blocks, joined on a logarithmic scale: few strong bins do not lift it.
fn robust_noise(plan: &Plan, residual: &[C]) -> Vec<f64> {
    let n = residual.len();
    let block = reach(plan).min(n);
    let count = (n / block).max(1);
    let mut at = Vec::with_capacity(count);
    for b in 0..count {
        let (from, to) = (b * n / count, (b + 1) * n / count);
        let mut p: Vec<f64> = residual[from..to].iter().map(|r| r.norm_sqr()).collect();
        let mid = p.len() / 2;
        let (_, median, _) = p.select_nth_unstable_by(mid, f64::total_cmp);
        // The median of an exponential law is ln 2 of its mean.
        at.push((0.5 * (from + to) as f64, (*median / std::f64::consts::LN_2).max(1e-300).ln()));
    }
    let mut k = 0;
    (0..n)
        .map(|m| {
            let x = m as f64 + 0.5;
            while k + 2 < count && x > at[k + 1].0 {
                k += 1;
            }
            if count == 1 || x <= at[0].0 {
                return at[0].1.exp();
            }
            let (a, b) = (at[k], at[k + 1]);
            let t = ((x - a.0) / (b.0 - a.0)).min(1.0);
            (a.1 + t * (b.1 - a.1)).exp()
        })
        .collect()
}

/// Noise power by means over the neighbourhood, with what the fit itself took away given back.
fn mean_noise(plan: &Plan, fit: &Fit, background: usize) -> (Vec<f64>, Vec<f64>) {
    let n = fit.residual.len();
    let half = reach(plan);
    let mut sums = vec![0.0; n + 1];
    for (m, r) in fit.residual.iter().enumerate() {
        sums[m + 1] = sums[m] + r.norm_sqr();
    }
    let step = plan.omega[1] - plan.omega[0];
    let places: Vec<f64> = fit.poles.iter().map(|s| (s.im - plan.omega[0]) / step).collect();
    (0..n)
        .map(|m| {
            let from = m.saturating_sub(half).min(n.saturating_sub(2 * half + 1));
            let to = (from + 2 * half + 1).min(n);
            let inside = places.iter().filter(|p| **p >= from as f64 && **p < to as f64).count() as f64;
            let taken = 2.0 * inside + background as f64 * (to - from) as f64 / n as f64;
            let free = ((to - from) as f64 - taken).max(2.0);
            (((sums[to] - sums[from]) / free).max(1e-300), 2.0 * free)
        })
        .unzip()
}

fn roots(noise: &[f64]) -> Vec<f64> {
    noise.iter().map(|p| 1.0 / p.sqrt()).collect()
}

/// Where the residual looks like a decaying tone: fall of the misfit, pole; strongest first, none close to another.
fn candidates(plan: &Plan, residual: &[C], root: &[f64], least: f64) -> Vec<(f64, C)> {
    let n = residual.len();
    let step = plan.omega[1] - plan.omega[0];
    let mut best = vec![(0.0, 0.0); n];
    for decay in [4.0, 12.0, 36.0, 108.0] {
        let decay = f64::max(decay, 0.4 * step);
        let half = ((2.0 * decay / step).ceil() as usize + 1).min(24).min(n - 1);
        let shape: Vec<C> = (0..=2 * half).map(|o| C::new(decay, (o as f64 - half as f64) * step).inv().conj()).collect();
        for m in 0..n {
            let (from, to) = (m.saturating_sub(half), (m + half).min(n - 1));
            let (mut sum, mut size) = (C::new(0.0, 0.0), 0.0);
            for b in from..=to {
                let t = shape[b + half - m];
                let w = root[b] * root[b];
                sum += t * residual[b] * w;
                size += t.norm_sqr() * w;
            }
            let stat = 2.0 * sum.norm_sqr() / size;
            if stat > best[m].0 {
                best[m] = (stat, decay);
            }
        }
    }
    let mut peaks: Vec<usize> = (0..n)
        .filter(|&m| best[m].0 > least && (m == 0 || best[m - 1].0 <= best[m].0) && (m + 1 == n || best[m + 1].0 < best[m].0))
        .collect();
    peaks.sort_by(|a, b| best[*b].0.total_cmp(&best[*a].0));
    let mut out: Vec<(f64, C)> = Vec::new();
    for m in peaks {
        let pole = C::new(-best[m].1, plan.omega[m]);
        let apart = |q: &C| (q.im - pole.im).abs() > 2.0 * step.max(0.5 * best[m].1.max(-q.re));
        if out.iter().all(|(_, q)| apart(q)) {
            out.push((best[m].0, pole));
        }
    }
    out
}

/// The strongest of each neighbourhood: what one tone too few leaves has several humps, and one more takes them all.
fn apart(list: &[(f64, C)]) -> Vec<(f64, C)> {
    let mut out: Vec<(f64, C)> = Vec::new();
    for &(stat, s) in list {
        let far = |q: &C| (q.im - s.im).abs() > 2.0 * PI * NEIGHBOURS_HZ;
        if out.iter().all(|(_, q)| far(q)) {
            out.push((stat, s));
        }
    }
    out
}

/// Fall of the misfit from one residual to that of a fit with more tones, by the noise that this leaves: what the noise would be
/// without them holds their own power, and a weak tone would hide itself.
fn fall(problem: &Problem, before: &[C], fit: &Fit) -> f64 {
    let (noise, _) = mean_noise(problem.plan, fit, problem.background);
    let sum: f64 = before.iter().zip(&fit.residual).zip(&noise).map(|((b, a), n)| (b.norm_sqr() - a.norm_sqr()) / n).sum();
    2.0 * sum
}

/// Drops, weakest first, tones whose loss costs less than the charge; those that would have passed at a known place are noted.
fn pruned(problem: &Problem, mut fit: Fit, charge: f64, doubtful: &mut Vec<C>) -> Fit {
    let mut passed: Vec<C> = Vec::new();
    loop {
        let strength = |i: usize| 0.5 * (fit.weights[i].norm() / fit.u_weights[i]).powi(2);
        let near = |a: C, b: C| (a - b).norm() < 0.5 * (1.0 - a.re).abs();
        let weakest = (0..fit.poles.len())
            .filter(|&i| !passed.iter().any(|p| near(fit.poles[i], *p)))
            .map(|i| (strength(i), i))
            .filter(|(s, _)| s.is_nan() || *s <= 2.0 * charge)
            .min_by(|a, b| a.0.total_cmp(&b.0));
        let Some((_, i)) = weakest else { return fit };
        let (mut poles, mut weights) = (fit.poles.clone(), fit.weights.clone());
        poles.remove(i);
        weights.remove(i);
        let without = problem.refine(&poles, Some(&weights), 0.05, 10);
        let cost = fall(problem, &without.residual, &fit);
        if cost < charge {
            if cost > KNOWN {
                doubtful.push(fit.poles[i]);
            }
            fit = without;
        } else {
            passed.push(fit.poles[i]);
        }
    }
}

/// What the loss of each tone would cost; of one far above the charge, infinity.
fn strengths(problem: &Problem, fit: &Fit, charges: &[f64]) -> Vec<f64> {
    (0..fit.poles.len())
        .zip(charges)
        .map(|(i, charge)| {
            if (fit.weights[i].norm() / fit.u_weights[i]).powi(2) > 2.5 * charge {
                return f64::INFINITY;
            }
            let (mut poles, mut weights) = (fit.poles.clone(), fit.weights.clone());
            poles.remove(i);
            weights.remove(i);
            fall(problem, &problem.refine(&poles, Some(&weights), 0.05, 10).residual, fit)
        })
        .collect()
}

/// Tones that left the band or no longer ring (a quality under 1.5) are no modes: out with them.
fn kept(problem: &Problem, fit: Fit) -> Fit {
    let omega = &problem.plan.omega;
    let (low, high) = (omega[0], omega[omega.len() - 1]);
    let sound = |s: &C| s.im >= low && s.im <= high && -s.re < s.im / 3.0;
    if fit.poles.iter().all(sound) {
        return fit;
    }
    let (poles, weights): (Vec<C>, Vec<C>) =
        fit.poles.iter().zip(&fit.weights).filter(|(s, _)| sound(s)).map(|(s, c)| (*s, *c)).unzip();
    problem.refine(&poles, Some(&weights), 0.05, 8)
}

/// Finds every tone of a spectrum that passes the test, at most `most`.
pub(super) fn search(plan: &Plan, data: &[C], start: &[C], most: usize) -> Found {
    let charge = charge(plan);
    let grow = GROW * charge;
    let mut noise = robust_noise(plan, data);
    let mut problem = Problem { plan, data, root: roots(&noise), background: 0 };
    let first: Vec<C> = if start.is_empty() {
        candidates(plan, data, &problem.root, charge).into_iter().take(most.min(12)).map(|(_, p)| p).collect()
    } else {
        start.to_vec()
    };
    let mut fit = kept(&problem, problem.refine(&first, None, 0.05, 12));
    for _ in 0..ROUNDS {
        noise = robust_noise(plan, &fit.residual);
        problem.root = roots(&noise);
        let all = candidates(plan, &fit.residual, &problem.root, 0.5 * charge);
        let more = apart(&all);
        let room = most.saturating_sub(fit.poles.len());
        if more.is_empty() || room == 0 {
            break;
        }
        let before = problem.refine(&fit.poles, Some(&fit.weights), 0.05, 6);
        let mut grown = None;
        let mut tried: Vec<&[(f64, C)]> = Vec::new();
        // All that lie apart; the strongest alone; the strongest humps together, should one alone have settled badly.
        for (list, take) in [(&more, more.len().min(4)), (&more, 1), (&all, all.len().min(3))] {
            let take = take.min(room);
            if tried.contains(&&list[..take]) {
                continue;
            }
            tried.push(&list[..take]);
            let mut poles = before.poles.clone();
            poles.extend(list.iter().take(take).map(|(_, p)| *p));
            let mut weights = before.weights.clone();
            weights.resize(poles.len(), C::new(0.0, 0.0));
            let trial = problem.refine(&poles, Some(&weights), 0.05, LOOK);
            if 2.0 * (before.cost - trial.cost) < HOPE * charge {
                continue;
            }
            let trial = kept(&problem, problem.refine(&trial.poles, Some(&trial.weights), 0.05, 10));
            let take = trial.poles.len().saturating_sub(before.poles.len());
            if take > 0 && 2.0 * (before.cost - trial.cost) > grow * take as f64 {
                grown = Some(trial);
                break;
            }
        }
        match grown {
            Some(g) => fit = pruned(&problem, g, grow, &mut Vec::new()),
            None => break,
        }
    }
    finish(problem, fit, charge, most)
}

/// Smooth background if asked for, last test of the weak, and the fit at the noise found.
fn finish(mut problem: Problem, mut fit: Fit, charge: f64, most: usize) -> Found {
    problem.root = roots(&mean_noise(problem.plan, &fit, 0).0);
    if 2.0 * problem.smooth_fall(&fit.residual, BACKGROUND) > 0.5 * BACKGROUND_TEST {
        fit = problem.refine(&fit.poles, Some(&fit.weights), 0.05, 8);
        problem.background = BACKGROUND;
        let with = problem.refine(&fit.poles, Some(&fit.weights), 0.05, 8);
        if 2.0 * (fit.cost - with.cost) > BACKGROUND_TEST {
            fit = with;
        } else {
            problem.background = 0;
        }
        problem.root = roots(&mean_noise(problem.plan, &fit, problem.background).0);
    }
    fit = kept(&problem, problem.refine(&fit.poles, Some(&fit.weights), 0.05, 12));
    let mut doubtful = Vec::new();
    fit = pruned(&problem, fit, charge, &mut doubtful);
    let (mut noise, mut freedom) = (Vec::new(), Vec::new());
    for round in 0..6 {
        (noise, freedom) = mean_noise(problem.plan, &fit, problem.background);
        // Whitened with the noise it left, the misfit counts the bins that are free: else the fit moved on.
        let now: f64 = noise.iter().map(|p| p.ln()).sum::<f64>();
        let then: f64 = problem.root.iter().map(|r| -2.0 * r.ln()).sum::<f64>();
        problem.root = roots(&noise);
        if (now - then).abs() < 0.02 * noise.len() as f64 || round >= 4 {
            let near = neighbours(&problem, &fit, charge);
            let seen = near.iter().position(|n| n.fall > GROW * charge).filter(|_| fit.poles.len() < most && round < 5);
            doubtful.extend(
                near.iter().filter(|n| n.fall > KNOWN && n.fall <= GROW * charge).filter_map(|n| n.with.poles.last().copied()),
            );
            match seen {
                // one in place of another is no mode more
                Some(k) => match pruned(&problem, near[k].with.clone(), charge, &mut doubtful) {
                    grown if grown.poles.len() > fit.poles.len() => fit = grown,
                    _ => break,
                },
                None => break,
            }
        } else {
            fit = problem.refine(&fit.poles, Some(&fit.weights), 0.03, 12);
        }
    }
    let charges = vec![charge; fit.poles.len()];
    Found { doubtful, ..closed(&problem, fit, charges, noise, freedom) }
}

/// What is said of a fit that is settled.
fn closed(problem: &Problem, mut fit: Fit, charges: Vec<f64>, noise: Vec<f64>, freedom: Vec<f64>) -> Found {
    let widening = strengths(problem, &fit, &charges).iter().zip(&charges).map(|(s, c)| widening(*s, *c)).collect();
    let (u_parts, beside) = allowed_for(problem, &mut fit);
    Found { fit, doubtful: Vec::new(), u_parts, charges, widening, beside, background: problem.background, noise, freedom }
}

/// Looks again for one tone, near `place`, that other records of the same piece hold: at a known place chance has one try, so a
/// smaller fall of the misfit is enough ([`KNOWN`]). `None` when it is not there, or settles further than `reach` from the place.
pub(super) fn again(plan: &Plan, data: &[C], found: &Found, place: C, reach: f64) -> Option<Found> {
    let mut problem = Problem { plan, data, root: roots(&found.noise), background: found.background };
    let without = problem.refine(&found.fit.poles, Some(&found.fit.weights), 0.05, 10);
    let (mut poles, mut weights) = (without.poles.clone(), without.weights.clone());
    poles.push(place);
    weights.push(C::new(0.0, 0.0));
    let with = problem.refine(&poles, Some(&weights), 0.05, 12);
    let tone = with.poles.last()?;
    let near = (tone.im - place.im).abs() <= reach && tone.re < 0.0 && -tone.re < tone.im / 3.0;
    if !near || fall(&problem, &without.residual, &with) < KNOWN {
        return None;
    }
    problem.root = roots(&mean_noise(plan, &with, problem.background).0);
    let with = problem.refine(&with.poles, Some(&with.weights), 0.05, 12);
    let tone = with.poles.last()?;
    if (tone.im - place.im).abs() > reach || tone.re >= 0.0 || -tone.re >= tone.im / 3.0 {
        return None;
    }
    let (noise, freedom) = mean_noise(plan, &with, problem.background);
    let charges = found.charges.iter().copied().chain([KNOWN]).collect();
    Some(closed(&problem, with, charges, noise, freedom))
}
