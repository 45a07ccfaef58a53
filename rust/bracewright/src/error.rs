//! Everything that can be wrong with what a caller gave, in words.
//!
//! A disappointing outcome (did not converge, at its bound, cannot be reached) is not an error:
//! it comes back in the report of the call.

/// What was wrong with an input. The core writes the sentence; the binding only picks the exception.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum Error {
    /// A number lies outside what is allowed, or is not finite.
    #[error("{quantity} is {}{}{unit}; it must be {allowed}", number(*value), if unit.is_empty() { "" } else { " " })]
    OutOfRange {
        /// The argument's name, as the caller spells it.
        quantity: String,
        /// The value given.
        value: f64,
        /// Its unit; `""` reads as a bare number.
        unit: &'static str,
        /// What is allowed, in words that follow "it must be".
        allowed: String,
    },
    /// Two lists that go together differ in length.
    #[error("{left} has {left_len} values but {right} has {right_len}; they must have the same number")]
    LengthMismatch {
        /// First list.
        left: String,
        /// Its length.
        left_len: usize,
        /// Second list.
        right: String,
        /// Its length.
        right_len: usize,
    },
    /// A list is too short, unsorted, or of the wrong shape.
    #[error("{name} {problem}")]
    BadList {
        /// The argument's name.
        name: String,
        /// What is wrong and what is allowed, in words that follow the name.
        problem: String,
    },
    /// A word that is not one of those known.
    #[error("{what} is {given:?}; it must be one of: {allowed}")]
    UnknownName {
        /// What the word stands for.
        what: String,
        /// The word given.
        given: String,
        /// The words known, comma separated.
        allowed: String,
    },
    /// A file, or a line of it, cannot be read.
    #[error("{place}: {problem}")]
    Unreadable {
        /// File name, and line and column where there are some.
        place: String,
        /// What is wrong there, and what is allowed.
        problem: String,
    },
    /// A file is of another schema, or of a newer version of ours.
    #[error("{place} says schema {found:?}; this version reads {expected:?}")]
    Schema {
        /// File name.
        place: String,
        /// The schema named in the file.
        found: String,
        /// The schema and newest version this library reads.
        expected: String,
    },
    /// The request makes no sense as it stands, for the reason given.
    #[error("{0}")]
    Refused(String),
    /// Something on a top is wrong at one place of it.
    #[error("{problem} (at x = {:.1} mm, y = {:.1} mm)", tidy(*x_mm), tidy(*y_mm))]
    AtPlace {
        /// What is wrong and what is allowed.
        problem: String,
        /// Across the top, mm.
        x_mm: f64,
        /// From its neck end, mm.
        y_mm: f64,
    },
    /// The readings hold no information at all about what was asked.
    #[error("{unknown} cannot be found from these readings: {reason}")]
    NotIdentifiable {
        /// What was asked for.
        unknown: String,
        /// Why it cannot be found and what would help.
        reason: String,
    },
}

/// Shorthand for results of this crate.
pub type Result<T> = std::result::Result<T, Error>;

/// A number as a person writes it: no needless digits.
pub(crate) fn number(v: f64) -> String {
    if !v.is_finite() {
        return format!("{v}");
    }
    if v != 0.0 && (v.abs() < 1e-4 || v.abs() >= 1e7) {
        return format!("{v:e}");
    }
    let s = format!("{v:.6}");
    let s = s.trim_end_matches('0').trim_end_matches('.');
    if s == "-0" { "0".into() } else { s.into() }
}

/// As one decimal shows it, without the sign of a zero.
pub(crate) fn tidy(v: f64) -> f64 {
    if v.abs() < 0.05 { 0.0 } else { v }
}

fn out(quantity: &str, value: f64, unit: &'static str, allowed: impl Into<String>) -> Error {
    Error::OutOfRange { quantity: quantity.into(), value, unit, allowed: allowed.into() }
}

/// `Ok` when `value` is finite and above zero.
pub fn positive(quantity: &str, value: f64, unit: &'static str) -> Result<f64> {
    if value.is_finite() && value > 0.0 { Ok(value) } else { Err(out(quantity, value, unit, "above 0 and finite")) }
}

/// `Ok` when `value` is finite and not below zero.
pub fn not_negative(quantity: &str, value: f64, unit: &'static str) -> Result<f64> {
    if value.is_finite() && value >= 0.0 { Ok(value) } else { Err(out(quantity, value, unit, "0 or more and finite")) }
}

/// `Ok` when `value` is finite.
pub fn finite(quantity: &str, value: f64, unit: &'static str) -> Result<f64> {
    if value.is_finite() { Ok(value) } else { Err(out(quantity, value, unit, "finite")) }
}

/// `Ok` when `low <= value <= high`.
pub fn within(quantity: &str, value: f64, unit: &'static str, low: f64, high: f64) -> Result<f64> {
    if value.is_finite() && value >= low && value <= high {
        Ok(value)
    } else {
        let sep = if unit.is_empty() { "" } else { " " };
        Err(out(quantity, value, unit, format!("from {} to {}{sep}{unit}", number(low), number(high))))
    }
}

/// `Ok` when two lists have the same length.
pub fn same_length(left: &str, left_len: usize, right: &str, right_len: usize) -> Result<()> {
    if left_len == right_len {
        Ok(())
    } else {
        Err(Error::LengthMismatch { left: left.into(), left_len, right: right.into(), right_len })
    }
}

/// `Ok` when there are at least `least` values, all finite and each larger than the one before.
pub fn increasing(name: &str, values: &[f64], unit: &'static str, least: usize) -> Result<()> {
    if values.len() < least {
        return Err(Error::BadList {
            name: name.into(),
            problem: format!("has {} values; it needs at least {least}", values.len()),
        });
    }
    for (i, &v) in values.iter().enumerate() {
        finite(&format!("{name}[{i}]"), v, unit)?;
        if i > 0 && v <= values[i - 1] {
            return Err(Error::BadList {
                name: name.into(),
                problem: format!(
                    "must increase from one value to the next, but value {i} is {} {unit} after {} {unit}",
                    number(v),
                    number(values[i - 1])
                ),
            });
        }
    }
    Ok(())
}

/// The error for a word that is not in `known`.
pub fn unknown_name<'a>(what: &str, given: &str, known: impl IntoIterator<Item = &'a str>) -> Error {
    Error::UnknownName { what: what.into(), given: given.into(), allowed: known.into_iter().collect::<Vec<_>>().join(", ") }
}
