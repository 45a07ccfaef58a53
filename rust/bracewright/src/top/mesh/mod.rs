//! A mesh of the whole top that follows its braces.
//!
//! Each brace is a band of four-cornered cells between lines across it: at its ends, at kinks of its crest, on both sides of a
//! crossing, where an edge of the bridge or a plate passes over it. Beside it runs a row of cells a few millimetres wide, wherever
//! there is room. What is left of the top is filled with triangles (constrained Delaunay, refined).

mod bands;
mod fill;
mod lines;
mod rows;

use std::collections::HashMap;

use crate::error::{Error, Result};
use crate::layout::Point;
use crate::mechanics::ribbed::Cells;
pub(super) use bands::{Band, Meeting, sides_of};

/// How finely a top is divided.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MeshSize {
    /// Side of the triangles between the braces, mm.
    pub triangle_mm: f64,
    /// Longest cell along a brace, mm.
    pub along_mm: f64,
    /// Longest straight side of the outline, mm.
    pub edge_mm: f64,
}

impl MeshSize {
    /// What answers are given by.
    pub const ORDINARY: Self = Self { triangle_mm: 32.0, along_mm: 30.0, edge_mm: 22.0 };

    /// The same times so much.
    pub fn times(self, by: f64) -> Self {
        Self { triangle_mm: by * self.triangle_mm, along_mm: by * self.along_mm, edge_mm: by * self.edge_mm }
    }
}

/// A triangle with a smaller angle is refused, degrees.
const SLIVER_DEG: f64 = 0.1;
/// Width of the row of cells beside a brace, mm.
const ROW_MM: f64 = 4.0;
/// Nearer than this nothing is meshed beside anything else, mm.
pub(super) const GAP_MM: f64 = 1.0;

/// Points by place, each once.
#[derive(Debug, Default)]
pub(super) struct Corners {
    pub at: Vec<Point>,
    known: HashMap<(i64, i64), usize>,
}

/// Places nearer than this are one, mm.
const SAME_MM: f64 = 1e-5;

impl Corners {
    fn add(&mut self, p: Point) -> usize {
        let key = |d: i64, e: i64| ((p.0 / SAME_MM).round() as i64 + d, (p.1 / SAME_MM).round() as i64 + e);
        for d in -1..=1 {
            for e in -1..=1 {
                if let Some(i) = self.known.get(&key(d, e)) {
                    return *i;
                }
            }
        }
        self.known.insert(key(0, 0), self.at.len());
        self.at.push(p);
        self.at.len() - 1
    }
}

/// What is meshed.
#[derive(Debug, Clone, Default)]
pub(super) struct Sketch {
    /// The outline as a polygon.
    pub outline: Vec<Point>,
    /// The sound hole as one.
    pub hole: Option<Vec<Point>>,
    /// Braces.
    pub bands: Vec<Band>,
    /// Crossings of them.
    pub meetings: Vec<Meeting>,
    /// Polygons whose edges should be lines of the mesh: bridge, plates.
    pub areas: Vec<Vec<Point>>,
}

/// A mesh.
#[derive(Debug, Clone, PartialEq)]
pub struct TopMesh {
    /// Cells and nodes.
    pub cells: Cells,
    /// Cells of each brace, from its start to its end.
    pub of_band: Vec<Vec<usize>>,
    /// Of each crossing, which of the cells of its two braces it is.
    pub at_meeting: Vec<[usize; 2]>,
    /// Sides on the outline, by their two corners.
    pub rim: Vec<[usize; 2]>,
    /// What could not be followed: where, and what it was.
    pub left_out: Vec<(Point, String)>,
    /// Least angle of a triangle, degrees, and where.
    pub least_angle_deg: f64,
    /// See `least_angle_deg`.
    pub least_angle_at_mm: Point,
}

