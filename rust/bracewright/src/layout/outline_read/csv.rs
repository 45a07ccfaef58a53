//! Points of an outline as a table.

use super::{LyingAs, Neck, SeenFrom};
use crate::error::{Error, Result};
use crate::layout::outline::Outline;
use crate::table::Table;

/// Reads an outline from a table with the unit in the heading: columns `x` and `y`, points in order round the top, or `y` and
/// `half_width`, measured from neck to tail of a symmetric one. `smooth` and `corner_deg` as in [`Outline::from_points`].
///
/// x runs across and y down the drawing. Half widths ignore how it lies.
pub fn outline_from_csv(place: &str, text: &str, smooth: bool, corner_deg: f64, lying: &LyingAs) -> Result<Outline> {
    let table = Table::read_str(place, text)?;
    let named = |e: Error| match e {
        Error::BadList { name, problem } => Error::Unreadable { place: place.into(), problem: format!("{name} {problem}") },
        e => e,
    };
    let y = table.numbers("y_mm")?;
    if table.has("half_width_mm") {
        return Outline::from_half_widths(&y, &table.numbers("half_width_mm")?).map_err(named);
    }
    let x = table.numbers("x_mm")?;
    let points: Vec<_> = x.into_iter().zip(y).collect();
    let as_given = Outline::from_points(&points, smooth, corner_deg).map_err(named)?;
    if lying.neck == Neck::Top && lying.seen_from == SeenFrom::Inside && lying.centre_mm == Some(0.0) {
        return Ok(as_given);
    }
    let (start, pieces) = as_given.curve();
    super::turned(&super::Contour { start, pieces: pieces.to_vec() }, lying)
}
