//! Passes: cuts inside cuts that add up to the whole, and what bounds them.

#![allow(clippy::unwrap_used)]

mod common;

use bracewright::{
    Blank, Blend, Brace, CapRise, Plan, PlanOptions, Profile, Rig, Scallop, ScallopShape, Section, Side, Wood, Zone, plan_passes,
};
use proptest::prelude::*;

/// A blank measured at uneven stations, at least 15 high, and a target at most 14.5 high.
fn job() -> impl Strategy<Value = (Brace, Brace)> {
    (
        prop::collection::vec(15.0..17.5_f64, 6),
        prop::sample::select(ScallopShape::ALL.to_vec()),
        (85.0..150.0_f64, 30.0..60.0_f64, 30.0..50.0_f64, 0.0..7.0_f64),
        (260.0..330.0_f64, 30.0..60.0_f64, 30.0..60.0_f64, 0.0..7.0_f64),
        10.0..14.5_f64,
        0..4_usize,
    )
        .prop_map(|(h, shape, a, b, top, section)| {
            let wood = Wood::published("Sitka spruce").unwrap();
            let start = Profile::measured(&[0.0, 60.0, 130.0, 260.0, 350.0, 420.0], &h).unwrap();
            let blank = Blank::shaped(&wood, start, 8.0, Some(23.0)).unwrap();
            let s = |v: (f64, f64, f64, f64)| Scallop { at_mm: v.0, left_mm: v.1, right_mm: v.2, depth_mm: v.3, shape };
            let target = Profile::straight(420.0, top)
                .unwrap()
                .with_ends(20.0, 2.0, Blend::Cosine)
                .unwrap()
                .with_scallops(&[s(a), s(b)])
                .unwrap();
            let section = match section {
                0 => Section::rectangle(),
                1 => Section::parabolic_cap(CapRise::Mm(4.0)).unwrap(),
                2 => Section::rounded_cap(CapRise::Mm(6.0)).unwrap(),
                _ => Section::triangular_cap(CapRise::OfHeight(0.3)).unwrap(),
            };
            let target = Brace::new(&blank, &target, &section).unwrap();
            (Brace::uncarved(&blank), target)
        })
}

