//! Moisture and temperature: what the air gives the wood, and what that does to it.
//!
//! Equations and tables are those of the Wood Handbook, FPL-GTR-282 (2021), chapters 4 and 5.

use super::quantity::Quantity as Q;
use super::{Inner, Wood};
use crate::error::{Result, not_negative, within};

/// Temperatures the sorption equation is fitted to, in degrees C (Table 4-2 runs from 30 to 270 deg F).
pub const EMC_TEMPERATURE_RANGE_C: (f64, f64) = (-1.2, 132.3);
/// Moisture contents the moduli, strengths and density are adjusted over, in percent.
pub const MOISTURE_RANGE_PERCENT: (f64, f64) = (0.0, 30.0);
/// Movement along the grain per percent of moisture: common practice gives 0.00003 to 0.00007.
pub const CHANGE_ALONG_PER_PERCENT_MC: f64 = 0.00005;
/// Fibre saturation, where the volume stops changing, in Eq. 4-13.
const FIBRE_SATURATION_PERCENT: f64 = 30.0;

fn emc(t: f64, h: f64) -> f64 {
    let w = 349.0 + 1.29 * t + 0.0135 * t * t;
    let k = 0.805 + 0.000736 * t - 0.00000273 * t * t;
    let k1 = 6.27 - 0.00938 * t - 0.000303 * t * t;
    let k2 = 1.91 + 0.0407 * t - 0.000293 * t * t;
    let kh = k * h;
    let (a, b) = (k1 * kh, k1 * k2 * kh * kh);
    1800.0 / w * (kh / (1.0 - kh) + (a + 2.0 * b) / (1.0 + a + b))
}

/// Equilibrium moisture content in percent, of any wood, in air of `temperature_c` (-1.2 to 132.3 deg C) and `rh_percent`
/// (0 to 100): Handbook Eq. 4-5. It ignores species and history; real wood lies within about 1 % MC of it.
/// Above 95 % RH it runs beyond the table it reproduces.
pub fn emc_percent(temperature_c: f64, rh_percent: f64) -> Result<f64> {
    let (low, high) = EMC_TEMPERATURE_RANGE_C;
    let t = within("temperature_c", temperature_c, "deg C", low, high)?;
    let h = within("rh_percent", rh_percent, "% RH", 0.0, 100.0)? / 100.0;
    Ok(emc(t, h))
}

/// The relative humidity in percent that holds wood at `mc_percent` at `temperature_c`: the inverse of [`emc_percent`].
/// Allowed from 0 to the moisture content that 100 % RH gives.
pub fn rh_for_emc_percent(temperature_c: f64, mc_percent: f64) -> Result<f64> {
    let most = emc_percent(temperature_c, 100.0)?;
    let target = within("mc_percent", mc_percent, "% MC", 0.0, most)?;
    let (mut low, mut high) = (0.0, 1.0);
    for _ in 0..60 {
        let mid = 0.5 * (low + high);
        if emc(temperature_c, mid) < target { low = mid } else { high = mid }
    }
    Ok(50.0 * (low + high))
}

/// A property at `mc_percent` (0 to 30) from its value at 12 % and its green value: Handbook Eq. 5-3. From
/// `intersection_percent` (M_p, 15 to 35; 25 where the species has none) upwards it is the green value.
pub fn at_moisture(at_12: f64, green: f64, mc_percent: f64, intersection_percent: f64) -> Result<f64> {
    let p12 = crate::error::positive("at_12", at_12, "")?;
    let pg = crate::error::positive("green", green, "")?;
    let m = check_mc("mc_percent", mc_percent)?;
    let mp = Q::IntersectionMoisture.check(intersection_percent)?;
    Ok(p12 * (p12 / pg).powf((12.0 - m.min(mp)) / (mp - 12.0)))
}

/// Specific gravity on the volume at `mc_percent` from the basic one (oven-dry mass over green volume): Eq. 4-13.
/// The volume stops changing at 30 % MC.
pub fn specific_gravity_at(basic: f64, mc_percent: f64) -> Result<f64> {
    let gb = Q::SpecificGravityGreen.check(basic)?;
    let x = not_negative("mc_percent", mc_percent, "% MC")?;
    Ok(gb / (1.0 - swelling_left(x) * gb))
}

