//! Decisions as sentences for the bench.

use super::{Decision, Known};
use crate::advice::{Kind, Spoken};

impl Decision {
    /// The decision in plain sentences.
    pub fn text(&self) -> String {
        Spoken {
            kind: &self.kind,
            window: &self.window,
            alpha: self.alpha,
            depth_mm: self.depth_mm,
            allowed_mm: self.allowed_mm,
            mass_g: matches!(self.kind, Kind::Carve { .. }).then_some(self.shavings_g.0),
            chance_over: self.chance_over,
            chance_in_window: self.chance_in_window,
            now_mm: self.now_mm,
            dial_mm: self.dial_mm,
        }
        .text()
    }
}

impl Known {
    /// What the readings so far pin down and what they do not, in plain words.
    pub fn pinned_down(&self) -> String {
        let mut known: Vec<String> = Vec::new();
        let mut open: Vec<String> = Vec::new();
        for (name, left) in self.spread_left() {
            let part = format!("{name} ({:.0} % of its first spread left)", 100.0 * left);
            if left < 0.5 { known.push(part) } else { open.push(part) }
        }
        let list = |names: Vec<String>| if names.is_empty() { "nothing yet".into() } else { names.join(", ") };
        let together = self.goes_together().map_or(String::new(), |(a, b)| {
            format!(" {a} and {b} go together: the readings tell them apart poorly, and their joint effect well.")
        });
        format!("Pinned down: {}. Still open: {}.{together}", list(known), list(open))
    }
}
