//! Deciding: what is known of a brace in the making, and the next pass that follows from it.
//!
//! [`Curves`] hold what the plan would weigh and read at any depth; [`Known`] is everything not known with its spread, updated
//! by any mix of readings in microseconds; [`Known::next`] is the rule.

mod ahead;
mod balance;
mod curves;
mod cut_words;
mod cutting;
mod hand;
mod known;
mod layers;
mod look;
mod model;
mod next;
mod places;
mod prior;
mod repair;
mod rough;
mod rough_words;
mod words;

pub use curves::Curves;
pub use hand::{KnownHand, PassTaken};
pub use known::{Figure, Known};
pub use look::{Happened, Look, Looked, Surprise};
pub use next::{Aimed, Decision, WhatToMeasure, Worth};
pub use places::{GoalAhead, Place, PlaceLimits, PlaceWorth, WhereToCut, where_to_cut};
pub use prior::Prior;
pub use repair::{Remedied, Remedy, Repair, Strip, repairs};
pub use rough::{RoughCarving, RoughCut, RoughGrade, RoughPlan, rough_carve};
