//! Twin of `combine`: budgets, repeats with their suspects, and a reference climate.

use bracewright::combine::{
    self as core, Budget, BudgetLine, Climate, Corrected, CorrectionOptions, Evaluation, Measured, RepeatOptions, Repeated,
    RobustMean, Suspect,
};
use numpy::PyArray1;
use pyo3::exceptions::PyTypeError;
use pyo3::prelude::*;

use crate::argument::{may, need};
use crate::convert::{PLAIN, floats, type_name, word};
use crate::error::{Result, invalid};
use crate::value::{ToPython, record};
use crate::wood::PyWood;

impl ToPython for Evaluation {
    fn to_python<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        self.shown().to_python(py)
    }
    fn shown(&self) -> String {
        match self {
            Evaluation::A => "A".into(),
            Evaluation::B => "B".into(),
        }
    }
}

record! {
    /// One line of an uncertainty budget (JCGM 100).
    PyBudgetLine, "BudgetLine", BudgetLine {
        /// Where it comes from.
        source;
        /// The input's value, in its own unit.
        value;
        /// Its standard uncertainty, in its own unit.
        u;
        /// What the result moves by for one unit of the input.
        sensitivity;
        /// Degrees of freedom; None when there are infinitely many.
        dof;
        /// "A" from repeats, "B" from anything else.
        evaluation;
        /// |sensitivity| x u: what it is worth in the result.
        contribution;
        /// Its part of the result's variance, 0 to 1; 0 until it stands in a budget.
        share;
    }
}

#[pymethods]
impl PyBudgetLine {
    #[new]
    #[pyo3(signature = (source, *, u, value=0.0, sensitivity=1.0, dof=None, evaluation="B"))]
    fn new(
        source: &str,
        #[pyo3(from_py_with = need::u)] u: f64,
        #[pyo3(from_py_with = need::value)] value: f64,
        #[pyo3(from_py_with = need::sensitivity)] sensitivity: f64,
        #[pyo3(from_py_with = may::dof)] dof: Option<f64>,
        evaluation: &str,
    ) -> Result<Self> {
        let evaluation = word("evaluation", evaluation, &[("a", Evaluation::A), ("b", Evaluation::B)])?;
        Ok(Self(BudgetLine::new(source, value, u, sensitivity, dof, evaluation)?))
    }
}

