//! Twin of `carve`: plans of passes, and what each place is worth.

use bracewright::picture;
use bracewright::{Brace, Error, Pass, PassStation, Plan, PlanOptions, Sensitivity, Side, Zone};
use numpy::PyArray1;
use pyo3::exceptions::PyTypeError;
use pyo3::prelude::*;
use pyo3::types::PyDict;

use crate::argument::{may, need};
use crate::blank::PyBlank;
use crate::brace::PyBrace;
use crate::convert::MM;
use crate::error::Result;
use crate::goal::PyGoal;
use crate::reading::PyExpected;
use crate::rig::PyRig;
use crate::value::{Shown, frame, getters, html, record, short, value};

/// One pass of a plan: what is done, where, how deep, grams off and grams left, and the brace after it.
#[pyclass(frozen, eq, name = "Pass", module = "bracewright")]
#[derive(Debug, Clone, PartialEq)]
pub struct PyPass(pub Pass);

value!(PyPass, Pass, "Pass");

type Column = fn(&PassStation) -> f64;
const COLUMNS: [(&str, Column); 5] = [
    ("x_mm", |s| s.x_mm),
    ("before_mm", |s| s.before_mm),
    ("after_mm", |s| s.after_mm),
    ("depth_mm", |s| s.depth_mm),
    ("ei_left", |s| s.ei_left),
];

impl PyPass {
    fn column(&self, name: usize) -> Vec<f64> {
        self.0.stations.iter().map(COLUMNS[name].1).collect()
    }
}

#[pymethods]
impl PyPass {
    /// What is done, in a few words.
    #[getter]
    fn what(&self) -> &str {
        &self.0.what
    }

    /// Stations, mm from the left end.
    #[getter]
    fn x_mm<'py>(&self, py: Python<'py>) -> Bound<'py, PyArray1<f64>> {
        PyArray1::from_vec(py, self.column(0))
    }

    /// Height before, mm, at each station.
    #[getter]
    fn before_mm<'py>(&self, py: Python<'py>) -> Bound<'py, PyArray1<f64>> {
        PyArray1::from_vec(py, self.column(1))
    }

    /// Height after, mm.
    #[getter]
    fn after_mm<'py>(&self, py: Python<'py>) -> Bound<'py, PyArray1<f64>> {
        PyArray1::from_vec(py, self.column(2))
    }

    /// Depth to take off, mm.
    #[getter]
    fn depth_mm<'py>(&self, py: Python<'py>) -> Bound<'py, PyArray1<f64>> {
        PyArray1::from_vec(py, self.column(3))
    }

    /// EI of the drawing after over before.
    #[getter]
    fn ei_left<'py>(&self, py: Python<'py>) -> Bound<'py, PyArray1<f64>> {
        PyArray1::from_vec(py, self.column(4))
    }

    /// First and last place cut, mm; None for a pass that only works the cap or the sides.
    #[getter]
    fn cut_mm(&self) -> Option<(f64, f64)> {
        self.0.cut_mm.map(|z| (z.start_mm, z.end_mm))
    }

    /// The stretches where more than 0.02 mm comes off, (from, to) mm, left to right; empty for a pass that only works the
    /// cap or the sides.
    #[getter]
    fn stretches_mm(&self) -> Vec<(f64, f64)> {
        self.0.stretches_mm.iter().map(|z| (z.start_mm, z.end_mm)).collect()
    }

    /// Where it takes wood, in words: "0-46, 63-157 mm", or the whole length.
    #[getter]
    fn places(&self) -> String {
        self.0.places()
    }

    /// Height at the lowest place between the end ramps after the pass, mm.
    #[getter]
    fn floor_mm(&self) -> f64 {
        self.0.floor_mm
    }

    /// Deepest cut, mm.
    #[getter]
    fn deepest_mm(&self) -> f64 {
        self.0.deepest_mm
    }

    /// Grams this pass takes off.
    #[getter]
    fn grams_off(&self) -> f64 {
        self.0.grams_off
    }

    /// Grams left after it.
    #[getter]
    fn grams_left(&self) -> f64 {
        self.0.grams_left
    }

    /// The brace after the pass.
    #[getter]
    fn after(&self) -> PyBrace {
        PyBrace(self.0.after.clone())
    }

    /// The table along the brace as numpy columns.
    fn to_dict<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        let out = PyDict::new(py);
        for (i, (name, _)) in COLUMNS.iter().enumerate() {
            out.set_item(name, PyArray1::from_vec(py, self.column(i)))?;
        }
        Ok(out)
    }

    /// The table along the brace as a pandas table; needs pandas.
    fn to_pandas<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        crate::value::pandas(py, &self.to_dict(py)?)
    }

    fn __repr__(&self) -> String {
        let p = &self.0;
        format!("Pass({}, deepest {:.2} mm, {:.2} g off, {:.2} g left)", p.what, p.deepest_mm, p.grams_off, p.grams_left)
    }

    fn _repr_html_(&self) -> String {
        let columns: Vec<_> = (0..COLUMNS.len()).map(|i| self.column(i)).collect();
        let shown: Vec<_> =
            COLUMNS.iter().zip(&columns).map(|((name, _), c)| Shown { name, text: String::new(), column: Some(c) }).collect();
        html(&self.__repr__(), &shown)
    }
}

