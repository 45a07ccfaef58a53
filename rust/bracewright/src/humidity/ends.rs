//! Shear at the end of a brace when top and brace want different lengths: the index of ends that lift.

use serde::{Deserialize, Serialize};

use crate::Brace;
use crate::cautions::{Hazard, cautions};
use crate::error::{Result, number, within};
use crate::wood::Wood;

/// Glue line where none is said, mm and GPa: common practice; it hardly matters.
const USUAL_GLUE: (f64, f64) = (0.1, 1.0);
/// A feathered end is taken no thinner, mm.
const FEATHER_MM: f64 = 0.1;

/// A brace glued to a strip of top, at its end. Plate 1, brace 2.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct BraceEnd {
    /// Modulus of the top along the brace, GPa.
    pub plate_modulus_gpa: f64,
    /// Shear modulus of the top in the plane of its thickness along the brace, GPa (rolling shear across the grain).
    pub plate_shear_gpa: f64,
    /// Width of top that goes with the brace, mm.
    pub plate_width_mm: f64,
    /// Thickness of the top, mm.
    pub thickness_mm: f64,
    /// Modulus of the brace, GPa.
    pub brace_modulus_gpa: f64,
    /// Shear modulus of the brace, GPa.
    pub brace_shear_gpa: f64,
    /// Glued width, mm.
    pub brace_width_mm: f64,
    /// Height of the brace near its end, mm.
    pub end_height_mm: f64,
    /// Length of the brace, mm.
    pub length_mm: f64,
    /// Thickness of the glue, mm.
    pub glue_mm: f64,
    /// Shear modulus of the glue, GPa.
    pub glue_shear_gpa: f64,
}

/// Shear at the end of a brace.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct EndLift {
    /// Strain by which top and brace differ.
    pub strain: f64,
    /// Shear at the very end, MPa: an index, not a stress to certify.
    pub shear_mpa: f64,
    /// Length over which it falls to 37 %, mm.
    pub decay_mm: f64,
    /// Shear over the strength given; `None` without one.
    pub index: Option<f64>,
    /// What should be known, as sentences.
    pub words: Vec<String>,
}

impl BraceEnd {
    /// The end of a carved brace on a quarter-sawn top of that wood, the brace at `grain_angle_deg` (0 to 90) to the top's grain.
    ///
    /// The top's modulus by the rotated tensor, its shear through the thickness 1/(cos^2/G_LT + sin^2/G_RT); the brace's own
    /// moduli as it was cut. `end_height_mm` is the higher of its two ends where none is said, a feather 0.1 mm. Glue 0.1 mm of
    /// 1 GPa (common practice; it hardly matters).
    pub fn under(
        brace: &Brace,
        top: &Wood,
        thickness_mm: f64,
        plate_width_mm: f64,
        grain_angle_deg: f64,
        end_height_mm: Option<f64>,
    ) -> Result<Self> {
        let angle = within("grain_angle_deg", grain_angle_deg, "deg", 0.0, 90.0)?;
        let (sin, cos) = angle.to_radians().sin_cos();
        let own = brace.blank().stiffness()?;
        let l = brace.length_mm();
        let ends = brace.profile().height_mm(&[0.0, l])?;
        let end = Self {
            plate_modulus_gpa: top.off_axis_modulus_gpa(angle)?,
            plate_shear_gpa: 1.0 / (cos * cos / top.shear_lt_gpa() + sin * sin / top.shear_rt_gpa()),
            plate_width_mm,
            thickness_mm,
            brace_modulus_gpa: own.e_x_gpa,
            brace_shear_gpa: own.g_xz_gpa,
            brace_width_mm: brace.width_mm(),
            end_height_mm: end_height_mm.unwrap_or(ends[0].max(ends[1]).max(FEATHER_MM)),
            length_mm: l,
            glue_mm: USUAL_GLUE.0,
            glue_shear_gpa: USUAL_GLUE.1,
        };
        end.end_lift(0.0, None)?;
        Ok(end)
    }

