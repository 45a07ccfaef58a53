//! A brace as a pattern says it: sizes that do not depend on how long its line comes out.

use serde::{Deserialize, Serialize};

use crate::blank::Blank;
use crate::brace::Brace;
use crate::error::{Error, Result, not_negative, positive, within};
use crate::profile::{Blend, Profile, ScallopShape};
use crate::section::{CapRise, Section};
use crate::wood::Wood;

/// A wood by its published name, or with figures of its own.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(untagged)]
pub enum WoodOf {
    /// As [`Wood::published`] knows it.
    Name(String),
    /// With its own figures.
    Whole(Box<Wood>),
}

impl WoodOf {
    /// The wood.
    pub fn wood(&self) -> Result<Wood> {
        match self {
            WoodOf::Name(name) => Wood::published(name),
            WoodOf::Whole(wood) => Ok((**wood).clone()),
        }
    }
}

impl From<&Wood> for WoodOf {
    fn from(wood: &Wood) -> Self {
        WoodOf::Whole(Box::new(wood.clone()))
    }
}

/// A scallop on a stick.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct StickScallop {
    /// Where it is deepest, mm from the start; from the end where below 0.
    pub at_mm: f64,
    /// Its length, mm.
    pub length_mm: f64,
    /// Its depth, mm.
    pub depth_mm: f64,
}

/// Sizes of a brace whose length is that of its line.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Stick {
    /// Its wood; the pattern's own where it says none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub wood: Option<WoodOf>,
    /// Width at the glue face, mm.
    pub width_mm: f64,
    /// Height of the crest, mm.
    pub height_mm: f64,
    /// Height at the start, mm; without one the crest runs level to it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub start_height_mm: Option<f64>,
    /// Height at the end, mm.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub end_height_mm: Option<f64>,
    /// Length of the ramps to those heights, mm; on a short brace they take no more than four tenths of it each.
    #[serde(default = "usual_ramp")]
    pub ramp_mm: f64,
    /// Scallops.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub scallops: Vec<StickScallop>,
    /// Part of the height that a parabolic cap takes, above 0 and at most 1; a rectangle in section without it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cap_of_height: Option<f64>,
}

fn usual_ramp() -> f64 {
    40.0
}

impl Stick {
    /// A stick of one width and height, its ends run down to `end_height_mm` over `ramp_mm`.
    pub fn plain(width_mm: f64, height_mm: f64, end_height_mm: f64, ramp_mm: f64) -> Self {
        Self {
            wood: None,
            width_mm,
            height_mm,
            start_height_mm: Some(end_height_mm),
            end_height_mm: Some(end_height_mm),
            ramp_mm,
            scallops: vec![],
            cap_of_height: None,
        }
    }

    /// The brace of that length.
    pub fn brace(&self, length_mm: f64, wood: &WoodOf, arch_radius_mm: Option<f64>) -> Result<Brace> {
        positive("height_mm", self.height_mm, "mm")?;
        positive("ramp_mm", self.ramp_mm, "mm")?;
        let wood = self.wood.as_ref().unwrap_or(wood).wood()?;
        let blank = Blank::new(&wood, length_mm, self.width_mm, self.height_mm, None)?;
        let mut profile = Profile::straight(length_mm, self.height_mm)?;
        let ramp = self.ramp_mm.min(0.4 * length_mm);
        for (name, height, left) in
            [("start_height_mm", self.start_height_mm, true), ("end_height_mm", self.end_height_mm, false)]
        {
            let Some(h) = height else { continue };
            not_negative(name, h, "mm")?;
            within(name, h, "mm", 0.0, self.height_mm)?;
            if h < self.height_mm {
                let with = if left { Profile::with_left_end } else { Profile::with_right_end };
                profile = with(&profile, ramp, h, Blend::Cosine)?;
            }
        }
        for s in &self.scallops {
            let at = if s.at_mm < 0.0 { length_mm + s.at_mm } else { s.at_mm };
            if s.depth_mm > 0.0 {
                profile = profile.with_scallop(at, s.length_mm, s.depth_mm, ScallopShape::Cosine)?;
            }
        }
        if let Some(r) = arch_radius_mm {
            profile = profile.with_arch(r)?;
        }
        let section = match self.cap_of_height {
            Some(f) => Section::parabolic_cap(CapRise::OfHeight(f))?,
            None => Section::rectangle(),
        };
        Brace::new(&blank, &profile, &section)
    }
}

/// The same error, said of a named thing.
pub(super) fn of(name: &str, e: Error) -> Error {
    match e {
        e @ Error::AtPlace { .. } => e,
        e => Error::Refused(format!("{name}: {e}")),
    }
}
