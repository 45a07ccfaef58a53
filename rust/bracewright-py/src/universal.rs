//! Twin of `universal`: files in the universal format.

use std::path::PathBuf;

use bracewright::universal::{
    self as core, FunctionKind, Universal, UniversalFunction, UniversalNode, UniversalUnits, write_universal,
    write_universal_binary,
};
use pyo3::exceptions::PyTypeError;
use pyo3::prelude::*;
use pyo3::types::PyBytes;

use crate::argument::need;
use crate::convert::{PLAIN, type_name, word};
use crate::error::Result;
use crate::roving::PyFrfSet;
use crate::value::{ToPython, record};

const KINDS: [(&str, FunctionKind); 3] = [
    ("time response", FunctionKind::TimeResponse),
    ("frequency response", FunctionKind::FrequencyResponse),
    ("coherence", FunctionKind::Coherence),
];

impl ToPython for FunctionKind {
    fn to_python<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        self.shown().to_python(py)
    }
    fn shown(&self) -> String {
        KINDS.iter().find(|k| k.1 == *self).map_or_else(|| format!("type {}", self.number()), |k| k.0.into())
    }
}

record! {
    /// One function of a universal file.
    PyUniversalFunction, "UniversalFunction", UniversalFunction {
        /// "time response", "frequency response", "coherence", or "type" and a number.
        kind;
        /// First line of text about it.
        title;
        /// Node of the response.
        response_node;
        /// Its direction: 1, 2, 3 for x, y, z, minus the other way, 0 for a scalar.
        response_direction;
        /// Node of the reference (of a frequency response, the force).
        reference_node;
        /// Its direction.
        reference_direction;
        /// Times, s, or frequencies, Hz.
        abscissa;
        /// Values, or their real parts, in the units of the file.
        re;
        /// Imaginary parts; empty when the values are real.
        im;
        /// What the abscissa measures: 17 time, 18 frequency.
        abscissa_kind;
        /// What the values measure: 8 displacement, 11 velocity, 12 acceleration, 13 force, 15 pressure, 0 not said.
        ordinate_kind;
        /// What their denominator measures; 0 when there is none.
        denominator_kind;
    }
}

fn direction(name: &str, given: &Bound<'_, PyAny>) -> PyResult<i32> {
    if given.is_instance_of::<pyo3::types::PyBool>() {
        return Err(PyTypeError::new_err(format!("{name}: it must be a whole number from -6 to 6, not a truth value")));
    }
    match given.extract::<i32>() {
        Ok(d) if (-6..=6).contains(&d) => Ok(d),
        Ok(d) => Err(crate::error::invalid(format!("{name} is {d}; it must be a whole number from -6 to 6"))),
        Err(_) => Err(PyTypeError::new_err(format!("{name}: it must be a whole number from -6 to 6, not {}", type_name(given)))),
    }
}

fn response_direction(given: &Bound<'_, PyAny>) -> PyResult<i32> {
    direction("response_direction", given)
}

fn reference_direction(given: &Bound<'_, PyAny>) -> PyResult<i32> {
    direction("reference_direction", given)
}

const AXES: [(&str, u32); 8] = [
    ("unknown", core::axis::UNKNOWN),
    ("displacement", core::axis::DISPLACEMENT),
    ("velocity", core::axis::VELOCITY),
    ("acceleration", core::axis::ACCELERATION),
    ("force", core::axis::FORCE),
    ("pressure", core::axis::PRESSURE),
    ("time", core::axis::TIME),
    ("frequency", core::axis::FREQUENCY),
];

#[pymethods]
impl PyUniversalFunction {
    #[new]
    #[pyo3(signature = (kind, *, abscissa, re, im=None, title="", response_node, response_direction=3, reference_node=0,
        reference_direction=3, ordinate="unknown", denominator="unknown"))]
    fn new(
        kind: &str,
        abscissa: &Bound<'_, PyAny>,
        re: &Bound<'_, PyAny>,
        im: Option<&Bound<'_, PyAny>>,
        title: &str,
        #[pyo3(from_py_with = need::response_node)] response_node: i64,
        #[pyo3(from_py_with = self::response_direction)] response_direction: i32,
        #[pyo3(from_py_with = need::reference_node)] reference_node: i64,
        #[pyo3(from_py_with = self::reference_direction)] reference_direction: i32,
        ordinate: &str,
        denominator: &str,
    ) -> Result<Self> {
        let kind = word("kind", kind, &KINDS)?;
        let made = UniversalFunction {
            kind,
            title: title.into(),
            response_node,
            response_direction,
            reference_node,
            reference_direction,
            abscissa: PLAIN.list("abscissa", abscissa)?,
            re: PLAIN.list("re", re)?,
            im: im.map(|im| PLAIN.list("im", im)).transpose()?.unwrap_or_default(),
            abscissa_kind: if kind == FunctionKind::TimeResponse { core::axis::TIME } else { core::axis::FREQUENCY },
            ordinate_kind: word("ordinate", ordinate, &AXES)?,
            denominator_kind: word("denominator", denominator, &AXES)?,
        };
        made.check("")?;
        Ok(Self(made))
    }
}

