//! Twin of `layout`: a whole braced top and its checks.

use std::path::PathBuf;

use bracewright::layout::{
    Block, Layout, LayoutLimits, LayoutParts, LayoutReport, LayoutRow, LayoutTolerance, LegAtBridge, PlateThickness, Point,
};
use bracewright::picture::layout_svg;
use numpy::PyArray1;
use pyo3::prelude::*;

use crate::argument::{may, need};
use crate::convert::{MM, read_text};
use crate::error::Result;
use crate::outline::{PyOutline, PyPlateThickness, PySoundHole, point};
use crate::pattern::PyPattern;
use crate::place::{PyCrossing, PyLapAt, PyPlacedBrace, PyPlacedBridge, PyPlatePart};
use crate::value::{record, report, short, value};
use crate::wood::PyWood;

record! {
    /// What clearances are allowed. All defaults are common practice, no source.
    PyLayoutLimits, "LayoutLimits", LayoutLimits {
        /// From the edge of a pin hole to a brace, at least, mm.
        pin_mm;
        /// From the edge of the sound hole to a brace, at least, mm.
        hole_mm;
        /// From the edge of a pin hole to that of the bridge plate, at least, mm.
        plate_past_pins_mm;
        /// From a lap to the edge of the sound hole, at least, mm.
        lap_to_hole_mm;
        /// How far a tucked end reaches into the lining, at least, mm.
        tuck_mm;
        /// How far ends stay from the outline, for the binding's channel, at least, mm.
        binding_mm;
        /// How far from the lining a feathered end stops, at most, mm.
        feather_mm;
        /// Open joint of a brace that ends on another, at most, mm.
        joint_mm;
        /// Compensation of the saddle, at least, mm.
        compensation_least_mm;
        /// Compensation of the saddle, at most, mm.
        compensation_most_mm;
        /// Chance from which on a clearance counts as close.
        close_chance;
    }
}

#[pymethods]
impl PyLayoutLimits {
    #[new]
    #[pyo3(signature = (*, pin_mm=4.0, hole_mm=3.0, plate_past_pins_mm=3.0, lap_to_hole_mm=8.0, tuck_mm=1.0, binding_mm=2.0,
        feather_mm=2.0, joint_mm=0.5, compensation_least_mm=2.0, compensation_most_mm=4.0, close_chance=0.05))]
    fn new(
        #[pyo3(from_py_with = need::pin_mm)] pin_mm: f64,
        #[pyo3(from_py_with = need::hole_mm)] hole_mm: f64,
        #[pyo3(from_py_with = need::plate_past_pins_mm)] plate_past_pins_mm: f64,
        #[pyo3(from_py_with = need::lap_to_hole_mm)] lap_to_hole_mm: f64,
        #[pyo3(from_py_with = need::tuck_mm)] tuck_mm: f64,
        #[pyo3(from_py_with = need::binding_mm)] binding_mm: f64,
        #[pyo3(from_py_with = need::feather_mm)] feather_mm: f64,
        #[pyo3(from_py_with = need::joint_mm)] joint_mm: f64,
        #[pyo3(from_py_with = need::compensation_least_mm)] compensation_least_mm: f64,
        #[pyo3(from_py_with = need::compensation_most_mm)] compensation_most_mm: f64,
        #[pyo3(from_py_with = need::close_chance)] close_chance: f64,
    ) -> Result<Self> {
        let limits = LayoutLimits {
            pin_mm,
            hole_mm,
            plate_past_pins_mm,
            lap_to_hole_mm,
            tuck_mm,
            binding_mm,
            feather_mm,
            joint_mm,
            compensation_least_mm,
            compensation_most_mm,
            close_chance,
        };
        Ok(Self(limits.checked()?))
    }
}

record! {
    /// One clearance of a layout.
    PyLayoutRow, "LayoutRow", LayoutRow {
        /// What is checked, the same for all of a kind.
        check;
        /// Between what.
        what;
        /// As drawn, mm; below 0 by how much things overlap.
        clearance_mm;
        /// The least it may be, mm, or None.
        least_mm;
        /// The most it may be, mm, or None.
        most_mm;
        /// Its standard uncertainty, mm; None where it is fitted at the bench.
        sd_mm;
        /// Chance that it is outside its limits as built; None where it is fitted at the bench.
        chance;
        /// Where, across the top, mm.
        x_mm;
        /// Where, from the neck end, mm.
        y_mm;
        /// "clear", "close" (a fair chance) or "clash" (outside its limits as drawn).
        state;
    }
}

