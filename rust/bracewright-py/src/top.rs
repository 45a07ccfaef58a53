//! Twin of `top`: the whole braced top under loads, its modes, and where to shave it.

use bracewright::top::{
    BraceShave, BridgePart, MeshReport, PlateShave, Rim, Shaving, Top, TopLoad, TopModes, TopOptions, TopUnder,
};
use numpy::{PyArray1, PyArray2};
use pyo3::prelude::*;

use crate::argument::{may, need};
use crate::bridge::PyBridgeLoad;
use crate::convert::{HZ, MM};
use crate::error::Result;
use crate::layout::PyLayout;
use crate::outline::point;
use crate::value::{frame, record, short, value};
use crate::wood::PyWood;

/// The whole braced top: a layout meshed, its braces resolved through their height, held at its rim.
///
/// rim is "free", "resting" (held up and down), "hinged" (held in its plane as well), "clamped" or "elastic" with in_plane_n_mm2, the
/// force in the plane per length and slide, and turning_n, the moment per length and turn. The layout's bridge is a part of the top
/// where bridge_wood and bridge_thickness_mm are given, its mass bridge_mass_g if weighed. fineness 0.25 to 4: 2 has cells of half
/// the size. Half-laps are bonded. Deflections are positive inwards, as a weight on the outer face pushes.
#[pyclass(frozen, eq, name = "Top", module = "bracewright")]
#[derive(Debug, Clone, PartialEq)]
pub struct PyTop(pub Top);

value!(PyTop, Top, "Top");

/// A load on the top; positive forces push inwards.
#[pyclass(frozen, eq, name = "TopLoad", module = "bracewright")]
#[derive(Debug, Clone, PartialEq)]
pub struct PyTopLoad(pub TopLoad);

value!(PyTopLoad, TopLoad, "TopLoad");

/// The top under loads: deflections, the turn of the bridge, stresses.
#[pyclass(frozen, eq, name = "TopUnder", module = "bracewright")]
#[derive(Debug, Clone, PartialEq)]
pub struct PyTopUnder(pub TopUnder);

value!(PyTopUnder, TopUnder, "TopUnder");

/// Modes of a top, in vacuo, rising in frequency.
#[pyclass(frozen, eq, name = "TopModes", module = "bracewright")]
#[derive(Debug, Clone, PartialEq)]
pub struct PyTopModes(pub TopModes);

value!(PyTopModes, TopModes, "TopModes");

record! {
    /// What the mesh of a top is like.
    PyMeshReport, "MeshReport", MeshReport {
        /// Cells.
        cells;
        /// Unknowns that are solved for.
        unknowns;
        /// Least angle of a triangle, degrees.
        least_angle_deg;
        /// Where it is, mm.
        least_angle_x_mm;
        /// Where it is, mm.
        least_angle_y_mm;
        /// Lines that the mesh does not follow, as sentences.
        left_out;
    }
}

record! {
    /// What shaving a brace at places along it does.
    PyBraceShave, "BraceShave", BraceShave {
        /// Its name.
        name;
        /// Places along its line, mm.
        along_mm;
        /// Where they lie on the top, mm.
        at_mm;
        /// Height there, mm.
        height_mm;
        /// Mass that a millimetre off there takes, running out to the places beside it, g per mm.
        g_per_mm;
        /// For each reading, then each mode: its change for a millimetre off there.
        per_mm;
    }
}

record! {
    /// What thinning the top at places does.
    PyPlateShave, "PlateShave", PlateShave {
        /// Where, mm.
        at_mm;
        /// Area that a place stands for, mm2.
        area_mm2;
        /// Mass that a millimetre off there takes, g per mm.
        g_per_mm;
        /// For each reading, then each mode: its change for a millimetre off there.
        per_mm;
    }
}
frame!(PyPlateShave);

record! {
    /// Where to shave: what a millimetre or a gram off does to readings and frequencies, along each brace and over the top.
    PyShaving, "Shaving", Shaving {
        /// What was asked for: "deflection", "bridge turn", "mode 1" ...
        of;
        /// Units of those.
        unit;
        /// Values now.
        value;
        /// Braces.
        braces;
        /// The top itself.
        plate;
    }
}

