//! An uncertainty budget: its lines, what they come to, and the interval for a stated coverage.

use serde::{Deserialize, Serialize};

use super::chance::{checked_dof, coverage_factor};
use crate::error::{Error, Result, finite, not_negative};

/// How an uncertainty was found (JCGM 100, 4.2 and 4.3).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Evaluation {
    /// From the scatter of repeats.
    A,
    /// From anything else: a certificate, a resolution, a table.
    B,
}

/// One line of a budget.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct BudgetLine {
    /// Where it comes from.
    pub source: String,
    /// The input's value, in its own unit.
    pub value: f64,
    /// Its standard uncertainty, in its own unit.
    pub u: f64,
    /// What the result moves by for one unit of the input.
    pub sensitivity: f64,
    /// Degrees of freedom; `None` when there are infinitely many.
    pub dof: Option<f64>,
    /// Type A or B.
    pub evaluation: Evaluation,
    /// |sensitivity| x u: what it is worth in the result.
    pub contribution: f64,
    /// Its part of the result's variance, 0 to 1; 0 until it stands in a budget.
    pub share: f64,
}

impl BudgetLine {
    /// A line; `u` 0 or more, `dof` 0.5 or more or `None`.
    pub fn new(source: &str, value: f64, u: f64, sensitivity: f64, dof: Option<f64>, evaluation: Evaluation) -> Result<Self> {
        finite("value", value, "")?;
        not_negative("u", u, "")?;
        finite("sensitivity", sensitivity, "")?;
        if let Some(n) = dof {
            checked_dof("dof", n)?;
        }
        let contribution = not_negative("contribution", (sensitivity * u).abs(), "")?;
        Ok(Self { source: source.into(), value, u, sensitivity, dof, evaluation, contribution, share: 0.0 })
    }
}

/// A result with its uncertainty and where that comes from.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Budget {
    /// The result.
    pub value: f64,
    /// Its combined standard uncertainty.
    pub u: f64,
    /// Its unit, for the words.
    pub unit: String,
    /// Effective degrees of freedom (Welch and Satterthwaite, JCGM 100 G.4.1); `None` when infinitely many.
    pub dof: Option<f64>,
    /// Coverage asked for, 0 to 1.
    pub coverage: f64,
    /// Factor from u to the expanded uncertainty: Student's t for the degrees of freedom cut to the whole number below.
    pub coverage_factor: f64,
    /// Expanded uncertainty.
    pub expanded: f64,
    /// The interval it makes.
    pub interval: (f64, f64),
    /// The lines, largest contribution first.
    pub lines: Vec<BudgetLine>,
}

impl Budget {
    /// The budget of a result from independent lines (1 or more) with at least one uncertainty above 0. `coverage` lies
    /// above 0 and below 1.
    pub fn new(value: f64, unit: &str, mut lines: Vec<BudgetLine>, coverage: f64) -> Result<Self> {
        finite("value", value, unit_static(unit))?;
        let scale = lines.iter().fold(0.0_f64, |m, l| m.max(l.contribution));
        if scale <= 0.0 {
            return Err(Error::BadList {
                name: "lines".into(),
                problem: "hold no uncertainty at all; at least one must be above 0".into(),
            });
        }
        // by parts of the largest, so that neither tiny nor huge units overflow
        let sum: f64 = lines.iter().map(|l| (l.contribution / scale).powi(2)).sum();
        let fourth: f64 = lines.iter().filter_map(|l| l.dof.map(|n| (l.contribution / scale).powi(4) / n)).sum();
        let dof = (fourth > 0.0).then(|| sum * sum / fourth).filter(|n| *n < 1e6);
        for l in &mut lines {
            l.share = (l.contribution / scale).powi(2) / sum;
        }
        lines.sort_by(|a, b| b.contribution.total_cmp(&a.contribution));
        let u = scale * sum.sqrt();
        // a hair of rounding must not cut 9 degrees of freedom to 8
        let k = coverage_factor(coverage, dof.map(|n| (n * (1.0 + 1e-9)).floor().max(1.0)))?;
        let expanded = finite("expanded uncertainty", k * u, "")?;
        Ok(Self {
            value,
            u,
            unit: unit.into(),
            dof,
            coverage,
            coverage_factor: k,
            expanded,
            interval: (value - expanded, value + expanded),
            lines,
        })
    }

    /// The result as a sheet prints it: value, expanded uncertainty, factor and coverage.
    pub fn sentence(&self) -> String {
        let (value, u) = rounded(self.value, self.expanded);
        let unit = if self.unit.is_empty() { String::new() } else { format!(" {}", self.unit) };
        format!(
            "{value} +- {u}{unit} (k = {:.2}, {} % coverage)",
            self.coverage_factor,
            crate::error::number(100.0 * self.coverage)
        )
    }
}

/// The error type keeps units that live as long as the program; the ones a reading comes in are few.
fn unit_static(unit: &str) -> &'static str {
    ["mm", "g", "N", "GPa", "MPa", "Hz", "kg/m3", "%"].into_iter().find(|u| *u == unit).unwrap_or("")
}

/// A value and its uncertainty with two significant digits of the uncertainty.
pub(super) fn rounded(value: f64, u: f64) -> (String, String) {
    if !(u.is_finite() && u > 0.0) {
        return (crate::error::number(value), crate::error::number(u));
    }
    let decimals = (1.0 - u.log10().floor()).clamp(0.0, 12.0) as usize;
    (format!("{value:.decimals$}"), format!("{u:.decimals$}"))
}
