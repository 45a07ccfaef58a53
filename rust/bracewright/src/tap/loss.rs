//! The loss factor, from how a tone dies or how wide its peak is.

use serde::{Deserialize, Serialize};

use crate::error::{Error, Result, not_negative, positive};

/// Loss factor of a mode.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Loss {
    /// Loss factor, 1/Q.
    pub loss_factor: f64,
    /// Its standard uncertainty.
    pub u_loss_factor: f64,
}

impl Loss {
    /// Quality factor.
    pub fn q(&self) -> f64 {
        1.0 / self.loss_factor
    }
}

fn small(loss: f64, relative: f64) -> Result<Loss> {
    if loss > 0.0 && loss < 1.0 {
        Ok(Loss { loss_factor: loss, u_loss_factor: loss * relative })
    } else {
        Err(Error::OutOfRange {
            quantity: "loss_factor".into(),
            value: loss,
            unit: "",
            allowed: "above 0 and below 1 for a tone that rings; check the units of the reading".into(),
        })
    }
}

/// From the time in s in which the level falls by 60 dB: eta = ln(1000) / (pi f T60) = 2.2 / (f T60).
pub fn loss_factor_from_decay_time(frequency_hz: f64, decay_60_db_s: f64, u_decay_60_db_s: f64) -> Result<Loss> {
    positive("frequency_hz", frequency_hz, "Hz")?;
    positive("decay_60_db_s", decay_60_db_s, "s")?;
    not_negative("u_decay_60_db_s", u_decay_60_db_s, "s")?;
    small(1000.0_f64.ln() / (std::f64::consts::PI * frequency_hz * decay_60_db_s), u_decay_60_db_s / decay_60_db_s)
}

/// From the width in Hz of the peak 3 dB below its top: eta = width / f.
pub fn loss_factor_from_bandwidth(frequency_hz: f64, bandwidth_hz: f64, u_bandwidth_hz: f64) -> Result<Loss> {
    positive("frequency_hz", frequency_hz, "Hz")?;
    positive("bandwidth_hz", bandwidth_hz, "Hz")?;
    not_negative("u_bandwidth_hz", u_bandwidth_hz, "Hz")?;
    small(bandwidth_hz / frequency_hz, u_bandwidth_hz / bandwidth_hz)
}

/// From the logarithmic decrement of one cycle, delta = 2 pi zeta / sqrt(1 - zeta^2), eta = 2 zeta.
pub fn loss_factor_from_decrement(decrement: f64, u_decrement: f64) -> Result<Loss> {
    positive("decrement", decrement, "")?;
    not_negative("u_decrement", u_decrement, "")?;
    let zeta = decrement / decrement.hypot(std::f64::consts::TAU);
    small(2.0 * zeta, u_decrement / decrement)
}
