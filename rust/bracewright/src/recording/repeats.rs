//! Modes over repeats, and two states side by side.

use serde::{Deserialize, Serialize};

use super::modes::{Mode, TapModes};
use crate::error::{Error, Result, within};

/// A value so many robust deviations off the median of its repeats is left out.
const OFF: f64 = 5.0;
/// Fewest values of which one can be left out: of three or four, others agree by chance too often.
const ENOUGH: usize = 5;

/// One mode over several taps.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CombinedMode {
    /// Weighted mean frequency, Hz.
    pub frequency_hz: f64,
    /// Its standard uncertainty, Hz: the larger of what the taps state and what their scatter shows.
    pub u_frequency_hz: f64,
    /// Weighted mean decay rate, 1/s.
    pub decay_per_s: f64,
    /// Its standard uncertainty, 1/s, by the same rule.
    pub u_decay_per_s: f64,
    /// Mean amplitude over the taps used.
    pub amplitude: f64,
    /// Taps that went into the means, from 0.
    pub taps: Vec<usize>,
    /// Taps whose value stood off the others and was left out, from 0.
    pub left_out: Vec<usize>,
}

/// Modes over several taps.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Combined {
    /// Modes seen in more than half of the taps, by rising frequency.
    pub modes: Vec<CombinedMode>,
    /// Modes seen in half of the taps or fewer.
    pub seldom: Vec<CombinedMode>,
    /// Taps that stood off the others in half of their modes or more, from 0.
    pub bad_taps: Vec<usize>,
    /// What should be known, as sentences.
    pub words: Vec<String>,
}

/// One mode in two states.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Shift {
    /// Before.
    pub before: CombinedMode,
    /// After.
    pub after: CombinedMode,
    /// Frequency after less before, Hz.
    pub shift_hz: f64,
    /// Its standard uncertainty, Hz.
    pub u_shift_hz: f64,
    /// The same as a share of the frequency before, percent.
    pub shift_percent: f64,
    /// Its standard uncertainty, percent.
    pub u_shift_percent: f64,
    /// Loss factor after less before.
    pub loss_factor_change: f64,
    /// Its standard uncertainty.
    pub u_loss_factor_change: f64,
}

/// Two states side by side.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Comparison {
    /// Modes found in both.
    pub shifts: Vec<Shift>,
    /// Modes only after.
    pub new: Vec<CombinedMode>,
    /// Modes only before.
    pub vanished: Vec<CombinedMode>,
}

fn median(mut v: Vec<f64>) -> f64 {
    v.sort_by(f64::total_cmp);
    if v.is_empty() { f64::NAN } else { 0.5 * (v[(v.len() - 1) / 2] + v[v.len() / 2]) }
}

/// Weighted mean and the larger of its stated and its seen standard uncertainty.
fn mean(values: &[f64], us: &[f64]) -> (f64, f64) {
    let w: Vec<f64> = us.iter().map(|u| 1.0 / (u * u).max(1e-30)).collect();
    let all: f64 = w.iter().sum();
    let m = values.iter().zip(&w).map(|(v, w)| v * w).sum::<f64>() / all;
    let within = all.recip().sqrt();
    if values.len() < 2 {
        return (m, within);
    }
    let n = values.len() as f64;
    let chi: f64 = values.iter().zip(&w).map(|(v, w)| w * (v - m) * (v - m)).sum::<f64>() / (n - 1.0);
    (m, within * chi.sqrt().max(1.0))
}

/// Which values stand off the median of three or more; two cannot say which of them is off.
fn stands_off(values: &[f64], us: &[f64]) -> Vec<bool> {
    if values.len() < 3 {
        return vec![false; values.len()];
    }
    let mid = median(values.to_vec());
    let spread = 1.4826 * median(values.iter().map(|v| (v - mid).abs()).collect());
    let stated = median(us.to_vec());
    values.iter().zip(us).map(|(v, u)| (v - mid).abs() > OFF * spread.max(stated).max(*u)).collect()
}

/// True where one of some taps stands off the others in frequency.
fn disagree(list: &[(usize, &Mode)]) -> bool {
    let (f, u): (Vec<f64>, Vec<f64>) = list.iter().map(|(_, m)| (m.frequency_hz, m.u_frequency_hz)).unzip();
    stands_off(&f, &u).contains(&true)
}

