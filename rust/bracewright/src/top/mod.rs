//! The whole braced top: how far it bends, how the bridge turns, which modes it has, and where shaving it does what.
//!
//! A [`Top`] is a [`Layout`] meshed and held at its rim. z runs inwards, towards the braces; deflections are positive inwards, as
//! a load on the outer face pushes.

mod build;
mod mesh;
mod modes;
mod shave;
mod under;

use serde::{Deserialize, Serialize};

pub use mesh::{MeshSize, TopMesh};
pub use modes::{TopMode, TopModes};
pub use shave::{BraceShave, PlateShave, Shaving};
pub use under::{TopLoad, TopUnder};

use crate::error::{Error, Result, number, within};
use crate::layout::{Layout, Point};
use crate::mechanics::ribbed::{Factor, Mass, Ribbed};
use crate::wood::Wood;

/// How the top is held at its outline.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "kebab-case")]
pub enum Rim {
    /// Not at all.
    Free,
    /// Held up and down over its thickness; free to slide in its plane and to turn.
    Resting,
    /// Held up and down and in its plane; free to turn.
    Hinged,
    /// Glued to something that does not give.
    Clamped,
    /// Held up and down; on springs in its plane and against turning.
    Elastic {
        /// Force in the plane per length and slide, N/mm2.
        in_plane_n_mm2: f64,
        /// Moment per length and turn, N.
        turning_n: f64,
    },
}

impl Rim {
    /// Its word.
    pub fn name(self) -> &'static str {
        match self {
            Rim::Free => "free",
            Rim::Resting => "resting",
            Rim::Hinged => "hinged",
            Rim::Clamped => "clamped",
            Rim::Elastic { .. } => "elastic",
        }
    }

    /// Of that word; springs go with "elastic" and with nothing else.
    pub fn of(name: &str, in_plane_n_mm2: Option<f64>, turning_n: Option<f64>) -> Result<Self> {
        let elastic = Rim::Elastic { in_plane_n_mm2: in_plane_n_mm2.unwrap_or(0.0), turning_n: turning_n.unwrap_or(0.0) };
        let all = [Rim::Free, Rim::Resting, Rim::Hinged, Rim::Clamped, elastic];
        let found = all.into_iter().find(|r| r.name() == name.trim());
        let rim = found.ok_or_else(|| crate::error::unknown_name("rim", name, all.map(Rim::name)))?;
        let springs = in_plane_n_mm2.is_some() || turning_n.is_some();
        if springs != matches!(rim, Rim::Elastic { .. }) {
            return Err(Error::Refused(format!(
                "rim is {name:?}; in_plane_n_mm2 and turning_n go with an elastic rim, which needs at least one of them"
            )));
        }
        Ok(rim)
    }
}

/// The bridge as a part of the top.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct BridgePart {
    /// Its wood; grain along the foot.
    pub wood: Wood,
    /// Its thickness, even over the foot, mm.
    pub thickness_mm: f64,
    /// Its mass if weighed, g; else by the wood's density.
    pub mass_g: Option<f64>,
}

impl BridgePart {
    /// Of its wood and thickness, both given or neither; its mass goes with them.
    pub fn of(wood: Option<&Wood>, thickness_mm: Option<f64>, mass_g: Option<f64>) -> Result<Option<Self>> {
        match (wood, thickness_mm) {
            (Some(wood), Some(thickness_mm)) => Ok(Some(Self { wood: wood.clone(), thickness_mm, mass_g })),
            (None, None) if mass_g.is_none() => Ok(None),
            _ => Err(Error::Refused(
                "a bridge needs bridge_wood and bridge_thickness_mm, both; bridge_mass_g goes with them".into(),
            )),
        }
    }
}

/// How a top is modelled.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct TopOptions {
    /// How it is held.
    pub rim: Rim,
    /// The bridge glued on, if it is.
    pub bridge: Option<BridgePart>,
    /// Fineness of the mesh against the usual one: 2 has cells of half the size, 0.25 to 4.
    pub fineness: f64,
}

impl Default for TopOptions {
    fn default() -> Self {
        Self { rim: Rim::Hinged, bridge: None, fineness: 1.0 }
    }
}

/// A meshed top, ready for loads and modes. A value: its layout and options, and what follows from them.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(try_from = "TopParts", into = "TopParts")]
pub struct Top {
    layout: Layout,
    options: TopOptions,
    mesh: TopMesh,
    plate: Ribbed,
    held: Vec<usize>,
    /// The same without what only keeps it from moving as a whole in its plane.
    held_upright: Vec<usize>,
    /// Where the mesh of each brace starts along the brace itself, mm.
    starts_mm: Vec<f64>,
}

#[derive(Serialize, Deserialize)]
struct TopParts {
    layout: Layout,
    options: TopOptions,
}

impl TryFrom<TopParts> for Top {
    type Error = Error;
    fn try_from(p: TopParts) -> Result<Self> {
        Self::new(&p.layout, &p.options)
    }
}

impl From<Top> for TopParts {
    fn from(t: Top) -> Self {
        Self { layout: t.layout, options: t.options }
    }
}

impl PartialEq for Top {
    fn eq(&self, other: &Self) -> bool {
        self.layout == other.layout && self.options == other.options
    }
}

/// What the mesh of a top is like.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct MeshReport {
    /// Cells.
    pub cells: usize,
    /// Unknowns that are solved for.
    pub unknowns: usize,
    /// Least angle of a triangle, degrees.
    pub least_angle_deg: f64,
    /// Where it is, mm.
    pub least_angle_x_mm: f64,
    /// See `least_angle_x_mm`.
    pub least_angle_y_mm: f64,
    /// Lines that the mesh does not follow, as sentences.
    pub left_out: Vec<String>,
}

