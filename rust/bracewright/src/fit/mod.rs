//! Solving for a dimension, and copying a stiffness rather than a dimension.

mod copy;
mod quick;
mod readings;
mod root;
mod solve;

pub use copy::{CopyReport, copy_stiffness};
pub use quick::section_dimension_for;
pub use readings::{Beam, ReadingsFit, fit_readings};
pub use solve::{FitOptions, FitReport, Outcome, carve_to};
