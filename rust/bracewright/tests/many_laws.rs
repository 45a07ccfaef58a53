//! Lots of braces against the same braces taken one by one.
#![allow(clippy::unwrap_used)]

use bracewright::many::{Lot, RoughCarving};
use bracewright::tolerance::{Spreads, tolerance};
use bracewright::{Blank, Blend, Brace, CapRise, Profile, Section, Wood, section_dimension_for};
use proptest::prelude::*;

const BLENDS: [Blend; 4] = [Blend::Straight, Blend::Cosine, Blend::Cosine, Blend::Straight];

fn sections() -> Vec<Section> {
    vec![
        Section::rectangle(),
        Section::triangular_cap(CapRise::Mm(6.0)).unwrap(),
        Section::parabolic_cap(CapRise::Mm(5.0)).unwrap(),
        Section::rounded_cap(CapRise::OfHeight(0.4)).unwrap(),
        Section::tapered_sides(5.0).unwrap(),
    ]
}

fn rows(n: usize, seed: f64) -> (Vec<f64>, Vec<f64>) {
    let (mut at, mut h) = (vec![], vec![]);
    for i in 0..n {
        let u = |k: usize| ((i * 7 + k * 13) as f64 * 0.618_033_988 + seed).fract();
        at.extend([0.0, 10.0 + 20.0 * u(0), 90.0 + 20.0 * u(1), 140.0 + 25.0 * u(2), 200.0 + 20.0 * u(3)]);
        let top = 14.0 + 3.0 * u(4);
        h.extend([top, top, 6.0 + 3.0 * u(5), 10.0 + 3.0 * u(6), 1.5 + 1.5 * u(7)]);
    }
    (at, h)
}

fn lot(n: usize, seed: f64, section: &Section) -> Lot {
    let (at, h) = rows(n, seed);
    Lot::through(5, at, h, &BLENDS, true, &[8.0], &[12.0], &[420.0], section).unwrap()
}

