//! Readings put together after JCGM 100:2008 (the GUM): repeats and re-seats, a bad reading shown and not hidden, a
//! reference climate, methods fused, and whether wood is at rest with the shop.
//!
//! Numbers here may be of any quantity: value and uncertainty share the unit that `unit` names in the words.

mod budget;
mod chance;
mod climate;
mod fused;
mod glue;
mod repeats;
mod rest;
mod robust;

pub use budget::{Budget, BudgetLine, Evaluation};
pub use chance::{chi_squared_upper_tail, coverage_factor};
pub use climate::{Climate, Corrected, CorrectionOptions, Measured, to_reference};
pub use fused::{Fused, Method, MethodPair, fuse};
pub use glue::{GlueUp, GlueWater};
pub use repeats::{RepeatOptions, Repeated, Suspect, repeated};
pub use rest::{Rest, RestReport, rest};
pub use robust::{MODIFIED_Z_LIMIT, RobustMean, modified_z, robust_mean};