fn heights(b: &Brace, x: &[f64]) -> Vec<f64> {
    b.profile().height_mm(x).unwrap()
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 40, failure_persistence: None, ..ProptestConfig::default() })]

    /// Passes add up to the whole in grams and end exactly on the target; each lies inside the one before, is no deeper
    /// than allowed, and never adds EI.
    #[test]
    fn passes_add_up((start, target) in job(), deepest in 0.3..2.0_f64) {
        let plan = plan_passes(&start, &target, &PlanOptions::new(deepest)).unwrap();
        let whole = start.mass_g().unwrap() - target.mass_g().unwrap();
        let sum: f64 = plan.passes.iter().map(|p| p.grams_off).sum();
        prop_assert!((sum - whole).abs() < 1e-9, "{sum} {whole}");
        prop_assert!((plan.grams_off() - whole).abs() < 1e-9);
        let x: Vec<f64> = (0..=420).map(f64::from).collect();
        let mut before = start.clone();
        for p in &plan.passes {
            prop_assert!(p.grams_off >= -1e-9 && p.deepest_mm <= deepest + 1e-9);
            // where it is said to cut it does, and nowhere else, to a shaving and a step of the search
            for (x, depth) in x.iter().zip(heights(&before, &x).iter().zip(heights(&p.after, &x)).map(|(b, a)| b - a)) {
                let inside = |slack: f64| p.stretches_mm.iter().any(|z| *x >= z.start_mm - slack && *x <= z.end_mm + slack);
                prop_assert!(depth < 0.03 || inside(0.6), "{depth} at {x}: {:?}", p.stretches_mm);
                prop_assert!(depth > 0.01 || !inside(-0.6), "{depth} at {x}: {:?}", p.stretches_mm);
            }
            prop_assert!(p.stretches_mm.windows(2).all(|z| z[0].end_mm < z[1].start_mm));
            prop_assert!(p.cut_mm.is_some() || p.places() == "whole length");
            prop_assert!((p.grams_left - p.after.mass_g().unwrap()).abs() < 1e-12);
            for (a, b) in heights(&p.after, &x).iter().zip(heights(&before, &x)) {
                prop_assert!(*a <= b + 1e-10 && b - a <= deepest + 1e-9, "{a} {b}");
            }
            for (a, b) in p.after.ei_n_m2(&x).unwrap().iter().zip(before.ei_n_m2(&x).unwrap()) {
                prop_assert!(*a <= b * (1.0 + 1e-9) + 1e-12);
            }
            for s in &p.stations {
                prop_assert!((s.before_mm - s.after_mm - s.depth_mm).abs() < 1e-10 && s.ei_left <= 1.0 && s.ei_left >= 0.0);
            }
            before = p.after.clone();
        }
        let last = plan.passes.last().unwrap();
        prop_assert_eq!(last.after.profile().crest(), plan.end.profile().crest());
        for (a, b) in heights(&last.after, &x).iter().zip(heights(&target, &x)) {
            prop_assert!((a - b).abs() < 1e-10, "{a} {b}");
        }
        prop_assert_eq!(last.after.section(), target.section());
        prop_assert!(plan.notes.is_empty());
        // half of the depth in one step is half of the passes
        let d = plan.whole_depth_mm();
        prop_assert!((plan.at_depth(d).unwrap().mass_g().unwrap() - target.mass_g().unwrap()).abs() < 1e-9);
        // and the mass falls steadily on the way, at exactly half of it too
        let masses: Vec<f64> =
            (0..=16).map(|k| plan.at_depth(d * f64::from(k) / 16.0).unwrap().mass_g().unwrap()).collect();
        prop_assert!(masses.windows(2).all(|m| m[1] <= m[0] + 1e-10), "{masses:?}");
    }

    /// Finer passes end where coarser ones do.
    #[test]
    fn the_number_of_passes_does_not_matter((start, target) in job(), a in 0.4..1.0_f64, b in 1.0..3.0_f64) {
        let run = |d: f64| plan_passes(&start, &target, &PlanOptions::new(d)).unwrap();
        let (p, q) = (run(a), run(b));
        prop_assert!(p.passes.len() >= q.passes.len());
        prop_assert!((p.grams_off() - q.grams_off()).abs() < 1e-9);
        prop_assert_eq!(p.end.profile().crest(), q.end.profile().crest());
    }

    /// Untouched stretches stay, floors hold, tools leave what they cannot reach, and every limit only leaves more wood.
    #[test]
    fn limits((start, target) in job(), floor in 3.0..12.0_f64, zone in 60.0..340.0_f64, r in 20.0..200.0_f64) {
        let mut o = PlanOptions::new(1.0);
        let free = plan_passes(&start, &target, &o).unwrap();
        o.smallest_safe_height_mm = Some(floor);
        o.untouched = vec![Zone { start_mm: zone, end_mm: zone + 30.0 }];
        o.gouge_radius_mm = Some(r);
        let plan = plan_passes(&start, &target, &o).unwrap();
        let x: Vec<f64> = (0..=840).map(|k| 0.5 * f64::from(k)).collect();
        let (s, e, t) = (heights(&start, &x), heights(&plan.end, &x), heights(&free.end, &x));
        for i in 0..x.len() {
            prop_assert!(e[i] >= t[i] - 1e-9 && e[i] <= s[i] + 1e-9, "at {}: {} {} {}", x[i], e[i], t[i], s[i]);
            if x[i] > zone + 1e-6 && x[i] < zone + 30.0 - 1e-6 {
                prop_assert!((e[i] - s[i]).abs() < 1e-9);
            }
            if x[i] >= 20.0 + 1e-6 && x[i] <= 400.0 - 1e-6 {
                prop_assert!(e[i] >= floor.min(s[i]) - 1e-9);
            }
        }
        prop_assert!(plan.end.mass_g().unwrap() >= free.end.mass_g().unwrap() - 1e-9);
    }

    /// A plan of the mirrored job is the mirrored plan.
    #[test]
    fn mirrors((start, target) in job()) {
        let o = PlanOptions::new(1.0);
        let p = plan_passes(&start, &target, &o).unwrap();
        let q = plan_passes(&start.mirrored().unwrap(), &target.mirrored().unwrap(), &o).unwrap();
        prop_assert_eq!(p.passes.len(), q.passes.len());
        for (a, b) in p.passes.iter().zip(&q.passes) {
            prop_assert!((a.grams_off - b.grams_off).abs() < 1e-8);
            prop_assert!((a.deepest_mm - b.deepest_mm).abs() < 1e-8);
        }
    }
}

