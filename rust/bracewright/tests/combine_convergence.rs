//! Other ways to the same figure, refined: a finite-difference solution of Fick's law goes to the series of the glue water, and
//! uncertainties fall with the number of readings.

#![allow(clippy::unwrap_used)]

use std::f64::consts::PI;

use bracewright::combine::{GlueUp, RepeatOptions, repeated, rest};
use rand::SeedableRng;
use rand_distr::{Distribution, StandardNormal};
use rand_xoshiro::Xoshiro256PlusPlus;

/// Water left in a slab of unit thickness and diffusion after `time`, all of it at `place` first; explicit, faces held at 0.
fn by_differences(place: f64, time: f64, cells: usize) -> f64 {
    let dx = 1.0 / cells as f64;
    let steps = (time / (0.25 * dx * dx)).ceil() as usize;
    let dt = time / steps as f64;
    let mut c = vec![0.0; cells + 1];
    c[(place * cells as f64).round() as usize] = 1.0 / dx;
    for _ in 0..steps {
        let old = c.clone();
        for i in 1..cells {
            c[i] = old[i] + dt / (dx * dx) * (old[i - 1] - 2.0 * old[i] + old[i + 1]);
        }
    }
    c.iter().sum::<f64>() * dx
}

#[test]
fn differences_go_to_the_series() {
    for (first, second) in [(5.0, 5.0), (3.0, 9.0), (2.0, 18.0)] {
        let glue = GlueUp {
            glue_g: 1.0,
            water_percent: 50.0,
            area_mm2: 5000.0,
            first_mm: first,
            second_mm: second,
            density_kg_m3: 420.0,
            mc_percent: 8.0,
            diffusion_mm2_per_day: Some(10.0),
            slope_percent: 1.6,
            allowed_percent: 0.1,
        };
        let w = glue.water().unwrap();
        for over_tau in [0.2, 1.0] {
            let want = w.left_after(over_tau * w.time_constant_days).unwrap();
            let errors: Vec<f64> =
                [20, 40, 80].into_iter().map(|n| (by_differences(w.place, over_tau / (PI * PI), n) - want).abs()).collect();
            assert!(errors[2] < 2e-3 * want, "{errors:?} of {want}");
            assert!(errors[0] > 3.0 * errors[1] && errors[1] > 3.0 * errors[2], "second order: {errors:?}");
        }
    }
}

/// Sixteen times the seats: a quarter of the uncertainty, and the fifth of a mean over many rows.
#[test]
fn uncertainty_falls_with_the_root_of_the_seats() {
    let mut g = Xoshiro256PlusPlus::seed_from_u64(1);
    let mut mean_u = |seats: usize| {
        let rows = 300;
        let sum: f64 = (0..rows)
            .map(|_| {
                let readings: Vec<Vec<f64>> = (0..seats)
                    .map(|_| {
                        let seat: f64 = StandardNormal.sample(&mut g);
                        (0..3)
                            .map(|_| {
                                let e: f64 = StandardNormal.sample(&mut g);
                                1.0 + 0.01 * seat + 0.005 * e
                            })
                            .collect()
                    })
                    .collect();
                repeated(&readings, &RepeatOptions::default()).unwrap().with_all.u.powi(2)
            })
            .sum();
        (sum / rows as f64).sqrt()
    };
    let ratio = mean_u(5) / mean_u(80);
    assert!((ratio / 4.0 - 1.0).abs() < 0.08, "{ratio}");
}

/// A finer scale narrows the rate towards its closed form.
#[test]
fn a_finer_scale_narrows_the_rate() {
    let days: Vec<f64> = (0..8).map(f64::from).collect();
    let mass: Vec<f64> = days.iter().map(|t| 300.0 + 4.0 * (-t / 6.0).exp()).collect();
    let rate = -100.0 * 4.0 / 6.0 * (-7.0_f64 / 6.0).exp() / (300.0 + 4.0 * (-7.0_f64 / 6.0).exp());
    let widths: Vec<f64> = [0.1, 0.03, 0.01, 0.003]
        .into_iter()
        .map(|u| {
            let r = rest(&days, &mass, u, 0.1).unwrap();
            let (low, high) = r.rate_90_percent_per_day;
            assert!(low <= rate && rate <= high, "{u}: {rate} in {low} to {high}");
            high - low
        })
        .collect();
    assert!(widths.windows(2).all(|w| w[1] < 0.6 * w[0]), "{widths:?}");
}
