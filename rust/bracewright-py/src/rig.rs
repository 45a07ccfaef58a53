//! Twin of `rig`: rigs, and bars of known modulus. Readings are in `reading`.

use bracewright::belief::Gauge;
use bracewright::{Bar, Calibration, Error, Rig, SetUp};
use pyo3::prelude::*;
use pyo3::types::PyTuple;

use crate::argument::{may, need};
use crate::bend::{face_word, faces};
use crate::brace::PyBrace;
use crate::convert::{MM, NOT_GIVEN, by_name};
use crate::error::Result;
use crate::goal::PyGoal;
use crate::reading::{PyExpected, PyModulusEstimate, PyReading};
use crate::value::{Shown, getters, html, record, short, value};

record! {
    /// What a calibration with bars found.
    PyCalibration, "Calibration", Calibration {
        /// The rig with give and dial scale set.
        rig;
        /// Give of supports and frame, mm/N, and its standard uncertainty.
        give_mm_per_n;
        /// What the dial shows for a millimetre, and its standard uncertainty; (1, 0) unless bars of different stiffness
        /// were read.
        dial_scale;
        /// Largest residual, mm.
        worst_residual_mm;
        /// The same in words.
        words;
    }
}

record! {
    /// A straight bar of known modulus, to calibrate a rig with.
    PyBar, "Bar", Bar {
        /// Young's modulus, GPa.
        modulus_gpa;
        /// Poisson ratio.
        poisson;
        /// Width, mm.
        width_mm;
        /// Height, mm.
        height_mm;
        /// Relative standard uncertainty of its stiffness.
        u_stiffness;
    }
}

#[pymethods]
impl PyBar {
    #[new]
    #[pyo3(signature = (*rest, modulus_gpa=NOT_GIVEN, width_mm=NOT_GIVEN, height_mm=NOT_GIVEN, poisson=0.3, u_stiffness=0.01),
        text_signature = "(*, modulus_gpa, width_mm, height_mm, poisson=0.3, u_stiffness=0.01)")]
    fn new(
        rest: &Bound<'_, PyTuple>,
        #[pyo3(from_py_with = need::modulus_gpa)] modulus_gpa: f64,
        #[pyo3(from_py_with = need::width_mm)] width_mm: f64,
        #[pyo3(from_py_with = need::height_mm)] height_mm: f64,
        #[pyo3(from_py_with = need::poisson)] poisson: f64,
        #[pyo3(from_py_with = need::u_stiffness)] u_stiffness: f64,
    ) -> Result<Self> {
        let sizes = [("modulus_gpa", modulus_gpa), ("width_mm", width_mm), ("height_mm", height_mm)];
        by_name(rest, "Bar(modulus_gpa=206, width_mm=10, height_mm=8)", &sizes)?;
        Ok(Self(Bar::new(modulus_gpa, poisson, width_mm, height_mm, u_stiffness)?))
    }
}

/// How a brace is held, loaded and read: Rig.three_point, Rig.four_point or Rig.cantilever (also bw.ThreePoint, ...).
///
/// Load in N, lengths in mm. middle_mm is where the middle of the span (the clamp of a cantilever) stands on the brace;
/// the middle of the brace, or its left end, when left out. `dial` touches the "underside" or the "crest";
/// zero_in_place is False when the dial was zeroed on the empty rig. u_load is relative. The gauge: repeat_mm,
/// reseat_mm, resolution_mm and calibration_mm with readings_per_seat in each of `seats`, or simply u_deflection_mm.
#[pyclass(frozen, eq, name = "Rig", module = "bracewright")]
#[derive(Debug, Clone, PartialEq)]
pub struct PyRig(pub Rig);

value!(PyRig, Rig, "Rig");

getters! { PyRig {
    /// Load, N; both together on a four-point rig.
    load_n;
    /// Span, or reach of a cantilever, mm.
    span_mm;
    /// Length of the pads, mm.
    pad_mm;
    /// Give of supports and frame, mm/N, and its standard uncertainty.
    give_mm_per_n;
    /// What the dial shows for a millimetre, and its standard uncertainty.
    dial_scale;
    /// True once bars of known modulus have been read on it.
    is_calibrated;
}}

