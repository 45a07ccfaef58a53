//! Matrices of the pieces.

use super::blocks::Blocks;
use super::joint::{Block, Level};
use super::rib::Stretch;
use super::{Piece, Ribbed, SolidLaw, THINNEST, plate};
use crate::mechanics::quadrature::gauss;

/// What is done with a piece that is a block: its laws, heights and levels come with it.
pub(super) type OnBlock<'a, T> = &'a (dyn Fn(&Block) -> T + Sync);

/// A rib whose crest is raised, by how much, and over which places.
pub(super) type Raised = (usize, (f64, [f64; 3]));

impl Ribbed {
    /// Thickness at the nodes of a cell.
    pub(super) fn thickness_of(&self, cell: usize) -> Vec<f64> {
        self.cells.of_cell[cell].iter().map(|n| self.thickness[*n]).collect()
    }

    pub(super) fn stretch(&self, rib: usize, k: usize) -> Stretch<'_> {
        let r = &self.ribs[rib];
        Stretch::new(&self.cells, r, r.cells[k], &self.degrees, THINNEST * r.solid.tallest())
    }

    pub(super) fn cell_of(&self, piece: Piece) -> Option<usize> {
        match piece {
            Piece::Cell { cell, .. } => Some(cell),
            Piece::Stretch { rib, k } | Piece::Rich { rib, k } => Some(self.ribs[rib].cells[k]),
            Piece::Joint(j) => Some(self.joints[j].cell),
            Piece::Patch { patch, k } => Some(self.patches[patch].cells[k]),
            Piece::Edge(_) => None,
        }
    }

    /// Where a piece lies.
    pub(super) fn middle_of(&self, piece: Piece) -> [f64; 2] {
        match (self.cell_of(piece), piece) {
            (Some(cell), _) => self.cells.middle(cell),
            (None, Piece::Edge(e)) => {
                let [a, b] = self.edges[e].ends;
                [0.5 * (a[0] + b[0]), 0.5 * (a[1] + b[1])]
            }
            _ => [0.0; 2],
        }
    }

    /// Height of a crossing and its slopes in its axes: the mean of its two ribs', one of them perhaps raised.
    fn joint_height(&self, joint: usize, at: [f64; 2], raised: Option<Raised>) -> [f64; 3] {
        let j = &self.joints[joint];
        let first = self.ribs[j.ribs[0]].direction;
        let mut out = [0.0; 3];
        for rib in j.ribs {
            let r = &self.ribs[rib];
            let x = r.local(at)[0];
            let (mut h, mut slope) = r.solid.crest.at_from(x, x);
            if let Some((_, (by, places))) = raised.filter(|raised| raised.0 == rib) {
                let (value, change) = super::rib::hat(places, x, x);
                (h, slope) = (h + by * value, slope + by * change);
            }
            let thinnest = THINNEST * r.solid.tallest();
            let (h, slope) = if h > thinnest { (h, slope) } else { (thinnest, 0.0) };
            let [c, s] = r.direction;
            out[0] += 0.5 * h;
            out[1] += 0.5 * slope * (c * first[0] + s * first[1]);
            out[2] += 0.5 * slope * (s * first[0] - c * first[1]);
        }
        out
    }

    /// Hands over the block that a crossing, or a cell beside one, is.
    pub(super) fn on_block<T>(&self, piece: Piece, then: OnBlock<T>) -> Option<T> {
        self.on_raised_block(piece, None, then)
    }

    /// The same with the crest of a rib raised.
    pub(super) fn on_raised_block<T>(&self, piece: Piece, raised: Option<Raised>, then: OnBlock<T>) -> Option<T> {
        match piece {
            Piece::Joint(joint) => {
                let j = &self.joints[joint];
                let height = |at: [f64; 2]| self.joint_height(joint, at, raised);
                let levels = |_: f64| {
                    let (t, w) = gauss(super::joint::HALF_POINTS);
                    let half = |law: usize| {
                        t.iter().zip(w).map(move |(t, w)| Level {
                            part: 0.5 * (t + law as f64),
                            weight: 0.5 * w,
                            width: 1.0,
                            law,
                        })
                    };
                    half(0).chain(half(1)).collect()
                };
                let direction = self.ribs[j.ribs[0]].direction;
                let (laws, densities) = (&j.laws, &j.densities);
                let block =
                    Block { cells: &self.cells, cell: j.cell, direction, height: &height, levels: &levels, laws, densities };
                Some(then(&block))
            }
            Piece::Rich { rib, k } => {
                let r = &self.ribs[rib];
                let mut stretch = self.stretch(rib, k);
                stretch.raised = raised.map(|r| r.1);
                let height = |at: [f64; 2]| {
                    let x = r.local(at)[0];
                    let (h, slope) = stretch.height(x, stretch.inward(x));
                    [h, slope, 0.0]
                };
                let levels = |s: f64| {
                    let middle = stretch.middle(s);
                    let h = stretch.height(middle, middle).0;
                    let mut out = Vec::new();
                    stretch.heights(middle, super::joint::POINTS, &mut out);
                    out.into_iter()
                        .map(|(z, weight, width, filler)| Level {
                            part: z / h,
                            weight: weight / h,
                            width,
                            law: usize::from(filler),
                        })
                        .collect()
                };
                let laws = r.laws.map(|l| without_stress_across(&l.c));
                let densities = [r.density; 2];
                let cell = r.cells[k];
                let block = Block {
                    cells: &self.cells,
                    cell,
                    direction: r.direction,
                    height: &height,
                    levels: &levels,
                    laws: &laws,
                    densities: &densities,
                };
                Some(then(&block))
            }
            _ => None,
        }
    }

    /// Stiffness of a piece.
    pub(super) fn stiffness(&self, piece: Piece) -> Blocks {
        match piece {
            Piece::Cell { cell, .. } => {
                plate::stiffness(&self.cells, cell, &self.law, &self.thickness_of(cell), self.cubic_cell[cell], &self.arch)
            }
            Piece::Stretch { rib, k } => self.stretch(rib, k).stiffness(),
            Piece::Patch { patch, k } => {
                let p = &self.patches[patch];
                p.stiffness(&self.cells, k)
            }
            Piece::Edge(e) => self.edges[e].stiffness(),
            Piece::Rich { .. } | Piece::Joint(_) => {
                self.on_block(piece, &|b: &Block| b.stiffness()).unwrap_or_else(|| Blocks::new(0))
            }
        }
    }

    /// Mass of a piece; none of a spring.
    pub(super) fn mass(&self, piece: Piece) -> Option<Blocks> {
        Some(match piece {
            Piece::Cell { cell, .. } => {
                plate::mass(&self.cells, cell, self.law.density, &self.thickness_of(cell), self.cubic_cell[cell])
            }
            Piece::Stretch { rib, k } => self.stretch(rib, k).mass(),
            Piece::Patch { patch, k } => {
                let p = &self.patches[patch];
                p.mass(&self.cells, k)
            }
            Piece::Edge(_) => return None,
            Piece::Rich { .. } | Piece::Joint(_) => self.on_block(piece, &|b: &Block| b.mass())?,
        })
    }
}

/// The law of a rib (xx, zz, xz, xy, yz) as one of a solid (xx, yy, zz, yz, xz, xy) that gives nothing across.
fn without_stress_across(c: &[[f64; 5]; 5]) -> SolidLaw {
    let to = [0, 2, 4, 5, 3];
    let mut out = [[0.0; 6]; 6];
    for i in 0..5 {
        for j in 0..5 {
            out[to[i]][to[j]] = c[i][j];
        }
    }
    out
}
