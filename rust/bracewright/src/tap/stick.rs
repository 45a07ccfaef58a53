//! A stick or carved brace hung free and tapped: how it is held, what is read, where its nodes lie.

use serde::{Deserialize, Serialize};

use super::stick_model::{Model, Trial};
use crate::brace::Brace;
use crate::error::{Error, Result, not_negative, number, positive, within};
use crate::mechanics::section_beam::Inertia;

/// Which way the stick bends.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Bending {
    /// On edge: up and down, in the direction of the height. The depth-resolved beam.
    Edge,
    /// Flat: sideways, in the direction of the width. A Timoshenko beam with the section's lateral moment.
    Flat,
}

/// A pickup or magnet stuck on while the tap is recorded.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Pickup {
    /// Where, mm from the left end.
    pub x_mm: f64,
    /// Mass, g.
    pub mass_g: f64,
    /// Its standard uncertainty, g.
    pub u_mass_g: f64,
}

impl Pickup {
    /// A checked pickup: on the stick or right of its left end, heavier than nothing.
    pub fn new(x_mm: f64, mass_g: f64, u_mass_g: f64) -> Result<Self> {
        not_negative("x_mm", x_mm, "mm")?;
        positive("mass_g", mass_g, "g")?;
        not_negative("u_mass_g", u_mass_g, "g")?;
        Ok(Self { x_mm, mass_g, u_mass_g })
    }
}

/// Soft foam, a rubber band or a thread that holds the stick up.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Foam {
    /// Where, mm from the left end.
    pub x_mm: f64,
    /// Stiffness in the direction of the bending, N/mm.
    pub stiffness_n_per_mm: f64,
    /// Its standard uncertainty, N/mm; half the stiffness is honest for foam.
    pub u_stiffness_n_per_mm: f64,
}

impl Foam {
    /// A checked support.
    pub fn new(x_mm: f64, stiffness_n_per_mm: f64, u_stiffness_n_per_mm: f64) -> Result<Self> {
        not_negative("x_mm", x_mm, "mm")?;
        not_negative("stiffness_n_per_mm", stiffness_n_per_mm, "N/mm")?;
        not_negative("u_stiffness_n_per_mm", u_stiffness_n_per_mm, "N/mm")?;
        Ok(Self { x_mm, stiffness_n_per_mm, u_stiffness_n_per_mm })
    }
}

/// One tapped mode.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct TapReading {
    /// Which mode: 1 for the lowest bending (two nodes) or the lowest stretching (one node).
    pub mode: usize,
    /// Frequency, Hz.
    pub frequency_hz: f64,
    /// Standard uncertainty, Hz.
    pub u_hz: f64,
}

impl TapReading {
    /// A checked reading.
    pub fn new(mode: usize, frequency_hz: f64, u_hz: f64) -> Result<Self> {
        if !(1..=MOST_TAPPED).contains(&mode) {
            return Err(Error::OutOfRange {
                quantity: "mode".into(),
                value: mode as f64,
                unit: "",
                allowed: format!("from 1 to {MOST_TAPPED}"),
            });
        }
        positive("frequency_hz", frequency_hz, "Hz")?;
        positive("u_hz", u_hz, "Hz")?;
        Ok(Self { mode, frequency_hz, u_hz })
    }
}

/// Highest mode taken.
pub const MOST_TAPPED: usize = 6;

/// Relative standard uncertainty taken for the ratio of G to E when one mode alone is read: 20 % within a species (common
/// practice, no source).
pub const RATIO_SPREAD: f64 = 0.20;

/// Relative standard uncertainty of each frequency that stands for grain, run-out and density not being the same along the
/// stick (common practice, no source).
pub const MODEL_SPREAD: f64 = 0.001;

/// How a stick is tapped. A value; its brace carries wood, size, mass and their uncertainties.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct StickTap {
    pub(super) brace: Brace,
    pub(super) bending: Bending,
    pub(super) pickup: Option<Pickup>,
    pub(super) foam: Vec<Foam>,
    pub(super) ratio_spread: f64,
    pub(super) model_spread: f64,
}

impl StickTap {
    /// A stick, or a brace as it is carved, free at both ends.
    pub fn new(brace: &Brace, bending: Bending) -> Self {
        Self {
            brace: brace.clone(),
            bending,
            pickup: None,
            foam: Vec::new(),
            ratio_spread: RATIO_SPREAD,
            model_spread: MODEL_SPREAD,
        }
    }

