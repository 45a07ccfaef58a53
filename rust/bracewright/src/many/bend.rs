//! Three-point deflection of many braces by the section beam, bending and shear.

use rayon::prelude::*;

use super::lanes::{BLOCK, Block, Law, Side};
use super::{Lot, Shape};
use crate::error::{Error, Result, within};
use crate::mechanics::blend::Ramp;
use crate::mechanics::quadrature::gauss;
use crate::mechanics::section_law::SectionLaw;

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
        let shear = SHEAR_FACTOR / self.shear_ratio;
        match &self.shape {
            Shape::Any(p) => out.par_iter_mut().enumerate().with_min_len(16).for_each(|(i, o)| {
                *o = 0.25e-3 * any_sum(&p[i], &self.law(i), span(i), shear) / (self.modulus_gpa[i] * self.width_mm[i]);
            }),
            Shape::Points { at_mm, height_mm, mirrored, .. } => {
                let k = rule.ramps.len() + 1;
                let one_law = self.section.is_one_law().then(|| Law::new(|_| self.law(0), shear));
                let arch = pulp::Arch::new();
                let weak = std::sync::atomic::AtomicBool::new(false);
                out.par_chunks_mut(BLOCK).enumerate().with_min_len(4).for_each(|(c, out)| {
                    let (first, count) = (c * BLOCK, out.len());
                    // lanes beyond the last brace repeat it
                    let brace = |l: usize| first + l.min(count - 1);
                    let (mut reach, mut middle) = ([0.5 * span_mm[0]; BLOCK], [0.0; BLOCK]);
                    if span_mm.len() > 1 {
                        reach = std::array::from_fn(|l| 0.5 * span(brace(l)));
                    }
                    if !*mirrored {
                        middle = std::array::from_fn(|l| 0.5 * at_mm[(k - 1) * n + brace(l)]);
                    }
                    let (at, height);
                    let mut block = Block { at: at_mm, height: height_mm, stride: n, first, middle: &middle, reach: &reach };
                    if count < BLOCK {
                        let padded = |all: &[f64]| -> Vec<f64> {
                            (0..k)
                                .flat_map(|p| (0..BLOCK).map(move |l| p * n + first + l.min(count - 1)))
                                .map(|i| all[i])
                                .collect()
                        };
                        (at, height) = (padded(at_mm), padded(height_mm));
                        block = Block { at: &at, height: &height, stride: BLOCK, first: 0, ..block };
                    }
                    let own;
                    let law = match &one_law {
                        Some(law) => law,
                        None => {
                            own = Law::new(|l| self.law(brace(l)), shear);
                            &own
                        }
                    };
                    let mut sum = [0.0; BLOCK];
                    arch.dispatch(Side { block: &block, law, rule: &rule, side: 1.0, sum: &mut sum });
                    if *mirrored {
                        sum.iter_mut().for_each(|s| *s *= 2.0);
                    } else {
                        arch.dispatch(Side { block: &block, law, rule: &rule, side: -1.0, sum: &mut sum });
                    }
                    // m = d/2 and v = 1/2 under a unit load in the middle
                    let (e, w) = (&self.modulus_gpa[first..first + count], &self.width_mm[first..first + count]);
                    let mut sound = true;
                    for (((o, s), e), w) in out.iter_mut().zip(&sum).zip(e).zip(w) {
                        *o = 0.25e-3 * s / (e * w);
                        sound &= (*o > 0.0) & (*o < f64::INFINITY);
                    }
                    if !sound {
                        weak.store(true, std::sync::atomic::Ordering::Relaxed);
                    }
                });
                if !weak.into_inner() {
                    return Ok(());
                }
            }
        }
        // a brace without height between the supports
        if let Some(i) = out.iter().position(|v| !v.is_finite() || *v <= 0.0) {
            return Err(Error::Refused(format!(
                "brace {i} has no height somewhere between the supports; it cannot carry the load"
            )));
        }
        Ok(())
    }
}

/// Integral of d^2/I + shear/A (width 1) between the supports for any profile, between its own breaks and where it passes a
/// fixed rise; d the distance from the nearer support.
fn any_sum(profile: &crate::profile::Profile, law: &SectionLaw, span: f64, shear: f64) -> f64 {
    let crest = profile.crest();
    let mid = 0.5 * profile.length_mm();
    let (s0, s1) = (mid - 0.5 * span, mid + 0.5 * span);
    let kinks = law.rise().map_or(vec![], |rise| crest.crossings(rise));
    let breaks = crate::mechanics::quadrature::merge_breaks(s0, s1, &[crest.breaks(), &kinks, &[mid]], 1e-9 * span);
    crate::mechanics::quadrature::integrate(&breaks, 12, |x| {
        let (area, inertia) = law.at::<false>(crest.at(x));
        let d = if x < mid { x - s0 } else { s1 - x };
        d * d / inertia + shear / area
    })
}
