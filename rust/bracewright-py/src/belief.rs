//! Twin of `belief`: the unknowns, the hand and the gauge, and what readings make one believe.

use bracewright::Error;
use bracewright::belief::{Belief, DEFAULT_DRAWS, Event, Gauge, Hand, Linear, Pass, Unknown};
use pyo3::prelude::*;

use crate::advice::{PyAdvice, PyPosterior, PyRule, PyWindow};
use crate::argument::{may, need};
use crate::error::Result;
use crate::response::Curve;
use crate::value::{Shown, html, record, short, value};

/// What is believed of one unknown before any reading: Unknown.log_normal, Unknown.at_least_zero or Unknown.known.
#[pyclass(frozen, eq, name = "Unknown", module = "bracewright")]
#[derive(Debug, Clone, PartialEq)]
pub struct PyUnknown(pub Unknown);

value!(PyUnknown, Unknown, "Unknown");

#[pymethods]
impl PyUnknown {
    /// Its logarithm is normal: half of the cases lie below `median` (above 0); sd_ln is the standard deviation of the
    /// natural logarithm, 0 to 3 (0.12 reads "12 %").
    #[staticmethod]
    #[pyo3(signature = (*, median, sd_ln))]
    fn log_normal(
        #[pyo3(from_py_with = need::median)] median: f64,
        #[pyo3(from_py_with = need::sd_ln)] sd_ln: f64,
    ) -> Result<Self> {
        Ok(Self(Unknown::LogNormal { median, sd_ln }.checked()?))
    }

    /// Normal and cut off below 0, for a give that may be next to nothing; mean and sd are those before the cut.
    #[staticmethod]
    #[pyo3(signature = (*, mean, sd))]
    fn at_least_zero(#[pyo3(from_py_with = need::mean)] mean: f64, #[pyo3(from_py_with = need::sd)] sd: f64) -> Result<Self> {
        Ok(Self(Unknown::AtLeastZero { mean, sd }.checked()?))
    }

    /// A value known exactly, 0 or more.
    #[staticmethod]
    fn known(#[pyo3(from_py_with = need::value)] value: f64) -> Result<Self> {
        Ok(Self(Unknown::known(value).checked()?))
    }

    fn __repr__(&self) -> String {
        match self.0 {
            Unknown::LogNormal { median, sd_ln } => {
                format!("Unknown.log_normal(median={}, sd_ln={})", short(median), short(sd_ln))
            }
            Unknown::AtLeastZero { mean, sd } => format!("Unknown.at_least_zero(mean={}, sd={})", short(mean), short(sd)),
        }
    }

    fn _repr_html_(&self) -> String {
        html(&self.__repr__(), &[])
    }
}

record! {
    /// How truly the hand takes what was aimed at: aimed D, it takes D (1 + bias_fraction) on average, with standard deviation
    /// sqrt((scatter_fraction D)^2 + scatter_mm^2), and never less than nothing.
    PyHand, "Hand", Hand {
        /// Average excess as a part of the aim, -0.5 to 1.
        bias_fraction;
        /// Scatter that grows with the aim, as a part of it, 0 to 1.
        scatter_fraction;
        /// Scatter that is there even for a thin shaving, mm, 0 to 5.
        scatter_mm;
    }
}

#[pymethods]
impl PyHand {
    #[new]
    #[pyo3(signature = (*, bias_fraction=0.0, scatter_fraction=0.1, scatter_mm=0.1))]
    fn new(
        #[pyo3(from_py_with = need::bias_fraction)] bias_fraction: f64,
        #[pyo3(from_py_with = need::scatter_fraction)] scatter_fraction: f64,
        #[pyo3(from_py_with = need::scatter_mm)] scatter_mm: f64,
    ) -> Result<Self> {
        Ok(Self(Hand::new(bias_fraction, scatter_fraction, scatter_mm)?))
    }

    /// Average depth taken for an aim, mm.
    fn mean_mm(&self, #[pyo3(from_py_with = need::aim_mm)] aim_mm: f64) -> Result<f64> {
        Ok(self.0.mean_mm(bracewright::error::not_negative("aim_mm", aim_mm, "mm")?))
    }

    /// Standard deviation of the depth taken for an aim, mm.
    fn sd_mm(&self, #[pyo3(from_py_with = need::aim_mm)] aim_mm: f64) -> Result<f64> {
        Ok(self.0.sd_mm(bracewright::error::not_negative("aim_mm", aim_mm, "mm")?))
    }
}

