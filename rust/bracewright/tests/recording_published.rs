//! Recordings of known modes against the Cramer-Rao bound, and WAV files written by another library.
//!
//! The bound is computed here, apart from the library, from the full Fisher matrix of the sampled model (Kay, Fundamentals
//! of Statistical Signal Processing: Estimation Theory, 1993, ch. 3; standing: from memory, the formula is a definition).
//! The set of modes and the noise are those of the project's yardstick for recordings (T7).

#![allow(clippy::unwrap_used)]

use std::f64::consts::PI;

use bracewright::recording::{
    BandWidth, ModeOptions, Sound, TapOptions, band_decays, bands, find_taps, recording_modes, tap_modes,
};
use rand::SeedableRng;
use rand_distr::{Distribution, StandardNormal};
use rand_xoshiro::Xoshiro256PlusPlus;
use rayon::prelude::*;

const RATE: f64 = 48000.0;
const LEN: usize = 96000;

#[derive(Clone, Copy)]
struct Set {
    f: [f64; 6],
    q: [f64; 6],
    a: [f64; 6],
}

const YARDSTICK: Set = Set {
    f: [97.3, 182.1, 231.7, 342.9, 418.4, 561.2],
    q: [22.0, 30.0, 38.0, 45.0, 40.0, 55.0],
    a: [1.0, 0.9, 0.6, 0.5, 0.35, 0.4],
};
/// Two modes 3 % apart.
const PAIR: Set = Set { f: [97.3, 182.1, 231.7, 238.65, 418.4, 561.2], ..YARDSTICK };
/// The second of the pair ten times below the strongest mode.
const TEN_TO_ONE: Set = Set { a: [1.0, 0.9, 0.6, 0.1, 0.35, 0.4], ..PAIR };

impl Set {
    fn decay(&self, k: usize) -> f64 {
        PI * self.f[k] / self.q[k]
    }

    fn noise(&self, db: f64) -> f64 {
        self.a.iter().sum::<f64>() * 10f64.powf(-db / 20.0)
    }

    fn ring(&self, len: usize) -> Vec<f64> {
        let mut y = vec![0.0; len];
        for k in 0..6 {
            for (n, y) in y.iter_mut().enumerate() {
                let t = n as f64 / RATE;
                *y += self.a[k] * (-self.decay(k) * t).exp() * (2.0 * PI * self.f[k] * t).sin();
            }
        }
        y
    }
}

fn with_noise(clean: &[f64], sd: f64, seed: u64) -> Vec<f64> {
    let mut g = Xoshiro256PlusPlus::seed_from_u64(seed);
    clean
        .iter()
        .map(|y| {
            let e: f64 = StandardNormal.sample(&mut g);
            y + sd * e
        })
        .collect()
}

/// Cramer-Rao standard deviations of frequency (Hz) and decay (1/s): the Fisher matrix over amplitude, phase, frequency
/// and decay of all six modes, summed sample by sample over the two seconds, inverted by elimination.
fn bound(set: &Set, sd: f64) -> Vec<(f64, f64)> {
    const P: usize = 24;
    let mut fisher = vec![[0.0; 2 * P]; P];
    for n in 0..LEN {
        let t = n as f64 / RATE;
        let mut g = [0.0; P];
        for k in 0..6 {
            let e = (-set.decay(k) * t).exp();
            let (s, c) = (2.0 * PI * set.f[k] * t).sin_cos();
            let a = set.a[k];
            g[4 * k] = e * s;
            g[4 * k + 1] = a * e * c;
            g[4 * k + 2] = a * e * c * 2.0 * PI * t;
            g[4 * k + 3] = -t * a * e * s;
        }
        for i in 0..P {
            for j in 0..P {
                fisher[i][j] += g[i] * g[j] / (sd * sd);
            }
        }
    }
    let scale: Vec<f64> = (0..P).map(|i| 1.0 / fisher[i][i].sqrt()).collect();
    for i in 0..P {
        for j in 0..P {
            fisher[i][j] *= scale[i] * scale[j];
        }
        fisher[i][P + i] = 1.0;
    }
    for i in 0..P {
        let big = (i..P).max_by(|a, b| fisher[*a][i].abs().total_cmp(&fisher[*b][i].abs())).unwrap();
        fisher.swap(i, big);
        let d = fisher[i][i];
        fisher[i].iter_mut().for_each(|v| *v /= d);
        for r in (0..P).filter(|r| *r != i) {
            let (row, m) = (fisher[i], fisher[r][i]);
            fisher[r].iter_mut().zip(row).for_each(|(v, w)| *v -= m * w);
        }
    }
    let sd = |i: usize| (fisher[i][P + i] * scale[i] * scale[i]).sqrt();
    (0..6).map(|k| (sd(4 * k + 2), sd(4 * k + 3))).collect()
}

