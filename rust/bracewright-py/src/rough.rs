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
        /// The blank most likely to be past it, by its place in the lot.
        worst_blank;
        /// That blank's own chance.
        worst_chance;
        /// Hand passes to expect afterwards, on average over what is not past the window.
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
        /// The blank of the lot most likely to be past it, by its place.
        worst_blank;
        /// That blank's own chance.
        worst_chance;
    }
}

record! {
    /// A lot rough-carved: with one grade, two, and so on; and with a gauge twice as good.
    PyRoughCarving, "RoughCarving", RoughCarving {
        /// One plan for each number of grades, from one.
        plans;
        /// The same where each blank's modulus is known twice as well.
        better_gauge;
        /// Blanks past the window before anything is cut, by their place in the lot; in no grade and no average.
        too_soft;
        /// Blanks too stiff to reach the window at the end of the plan; in no grade and no average.
        out_of_reach;
        /// The few soft blanks that make at least half of what goes past where all get one depth; none where no few do.
        set_aside;
        /// One depth for all the others, mm.
        depth_without_them_mm;
        /// Hand passes to expect without a rough cut.
        hand_passes_without;
        /// In a few sentences.
        words;
    }
}

/// How deep a machine or a template may take all blanks of a lot, or each grade, before the hand goes on.
///
/// modulus_gpa: one for each blank, known to u_modulus (0.12 from the species alone, 0.03 from a tap or a reading). The share
/// past the window, which is on the brace's own deflection, mm, stays under `level` after the rough cut, and every blank's own
/// chance under blank_level; the depth of the cut scatters by machine_mm. Places in the lot count from 0. Grades are chosen so that the hand passes to expect by `rule` afterwards are fewest. u_dial_mm is the
/// uncertainty of the dial the hand goes on with.
#[pyfunction]
#[pyo3(signature = (plan, rig, *, modulus_gpa, window, rule=None, level=0.02, blank_level=0.5, machine_mm=0.1, u_modulus=0.03,
    u_dial_mm=0.006, most_grades=4))]
pub fn rough_carve(
    py: Python<'_>,
    plan: &PyPlan,
    rig: &PyRig,
    modulus_gpa: &Bound<'_, PyAny>,
    window: &PyWindow,
    rule: Option<&PyChanceRule>,
    #[pyo3(from_py_with = need::level)] level: f64,
    #[pyo3(from_py_with = need::blank_level)] blank_level: f64,
    #[pyo3(from_py_with = need::machine_mm)] machine_mm: f64,
    #[pyo3(from_py_with = need::u_modulus)] u_modulus: f64,
    #[pyo3(from_py_with = need::u_dial_mm)] u_dial_mm: f64,
    #[pyo3(from_py_with = need::most_grades)] most_grades: usize,
) -> Result<PyRoughCarving> {
    let moduli = GPA.list("modulus_gpa", modulus_gpa)?;
    let rule = rule.map(|r| r.0.clone()).unwrap_or_default();
    let cut = RoughCut { level, blank_level, machine_mm, u_modulus, u_dial_mm, most_grades };
    Ok(PyRoughCarving(py.detach(|| {
        let curves = Arc::new(Curves::new(&plan.0, &rig.0, false)?);
        decide::rough_carve(&curves, &moduli, &rule.prior(&plan.0, &rig.0)?, &window.0, &rule.rule(&plan.0)?, &cut)
    })?))
}
