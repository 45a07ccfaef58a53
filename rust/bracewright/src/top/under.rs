//! Loads on the top and what it does under them.

use serde::{Deserialize, Serialize};

use super::{Top, at};
use crate::error::{Error, Result, number, within};
use crate::layout::Point;

/// A load on the top.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "kebab-case")]
pub enum TopLoad {
    /// A dead weight on a round pad, pushing inwards.
    Weight {
        /// Middle of the pad, mm.
        x_mm: f64,
        /// See `x_mm`.
        y_mm: f64,
        /// Diameter of the pad, mm.
        pad_mm: f64,
        /// Force, N.
        load_n: f64,
    },
    /// A force spread evenly over a polygon, pushing inwards.
    Spread {
        /// Its corners in order, mm.
        corners_mm: Vec<Point>,
        /// Force, N.
        load_n: f64,
    },
    /// A force along a straight line, pushing inwards.
    Line {
        /// From where, mm.
        from_mm: Point,
        /// To where, mm.
        to_mm: Point,
        /// Force, N.
        load_n: f64,
    },
    /// Strings on the bridge: their couple about the middle of the top's thickness, pressing at the front of the foot and lifting at
    /// its rear, their pull along the top, and the net press.
    Strings {
        /// Couple, N m.
        couple_n_m: f64,
        /// Pull towards the neck, N.
        pull_n: f64,
        /// Net press inwards, N.
        press_n: f64,
    },
    /// The top's own weight, lying with its outer face up.
    OwnWeight,
}

/// The top under loads. A value: the top and its loads, and what follows from them.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(try_from = "UnderParts", into = "UnderParts")]
pub struct TopUnder {
    top: Top,
    loads: Vec<TopLoad>,
    solved: Vec<f64>,
    work_n_mm: f64,
}

#[derive(Serialize, Deserialize)]
struct UnderParts {
    top: Top,
    loads: Vec<TopLoad>,
}

impl TryFrom<UnderParts> for TopUnder {
    type Error = Error;
    fn try_from(p: UnderParts) -> Result<Self> {
        p.top.under(&p.loads)
    }
}

impl From<TopUnder> for UnderParts {
    fn from(u: TopUnder) -> Self {
        Self { top: u.top, loads: u.loads }
    }
}

impl PartialEq for TopUnder {
    fn eq(&self, other: &Self) -> bool {
        self.top == other.top && self.loads == other.loads
    }
}

/// Part of an area that must lie on the top: the rest may be lost to the straight sides of its mesh.
const WHOLLY: f64 = 0.98;
/// Standard gravity, mm/s2 (CGPM 1901).
const GRAVITY_MM_S2: f64 = 9806.65;

impl Top {
    /// The top under loads.
    pub fn under(&self, loads: &[TopLoad]) -> Result<TopUnder> {
        if loads.is_empty() {
            return Err(Error::BadList { name: "loads".into(), problem: "is empty; give at least one load".into() });
        }
        let mut sum = vec![0.0; self.plate.unknowns()];
        for load in loads {
            sum.iter_mut().zip(self.load(load)?).for_each(|(s, v)| *s += v);
        }
        let factor = self.factored()?;
        let solved = factor.solve(&sum);
        if solved.iter().any(|v| !v.is_finite()) {
            return Err(Error::Refused("the top has next to no stiffness somewhere".into()));
        }
        let work_n_mm = sum.iter().zip(&solved).map(|(f, u)| f * u).sum();
        Ok(TopUnder { top: self.clone(), loads: loads.to_vec(), solved, work_n_mm })
    }

