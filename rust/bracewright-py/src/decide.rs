//! Twin of `decide`: what was decided and why, and whether one more reading would allow more.

use bracewright::Error;
use bracewright::decide::{Decision, KnownHand, PassTaken, WhatToMeasure, Worth};
use pyo3::prelude::*;

use crate::advice::reason;
use crate::argument::need;
use crate::convert::MM;
use crate::error::Result;
use crate::value::record;

record! {
    /// A maker's hand and how well it is known, over all the braces it carved: **hand.to_dict() are settings of a Bench and of
    /// a ChanceRule.
    PyKnownHand, "KnownHand", KnownHand {
        /// What it takes beyond its aim, as a part of it, -0.5 to 1.
        bias_fraction;
        /// Standard deviation of what is not known of that, 0 to 0.5.
        u_bias_fraction;
        /// Scatter that grows with the aim, as a part of it, 0 to 1.
        scatter_fraction;
        /// Scatter that is there even for a thin shaving, mm, 0 to 5.
        scatter_mm;
        /// How many passes the scatter is as well known as from, 4 at least.
        hand_passes;
    }
}

#[pymethods]
impl PyKnownHand {
    #[new]
    #[pyo3(signature = (*, bias_fraction=0.0, u_bias_fraction=0.05, scatter_fraction=0.1, scatter_mm=0.1, hand_passes=30.0))]
    fn new(
        #[pyo3(from_py_with = need::bias_fraction)] bias_fraction: f64,
        #[pyo3(from_py_with = need::u_bias_fraction)] u_bias_fraction: f64,
        #[pyo3(from_py_with = need::scatter_fraction)] scatter_fraction: f64,
        #[pyo3(from_py_with = need::scatter_mm)] scatter_mm: f64,
        #[pyo3(from_py_with = need::hand_passes)] hand_passes: f64,
    ) -> Result<Self> {
        let hand = KnownHand { bias_fraction, u_bias_fraction, scatter_fraction, scatter_mm, hand_passes };
        Ok(Self(hand.checked()?))
    }

    /// The hand with what some passes tell of it: depths aimed at and taken, mm, one of each a pass, and the standard
    /// uncertainty of the depths taken (by shavings, scale or calliper), mm, one for all or one each.
    #[pyo3(signature = (*, aim_mm, taken_mm, u_mm))]
    fn after(&self, aim_mm: &Bound<'_, PyAny>, taken_mm: &Bound<'_, PyAny>, u_mm: &Bound<'_, PyAny>) -> Result<Self> {
        let (aims, taken, mut u) = (MM.list("aim_mm", aim_mm)?, MM.list("taken_mm", taken_mm)?, MM.list("u_mm", u_mm)?);
        if u.len() == 1 {
            u.resize(aims.len(), u[0]);
        }
        for (name, n) in [("taken_mm", taken.len()), ("u_mm", u.len())] {
            if n != aims.len() {
                return Err(Error::BadList {
                    name: name.into(),
                    problem: format!("has {n} values for the {} of aim_mm; give one for each pass", aims.len()),
                }
                .into());
            }
        }
        let passes: Vec<PassTaken> =
            (0..aims.len()).map(|i| PassTaken { aim_mm: aims[i], taken_mm: taken[i], u_mm: u[i] }).collect();
        Ok(Self(self.0.after(&passes)?))
    }
}

record! {
    /// Carve or stop, with the figures behind it. Estimates from beam models and readings; it certifies nothing.
    PyDecision, "Decision", Decision {
        /// "carve" or "stop".
        kind;
        /// Depth to aim at, mm; 0 at a stop.
        depth_mm;
        /// What chance, target and plan would allow if one pass could take it all, mm.
        allowed_mm;
        /// Deepest aim within the allowed chance, mm.
        d_max_mm;
        /// Aim straight at the target, mm, or None where the plan does not get there.
        straight_at_target_mm;
        /// Chance of being past the window after this step (at a stop: as it stands).
        chance_over;
        /// Chance of being in the window after this step.
        chance_in_window;
        /// Chances of being past the window and in it as it stands.
        standing;
        /// What the dial shows as it stands by all that was read, mm: median, 5 and 95 % quantiles.
        now_mm;
        /// The same after this step.
        after_mm;
        /// What the dial should show after this step, its own uncertainty counted, mm.
        dial_mm;
        /// Shavings to expect in the pan, g, and their standard deviation.
        shavings_g;
        /// Passes to expect to the end, this one counted; 0 at a stop.
        passes_to_expect;
        /// The window.
        window;
        /// The allowed chance.
        alpha;
    }
}

#[pymethods]
impl PyDecision {
    /// What holds the pass back, or why to stop: "straight at the target", "held by the allowed chance", "held by the deepest
    /// cut of one pass", "in the window", "shaving too small", "already past", ...
    #[getter]
    fn reason(&self) -> &'static str {
        reason(&self.0.kind)
    }

    /// The decision in plain sentences.
    #[getter]
    fn text(&self) -> String {
        self.0.text()
    }
}

record! {
    /// What one more reading would be worth before the next pass.
    PyWorth, "Worth", Worth {
        /// The reading.
        name;
        /// Depth allowed after it, mm, on average.
        allowed_mm;
        /// More than without it, mm.
        gain_mm;
        /// The same per minute of bench time.
        mm_per_minute;
    }
}

record! {
    /// Readings weighed against each other, and which to take.
    PyWhatToMeasure, "WhatToMeasure", WhatToMeasure {
        /// Depth allowed as it stands, mm.
        allowed_mm;
        /// What each reading would allow, the best per minute first.
        worth;
        /// The one to take; None: measure nothing more.
        best;
        /// In a sentence.
        words;
    }
}
