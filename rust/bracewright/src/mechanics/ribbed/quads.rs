//! Quadrilaterals of third order and the nodes they share.

use std::collections::HashMap;

/// Order of the elements in both directions.
pub const ORDER: usize = 3;
/// Nodes along one side.
pub const SIDE: usize = ORDER + 1;
/// Nodes of a cell.
pub const NODES: usize = SIDE * SIDE;

/// Four-cornered cells with straight sides and the nodes of third order on them.
#[derive(Debug, Clone)]
pub struct Quads {
    /// Corners.
    pub corners: Vec<[f64; 2]>,
    /// Corners of each cell, counter-clockwise; its first direction runs from the first to the second.
    pub cells: Vec<[usize; 4]>,
    /// Where the nodes lie.
    pub nodes: Vec<[f64; 2]>,
    /// Nodes of each cell, the first direction running fastest.
    pub of_cell: Vec<[usize; NODES]>,
}

/// Shape functions of a cell at a point: values and slopes in x and y.
#[derive(Debug, Clone, Copy)]
pub struct Shape {
    /// Where, in the plane.
    pub at: [f64; 2],
    /// Slopes of the cell's own two coordinates in x and in y.
    pub inverse: [[f64; 2]; 2],
    /// Area of the plane over that of the cell's own square.
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

impl Quads {
    /// Numbers the nodes of these cells.
    pub fn new(corners: Vec<[f64; 2]>, cells: Vec<[usize; 4]>) -> Self {
        let mut nodes = corners.clone();
        let mut edges: HashMap<(usize, usize), usize> = HashMap::new();
        let s = LINE.map(|t| 0.5 * (1.0 + t));
        let mut of_cell = Vec::with_capacity(cells.len());
        for c in &cells {
            let mut local = [usize::MAX; NODES];
            let last = SIDE - 1;
            for (k, at) in [0, last, NODES - 1, NODES - 1 - last].into_iter().enumerate() {
                local[at] = c[k];
            }
            // sides by their first and last corner, in the direction the nodes are numbered in, with step and start
            for (a, b, start, step) in
                [(c[0], c[1], 0, 1), (c[3], c[2], NODES - SIDE, 1), (c[0], c[3], 0, SIDE), (c[1], c[2], last, SIDE)]
            {
                let key = (a.min(b), a.max(b));
                let first = *edges.entry(key).or_insert_with(|| {
                    let (p, q) = (corners[key.0], corners[key.1]);
                    nodes.extend(s[1..last].iter().map(|t| [p[0] + t * (q[0] - p[0]), p[1] + t * (q[1] - p[1])]));
                    nodes.len() - (SIDE - 2)
                });
                for k in 1..last {
                    local[start + k * step] = if a < b { first + k - 1 } else { first + last - 1 - k };
                }
            }
            let [p, q, r, t] = c.map(|k| corners[k]);
            for j in 1..last {
                for i in 1..last {
                    let (u, v) = (s[i], s[j]);
                    let at = [0, 1].map(|d: usize| (1.0 - v) * ((1.0 - u) * p[d] + u * q[d]) + v * ((1.0 - u) * t[d] + u * r[d]));
                    local[j * SIDE + i] = nodes.len();
                    nodes.push(at);
                }
            }
            of_cell.push(local);
        }
        Self { corners, cells, nodes, of_cell }
    }

    /// A grid of rectangles between lines of x and y; cell i + j (lines of x - 1) lies between x i and y j.
    pub fn grid(x: &[f64], y: &[f64]) -> Self {
        let n = x.len();
        let corners = y.iter().flat_map(|y| x.iter().map(|x| [*x, *y])).collect();
        let cells = (0..y.len() - 1)
            .flat_map(|j| (0..n - 1).map(move |i| [j * n + i, j * n + i + 1, (j + 1) * n + i + 1, (j + 1) * n + i]))
            .collect();
        Self::new(corners, cells)
    }

    /// Where a place of the cell's own square [-1, 1]^2 lies, and the slopes of x and y (rows) in its two coordinates.
    pub fn place(&self, cell: usize, s: f64, t: f64) -> ([f64; 2], [[f64; 2]; 2]) {
        let [p, q, r, o] = self.cells[cell].map(|k| self.corners[k]);
        let (a, b, c, d) = (1.0 - s, 1.0 + s, 1.0 - t, 1.0 + t);
        let of = |k: usize| 0.25 * (a * c * p[k] + b * c * q[k] + b * d * r[k] + a * d * o[k]);
        let by_s = |k: usize| 0.25 * (c * (q[k] - p[k]) + d * (r[k] - o[k]));
        let by_t = |k: usize| 0.25 * (a * (o[k] - p[k]) + b * (r[k] - q[k]));
        ([of(0), of(1)], [[by_s(0), by_t(0)], [by_s(1), by_t(1)]])
    }

    /// The shape functions at a place of the cell's own square.
    pub fn shape(&self, cell: usize, s: f64, t: f64) -> Shape {
        let (at, j) = self.place(cell, s, t);
        let area = j[0][0] * j[1][1] - j[0][1] * j[1][0];
        let inverse = [[j[1][1] / area, -j[0][1] / area], [-j[1][0] / area, j[0][0] / area]];
        let ((u, du), (v, dv)) = (along(s), along(t));
        let mut out = Shape { at, inverse, area, value: [0.0; NODES], dx: [0.0; NODES], dy: [0.0; NODES] };
        for m in 0..SIDE {
            for k in 0..SIDE {
                let i = m * SIDE + k;
                let (by_s, by_t) = (du[k] * v[m], u[k] * dv[m]);
                out.value[i] = u[k] * v[m];
                out.dx[i] = by_s * inverse[0][0] + by_t * inverse[1][0];
                out.dy[i] = by_s * inverse[0][1] + by_t * inverse[1][1];
            }
        }
        out
    }

    /// The cell that holds a point, and where in its own square; `None` outside of all.
    pub fn find(&self, x: f64, y: f64) -> Option<(usize, f64, f64)> {
        let mut best: Option<(f64, (usize, f64, f64))> = None;
        for cell in 0..self.cells.len() {
            let corners = self.cells[cell].map(|k| self.corners[k]);
            let beyond = |k: usize, v: f64| {
                let (low, high) = corners.iter().fold((f64::MAX, f64::MIN), |r, p| (r.0.min(p[k]), r.1.max(p[k])));
                let slack = 1e-6 * (high - low);
                v < low - slack || v > high + slack
            };
            if beyond(0, x) || beyond(1, y) {
                continue;
            }
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
            let out = s.abs().max(t.abs());
            if out < 1.0 + 1e-9 && best.is_none_or(|b| out < b.0) {
                best = Some((out, (cell, s.clamp(-1.0, 1.0), t.clamp(-1.0, 1.0))));
            }
        }
        best.map(|b| b.1)
    }
}