record! {
    /// A node of a universal file: UniversalNode(7, x_mm=120, y_mm=0).
    PyUniversalNode, "UniversalNode", UniversalNode {
        /// Its label.
        node;
        /// Place, mm.
        x_mm;
        /// Place, mm.
        y_mm;
        /// Place, mm.
        z_mm;
    }
}

#[pymethods]
impl PyUniversalNode {
    #[new]
    #[pyo3(signature = (node, *, x_mm, y_mm=0.0, z_mm=0.0))]
    fn new(
        #[pyo3(from_py_with = need::node)] node: i64,
        #[pyo3(from_py_with = need::x_mm)] x_mm: f64,
        #[pyo3(from_py_with = need::y_mm)] y_mm: f64,
        #[pyo3(from_py_with = need::z_mm)] z_mm: f64,
    ) -> Result<Self> {
        let made = UniversalNode { node, x_mm, y_mm, z_mm };
        made.check("")?;
        Ok(Self(made))
    }
}

record! {
    /// The units of a universal file, dataset 164.
    PyUniversalUnits, "UniversalUnits", UniversalUnits {
        /// Code; 1 is SI.
        code;
        /// Its description.
        description;
        /// A length of the file over this is in m.
        length_factor;
        /// A force of the file over this is in N.
        force_factor;
    }
}

record! {
    /// What a universal file holds: read_universal(path or bytes), or Universal(functions, nodes=...).
    PyUniversal, "Universal", Universal {
        /// Functions in the order of the file.
        functions;
        /// Nodes.
        nodes;
        /// Units; None when the file names none, and SI was taken.
        units;
        /// What should be known, as sentences.
        words;
    }
}

#[pymethods]
impl PyUniversal {
    #[new]
    #[pyo3(signature = (functions, *, nodes=None))]
    fn new(functions: Vec<PyRef<'_, PyUniversalFunction>>, nodes: Option<Vec<PyRef<'_, PyUniversalNode>>>) -> Self {
        let functions = functions.iter().map(|f| f.0.clone()).collect();
        let nodes = nodes.unwrap_or_default().iter().map(|n| n.0.clone()).collect();
        Self(Universal { functions, nodes, units: None, words: Vec::new() })
    }

    /// The file's bytes, to be written as they are: SI, double precision, functions as dataset 58 in text, or 58b.
    #[pyo3(signature = (*, binary=false))]
    fn to_bytes<'py>(&self, py: Python<'py>, binary: bool) -> Result<Bound<'py, PyBytes>> {
        let bytes = if binary { write_universal_binary(&self.0)? } else { write_universal(&self.0)?.into_bytes() };
        Ok(PyBytes::new(py, &bytes))
    }

    /// The frequency responses of the file over its nodes, all of one fixed end, in SI units.
    fn frf_set(&self) -> Result<PyFrfSet> {
        Ok(PyFrfSet(core::frf_set(&self.0)?))
    }
}

/// Reads a file in the universal format, given as a path or as bytes: functions (58 and 58b), nodes (15, 2411), units (164);
/// other datasets are passed over and named. ReadingsError names the line.
#[pyfunction]
pub fn read_universal(py: Python<'_>, path: &Bound<'_, PyAny>) -> Result<PyUniversal> {
    if let Ok(bytes) = path.cast::<PyBytes>() {
        return Ok(PyUniversal(core::read_universal("bytes", bytes.as_bytes())?));
    }
    let bad = |_| PyTypeError::new_err(format!("path: it must be a path or bytes, not {}", type_name(path)));
    let file: PathBuf = path.extract().map_err(bad)?;
    let place = file.file_name().map_or_else(|| file.display().to_string(), |n| n.to_string_lossy().into_owned());
    let bytes = std::fs::read(&file).map_err(|e| crate::error::not_opened(&file, &e))?;
    Ok(PyUniversal(py.detach(|| core::read_universal(&place, &bytes))?))
}
