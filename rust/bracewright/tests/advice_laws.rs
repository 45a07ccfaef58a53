//! Laws of belief and advice, whatever the numbers.

#![allow(clippy::unwrap_used, clippy::panic)]

use bracewright::advice::{
    Advice, ClosedForm, Costs, Kind, Limit, LnDeflection, Outlook, Rule, Stop, Window, alpha_from_costs, d_max_closed_form,
};
use bracewright::belief::{Belief, Gauge, Hand, Pass, ProportionalCurve, Response, Second, StiffnessTable, Unknown};
use bracewright::normal;
use proptest::prelude::*;

/// A brace whose deflection grows as exp(g depth) beside a stiffness in parallel: simple enough to check by hand.
struct Simple {
    g_per_mm: f64,
}

impl Response for Simple {
    fn deflection_mm(&self, e_gpa: f64, second: f64, depth_mm: f64) -> f64 {
        20.0 / (3.5 * e_gpa * (-self.g_per_mm * depth_mm).exp() + second)
    }
}

fn gauge() -> Gauge {
    Gauge { repeat_mm: 0.006, reseat_mm: 0.004, resolution_mm: 0.001, calibration_mm: 0.0, readings_per_seat: 3, seats: 1 }
}

fn prior(hand: Hand) -> Belief {
    let e = Unknown::LogNormal { median: 11.5, sd_ln: 0.12 };
    Belief::new(e, Unknown::LogNormal { median: 18.0, sd_ln: 0.25 }, hand).unwrap()
}

fn hand() -> Hand {
    Hand::new(0.0, 0.1, 0.1).unwrap()
}

fn window() -> Window {
    Window::new(0.50, 0.54, 0.52).unwrap()
}

