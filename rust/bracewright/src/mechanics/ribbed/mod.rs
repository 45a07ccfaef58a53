//! A plate with ribs glued to it, as three-dimensional elasticity has it within a few tenths of a percent.
//!
//! The plate carries membrane forces, bends and shears through its thickness; its displacements in the plane are straight
//! through the thickness, u = u0 + u1 P1(zeta), and cubic under the ribs and in one row of cells beside them. A rib moves
//! with the plate over the whole width of its glue face and adds functions of z / h(x) that vanish there, so the bond is exact
//! and the matrix positive definite. Where two ribs cross, a block with free nodes through its height stands for both. z runs
//! from the plate's middle towards the ribs; deflections are positive in z.

mod blocks;
mod buffer;
mod cells;
mod edge;
mod factor;
mod fronts;
mod joint;
mod loads;
mod patch;
mod pieces;
mod places;
mod plate;
mod read;
mod rib;
mod slopes;
mod straight;
mod triangle;
mod vibrate;

use std::collections::{HashMap, HashSet};

use crate::mechanics::plate::PlateLaw;
pub use cells::{Cells, LINE, NODES, ORDER, SIDE};
pub use edge::EdgeSpring;
pub use factor::{Factor, Plan};
use joint::JOINT_OWN;
pub use joint::{Joint, SolidLaw};
pub use patch::{Patch, within};
pub use plate::Arch;
use plate::{CUBIC, PLAIN, W};
pub use rib::{Rib, RibDegrees, RibLaw};
pub use slopes::RibSlope;
pub use vibrate::{Mass, Mode};

/// What a plate is put together from.
#[derive(Debug, Clone)]
pub struct Parts {
    /// Cells and nodes.
    pub cells: Cells,
    /// Law of the plate.
    pub law: PlateLaw,
    /// Its thickness at each node.
    pub thickness: Vec<f64>,
    /// Curvature of its middle.
    pub arch: Arch,
    /// Ribs.
    pub ribs: Vec<Rib>,
    /// How they are resolved.
    pub degrees: RibDegrees,
    /// Crossings of ribs.
    pub joints: Vec<Joint>,
    /// Flat pieces.
    pub patches: Vec<Patch>,
    /// Springs along edges.
    pub edges: Vec<EdgeSpring>,
}

/// Unknowns of an assembled plate, with the pieces of its matrix.
#[derive(Debug, Clone)]
pub struct Ribbed {
    cells: Cells,
    degrees: RibDegrees,
    ribs: Vec<Rib>,
    joints: Vec<Joint>,
    patches: Vec<Patch>,
    edges: Vec<EdgeSpring>,
    arch: Arch,
    /// Whether the displacements of each cell are cubic through the thickness, and those of each node.
    cubic_cell: Vec<bool>,
    cubic_node: Vec<bool>,
    /// First unknown of each node, and of each rib's first station; a mirrored node has those of its image.
    first: Vec<usize>,
    flipped: Vec<bool>,
    mirrored: bool,
    stations: Vec<usize>,
    /// First own unknown of each crossing, of the cells beside them, and of each node under a patch.
    joint_first: Vec<usize>,
    rich_first: HashMap<(usize, usize), usize>,
    patch_first: Vec<HashMap<usize, usize>>,
    /// The crossing that a cell of a rib is.
    joint_of: HashMap<(usize, usize), usize>,
    unknowns: usize,
    /// Where a group of unknowns that are touched together starts.
    starts: Vec<usize>,
    law: PlateLaw,
    thickness: Vec<f64>,
}

/// Height below which a rib counts as that high, as a part of its greatest.
const THINNEST: f64 = 0.01;

/// A piece of the plate.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Piece {
    /// A cell, counted so often.
    Cell { cell: usize, times: f64 },
    /// A rib over one of its cells.
    Stretch { rib: usize, k: usize },
    /// A rib over a cell beside a crossing.
    Rich { rib: usize, k: usize },
    /// A crossing.
    Joint(usize),
    /// A flat piece over one of its cells.
    Patch { patch: usize, k: usize },
    /// Springs along a side.
    Edge(usize),
}

