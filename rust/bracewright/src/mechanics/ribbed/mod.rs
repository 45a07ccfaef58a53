//! A plate with ribs glued to it, as three-dimensional elasticity has it within a few tenths of a percent.
//!
//! The plate carries membrane forces, bends and shears through its thickness; its displacements in the plane are straight
//! through the thickness, u = u0 + u1 P1(zeta), and cubic under the ribs and in one row of cells beside them. A rib moves
//! with the plate over the whole width of its glue face and adds functions of z / h(x) that vanish there, so the bond is exact
//! and the matrix positive definite. z runs from the plate's middle towards the ribs; deflections are positive in z.

mod blocks;
mod buffer;
mod fronts;
mod plate;
mod quads;
mod rib;
mod straight;

use std::collections::{HashMap, HashSet};

use rayon::prelude::*;

use crate::mechanics::plate::PlateLaw;
use crate::mechanics::quadrature::{gauss, legendre};
use blocks::Blocks;
use buffer::Buffer;
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
    /// First unknown of each node, and of each rib's first station; a mirrored node has those of its image.
    first: Vec<usize>,
    flipped: Vec<bool>,
    mirrored: bool,
    stations: Vec<usize>,
    unknowns: usize,
    law: PlateLaw,
    thickness: f64,
}

/// Height below which a rib counts as that high, as a part of its greatest.
const THINNEST: f64 = 0.01;

/// Where the unknowns of a piece go: places and factors, one after the other.
#[derive(Debug, Clone, Default)]
struct Places {
    ends: Vec<usize>,
    to: Vec<(usize, f64)>,
}

impl Places {
    fn end(&mut self) {
        self.ends.push(self.to.len());
    }

    fn len(&self) -> usize {
        self.ends.len()
    }

    fn of(&self, i: usize) -> &[(usize, f64)] {
        let start = if i == 0 { 0 } else { self.ends[i - 1] };
        &self.to[start..self.ends[i]]
    }
}

