//! The data of an SVG path, after SVG 1.1 section 8 and its appendix F.6 (from memory).

use super::Contour;
use crate::layout::curve::{Piece, arc};
use crate::layout::geometry::{Point, along, apart, cross, dot, minus};

/// Numbers and commands of a text, one after the other.
pub(super) struct Reader<'a> {
    text: &'a [u8],
    at: usize,
}

impl<'a> Reader<'a> {
    pub fn new(text: &'a str) -> Self {
        Self { text: text.as_bytes(), at: 0 }
    }

    fn skip(&mut self) {
        while self.text.get(self.at).is_some_and(|c| c.is_ascii_whitespace() || *c == b',') {
            self.at += 1;
        }
    }

    pub fn done(&mut self) -> bool {
        self.skip();
        self.at >= self.text.len()
    }

    /// The next character, when it is a letter.
    fn letter(&mut self) -> Option<u8> {
        self.skip();
        let c = *self.text.get(self.at)?;
        c.is_ascii_alphabetic().then(|| {
            self.at += 1;
            c
        })
    }

    /// The next number: they may stand without anything between them, as in `1.5.5-2`.
    pub fn number(&mut self) -> Option<f64> {
        self.skip();
        let start = self.at;
        let is = |i: usize, f: fn(u8) -> bool| self.text.get(i).is_some_and(|c| f(*c));
        let sign: fn(u8) -> bool = |c| c == b'+' || c == b'-';
        let digit: fn(u8) -> bool = |c| c.is_ascii_digit();
        let mut i = start + usize::from(is(start, sign));
        while is(i, digit) {
            i += 1;
        }
        if is(i, |c| c == b'.') {
            i += 1;
            while is(i, digit) {
                i += 1;
            }
        }
        if is(i, |c| c == b'e' || c == b'E') {
            let mut j = i + 1;
            j += usize::from(is(j, sign));
            if is(j, digit) {
                while is(j, digit) {
                    j += 1;
                }
                i = j;
            }
        }
        let v = std::str::from_utf8(&self.text[start..i]).ok()?.parse().ok().filter(|v: &f64| v.is_finite())?;
        self.at = i;
        Some(v)
    }

    /// A flag of an arc: one character.
    fn flag(&mut self) -> Option<bool> {
        self.skip();
        let c = *self.text.get(self.at)?;
        (c == b'0' || c == b'1').then(|| {
            self.at += 1;
            c == b'1'
        })
    }

    fn point(&mut self) -> Option<Point> {
        Some((self.number()?, self.number()?))
    }
}

