//! Twin of `rig`: readings, what to expect, and files of readings.

use std::path::PathBuf;

use bracewright::table::{self, ReadingGroup, ReadingRow, SeatReadings};
use bracewright::{Expected, ModulusEstimate, Reading, Share};
use pyo3::prelude::*;

use crate::argument::need;
use crate::brace::PyBrace;
use crate::convert::read_text;
use crate::error::Result;
use crate::rig::PyRig;
use crate::value::{getters, html, record, short, value};

record! {
    /// One line of an uncertainty budget.
    PyShare, "Share", Share {
        /// Where it comes from.
        source;
        /// What it is worth as a standard uncertainty, mm.
        u_mm;
    }
}

record! {
    /// The reading to expect.
    PyExpected, "Expected", Expected {
        /// By the depth-resolved beam, mm.
        deflection_mm;
        /// Standard uncertainty, mm: what is not known of the brace and of the rig together.
        u_mm;
        /// Its parts, largest first.
        budget;
        /// Discretisation error, mm.
        discretisation_mm;
        /// By the section beam, mm, to compare.
        section_deflection_mm;
    }
}

record! {
    /// A modulus found from a reading.
    PyModulusEstimate, "ModulusEstimate", ModulusEstimate {
        /// E along the grain, GPa.
        modulus_gpa;
        /// Its standard uncertainty, GPa.
        u_gpa;
        /// The parts of the uncertainty as they stand in the reading, mm, largest first.
        budget;
        /// The reading less give and weight, mm.
        own_mm;
    }
}

/// What a dial showed, on which rig: made by rig.reading(...).
#[pyclass(frozen, eq, name = "Reading", module = "bracewright")]
#[derive(Debug, Clone, PartialEq)]
pub struct PyReading(pub Reading);

value!(PyReading, Reading, "Reading");

getters! { PyReading {
    /// Mean, mm.
    deflection_mm;
    /// Standard uncertainty of the mean from dial and seat, mm.
    u_mm;
}}

#[pymethods]
impl PyReading {
    /// Its rig.
    #[getter]
    fn rig(&self) -> PyRig {
        PyRig(self.0.rig().clone())
    }

    /// The figures as read, mm, one list a seat.
    #[getter]
    fn seats(&self) -> Vec<Vec<f64>> {
        self.0.seats().to_vec()
    }

    /// Figures left out of the mean because they stand off the rest, mm.
    #[getter]
    fn left_out(&self) -> Vec<f64> {
        self.0.left_out().to_vec()
    }

    /// With a standard uncertainty of your own, mm.
    fn with_u_mm(&self, #[pyo3(from_py_with = need::u_mm)] u_mm: f64) -> Result<Self> {
        Ok(Self(self.0.with_u_mm(u_mm)?))
    }

    /// This reading less another of the same rig, mm, and its standard uncertainty. Two rigs are refused.
    fn less(&self, other: &Self) -> Result<(f64, f64)> {
        Ok(self.0.less(&other.0)?)
    }

    /// Two readings of one brace on two calibrated rigs: the ratio of the moduli they give, and its standard uncertainty.
    fn compared(&self, py: Python<'_>, other: &Self, brace: &PyBrace) -> Result<(f64, f64)> {
        Ok(py.detach(|| self.0.compared(&other.0, &brace.0))?)
    }

    fn __repr__(&self) -> String {
        format!("Reading({} \u{b1} {:.4} mm on the {} rig)", short(self.0.deflection_mm()), self.0.u_mm(), self.0.rig().name())
    }

    fn _repr_html_(&self) -> String {
        html(&self.__repr__(), &[])
    }
}

record! {
    /// One line of a file of readings.
    PyReadingRow, "ReadingRow", ReadingRow {
        /// Line of the file, from 1.
        line;
        /// Load, N.
        load_n;
        /// Dial, mm.
        deflection_mm;
        /// Which time the brace was laid on the rig; 1 when the file does not say.
        seat;
        /// Span, mm, or None.
        span_mm;
        /// When it was read, as written.
        time;
        /// Remark.
        note;
    }
}

/// Readings from a CSV file with columns load and deflection, and where there are any seat, span, time and note; units in
/// the headings, `;` and decimal comma read as well. ReadingsError names line and column.
#[pyfunction]
pub fn read_readings(path: PathBuf) -> Result<Vec<PyReadingRow>> {
    let (place, text) = read_text(&path)?;
    Ok(table::read_readings(&place, &text)?.into_iter().map(PyReadingRow).collect())
}

record! {
    /// The readings of one seat, under one load and span.
    PySeatReadings, "SeatReadings", SeatReadings {
        /// Number of the seat.
        seat;
        /// What the dial showed, mm, in the order of the file.
        deflections_mm;
    }
}

record! {
    /// Readings that repeat one another: one load, one span.
    PyReadingGroup, "ReadingGroup", ReadingGroup {
        /// Load, N.
        load_n;
        /// Span, mm, or None.
        span_mm;
        /// The seats in the order of the file.
        seats;
    }
}

getters! { PyReadingGroup {
    /// Mean of the seats' means, mm: every seat counts alike, however often it was read.
    mean_mm;
    /// Standard deviation of a reading within its seat, mm, pooled over the seats; None unless some seat was read twice.
    repeat_sd_mm;
    /// Standard deviation of the seats' means, mm; None with one seat.
    seat_sd_mm;
}}

/// Puts repeats and re-seats of the same load and span together, in the order of first appearance; loads and spans count as
/// the same within 1e-9 of their size.
#[pyfunction]
pub fn group_readings(rows: Vec<PyRef<'_, PyReadingRow>>) -> Vec<PyReadingGroup> {
    let rows: Vec<_> = rows.iter().map(|r| r.0.clone()).collect();
    table::group_readings(&rows).into_iter().map(PyReadingGroup).collect()
}