/// Readings rise from pass to pass: each pass softens. The stiffness lost, summed over a fine map, is an even layer's.
#[test]
fn readings_rise_and_places_sum_to_a_layer() {
    let blank = common::stick();
    let p = Profile::straight(420.0, 15.0)
        .unwrap()
        .with_scallop(110.0, 100.0, 6.0, ScallopShape::Cosine)
        .unwrap()
        .with_scallop(310.0, 100.0, 6.0, ScallopShape::Cosine)
        .unwrap();
    let target = Brace::new(&blank, &p, &Section::rectangle()).unwrap();
    let rig = Rig::three_point(380.0, 19.6).unwrap();
    let plan = plan_passes(&Brace::uncarved(&blank), &target, &PlanOptions::new(2.0)).unwrap();
    let d: Vec<f64> = plan.readings(&rig).unwrap().iter().map(|e| e.deflection_mm).collect();
    assert!(d.windows(2).all(|w| w[1] > w[0]), "{d:?}");
    let map = target.sensitivity(&rig, 30).unwrap();
    let sum: f64 = map.percent_per_mm.iter().sum();
    let step = 0.01;
    let lower = Brace::new(&blank, &p.with_height(15.0 - step).unwrap(), &Section::rectangle()).unwrap();
    let higher = Brace::new(&blank, &p.with_height(15.0 + step).unwrap(), &Section::rectangle()).unwrap();
    let c = |b: &Brace| rig.compliance_mm_per_n(b).unwrap().0;
    let whole = 100.0 * (c(&lower).ln() - c(&higher).ln()) / (2.0 * step);
    // the two half places at the very ends belong to no bump; nothing is there to lose
    assert!((sum / whole - 1.0).abs() < 0.005, "{sum} {whole}");
    let grams: f64 = map.grams_per_mm.iter().sum();
    let layer = (higher.mass_g().unwrap() - lower.mass_g().unwrap()) / (2.0 * step);
    assert!(grams < layer && grams > 0.96 * layer, "{grams} {layer}");
}

/// What cannot be is refused in words.
#[test]
fn refusals() {
    let blank = common::stick();
    let start = Brace::uncarved(&blank);
    let target = Brace::new(&blank, &Profile::straight(420.0, 12.0).unwrap(), &Section::rectangle()).unwrap();
    let err = |s: &Brace, t: &Brace, o: &PlanOptions| plan_passes(s, t, o).unwrap_err().to_string();
    assert!(err(&target, &start, &PlanOptions::new(1.0)).contains("takes wood away"));
    for bad in [0.0, -1.0, f64::NAN, f64::INFINITY] {
        assert!(err(&start, &target, &PlanOptions::new(bad)).contains("max_depth_mm"));
    }
    assert!(err(&start, &target, &PlanOptions::new(1e-6)).contains("max_depth_mm"));
    let mut o = PlanOptions::new(1.0);
    o.untouched = vec![Zone { start_mm: 50.0, end_mm: 40.0 }];
    assert!(err(&start, &target, &o).contains("untouched"));
    o.untouched = vec![];
    o.gouge_radius_mm = Some(-3.0);
    assert!(err(&start, &target, &o).contains("gouge_radius_mm"));
    o.gouge_radius_mm = None;
    o.stations_mm = vec![0.0, 500.0];
    assert!(err(&start, &target, &o).contains("stations_mm"));
    let other = Blank::new(blank.wood(), 400.0, 8.0, 17.0, None).unwrap();
    assert!(!err(&start, &Brace::uncarved(&other), &PlanOptions::new(1.0)).is_empty());
}

