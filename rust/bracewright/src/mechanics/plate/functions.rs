//! The functions a plate's deflection and shear strains are made of.

use super::{Edge, PlateOptions};
use crate::mechanics::quadrature::legendre;

/// What one function is at a point.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(super) struct At {
    pub deflection: f64,
    /// Turn of the normal about y and x: psi_x, psi_y.
    pub turn: [f64; 2],
    /// psi_x,x, psi_y,y, psi_x,y + psi_y,x.
    pub curvature: [f64; 3],
    /// Shear strain through the thickness: xz, yz.
    pub shear: [f64; 2],
}

#[derive(Debug, Clone, Copy, PartialEq)]
enum Kind {
    /// A deflection whose normals stay square to the plate.
    Bending,
    /// A deflection whose normals stay upright.
    Upright,
    /// A shear strain in x or y, or a turn the other way.
    Turn(usize),
}

/// A family: all products of Legendre polynomials to a degree, times a factor that vanishes on held edges.
#[derive(Debug, Clone, PartialEq)]
struct Family {
    kind: Kind,
    /// In x and in y.
    degree: [usize; 2],
    /// Powers of (1 + s)(1 - s) (1 + t)(1 - t); of the rim (1 - s2 - t2) first for an ellipse.
    powers: [i32; 4],
}

#[derive(Debug, Clone, PartialEq)]
pub(super) struct Functions {
    bounds: [f64; 4],
    round: bool,
    families: Vec<Family>,
}

/// Value, first and second derivatives.
type Jet = [f64; 3];

impl Functions {
    pub fn new(bounds: [f64; 4], round: bool, edges: [Edge; 4], options: PlateOptions) -> Self {
        let degree = options.degree.clamp(2, 30);
        let with_turns = options.shear_degrees.is_some() && edges.contains(&Edge::Clamped);
        let deflection = edges.map(|e| match e {
            Edge::Free => 0,
            Edge::Supported => 1,
            Edge::Clamped => 2 - i32::from(with_turns),
        });
        let kind = if with_turns { Kind::Upright } else { Kind::Bending };
        let mut families = vec![Family { kind, degree: [degree; 2], powers: deflection }];
        if let Some(d) = options.shear_degrees {
            let [own, across] = d.map(|d| d.clamp(1, 30));
            for axis in 0..2 {
                // a supported edge keeps the turn along itself: that of the other axis' edges
                let powers = std::array::from_fn(|k| match edges[k] {
                    Edge::Free => 0,
                    Edge::Supported => i32::from(k / 2 != axis),
                    Edge::Clamped => 1,
                });
                let degree = if axis == 0 { [own, across] } else { [across, own] };
                families.push(Family { kind: Kind::Turn(axis), degree, powers });
            }
        }
        Self { bounds, round, families }
    }

    fn per_family(&self, f: &Family) -> usize {
        let [a, b] = f.degree;
        // an ellipse takes the products up to one degree in all
        if self.round { (0..=a).map(|i| (a.max(b) + 1 - i).min(b + 1)).sum() } else { (a + 1) * (b + 1) }
    }

    pub fn count(&self) -> usize {
        self.families.iter().map(|f| self.per_family(f)).sum()
    }

    /// Highest degree in one direction, factors counted.
    pub fn highest_degree(&self) -> usize {
        let of = |f: &Family| {
            let p = &f.powers;
            let extra = if self.round { 2 * p[0] } else { (p[0] + p[1]).max(p[2] + p[3]) };
            f.degree[0].max(f.degree[1]) + extra.max(0) as usize
        };
        self.families.iter().map(of).max().unwrap_or(0)
    }

