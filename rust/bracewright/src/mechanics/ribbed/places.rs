//! Where the unknowns of the pieces lie.

use super::cells::{NODES, ORDER, SIDE};
use super::joint::{self, JOINT_OWN};
use super::plate::{CUBIC, PLAIN, W};
use super::rib::RibDegrees;
use super::{Piece, Ribbed};

/// Where the unknowns of a piece go: places and factors, one after the other.
#[derive(Debug, Clone, Default)]
pub struct Places {
    ends: Vec<usize>,
    pub to: Vec<(usize, f64)>,
}

impl Places {
    fn end(&mut self) {
        self.ends.push(self.to.len());
    }

    /// Ends with nothing up to a whole cell's number of nodes.
    fn fill(&mut self, have: usize) {
        (have..NODES).for_each(|_| self.end());
    }

    pub fn len(&self) -> usize {
        self.ends.len()
    }

    pub fn of(&self, i: usize) -> &[(usize, f64)] {
        let start = if i == 0 { 0 } else { self.ends[i - 1] };
        &self.to[start..self.ends[i]]
    }

    /// The piece's own values of a solved plate.
    pub fn values(&self, solved: &[f64]) -> Vec<f64> {
        (0..self.len()).map(|i| self.of(i).iter().map(|(u, by)| by * solved[*u]).sum()).collect()
    }
}

impl Ribbed {
    /// -1 for what a mirrored node moves the other way: its displacements along y.
    pub(super) fn sign(&self, node: usize, field: usize) -> f64 {
        if self.flipped[node] && matches!(field, 1 | 3 | 6 | 8) { -1.0 } else { 1.0 }
    }

    pub(super) fn places(&self, piece: Piece) -> Places {
        match piece {
            Piece::Cell { cell, .. } => self.plate_places(cell),
            Piece::Stretch { rib, k } => self.rib_places(rib, k),
            Piece::Rich { rib, k } => self.rich_places(rib, k),
            Piece::Joint(joint) => self.joint_places(joint),
            Piece::Patch { patch, k } => self.patch_places(patch, k),
            Piece::Edge(edge) => self.edge_places(edge),
        }
    }

    /// Where the unknowns of a plate cell go, NODES for each field.
    fn plate_places(&self, cell: usize) -> Places {
        let fields = if self.cubic_cell[cell] { CUBIC } else { PLAIN };
        let nodes = &self.cells.of_cell[cell];
        let mut out = Places::default();
        for f in 0..fields {
            for n in nodes {
                if f < PLAIN || self.cubic_node[*n] {
                    out.to.push((self.first[*n] + f, self.sign(*n, f)));
                }
                out.end();
            }
            out.fill(nodes.len());
        }
        out
    }

    /// What the glue face moves along and across a direction, and up: three fields.
    fn trace(&self, out: &mut Places, cell: usize, [c, s]: [f64; 2]) {
        let nodes = &self.cells.of_cell[cell];
        for (a, b) in [(c, s), (-s, c)] {
            for n in nodes {
                for (f, by) in [(0, a), (1, b)].into_iter().filter(|p| p.1 != 0.0) {
                    out.to.push((self.first[*n] + f, by * self.sign(*n, f)));
                }
                out.end();
            }
            out.fill(nodes.len());
        }
        for n in nodes {
            out.to.push((self.first[*n] + W, 1.0));
            out.end();
        }
        out.fill(nodes.len());
    }

