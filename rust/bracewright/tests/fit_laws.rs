//! Fits: what they find meets the goal, lies inside blank and floor, and takes no more wood than it must.

#![allow(clippy::unwrap_used)]

mod common;

use bracewright::{
    Blend, Brace, CapRise, FitOptions, Goal, Outcome, Profile, Rig, ScallopShape, Section, carve_to, copy_stiffness,
};
use common::stick;
use proptest::prelude::*;

fn scalloped(depth: f64, section: &Section) -> Brace {
    let p = Profile::straight(420.0, 16.0)
        .unwrap()
        .with_ends(40.0, 3.0, Blend::Cosine)
        .unwrap()
        .with_scallop(120.0, 90.0, depth, ScallopShape::Cosine)
        .unwrap()
        .with_scallop(300.0, 90.0, depth, ScallopShape::Cosine)
        .unwrap();
    Brace::new(&stick(), &p, section).unwrap()
}

fn rig() -> Rig {
    Rig::three_point(380.0, 19.6).unwrap()
}

fn fit(b: &Brace, g: &Goal, vary: &[&str]) -> bracewright::FitReport {
    carve_to(b, g, vary, &FitOptions::default()).unwrap()
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 10, failure_persistence: None, ..ProptestConfig::default() })]

    /// A brace made at some depth, and the depth asked for its reading: the depth comes back, in at most six solves.
    #[test]
    fn depth_comes_back(start in 1.0..8.0_f64, wanted in 1.0..9.0_f64, cap in 0..2_usize) {
        let section = if cap == 0 { Section::rectangle() } else { Section::parabolic_cap(CapRise::Mm(4.0)).unwrap() };
        let target = rig().exactly(1.0).unwrap();
        let d = target.value(&scalloped(wanted, &section)).unwrap();
        let r = fit(&scalloped(start, &section), &rig().exactly(d).unwrap(), &["scallop depth"]);
        prop_assert_eq!(r.outcome, Outcome::Reached);
        prop_assert!(r.solves <= 6, "{} solves", r.solves);
        prop_assert!((r.value / d - 1.0).abs() <= 5e-5);
        prop_assert!((r.dimensions[0].2 - wanted).abs() < 2e-3, "{:?} for {wanted}", r.dimensions);
        let again = rig().exactly(d).unwrap().value(&r.brace).unwrap();
        prop_assert!((again / r.value - 1.0).abs() < 1e-12);
        prop_assert!((r.grams_off - (scalloped(start, &section).mass_g().unwrap() - r.brace.mass_g().unwrap())).abs() < 1e-12);
    }
}

/// In any section whose shape does not change, the width is a weight on both beams: closed forms.
#[test]
fn width() {
    for section in [Section::rectangle(), Section::parabolic_cap(CapRise::Mm(4.0)).unwrap()] {
        let b = scalloped(5.0, &section);
        let d = rig().exactly(1.0).unwrap().value(&b).unwrap();
        let r = fit(&b, &rig().exactly(1.25 * d).unwrap(), &["width"]);
        assert_eq!(r.outcome, Outcome::Reached);
        assert!((r.dimensions[0].2 - 8.0 / 1.25).abs() < 1e-3, "{:?}", r.dimensions);
        let m = b.mass_g().unwrap();
        let r = fit(&b, &Goal::mass(0.8 * m, 0.8 * m).unwrap(), &["width"]);
        assert!((r.dimensions[0].2 - 6.4).abs() < 1e-3 && (r.mass_g / (0.8 * m) - 1.0).abs() < 1e-4);
    }
}

/// A straight rectangle of some mass: the height goes as the mass.
#[test]
fn height_for_a_mass() {
    let b = Brace::new(&stick(), &Profile::straight(420.0, 16.0).unwrap(), &Section::rectangle()).unwrap();
    let m = b.mass_g().unwrap();
    let r = fit(&b, &Goal::mass(0.7 * m, 0.7 * m).unwrap(), &["height"]);
    assert!((r.dimensions[0].2 - 11.2).abs() < 1e-3, "{:?}", r.dimensions);
}

/// Frequency, stiffness at a place, other dimensions.
#[test]
fn other_goals_and_dimensions() {
    let capped = scalloped(4.0, &Section::parabolic_cap(CapRise::Mm(4.0)).unwrap());
    let deeper = scalloped(6.5, &Section::parabolic_cap(CapRise::Mm(4.0)).unwrap());
    let f = Goal::frequency(1.0, 1.0).unwrap().value(&deeper).unwrap();
    let r = fit(&capped, &Goal::frequency(f, f).unwrap(), &["scallop depth"]);
    assert!(r.outcome == Outcome::Reached && (r.dimensions[0].2 - 6.5).abs() < 0.01, "{}", r.words);
    let k = Goal::stiffness(120.0, 1.0, 1.0).unwrap().value(&deeper).unwrap();
    let r = fit(&capped, &Goal::stiffness(120.0, k, k).unwrap(), &["scallop 1 depth"]);
    assert!(r.outcome == Outcome::Reached && (r.dimensions[0].2 - 6.5).abs() < 0.01, "{}", r.words);
    let d = rig().exactly(1.0).unwrap().value(&capped).unwrap();
    for (name, factor) in
        [("scallop length", 1.02), ("cap rise", 1.02), ("height", 0.9), ("end height", 1.0001), ("scallop 2 depth", 1.05)]
    {
        let r = fit(&capped, &rig().exactly(factor * d).unwrap(), &[name]);
        assert_eq!(r.outcome, Outcome::Reached, "{name}: {}", r.words);
        assert!((r.value / (factor * d) - 1.0).abs() < 1e-4);
    }
}