record! {
    /// A dial gauge and how it is used: one reading is the mean of readings_per_seat in each of `seats` seats.
    PyGauge, "Gauge", Gauge {
        /// Standard deviation of readings in one seat, mm.
        repeat_mm;
        /// Standard deviation from taking the brace off and seating it again, mm.
        reseat_mm;
        /// Smallest step the gauge shows, mm.
        resolution_mm;
        /// Standard uncertainty of the calibration, mm; no repeating makes it smaller.
        calibration_mm;
        /// Readings taken in each seat.
        readings_per_seat;
        /// Times the brace was seated.
        seats;
    }
}

#[pymethods]
impl PyGauge {
    #[new]
    #[pyo3(signature = (*, repeat_mm=0.006, reseat_mm=0.004, resolution_mm=0.01, calibration_mm=0.0, readings_per_seat=3, seats=1))]
    fn new(
        #[pyo3(from_py_with = need::repeat_mm)] repeat_mm: f64,
        #[pyo3(from_py_with = need::reseat_mm)] reseat_mm: f64,
        #[pyo3(from_py_with = need::resolution_mm)] resolution_mm: f64,
        #[pyo3(from_py_with = need::calibration_mm)] calibration_mm: f64,
        #[pyo3(from_py_with = need::readings_per_seat)] readings_per_seat: u32,
        #[pyo3(from_py_with = need::seats)] seats: u32,
    ) -> Result<Self> {
        let gauge = Gauge { repeat_mm, reseat_mm, resolution_mm, calibration_mm, readings_per_seat, seats };
        gauge.u_mm()?;
        Ok(Self(gauge))
    }

    /// Standard uncertainty of the mean, mm: sqrt(repeat^2/(n m) + reseat^2/m + resolution^2/12 + calibration^2) with n
    /// readings in each of m seats (JCGM 100).
    #[getter]
    fn u_mm(&self) -> Result<f64> {
        Ok(self.0.u_mm()?)
    }
}

/// Draws asked for, or the usual number.
fn enough(draws: Option<usize>) -> Result<usize> {
    let count = draws.unwrap_or(DEFAULT_DRAWS);
    bracewright::error::within("draws", count as f64, "", 100.0, 4e6)?;
    Ok(count)
}

record! {
    /// The fast normal approximation of a belief.
    PyLinear, "Linear", Linear {
        /// Deflection as the brace stands, mm (log-normal).
        deflection_mm;
        /// E along the brace, GPa.
        e_gpa;
        /// The second unknown, N/mm or mm/N.
        second;
        /// Depth removed so far, mm.
        depth_mm;
        /// Correlation of the modulus with the second unknown, on the scales in which each is normal.
        correlation;
        /// Whether Gauss-Newton came to rest.
        converged;
    }
}

/// What is believed of one brace: a prior, and what happened since. A value: every step gives a new belief.
///
/// e_gpa is E along the brace, `second` the second unknown of the response (N/mm beside it, or mm/N under it), independent
/// of each other before any reading; `hand` is the hand that carves.
#[pyclass(frozen, eq, name = "Belief", module = "bracewright")]
#[derive(Debug, Clone, PartialEq)]
pub struct PyBelief(pub Belief);

value!(PyBelief, Belief, "Belief");

#[pymethods]
impl PyBelief {
    #[new]
    #[pyo3(signature = (*, e_gpa, second, hand))]
    fn new(e_gpa: &PyUnknown, second: &PyUnknown, hand: &PyHand) -> Result<Self> {
        Ok(Self(Belief::new(e_gpa.0, second.0, hand.0)?))
    }

    /// After a reading: its standard uncertainty from a gauge or as u_mm, one of the two.
    #[pyo3(signature = (deflection_mm, *, gauge=None, u_mm=None))]
    fn after_reading(
        &self,
        #[pyo3(from_py_with = need::deflection_mm)] deflection_mm: f64,
        gauge: Option<&PyGauge>,
        #[pyo3(from_py_with = may::u_mm)] u_mm: Option<f64>,
    ) -> Result<Self> {
        Ok(Self(match (gauge, u_mm) {
            (Some(g), None) => self.0.after_reading(deflection_mm, &g.0)?,
            (None, Some(u)) => self.0.after_reading_with_u(deflection_mm, u)?,
            _ => return Err(Error::Refused("a reading needs exactly one of gauge and u_mm".into()).into()),
        }))
    }

    /// After a pass aimed at aim_mm; measured_mm are pairs (depth, standard uncertainty) of what it took by calliper or by the
    /// mass of its shavings, mm.
    #[pyo3(signature = (aim_mm, *, measured_mm=None))]
    fn after_pass(&self, #[pyo3(from_py_with = need::aim_mm)] aim_mm: f64, measured_mm: Option<Vec<(f64, f64)>>) -> Result<Self> {
        let mut pass = Pass::aimed(aim_mm)?;
        for (i, (depth, u)) in measured_mm.unwrap_or_default().into_iter().enumerate() {
            bracewright::error::not_negative(&format!("depth in measured_mm[{i}]"), depth, "mm")?;
            bracewright::error::positive(&format!("uncertainty in measured_mm[{i}]"), u, "mm")?;
            pass = pass.with_caliper(depth, u)?;
        }
        Ok(Self(self.0.after_pass(pass)?))
    }

