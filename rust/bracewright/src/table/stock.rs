//! A delivery of blanks as it was weighed, measured and tapped.

use super::{Table, unreadable};
use crate::error::{Result, number};
use serde::{Deserialize, Serialize};

/// One blank of a delivery.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct StockRow {
    /// Line of the file, from 1.
    pub line: u64,
    /// Its name or number; not empty.
    pub name: String,
    /// Species; may be empty.
    pub species: String,
    /// Lot; may be empty.
    pub lot: String,
    /// Length, width, height in mm and mass in g, all above 0, where the table has them.
    pub size: Option<StockSize>,
    /// First frequency of the tapped stick, Hz, and its standard uncertainty.
    pub frequency_hz: Option<(f64, f64)>,
    /// E along the grain, GPa, and its standard uncertainty.
    pub modulus_gpa: Option<(f64, f64)>,
    /// Density, kg/m3, and its standard uncertainty.
    pub density_kg_m3: Option<(f64, f64)>,
    /// Slope of the grain, rise over length.
    pub run_out: Option<f64>,
    /// Angle of the rings from upright, degrees.
    pub ring_angle_deg: Option<f64>,
    /// Loss factor, and its standard uncertainty.
    pub loss_factor: Option<(f64, f64)>,
}

/// Size and mass of a blank.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct StockSize {
    /// Length, mm.
    pub length_mm: f64,
    /// Width, mm.
    pub width_mm: f64,
    /// Height, mm.
    pub height_mm: f64,
    /// Mass, g.
    pub mass_g: f64,
}

/// Standard uncertainty of a frequency where the table gives none, Hz (common practice, no source).
pub const U_FREQUENCY_HZ: f64 = 0.5;

/// Relative standard uncertainty of a loss factor where the table gives none (common practice, no source).
pub const U_LOSS: f64 = 0.10;

/// Reads a delivery: `name`; `length`, `width`, `height`, `mass` and `frequency` of a tap, or `modulus` and `density` with
/// `u_modulus` and `u_density`; and where there are any `species`, `lot`, `u_frequency`, `run_out` (1/15 for 1 in 15),
/// `ring_angle`, `loss_factor`, `u_loss_factor`. Other columns are ignored.
pub fn read_stock(place: &str, text: &str) -> Result<Vec<StockRow>> {
    StockRow::from_table(&Table::read_str(place, text)?)
}

impl StockRow {
    /// The same from a table that has been read.
    pub fn from_table(table: &Table) -> Result<Vec<StockRow>> {
        let names = table.texts("name")?;
        let texts = |name: &str| if table.has(name) { table.texts(name) } else { Ok(vec![""; table.len()]) };
        let (species, lots) = (texts("species")?, texts("lot")?);
        let column = |name: &str| if table.has(name) { table.optional_numbers(name) } else { Ok(vec![None; table.len()]) };
        let [length, width, height] = [column("length_mm")?, column("width_mm")?, column("height_mm")?];
        let [mass, hz, u_hz] = [column("mass_g")?, column("frequency_hz")?, column("u_frequency_hz")?];
        let [gpa, u_gpa, rho, u_rho] =
            [column("modulus_gpa")?, column("u_modulus_gpa")?, column("density_kg_m3")?, column("u_density_kg_m3")?];
        let [run_out, ring, loss, u_loss] =
            [column("run_out")?, column("ring_angle_deg")?, column("loss_factor")?, column("u_loss_factor")?];
        let bad = |row: usize, name: &str, problem: String| unreadable(&table.place_of(row, name), problem);
        let above = |row: usize, name: &str, v: Option<f64>, unit: &str| match v {
            Some(v) if v <= 0.0 => Err(bad(row, name, format!("is {} {unit}; it must be above 0 {unit}", number(v)))),
            _ => Ok(v),
        };
        // a value and its uncertainty; `usual` where the table gives none
        let pair = |row: usize, names: [&str; 2], v: Option<f64>, u: Option<f64>, unit: &str, usual: Option<f64>| {
            let Some(v) = above(row, names[0], v, unit)? else { return Ok(None) };
            match above(row, names[1], u, unit)?.or(usual) {
                Some(u) => Ok(Some((v, u))),
                None => {
                    Err(bad(row, names[0], format!("has no uncertainty beside it; it needs a column {} in {unit}", names[1])))
                }
            }
        };
        let mut out = Vec::with_capacity(table.len());
        for (row, line) in table.rows().map(|r| r.line()).enumerate() {
            if names[row].is_empty() {
                return Err(bad(row, "name", "is empty; every blank needs a name".into()));
            }
            let sizes = [
                above(row, "length_mm", length[row], "mm")?,
                above(row, "width_mm", width[row], "mm")?,
                above(row, "height_mm", height[row], "mm")?,
                above(row, "mass_g", mass[row], "g")?,
            ];
            let size = match sizes {
                [Some(length_mm), Some(width_mm), Some(height_mm), Some(mass_g)] => {
                    Some(StockSize { length_mm, width_mm, height_mm, mass_g })
                }
                _ => None,
            };
            out.push(StockRow {
                line,
                name: names[row].into(),
                species: species[row].into(),
                lot: lots[row].into(),
                size,
                frequency_hz: pair(row, ["frequency_hz", "u_frequency_hz"], hz[row], u_hz[row], "Hz", Some(U_FREQUENCY_HZ))?,
                modulus_gpa: pair(row, ["modulus_gpa", "u_modulus_gpa"], gpa[row], u_gpa[row], "GPa", None)?,
                density_kg_m3: pair(row, ["density_kg_m3", "u_density_kg_m3"], rho[row], u_rho[row], "kg/m3", None)?,
                run_out: run_out[row],
                ring_angle_deg: ring[row],
                loss_factor: pair(
                    row,
                    ["loss_factor", "u_loss_factor"],
                    loss[row],
                    u_loss[row],
                    "",
                    loss[row].map(|l| U_LOSS * l),
                )?,
            });
        }
        Ok(out)
    }
}
