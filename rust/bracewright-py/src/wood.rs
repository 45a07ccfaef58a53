//! Twin of `wood`.

use std::path::PathBuf;

use bracewright::{Error, Figure, PlaneStiffness, Quantity, Standing, Wood};
use pyo3::IntoPyObjectExt;
use pyo3::prelude::*;
use pyo3::types::PyDict;

use crate::argument::{may, need};
use crate::convert::read_text;
use crate::error::Result;
use crate::value::{Shown, ToPython, getters, html, record, short, value};

impl ToPython for Standing {
    fn to_python<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        self.words().into_bound_py_any(py)
    }
    fn shown(&self) -> String {
        format!("{:?}", self.words())
    }
}

record! {
    /// One figure of a wood: its value, how far sticks of the species spread about it, how well it is known, and where it
    /// comes from.
    PyFigure, "Figure", Figure {
        /// In the unit its quantity's name ends in.
        value;
        /// Relative standard deviation between sticks of the species (0.22 is 22 %); None where no source gives one.
        spread;
        /// "confirmed", "recomputed", "secondary", "from memory", "common practice", "estimated" or "own".
        standing;
        /// Document, edition and table, or the rule it came by.
        source;
    }
}

record! {
    /// Stiffness of the wood in the side view of a brace (plane stress), with its ring angle and run-out.
    PyPlaneStiffness, "PlaneStiffness", PlaneStiffness {
        /// Young's modulus along the brace, GPa.
        e_x_gpa;
        /// Young's modulus up the height, GPa.
        e_z_gpa;
        /// Shear modulus in the plane of bending, GPa.
        g_xz_gpa;
        /// Strain up the height over strain along the brace, sign turned, under stress along the brace.
        nu_xz;
    }
}

/// A wood, or one stick of it: density, moduli, strengths and movement, each with its source and its spread.
///
/// Make one with Wood.published("Sitka spruce"), Wood.custom(...) or Wood.from_file(...). Figures stand at the moisture
/// content `moisture_percent` and the temperature `temperature_c`: 12 % and 20 degrees C unless changed. A published stick
/// is a guess about yours: E along the grain varies by 22 % (one standard deviation) within a species.
#[pyclass(frozen, eq, name = "Wood", module = "bracewright")]
#[derive(Debug, Clone, PartialEq)]
pub struct PyWood(pub Wood);

value!(PyWood, Wood, "Wood");

getters! { PyWood {
    /// Density, kg/m3, mass and volume both at `moisture_percent`.
    density_kg_m3;
    /// Young's modulus along the grain, GPa, free of shear (a handbook's bending figure is about 10 % lower).
    modulus_l_gpa;
    /// Radial Young's modulus, GPa.
    modulus_r_gpa;
    /// Tangential Young's modulus, GPa.
    modulus_t_gpa;
    /// Shear modulus in the LR plane, GPa.
    shear_lr_gpa;
    /// Shear modulus in the LT plane, GPa: what bending of a brace with upright rings shears.
    shear_lt_gpa;
    /// Rolling shear modulus (RT plane), GPa.
    shear_rt_gpa;
    /// E_R / E_L.
    er_el;
    /// E_T / E_L.
    et_el;
    /// G_LR / E_L.
    glr_el;
    /// G_LT / E_L.
    glt_el;
    /// G_RT / E_L.
    grt_el;
    /// Poisson ratio: strain along R under stress along L.
    nu_lr;
    /// Poisson ratio: strain along T under stress along L.
    nu_lt;
    /// Poisson ratio: strain along T under stress along R.
    nu_rt;
    /// Moisture content, percent, at which the figures stand.
    moisture_percent;
    /// Temperature, degrees C, at which the figures stand.
    temperature_c;
    /// Oven-dry mass over the volume at `moisture_percent`, relative to water.
    specific_gravity;
    /// Published modulus in bending, GPa (span over depth 14, shear in it); None where the row has none.
    bending_modulus_gpa;
    /// Modulus of rupture, MPa, short-term, clear straight wood; None where nobody has it.
    modulus_of_rupture_mpa;
    /// Compression strength along the grain, MPa, or None.
    compression_parallel_mpa;
    /// Compression across the grain at the proportional limit, MPa, or None.
    compression_perpendicular_mpa;
    /// Shear strength along the grain, MPa, or None.
    shear_parallel_mpa;
    /// Tension across the grain, MPa, or None.
    tension_perpendicular_mpa;
    /// Relative radial change per percent of moisture, 6 to 14 %, or None.
    change_radial_per_percent_mc;
    /// Relative tangential change per percent of moisture, 6 to 14 %, or None.
    change_tangential_per_percent_mc;
}}

