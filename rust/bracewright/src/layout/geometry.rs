//! Plane geometry on points in mm: segments, polygons, and the rectangle a brace is glued on.

/// A place, mm: x across, y from the neck end towards the tail.
pub type Point = (f64, f64);

pub(crate) fn minus(a: Point, b: Point) -> Point {
    (a.0 - b.0, a.1 - b.1)
}

pub(crate) fn along(a: Point, u: Point, s: f64) -> Point {
    (a.0 + s * u.0, a.1 + s * u.1)
}

pub(crate) fn dot(a: Point, b: Point) -> f64 {
    a.0 * b.0 + a.1 * b.1
}

pub(crate) fn cross(a: Point, b: Point) -> f64 {
    a.0 * b.1 - a.1 * b.0
}

pub(crate) fn long(a: Point) -> f64 {
    a.0.hypot(a.1)
}

pub(crate) fn apart(a: Point, b: Point) -> f64 {
    long(minus(a, b))
}

/// The unit vector of `a`; (0, 0) where it has no length.
pub(crate) fn unit(a: Point) -> Point {
    let l = long(a);
    if l > 0.0 { (a.0 / l, a.1 / l) } else { (0.0, 0.0) }
}

/// Direction at an angle from the centreline, degrees: 0 towards the tail, 90 towards +x.
pub(crate) fn direction(angle_deg: f64) -> Point {
    let (s, c) = angle_deg.to_radians().sin_cos();
    (s, c)
}

pub(crate) fn finite(p: Point) -> bool {
    p.0.is_finite() && p.1.is_finite()
}

/// The nearest place of a segment.
pub(crate) fn nearest_on(p: Point, a: Point, b: Point) -> Point {
    let d = minus(b, a);
    let l2 = dot(d, d);
    let t = if l2 > 0.0 { (dot(minus(p, a), d) / l2).clamp(0.0, 1.0) } else { 0.0 };
    along(a, d, t)
}

/// Where two segments cross, as fractions of each.
pub(crate) fn crossing(a: Point, b: Point, c: Point, d: Point) -> Option<(f64, f64)> {
    let (r, s) = (minus(b, a), minus(d, c));
    let turn = cross(r, s);
    if turn.abs() <= 1e-12 * long(r) * long(s) {
        return None;
    }
    let (t, u) = (cross(minus(c, a), s) / turn, cross(minus(c, a), r) / turn);
    ((0.0..=1.0).contains(&t) && (0.0..=1.0).contains(&u)).then_some((t, u))
}

/// The sides of a closed polygon.
pub(crate) fn sides(polygon: &[Point]) -> impl Iterator<Item = (Point, Point)> {
    (0..polygon.len()).map(move |i| (polygon[i], polygon[(i + 1) % polygon.len()]))
}

/// Area of a closed polygon, its sign that of the way round.
pub(crate) fn signed_area(polygon: &[Point]) -> f64 {
    // about its first corner, so that a place far away costs no digits
    let Some(&o) = polygon.first() else { return 0.0 };
    0.5 * sides(polygon).map(|(a, b)| cross(minus(a, o), minus(b, o))).sum::<f64>()
}

pub(crate) fn centroid(polygon: &[Point]) -> Point {
    let Some(&o) = polygon.first() else { return (0.0, 0.0) };
    let (mut x, mut y, mut area) = (0.0, 0.0, 0.0);
    for (a, b) in sides(polygon) {
        let (a, b) = (minus(a, o), minus(b, o));
        let c = cross(a, b);
        x += c * (a.0 + b.0);
        y += c * (a.1 + b.1);
        area += c;
    }
    if area.abs() < 1e-12 {
        return o;
    }
    (o.0 + x / (3.0 * area), o.1 + y / (3.0 * area))
}

/// True when the place lies inside the closed polygon.
pub(crate) fn inside(polygon: &[Point], p: Point) -> bool {
    let mut odd = false;
    for (a, b) in sides(polygon) {
        if (a.1 > p.1) != (b.1 > p.1) && p.0 < a.0 + (p.1 - a.1) / (b.1 - a.1) * (b.0 - a.0) {
            odd = !odd;
        }
    }
    odd
}

/// The nearest place on the edge of a closed polygon.
pub(crate) fn nearest_edge(polygon: &[Point], p: Point) -> Point {
    let mut best = (f64::INFINITY, p);
    for (a, b) in sides(polygon) {
        let q = nearest_on(p, a, b);
        let d = dot(minus(q, p), minus(q, p));
        if d < best.0 {
            best = (d, q);
        }
    }
    best.1
}

/// Distance to the edge of a closed polygon, negative inside.
pub(crate) fn signed_distance(polygon: &[Point], p: Point) -> f64 {
    let d = apart(nearest_edge(polygon, p), p);
    if inside(polygon, p) { -d } else { d }
}