fn one(list: &[(usize, &Mode)]) -> CombinedMode {
    let (f, uf): (Vec<f64>, Vec<f64>) = list.iter().map(|(_, m)| (m.frequency_hz, m.u_frequency_hz)).unzip();
    let d: Vec<f64> = list.iter().map(|(_, m)| m.decay_per_s).collect();
    // A decay's uncertainty goes with the decay found: as it stands it would give the weight to those that came out too low.
    let middle = median(d.clone());
    let ud: Vec<f64> = list.iter().map(|(_, m)| middle * m.u_decay_per_s / m.decay_per_s).collect();
    let (off_f, off_d) = (stands_off(&f, &uf), stands_off(&d, &ud));
    let off: Vec<bool> = off_f.iter().zip(&off_d).map(|(a, b)| list.len() >= ENOUGH && (*a || *b)).collect();
    let keep = |v: &[f64]| -> Vec<f64> { v.iter().zip(&off).filter(|(_, o)| !**o).map(|(v, _)| *v).collect() };
    let (frequency_hz, u_frequency_hz) = mean(&keep(&f), &keep(&uf));
    let (decay_per_s, u_decay_per_s) = mean(&keep(&d), &keep(&ud));
    let amplitudes: Vec<f64> = list.iter().zip(&off).filter(|(_, o)| !**o).map(|((_, m), _)| m.amplitude).collect();
    CombinedMode {
        frequency_hz,
        u_frequency_hz,
        decay_per_s,
        u_decay_per_s,
        amplitude: amplitudes.iter().sum::<f64>() / amplitudes.len().max(1) as f64,
        taps: list.iter().zip(&off).filter(|(_, o)| !**o).map(|((t, _), _)| *t).collect(),
        left_out: list.iter().zip(&off).filter(|(_, o)| **o).map(|((t, _), _)| *t).collect(),
    }
}

/// Pairs of two rising lists, in order, that minimise the sum of `cost`, where leaving one of either out costs half of 1.
/// A cost of 1 or more never pairs.
fn aligned(n: usize, m: usize, cost: impl Fn(usize, usize) -> f64) -> Vec<(usize, usize)> {
    let at = |i: usize, j: usize| i * (m + 1) + j;
    let mut best = vec![0.0; (n + 1) * (m + 1)];
    for i in 0..=n {
        for j in 0..=m {
            if i == 0 || j == 0 {
                best[at(i, j)] = 0.5 * (i + j) as f64;
                continue;
            }
            let pair = best[at(i - 1, j - 1)] + cost(i - 1, j - 1);
            best[at(i, j)] = pair.min(best[at(i - 1, j)] + 0.5).min(best[at(i, j - 1)] + 0.5);
        }
    }
    let (mut i, mut j, mut out) = (n, m, Vec::new());
    while i > 0 && j > 0 {
        let c = cost(i - 1, j - 1);
        if c < 1.0 && best[at(i, j)] == best[at(i - 1, j - 1)] + c {
            out.push((i - 1, j - 1));
            (i, j) = (i - 1, j - 1);
        } else if best[at(i, j)] == best[at(i - 1, j)] + 0.5 {
            i -= 1;
        } else {
            j -= 1;
        }
    }
    out.reverse();
    out
}

