//! A brace: a blank, the profile it has or will have, and its section.

pub(crate) mod bend;
mod drawn;
mod vibrate;
mod working;

pub use bend::{Bend, Load, Support};
pub use drawn::Drawn;
pub(crate) use drawn::MidNodes;
pub use vibrate::Frequencies;
pub use working::Working;

use serde::{Deserialize, Serialize};

use crate::blank::Blank;
use crate::error::{Error, Result, number, positive, within};
use crate::mechanics::pieces::Pieces;
use crate::mechanics::solid::Solid;
use crate::profile::{Profile, Scallop, ShapeChecks};
use crate::section::Section;

/// A brace. A value: every change is a new one.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Brace {
    blank: Blank,
    profile: Profile,
    section: Section,
    width_mm: f64,
}

/// The section's numbers along the brace, one value a station.
#[derive(Debug, Clone, PartialEq, Default, serde::Serialize, serde::Deserialize)]
pub struct AlongBrace {
    /// Stations, mm from the left end.
    pub x_mm: Vec<f64>,
    /// Height of the crest above the glue face, mm.
    pub height_mm: Vec<f64>,
    /// Area, mm2.
    pub area_mm2: Vec<f64>,
    /// Centroid above the glue face, mm.
    pub centroid_mm: Vec<f64>,
    /// Second moment about the centroid, mm4.
    pub i_centroid_mm4: Vec<f64>,
    /// Second moment about the glue face, mm4.
    pub i_glue_mm4: Vec<f64>,
    /// EI of the drawing about the centroid, N m2.
    pub ei_n_m2: Vec<f64>,
    /// Section modulus at the crest, mm3.
    pub modulus_crest_mm3: Vec<f64>,
    /// Section modulus at the glue face, mm3.
    pub modulus_glue_mm3: Vec<f64>,
}

/// Dimensions that [`Brace::with_dimension`] can change.
pub const DIMENSIONS: [&str; 11] = [
    "scallop depth",
    "scallop length",
    "floor height",
    "height",
    "end height",
    "width",
    "cap rise",
    "scallop 1 depth",
    "scallop 2 depth",
    "scallop 3 depth",
    "scallop 4 depth",
];

/// How far above the blank a profile may stand before it is refused, mm: what a calliper cannot see.
pub const ABOVE_BLANK_MM: f64 = 1e-6;

impl Brace {
    /// A brace of that shape cut from that blank. Errors when the profile stands above the blank anywhere, or is of
    /// another length.
    pub fn new(blank: &Blank, profile: &Profile, section: &Section) -> Result<Self> {
        Self::of_width(blank, profile, section, blank.width_mm())
    }

    /// The stick as it stands: a rectangle in section.
    pub fn uncarved(blank: &Blank) -> Self {
        Self { blank: blank.clone(), profile: blank.start().clone(), section: Section::rectangle(), width_mm: blank.width_mm() }
    }

    fn of_width(blank: &Blank, profile: &Profile, section: &Section, width_mm: f64) -> Result<Self> {
        let (l, lb) = (profile.length_mm(), blank.length_mm());
        if (l - lb).abs() > 1e-6 {
            return Err(Error::Refused(format!(
                "the profile is {} mm long and the blank {} mm; they must be the same (saw the blank first)",
                number(l),
                number(lb)
            )));
        }
        positive("width_mm", width_mm, "mm")?;
        within("width_mm", width_mm, "mm", crate::blank::NARROWEST_MM, blank.width_mm())?;
        section.outline(width_mm)?;
        let over = profile.above(blank.start());
        if over.1 > ABOVE_BLANK_MM {
            return Err(Error::Refused(format!(
                "the profile stands {} mm above the blank at x = {} mm; a cut only takes wood away, so the height there must be at most {} mm",
                number((over.1 * 1e4).round() / 1e4),
                number((over.0 * 10.0).round() / 10.0),
                number((blank.start().crest().at(over.0) * 1e4).round() / 1e4)
            )));
        }
        Ok(Self { blank: blank.clone(), profile: profile.clone(), section: section.clone(), width_mm })
    }

    /// The blank.
    pub fn blank(&self) -> &Blank {
        &self.blank
    }

    /// The profile.
    pub fn profile(&self) -> &Profile {
        &self.profile
    }

    /// The section family.
    pub fn section(&self) -> &Section {
        &self.section
    }

    /// Width at the glue face, mm.
    pub fn width_mm(&self) -> f64 {
        self.width_mm
    }

    /// Length, mm.
    pub fn length_mm(&self) -> f64 {
        self.profile.length_mm()
    }

    /// The same shape on another belief of the same stick, or on another stick.
    pub fn with_blank(&self, blank: &Blank) -> Result<Self> {
        Self::of_width(blank, &self.profile, &self.section, self.width_mm.min(blank.width_mm()))
    }

    /// With another profile.
    pub fn with_profile(&self, profile: &Profile) -> Result<Self> {
        Self::of_width(&self.blank, profile, &self.section, self.width_mm)
    }

