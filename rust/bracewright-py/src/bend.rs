//! Twin of `brace`: loads, supports, and the answers of the beams.

use bracewright::error::{finite, not_negative, positive};
use bracewright::mechanics::resolved::Face;
use bracewright::{Bend, Error, Frequencies, Load, Support, Working};
use pyo3::exceptions::PyTypeError;
use pyo3::prelude::*;
use pyo3::types::PyTuple;

use crate::argument::need;
use crate::convert::{MM, N, word};
use crate::error::Result;
use crate::value::{Shown, frame, html, record, short, value};

/// Words for the faces a dial touches.
pub fn faces(what: &str, given: &str) -> Result<Face> {
    word(what, given, &[("underside", Face::Glue), ("crest", Face::Crest), ("mid", Face::Body)])
}

/// The word for a face a dial touches.
pub fn face_word(face: Face) -> &'static str {
    match face {
        Face::Glue => "underside",
        Face::Crest => "crest",
        Face::Body => "mid",
    }
}

/// A downward force on a brace, spread over a pad pad_mm long about x_mm: on its "crest", on its "glue face", or through
/// its "body", so that no dent under the pad is part of the answer.
#[pyclass(frozen, eq, name = "Load", module = "bracewright")]
#[derive(Debug, Clone, PartialEq)]
pub struct PyLoad(pub Load);

value!(PyLoad, Load, "Load");

#[pymethods]
impl PyLoad {
    #[new]
    #[pyo3(signature = (x_mm, force_n, *, pad_mm=10.0, on="body"))]
    fn new(
        #[pyo3(from_py_with = need::x_mm)] x_mm: f64,
        #[pyo3(from_py_with = need::force_n)] force_n: f64,
        #[pyo3(from_py_with = need::pad_mm)] pad_mm: f64,
        on: &str,
    ) -> Result<Self> {
        finite("x_mm", x_mm, "mm")?;
        finite("force_n", force_n, "N")?;
        positive("pad_mm", pad_mm, "mm")?;
        let face = word("on", on, &[("body", Face::Body), ("crest", Face::Crest), ("glue face", Face::Glue)])?;
        Ok(Self(Load { x_mm, force_n, pad_mm, face }))
    }

    /// Middle of the pad, mm from the left end.
    #[getter]
    fn x_mm(&self) -> f64 {
        self.0.x_mm
    }

    /// Force, N, downward.
    #[getter]
    fn force_n(&self) -> f64 {
        self.0.force_n
    }

    /// Length of the pad along the brace, mm.
    #[getter]
    fn pad_mm(&self) -> f64 {
        self.0.pad_mm
    }

    /// "body", "crest" or "glue face".
    #[getter]
    fn on(&self) -> &'static str {
        match self.0.face {
            Face::Body => "body",
            Face::Crest => "crest",
            Face::Glue => "glue face",
        }
    }

    fn __repr__(&self) -> String {
        format!(
            "Load({} N at {} mm on the {}, pad {} mm)",
            short(self.0.force_n),
            short(self.0.x_mm),
            self.on(),
            short(self.0.pad_mm)
        )
    }

    fn _repr_html_(&self) -> String {
        let row = |name, v| Shown { name, text: short(v), column: None };
        html("Load", &[row("x_mm", self.0.x_mm), row("force_n", self.0.force_n), row("pad_mm", self.0.pad_mm)])
    }
}

/// What holds a brace: Support.pad(...), Support.held(...) or Support.clamped(...).
#[pyclass(frozen, eq, name = "Support", module = "bracewright")]
#[derive(Debug, Clone, PartialEq)]
pub struct PySupport(pub Support);

value!(PySupport, Support, "Support");

#[pymethods]
impl PySupport {
    /// A pad under the glue face, pad_mm long about x_mm, that gives by give_mm_per_n.
    #[staticmethod]
    #[pyo3(signature = (x_mm, *, pad_mm=10.0, give_mm_per_n=0.0))]
    fn pad(
        #[pyo3(from_py_with = need::x_mm)] x_mm: f64,
        #[pyo3(from_py_with = need::pad_mm)] pad_mm: f64,
        #[pyo3(from_py_with = need::give_mm_per_n)] give_mm_per_n: f64,
    ) -> Result<Self> {
        finite("x_mm", x_mm, "mm")?;
        positive("pad_mm", pad_mm, "mm")?;
        not_negative("give_mm_per_n", give_mm_per_n, "mm/N")?;
        Ok(Self(Support::Pad { x_mm, pad_mm, give_mm_per_n }))
    }

    /// The whole section at x_mm is kept from moving up or down.
    #[staticmethod]
    fn held(#[pyo3(from_py_with = need::x_mm)] x_mm: f64) -> Result<Self> {
        Ok(Self(Support::Held { x_mm: finite("x_mm", x_mm, "mm")? }))
    }

    /// The whole section at x_mm is kept from moving or turning.
    #[staticmethod]
    fn clamped(#[pyo3(from_py_with = need::x_mm)] x_mm: f64) -> Result<Self> {
        Ok(Self(Support::Clamped { x_mm: finite("x_mm", x_mm, "mm")? }))
    }

