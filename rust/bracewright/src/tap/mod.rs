//! What a tap says of the wood: sticks, bare plates and a small mass on a finished part.
//!
//! Every answer carries a budget (JCGM 100). A modulus from a tap is a dynamic one: it is not turned into a static one
//! unless the caller asks with a factor, see [`DynamicOverStatic`].

mod added;
mod along;
mod budget;
mod loss;
mod nodal;
mod plate;
mod plate_budget;
mod plate_fit;
mod plate_guess;
mod plate_hold;
mod standard;
mod stick;
mod stick_fit;
mod stick_model;

pub use crate::mechanics::plate::Label;
pub use added::{AddedMass, ModalEstimate};
pub use along::{LengthwiseEstimate, LengthwiseTap};
pub use budget::{DynamicOverStatic, StaticModulus, TapShare};
pub use loss::{Loss, loss_factor_from_bandwidth, loss_factor_from_decay_time, loss_factor_from_decrement};
pub use plate::{BarePlate, PlateModeHz, PlateReading, PlateUncertainty};
pub use plate_fit::{PlateEstimate, PlateModulus};
pub use plate_guess::{LabelGuess, LabelledMode};
pub use plate_hold::PlateTapAdvice;
pub use standard::{e1876_modulus_gpa, e1876_shape_factor, e1876_shear_modulus_gpa, e1876_torsion_factors};
pub use stick::{Bending, Foam, Pickup, StickTap, TapReading};
pub use stick_fit::StickEstimate;
pub(crate) use stick_fit::{LIKELY, unlikely};
