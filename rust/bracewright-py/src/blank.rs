//! Twin of `blank`.

use bracewright::{Blank, Profile, SizeUncertainty};
use pyo3::prelude::*;
use pyo3::types::PyTuple;

use crate::argument::{may, need};
use crate::brace::PyBrace;
use crate::convert::{MM, NOT_GIVEN, by_name};
use crate::error::Result;
use crate::profile::PyProfile;
use crate::reading::{PyExpected, PyReading};
use crate::rig::PyRig;
use crate::value::{Shown, getters, html, short, value};
use crate::wood::{PyPlaneStiffness, PyWood};

/// A stick before it is carved: its wood, its measured size and mass, and what is believed of its stiffness.
///
/// Without a mass the density is the species' own; without a modulus the belief is the species' figure and its spread
/// (about 22 %). Length 1 to 2000 mm, width 0.1 to 100, height 0.1 to 200, mass from 0.001 g. u_length_mm, u_width_mm, u_height_mm and u_mass_g are standard uncertainties of the measuring.
/// ring_angle_deg is 0 for rings upright in the brace, 90 for flat; run_out the slope of the grain in the side view (1/15
/// for 1 in 15). A value: learning from a reading gives a new blank.
#[pyclass(frozen, eq, name = "Blank", module = "bracewright")]
#[derive(Debug, Clone, PartialEq)]
pub struct PyBlank(pub Blank);

value!(PyBlank, Blank, "Blank");

getters! { PyBlank {
    /// Length, mm.
    length_mm;
    /// Width, mm.
    width_mm;
    /// Greatest height, mm.
    height_mm;
    /// Mass as weighed, g, or None.
    mass_g;
    /// Volume as measured, mm3.
    volume_mm3;
    /// Density, kg/m3: from mass and size, or the species' own when it was not weighed.
    density_kg_m3;
    /// Relative standard uncertainty of the density.
    density_spread;
    /// Median of what is believed of E along the grain, GPa.
    modulus_gpa;
    /// Standard deviation of its logarithm: about the relative one.
    modulus_spread;
    /// How many readings that belief has learned from.
    learned_from;
    /// Ring angle, degrees: 0 upright, 90 flat.
    ring_angle_deg;
    /// Slope of the grain in the side view.
    run_out;
}}

impl PyBlank {
    fn finished(
        blank: Blank,
        u: SizeUncertainty,
        ring_angle_deg: f64,
        run_out: f64,
        modulus_gpa: Option<f64>,
        modulus_spread: Option<f64>,
    ) -> Result<Self> {
        let blank = blank.with_size_uncertainty(u)?.with_grain(ring_angle_deg, run_out)?;
        let (gpa, spread) = (modulus_gpa.unwrap_or(blank.modulus_gpa()), modulus_spread.unwrap_or(blank.modulus_spread()));
        Ok(Self(if modulus_gpa.is_some() || modulus_spread.is_some() { blank.with_modulus(gpa, spread)? } else { blank }))
    }
}