/// What many realisations showed.
struct Shown {
    /// Share of realisations with exactly six modes.
    all_six: f64,
    /// Share of truths inside the stated 90 % intervals.
    cover: f64,
    /// Largest rms error and largest mean error, in Cramer-Rao standard deviations.
    rms: f64,
    mean: f64,
}

fn show(set: &Set, db: f64, runs: u64) -> Shown {
    let clean = set.ring(LEN);
    let sd = set.noise(db);
    let limit = bound(set, sd);
    let options = ModeOptions::default();
    let found: Vec<_> =
        (0..runs).into_par_iter().map(|seed| tap_modes(RATE, &with_noise(&clean, sd, seed), &options).unwrap().modes).collect();
    let six: Vec<_> = found.iter().filter(|m| m.len() == 6).collect();
    let n = six.len() as f64;
    let (mut rms, mut mean, mut inside): (f64, f64, usize) = (0.0, 0.0, 0);
    for k in 0..6 {
        let f: Vec<f64> = six.iter().map(|m| (m[k].frequency_hz - set.f[k]) / limit[k].0).collect();
        let d: Vec<f64> = six.iter().map(|m| (m[k].decay_per_s - set.decay(k)) / limit[k].1).collect();
        for e in [f, d] {
            rms = rms.max((e.iter().map(|v| v * v).sum::<f64>() / n).sqrt());
            mean = mean.max((e.iter().sum::<f64>() / n).abs());
        }
        for m in &six {
            let held = |i: (f64, f64), v: f64| usize::from(i.0 <= v && v <= i.1);
            inside += held(m[k].frequency_90_hz, set.f[k]) + held(m[k].decay_90_per_s, set.decay(k));
        }
    }
    Shown { all_six: n / runs as f64, cover: inside as f64 / (12.0 * n), rms, mean }
}

/// The law: rms error at most twice the bound, mean error at most a quarter, intervals 88 to 92 %. With 300 runs of
/// 12 numbers the coverage is known to half a percent, the means to 6 % of the bound.
fn law(set: &Set, db: f64, least_six: f64) {
    let s = show(set, db, 300);
    assert!(s.all_six >= least_six, "{db} dB: six modes in {} of the runs", s.all_six);
    assert!(s.rms <= 2.0, "{db} dB: rms {} Cramer-Rao sd", s.rms);
    assert!(s.mean <= 0.25, "{db} dB: mean {} Cramer-Rao sd", s.mean);
    assert!((0.88..=0.92).contains(&s.cover), "{db} dB: coverage {}", s.cover);
}

#[test]
fn yardstick_modes_come_near_the_bound() {
    for db in [50.0, 35.0, 20.0] {
        law(&YARDSTICK, db, 0.99);
    }
}

#[test]
fn a_pair_three_percent_apart_comes_near_the_bound() {
    law(&PAIR, 50.0, 0.99);
    law(&PAIR, 35.0, 0.99);
    law(&PAIR, 20.0, 0.95);
}

