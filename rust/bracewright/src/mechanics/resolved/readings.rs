//! Loads on the beam and readings of it: each a vector over the unknowns.

use super::through::{Basis, height_rule, plane};
use super::{Face, Patch, Resolved, Solution};
use crate::mechanics::lagrange::lagrange;
use crate::mechanics::quadrature::gauss;

impl Resolved {
    /// The functional "downward deflection of `face`, averaged over [start, end]" (`start == end`: at the point).
    /// As a load it is a unit force spread evenly.
    pub fn mean_deflection(&self, start: f64, end: f64, face: Face) -> Vec<f64> {
        let mut out = vec![0.0; self.unknowns()];
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
            let mut local = vec![0.0; self.own_block(e)];
            for (x, weight) in stations {
                let (through, amount) = self.seen(e, x, face);
                total += weight * amount;
                self.add_across(e, x, &through, weight, &mut local);
            }
            self.scatter(e, &mut local, &mut out);
        }
        out.iter_mut().for_each(|v| *v /= total);
        out
    }

    /// The functional "downward deflection at the height `z` above the plane of the glue face's ends"; outside the wood the
    /// nearest layer's polynomial goes on.
    pub fn point_deflection(&self, x: f64, z: f64) -> Vec<f64> {
        let mut out = vec![0.0; self.unknowns()];
        let e = self.element_at(x);
        let basis = self.basis(e, x);
        let mut through = vec![0.0; basis.count() - basis.count_along()];
        let n = basis.across + 1;
        let (mut p, mut dp) = (vec![0.0; n.max(2)], vec![0.0; n.max(2)]);
        let layer = basis.layer_of(z);
        basis.fill(basis.local(layer, z), &mut p, &mut dp);
        (0..n).for_each(|j| through[basis.place(layer, j, basis.across)] = p[j]);
        let mut local = vec![0.0; self.own_block(e)];
        self.add_across(e, x, &through, 1.0, &mut local);
        self.scatter(e, &mut local, &mut out);
        out
    }

    /// Subtracts a functional of the displacement across the height at x (upward) from an element's own vector.
    fn add_across(&self, e: usize, x: f64, through: &[f64], weight: f64, local: &mut [f64]) {
        let (a, b) = (self.mesh[e], self.mesh[e + 1]);
        let shape = lagrange(&self.nodes, 2.0 * (x - a) / (b - a) - 1.0).0;
        let (nd, along) = (self.through[e].count(), self.through[e].count_along());
        for (n, s) in shape.iter().enumerate() {
            for (j, p) in through.iter().enumerate() {
                local[n * nd + along + j] -= weight * s * p;
            }
        }
    }

    /// The height basis of an element at x.
    fn basis(&self, e: usize, x: f64) -> Basis {
        self.through[e].at(&self.solid, self.thinnest, x, 0.5 * (self.mesh[e] + self.mesh[e + 1]))
    }

    /// Calls `f` with height, weight (width dz), layer and values of the layer's functions at every point of a rule
    /// through the height.
    fn each_point(&self, basis: &Basis, x: f64, inside: f64, values: usize, mut f: impl FnMut(f64, f64, usize, &[f64])) {
        let (mut p, mut dp) = (vec![0.0; values.max(2)], vec![0.0; values.max(2)]);
        for layer in 0..basis.layers() {
            let window = basis.layered.then(|| (basis.borders[layer][0], basis.borders[layer + 1][0]));
            for (z, w, _) in height_rule(&self.solid, self.thinnest, x, inside, values + 1, window) {
                basis.fill(basis.local(layer, z), &mut p, &mut dp);
                f(z, w, layer, &p);
            }
        }
    }

    /// Values of the height functions seen by a face at x, and the weight of the place (1, or the area for the body).
    fn seen(&self, e: usize, x: f64, face: Face) -> (Vec<f64>, f64) {
        let through = &self.through[e];
        let n = through.count() - through.count_along();
        let layered = through.layers() > 1;
        let only = |k: usize| (0..n).map(|j| if j == k { 1.0 } else { 0.0 }).collect();
        match face {
            Face::Crest if layered => (only(n - 1), 1.0),
            Face::Glue if layered => (only(0), 1.0),
            Face::Crest => (vec![1.0; n], 1.0),
            Face::Glue => ((0..n).map(|j| if j % 2 == 0 { 1.0 } else { -1.0 }).collect(), 1.0),
            Face::Body => {
                let inside = 0.5 * (self.mesh[e] + self.mesh[e + 1]);
                let basis = self.basis(e, x);
                let mut sum = vec![0.0; n];
                let mut area = 0.0;
                self.each_point(&basis, x, inside, through.across + 1, |_, w, layer, p| {
                    (0..=through.across).for_each(|j| sum[basis.place(layer, j, through.across)] += w * p[j]);
                    area += w;
                });
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
        let last = self.mesh.len() - 1;
        for (x, sign) in [(start, -1.0), (end, 1.0)] {
            let inside = if x == start { x + 1e-6 * (end - start) } else { x - 1e-6 * (end - start) };
            // the element on the inner side of the line
            let (line, from) = (self.line_at(x), usize::from(x != start));
            let e = (line.max(from) - from).min(last - 1);
            let own = &self.through[e];
            let basis = own.at(&self.solid, self.thinnest, x, inside);
            let rule = height_rule(&self.solid, self.thinnest, x, inside, own.along + 2, None);
            let (area, centre, inertia) = plane(&rule);
            debug_assert!(area > 0.0);
            let mut local = vec![0.0; self.own_block(e)];
            let at = if e == line { 0 } else { self.degrees.order * own.count() };
            self.each_point(&basis, x, inside, own.along + 1, |z, w, layer, p| {
                // sagging pulls the underside: sigma = -M (z - centre) / I
                let sigma = -couple * (z - centre) / inertia;
                for i in 0..=own.along {
                    local[at + basis.place(layer, i, own.along)] += sign * w * sigma * p[i];
                }
            });
            self.scatter(e, &mut local, &mut out);
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
        let own = &self.through[e];
        let nd = own.count();
        let coefficients: Vec<f64> =
            (0..own.count_along()).map(|i| shape.iter().enumerate().map(|(k, s)| s * local[k * nd + i]).sum()).collect();
        let basis = own.at(&self.solid, self.thinnest, x, inside);
        let rule = height_rule(&self.solid, self.thinnest, x, inside, own.along + 2, None);
        let (_, centre, inertia) = plane(&rule);
        let mut sum = 0.0;
        self.each_point(&basis, x, inside, own.along + 1, |z, w, layer, p| {
            let u: f64 = (0..=own.along).map(|i| p[i] * coefficients[basis.place(layer, i, own.along)]).sum();
            sum += w * u * (z - centre);
        });
        // a plane section square to a line that falls to the right moves its crest to the right
        sum / inertia
    }

    /// Downward deflection of a face at x (or averaged over [start, end]) in a solved state.
    pub fn deflection(&self, s: &Solution, start: f64, end: f64, face: Face) -> f64 {
        let g = self.mean_deflection(start, end, face);
        let own: f64 = g.iter().zip(&s.values).map(|(a, b)| a * b).sum();
        own + s.rigid.0 + s.rigid.1 * 0.5 * (start + end)
    }
}