/// What cannot be reached is said, with the nearest and the range.
#[test]
fn out_of_reach() {
    let b = scalloped(3.0, &Section::rectangle());
    // a light load, so that twenty times its reading is still a goal a rig may have
    let rig = || Rig::three_point(380.0, 5.0).unwrap();
    let d = rig().exactly(1.0).unwrap().value(&b).unwrap();
    let r = fit(&b, &rig().exactly(20.0 * d).unwrap(), &["scallop depth"]);
    assert_eq!(r.outcome, Outcome::OutOfReach);
    assert!(r.words.contains("cannot be reached"), "{}", r.words);
    assert!((r.dimensions[0].2 - r.ranges[0].1).abs() < 1e-6 && (r.value - r.reach.1).abs() < 1e-6 * r.value);
    // the floor is what stops it
    assert!((r.dimensions[0].2 - 13.0).abs() < 1e-5, "{:?}", r.dimensions);
    let r = fit(&b, &rig().exactly(0.2 * d).unwrap(), &["scallop depth"]);
    assert_eq!(r.outcome, Outcome::OutOfReach);
    assert!(r.dimensions[0].2 < 1e-6 && r.value < d);
}

/// With two dimensions the goal is met with no more wood off than by either alone.
#[test]
fn two_dimensions_take_the_least() {
    let b = scalloped(3.0, &Section::rectangle());
    let d = rig().exactly(1.0).unwrap().value(&b).unwrap();
    let g = rig().exactly(1.15 * d).unwrap();
    let two = fit(&b, &g, &["scallop depth", "height"]);
    assert_eq!(two.outcome, Outcome::Reached, "{}", two.words);
    for one in ["scallop depth", "height"] {
        let r = fit(&b, &g, &[one]);
        if r.outcome == Outcome::Reached {
            assert!(two.mass_g > r.mass_g - 0.01, "{one} alone leaves {} g, both {} g", r.mass_g, two.mass_g);
        }
    }
}

/// A brace copied onto its own stick is itself; onto one of twice the modulus it works the same along its length with
/// less wood.
#[test]
fn copies() {
    let b = scalloped(5.0, &Section::rectangle());
    let same = copy_stiffness(&b, None, b.blank(), &rig(), 3.0).unwrap();
    assert!(same.worst_miss < 0.02 && same.grams_more.abs() < 0.15, "{} {}", same.worst_miss, same.grams_more);
    let stiff = b.blank().with_modulus(1.3 * b.blank().modulus_gpa(), 0.02).unwrap();
    let copy = copy_stiffness(&b, None, &stiff, &rig(), 2.0).unwrap();
    assert!(copy.grams_more < -0.5 && copy.short_at_mm.is_empty(), "{} {:?}", copy.grams_more, copy.short_at_mm);
    assert!(copy.worst_miss < 0.03, "{}", copy.worst_miss);
    let (a, c) = (rig().compliance_mm_per_n(&b).unwrap().0, rig().compliance_mm_per_n(&copy.brace).unwrap().0);
    assert!((c / a - 1.0).abs() < 0.02, "{a} {c}");
    assert!((copy.reading_mm / (19.6 * a) - 1.0).abs() < 1e-6 && copy.window.holds(copy.reading_mm));
    // too soft a stick cannot follow, and it is said where
    let soft = b.blank().with_modulus(0.5 * b.blank().modulus_gpa(), 0.02).unwrap();
    let short = copy_stiffness(&b, None, &soft, &rig(), 3.0).unwrap();
    assert!(!short.short_at_mm.is_empty() && short.words.contains("cannot follow"), "{}", short.words);
}

#[test]
fn refusals() {
    let b = scalloped(5.0, &Section::rectangle());
    let g = rig().exactly(1.0).unwrap();
    let err = |vary: &[&str], o: FitOptions| carve_to(&b, &g, vary, &o).unwrap_err().to_string();
    let o = FitOptions::default();
    assert!(err(&[], o).contains("vary") && err(&["height", "height"], o).contains("vary"));
    assert!(err(&["depth"], o).contains("scallop depth"));
    assert!(err(&["cap rise"], o).contains("cap rise"));
    for bad in [0.0, -1.0, f64::NAN, f64::INFINITY] {
        assert!(err(&["height"], FitOptions { smallest_safe_height_mm: bad, ..o }).contains("smallest_safe_height_mm"));
        assert!(err(&["height"], FitOptions { tolerance: bad, ..o }).contains("tolerance"));
        assert!(rig().between(bad, 1.0).unwrap_err().to_string().contains("low end"));
        assert!(
            Goal::mass(1.0, bad).is_err()
                && Goal::frequency(bad, bad).is_err()
                && Goal::stiffness(bad, 1.0, 2.0).is_err() != (bad == 0.0)
        );
    }
    assert!(rig().between(2.0, 1.0).is_err());
}
