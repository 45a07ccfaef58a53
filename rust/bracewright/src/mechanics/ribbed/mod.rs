//! A plate with ribs glued to it, as three-dimensional elasticity has it within a few tenths of a percent.
//!
//! The plate carries membrane forces, bends and shears through its thickness; its displacements in the plane are straight
//! through the thickness, u = u0 + u1 P1(zeta), and cubic under the ribs and in one row of cells beside them. A rib moves
//! with the plate over the whole width of its glue face and adds functions of z / h(x) that vanish there, so the bond is exact
//! and the matrix positive definite. z runs from the plate's middle towards the ribs; deflections are positive in z.

mod blocks;
mod fronts;
mod plate;
mod quads;
mod rib;
mod straight;

use std::collections::HashSet;


use crate::mechanics::plate::PlateLaw;
use crate::mechanics::quadrature::{gauss, legendre};
use blocks::Blocks;
use fronts::{Columns, Order};
use plate::{CUBIC, PLAIN, W};
pub use quads::Quads;
use quads::{NODES, ORDER, SIDE};
use rib::Stretch;
pub use rib::{Rib, RibDegrees, RibLaw};

/// Unknowns of an assembled plate, with the pieces of its matrix.
#[derive(Debug, Clone)]
pub struct Ribbed {
    quads: Quads,
    degrees: RibDegrees,
    ribs: Vec<Rib>,
    /// Whether the displacements of each cell are cubic through the thickness, and those of each node.
    cubic_cell: Vec<bool>,
    cubic_node: Vec<bool>,
    /// First unknown of each node, and of each rib's first station.
    first: Vec<usize>,
    stations: Vec<usize>,
    unknowns: usize,
    law: PlateLaw,
    thickness: f64,
}

/// Height below which a rib counts as that high, as a part of its greatest.
const THINNEST: f64 = 0.01;

/// Where an unknown of a cell goes: places and factors.
type Place = Vec<(usize, f64)>;

impl Ribbed {
    /// A plate of one thickness and law with its ribs.
    pub fn new(quads: Quads, law: PlateLaw, thickness: f64, ribs: Vec<Rib>, degrees: RibDegrees) -> Self {
        let under: HashSet<usize> = ribs.iter().flat_map(|r| r.cells.iter().copied()).collect();
        let touched: HashSet<usize> = under.iter().flat_map(|c| quads.cells[*c]).collect();
        let cubic_cell: Vec<bool> = quads.cells.iter().map(|c| c.iter().any(|k| touched.contains(k))).collect();
        // the higher profiles end at the outer border of the row beside the ribs
        let mut cubic_node = vec![true; quads.nodes.len()];
        for (nodes, cubic) in quads.of_cell.iter().zip(&cubic_cell) {
            if !cubic {
                nodes.iter().for_each(|n| cubic_node[*n] = false);
            }
        }
        let mut unknowns = 0;
        let mut first = Vec::with_capacity(cubic_node.len());
        for cubic in &cubic_node {
            first.push(unknowns);
            unknowns += if *cubic { CUBIC } else { PLAIN };
        }
        let mut stations = Vec::with_capacity(ribs.len());
        for r in &ribs {
            stations.push(unknowns);
            unknowns += (r.cells.len() * ORDER + 1) * degrees.unknowns();
        }
        Self { quads, degrees, ribs, cubic_cell, cubic_node, first, stations, unknowns, law, thickness }
    }

    /// How many unknowns there are.
    pub fn unknowns(&self) -> usize {
        self.unknowns
    }

    /// The cells and nodes.
    pub fn quads(&self) -> &Quads {
        &self.quads
    }

    /// The unknown that is the deflection of a node.
    pub fn deflection_of(&self, node: usize) -> usize {
        self.first[node] + W
    }

    /// The unknowns of a node's displacement in the middle of the plate along x and y.
    pub fn sliding_of(&self, node: usize) -> [usize; 2] {
        [self.first[node], self.first[node] + 1]
    }

    /// Where the unknowns of a plate cell go, NODES for each field.
    fn plate_places(&self, cell: usize) -> Vec<Place> {
        let fields = if self.cubic_cell[cell] { CUBIC } else { PLAIN };
        let mut out = Vec::with_capacity(fields * NODES);
        for f in 0..fields {
            for n in self.quads.of_cell[cell] {
                out.push(if f < PLAIN || self.cubic_node[n] { vec![(self.first[n] + f, 1.0)] } else { Vec::new() });
            }
        }
        out
    }

