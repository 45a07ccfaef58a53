//! Twin of `tap`: a bare top, free on all sides.

use bracewright::picture;
use bracewright::tap::{
    BarePlate, Label, LabelGuess, LabelledMode, PlateEstimate, PlateModeHz, PlateModulus, PlateReading, PlateTapAdvice,
    PlateUncertainty,
};
use pyo3::exceptions::PyTypeError;
use pyo3::prelude::*;
use pyo3::types::PyTuple;

use crate::argument::need;
use crate::convert::{HZ, MM, NOT_GIVEN, by_name, type_name};
use crate::error::{Result, invalid};
use crate::tap::heard;
use crate::value::{Shown, ToPython, html, record, short, value};
use crate::wood::PyWood;

impl ToPython for Label {
    fn to_python<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        self.to_string().to_python(py)
    }
    fn shown(&self) -> String {
        self.to_string().shown()
    }
}

impl ToPython for Vec<Label> {
    fn to_python<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        self.iter().map(ToString::to_string).collect::<Vec<_>>().to_python(py)
    }
    fn shown(&self) -> String {
        self.iter().map(ToString::to_string).collect::<Vec<_>>().shown()
    }
}

record! {
    /// A tapped mode of a plate: its label, nodal lines across the length and then along it ("1,1" the twist, "2,0" the first
    /// bending of the length, "0,2" of the width), its frequency and standard uncertainty.
    PyPlateReading, "PlateReading", PlateReading {
        /// Nodal lines: across the length, then along it.
        label;
        /// Frequency, Hz.
        frequency_hz;
        /// Standard uncertainty, Hz.
        u_hz;
    }
}

#[pymethods]
impl PyPlateReading {
    #[new]
    #[pyo3(signature = (label, frequency_hz, *, u_hz))]
    fn new(
        label: &str,
        #[pyo3(from_py_with = need::frequency_hz)] frequency_hz: f64,
        #[pyo3(from_py_with = need::u_hz)] u_hz: f64,
    ) -> Result<Self> {
        Ok(Self(PlateReading::new(label, frequency_hz, u_hz)?))
    }

    /// From a mode of a recording (a Mode of one tap, or a CombinedMode of several), with the uncertainty it carries. That
    /// covers noise and repeats; another grip is not in it.
    #[staticmethod]
    fn from_mode(label: &str, heard: &Bound<'_, PyAny>) -> Result<Self> {
        let (hz, u) = self::heard("heard", heard)?.frequency_hz;
        Ok(Self(PlateReading::new(label, hz, u)?))
    }
}

record! {
    /// A mode of the model of a plate.
    PyPlateModeHz, "PlateModeHz", PlateModeHz {
        /// Its nodal lines: across the length, then along it.
        label;
        /// Frequency, Hz.
        frequency_hz;
        /// Share of its shape that the label accounts for, 0 to 1; below 0.7 it is a mixture of two.
        share;
    }
}

record! {
    /// One modulus of a plate.
    PyPlateModulus, "PlateModulus", PlateModulus {
        /// Modulus, GPa.
        modulus_gpa;
        /// Its standard uncertainty, GPa.
        u_gpa;
        /// Shares of the relative uncertainty, largest first.
        budget;
    }
}

record! {
    /// What the taps say of a plate: dynamic moduli. Made by BarePlate.moduli.
    PyPlateEstimate, "PlateEstimate", PlateEstimate {
        /// E along the grain.
        e_l;
        /// E across, radial in a quarter-sawn plate.
        e_r;
        /// In-plane shear modulus.
        g_lr;
        /// Correlations of E_L with E_R, E_L with G_LR, E_R with G_LR.
        correlation;
        /// The model's modes for the readings, in their order.
        modes;
        /// Each reading over the model's frequency, less 1, percent.
        residual_percent;
        /// True when the search came to rest.
        converged;
        /// What was assumed and what to know of the answer, as sentences.
        words;
    }
}

#[pymethods]
impl PyPlateEstimate {
    /// The wood of a plate with the moduli found, its other figures kept.
    fn wood(&self, plate: &PyBarePlate) -> Result<PyWood> {
        Ok(PyWood(self.0.wood(&plate.0)?))
    }
}

record! {
    /// How to bring out one mode of a plate: where to hold, tap and listen. Places are (x, y) in mm from a corner, along the
    /// grain first. Made by BarePlate.how_to_tap.
    PyPlateTapAdvice, "PlateTapAdvice", PlateTapAdvice {
        /// The mode.
        label;
        /// Where to expect it at the wood's own figures, Hz.
        frequency_hz;
        /// Where its nodal lines cross the middle of the length and the middle of the width.
        node_mm;
        /// The nodal lines themselves, each as points.
        nodal_lines_mm;
        /// The edge of the plate, back to where it began.
        outline_mm;
        /// Two places to hold, on nodal lines, that quiet the other modes most.
        hold_mm;
        /// Where to tap.
        tap_mm;
        /// Where to listen or put the microphone.
        listen_mm;
        /// All of it in words.
        words;
    }
}

