//! What the couple asks of each leg and fan, by shares that are assumed.

use serde::{Deserialize, Serialize};

use crate::cautions::{Hazard, cautions};
use crate::error::{Error, Result, number, within};

/// Moment in one brace at the bridge.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct BraceMoment {
    /// The brace.
    pub brace: String,
    /// Share of the couple it is taken to carry.
    pub share: f64,
    /// Moment before the bridge, N m: it bends the brace down between bridge and sound hole.
    pub front_n_m: f64,
    /// Moment behind it, N m, the other way round.
    pub behind_n_m: f64,
}

/// A couple laid on braces.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CoupleShares {
    /// The couple, N m.
    pub couple_n_m: f64,
    /// The braces.
    pub braces: Vec<BraceMoment>,
    /// Share left to the top itself and what else is on it.
    pub rest: f64,
    /// Share of the couple that goes before the bridge.
    pub front: f64,
    /// The assumption and what follows, as sentences.
    pub words: Vec<String>,
}

/// What a couple of `couple_n_m` (0 to 100) asks of each brace, from shares by name (each 0 to 1, 1 at most in all).
///
/// A couple put in at one line steps the moment by its whole size there: `front` of it (0 to 1) stands before the bridge and the
/// rest behind with the other sign. Without shares: two X legs of 0.3 each. That half goes each way and the legs take 60 % is an
/// assumption of common practice, not a result: bridge, plate and other braces decide it. Only a solved top can say.
pub fn couple_on_braces(couple_n_m: f64, shares: Option<&[(String, f64)]>, front: f64) -> Result<CoupleShares> {
    let couple = within("couple_n_m", couple_n_m, "N m", 0.0, 100.0)?;
    let front = within("front", front, "", 0.0, 1.0)?;
    let usual = [("left leg".to_string(), 0.3), ("right leg".to_string(), 0.3)];
    let given = shares.unwrap_or(&usual);
    if given.is_empty() || given.len() > 40 {
        return Err(Error::BadList {
            name: "shares".into(),
            problem: format!("has {} braces; it must have 1 to 40", given.len()),
        });
    }
    let mut sum = 0.0;
    let mut braces = Vec::with_capacity(given.len());
    for (brace, share) in given {
        let s = within(&format!("shares of {}", brace.chars().take(40).collect::<String>()), *share, "", 0.0, 1.0)?;
        sum += s;
        braces.push(BraceMoment {
            brace: brace.clone(),
            share: s,
            front_n_m: couple * s * front,
            behind_n_m: couple * s * (1.0 - front),
        });
    }
    if sum > 1.0 + 1e-9 {
        return Err(Error::OutOfRange {
            quantity: "shares".into(),
            value: sum,
            unit: "in all",
            allowed: "1 or less in all".into(),
        });
    }
    let whose = if shares.is_some() { "as given" } else { "common practice, no source" };
    let mut words = vec![format!(
        "assumed ({whose}): {} % of the couple goes before the bridge, and the braces named take {} % of it; no top was solved",
        number((1000.0 * front).round() / 10.0),
        number((1000.0 * sum).round() / 10.0)
    )];
    for b in &braces {
        words.push(format!("{}: {:.2} N m before the bridge, {:.2} N m behind it", b.brace, b.front_n_m, b.behind_n_m));
    }
    Ok(CoupleShares { couple_n_m: couple, braces, rest: (1.0 - sum).max(0.0), front, words })
}

impl CoupleShares {
    /// What to mind.
    pub fn cautions(&self) -> Vec<String> {
        cautions(&[Hazard::LongLoad, Hazard::Estimate])
    }
}