impl Ribbed {
    /// A plate of one thickness and law with its ribs. With `mirrored` its shape, its law, its one rib along y = 0 and all that
    /// loads it are alike on both sides of that line, and half the unknowns do.
    pub fn new(quads: Quads, law: PlateLaw, thickness: f64, ribs: Vec<Rib>, degrees: RibDegrees, mirrored: bool) -> Self {
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
        let flipped: Vec<bool> = quads.nodes.iter().map(|p| mirrored && p[1] < -1e-9).collect();
        let mut first = vec![0; cubic_node.len()];
        for (n, cubic) in cubic_node.iter().enumerate().filter(|(n, _)| !flipped[*n]) {
            first[n] = unknowns;
            unknowns += if *cubic { CUBIC } else { PLAIN };
        }
        if mirrored {
            let key = |p: &[f64; 2], y: f64| ((p[0] * 1e6).round() as i64, (y * 1e6).round() as i64);
            let images: HashMap<(i64, i64), usize> =
                quads.nodes.iter().enumerate().filter(|(n, _)| !flipped[*n]).map(|(n, p)| (key(p, p[1]), n)).collect();
            for n in (0..first.len()).filter(|n| flipped[*n]) {
                let p = &quads.nodes[n];
                first[n] = images.get(&key(p, -p[1])).map_or(0, |image| first[*image]);
            }
        }
        let mut stations = Vec::with_capacity(ribs.len());
        for r in &ribs {
            stations.push(unknowns);
            unknowns += (r.cells.len() * ORDER + 1) * degrees.unknowns();
        }
        Self { quads, degrees, ribs, cubic_cell, cubic_node, first, flipped, mirrored, stations, unknowns, law, thickness }
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

    /// The unknowns of a node's displacement along x and y on the face the ribs are glued to.
    pub fn sliding_of(&self, node: usize) -> [usize; 2] {
        [self.first[node], self.first[node] + 1]
    }

    /// -1 for what a mirrored node moves the other way: its displacements along y.
    fn sign(&self, node: usize, field: usize) -> f64 {
        if self.flipped[node] && matches!(field, 1 | 3 | 6 | 8) { -1.0 } else { 1.0 }
    }

    /// A field's value at a node.
    fn value(&self, solved: &[f64], node: usize, field: usize) -> f64 {
        self.sign(node, field) * solved[self.first[node] + field]
    }

    /// Where the unknowns of a plate cell go, NODES for each field.
    fn plate_places(&self, cell: usize) -> Places {
        let fields = if self.cubic_cell[cell] { CUBIC } else { PLAIN };
        let mut out = Places::default();
        for f in 0..fields {
            for n in self.quads.of_cell[cell] {
                if f < PLAIN || self.cubic_node[n] {
                    out.to.push((self.first[n] + f, self.sign(n, f)));
                }
                out.end();
            }
        }
        out
    }

    /// Where the unknowns of a rib over its k-th cell go, NODES for each field.
    fn rib_places(&self, rib: usize, k: usize) -> Places {
        let r = &self.ribs[rib];
        let nodes = self.quads.of_cell[r.cells[k]];
        let [c, s] = r.direction;
        let mut out = Places::default();
        for (a, b) in [(c, s), (-s, c)] {
            for n in nodes {
                for (f, by) in [(0, a), (1, b)].into_iter().filter(|p| p.1 != 0.0) {
                    out.to.push((self.first[n] + f, by * self.sign(n, f)));
                }
                out.end();
            }
        }
        for n in nodes {
            out.to.push((self.first[n] + W, 1.0));
            out.end();
        }
        let at = self.stations[rib] + k * ORDER * self.degrees.unknowns();
        for (component, _, first) in self.degrees.own() {
            let powers = self.degrees.width[component];
            for i in 0..NODES {
                let (station, y) = (i / powers.len(), i % powers.len());
                // of a mirrored plate only what is alike on both sides: along and up even in y, across odd
                let alike = !self.mirrored || (powers[y] % 2 == 1) == (component == 1);
                if station < SIDE && alike {
                    out.to.push((at + station * self.degrees.unknowns() + first + y, 1.0));
                }
                out.end();
            }
        }
        out
    }

    /// The pieces the plate is put together from: its cells, then the stretches of each rib. Of a mirrored plate the cells of one
    /// side, which count twice, and those across the line.
    fn pieces(&self) -> Vec<Piece> {
        let side = |c: usize| self.quads.cells[c].iter().map(|k| self.quads.corners[*k][1]).sum::<f64>();
        let cells = (0..self.quads.cells.len())
            .filter(|c| !self.mirrored || side(*c) > -1e-9)
            .map(|cell| Piece::Cell { cell, times: if self.mirrored && side(cell) > 1e-9 { 2.0 } else { 1.0 } });
        let ribs = self.ribs.iter().enumerate();
        cells.chain(ribs.flat_map(|(rib, r)| (0..r.cells.len()).map(move |k| Piece::Stretch { rib, k }))).collect()
    }

    /// The stiffness factored with some unknowns held at zero; `None` where it is not held.
    pub fn factor(&self, held: &[usize]) -> Option<Factor> {
        let mut free = vec![true; self.unknowns];
        held.iter().for_each(|h| free[*h] = false);
        let pieces = self.pieces();
        let mut at = Vec::with_capacity(pieces.len());
        let mut touches = Vec::with_capacity(pieces.len());
        let mut places = Vec::with_capacity(pieces.len());
        // cells of one shape have one matrix
        let mut shapes: HashMap<[i64; 7], usize> = HashMap::new();
        let mut first_of_shape = Vec::new();
        for p in &pieces {
            let (cell, to) = match *p {
                Piece::Cell { cell, .. } => (cell, self.plate_places(cell)),
                Piece::Stretch { rib, k } => (self.ribs[rib].cells[k], self.rib_places(rib, k)),
            };
            at.push(self.quads.place(cell, 0.0, 0.0).0);
            places.push(to);
            if let Piece::Cell { cell, .. } = *p {
                let next = first_of_shape.len();
                if *shapes.entry(self.shape_of(cell)).or_insert(next) == next {
                    first_of_shape.push(cell);
                }
            }
        }
        // what nothing touches is not solved for
        let mut touched = vec![false; self.unknowns];
        places.iter().flat_map(|p| &p.to).for_each(|p| touched[p.0] = true);
        free.iter_mut().zip(&touched).for_each(|(free, touched)| *free &= touched);
        let (group_of, sizes) = self.groups(&free);
        for p in &places {
            let mut groups: Vec<usize> = p.to.iter().filter(|p| free[p.0]).map(|p| group_of[p.0]).collect();
            groups.sort_unstable();
            groups.dedup();
            touches.push(groups);
        }
        let order = Order::new(&sizes, &at, &touches);
        // the place of each unknown in the order they go
        let mut met = vec![0; sizes.len()];
        let place: Vec<Option<usize>> = group_of
            .iter()
            .zip(&free)
            .map(|(g, free)| {
                free.then(|| {
                    met[*g] += 1;
                    order.place_of(*g) + met[*g] - 1
                })
            })
            .collect();
        let plates: Vec<Blocks> = first_of_shape
            .par_iter()
            .map(|cell| plate::stiffness(&self.quads, *cell, &self.law, self.thickness, self.cubic_cell[*cell]))
            .collect();
        let element = |i: usize| match pieces[i] {
            Piece::Cell { cell, times } => {
                gathered(&plates[shapes[&self.shape_of(cell)]], &places[i], &place, &order.places(&touches[i]), times)
            }
            Piece::Stretch { rib, k } => {
                let r = &self.ribs[rib];
                let thinnest = THINNEST * r.solid.tallest();
                let k = Stretch::new(&self.quads, r, r.cells[k], &self.degrees, thinnest).stiffness();
                gathered(&k, &places[i], &place, &order.places(&touches[i]), 1.0)
            }
        };
        let columns = order.factor(&element)?;
        Some(Factor { order, columns, place })
    }

    /// The group of each unknown, one for a node or a rib's station, and how many of each are free.
    fn groups(&self, free: &[bool]) -> (Vec<usize>, Vec<usize>) {
        let mut starts: Vec<usize> = self.first.iter().zip(&self.flipped).filter(|f| !f.1).map(|f| *f.0).collect();
        for (rib, first) in self.ribs.iter().zip(&self.stations) {
            starts.extend((0..=rib.cells.len() * ORDER).map(|i| first + i * self.degrees.unknowns()));
        }
        starts.sort_unstable();
        let mut group_of = Vec::with_capacity(self.unknowns);
        let mut sizes = vec![0; starts.len()];
        for (g, start) in starts.iter().enumerate() {
            let end = starts.get(g + 1).copied().unwrap_or(self.unknowns);
            group_of.extend((*start..end).map(|_| g));
            sizes[g] = free[*start..end].iter().filter(|f| **f).count();
        }
        (group_of, sizes)
    }

    /// Sides of a cell, to a nanometre where lengths are mm, and whether it is cubic: what its matrix goes by.
    fn shape_of(&self, cell: usize) -> [i64; 7] {
        let [a, b, c, d] = self.quads.cells[cell].map(|k| self.quads.corners[k]);
        let of = |p: [f64; 2], k: usize| ((p[k] - a[k]) * 1e6).round() as i64;
        [of(b, 0), of(b, 1), of(c, 0), of(c, 1), of(d, 0), of(d, 1), i64::from(self.cubic_cell[cell])]
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
        let mut out: Vec<(usize, f64)> =
            self.quads.of_cell[self.ribs[rib].cells[k]].iter().zip(shape.value).map(|(n, v)| (self.first[*n] + W, v)).collect();
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

    /// Stresses (xx, zz, xz, xy, yz) in the middle of a rib's width at places along it (x, on the side of another x, at a part of
    /// the height); `None` where one is off the rib.
    pub fn rib_stresses(&self, solved: &[f64], rib: usize, at: &[(f64, f64, f64)]) -> Option<Vec<[f64; 5]>> {
        let r = &self.ribs[rib];
        let thinnest = THINNEST * r.solid.tallest();
        let mut local: Vec<Option<Vec<f64>>> = vec![None; r.cells.len()];
        at.iter()
            .map(|&(x, inside, part)| {
                let (k, s) = self.stretch_at(rib, x, inside)?;
                let height = r.solid.crest.at_from(x, inside).0.max(thinnest);
                let (rows, _) = Stretch::new(&self.quads, r, r.cells[k], &self.degrees, thinnest).strains(s, 0.0, part * height);
                let values = local[k].get_or_insert_with(|| {
                    let places = self.rib_places(rib, k);
                    (0..places.len()).map(|i| places.of(i).iter().map(|(u, by)| by * solved[*u]).sum()).collect()
                });
                let strain = rows.map(|rows| {
                    let of = |(field, row): &(usize, [f64; NODES])| -> f64 {
                        row.iter().zip(&values[field * NODES..]).map(|(v, u)| v * u).sum()
                    };
                    rows.iter().map(of).sum::<f64>()
                });
                let c = &r.laws[0].c;
                Some([0, 1, 2, 3, 4].map(|i: usize| (0..5).map(|j| c[i][j] * strain[j]).sum()))
            })
            .collect()
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
                let at = |k: usize| self.value(solved, *n, plate::field(component, k));
                at(0) + (1..degrees).map(|k| (p[k] - 1.0) * at(k)).sum::<f64>()
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
    /// A cell, counted so often.
    Cell { cell: usize, times: f64 },
    /// A rib over one of its cells.
    Stretch { rib: usize, k: usize },
}

/// A piece's matrix over the unknowns of the groups it touches in the order they go, column by column, lower triangle.
fn gathered(k: &Blocks, places: &Places, place: &[Option<usize>], all: &[usize], times: f64) -> Buffer {
    // places, and rows that go there with a factor, in the order they go
    let mut rows: Vec<(usize, usize, f64)> = Vec::with_capacity(places.to.len());
    for i in 0..places.len() {
        rows.extend(places.of(i).iter().filter_map(|(u, by)| Some((place[*u]?, i, *by))));
    }
    rows.sort_unstable_by_key(|r| (r.0, r.1));
    let n = all.len();
    let mut next = 0;
    for r in &mut rows {
        while all[next] < r.0 {
            next += 1;
        }
        r.0 = next;
    }
    let mut column = vec![0.0; places.len()];
    let mut out = Buffer::lower(n, n);
    let mut from = 0;
    for (at, &(q, j, b)) in rows.iter().enumerate() {
        if at > 0 && rows[at - 1].0 != q {
            from = at;
        }
        k.column(j, &mut column);
        let b = b * times;
        let into = &mut out[q * n..(q + 1) * n];
        for &(p, i, a) in &rows[from..] {
            into[p] += a * b * column[i];
        }
    }
    out
}

/// A factored plate.
#[derive(Debug, Clone)]
pub struct Factor {
    order: Order,
    columns: Columns,
    /// Where each unknown stands in the order they go; none where it is held.
    place: Vec<Option<usize>>,
}

impl Factor {
    /// Displacements under a load.
    pub fn solve(&self, load: &[f64]) -> Vec<f64> {
        let mut side = vec![0.0; self.order.unknowns()];
        for (place, v) in self.place.iter().zip(load) {
            if let Some(p) = place {
                side[*p] = *v;
            }
        }
        self.order.solve(&self.columns, &mut side);
        self.place.iter().map(|p| p.map_or(0.0, |p| side[p])).collect()
    }
}

#[cfg(test)]
mod tests;
