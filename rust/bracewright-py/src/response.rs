//! Twins of `belief/response` and `belief/curve`: what a reading should be.

use bracewright::belief::{ProportionalCurve, Response, Second, StiffnessTable};
use pyo3::exceptions::PyTypeError;
use pyo3::prelude::*;

use crate::argument::need;
use crate::convert::{GPA, MM, MM_PER_N, PLAIN, word};
use crate::error::Result;
use crate::value::{getters, html, short, value};

fn second(given: &str) -> Result<Second> {
    word("second", given, &[("rest stiffness", Second::RestStiffness), ("support compliance", Second::SupportCompliance)])
}

/// Stiffness of a brace on a grid of moduli and depths, interpolated by cubics in ln stiffness; outside the grid it goes on
/// in a straight line.
///
/// stiffness_n_per_mm holds one row for each of e_gpa and one value for each of depth_mm; both increase, two values at least.
/// load_n is the rig's load. `second` says what the second unknown is and how it joins: "rest stiffness", N/mm beside the
/// brace, or "support compliance", mm/N under it.
#[pyclass(frozen, eq, name = "StiffnessTable", module = "bracewright")]
#[derive(Debug, Clone, PartialEq)]
pub struct PyStiffnessTable(pub StiffnessTable);

value!(PyStiffnessTable, StiffnessTable, "StiffnessTable");

getters! { PyStiffnessTable {
    /// Load of the rig, N.
    load_n;
}}

#[pymethods]
impl PyStiffnessTable {
    #[new]
    #[pyo3(signature = (*, e_gpa, depth_mm, stiffness_n_per_mm, load_n, second="support compliance"))]
    fn new(
        e_gpa: &Bound<'_, PyAny>,
        depth_mm: &Bound<'_, PyAny>,
        stiffness_n_per_mm: &Bound<'_, PyAny>,
        #[pyo3(from_py_with = need::load_n)] load_n: f64,
        second: &str,
    ) -> Result<Self> {
        let (values, row) = PLAIN.rows("stiffness_n_per_mm", stiffness_n_per_mm)?;
        let rows: Vec<Vec<f64>> = values.chunks(row.max(1)).map(<[f64]>::to_vec).collect();
        let (e, depth) = (GPA.list("e_gpa", e_gpa)?, MM.list("depth_mm", depth_mm)?);
        Ok(Self(StiffnessTable::new(&e, &depth, &rows, load_n, self::second(second)?)?))
    }

    /// Stiffness of the brace alone, N/mm.
    fn stiffness_n_per_mm(
        &self,
        #[pyo3(from_py_with = need::e_gpa)] e_gpa: f64,
        #[pyo3(from_py_with = need::depth_mm)] depth_mm: f64,
    ) -> Result<f64> {
        bracewright::error::positive("e_gpa", e_gpa, "GPa")?;
        bracewright::error::finite("depth_mm", depth_mm, "mm")?;
        Ok(self.0.stiffness_n_per_mm(e_gpa, depth_mm))
    }

    /// Deflection, mm, at the rig's load with the second unknown joined.
    #[pyo3(signature = (*, e_gpa, second, depth_mm))]
    fn deflection_mm(
        &self,
        #[pyo3(from_py_with = need::e_gpa)] e_gpa: f64,
        #[pyo3(from_py_with = need::second)] second: f64,
        #[pyo3(from_py_with = need::depth_mm)] depth_mm: f64,
    ) -> Result<f64> {
        deflection(&self.0, e_gpa, second, depth_mm)
    }

    fn __repr__(&self) -> String {
        format!("StiffnessTable(load_n={}, second in {})", short(self.0.load_n()), self.0.second().unit())
    }

    fn _repr_html_(&self) -> String {
        html(&self.__repr__(), &[])
    }
}

/// A bare brace of one wood, whose compliance goes as one over its modulus: a curve over depth is enough.
///
/// compliance_mm_per_n is the deflection per newton of the brace at 1 GPa for each of depth_mm; neither falls. load_n and
/// `second` as for StiffnessTable.
#[pyclass(frozen, eq, name = "ProportionalCurve", module = "bracewright")]
#[derive(Debug, Clone, PartialEq)]
pub struct PyProportionalCurve(pub ProportionalCurve);

value!(PyProportionalCurve, ProportionalCurve, "ProportionalCurve");

#[pymethods]
impl PyProportionalCurve {
    #[new]
    #[pyo3(signature = (*, depth_mm, compliance_mm_per_n, load_n, second="support compliance"))]
    fn new(
        depth_mm: &Bound<'_, PyAny>,
        compliance_mm_per_n: &Bound<'_, PyAny>,
        #[pyo3(from_py_with = need::load_n)] load_n: f64,
        second: &str,
    ) -> Result<Self> {
        let (depth, c) = (MM.list("depth_mm", depth_mm)?, MM_PER_N.list("compliance_mm_per_n", compliance_mm_per_n)?);
        Ok(Self(ProportionalCurve::new(&depth, &c, load_n, self::second(second)?)?))
    }

    /// Deflection, mm, at the rig's load with the second unknown joined.
    #[pyo3(signature = (*, e_gpa, second, depth_mm))]
    fn deflection_mm(
        &self,
        #[pyo3(from_py_with = need::e_gpa)] e_gpa: f64,
        #[pyo3(from_py_with = need::second)] second: f64,
        #[pyo3(from_py_with = need::depth_mm)] depth_mm: f64,
    ) -> Result<f64> {
        deflection(&self.0, e_gpa, second, depth_mm)
    }

    fn __repr__(&self) -> String {
        "ProportionalCurve()".into()
    }

    fn _repr_html_(&self) -> String {
        html(&self.__repr__(), &[])
    }
}

fn deflection(response: &dyn Response, e_gpa: f64, second: f64, depth_mm: f64) -> Result<f64> {
    bracewright::error::positive("e_gpa", e_gpa, "GPa")?;
    bracewright::error::not_negative("second", second, "")?;
    bracewright::error::finite("depth_mm", depth_mm, "mm")?;
    Ok(bracewright::error::positive("deflection_mm", response.deflection_mm(e_gpa, second, depth_mm), "mm")?)
}

/// What a reading should be: either of the two responses.
pub enum Curve {
    Table(StiffnessTable),
    Proportional(ProportionalCurve),
}

impl Curve {
    /// Whichever of them it is.
    pub fn of(given: &Bound<'_, PyAny>) -> Result<Self> {
        if let Ok(table) = given.cast::<PyStiffnessTable>() {
            return Ok(Self::Table(table.get().0.clone()));
        }
        match given.cast::<PyProportionalCurve>() {
            Ok(curve) => Ok(Self::Proportional(curve.get().0.clone())),
            Err(_) => Err(PyTypeError::new_err("response must be a StiffnessTable or a ProportionalCurve").into()),
        }
    }

    /// As the core takes it.
    pub fn response(&self) -> &dyn Response {
        match self {
            Self::Table(t) => t,
            Self::Proportional(c) => c,
        }
    }
}
