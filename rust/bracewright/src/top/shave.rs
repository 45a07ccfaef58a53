//! Where to shave: derivatives of readings and frequencies to the height of each brace and to the thickness of the top.

use serde::{Deserialize, Serialize};

use super::{Top, TopLoad};
use crate::error::{Error, Result, within};
use crate::layout::Point;

/// What shaving a brace at places along it does to the readings and frequencies asked for.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct BraceShave {
    /// Its name.
    pub name: String,
    /// Places along its line, mm.
    pub along_mm: Vec<f64>,
    /// Where they lie on the top, mm.
    pub at_mm: Vec<Point>,
    /// Height there, mm.
    pub height_mm: Vec<f64>,
    /// Mass that a millimetre off there takes, straight down to nothing at the next places, g per mm.
    pub g_per_mm: Vec<f64>,
    /// For each reading, then each mode: its change for a millimetre off there (degrees or mm per mm, Hz per mm).
    pub per_mm: Vec<Vec<f64>>,
}

impl BraceShave {
    /// The same per gram off.
    pub fn per_g(&self) -> Vec<Vec<f64>> {
        self.per_mm
            .iter()
            .map(|row| row.iter().zip(&self.g_per_mm).map(|(v, g)| if *g > 0.0 { v / g } else { 0.0 }).collect())
            .collect()
    }
}

/// The same of the top itself, by the corners of the mesh.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PlateShave {
    /// Where, mm.
    pub at_mm: Vec<Point>,
    /// Area that a corner stands for, mm2.
    pub area_mm2: Vec<f64>,
    /// Mass that a millimetre off there takes, g per mm.
    pub g_per_mm: Vec<f64>,
    /// For each reading, then each mode: its change for a millimetre off there.
    pub per_mm: Vec<Vec<f64>>,
}

/// Where to shave.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Shaving {
    /// What was asked for, a word each: deflection, bridge turn, frequencies.
    pub of: Vec<String>,
    /// Its unit.
    pub unit: Vec<String>,
    /// Its value now.
    pub value: Vec<f64>,
    /// Braces.
    pub braces: Vec<BraceShave>,
    /// The top.
    pub plate: PlateShave,
}