fn d_max(belief: &Belief, response: &impl Response, hand: Hand, alpha: f64) -> f64 {
    let draws = belief.draws(response, 2000, 3).unwrap();
    Outlook::new(response, &draws, window(), hand, 8.0).unwrap().d_max_exact(alpha).unwrap()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    #[test]
    fn deeper_for_a_bolder_chance(reading in 0.30..0.50f64, g in 0.12..0.2f64, a in 0.002..0.4f64, b in 0.002..0.4f64) {
        let r = Simple { g_per_mm: g };
        let belief = prior(hand()).after_reading(reading, &gauge()).unwrap();
        let (low, high) = (d_max(&belief, &r, hand(), a.min(b)), d_max(&belief, &r, hand(), a.max(b)));
        prop_assert!(low <= high, "{low} at {}, {high} at {}", a.min(b), a.max(b));
    }

    #[test]
    fn a_wilder_hand_never_goes_deeper(
        reading in 0.30..0.50f64, alpha in 0.002..0.2f64,
        eps in 0.0..0.2f64, eta in 0.0..0.2f64, more_eps in 0.0..0.2f64, more_eta in 0.0..0.2f64,
    ) {
        let r = Simple { g_per_mm: 0.15 };
        let belief = prior(hand()).after_reading(reading, &gauge()).unwrap();
        let calm = d_max(&belief, &r, Hand::new(0.0, eps, eta).unwrap(), alpha);
        let wild = d_max(&belief, &r, Hand::new(0.0, eps + more_eps, eta + more_eta).unwrap(), alpha);
        prop_assert!(wild <= calm + 2e-3, "calm {calm}, wild {wild}");
    }

    #[test]
    fn closed_form_grows_with_alpha_and_falls_with_scatter(
        r in 0.01..0.6f64, s in 0.0..0.05f64, g in 0.05..0.4f64, eps in 0.0..0.2f64, eta in 0.0..0.3f64, more in 0.0..0.1f64,
    ) {
        let d = |alpha: f64, eps: f64, eta: f64, u_g: f64| {
            d_max_closed_form(r, normal::quantile(1.0 - alpha).unwrap(), eps, s, g, eta, u_g).unwrap().depth_mm().unwrap()
        };
        prop_assert!(d(0.01, eps, eta, 0.0) <= d(0.05, eps, eta, 0.0));
        prop_assert!(d(0.02, eps + more, eta, 0.0) <= d(0.02, eps, eta, 0.0) + 1e-12);
        prop_assert!(d(0.02, eps, eta + more, 0.0) <= d(0.02, eps, eta, 0.0) + 1e-12);
        prop_assert!(d(0.02, eps, eta, more * g) <= d(0.02, eps, eta, 0.0) + 1e-12);
    }

    #[test]
    fn aim_is_never_past_the_target_or_the_floor(reading in 0.25..0.60f64, alpha in 0.002..0.4f64, deepest in 0.2..8.0f64) {
        let r = Simple { g_per_mm: 0.15 };
        let belief = prior(hand()).after_reading(reading, &gauge()).unwrap();
        let mut rule = Rule::new(alpha, deepest).unwrap();
        rule.draws = 2000;
        let a = belief.advise(&r, &window(), &rule).unwrap();
        prop_assert!(a.depth_mm <= deepest && a.depth_mm <= a.d_max_mm);
        prop_assert!(a.straight_at_target_mm.is_none_or(|d| a.depth_mm <= d));
        sound(&a);
        if let Kind::Carve { .. } = a.kind {
            prop_assert!(a.chance_over <= alpha + 1e-6);
            prop_assert!(a.depth_mm >= rule.smallest_shaving_mm);
        } else {
            prop_assert!(a.depth_mm == 0.0);
        }
    }

    #[test]
    fn order_of_readings_does_not_matter(one in 0.36..0.40f64, apart in -0.01..0.01f64, depth in 0.5..2.0f64, swap in any::<bool>()) {
        let r = Simple { g_per_mm: 0.15 };
        let b = prior(hand()).after_pass(Pass::aimed(depth).unwrap()).unwrap();
        let read = |b: &Belief, d: f64| b.after_reading(d, &gauge()).unwrap();
        let caliper = |b: &Belief| b.after_total_depth(depth, 0.05).unwrap();
        let (x, y) = if swap {
            (caliper(&read(&read(&b, one), one + apart)), read(&caliper(&read(&b, one + apart)), one))
        } else {
            (read(&read(&b, one), one + apart), read(&read(&b, one + apart), one))
        };
        let (p, q) = (x.draws(&r, 4000, 1).unwrap().posterior(), y.draws(&r, 4000, 1).unwrap().posterior());
        for (a, b) in [(p.deflection_mm, q.deflection_mm), (p.e_gpa, q.e_gpa), (p.second, q.second), (p.depth_mm, q.depth_mm)] {
            prop_assert!((a.mean - b.mean).abs() < 0.01 * a.sd && (a.sd / b.sd - 1.0).abs() < 0.01, "{a:?} {b:?}");
        }
    }

    /// Two readings of uncertainty u are worth one of u / sqrt 2 at their mean.
    #[test]
    fn two_readings_are_one_better_one(one in 0.34..0.42f64, apart in -0.01..0.01f64) {
        let r = Simple { g_per_mm: 0.15 };
        let both = prior(hand()).after_reading_with_u(one - apart, 0.006).unwrap().after_reading_with_u(one + apart, 0.006).unwrap();
        let better = prior(hand()).after_reading_with_u(one, 0.006 / 2f64.sqrt()).unwrap();
        let (p, q) = (both.draws(&r, 8000, 1).unwrap().posterior(), better.draws(&r, 8000, 1).unwrap().posterior());
        for (a, b) in [(p.deflection_mm, q.deflection_mm), (p.e_gpa, q.e_gpa), (p.second, q.second)] {
            prop_assert!((a.mean - b.mean).abs() < 0.01 * a.sd && (a.sd / b.sd - 1.0).abs() < 0.01, "{a:?} {b:?}");
        }
    }

    /// Whatever goes in, finite figures or an error come out.
    #[test]
    fn never_nan(
        median in extreme(), sd_ln in extreme(), mean in extreme(), sd in extreme(), reading in extreme(), u in extreme(),
        aim in extreme(), caliper in extreme(), low in extreme(), high in extreme(), alpha in extreme(), deepest in extreme(),
        eta in extreme(), compliance in any::<bool>(),
    ) {
        let r = ProportionalCurve::new(&[0.0, 2.0, 8.0], &[0.03, 0.05, 0.2], 20.0, Second::SupportCompliance).unwrap();
        let second = if compliance { Unknown::AtLeastZero { mean, sd } } else { Unknown::LogNormal { median: mean, sd_ln: sd } };
        let go = || -> bracewright::Result<Advice> {
            let belief = Belief::new(Unknown::LogNormal { median, sd_ln }, second, Hand::new(0.0, 0.1, eta)?)?
                .after_reading_with_u(reading, u)?
                .after_pass(Pass::aimed(aim)?.with_caliper(caliper, u)?)?
                .after_reading_with_u(reading, u)?;
            let mut rule = Rule::new(alpha, deepest)?;
            rule.draws = 500;
            belief.advise(&r, &Window::between(low, high)?, &rule)
        };
        if let Ok(a) = go() {
            sound(&a);
        }
    }

    #[test]
    fn tables_are_monotone_between_their_nodes(
        steps in proptest::collection::vec(0.001..0.5f64, 35), e in 5.0..20.0f64, d in 0.0..8.0f64, more in 0.0..2.0f64,
    ) {
        let es = [6.0, 8.0, 11.0, 14.0, 18.0];
        let depth = [0.0, 1.0, 2.0, 3.0, 4.0, 6.0, 8.0];
        let mut ln = 5.0;
        let fall: Vec<f64> = steps[..7].iter().map(|s| { ln -= s; ln }).collect();
        let k: Vec<Vec<f64>> = es.iter().map(|e: &f64| fall.iter().map(|f| (f + 0.7 * e.ln()).exp()).collect()).collect();
        let t = StiffnessTable::new(&es, &depth, &k, 20.0, Second::RestStiffness).unwrap();
        prop_assert!(t.deflection_mm(e, 18.0, d + more) >= t.deflection_mm(e, 18.0, d) * (1.0 - 1e-12));
        prop_assert!(t.deflection_mm(e + more, 18.0, d) <= t.deflection_mm(e, 18.0, d) * (1.0 + 1e-12));
    }

    #[test]
    fn quantile_and_cdf_go_together(z in -37.0..8.0f64) {
        let back = normal::quantile(normal::cdf(z)).unwrap();
        // Near 1 the chance itself has lost digits: its rounding over the density.
        let lost = 3e-16 * normal::cdf(z) / normal::pdf(z);
        prop_assert!((back - z).abs() <= 1e-13 * z.abs().max(1.0) + lost, "{z} came back as {back}");
    }
}

