//! The depth-resolved beam: plane stress in the (x, height) plane.
//!
//! Both displacements are Legendre series through the height, mapped from the glue face to the crest, and
//! spectral finite elements along x; the width enters as a weight:
//!
//! u(x, z) = sum_i u_i(x) P_i(zeta),  w(x, z) = sum_j w_j(x) P_j(zeta),  zeta = 2 (z - bottom(x)) / h(x) - 1
//!
//! so that stress need not fill a peak it cannot reach, which the section beam takes for granted. Around the walls of a
//! notch the series gives way to layers (see `corners`), and where the height jumps the lower side's functions are the
//! taller side's, restricted: exactly continuous. Deflections are positive downward.

mod corners;
mod element;
mod front;
mod readings;
mod through;

pub use front::Factor;

use crate::mechanics::lagrange::lobatto;
use crate::mechanics::quadrature::merge_breaks;
use crate::mechanics::solid::Solid;
use corners::Corners;
use element::{Place, Workshop, with_ends};
use through::{Basis, Through};

/// Plane-stress law: stress (xx, zz, xz) from strain (xx, zz, 2 xz).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Law {
    /// Symmetric stiffness matrix.
    pub c: [[f64; 3]; 3],
}

/// How finely the beam is resolved.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Degrees {
    /// Degree of the displacement along the brace, through the height.
    pub along: usize,
    /// Degree of the displacement across the height, through the height.
    pub across: usize,
    /// Order of the elements along x.
    pub order: usize,
}

impl Degrees {
    /// Enough for a tenth of a percent on ordinary scallops.
    pub const ORDINARY: Self = Self { along: 5, across: 4, order: 4 };
    /// One step coarser in the height: the difference is the stated discretisation error.
    pub const COARSER: Self = Self { along: 3, across: 2, order: 4 };
    /// One step finer.
    pub const FINER: Self = Self { along: 7, across: 6, order: 4 };
}

/// Where a force or a dial touches.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, serde::Serialize, serde::Deserialize)]
pub enum Face {
    /// On the crest.
    Crest,
    /// On the glue face, the underside as it will sit on the top.
    Glue,
    /// Through the whole height: a force per volume; for a reading, the mean over the height.
    Body,
}

/// A force spread evenly over [start, end] of a face, positive downward.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Patch {
    /// Left edge.
    pub start: f64,
    /// Right edge, above `start`.
    pub end: f64,
    /// Face.
    pub face: Face,
    /// Total force.
    pub force: f64,
}

/// What holds the beam.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Hold {
    /// Even pressure on the glue face over `width`; its mean sinks by `compliance` times the force.
    Pad {
        /// Middle of the pad.
        x: f64,
        /// Its length along x.
        width: f64,
        /// Deflection per force.
        compliance: f64,
    },
    /// The whole section at the mesh line `x` is kept from moving vertically.
    Section {
        /// Where.
        x: f64,
    },
    /// The whole section at `x` is kept from moving at all.
    Clamp {
        /// Where.
        x: f64,
    },
}

/// Greatest over least height within a stretched element.
const CALM_RISE: f64 = 1.55;
/// And the most its crest's slope may turn.
const CALM_TURN: f64 = 0.25;

/// Most joints of a smooth crest between two lines over which elements are stretched.
const SMOOTH_PIECES: usize = 3;

/// Smallest height kept in the mesh, as a part of the greatest: wood thinner than that carries nothing.
const THINNEST: f64 = 0.01;

/// The unknowns of one mesh line.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Line {
    start: usize,
    /// Those of the displacement along the brace, which come first.
    along: usize,
    count: usize,
}

/// The assembled beam.
#[derive(Debug, Clone)]
pub struct Resolved {
    degrees: Degrees,
    mesh: Vec<f64>,
    nodes: Vec<f64>,
    corners: Corners,
    through: Vec<Through>,
    lines: Vec<Line>,
    stiffness: Vec<Vec<f64>>,
    mass: Vec<Vec<f64>>,
    ends: Vec<[Option<Vec<f64>>; 2]>,
    solid: Solid,
    thinnest: f64,
}

