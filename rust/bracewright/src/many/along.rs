//! Height, area and stiffness along many braces.

use rayon::prelude::*;

use super::{Lot, Shape};
use crate::error::{Error, Result};
use crate::mechanics::blend::Ramp;
use crate::mechanics::quadrature::gauss;

/// Numbers along many braces at evenly spaced stations, one row a brace.
#[derive(Debug, Clone, PartialEq, Default, serde::Serialize, serde::Deserialize)]
pub struct AlongMany {
    /// Stations a brace.
    pub stations: usize,
    /// Area, mm2.
    pub area_mm2: Vec<f64>,
    /// Second moment about the centroid, mm4.
    pub i_centroid_mm4: Vec<f64>,
    /// EI of the drawing, N m2.
    pub ei_n_m2: Vec<f64>,
    /// Mass of each brace, g.
    pub mass_g: Vec<f64>,
}

/// Gauss points a piece for masses: exact for areas up to the 11th degree.
const MASS_POINTS: usize = 6;

impl Lot {
    /// Area, second moment and EI of every brace at `stations` evenly spaced places from end to end, and its mass.
    pub fn along(&self, stations: usize) -> Result<AlongMany> {
        let n = self.checked_stations(stations)?;
        let mut out = AlongMany {
            stations,
            area_mm2: vec![0.0; n],
            i_centroid_mm4: vec![0.0; n],
            ei_n_m2: vec![0.0; n],
            mass_g: vec![0.0; self.len()],
        };
        self.along_into(stations, &mut out.area_mm2, &mut out.i_centroid_mm4, &mut out.ei_n_m2, &mut out.mass_g)?;
        Ok(out)
    }

    fn checked_stations(&self, stations: usize) -> Result<usize> {
        if !(2..=1_000_000).contains(&stations) {
            return Err(Error::OutOfRange {
                quantity: "stations".into(),
                value: stations as f64,
                unit: "",
                allowed: "from 2 to 1000000".into(),
            });
        }
        match stations.checked_mul(self.len()) {
            Some(n) if n <= 1 << 31 => Ok(n),
            _ => Err(Error::Refused(format!(
                "{} braces at {stations} stations are more numbers than fit; take fewer at a time",
                self.len()
            ))),
        }
    }

    /// The same into arrays that exist already: each of braces times stations numbers, and one mass a brace.
    pub fn along_into(
        &self,
        stations: usize,
        area: &mut [f64],
        inertia: &mut [f64],
        ei: &mut [f64],
        mass: &mut [f64],
    ) -> Result<()> {
        let n = self.checked_stations(stations)?;
        for (name, len) in [("area_mm2", area.len()), ("i_centroid_mm4", inertia.len()), ("ei_n_m2", ei.len())] {
            if len != n {
                return Err(Error::BadList {
                    name: name.into(),
                    problem: format!("has room for {len} numbers; {} braces at {stations} stations need {n}", self.len()),
                });
            }
        }
        crate::error::same_length("mass_g", mass.len(), "the lot", self.len())?;
        let ramps: Vec<Ramp> = match &self.shape {
            Shape::Points { blend, .. } => blend.iter().map(|b| b.odd()).collect(),
            Shape::Any(_) => vec![],
        };
        area.par_chunks_mut(stations)
            .zip(inertia.par_chunks_mut(stations))
            .zip(ei.par_chunks_mut(stations))
            .zip(mass.par_iter_mut())
            .enumerate()
            .with_min_len(8)
            .for_each_init(
                || vec![0.0; stations],
                |h, (i, (((area, inertia), ei), mass))| {
                    self.heights(i, &ramps, h);
                    self.law(i).fill(self.width_mm[i], self.modulus_gpa[i] * 1e-3, h, area, inertia, ei);
                    *mass = self.one_mass(i, &ramps);
                },
            );
        Ok(())
    }

    /// Heights of brace i at evenly spaced stations.
    pub(super) fn heights(&self, i: usize, ramps: &[Ramp], h: &mut [f64]) {
        let m = h.len();
        let length = self.length_mm(i);
        let dx = length / (m - 1) as f64;
        match &self.shape {
            Shape::Any(p) => {
                let x: Vec<f64> = (0..m).map(|k| (dx * k as f64).min(length)).collect();
                p[i].crest().fill(&x, h);
                h.iter_mut().for_each(|v| *v = v.max(0.0));
            }
            Shape::Points { at_mm, height_mm, mirrored, .. } => {
                let k = ramps.len() + 1;
                let (at, hp) = (&self.row(at_mm, i)[..k], &self.row(height_mm, i)[..k]);
                // a mirrored brace is made from its middle outward, then reflected
                let (from, x0) = if *mirrored { (m / 2, dx * (m / 2) as f64 - 0.5 * length) } else { (0, 0.0) };
                let mut j = from;
                for p in 0..k - 1 {
                    let end = if p + 2 == k { m } else { (((at[p + 1] - x0) / dx).ceil().max(0.0) as usize + from).min(m) };
                    if end > j {
                        ramps[p].fill_even(at[p], at[p + 1], hp[p], hp[p + 1], x0 + dx * (j - from) as f64, dx, &mut h[j..end]);
                        j = end;
                    }
                }
                if *mirrored {
                    for j in 0..m / 2 {
                        h[j] = h[m - 1 - j];
                    }
                }
            }
        }
    }

