//! Twin of `tap`: sticks on edge, flat and lengthwise. Plates are in `plate`, damping and added mass in `loss`.

use bracewright::tap::{
    Bending, DynamicOverStatic, Foam, LengthwiseEstimate, LengthwiseTap, Pickup, StaticModulus, StickEstimate, StickTap,
    TapReading, TapShare,
};
use pyo3::exceptions::PyTypeError;
use pyo3::prelude::*;

use crate::argument::need;
use crate::brace::PyBrace;
use crate::carve::standing;
use crate::convert::{type_name, word};
use crate::error::Result;
use crate::recording::PyMode;
use crate::repeats::PyCombinedMode;
use crate::value::{Shown, html, record, value};

record! {
    /// One line of a relative uncertainty budget.
    PyTapShare, "TapShare", TapShare {
        /// Where it comes from.
        source;
        /// What it is worth as a relative standard uncertainty of the result, percent.
        u_percent;
    }
}

record! {
    /// A pickup or magnet stuck on while a tap is recorded: a point mass at x_mm from the left end.
    PyPickup, "Pickup", Pickup {
        /// Where, mm from the left end.
        x_mm;
        /// Mass, g.
        mass_g;
        /// Its standard uncertainty, g.
        u_mass_g;
    }
}

#[pymethods]
impl PyPickup {
    #[new]
    #[pyo3(signature = (x_mm, mass_g, *, u_mass_g=0.05))]
    fn new(
        #[pyo3(from_py_with = need::x_mm)] x_mm: f64,
        #[pyo3(from_py_with = need::mass_g)] mass_g: f64,
        #[pyo3(from_py_with = need::u_mass_g)] u_mass_g: f64,
    ) -> Result<Self> {
        Ok(Self(Pickup::new(x_mm, mass_g, u_mass_g)?))
    }
}

record! {
    /// Soft foam, a rubber band or a thread that holds the stick up: a spring at x_mm from the left end. At a node it does
    /// nothing; elsewhere what it adds to the frequency is taken off. Half the stiffness is an honest uncertainty for foam.
    PyFoam, "Foam", Foam {
        /// Where, mm from the left end.
        x_mm;
        /// Stiffness in the direction of the bending, N/mm.
        stiffness_n_per_mm;
        /// Its standard uncertainty, N/mm.
        u_stiffness_n_per_mm;
    }
}

#[pymethods]
impl PyFoam {
    #[new]
    #[pyo3(signature = (x_mm, stiffness_n_per_mm, *, u_stiffness_n_per_mm))]
    fn new(
        #[pyo3(from_py_with = need::x_mm)] x_mm: f64,
        #[pyo3(from_py_with = need::stiffness_n_per_mm)] stiffness_n_per_mm: f64,
        #[pyo3(from_py_with = need::u_stiffness_n_per_mm)] u_stiffness_n_per_mm: f64,
    ) -> Result<Self> {
        Ok(Self(Foam::new(x_mm, stiffness_n_per_mm, u_stiffness_n_per_mm)?))
    }
}

/// What was heard: frequency, loss factor, and their standard uncertainties.
pub struct Heard {
    pub frequency_hz: (f64, f64),
    pub loss_factor: (f64, f64),
}

/// A mode of a recording, of one tap or of several put together; `name` is the argument's.
pub fn heard(name: &str, given: &Bound<'_, PyAny>) -> PyResult<Heard> {
    if let Ok(m) = given.cast::<PyMode>() {
        let m = &m.get().0;
        return Ok(Heard { frequency_hz: (m.frequency_hz, m.u_frequency_hz), loss_factor: (m.loss_factor(), m.u_loss_factor()) });
    }
    if let Ok(m) = given.cast::<PyCombinedMode>() {
        let m = &m.get().0;
        return Ok(Heard { frequency_hz: (m.frequency_hz, m.u_frequency_hz), loss_factor: (m.loss_factor(), m.u_loss_factor()) });
    }
    Err(PyTypeError::new_err(format!("{name}: it must be a Mode or a CombinedMode of a recording, not {}", type_name(given))))
}

