//! Twin of `bench`: what has been read and weighed, and what to do next.

use bracewright::belief::Hand;
use bracewright::{Bench, BenchOptions, Entry, Error, NextStep, Seen};
use pyo3::prelude::*;

use crate::advice::PyCosts;
use crate::argument::{may, need};
use crate::brace::PyBrace;
use crate::carve::PyPlan;
use crate::convert::MM;
use crate::decide::PyWhatToMeasure;
use crate::error::Result;
use crate::goal::PyGoal;
use crate::reading::PyReading;
use crate::rig::PyRig;
use crate::value::{Shown, frame, html, record, short, value};

record! {
    /// What to do next, with the table to carve by.
    PyNextStep, "NextStep", NextStep {
        /// The decision and the figures behind it.
        decision;
        /// Depth to aim at, mm; 0 at a stop.
        depth_mm;
        /// What chance, target and plan would allow if one pass could take it all, mm.
        allowed_mm;
        /// True when the deepest cut of one pass, not the chance or the target, sets the depth.
        capped;
        /// Grams to expect in the pan.
        grams;
        /// Stations, mm.
        x_mm;
        /// Height to leave at each, mm.
        leave_mm;
        /// Depth to take at each, mm.
        take_mm;
        /// True when the bench says stop.
        stop;
        /// In a sentence or two.
        words;
    }
}
frame!(PyNextStep);

record! {
    /// One line of the log of a bench.
    PyEntry, "Entry", Entry {
        /// True where the cap or the sides were worked.
        cap;
        /// Depth that was advised before a pass, mm; None where nothing was carved.
        advised_mm;
        /// Depth removed so far as then believed, mm, and its standard deviation.
        depth_mm;
        /// E as then believed, GPa, and its standard deviation.
        modulus_gpa;
        /// Grams that should have been in the pan, and that were; None when it was not weighed.
        grams;
        /// What of it did not go with the rest and was set aside, in words.
        set_aside;
    }
}

#[pymethods]
impl PyEntry {
    /// Depth that was aimed at, mm, or None.
    #[getter]
    fn aimed_mm(&self) -> Option<f64> {
        self.0.seen.aimed_mm
    }

    /// Shavings in the pan, g, or None.
    #[getter]
    fn shavings_g(&self) -> Option<f64> {
        self.0.seen.shavings_g
    }

    /// The brace on the scale, g, or None.
    #[getter]
    fn brace_g(&self) -> Option<f64> {
        self.0.seen.brace_g
    }

    /// First free bending frequency by tap, Hz, or None.
    #[getter]
    fn frequency_hz(&self) -> Option<f64> {
        self.0.seen.frequency_hz
    }

    /// The reading, or None.
    #[getter]
    fn reading(&self) -> Option<PyReading> {
        self.0.seen.reading.clone().map(PyReading)
    }
}

/// The bench: a plan, the window of readings to reach, what has been read and weighed so far, and what to do next.
///
/// `goal` is made with rig.between(low, high); `rig` may be left out. `overshoot` is the allowed chance of going past the
/// window in one pass; `costs` refuses a pass that is not worth its risk. The hand takes bias_fraction more than it aims at
/// (u_bias_fraction is what is not known of that), with a scatter of scatter_fraction of the aim and scatter_mm, as well known
/// as from hand_passes passes; all of it is learned from the passes weighed and measured. deepest_pass_mm is the deepest pass
/// to advise, the plan's own deepest cut when left out. smallest_shaving_mm is the thinnest pass the tool can be trusted with,
/// `enough` the chance of being in the window at which to stop, u_scale_g and u_calliper_mm standard uncertainties,
/// u_tap_fraction that of a frequency as a part of it, shavings_lost the part that never reaches the pan. The advice is not to
/// carve outside rh_low_percent to rh_high_percent. With working_moment_n_m (N m, what strings ask of the brace for years) no
/// pass goes so deep that strength (bending_strength_mpa, short-term and of clear wood; the wood's own when left out) falls below
/// least_margin times the stress. A value: every step gives a new bench; pickled,
/// it is rebuilt by replaying its log.
#[pyclass(frozen, eq, name = "Bench", module = "bracewright")]
#[derive(Debug, Clone, PartialEq)]
pub struct PyBench(pub Bench);

value!(PyBench, Bench, "Bench");

impl PyBench {
    fn read(
        &self,
        deflection_mm: Option<&Bound<'_, PyAny>>,
        reading: Option<&PyReading>,
    ) -> Result<Option<bracewright::Reading>> {
        match (deflection_mm, reading) {
            (None, None) => Ok(None),
            (None, Some(r)) => Ok(Some(r.0.clone())),
            (Some(d), None) => Ok(Some(PyRig(self.0.rig().clone()).reading(d, None)?.0)),
            _ => Err(Error::Refused("give deflection_mm or reading, not both".into()).into()),
        }
    }
}

