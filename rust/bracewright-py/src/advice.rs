//! Twin of `advice` and `belief`: what is believed, and carve or stop.

use bracewright::advice::{Advice, ClosedForm, Kind, Limit, Stop, Window};
use bracewright::belief::{Estimate, Posterior};
use pyo3::IntoPyObjectExt;
use pyo3::prelude::*;

use crate::argument::{may, need};
use crate::error::Result;
use crate::value::{ToPython, record};

record! {
    /// What is believed of one quantity: mean, standard deviation and quantiles.
    PyEstimate, "Estimate", Estimate {
        /// Mean.
        mean;
        /// Standard deviation.
        sd;
        /// 5 % quantile.
        q05;
        /// Median.
        q50;
        /// 95 % quantile.
        q95;
    }
}

record! {
    /// What all readings, weighings and measurings so far make one believe.
    PyPosterior, "Posterior", Posterior {
        /// Deflection as the brace stands, mm.
        deflection_mm;
        /// E along the brace, GPa.
        e_gpa;
        /// Give of the supports, mm/N.
        second;
        /// Depth removed so far, mm.
        depth_mm;
        /// Correlation of modulus and give.
        correlation;
        /// Spread left of the modulus as a part of what it was before any reading.
        e_spread_left;
        /// The same of the give.
        second_spread_left;
        /// Equal draws that the weighted ones are worth.
        effective_draws;
    }
}

record! {
    /// Where the deflection should end, mm: between low_mm and high_mm, aimed at target_mm, their middle when left out.
    PyWindow, "Window", Window {
        /// Lower limit, mm.
        low_mm;
        /// Upper limit, mm.
        high_mm;
        /// What is aimed at, mm.
        target_mm;
    }
}

#[pymethods]
impl PyWindow {
    #[new]
    #[pyo3(signature = (low_mm, high_mm, *, target_mm=None))]
    fn new(
        #[pyo3(from_py_with = need::low_mm)] low_mm: f64,
        #[pyo3(from_py_with = need::high_mm)] high_mm: f64,
        #[pyo3(from_py_with = may::target_mm)] target_mm: Option<f64>,
    ) -> Result<Self> {
        Ok(Self(match target_mm {
            Some(target) => Window::new(low_mm, high_mm, target)?,
            None => Window::between(low_mm, high_mm)?,
        }))
    }
}

fn kind_word(kind: &Kind) -> &'static str {
    match kind {
        Kind::Carve { .. } => "carve",
        Kind::Stop(_) => "stop",
    }
}

fn reason(kind: &Kind) -> &'static str {
    match kind {
        Kind::Carve { held_by: Limit::Target } => "straight at the target",
        Kind::Carve { held_by: Limit::Chance } => "held by the allowed chance",
        Kind::Carve { held_by: Limit::Deepest } => "held by the plan's depth",
        Kind::Carve { held_by: Limit::OnePass } => "held by the deepest cut of one pass",
        Kind::Stop(Stop::InWindow) => "in the window",
        Kind::Stop(Stop::ShavingTooSmall { .. }) => "shaving too small",
        Kind::Stop(Stop::GainBelowLoss { .. }) => "gain below loss",
        Kind::Stop(Stop::SafetyFloor) => "smallest safe height",
        Kind::Stop(Stop::ReadingInconsistent { .. }) => "reading inconsistent",
        Kind::Stop(Stop::CannotReach { .. }) => "cannot reach",
        Kind::Stop(Stop::AlreadyPast) => "already past",
    }
}

impl ToPython for Kind {
    fn to_python<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        kind_word(self).into_bound_py_any(py)
    }
    fn shown(&self) -> String {
        format!("{:?}", kind_word(self))
    }
}

/// The depth of the closed form, or None outside its range.
impl ToPython for ClosedForm {
    fn to_python<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        self.depth_mm().into_bound_py_any(py)
    }
    fn shown(&self) -> String {
        self.depth_mm().shown()
    }
}

record! {
    /// Carve or stop, with the figures behind it. Estimates from beam models and readings; it certifies nothing.
    PyAdvice, "Advice", Advice {
        /// "carve" or "stop".
        kind;
        /// Depth to aim at, mm; 0 at a stop.
        depth_mm;
        /// What chance, target and plan would allow if one pass could take it all, mm.
        allowed_mm;
        /// The same as depth_mm in grams, or None.
        mass_g;
        /// Chance of being past the window after this step (at a stop: as it stands).
        chance_over;
        /// Chance of being in the window after this step.
        chance_in_window;
        /// Deflection after this step, mm.
        expected_mm;
        /// What the dial should show after this step, mm.
        expected_reading_mm;
        /// Deepest aim within the allowed chance, mm.
        d_max_mm;
        /// The same by the closed form, mm; None outside its range.
        d_max_closed_form;
        /// Aim straight at the target, mm, or None.
        straight_at_target_mm;
        /// Chance of going past the window with that aim, or None.
        chance_over_straight;
        /// What is believed now.
        now;
        /// The window.
        window;
        /// The allowed chance.
        alpha;
    }
}

#[pymethods]
impl PyAdvice {
    /// What holds the pass back, or why to stop: "straight at the target", "held by the allowed chance", "held by the deepest
    /// cut of one pass", "in the window", "shaving too small", "already past", ...
    #[getter]
    fn reason(&self) -> &'static str {
        reason(&self.0.kind)
    }

    /// What is pinned down now and what is not, in plain words.
    #[getter]
    fn known(&self) -> String {
        self.0.now.text()
    }

    /// The advice in plain sentences.
    #[getter]
    fn text(&self) -> String {
        self.0.text()
    }
}
