//! A small mass stuck on at a point: the modal mass and stiffness there, from how far the frequency falls.

use serde::{Deserialize, Serialize};

use super::budget::{TapShare, combined, sorted};
use crate::error::{Error, Result, not_negative, number, positive};

/// A frequency without and with a mass.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct AddedMass {
    /// The mass, g.
    pub mass_g: f64,
    /// Its standard uncertainty, g.
    pub u_mass_g: f64,
    /// Frequency without it, Hz.
    pub before_hz: f64,
    /// Standard uncertainty, Hz.
    pub u_before_hz: f64,
    /// Frequency with it, Hz.
    pub after_hz: f64,
    /// Standard uncertainty, Hz.
    pub u_after_hz: f64,
}

/// What one mode does at the place of the mass.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ModalEstimate {
    /// Modal mass at the place, g.
    pub mass_g: f64,
    /// Standard uncertainty, g.
    pub u_mass_g: f64,
    /// Modal stiffness at the place, N/mm.
    pub stiffness_n_per_mm: f64,
    /// Standard uncertainty, N/mm.
    pub u_stiffness_n_per_mm: f64,
    /// Shares of the relative uncertainty of the modal mass, largest first.
    pub budget: Vec<TapShare>,
    /// What to know of the answer, in words; empty when there is nothing.
    pub cautions: Vec<String>,
}

/// Added over modal mass from which the neighbours of a mode are felt: their part is of the order of this squared.
const SMALL: f64 = 0.3;

impl AddedMass {
    /// Itself, unless a figure is out of range: mass and frequencies above 0, uncertainties 0 or more.
    pub fn checked(self) -> Result<Self> {
        positive("mass_g", self.mass_g, "g")?;
        not_negative("u_mass_g", self.u_mass_g, "g")?;
        for (name, f, u) in [("before_hz", self.before_hz, self.u_before_hz), ("after_hz", self.after_hz, self.u_after_hz)] {
            positive(name, f, "Hz")?;
            not_negative(&format!("u_{name}"), u, "Hz")?;
        }
        Ok(self)
    }

    /// Modal mass and stiffness: M = m f1^2 / (f0^2 - f1^2), K = (2 pi f0)^2 M.
    ///
    /// Exact for a part with one mode. With others the driving-point receptance decides,
    /// sum_k 1/(M_k (w_k^2 - w^2)) = 1/(m w^2) at the new frequency; their part is of the order of m/M times the square of the ratio
    /// of the frequencies, so the mass should be small and the shift still many times its uncertainty.
    pub fn modal(&self) -> Result<ModalEstimate> {
        self.checked()?;
        let (f0, f1) = (self.before_hz, self.after_hz);
        let (shift, u_shift) = (f0 - f1, self.u_before_hz.hypot(self.u_after_hz));
        if shift <= 2.0 * u_shift {
            return Err(Error::NotIdentifiable {
                unknown: "modal mass".into(),
                reason: format!(
                    "the frequency fell by {} Hz, which is not more than twice its standard uncertainty of {} Hz; use a heavier mass, or read the frequencies better",
                    number((shift * 1e4).round() / 1e4),
                    number((u_shift * 1e4).round() / 1e4)
                ),
            });
        }
        let d = f0 * f0 - f1 * f1;
        let mass = self.mass_g * f1 * f1 / d;
        let stiffness = (std::f64::consts::TAU * f0).powi(2) * mass * 1e-6;
        // relative derivatives of M, and of K = (2 pi)^2 f0^2 M
        let parts = [
            ("frequency without the mass", -2.0 * f0 * f0 / d, self.u_before_hz / f0),
            ("frequency with the mass", 2.0 * f0 * f0 / d, self.u_after_hz / f1),
            ("the added mass", 1.0, self.u_mass_g / self.mass_g),
        ];
        let budget = sorted(parts.iter().map(|(s, c, u)| ((*s).to_string(), c * u)));
        let u_k = parts.iter().map(|(s, c, u)| ((c + if s.ends_with("without the mass") { 2.0 } else { 0.0 }) * u).powi(2));
        let mut cautions = Vec::new();
        if self.mass_g > SMALL * mass {
            cautions.push(format!(
                "the added {} g is {:.0} % of the modal mass: modes nearby share in the shift; repeat with half the mass and compare",
                number(self.mass_g),
                100.0 * self.mass_g / mass
            ));
        }
        let u = combined(&budget);
        if u > 0.15 {
            cautions.push(format!(
                "the shift of {shift:.2} Hz is only {:.0} times its uncertainty; the true value may lie to one side, as M goes with the inverse of the shift",
                shift / u_shift
            ));
        }
        Ok(ModalEstimate {
            mass_g: mass,
            u_mass_g: mass * u,
            stiffness_n_per_mm: stiffness,
            u_stiffness_n_per_mm: stiffness * u_k.sum::<f64>().sqrt(),
            budget,
            cautions,
        })
    }
}