    /// Shear at the end for a mismatch `strain` (-0.05 to 0.05) between top and brace.
    ///
    /// Volkersen's shear lag with Suhir's bending term, linear and elastic: tau = strain k / (lambda b) tanh(k l),
    /// k = sqrt(lambda/kappa), lambda = 1/EA1 + 1/EA2 + ((t + h)/2)^2/(EI1 + EI2), kappa = t/(3 G1 b) + h/(3 G2 b) + t_g/(G_g b), l half
    /// the brace. `strength_mpa` (0.1 to 50) is what it is held against: for a top across the grain its rolling shear, 1 to 2 MPa.
    pub fn end_lift(&self, strain: f64, strength_mpa: Option<f64>) -> Result<EndLift> {
        let e = within("strain", strain, "", -0.05, 0.05)?;
        let strength = strength_mpa.map(|s| within("strength_mpa", s, "MPa", 0.1, 50.0)).transpose()?;
        let e1 = 1e3 * within("plate_modulus_gpa", self.plate_modulus_gpa, "GPa", 0.01, 60.0)?;
        let g1 = 1e3 * within("plate_shear_gpa", self.plate_shear_gpa, "GPa", 1e-3, 20.0)?;
        let w = within("plate_width_mm", self.plate_width_mm, "mm", 1.0, 500.0)?;
        let t = within("thickness_mm", self.thickness_mm, "mm", 0.3, 20.0)?;
        let e2 = 1e3 * within("brace_modulus_gpa", self.brace_modulus_gpa, "GPa", 0.01, 60.0)?;
        let g2 = 1e3 * within("brace_shear_gpa", self.brace_shear_gpa, "GPa", 1e-3, 20.0)?;
        let b = within("brace_width_mm", self.brace_width_mm, "mm", 0.5, 100.0)?;
        let h = within("end_height_mm", self.end_height_mm, "mm", 0.1, 60.0)?;
        let half = 0.5 * within("length_mm", self.length_mm, "mm", 20.0, 2000.0)?;
        let tg = within("glue_mm", self.glue_mm, "mm", 0.0, 2.0)?;
        let gg = 1e3 * within("glue_shear_gpa", self.glue_shear_gpa, "GPa", 1e-3, 20.0)?;
        let (ea1, ea2) = (e1 * w * t, e2 * b * h);
        let (ei1, ei2) = (e1 * w * t.powi(3) / 12.0, e2 * b * h.powi(3) / 12.0);
        let lambda = 1.0 / ea1 + 1.0 / ea2 + (0.5 * (t + h)).powi(2) / (ei1 + ei2);
        let kappa = t / (3.0 * g1 * b) + h / (3.0 * g2 * b) + tg / (gg * b);
        let k = (lambda / kappa).sqrt();
        let tau = e.abs() * k / (lambda * b) * (k * half).tanh();
        let index = strength.map(|s| tau / s);
        let mut words = vec![format!(
            "{tau:.1} MPa of shear at an end {} mm high, falling off over {:.0} mm; linear, all at once and without relaxation, so an index to \
             compare ends by",
            number(h),
            1.0 / k
        )];
        if index.is_some_and(|i| i >= 1.0) {
            words.push(format!(
                "caution: at or over the {} MPa it is held against: such an end is one that lifts; lower it, feather it, or tuck it into \
                 the lining, which takes the peel",
                number(strength.unwrap_or(0.0))
            ));
        }
        Ok(EndLift { strain: e, shear_mpa: tau, decay_mm: 1.0 / k, index, words })
    }
}

impl EndLift {
    /// What to mind.
    pub fn cautions(&self) -> Vec<String> {
        cautions(&[Hazard::DryClimate, Hazard::Edges, Hazard::Dust, Hazard::Estimate])
    }
}