record! {
    /// One tapped mode of a stick: its frequency and standard uncertainty, and which mode it is (1 to 6; 1 for the lowest).
    PyTapReading, "TapReading", TapReading {
        /// Which mode: 1 for the lowest bending (two nodes) or the lowest stretching (one node).
        mode;
        /// Frequency, Hz.
        frequency_hz;
        /// Standard uncertainty, Hz.
        u_hz;
    }
}

#[pymethods]
impl PyTapReading {
    #[new]
    #[pyo3(signature = (frequency_hz, *, u_hz, mode=1))]
    fn new(
        #[pyo3(from_py_with = need::frequency_hz)] frequency_hz: f64,
        #[pyo3(from_py_with = need::u_hz)] u_hz: f64,
        #[pyo3(from_py_with = need::mode)] mode: usize,
    ) -> Result<Self> {
        Ok(Self(TapReading::new(mode, frequency_hz, u_hz)?))
    }

    /// From a mode of a recording (a Mode of one tap, or a CombinedMode of several), with the uncertainty it carries. That
    /// covers noise and repeats; another grip is not in it.
    #[staticmethod]
    #[pyo3(signature = (heard, *, mode=1))]
    fn from_mode(heard: &Bound<'_, PyAny>, #[pyo3(from_py_with = need::mode)] mode: usize) -> Result<Self> {
        let (hz, u) = self::heard("heard", heard)?.frequency_hz;
        Ok(Self(TapReading::new(mode, hz, u)?))
    }
}

/// One TapReading, or a list of them.
fn readings(given: &Bound<'_, PyAny>) -> PyResult<Vec<TapReading>> {
    if let Ok(one) = given.cast::<PyTapReading>() {
        return Ok(vec![one.get().0]);
    }
    let bad = |one: &Bound<'_, PyAny>| {
        PyTypeError::new_err(format!("readings: it must be a TapReading or a list of them, not {}", type_name(one)))
    };
    given
        .try_iter()
        .map_err(|_| bad(given))?
        .map(|one| {
            let one = one?;
            let reading = one.cast::<PyTapReading>().map_err(|_| bad(&one))?.get().0;
            Ok(reading)
        })
        .collect()
}

record! {
    /// How much higher a modulus read at a few hundred hertz is than one read with a dial: ratio 0.8 to 1.5, its standard
    /// uncertainty 0 to 0.5, and where it was taken from. Tap and bend a few of your own sticks and give your own figure.
    PyDynamicOverStatic, "DynamicOverStatic", DynamicOverStatic {
        /// Dynamic over static modulus.
        ratio;
        /// Its standard uncertainty.
        u_ratio;
        /// Where it was taken from.
        source;
    }
}

#[pymethods]
impl PyDynamicOverStatic {
    #[new]
    #[pyo3(signature = (ratio, *, u_ratio, source="own"))]
    fn new(
        #[pyo3(from_py_with = need::ratio)] ratio: f64,
        #[pyo3(from_py_with = need::u_ratio)] u_ratio: f64,
        source: &str,
    ) -> Result<Self> {
        Ok(Self(DynamicOverStatic::new(ratio, u_ratio, source)?))
    }

    /// 1.065 with 0.02: the middle of the 3 to 10 % that rate of loading is said to make (from memory, no source read).
    #[staticmethod]
    fn usual() -> Self {
        Self(DynamicOverStatic::usual())
    }
}

record! {
    /// A static modulus, and the factor it came by.
    PyStaticModulus, "StaticModulus", StaticModulus {
        /// E, GPa.
        modulus_gpa;
        /// Its standard uncertainty, GPa.
        u_gpa;
        /// The factor used.
        factor;
        /// The step, in words.
        words;
    }
}