#[pymethods]
impl PyBlank {
    #[new]
    #[pyo3(signature = (wood, *rest, length_mm=NOT_GIVEN, width_mm=NOT_GIVEN, height_mm=NOT_GIVEN, mass_g=None, u_length_mm=0.5,
        u_width_mm=0.03, u_height_mm=0.03, u_mass_g=0.05, ring_angle_deg=0.0, run_out=0.0, modulus_gpa=None, modulus_spread=None),
        text_signature = "(wood, *, length_mm, width_mm, height_mm, mass_g=None, u_length_mm=0.5, u_width_mm=0.03, u_height_mm=0.03, u_mass_g=0.05, ring_angle_deg=0.0, run_out=0.0, modulus_gpa=None, modulus_spread=None)")]
    fn new(
        wood: &PyWood,
        rest: &Bound<'_, PyTuple>,
        #[pyo3(from_py_with = need::length_mm)] length_mm: f64,
        #[pyo3(from_py_with = need::width_mm)] width_mm: f64,
        #[pyo3(from_py_with = need::height_mm)] height_mm: f64,
        #[pyo3(from_py_with = may::mass_g)] mass_g: Option<f64>,
        #[pyo3(from_py_with = need::u_length_mm)] u_length_mm: f64,
        #[pyo3(from_py_with = need::u_width_mm)] u_width_mm: f64,
        #[pyo3(from_py_with = need::u_height_mm)] u_height_mm: f64,
        #[pyo3(from_py_with = need::u_mass_g)] u_mass_g: f64,
        #[pyo3(from_py_with = need::ring_angle_deg)] ring_angle_deg: f64,
        #[pyo3(from_py_with = need::run_out)] run_out: f64,
        #[pyo3(from_py_with = may::modulus_gpa)] modulus_gpa: Option<f64>,
        #[pyo3(from_py_with = may::modulus_spread)] modulus_spread: Option<f64>,
    ) -> Result<Self> {
        let sizes = [("length_mm", length_mm), ("width_mm", width_mm), ("height_mm", height_mm)];
        by_name(rest, "Blank(wood, length_mm=420, width_mm=8, height_mm=17)", &sizes)?;
        let u = SizeUncertainty { length_mm: u_length_mm, width_mm: u_width_mm, height_mm: u_height_mm, mass_g: u_mass_g };
        let blank = Blank::new(&wood.0, length_mm, width_mm, height_mm, mass_g)?;
        Self::finished(blank, u, ring_angle_deg, run_out, modulus_gpa, modulus_spread)
    }

    /// A stick whose height was measured at stations: at_mm from 0 to the length, height_mm at each, mm.
    #[staticmethod]
    #[pyo3(signature = (wood, *, at_mm, height_mm, width_mm, mass_g=None, ring_angle_deg=0.0, run_out=0.0, modulus_gpa=None, modulus_spread=None))]
    fn measured(
        wood: &PyWood,
        at_mm: &Bound<'_, PyAny>,
        height_mm: &Bound<'_, PyAny>,
        #[pyo3(from_py_with = need::width_mm)] width_mm: f64,
        #[pyo3(from_py_with = may::mass_g)] mass_g: Option<f64>,
        #[pyo3(from_py_with = need::ring_angle_deg)] ring_angle_deg: f64,
        #[pyo3(from_py_with = need::run_out)] run_out: f64,
        #[pyo3(from_py_with = may::modulus_gpa)] modulus_gpa: Option<f64>,
        #[pyo3(from_py_with = may::modulus_spread)] modulus_spread: Option<f64>,
    ) -> Result<Self> {
        let start = Profile::measured(&MM.list("at_mm", at_mm)?, &MM.list("height_mm", height_mm)?)?;
        let blank = Blank::shaped(&wood.0, start, width_mm, mass_g)?;
        Self::finished(blank, SizeUncertainty::default(), ring_angle_deg, run_out, modulus_gpa, modulus_spread)
    }

    /// A stick that already has a shape: `profile` is what is there now.
    #[staticmethod]
    #[pyo3(signature = (wood, profile, *, width_mm, mass_g=None, ring_angle_deg=0.0, run_out=0.0, modulus_gpa=None, modulus_spread=None))]
    fn shaped(
        wood: &PyWood,
        profile: &PyProfile,
        #[pyo3(from_py_with = need::width_mm)] width_mm: f64,
        #[pyo3(from_py_with = may::mass_g)] mass_g: Option<f64>,
        #[pyo3(from_py_with = need::ring_angle_deg)] ring_angle_deg: f64,
        #[pyo3(from_py_with = need::run_out)] run_out: f64,
        #[pyo3(from_py_with = may::modulus_gpa)] modulus_gpa: Option<f64>,
        #[pyo3(from_py_with = may::modulus_spread)] modulus_spread: Option<f64>,
    ) -> Result<Self> {
        let blank = Blank::shaped(&wood.0, profile.0.clone(), width_mm, mass_g)?;
        Self::finished(blank, SizeUncertainty::default(), ring_angle_deg, run_out, modulus_gpa, modulus_spread)
    }

    /// The wood.
    #[getter]
    fn wood(&self) -> PyWood {
        PyWood(self.0.wood().clone())
    }

    /// The shape of the stick as it stands.
    #[getter]
    fn profile(&self) -> PyProfile {
        PyProfile(self.0.start().clone())
    }

    /// Stiffness in the side view at the believed modulus, with ring angle and run-out.
    #[getter]
    fn stiffness(&self) -> Result<PyPlaneStiffness> {
        Ok(PyPlaneStiffness(self.0.stiffness()?))
    }

    /// With a belief of E along the grain: median, GPa (0.1 to 100), and relative spread (0 to 1).
    #[pyo3(signature = (modulus_gpa, *, modulus_spread))]
    fn with_modulus(
        &self,
        #[pyo3(from_py_with = need::modulus_gpa)] modulus_gpa: f64,
        #[pyo3(from_py_with = need::modulus_spread)] modulus_spread: f64,
    ) -> Result<Self> {
        Ok(Self(self.0.with_modulus(modulus_gpa, modulus_spread)?))
    }

    /// With the grain as it lies.
    #[pyo3(signature = (*, ring_angle_deg=0.0, run_out=0.0))]
    fn with_grain(
        &self,
        #[pyo3(from_py_with = need::ring_angle_deg)] ring_angle_deg: f64,
        #[pyo3(from_py_with = need::run_out)] run_out: f64,
    ) -> Result<Self> {
        Ok(Self(self.0.with_grain(ring_angle_deg, run_out)?))
    }

    /// The blank after a reading of it, or of a brace carved from it: a narrower belief of its modulus.
    #[pyo3(signature = (reading, *, brace=None))]
    fn learn(&self, py: Python<'_>, reading: &PyReading, brace: Option<&PyBrace>) -> Result<Self> {
        Ok(Self(py.detach(|| match brace {
            Some(brace) => self.0.learn_carved(&reading.0, &brace.0),
            None => self.0.learn(&reading.0),
        })?))
    }

    /// What the dial should show for the blank as it stands, with its uncertainty and budget.
    fn expected(&self, py: Python<'_>, rig: &PyRig) -> Result<PyExpected> {
        Ok(PyExpected(py.detach(|| self.0.expected(&rig.0))?))
    }

    fn __repr__(&self) -> String {
        let b = &self.0;
        let mass = b.mass_g().map_or("not weighed".into(), |m| format!("{} g", short(m)));
        format!(
            "Blank({}, {} x {} x {} mm, {mass}, E {} GPa \u{b1} {} %)",
            b.wood().name(),
            short(b.length_mm()),
            short(b.width_mm()),
            short(b.height_mm()),
            short(b.modulus_gpa()),
            short((1000.0 * b.modulus_spread()).round() / 10.0)
        )
    }

    fn _repr_html_(&self) -> String {
        let b = &self.0;
        let u = b.size_uncertainty();
        let row = |name, text| Shown { name, text, column: None };
        html(
            &format!("Blank of {}", b.wood().name()),
            &[
                row("length_mm", format!("{} \u{b1} {}", short(b.length_mm()), short(u.length_mm))),
                row("width_mm", format!("{} \u{b1} {}", short(b.width_mm()), short(u.width_mm))),
                row("height_mm", format!("{} \u{b1} {}", short(b.height_mm()), short(u.height_mm))),
                row("mass_g", b.mass_g().map_or("not weighed".into(), |m| format!("{} \u{b1} {}", short(m), short(u.mass_g)))),
                row("density_kg_m3", format!("{:.1} \u{b1} {:.1} %", b.density_kg_m3(), 100.0 * b.density_spread())),
                row("modulus_gpa", format!("{:.2} \u{b1} {:.1} %", b.modulus_gpa(), 100.0 * b.modulus_spread())),
                row("learned_from", format!("{} readings", b.learned_from())),
            ],
        )
    }
}