    /// After the whole depth removed since the start was measured.
    #[pyo3(signature = (depth_mm, *, u_mm))]
    fn after_total_depth(
        &self,
        #[pyo3(from_py_with = need::depth_mm)] depth_mm: f64,
        #[pyo3(from_py_with = need::u_mm)] u_mm: f64,
    ) -> Result<Self> {
        Ok(Self(self.0.after_total_depth(depth_mm, u_mm)?))
    }

    /// After the depth removed since so many passes were done was measured, as two weighings of the brace give it.
    #[pyo3(signature = (passes, depth_mm, *, u_mm))]
    fn after_depth_since(
        &self,
        #[pyo3(from_py_with = need::passes)] passes: usize,
        #[pyo3(from_py_with = need::depth_mm)] depth_mm: f64,
        #[pyo3(from_py_with = need::u_mm)] u_mm: f64,
    ) -> Result<Self> {
        Ok(Self(self.0.after_depth_since(passes, depth_mm, u_mm)?))
    }

    /// Passes carved so far.
    #[getter]
    fn passes(&self) -> usize {
        self.0.passes()
    }

    /// The hand that carves.
    #[getter]
    fn hand(&self) -> PyHand {
        PyHand(self.0.hand())
    }

    /// Readings, passes and measurements so far.
    fn __len__(&self) -> usize {
        self.0.history().len()
    }

    /// What the draws say: the exact belief by importance sampling; the same seed gives the same bits on any number of cores.
    #[pyo3(signature = (response, *, draws=None, seed=1))]
    fn posterior(
        &self,
        py: Python<'_>,
        response: &Bound<'_, PyAny>,
        #[pyo3(from_py_with = may::draws)] draws: Option<usize>,
        #[pyo3(from_py_with = need::seed)] seed: u64,
    ) -> Result<PyPosterior> {
        let curve = Curve::of(response)?;
        let count = enough(draws)?;
        Ok(PyPosterior(py.detach(|| self.0.draws(curve.response(), count, seed).map(|d| d.posterior()))?))
    }

    /// Chance that the deflection as it stands lies between two values, mm, by the draws.
    #[pyo3(signature = (response, *, low_mm, high_mm, draws=None, seed=1))]
    fn chance_between(
        &self,
        py: Python<'_>,
        response: &Bound<'_, PyAny>,
        #[pyo3(from_py_with = need::low_mm)] low_mm: f64,
        #[pyo3(from_py_with = need::high_mm)] high_mm: f64,
        #[pyo3(from_py_with = may::draws)] draws: Option<usize>,
        #[pyo3(from_py_with = need::seed)] seed: u64,
    ) -> Result<f64> {
        bracewright::advice::Window::between(low_mm, high_mm)?;
        let curve = Curve::of(response)?;
        let count = enough(draws)?;
        Ok(py.detach(|| self.0.draws(curve.response(), count, seed).map(|d| d.chance_between(low_mm, high_mm)))?)
    }

    /// The fast normal approximation.
    fn linear(&self, response: &Bound<'_, PyAny>) -> Result<PyLinear> {
        Ok(PyLinear(self.0.linear(Curve::of(response)?.response())?))
    }

    /// The next step towards the window: the lesser of the deepest aim within the allowed chance and the one straight at the
    /// target, no more than one pass may take; or stop, and why.
    fn advise(&self, py: Python<'_>, response: &Bound<'_, PyAny>, window: &PyWindow, rule: &PyRule) -> Result<PyAdvice> {
        let curve = Curve::of(response)?;
        Ok(PyAdvice(py.detach(|| self.0.advise(curve.response(), &window.0, &rule.0))?))
    }

    fn __repr__(&self) -> String {
        let count = |f: fn(&Event) -> bool| self.0.history().iter().filter(|e| f(e)).count();
        format!(
            "Belief({} readings, {} passes)",
            count(|e| matches!(e, Event::Reading { .. })),
            count(|e| matches!(e, Event::Pass(_)))
        )
    }

    fn _repr_html_(&self) -> String {
        let h = self.0.hand();
        let hand =
            format!("bias {}, scatter {} and {} mm", short(h.bias_fraction), short(h.scatter_fraction), short(h.scatter_mm));
        html(&self.__repr__(), &[Shown { name: "hand", text: hand, column: None }])
    }
}