/// Ordinary, huge, tiny, negative and not finite.
fn extreme() -> impl Strategy<Value = f64> {
    prop_oneof![
        8 => 0.01..1.0f64,
        4 => 1.0..20.0f64,
        1 => prop::sample::select(vec![0.0, -1.0, f64::NAN, f64::INFINITY, 1e-300, 1e300, 1e-9, 1e9]),
    ]
}

/// Every figure of an advice is finite, chances are chances, and the words hold no trace of a missing number.
fn sound(a: &Advice) {
    for e in [a.expected_mm, a.expected_reading_mm, a.now.deflection_mm, a.now.e_gpa, a.now.second, a.now.depth_mm] {
        assert!([e.mean, e.sd, e.q05, e.q50, e.q95].iter().all(|v| v.is_finite()), "{a:?}");
        assert!(e.q05 <= e.q50 && e.q50 <= e.q95 && e.sd >= 0.0, "{e:?}");
    }
    for c in [a.chance_over, a.chance_in_window, a.chance_over_straight.unwrap_or(0.0)] {
        assert!((0.0..=1.0).contains(&c), "{a:?}");
    }
    assert!(a.depth_mm.is_finite() && a.d_max_mm.is_finite() && a.now.correlation.abs() <= 1.0 + 1e-9, "{a:?}");
    for words in [a.text(), a.now.text()] {
        assert!(!words.contains("NaN") && !words.contains("inf "), "{words}");
    }
}

#[test]
fn same_bits_on_one_thread_and_on_two() {
    let r = Simple { g_per_mm: 0.15 };
    let belief = prior(hand()).after_reading(0.38, &gauge()).unwrap().after_pass(Pass::aimed(1.0).unwrap()).unwrap();
    let rule = Rule::new(0.02, 8.0).unwrap();
    let on = |threads| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
        pool.install(|| (belief.draws(&r, 20_000, 9).unwrap(), belief.advise(&r, &window(), &rule).unwrap()))
    };
    let ((draws, advice), (draws2, advice2)) = (on(1), on(2));
    let bits = |v: &[f64]| v.iter().map(|x| x.to_bits()).collect::<Vec<_>>();
    assert_eq!(bits(&draws.weight), bits(&draws2.weight));
    assert_eq!(bits(&draws.deflection_mm), bits(&draws2.deflection_mm));
    assert_eq!(advice, advice2);
    assert_ne!(bits(&draws.weight), bits(&belief.draws(&r, 20_000, 10).unwrap().weight), "the seed must matter");
}

