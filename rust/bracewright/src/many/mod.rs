//! Many braces at once, by the section beam: sweeps of a shape, lots of blanks, tolerance runs.
//!
//! A lot is a set of braces of one recipe: points along the brace with a blend between each pair, each number its own
//! for every brace; or any braces at all, which then go one by one. Braces are shared out over the cores; the numbers
//! are the same to the bit whatever their count.

mod along;
mod bend;
mod lanes;
mod passes;
mod stored;

pub use along::AlongMany;
pub use bend::USUAL_POINTS;
pub use passes::{ManyPasses, RoughCarving};

use stored::Stored;

use crate::brace::Brace;
use crate::error::{Error, Result, number, positive, same_length, within};
use crate::mechanics::section_law::SectionLaw;
use crate::profile::{Blend, LEAST_BETWEEN_MM, Profile, TALLEST_MM};
use crate::section::Section;

/// A lot of braces.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
#[serde(try_from = "Stored")]
pub struct Lot {
    pub(crate) shape: Shape,
    pub(crate) width_mm: Vec<f64>,
    pub(crate) modulus_gpa: Vec<f64>,
    pub(crate) density_kg_m3: Vec<f64>,
    /// Shear modulus over modulus.
    pub(crate) shear_ratio: f64,
    pub(crate) section: Section,
}

/// How the crests are held.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub(crate) enum Shape {
    /// Points and blends: all braces' first points, then their second, ..., so that neighbours are taken together. With
    /// `mirrored` they are distances from the middle.
    Points { at_mm: Vec<f64>, height_mm: Vec<f64>, blend: Vec<Blend>, mirrored: bool },
    /// Any profile.
    Any(Vec<Profile>),
}

/// Shear over Young's modulus taken unless given: G_LT/E_L of Sitka spruce, Wood Handbook Table 5-1 (confirmed in a
/// public transcription).
pub const USUAL_SHEAR_RATIO: f64 = 0.061;

/// Number of threads that work is shared out over.
pub fn threads() -> usize {
    rayon::current_num_threads()
}

impl Lot {
    /// A lot from points. `at_mm` and `height_mm` hold `points` numbers for each brace, row after row; `at_mm` starts at 0
    /// and increases; with `mirrored` it is the distance from the middle, and the brace is twice as long. One blend for
    /// all intervals, or one for each. Width, modulus and density: one for all, or one a brace.
    pub fn through(
        points: usize,
        at_mm: Vec<f64>,
        height_mm: Vec<f64>,
        blend: &[Blend],
        mirrored: bool,
        width_mm: &[f64],
        modulus_gpa: &[f64],
        density_kg_m3: &[f64],
        section: &Section,
    ) -> Result<Self> {
        same_length("at_mm", at_mm.len(), "height_mm", height_mm.len())?;
        if points < 2 || at_mm.is_empty() || !at_mm.len().is_multiple_of(points) {
            return Err(Error::BadList {
                name: "at_mm".into(),
                problem: format!(
                    "has {} numbers in rows of {points}; it needs whole rows of at least 2 points, one row a brace",
                    at_mm.len()
                ),
            });
        }
        let n = at_mm.len() / points;
        let blend = match blend.len() {
            1 => vec![blend[0]; points - 1],
            k if k == points - 1 => blend.to_vec(),
            k => {
                return Err(Error::BadList {
                    name: "blend".into(),
                    problem: format!("has {k} words; it takes one, or one for each of the {} intervals", points - 1),
                });
            }
        };
        if blend.contains(&Blend::Arc) {
            return Err(Error::Refused(
                "blend \"arc\" is for end ramps; between points it must be one of: straight, cosine, cubic, quintic".into(),
            ));
        }
        for (i, (row, heights)) in at_mm.chunks_exact(points).zip(height_mm.chunks_exact(points)).enumerate() {
            let sound = row[0] == 0.0 && row.windows(2).all(|w| w[1] > w[0]) && row[points - 1] < crate::profile::LONGEST_MM;
            if !sound {
                crate::error::increasing(&format!("at_mm[{i}]"), row, "mm", 2)?;
                return Err(Error::BadList {
                    name: format!("at_mm[{i}]"),
                    problem: format!("must start at 0 and end below {} mm", number(crate::profile::LONGEST_MM)),
                });
            }
            // an end may feather out to nothing; the middle of a mirrored brace is no end
            let least = |j: usize| if j == points - 1 || (j == 0 && !mirrored) { 0.0 } else { LEAST_BETWEEN_MM };
            let inner = heights.iter().fold(f64::INFINITY, |m, h| m.min(*h));
            if inner.is_nan() || inner < LEAST_BETWEEN_MM || !heights.iter().all(|h| *h <= TALLEST_MM) {
                for (j, h) in heights.iter().enumerate() {
                    within(&format!("height_mm[{i}][{j}]"), *h, "mm", least(j), TALLEST_MM)?;
                }
            }
        }
        let out = Self {
            shape: Shape::Points { at_mm: turned(&at_mm, points), height_mm: turned(&height_mm, points), blend, mirrored },
            width_mm: spread("width_mm", width_mm, n, "mm", crate::blank::WIDEST_MM)?,
            modulus_gpa: spread("modulus_gpa", modulus_gpa, n, "GPa", 100.0)?,
            density_kg_m3: spread("density_kg_m3", density_kg_m3, n, "kg/m3", 2000.0)?,
            shear_ratio: USUAL_SHEAR_RATIO,
            section: section.clone(),
        };
        out.check_section()?;
        Ok(out)
    }

