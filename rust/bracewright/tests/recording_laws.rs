//! Laws of recordings: troubles are said in words, nothing panics, repeats and comparisons keep their order.

#![allow(clippy::unwrap_used)]

use std::f64::consts::PI;

use bracewright::recording::{
    Mode, ModeOptions, Sound, TapModes, TapOptions, amplitude_per_impulse, band_balance, band_decays, bands, combined, compared,
    level_balance, recording_modes, tap_modes,
};
use proptest::prelude::*;
use rand::SeedableRng;
use rand_distr::{Distribution, StandardNormal, StandardUniform};
use rand_xoshiro::Xoshiro256PlusPlus;
use rayon::prelude::*;

const RATE: f64 = 48000.0;
const F: [f64; 3] = [120.0, 210.0, 330.0];
const Q: [f64; 3] = [25.0, 35.0, 40.0];

/// Half a second of quiet, then a tap of three modes; noise 60 dB down.
fn recording(seed: u64, blows_s: &[f64]) -> Vec<f64> {
    let mut g = Xoshiro256PlusPlus::seed_from_u64(seed);
    (0..(2.5 * RATE) as usize)
        .map(|n| {
            let t = n as f64 / RATE;
            let e: f64 = StandardNormal.sample(&mut g);
            let ring: f64 = blows_s
                .iter()
                .filter(|b| t >= **b)
                .map(|b| (0..3).map(|k| (-PI * F[k] / Q[k] * (t - b)).exp() * (2.0 * PI * F[k] * (t - b)).sin()).sum::<f64>())
                .sum();
            0.2 * ring + 2e-4 * e
        })
        .collect()
}

fn found(x: Vec<f64>) -> bracewright::recording::RecordingModes {
    recording_modes(&Sound::from_samples(RATE, vec![x]).unwrap(), &TapOptions::default(), &ModeOptions::default()).unwrap()
}

fn right(modes: &[Mode], within: f64) {
    assert_eq!(modes.len(), 3, "{modes:#?}");
    for k in 0..3 {
        assert!((modes[k].frequency_hz / F[k] - 1.0).abs() < within, "{:?}", modes[k]);
        assert!((modes[k].quality() / Q[k] - 1.0).abs() < 20.0 * within, "{:?}", modes[k]);
    }
}

fn wav(data: &[u8], rate: u32, bits: u16, channels: u16, tag: u16, claimed: Option<u32>) -> Vec<u8> {
    let align = channels * bits / 8;
    let mut b = b"RIFF\0\0\0\0WAVEfmt \x10\0\0\0".to_vec();
    b.extend(tag.to_le_bytes());
    b.extend(channels.to_le_bytes());
    b.extend(rate.to_le_bytes());
    b.extend((rate * u32::from(align)).to_le_bytes());
    b.extend(align.to_le_bytes());
    b.extend(bits.to_le_bytes());
    b.extend(b"data");
    b.extend(claimed.unwrap_or(data.len() as u32).to_le_bytes());
    b.extend(data);
    b
}

fn sixteen(x: &[f64]) -> Vec<u8> {
    x.iter().flat_map(|v| ((v.clamp(-1.0, 1.0) * 32767.0) as i16).to_le_bytes()).collect()
}

#[test]
fn hum_is_kept_apart() {
    let x = recording(1, &[0.5])
        .iter()
        .enumerate()
        .map(|(n, v)| {
            let t = n as f64 / RATE;
            v + 0.02 * (2.0 * PI * 50.0 * t + 0.4).sin() + 0.01 * (2.0 * PI * 150.0 * t + 1.0).sin()
        })
        .collect();
    let r = found(x);
    let tap = r.taps[0].found.as_ref().unwrap();
    right(&tap.modes, 1e-3);
    let hum: Vec<_> = tap.steady.iter().map(|s| (s.mains_hz, s.harmonic)).collect();
    assert_eq!(hum, [(Some(50.0), Some(1)), (Some(50.0), Some(3))], "{:?}", tap.steady);
    assert!((tap.steady[0].amplitude / 0.02 - 1.0).abs() < 0.02);
    assert!(r.words.iter().any(|w| w.contains("mains hum at 50.0")), "{:?}", r.words);
}

