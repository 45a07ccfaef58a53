//! Outlines from DXF, text form: LWPOLYLINE, POLYLINE, LINE, ARC and CIRCLE, bulges and all; other entities are passed over.
//!
//! Group codes as in the published DXF reference (from memory): 10/20 a place, 42 a bulge (tangent of a quarter of the arc's angle,
//! positive to the left of the way), 70 bit 1 closed, 40 a radius, 50/51 angles in degrees, 230 the normal, -1 for a mirrored plane.

use super::{Contour, LyingAs, Neck, joined, largest};
use crate::error::{Error, Result};
use crate::layout::curve::{Piece, arc};
use crate::layout::geometry::{Point, long, minus};
use crate::layout::outline::Outline;
use crate::table::MAX_FILE_BYTES;

/// One pair of the file.
struct Pair<'a> {
    code: i32,
    value: &'a str,
    line: usize,
}

fn unreadable(place: &str, problem: String) -> Error {
    Error::Unreadable { place: place.into(), problem }
}

fn pairs<'a>(place: &str, text: &'a str) -> Result<Vec<Pair<'a>>> {
    if text.len() > MAX_FILE_BYTES {
        return Err(unreadable(place, format!("has {} bytes; at most {MAX_FILE_BYTES} are read", text.len())));
    }
    if text.contains('\0') {
        return Err(unreadable(place, "is a binary DXF; save it as text (ASCII)".into()));
    }
    let mut out = Vec::new();
    let mut lines = text.trim_start_matches('\u{feff}').lines().enumerate();
    while let (Some((n, code)), Some((_, value))) = (lines.next(), lines.next()) {
        let code = code.trim().parse().map_err(|_| {
            unreadable(&format!("{place} line {}", n + 1), "is no DXF: a whole number was to stand here, a group code".into())
        })?;
        out.push(Pair { code, value: value.trim(), line: n + 2 });
    }
    Ok(out)
}

/// Millimetres to a unit of $INSUNITS.
fn unit_mm(code: i64) -> Option<f64> {
    match code {
        1 => Some(25.4),
        2 => Some(304.8),
        4 => Some(1.0),
        5 => Some(10.0),
        6 => Some(1000.0),
        _ => None,
    }
}

/// One entity: its name, and its pairs.
struct Entity<'a, 'b> {
    name: &'a str,
    pairs: &'b [Pair<'a>],
}

impl Entity<'_, '_> {
    fn number(&self, place: &str, code: i32) -> Result<Option<f64>> {
        self.pairs.iter().find(|p| p.code == code).map(|p| number(place, p)).transpose()
    }

    fn needed(&self, place: &str, code: i32) -> Result<f64> {
        let line = self.pairs.first().map_or(0, |p| p.line);
        self.number(place, code)?
            .ok_or_else(|| unreadable(&format!("{place} line {line}"), format!("{} lacks group {code}", self.name)))
    }
}

fn number(place: &str, p: &Pair) -> Result<f64> {
    let v: Option<f64> = p.value.parse().ok().filter(|v: &f64| v.is_finite());
    v.ok_or_else(|| unreadable(&format!("{place} line {}", p.line), format!("{:?} is no number", short(p.value))))
}

fn short(text: &str) -> String {
    text.chars().take(30).collect()
}

/// A vertex and the bulge of the piece after it.
type Vertex = (Point, f64);

fn polyline(vertices: &[Vertex], closed: bool) -> Option<Contour> {
    let &(start, _) = vertices.first()?;
    let n = vertices.len();
    let mut pieces = Vec::new();
    for i in 0..if closed { n } else { n - 1 } {
        let (p, bulge) = vertices[i];
        let (q, _) = vertices[(i + 1) % n];
        let d = minus(q, p);
        if long(d) < 1e-9 {
            continue;
        }
        if bulge.abs() < 1e-9 {
            pieces.push(Piece::line(q));
            continue;
        }
        // centre on the perpendicular of the chord, (1 - b^2) / 4b chords to the left
        let k = 0.25 * (1.0 - bulge * bulge) / bulge;
        let c = (0.5 * (p.0 + q.0) - k * d.1, 0.5 * (p.1 + q.1) + k * d.0);
        let r = minus(p, c);
        let mut all = arc(c, (long(r), 0.0), (0.0, long(r)), r.1.atan2(r.0), 4.0 * bulge.atan());
        if let Some(last) = all.last_mut() {
            last.to = q;
        }
        pieces.extend(all);
    }
    Some(Contour { start, pieces })
}