fn sided(start: &Brace, target: &Brace, side: Side, middle_mm: Option<f64>) -> Plan {
    plan_passes(start, target, &PlanOptions { side, middle_mm, ..PlanOptions::new(1.0) }).unwrap()
}

/// Start and target of one section: a side can be carved only where no cap is left to work.
fn plain(start: &Brace, target: &Brace) -> (Brace, Brace) {
    (start.clone(), target.with_section(start.section()).unwrap())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 40, failure_persistence: None, ..ProptestConfig::default() })]

    /// One side leaves the other as it stands, to the last bits, in every pass; its own it carves as the whole plan does.
    #[test]
    fn one_side_leaves_the_other((start, target) in job(), middle in prop::option::of(60.0..360.0_f64), left in any::<bool>()) {
        let (start, target) = plain(&start, &target);
        let m = middle.unwrap_or(210.0);
        let side = if left { Side::Left } else { Side::Right };
        let plan = sided(&start, &target, side, middle);
        let whole = sided(&start, &target, Side::Both, None);
        let x: Vec<f64> = (0..=840).map(|k| 0.5 * f64::from(k)).filter(|x| (x - m).abs() > 1e-6).collect();
        let mine = |x: f64| (x < m) == left;
        let (have, want) = (heights(&start, &x), heights(&whole.end, &x));
        for b in plan.passes.iter().map(|p| &p.after).chain([&plan.end]) {
            for ((x, h), a) in x.iter().zip(heights(b, &x)).zip(&have) {
                // equal polynomials on other pieces differ in the last bits of 17 mm
                prop_assert!(mine(*x) || (h - a).abs() <= 4e-15 * a, "x {x}: {h} {a}");
            }
        }
        for ((x, h), w) in x.iter().zip(heights(&plan.end, &x)).zip(want) {
            prop_assert!(!mine(*x) || (h - w).abs() < 1e-10, "x {x}: {h} {w}");
        }
        for p in &plan.passes {
            for s in &p.stations {
                prop_assert!(mine(s.x_mm) || s.depth_mm < 1e-12);
            }
            if let Some(z) = p.cut_mm {
                prop_assert!((left && z.end_mm <= m + 1e-9) || (!left && z.start_mm >= m - 1e-9));
            }
        }
        let kept = format!("the part {} of x =", if left { "right" } else { "left" });
        prop_assert!(plan.notes.iter().any(|n| n.starts_with(&kept) && n.contains("left as it stands")));
    }

    /// Left, then right, is both.
    #[test]
    fn left_then_right_is_both((start, target) in job(), middle in prop::option::of(60.0..360.0_f64)) {
        let (start, target) = plain(&start, &target);
        let left = sided(&start, &target, Side::Left, middle);
        let right = sided(&left.end, &target, Side::Right, middle);
        let both = sided(&start, &target, Side::Both, None);
        let x: Vec<f64> = (0..=840).map(|k| 0.5 * f64::from(k)).collect();
        for (a, b) in heights(&right.end, &x).iter().zip(heights(&both.end, &x)) {
            prop_assert!((a - b).abs() < 1e-10, "{a} {b}");
        }
        prop_assert!((left.grams_off() + right.grams_off() - both.grams_off()).abs() < 1e-9);
    }

    /// Both sides alike: the result is its own mirror, lies above the target and below what is there, and is no higher
    /// than the two together ask for. Caps, floors and tools keep it so.
    #[test]
    fn symmetric_is_its_mirror((start, target) in job(), floor in 3.0..12.0_f64, limits in any::<bool>(), zone in 60.0..340.0_f64) {
        let flat = Blank::new(start.blank().wood(), 420.0, 8.0, 17.5, None).unwrap();
        let (start, target) = (Brace::uncarved(&flat), target.with_blank(&flat).unwrap());
        let mut o = PlanOptions { side: Side::Symmetric, ..PlanOptions::new(1.0) };
        if limits {
            o.smallest_safe_height_mm = Some(floor);
            o.untouched = vec![Zone { start_mm: zone, end_mm: zone + 30.0 }];
        }
        let plan = plan_passes(&start, &target, &o).unwrap();
        let x: Vec<f64> = (0..=840).map(|k| 0.5 * f64::from(k) + 1e-4).filter(|x| *x < 420.0).collect();
        let back: Vec<f64> = x.iter().map(|x| 420.0 - x).collect();
        let (e, r, t, u) = (heights(&plan.end, &x), heights(&plan.end, &back), heights(&target, &x), heights(&target, &back));
        for i in 0..x.len() {
            prop_assert!((e[i] - r[i]).abs() < 1e-9, "x {}: {} {}", x[i], e[i], r[i]);
            prop_assert!(e[i] >= t[i].max(u[i]) - 1e-9 && e[i] <= 17.5 + 1e-9);
            prop_assert!(limits || (e[i] - t[i].max(u[i])).abs() < 1e-9);
        }
        prop_assert!(plan.notes.iter().any(|n| n.contains("carved alike")) && !plan.notes.iter().any(|n| n.contains("unlike")));
        let sum: f64 = plan.passes.iter().map(|p| p.grams_off).sum();
        prop_assert!((sum - start.mass_g().unwrap() + plan.end.mass_g().unwrap()).abs() < 1e-9);
    }

    /// About a middle that is not the brace's, the stretch that has two sides is symmetric, the rest is the target.
    #[test]
    fn symmetric_about_any_middle((_, target) in job(), middle in 100.0..320.0_f64) {
        let flat = Blank::new(target.blank().wood(), 420.0, 8.0, 17.5, None).unwrap();
        let target = target.with_blank(&flat).unwrap();
        let plan = sided(&Brace::uncarved(&flat), &target, Side::Symmetric, Some(middle));
        for k in 1..840 {
            let x = 0.5 * f64::from(k);
            let other = 2.0 * middle - x;
            let h = plan.end.profile().crest().at(x);
            if other > 1e-3 && other < 420.0 - 1e-3 {
                let there = plan.end.profile().crest().at(other);
                prop_assert!((h - there).abs() < 1e-6, "{h} at {x}, {there} on the other side of {middle}");
            } else if !(0.0..=420.0).contains(&other) {
                prop_assert!((h - target.profile().crest().at(x)).abs() < 1e-9, "{x} {middle}");
            }
        }
    }

    /// A tool that is given leaves a symmetric cut symmetric.
    #[test]
    fn a_gouge_leaves_it_symmetric((_, target) in job(), r in 20.0..120.0_f64) {
        let flat = Blank::new(target.blank().wood(), 420.0, 8.0, 17.5, None).unwrap();
        let o = PlanOptions { side: Side::Symmetric, gouge_radius_mm: Some(r), ..PlanOptions::new(1.0) };
        let plan = plan_passes(&Brace::uncarved(&flat), &target.with_blank(&flat).unwrap(), &o).unwrap();
        for k in 1..420 {
            let x = 0.5 * f64::from(k) + 1e-4;
            let c = plan.end.profile().crest();
            prop_assert!((c.at(x) - c.at(420.0 - x)).abs() < 1e-9);
        }
    }
}

