//! Twin of `decide/rough`: how deep to rough-carve a lot.

use std::sync::Arc;

use bracewright::decide::{self, Curves, RoughCarving, RoughCut, RoughGrade, RoughPlan};
use pyo3::prelude::*;

use crate::advice::PyWindow;
use crate::argument::need;
use crate::carve::PyPlan;
use crate::convert::GPA;
use crate::error::Result;
use crate::rig::PyRig;
use crate::shop::PyChanceRule;
use crate::value::record;

record! {
    /// One grade of a lot that is rough-carved.
    PyRoughGrade, "RoughGrade", RoughGrade {
        /// Blanks in it, by their place in the lot.
        blanks;
        /// Moduli from and to, GPa.
        modulus_gpa;
        /// Depth of the rough cut, mm.
        depth_mm;
        /// Share expected past the window after it.
        share_past;
        /// Hand passes to expect afterwards, on average.
        hand_passes;
    }
}

record! {
    /// A lot rough-carved in so many grades.
    PyRoughPlan, "RoughPlan", RoughPlan {
        /// The grades, softest wood first.
        grades;
        /// Hand passes to expect, on average over the lot.
        hand_passes;
        /// Share expected past the window after the rough cut, over the lot.
        share_past;
    }
}

record! {
    /// A lot rough-carved: with one grade, two, and so on; and with a gauge twice as good.
    PyRoughCarving, "RoughCarving", RoughCarving {
        /// One plan for each number of grades, from one.
        plans;
        /// The same where each blank's modulus is known twice as well.
        better_gauge;
        /// Hand passes to expect without a rough cut.
        hand_passes_without;
        /// In a few sentences.
        words;
    }
}

/// How deep a machine or a template may take all blanks of a lot, or each grade, before the hand goes on.
///
/// modulus_gpa: one for each blank, known to u_modulus (0.12 from the species alone, 0.03 from a tap or a reading). The share
/// past the window, which is on the brace's own deflection, mm, stays under `level` after the rough cut, whose depth scatters
/// by machine_mm; grades are chosen so that the hand passes to expect by `rule` afterwards are fewest. u_dial_mm is the
/// uncertainty of the dial the hand goes on with.
#[pyfunction]
#[pyo3(signature = (plan, rig, *, modulus_gpa, window, rule=None, level=0.02, machine_mm=0.1, u_modulus=0.03, u_dial_mm=0.006,
    most_grades=4))]
pub fn rough_carve(
    py: Python<'_>,
    plan: &PyPlan,
    rig: &PyRig,
    modulus_gpa: &Bound<'_, PyAny>,
    window: &PyWindow,
    rule: Option<&PyChanceRule>,
    #[pyo3(from_py_with = need::level)] level: f64,
    #[pyo3(from_py_with = need::machine_mm)] machine_mm: f64,
    #[pyo3(from_py_with = need::u_modulus)] u_modulus: f64,
    #[pyo3(from_py_with = need::u_dial_mm)] u_dial_mm: f64,
    #[pyo3(from_py_with = need::most_grades)] most_grades: usize,
) -> Result<PyRoughCarving> {
    let moduli = GPA.list("modulus_gpa", modulus_gpa)?;
    let rule = rule.map(|r| r.0.clone()).unwrap_or_default();
    let cut = RoughCut { level, machine_mm, u_modulus, u_dial_mm, most_grades };
    Ok(PyRoughCarving(py.detach(|| {
        let curves = Arc::new(Curves::new(&plan.0, &rig.0, false)?);
        decide::rough_carve(&curves, &moduli, &rule.prior(&plan.0, &rig.0)?, &window.0, &rule.rule(&plan.0)?, &cut)
    })?))
}
