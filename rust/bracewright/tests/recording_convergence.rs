//! With the noise the error goes: nothing but noise stands between the estimate and the truth.

#![allow(clippy::unwrap_used)]

use std::f64::consts::PI;

use bracewright::recording::{ModeOptions, tap_modes};
use rand::SeedableRng;
use rand_distr::{Distribution, StandardNormal};
use rand_xoshiro::Xoshiro256PlusPlus;

const F: [f64; 3] = [110.0, 220.0, 226.6];
const Q: [f64; 3] = [25.0, 40.0, 45.0];

/// Largest error of frequency and of decay, both in Hz, of three modes in noise of that deviation at that rate.
fn error(rate: f64, sd: f64) -> f64 {
    let mut g = Xoshiro256PlusPlus::seed_from_u64(11);
    let x: Vec<f64> = (0..(1.5 * rate) as usize)
        .map(|n| {
            let t = n as f64 / rate;
            let e: f64 = StandardNormal.sample(&mut g);
            (0..3).map(|k| (-PI * F[k] / Q[k] * t).exp() * (2.0 * PI * F[k] * t).cos()).sum::<f64>() + sd * e
        })
        .collect();
    let m = tap_modes(rate, &x, &ModeOptions::default()).unwrap().modes;
    assert_eq!(m.len(), 3, "{rate} Hz, noise {sd}: {m:?}");
    (0..3).map(|k| (m[k].frequency_hz - F[k]).abs().max((m[k].decay_per_s / PI - F[k] / Q[k]).abs())).fold(0.0, f64::max)
}

/// Twenty decibels less noise, ten times less error, at every usual rate.
#[test]
fn error_falls_with_the_noise() {
    for rate in [8000.0, 22050.0, 44100.0, 48000.0, 96000.0, 192_000.0] {
        let e: Vec<f64> = [1e-2, 1e-3, 1e-4].into_iter().map(|sd| error(rate, sd)).collect();
        assert!(e[0] < 0.2, "{rate} Hz: {e:?}");
        for w in e.windows(2) {
            assert!((w[0] / w[1] - 10.0).abs() < 3.0, "{rate} Hz: {e:?}");
        }
    }
}

/// What the filters leave of the fold is below a ten-thousandth of a hertz.
#[test]
fn without_noise_the_filters_set_the_floor() {
    for rate in [44100.0, 48000.0] {
        let e = error(rate, 1e-9);
        assert!(e < 1e-4, "{rate} Hz: {e}");
    }
}

/// What is allowed for neighbours and for a misfit that is no parabola goes with the noise: stated uncertainties of a lone mode come
/// down to the Cramer-Rao deviations of a long record at a small decay, sd of decay = 2 pi sd of frequency = 2 d / sqrt(a^2 rate /
/// (4 d sd^2)) (closed form of the Fisher matrix over amplitude, phase, frequency and decay), and are never below them.
#[test]
fn stated_uncertainties_come_down_to_the_bound() {
    let (rate, f, q) = (16000.0, 180.0, 30.0);
    let decay = PI * f / q;
    let excess = |sd: f64| {
        let bound = 2.0 * decay * sd / (rate / (4.0 * decay)).sqrt();
        let runs = 60;
        let mut sum = 0.0;
        for seed in 0..runs {
            let mut g = Xoshiro256PlusPlus::seed_from_u64(seed);
            let x: Vec<f64> = (0..16000)
                .map(|n| {
                    let t = n as f64 / rate;
                    let e: f64 = StandardNormal.sample(&mut g);
                    (-decay * t).exp() * (2.0 * PI * f * t).cos() + sd * e
                })
                .collect();
            let m = tap_modes(rate, &x, &ModeOptions::default()).unwrap().modes;
            assert_eq!(m.len(), 1, "{m:?}");
            sum += 0.5 * (m[0].u_decay_per_s + 2.0 * PI * m[0].u_frequency_hz) / bound;
        }
        sum / runs as f64
    };
    let e: Vec<f64> = [0.3, 0.1, 1e-2, 1e-3].into_iter().map(excess).collect();
    assert!(e.iter().all(|e| *e > 0.98) && e[0] < 1.7 && e[2] < 1.08 && e[3] < 1.03, "{e:?}");
}
