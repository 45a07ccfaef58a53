//! Laws of combining: budgets agree with a Monte Carlo of the same reading, order does not matter, suspects are shown,
//! fused values move with their inputs, and nothing returns NaN.

#![allow(clippy::unwrap_used)]

use bracewright::Wood;
use bracewright::combine::{
    Budget, BudgetLine, Climate, CorrectionOptions, Evaluation, GlueUp, Measured, Method, RepeatOptions, Rest, fuse, repeated,
    rest, robust_mean, to_reference,
};
use proptest::prelude::*;
use rand::SeedableRng;
use rand_distr::{Distribution, StandardNormal, StudentT, Uniform};
use rand_xoshiro::Xoshiro256PlusPlus;

fn generator(seed: u64) -> Xoshiro256PlusPlus {
    Xoshiro256PlusPlus::seed_from_u64(seed)
}

fn normal(g: &mut Xoshiro256PlusPlus) -> f64 {
    StandardNormal.sample(g)
}

fn sd(v: &[f64]) -> f64 {
    let m = v.iter().sum::<f64>() / v.len() as f64;
    (v.iter().map(|x| (x - m).powi(2)).sum::<f64>() / (v.len() - 1) as f64).sqrt()
}

/// Root mean square over many rows of readings of the stated u, beside the true error of the mean: within 5 %. And the 95 %
/// intervals hold the truth in 93.5 to 96.5 % of them, though seats are few (Student's t).
#[test]
fn nested_readings_agree_with_a_monte_carlo_of_themselves() {
    let mut g = generator(3);
    let (within, between, step, truth) = (0.006, 0.010, 0.01, 0.8123);
    let round = |v: f64| (v / step).round() * step;
    let (mut square, mut stated, mut held) = (0.0, 0.0, 0);
    let rows = 6000;
    for _ in 0..rows {
        let seats: Vec<Vec<f64>> = [3, 4, 2, 3]
            .into_iter()
            .map(|n| {
                let seat = truth + between * normal(&mut g);
                (0..n).map(|_| round(seat + within * normal(&mut g))).collect()
            })
            .collect();
        let options = RepeatOptions { resolution: 0.0, u_calibration: 0.0, ..RepeatOptions::default() };
        let Ok(r) = repeated(&seats, &options) else { continue };
        square += (r.with_all.value - truth).powi(2);
        stated += r.with_all.u.powi(2);
        held += usize::from(r.with_all.interval.0 <= truth && truth <= r.with_all.interval.1);
    }
    let ratio = (stated / square).sqrt();
    assert!((ratio - 1.0).abs() < 0.05, "stated over true {ratio}");
    let cover = held as f64 / rows as f64;
    assert!((0.935..0.965).contains(&cover), "{cover}");
}

/// A whole reading: scatter, resolution, calibration and a correction for climate by numeric draws of every input.
#[test]
fn a_corrected_modulus_agrees_with_a_monte_carlo() {
    let wood = Wood::published("Sitka spruce").unwrap();
    let (u_e, u_mc, u_t) = (0.12, 0.8, 1.5);
    let from = Climate::new(8.5, u_mc, 26.0, u_t).unwrap();
    let options = CorrectionOptions { u_coefficients: 0.0, ..CorrectionOptions::default() };
    let (to_mc, to_t) = (12.0, 20.0);
    for what in [Measured::ModulusAlong, Measured::ShearModulus, Measured::Deflection { ring_angle_deg: 80.0 }] {
        let stated = to_reference(&wood, what, 11.0, u_e, &from, to_mc, to_t, &options).unwrap();
        let mut g = generator(8);
        let draws: Vec<f64> = (0..20_000)
            .map(|_| {
                let there = Climate::new(8.5 + u_mc * normal(&mut g), 0.0, 26.0 + u_t * normal(&mut g), 0.0).unwrap();
                let e = 11.0 + u_e * normal(&mut g);
                let exact = CorrectionOptions { u_coefficients: 0.0, ..CorrectionOptions::default() };
                to_reference(&wood, what, e, 0.01, &there, to_mc, to_t, &exact).unwrap().budget.value
            })
            .collect();
        let ratio = stated.budget.u / sd(&draws);
        assert!((ratio - 1.0).abs() < 0.05, "{what:?}: {ratio}");
    }
}

