//! Twin of `years`: creep, the trend of one's own readings, action and saddle.

use bracewright::years::{self as core, ActionChange, CreepOutlook, RotationTrend, TrendPoint};
use pyo3::prelude::*;

use crate::argument::{may, need};
use crate::convert::{DEG, PLAIN};
use crate::error::Result;
use crate::value::{record, report};

record! {
    /// A deflection or rotation over the years by k_def. Made by creep_outlook(...).
    PyCreepOutlook, "CreepOutlook", CreepOutlook {
        /// Elastic value, in the unit it was given in.
        elastic;
        /// k_def used.
        k_def;
        /// Years.
        years;
        /// Value after each.
        value;
        /// The same if air that cycles makes creep come to twice the elastic value in 50 years.
        cycling;
        /// What should be known, as sentences.
        words;
    }
}

report!(PyCreepOutlook);

/// Creep over the elastic deflection after so many hours: k_def after 50 years, spread over log time (its course is common
/// practice, no source).
#[pyfunction]
#[pyo3(signature = (hours, *, k_def=0.6))]
pub fn creep_ratio(
    #[pyo3(from_py_with = need::hours)] hours: f64,
    #[pyo3(from_py_with = need::k_def)] k_def: f64,
) -> Result<f64> {
    Ok(core::creep_ratio(hours, k_def)?)
}

/// What an elastic deflection or rotation becomes in so many years, by k_def of the service class (1 for heated rooms; EN
/// 1995-1-1 Table 3.2, from memory), and with the creep that cycling air can bring it to.
#[pyfunction]
#[pyo3(signature = (elastic, *, years=None, service_class=1.0))]
pub fn creep_outlook(
    #[pyo3(from_py_with = need::elastic)] elastic: f64,
    years: Option<&Bound<'_, PyAny>>,
    #[pyo3(from_py_with = need::service_class)] service_class: f64,
) -> Result<PyCreepOutlook> {
    let years = years.map_or_else(|| Ok(vec![1.0, 5.0, 20.0, 50.0]), |y| PLAIN.list("years", y))?;
    Ok(PyCreepOutlook(core::creep_outlook(elastic, service_class, &years)?))
}

record! {
    /// What a trend says of one moment.
    PyTrendPoint, "TrendPoint", TrendPoint {
        /// Hours under tension.
        hours;
        /// Rotation, degrees.
        rotation_deg;
        /// Lower end of the band for a reading then, degrees.
        low_deg;
        /// Its upper end, degrees.
        high_deg;
    }
}

record! {
    /// Rotation = a + b log10(hours), fitted to one's own readings. Made by rotation_trend(...).
    PyRotationTrend, "RotationTrend", RotationTrend {
        /// Hours of the readings.
        hours;
        /// The readings, degrees.
        rotation_deg;
        /// Rotation of the line at one hour, degrees.
        at_1_hour_deg;
        /// Growth each time the hours grow tenfold, degrees.
        per_decade_deg;
        /// Its standard uncertainty, degrees.
        u_per_decade_deg;
        /// Scatter of one reading about the line that the bands use, degrees.
        scatter_deg;
        /// Degrees of freedom of that scatter; None where it was given.
        dof;
        /// Share of readings that the bands are to hold.
        coverage;
        /// The line at 1, 5 and 20 years.
        forecast;
        /// What should be known, as sentences.
        words;
    }
}

report!(PyRotationTrend);

#[pymethods]
impl PyRotationTrend {
    /// The line and its band after so many hours.
    fn at_hours(&self, #[pyo3(from_py_with = need::hours)] hours: f64) -> Result<PyTrendPoint> {
        Ok(PyTrendPoint(self.0.at_hours(hours)?))
    }

    /// Years until the line reaches a limit; None when it does not within 200 years.
    fn years_until(&self, #[pyo3(from_py_with = need::limit_deg)] limit_deg: f64) -> Result<Option<f64>> {
        Ok(self.0.years_until(limit_deg)?)
    }

    /// Draws readings, line and bands over log time on matplotlib axes (new ones when left out) and returns them.
    #[pyo3(signature = (limit_deg=None, ax=None))]
    fn plot<'py>(
        slf: &Bound<'py, Self>,
        #[pyo3(from_py_with = may::limit_deg)] limit_deg: Option<f64>,
        ax: Option<&Bound<'py, PyAny>>,
    ) -> PyResult<Bound<'py, PyAny>> {
        slf.py().import("bracewright.load_plots")?.call_method1("plot_rotation_trend", (slf, limit_deg, ax))
    }
}

/// Fits bridge rotation over hours under tension by least squares in log10 of time and carries it on to 1, 5 and 20 years with
/// bands for a further reading. u_deg is the standard uncertainty of a reading; without one the scatter about the line is used,
/// with Student's t.
#[pyfunction]
#[pyo3(signature = (hours, rotation_deg, *, u_deg=None, coverage=0.95))]
pub fn rotation_trend(
    hours: &Bound<'_, PyAny>,
    rotation_deg: &Bound<'_, PyAny>,
    #[pyo3(from_py_with = may::u_deg)] u_deg: Option<f64>,
    #[pyo3(from_py_with = need::coverage)] coverage: f64,
) -> Result<PyRotationTrend> {
    let (hours, read) = (PLAIN.list("hours", hours)?, DEG.list("rotation_deg", rotation_deg)?);
    Ok(PyRotationTrend(core::rotation_trend(&hours, &read, u_deg, coverage)?))
}

record! {
    /// Saddle and action after a rotation of the bridge and a change of the arch. Made by action_change(...).
    PyActionChange, "ActionChange", ActionChange {
        /// How far the saddle's crown came towards the nut, mm.
        forward_mm;
        /// How far it rose, mm; below 0 it sank.
        rise_mm;
        /// Change of the action at the fret, mm.
        action_mm;
        /// The fret.
        fret;
        /// What to take off the saddle (above 0) or add (below 0) to have the old action back, mm.
        off_saddle_mm;
        /// How much sharper the shorter string is, cents.
        cents;
        /// The same, in words.
        words;
    }
}

report!(PyActionChange);

/// What a bridge rotation (forward, degrees) and a rise of the arch under it (mm) do to saddle, action and pitch. The bridge turns
/// about a point in the top pivot_behind_mm behind the saddle, whose crown is height_mm above it; half of the saddle's change is
/// felt at the 12th fret.
#[pyfunction]
#[pyo3(signature = (*, rotation_deg=0.0, arch_rise_mm=0.0, height_mm, scale_mm, pivot_behind_mm=0.0, fret=12.0))]
pub fn action_change(
    #[pyo3(from_py_with = need::rotation_deg)] rotation_deg: f64,
    #[pyo3(from_py_with = need::arch_rise_mm)] arch_rise_mm: f64,
    #[pyo3(from_py_with = need::height_mm)] height_mm: f64,
    #[pyo3(from_py_with = need::scale_mm)] scale_mm: f64,
    #[pyo3(from_py_with = need::pivot_behind_mm)] pivot_behind_mm: f64,
    #[pyo3(from_py_with = need::fret)] fret: f64,
) -> Result<PyActionChange> {
    Ok(PyActionChange(core::action_change(rotation_deg, arch_rise_mm, height_mm, pivot_behind_mm, scale_mm, fret)?))
}