#[test]
fn a_double_tap_is_flagged_and_starts_after_the_bounce() {
    for gap in [0.015, 0.03, 0.05] {
        let r = found(recording(2, &[0.5, 0.5 + gap]));
        assert_eq!(r.taps.len(), 1, "{:?}", r.taps);
        assert_eq!(r.taps[0].tap.bounces, 1, "gap {gap} {:?}", r.taps);
        assert!(r.taps[0].tap.start_s >= 0.5 + gap);
        right(&r.taps[0].found.as_ref().unwrap().modes, 1e-3);
        assert!(r.words.iter().any(|w| w.contains("bounced")), "{:?}", r.words);
    }
}

#[test]
fn clipping_is_said() {
    let x: Vec<f64> = recording(3, &[0.5]).iter().map(|v| (4.0 * v).clamp(-1.0, 1.0)).collect();
    let s = Sound::from_wav(&wav(&sixteen(&x), 48000, 16, 1, 1, None), "loud.wav").unwrap();
    let c = s.checked().unwrap();
    assert!(c.clipped_samples > 20 && (c.clipped_at_s[0] - 0.5).abs() < 0.02, "{c:?}");
    assert!(c.words.iter().any(|w| w.contains("clipped")));
    let soft = Sound::from_wav(&wav(&sixteen(&recording(3, &[0.5])), 48000, 16, 1, 1, None), "x").unwrap();
    assert_eq!(soft.checked().unwrap().clipped_samples, 0);
}

/// A tap four times too loud: its record starts where the clipping ends, and what rings then is what rings.
#[test]
fn a_clipped_tap_is_used_from_where_the_clipping_ends() {
    let x: Vec<f64> = recording(3, &[0.5]).iter().map(|v| (4.0 * v).clamp(-1.0, 1.0)).collect();
    let s = Sound::from_wav(&wav(&sixteen(&x), 48000, 16, 1, 1, None), "loud.wav").unwrap();
    let r = recording_modes(&s, &TapOptions::default(), &ModeOptions::default()).unwrap();
    let tap = &r.taps[0];
    let found = tap.found.as_ref().unwrap();
    let from = (tap.tap.start_s * RATE).round() as usize;
    assert!(x[from..].iter().all(|v| v.abs() < 1.0) && tap.tap.start_s > 0.505, "{:?}", tap.tap);
    right(&found.modes, 1e-3);
    assert!(!found.clipped && found.words[0].contains("clipped until"), "{:?}", found.words);
    assert!(r.words.iter().any(|w| w.starts_with("tap 1: clipped until")), "{:?}", r.words);
    // every one within its own uncertainty, which a record from the blow on is not
    for (m, (f, q)) in found.modes.iter().zip(F.iter().zip(Q)) {
        assert!((m.frequency_hz - f).abs() < 4.0 * m.u_frequency_hz, "{m:?}");
        assert!((m.decay_per_s - PI * f / q).abs() < 4.0 * m.u_decay_per_s, "{m:?}");
    }
}

/// Too loud all along (a steady tone drives it to the rail): the modes that are listed carry the caution, and so do means of them.
#[test]
fn a_tap_clipped_to_its_end_carries_the_caution() {
    let loud = |(n, v): (usize, &f64)| {
        let t = n as f64 / RATE;
        (v + if t > 0.45 { 1.3 * (2.0 * PI * 75.0 * t).sin() } else { 0.0 }).clamp(-1.0, 1.0)
    };
    let x: Vec<f64> = recording(3, &[0.5]).iter().enumerate().map(loud).collect();
    let s = Sound::from_wav(&wav(&sixteen(&x), 48000, 16, 1, 1, None), "loud.wav").unwrap();
    let r = recording_modes(&s, &TapOptions::default(), &ModeOptions::default()).unwrap();
    let found: Vec<TapModes> = r.taps.iter().filter_map(|t| t.found.clone()).collect();
    assert!(!found.is_empty() && found.iter().any(|f| f.clipped && f.words[0].contains("not to be trusted")), "{:?}", r.words);
    let c = combined(&found, 1.0).unwrap();
    assert!(c.words.iter().any(|w| w.contains("is clipped through its record")), "{:?}", c.words);
}

