//! What a brace would weigh and read at any depth of its plan, solved once by the depth-resolved beam.

use rayon::prelude::*;

use crate::belief::{hermite_slopes, hermite_weights};
use crate::brace::Brace;
use crate::carve::Plan;
use crate::error::{Result, within};
use crate::rig::Rig;
use crate::wood::Quantity;

/// Depths at which the brace is solved.
const DEPTHS: usize = 13;
/// Step of the logarithm of the shear ratio about its middle; the curves are parabolas through three of them.
const RATIO_STEP: f64 = 0.3;

/// One quantity over depth: the logarithm, its slope and its curvature in the logarithm of the shear ratio, each with its
/// own slopes over depth.
#[derive(Debug, Clone, PartialEq)]
struct Curve {
    node: Vec<[[f64; 2]; 3]>,
}

impl Curve {
    /// From logarithms at ratios one step below, at and above the middle.
    fn new(depth_mm: &[f64], ln: &[[f64; 3]]) -> Self {
        let h = RATIO_STEP;
        let parts: [Vec<f64>; 3] = [
            ln.iter().map(|v| v[1]).collect(),
            ln.iter().map(|v| (v[2] - v[0]) / (2.0 * h)).collect(),
            ln.iter().map(|v| (v[2] - 2.0 * v[1] + v[0]) / (2.0 * h * h)).collect(),
        ];
        let slopes: [Vec<f64>; 3] = [0, 1, 2].map(|k| hermite_slopes(depth_mm, &parts[k], k == 0));
        Self { node: (0..depth_mm.len()).map(|i| [0, 1, 2].map(|k| [parts[k][i], slopes[k][i]])).collect() }
    }

    /// Value, and its slopes in depth and in the logarithm of the ratio.
    fn at(&self, depth_mm: &[f64], depth: f64, ratio: f64) -> (f64, f64, f64) {
        const H: f64 = 1e-4;
        let part = |d: f64| {
            let (i, w) = hermite_weights(depth_mm, d);
            [0, 1, 2].map(|k| {
                let (a, b) = (self.node[i][k], self.node[i + 1][k]);
                w[0] * a[0] + w[1] * a[1] + w[2] * b[0] + w[3] * b[1]
            })
        };
        let value = |p: [f64; 3]| p[0] + ratio * (p[1] + ratio * p[2]);
        let here = part(depth);
        let slope = (value(part(depth + H)) - value(part(depth - H))) / (2.0 * H);
        (value(here), slope, here[1] + 2.0 * ratio * here[2])
    }
}

/// The curves of one plan on one rig: compliance, first free frequency and mass over the depth of the layers removed, at the
/// modulus and density of the plan's own blank.
///
/// Both scale exactly with the modulus, frequency also with the density; the ratio of shear to Young's modulus enters as a
/// parabola of the logarithm, good to a thousandth from half to twice the wood's own.
#[derive(Debug, Clone, PartialEq)]
pub struct Curves {
    depth_mm: Vec<f64>,
    compliance: Curve,
    frequency: Option<Curve>,
    mass_g: Vec<[f64; 2]>,
    modulus_gpa: f64,
    density_kg_m3: f64,
    load_n: f64,
}