#[pymethods]
impl PyPlateTapAdvice {
    /// The plate from above with the nodal lines and the places, as SVG.
    fn svg(&self) -> Result<String> {
        Ok(picture::plate_mode_svg(&self.0)?)
    }

    /// Draws it on matplotlib axes (new ones when left out) and returns them.
    #[pyo3(signature = (ax=None))]
    fn plot<'py>(slf: &Bound<'py, Self>, ax: Option<&Bound<'py, PyAny>>) -> PyResult<Bound<'py, PyAny>> {
        slf.py().import("bracewright.plots")?.call_method1("plot_plate_mode", (slf, ax))
    }
}

record! {
    /// A frequency and the mode it is taken for.
    PyLabelledMode, "LabelledMode", LabelledMode {
        /// Nodal lines: across the length, then along it.
        label;
        /// Frequency as given, Hz.
        frequency_hz;
    }
}

record! {
    /// The likeliest labels of tapped frequencies, and how sure they are. Made by BarePlate.suggest_labels.
    PyLabelGuess, "LabelGuess", LabelGuess {
        /// In the order the frequencies were given.
        modes;
        /// Chance that all of them are right, given the spread of the wood's published figures, 0 to 1.
        probability;
        /// The next likeliest labels, in the same order; empty when there are none.
        next;
        /// Their chance.
        next_probability;
        /// What to make of it, in words.
        words;
    }
}

/// A bare, quarter-sawn top, free on all sides: the grain along its length (x), the rings across it (y), rectangular and of one
/// thickness unless with_sides and with_thickness_map say otherwise. Length and width 50 to 2000 mm, thickness 0.5 to 20 mm.
///
/// E_L, E_R and G_LR of `wood` start the search and set what to expect; nu_LR, G_LT and G_RT are taken from its ratios.
/// grain_angle_deg turns the grain from the length, -45 to 45. The u_... are standard uncertainties of the measuring;
/// shear_spread and poisson_spread those of the ratios taken, model_spread that of each frequency for wood that is not the same
/// all over, relative (common practice, no source).
#[pyclass(frozen, eq, name = "BarePlate", module = "bracewright")]
#[derive(Debug, Clone, PartialEq)]
pub struct PyBarePlate(pub BarePlate);

value!(PyBarePlate, BarePlate, "BarePlate");