/// Where a closed line crosses itself, if it does.
pub(crate) fn crosses_itself(polygon: &[Point]) -> Option<Point> {
    let n = polygon.len();
    let mut order: Vec<usize> = (0..n).collect();
    let ends = |i: usize| (polygon[i], polygon[(i + 1) % n]);
    let low = |i: usize| ends(i).0.0.min(ends(i).1.0);
    order.sort_by(|&i, &j| low(i).total_cmp(&low(j)));
    for (k, &i) in order.iter().enumerate() {
        let (a, b) = ends(i);
        let high = a.0.max(b.0);
        for &j in order[k + 1..].iter().take_while(|&&j| low(j) <= high) {
            if (i + 1) % n == j || (j + 1) % n == i {
                continue;
            }
            let (c, d) = ends(j);
            if let Some((t, _)) = crossing(a, b, c, d) {
                return Some(along(a, minus(b, a), t));
            }
        }
    }
    None
}

/// Distance between two convex polygons, below 0 by how far they would have to be moved apart.
pub(crate) fn gap_of(p: &[Point], q: &[Point]) -> f64 {
    let mut most = f64::NEG_INFINITY;
    for (shape, other) in [(p, q), (q, p)] {
        let m = centroid(shape);
        for (a, b) in sides(shape) {
            let u = unit(minus(b, a));
            let n = if cross(u, minus(m, a)) > 0.0 { (u.1, -u.0) } else { (-u.1, u.0) };
            most = most.max(other.iter().map(|c| dot(minus(*c, a), n)).fold(f64::INFINITY, f64::min));
        }
    }
    if most <= 0.0 {
        return most;
    }
    let near = |s: &[Point], t: &[Point]| s.iter().map(|c| apart(nearest_edge(t, *c), *c)).fold(f64::INFINITY, f64::min);
    near(p, q).min(near(q, p))
}

/// A stretch of a straight line with a width: what a brace is glued on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Bar {
    pub from: Point,
    pub to: Point,
    pub half: f64,
}

impl Bar {
    pub fn length(&self) -> f64 {
        apart(self.from, self.to)
    }

    /// Unit vector from its start to its end.
    pub fn way(&self) -> Point {
        unit(minus(self.to, self.from))
    }

    /// A place as how far along and how far aside (positive where the way turned by +90 degrees points).
    pub fn local(&self, p: Point) -> (f64, f64) {
        let (u, d) = (self.way(), minus(p, self.from));
        (dot(d, u), cross(u, d))
    }

    pub fn place(&self, s: f64, t: f64) -> Point {
        let u = self.way();
        (self.from.0 + s * u.0 - t * u.1, self.from.1 + s * u.1 + t * u.0)
    }

    pub fn middle(&self) -> Point {
        self.place(0.5 * self.length(), 0.0)
    }

    pub fn corners(&self) -> [Point; 4] {
        let l = self.length();
        [self.place(0.0, -self.half), self.place(l, -self.half), self.place(l, self.half), self.place(0.0, self.half)]
    }

    /// Distance from its edge, negative inside.
    pub fn signed_distance(&self, p: Point) -> f64 {
        let (s, t) = self.local(p);
        let l = self.length();
        let (ds, dt) = ((s - 0.5 * l).abs() - 0.5 * l, t.abs() - self.half);
        if ds > 0.0 && dt > 0.0 { ds.hypot(dt) } else { ds.max(dt) }
    }

    /// The place of it nearest to `p`.
    pub fn nearest(&self, p: Point) -> Point {
        let (s, t) = self.local(p);
        self.place(s.clamp(0.0, self.length()), t.clamp(-self.half, self.half))
    }

    /// What two of them have in common: a convex polygon, empty where they do not meet.
    pub fn common(&self, other: &Bar) -> Vec<Point> {
        let mut out = self.corners().to_vec();
        let l = other.length();
        type Side<'a> = Box<dyn Fn(Point) -> f64 + 'a>;
        let keep: [Side<'_>; 4] = [
            Box::new(|p| other.local(p).0),
            Box::new(|p| l - other.local(p).0),
            Box::new(|p| other.half + other.local(p).1),
            Box::new(|p| other.half - other.local(p).1),
        ];
        for side in &keep {
            let mut next = Vec::new();
            for (a, b) in sides(&out) {
                let (da, db) = (side(a), side(b));
                if da >= 0.0 {
                    next.push(a);
                }
                if (da >= 0.0) != (db >= 0.0) {
                    next.push(along(a, minus(b, a), da / (da - db)));
                }
            }
            out = next;
            if out.is_empty() {
                break;
            }
        }
        if signed_area(&out).abs() > 1e-9 { out } else { Vec::new() }
    }
}
