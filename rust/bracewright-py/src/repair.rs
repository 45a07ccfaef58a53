//! Twin of `decide/repair`: what a remedy gives back.

use bracewright::decide::{self, Remedied, Remedy, Repair, Strip};
use pyo3::prelude::*;
use pyo3::types::PyDict;

use crate::argument::need;
use crate::brace::PyBrace;
use crate::error::Result;
use crate::goal::PyGoal;
use crate::value::{Shown, html, record, short, value};

record! {
    /// What one remedy gives back.
    PyRemedied, "Remedied", Remedied {
        /// Its name.
        name;
        /// Reading on the rig as it stands, mm.
        before_mm;
        /// Reading after it, mm (for lighter strings: the one that would ask as much of the top with the old set).
        after_mm;
        /// What it adds, g.
        grams;
        /// Stiffness gained, percent.
        stiffer_percent;
        /// Part of what lay past the window that it gives back; 1 and more is in the window again. None where nothing is past it.
        gives_back;
        /// True when it ends in the window.
        in_window;
    }
}

record! {
    /// Remedies side by side.
    PyRepair, "Repair", Repair {
        /// Each remedy.
        remedies;
        /// In a few sentences.
        words;
    }
}

/// A remedy for a brace that went too far: a strip glued on or beside it, or strings that pull less.
#[pyclass(frozen, eq, name = "Remedy", module = "bracewright")]
#[derive(Debug, Clone, PartialEq)]
pub struct PyRemedy(pub Remedy);

value!(PyRemedy, Remedy, "Remedy");

#[pymethods]
impl PyRemedy {
    /// A strip on the crest: a cap along all of the brace, a patch over part of it. Its ends run out over feather_mm. It is no
    /// wider than the flat it is glued to.
    #[staticmethod]
    #[pyo3(signature = (*, from_mm, to_mm, width_mm, height_mm, modulus_gpa, density_kg_m3, feather_mm=15.0))]
    fn on_crest(
        #[pyo3(from_py_with = need::from_mm)] from_mm: f64,
        #[pyo3(from_py_with = need::to_mm)] to_mm: f64,
        #[pyo3(from_py_with = need::width_mm)] width_mm: f64,
        #[pyo3(from_py_with = need::height_mm)] height_mm: f64,
        #[pyo3(from_py_with = need::modulus_gpa)] modulus_gpa: f64,
        #[pyo3(from_py_with = need::density_kg_m3)] density_kg_m3: f64,
        #[pyo3(from_py_with = need::feather_mm)] feather_mm: f64,
    ) -> Self {
        Self(Remedy::OnCrest(Strip { from_mm, to_mm, width_mm, height_mm, feather_mm, modulus_gpa, density_kg_m3 }))
    }

    /// A sister beside the brace, on the glue face, no higher than the brace anywhere. Its ends run out over feather_mm.
    #[staticmethod]
    #[pyo3(signature = (*, from_mm, to_mm, width_mm, height_mm, modulus_gpa, density_kg_m3, feather_mm=15.0))]
    fn beside(
        #[pyo3(from_py_with = need::from_mm)] from_mm: f64,
        #[pyo3(from_py_with = need::to_mm)] to_mm: f64,
        #[pyo3(from_py_with = need::width_mm)] width_mm: f64,
        #[pyo3(from_py_with = need::height_mm)] height_mm: f64,
        #[pyo3(from_py_with = need::modulus_gpa)] modulus_gpa: f64,
        #[pyo3(from_py_with = need::density_kg_m3)] density_kg_m3: f64,
        #[pyo3(from_py_with = need::feather_mm)] feather_mm: f64,
    ) -> Self {
        Self(Remedy::Beside(Strip { from_mm, to_mm, width_mm, height_mm, feather_mm, modulus_gpa, density_kg_m3 }))
    }

    /// Strings that pull tension_ratio of what the window was made for.
    #[staticmethod]
    #[pyo3(signature = (*, tension_ratio))]
    fn lighter_strings(#[pyo3(from_py_with = need::tension_ratio)] tension_ratio: f64) -> Result<Self> {
        bracewright::error::within("tension_ratio", tension_ratio, "", 0.2, 1.0)?;
        Ok(Self(Remedy::LighterStrings { tension_ratio }))
    }

    fn __repr__(&self) -> String {
        let strip = |name: &str, s: &Strip| {
            format!(
                "Remedy.{name}({} to {} mm, {} x {} mm, E {} GPa)",
                short(s.from_mm),
                short(s.to_mm),
                short(s.width_mm),
                short(s.height_mm),
                short(s.modulus_gpa)
            )
        };
        match &self.0 {
            Remedy::OnCrest(s) => strip("on_crest", s),
            Remedy::Beside(s) => strip("beside", s),
            Remedy::LighterStrings { tension_ratio } => format!("Remedy.lighter_strings({})", short(*tension_ratio)),
        }
    }

    fn _repr_html_(&self) -> String {
        html("Remedy", &[Shown { name: "remedy", text: self.__repr__(), column: None }])
    }
}

/// What each remedy would give back of a reading past its window. goal: from rig.between. remedies: by name. A strip is taken as
/// one with the brace, by a full glue line; lighter strings leave the brace as it is and ask less of it. Estimates from a beam model, to be read again on the rig before strings go on.
#[pyfunction]
pub fn repairs(py: Python<'_>, brace: &PyBrace, goal: &PyGoal, remedies: &Bound<'_, PyDict>) -> Result<PyRepair> {
    let named = remedies
        .iter()
        .map(|(name, r)| Ok((name.extract::<String>()?, r.cast::<PyRemedy>().map_err(PyErr::from)?.get().0.clone())))
        .collect::<PyResult<Vec<_>>>()?;
    Ok(PyRepair(py.detach(|| decide::repairs(&brace.0, &goal.0, &named))?))
}
