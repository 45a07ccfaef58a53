//! Twin of `shop`: the virtual shop, its settings, and the policies run in it.

use std::sync::Mutex;

use bracewright::Error;
use bracewright::fit::Beam;
use bracewright::shop::{self, ChanceRule, Ended, Maker, Policy, ShopRun, ShopSettings, Turn, Way};
use pyo3::IntoPyObjectExt;
use pyo3::exceptions::PyTypeError;
use pyo3::prelude::*;

use crate::advice::PyWindow;
use crate::argument::{may, need};
use crate::carve::PyPlan;
use crate::convert::{Kind, MM, MM_PER_N, PLAIN};
use crate::error::Result;
use crate::rig::PyRig;
use crate::value::{Shown, ToPython, html, record, short, value};

impl ToPython for Beam {
    fn to_python<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        beam_word(*self).into_bound_py_any(py)
    }
    fn shown(&self) -> String {
        format!("{:?}", beam_word(*self))
    }
}

fn beam_word(beam: Beam) -> &'static str {
    match beam {
        Beam::Resolved => "resolved",
        Beam::Section => "section",
    }
}

/// Least and greatest.
fn ends(unit: &Kind, name: &str, given: Option<&Bound<'_, PyAny>>, usual: (f64, f64)) -> Result<(f64, f64)> {
    let Some(given) = given else { return Ok(usual) };
    let list = unit.list(name, given)?;
    match list.as_slice() {
        [low, high] => Ok((*low, *high)),
        _ => Err(Error::BadList {
            name: name.into(),
            problem: format!("holds {} values; give the least and the greatest", list.len()),
        }
        .into()),
    }
}

record! {
    /// The virtual shop: what is hidden of wood, rig, hand, scale and climate. Spreads are standard deviations, relative where
    /// no unit is named; pairs are least and greatest, one drawn for each brace. Left out, the figures are those of an invented
    /// but usual shop (common practice, no source).
    PyShopSettings, "ShopSettings", ShopSettings {
        /// Modulus between sticks.
        modulus_between;
        /// Modulus along a brace.
        modulus_along;
        /// Length over which it varies, mm: shortest and longest, one drawn for each brace.
        modulus_length_mm;
        /// Shear over Young's modulus: least and greatest.
        shear_ratio;
        /// Modulus across the grain over that along it: least and greatest.
        across_ratio;
        /// Slope of the grain of a brace in the side view, rise over length.
        run_out;
        /// Knots a brace on average; each turns the grain about it.
        knots;
        /// Slope of the grain beside a knot.
        knot_run_out;
        /// Length of brace a knot spoils, mm.
        knot_length_mm;
        /// Density between sticks.
        density_between;
        /// Give of the supports, mm/N: least and greatest, one drawn for each brace.
        give_mm_per_n;
        /// Spread of the dial on one seat, mm.
        dial_repeat_mm;
        /// Spread from seating again, mm.
        reseat_mm;
        /// Step of the dial, mm.
        dial_step_mm;
        /// Readings in one seat, their mean taken.
        readings;
        /// Moisture between readings, percent.
        moisture_percent;
        /// What a hand takes beyond its aim, as a part of it.
        hand_bias;
        /// Its spread between makers.
        hand_between;
        /// Scatter of the layer along the brace.
        hand_scatter;
        /// Length over which it holds together, mm.
        hand_length_mm;
        /// Scatter of a whole pass, as a part of it.
        hand_pass;
        /// Scatter of a whole pass, mm.
        hand_mm;
        /// Step of the scale, g.
        scale_step_g;
        /// Part of the shavings lost.
        shavings_lost;
        /// Most passes before a maker gives up.
        most_passes;
        /// Which beam is the truth: the depth-resolved one, or the section beam, which is quicker and knows no stress flow.
        beam;
    }
}