impl TopMesh {
    pub(super) fn new(sketch: &Sketch, size: MeshSize) -> Result<Self> {
        let mut corners = Corners::default();
        let mut quads: Vec<[usize; 4]> = Vec::new();
        let mut left_out = Vec::new();
        let stations = bands::stations(sketch, size, &mut left_out)?;
        let mut of_band = Vec::with_capacity(sketch.bands.len());
        let mut at_meeting = vec![[usize::MAX; 2]; sketch.meetings.len()];
        let mut shared: HashMap<usize, usize> = HashMap::new();
        for (b, (band, list)) in sketch.bands.iter().zip(&stations).enumerate() {
            let mut cells = Vec::new();
            for (k, pair) in list.windows(2).enumerate() {
                let met = sketch.meetings.iter().position(|m| m.cell_of(b, pair));
                if let Some(m) = met {
                    at_meeting[m][usize::from(sketch.meetings[m].bands[1] == b)] = k;
                    if let Some(cell) = shared.get(&m) {
                        cells.push(*cell);
                        continue;
                    }
                }
                let mut at = |s: f64, side: f64| corners.add(band.place(s, side * band.half));
                let quad = [at(pair[0].right, -1.0), at(pair[1].right, -1.0), at(pair[1].left, 1.0), at(pair[0].left, 1.0)];
                if let Some(m) = met {
                    shared.insert(m, quads.len());
                }
                cells.push(quads.len());
                quads.push(quad);
            }
            of_band.push(cells);
        }
        if let Some(m) = at_meeting.iter().position(|m| m.contains(&usize::MAX)) {
            let p = sketch.meetings[m].at;
            return Err(Error::AtPlace { problem: "the crossing finds no room on its braces".into(), x_mm: p.0, y_mm: p.1 });
        }
        rows::beside(sketch, &stations, &mut corners, &mut quads);
        let filled = fill::between(sketch, size, corners, &quads, &mut left_out)?;
        let mut cells: Vec<Vec<usize>> = quads.iter().map(|q| q.to_vec()).collect();
        let (least_angle_deg, least_angle_at_mm) = fill::least_angle(&filled.corners, &filled.triangles);
        if least_angle_deg < SLIVER_DEG {
            return Err(Error::AtPlace {
                problem: format!("the mesh has a sliver of {least_angle_deg:.4} degrees; move what lies there apart"),
                x_mm: least_angle_at_mm.0,
                y_mm: least_angle_at_mm.1,
            });
        }
        cells.extend(filled.triangles.iter().map(|t| t.to_vec()));
        // what no cell has is left out
        let mut number = vec![usize::MAX; filled.corners.len()];
        let mut kept = Vec::new();
        for c in cells.iter_mut().flatten() {
            if number[*c] == usize::MAX {
                number[*c] = kept.len();
                kept.push([filled.corners[*c].0, filled.corners[*c].1]);
            }
            *c = number[*c];
        }
        let rim = rim(&cells, &kept, &sketch.outline);
        Ok(Self { cells: Cells::new(kept, cells), of_band, at_meeting, rim, left_out, least_angle_deg, least_angle_at_mm })
    }
}

/// Sides that only one cell has and that lie on the outline.
fn rim(cells: &[Vec<usize>], corners: &[[f64; 2]], outline: &[Point]) -> Vec<[usize; 2]> {
    let mut met: HashMap<(usize, usize), (usize, [usize; 2])> = HashMap::new();
    for c in cells {
        for (i, a) in c.iter().enumerate() {
            let b = c[(i + 1) % c.len()];
            met.entry((*a.min(&b), *a.max(&b))).or_insert((0, [*a, b])).0 += 1;
        }
    }
    let mut out: Vec<[usize; 2]> = met
        .into_values()
        .filter(|(n, [a, b])| {
            let p = (0.5 * (corners[*a][0] + corners[*b][0]), 0.5 * (corners[*a][1] + corners[*b][1]));
            *n == 1 && crate::layout::apart(crate::layout::nearest_edge(outline, p), p) < 1e-6
        })
        .map(|(_, side)| side)
        .collect();
    out.sort_unstable();
    out
}
