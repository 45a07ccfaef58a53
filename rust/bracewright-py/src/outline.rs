//! Twin of `layout`: outline, sound hole and thickness of a top.

use std::path::PathBuf;

use bracewright::layout::{
    Bouts, LyingAs, Neck, Outline, PlateThickness, Point, SeenFrom, SoundHole, outline_from_csv, outline_from_dxf,
    outline_from_svg,
};
use numpy::PyArray1;
use pyo3::prelude::*;

use crate::argument::{may, need};
use crate::convert::{MM, read_text, word};
use crate::error::Result;
use crate::value::{Shown, getters, html, record, short, value};

type Column<'py> = Bound<'py, PyArray1<f64>>;

/// A place as two numbers in mm.
pub fn point(name: &str, given: &Bound<'_, PyAny>) -> Result<Point> {
    match MM.list(name, given)?.as_slice() {
        [x, y] => Ok((*x, *y)),
        other => {
            let problem = format!("has {} numbers; it must be two, x and y in mm", other.len());
            Err(bracewright::Error::BadList { name: name.into(), problem }.into())
        }
    }
}

/// Places as pairs in mm.
pub fn points(name: &str, given: &Bound<'_, PyAny>) -> Result<Vec<Point>> {
    match MM.rows(name, given)? {
        (v, 2) => Ok(v.chunks_exact(2).map(|p| (p[0], p[1])).collect()),
        (_, k) => {
            let problem = format!("has {k} numbers in a row; it must be pairs, x and y in mm");
            Err(bracewright::Error::BadList { name: name.into(), problem }.into())
        }
    }
}

fn lying(neck: &str, seen_from: &str, centre_mm: Option<f64>) -> Result<LyingAs> {
    let necks = [("top", Neck::Top), ("bottom", Neck::Bottom), ("left", Neck::Left), ("right", Neck::Right)];
    Ok(LyingAs {
        neck: word("neck", neck, &necks)?,
        seen_from: word("seen_from", seen_from, &[("inside", SeenFrom::Inside), ("outside", SeenFrom::Outside)])?,
        centre_mm,
    })
}

fn columns<'py>(py: Python<'py>, points: &[Point]) -> (Column<'py>, Column<'py>) {
    let of = |f: fn(&Point) -> f64| PyArray1::from_vec(py, points.iter().map(f).collect());
    (of(|p| p.0), of(|p| p.1))
}

/// The outline of a top: a closed curve that does not cross itself. x_mm runs across, above 0 to the bass side as the bracer sees it
/// from inside; y_mm from the neck end at the centreline towards the tail.
#[pyclass(frozen, eq, name = "Outline", module = "bracewright")]
#[derive(Debug, Clone, PartialEq)]
pub struct PyOutline(pub Outline);

value!(PyOutline, Outline, "Outline");

getters! { PyOutline {
    /// Area, mm2.
    area_mm2;
    /// Length of the curve, mm.
    perimeter_mm;
}}

