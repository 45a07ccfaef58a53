//! Transforms and plain shapes of SVG.

use super::Contour;
use super::svg_path::Reader;
use crate::layout::curve::{Piece, arc};
use crate::layout::geometry::Point;

/// x' = a x + c y + e, y' = b x + d y + f.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Matrix(pub [f64; 6]);

impl Matrix {
    pub const SAME: Self = Self([1.0, 0.0, 0.0, 1.0, 0.0, 0.0]);

    pub fn of(&self, p: Point) -> Point {
        let m = &self.0;
        (m[0] * p.0 + m[2] * p.1 + m[4], m[1] * p.0 + m[3] * p.1 + m[5])
    }

    /// The other first, then this.
    pub fn after(&self, o: &Self) -> Self {
        let (m, n) = (&self.0, &o.0);
        Self([
            m[0] * n[0] + m[2] * n[1],
            m[1] * n[0] + m[3] * n[1],
            m[0] * n[2] + m[2] * n[3],
            m[1] * n[2] + m[3] * n[3],
            m[0] * n[4] + m[2] * n[5] + m[4],
            m[1] * n[4] + m[3] * n[5] + m[5],
        ])
    }

    /// What a `transform` says; `None` where it says nothing known.
    pub fn read(text: &str) -> Option<Self> {
        let mut out = Self::SAME;
        for part in text.split(')').map(str::trim).filter(|p| !p.is_empty()) {
            let (name, inside) = part.split_once('(')?;
            let mut r = Reader::new(inside);
            let mut v = Vec::new();
            while !r.done() {
                v.push(r.number()?);
            }
            let name = name.trim_matches(|c: char| c.is_whitespace() || c == ',');
            let turn = |a: f64| {
                let (s, c) = a.to_radians().sin_cos();
                Self([c, s, -s, c, 0.0, 0.0])
            };
            let shift = |x: f64, y: f64| Self([1.0, 0.0, 0.0, 1.0, x, y]);
            let m = match (name, v.as_slice()) {
                ("matrix", &[a, b, c, d, e, f]) => Self([a, b, c, d, e, f]),
                ("translate", &[x]) => shift(x, 0.0),
                ("translate", &[x, y]) => shift(x, y),
                ("scale", &[k]) => Self([k, 0.0, 0.0, k, 0.0, 0.0]),
                ("scale", &[kx, ky]) => Self([kx, 0.0, 0.0, ky, 0.0, 0.0]),
                ("rotate", &[a]) => turn(a),
                ("rotate", &[a, x, y]) => shift(x, y).after(&turn(a)).after(&shift(-x, -y)),
                ("skewX", &[a]) => Self([1.0, 0.0, a.to_radians().tan(), 1.0, 0.0, 0.0]),
                ("skewY", &[a]) => Self([1.0, a.to_radians().tan(), 0.0, 1.0, 0.0, 0.0]),
                _ => return None,
            };
            out = out.after(&m);
        }
        Some(out)
    }
}

/// A shape other than a path as a line; `None` for what is none, or lacks a size.
pub(super) fn shape(name: &str, number: impl Fn(&str) -> Option<f64>, points: Option<&str>) -> Option<Contour> {
    let of = |n: &str| number(n).unwrap_or(0.0);
    match name {
        "rect" => {
            let (x, y, w, h) = (of("x"), of("y"), number("width")?, number("height")?);
            let to = [(x + w, y), (x + w, y + h), (x, y + h), (x, y)];
            Some(Contour { start: (x, y), pieces: to.map(Piece::line).to_vec() })
        }
        "circle" | "ellipse" => {
            let (rx, ry) = if name == "circle" { (number("r")?, number("r")?) } else { (number("rx")?, number("ry")?) };
            let c = (of("cx"), of("cy"));
            let pieces = arc(c, (rx, 0.0), (0.0, ry), 0.0, std::f64::consts::TAU);
            Some(Contour { start: (c.0 + rx, c.1), pieces })
        }
        "polygon" | "polyline" => {
            let mut r = Reader::new(points?);
            let mut all: Vec<Point> = Vec::new();
            while !r.done() {
                all.push((r.number()?, r.number()?));
            }
            let start = *all.first()?;
            let mut pieces: Vec<Piece> = all[1..].iter().map(|p| Piece::line(*p)).collect();
            if name == "polygon" {
                pieces.push(Piece::line(start));
            }
            Some(Contour { start, pieces })
        }
        _ => None,
    }
}