    /// What a load puts on the unknowns.
    pub(super) fn load(&self, load: &TopLoad) -> Result<Vec<f64>> {
        let off = |what: &str, p: Point| Error::AtPlace { problem: format!("{what} lies off the top"), x_mm: p.0, y_mm: p.1 };
        match load {
            TopLoad::Weight { x_mm, y_mm, pad_mm, load_n } => {
                within("load_n", *load_n, "N", -1e5, 1e5)?;
                within("pad_mm", *pad_mm, "mm", 1.0, 200.0)?;
                self.on_top((*x_mm, *y_mm))?;
                let corners: Vec<[f64; 2]> = (0..48)
                    .map(|k| {
                        let (s, c) = (std::f64::consts::TAU * (f64::from(k) + 0.5) / 48.0).sin_cos();
                        [x_mm + 0.5 * pad_mm * c, y_mm + 0.5 * pad_mm * s]
                    })
                    .collect();
                self.plate.pressed_over(&corners, *load_n, [0.0, 1.0], 0.0).ok_or_else(|| off("the pad", (*x_mm, *y_mm)))
            }
            TopLoad::Spread { corners_mm, load_n } => {
                within("load_n", *load_n, "N", -1e5, 1e5)?;
                if corners_mm.len() < 3 || corners_mm.len() > 400 {
                    return Err(Error::BadList {
                        name: "corners_mm".into(),
                        problem: format!("has {} corners; an area has 3 to 400", corners_mm.len()),
                    });
                }
                if let Some(p) = crate::layout::crosses_itself(corners_mm) {
                    return Err(Error::AtPlace {
                        problem: "corners_mm makes an edge that crosses itself; give the corners in order round the area".into(),
                        x_mm: p.0,
                        y_mm: p.1,
                    });
                }
                let corners: Vec<[f64; 2]> = corners_mm.iter().map(|p| at(*p)).collect();
                let first =
                    corners_mm.iter().copied().find(|p| self.mesh.cells.find(p.0, p.1).is_none()).unwrap_or(corners_mm[0]);
                if self.plate.area_in(&corners) < WHOLLY * crate::layout::signed_area(corners_mm).abs() {
                    return Err(off("a part of the area", first));
                }
                self.plate.pressed_over(&corners, *load_n, [0.0, 1.0], 0.0).ok_or_else(|| off("the area", first))
            }
            TopLoad::Line { from_mm, to_mm, load_n } => {
                within("load_n", *load_n, "N", -1e5, 1e5)?;
                if let Some(p) = [*from_mm, *to_mm].into_iter().find(|p| !(p.0.is_finite() && p.1.is_finite())) {
                    return Err(off("an end of the line", p));
                }
                let on_line = |k: i32| {
                    let t = f64::from(k) / 400.0;
                    (from_mm.0 + t * (to_mm.0 - from_mm.0), from_mm.1 + t * (to_mm.1 - from_mm.1))
                };
                let lost = || (0..=400).map(on_line).find(|p| self.mesh.cells.find(p.0, p.1).is_none()).unwrap_or(*from_mm);
                self.plate.pressed_along(at(*from_mm), at(*to_mm), *load_n).ok_or_else(|| off("a part of the line", lost()))
            }
            TopLoad::Strings { couple_n_m, pull_n, press_n } => {
                within("couple_n_m", *couple_n_m, "N m", -200.0, 200.0)?;
                within("pull_n", *pull_n, "N", -1e4, 1e4)?;
                within("press_n", *press_n, "N", -1e4, 1e4)?;
                let bridge = self
                    .layout
                    .parts()
                    .bridge
                    .as_ref()
                    .ok_or_else(|| Error::Refused("strings are to pull but the layout has no bridge".into()))?;
                let foot = bridge.foot_mm().map(at);
                let back = {
                    let (a, b) = (bridge.place(0.0, 0.0), bridge.place(0.0, 1.0));
                    [b.0 - a.0, b.1 - a.1]
                };
                let lost = || off("the bridge's foot", bridge.middle());
                // positive turns the front of the foot inwards: more press there
                let mut out = self.plate.pressed_over(&foot, *press_n, back, -1000.0 * couple_n_m).ok_or_else(lost)?;
                let pull = self.plate.pulled_over(&foot, [-pull_n * back[0], -pull_n * back[1]]).ok_or_else(lost)?;
                out.iter_mut().zip(pull).for_each(|(a, b)| *a += b);
                Ok(out)
            }
            TopLoad::OwnWeight => {
                let plan = self.plate.plan(&[]);
                let mass = self.plate.mass_by(&plan);
                Ok(mass.times(&self.up()).iter().map(|m| m * GRAVITY_MM_S2).collect())
            }
        }
    }

    fn on_top(&self, p: Point) -> Result<()> {
        self.mesh.cells.find(p.0, p.1).map(|_| ()).ok_or_else(|| Error::AtPlace {
            problem: "the place lies off the top".into(),
            x_mm: p.0,
            y_mm: p.1,
        })
    }

    /// What of the unknowns is read as the turn of the bridge, radians, positive where its front goes inwards: the best straight
    /// line through the deflections under its foot.
    pub(super) fn turn_of_bridge(&self) -> Result<Vec<f64>> {
        let bridge = self.layout.parts().bridge.as_ref().ok_or_else(|| Error::Refused("the layout has no bridge".into()))?;
        let (a, b) = (bridge.place(0.0, 0.0), bridge.place(0.0, 1.0));
        let back = [b.0 - a.0, b.1 - a.1];
        let foot = bridge.foot_mm().map(at);
        self.plate.pressed_over(&foot, 0.0, back, -1.0).ok_or_else(|| Error::AtPlace {
            problem: "the bridge's foot lies off the top".into(),
            x_mm: bridge.x_mm,
            y_mm: bridge.y_mm,
        })
    }
}

impl TopUnder {
    /// The top.
    pub fn top(&self) -> &Top {
        &self.top
    }

    /// The loads.
    pub fn loads(&self) -> &[TopLoad] {
        &self.loads
    }

