//! The height basis: how the displacements of one element run through the height.
//!
//! Away from corners it is one Legendre series from the bottom to the top. Near the walls of a notch the height is cut into
//! layers, each with its own polynomial, joined without a jump: a hat at every border and integrated Legendre
//! polynomials inside every layer (Szabo and Babuska's hierarchic functions).

use crate::mechanics::quadrature::{gauss, legendre};
use crate::mechanics::solid::Solid;

/// What carries the height basis of one element.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Through {
    /// Degree of the displacement along the brace.
    pub along: usize,
    /// Degree of the displacement across the height.
    pub across: usize,
    /// Layer borders as anchor number plus the part of the way to the next anchor; empty for one Legendre series.
    pub marks: Vec<f64>,
    /// True when the anchors are the heights where the section's layers meet, false when only its bottom and top are.
    pub anchored: bool,
}

/// A height basis at one x.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Basis {
    pub along: usize,
    pub across: usize,
    pub layered: bool,
    /// Heights of the layer borders and their slopes along x, lowest first.
    pub borders: Vec<[f64; 2]>,
}

impl Through {
    /// One Legendre series.
    pub fn plain(along: usize, across: usize) -> Self {
        Self { along, across, marks: Vec::new(), anchored: false }
    }

    /// The basis at x; `inside` names the side of a jump.
    pub fn at(&self, solid: &Solid, thinnest: f64, x: f64, inside: f64) -> Basis {
        let r = range(solid, thinnest, x, inside);
        let ends = vec![[r[0], r[1]], [r[2], r[3]]];
        let layered = !self.marks.is_empty();
        let borders = match (layered, self.anchored) {
            (false, _) => ends,
            (true, false) => between(&ends, &self.marks),
            (true, true) => between(&anchors(solid, thinnest, x, inside), &self.marks),
        };
        Basis { along: self.along, across: self.across, layered, borders }
    }

    /// Number of layers.
    pub fn layers(&self) -> usize {
        self.marks.len().max(2) - 1
    }

    /// Number of unknowns of the displacement along the brace.
    pub fn count_along(&self) -> usize {
        self.layers() * self.along + 1
    }

    /// Number of unknowns of both displacements.
    pub fn count(&self) -> usize {
        self.layers() * (self.along + self.across) + 2
    }
}

impl Basis {
    pub fn layers(&self) -> usize {
        self.borders.len() - 1
    }

    pub fn count_along(&self) -> usize {
        self.layers() * self.along + 1
    }

    pub fn count(&self) -> usize {
        self.layers() * (self.along + self.across) + 2
    }

    pub fn low(&self) -> f64 {
        self.borders[0][0]
    }

    pub fn high(&self) -> f64 {
        self.borders[self.borders.len() - 1][0]
    }

    /// The layer that holds a height.
    pub fn layer_of(&self, z: f64) -> usize {
        self.borders.partition_point(|b| b[0] <= z).clamp(1, self.layers()) - 1
    }

    /// Place of function `i` of a layer among the unknowns of a displacement of degree `degree`.
    pub fn place(&self, layer: usize, i: usize, degree: usize) -> usize {
        match i {
            _ if !self.layered => i,
            0 => layer * degree,
            1 => (layer + 1) * degree,
            _ => layer * degree + i - 1,
        }
    }

    /// Coordinate from -1 to 1 in a layer.
    pub fn local(&self, layer: usize, z: f64) -> f64 {
        let (a, b) = (self.borders[layer][0], self.borders[layer + 1][0]);
        2.0 * (z - a) / (b - a) - 1.0
    }

    /// Values of the functions of a layer at its coordinate, and their slopes by it.
    pub fn fill(&self, t: f64, p: &mut [f64], dp: &mut [f64]) {
        legendre(t, p, dp);
        if self.layered {
            hierarchic(t, p, dp);
        }
    }

    /// Values and slopes over z of every function of one displacement at a height in a layer.
    fn all(&self, layer: usize, z: f64, degree: usize) -> (Vec<f64>, Vec<f64>) {
        let n = degree + 1;
        let (mut p, mut dp) = (vec![0.0; n.max(2)], vec![0.0; n.max(2)]);
        self.fill(self.local(layer, z), &mut p, &mut dp);
        let scale = 2.0 / (self.borders[layer + 1][0] - self.borders[layer][0]);
        let (mut v, mut d) = (vec![0.0; self.layers() * degree + 1], vec![0.0; self.layers() * degree + 1]);
        for i in 0..n {
            let k = self.place(layer, i, degree);
            v[k] = p[i];
            d[k] = dp[i] * scale;
        }
        (v, d)
    }