#[pymethods]
impl PyShopSettings {
    #[new]
    #[pyo3(signature = (*, modulus_between=0.12, modulus_along=0.04, modulus_length_mm=None, shear_ratio=None,
        across_ratio=None, run_out=0.0, knots=0.0, knot_run_out=0.2, knot_length_mm=12.0, density_between=0.06,
        give_mm_per_n=None, dial_repeat_mm=0.006, reseat_mm=0.004, dial_step_mm=0.01, readings=3,
        moisture_percent=0.3, hand_bias=0.05, hand_between=0.08, hand_scatter=0.12, hand_length_mm=30.0, hand_pass=0.0,
        hand_mm=0.0, scale_step_g=0.01, shavings_lost=0.03, most_passes=12, beam="resolved"))]
    fn new(
        #[pyo3(from_py_with = need::modulus_between)] modulus_between: f64,
        #[pyo3(from_py_with = need::modulus_along)] modulus_along: f64,
        modulus_length_mm: Option<&Bound<'_, PyAny>>,
        shear_ratio: Option<&Bound<'_, PyAny>>,
        across_ratio: Option<&Bound<'_, PyAny>>,
        #[pyo3(from_py_with = need::run_out)] run_out: f64,
        #[pyo3(from_py_with = need::knots)] knots: f64,
        #[pyo3(from_py_with = need::knot_run_out)] knot_run_out: f64,
        #[pyo3(from_py_with = need::knot_length_mm)] knot_length_mm: f64,
        #[pyo3(from_py_with = need::density_between)] density_between: f64,
        give_mm_per_n: Option<&Bound<'_, PyAny>>,
        #[pyo3(from_py_with = need::dial_repeat_mm)] dial_repeat_mm: f64,
        #[pyo3(from_py_with = need::reseat_mm)] reseat_mm: f64,
        #[pyo3(from_py_with = need::dial_step_mm)] dial_step_mm: f64,
        #[pyo3(from_py_with = need::readings)] readings: u32,
        #[pyo3(from_py_with = need::moisture_percent)] moisture_percent: f64,
        #[pyo3(from_py_with = need::hand_bias)] hand_bias: f64,
        #[pyo3(from_py_with = need::hand_between)] hand_between: f64,
        #[pyo3(from_py_with = need::hand_scatter)] hand_scatter: f64,
        #[pyo3(from_py_with = need::hand_length_mm)] hand_length_mm: f64,
        #[pyo3(from_py_with = need::hand_pass)] hand_pass: f64,
        #[pyo3(from_py_with = need::hand_mm)] hand_mm: f64,
        #[pyo3(from_py_with = need::scale_step_g)] scale_step_g: f64,
        #[pyo3(from_py_with = need::shavings_lost)] shavings_lost: f64,
        #[pyo3(from_py_with = need::most_passes)] most_passes: usize,
        beam: &str,
    ) -> Result<Self> {
        let usual = ShopSettings::default();
        let settings = ShopSettings {
            modulus_between,
            modulus_along,
            modulus_length_mm: ends(&MM, "modulus_length_mm", modulus_length_mm, usual.modulus_length_mm)?,
            shear_ratio: ends(&PLAIN, "shear_ratio", shear_ratio, usual.shear_ratio)?,
            across_ratio: ends(&PLAIN, "across_ratio", across_ratio, usual.across_ratio)?,
            run_out,
            knots,
            knot_run_out,
            knot_length_mm,
            density_between,
            give_mm_per_n: ends(&MM_PER_N, "give_mm_per_n", give_mm_per_n, usual.give_mm_per_n)?,
            dial_repeat_mm,
            reseat_mm,
            dial_step_mm,
            readings,
            moisture_percent,
            hand_bias,
            hand_between,
            hand_scatter,
            hand_length_mm,
            hand_pass,
            hand_mm,
            scale_step_g,
            shavings_lost,
            most_passes,
            beam: beam.parse()?,
        };
        Ok(Self(settings.checked()?))
    }

    /// The same shop with a coarse hand: 20 % and 0.2 mm a pass.
    fn with_coarse_hand(&self) -> Self {
        Self(self.0.clone().with_coarse_hand())
    }

    /// Standard uncertainty of one reading as the maker reckons it, mm: repeats in one seat, re-seating, the dial's step.
    #[getter]
    fn u_dial_mm(&self) -> f64 {
        self.0.u_dial_mm()
    }
}

