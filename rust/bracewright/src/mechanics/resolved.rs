//! The depth-resolved beam: plane stress in the (x, height) plane.
//!
//! Both displacements are Legendre series through the height, mapped from the glue face to the crest, and
//! spectral finite elements along x; the width enters as a weight:
//!
//! u(x, z) = sum_i u_i(x) P_i(zeta),  w(x, z) = sum_j w_j(x) P_j(zeta),  zeta = 2 (z - bottom(x)) / h(x) - 1
//!
//! so that stress need not fill a peak it cannot reach, which the section beam takes for granted. Where the height
//! jumps (a notch), the lower side's series is the taller side's, restricted: exactly continuous. Deflections are
//! positive downward.

use crate::mechanics::quadrature::{gauss, legendre, merge_breaks};
use crate::mechanics::simd::{axpy_minus, dispatch, madd};
use crate::mechanics::solid::Solid;

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

    fn per_node(&self) -> usize {
        self.along + self.across + 2
    }
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

/// Smallest height kept in the mesh, as a part of the greatest: wood thinner than that carries nothing.
const THINNEST: f64 = 0.01;

/// The assembled beam.
#[derive(Debug, Clone)]
pub struct Resolved {
    degrees: Degrees,
    mesh: Vec<f64>,
    nodes: Vec<f64>,
    stiffness: Vec<f64>,
    mass: Vec<f64>,
    ends: Vec<[Option<Vec<f64>>; 2]>,
    solid: Solid,
    thinnest: f64,
}

