//! Twins of `many` and `tolerance`: many braces at once, by the section beam.

use bracewright::many::{AlongMany, Lot, ManyPasses, RoughCarving, USUAL_SHEAR_RATIO};
use bracewright::tolerance::{Spreads, Tolerance, tolerance as drawn};
use bracewright::{Error, Section};
use ndarray::Array2;
use numpy::{IntoPyArray, PyArray1, PyArray2, PyArrayDyn, PyArrayMethods, PyReadwriteArrayDyn, PyUntypedArrayMethods};
use pyo3::prelude::*;

use crate::argument::{may, need};
use crate::brace::PyBrace;
use crate::convert::{GPA, KG_M3, MM};
use crate::error::{Result, invalid};
use crate::profile::{PyProfile, blends};
use crate::section::PySection;
use crate::value::{html, record, value};

/// Many braces at once by the section beam: sweeps of a shape, lots of blanks. Too stiff where there are short peaks; for
/// what a person acts on, solve one Brace.
///
/// Lot.through(...) makes one from points, a row a brace; Lot.of([...]) from braces. The numbers do not depend on the
/// count of cores.
#[pyclass(frozen, eq, name = "Lot", module = "bracewright")]
#[derive(Debug, Clone, PartialEq)]
pub struct PyLot(pub Lot);

value!(PyLot, Lot, "Lot");

/// One row a brace.
fn rows<'py>(py: Python<'py>, per_row: usize, values: Vec<f64>) -> Result<Bound<'py, PyArray2<f64>>> {
    let n = values.len() / per_row.max(1);
    let shaped = Array2::from_shape_vec((n, per_row), values);
    Ok(shaped.map_err(|e| Error::Refused(format!("the rows do not fit: {e}")))?.into_pyarray(py))
}

/// An array of ours to write into: float64, rows without gaps, and not somebody else's to read meanwhile.
fn room<'py>(name: &str, given: &Bound<'py, PyAny>) -> PyResult<PyReadwriteArrayDyn<'py, f64>> {
    let bad =
        |problem: &str| invalid(format!("{name} {problem}; give a numpy array of float64 with rows without gaps to write into"));
    let array = given.cast::<PyArrayDyn<f64>>().map_err(|_| bad("is no array of float64"))?;
    if !array.is_c_contiguous() {
        return Err(bad("has gaps between its numbers"));
    }
    array.try_readwrite().map_err(|_| bad("cannot be written to"))
}

fn slice<'a>(name: &str, array: &'a mut PyReadwriteArrayDyn<'_, f64>) -> PyResult<&'a mut [f64]> {
    array.as_slice_mut().map_err(|_| invalid(format!("{name} has gaps between its numbers")))
}

#[pymethods]
impl PyLot {
    /// Braces of one recipe: at_mm and height_mm hold a row of points for each brace (at_mm may be one row for all), a blend
    /// between each pair as for Profile.through. With `mirrored`, at_mm is the distance from the middle and the brace is
    /// twice as long. Width, modulus and density: one for all, or one a brace. shear_ratio is G over E.
    #[staticmethod]
    #[pyo3(signature = (*, at_mm, height_mm, width_mm, modulus_gpa, density_kg_m3, blend=None, mirrored=false, section=None, shear_ratio=None))]
    fn through(
        at_mm: &Bound<'_, PyAny>,
        height_mm: &Bound<'_, PyAny>,
        width_mm: &Bound<'_, PyAny>,
        modulus_gpa: &Bound<'_, PyAny>,
        density_kg_m3: &Bound<'_, PyAny>,
        blend: Option<&Bound<'_, PyAny>>,
        mirrored: bool,
        section: Option<&PySection>,
        #[pyo3(from_py_with = may::shear_ratio)] shear_ratio: Option<f64>,
    ) -> Result<Self> {
        let (mut at, points) = MM.rows("at_mm", at_mm)?;
        let (height, per_row) = MM.rows("height_mm", height_mm)?;
        if points != per_row {
            return Err(Error::LengthMismatch {
                left: "a row of at_mm".into(),
                left_len: points,
                right: "a row of height_mm".into(),
                right_len: per_row,
            }
            .into());
        }
        if at.len() == points && points > 0 {
            at = at.repeat(height.len() / points);
        }
        let rectangle = Section::rectangle();
        let section = section.map_or(&rectangle, |s| &s.0);
        let lot = Lot::through(
            points,
            at,
            height,
            &blends(blend)?,
            mirrored,
            &MM.list("width_mm", width_mm)?,
            &GPA.list("modulus_gpa", modulus_gpa)?,
            &KG_M3.list("density_kg_m3", density_kg_m3)?,
            section,
        )?;
        Ok(Self(lot.with_shear_ratio(shear_ratio.unwrap_or(USUAL_SHEAR_RATIO))?))
    }

    /// Braces made one by one, all of one section family, without half-laps.
    #[staticmethod]
    fn of(braces: Vec<PyRef<'_, PyBrace>>) -> Result<Self> {
        let braces: Vec<_> = braces.iter().map(|b| b.0.clone()).collect();
        Ok(Self(Lot::of(&braces)?))
    }

