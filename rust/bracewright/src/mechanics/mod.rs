//! Pure functions on numbers; nothing here knows wood, shops or Python.
//!
//! Any consistent set of units will do. The stages above hand over N, mm, MPa and tonnes (so that
//! t/mm3 times mm/s2 is MPa/mm), which leaves the geometry of a brace unconverted; conversion
//! happens once, where a stage calls.

pub mod blend;
pub mod dense;
pub mod lagrange;
pub mod modes;
pub mod pieces;
pub mod plate;
pub mod quadrature;
pub mod resolved;
pub mod ribbed;
pub mod section_beam;
pub mod section_law;
pub mod simd;
pub mod solid;
