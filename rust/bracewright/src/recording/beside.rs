//! A weaker tone close beside a mode, too near the noise to be listed: what it may do to the mode.
//!
//! A tone that hides at the foot of a stronger one pulls its decay and narrows nothing: fitted alone, the strong one is off by more
//! than it says. So every mode is thought of with one neighbour more, at places about it, of several decays and strengths, each
//! with its chance beforehand and by what the residual shows (Bayes). What each would do to the mode follows from the slopes of the
//! fit; the mode's estimate is the mean over all of them and over none, its uncertainty that of the mixture (model averaging).

use super::decimate::C;
use super::poles::{Fit, Problem};

/// A neighbour is thought of within so many decay rates of a mode, in steps of half of one,
const BESIDE: f64 = 4.0;
/// not nearer to any mode than this share of that one's decay rate: there two tones are one,
const APART: f64 = 0.7;
/// with decays of so many times the mode's: what stands side by side in wood rings about as long,
const DECAYS: [f64; 3] = [1.0 / 1.4, 1.0, 1.4];
/// and of about these shares of its level. Each is the root mean square of a normal law: most of its chance lies below.
const SHARES: [f64; 3] = [0.25, 0.34, 0.46];
/// Chance of a neighbour beforehand, for the estimate and for its spread (judgement, no source). A hidden neighbour shifts a mode by
/// several of its standard uncertainties, looking for one that is not there costs a fifth of one: so the estimate takes it as
/// likely. The spread takes it as seldom, or every mode would be given the spread of a neighbour that nothing speaks for.
const CHANCE_MOVED: f64 = 0.9;
const CHANCE_SPREAD: f64 = 0.05;
/// Fewest and most bins to either side of a mode that are looked at.
const BESIDE_BINS: (usize, usize) = (14, 40);
/// Share of the charge that a place must show to be tried as a mode.
const TRIED: f64 = 0.4;
/// Fall of the misfit at which a neighbour is spoken of.
const BESIDE_SAID: f64 = 20.0;

/// A fit with one tone more, the last of its poles, beside a mode.
pub(super) struct Near {
    /// Fall of the misfit.
    pub fall: f64,
    pub with: Fit,
}

/// A neighbour that may be there.
pub(super) struct Beside {
    /// Which mode it stands beside.
    pub mode: usize,
    /// Its pole.
    pub tone: C,
    /// Its amplitude over that mode's.
    pub share: f64,
}

/// A place where a neighbour may stand, and what it would do.
struct Place {
    pole: C,
    /// What the residual shows of it (complex, of unit variance if there is nothing), and how much a unit amplitude would show.
    shown: C,
    size: f64,
    /// Shift of the mode's pole and of its weight as fitted, for a unit amplitude.
    pole_by: C,
    weight_by: C,
}

