//! What a brace would weigh and read at any depth of its plan, solved once by the depth-resolved beam.

use rayon::prelude::*;

use crate::belief::{HermiteSurface, even_hermite_weights, hermite_slopes, hermite_weights};
use crate::brace::Brace;
use crate::carve::Plan;
use crate::error::{Result, within};
use crate::fit::Beam;
use crate::mechanics::pieces::Pieces;
use crate::rig::Rig;
use crate::wood::Quantity;

/// Depths at which the brace is solved.
const DEPTHS: usize = 13;
/// Depths at which a layer that came out too deep is tried, and how much too deep, mm.
const SLIPS: usize = 5;
const SLIP_MM: f64 = 0.1;
/// A large slip, which tells how much the softening grows with it, mm; no more than a part of the least height.
const LARGE_SLIP_MM: f64 = 1.0;
const SLIP_OF_HEIGHT: f64 = 0.25;
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

/// The curves at the end of a pass.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct PassCurves {
    ln_compliance: [f64; 3],
    /// Softening by each mm the layers before came out too deep.
    pub slip_before: f64,
    /// The same of this layer.
    pub slip_last: f64,
    /// How much both grow with the slip, 1/mm.
    pub growth: f64,
}

impl PassCurves {
    /// Logarithm of the compliance and its slope, in the logarithm of the shear ratio.
    pub fn ln_compliance(&self, ln_ratio: f64) -> (f64, f64) {
        let [a, b, c] = self.ln_compliance;
        (a + ln_ratio * (b + ln_ratio * c), b + 2.0 * ln_ratio * c)
    }

    /// What the hand took beyond its aims adds to ln compliance, and its slopes, 1/mm.
    pub fn slipped(&self, before_mm: f64, last_mm: f64) -> (f64, f64, f64) {
        let slip = before_mm + last_mm;
        // (exp(2 g s) - 1) / (2 g s), which is 1 + g s for a small slip and rises for any
        let e = 2.0 * self.growth * slip;
        let (grown, by_e) = if e.abs() < 1e-3 {
            (1.0 + 0.5 * e, 0.5)
        } else {
            let m = e.exp_m1();
            (m / e, (m + 1.0 - m / e) / e)
        };
        let plain = self.slip_before * before_mm + self.slip_last * last_mm;
        let more = plain * by_e * 2.0 * self.growth;
        (plain * grown, self.slip_before * grown + more, self.slip_last * grown + more)
    }
}

/// Masses about a pass, at the curves' density.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct PassMass {
    pub before_g: f64,
    pub now_g: f64,
    /// Slopes in what was taken beyond the aims before the last pass and in it, g/mm.
    pub by_before: f64,
    pub by_last: f64,
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
    /// What lowering the crest by the layers down to a depth, as a whole, would add to ln compliance at another depth.
    slip: HermiteSurface,
    /// How much that grows with each mm of slip, as a part of it, over the depth now.
    slip_growth: Vec<[f64; 2]>,
    slip_mm: Vec<f64>,
    mass_g: Vec<[f64; 2]>,
    modulus_gpa: f64,
    density_kg_m3: f64,
    load_n: f64,
}

impl Curves {
    /// Solves the plan at evenly spread depths. `frequency` asks for the first free bending frequency as well, which takes
    /// several times as long.
    pub fn new(plan: &Plan, rig: &Rig, frequency: bool) -> Result<Self> {
        Self::by(Beam::Resolved, plan, rig, frequency)
    }

    /// The same by the section beam, for a virtual shop whose truth is that beam; not to carve by.
    pub fn of_section(plan: &Plan, rig: &Rig) -> Result<Self> {
        Self::by(Beam::Section, plan, rig, false)
    }