impl Curves {
    /// Solves the plan at evenly spread depths. `frequency` asks for the first free bending frequency as well, which takes
    /// several times as long.
    pub fn new(plan: &Plan, rig: &Rig, frequency: bool) -> Result<Self> {
        let whole = plan.whole_depth_mm();
        within("whole depth of the plan", whole, "mm", 1e-3, 1000.0)?;
        let depth_mm: Vec<f64> = (0..DEPTHS).map(|k| whole * k as f64 / (DEPTHS - 1) as f64).collect();
        let solved = depth_mm
            .par_iter()
            .map(|&d| {
                let b = plan.at_depth(d)?;
                let (mut ln_c, mut ln_f) = ([0.0; 3], [0.0; 3]);
                for (k, v) in ln_c.iter_mut().enumerate() {
                    *v = rig.resolved_compliance(&at_ratio(&b, k)?)?.ln();
                }
                if frequency {
                    for (k, v) in ln_f.iter_mut().enumerate() {
                        *v = at_ratio(&b, k)?.first_frequency_hz()?.ln();
                    }
                }
                Ok((ln_c, ln_f, b.mass_g()?))
            })
            .collect::<Result<Vec<([f64; 3], [f64; 3], f64)>>>()?;
        let (mut ln_c, mut ln_f) = (Vec::new(), Vec::new());
        for (c, f, _) in &solved {
            // a layer that touches nothing between the supports leaves the answer at rounding
            let last = ln_c.last().copied().unwrap_or([f64::NEG_INFINITY; 3]);
            ln_c.push([0, 1, 2].map(|k: usize| c[k].max(last[k] + 1e-12)));
            ln_f.push(*f);
        }
        let mass: Vec<f64> = solved.iter().map(|s| s.2).collect();
        let slopes = hermite_slopes(&depth_mm, &mass, true);
        let blank = plan.start.blank();
        Ok(Self {
            compliance: Curve::new(&depth_mm, &ln_c),
            frequency: frequency.then(|| Curve::new(&depth_mm, &ln_f)),
            mass_g: mass.iter().zip(&slopes).map(|(m, s)| [*m, *s]).collect(),
            depth_mm,
            modulus_gpa: blank.modulus_gpa(),
            density_kg_m3: blank.density_kg_m3(),
            load_n: rig.load_n() * rig.dial_scale().0,
        })
    }

    /// Whole depth of the plan, mm.
    pub fn whole_depth_mm(&self) -> f64 {
        self.depth_mm[self.depth_mm.len() - 1]
    }

    /// Modulus the curves were solved at, GPa.
    pub fn modulus_gpa(&self) -> f64 {
        self.modulus_gpa
    }

    /// Density they were solved at, kg/m3.
    pub fn density_kg_m3(&self) -> f64 {
        self.density_kg_m3
    }

    /// Load of the rig, N, by its dial's scale.
    pub fn load_n(&self) -> f64 {
        self.load_n
    }

    /// True when a frequency can be asked for.
    pub fn has_frequency(&self) -> bool {
        self.frequency.is_some()
    }

    /// Logarithm of the brace's own compliance, mm/N, at the curves' modulus, with its slopes in depth (1/mm) and in the
    /// logarithm of the shear ratio over the wood's own. Beyond the plan it goes on in a straight line.
    pub fn ln_compliance(&self, depth_mm: f64, ln_ratio: f64) -> (f64, f64, f64) {
        self.compliance.at(&self.depth_mm, depth_mm, ln_ratio)
    }

    /// The same of the first free bending frequency, Hz; `None` where the curves were made without it.
    pub fn ln_frequency(&self, depth_mm: f64, ln_ratio: f64) -> Option<(f64, f64, f64)> {
        self.frequency.as_ref().map(|f| f.at(&self.depth_mm, depth_mm, ln_ratio))
    }

    /// Mass left, g, at the curves' density, and its slope, g/mm.
    pub fn mass_g(&self, depth_mm: f64) -> (f64, f64) {
        const H: f64 = 1e-4;
        let at = |d: f64| {
            let (i, w) = hermite_weights(&self.depth_mm, d);
            let (a, b) = (self.mass_g[i], self.mass_g[i + 1]);
            w[0] * a[0] + w[1] * a[1] + w[2] * b[0] + w[3] * b[1]
        };
        (at(depth_mm), (at(depth_mm + H) - at(depth_mm - H)) / (2.0 * H))
    }
}

/// The brace with its shear ratios one step below (0), at (1) or above (2) the wood's own.
fn at_ratio(brace: &Brace, k: usize) -> Result<Brace> {
    let factor = (RATIO_STEP * (k as f64 - 1.0)).exp();
    if k == 1 {
        return Ok(brace.clone());
    }
    let blank = brace.blank();
    let wood = blank.wood();
    let mut changed = wood.clone();
    for q in [Quantity::GltEl, Quantity::GlrEl] {
        if let Some(v) = wood.value(q) {
            changed = changed.with_value(q, v * factor)?;
        }
    }
    brace.with_blank(&blank.with_wood(&changed)?)
}
