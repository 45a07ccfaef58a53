//! Twin of `layout`: bracing patterns as data.

use std::path::PathBuf;

use bracewright::layout::{self as core, FanPattern, Pattern, WoodOf, XPattern};
use pyo3::prelude::*;

use crate::argument::need;
use crate::convert::read_text;
use crate::error::Result;
use crate::outline::{PyOutline, PySoundHole};
use crate::place::PyPlacedBridge;
use crate::value::{html, value};
use crate::wood::PyWood;

/// A bracing pattern as data: lines and sticks that an outline turns into braces. Made by x_pattern, fan_pattern, or from JSON.
#[pyclass(frozen, eq, name = "Pattern", module = "bracewright")]
#[derive(Debug, Clone, PartialEq)]
pub struct PyPattern(pub Pattern);

value!(PyPattern, Pattern, "Pattern");

#[pymethods]
impl PyPattern {
    /// From a JSON file ("schema": "bracewright/pattern/1").
    #[staticmethod]
    fn from_file(path: PathBuf) -> Result<Self> {
        let (place, text) = read_text(&path)?;
        Ok(Self(Pattern::from_json_str(&place, &text)?))
    }

    /// From JSON text, as to_json writes it.
    #[staticmethod]
    fn from_json(text: &str) -> Result<Self> {
        Ok(Self(Pattern::from_json_str("the text", text)?))
    }

    /// As JSON text with its schema.
    fn to_json(&self) -> Result<String> {
        Ok(self.0.to_json()?)
    }

    /// What it is called.
    #[getter]
    fn name(&self) -> String {
        self.0.name.clone()
    }

    /// Names of its braces.
    #[getter]
    fn brace_names(&self) -> Vec<String> {
        self.0.braces.iter().map(|b| b.name.clone()).collect()
    }

    fn __repr__(&self) -> String {
        let p = &self.0;
        let name = p.name.replace(char::is_control, " ");
        format!("Pattern({name}: {} braces, {} laps, {} flat pieces)", p.braces.len(), p.laps.len(), p.parts.len())
    }

    fn _repr_html_(&self) -> String {
        html(&self.__repr__(), &[])
    }
}

fn wood_of(given: Option<&PyWood>, usual: WoodOf) -> WoodOf {
    given.map_or(usual, |w| WoodOf::from(&w.0))
}

/// An X on that outline, with its sound hole and bridge on the centreline. All numbers left out are common practice, no source.
///
/// angle_deg between the legs, opening to the tail; crossing_to_hole_mm from the crossing to the hole's edge; one scallop of
/// scallop_depth_mm in each lower leg (0 for none); tone bars run from one leg, "treble" or "bass", to the other side; 0 for the width of
/// the transverse brace, or for the thickness of cap, grafts or bridge plate, leaves them out.
#[pyfunction]
#[pyo3(signature = (outline, *, hole, bridge, lining_mm=6.0, angle_deg=98.0, crossing_to_hole_mm=35.0, leg_width_mm=8.0,
    leg_height_mm=15.0, leg_end_mm=2.5, scallop_depth_mm=6.0, scallop_length_mm=110.0, cap_mm=2.0, tone_bars=2,
    tone_bars_from="treble", tone_bar_width_mm=7.0, tone_bar_height_mm=11.0, fingers=2, finger_width_mm=6.0, finger_height_mm=8.0,
    transverse_width_mm=11.0, transverse_height_mm=16.0, graft_mm=2.0, bridge_plate_mm=2.5, bridge_plate_length_mm=40.0,
    pocket_mm=2.5, wood=None, plate_wood=None))]