#[pymethods]
impl PyOutline {
    /// A symmetric shape of our own, from its length and three widths; places from the neck end, at 0.19, 0.38 and 0.74 of the length
    /// when left out (common practice, no source). Fullness: 0.55 for the round of an ellipse, up to 0.9 for square shoulders or tail.
    #[staticmethod]
    #[pyo3(signature = (*, length_mm, upper_bout_mm, waist_mm, lower_bout_mm, upper_at_mm=None, waist_at_mm=None, lower_at_mm=None,
        neck_fullness=0.62, tail_fullness=0.62))]
    fn from_bouts(
        #[pyo3(from_py_with = need::length_mm)] length_mm: f64,
        #[pyo3(from_py_with = need::upper_bout_mm)] upper_bout_mm: f64,
        #[pyo3(from_py_with = need::waist_mm)] waist_mm: f64,
        #[pyo3(from_py_with = need::lower_bout_mm)] lower_bout_mm: f64,
        #[pyo3(from_py_with = may::upper_at_mm)] upper_at_mm: Option<f64>,
        #[pyo3(from_py_with = may::waist_at_mm)] waist_at_mm: Option<f64>,
        #[pyo3(from_py_with = may::lower_at_mm)] lower_at_mm: Option<f64>,
        #[pyo3(from_py_with = need::neck_fullness)] neck_fullness: f64,
        #[pyo3(from_py_with = need::tail_fullness)] tail_fullness: f64,
    ) -> Result<Self> {
        let usual = Bouts::usual(length_mm, upper_bout_mm, waist_mm, lower_bout_mm);
        Ok(Self(Outline::from_bouts(&Bouts {
            upper_at_mm: upper_at_mm.unwrap_or(usual.upper_at_mm),
            waist_at_mm: waist_at_mm.unwrap_or(usual.waist_at_mm),
            lower_at_mm: lower_at_mm.unwrap_or(usual.lower_at_mm),
            neck_fullness,
            tail_fullness,
            ..usual
        })?))
    }

    /// Through points in order round the top: smooth, with a corner wherever it turns by more than corner_deg, or straight from one
    /// to the next.
    #[staticmethod]
    #[pyo3(signature = (x_mm, y_mm, *, smooth=true, corner_deg=40.0))]
    fn from_points(
        x_mm: &Bound<'_, PyAny>,
        y_mm: &Bound<'_, PyAny>,
        smooth: bool,
        #[pyo3(from_py_with = need::corner_deg)] corner_deg: f64,
    ) -> Result<Self> {
        let (x, y) = (MM.list("x_mm", x_mm)?, MM.list("y_mm", y_mm)?);
        bracewright::error::same_length("x_mm", x.len(), "y_mm", y.len())?;
        Ok(Self(Outline::from_points(&x.into_iter().zip(y).collect::<Vec<_>>(), smooth, corner_deg)?))
    }

    /// A symmetric outline by half widths measured from neck to tail.
    #[staticmethod]
    fn from_half_widths(y_mm: &Bound<'_, PyAny>, half_width_mm: &Bound<'_, PyAny>) -> Result<Self> {
        Ok(Self(Outline::from_half_widths(&MM.list("y_mm", y_mm)?, &MM.list("half_width_mm", half_width_mm)?)?))
    }

    /// From a table with the unit in the heading: x and y, points in order round the top (y down the drawing), or y and half_width.
    ///
    /// neck: where the neck end lies on the drawing as it is looked at, "top", "bottom", "left" or "right". seen_from: "inside" or
    /// "outside". centre_mm: where the centreline lies across the drawing, in its own axes; midway between the sides when left out.
    #[staticmethod]
    #[pyo3(signature = (path, *, smooth=true, corner_deg=40.0, neck="top", seen_from="inside", centre_mm=None))]
    fn from_csv(
        path: PathBuf,
        smooth: bool,
        #[pyo3(from_py_with = need::corner_deg)] corner_deg: f64,
        neck: &str,
        seen_from: &str,
        #[pyo3(from_py_with = may::centre_mm)] centre_mm: Option<f64>,
    ) -> Result<Self> {
        let lying = lying(neck, seen_from, centre_mm)?;
        let (place, text) = read_text(&path)?;
        Ok(Self(outline_from_csv(&place, &text, smooth, corner_deg, &lying)?))
    }

    /// The largest closed line of an SVG file, to mm by its size and view box, or by unit_mm to each unit inside it. The rest as for
    /// from_csv.
    #[staticmethod]
    #[pyo3(signature = (path, *, unit_mm=None, neck="top", seen_from="inside", centre_mm=None))]
    fn from_svg(
        path: PathBuf,
        #[pyo3(from_py_with = may::unit_mm)] unit_mm: Option<f64>,
        neck: &str,
        seen_from: &str,
        #[pyo3(from_py_with = may::centre_mm)] centre_mm: Option<f64>,
    ) -> Result<Self> {
        let lying = lying(neck, seen_from, centre_mm)?;
        let (place, text) = read_text(&path)?;
        Ok(Self(outline_from_svg(&place, &text, unit_mm, &lying)?))
    }

    /// The largest closed line of a DXF file (text form: polylines with bulges, lines, arcs, circles), to mm by its own unit, or by
    /// unit_mm to each drawing unit. The rest as for from_csv.
    #[staticmethod]
    #[pyo3(signature = (path, *, unit_mm=None, neck="top", seen_from="inside", centre_mm=None))]
    fn from_dxf(
        path: PathBuf,
        #[pyo3(from_py_with = may::unit_mm)] unit_mm: Option<f64>,
        neck: &str,
        seen_from: &str,
        #[pyo3(from_py_with = may::centre_mm)] centre_mm: Option<f64>,
    ) -> Result<Self> {
        let lying = lying(neck, seen_from, centre_mm)?;
        let (place, text) = read_text(&path)?;
        Ok(Self(outline_from_dxf(&place, &text, unit_mm, &lying)?))
    }

    /// The smallest rectangle around it, mm: x from, x to, y from, y to.
    #[getter]
    fn bounds_mm(&self) -> (f64, f64, f64, f64) {
        let [a, b, c, d] = self.0.bounds_mm();
        (a, b, c, d)
    }

    /// The curve as a polygon whose sides keep within tolerance_mm (0.0005 to 10) of it: x, y, and where the curve has a corner.
    #[pyo3(signature = (*, tolerance_mm=0.1))]
    fn points<'py>(
        &self,
        py: Python<'py>,
        #[pyo3(from_py_with = need::tolerance_mm)] tolerance_mm: f64,
    ) -> Result<(Column<'py>, Column<'py>, Bound<'py, PyArray1<bool>>)> {
        let all = self.0.points(tolerance_mm)?;
        let (x, y) = columns(py, &all.iter().map(|p| (p.x_mm, p.y_mm)).collect::<Vec<_>>());
        Ok((x, y, PyArray1::from_vec(py, all.iter().map(|p| p.corner).collect())))
    }

    /// True when the place lies inside.
    fn contains(
        &self,
        #[pyo3(from_py_with = need::x_mm)] x_mm: f64,
        #[pyo3(from_py_with = need::y_mm)] y_mm: f64,
    ) -> Result<bool> {
        Ok(self.0.contains(x_mm, y_mm)?)
    }

    /// Distance from the place to the outline, mm; below 0 outside.
    fn distance_mm(
        &self,
        #[pyo3(from_py_with = need::x_mm)] x_mm: f64,
        #[pyo3(from_py_with = need::y_mm)] y_mm: f64,
    ) -> Result<f64> {
        Ok(self.0.distance_mm(x_mm, y_mm)?)
    }

    /// The two ends of the line through a place inside, at angle_deg from the centreline (0 towards the tail, 90 towards +x), each
    /// inset_mm inside the outline: the one behind, then the one ahead.
    #[pyo3(signature = (x_mm, y_mm, *, angle_deg, inset_mm=0.0))]
    fn chord(
        &self,
        #[pyo3(from_py_with = need::x_mm)] x_mm: f64,
        #[pyo3(from_py_with = need::y_mm)] y_mm: f64,
        #[pyo3(from_py_with = need::angle_deg)] angle_deg: f64,
        #[pyo3(from_py_with = need::inset_mm)] inset_mm: f64,
    ) -> Result<(Point, Point)> {
        Ok(self.0.chord(x_mm, y_mm, angle_deg, inset_mm)?)
    }

    /// The curve inset_mm inside it, as x and y: the inner edge of a lining.
    fn inset<'py>(
        &self,
        py: Python<'py>,
        #[pyo3(from_py_with = need::inset_mm)] inset_mm: f64,
    ) -> Result<(Column<'py>, Column<'py>)> {
        Ok(columns(py, &self.0.inset(inset_mm)?))
    }

    /// The mirror image about the centreline.
    fn mirrored(&self) -> Result<Self> {
        Ok(Self(self.0.mirrored()?))
    }

    fn __repr__(&self) -> String {
        let [x0, x1, y0, y1] = self.0.bounds_mm();
        format!("Outline({} mm long, {} mm wide, {} mm2)", short(y1 - y0), short(x1 - x0), short(self.0.area_mm2()))
    }

    fn _repr_html_(&self) -> String {
        let row = |name, v: f64| Shown { name, text: short(v), column: None };
        html(&self.__repr__(), &[row("area_mm2", self.0.area_mm2()), row("perimeter_mm", self.0.perimeter_mm())])
    }
}

