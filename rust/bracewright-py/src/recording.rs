//! Twin of `recording::taps` and `recording::modes`: taps, their decaying modes, and many recordings at once.

use std::borrow::Cow;
use std::path::PathBuf;

use bracewright::Error;
use bracewright::recording::{
    self as core, Mode, ModeOptions, RecordedTap, RecordingModes, Sound, SteadyTone, Tap, TapModes, TapOptions,
};
use numpy::PyArray1;
use pyo3::exceptions::PyTypeError;
use pyo3::prelude::*;
use pyo3::types::{PyBytes, PyString};

use crate::argument::need;
use crate::convert::{PLAIN, type_name};
use crate::error::{PyError, Result};
use crate::sound::{Numbers, PySound, Trouble, read_sound};
use crate::value::{getters, record};

record! {
    /// One tap of a recording; times from the start of the recording.
    PyTap, "Tap", Tap {
        /// When the first blow came, s; 0 when the recording starts inside the ring.
        onset_s;
        /// Where the record to be used starts, s: after the last bounce, and the time left out.
        start_s;
        /// How long it can be used, s: to the next blow or the end.
        usable_s;
        /// How long it stands out of the noise, s; at most the usable length.
        clear_s;
        /// Further blows within the bounce time of one another.
        bounces;
        /// Largest value in the record, in the units of the samples.
        peak;
    }
}

record! {
    /// One decaying mode: amplitude x exp(-decay t) x cos(2 pi frequency t + phase), from the start of the record.
    PyMode, "Mode", Mode {
        /// Frequency of the ringing, Hz.
        frequency_hz;
        /// Its standard uncertainty, Hz.
        u_frequency_hz;
        /// 90 % interval of the frequency, Hz.
        frequency_90_hz;
        /// Decay rate of the amplitude, 1/s.
        decay_per_s;
        /// Its standard uncertainty, 1/s.
        u_decay_per_s;
        /// 90 % interval of the decay rate, 1/s.
        decay_90_per_s;
        /// Amplitude at the start of the record, in the units of the samples (full scale 1).
        amplitude;
        /// Its standard uncertainty.
        u_amplitude;
        /// Phase at the start of the record, rad, from -pi to pi.
        phase_rad;
        /// Its standard uncertainty, rad.
        u_phase_rad;
        /// Noise about the mode, units of the samples over the root of Hz.
        noise_per_root_hz;
        /// Amplitude over its standard uncertainty, dB.
        clear_by_db;
    }
}