record! {
    /// What taps say of a stick. Made by StickTap.modulus.
    PyStickEstimate, "StickEstimate", StickEstimate {
        /// Dynamic E along the grain, GPa.
        modulus_gpa;
        /// Its standard uncertainty, GPa.
        u_gpa;
        /// Shares of the relative uncertainty of E, largest first.
        budget;
        /// Shear modulus in the plane of the bending, GPa: found from two modes or more, otherwise E times the wood's ratio.
        shear_gpa;
        /// Its standard uncertainty, GPa.
        u_shear_gpa;
        /// Shares of the relative uncertainty of G, largest first.
        shear_budget;
        /// Correlation of E and G, -1 to 1.
        correlation;
        /// True when G was found and not assumed.
        shear_found;
        /// Each reading over the model's frequency, less 1, percent.
        residual_percent;
        /// What the foam adds to each frequency, percent (taken off).
        foam_percent;
        /// E over what the wood's own figures say; outside 0.3 to 2.5 the words say so.
        over_wood;
        /// The answer in words.
        words;
    }
}

record! {
    /// E from a tap on the end of a stick. Made by LengthwiseTap.modulus.
    PyLengthwiseEstimate, "LengthwiseEstimate", LengthwiseEstimate {
        /// Dynamic E along the grain, GPa.
        modulus_gpa;
        /// Its standard uncertainty, GPa.
        u_gpa;
        /// Shares of the relative uncertainty, largest first.
        budget;
        /// What the sideways motion (Rayleigh) takes off the frequency, percent.
        sideways_percent;
    }
}

macro_rules! made_static {
    ($($twin:ident)*) => {$(
        #[pymethods]
        impl $twin {
            /// The modulus a dial would read, by a stated factor.
            fn static_modulus(&self, factor: &PyDynamicOverStatic) -> PyStaticModulus {
                PyStaticModulus(self.0.static_modulus(&factor.0))
            }
        }
    )*};
}

made_static! { PyStickEstimate PyLengthwiseEstimate }

pub const BENDINGS: [(&str, Bending); 2] = [("edge", Bending::Edge), ("flat", Bending::Flat)];

/// A stick (a Blank, or a Brace as it is carved) hung free and tapped: on "edge", in the direction of its height, by the
/// depth-resolved beam; or "flat", sideways, by a Timoshenko beam.
///
/// pickup: what is stuck on it, at most a fifth of its mass. foam: springs that hold it. ratio_spread is the relative standard
/// uncertainty of the ratio of G to E when one mode alone is read (0 to 1), model_spread that of each frequency for wood that is
/// not the same all along (0 to 0.1); both common practice, no source. Size, mass and their uncertainties are the blank's.
#[pyclass(frozen, eq, name = "StickTap", module = "bracewright")]
#[derive(Debug, Clone, PartialEq)]
pub struct PyStickTap(pub StickTap);

value!(PyStickTap, StickTap, "StickTap");

#[pymethods]
impl PyStickTap {
    #[new]
    #[pyo3(signature = (stick, bending="edge", *, pickup=None, foam=None, ratio_spread=0.2, model_spread=0.001))]
    fn new(
        stick: &Bound<'_, PyAny>,
        bending: &str,
        pickup: Option<PyRef<'_, PyPickup>>,
        foam: Option<Vec<PyRef<'_, PyFoam>>>,
        #[pyo3(from_py_with = need::ratio_spread)] ratio_spread: f64,
        #[pyo3(from_py_with = need::model_spread)] model_spread: f64,
    ) -> Result<Self> {
        let mut tap = StickTap::new(&standing("stick", stick)?, word("bending", bending, &BENDINGS)?)
            .with_spreads(ratio_spread, model_spread)?;
        if let Some(p) = pickup {
            tap = tap.with_pickup(p.0)?;
        }
        if let Some(f) = foam {
            tap = tap.with_foam(&f.iter().map(|f| f.0).collect::<Vec<_>>())?;
        }
        Ok(Self(tap))
    }

