//! A symmetric outline from a few sizes: our own, smooth, and curved without a jump where there is room for it.

use serde::{Deserialize, Serialize};

use super::curve::Piece;
use super::geometry::Point;
use crate::error::{Error, Result, number, positive, within};

/// Sizes of a symmetric outline with two bouts and a waist. Neck end at (0, 0), tail end at (0, length).
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Bouts {
    /// From neck end to tail end along the centreline, mm.
    pub length_mm: f64,
    /// Width of the upper bout, mm.
    pub upper_bout_mm: f64,
    /// Width of the waist, mm.
    pub waist_mm: f64,
    /// Width of the lower bout, mm.
    pub lower_bout_mm: f64,
    /// Where the upper bout is widest, mm from the neck end.
    pub upper_at_mm: f64,
    /// Where the waist is narrowest, mm from the neck end.
    pub waist_at_mm: f64,
    /// Where the lower bout is widest, mm from the neck end.
    pub lower_at_mm: f64,
    /// How square the shoulders are: 0.55 an ellipse, up to 0.9.
    pub neck_fullness: f64,
    /// The same of the tail end.
    pub tail_fullness: f64,
}

/// Shoulders and tail when nothing is said.
pub const USUAL_FULLNESS: f64 = 0.62;
/// Share of a stretch that the inner points of its curve may take, so that it never turns back.
const MOST: f64 = 0.95;

impl Bouts {
    /// Places when only sizes are given: the upper bout at 0.19, the waist at 0.38, the lower bout at 0.74 of the length
    /// (common practice, no source).
    pub fn usual(length_mm: f64, upper_bout_mm: f64, waist_mm: f64, lower_bout_mm: f64) -> Self {
        Self {
            length_mm,
            upper_bout_mm,
            waist_mm,
            lower_bout_mm,
            upper_at_mm: 0.19 * length_mm,
            waist_at_mm: 0.38 * length_mm,
            lower_at_mm: 0.74 * length_mm,
            neck_fullness: USUAL_FULLNESS,
            tail_fullness: USUAL_FULLNESS,
        }
    }

    fn check(&self) -> Result<()> {
        within("length_mm", self.length_mm, "mm", 100.0, 1500.0)?;
        for (name, v) in
            [("upper_bout_mm", self.upper_bout_mm), ("waist_mm", self.waist_mm), ("lower_bout_mm", self.lower_bout_mm)]
        {
            within(name, v, "mm", 20.0, 1500.0)?;
        }
        for (name, bout) in [("upper_bout_mm", self.upper_bout_mm), ("lower_bout_mm", self.lower_bout_mm)] {
            if self.waist_mm >= bout {
                return Err(Error::OutOfRange {
                    quantity: "waist_mm".into(),
                    value: self.waist_mm,
                    unit: "mm",
                    allowed: format!("narrower than {name}, {} mm; an outline without a waist is given by points", number(bout)),
                });
            }
        }
        within("neck_fullness", self.neck_fullness, "", 0.3, 0.9)?;
        within("tail_fullness", self.tail_fullness, "", 0.3, 0.9)?;
        for (name, v) in [("upper_at_mm", self.upper_at_mm), ("waist_at_mm", self.waist_at_mm), ("lower_at_mm", self.lower_at_mm)]
        {
            positive(name, v, "mm")?;
        }
        let places = [0.0, self.upper_at_mm, self.waist_at_mm, self.lower_at_mm, self.length_mm];
        if !places.windows(2).all(|w| w[1] >= w[0] + 5.0) {
            return Err(Error::Refused(format!(
                "upper_at_mm is {} mm, waist_at_mm {} mm, lower_at_mm {} mm and length_mm {} mm; they must increase in that order, by at \
                 least 5 mm from 0 on",
                number(self.upper_at_mm),
                number(self.waist_at_mm),
                number(self.lower_at_mm),
                number(self.length_mm)
            )));
        }
        Ok(())
    }

    /// The curve: from the neck end down the side of +x, and back up the other.
    pub(super) fn pieces(&self) -> Result<(Point, Vec<Piece>)> {
        self.check()?;
        let (u, w, l) = (0.5 * self.upper_bout_mm, 0.5 * self.waist_mm, 0.5 * self.lower_bout_mm);
        let (yu, yw, yl, end) = (self.upper_at_mm, self.waist_at_mm, self.lower_at_mm, self.length_mm);
        // along the centreline the ends are as full as an ellipse, across as asked
        let (neck, tail) = (0.55 * yu, 0.55 * (end - yl));
        let (over, under) = (self.neck_fullness * u, self.tail_fullness * l);
        // a cubic that starts along y with handle h and next point d aside has curvature (2/3) d / h^2 there: equal on both sides of
        // each widest and narrowest place
        let (mut c, mut d) = (neck * ((u - w) / (u - over)).sqrt(), 0.45 * (yw - yu));
        let mut f = tail * ((l - w) / (l - under)).sqrt();
        let grow = ((l - w) / (u - w)).sqrt();
        let room = (MOST * (yw - yu) - c).min((MOST * (yl - yw) - f) / grow);
        d = d.min(room).max(0.15 * (yw - yu));
        let mut e = d * grow;
        // where there is no room for equal curvature the tangent still agrees
        for (a, b, stretch) in [(&mut c, &mut d, yw - yu), (&mut f, &mut e, yl - yw)] {
            let over = (*a + *b) / (MOST * stretch);
            if over > 1.0 {
                *a /= over;
                *b /= over;
            }
        }
        let right = [
            Piece::cubic((over, 0.0), (u, yu - neck), (u, yu)),
            Piece::cubic((u, yu + c), (w, yw - d), (w, yw)),
            Piece::cubic((w, yw + e), (l, yl - f), (l, yl)),
            Piece::cubic((l, yl + tail), (under, end), (0.0, end)),
        ];
        let mut pieces = right.to_vec();
        let mut from = (0.0, 0.0);
        let starts: Vec<Point> = right.iter().map(|p| std::mem::replace(&mut from, p.to)).collect();
        for (piece, start) in right.iter().zip(starts).rev() {
            let p = piece.points(start).map(|q| (-q.0, q.1));
            pieces.push(Piece::cubic(p[2], p[1], p[0]));
        }
        Ok(((0.0, 0.0), pieces))
    }
}