/// Eight bits without noise to speak of: the tail sinks among the steps, which would look like taps and ring like modes.
#[test]
fn eight_bits_invent_no_mode() {
    for (seed, level) in [(1, 2.0), (2, 1.0), (3, 0.6)] {
        let x = recording(seed, &[0.5]);
        let eight: Vec<u8> = x.iter().map(|v| (level * v * 127.0 + 128.0).round().clamp(0.0, 255.0) as u8).collect();
        let s = Sound::from_wav(&wav(&eight, 48000, 8, 1, 1, None), "eight.wav").unwrap();
        let r = recording_modes(&s, &TapOptions::default(), &ModeOptions::default()).unwrap();
        assert_eq!(r.taps.len(), 1, "{level}: {:?}", r.taps.iter().map(|t| &t.tap).collect::<Vec<_>>());
        right(&r.taps[0].found.as_ref().unwrap().modes, 4e-3);
    }
}

/// A soft recording of few bits has flat peaks of its own: they are no clipping, and a cut below full scale is.
#[test]
fn coarse_steps_are_no_clipping() {
    let x = recording(5, &[0.5]);
    let checks = |x: &[f64], full: f64| {
        let eight: Vec<u8> = x.iter().map(|v| (v * full + 128.0).round().clamp(0.0, 255.0) as u8).collect();
        Sound::from_wav(&wav(&eight, 48000, 8, 1, 1, None), "eight.wav").unwrap().checked().unwrap()
    };
    let quiet: Vec<f64> = (0..48_000).map(|n| 0.3 * (2.0 * PI * 60.0 * n as f64 / RATE).sin()).collect();
    for full in [30.0, 90.0, 127.0] {
        assert_eq!(checks(&x, full).clipped_samples, 0, "{full}");
        assert_eq!(checks(&quiet, full).clipped_samples, 0, "{full}");
    }
    let cut: Vec<f64> = quiet.iter().map(|v| v.clamp(-0.25, 0.25)).collect();
    assert!(checks(&cut, 127.0).clipped_samples > 1000);
}

#[test]
fn the_live_channel_is_used() {
    let x = recording(4, &[0.5]);
    let s = Sound::from_samples(RATE, vec![vec![0.0; x.len()], x]).unwrap();
    let r = recording_modes(&s, &TapOptions::default(), &ModeOptions::default()).unwrap();
    assert_eq!((r.checks.channel, r.checks.dead_channels.as_slice()), (1, [0].as_slice()));
    assert!(r.words.iter().any(|w| w.contains("channel 1 is dead")));
    right(&r.taps[0].found.as_ref().unwrap().modes, 1e-3);
}

#[test]
fn eight_bits_and_an_offset_still_serve() {
    let x = recording(5, &[0.5]);
    let eight: Vec<u8> = x.iter().map(|v| ((v + 0.1) * 127.0 + 128.0).round().clamp(0.0, 255.0) as u8).collect();
    let s = Sound::from_wav(&wav(&eight, 48000, 8, 1, 1, None), "eight.wav").unwrap();
    let r = recording_modes(&s, &TapOptions::default(), &ModeOptions::default()).unwrap();
    assert!((r.checks.offset - 0.1).abs() < 0.01, "{:?}", r.checks);
    assert!(r.words.iter().any(|w| w.contains("8-bit")) && r.words.iter().any(|w| w.contains("offset")));
    right(&r.taps[0].found.as_ref().unwrap().modes, 3e-3);
}

#[test]
fn silence_and_shortness_are_refused_in_words() {
    let silent = Sound::from_wav(&wav(&[0; 9600], 48000, 16, 1, 1, None), "s.wav").unwrap();
    assert!(silent.checked().unwrap_err().to_string().contains("silent"));
    let short = tap_modes(RATE, &recording(1, &[0.0])[..2000], &ModeOptions::default()).unwrap_err().to_string();
    assert!(short.contains("0.042 s") && short.contains("at least 0.100 s"), "{short}");
}