type Columns = Vec<(&'static str, Vec<f64>)>;

fn budget_columns(b: &Budget) -> Columns {
    let column = |name, of: fn(&BudgetLine) -> f64| (name, b.lines.iter().map(of).collect());
    vec![
        column("value", |l| l.value),
        column("u", |l| l.u),
        column("sensitivity", |l| l.sensitivity),
        column("dof", |l| l.dof.unwrap_or(f64::INFINITY)),
        column("contribution", |l| l.contribution),
        column("share", |l| l.share),
    ]
}

record! {
    /// A result with its uncertainty and where that comes from: Budget(value, lines, coverage=0.95, unit="mm").
    PyBudget, "Budget", Budget {
        /// The result.
        value;
        /// Its combined standard uncertainty.
        u;
        /// Its unit, for the words.
        unit;
        /// Effective degrees of freedom by Welch and Satterthwaite; None when infinitely many.
        dof;
        /// Coverage asked for, 0 to 1.
        coverage;
        /// Factor from u to the expanded uncertainty: Student's t.
        coverage_factor;
        /// Expanded uncertainty.
        expanded;
        /// The interval it makes.
        interval;
        /// The lines, largest contribution first.
        lines;
    }
    table budget_columns
}

#[pymethods]
impl PyBudget {
    #[new]
    #[pyo3(signature = (value, lines, *, coverage=0.95, unit=""))]
    fn new(
        #[pyo3(from_py_with = need::value)] value: f64,
        lines: Vec<PyRef<'_, PyBudgetLine>>,
        #[pyo3(from_py_with = need::coverage)] coverage: f64,
        unit: &str,
    ) -> Result<Self> {
        Ok(Self(Budget::new(value, unit, lines.iter().map(|l| l.0.clone()).collect(), coverage)?))
    }

    /// The result as a sheet prints it: value, expanded uncertainty, factor and coverage.
    fn sentence(&self) -> String {
        self.0.sentence()
    }
}

/// The factor k with which value +- k u covers `coverage` (above 0, below 1): Student's t with `dof` degrees of freedom (0.5
/// or more), or the normal law without.
#[pyfunction]
#[pyo3(signature = (coverage=0.95, *, dof=None))]
pub fn coverage_factor(
    #[pyo3(from_py_with = need::coverage)] coverage: f64,
    #[pyo3(from_py_with = may::dof)] dof: Option<f64>,
) -> Result<f64> {
    Ok(core::coverage_factor(coverage, dof)?)
}

record! {
    /// A mean by Algorithm A of ISO 13528: readings farther than 1.5 standard deviations are drawn in to there.
    PyRobustMean, "RobustMean", RobustMean {
        /// Robust mean.
        mean;
        /// Robust standard deviation of one reading.
        sd;
        /// Median.
        median;
        /// 1.4826 times the median distance from the median.
        mad_sd;
    }
}

/// Robust mean and standard deviation of 3 or more values by Algorithm A of ISO 13528.
#[pyfunction]
pub fn robust_mean(values: &Bound<'_, PyAny>) -> Result<PyRobustMean> {
    Ok(PyRobustMean(core::robust_mean(&PLAIN.list("values", values)?)?))
}

/// Modified z-scores, 0.6745 (x - median) / MAD, of 3 or more values (Iglewicz and Hoaglin); above 3.5 a value is suspect.
#[pyfunction]
pub fn modified_z<'py>(py: Python<'py>, values: &Bound<'py, PyAny>) -> Result<Bound<'py, PyArray1<f64>>> {
    Ok(PyArray1::from_vec(py, core::modified_z(&PLAIN.list("values", values)?)?))
}

record! {
    /// A reading, or a whole seat, that does not fit the others.
    PySuspect, "Suspect", Suspect {
        /// Its seat, from 0.
        seat;
        /// Its place in the seat, from 0; None when the whole seat stands off.
        index;
        /// What was read (of a seat, its mean).
        value;
        /// How far it stands from the median of its like.
        off_by;
        /// The same over the robust scatter: the modified z-score.
        score;
    }
}

record! {
    /// A quantity from its repeats. Made by repeated(...).
    PyRepeated, "Repeated", Repeated {
        /// Budget with every reading.
        with_all;
        /// Budget without the suspects; the same as with_all when there are none.
        without_suspects;
        /// The readings that do not fit, worst first.
        suspects;
        /// Standard deviation of one reading within its seat, pooled; None unless some seat was read twice.
        repeat_sd;
        /// Standard deviation of the seats themselves, the readings' share taken off; None with one seat.
        seat_sd;
        /// The readings, one list a seat.
        seats;
        /// What should be known, as sentences.
        words;
    }
}

/// Lists of numbers: a list of lists, rows of an array, or one list alone.
pub fn lists(name: &str, given: &Bound<'_, PyAny>) -> PyResult<Vec<Vec<f64>>> {
    match floats(given)? {
        Some((values, shape)) if shape.len() == 1 && !values.is_empty() => return Ok(vec![values]),
        Some((values, shape)) if shape.len() == 2 && shape[1] > 0 => {
            return Ok(values.chunks(shape[1]).map(<[f64]>::to_vec).collect());
        }
        Some((_, shape)) if shape.len() > 2 => {
            return Err(invalid(format!("{name} has {} dimensions; give lists of numbers", shape.len())));
        }
        _ => {}
    }
    let bad = |_| PyTypeError::new_err(format!("{name}: it must be a list of lists of numbers, not {}", type_name(given)));
    if given.is_instance_of::<pyo3::types::PyString>() {
        return PLAIN.list(name, given).map(|one| vec![one]);
    }
    given.try_iter().map_err(bad)?.enumerate().map(|(i, one)| PLAIN.list(&format!("{name}[{i}]"), &one?)).collect()
}

/// A quantity from its repeats: readings holds one list a seat (the piece laid down again between lists), or is one list.
/// Seats count alike. Uncertainty: scatter of seats and repeats (one-way analysis of variance), resolution (its smallest
/// step), calibration, and where these readings cannot show it a repeat or seat scatter known from before. Readings whose
/// modified z-score is above 3.5 are named, and both answers given.
#[pyfunction]
#[pyo3(signature = (readings, *, resolution=0.0, u_calibration=0.0, calibration_dof=None, known_repeat_sd=None, known_seat_sd=None,
    coverage=0.95, unit=""))]
pub fn repeated(
    readings: &Bound<'_, PyAny>,
    #[pyo3(from_py_with = need::resolution)] resolution: f64,
    #[pyo3(from_py_with = need::u_calibration)] u_calibration: f64,
    #[pyo3(from_py_with = may::calibration_dof)] calibration_dof: Option<f64>,
    #[pyo3(from_py_with = may::known_repeat_sd)] known_repeat_sd: Option<f64>,
    #[pyo3(from_py_with = may::known_seat_sd)] known_seat_sd: Option<f64>,
    #[pyo3(from_py_with = need::coverage)] coverage: f64,
    unit: &str,
) -> Result<PyRepeated> {
    let options =
        RepeatOptions { resolution, u_calibration, calibration_dof, known_repeat_sd, known_seat_sd, coverage, unit: unit.into() };
    Ok(PyRepeated(core::repeated(&lists("readings", readings)?, &options)?))
}

