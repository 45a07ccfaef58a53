//! WAV files from bytes: what the header says is checked against the bytes that are there.
//!
//! Layout after the RIFF/WAVE description (Multimedia Programming Interface and Data Specifications 1.0, 1991) and
//! WAVE_FORMAT_EXTENSIBLE. Room is taken for the samples present, never for those a header claims.

use crate::error::{Error, Result};

const PCM: u16 = 1;
const FLOAT: u16 = 3;
const EXTENSIBLE: u16 = 0xFFFE;
/// The last fourteen bytes of every sub-format that stands for a plain format number.
const SUB_FORMAT: [u8; 14] = [0x00, 0x00, 0x00, 0x00, 0x10, 0x00, 0x80, 0x00, 0x00, 0xAA, 0x00, 0x38, 0x9B, 0x71];
/// Most channels taken.
const MOST_CHANNELS: usize = 64;

/// What a file held.
pub(super) struct Wav {
    pub rate_hz: f64,
    pub bits: u16,
    pub channels: Vec<Vec<f64>>,
    pub notes: Vec<String>,
}

struct Format {
    float: bool,
    channels: usize,
    rate: u32,
    bits: u16,
    bytes: usize,
}

fn bad(place: &str, problem: impl Into<String>) -> Error {
    Error::Unreadable { place: place.into(), problem: problem.into() }
}

fn u16_at(b: &[u8], at: usize) -> Option<u16> {
    Some(u16::from_le_bytes(b.get(at..at + 2)?.try_into().ok()?))
}

fn u32_at(b: &[u8], at: usize) -> Option<u32> {
    Some(u32::from_le_bytes(b.get(at..at + 4)?.try_into().ok()?))
}

/// What bytes that are no WAV look like.
fn looks_like(b: &[u8]) -> &'static str {
    let at = |from: usize, what: &[u8]| b.get(from..from + what.len()) == Some(what);
    if at(0, b"ID3") || (b.len() > 1 && b[0] == 0xFF && b[1] & 0xE6 == 0xE2) {
        "an MP3 file; save or export the recording as WAV"
    } else if at(4, b"ftyp") {
        "an MP4 or M4A file, as phones write; export the recording as WAV"
    } else if b.len() > 1 && b[0] == 0xFF && b[1] & 0xF6 == 0xF0 {
        "an AAC file; export the recording as WAV"
    } else if at(0, b"OggS") {
        "an Ogg file; export the recording as WAV"
    } else if at(0, b"fLaC") {
        "a FLAC file; export the recording as WAV"
    } else if at(0, b"FORM") {
        "an AIFF file; export the recording as WAV"
    } else if at(0, b"caff") {
        "a CAF file; export the recording as WAV"
    } else if at(0, b"RIFX") {
        "a RIFF file of the other byte order; export the recording as an ordinary WAV"
    } else if at(0, b"RF64") || at(0, b"BW64") {
        "a 64-bit WAV (RF64), meant for more than 4 GB; export a shorter piece as an ordinary WAV"
    } else if at(0, b"RIFF") && at(8, b"AVI ") {
        "a video (AVI); export its sound as WAV"
    } else if at(0, b"PK") {
        "a ZIP archive; unpack it first"
    } else if at(0, &[0x1A, 0x45, 0xDF, 0xA3]) {
        "a Matroska or WebM file; export the recording as WAV"
    } else if at(0, b"%PDF") || at(0, b"\x89PNG") || at(0, &[0xFF, 0xD8, 0xFF]) {
        "a document or a photograph, not a recording"
    } else if b.iter().take(512).all(|c| (32..127).contains(c) || matches!(c, 9 | 10 | 13)) {
        "a text file; give the WAV itself"
    } else {
        "no kind of file known here; export the recording as WAV"
    }
}

fn format(place: &str, b: &[u8]) -> Result<Format> {
    let short =
        || bad(place, format!("the format chunk of this WAV has {} bytes; it needs at least 16; the file is damaged", b.len()));
    let (Some(mut tag), Some(channels), Some(rate), Some(align), Some(bits)) =
        (u16_at(b, 0), u16_at(b, 2), u32_at(b, 4), u16_at(b, 12), u16_at(b, 14))
    else {
        return Err(short());
    };
    if tag == EXTENSIBLE {
        let Some(sub) = b.get(24..40) else {
            return Err(bad(place, "this WAV says its format is extended but the extension is missing; the file is damaged"));
        };
        if sub[2..] != SUB_FORMAT {
            return Err(bad(
                place,
                "this WAV's extended format is neither PCM nor float; export the recording as 16- or 24-bit PCM",
            ));
        }
        tag = u16::from_le_bytes([sub[0], sub[1]]);
    }
    let float = match tag {
        PCM => false,
        FLOAT => true,
        2 | 0x11 => return Err(bad(place, "this WAV is compressed (ADPCM); export the recording as 16- or 24-bit PCM")),
        6 | 7 => return Err(bad(place, "this WAV is compressed (A-law or mu-law); export the recording as 16- or 24-bit PCM")),
        0x55 => return Err(bad(place, "this WAV holds MP3 data; export the recording as 16- or 24-bit PCM")),
        other => {
            return Err(bad(
                place,
                format!("this WAV has format number {other}; it must be 1 (PCM) or 3 (float); export as 16- or 24-bit PCM"),
            ));
        }
    };
    let channels = usize::from(channels);
    if channels == 0 || channels > MOST_CHANNELS {
        return Err(bad(place, format!("this WAV says it has {channels} channels; it must be from 1 to {MOST_CHANNELS}")));
    }
    if !(100..=10_000_000).contains(&rate) {
        return Err(bad(place, format!("this WAV says its rate is {rate} Hz; it must be from 100 to 10000000 Hz")));
    }
    let known = if float { matches!(bits, 32 | 64) } else { matches!(bits, 8 | 16 | 24 | 32) };
    if !known {
        let kind = if float { "float WAV of 32 or 64 bit" } else { "PCM WAV of 8, 16, 24 or 32 bit" };
        return Err(bad(place, format!("this WAV has {bits} bits a sample; only {kind} can be read")));
    }
    let bytes = usize::from(bits) / 8;
    if usize::from(align) != bytes * channels {
        return Err(bad(
            place,
            format!(
                "this WAV says {align} bytes a frame, but {channels} channels of {bits} bit are {}; the file is damaged",
                bytes * channels
            ),
        ));
    }
    Ok(Format { float, channels, rate, bits, bytes })
}