getters! { PyMode {
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

record! {
    /// A tone that does not decay: mains hum, or another steady source in the room.
    PySteadyTone, "SteadyTone", SteadyTone {
        /// Frequency, Hz.
        frequency_hz;
        /// Its standard uncertainty, Hz.
        u_frequency_hz;
        /// Amplitude, in the units of the samples.
        amplitude;
        /// 50 or 60, Hz, when the tone is the mains or a multiple of it; None otherwise.
        mains_hz;
        /// Which multiple of the mains; None otherwise.
        harmonic;
    }
}

type Columns = Vec<(&'static str, Vec<f64>)>;

fn mode_columns(tap: &TapModes) -> Columns {
    let column = |name, of: fn(&Mode) -> f64| (name, tap.modes.iter().map(of).collect());
    vec![
        column("frequency_hz", |m| m.frequency_hz),
        column("u_frequency_hz", |m| m.u_frequency_hz),
        column("decay_per_s", |m| m.decay_per_s),
        column("u_decay_per_s", |m| m.u_decay_per_s),
        column("quality", Mode::quality),
        column("u_quality", Mode::u_quality),
        column("decay_time_s", Mode::decay_time_s),
        column("amplitude", |m| m.amplitude),
        column("u_amplitude", |m| m.u_amplitude),
        column("clear_by_db", |m| m.clear_by_db),
    ]
}

record! {
    /// What one tap rings with.
    PyTapModes, "TapModes", TapModes {
        /// Modes by rising frequency.
        modes;
        /// Tones that do not decay, by rising frequency.
        steady;
        /// Length of record used, s.
        seconds;
        /// Whether the record used is clipped to its end: damping, levels and weak modes are then not to be trusted.
        clipped;
        /// What should be known, as sentences.
        words;
    }
    table mode_columns
}

record! {
    /// A tap of a recording and its modes.
    PyRecordedTap, "RecordedTap", RecordedTap {
        /// Where it is.
        tap;
        /// What it rings with; None when the record is too short, said in the words of the recording.
        found;
    }
}

fn tap_columns(found: &RecordingModes) -> Columns {
    let column = |name, of: fn(&RecordedTap) -> f64| (name, found.taps.iter().map(of).collect());
    vec![
        column("onset_s", |t| t.tap.onset_s),
        column("usable_s", |t| t.tap.usable_s),
        column("peak", |t| t.tap.peak),
        column("bounces", |t| f64::from(t.tap.bounces)),
        column("modes", |t| t.found.as_ref().map_or(0.0, |f| f.modes.len() as f64)),
    ]
}

record! {
    /// All taps of a recording. combined(found) puts their modes together.
    PyRecordingModes, "RecordingModes", RecordingModes {
        /// The checks of the recording itself.
        checks;
        /// Its taps.
        taps;
        /// What should be known, as sentences, those of the checks among them.
        words;
    }
    table tap_columns
}

/// The usual look with another band.
pub fn mode_options(low_hz: f64, high_hz: f64) -> ModeOptions {
    ModeOptions { low_hz, high_hz, ..ModeOptions::default() }
}

/// What was found, or is found now.
pub fn found_in<'a>(
    sound: &Sound,
    found: Option<&'a PyRecordingModes>,
    options: &ModeOptions,
) -> std::result::Result<Cow<'a, RecordingModes>, Error> {
    match found {
        Some(found) => Ok(Cow::Borrowed(&found.0)),
        None => core::recording_modes(sound, &TapOptions::default(), options).map(Cow::Owned),
    }
}

/// Finds the taps of a recording's samples: blows closer than bounce_ms (6 to 1000) are one tap that bounced; skip_ms (0 to
/// 100) is left out after each; taps weaker than the strongest by more than range_db (3 to 80) are passed over.
#[pyfunction]
#[pyo3(signature = (rate_hz, samples, *, bounce_ms=60.0, skip_ms=2.0, range_db=30.0))]
pub fn find_taps(
    py: Python<'_>,
    #[pyo3(from_py_with = need::rate_hz)] rate_hz: f64,
    samples: &Bound<'_, PyAny>,
    #[pyo3(from_py_with = need::bounce_ms)] bounce_ms: f64,
    #[pyo3(from_py_with = need::skip_ms)] skip_ms: f64,
    #[pyo3(from_py_with = need::range_db)] range_db: f64,
) -> Result<Vec<PyTap>> {
    let samples = Numbers::of(&PLAIN, "samples", samples)?;
    let samples = samples.get()?;
    let found = py.detach(|| core::find_taps(rate_hz, samples, &TapOptions { bounce_ms, skip_ms, range_db }))?;
    Ok(found.into_iter().map(PyTap).collect())
}

/// Modes of one tap: `samples` start when the tap has ended and the piece rings freely. Looked for from low_hz to high_hz
/// (at most 0.45 of the rate), at most `most` tones (1 to 64), over at most longest_s.
#[pyfunction]
#[pyo3(signature = (rate_hz, samples, *, low_hz=40.0, high_hz=1000.0, most=24, longest_s=8.0))]
pub fn tap_modes(
    py: Python<'_>,
    #[pyo3(from_py_with = need::rate_hz)] rate_hz: f64,
    samples: &Bound<'_, PyAny>,
    #[pyo3(from_py_with = need::low_hz)] low_hz: f64,
    #[pyo3(from_py_with = need::high_hz)] high_hz: f64,
    #[pyo3(from_py_with = need::most)] most: usize,
    #[pyo3(from_py_with = need::longest_s)] longest_s: f64,
) -> Result<PyTapModes> {
    let samples = Numbers::of(&PLAIN, "samples", samples)?;
    let samples = samples.get()?;
    Ok(PyTapModes(py.detach(|| core::tap_modes(rate_hz, samples, &ModeOptions { low_hz, high_hz, most, longest_s }))?))
}

type Array<'py> = Bound<'py, PyArray1<f64>>;

/// Level of a record over a band, dB below its largest, for a picture: frequencies in Hz, and levels.
#[pyfunction]
#[pyo3(signature = (rate_hz, samples, *, low_hz=40.0, high_hz=1000.0))]
pub fn tap_spectrum<'py>(
    py: Python<'py>,
    #[pyo3(from_py_with = need::rate_hz)] rate_hz: f64,
    samples: &Bound<'py, PyAny>,
    #[pyo3(from_py_with = need::low_hz)] low_hz: f64,
    #[pyo3(from_py_with = need::high_hz)] high_hz: f64,
) -> Result<(Array<'py>, Array<'py>)> {
    let samples = Numbers::of(&PLAIN, "samples", samples)?;
    let samples = samples.get()?;
    let (hz, db) = py.detach(|| core::tap_spectrum(rate_hz, samples, &mode_options(low_hz, high_hz)))?;
    Ok((PyArray1::from_vec(py, hz), PyArray1::from_vec(py, db)))
}

