//! A recording: the sound with its taps, the spectrum of one tap with its modes, and how each mode decays.

use super::axis::{Axis, Frame};
use super::svg::{Fill, Pen, SMALL, Sheet, TEXT, Tie, WIDE};
use super::words::width;
use crate::error::{Error, Result};
use crate::recording::{Mode, ModeOptions, RecordingModes, Sound, tap_spectrum};

const LEFT: f64 = 112.0;
const RIGHT: f64 = 40.0;
/// Levels below this are not drawn, dB.
const DEEP_DB: f64 = 70.0;

/// The sound with its taps; of tap `tap` (from 0) the spectrum with its modes marked and numbered, and the decay of each
/// mode with what it says in words. `found` must come from `sound` with the same `options`.
pub fn recording_svg(title: &str, sound: &Sound, found: &RecordingModes, tap: usize, options: &ModeOptions) -> Result<String> {
    let Some(chosen) = found.taps.get(tap) else {
        return Err(Error::Refused(format!("tap is {tap}; this recording has {} and they count from 0", found.taps.len())));
    };
    let Some(modes) = chosen.found.as_ref().map(|f| &f.modes) else {
        return Err(Error::Refused(format!("tap {tap} is too short to show its modes; choose another")));
    };
    let samples = sound.centred(found.checks.channel)?;
    let list: Vec<String> = modes.iter().map(|m| format!("{:.1} Hz", m.frequency_hz)).collect();
    let says = format!("{} taps; tap {} rings at {}.", found.taps.len(), tap + 1, list.join(", "));
    let mut sheet = Sheet::new(title, &says);
    let foot = sound_panel(&mut sheet, sound, &samples, found, 70.0);
    let rate = sound.rate_hz();
    let from = ((chosen.tap.start_s * rate).round() as usize).min(samples.len());
    let to = (from + (chosen.tap.usable_s * rate).round() as usize).min(samples.len());
    let (hz, db) = tap_spectrum(rate, &samples[from..to], options)?;
    let foot = spectrum_panel(&mut sheet, &hz, &db, modes, tap, foot + 34.0);
    let foot = if modes.is_empty() { foot } else { decay_panel(&mut sheet, modes, foot + 34.0) };
    let mut y = foot + 40.0;
    for w in found.words.iter().take(6) {
        y = sheet.paragraph(20.0, y, SMALL, WIDE - 40.0, w) + 1.5 * SMALL;
    }
    sheet.finish(y)
}

fn frame(top: f64, height: f64, x: Axis, y: Axis) -> Frame {
    Frame { left: LEFT, top, width: WIDE - LEFT - RIGHT, height, x, y }
}

fn sound_panel(sheet: &mut Sheet, sound: &Sound, samples: &[f64], found: &RecordingModes, top: f64) -> f64 {
    let peak = samples.iter().fold(0.0_f64, |p, v| p.max(v.abs())).max(1e-12);
    let f = frame(top + 26.0, 150.0, Axis::exact(0.0, sound.seconds(), 8), Axis::exact(-100.0, 100.0, 4));
    f.draw_y(sheet, "of peak, %");
    // Largest and smallest value under each column of ink.
    let columns = (f.width / 2.0) as usize;
    let (mut upper, mut lower) = (Vec::with_capacity(columns), Vec::with_capacity(columns));
    for k in 0..columns.min(samples.len()) {
        let part = &samples[k * samples.len() / columns..((k + 1) * samples.len() / columns).min(samples.len())];
        let (low, high) = part.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| (l.min(*v), h.max(*v)));
        if low <= high {
            let x = f.left + f.width * (k as f64 + 0.5) / columns as f64;
            upper.push((x, f.at_y(100.0 * high / peak)));
            lower.push((x, f.at_y(100.0 * low / peak)));
        }
    }
    upper.extend(lower.into_iter().rev());
    sheet.path(&upper, true, Pen { width: 0.8, ..Pen::THIN }, Fill::Ink);
    let mut last = f64::NEG_INFINITY;
    for (i, t) in found.taps.iter().enumerate() {
        let x = f.at_x(t.tap.start_s);
        sheet.line(x, f.top, x, f.bottom(), Pen::DASHED);
        let words = if t.tap.bounces > 0 { format!("tap {} (bounced)", i + 1) } else { format!("tap {}", i + 1) };
        if x > last {
            let wide = width(&words, SMALL);
            let tie = if x + wide > f.right() { Tie::End } else { Tie::Start };
            sheet.text(x, f.top - 8.0, SMALL, tie, &words);
            last = x + wide + 8.0;
        }
    }
    f.draw_x(sheet, "time, s")
}