/// A plan: passes from what is there to a target inside it, each a cut. Made by plan_passes(...).
#[pyclass(frozen, eq, name = "Plan", module = "bracewright")]
#[derive(Debug, Clone, PartialEq)]
pub struct PyPlan(pub Plan);

value!(PyPlan, Plan, "Plan");

getters! { PyPlan {
    /// Whole depth of the layers where it is greatest, mm.
    whole_depth_mm;
    /// Grams of the whole plan.
    grams_off;
    /// True when the cap or the sides are worked before the layers.
    works_section;
}}

#[pymethods]
impl PyPlan {
    /// The brace as it stands.
    #[getter]
    fn start(&self) -> PyBrace {
        PyBrace(self.0.start.clone())
    }

    /// What it becomes: the target, as far as tool, floor and untouched stretches allow.
    #[getter]
    fn end(&self) -> PyBrace {
        PyBrace(self.0.end.clone())
    }

    /// The target as asked for.
    #[getter]
    fn target(&self) -> PyBrace {
        PyBrace(self.0.target.clone())
    }

    /// The passes in order.
    #[getter]
    fn passes(&self) -> Vec<PyPass> {
        self.0.passes.iter().cloned().map(PyPass).collect()
    }

    /// What kept the end from the target, in words.
    #[getter]
    fn notes(&self) -> Vec<String> {
        self.0.notes.clone()
    }

    /// The reading to expect as it stands and after each pass.
    fn readings(&self, py: Python<'_>, rig: &PyRig) -> Result<Vec<PyExpected>> {
        Ok(py.detach(|| self.0.readings(&rig.0))?.into_iter().map(PyExpected).collect())
    }

    /// The brace after depth_mm of the layers has come off, the cap worked first.
    fn at_depth(&self, #[pyo3(from_py_with = need::depth_mm)] depth_mm: f64) -> Result<PyBrace> {
        Ok(PyBrace(self.0.at_depth(depth_mm)?))
    }

    /// One line a pass as columns: what, cut_from_mm, cut_to_mm, deepest_mm, grams_off, grams_left. The
    /// places are None for a pass that only works the cap or the sides.
    fn to_dict<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        let out = PyDict::new(py);
        let passes = &self.0.passes;
        let numbers = |f: fn(&Pass) -> f64| PyArray1::from_vec(py, passes.iter().map(f).collect());
        out.set_item("what", passes.iter().map(|p| p.what.as_str()).collect::<Vec<_>>())?;
        out.set_item("cut_from_mm", passes.iter().map(|p| p.cut_mm.map(|z| z.start_mm)).collect::<Vec<_>>())?;
        out.set_item("cut_to_mm", passes.iter().map(|p| p.cut_mm.map(|z| z.end_mm)).collect::<Vec<_>>())?;
        out.set_item("deepest_mm", numbers(|p| p.deepest_mm))?;
        out.set_item("grams_off", numbers(|p| p.grams_off))?;
        out.set_item("grams_left", numbers(|p| p.grams_left))?;
        Ok(out)
    }

    /// The same as a pandas table; needs pandas.
    fn to_pandas<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        crate::value::pandas(py, &self.to_dict(py)?)
    }

    /// The layers from the side with what each takes off, as SVG for a sheet 190 mm wide; with a rig, what its dial should
    /// show after each pass as well.
    #[pyo3(signature = (*, rig=None))]
    fn svg(&self, py: Python<'_>, rig: Option<&PyRig>) -> Result<String> {
        Ok(py.detach(|| {
            let expected = rig.map(|r| self.0.readings(&r.0)).transpose()?.unwrap_or_default();
            picture::passes_svg(&self.0, &expected)
        })?)
    }

    fn __len__(&self) -> usize {
        self.0.passes.len()
    }

    fn __repr__(&self) -> String {
        format!(
            "Plan({} passes, {:.2} g off, {} mm deep)",
            self.0.passes.len(),
            self.0.grams_off(),
            short(self.0.whole_depth_mm())
        )
    }

    fn _repr_html_(&self) -> String {
        let notes: Vec<_> = self.0.notes.iter().map(|n| Shown { name: "note", text: n.clone(), column: None }).collect();
        format!("{}{}", picture::passes_svg(&self.0, &[]).unwrap_or_default(), html(&self.__repr__(), &notes))
    }
}