record! {
    /// The sound hole, round or oval: SoundHole.round(...) or SoundHole.oval(...).
    PySoundHole, "SoundHole", SoundHole {
        /// Middle across, mm.
        x_mm;
        /// Middle from the neck end, mm.
        y_mm;
        /// Size across, mm.
        width_mm;
        /// Size along the centreline, mm.
        length_mm;
    }
}

#[pymethods]
impl PySoundHole {
    /// A round hole of diameter_mm (5 to 400).
    #[staticmethod]
    #[pyo3(signature = (*, y_mm, diameter_mm, x_mm=0.0))]
    fn round(
        #[pyo3(from_py_with = need::y_mm)] y_mm: f64,
        #[pyo3(from_py_with = need::diameter_mm)] diameter_mm: f64,
        #[pyo3(from_py_with = need::x_mm)] x_mm: f64,
    ) -> Result<Self> {
        Ok(Self(SoundHole::round(x_mm, y_mm, diameter_mm)?))
    }

    /// An oval hole, width_mm across and length_mm along the centreline (5 to 400).
    #[staticmethod]
    #[pyo3(signature = (*, y_mm, width_mm, length_mm, x_mm=0.0))]
    fn oval(
        #[pyo3(from_py_with = need::y_mm)] y_mm: f64,
        #[pyo3(from_py_with = need::width_mm)] width_mm: f64,
        #[pyo3(from_py_with = need::length_mm)] length_mm: f64,
        #[pyo3(from_py_with = need::x_mm)] x_mm: f64,
    ) -> Result<Self> {
        Ok(Self(SoundHole::oval(x_mm, y_mm, width_mm, length_mm)?))
    }

