//! The cross-section of a brace: what is left of the width above the glue face.

use serde::{Deserialize, Serialize};

use crate::error::{Result, positive, unknown_name, within};
use crate::mechanics::solid::{Cap, Outline, Rise};

/// A family of cross-sections. The width at the glue face is the blank's; the height is the profile's.
///
/// All are nested: lowering the crest, raising the rise or narrowing the crest only takes wood away. Where the height
/// falls below a fixed rise, the rise is the height and the glue width stays whole.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Section {
    family: Family,
}

#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
enum Family {
    Rectangle,
    TaperedSides { crest_width_mm: f64 },
    Capped { cap: Cap, rise: Rise },
}

/// Area and moments of one section; lengths in mm.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct SectionNumbers {
    /// Area, mm2.
    pub area_mm2: f64,
    /// Height of the centroid above the glue face, mm.
    pub centroid_mm: f64,
    /// Second moment about the centroid, bending in the height, mm4.
    pub i_centroid_mm4: f64,
    /// Second moment about the glue face, mm4.
    pub i_glue_mm4: f64,
    /// Second moment about the middle of the width, bending sideways, mm4.
    pub i_sideways_mm4: f64,
    /// Section modulus at the crest, mm3.
    pub modulus_crest_mm3: f64,
    /// Section modulus at the glue face, mm3.
    pub modulus_glue_mm3: f64,
}

/// The rise of a cap, given one way or the other.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum CapRise {
    /// Fixed, mm.
    Mm(f64),
    /// Part of the height, above 0 to 1: the cap follows the height.
    OfHeight(f64),
}

/// Names of the section families.
pub const FAMILIES: [&str; 6] = ["rectangle", "tapered sides", "rounded cap", "parabolic cap", "triangular cap", "cusp cap"];

/// Largest exponent of the general cap: beyond it the crest is a thread.
pub const MAX_EXPONENT: f64 = 8.0;

/// Least width, height or rise of a section, mm: below it a unit has been mistaken.
pub const LEAST_MM: f64 = 0.001;
/// Greatest, mm.
pub const MOST_MM: f64 = 1000.0;

impl Section {
    /// A plain rectangle.
    pub fn rectangle() -> Self {
        Self { family: Family::Rectangle }
    }

    /// Straight sides narrowing from the glue width to `crest_width_mm` at the crest, whatever the height.
    pub fn tapered_sides(crest_width_mm: f64) -> Result<Self> {
        positive("crest_width_mm", crest_width_mm, "mm")?;
        within("crest_width_mm", crest_width_mm, "mm", LEAST_MM, MOST_MM)?;
        Ok(Self { family: Family::TaperedSides { crest_width_mm } })
    }

    fn capped(cap: Cap, rise: CapRise) -> Result<Self> {
        let rise = match rise {
            CapRise::Mm(v) => {
                positive("rise_mm", v, "mm")?;
                Rise::Fixed(within("rise_mm", v, "mm", LEAST_MM, MOST_MM)?)
            }
            CapRise::OfHeight(v) => {
                positive("rise_of_height", v, "")?;
                Rise::Fraction(within("rise_of_height", v, "", 1e-3, 1.0)?)
            }
        };
        Ok(Self { family: Family::Capped { cap, rise } })
    }

    /// Half an ellipse on a parallel base.
    pub fn rounded_cap(rise: CapRise) -> Result<Self> {
        Self::capped(Cap::Rounded, rise)
    }

    /// A parabola on a parallel base (exponent 1/2 of the general family).
    pub fn parabolic_cap(rise: CapRise) -> Result<Self> {
        Self::capped(Cap::Power(0.5), rise)
    }

    /// A triangle on a parallel base (exponent 1).
    pub fn triangular_cap(rise: CapRise) -> Result<Self> {
        Self::capped(Cap::Power(1.0), rise)
    }

    /// A cusp on a parallel base (exponent 2).
    pub fn cusp_cap(rise: CapRise) -> Result<Self> {
        Self::capped(Cap::Power(2.0), rise)
    }

    /// The general family: width b (1 - y/c)^exponent over a cap of rise c; exponent above 0 to [`MAX_EXPONENT`].
    pub fn power_cap(exponent: f64, rise: CapRise) -> Result<Self> {
        positive("exponent", exponent, "")?;
        within("exponent", exponent, "", 0.0, MAX_EXPONENT)?;
        Self::capped(Cap::Power(exponent), rise)
    }

    /// By the name of its family, with the numbers that family takes.
    pub fn named(family: &str, crest_width_mm: Option<f64>, rise: Option<CapRise>) -> Result<Self> {
        let missing = |what: &str| crate::Error::Refused(format!("a section with {family} needs {what}"));
        let rise = rise.ok_or_else(|| missing("rise_mm or rise_of_height"));
        match family.trim().to_lowercase().as_str() {
            "rectangle" => Ok(Self::rectangle()),
            "tapered sides" => Self::tapered_sides(crest_width_mm.ok_or_else(|| missing("crest_width_mm"))?),
            "rounded cap" => Self::rounded_cap(rise?),
            "parabolic cap" => Self::parabolic_cap(rise?),
            "triangular cap" => Self::triangular_cap(rise?),
            "cusp cap" => Self::cusp_cap(rise?),
            _ => Err(unknown_name("family", family, FAMILIES)),
        }
    }

