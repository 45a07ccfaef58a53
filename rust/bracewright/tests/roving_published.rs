//! Roving taps against closed forms: a free-free beam of Euler and Bernoulli, whose shapes are
//! cosh bx + cos bx - s (sinh bx + sin bx) with beta L = 4.7300, 7.8532, 10.9956, 14.1372 (standard; rows B-UNI-FF of
//! checks.csv, recomputed 12 digits), with modal mass a quarter of its mass for a shape of largest value 1 at the ends.

#![allow(clippy::unwrap_used)]

use std::f64::consts::PI;

use bracewright::roving::{
    Estimator, FrfSet, Moving, Response, RovingModes, RovingOptions, frf, mac, roving_decays, roving_frfs,
};
use rand::SeedableRng;
use rand_distr::{Distribution, StandardNormal};
use rand_xoshiro::Xoshiro256PlusPlus;

const BETA: [f64; 4] = [4.730_040_744_863, 7.853_204_624_096, 10.995_607_838_002, 14.137_165_491_257];
const LOSS: [f64; 4] = [0.012, 0.015, 0.013, 0.016];
const MASS_KG: f64 = 0.0236;
const FIRST_HZ: f64 = 92.0;
const LENGTH_MM: f64 = 420.0;
const N: usize = 13;

/// Shape `k` at a part `x` of the length, 1 at the near end.
fn shape(k: usize, x: f64) -> f64 {
    let b = BETA[k];
    let s = (b.cosh() - b.cos()) / (b.sinh() - b.sin());
    0.5 * ((b * x).cosh() + (b * x).cos() - s * ((b * x).sinh() + (b * x).sin()))
}

/// Undamped angular frequency, decay rate, damped angular frequency.
fn mode(k: usize) -> (f64, f64, f64) {
    let w = 2.0 * PI * FIRST_HZ * (BETA[k] / BETA[0]).powi(2);
    let decay = 0.5 * LOSS[k] * w;
    (w, decay, (w * w - decay * decay).sqrt())
}

fn place(p: usize) -> f64 {
    p as f64 / (N - 1) as f64
}

fn points() -> Vec<(f64, f64)> {
    (0..N).map(|p| (LENGTH_MM * place(p), 0.0)).collect()
}

/// Receptance times (i omega)^power between two places, of the four modes and the beam's rigid motion; m/N.
fn response(x: f64, fixed: f64, hz: f64, power: i32) -> (f64, f64) {
    let w = 2.0 * PI * hz;
    // rigid: translation and rotation about the middle, of a uniform bar
    let rigid = -(1.0 + 12.0 * (x - 0.5) * (fixed - 0.5)) / (MASS_KG * w * w);
    let (mut re, mut im) = (rigid, 0.0);
    for k in 0..4 {
        let (w0, decay, _) = mode(k);
        let top = shape(k, x) * shape(k, fixed) / (0.25 * MASS_KG);
        let (a, b) = (w0 * w0 - w * w, 2.0 * decay * w);
        re += top * a / (a * a + b * b);
        im -= top * b / (a * a + b * b);
    }
    for _ in 0..power {
        (re, im) = (-w * im, w * re);
    }
    (re, im)
}

fn set(response_of: Response, power: i32, noise: f64, seed: u64) -> FrfSet {
    let hz: Vec<f64> = (20..=1800).map(|k| f64::from(k) * 0.5).collect();
    let mut g = Xoshiro256PlusPlus::seed_from_u64(seed);
    let (mut re, mut im) = (Vec::new(), Vec::new());
    for p in 0..N {
        let rows: Vec<(f64, f64)> = hz.iter().map(|h| response(place(p), 0.0, *h, power)).collect();
        let inside = |r: &(f64, f64)| r.0.hypot(r.1);
        let size = rows.iter().skip(120).map(inside).fold(0.0, f64::max);
        let mut draw = |v: f64| {
            let e: f64 = StandardNormal.sample(&mut g);
            v + noise * size * e
        };
        re.push(rows.iter().map(|r| draw(r.0)).collect());
        im.push(rows.iter().map(|r| draw(r.1)).collect());
    }
    FrfSet { points_mm: points(), hz, re, im, response: response_of, calibrated: true, driving: Some(0) }
}

fn options() -> RovingOptions {
    RovingOptions { low_hz: 60.0, high_hz: 895.0, most: 8 }
}