/// Stations and heights go together.
fn heights(x_mm: Option<&Bound<'_, PyAny>>, height_mm: Option<&Bound<'_, PyAny>>) -> Result<Option<(Vec<f64>, Vec<f64>)>> {
    match (x_mm, height_mm) {
        (None, None) => Ok(None),
        (Some(x), Some(h)) => Ok(Some((MM.list("x_mm", x)?, MM.list("height_mm", h)?))),
        _ => Err(Error::Refused("x_mm and height_mm go together: give both or neither".into()).into()),
    }
}

#[pymethods]
impl PyBench {
    #[new]
    #[pyo3(signature = (plan, rig=None, *, goal, overshoot=0.02, bias_fraction=0.0, u_bias_fraction=0.05, scatter_fraction=0.1,
        scatter_mm=0.1, hand_passes=30.0, deepest_pass_mm=None, smallest_shaving_mm=0.15, enough=0.9, costs=None, u_scale_g=0.01,
        shavings_lost=0.03, u_calliper_mm=0.05, u_tap_fraction=0.005, rh_low_percent=40.0, rh_high_percent=50.0,
        working_moment_n_m=None, bending_strength_mpa=None, least_margin=4.0))]
    fn new(
        py: Python<'_>,
        plan: &PyPlan,
        rig: Option<&PyRig>,
        goal: &PyGoal,
        #[pyo3(from_py_with = need::overshoot)] overshoot: f64,
        #[pyo3(from_py_with = need::bias_fraction)] bias_fraction: f64,
        #[pyo3(from_py_with = need::u_bias_fraction)] u_bias_fraction: f64,
        #[pyo3(from_py_with = need::scatter_fraction)] scatter_fraction: f64,
        #[pyo3(from_py_with = need::scatter_mm)] scatter_mm: f64,
        #[pyo3(from_py_with = need::hand_passes)] hand_passes: f64,
        #[pyo3(from_py_with = may::deepest_pass_mm)] deepest_pass_mm: Option<f64>,
        #[pyo3(from_py_with = need::smallest_shaving_mm)] smallest_shaving_mm: f64,
        #[pyo3(from_py_with = need::enough)] enough: f64,
        costs: Option<&PyCosts>,
        #[pyo3(from_py_with = need::u_scale_g)] u_scale_g: f64,
        #[pyo3(from_py_with = need::shavings_lost)] shavings_lost: f64,
        #[pyo3(from_py_with = need::u_calliper_mm)] u_calliper_mm: f64,
        #[pyo3(from_py_with = need::u_tap_fraction)] u_tap_fraction: f64,
        #[pyo3(from_py_with = need::rh_low_percent)] rh_low_percent: f64,
        #[pyo3(from_py_with = need::rh_high_percent)] rh_high_percent: f64,
        #[pyo3(from_py_with = may::working_moment_n_m)] working_moment_n_m: Option<f64>,
        #[pyo3(from_py_with = may::bending_strength_mpa)] bending_strength_mpa: Option<f64>,
        #[pyo3(from_py_with = need::least_margin)] least_margin: f64,
    ) -> Result<Self> {
        if let (Some(rig), Some(of_goal)) = (rig, goal.rig())
            && !rig.0.same_as(&of_goal.0)
        {
            return Err(Error::Refused(
                "the rig of the bench and the rig of its goal differ; make the goal with rig.between(low, high)".into(),
            )
            .into());
        }
        let options = BenchOptions {
            overshoot,
            hand: Hand::new(bias_fraction, scatter_fraction, scatter_mm)?,
            u_bias_fraction,
            hand_passes,
            deepest_pass_mm,
            smallest_shaving_mm,
            enough,
            costs: costs.map(|c| c.0),
            u_scale_g,
            shavings_lost,
            u_calliper_mm,
            u_tap_fraction,
            rh_percent: (rh_low_percent, rh_high_percent),
            working_moment_n_m,
            bending_strength_mpa,
            least_margin,
        };
        Ok(Self(py.detach(|| Bench::new(&plan.0, &goal.0, &options))?))
    }

    /// The plan.
    #[getter]
    fn plan(&self) -> PyPlan {
        PyPlan(self.0.plan().clone())
    }

    /// The rig.
    #[getter]
    fn rig(&self) -> PyRig {
        PyRig(self.0.rig().clone())
    }

    /// The goal.
    #[getter]
    fn goal(&self) -> PyGoal {
        PyGoal(self.0.goal().clone())
    }

    /// The log so far.
    #[getter]
    fn log(&self) -> Vec<PyEntry> {
        self.0.log().iter().cloned().map(PyEntry).collect()
    }

    /// Density, kg/m3, and its standard uncertainty, from the weighings so far.
    #[getter]
    fn density_kg_m3(&self) -> (f64, f64) {
        self.0.density_kg_m3()
    }

    /// Depth removed as now believed, mm, and its standard deviation.
    #[getter]
    fn removed_mm(&self) -> (f64, f64) {
        self.0.removed_mm()
    }

    /// E as now believed, GPa, and its standard deviation.
    #[getter]
    fn modulus_gpa(&self) -> (f64, f64) {
        self.0.modulus_gpa()
    }

    /// Give of the supports as now believed, mm/N, and its standard deviation.
    #[getter]
    fn give_mm_per_n(&self) -> (f64, f64) {
        self.0.known().give_mm_per_n()
    }

    /// Ratio of shear to Young's modulus over the wood's own, as now believed, and its standard deviation.
    #[getter]
    fn shear_ratio(&self) -> (f64, f64) {
        self.0.known().shear_ratio()
    }

    /// What the hand takes beyond its aim, as a part of it, as now believed, and its standard deviation.
    #[getter]
    fn bias_fraction(&self) -> (f64, f64) {
        self.0.known().bias_fraction()
    }

    /// Scatter of the hand over what was believed of it, and its standard deviation.
    #[getter]
    fn scatter_ratio(&self) -> (f64, f64) {
        self.0.known().scatter_ratio()
    }

    /// Part of the shavings that never reaches the pan, as now believed, and its standard deviation.
    #[getter]
    fn shavings_lost(&self) -> (f64, f64) {
        self.0.known().shavings_lost()
    }

    /// What the dial should show now, mm, and its standard deviation before the dial's own uncertainty.
    #[getter]
    fn dial_mm(&self) -> (f64, f64) {
        self.0.known().dial_mm()
    }

    /// How much of its first spread each thing not known has left, by name: 1 is nothing learned, 0 pinned down.
    #[getter]
    fn spread_left(&self) -> std::collections::BTreeMap<&'static str, f64> {
        self.0.known().spread_left().into_iter().collect()
    }

    /// What the readings pin down by now and what they do not, in plain words.
    #[getter]
    fn pinned_down(&self) -> String {
        self.0.known().pinned_down()
    }

    /// Strength over the bending stress of the working moment as it stands; None where none was given.
    #[getter]
    fn margin(&self) -> Result<Option<f64>> {
        Ok(self.0.margin()?)
    }

    /// True once the cap or the sides of the plan have been worked.
    #[getter]
    fn cap_worked(&self) -> bool {
        self.0.cap_worked()
    }

    /// After the cap (or the sides) of the plan, its first pass, has been worked on the height as it stands: a new bench.
    ///
    /// shavings_g: what came off, g; may be left out. The reading of the brace with its cap goes to after_reading. Refused when
    /// the plan has no cap or it is worked already (cap_worked).
    #[pyo3(signature = (*, shavings_g=None))]
    fn after_cap(&self, #[pyo3(from_py_with = may::shavings_g)] shavings_g: Option<f64>) -> Result<Self> {
        Ok(Self(self.0.after_cap(shavings_g)?))
    }

    /// After a reading of the brace as it stands: deflection_mm as rig.reading takes it, or a Reading.
    #[pyo3(signature = (deflection_mm=None, *, reading=None))]
    fn after_reading(
        &self,
        py: Python<'_>,
        deflection_mm: Option<&Bound<'_, PyAny>>,
        reading: Option<&PyReading>,
    ) -> Result<Self> {
        let Some(reading) = self.read(deflection_mm, reading)? else {
            return Err(Error::Refused("there is no reading; give deflection_mm or reading".into()).into());
        };
        Ok(Self(py.detach(|| self.0.after_reading(&reading))?))
    }

    /// After a pass: what was weighed, measured and read; anything may be left out. A new bench; this one stays as it is.
    ///
    /// aimed_mm: depth aimed at, mm, the last advice when left out. shavings_g: what is in the pan, g, or brace_g: the brace
    /// on the scale, g. deflection_mm: the dial, mm, as rig.reading takes it (one figure, repeats, or a list a seat), or
    /// reading, a Reading of the same rig. frequency_hz: first free bending frequency by tap, Hz. x_mm and height_mm: stations and heights measured with callipers, mm, together.
    /// Lengths take a text with a unit as well: "0.032 in". The cap is after_cap's, before the first pass.
    #[pyo3(signature = (*, shavings_g=None, deflection_mm=None, aimed_mm=None, brace_g=None, x_mm=None, height_mm=None, frequency_hz=None, reading=None))]
    fn after_pass(
        &self,
        py: Python<'_>,
        #[pyo3(from_py_with = may::shavings_g)] shavings_g: Option<f64>,
        deflection_mm: Option<&Bound<'_, PyAny>>,
        #[pyo3(from_py_with = may::aimed_mm)] aimed_mm: Option<f64>,
        #[pyo3(from_py_with = may::brace_g)] brace_g: Option<f64>,
        x_mm: Option<&Bound<'_, PyAny>>,
        height_mm: Option<&Bound<'_, PyAny>>,
        #[pyo3(from_py_with = may::frequency_hz)] frequency_hz: Option<f64>,
        reading: Option<&PyReading>,
    ) -> Result<Self> {
        let heights_mm = heights(x_mm, height_mm)?;
        let reading = self.read(deflection_mm, reading)?;
        let seen = Seen { aimed_mm, shavings_g, brace_g, heights_mm, frequency_hz, reading };
        Ok(Self(py.detach(|| self.0.after_pass(&seen))?))
    }

    /// After anything was read, weighed, measured or tapped with nothing carved: a new bench. Arguments as after_pass takes them.
    #[pyo3(signature = (*, deflection_mm=None, brace_g=None, x_mm=None, height_mm=None, frequency_hz=None, reading=None))]
    fn after_look(
        &self,
        py: Python<'_>,
        deflection_mm: Option<&Bound<'_, PyAny>>,
        #[pyo3(from_py_with = may::brace_g)] brace_g: Option<f64>,
        x_mm: Option<&Bound<'_, PyAny>>,
        height_mm: Option<&Bound<'_, PyAny>>,
        #[pyo3(from_py_with = may::frequency_hz)] frequency_hz: Option<f64>,
        reading: Option<&PyReading>,
    ) -> Result<Self> {
        let heights_mm = heights(x_mm, height_mm)?;
        let reading = self.read(deflection_mm, reading)?;
        let seen = Seen { brace_g, heights_mm, frequency_hz, reading, ..Seen::default() };
        Ok(Self(py.detach(|| self.0.after_look(&seen))?))
    }

    /// The bench without the last line of its log, as when a reading proved wrong.
    fn without_last(&self, py: Python<'_>) -> Result<Self> {
        Ok(Self(py.detach(|| self.0.without_last())?))
    }

    /// The next pass: as deep as the window allows under the chosen chance and one pass may take, or stop, and why.
    /// rh_percent: relative humidity of the shop, %, where it is known.
    #[pyo3(signature = (*, rh_percent=None))]
    fn next_pass(&self, py: Python<'_>, #[pyo3(from_py_with = may::rh_percent)] rh_percent: Option<f64>) -> Result<PyNextStep> {
        Ok(PyNextStep(py.detach(|| self.0.next_pass(rh_percent))?))
    }

    /// Cut, or measure once more: what each further reading (one seat more, twice the load, the scale, the calliper, a tap
    /// where taps were read) would add to the depth allowed, per minute of bench time. `minutes` changes how long each takes,
    /// by name; the names are those of the answer.
    #[pyo3(signature = (*, minutes=None))]
    fn what_to_measure(
        &self,
        py: Python<'_>,
        minutes: Option<std::collections::BTreeMap<String, f64>>,
    ) -> Result<PyWhatToMeasure> {
        let mut offers = self.0.usual_offers()?;
        for (name, each) in minutes.unwrap_or_default() {
            match offers.iter_mut().find(|o| o.0 == name) {
                Some(offer) => offer.2 = each,
                None => {
                    let known: Vec<&str> = offers.iter().map(|o| o.0.as_str()).collect();
                    let known = known.join("\", \"");
                    return Err(Error::Refused(format!("minutes names \"{name}\"; the readings here are \"{known}\"")).into());
                }
            }
        }
        Ok(PyWhatToMeasure(py.detach(|| self.0.what_to_measure(&offers))?))
    }

    /// The brace as it is believed to stand.
    fn now(&self, py: Python<'_>) -> Result<PyBrace> {
        Ok(PyBrace(py.detach(|| self.0.now())?))
    }

    fn __repr__(&self) -> String {
        let pair = |(m, s): (f64, f64)| format!("{} \u{b1} {s:.2}", short((m * 1000.0).round() / 1000.0));
        format!(
            "Bench({} to {} mm, {} steps logged, {} mm off, E {} GPa)",
            short(self.0.goal().low()),
            short(self.0.goal().high()),
            self.0.log().len(),
            pair(self.0.removed_mm()),
            pair(self.0.modulus_gpa())
        )
    }

    fn _repr_html_(&self) -> String {
        let next = self.0.next_pass(None).map_or(String::new(), |n| n.words);
        html(&self.__repr__(), &[Shown { name: "next", text: next, column: None }])
    }
}
