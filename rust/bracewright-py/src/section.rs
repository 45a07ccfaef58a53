//! Twin of `section`.

use bracewright::{CapRise, Error, Section, SectionNumbers};
use pyo3::prelude::*;

use crate::argument::{may, need};
use crate::error::Result;
use crate::value::{Shown, getters, html, record, short, value};

record! {
    /// Area and moments of one section; lengths in mm.
    PySectionNumbers, "SectionNumbers", SectionNumbers {
        /// Area, mm2.
        area_mm2;
        /// Height of the centroid above the glue face, mm.
        centroid_mm;
        /// Second moment about the centroid, bending in the height, mm4.
        i_centroid_mm4;
        /// Second moment about the glue face, mm4.
        i_glue_mm4;
        /// Second moment about the middle of the width, bending sideways, mm4.
        i_sideways_mm4;
        /// Section modulus at the crest, mm3.
        modulus_crest_mm3;
        /// Section modulus at the glue face, mm3.
        modulus_glue_mm3;
    }
}

/// A family of cross-sections: what is left of the width above the glue face.
///
/// The width at the glue face is the blank's, the height is the profile's. A cap takes its rise either fixed (rise_mm) or
/// as a part of the height (rise_of_height, above 0 to 1): give exactly one. Where the height falls below a fixed rise,
/// the rise is the height.
#[pyclass(frozen, eq, name = "Section", module = "bracewright")]
#[derive(Debug, Clone, PartialEq)]
pub struct PySection(pub Section);

value!(PySection, Section, "Section");

getters! { PySection {
    /// Name of the family.
    name;
    /// Fixed rise of the cap, mm, or None.
    rise_mm;
    /// Rise as a part of the height, or None.
    rise_of_height;
    /// Width at the crest of tapered sides, mm, or None.
    crest_width_mm;
    /// True when the crest is flat, so that something can rest on it.
    flat_crest;
}}

fn rise(rise_mm: Option<f64>, rise_of_height: Option<f64>) -> Result<CapRise> {
    match (rise_mm, rise_of_height) {
        (Some(v), None) => Ok(CapRise::Mm(v)),
        (None, Some(v)) => Ok(CapRise::OfHeight(v)),
        _ => Err(Error::Refused("a cap takes exactly one of rise_mm and rise_of_height".into()).into()),
    }
}

#[pymethods]
impl PySection {
    /// A plain rectangle.
    #[staticmethod]
    fn rectangle() -> Self {
        Self(Section::rectangle())
    }

    /// Straight sides narrowing from the glue width to crest_width_mm at the crest, whatever the height.
    #[staticmethod]
    #[pyo3(signature = (*, crest_width_mm))]
    fn tapered_sides(#[pyo3(from_py_with = need::crest_width_mm)] crest_width_mm: f64) -> Result<Self> {
        Ok(Self(Section::tapered_sides(crest_width_mm)?))
    }

    /// Half an ellipse on a parallel base.
    #[staticmethod]
    #[pyo3(signature = (*, rise_mm=None, rise_of_height=None))]
    fn rounded_cap(
        #[pyo3(from_py_with = may::rise_mm)] rise_mm: Option<f64>,
        #[pyo3(from_py_with = may::rise_of_height)] rise_of_height: Option<f64>,
    ) -> Result<Self> {
        Ok(Self(Section::rounded_cap(rise(rise_mm, rise_of_height)?)?))
    }

    /// A parabola on a parallel base.
    #[staticmethod]
    #[pyo3(signature = (*, rise_mm=None, rise_of_height=None))]
    fn parabolic_cap(
        #[pyo3(from_py_with = may::rise_mm)] rise_mm: Option<f64>,
        #[pyo3(from_py_with = may::rise_of_height)] rise_of_height: Option<f64>,
    ) -> Result<Self> {
        Ok(Self(Section::parabolic_cap(rise(rise_mm, rise_of_height)?)?))
    }

    /// A triangle on a parallel base.
    #[staticmethod]
    #[pyo3(signature = (*, rise_mm=None, rise_of_height=None))]
    fn triangular_cap(
        #[pyo3(from_py_with = may::rise_mm)] rise_mm: Option<f64>,
        #[pyo3(from_py_with = may::rise_of_height)] rise_of_height: Option<f64>,
    ) -> Result<Self> {
        Ok(Self(Section::triangular_cap(rise(rise_mm, rise_of_height)?)?))
    }