/// What every rig may be given beside its set-up.
struct Extra<'a> {
    name: Option<&'a str>,
    middle_mm: Option<f64>,
    pad_mm: f64,
    dial: &'a str,
    zero_in_place: bool,
    u_load: f64,
    u_span_mm: f64,
    give_mm_per_n: f64,
    u_give_mm_per_n: f64,
    u_deflection_mm: Option<f64>,
    gauge: Gauge,
}

impl Extra<'_> {
    fn on(self, rig: Rig) -> Result<PyRig> {
        let gauge = match self.u_deflection_mm {
            Some(u) => {
                Gauge { repeat_mm: 0.0, reseat_mm: 0.0, resolution_mm: 0.0, calibration_mm: u, readings_per_seat: 1, seats: 1 }
            }
            None => self.gauge,
        };
        let mut rig = rig
            .with_pad_mm(self.pad_mm)?
            .with_dial(faces("dial", self.dial)?)
            .with_zero_in_place(self.zero_in_place)
            .with_uncertainty(self.u_load, self.u_span_mm)?
            .with_give(self.give_mm_per_n, self.u_give_mm_per_n)?
            .with_gauge(gauge)?;
        if let Some(name) = self.name {
            rig = rig.named(name)?;
        }
        if let Some(middle) = self.middle_mm {
            rig = rig.with_middle_mm(middle)?;
        }
        Ok(PyRig(rig))
    }
}