    /// True when both run over the same heights.
    pub fn same_range(&self, other: &Self) -> bool {
        let tol = 1e-9 * (self.high().max(other.high()) - self.low().min(other.low()));
        (self.low() - other.low()).abs() <= tol && (self.high() - other.high()).abs() <= tol
    }

    /// True when both have the same functions.
    pub fn same(&self, other: &Self) -> bool {
        self.layered == other.layered
            && (self.along, self.across) == (other.along, other.across)
            && self.borders.len() == other.borders.len()
            && self.same_range(other)
            && self.borders.iter().zip(&other.borders).all(|(a, b)| (a[0] - b[0]).abs() <= 1e-9 * (self.high() - self.low()))
    }

    /// What two neighbours share on their common line: every function of it is one of theirs on each side, so that
    /// nothing opens between them. Where the layers meet it is the layers of both, where they do not a Legendre series.
    pub fn shared(l: &Self, r: &Self) -> Self {
        if l.same(r) {
            return l.clone();
        }
        let (low, high) = (l.low().min(r.low()), l.high().max(r.high()));
        let tol = 1e-9 * (high - low);
        let (along, across) = (l.along.min(r.along), l.across.min(r.across));
        if l.layered && r.layered && !l.same_range(r) && (l.along, l.across) == (r.along, r.across) {
            let mut borders: Vec<[f64; 2]> = l.borders.iter().chain(&r.borders).copied().collect();
            borders.sort_by(|a, b| a[0].total_cmp(&b[0]));
            borders.dedup_by(|a, b| (a[0] - b[0]).abs() <= tol);
            let fits = |own: &Self| {
                let within = borders.iter().filter(|b| b[0] >= own.low() - tol && b[0] <= own.high() + tol).count();
                within == own.borders.len()
            };
            if fits(l) && fits(r) {
                return Self { along, across, layered: true, borders };
            }
        }
        Self { along, across, layered: false, borders: vec![[low, 0.0], [high, 0.0]] }
    }

    /// Own coefficients of every function of `line`, rows own, columns the line's; `None` when the two are the same.
    pub fn restriction(&self, line: &Self) -> Option<Vec<f64>> {
        if self.same(line) {
            return None;
        }
        let columns = line.count();
        let mut out = vec![0.0; self.count() * columns];
        for (row, column, own, theirs) in
            [(0, 0, self.along, line.along), (self.count_along(), line.count_along(), self.across, line.across)]
        {
            for layer in 0..self.layers() {
                self.restrict_layer(layer, line, [row, column], [own, theirs], columns, &mut out);
            }
        }
        Some(out)
    }

    fn restrict_layer(&self, layer: usize, line: &Self, at: [usize; 2], degree: [usize; 2], columns: usize, out: &mut [f64]) {
        let (a, b) = (self.borders[layer][0], self.borders[layer + 1][0]);
        let inside = line.layer_of(0.5 * (a + b));
        let n = degree[0] + 1;
        let mut set = |i: usize, values: &[f64], scale: f64| {
            let r = at[0] + self.place(layer, i, degree[0]);
            for (c, v) in values.iter().enumerate() {
                out[r * columns + at[1] + c] += scale * v;
            }
        };
        let (t, w) = gauss(degree[0].max(degree[1]) + 2);
        let (mut p, mut dp) = (vec![0.0; n.max(2)], vec![0.0; n.max(2)]);
        for (t, w) in t.iter().zip(w) {
            let (value, slope) = line.all(inside, a + (b - a) * t, degree[1]);
            self.fill(2.0 * t - 1.0, &mut p, &mut dp);
            for i in 0..n {
                if !self.layered {
                    set(i, &value, w * (2 * i + 1) as f64 * p[i]);
                } else if i > 1 {
                    // the slopes of the inner functions are orthonormal on [-1, 1]
                    set(i, &slope, w * (b - a) * dp[i]);
                }
            }
        }
        if self.layered {
            if layer == 0 {
                set(0, &line.all(inside, a, degree[1]).0, 1.0);
            }
            set(1, &line.all(inside, b, degree[1]).0, 1.0);
        }
    }
}

