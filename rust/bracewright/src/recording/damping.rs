//! The names of damping, for a mode of one tap and for one of several.

use std::f64::consts::PI;

use super::modes::Mode;
use super::repeats::CombinedMode;

macro_rules! damping {
    ($($mode:ident)+) => {$(
        impl $mode {
            /// Quality factor Q = pi f / decay.
            pub fn quality(&self) -> f64 {
                PI * self.frequency_hz / self.decay_per_s
            }

            /// Standard uncertainty of the quality.
            pub fn u_quality(&self) -> f64 {
                self.quality() * self.u_damping_relative()
            }

            /// Loss factor 1 / Q.
            pub fn loss_factor(&self) -> f64 {
                self.decay_per_s / (PI * self.frequency_hz)
            }

            /// Standard uncertainty of the loss factor.
            pub fn u_loss_factor(&self) -> f64 {
                self.loss_factor() * self.u_damping_relative()
            }

            /// Time in which the mode falls by 60 dB, s.
            pub fn decay_time_s(&self) -> f64 {
                1000.0_f64.ln() / self.decay_per_s
            }

            /// Standard uncertainty of the decay time, s.
            pub fn u_decay_time_s(&self) -> f64 {
                self.decay_time_s() * self.u_decay_per_s / self.decay_per_s
            }

            /// Relative standard uncertainty of the quality and the loss factor.
            pub fn u_damping_relative(&self) -> f64 {
                (self.u_decay_per_s / self.decay_per_s).hypot(self.u_frequency_hz / self.frequency_hz)
            }
        }
    )+};
}

damping!(Mode CombinedMode);
