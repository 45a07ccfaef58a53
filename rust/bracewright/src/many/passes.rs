//! Five passes for ten thousand braces: from a rough-carved stick to the shape, grams and stiffness after each.

use rayon::prelude::*;

use super::along::crossing;
use super::bend::{Rule, SHEAR_FACTOR};
use super::{Lot, Shape};
use crate::error::{Error, Result, positive, within};
use crate::mechanics::blend::Ramp;
use crate::mechanics::quadrature::gauss;
use crate::mechanics::section_law::SectionLaw;
use crate::mechanics::simd::dispatch;

/// How sticks are left by the machine before the first pass by hand.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RoughCarving {
    /// Height of the sawn stick, mm.
    pub blank_height_mm: f64,
    /// Wood left above the shape, mm, where the stick is tall enough.
    pub allowance_mm: f64,
    /// Deepest cut of one pass, mm.
    pub max_depth_mm: f64,
    /// Number of passes.
    pub passes: usize,
}

/// What the passes do, one row a brace.
#[derive(Debug, Clone, PartialEq, Default, serde::Serialize, serde::Deserialize)]
pub struct ManyPasses {
    /// Number of passes.
    pub passes: usize,
    /// Grams off at each pass: `passes` numbers a brace.
    pub grams_off: Vec<f64>,
    /// Three-point stiffness by the section beam before the first and after each pass, N/mm: `passes + 1` numbers a brace.
    pub stiffness_n_per_mm: Vec<f64>,
}

/// Most passes counted at once.
pub const MOST_PASSES: usize = 16;
/// Gauss points between two places where a pass begins or ends to touch.
const POINTS: usize = 8;

impl Lot {
    /// Grams off and stiffness through passes of at most `max_depth_mm`, the section kept: after pass k the crest stands at
    /// max(shape, start - k max_depth), start = min(blank height, shape + allowance). The span may be one for all or one a
    /// brace, mm.
    pub fn passes(&self, rough: &RoughCarving, span_mm: &[f64]) -> Result<ManyPasses> {
        positive("blank_height_mm", rough.blank_height_mm, "mm")?;
        positive("allowance_mm", rough.allowance_mm, "mm")?;
        positive("max_depth_mm", rough.max_depth_mm, "mm")?;
        within("passes", rough.passes as f64, "", 1.0, MOST_PASSES as f64)?;
        let n = self.len();
        let span = self.spans(span_mm)?;
        if let Shape::Points { height_mm, .. } = &self.shape {
            for h in height_mm {
                within("height_mm", *h, "mm", 0.0, rough.blank_height_mm)?;
            }
        }
        let ramps: Vec<Ramp> = match &self.shape {
            Shape::Points { blend, .. } => blend.iter().map(|b| b.odd()).collect(),
            Shape::Any(_) => vec![],
        };
        let rule = Rule::new(POINTS, &ramps);
        let m = rough.passes;
        let mut out = ManyPasses { passes: m, grams_off: vec![0.0; n * m], stiffness_n_per_mm: vec![0.0; n * (m + 1)] };
        out.grams_off.par_chunks_mut(m).zip(out.stiffness_n_per_mm.par_chunks_mut(m + 1)).enumerate().with_min_len(16).for_each(
            |(i, (g, k))| {
                let mut volume = [0.0; MOST_PASSES + 1];
                let mut give = [0.0; MOST_PASSES + 1];
                self.one_pass_sums(i, rough, span(i), &rule, &mut volume, &mut give);
                let (e, w) = (1000.0 * self.modulus_gpa[i], self.width_mm[i]);
                for p in 0..=m {
                    k[p] = 4.0 * e * w / give[p];
                    if p > 0 {
                        g[p - 1] = (volume[p - 1] - volume[p]) * w * self.density_kg_m3[i] * 1e-6;
                    }
                }
            },
        );
        if let Some(j) = out.stiffness_n_per_mm.iter().position(|v| !v.is_finite() || *v <= 0.0) {
            return Err(Error::Refused(format!(
                "brace {} has no height somewhere between the supports; it cannot carry the load",
                j / (m + 1)
            )));
        }
        Ok(out)
    }

