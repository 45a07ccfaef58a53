//! The deepest pass by the closed form: ln deflection normal, its slope over depth constant.

use super::Window;
use crate::belief::Hand;
use crate::error::{self, Result};
use crate::normal;
use serde::{Deserialize, Serialize};

/// What the closed form says.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub enum ClosedForm {
    /// Aim no deeper than this.
    Carve {
        /// Depth, mm, above 0.
        depth_mm: f64,
    },
    /// Even the thinnest pass goes past the limit with more than the allowed chance.
    DoNotCarve,
    /// The form does not hold here: it needs a chance below one half and q = 1 - z^2 (eps^2 + u_g^2/g^2) above 0. Use
    /// the draws.
    OutsideItsRange {
        /// q as it came out.
        q: f64,
    },
}

impl ClosedForm {
    /// The depth, or 0 where it is not to carve; `None` outside the form's range.
    pub fn depth_mm(&self) -> Option<f64> {
        match *self {
            ClosedForm::Carve { depth_mm } => Some(depth_mm),
            ClosedForm::DoNotCarve => Some(0.0),
            ClosedForm::OutsideItsRange { .. } => None,
        }
    }
}

/// Deepest aim whose chance of going past the limit is the one `z` stands for:
/// D = (r - z sqrt(eps^2 r^2 + q (s^2 + g^2 eta^2))) / (g q), q = 1 - z^2 eps^2, with eps^2 + u_g^2/g^2 for eps^2.
///
/// `r` = ln(upper limit / deflection now), `z` the normal quantile of 1 - chance, `eps` the hand's scatter as a part of
/// the aim, `s` the standard deviation of ln deflection, `g_per_mm` the slope of ln deflection over depth (above 0)
/// with its uncertainty `u_g_per_mm`, `eta_mm` the hand's scatter in mm.
pub fn d_max_closed_form(r: f64, z: f64, eps: f64, s: f64, g_per_mm: f64, eta_mm: f64, u_g_per_mm: f64) -> Result<ClosedForm> {
    error::finite("r", r, "")?;
    error::finite("z", z, "")?;
    error::not_negative("eps", eps, "")?;
    error::not_negative("s", s, "")?;
    let g = error::positive("g_per_mm", g_per_mm, "1/mm")?;
    error::not_negative("eta_mm", eta_mm, "mm")?;
    error::not_negative("u_g_per_mm", u_g_per_mm, "1/mm")?;
    let eps2 = eps * eps + (u_g_per_mm / g).powi(2);
    let q = 1.0 - z * z * eps2;
    if !(z > 0.0 && q > 0.0) {
        return Ok(ClosedForm::OutsideItsRange { q });
    }
    let depth_mm = (r - z * (eps2 * r * r + q * (s * s + (g * eta_mm).powi(2))).sqrt()) / (g * q);
    error::finite("deepest pass", depth_mm, "mm")?;
    Ok(if depth_mm > 0.0 { ClosedForm::Carve { depth_mm } } else { ClosedForm::DoNotCarve })
}

/// The chance that balances two costs, in any one money: c_short / (c_short + c_over) (the critical fractile).
pub fn alpha_from_costs(cost_short: f64, cost_over: f64) -> Result<f64> {
    error::not_negative("cost_short", cost_short, "")?;
    error::positive("cost_over", cost_over, "")?;
    error::finite("cost_short + cost_over", cost_short + cost_over, "")?;
    Ok(cost_short / (cost_short + cost_over))
}

/// The smallest belief there is: ln deflection is normal. A Kalman filter of one number, for when nothing but the
/// slope over depth is known.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct LnDeflection {
    /// Mean of ln(deflection / 1 mm).
    pub mean: f64,
    /// Its variance.
    pub variance: f64,
}

impl LnDeflection {
    /// The first reading taken whole.
    pub fn from_reading(deflection_mm: f64, u_mm: f64) -> Result<Self> {
        let d = error::positive("deflection_mm", deflection_mm, "mm")?;
        let u = error::positive("u_mm", u_mm, "mm")?;
        Ok(Self { mean: d.ln(), variance: (u / d).powi(2) })
    }

    /// After a pass of which only the aim is known; `g_per_mm` and `u_g_per_mm` as in [`d_max_closed_form`].
    pub fn after_pass(&self, aim_mm: f64, g_per_mm: f64, u_g_per_mm: f64, hand: &Hand) -> Result<Self> {
        hand.check()?;
        error::not_negative("aim_mm", aim_mm, "mm")?;
        error::positive("g_per_mm", g_per_mm, "1/mm")?;
        error::not_negative("u_g_per_mm", u_g_per_mm, "1/mm")?;
        let taken = hand.mean_mm(aim_mm);
        let variance = self.variance + (g_per_mm * hand.sd_mm(aim_mm)).powi(2) + (u_g_per_mm * taken).powi(2);
        Ok(Self { mean: self.mean + g_per_mm * taken, variance })
    }

    /// After a reading, and by how many standard deviations it surprised.
    pub fn after_reading(&self, deflection_mm: f64, u_mm: f64) -> Result<(Self, f64)> {
        let seen = Self::from_reading(deflection_mm, u_mm)?;
        let total = self.variance + seen.variance;
        let (gain, innovation) = (self.variance / total, seen.mean - self.mean);
        Ok((Self { mean: self.mean + gain * innovation, variance: (1.0 - gain) * self.variance }, innovation / total.sqrt()))
    }

    /// Deepest next aim with chance `alpha` of going past the window, mm.
    pub fn d_max(&self, window: &Window, hand: &Hand, g_per_mm: f64, u_g_per_mm: f64, alpha: f64) -> Result<ClosedForm> {
        window.check()?;
        hand.check()?;
        error::within("alpha", alpha, "", 1e-9, 0.5)?;
        // With a bias the depth taken on average is the variable, and the aim follows from it.
        let bias = 1.0 + hand.bias_fraction;
        let z = normal::quantile(1.0 - alpha)?;
        let (r, eps) = (window.high_mm.ln() - self.mean, hand.scatter_fraction / bias);
        Ok(match d_max_closed_form(r, z, eps, self.variance.sqrt(), g_per_mm, hand.scatter_mm, u_g_per_mm)? {
            ClosedForm::Carve { depth_mm } => ClosedForm::Carve { depth_mm: depth_mm / bias },
            other => other,
        })
    }

    /// Chance that the deflection lies in the window.
    pub fn chance_in(&self, window: &Window) -> f64 {
        let at = |mm: f64| {
            let r = mm.ln() - self.mean;
            if self.variance > 0.0 { r / self.variance.sqrt() } else { r * f64::INFINITY }
        };
        normal::cdf(at(window.high_mm)) - normal::cdf(at(window.low_mm))
    }
}
