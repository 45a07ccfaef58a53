//! Cells of third order, four-cornered or three-cornered, and the nodes they share.

use std::collections::HashMap;

use super::triangle;
use crate::mechanics::quadrature::gauss;

/// Order of the elements.
pub const ORDER: usize = 3;
/// Nodes along one side.
pub const SIDE: usize = ORDER + 1;
/// Nodes of a four-cornered cell, and the most a cell has.
pub const NODES: usize = SIDE * SIDE;

/// Cells with straight sides and the nodes of third order on them.
#[derive(Debug, Clone, PartialEq)]
pub struct Cells {
    /// Corners.
    pub corners: Vec<[f64; 2]>,
    /// Corners of each cell, counter-clockwise, three or four; its first direction runs from the first to the second.
    pub cells: Vec<Vec<usize>>,
    /// Where the nodes lie; the first are the corners.
    pub nodes: Vec<[f64; 2]>,
    /// Nodes of each cell: of a four-cornered one the first direction runs fastest, of a triangle its corners, then
    /// two on each side in turn, then the middle.
    pub of_cell: Vec<Vec<usize>>,
}

/// Shape functions of a cell at a point: values and slopes in x and y, zero beyond the nodes it has.
#[derive(Debug, Clone, Copy)]
pub struct Shape {
    /// Where, in the plane.
    pub at: [f64; 2],
    /// Slopes of the cell's own two coordinates in x and in y.
    pub inverse: [[f64; 2]; 2],
    /// Area of the plane over that of the cell's own coordinates.
    pub area: f64,
    /// Values at the point.
    pub value: [f64; NODES],
    /// Slopes in x.
    pub dx: [f64; NODES],
    /// Slopes in y.
    pub dy: [f64; NODES],
}

/// Nodes of a line: the Gauss-Lobatto points of third order.
pub const LINE: [f64; SIDE] = [-1.0, -0.447_213_595_499_957_9, 0.447_213_595_499_957_9, 1.0];

/// The line's four shape functions and their slopes at `s` in [-1, 1]; written out, because it is asked for at every point and
/// takes no memory so.
pub fn along(s: f64) -> ([f64; SIDE], [f64; SIDE]) {
    let (mut v, mut d) = ([0.0; SIDE], [0.0; SIDE]);
    for i in 0..SIDE {
        let (mut below, mut value, mut slope) = (1.0, 1.0, 0.0);
        for k in (0..SIDE).filter(|k| *k != i) {
            below *= LINE[i] - LINE[k];
            slope = slope * (s - LINE[k]) + value;
            value *= s - LINE[k];
        }
        v[i] = value / below;
        d[i] = slope / below;
    }
    (v, d)
}

/// Nodes that are made on the sides, found again by the next cell.
struct Sides<'a> {
    corners: &'a [[f64; 2]],
    nodes: Vec<[f64; 2]>,
    made: HashMap<(usize, usize), usize>,
}

impl Sides<'_> {
    /// The two nodes between corners a and b, from a to b.
    fn between(&mut self, a: usize, b: usize) -> [usize; 2] {
        let key = (a.min(b), a.max(b));
        let nodes = &mut self.nodes;
        let first = *self.made.entry(key).or_insert_with(|| {
            let (p, q) = (self.corners[key.0], self.corners[key.1]);
            for t in [LINE[1], LINE[2]].map(|t| 0.5 * (1.0 + t)) {
                nodes.push([p[0] + t * (q[0] - p[0]), p[1] + t * (q[1] - p[1])]);
            }
            nodes.len() - 2
        });
        if a < b { [first, first + 1] } else { [first + 1, first] }
    }
}