    /// Deflections at places, mm, inwards.
    pub fn deflection_mm(&self, x_mm: &[f64], y_mm: &[f64]) -> Result<Vec<f64>> {
        crate::error::same_length("x_mm", x_mm.len(), "y_mm", y_mm.len())?;
        x_mm.iter()
            .zip(y_mm)
            .map(|(x, y)| {
                self.top.on_top((*x, *y))?;
                self.top.plate.deflection(&self.solved, *x, *y).ok_or_else(|| Error::AtPlace {
                    problem: "the place lies off the top".into(),
                    x_mm: *x,
                    y_mm: *y,
                })
            })
            .collect()
    }

    /// Deflection at every place of the mesh, as [`Top::drawn`] has them, mm.
    pub fn drawn_mm(&self) -> Vec<f64> {
        (0..self.top.plate.cells().nodes.len()).map(|n| self.solved[self.top.plate.deflection_of(n)]).collect()
    }

    /// Turn of the bridge, degrees, positive where its front goes inwards, as strings turn it.
    pub fn bridge_turn_deg(&self) -> Result<f64> {
        let read = self.top.turn_of_bridge()?;
        Ok(read.iter().zip(&self.solved).map(|(r, u)| r * u).sum::<f64>().to_degrees())
    }

    /// Work of the loads on the deflections they make, N mm.
    pub fn work_n_mm(&self) -> f64 {
        self.work_n_mm
    }

    /// Greatest deflection at a place of the mesh, mm, either way, and where.
    pub fn greatest_mm(&self) -> (f64, Point) {
        let cells = self.top.plate.cells();
        let of = |n: usize| self.solved[self.top.plate.deflection_of(n)];
        let n = (0..cells.nodes.len()).max_by(|a, b| of(*a).abs().total_cmp(&of(*b).abs())).unwrap_or(0);
        (of(n), (cells.nodes[n][0], cells.nodes[n][1]))
    }

    /// Stress along a brace at places along it, MPa, tension positive, at a part of its height from 0, the glue face, to 1, the
    /// crest.
    pub fn brace_stress_mpa(&self, name: &str, along_mm: &[f64], part: f64) -> Result<Vec<f64>> {
        within("part", part, "", 0.0, 1.0)?;
        let (i, placed) = self.top.layout.brace(name)?;
        let (from, to) = (self.top.starts_mm[i], self.top.starts_mm[i] + self.top.meshed_length(i));
        let places: Vec<(f64, f64, f64)> = along_mm
            .iter()
            .map(|s| {
                let x = within("along_mm", *s, "mm", 0.0, placed.length_mm())? + placed.offset_mm;
                let x = x.clamp(from, to);
                Ok((x, x.clamp(from + 1e-6, to - 1e-6), part))
            })
            .collect::<Result<_>>()?;
        let all = self.top.plate.rib_stresses(&self.solved, i, &places);
        let all = all.ok_or_else(|| Error::Refused(format!("a place along {} is not meshed", placed.name)))?;
        Ok(all.iter().map(|s| s[0]).collect())
    }

    /// Stress of the top at places, MPa: along its grain, across it, and in shear, on its inner face (`part` 1) or outer (-1).
    pub fn plate_stress_mpa(&self, x_mm: &[f64], y_mm: &[f64], part: f64) -> Result<Vec<[f64; 3]>> {
        within("part", part, "", -1.0, 1.0)?;
        crate::error::same_length("x_mm", x_mm.len(), "y_mm", y_mm.len())?;
        let (s, c) = self.top.layout.parts().grain_angle_deg.to_radians().sin_cos();
        x_mm.iter()
            .zip(y_mm)
            .map(|(x, y)| {
                self.top.on_top((*x, *y))?;
                let stress = self.top.plate.plate_stress(&self.solved, *x, *y, part);
                let [xx, yy, xy] = stress
                    .ok_or_else(|| Error::Refused(format!("the place ({}, {}) mm lies off the top", number(*x), number(*y))))?;
                // the grain's direction is (s, c)
                Ok([
                    s * s * xx + c * c * yy + 2.0 * s * c * xy,
                    c * c * xx + s * s * yy - 2.0 * s * c * xy,
                    s * c * (xx - yy) + (c * c - s * s) * xy,
                ])
            })
            .collect()
    }
}

impl Top {
    /// Length of a brace that is meshed, mm.
    pub(super) fn meshed_length(&self, brace: usize) -> f64 {
        let rib = &self.plate.ribs()[brace];
        let s = |c: usize| {
            self.mesh.cells.corners_of(c).map(|p| rib.local(p)[0]).fold((f64::MAX, f64::MIN), |a, x| (a.0.min(x), a.1.max(x)))
        };
        let (first, last) = (rib.cells.first().copied(), rib.cells.last().copied());
        match (first, last) {
            (Some(a), Some(b)) => s(b).1 - s(a).0,
            _ => 0.0,
        }
    }
}
