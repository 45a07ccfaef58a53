//! A strip of top with a brace on it, when the two want different lengths.

use serde::{Deserialize, Serialize};

use crate::Brace;
use crate::cautions::{Hazard, cautions};
use crate::error::{Error, Result, number, within};
use crate::wood::{CHANGE_ALONG_PER_PERCENT_MC, Quantity, Wood};

/// Edge restraint where none is given: the middle of 0.3 to 0.6, a guess of common practice without a source.
pub const USUAL_EDGE: f64 = 0.45;

/// Curvature in 1/m of two strips glued face to face that want lengths differing by `strain`, free to bend:
/// strain S d / (EI1 + EI2 + S d^2), S = EA1 EA2 / (EA1 + EA2), d between their centroids. EA in N, EI in N m2, d in mm. It is
/// Timoshenko's 1925 formula for a bimetal where both have one width. Above 0 when the first strip is the longer one.
pub fn bimaterial_curvature_per_m(
    strain: f64,
    ea_1_n: f64,
    ei_1_n_m2: f64,
    ea_2_n: f64,
    ei_2_n_m2: f64,
    apart_mm: f64,
) -> Result<f64> {
    let e = within("strain", strain, "", -0.2, 0.2)?;
    let ea1 = within("ea_1_n", ea_1_n, "N", 1e-6, 1e12)?;
    let ea2 = within("ea_2_n", ea_2_n, "N", 1e-6, 1e12)?;
    let ei1 = within("ei_1_n_m2", ei_1_n_m2, "N m2", 1e-9, 1e12)?;
    let ei2 = within("ei_2_n_m2", ei_2_n_m2, "N m2", 1e-9, 1e12)?;
    let d = 1e-3 * within("apart_mm", apart_mm, "mm", 1e-3, 1e4)?;
    Ok(e * per_strain(ea1, ei1, ea2, ei2, d).0)
}

/// Curvature per strain, and force between the two per strain.
fn per_strain(ea1: f64, ei1: f64, ea2: f64, ei2: f64, d: f64) -> (f64, f64) {
    let s = ea1 * ea2 / (ea1 + ea2);
    let all = ei1 + ei2 + s * d * d;
    (s * d / all, s * (ei1 + ei2) / all)
}

/// A strip of top under one brace, ready to be asked about any change of moisture: all answers go with it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ArchStrip {
    /// Length of the brace, mm.
    pub length_mm: f64,
    /// Width of top that goes with it, mm.
    pub plate_width_mm: f64,
    /// Thickness of the top, mm.
    pub thickness_mm: f64,
    /// Modulus of the top along the brace, GPa.
    pub plate_modulus_gpa: f64,
    /// Movement of the top along the brace, less the brace's own, per percent of moisture.
    pub movement_per_percent_mc: f64,
    /// Share of the free change of arch that edges, back and slow sorption leave.
    pub r_edge: f64,
    /// Rise of the free strip's middle over its ends per unit of strain, mm.
    pub rise_mm_per_strain: f64,
    /// Curvature at its middle per unit of strain, 1/m.
    pub curvature_per_m_per_strain: f64,
    /// Mean stress in the free strip's plate at its middle per unit of strain, MPa, tension where the plate wants to be shorter.
    pub plate_stress_mpa_per_strain: f64,
}

/// What a change of moisture does to a strip.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ArchChange {
    /// Moisture content the glue set at, percent.
    pub from_mc_percent: f64,
    /// Moisture content now, percent.
    pub to_mc_percent: f64,
    /// Strain by which the top wants to be longer than the brace.
    pub strain: f64,
    /// Curvature of the free strip, 1/m; above 0 it rises.
    pub curvature_per_m: f64,
    /// Rise of the free strip's middle, mm; below 0 it sinks.
    pub free_mm: f64,
    /// The same with the edges' restraint: free_mm times r_edge.
    pub restrained_mm: f64,
    /// Mean stress in the plate of the free strip, MPa; tension above 0.
    pub plate_stress_mpa: f64,
    /// What should be known, as sentences.
    pub words: Vec<String>,
}

struct Plate {
    ea: f64,
    ei: f64,
    width: f64,
    thickness: f64,
    modulus: f64,
}

