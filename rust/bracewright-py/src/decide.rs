//! Twin of `decide`: what was decided and why, and whether one more reading would allow more.

use bracewright::decide::{Decision, WhatToMeasure, Worth};
use pyo3::prelude::*;

use crate::advice::reason;
use crate::value::record;

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