#[pymethods]
impl PyBarePlate {
    #[new]
    #[pyo3(signature = (wood, *rest, length_mm=NOT_GIVEN, width_mm=NOT_GIVEN, thickness_mm=NOT_GIVEN, mass_g=NOT_GIVEN,
        grain_angle_deg=0.0, u_length_mm=0.5, u_width_mm=0.5, u_thickness_mm=0.02, u_mass_g=0.1, u_grain_angle_deg=1.0,
        shear_spread=0.2, poisson_spread=0.2, model_spread=0.002),
        text_signature = "(wood, *, length_mm, width_mm, thickness_mm, mass_g, grain_angle_deg=0.0, u_length_mm=0.5, u_width_mm=0.5, u_thickness_mm=0.02, u_mass_g=0.1, u_grain_angle_deg=1.0, shear_spread=0.2, poisson_spread=0.2, model_spread=0.002)")]
    fn new(
        wood: &PyWood,
        rest: &Bound<'_, PyTuple>,
        #[pyo3(from_py_with = need::length_mm)] length_mm: f64,
        #[pyo3(from_py_with = need::width_mm)] width_mm: f64,
        #[pyo3(from_py_with = need::thickness_mm)] thickness_mm: f64,
        #[pyo3(from_py_with = need::mass_g)] mass_g: f64,
        #[pyo3(from_py_with = need::grain_angle_deg)] grain_angle_deg: f64,
        #[pyo3(from_py_with = need::u_length_mm)] u_length_mm: f64,
        #[pyo3(from_py_with = need::u_width_mm)] u_width_mm: f64,
        #[pyo3(from_py_with = need::u_thickness_mm)] u_thickness_mm: f64,
        #[pyo3(from_py_with = need::u_mass_g)] u_mass_g: f64,
        #[pyo3(from_py_with = need::u_grain_angle_deg)] u_grain_angle_deg: f64,
        #[pyo3(from_py_with = need::shear_spread)] shear_spread: f64,
        #[pyo3(from_py_with = need::poisson_spread)] poisson_spread: f64,
        #[pyo3(from_py_with = need::model_spread)] model_spread: f64,
    ) -> Result<Self> {
        let u = PlateUncertainty {
            length_mm: u_length_mm,
            width_mm: u_width_mm,
            thickness_mm: u_thickness_mm,
            mass_g: u_mass_g,
            grain_angle_deg: u_grain_angle_deg,
            shear_spread,
            poisson_spread,
            model_spread,
        };
        let sizes = [("length_mm", length_mm), ("width_mm", width_mm), ("thickness_mm", thickness_mm), ("mass_g", mass_g)];
        by_name(rest, "BarePlate(wood, length_mm=520, width_mm=400, thickness_mm=3.2, mass_g=272)", &sizes)?;
        let plate = BarePlate::new(&wood.0, length_mm, width_mm, thickness_mm, mass_g)?;
        Ok(Self(plate.with_grain_angle_deg(grain_angle_deg)?.with_uncertainty(u)?))
    }

    /// With a thickness map, mm: lines x_mm across the length, lines y_mm along it, and a row of thicknesses for each line
    /// across; bilinear between the lines, level beyond them.
    fn with_thickness_map(
        &self,
        x_mm: &Bound<'_, PyAny>,
        y_mm: &Bound<'_, PyAny>,
        thickness_mm: &Bound<'_, PyAny>,
    ) -> Result<Self> {
        let (x, y) = (MM.list("x_mm", x_mm)?, MM.list("y_mm", y_mm)?);
        let (flat, wide) = MM.rows("thickness_mm", thickness_mm)?;
        if wide == 0 {
            return Err(invalid("thickness_mm is empty; give a row of numbers in mm for each line of x_mm".into()).into());
        }
        let rows: Vec<Vec<f64>> = flat.chunks(wide).map(<[f64]>::to_vec).collect();
        Ok(Self(self.0.with_thickness_map(&x, &y, &rows)?))
    }

    /// With sides that are not parallel, mm: y of the lower and the upper side at stations from one end to the other, straight
    /// between them. Length and width become those of the sides.
    fn with_sides(&self, x_mm: &Bound<'_, PyAny>, low_mm: &Bound<'_, PyAny>, high_mm: &Bound<'_, PyAny>) -> Result<Self> {
        let [x, low, high] = [MM.list("x_mm", x_mm)?, MM.list("low_mm", low_mm)?, MM.list("high_mm", high_mm)?];
        Ok(Self(self.0.with_sides(&x, &low, &high)?))
    }

    /// Without transverse shear and rotary inertia (the classical thin plate), to compare with tables.
    fn as_thin(&self) -> Self {
        Self(self.0.as_thin())
    }

    /// The wood whose moduli start the search and whose ratios are taken.
    #[getter]
    fn wood(&self) -> PyWood {
        PyWood(self.0.wood().clone())
    }

    /// Density from mass and size, kg/m3.
    #[getter]
    fn density_kg_m3(&self) -> Result<f64> {
        Ok(self.0.density_kg_m3()?)
    }

    /// The lowest modes at the wood's own figures; count 1 to 12.
    #[pyo3(signature = (count=6))]
    fn modes(&self, py: Python<'_>, #[pyo3(from_py_with = need::count)] count: usize) -> Result<Vec<PyPlateModeHz>> {
        Ok(py.detach(|| self.0.modes(count))?.into_iter().map(PyPlateModeHz).collect())
    }

    /// The modes worth tapping for E_L, E_R and G_LR, and how to get each: the twist, the first bending across and along.
    fn modes_to_tap(&self, py: Python<'_>) -> Result<Vec<PyPlateTapAdvice>> {
        Ok(py.detach(|| self.0.modes_to_tap())?.into_iter().map(PyPlateTapAdvice).collect())
    }

    /// How to bring out the mode of a label such as "2,0".
    fn how_to_tap(&self, py: Python<'_>, label: &str) -> Result<PyPlateTapAdvice> {
        Ok(PyPlateTapAdvice(py.detach(|| self.0.how_to_tap(label))?))
    }

    /// Which mode each of 2 to 6 tapped frequencies is, Hz, and how sure that is.
    fn suggest_labels(&self, py: Python<'_>, frequency_hz: &Bound<'_, PyAny>) -> Result<PyLabelGuess> {
        let hz = HZ.list("frequency_hz", frequency_hz)?;
        Ok(PyLabelGuess(py.detach(|| self.0.suggest_labels(&hz))?))
    }

    /// E_L, E_R and G_LR from a list of three to nine PlateReading, with their budget. Dynamic moduli.
    fn moduli(&self, py: Python<'_>, readings: &Bound<'_, PyAny>) -> Result<PyPlateEstimate> {
        let bad = |one: &Bound<'_, PyAny>| {
            PyTypeError::new_err(format!("readings: it must be a list of PlateReading, not {}", type_name(one)))
        };
        let readings = readings
            .try_iter()
            .map_err(|_| bad(readings))?
            .map(|one| {
                let one = one?;
                let reading = one.cast::<PyPlateReading>().map_err(|_| bad(&one))?.get().0;
                Ok(reading)
            })
            .collect::<PyResult<Vec<_>>>()?;
        Ok(PyPlateEstimate(py.detach(|| self.0.moduli(&readings))?))
    }

    fn __repr__(&self) -> String {
        let density = self.0.density_kg_m3().map_or("?".into(), short);
        format!("BarePlate({}, density {density} kg/m3)", self.0.wood().name())
    }

    fn _repr_html_(&self) -> String {
        let row = |name, text| Shown { name, text, column: None };
        let density = self.0.density_kg_m3().map_or("?".into(), short);
        html("BarePlate", &[row("wood", self.0.wood().name().into()), row("density_kg_m3", density)])
    }
}
