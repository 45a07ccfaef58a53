//! From a recipe to a crest, each step checked.

use super::{
    Base, CLOSEST_MM, END_MM, LEAST_BETWEEN_MM, LONGEST_MM, LOWEST_MM, Profile, Recipe, SHORTEST_CUT_MM, SHORTEST_MM, TALLEST_MM,
    shapes,
};
use crate::error::{Error, Result, finite, increasing, not_negative, number, positive, same_length, within};
use crate::mechanics::pieces::Pieces;

impl Profile {
    pub(super) fn made(recipe: Recipe) -> Result<Self> {
        long(recipe.length_mm)?;
        let l = recipe.length_mm;
        let mut crest = match &recipe.base {
            Base::Linear { left_mm, right_mm } => Pieces::line(0.0, l, *left_mm, *right_mm),
            Base::Parabolic { peak_mm, left_mm, right_mm, at_mm } => shapes::parabola(l, *peak_mm, *left_mm, *right_mm, *at_mm),
            Base::Through { at_mm, height_mm, blend } => shapes::through(at_mm, height_mm, blend),
            Base::Stations { at_mm, height_mm } => shapes::monotone(at_mm, height_mm),
        };
        if let (Some(a), Some(b)) = (recipe.left, recipe.right)
            && a.length_mm + b.length_mm > l * (1.0 + 1e-12)
        {
            return Err(Error::Refused(format!(
                "the end ramps are {} and {} mm long; together they must not be longer than the brace, {} mm",
                number(a.length_mm),
                number(b.length_mm),
                number(l)
            )));
        }
        for (end, at_left) in [(recipe.left, true), (recipe.right, false)] {
            if let Some(e) = end {
                let tip = crest.at(if at_left { 0.0 } else { l });
                within("height_mm of the end", e.height_mm, "mm", 0.0, tip)?;
                crest = shapes::end_ramp(&crest, e.length_mm, e.height_mm, e.blend, at_left)?;
            }
        }
        let mut spans: Vec<(f64, f64)> = Vec::new();
        for (i, s) in recipe.scallops.iter().enumerate() {
            let k = i + 1;
            finite(&format!("at_mm of scallop {k}"), s.at_mm, "mm")?;
            for (side, length) in [("left", s.left_mm), ("right", s.right_mm)] {
                let name = format!("length to the {side} of scallop {k}");
                positive(&name, length, "mm")?;
                within(&name, length, "mm", SHORTEST_CUT_MM, l)?;
            }
            not_negative(&format!("depth_mm of scallop {k}"), s.depth_mm, "mm")?;
            let (a, b) = (s.at_mm - s.left_mm, s.at_mm + s.right_mm);
            if a < -1e-9 || b > l + 1e-9 {
                return Err(Error::Refused(format!(
                    "scallop {k}, at_mm {}, reaches from {} to {} mm; it must lie on the brace, from 0 to {} mm",
                    number(s.at_mm),
                    number(a),
                    number(b),
                    number(l)
                )));
            }
            if let Some(o) = spans.iter().find(|o| a < o.1 - 1e-9 && b > o.0 + 1e-9) {
                return Err(Error::Refused(format!(
                    "scallop {k}, from {} to {} mm, overlaps the one from {} to {} mm; scallops must lie beside each other",
                    number(a),
                    number(b),
                    number(o.0),
                    number(o.1)
                )));
            }
            spans.push((a, b));
            crest = shapes::scalloped(&crest, s, k)?;
        }
        let plain = recipe.left.is_none() && recipe.right.is_none() && recipe.scallops.is_empty();
        // every base is monotone between its breaks: its extremes stand at them
        let bounds = if plain { at_breaks(&crest) } else { crest.extremes(0.0, l) };
        let (low, high) = bounds;
        tall("height_mm", high.1)?;
        // feathered ends come from nothing; between them a ridge of a hair is nothing that can be carved or solved
        let thin = crest
            .breaks()
            .iter()
            .map(|x| (*x, crest.at(*x)))
            .find(|(x, h)| *h < LEAST_BETWEEN_MM && *x > END_MM.min(0.1 * l) && *x < l - END_MM.min(0.1 * l));
        let low = thin.unwrap_or(low);
        if low.1 < -1e-9 || thin.is_some() {
            return Err(Error::Refused(format!(
                "the crest is at {} mm above the glue face at x = {} mm; between its ends a brace must keep at least {} mm: cut less deep",
                number(low.1),
                number(low.0),
                number(LEAST_BETWEEN_MM)
            )));
        }
        for (i, n) in recipe.laps.iter().enumerate() {
            let k = i + 1;
            positive(&format!("length_mm of half-lap {k}"), n.length_mm, "mm")?;
            within(&format!("length_mm of half-lap {k}"), n.length_mm, "mm", SHORTEST_CUT_MM, l)?;
            not_negative(&format!("cap_mm of half-lap {k}"), n.cap_mm, "mm")?;
            let (a, b) = (n.at_mm - 0.5 * n.length_mm, n.at_mm + 0.5 * n.length_mm);
            if !(a > 0.0 && b < l) {
                return Err(Error::Refused(format!(
                    "half-lap {k} reaches from {} to {} mm; it must lie inside the brace, from 0 to {} mm",
                    number(a),
                    number(b),
                    number(l)
                )));
            }
            let least = crest.extremes(a, b).0.1;
            if !(n.depth_mm > 0.0 && n.depth_mm < least) {
                return Err(Error::OutOfRange {
                    quantity: format!("depth_mm of half-lap {k}"),
                    value: n.depth_mm,
                    unit: "mm",
                    allowed: format!("above 0 and below the height there, {} mm", number(least)),
                });
            }
            if recipe.laps[..i].iter().any(|o| (o.at_mm - n.at_mm).abs() < 0.5 * (o.length_mm + n.length_mm)) {
                return Err(Error::Refused(format!("half-lap {k} overlaps another one")));
            }
        }
        Ok(Self { recipe, crest, is_cut: false, bounds })
    }
}

