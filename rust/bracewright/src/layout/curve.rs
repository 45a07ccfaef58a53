//! A closed line of straight and cubic pieces.

use serde::{Deserialize, Serialize};

use super::geometry::{Point, along, apart, cross, dot, long, minus, unit};
use crate::mechanics::quadrature::gauss;

/// One piece of a closed line, from where the one before it ended.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Piece {
    /// The two inner points of a cubic Bezier curve; a straight line without them.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub by: Option<[Point; 2]>,
    /// Where it ends, mm.
    pub to: Point,
}

impl Piece {
    pub(crate) fn line(to: Point) -> Self {
        Self { by: None, to }
    }

    pub(crate) fn cubic(c1: Point, c2: Point, to: Point) -> Self {
        Self { by: Some([c1, c2]), to }
    }

    pub(crate) fn points(&self, from: Point) -> [Point; 4] {
        match self.by {
            Some([a, b]) => [from, a, b, self.to],
            None => {
                let d = minus(self.to, from);
                [from, along(from, d, 1.0 / 3.0), along(from, d, 2.0 / 3.0), self.to]
            }
        }
    }

    pub(crate) fn mapped(&self, f: impl Fn(Point) -> Point) -> Self {
        Self { by: self.by.map(|c| c.map(&f)), to: f(self.to) }
    }
}

pub(crate) fn at(p: &[Point; 4], t: f64) -> Point {
    let s = 1.0 - t;
    let w = [s * s * s, 3.0 * s * s * t, 3.0 * s * t * t, t * t * t];
    ((0..4).map(|i| w[i] * p[i].0).sum(), (0..4).map(|i| w[i] * p[i].1).sum())
}

pub(crate) fn slope(p: &[Point; 4], t: f64) -> Point {
    let s = 1.0 - t;
    let w = [3.0 * s * s, 6.0 * s * t, 3.0 * t * t];
    let d = [minus(p[1], p[0]), minus(p[2], p[1]), minus(p[3], p[2])];
    ((0..3).map(|i| w[i] * d[i].0).sum(), (0..3).map(|i| w[i] * d[i].1).sum())
}

/// Steps that keep chords within `tolerance` of a cubic: its second derivative is at most 6 times the larger second difference.
pub(crate) fn steps(p: &[Point; 4], tolerance: f64) -> usize {
    let second = |a: Point, b: Point, c: Point| (a.0 - 2.0 * b.0 + c.0).hypot(a.1 - 2.0 * b.1 + c.1);
    let most = second(p[0], p[1], p[2]).max(second(p[1], p[2], p[3]));
    ((0.75 * most / tolerance).sqrt().ceil() as usize).clamp(1, 2000)
}

/// The direction a piece leaves or arrives in, also where an inner point lies on an end.
pub(crate) fn end_ways(p: &[Point; 4]) -> (Point, Point) {
    let first = [1, 2, 3].into_iter().map(|i| minus(p[i], p[0])).find(|d| long(*d) > 1e-9).unwrap_or((0.0, 0.0));
    let last = [2, 1, 0].into_iter().map(|i| minus(p[3], p[i])).find(|d| long(*d) > 1e-9).unwrap_or((0.0, 0.0));
    (unit(first), unit(last))
}

/// Area to the left of the pieces (sign as the way round) and length of the closed line; cubics exactly, lengths by 16 points each.
pub(crate) fn measures(start: Point, pieces: &[Piece]) -> (f64, f64) {
    let (t, w) = gauss(16);
    let (mut area, mut length, mut from) = (0.0, 0.0, start);
    for piece in pieces {
        if piece.by.is_none() {
            area += 0.5 * cross(minus(from, start), minus(piece.to, start));
            length += apart(from, piece.to);
        } else {
            let p = piece.points(from);
            for (t, w) in t.iter().zip(w) {
                let (q, d) = (minus(at(&p, *t), start), slope(&p, *t));
                area += 0.5 * w * cross(q, d);
                length += w * long(d);
            }
        }
        from = piece.to;
    }
    (area, length)
}

/// Arc from angle `a0` over `sweep` (radians) of an ellipse given by its centre and two half axes, as cubics of at most 15 degrees:
/// within 1e-8 of the radius.
pub(crate) fn arc(centre: Point, u: Point, v: Point, a0: f64, sweep: f64) -> Vec<Piece> {
    let n = (sweep.abs() / (std::f64::consts::PI / 12.0)).ceil().max(1.0) as usize;
    let step = sweep / n as f64;
    let k = 4.0 / 3.0 * (0.25 * step).tan();
    let on = |a: f64| (centre.0 + a.cos() * u.0 + a.sin() * v.0, centre.1 + a.cos() * u.1 + a.sin() * v.1);
    let way = |a: f64| (-a.sin() * u.0 + a.cos() * v.0, -a.sin() * u.1 + a.cos() * v.1);
    (0..n)
        .map(|i| {
            let (a, b) = (a0 + step * i as f64, a0 + step * (i + 1) as f64);
            Piece::cubic(along(on(a), way(a), k), along(on(b), way(b), -k), on(b))
        })
        .collect()
}

/// A smooth closed line through points: each piece is as near to an arc as a cubic comes, tangents are those of the parabola
/// through neighbours (of the circle, where they are evenly spaced). Where the line turns by more than `corner_deg` it has a corner.
pub(crate) fn through(points: &[Point], corner_deg: f64) -> Vec<Piece> {
    let n = points.len();
    let way = |i: usize| minus(points[(i + 1) % n], points[i % n]);
    let tangents: Vec<Option<Point>> = (0..n)
        .map(|i| {
            let (a, b) = (way(i + n - 1), way(i));
            let turn = cross(a, b).atan2(dot(a, b)).abs().to_degrees();
            let (ha, hb) = (long(a), long(b));
            (turn <= corner_deg).then(|| unit((a.0 * hb / ha + b.0 * ha / hb, a.1 * hb / ha + b.1 * ha / hb)))
        })
        .collect();
    (0..n)
        .map(|i| {
            let (p, q, d) = (points[i], points[(i + 1) % n], way(i));
            let c = unit(d);
            // an arc leaves its chord on one side by the angle at which it comes back on the other
            let turned = |t: Point| (2.0 * dot(t, c) * c.0 - t.0, 2.0 * dot(t, c) * c.1 - t.1);
            let (a, b) = match (tangents[i], tangents[(i + 1) % n]) {
                (None, None) => return Piece::line(q),
                (Some(a), None) => (a, turned(a)),
                (None, Some(b)) => (turned(b), b),
                (Some(a), Some(b)) => (a, b),
            };
            let half = |t: Point| 1.0 / (0.5 + 0.5 * dot(t, c).clamp(-0.5, 1.0));
            let h = long(d) / 3.0 * 0.5 * (half(a) + half(b));
            Piece::cubic(along(p, a, h), along(q, b, -h), q)
        })
        .collect()
}
