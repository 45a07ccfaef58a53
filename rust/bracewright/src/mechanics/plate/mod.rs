//! Free vibration and even pressure of a flat orthotropic plate, by Ritz with Legendre products.
//!
//! The plate bends and shears through its thickness (Mindlin, shear factor 5/6, rotary inertia), or only bends
//! (Kirchhoff). The unknowns are the deflection w and the two shear strains, and the turn of the normal is what is left:
//! psi = grad w - gamma. A thin plate therefore does not lock, and without shear strains the same functions are the
//! classical plate exactly. With a clamped edge and shear the deflection carries no turn of its own and the turns are the
//! unknowns, because there grad w need not vanish.
//!
//! x runs along the length, y across; any consistent set of units.

mod functions;
mod label;
mod outline;

use faer::Mat;
use faer::linalg::matmul::triangular::BlockStructure;
use faer::{Accum, Par};

use crate::mechanics::dense::{self, Square};
use functions::Functions;
pub use label::{Label, NamedShape};
pub use outline::{Grid, Outline};

/// How an edge is held.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Edge {
    /// Not at all.
    Free,
    /// The deflection is zero, and with shear so is the turn along the edge.
    Supported,
    /// Deflection and turns are zero.
    Clamped,
}

/// The material, in the axes of the plate.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PlateLaw {
    /// Plane-stress stiffness of (xx, yy, engineering xy).
    pub plane: [[f64; 3]; 3],
    /// Shear stiffness through the thickness of (xz, yz), without shear factor.
    pub shear: [[f64; 2]; 2],
    /// Mass per volume.
    pub density: f64,
}

/// The nine numbers of a law that the stiffness is linear in: plane 11, 22, 66, 12, 16, 26, then shear 11, 22, 12.
pub const LAW_NUMBERS: usize = 9;

/// Shear factor of a plate, 5/6.
pub(crate) const SHEAR_FACTOR: f64 = 5.0 / 6.0;

impl PlateLaw {
    /// An orthotropic law with its first axis turned by `angle` radians from x towards y.
    pub fn orthotropic(e: [f64; 2], nu_12: f64, g_12: f64, g_through: [f64; 2], density: f64, angle: f64) -> Self {
        let d = 1.0 - nu_12 * nu_12 * e[1] / e[0];
        let q = [[e[0] / d, nu_12 * e[1] / d, 0.0], [nu_12 * e[1] / d, e[1] / d, 0.0], [0.0, 0.0, g_12]];
        let (s, c) = angle.sin_cos();
        // strains in the material axes from those in x and y
        let t = [[c * c, s * s, s * c], [s * s, c * c, -s * c], [-2.0 * s * c, 2.0 * s * c, c * c - s * s]];
        let mut plane = [[0.0; 3]; 3];
        for i in 0..3 {
            for j in 0..3 {
                for a in 0..3 {
                    for b in 0..3 {
                        plane[i][j] += t[a][i] * q[a][b] * t[b][j];
                    }
                }
            }
        }
        let [g1, g2] = g_through;
        let cross = s * c * (g1 - g2);
        Self { plane, shear: [[c * c * g1 + s * s * g2, cross], [cross, s * s * g1 + c * c * g2]], density }
    }

    /// The numbers the stiffness is linear in.
    pub fn numbers(&self) -> [f64; LAW_NUMBERS] {
        let (p, s) = (&self.plane, &self.shear);
        [p[0][0], p[1][1], p[2][2], p[0][1], p[0][2], p[1][2], s[0][0], s[1][1], s[0][1]]
    }
}

/// A free vibration.
#[derive(Debug, Clone, PartialEq)]
pub struct PlateMode {
    /// Angular frequency squared.
    pub omega_squared: f64,
    /// What each number of the law adds to it: their sum with the numbers as weights is `omega_squared`, so these are its
    /// derivatives as well.
    pub per_number: [f64; LAW_NUMBERS],
    shape: Vec<f64>,
}

/// A plate of one shape and thickness, ready for any law.
#[derive(Debug, Clone, PartialEq)]
pub struct Plate {
    functions: Functions,
    outline: Outline,
    points: Vec<outline::Point>,
    rigid: usize,
    stiffness: [Option<Square>; LAW_NUMBERS],
    translation: Square,
    rotation: Option<Square>,
}