#[pymethods]
impl PyBraceShave {
    /// per_mm for each gram off instead of each millimetre.
    #[getter]
    fn per_g(&self) -> Vec<Vec<f64>> {
        self.0.per_g()
    }
}

#[pymethods]
impl PyShaving {
    /// Draws along each brace what a gram off does to one of `of` on matplotlib axes (new ones when left out) and returns them.
    #[pyo3(signature = (of, ax=None))]
    fn plot<'py>(slf: &Bound<'py, Self>, of: &str, ax: Option<&Bound<'py, PyAny>>) -> PyResult<Bound<'py, PyAny>> {
        slf.py().import("bracewright.top_plots")?.call_method1("plot_shaving", (slf, of, ax))
    }
}

#[pymethods]
impl PyTopLoad {
    /// A dead weight pushing on a round pad at a place.
    #[staticmethod]
    #[pyo3(signature = (*, load_n, x_mm, y_mm, pad_mm=20.0))]
    fn weight(
        #[pyo3(from_py_with = need::load_n)] load_n: f64,
        #[pyo3(from_py_with = need::x_mm)] x_mm: f64,
        #[pyo3(from_py_with = need::y_mm)] y_mm: f64,
        #[pyo3(from_py_with = need::pad_mm)] pad_mm: f64,
    ) -> Self {
        Self(TopLoad::Weight { x_mm, y_mm, pad_mm, load_n })
    }

    /// A force spread evenly over a polygon, its corners in order.
    #[staticmethod]
    #[pyo3(signature = (*, load_n, corners_mm))]
    fn spread(#[pyo3(from_py_with = need::load_n)] load_n: f64, corners_mm: Vec<(f64, f64)>) -> Self {
        Self(TopLoad::Spread { corners_mm, load_n })
    }

    /// A force along a straight line between two places.
    #[staticmethod]
    #[pyo3(signature = (*, load_n, from_mm, to_mm))]
    fn line(
        #[pyo3(from_py_with = need::load_n)] load_n: f64,
        from_mm: &Bound<'_, PyAny>,
        to_mm: &Bound<'_, PyAny>,
    ) -> Result<Self> {
        Ok(Self(TopLoad::Line { from_mm: point("from_mm", from_mm)?, to_mm: point("to_mm", to_mm)?, load_n }))
    }

    /// Strings on the bridge: their couple about the middle of the top's thickness, their pull towards the neck, and the net press.
    #[staticmethod]
    #[pyo3(signature = (*, couple_n_m, pull_n=0.0, press_n=0.0))]
    fn strings(
        #[pyo3(from_py_with = need::couple_n_m)] couple_n_m: f64,
        #[pyo3(from_py_with = need::pull_n)] pull_n: f64,
        #[pyo3(from_py_with = need::press_n)] press_n: f64,
    ) -> Self {
        Self(TopLoad::Strings { couple_n_m, pull_n, press_n })
    }

    /// What a set of strings does to a bridge, as Bridge.load gives it.
    #[staticmethod]
    fn of_bridge(bridge_load: &PyBridgeLoad) -> Self {
        let l = &bridge_load.0;
        Self(TopLoad::Strings { couple_n_m: l.couple_n_m, pull_n: l.along_n, press_n: l.net_down_n })
    }

    /// The top's own weight, lying with its outer face up.
    #[staticmethod]
    fn own_weight() -> Self {
        Self(TopLoad::OwnWeight)
    }

    fn __repr__(&self) -> String {
        match &self.0 {
            TopLoad::Weight { x_mm, y_mm, load_n, .. } => {
                format!("TopLoad({} N at ({}, {}) mm)", short(*load_n), short(*x_mm), short(*y_mm))
            }
            TopLoad::Spread { load_n, .. } => format!("TopLoad({} N spread)", short(*load_n)),
            TopLoad::Line { load_n, .. } => format!("TopLoad({} N on a line)", short(*load_n)),
            TopLoad::Strings { couple_n_m, pull_n, .. } => {
                format!("TopLoad(strings, {} N m, {} N)", short(*couple_n_m), short(*pull_n))
            }
            TopLoad::OwnWeight => "TopLoad(own weight)".into(),
        }
    }
}

