//! From a row of a delivery to a blank on the table.

use serde::{Deserialize, Serialize};

use super::StockBlank;
use crate::blank::Blank;
use crate::brace::Brace;
use crate::error::{Error, Result, number};
use crate::table::{StockRow, StockSize, read_stock};
use crate::tap::{Bending, LIKELY, StickEstimate, StickTap, TapReading, unlikely};
use crate::wood::Wood;

/// Density over the wood's own outside of which a slip is likelier than such a stick: within a species it spreads by some 10 %
/// (common practice, no source).
const LIKELY_DENSITY: std::ops::RangeInclusive<f64> = 0.5..=2.0;

/// E over the wood's own at which a supposed slip explains a figure.
const EXPLAINED: std::ops::Range<f64> = 0.6..1.6;

/// A blank of a delivery that could not be put on the table.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SetAside {
    /// Its name.
    pub name: String,
    /// Its line in the file, from 1.
    pub line: u64,
    /// What it lacks, or what in it cannot be.
    pub problem: String,
}

/// A delivery as it was read.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Delivery {
    /// The blanks that can be graded; at least one.
    pub blanks: Vec<StockBlank>,
    /// The others, and why.
    pub set_aside: Vec<SetAside>,
    /// The same in words; empty when none was set aside.
    pub words: Vec<String>,
}

fn tapped(wood: &Wood, s: &StockSize, grain: (f64, f64), bending: Bending, hz: f64, u: f64) -> Result<(Blank, StickEstimate)> {
    let blank = Blank::new(wood, s.length_mm, s.width_mm, s.height_mm, Some(s.mass_g))?.with_grain(grain.0, grain.1)?;
    let found = StickTap::new(&Brace::uncarved(&blank), bending).modulus(&[TapReading::new(1, hz, u)?])?;
    Ok((blank, found))
}

/// A slip of the pen that would make the figure a likely one, in words that follow it.
fn slip(wood: &Wood, s: &StockSize, grain: (f64, f64), bending: Bending, hz: f64) -> String {
    let turned = StockSize { width_mm: s.height_mm, height_mm: s.width_mm, ..*s };
    let e = |s: &StockSize, hz: f64| {
        tapped(wood, s, grain, bending, hz, 0.001 * hz).ok().map(|t| t.1).filter(|t| EXPLAINED.contains(&t.over_wood))
    };
    if let Some(t) = e(&turned, hz) {
        return format!("; with width and height changed over, or tapped the other way, it would be {:.1} GPa", t.modulus_gpa);
    }
    for f in [10.0 * hz, 0.1 * hz] {
        if let Some(t) = e(s, f) {
            return format!("; {} Hz would make it {:.1} GPa", number(f), t.modulus_gpa);
        }
    }
    String::new()
}

impl StockBlank {
    /// E by its own figure, otherwise from its first tapped frequency (bending as it was tapped), size and mass: a dynamic
    /// modulus with the ratio of G to E of `wood`, or of the published wood the row's species names. Density by its own figure,
    /// otherwise from size and mass. Refused: an E outside 0.3 to 2.5 times the wood's own, a density outside half to twice.
    pub fn from_row(row: &StockRow, wood: Option<&Wood>, bending: Bending) -> Result<Self> {
        let place = || format!("line {}, blank {:?}", row.line, row.name);
        let lacks = |problem: &str| Error::Unreadable { place: place(), problem: problem.into() };
        let about = |e: Error| Error::Unreadable { place: place(), problem: e.to_string() };
        let wood = match (row.size, wood) {
            (_, Some(w)) => Some(w.clone()),
            (Some(_), None) if row.species.is_empty() => {
                return Err(lacks("says no species; give the wood, or a column species with a published name"));
            }
            (Some(_), None) => Some(Wood::published(&row.species).map_err(about)?),
            // its own figures need no wood; one that is known tells what is likely
            (None, None) => Wood::published(&row.species).ok(),
        };
        let grain = (row.ring_angle_deg.unwrap_or(0.0), row.run_out.unwrap_or(0.0));
        let blank = match (row.size, &wood) {
            (Some(s), Some(wood)) => Some(
                Blank::new(wood, s.length_mm, s.width_mm, s.height_mm, Some(s.mass_g))
                    .and_then(|b| b.with_grain(grain.0, grain.1))
                    .map_err(about)?,
            ),
            _ => None,
        };
        let sized = |b: &Blank| (b.density_kg_m3(), b.density_kg_m3() * b.density_spread());
        let density = row.density_kg_m3.or_else(|| blank.as_ref().map(sized));
        let Some((density_kg_m3, u_density_kg_m3)) = density else {
            return Err(lacks("has neither a density nor length, width, height and mass; it needs one of them"));
        };
        let (modulus_gpa, u_gpa) = match (row.modulus_gpa, row.frequency_hz, row.size, &wood) {
            (Some(m), ..) => m,
            (None, Some((hz, u)), Some(size), Some(wood)) => {
                let found = tapped(wood, &size, grain, bending, hz, u).map_err(about)?.1;
                if !LIKELY.contains(&found.over_wood) {
                    return Err(lacks(&format!(
                        "{} Hz makes E {:.*} GPa; {}{}",
                        number(hz),
                        if found.modulus_gpa < 1.0 { 3 } else { 1 },
                        found.modulus_gpa,
                        unlikely(found.over_wood, wood.name(), wood.modulus_l_gpa()),
                        slip(wood, &size, grain, bending, hz)
                    )));
                }
                (found.modulus_gpa, found.u_gpa)
            }
            _ => {
                return Err(lacks(
                    "has neither a modulus nor a tapped frequency with length, width, height and mass; it needs one of them",
                ));
            }
        };
        let out = Self {
            name: row.name.clone(),
            species: row.species.clone(),
            lot: row.lot.clone(),
            modulus_gpa,
            u_gpa,
            density_kg_m3,
            u_density_kg_m3,
            run_out: row.run_out,
            ring_angle_deg: row.ring_angle_deg,
            loss_factor: row.loss_factor.map(|l| l.0),
            u_loss_factor: row.loss_factor.map_or(0.0, |l| l.1),
        }
        .checked()
        .map_err(about)?;
        if let Some(wood) = &wood {
            likely_as_written(&out, wood).map_err(|problem| lacks(&problem))?;
        }
        Ok(out)
    }
}

