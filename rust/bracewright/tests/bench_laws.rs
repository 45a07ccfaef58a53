//! The bench: advice is no deeper than one pass of the plan, and says what held it.

#![allow(clippy::unwrap_used)]

mod common;

use bracewright::advice::{Kind, Limit, Stop};
use bracewright::{Bench, BenchOptions, Brace, PlanOptions, Profile, Rig, Section, Seen, plan_passes};
use proptest::prelude::*;

/// A straight stick from 17 down to 10 mm, its window at the reading of `stop_mm` off.
fn bench(deepest_mm: f64, stop_mm: f64, options: &BenchOptions) -> Bench {
    let blank = common::stick().with_modulus(11.0, 0.02).unwrap();
    let start = Brace::uncarved(&blank);
    let target = Brace::new(&blank, &Profile::straight(420.0, 10.0).unwrap(), &Section::rectangle()).unwrap();
    let rig = Rig::three_point(380.0, 19.6).unwrap();
    let plan = plan_passes(&start, &target, &PlanOptions::new(deepest_mm)).unwrap();
    let d = rig.expected(&plan.at_depth(stop_mm).unwrap()).unwrap().deflection_mm;
    Bench::new(&plan, &rig.between(0.93 * d, 1.05 * d).unwrap(), options).unwrap()
}

fn quick() -> BenchOptions {
    BenchOptions::default()
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 12, failure_persistence: None, ..ProptestConfig::default() })]

    /// Never deeper than the plan's deepest cut; where that binds, the depth allowed is that of a bench without it.
    #[test]
    fn one_pass_is_one_pass(deepest in 0.3..6.0_f64, stop in 1.0..6.0_f64) {
        let capped = bench(deepest, stop, &quick()).next_pass(None).unwrap();
        let free = bench(deepest, stop, &BenchOptions { deepest_pass_mm: Some(50.0), ..quick() }).next_pass(None).unwrap();
        prop_assert!(!free.capped && !free.stop, "{}", free.words);
        prop_assert!(capped.depth_mm <= deepest + 1e-12);
        prop_assert_eq!(capped.allowed_mm, free.depth_mm);
        prop_assert_eq!(capped.capped, free.depth_mm > deepest);
        prop_assert!(capped.decision.chance_over <= free.decision.chance_over + 1e-12);
        if capped.capped {
            prop_assert_eq!(capped.decision.kind, Kind::Carve { held_by: Limit::OnePass });
            // whole, or in halves where the rest would be thinner than the tool can take
            let rest = free.depth_mm - deepest;
            let want = if rest < 0.15 { 0.5 * free.depth_mm } else { deepest };
            prop_assert!((capped.depth_mm - want).abs() < 1e-12);
            let all = format!("In all {:.2} mm may come off, more than one pass takes", free.depth_mm);
            prop_assert!(capped.words.contains(&all), "{}", capped.words);
            prop_assert!(capped.take_mm.iter().all(|t| *t <= deepest + 1e-9));
        } else {
            prop_assert_eq!(capped.depth_mm, free.depth_mm);
            prop_assert!(!capped.words.contains("more than one pass"));
        }
    }
}

