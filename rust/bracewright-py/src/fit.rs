//! Twin of `fit`: a dimension for a goal, a stiffness copied, modulus and give from readings.

use bracewright::{Beam, CopyReport, FitOptions, FitReport, Outcome, ReadingsFit};
use pyo3::IntoPyObjectExt;
use pyo3::prelude::*;

use crate::argument::{may, need};
use crate::blank::PyBlank;
use crate::brace::PyBrace;
use crate::convert::{MM, N, words};
use crate::error::Result;
use crate::goal::PyGoal;
use crate::reading::PyReading;
use crate::rig::PyRig;
use crate::value::{ToPython, record};

fn outcome_word(outcome: Outcome) -> &'static str {
    match outcome {
        Outcome::Reached => "reached",
        Outcome::OutOfReach => "out of reach",
        Outcome::NotSettled => "not settled",
    }
}

impl ToPython for Outcome {
    fn to_python<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        outcome_word(*self).into_bound_py_any(py)
    }
    fn shown(&self) -> String {
        format!("{:?}", outcome_word(*self))
    }
}

record! {
    /// What a fit found. A goal that cannot be reached is an outcome, not an error: look at `outcome` and `words`.
    PyFitReport, "FitReport", FitReport {
        /// "reached", "out of reach" (the nearest is given) or "not settled" (the best found is given).
        outcome;
        /// The brace found.
        brace;
        /// Each dimension that was varied: name, before, after, mm.
        dimensions;
        /// Range each could take inside blank and floor, mm.
        ranges;
        /// The goal.
        goal;
        /// The quantity of the brace found, by the depth-resolved beam.
        value;
        /// Its discretisation error.
        discretisation;
        /// The same by the section beam.
        section_value;
        /// The range of the quantity over the range of the (first) dimension.
        reach;
        /// Mass of the brace found, g.
        mass_g;
        /// Grams less than the brace given; negative: more wood stays.
        grams_off;
        /// Depth-resolved solves used in the search.
        solves;
        /// The same in words.
        words;
    }
}

/// Solves for one dimension, or two ("scallop depth", "height", "floor height", ...), so that a goal's target is met; with
/// two, the pair that takes the least wood off. No floor between the end ramps goes below smallest_safe_height_mm;
/// `tolerance` is the relative distance that counts as reached.
#[pyfunction]
#[pyo3(signature = (brace, *, goal, vary, smallest_safe_height_mm=3.0, tolerance=5e-5))]
pub fn carve_to(
    py: Python<'_>,
    brace: &PyBrace,
    goal: &PyGoal,
    vary: &Bound<'_, PyAny>,
    #[pyo3(from_py_with = need::smallest_safe_height_mm)] smallest_safe_height_mm: f64,
    #[pyo3(from_py_with = need::tolerance)] tolerance: f64,
) -> Result<PyFitReport> {
    let vary = words("vary", vary)?;
    let vary: Vec<&str> = vary.iter().map(String::as_str).collect();
    let options = FitOptions { smallest_safe_height_mm, tolerance };
    Ok(PyFitReport(py.detach(|| bracewright::carve_to(&brace.0, &goal.0, &vary, &options))?))
}

/// The value of a dimension, mm, between low_mm and high_mm, at which the three-point deflection per newton over span_mm is
/// goal_mm_per_n, by the section beam: quick, for sweeps over thousands of sticks.
#[pyfunction]
#[pyo3(signature = (brace, name, *, span_mm, goal_mm_per_n, low_mm, high_mm))]
pub fn section_dimension_for(
    py: Python<'_>,
    brace: &PyBrace,
    name: &str,
    #[pyo3(from_py_with = need::span_mm)] span_mm: f64,
    #[pyo3(from_py_with = need::goal_mm_per_n)] goal_mm_per_n: f64,
    #[pyo3(from_py_with = need::low_mm)] low_mm: f64,
    #[pyo3(from_py_with = need::high_mm)] high_mm: f64,
) -> Result<f64> {
    Ok(py.detach(|| bracewright::section_dimension_for(&brace.0, name, span_mm, goal_mm_per_n, low_mm, high_mm))?)
}

record! {
    /// A stiffness copied onto another stick.
    PyCopyReport, "CopyReport", CopyReport {
        /// The brace on the new stick.
        brace;
        /// Stations, mm.
        x_mm;
        /// Working stiffness of the brace that pleased, N m2.
        wanted_n_m2;
        /// Working stiffness of the copy, N m2.
        copy_n_m2;
        /// Places where the new stick cannot follow, mm.
        short_at_mm;
        /// Largest relative miss elsewhere.
        worst_miss;
        /// Grams of the copy less those of the brace that pleased.
        grams_more;
        /// The reading the copy should show, mm.
        reading_mm;
        /// Its standard uncertainty, mm.
        u_mm;
        /// The window to carve to: two standard uncertainties either side.
        window;
        /// The same in words.
        words;
    }
}

/// The shape on another stick whose working stiffness along the brace is that of the brace that pleased.
///
/// `reading`, taken of the brace that pleased on its own rig, makes its modulus known first; `rig` is where the copy will
/// be read. Nothing goes below smallest_height_mm.
#[pyfunction]
#[pyo3(signature = (pleased, *, stick, rig, reading=None, smallest_height_mm=3.0))]
pub fn copy_stiffness(
    py: Python<'_>,
    pleased: &PyBrace,
    stick: &PyBlank,
    rig: &PyRig,
    reading: Option<&PyReading>,
    #[pyo3(from_py_with = need::smallest_height_mm)] smallest_height_mm: f64,
) -> Result<PyCopyReport> {
    let reading = reading.map(|r| &r.0);
    Ok(PyCopyReport(py.detach(|| bracewright::copy_stiffness(&pleased.0, reading, &stick.0, &rig.0, smallest_height_mm))?))
}

record! {
    /// What readings of one brace at several loads and spans say.
    PyReadingsFit, "ReadingsFit", ReadingsFit {
        /// E along the grain, GPa.
        modulus_gpa;
        /// Its standard error, GPa.
        u_gpa;
        /// Give of supports and frame, mm/N.
        give_mm_per_n;
        /// Its standard error, mm/N.
        u_give_mm_per_n;
        /// Correlation of 1/E and give.
        correlation;
        /// Standard deviation of the residuals, mm.
        residual_mm;
        /// Number of readings.
        readings;
        /// What they pin down and what not, in words.
        words;
    }
}

/// Modulus and give of the supports from three-point readings of one brace at several loads and spans: three lists of the
/// same length. u_mm is the standard uncertainty of a reading where it is known; `beam` "resolved" or, quicker,
/// "section". FitError when all readings are on one span: then a soft brace and soft supports look the same.
#[pyfunction]
#[pyo3(signature = (brace, *, span_mm, load_n, deflection_mm, u_mm=None, beam="resolved"))]
pub fn fit_readings(
    py: Python<'_>,
    brace: &PyBrace,
    span_mm: &Bound<'_, PyAny>,
    load_n: &Bound<'_, PyAny>,
    deflection_mm: &Bound<'_, PyAny>,
    #[pyo3(from_py_with = may::u_mm)] u_mm: Option<f64>,
    beam: &str,
) -> Result<PyReadingsFit> {
    let (span, load, deflection) =
        (MM.list("span_mm", span_mm)?, N.list("load_n", load_n)?, MM.list("deflection_mm", deflection_mm)?);
    let beam = beam.parse::<Beam>()?;
    Ok(PyReadingsFit(py.detach(|| bracewright::fit_readings(&brace.0, &span, &load, &deflection, u_mm, beam))?))
}