/// x, y and rows of three.
type DrawnMesh<'py> = (Bound<'py, PyArray1<f64>>, Bound<'py, PyArray1<f64>>, Bound<'py, PyArray2<i64>>);

fn loads(given: Vec<PyRef<'_, PyTopLoad>>) -> Vec<TopLoad> {
    given.iter().map(|l| l.0.clone()).collect()
}

#[pymethods]
impl PyTop {
    #[new]
    #[pyo3(signature = (layout, *, rim="hinged", in_plane_n_mm2=None, turning_n=None, bridge_wood=None,
        bridge_thickness_mm=None, bridge_mass_g=None, fineness=1.0))]
    fn new(
        py: Python<'_>,
        layout: &PyLayout,
        rim: &str,
        #[pyo3(from_py_with = may::in_plane_n_mm2)] in_plane_n_mm2: Option<f64>,
        #[pyo3(from_py_with = may::turning_n)] turning_n: Option<f64>,
        bridge_wood: Option<&PyWood>,
        #[pyo3(from_py_with = may::bridge_thickness_mm)] bridge_thickness_mm: Option<f64>,
        #[pyo3(from_py_with = may::bridge_mass_g)] bridge_mass_g: Option<f64>,
        #[pyo3(from_py_with = need::fineness)] fineness: f64,
    ) -> Result<Self> {
        let rim = Rim::of(rim, in_plane_n_mm2, turning_n)?;
        let bridge = BridgePart::of(bridge_wood.map(|w| &w.0), bridge_thickness_mm, bridge_mass_g)?;
        Ok(Self(py.detach(|| Top::new(&layout.0, &TopOptions { rim, bridge, fineness }))?))
    }

    /// The layout.
    #[getter]
    fn layout(&self) -> PyLayout {
        PyLayout(self.0.layout().clone())
    }

    /// How it is held.
    #[getter]
    fn rim(&self) -> &'static str {
        self.0.options().rim.name()
    }

    /// Fineness of the mesh.
    #[getter]
    fn fineness(&self) -> f64 {
        self.0.options().fineness
    }

    /// What the mesh is like.
    #[getter]
    fn mesh(&self) -> PyMeshReport {
        PyMeshReport(self.0.mesh_report())
    }

    /// Mass of all that is modelled, g.
    #[getter]
    fn mass_g(&self) -> f64 {
        self.0.mass_g()
    }

    /// Places of the mesh, x and y in mm, and small triangles between them as rows of three: for a picture of values at the places.
    fn drawn<'py>(&self, py: Python<'py>) -> PyResult<DrawnMesh<'py>> {
        let (x, y, triangles) = self.0.drawn();
        let rows: Vec<Vec<i64>> = triangles.iter().map(|t| t.map(|k| k as i64).to_vec()).collect();
        Ok((PyArray1::from_vec(py, x), PyArray1::from_vec(py, y), PyArray2::from_vec2(py, &rows)?))
    }

    /// The top under loads, one or several.
    fn under(&self, py: Python<'_>, loads: Vec<PyRef<'_, PyTopLoad>>) -> Result<PyTopUnder> {
        let loads = self::loads(loads);
        Ok(PyTopUnder(py.detach(|| self.0.under(&loads))?))
    }

    /// The lowest modes, 1 to 40; of a free top those that bend it.
    #[pyo3(signature = (count=10))]
    fn modes(&self, py: Python<'_>, #[pyo3(from_py_with = need::count)] count: usize) -> Result<PyTopModes> {
        Ok(PyTopModes(py.detach(|| self.0.modes(count))?))
    }

    /// Where to shave: what a millimetre off does to the deflection at read_mm (x, y) and to the turn of the bridge under loads, and to
    /// the lowest `modes` frequencies; along each brace at places step_mm (2 to 200) apart or nearer, and over the top itself.
    #[pyo3(signature = (loads, *, read_mm=None, modes=4, step_mm=30.0))]
    fn shaving(
        &self,
        py: Python<'_>,
        loads: Vec<PyRef<'_, PyTopLoad>>,
        read_mm: Option<&Bound<'_, PyAny>>,
        #[pyo3(from_py_with = need::modes)] modes: usize,
        #[pyo3(from_py_with = need::step_mm)] step_mm: f64,
    ) -> Result<PyShaving> {
        let (loads, read) = (self::loads(loads), read_mm.map(|p| point("read_mm", p)).transpose()?);
        Ok(PyShaving(py.detach(|| self.0.shaving(&loads, read, modes, step_mm))?))
    }

    fn __repr__(&self) -> String {
        let m = self.0.mesh_report();
        format!("Top({}, {}, {} cells, {} unknowns)", self.0.layout().name(), self.rim(), m.cells, m.unknowns)
    }
}

