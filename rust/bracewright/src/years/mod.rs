//! The years after the first stringing: creep by a standard's figure or by one's own readings, and what it does to the action.

mod action;
mod creep;
mod trend;

pub use action::{ActionChange, action_change};
pub use creep::{CreepOutlook, DESIGN_LIFE_H, MECHANO_SORPTIVE, creep_outlook, creep_ratio};
pub use trend::{RotationTrend, TrendPoint, rotation_trend};