/// At 20 dB the best fit of five modes is worse than that of all six by a misfit of 21 (noncentrality of chi squared with four
/// degrees; computed apart in numpy). A test that noise passes once in a thousand records (Rice's count of the maxima of the
/// likelihood ratio over frequency and decay, F law of 57 bins for the noise) sees it in 18 to 24 of 100 (scipy.stats.ncf): no test
/// can list it in most. Its neighbour has to allow for it: see the next test.
#[test]
fn levels_ten_to_one_in_the_pair() {
    law(&TEN_TO_ONE, 50.0, 0.99);
    law(&TEN_TO_ONE, 35.0, 0.99);
    let s = show(&TEN_TO_ONE, 20.0, 60);
    assert!(s.all_six < 0.5, "{}", s.all_six);
}

/// Levels falling evenly to ten to one, the pair among them: at 20 dB the weakest (a misfit of 57) is seen in nearly all records,
/// and the law holds in those.
#[test]
fn levels_falling_to_ten_to_one() {
    let set = Set { a: [1.0, 0.63, 0.4, 0.25, 0.16, 0.1], ..PAIR };
    law(&set, 50.0, 0.99);
    law(&set, 35.0, 0.99);
    law(&set, 20.0, 0.93);
}

/// One mode over many records, whether all six are listed or not.
#[derive(Default, Debug, Clone, Copy)]
struct One {
    /// Share of records that list it.
    found: f64,
    /// rms and mean errors of frequency and decay, in Cramer-Rao standard deviations of all six.
    rms: (f64, f64),
    mean: (f64, f64),
    /// Share of 90 % intervals of frequency and of decay that hold the truth.
    cover: (f64, f64),
}

/// Each mode matched to the truth by place, and how many modes lie where there is none.
fn one_by_one(set: &Set, db: f64, runs: u64) -> (Vec<One>, usize) {
    let clean = set.ring(LEN);
    let sd = set.noise(db);
    let limit = bound(set, sd);
    let options = ModeOptions::default();
    let found: Vec<_> =
        (0..runs).into_par_iter().map(|seed| tap_modes(RATE, &with_noise(&clean, sd, seed), &options).unwrap().modes).collect();
    let mut loudest: Vec<usize> = (0..6).collect();
    loudest.sort_by(|a, b| set.a[*b].total_cmp(&set.a[*a]));
    let (mut sums, mut ghosts) = (vec![One::default(); 6], 0);
    for modes in found {
        let mut left = modes;
        for &k in &loudest {
            let off = |m: &bracewright::recording::Mode| (m.frequency_hz - set.f[k]).abs();
            // five Cramer-Rao deviations and no less than 4 Hz: half of the way to the neighbour
            let reach = (5.0 * limit[k].0).max(4.0);
            // of two in reach the one more alike in level
            let far = |m: &bracewright::recording::Mode| off(m) + 2.0 * (m.amplitude / set.a[k]).ln().abs();
            let near =
                (0..left.len()).filter(|i| off(&left[*i]) < reach).min_by(|a, b| far(&left[*a]).total_cmp(&far(&left[*b])));
            let Some(m) = near.map(|i| left.remove(i)) else { continue };
            let held = |i: (f64, f64), v: f64| f64::from(i.0 <= v && v <= i.1);
            let (f, d) = ((m.frequency_hz - set.f[k]) / limit[k].0, (m.decay_per_s - set.decay(k)) / limit[k].1);
            let s = &mut sums[k];
            s.found += 1.0;
            s.rms = (s.rms.0 + f * f, s.rms.1 + d * d);
            s.mean = (s.mean.0 + f, s.mean.1 + d);
            s.cover.0 += held(m.frequency_90_hz, set.f[k]);
            s.cover.1 += held(m.decay_90_per_s, set.decay(k));
        }
        ghosts += left.len();
    }
    for s in &mut sums {
        let n = s.found.max(1.0);
        s.rms = ((s.rms.0 / n).sqrt(), (s.rms.1 / n).sqrt());
        s.mean = (s.mean.0 / n, s.mean.1 / n);
        s.cover = (s.cover.0 / n, s.cover.1 / n);
        s.found /= runs as f64;
    }
    (sums, ghosts)
}