#[test]
fn headers_that_lie() {
    let data = sixteen(&recording(6, &[0.5]));
    let cut = Sound::from_wav(&wav(&data[..4000], 48000, 16, 1, 1, Some(4_000_000_000)), "cut.wav").unwrap();
    assert_eq!(cut.channels()[0].len(), 2000);
    assert!(cut.notes()[0].contains("truncated"), "{:?}", cut.notes());
    for open in [0, u32::MAX] {
        let s = Sound::from_wav(&wav(&data, 48000, 16, 1, 1, Some(open)), "open.wav").unwrap();
        assert_eq!(s.channels()[0].len(), data.len() / 2);
        assert!(s.notes()[0].contains("leaves the length open"));
    }
    let says = |b: &[u8]| Sound::from_wav(b, "f").unwrap_err().to_string();
    assert!(says(&wav(&[], 48000, 16, 1, 1, None)).contains("no whole sample"));
    assert!(says(&wav(&data, 48000, 16, 0, 1, None)).contains("0 channels"));
    assert!(says(&wav(&data, 0, 16, 1, 1, None)).contains("rate is 0 Hz"));
    assert!(says(&wav(&data, 48000, 12, 2, 1, None)).contains("12 bits"));
    assert!(says(&wav(&data, 48000, 16, 1, 0x55, None)).contains("MP3"));
    assert!(says(&wav(&data, 48000, 16, 1, 1, None)[..30]).contains("damaged"));
    assert!(says(b"RIFF").contains("breaks off"));
    assert!(says(b"").contains("empty"));
}

#[test]
fn foreign_files_are_named() {
    let says = |b: &[u8]| Sound::from_wav(b, "f").unwrap_err().to_string();
    for (bytes, word) in [
        (b"ID3\x03\0\0\0\0\0\0\0\0\0".as_slice(), "MP3"),
        (b"\0\0\0\x20ftypM4A \0\0\0\0", "M4A"),
        (b"OggS\0\0\0\0\0\0\0\0\0\0", "Ogg"),
        (b"fLaC\0\0\0\0\0\0\0\0\0\0", "FLAC"),
        (b"FORM\0\0\0\0AIFFCOMM", "AIFF"),
        (b"RF64\0\0\0\0WAVEds64", "RF64"),
        (b"f1,f2,f3\n97,182,231\n", "text"),
        (b"\x89PNG\r\n\x1a\n\0\0\0\0\0", "photograph"),
        (b"\x01\x02\x03\x04\x05\x06\x07\x08\x09\x10\x11\x12\x13", "no kind"),
    ] {
        assert!(says(bytes).contains(word), "{}", says(bytes));
    }
}

/// Noise alone has no modes: the test lets one record of a thousand through. Of 4000 more than 12 are three in ten thousand times
/// (Poisson law of mean 4).
#[test]
fn noise_alone_invents_no_mode() {
    let invented = (0..4000u64)
        .into_par_iter()
        .filter(|seed| {
            let mut g = Xoshiro256PlusPlus::seed_from_u64(*seed);
            let x: Vec<f64> = (0..24000).map(|_| StandardNormal.sample(&mut g)).collect();
            let t = tap_modes(RATE, &x, &ModeOptions::default()).unwrap();
            !t.modes.is_empty() || !t.steady.is_empty()
        })
        .count();
    assert!(invented <= 12, "{invented}");
}

