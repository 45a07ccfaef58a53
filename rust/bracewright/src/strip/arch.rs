//! Arches: radii and rises, a brace sprung into a dish, and what it springs back.

use serde::{Deserialize, Serialize};

use super::Strip;
use crate::cautions::{Hazard, cautions};
use crate::error::{Result, positive, within};
use crate::wood::Quantity;

/// How a dish or an arched top is curved.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum DishShape {
    /// The same radius along every line.
    Spherical,
    /// Curved one way only.
    Cylindrical,
}

/// Rise of an arc of this radius over a chord, mm: R - sqrt(R^2 - L^2/4), which is L^2/(8 R) where it is flat.
pub fn rise_mm(radius_mm: f64, chord_mm: f64) -> Result<f64> {
    let r = positive("radius_mm", radius_mm, "mm")?;
    let l = within("chord_mm", positive("chord_mm", chord_mm, "mm")?, "mm", 1e-6, 2.0 * r)?;
    // without the difference of two like numbers
    Ok(0.25 * l * l / (r + (r * r - 0.25 * l * l).max(0.0).sqrt()))
}

/// Radius of the arc with this rise over a chord, mm: (L^2/4 + s^2)/(2 s).
pub fn radius_mm(rise_mm: f64, chord_mm: f64) -> Result<f64> {
    let l = positive("chord_mm", chord_mm, "mm")?;
    let s = within("rise_mm", positive("rise_mm", rise_mm, "mm")?, "mm", 1e-9, 0.5 * l)?;
    Ok((0.25 * l * l + s * s) / (2.0 * s))
}

/// Curvature along a line at `angle_deg` to the way a dish is curved, 1/m: the same everywhere in a spherical one, cos^2 of it
/// in a cylindrical one.
pub fn curvature_per_m(radius_mm: f64, shape: DishShape, angle_deg: f64) -> Result<f64> {
    let r = positive("radius_mm", radius_mm, "mm")?;
    let c = within("angle_deg", angle_deg, "deg", -360.0, 360.0)?.to_radians().cos();
    Ok(1000.0 / r * if shape == DishShape::Spherical { 1.0 } else { c * c })
}

/// A brace and a top glued in a dish that neither fits by itself.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Sprung {
    /// Where along the brace, mm.
    pub x_mm: Vec<f64>,
    /// Bending moment that the brace is glued in with, N m.
    pub locked_n_m: Vec<f64>,
    /// Stress it puts on the brace, at the farther of crest and foot, MPa.
    pub brace_mpa: Vec<f64>,
    /// Stress of the top, bent from flat into the dish, MPa.
    pub top_mpa: Vec<f64>,
    /// Curvature of the dish along the brace, 1/m.
    pub dish_per_m: f64,
    /// Curvature left once it is out of the dish, 1/m.
    pub left_per_m: Vec<f64>,
    /// Rise over the brace's length in the dish, mm.
    pub dish_rise_mm: f64,
    /// The same once it is out.
    pub left_rise_mm: f64,
    /// Rise that springs back, mm.
    pub spring_back_mm: f64,
    /// Radius over the brace's length once it is out, mm; `None` where nothing is left of the arch.
    pub left_radius_mm: Option<f64>,
    /// What should be known, as sentences.
    pub words: Vec<String>,
}

impl Sprung {
    /// What to mind.
    pub fn cautions(&self) -> Vec<String> {
        cautions(&[Hazard::Glue, Hazard::Edges, Hazard::Dust, Hazard::Estimate])
    }
}