/// A solved state: displacements of every unknown and the rigid motion a + b x of the deflection.
#[derive(Debug, Clone, PartialEq)]
pub struct Solution {
    /// Unknowns, node after node.
    pub values: Vec<f64>,
    /// Added to the downward deflection: constant and slope in x.
    pub rigid: (f64, f64),
    /// Upward force of each pad, in the order given.
    pub pads: Vec<f64>,
}

/// True where the crest over each of `parts` elements from `a` to `b` neither rises nor turns more than one can follow.
fn calm(solid: &Solid, thinnest: f64, a: f64, b: f64, parts: usize) -> bool {
    let size = (b - a) / parts as f64;
    (0..parts).all(|k| {
        let start = a + size * k as f64;
        let h = [0.0, 0.25, 0.5, 0.75, 1.0].map(|t| solid.crest.at(start + t * size).max(thinnest));
        let (low, high) = h.iter().fold((f64::INFINITY, 0.0_f64), |m, v| (m.0.min(*v), m.1.max(*v)));
        let slope = |i: usize| (h[i + 1] - h[i]) / (0.25 * size);
        let turn = (0..3).map(|i| (slope(i + 1) - slope(i)).abs()).sum::<f64>();
        high <= CALM_RISE * low && turn <= CALM_TURN
    })
}

impl Resolved {
    /// Assembles the beam on `lines` (kinks, loads, supports; the ends are added), elements no longer than `longest`.
    /// `laws` are the brace's own wood and that of a filler; `density` as mass per volume, 0 where no mass is needed.
    pub fn new(solid: &Solid, laws: [&Law; 2], density: f64, lines: &[f64], longest: f64, degrees: Degrees) -> Self {
        Self::stretched(solid, laws, density, lines, (longest, longest), degrees)
    }

    /// The same with elements up to `longest.1` where the crest is calm enough for it, `longest.0` elsewhere.
    pub fn stretched(solid: &Solid, laws: [&Law; 2], density: f64, lines: &[f64], longest: (f64, f64), degrees: Degrees) -> Self {
        let laws = laws.map(|l| *l);
        Self::varied(solid, &|_| laws, density, lines, longest, degrees)
    }

    /// The same of wood that differs from place to place: `laws` are those of the element whose middle is given.
    pub fn varied(
        solid: &Solid,
        laws: &dyn Fn(f64) -> [Law; 2],
        density: f64,
        lines: &[f64],
        longest: (f64, f64),
        degrees: Degrees,
    ) -> Self {
        let (longest, stretched) = longest;
        let (a, b) = solid.ends();
        let gap = 1e-5 * (b - a);
        let tallest = solid.tallest();
        let thinnest = THINNEST * tallest;
        let corners = Corners::new(solid, thinnest, longest, degrees);
        let given = [solid.sharp_kinks(), lines.to_vec(), corners.lines.clone()].map(|l| corners.snapped(&l, gap));
        let coarse = merge_breaks(a, b, &[&given[0], &given[1], &given[2]], gap);
        let mut mesh = vec![a];
        for w in coarse.windows(2) {
            let near = corners.longest(0.5 * (w[0] + w[1]), longest);
            let parts_of = |longest: f64| ((w[1] - w[0]) / longest - 1e-9).ceil().max(1.0) as usize;
            let most = parts_of(near);
            // a crest of many small pieces has its curvature where no line stands
            let pieces = solid.crest.breaks().iter().filter(|b| **b > w[0] + gap && **b < w[1] - gap).count();
            let fewest = if near < longest || pieces > SMOOTH_PIECES { most } else { parts_of(stretched) };
            let parts = (fewest..most).find(|&n| calm(solid, thinnest, w[0], w[1], n)).unwrap_or(most);
            for k in 1..=parts {
                mesh.push(w[0] + (w[1] - w[0]) * k as f64 / parts as f64);
            }
        }
        let mut out = Self {
            degrees,
            mesh,
            nodes: lobatto(degrees.order),
            corners,
            through: Vec::new(),
            lines: Vec::new(),
            stiffness: Vec::new(),
            mass: Vec::new(),
            ends: Vec::new(),
            solid: solid.clone(),
            thinnest,
        };
        out.assemble(laws, density);
        out
    }

