//! Twin of `recording::sound`: recordings from files and from arrays.

use std::hash::Hasher;
use std::path::{Path, PathBuf};

use bracewright::recording::{Sound, SoundChecks};
use bracewright::{Error, picture};
use ndarray::Array2;
use numpy::{IntoPyArray, PyArray1, PyArray2, PyArrayMethods, PyReadonlyArray1, PyUntypedArrayMethods};
use pyo3::exceptions::PyTypeError;
use pyo3::prelude::*;
use pyo3::types::{PyByteArray, PyBytes, PyDict};

use crate::argument::{may, need};
use crate::convert::{Kind, PLAIN, floats, type_name};
use crate::error::{PyError, Result, invalid};
use crate::recording::{PyRecordingModes, found_in, mode_options};
use crate::value::{Shown, html, outward, record, short};

/// Most channels taken from an array: more is an array with its axes the other way round.
const MOST_CHANNELS: usize = 64;

record! {
    /// What the checks of a recording found.
    PySoundChecks, "SoundChecks", SoundChecks {
        /// The channel that will be used, from 0.
        channel;
        /// Channels far weaker than the one used, from 0.
        dead_channels;
        /// Mean of the channel used, full scale 1; it is taken off before any analysis.
        offset;
        /// Largest value of the channel used, full scale 1, offset taken off.
        peak;
        /// Samples of the channel used that lie in flat runs at its extreme.
        clipped_samples;
        /// The first of them, s from the start of the recording.
        clipped_at_s;
        /// All that should be known before the recording is believed, as sentences.
        words;
    }
}

/// A recording: Sound.from_wav(path or bytes), or Sound.from_samples(array, rate_hz=...).
///
/// recording_modes(sound) says what it rings with. Full scale is 1.
#[pyclass(frozen, eq, name = "Sound", module = "bracewright")]
#[derive(Debug, Clone, PartialEq)]
pub struct PySound(pub Sound);

outward!(PySound, Sound, "<Sound>");

/// Numbers of an argument: where they lie when they lie together as float64, else a copy.
pub enum Numbers<'py> {
    Lent(PyReadonlyArray1<'py, f64>),
    Own(Vec<f64>),
}

impl<'py> Numbers<'py> {
    /// `name` is the argument's.
    pub fn of(kind: &Kind, name: &str, given: &Bound<'py, PyAny>) -> PyResult<Self> {
        if let Ok(array) = given.cast::<PyArray1<f64>>()
            && array.is_c_contiguous()
        {
            return Ok(Self::Lent(array.try_readonly()?));
        }
        kind.list(name, given).map(Self::Own)
    }

    pub fn get(&self) -> Result<&[f64]> {
        match self {
            Self::Lent(array) => Ok(array.as_slice().map_err(|e| Error::Refused(format!("the array cannot be read: {e}")))?),
            Self::Own(numbers) => Ok(numbers),
        }
    }
}

/// The name of a file, for sentences about it.
fn called(path: &Path) -> String {
    path.file_name().map_or_else(|| path.display().to_string(), |n| n.to_string_lossy().into_owned())
}

/// What can be wrong with a file of sound: it cannot be opened, or cannot be read.
pub enum Trouble {
    Core(Error),
    Open(PathBuf, std::io::Error),
}

impl From<Error> for Trouble {
    fn from(e: Error) -> Self {
        Self::Core(e)
    }
}

impl From<Trouble> for PyError {
    fn from(t: Trouble) -> Self {
        match t {
            Trouble::Core(e) => e.into(),
            Trouble::Open(path, e) => crate::error::not_opened(&path, &e).into(),
        }
    }
}

/// Reads a file of sound.
pub fn read_sound(path: &Path) -> std::result::Result<Sound, Trouble> {
    let bytes = std::fs::read(path).map_err(|e| Trouble::Open(path.to_path_buf(), e))?;
    Ok(Sound::from_wav(&bytes, &called(path))?)
}

/// One list a channel, from one list of samples or a row for each channel.
fn channels(given: &Bound<'_, PyAny>) -> PyResult<Vec<Vec<f64>>> {
    match floats(given)? {
        Some((values, shape)) if shape.len() == 1 => Ok(vec![values]),
        Some((values, shape)) if shape.len() == 2 => {
            if shape[0] > MOST_CHANNELS {
                return Err(invalid(format!(
                    "samples has shape ({}, {}); it must have one row a channel, at most {MOST_CHANNELS}: turn it over with samples.T",
                    shape[0], shape[1]
                )));
            }
            Ok(if shape[1] == 0 { Vec::new() } else { values.chunks(shape[1]).map(<[f64]>::to_vec).collect() })
        }
        Some((_, shape)) => Err(invalid(format!(
            "samples has {} dimensions; it must be one list of samples (full scale 1), or one row a channel",
            shape.len()
        ))),
        None => Ok(vec![PLAIN.list("samples", given)?]),
    }
}

