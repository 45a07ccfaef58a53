//! The side view of a brace: height of the crest above the glue face along its length.

use serde::{Deserialize, Serialize};

use crate::error::{Error, Result, not_negative, number, positive, within};
use crate::mechanics::pieces::Pieces;
use crate::mechanics::solid::Notch;

mod cuts;
mod made;
mod shapes;
mod stored;

use made::{long, stations, tall};
use stored::Stored;

pub(crate) use shapes::through;
pub use shapes::{Blend, ScallopShape};

/// One scallop: the crest lowered by `depth_mm` at `at_mm`, run out to nothing over the lengths on each side.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Scallop {
    /// Where it is deepest, mm from the left end.
    pub at_mm: f64,
    /// Length to its left, mm.
    pub left_mm: f64,
    /// Length to its right, mm.
    pub right_mm: f64,
    /// Depth below what was there, mm.
    pub depth_mm: f64,
    /// Shape of its floor.
    pub shape: ScallopShape,
}

/// Which side a half-lap notch is cut from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum NotchSide {
    /// From the crest down.
    Crest,
    /// From the glue face up.
    GlueFace,
}

/// A half-lap notch.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct HalfLap {
    /// Middle, mm from the left end.
    pub at_mm: f64,
    /// Length along the brace, mm (width of the other leg over the sine of the crossing angle).
    pub length_mm: f64,
    /// Depth of the cut, mm.
    pub depth_mm: f64,
    /// Side it is cut from.
    pub side: NotchSide,
    /// True when the crossing leg is glued in tight; false for an open notch.
    pub glued: bool,
    /// Thickness of a wooden cap glued over it along the brace, mm; 0 for none.
    pub cap_mm: f64,
}

#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
enum Base {
    Linear { left_mm: f64, right_mm: f64 },
    Parabolic { peak_mm: f64, left_mm: f64, right_mm: f64, at_mm: f64 },
    Through { at_mm: Vec<f64>, height_mm: Vec<f64>, blend: Vec<Blend> },
    Stations { at_mm: Vec<f64>, height_mm: Vec<f64> },
}

#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
struct End {
    length_mm: f64,
    height_mm: f64,
    blend: Blend,
}

/// The side view. A value: every `with_` gives a new one.
///
/// It is a base shape, end ramps, scallops and half-laps, in that order; each is a cut into what was there.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(try_from = "Stored", into = "Stored")]
pub struct Profile {
    recipe: Recipe,
    crest: Pieces,
    /// True where the crest was given and may differ from what the recipe says.
    is_cut: bool,
    /// Lowest and greatest height and where they stand: ((x, h), (x, h)).
    bounds: ((f64, f64), (f64, f64)),
}

impl PartialEq for Profile {
    fn eq(&self, other: &Self) -> bool {
        self.recipe == other.recipe && self.crest == other.crest && self.bounds == other.bounds
    }
}

#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
struct Recipe {
    length_mm: f64,
    base: Base,
    left: Option<End>,
    right: Option<End>,
    scallops: Vec<Scallop>,
    laps: Vec<HalfLap>,
    arch_radius_mm: Option<f64>,
}

/// Most scallops on one brace.
pub const MOST_SCALLOPS: usize = 4;
/// Shortest brace taken, mm: below it a unit has been mistaken.
pub const SHORTEST_MM: f64 = 1.0;
/// Longest brace taken, mm: beyond it a unit has been mistaken.
pub const LONGEST_MM: f64 = 2000.0;
/// Stations closer than this are one station written twice, mm.
const CLOSEST_MM: f64 = 1e-4;
/// Lowest brace taken where it is tallest, mm; its ends may feather out to nothing.
pub const LOWEST_MM: f64 = 0.1;
/// Least height between the ends, mm.
pub(crate) const LEAST_BETWEEN_MM: f64 = 0.01;
/// How much of an end may be lower than that, mm.
const END_MM: f64 = 1.0;
/// Shortest ramp, scallop side or notch taken, mm.
const SHORTEST_CUT_MM: f64 = 0.01;
/// Tallest brace taken, mm.
pub const TALLEST_MM: f64 = 200.0;