    /// The family's name; the general family says its exponent.
    pub fn name(&self) -> String {
        match self.family {
            Family::Rectangle => "rectangle".into(),
            Family::TaperedSides { .. } => "tapered sides".into(),
            Family::Capped { cap, .. } => match cap {
                Cap::Rounded => "rounded cap".into(),
                Cap::Power(0.5) => "parabolic cap".into(),
                Cap::Power(1.0) => "triangular cap".into(),
                Cap::Power(2.0) => "cusp cap".into(),
                Cap::Power(p) => format!("cap of exponent {}", crate::error::number(p)),
            },
        }
    }

    /// True when area and second moment per width are the same function of the height at every width.
    pub(crate) fn is_one_law(&self) -> bool {
        !matches!(self.family, Family::TaperedSides { .. })
    }

    /// Fixed rise of the cap, mm; `None` for a family without one or one that follows the height.
    pub fn rise_mm(&self) -> Option<f64> {
        match self.family {
            Family::Capped { rise: Rise::Fixed(c), .. } => Some(c),
            _ => None,
        }
    }

    /// Rise as a part of the height; `None` unless it follows the height.
    pub fn rise_of_height(&self) -> Option<f64> {
        match self.family {
            Family::Capped { rise: Rise::Fraction(f), .. } => Some(f),
            _ => None,
        }
    }

    /// Width at the crest of tapered sides, mm.
    pub fn crest_width_mm(&self) -> Option<f64> {
        match self.family {
            Family::TaperedSides { crest_width_mm } => Some(crest_width_mm),
            _ => None,
        }
    }

    /// The same family with another fixed rise.
    pub fn with_rise_mm(&self, rise_mm: f64) -> Result<Self> {
        match self.family {
            Family::Capped { cap, .. } => Self::capped(cap, CapRise::Mm(rise_mm)),
            _ => Err(crate::Error::Refused(format!("a {} has no cap whose rise could change", self.name()))),
        }
    }

    /// True when the crest is flat: something can rest on it.
    pub fn flat_crest(&self) -> bool {
        !matches!(self.family, Family::Capped { .. })
    }

    /// The outline the mechanics uses, for a width at the glue face. Errors when the crest would be wider than the foot.
    pub fn outline(&self, width_mm: f64) -> Result<Outline> {
        positive("width_mm", width_mm, "mm")?;
        Ok(match self.family {
            Family::Rectangle => Outline::Sides(1.0),
            Family::TaperedSides { crest_width_mm } => {
                within("crest_width_mm", crest_width_mm, "mm", 0.0, width_mm)?;
                Outline::Sides(crest_width_mm / width_mm)
            }
            Family::Capped { cap, rise } => Outline::Capped(cap, rise),
        })
    }

    /// Width at `z_mm` above the glue face of a section `height_mm` high. Zero outside the wood.
    pub fn width_mm(&self, z_mm: f64, height_mm: f64, width_mm: f64) -> Result<f64> {
        positive("height_mm", height_mm, "mm")?;
        Ok(width_mm * self.outline(width_mm)?.width(z_mm, height_mm))
    }

    /// Area, centroid and second moments of a section of that height and glue width; closed forms
    /// (elementary; the caps from the integrals of (1 - y/c)^p and of the half-ellipse).
    pub fn numbers(&self, height_mm: f64, width_mm: f64) -> Result<SectionNumbers> {
        positive("height_mm", height_mm, "mm")?;
        within("height_mm", height_mm, "mm", LEAST_MM, MOST_MM)?;
        positive("width_mm", width_mm, "mm")?;
        within("width_mm", width_mm, "mm", LEAST_MM, MOST_MM)?;
        let m = self.outline(width_mm)?.whole(height_mm);
        let i = width_mm * m.about_centroid();
        let centroid = m.centroid();
        Ok(SectionNumbers {
            area_mm2: width_mm * m.area,
            centroid_mm: centroid,
            i_centroid_mm4: i,
            i_glue_mm4: width_mm * m.second,
            i_sideways_mm4: width_mm.powi(3) * m.lateral,
            modulus_crest_mm3: i / (height_mm - centroid),
            modulus_glue_mm3: i / centroid,
        })
    }

    /// True when `inner` lies inside `self` at every height not above `height_mm`, for the same glue width: the change
    /// from one to the other is a cut.
    pub fn contains(&self, inner: &Self, height_mm: f64, width_mm: f64) -> Result<bool> {
        let (outer, inner) = (self.outline(width_mm)?, inner.outline(width_mm)?);
        Ok((0..=64).all(|k| {
            let z = height_mm * k as f64 / 64.0;
            inner.width(z, height_mm) <= outer.width(z, height_mm) + 1e-12
        }))
    }
}