/// Reads the largest closed line of a DXF file. `unit` is mm per drawing unit where the file itself says none ($INSUNITS).
pub fn outline_from_dxf(place: &str, text: &str, unit: Option<f64>, lying: &LyingAs) -> Result<Outline> {
    let all = pairs(place, text)?;
    let said = all
        .windows(2)
        .find(|w| w[0].code == 9 && w[0].value == "$INSUNITS" && w[1].code == 70)
        .and_then(|w| w[1].value.parse::<i64>().ok());
    let mm = match (unit, said.and_then(unit_mm)) {
        (Some(u), _) => crate::error::within("unit_mm", u, "mm", 1e-6, 1e4)?,
        (None, Some(u)) => u,
        (None, None) => {
            return Err(unreadable(
                place,
                "does not say its unit ($INSUNITS of inch, foot, mm, cm or m); give unit_mm, the millimetres of one unit".into(),
            ));
        }
    };
    let start = all.iter().position(|p| p.code == 2 && p.value == "ENTITIES");
    let Some(start) = start else { return Err(unreadable(place, "has no ENTITIES section; is it a DXF file?".into())) };
    let body = &all[start + 1..];
    let marks: Vec<usize> = body.iter().enumerate().filter(|(_, p)| p.code == 0).map(|(i, _)| i).collect();
    let mut contours = Vec::new();
    let mut open = Vec::new();
    // vertices of an old polyline that is being read, whether it is closed, and its mirror
    let mut old: Option<(Vec<Vertex>, bool, f64)> = None;
    for (k, &i) in marks.iter().enumerate() {
        let end = marks.get(k + 1).copied().unwrap_or(body.len());
        let e = Entity { name: body[i].value, pairs: &body[i + 1..end] };
        if e.name == "ENDSEC" {
            break;
        }
        let mirror = if e.number(place, 230)?.unwrap_or(1.0) < 0.0 { -1.0 } else { 1.0 };
        let flags = |e: &Entity| -> Result<i64> { Ok(e.number(place, 70)?.unwrap_or(0.0) as i64) };
        let mut add = |c: Option<Contour>, mirror: f64, closed: bool| {
            let Some(c) = c.filter(|c| !c.pieces.is_empty()) else { return };
            // down the sheet is against the drawing's own y
            let c = c.mapped(|p| (mirror * mm * p.0, -mm * p.1));
            if closed || c.closed() { contours.push(c) } else { open.push(c) }
        };
        match e.name {
            "LWPOLYLINE" => {
                let mut vertices: Vec<Vertex> = Vec::new();
                for p in e.pairs {
                    match p.code {
                        10 => vertices.push(((number(place, p)?, 0.0), 0.0)),
                        20 => {
                            let y = number(place, p)?;
                            if let Some(v) = vertices.last_mut() {
                                v.0.1 = y;
                            }
                        }
                        42 => {
                            let b = number(place, p)?;
                            if let Some(v) = vertices.last_mut() {
                                v.1 = b;
                            }
                        }
                        _ => {}
                    }
                }
                let closed = flags(&e)? & 1 == 1;
                add(polyline(&vertices, closed), mirror, closed);
            }
            "POLYLINE" => old = Some((Vec::new(), flags(&e)? & 1 == 1, mirror)),
            "VERTEX" => {
                // points of a spline's frame are not on the line
                let framed = flags(&e)? & 16 != 0;
                if let Some((vertices, ..)) = old.as_mut().filter(|_| !framed) {
                    let bulge = e.number(place, 42)?.unwrap_or(0.0);
                    vertices.push(((e.needed(place, 10)?, e.needed(place, 20)?), bulge));
                }
            }
            "SEQEND" => {
                if let Some((vertices, closed, mirror)) = old.take() {
                    add(polyline(&vertices, closed), mirror, closed);
                }
            }
            "LINE" => {
                let (a, b) = ((e.needed(place, 10)?, e.needed(place, 20)?), (e.needed(place, 11)?, e.needed(place, 21)?));
                add(polyline(&[(a, 0.0), (b, 0.0)], false), mirror, false);
            }
            "ARC" | "CIRCLE" => {
                let (c, r) = ((e.needed(place, 10)?, e.needed(place, 20)?), e.needed(place, 40)?);
                let (a0, a1) = match e.name {
                    "ARC" => (e.needed(place, 50)?.to_radians(), e.needed(place, 51)?.to_radians()),
                    _ => (0.0, std::f64::consts::TAU),
                };
                let sweep = (a1 - a0).rem_euclid(std::f64::consts::TAU);
                let sweep = if sweep < 1e-9 { std::f64::consts::TAU } else { sweep };
                let start = (c.0 + r * a0.cos(), c.1 + r * a0.sin());
                add(Some(Contour { start, pieces: arc(c, (r, 0.0), (0.0, r), a0, sweep) }), mirror, false);
            }
            _ => {}
        }
    }
    contours.extend(joined(place, open)?);
    // a centreline across a drawing that lies on its side is a height, and heights have been turned over
    let aside = matches!(lying.neck, Neck::Left | Neck::Right);
    let lying = LyingAs { centre_mm: lying.centre_mm.map(|c| if aside { -c } else { c }), ..*lying };
    largest(place, &contours, &lying)
}