fn sample(b: &[u8], float: bool) -> f64 {
    match (b, float) {
        (&[a], _) => (f64::from(a) - 128.0) / 128.0,
        (&[a, b], _) => f64::from(i16::from_le_bytes([a, b])) / 32768.0,
        (&[a, b, c], _) => f64::from(i32::from_le_bytes([0, a, b, c])) / 2_147_483_648.0,
        (&[a, b, c, d], false) => f64::from(i32::from_le_bytes([a, b, c, d])) / 2_147_483_648.0,
        (&[a, b, c, d], true) => f64::from(f32::from_le_bytes([a, b, c, d])),
        (&[a, b, c, d, e, f, g, h], _) => f64::from_le_bytes([a, b, c, d, e, f, g, h]),
        _ => 0.0,
    }
}

/// Reads a WAV; `place` is the name used in every complaint.
pub(super) fn read(bytes: &[u8], place: &str) -> Result<Wav> {
    if bytes.is_empty() {
        return Err(bad(place, "the file is empty"));
    }
    if bytes.get(..4) != Some(b"RIFF") || bytes.get(8..12) != Some(b"WAVE") {
        if bytes.len() < 12 && b"RIFF".starts_with(&bytes[..bytes.len().min(4)]) {
            return Err(bad(place, format!("the file breaks off after {} bytes, inside the WAV header", bytes.len())));
        }
        return Err(bad(place, format!("this is not a WAV file; it looks like {}", looks_like(bytes))));
    }
    let mut notes = Vec::new();
    let mut found: Option<Format> = None;
    let mut at = 12;
    loop {
        let (Some(id), Some(size)) = (bytes.get(at..at + 4), u32_at(bytes, at + 4)) else {
            return Err(bad(
                place,
                match found {
                    Some(_) => "this WAV holds no data chunk, so no sound; the file is truncated or damaged",
                    None => "this WAV holds no format chunk; the file is truncated or damaged",
                },
            ));
        };
        let body = at + 8;
        let present = bytes.len() - body;
        if id == b"data" {
            let Some(f) = found else {
                return Err(bad(place, "this WAV's data come before its format; the file is damaged"));
            };
            let held = match size {
                u32::MAX | 0 => {
                    if present > 0 {
                        notes.push(
                            "the header leaves the length open, as a recorder that was cut off does; all that follows was read"
                                .into(),
                        );
                    }
                    present
                }
                n if n as usize > present => {
                    notes.push(format!(
                        "truncated: the header promises {n} bytes of sound and {present} are there; those were read"
                    ));
                    present
                }
                n => n as usize,
            };
            return samples(place, &bytes[body..body + held], &f, notes);
        }
        let size = size as usize;
        if id == b"fmt " {
            found = Some(format(place, &bytes[body..body + size.min(present)])?);
        }
        // Chunks are padded to even length.
        let next = body.saturating_add(size).saturating_add(size % 2);
        if next >= bytes.len() {
            at = bytes.len();
        } else {
            at = next;
        }
    }
}

fn samples(place: &str, data: &[u8], f: &Format, mut notes: Vec<String>) -> Result<Wav> {
    let frame = f.bytes * f.channels;
    let frames = data.len() / frame;
    if frames == 0 {
        return Err(bad(place, "this WAV holds no sound: its data chunk has no whole sample"));
    }
    if !data.len().is_multiple_of(frame) {
        notes.push("the last sample is incomplete and was left out".into());
    }
    let mut channels = vec![Vec::with_capacity(frames); f.channels];
    let mut foreign = 0usize;
    for whole in data.chunks_exact(frame) {
        for (c, b) in channels.iter_mut().zip(whole.chunks_exact(f.bytes)) {
            let v = sample(b, f.float);
            if v.is_finite() && v.abs() <= 1e6 {
                c.push(v);
            } else {
                foreign += 1;
                c.push(0.0);
            }
        }
    }
    if foreign * 100 > frames * f.channels {
        return Err(bad(
            place,
            format!("{foreign} of {} samples are not numbers a recording holds; the file is damaged", frames * f.channels),
        ));
    }
    if foreign > 0 {
        notes.push(format!("{foreign} samples were no numbers a recording holds and count as silence"));
    }
    Ok(Wav { rate_hz: f64::from(f.rate), bits: f.bits, channels, notes })
}
