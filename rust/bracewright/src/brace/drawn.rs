//! The section beam of one brace where speed matters: numbers along it, and a load midway between two supports.

use super::Brace;
use crate::error::{Error, Result, number, positive};
use crate::mechanics::pieces::Pieces;
use crate::mechanics::quadrature::{gauss, merge_breaks};
use crate::mechanics::section_law::SectionLaw;

/// Height, area and stiffness along the brace as drawn, one value a station.
#[derive(Debug, Clone, PartialEq, Default, serde::Serialize, serde::Deserialize)]
pub struct Drawn {
    /// Height, mm.
    pub height_mm: Vec<f64>,
    /// Area, mm2.
    pub area_mm2: Vec<f64>,
    /// Second moment about the centroid, mm4.
    pub i_centroid_mm4: Vec<f64>,
    /// EI, N m2.
    pub ei_n_m2: Vec<f64>,
}

/// Gauss points between two breaks of the crest.
const POINTS: usize = 12;
/// Shear factor of the rectangle, used for all families.
const SHEAR_FACTOR: f64 = 1.2;

/// Points of a three-point problem: distance from the near support, weight, height.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct MidNodes {
    pub x: Vec<f64>,
    pub d2: Vec<f64>,
    pub weight: Vec<f64>,
    pub height: Vec<f64>,
}

impl Brace {
    /// Height, area, second moment and EI at each station: the quick form of [`Brace::along`].
    pub fn drawn(&self, x_mm: &[f64]) -> Result<Drawn> {
        self.profile().on_brace("x_mm", x_mm)?;
        let n = x_mm.len();
        let mut out =
            Drawn { height_mm: vec![0.0; n], area_mm2: vec![0.0; n], i_centroid_mm4: vec![0.0; n], ei_n_m2: vec![0.0; n] };
        if !self.profile().half_laps().is_empty() {
            let a = self.along(x_mm)?;
            return Ok(Drawn {
                height_mm: a.height_mm,
                area_mm2: a.area_mm2,
                i_centroid_mm4: a.i_centroid_mm4,
                ei_n_m2: a.ei_n_m2,
            });
        }
        let law = SectionLaw::new(&self.section().outline(self.width_mm())?);
        self.profile().crest().fill(x_mm, &mut out.height_mm);
        law.fill(
            self.width_mm(),
            self.modulus_x_mpa()? * 1e-6,
            &out.height_mm,
            &mut out.area_mm2,
            &mut out.i_centroid_mm4,
            &mut out.ei_n_m2,
        );
        Ok(out)
    }

    /// Deflection per newton under a point load midway between two point supports `span_mm` apart, about the middle of the
    /// brace, by the section beam with shear, mm/N.
    pub fn section_three_point_mm_per_n(&self, span_mm: f64) -> Result<f64> {
        let law = self.law()?;
        let nodes = self.mid_nodes(span_mm, self)?;
        let (e, w, shear) = self.stiffness_and_shear()?;
        let g = nodes.sum(&law, shear) / (4.0 * e * w);
        if g.is_finite() && g > 0.0 { Ok(g) } else { Err(super::bend::no_stiffness()) }
    }

    pub(crate) fn law(&self) -> Result<SectionLaw> {
        Ok(SectionLaw::new(&self.section().outline(self.width_mm())?))
    }

    /// E along the brace (MPa), width (mm), and shear factor times E/G.
    pub(crate) fn stiffness_and_shear(&self) -> Result<(f64, f64, f64)> {
        let s = self.blank().stiffness()?;
        Ok((1000.0 * s.e_x_gpa, self.width_mm(), SHEAR_FACTOR * s.e_x_gpa / s.g_xz_gpa))
    }

    /// Points between the breaks of this crest and of `other`'s, so that both are smooth between them.
    pub(crate) fn mid_nodes(&self, span_mm: f64, other: &Self) -> Result<MidNodes> {
        self.mid_nodes_of(span_mm, self.profile().crest(), other.profile().crest().breaks())
    }

    /// The same for another crest on this brace.
    pub(crate) fn mid_nodes_of(&self, span_mm: f64, crest: &Pieces, more: &[f64]) -> Result<MidNodes> {
        positive("span_mm", span_mm, "mm")?;
        let l = self.length_mm();
        if span_mm > l * (1.0 + 1e-12) {
            return Err(Error::OutOfRange {
                quantity: "span_mm".into(),
                value: span_mm,
                unit: "mm",
                allowed: format!("at most the length of the brace, {} mm: the supports must stand on it", number(l)),
            });
        }
        if !self.profile().half_laps().is_empty() {
            return Err(Error::Refused("the quick three-point form does not take half-laps; use a rig".into()));
        }
        let mid = 0.5 * l;
        let (s0, s1) = (mid - 0.5 * span_mm, mid + 0.5 * span_mm);
        let kinks = self.section().rise_mm().map_or(vec![], |rise| crest.crossings(rise));
        let breaks = merge_breaks(s0, s1, &[crest.breaks(), more, &kinks, &[mid]], 1e-9 * l);
        let (t, w) = gauss(POINTS);
        let n = (breaks.len() - 1) * POINTS;
        let (mut x, mut d2, mut weight) = (Vec::with_capacity(n), Vec::with_capacity(n), Vec::with_capacity(n));
        for pair in breaks.windows(2) {
            let len = pair[1] - pair[0];
            for (t, w) in t.iter().zip(w) {
                let v = pair[0] + len * t;
                let d = if v < mid { v - s0 } else { s1 - v };
                x.push(v);
                d2.push(d * d);
                weight.push(len * w);
            }
        }
        let mut height = vec![0.0; n];
        crest.fill(&x, &mut height);
        Ok(MidNodes { x, d2, weight, height })
    }
}

impl MidNodes {
    /// Sum of d^2/I + shear/A over the points, width 1, for the heights held.
    pub(crate) fn sum(&self, law: &SectionLaw, shear: f64) -> f64 {
        self.sum_at(law, shear, &self.height)
    }

    /// The same for other heights at the same points.
    pub(crate) fn sum_at(&self, law: &SectionLaw, shear: f64, height: &[f64]) -> f64 {
        use crate::mechanics::simd::dispatch;
        dispatch!(mid_sum(law, shear, &self.d2, &self.weight, height))
    }
}

#[inline(always)]
fn mid_sum<const FMA: bool>(law: &SectionLaw, shear: f64, d2: &[f64], weight: &[f64], height: &[f64]) -> f64 {
    const W: usize = 4;
    let mut lanes = [0.0; W];
    let term = |k: usize| {
        let (a, i) = law.at::<FMA>(height[k]);
        weight[k] * (d2[k] * a + shear * i) / (a * i)
    };
    // POINTS is a multiple of four
    let n = height.len() / W * W;
    let mut k = 0;
    while k < n {
        for l in 0..W {
            lanes[l] += term(k + l);
        }
        k += W;
    }
    (lanes[0] + lanes[1]) + (lanes[2] + lanes[3])
}
