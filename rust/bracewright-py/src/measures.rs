//! Twin of `recording::measures` and `recording::notes`: decay per band, balance of bands and of strings, amplitude per unit tap.

use bracewright::recording::{self as core, Band, BandDecay, BandWidth, NoteLevel};
use numpy::PyArray1;
use pyo3::exceptions::PyTypeError;
use pyo3::prelude::*;
use pyo3::types::PyDict;

use crate::argument::need;
use crate::combine::lists;
use crate::convert::{N, PLAIN, type_name, word};
use crate::error::Result;
use crate::recording::PyTapModes;
use crate::sound::Numbers;
use crate::value::record;

record! {
    /// A band of IEC 61260-1 (base-ten system), Hz. Made by bands(...).
    PyBand, "Band", Band {
        /// Exact mid-band frequency, Hz.
        middle_hz;
        /// Lower edge, Hz.
        low_hz;
        /// Upper edge, Hz.
        high_hz;
    }
}

record! {
    /// How fast the sound of one band decays.
    PyBandDecay, "BandDecay", BandDecay {
        /// The band.
        band;
        /// Time to fall by 60 dB, s, from the line through the decay curve; None when the curve falls less than 10 dB clear
        /// of the noise.
        decay_time_s;
        /// The range the line was fitted over, dB below the start.
        range_db;
        /// Energy of the band, sum of squares over the rate.
        energy;
    }
}

/// Every band that lies whole between low_hz and high_hz (1 to 100000); `width` is "octave" or "third-octave".
#[pyfunction]
#[pyo3(signature = (width="third-octave", *, low_hz=40.0, high_hz=1000.0))]
pub fn bands(
    width: &str,
    #[pyo3(from_py_with = need::low_hz)] low_hz: f64,
    #[pyo3(from_py_with = need::high_hz)] high_hz: f64,
) -> Result<Vec<PyBand>> {
    let width = word("width", width, &[("octave", BandWidth::Octave), ("third-octave", BandWidth::ThirdOctave)])?;
    Ok(core::bands(width, low_hz, high_hz)?.into_iter().map(PyBand).collect())
}

fn listed(bands: &[PyRef<'_, PyBand>]) -> Vec<Band> {
    bands.iter().map(|b| b.0).collect()
}

/// Decay time of a tap in each band, by backward integration (Schroeder 1965) with the power of the last tenth of the record
/// taken off as noise. `samples` start with the ring.
#[pyfunction]
#[pyo3(signature = (rate_hz, samples, *, bands))]
pub fn band_decays(
    py: Python<'_>,
    #[pyo3(from_py_with = need::rate_hz)] rate_hz: f64,
    samples: &Bound<'_, PyAny>,
    bands: Vec<PyRef<'_, PyBand>>,
) -> Result<Vec<PyBandDecay>> {
    let (samples, bands) = (Numbers::of(&PLAIN, "samples", samples)?, listed(&bands));
    let samples = samples.get()?;
    Ok(py.detach(|| core::band_decays(rate_hz, samples, &bands))?.into_iter().map(PyBandDecay).collect())
}

/// Level of each band of each recording, dB below the sum of its own bands: one list for each recording, one value a band;
/// None where a band holds nothing.
#[pyfunction]
#[pyo3(signature = (rate_hz, recordings, *, bands))]
pub fn band_balance(
    py: Python<'_>,
    #[pyo3(from_py_with = need::rate_hz)] rate_hz: f64,
    recordings: &Bound<'_, PyAny>,
    bands: Vec<PyRef<'_, PyBand>>,
) -> Result<Vec<Vec<Option<f64>>>> {
    let bad =
        |_| PyTypeError::new_err(format!("recordings: it must be a list of lists of samples, not {}", type_name(recordings)));
    let each = |(i, one): (usize, PyResult<Bound<'_, PyAny>>)| PLAIN.list(&format!("recordings[{i}]"), &one?);
    let all = recordings.try_iter().map_err(bad)?.enumerate().map(each).collect::<PyResult<Vec<_>>>()?;
    let bands = listed(&bands);
    Ok(py.detach(|| core::band_balance(rate_hz, &all, &bands))?)
}

/// Amplitude of each mode per unit impulse of the tap, in units of the samples per N s. force_n is the force channel over the
/// blow, N, at rate_hz, zero before and after it; without one the request is refused: how hard a tap was cannot be heard.
#[pyfunction]
#[pyo3(signature = (tap, *, rate_hz, force_n=None))]
pub fn amplitude_per_impulse<'py>(
    py: Python<'py>,
    tap: &PyTapModes,
    #[pyo3(from_py_with = need::rate_hz)] rate_hz: f64,
    force_n: Option<&Bound<'py, PyAny>>,
) -> Result<Bound<'py, PyArray1<f64>>> {
    let force = force_n.map(|f| N.list("force_n", f)).transpose()?;
    Ok(PyArray1::from_vec(py, core::amplitude_per_impulse(&tap.0, rate_hz, force.as_deref())?))
}

record! {
    /// One string or note among the others. Made by level_balance(...).
    PyNoteLevel, "NoteLevel", NoteLevel {
        /// Its name.
        name;
        /// How many recordings of it there are.
        plucks;
        /// Its level above the mean of all notes' levels, dB.
        level_db;
        /// The standard uncertainty of that from the scatter of the plucks, pooled over all notes, dB; None when every note was
        /// recorded once.
        u_db;
    }
}

/// Levels of the strings or notes of one instrument beside one another: `notes` is a dict of a name to one recording of it or
/// several, samples that start with the ring; the mean square over the first over_s seconds (0.05 to 60), dB above the mean of
/// all. Gain, place and distance of the microphone must be the same for all; how hard each was plucked is in it, so record each
/// several times.
#[pyfunction]
#[pyo3(signature = (rate_hz, notes, *, over_s=1.0))]
pub fn level_balance(
    py: Python<'_>,
    #[pyo3(from_py_with = need::rate_hz)] rate_hz: f64,
    notes: &Bound<'_, PyDict>,
    #[pyo3(from_py_with = need::over_s)] over_s: f64,
) -> Result<Vec<PyNoteLevel>> {
    let mut all = Vec::with_capacity(notes.len());
    for (name, plucks) in notes {
        let name: String =
            name.extract().map_err(|_| PyTypeError::new_err(format!("notes: names must be texts, not {}", type_name(&name))))?;
        let plucks = lists(&format!("notes[{name:?}]"), &plucks)?;
        all.push((name, plucks));
    }
    Ok(py.detach(|| core::level_balance(rate_hz, &all, over_s))?.into_iter().map(PyNoteLevel).collect())
}
