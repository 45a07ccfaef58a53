//! The quantities a wood is described by, and the figure that stands for each: value, spread, standing, source.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};

use crate::error::{self, Error, Result};

/// How well a figure is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Standing {
    /// Read in the document named.
    Confirmed,
    /// Computed from other figures by the rule the source names.
    Recomputed,
    /// Read in another author's table that cites the document named.
    Secondary,
    /// Quoted from memory: nobody has read the page.
    FromMemory,
    /// A range in common use, without a published source.
    CommonPractice,
    /// Assumed, by the rule the source names, because there is no figure.
    Estimated,
    /// Given or measured by the user.
    Own,
}

impl Standing {
    /// Every standing, best known first.
    pub const ALL: [Standing; 7] = [
        Standing::Confirmed,
        Standing::Recomputed,
        Standing::Secondary,
        Standing::FromMemory,
        Standing::CommonPractice,
        Standing::Estimated,
        Standing::Own,
    ];

    /// The words a sheet prints.
    pub fn words(self) -> &'static str {
        match self {
            Standing::Confirmed => "confirmed",
            Standing::Recomputed => "recomputed",
            Standing::Secondary => "secondary",
            Standing::FromMemory => "from memory",
            Standing::CommonPractice => "common practice",
            Standing::Estimated => "estimated",
            Standing::Own => "own",
        }
    }
}

impl fmt::Display for Standing {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.words())
    }
}

impl FromStr for Standing {
    type Err = Error;

    fn from_str(text: &str) -> Result<Standing> {
        let plain = text.trim().to_lowercase().replace(['-', '_'], " ");
        Self::ALL
            .into_iter()
            .find(|s| s.words() == plain)
            .ok_or_else(|| error::unknown_name("standing", text, Self::ALL.map(Standing::words)))
    }
}

/// One figure of a wood.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Figure {
    /// The value, in the unit its quantity names, at the moisture content and temperature of the wood that holds it.
    pub value: f64,
    /// Relative standard deviation between sticks of the species (0.22 is 22 %); `None` when no source gives one.
    pub spread: Option<f64>,
    /// How well the value is known.
    pub standing: Standing,
    /// Document, edition and table, or the rule it came by.
    pub source: String,
}

macro_rules! quantities {
    ($($variant:ident, $name:literal, $unit:literal, $low:literal, $high:literal, $spread:expr, $about:literal;)*) => {
        /// Everything that can be said about a wood. The name in files and messages carries the unit.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum Quantity { $(#[doc = $about] $variant,)* }

        impl Quantity {
            /// Every quantity, in the order of a data sheet.
            pub const ALL: &'static [Quantity] = &[$(Quantity::$variant,)*];

            /// Name with its unit, as in files: `modulus_l_gpa`.
            pub fn name(self) -> &'static str {
                match self { $(Quantity::$variant => $name,)* }
            }

            /// Unit; empty for a bare ratio.
            pub fn unit(self) -> &'static str {
                match self { $(Quantity::$variant => $unit,)* }
            }

            /// Smallest and largest value taken; wide enough for any wood, narrow enough to catch a wrong unit.
            pub fn range(self) -> (f64, f64) {
                match self { $(Quantity::$variant => ($low, $high),)* }
            }

            /// Relative standard deviation between sticks of one species, the Wood Handbook's own coefficients of
            /// variation (Table 5-6, from memory); `None` where it gives none.
            pub fn usual_spread(self) -> Option<f64> {
                match self { $(Quantity::$variant => $spread,)* }
            }
        }
    };
}

