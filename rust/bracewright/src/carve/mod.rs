//! Carving: passes from what is there to what is wanted, and what each place is worth.

mod plan;
mod sensitivity;
mod side;
mod tool;

pub use plan::{Pass, PassStation, Plan, PlanOptions, USUAL_STATIONS, Zone, plan_passes};
pub use sensitivity::Sensitivity;
pub use side::Side;