    /// Calls `f` with the number and the values of every function at a place.
    pub fn at(&self, x: f64, y: f64, mut f: impl FnMut(usize, &At)) {
        let [x0, x1, y0, y1] = self.bounds;
        let (hx, hy) = (0.5 * (x1 - x0), 0.5 * (y1 - y0));
        let (s, t) = ((x - x0) / hx - 1.0, (y - y0) / hy - 1.0);
        let mut number = 0;
        for family in &self.families {
            let [nx, ny] = family.degree.map(|d| d + 1);
            let p = &family.powers;
            let rim = if self.round { [0, 0, 0, 0] } else { *p };
            let (a, b) = (jets(s, nx, rim[0], rim[1], hx), jets(t, ny, rim[2], rim[3], hy));
            let factor = self.round.then(|| rim_factor(s, t, p[0], hx, hy));
            for i in 0..nx {
                for j in 0..if self.round { (nx.max(ny) - i).min(ny) } else { ny } {
                    // value, x, y, xx, xy, yy
                    let mut v = [
                        a[i][0] * b[j][0],
                        a[i][1] * b[j][0],
                        a[i][0] * b[j][1],
                        a[i][2] * b[j][0],
                        a[i][1] * b[j][1],
                        a[i][0] * b[j][2],
                    ];
                    if let Some(q) = &factor {
                        v = [
                            q[0] * v[0],
                            q[1] * v[0] + q[0] * v[1],
                            q[2] * v[0] + q[0] * v[2],
                            q[3] * v[0] + 2.0 * q[1] * v[1] + q[0] * v[3],
                            q[4] * v[0] + q[1] * v[2] + q[2] * v[1] + q[0] * v[4],
                            q[5] * v[0] + 2.0 * q[2] * v[2] + q[0] * v[5],
                        ];
                    }
                    f(number, &family.kind.at(&v));
                    number += 1;
                }
            }
        }
    }
}

impl Kind {
    fn at(self, v: &[f64; 6]) -> At {
        match self {
            Self::Bending => At { deflection: v[0], turn: [v[1], v[2]], curvature: [v[3], v[5], 2.0 * v[4]], shear: [0.0; 2] },
            Self::Upright => At { deflection: v[0], shear: [v[1], v[2]], ..At::default() },
            Self::Turn(0) => At { turn: [-v[0], 0.0], curvature: [-v[1], 0.0, -v[2]], shear: [v[0], 0.0], ..At::default() },
            Self::Turn(_) => At { turn: [0.0, -v[0]], curvature: [0.0, -v[2], -v[1]], shear: [0.0, v[0]], ..At::default() },
        }
    }
}

/// Legendre polynomials at s times (1 + s)^low (1 - s)^high, with derivatives by a length of which `half` is one unit of s.
fn jets(s: f64, n: usize, low: i32, high: i32, half: f64) -> Vec<Jet> {
    let (mut p, mut dp) = (vec![0.0; n], vec![0.0; n]);
    legendre(s, &mut p, &mut dp);
    let mut ddp = vec![0.0; n];
    for k in 2..n {
        ddp[k] = ddp[k - 2] + (2 * k - 1) as f64 * dp[k - 1];
    }
    let power = |u: f64, sign: f64, k: i32| -> Jet {
        let kf = f64::from(k);
        [
            u.powi(k),
            if k > 0 { sign * kf * u.powi(k - 1) } else { 0.0 },
            if k > 1 { kf * (kf - 1.0) * u.powi(k - 2) } else { 0.0 },
        ]
    };
    let times =
        |a: Jet, b: Jet| -> Jet { [a[0] * b[0], a[1] * b[0] + a[0] * b[1], a[2] * b[0] + 2.0 * a[1] * b[1] + a[0] * b[2]] };
    let q = times(power(1.0 + s, 1.0, low), power(1.0 - s, -1.0, high));
    (0..n)
        .map(|k| {
            let v = times(q, [p[k], dp[k], ddp[k]]);
            [v[0], v[1] / half, v[2] / (half * half)]
        })
        .collect()
}

/// (1 - s2 - t2)^k with its derivatives x, y, xx, xy, yy.
fn rim_factor(s: f64, t: f64, k: i32, hx: f64, hy: f64) -> [f64; 6] {
    let u = 1.0 - s * s - t * t;
    let (ux, uy) = (-2.0 * s / hx, -2.0 * t / hy);
    let kf = f64::from(k);
    let first = if k > 0 { kf * u.powi(k - 1) } else { 0.0 };
    let second = if k > 1 { kf * (kf - 1.0) * u.powi(k - 2) } else { 0.0 };
    [
        u.powi(k),
        first * ux,
        first * uy,
        second * ux * ux - 2.0 * first / (hx * hx),
        second * ux * uy,
        second * uy * uy - 2.0 * first / (hy * hy),
    ]
}
