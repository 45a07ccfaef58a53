//! A weaker tone close beside a mode, too near the noise to be listed: what it may do to the mode.
//!
//! A tone that hides at the foot of a stronger one pulls its decay and narrows nothing: fitted alone, the strong one is off by more
//! than it says. So every mode is tried with one neighbour more, and where the misfit falls by more than chance would make it, the
//! mode's estimate is the mean of both fits by their chances, its uncertainty that of the mixture (model averaging).

use super::decimate::C;
use super::poles::{Fit, Problem};

/// A neighbour is looked for within so many decay rates of a mode,
const BESIDE: f64 = 4.0;
/// where the score says that the misfit would fall by so much: about one clean mode in ten shows as much by chance.
const BESIDE_LOOK: f64 = 10.0;
/// Bins to either side of a mode that the score is taken from.
const BESIDE_BINS: usize = 14;
/// Fall of the misfit at which a neighbour is as likely as none: twice the logarithm of even chances beforehand times the room for
/// its four numbers over what the data leave of it (some ten places, three decays, twenty amplitudes; judgement, no source). A
/// mode's own estimate must allow for it from here on, though only the charge for the whole band makes it a mode.
const BESIDE_EVEN: f64 = 14.0;
/// And at which it is spoken of.
const BESIDE_SAID: f64 = 20.0;

/// A fit with one tone more, the last of its poles, beside a mode.
pub(super) struct Near {
    pub mode: usize,
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

/// The tone beside mode `i` that would lower the misfit most, and by how much (Rao's score: what of the residual looks like the
/// tone, in the directions that the modes there leave free).
fn beside(problem: &Problem, fit: &Fit, i: usize) -> (f64, C) {
    let (omega, root) = (&problem.plan.omega, &problem.root);
    let step = omega[1] - omega[0];
    let (at, decay) = (fit.poles[i].im, (-fit.poles[i].re).max(0.4 * step));
    let middle = (((at - omega[0]) / step).round().max(0.0) as usize).min(omega.len() - 1);
    let (from, to) = (middle.saturating_sub(BESIDE_BINS), (middle + BESIDE_BINS + 1).min(omega.len()));
    let tone = |s: C| -> Vec<C> { (from..to).map(|b| root[b] / C::new(-s.re, omega[b] - s.im)).collect() };
    let dot = |a: &[C], b: &[C]| -> C { a.iter().zip(b).map(|(a, b)| a.conj() * b).sum() };
    // what the modes hereabouts can do: their tones, and the tones' slopes by the pole
    let mut basis: Vec<Vec<C>> = Vec::new();
    for s in fit.poles.iter().filter(|s| (s.im - at).abs() < (BESIDE_BINS as f64) * step) {
        let value = tone(C::new(s.re.min(-1e-3 * step), s.im));
        let slope: Vec<C> = value.iter().zip(from..).map(|(v, b)| v * v / root[b]).collect();
        for mut column in [value, slope] {
            for e in &basis {
                let part = dot(e, &column);
                column.iter_mut().zip(e).for_each(|(c, e)| *c -= part * e);
            }
            let size = dot(&column, &column).re.sqrt();
            if size > 0.0 {
                column.iter_mut().for_each(|c| *c /= size);
                basis.push(column);
            }
        }
    }
    let left: Vec<C> = (from..to).map(|b| fit.residual[b] * root[b]).collect();
    let reach = ((2.0 * BESIDE * decay / step).ceil() as usize).clamp(4, 2 * BESIDE_BINS);
    let mut best = (0.0, fit.poles[i]);
    for own in [decay, 2.0 * decay] {
        for k in 0..=2 * reach {
            let s = C::new(-own, at + 0.5 * step * (k as f64 - reach as f64));
            if (s.im - at).abs() > BESIDE * decay || s.im < omega[0] || s.im > omega[omega.len() - 1] {
                continue;
            }
            let mut column = tone(s);
            let whole = dot(&column, &column).re;
            for e in &basis {
                let part = dot(e, &column);
                column.iter_mut().zip(e).for_each(|(c, e)| *c -= part * e);
            }
            let free = dot(&column, &column).re;
            let score = 2.0 * dot(&column, &left).norm_sqr() / free;
            if free > 0.01 * whole && score > best.0 {
                best = (score, s);
            }
        }
    }
    best
}

/// The fit with one tone more beside a mode, for every mode where the residual asks for one: mode, fall of the misfit, fit.
pub(super) fn neighbours(problem: &Problem, fit: &Fit) -> Vec<Near> {
    let omega = &problem.plan.omega;
    let rings = |s: C| s.re < 0.0 && -s.re < s.im / 3.0 && s.im >= omega[0] && s.im <= omega[omega.len() - 1];
    let mut out = Vec::new();
    for i in (0..fit.poles.len()).filter(|i| rings(fit.poles[*i])) {
        let (score, tone) = beside(problem, fit, i);
        if score < BESIDE_LOOK {
            continue;
        }
        let (mut poles, mut weights) = (fit.poles.clone(), fit.weights.clone());
        poles.push(tone);
        weights.push(C::new(0.0, 0.0));
        let last = poles.len() - 1;
        let mut with = problem.refine(&poles, Some(&weights), 0.05, 10);
        // which of the two is the mode of before
        let off = |k: usize| (with.poles[k] - fit.poles[i]).norm();
        if off(last) < off(i) {
            with.poles.swap(i, last);
            with.weights.swap(i, last);
            with.u_poles.swap(i, last);
            with.u_weights.swap(i, last);
        }
        let (mode, tone) = (with.poles[i], with.poles[last]);
        if rings(mode) && rings(tone) && (mode.im - tone.im).abs() < 2.0 * BESIDE * (-mode.re) {
            out.push(Near { mode: i, fall: 2.0 * (fit.cost - with.cost), with });
        }
    }
    out
}

/// Each mode between what it is alone and what it is beside a neighbour, by the chances of either: the poles and amplitudes of `fit`
/// are moved, and what comes back are the standard uncertainties of the poles' real and imaginary parts, and the neighbours worth
/// speaking of.
pub(super) fn allowed_for(fit: &mut Fit, near: &[Near]) -> (Vec<(f64, f64)>, Vec<Beside>) {
    let mut parts: Vec<(f64, f64)> = fit.u_poles.iter().map(|u| (*u, *u)).collect();
    let mut beside = Vec::new();
    for Near { mode, fall, with } in near {
        let i = *mode;
        let chance = 1.0 / (1.0 + (0.5 * (BESIDE_EVEN - fall)).exp());
        // variance of a mixture: what each says of itself, and how far apart they are
        let mixed =
            |own: f64, u: f64, by: f64| (own * own + chance * (u * u - own * own) + chance * (1.0 - chance) * by * by).sqrt();
        let by = with.poles[i] - fit.poles[i];
        parts[i] = (mixed(parts[i].0, with.u_poles[i], by.re), mixed(parts[i].1, with.u_poles[i], by.im));
        fit.poles[i] += by * chance;
        let by = with.weights[i] - fit.weights[i];
        fit.u_weights[i] = mixed(fit.u_weights[i], with.u_weights[i], by.norm());
        fit.weights[i] += by * chance;
        if *fall > BESIDE_SAID {
            let last = with.poles.len() - 1;
            beside.push(Beside { mode: i, tone: with.poles[last], share: with.weights[last].norm() / with.weights[i].norm() });
        }
    }
    (parts, beside)
}