/// The law for each mode by itself and for all intervals together. Over 1000 records a mean is known to 4 % of the bound, a
/// coverage to 1 %. That of a single number is held to 86 to 96: those of the mode beside the hidden one are a little wide.
fn law_one_by_one(set: &Set, db: f64, weak: usize, seen: std::ops::RangeInclusive<f64>) {
    let (modes, ghosts) = one_by_one(set, db, 1000);
    let (mut held, mut all) = (0.0, 0.0);
    for (k, m) in modes.iter().enumerate() {
        assert!(m.rms.0 <= 2.0 && m.rms.1 <= 2.0, "{k}: {modes:#?}");
        // The few records that list a weak mode know its mean less well. Not reached: where it is not listed its skirt pulls the
        // mode 50 Hz below by a little more than a quarter, 0.24 on the mean of four sets of 1000 records and 0.28 in this one.
        let mean = if k == weak { 0.25 + 2.0 / (1000.0 * m.found).sqrt() } else { [0.25, 0.32, 0.25, 0.25, 0.25, 0.25][k] };
        assert!(m.mean.0.abs() <= mean && m.mean.1.abs() <= mean, "{k}: {modes:#?}");
        for c in [m.cover.0, m.cover.1] {
            assert!((0.86..=0.96).contains(&c), "{k}: {modes:#?}");
        }
        held += m.found * (m.cover.0 + m.cover.1);
        all += 2.0 * m.found;
        assert!(k == weak || m.found > 0.995, "{k}: {modes:#?}");
    }
    assert!(seen.contains(&modes[weak].found), "{modes:#?}");
    assert!((0.88..=0.92).contains(&(held / all)), "{}: {modes:#?}", held / all);
    assert!(ghosts <= 10, "{ghosts}");
}

/// What a hidden neighbour does to the mode it stands beside is in that mode's estimate and interval, though seldom listed itself.
/// Fitted alone the strong one's decay comes out 2.2 Cramer-Rao deviations too fast, and a quarter of its intervals hold.
#[test]
fn a_hidden_neighbour_is_allowed_for() {
    law_one_by_one(&TEN_TO_ONE, 20.0, 3, 0.10..=0.25);
    // the same the other way about: the hidden one below, ten times under the strongest of all (a misfit of 20)
    law_one_by_one(&Set { a: [1.0, 0.9, 0.1, 0.5, 0.35, 0.4], ..PAIR }, 20.0, 2, 0.07..=0.2);
    // and the words say where it may be
    let y = |seed| with_noise(&TEN_TO_ONE.ring(LEN), TEN_TO_ONE.noise(20.0), seed);
    let said = (0..40).filter(|s| {
        let t = tap_modes(RATE, &y(*s), &ModeOptions::default()).unwrap();
        t.words.iter().any(|w| w.contains("beside the mode at 23"))
    });
    assert!(said.count() >= 10);
}

/// A lone mode ten times under the strongest: a misfit of 31, seen by the test of the note above in 47 to 56 of 100 records at
/// best (scipy.stats.ncf). In those that list it its intervals hold as often as they say, though noise helped it over.
#[test]
fn a_lone_weak_mode_is_listed_as_often_as_can_be() {
    law_one_by_one(&Set { a: [1.0, 0.9, 0.6, 0.5, 0.35, 0.1], ..PAIR }, 20.0, 5, 0.42..=0.6);
}