/// Density in kg/m3 from the specific gravity on the volume at the same moisture content: Eq. 4-14.
pub fn density_from_specific_gravity(specific_gravity: f64, mc_percent: f64) -> Result<f64> {
    let g = within("specific_gravity", specific_gravity, "", 0.04, 1.6)?;
    let x = not_negative("mc_percent", mc_percent, "% MC")?;
    Ok(1000.0 * g * (1.0 + x / 100.0))
}

/// The most water wood of this basic specific gravity can hold, in percent: Eq. 4-3.
pub fn max_moisture_percent(basic: f64) -> Result<f64> {
    let gb = Q::SpecificGravityGreen.check(basic)?;
    Ok(100.0 * (1.54 - gb) / (1.54 * gb))
}

fn swelling_left(x: f64) -> f64 {
    0.265 * (1.0 - x.min(FIBRE_SATURATION_PERCENT) / FIBRE_SATURATION_PERCENT)
}

fn check_mc(name: &str, mc_percent: f64) -> Result<f64> {
    within(name, mc_percent, "% MC", MOISTURE_RANGE_PERCENT.0, MOISTURE_RANGE_PERCENT.1)
}

/// Modulus along the grain at `temperature_c` (-50 to 50 deg C) over that at 20 deg C, wood at `mc_percent` (0 to 30).
/// Table 5-15, straight between its entries in both; above 12 % MC its row for 12 % is used.
pub fn modulus_temperature_factor(temperature_c: f64, mc_percent: f64) -> Result<f64> {
    let t = check_temperature(temperature_c)?;
    let m = check_mc("mc_percent", mc_percent)?;
    Ok(modulus_factor(t, m))
}

/// Modulus of rupture at `temperature_c` (-50 to 50 deg C) over that at 20 deg C, at 11 to 15 % MC: Table 5-15.
pub fn strength_temperature_factor(temperature_c: f64) -> Result<f64> {
    Ok(strength_factor(check_temperature(temperature_c)?))
}

/// Moduli across the grain at `temperature_c` (20 to 50 deg C) over those at 20 deg C, at `mc_percent` (6 to 12):
/// Table 5-15. Given for information: [`Wood::at_temperature`] keeps the ratios.
pub fn transverse_temperature_factor(temperature_c: f64, mc_percent: f64) -> Result<f64> {
    let t = within("temperature_c", temperature_c, "deg C", 20.0, 50.0)?;
    let m = within("mc_percent", mc_percent, "% MC", 6.0, 12.0)?;
    let at_50 = -0.20 - 0.15 * (m - 6.0) / 6.0;
    Ok(1.0 + at_50 * (t - 20.0) / 30.0)
}

fn check_temperature(t: f64) -> Result<f64> {
    within("temperature_c", t, "deg C", -50.0, 50.0)
}

fn modulus_factor(t: f64, m: f64) -> f64 {
    let wet = m.min(12.0) / 12.0;
    if t < 20.0 { 1.0 + (0.11 + 0.06 * wet) * (20.0 - t) / 70.0 } else { 1.0 - (0.06 + 0.01 * wet) * (t - 20.0) / 30.0 }
}

fn strength_factor(t: f64) -> f64 {
    if t < 20.0 { 1.0 + 0.35 * (20.0 - t) / 70.0 } else { 1.0 - 0.20 * (t - 20.0) / 30.0 }
}