/// How a plate is modelled.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct PlateOptions {
    /// Degree of the deflection in each direction, 2 to 30.
    pub degree: usize,
    /// Degrees of the shear strains, 1 to 30, in their own direction and across it; `None` leaves shear and rotary inertia out
    /// (Kirchhoff). Along a free edge the strain dies away within t sqrt(G / 10 G_through), a few millimetres on a top, which asks
    /// for the higher degree across.
    pub shear_degrees: Option<[usize; 2]>,
    /// Whether laws with coupling numbers (grain at an angle) will be asked for.
    pub oblique: bool,
}

impl Plate {
    /// Integrates the plate. `edges` at x low, x high, y low, y high; an ellipse takes the first for its whole rim, and
    /// sides that are not those of a rectangle are free. `None` for a held ellipse with shear, which is not written.
    pub fn new(outline: &Outline, thickness: &Grid, edges: [Edge; 4], options: PlateOptions) -> Option<Self> {
        let edges = match outline {
            Outline::Rectangle { .. } => edges,
            Outline::Ellipse { .. } => [edges[0]; 4],
            Outline::Sided { .. } => [Edge::Free; 4],
        };
        let round = matches!(outline, Outline::Ellipse { .. });
        if round && edges[0] != Edge::Free && options.shear_degrees.is_some() {
            return None;
        }
        let functions = Functions::new(outline.bounds(), round, edges, options);
        let count = functions.count();
        // two points more than the degree carries the products exactly, and a cubed straight thickness nearly so
        let points = outline.points(thickness, functions.highest_degree() + 3);
        let rows = points.len();
        // scaled strains, turns and deflection of every function at every point
        let mut parts: Vec<Mat<f64>> = (0..8).map(|_| Mat::zeros(rows, count)).collect();
        for (r, p) in points.iter().enumerate() {
            let bend = (p.weight * p.thickness.powi(3) / 12.0).sqrt();
            let plain = (p.weight * p.thickness).sqrt();
            functions.at(p.x, p.y, |c, f| {
                for k in 0..3 {
                    parts[k][(r, c)] = bend * f.curvature[k];
                }
                for k in 0..2 {
                    parts[3 + k][(r, c)] = (SHEAR_FACTOR).sqrt() * plain * f.shear[k];
                    parts[6 + k][(r, c)] = bend * f.turn[k];
                }
                parts[5][(r, c)] = plain * f.deflection;
            });
        }
        let product = |a: usize, b: usize| {
            let mut out = Mat::<f64>::zeros(count, count);
            faer::linalg::matmul::triangular::matmul(
                &mut out,
                if a == b { BlockStructure::TriangularLower } else { BlockStructure::Rectangular },
                Accum::Replace,
                parts[a].transpose(),
                BlockStructure::Rectangular,
                &parts[b],
                BlockStructure::Rectangular,
                1.0,
                Par::Seq,
            );
            let mut square = Square::zeros(count);
            for i in 0..count {
                for j in 0..count {
                    square[(i, j)] = if a == b { out[(i.max(j), i.min(j))] } else { out[(i, j)] + out[(j, i)] };
                }
            }
            square
        };
        let sheared = options.shear_degrees.is_some();
        let (shear, oblique) = (|a, b| sheared.then(|| product(a, b)), options.oblique);
        let stiffness = [
            Some(product(0, 0)),
            Some(product(1, 1)),
            Some(product(2, 2)),
            Some(product(0, 1)),
            oblique.then(|| product(0, 2)),
            oblique.then(|| product(1, 2)),
            shear(3, 3),
            shear(4, 4),
            if oblique { shear(3, 4) } else { None },
        ];
        let rotation = sheared.then(|| {
            let (mut a, b) = (product(6, 6), product(7, 7));
            a.a.iter_mut().zip(&b.a).for_each(|(a, b)| *a += b);
            a
        });
        let rigid = match edges {
            e if e.iter().all(|e| *e == Edge::Free) => 3,
            e if e.contains(&Edge::Clamped) => 0,
            e if e.iter().filter(|e| **e == Edge::Supported).count() == 1 => 1,
            _ => 0,
        };
        Some(Self { translation: product(5, 5), functions, outline: outline.clone(), points, rigid, stiffness, rotation })
    }

    /// Unknowns.
    pub fn unknowns(&self) -> usize {
        self.functions.count()
    }

    fn stiffness(&self, law: &PlateLaw) -> Square {
        let mut k = Square::zeros(self.unknowns());
        for (number, part) in law.numbers().iter().zip(&self.stiffness) {
            if let Some(part) = part {
                k.a.iter_mut().zip(&part.a).for_each(|(k, p)| *k += number * p);
            }
        }
        k
    }