impl Cells {
    /// Numbers the nodes of these cells of three or four corners.
    pub fn new(corners: Vec<[f64; 2]>, cells: Vec<Vec<usize>>) -> Self {
        let mut sides = Sides { nodes: corners.clone(), corners: &corners, made: HashMap::new() };
        let mut of_cell = Vec::with_capacity(cells.len());
        for c in &cells {
            if c.len() == 3 {
                let mut local = c.clone();
                for k in 0..3 {
                    local.extend(sides.between(c[k], c[(k + 1) % 3]));
                }
                local.push(sides.nodes.len());
                sides.nodes.push([0, 1].map(|d: usize| c.iter().map(|k| corners[*k][d]).sum::<f64>() / 3.0));
                of_cell.push(local);
                continue;
            }
            let mut local = vec![usize::MAX; NODES];
            let last = SIDE - 1;
            for (k, at) in [0, last, NODES - 1, NODES - 1 - last].into_iter().enumerate() {
                local[at] = c[k];
            }
            for (a, b, start, step) in
                [(c[0], c[1], 0, 1), (c[3], c[2], NODES - SIDE, 1), (c[0], c[3], 0, SIDE), (c[1], c[2], last, SIDE)]
            {
                let between = sides.between(a, b);
                (local[start + step], local[start + 2 * step]) = (between[0], between[1]);
            }
            let [p, q, r, o] = [0, 1, 2, 3].map(|k: usize| corners[c[k]]);
            for j in 1..last {
                for i in 1..last {
                    let (u, v) = (0.5 * (1.0 + LINE[i]), 0.5 * (1.0 + LINE[j]));
                    local[j * SIDE + i] = sides.nodes.len();
                    sides.nodes.push(
                        [0, 1].map(|d: usize| (1.0 - v) * ((1.0 - u) * p[d] + u * q[d]) + v * ((1.0 - u) * o[d] + u * r[d])),
                    );
                }
            }
            of_cell.push(local);
        }
        let nodes = sides.nodes;
        Self { corners, cells, nodes, of_cell }
    }

    /// A grid of rectangles between lines of x and y; cell i + j (lines of x - 1) lies between x i and y j.
    pub fn grid(x: &[f64], y: &[f64]) -> Self {
        let n = x.len();
        let corners = y.iter().flat_map(|y| x.iter().map(|x| [*x, *y])).collect();
        let cells = (0..y.len() - 1)
            .flat_map(|j| (0..n - 1).map(move |i| vec![j * n + i, j * n + i + 1, (j + 1) * n + i + 1, (j + 1) * n + i]))
            .collect();
        Self::new(corners, cells)
    }

