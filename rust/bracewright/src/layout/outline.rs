//! The outline of a top: a closed curve, and what is asked of it.

use serde::{Deserialize, Serialize};

use super::bouts::Bouts;
use super::curve::{self, Piece};
use super::geometry::{
    self as g, Point, along, apart, cross, crosses_itself, crossing, direction, dot, inside, minus, nearest_edge, unit,
};
use crate::error::{Error, Result, finite, number, within};

/// The outline as a drawing holds it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "lowercase", deny_unknown_fields)]
enum Recipe {
    Bouts(Bouts),
    Points { points_mm: Vec<Point>, smooth: bool, corner_deg: f64 },
    Curve { start_mm: Point, pieces: Vec<Piece> },
}

/// One corner of the outline as a polygon.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct OutlinePoint {
    /// Across, mm.
    pub x_mm: f64,
    /// From the neck end towards the tail, mm.
    pub y_mm: f64,
    /// True where the curve itself has a corner.
    pub corner: bool,
}

/// A closed curve that does not cross itself. x runs across (+x the bass side, as the bracer sees it from inside), y from the
/// neck end towards the tail, mm.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(try_from = "Recipe", into = "Recipe")]
pub struct Outline {
    recipe: Recipe,
    start: Point,
    pieces: Vec<Piece>,
    fine: Vec<Point>,
    area: f64,
    perimeter: f64,
}

impl PartialEq for Outline {
    fn eq(&self, other: &Self) -> bool {
        self.recipe == other.recipe
    }
}

/// Chords of the polygon that distances are taken from keep this near to the curve, mm.
const FINE_MM: f64 = 0.002;
/// A curve that turns by more than this at once has a corner, degrees.
const CORNER_DEG: f64 = 10.0;
/// Most points taken.
pub const MOST_POINTS: usize = 5000;
/// Turn of a line through points at which it has a corner, when nothing is said, degrees.
pub const USUAL_CORNER_DEG: f64 = 40.0;

impl TryFrom<Recipe> for Outline {
    type Error = Error;
    fn try_from(recipe: Recipe) -> Result<Self> {
        let (start, pieces) = match &recipe {
            Recipe::Bouts(b) => b.pieces()?,
            Recipe::Points { points_mm, smooth, corner_deg } => through(points_mm, *smooth, *corner_deg)?,
            Recipe::Curve { start_mm, pieces } => (*start_mm, pieces.clone()),
        };
        Self::closed(recipe, start, pieces)
    }
}

impl From<Outline> for Recipe {
    fn from(o: Outline) -> Self {
        o.recipe
    }
}

fn bad(problem: impl Into<String>) -> Error {
    Error::BadList { name: "the outline".into(), problem: problem.into() }
}

fn through(points: &[Point], smooth: bool, corner_deg: f64) -> Result<(Point, Vec<Piece>)> {
    within("corner_deg", corner_deg, "deg", 0.0, 180.0)?;
    if points.len() > MOST_POINTS {
        return Err(bad(format!("has {} points; at most {MOST_POINTS} are taken", points.len())));
    }
    for (i, p) in points.iter().enumerate() {
        finite(&format!("x_mm[{i}]"), p.0, "mm")?;
        finite(&format!("y_mm[{i}]"), p.1, "mm")?;
    }
    let mut kept: Vec<Point> = Vec::new();
    for &p in points {
        if kept.last().is_none_or(|q| apart(*q, p) > 1e-6) {
            kept.push(p);
        }
    }
    while kept.len() > 1 && apart(kept[0], kept[kept.len() - 1]) <= 1e-6 {
        kept.pop();
    }
    if kept.len() < 3 {
        return Err(bad(format!("has {} different points; it needs at least 3", kept.len())));
    }
    let pieces = if smooth {
        curve::through(&kept, corner_deg)
    } else {
        (0..kept.len()).map(|i| Piece::line(kept[(i + 1) % kept.len()])).collect()
    };
    Ok((kept[0], pieces))
}

impl Outline {
    /// Our own symmetric shape, from a few sizes.
    pub fn from_bouts(bouts: &Bouts) -> Result<Self> {
        Recipe::Bouts(*bouts).try_into()
    }