/// What the shape itself says, before any mechanics.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ShapeChecks {
    /// Tightest hollow of the crest, mm, and where; `None` when there is no hollow. 0 for an inside corner.
    pub tightest_hollow_mm: Option<(f64, f64)>,
    /// Steepest wall, degrees, and where.
    pub steepest_wall_deg: (f64, f64),
    /// Lowest height between the end ramps, mm, and where.
    pub lowest_floor_mm: (f64, f64),
    /// The same findings as sentences, those that break a limit first.
    pub words: Vec<String>,
    /// True when no limit given is broken.
    pub ok: bool,
}

impl Profile {
    fn base(length_mm: f64, base: Base) -> Result<Self> {
        Self::made(Recipe { length_mm, base, left: None, right: None, scallops: vec![], laps: vec![], arch_radius_mm: None })
    }

    /// The same height all along.
    pub fn straight(length_mm: f64, height_mm: f64) -> Result<Self> {
        tall("height_mm", height_mm)?;
        Self::base(length_mm, Base::Linear { left_mm: height_mm, right_mm: height_mm })
    }

    /// A straight taper from one end to the other.
    pub fn linear(length_mm: f64, left_mm: f64, right_mm: f64) -> Result<Self> {
        not_negative("left_mm", left_mm, "mm")?;
        not_negative("right_mm", right_mm, "mm")?;
        tall("the taller end", left_mm.max(right_mm))?;
        Self::base(length_mm, Base::Linear { left_mm, right_mm })
    }

    /// A parabola of height `peak_mm` at `at_mm` falling to the end heights (two half parabolas when off centre).
    pub fn parabolic(length_mm: f64, peak_mm: f64, left_mm: f64, right_mm: f64, at_mm: f64) -> Result<Self> {
        tall("peak_mm", peak_mm)?;
        within("left_mm", left_mm, "mm", 0.0, peak_mm)?;
        within("right_mm", right_mm, "mm", 0.0, peak_mm)?;
        long(length_mm)?;
        if !(at_mm > 0.0 && at_mm < length_mm) {
            return Err(Error::OutOfRange {
                quantity: "at_mm".into(),
                value: at_mm,
                unit: "mm",
                allowed: format!("inside the brace, above 0 and below {} mm", number(length_mm)),
            });
        }
        Self::base(length_mm, Base::Parabolic { peak_mm, left_mm, right_mm, at_mm })
    }

    /// Through given points, a blend between each pair: straight, cosine, cubic or quintic halves.
    /// `at_mm` starts at 0 and ends at the length; one blend for all or one for each interval.
    pub fn through(at_mm: &[f64], height_mm: &[f64], blend: &[Blend]) -> Result<Self> {
        stations("at_mm", at_mm, "height_mm", height_mm)?;
        let n = at_mm.len() - 1;
        let blend = match blend.len() {
            1 => vec![blend[0]; n],
            k if k == n => blend.to_vec(),
            k => {
                return Err(Error::BadList {
                    name: "blend".into(),
                    problem: format!("has {k} values; it takes one, or one for each of the {n} intervals"),
                });
            }
        };
        if blend.contains(&Blend::Arc) {
            return Err(Error::Refused(
                "blend is \"arc\", which is for end ramps; between points it must be one of: straight, cosine, cubic, quintic"
                    .into(),
            ));
        }
        Self::base(at_mm[n], Base::Through { at_mm: at_mm.to_vec(), height_mm: height_mm.to_vec(), blend })
    }

    /// As measured: a monotone cubic through the stations that never overshoots them (Fritsch & Carlson,
    /// SIAM J. Numer. Anal. 17 (1980) 238, with the harmonic-mean slopes of Fritsch & Butland 1984).
    pub fn measured(at_mm: &[f64], height_mm: &[f64]) -> Result<Self> {
        stations("at_mm", at_mm, "height_mm", height_mm)?;
        Self::base(at_mm[at_mm.len() - 1], Base::Stations { at_mm: at_mm.to_vec(), height_mm: height_mm.to_vec() })
    }