record! {
    /// Where a leg runs under the bridge.
    PyLegAtBridge, "LegAtBridge", LegAtBridge {
        /// The leg.
        brace;
        /// How far from the bridge's middle its middle line passes under the front edge of the foot, mm (beyond its end too).
        front_mm;
        /// The same at the rear edge, mm.
        rear_mm;
        /// Half the length of the foot, mm.
        half_bridge_mm;
    }
}

/// The clearances as columns.
fn columns(r: &LayoutReport) -> Vec<(&'static str, Vec<f64>)> {
    let column = |f: fn(&LayoutRow) -> f64| r.rows.iter().map(f).collect();
    vec![
        ("clearance_mm", column(|r| r.clearance_mm)),
        ("least_mm", column(|r| r.least_mm.unwrap_or(f64::NAN))),
        ("most_mm", column(|r| r.most_mm.unwrap_or(f64::NAN))),
        ("sd_mm", column(|r| r.sd_mm.unwrap_or(f64::NAN))),
        ("chance", column(|r| r.chance.unwrap_or(f64::NAN))),
        ("x_mm", column(|r| r.x_mm)),
        ("y_mm", column(|r| r.y_mm)),
    ]
}

record! {
    /// All clearances of a layout. Made by Layout.check().
    PyLayoutReport, "LayoutReport", LayoutReport {
        /// The layout's name.
        name;
        /// The clearances, each kind of check after the other.
        rows;
        /// Where legs run under the bridge.
        legs;
        /// The limits.
        limits;
        /// Chance that anything clashes as built, at most.
        chance_at_most;
        /// True when nothing clashes as drawn.
        ok;
        /// What was found, as sentences; what clashes first.
        words;
    } table columns
}
report!(PyLayoutReport);

#[pymethods]
impl PyLayoutReport {
    /// Standard uncertainty of every part's place that was counted with, each way, mm.
    #[getter]
    fn u_position_mm(&self) -> f64 {
        self.0.tolerance.u_position_mm
    }

    /// The same of its turn, degrees.
    #[getter]
    fn u_angle_deg(&self) -> f64 {
        self.0.tolerance.u_angle_deg
    }
}

/// A whole braced top: outline, thickness, sound hole, bridge and braces, as the bracer sees them from inside (+x the bass side, y from
/// the neck end towards the tail, angles from the centreline).
///
/// thickness is a number in mm or a PlateThickness. A pattern's braces come behind those given. neck_block_mm and tail_block_mm are
/// (across, along). What lies outside the outline and braces that cross without a lap are refused, with the place in x_mm and y_mm of the
/// error.
#[pyclass(frozen, eq, name = "Layout", module = "bracewright")]
#[derive(Debug, Clone, PartialEq)]
pub struct PyLayout(pub Layout);

value!(PyLayout, Layout, "Layout");

fn block(name: &str, given: Option<&Bound<'_, PyAny>>) -> Result<Option<Block>> {
    let pair = given.map(|g| point(name, g)).transpose()?;
    Ok(pair.map(|(width_mm, length_mm)| Block { width_mm, length_mm }))
}