    /// With another section.
    pub fn with_section(&self, section: &Section) -> Result<Self> {
        Self::of_width(&self.blank, &self.profile, section, self.width_mm)
    }

    /// Narrowed to a width at the glue face.
    pub fn with_width_mm(&self, width_mm: f64) -> Result<Self> {
        Self::of_width(&self.blank, &self.profile, &self.section, width_mm)
    }

    pub(crate) fn with_crest(&self, crest: Pieces) -> Self {
        Self { profile: self.profile.with_crest(crest), ..self.clone() }
    }

    /// Value of a named dimension, mm: see [`DIMENSIONS`]. For scallops of several depths it is that of the deepest,
    /// for several lengths the longest.
    pub fn dimension(&self, name: &str) -> Result<f64> {
        let s = self.profile.scallops();
        let none = || Error::Refused(format!("this brace has no {name} to change; it has: {}", self.dimensions().join(", ")));
        match name {
            "height" => Ok(self.profile.base_height_mm()),
            "width" => Ok(self.width_mm),
            "floor height" => self.profile.floor_height_mm().ok_or_else(none),
            "cap rise" => self.section.rise_mm().ok_or_else(none),
            "end height" => {
                let (a, b) = self.profile.end_heights_mm();
                a.or(b).ok_or_else(none)
            }
            "scallop depth" => s.iter().map(|s| s.depth_mm).reduce(f64::max).ok_or_else(none),
            "scallop length" => s.iter().map(|s| s.left_mm + s.right_mm).reduce(f64::max).ok_or_else(none),
            _ => {
                let k = numbered_scallop(name)
                    .ok_or_else(|| crate::error::unknown_name("name of the dimension", name, self.dimensions()))?;
                s.get(k).map(|s| s.depth_mm).ok_or_else(none)
            }
        }
    }

