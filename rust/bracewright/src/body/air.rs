//! The air of a box: what it weighs, how fast sound goes, how stiff the cavity is and where it rings through its hole.

use std::f64::consts::{PI, TAU};

use serde::{Deserialize, Serialize};

use crate::combine::{Budget, BudgetLine, Evaluation};
use crate::error::{Result, within};

/// Molar gas constant, J/(mol K) (2019 SI).
const R: f64 = 8.314_462_618;
/// Molar mass of dry air, kg/mol (CIPM-2007, to its fourth digit).
const M_DRY: f64 = 0.028_966;
/// Molar mass of water, kg/mol.
const M_WATER: f64 = 0.018_015;
/// Heat capacity at constant pressure over R: of dry air, and of water vapour near room temperature.
const CP_DRY: f64 = 3.5;
const CP_WATER: f64 = 4.04;

/// A cavity, its hole and the air in them.
///
/// Density and speed of sound are those of a mixture of two ideal gases, gamma from heat capacities of 3.5 R (dry air) and 4.04 R
/// (vapour), the vapour pressure over water by Magnus' formula with the constants 6.112 hPa, 17.62 and 243.12 (WMO, from memory).
/// Between 0 and 40 degrees C that is within 0.1 % of Cramer (J. Acoust. Soc. Am. 93 (1993) 2510) in speed and of the CIPM
/// formula in density.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct BodyAir {
    /// Volume enclosed, litres.
    pub volume_l: f64,
    /// Standard uncertainty, litres.
    pub u_volume_l: f64,
    /// Area of the hole, cm2.
    pub hole_area_cm2: f64,
    /// Standard uncertainty, cm2.
    pub u_hole_area_cm2: f64,
    /// Thickness of the plate at the hole's edge, mm.
    pub edge_mm: f64,
    /// Both end corrections together, in radii of a round hole of the same area.
    pub end_radii: f64,
    /// Standard uncertainty, radii.
    pub u_end_radii: f64,
    /// Temperature, degrees C.
    pub temperature_c: f64,
    /// Standard uncertainty, degrees C.
    pub u_temperature_c: f64,
    /// Relative humidity, percent.
    pub rh_percent: f64,
    /// Pressure, kPa.
    pub pressure_kpa: f64,
}

impl BodyAir {
    /// Both ends of a hole in a large plate: 8/(3 pi) radii each, Rayleigh's upper bound (Theory of Sound, art. 307 and 312; the
    /// lower, of an edge without thickness, is pi/4 each). The walls of a box, near on the inside, are in neither.
    pub const END_RADII: f64 = 16.0 / (3.0 * PI);
    /// Its standard uncertainty: the two bounds, and as much again for the walls (judgement).
    pub const U_END_RADII: f64 = 0.12;

    /// A cavity of `volume_l` (0.1 to 500) and a hole of `hole_area_cm2` (0.5 to 1000) in a plate of `edge_mm` (0 to 30), in dry
    /// air of 20 degrees C and 101.325 kPa, everything else as usual and without uncertainty of the sizes.
    pub fn new(volume_l: f64, hole_area_cm2: f64, edge_mm: f64) -> Result<Self> {
        Self {
            volume_l,
            u_volume_l: 0.0,
            hole_area_cm2,
            u_hole_area_cm2: 0.0,
            edge_mm,
            end_radii: Self::END_RADII,
            u_end_radii: Self::U_END_RADII,
            temperature_c: 20.0,
            u_temperature_c: 0.0,
            rh_percent: 0.0,
            pressure_kpa: 101.325,
        }
        .checked()
    }

    /// Area of a round hole of `diameter_mm` (8 to 350), cm2, and its standard uncertainty.
    pub fn round_hole_cm2(diameter_mm: f64, u_diameter_mm: f64) -> Result<(f64, f64)> {
        let d = within("diameter_mm", diameter_mm, "mm", 8.0, 350.0)?;
        let u = within("u_diameter_mm", u_diameter_mm, "mm", 0.0, 0.2 * d)?;
        Ok((0.0025 * PI * d * d, 0.005 * PI * d * u))
    }

    /// Itself, unless a figure is out of range: besides those of `new`, `end_radii` 0 to 5, `temperature_c` -20 to 50, `rh_percent`
    /// 0 to 100, `pressure_kpa` 40 to 120, uncertainties 0 or more.
    pub fn checked(self) -> Result<Self> {
        within("volume_l", self.volume_l, "l", 0.1, 500.0)?;
        within("u_volume_l", self.u_volume_l, "l", 0.0, 0.5 * self.volume_l)?;
        within("hole_area_cm2", self.hole_area_cm2, "cm2", 0.5, 1000.0)?;
        within("u_hole_area_cm2", self.u_hole_area_cm2, "cm2", 0.0, 0.5 * self.hole_area_cm2)?;
        within("edge_mm", self.edge_mm, "mm", 0.0, 30.0)?;
        within("end_radii", self.end_radii, "", 0.1, 5.0)?;
        within("u_end_radii", self.u_end_radii, "", 0.0, 0.5 * self.end_radii)?;
        within("temperature_c", self.temperature_c, "degrees C", -20.0, 50.0)?;
        within("u_temperature_c", self.u_temperature_c, "degrees C", 0.0, 20.0)?;
        within("rh_percent", self.rh_percent, "percent", 0.0, 100.0)?;
        within("pressure_kpa", self.pressure_kpa, "kPa", 40.0, 120.0)?;
        Ok(self)
    }