fn check(found: &RovingModes, modes: usize, within_hz: f64, within_decay: f64, least_mac: f64) {
    assert_eq!(found.modes.len(), modes, "{:?}", found.modes.iter().map(|m| m.frequency_hz).collect::<Vec<_>>());
    for (k, m) in found.modes.iter().enumerate() {
        let (_, decay, w) = mode(k);
        assert!((m.frequency_hz - w / (2.0 * PI)).abs() < within_hz, "mode {k}: {} for {}", m.frequency_hz, w / (2.0 * PI));
        assert!((m.decay_per_s / decay - 1.0).abs() < within_decay, "mode {k}: {} for {decay}", m.decay_per_s);
        let want: Vec<f64> = (0..N).map(|p| shape(k, place(p))).collect();
        let got = mac(&m.shape, &want).unwrap();
        assert!(got > least_mac, "mode {k}: MAC {got}");
        assert!(m.collinearity > 0.999, "mode {k}: {}", m.collinearity);
    }
}

/// Three forms of the response, no noise: four modes with shapes, and the modal mass, a quarter of the bar's.
#[test]
fn a_free_beam_from_frequency_responses() {
    for (kind, power) in [(Response::Receptance, 0), (Response::Mobility, 1), (Response::Accelerance, 2)] {
        let found = roving_frfs(&set(kind, power, 0.0, 1), &options()).unwrap();
        check(&found, 4, 0.01, 1e-3, 0.99999);
        for m in &found.modes {
            let mass = m.modal_mass_g.unwrap();
            assert!((mass / (250.0 * MASS_KG) - 1.0).abs() < 2e-3, "{kind:?} {}: {mass}", m.frequency_hz);
        }
    }
}

/// The same with noise of half a percent of each point's peak: truth inside three stated uncertainties, MAC above 0.999.
#[test]
fn a_free_beam_with_noise() {
    let mut outside = 0;
    for seed in 0..6 {
        let found = roving_frfs(&set(Response::Accelerance, 2, 0.005, seed), &options()).unwrap();
        check(&found, 4, 0.1, 0.03, 0.999);
        for (k, m) in found.modes.iter().enumerate() {
            let (_, decay, w) = mode(k);
            outside += usize::from((m.frequency_hz - w / (2.0 * PI)).abs() > 2.0 * m.u_frequency_hz);
            outside += usize::from((m.decay_per_s - decay).abs() > 2.0 * m.u_decay_per_s);
            let mass = m.modal_mass_g.unwrap();
            assert!((mass - 250.0 * MASS_KG).abs() < 5.0 * m.u_modal_mass_g.unwrap() + 0.005 * mass, "{mass}");
            // whichever end the noise made the largest has the value 1
            let sign = (m.shape[0] * shape(k, 0.0)).signum();
            outside += (0..N)
                .filter(|p| (sign * m.shape[*p] - shape(k, place(*p)) / shape(k, 0.0)).abs() > 2.0 * m.u_shape[*p] + 0.002)
                .count();
        }
    }
    // 6 draws of 4 modes of 15 figures; 5 % of them lie beyond two uncertainties
    assert!(outside < 40, "{outside} of 360");
}

/// Free decays at the points, as a fixed sensor at `sensor` hears them.
fn decays(rate_hz: f64, seconds: f64, sensor: f64, strength: &[f64], noise: f64, seed: u64) -> Vec<Vec<f64>> {
    let mut g = Xoshiro256PlusPlus::seed_from_u64(seed);
    (0..N)
        .map(|p| {
            (0..(seconds * rate_hz) as usize)
                .map(|n| {
                    let t = n as f64 / rate_hz;
                    let e: f64 = StandardNormal.sample(&mut g);
                    let ring: f64 = (0..4)
                        .map(|k| {
                            let (_, decay, w) = mode(k);
                            shape(k, place(p)) * shape(k, sensor) * (-decay * t).exp() * (w * t).sin()
                        })
                        .sum();
                    strength[p] * ring + noise * e
                })
                .collect()
        })
        .collect()
}

fn one_tap(list: Vec<Vec<f64>>) -> Vec<Vec<Vec<f64>>> {
    list.into_iter().map(|r| vec![r]).collect()
}

/// Recordings of even taps, without and with noise 40 dB down.
#[test]
fn a_free_beam_from_recordings() {
    for (noise, hz, decay, least) in [(0.0, 0.005, 1e-3, 0.9999), (0.01, 0.1, 0.03, 0.999)] {
        let taps = one_tap(decays(4000.0, 1.2, 0.0, &[1.0; N], noise, 4));
        let found = roving_decays(&points(), 4000.0, &taps, None, Moving::Tap, &options()).unwrap();
        check(&found, 4, hz, decay, least);
        assert!(found.words[0].contains("how hard each tap was is mixed into the shapes"), "{:?}", found.words);
        assert!(found.modes.iter().all(|m| m.modal_mass_g.is_none()));
    }
}

