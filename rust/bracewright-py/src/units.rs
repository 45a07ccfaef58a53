//! Twin of `units`: inches at the edge.

use bracewright::units::{self, Inches64, Rounding};
use pyo3::prelude::*;

use crate::argument::need;
use crate::convert::word;
use crate::error::Result;
use crate::value::record;

record! {
    /// A length on an inch rule divided in 64ths.
    PyInches64, "Inches64", Inches64 {
        /// "5/16", "1 3/64": inches, without the unit.
        text;
        /// What the text says, mm.
        value_mm;
        /// What the text says less what was given, mm.
        error_mm;
    }
}

/// A length as a fraction of an inch, to the nearest 64th or, with rounding="up", to the next one up, so that a line carved
/// to never lies below the model.
#[pyfunction]
#[pyo3(signature = (length_mm, *, rounding="nearest"))]
pub fn inches_64(#[pyo3(from_py_with = need::length_mm)] length_mm: f64, rounding: &str) -> Result<PyInches64> {
    let rounding = word("rounding", rounding, &[("nearest", Rounding::Nearest), ("up", Rounding::Up)])?;
    Ok(PyInches64(units::inches_64(length_mm, rounding)?))
}

macro_rules! parsers {
    ($($(#[$doc:meta])* $function:ident;)*) => {$(
        $(#[$doc])*
        #[pyfunction]
        #[pyo3(signature = (text, *, default_unit=None))]
        pub fn $function(text: &str, default_unit: Option<&str>) -> Result<f64> {
            Ok(units::$function(text, default_unit)?)
        }
    )*};
}

parsers! {
    /// A length in mm from "7.9 mm", "5/16 in", "1-3/4\"", "1' 3 1/2\"". A bare number needs default_unit.
    parse_length_mm;
    /// A force in N from "19.6 N", "2 kg", "4.4 lbf"; kg, g, lb and oz are weights at standard gravity.
    parse_force_n;
    /// A mass in g from "23,6 g", "0.83 oz", "0.0236 kg".
    parse_mass_g;
    /// A frequency in Hz from "182 Hz", "182,5 Hz", "1.2 kHz". A bare number needs default_unit.
    parse_frequency_hz;
}