/// The yardstick's accuracy at 50 dB: 0.03 Hz and 1 % of Q, from its own kind of 16-bit file. The bound itself is 0.016 Hz
/// for the highest mode, so it is asked of the rms over files; each single one must keep to its own uncertainty.
#[test]
fn the_yardstick_file_to_three_hundredths_of_a_hertz() {
    const FILES: u64 = 20;
    let mut off = [[0.0; 2]; 6];
    for seed in 0..FILES {
        let y = with_noise(&YARDSTICK.ring(LEN), YARDSTICK.noise(50.0), seed);
        let top = y.iter().fold(0.0_f64, |t, v| t.max(v.abs()));
        let ints: Vec<i32> = y.iter().map(|v| (v / top * 30000.0) as i32).collect();
        let sound = Sound::from_wav(&written(&[ints], 48000, 16), "yardstick.wav").unwrap();
        let found = recording_modes(&sound, &TapOptions::default(), &ModeOptions::default()).unwrap();
        assert_eq!(found.taps.len(), 1);
        let modes = &found.taps[0].found.as_ref().unwrap().modes;
        assert_eq!(modes.len(), 6);
        for k in 0..6 {
            let d = modes[k].frequency_hz - YARDSTICK.f[k];
            assert!(d.abs() < 4.5 * modes[k].u_frequency_hz, "{:?}", modes[k]);
            off[k][0] += d * d / FILES as f64;
            off[k][1] += (modes[k].quality() / YARDSTICK.q[k] - 1.0).powi(2) / FILES as f64;
        }
    }
    for o in off {
        assert!(o[0].sqrt() < 0.03 && o[1].sqrt() < 0.01, "{off:?}");
    }
}

/// The tap is found where it is in a longer recording, and its modes are those of the tap alone.
#[test]
fn three_taps_in_a_longer_recording() {
    let at = [0.7, 2.3, 4.1];
    let mut x = vec![0.0; (6.0 * RATE) as usize];
    let ring = YARDSTICK.ring(LEN);
    for (i, t) in at.iter().enumerate() {
        let from = (t * RATE) as usize;
        let level = [1.0, 0.5, 0.8][i];
        x.iter_mut().skip(from).zip(&ring).for_each(|(x, r)| *x += level * r);
    }
    let x = with_noise(&x, YARDSTICK.noise(50.0), 3);
    let taps = find_taps(RATE, &x, &TapOptions::default()).unwrap();
    assert_eq!(taps.len(), 3, "{taps:?}");
    for (tap, t) in taps.iter().zip(at) {
        assert!((tap.onset_s - t).abs() < 0.0015, "{tap:?}");
        assert!(tap.start_s >= t && tap.bounces == 0, "{tap:?}");
    }
    let sound = Sound::from_samples(RATE, vec![x]).unwrap();
    let found = recording_modes(&sound, &TapOptions::default(), &ModeOptions::default()).unwrap();
    for tap in &found.taps {
        let modes = &tap.found.as_ref().unwrap().modes;
        assert_eq!(modes.len(), 6, "{modes:?}");
        for k in 0..6 {
            assert!((modes[k].frequency_hz - YARDSTICK.f[k]).abs() < 5.0 * modes[k].u_frequency_hz, "{:?}", modes[k]);
            assert!((modes[k].decay_per_s - YARDSTICK.decay(k)).abs() < 5.0 * modes[k].u_decay_per_s, "{:?}", modes[k]);
        }
    }
}

fn written(channels: &[Vec<i32>], rate: u32, bits: u16) -> Vec<u8> {
    let spec = hound::WavSpec {
        channels: channels.len() as u16,
        sample_rate: rate,
        bits_per_sample: bits,
        sample_format: hound::SampleFormat::Int,
    };
    let mut out = std::io::Cursor::new(Vec::new());
    let mut w = hound::WavWriter::new(&mut out, spec).unwrap();
    for k in 0..channels[0].len() {
        for c in channels {
            w.write_sample(c[k]).unwrap();
        }
    }
    w.finalize().unwrap();
    out.into_inner()
}