    /// Where the unknowns of a rib over its k-th cell go, NODES for each field.
    pub(super) fn rib_places(&self, rib: usize, k: usize) -> Places {
        let r = &self.ribs[rib];
        let mut out = Places::default();
        self.trace(&mut out, r.cells[k], r.direction);
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

    /// A rib's cell beside a crossing, its nodes free: on the side of the crossing they are the crossing's, on the other they move
    /// as the rib's station does.
    fn rich_places(&self, rib: usize, k: usize) -> Places {
        let r = &self.ribs[rib];
        let mut out = Places::default();
        self.trace(&mut out, r.cells[k], r.direction);
        let own = self.rich_first[&(rib, k)];
        for (field, (component, degree)) in joint::own_fields().into_iter().enumerate() {
            for (i, node) in self.cells.of_cell[r.cells[k]].iter().enumerate() {
                let (column, row) = (i % SIDE, i / SIDE);
                let beyond = match column {
                    0 => k.checked_sub(1),
                    c if c == SIDE - 1 => Some(k + 1),
                    _ => None,
                };
                let met = beyond.and_then(|k| self.joint_of.get(&(rib, k)));
                if let Some((joint, at)) = met.and_then(|j| Some((*j, self.joint_node(*j, *node)?))) {
                    let [c, s] = self.ribs[self.joints[joint].ribs[0]].direction;
                    let [a, b] = r.direction;
                    // the rib's axes as the crossing's have them
                    let (along, across) = (c * a + s * b, c * b - s * a);
                    let of = |component, by: f64| (at + joint::field(component, degree), by);
                    match component {
                        0 => out.to.extend([of(0, along), of(1, across)]),
                        1 => out.to.extend([of(0, -across), of(1, along)]),
                        _ => out.to.push(of(2, 1.0)),
                    }
                } else if column == 0 || column == SIDE - 1 {
                    let station = self.stations[rib] + (k * ORDER + column) * self.degrees.unknowns();
                    for (first, power) in self.degrees.powers(component, degree) {
                        out.to.push((station + first, super::cells::LINE[row].powi(power)));
                    }
                } else {
                    out.to.push((own + ((column - 1) * SIDE + row) * JOINT_OWN + field, 1.0));
                }
                out.end();
            }
        }
        out
    }

    /// First own unknown of a crossing's node.
    fn joint_node(&self, joint: usize, node: usize) -> Option<usize> {
        let local = self.cells.of_cell[self.joints[joint].cell].iter().position(|n| *n == node)?;
        Some(self.joint_first[joint] + local * JOINT_OWN)
    }

    fn joint_places(&self, joint: usize) -> Places {
        let j = &self.joints[joint];
        let mut out = Places::default();
        self.trace(&mut out, j.cell, self.ribs[j.ribs[0]].direction);
        for field in 0..JOINT_OWN {
            for local in 0..NODES {
                out.to.push((self.joint_first[joint] + local * JOINT_OWN + field, 1.0));
                out.end();
            }
        }
        out
    }

    /// Where the unknowns of a patch over its k-th cell go: what the face it is glued to moves, then its own.
    fn patch_places(&self, patch: usize, k: usize) -> Places {
        let p = &self.patches[patch];
        let cell = p.cells[k];
        let nodes = &self.cells.of_cell[cell];
        let mut out = Places::default();
        for component in 0..2 {
            for n in nodes {
                out.to.push((self.first[*n] + component, 1.0));
                if !p.inside {
                    // the outer face moves by the inner less twice what is odd through the thickness
                    out.to.push((self.first[*n] + super::plate::field(component, 1), -2.0));
                    if self.cubic_node[*n] {
                        out.to.push((self.first[*n] + super::plate::field(component, 3), -2.0));
                    }
                }
                out.end();
            }
            out.fill(nodes.len());
        }
        for n in nodes {
            out.to.push((self.first[*n] + W, 1.0));
            out.end();
        }
        out.fill(nodes.len());
        for own in 0..super::patch::OWN {
            for n in nodes {
                out.to.push((self.patch_first[patch][n] + own, 1.0));
                out.end();
            }
            out.fill(nodes.len());
        }
        out
    }

    fn edge_places(&self, edge: usize) -> Places {
        let nodes = &self.edges[edge].nodes;
        let mut out = Places::default();
        for f in 0..CUBIC {
            for n in nodes {
                if f < PLAIN || self.cubic_node[*n] {
                    out.to.push((self.first[*n] + f, 1.0));
                }
                out.end();
            }
            out.fill(nodes.len());
        }
        out
    }
}

impl RibDegrees {
    /// The unknowns at a station of one component and degree, each with its power of y.
    fn powers(&self, component: usize, degree: usize) -> Vec<(usize, i32)> {
        let first = self.own().into_iter().find(|o| o.0 == component && o.1 == degree).map(|o| o.2);
        first.into_iter().flat_map(|f| self.width[component].iter().enumerate().map(move |(k, p)| (f + k, *p))).collect()
    }
}