#[pymethods]
impl PyTopUnder {
    /// The top.
    #[getter]
    fn top(&self) -> PyTop {
        PyTop(self.0.top().clone())
    }

    /// The loads.
    #[getter]
    fn loads(&self) -> Vec<PyTopLoad> {
        self.0.loads().iter().cloned().map(PyTopLoad).collect()
    }

    /// Deflections at places, mm, inwards.
    fn deflection_mm<'py>(
        &self,
        py: Python<'py>,
        x_mm: &Bound<'py, PyAny>,
        y_mm: &Bound<'py, PyAny>,
    ) -> Result<Bound<'py, PyArray1<f64>>> {
        Ok(PyArray1::from_vec(py, self.0.deflection_mm(&MM.list("x_mm", x_mm)?, &MM.list("y_mm", y_mm)?)?))
    }

    /// Turn of the bridge, degrees, positive as strings turn it: its front goes inwards.
    #[getter]
    fn bridge_turn_deg(&self) -> Result<f64> {
        Ok(self.0.bridge_turn_deg()?)
    }

    /// Work of the loads on the deflections they make, N mm.
    #[getter]
    fn work_n_mm(&self) -> f64 {
        self.0.work_n_mm()
    }

    /// Greatest deflection at a place of the mesh, mm, and that place.
    #[getter]
    fn greatest_mm(&self) -> (f64, (f64, f64)) {
        self.0.greatest_mm()
    }

    /// Stress along a brace, MPa, tension positive, at places along its line; part 0 is its glue face, 1 its crest.
    #[pyo3(signature = (name, along_mm, *, part=1.0))]
    fn brace_stress_mpa<'py>(
        &self,
        py: Python<'py>,
        name: &str,
        along_mm: &Bound<'py, PyAny>,
        #[pyo3(from_py_with = need::part)] part: f64,
    ) -> Result<Bound<'py, PyArray1<f64>>> {
        Ok(PyArray1::from_vec(py, self.0.brace_stress_mpa(name, &MM.list("along_mm", along_mm)?, part)?))
    }

    /// Stress of the top at places, MPa: a row each of along its grain, across it and in shear; part -1 is its outer face, 1 the inner.
    #[pyo3(signature = (x_mm, y_mm, *, part=-1.0))]
    fn plate_stress_mpa<'py>(
        &self,
        py: Python<'py>,
        x_mm: &Bound<'py, PyAny>,
        y_mm: &Bound<'py, PyAny>,
        #[pyo3(from_py_with = need::part)] part: f64,
    ) -> PyResult<Bound<'py, PyArray2<f64>>> {
        let all = self
            .0
            .plate_stress_mpa(&MM.list("x_mm", x_mm)?, &MM.list("y_mm", y_mm)?, part)
            .map_err(crate::error::PyError::from)?;
        let rows: Vec<Vec<f64>> = all.iter().map(|r| r.to_vec()).collect();
        Ok(PyArray2::from_vec2(py, &rows)?)
    }

    /// Deflection at every place of the mesh, as Top.drawn has them, mm.
    fn drawn_mm<'py>(&self, py: Python<'py>) -> Bound<'py, PyArray1<f64>> {
        PyArray1::from_vec(py, self.0.drawn_mm())
    }

    /// Draws the deflection on matplotlib axes (new ones when left out) and returns them.
    #[pyo3(signature = (ax=None))]
    fn plot<'py>(slf: &Bound<'py, Self>, ax: Option<&Bound<'py, PyAny>>) -> PyResult<Bound<'py, PyAny>> {
        slf.py().import("bracewright.top_plots")?.call_method1("plot_under", (slf, ax))
    }

    fn __repr__(&self) -> String {
        let (most, (x, y)) = self.0.greatest_mm();
        format!("TopUnder({} loads, {} mm at ({}, {}) mm)", self.0.loads().len(), short(most), short(x), short(y))
    }
}