#[pymethods]
impl PyWood {
    /// A published species at 12 % moisture by its common name, upper or lower case; Wood.species() lists them. Editions
    /// are never mixed: "Sitka spruce" is the 2021 row of the Wood Handbook, "Sitka spruce (1999)" an older, stiffer one.
    #[staticmethod]
    fn published(name: &str) -> Result<Self> {
        Ok(Self(Wood::published(name)?))
    }

    /// Names that Wood.published knows.
    #[staticmethod]
    fn species() -> Vec<&'static str> {
        Wood::species()
    }

    /// A wood of your own from the least that is needed: density (50 to 1600 kg/m3) and modulus along the grain (0.5 to 60
    /// GPa) at `moisture_percent`. Ratios left out are Sitka spruce's and marked estimated.
    #[staticmethod]
    #[pyo3(signature = (name, *, density_kg_m3, modulus_l_gpa, er_el=None, et_el=None, glr_el=None, glt_el=None, grt_el=None,
        nu_lr=None, nu_lt=None, nu_rt=None, modulus_of_rupture_mpa=None, moisture_percent=None))]
    fn custom(
        name: &str,
        #[pyo3(from_py_with = need::density_kg_m3)] density_kg_m3: f64,
        #[pyo3(from_py_with = need::modulus_l_gpa)] modulus_l_gpa: f64,
        #[pyo3(from_py_with = may::er_el)] er_el: Option<f64>,
        #[pyo3(from_py_with = may::et_el)] et_el: Option<f64>,
        #[pyo3(from_py_with = may::glr_el)] glr_el: Option<f64>,
        #[pyo3(from_py_with = may::glt_el)] glt_el: Option<f64>,
        #[pyo3(from_py_with = may::grt_el)] grt_el: Option<f64>,
        #[pyo3(from_py_with = may::nu_lr)] nu_lr: Option<f64>,
        #[pyo3(from_py_with = may::nu_lt)] nu_lt: Option<f64>,
        #[pyo3(from_py_with = may::nu_rt)] nu_rt: Option<f64>,
        #[pyo3(from_py_with = may::modulus_of_rupture_mpa)] modulus_of_rupture_mpa: Option<f64>,
        #[pyo3(from_py_with = may::moisture_percent)] moisture_percent: Option<f64>,
    ) -> Result<Self> {
        use Quantity as Q;
        let mut wood = Wood::custom(name, density_kg_m3, modulus_l_gpa)?;
        for (quantity, given) in [
            (Q::ErEl, er_el),
            (Q::EtEl, et_el),
            (Q::GlrEl, glr_el),
            (Q::GltEl, glt_el),
            (Q::GrtEl, grt_el),
            (Q::NuLr, nu_lr),
            (Q::NuLt, nu_lt),
            (Q::NuRt, nu_rt),
            (Q::ModulusOfRupture, modulus_of_rupture_mpa),
        ] {
            if let Some(value) = given {
                wood = wood.with_value(quantity, value)?;
            }
        }
        if let Some(mc) = moisture_percent {
            wood = wood.with_figures_at_moisture_percent(mc)?;
        }
        Ok(Self(wood))
    }

    /// A wood from a file: JSON with "schema": "bracewright/wood/1", or a CSV table with units in its header, of which
    /// `name` picks the row when there is more than one. A newer schema is refused.
    #[staticmethod]
    #[pyo3(signature = (path, *, name=None))]
    fn from_file(path: PathBuf, name: Option<&str>) -> Result<Self> {
        let (place, text) = read_text(&path)?;
        if text.trim_start_matches('\u{feff}').trim_start().starts_with('{') {
            return Ok(Self(Wood::from_json_str(&place, &text)?));
        }
        let woods = Wood::from_csv_str(&place, &text)?;
        let names = woods.iter().map(|w| w.name().to_string()).collect::<Vec<_>>();
        let wanted = |w: &&Wood| name.is_none_or(|n| w.name().eq_ignore_ascii_case(n.trim()));
        match woods.iter().filter(wanted).collect::<Vec<_>>().as_slice() {
            [one] => Ok(Self((*one).clone())),
            [] => Err(bracewright::error::unknown_name("name", name.unwrap_or(""), names.iter().map(String::as_str)).into()),
            _ => {
                Err(Error::Refused(format!("{place} holds {} woods; pick one with name=, of: {}", names.len(), names.join(", ")))
                    .into())
            }
        }
    }

    /// All woods of a CSV file, one a line; the header names quantity and unit (density_kg_m3, modulus_l_gpa or
    /// bending_modulus_gpa, ...). `;` with a decimal comma is read as well. ReadingsError names line and column.
    #[staticmethod]
    fn from_csv(path: PathBuf) -> Result<Vec<Self>> {
        let (place, text) = read_text(&path)?;
        Ok(Wood::from_csv_str(&place, &text)?.into_iter().map(Self).collect())
    }

    /// A wood from JSON text, as `to_json` writes it.
    #[staticmethod]
    fn from_json(text: &str) -> Result<Self> {
        Ok(Self(Wood::from_json_str("the text", text)?))
    }

    /// This wood as JSON, every figure with its standing and source.
    fn to_json(&self) -> Result<String> {
        Ok(self.0.to_json()?)
    }

    /// Common name, with the edition where a species has more than one row.
    #[getter]
    fn name(&self) -> &str {
        self.0.name()
    }

    /// Botanical name; empty when not given.
    #[getter]
    fn botanical_name(&self) -> &str {
        self.0.botanical_name()
    }

    /// The edition the row was taken from.
    #[getter]
    fn edition(&self) -> &str {
        self.0.edition()
    }

    /// One figure with its spread, standing and source by the name of its quantity ("modulus_of_rupture_mpa"); None when
    /// nobody has it.
    fn figure(&self, quantity: &str) -> Result<Option<PyFigure>> {
        Ok(self.0.figure(quantity.parse::<Quantity>()?).cloned().map(PyFigure))
    }

    /// All figures there are, by the names of their quantities.
    fn figures<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyDict>> {
        let out = PyDict::new(py);
        for (quantity, figure) in self.0.figures() {
            out.set_item(quantity.name(), figure.to_python(py)?)?;
        }
        Ok(out)
    }

    /// A copy with one figure set, by the name of its quantity. Setting bending_modulus_gpa sets modulus_l_gpa too; setting
    /// modulus_l_gpa keeps the ratios, so that every modulus moves with it. `spread` is relative, 0 to 2.
    #[pyo3(signature = (quantity, value, *, spread=None, standing="own", source="given by the user"))]
    fn with_value(
        &self,
        quantity: &str,
        #[pyo3(from_py_with = need::value)] value: f64,
        #[pyo3(from_py_with = may::spread)] spread: Option<f64>,
        standing: &str,
        source: &str,
    ) -> Result<Self> {
        let quantity = quantity.parse::<Quantity>()?;
        let wood = self.0.with_figure(quantity, Figure::new(quantity, value, standing.parse()?, source))?;
        Ok(Self(match spread {
            Some(spread) => wood.with_spread(quantity, spread)?,
            None => wood,
        }))
    }

    /// A copy with another spread (relative standard deviation, 0 to 2) of a figure it has.
    fn with_spread(&self, quantity: &str, #[pyo3(from_py_with = need::spread)] spread: f64) -> Result<Self> {
        Ok(Self(self.0.with_spread(quantity.parse()?, spread)?))
    }

    /// A copy under another name.
    fn with_name(&self, name: &str) -> Result<Self> {
        Ok(Self(self.0.with_name(name)?))
    }

    /// A copy with the modulus along the grain, GPa (0.5 to 60), the ratios kept.
    fn with_modulus_l_gpa(&self, #[pyo3(from_py_with = need::modulus_l_gpa)] modulus_l_gpa: f64) -> Result<Self> {
        Ok(Self(self.0.with_modulus_l_gpa(modulus_l_gpa)?))
    }

    /// A copy with the density, kg/m3 (50 to 1600), at its moisture content.
    fn with_density_kg_m3(&self, #[pyo3(from_py_with = need::density_kg_m3)] density_kg_m3: f64) -> Result<Self> {
        Ok(Self(self.0.with_density_kg_m3(density_kg_m3)?))
    }

    /// The same wood at another moisture content, 0 to 30 %: moduli, strengths and density follow the Wood Handbook.
    fn at_moisture(&self, #[pyo3(from_py_with = need::mc_percent)] mc_percent: f64) -> Result<Self> {
        Ok(Self(self.0.at_moisture(mc_percent)?))
    }

    /// The same wood at another temperature, -50 to 50 degrees C.
    fn at_temperature(&self, #[pyo3(from_py_with = need::temperature_c)] temperature_c: f64) -> Result<Self> {
        Ok(Self(self.0.at_temperature(temperature_c)?))
    }

    /// The same wood settled in air of that temperature (-1.2 to 50 degrees C) and humidity (0 to 100 %).
    #[pyo3(signature = (*, temperature_c, rh_percent))]
    fn at_climate(
        &self,
        #[pyo3(from_py_with = need::temperature_c)] temperature_c: f64,
        #[pyo3(from_py_with = need::rh_percent)] rh_percent: f64,
    ) -> Result<Self> {
        Ok(Self(self.0.at_climate(temperature_c, rh_percent)?))
    }

    /// Change, mm, of a dimension across the grain when the moisture goes from one content to another (each 0 to 30 %);
    /// swelling is positive. `ring_angle_deg`: 0 along the radius, 90 along the rings.
    #[pyo3(signature = (size_mm, *, from_percent, to_percent, ring_angle_deg=0.0))]
    fn size_change_mm(
        &self,
        #[pyo3(from_py_with = need::size_mm)] size_mm: f64,
        #[pyo3(from_py_with = need::from_percent)] from_percent: f64,
        #[pyo3(from_py_with = need::to_percent)] to_percent: f64,
        #[pyo3(from_py_with = need::ring_angle_deg)] ring_angle_deg: f64,
    ) -> Result<f64> {
        Ok(self.0.size_change_mm(size_mm, from_percent, to_percent, ring_angle_deg)?)
    }

    /// Change, mm, of a length along the grain for the same change: 0.00005 of it per percent, common practice.
    #[pyo3(signature = (size_mm, *, from_percent, to_percent))]
    fn length_change_mm(
        &self,
        #[pyo3(from_py_with = need::size_mm)] size_mm: f64,
        #[pyo3(from_py_with = need::from_percent)] from_percent: f64,
        #[pyo3(from_py_with = need::to_percent)] to_percent: f64,
    ) -> Result<f64> {
        Ok(self.0.length_change_mm(size_mm, from_percent, to_percent)?)
    }

    /// Stiffness in the side view of a brace: `ring_angle_deg` 0 for rings upright, 90 for flat; `run_out` the slope of the
    /// grain (1/15 for 1 in 15), in the side view and in the plan.
    #[pyo3(signature = (*, ring_angle_deg=0.0, run_out=0.0, run_out_sideways=0.0))]
    fn plane_stiffness(
        &self,
        #[pyo3(from_py_with = need::ring_angle_deg)] ring_angle_deg: f64,
        #[pyo3(from_py_with = need::run_out)] run_out: f64,
        #[pyo3(from_py_with = need::run_out_sideways)] run_out_sideways: f64,
    ) -> Result<PyPlaneStiffness> {
        Ok(PyPlaneStiffness(self.0.plane_stiffness(ring_angle_deg, run_out, run_out_sideways)?))
    }

    /// Young's modulus, GPa, of a quarter-sawn plate at an angle to the grain.
    fn off_axis_modulus_gpa(&self, #[pyo3(from_py_with = need::theta_deg)] theta_deg: f64) -> Result<f64> {
        Ok(self.0.off_axis_modulus_gpa(theta_deg)?)
    }

    fn __repr__(&self) -> String {
        format!(
            "Wood({:?}, {} kg/m3, E_L {} GPa at {} % MC, {} C)",
            self.0.name(),
            short(self.0.density_kg_m3()),
            short(self.0.modulus_l_gpa()),
            short(self.0.moisture_percent()),
            short(self.0.temperature_c())
        )
    }

    fn _repr_html_(&self) -> String {
        let text = |f: &Figure| {
            let spread = f.spread.map_or(String::new(), |s| format!(" \u{b1} {:.0} %", 100.0 * s));
            format!("{}{spread} ({})", short(f.value), f.standing)
        };
        let rows: Vec<_> = self.0.figures().map(|(q, f)| Shown { name: q.name(), text: text(f), column: None }).collect();
        let (first, rest) = rows.split_at(rows.len().min(8));
        format!("{}<details><summary>all figures</summary>{}</details>", html(&self.__repr__(), first), html("", rest))
    }
}
