//! What loads put on the unknowns, and what of them is read along a line or over an area.

use super::cells::ORDER;
use super::plate::{W, field};
use super::{Ribbed, cells, rib};
use crate::mechanics::quadrature::gauss;

impl Ribbed {
    /// What a pressure of total `force` over a rectangle of the plate puts on the unknowns.
    pub fn pressed(&self, x: [f64; 2], y: [f64; 2], force: f64) -> Vec<f64> {
        let mut out = vec![0.0; self.unknowns];
        let mut area = 0.0;
        for cell in 0..self.cells.cells.len() {
            for (shape, weight) in self.cells.points(cell, ORDER + 1) {
                let [px, py] = shape.at;
                if px > x[0] && px < x[1] && py > y[0] && py < y[1] {
                    area += weight;
                    for (n, v) in self.cells.of_cell[cell].iter().zip(shape.value) {
                        out[self.first[*n] + W] += weight * v;
                    }
                }
            }
        }
        if area > 0.0 {
            out.iter_mut().for_each(|v| *v *= force / area);
        }
        out
    }

    /// What a force spread along the middle of a rib's crest from one x to another puts on the unknowns.
    pub fn pressed_on_crest(&self, rib: usize, x: [f64; 2], force: f64) -> Vec<f64> {
        let mut out = vec![0.0; self.unknowns];
        let mut length = 0.0;
        let (t, w) = gauss(ORDER + 1);
        for k in 0..self.ribs[rib].cells.len() {
            let (a, b) = self.reach(rib, k);
            let (from, to) = (a.max(x[0]), b.min(x[1]));
            if to <= from {
                continue;
            }
            for (t, w) in t.iter().zip(w) {
                let s = 2.0 * (from + t * (to - from) - a) / (b - a) - 1.0;
                let weight = w * (to - from);
                length += weight;
                for (place, v) in self.rise(rib, k, s, 1.0) {
                    out[place] += weight * v;
                }
            }
        }
        if length > 0.0 {
            out.iter_mut().for_each(|v| *v *= force / length);
        }
        out
    }

    /// From where to where along a rib its k-th cell reaches, in the middle of its width.
    fn reach(&self, rib: usize, k: usize) -> (f64, f64) {
        let r = &self.ribs[rib];
        // a crossing's first direction is that of its first rib
        let second = self.joint_of.get(&(rib, k)).is_some_and(|j| self.joints[*j].ribs[0] != rib);
        let at = |s: f64| {
            let (s, t) = if second { (0.0, s) } else { (s, 0.0) };
            r.local(self.cells.place(r.cells[k], s, t).0)[0]
        };
        let (a, b) = (at(-1.0), at(1.0));
        (a.min(b), a.max(b))
    }

    /// The cell of a rib that holds x along it, and where in it in the middle of its width; on a border that on the side of `inside`.
    pub(super) fn stretch_at(&self, rib: usize, x: f64, inside: f64) -> Option<(usize, f64, f64)> {
        let r = &self.ribs[rib];
        let at = [r.start[0] + x * r.direction[0], r.start[1] + x * r.direction[1]];
        (0..r.cells.len()).find_map(|k| {
            let (a, b) = self.reach(rib, k);
            let (s, t) = (inside >= a && inside <= b).then(|| self.cells.local(r.cells[k], at))??;
            Some((k, s.clamp(-1.0, 1.0), t.clamp(-1.0, 1.0)))
        })
    }

    /// Parts of the unknowns in the upward displacement in the middle of a rib, at a part of its height.
    fn rise(&self, rib: usize, k: usize, s: f64, part: f64) -> Vec<(usize, f64)> {
        let shape = self.cells.shape(self.ribs[rib].cells[k], s, 0.0);
        let mut out: Vec<(usize, f64)> =
            self.cells.of_cell[self.ribs[rib].cells[k]].iter().zip(shape.value).map(|(n, v)| (self.first[*n] + W, v)).collect();
        let (f, _) = rib::through(part, self.degrees.height[2]);
        let (n, _) = cells::along(s);
        let at = self.stations[rib] + k * ORDER * self.degrees.unknowns();
        for (component, degree, first) in self.degrees.own() {
            if component == 2 {
                out.extend(n.iter().enumerate().map(|(i, n)| (at + i * self.degrees.unknowns() + first, n * f[degree])));
            }
        }
        out
    }