record! {
    /// The rule that keeps the chance of going past the window, and what it believes before a brace is read. Left out, the
    /// figures are those of a practised hand (common practice, no source).
    PyChanceRule, "ChanceRule", ChanceRule {
        /// Allowed chance of going past the window in one pass.
        overshoot;
        /// Chance of being in the window at which to stop.
        enough;
        /// Deepest pass, mm; None: as deep as the chance allows.
        deepest_pass_mm;
        /// Thinnest pass the tool can be trusted with, mm.
        smallest_shaving_mm;
        /// Spread of the modulus between sticks before the first reading.
        modulus_ln;
        /// What the hand takes beyond its aim, as a part of it.
        bias_fraction;
        /// Its spread.
        u_bias_fraction;
        /// Scatter of the hand that grows with the aim, as a part of it.
        scatter_fraction;
        /// Scatter that is there even for a thin shaving, mm.
        scatter_mm;
        /// How many passes the scatter is as well known as from.
        hand_passes;
        /// What is not known of how much a cut softens, as a part of the softening.
        slope_doubt;
        /// Uncertainty of the shavings on the scale, g; None: they are not weighed.
        u_scale_g;
    }
}

#[pymethods]
impl PyChanceRule {
    #[new]
    #[pyo3(signature = (*, overshoot=0.02, enough=0.9, deepest_pass_mm=None, smallest_shaving_mm=0.15, modulus_ln=0.12, bias_fraction=0.05,
        u_bias_fraction=0.08, scatter_fraction=0.08, scatter_mm=0.05, hand_passes=30.0, slope_doubt=0.08, u_scale_g=0.02))]
    fn new(
        #[pyo3(from_py_with = need::overshoot)] overshoot: f64,
        #[pyo3(from_py_with = need::enough)] enough: f64,
        #[pyo3(from_py_with = may::deepest_pass_mm)] deepest_pass_mm: Option<f64>,
        #[pyo3(from_py_with = need::smallest_shaving_mm)] smallest_shaving_mm: f64,
        #[pyo3(from_py_with = need::modulus_ln)] modulus_ln: f64,
        #[pyo3(from_py_with = need::bias_fraction)] bias_fraction: f64,
        #[pyo3(from_py_with = need::u_bias_fraction)] u_bias_fraction: f64,
        #[pyo3(from_py_with = need::scatter_fraction)] scatter_fraction: f64,
        #[pyo3(from_py_with = need::scatter_mm)] scatter_mm: f64,
        #[pyo3(from_py_with = need::hand_passes)] hand_passes: f64,
        #[pyo3(from_py_with = need::slope_doubt)] slope_doubt: f64,
        #[pyo3(from_py_with = may::u_scale_g)] u_scale_g: Option<f64>,
    ) -> Self {
        Self(ChanceRule {
            overshoot,
            enough,
            deepest_pass_mm,
            smallest_shaving_mm,
            modulus_ln,
            bias_fraction,
            u_bias_fraction,
            scatter_fraction,
            scatter_mm,
            hand_passes,
            slope_doubt,
            u_scale_g,
        })
    }

    /// The same for a coarse hand of 20 % and 0.2 mm, known to the rule: 22 % with what is uneven along its layer, a slope known
    /// to 10 %, no shaving thinner than 0.3 mm.
    fn with_coarse_hand(&self) -> Self {
        Self(self.0.clone().with_coarse_hand())
    }
}

/// A policy of the virtual shop: ChanceRule, the book's depth, or straight at the target.
#[pyclass(frozen, eq, name = "Way", module = "bracewright")]
#[derive(Debug, Clone, PartialEq)]
pub struct PyWay(pub Way);

value!(PyWay, Way, "Way");

#[pymethods]
impl PyWay {
    /// Carve once to a depth out of a book, mm, reading nothing.
    #[staticmethod]
    #[pyo3(signature = (*, depth_mm))]
    fn book(#[pyo3(from_py_with = need::depth_mm)] depth_mm: f64) -> Result<Self> {
        bracewright::error::not_negative("depth_mm", depth_mm, "mm")?;
        Ok(Self(Way::Book { depth_mm }))
    }