/// A budget of a normal, a rectangular and a Student share against draws of the same (JCGM 101 with a scaled t for the type A).
#[test]
fn a_budget_agrees_with_draws() {
    let line = |u: f64, c: f64, dof| BudgetLine::new("x", 0.0, u, c, dof, Evaluation::B).unwrap();
    let b = Budget::new(
        5.0,
        "mm",
        vec![line(0.02, 1.5, None), line(0.1 / 12.0_f64.sqrt(), 1.0, None), line(0.01, -2.0, Some(12.0))],
        0.95,
    );
    let b = b.unwrap();
    let mut g = generator(5);
    let (flat, t) = (Uniform::new(-0.05, 0.05).unwrap(), StudentT::new(12.0).unwrap());
    let draws: Vec<f64> =
        (0..200_000).map(|_| 5.0 + 1.5 * 0.02 * normal(&mut g) + flat.sample(&mut g) - 2.0 * 0.01 * t.sample(&mut g)).collect();
    assert!((b.u / sd(&draws) - 1.0).abs() < 0.05);
    let held = draws.iter().filter(|v| b.interval.0 <= **v && **v <= b.interval.1).count() as f64 / draws.len() as f64;
    assert!((held - 0.95).abs() < 0.015, "{held}");
}

/// 90 % intervals of the rate hold the truth about that often, for drying and for resting stock; "at rest" is seldom said
/// wrongly.
#[test]
fn the_rate_of_drying_is_held() {
    let mut g = generator(11);
    for (amplitude, tau, u) in [(3.0, 4.0, 0.01), (1.0, 9.0, 0.02), (0.3, 20.0, 0.02), (8.0, 2.5, 0.05)] {
        let days: Vec<f64> = (0..7).map(f64::from).collect();
        let truth = |t: f64| 250.0 + amplitude * (-t / tau).exp();
        let rate = -100.0 * amplitude / tau * (-6.0_f64 / tau).exp() / truth(6.0);
        let (mut held, mut wrong) = (0, 0);
        let rows = 400;
        for _ in 0..rows {
            let mass: Vec<f64> = days.iter().map(|t| truth(*t) + u * normal(&mut g)).collect();
            let r = rest(&days, &mass, u, 0.1).unwrap();
            let (low, high) = r.rate_90_percent_per_day;
            held += usize::from(low <= rate && rate <= high);
            wrong += usize::from(match r.answer {
                Rest::AtRest => rate.abs() > 0.1,
                Rest::NotYet => rate.abs() < 0.1,
                Rest::CannotTell => false,
            });
        }
        let (held, wrong) = (held as f64 / rows as f64, wrong as f64 / rows as f64);
        assert!(held > 0.82, "tau {tau}: {held}");
        assert!(wrong < 0.10, "tau {tau}: {wrong}");
    }
}