impl Top {
    /// Meshes a layout. Half-laps are bonded; the bridge is a part of it only where `options` say of what.
    pub fn new(layout: &Layout, options: &TopOptions) -> Result<Self> {
        within("fineness", options.fineness, "", 0.25, 4.0)?;
        if let Rim::Elastic { in_plane_n_mm2, turning_n } = options.rim {
            within("in_plane_n_mm2", in_plane_n_mm2, "N/mm2", 0.0, 1e6)?;
            within("turning_n", turning_n, "N", 0.0, 1e9)?;
        }
        if let Some(b) = &options.bridge {
            within("bridge_thickness_mm", b.thickness_mm, "mm", 1.0, 30.0)?;
            if let Some(m) = b.mass_g {
                within("bridge_mass_g", m, "g", 1.0, 200.0)?;
            }
            if layout.parts().bridge.is_none() {
                return Err(Error::Refused("a bridge is to be glued on but the layout has none".into()));
            }
        }
        build::built(layout, options)
    }

    /// The layout.
    pub fn layout(&self) -> &Layout {
        &self.layout
    }

    /// How it is modelled.
    pub fn options(&self) -> &TopOptions {
        &self.options
    }

    /// The mesh.
    pub fn mesh(&self) -> &TopMesh {
        &self.mesh
    }

    /// What the mesh is like.
    pub fn mesh_report(&self) -> MeshReport {
        let m = &self.mesh;
        MeshReport {
            cells: m.cells.cells.len(),
            unknowns: self.plate.unknowns() - self.held.len(),
            least_angle_deg: m.least_angle_deg,
            least_angle_x_mm: m.least_angle_at_mm.0,
            least_angle_y_mm: m.least_angle_at_mm.1,
            left_out: m
                .left_out
                .iter()
                .map(|(p, what)| format!("{what} at ({}, {}) mm is no line of the mesh", number(round(p.0)), number(round(p.1))))
                .collect(),
        }
    }

    /// Places of the mesh, mm, and small triangles between them, three places each: what a picture of values at the places is drawn
    /// on.
    pub fn drawn(&self) -> (Vec<f64>, Vec<f64>, Vec<[usize; 3]>) {
        let cells = self.plate.cells();
        let (x, y) = cells.nodes.iter().map(|p| (p[0], p[1])).unzip();
        let mut out = Vec::new();
        for nodes in &cells.of_cell {
            if nodes.len() == 10 {
                const SMALL: [[usize; 3]; 9] =
                    [[0, 3, 8], [3, 9, 8], [3, 4, 9], [4, 5, 9], [4, 1, 5], [8, 9, 7], [9, 6, 7], [9, 5, 6], [7, 6, 2]];
                out.extend(SMALL.map(|t| t.map(|k| nodes[k])));
            } else {
                for j in 0..3 {
                    for i in 0..3 {
                        let [a, b, c, d] = [4 * j + i, 4 * j + i + 1, 4 * (j + 1) + i + 1, 4 * (j + 1) + i].map(|k| nodes[k]);
                        out.extend([[a, b, c], [a, c, d]]);
                    }
                }
            }
        }
        (x, y, out)
    }

    /// Mass of all that is modelled, g.
    pub fn mass_g(&self) -> f64 {
        let plan = self.plate.plan(&[]);
        let mass = self.plate.mass_by(&plan);
        let up = self.up();
        up.iter().zip(mass.times(&up)).map(|(a, b)| a * b).sum::<f64>() * 1e6
    }

    /// A unit of deflection everywhere.
    fn up(&self) -> Vec<f64> {
        let mut out = vec![0.0; self.plate.unknowns()];
        (0..self.plate.cells().nodes.len()).for_each(|n| out[self.plate.deflection_of(n)] = 1.0);
        out
    }

    fn factored(&self) -> Result<Factor> {
        if self.options.rim == Rim::Free {
            return Err(Error::Refused(
                "the rim is free: a top held nowhere has no deflection; choose how it is held, or ask for its modes".into(),
            ));
        }
        self.plate.factor(&self.held).ok_or_else(|| Error::Refused("the top is not held, or has no stiffness somewhere".into()))
    }

    /// How many ways there are for the top to move as a whole: six where it is free, three where it only rests.
    fn loose(&self) -> usize {
        match self.options.rim {
            Rim::Free => 6,
            Rim::Resting => 3,
            Rim::Elastic { in_plane_n_mm2: 0.0, .. } => 3,
            _ => 0,
        }
    }

    /// The stiffness with a mass added that makes it one of a held thing, for the modes, and how much of it.
    fn factored_for_modes(&self) -> Result<(Factor, Mass, f64)> {
        let loose = self.loose();
        // what keeps a load from sliding the top away must not hold its modes
        let held = if loose == 0 { &self.held } else { &self.held_upright };
        let plan = self.plate.plan(held);
        let mass = self.plate.mass_by(&plan);
        // a shift at some 30 Hz keeps the factor, far below any bending
        let shift = if loose > 0 { (2.0 * std::f64::consts::PI * 30.0_f64).powi(2) } else { 0.0 };
        let with = (shift > 0.0).then_some((&mass, shift));
        let factor =
            self.plate.factor_by(plan, with).ok_or_else(|| Error::Refused("the top has no stiffness somewhere".into()))?;
        Ok((factor, mass, shift))
    }
}

fn round(v: f64) -> f64 {
    (10.0 * v).round() / 10.0
}

/// A point of the plane as the mechanics has it.
fn at(p: Point) -> [f64; 2] {
    [p.0, p.1]
}
