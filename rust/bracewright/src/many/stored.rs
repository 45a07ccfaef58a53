//! A lot as a file holds it, checked again when it comes back.

use serde::Deserialize;

use super::{Lot, Shape, spread, turned};
use crate::error::{Error, Result, same_length};
use crate::section::Section;

#[derive(Deserialize)]
pub(super) struct Stored {
    shape: Shape,
    width_mm: Vec<f64>,
    modulus_gpa: Vec<f64>,
    density_kg_m3: Vec<f64>,
    shear_ratio: f64,
    section: Section,
}

impl TryFrom<Stored> for Lot {
    type Error = Error;

    fn try_from(s: Stored) -> Result<Self> {
        let n = s.width_mm.len();
        for (name, list) in [("modulus_gpa", &s.modulus_gpa), ("density_kg_m3", &s.density_kg_m3)] {
            same_length("width_mm", n, name, list.len())?;
        }
        let lot = match s.shape {
            Shape::Points { at_mm, height_mm, blend, mirrored } => {
                let points = blend.len() + 1;
                same_length("at_mm", at_mm.len(), "points of all braces", points * n)?;
                same_length("height_mm", height_mm.len(), "points of all braces", points * n)?;
                Self::through(
                    points,
                    turned(&at_mm, n),
                    turned(&height_mm, n),
                    &blend,
                    mirrored,
                    &s.width_mm,
                    &s.modulus_gpa,
                    &s.density_kg_m3,
                    &s.section,
                )?
            }
            Shape::Any(profiles) => {
                same_length("profiles", profiles.len(), "width_mm", n)?;
                if n == 0 {
                    return Err(Error::BadList { name: "profiles".into(), problem: "is empty; give at least one".into() });
                }
                if let Some(i) = profiles.iter().position(|p| !p.half_laps().is_empty()) {
                    return Err(Error::Refused(format!("brace {i} has a half-lap; braces with half-laps are solved one by one")));
                }
                let out = Self {
                    shape: Shape::Any(profiles),
                    width_mm: spread("width_mm", &s.width_mm, n, "mm", crate::blank::WIDEST_MM)?,
                    modulus_gpa: spread("modulus_gpa", &s.modulus_gpa, n, "GPa", 100.0)?,
                    density_kg_m3: spread("density_kg_m3", &s.density_kg_m3, n, "kg/m3", 2000.0)?,
                    shear_ratio: s.shear_ratio,
                    section: s.section,
                };
                out.check_section()?;
                out
            }
        };
        lot.with_shear_ratio(s.shear_ratio)
    }
}