/// Resampling keeps what is believed.
#[test]
fn equal_draws_say_the_same() {
    let r = Simple { g_per_mm: 0.15 };
    let draws = prior(hand()).after_reading(0.38, &gauge()).unwrap().draws(&r, 20_000, 1).unwrap();
    let (p, q) = (draws.posterior(), draws.resampled().posterior());
    assert!((p.e_gpa.mean - q.e_gpa.mean).abs() < 0.01 * p.e_gpa.sd);
    assert!((p.deflection_mm.sd / q.deflection_mm.sd - 1.0).abs() < 0.01);
}

/// Where modulus alone is unknown, everything is normal in ln deflection and the answer is known: a bare brace whose
/// compliance grows as exp(g depth) (Bayes for two normals; the reading is sharp enough for ln to be straight).
#[test]
fn bare_brace_has_the_normal_answer() {
    let depth: Vec<f64> = (0..=40).map(|i| 0.25 * f64::from(i)).collect();
    let c: Vec<f64> = depth.iter().map(|d| 0.2 * (0.12 * d).exp()).collect();
    let r = ProportionalCurve::new(&depth, &c, 20.0, Second::SupportCompliance).unwrap();
    let e = Unknown::LogNormal { median: 11.0, sd_ln: 0.12 };
    let b = Belief::new(e, Unknown::known(0.0), hand()).unwrap().after_reading_with_u(0.38, 0.38e-3).unwrap();
    let draws = b.draws(&r, 20_000, 1).unwrap();
    let (s0, s1) = (0.12f64, 1e-3);
    let variance = 1.0 / (1.0 / (s0 * s0) + 1.0 / (s1 * s1));
    let mean = variance * ((20.0 * 0.2 / 11.0f64).ln() / (s0 * s0) + 0.38f64.ln() / (s1 * s1));
    let p = draws.posterior();
    assert!((p.deflection_mm.q50.ln() - mean).abs() < 1e-5);
    assert!((p.deflection_mm.sd / p.deflection_mm.mean / variance.sqrt() - 1.0).abs() < 2e-3);
    assert!(p.second_spread_left == 0.0 && p.correlation == 0.0 && p.e_spread_left < 0.01);
    // The closed form is exact here, but for the tail of the hand.
    let z = normal::quantile(0.98).unwrap();
    let closed = d_max_closed_form(0.54f64.ln() - mean, z, 0.1, variance.sqrt(), 0.12, 0.1, 0.0).unwrap().depth_mm().unwrap();
    let exact = Outlook::new(&r, &draws, window(), hand(), 9.0).unwrap().d_max_exact(0.02).unwrap();
    assert!((closed - exact).abs() < 1e-3, "{closed} {exact}");
}

/// A thin ridge (a very sharp gauge, wide priors) is still followed: the same answer from a closed integral over the
/// second unknown, made here on a fine grid.
#[test]
fn thin_ridge_is_followed() {
    let r = Simple { g_per_mm: 0.15 };
    let e = Unknown::LogNormal { median: 11.5, sd_ln: 0.5 };
    let b = Belief::new(e, Unknown::LogNormal { median: 18.0, sd_ln: 0.5 }, hand())
        .unwrap()
        .after_reading_with_u(0.33, 2e-5)
        .unwrap();
    let p = b.draws(&r, 20_000, 1).unwrap().posterior();
    // With the deflection known, E = (20 / 0.33 - k) / 3.5; density of k is its prior times that of ln E over E.
    let (mut w, mut sum, mut square) = (0.0, 0.0, 0.0);
    for i in 0..200_000 {
        let k = (i as f64 + 0.5) / 200_000.0 * 20.0 / 0.33;
        let e = (20.0 / 0.33 - k) / 3.5;
        let density = (-0.5 * ((k / 18.0).ln() / 0.5).powi(2) - 0.5 * ((e / 11.5).ln() / 0.5).powi(2)).exp() / (k * e);
        w += density;
        sum += density * e;
        square += density * e * e;
    }
    let (mean, sd) = (sum / w, (square / w - (sum / w).powi(2)).sqrt());
    assert!((p.e_gpa.mean - mean).abs() < 0.01 * sd && (p.e_gpa.sd / sd - 1.0).abs() < 0.01, "{p:?} against {mean} {sd}");
    assert!(p.effective_draws > 2000.0, "{p:?}");
}

