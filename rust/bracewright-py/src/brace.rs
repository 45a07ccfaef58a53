//! Twin of `brace`: what is drawn, weighed and checked. Bending and vibration are in `bend`.

use bracewright::brace::Drawn;
use bracewright::{AlongBrace, Brace};
use numpy::{PyArray1, PyArray2};
use pyo3::prelude::*;

use crate::argument::{may, need};
use crate::bend::{PyBend, PyFrequencies, PyWorking, faces, loads, supports};
use crate::blank::PyBlank;
use crate::carve::PySensitivity;
use crate::convert::{MM, N_M};
use crate::error::Result;
use crate::places::PyPlace;
use crate::profile::{PyProfile, PyShapeChecks};
use crate::rig::PyRig;
use crate::section::PySection;
use crate::value::{Shown, frame, getters, html, record, short, value};

/// A fresh numpy array.
type Column<'py> = Bound<'py, PyArray1<f64>>;

record! {
    /// The section's numbers along the brace as drawn, one value a station.
    PyAlongBrace, "AlongBrace", AlongBrace {
        /// Stations, mm from the left end.
        x_mm;
        /// Height of the crest above the glue face, mm.
        height_mm;
        /// Area, mm2.
        area_mm2;
        /// Centroid above the glue face, mm.
        centroid_mm;
        /// Second moment about the centroid, mm4.
        i_centroid_mm4;
        /// Second moment about the glue face, mm4.
        i_glue_mm4;
        /// EI of the drawing about the centroid, N m2.
        ei_n_m2;
        /// Section modulus at the crest, mm3.
        modulus_crest_mm3;
        /// Section modulus at the glue face, mm3.
        modulus_glue_mm3;
    }
}
frame!(PyAlongBrace);

record! {
    /// Height, area and stiffness along the brace as drawn, one value a station.
    PyDrawn, "Drawn", Drawn {
        /// Height of the crest above the glue face, mm.
        height_mm;
        /// Area, mm2.
        area_mm2;
        /// Second moment about the centroid, mm4.
        i_centroid_mm4;
        /// EI of the drawing about the centroid, N m2.
        ei_n_m2;
    }
}
frame!(PyDrawn);

/// A brace: a blank, the profile it has or will have, and its section (a rectangle when left out).
///
/// The profile must lie inside the blank: a cut only takes wood away. Every change is a new brace.
#[pyclass(frozen, eq, name = "Brace", module = "bracewright")]
#[derive(Debug, Clone, PartialEq)]
pub struct PyBrace(pub Brace);

value!(PyBrace, Brace, "Brace");

getters! { PyBrace {
    /// Length, mm.
    length_mm;
    /// Width at the glue face, mm.
    width_mm;
}}

#[pymethods]
impl PyBrace {
    #[new]
    #[pyo3(signature = (blank, profile, section=None))]
    fn new(blank: &PyBlank, profile: &PyProfile, section: Option<&PySection>) -> Result<Self> {
        let rectangle = bracewright::Section::rectangle();
        Ok(Self(Brace::new(&blank.0, &profile.0, section.map_or(&rectangle, |s| &s.0))?))
    }

    /// The stick as it stands: a rectangle in section.
    #[staticmethod]
    fn uncarved(blank: &PyBlank) -> Self {
        Self(Brace::uncarved(&blank.0))
    }

    /// The blank.
    #[getter]
    fn blank(&self) -> PyBlank {
        PyBlank(self.0.blank().clone())
    }

    /// The profile.
    #[getter]
    fn profile(&self) -> PyProfile {
        PyProfile(self.0.profile().clone())
    }

    /// The section.
    #[getter]
    fn section(&self) -> PySection {
        PySection(self.0.section().clone())
    }

    /// Volume of the brace's own wood, mm3.
    #[getter]
    fn volume_mm3(&self) -> Result<f64> {
        Ok(self.0.volume_mm3()?)
    }

    /// Mass, g, at the blank's density.
    #[getter]
    fn mass_g(&self) -> Result<f64> {
        Ok(self.0.mass_g()?)
    }

    /// Mass, g, of the part between two places, mm.
    fn mass_between_g(
        &self,
        #[pyo3(from_py_with = need::start_mm)] start_mm: f64,
        #[pyo3(from_py_with = need::end_mm)] end_mm: f64,
    ) -> Result<f64> {
        Ok(self.0.mass_between_g(start_mm, end_mm)?)
    }