macro_rules! rigs {
    ($($(#[$doc:meta])* $function:ident($($own:ident),*) $how:literal $signature:literal;)*) => {
        #[pymethods]
        impl PyRig {$(
            $(#[$doc])*
            #[staticmethod]
            #[pyo3(signature = (*rest, $($own=NOT_GIVEN,)* load_n=NOT_GIVEN, name=None, middle_mm=None, pad_mm=10.0, dial="underside", zero_in_place=true,
                u_load=0.0005, u_span_mm=0.25, give_mm_per_n=0.0, u_give_mm_per_n=0.0, u_deflection_mm=None, repeat_mm=0.006,
                reseat_mm=0.004, resolution_mm=0.01, calibration_mm=0.0, readings_per_seat=3, seats=1), text_signature = $signature)]
            fn $function(
                rest: &Bound<'_, PyTuple>,
                $(#[pyo3(from_py_with = need::$own)] $own: f64,)*
                #[pyo3(from_py_with = need::load_n)] load_n: f64,
                name: Option<&str>,
                #[pyo3(from_py_with = may::middle_mm)] middle_mm: Option<f64>,
                #[pyo3(from_py_with = need::pad_mm)] pad_mm: f64,
                dial: &str,
                zero_in_place: bool,
                #[pyo3(from_py_with = need::u_load)] u_load: f64,
                #[pyo3(from_py_with = need::u_span_mm)] u_span_mm: f64,
                #[pyo3(from_py_with = need::give_mm_per_n)] give_mm_per_n: f64,
                #[pyo3(from_py_with = need::u_give_mm_per_n)] u_give_mm_per_n: f64,
                #[pyo3(from_py_with = may::u_deflection_mm)] u_deflection_mm: Option<f64>,
                #[pyo3(from_py_with = need::repeat_mm)] repeat_mm: f64,
                #[pyo3(from_py_with = need::reseat_mm)] reseat_mm: f64,
                #[pyo3(from_py_with = need::resolution_mm)] resolution_mm: f64,
                #[pyo3(from_py_with = need::calibration_mm)] calibration_mm: f64,
                #[pyo3(from_py_with = need::readings_per_seat)] readings_per_seat: u32,
                #[pyo3(from_py_with = need::seats)] seats: u32,
            ) -> Result<Self> {
                by_name(rest, $how, &[$((stringify!($own), $own),)* ("load_n", load_n)])?;
                let gauge = Gauge { repeat_mm, reseat_mm, resolution_mm, calibration_mm, readings_per_seat, seats };
                let extra = Extra { name, middle_mm, pad_mm, dial, zero_in_place, u_load, u_span_mm, give_mm_per_n, u_give_mm_per_n,
                    u_deflection_mm, gauge };
                extra.on(Rig::$function($($own,)* load_n)?)
            }
        )*}
    };
}

rigs! {
    /// Two supports span_mm apart, one load midway, the dial midway.
    three_point(span_mm)
        "Rig.three_point(span_mm=380, load_n=\"2 kg\")"
        "(*, span_mm, load_n, name=None, middle_mm=None, pad_mm=10.0, dial=\"underside\", zero_in_place=True, u_load=0.0005, u_span_mm=0.25, give_mm_per_n=0.0, u_give_mm_per_n=0.0, u_deflection_mm=None, repeat_mm=0.006, reseat_mm=0.004, resolution_mm=0.01, calibration_mm=0.0, readings_per_seat=3, seats=1)";
    /// Two supports span_mm apart, two loads inner_mm apart about the middle; load_n is both together.
    four_point(span_mm, inner_mm)
        "Rig.four_point(span_mm=380, inner_mm=120, load_n=\"2 kg\")"
        "(*, span_mm, inner_mm, load_n, name=None, middle_mm=None, pad_mm=10.0, dial=\"underside\", zero_in_place=True, u_load=0.0005, u_span_mm=0.25, give_mm_per_n=0.0, u_give_mm_per_n=0.0, u_deflection_mm=None, repeat_mm=0.006, reseat_mm=0.004, resolution_mm=0.01, calibration_mm=0.0, readings_per_seat=3, seats=1)";
    /// Clamped at one place, loaded and read reach_mm further right.
    cantilever(reach_mm)
        "Rig.cantilever(reach_mm=200, load_n=\"0.5 kg\")"
        "(*, reach_mm, load_n, name=None, middle_mm=None, pad_mm=10.0, dial=\"underside\", zero_in_place=True, u_load=0.0005, u_span_mm=0.25, give_mm_per_n=0.0, u_give_mm_per_n=0.0, u_deflection_mm=None, repeat_mm=0.006, reseat_mm=0.004, resolution_mm=0.01, calibration_mm=0.0, readings_per_seat=3, seats=1)";
}

#[pymethods]
impl PyRig {
    /// Its name; readings of rigs of different names are not compared.
    #[getter]
    fn name(&self) -> &str {
        self.0.name()
    }

    /// "three-point", "four-point" or "cantilever".
    #[getter]
    fn set_up(&self) -> &'static str {
        match self.0.set_up() {
            SetUp::ThreePoint { .. } => "three-point",
            SetUp::FourPoint { .. } => "four-point",
            SetUp::Cantilever { .. } => "cantilever",
        }
    }

    /// The face the dial touches: "underside", "crest" or "mid".
    #[getter]
    fn dial(&self) -> &'static str {
        face_word(self.0.dial())
    }

    /// Standard uncertainty of one reading from dial and seat, mm.
    #[getter]
    fn u_deflection_mm(&self) -> Result<f64> {
        Ok(self.0.gauge().u_mm()?)
    }

    /// The same rig under another load, N.
    fn with_load_n(&self, #[pyo3(from_py_with = need::load_n)] load_n: f64) -> Result<Self> {
        Ok(Self(self.0.with_load_n(load_n)?))
    }

    /// The same rig with a give of supports and frame, mm/N, and its standard uncertainty.
    #[pyo3(signature = (give_mm_per_n, *, u_give_mm_per_n=0.0))]
    fn with_give(
        &self,
        #[pyo3(from_py_with = need::give_mm_per_n)] give_mm_per_n: f64,
        #[pyo3(from_py_with = need::u_give_mm_per_n)] u_give_mm_per_n: f64,
    ) -> Result<Self> {
        Ok(Self(self.0.with_give(give_mm_per_n, u_give_mm_per_n)?))
    }

    /// A reading, mm: one figure, repeats of one seat as a list, or a list of such lists, one a seat. A figure far off the
    /// rest of its seat is left out and kept in `left_out`. u_mm is a standard uncertainty of your own.
    #[pyo3(signature = (deflection_mm, *, u_mm=None))]
    pub fn reading(
        &self,
        deflection_mm: &Bound<'_, PyAny>,
        #[pyo3(from_py_with = may::u_mm)] u_mm: Option<f64>,
    ) -> Result<PyReading> {
        let reading = match MM.one("deflection_mm", deflection_mm) {
            Ok(one) => self.0.reading(one)?,
            Err(_) => self.0.readings(&seats(deflection_mm)?)?,
        };
        Ok(PyReading(match u_mm {
            Some(u) => reading.with_u_mm(u)?,
            None => reading,
        }))
    }

    /// What the dial should show for a brace, with its uncertainty and budget.
    fn expected(&self, py: Python<'_>, brace: &PyBrace) -> Result<PyExpected> {
        Ok(PyExpected(py.detach(|| self.0.expected(&brace.0))?))
    }

    /// Deflection per newton of the brace alone, mm/N, by the depth-resolved beam, and its discretisation error.
    fn compliance_mm_per_n(&self, py: Python<'_>, brace: &PyBrace) -> Result<(f64, f64)> {
        Ok(py.detach(|| self.0.compliance_mm_per_n(&brace.0))?)
    }

    /// The same by the section beam, mm/N.
    fn section_compliance_mm_per_n(&self, py: Python<'_>, brace: &PyBrace) -> Result<f64> {
        Ok(py.detach(|| self.0.section_compliance_mm_per_n(&brace.0))?)
    }

    /// The modulus that explains a reading of a brace on this rig, with its uncertainty.
    fn modulus(&self, py: Python<'_>, brace: &PyBrace, reading: &PyReading) -> Result<PyModulusEstimate> {
        Ok(PyModulusEstimate(py.detach(|| self.0.modulus(&brace.0, &reading.0))?))
    }

    /// Calibrates from readings of bars: a list of (Bar, load_n, deflection_mm). With two bars whose stiffness differs by
    /// half or more, the scale of the dial is found as well as the give.
    fn calibrated(&self, readings: Vec<(PyRef<'_, PyBar>, f64, f64)>) -> Result<PyCalibration> {
        let readings: Vec<_> = readings.iter().map(|(bar, load, d)| (bar.0, *load, *d)).collect();
        Ok(PyCalibration(self.0.calibrated(&readings)?))
    }

    /// A goal: the reading between two values, mm; the middle is aimed at.
    fn between(
        &self,
        #[pyo3(from_py_with = need::low_mm)] low_mm: f64,
        #[pyo3(from_py_with = need::high_mm)] high_mm: f64,
    ) -> Result<PyGoal> {
        Ok(PyGoal(self.0.between(low_mm, high_mm)?))
    }

    /// A goal: the reading at a value, mm.
    fn exactly(&self, #[pyo3(from_py_with = need::deflection_mm)] deflection_mm: f64) -> Result<PyGoal> {
        Ok(PyGoal(self.0.exactly(deflection_mm)?))
    }

    fn __repr__(&self) -> String {
        format!(
            "Rig({:?}, {} over {} mm, {} N, dial on the {}, u {} mm{})",
            self.0.name(),
            self.set_up(),
            short(self.0.span_mm()),
            short(self.0.load_n()),
            self.dial(),
            self.0.gauge().u_mm().map_or("?".into(), |u| format!("{u:.4}")),
            if self.0.is_calibrated() { ", calibrated" } else { "" }
        )
    }

    fn _repr_html_(&self) -> String {
        let row = |name, text| Shown { name, text, column: None };
        let (give, u_give) = self.0.give_mm_per_n();
        html(
            &format!("Rig {}", self.0.name()),
            &[
                row("set_up", self.set_up().into()),
                row("span_mm", short(self.0.span_mm())),
                row("load_n", short(self.0.load_n())),
                row("dial", self.dial().into()),
                row("give_mm_per_n", format!("{} \u{b1} {}", short(give), short(u_give))),
                row("u_deflection_mm", self.0.gauge().u_mm().map_or("?".into(), |u| format!("{u:.4}"))),
            ],
        )
    }
}

/// Seats from one list of repeats, or a list of lists.
fn seats(given: &Bound<'_, PyAny>) -> Result<Vec<Vec<f64>>> {
    if let Ok(one) = MM.list("deflection_mm", given) {
        return Ok(vec![one]);
    }
    let bad = || Error::BadList {
        name: "deflection_mm".into(),
        problem: "is no reading; give a number in mm, a list of repeats, or a list of such lists, one a seat".into(),
    };
    given.try_iter().map_err(|_| bad())?.map(|seat| MM.list("deflection_mm", &seat?).map_err(|_| bad().into())).collect()
}