    /// The `count` lowest vibrations that are not rigid motions. `lumps` are point masses (x, y, m). `None` when stiffness
    /// or mass is missing somewhere.
    pub fn modes(&self, law: &PlateLaw, lumps: &[(f64, f64, f64)], count: usize) -> Option<Vec<PlateMode>> {
        let n = self.unknowns();
        let k = self.stiffness(law);
        let mut m = self.translation.clone();
        if let Some(r) = &self.rotation {
            m.a.iter_mut().zip(&r.a).for_each(|(m, r)| *m += r);
        }
        m.a.iter_mut().for_each(|m| *m *= law.density);
        for &(x, y, lump) in lumps {
            let mut w = vec![0.0; n];
            self.functions.at(x, y, |c, f| w[c] = f.deflection);
            for i in 0..n {
                for j in 0..n {
                    m[(i, j)] += lump * w[i] * w[j];
                }
            }
        }
        let modes = dense::lowest_modes(&k, &m, self.shift(law), count + self.rigid)?;
        let out: Vec<PlateMode> = modes
            .into_iter()
            .skip(self.rigid)
            .map(|(omega_squared, mut shape)| {
                let mass = form(&m, &shape).sqrt().max(f64::MIN_POSITIVE);
                shape.iter_mut().for_each(|v| *v /= mass);
                let per_number = std::array::from_fn(|k| self.stiffness[k].as_ref().map_or(0.0, |part| form(part, &shape)));
                PlateMode { omega_squared, per_number, shape }
            })
            .collect();
        out.iter().all(|m| m.omega_squared.is_finite() && m.omega_squared > 0.0).then_some(out)
    }

    /// A value of omega squared of the order of the first mode's.
    fn shift(&self, law: &PlateLaw) -> f64 {
        let [x0, x1, y0, y1] = self.outline.bounds();
        let (mut area, mut volume, mut cube) = (0.0, 0.0, 0.0);
        for p in &self.points {
            area += p.weight;
            volume += p.weight * p.thickness;
            cube += p.weight * p.thickness.powi(3) / 12.0;
        }
        let softest = (law.plane[0][0] / (x1 - x0).powi(4)).min(law.plane[1][1] / (y1 - y0).powi(4));
        100.0 * (softest * cube / area) / (law.density * volume / area)
    }

    /// Deflection of a mode at a place, scaled so that the modal mass is 1.
    pub fn deflection(&self, mode: &PlateMode, x: f64, y: f64) -> f64 {
        let mut w = 0.0;
        self.functions.at(x, y, |c, f| w += mode.shape[c] * f.deflection);
        w
    }

    /// True when the place lies on the plate.
    pub fn holds(&self, x: f64, y: f64) -> bool {
        self.outline.holds(x, y)
    }

    /// The smallest rectangle around the plate: x low, x high, y low, y high.
    pub fn bounds(&self) -> [f64; 4] {
        self.outline.bounds()
    }

    /// Volume.
    pub fn volume(&self) -> f64 {
        self.points.iter().map(|p| p.weight * p.thickness).sum()
    }

    /// Deflection at `(x, y)` under a `pressure` and a force at that same place, edges held. `None` when they do not hold it.
    pub fn sag(&self, law: &PlateLaw, pressure: f64, force: f64, x: f64, y: f64) -> Option<f64> {
        if self.rigid > 0 {
            return None;
        }
        let n = self.unknowns();
        let mut load = vec![0.0; n];
        for p in &self.points {
            self.functions.at(p.x, p.y, |c, f| load[c] += p.weight * pressure * f.deflection);
        }
        let mut seen = vec![0.0; n];
        self.functions.at(x, y, |c, f| seen[c] = f.deflection);
        load.iter_mut().zip(&seen).for_each(|(l, s)| *l += force * s);
        let k = self.stiffness(law);
        let scale: Vec<f64> = (0..n).map(|i| 1.0 / k[(i, i)].max(f64::MIN_POSITIVE).sqrt()).collect();
        let mut scaled = k;
        for i in 0..n {
            for j in 0..n {
                scaled[(i, j)] *= scale[i] * scale[j];
            }
            load[i] *= scale[i];
        }
        let v = dense::solve_positive(&scaled, &load)?;
        Some((0..n).map(|i| v[i] * scale[i] * seen[i]).sum())
    }
}

fn form(m: &Square, v: &[f64]) -> f64 {
    (0..m.n).map(|i| v[i] * m.a[i * m.n..(i + 1) * m.n].iter().zip(v).map(|(a, b)| a * b).sum::<f64>()).sum()
}
