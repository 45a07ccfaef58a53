//! Wood: density, moduli, strengths and movement, each figure with its source, its standing and its spread.
//!
//! Axes: L along the grain, R radial, T tangential. Figures stand for clear wood at the moisture content and temperature
//! the value names, 12 % and 20 deg C unless changed. A published stick is a guess about yours: E_L varies by 22 % (one
//! standard deviation) within a species.

mod build;
mod file;
mod grain;
mod moisture;
mod quantity;
mod species;
mod strength;

use std::collections::BTreeMap;
use std::fmt;
use std::sync::Arc;

use serde::{Deserialize, Serialize};

pub use build::{BENDING_TO_TRUE, shear_free_factor};
pub use file::WOOD_SCHEMA;
pub use grain::{PlaneStiffness, combined_slope, hankinson, slope_of_grain_factor};
pub use moisture::{
    CHANGE_ALONG_PER_PERCENT_MC, EMC_TEMPERATURE_RANGE_C, MOISTURE_RANGE_PERCENT, at_moisture, density_from_specific_gravity,
    emc_percent, max_moisture_percent, modulus_temperature_factor, rh_for_emc_percent, specific_gravity_at,
    strength_temperature_factor, transverse_temperature_factor,
};
pub use quantity::{Figure, Quantity, Standing};
pub use strength::{LoadDuration, SIZE_EXPONENT, YEAR_S, duration_of_load_factor, k_def, k_mod, size_factor};

use crate::error::{self, Error, Result, within};

/// A wood, or one stick of it: a frozen value that is cheap to clone. A change makes a new one.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(try_from = "file::WoodFile", into = "file::WoodFile")]
pub struct Wood(Arc<Inner>);

#[derive(Debug, Clone, PartialEq)]
struct Inner {
    name: String,
    botanical_name: String,
    edition: String,
    moisture_percent: f64,
    temperature_c: f64,
    figures: BTreeMap<Quantity, Figure>,
    numbers: Numbers,
}

/// The figures that every wood has, unpacked when it is built.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
struct Numbers {
    density: f64,
    e_l: f64,
    er: f64,
    et: f64,
    glr: f64,
    glt: f64,
    grt: f64,
    nu_lr: f64,
    nu_lt: f64,
    nu_rt: f64,
}