    /// Read, carve straight at the target as the last reading has it, and stop once the dial shows the lower limit.
    #[staticmethod]
    fn straight_at_target() -> Self {
        Self(Way::Straight)
    }

    fn __repr__(&self) -> String {
        match &self.0 {
            Way::Book { depth_mm } => format!("Way.book(depth_mm={})", short(*depth_mm)),
            Way::Straight => "Way.straight_at_target()".into(),
            Way::Chance(c) => format!("Way(overshoot={})", short(c.overshoot)),
        }
    }

    fn _repr_html_(&self) -> String {
        html("Way", &[Shown { name: "policy", text: self.__repr__(), column: None }])
    }
}

record! {
    /// What a maker sees before each decision.
    PyTurn, "Turn", Turn {
        /// Passes carved so far.
        passes;
        /// What the last pass aimed at, mm; None before the first.
        aimed_mm;
        /// The dial as it stands, mm.
        reading_mm;
        /// Its standard uncertainty as the maker reckons it, mm.
        u_mm;
        /// Shavings of the last pass in the pan, g; None before the first.
        shavings_g;
    }
}

record! {
    /// How one brace of the virtual shop ended.
    PyEnded, "Ended", Ended {
        /// Young's modulus of the stick, mean along it, GPa.
        modulus_gpa;
        /// Its own deflection before anything was carved, mm.
        first_mm;
        /// Its own deflection at the end, mm.
        deflection_mm;
        /// Passes carved.
        passes;
        /// What came off, g.
        grams_off;
        /// True when the maker gave up after the most passes a shop allows.
        gave_up;
    }
}

fn columns(r: &ShopRun) -> Vec<(&'static str, Vec<f64>)> {
    let of = |f: fn(&Ended) -> f64| r.braces.iter().map(f).collect();
    vec![
        ("modulus_gpa", of(|b| b.modulus_gpa)),
        ("first_mm", of(|b| b.first_mm)),
        ("deflection_mm", of(|b| b.deflection_mm)),
        ("passes", of(|b| b.passes as f64)),
        ("grams_off", of(|b| b.grams_off)),
    ]
}

record! {
    /// A run of the virtual shop: every brace's end, and the shares.
    PyShopRun, "ShopRun", ShopRun {
        /// Every brace.
        braces;
        /// Share past the window: too soft for good.
        too_soft;
        /// Share in the window.
        in_window;
        /// Share short of it.
        too_stiff;
        /// Passes on average.
        passes;
        /// Grams off on average.
        grams_off;
        /// The window, mm, on the brace's own deflection.
        window;
    } table columns
}

#[pymethods]
impl PyShopRun {
    /// The braces' own deflections at the end, mm.
    #[getter]
    fn deflection_mm(&self, py: Python<'_>) -> PyResult<Py<PyAny>> {
        let all: Vec<f64> = self.0.braces.iter().map(|b| b.deflection_mm).collect();
        Ok(all.to_python(py)?.unbind())
    }

    /// The shares in a sentence, with what the number of braces leaves open of them.
    #[getter]
    fn text(&self) -> String {
        self.0.text()
    }

    /// Draws where the braces ended against the window on matplotlib axes (new ones when left out) and returns them.
    #[pyo3(signature = (ax=None))]
    fn plot<'py>(slf: &Bound<'py, Self>, ax: Option<&Bound<'py, PyAny>>) -> PyResult<Bound<'py, PyAny>> {
        slf.py().import("bracewright.plots")?.call_method1("plot_shop_run", (slf, ax))
    }
}

/// A function of Python's as a policy: it is called with all the turns of a brace so far.
struct OwnPolicy {
    function: Py<PyAny>,
    failed: Mutex<Option<PyErr>>,
}

struct OwnMaker<'a> {
    policy: &'a OwnPolicy,
    turns: Vec<Turn>,
}