    /// Evenly spaced stations from end to end, mm.
    fn stations_mm<'py>(&self, py: Python<'py>, #[pyo3(from_py_with = need::count)] count: usize) -> Column<'py> {
        PyArray1::from_vec(py, self.0.stations_mm(count.min(1_000_000)))
    }

    /// Height, area, moments and EI as drawn at each station, mm from the left end.
    fn along(&self, py: Python<'_>, x_mm: &Bound<'_, PyAny>) -> Result<PyAlongBrace> {
        let x = MM.list("x_mm", x_mm)?;
        Ok(PyAlongBrace(py.detach(|| self.0.along(&x))?))
    }

    /// Height, area, second moment and EI at each station: the quick form of along().
    fn drawn(&self, py: Python<'_>, x_mm: &Bound<'_, PyAny>) -> Result<PyDrawn> {
        let x = MM.list("x_mm", x_mm)?;
        Ok(PyDrawn(py.detach(|| self.0.drawn(&x))?))
    }

    /// EI of the drawing at each station, N m2. What works there is in working(): a short peak lends less than it shows.
    fn ei_n_m2<'py>(&self, py: Python<'py>, x_mm: &Bound<'py, PyAny>) -> Result<Column<'py>> {
        let x = MM.list("x_mm", x_mm)?;
        let ei = py.detach(|| self.0.drawn(&x))?.ei_n_m2;
        Ok(PyArray1::from_vec(py, ei))
    }

    /// Bending stress, MPa, at crest and glue face under a moment at each station (N m, sagging positive); tension is
    /// positive. M/W of the drawing: lower in a peak, higher at the foot of a steep wall.
    #[pyo3(signature = (x_mm, *, moment_n_m))]
    fn stress_mpa<'py>(
        &self,
        py: Python<'py>,
        x_mm: &Bound<'py, PyAny>,
        moment_n_m: &Bound<'py, PyAny>,
    ) -> Result<(Column<'py>, Column<'py>)> {
        let (crest, glue) = self.0.stress_mpa(&MM.list("x_mm", x_mm)?, &N_M.list("moment_n_m", moment_n_m)?)?;
        Ok((PyArray1::from_vec(py, crest), PyArray1::from_vec(py, glue)))
    }

    /// Gouge, wall and floor checks against limits that may be left out.
    #[pyo3(signature = (*, gouge_radius_mm=None, steepest_wall_deg=None, smallest_safe_height_mm=None))]
    fn checks(
        &self,
        #[pyo3(from_py_with = may::gouge_radius_mm)] gouge_radius_mm: Option<f64>,
        #[pyo3(from_py_with = may::steepest_wall_deg)] steepest_wall_deg: Option<f64>,
        #[pyo3(from_py_with = may::smallest_safe_height_mm)] smallest_safe_height_mm: Option<f64>,
    ) -> Result<PyShapeChecks> {
        Ok(PyShapeChecks(self.0.checks(gouge_radius_mm, steepest_wall_deg, smallest_safe_height_mm)?))
    }

    /// Value, mm, of a named dimension: "scallop depth", "scallop length", "height", "end height", "floor height", "width",
    /// "cap rise", "scallop 1 depth", ...
    fn dimension(&self, name: &str) -> Result<f64> {
        Ok(self.0.dimension(name)?)
    }

    /// With a named dimension changed, mm; scallops of different depths keep their ratios.
    fn with_dimension(&self, name: &str, #[pyo3(from_py_with = need::value_mm)] value_mm: f64) -> Result<Self> {
        Ok(Self(self.0.with_dimension(name, value_mm)?))
    }

    /// The same shape on another belief of the same stick, or on another stick.
    fn with_blank(&self, blank: &PyBlank) -> Result<Self> {
        Ok(Self(self.0.with_blank(&blank.0)?))
    }

    /// With another profile.
    fn with_profile(&self, profile: &PyProfile) -> Result<Self> {
        Ok(Self(self.0.with_profile(&profile.0)?))
    }

    /// With another section.
    fn with_section(&self, section: &PySection) -> Result<Self> {
        Ok(Self(self.0.with_section(&section.0)?))
    }

    /// Narrowed to a width at the glue face, mm.
    fn with_width_mm(&self, #[pyo3(from_py_with = need::width_mm)] width_mm: f64) -> Result<Self> {
        Ok(Self(self.0.with_width_mm(width_mm)?))
    }

    /// The brace turned end for end.
    fn mirrored(&self) -> Result<Self> {
        Ok(Self(self.0.mirrored()?))
    }

    /// Deflection, moments and reactions under loads, by the depth-resolved beam, the section beam beside it.
    ///
    /// `loads` are Load(...) or pairs (x_mm, force_n); `supports` are Support.pad/held/clamped(...) or places in mm, which
    /// stand for pads; `at_mm` is where to read, `dial` the face read: "underside", "crest" or "mid".
    #[pyo3(signature = (loads, *, supports, at_mm, dial="underside"))]
    fn bend(
        &self,
        py: Python<'_>,
        loads: &Bound<'_, PyAny>,
        supports: &Bound<'_, PyAny>,
        at_mm: &Bound<'_, PyAny>,
        dial: &str,
    ) -> Result<PyBend> {
        let (loads, supports, at) = (self::loads(loads)?, self::supports(supports)?, MM.list("at_mm", at_mm)?);
        let dial = faces("dial", dial)?;
        Ok(PyBend(py.detach(|| self.0.bend(&loads, &supports, &at, dial))?))
    }

    /// The lowest frequencies, Hz, of bending in the side view, free on all sides or with the left end section clamped.
    #[pyo3(signature = (*, count=3, clamped_left=false))]
    fn frequencies(
        &self,
        py: Python<'_>,
        #[pyo3(from_py_with = need::count)] count: usize,
        clamped_left: bool,
    ) -> Result<PyFrequencies> {
        Ok(PyFrequencies(py.detach(|| self.0.frequencies(count, clamped_left))?))
    }

    /// Shapes of those modes: the deflection averaged over the height at each station, one row a mode, its greatest 1.
    #[pyo3(signature = (x_mm, *, count=3, clamped_left=false))]
    fn mode_shapes<'py>(
        &self,
        py: Python<'py>,
        x_mm: &Bound<'py, PyAny>,
        #[pyo3(from_py_with = need::count)] count: usize,
        clamped_left: bool,
    ) -> Result<Bound<'py, PyArray2<f64>>> {
        let x = MM.list("x_mm", x_mm)?;
        let shapes = py.detach(|| self.0.mode_shapes(&x, count, clamped_left))?;
        PyArray2::from_vec2(py, &shapes).map_err(|e| bracewright::Error::Refused(e.to_string()).into())
    }

    /// EI as drawn and as it works at each station, N m2: under pure bending, the moment over the rate of turn of the
    /// section's best-fit plane, averaged over window_mm.
    #[pyo3(signature = (x_mm, *, window_mm=5.0))]
    fn working(
        &self,
        py: Python<'_>,
        x_mm: &Bound<'_, PyAny>,
        #[pyo3(from_py_with = need::window_mm)] window_mm: f64,
    ) -> Result<PyWorking> {
        let x = MM.list("x_mm", x_mm)?;
        Ok(PyWorking(py.detach(|| self.0.working(&x, window_mm))?))
    }

    /// What a millimetre and a gram are worth at each of `places` equal stretches, for the stiffness on a rig.
    #[pyo3(signature = (rig, *, places=40))]
    fn sensitivity(
        &self,
        py: Python<'_>,
        rig: &PyRig,
        #[pyo3(from_py_with = need::places)] places: usize,
    ) -> Result<PySensitivity> {
        Ok(PySensitivity(py.detach(|| self.0.sensitivity(&rig.0, places))?))
    }

    /// Deflection per newton, mm/N, under a load midway between two supports, by the section beam with shear: quick, and
    /// too stiff where there are short peaks.
    #[pyo3(signature = (*, span_mm))]
    fn section_three_point_mm_per_n(&self, #[pyo3(from_py_with = need::span_mm)] span_mm: f64) -> Result<f64> {
        Ok(self.0.section_three_point_mm_per_n(span_mm)?)
    }

    /// The places a maker thinks of: each scallop, each end outside them, and the whole crest.
    fn usual_places(&self) -> Vec<PyPlace> {
        self.0.usual_places().into_iter().map(PyPlace).collect()
    }

    /// The side view with its stations as SVG, for a sheet 190 mm wide.
    #[pyo3(signature = (*, stations_mm=None))]
    fn svg(&self, stations_mm: Option<&Bound<'_, PyAny>>) -> Result<String> {
        let x = stations_mm.map(|x| MM.list("stations_mm", x)).transpose()?.unwrap_or_default();
        Ok(bracewright::picture::profile_svg(&self.0, &x)?)
    }

    /// Draws the brace on matplotlib axes (new ones when left out) and returns them.
    #[pyo3(signature = (ax=None))]
    fn plot<'py>(slf: &Bound<'py, Self>, ax: Option<&Bound<'py, PyAny>>) -> PyResult<Bound<'py, PyAny>> {
        slf.py().import("bracewright.plots")?.call_method1("plot_brace", (slf, ax))
    }

    fn __repr__(&self) -> String {
        let b = &self.0;
        let ((_, low), (_, high)) = b.profile().crest().extremes(0.0, b.length_mm());
        format!(
            "Brace({}, {} x {} mm, {} to {} mm high, {}, {} g)",
            b.blank().wood().name(),
            short(b.length_mm()),
            short(b.width_mm()),
            short((low * 100.0).round() / 100.0),
            short((high * 100.0).round() / 100.0),
            b.section().name(),
            b.mass_g().map_or("?".into(), |m| format!("{m:.2}"))
        )
    }

    fn _repr_html_(&self) -> String {
        let picture = self.svg(None).unwrap_or_default();
        let along = self.0.along(&self.0.stations_mm(12)).unwrap_or_default();
        let column = |name, c| Shown { name, text: String::new(), column: Some(c) };
        let columns =
            [column("x_mm", along.x_mm.as_slice()), column("height_mm", &along.height_mm), column("ei_n_m2", &along.ei_n_m2)];
        format!("{picture}{}", html(&self.__repr__(), &columns))
    }
}
