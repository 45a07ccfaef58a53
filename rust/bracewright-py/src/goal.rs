//! Twin of `goal`.

use bracewright::{Aim, Goal};
use pyo3::prelude::*;

use crate::argument::need;
use crate::brace::PyBrace;
use crate::error::Result;
use crate::rig::PyRig;
use crate::value::{Shown, getters, html, short, value};

/// What carving is to reach: a window for one quantity. rig.between(low, high) makes one for a reading; Goal.stiffness,
/// Goal.frequency and Goal.mass for the others. The middle is aimed at.
#[pyclass(frozen, eq, name = "Goal", module = "bracewright")]
#[derive(Debug, Clone, PartialEq)]
pub struct PyGoal(pub Goal);

value!(PyGoal, Goal, "Goal");

getters! { PyGoal {
    /// Low end, in `unit`.
    low;
    /// High end, in `unit`.
    high;
    /// What is aimed at: the middle.
    target;
    /// Name of the quantity.
    quantity;
}}

#[pymethods]
impl PyGoal {
    /// The working stiffness at a place, N m2.
    #[staticmethod]
    #[pyo3(signature = (*, x_mm, low_n_m2, high_n_m2))]
    fn stiffness(
        #[pyo3(from_py_with = need::x_mm)] x_mm: f64,
        #[pyo3(from_py_with = need::low_n_m2)] low_n_m2: f64,
        #[pyo3(from_py_with = need::high_n_m2)] high_n_m2: f64,
    ) -> Result<Self> {
        Ok(Self(Goal::stiffness(x_mm, low_n_m2, high_n_m2)?))
    }

    /// The first bending frequency, free on all sides, Hz.
    #[staticmethod]
    #[pyo3(signature = (*, low_hz, high_hz))]
    fn frequency(
        #[pyo3(from_py_with = need::low_hz)] low_hz: f64,
        #[pyo3(from_py_with = need::high_hz)] high_hz: f64,
    ) -> Result<Self> {
        Ok(Self(Goal::frequency(low_hz, high_hz)?))
    }

    /// The mass, g.
    #[staticmethod]
    #[pyo3(signature = (*, low_g, high_g))]
    fn mass(#[pyo3(from_py_with = need::low_g)] low_g: f64, #[pyo3(from_py_with = need::high_g)] high_g: f64) -> Result<Self> {
        Ok(Self(Goal::mass(low_g, high_g)?))
    }

    /// Unit of the quantity: "mm", "N m2", "Hz" or "g".
    #[getter]
    fn unit(&self) -> &'static str {
        self.0.unit()
    }

    /// The rig, where the goal is a reading; otherwise None.
    #[getter]
    pub fn rig(&self) -> Option<PyRig> {
        match self.0.aim() {
            Aim::Deflection(rig) => Some(PyRig((**rig).clone())),
            _ => None,
        }
    }

    /// The quantity of a brace, by the depth-resolved beam.
    fn value(&self, py: Python<'_>, brace: &PyBrace) -> Result<f64> {
        Ok(py.detach(|| self.0.value(&brace.0))?)
    }

    /// The discretisation error of that value.
    fn discretisation(&self, py: Python<'_>, brace: &PyBrace) -> Result<f64> {
        Ok(py.detach(|| self.0.discretisation(&brace.0))?)
    }

    /// The same quantity by the section beam.
    fn section_value(&self, py: Python<'_>, brace: &PyBrace) -> Result<f64> {
        Ok(py.detach(|| self.0.section_value(&brace.0))?)
    }

    /// True when a value, in `unit`, lies in the window.
    fn holds(&self, #[pyo3(from_py_with = need::value)] value: f64) -> bool {
        self.0.holds(value)
    }

    fn __repr__(&self) -> String {
        format!("Goal({}, {} to {} {})", self.0.quantity(), short(self.0.low()), short(self.0.high()), self.0.unit())
    }

    fn _repr_html_(&self) -> String {
        html(
            &self.__repr__(),
            &[Shown { name: "target", text: format!("{} {}", short(self.0.target()), self.0.unit()), column: None }],
        )
    }
}