fn readings() -> impl Strategy<Value = Vec<Vec<f64>>> {
    prop::collection::vec(prop::collection::vec(0.5..1.5_f64, 1..7), 1..7)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    #[test]
    fn repeats_do_not_mind_order_shift_or_scale(mut seats in readings(), shift in -50.0..50.0_f64, scale in 0.1..10.0_f64) {
        let o = RepeatOptions { resolution: 0.001, ..RepeatOptions::default() };
        let a = repeated(&seats, &o).unwrap();
        prop_assert!(a.with_all.u.is_finite() && a.with_all.interval.0 < a.with_all.interval.1);
        let moved: Vec<Vec<f64>> = seats.iter().map(|s| s.iter().map(|v| scale * v + shift).collect()).collect();
        let b = repeated(&moved, &RepeatOptions { resolution: 0.001 * scale, ..o.clone() }).unwrap();
        prop_assert!((b.with_all.u / (scale * a.with_all.u) - 1.0).abs() < 1e-6);
        prop_assert!((b.with_all.value - scale * a.with_all.value - shift).abs() < 1e-9 * (1.0 + shift.abs()));
        seats.reverse();
        for s in &mut seats { s.reverse(); }
        let c = repeated(&seats, &o).unwrap();
        prop_assert!((c.with_all.u - a.with_all.u).abs() < 1e-12);
        prop_assert_eq!(c.suspects.len(), a.suspects.len());
    }

    #[test]
    fn one_bad_reading_is_shown_and_does_not_carry_the_answer_away(
        seed in 0..10_000_u64, off in prop_oneof![Just(-1.0), Just(1.0)], place in 0..6_usize,
    ) {
        let mut g = generator(seed);
        let mut seats: Vec<Vec<f64>> = (0..3).map(|_| (0..6).map(|_| 0.8 + 0.005 * normal(&mut g)).collect()).collect();
        let clean = repeated(&seats, &RepeatOptions::default()).unwrap();
        seats[1][place] += off * 0.2;
        let r = repeated(&seats, &RepeatOptions::default()).unwrap();
        prop_assert!(r.suspects.iter().any(|s| s.seat == 1 && s.index == Some(place)), "{:?}", r.suspects);
        let named = format!("reading {} of seat 2", place + 1);
        prop_assert!(r.words.iter().any(|w| w.contains(&named)));
        prop_assert!((r.without_suspects.value - clean.with_all.value).abs() < 0.008);
        prop_assert!((r.with_all.value - clean.with_all.value).abs() > 0.008);
    }

    #[test]
    fn the_robust_mean_stays_inside(values in prop::collection::vec(-1e6..1e6_f64, 3..30)) {
        let r = robust_mean(&values).unwrap();
        let (low, high) = values.iter().fold((f64::MAX, f64::MIN), |(l, h), v| (l.min(*v), h.max(*v)));
        prop_assert!(r.mean >= low && r.mean <= high && r.sd.is_finite());
    }

    #[test]
    fn fused_values_lie_between_independent_methods(
        values in prop::collection::vec((1.0..20.0_f64, 0.01..1.0_f64), 1..6), enlarge in any::<bool>(),
    ) {
        let m: Vec<Method> = values.iter().enumerate().map(|(i, (v, u))| Method::new(&format!("m{i}"), *v, *u).unwrap()).collect();
        let f = fuse(&m, None, 0.95, enlarge).unwrap();
        let (low, high) = values.iter().fold((f64::MAX, f64::MIN), |(l, h), v| (l.min(v.0), h.max(v.0)));
        prop_assert!(f.value >= low - 1e-9 && f.value <= high + 1e-9);
        prop_assert!((f.weights.iter().sum::<f64>() - 1.0).abs() < 1e-9);
        let least = values.iter().map(|v| v.1).fold(f64::MAX, f64::min);
        prop_assert!(f.enlarged || f.u <= least * (1.0 + 1e-12));
        prop_assert!(f.chance >= 0.0 && f.chance <= 1.0);
    }

    #[test]
    fn going_to_a_climate_and_back_returns(e in 5.0..20.0_f64, mc in 5.0..20.0_f64, to in 5.0..20.0_f64, t in 5.0..35.0_f64) {
        let wood = Wood::published("Sitka spruce").unwrap();
        let o = CorrectionOptions { u_coefficients: 0.0, ..CorrectionOptions::default() };
        for what in [Measured::ModulusAlong, Measured::ShearModulus, Measured::ModulusAcross] {
            let there = to_reference(&wood, what, e, 0.1, &Climate::new(mc, 0.0, t, 0.0).unwrap(), to, 20.0, &o).unwrap();
            let back = to_reference(&wood, what, there.budget.value, 0.1, &Climate::new(to, 0.0, 20.0, 0.0).unwrap(), mc, t, &o).unwrap();
            prop_assert!((back.budget.value / e - 1.0).abs() < 1e-9);
        }
    }

    #[test]
    fn weighings_never_break(steps in prop::collection::vec((0.01..5.0_f64, 50.0..52.0_f64), 2..12), u in 0.001..1.0_f64) {
        let mut t = 0.0;
        let days: Vec<f64> = steps.iter().map(|s| { t += s.0; t }).collect();
        let mass: Vec<f64> = steps.iter().map(|s| s.1).collect();
        let r = rest(&days, &mass, u, 0.1).unwrap();
        prop_assert!(r.chance_at_rest >= 0.0 && r.chance_at_rest <= 1.0);
        prop_assert!(r.rate_percent_per_day.is_finite() && r.days_until_rest.is_finite() && r.days_until_rest_90.1.is_finite());
        prop_assert!(r.rate_90_percent_per_day.0 <= r.rate_90_percent_per_day.1);
        prop_assert_eq!(r.weigh_again_days.is_some(), r.answer == Rest::CannotTell);
    }

    #[test]
    fn glue_water_only_leaves(first in 1.0..20.0_f64, second in 1.0..20.0_f64, glue_g in 0.1..5.0_f64) {
        let glue = GlueUp {
            glue_g, water_percent: 55.0, area_mm2: 20_000.0, first_mm: first, second_mm: second, density_kg_m3: 420.0,
            mc_percent: 9.0, diffusion_mm2_per_day: None, slope_percent: 1.6, allowed_percent: 0.1,
        };
        let w = glue.water().unwrap();
        let shares: Vec<f64> = (0..60).map(|k| w.left_after(0.1 * f64::from(k) * w.time_constant_days).unwrap()).collect();
        prop_assert!(shares.windows(2).all(|p| p[1] <= p[0] + 1e-9));
        prop_assert!((0.0..=1.0).contains(&shares[0]));
        prop_assert!(w.disturbance_percent * w.left_after(w.days_until).unwrap() <= 0.1 * (1.0 + 1e-6));
        let dry = GlueUp { allowed_percent: 0.05, ..glue };
        prop_assert!(dry.water().unwrap().days_until >= w.days_until);
    }
}

