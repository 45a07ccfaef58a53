//! One side of a brace, or both alike.

use serde::{Deserialize, Serialize};

use crate::error::{Error, Result, number, unknown_name};
use crate::mechanics::pieces::Pieces;

/// Which side of a middle is carved.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum Side {
    /// The whole brace, each side to its own target.
    #[default]
    Both,
    /// Left of the middle; the right is left as it stands.
    Left,
    /// Right of the middle; the left is left as it stands.
    Right,
    /// The whole brace, both sides alike: at each distance from the middle the higher of the target's two heights.
    Symmetric,
}

impl Side {
    /// All of them.
    pub const ALL: [Self; 4] = [Self::Both, Self::Left, Self::Right, Self::Symmetric];

    /// As spelled in files and in Python.
    pub fn name(self) -> &'static str {
        match self {
            Self::Both => "both",
            Self::Left => "left",
            Self::Right => "right",
            Self::Symmetric => "symmetric",
        }
    }
}

impl std::str::FromStr for Side {
    type Err = Error;
    fn from_str(s: &str) -> Result<Self> {
        let wanted = s.trim().to_lowercase();
        Self::ALL
            .into_iter()
            .find(|side| side.name() == wanted)
            .ok_or_else(|| unknown_name("side", s, Self::ALL.map(|side| side.name())))
    }
}

/// Least distance of a middle from an end, mm: nearer, one side is no side.
const LEAST_SIDE_MM: f64 = 1.0;
/// Steps and differences below this are rounding, mm.
const SEEN_MM: f64 = 1e-6;

/// The middle meant, checked.
pub(super) fn middle(side: Side, given: Option<f64>, length_mm: f64) -> Result<f64> {
    let Some(m) = given else { return Ok(0.5 * length_mm) };
    if side == Side::Both {
        return Err(Error::Refused(format!(
            "middle_mm is {} mm, but side is \"both\", which has no middle; leave it out, or say left, right or symmetric",
            number(m)
        )));
    }
    crate::error::within("middle_mm", m, "mm", LEAST_SIDE_MM, length_mm - LEAST_SIDE_MM)
}

/// The higher of a crest and its mirror about the middle; beyond the shorter side's mirror it stays as it is.
pub(super) fn higher_half(crest: &Pieces, middle_mm: f64) -> Pieces {
    let (mirror, from, to) = mirrored(crest, middle_mm);
    let both = crest.between(from, to).max(&mirror);
    joined(&[(crest, crest.start(), from), (&both, from, to), (crest, to, crest.end())])
}

/// The mirror about the middle over the stretch where both sides exist, and that stretch.
fn mirrored(crest: &Pieces, middle_mm: f64) -> (Pieces, f64, f64) {
    let half = (middle_mm - crest.start()).min(crest.end() - middle_mm);
    let (mut from, mut to) = (middle_mm - half, middle_mm + half);
    // ends taken from the crest itself, so that no sliver is left by rounding
    if (from - crest.start()).abs() < SEEN_MM {
        from = crest.start();
    }
    if (to - crest.end()).abs() < SEEN_MM {
        to = crest.end();
    }
    (crest.between(from, to).mirrored(), from, to)
}

/// Stretches side by side as one; empty ones are left out.
fn joined(parts: &[(&Pieces, f64, f64)]) -> Pieces {
    let (mut breaks, mut polys): (Vec<f64>, Vec<_>) = (Vec::new(), Vec::new());
    for (pieces, from, to) in parts {
        if to - from < SEEN_MM {
            continue;
        }
        let part = pieces.between(*from, *to);
        if breaks.is_empty() {
            breaks.push(part.start());
        }
        breaks.extend(&part.breaks()[1..]);
        polys.extend(part.polys());
    }
    Pieces::new(breaks, polys)
}

/// What is left of a crest that tool and limits allow when only a side is carved, or both alike; `have` is what is there.
pub(super) fn carved(have: &Pieces, crest: Pieces, side: Side, middle_mm: f64, notes: &mut Vec<String>) -> Pieces {
    let (start, end) = (crest.start(), crest.end());
    let at = number((middle_mm * 100.0).round() / 100.0);
    match side {
        Side::Both => crest,
        Side::Left | Side::Right => {
            let (kept, out) = if side == Side::Left {
                ("right", joined(&[(&crest, start, middle_mm), (have, middle_mm, end)]))
            } else {
                ("left", joined(&[(have, start, middle_mm), (&crest, middle_mm, end)]))
            };
            let step = have.at(middle_mm) - crest.at(middle_mm);
            let wall = if step > 0.005 { format!("; a step of {step:.2} mm is left standing there") } else { String::new() };
            notes.push(format!("the part {kept} of x = {at} mm is left as it stands{wall}"));
            out
        }
        Side::Symmetric => {
            let out = higher_half(&crest, middle_mm).min(have);
            let (mirror, from, to) = mirrored(&out, middle_mm);
            let most = |a: &Pieces, b: &Pieces| a.combined(b, 1.0, -1.0).extremes(from, to).1;
            notes.push(format!("both sides of x = {at} mm are carved alike, to the higher of the two"));
            let uneven = most(&mirror, &out.between(from, to));
            if uneven.1 > SEEN_MM {
                notes.push(format!(
                    "at x = {:.0} mm the wood is up to {:.2} mm too low already to match the other side; there the sides stay unlike",
                    uneven.0, uneven.1
                ));
            }
            if from > start || to < end {
                notes.push(format!(
                    "beyond x = {} mm there is no other side to match",
                    number(if from > start { from } else { to })
                ));
            }
            out
        }
    }
}