/// Modes of several taps of one piece put together. Modes of two taps are the same when their frequencies differ by less
/// than `tolerance_percent` (0.01 to 10, 1 is usual) or three of their uncertainties; order is kept, so none is used twice.
pub fn combined(taps: &[TapModes], tolerance_percent: f64) -> Result<Combined> {
    within("tolerance_percent", tolerance_percent, "%", 0.01, 10.0)?;
    if taps.is_empty() {
        return Err(Error::BadList { name: "taps".into(), problem: "is empty; give at least one tap".into() });
    }
    let mut groups: Vec<Vec<(usize, &Mode)>> = Vec::new();
    let middle = |g: &[(usize, &Mode)]| median(g.iter().map(|(_, m)| m.frequency_hz).collect());
    for (t, tap) in taps.iter().enumerate() {
        let at: Vec<(f64, f64)> =
            groups.iter().map(|g| (middle(g), median(g.iter().map(|(_, m)| m.u_frequency_hz).collect()))).collect();
        let pairs = aligned(groups.len(), tap.modes.len(), |i, j| {
            let m = &tap.modes[j];
            let reach = (0.01 * tolerance_percent * at[i].0).max(3.0 * at[i].1.hypot(m.u_frequency_hz));
            (m.frequency_hz - at[i].0).abs() / reach
        });
        for (i, j) in &pairs {
            groups[*i].push((t, &tap.modes[*j]));
        }
        let used: Vec<usize> = pairs.iter().map(|p| p.1).collect();
        groups.extend(tap.modes.iter().enumerate().filter(|(j, _)| !used.contains(j)).map(|(_, m)| vec![(t, m)]));
        groups.sort_by(|a, b| middle(a).total_cmp(&middle(b)));
    }
    let doubtful: Vec<f64> = groups.iter().filter(|g| g.len() < ENOUGH && disagree(g)).map(|g| middle(g)).collect();
    let all: Vec<CombinedMode> = groups.iter().map(|g| one(g)).collect();
    let (modes, seldom): (Vec<_>, Vec<_>) = all.into_iter().partition(|m| 2 * (m.taps.len() + m.left_out.len()) > taps.len());
    let clipped = |t: &usize| taps[*t].clipped;
    let mut words: Vec<String> = (0..taps.len())
        .filter(clipped)
        .map(|t| format!("tap {} is clipped through its record: its damping and level are not to be trusted; tap softer", t + 1))
        .collect();
    let mut bad_taps = Vec::new();
    for t in 0..taps.len() {
        let off = modes.iter().filter(|m| m.left_out.contains(&t) || !m.taps.contains(&t)).count();
        if taps.len() >= 3 && off > 0 && 2 * off >= modes.len() {
            bad_taps.push(t);
            words.push(format!("tap {} stands off the others in {off} of {} modes; tap again", t + 1, modes.len()));
        }
    }
    for m in modes.iter().filter(|m| !m.left_out.is_empty()) {
        let list: Vec<String> = m.left_out.iter().map(|t| (t + 1).to_string()).collect();
        words.push(format!(
            "mode at {:.1} Hz: tap {} stands off the others and is left out of the mean",
            m.frequency_hz,
            list.join(", ")
        ));
    }
    for f in doubtful {
        words.push(format!(
            "mode at {f:.1} Hz: the taps differ by more than they should; with fewer than {ENOUGH} it cannot be told which is off: tap again"
        ));
    }
    for m in &seldom {
        words.push(format!(
            "mode at {:.1} Hz: seen in {} of {} taps only",
            m.frequency_hz,
            m.taps.len() + m.left_out.len(),
            taps.len()
        ));
    }
    Ok(Combined { modes, seldom, bad_taps, words })
}

/// Modes before and after a pass, matched in order of frequency and differenced. Modes further apart than
/// `tolerance_percent` (0.1 to 50) of the frequency before are not the same mode.
pub fn compared(before: &[CombinedMode], after: &[CombinedMode], tolerance_percent: f64) -> Result<Comparison> {
    within("tolerance_percent", tolerance_percent, "%", 0.1, 50.0)?;
    for (name, list) in [("before", before), ("after", after)] {
        let f: Vec<f64> = list.iter().map(|m| m.frequency_hz).collect();
        crate::error::increasing(&format!("{name} frequency_hz"), &f, "Hz", 0)?;
    }
    let pairs = aligned(before.len(), after.len(), |i, j| {
        let (b, a) = (before[i].frequency_hz, after[j].frequency_hz);
        (a / b - 1.0).abs() / (0.01 * tolerance_percent)
    });
    let shifts = pairs
        .iter()
        .map(|&(i, j)| {
            let (b, a) = (&before[i], &after[j]);
            let ratio = a.frequency_hz / b.frequency_hz;
            let relative = (a.u_frequency_hz / a.frequency_hz).hypot(b.u_frequency_hz / b.frequency_hz);
            Shift {
                before: b.clone(),
                after: a.clone(),
                shift_hz: a.frequency_hz - b.frequency_hz,
                u_shift_hz: a.u_frequency_hz.hypot(b.u_frequency_hz),
                shift_percent: 100.0 * (ratio - 1.0),
                u_shift_percent: 100.0 * ratio * relative,
                loss_factor_change: a.loss_factor() - b.loss_factor(),
                u_loss_factor_change: a.u_loss_factor().hypot(b.u_loss_factor()),
            }
        })
        .collect();
    let new = (0..after.len()).filter(|j| pairs.iter().all(|p| p.1 != *j)).map(|j| after[j].clone()).collect();
    let vanished = (0..before.len()).filter(|i| pairs.iter().all(|p| p.0 != *i)).map(|i| before[i].clone()).collect();
    Ok(Comparison { shifts, new, vanished })
}