    /// With a pickup on it: a point mass, no stiffness.
    pub fn with_pickup(&self, pickup: Pickup) -> Result<Self> {
        Pickup::new(pickup.x_mm, pickup.mass_g, pickup.u_mass_g)?;
        within("x_mm", pickup.x_mm, "mm", 0.0, self.brace.length_mm())?;
        let stick = self.brace.mass_g()?;
        if pickup.mass_g > 0.2 * stick {
            return Err(Error::Refused(format!(
                "the pickup weighs {} g on a stick of {} g; beyond a fifth of the stick a tap says more of the pickup: use a microphone",
                number(pickup.mass_g),
                number((10.0 * stick).round() / 10.0)
            )));
        }
        Ok(Self { pickup: Some(pickup), ..self.clone() })
    }

    /// Held by springs. At the nodes of a mode they do nothing to it; elsewhere they raise it by k w(x)^2 over the modal
    /// stiffness (first order), which is taken off. A shift of more than 5 % is refused when a reading is worked out.
    pub fn with_foam(&self, foam: &[Foam]) -> Result<Self> {
        for (i, f) in foam.iter().enumerate() {
            within(&format!("x_mm of foam {}", i + 1), f.x_mm, "mm", 0.0, self.brace.length_mm())?;
            not_negative(&format!("stiffness_n_per_mm of foam {}", i + 1), f.stiffness_n_per_mm, "N/mm")?;
            not_negative(&format!("u_stiffness_n_per_mm of foam {}", i + 1), f.u_stiffness_n_per_mm, "N/mm")?;
        }
        Ok(Self { foam: foam.to_vec(), ..self.clone() })
    }

    /// With other spreads: of the ratio of G to E, and of each frequency by the model.
    pub fn with_spreads(&self, ratio_spread: f64, model_spread: f64) -> Result<Self> {
        within("ratio_spread", ratio_spread, "", 0.0, 1.0)?;
        within("model_spread", model_spread, "", 0.0, 0.1)?;
        Ok(Self { ratio_spread, model_spread, ..self.clone() })
    }

    /// The brace.
    pub fn brace(&self) -> &Brace {
        &self.brace
    }

    /// Which way it bends.
    pub fn bending(&self) -> Bending {
        self.bending
    }

    /// The frequencies to expect at the blank's belief of its modulus, pickup and foam counted, Hz.
    pub fn expected_hz(&self, count: usize) -> Result<Vec<f64>> {
        TapReading::new(count, 1.0, 1.0)?;
        let model = Model::new(self)?;
        let lambda = model.resolved(&Trial::default(), count)?.0;
        let scale = self.brace.blank().modulus_gpa();
        Ok(lambda
            .iter()
            .zip(model.foam_terms(&Trial::default(), count, &[])?)
            .map(|(l, k)| (scale * l + k).sqrt() / std::f64::consts::TAU)
            .collect())
    }

    /// Where the nodes of a mode lie, mm from the left end, by the section beam with the pickup on: hold there, tap between.
    pub fn nodes_mm(&self, mode: usize) -> Result<Vec<f64>> {
        TapReading::new(mode, 1.0, 1.0)?;
        let model = Model::new(self)?;
        let l = self.brace.length_mm();
        let at = |x: f64| model.shape_squared(&Trial::default(), mode, x);
        let n = 24 * (mode + 1);
        let step = l / n as f64;
        let grid = (0..=n).map(|k| at((step * k as f64).min(l))).collect::<Result<Vec<_>>>()?;
        let highest = grid.iter().copied().fold(0.0, f64::max);
        let mut out = Vec::new();
        for k in 1..n {
            if grid[k] <= grid[k - 1] && grid[k] < grid[k + 1] && grid[k] < 0.1 * highest {
                let mut x = step * k as f64;
                let mut h = 0.25 * step;
                // a squared shape is a parabola at its node
                for _ in 0..2 {
                    let (a, b, c) = (at(x - h)?, at(x)?, at(x + h)?);
                    let bend = a - 2.0 * b + c;
                    if bend > 0.0 {
                        x += (0.5 * h * (a - c) / bend).clamp(-step, step);
                    }
                    h *= 0.5;
                }
                out.push(x);
            }
        }
        Ok(out)
    }

    /// Section properties at a place for the way it bends: E and G in MPa, mass in t/mm3.
    pub(super) fn inertia(&self, m: &crate::mechanics::solid::Moments, e: f64, g: f64, rho: f64, wide: f64) -> Inertia {
        let area = m.area * wide;
        let i = match self.bending {
            _ if m.area <= 1e-9 => 0.0,
            Bending::Edge => m.about_centroid() * wide,
            Bending::Flat => m.lateral * wide.powi(3),
        };
        Inertia { bend: e * i, shear: g * area / 1.2, mass: rho * area, rotary: rho * i }
    }
}
