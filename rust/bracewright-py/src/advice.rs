//! Twin of `advice`: by what rule, how deep the next pass, or stop; with what is then believed.

use bracewright::advice::{self, Advice, ClosedForm, Costs, Kind, Limit, Rule, Stop, Window};
use bracewright::belief::{DEFAULT_DRAWS, Estimate, Posterior};
use pyo3::IntoPyObjectExt;
use pyo3::prelude::*;

use crate::argument::{may, need};
use crate::error::{PyError, Result};
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

pub(crate) fn reason(kind: &Kind) -> &'static str {
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
        Kind::Carve { held_by: Limit::Strength } => "held by the margin of strength",
        Kind::Stop(Stop::DoesNotFit { .. }) => "reading inconsistent",
        Kind::Stop(Stop::TooDry { .. }) => "too dry",
        Kind::Stop(Stop::TooDamp { .. }) => "too damp",
        Kind::Stop(Stop::TooWeak { .. }) => "margin of strength",
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

record! {
    /// What things cost, in any one money.
    PyCosts, "Costs", Costs {
        /// One more pass.
        per_pass;
        /// A brace left too stiff.
        short;
        /// A brace gone too soft.
        over;
    }
}

#[pymethods]
impl PyCosts {
    #[new]
    #[pyo3(signature = (*, per_pass, short, over))]
    fn new(
        #[pyo3(from_py_with = need::per_pass)] per_pass: f64,
        #[pyo3(from_py_with = need::short)] short: f64,
        #[pyo3(from_py_with = need::over)] over: f64,
    ) -> Result<Self> {
        for (name, v) in [("per_pass", per_pass), ("short", short), ("over", over)] {
            bracewright::error::not_negative(name, v, "")?;
        }
        Ok(Self(Costs { per_pass, short, over }))
    }
}

record! {
    /// The rule by which the next pass is chosen.
    PyRule, "Rule", Rule {
        /// Allowed chance of going past the window in one pass, above 0 and up to 0.5.
        alpha;
        /// Whole depth from the start that the plan and its smallest safe height allow, mm.
        deepest_mm;
        /// Whole depth down to which the brace is strong enough, mm, or None.
        strong_mm;
        /// Chance of being in the window at which to stop.
        enough;
        /// Deepest aim of one pass, mm, or None.
        deepest_pass_mm;
        /// Thinnest pass the tool can be trusted with, mm.
        smallest_shaving_mm;
        /// Grams per mm of depth here, or None.
        grams_per_mm;
        /// Costs, or None; with them a pass that is not worth its risk is refused.
        costs;
        /// Draws to work with.
        draws;
        /// Their seed.
        seed;
    }
}

#[pymethods]
impl PyRule {
    #[new]
    #[pyo3(signature = (*, alpha, deepest_mm, strong_mm=None, enough=0.9, deepest_pass_mm=None, smallest_shaving_mm=0.15, grams_per_mm=None, costs=None,
        draws=None, seed=1))]
    fn new(
        #[pyo3(from_py_with = need::alpha)] alpha: f64,
        #[pyo3(from_py_with = need::deepest_mm)] deepest_mm: f64,
        #[pyo3(from_py_with = may::strong_mm)] strong_mm: Option<f64>,
        #[pyo3(from_py_with = need::enough)] enough: f64,
        #[pyo3(from_py_with = may::deepest_pass_mm)] deepest_pass_mm: Option<f64>,
        #[pyo3(from_py_with = need::smallest_shaving_mm)] smallest_shaving_mm: f64,
        #[pyo3(from_py_with = may::grams_per_mm)] grams_per_mm: Option<f64>,
        costs: Option<&PyCosts>,
        #[pyo3(from_py_with = may::draws)] draws: Option<usize>,
        #[pyo3(from_py_with = need::seed)] seed: u64,
    ) -> Result<Self> {
        let rule = Rule {
            alpha,
            deepest_mm,
            strong_mm,
            enough,
            deepest_pass_mm,
            smallest_shaving_mm,
            grams_per_mm,
            costs: costs.map(|c| c.0),
            draws: draws.unwrap_or(DEFAULT_DRAWS),
            seed,
        };
        Ok(Self(rule.checked()?))
    }
}

/// Deepest aim whose chance of going past the limit is the one z stands for, mm, by the closed form: 0 where even the thinnest
/// pass goes past it too often, None where the form does not hold (z not above 0, or 1 - z^2 (eps^2 + u_g^2/g^2) not above 0).
///
/// r is ln(upper limit / deflection now), z the normal quantile of 1 - chance, eps the hand's scatter as a part of the aim, s
/// the standard deviation of ln deflection, g_per_mm its slope over depth with uncertainty u_g_per_mm, eta_mm the hand's
/// scatter in mm.
#[pyfunction]
#[pyo3(signature = (*, r, z, eps, s, g_per_mm, eta_mm, u_g_per_mm=0.0))]
pub fn d_max_closed_form(
    #[pyo3(from_py_with = need::r)] r: f64,
    #[pyo3(from_py_with = need::z)] z: f64,
    #[pyo3(from_py_with = need::eps)] eps: f64,
    #[pyo3(from_py_with = need::s)] s: f64,
    #[pyo3(from_py_with = need::g_per_mm)] g_per_mm: f64,
    #[pyo3(from_py_with = need::eta_mm)] eta_mm: f64,
    #[pyo3(from_py_with = need::u_g_per_mm)] u_g_per_mm: f64,
) -> Result<Option<f64>> {
    advice::d_max_closed_form(r, z, eps, s, g_per_mm, eta_mm, u_g_per_mm).map(|c: ClosedForm| c.depth_mm()).map_err(PyError::from)
}

/// The allowed chance that balances two costs, in any one money: cost_short / (cost_short + cost_over).
#[pyfunction]
#[pyo3(signature = (*, cost_short, cost_over))]
pub fn alpha_from_costs(
    #[pyo3(from_py_with = need::cost_short)] cost_short: f64,
    #[pyo3(from_py_with = need::cost_over)] cost_over: f64,
) -> Result<f64> {
    Ok(advice::alpha_from_costs(cost_short, cost_over)?)
}