/// Three passes known by their aim alone, wide priors, a very sharp gauge: still most draws count, and seeds agree.
#[test]
fn draws_do_not_degenerate() {
    let r = Simple { g_per_mm: 0.15 };
    let e = Unknown::LogNormal { median: 11.5, sd_ln: 0.3 };
    let mut b = Belief::new(e, Unknown::LogNormal { median: 18.0, sd_ln: 1.0 }, hand()).unwrap();
    for pass in 0..4 {
        if pass > 0 {
            b = b.after_pass(Pass::aimed(0.5).unwrap()).unwrap();
        }
        b = b.after_reading_with_u(r.deflection_mm(14.0, 10.0, 0.56 * f64::from(pass)), 5e-5).unwrap();
    }
    let (p, q) = (b.draws(&r, 10_000, 1).unwrap().posterior(), b.draws(&r, 10_000, 2).unwrap().posterior());
    assert!(p.effective_draws > 5000.0, "{p:?}");
    assert!(
        (p.e_gpa.mean - q.e_gpa.mean).abs() < 0.02 * p.e_gpa.sd && (p.e_gpa.sd / q.e_gpa.sd - 1.0).abs() < 0.02,
        "{p:?} {q:?}"
    );
}

/// Intervals cover what they say, and the chance of going past is the one allowed: 600 braces drawn from the prior,
/// carved once unmeasured, read, carved at the deepest exact aim. Limits are three standard deviations of the count.
#[test]
fn intervals_cover_and_chances_hold() {
    use rand::SeedableRng;
    use rand_distr::{Distribution, StandardNormal};
    let r = Simple { g_per_mm: 0.15 };
    let mut rng = rand_xoshiro::Xoshiro256PlusPlus::seed_from_u64(5);
    let mut normal = || -> f64 { StandardNormal.sample(&mut rng) };
    let (mut covered, mut over, mut carved, tops, alpha) = ([0.0; 4], 0.0, 0.0, 600.0, 0.1);
    for _ in 0..600 {
        let (e, k) = (11.5 * (0.12 * normal()).exp(), 18.0 * (0.25 * normal()).exp());
        let u = gauge().u_mm().unwrap();
        let read = |depth: f64, z: f64| r.deflection_mm(e, k, depth) + u * z;
        let first = read(0.0, normal());
        let depth = (0.5 + 0.05f64.hypot(0.1) * normal()).max(0.0);
        let b = prior(hand()).after_reading(first, &gauge()).unwrap().after_pass(Pass::aimed(0.5).unwrap()).unwrap();
        let b = b.after_reading(read(depth, normal()), &gauge()).unwrap();
        let draws = b.draws(&r, 1000, 1).unwrap();
        let p = draws.posterior();
        for (i, (x, q)) in [(e, p.e_gpa), (k, p.second), (depth, p.depth_mm), (r.deflection_mm(e, k, depth), p.deflection_mm)]
            .into_iter()
            .enumerate()
        {
            covered[i] += f64::from(u8::from(q.q05 <= x && x <= q.q95)) / tops;
        }
        let aim = Outlook::new(&r, &draws, window(), hand(), 9.0).unwrap().d_max_exact(alpha).unwrap();
        if aim > 0.0 {
            carved += 1.0;
            let end = depth + (aim + (0.1 * aim).hypot(0.1) * normal()).max(0.0);
            over += f64::from(u8::from(r.deflection_mm(e, k, end) > 0.54));
        }
    }
    let three_sd = |p: f64, n: f64| 3.0 * (p * (1.0 - p) / n).sqrt();
    assert!(covered.iter().all(|c| (c - 0.90).abs() < three_sd(0.9, tops)), "{covered:?}");
    assert!(carved > 500.0 && (over / carved - alpha).abs() < three_sd(alpha, carved), "{over} of {carved}");
}

