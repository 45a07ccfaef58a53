//! Stiffness of a stretch of rib over one cell, and the strains in it.
//!
//! The rib moves with the plate on its glue face; added to that are functions of z / h(x) that vanish there. Across its
//! width there is no stress. x runs along the rib, y across from its middle, z up from the glue face.

use super::blocks::{Blocks, Row};
use super::cells::{Cells, NODES, ORDER, SIDE, along};
use super::straight;
use crate::mechanics::quadrature::{gauss, legendre};
use crate::mechanics::solid::Solid;

/// Law of a rib without stress across its width: stress (xx, zz, xz, xy, yz) from strain, engineering shears.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RibLaw {
    /// Symmetric stiffness.
    pub c: [[f64; 5]; 5],
}

/// How finely a rib is resolved through its height and over its width.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RibDegrees {
    /// Degree through the height of the displacements along, across and up.
    pub height: [usize; 3],
    /// Powers of y over the width of each of them.
    pub width: [&'static [i32]; 3],
}

impl RibDegrees {
    /// Agrees with three-dimensional elasticity to a few hundredths of a percent on scalloped ribs.
    pub const RICH: Self = Self { height: [4, 3, 3], width: [&[0, 1, 2, 3], &[0], &[0, 1]] };
    /// Less by a fraction of a percent.
    pub const LEAN: Self = Self { height: [3, 2, 2], width: [&[0, 1, 3], &[0], &[0, 1]] };

    /// Fields: the three traces, then one for each degree of each displacement.
    pub fn fields(&self) -> usize {
        3 + self.height.iter().sum::<usize>()
    }

    /// Unknowns at a station.
    pub fn unknowns(&self) -> usize {
        (0..3).map(|c| self.height[c] * self.width[c].len()).sum()
    }

    /// For each own field: component, degree and first unknown at a station.
    pub fn own(&self) -> Vec<(usize, usize, usize)> {
        let mut first = 0;
        let mut out = Vec::new();
        for c in 0..3 {
            for degree in 1..=self.height[c] {
                out.push((c, degree, first));
                first += self.width[c].len();
            }
        }
        out
    }
}

/// A straight rib glued to a run of cells.
#[derive(Debug, Clone)]
pub struct Rib {
    /// Its solid; x from its start.
    pub solid: Solid,
    /// Laws of its own wood and of what fills its notches.
    pub laws: [RibLaw; 2],
    /// Mass per volume.
    pub density: f64,
    /// Middle of its glue face at x = 0, in the plane.
    pub start: [f64; 2],
    /// Its direction there, a unit vector.
    pub direction: [f64; 2],
    /// Its cells from start to end, each with its first direction along the rib.
    pub cells: Vec<usize>,
}

impl Rib {
    /// Along and across the rib of a point in the plane.
    pub fn local(&self, at: [f64; 2]) -> [f64; 2] {
        let d = [at[0] - self.start[0], at[1] - self.start[1]];
        let [c, s] = self.direction;
        [c * d[0] + s * d[1], c * d[1] - s * d[0]]
    }
}

/// Functions through the height, Legendre polynomials less their value at the glue face: values and slopes at s in [0, 1].
pub fn through(s: f64, degrees: usize) -> ([f64; 8], [f64; 8]) {
    let (mut p, mut d) = ([0.0; 8], [0.0; 8]);
    legendre(2.0 * s - 1.0, &mut p[..=degrees], &mut d[..=degrees]);
    for k in 0..=degrees {
        p[k] -= if k % 2 == 0 { 1.0 } else { -1.0 };
        d[k] *= 2.0;
    }
    (p, d)
}

/// The rib's own fields at a point of the plane: rows of values and slopes along and across, without the part through the
/// height.
struct Own {
    value: Row,
    along: Row,
    across: Row,
}

/// Strains (xx, zz, xz, xy, yz) at a point, by the rows of the fields that make them.
pub type Strains = [Vec<(usize, Row)>; 5];

/// A rib over one of its cells.
pub struct Stretch<'a> {
    pub cells: &'a Cells,
    pub rib: &'a Rib,
    pub cell: usize,
    pub degrees: &'a RibDegrees,
    /// Heights below this count as that.
    pub thinnest: f64,
    /// What its crest is raised by: so much at the middle of three places along it, straight down to nothing at the others.
    pub raised: Option<(f64, [f64; 3])>,
    own: Vec<(usize, usize, usize)>,
}

/// A hat over three places at x: its value and slope; on one of them the slope on the side of `inside`.
pub fn hat([a, b, c]: [f64; 3], x: f64, inside: f64) -> (f64, f64) {
    let side = if [a, b, c].iter().any(|p| (x - p).abs() < 1e-9) { inside } else { x };
    if side <= a || side >= c {
        (0.0, 0.0)
    } else if side < b {
        ((x - a) / (b - a), 1.0 / (b - a))
    } else {
        ((c - x) / (c - b), -1.0 / (c - b))
    }
}

