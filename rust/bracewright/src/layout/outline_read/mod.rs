//! Outlines from files: points in CSV, paths in SVG, polylines in DXF.

mod csv;
mod dxf;
mod svg;
mod svg_path;
mod svg_shapes;

pub use csv::outline_from_csv;
pub use dxf::outline_from_dxf;
pub use svg::outline_from_svg;

use super::curve::{Piece, measures};
use super::geometry::{Point, apart};
use super::outline::Outline;
use crate::error::{Error, Result, finite};

/// Where the neck end lies on a drawing as it is looked at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Neck {
    /// At its top.
    Top,
    /// At its bottom.
    Bottom,
    /// At its left.
    Left,
    /// At its right.
    Right,
}

/// From where a drawing shows the top.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SeenFrom {
    /// From inside, as the bracer looks.
    Inside,
    /// From outside, as a listener looks.
    Outside,
}

/// How an outline lies on its drawing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LyingAs {
    /// Where its neck end is.
    pub neck: Neck,
    /// From where it is seen.
    pub seen_from: SeenFrom,
    /// Where the centreline lies across the drawing, mm in its own axes; midway between both sides when `None`.
    pub centre_mm: Option<f64>,
}

impl Default for LyingAs {
    fn default() -> Self {
        Self { neck: Neck::Top, seen_from: SeenFrom::Inside, centre_mm: None }
    }
}

/// A line of a drawing, mm, y down as on a sheet.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Contour {
    pub start: Point,
    pub pieces: Vec<Piece>,
}

/// Ends nearer than this are one place, mm.
pub(super) const JOINED_MM: f64 = 0.05;

impl Contour {
    pub fn end(&self) -> Point {
        self.pieces.last().map_or(self.start, |p| p.to)
    }

    pub fn closed(&self) -> bool {
        self.pieces.len() >= 2 && apart(self.start, self.end()) <= JOINED_MM
    }

    pub fn area(&self) -> f64 {
        let mut pieces = self.pieces.clone();
        pieces.push(Piece::line(self.start));
        measures(self.start, &pieces).0.abs()
    }

    pub fn mapped(&self, f: impl Fn(Point) -> Point + Copy) -> Self {
        Self { start: f(self.start), pieces: self.pieces.iter().map(|p| p.mapped(f)).collect() }
    }

    fn reversed(&self) -> Self {
        let mut starts = vec![self.start];
        starts.extend(self.pieces.iter().map(|p| p.to));
        let pieces =
            self.pieces.iter().enumerate().rev().map(|(i, p)| Piece { by: p.by.map(|[a, b]| [b, a]), to: starts[i] }).collect();
        Self { start: self.end(), pieces }
    }
}

/// Most separate lines put together to a closed one.
const MOST_LINES: usize = 5000;

/// Lines that start where others end put together.
pub(super) fn joined(place: &str, mut open: Vec<Contour>) -> Result<Vec<Contour>> {
    if open.len() > MOST_LINES {
        let problem = format!("holds {} open lines; at most {MOST_LINES} are put together: leave only the outline", open.len());
        return Err(Error::Unreadable { place: place.into(), problem });
    }
    let mut out = Vec::new();
    while let Some(mut line) = open.pop() {
        loop {
            if line.closed() {
                break;
            }
            let end = line.end();
            let next = open.iter().position(|o| apart(o.start, end) <= JOINED_MM || apart(o.end(), end) <= JOINED_MM);
            let Some(i) = next else { break };
            let o = open.swap_remove(i);
            let o = if apart(o.start, end) <= JOINED_MM { o } else { o.reversed() };
            line.pieces.extend(o.pieces);
        }
        out.push(line);
    }
    Ok(out)
}

/// The largest closed line as an outline in our axes; y of `contours` runs down the drawing.
pub(super) fn largest(place: &str, contours: &[Contour], lying: &LyingAs) -> Result<Outline> {
    let unreadable = |problem: String| Error::Unreadable { place: place.into(), problem };
    let found = contours.iter().filter(|c| c.closed()).max_by(|a, b| a.area().total_cmp(&b.area()));
    let Some(found) = found else {
        return Err(unreadable(match contours.len() {
            0 => "holds no line; it needs a closed one for the outline".into(),
            n => format!("holds {n} lines, none of them closed; the outline must be a closed one (ends within {JOINED_MM} mm)"),
        }));
    };
    turned(found, lying).map_err(|e| match e {
        Error::BadList { name, problem } => unreadable(format!("{name} {problem}")),
        e => e,
    })
}

fn turned(found: &Contour, lying: &LyingAs) -> Result<Outline> {
    // turned so that the neck end is at the top, seen as drawn
    let up = match lying.neck {
        Neck::Top => found.clone(),
        Neck::Bottom => found.mapped(|p| (-p.0, -p.1)),
        Neck::Left => found.mapped(|p| (-p.1, p.0)),
        Neck::Right => found.mapped(|p| (p.1, -p.0)),
    };
    let plain = Outline::from_curve(up.start, up.pieces.clone())?;
    let [x0, x1, ..] = plain.bounds_mm();
    let centre = match lying.centre_mm {
        None => 0.5 * (x0 + x1),
        Some(c) => {
            finite("centre_mm", c, "mm")?;
            let c = match lying.neck {
                Neck::Top => c,
                Neck::Bottom => -c,
                // across such a drawing is up and down it
                Neck::Left => -c,
                Neck::Right => c,
            };
            if !(x0..=x1).contains(&c) {
                return Err(Error::OutOfRange {
                    quantity: "centre_mm".into(),
                    value: lying.centre_mm.unwrap_or(c),
                    unit: "mm",
                    allowed: "a line through the outline, in the drawing's own axes".into(),
                });
            }
            c
        }
    };
    let [_, _, y0, y1] = plain.bounds_mm();
    let inside = plain.until((centre, 0.5 * (y0 + y1)), (0.0, -1.0), 0.0);
    let side = if lying.seen_from == SeenFrom::Outside { -1.0 } else { 1.0 };
    let placed = up.mapped(|p| (side * (p.0 - centre), p.1 - inside.1));
    Outline::from_curve(placed.start, placed.pieces)
}