    fn by(beam: Beam, plan: &Plan, rig: &Rig, frequency: bool) -> Result<Self> {
        let compliance = |b: &Brace| match beam {
            Beam::Resolved => rig.resolved_compliance(b),
            Beam::Section => rig.section_compliance_mm_per_n(b),
        };
        let whole = plan.whole_depth_mm();
        within("whole depth of the plan", whole, "mm", 1e-3, 1000.0)?;
        let depth_mm: Vec<f64> = (0..DEPTHS).map(|k| whole * k as f64 / (DEPTHS - 1) as f64).collect();
        let solved = depth_mm
            .par_iter()
            .map(|&d| {
                let b = plan.at_depth(d)?;
                let (mut ln_c, mut ln_f) = ([0.0; 3], [0.0; 3]);
                for (k, v) in ln_c.iter_mut().enumerate() {
                    *v = compliance(&at_ratio(&b, k)?)?.ln();
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
        let (slip, slip_mm, growth) = slips(plan, &compliance, whole)?;
        let growth_slopes = hermite_slopes(&slip_mm, &growth, false);
        let mass: Vec<f64> = solved.iter().map(|s| s.2).collect();
        let slopes = hermite_slopes(&depth_mm, &mass, true);
        let blank = plan.start.blank();
        Ok(Self {
            compliance: Curve::new(&depth_mm, &ln_c),
            frequency: frequency.then(|| Curve::new(&depth_mm, &ln_f)),
            slip,
            slip_growth: growth.iter().zip(&growth_slopes).map(|(g, s)| [*g, *s]).collect(),
            slip_mm,
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

    /// What each mm adds to ln compliance by which the layer between two depths of the plan came out too deep, with the crest
    /// now at `depth_mm`: a hand that errs lowers all of the layer, not only the last of it, and so softens by more than the
    /// curve's own slope.
    pub fn slip_per_mm(&self, from_mm: f64, to_mm: f64, depth_mm: f64) -> f64 {
        let whole = self.whole_depth_mm();
        let at = |d: f64| self.slip.at(depth_mm.clamp(0.0, whole), d.clamp(0.0, whole));
        let (from, to) = (from_mm.clamp(0.0, whole), to_mm.clamp(0.0, whole));
        // a layer of nothing is as thick as its limit
        let (from, to) = if to - from < 1e-3 { ((to - 1e-3).max(0.0), (to - 1e-3).max(0.0) + 1e-3) } else { (from, to) };
        (at(to) - at(from)) / (to - from)
    }

    /// How much the softening by a slip grows with it, 1/mm: a slip of s mm adds s (1 + growth s) times what one of a hair adds
    /// per mm.
    pub fn slip_growth_per_mm(&self, depth_mm: f64) -> f64 {
        let (i, w) = hermite_weights(&self.slip_mm, depth_mm.clamp(0.0, self.whole_depth_mm()));
        let (a, b) = (self.slip_growth[i], self.slip_growth[i + 1]);
        w[0] * a[0] + w[1] * a[1] + w[2] * b[0] + w[3] * b[1]
    }

    /// What one pass from a depth to another needs of the curves, looked up once.
    pub(super) fn pass(&self, from_mm: f64, to_mm: f64) -> PassCurves {
        let whole = self.whole_depth_mm();
        let cell = |d: f64| even_hermite_weights(whole / (SLIPS - 1) as f64, SLIPS, d.clamp(0.0, whole));
        let (i, w) = even_hermite_weights(whole / (DEPTHS - 1) as f64, DEPTHS, to_mm);
        let part = |k: usize| {
            let (a, b) = (self.compliance.node[i][k], self.compliance.node[i + 1][k]);
            w[0] * a[0] + w[1] * a[1] + w[2] * b[0] + w[3] * b[1]
        };
        let (from, to) = (from_mm.clamp(0.0, whole), to_mm.clamp(0.0, whole));
        let now = cell(to_mm);
        let slip = |d: f64| self.slip.in_cells(now, cell(d));
        // no layer adds nothing
        let (at_0, at_from, at_to) = (0.0, slip(from), slip(to));
        // a layer of nothing is as thick as its limit
        let per_mm = |a: f64, b: f64, from: f64, to: f64| {
            if to - from >= 1e-3 { (b - a) / (to - from) } else { self.slip_per_mm(from, to, to_mm) }
        };
        let (j, v) = now;
        let (a, b) = (self.slip_growth[j], self.slip_growth[j + 1]);
        PassCurves {
            ln_compliance: [part(0), part(1), part(2)],
            slip_before: per_mm(at_0, at_from, 0.0, from),
            slip_last: per_mm(at_from, at_to, from, to),
            growth: v[0] * a[0] + v[1] * a[1] + v[2] * b[0] + v[3] * b[1],
        }
    }

    /// Masses left at the start, before a pass and after it, g, and what each mm of slip takes of the layers before and of this.
    pub(super) fn pass_mass(&self, from_mm: f64, to_mm: f64) -> PassMass {
        let [start, before, now] = [0.0, from_mm, to_mm].map(|d| self.mass_g(d).0);
        let per_mm = |a: f64, b: f64, mm: f64, at: f64| if mm > 1e-3 { (a - b) / mm } else { -self.mass_g(at).1 };
        PassMass {
            before_g: before,
            now_g: now,
            by_before: -per_mm(start, before, from_mm, 0.0),
            by_last: -per_mm(before, now, to_mm - from_mm, to_mm),
        }
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

/// ln compliance added at each depth (rows) by lowering the crest by the layers down to each depth (columns), whole; the
/// depths, and how much that grows with a slip at each of them.
fn slips(
    plan: &Plan,
    compliance: &(dyn Fn(&Brace) -> Result<f64> + Sync),
    whole: f64,
) -> Result<(HermiteSurface, Vec<f64>, Vec<f64>)> {
    let nodes: Vec<f64> = (0..SLIPS).map(|k| whole * k as f64 / (SLIPS - 1) as f64).collect();
    let crest = |d: f64| -> Result<Pieces> { Ok(plan.at_depth(d)?.profile().crest().clone()) };
    let start = crest(0.0)?;
    let layers = nodes[1..].iter().map(|d| Ok(start.combined(&crest(*d)?, 1.0, -1.0))).collect::<Result<Vec<Pieces>>>()?;
    let pairs: Vec<(usize, usize)> = (0..SLIPS).flat_map(|i| (0..SLIPS).map(move |j| (i, j))).collect();
    let ln = pairs
        .par_iter()
        .map(|&(i, j)| {
            let b = plan.at_depth(nodes[i])?;
            let lowered = match j {
                0 => b,
                _ => b.with_crest(b.profile().crest().combined(&layers[j - 1], 1.0, -SLIP_MM / nodes[j])),
            };
            Ok(compliance(&lowered)?.ln())
        })
        .collect::<Result<Vec<f64>>>()?;
    let mut table = vec![0.0; SLIPS * SLIPS];
    for (i, j) in pairs {
        // per unit of the layer: lowered by a part SLIP/depth of it
        table[i * SLIPS + j] = if j == 0 { 0.0 } else { (ln[i * SLIPS + j] - ln[i * SLIPS]) * nodes[j] / SLIP_MM };
    }
    let growth = (0..SLIPS)
        .into_par_iter()
        .map(|i| {
            let b = plan.at_depth(nodes[i])?;
            // before anything is carved there is no layer yet: the first stands for it
            let j = i.max(1);
            let layer = &layers[j - 1];
            let (a, z) = layer.extremes(0.0, b.length_mm());
            let least = b.profile().crest().at(z.0).min(b.profile().crest().at(a.0)).min(b.profile().tallest_mm());
            let large = LARGE_SLIP_MM.min(SLIP_OF_HEIGHT * least).max(2.0 * SLIP_MM);
            let lowered = b.with_crest(b.profile().crest().combined(layer, 1.0, -large / nodes[j]));
            let per_mm = table[i * SLIPS + j] / nodes[j];
            let by_large = compliance(&lowered)?.ln() - ln[i * SLIPS];
            // the small slip has its share of the growth in it
            Ok(if per_mm > 1e-12 { ((by_large / (large * per_mm) - 1.0) / (large - SLIP_MM)).max(0.0) } else { 0.0 })
        })
        .collect::<Result<Vec<f64>>>()?;
    Ok((HermiteSurface::new(nodes.clone(), nodes.clone(), &table), nodes, growth))
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

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::{Blank, PlanOptions, Profile, Scallop, ScallopShape, Section, Wood, plan_passes};

    /// A layer that came out too deep or too shallow, against the brace solved with it.
    #[test]
    fn slips_are_the_braces() {
        let blank = Blank::new(&Wood::published("Sitka spruce").unwrap(), 420.0, 8.0, 17.0, None).unwrap();
        let start = Profile::straight(420.0, 16.0).unwrap();
        let s = |at_mm| Scallop { at_mm, left_mm: 60.0, right_mm: 60.0, depth_mm: 10.0, shape: ScallopShape::Cosine };
        let target = start.with_scallops(&[s(120.0), s(300.0)]).unwrap();
        let of = |p: &Profile| Brace::new(&blank, p, &Section::rectangle()).unwrap();
        let plan = plan_passes(&of(&start), &of(&target), &PlanOptions::new(3.0)).unwrap();
        let rig = Rig::three_point(380.0, 20.0).unwrap();
        let c = Curves::new(&plan, &rig, false).unwrap();
        for (from, to, slip) in [(0.0, 4.0, 0.8), (0.0, 4.0, -0.8), (4.0, 5.5, 0.3), (4.0, 5.5, 1.0), (2.0, 7.0, 1.0)] {
            let layer =
                plan.at_depth(from).unwrap().profile().crest().combined(plan.at_depth(to).unwrap().profile().crest(), 1.0, -1.0);
            let b = plan.at_depth(to).unwrap();
            let lowered = b.with_crest(b.profile().crest().combined(&layer, 1.0, -slip / (to - from)));
            let truth = rig.resolved_compliance(&lowered).unwrap().ln() - rig.resolved_compliance(&b).unwrap().ln();
            let ours = slip * c.slip_per_mm(from, to, to) * (1.0 + slip * c.slip_growth_per_mm(to));
            assert!((ours / truth - 1.0).abs() < 0.07, "{from} {to} {slip}: {truth} {ours}");
        }
    }
}
