//! What a bench says beside its decision.

use super::Bench;
use crate::advice::{Kind, Stop};
use crate::decide::Decision;
use crate::error::{Result, number};
use crate::rig::Reading;

impl Bench {
    /// What is said where the cap itself would go past the window: the figures of a decision are of the brace with its cap.
    pub(super) fn no_cap(&self, decision: &Decision) -> Option<String> {
        if self.cap_worked || decision.standing.0 <= self.options.overshoot {
            return None;
        }
        matches!(decision.kind, Kind::Stop(Stop::AlreadyPast | Stop::ShavingTooSmall { .. })).then(|| {
            let [now, least, most] = decision.now_mm;
            format!(
                "Do not work the {}: with it the dial should show {now:.3} mm ({least:.3} to {most:.3}), and the chance of being past the \
                 window, {:.3} to {:.3} mm, would be {:.0} %. Plan a smaller one, or change the goal.",
                self.plan.section().name(),
                decision.window.low_mm,
                decision.window.high_mm,
                100.0 * decision.standing.0
            )
        })
    }

    /// What stands beside the decision: nothing read yet, the margin of strength, what was set aside.
    pub(super) fn remarks(&self) -> Result<String> {
        let mut out = String::new();
        if self.log.iter().all(|e| e.seen.reading.is_none()) {
            out.push_str(" Nothing has been read on this bench yet: read the dial before the first pass.");
        }
        if let Some(margin) = self.margin()? {
            let least = self.options.least_margin;
            let low = if margin < least { ", below" } else { ", against" };
            out.push_str(&format!(
                " Strength stands at {margin:.1} times the stress of the working moment{low} {least:.1} asked for."
            ));
        }
        Ok(out)
    }

    /// A sentence for a window that one reading cannot tell with the chance asked for; empty otherwise.
    pub(super) fn narrow(&self) -> String {
        let u = self.log.iter().rev().find_map(|e| e.seen.reading.as_ref().map(Reading::u_mm));
        let (wide, Some(u)) = (self.goal.high() - self.goal.low(), u) else { return String::new() };
        let z = crate::normal::quantile(0.5 + 0.5 * self.options.enough.min(0.999)).unwrap_or(2.0);
        if wide >= 2.0 * z * u {
            return String::new();
        }
        format!(
            " The window, {} mm wide, is narrower than such a reading can tell ({} mm with {:.0} chances in 100): seat it more often, or widen the window.",
            number((wide * 1e3).round() / 1e3),
            number((2.0 * z * u * 1e3).round() / 1e3),
            100.0 * self.options.enough
        )
    }
}
