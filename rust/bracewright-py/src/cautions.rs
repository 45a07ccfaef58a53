//! Twin of `cautions`.

use bracewright::cautions::{self as core, Hazard};
use pyo3::prelude::*;

use crate::convert::words;
use crate::error::Result;

/// The cautions by the hazards at hand, each once: "strings", "glue", "dust", "edges", "dry climate", "damp climate", "heat", "long
/// load", "estimate"; one word or a list.
#[pyfunction]
pub fn cautions(hazards: &Bound<'_, PyAny>) -> Result<Vec<String>> {
    let all = words("hazards", hazards)?.iter().map(|w| Hazard::named(w)).collect::<bracewright::Result<Vec<_>>>()?;
    Ok(core::cautions(&all))
}
