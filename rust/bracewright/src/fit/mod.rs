//! Solving for a dimension, and copying a stiffness rather than a dimension.

mod copy;
mod root;
mod solve;

pub use copy::{CopyReport, copy_stiffness};
pub use solve::{FitOptions, FitReport, Outcome, carve_to};