fn brace_of(lot: &Lot, i: usize, section: &Section) -> Brace {
    let p = lot.profile(i).unwrap();
    let wood = Wood::published("Sitka spruce").unwrap();
    let blank = Blank::new(&wood, p.length_mm(), 8.0, 17.0, Some(8.0 * 17.0 * p.length_mm() * 420e-6))
        .unwrap()
        .with_modulus(12.0, 0.1)
        .unwrap();
    Brace::new(&blank, &p, section).unwrap()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(12))]

    #[test]
    fn a_lot_is_its_braces(seed in 0.0..1.0f64) {
        for section in sections() {
            let lot = lot(6, seed, &section);
            let along = lot.along(101).unwrap();
            for i in 0..lot.len() {
                let b = brace_of(&lot, i, &section);
                let x: Vec<f64> = (0..101).map(|k| (b.length_mm() * k as f64 / 100.0).min(b.length_mm())).collect();
                let one = b.along(&x).unwrap();
                let drawn = b.drawn(&x).unwrap();
                for k in 0..101 {
                    let j = i * 101 + k;
                    prop_assert!((along.area_mm2[j] / one.area_mm2[k] - 1.0).abs() < 1e-12, "{} area {k}", section.name());
                    prop_assert!((along.i_centroid_mm4[j] / one.i_centroid_mm4[k] - 1.0).abs() < 1e-11);
                    prop_assert!((drawn.ei_n_m2[k] / one.ei_n_m2[k] - 1.0).abs() < 1e-11);
                    prop_assert!((drawn.height_mm[k] - one.height_mm[k]).abs() < 1e-12);
                }
                prop_assert!((along.mass_g[i] / b.mass_g().unwrap() - 1.0).abs() < 1e-10, "{} mass", section.name());
            }
        }
    }

    #[test]
    fn three_points_of_a_lot(seed in 0.0..1.0f64) {
        for section in sections() {
            let lot = lot(4, seed, &section).with_shear_ratio(0.061).unwrap();
            let quick = lot.three_point_mm_per_n(&[380.0], 8).unwrap();
            let fine = lot.three_point_mm_per_n(&[380.0], 32).unwrap();
            for i in 0..4 {
                let b = brace_of(&lot, i, &section);
                let one = b.section_three_point_mm_per_n(380.0).unwrap();
                // Sitka spruce carries the same ratio of moduli; a fixed rise puts a kink into the ramps
                let kink = if section.rise_mm().is_some() { 2e-5 } else { 3e-8 };
                prop_assert!((fine[i] / one - 1.0).abs() < kink, "{} {}", section.name(), fine[i] / one - 1.0);
                prop_assert!((quick[i] / one - 1.0).abs() < 2e-4, "{} {}", section.name(), quick[i] / one - 1.0);
            }
            let any = Lot::of(&(0..4).map(|i| brace_of(&lot, i, &section)).collect::<Vec<_>>()).unwrap();
            let by_profile = any.three_point_mm_per_n(&[380.0], 8).unwrap();
            for i in 0..4 {
                prop_assert!((by_profile[i] / fine[i] - 1.0).abs() < 2e-4, "{} {}", section.name(), by_profile[i] / fine[i] - 1.0);
            }
        }
    }

    #[test]
    fn passes_of_a_lot(seed in 0.0..1.0f64) {
        let section = Section::rectangle();
        let lot = lot(3, seed, &section);
        let rough = RoughCarving { blank_height_mm: 17.0, allowance_mm: 5.0, max_depth_mm: 1.0, passes: 5 };
        let many = lot.passes(&rough, &[380.0]).unwrap();
        for i in 0..3 {
            let target = brace_of(&lot, i, &section);
            let n = 2001;
            let x: Vec<f64> = (0..n).map(|k| (target.length_mm() * k as f64 / (n - 1) as f64).min(target.length_mm())).collect();
            let shape = target.drawn(&x).unwrap().height_mm;
            // the same passes on two thousand stations, by the trapezoid
            let mass = |p: usize| -> f64 {
                let h: Vec<f64> = shape.iter().map(|s| (s + 5.0).min(17.0) - p as f64).zip(&shape).map(|(a, b)| a.max(*b)).collect();
                let dx = target.length_mm() / (n - 1) as f64;
                let sum: f64 = h.iter().sum::<f64>() - 0.5 * (h[0] + h[n - 1]);
                sum * dx * 8.0 * 420e-6
            };
            for p in 0..5 {
                let grams = mass(p) - mass(p + 1);
                prop_assert!((many.grams_off[i * 5 + p] / grams - 1.0).abs() < 2e-4, "{} {}", many.grams_off[i * 5 + p], grams);
            }
            // after the last pass the shape itself
            let one = 1.0 / target.section_three_point_mm_per_n(380.0).unwrap();
            prop_assert!((many.stiffness_n_per_mm[i * 6 + 5] / one - 1.0).abs() < 1e-5);
            let all: f64 = many.grams_off[i * 5..i * 5 + 5].iter().sum();
            prop_assert!((all - (mass(0) - mass(5))).abs() < 1e-4);
        }
    }

    #[test]
    fn the_floor_for_a_goal(floor in 5.5..9.5f64) {
        let p = Profile::through(&[0.0, 110.0, 210.0, 310.0, 420.0], &[12.0, 8.0, 16.0, 8.0, 12.0], &[Blend::Cosine]).unwrap();
        let wood = Wood::published("Sitka spruce").unwrap();
        let b = Brace::new(&Blank::new(&wood, 420.0, 8.0, 17.0, None).unwrap(), &p, &Section::rectangle()).unwrap();
        let goal = b.with_dimension("floor height", floor).unwrap().section_three_point_mm_per_n(380.0).unwrap();
        let found = section_dimension_for(&b, "floor height", 380.0, goal, 4.0, 11.0).unwrap();
        prop_assert!((found - floor).abs() < 1e-8, "{found} {floor}");
    }
}