macro_rules! read {
    ($($(#[$about:meta])* $method:ident -> $read:expr;)*) => {
        impl Wood {
            $($(#[$about])* pub fn $method(&self) -> f64 {
                let read: fn(&Numbers) -> f64 = $read;
                read(&self.0.numbers)
            })*
        }
    };
}

read! {
    /// Density in kg/m3, mass and volume both at [`Wood::moisture_percent`].
    density_kg_m3 -> |n| n.density;
    /// Young's modulus along the grain in GPa, free of shear (not the handbook's bending figure, which is 10 % lower).
    modulus_l_gpa -> |n| n.e_l;
    /// Radial Young's modulus in GPa.
    modulus_r_gpa -> |n| n.e_l * n.er;
    /// Tangential Young's modulus in GPa.
    modulus_t_gpa -> |n| n.e_l * n.et;
    /// Shear modulus in the LR plane in GPa.
    shear_lr_gpa -> |n| n.e_l * n.glr;
    /// Shear modulus in the LT plane in GPa: what vertical bending of a brace with upright rings shears.
    shear_lt_gpa -> |n| n.e_l * n.glt;
    /// Rolling shear modulus (RT plane) in GPa.
    shear_rt_gpa -> |n| n.e_l * n.grt;
    /// E_R/E_L.
    er_el -> |n| n.er;
    /// E_T/E_L.
    et_el -> |n| n.et;
    /// G_LR/E_L.
    glr_el -> |n| n.glr;
    /// G_LT/E_L.
    glt_el -> |n| n.glt;
    /// G_RT/E_L.
    grt_el -> |n| n.grt;
    /// Major Poisson ratio: strain along R over strain along L, sign turned, under stress along L.
    nu_lr -> |n| n.nu_lr;
    /// Major Poisson ratio: strain along T under stress along L.
    nu_lt -> |n| n.nu_lt;
    /// Major Poisson ratio: strain along T under stress along R.
    nu_rt -> |n| n.nu_rt;
    /// Minor Poisson ratio by reciprocity, nu_LR E_R/E_L. The Handbook's printed minor ratios break reciprocity.
    nu_rl -> |n| n.nu_lr * n.er;
    /// Minor Poisson ratio by reciprocity, nu_LT E_T/E_L.
    nu_tl -> |n| n.nu_lt * n.et;
    /// Minor Poisson ratio by reciprocity, nu_RT E_T/E_R.
    nu_tr -> |n| n.nu_rt * n.et / n.er;
}

impl Wood {
    /// Common name, with the edition where a species has more than one row: "Sitka spruce (1999)".
    pub fn name(&self) -> &str {
        &self.0.name
    }

    /// Botanical name; empty when not given.
    pub fn botanical_name(&self) -> &str {
        &self.0.botanical_name
    }

    /// The edition the row was taken from; never two in one row. Empty when not given.
    pub fn edition(&self) -> &str {
        &self.0.edition
    }

    /// Moisture content in percent at which the figures stand.
    pub fn moisture_percent(&self) -> f64 {
        self.0.moisture_percent
    }

    /// Temperature in degrees C at which the figures stand.
    pub fn temperature_c(&self) -> f64 {
        self.0.temperature_c
    }

    /// One figure with its spread, standing and source; `None` when nobody has it. After a change of moisture or
    /// temperature the value is the adjusted one, the source still that of the figure it came from.
    pub fn figure(&self, quantity: Quantity) -> Option<&Figure> {
        self.0.figures.get(&quantity)
    }

    /// All figures there are, in the order of a data sheet.
    pub fn figures(&self) -> impl Iterator<Item = (Quantity, &Figure)> {
        self.0.figures.iter().map(|(q, f)| (*q, f))
    }

    /// The value of a figure in the unit its quantity names; `None` when nobody has it.
    pub fn value(&self, quantity: Quantity) -> Option<f64> {
        self.figure(quantity).map(|f| f.value)
    }

    /// The value of a figure, or a sentence that says this wood has none.
    pub fn needed(&self, quantity: Quantity) -> Result<f64> {
        self.value(quantity).ok_or_else(|| {
            Error::Refused(format!(
                "{} has no figure for {quantity}; give one with with_figure, or choose a wood that has it",
                self.name()
            ))
        })
    }

    /// Specific gravity: oven-dry mass over the volume at [`Wood::moisture_percent`].
    pub fn specific_gravity(&self) -> f64 {
        self.density_kg_m3() / (1000.0 * (1.0 + self.moisture_percent() / 100.0))
    }

    /// The published bending modulus in GPa (span/depth 14, shear in it), where the row has one.
    pub fn bending_modulus_gpa(&self) -> Option<f64> {
        self.value(Quantity::BendingModulus)
    }

    /// Modulus of rupture in MPa, short-term, clear straight-grained wood.
    pub fn modulus_of_rupture_mpa(&self) -> Option<f64> {
        self.value(Quantity::ModulusOfRupture)
    }

    /// Compression strength along the grain in MPa.
    pub fn compression_parallel_mpa(&self) -> Option<f64> {
        self.value(Quantity::CompressionParallel)
    }

    /// Compression across the grain in MPa, at the proportional limit.
    pub fn compression_perpendicular_mpa(&self) -> Option<f64> {
        self.value(Quantity::CompressionPerpendicular)
    }

    /// Shear strength along the grain in MPa.
    pub fn shear_parallel_mpa(&self) -> Option<f64> {
        self.value(Quantity::ShearParallel)
    }

    /// Tension across the grain in MPa.
    pub fn tension_perpendicular_mpa(&self) -> Option<f64> {
        self.value(Quantity::TensionPerpendicular)
    }

    /// C_R: relative radial change per percent of moisture.
    pub fn change_radial_per_percent_mc(&self) -> Option<f64> {
        self.value(Quantity::ChangeRadial)
    }

    /// C_T: relative tangential change per percent of moisture.
    pub fn change_tangential_per_percent_mc(&self) -> Option<f64> {
        self.value(Quantity::ChangeTangential)
    }

    /// A copy under another name; not empty.
    pub fn with_name(&self, name: &str) -> Result<Wood> {
        let mut inner = (*self.0).clone();
        inner.name = name.trim().into();
        Wood::build(inner)
    }

    /// A copy with one figure set. Setting the bending modulus sets E_L too (times [`BENDING_TO_TRUE`]); setting E_L or
    /// the density drops the book's bending moduli or basic specific gravity, which no longer describe this wood.
    /// Ratios stay when E_L changes, so every modulus moves with it.
    pub fn with_figure(&self, quantity: Quantity, figure: Figure) -> Result<Wood> {
        let mut inner = (*self.0).clone();
        inner.set(quantity, figure)?;
        Wood::build(inner)
    }

    /// A copy with one value of your own, the usual spread beside it.
    pub fn with_value(&self, quantity: Quantity, value: f64) -> Result<Wood> {
        self.with_figure(quantity, Figure::new(quantity, value, Standing::Own, "given by the user"))
    }

    /// A copy with several values of your own, the usual spread beside each.
    pub(crate) fn with_values(&self, values: &[(Quantity, f64)]) -> Result<Wood> {
        let mut inner = (*self.0).clone();
        for &(quantity, value) in values {
            inner.set(quantity, Figure::new(quantity, value, Standing::Own, "given by the user"))?;
        }
        Wood::build(inner)
    }

    /// A copy with another spread (relative standard deviation, 0 to 2) on a figure it has.
    pub fn with_spread(&self, quantity: Quantity, spread: f64) -> Result<Wood> {
        self.needed(quantity)?;
        let spread = within("spread", spread, "", 0.0, 2.0)?;
        let mut inner = (*self.0).clone();
        if let Some(figure) = inner.figures.get_mut(&quantity) {
            figure.spread = Some(spread);
        }
        Wood::build(inner)
    }

    /// A copy with E_L in GPa (0.5 to 60), the ratios kept.
    pub fn with_modulus_l_gpa(&self, modulus_l_gpa: f64) -> Result<Wood> {
        self.with_value(Quantity::ModulusL, modulus_l_gpa)
    }

    /// A copy with the density in kg/m3 (50 to 1600) at its moisture content.
    pub fn with_density_kg_m3(&self, density_kg_m3: f64) -> Result<Wood> {
        self.with_value(Quantity::Density, density_kg_m3)
    }

    /// A copy with E_R and E_T in GPa.
    pub fn with_transverse_moduli_gpa(&self, modulus_r_gpa: f64, modulus_t_gpa: f64) -> Result<Wood> {
        let r = error::positive("modulus_r_gpa", modulus_r_gpa, "GPa")? / self.modulus_l_gpa();
        let t = error::positive("modulus_t_gpa", modulus_t_gpa, "GPa")? / self.modulus_l_gpa();
        self.with_all(&[(Quantity::ErEl, r), (Quantity::EtEl, t)])
    }

    /// A copy with the shear moduli G_LR, G_LT and G_RT as shares of E_L.
    pub fn with_shear_ratios(&self, glr_el: f64, glt_el: f64, grt_el: f64) -> Result<Wood> {
        self.with_all(&[(Quantity::GlrEl, glr_el), (Quantity::GltEl, glt_el), (Quantity::GrtEl, grt_el)])
    }

    /// A copy with the major Poisson ratios; the minor ones follow by reciprocity.
    pub fn with_poisson_ratios(&self, nu_lr: f64, nu_lt: f64, nu_rt: f64) -> Result<Wood> {
        self.with_all(&[(Quantity::NuLr, nu_lr), (Quantity::NuLt, nu_lt), (Quantity::NuRt, nu_rt)])
    }

    /// A copy whose figures, unchanged, are said to stand at `mc_percent` (0 to 30): for figures measured there.
    /// [`Wood::at_moisture`] is the one that adjusts them.
    pub fn with_figures_at_moisture_percent(&self, mc_percent: f64) -> Result<Wood> {
        let mut inner = (*self.0).clone();
        let (low, high) = MOISTURE_RANGE_PERCENT;
        inner.moisture_percent = within("mc_percent", mc_percent, "% MC", low, high)?;
        Wood::build(inner)
    }

    fn with_all(&self, values: &[(Quantity, f64)]) -> Result<Wood> {
        let mut inner = (*self.0).clone();
        for &(q, v) in values {
            inner.set(q, Figure::new(q, v, Standing::Own, "given by the user"))?;
        }
        Wood::build(inner)
    }
}

impl fmt::Display for Wood {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let edition = if self.edition().is_empty() { String::new() } else { format!(" ({})", self.edition()) };
        write!(
            f,
            "{}{edition}: {:.0} kg/m3, E_L {:.2} GPa at {:.1} % MC",
            self.name(),
            self.density_kg_m3(),
            self.modulus_l_gpa(),
            self.moisture_percent()
        )
    }
}