    /// A closed line through points in order round the top; smooth, with a corner wherever it turns by more than `corner_deg`, or
    /// straight from point to point.
    pub fn from_points(points_mm: &[Point], smooth: bool, corner_deg: f64) -> Result<Self> {
        Recipe::Points { points_mm: points_mm.to_vec(), smooth, corner_deg }.try_into()
    }

    /// A symmetric outline from half widths measured from neck to tail.
    pub fn from_half_widths(y_mm: &[f64], half_width_mm: &[f64]) -> Result<Self> {
        crate::error::same_length("y_mm", y_mm.len(), "half_width_mm", half_width_mm.len())?;
        crate::error::increasing("y_mm", y_mm, "mm", 2)?;
        for (i, &w) in half_width_mm.iter().enumerate() {
            crate::error::not_negative(&format!("half_width_mm[{i}]"), w, "mm")?;
        }
        let right = y_mm.iter().zip(half_width_mm).map(|(y, w)| (*w, *y));
        let left = y_mm.iter().zip(half_width_mm).rev().map(|(y, w)| (-w, *y));
        // measured sides run into the ends at a right angle more often than not: only a sharper turn is a corner
        Self::from_points(&right.chain(left).collect::<Vec<_>>(), true, 60.0)
    }

    /// A closed line of straight and cubic pieces.
    pub fn from_curve(start_mm: Point, pieces: Vec<Piece>) -> Result<Self> {
        Recipe::Curve { start_mm, pieces }.try_into()
    }

    fn closed(recipe: Recipe, start: Point, mut pieces: Vec<Piece>) -> Result<Self> {
        if pieces.len() > MOST_POINTS {
            return Err(bad(format!("has {} pieces; at most {MOST_POINTS} are taken", pieces.len())));
        }
        let sound = |p: &Piece| g::finite(p.to) && p.by.is_none_or(|[a, b]| g::finite(a) && g::finite(b));
        if !g::finite(start) || !pieces.iter().all(sound) {
            return Err(bad("holds a number that is not finite"));
        }
        match pieces.last() {
            Some(last) if apart(last.to, start) > 1e-9 => pieces.push(Piece::line(start)),
            Some(_) => {}
            None => return Err(bad("has no pieces")),
        }
        let mut fine = Vec::new();
        let mut from = start;
        for piece in &pieces {
            let p = piece.points(from);
            let n = if piece.by.is_some() { curve::steps(&p, FINE_MM) } else { 1 };
            fine.extend((0..n).map(|k| curve::at(&p, k as f64 / n as f64)));
            if fine.len() > 4 * MOST_POINTS {
                return Err(bad("is too large or too finely divided to be a guitar's"));
            }
            from = piece.to;
        }
        fine.dedup_by(|a, b| apart(*a, *b) < 1e-9);
        let (area, perimeter) = curve::measures(start, &pieces);
        let out = Self { recipe, start, pieces, fine, area, perimeter };
        let [x0, x1, y0, y1] = out.bounds_mm();
        for (what, size) in [("wide", x1 - x0), ("long", y1 - y0)] {
            if !(20.0..=2000.0).contains(&size) {
                return Err(bad(format!("is {} mm {what}; it must be from 20 to 2000 mm: check the unit", number(size))));
            }
        }
        if let Some(p) = crosses_itself(&out.fine) {
            return Err(Error::AtPlace { problem: "the outline crosses itself".into(), x_mm: p.0, y_mm: p.1 });
        }
        if out.area.abs() < 100.0 {
            return Err(bad("encloses no area to speak of"));
        }
        Ok(out)
    }

    /// The sizes it was made from, where it was made from bouts.
    pub fn bouts(&self) -> Option<&Bouts> {
        if let Recipe::Bouts(b) = &self.recipe { Some(b) } else { None }
    }

    /// Where the curve starts, and its pieces; the last ends where the first starts.
    pub fn curve(&self) -> (Point, &[Piece]) {
        (self.start, &self.pieces)
    }

