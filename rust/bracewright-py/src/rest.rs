//! Twin of `combine::rest`, `combine::glue` and `table::weighings`: stock at rest with the shop, tables of weighings, and the
//! water of a glue-up.

use std::path::PathBuf;

use bracewright::combine::{self as core, GlueUp, GlueWater, Rest, RestReport};
use bracewright::table::{self, Weighings};
use pyo3::prelude::*;

use crate::argument::{may, need};
use crate::convert::{G, PLAIN, read_text};
use crate::error::Result;
use crate::value::{ToPython, getters, record};

impl ToPython for Rest {
    fn to_python<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        self.shown().to_python(py)
    }
    fn shown(&self) -> String {
        match self {
            Rest::AtRest => "at rest".into(),
            Rest::NotYet => "not yet".into(),
            Rest::CannotTell => "cannot tell".into(),
        }
    }
}

record! {
    /// What a row of weighings says. Made by rest(...).
    PyRestReport, "RestReport", RestReport {
        /// "at rest", "not yet" or "cannot tell"; the first two with a chance of 95 % or more.
        answer;
        /// Chance that the rate at the last weighing is below the limit.
        chance_at_rest;
        /// Rate at the last weighing, percent of the mass a day; negative while it dries.
        rate_percent_per_day;
        /// 90 % interval of the rate.
        rate_90_percent_per_day;
        /// Mass it is on its way to, g; None when the weighings show no end.
        settled_mass_g;
        /// Time constant of the best exponential, days; None when a straight line does as well.
        time_constant_days;
        /// Days from the last weighing until the rate falls below the limit, median.
        days_until_rest;
        /// 90 % interval of the same.
        days_until_rest_90;
        /// Days after which one more weighing on this scale would tell; None when it can tell now.
        weigh_again_days;
        /// Standard uncertainty of one weighing as used, g.
        u_used_g;
        /// What should be known, as sentences.
        words;
    }
}

/// Whether stock is at rest with the shop: `days` increasing, mass_g beside them, u_scale_g the standard uncertainty of one
/// weighing, limit_percent_per_day the rate that counts as rest. An exponential approach is fitted, its time constant open.
#[pyfunction]
#[pyo3(signature = (days, mass_g, *, u_scale_g, limit_percent_per_day=0.1))]
pub fn rest(
    py: Python<'_>,
    days: &Bound<'_, PyAny>,
    mass_g: &Bound<'_, PyAny>,
    #[pyo3(from_py_with = need::u_scale_g)] u_scale_g: f64,
    #[pyo3(from_py_with = need::limit_percent_per_day)] limit_percent_per_day: f64,
) -> Result<PyRestReport> {
    let (days, mass) = (PLAIN.list("days", days)?, G.list("mass_g", mass_g)?);
    Ok(PyRestReport(py.detach(|| core::rest(&days, &mass, u_scale_g, limit_percent_per_day))?))
}

record! {
    /// The weighings of one piece, in the order of time. Made by read_weighings(...).
    PyWeighings, "Weighings", Weighings {
        /// Its name; empty where the table has one piece and no names.
        name;
        /// Date (and time) of the first weighing, "2026-03-01" or "2026-03-01T08:30"; None where the table counts days.
        from_date;
        /// Days from the first weighing; from the table's own 0 where it counts days.
        days;
        /// Masses, g.
        mass_g;
    }
}

getters! { PyWeighings {
    /// The step of the scale, g, from 10 down to 0.001: the coarsest decimal that all masses are whole multiples of; None when
    /// they are of none.
    step_g;
}}

/// Weighings over days from a CSV file: date (2026-03-01 or 1.3.2026, with a time as 08:30 behind it or not) or days, mass, and
/// name where it holds several pieces. Units in the headings, `;` and decimal comma read as well. ReadingsError names line and
/// column.
#[pyfunction]
pub fn read_weighings(path: PathBuf) -> Result<Vec<PyWeighings>> {
    let (place, text) = read_text(&path)?;
    Ok(table::read_weighings(&place, &text)?.into_iter().map(PyWeighings).collect())
}

record! {
    /// What the water of a glue-up does. Made by glue_water(...).
    PyGlueWater, "GlueWater", GlueWater {
        /// Water brought in, g.
        water_g;
        /// Rise of the mean moisture content of the wood at the joint, percent.
        rise_percent_mc;
        /// Disturbance of a reading at once, percent.
        disturbance_percent;
        /// Time constant of the slowest part, days.
        time_constant_days;
        /// Days until the disturbance is below what is allowed.
        days_until;
        /// The same with the diffusion wrong by a factor of 2 either way; twice the same where it was given.
        days_until_range;
        /// Place of the joint as a share of the thickness.
        place;
        /// What should be known, as sentences.
        words;
    }
}

#[pymethods]
impl PyGlueWater {
    /// Share of the water still in the wood after so many days (0 or more): Fick's law across the thickness, both faces open.
    fn left_after(&self, #[pyo3(from_py_with = need::days)] days: f64) -> Result<f64> {
        Ok(self.0.left_after(days)?)
    }
}

/// How long the water of a glue-up disturbs readings: glue_g of glue with water_percent of water in a joint of area_mm2 between
/// wood first_mm and second_mm thick. diffusion_mm2_per_day across the grain (1e-10 m2/s is 8.64); without one 17.3 within a
/// factor of 2, recalled, no source read. slope_percent is what a reading changes by per percent of moisture.
#[pyfunction]
#[pyo3(signature = (glue_g, *, area_mm2, first_mm, second_mm, water_percent=50.0, density_kg_m3=420.0, mc_percent=8.0,
    diffusion_mm2_per_day=None, slope_percent=1.6, allowed_percent=0.2))]
pub fn glue_water(
    #[pyo3(from_py_with = need::glue_g)] glue_g: f64,
    #[pyo3(from_py_with = need::area_mm2)] area_mm2: f64,
    #[pyo3(from_py_with = need::first_mm)] first_mm: f64,
    #[pyo3(from_py_with = need::second_mm)] second_mm: f64,
    #[pyo3(from_py_with = need::water_percent)] water_percent: f64,
    #[pyo3(from_py_with = need::density_kg_m3)] density_kg_m3: f64,
    #[pyo3(from_py_with = need::mc_percent)] mc_percent: f64,
    #[pyo3(from_py_with = may::diffusion_mm2_per_day)] diffusion_mm2_per_day: Option<f64>,
    #[pyo3(from_py_with = need::slope_percent)] slope_percent: f64,
    #[pyo3(from_py_with = need::allowed_percent)] allowed_percent: f64,
) -> Result<PyGlueWater> {
    let glue = GlueUp {
        glue_g,
        water_percent,
        area_mm2,
        first_mm,
        second_mm,
        density_kg_m3,
        mc_percent,
        diffusion_mm2_per_day,
        slope_percent,
        allowed_percent,
    };
    Ok(PyGlueWater(glue.water()?))
}
