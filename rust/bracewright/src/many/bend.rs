//! Three-point deflection of many braces by the section beam, bending and shear.

use rayon::prelude::*;

use super::{Lot, Shape};
use crate::error::{Error, Result, within};
use crate::mechanics::blend::Ramp;
use crate::mechanics::quadrature::gauss;
use crate::mechanics::section_law::SectionLaw;
use crate::mechanics::simd::{dispatch, madd};

/// Gauss points a ramp unless asked otherwise: 5e-6 on ordinary scallops.
pub const USUAL_POINTS: usize = 8;
/// Most points a ramp.
pub const MOST_POINTS: usize = 32;

/// Shear factor of the rectangle, used for all families.
pub(super) const SHEAR_FACTOR: f64 = 1.2;

/// A Gauss rule with every ramp's values at its points.
pub(super) struct Rule {
    pub points: usize,
    pub t: [f64; MOST_POINTS],
    pub w: [f64; MOST_POINTS],
    pub ramps: Vec<(Ramp, [f64; MOST_POINTS])>,
}

impl Rule {
    pub fn new(points: usize, ramps: &[Ramp]) -> Self {
        let (x, weights) = gauss(points);
        let (mut t, mut w) = ([0.0; MOST_POINTS], [0.0; MOST_POINTS]);
        for k in 0..points {
            t[k] = 2.0 * x[k] - 1.0;
            w[k] = weights[k];
        }
        let ramps = ramps
            .iter()
            .map(|r| {
                let mut v = [0.0; MOST_POINTS];
                for k in 0..points {
                    v[k] = r.at::<false>(t[k]);
                }
                (*r, v)
            })
            .collect();
        Self { points, t, w, ramps }
    }
}

impl Lot {
    /// Deflection per newton under a load midway between two supports `span_mm` apart, about the middle of each brace,
    /// mm/N, by the section beam with shear. `points` Gauss points to a ramp, 4 to 32.
    pub fn three_point_mm_per_n(&self, span_mm: &[f64], points: usize) -> Result<Vec<f64>> {
        let mut out = vec![0.0; self.len()];
        self.three_point_into(span_mm, points, &mut out)?;
        Ok(out)
    }

    /// The same into an array that exists already.
    pub fn three_point_into(&self, span_mm: &[f64], points: usize, out: &mut [f64]) -> Result<()> {
        let n = self.len();
        crate::error::same_length("out", out.len(), "the lot", n)?;
        within("points", points as f64, "", 4.0, MOST_POINTS as f64)?;
        let span = self.spans(span_mm)?;
        let ramps: Vec<Ramp> = match &self.shape {
            Shape::Points { blend, .. } => blend.iter().map(|b| b.odd()).collect(),
            Shape::Any(_) => vec![],
        };
        let rule = Rule::new(points, &ramps);
        out.par_chunks_mut(512).enumerate().for_each(|(c, out)| {
            for (k, o) in out.iter_mut().enumerate() {
                let i = c * 512 + k;
                *o = self.one_compliance(i, span(i), &rule);
            }
        });
        // a brace without height between the supports
        if let Some(i) = out.iter().position(|v| !v.is_finite() || *v <= 0.0) {
            return Err(Error::Refused(format!(
                "brace {i} has no height somewhere between the supports; it cannot carry the load"
            )));
        }
        Ok(())
    }

    /// Compliance of one brace: moments (x - s)/2 rising to the middle, with E and G of the brace.
    pub(super) fn one_compliance(&self, i: usize, span: f64, rule: &Rule) -> f64 {
        let e = 1000.0 * self.modulus_gpa[i];
        let shear = SHEAR_FACTOR / self.shear_ratio;
        let law = self.law(i);
        let sum = match &self.shape {
            Shape::Any(p) => any_half_sum(&p[i], &law, span, shear),
            Shape::Points { at_mm, height_mm, mirrored, .. } => {
                let k = rule.ramps.len() + 1;
                let (at, h) = (&at_mm[i * k..(i + 1) * k], &height_mm[i * k..(i + 1) * k]);
                if *mirrored {
                    2.0 * dispatch!(half_sum(at, h, &law, 0.0, 0.5 * span, 1.0, shear, rule))
                } else {
                    let mid = 0.5 * at[k - 1];
                    dispatch!(half_sum(at, h, &law, mid, 0.5 * span, 1.0, shear, rule))
                        + dispatch!(half_sum(at, h, &law, mid, 0.5 * span, -1.0, shear, rule))
                }
            }
        };
        // m = d/2 and v = 1/2 under a unit load in the middle
        0.25 * sum / (e * self.width_mm[i])
    }
}