    /// What a pressure over a polygon of the plate puts on the unknowns: of total `force`, and rising along `toward` (a unit vector)
    /// about the polygon's middle so that it makes the couple `couple`, positive where it presses at the far end. `None` where it covers
    /// nothing of the plate.
    pub fn pressed_over(&self, polygon: &[[f64; 2]], force: f64, toward: [f64; 2], couple: f64) -> Option<Vec<f64>> {
        let points = self.points_in(polygon);
        let along = |at: [f64; 2]| at[0] * toward[0] + at[1] * toward[1];
        let area: f64 = points.iter().map(|p| p.2).sum();
        let middle = points.iter().map(|p| along(p.1.at) * p.2).sum::<f64>() / area;
        let second: f64 = points.iter().map(|p| (along(p.1.at) - middle).powi(2) * p.2).sum();
        if area <= 0.0 || second <= 0.0 {
            return None;
        }
        let mut out = vec![0.0; self.unknowns];
        for (cell, shape, weight) in &points {
            let by = weight * (force / area + couple * (along(shape.at) - middle) / second);
            for (n, v) in self.cells.of_cell[*cell].iter().zip(shape.value) {
                out[self.deflection_of(*n)] += by * v;
            }
        }
        Some(out)
    }

    /// Area of the plate in a polygon.
    pub fn area_in(&self, polygon: &[[f64; 2]]) -> f64 {
        self.points_in(polygon).iter().map(|p| p.2).sum()
    }

    /// What a force along the plate, spread evenly over a polygon of its outer face, puts on the unknowns.
    pub fn pulled_over(&self, polygon: &[[f64; 2]], force: [f64; 2]) -> Option<Vec<f64>> {
        let points = self.points_in(polygon);
        let area: f64 = points.iter().map(|p| p.2).sum();
        if area <= 0.0 {
            return None;
        }
        let mut out = vec![0.0; self.unknowns];
        for (cell, shape, weight) in &points {
            for (n, v) in self.cells.of_cell[*cell].iter().zip(shape.value) {
                for (component, force) in force.into_iter().enumerate() {
                    let by = weight * v * force / area;
                    // the outer face: the inner one less twice what is odd through the thickness
                    out[self.first[*n] + component] += by;
                    out[self.first[*n] + field(component, 1)] -= 2.0 * by;
                    if self.cubic_node[*n] {
                        out[self.first[*n] + field(component, 3)] -= 2.0 * by;
                    }
                }
            }
        }
        Some(out)
    }