/// Cells that share a corner with one under a rib.
fn beside_ribs(cells: &Cells, ribs: &[Rib]) -> Vec<bool> {
    let touched: HashSet<usize> = ribs.iter().flat_map(|r| &r.cells).flat_map(|c| cells.cells[*c].iter().copied()).collect();
    cells.cells.iter().map(|c| c.iter().any(|k| touched.contains(k))).collect()
}

impl Ribbed {
    /// A flat plate of one thickness and law with its ribs, one row of cells beside them. With `mirrored` its shape, its law, its one
    /// rib along y = 0 and all that loads it are alike on both sides of that line, and half the unknowns do.
    pub fn new(cells: Cells, law: PlateLaw, thickness: f64, ribs: Vec<Rib>, degrees: RibDegrees, mirrored: bool) -> Self {
        let thickness = vec![thickness; cells.nodes.len()];
        let (joints, patches, edges) = (Vec::new(), Vec::new(), Vec::new());
        Self::put(Parts { cells, law, thickness, arch: [0.0; 3], ribs, degrees, joints, patches, edges }, mirrored)
    }

    /// A whole top.
    pub fn whole(parts: Parts) -> Self {
        Self::put(parts, false)
    }

    fn put(parts: Parts, mirrored: bool) -> Self {
        let Parts { cells, law, thickness, arch, ribs, degrees, joints, patches, edges } = parts;
        let cubic_cell = beside_ribs(&cells, &ribs);
        // the higher profiles end at the outer border of the row beside the ribs
        let mut cubic_node = vec![true; cells.nodes.len()];
        for (nodes, cubic) in cells.of_cell.iter().zip(&cubic_cell) {
            if !cubic {
                nodes.iter().for_each(|n| cubic_node[*n] = false);
            }
        }
        let mut unknowns = 0;
        let mut starts = Vec::new();
        let mut take = |count: usize| {
            starts.push(unknowns);
            unknowns += count;
            unknowns - count
        };
        let flipped: Vec<bool> = cells.nodes.iter().map(|p| mirrored && p[1] < -1e-9).collect();
        let mut first = vec![0; cubic_node.len()];
        for (n, cubic) in cubic_node.iter().enumerate().filter(|(n, _)| !flipped[*n]) {
            first[n] = take(if *cubic { CUBIC } else { PLAIN });
        }
        if mirrored {
            let key = |p: &[f64; 2], y: f64| ((p[0] * 1e6).round() as i64, (y * 1e6).round() as i64);
            let images: HashMap<(i64, i64), usize> =
                cells.nodes.iter().enumerate().filter(|(n, _)| !flipped[*n]).map(|(n, p)| (key(p, p[1]), n)).collect();
            for n in (0..first.len()).filter(|n| flipped[*n]) {
                let p = &cells.nodes[n];
                first[n] = images.get(&key(p, -p[1])).map_or(0, |image| first[*image]);
            }
        }
        let mut stations = Vec::with_capacity(ribs.len());
        for r in &ribs {
            let of_rib: Vec<usize> = (0..=r.cells.len() * ORDER).map(|_| take(degrees.unknowns())).collect();
            stations.push(of_rib[0]);
        }
        let mut joint_of = HashMap::new();
        let mut joint_first = Vec::with_capacity(joints.len());
        for (i, j) in joints.iter().enumerate() {
            joint_of.insert((j.ribs[0], j.at[0]), i);
            joint_of.insert((j.ribs[1], j.at[1]), i);
            let of_joint: Vec<usize> = (0..NODES).map(|_| take(JOINT_OWN)).collect();
            joint_first.push(of_joint[0]);
        }
        let mut rich_first = HashMap::new();
        for (rib, r) in ribs.iter().enumerate() {
            for k in (0..r.cells.len()).filter(|k| beside_joint(&joint_of, rib, *k)) {
                let own: Vec<usize> = (0..(SIDE - 2) * SIDE).map(|_| take(JOINT_OWN)).collect();
                rich_first.insert((rib, k), own[0]);
            }
        }
        let mut patch_first = Vec::with_capacity(patches.len());
        for p in &patches {
            let mut of_node = HashMap::new();
            for n in p.cells.iter().flat_map(|c| &cells.of_cell[*c]) {
                of_node.entry(*n).or_insert_with(|| take(patch::OWN));
            }
            patch_first.push(of_node);
        }
        Self {
            cells,
            degrees,
            ribs,
            joints,
            patches,
            edges,
            arch,
            cubic_cell,
            cubic_node,
            first,
            flipped,
            mirrored,
            stations,
            joint_first,
            rich_first,
            patch_first,
            joint_of,
            unknowns,
            starts,
            law,
            thickness,
        }
    }

