//! What the checks of a layout found.

use serde::{Deserialize, Serialize};

use super::checks::{LayoutLimits, LayoutTolerance};
use crate::cautions::{Hazard, cautions};
use crate::error::{number, tidy};

/// How a clearance stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum RowState {
    /// Within its limits, and likely to stay so.
    Clear,
    /// Within its limits as drawn, but with a fair chance of not being so as built.
    Close,
    /// Outside its limits as drawn.
    Clash,
}

impl RowState {
    /// Its word.
    pub fn name(self) -> &'static str {
        match self {
            RowState::Clear => "clear",
            RowState::Close => "close",
            RowState::Clash => "clash",
        }
    }
}

/// One clearance.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct LayoutRow {
    /// What is checked, the same for all rows of a kind.
    pub check: String,
    /// Between what.
    pub what: String,
    /// As drawn, mm; below 0 by how much things overlap.
    pub clearance_mm: f64,
    /// The least it may be, mm.
    pub least_mm: Option<f64>,
    /// The most it may be, mm.
    pub most_mm: Option<f64>,
    /// Its standard uncertainty from errors of place and turn, mm; `None` where it is fitted at the bench.
    pub sd_mm: Option<f64>,
    /// Chance that it is outside its limits as built; `None` where it is fitted at the bench.
    pub chance: Option<f64>,
    /// Where, across the top, mm.
    pub x_mm: f64,
    /// Where, from the neck end, mm.
    pub y_mm: f64,
    /// How it stands.
    pub state: RowState,
}

/// Where a leg runs under the bridge.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct LegAtBridge {
    /// The leg.
    pub brace: String,
    /// How far from the bridge's middle its middle line passes under the front edge of the foot, mm (beyond its end too).
    pub front_mm: f64,
    /// The same at the rear edge, mm.
    pub rear_mm: f64,
    /// Half the length of the foot, mm.
    pub half_bridge_mm: f64,
}

/// All clearances of a layout.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct LayoutReport {
    /// The layout's name.
    pub name: String,
    /// The clearances, each kind of check after the other.
    pub rows: Vec<LayoutRow>,
    /// Where legs run under the bridge.
    pub legs: Vec<LegAtBridge>,
    /// The errors it counts with.
    pub tolerance: LayoutTolerance,
    /// The limits.
    pub limits: LayoutLimits,
    /// Chance that anything clashes as built, at most: the sum of the rows' chances.
    pub chance_at_most: f64,
    /// True when nothing clashes as drawn.
    pub ok: bool,
    /// What was found, as sentences; what clashes first.
    pub words: Vec<String>,
}

/// A chance as a person reads it.
pub(crate) fn percent(chance: f64) -> String {
    match 100.0 * chance {
        p if p < 0.005 => "under 0.01 %".into(),
        p if p < 0.995 => format!("{p:.2} %"),
        p if p < 9.95 => format!("{p:.1} %"),
        p if p > 99.5 => "over 99 %".into(),
        p => format!("{p:.0} %"),
    }
}

impl LayoutRow {
    /// What it may be, in words.
    pub fn allowed(&self) -> String {
        let places = |v: f64| number((10.0 * v).round() / 10.0);
        match (self.least_mm, self.most_mm) {
            (Some(l), Some(m)) => format!("{} to {} mm", places(l), places(m)),
            (Some(l), None) => format!("at least {} mm", places(l)),
            (None, Some(m)) => format!("at most {} mm", places(m)),
            (None, None) => "anything".into(),
        }
    }

    fn sentence(&self) -> String {
        let chance =
            self.chance.map_or(String::new(), |c| format!("; as built it is outside that with a chance of {}", percent(c)));
        format!("{}: {}: {:.1} mm, allowed {}{chance}", self.check, self.what, tidy(self.clearance_mm), self.allowed())
    }
}

impl LayoutReport {
    pub(super) fn of(
        name: &str,
        rows: Vec<LayoutRow>,
        legs: Vec<LegAtBridge>,
        tolerance: LayoutTolerance,
        limits: LayoutLimits,
        notes: Vec<String>,
    ) -> Self {
        let of = |s: RowState| rows.iter().filter(move |r| r.state == s);
        let (clashes, close) = (of(RowState::Clash).count(), of(RowState::Close).count());
        let mut words = vec![match (clashes, close) {
            (0, 0) => format!("{} clearances, all within their limits", rows.len()),
            (0, c) => format!("{} clearances within their limits, {c} of them close", rows.len()),
            (n, 0) => format!("{n} of {} clearances outside their limits", rows.len()),
            (n, c) => format!("{n} of {} clearances outside their limits, {c} more close", rows.len()),
        }];
        words.extend(of(RowState::Clash).map(|r| format!("CLASH: {}", r.sentence())));
        words.extend(of(RowState::Close).map(|r| format!("close: {}", r.sentence())));
        words.extend(legs.iter().map(|l| {
            format!(
                "{} passes {:.0} mm from the bridge's middle at its front edge and {:.0} mm at its rear; half the foot is {:.0} mm",
                l.brace, l.front_mm, l.rear_mm, l.half_bridge_mm
            )
        }));
        words.extend(notes);
        words.push(format!(
            "counted with errors of {} mm each way and {} degrees for every part (standard uncertainties); limits are common \
             practice, no source: change them to your own",
            number(tolerance.u_position_mm),
            number(tolerance.u_angle_deg)
        ));
        let chance_at_most = rows.iter().filter_map(|r| r.chance).sum::<f64>().min(1.0);
        Self { name: name.into(), legs, tolerance, limits, chance_at_most, ok: clashes == 0, words, rows }
    }

    /// What to mind.
    pub fn cautions(&self) -> Vec<String> {
        cautions(&[Hazard::Edges, Hazard::Dust, Hazard::Glue, Hazard::Estimate])
    }
}