/// A factor of the stiffness (plus a shift of the mass), some unknowns held at zero.
#[derive(Debug, Clone)]
pub struct Factor {
    rows: Vec<f64>,
    held: Vec<bool>,
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

impl Resolved {
    /// Assembles the beam on `lines` (kinks, loads, supports; the ends are added), elements no longer than `longest`.
    /// `laws` are the brace's own wood and that of a filler; `density` as mass per volume.
    pub fn new(solid: &Solid, laws: [&Law; 2], density: f64, lines: &[f64], longest: f64, degrees: Degrees) -> Self {
        let (a, b) = solid.ends();
        let gap = 1e-5 * (b - a);
        let coarse = merge_breaks(a, b, &[&solid.sharp_kinks(), lines], gap);
        let mut mesh = vec![a];
        for w in coarse.windows(2) {
            let parts = ((w[1] - w[0]) / longest - 1e-9).ceil().max(1.0) as usize;
            for k in 1..=parts {
                mesh.push(w[0] + (w[1] - w[0]) * k as f64 / parts as f64);
            }
        }
        let tallest = solid.crest.extremes(a, b).1.1;
        let mut out = Self {
            degrees,
            mesh,
            nodes: lobatto(degrees.order),
            stiffness: Vec::new(),
            mass: Vec::new(),
            ends: Vec::new(),
            solid: solid.clone(),
            thinnest: THINNEST * tallest,
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
        ((self.mesh.len() - 1) * self.degrees.order + 1) * self.degrees.per_node()
    }

    fn block(&self) -> usize {
        (self.degrees.order + 1) * self.degrees.per_node()
    }

    /// Bottom and top of the wood at x with their slopes; `inside` names the side of a jump.
    fn range(&self, x: f64, inside: f64) -> [f64; 4] {
        range(&self.solid, self.thinnest, x, inside)
    }

    fn assemble(&mut self, laws: [&Law; 2], density: f64) {
        let nd = self.degrees.per_node();
        let m = self.block();
        let elements = self.mesh.len() - 1;
        self.stiffness = vec![0.0; elements * m * m];
        self.mass = vec![0.0; elements * m * m];
        self.ends = vec![[None, None]; elements];
        for e in 0..elements {
            let (a, b) = (self.mesh[e], self.mesh[e + 1]);
            let element = element(&self.solid, self.thinnest, laws, density, a, b, self.degrees, &self.nodes);
            self.stiffness[e * m * m..(e + 1) * m * m].copy_from_slice(&element.0);
            self.mass[e * m * m..(e + 1) * m * m].copy_from_slice(&element.1);
        }
        // at a jump of height the lower side follows the taller one
        for k in 0..=elements {
            let x = self.mesh[k];
            let nudge = |e: usize| 0.5 * (self.mesh[e] + self.mesh[e + 1]);
            let near = |e: usize| {
                let far = nudge(e);
                x + (far - x) * 1e-6
            };
            let left = (k > 0).then(|| self.range(x, near(k - 1)));
            let right = (k < elements).then(|| self.range(x, near(k)));
            let (Some(l), Some(r)) = (left, right) else { continue };
            let (low, high) = (l[0].min(r[0]), l[2].max(r[2]));
            let tol = 1e-9 * (high - low);
            for (e, side, own) in [(k - 1, 1, l), (k, 0, r)] {
                if (own[0] - low).abs() > tol || (own[2] - high).abs() > tol {
                    let t = restriction(self.degrees, own[0], own[2], low, high);
                    let at = if side == 0 { 0 } else { self.degrees.order * nd };
                    congruence(&mut self.stiffness[e * m * m..(e + 1) * m * m], m, at, nd, &t);
                    congruence(&mut self.mass[e * m * m..(e + 1) * m * m], m, at, nd, &t);
                    self.ends[e][side] = Some(t);
                }
            }
        }
    }

    /// Node index of the mesh line nearest `x`.
    fn node_at(&self, x: f64) -> usize {
        let mut best = 0;
        for (k, v) in self.mesh.iter().enumerate() {
            if (v - x).abs() < (self.mesh[best] - x).abs() {
                best = k;
            }
        }
        best * self.degrees.order
    }

    fn element_at(&self, x: f64) -> usize {
        self.mesh.partition_point(|&v| v <= x).clamp(1, self.mesh.len() - 1) - 1
    }

    /// Adds `scale` times the local vector (values by node and unknown) of element `e` to the global one.
    fn scatter(&self, e: usize, local: &mut [f64], out: &mut [f64]) {
        let nd = self.degrees.per_node();
        for (side, at) in [(0, 0), (1, self.degrees.order * nd)] {
            if let Some(t) = &self.ends[e][side] {
                let v: Vec<f64> = (0..nd).map(|c| (0..nd).map(|r| t[r * nd + c] * local[at + r]).sum()).collect();
                local[at..at + nd].copy_from_slice(&v);
            }
        }
        let start = e * self.degrees.order * nd;
        for (o, v) in out[start..].iter_mut().zip(local.iter()) {
            *o += v;
        }
    }

    /// The functional "downward deflection of `face`, averaged over [start, end]" (`start == end`: at the point).
    /// As a load it is a unit force spread evenly.
    pub fn mean_deflection(&self, start: f64, end: f64, face: Face) -> Vec<f64> {
        let mut out = vec![0.0; self.unknowns()];
        let nd = self.degrees.per_node();
        let (t, w) = gauss(self.degrees.order + 2);
        let point = end <= start;
        let mut total = 0.0;
        for e in 0..self.mesh.len() - 1 {
            let (a, b) = (self.mesh[e], self.mesh[e + 1]);
            let stations: Vec<(f64, f64)> = if point {
                if e == self.element_at(start) { vec![(start, 1.0)] } else { continue }
            } else {
                let (l, r) = (a.max(start), b.min(end));
                if r <= l {
                    continue;
                }
                t.iter().zip(w).map(|(t, w)| (l + (r - l) * t, w * (r - l))).collect()
            };
            let mut local = vec![0.0; self.block()];
            for (x, weight) in stations {
                let shape = lagrange(&self.nodes, 2.0 * (x - a) / (b - a) - 1.0).0;
                let (through, amount) = self.through(x, 0.5 * (a + b), face);
                total += weight * amount;
                for (n, s) in shape.iter().enumerate() {
                    for (j, p) in through.iter().enumerate() {
                        local[n * nd + self.degrees.along + 1 + j] -= weight * s * p;
                    }
                }
            }
            self.scatter(e, &mut local, &mut out);
        }
        out.iter_mut().for_each(|v| *v /= total);
        out
    }

    /// Values of the height polynomials seen by a face at x, and the weight of the place (1, or the area for the body).
    fn through(&self, x: f64, inside: f64, face: Face) -> (Vec<f64>, f64) {
        let n = self.degrees.across + 1;
        let (mut p, mut dp) = (vec![0.0; n], vec![0.0; n]);
        match face {
            Face::Crest => (vec![1.0; n], 1.0),
            Face::Glue => ((0..n).map(|j| if j % 2 == 0 { 1.0 } else { -1.0 }).collect(), 1.0),
            Face::Body => {
                let r = self.range(x, inside);
                let mut sum = vec![0.0; n];
                let mut area = 0.0;
                for (z, w, _) in height_rule(&self.solid, self.thinnest, x, inside, n + 1) {
                    legendre(2.0 * (z - r[0]) / (r[2] - r[0]) - 1.0, &mut p, &mut dp);
                    sum.iter_mut().zip(&p).for_each(|(s, p)| *s += w * p);
                    area += w;
                }
                (sum, area)
            }
        }
    }

    /// Loads as a right-hand side.
    pub fn load(&self, patches: &[Patch]) -> Vec<f64> {
        let mut out = vec![0.0; self.unknowns()];
        for p in patches {
            let f = self.mean_deflection(p.start, p.end, p.face);
            out.iter_mut().zip(&f).for_each(|(o, f)| *o += p.force * f);
        }
        out
    }

    /// Right-hand side of the weight of the beam itself, `weight` as force per volume.
    pub fn self_weight(&self, weight: f64) -> (Vec<f64>, f64) {
        let volume = self.solid.volume(self.mesh[0], self.mesh[self.mesh.len() - 1]);
        let (a, b) = (self.mesh[0], self.mesh[self.mesh.len() - 1]);
        let mut f = self.mean_deflection(a, b, Face::Body);
        f.iter_mut().for_each(|v| *v *= weight * volume);
        (f, weight * volume)
    }

    /// Right-hand side of two opposite couples on the end sections at mesh lines `start` and `end`, sagging positive,
    /// applied as the linear stress of plane bending.
    pub fn end_couples(&self, start: f64, end: f64, couple: f64) -> Vec<f64> {
        let mut out = vec![0.0; self.unknowns()];
        let nd = self.degrees.per_node();
        let n = self.degrees.along + 1;
        let (mut p, mut dp) = (vec![0.0; n], vec![0.0; n]);
        for (x, sign) in [(start, -1.0), (end, 1.0)] {
            let node = self.node_at(x);
            let inside = if x == start { x + 1e-6 * (end - start) } else { x - 1e-6 * (end - start) };
            let r = self.range(x, inside);
            let rule = height_rule(&self.solid, self.thinnest, x, inside, n + 1);
            let (area, centre, inertia) = plane(&rule);
            debug_assert!(area > 0.0);
            for &(z, w, _) in &rule {
                legendre(2.0 * (z - r[0]) / (r[2] - r[0]) - 1.0, &mut p, &mut dp);
                // sagging pulls the underside: sigma = -M (z - centre) / I
                let sigma = -couple * (z - centre) / inertia;
                for i in 0..n {
                    out[node * nd + i] += sign * w * sigma * p[i];
                }
            }
        }
        out
    }

    /// Turn of the section's best-fit plane at x (clockwise falling positive: the slope of the downward deflection).
    pub fn plane_turn(&self, values: &[f64], x: f64) -> f64 {
        let e = self.element_at(x);
        let inside = x.clamp(
            self.mesh[e] + 1e-6 * (self.mesh[e + 1] - self.mesh[e]),
            self.mesh[e + 1] - 1e-6 * (self.mesh[e + 1] - self.mesh[e]),
        );
        let local = self.local(e, values);
        let shape = lagrange(&self.nodes, 2.0 * (x - self.mesh[e]) / (self.mesh[e + 1] - self.mesh[e]) - 1.0).0;
        let nd = self.degrees.per_node();
        let n = self.degrees.along + 1;
        let coefficients: Vec<f64> = (0..n).map(|i| shape.iter().enumerate().map(|(k, s)| s * local[k * nd + i]).sum()).collect();
        let r = self.range(x, inside);
        let rule = height_rule(&self.solid, self.thinnest, x, inside, n + 1);
        let (_, centre, inertia) = plane(&rule);
        let (mut p, mut dp) = (vec![0.0; n], vec![0.0; n]);
        let mut sum = 0.0;
        for (z, w, _) in rule {
            legendre(2.0 * (z - r[0]) / (r[2] - r[0]) - 1.0, &mut p, &mut dp);
            let u: f64 = p.iter().zip(&coefficients).map(|(p, c)| p * c).sum();
            sum += w * u * (z - centre);
        }
        // a plane section square to a line that falls to the right moves its crest to the right
        sum / inertia
    }

    /// Values of one element with its end restrictions applied.
    fn local(&self, e: usize, values: &[f64]) -> Vec<f64> {
        let nd = self.degrees.per_node();
        let start = e * self.degrees.order * nd;
        let mut local = values[start..start + self.block()].to_vec();
        for (side, at) in [(0, 0), (1, self.degrees.order * nd)] {
            if let Some(t) = &self.ends[e][side] {
                let v: Vec<f64> = (0..nd).map(|r| (0..nd).map(|c| t[r * nd + c] * local[at + c]).sum()).collect();
                local[at..at + nd].copy_from_slice(&v);
            }
        }
        local
    }

    /// Elastic energy of element `e` under two states, for another stiffness of that element.
    pub fn mutual_energy(&self, e: usize, stiffness: &[f64], u: &[f64], v: &[f64]) -> f64 {
        let m = self.block();
        let (u, v) = (self.local(e, u), self.local(e, v));
        let mut sum = 0.0;
        for i in 0..m {
            let row = &stiffness[i * m..(i + 1) * m];
            sum += u[i] * row.iter().zip(&v).map(|(k, v)| k * v).sum::<f64>();
        }
        sum
    }

    /// Stiffness of element `e` for another solid on the same mesh (before end restrictions), for derivatives.
    pub fn element_stiffness(&self, e: usize, solid: &Solid, laws: [&Law; 2]) -> Vec<f64> {
        element(solid, self.thinnest, laws, 0.0, self.mesh[e], self.mesh[e + 1], self.degrees, &self.nodes).0
    }

    /// Factors stiffness + shift * mass with the sections of `holds` fixed (pads are not part of it) and, for what rigid
    /// motion is left, as many pins. `None` when the matrix is not positive: a part of no stiffness.
    pub fn factor(&self, holds: &[Hold], shift: f64) -> Option<Factor> {
        let nd = self.degrees.per_node();
        let mut held = vec![false; self.unknowns()];
        let (mut sections, mut clamped) = (Vec::new(), false);
        for h in holds {
            match *h {
                Hold::Pad { .. } => {}
                Hold::Section { x } | Hold::Clamp { x } => {
                    let node = self.node_at(x);
                    let clamp = matches!(h, Hold::Clamp { .. });
                    let from = if clamp { 0 } else { self.degrees.along + 1 };
                    held[node * nd + from..(node + 1) * nd].fill(true);
                    clamped |= clamp;
                    sections.push(node);
                }
            }
        }
        if shift == 0.0 && !clamped {
            let last = (self.mesh.len() - 1) * self.degrees.order;
            held[(last / 2) * nd] = true; // sliding along x
            // pins far apart, near the quarter points, where the wood is thick
            let mut pins = [last / 4, last - last / 4].into_iter();
            while sections.len() < 2 {
                let Some(node) = pins.next() else { break };
                held[node * nd + self.degrees.along + 1] = true;
                sections.push(node);
            }
        }
        let m = self.block();
        let elements = self.mesh.len() - 1;
        let step = self.degrees.order * nd;
        let mut rows = Vec::with_capacity(elements * step * m + nd * m);
        let mut front = vec![0.0; m * m];
        let mut carry = vec![0.0; nd * nd];
        for e in 0..elements {
            front.copy_from_slice(&self.stiffness[e * m * m..(e + 1) * m * m]);
            if shift != 0.0 {
                front.iter_mut().zip(&self.mass[e * m * m..]).for_each(|(f, m)| *f += shift * m);
            }
            for i in 0..nd {
                for j in 0..nd {
                    front[i * m + j] += carry[i * nd + j];
                }
            }
            let base = e * step;
            for i in 0..m {
                if held[base + i] {
                    for j in 0..m {
                        front[i * m + j] = 0.0;
                        front[j * m + i] = 0.0;
                    }
                    // the node shared with the next element meets its unit pivot there
                    front[i * m + i] = if i < step || e + 1 == elements { 1.0 } else { 0.0 };
                }
            }
            let pivots = if e + 1 == elements { m } else { step };
            if !eliminate(&mut front, m, pivots) {
                return None;
            }
            rows.extend_from_slice(&front[..pivots * m]);
            if e + 1 < elements {
                for i in 0..nd {
                    for j in 0..nd {
                        let (p, q) = (step + i.min(j), step + i.max(j));
                        carry[i * nd + j] = front[p * m + q];
                    }
                }
            }
        }
        Some(Factor { rows, held })
    }

    /// Solves with a factor; held unknowns come out zero.
    pub fn back_solve(&self, factor: &Factor, rhs: &[f64]) -> Vec<f64> {
        let mut x = rhs.to_vec();
        x.iter_mut().zip(&factor.held).for_each(|(x, h)| {
            if *h {
                *x = 0.0;
            }
        });
        let step = self.degrees.order * self.degrees.per_node();
        back_solve(&factor.rows, self.block(), step, self.mesh.len() - 1, &mut x);
        x
    }

    /// Solves a static problem: loads in `rhs` whose total is `force` with moment `moment` about x = 0 (both downward
    /// positive), held by `holds`. `None` when nothing holds the beam or it has no stiffness somewhere.
    pub fn solve(&self, factor: &Factor, rhs: &[f64], force: f64, moment: f64, holds: &[Hold]) -> Option<Solution> {
        let fixed: Vec<f64> = holds
            .iter()
            .filter_map(|h| match *h {
                Hold::Pad { .. } => None,
                Hold::Section { x } | Hold::Clamp { x } => Some(x),
            })
            .collect();
        let clamped = holds.iter().any(|h| matches!(h, Hold::Clamp { .. }));
        let pads: Vec<(Vec<f64>, f64, f64)> = holds
            .iter()
            .filter_map(|h| match *h {
                Hold::Pad { x, width, compliance } => {
                    Some((self.mean_deflection(x - 0.5 * width, x + 0.5 * width, Face::Glue), x, compliance))
                }
                _ => None,
            })
            .collect();
        // rigid motions still free: a + b x, or a turn about the one held section
        let rigid: Vec<[f64; 2]> = match (clamped, fixed.len()) {
            (true, _) | (_, 2..) => vec![],
            (false, 1) => vec![[-fixed[0], 1.0]],
            (false, 0) => vec![[1.0, 0.0], [0.0, 1.0]],
        };
        let mut values = self.back_solve(factor, rhs);
        let n = pads.len() + rigid.len();
        if n == 0 {
            return Some(Solution { values, rigid: (0.0, 0.0), pads: vec![] });
        }
        let unit: Vec<Vec<f64>> = pads.iter().map(|p| self.back_solve(factor, &p.0)).collect();
        let dot = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(x, y)| x * y).sum::<f64>();
        let mut a = crate::mechanics::dense::Square::zeros(n);
        let mut b = vec![0.0; n];
        let scale = pads.iter().zip(&unit).map(|(p, u)| dot(&p.0, u)).fold(f64::MIN_POSITIVE, |m, v| m.max(v.abs()));
        for (i, (g, x, compliance)) in pads.iter().enumerate() {
            // deflection of the pad: loads, less every pad's upward force, plus rigid motion = compliance * force
            for (k, u) in unit.iter().enumerate() {
                a[(i, k)] = -dot(g, u) / scale;
            }
            a[(i, i)] -= compliance / scale;
            for (r, mode) in rigid.iter().enumerate() {
                a[(i, pads.len() + r)] = mode[0] + mode[1] * x;
                a[(pads.len() + r, i)] = mode[0] + mode[1] * x;
            }
            b[i] = -dot(g, &values) / scale;
        }
        for (r, mode) in rigid.iter().enumerate() {
            b[pads.len() + r] = mode[0] * force + mode[1] * moment;
        }
        let s = crate::mechanics::dense::solve(&a, &b)?;
        if pads.len() < rigid.len() {
            return None;
        }
        for (k, u) in unit.iter().enumerate() {
            values.iter_mut().zip(u).for_each(|(v, u)| *v -= s[k] * u);
        }
        let mut motion = (0.0, 0.0);
        for (r, mode) in rigid.iter().enumerate() {
            motion.0 += mode[0] * s[pads.len() + r] * scale;
            motion.1 += mode[1] * s[pads.len() + r] * scale;
        }
        Some(Solution { values, rigid: motion, pads: s[..pads.len()].to_vec() })
    }