/// What a side cannot do is refused, and what it leaves is said.
#[test]
fn sides_in_words() {
    let blank = common::stick();
    let start = Brace::uncarved(&blank);
    let plain = Brace::new(&blank, &Profile::straight(420.0, 15.0).unwrap(), &Section::rectangle()).unwrap();
    let capped = plain.with_section(&Section::parabolic_cap(CapRise::Mm(4.0)).unwrap()).unwrap();
    let run = |t: &Brace, side, middle_mm| plan_passes(&start, t, &PlanOptions { side, middle_mm, ..PlanOptions::new(1.0) });
    let e = run(&capped, Side::Left, None).unwrap_err().to_string();
    assert!(e.contains("side is \"left\"") && e.contains("parabolic cap") && e.contains("whole length"), "{e}");
    assert!(run(&capped, Side::Symmetric, None).is_ok());
    for m in [0.0, 420.0, -3.0, f64::NAN, f64::INFINITY] {
        let e = run(&plain, Side::Right, Some(m)).unwrap_err().to_string();
        assert!(e.contains("middle_mm") && e.contains("from 1 to 419 mm"), "{e}");
    }
    assert!(run(&plain, Side::Both, Some(200.0)).unwrap_err().to_string().contains("middle_mm"));
    assert!("up".parse::<Side>().unwrap_err().to_string().contains("both, left, right, symmetric"));
    assert_eq!(Side::ALL.map(|s| s.name().parse::<Side>().unwrap()), Side::ALL);
    let notes = run(&plain, Side::Left, Some(200.0)).unwrap().notes;
    assert_eq!(notes, ["the part right of x = 200 mm is left as it stands; a step of 2.00 mm is left standing there"]);
    // wood that is missing on one side only
    let worn = Profile::measured(&[0.0, 100.0, 210.0, 320.0, 420.0], &[17.0, 12.0, 17.0, 17.0, 17.0]).unwrap();
    let worn = Blank::shaped(blank.wood(), worn, 8.0, None).unwrap();
    let t = Brace::new(
        &worn,
        &Profile::linear(420.0, 5.0, 15.0).unwrap().with_scallop(100.0, 60.0, 2.0, ScallopShape::Arc).unwrap(),
        &Section::rectangle(),
    )
    .unwrap();
    let notes =
        plan_passes(&Brace::uncarved(&worn), &t, &PlanOptions { side: Side::Symmetric, ..PlanOptions::new(1.0) }).unwrap().notes;
    assert!(notes.iter().any(|n| n.contains("stay unlike")), "{notes:?}");
    // options written before there were sides
    let old: PlanOptions = serde_json::from_str(
        r#"{"max_depth_mm":1.0,"gouge_radius_mm":null,"smallest_safe_height_mm":null,"untouched":[],"stations_mm":[]}"#,
    )
    .unwrap();
    assert_eq!(old, PlanOptions::new(1.0));
}

