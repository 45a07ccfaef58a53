//! Poles common to all records: gathered from the records one by one, then fitted to all of them at once.

use rayon::prelude::*;

use super::RovingOptions;
use super::basis::{C, Kind, Solver, columns};
use crate::recording::Mode;

/// Steps of the joint fit.
const STEPS: usize = 40;
/// A residue this many times its uncertainty is seen.
const SEEN: f64 = 4.0;

/// What the joint fit gives.
pub(super) struct Joint {
    pub poles: Vec<C>,
    /// Standard uncertainty of the real and of the imaginary part of each pole.
    pub u_poles: Vec<f64>,
    /// Residues, one list a record, one value a pole.
    pub residues: Vec<Vec<C>>,
    /// Standard uncertainty of the real and of the imaginary part of each.
    pub u_residues: Vec<Vec<f64>>,
    /// Part of each record's energy in the band that the modes do not explain.
    pub unexplained: Vec<f64>,
}

/// Poles seen in enough records: modes whose frequencies lie together count as one.
pub(super) fn gathered(found: &[Vec<Mode>], most: usize) -> Vec<C> {
    let mut all: Vec<(&Mode, usize)> = found.iter().enumerate().flat_map(|(i, list)| list.iter().map(move |m| (m, i))).collect();
    all.sort_by(|a, b| a.0.frequency_hz.total_cmp(&b.0.frequency_hz));
    let mut groups: Vec<Vec<(&Mode, usize)>> = Vec::new();
    for (m, i) in all {
        let width = m.decay_per_s / std::f64::consts::PI;
        let reach = (4.0 * m.u_frequency_hz).min(width).max(0.4 * width).max(5e-4 * m.frequency_hz);
        match groups.last_mut() {
            Some(g) if g.last().is_some_and(|(last, _)| m.frequency_hz - last.frequency_hz < reach) => g.push((m, i)),
            _ => groups.push(vec![(m, i)]),
        }
    }
    let need = 2.min(found.len()).max(found.len() / 6);
    let strength = |g: &[(&Mode, usize)]| g.iter().map(|(m, _)| (m.amplitude / m.u_amplitude).powi(2)).sum::<f64>();
    let mut kept: Vec<(f64, C)> = groups
        .iter()
        .filter(|g| {
            let mut records: Vec<usize> = g.iter().map(|(_, i)| *i).collect();
            records.dedup();
            records.sort_unstable();
            records.dedup();
            records.len() >= need
        })
        .map(|g| {
            // the clearest sightings carry the start
            let weight = |m: &Mode| (m.u_decay_per_s / m.decay_per_s).powi(-2).min(1e12);
            let total: f64 = g.iter().map(|(m, _)| weight(m)).sum();
            let f = g.iter().map(|(m, _)| weight(m) * m.frequency_hz).sum::<f64>() / total;
            let d = g.iter().map(|(m, _)| weight(m) * m.decay_per_s).sum::<f64>() / total;
            (strength(g), C::new(-d, 2.0 * std::f64::consts::PI * f))
        })
        .collect();
    kept.sort_by(|a, b| b.0.total_cmp(&a.0));
    kept.truncate(most);
    let mut poles: Vec<C> = kept.into_iter().map(|k| k.1).collect();
    poles.sort_by(|a, b| a.im.total_cmp(&b.im));
    poles
}

fn stacked(spectrum: &[C]) -> Vec<f64> {
    spectrum.iter().map(|c| c.re).chain(spectrum.iter().map(|c| c.im)).collect()
}

/// Fits `poles` to all spectra over the same bins; poles that leave the band, stop decaying or are seen nowhere go.
pub(super) fn joint(kind: Kind, omega: &[f64], spectra: &[Vec<C>], start: &[C], options: &RovingOptions) -> Joint {
    let data: Vec<Vec<f64>> = spectra.par_iter().map(|s| stacked(s)).collect();
    let band = (2.0 * std::f64::consts::PI * options.low_hz, 2.0 * std::f64::consts::PI * options.high_hz);
    let mut poles = start.to_vec();
    loop {
        let u_poles = refined(kind, omega, &data, &mut poles);
        let fit = residues(kind, omega, &data, &poles, u_poles);
        let good = |k: usize| {
            let s = fit.poles[k];
            let seen = (0..data.len()).any(|p| fit.residues[p][k].norm() > SEEN * fit.u_residues[p][k]);
            s.im > band.0 && s.im < band.1 && s.re < 0.0 && -s.re < 0.5 * s.im && seen
        };
        let kept: Vec<C> = (0..poles.len()).filter(|k| good(*k)).map(|k| poles[k]).collect();
        if kept.len() == poles.len() {
            return fit;
        }
        poles = kept;
    }
}

/// Moves the poles; gives their uncertainties.
fn refined(kind: Kind, omega: &[f64], data: &[Vec<f64>], poles: &mut [C]) -> Vec<f64> {
    let k = poles.len();
    let mut u = vec![0.0; k];
    for _ in 0..STEPS {
        let solver = Solver::new(columns(kind, poles, omega, true));
        let variances = solver.variances();
        let free = (2 * omega.len()).saturating_sub(variances.len()).max(1) as f64;
        let solved: Vec<(Vec<f64>, f64)> = data.par_iter().map(|d| solver.solve(d)).collect();
        let mut largest: f64 = 0.0;
        for i in 0..k {
            let var = 0.5 * (variances[2 * (k + i)] + variances[2 * (k + i) + 1]);
            let (mut move_by, mut weight) = (C::new(0.0, 0.0), 0.0);
            for ((x, left), d) in solved.iter().zip(data) {
                let c = C::new(x[2 * i], x[2 * i + 1]);
                let q = C::new(x[2 * (k + i)], x[2 * (k + i) + 1]);
                // rounding is the least noise
                let noise = (left / free).max(1e-28 * d.iter().map(|v| v * v).sum::<f64>()).max(1e-300);
                move_by += c.conj() * q / noise;
                weight += c.norm_sqr() / noise;
            }
            if !(weight.is_finite() && weight > 0.0) {
                continue;
            }
            u[i] = (var / weight).sqrt();
            let mut step = move_by / weight;
            let reach = 0.5 * (-poles[i].re).max(1e-4 * poles[i].im);
            if !step.is_finite() {
                step = C::new(0.0, 0.0);
            } else if step.norm() > reach {
                step *= reach / step.norm();
            }
            poles[i] += step;
            largest = largest.max(step.norm() / (1e-3 * u[i]).max(1e-12 * poles[i].norm()));
        }
        if largest <= 1.0 {
            break;
        }
    }
    u
}

fn residues(kind: Kind, omega: &[f64], data: &[Vec<f64>], poles: &[C], u_poles: Vec<f64>) -> Joint {
    let k = poles.len();
    let solver = Solver::new(columns(kind, poles, omega, false));
    let variances = solver.variances();
    let free = (2 * omega.len()).saturating_sub(variances.len()).max(1) as f64;
    let mut out = Joint {
        poles: poles.to_vec(),
        u_poles,
        residues: Vec::with_capacity(data.len()),
        u_residues: Vec::with_capacity(data.len()),
        unexplained: Vec::with_capacity(data.len()),
    };
    for d in data {
        let (x, left) = solver.solve(d);
        let noise = left / free;
        out.residues.push((0..k).map(|i| C::new(x[2 * i], x[2 * i + 1])).collect());
        out.u_residues.push((0..k).map(|i| (0.5 * noise * (variances[2 * i] + variances[2 * i + 1])).sqrt()).collect());
        out.unexplained.push(left / d.iter().map(|v| v * v).sum::<f64>().max(1e-300));
    }
    out
}