record! {
    /// The state a piece of wood is in: Climate(9.0, temperature_c=22, u_mc_percent=0.5), or Climate.of_air(...).
    PyClimate, "Climate", Climate {
        /// Moisture content, percent.
        mc_percent;
        /// Its standard uncertainty, percent of moisture.
        u_mc_percent;
        /// Temperature, degrees C.
        temperature_c;
        /// Its standard uncertainty, degrees.
        u_temperature_c;
    }
}

#[pymethods]
impl PyClimate {
    #[new]
    #[pyo3(signature = (mc_percent, *, temperature_c=20.0, u_mc_percent=0.5, u_temperature_c=1.0))]
    fn new(
        #[pyo3(from_py_with = need::mc_percent)] mc_percent: f64,
        #[pyo3(from_py_with = need::temperature_c)] temperature_c: f64,
        #[pyo3(from_py_with = need::u_mc_percent)] u_mc_percent: f64,
        #[pyo3(from_py_with = need::u_temperature_c)] u_temperature_c: f64,
    ) -> Result<Self> {
        Ok(Self(Climate::new(mc_percent, u_mc_percent, temperature_c, u_temperature_c)?))
    }

    /// Wood settled in air: Wood Handbook Eq. 4-5. u_settled_percent is how far real wood lies from it, % MC.
    #[staticmethod]
    #[pyo3(signature = (*, temperature_c, rh_percent, u_temperature_c=1.0, u_rh_percent=3.0, u_settled_percent=0.6))]
    fn of_air(
        #[pyo3(from_py_with = need::temperature_c)] temperature_c: f64,
        #[pyo3(from_py_with = need::rh_percent)] rh_percent: f64,
        #[pyo3(from_py_with = need::u_temperature_c)] u_temperature_c: f64,
        #[pyo3(from_py_with = need::u_rh_percent)] u_rh_percent: f64,
        #[pyo3(from_py_with = need::u_settled_percent)] u_settled_percent: f64,
    ) -> Result<Self> {
        Ok(Self(Climate::of_air(temperature_c, u_temperature_c, rh_percent, u_rh_percent, u_settled_percent)?))
    }
}

record! {
    /// A reading at the reference climate. Made by to_reference(...).
    PyCorrected, "Corrected", Corrected {
        /// Value at the reference, and its budget.
        budget;
        /// What the reading was multiplied by.
        factor;
        /// What was read.
        read;
        /// The step, in words.
        words;
    }
}

/// A reading carried from the climate it was made in to a reference climate. `what` is "modulus along", "modulus across",
/// "shear modulus", "density" (kg/m3), "size" or "deflection"; ring_angle_deg, for the last two, lies between the radial
/// direction and the size, or the height of the stick (90: rings upright). u_coefficients is the relative standard
/// uncertainty of the wood's own coefficients. Moduli by Wood Handbook Eq. 5-3 and Table 5-15, density by Eq. 4-13 and 4-14.
#[pyfunction]
#[pyo3(signature = (wood, value, *, what, u, climate, to_mc_percent=12.0, to_temperature_c=20.0, ring_angle_deg=90.0,
    u_coefficients=0.25, coverage=0.95, unit=""))]
pub fn to_reference(
    wood: &PyWood,
    #[pyo3(from_py_with = need::value)] value: f64,
    what: &str,
    #[pyo3(from_py_with = need::u)] u: f64,
    climate: &PyClimate,
    #[pyo3(from_py_with = need::to_mc_percent)] to_mc_percent: f64,
    #[pyo3(from_py_with = need::to_temperature_c)] to_temperature_c: f64,
    #[pyo3(from_py_with = need::ring_angle_deg)] ring_angle_deg: f64,
    #[pyo3(from_py_with = need::u_coefficients)] u_coefficients: f64,
    #[pyo3(from_py_with = need::coverage)] coverage: f64,
    unit: &str,
) -> Result<PyCorrected> {
    let what = word(
        "what",
        what,
        &[
            ("modulus along", Measured::ModulusAlong),
            ("modulus across", Measured::ModulusAcross),
            ("shear modulus", Measured::ShearModulus),
            ("density", Measured::Density),
            ("size", Measured::Size { ring_angle_deg }),
            ("deflection", Measured::Deflection { ring_angle_deg }),
        ],
    )?;
    let options = CorrectionOptions { u_coefficients, coverage, unit: unit.into() };
    Ok(PyCorrected(core::to_reference(&wood.0, what, value, u, &climate.0, to_mc_percent, to_temperature_c, &options)?))
}
