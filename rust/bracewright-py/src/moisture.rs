//! Air, moisture, temperature and grain: the functions beside `Wood`.

use bracewright::wood;
use pyo3::prelude::*;

use crate::argument::need;
use crate::error::Result;

/// Equilibrium moisture content, percent, of any wood in air of that temperature (-1.2 to 132.3 degrees C) and humidity (0
/// to 100 %): Wood Handbook Eq. 4-5. Real wood lies within about 1 % MC of it.
#[pyfunction]
#[pyo3(signature = (*, temperature_c, rh_percent))]
pub fn emc_percent(
    #[pyo3(from_py_with = need::temperature_c)] temperature_c: f64,
    #[pyo3(from_py_with = need::rh_percent)] rh_percent: f64,
) -> Result<f64> {
    Ok(wood::emc_percent(temperature_c, rh_percent)?)
}

/// The relative humidity, percent, that holds wood at `mc_percent` at that temperature: the inverse of emc_percent.
#[pyfunction]
#[pyo3(signature = (*, temperature_c, mc_percent))]
pub fn rh_for_emc_percent(
    #[pyo3(from_py_with = need::temperature_c)] temperature_c: f64,
    #[pyo3(from_py_with = need::mc_percent)] mc_percent: f64,
) -> Result<f64> {
    Ok(wood::rh_for_emc_percent(temperature_c, mc_percent)?)
}

/// A property at `mc_percent` (0 to 30) from its value at 12 % and its green value: Wood Handbook Eq. 5-3.
#[pyfunction]
#[pyo3(signature = (at_12, green, *, mc_percent, intersection_percent=25.0))]
pub fn at_moisture(
    #[pyo3(from_py_with = need::at_12)] at_12: f64,
    #[pyo3(from_py_with = need::green)] green: f64,
    #[pyo3(from_py_with = need::mc_percent)] mc_percent: f64,
    #[pyo3(from_py_with = need::intersection_percent)] intersection_percent: f64,
) -> Result<f64> {
    Ok(wood::at_moisture(at_12, green, mc_percent, intersection_percent)?)
}

/// Modulus along the grain at a temperature (-50 to 50 degrees C) over that at 20, wood at `mc_percent`: Table 5-15.
#[pyfunction]
#[pyo3(signature = (temperature_c, *, mc_percent=12.0))]
pub fn modulus_temperature_factor(
    #[pyo3(from_py_with = need::temperature_c)] temperature_c: f64,
    #[pyo3(from_py_with = need::mc_percent)] mc_percent: f64,
) -> Result<f64> {
    Ok(wood::modulus_temperature_factor(temperature_c, mc_percent)?)
}

/// Modulus of rupture at a temperature (-50 to 50 degrees C) over that at 20, at 11 to 15 % MC: Table 5-15.
#[pyfunction]
pub fn strength_temperature_factor(#[pyo3(from_py_with = need::temperature_c)] temperature_c: f64) -> Result<f64> {
    Ok(wood::strength_temperature_factor(temperature_c)?)
}

/// Density, kg/m3, from the specific gravity on the volume at the same moisture content: Wood Handbook Eq. 4-14.
#[pyfunction]
#[pyo3(signature = (specific_gravity, *, mc_percent=12.0))]
pub fn density_from_specific_gravity(
    #[pyo3(from_py_with = need::specific_gravity)] specific_gravity: f64,
    #[pyo3(from_py_with = need::mc_percent)] mc_percent: f64,
) -> Result<f64> {
    Ok(wood::density_from_specific_gravity(specific_gravity, mc_percent)?)
}

/// True modulus over the apparent one of a rectangular beam under a central load: 1 + 1.2 (E/G) (h/L)^2.
#[pyfunction]
#[pyo3(signature = (*, e_over_g, span_over_depth))]
pub fn shear_free_factor(
    #[pyo3(from_py_with = need::e_over_g)] e_over_g: f64,
    #[pyo3(from_py_with = need::span_over_depth)] span_over_depth: f64,
) -> Result<f64> {
    Ok(wood::shear_free_factor(e_over_g, span_over_depth)?)
}

/// Hankinson's formula: strength at an angle (0 to 90 degrees) to the grain from its values along and across it, in any
/// one unit. `exponent` from 1 to 4.
#[pyfunction]
#[pyo3(signature = (parallel, perpendicular, *, angle_deg, exponent=2.0))]
pub fn hankinson(
    #[pyo3(from_py_with = need::parallel)] parallel: f64,
    #[pyo3(from_py_with = need::perpendicular)] perpendicular: f64,
    #[pyo3(from_py_with = need::angle_deg)] angle_deg: f64,
    #[pyo3(from_py_with = need::exponent)] exponent: f64,
) -> Result<f64> {
    Ok(wood::hankinson(parallel, perpendicular, angle_deg, exponent)?)
}

/// Share of the bending strength of straight grain that is left where the grain slopes (0.1 for 1 in 10, up to 0.2).
#[pyfunction]
pub fn slope_of_grain_factor(#[pyo3(from_py_with = need::slope)] slope: f64) -> Result<f64> {
    Ok(wood::slope_of_grain_factor(slope)?)
}

/// Slope of grain as one number from the slopes seen in two faces: the root of the sum of squares.
#[pyfunction]
pub fn combined_slope(
    #[pyo3(from_py_with = need::vertical)] vertical: f64,
    #[pyo3(from_py_with = need::sideways)] sideways: f64,
) -> Result<f64> {
    Ok(wood::combined_slope(vertical, sideways)?)
}