/// Places about mode `i`, by what of the residual looks like a tone there in the directions that the modes leave free.
fn places(problem: &Problem, fit: &Fit, i: usize) -> Vec<Place> {
    let (omega, root) = (&problem.plan.omega, &problem.root);
    let step = omega[1] - omega[0];
    let (at, decay) = (fit.poles[i].im, (-fit.poles[i].re).max(0.4 * step));
    let middle = (((at - omega[0]) / step).round().max(0.0) as usize).min(omega.len() - 1);
    let half = ((6.0 * decay / step).ceil() as usize).clamp(BESIDE_BINS.0, BESIDE_BINS.1);
    let (from, to) = (middle.saturating_sub(half), (middle + half + 1).min(omega.len()));
    let rate = problem.plan.rate_hz;
    let tone = |s: C| -> Vec<C> { (from..to).map(|b| rate * root[b] / C::new(-s.re, omega[b] - s.im)).collect() };
    let dot = |a: &[C], b: &[C]| -> C { a.iter().zip(b).map(|(a, b)| a.conj() * b).sum() };
    // what the modes hereabouts can do: their tones, and the tones' slopes by the pole; the mode's own come last
    let mut basis: Vec<Vec<C>> = Vec::new();
    let mut taken = |mut column: Vec<C>| -> (f64, C) {
        let mut last = C::new(0.0, 0.0);
        for e in &basis {
            last = dot(e, &column);
            column.iter_mut().zip(e).for_each(|(c, e)| *c -= last * e);
        }
        let size = dot(&column, &column).re.sqrt();
        if size > 0.0 {
            column.iter_mut().for_each(|c| *c /= size);
            basis.push(column);
        }
        (size, last)
    };
    let columns = |s: C| {
        let value = tone(C::new(s.re.min(-1e-3 * step), s.im));
        let slope: Vec<C> = value.iter().zip(from..).map(|(v, b)| v * v / (rate * root[b])).collect();
        (value, slope)
    };
    let others: Vec<C> = (0..fit.poles.len())
        .filter(|k| *k != i)
        .map(|k| fit.poles[k])
        .filter(|s| (s.im - at).abs() < half as f64 * step)
        .collect();
    for s in &others {
        let (value, slope) = columns(*s);
        taken(value);
        taken(slope);
    }
    let (value, slope) = columns(fit.poles[i]);
    let (own, _) = taken(value);
    let (steep, across) = taken(slope);
    if !(own > 0.0 && steep > 0.0) {
        return Vec::new();
    }
    let mut left: Vec<C> = (from..to).map(|b| fit.residual[b] * root[b]).collect();
    for e in &basis {
        let part = dot(e, &left);
        left.iter_mut().zip(e).for_each(|(c, e)| *c -= part * e);
    }
    let reach = (BESIDE / 0.5) as i32;
    let mut out = Vec::new();
    for own_decay in DECAYS.map(|d| d * decay) {
        for k in -reach..=reach {
            let s = C::new(-own_decay, at + 0.5 * decay * f64::from(k));
            let far = |p: &C| (s - p).norm() > APART * (-p.re).max(0.4 * step);
            if s.im < omega[0] || s.im > omega[omega.len() - 1] || !far(&fit.poles[i]) || !others.iter().all(far) {
                continue;
            }
            let mut column = tone(s);
            let (mut before, mut last) = (C::new(0.0, 0.0), C::new(0.0, 0.0));
            for e in &basis {
                before = last;
                last = dot(e, &column);
                column.iter_mut().zip(e).for_each(|(c, e)| *c -= last * e);
            }
            let size = dot(&column, &column).re.sqrt();
            let pole_by = last / steep;
            let weight_by = (before - across * pole_by) / own;
            let shown = if size > 0.0 { dot(&column, &left) / size } else { C::new(0.0, 0.0) };
            out.push(Place { pole: s, shown, size, pole_by: pole_by / fit.weights[i], weight_by });
        }
    }
    out
}

fn rings(problem: &Problem, s: C) -> bool {
    let omega = &problem.plan.omega;
    s.re < 0.0 && -s.re < s.im / 3.0 && s.im >= omega[0] && s.im <= omega[omega.len() - 1]
}

/// The fit with one tone more beside a mode, for every mode where the residual may hold one that passes the test.
pub(super) fn neighbours(problem: &Problem, fit: &Fit, charge: f64) -> Vec<Near> {
    let mut out = Vec::new();
    for i in (0..fit.poles.len()).filter(|i| rings(problem, fit.poles[*i])) {
        let best = places(problem, fit, i)
            .into_iter()
            .map(|p| (2.0 * p.shown.norm_sqr(), p.pole))
            .fold((0.0, fit.poles[i]), |a, b| if b.0 > a.0 { b } else { a });
        if best.0 < TRIED * charge {
            continue;
        }
        let (mut poles, mut weights) = (fit.poles.clone(), fit.weights.clone());
        poles.push(best.1);
        weights.push(C::new(0.0, 0.0));
        let last = poles.len() - 1;
        let with = problem.refine(&poles, Some(&weights), 0.05, 10);
        if rings(problem, with.poles[i]) && rings(problem, with.poles[last]) {
            out.push(Near { fall: 2.0 * (fit.cost - with.cost), with });
        }
    }
    out
}

