//! Deciding: what is known of a brace in the making, and the next pass that follows from it.
//!
//! [`Curves`] hold what the plan would weigh and read at any depth; [`Known`] is everything not known with its spread, updated
//! by any mix of readings in microseconds; [`Known::next`] is the rule.

mod curves;
mod known;
mod look;
mod model;
mod next;
mod prior;

pub use curves::Curves;
pub use known::{Figure, Known};
pub use look::{Happened, Look, Surprise};
pub use next::{Aimed, Next, WhatToMeasure, Worth};
pub use prior::Prior;
