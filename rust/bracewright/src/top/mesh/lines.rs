//! Edges of the bridge and of plates as lines of the mesh.

use super::bands::{Band, Station};
use crate::layout::Point;

/// A straight line.
#[derive(Debug, Clone, Copy)]
pub struct Line {
    pub from: Point,
    pub to: Point,
}

/// Sides of a polygon.
pub fn sides(polygon: &[Point]) -> impl Iterator<Item = Line> + '_ {
    (0..polygon.len()).map(|i| Line { from: polygon[i], to: polygon[(i + 1) % polygon.len()] })
}

/// Where a line crosses both sides of a band, steeply enough for a cell.
pub fn across(band: &Band, from: Point, to: Point) -> Option<Station> {
    let (p, q) = (band.local(from), band.local(to));
    let slope = (q.0 - p.0) / (q.1 - p.1);
    if !slope.is_finite() || slope.abs() > 2.0 {
        return None;
    }
    let at = |t: f64| {
        let u = (t - p.1) / (q.1 - p.1);
        (0.0..=1.0).contains(&u).then_some(p.0 + u * (q.0 - p.0))
    };
    let (right, left) = (at(-band.half)?, at(band.half)?);
    let within = |s: f64| s > 0.0 && s < band.length;
    (within(right) && within(left)).then_some(Station { right, left })
}