/// Pass by pass with a true hand: it ends in the window, and never took more than the plan's deepest cut.
#[test]
fn passes_lead_to_the_window() {
    let mut b = bench(1.0, 4.0, &quick());
    let rig = b.rig().clone();
    let (mut off, mut passes) = (0.0, 0);
    loop {
        let step = b.next_pass(None).unwrap();
        if step.stop {
            assert!(matches!(step.decision.kind, Kind::Stop(Stop::InWindow)), "{}", step.words);
            break;
        }
        assert!(step.depth_mm <= 1.0);
        off += step.depth_mm;
        passes += 1;
        assert!(passes < 12);
        let now = rig.expected(&b.plan().at_depth(off).unwrap()).unwrap().deflection_mm;
        let seen = Seen { reading: Some(rig.reading(now).unwrap()), ..Seen::default() };
        b = b.after_pass(&seen).unwrap();
    }
    assert!((4..=6).contains(&passes) && (off - 4.0).abs() < 0.3, "{passes} passes, {off} mm");
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, failure_persistence: None, ..ProptestConfig::default() })]

    /// What two weighings say of the passes between them is told once: a weighing left out moves the depth by no more than
    /// its own uncertainty, whatever the hand took within its own scatter.
    #[test]
    fn a_weighing_left_out_does_not_move_the_depth(took in prop::collection::vec(0.7..1.35_f64, 3)) {
        let aims = [0.6, 0.5, 0.6];
        let start = bench(1.0, 4.0, &quick());
        let run = |second_weighed: bool| {
            let mut b = start.clone();
            let mut off = 0.0;
            for i in 0..3 {
                off += aims[i] * took[i];
                let weighed = [true, second_weighed, true][i];
                let brace_g = weighed.then(|| b.plan().at_depth(off).unwrap().mass_g().unwrap());
                b = b.after_pass(&Seen { aimed_mm: Some(aims[i]), brace_g, ..Seen::default() }).unwrap();
            }
            b
        };
        let (all, one_less) = (run(true), run(false));
        let since = |b: &Bench| b.log()[2].depth_mm.0 - b.log()[0].depth_mm.0;
        let truth = aims[1] * took[1] + aims[2] * took[2];
        prop_assert!((since(&all) - truth).abs() < 0.06, "{} {truth}", since(&all));
        prop_assert!((since(&one_less) - truth).abs() < 0.06, "{} {truth}", since(&one_less));
    }
}

/// Heights and masses that cannot be are refused with what is allowed.
#[test]
fn a_slip_of_unit_is_refused() {
    let b = bench(1.0, 4.0, &quick());
    let g = b.plan().at_depth(0.5).unwrap().mass_g().unwrap();
    let weighed = |g: f64| b.after_pass(&Seen { aimed_mm: Some(0.5), brace_g: Some(g), ..Seen::default() });
    assert!(weighed(g).is_ok());
    for bad in [g / 1000.0, 1e-200, 3.0 * g, f64::NAN, 0.0] {
        let e = weighed(bad).unwrap_err().to_string();
        assert!(e.contains("brace_g") && e.contains("units"), "{e}");
    }
    let measured = |h: f64| {
        b.after_pass(&Seen { aimed_mm: Some(0.5), heights_mm: Some((vec![100.0, 200.0], vec![16.5, h])), ..Seen::default() })
    };
    assert!(measured(16.4).is_ok());
    for bad in [0.0, -1.0, 1.65, 900.0, f64::NAN] {
        let e = measured(bad).unwrap_err().to_string();
        assert!(e.contains("height_mm[1]"), "{e}");
    }
}

/// A hand that went twice as deep is told by pan and dial together, and believed; a pan alone that does not fit is left out where
/// the dial fits.
#[test]
fn what_goes_together_is_believed() {
    let b = bench(1.0, 4.0, &quick());
    let rig = b.rig().clone();
    let at = |d: f64| b.plan().at_depth(d).unwrap();
    let reading = |d: f64| Some(rig.reading(rig.expected(&at(d)).unwrap().deflection_mm).unwrap());
    let start = b.after_reading(&reading(0.0).unwrap()).unwrap();
    let grams = |d: f64| Some(0.97 * (at(0.0).mass_g().unwrap() - at(d).mass_g().unwrap()));
    let after = |pan: f64, shown: f64| {
        start
            .after_pass(&Seen { aimed_mm: Some(1.0), shavings_g: grams(pan), reading: reading(shown), ..Seen::default() })
            .unwrap()
    };
    let twice = after(1.9, 1.9);
    assert!((twice.removed_mm().0 - 1.9).abs() < 0.1 && !twice.next_pass(None).unwrap().stop, "{:?}", twice.removed_mm());
    let lost = after(0.2, 1.0);
    assert!((lost.removed_mm().0 - 1.0).abs() < 0.15 && !lost.next_pass(None).unwrap().stop, "{:?}", lost.removed_mm());
    assert!(lost.log()[1].set_aside[0].contains("weight of the shavings"));
    let neither = after(0.2, 2.0).next_pass(None).unwrap();
    assert!(neither.stop, "{}", neither.words);
}