    fn one_mass(&self, i: usize, ramps: &[Ramp]) -> f64 {
        let law = self.law(i);
        let volume = match &self.shape {
            Shape::Any(p) => {
                let solid = crate::mechanics::solid::Solid::plain(
                    p[i].crest().clone(),
                    self.width_mm[i],
                    self.section.outline(self.width_mm[i]).unwrap_or(crate::mechanics::solid::Outline::Sides(1.0)),
                );
                solid.volume(0.0, self.length_mm(i)) / self.width_mm[i]
            }
            Shape::Points { at_mm, height_mm, mirrored, .. } => {
                let k = ramps.len() + 1;
                let (at, hp) = (&self.row(at_mm, i)[..k], &self.row(height_mm, i)[..k]);
                let mut sum = 0.0;
                for p in 0..k - 1 {
                    sum += piece_volume(&law, &ramps[p], at[p + 1] - at[p], hp[p], hp[p + 1]);
                }
                sum * if *mirrored { 2.0 } else { 1.0 }
            }
        };
        volume * self.width_mm[i] * self.density_kg_m3[i] * 1e-6
    }

    /// Masses of all braces, g.
    pub fn mass_g(&self) -> Vec<f64> {
        let ramps: Vec<Ramp> = match &self.shape {
            Shape::Points { blend, .. } => blend.iter().map(|b| b.odd()).collect(),
            Shape::Any(_) => vec![],
        };
        (0..self.len()).into_par_iter().with_min_len(64).map(|i| self.one_mass(i, &ramps)).collect()
    }
}

/// Integral of the area (width 1) over one ramp from a to b. The mean of a ramp is the mean of its ends, so where the
/// area is linear in the height it is exact; where the ramp passes a fixed rise it is split there.
fn piece_volume(law: &crate::mechanics::section_law::SectionLaw, ramp: &Ramp, length: f64, a: f64, b: f64) -> f64 {
    use crate::mechanics::section_law::SectionLaw;
    match *law {
        SectionLaw::Stretched { area, .. } => length * area * 0.5 * (a + b),
        SectionLaw::FixedCap { rise, area, .. } => {
            let linear = |h: f64| if h > rise { h - rise + rise * area } else { h * area };
            if (a - rise) * (b - rise) >= 0.0 || ramp.n == 1 && a == b {
                return length * 0.5 * (linear(a) + linear(b));
            }
            let cut = crossing(ramp, a, b, rise);
            let (t, w) = gauss(MASS_POINTS.max(ramp.n + 2));
            let mut sum = 0.0;
            for (from, to) in [(-1.0, cut), (cut, 1.0)] {
                for (t, w) in t.iter().zip(w) {
                    let s = from + (to - from) * t;
                    let h = 0.5 * (a + b) + 0.5 * (b - a) * ramp.at::<false>(s);
                    sum += 0.5 * (to - from) * w * linear(h);
                }
            }
            length * sum
        }
    }
}

/// Where on [-1, 1] a rising ramp between heights a and b passes a level between them.
pub(super) fn crossing(ramp: &Ramp, a: f64, b: f64, level: f64) -> f64 {
    let want = (2.0 * level - a - b) / (b - a);
    let (mut lo, mut hi) = (-1.0, 1.0);
    let mut t = want.clamp(-1.0, 1.0);
    for _ in 0..60 {
        let f = ramp.at::<false>(t) - want;
        if f.abs() < 1e-15 || hi - lo < 1e-15 {
            break;
        }
        if f > 0.0 {
            hi = t
        } else {
            lo = t
        }
        // the derivative of an odd polynomial t (c0 + c1 t^2 + ...)
        let mut d = 0.0;
        for k in (0..ramp.n).rev() {
            d = d * t * t + (2 * k + 1) as f64 * ramp.c[k];
        }
        let next = t - f / d;
        t = if next > lo && next < hi { next } else { 0.5 * (lo + hi) };
    }
    t
}