/// Integral of d^2/I + shear/A (width 1) from the middle `mid` to the support `half` away on one side, d the distance
/// from the support.
#[inline(always)]
fn half_sum<const FMA: bool>(
    at: &[f64],
    h: &[f64],
    law: &SectionLaw,
    mid: f64,
    half: f64,
    side: f64,
    shear: f64,
    rule: &Rule,
) -> f64 {
    let support = mid + side * half;
    let (low, high) = if side > 0.0 { (mid, support) } else { (support, mid) };
    let mut sum = 0.0;
    for p in 0..rule.ramps.len() {
        let (a, b) = (at[p].max(low), at[p + 1].min(high));
        if b <= a {
            continue;
        }
        let (ha, hb) = (h[p], h[p + 1]);
        if ha == hb {
            // level: closed form
            let (area, inertia) = law.at::<FMA>(ha);
            let (d0, d1) = ((support - a).abs(), (support - b).abs());
            sum += (d0 * d0 * d0 - d1 * d1 * d1).abs() / (3.0 * inertia) + shear * (b - a) / area;
            continue;
        }
        let (m, r) = (0.5 * (ha + hb), 0.5 * (hb - ha));
        let (ramp, values) = &rule.ramps[p];
        let whole = a == at[p] && b == at[p + 1];
        let (t0, tr) = if whole {
            (0.0, 1.0)
        } else {
            let (q0, q1) =
                ((2.0 * a - at[p] - at[p + 1]) / (at[p + 1] - at[p]), (2.0 * b - at[p] - at[p + 1]) / (at[p + 1] - at[p]));
            (0.5 * (q0 + q1), 0.5 * (q1 - q0))
        };
        let mut cut = [0.0; MOST_POINTS];
        let s = if whole {
            values
        } else {
            for k in 0..rule.points {
                cut[k] = ramp.at::<FMA>(madd::<FMA>(tr, rule.t[k], t0));
            }
            &cut
        };
        let (xm, xr) = (0.5 * (a + b), 0.5 * (b - a));
        let mut part = 0.0;
        match *law {
            SectionLaw::Stretched { area, inertia } => {
                let (ci, ca) = (1.0 / inertia, shear / area);
                let mut lanes = [0.0; 4];
                let full = rule.points & !3;
                let mut k = 0;
                while k < full {
                    for l in 0..4 {
                        let q = 1.0 / madd::<FMA>(r, s[k + l], m);
                        let d = support - madd::<FMA>(xr, rule.t[k + l], xm);
                        lanes[l] = madd::<FMA>(rule.w[k + l] * q, madd::<FMA>(ci * d * d, q * q, ca), lanes[l]);
                    }
                    k += 4;
                }
                for k in full..rule.points {
                    let q = 1.0 / madd::<FMA>(r, s[k], m);
                    let d = support - madd::<FMA>(xr, rule.t[k], xm);
                    part = madd::<FMA>(rule.w[k] * q, madd::<FMA>(ci * d * d, q * q, ca), part);
                }
                part += (lanes[0] + lanes[1]) + (lanes[2] + lanes[3]);
            }
            SectionLaw::FixedCap { .. } => {
                let mut lanes = [0.0; 4];
                let full = rule.points & !3;
                let mut k = 0;
                while k < rule.points {
                    let width = if k < full { 4 } else { 1 };
                    for l in 0..4 {
                        if l < width {
                            let (area, inertia) = law.at::<FMA>(madd::<FMA>(r, s[k + l], m));
                            let q = 1.0 / (area * inertia);
                            let d = support - madd::<FMA>(xr, rule.t[k + l], xm);
                            lanes[l] = madd::<FMA>(rule.w[k + l] * q, madd::<FMA>(d * d, area, shear * inertia), lanes[l]);
                        }
                    }
                    k += width;
                }
                part = (lanes[0] + lanes[1]) + (lanes[2] + lanes[3]);
            }
        }
        sum += part * (b - a);
    }
    sum
}

/// The same over both halves for any profile, between its own breaks and where it passes a fixed rise.
fn any_half_sum(profile: &crate::profile::Profile, law: &SectionLaw, span: f64, shear: f64) -> f64 {
    let crest = profile.crest();
    let mid = 0.5 * profile.length_mm();
    let (s0, s1) = (mid - 0.5 * span, mid + 0.5 * span);
    let breaks = crate::mechanics::quadrature::merge_breaks(s0, s1, &[crest.breaks(), &[mid]], 1e-9 * span);
    crate::mechanics::quadrature::integrate(&breaks, 12, |x| {
        let (area, inertia) = law.at::<false>(crest.at(x));
        let d = if x < mid { x - s0 } else { s1 - x };
        d * d / inertia + shear / area
    })
}