/// Figures that were given, or follow from size and mass, against the wood's own.
fn likely_as_written(blank: &StockBlank, wood: &Wood) -> std::result::Result<(), String> {
    let e = blank.modulus_gpa / wood.modulus_l_gpa();
    if !LIKELY.contains(&e) {
        return Err(format!(
            "E is {} GPa; that is {e:.1} times the {:.1} GPa of {}: check it",
            number(blank.modulus_gpa),
            wood.modulus_l_gpa(),
            wood.name()
        ));
    }
    let density = blank.density_kg_m3 / wood.density_kg_m3();
    if !LIKELY_DENSITY.contains(&density) {
        return Err(format!(
            "its density is {:.0} kg/m3; that is {density:.1} times the {:.0} kg/m3 of {}: check mass and sizes",
            blank.density_kg_m3,
            wood.density_kg_m3(),
            wood.name()
        ));
    }
    Ok(())
}

fn at_file(place: &str, e: Error) -> Error {
    match e {
        Error::Unreadable { place: row, problem } => Error::Unreadable { place: format!("{place} {row}"), problem },
        e => e,
    }
}

/// The blanks of a delivery from the text of its table, all of them or none; see [`crate::table::read_stock`] and
/// [`StockBlank::from_row`].
pub fn stock_from_csv(place: &str, text: &str, wood: Option<&Wood>, bending: Bending) -> Result<Vec<StockBlank>> {
    let made = |row: &StockRow| StockBlank::from_row(row, wood, bending).map_err(|e| at_file(place, e));
    let out = read_stock(place, text)?.iter().map(made).collect::<Result<Vec<_>>>()?;
    super::check_all(&out)?;
    Ok(out)
}

/// The same with the blanks that lack a figure, or whose figures cannot be, set aside in words. Error when none is left.
pub fn delivery_from_csv(place: &str, text: &str, wood: Option<&Wood>, bending: Bending) -> Result<Delivery> {
    let (mut blanks, mut set_aside, mut first) = (Vec::new(), Vec::new(), None);
    for row in read_stock(place, text)? {
        match StockBlank::from_row(&row, wood, bending) {
            Ok(b) => blanks.push(b),
            Err(e) => {
                let problem = if let Error::Unreadable { problem, .. } = &e { problem.clone() } else { e.to_string() };
                set_aside.push(SetAside { name: row.name, line: row.line, problem });
                first.get_or_insert(e);
            }
        }
    }
    if let (true, Some(e)) = (blanks.is_empty(), first) {
        return Err(at_file(place, e));
    }
    super::check_all(&blanks)?;
    let words = set_aside.iter().map(|s| format!("{} (line {}) is set aside: {}", s.name, s.line, s.problem)).collect();
    Ok(Delivery { blanks, set_aside, words })
}