    /// Where the unknowns of a rib over its k-th cell go, NODES for each field.
    fn rib_places(&self, rib: usize, k: usize) -> Vec<Place> {
        let r = &self.ribs[rib];
        let nodes = self.quads.of_cell[r.cells[k]];
        let [c, s] = r.direction;
        let mut out = Vec::with_capacity(self.degrees.fields() * NODES);
        // on the glue face every Legendre polynomial is 1
        let face = |n: usize, component: usize, by: f64, to: &mut Place| {
            if by != 0.0 {
                let degrees = if self.cubic_node[n] { 4 } else { 2 };
                to.extend((0..degrees).map(|d| (self.first[n] + plate::field(component, d), by)));
            }
        };
        for (a, b) in [(c, s), (-s, c)] {
            for n in nodes {
                let mut place = Vec::new();
                face(n, 0, a, &mut place);
                face(n, 1, b, &mut place);
                out.push(place);
            }
        }
        out.extend(nodes.map(|n| vec![(self.first[n] + W, 1.0)]));
        let at = self.stations[rib] + k * ORDER * self.degrees.unknowns();
        for (component, _, first) in self.degrees.own() {
            let per = self.degrees.width[component].len();
            for i in 0..NODES {
                let (station, y) = (i / per, i % per);
                let place = at + station * self.degrees.unknowns() + first + y;
                out.push(if station < SIDE { vec![(place, 1.0)] } else { Vec::new() });
            }
        }
        out
    }

    /// The pieces the plate is put together from: its cells, then the stretches of each rib.
    fn pieces(&self) -> Vec<Piece> {
        let cells = (0..self.quads.cells.len()).map(Piece::Cell);
        let ribs = self.ribs.iter().enumerate();
        cells.chain(ribs.flat_map(|(r, rib)| (0..rib.cells.len()).map(move |k| Piece::Stretch(r, k)))).collect()
    }

    /// The stiffness factored with some unknowns held at zero; `None` where it is not held.
    pub fn factor(&self, held: &[usize]) -> Option<Factor> {
        let mut free = vec![true; self.unknowns];
        held.iter().for_each(|h| free[*h] = false);
        let pieces = self.pieces();
        let mut at = Vec::with_capacity(pieces.len());
        let mut touches = Vec::with_capacity(pieces.len());
        let mut places = Vec::with_capacity(pieces.len());
        for p in &pieces {
            let (cell, to) = match *p {
                Piece::Cell(cell) => (cell, self.plate_places(cell)),
                Piece::Stretch(rib, k) => (self.ribs[rib].cells[k], self.rib_places(rib, k)),
            };
            at.push(self.quads.place(cell, 0.0, 0.0).0);
            let mut touched: Vec<usize> = to.iter().flatten().map(|p| p.0).filter(|u| free[*u]).collect();
            touched.sort_unstable();
            touched.dedup();
            touches.push(touched);
            places.push(to);
        }
        let order = Order::new(self.unknowns, &at, &touches);
        let element = |i: usize| {
            let blocks = match pieces[i] {
                Piece::Cell(cell) => {
                    plate::stiffness(&self.quads, cell, &self.law, self.thickness, self.cubic_cell[cell])
                }
                Piece::Stretch(rib, k) => {
                    let r = &self.ribs[rib];
                    Stretch::new(&self.quads, r, r.cells[k], &self.degrees, THINNEST * r.solid.tallest()).stiffness()
                }
            };
            gathered(&blocks, &places[i], &touches[i])
        };
        let columns = order.factor(&element)?;
        Some(Factor { order, columns, free })
    }