/// Heights where the layers have ended tell nothing; beyond the plan's end they are told as they are.
#[test]
fn heights_tell_where_wood_was_taken() {
    let blank = common::stick();
    let tapered = Profile::through(&[0.0, 210.0, 420.0], &[15.5, 10.0, 15.5], &[bracewright::Blend::Cosine; 2]).unwrap();
    let target = Brace::new(&blank, &tapered, &Section::rectangle()).unwrap();
    let plan = plan_passes(&Brace::uncarved(&blank), &target, &PlanOptions::new(1.0)).unwrap();
    let goal = Rig::three_point(380.0, 19.6).unwrap().between(1.0, 1.1).unwrap();
    let b = Bench::new(&plan, &goal, &quick()).unwrap();
    let after =
        |x: Vec<f64>, h: Vec<f64>| b.after_pass(&Seen { aimed_mm: Some(4.0), heights_mm: Some((x, h)), ..Seen::default() });
    // at the ends all the plan asks for came off in the first passes
    assert!(after(vec![3.0], vec![15.49]).unwrap_err().to_string().contains("says nothing of the depth"));
    let told = after(vec![3.0, 210.0], vec![15.49, 13.2]).unwrap();
    assert!((told.removed_mm().0 - 3.8).abs() < 0.05 && told.removed_mm().1 > 0.04, "{:?}", told.removed_mm());
    let whole = plan.whole_depth_mm();
    let past =
        b.after_pass(&Seen { aimed_mm: Some(whole), heights_mm: Some((vec![210.0], vec![9.2])), ..Seen::default() }).unwrap();
    assert!((past.removed_mm().0 - (whole + 0.8)).abs() < 0.1, "{:?} {whole}", past.removed_mm());
}

#[test]
fn a_deepest_pass_thinner_than_a_shaving_is_refused() {
    let blank = common::stick();
    let target = Brace::new(&blank, &Profile::straight(420.0, 10.0).unwrap(), &Section::rectangle()).unwrap();
    let goal = Rig::three_point(380.0, 19.6).unwrap().between(1.0, 1.1).unwrap();
    let of = |plan_mm: f64, deepest_pass_mm: Option<f64>| {
        let plan = plan_passes(&Brace::uncarved(&blank), &target, &PlanOptions::new(plan_mm)).unwrap();
        Bench::new(&plan, &goal, &BenchOptions { deepest_pass_mm, ..quick() }).map(|_| ())
    };
    assert!(of(1.0, Some(0.15)).is_ok());
    assert!(of(1.0, Some(0.1)).unwrap_err().to_string().contains("deepest_pass_mm is 0.1 mm"));
    assert!(of(0.1, None).unwrap_err().to_string().contains("max_depth_mm of the plan is 0.1 mm"));
}

#[test]
fn a_pass_of_no_depth_is_refused() {
    for bad in [0.0, -1.0, f64::NAN] {
        let blank = common::stick();
        let target = Brace::new(&blank, &Profile::straight(420.0, 10.0).unwrap(), &Section::rectangle()).unwrap();
        let plan = plan_passes(&Brace::uncarved(&blank), &target, &PlanOptions::new(1.0)).unwrap();
        let goal = Rig::three_point(380.0, 19.6).unwrap().between(1.0, 1.1).unwrap();
        let e = Bench::new(&plan, &goal, &BenchOptions { deepest_pass_mm: Some(bad), ..quick() }).unwrap_err().to_string();
        assert!(e.contains("deepest_pass_mm"), "{e}");
    }
}

