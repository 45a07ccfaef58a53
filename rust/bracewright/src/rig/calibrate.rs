//! A metal bar of known modulus tells what span, supports and dial of a rig are worth.

use serde::{Deserialize, Serialize};

use super::{Rig, SetUp};
use crate::error::{Error, Result, finite, positive, within};

/// A straight bar of known modulus.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Bar {
    /// Young's modulus, GPa.
    pub modulus_gpa: f64,
    /// Poisson ratio, for its shear modulus.
    pub poisson: f64,
    /// Width, mm, 0.1 to 500.
    pub width_mm: f64,
    /// Height, mm, 0.1 to 500.
    pub height_mm: f64,
    /// Relative standard uncertainty of its stiffness (3 times that of the height is usually the most of it).
    pub u_stiffness: f64,
}

/// What a calibration found.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Calibration {
    /// The rig with give and dial scale set.
    pub rig: Rig,
    /// Give of supports and frame, mm/N, and its uncertainty.
    pub give_mm_per_n: (f64, f64),
    /// What the dial shows for a millimetre (span and dial together), and its uncertainty; (1, 0) unless bars of
    /// different stiffness were read.
    pub dial_scale: (f64, f64),
    /// Largest residual over the readings, mm.
    pub worst_residual_mm: f64,
    /// What was found, in words.
    pub words: String,
}

impl Bar {
    /// A checked bar.
    pub fn new(modulus_gpa: f64, poisson: f64, width_mm: f64, height_mm: f64, u_stiffness: f64) -> Result<Self> {
        within("modulus_gpa", modulus_gpa, "GPa", 1.0, 1000.0)?;
        within("poisson", poisson, "", 0.0, 0.5)?;
        // a bar thinner than a hair or thicker than an arm is a unit mistaken
        within("width_mm", width_mm, "mm", 0.1, 500.0)?;
        within("height_mm", height_mm, "mm", 0.1, 500.0)?;
        within("u_stiffness", u_stiffness, "", 0.0, 0.5)?;
        Ok(Self { modulus_gpa, poisson, width_mm, height_mm, u_stiffness })
    }

    /// Deflection per newton on a set-up, mm/N: bending and shear (Wood Handbook Eq. 9-2 holds for any straight bar;
    /// k_s with A' = 5bh/6).
    pub fn compliance_mm_per_n(&self, set_up: SetUp) -> f64 {
        let e = 1000.0 * self.modulus_gpa;
        let g = e / (2.0 * (1.0 + self.poisson));
        let (b, h) = (self.width_mm, self.height_mm);
        let (ei, ga) = (e * b * h.powi(3) / 12.0, g * 5.0 * b * h / 6.0);
        match set_up {
            SetUp::ThreePoint { span_mm: l } => l.powi(3) / (48.0 * ei) + l / (4.0 * ga),
            SetUp::FourPoint { span_mm: l, inner_mm } => {
                let a = 0.5 * (l - inner_mm);
                a * (3.0 * l * l - 4.0 * a * a) / (48.0 * ei) + a / (2.0 * ga)
            }
            SetUp::Cantilever { reach_mm: l } => l.powi(3) / (3.0 * ei) + l / ga,
        }
    }
}

impl Rig {
    /// Calibrates from readings of bars: for each its bar, load (N) and what the dial showed (mm).
    ///
    /// reading = scale (compliance of the bar) load + give load. With bars of one stiffness only the give can be found;
    /// with two that differ by half or more, the scale too.
    pub fn calibrated(&self, readings: &[(Bar, f64, f64)]) -> Result<Calibration> {
        if readings.is_empty() {
            return Err(Error::BadList { name: "readings".into(), problem: "is empty; read at least one bar".into() });
        }
        for (i, (_, load, d)) in readings.iter().enumerate() {
            within(&format!("load_n of bar reading {}", i + 1), *load, "N", super::LIGHTEST_N, super::HEAVIEST_N)?;
            finite(&format!("deflection_mm of bar reading {}", i + 1), *d, "mm")?;
            positive(&format!("deflection_mm of bar reading {}", i + 1), *d, "mm")?;
        }
        let u_dial = self.gauge.u_mm()?;
        let rows: Vec<(f64, f64, f64, f64)> = readings
            .iter()
            .map(|(bar, f, d)| {
                let x = bar.compliance_mm_per_n(self.set_up) * f;
                (x, *f, *d, u_dial.hypot(x * bar.u_stiffness))
            })
            .collect();
        let ratios: Vec<f64> = rows.iter().map(|r| r.0 / r.1).collect();
        let (least, most) = ratios.iter().fold((f64::INFINITY, 0.0_f64), |m, r| (m.0.min(*r), m.1.max(*r)));
        let (give, scale) = if most > 1.5 * least {
            // weighted least squares in two unknowns
            let mut m = [0.0; 5];
            for &(x, f, d, u) in &rows {
                let w = 1.0 / (u * u);
                m = [m[0] + w * x * x, m[1] + w * x * f, m[2] + w * f * f, m[3] + w * x * d, m[4] + w * f * d];
            }
            let det = m[0] * m[2] - m[1] * m[1];
            (((m[0] * m[4] - m[1] * m[3]) / det, (m[0] / det).sqrt()), ((m[2] * m[3] - m[1] * m[4]) / det, (m[2] / det).sqrt()))
        } else {
            let (mut top, mut bottom) = (0.0, 0.0);
            for &(x, f, d, u) in &rows {
                top += f * (d - x) / (u * u);
                bottom += f * f / (u * u);
            }
            ((top / bottom, (1.0 / bottom).sqrt()), (1.0, 0.0))
        };
        if give.0 < -3.0 * give.1 || !(0.8..=1.25).contains(&scale.0) {
            return Err(Error::Refused(format!(
                "the bar readings ask for a give of {:.5} mm/N and a dial that shows {:.3} for a millimetre; that is not a rig's doing: check span, load, the bar's size and its modulus",
                give.0, scale.0
            )));
        }
        let kept = give.0.max(0.0);
        let worst = rows.iter().map(|&(x, f, d, _)| (d - scale.0 * x - give.0 * f).abs()).fold(0.0, f64::max);
        let rig = Self {
            give_mm_per_n: kept / scale.0,
            u_give_mm_per_n: give.1 / scale.0,
            dial_scale: scale.0,
            u_dial_scale: scale.1,
            calibrated: true,
            ..self.clone()
        };
        // as many readings as unknowns are met exactly, which shows nothing
        let left_over = rows.len() > if scale.1 > 0.0 { 2 } else { 1 };
        let words = format!(
            "the supports and frame give {:.5} mm/N (standard uncertainty {:.5}); {}; {}",
            kept,
            give.1,
            if scale.1 > 0.0 {
                format!("span and dial together read {:.4} for 1 (standard uncertainty {:.4})", scale.0, scale.1)
            } else {
                "one stiffness of bar cannot tell span and dial apart from the give: they are taken as right".into()
            },
            if left_over {
                format!("the worst reading is off by {worst:.4} mm")
            } else {
                format!(
                    "{} no reading left over to check this by: one more bar, of another height, would give one",
                    if rows.len() == 1 { "one bar leaves" } else { "two bars leave" }
                )
            }
        );
        Ok(Calibration { give_mm_per_n: (kept, give.1), dial_scale: scale, worst_residual_mm: worst, words, rig })
    }
}