/// The brace of a Brace, or of a Blank as it stands.
pub fn standing(name: &str, given: &Bound<'_, PyAny>) -> Result<Brace> {
    if let Ok(brace) = given.cast::<PyBrace>() {
        return Ok(brace.get().0.clone());
    }
    match given.cast::<PyBlank>() {
        Ok(blank) => Ok(Brace::uncarved(&blank.get().0)),
        Err(_) => Err(PyTypeError::new_err(format!("{name} must be a Blank or a Brace")).into()),
    }
}

/// Passes from what is there (a Blank or a Brace) to a target brace inside it, each at most max_depth_mm deep: the cap first,
/// on the height as it stands, then layers.
///
/// gouge_radius_mm: hollows tighter than the tool are left as it leaves them. smallest_safe_height_mm: no pass goes below
/// it between the end ramps. untouched: stretches (start_mm, end_mm) that no pass touches. stations_mm: where the tables
/// stand; evenly spaced when left out. side: "both"; "left" or "right" of middle_mm alone, the rest left as it stands;
/// "symmetric", both sides alike, to the higher of the target's two heights. middle_mm is the middle of the brace when left
/// out.
#[pyfunction]
#[pyo3(signature = (start, target, *, max_depth_mm, gouge_radius_mm=None, smallest_safe_height_mm=None, untouched=None, side="both",
    middle_mm=None, stations_mm=None))]
pub fn plan_passes(
    py: Python<'_>,
    start: &Bound<'_, PyAny>,
    target: &PyBrace,
    #[pyo3(from_py_with = need::max_depth_mm)] max_depth_mm: f64,
    #[pyo3(from_py_with = may::gouge_radius_mm)] gouge_radius_mm: Option<f64>,
    #[pyo3(from_py_with = may::smallest_safe_height_mm)] smallest_safe_height_mm: Option<f64>,
    untouched: Option<Vec<(f64, f64)>>,
    side: &str,
    #[pyo3(from_py_with = may::middle_mm)] middle_mm: Option<f64>,
    stations_mm: Option<&Bound<'_, PyAny>>,
) -> Result<PyPlan> {
    let options = PlanOptions {
        max_depth_mm,
        gouge_radius_mm,
        smallest_safe_height_mm,
        untouched: untouched.unwrap_or_default().into_iter().map(|(start_mm, end_mm)| Zone { start_mm, end_mm }).collect(),
        side: side.parse::<Side>()?,
        middle_mm,
        stations_mm: stations_mm.map(|x| MM.list("stations_mm", x)).transpose()?.unwrap_or_default(),
    };
    let start = standing("start", start)?;
    Ok(PyPlan(py.detach(|| bracewright::plan_passes(&start, &target.0, &options))?))
}

record! {
    /// How the stiffness on a rig falls when a little is taken off at each place.
    PySensitivity, "Sensitivity", Sensitivity {
        /// Middle of each place, mm.
        x_mm;
        /// Length of crest that one place stands for, mm.
        place_mm;
        /// Percent of stiffness lost per mm taken off there.
        percent_per_mm;
        /// Grams per mm of depth there.
        grams_per_mm;
        /// Percent of stiffness lost per gram taken there.
        percent_per_gram;
    }
}
frame!(PySensitivity);

#[pymethods]
impl PySensitivity {
    /// What a millimetre and a gram are worth along the brace, as SVG for a sheet 190 mm wide.
    fn svg(&self, brace: &PyBrace) -> Result<String> {
        Ok(picture::sensitivity_svg(&self.0, &brace.0)?)
    }
}

/// Readings to expect after each pass with their bands over the window of a goal, and what has been read: a list of (pass it
/// was read after, reading mm, standard uncertainty mm), 0 as it stands. Passes count as in the plan, the cap among them. SVG for a sheet 190 mm wide.
#[pyfunction]
#[pyo3(signature = (expected, goal, *, read=None))]
pub fn readings_svg(expected: Vec<PyRef<'_, PyExpected>>, goal: &PyGoal, read: Option<Vec<(usize, f64, f64)>>) -> Result<String> {
    let expected: Vec<_> = expected.iter().map(|e| e.0.clone()).collect();
    if expected.is_empty() {
        return Err(Error::BadList { name: "expected".into(), problem: "is empty; give plan.readings(rig)".into() }.into());
    }
    Ok(picture::readings_svg(&expected, &goal.0, &read.unwrap_or_default())?)
}
