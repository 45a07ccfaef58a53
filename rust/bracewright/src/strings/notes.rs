//! Names of notes and their frequencies.

use crate::error::{Error, Result, within};

/// Semitones of C D E F G A B above C.
const WHITE: [(char, i32); 7] = [('C', 0), ('D', 2), ('E', 4), ('F', 5), ('G', 7), ('A', 9), ('B', 11)];

fn bad(note: &str) -> Error {
    let shown: String = note.chars().take(20).collect();
    Error::UnknownName {
        what: "note".into(),
        given: shown,
        allowed: "a letter A to G, # or b where it is sharp or flat, and the octave, as in E2, F#3, Bb3 (C4 is middle C)".into(),
    }
}

/// Semitones above C of octave -1, so that A4 is 69: "E2", "F#3", "Bb3". Octaves -1 to 9.
pub fn note_number(note: &str) -> Result<i32> {
    let mut rest = note.trim().chars();
    let letter = rest.next().map(|c| c.to_ascii_uppercase()).ok_or_else(|| bad(note))?;
    let white = WHITE.iter().find(|w| w.0 == letter).ok_or_else(|| bad(note))?.1;
    let mut tail = rest.as_str();
    let mut shift = 0;
    for (sign, step) in [("#", 1), ("\u{266f}", 1), ("b", -1), ("\u{266d}", -1)] {
        if let Some(left) = tail.strip_prefix(sign) {
            (shift, tail) = (step, left);
            break;
        }
    }
    let octave: i32 = tail.parse().map_err(|_| bad(note))?;
    if !(-1..=9).contains(&octave) {
        return Err(bad(note));
    }
    Ok(12 * (octave + 1) + white + shift)
}

/// Frequency of a note in Hz, twelve equal steps to the octave, from the frequency of A4 (380 to 480 Hz; ISO 16 has 440).
pub fn note_hz(note: &str, a4_hz: f64) -> Result<f64> {
    let a4 = within("a4_hz", a4_hz, "Hz", 380.0, 480.0)?;
    Ok(a4 * (f64::from(note_number(note)? - 69) / 12.0).exp2())
}
