//! What a column's heading says: a quantity and its unit.

use crate::units::{Dimension, Unit};

/// A column's heading, taken apart.
#[derive(Debug, Clone, PartialEq)]
pub struct Heading {
    /// As written in the file.
    pub written: String,
    /// The quantity, in lower case with `_` for anything between words: `height`, `mass_removed`.
    pub quantity: String,
    /// The unit, where the heading names one.
    pub unit: Option<&'static Unit>,
    name: String,
}

const FORCE_WORDS: [&str; 6] = ["load", "force", "preload", "pull", "tension", "reaction"];
const STRESS_WORDS: [&str; 3] = ["stress", "strength", "rupture"];
const TIME_WORDS: [&str; 5] = ["time", "duration", "dwell", "settling", "age"];
/// A unit behind one of these is part of a compound unit that is not known.
const UNIT_WORDS: [&str; 9] = ["n", "kg", "g", "lb", "lbf", "m", "mm", "cm", "per"];

impl Heading {
    /// Reads `height_mm`, `mass (g)`, `height [in]`, `Load / lbf`, `rh_percent`, `density kg/m3`, `note`.
    ///
    /// Whether kg and lb are a mass or a weight, and MPa a modulus or a stress, is taken from the quantity's words: load, force,
    /// preload, pull, tension, reaction; stress, strength, rupture. Single letters count for a unit only where they fit
    /// (`temperature_c`, `time_s`) or stand in brackets.
    pub fn read(text: &str) -> Heading {
        let written = text.trim();
        let (quantity, unit) =
            bracketed(written).or_else(|| suffixed(written)).unwrap_or_else(|| (words(written).join("_"), None));
        let name = match unit {
            Some(u) => format!("{quantity}_{}", u.dimension.surface_unit()),
            None => quantity.clone(),
        };
        Heading { written: written.into(), quantity, unit, name }
    }

    /// The name under which the table knows the column: quantity and surface unit, `height_mm`.
    pub fn name(&self) -> &str {
        &self.name
    }
}

/// Lower-case words, with the marks that only units use kept.
fn words(text: &str) -> Vec<String> {
    let marks = ['%', '°', '"', '\'', '″', '′', '”', '’'];
    let spaced = text.replace('^', "").replace('%', " % ").to_lowercase();
    let mut out: Vec<String> = Vec::new();
    for w in spaced.split(|c: char| !(c.is_alphanumeric() || marks.contains(&c))) {
        if !w.is_empty() {
            out.push(w.into());
        }
    }
    out
}

fn bracketed(text: &str) -> Option<(String, Option<&'static Unit>)> {
    let (close, open) = [(')', '('), (']', '[')].into_iter().find(|(close, _)| text.ends_with(*close))?;
    let (before, inside) = text.strip_suffix(close)?.rsplit_once(open)?;
    let quantity = words(before).join("_");
    let unit = choose(&quantity, inside)?;
    (!quantity.is_empty()).then_some((quantity, Some(unit)))
}

fn suffixed(text: &str) -> Option<(String, Option<&'static Unit>)> {
    let words = words(text);
    for count in (1..=3.min(words.len().saturating_sub(1))).rev() {
        let (mut before, spelling) = (&words[..words.len() - count], words[words.len() - count..].join(" "));
        // "height in mm"; a lone "in" is the inch.
        if before.len() > 1 && before.last().is_some_and(|w| w == "in") {
            before = &before[..before.len() - 1];
        }
        let quantity = before.join("_");
        let Some(unit) = choose(&quantity, &spelling) else { continue };
        let compound = before.len() > 1 && before.last().is_some_and(|w| UNIT_WORDS.contains(&w.as_str()));
        let fits = match unit.dimension {
            Dimension::Temperature => spelling.len() > 1 || quantity.contains("temp"),
            Dimension::Time => before.iter().any(|w| TIME_WORDS.contains(&w.as_str())),
            _ => true,
        };
        if fits && !compound {
            return Some((quantity, Some(unit)));
        }
    }
    None
}

/// The unit of this spelling that fits the quantity's words.
fn choose(quantity: &str, spelling: &str) -> Option<&'static Unit> {
    let has = |known: &[&str]| quantity.split('_').any(|w| known.contains(&w));
    let (force, stress) = (has(&FORCE_WORDS), has(&STRESS_WORDS));
    let mut fallback = None;
    for unit in Unit::all_spelled(spelling) {
        let fits = match unit.dimension {
            Dimension::Force => force,
            Dimension::Mass => !force,
            Dimension::Stress => stress,
            Dimension::Modulus => !stress,
            _ => true,
        };
        if fits {
            return Some(unit);
        }
        fallback = fallback.or(Some(unit));
    }
    fallback
}