    /// Volume (width 1) and the sum of d^2/I + shear/A before and after each pass.
    fn one_pass_sums(&self, i: usize, rough: &RoughCarving, span: f64, rule: &Rule, volume: &mut [f64], give: &mut [f64]) {
        let law = self.law(i);
        let shear = SHEAR_FACTOR / self.shear_ratio;
        let top = rough.blank_height_mm;
        // heights at which some pass begins or ends to touch, or passes a fixed rise
        let mut levels = [0.0; 2 * MOST_PASSES + 4];
        let mut count = 0;
        let mut add = |v: f64| {
            if count < levels.len() {
                levels[count] = v;
                count += 1;
            }
        };
        add(top - rough.allowance_mm);
        for p in 1..=rough.passes {
            add(top - p as f64 * rough.max_depth_mm);
        }
        if let SectionLaw::FixedCap { rise, .. } = law {
            add(rise);
            for p in 0..=rough.passes {
                add(rise - rough.allowance_mm + p as f64 * rough.max_depth_mm);
            }
        }
        levels[..count].sort_by(f64::total_cmp);
        let levels = &levels[..count];
        let pass =
            |shape: f64, p: usize| -> f64 { (top.min(shape + rough.allowance_mm) - p as f64 * rough.max_depth_mm).max(shape) };
        match &self.shape {
            Shape::Points { at_mm, height_mm, mirrored, .. } => {
                let k = rule.ramps.len() + 1;
                let (at, h) = (&self.row(at_mm, i)[..k], &self.row(height_mm, i)[..k]);
                let (mid, times) = if *mirrored { (0.0, 2.0) } else { (0.5 * at[k - 1], 1.0) };
                for p in 0..k - 1 {
                    let (a, b, ha, hb) = (at[p], at[p + 1], h[p], h[p + 1]);
                    let ramp = &rule.ramps[p].0;
                    // cuts of the interval: levels, the middle, the supports
                    let mut cuts = [0.0; 2 * MOST_PASSES + 10];
                    let mut n = 0;
                    cuts[n] = -1.0;
                    n += 1;
                    for &l in levels {
                        if (l - ha) * (l - hb) < 0.0 && n < cuts.len() - 5 {
                            cuts[n] = crossing(ramp, ha, hb, l);
                            n += 1;
                        }
                    }
                    for x in [mid, mid - 0.5 * span, mid + 0.5 * span] {
                        if x > a && x < b {
                            cuts[n] = (2.0 * x - a - b) / (b - a);
                            n += 1;
                        }
                    }
                    cuts[n] = 1.0;
                    n += 1;
                    cuts[..n].sort_by(f64::total_cmp);
                    for w in cuts[..n].windows(2) {
                        if w[1] - w[0] > 1e-12 {
                            let arg = PassPart { a, b, ha, hb, t0: w[0], t1: w[1], mid, half: 0.5 * span, times, shear };
                            dispatch!(pass_part(ramp, &law, &arg, rough, rule, volume, give));
                        }
                    }
                }
            }
            Shape::Any(profiles) => {
                let crest = profiles[i].crest();
                let l = profiles[i].length_mm();
                let mid = 0.5 * l;
                let mut breaks = crest.breaks().to_vec();
                breaks.extend([mid, mid - 0.5 * span, mid + 0.5 * span]);
                for &v in levels {
                    breaks.extend(crest.crossings(v));
                }
                let breaks = crate::mechanics::quadrature::merge_breaks(0.0, l, &[&breaks], 1e-9 * l);
                let (t, w) = gauss(POINTS);
                for pair in breaks.windows(2) {
                    for (t, w) in t.iter().zip(w) {
                        let x = pair[0] + (pair[1] - pair[0]) * t;
                        let dx = (pair[1] - pair[0]) * w;
                        let shape = crest.at(x);
                        let d = 0.5 * span - (x - mid).abs();
                        for p in 0..=rough.passes {
                            let (area, inertia) = law.at::<false>(pass(shape, p));
                            volume[p] += dx * area;
                            if d > 0.0 {
                                give[p] += dx * (d * d / inertia + shear / area);
                            }
                        }
                    }
                }
            }
        }
    }
}

/// One part of one ramp.
struct PassPart {
    a: f64,
    b: f64,
    ha: f64,
    hb: f64,
    t0: f64,
    t1: f64,
    mid: f64,
    half: f64,
    times: f64,
    shear: f64,
}

#[inline(always)]
fn pass_part<const FMA: bool>(
    ramp: &Ramp,
    law: &SectionLaw,
    q: &PassPart,
    rough: &RoughCarving,
    rule: &Rule,
    volume: &mut [f64],
    give: &mut [f64],
) {
    let (m, r) = (0.5 * (q.ha + q.hb), 0.5 * (q.hb - q.ha));
    let (tm, tr) = (0.5 * (q.t0 + q.t1), 0.5 * (q.t1 - q.t0));
    let dx = q.times * 0.5 * (q.b - q.a) * (q.t1 - q.t0);
    let (mut start, mut shape, mut d2, mut w) = ([0.0; POINTS], [0.0; POINTS], [0.0; POINTS], [0.0; POINTS]);
    for k in 0..POINTS {
        let t = tr * rule.t[k] + tm;
        let h = m + r * ramp.at::<FMA>(t);
        let x = 0.5 * (q.a + q.b) + 0.5 * (q.b - q.a) * t;
        let d = q.half - (x - q.mid).abs();
        shape[k] = h;
        let full = h + rough.allowance_mm;
        start[k] = if full < rough.blank_height_mm { full } else { rough.blank_height_mm };
        d2[k] = d * d;
        w[k] = dx * rule.w[k];
    }
    let x = 0.5 * (q.a + q.b) + 0.5 * (q.b - q.a) * tm;
    let between = q.half > (x - q.mid).abs();
    for p in 0..=rough.passes {
        let off = p as f64 * rough.max_depth_mm;
        let (mut v, mut g) = (0.0, 0.0);
        for k in 0..POINTS {
            let h = start[k] - off;
            let h = if h > shape[k] { h } else { shape[k] };
            let (area, inertia) = law.at::<FMA>(h);
            v += w[k] * area;
            g += w[k] * (d2[k] * area + q.shear * inertia) / (area * inertia);
        }
        volume[p] += v;
        if between {
            give[p] += g;
        }
    }
}