    /// How the crest goes with the depths of the scallops, each changing by its own `rate`: mm per mm, negative. `None` when
    /// that depends on the depth (arcs) or the crest is no longer what the recipe says.
    pub(crate) fn change_with_depths(&self, rate: impl Fn(usize) -> f64) -> Option<Pieces> {
        let scallops = &self.recipe.scallops;
        // without depth there are no breaks at a scallop's rims yet
        if self.is_cut || scallops.iter().any(|s| s.depth_mm <= 0.0 || s.shape == ScallopShape::Arc) {
            return None;
        }
        let dips = scallops.iter().enumerate().map(|(i, s)| shapes::dip(0.0, self.length_mm(), s).times(-rate(i)));
        dips.reduce(|a, b| a.combined(&b, 1.0, 1.0))
    }

    /// Where this crest stands furthest above another's: `(x, how far)`, mm; negative when it lies below everywhere.
    pub(crate) fn above(&self, other: &Self) -> (f64, f64) {
        let ((_, low), _) = other.bounds;
        if other.crest.polys().len() == 1 && other.crest.polys()[0].n == 1 {
            return (self.bounds.1.0, self.bounds.1.1 - low);
        }
        self.crest.combined(&other.crest, 1.0, -1.0).extremes(0.0, self.length_mm().min(other.length_mm())).1
    }

    /// Tallest height of the base shape before ends and scallops, mm.
    pub fn base_height_mm(&self) -> f64 {
        match &self.recipe.base {
            Base::Linear { left_mm, right_mm } => left_mm.max(*right_mm),
            Base::Parabolic { peak_mm, .. } => *peak_mm,
            Base::Through { height_mm, .. } | Base::Stations { height_mm, .. } => height_mm.iter().copied().fold(0.0, f64::max),
        }
    }

    /// Greatest height, mm.
    pub(crate) fn tallest_mm(&self) -> f64 {
        self.bounds.1.1
    }

    /// Lowest height, mm.
    pub(crate) fn least_mm(&self) -> f64 {
        self.bounds.0.1
    }

    /// Length, mm.
    pub fn length_mm(&self) -> f64 {
        self.recipe.length_mm
    }

    /// The scallops, in the order given.
    pub fn scallops(&self) -> &[Scallop] {
        &self.recipe.scallops
    }

    /// The half-laps.
    pub fn half_laps(&self) -> &[HalfLap] {
        &self.recipe.laps
    }

    /// Height at the end ramps' tips, mm, left then right; `None` where there is no ramp.
    pub fn end_heights_mm(&self) -> (Option<f64>, Option<f64>) {
        (self.recipe.left.map(|e| e.height_mm), self.recipe.right.map(|e| e.height_mm))
    }

    /// Where the body between the end ramps begins and ends, mm.
    pub fn body_mm(&self) -> (f64, f64) {
        let l = self.recipe.left.map_or(0.0, |e| e.length_mm);
        let r = self.recipe.right.map_or(0.0, |e| e.length_mm);
        (l, self.recipe.length_mm - r)
    }

    /// Radius of the arched glue face, mm.
    pub fn arch_radius_mm(&self) -> Option<f64> {
        self.recipe.arch_radius_mm
    }

    /// The crest as polynomial pieces, mm over mm; half-laps are not in it.
    pub fn crest(&self) -> &Pieces {
        &self.crest
    }

    /// A profile whose crest is given as pieces (a pass of a carving plan); it can be read, solved and cut further.
    pub(crate) fn with_crest(&self, crest: Pieces) -> Self {
        let bounds = crest.extremes(crest.start(), crest.end());
        Self { recipe: self.recipe.clone(), crest, is_cut: true, bounds }
    }

    /// Height at each station, mm; stations inside the brace.
    pub fn height_mm(&self, x_mm: &[f64]) -> Result<Vec<f64>> {
        self.on_brace("x_mm", x_mm)?;
        let mut out = vec![0.0; x_mm.len()];
        self.crest.fill(x_mm, &mut out);
        Ok(out)
    }

