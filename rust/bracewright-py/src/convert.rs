//! Numbers, lists and words as they come in: floats, texts with a unit, quantities of a units package, arrays.

use bracewright::units::{self, Dimension};
use numpy::{PyArray1, PyArrayDyn, PyArrayMethods, PyUntypedArrayMethods};
use pyo3::exceptions::{PyOverflowError, PyTypeError};
use pyo3::prelude::*;
use pyo3::types::{PyBool, PyFloat, PyString, PyTuple};

use crate::error::{PyError, Result, invalid};

/// Stands for a size that was not given: a value that no caller can give.
pub const NOT_GIVEN: f64 = f64::from_bits(0x7ff8_0000_0000_b12a);

/// Error in words unless every size was given by its name; `how` is a call done right.
pub fn by_name(rest: &Bound<'_, PyTuple>, how: &str, sizes: &[(&str, f64)]) -> PyResult<()> {
    if !rest.is_empty() {
        return Err(PyTypeError::new_err(format!("sizes are given by name, so that none is taken for another: {how}")));
    }
    let missing: Vec<&str> = sizes.iter().filter(|s| s.1.to_bits() == NOT_GIVEN.to_bits()).map(|s| s.0).collect();
    if missing.is_empty() {
        return Ok(());
    }
    Err(PyTypeError::new_err(format!("{} must be given, as in {how}", missing.join(", "))))
}

/// One kind of measured number: what it is called, its surface unit, and that unit as units packages spell it.
pub struct Kind {
    dimension: Option<Dimension>,
    noun: &'static str,
    unit: &'static str,
    spelled: &'static str,
    example: &'static str,
}

macro_rules! kinds {
    ($($kind:ident, $dimension:expr, $noun:literal, $unit:literal, $spelled:literal, $example:literal;)*) => {$(
        #[doc = concat!("Numbers that are ", $noun, " in ", $unit, ".")]
        pub const $kind: Kind = Kind { dimension: $dimension, noun: $noun, unit: $unit, spelled: $spelled, example: $example };
    )*};
}

kinds! {
    MM, Some(Dimension::Length), "a length", "mm", "mm", "5/16 in";
    G, Some(Dimension::Mass), "a mass", "g", "g", "0.83 oz";
    N, Some(Dimension::Force), "a force", "N", "N", "4.4 lbf";
    GPA, Some(Dimension::Modulus), "a modulus", "GPa", "GPa", "1.67 Mpsi";
    KG_M3, Some(Dimension::Density), "a density", "kg/m3", "kg/m**3", "25 lb/ft3";
    MPA, Some(Dimension::Stress), "a stress", "MPa", "MPa", "10200 psi";
    HZ, Some(Dimension::Frequency), "a frequency", "Hz", "Hz", "182 Hz";
    DEG, Some(Dimension::Angle), "an angle", "degrees", "degree", "45 deg";
    PERCENT, Some(Dimension::Percent), "a percentage", "percent", "percent", "45 %";
    CELSIUS, Some(Dimension::Temperature), "a temperature", "degrees C", "degC", "70 F";
    MM_PER_N, Some(Dimension::Compliance), "a give", "mm/N", "mm/N", "2 um/N";
    N_M2, Some(Dimension::BendingStiffness), "a bending stiffness", "N m2", "N*m**2", "3.2 N m2";
    N_M, None, "a moment", "N m", "N*m", "";
    S, None, "a time", "s", "s", "";
    MS, None, "a time", "ms", "ms", "";
    LITRE, None, "a volume", "l", "liter", "";
    CM2, None, "an area", "cm2", "cm**2", "";
    KPA, None, "a pressure", "kPa", "kPa", "";
    DB, None, "a level", "dB", "dB", "";
    PLAIN, None, "a plain number", "", "", "";
}

/// Start of a sentence about an argument.
fn about(name: &str) -> String {
    if name.is_empty() { String::new() } else { format!("{name}: ") }
}

/// A whole number from 0 to `most`.
pub fn whole(name: &str, given: &Bound<'_, PyAny>, most: u64) -> PyResult<u64> {
    let number = if given.is_instance_of::<PyBool>() {
        None
    } else {
        given.extract::<i128>().map_or_else(|e| e.is_instance_of::<PyOverflowError>(given.py()).then_some(i128::MAX), Some)
    };
    match number {
        Some(v) if (0..=i128::from(most)).contains(&v) => Ok(v as u64),
        Some(_) => Err(invalid(format!("{name} is {}; it must be a whole number from 0 to {most}", told(given)))),
        None => Err(PyTypeError::new_err(format!("{name}: it must be a whole number, not {}", type_name(given)))),
    }
}

