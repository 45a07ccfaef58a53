//! Recordings of taps: from a file's bytes to modes with uncertainties.
//!
//! [`Sound`] reads a WAV and says what is wrong with it; [`find_taps`] finds the taps; [`tap_modes`] and
//! [`recording_modes`] give the decaying modes of one tap and of all; [`combined`] and [`compared`] put repeats together
//! and lay two states side by side; [`band_decays`], [`band_balance`], [`level_balance`] and [`amplitude_per_impulse`] are the
//! measures.

mod beside;
mod damping;
mod decimate;
mod heard;
mod measures;
mod modes;
mod notes;
mod passed;
mod poles;
mod repeats;
mod search;
mod sound;
mod taps;
mod wav;

pub use measures::{Band, BandDecay, BandWidth, amplitude_per_impulse, band_balance, band_decays, bands};
pub use modes::{
    Mode, ModeOptions, RecordedTap, RecordingModes, SteadyTone, TapModes, many_made, many_recordings, recording_modes, tap_modes,
    tap_spectrum,
};
pub use notes::{NoteLevel, level_balance};
pub use repeats::{Combined, CombinedMode, Comparison, Shift, combined, compared};
pub use sound::{Sound, SoundChecks};
pub use taps::{Tap, TapOptions, find_taps};