    /// What a force spread along a straight line of the plate puts on the unknowns; `None` where some of it lies off the plate.
    pub fn pressed_along(&self, from: [f64; 2], to: [f64; 2], force: f64) -> Option<Vec<f64>> {
        let mut out = vec![0.0; self.unknowns];
        let at = |t: f64| [from[0] + t * (to[0] - from[0]), from[1] + t * (to[1] - from[1])];
        // pieces of the line within one cell each
        let mut breaks = vec![0.0, 1.0];
        for cell in &self.cells.cells {
            for (i, a) in cell.iter().enumerate() {
                let (p, q) = (self.cells.corners[*a], self.cells.corners[cell[(i + 1) % cell.len()]]);
                let (d, e) = ([to[0] - from[0], to[1] - from[1]], [q[0] - p[0], q[1] - p[1]]);
                let turn = d[0] * e[1] - d[1] * e[0];
                if turn.abs() < 1e-12 * d[0].hypot(d[1]) * e[0].hypot(e[1]) {
                    continue;
                }
                let r = [p[0] - from[0], p[1] - from[1]];
                let (t, u) = ((r[0] * e[1] - r[1] * e[0]) / turn, (r[0] * d[1] - r[1] * d[0]) / turn);
                if t > 0.0 && t < 1.0 && (-1e-9..=1.0 + 1e-9).contains(&u) {
                    breaks.push(t);
                }
            }
        }
        breaks.sort_by(f64::total_cmp);
        breaks.dedup_by(|a, b| (*a - *b).abs() < 1e-9);
        let (points, weights) = gauss(ORDER + 1);
        for pair in breaks.windows(2) {
            let middle = at(0.5 * (pair[0] + pair[1]));
            let (cell, ..) = self.cells.find(middle[0], middle[1])?;
            for (t, w) in points.iter().zip(weights) {
                let (s, t) = self.cells.local(cell, at(pair[0] + t * (pair[1] - pair[0])))?;
                let shape = self.cells.shape(cell, s, t);
                for (n, v) in self.cells.of_cell[cell].iter().zip(shape.value) {
                    out[self.deflection_of(*n)] += w * (pair[1] - pair[0]) * force * v;
                }
            }
        }
        Some(out)
    }

    /// Parts of the unknowns in the deflection of a point; `None` off the plate.
    pub fn deflection_at(&self, at: [f64; 2]) -> Option<Vec<f64>> {
        let (cell, s, t) = self.cells.find(at[0], at[1])?;
        let shape = self.cells.shape(cell, s, t);
        let mut out = vec![0.0; self.unknowns];
        for (n, v) in self.cells.of_cell[cell].iter().zip(shape.value) {
            out[self.deflection_of(*n)] += v;
        }
        Some(out)
    }

    /// Points of the plate in a polygon: cell, shape functions, weight in area. What of a cell lies in it is integrated by triangles
    /// from one of its corners, which count below 0 where they turn back.
    fn points_in(&self, polygon: &[[f64; 2]]) -> Vec<(usize, cells::Shape, f64)> {
        let mut out = Vec::new();
        for cell in 0..self.cells.cells.len() {
            let corners: Vec<[f64; 2]> = self.cells.corners_of(cell).collect();
            let part = common(polygon, &corners);
            for k in 2..part.len() {
                let [p, q, r] = [part[0], part[k - 1], part[k]];
                let (u, v) = ([q[0] - p[0], q[1] - p[1]], [r[0] - p[0], r[1] - p[1]]);
                let turn = u[0] * v[1] - u[1] * v[0];
                for ([s, t], weight) in super::triangle::rule(2 * ORDER) {
                    let at = [p[0] + s * u[0] + t * v[0], p[1] + s * u[1] + t * v[1]];
                    if let Some((s, t)) = self.cells.local(cell, at) {
                        out.push((cell, self.cells.shape(cell, s, t), weight * turn));
                    }
                }
            }
        }
        // one way round or the other
        let sum: f64 = out.iter().map(|p| p.2).sum();
        out.iter_mut().for_each(|p| p.2 *= sum.signum());
        out
    }
}

/// The part of a polygon in a convex one whose corners run counter-clockwise.
fn common(polygon: &[[f64; 2]], convex: &[[f64; 2]]) -> Vec<[f64; 2]> {
    let mut out = polygon.to_vec();
    for (k, a) in convex.iter().enumerate() {
        let b = convex[(k + 1) % convex.len()];
        let side = |p: [f64; 2]| (b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0]);
        let mut next = Vec::with_capacity(out.len() + 2);
        for (i, p) in out.iter().enumerate() {
            let q = out[(i + 1) % out.len()];
            let (dp, dq) = (side(*p), side(q));
            if dp >= 0.0 {
                next.push(*p);
            }
            if (dp >= 0.0) != (dq >= 0.0) {
                let t = dp / (dp - dq);
                next.push([p[0] + t * (q[0] - p[0]), p[1] + t * (q[1] - p[1])]);
            }
        }
        out = next;
        if out.is_empty() {
            break;
        }
    }
    out
}