    /// A lot of braces made one by one; all of one section family.
    pub fn of(braces: &[Brace]) -> Result<Self> {
        let Some(first) = braces.first() else {
            return Err(Error::BadList { name: "braces".into(), problem: "is empty; give at least one".into() });
        };
        for (i, b) in braces.iter().enumerate() {
            if b.section() != first.section() {
                return Err(Error::Refused(format!(
                    "brace {i} has a {}, the first a {}; a lot is of one section family",
                    b.section().name(),
                    first.section().name()
                )));
            }
            if !b.profile().half_laps().is_empty() {
                return Err(Error::Refused(format!("brace {i} has a half-lap; braces with half-laps are solved one by one")));
            }
        }
        let stiff = first.blank().stiffness()?;
        Ok(Self {
            shape: Shape::Any(braces.iter().map(|b| b.profile().clone()).collect()),
            width_mm: braces.iter().map(Brace::width_mm).collect(),
            modulus_gpa: braces.iter().map(|b| Ok(b.modulus_x_mpa()? / 1000.0)).collect::<Result<_>>()?,
            density_kg_m3: braces.iter().map(|b| b.blank().density_kg_m3()).collect(),
            shear_ratio: stiff.g_xz_gpa / stiff.e_x_gpa,
            section: first.section().clone(),
        })
    }

    /// With another ratio of shear to Young's modulus.
    pub fn with_shear_ratio(&self, shear_ratio: f64) -> Result<Self> {
        positive("shear_ratio", shear_ratio, "")?;
        within("shear_ratio", shear_ratio, "", 0.0, 1.0)?;
        Ok(Self { shear_ratio, ..self.clone() })
    }

    /// With another section family.
    pub fn with_section(&self, section: &Section) -> Result<Self> {
        let out = Self { section: section.clone(), ..self.clone() };
        out.check_section()?;
        Ok(out)
    }

    fn check_section(&self) -> Result<()> {
        let least = self.width_mm.iter().copied().fold(f64::INFINITY, f64::min);
        self.section.outline(least).map(|_| ())
    }