    /// "pad", "held" or "clamped".
    #[getter]
    fn kind(&self) -> &'static str {
        match self.0 {
            Support::Pad { .. } => "pad",
            Support::Held { .. } => "held",
            Support::Clamped { .. } => "clamped",
        }
    }

    /// Where, mm from the left end.
    #[getter]
    fn x_mm(&self) -> f64 {
        match self.0 {
            Support::Pad { x_mm, .. } | Support::Held { x_mm } | Support::Clamped { x_mm } => x_mm,
        }
    }

    fn __repr__(&self) -> String {
        let more = match self.0 {
            Support::Pad { pad_mm, give_mm_per_n, .. } => {
                format!(", pad {} mm, give {} mm/N", short(pad_mm), short(give_mm_per_n))
            }
            _ => String::new(),
        };
        format!("Support({} at {} mm{more})", self.kind(), short(self.x_mm()))
    }

    fn _repr_html_(&self) -> String {
        html(&self.__repr__(), &[])
    }
}

/// Loads from Load(...) and pairs (x_mm, force_n).
pub fn loads(given: &Bound<'_, PyAny>) -> Result<Vec<Load>> {
    let one = |v: &Bound<'_, PyAny>| -> Result<Load> {
        if let Ok(load) = v.cast::<PyLoad>() {
            return Ok(load.get().0);
        }
        match v.cast::<PyTuple>() {
            Ok(pair) if pair.len() == 2 => {
                let (x_mm, force_n) =
                    (MM.one("x_mm of loads", &pair.get_item(0)?)?, N.one("force_n of loads", &pair.get_item(1)?)?);
                Ok(Load { x_mm, force_n, pad_mm: 10.0, face: Face::Body })
            }
            _ => Err(PyTypeError::new_err("loads must be a list of Load(...) or of pairs (x_mm, force_n)").into()),
        }
    };
    each(given, "loads must be a list of Load(...) or of pairs (x_mm, force_n)", one)
}

/// Supports from Support and places in mm.
pub fn supports(given: &Bound<'_, PyAny>) -> Result<Vec<Support>> {
    let one = |v: &Bound<'_, PyAny>| -> Result<Support> {
        match v.cast::<PySupport>() {
            Ok(support) => Ok(support.get().0),
            Err(_) => Ok(Support::Pad { x_mm: MM.one("supports", v)?, pad_mm: 10.0, give_mm_per_n: 0.0 }),
        }
    };
    each(given, "supports must be a list of Support.pad/held/clamped(...) or of places in mm", one)
}

fn each<T>(given: &Bound<'_, PyAny>, words: &'static str, one: impl Fn(&Bound<'_, PyAny>) -> Result<T>) -> Result<Vec<T>> {
    if let Ok(single) = one(given) {
        return Ok(vec![single]);
    }
    let Ok(items) = given.try_iter() else { return Err(Error::Refused(words.into()).into()) };
    items.map(|v| one(&v?)).collect()
}

record! {
    /// The answer of both beams to a set of loads.
    PyBend, "Bend", Bend {
        /// Where it is read, mm.
        x_mm;
        /// Deflection by the depth-resolved beam, mm, downward: the one to act on.
        deflection_mm;
        /// Its discretisation error, mm: the last step of refinement.
        discretisation_mm;
        /// Deflection by the section beam, mm, to compare.
        section_deflection_mm;
        /// Moment, N m, sagging positive, at each place.
        moment_n_m;
        /// Upward force of each pad, N.
        reaction_n;
    }
}

#[pymethods]
impl PyBend {
    /// The columns along the brace as a pandas table; needs pandas. The reactions, one a support, are not in it.
    fn to_pandas<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        let columns = self.to_dict(py)?;
        columns.del_item("reaction_n")?;
        crate::value::pandas(py, &columns)
    }
}

record! {
    /// Frequencies of both beams.
    PyFrequencies, "Frequencies", Frequencies {
        /// By the depth-resolved beam, Hz: the ones to act on.
        frequency_hz;
        /// Their discretisation error, Hz.
        discretisation_hz;
        /// By the section beam, Hz, to compare.
        section_frequency_hz;
    }
}
frame!(PyFrequencies);

record! {
    /// EI as drawn and as it works, along the brace.
    PyWorking, "Working", Working {
        /// Stations, mm from the left end.
        x_mm;
        /// EI of the drawing, N m2.
        drawn_n_m2;
        /// EI that works, N m2.
        working_n_m2;
        /// Working over drawn.
        ratio;
        /// The last step of refinement, relative, at its largest.
        discretisation;
    }
}
frame!(PyWorking);

#[pymethods]
impl PyWorking {
    /// EI as drawn and as it works, as SVG for a sheet 190 mm wide.
    fn svg(&self) -> Result<String> {
        Ok(bracewright::picture::stiffness_svg(&self.0)?)
    }
}