    /// Those of [`DIMENSIONS`] that this brace has.
    pub fn dimensions(&self) -> Vec<&'static str> {
        let p = &self.profile;
        let (a, b) = p.end_heights_mm();
        let has = |name: &str| match name {
            "height" | "width" => true,
            "floor height" => p.floor_height_mm().is_some(),
            "cap rise" => self.section.rise_mm().is_some(),
            "end height" => a.or(b).is_some(),
            "scallop depth" | "scallop length" => !p.scallops().is_empty(),
            _ => numbered_scallop(name).is_some_and(|k| k < p.scallops().len()),
        };
        DIMENSIONS.into_iter().filter(|d| has(d)).collect()
    }

    /// With a named dimension changed; scallops of different depths or lengths keep their ratios.
    pub fn with_dimension(&self, name: &str, value_mm: f64) -> Result<Self> {
        let now = self.dimension(name)?;
        let scallops = |f: &dyn Fn(usize, &mut Scallop)| -> Result<Self> {
            let mut s = self.profile.scallops().to_vec();
            s.iter_mut().enumerate().for_each(|(i, s)| f(i, s));
            self.with_profile(&self.profile.with_scallops(&s)?)
        };
        match name {
            "height" => self.with_profile(&self.profile.with_height(value_mm)?),
            "width" => self.with_width_mm(value_mm),
            "cap rise" => self.with_section(&self.section.with_rise_mm(value_mm)?),
            "end height" => self.with_profile(&self.profile.with_end_height(value_mm)?),
            "floor height" => self.with_profile(&self.profile.with_floor_height(value_mm)?),
            "scallop depth" => scallops(&|_, s| s.depth_mm = if now > 0.0 { s.depth_mm / now * value_mm } else { value_mm }),
            "scallop length" => {
                positive("scallop length", value_mm, "mm")?;
                scallops(&|_, s| {
                    s.left_mm *= value_mm / now;
                    s.right_mm *= value_mm / now;
                })
            }
            _ => {
                let k = numbered_scallop(name).unwrap_or(0);
                scallops(&|i, s| {
                    if i == k {
                        s.depth_mm = value_mm;
                    }
                })
            }
        }
    }

    /// The solid, mm.
    pub(crate) fn solid(&self) -> Result<Solid> {
        let wood = self.blank.wood();
        Ok(Solid {
            crest: self.profile.crest().clone(),
            arch: self.profile.arch(),
            width: Pieces::constant(0.0, self.length_mm(), self.width_mm),
            outline: self.section.outline(self.width_mm)?,
            notches: self.profile.notches(),
            filler_ratio: wood.er_el(),
        })
    }

    /// Volume of the brace's own wood, mm3.
    pub fn volume_mm3(&self) -> Result<f64> {
        Ok(self.solid()?.volume(0.0, self.length_mm()))
    }

    /// Mass, g, at the blank's density.
    pub fn mass_g(&self) -> Result<f64> {
        Ok(self.volume_mm3()? * self.blank.density_kg_m3() * 1e-6)
    }

    /// Mass of the part between two places, g.
    pub fn mass_between_g(&self, start_mm: f64, end_mm: f64) -> Result<f64> {
        self.profile.on_brace("start_mm, end_mm", &[start_mm, end_mm])?;
        Ok(self.solid()?.volume(start_mm.min(end_mm), start_mm.max(end_mm)) * self.blank.density_kg_m3() * 1e-6)
    }

    /// Modulus along the brace, MPa, with ring angle and run-out.
    pub(crate) fn modulus_x_mpa(&self) -> Result<f64> {
        Ok(1000.0 * self.blank.stiffness()?.e_x_gpa)
    }

    /// The section's numbers at each station, as drawn.
    pub fn along(&self, x_mm: &[f64]) -> Result<AlongBrace> {
        self.profile.on_brace("x_mm", x_mm)?;
        let solid = self.solid()?;
        let e = self.modulus_x_mpa()?;
        let mut out = AlongBrace { x_mm: x_mm.to_vec(), ..Default::default() };
        let mut heights = vec![0.0; x_mm.len()];
        self.profile.crest().fill(x_mm, &mut heights);
        for (&x, &h) in x_mm.iter().zip(&heights) {
            let m = if solid.notches.is_empty() {
                let m = solid.outline.whole(h.max(0.0));
                let w = self.width_mm;
                crate::mechanics::solid::Moments {
                    area: w * m.area,
                    first: w * m.first,
                    second: w * m.second,
                    lateral: w.powi(3) * m.lateral,
                }
            } else {
                solid.moments(x, x, true)
            };
            let (centroid, i) = if m.area > 0.0 { (m.centroid(), m.about_centroid().max(0.0)) } else { (0.0, 0.0) };
            let top = h.max(centroid);
            out.height_mm.push(h);
            out.area_mm2.push(m.area);
            out.centroid_mm.push(centroid);
            out.i_centroid_mm4.push(i);
            out.i_glue_mm4.push(m.second);
            out.ei_n_m2.push(e * i * 1e-6);
            out.modulus_crest_mm3.push(if top > centroid { i / (top - centroid) } else { 0.0 });
            out.modulus_glue_mm3.push(if centroid > 0.0 { i / centroid } else { 0.0 });
        }
        Ok(out)
    }

    /// EI of the drawing at each station, N m2.
    pub fn ei_n_m2(&self, x_mm: &[f64]) -> Result<Vec<f64>> {
        Ok(self.along(x_mm)?.ei_n_m2)
    }

    /// Bending stress at crest and glue face under a moment (N m, sagging positive), MPa, tension positive: M/W of the
    /// drawing. In a peak the true stress is lower, at the foot of a steep wall higher.
    pub fn stress_mpa(&self, x_mm: &[f64], moment_n_m: &[f64]) -> Result<(Vec<f64>, Vec<f64>)> {
        crate::error::same_length("x_mm", x_mm.len(), "moment_n_m", moment_n_m.len())?;
        let a = self.along(x_mm)?;
        let mut out = (Vec::new(), Vec::new());
        for (i, &m) in moment_n_m.iter().enumerate() {
            crate::error::finite(&format!("moment_n_m[{i}]"), m, "N m")?;
            if a.modulus_crest_mm3[i] <= 0.0 || a.modulus_glue_mm3[i] <= 0.0 {
                return Err(Error::Refused(format!(
                    "x_mm[{i}] is {} mm, where the brace has no height: there is no stress to speak of",
                    number(x_mm[i])
                )));
            }
            out.0.push(-1000.0 * m / a.modulus_crest_mm3[i]);
            out.1.push(1000.0 * m / a.modulus_glue_mm3[i]);
        }
        Ok(out)
    }

    /// Gouge, wall and floor checks; limits may be left out.
    pub fn checks(
        &self,
        gouge_radius_mm: Option<f64>,
        steepest_wall_deg: Option<f64>,
        smallest_safe_height_mm: Option<f64>,
    ) -> Result<ShapeChecks> {
        self.profile.checks(gouge_radius_mm, steepest_wall_deg, smallest_safe_height_mm)
    }

    /// The brace turned end for end.
    pub fn mirrored(&self) -> Result<Self> {
        let blank = Blank::shaped(self.blank.wood(), self.blank.start().mirrored(), self.blank.width_mm(), self.blank.mass_g())?
            .with_size_uncertainty(self.blank.size_uncertainty())?
            .with_grain(self.blank.ring_angle_deg(), -self.blank.run_out())?
            .with_modulus(self.blank.modulus_gpa(), self.blank.modulus_spread())?;
        Ok(Self { blank, profile: self.profile.mirrored(), section: self.section.clone(), width_mm: self.width_mm })
    }

    /// Evenly spaced stations from end to end.
    pub fn stations_mm(&self, count: usize) -> Vec<f64> {
        let n = count.max(2) - 1;
        // the last station is the end itself, not a rounding beyond it
        (0..=n).map(|k| (self.length_mm() * k as f64 / n as f64).min(self.length_mm())).collect()
    }
}

fn numbered_scallop(name: &str) -> Option<usize> {
    let k: usize = name.strip_prefix("scallop ")?.strip_suffix(" depth")?.parse().ok()?;
    (1..=crate::profile::MOST_SCALLOPS).contains(&k).then(|| k - 1)
}
