//! What dry and damp air do to a braced top: arch, cracks across the grain, lifting ends; a gate for gluing; a year.
//!
//! Everything goes with the change of moisture content since the glue set, and is elastic: damper then drier comes back to where
//! it was. Set and relaxation, which real tops show, are not in it; they make old tops move less than these figures.

mod ends;
mod gate;
mod season;
mod strip;

pub use ends::{BraceEnd, EndLift};
pub use gate::{GlueLimits, GlueRoom, GluingGate, crack_stress_mpa, glue_gate};
pub use season::{Season, SeasonOptions, season};
pub use strip::{ArchChange, ArchStrip, bimaterial_curvature_per_m};