    /// The span of each brace, from one for all or one a brace, once every support stands on its brace.
    pub(crate) fn spans<'a>(&self, span_mm: &'a [f64]) -> Result<impl Fn(usize) -> f64 + Sync + use<'a>> {
        let n = self.len();
        if span_mm.len() != 1 && span_mm.len() != n {
            return Err(Error::BadList {
                name: "span_mm".into(),
                problem: format!("has {} numbers; it takes one, or one for each of the {n} braces", span_mm.len()),
            });
        }
        let span = move |i: usize| if span_mm.len() == 1 { span_mm[0] } else { span_mm[i] };
        // one span for all is judged by the shortest brace, without looking at each
        let shortest = match &self.shape {
            Shape::Points { at_mm, blend, mirrored, .. } if span_mm.len() == 1 => {
                let half = at_mm[blend.len() * n..].iter().fold(f64::INFINITY, |m, v| if *v < m { *v } else { m });
                half * if *mirrored { 2.0 } else { 1.0 }
            }
            _ => 0.0,
        };
        if span_mm[0] > 0.0 && span_mm[0] <= shortest {
            return Ok(span);
        }
        for i in 0..n {
            let s = span(i);
            if !(s > 0.0 && s <= self.length_mm(i) * (1.0 + 1e-12)) {
                positive("span_mm", s, "mm")?;
                return Err(Error::OutOfRange {
                    quantity: "span_mm".into(),
                    value: s,
                    unit: "mm",
                    allowed: format!(
                        "at most the length of brace {i}, {} mm: the supports must stand on it",
                        number(self.length_mm(i))
                    ),
                });
            }
        }
        Ok(span)
    }

    /// The numbers of one brace.
    fn row(&self, all: &[f64], i: usize) -> Vec<f64> {
        all.iter().skip(i).step_by(self.len()).copied().collect()
    }

    /// Number of braces.
    pub fn len(&self) -> usize {
        self.width_mm.len()
    }

    /// Never: a lot has at least one brace.
    pub fn is_empty(&self) -> bool {
        self.width_mm.is_empty()
    }

    /// Length of one brace, mm.
    pub fn length_mm(&self, i: usize) -> f64 {
        match &self.shape {
            Shape::Points { at_mm, blend, mirrored, .. } => {
                let k = blend.len() + 1;
                at_mm[(k - 1) * self.len() + i] * if *mirrored { 2.0 } else { 1.0 }
            }
            Shape::Any(p) => p[i].length_mm(),
        }
    }

    /// Law of the section of one brace (tapered sides depend on its width).
    pub(crate) fn law(&self, i: usize) -> SectionLaw {
        self.section
            .outline(self.width_mm[i])
            .map_or(SectionLaw::Stretched { area: 1.0, inertia: 1.0 / 12.0 }, |o| SectionLaw::new(&o))
    }

    /// One brace of the lot as a profile.
    pub fn profile(&self, i: usize) -> Result<Profile> {
        if i >= self.len() {
            return Err(Error::OutOfRange {
                quantity: "index".into(),
                value: i as f64,
                unit: "",
                allowed: format!("from 0 to {}", self.len() - 1),
            });
        }
        match &self.shape {
            Shape::Any(p) => Ok(p[i].clone()),
            Shape::Points { at_mm, height_mm, blend, mirrored } => {
                let k = blend.len() + 1;
                let (at, h) = (&self.row(at_mm, i)[..k], &self.row(height_mm, i)[..k]);
                if !*mirrored {
                    return Profile::through(at, h, blend);
                }
                let half = at[k - 1];
                let mut x: Vec<f64> = at.iter().rev().map(|v| half - v).collect();
                let mut y: Vec<f64> = h.iter().rev().copied().collect();
                let mut b: Vec<Blend> = blend.iter().rev().copied().collect();
                x.extend(at[1..].iter().map(|v| half + v));
                y.extend_from_slice(&h[1..]);
                b.extend_from_slice(blend);
                Profile::through(&x, &y, &b)
            }
        }
    }
}

/// Rows as columns.
fn turned(rows: &[f64], per_row: usize) -> Vec<f64> {
    (0..per_row).flat_map(|p| rows.iter().skip(p).step_by(per_row)).copied().collect()
}

fn spread(name: &str, values: &[f64], n: usize, unit: &'static str, most: f64) -> Result<Vec<f64>> {
    for (i, v) in values.iter().enumerate() {
        if !(*v > 0.0 && *v <= most) {
            positive(&format!("{name}[{i}]"), *v, unit)?;
            within(&format!("{name}[{i}]"), *v, unit, 0.0, most)?;
        }
    }
    match values.len() {
        1 => Ok(vec![values[0]; n]),
        k if k == n => Ok(values.to_vec()),
        k => Err(Error::BadList {
            name: name.into(),
            problem: format!("has {k} numbers; it takes one, or one for each of the {n} braces"),
        }),
    }
}