    /// The curve as a polygon whose sides keep within a tolerance (0.0005 to 10 mm) of it, corners of the curve flagged.
    pub fn points(&self, tolerance_mm: f64) -> Result<Vec<OutlinePoint>> {
        let tolerance = within("tolerance_mm", tolerance_mm, "mm", 0.0005, 10.0)?;
        let mut out = Vec::new();
        let mut from = self.start;
        let ways: Vec<(Point, Point)> =
            self.pieces.iter().map(|p| curve::end_ways(&p.points(std::mem::replace(&mut from, p.to)))).collect();
        from = self.start;
        for (i, piece) in self.pieces.iter().enumerate() {
            let (before, after) = (ways[(i + ways.len() - 1) % ways.len()].1, ways[i].0);
            let corner = cross(before, after).atan2(dot(before, after)).abs().to_degrees() > CORNER_DEG;
            let p = piece.points(from);
            let n = if piece.by.is_some() { curve::steps(&p, tolerance) } else { 1 };
            out.extend((0..n).map(|k| {
                let (x_mm, y_mm) = curve::at(&p, k as f64 / n as f64);
                OutlinePoint { x_mm, y_mm, corner: corner && k == 0 }
            }));
            from = piece.to;
        }
        Ok(out)
    }

    /// The fine polygon.
    pub(crate) fn fine(&self) -> &[Point] {
        &self.fine
    }

    /// Area, mm2.
    pub fn area_mm2(&self) -> f64 {
        self.area.abs()
    }

    /// Length of the curve, mm.
    pub fn perimeter_mm(&self) -> f64 {
        self.perimeter
    }

    /// The smallest rectangle around it: x from, x to, y from, y to, mm.
    pub fn bounds_mm(&self) -> [f64; 4] {
        self.fine.iter().fold([f64::INFINITY, f64::NEG_INFINITY, f64::INFINITY, f64::NEG_INFINITY], |b, p| {
            [b[0].min(p.0), b[1].max(p.0), b[2].min(p.1), b[3].max(p.1)]
        })
    }

    /// True when the place lies inside.
    pub fn contains(&self, x_mm: f64, y_mm: f64) -> Result<bool> {
        finite("x_mm", x_mm, "mm")?;
        finite("y_mm", y_mm, "mm")?;
        Ok(inside(&self.fine, (x_mm, y_mm)))
    }

    /// Distance to the outline, mm, above 0 inside and below 0 outside.
    pub fn distance_mm(&self, x_mm: f64, y_mm: f64) -> Result<f64> {
        finite("x_mm", x_mm, "mm")?;
        finite("y_mm", y_mm, "mm")?;
        Ok(self.depth((x_mm, y_mm)))
    }

    /// Distance to the outline, above 0 inside.
    pub(crate) fn depth(&self, p: Point) -> f64 {
        let d = apart(nearest_edge(&self.fine, p), p);
        if inside(&self.fine, p) { d } else { -d }
    }

    /// How far a place inside is from where the line from it in a direction first meets the outline.
    fn to_edge(&self, p: Point, way: Point) -> f64 {
        let far = 4000.0;
        let end = along(p, way, far);
        g::sides(&self.fine).filter_map(|(a, b)| crossing(p, end, a, b)).map(|(t, _)| t * far).fold(f64::INFINITY, f64::min)
    }

    /// The first place on the way from `p` that lies `inset` from the outline.
    pub(crate) fn until(&self, p: Point, way: Point, inset: f64) -> Point {
        let edge = self.to_edge(p, way);
        let (mut here, mut low) = (0.0, 0.0);
        // the distance to the outline falls by no more than the way gone: step by what is left of it, then halve
        for _ in 0..400 {
            let left = self.depth(along(p, way, here)) - inset;
            if left <= 1e-9 || here >= edge {
                break;
            }
            low = here;
            here += left.max(1e-7);
        }
        let mut high = here.min(edge);
        for _ in 0..60 {
            let mid = 0.5 * (low + high);
            if self.depth(along(p, way, mid)) > inset { low = mid } else { high = mid }
        }
        along(p, way, 0.5 * (low + high))
    }