/// Modes of every tap of a recording, in the channel the checks pick; arguments as for find_taps and tap_modes. What one tap lists,
/// or two nearly, is looked for in the others.
#[pyfunction]
#[pyo3(signature = (sound, *, low_hz=40.0, high_hz=1000.0, most=24, longest_s=8.0, bounce_ms=60.0, skip_ms=2.0, range_db=30.0))]
pub fn recording_modes(
    py: Python<'_>,
    sound: &PySound,
    #[pyo3(from_py_with = need::low_hz)] low_hz: f64,
    #[pyo3(from_py_with = need::high_hz)] high_hz: f64,
    #[pyo3(from_py_with = need::most)] most: usize,
    #[pyo3(from_py_with = need::longest_s)] longest_s: f64,
    #[pyo3(from_py_with = need::bounce_ms)] bounce_ms: f64,
    #[pyo3(from_py_with = need::skip_ms)] skip_ms: f64,
    #[pyo3(from_py_with = need::range_db)] range_db: f64,
) -> Result<PyRecordingModes> {
    let (taps, options) = (TapOptions { bounce_ms, skip_ms, range_db }, ModeOptions { low_hz, high_hz, most, longest_s });
    Ok(PyRecordingModes(py.detach(|| core::recording_modes(&sound.0, &taps, &options))?))
}

/// Where one of many recordings comes from.
enum Source {
    Sound(Py<PySound>),
    Path(PathBuf),
}

fn sources(given: &Bound<'_, PyAny>) -> PyResult<Vec<Source>> {
    let bad = |one: &Bound<'_, PyAny>| {
        PyTypeError::new_err(format!("recordings: it must be a list of paths or Sounds, not {}", type_name(one)))
    };
    if given.is_instance_of::<PyString>() || given.is_instance_of::<PyBytes>() {
        return Err(bad(given));
    }
    given
        .try_iter()
        .map_err(|_| bad(given))?
        .map(|one| {
            let one = one?;
            if let Ok(sound) = one.cast::<PySound>() {
                return Ok(Source::Sound(sound.clone().unbind()));
            }
            one.extract().map(Source::Path).map_err(|_| bad(&one))
        })
        .collect()
}

/// recording_modes of many recordings, given as paths of WAV files or as Sounds, on all cores and without holding up other
/// threads; files are read where they are looked at, one for each core at a time. The first that fails is raised, with a
/// note that says which; with skip_errors=True its error stands in its place in the list instead.
#[pyfunction]
#[pyo3(signature = (recordings, *, skip_errors=false, low_hz=40.0, high_hz=1000.0, most=24, longest_s=8.0, bounce_ms=60.0,
    skip_ms=2.0, range_db=30.0))]
pub fn many_recordings<'py>(
    py: Python<'py>,
    recordings: &Bound<'py, PyAny>,
    skip_errors: bool,
    #[pyo3(from_py_with = need::low_hz)] low_hz: f64,
    #[pyo3(from_py_with = need::high_hz)] high_hz: f64,
    #[pyo3(from_py_with = need::most)] most: usize,
    #[pyo3(from_py_with = need::longest_s)] longest_s: f64,
    #[pyo3(from_py_with = need::bounce_ms)] bounce_ms: f64,
    #[pyo3(from_py_with = need::skip_ms)] skip_ms: f64,
    #[pyo3(from_py_with = need::range_db)] range_db: f64,
) -> Result<Vec<Bound<'py, PyAny>>> {
    let (taps, options) = (TapOptions { bounce_ms, skip_ms, range_db }, ModeOptions { low_hz, high_hz, most, longest_s });
    let list = sources(recordings)?;
    let make = |i: usize| match &list[i] {
        Source::Sound(sound) => Ok(Cow::Borrowed(&sound.get().0)),
        Source::Path(path) => read_sound(path).map(Cow::Owned),
    };
    let all = py.detach(|| core::many_made::<Trouble>(list.len(), make, &taps, &options));
    let mut out = Vec::with_capacity(all.len());
    for (i, one) in all.into_iter().enumerate() {
        out.push(match one {
            Ok(found) => Bound::new(py, PyRecordingModes(found))?.into_any(),
            Err(trouble) => {
                let error: PyErr = PyError::from(trouble).into();
                let error = error.value(py).clone();
                error.call_method1("add_note", (format!("recording {} of {}", i + 1, list.len()),))?;
                if !skip_errors {
                    return Err(PyErr::from_value(error.into_any()).into());
                }
                error.into_any()
            }
        });
    }
    Ok(out)
}
