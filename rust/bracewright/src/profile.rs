//! The side view of a brace: height of the crest above the glue face along its length.

use serde::{Deserialize, Serialize};

use crate::error::{Error, Result, finite, increasing, not_negative, number, positive, same_length, unknown_name, within};
use crate::mechanics::pieces::{MAX_COEFFICIENTS, Pieces, Poly};
use crate::mechanics::solid::Notch;

mod shapes;
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

/// As written to a file: the recipe, and the crest itself where the cuts of a plan have left the recipe behind.
#[derive(Serialize, Deserialize)]
struct Stored {
    #[serde(flatten)]
    recipe: Recipe,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    cut: Option<Cut>,
}

#[derive(Serialize, Deserialize)]
struct Cut {
    breaks_mm: Vec<f64>,
    coefficients: Vec<Vec<f64>>,
    bounds: ((f64, f64), (f64, f64)),
}

impl TryFrom<Stored> for Profile {
    type Error = Error;
    fn try_from(stored: Stored) -> Result<Self> {
        let plain = Self::made(stored.recipe)?;
        let Some(Cut { breaks_mm, coefficients, bounds }) = stored.cut else { return Ok(plain) };
        increasing("breaks_mm of the crest", &breaks_mm, "mm", 2)?;
        same_length("breaks_mm less one", breaks_mm.len() - 1, "coefficients", coefficients.len())?;
        let (start, end) = (breaks_mm[0], breaks_mm[breaks_mm.len() - 1]);
        let sound = coefficients.iter().all(|c| (1..=MAX_COEFFICIENTS).contains(&c.len()) && c.iter().all(|v| v.is_finite()));
        if !sound || start.abs() > 1e-9 || (end - plain.length_mm()).abs() > 1e-6 {
            return Err(Error::BadList {
                name: "the stored crest".into(),
                problem: "does not run along the whole brace in finite pieces".into(),
            });
        }
        let polys = coefficients.iter().map(|c| Poly::new(c)).collect();
        Ok(Self { recipe: plain.recipe, crest: Pieces::new(breaks_mm, polys), is_cut: true, bounds })
    }
}

impl From<Profile> for Stored {
    fn from(p: Profile) -> Self {
        let as_recipe = Profile::made(p.recipe.clone()).is_ok_and(|made| made == p);
        let cut = (!as_recipe).then(|| Cut {
            breaks_mm: p.crest.breaks().to_vec(),
            coefficients: p.crest.polys().iter().map(|q| q.c[..q.n].to_vec()).collect(),
            bounds: p.bounds,
        });
        Self { recipe: p.recipe, cut }
    }
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

