//! How loud the strings or notes of one instrument are beside one another.

use serde::{Deserialize, Serialize};

use super::sound::{first_foreign, sum};
use crate::error::{Error, Result, within};

/// One string or note among the others.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct NoteLevel {
    /// Its name.
    pub name: String,
    /// How many recordings of it there are.
    pub plucks: usize,
    /// Its level above the mean of all notes' levels, dB.
    pub level_db: f64,
    /// The standard uncertainty of that from the scatter of the plucks, pooled over all notes, dB; `None` when every note was
    /// recorded once.
    pub u_db: Option<f64>,
}

/// Level of a record over its first `count` samples, dB, its mean taken off.
fn level_db(samples: &[f64], count: usize) -> Option<f64> {
    let part = &samples[..count];
    if part.iter().all(|v| *v == part[0]) {
        return None;
    }
    let mean = sum(part, |v| v) / count as f64;
    let power = sum(part, |v| (v - mean) * (v - mean)) / count as f64;
    (power > 0.0).then(|| 10.0 * power.log10())
}

/// Levels of several notes of one instrument beside one another, each from one recording or more: the mean square over the first
/// `over_s` seconds, in dB above the mean of all notes. Samples start with the ring; gain, place and distance of the microphone
/// must be the same for all. How hard each was plucked is in it, which is why a note is best recorded several times.
pub fn level_balance(rate_hz: f64, notes: &[(String, Vec<Vec<f64>>)], over_s: f64) -> Result<Vec<NoteLevel>> {
    within("rate_hz", rate_hz, "Hz", 100.0, 1e7)?;
    within("over_s", over_s, "s", 0.05, 60.0)?;
    let bad = |name: &str, problem: String| Err(Error::BadList { name: name.into(), problem });
    if notes.len() < 2 {
        return bad("notes", format!("has {} notes; a balance needs at least two", notes.len()));
    }
    let count = (over_s * rate_hz).round() as usize;
    let mut levels: Vec<Vec<f64>> = Vec::with_capacity(notes.len());
    for (name, plucks) in notes {
        if plucks.is_empty() {
            return bad(&format!("notes[{name:?}]"), "is empty; give at least one recording".into());
        }
        let mut own = Vec::with_capacity(plucks.len());
        for (i, samples) in plucks.iter().enumerate() {
            let place = format!("notes[{name:?}][{i}]");
            if let Some(k) = first_foreign(samples) {
                within(&format!("{place}[{k}]"), samples[k], "", -1e6, 1e6)?;
            }
            if samples.len() < count {
                let seconds = samples.len() as f64 / rate_hz;
                return bad(&place, format!("lasts {seconds:.3} s; it must last at least over_s, {over_s} s"));
            }
            match level_db(samples, count) {
                Some(l) => own.push(l),
                None => return bad(&place, "is silent: all its samples are equal".into()),
            }
        }
        levels.push(own);
    }
    let means: Vec<f64> = levels.iter().map(|l| l.iter().sum::<f64>() / l.len() as f64).collect();
    let n = means.len() as f64;
    let middle = means.iter().sum::<f64>() / n;
    let freedom: usize = levels.iter().map(|l| l.len() - 1).sum();
    let squares: f64 = levels.iter().zip(&means).flat_map(|(l, m)| l.iter().map(move |v| (v - m) * (v - m))).sum();
    let variance = |l: &Vec<f64>| squares / freedom as f64 / l.len() as f64;
    let of_middle: f64 = if freedom > 0 { levels.iter().map(variance).sum::<f64>() / (n * n) } else { 0.0 };
    Ok(notes
        .iter()
        .zip(levels.iter().zip(&means))
        .map(|((name, _), (own, mean))| NoteLevel {
            name: name.clone(),
            plucks: own.len(),
            level_db: mean - middle,
            // the note's own mean is a part of the mean of all
            u_db: (freedom > 0).then(|| ((1.0 - 2.0 / n) * variance(own) + of_middle).max(0.0).sqrt()),
        })
        .collect())
}