/// A give of the supports that cannot be negative: half a normal when its mean is 0 (mean sqrt(2/pi), Johnson, Kotz and
/// Balakrishnan, from memory).
#[test]
fn give_of_the_supports_is_never_negative() {
    let r = ProportionalCurve::new(&[0.0, 8.0], &[0.2, 0.6], 20.0, Second::SupportCompliance).unwrap();
    let e = Unknown::LogNormal { median: 11.0, sd_ln: 0.1 };
    let b = Belief::new(e, Unknown::AtLeastZero { mean: 0.0, sd: 2e-4 }, hand()).unwrap();
    let draws = b.draws(&r, 20_000, 1).unwrap();
    assert!(draws.second.iter().all(|&c| c >= 0.0));
    assert!((draws.posterior().second.mean / (2e-4 * (2.0 / std::f64::consts::PI).sqrt()) - 1.0).abs() < 1e-3);
}

#[test]
fn each_reason_to_stop_is_met() {
    let r = Simple { g_per_mm: 0.15 };
    let at = |mm: f64| prior(hand()).after_reading(mm, &gauge()).unwrap();
    let rule = Rule::new(0.02, 8.0).unwrap();
    let stop = |b: &Belief, rule: &Rule| match b.advise(&r, &window(), rule).unwrap() {
        Advice { kind: Kind::Stop(s), .. } => s,
        a => panic!("{}", a.text()),
    };
    // Two readings, so that the second does not surprise.
    let twice = |mm: f64| at(mm).after_reading(mm, &gauge()).unwrap();
    assert_eq!(stop(&twice(0.52), &rule), Stop::InWindow);
    assert_eq!(stop(&twice(0.60), &rule), Stop::AlreadyPast);
    let rough =
        prior(Hand::new(0.0, 0.1, 0.5).unwrap()).after_reading(0.495, &gauge()).unwrap().after_reading(0.495, &gauge()).unwrap();
    assert!(matches!(stop(&rough, &rule), Stop::ShavingTooSmall { held_by: Limit::Chance, .. }));
    let floor = Rule { deepest_mm: 0.1, ..rule.clone() };
    assert_eq!(stop(&at(0.40), &floor), Stop::SafetyFloor);
    let shallow = Rule { deepest_mm: 0.5, ..rule.clone() };
    assert!(matches!(stop(&at(0.36), &shallow), Stop::CannotReach { .. }));
    let dear = Rule { costs: Some(Costs { per_pass: 5.0, short: 1.0, over: 20.0 }), ..rule.clone() };
    assert!(matches!(stop(&at(0.40), &dear), Stop::GainBelowLoss { .. }));
    let odd = at(0.38).after_pass(Pass::aimed(0.5).unwrap()).unwrap().after_reading(0.46, &gauge()).unwrap();
    let Stop::ReadingInconsistent { reading_mm, sigmas, .. } = stop(&odd, &rule) else { panic!() };
    assert!(sigmas > 3.0 && reading_mm == Some(0.46));
    // every reason to stop names the window, this one the reading and what to do about it
    let said = odd.advise(&r, &window(), &rule).unwrap().text();
    assert!(said.contains("0.460 mm") && said.contains("seat the brace again") && said.contains("out of the log"), "{said}");
    for (b, rule) in
        [(&twice(0.52), &rule), (&twice(0.60), &rule), (&rough, &rule), (&at(0.40), &floor), (&at(0.36), &shallow), (&odd, &rule)]
    {
        let said = b.advise(&r, &window(), rule).unwrap().text();
        let w = format!("the window, {:.3} to {:.3} mm", window().low_mm, window().high_mm);
        assert!(said.contains(&w), "{said}");
    }
    // Confirmed by a second reading, it is believed.
    let confirmed = odd.after_reading(0.46, &gauge()).unwrap();
    assert!(matches!(confirmed.advise(&r, &window(), &rule).unwrap().kind, Kind::Carve { .. }));
    // Nothing carved since: the reading can be dropped.
    assert_eq!(odd.without_last_reading().unwrap().0.history().len(), 2);
}

#[test]
fn costs_set_the_chance() {
    assert_eq!(alpha_from_costs(1.0, 19.0).unwrap(), 0.05);
    for (short, over) in [(-1.0, 1.0), (1.0, 0.0), (f64::NAN, 1.0), (1e308, 1e308)] {
        assert!(alpha_from_costs(short, over).is_err());
    }
}