    /// Downward deflection of a face at x (or averaged over [start, end]) in a solved state.
    pub fn deflection(&self, s: &Solution, start: f64, end: f64, face: Face) -> f64 {
        let g = self.mean_deflection(start, end, face);
        let own: f64 = g.iter().zip(&s.values).map(|(a, b)| a * b).sum();
        own + s.rigid.0 + s.rigid.1 * 0.5 * (start + end)
    }

    /// Number of unknowns a mesh line holds, and those lines, for modes.
    pub(crate) fn apply_mass(&self, x: &[f64], out: &mut [f64]) {
        out.fill(0.0);
        let m = self.block();
        let step = self.degrees.order * self.degrees.per_node();
        for e in 0..self.mesh.len() - 1 {
            let (xs, me) = (&x[e * step..e * step + m], &self.mass[e * m * m..(e + 1) * m * m]);
            for i in 0..m {
                out[e * step + i] += me[i * m..(i + 1) * m].iter().zip(xs).map(|(a, b)| a * b).sum::<f64>();
            }
        }
    }
}

/// Area, centroid and second moment of a height rule.
fn plane(rule: &[(f64, f64, bool)]) -> (f64, f64, f64) {
    let area: f64 = rule.iter().map(|r| r.1).sum();
    let centre = rule.iter().map(|r| r.0 * r.1).sum::<f64>() / area;
    let inertia = rule.iter().map(|r| r.1 * (r.0 - centre) * (r.0 - centre)).sum();
    (area, centre, inertia)
}

/// Bottom, its slope, top, its slope at x.
fn range(solid: &Solid, thinnest: f64, x: f64, inside: f64) -> [f64; 4] {
    let (h, dh) = solid.crest.at_from(x, inside);
    let (h, dh) = if h < thinnest { (thinnest, 0.0) } else { (h, dh) };
    let (a, da) = solid.arch.as_ref().map_or((0.0, 0.0), |p| p.at_from(x, inside));
    let (layers, n) = solid.layers(h, inside);
    let (low, high) = (layers[0].low, layers[n - 1].high);
    let (mut bottom, mut top) = ((low, 0.0), (high, 0.0));
    if high >= h {
        top.1 = dh;
    }
    if low >= h {
        bottom.1 = dh;
    }
    if top.0 <= bottom.0 {
        top.0 = bottom.0 + thinnest;
    }
    [bottom.0 + a, bottom.1 + da, top.0 + a, top.1 + da]
}

/// Heights (absolute), weights (width dz) and whether the point lies in the filler.
fn height_rule(solid: &Solid, thinnest: f64, x: f64, inside: f64, n: usize) -> Vec<(f64, f64, bool)> {
    let h = solid.crest.at_from(x, inside).0.max(thinnest);
    let arch = solid.arch.as_ref().map_or(0.0, |p| p.at_from(x, inside).0);
    let width = solid.width.at_from(x, inside).0;
    let (layers, count) = solid.layers(h, inside);
    let (mut out, mut buffer) = (Vec::new(), Vec::new());
    for l in &layers[..count] {
        buffer.clear();
        if l.strip {
            let (t, w) = gauss(n);
            buffer.extend(t.iter().zip(w).map(|(t, w)| (l.low + (l.high - l.low) * t, w * (l.high - l.low))));
        } else {
            solid.outline.rule(l.low, l.high, h, n, &mut buffer);
        }
        out.extend(buffer.iter().map(|&(z, w)| (z + arch, w * width, l.filler)));
    }
    out
}

/// Gauss-Lobatto points on [-1, 1] for elements of order 1 to 6.
fn lobatto(order: usize) -> Vec<f64> {
    match order {
        0 | 1 => vec![-1.0, 1.0],
        2 => vec![-1.0, 0.0, 1.0],
        3 => vec![-1.0, -(0.2_f64.sqrt()), 0.2_f64.sqrt(), 1.0],
        4 => vec![-1.0, -((3.0 / 7.0_f64).sqrt()), 0.0, (3.0 / 7.0_f64).sqrt(), 1.0],
        5 => {
            let (a, b) = ((1.0 / 3.0 + 2.0 * 7.0_f64.sqrt() / 21.0).sqrt(), (1.0 / 3.0 - 2.0 * 7.0_f64.sqrt() / 21.0).sqrt());
            vec![-1.0, -a, -b, b, a, 1.0]
        }
        _ => {
            let r = (5.0 / 3.0_f64).sqrt();
            let (a, b) = (((5.0 + 2.0 * r) / 11.0).sqrt(), ((5.0 - 2.0 * r) / 11.0).sqrt());
            vec![-1.0, -a, -b, 0.0, b, a, 1.0]
        }
    }
}

/// Lagrange shape functions and their slopes at s.
fn lagrange(nodes: &[f64], s: f64) -> (Vec<f64>, Vec<f64>) {
    let n = nodes.len();
    let (mut v, mut d) = (vec![0.0; n], vec![0.0; n]);
    for i in 0..n {
        let mut denominator = 1.0;
        let (mut value, mut slope) = (1.0, 0.0);
        for k in 0..n {
            if k != i {
                denominator *= nodes[i] - nodes[k];
                slope = slope * (s - nodes[k]) + value;
                value *= s - nodes[k];
            }
        }
        v[i] = value / denominator;
        d[i] = slope / denominator;
    }
    (v, d)
}

/// Coefficients of the taller series restricted to the lower range: own = T * taller, both displacements.
fn restriction(d: Degrees, low: f64, high: f64, tall_low: f64, tall_high: f64) -> Vec<f64> {
    let nd = d.per_node();
    let mut out = vec![0.0; nd * nd];
    let (t, w) = gauss(d.along.max(d.across) + 2);
    for (offset, n) in [(0, d.along + 1), (d.along + 1, d.across + 1)] {
        let (mut p, mut dp, mut q) = (vec![0.0; n], vec![0.0; n], vec![0.0; n]);
        for (t, w) in t.iter().zip(w) {
            let own = 2.0 * t - 1.0;
            let z = low + (high - low) * t;
            legendre(own, &mut p, &mut dp);
            legendre(2.0 * (z - tall_low) / (tall_high - tall_low) - 1.0, &mut q, &mut dp);
            for r in 0..n {
                for c in 0..n {
                    out[(offset + r) * nd + offset + c] += w * (2 * r + 1) as f64 * p[r] * q[c];
                }
            }
        }
    }
    out
}

/// K <- T' K T for the block of `nd` unknowns at `at`.
fn congruence(k: &mut [f64], m: usize, at: usize, nd: usize, t: &[f64]) {
    for r in 0..m {
        let row: Vec<f64> = (0..nd).map(|c| (0..nd).map(|j| k[r * m + at + j] * t[j * nd + c]).sum()).collect();
        k[r * m + at..r * m + at + nd].copy_from_slice(&row);
    }
    for c in 0..m {
        let col: Vec<f64> = (0..nd).map(|r| (0..nd).map(|j| t[j * nd + r] * k[(at + j) * m + c]).sum()).collect();
        for r in 0..nd {
            k[(at + r) * m + c] = col[r];
        }
    }
}

/// Stiffness and mass of one element, full square matrices.
fn element(
    solid: &Solid,
    thinnest: f64,
    laws: [&Law; 2],
    density: f64,
    a: f64,
    b: f64,
    degrees: Degrees,
    nodes: &[f64],
) -> (Vec<f64>, Vec<f64>) {
    let nd = degrees.per_node();
    let nu = degrees.along + 1;
    let np = nu.max(degrees.across + 1);
    let m = nodes.len() * nd;
    let (mut k, mut mass) = (vec![0.0; m * m], vec![0.0; m * m]);
    let (t, w) = gauss(degrees.order + 2);
    let (mut p, mut dp) = (vec![0.0; np], vec![0.0; np]);
    // aa, ab, bb: products of the strains that go with N' and with N
    let mut work = vec![0.0; 4 * nd * nd];
    for (t, wx) in t.iter().zip(w) {
        let x = a + (b - a) * t;
        let r = range(solid, thinnest, x, x);
        let h = r[2] - r[0];
        work.fill(0.0);
        for (z, wz, filler) in height_rule(solid, thinnest, x, x, np + 1) {
            let zeta = 2.0 * (z - r[0]) / h - 1.0;
            legendre(zeta, &mut p, &mut dp);
            let zeta_x = -(2.0 * r[1] + (zeta + 1.0) * (r[3] - r[1])) / h;
            let c = &laws[usize::from(filler)].c;
            dispatch!(height_point(c, &p, &dp, zeta_x, 2.0 / h, wz, nu, nd, &mut work));
        }
        let (shape, mut slope) = lagrange(nodes, 2.0 * t - 1.0);
        slope.iter_mut().for_each(|s| *s *= 2.0 / (b - a));
        dispatch!(spread(&shape, &slope, &work, wx * (b - a), density, nd, m, &mut k, &mut mass));
    }
    for i in 0..m {
        for j in 0..i {
            k[i * m + j] = k[j * m + i];
            mass[i * m + j] = mass[j * m + i];
        }
    }
    (k, mass)
}

/// Adds one point of the height to the four nd-by-nd tables.
#[inline(always)]
fn height_point<const FMA: bool>(
    c: &[[f64; 3]; 3],
    p: &[f64],
    dp: &[f64],
    zeta_x: f64,
    zeta_z: f64,
    w: f64,
    nu: usize,
    nd: usize,
    work: &mut [f64],
) {
    const MOST: usize = 32;
    let (aa, rest) = work.split_at_mut(nd * nd);
    let (ab, rest) = rest.split_at_mut(nd * nd);
    let (bb, mm) = rest.split_at_mut(nd * nd);
    // strain of unknown s that goes with N (not N'): (xx, zz, xz)
    let mut beta = [[0.0; 3]; MOST];
    let mut stress = [[0.0; 3]; MOST];
    let mut value = [0.0; MOST];
    for s in 0..nd {
        let along = s < nu;
        let i = if along { s } else { s - nu };
        value[s] = p[i];
        let (vx, vz) = (dp[i] * zeta_x, dp[i] * zeta_z);
        beta[s] = if along { [vx, 0.0, vz] } else { [0.0, vz, vx] };
        for r in 0..3 {
            stress[s][r] = w * (c[r][0] * beta[s][0] + c[r][1] * beta[s][1] + c[r][2] * beta[s][2]);
        }
    }
    for r in 0..nd {
        let row = if r < nu { 0 } else { 2 };
        let pr = value[r];
        let (cu, cw) = (w * c[row][0] * pr, w * c[row][2] * pr);
        let b = beta[r];
        for s in 0..nd {
            let k = r * nd + s;
            aa[k] = madd::<FMA>(if s < nu { cu } else { cw }, value[s], aa[k]);
            ab[k] = madd::<FMA>(pr, stress[s][row], ab[k]);
            let e = b[0] * stress[s][0] + b[1] * stress[s][1] + b[2] * stress[s][2];
            bb[k] += e;
        }
        let (from, to) = if r < nu { (0, nu) } else { (nu, nd) };
        for s in from..to {
            mm[r * nd + s] = madd::<FMA>(w * pr, value[s], mm[r * nd + s]);
        }
    }
}

/// Spreads the tables over the nodes of an element (upper triangle of blocks).
#[inline(always)]
fn spread<const FMA: bool>(
    shape: &[f64],
    slope: &[f64],
    work: &[f64],
    wx: f64,
    density: f64,
    nd: usize,
    m: usize,
    k: &mut [f64],
    mass: &mut [f64],
) {
    let (aa, rest) = work.split_at(nd * nd);
    let (ab, rest) = rest.split_at(nd * nd);
    let (bb, mm) = rest.split_at(nd * nd);
    for i in 0..shape.len() {
        for j in i..shape.len() {
            let (dd, dn) = (wx * slope[i] * slope[j], wx * slope[i] * shape[j]);
            let (nd_, nn) = (wx * shape[i] * slope[j], wx * shape[i] * shape[j]);
            let rho = density * nn;
            for r in 0..nd {
                let out = &mut k[(i * nd + r) * m + j * nd..(i * nd + r) * m + j * nd + nd];
                let (ra, rb, rc) = (&aa[r * nd..r * nd + nd], &ab[r * nd..r * nd + nd], &bb[r * nd..r * nd + nd]);
                for s in 0..nd {
                    let v = madd::<FMA>(dd, ra[s], out[s]);
                    let v = madd::<FMA>(dn, rb[s], v);
                    let v = madd::<FMA>(nd_, ab[s * nd + r], v);
                    out[s] = madd::<FMA>(nn, rc[s], v);
                }
                if rho != 0.0 {
                    let out = &mut mass[(i * nd + r) * m + j * nd..(i * nd + r) * m + j * nd + nd];
                    for s in 0..nd {
                        out[s] = madd::<FMA>(rho, mm[r * nd + s], out[s]);
                    }
                }
            }
        }
    }
}

/// Eliminates the first `pivots` unknowns of a symmetric front (upper triangle). False on a pivot that is not positive.
fn eliminate(front: &mut [f64], m: usize, pivots: usize) -> bool {
    dispatch!(eliminate_kernel(front, m, pivots))
}

#[inline(always)]
fn eliminate_kernel<const FMA: bool>(front: &mut [f64], m: usize, pivots: usize) -> bool {
    for k in 0..pivots {
        let (above, below) = front.split_at_mut((k + 1) * m);
        let row = &above[k * m..];
        let pivot = row[k];
        if pivot <= 0.0 || pivot.is_nan() {
            return false;
        }
        let inverse = 1.0 / pivot;
        for i in k + 1..m {
            let l = row[i] * inverse;
            if l != 0.0 {
                let at = (i - k - 1) * m;
                axpy_minus::<FMA>(l, &row[i..m], &mut below[at + i..at + m]);
            }
        }
    }
    true
}

fn back_solve(rows: &[f64], m: usize, step: usize, elements: usize, x: &mut [f64]) {
    dispatch!(back_solve_kernel(rows, m, step, elements, x))
}

#[inline(always)]
fn back_solve_kernel<const FMA: bool>(rows: &[f64], m: usize, step: usize, elements: usize, x: &mut [f64]) {
    for e in 0..elements {
        let pivots = if e + 1 == elements { m } else { step };
        let x = &mut x[e * step..e * step + m];
        for k in 0..pivots {
            let row = &rows[(e * step + k) * m..(e * step + k + 1) * m];
            let v = x[k] / row[k];
            axpy_minus::<FMA>(v, &row[k + 1..m], &mut x[k + 1..m]);
        }
    }
    for e in (0..elements).rev() {
        let pivots = if e + 1 == elements { m } else { step };
        let x = &mut x[e * step..e * step + m];
        for k in (0..pivots).rev() {
            let row = &rows[(e * step + k) * m..(e * step + k + 1) * m];
            let mut v = x[k];
            for i in k + 1..m {
                v = madd::<FMA>(-row[i], x[i], v);
            }
            x[k] = v / row[k];
        }
    }
}
