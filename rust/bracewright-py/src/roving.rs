//! Twin of `roving`: frequency responses, and modes with their shapes over a grid.

use bracewright::picture;
use bracewright::roving::{self as core, Estimator, Frf, FrfSet, Moving, Response, RovingModes, RovingOptions, ShapeMode};
use numpy::{PyArray2, PyArrayMethods};
use pyo3::exceptions::PyTypeError;
use pyo3::prelude::*;

use crate::argument::{may, need};
use crate::combine::lists;
use crate::convert::{HZ, PLAIN, floats, type_name, word};
use crate::error::{Result, invalid};
use crate::value::{ToPython, getters, record};

record! {
    /// A frequency response: response over force. Made by frf(...).
    PyFrf, "Frf", Frf {
        /// Frequencies, Hz.
        hz;
        /// Real part, units of the response over N.
        re;
        /// Imaginary part.
        im;
        /// Coherence, 0 to 1; None with one blow.
        coherence;
        /// Blows averaged.
        taps;
        /// What should be known, as sentences.
        words;
    }
}

/// Response over force (ISO 7626 terms: accelerance, mobility or receptance, as the response is) up to high_hz, from one or
/// more blows of a point: force_n and response hold one record a blow, recorded together. estimator "H1" averages noise of
/// the response out, "H2" that of the force.
#[pyfunction]
#[pyo3(signature = (rate_hz, force_n, response, *, estimator="H1", high_hz=1000.0))]
pub fn frf(
    py: Python<'_>,
    #[pyo3(from_py_with = need::rate_hz)] rate_hz: f64,
    force_n: &Bound<'_, PyAny>,
    response: &Bound<'_, PyAny>,
    estimator: &str,
    #[pyo3(from_py_with = need::high_hz)] high_hz: f64,
) -> Result<PyFrf> {
    let estimator = word("estimator", estimator, &[("h1", Estimator::H1), ("h2", Estimator::H2)])?;
    let (force, response) = (lists("force_n", force_n)?, lists("response", response)?);
    Ok(PyFrf(py.detach(|| core::frf(rate_hz, &force, &response, estimator, high_hz))?))
}

const RESPONSES: [(&str, Response); 3] =
    [("receptance", Response::Receptance), ("mobility", Response::Mobility), ("accelerance", Response::Accelerance)];

impl ToPython for Response {
    fn to_python<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        self.shown().to_python(py)
    }
    fn shown(&self) -> String {
        RESPONSES.iter().find(|r| r.1 == *self).map_or("", |r| r.0).into()
    }
}

record! {
    /// Frequency responses over a grid: FrfSet(points_mm, hz, frfs, response="accelerance"), or frf_set() of a file.
    PyFrfSet, "FrfSet", FrfSet {
        /// Points, pairs of x and y, mm.
        points_mm;
        /// Frequencies, Hz.
        hz;
        /// Real part, one list a point.
        re;
        /// Imaginary part.
        im;
        /// "receptance", "mobility" or "accelerance".
        response;
        /// Whether the response is in SI units per N.
        calibrated;
        /// Which point the fixed sensor sits at, from 0; None when it is none of them.
        driving;
    }
}

/// Pairs of x and y in mm; plain numbers stand along x.
fn points(given: &Bound<'_, PyAny>) -> PyResult<Vec<(f64, f64)>> {
    match floats(given)? {
        Some((values, shape)) if shape.len() == 1 => Ok(values.into_iter().map(|x| (x, 0.0)).collect()),
        Some((values, shape)) if shape.len() == 2 && shape[1] == 2 => Ok(values.chunks(2).map(|p| (p[0], p[1])).collect()),
        Some((_, shape)) => {
            Err(invalid(format!("points_mm has shape {shape:?}; give pairs of x and y in mm, or places along a line in mm")))
        }
        None => Err(invalid("points_mm is no list of points; give pairs of x and y in mm, or places along a line in mm".into())),
    }
}

type Rows = Vec<Vec<f64>>;