/// A value as a sentence quotes it, no longer than it should be.
fn told(given: &Bound<'_, PyAny>) -> String {
    let text = given.str().map_or_else(|_| "that".into(), |s| s.to_string());
    if text.chars().count() <= 40 { text } else { format!("{}...", text.chars().take(40).collect::<String>()) }
}

impl Kind {
    /// One number in the surface unit; `name` is the argument's.
    pub fn one(&self, name: &str, given: &Bound<'_, PyAny>) -> PyResult<f64> {
        if let Ok(f) = given.cast::<PyFloat>() {
            return f.extract();
        }
        if let (Some(dimension), Ok(text)) = (self.dimension, given.cast::<PyString>()) {
            let noun = self.noun.split_once(' ').map_or(self.noun, |(_, noun)| noun);
            // a lone surrogate is no text that could be a number
            let text = text.to_str().unwrap_or("\u{fffd}");
            return units::parse(dimension, &format!("{}{noun}", about(name)), text, None).map_err(|e| PyError::from(e).into());
        }
        let bare = self.magnitude(name, given)?.unwrap_or_else(|| given.clone());
        let number = if is_real(&bare)? { bare.extract::<f64>().map(Some) } else { Ok(None) };
        match number {
            Ok(Some(v)) => Ok(v),
            Err(e) if e.is_instance_of::<PyOverflowError>(given.py()) => {
                Err(invalid(format!("{}{} is {}, too large to be meant", about(name), self.noun, told(given))))
            }
            _ if self.unit.is_empty() => {
                Err(PyTypeError::new_err(format!("{}it must be {}, not {}", about(name), self.noun, type_name(given))))
            }
            _ => Err(PyTypeError::new_err(format!(
                "{}{} must be {}, not {}",
                about(name),
                self.noun,
                self.forms("a number"),
                type_name(given)
            ))),
        }
    }

    fn numbers(&self) -> String {
        if self.unit.is_empty() { "plain numbers".into() } else { format!("numbers in {}", self.unit) }
    }

    fn forms(&self, number: &str) -> String {
        match self.example {
            "" => format!("{number} in {}", self.unit),
            example => format!("{number} in {}, a text such as \"{example}\", or a quantity with a unit", self.unit),
        }
    }

    /// The number inside a quantity with a unit (anything with `.to` and `.magnitude`), in the surface unit.
    fn magnitude<'py>(&self, name: &str, given: &Bound<'py, PyAny>) -> PyResult<Option<Bound<'py, PyAny>>> {
        if !(given.hasattr("magnitude")? && given.hasattr("to")?) {
            return Ok(None);
        }
        let turned = given.call_method1("to", (self.spelled,));
        match turned.and_then(|q| q.getattr("magnitude")) {
            Ok(magnitude) => Ok(Some(magnitude)),
            Err(e) => Err(invalid(format!("{}{} cannot be turned into {}: {e}", about(name), told(given), self.unit))),
        }
    }

    /// A list of numbers in the surface unit; a single number is a list of one. `name` is the argument's.
    pub fn list(&self, name: &str, given: &Bound<'_, PyAny>) -> PyResult<Vec<f64>> {
        if let Ok(array) = given.cast::<PyArray1<f64>>() {
            // strides allowed
            return Ok(array.try_readonly()?.as_array().to_vec());
        }
        if self.is_single(given)? {
            return Ok(vec![self.one(name, given)?]);
        }
        let given = self.magnitude(name, given)?.unwrap_or_else(|| given.clone());
        if let Some((values, shape)) = floats(&given)? {
            return match shape.len() {
                1 => Ok(values),
                0 => Ok(vec![values[0]]),
                d => Err(invalid(format!("{name} has {d} dimensions; give one list of {}", self.numbers()))),
            };
        }
        let bad = || invalid(format!("{name} is no list of numbers; give one list of {}, as a list or an array", self.numbers()));
        given.try_iter().map_err(|_| bad())?.map(|v| self.one("", &v?).map_err(|e| self.in_list(given.py(), name, e))).collect()
    }

    fn is_single(&self, given: &Bound<'_, PyAny>) -> PyResult<bool> {
        if given.is_instance_of::<PyString>() || given.is_instance_of::<PyFloat>() || given.is_instance_of::<pyo3::types::PyInt>()
        {
            return Ok(true);
        }
        Ok(given.hasattr("magnitude")? && given.hasattr("to")? && !given.getattr("magnitude")?.hasattr("__len__")?)
    }

    fn in_list(&self, py: Python<'_>, name: &str, e: PyErr) -> PyErr {
        invalid(format!("{name} is no list of numbers: {}", e.value(py)))
    }

    /// Rows of numbers in the surface unit, and how many there are in a row; a single list is one row.
    pub fn rows(&self, name: &str, given: &Bound<'_, PyAny>) -> PyResult<(Vec<f64>, usize)> {
        let given = self.magnitude(name, given)?.unwrap_or_else(|| given.clone());
        match floats(&given)? {
            Some((values, shape)) if shape.len() == 1 => Ok((values, shape[0])),
            Some((values, shape)) if shape.len() == 2 => Ok((values, shape[1])),
            Some((_, shape)) => {
                Err(invalid(format!("{name} has {} dimensions; give one row of {} for each brace", shape.len(), self.numbers())))
            }
            None => Err(invalid(format!(
                "{name} is no table of numbers; give rows of {} of the same length, one for each brace",
                self.numbers()
            ))),
        }
    }
}