/// A strong mode of any frequency, quality and phase, with a neighbour of 5 to 30 per cent at 1.5 to 5 % from it or without one: how
/// often its 90 % intervals hold, over both numbers, and how many modes are listed.
fn beside_a_neighbour(neighbour: bool, runs: u64) -> (f64, f64) {
    let seen: Vec<(f64, f64)> = (0..runs)
        .into_par_iter()
        .map(|seed| {
            let mut g = Xoshiro256PlusPlus::seed_from_u64(seed);
            let mut between = |a: f64, b: f64| a + (b - a) * Distribution::<f64>::sample(&StandardUniform, &mut g);
            let f = 100.0 * between(0.0, 1.8).exp();
            let side = if between(0.0, 1.0) < 0.5 { 1.0 } else { -1.0 };
            let near = f * (1.0 + side * between(0.015, 0.05));
            let (q, q_near) = (between(20.0, 60.0), between(20.0, 60.0));
            let share = if neighbour { between(0.05f64.ln(), 0.3f64.ln()).exp() } else { 0.0 };
            let (phase, phase_near) = (between(0.0, 2.0 * PI), between(0.0, 2.0 * PI));
            let sd = 2.0 * 10f64.powf(-between(8.0, 20.0) / 20.0);
            let x: Vec<f64> = (0..48000)
                .map(|n| {
                    let t = n as f64 / RATE;
                    let e: f64 = StandardNormal.sample(&mut g);
                    (-PI * f / q * t).exp() * (2.0 * PI * f * t + phase).cos()
                        + share * (-PI * near / q_near * t).exp() * (2.0 * PI * near * t + phase_near).cos()
                        + sd * e
                })
                .collect();
            let modes = tap_modes(RATE, &x, &ModeOptions::default()).unwrap().modes;
            let loud = modes.iter().max_by(|a, b| a.amplitude.total_cmp(&b.amplitude)).unwrap();
            let held = |i: (f64, f64), v: f64| f64::from(i.0 <= v && v <= i.1);
            (0.5 * (held(loud.frequency_90_hz, f) + held(loud.decay_90_per_s, PI * f / q)), modes.len() as f64)
        })
        .collect();
    let mean = |v: &dyn Fn(&(f64, f64)) -> f64| seen.iter().map(v).sum::<f64>() / runs as f64;
    (mean(&|s| s.0), mean(&|s| s.1))
}

/// Without a neighbour intervals hold as they say. With one that is mostly not listed they hold nearly so: fitted alone, the strong
/// mode's hold in 69 of 100.
#[test]
fn a_neighbour_of_any_kind_is_allowed_for() {
    let (alone, one) = beside_a_neighbour(false, 1000);
    assert!((0.88..=0.93).contains(&alone) && one < 1.01, "{alone} {one}");
    let (beside, listed) = beside_a_neighbour(true, 1000);
    assert!((0.84..=0.92).contains(&beside) && (1.3..1.6).contains(&listed), "{beside} {listed}");
}

/// Three taps of one piece, a mode in them that one tap by itself lists in half of the records: what one tap holds is looked for in
/// the others. Nothing is so invented: taps that differ in nothing but noise list no mode more.
#[test]
fn what_one_tap_holds_is_looked_for_in_the_others() {
    const MODES: [(f64, f64, f64); 3] = [(182.1, 30.0, 0.1), (231.7, 38.0, 0.06), (420.0, 40.0, 0.0072)];
    let sd = 0.025;
    let list = |m: &[Mode]| m.iter().filter(|m| (m.frequency_hz - MODES[2].0).abs() < 8.0).count();
    let seen: Vec<[usize; 4]> = (0..150u64)
        .into_par_iter()
        .map(|seed| {
            let mut g = Xoshiro256PlusPlus::seed_from_u64(seed);
            let x: Vec<f64> = (0..(0.1 * RATE + 3.0 * RATE) as usize)
                .map(|n| {
                    let t = n as f64 / RATE - 0.1;
                    let e: f64 = StandardNormal.sample(&mut g);
                    let since = t.rem_euclid(1.0);
                    let ring = |(f, q, a): (f64, f64, f64)| a * (-PI * f / q * since).exp() * (2.0 * PI * f * since).sin();
                    let all: f64 = MODES.into_iter().map(ring).sum();
                    if t < 0.0 { sd * e } else { all + sd * e }
                })
                .collect();
            let sound = Sound::from_samples(RATE, vec![x.clone()]).unwrap();
            let options = TapOptions { skip_ms: 0.0, ..TapOptions::default() };
            let found = recording_modes(&sound, &options, &ModeOptions::default()).unwrap();
            let taps: Vec<TapModes> = found.taps.iter().filter_map(|t| t.found.clone()).collect();
            let first = found.taps.first().map_or(0, |t| {
                let from = (t.tap.start_s * RATE).round() as usize;
                let to = from + (t.tap.usable_s * RATE).round() as usize;
                list(&tap_modes(RATE, &x[from..to.min(x.len())], &ModeOptions::default()).unwrap().modes)
            });
            let others: usize = taps.iter().map(|t| t.modes.len()).sum::<usize>();
            let weak = combined(&taps, 1.0).unwrap().modes.iter().any(|m| (m.frequency_hz - MODES[2].0).abs() < 8.0);
            [usize::from(taps.len() == 3), first, usize::from(weak), others]
        })
        .collect();
    let sum = |k: usize| seen.iter().map(|s| s[k]).sum::<usize>() as f64 / 150.0;
    assert!(sum(0) > 0.97, "{}", sum(0));
    assert!((0.3..0.75).contains(&sum(1)) && sum(2) > sum(1) + 0.2, "{} by itself, {} together", sum(1), sum(2));
    assert!(sum(3) < 9.05, "{}", sum(3));
}