impl Strip {
    /// The brace glued in a dish of this radius (1000 to 1e6 mm), the way it is curved lying at `angle_deg` to the brace. The
    /// brace brings the arch of its own profile, the top is flat.
    ///
    /// Out of the dish the moments that bent the two into it, EI of each by its change of curvature, are let go on the glued
    /// section: it springs back by their sum over its EI. The section's flange is `flange_mm` (1 mm to 1.25 times the strip, as
    /// learned from readings), or [`Strip::lag_width_mm`] when `None`.
    pub fn sprung(&self, dish_radius_mm: f64, shape: DishShape, angle_deg: f64, flange_mm: Option<f64>) -> Result<Sprung> {
        let r = within("dish_radius_mm", dish_radius_mm, "mm", 1000.0, 1e6)?;
        let dish = curvature_per_m(r, shape, angle_deg)?;
        let own = self.brace.profile().arch_radius_mm().map_or(0.0, |r| 1000.0 / r);
        let length = self.brace.length_mm();
        let x_mm = self.brace.stations_mm(81);
        let flange = self.flange_or_lag_mm(flange_mm)?;
        let section = self.section(&x_mm, Some(flange))?;
        let e_plate = self.plate_modulus_mpa()?;
        let plate_ei = e_plate * flange * self.thickness_mm.powi(3) / 12.0 * 1e-6;
        let (e, along) = (self.brace.modulus_x_mpa()?, self.brace.along(&x_mm)?);
        let mut out = Sprung {
            x_mm: x_mm.clone(),
            locked_n_m: Vec::new(),
            brace_mpa: Vec::new(),
            top_mpa: Vec::new(),
            dish_per_m: dish,
            left_per_m: Vec::new(),
            dish_rise_mm: 0.0,
            left_rise_mm: 0.0,
            spring_back_mm: 0.0,
            left_radius_mm: None,
            words: Vec::new(),
        };
        for i in 0..x_mm.len() {
            let moment = section.brace_ei_n_m2[i] * (dish - own);
            let far = along.centroid_mm[i].max(along.height_mm[i] - along.centroid_mm[i]);
            out.locked_n_m.push(moment);
            out.brace_mpa.push(e * 1e-3 * (dish - own).abs() * far);
            out.top_mpa.push(e_plate * 1e-3 * dish * 0.5 * self.thickness_mm);
            out.left_per_m.push(dish - (moment + plate_ei * dish) / section.ei_n_m2[i]);
        }
        let rise = |k: &[f64]| rise_of(&x_mm, k);
        out.dish_rise_mm = rise(&vec![dish; x_mm.len()]);
        out.left_rise_mm = rise(&out.left_per_m);
        out.spring_back_mm = out.dish_rise_mm - out.left_rise_mm;
        out.left_radius_mm = (out.left_rise_mm > 1e-6).then(|| length * length / (8.0 * out.left_rise_mm));
        let most = out.brace_mpa.iter().fold(0.0, |m: f64, v| m.max(*v));
        out.words.push(format!(
            "in the dish it rises {:.2} mm over its length, out of it {:.2} mm: {:.2} mm spring back",
            out.dish_rise_mm, out.left_rise_mm, out.spring_back_mm
        ));
        let strength = self.brace.blank().wood().value(Quantity::ModulusOfRupture);
        let much = most > 0.3 * strength.unwrap_or(50.0);
        out.words.push(format!(
            "{}glued in it bears up to {most:.1} MPa for good{}; cut the arch into its glue face to be without that",
            if much { "caution: " } else { "" },
            if much { ", more than three tenths of what clear wood bears for minutes" } else { "" }
        ));
        Ok(out)
    }
}

/// Rise of a shallow curve of these curvatures (1/m) over the chord between its ends, in the middle, mm.
fn rise_of(x_mm: &[f64], per_m: &[f64]) -> f64 {
    let (Some(&a), Some(&b)) = (x_mm.first(), x_mm.last()) else { return 0.0 };
    // influence of curvature on the rise in the middle: half the distance to the nearer end
    let by = |i: usize| 0.5 * (x_mm[i] - a).min(b - x_mm[i]) * 1e-3 * per_m[i];
    (1..x_mm.len()).map(|i| 0.5 * (by(i - 1) + by(i)) * (x_mm[i] - x_mm[i - 1])).sum()
}