impl Plate {
    fn new(modulus_gpa: f64, width_mm: f64, thickness_mm: f64) -> Result<Self> {
        let e = within("plate_modulus_gpa", modulus_gpa, "GPa", 0.01, 60.0)?;
        let b = within("plate_width_mm", width_mm, "mm", 1.0, 500.0)?;
        let t = within("thickness_mm", thickness_mm, "mm", 0.3, 20.0)?;
        Ok(Self { ea: 1e3 * e * b * t, ei: 1e-3 * e * b * t.powi(3) / 12.0, width: b, thickness: t, modulus: e })
    }
}

/// Stations to either side of the middle; even, for Simpson's rule.
const HALF: usize = 200;

impl ArchStrip {
    /// A rectangular brace of one height (0.5 to 60 mm) on a strip of top. Moduli in GPa along the brace; the movement is that of
    /// the top along the brace less that of the brace along itself, per percent of moisture (-0.01 to 0.01).
    pub fn rectangular(
        length_mm: f64,
        plate_width_mm: f64,
        thickness_mm: f64,
        plate_modulus_gpa: f64,
        movement_per_percent_mc: f64,
        brace_modulus_gpa: f64,
        brace_width_mm: f64,
        brace_height_mm: f64,
        r_edge: f64,
    ) -> Result<Self> {
        let l = within("length_mm", length_mm, "mm", 20.0, 2000.0)?;
        let plate = Plate::new(plate_modulus_gpa, plate_width_mm, thickness_mm)?;
        let e = within("brace_modulus_gpa", brace_modulus_gpa, "GPa", 0.01, 60.0)?;
        let w = within("brace_width_mm", brace_width_mm, "mm", 0.5, 100.0)?;
        let h = within("brace_height_mm", brace_height_mm, "mm", 0.5, 60.0)?;
        let one = (1e3 * e * w * h, 1e-3 * e * w * h.powi(3) / 12.0, 0.5 * h);
        Self::of(l, &plate, movement_per_percent_mc, r_edge, &[one; 2 * HALF + 1])
    }

    /// The strip under a carved brace: its own shape along its length, glued whole to a quarter-sawn top of that wood, thickness
    /// and strip width, the brace at `grain_angle_deg` (0 to 90) to the top's grain.
    ///
    /// Movement (C_R - C_L) sin^2 of the angle, C_L 0.00005 per percent (common practice); the top's modulus by the rotated tensor;
    /// wood as it stands at the moisture its value names.
    pub fn under(
        brace: &Brace,
        top: &Wood,
        thickness_mm: f64,
        plate_width_mm: f64,
        grain_angle_deg: f64,
        r_edge: f64,
    ) -> Result<Self> {
        let angle = within("grain_angle_deg", grain_angle_deg, "deg", 0.0, 90.0)?;
        let movement = (top.needed(Quantity::ChangeRadial)? - CHANGE_ALONG_PER_PERCENT_MC) * angle.to_radians().sin().powi(2);
        let plate = Plate::new(top.off_axis_modulus_gpa(angle)?, plate_width_mm, thickness_mm)?;
        let l = brace.length_mm();
        let x: Vec<f64> = (0..=2 * HALF).map(|k| (l * k as f64 / (2 * HALF) as f64).min(l)).collect();
        let a = brace.along(&x)?;
        let e = a
            .ei_n_m2
            .iter()
            .zip(&a.i_centroid_mm4)
            .find(|(_, i)| **i > 0.0)
            .map(|(ei, i)| 1e6 * ei / i)
            .ok_or_else(|| Error::Refused("the brace has no height anywhere".into()))?;
        // a feathered end has no brace left: no curvature there
        let sections: Vec<(f64, f64, f64)> = (0..x.len()).map(|k| (e * a.area_mm2[k], a.ei_n_m2[k], a.centroid_mm[k])).collect();
        Self::of(l, &plate, movement, r_edge, &sections)
    }

