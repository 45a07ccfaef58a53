//! Lines across the braces.

use super::lines::{Line, across};
use super::{GAP_MM, MeshSize, ROW_MM, Sketch};
use crate::error::{Error, Result};
use crate::layout::{Bar, Point, cross, minus};

/// A brace as the mesh sees it.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::top) struct Band {
    /// What it is called.
    pub name: String,
    /// Middle of its glue face at its start, and its direction.
    pub start: Point,
    pub way: Point,
    pub length: f64,
    pub half: f64,
    /// Places along it that must be lines: kinks of its crest.
    pub kinks: Vec<f64>,
    /// Whether its crest changes by much between two places.
    pub steep: Vec<(f64, f64)>,
}

impl Band {
    pub fn place(&self, s: f64, t: f64) -> Point {
        (self.start.0 + s * self.way.0 - t * self.way.1, self.start.1 + s * self.way.1 + t * self.way.0)
    }

    pub fn local(&self, p: Point) -> (f64, f64) {
        let d = minus(p, self.start);
        (d.0 * self.way.0 + d.1 * self.way.1, cross(self.way, d))
    }

    pub fn bar(&self) -> Bar {
        Bar { from: self.start, to: self.place(self.length, 0.0), half: self.half }
    }
}

/// Two braces that cross.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(in crate::top) struct Meeting {
    pub bands: [usize; 2],
    pub at: Point,
    /// Along each, the lines where the other's sides lie.
    pub lines: [[Station; 2]; 2],
}

impl Meeting {
    /// True where these two lines across a band are those of the other's sides.
    pub fn cell_of(&self, band: usize, pair: &[Station]) -> bool {
        (0..2).any(|i| self.bands[i] == band && self.lines[i] == [pair[0], pair[1]])
    }
}

/// A line across a brace: how far along it lies at the right side (-half) and at the left (+half).
#[derive(Debug, Clone, Copy, PartialEq)]
pub(in crate::top) struct Station {
    pub right: f64,
    pub left: f64,
}

impl Station {
    pub fn square(s: f64) -> Self {
        Self { right: s, left: s }
    }

    pub fn middle(self) -> f64 {
        0.5 * (self.right + self.left)
    }

    /// The same line further out: how far along at `t` aside.
    pub fn at(self, half: f64, t: f64) -> f64 {
        self.middle() + 0.5 * (self.left - self.right) * t / half
    }

    /// How much clearance there is to another, below 0 where they meet.
    fn clear_of(self, other: Self) -> f64 {
        let (a, b) = (self.right - other.right, self.left - other.left);
        if a.signum() == b.signum() { a.abs().min(b.abs()) } else { -a.abs().min(b.abs()) }
    }
}

/// Where the line of a band at `t` aside crosses another band.
fn crossing_of(band: &Band, other: &Band, t: f64) -> Station {
    let [right, left] = [-band.half, band.half].map(|side| {
        // p on the band's side, q on the other's line
        let (p, q) = (band.place(0.0, side), other.place(0.0, t));
        cross(minus(q, p), other.way) / cross(band.way, other.way)
    });
    Station { right, left }
}

/// The lines where one band crosses another: the other's two sides in order along it.
pub(in crate::top) fn sides_of(band: &Band, other: &Band) -> [Station; 2] {
    let mut out = [-other.half, other.half].map(|t| crossing_of(band, other, t));
    out.sort_by(|a, b| a.middle().total_cmp(&b.middle()));
    out
}

/// Lines across every band, rising.
pub fn stations(sketch: &Sketch, size: MeshSize, left_out: &mut Vec<(Point, String)>) -> Result<Vec<Vec<Station>>> {
    sketch.bands.iter().enumerate().map(|(i, b)| of_band(sketch, i, b, size, left_out)).collect()
}

