//! Twin of `combine::fused`: independent methods on one quantity.

use bracewright::DynamicOverStatic;
use bracewright::combine::{self as core, Fused, Method, MethodPair};
use pyo3::prelude::*;

use crate::argument::need;
use crate::combine::lists;
use crate::error::Result;
use crate::value::record;

record! {
    /// One method's answer: Method("tap", 12.3, u=0.1).
    PyMethod, "Method", Method {
        /// Its name.
        name;
        /// Its value.
        value;
        /// Its standard uncertainty.
        u;
    }
}

#[pymethods]
impl PyMethod {
    #[new]
    #[pyo3(signature = (name, value, *, u))]
    fn new(name: &str, #[pyo3(from_py_with = need::value)] value: f64, #[pyo3(from_py_with = need::u)] u: f64) -> Result<Self> {
        Ok(Self(Method::new(name, value, u)?))
    }

    /// The same divided by a known factor (0.8 to 1.5), such as the dynamic over the static modulus; its standard uncertainty
    /// (0 to 0.5) joins in. `source` says where it was taken from.
    #[pyo3(signature = (ratio, *, u_ratio, source=""))]
    fn over(
        &self,
        #[pyo3(from_py_with = need::ratio)] ratio: f64,
        #[pyo3(from_py_with = need::u_ratio)] u_ratio: f64,
        source: &str,
    ) -> Result<Self> {
        Ok(Self(self.0.over(&DynamicOverStatic::new(ratio, u_ratio, source)?)?))
    }
}

record! {
    /// Two methods against each other.
    PyMethodPair, "MethodPair", MethodPair {
        /// The first.
        first;
        /// The second.
        second;
        /// Second less first.
        difference;
        /// The same, percent of the first.
        difference_percent;
        /// Standard uncertainty of the difference.
        u_difference;
        /// Normalised error: |difference| over twice its standard uncertainty; 1 or less agrees.
        e_n;
        /// The pair, in words.
        words;
    }
}

record! {
    /// Methods fused. Made by fuse(...).
    PyFused, "Fused", Fused {
        /// The fused value.
        value;
        /// Its standard uncertainty, enlarged where that was asked for and is due.
        u;
        /// Factor for the coverage.
        coverage_factor;
        /// The interval.
        interval;
        /// What each method counts; their sum is 1.
        weights;
        /// Chi squared of the methods about the fused value.
        chi_squared;
        /// Methods less one.
        dof;
        /// Chance of so large a chi squared when every uncertainty is honest.
        chance;
        /// Root of chi squared over the degrees of freedom.
        birge_ratio;
        /// Whether u was enlarged.
        enlarged;
        /// Every pair.
        pairs;
        /// What should be known, as sentences.
        words;
    }
}

/// Fuses methods by generalised least squares. correlation: one row for each method of the correlations of their errors (a
/// span or a scale that two share). enlarge=True multiplies the uncertainty by the Birge ratio when that is above 1.
#[pyfunction]
#[pyo3(signature = (methods, *, correlation=None, coverage=0.95, enlarge=false))]
pub fn fuse(
    methods: Vec<PyRef<'_, PyMethod>>,
    correlation: Option<&Bound<'_, PyAny>>,
    #[pyo3(from_py_with = need::coverage)] coverage: f64,
    enlarge: bool,
) -> Result<PyFused> {
    let methods: Vec<Method> = methods.iter().map(|m| m.0.clone()).collect();
    let correlation = correlation.map(|c| lists("correlation", c)).transpose()?;
    Ok(PyFused(core::fuse(&methods, correlation.as_deref(), coverage, enlarge)?))
}