    /// The edge as a polygon whose sides keep within tolerance_mm of it, as x and y.
    #[pyo3(signature = (*, tolerance_mm=0.1))]
    fn points<'py>(
        &self,
        py: Python<'py>,
        #[pyo3(from_py_with = need::tolerance_mm)] tolerance_mm: f64,
    ) -> Result<(Column<'py>, Column<'py>)> {
        Ok(columns(py, &self.0.points(tolerance_mm)?))
    }
}

/// Thickness over a top: PlateThickness.even(...) or PlateThickness.measured(...), thinned along the edge or not.
#[pyclass(frozen, eq, name = "PlateThickness", module = "bracewright")]
#[derive(Debug, Clone, PartialEq)]
pub struct PyPlateThickness(pub PlateThickness);

value!(PyPlateThickness, PlateThickness, "PlateThickness");

#[pymethods]
impl PyPlateThickness {
    /// The same everywhere, 0.3 to 12 mm.
    #[staticmethod]
    fn even(#[pyo3(from_py_with = need::thickness_mm)] thickness_mm: f64) -> Result<Self> {
        Ok(Self(PlateThickness::even(thickness_mm)?))
    }

    /// As measured at places: the surface of a thin plate bent through the values, never beyond the least and greatest of them.
    #[staticmethod]
    fn measured(x_mm: &Bound<'_, PyAny>, y_mm: &Bound<'_, PyAny>, thickness_mm: &Bound<'_, PyAny>) -> Result<Self> {
        let (x, y) = (MM.list("x_mm", x_mm)?, MM.list("y_mm", y_mm)?);
        bracewright::error::same_length("x_mm", x.len(), "y_mm", y.len())?;
        let at: Vec<Point> = x.into_iter().zip(y).collect();
        Ok(Self(PlateThickness::measured(&at, &MM.list("thickness_mm", thickness_mm)?)?))
    }

    /// Thinner by off_mm at the outline, running out smoothly over over_mm.
    #[pyo3(signature = (*, off_mm, over_mm))]
    fn with_thin_edge(
        &self,
        #[pyo3(from_py_with = need::off_mm)] off_mm: f64,
        #[pyo3(from_py_with = need::over_mm)] over_mm: f64,
    ) -> Result<Self> {
        Ok(Self(self.0.with_thin_edge(off_mm, over_mm)?))
    }

    fn __repr__(&self) -> String {
        let t = self.0.values_mm();
        let (low, high) = t.iter().fold((f64::INFINITY, 0.0_f64), |(l, h), v| (l.min(*v), h.max(*v)));
        let body = if self.0.places_mm().is_empty() {
            format!("{} mm", short(low))
        } else {
            format!("{} to {} mm at {} places", short(low), short(high), t.len())
        };
        let edge = self
            .0
            .edge()
            .map_or(String::new(), |e| format!(", {} mm less at the edge over {} mm", short(e.off_mm), short(e.over_mm)));
        format!("PlateThickness({body}{edge})")
    }

    fn _repr_html_(&self) -> String {
        html(&self.__repr__(), &[])
    }
}
