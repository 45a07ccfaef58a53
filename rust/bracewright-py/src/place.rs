//! Twin of `layout`: braces, flat pieces, laps and the bridge in their places.

use bracewright::layout::{
    Crossing, Ending, LapAt, PartRole, PlacedBrace, PlacedBridge, PlatePart, Role, USUAL_PIN_MM, USUAL_TIE_MM,
};
use bracewright::strings::BridgeKind;
use pyo3::prelude::*;

use crate::argument::{may, need};
use crate::brace::PyBrace;
use crate::bridge::PyBridge;
use crate::error::Result;
use crate::outline::{point, points};
use crate::value::{ToPython, getters, html, record, value};
use crate::wood::PyWood;

macro_rules! by_name {
    ($($kind:ty;)*) => {$(
        impl ToPython for $kind {
            fn to_python<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
                self.name().to_string().to_python(py)
            }
            fn shown(&self) -> String {
                self.name().into()
            }
        }
    )*};
}

by_name! { Role; PartRole; bracewright::layout::RowState; }

/// How a brace ends: Ending.tucked(...), feathered(...), short(...), let_in(...) or butted(...).
#[pyclass(frozen, eq, name = "Ending", module = "bracewright")]
#[derive(Debug, Clone, PartialEq)]
pub struct PyEnding(pub Ending);

value!(PyEnding, Ending, "Ending");

#[pymethods]
impl PyEnding {
    /// In a pocket of the lining, pocket_mm deep.
    #[staticmethod]
    #[pyo3(signature = (*, pocket_mm=2.5))]
    fn tucked(#[pyo3(from_py_with = need::pocket_mm)] pocket_mm: f64) -> Result<Self> {
        Ok(Self(Ending::Tucked { pocket_mm }.checked()?))
    }

    /// Run out to nothing gap_mm inside the lining.
    #[staticmethod]
    #[pyo3(signature = (*, gap_mm=1.0))]
    fn feathered(#[pyo3(from_py_with = need::gap_mm)] gap_mm: f64) -> Result<Self> {
        Ok(Self(Ending::Feathered { gap_mm }.checked()?))
    }

    /// Short of the lining, in the open; by_mm along its line, where a pattern makes the line from it.
    #[staticmethod]
    #[pyo3(signature = (*, by_mm=0.0))]
    fn short(#[pyo3(from_py_with = need::by_mm)] by_mm: f64) -> Result<Self> {
        Ok(Self(Ending::Short { by_mm }.checked()?))
    }

    /// Let into a notch of the brace of that name, depth_mm past its side.
    #[staticmethod]
    #[pyo3(signature = (into, *, depth_mm=2.0))]
    fn let_in(into: String, #[pyo3(from_py_with = need::depth_mm)] depth_mm: f64) -> Result<Self> {
        Ok(Self(Ending::LetIn { into, depth_mm }.checked()?))
    }

    /// Cut to the side of the brace of that name and glued to it.
    #[staticmethod]
    fn butted(to: String) -> Self {
        Self(Ending::Butted { to })
    }

    fn __str__(&self) -> String {
        self.0.words()
    }

    fn __repr__(&self) -> String {
        format!("Ending({})", self.0.words().replace('\n', " "))
    }

    fn _repr_html_(&self) -> String {
        html(&self.__repr__(), &[])
    }
}

record! {
    /// A brace in its place: the middle of its glue face runs straight from start_mm to end_mm, x along the brace with it.
    PyPlacedBrace, "PlacedBrace", PlacedBrace {
        /// What it is called.
        name;
        /// What it is there for: "leg", "tone-bar", "finger", "transverse", "fan", "closing-bar" or "other".
        role;
        /// Where the middle of its glue face starts: x and y, mm.
        start_mm;
        /// Where it ends.
        end_mm;
        /// How it ends at the start.
        at_start;
        /// How it ends at the end.
        at_end;
        /// Where along the brace the line starts, mm.
        offset_mm;
        /// The brace.
        brace;
    }
}