#[pymethods]
impl PyTopModes {
    /// The top.
    #[getter]
    fn top(&self) -> PyTop {
        PyTop(self.0.top().clone())
    }

    /// Frequencies, Hz.
    #[getter]
    fn frequencies_hz<'py>(&self, py: Python<'py>) -> Bound<'py, PyArray1<f64>> {
        PyArray1::from_vec(py, self.0.frequencies_hz())
    }

    /// Deflection of a mode (0 the lowest) at places, for a modal mass of 1 g.
    fn shape<'py>(
        &self,
        py: Python<'py>,
        #[pyo3(from_py_with = need::mode)] mode: usize,
        x_mm: &Bound<'py, PyAny>,
        y_mm: &Bound<'py, PyAny>,
    ) -> Result<Bound<'py, PyArray1<f64>>> {
        Ok(PyArray1::from_vec(py, self.0.shape(mode, &MM.list("x_mm", x_mm)?, &MM.list("y_mm", y_mm)?)?))
    }

    /// Modal mass of a mode at a place (x, y), g: what a single mass there would weigh.
    fn modal_mass_g(&self, #[pyo3(from_py_with = need::mode)] mode: usize, place_mm: &Bound<'_, PyAny>) -> Result<f64> {
        Ok(self.0.modal_mass_g(mode, point("place_mm", place_mm)?)?)
    }

    /// Area of a piston at a place (x, y) that moves as much air as the mode, cm2; below 0 where most of it goes the other way.
    fn effective_area_cm2(&self, #[pyo3(from_py_with = need::mode)] mode: usize, place_mm: &Bound<'_, PyAny>) -> Result<f64> {
        Ok(self.0.effective_area_cm2(mode, point("place_mm", place_mm)?)?)
    }

    /// Mobility at a place (x, y), s/kg, at frequencies: magnitude of velocity over force by the sum of these modes, all with the same
    /// quality factor.
    #[pyo3(signature = (place_mm, frequency_hz, *, quality=50.0))]
    fn mobility_s_kg<'py>(
        &self,
        py: Python<'py>,
        place_mm: &Bound<'py, PyAny>,
        frequency_hz: &Bound<'py, PyAny>,
        #[pyo3(from_py_with = need::quality)] quality: f64,
    ) -> Result<Bound<'py, PyArray1<f64>>> {
        let f = HZ.list("frequency_hz", frequency_hz)?;
        Ok(PyArray1::from_vec(py, self.0.mobility_s_kg(point("place_mm", place_mm)?, &f, quality)?))
    }

    /// Deflection of a mode at every place of the mesh, as Top.drawn has them, for a modal mass of 1 g.
    fn drawn<'py>(&self, py: Python<'py>, #[pyo3(from_py_with = need::mode)] mode: usize) -> Result<Bound<'py, PyArray1<f64>>> {
        Ok(PyArray1::from_vec(py, self.0.drawn(mode)?))
    }

    /// Draws a mode on matplotlib axes (new ones when left out) and returns them.
    #[pyo3(signature = (mode, ax=None))]
    fn plot<'py>(
        slf: &Bound<'py, Self>,
        #[pyo3(from_py_with = need::mode)] mode: usize,
        ax: Option<&Bound<'py, PyAny>>,
    ) -> PyResult<Bound<'py, PyAny>> {
        slf.py().import("bracewright.top_plots")?.call_method1("plot_mode", (slf, mode, ax))
    }

    fn __repr__(&self) -> String {
        format!("TopModes({} Hz)", self.0.frequencies_hz().iter().map(|f| short(*f)).collect::<Vec<_>>().join(", "))
    }
}