    /// The stick.
    #[getter]
    fn brace(&self) -> PyBrace {
        PyBrace(self.0.brace().clone())
    }

    /// "edge" or "flat".
    #[getter]
    fn bending(&self) -> &'static str {
        bending_word(self.0.bending())
    }

    /// E, and with two modes or more G, from tapped frequencies: one TapReading or a list. Dynamic moduli, with their budget.
    fn modulus(&self, py: Python<'_>, readings: &Bound<'_, PyAny>) -> Result<PyStickEstimate> {
        let readings = self::readings(readings)?;
        Ok(PyStickEstimate(py.detach(|| self.0.modulus(&readings))?))
    }

    /// The lowest frequencies to expect at the blank's belief of its modulus, pickup and foam counted, Hz; count 1 to 6.
    #[pyo3(signature = (count=3))]
    fn expected_hz(&self, py: Python<'_>, #[pyo3(from_py_with = need::count)] count: usize) -> Result<Vec<f64>> {
        Ok(py.detach(|| self.0.expected_hz(count))?)
    }

    /// Where the nodes of a mode lie, mm from the left end: hold there, tap between.
    #[pyo3(signature = (mode=1))]
    fn nodes_mm(&self, py: Python<'_>, #[pyo3(from_py_with = need::mode)] mode: usize) -> Result<Vec<f64>> {
        Ok(py.detach(|| self.0.nodes_mm(mode))?)
    }

    fn __repr__(&self) -> String {
        let b = self.0.brace();
        format!("StickTap({}, {:.1} mm long, bending {})", b.blank().wood().name(), b.length_mm(), self.bending())
    }

    fn _repr_html_(&self) -> String {
        html(&self.__repr__(), &[])
    }
}

/// The word of a way of bending.
fn bending_word(bending: Bending) -> &'static str {
    match bending {
        Bending::Edge => "edge",
        Bending::Flat => "flat",
    }
}

/// A stick (a Blank, or a Brace as it is carved) tapped on its end: stretching along its length, free of shear. end_mass_g is a
/// pickup on its right end, at most a fifth of its mass.
#[pyclass(frozen, eq, name = "LengthwiseTap", module = "bracewright")]
#[derive(Debug, Clone, PartialEq)]
pub struct PyLengthwiseTap(pub LengthwiseTap);

value!(PyLengthwiseTap, LengthwiseTap, "LengthwiseTap");

#[pymethods]
impl PyLengthwiseTap {
    #[new]
    #[pyo3(signature = (stick, *, end_mass_g=0.0, u_end_mass_g=0.0))]
    fn new(
        stick: &Bound<'_, PyAny>,
        #[pyo3(from_py_with = need::end_mass_g)] end_mass_g: f64,
        #[pyo3(from_py_with = need::u_end_mass_g)] u_end_mass_g: f64,
    ) -> Result<Self> {
        Ok(Self(LengthwiseTap::new(&standing("stick", stick)?).with_end_mass_g(end_mass_g, u_end_mass_g)?))
    }

    /// E from one tapped mode: a dynamic modulus with its budget.
    fn modulus(&self, reading: &PyTapReading) -> Result<PyLengthwiseEstimate> {
        Ok(PyLengthwiseEstimate(self.0.modulus(&reading.0)?))
    }

    /// The lowest frequencies to expect at the blank's belief of its modulus, Hz; count 1 to 6.
    #[pyo3(signature = (count=1))]
    fn expected_hz(&self, #[pyo3(from_py_with = need::count)] count: usize) -> Result<Vec<f64>> {
        Ok(self.0.expected_hz(count)?)
    }

    fn __repr__(&self) -> String {
        "LengthwiseTap of a stick".into()
    }

    fn _repr_html_(&self) -> String {
        let row = |text: String| Shown { name: "first", text, column: None };
        html("LengthwiseTap", &[row(self.0.expected_hz(1).map_or("?".into(), |f| format!("{:.0} Hz expected", f[0])))])
    }
}