/// Uneven taps: with a roving sensor a reference channel puts them right; without one they stand in the shape, and with a
/// roving tap a reference cannot help, as the words say.
#[test]
fn uneven_taps() {
    let strength: Vec<f64> = (0..N).map(|p| 1.0 + 0.6 * ((p * 7 % 5) as f64 - 2.0) / 2.0).collect();
    let moving = one_tap(decays(4000.0, 1.2, 0.0, &strength, 0.002, 4));
    // the reference sits at a fixed place and hears every blow, struck at 0.05 of the length, as strong as it was
    let fixed: Vec<Vec<f64>> =
        (0..N).map(|p| decays(4000.0, 1.2, 0.05, &[strength[p]; N], 0.002, 90 + p as u64)[0].clone()).collect();
    let fixed = one_tap(fixed);
    let found = roving_decays(&points(), 4000.0, &moving, Some(&fixed), Moving::Sensor, &options()).unwrap();
    check(&found, 4, 0.05, 0.02, 0.999);
    let mixed = roving_decays(&points(), 4000.0, &moving, None, Moving::Sensor, &options()).unwrap();
    let want: Vec<f64> = (0..N).map(|p| shape(0, place(p))).collect();
    assert!(mac(&mixed.modes[0].shape, &want).unwrap() < 0.95);
    assert!(mixed.words[0].contains("no reference channel"));
    let tapped = roving_decays(&points(), 4000.0, &moving, Some(&fixed), Moving::Tap, &options()).unwrap();
    assert!(tapped.words[0].contains("cannot tell how hard a roving tap was"));
}

/// Blows with a force channel: a half sine of 1 ms, the mobility's own impulse response convolved with it; averaged over
/// blows of uneven strength, the estimate follows the closed form.
#[test]
fn frequency_response_from_blows() {
    let rate = 8000.0;
    let n = 16_000;
    let blow: Vec<f64> = (0..8).map(|k| (PI * (k as f64 + 0.5) / 8.0).sin()).collect();
    let ring: Vec<f64> = (0..n)
        .map(|i| {
            let t = i as f64 / rate;
            (0..4)
                .map(|k| {
                    let (_, decay, w) = mode(k);
                    let top = shape(k, 0.0) * shape(k, 0.3) / (0.25 * MASS_KG * w);
                    top * (-decay * t).exp() * (w * t).sin()
                })
                .sum::<f64>()
        })
        .collect();
    let mut g = Xoshiro256PlusPlus::seed_from_u64(2);
    let (mut force, mut motion) = (Vec::new(), Vec::new());
    for strength in [3.0, 5.0, 4.0, 6.0] {
        let mut f = vec![0.0; n];
        (0..8).for_each(|k| f[40 + k] = strength * blow[k]);
        let y: Vec<f64> = (0..n)
            .map(|i| {
                let e: f64 = StandardNormal.sample(&mut g);
                let clean: f64 =
                    (0..8).filter(|k| i >= 40 + k).map(|k| strength * blow[k] * ring[i - 40 - k]).sum::<f64>() / rate;
                clean + 1e-9 * e
            })
            .collect();
        force.push(f);
        motion.push(y);
    }
    let h = frf(rate, &force, &motion, Estimator::H1, 900.0).unwrap();
    let h2 = frf(rate, &force, &motion, Estimator::H2, 900.0).unwrap();
    assert!(h.words.is_empty(), "{:?}", h.words);
    for k in 0..4 {
        let (_, decay, w) = mode(k);
        let at = h.hz.iter().position(|v| *v >= w / (2.0 * PI)).unwrap();
        let w = 2.0 * PI * h.hz[at];
        let (mut re, mut im) = (0.0, 0.0);
        for j in 0..4 {
            let (w0, decay, wd) = mode(j);
            let top = shape(j, 0.0) * shape(j, 0.3) / (0.25 * MASS_KG);
            let (a, b) = (w0 * w0 - w * w, 2.0 * decay * w);
            (re, im) = (re + top * a / (a * a + b * b), im - top * b / (a * a + b * b));
            let _ = wd;
        }
        // sampling an impulse response at 8 kHz leaves its aliases in it, a fraction of a percent at a peak
        let off = (h.re[at] - re).hypot(h.im[at] - im) / re.hypot(im);
        assert!(off < 0.01, "mode {k} ({decay}): {off}");
        assert!(h.coherence.as_ref().unwrap()[at] > 0.999);
        assert!((h2.re[at] / h.re[at] - 1.0).abs() < 0.01);
    }
    assert!(frf(rate, &force[..1], &motion[..1], Estimator::H1, 900.0).unwrap().coherence.is_none());
}