#[test]
fn what_is_wrong_is_said() {
    let said =
        |e: bracewright::Error, words: &[&str]| words.iter().for_each(|w| assert!(e.to_string().contains(w), "{e} lacks {w}"));
    said(repeated(&[], &RepeatOptions::default()).unwrap_err(), &["readings", "at least one"]);
    said(repeated(&[vec![1.0, f64::NAN]], &RepeatOptions::default()).unwrap_err(), &["readings[0][1]", "finite"]);
    said(repeated(&[vec![1.0, 1.0]], &RepeatOptions::default()).unwrap_err(), &["no scatter", "resolution"]);
    said(rest(&[0.0, 1.0], &[1.0], 0.1, 0.1).unwrap_err(), &["days", "mass_g"]);
    said(rest(&[0.0, 0.0], &[1.0, 1.0], 0.01, 0.1).unwrap_err(), &["days", "increase"]);
    let m = [Method::new("a", 1.0, 0.1).unwrap(), Method::new("b", 1.1, 0.1).unwrap()];
    said(fuse(&m, Some(&[vec![1.0, 1.0], vec![1.0, 1.0]]), 0.95, false).unwrap_err(), &["correlation", "no possible one"]);
    said(fuse(&m, Some(&[vec![1.0, 0.5]]), 0.95, false).unwrap_err(), &["correlation", "rows"]);
    said(fuse(&[], None, 0.95, false).unwrap_err(), &["methods", "empty"]);
    said(Budget::new(1.0, "mm", vec![], 0.95).unwrap_err(), &["lines"]);
    // three readings cannot tell a bad one, and say so
    let few = repeated(&[vec![1.0, 1.01, 1.5]], &RepeatOptions::default()).unwrap();
    assert!(few.suspects.is_empty() && few.words.iter().any(|w| w.contains("too few")), "{:?}", few.words);
    let known = RepeatOptions { known_repeat_sd: Some(0.01), ..RepeatOptions::default() };
    assert_eq!(repeated(&[vec![1.0, 1.01, 1.5]], &known).unwrap().suspects.len(), 1);
}
