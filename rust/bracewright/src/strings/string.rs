//! One string: what a metre of it weighs, and how well that is known.

use std::f64::consts::PI;

use serde::{Deserialize, Serialize};

use super::notes::note_hz;
use crate::error::{Error, Result, number, within};

/// Density of steel wire, kg/m3 (handbook value, from memory).
const STEEL_KG_M3: f64 = 7850.0;
/// Density of nylon monofilament, kg/m3: common practice, kinds differ from 1040 to 1140.
const NYLON_KG_M3: f64 = 1060.0;
/// Share of its circle that a hexagon fills, 3 sqrt(3) / (2 pi).
const HEXAGON: f64 = 0.826_993_343_132_688_1;

/// What a plain string is of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Material {
    /// Steel wire.
    Steel,
    /// Nylon monofilament.
    Nylon,
}

/// Section of the core of a wound string.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Core {
    /// A hexagon; its size is the circle round its corners.
    Hex,
    /// A circle.
    Round,
}

/// Where the mass of a string is known from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum StringKind {
    /// Plain steel, by its gauge.
    PlainSteel,
    /// Plain nylon, by its gauge.
    PlainNylon,
    /// Wound on a steel core, by its gauge.
    Wound,
    /// Weighed.
    Weighed,
    /// From the tension a packet prints.
    Packet,
}

impl StringKind {
    /// The words a sheet prints.
    pub fn words(self) -> &'static str {
        match self {
            StringKind::PlainSteel => "plain steel by gauge",
            StringKind::PlainNylon => "plain nylon by gauge",
            StringKind::Wound => "wound by gauge",
            StringKind::Weighed => "weighed",
            StringKind::Packet => "tension as printed",
        }
    }

    /// Whether strings of this kind err together: the same unknown core or density is behind all of them.
    pub(super) fn errs_together(self) -> bool {
        matches!(self, StringKind::PlainNylon | StringKind::Wound | StringKind::Packet)
    }
}

/// A string as it comes off the packet.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct GuitarString {
    /// Where its mass is known from.
    pub kind: StringKind,
    /// Outer diameter, mm; `None` where only the mass is known.
    pub gauge_mm: Option<f64>,
    /// Mass of a metre, g.
    pub mass_g_per_m: f64,
    /// Its standard uncertainty, g/m.
    pub u_mass_g_per_m: f64,
    /// Area that carries the tension, mm2: the wire of a plain string, the core of a wound one; `None` where unknown.
    pub core_area_mm2: Option<f64>,
    /// How the mass was found, and with what standing.
    pub words: String,
}

fn gauge(name: &str, mm: f64) -> Result<f64> {
    within(name, mm, "mm", 0.05, 4.0)
}

fn circle(d: f64) -> f64 {
    PI * d * d / 4.0
}

impl GuitarString {
    /// A plain string by its diameter: mu = rho pi d^2 / 4. Without a density 7850 kg/m3 for steel, 1060 for nylon (common
    /// practice). `u_relative` is the relative standard uncertainty of its mass (0 to 0.5): without one 1 % for steel, whose
    /// wire is drawn true, and 8 % for nylon, whose nominal diameters mislead (both common practice, no source).
    pub fn plain(gauge_mm: f64, material: Material, density_kg_m3: Option<f64>, u_relative: Option<f64>) -> Result<Self> {
        let d = gauge("gauge_mm", gauge_mm)?;
        let (usual, kind, u) = match material {
            Material::Steel => (STEEL_KG_M3, StringKind::PlainSteel, 0.01),
            Material::Nylon => (NYLON_KG_M3, StringKind::PlainNylon, 0.08),
        };
        let rho = within("density_kg_m3", density_kg_m3.unwrap_or(usual), "kg/m3", 500.0, 22_000.0)?;
        let u = within("u_relative", u_relative.unwrap_or(u), "", 0.0, 0.5)?;
        let mass = 1e-3 * rho * circle(d);
        Ok(Self {
            kind,
            gauge_mm: Some(d),
            mass_g_per_m: mass,
            u_mass_g_per_m: u * mass,
            core_area_mm2: Some(circle(d)),
            words: format!(
                "{} mm {} of {} kg/m3, mass within {} % (common practice)",
                number(d),
                kind.words(),
                number(rho),
                number(100.0 * u)
            ),
        })
    }