/// Lines of a path in its own units; `Err` with what is wrong.
pub(super) fn contours(d: &str) -> Result<Vec<Contour>, String> {
    let mut r = Reader::new(d);
    let mut out: Vec<Contour> = Vec::new();
    let (mut here, mut command) = ((0.0, 0.0), 0_u8);
    // the inner point that a smooth piece mirrors, and whether the piece before was a cubic
    let mut handle: Option<(Point, bool)> = None;
    while !r.done() {
        match r.letter() {
            Some(c) => command = c,
            None if command == 0 => return Err("must start with a command".into()),
            None if command == b'M' => command = b'L',
            None if command == b'm' => command = b'l',
            None if command.eq_ignore_ascii_case(&b'z') => return Err("has a number behind Z".into()),
            None => {}
        }
        let from = here;
        let base = if command.is_ascii_lowercase() { here } else { (0.0, 0.0) };
        let bad = || format!("has too few numbers behind {:?}", char::from(command));
        let kind = command.to_ascii_uppercase();
        let place = |p: Point| (base.0 + p.0, base.1 + p.1);
        if kind != b'M' && out.is_empty() {
            return Err("must start with M".into());
        }
        let mut next_handle = None;
        let pieces = match kind {
            b'M' => {
                here = place(r.point().ok_or_else(bad)?);
                out.push(Contour { start: here, pieces: vec![] });
                vec![]
            }
            b'Z' => {
                let c = out.last().map(|c| (c.start, c.end()));
                let Some((start, end)) = c else { return Err(bad()) };
                here = start;
                // what is drawn after Z without M starts anew at the same place
                if let Some(c) = out.last_mut().filter(|_| apart(start, end) > 1e-9) {
                    c.pieces.push(Piece::line(start));
                }
                out.push(Contour { start, pieces: vec![] });
                vec![]
            }
            b'L' => vec![Piece::line(place(r.point().ok_or_else(bad)?))],
            b'H' => vec![Piece::line((base.0 + r.number().ok_or_else(bad)?, from.1))],
            b'V' => vec![Piece::line((from.0, base.1 + r.number().ok_or_else(bad)?))],
            b'C' | b'S' => {
                let c1 = if kind == b'C' {
                    place(r.point().ok_or_else(bad)?)
                } else {
                    handle.filter(|h| h.1).map_or(from, |(h, _)| (2.0 * from.0 - h.0, 2.0 * from.1 - h.1))
                };
                let c2 = place(r.point().ok_or_else(bad)?);
                next_handle = Some((c2, true));
                vec![Piece::cubic(c1, c2, place(r.point().ok_or_else(bad)?))]
            }
            b'Q' | b'T' => {
                let c = if kind == b'Q' {
                    place(r.point().ok_or_else(bad)?)
                } else {
                    handle.filter(|h| !h.1).map_or(from, |(h, _)| (2.0 * from.0 - h.0, 2.0 * from.1 - h.1))
                };
                next_handle = Some((c, false));
                let to = place(r.point().ok_or_else(bad)?);
                let third = |p: Point| along(p, minus(c, p), 2.0 / 3.0);
                vec![Piece::cubic(third(from), third(to), to)]
            }
            b'A' => {
                let radii = r.point().ok_or_else(bad)?;
                let turn = r.number().ok_or_else(bad)?.to_radians();
                let (large, sweep) = (r.flag().ok_or_else(bad)?, r.flag().ok_or_else(bad)?);
                elliptic(from, radii, turn, large, sweep, place(r.point().ok_or_else(bad)?))
            }
            _ => return Err(format!("has a command {:?} that a path does not know", char::from(command))),
        };
        handle = next_handle;
        if let (Some(last), Some(c)) = (pieces.last().copied(), out.last_mut()) {
            here = last.to;
            c.pieces.extend(pieces);
        }
    }
    out.retain(|c| !c.pieces.is_empty());
    Ok(out)
}

/// An arc by its ends (appendix F.6.5): too small radii are scaled up until they reach.
fn elliptic(from: Point, radii: Point, turn: f64, large: bool, sweep: bool, to: Point) -> Vec<Piece> {
    let (mut rx, mut ry) = (radii.0.abs(), radii.1.abs());
    if rx == 0.0 || ry == 0.0 || apart(from, to) < 1e-12 {
        return vec![Piece::line(to)];
    }
    let (s, c) = turn.sin_cos();
    let half = ((from.0 - to.0) * 0.5, (from.1 - to.1) * 0.5);
    let p = (c * half.0 + s * half.1, -s * half.0 + c * half.1);
    let short = (p.0 / rx).powi(2) + (p.1 / ry).powi(2);
    if short > 1.0 {
        rx *= short.sqrt();
        ry *= short.sqrt();
    }
    let (a, b) = ((rx * p.1).powi(2), (ry * p.0).powi(2));
    let k = (((rx * ry).powi(2) - a - b).max(0.0) / (a + b)).sqrt() * if large == sweep { -1.0 } else { 1.0 };
    let q = (k * rx * p.1 / ry, -k * ry * p.0 / rx);
    let centre = (c * q.0 - s * q.1 + 0.5 * (from.0 + to.0), s * q.0 + c * q.1 + 0.5 * (from.1 + to.1));
    let u = ((p.0 - q.0) / rx, (p.1 - q.1) / ry);
    let v = ((-p.0 - q.0) / rx, (-p.1 - q.1) / ry);
    let mut by = cross(u, v).atan2(dot(u, v));
    if sweep && by < 0.0 {
        by += std::f64::consts::TAU;
    } else if !sweep && by > 0.0 {
        by -= std::f64::consts::TAU;
    }
    let mut out = arc(centre, (rx * c, rx * s), (-ry * s, ry * c), u.1.atan2(u.0), by);
    if let Some(last) = out.last_mut() {
        last.to = to;
    }
    out
}
