//! A stick before it is carved: its wood, its measured size and mass, and what is believed of its stiffness.

use serde::{Deserialize, Serialize};

use crate::error::{Error, Result, number, positive, within};
use crate::mechanics::resolved::Law;
use crate::mechanics::ribbed::{RibLaw, SolidLaw};
use crate::profile::Profile;
use crate::wood::{PlaneStiffness, Quantity, Wood};

/// Standard uncertainties of the measured size and mass.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct SizeUncertainty {
    /// Of the length, mm.
    pub length_mm: f64,
    /// Of the width, mm.
    pub width_mm: f64,
    /// Of the height, mm.
    pub height_mm: f64,
    /// Of the mass, g.
    pub mass_g: f64,
}

impl Default for SizeUncertainty {
    /// Rule 0.5 mm, callipers 0.03 mm, scale 0.05 g (common practice, no source).
    fn default() -> Self {
        Self { length_mm: 0.5, width_mm: 0.03, height_mm: 0.03, mass_g: 0.05 }
    }
}

/// The stick. A value: learning from a reading gives a new one.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Blank {
    wood: Wood,
    start: Profile,
    width_mm: f64,
    mass_g: Option<f64>,
    size_u: SizeUncertainty,
    ring_angle_deg: f64,
    run_out: f64,
    modulus_gpa: f64,
    modulus_spread: f64,
    learned_from: usize,
}

/// Narrowest brace taken, mm: below it a unit has been mistaken.
pub const NARROWEST_MM: f64 = 0.1;
/// Least mass taken, g.
pub const LEAST_MASS_G: f64 = 0.001;
/// Widest brace taken, mm.
pub const WIDEST_MM: f64 = 100.0;

/// Spread of E_L taken when the wood names none: 22 %, Wood Handbook (coefficient of variation of the modulus, clear
/// wood within a species; from memory).
pub const SPECIES_SPREAD: f64 = 0.22;

impl Blank {
    /// A sawn stick of one height: length 1 to 2000 mm, width 0.1 to 100, height 0.1 to 200, mass from 0.001 g. Without
    /// a mass the density is the species' own.
    pub fn new(wood: &Wood, length_mm: f64, width_mm: f64, height_mm: f64, mass_g: Option<f64>) -> Result<Self> {
        Self::shaped(wood, Profile::straight(length_mm, height_mm)?, width_mm, mass_g)
    }

    /// A stick whose height has been measured at stations, or that is already carved: `start` is what is there now.
    pub fn shaped(wood: &Wood, start: Profile, width_mm: f64, mass_g: Option<f64>) -> Result<Self> {
        positive("width_mm", width_mm, "mm")?;
        within("width_mm", width_mm, "mm", NARROWEST_MM, WIDEST_MM)?;
        let out = Self {
            wood: wood.clone(),
            start,
            width_mm,
            mass_g,
            size_u: SizeUncertainty::default(),
            ring_angle_deg: 0.0,
            run_out: 0.0,
            modulus_gpa: wood.modulus_l_gpa(),
            modulus_spread: wood
                .figure(Quantity::ModulusL)
                .and_then(|f| f.sigma())
                .map_or(SPECIES_SPREAD, |s| s / wood.modulus_l_gpa()),
            learned_from: 0,
        };
        if let Some(m) = mass_g {
            positive("mass_g", m, "g")?;
            if m < LEAST_MASS_G {
                return Err(Error::OutOfRange {
                    quantity: "mass_g".into(),
                    value: m,
                    unit: "g",
                    allowed: format!("at least {} g", number(LEAST_MASS_G)),
                });
            }
            let density = out.density_kg_m3();
            if !(100.0..=1400.0).contains(&density) {
                return Err(Error::Refused(format!(
                    "mass_g is {} g over {} cm3, a density of {} kg/m3; wood lies between 100 and 1400: check the units of size and mass",
                    number(m),
                    number((out.volume_mm3() / 1000.0 * 100.0).round() / 100.0),
                    density.round()
                )));
            }
        }
        Ok(out)
    }

    /// The same stick with other figures of its wood; what is believed of its modulus stays.
    pub(crate) fn with_wood(&self, wood: &Wood) -> Result<Self> {
        let out = Self { wood: wood.clone(), ..self.clone() };
        out.stiffness().map(|_| out)
    }

    /// With other uncertainties of size and mass.
    pub fn with_size_uncertainty(&self, u: SizeUncertainty) -> Result<Self> {
        for (name, v, unit) in [
            ("u_length_mm", u.length_mm, "mm"),
            ("u_width_mm", u.width_mm, "mm"),
            ("u_height_mm", u.height_mm, "mm"),
            ("u_mass_g", u.mass_g, "g"),
        ] {
            crate::error::not_negative(name, v, unit)?;
        }
        Ok(Self { size_u: u, ..self.clone() })
    }

    /// With the grain as it lies: `ring_angle_deg` 0 for rings upright in the brace, 90 for flat; `run_out` the slope of
    /// the grain in the side view (1 in 15 is 1/15).
    pub fn with_grain(&self, ring_angle_deg: f64, run_out: f64) -> Result<Self> {
        let out = Self { ring_angle_deg, run_out, ..self.clone() };
        out.stiffness()?;
        Ok(out)
    }