/// Turns Legendre values into a hat at each end and integrated Legendre polynomials, (P_j - P_j-2) / sqrt(2 (2 j - 1)).
fn hierarchic(t: f64, p: &mut [f64], dp: &mut [f64]) {
    for j in (2..p.len()).rev() {
        let k = (2 * j - 1) as f64;
        let below = p[j - 1];
        p[j] = (p[j] - p[j - 2]) / (2.0 * k).sqrt();
        dp[j] = (0.5 * k).sqrt() * below;
    }
    (p[0], p[1]) = (0.5 * (1.0 - t), 0.5 * (1.0 + t));
    (dp[0], dp[1]) = (-0.5, 0.5);
}

/// Heights and slopes at marks between anchors.
fn between(anchors: &[[f64; 2]], marks: &[f64]) -> Vec<[f64; 2]> {
    let last = anchors.len() - 1;
    let at = |m: f64| {
        let k = (m.floor() as usize).min(last);
        let f = m - k as f64;
        if f == 0.0 || k == last { anchors[k] } else { [0, 1].map(|i| anchors[k][i] + f * (anchors[k + 1][i] - anchors[k][i])) }
    };
    marks.iter().map(|&m| at(m)).collect()
}

/// Bottom, its slope, top, its slope at x.
pub(super) fn range(solid: &Solid, thinnest: f64, x: f64, inside: f64) -> [f64; 4] {
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

/// Every height at x where the section's layers begin or end, with its slope, lowest first.
pub(super) fn anchors(solid: &Solid, thinnest: f64, x: f64, inside: f64) -> Vec<[f64; 2]> {
    let (h, dh) = solid.crest.at_from(x, inside);
    let (h, dh) = if h < thinnest { (thinnest, 0.0) } else { (h, dh) };
    let (a, da) = solid.arch.as_ref().map_or((0.0, 0.0), |p| p.at_from(x, inside));
    let (layers, n) = solid.layers(h, inside);
    let place = |z: f64| [z + a, da + if z >= h { dh } else { 0.0 }];
    let mut out = vec![place(layers[0].low)];
    out.extend(layers[..n].iter().map(|l| place(l.high)));
    out
}

/// Heights (absolute), weights (width dz) and whether the point lies in the filler; only those of `window` (from, to) when
/// it is given.
pub(super) fn height_rule(
    solid: &Solid,
    thinnest: f64,
    x: f64,
    inside: f64,
    n: usize,
    window: Option<(f64, f64)>,
) -> Vec<(f64, f64, bool)> {
    let h = solid.crest.at_from(x, inside).0.max(thinnest);
    let arch = solid.arch.as_ref().map_or(0.0, |p| p.at_from(x, inside).0);
    let width = solid.width.at_from(x, inside).0;
    let (layers, count) = solid.layers(h, inside);
    let (mut out, mut buffer) = (Vec::new(), Vec::new());
    for l in &layers[..count] {
        let (low, high) = window.map_or((l.low, l.high), |w| (l.low.max(w.0 - arch), l.high.min(w.1 - arch)));
        // a border that meets a layer's end but for rounding
        if window.is_some() && high - low < 1e-9 * h {
            continue;
        }
        buffer.clear();
        if l.strip {
            let (t, w) = gauss(n);
            buffer.extend(t.iter().zip(w).map(|(t, w)| (low + (high - low) * t, w * (high - low))));
        } else {
            solid.outline.rule(low, high, h, n, &mut buffer);
        }
        out.extend(buffer.iter().map(|&(z, w)| (z + arch, w * width, l.filler)));
    }
    out
}

/// Area, centroid and second moment of a height rule.
pub(super) fn plane(rule: &[(f64, f64, bool)]) -> (f64, f64, f64) {
    let area: f64 = rule.iter().map(|r| r.1).sum();
    let centre = rule.iter().map(|r| r.0 * r.1).sum::<f64>() / area;
    let inertia = rule.iter().map(|r| r.1 * (r.0 - centre) * (r.0 - centre)).sum();
    (area, centre, inertia)
}
