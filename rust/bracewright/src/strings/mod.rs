//! Strings and bridge: what a set pulls, what the bridge does with it, and what that asks of the braces.
//!
//! T = mu (2 L f)^2 for each string; the pull at the height of the saddle is a couple on the top. How the couple spreads over
//! legs and fans is an assumption here ([`couple_on_braces`]) until a whole top is solved.

mod bridge;
mod notes;
mod set;
mod share;
mod stages;
mod string;
mod swap;

pub use bridge::{Bridge, BridgeKind, BridgeLoad};
pub use notes::{note_hz, note_number};
pub use set::{STANDARD_TUNING, StringSet, StringTension, Tensions, tension_n};
pub use share::{BraceMoment, CoupleShares, couple_on_braces};
pub use stages::{RotationTest, StageAnswer, Stringing, StringingStage, bridge_rotation_deg, stringing};
pub use string::{Core, GuitarString, Material, StringKind};
pub use swap::{SetSwap, swapped};