/// Passes carry their place in the plan as a number, the cap counted, and the floor falls to that of the target.
#[test]
fn one_numbering() {
    let blank = Blank::new(&Wood::published("Sitka spruce").unwrap(), 420.0, 8.0, 17.0, None).unwrap();
    let shape = Profile::straight(420.0, 16.0)
        .unwrap()
        .with_ends(50.0, 3.0, Blend::Cosine)
        .unwrap()
        .with_scallop(110.0, 100.0, 7.0, ScallopShape::Cosine)
        .unwrap();
    let target = Brace::new(&blank, &shape, &Section::parabolic_cap(CapRise::Mm(5.0)).unwrap()).unwrap();
    let plan = plan_passes(&Brace::uncarved(&blank), &target, &PlanOptions::new(1.0)).unwrap();
    assert_eq!(plan.passes[0].what, "work the parabolic cap on the height as it stands");
    for (k, p) in plan.passes.iter().enumerate().skip(1) {
        assert_eq!(p.what, format!("pass {}", k + 1));
        // the scallop is the lowest place: 17 less a millimetre a layer, down to 16 - 7
        assert!((p.floor_mm - (17.0 - k as f64).max(9.0)).abs() < 1e-9, "{} {}", k, p.floor_mm);
    }
    assert_eq!(
        target.dimensions(),
        ["scallop depth", "scallop length", "floor height", "height", "end height", "width", "cap rise", "scallop 1 depth"]
    );
    let e = target.dimension("scallop 3 depth").unwrap_err().to_string();
    assert!(e.contains("it has: scallop depth") && !e.contains("scallop 2"), "{e}");
}