fn tap(f: &[f64]) -> TapModes {
    let modes = f
        .iter()
        .map(|&f| Mode {
            frequency_hz: f,
            u_frequency_hz: 0.02,
            frequency_90_hz: (f - 0.033, f + 0.033),
            decay_per_s: 0.1 * f,
            u_decay_per_s: 0.1,
            decay_90_per_s: (0.1 * f - 0.16, 0.1 * f + 0.16),
            amplitude: 1.0,
            u_amplitude: 0.01,
            phase_rad: 0.0,
            u_phase_rad: 0.01,
            noise_per_root_hz: 1e-5,
            clear_by_db: 40.0,
        })
        .collect();
    TapModes { modes, steady: vec![], seconds: 0.5, clipped: false, words: vec![] }
}

#[test]
fn a_bad_tap_is_named_and_left_out() {
    let good: Vec<TapModes> = [0.0, 0.02, -0.02, 0.01].iter().map(|d| tap(&[100.0 + d, 200.0 + d, 310.0 - d])).collect();
    let mut taps = good.clone();
    taps.insert(2, tap(&[100.8, 201.5, 312.0]));
    let (clean, c) = (combined(&good, 1.0).unwrap(), combined(&taps, 1.0).unwrap());
    assert_eq!(c.bad_taps, [2]);
    assert!(c.words.iter().any(|w| w.contains("tap 3 stands off")), "{:?}", c.words);
    for (a, b) in clean.modes.iter().zip(&c.modes) {
        assert_eq!((a.frequency_hz, b.left_out.as_slice()), (b.frequency_hz, [2].as_slice()));
    }
    // Of three or four it cannot be told which: none is left out, the uncertainty is that of all, and it is said.
    let few = combined(&[tap(&[100.0]), tap(&[100.001]), tap(&[100.002]), tap(&[100.4])], 1.0).unwrap();
    assert!(few.modes[0].left_out.is_empty() && few.modes[0].u_frequency_hz > 0.08, "{few:?}");
    assert!(few.words.iter().any(|w| w.contains("tap again")), "{:?}", few.words);
    // Scatter far above what the taps state is believed.
    let wide = combined(&[tap(&[100.0]), tap(&[100.4])], 1.0).unwrap();
    assert!((wide.modes[0].u_frequency_hz - 0.2).abs() < 0.01, "{wide:?}");
}

#[test]
fn two_states_are_matched_and_differenced() {
    let before = combined(&[tap(&[100.0, 200.0, 206.0, 400.0])], 1.0).unwrap().modes;
    let after = combined(&[tap(&[97.0, 195.0, 201.0, 330.0])], 1.0).unwrap().modes;
    let c = compared(&before, &after, 5.0).unwrap();
    let shifts: Vec<f64> = c.shifts.iter().map(|s| s.shift_hz).collect();
    assert!(shifts.iter().zip([-3.0, -5.0, -5.0]).all(|(a, b)| (a - b).abs() < 1e-9) && shifts.len() == 3, "{shifts:?}");
    assert!((c.shifts[0].u_shift_hz - 0.02 * 2f64.sqrt()).abs() < 1e-12);
    assert_eq!((c.new.len(), c.vanished.len()), (1, 1));
    let same = compared(&before, &before, 5.0).unwrap();
    assert!(same.shifts.iter().all(|s| s.shift_hz == 0.0) && same.new.is_empty() && same.vanished.is_empty());
}