impl Top {
    /// What shaving does to the deflection at a place and to the turn of the bridge under loads, and to the lowest `modes`
    /// frequencies. Places along the braces lie `step_mm` apart or nearer.
    pub fn shaving(&self, loads: &[TopLoad], read_mm: Option<Point>, modes: usize, step_mm: f64) -> Result<Shaving> {
        within("step_mm", step_mm, "mm", 2.0, 200.0)?;
        within("modes", modes as f64, "", 0.0, 40.0)?;
        if loads.is_empty() && modes == 0 {
            return Err(Error::BadList {
                name: "loads".into(),
                problem: "is empty and no modes are asked for; give one of them".into(),
            });
        }
        let mut states: Vec<Vec<f64>> = Vec::new();
        let mut pairs = Vec::new();
        let (mut of, mut unit, mut value) = (Vec::new(), Vec::new(), Vec::new());
        // derivative = stiffness part times k + mass part times m
        let mut weights: Vec<[f64; 2]> = Vec::new();
        if !loads.is_empty() {
            let mut sum = vec![0.0; self.plate.unknowns()];
            let mut own_weight = false;
            for load in loads {
                own_weight |= *load == TopLoad::OwnWeight;
                sum.iter_mut().zip(self.load(load)?).for_each(|(s, v)| *s += v);
            }
            if own_weight {
                return Err(Error::Refused("the top's own weight changes as it is shaved; leave it out here".into()));
            }
            let mut readings: Vec<(String, String, f64, Vec<f64>)> = Vec::new();
            if let Some(p) = read_mm {
                let read = self.plate.deflection_at([p.0, p.1]).ok_or_else(|| Error::AtPlace {
                    problem: "the place to read lies off the top".into(),
                    x_mm: p.0,
                    y_mm: p.1,
                })?;
                readings.push(("deflection".into(), "mm".into(), 1.0, read));
            }
            if self.layout.parts().bridge.is_some() {
                readings.push(("bridge turn".into(), "deg".into(), 1_f64.to_degrees(), self.turn_of_bridge()?));
            }
            if readings.is_empty() {
                return Err(Error::Refused("nothing is read: give a place, or a layout with a bridge".into()));
            }
            let factor = self.factored()?;
            let mut sides: Vec<&[f64]> = vec![&sum];
            sides.extend(readings.iter().map(|r| r.3.as_slice()));
            states = factor.solve_all(&sides);
            for (k, (name, in_unit, scale, read)) in readings.into_iter().enumerate() {
                value.push(scale * read.iter().zip(&states[0]).map(|(r, u)| r * u).sum::<f64>());
                of.push(name);
                unit.push(in_unit);
                pairs.push((k + 1, 0));
                // the reading is r K^-1 f: it changes by -(K^-1 r) dK u
                weights.push([-scale, 0.0]);
            }
        }
        if modes > 0 {
            for (k, m) in self.modes(modes)?.modes.iter().enumerate() {
                let w2 = m.omega_squared();
                of.push(format!("mode {}", k + 1));
                unit.push("Hz".into());
                value.push(m.frequency_hz);
                pairs.push((states.len(), states.len()));
                states.push(m.shape().to_vec());
                // f = w / 2 pi, and w^2 changes by v (dK - w^2 dM) v
                let by = 1.0 / (2.0 * (2.0 * std::f64::consts::PI).powi(2) * m.frequency_hz);
                weights.push([by, -by * w2]);
            }
        }
        let list: Vec<&[f64]> = states.iter().map(Vec::as_slice).collect();
        // a millimetre off is the height less one
        let changes = |of_pairs: &[[f64; 2]]| -> Vec<f64> {
            of_pairs.iter().zip(&weights).map(|(p, w)| -(w[0] * p[0] + w[1] * p[1])).collect()
        };
        let mut braces = Vec::new();
        for (i, placed) in self.layout.braces().iter().enumerate() {
            let length = self.meshed_length(i);
            let n = (length / step_mm).ceil().max(1.0) as usize;
            let x: Vec<f64> = (0..=n).map(|k| self.starts_mm[i] + length * k as f64 / n as f64).collect();
            let slopes = self.plate.rib_slopes(i, &x, &list, &pairs);
            let along: Vec<f64> = x.iter().map(|x| (x - placed.offset_mm).clamp(0.0, placed.length_mm())).collect();
            let density = placed.brace.blank().density_kg_m3() * 1e-6;
            let columns: Vec<Vec<f64>> = slopes.iter().map(|s| changes(&s.of_pairs)).collect();
            braces.push(BraceShave {
                name: placed.name.clone(),
                at_mm: along.iter().map(|s| placed.at(*s)).collect(),
                height_mm: along.iter().map(|s| placed.height_mm(*s)).collect(),
                along_mm: along,
                g_per_mm: slopes.iter().map(|s| s.volume * density).collect(),
                per_mm: (0..weights.len()).map(|r| columns.iter().map(|c| c[r]).collect()).collect(),
            });
        }
        let corners = self.plate.plate_slopes(&list, &pairs);
        let columns: Vec<Vec<f64>> = corners.iter().map(|c| changes(&c.0)).collect();
        let density = self.layout.parts().wood.density_kg_m3() * 1e-6;
        let plate = PlateShave {
            at_mm: self.plate.cells().corners.iter().map(|p| (p[0], p[1])).collect(),
            area_mm2: corners.iter().map(|c| c.1).collect(),
            g_per_mm: corners.iter().map(|c| c.1 * density).collect(),
            per_mm: (0..weights.len()).map(|r| columns.iter().map(|c| c[r]).collect()).collect(),
        };
        Ok(Shaving { of, unit, value, braces, plate })
    }
}
