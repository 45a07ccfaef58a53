//! Twin of `recording::repeats`: modes over repeats, and two states side by side.

use bracewright::recording::{self as core, Combined, CombinedMode, Comparison, Shift, TapModes};
use pyo3::exceptions::PyTypeError;
use pyo3::prelude::*;

use crate::argument::need;
use crate::convert::type_name;
use crate::error::Result;
use crate::recording::{PyRecordingModes, PyTapModes};
use crate::value::{getters, record};

record! {
    /// One mode over several taps.
    PyCombinedMode, "CombinedMode", CombinedMode {
        /// Weighted mean frequency, Hz.
        frequency_hz;
        /// Its standard uncertainty, Hz: the larger of what the taps state and what their scatter shows.
        u_frequency_hz;
        /// Weighted mean decay rate, 1/s.
        decay_per_s;
        /// Its standard uncertainty, 1/s, by the same rule.
        u_decay_per_s;
        /// Mean amplitude over the taps used.
        amplitude;
        /// Taps that went into the means, from 0.
        taps;
        /// Taps whose value stood off the others and was left out, from 0.
        left_out;
    }
}

getters! { PyCombinedMode {
    /// Quality factor Q = pi f / decay.
    quality;
    /// Its standard uncertainty.
    u_quality;
    /// Loss factor 1 / Q.
    loss_factor;
    /// Its standard uncertainty.
    u_loss_factor;
    /// Time in which the mode falls by 60 dB, s.
    decay_time_s;
    /// Its standard uncertainty, s.
    u_decay_time_s;
}}

type Columns = Vec<(&'static str, Vec<f64>)>;

fn combined_columns(all: &Combined) -> Columns {
    let column = |name, of: fn(&CombinedMode) -> f64| (name, all.modes.iter().map(of).collect());
    vec![
        column("frequency_hz", |m| m.frequency_hz),
        column("u_frequency_hz", |m| m.u_frequency_hz),
        column("decay_per_s", |m| m.decay_per_s),
        column("u_decay_per_s", |m| m.u_decay_per_s),
        column("loss_factor", CombinedMode::loss_factor),
        column("u_loss_factor", CombinedMode::u_loss_factor),
        column("amplitude", |m| m.amplitude),
        column("taps", |m| m.taps.len() as f64),
    ]
}

record! {
    /// Modes over several taps. Made by combined(...).
    PyCombined, "Combined", Combined {
        /// Modes seen in more than half of the taps, by rising frequency.
        modes;
        /// Modes seen in half of the taps or fewer.
        seldom;
        /// Taps that stood off the others in half of their modes or more, from 0.
        bad_taps;
        /// What should be known, as sentences.
        words;
    }
    table combined_columns
}

record! {
    /// One mode in two states.
    PyShift, "Shift", Shift {
        /// Before.
        before;
        /// After.
        after;
        /// Frequency after less before, Hz.
        shift_hz;
        /// Its standard uncertainty, Hz.
        u_shift_hz;
        /// The same as a share of the frequency before, percent.
        shift_percent;
        /// Its standard uncertainty, percent.
        u_shift_percent;
        /// Loss factor after less before.
        loss_factor_change;
        /// Its standard uncertainty.
        u_loss_factor_change;
    }
}

fn shift_columns(all: &Comparison) -> Columns {
    let column = |name, of: fn(&Shift) -> f64| (name, all.shifts.iter().map(of).collect());
    vec![
        column("before_hz", |s| s.before.frequency_hz),
        column("after_hz", |s| s.after.frequency_hz),
        column("shift_hz", |s| s.shift_hz),
        column("u_shift_hz", |s| s.u_shift_hz),
        column("shift_percent", |s| s.shift_percent),
        column("u_shift_percent", |s| s.u_shift_percent),
        column("loss_factor_change", |s| s.loss_factor_change),
        column("u_loss_factor_change", |s| s.u_loss_factor_change),
    ]
}

record! {
    /// Two states side by side. Made by compared(...).
    PyComparison, "Comparison", Comparison {
        /// Modes found in both.
        shifts;
        /// Modes only after.
        new;
        /// Modes only before.
        vanished;
    }
    table shift_columns
}

/// Taps of recordings and of lists of taps, one after the other.
fn taps(given: &Bound<'_, PyAny>) -> PyResult<Vec<TapModes>> {
    if let Ok(one) = given.cast::<PyTapModes>() {
        return Ok(vec![one.get().0.clone()]);
    }
    if let Ok(all) = given.cast::<PyRecordingModes>() {
        return Ok(all.get().0.taps.iter().filter_map(|t| t.found.clone()).collect());
    }
    let bad = |one: &Bound<'_, PyAny>| {
        PyTypeError::new_err(format!("taps: it must be TapModes, RecordingModes, or a list of them, not {}", type_name(one)))
    };
    let mut out = Vec::new();
    for one in given.try_iter().map_err(|_| bad(given))? {
        let one = one?;
        if !one.is_instance_of::<PyTapModes>() && !one.is_instance_of::<PyRecordingModes>() {
            return Err(bad(&one));
        }
        out.extend(taps(&one)?);
    }
    Ok(out)
}

/// Modes of several taps of one piece put together: a RecordingModes, or a list of TapModes and RecordingModes. Modes of two
/// taps are the same when their frequencies differ by less than tolerance_percent (0.01 to 10) or three of their
/// uncertainties. A tap that stands off three or more others is left out and named.
#[pyfunction]
#[pyo3(signature = (taps, *, tolerance_percent=1.0))]
pub fn combined(
    #[pyo3(from_py_with = self::taps)] taps: Vec<TapModes>,
    #[pyo3(from_py_with = need::tolerance_percent)] tolerance_percent: f64,
) -> Result<PyCombined> {
    Ok(PyCombined(core::combined(&taps, tolerance_percent)?))
}

fn state(name: &str, given: &Bound<'_, PyAny>) -> PyResult<Vec<CombinedMode>> {
    if let Ok(all) = given.cast::<PyCombined>() {
        return Ok(all.get().0.modes.clone());
    }
    let bad =
        || PyTypeError::new_err(format!("{name}: it must be a Combined or a list of CombinedMode, not {}", type_name(given)));
    let each = |one: PyResult<Bound<'_, PyAny>>| Ok(one?.cast::<PyCombinedMode>().map_err(|_| bad())?.get().0.clone());
    given.try_iter().map_err(|_| bad())?.map(each).collect()
}

/// Modes before and after a pass, each a Combined or a list of its modes, matched in order of frequency and differenced.
/// Modes further apart than tolerance_percent (0.1 to 50) of the frequency before are not the same mode.
#[pyfunction]
#[pyo3(signature = (before, after, *, tolerance_percent=10.0))]
pub fn compared(
    before: &Bound<'_, PyAny>,
    after: &Bound<'_, PyAny>,
    #[pyo3(from_py_with = need::tolerance_percent)] tolerance_percent: f64,
) -> Result<PyComparison> {
    Ok(PyComparison(core::compared(&state("before", before)?, &state("after", after)?, tolerance_percent)?))
}
