//! Area and second moment as functions of height, in a form that vectorises: every outline is one of two laws.

use crate::mechanics::simd::{dispatch, madd};
use crate::mechanics::solid::{Outline, Rise};

/// A(h) and I(h) of a section of width 1 at the glue face.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum SectionLaw {
    /// The shape only stretches with the height: A = area h, I = inertia h^3.
    Stretched {
        /// Area for height 1.
        area: f64,
        /// Second moment about the centroid for height 1.
        inertia: f64,
    },
    /// A cap of fixed rise on a parallel base; where the height is less, the rise is the height.
    FixedCap {
        /// The rise.
        rise: f64,
        /// Area of the unit cap.
        area: f64,
        /// Its first moment about its base.
        first: f64,
        /// Its second moment about its base.
        second: f64,
    },
}

impl SectionLaw {
    /// The law of an outline.
    pub fn new(outline: &Outline) -> Self {
        match *outline {
            Outline::Capped(cap, Rise::Fixed(rise)) => {
                let m = Outline::Capped(cap, Rise::Fraction(1.0)).whole(1.0);
                Self::FixedCap { rise, area: m.area, first: m.first, second: m.second }
            }
            _ => {
                let m = outline.whole(1.0);
                Self::Stretched { area: m.area, inertia: m.about_centroid() }
            }
        }
    }

    /// The height at which the law changes, if it does.
    pub fn rise(&self) -> Option<f64> {
        match *self {
            Self::Stretched { .. } => None,
            Self::FixedCap { rise, .. } => Some(rise),
        }
    }

    /// Area and second moment about the centroid at height h (above 0), width 1.
    #[inline(always)]
    pub(crate) fn at<const FMA: bool>(&self, h: f64) -> (f64, f64) {
        match *self {
            Self::Stretched { area, inertia } => (area * h, inertia * h * h * h),
            Self::FixedCap { rise, area, first, second } => {
                let c = if h < rise { h } else { rise };
                let h0 = h - c;
                let a1 = c * area;
                let s1 = c * c * first;
                let j1 = c * c * c * second;
                let a = h0 + a1;
                let s = madd::<FMA>(h0, madd::<FMA>(0.5, h0, a1), s1);
                let j = madd::<FMA>(h0, madd::<FMA>(h0, madd::<FMA>(1.0 / 3.0, h0, a1), 2.0 * s1), j1);
                (a, j - s * s / a)
            }
        }
    }

    /// Fills area, second moment and stiffness for a width and a modulus; where the height is 0 all are 0.
    pub fn fill(&self, width: f64, modulus: f64, h: &[f64], area: &mut [f64], inertia: &mut [f64], stiffness: &mut [f64]) {
        match *self {
            Self::Stretched { area: a, inertia: i } => {
                dispatch!(fill_stretched(width * a, width * i, modulus, h, area, inertia, stiffness))
            }
            Self::FixedCap { .. } => dispatch!(fill_capped(*self, width, modulus, h, area, inertia, stiffness)),
        }
    }
}

#[inline(always)]
fn fill_stretched<const FMA: bool>(
    a: f64,
    i: f64,
    e: f64,
    h: &[f64],
    area: &mut [f64],
    inertia: &mut [f64],
    stiffness: &mut [f64],
) {
    let n = h.len();
    let (area, inertia, stiffness) = (&mut area[..n], &mut inertia[..n], &mut stiffness[..n]);
    for k in 0..n {
        let v = i * h[k] * h[k] * h[k];
        area[k] = a * h[k];
        inertia[k] = v;
        stiffness[k] = e * v;
    }
}

#[inline(always)]
fn fill_capped<const FMA: bool>(
    law: SectionLaw,
    w: f64,
    e: f64,
    h: &[f64],
    area: &mut [f64],
    inertia: &mut [f64],
    stiffness: &mut [f64],
) {
    let n = h.len();
    let (area, inertia, stiffness) = (&mut area[..n], &mut inertia[..n], &mut stiffness[..n]);
    for k in 0..n {
        let (a, i) = law.at::<FMA>(if h[k] > 1e-12 { h[k] } else { 1e-12 });
        area[k] = w * a;
        inertia[k] = w * i;
        stiffness[k] = e * w * i;
    }
}