    /// Error unless every station lies on the brace.
    pub fn on_brace(&self, name: &str, x_mm: &[f64]) -> Result<()> {
        let (low, high) = (0.0, self.recipe.length_mm);
        // without an early way out, so that it runs in vector code
        if x_mm.iter().fold(true, |sound, x| sound & (*x >= low) & (*x <= high)) {
            return Ok(());
        }
        for (i, &x) in x_mm.iter().enumerate() {
            within(&format!("{name}[{i}]"), x, "mm", low, high)?;
        }
        Ok(())
    }

    /// Arch of the glue face, mm over mm: zero at both ends, highest in the middle.
    pub(crate) fn arch(&self) -> Option<Pieces> {
        self.recipe.arch_radius_mm.map(|r| {
            let l = self.recipe.length_mm;
            let low = (r * r - 0.25 * l * l).max(0.0).sqrt();
            Pieces::fit(&[0.0, l], 1e-12 * r, |x| (r * r - (x - 0.5 * l).powi(2)).max(0.0).sqrt() - low)
        })
    }

    /// The square cuts as the mechanics takes them.
    pub(crate) fn notches(&self) -> Vec<Notch> {
        self.recipe
            .laps
            .iter()
            .map(|l| {
                let h = self.crest.at(l.at_mm);
                let (low, high) = match l.side {
                    NotchSide::Crest => (h - l.depth_mm, f64::INFINITY),
                    NotchSide::GlueFace => (0.0, l.depth_mm),
                };
                Notch {
                    start: l.at_mm - 0.5 * l.length_mm,
                    end: l.at_mm + 0.5 * l.length_mm,
                    low,
                    high,
                    filled: l.glued,
                    strip: l.cap_mm,
                }
            })
            .collect()
    }

    /// The profile seen from the other end.
    pub fn mirrored(&self) -> Self {
        let l = self.recipe.length_mm;
        let mut r = self.recipe.clone();
        std::mem::swap(&mut r.left, &mut r.right);
        for s in &mut r.scallops {
            s.at_mm = l - s.at_mm;
            std::mem::swap(&mut s.left_mm, &mut s.right_mm);
        }
        for s in &mut r.laps {
            s.at_mm = l - s.at_mm;
        }
        match &mut r.base {
            Base::Linear { left_mm, right_mm } => std::mem::swap(left_mm, right_mm),
            Base::Parabolic { left_mm, right_mm, at_mm, .. } => {
                std::mem::swap(left_mm, right_mm);
                *at_mm = l - *at_mm;
            }
            Base::Through { at_mm, height_mm, blend } => {
                at_mm.iter_mut().for_each(|x| *x = l - *x);
                at_mm.reverse();
                height_mm.reverse();
                blend.reverse();
            }
            Base::Stations { at_mm, height_mm } => {
                at_mm.iter_mut().for_each(|x| *x = l - *x);
                at_mm.reverse();
                height_mm.reverse();
            }
        }
        let (low, high) = self.bounds;
        Self { recipe: r, crest: self.crest.mirrored(), is_cut: self.is_cut, bounds: ((l - low.0, low.1), (l - high.0, high.1)) }
    }

    /// Gouge, wall and floor checks against limits that may be left out.
    pub fn checks(
        &self,
        gouge_radius_mm: Option<f64>,
        steepest_wall_deg: Option<f64>,
        smallest_safe_height_mm: Option<f64>,
    ) -> Result<ShapeChecks> {
        for (name, v, unit) in [
            ("gouge_radius_mm", gouge_radius_mm, "mm"),
            ("steepest_wall_deg", steepest_wall_deg, "degrees"),
            ("smallest_safe_height_mm", smallest_safe_height_mm, "mm"),
        ] {
            if let Some(v) = v {
                positive(name, v, unit)?;
            }
        }
        Ok(shapes::checks(self, gouge_radius_mm, steepest_wall_deg, smallest_safe_height_mm))
    }
}
