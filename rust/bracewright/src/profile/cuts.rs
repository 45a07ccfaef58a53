//! A profile changed: ends, scallops, half-laps, heights. Each gives a new one.

use super::made::tall;
use super::{Base, Blend, End, HalfLap, MOST_SCALLOPS, Profile, Recipe, SHORTEST_CUT_MM, Scallop, ScallopShape};
use crate::error::{Error, Result, not_negative, positive, within};

impl Profile {
    fn changed(&self, f: impl FnOnce(&mut Recipe)) -> Result<Self> {
        let mut recipe = self.recipe.clone();
        f(&mut recipe);
        Self::made(recipe)
    }

    /// Both ends ramped down to `height_mm` over `length_mm`: 0 to 1.5 mm is a feather, 2 to 3.2 mm a tuck.
    pub fn with_ends(&self, length_mm: f64, height_mm: f64, blend: Blend) -> Result<Self> {
        self.with_left_end(length_mm, height_mm, blend)?.with_right_end(length_mm, height_mm, blend)
    }

    /// The left end ramped down.
    pub fn with_left_end(&self, length_mm: f64, height_mm: f64, blend: Blend) -> Result<Self> {
        let end = self.end(length_mm, height_mm, blend)?;
        self.changed(|r| r.left = Some(end))
    }

    /// The right end ramped down.
    pub fn with_right_end(&self, length_mm: f64, height_mm: f64, blend: Blend) -> Result<Self> {
        let end = self.end(length_mm, height_mm, blend)?;
        self.changed(|r| r.right = Some(end))
    }

    fn end(&self, length_mm: f64, height_mm: f64, blend: Blend) -> Result<End> {
        positive("length_mm", length_mm, "mm")?;
        within("length_mm", length_mm, "mm", SHORTEST_CUT_MM, self.recipe.length_mm)?;
        not_negative("height_mm", height_mm, "mm")?;
        Ok(End { length_mm, height_mm, blend })
    }

    /// One more scallop, the same length on both sides.
    pub fn with_scallop(&self, at_mm: f64, length_mm: f64, depth_mm: f64, shape: ScallopShape) -> Result<Self> {
        positive("length_mm", length_mm, "mm")?;
        self.with_uneven_scallop(Scallop { at_mm, left_mm: 0.5 * length_mm, right_mm: 0.5 * length_mm, depth_mm, shape })
    }

    /// One more scallop with its own length on each side.
    pub fn with_uneven_scallop(&self, scallop: Scallop) -> Result<Self> {
        if self.recipe.scallops.len() >= MOST_SCALLOPS {
            return Err(Error::Refused(format!("a brace takes at most {MOST_SCALLOPS} scallops, and this one has them already")));
        }
        self.changed(|r| r.scallops.push(scallop))
    }

    /// All scallops replaced.
    pub fn with_scallops(&self, scallops: &[Scallop]) -> Result<Self> {
        self.changed(|r| r.scallops = scallops.to_vec())
    }

    /// A half-lap notch.
    pub fn with_half_lap(&self, lap: HalfLap) -> Result<Self> {
        self.changed(|r| r.laps.push(lap))
    }

    /// The glue face arched to a radius (mm, from a metre up); heights stay measured from the glue face.
    pub fn with_arch(&self, radius_mm: f64) -> Result<Self> {
        within("radius_mm", radius_mm, "mm", 1000.0, 1e6)?;
        self.changed(|r| r.arch_radius_mm = Some(radius_mm))
    }

    /// The base height raised or lowered so that its tallest place is `height_mm`; ends and scallops stay as they are.
    pub fn with_height(&self, height_mm: f64) -> Result<Self> {
        tall("height_mm", height_mm)?;
        let now = self.base_height_mm();
        self.changed(|r| match &mut r.base {
            Base::Linear { left_mm, right_mm } => {
                (*left_mm, *right_mm) = (*left_mm + height_mm - now, *right_mm + height_mm - now);
            }
            Base::Parabolic { peak_mm, .. } => *peak_mm = height_mm,
            Base::Through { height_mm: h, .. } | Base::Stations { height_mm: h, .. } => {
                h.iter_mut().for_each(|v| *v += height_mm - now);
            }
        })
    }

    /// End height(s) replaced where the profile has end ramps.
    pub fn with_end_height(&self, height_mm: f64) -> Result<Self> {
        not_negative("height_mm", height_mm, "mm")?;
        if self.recipe.left.is_none() && self.recipe.right.is_none() {
            return Err(Error::Refused(
                "this profile has no end ramps whose height could change; add them with with_ends".into(),
            ));
        }
        self.changed(|r| {
            for e in [&mut r.left, &mut r.right].into_iter().flatten() {
                e.height_mm = height_mm;
            }
        })
    }

    /// Height of the lowest floor between two higher places: of the scallops, or of the points of a profile made through
    /// points; `None` when there is none.
    pub fn floor_height_mm(&self) -> Option<f64> {
        if !self.recipe.scallops.is_empty() {
            return self.recipe.scallops.iter().map(|s| self.crest.at(s.at_mm)).reduce(f64::min);
        }
        match &self.recipe.base {
            Base::Through { height_mm, .. } => floors(height_mm).into_iter().map(|k| height_mm[k]).reduce(f64::min),
            _ => None,
        }
    }

    /// With every floor at a height: scallops cut so deep, or the low points of a profile made through points moved.
    pub fn with_floor_height(&self, floor_mm: f64) -> Result<Self> {
        not_negative("floor_mm", floor_mm, "mm")?;
        if !self.recipe.scallops.is_empty() {
            let now: Vec<f64> = self.recipe.scallops.iter().map(|s| self.crest.at(s.at_mm)).collect();
            return self.changed(|r| {
                r.scallops.iter_mut().zip(&now).for_each(|(s, h)| s.depth_mm = (s.depth_mm + h - floor_mm).max(0.0))
            });
        }
        self.changed(|r| {
            if let Base::Through { height_mm, .. } = &mut r.base {
                for k in floors(height_mm) {
                    height_mm[k] = floor_mm;
                }
            }
        })
    }
}

/// Indices of points lower than the points on both sides.
fn floors(height: &[f64]) -> Vec<usize> {
    (1..height.len().saturating_sub(1)).filter(|&k| height[k] < height[k - 1] && height[k] < height[k + 1]).collect()
}