/// Files of every depth written by an independent library read back to the sample; 24 bits and more are its extensible form.
#[test]
fn files_of_another_writer_read_back() {
    for (bits, rate) in [(8u16, 22050), (16, 44100), (24, 96000), (32, 48000)] {
        let full = 2f64.powi(i32::from(bits) - 1);
        let left: Vec<i32> = (0..500).map(|k| ((0.9 * (0.1 * f64::from(k)).sin()) * (full - 1.0)) as i32).collect();
        let right: Vec<i32> = left.iter().map(|v| -v / 2).collect();
        for channels in [vec![left.clone()], vec![left.clone(), right.clone()]] {
            let s = Sound::from_wav(&written(&channels, rate, bits), "x.wav").unwrap();
            assert_eq!((s.rate_hz(), s.bits(), s.channels().len()), (f64::from(rate), bits, channels.len()));
            assert!(s.notes().is_empty(), "{:?}", s.notes());
            for (got, given) in s.channels().iter().zip(&channels) {
                assert!(got.iter().zip(given).all(|(g, v)| *g == f64::from(*v) / full), "{bits} bit");
            }
        }
    }
    let spec = hound::WavSpec { channels: 1, sample_rate: 48000, bits_per_sample: 32, sample_format: hound::SampleFormat::Float };
    let mut out = std::io::Cursor::new(Vec::new());
    let mut w = hound::WavWriter::new(&mut out, spec).unwrap();
    (0..100).for_each(|k| w.write_sample(k as f32 / 128.0).unwrap());
    w.finalize().unwrap();
    let s = Sound::from_wav(&out.into_inner(), "float.wav").unwrap();
    assert!(s.channels()[0].iter().enumerate().all(|(k, v)| *v == k as f64 / 128.0));
}

/// IEC 61260-1:2014, base-ten octave and third-octave mid-bands (standing: from memory; the formula is the definition,
/// the rounded names 125, 250, 500, 1000 and 160, 200, 250, 315 are in common print).
#[test]
fn mid_band_frequencies() {
    let near = |got: Vec<f64>, want: &[f64]| {
        assert_eq!(got.len(), want.len(), "{got:?}");
        assert!(got.iter().zip(want).all(|(g, w)| (g / w - 1.0).abs() < 0.012), "{got:?}");
    };
    let mid = |w, lo, hi| bands(w, lo, hi).unwrap().iter().map(|b| b.middle_hz).collect::<Vec<_>>();
    near(mid(BandWidth::Octave, 80.0, 1500.0), &[125.0, 250.0, 500.0, 1000.0]);
    near(mid(BandWidth::ThirdOctave, 140.0, 360.0), &[160.0, 200.0, 250.0, 315.0]);
    let b = bands(BandWidth::Octave, 80.0, 1500.0).unwrap()[0];
    assert!((b.high_hz / b.low_hz - 10f64.powf(0.3)).abs() < 1e-12);
}

/// One mode alone in its band falls by 60 dB in ln(1000) / decay, by definition.
#[test]
fn decay_time_of_a_lone_mode() {
    let (f, decay) = (500.0, 12.0);
    let clean: Vec<f64> = (0..LEN).map(|n| n as f64 / RATE).map(|t| (-decay * t).exp() * (2.0 * PI * f * t).sin()).collect();
    let y = with_noise(&clean, 1e-3, 1);
    let octaves = bands(BandWidth::Octave, 300.0, 800.0).unwrap();
    let d = band_decays(RATE, &y, &octaves).unwrap();
    let t60 = d[0].decay_time_s.unwrap();
    assert!((t60 / (1000.0_f64.ln() / decay) - 1.0).abs() < 0.03, "{d:?}");
    let m = tap_modes(RATE, &y, &ModeOptions::default()).unwrap().modes;
    assert_eq!(m.len(), 1);
    assert!((m[0].decay_time_s() * decay / 1000.0_f64.ln() - 1.0).abs() < 0.003);
}