    /// How the crest at `x` goes with the depths of the scallops, each changing by its own `rate`: mm per mm, negative. `None`
    /// when that depends on the depth (arcs) or the crest is no longer what the recipe says.
    pub(crate) fn change_with_depths(&self, x: &[f64], rate: impl Fn(usize) -> f64) -> Option<Vec<f64>> {
        if self.is_cut || self.recipe.scallops.is_empty() {
            return None;
        }
        let mut out = vec![0.0; x.len()];
        for (i, s) in self.recipe.scallops.iter().enumerate() {
            // without depth there are no breaks at its rims yet
            if s.depth_mm <= 0.0 || s.shape == ScallopShape::Arc {
                return None;
            }
            let rate = rate(i);
            for (o, &x) in out.iter_mut().zip(x) {
                let d = x - s.at_mm;
                let v = d / if d < 0.0 { s.left_mm } else { s.right_mm };
                if v.abs() < 1.0 {
                    *o -= rate * s.shape.share(v);
                }
            }
        }
        Some(out)
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

    fn made(recipe: Recipe) -> Result<Self> {
        long(recipe.length_mm)?;
        let l = recipe.length_mm;
        let mut crest = match &recipe.base {
            Base::Linear { left_mm, right_mm } => Pieces::line(0.0, l, *left_mm, *right_mm),
            Base::Parabolic { peak_mm, left_mm, right_mm, at_mm } => shapes::parabola(l, *peak_mm, *left_mm, *right_mm, *at_mm),
            Base::Through { at_mm, height_mm, blend } => shapes::through(at_mm, height_mm, blend),
            Base::Stations { at_mm, height_mm } => shapes::monotone(at_mm, height_mm),
        };
        if let (Some(a), Some(b)) = (recipe.left, recipe.right)
            && a.length_mm + b.length_mm > l * (1.0 + 1e-12)
        {
            return Err(Error::Refused(format!(
                "the end ramps are {} and {} mm long; together they must not be longer than the brace, {} mm",
                number(a.length_mm),
                number(b.length_mm),
                number(l)
            )));
        }
        for (end, at_left) in [(recipe.left, true), (recipe.right, false)] {
            if let Some(e) = end {
                let tip = crest.at(if at_left { 0.0 } else { l });
                within("height_mm of the end", e.height_mm, "mm", 0.0, tip)?;
                crest = shapes::end_ramp(&crest, e.length_mm, e.height_mm, e.blend, at_left)?;
            }
        }
        let mut spans: Vec<(f64, f64)> = Vec::new();
        for (i, s) in recipe.scallops.iter().enumerate() {
            let k = i + 1;
            finite(&format!("at_mm of scallop {k}"), s.at_mm, "mm")?;
            for (side, length) in [("left", s.left_mm), ("right", s.right_mm)] {
                let name = format!("length to the {side} of scallop {k}");
                positive(&name, length, "mm")?;
                within(&name, length, "mm", SHORTEST_CUT_MM, l)?;
            }
            not_negative(&format!("depth_mm of scallop {k}"), s.depth_mm, "mm")?;
            let (a, b) = (s.at_mm - s.left_mm, s.at_mm + s.right_mm);
            if a < -1e-9 || b > l + 1e-9 {
                return Err(Error::Refused(format!(
                    "scallop {k}, at_mm {}, reaches from {} to {} mm; it must lie on the brace, from 0 to {} mm",
                    number(s.at_mm),
                    number(a),
                    number(b),
                    number(l)
                )));
            }
            if let Some(o) = spans.iter().find(|o| a < o.1 - 1e-9 && b > o.0 + 1e-9) {
                return Err(Error::Refused(format!(
                    "scallop {k}, from {} to {} mm, overlaps the one from {} to {} mm; scallops must lie beside each other",
                    number(a),
                    number(b),
                    number(o.0),
                    number(o.1)
                )));
            }
            spans.push((a, b));
            crest = shapes::scalloped(&crest, s, k)?;
        }
        let plain = recipe.left.is_none() && recipe.right.is_none() && recipe.scallops.is_empty();
        // every base is monotone between its breaks: its extremes stand at them
        let bounds = if plain { at_breaks(&crest) } else { crest.extremes(0.0, l) };
        let (low, high) = bounds;
        if low.1 < -1e-9 || (low.1 <= 1e-9 && low.0 > 1e-6 && low.0 < l - 1e-6) {
            return Err(Error::Refused(format!(
                "the crest is at {} mm above the glue face at x = {} mm; between its ends a brace must keep some height: cut less deep",
                number(low.1),
                number(low.0)
            )));
        }
        tall("height_mm", high.1)?;
        for (i, n) in recipe.laps.iter().enumerate() {
            let k = i + 1;
            positive(&format!("length_mm of half-lap {k}"), n.length_mm, "mm")?;
            within(&format!("length_mm of half-lap {k}"), n.length_mm, "mm", SHORTEST_CUT_MM, l)?;
            not_negative(&format!("cap_mm of half-lap {k}"), n.cap_mm, "mm")?;
            let (a, b) = (n.at_mm - 0.5 * n.length_mm, n.at_mm + 0.5 * n.length_mm);
            if !(a > 0.0 && b < l) {
                return Err(Error::Refused(format!(
                    "half-lap {k} reaches from {} to {} mm; it must lie inside the brace, from 0 to {} mm",
                    number(a),
                    number(b),
                    number(l)
                )));
            }
            let least = crest.extremes(a, b).0.1;
            if !(n.depth_mm > 0.0 && n.depth_mm < least) {
                return Err(Error::OutOfRange {
                    quantity: format!("depth_mm of half-lap {k}"),
                    value: n.depth_mm,
                    unit: "mm",
                    allowed: format!("above 0 and below the height there, {} mm", number(least)),
                });
            }
            if recipe.laps[..i].iter().any(|o| (o.at_mm - n.at_mm).abs() < 0.5 * (o.length_mm + n.length_mm)) {
                return Err(Error::Refused(format!("half-lap {k} overlaps another one")));
            }
        }
        Ok(Self { recipe, crest, is_cut: false, bounds })
    }
}

/// Indices of points lower than the points on both sides.
fn floors(height: &[f64]) -> Vec<usize> {
    (1..height.len().saturating_sub(1)).filter(|&k| height[k] < height[k - 1] && height[k] < height[k + 1]).collect()
}

/// Lowest and greatest value at the breaks.
fn at_breaks(crest: &Pieces) -> ((f64, f64), (f64, f64)) {
    let (mut low, mut high) = ((0.0, f64::INFINITY), (0.0, f64::NEG_INFINITY));
    for (i, p) in crest.polys().iter().enumerate() {
        for (x, h) in [(crest.breaks()[i], p.at(-1.0)), (crest.breaks()[i + 1], p.at(1.0))] {
            if h < low.1 {
                low = (x, h);
            }
            if h > high.1 {
                high = (x, h);
            }
        }
    }
    (low, high)
}

/// Error unless stations and heights make a profile.
fn stations(at: &str, at_mm: &[f64], height: &str, height_mm: &[f64]) -> Result<()> {
    same_length(at, at_mm.len(), height, height_mm.len())?;
    increasing(at, at_mm, "mm", 2)?;
    if let Some(k) = at_mm.windows(2).position(|w| w[1] - w[0] < CLOSEST_MM) {
        return Err(Error::BadList {
            name: at.into(),
            problem: format!(
                "has values {k} and {} at {} mm, closer than {} mm; leave one of them out",
                k + 1,
                number(at_mm[k]),
                number(CLOSEST_MM)
            ),
        });
    }
    if at_mm[0] != 0.0 {
        return Err(Error::OutOfRange {
            quantity: format!("{at}[0]"),
            value: at_mm[0],
            unit: "mm",
            allowed: "0: stations are measured from the left end".into(),
        });
    }
    for (i, h) in height_mm.iter().enumerate() {
        within(&format!("{height}[{i}]"), *h, "mm", 0.0, TALLEST_MM)?;
    }
    Ok(())
}

fn long(length_mm: f64) -> Result<f64> {
    positive("length_mm", length_mm, "mm")?;
    within("length_mm", length_mm, "mm", SHORTEST_MM, LONGEST_MM)
}

fn tall(name: &str, height_mm: f64) -> Result<f64> {
    positive(name, height_mm, "mm")?;
    within(name, height_mm, "mm", LOWEST_MM, TALLEST_MM)
}

impl std::str::FromStr for Blend {
    type Err = Error;
    fn from_str(s: &str) -> Result<Self> {
        Self::ALL
            .into_iter()
            .find(|b| b.name() == s.trim().to_lowercase())
            .ok_or_else(|| unknown_name("blend", s, Self::ALL.map(|b| b.name())))
    }
}

impl std::str::FromStr for ScallopShape {
    type Err = Error;
    fn from_str(s: &str) -> Result<Self> {
        Self::ALL
            .into_iter()
            .find(|b| b.name() == s.trim().to_lowercase())
            .ok_or_else(|| unknown_name("shape", s, Self::ALL.map(|b| b.name())))
    }
}
