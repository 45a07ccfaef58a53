//! From a row of a delivery to a blank on the table.

use super::StockBlank;
use crate::blank::Blank;
use crate::brace::Brace;
use crate::error::{Error, Result};
use crate::table::{StockRow, read_stock};
use crate::tap::{Bending, StickTap, TapReading};
use crate::wood::Wood;

impl StockBlank {
    /// E by its own figure, otherwise from its first tapped frequency (bending as it was tapped), size and mass: a dynamic
    /// modulus with the ratio of G to E of `wood`, or of the published wood the row's species names. Density by its own figure,
    /// otherwise from size and mass.
    pub fn from_row(row: &StockRow, wood: Option<&Wood>, bending: Bending) -> Result<Self> {
        let place = || format!("line {}, blank {:?}", row.line, row.name);
        let lacks = |problem: &str| Error::Unreadable { place: place(), problem: problem.into() };
        let about = |e: Error| Error::Unreadable { place: place(), problem: e.to_string() };
        let blank = match row.size {
            None => None,
            Some(s) => {
                let wood = match wood {
                    Some(w) => w.clone(),
                    None if row.species.is_empty() => {
                        return Err(lacks("says no species; give the wood, or a column species with a published name"));
                    }
                    None => Wood::published(&row.species).map_err(about)?,
                };
                let (ring, run_out) = (row.ring_angle_deg.unwrap_or(0.0), row.run_out.unwrap_or(0.0));
                let blank = Blank::new(&wood, s.length_mm, s.width_mm, s.height_mm, Some(s.mass_g))
                    .and_then(|b| b.with_grain(ring, run_out));
                Some(blank.map_err(about)?)
            }
        };
        let sized = |b: &Blank| (b.density_kg_m3(), b.density_kg_m3() * b.density_spread());
        let density = row.density_kg_m3.or_else(|| blank.as_ref().map(sized));
        let Some((density_kg_m3, u_density_kg_m3)) = density else {
            return Err(lacks("has neither a density nor length, width, height and mass; it needs one of them"));
        };
        let (modulus_gpa, u_gpa) = match (row.modulus_gpa, row.frequency_hz, &blank) {
            (Some(m), _, _) => m,
            (None, Some((hz, u)), Some(blank)) => {
                let tap = StickTap::new(&Brace::uncarved(blank), bending);
                let found = TapReading::new(1, hz, u).and_then(|r| tap.modulus(&[r])).map_err(about)?;
                if !blank.is_believable(found.modulus_gpa) {
                    return Err(lacks(&format!(
                        "says {} Hz, which would mean {}: check the frequency, which of width and height is which, the way it was tapped, and the mass",
                        crate::error::number(hz),
                        blank.far_off(found.modulus_gpa)
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
        Self {
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
        .map_err(about)
    }
}

/// The blanks of a delivery from the text of its table; see [`crate::table::read_stock`] and [`StockBlank::from_row`].
pub fn stock_from_csv(place: &str, text: &str, wood: Option<&Wood>, bending: Bending) -> Result<Vec<StockBlank>> {
    let (out, left) = stock_and_left_out(place, text, wood, bending)?;
    match left.into_iter().next() {
        Some(l) => Err(l.why),
        None => Ok(out),
    }
}

/// A line of a delivery that could not be made a blank.
#[derive(Debug)]
pub struct LeftOut {
    /// The name of the blank.
    pub name: String,
    /// Why, with its place.
    pub why: Error,
}

/// The same, with the blanks that cannot be graded (not tapped, not weighed, a figure that cannot be) beside the rest
/// instead of in its way. An error when none is left.
pub fn stock_and_left_out(
    place: &str,
    text: &str,
    wood: Option<&Wood>,
    bending: Bending,
) -> Result<(Vec<StockBlank>, Vec<LeftOut>)> {
    let (mut out, mut left) = (Vec::new(), Vec::new());
    for row in read_stock(place, text)? {
        match StockBlank::from_row(&row, wood, bending) {
            Ok(blank) => out.push(blank),
            Err(Error::Unreadable { place: at, problem }) => {
                left.push(LeftOut { name: row.name, why: Error::Unreadable { place: format!("{place} {at}"), problem } })
            }
            Err(e) => return Err(e),
        }
    }
    if out.is_empty() && !left.is_empty() {
        return Err(left.swap_remove(0).why);
    }
    super::check_all(&out)?;
    Ok((out, left))
}