/// What the places add up to, each by its chance: of the mode's pole and weight, mean shift and mean square of it.
#[derive(Default)]
struct Sums {
    all: f64,
    pole: C,
    square: (f64, f64),
    weight: C,
    weight_square: f64,
}

fn sums(places: &[Place], level: f64) -> Sums {
    let each = 1.0 / (places.len() * SHARES.len()).max(1) as f64;
    let mut out = Sums::default();
    for p in places.iter().filter(|p| p.size > 0.0) {
        for share in SHARES {
            // A normal law of amplitudes, and what the residual shows: their product is normal again, its height the chance.
            let before = (share * level).powi(2);
            let room = before * p.size * p.size;
            let keep = room / (1.0 + room);
            let chance = each * (keep * p.shown.norm_sqr()).min(300.0).exp() / (1.0 + room);
            let (likely, spread) = (p.shown * (keep / p.size), before / (1.0 + room));
            let (pole, weight) = (-p.pole_by * likely, -p.weight_by * likely);
            let own = 0.5 * spread * p.pole_by.norm_sqr();
            out.all += chance;
            out.pole += pole * chance;
            out.square.0 += chance * (pole.re * pole.re + own);
            out.square.1 += chance * (pole.im * pole.im + own);
            out.weight += weight * chance;
            out.weight_square += chance * (weight.norm_sqr() + spread * p.weight_by.norm_sqr());
        }
    }
    out
}

/// Each mode between what it is alone and what it is beside neighbours that may be, by their chances: the poles and amplitudes of
/// `fit` are moved, and what comes back are the standard uncertainties of the poles' real and imaginary parts, and the neighbours
/// worth speaking of.
pub(super) fn allowed_for(problem: &Problem, fit: &mut Fit) -> (Vec<(f64, f64)>, Vec<Beside>) {
    let mut parts: Vec<(f64, f64)> = fit.u_poles.iter().map(|u| (*u, *u)).collect();
    let mut beside = Vec::new();
    let alone = fit.clone();
    for i in (0..alone.poles.len()).filter(|i| rings(problem, alone.poles[*i])) {
        let places = places(problem, &alone, i);
        let level = alone.weights[i].norm();
        let s = sums(&places, level);
        let share = |chance: f64| {
            let odds = chance / (1.0 - chance);
            odds / (1.0 + odds * s.all)
        };
        let (moved, spread) = (share(CHANCE_MOVED), share(CHANCE_SPREAD));
        // variance about where the estimate was moved to
        let wide = |own: f64, square: f64, mean: f64, by: f64| {
            (own * own + (spread * (square - 2.0 * mean * by) + by * by).max(0.0)).sqrt()
        };
        let by = s.pole * moved;
        parts[i] = (wide(parts[i].0, s.square.0, s.pole.re, by.re), wide(parts[i].1, s.square.1, s.pole.im, by.im));
        fit.poles[i] += by;
        let by = s.weight * moved;
        let about = (spread * (s.weight_square - 2.0 * (s.weight.conj() * by).re) + by.norm_sqr()).max(0.0);
        fit.u_weights[i] = (fit.u_weights[i].powi(2) + 0.5 * about).sqrt();
        fit.weights[i] += by;
        let most = places.iter().filter(|p| p.size > 0.0).max_by(|a, b| a.shown.norm_sqr().total_cmp(&b.shown.norm_sqr()));
        if let Some(p) = most.filter(|p| 2.0 * p.shown.norm_sqr() > BESIDE_SAID) {
            beside.push(Beside { mode: i, tone: p.pole, share: p.shown.norm() / (p.size * level) });
        }
    }
    (parts, beside)
}