/// False for what can be turned into a float but is none: truth values, and complex or dated scalars of arrays.
fn is_real(given: &Bound<'_, PyAny>) -> PyResult<bool> {
    if given.is_instance_of::<PyBool>() {
        return Ok(false);
    }
    match given.getattr_opt("dtype")? {
        None => Ok(true),
        Some(dtype) => Ok(matches!(dtype.getattr("kind")?.extract::<String>()?.as_str(), "f" | "i" | "u" | "O")),
    }
}

/// Values in row order and shape, where `given` is an array of real numbers or can be read as one.
pub fn floats(given: &Bound<'_, PyAny>) -> PyResult<Option<(Vec<f64>, Vec<usize>)>> {
    let numpy = given.py().import("numpy")?;
    let Ok(array) = numpy.call_method1("asarray", (given,)) else { return Ok(None) };
    let kind: String = array.getattr("dtype")?.getattr("kind")?.extract()?;
    if !matches!(kind.as_str(), "f" | "i" | "u") {
        return Ok(None);
    }
    let array = numpy.call_method1("ascontiguousarray", (&array, "float64"))?;
    let shape = array.cast::<PyArrayDyn<f64>>().map(|a| (a.to_vec(), a.shape().to_vec()));
    match shape {
        Ok((values, shape)) => Ok(Some((values?, shape))),
        Err(_) => Ok(None),
    }
}

pub fn type_name(given: &Bound<'_, PyAny>) -> String {
    given.get_type().name().map_or_else(|_| "that".into(), |n| n.to_string())
}

/// The member of a family that a word stands for; `what` is the argument's name.
pub fn word<T: Copy>(what: &str, given: &str, known: &[(&str, T)]) -> Result<T> {
    let wanted = given.trim().to_lowercase();
    let found = known.iter().find(|(name, _)| *name == wanted).map(|(_, member)| *member);
    found.ok_or_else(|| bracewright::error::unknown_name(what, given, known.iter().map(|k| k.0)).into())
}

/// One word for all, or a list of words.
pub fn words(what: &str, given: &Bound<'_, PyAny>) -> PyResult<Vec<String>> {
    if let Ok(one) = given.extract::<String>() {
        return Ok(vec![one]);
    }
    let bad = |_| PyTypeError::new_err(format!("{what} must be a word or a list of words, not {}", type_name(given)));
    given.extract::<Vec<String>>().map_err(bad)
}

/// The text of a file and its name for messages.
pub fn read_text(path: &std::path::Path) -> Result<(String, String)> {
    let place = path.file_name().map_or_else(|| path.display().to_string(), |n| n.to_string_lossy().into_owned());
    let bytes = std::fs::read(path).map_err(|e| crate::error::not_opened(path, &e))?;
    let text = String::from_utf8(bytes).map_err(|_| bracewright::Error::Unreadable {
        place: place.clone(),
        problem: "is not UTF-8 text; save it as UTF-8".into(),
    })?;
    Ok((place, text))
}