    /// Element ends along x.
    pub fn mesh(&self) -> &[f64] {
        &self.mesh
    }

    /// Number of unknowns.
    pub fn unknowns(&self) -> usize {
        self.lines.last().map_or(0, |l| l.start + l.count)
    }

    /// Unknowns an element takes part in.
    fn block(&self, e: usize) -> usize {
        self.lines[e + 1].start + self.lines[e + 1].count - self.lines[e].start
    }

    /// Unknowns of an element on its own, before its ends are tied to the lines.
    fn own_block(&self, e: usize) -> usize {
        (self.degrees.order + 1) * self.through[e].count()
    }

    /// Unknowns between the end lines of an element.
    fn inner(&self, e: usize) -> usize {
        (self.degrees.order - 1) * self.through[e].count()
    }

    fn place<'a>(&'a self, e: usize, solid: &'a Solid) -> Place<'a> {
        Place { solid, thinnest: self.thinnest, from: self.mesh[e], to: self.mesh[e + 1], nodes: &self.nodes }
    }

    fn assemble(&mut self, laws: &dyn Fn(f64) -> [Law; 2], density: f64) {
        let elements = self.mesh.len() - 1;
        self.through = (0..elements).map(|e| self.through_of(e, &self.solid)).collect();
        self.ends = vec![[None, None]; elements];
        let mut start = 0;
        for k in 0..=elements {
            let left = k.checked_sub(1).map(|e| self.end_basis(e, 1, &self.solid));
            let right = (k < elements).then(|| self.end_basis(k, 0, &self.solid));
            let line = match (&left, &right) {
                (Some(l), Some(r)) => Basis::shared(l, r),
                (Some(own), None) | (None, Some(own)) => own.clone(),
                (None, None) => continue,
            };
            if let Some(l) = left {
                self.ends[k - 1][1] = l.restriction(&line);
            }
            if let Some(r) = right {
                self.ends[k][0] = r.restriction(&line);
            }
            self.lines.push(Line { start, along: line.count_along(), count: line.count() });
            start += line.count() + if k < elements { self.inner(k) } else { 0 };
        }
        let mut workshop = Workshop::default();
        for e in 0..elements {
            let [own, filler] = laws(0.5 * (self.mesh[e] + self.mesh[e + 1]));
            let (stiffness, mass) = workshop.element(&self.place(e, &self.solid), &self.through[e], [&own, &filler], density);
            let counts = [self.lines[e].count, self.lines[e + 1].count];
            let tied = |k: Vec<f64>| {
                if k.is_empty() { k } else { with_ends(k, &self.ends[e], self.through[e].count(), self.inner(e), counts) }
            };
            let (stiffness, mass) = (tied(stiffness), tied(mass));
            self.stiffness.push(stiffness);
            self.mass.push(mass);
        }
    }

    fn through_of(&self, e: usize, solid: &Solid) -> Through {
        self.corners.through(solid, self.thinnest, 0.5 * (self.mesh[e] + self.mesh[e + 1]))
    }

    /// Height basis of an element at its left (0) or right (1) end.
    fn end_basis(&self, e: usize, side: usize, solid: &Solid) -> Basis {
        let x = self.mesh[e + side];
        let far = 0.5 * (self.mesh[e] + self.mesh[e + 1]);
        self.through_of(e, solid).at(solid, self.thinnest, x, x + (far - x) * 1e-6)
    }

    /// The mesh line nearest `x`.
    fn line_at(&self, x: f64) -> usize {
        let mut best = 0;
        for (k, v) in self.mesh.iter().enumerate() {
            if (v - x).abs() < (self.mesh[best] - x).abs() {
                best = k;
            }
        }
        best
    }

    /// First unknown of a node (mesh lines and the nodes between them, counted on) and how many of its unknowns go along.
    fn node(&self, n: usize) -> (usize, usize) {
        let (e, i) = (n / self.degrees.order, n % self.degrees.order);
        let line = &self.lines[e];
        if i == 0 {
            return (line.start, line.along);
        }
        (line.start + line.count + (i - 1) * self.through[e].count(), self.through[e].count_along())
    }