#[pymethods]
impl PySound {
    /// Reads a WAV file, by its path or from its bytes: 8 to 32-bit PCM or 32/64-bit float, any rate, 1 to 64 channels.
    /// What is odd but readable is said in `notes`; what cannot be read is a ReadingsError that says why and, for
    /// another kind of file, which kind it looks like. `name` stands for the file in that sentence.
    #[staticmethod]
    #[pyo3(signature = (source, *, name=None))]
    fn from_wav(py: Python<'_>, source: &Bound<'_, PyAny>, name: Option<&str>) -> Result<Self> {
        if let Ok(bytes) = source.cast::<PyBytes>() {
            let bytes = bytes.as_bytes();
            return Ok(Self(py.detach(|| Sound::from_wav(bytes, name.unwrap_or("")))?));
        }
        if let Ok(bytes) = source.cast::<PyByteArray>() {
            let bytes = bytes.to_vec();
            return Ok(Self(py.detach(|| Sound::from_wav(&bytes, name.unwrap_or("")))?));
        }
        let path: PathBuf = source.extract().map_err(|_| {
            PyTypeError::new_err(format!("source: it must be the path of a WAV file or its bytes, not {}", type_name(source)))
        })?;
        Ok(Self(py.detach(|| match name {
            None => read_sound(&path),
            Some(name) => {
                let bytes = std::fs::read(&path).map_err(|e| Trouble::Open(path.clone(), e))?;
                Ok(Sound::from_wav(&bytes, name)?)
            }
        })?))
    }

    /// A recording from numbers: one list, or an array of one row a channel; full scale 1. rate_hz from 100 to 10000000.
    #[staticmethod]
    #[pyo3(signature = (samples, *, rate_hz))]
    fn from_samples(samples: &Bound<'_, PyAny>, #[pyo3(from_py_with = need::rate_hz)] rate_hz: f64) -> Result<Self> {
        Ok(Self(Sound::from_samples(rate_hz, channels(samples)?)?))
    }

    /// Samples a second, Hz.
    #[getter]
    fn rate_hz(&self) -> f64 {
        self.0.rate_hz()
    }

    /// Bits a sample in the file; 64 for samples given as numbers.
    #[getter]
    fn bits(&self) -> u16 {
        self.0.bits()
    }

    /// Length, s.
    #[getter]
    fn seconds(&self) -> f64 {
        self.0.seconds()
    }