impl Wood {
    /// The same wood at another moisture content, 0 to 30 %.
    ///
    /// E_L and the strengths follow Eq. 5-3 with the species' own slope; E_R, E_T and the shear moduli their own, steeper
    /// ones, so the ratios move; Poisson ratios stay. Nothing but the density changes above M_p. A strength whose green
    /// value is unknown stays as published. The density follows Eq. 4-13 and 4-14. Going there and back returns.
    pub fn at_moisture(&self, mc_percent: f64) -> Result<Wood> {
        let to = check_mc("mc_percent", mc_percent)?;
        let from = self.moisture_percent();
        let mp = self.value(Q::IntersectionMoisture).unwrap_or(25.0);
        let step = to.min(mp) - from.min(mp);
        let factor = |slope: Q| self.value(slope).map_or(1.0, |k| (-k / 100.0 * step).exp());
        let t = self.temperature_c();
        let warm = modulus_factor(t, to) / modulus_factor(t, from);

        let mut inner: Inner = (*self.0).clone();
        inner.moisture_percent = to;
        let along = factor(Q::ModulusLSlope);
        let across = factor(Q::TransverseSlope) / along;
        let shear = factor(Q::ShearModulusSlope) / along;
        let g = self.density_kg_m3() / (1000.0 * (1.0 + from / 100.0));
        let basic = g / (1.0 + swelling_left(from) * g);
        let density = basic / (1.0 - swelling_left(to) * basic) * (1.0 + to / 100.0) * 1000.0;
        for (quantity, figure) in &mut inner.figures {
            figure.value *= match quantity {
                Q::Density => density / self.density_kg_m3(),
                Q::ModulusL | Q::BendingModulus => along * warm,
                Q::ErEl | Q::EtEl => across,
                Q::GlrEl | Q::GltEl | Q::GrtEl => shear,
                Q::ModulusOfRupture => factor(Q::ModulusOfRuptureSlope),
                Q::CompressionParallel => factor(Q::CompressionParallelSlope),
                Q::CompressionPerpendicular => factor(Q::CompressionPerpendicularSlope),
                Q::ShearParallel => factor(Q::ShearParallelSlope),
                _ => 1.0,
            };
        }
        Wood::build(inner)
    }

    /// The same wood at another temperature, -50 to 50 deg C: E_L and the modulus of rupture by Table 5-15 (about
    /// -0.23 % of E_L per degree above 20 deg C at 12 % MC), everything else, the ratios too, unchanged.
    pub fn at_temperature(&self, temperature_c: f64) -> Result<Wood> {
        let t = check_temperature(temperature_c)?;
        let (old, m) = (self.temperature_c(), self.moisture_percent());
        let mut inner: Inner = (*self.0).clone();
        inner.temperature_c = t;
        for (quantity, figure) in &mut inner.figures {
            figure.value *= match quantity {
                Q::ModulusL | Q::BendingModulus => modulus_factor(t, m) / modulus_factor(old, m),
                Q::ModulusOfRupture => strength_factor(t) / strength_factor(old),
                _ => 1.0,
            };
        }
        Wood::build(inner)
    }

    /// The same wood settled in air of `temperature_c` (-1.2 to 50 deg C) and `rh_percent` (0 to 100): [`emc_percent`],
    /// then [`Wood::at_moisture`] and [`Wood::at_temperature`]. Air so damp that the wood passes 30 % MC is taken as 30.
    pub fn at_climate(&self, temperature_c: f64, rh_percent: f64) -> Result<Wood> {
        let mc = emc_percent(temperature_c, rh_percent)?;
        self.at_moisture(mc.min(MOISTURE_RANGE_PERCENT.1))?.at_temperature(temperature_c)
    }

    /// Change in mm of a dimension of `size_mm` across the grain when the moisture goes from `from_percent` to
    /// `to_percent` (each 0 to 30); swelling is positive. `ring_angle_deg` (0 to 90) lies between the radial direction and
    /// the dimension: 0 is purely radial (the width of a brace with its rings upright), 90 tangential. The coefficients hold
    /// from 6 to 14 % MC; a wood without them is refused.
    pub fn size_change_mm(&self, size_mm: f64, from_percent: f64, to_percent: f64, ring_angle_deg: f64) -> Result<f64> {
        let size = crate::error::positive("size_mm", size_mm, "mm")?;
        let from = check_mc("from_percent", from_percent)?;
        let to = check_mc("to_percent", to_percent)?;
        let angle = within("ring_angle_deg", ring_angle_deg, "deg", 0.0, 90.0)?.to_radians();
        let radial = self.needed(Q::ChangeRadial)?;
        let tangential = self.needed(Q::ChangeTangential)?;
        let (s, c) = angle.sin_cos();
        Ok(size * (radial * c * c + tangential * s * s) * (to - from))
    }

    /// Change in mm of a length of `size_mm` along the grain for the same change: 0.00005 per percent, common practice.
    pub fn length_change_mm(&self, size_mm: f64, from_percent: f64, to_percent: f64) -> Result<f64> {
        let size = crate::error::positive("size_mm", size_mm, "mm")?;
        let step = check_mc("to_percent", to_percent)? - check_mc("from_percent", from_percent)?;
        Ok(size * CHANGE_ALONG_PER_PERCENT_MC * step)
    }
}