    /// One brace of the lot as a profile; counted from 0.
    fn profile(&self, #[pyo3(from_py_with = need::index)] index: usize) -> Result<PyProfile> {
        Ok(PyProfile(self.0.profile(index)?))
    }

    /// With another section family.
    fn with_section(&self, section: &PySection) -> Result<Self> {
        Ok(Self(self.0.with_section(&section.0)?))
    }

    /// Area, second moment and EI of every brace at evenly spaced stations from end to end, and its mass.
    #[pyo3(signature = (*, stations))]
    fn along(&self, py: Python<'_>, #[pyo3(from_py_with = need::stations)] stations: usize) -> Result<PyAlongMany> {
        Ok(PyAlongMany(py.detach(|| self.0.along(stations))?))
    }

    /// The same into arrays that exist already: three of one row a brace and one column a station, and a mass a brace.
    #[pyo3(signature = (*, area_mm2, i_centroid_mm4, ei_n_m2, mass_g))]
    fn along_into(
        &self,
        py: Python<'_>,
        area_mm2: &Bound<'_, PyAny>,
        i_centroid_mm4: &Bound<'_, PyAny>,
        ei_n_m2: &Bound<'_, PyAny>,
        mass_g: &Bound<'_, PyAny>,
    ) -> Result<()> {
        let mut area = room("area_mm2", area_mm2)?;
        let mut inertia = room("i_centroid_mm4", i_centroid_mm4)?;
        let mut ei = room("ei_n_m2", ei_n_m2)?;
        let mut mass = room("mass_g", mass_g)?;
        let n = self.0.len();
        let stations = match *area.shape() {
            [rows, stations] if rows == n => stations,
            ref shape => {
                return Err(invalid(format!("area_mm2 has shape {shape:?}; it must have {n} rows, one a brace")).into());
            }
        };
        let (area, inertia) = (slice("area_mm2", &mut area)?, slice("i_centroid_mm4", &mut inertia)?);
        let (ei, mass) = (slice("ei_n_m2", &mut ei)?, slice("mass_g", &mut mass)?);
        Ok(py.detach(|| self.0.along_into(stations, area, inertia, ei, mass))?)
    }

    /// Mass of each brace, g.
    #[getter]
    fn mass_g<'py>(&self, py: Python<'py>) -> Bound<'py, PyArray1<f64>> {
        PyArray1::from_vec(py, py.detach(|| self.0.mass_g()))
    }

    /// Deflection per newton, mm/N, of each brace under a load midway between supports span_mm apart (one for all, or one a
    /// brace); `points` Gauss points a ramp, 4 to 32. Into `out`, an array of float64, when it is given.
    #[pyo3(signature = (*, span_mm, points=8, out=None))]
    fn three_point_mm_per_n<'py>(
        &self,
        py: Python<'py>,
        span_mm: &Bound<'py, PyAny>,
        #[pyo3(from_py_with = need::points)] points: usize,
        out: Option<Bound<'py, PyAny>>,
    ) -> Result<Bound<'py, PyAny>> {
        let span = MM.list("span_mm", span_mm)?;
        let Some(out) = out else {
            let found = py.detach(|| self.0.three_point_mm_per_n(&span, points))?;
            return Ok(PyArray1::from_vec(py, found).into_any());
        };
        let mut array = room("out", &out)?;
        let values = slice("out", &mut array)?;
        py.detach(|| self.0.three_point_into(&span, points, values))?;
        Ok(out)
    }

    /// Grams off and stiffness through passes of at most max_depth_mm, from a stick blank_height_mm high that the machine
    /// left allowance_mm above the shape.
    #[pyo3(signature = (*, blank_height_mm, allowance_mm, max_depth_mm, passes, span_mm))]
    fn passes(
        &self,
        py: Python<'_>,
        #[pyo3(from_py_with = need::blank_height_mm)] blank_height_mm: f64,
        #[pyo3(from_py_with = need::allowance_mm)] allowance_mm: f64,
        #[pyo3(from_py_with = need::max_depth_mm)] max_depth_mm: f64,
        #[pyo3(from_py_with = need::passes)] passes: usize,
        span_mm: &Bound<'_, PyAny>,
    ) -> Result<PyManyPasses> {
        let span = MM.list("span_mm", span_mm)?;
        let rough = RoughCarving { blank_height_mm, allowance_mm, max_depth_mm, passes };
        Ok(PyManyPasses(py.detach(|| self.0.passes(&rough, &span))?))
    }

    fn __len__(&self) -> usize {
        self.0.len()
    }

    fn __repr__(&self) -> String {
        format!("Lot({} braces, the first {} mm long)", self.0.len(), crate::value::short(self.0.length_mm(0)))
    }

    fn _repr_html_(&self) -> String {
        html(&self.__repr__(), &[])
    }
}

/// Numbers along many braces at evenly spaced stations, one row a brace.
#[pyclass(frozen, eq, name = "AlongMany", module = "bracewright")]
#[derive(Debug, Clone, PartialEq)]
pub struct PyAlongMany(pub AlongMany);