    /// A cusp on a parallel base: hollow flanks that meet in an edge.
    #[staticmethod]
    #[pyo3(signature = (*, rise_mm=None, rise_of_height=None))]
    fn cusp_cap(
        #[pyo3(from_py_with = may::rise_mm)] rise_mm: Option<f64>,
        #[pyo3(from_py_with = may::rise_of_height)] rise_of_height: Option<f64>,
    ) -> Result<Self> {
        Ok(Self(Section::cusp_cap(rise(rise_mm, rise_of_height)?)?))
    }

    /// The general cap: width b (1 - y/c)^exponent over a rise c; 1/2 is the parabola, 1 the triangle, 2 the cusp.
    #[staticmethod]
    #[pyo3(signature = (exponent, *, rise_mm=None, rise_of_height=None))]
    fn power_cap(
        #[pyo3(from_py_with = need::exponent)] exponent: f64,
        #[pyo3(from_py_with = may::rise_mm)] rise_mm: Option<f64>,
        #[pyo3(from_py_with = may::rise_of_height)] rise_of_height: Option<f64>,
    ) -> Result<Self> {
        Ok(Self(Section::power_cap(exponent, rise(rise_mm, rise_of_height)?)?))
    }

    /// By the name of the family ("parabolic cap"), with the numbers that family takes.
    #[staticmethod]
    #[pyo3(signature = (family, *, crest_width_mm=None, rise_mm=None, rise_of_height=None))]
    fn named(
        family: &str,
        #[pyo3(from_py_with = may::crest_width_mm)] crest_width_mm: Option<f64>,
        #[pyo3(from_py_with = may::rise_mm)] rise_mm: Option<f64>,
        #[pyo3(from_py_with = may::rise_of_height)] rise_of_height: Option<f64>,
    ) -> Result<Self> {
        let cap = if rise_mm.is_some() || rise_of_height.is_some() { Some(rise(rise_mm, rise_of_height)?) } else { None };
        Ok(Self(Section::named(family, crest_width_mm, cap)?))
    }

    /// Names of the families.
    #[staticmethod]
    fn families() -> Vec<&'static str> {
        bracewright::section::FAMILIES.to_vec()
    }

    /// The same family with another fixed rise, mm.
    fn with_rise_mm(&self, #[pyo3(from_py_with = need::rise_mm)] rise_mm: f64) -> Result<Self> {
        Ok(Self(self.0.with_rise_mm(rise_mm)?))
    }

    /// Width, mm, at z_mm above the glue face of a section of that height and glue width; 0 outside the wood.
    #[pyo3(signature = (z_mm, *, height_mm, width_mm))]
    fn width_mm(
        &self,
        #[pyo3(from_py_with = need::z_mm)] z_mm: f64,
        #[pyo3(from_py_with = need::height_mm)] height_mm: f64,
        #[pyo3(from_py_with = need::width_mm)] width_mm: f64,
    ) -> Result<f64> {
        Ok(self.0.width_mm(z_mm, height_mm, width_mm)?)
    }

    /// Area, centroid and moments of a section of that height and glue width, mm.
    #[pyo3(signature = (*, height_mm, width_mm))]
    fn numbers(
        &self,
        #[pyo3(from_py_with = need::height_mm)] height_mm: f64,
        #[pyo3(from_py_with = need::width_mm)] width_mm: f64,
    ) -> Result<PySectionNumbers> {
        Ok(PySectionNumbers(self.0.numbers(height_mm, width_mm)?))
    }

    fn __repr__(&self) -> String {
        let more = [
            ("crest_width_mm", self.0.crest_width_mm()),
            ("rise_mm", self.0.rise_mm()),
            ("rise_of_height", self.0.rise_of_height()),
        ];
        let more: String = more.iter().filter_map(|(n, v)| v.map(|v| format!(", {n}={}", short(v)))).collect();
        format!("Section({:?}{more})", self.0.name())
    }

    fn _repr_html_(&self) -> String {
        html(&self.__repr__(), &[Shown { name: "family", text: self.0.name(), column: None }])
    }
}