    /// How many unknowns there are.
    pub fn unknowns(&self) -> usize {
        self.unknowns
    }

    /// The cells and nodes.
    pub fn cells(&self) -> &Cells {
        &self.cells
    }

    /// Its ribs.
    pub fn ribs(&self) -> &[Rib] {
        &self.ribs
    }

    /// The unknown that is the deflection of a node.
    pub fn deflection_of(&self, node: usize) -> usize {
        self.first[node] + W
    }

    /// The unknowns of a node's displacement along x and y on the face the ribs are glued to.
    pub fn sliding_of(&self, node: usize) -> [usize; 2] {
        [self.first[node], self.first[node] + 1]
    }

    /// All unknowns of a node of the plate.
    pub fn all_of(&self, node: usize) -> std::ops::Range<usize> {
        let fields = if self.cubic_node[node] { CUBIC } else { PLAIN };
        self.first[node]..self.first[node] + fields
    }

    /// What a rib is over its k-th cell.
    fn piece_of_rib(&self, rib: usize, k: usize) -> Piece {
        match self.joint_of.get(&(rib, k)) {
            Some(j) => Piece::Joint(*j),
            None if beside_joint(&self.joint_of, rib, k) => Piece::Rich { rib, k },
            None => Piece::Stretch { rib, k },
        }
    }

    /// The pieces the plate is put together from: its cells, then the stretches of each rib, crossings, patches and springs. Of a
    /// mirrored plate the cells of one side, which count twice, and those across the line.
    fn pieces(&self) -> Vec<Piece> {
        let side = |c: usize| self.cells.corners_of(c).map(|p| p[1]).sum::<f64>();
        let cells = (0..self.cells.cells.len())
            .filter(|c| !self.mirrored || side(*c) > -1e-9)
            .map(|cell| Piece::Cell { cell, times: if self.mirrored && side(cell) > 1e-9 { 2.0 } else { 1.0 } });
        let mut out: Vec<Piece> = cells.collect();
        for (rib, r) in self.ribs.iter().enumerate() {
            let all = (0..r.cells.len()).map(|k| self.piece_of_rib(rib, k));
            out.extend(all.filter(|p| !matches!(p, Piece::Joint(_))));
        }
        out.extend((0..self.joints.len()).map(Piece::Joint));
        let patches = self.patches.iter().enumerate();
        out.extend(patches.flat_map(|(patch, p)| (0..p.cells.len()).map(move |k| Piece::Patch { patch, k })));
        out.extend((0..self.edges.len()).map(Piece::Edge));
        out
    }
}

/// True where a rib's cell lies beside a crossing and is none itself.
fn beside_joint(joint_of: &HashMap<(usize, usize), usize>, rib: usize, k: usize) -> bool {
    let is = |k: Option<usize>| k.is_some_and(|k| joint_of.contains_key(&(rib, k)));
    !is(Some(k)) && (is(k.checked_sub(1)) || is(Some(k + 1)))
}

#[cfg(test)]
mod tests;