/// Lowest and greatest value at the breaks.
fn at_breaks(crest: &Pieces) -> ((f64, f64), (f64, f64)) {
    let (mut low, mut high) = ((0.0, f64::INFINITY), (0.0, f64::NEG_INFINITY));
    for (i, p) in crest.polys().iter().enumerate() {
        for (x, h) in [(crest.breaks()[i], p.at(-1.0)), (crest.breaks()[i + 1], p.at(1.0))] {
            if h < low.1 {
                low = (x, h);
            }
            if h > high.1 {
                high = (x, h);
            }
        }
    }
    (low, high)
}

/// Error unless stations and heights make a profile.
pub(super) fn stations(at: &str, at_mm: &[f64], height: &str, height_mm: &[f64]) -> Result<()> {
    same_length(at, at_mm.len(), height, height_mm.len())?;
    increasing(at, at_mm, "mm", 2)?;
    if let Some(k) = at_mm.windows(2).position(|w| w[1] - w[0] < CLOSEST_MM) {
        return Err(Error::BadList {
            name: at.into(),
            problem: format!(
                "has values {k} and {} at {} mm, closer than {} mm; leave one of them out",
                k + 1,
                number(at_mm[k]),
                number(CLOSEST_MM)
            ),
        });
    }
    if at_mm[0] != 0.0 {
        return Err(Error::OutOfRange {
            quantity: format!("{at}[0]"),
            value: at_mm[0],
            unit: "mm",
            allowed: "0: stations are measured from the left end".into(),
        });
    }
    for (i, h) in height_mm.iter().enumerate() {
        within(&format!("{height}[{i}]"), *h, "mm", 0.0, TALLEST_MM)?;
    }
    Ok(())
}

pub(super) fn long(length_mm: f64) -> Result<f64> {
    positive("length_mm", length_mm, "mm")?;
    within("length_mm", length_mm, "mm", SHORTEST_MM, LONGEST_MM)
}

pub(super) fn tall(name: &str, height_mm: f64) -> Result<f64> {
    positive(name, height_mm, "mm")?;
    within(name, height_mm, "mm", LOWEST_MM, TALLEST_MM)
}