/// Rows of complex numbers as real and imaginary parts.
fn complex_rows(name: &str, given: &Bound<'_, PyAny>) -> PyResult<(Rows, Rows)> {
    let numpy = given.py().import("numpy")?;
    let bad = || invalid(format!("{name} is no table of complex numbers; give one row a point, all of the same length"));
    let array = numpy.call_method1("asarray", (given,)).map_err(|_| bad())?;
    let kind: String = array.getattr("dtype")?.getattr("kind")?.extract()?;
    if !matches!(kind.as_str(), "c" | "f" | "i" | "u") {
        return Err(bad());
    }
    let part = |part: &str| -> PyResult<Vec<Vec<f64>>> {
        let part = numpy.call_method1("ascontiguousarray", (array.getattr(part)?, "float64"))?;
        let rows = part.cast::<PyArray2<f64>>().map_err(|_| bad())?.try_readonly()?;
        Ok(rows.as_array().rows().into_iter().map(|r| r.to_vec()).collect())
    };
    Ok((part("real")?, part("imag")?))
}

#[pymethods]
impl PyFrfSet {
    #[new]
    #[pyo3(signature = (points_mm, hz, frfs, *, response="accelerance", calibrated=false, driving=None))]
    fn new(
        points_mm: &Bound<'_, PyAny>,
        hz: &Bound<'_, PyAny>,
        frfs: &Bound<'_, PyAny>,
        response: &str,
        calibrated: bool,
        #[pyo3(from_py_with = may::driving)] driving: Option<usize>,
    ) -> Result<Self> {
        let (re, im) = complex_rows("frfs", frfs)?;
        let response = word("response", response, &RESPONSES)?;
        let set = FrfSet { points_mm: points(points_mm)?, hz: HZ.list("hz", hz)?, re, im, response, calibrated, driving };
        set.check()?;
        Ok(Self(set))
    }
}

record! {
    /// A mode with its shape.
    PyShapeMode, "ShapeMode", ShapeMode {
        /// Frequency of the ringing, Hz.
        frequency_hz;
        /// Its standard uncertainty, Hz.
        u_frequency_hz;
        /// Decay rate of the amplitude, 1/s.
        decay_per_s;
        /// Its standard uncertainty, 1/s.
        u_decay_per_s;
        /// Shape, one value a point, largest 1.
        shape;
        /// Standard uncertainty of each beside the largest.
        u_shape;
        /// What is left in the imaginary part.
        imaginary;
        /// Modal phase collinearity, 0 to 1: 1 when all points move in step.
        collinearity;
        /// Points where the mode stands clear of the noise.
        seen_at;
        /// Modal mass for a shape of largest value 1, g; None without force, calibration and driving point.
        modal_mass_g;
        /// Its standard uncertainty from noise, g.
        u_modal_mass_g;
    }
}

getters! { PyShapeMode {
    /// Quality factor.
    quality;
    /// Loss factor, 1 / Q.
    loss_factor;
}}