    /// The samples, one row a channel, full scale 1.
    #[getter]
    fn samples<'py>(&self, py: Python<'py>) -> Result<Bound<'py, PyArray2<f64>>> {
        let all = self.0.channels();
        let shaped = Array2::from_shape_vec((all.len(), all.first().map_or(0, Vec::len)), all.concat());
        Ok(shaped.map_err(|e| Error::Refused(format!("the channels do not fit: {e}")))?.into_pyarray(py))
    }

    /// What was odd about the file, as sentences.
    #[getter]
    fn notes(&self) -> Vec<String> {
        self.0.notes().to_vec()
    }

    /// Looks for clipping, silence, dead channels and offset, and picks the channel to use. Silence is refused.
    fn checks(&self, py: Python<'_>) -> Result<PySoundChecks> {
        Ok(PySoundChecks(py.detach(|| self.0.checked())?))
    }

    /// The samples of one channel (from 0) with their mean taken off.
    #[pyo3(signature = (channel=0))]
    fn centred<'py>(
        &self,
        py: Python<'py>,
        #[pyo3(from_py_with = need::channel)] channel: usize,
    ) -> Result<Bound<'py, PyArray1<f64>>> {
        Ok(PyArray1::from_vec(py, self.0.centred(channel)?))
    }

    /// The sound with its taps, the spectrum of one tap with its modes, and how each decays, as SVG. `found` is what
    /// recording_modes found in it with the same low_hz and high_hz; looked for anew when left out. `tap` counts from 0;
    /// the first that shows modes when left out.
    #[pyo3(signature = (*, found=None, tap=None, title="A recording", low_hz=40.0, high_hz=1000.0))]
    fn svg(
        &self,
        py: Python<'_>,
        found: Option<&PyRecordingModes>,
        #[pyo3(from_py_with = may::tap)] tap: Option<usize>,
        title: &str,
        #[pyo3(from_py_with = need::low_hz)] low_hz: f64,
        #[pyo3(from_py_with = need::high_hz)] high_hz: f64,
    ) -> Result<String> {
        let options = mode_options(low_hz, high_hz);
        Ok(py.detach(|| {
            let found = found_in(&self.0, found, &options)?;
            let tap = match tap {
                Some(tap) => tap,
                None => found.taps.iter().position(|t| t.found.is_some()).ok_or_else(|| {
                    Error::Refused(format!("this recording has no tap that shows modes: {}", found.words.join("; ")))
                })?,
            };
            picture::recording_svg(title, &self.0, &found, tap, &options)
        })?)
    }

    /// Draws sound, spectrum and decay on three matplotlib axes (new ones when left out) and returns them; the rest as svg.
    #[pyo3(signature = (*, found=None, tap=None, low_hz=40.0, high_hz=1000.0, axes=None))]
    fn plot<'py>(
        slf: &Bound<'py, Self>,
        found: Option<&Bound<'py, PyRecordingModes>>,
        #[pyo3(from_py_with = may::tap)] tap: Option<usize>,
        #[pyo3(from_py_with = need::low_hz)] low_hz: f64,
        #[pyo3(from_py_with = need::high_hz)] high_hz: f64,
        axes: Option<&Bound<'py, PyAny>>,
    ) -> PyResult<Bound<'py, PyAny>> {
        let how = PyDict::new(slf.py());
        how.set_item("found", found)?;
        how.set_item("tap", tap)?;
        how.set_item("low_hz", low_hz)?;
        how.set_item("high_hz", high_hz)?;
        how.set_item("axes", axes)?;
        slf.py().import("bracewright.plots")?.call_method("plot_recording", (slf,), Some(&how))
    }

    fn __repr__(&self) -> String {
        let s = &self.0;
        let notes = if s.notes().is_empty() { String::new() } else { format!(", {} notes", s.notes().len()) };
        {
            let (channels, many) = (s.channels().len(), if s.channels().len() == 1 { "" } else { "s" });
            format!(
                "Sound({} s at {} Hz, {channels} channel{many}, {} bit{notes})",
                short(s.seconds()),
                short(s.rate_hz()),
                s.bits()
            )
        }
    }

    fn _repr_html_(&self) -> String {
        let row = |name, text| Shown { name, text, column: None };
        let s = &self.0;
        html(
            "Sound",
            &[
                row("seconds", short(s.seconds())),
                row("rate_hz", short(s.rate_hz())),
                row("channels", s.channels().len().to_string()),
                row("bits", s.bits().to_string()),
                row("notes", s.notes().join("; ")),
            ],
        )
    }

    // A pickle carries the samples as an array: as digits they would take three times the room.
    fn __reduce__<'py>(slf: &Bound<'py, Self>) -> Result<(Bound<'py, PyAny>, Bound<'py, PyAny>)> {
        let me = slf.get();
        let state = (me.samples(slf.py())?, me.rate_hz(), me.bits(), me.notes());
        Ok((slf.get_type().getattr("_restored")?, state.into_pyobject(slf.py())?.into_any()))
    }

    #[staticmethod]
    fn _restored(samples: &Bound<'_, PyAny>, rate_hz: f64, bits: u16, notes: Vec<String>) -> Result<Self> {
        Ok(Self(Sound::from_samples(rate_hz, channels(samples)?)?.with_origin(bits, notes)?))
    }

    fn __hash__(&self) -> u64 {
        let mut hasher = std::hash::DefaultHasher::new();
        // 0 and -0 are equal, so they count as the same
        let mut feed = |v: f64| hasher.write_u64((v + 0.0).to_bits());
        feed(self.0.rate_hz());
        feed(f64::from(self.0.bits()));
        self.0.channels().iter().flatten().for_each(|v| feed(*v));
        hasher.finish()
    }

    fn __copy__(slf: Bound<'_, Self>) -> Bound<'_, Self> {
        slf
    }

    fn __deepcopy__<'py>(slf: Bound<'py, Self>, _memo: &Bound<'py, PyAny>) -> Bound<'py, Self> {
        slf
    }
}