#[pymethods]
impl PyLayout {
    #[new]
    #[pyo3(signature = (name, *, outline, wood, thickness, lining_mm=6.0, hole=None, grain_angle_deg=0.0, arch_radius_mm=None,
        bridge=None, pattern=None, braces=None, laps=None, parts=None, neck_block_mm=None, tail_block_mm=None))]
    fn new(
        name: String,
        outline: &PyOutline,
        wood: &PyWood,
        thickness: &Bound<'_, PyAny>,
        #[pyo3(from_py_with = need::lining_mm)] lining_mm: f64,
        hole: Option<&PySoundHole>,
        #[pyo3(from_py_with = need::grain_angle_deg)] grain_angle_deg: f64,
        #[pyo3(from_py_with = may::arch_radius_mm)] arch_radius_mm: Option<f64>,
        bridge: Option<&PyPlacedBridge>,
        pattern: Option<&PyPattern>,
        braces: Option<Vec<PyRef<'_, PyPlacedBrace>>>,
        laps: Option<Vec<PyRef<'_, PyLapAt>>>,
        parts: Option<Vec<PyRef<'_, PyPlatePart>>>,
        neck_block_mm: Option<&Bound<'_, PyAny>>,
        tail_block_mm: Option<&Bound<'_, PyAny>>,
    ) -> Result<Self> {
        let thickness = match thickness.cast::<PyPlateThickness>() {
            Ok(t) => t.get().0.clone(),
            Err(_) => PlateThickness::even(MM.one("thickness", thickness)?)?,
        };
        let all = LayoutParts {
            name,
            outline: outline.0.clone(),
            lining_mm,
            hole: hole.map(|h| h.0),
            wood: wood.0.clone(),
            thickness,
            grain_angle_deg,
            arch_radius_mm,
            bridge: bridge.map(|b| b.0.clone()),
            braces: braces.unwrap_or_default().iter().map(|b| b.0.clone()).collect(),
            laps: laps.unwrap_or_default().iter().map(|l| l.0.clone()).collect(),
            parts: parts.unwrap_or_default().iter().map(|p| p.0.clone()).collect(),
            neck_block: block("neck_block_mm", neck_block_mm)?,
            tail_block: block("tail_block_mm", tail_block_mm)?,
        };
        Ok(Self(match pattern {
            Some(p) => Layout::of_pattern(all, &p.0)?,
            None => Layout::new(all)?,
        }))
    }

    /// From a JSON file ("schema": "bracewright/layout/1"); a brace there is whole, or as a pattern says it.
    #[staticmethod]
    fn from_file(path: PathBuf) -> Result<Self> {
        let (place, text) = read_text(&path)?;
        Ok(Self(Layout::from_json_str(&place, &text)?))
    }

    /// From JSON text, as to_json writes it.
    #[staticmethod]
    fn from_json(text: &str) -> Result<Self> {
        Ok(Self(Layout::from_json_str("the text", text)?))
    }

    /// As JSON text with its schema; every brace is written whole.
    fn to_json(&self) -> Result<String> {
        Ok(self.0.to_json()?)
    }

    /// What it is called.
    #[getter]
    fn name(&self) -> &str {
        self.0.name()
    }

    /// The outline.
    #[getter]
    fn outline(&self) -> PyOutline {
        PyOutline(self.0.outline().clone())
    }

    /// Width of the lining, mm.
    #[getter]
    fn lining_mm(&self) -> f64 {
        self.0.parts().lining_mm
    }

    /// The sound hole, or None.
    #[getter]
    fn hole(&self) -> Option<PySoundHole> {
        self.0.parts().hole.map(PySoundHole)
    }

    /// Wood of the top.
    #[getter]
    fn wood(&self) -> PyWood {
        PyWood(self.0.parts().wood.clone())
    }

    /// Thickness of the top.
    #[getter]
    fn thickness(&self) -> PyPlateThickness {
        PyPlateThickness(self.0.parts().thickness.clone())
    }

    /// Direction of the top's grain from the centreline, degrees.
    #[getter]
    fn grain_angle_deg(&self) -> f64 {
        self.0.parts().grain_angle_deg
    }

    /// Radius of the dish it is glued in, mm; None where it is flat.
    #[getter]
    fn arch_radius_mm(&self) -> Option<f64> {
        self.0.parts().arch_radius_mm
    }

    /// The bridge, or None.
    #[getter]
    fn bridge(&self) -> Option<PyPlacedBridge> {
        self.0.parts().bridge.clone().map(PyPlacedBridge)
    }

    /// The braces.
    #[getter]
    fn braces(&self) -> Vec<PyPlacedBrace> {
        self.0.braces().iter().cloned().map(PyPlacedBrace).collect()
    }

    /// The half-laps asked for.
    #[getter]
    fn laps(&self) -> Vec<PyLapAt> {
        self.0.parts().laps.iter().cloned().map(PyLapAt).collect()
    }

    /// Where braces cross.
    #[getter]
    fn crossings(&self) -> Vec<PyCrossing> {
        self.0.crossings().iter().copied().map(PyCrossing).collect()
    }

    /// Bridge plate and grafts.
    #[getter]
    fn parts(&self) -> Vec<PyPlatePart> {
        self.0.parts().parts.iter().cloned().map(PyPlatePart).collect()
    }

    /// The neck block, across and along, mm, or None.
    #[getter]
    fn neck_block_mm(&self) -> Option<Point> {
        self.0.parts().neck_block.map(|b| (b.width_mm, b.length_mm))
    }

    /// The tail block, across and along, mm, or None.
    #[getter]
    fn tail_block_mm(&self) -> Option<Point> {
        self.0.parts().tail_block.map(|b| (b.width_mm, b.length_mm))
    }

    /// Its mass, g: top less its hole, braces, plates and grafts; bridge and lining are not counted, and what laps take off
    /// the braces (some tenths of a gram) is not taken off.
    #[getter]
    fn mass_g(&self) -> Result<f64> {
        Ok(self.0.mass_g()?)
    }

    /// The brace of that name.
    fn brace(&self, name: &str) -> Result<PyPlacedBrace> {
        Ok(PyPlacedBrace(self.0.brace(name)?.1.clone()))
    }

    /// Thickness of the top at places inside the outline, mm.
    fn thickness_mm<'py>(
        &self,
        py: Python<'py>,
        x_mm: &Bound<'py, PyAny>,
        y_mm: &Bound<'py, PyAny>,
    ) -> Result<Bound<'py, PyArray1<f64>>> {
        let (x, y) = (MM.list("x_mm", x_mm)?, MM.list("y_mm", y_mm)?);
        let t = py.detach(|| self.0.thickness_mm(&x, &y))?;
        Ok(PyArray1::from_vec(py, t))
    }

    /// The same top for the other hand.
    fn mirrored(&self) -> Result<Self> {
        Ok(Self(self.0.mirrored()?))
    }

    /// Every clearance with the chance that errors of place spoil it: u_position_mm and u_angle_deg are standard uncertainties of where
    /// each part ends up, each way, and of how it is turned. limits is a LayoutLimits; common practice when left out.
    #[pyo3(signature = (*, u_position_mm=0.5, u_angle_deg=0.5, limits=None))]
    fn check(
        &self,
        py: Python<'_>,
        #[pyo3(from_py_with = need::u_position_mm)] u_position_mm: f64,
        #[pyo3(from_py_with = need::u_angle_deg)] u_angle_deg: f64,
        limits: Option<&PyLayoutLimits>,
    ) -> Result<PyLayoutReport> {
        let limits = limits.map(|l| l.0).unwrap_or_default();
        let tolerance = LayoutTolerance { u_position_mm, u_angle_deg };
        Ok(PyLayoutReport(py.detach(|| self.0.check(&tolerance, &limits))?))
    }

    /// The top to scale as SVG, for a sheet 190 mm wide, neck end up and seen from inside; with a report of this layout its clearances are
    /// marked and told.
    #[pyo3(signature = (*, report=None))]
    fn svg(&self, report: Option<&PyLayoutReport>) -> Result<String> {
        Ok(layout_svg(&self.0, report.map(|r| &r.0))?)
    }

    /// Draws the top on matplotlib axes (new ones when left out) and returns them; with a report its clearances are marked.
    #[pyo3(signature = (ax=None, *, report=None))]
    fn plot<'py>(
        slf: &Bound<'py, Self>,
        ax: Option<&Bound<'py, PyAny>>,
        report: Option<&Bound<'py, PyLayoutReport>>,
    ) -> PyResult<Bound<'py, PyAny>> {
        slf.py().import("bracewright.layout_plots")?.call_method1("plot_layout", (slf, ax, report))
    }

    fn __repr__(&self) -> String {
        let [x0, x1, y0, y1] = self.0.outline().bounds_mm();
        format!(
            "Layout({}, {} x {} mm, {} braces, {} crossings)",
            self.0.name(),
            short(y1 - y0),
            short(x1 - x0),
            self.0.braces().len(),
            self.0.crossings().len()
        )
    }

    fn _repr_html_(&self) -> Result<String> {
        self.svg(None)
    }
}