/// A reading that does not fit stops the chisel; the same again from a new seat is believed, another puts the first in doubt.
#[test]
fn a_reading_confirmed_is_believed() {
    let b = bench(1.0, 4.0, &quick());
    let rig = b.rig().clone();
    let own = |d: f64| rig.expected(&b.plan().at_depth(d).unwrap()).unwrap().deflection_mm;
    let read = |b: &Bench, mm: f64| b.after_reading(&rig.reading(mm).unwrap()).unwrap();
    let first = read(&b, own(0.0))
        .after_pass(&Seen { aimed_mm: Some(1.0), reading: Some(rig.reading(own(2.0)).unwrap()), ..Seen::default() })
        .unwrap();
    let odd = first.next_pass(None).unwrap();
    assert!(matches!(odd.decision.kind, Kind::Stop(Stop::ReadingInconsistent { sigmas, .. }) if sigmas > 3.0), "{}", odd.words);
    let confirmed = read(&first, own(2.0) + 0.004);
    let step = confirmed.next_pass(None).unwrap();
    assert!(!step.stop, "{}", step.words);
    assert!((confirmed.known().dial_mm().0 / own(2.0) - 1.0).abs() < 0.01);
    // a new seat that goes with what was known leaves the first out
    let other = read(&first, own(1.0));
    assert!(!other.next_pass(None).unwrap().stop && (other.known().dial_mm().0 / own(1.0) - 1.0).abs() < 0.01);
    assert!(other.log().last().unwrap().set_aside[0].contains("left out"), "{:?}", other.log().last());
    // a third that goes with neither settles nothing, and nor does the scale
    let third = read(&first, own(3.2));
    let weighed = first.after_look(&Seen { brace_g: Some(b.plan().at_depth(1.0).unwrap().mass_g().unwrap()), ..Seen::default() });
    for b in [third, weighed.unwrap()] {
        let step = b.next_pass(None).unwrap();
        assert!(matches!(step.decision.kind, Kind::Stop(Stop::ReadingInconsistent { .. })), "{}", step.words);
    }
    // what was in doubt before a pass is settled when two later readings go together, though neither is what was expected
    let later = first.after_pass(&Seen { aimed_mm: Some(0.5), reading: Some(rig.reading(own(3.4)).unwrap()), ..Seen::default() });
    let later = read(&later.unwrap(), own(3.4) + 0.003);
    let step = later.next_pass(None).unwrap();
    assert!(!matches!(step.decision.kind, Kind::Stop(Stop::ReadingInconsistent { .. })), "{}", step.words);
    // taken out of the log, the bench is the one before it
    assert_eq!(read(&first, own(3.2)).without_last().unwrap(), first);
}

/// A bench goes through a file and comes back equal, decisions and all, by replaying its log.
#[test]
fn a_bench_replays_to_the_same_decision() {
    let b = bench(1.0, 4.0, &quick());
    let rig = b.rig().clone();
    let own = |d: f64| rig.expected(&b.plan().at_depth(d).unwrap()).unwrap().deflection_mm;
    let carved = b
        .after_reading(&rig.reading(own(0.0)).unwrap())
        .unwrap()
        .after_pass(&Seen { shavings_g: Some(0.9), reading: Some(rig.reading(own(1.0)).unwrap()), ..Seen::default() })
        .unwrap()
        .after_look(&Seen { brace_g: Some(b.plan().at_depth(1.0).unwrap().mass_g().unwrap()), ..Seen::default() })
        .unwrap();
    let text = serde_json::to_string(&carved).unwrap();
    let back: Bench = serde_json::from_str(&text).unwrap();
    assert_eq!(back, carved);
    assert_eq!(back.next_pass(None).unwrap(), carved.next_pass(None).unwrap());
    assert_eq!(carved.log()[1].advised_mm, carved.log()[1].seen.aimed_mm);
}

/// A cap that would go past the window by itself is not advised.
#[test]
fn a_cap_that_goes_too_far_is_not_worked() {
    let blank = common::stick().with_modulus(11.0, 0.02).unwrap();
    let straight = Profile::straight(420.0, 16.0).unwrap();
    let start = Brace::new(&blank, &straight, &Section::rectangle()).unwrap();
    let target = Brace::new(&blank, &straight, &Section::triangular_cap(bracewright::CapRise::Mm(6.0)).unwrap()).unwrap();
    let lower = target.with_profile(&Profile::straight(420.0, 12.0).unwrap()).unwrap();
    let plan = plan_passes(&start, &lower, &PlanOptions::new(1.0)).unwrap();
    let rig = Rig::three_point(380.0, 19.6).unwrap();
    let (bare, capped) = (rig.expected(&start).unwrap().deflection_mm, rig.expected(&target).unwrap().deflection_mm);
    let of = |low: f64, high: f64| {
        let b = Bench::new(&plan, &rig.between(low, high).unwrap(), &quick()).unwrap();
        b.after_reading(&rig.reading(bare).unwrap()).unwrap().next_pass(None).unwrap()
    };
    let far = of(bare, 1.05 * bare);
    assert!(far.stop && far.words.starts_with("Do not work the triangular cap"), "{}", far.words);
    let fine = of(1.3 * capped, 1.4 * capped);
    assert!(!fine.stop && fine.words.starts_with("First "), "{}", fine.words);
    assert!(matches!(fine.decision.kind, Kind::Carve { .. }));
}