/// Bias: a hand that takes a tenth too much is told to aim at a tenth less, and the filter knows what it took.
#[test]
fn bias_is_taken_off_the_aim() {
    let y = LnDeflection::from_reading(0.38, 0.005).unwrap();
    let depth = |hand: Hand| y.d_max(&window(), &hand, 0.11, 0.0, 0.02).unwrap().depth_mm().unwrap();
    let (true_hand, heavy) = (Hand::new(0.0, 0.10, 0.10).unwrap(), Hand::new(0.25, 0.125, 0.10).unwrap());
    assert!((depth(heavy) * 1.25 - depth(true_hand)).abs() < 1e-12);
    let (a, b) = (y.after_pass(1.25, 0.11, 0.0, &true_hand).unwrap(), y.after_pass(1.0, 0.11, 0.0, &heavy).unwrap());
    assert!((a.mean - b.mean).abs() < 1e-12 && (a.variance - b.variance).abs() < 1e-12);
    assert_eq!(y.d_max(&window(), &true_hand, 0.11, 0.0, 0.5).unwrap(), ClosedForm::OutsideItsRange { q: 1.0 });
}

/// Shavings stand for depth: 1.2 g at 2 g/mm is 0.6 mm, its uncertainty both parts together.
#[test]
fn shavings_are_a_depth() {
    let pass = Pass::aimed(0.6).unwrap().with_shavings(1.2, 0.02, 2.0, 0.1).unwrap();
    assert_eq!(pass, Pass::aimed(0.6).unwrap().with_caliper(0.6, 0.01f64.hypot(0.03)).unwrap());
    assert!(Pass::aimed(0.6).unwrap().with_shavings(1.2, 0.02, 0.0, 0.1).is_err());
}

#[test]
fn a_belief_survives_its_file() {
    let b = prior(hand()).after_reading(0.38, &gauge()).unwrap().after_pass(Pass::aimed(0.7).unwrap()).unwrap();
    let text = serde_json::to_string(&b).unwrap();
    assert_eq!(serde_json::from_str::<Belief>(&text).unwrap(), b);
    // What was spoiled on the way is refused where it is used.
    let spoiled: Belief = serde_json::from_str(&text.replace("0.38", "-0.38")).unwrap();
    let words = spoiled.draws(&Simple { g_per_mm: 0.1 }, 1000, 1).unwrap_err().to_string();
    assert_eq!(words, "deflection_mm is -0.38 mm; it must be above 0 and finite");
}

#[test]
fn bad_tables_are_refused_in_words() {
    let row = vec![3.0, 2.0];
    let new = |e: &[f64], d: &[f64], k: &[Vec<f64>], load| StiffnessTable::new(e, d, k, load, Second::RestStiffness);
    assert!(new(&[10.0, 12.0], &[0.0, 1.0], &[row.clone(), vec![4.0, 3.0]], 20.0).is_ok());
    let rising = new(&[10.0, 12.0], &[0.0, 1.0], &[row.clone(), vec![4.0, 5.0]], 20.0).unwrap_err().to_string();
    assert_eq!(rising, "stiffness_n_per_mm[1][1] is above its neighbour at less depth; carving cannot stiffen");
    assert!(new(&[10.0, 12.0], &[0.0, 1.0], std::slice::from_ref(&row), 20.0).is_err());
    assert!(new(&[10.0, 12.0], &[0.0, 1.0], &[row.clone(), vec![4.0]], 20.0).is_err());
    assert!(new(&[12.0, 10.0], &[0.0, 1.0], &[row.clone(), row.clone()], 20.0).is_err());
    assert!(new(&[-1.0, 10.0], &[0.0, 1.0], &[row.clone(), row.clone()], 20.0).is_err());
    assert!(new(&[10.0, 12.0], &[0.0, 1.0], &[row.clone(), vec![f64::NAN, 1.0]], 20.0).is_err());
    assert!(new(&[10.0, 12.0], &[0.0, 1.0], &[row.clone(), row], 0.0).is_err());
    assert!(ProportionalCurve::new(&[0.0, 1.0], &[0.2, 0.1], 20.0, Second::SupportCompliance).is_err());
}