getters! { PyPlacedBrace {
    /// Width at the glue face, mm.
    width_mm;
    /// Length of the line, mm.
    length_mm;
    /// Angle of the line from the centreline, degrees: 0 towards the tail, 90 towards +x.
    angle_deg;
}}

#[pymethods]
impl PyPlacedBrace {
    /// The brace must be as long as its line, or longer by what is cut off: offset_mm of its left end, the rest of its right end.
    /// Braces are as long as Outline.chord says.
    #[new]
    #[pyo3(signature = (name, brace, *, start_mm, end_mm, role="other", at_start=None, at_end=None, offset_mm=0.0))]
    fn new(
        name: String,
        brace: &PyBrace,
        start_mm: &Bound<'_, PyAny>,
        end_mm: &Bound<'_, PyAny>,
        role: &str,
        at_start: Option<&PyEnding>,
        at_end: Option<&PyEnding>,
        #[pyo3(from_py_with = need::offset_mm)] offset_mm: f64,
    ) -> Result<Self> {
        let ending = |e: Option<&PyEnding>| e.map_or(Ending::Short { by_mm: 0.0 }, |e| e.0.clone());
        let placed = PlacedBrace {
            name,
            role: Role::named(role)?,
            start_mm: point("start_mm", start_mm)?,
            end_mm: point("end_mm", end_mm)?,
            at_start: ending(at_start),
            at_end: ending(at_end),
            offset_mm,
            brace: brace.0.clone(),
        };
        Ok(Self(placed.checked()?))
    }

    /// The four corners of its glue face, mm.
    #[getter]
    fn corners_mm(&self) -> Vec<(f64, f64)> {
        self.0.corners_mm().to_vec()
    }
}

record! {
    /// A half-lap: which of two braces is cut from its crest, and which from its glue face.
    PyLapAt, "LapAt", LapAt {
        /// The brace cut from its crest.
        crest_cut;
        /// The brace cut from its glue face.
        glue_cut;
        /// Thickness of a wooden cap over the crest-cut brace, mm; 0 for none.
        cap_mm;
    }
}

#[pymethods]
impl PyLapAt {
    #[new]
    #[pyo3(signature = (*, crest_cut, glue_cut, cap_mm=0.0))]
    fn new(crest_cut: String, glue_cut: String, #[pyo3(from_py_with = need::cap_mm)] cap_mm: f64) -> Result<Self> {
        Ok(Self(LapAt { crest_cut, glue_cut, cap_mm }.checked()?))
    }
}

record! {
    /// Where two braces of a layout cross.
    PyCrossing, "Crossing", Crossing {
        /// Place of one brace in the layout's list, from 0.
        first;
        /// Place of the other.
        second;
        /// Place of the one cut from its crest.
        crest_cut;
        /// Across the top, mm.
        x_mm;
        /// From the neck end, mm.
        y_mm;
        /// Angle between them, 0 to 90 degrees.
        angle_deg;
        /// How far along the line of the first, mm.
        along_first_mm;
        /// How far along the line of the second, mm.
        along_second_mm;
        /// Length of the notch along the first, mm.
        notch_first_mm;
        /// Length of the notch along the second, mm.
        notch_second_mm;
        /// Cap over the crest-cut brace, mm; 0 for none.
        cap_mm;
    }
}

record! {
    /// A flat piece glued to the inside of the top: a bridge plate or a graft.
    PyPlatePart, "PlatePart", PlatePart {
        /// What it is called.
        name;
        /// "bridge-plate" or "graft".
        role;
        /// Its wood.
        wood;
        /// Thickness, mm.
        thickness_mm;
        /// Direction of its grain from the centreline, degrees.
        grain_angle_deg;
        /// Its corners in order, mm.
        corners_mm;
    }
}

getters! { PyPlatePart {
    /// Area, mm2.
    area_mm2;
    /// Mass at its wood's density, g.
    mass_g;
}}

