//! Twin of `profile`.

use std::path::PathBuf;

use bracewright::{Blend, Error, HalfLap, NotchSide, Profile, Scallop, ScallopShape, ShapeChecks, table};
use numpy::PyArray1;
use pyo3::prelude::*;
use pyo3::types::PyTuple;

use crate::argument::{may, need};
use crate::convert::{MM, NOT_GIVEN, by_name, read_text, word, words};
use crate::error::Result;
use crate::value::{Shown, getters, html, record, short, value};

record! {
    /// One scallop: where it is deepest, its length on each side, its depth below what was there, mm.
    PyScallop, "Scallop", Scallop {
        /// Where it is deepest, mm from the left end.
        at_mm;
        /// Length to its left, mm.
        left_mm;
        /// Length to its right, mm.
        right_mm;
        /// Depth below what was there, mm.
        depth_mm;
    }
}

#[pymethods]
impl PyScallop {
    /// Shape of its floor: "arc", "cosine", "cubic", "quartic" or "quintic".
    #[getter]
    fn shape(&self) -> &'static str {
        self.0.shape.name()
    }
}

record! {
    /// What the shape itself says, before any mechanics: hollows, walls and floors.
    PyShapeChecks, "ShapeChecks", ShapeChecks {
        /// Radius of the tightest hollow of the crest, mm, and where; None when there is none, 0 for an inside corner.
        tightest_hollow_mm;
        /// Steepest wall, degrees, and where, mm.
        steepest_wall_deg;
        /// Lowest height between the end ramps, mm, and where.
        lowest_floor_mm;
        /// The same as sentences, those that break a limit first.
        words;
        /// True when no limit given is broken.
        ok;
    }
}

/// Words for the ramps.
pub fn blend(what: &str, given: &str) -> Result<Blend> {
    word(what, given, &Blend::ALL.map(|b| (b.name(), b)))
}

fn shape(given: &str) -> Result<ScallopShape> {
    word("shape", given, &ScallopShape::ALL.map(|s| (s.name(), s)))
}

/// The side view of a brace: the height of its crest above the glue face along its length.
///
/// Start from Profile.straight, .linear, .parabolic, .through or .measured, and cut into it: with_ends, with_scallop,
/// with_half_lap. x runs from 0 at the left end to the length, mm. Every change is a new profile.
#[pyclass(frozen, eq, name = "Profile", module = "bracewright")]
#[derive(Debug, Clone, PartialEq)]
pub struct PyProfile(pub Profile);

value!(PyProfile, Profile, "Profile");

getters! { PyProfile {
    /// Length, mm.
    length_mm;
    /// Tallest height of the base shape before ends and scallops, mm.
    base_height_mm;
    /// Height of the lowest floor, mm, or None without one.
    floor_height_mm;
    /// Where the body between the end ramps begins and ends, mm.
    body_mm;
    /// Radius of the arched glue face, mm, or None.
    arch_radius_mm;
}}

#[pymethods]
impl PyProfile {
    /// The same height all along, mm (0.1 to 200; the length 1 to 2000).
    #[staticmethod]
    #[pyo3(signature = (length_mm, height_mm))]
    fn straight(
        #[pyo3(from_py_with = need::length_mm)] length_mm: f64,
        #[pyo3(from_py_with = need::height_mm)] height_mm: f64,
    ) -> Result<Self> {
        Ok(Self(Profile::straight(length_mm, height_mm)?))
    }

    /// A straight taper from one end to the other.
    #[staticmethod]
    #[pyo3(signature = (length_mm, *, left_mm, right_mm))]
    fn linear(
        #[pyo3(from_py_with = need::length_mm)] length_mm: f64,
        #[pyo3(from_py_with = need::left_mm)] left_mm: f64,
        #[pyo3(from_py_with = need::right_mm)] right_mm: f64,
    ) -> Result<Self> {
        Ok(Self(Profile::linear(length_mm, left_mm, right_mm)?))
    }

    /// A parabola, peak_mm high at at_mm (the middle when left out), falling to the heights at the ends.
    #[staticmethod]
    #[pyo3(signature = (length_mm, *, peak_mm, left_mm, right_mm, at_mm=None))]
    fn parabolic(
        #[pyo3(from_py_with = need::length_mm)] length_mm: f64,
        #[pyo3(from_py_with = need::peak_mm)] peak_mm: f64,
        #[pyo3(from_py_with = need::left_mm)] left_mm: f64,
        #[pyo3(from_py_with = need::right_mm)] right_mm: f64,
        #[pyo3(from_py_with = may::at_mm)] at_mm: Option<f64>,
    ) -> Result<Self> {
        Ok(Self(Profile::parabolic(length_mm, peak_mm, left_mm, right_mm, at_mm.unwrap_or(0.5 * length_mm))?))
    }

    /// Through points (at_mm from 0 to the length, increasing), a blend between each pair: "straight", "cosine", "cubic" or
    /// "quintic", one for all or one for each interval.
    #[staticmethod]
    #[pyo3(signature = (*, at_mm, height_mm, blend=None))]
    fn through(at_mm: &Bound<'_, PyAny>, height_mm: &Bound<'_, PyAny>, blend: Option<&Bound<'_, PyAny>>) -> Result<Self> {
        Ok(Self(Profile::through(&MM.list("at_mm", at_mm)?, &MM.list("height_mm", height_mm)?, &blends(blend)?)?))
    }