    /// A string of a steel core wound with touching turns of round wire, by its outer diameter:
    /// mu = rho_core A_core + rho_wrap pi^2 w (d + w) / 4, the wire w = (gauge - d)/2 thick and one turn in every w of length.
    ///
    /// The core's circle d is `core_of_gauge` times the gauge (0.1 to 0.95) and the wire's density `wrap_density_kg_m3`; both
    /// are on no packet, so the mass is known within 3 to 5 %: `u_relative` (0 to 0.5).
    pub fn wound(gauge_mm: f64, core: Core, core_of_gauge: f64, wrap_density_kg_m3: f64, u_relative: f64) -> Result<Self> {
        let outer = gauge("gauge_mm", gauge_mm)?;
        let share = within("core_of_gauge", core_of_gauge, "", 0.1, 0.95)?;
        let rho = within("wrap_density_kg_m3", wrap_density_kg_m3, "kg/m3", 500.0, 22_000.0)?;
        let u = within("u_relative", u_relative, "", 0.0, 0.5)?;
        let d = share * outer;
        let wire = 0.5 * (outer - d);
        let area = circle(d)
            * match core {
                Core::Hex => HEXAGON,
                Core::Round => 1.0,
            };
        let mass = 1e-3 * (STEEL_KG_M3 * area + rho * PI * PI * wire * (d + wire) / 4.0);
        Ok(Self {
            kind: StringKind::Wound,
            gauge_mm: Some(outer),
            mass_g_per_m: mass,
            u_mass_g_per_m: u * mass,
            core_area_mm2: Some(area),
            words: format!(
                "{} mm wound, core {} of the gauge and wire of {} kg/m3 assumed (common practice), mass within {} %; weigh it",
                number(outer),
                number(share),
                number(rho),
                number(100.0 * u)
            ),
        })
    }

    /// A string by its measured mass per length (0.05 to 60 g/m) and its standard uncertainty. `plain_gauge_mm` is the
    /// diameter of a plain string, for its stress; the mass stays the one measured.
    pub fn of_mass(mass_g_per_m: f64, u_mass_g_per_m: f64, plain_gauge_mm: Option<f64>) -> Result<Self> {
        let mass = within("mass_g_per_m", mass_g_per_m, "g/m", 0.05, 60.0)?;
        let u = within("u_mass_g_per_m", u_mass_g_per_m, "g/m", 0.0, 0.5 * mass)?;
        let d = plain_gauge_mm.map(|d| gauge("plain_gauge_mm", d)).transpose()?;
        Ok(Self {
            kind: StringKind::Weighed,
            gauge_mm: d,
            mass_g_per_m: mass,
            u_mass_g_per_m: u,
            core_area_mm2: d.map(circle),
            words: format!("weighed: {mass:.4} g/m, u {u:.2e} g/m"),
        })
    }

    /// A string by a piece laid on the scale: mass over length, with both uncertainties. Cut off ball, loop and twist first.
    pub fn weighed(mass_g: f64, length_mm: f64, u_mass_g: f64, u_length_mm: f64, plain_gauge_mm: Option<f64>) -> Result<Self> {
        let m = within("mass_g", mass_g, "g", 1e-3, 200.0)?;
        let l = within("length_mm", length_mm, "mm", 20.0, 5000.0)?;
        let um = within("u_mass_g", u_mass_g, "g", 0.0, 0.5 * m)?;
        let ul = within("u_length_mm", u_length_mm, "mm", 0.0, 0.5 * l)?;
        let mass = 1000.0 * m / l;
        if !(0.05..=60.0).contains(&mass) {
            return Err(Error::Refused(format!(
                "mass_g over length_mm comes to {} g/m; a guitar string has 0.05 to 60 g/m",
                number(mass)
            )));
        }
        Self::of_mass(mass, (mass * (um / m).hypot(ul / l)).min(0.5 * mass), plain_gauge_mm)
    }

    /// A string by the tension its packet prints, N (5 to 400), for a note at a scale: mu = T / (2 L f)^2. `u_relative` (0 to
    /// 0.5) is how well you trust the print.
    pub fn of_tension(tension_n: f64, note: &str, scale_mm: f64, a4_hz: f64, u_relative: f64) -> Result<Self> {
        let t = within("tension_n", tension_n, "N", 5.0, 400.0)?;
        let l = within("scale_mm", scale_mm, "mm", 200.0, 1200.0)?;
        let hz = note_hz(note, a4_hz)?;
        let u = within("u_relative", u_relative, "", 0.0, 0.5)?;
        let mass = 1000.0 * t / (2e-3 * l * hz).powi(2);
        if !(0.05..=60.0).contains(&mass) {
            return Err(Error::Refused(format!(
                "tension_n {} N at {note} and scale_mm {} mm comes to {} g/m; a guitar string has 0.05 to 60 g/m",
                number(t),
                number(l),
                number(mass)
            )));
        }
        Ok(Self {
            kind: StringKind::Packet,
            gauge_mm: None,
            mass_g_per_m: mass,
            u_mass_g_per_m: u * mass,
            core_area_mm2: None,
            words: format!("{} N printed for {note} at {} mm, taken within {} %", number(t), number(l), number(100.0 * u)),
        })
    }
}