fn of_band(sketch: &Sketch, i: usize, band: &Band, size: MeshSize, left_out: &mut Vec<(Point, String)>) -> Result<Vec<Station>> {
    let mut out = vec![Station::square(0.0), Station::square(band.length)];
    // at the sides of the band, and where the lines go on across the rows beside it
    let beside = band.half + ROW_MM;
    let wide = |s: Station| Station { right: s.at(band.half, -beside), left: s.at(band.half, beside) };
    let clear = |out: &[Station], s: Station| {
        let of = |o: &Station| s.clear_of(*o).min(wide(s).clear_of(wide(*o)));
        out.iter().map(of).fold(f64::INFINITY, f64::min)
    };
    for m in &sketch.meetings {
        let Some(k) = m.bands.iter().position(|b| *b == i) else { continue };
        for s in m.lines[k] {
            if out.iter().any(|o| s.clear_of(*o) < 0.5 * GAP_MM) || s.middle() < 0.0 || s.middle() > band.length {
                let problem = format!("the crossing lies too near the end of {} or another crossing of it", band.name);
                return Err(Error::AtPlace { problem, x_mm: m.at.0, y_mm: m.at.1 });
            }
            out.push(s);
        }
    }
    // the row beside the other brace of a crossing: what lies between is the cell beside it
    for m in &sketch.meetings {
        let Some(k) = m.bands.iter().position(|b| *b == i) else { continue };
        let other = &sketch.bands[m.bands[1 - k]];
        for t in [-other.half - ROW_MM, other.half + ROW_MM] {
            let s = crossing_of(band, other, t);
            if out.iter().all(|o| s.clear_of(*o) > GAP_MM) && s.right.min(s.left) > 0.0 && s.right.max(s.left) < band.length {
                out.push(s);
            }
        }
    }
    // within a crossing and in the cells beside it there is no other line
    let open = |s: Station| {
        !sketch.meetings.iter().any(|m| {
            let Some(k) = m.bands.iter().position(|b| *b == i) else { return false };
            let other = &sketch.bands[m.bands[1 - k]];
            let ends = [-1.0, 1.0].map(|side| crossing_of(band, other, side * (other.half + ROW_MM)).middle());
            s.middle() > ends[0].min(ends[1]) && s.middle() < ends[0].max(ends[1])
        })
    };
    for k in &band.kinks {
        let s = Station::square(*k);
        if *k > 0.0 && *k < band.length && open(s) && clear(&out, s) > 0.5 * GAP_MM {
            out.push(s);
        }
    }
    for area in &sketch.areas {
        for Line { from, to } in super::lines::sides(area) {
            if let Some(s) = across(band, from, to) {
                if open(s) && clear(&out, s) > 2.0 * GAP_MM {
                    out.push(s);
                } else if clear(&out, s) < -1e-6 || out.iter().all(|o| (o.middle() - s.middle()).abs() > 1e-6) {
                    let at = band.place(s.middle(), 0.0);
                    left_out.push((at, format!("an edge that crosses {} beside another line of it", band.name)));
                }
            }
        }
    }
    out.sort_by(|a, b| a.middle().total_cmp(&b.middle()));
    let mut filled = vec![out[0]];
    for w in out.windows(2) {
        let span = (w[1].right - w[0].right).max(w[1].left - w[0].left);
        let steep = band.steep.iter().any(|(a, b)| w[0].middle() < *b && w[1].middle() > *a);
        let longest = if steep { 0.6 * size.along_mm } else { size.along_mm };
        let is_meeting = sketch.meetings.iter().any(|m| m.cell_of(i, w));
        let n = if is_meeting { 1 } else { (span / longest - 1e-9).ceil().max(1.0) as usize };
        for k in 1..n {
            let t = k as f64 / n as f64;
            let mix = |a: f64, b: f64| a + t * (b - a);
            filled.push(Station { right: mix(w[0].right, w[1].right), left: mix(w[0].left, w[1].left) });
        }
        filled.push(w[1]);
    }
    Ok(filled)
}