impl<'a> Stretch<'a> {
    pub fn new(cells: &'a Cells, rib: &'a Rib, cell: usize, degrees: &'a RibDegrees, thinnest: f64) -> Self {
        Self { cells, rib, cell, degrees, thinnest, raised: None, own: degrees.own() }
    }

    /// Height and its slope at x, on the side of a kink that `inside` names.
    pub fn height(&self, x: f64, inside: f64) -> (f64, f64) {
        let (mut h, mut slope) = self.rib.solid.crest.at_from(x, inside);
        if let Some((by, places)) = self.raised {
            let (value, change) = hat(places, x, inside);
            (h, slope) = (h + by * value, slope + by * change);
        }
        if h > self.thinnest { (h, slope) } else { (self.thinnest, 0.0) }
    }

    /// A place a hair nearer to the middle of the cell: on a kink the side of the cell.
    pub fn inward(&self, x: f64) -> f64 {
        x + 1e-6 * (self.middle(0.0) - x)
    }

    /// x along the rib in the middle of its width.
    pub fn middle(&self, s: f64) -> f64 {
        self.rib.local(self.cells.place(self.cell, s, 0.0).0)[0]
    }

    /// Strains at a place of the cell's own square and a height, and the area that goes with it.
    pub fn strains(&self, s: f64, v: f64, z: f64) -> (Strains, f64) {
        let middle = self.middle(s);
        let half = 0.5 * self.rib.solid.width.at(middle);
        let shape = self.cells.shape(self.cell, s, v);
        let [x, y] = self.rib.local(shape.at);
        let (height, slope) = self.height(x, self.inward(x));
        let (shapes, slopes) = along(s);
        // slopes of the cell's first coordinate along and across the rib
        let [c, n] = self.rib.direction;
        let g = shape.inverse[0];
        let by = [c * g[0] + n * g[1], c * g[1] - n * g[0]];
        let own = self.degrees.width.map(|powers| {
            let mut o = Own { value: [0.0; NODES], along: [0.0; NODES], across: [0.0; NODES] };
            for i in 0..SIDE {
                for (k, p) in powers.iter().enumerate() {
                    let at = i * powers.len() + k;
                    let f = (y / half).powi(*p);
                    let df = if *p == 0 { 0.0 } else { f64::from(*p) * (y / half).powi(p - 1) / half };
                    o.value[at] = shapes[i] * f;
                    o.along[at] = slopes[i] * by[0] * f;
                    o.across[at] = slopes[i] * by[1] * f + shapes[i] * df;
                }
            }
            o
        });
        let turn = |a: f64, b: f64| -> Row { std::array::from_fn(|i| a * shape.dx[i] + b * shape.dy[i]) };
        let trace = [turn(c, n), turn(-n, c)];
        let t = z / height;
        let (f, df) = through(t, self.degrees.height.iter().max().copied().unwrap_or(0).min(7));
        // z / h moves with h(x)
        let lean = -t * slope / height;
        let mut strains = Strains::default();
        let [xx, zz, xz, xy, yz] = &mut strains;
        xx.push((0, trace[0]));
        xy.extend([(0, trace[1]), (1, trace[0])]);
        xz.push((2, trace[0]));
        yz.push((2, trace[1]));
        for (i, &(component, degree, _)) in self.own.iter().enumerate() {
            let (field, o) = (3 + i, &own[component]);
            let (f, up) = (f[degree], df[degree] / height);
            let along = sum(&o.along, f, &o.value, df[degree] * lean);
            match component {
                0 => {
                    xx.push((field, along));
                    xy.push((field, times(&o.across, f)));
                    xz.push((field, times(&o.value, up)));
                }
                1 => {
                    xy.push((field, along));
                    yz.push((field, times(&o.value, up)));
                }
                _ => {
                    zz.push((field, times(&o.value, up)));
                    xz.push((field, along));
                    yz.push((field, times(&o.across, f)));
                }
            }
        }
        (strains, shape.area)
    }