    /// From EA in N, EI in N m2 and height of the centroid in mm of the brace at `2 HALF + 1` even stations.
    fn of(l: f64, plate: &Plate, movement: f64, r_edge: f64, sections: &[(f64, f64, f64)]) -> Result<Self> {
        let movement = within("movement_per_percent_mc", movement, "per % MC", -0.01, 0.01)?;
        let r_edge = within("r_edge", r_edge, "", 0.0, 1.0)?;
        let at = |k: usize| -> (f64, f64) {
            let (ea, ei, centroid) = sections[k];
            if ea > 0.0 { per_strain(plate.ea, plate.ei, ea, ei, 1e-3 * (0.5 * plate.thickness + centroid)) } else { (0.0, 0.0) }
        };
        // middle over ends: curvature times the moment of a unit load in the middle, x/2 from either end; Simpson to each half
        let step = l / (2 * HALF) as f64;
        let mut rise = 0.0;
        for k in 0..=HALF {
            let weight = step / 3.0
                * if k == 0 || k == HALF {
                    1.0
                } else if k % 2 == 1 {
                    4.0
                } else {
                    2.0
                };
            let arm = 0.5 * step * k as f64;
            rise += weight * arm * (at(k).0 + at(2 * HALF - k).0);
        }
        let (curvature, force) = at(HALF);
        Ok(Self {
            length_mm: l,
            plate_width_mm: plate.width,
            thickness_mm: plate.thickness,
            plate_modulus_gpa: plate.modulus,
            movement_per_percent_mc: movement,
            r_edge,
            rise_mm_per_strain: 1e-3 * rise,
            curvature_per_m_per_strain: curvature,
            plate_stress_mpa_per_strain: force / (plate.width * plate.thickness),
        })
    }

    /// The same strip with another edge restraint, 0 (held) to 1 (free), from a top's own seasons.
    pub fn with_r_edge(&self, r_edge: f64) -> Result<Self> {
        let r_edge = within("r_edge", r_edge, "", 0.0, 1.0)?;
        Ok(Self { r_edge, ..self.clone() })
    }

    /// The edge restraint at which a change of arch that was read goes with the free strip's (at most 1).
    pub fn learned_r_edge(&self, read_mm: f64, from_mc_percent: f64, to_mc_percent: f64) -> Result<Self> {
        let read = within("read_mm", read_mm, "mm", -20.0, 20.0)?;
        let free = self.change(from_mc_percent, to_mc_percent)?.free_mm;
        if free.abs() < 1e-6 {
            return Err(Error::NotIdentifiable {
                unknown: "r_edge".into(),
                reason: "the free strip does not move between these moisture contents; read the arch at two humidities".into(),
            });
        }
        self.with_r_edge(within("read_mm over the free change", read / free, "", 0.0, 1.0)?)
    }

    /// What a change of moisture since the glue set does, both from 0 to 30 %.
    pub fn change(&self, from_mc_percent: f64, to_mc_percent: f64) -> Result<ArchChange> {
        let from = within("from_mc_percent", from_mc_percent, "% MC", 0.0, 30.0)?;
        let to = within("to_mc_percent", to_mc_percent, "% MC", 0.0, 30.0)?;
        let strain = self.movement_per_percent_mc * (to - from);
        let free = self.rise_mm_per_strain * strain;
        let stress = -self.plate_stress_mpa_per_strain * strain;
        let mut words = vec![format!(
            "{from:.1} to {to:.1} % MC: the free strip {} by {:.2} mm over {} mm, {:.2} mm with {} of it left by edges and back",
            if free < 0.0 { "sinks" } else { "rises" },
            free.abs(),
            number(self.length_mm),
            (free * self.r_edge).abs(),
            number(self.r_edge)
        )];
        if self.r_edge == USUAL_EDGE {
            words.push(format!(
                "r_edge {USUAL_EDGE} is a guess (0.3 to 0.6 are guessed, no source); read the arch at two humidities for your own"
            ));
        }
        Ok(ArchChange {
            from_mc_percent: from,
            to_mc_percent: to,
            strain,
            curvature_per_m: self.curvature_per_m_per_strain * strain,
            free_mm: free,
            restrained_mm: free * self.r_edge,
            plate_stress_mpa: stress,
            words,
        })
    }
}

impl ArchChange {
    /// What to mind.
    pub fn cautions(&self) -> Vec<String> {
        let air = if self.to_mc_percent < self.from_mc_percent { Hazard::DryClimate } else { Hazard::DampClimate };
        cautions(&[air, Hazard::Estimate])
    }
}
