//! A bench in a file: plan, goal, settings and log. What is known comes back by replaying the log.

use serde::{Deserialize, Serialize};

use super::{Bench, BenchOptions, Entry};
use crate::carve::Plan;
use crate::error::{Error, Result};
use crate::goal::Goal;

#[derive(Serialize, Deserialize)]
pub(super) struct Stored {
    plan: Plan,
    goal: Goal,
    options: BenchOptions,
    log: Vec<Entry>,
}

impl From<Bench> for Stored {
    fn from(b: Bench) -> Self {
        Self { plan: b.plan, goal: b.goal, options: b.options, log: b.log }
    }
}

impl TryFrom<Stored> for Bench {
    type Error = Error;

    fn try_from(s: Stored) -> Result<Self> {
        s.log.iter().try_fold(Bench::new(&s.plan, &s.goal, &s.options)?, |b, e| b.replayed(e))
    }
}