#[test]
fn a_million_draws_find_the_spread_of_a_product() {
    // stiffness = E w / const when only E and the width vary: the median is the nominal, and the 95th percentile that of a
    // normal of relative sd sqrt(0.1^2 + (0.1/8)^2) to first order
    let wood = Wood::published("Sitka spruce").unwrap();
    let p = Profile::straight(420.0, 16.0).unwrap();
    let b = Brace::new(&Blank::new(&wood, 420.0, 8.0, 17.0, None).unwrap(), &p, &Section::rectangle()).unwrap();
    let spreads = Spreads { modulus: 0.10, density: 0.05, width_mm: 0.1, dimension: Some(("height".into(), 0.05)) };
    let t = tolerance(&b, 380.0, &spreads, &[5.0, 50.0, 95.0], 1_000_000, 3).unwrap();
    let nominal = 1.0 / b.section_three_point_mm_per_n(380.0).unwrap();
    let sd = (0.1f64.powi(2) + (0.1f64 / 8.0).powi(2) + (3.0 * 0.05f64 / 16.0).powi(2)).sqrt();
    assert!((t.stiffness_n_per_mm[1] / nominal - 1.0).abs() < 1e-3);
    assert!(((t.stiffness_n_per_mm[2] - t.stiffness_n_per_mm[0]) / (2.0 * 1.6449 * sd * nominal) - 1.0).abs() < 5e-3);
    let again = tolerance(&b, 380.0, &spreads, &[5.0, 50.0, 95.0], 1_000_000, 3).unwrap();
    assert_eq!(t, again);
}

/// Points taken in pairs and one by one give the same numbers, for every way a ramp can meet the rise of a cap.
#[test]
fn pairs_and_single_points_agree() {
    for section in sections() {
        for k in 0..40 {
            let l = lot(70, 0.025 * f64::from(k), &section);
            for span in [380.0, 300.0, 250.0] {
                let (pairs, single) =
                    (l.three_point_mm_per_n(&[span], 12).unwrap(), l.three_point_mm_per_n(&[span], 13).unwrap());
                for (a, b) in pairs.iter().zip(&single) {
                    assert!((a / b - 1.0).abs() < 2e-7, "{a} {b} {}", a / b - 1.0);
                }
            }
        }
    }
}

/// Between the ends no brace goes to nothing, and the middle of a mirrored one is no end.
#[test]
fn nothing_between_the_ends_is_refused() {
    let of = |mirrored: bool, h: [f64; 3]| {
        let at = vec![0.0, 100.0, 200.0];
        let blends = [Blend::Straight];
        Lot::through(3, at, h.to_vec(), &blends, mirrored, &[8.0], &[12.0], &[420.0], &Section::rectangle()).map(|_| ())
    };
    assert!(of(false, [0.0, 9.0, 0.0]).is_ok() && of(true, [9.0, 9.0, 0.0]).is_ok());
    for (mirrored, h, j) in [(false, [9.0, 0.0, 9.0], 1), (false, [9.0, 1e-9, 9.0], 1), (true, [0.0, 9.0, 9.0], 0)] {
        let e = of(mirrored, h).unwrap_err().to_string();
        assert!(e.contains(&format!("height_mm[0][{j}]")) && e.contains("0.01"), "{e}");
    }
    // as of one brace
    assert!(bracewright::Profile::through(&[0.0, 100.0, 200.0], &[9.0, 0.005, 9.0], &[Blend::Straight]).is_err());
}

/// A lot comes back from its file as it was, and a file whose lists do not go together is refused.
#[test]
fn a_lot_survives_its_file() {
    for l in [
        lot(4, 0.3, &Section::rectangle()),
        Lot::of(&[brace_of(&lot(1, 0.1, &Section::rectangle()), 0, &Section::rectangle())]).unwrap(),
    ] {
        let text = serde_json::to_string(&l).unwrap();
        let back: Lot = serde_json::from_str(&text).unwrap();
        assert_eq!(back, l);
        let mut file: serde_json::Value = serde_json::from_str(&text).unwrap();
        file["width_mm"] = serde_json::json!([8.0, 8.0]);
        assert!(serde_json::from_value::<Lot>(file.clone()).unwrap_err().to_string().contains("same number"));
        file["width_mm"] = serde_json::json!([]);
        assert!(serde_json::from_value::<Lot>(file).is_err());
    }
}