    /// The line through a place inside at an angle from the centreline, from `inset_mm` inside the outline to `inset_mm` inside it:
    /// its end behind, and its end ahead where the angle points (0 degrees to the tail, 90 to +x).
    pub fn chord(&self, x_mm: f64, y_mm: f64, angle_deg: f64, inset_mm: f64) -> Result<(Point, Point)> {
        within("angle_deg", angle_deg, "deg", -360.0, 360.0)?;
        let inset = within("inset_mm", inset_mm, "mm", 0.0, 200.0)?;
        self.inside_by("the place", (x_mm, y_mm), inset)?;
        let way = direction(angle_deg);
        let p = (x_mm, y_mm);
        Ok((self.until(p, (-way.0, -way.1), inset), self.until(p, way, inset)))
    }

    /// Error unless the place lies inside by so much.
    pub(crate) fn inside_by(&self, what: &str, p: Point, inset: f64) -> Result<()> {
        finite("x_mm", p.0, "mm")?;
        finite("y_mm", p.1, "mm")?;
        let depth = self.depth(p);
        if depth > inset || (inset == 0.0 && depth >= 0.0) {
            return Ok(());
        }
        let problem = if depth < 0.0 {
            format!("{what} lies {:.1} mm outside the outline; it must lie inside", -depth)
        } else {
            format!("{what} lies {depth:.1} mm inside the outline; it must lie inside it by more than {} mm", number(inset))
        };
        Err(Error::AtPlace { problem, x_mm: p.0, y_mm: p.1 })
    }

    /// The curve `inset_mm` inside the outline, as a polygon (the inner edge of the lining); where that falls apart, its largest
    /// stretch is not singled out.
    pub fn inset(&self, inset_mm: f64) -> Result<Vec<Point>> {
        let inset = within("inset_mm", inset_mm, "mm", 0.0, 200.0)?;
        let n = self.fine.len();
        let turn = self.area.signum();
        let normal = |a: Point, b: Point| {
            let u = unit(minus(b, a));
            (-turn * u.1, turn * u.0)
        };
        let mut out = Vec::new();
        for i in 0..n {
            let (a, p, b) = (self.fine[(i + n - 1) % n], self.fine[i], self.fine[(i + 1) % n]);
            let (m0, m1) = (normal(a, p), normal(p, b));
            // round a corner that looks inwards the inset is an arc
            let turned = cross(m0, m1).atan2(dot(m0, m1));
            let k = if turn * turned < 0.0 { (turned.abs() / 0.1).ceil().max(1.0) as usize } else { 1 };
            for j in 0..=k {
                let (s, c) = (turned * j as f64 / k as f64).sin_cos();
                let q = along(p, (m0.0 * c - m0.1 * s, m0.0 * s + m0.1 * c), inset);
                if self.depth(q) >= inset - 2.0 * FINE_MM {
                    out.push(q);
                }
            }
        }
        out.dedup_by(|a, b| apart(*a, *b) < 1e-6);
        if out.len() < 3 {
            return Err(Error::Refused(format!("inset_mm is {} mm, which leaves nothing of the outline", number(inset))));
        }
        Ok(out)
    }

    /// The mirror image about the centreline.
    pub fn mirrored(&self) -> Result<Self> {
        if let Recipe::Bouts(_) = self.recipe {
            return Ok(self.clone());
        }
        self.mapped(|p| (-p.0, p.1))
    }

    /// Moved by so much, mm.
    pub fn moved(&self, dx_mm: f64, dy_mm: f64) -> Result<Self> {
        finite("dx_mm", dx_mm, "mm")?;
        finite("dy_mm", dy_mm, "mm")?;
        self.mapped(|p| (p.0 + dx_mm, p.1 + dy_mm))
    }

    pub(crate) fn mapped(&self, f: impl Fn(Point) -> Point) -> Result<Self> {
        match &self.recipe {
            Recipe::Points { points_mm, smooth, corner_deg } => {
                let points_mm = points_mm.iter().map(|p| f(*p)).collect();
                Recipe::Points { points_mm, smooth: *smooth, corner_deg: *corner_deg }.try_into()
            }
            _ => Self::from_curve(f(self.start), self.pieces.iter().map(|p| p.mapped(&f)).collect()),
        }
    }
}