    /// With a belief of E along the grain: median in GPa and standard deviation of its logarithm (about the relative one).
    pub fn with_modulus(&self, modulus_gpa: f64, modulus_spread: f64) -> Result<Self> {
        within("modulus_gpa", modulus_gpa, "GPa", 0.1, 100.0)?;
        within("modulus_spread", modulus_spread, "", 0.0, 1.0)?;
        Ok(Self { modulus_gpa, modulus_spread, ..self.clone() })
    }

    /// After another reading has been learned from.
    pub(crate) fn learned(&self, modulus_gpa: f64, modulus_spread: f64) -> Result<Self> {
        Ok(Self { learned_from: self.learned_from + 1, ..self.with_modulus(modulus_gpa, modulus_spread)? })
    }

    /// The wood, as published or as the user gave it.
    pub fn wood(&self) -> &Wood {
        &self.wood
    }

    /// The shape of the stick as it stands.
    pub fn start(&self) -> &Profile {
        &self.start
    }

    /// Length, mm.
    pub fn length_mm(&self) -> f64 {
        self.start.length_mm()
    }

    /// Width, mm.
    pub fn width_mm(&self) -> f64 {
        self.width_mm
    }

    /// Greatest height, mm.
    pub fn height_mm(&self) -> f64 {
        self.start.crest().extremes(0.0, self.length_mm()).1.1
    }

    /// Mass as weighed, g.
    pub fn mass_g(&self) -> Option<f64> {
        self.mass_g
    }

    /// Uncertainties of size and mass.
    pub fn size_uncertainty(&self) -> SizeUncertainty {
        self.size_u
    }

    /// Ring angle, degrees: 0 upright.
    pub fn ring_angle_deg(&self) -> f64 {
        self.ring_angle_deg
    }

    /// Slope of grain in the side view.
    pub fn run_out(&self) -> f64 {
        self.run_out
    }

    /// Median of what is believed of E along the grain, GPa.
    pub fn modulus_gpa(&self) -> f64 {
        self.modulus_gpa
    }

    /// Standard deviation of its logarithm.
    pub fn modulus_spread(&self) -> f64 {
        self.modulus_spread
    }

    /// How many readings that belief has learned from.
    pub fn learned_from(&self) -> usize {
        self.learned_from
    }

    /// Volume as measured, mm3 (a rectangle in section).
    pub fn volume_mm3(&self) -> f64 {
        self.width_mm * self.start.crest().integral(0.0, self.length_mm())
    }

    /// Density, kg/m3: from the mass and size, or the species' own when it was not weighed.
    pub fn density_kg_m3(&self) -> f64 {
        self.mass_g.map_or_else(|| self.wood.density_kg_m3(), |m| m * 1e6 / self.volume_mm3())
    }

    /// Relative standard uncertainty of the density.
    pub fn density_spread(&self) -> f64 {
        let u = &self.size_u;
        match self.mass_g {
            Some(m) => [u.mass_g / m, u.length_mm / self.length_mm(), u.width_mm / self.width_mm, u.height_mm / self.height_mm()]
                .iter()
                .map(|r| r * r)
                .sum::<f64>()
                .sqrt(),
            None => self.wood.figure(Quantity::Density).and_then(|f| f.sigma()).map_or(0.10, |s| s / self.wood.density_kg_m3()),
        }
    }

    /// Plane-stress law in the side view at the believed modulus, with ring angle and run-out.
    pub fn stiffness(&self) -> Result<PlaneStiffness> {
        self.wood.plane_stiffness(self.ring_angle_deg, self.run_out, 0.0)?.scaled(self.modulus_gpa / self.wood.modulus_l_gpa())
    }

    /// Laws for the mechanics, MPa: the brace's own wood and a crossing leg of the same wood seen end on.
    pub(crate) fn laws(&self) -> Result<[Law; 2]> {
        let own = self.stiffness()?;
        let scale = self.modulus_gpa / self.wood.modulus_l_gpa();
        // across the crossing leg: E_R along the brace, E_T in the height, sheared in RT
        let across = PlaneStiffness::orthotropic(
            self.wood.modulus_r_gpa() * scale,
            self.wood.modulus_t_gpa() * scale,
            self.wood.shear_rt_gpa() * scale,
            self.wood.nu_rt(),
        )?;
        Ok([law(&own), law(&across)])
    }

    /// Laws of a rib for the mechanics, MPa: the brace's own wood and a crossing leg of the same wood.
    /// Stiffness of its solid wood, MPa, in axes it is turned by `angle` radians from.
    pub(crate) fn solid_law(&self, angle: f64) -> Result<SolidLaw> {
        let scale = 1000.0 * self.modulus_gpa / self.wood.modulus_l_gpa();
        Ok(self.wood.solid_stiffness(self.ring_angle_deg, self.run_out, angle)?.map(|row| row.map(|v| v * scale)))
    }

    pub(crate) fn rib_laws(&self) -> Result<[RibLaw; 2]> {
        let scale = 1000.0 * self.modulus_gpa / self.wood.modulus_l_gpa();
        let own = self.wood.rib_stiffness(self.ring_angle_deg, self.run_out, 0.0)?;
        Ok([own, self.wood.crossing_rib_stiffness()?].map(|c| RibLaw { c: c.map(|row| row.map(|v| v * scale)) }))
    }
}

pub(crate) fn law(p: &PlaneStiffness) -> Law {
    Law { c: p.c_gpa.map(|row| row.map(|v| 1000.0 * v)) }
}