value!(PyAlongMany, AlongMany, "AlongMany");

#[pymethods]
impl PyAlongMany {
    /// Area, mm2.
    #[getter]
    fn area_mm2<'py>(&self, py: Python<'py>) -> Result<Bound<'py, PyArray2<f64>>> {
        rows(py, self.0.stations, self.0.area_mm2.clone())
    }

    /// Second moment about the centroid, mm4.
    #[getter]
    fn i_centroid_mm4<'py>(&self, py: Python<'py>) -> Result<Bound<'py, PyArray2<f64>>> {
        rows(py, self.0.stations, self.0.i_centroid_mm4.clone())
    }

    /// EI of the drawing, N m2.
    #[getter]
    fn ei_n_m2<'py>(&self, py: Python<'py>) -> Result<Bound<'py, PyArray2<f64>>> {
        rows(py, self.0.stations, self.0.ei_n_m2.clone())
    }

    /// Mass of each brace, g.
    #[getter]
    fn mass_g<'py>(&self, py: Python<'py>) -> Bound<'py, PyArray1<f64>> {
        PyArray1::from_slice(py, &self.0.mass_g)
    }

    fn __repr__(&self) -> String {
        format!("AlongMany({} braces at {} stations)", self.0.mass_g.len(), self.0.stations)
    }

    fn _repr_html_(&self) -> String {
        html(&self.__repr__(), &[])
    }
}

/// What the passes do, one row a brace.
#[pyclass(frozen, eq, name = "ManyPasses", module = "bracewright")]
#[derive(Debug, Clone, PartialEq)]
pub struct PyManyPasses(pub ManyPasses);

value!(PyManyPasses, ManyPasses, "ManyPasses");

#[pymethods]
impl PyManyPasses {
    /// Grams off at each pass: one column a pass.
    #[getter]
    fn grams_off<'py>(&self, py: Python<'py>) -> Result<Bound<'py, PyArray2<f64>>> {
        rows(py, self.0.passes, self.0.grams_off.clone())
    }

    /// Three-point stiffness, N/mm, before the first and after each pass.
    #[getter]
    fn stiffness_n_per_mm<'py>(&self, py: Python<'py>) -> Result<Bound<'py, PyArray2<f64>>> {
        rows(py, self.0.passes + 1, self.0.stiffness_n_per_mm.clone())
    }

    fn __repr__(&self) -> String {
        format!("ManyPasses({} braces, {} passes)", self.0.grams_off.len() / self.0.passes.max(1), self.0.passes)
    }

    fn _repr_html_(&self) -> String {
        html(&self.__repr__(), &[])
    }
}

record! {
    /// Percentiles of stiffness and mass.
    PyTolerance, "Tolerance", Tolerance {
        /// The percentiles asked for.
        percent;
        /// Three-point stiffness by the section beam, N/mm, at each.
        stiffness_n_per_mm;
        /// Mass, g, at each.
        mass_g;
        /// Draws made.
        draws;
    }
}
crate::value::frame!(PyTolerance);

/// What the spread of wood and hand does to stiffness and mass: draws modulus, density (both relative spreads), width (mm)
/// and one dimension (name, standard deviation in mm) as independent normals and returns percentiles. The same seed
/// gives the same numbers on any number of cores.
#[pyfunction]
#[pyo3(signature = (brace, *, span_mm, modulus_spread, density_spread, width_spread_mm=0.0, dimension=None, dimension_spread_mm=0.0,
    percent=None, draws=1_000_000, seed=1))]
pub fn tolerance(
    py: Python<'_>,
    brace: &PyBrace,
    #[pyo3(from_py_with = need::span_mm)] span_mm: f64,
    #[pyo3(from_py_with = need::modulus_spread)] modulus_spread: f64,
    #[pyo3(from_py_with = need::density_spread)] density_spread: f64,
    #[pyo3(from_py_with = need::width_spread_mm)] width_spread_mm: f64,
    dimension: Option<String>,
    #[pyo3(from_py_with = need::dimension_spread_mm)] dimension_spread_mm: f64,
    percent: Option<&Bound<'_, PyAny>>,
    #[pyo3(from_py_with = need::draws)] draws: usize,
    #[pyo3(from_py_with = need::seed)] seed: u64,
) -> Result<PyTolerance> {
    let spreads = Spreads {
        modulus: modulus_spread,
        density: density_spread,
        width_mm: width_spread_mm,
        dimension: dimension.map(|d| (d, dimension_spread_mm)),
    };
    let percent =
        percent.map(|p| crate::convert::PERCENT.list("percent", p)).transpose()?.unwrap_or_else(|| vec![5.0, 50.0, 95.0]);
    Ok(PyTolerance(py.detach(|| drawn(&brace.0, span_mm, &spreads, &percent, draws, seed))?))
}

/// Number of threads that lots, draws and searches share out their work over: the cores of the machine, or RAYON_NUM_THREADS.
#[pyfunction]
pub fn threads() -> usize {
    bracewright::many::threads()
}