type Columns = Vec<(&'static str, Vec<f64>)>;

fn shape_columns(found: &RovingModes) -> Columns {
    let column = |name, of: fn(&ShapeMode) -> f64| (name, found.modes.iter().map(of).collect());
    vec![
        column("frequency_hz", |m| m.frequency_hz),
        column("u_frequency_hz", |m| m.u_frequency_hz),
        column("decay_per_s", |m| m.decay_per_s),
        column("u_decay_per_s", |m| m.u_decay_per_s),
        column("quality", ShapeMode::quality),
        column("collinearity", |m| m.collinearity),
        column("modal_mass_g", |m| m.modal_mass_g.unwrap_or(f64::NAN)),
    ]
}

record! {
    /// Modes and shapes over a grid. Made by roving_decays(...) and roving_frfs(...).
    PyRovingModes, "RovingModes", RovingModes {
        /// The points, pairs of x and y in mm.
        points_mm;
        /// Modes by rising frequency.
        modes;
        /// What should be known, as sentences.
        words;
    }
    table shape_columns
}

#[pymethods]
impl PyRovingModes {
    /// Modal assurance criterion of every mode of this (rows) with every mode of another on the same points (columns).
    fn mac_with(&self, other: &Self) -> Result<Vec<Vec<f64>>> {
        Ok(self.0.mac_with(&other.0)?)
    }

    /// The shapes as a picture: curves along a stick; discs over a plate, filled one way and open the other.
    #[pyo3(signature = (*, title="Mode shapes"))]
    fn svg(&self, title: &str) -> Result<String> {
        Ok(picture::mode_shapes_svg(title, &self.0)?)
    }

    /// Draws the shapes on matplotlib axes, one a mode (new ones when left out), and returns them.
    #[pyo3(signature = (axes=None))]
    fn plot<'py>(slf: &Bound<'py, Self>, axes: Option<&Bound<'py, PyAny>>) -> PyResult<Bound<'py, PyAny>> {
        slf.py().import("bracewright.plots")?.call_method1("plot_shapes", (slf, axes))
    }
}

/// Modes of a grid of frequency responses from low_hz to high_hz, at most `most` (1 to 24): frequencies and damping common to
/// all points, shapes, and modal masses where the set is calibrated and its driving point known.
#[pyfunction]
#[pyo3(signature = (frfs, *, low_hz=40.0, high_hz=1000.0, most=12))]
pub fn roving_frfs(
    py: Python<'_>,
    frfs: &PyFrfSet,
    #[pyo3(from_py_with = need::low_hz)] low_hz: f64,
    #[pyo3(from_py_with = need::high_hz)] high_hz: f64,
    #[pyo3(from_py_with = need::most)] most: usize,
) -> Result<PyRovingModes> {
    Ok(PyRovingModes(py.detach(|| core::roving_frfs(&frfs.0, &RovingOptions { low_hz, high_hz, most }))?))
}

/// Taps of each point: rows of samples, one tap a point, or a list of taps for each point.
fn taps(name: &str, given: &Bound<'_, PyAny>) -> PyResult<Vec<Vec<Vec<f64>>>> {
    let bad = |_| PyTypeError::new_err(format!("{name}: it must be a list of taps for each point, not {}", type_name(given)));
    if given.is_instance_of::<pyo3::types::PyString>() {
        return Err(invalid(format!("{name} is no list of taps; give lists of samples, one or more a point")));
    }
    given.try_iter().map_err(bad)?.enumerate().map(|(i, one)| lists(&format!("{name}[{i}]"), &one?)).collect()
}

/// Modes and shapes from free decays: `samples` holds for each point one list of samples, or a list of taps, each starting with
/// its ring; `reference` the same of a channel that stays in its place. moving is "tap" or "sensor": with a roving sensor the
/// reference takes the strength of every tap out of the shapes; with a roving tap only a force channel can (frf), and the
/// words say so.
#[pyfunction]
#[pyo3(signature = (points_mm, rate_hz, samples, *, reference=None, moving="tap", low_hz=40.0, high_hz=1000.0, most=12))]
pub fn roving_decays(
    py: Python<'_>,
    points_mm: &Bound<'_, PyAny>,
    #[pyo3(from_py_with = need::rate_hz)] rate_hz: f64,
    samples: &Bound<'_, PyAny>,
    reference: Option<&Bound<'_, PyAny>>,
    moving: &str,
    #[pyo3(from_py_with = need::low_hz)] low_hz: f64,
    #[pyo3(from_py_with = need::high_hz)] high_hz: f64,
    #[pyo3(from_py_with = need::most)] most: usize,
) -> Result<PyRovingModes> {
    let moving = word("moving", moving, &[("tap", Moving::Tap), ("sensor", Moving::Sensor)])?;
    let (points, samples) = (points(points_mm)?, taps("samples", samples)?);
    let reference = reference.map(|r| taps("reference", r)).transpose()?;
    let options = RovingOptions { low_hz, high_hz, most };
    let found = py.detach(|| core::roving_decays(&points, rate_hz, &samples, reference.as_deref(), moving, &options))?;
    Ok(PyRovingModes(found))
}

/// Modal assurance criterion of two real shapes on the same points: 1 when one is a multiple of the other.
#[pyfunction]
pub fn mac(first: &Bound<'_, PyAny>, second: &Bound<'_, PyAny>) -> Result<f64> {
    Ok(core::mac(&PLAIN.list("first", first)?, &PLAIN.list("second", second)?)?)
}