fn spectrum_panel(sheet: &mut Sheet, hz: &[f64], db: &[f64], modes: &[Mode], tap: usize, top: f64) -> f64 {
    // Two rows of numbers over the panel keep close modes apart.
    let top = top + TEXT + 2.4 * SMALL;
    sheet.text(LEFT, top - 2.7 * SMALL, TEXT, Tie::Start, &format!("Spectrum of tap {}, modes by number", tap + 1));
    let low = -(db.iter().fold(0.0_f64, |m, v| m.max(-v)).min(DEEP_DB) / 10.0).ceil() * 10.0;
    let (first, last) = (hz.first().copied().unwrap_or(0.0), hz.last().copied().unwrap_or(1.0));
    let f = frame(top, 260.0, Axis::exact(first, last, 10), Axis::exact(low, 0.0, 7));
    f.draw_y(sheet, "level, dB");
    let points: Vec<(f64, f64)> = hz.iter().zip(db).map(|(h, d)| f.at(*h, d.max(low))).collect();
    sheet.path(&points, false, Pen { width: 1.8, ..Pen::EDGE }, Fill::None);
    let mut ends = [f64::NEG_INFINITY; 2];
    for (i, m) in modes.iter().enumerate() {
        let x = f.at_x(m.frequency_hz);
        let words = (i + 1).to_string();
        let half = 0.5 * width(&words, SMALL) + 4.0;
        let row = usize::from(x - half < ends[0]);
        ends[row] = x + half;
        sheet.line(x, f.top - 4.0, x, f.bottom(), Pen::DOTTED);
        sheet.text(x, f.top - 8.0 - row as f64 * 1.1 * SMALL, SMALL, Tie::Middle, &words);
    }
    f.draw_x(sheet, "frequency, Hz")
}

fn decay_panel(sheet: &mut Sheet, modes: &[Mode], top: f64) -> f64 {
    let top = top + TEXT + 10.0;
    sheet.text(LEFT, top - 14.0, TEXT, Tie::Start, "Decay of each mode");
    let loudest = modes.iter().fold(f64::MIN_POSITIVE, |t, m| t.max(m.amplitude));
    let longest = modes.iter().map(Mode::decay_time_s).fold(0.0, f64::max);
    let mut f = frame(top, 230.0, Axis::round(0.0, longest.min(4.0), 8), Axis::exact(-60.0, 0.0, 6));
    let words: Vec<String> = modes
        .iter()
        .enumerate()
        .map(|(i, m)| {
            format!(
                "{}: {:.2} Hz ({:.2}), Q {:.1} ({:.1}), {:.2} s",
                i + 1,
                m.frequency_hz,
                m.u_frequency_hz.max(0.01),
                m.quality(),
                (m.quality() * m.u_damping_relative()).max(0.1),
                m.decay_time_s()
            )
        })
        .collect();
    f.width -= words.iter().map(|w| width(w, SMALL)).fold(0.0, f64::max) + 24.0;
    f.draw_y(sheet, "level, dB");
    const DASHES: [&str; 4] = ["", "14 6", "4 5", "16 5 4 5"];
    for (i, m) in modes.iter().enumerate() {
        let start = 20.0 * (m.amplitude / loudest).log10();
        let per_s = -20.0 * m.decay_per_s * std::f64::consts::LOG10_E;
        let end = ((-60.0 - start) / per_s).clamp(0.0, f.x.high);
        if start > -60.0 {
            let pen = Pen { dash: DASHES[i % DASHES.len()], width: 2.2, opacity: 1.0 };
            sheet.path(&[f.at(0.0, start), f.at(end, start + per_s * end)], false, pen, Fill::None);
        }
    }
    let x = f.right() + 24.0;
    sheet.text(x, f.top - 14.0, SMALL, Tie::Start, "(standard uncertainty), time to fall 60 dB");
    let mut foot = f.top;
    for w in &words {
        foot += 1.25 * SMALL;
        sheet.text(x, foot, SMALL, Tie::Start, w);
    }
    foot.max(f.draw_x(sheet, "time, s"))
}
