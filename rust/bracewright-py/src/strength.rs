//! Twin of `wood::strength`: what is left of a short-term strength.

use bracewright::wood::{self, LoadDuration};
use pyo3::prelude::*;

use crate::argument::need;
use crate::error::Result;

/// Share of the short-term strength that clear wood holds under a load that stays so many seconds (1 s to 200 years): Wood 1951,
/// 108.4 t^-0.04635 + 18.3 percent, formula from memory. 0.62 after ten years, above 1 below 7.5 minutes.
#[pyfunction]
pub fn duration_of_load_factor(#[pyo3(from_py_with = need::duration_s)] duration_s: f64) -> Result<f64> {
    Ok(wood::duration_of_load_factor(duration_s)?)
}

/// k_mod of solid timber, EN 1995-1-1:2004 Table 3.1 (confirmed in a design manual that prints it): service_class 1 (heated rooms),
/// 2 or 3; duration "permanent" (strings), "long term", "medium term", "short term" or "instantaneous".
#[pyfunction]
#[pyo3(signature = (service_class=1.0, *, duration="permanent"))]
pub fn k_mod(#[pyo3(from_py_with = need::service_class)] service_class: f64, duration: &str) -> Result<f64> {
    Ok(wood::k_mod(service_class, LoadDuration::from_words(duration)?)?)
}

/// k_def of solid timber, EN 1995-1-1:2004 Table 3.2, from memory: creep in 50 years over the elastic deflection.
#[pyfunction]
#[pyo3(signature = (service_class=1.0))]
pub fn k_def(#[pyo3(from_py_with = need::service_class)] service_class: f64) -> Result<f64> {
    Ok(wood::k_def(service_class)?)
}

/// Modulus of rupture of a beam of this height and span over that of the test beam of the published figures (2 in by 28 in, one
/// load in the middle): Wood Handbook FPL-GTR-282 Eq. 9-18, exponent 18. between_loads_mm lies between two equal loads.
#[pyfunction]
#[pyo3(signature = (height_mm, *, span_mm, between_loads_mm=0.0))]
pub fn size_factor(
    #[pyo3(from_py_with = need::height_mm)] height_mm: f64,
    #[pyo3(from_py_with = need::span_mm)] span_mm: f64,
    #[pyo3(from_py_with = need::between_loads_mm)] between_loads_mm: f64,
) -> Result<f64> {
    Ok(wood::size_factor(height_mm, span_mm, between_loads_mm)?)
}
