//! Impulse excitation of a rectangular bar, ASTM E1876 section 9: the closed forms, quoted from memory.
//!
//! For isotropic bars. Wood has its own ratio of E to G, for which [`super::StickTap`] is the better answer; these stand
//! beside it to compare with a laboratory.

use crate::error::{Result, positive, within};

/// T1 of the flexure formula for thickness over length and Poisson ratio. Within 0.16 % of the exact Timoshenko bar.
pub fn e1876_shape_factor(thickness_over_length: f64, poisson: f64) -> Result<f64> {
    let r = within("thickness_over_length", thickness_over_length, "", 0.0, 0.5)?;
    let nu = within("poisson", poisson, "", 0.0, 0.5)?;
    let (r2, nu2) = (r * r, nu * nu);
    let top = 8.340 * (1.0 + 0.2023 * nu + 2.173 * nu2) * r2 * r2;
    let bottom = 1.0 + 6.338 * (1.0 + 0.1408 * nu + 1.536 * nu2) * r2;
    Ok(1.0 + 6.585 * (1.0 + 0.0752 * nu + 0.8109 * nu2) * r2 - 0.868 * r2 * r2 - top / bottom)
}

/// E = 0.9465 (m f^2 / b)(L^3 / t^3) T1, GPa. `thickness_mm` is the side in the direction of bending, at most half the length.
pub fn e1876_modulus_gpa(
    mass_g: f64,
    frequency_hz: f64,
    length_mm: f64,
    width_mm: f64,
    thickness_mm: f64,
    poisson: f64,
) -> Result<f64> {
    sizes(mass_g, frequency_hz, length_mm, width_mm, thickness_mm)?;
    let t1 = e1876_shape_factor(thickness_mm / length_mm, poisson)?;
    // g/(mm s2) is one pascal
    Ok(0.9465 * mass_g * frequency_hz * frequency_hz / width_mm * (length_mm / thickness_mm).powi(3) * t1 * 1e-9)
}

/// A and B of the torsion formula for width over thickness (1 to 20).
pub fn e1876_torsion_factors(width_over_thickness: f64) -> Result<(f64, f64)> {
    let r = within("width_over_thickness", width_over_thickness, "", 1.0, 20.0)?;
    let s = 1.0 / r;
    let b = (r + s) / (4.0 * s - 2.52 * s * s + 0.21 * s.powi(6));
    let a = (0.5062 - 0.8776 * r + 0.3504 * r * r - 0.0078 * r.powi(3)) / (12.03 * r + 9.892 * r * r);
    Ok((a, b))
}

/// G = (4 L m f^2 / (b t)) B / (1 + A) from the first torsional frequency, GPa; the wider side is taken as the width.
pub fn e1876_shear_modulus_gpa(mass_g: f64, frequency_hz: f64, length_mm: f64, width_mm: f64, thickness_mm: f64) -> Result<f64> {
    sizes(mass_g, frequency_hz, length_mm, width_mm, thickness_mm)?;
    let (b, t) = (width_mm.max(thickness_mm), width_mm.min(thickness_mm));
    let (a, factor) = e1876_torsion_factors(b / t)?;
    Ok(4.0 * length_mm * mass_g * frequency_hz * frequency_hz / (b * t) * factor / (1.0 + a) * 1e-9)
}

fn sizes(mass_g: f64, frequency_hz: f64, length_mm: f64, width_mm: f64, thickness_mm: f64) -> Result<()> {
    positive("mass_g", mass_g, "g")?;
    positive("frequency_hz", frequency_hz, "Hz")?;
    positive("length_mm", length_mm, "mm")?;
    positive("width_mm", width_mm, "mm")?;
    positive("thickness_mm", thickness_mm, "mm")?;
    Ok(())
}