#[pymethods]
impl PyPlatePart {
    #[new]
    #[pyo3(signature = (name, wood, *, corners_mm, thickness_mm, role="bridge-plate", grain_angle_deg=90.0))]
    fn new(
        name: String,
        wood: &PyWood,
        corners_mm: &Bound<'_, PyAny>,
        #[pyo3(from_py_with = need::thickness_mm)] thickness_mm: f64,
        role: &str,
        #[pyo3(from_py_with = need::grain_angle_deg)] grain_angle_deg: f64,
    ) -> Result<Self> {
        let corners_mm = points("corners_mm", corners_mm)?;
        let part =
            PlatePart { name, role: PartRole::named(role)?, wood: wood.0.clone(), thickness_mm, grain_angle_deg, corners_mm };
        Ok(Self(part.checked()?))
    }
}

record! {
    /// A bridge in its place on the top.
    PyPlacedBridge, "PlacedBridge", PlacedBridge {
        /// The bridge.
        bridge;
        /// Middle of the saddle across, mm.
        x_mm;
        /// Middle of the saddle from the neck end, mm.
        y_mm;
        /// Turn of the whole about that place, degrees, above 0 when its bass end lies nearer the tail.
        turn_deg;
        /// How much further from the neck the saddle is at the outer bass string than at the outer treble string, mm.
        slant_mm;
        /// Number of strings.
        strings;
        /// Distance between the outer holes, mm.
        spread_mm;
        /// Diameter of the holes, mm.
        hole_mm;
        /// Length of the strings without compensation, mm; None where the saddle's place is not to be checked.
        scale_mm;
        /// Fret at the neck end of the outline.
        body_fret;
    }
}

getters! { PyPlacedBridge {
    /// Middles of the holes, mm, from treble to bass.
    holes_mm;
    /// Middles of the holes through the top, mm: none under a tie bridge.
    pins_mm;
    /// Distance of a saddle without compensation from the neck end, mm; None without a scale.
    uncompensated_mm;
}}

#[pymethods]
impl PyPlacedBridge {
    /// hole_mm is 5 for pins and 1.6 for a tie bridge when left out; spread_mm 58 (all common practice, no source).
    #[new]
    #[pyo3(signature = (bridge, *, y_mm, x_mm=0.0, turn_deg=0.0, slant_mm=0.0, strings=6, spread_mm=58.0, hole_mm=None,
        scale_mm=None, body_fret=14))]
    fn new(
        bridge: &PyBridge,
        #[pyo3(from_py_with = need::y_mm)] y_mm: f64,
        #[pyo3(from_py_with = need::x_mm)] x_mm: f64,
        #[pyo3(from_py_with = need::turn_deg)] turn_deg: f64,
        #[pyo3(from_py_with = need::slant_mm)] slant_mm: f64,
        #[pyo3(from_py_with = need::strings)] strings: usize,
        #[pyo3(from_py_with = need::spread_mm)] spread_mm: f64,
        #[pyo3(from_py_with = may::hole_mm)] hole_mm: Option<f64>,
        #[pyo3(from_py_with = may::scale_mm)] scale_mm: Option<f64>,
        #[pyo3(from_py_with = need::body_fret)] body_fret: usize,
    ) -> Result<Self> {
        let usual = if bridge.0.kind == BridgeKind::Pin { USUAL_PIN_MM } else { USUAL_TIE_MM };
        let hole_mm = hole_mm.unwrap_or(usual);
        let bridge = bridge.0;
        let placed = PlacedBridge { bridge, x_mm, y_mm, turn_deg, slant_mm, strings, spread_mm, hole_mm, scale_mm, body_fret };
        Ok(Self(placed.checked()?))
    }

    /// Corners of the glued foot, mm: front treble, front bass, rear bass, rear treble.
    #[getter]
    fn foot_mm(&self) -> Vec<(f64, f64)> {
        self.0.foot_mm().to_vec()
    }

    /// The saddle's ends under the outer strings, mm: treble, then bass.
    #[getter]
    fn saddle_mm(&self) -> ((f64, f64), (f64, f64)) {
        self.0.saddle_mm()
    }
}