#[test]
fn amplitude_per_tap_needs_a_force() {
    let t = tap(&[100.0]);
    assert!(amplitude_per_impulse(&t, RATE, None).unwrap_err().to_string().contains("no force channel"));
    let force = vec![48.0; 100];
    assert!((amplitude_per_impulse(&t, RATE, Some(&force)).unwrap()[0] - 10.0).abs() < 1e-12);
}

#[test]
fn balance_adds_up_and_ignores_loudness() {
    let x = recording(8, &[0.0]);
    let loud: Vec<f64> = x.iter().map(|v| 4.0 * v).collect();
    let b = bands(bracewright::recording::BandWidth::ThirdOctave, 80.0, 800.0).unwrap();
    let r = band_balance(RATE, &[x, loud], &b).unwrap();
    let sum: f64 = r[0].iter().flatten().map(|l| 10f64.powf(0.1 * l)).sum();
    assert!((sum - 1.0).abs() < 1e-9);
    assert!(r[0].iter().flatten().zip(r[1].iter().flatten()).all(|(a, b)| (a - b).abs() < 1e-9));
}

/// Twice the amplitude is 20 log10 2 = 6.02 dB (closed form); three plucks 1 dB apart scatter by 1 dB, and the mean of three of
/// six notes is uncertain by 1/root 3, less what it shares with the mean of all: root(1 - 1/6).
#[test]
fn levels_of_strings() {
    let ring = |f: f64, a: f64| -> Vec<f64> {
        (0..48_000).map(|n| n as f64 / RATE).map(|t| a * (-6.0 * t).exp() * (2.0 * PI * f * t).sin()).collect()
    };
    // whole periods in a second, so that the mean square is the envelope's
    let strings = [("E2", 82.0), ("A2", 110.0), ("D3", 147.0), ("G3", 196.0), ("B3", 247.0), ("E4", 330.0)];
    let db = |d: f64| 10f64.powf(d / 20.0);
    let notes: Vec<(String, Vec<Vec<f64>>)> = strings
        .iter()
        .map(|(name, f)| {
            let loud = if *name == "G3" { 2.0 } else { 1.0 };
            ((*name).to_string(), [-1.0, 0.0, 1.0].iter().map(|d| ring(*f, 0.1 * loud * db(*d))).collect())
        })
        .collect();
    let found = level_balance(RATE, &notes, 1.0).unwrap();
    let step = 20.0 * 2f64.log10();
    for l in &found {
        let want = if l.name == "G3" { 5.0 * step / 6.0 } else { -step / 6.0 };
        assert!((l.level_db - want).abs() < 0.02 && l.plucks == 3, "{l:?}");
        assert!((l.u_db.unwrap() - (1.0 / 3.0 * (1.0 - 1.0 / 6.0_f64)).sqrt()).abs() < 1e-3, "{l:?}");
    }
    let once: Vec<(String, Vec<Vec<f64>>)> = notes.iter().map(|(n, p)| (n.clone(), p[..1].to_vec())).collect();
    assert!(level_balance(RATE, &once, 1.0).unwrap().iter().all(|l| l.u_db.is_none()));
    let says = |notes: &[(String, Vec<Vec<f64>>)], over: f64, words: &[&str]| {
        let e = level_balance(RATE, notes, over).unwrap_err().to_string();
        assert!(words.iter().all(|w| e.contains(w)), "{e}");
    };
    says(&notes[..1], 1.0, &["notes", "at least two"]);
    says(&notes, 2.0, &["notes[\"E2\"][0]", "1.000 s", "2 s"]);
    says(&notes, 0.0, &["over_s"]);
    let mut odd = once.clone();
    odd[1].1[0] = vec![0.1; 48_000];
    says(&odd, 1.0, &["A2", "silent"]);
    odd[1].1[0][3] = f64::NAN;
    says(&odd, 1.0, &["notes[\"A2\"][0][3]"]);
    odd[1].1.clear();
    says(&odd, 1.0, &["A2", "empty"]);
}