    /// As measured: a smooth curve through the stations that never overshoots them.
    #[staticmethod]
    #[pyo3(signature = (*, at_mm, height_mm))]
    fn measured(at_mm: &Bound<'_, PyAny>, height_mm: &Bound<'_, PyAny>) -> Result<Self> {
        Ok(Self(Profile::measured(&MM.list("at_mm", at_mm)?, &MM.list("height_mm", height_mm)?)?))
    }

    /// As measured, from a CSV file with columns x and height, the unit in the heading (x_mm, "height (in)").
    #[staticmethod]
    fn from_csv(path: PathBuf) -> Result<Self> {
        let (place, text) = read_text(&path)?;
        let s = table::read_stations(&place, &text)?;
        Ok(Self(Profile::measured(&s.x_mm, &s.height_mm)?))
    }

    /// Both ends ramped down to height_mm over length_mm: 0 to 1.5 mm is a feather, 2 to 3.2 mm a tuck.
    #[pyo3(signature = (*rest, length_mm=NOT_GIVEN, height_mm=NOT_GIVEN, blend="cosine"),
        text_signature = "($self, *, length_mm, height_mm, blend=\"cosine\")")]
    fn with_ends(
        &self,
        rest: &Bound<'_, PyTuple>,
        #[pyo3(from_py_with = need::length_mm)] length_mm: f64,
        #[pyo3(from_py_with = need::height_mm)] height_mm: f64,
        blend: &str,
    ) -> Result<Self> {
        by_name(rest, "with_ends(length_mm=50, height_mm=3)", &[("length_mm", length_mm), ("height_mm", height_mm)])?;
        Ok(Self(self.0.with_ends(length_mm, height_mm, self::blend("blend", blend)?)?))
    }

    /// The left end ramped down.
    #[pyo3(signature = (*, length_mm, height_mm, blend="cosine"))]
    fn with_left_end(
        &self,
        #[pyo3(from_py_with = need::length_mm)] length_mm: f64,
        #[pyo3(from_py_with = need::height_mm)] height_mm: f64,
        blend: &str,
    ) -> Result<Self> {
        Ok(Self(self.0.with_left_end(length_mm, height_mm, self::blend("blend", blend)?)?))
    }

    /// The right end ramped down.
    #[pyo3(signature = (*, length_mm, height_mm, blend="cosine"))]
    fn with_right_end(
        &self,
        #[pyo3(from_py_with = need::length_mm)] length_mm: f64,
        #[pyo3(from_py_with = need::height_mm)] height_mm: f64,
        blend: &str,
    ) -> Result<Self> {
        Ok(Self(self.0.with_right_end(length_mm, height_mm, self::blend("blend", blend)?)?))
    }

    /// One more scallop, at most four: deepest at at_mm, length_mm long in all, or left_mm and right_mm long on its sides.
    /// `shape` of its floor: "arc", "cosine", "cubic", "quartic", "quintic".
    #[pyo3(signature = (*rest, at_mm=NOT_GIVEN, depth_mm=NOT_GIVEN, length_mm=None, left_mm=None, right_mm=None, shape="cosine"),
        text_signature = "($self, *, at_mm, depth_mm, length_mm=None, left_mm=None, right_mm=None, shape=\"cosine\")")]
    fn with_scallop(
        &self,
        rest: &Bound<'_, PyTuple>,
        #[pyo3(from_py_with = need::at_mm)] at_mm: f64,
        #[pyo3(from_py_with = need::depth_mm)] depth_mm: f64,
        #[pyo3(from_py_with = may::length_mm)] length_mm: Option<f64>,
        #[pyo3(from_py_with = may::left_mm)] left_mm: Option<f64>,
        #[pyo3(from_py_with = may::right_mm)] right_mm: Option<f64>,
        shape: &str,
    ) -> Result<Self> {
        by_name(rest, "with_scallop(at_mm=110, length_mm=100, depth_mm=7)", &[("at_mm", at_mm), ("depth_mm", depth_mm)])?;
        let shape = self::shape(shape)?;
        match (length_mm, left_mm, right_mm) {
            (Some(length), None, None) => Ok(Self(self.0.with_scallop(at_mm, length, depth_mm, shape)?)),
            (None, Some(left_mm), Some(right_mm)) => {
                Ok(Self(self.0.with_uneven_scallop(Scallop { at_mm, left_mm, right_mm, depth_mm, shape })?))
            }
            _ => Err(Error::Refused("a scallop takes length_mm, or left_mm and right_mm together".into()).into()),
        }
    }

    /// A half-lap notch, length_mm along the brace about at_mm, cut from side "crest" or "glue face". `glued` when the
    /// crossing leg is glued in tight; cap_mm the thickness of a wooden cap glued over it along the brace, 0 for none.
    #[pyo3(signature = (*, at_mm, length_mm, depth_mm, side="crest", glued=false, cap_mm=0.0))]
    fn with_half_lap(
        &self,
        #[pyo3(from_py_with = need::at_mm)] at_mm: f64,
        #[pyo3(from_py_with = need::length_mm)] length_mm: f64,
        #[pyo3(from_py_with = need::depth_mm)] depth_mm: f64,
        side: &str,
        glued: bool,
        #[pyo3(from_py_with = need::cap_mm)] cap_mm: f64,
    ) -> Result<Self> {
        let side = word("side", side, &[("crest", NotchSide::Crest), ("glue face", NotchSide::GlueFace)])?;
        Ok(Self(self.0.with_half_lap(HalfLap { at_mm, length_mm, depth_mm, side, glued, cap_mm })?))
    }

    /// The glue face arched to a radius, mm (1000 and up); heights stay measured from the glue face.
    #[pyo3(signature = (*, radius_mm))]
    fn with_arch(&self, #[pyo3(from_py_with = need::radius_mm)] radius_mm: f64) -> Result<Self> {
        Ok(Self(self.0.with_arch(radius_mm)?))
    }

    /// The base raised or lowered so that its tallest place is height_mm; ends and scallops stay as they are.
    fn with_height(&self, #[pyo3(from_py_with = need::height_mm)] height_mm: f64) -> Result<Self> {
        Ok(Self(self.0.with_height(height_mm)?))
    }

    /// Another height at the tips of the end ramps it has.
    fn with_end_height(&self, #[pyo3(from_py_with = need::height_mm)] height_mm: f64) -> Result<Self> {
        Ok(Self(self.0.with_end_height(height_mm)?))
    }

    /// Every floor at a height: scallops cut so deep, or the low points of a profile made through points moved.
    fn with_floor_height(&self, #[pyo3(from_py_with = need::floor_mm)] floor_mm: f64) -> Result<Self> {
        Ok(Self(self.0.with_floor_height(floor_mm)?))
    }

    /// Height, mm, at each station on the brace; half-laps are not in it.
    fn height_mm<'py>(&self, py: Python<'py>, x_mm: &Bound<'py, PyAny>) -> Result<Bound<'py, PyArray1<f64>>> {
        Ok(PyArray1::from_vec(py, self.0.height_mm(&MM.list("x_mm", x_mm)?)?))
    }

    /// The scallops, in the order given.
    #[getter]
    fn scallops(&self) -> Vec<PyScallop> {
        self.0.scallops().iter().map(|s| PyScallop(*s)).collect()
    }

    /// Gouge, wall and floor checks against limits that may be left out: a round tool's radius, the steepest wall it can
    /// leave clean, the lowest height that is safe.
    #[pyo3(signature = (*, gouge_radius_mm=None, steepest_wall_deg=None, smallest_safe_height_mm=None))]
    fn checks(
        &self,
        #[pyo3(from_py_with = may::gouge_radius_mm)] gouge_radius_mm: Option<f64>,
        #[pyo3(from_py_with = may::steepest_wall_deg)] steepest_wall_deg: Option<f64>,
        #[pyo3(from_py_with = may::smallest_safe_height_mm)] smallest_safe_height_mm: Option<f64>,
    ) -> Result<PyShapeChecks> {
        Ok(PyShapeChecks(self.0.checks(gouge_radius_mm, steepest_wall_deg, smallest_safe_height_mm)?))
    }

    /// The profile seen from the other end.
    fn mirrored(&self) -> Self {
        Self(self.0.mirrored())
    }

    /// Draws the side view on matplotlib axes (new ones when left out) and returns them.
    #[pyo3(signature = (ax=None))]
    fn plot<'py>(slf: &Bound<'py, Self>, ax: Option<&Bound<'py, PyAny>>) -> PyResult<Bound<'py, PyAny>> {
        slf.py().import("bracewright.plots")?.call_method1("plot_profile", (slf, ax))
    }

    fn __repr__(&self) -> String {
        let (low, high) = self.0.crest().extremes(0.0, self.0.length_mm());
        let scallops = match self.0.scallops().len() {
            0 => String::new(),
            1 => ", 1 scallop".into(),
            n => format!(", {n} scallops"),
        };
        format!("Profile({} mm long, {} to {} mm high{scallops})", short(self.0.length_mm()), short(low.1), short(high.1))
    }

    fn _repr_html_(&self) -> String {
        let l = self.0.length_mm();
        let x: Vec<f64> = (0..12).map(|k| l * f64::from(k) / 11.0).collect();
        let h: Vec<f64> = x.iter().map(|x| self.0.crest().at(*x)).collect();
        html(
            &self.__repr__(),
            &[
                Shown { name: "x_mm", text: String::new(), column: Some(&x) },
                Shown { name: "height_mm", text: String::new(), column: Some(&h) },
            ],
        )
    }
}

/// Blends from one word or a list of them; cosine when left out.
pub fn blends(given: Option<&Bound<'_, PyAny>>) -> Result<Vec<Blend>> {
    match given {
        None => Ok(vec![Blend::Cosine]),
        Some(given) => words("blend", given)?.iter().map(|w| blend("blend", w)).collect(),
    }
}