    /// Rows of the displacements along, across and up at a place of the cell's own square and a height, and the area that goes with
    /// it.
    pub fn moved(&self, s: f64, v: f64, z: f64) -> ([Vec<(usize, Row)>; 3], f64) {
        let middle = self.middle(s);
        let half = 0.5 * self.rib.solid.width.at(middle);
        let shape = self.cells.shape(self.cell, s, v);
        let [x, y] = self.rib.local(shape.at);
        let (height, _) = self.height(x, self.inward(x));
        let (shapes, _) = along(s);
        let (f, _) = through(z / height, self.degrees.height.iter().max().copied().unwrap_or(0).min(7));
        let mut out: [Vec<(usize, Row)>; 3] = [0, 1, 2].map(|c| vec![(c, shape.value)]);
        for (i, &(component, degree, _)) in self.own.iter().enumerate() {
            let powers = self.degrees.width[component];
            let mut row: Row = [0.0; NODES];
            for (i, n) in shapes.iter().enumerate() {
                for (k, p) in powers.iter().enumerate() {
                    row[i * powers.len() + k] = n * (y / half).powi(*p) * f[degree];
                }
            }
            out[component].push((3 + i, row));
        }
        (out, shape.area)
    }

    /// Consistent mass.
    pub fn mass(&self) -> Blocks {
        let mut out = Blocks::new(self.degrees.fields());
        self.points(|s, v, z, _, weight| {
            let (moved, area) = self.moved(s, v, z);
            for m in &moved {
                out.square(m, weight * area * self.rib.density);
            }
        });
        out
    }

    /// Every point: its place in the cell's own square, its height, whether it is the filler's, and its weight, to be multiplied by the
    /// area that goes with it.
    pub fn points(&self, mut each: impl FnMut(f64, f64, f64, bool, f64)) {
        let (t, w) = gauss(ORDER + 2);
        let (ty, wy) = gauss(ORDER + 1);
        let up = 1 + self.degrees.height.iter().max().copied().unwrap_or(0);
        let mut heights = Vec::new();
        for (s, ws) in t.iter().zip(w) {
            let s = 2.0 * s - 1.0;
            heights.clear();
            self.heights(self.middle(s), up, &mut heights);
            for &(z, wz, part, filler) in &heights {
                for (v, wv) in ty.iter().zip(wy) {
                    each(s, part * (2.0 * v - 1.0), z, filler, 4.0 * ws * wz * wv);
                }
            }
        }
    }

    /// Length of the cell along the rib if it is a rectangle as wide as the rib.
    fn rectangle(&self) -> Option<f64> {
        let c = &self.cells.cells[self.cell];
        let [a, b, c, d] = [0, 1, 2, 3].map(|k: usize| self.rib.local(self.cells.corners[c[k]]));
        let length = b[0] - a[0];
        let same = |x: f64, y: f64| (x - y).abs() < 1e-9 * length;
        let half = |x: f64| 0.5 * self.rib.solid.width.at(x);
        let square = same(a[0], d[0]) && same(b[0], c[0]) && same(a[1], b[1]) && same(c[1], d[1]);
        (square && same(c[1], half(c[0])) && same(d[1], half(d[0])) && same(a[1], -d[1])).then_some(length)
    }

    /// Stiffness.
    pub fn stiffness(&self) -> Blocks {
        match self.rectangle() {
            Some(length) => straight::stiffness(self, length),
            None => self.stiffness_by_points(),
        }
    }

    /// Stiffness over any cell.
    pub fn stiffness_by_points(&self) -> Blocks {
        let mut k = Blocks::new(self.degrees.fields());
        self.points(|s, v, z, filler, weight| {
            let (strains, area) = self.strains(s, v, z);
            let c = &self.rib.laws[usize::from(filler)].c;
            for i in 0..5 {
                k.square(&strains[i], weight * area * c[i][i]);
                for j in i + 1..5 {
                    k.cross(&strains[i], &strains[j], weight * area * c[i][j]);
                }
            }
        });
        k
    }

    /// Heights of a rule with their weights (as parts of the width, times dz), the part of the width there, and whether it is
    /// the filler's.
    pub fn heights(&self, middle: f64, points: usize, out: &mut Vec<(f64, f64, f64, bool)>) {
        let solid = &self.rib.solid;
        let tall = self.height(middle, self.inward(middle)).0;
        let (layers, count) = solid.layers(tall, middle);
        let mut rule = Vec::new();
        for l in &layers[..count] {
            rule.clear();
            if l.strip {
                let (t, w) = gauss(points);
                let thick = l.high - l.low;
                out.extend(t.iter().zip(w).map(|(t, w)| (l.low + t * thick, w * thick, 1.0, l.filler)));
            } else {
                solid.outline.rule(l.low, l.high, tall, points, &mut rule);
                out.extend(rule.iter().map(|&(z, w)| (z, w, solid.outline.width(z, tall), l.filler)));
            }
        }
    }
}

fn times(row: &Row, f: f64) -> Row {
    row.map(|v| v * f)
}

fn sum(a: &Row, f: f64, b: &Row, g: f64) -> Row {
    std::array::from_fn(|i| f * a[i] + g * b[i])
}