impl OwnPolicy {
    fn ask(&self, turns: &[Turn]) -> PyResult<Option<f64>> {
        Python::attach(|py| {
            let seen: Vec<PyTurn> = turns.iter().map(|t| PyTurn(*t)).collect();
            let answer = self.function.bind(py).call1((seen,))?;
            if answer.is_none() {
                return Ok(None);
            }
            match answer.extract::<f64>() {
                Ok(aim) if aim.is_finite() && aim >= 0.0 => Ok(Some(aim)),
                Ok(aim) => Err(crate::error::invalid(format!(
                    "the policy answered {aim} mm; it must answer the depth to aim at, mm, 0 or more, or None to stop"
                ))),
                Err(_) => Err(PyTypeError::new_err(format!(
                    "the policy answered a {}; it must answer the depth to aim at, mm, or None to stop",
                    answer.get_type().name()?
                ))),
            }
        })
    }
}

impl Maker for OwnMaker<'_> {
    fn next(&mut self, turn: &Turn) -> Option<f64> {
        self.turns.push(*turn);
        if self.policy.failed.lock().unwrap_or_else(std::sync::PoisonError::into_inner).is_some() {
            return None;
        }
        match self.policy.ask(&self.turns) {
            Ok(aim) => aim,
            Err(e) => {
                *self.policy.failed.lock().unwrap_or_else(std::sync::PoisonError::into_inner) = Some(e);
                None
            }
        }
    }
}

impl Policy for OwnPolicy {
    fn maker(&self) -> Box<dyn Maker + '_> {
        Box::new(OwnMaker { policy: self, turns: Vec::new() })
    }
}

/// Runs a policy over `count` braces of the virtual shop, each carved along `plan` and read on `rig`; `window` is on the
/// brace's own deflection, mm, the give of the supports left out. The same seed gives the same run to the bit on any number of
/// threads.
///
/// policy: a ChanceRule, a Way, or a function of your own, called with the list of a brace's Turns so far, the last one now;
/// it answers the depth to aim at, mm, or None to stop.
#[pyfunction]
#[pyo3(signature = (plan, rig, *, window, policy, count=2000, seed=1, settings=None))]
pub fn virtual_shop(
    py: Python<'_>,
    plan: &PyPlan,
    rig: &PyRig,
    window: &PyWindow,
    policy: &Bound<'_, PyAny>,
    #[pyo3(from_py_with = need::count)] count: usize,
    #[pyo3(from_py_with = need::seed)] seed: u64,
    settings: Option<&PyShopSettings>,
) -> Result<PyShopRun> {
    let settings = settings.map(|s| s.0.clone()).unwrap_or_default();
    let way = match (policy.cast::<PyChanceRule>(), policy.cast::<PyWay>()) {
        (Ok(c), _) => Some(Way::Chance(c.get().0.clone())),
        (_, Ok(w)) => Some(w.get().0.clone()),
        _ => None,
    };
    if let Some(way) = way {
        return Ok(PyShopRun(py.detach(|| {
            let policy = way.policy(&plan.0, &rig.0, &window.0, &settings)?;
            shop::run(&plan.0, &rig.0, &window.0, &settings, policy.as_ref(), count, seed)
        })?));
    }
    if !policy.is_callable() {
        let words =
            format!("policy must be a ChanceRule, a Way or a function of a list of Turns, not {}", policy.get_type().name()?);
        return Err(PyTypeError::new_err(words).into());
    }
    let own = OwnPolicy { function: policy.clone().unbind(), failed: Mutex::new(None) };
    let run = py.detach(|| shop::run(&plan.0, &rig.0, &window.0, &settings, &own, count, seed));
    if let Some(e) = own.failed.into_inner().unwrap_or_else(std::sync::PoisonError::into_inner) {
        return Err(e.into());
    }
    Ok(PyShopRun(run?))
}

/// Runs of the virtual shop side by side as text, one row each, by name.
#[pyfunction]
pub fn shop_table(runs: std::collections::BTreeMap<String, PyRef<'_, PyShopRun>>) -> String {
    let rows: Vec<(String, &ShopRun)> = runs.iter().map(|(name, r)| (name.clone(), &r.0)).collect();
    shop::table(&rows)
}