    /// What a pressure of total `force` over a rectangle of the plate puts on the unknowns.
    pub fn pressed(&self, x: [f64; 2], y: [f64; 2], force: f64) -> Vec<f64> {
        let mut out = vec![0.0; self.unknowns];
        let mut area = 0.0;
        for cell in 0..self.quads.cells.len() {
            for (shape, weight) in plate::points(&self.quads, cell, ORDER + 1) {
                let [px, py] = shape.at;
                if px > x[0] && px < x[1] && py > y[0] && py < y[1] {
                    area += weight;
                    for (n, v) in self.quads.of_cell[cell].iter().zip(shape.value) {
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
        let at = |s: f64| r.local(self.quads.place(r.cells[k], s, 0.0).0)[0];
        (at(-1.0), at(1.0))
    }

    /// The cell of a rib that holds x along it, and where in it; on a border that on the side of `inside`.
    fn stretch_at(&self, rib: usize, x: f64, inside: f64) -> Option<(usize, f64)> {
        (0..self.ribs[rib].cells.len()).find_map(|k| {
            let (a, b) = self.reach(rib, k);
            (inside >= a && inside <= b).then(|| (k, (2.0 * (x - a) / (b - a) - 1.0).clamp(-1.0, 1.0)))
        })
    }

    /// Parts of the unknowns in the upward displacement in the middle of a rib, at a part of its height.
    fn rise(&self, rib: usize, k: usize, s: f64, part: f64) -> Vec<(usize, f64)> {
        let shape = self.quads.shape(self.ribs[rib].cells[k], s, 0.0);
        let mut out: Vec<(usize, f64)> = self.quads.of_cell[self.ribs[rib].cells[k]]
            .iter()
            .zip(shape.value)
            .map(|(n, v)| (self.first[*n] + W, v))
            .collect();
        let (f, _) = rib::through(part, self.degrees.height[2]);
        let (n, _) = quads::along(s);
        let at = self.stations[rib] + k * ORDER * self.degrees.unknowns();
        for (component, degree, first) in self.degrees.own() {
            if component == 2 {
                out.extend(n.iter().enumerate().map(|(i, n)| (at + i * self.degrees.unknowns() + first, n * f[degree])));
            }
        }
        out
    }

    /// Stresses (xx, zz, xz, xy, yz) in the middle of a rib's width at x along it, at a part of its height, on the side of
    /// `inside`; `None` off the rib.
    pub fn rib_stress(&self, solved: &[f64], rib: usize, x: f64, inside: f64, part: f64) -> Option<[f64; 5]> {
        let (k, s) = self.stretch_at(rib, x, inside)?;
        let r = &self.ribs[rib];
        let thinnest = THINNEST * r.solid.tallest();
        let height = r.solid.crest.at_from(x, inside).0.max(thinnest);
        let (rows, _) = Stretch::new(&self.quads, r, r.cells[k], &self.degrees, thinnest).strains(s, 0.0, part * height);
        let places = self.rib_places(rib, k);
        let strain = rows.map(|rows| {
            let of = |(field, row): &(usize, [f64; NODES])| -> f64 {
                let to = &places[field * NODES..(field + 1) * NODES];
                to.iter().zip(row).map(|(p, v)| v * p.iter().map(|(i, by)| by * solved[*i]).sum::<f64>()).sum()
            };
            rows.iter().map(of).sum::<f64>()
        });
        let c = &r.laws[0].c;
        Some([0, 1, 2, 3, 4].map(|i: usize| (0..5).map(|j| c[i][j] * strain[j]).sum()))
    }

    /// Stresses (xx, yy, xy) of the plate at a point of its plane, at a part of its thickness: -1 the face away from the ribs,
    /// 1 the face they are glued to; `None` off the plate.
    pub fn plate_stress(&self, solved: &[f64], x: f64, y: f64, part: f64) -> Option<[f64; 3]> {
        let (cell, s, t) = self.quads.find(x, y)?;
        let shape = self.quads.shape(cell, s, t);
        let (mut p, mut d) = ([0.0; 4], [0.0; 4]);
        legendre(part, &mut p, &mut d);
        let mut strain = [0.0; 3];
        for (i, n) in self.quads.of_cell[cell].iter().enumerate() {
            let degrees = if self.cubic_node[*n] { 4 } else { 2 };
            let of = |component: usize| -> f64 {
                (0..degrees).map(|k| p[k] * solved[self.first[*n] + plate::field(component, k)]).sum()
            };
            let (u, v) = (of(0), of(1));
            strain[0] += shape.dx[i] * u;
            strain[1] += shape.dy[i] * v;
            strain[2] += shape.dy[i] * u + shape.dx[i] * v;
        }
        Some([0, 1, 2].map(|i: usize| (0..3).map(|j| self.law.plane[i][j] * strain[j]).sum()))
    }

    /// Deflection at a point of the plate; `None` outside of it.
    pub fn deflection(&self, solved: &[f64], x: f64, y: f64) -> Option<f64> {
        let (cell, s, t) = self.quads.find(x, y)?;
        let shape = self.quads.shape(cell, s, t);
        Some(self.quads.of_cell[cell].iter().zip(shape.value).map(|(n, v)| v * solved[self.first[*n] + W]).sum())
    }
}

/// A piece of the plate.
#[derive(Debug, Clone, Copy)]
enum Piece {
    /// A cell.
    Cell(usize),
    /// A rib over one of its cells.
    Stretch(usize, usize),
}

/// A cell's matrix over the unknowns it touches, column by column.
fn gathered(k: &Blocks, places: &[Place], touched: &[usize]) -> Vec<f64> {
    let n = touched.len();
    let to: Vec<Place> = places
        .iter()
        .map(|p| p.iter().filter_map(|(u, by)| Some((touched.binary_search(u).ok()?, *by))).collect())
        .collect();
    // first the columns, then the rows
    let m = places.len();
    let mut wide = vec![0.0; n * m];
    let mut column = vec![0.0; m];
    for (j, into) in to.iter().enumerate().filter(|(_, p)| !p.is_empty()) {
        k.column(j, &mut column);
        for (q, b) in into {
            for (w, v) in wide[q * m..(q + 1) * m].iter_mut().zip(&column) {
                *w += b * v;
            }
        }
    }
    let mut out = vec![0.0; n * n];
    for (column, from) in out.chunks_exact_mut(n).zip(wide.chunks_exact(m)) {
        for (into, v) in to.iter().zip(from) {
            for (p, a) in into {
                column[*p] += a * v;
            }
        }
    }
    out
}

/// A factored plate.
#[derive(Debug, Clone)]
pub struct Factor {
    order: Order,
    columns: Columns,
    free: Vec<bool>,
}

impl Factor {
    /// Displacements under a load.
    pub fn solve(&self, load: &[f64]) -> Vec<f64> {
        let load: Vec<f64> = load.iter().zip(&self.free).map(|(v, free)| if *free { *v } else { 0.0 }).collect();
        self.order.solve(&self.columns, &load)
    }
}

#[cfg(test)]
mod tests;