    /// Where the corners of a cell lie.
    pub fn corners_of(&self, cell: usize) -> impl Iterator<Item = [f64; 2]> + '_ {
        self.cells[cell].iter().map(|k| self.corners[*k])
    }

    /// Middle of a cell: the mean of its corners.
    pub fn middle(&self, cell: usize) -> [f64; 2] {
        let n = self.cells[cell].len() as f64;
        self.corners_of(cell).fold([0.0; 2], |m, p| [m[0] + p[0] / n, m[1] + p[1] / n])
    }

    /// Where a place in the cell's own coordinates lies ([-1, 1]^2, or the triangle (0, 0), (1, 0), (0, 1)), and the slopes of x
    /// and y (rows) in its two coordinates.
    pub fn place(&self, cell: usize, s: f64, t: f64) -> ([f64; 2], [[f64; 2]; 2]) {
        let c = &self.cells[cell];
        if c.len() == 3 {
            let [p, q, r] = [0, 1, 2].map(|k: usize| self.corners[c[k]]);
            let of = |k: usize| p[k] + s * (q[k] - p[k]) + t * (r[k] - p[k]);
            return ([of(0), of(1)], [[q[0] - p[0], r[0] - p[0]], [q[1] - p[1], r[1] - p[1]]]);
        }
        let [p, q, r, o] = [0, 1, 2, 3].map(|k: usize| self.corners[c[k]]);
        let (a, b, c, d) = (1.0 - s, 1.0 + s, 1.0 - t, 1.0 + t);
        let of = |k: usize| 0.25 * (a * c * p[k] + b * c * q[k] + b * d * r[k] + a * d * o[k]);
        let by_s = |k: usize| 0.25 * (c * (q[k] - p[k]) + d * (r[k] - o[k]));
        let by_t = |k: usize| 0.25 * (a * (o[k] - p[k]) + b * (r[k] - q[k]));
        ([of(0), of(1)], [[by_s(0), by_t(0)], [by_s(1), by_t(1)]])
    }

    /// The shape functions at a place in the cell's own coordinates.
    pub fn shape(&self, cell: usize, s: f64, t: f64) -> Shape {
        let (at, j) = self.place(cell, s, t);
        let area = j[0][0] * j[1][1] - j[0][1] * j[1][0];
        let inverse = [[j[1][1] / area, -j[0][1] / area], [-j[1][0] / area, j[0][0] / area]];
        let mut out = Shape { at, inverse, area, value: [0.0; NODES], dx: [0.0; NODES], dy: [0.0; NODES] };
        let mut set = |i: usize, value: f64, by_s: f64, by_t: f64| {
            out.value[i] = value;
            out.dx[i] = by_s * inverse[0][0] + by_t * inverse[1][0];
            out.dy[i] = by_s * inverse[0][1] + by_t * inverse[1][1];
        };
        if self.cells[cell].len() == 3 {
            for (i, [v, ds, dt]) in triangle::shapes(s, t).into_iter().enumerate() {
                set(i, v, ds, dt);
            }
            return out;
        }
        let ((u, du), (v, dv)) = (along(s), along(t));
        for m in 0..SIDE {
            for k in 0..SIDE {
                set(m * SIDE + k, u[k] * v[m], du[k] * v[m], u[k] * dv[m]);
            }
        }
        out
    }

    /// Points of a cell with their weights in area; `n` in each direction of a four-cornered one, and for a triangle a rule that
    /// carries 2 (n - 1) degrees, 6 at most.
    pub fn points(&self, cell: usize, n: usize) -> Vec<(Shape, f64)> {
        if self.cells[cell].len() == 3 {
            let at = |([s, t], w): ([f64; 2], f64)| {
                let shape = self.shape(cell, s, t);
                (shape, w * shape.area)
            };
            return triangle::rule(2 * (n - 1)).into_iter().map(at).collect();
        }
        let (t, w) = gauss(n);
        let at = |k: usize| {
            let (i, j) = (k % n, k / n);
            let shape = self.shape(cell, 2.0 * t[i] - 1.0, 2.0 * t[j] - 1.0);
            (shape, 4.0 * w[i] * w[j] * shape.area)
        };
        (0..n * n).map(at).collect()
    }

    /// A point in the own coordinates of a cell, which it need not lie in.
    pub fn local(&self, cell: usize, [x, y]: [f64; 2]) -> Option<(f64, f64)> {
        let (mut s, mut t) = (0.0, 0.0);
        for _ in 0..20 {
            let (at, j) = self.place(cell, s, t);
            let (ex, ey) = (x - at[0], y - at[1]);
            let det = j[0][0] * j[1][1] - j[0][1] * j[1][0];
            let (ds, dt) = ((j[1][1] * ex - j[0][1] * ey) / det, (j[0][0] * ey - j[1][0] * ex) / det);
            (s, t) = ((s + ds).clamp(-3.0, 3.0), (t + dt).clamp(-3.0, 3.0));
            if ds.abs().max(dt.abs()) < 1e-13 {
                break;
            }
        }
        (s.is_finite() && t.is_finite()).then_some((s, t))
    }

    /// The cell that holds a point, and where in its own coordinates; `None` outside of all.
    pub fn find(&self, x: f64, y: f64) -> Option<(usize, f64, f64)> {
        let mut best: Option<(f64, (usize, f64, f64))> = None;
        for cell in 0..self.cells.len() {
            let beyond = |k: usize, v: f64| {
                let (low, high) = self.corners_of(cell).fold((f64::MAX, f64::MIN), |r, p| (r.0.min(p[k]), r.1.max(p[k])));
                let slack = 1e-6 * (high - low);
                v < low - slack || v > high + slack
            };
            if beyond(0, x) || beyond(1, y) {
                continue;
            }
            let Some((s, t)) = self.local(cell, [x, y]) else { continue };
            // 1 on the border, less within
            let out = match self.cells[cell].len() {
                3 => 1.0 + 2.0 * (-s).max(-t).max(s + t - 1.0),
                _ => s.abs().max(t.abs()),
            };
            if out < 1.0 + 1e-9 && best.is_none_or(|b| out < b.0) {
                let low = if self.cells[cell].len() == 3 { 0.0 } else { -1.0 };
                best = Some((out, (cell, s.clamp(low, 1.0), t.clamp(low, 1.0))));
            }
        }
        best.map(|b| b.1)
    }
}