/// An offset of the converter is no sound: bands decay and balance as without it.
#[test]
fn an_offset_changes_no_band() {
    let x = recording(8, &[0.0]);
    let off: Vec<f64> = x.iter().map(|v| v + 0.3).collect();
    let b = bands(bracewright::recording::BandWidth::Octave, 80.0, 800.0).unwrap();
    let r = band_balance(RATE, &[x.clone(), off.clone()], &b).unwrap();
    assert!(r[0].iter().flatten().zip(r[1].iter().flatten()).all(|(a, b)| (a - b).abs() < 1e-6), "{r:?}");
    let (a, o) = (band_decays(RATE, &x, &b).unwrap(), band_decays(RATE, &off, &b).unwrap());
    assert!(a.iter().any(|d| d.decay_time_s.is_some()));
    for (a, o) in a.iter().zip(&o) {
        assert!((a.energy / o.energy - 1.0).abs() < 1e-6);
        assert!((a.decay_time_s.unwrap_or(0.0) - o.decay_time_s.unwrap_or(0.0)).abs() < 1e-6, "{a:?} {o:?}");
    }
}

/// Loudness changes nothing but amplitudes, and a longer rate nothing beyond the uncertainty.
#[test]
fn scale_law() {
    let x = recording(9, &[0.0]);
    let loud: Vec<f64> = x.iter().map(|v| 1000.0 * v).collect();
    let (a, b) =
        (tap_modes(RATE, &x, &ModeOptions::default()).unwrap(), tap_modes(RATE, &loud, &ModeOptions::default()).unwrap());
    for (a, b) in a.modes.iter().zip(&b.modes) {
        assert!((a.frequency_hz - b.frequency_hz).abs() < 1e-6 && (b.amplitude / a.amplitude / 1000.0 - 1.0).abs() < 1e-6);
    }
    right(&a.modes, 1e-3);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    #[test]
    fn random_bytes_never_panic(b in proptest::collection::vec(any::<u8>(), 0..400)) {
        if let Ok(s) = Sound::from_wav(&b, "r") {
            // Never more samples than bytes.
            prop_assert!(s.channels().iter().map(Vec::len).sum::<usize>() <= b.len());
        }
    }

    #[test]
    fn spoilt_headers_never_panic(at in 0usize..44, v in any::<u8>(), cut in 0usize..400) {
        let mut b = wav(&sixteen(&recording(1, &[0.0])[..200]), 48000, 16, 1, 1, None);
        b[at] = v;
        b.truncate(b.len() - cut);
        if let Ok(s) = Sound::from_wav(&b, "r") {
            prop_assert!(s.channels().iter().map(Vec::len).sum::<usize>() <= b.len());
        }
    }

    #[test]
    fn any_samples_give_numbers_or_words(x in proptest::collection::vec(prop_oneof![Just(0.0), -1.0..1.0f64, Just(1.0), Just(-1.0)], 1..3000), rate in 100.0..200_000.0f64) {
        let s = Sound::from_samples(rate, vec![x.clone()]).unwrap();
        let options = ModeOptions { high_hz: 0.4 * rate.min(2500.0), low_hz: 0.02 * rate.min(2500.0), ..Default::default() };
        if let Ok(r) = recording_modes(&s, &TapOptions::default(), &options) {
            for m in r.taps.iter().filter_map(|t| t.found.as_ref()).flat_map(|t| &t.modes) {
                prop_assert!(m.frequency_hz.is_finite() && m.u_frequency_hz.is_finite() && m.decay_per_s > 0.0 && m.u_amplitude.is_finite());
            }
        }
        if let Ok(t) = tap_modes(rate, &x, &options) {
            prop_assert!(t.modes.iter().all(|m| m.frequency_hz.is_finite() && m.u_decay_per_s.is_finite()));
        }
    }
}