    fn kelvin(&self) -> f64 {
        self.temperature_c + 273.15
    }

    /// Mole fraction of water vapour.
    fn vapour(&self) -> f64 {
        let saturated_kpa = 0.6112 * (17.62 * self.temperature_c / (243.12 + self.temperature_c)).exp();
        0.01 * self.rh_percent * saturated_kpa / self.pressure_kpa
    }

    fn molar_mass(&self) -> f64 {
        let x = self.vapour();
        (1.0 - x) * M_DRY + x * M_WATER
    }

    fn gamma(&self) -> f64 {
        let x = self.vapour();
        let cp = (1.0 - x) * CP_DRY + x * CP_WATER;
        cp / (cp - 1.0)
    }

    /// Density, kg/m3: p M / (R T).
    pub fn density_kg_m3(&self) -> f64 {
        1000.0 * self.pressure_kpa * self.molar_mass() / (R * self.kelvin())
    }

    /// Speed of sound, m/s: sqrt(gamma R T / M).
    pub fn speed_m_s(&self) -> f64 {
        (self.gamma() * R * self.kelvin() / self.molar_mass()).sqrt()
    }

    /// Pressure for the volume pressed in, Pa/m3: mu = rho c^2 / V, which is gamma p / V.
    pub fn spring_pa_per_m3(&self) -> f64 {
        self.gamma() * 1e6 * self.pressure_kpa / self.volume_l
    }

    /// Radius of a round hole of the same area, mm.
    pub fn hole_radius_mm(&self) -> f64 {
        (100.0 * self.hole_area_cm2 / PI).sqrt()
    }

    /// Length of the air that moves in the hole, mm: the edge and both end corrections.
    pub fn hole_length_mm(&self) -> f64 {
        self.edge_mm + self.end_radii * self.hole_radius_mm()
    }

    /// Mass of the air that moves in the hole, g: rho S L.
    pub fn hole_mass_g(&self) -> f64 {
        1e-4 * self.density_kg_m3() * self.hole_area_cm2 * self.hole_length_mm()
    }

    /// Frequency of the box if its walls were rigid, Hz: c / (2 pi) sqrt(S / (V L)).
    pub fn helmholtz_hz(&self) -> f64 {
        // cm2 over litres and mm: 1e-4 / (1e-3 x 1e-3)
        self.speed_m_s() / TAU * (100.0 * self.hole_area_cm2 / (self.volume_l * self.hole_length_mm())).sqrt()
    }

    /// That frequency with where its uncertainty comes from; some uncertainty must be above 0. What walls that give do to it is
    /// not a part of it: that is what the coupled oscillators are for.
    pub fn helmholtz_budget(&self, coverage: f64) -> Result<Budget> {
        let f = self.helmholtz_hz();
        let line = |source: &str, value: f64, u: f64, slope: f64| BudgetLine::new(source, value, u, slope, None, Evaluation::B);
        let ends = self.end_radii * self.hole_radius_mm() / self.hole_length_mm();
        let lines = vec![
            line("volume_l", self.volume_l, self.u_volume_l, -0.5 * f / self.volume_l)?,
            line("hole_area_cm2", self.hole_area_cm2, self.u_hole_area_cm2, 0.5 * f * (1.0 - 0.5 * ends) / self.hole_area_cm2)?,
            line("end_radii", self.end_radii, self.u_end_radii, -0.5 * f * ends / self.end_radii)?,
            // the little that vapour adds to the root of T is left out
            line("temperature_c", self.temperature_c, self.u_temperature_c, 0.5 * f / self.kelvin())?,
        ];
        Budget::new(f, "Hz", lines, coverage)
    }

    /// Mass of air that moves with one side of a piston of `area_cm2` (1 to 5000) in a large wall, g: 8/3 rho a^3, far below the
    /// frequency where the wave is as long as its rim (Rayleigh; Kinsler et al., Fundamentals of Acoustics, from memory). Without a
    /// wall around it a disc takes half of that on each side.
    pub fn load_g(&self, area_cm2: f64) -> Result<f64> {
        let area = within("area_cm2", area_cm2, "cm2", 1.0, 5000.0)?;
        Ok(8.0 / 3.0 * self.density_kg_m3() * (1e-4 * area / PI).powf(1.5) * 1e3)
    }
}