pub fn x_pattern(
    outline: &PyOutline,
    hole: &PySoundHole,
    bridge: &PyPlacedBridge,
    #[pyo3(from_py_with = need::lining_mm)] lining_mm: f64,
    #[pyo3(from_py_with = need::angle_deg)] angle_deg: f64,
    #[pyo3(from_py_with = need::crossing_to_hole_mm)] crossing_to_hole_mm: f64,
    #[pyo3(from_py_with = need::leg_width_mm)] leg_width_mm: f64,
    #[pyo3(from_py_with = need::leg_height_mm)] leg_height_mm: f64,
    #[pyo3(from_py_with = need::leg_end_mm)] leg_end_mm: f64,
    #[pyo3(from_py_with = need::scallop_depth_mm)] scallop_depth_mm: f64,
    #[pyo3(from_py_with = need::scallop_length_mm)] scallop_length_mm: f64,
    #[pyo3(from_py_with = need::cap_mm)] cap_mm: f64,
    #[pyo3(from_py_with = need::tone_bars)] tone_bars: usize,
    tone_bars_from: &str,
    #[pyo3(from_py_with = need::tone_bar_width_mm)] tone_bar_width_mm: f64,
    #[pyo3(from_py_with = need::tone_bar_height_mm)] tone_bar_height_mm: f64,
    #[pyo3(from_py_with = need::fingers)] fingers: usize,
    #[pyo3(from_py_with = need::finger_width_mm)] finger_width_mm: f64,
    #[pyo3(from_py_with = need::finger_height_mm)] finger_height_mm: f64,
    #[pyo3(from_py_with = need::transverse_width_mm)] transverse_width_mm: f64,
    #[pyo3(from_py_with = need::transverse_height_mm)] transverse_height_mm: f64,
    #[pyo3(from_py_with = need::graft_mm)] graft_mm: f64,
    #[pyo3(from_py_with = need::bridge_plate_mm)] bridge_plate_mm: f64,
    #[pyo3(from_py_with = need::bridge_plate_length_mm)] bridge_plate_length_mm: f64,
    #[pyo3(from_py_with = need::pocket_mm)] pocket_mm: f64,
    wood: Option<&PyWood>,
    plate_wood: Option<&PyWood>,
) -> Result<PyPattern> {
    let usual = XPattern::default();
    let x = XPattern {
        angle_deg,
        crossing_to_hole_mm,
        leg_width_mm,
        leg_height_mm,
        leg_end_mm,
        scallop_depth_mm,
        scallop_length_mm,
        cap_mm,
        tone_bars,
        tone_bars_from_bass: crate::convert::word("tone_bars_from", tone_bars_from, &[("treble", false), ("bass", true)])?,
        tone_bar_width_mm,
        tone_bar_height_mm,
        fingers,
        finger_width_mm,
        finger_height_mm,
        transverse_width_mm,
        transverse_height_mm,
        graft_mm,
        bridge_plate_mm,
        bridge_plate_length_mm,
        pocket_mm,
        wood: wood_of(wood, usual.wood),
        plate_wood: wood_of(plate_wood, usual.plate_wood),
    };
    Ok(PyPattern(core::x_pattern(&outline.0, lining_mm, &hole.0, &bridge.0, &x)?))
}

/// A fan on that outline, with its sound hole and bridge on the centreline. All numbers left out are common practice, no source.
///
/// Fans stand spacing_mm apart at the saddle and their lines meet focus_mm in front of it; they end on the lower transverse bar and on
/// two closing bars, or near the lining without them.
#[pyfunction]
#[pyo3(signature = (outline, *, hole, bridge, lining_mm=6.0, fans=7, spacing_mm=30.0, focus_mm=400.0, fan_width_mm=5.0,
    fan_height_mm=4.0, fan_end_mm=1.0, closing_bars=true, closing_width_mm=5.0, closing_height_mm=4.0, transverse_width_mm=6.0,
    transverse_height_mm=16.0, transverse_from_hole_mm=18.0, pocket_mm=2.5, wood=None))]
pub fn fan_pattern(
    outline: &PyOutline,
    hole: &PySoundHole,
    bridge: &PyPlacedBridge,
    #[pyo3(from_py_with = need::lining_mm)] lining_mm: f64,
    #[pyo3(from_py_with = need::fans)] fans: usize,
    #[pyo3(from_py_with = need::spacing_mm)] spacing_mm: f64,
    #[pyo3(from_py_with = need::focus_mm)] focus_mm: f64,
    #[pyo3(from_py_with = need::fan_width_mm)] fan_width_mm: f64,
    #[pyo3(from_py_with = need::fan_height_mm)] fan_height_mm: f64,
    #[pyo3(from_py_with = need::fan_end_mm)] fan_end_mm: f64,
    closing_bars: bool,
    #[pyo3(from_py_with = need::closing_width_mm)] closing_width_mm: f64,
    #[pyo3(from_py_with = need::closing_height_mm)] closing_height_mm: f64,
    #[pyo3(from_py_with = need::transverse_width_mm)] transverse_width_mm: f64,
    #[pyo3(from_py_with = need::transverse_height_mm)] transverse_height_mm: f64,
    #[pyo3(from_py_with = need::transverse_from_hole_mm)] transverse_from_hole_mm: f64,
    #[pyo3(from_py_with = need::pocket_mm)] pocket_mm: f64,
    wood: Option<&PyWood>,
) -> Result<PyPattern> {
    let f = FanPattern {
        fans,
        spacing_mm,
        focus_mm,
        fan_width_mm,
        fan_height_mm,
        fan_end_mm,
        closing_bars,
        closing_width_mm,
        closing_height_mm,
        transverse_width_mm,
        transverse_height_mm,
        transverse_from_hole_mm,
        pocket_mm,
        wood: wood_of(wood, FanPattern::default().wood),
    };
    Ok(PyPattern(core::fan_pattern(&outline.0, lining_mm, &hole.0, &bridge.0, &f)?))
}