quantities! {
    Density, "density_kg_m3", "kg/m3", 50.0, 1600.0, Some(0.10), "Mass over volume, both at the wood's moisture content.";
    SpecificGravityGreen, "specific_gravity_green", "", 0.04, 1.4, Some(0.10), "Basic specific gravity: oven-dry mass over green volume.";
    ModulusL, "modulus_l_gpa", "GPa", 0.5, 60.0, Some(0.22), "Young's modulus along the grain, free of shear.";
    BendingModulus, "bending_modulus_gpa", "GPa", 0.5, 60.0, Some(0.22), "Published modulus in bending at span/depth 14, which contains shear.";
    BendingModulusGreen, "bending_modulus_green_gpa", "GPa", 0.5, 60.0, Some(0.22), "The same on green wood.";
    ErEl, "er_el", "", 0.005, 1.5, None, "Radial modulus over E_L.";
    EtEl, "et_el", "", 0.005, 1.5, None, "Tangential modulus over E_L.";
    GlrEl, "glr_el", "", 0.005, 1.0, None, "Shear modulus in the LR plane over E_L.";
    GltEl, "glt_el", "", 0.005, 1.0, None, "Shear modulus in the LT plane over E_L.";
    GrtEl, "grt_el", "", 0.0005, 1.0, None, "Rolling shear modulus (RT plane) over E_L.";
    NuLr, "nu_lr", "", -1.0, 2.0, None, "Poisson ratio: strain along R caused by stress along L.";
    NuLt, "nu_lt", "", -1.0, 2.0, None, "Poisson ratio: strain along T caused by stress along L.";
    NuRt, "nu_rt", "", -1.0, 2.0, None, "Poisson ratio: strain along T caused by stress along R.";
    ModulusOfRupture, "modulus_of_rupture_mpa", "MPa", 1.0, 500.0, Some(0.16), "Strength in bending, short-term, clear straight grain.";
    ModulusOfRuptureGreen, "modulus_of_rupture_green_mpa", "MPa", 1.0, 500.0, Some(0.16), "The same on green wood.";
    CompressionParallel, "compression_parallel_mpa", "MPa", 1.0, 300.0, Some(0.18), "Crushing strength along the grain.";
    CompressionParallelGreen, "compression_parallel_green_mpa", "MPa", 1.0, 300.0, Some(0.18), "The same on green wood.";
    CompressionPerpendicular, "compression_perpendicular_mpa", "MPa", 0.1, 100.0, Some(0.28), "Stress at the proportional limit, pressed across the grain.";
    CompressionPerpendicularGreen, "compression_perpendicular_green_mpa", "MPa", 0.1, 100.0, Some(0.28), "The same on green wood.";
    ShearParallel, "shear_parallel_mpa", "MPa", 0.1, 100.0, Some(0.14), "Shear strength along the grain.";
    ShearParallelGreen, "shear_parallel_green_mpa", "MPa", 0.1, 100.0, Some(0.14), "The same on green wood.";
    TensionPerpendicular, "tension_perpendicular_mpa", "MPa", 0.1, 50.0, Some(0.25), "Tensile strength across the grain.";
    ShrinkageRadial, "shrinkage_radial_percent", "%", 0.1, 30.0, None, "Radial shrinkage from green to oven-dry, of the green size.";
    ShrinkageTangential, "shrinkage_tangential_percent", "%", 0.1, 30.0, None, "Tangential shrinkage from green to oven-dry.";
    ShrinkageVolumetric, "shrinkage_volumetric_percent", "%", 0.1, 50.0, None, "Volume shrinkage from green to oven-dry.";
    ChangeRadial, "change_radial_per_percent_mc", "per % MC", 0.0001, 0.02, None, "C_R: relative radial change per percent of moisture, 6 to 14 %.";
    ChangeTangential, "change_tangential_per_percent_mc", "per % MC", 0.0001, 0.02, None, "C_T: relative tangential change per percent of moisture, 6 to 14 %.";
    IntersectionMoisture, "intersection_moisture_percent", "% MC", 15.0, 35.0, None, "M_p: the moisture above which drying no longer changes the properties.";
    ModulusLSlope, "modulus_l_slope_percent", "% per % MC", 0.0, 10.0, None, "Loss of E_L per percent of moisture, as the slope of its logarithm.";
    TransverseSlope, "modulus_transverse_slope_percent", "% per % MC", 0.0, 10.0, None, "The same for E_R and E_T.";
    ShearModulusSlope, "shear_modulus_slope_percent", "% per % MC", 0.0, 10.0, None, "The same for the three shear moduli.";
    ModulusOfRuptureSlope, "modulus_of_rupture_slope_percent", "% per % MC", 0.0, 15.0, None, "The same for the modulus of rupture.";
    CompressionParallelSlope, "compression_parallel_slope_percent", "% per % MC", 0.0, 15.0, None, "The same for compression along the grain.";
    CompressionPerpendicularSlope, "compression_perpendicular_slope_percent", "% per % MC", 0.0, 15.0, None, "The same for compression across the grain.";
    ShearParallelSlope, "shear_parallel_slope_percent", "% per % MC", 0.0, 15.0, None, "The same for shear strength.";
}

impl Quantity {
    /// The value itself when it lies in [`Quantity::range`]; otherwise an error that names quantity, value, unit and range.
    pub fn check(self, value: f64) -> Result<f64> {
        let (low, high) = self.range();
        error::within(self.name(), value, self.unit(), low, high)
    }
}

impl fmt::Display for Quantity {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

impl FromStr for Quantity {
    type Err = Error;

    fn from_str(text: &str) -> Result<Quantity> {
        Self::ALL
            .iter()
            .copied()
            .find(|q| q.name() == text)
            .ok_or_else(|| error::unknown_name("quantity", text, Self::ALL.iter().map(|q| q.name())))
    }
}

impl Figure {
    /// A figure with the usual spread of its quantity.
    pub fn new(quantity: Quantity, value: f64, standing: Standing, source: impl Into<String>) -> Figure {
        Figure { value, spread: quantity.usual_spread(), standing, source: source.into() }
    }

    /// Standard deviation between sticks, in the unit of the value; `None` without a spread.
    pub fn sigma(&self) -> Option<f64> {
        self.spread.map(|s| s * self.value.abs())
    }
}