    fn element_at(&self, x: f64) -> usize {
        self.mesh.partition_point(|&v| v <= x).clamp(1, self.mesh.len() - 1) - 1
    }

    /// Adds an element's own vector (values by node and unknown) to the global one.
    fn scatter(&self, e: usize, local: &mut [f64], out: &mut [f64]) {
        let own = self.through[e].count();
        let inner = self.inner(e);
        for (side, at) in [(0, 0), (1, own + inner)] {
            let line = &self.lines[e + side];
            let out = &mut out[line.start..line.start + line.count];
            let local = &local[at..at + own];
            match &self.ends[e][side] {
                None => out.iter_mut().zip(local).for_each(|(o, v)| *o += v),
                Some(t) => {
                    for (c, o) in out.iter_mut().enumerate() {
                        *o += (0..own).map(|r| t[r * line.count + c] * local[r]).sum::<f64>();
                    }
                }
            }
        }
        let start = self.lines[e].start + self.lines[e].count;
        out[start..start + inner].iter_mut().zip(&local[own..]).for_each(|(o, v)| *o += v);
    }

    /// Values of one element's own unknowns.
    fn local(&self, e: usize, values: &[f64]) -> Vec<f64> {
        let own = self.through[e].count();
        let (l, r) = (&self.lines[e], &self.lines[e + 1]);
        let mut out = Vec::with_capacity(self.own_block(e));
        for (side, line) in [(0, l), (1, r)] {
            let given = &values[line.start..line.start + line.count];
            match &self.ends[e][side] {
                None => out.extend_from_slice(given),
                Some(t) => out.extend((0..own).map(|r| (0..line.count).map(|c| t[r * line.count + c] * given[c]).sum::<f64>())),
            }
            if side == 0 {
                out.extend_from_slice(&values[l.start + l.count..r.start]);
            }
        }
        out
    }

    /// Elastic energy of element `e` under two states, for another stiffness of that element.
    pub fn mutual_energy(&self, e: usize, stiffness: &[f64], u: &[f64], v: &[f64]) -> f64 {
        let (m, start) = (self.block(e), self.lines[e].start);
        let (u, v) = (&u[start..start + m], &v[start..start + m]);
        let mut sum = 0.0;
        for i in 0..m {
            let row = &stiffness[i * m..(i + 1) * m];
            sum += u[i] * row.iter().zip(v).map(|(k, v)| k * v).sum::<f64>();
        }
        sum
    }

    /// Stiffness of element `e` for another solid with the same notches on the same mesh, for derivatives.
    pub fn element_stiffness(&self, e: usize, solid: &Solid, laws: [&Law; 2]) -> Vec<f64> {
        let through = self.through_of(e, solid);
        let stiffness = Workshop::default().element(&self.place(e, solid), &through, laws, 0.0).0;
        let counts = [self.lines[e].count, self.lines[e + 1].count];
        let last = self.mesh.len() - 2;
        let ends = [0, 1].map(|side| {
            self.ends[e][side].as_ref()?;
            let own = self.end_basis(e, side, solid);
            let line = match side {
                0 if e > 0 => Basis::shared(&self.end_basis(e - 1, 1, solid), &own),
                1 if e < last => Basis::shared(&own, &self.end_basis(e + 1, 0, solid)),
                _ => return None,
            };
            own.restriction(&line)
        });
        with_ends(stiffness, &ends, through.count(), self.inner(e), counts)
    }

    /// The mass matrix times a vector.
    pub(crate) fn apply_mass(&self, x: &[f64], out: &mut [f64]) {
        out.fill(0.0);
        for e in 0..self.mesh.len() - 1 {
            let (m, start) = (self.block(e), self.lines[e].start);
            let (xs, me) = (&x[start..start + m], &self.mass[e]);
            for i in 0..m {
                out[start + i] += me[i * m..(i + 1) * m].iter().zip(xs).map(|(a, b)| a * b).sum::<f64>();
            }
        }
    }
}
