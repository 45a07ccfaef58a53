//! Where to cut, rough-carving a lot, and remedies: laws that hold whatever the figures.

#![allow(clippy::unwrap_used)]

mod common;

use std::sync::{Arc, OnceLock};

use bracewright::advice::{Rule, Window};
use bracewright::decide::{
    Curves, Place, PlaceLimits, Prior, Remedy, RoughCarving, RoughCut, Strip, WhereToCut, repairs, rough_carve, where_to_cut,
};
use bracewright::{
    Blend, Brace, CapRise, Goal, Plan, PlanOptions, Profile, Result, Rig, Scallop, ScallopShape, Section, plan_passes,
};
use proptest::prelude::*;
use rand::SeedableRng;
use rand_distr::{Distribution, StandardNormal};

fn shape(depth_mm: f64) -> Profile {
    let s = |at_mm| Scallop { at_mm, left_mm: 60.0, right_mm: 60.0, depth_mm, shape: ScallopShape::Cosine };
    Profile::straight(420.0, 16.0).unwrap().with_scallops(&[s(120.0), s(300.0)]).unwrap()
}

fn brace(depth_mm: f64) -> Brace {
    let blank = common::stick().with_modulus(11.5, 0.05).unwrap();
    Brace::new(&blank, &shape(depth_mm), &Section::rectangle()).unwrap()
}

fn rig() -> Rig {
    Rig::three_point(380.0, 20.0).unwrap().with_give(0.0, 0.0).unwrap()
}

fn sure() -> PlaceLimits {
    PlaceLimits {
        stiffness_ln: 0.0,
        hand: bracewright::belief::Hand { bias_fraction: 0.0, scatter_fraction: 0.0, scatter_mm: 0.0 },
        deepest_pass_mm: 20.0,
        ..PlaceLimits::default()
    }
}

/// Mirrored places are worth the same, and a heavier cut always softens.
#[test]
fn places_of_a_symmetrical_brace_mirror() {
    let b = brace(4.0);
    let goal = rig().between(1.2, 1.3).unwrap();
    let said = where_to_cut(&b, &[goal], &b.usual_places(), &PlaceLimits::default()).unwrap();
    let of = |name: &str| said.places.iter().find(|p| p.name == name).unwrap();
    for (a, z) in [("scallop 1", "scallop 2"), ("left end", "right end")] {
        assert!((of(a).percent_per_mm[0] / of(z).percent_per_mm[0] - 1.0).abs() < 0.02, "{a}");
        assert!((of(a).grams_per_mm / of(z).grams_per_mm - 1.0).abs() < 1e-6);
    }
    assert!(said.places.iter().all(|p| p.percent_per_mm[0] > 0.0 && p.grams_per_mm > 0.0));
    // near the supports a gram loosens least
    assert!(of("scallop 1").percent_per_gram > 2.0 * of("left end").percent_per_gram, "{said:?}");
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 8, failure_persistence: None, ..ProptestConfig::default() })]

    /// Goals made from cuts at two places are met together: reading and mass of the brace they were taken from.
    #[test]
    fn two_goals_at_once(first in 0.4..2.0_f64, second in 0.4..2.0_f64) {
        let b = brace(3.0);
        let places = [
            Place { name: "the left scallop".into(), from_mm: 60.0, to_mm: 180.0 },
            Place { name: "the middle".into(), from_mm: 170.0, to_mm: 250.0 },
        ];
        let s = |at_mm: f64, half: f64, depth_mm| Scallop { at_mm, left_mm: half, right_mm: half, depth_mm, shape: ScallopShape::Cosine };
        let carved = shape(3.0).with_scallops(&[s(120.0, 60.0, 3.0 + first), s(300.0, 60.0, 3.0)]).unwrap();
        let wanted = Brace::new(b.blank(), &carved, &Section::rectangle()).unwrap();
        let own = rig().expected(&wanted).unwrap().deflection_mm * (1.0 + 0.02 * second);
        let mass = wanted.mass_g().unwrap() - 0.1 * second;
        let goals = [rig().between(0.99 * own, 1.01 * own).unwrap(), Goal::mass(0.99 * mass, 1.01 * mass).unwrap()];
        let said = where_to_cut(&b, &goals, &places, &sure()).unwrap();
        for (g, ahead) in goals.iter().zip(&said.goals) {
            prop_assert!(g.holds(ahead.after), "{} {}", said.words, ahead.after);
            prop_assert!((g.value(&said.after).unwrap() / ahead.after - 1.0).abs() < 1e-9);
        }
    }

    /// No chance above the level; all layers together no deeper anywhere than a pass, the floor and the strength leave, and no cut
    /// thinner than a shaving: whatever is asked, however places overlap and whatever the hand's bias.
    #[test]
    fn cuts_keep_their_limits(
        low in 1.1..4.0_f64, wide in 1.02..1.2_f64, spread in 0.0..0.05_f64, floor in 3.0..12.0_f64, pass in 0.2..8.0_f64,
        bias in -0.3..0.3_f64, from in 0.0..200.0_f64, long in 60.0..200.0_f64, strong in any::<bool>(),
    ) {
        let b = brace(3.0);
        let now = rig().expected(&b).unwrap().deflection_mm;
        let goal = rig().between(low * now, low * wide * now).unwrap();
        let (strength, moment, margin) = (70.0, 2.0, 4.0);
        let limits = PlaceLimits {
            stiffness_ln: spread,
            smallest_height_mm: floor,
            deepest_pass_mm: pass,
            hand: bracewright::belief::Hand { bias_fraction: bias, ..PlaceLimits::default().hand },
            working_moment_n_m: strong.then_some(moment),
            bending_strength_mpa: Some(strength),
            least_margin: margin,
            ..PlaceLimits::default()
        };
        let mut places = b.usual_places();
        places.push(Place { name: "across".into(), from_mm: from, to_mm: from + long });
        let said = where_to_cut(&b, &[goal], &places, &limits).unwrap();
        prop_assert!(said.goals[0].chance_past <= 0.02 + 1e-9 || said.stop);
        prop_assert_eq!(said.stop, said.places.iter().all(|p| p.take_mm == 0.0));
        for p in &said.places {
            prop_assert!(p.take_mm <= pass + 1e-9 && p.take_mm <= p.room_mm + 1e-9, "{p:?}");
            prop_assert!(p.take_mm == 0.0 || p.take_mm >= 0.15 - 1e-6, "{p:?}");
        }
        prop_assert!(!said.words.contains("0.00 mm at"), "{}", said.words);
        // at stations of our own; M / W of the rectangle
        let x: Vec<f64> = (0..=1000).map(|k| 0.42 * f64::from(k)).collect();
        let (before, after) = (b.profile().height_mm(&x).unwrap(), said.after.profile().height_mm(&x).unwrap());
        let least = (6.0 * 1000.0 * moment * margin / (b.width_mm() * strength)).sqrt();
        let floor = if strong { floor.max(least) } else { floor };
        for (was, is) in before.iter().zip(&after) {
            prop_assert!(was - is <= pass * (1.0 + bias) + 0.005, "{} {}", was - is, said.words);
            prop_assert!(*is >= floor.min(*was) - 0.005, "{is} {floor} {}", said.words);
        }
        prop_assert!(said.after.mass_g().unwrap() <= b.mass_g().unwrap() + 1e-12);
    }
}

/// A hand that takes a quarter more than it aims at is told to aim a quarter less, and comes to the same brace; one that takes
/// less aims for more.
#[test]
fn the_bias_of_the_hand_is_aimed_off() {
    let b = brace(3.0);
    let now = rig().expected(&b).unwrap().deflection_mm;
    let goal = [rig().between(1.15 * now, 1.2 * now).unwrap()];
    let with = |bias_fraction: f64| {
        let hand = bracewright::belief::Hand { bias_fraction, ..sure().hand };
        where_to_cut(&b, &goal, &b.usual_places(), &PlaceLimits { hand, ..sure() }).unwrap()
    };
    let (true_hand, heavy, light) = (with(0.0), with(0.25), with(-0.2));
    let all = |said: &WhereToCut| said.places.iter().map(|p| p.take_mm).sum::<f64>();
    assert!(all(&true_hand) > 0.3, "{}", true_hand.words);
    assert!(
        (all(&heavy) * 1.25 / all(&true_hand) - 1.0).abs() < 1e-6 && (all(&light) * 0.8 / all(&true_hand) - 1.0).abs() < 1e-6
    );
    for said in [&true_hand, &heavy, &light] {
        assert!((said.goals[0].after / (1.175 * now) - 1.0).abs() < 2e-3, "{}", said.words);
    }
}

/// Scallops that mirror each other are cut alike, whichever is named first, and alike places share.
#[test]
fn mirrored_places_are_cut_alike() {
    let b = brace(3.0);
    let now = rig().expected(&b).unwrap().deflection_mm;
    let goal = [rig().between(1.2 * now, 1.24 * now).unwrap()];
    let mut places: Vec<Place> = b.usual_places().into_iter().filter(|p| p.name.starts_with("scallop")).collect();
    for _ in 0..2 {
        let said = where_to_cut(&b, &goal, &places, &PlaceLimits { deepest_pass_mm: 5.0, ..PlaceLimits::default() }).unwrap();
        let (one, other) = (said.places[0].take_mm, said.places[1].take_mm);
        assert!(one > 0.3 && (one / other - 1.0).abs() < 0.03, "{}", said.words);
        places.reverse();
    }
}

/// In the window, the chisel rests; a cut thinner than a shaving is not asked for; past the line it is said so.
#[test]
fn there_is_a_time_to_stop() {
    let b = brace(3.0);
    let now = rig().expected(&b).unwrap().deflection_mm;
    let asked = |low: f64, high: f64, limits: &PlaceLimits| {
        where_to_cut(&b, &[rig().between(low * now, high * now).unwrap()], &b.usual_places(), limits).unwrap()
    };
    let usual = PlaceLimits::default();
    let inside = asked(0.97, 1.08, &usual);
    assert!(inside.stop && inside.words.starts_with("Stop: every goal is in its window"), "{}", inside.words);
    let near = asked(1.004, 1.012, &PlaceLimits { stiffness_ln: 1e-4, ..sure() });
    assert!(near.stop && near.words.contains("thinner than a shaving"), "{}", near.words);
    let finer = asked(1.004, 1.012, &PlaceLimits { stiffness_ln: 1e-4, smallest_shaving_mm: 0.01, ..sure() });
    assert!(!finer.stop, "{}", finer.words);
    let past = asked(0.8, 0.9, &usual);
    assert!(past.stop && past.words.contains("above") && !past.words.contains("comes no nearer"), "{}", past.words);
}

/// Ends already at the least height are left alone, and the crest between them still has room.
#[test]
fn a_layer_runs_out_where_the_height_ends() {
    let blank = common::stick().with_modulus(11.5, 0.05).unwrap();
    let profile = Profile::straight(420.0, 16.0).unwrap().with_ends(50.0, 3.0, Blend::Cosine).unwrap();
    let b = Brace::new(&blank, &profile, &Section::rectangle()).unwrap();
    let now = rig().expected(&b).unwrap().deflection_mm;
    let said =
        where_to_cut(&b, &[rig().between(1.3 * now, 1.36 * now).unwrap()], &b.usual_places(), &PlaceLimits::default()).unwrap();
    let crest = said.places.iter().find(|p| p.name == "whole crest").unwrap();
    assert!(crest.room_mm > 3.0 && crest.from_mm > 0.0 && crest.to_mm < 420.0, "{crest:?}");
    assert!(crest.take_mm > 0.3 && said.words.contains("beyond that there is no height"), "{}", said.words);
    let x: Vec<f64> = (0..=420).map(f64::from).collect();
    assert!(said.after.profile().height_mm(&x).unwrap().iter().all(|h| *h >= 3.0 - 1e-6));
}

/// A place whose foot is too weak goes no deeper than the stress allows: M / W of the rectangle.
#[test]
fn strength_ends_a_place() {
    let b = brace(3.0);
    let (strength, moment, margin) = (70.0, 2.0, 4.0);
    let least = (6.0 * 1000.0 * moment * margin / (b.width_mm() * strength)).sqrt();
    let limits = PlaceLimits {
        working_moment_n_m: Some(moment),
        bending_strength_mpa: Some(strength),
        least_margin: margin,
        smallest_height_mm: 2.0,
        ..sure()
    };
    let places = [Place { name: "the left scallop".into(), from_mm: 60.0, to_mm: 180.0 }];
    let goal = rig().between(5.0, 5.5).unwrap();
    let said = where_to_cut(&b, &[goal], &places, &limits).unwrap();
    let floor = said.after.profile().height_mm(&[120.0]).unwrap()[0];
    assert!(said.places[0].held_by_strength && (floor - least).abs() < 0.05, "{floor} {least}");
}

fn plan() -> Plan {
    let blank = common::stick().with_modulus(11.5, 0.12).unwrap();
    let of = |p: &Profile| Brace::new(&blank, p, &Section::rectangle()).unwrap();
    plan_passes(&of(&Profile::straight(420.0, 16.0).unwrap()), &of(&shape(10.0)), &PlanOptions::new(3.0)).unwrap()
}

fn curves() -> Arc<Curves> {
    static MADE: OnceLock<Arc<Curves>> = OnceLock::new();
    MADE.get_or_init(|| Arc::new(Curves::new(&plan(), &rig(), false).unwrap())).clone()
}

fn lot() -> Vec<f64> {
    (0..40).map(|i| 11.5 * (0.12 * bracewright::normal::quantile((f64::from(i) + 0.5) / 40.0).unwrap()).exp()).collect()
}

fn roughed(cut: &RoughCut) -> RoughCarving {
    of_lot(&lot(), cut).unwrap()
}

/// The middle of the window: what the mean wood reads at 5.5 mm, mm.
fn middle_mm() -> f64 {
    20.0 * curves().ln_compliance(5.5, 0.0).0.exp()
}

fn of_lot(lot: &[f64], cut: &RoughCut) -> Result<RoughCarving> {
    let c = curves();
    let middle = middle_mm();
    let window = Window::between(0.965 * middle, 1.035 * middle).unwrap();
    let hand = Prior { give_mm_per_n: 0.0, u_give_mm_per_n: 0.0, ..Prior::of(&plan(), &rig()) };
    rough_carve(&c, lot, &hand, &window, &Rule::new(0.02, 10.0).unwrap(), cut)
}

/// More grades never cost more passes, a rough cut never more than none; the share past the window keeps its level and every
/// blank is in one grade.
#[test]
fn grades_of_a_lot() {
    let r = roughed(&RoughCut::default());
    assert_eq!(r.plans.len(), 4);
    assert!(r.plans.windows(2).all(|p| p[1].hand_passes <= p[0].hand_passes + 1e-9), "{}", r.words);
    assert!(r.plans[0].hand_passes <= r.hand_passes_without + 1e-9 && r.plans[3].hand_passes < r.hand_passes_without);
    for p in &r.plans {
        let mut all: Vec<usize> = p.grades.iter().flat_map(|g| g.blanks.clone()).collect();
        all.sort_unstable();
        assert_eq!(all, (0..40).collect::<Vec<_>>());
        assert!(p.grades.iter().all(|g| g.share_past <= 0.02 + 1e-6 && g.worst_chance <= 0.5 + 1e-6));
        assert!(p.grades.iter().all(|g| g.blanks[0] == g.worst_blank && g.worst_chance >= g.share_past));
        // stiffer wood may lose more
        assert!(p.grades.windows(2).all(|g| g[0].depth_mm <= g[1].depth_mm + 1e-9));
    }
    // whatever the share allows, one blank's own chance holds the depth
    let shy = roughed(&RoughCut { level: 0.2, ..RoughCut::default() });
    assert!(shy.plans[0].grades[0].worst_chance <= 0.5 + 1e-6);
    let bold = roughed(&RoughCut { level: 0.2, blank_level: 1.0, ..RoughCut::default() });
    assert!(bold.plans[0].grades[0].depth_mm > r.plans[0].grades[0].depth_mm);
    let rough = roughed(&RoughCut { machine_mm: 0.6, ..RoughCut::default() });
    assert!(rough.plans[0].grades[0].depth_mm < r.plans[0].grades[0].depth_mm);
}

/// One soft blank among forty: a mean share of 2 % alone would let it be ruined for sure. Its own chance keeps its own level, it is
/// named, and set aside it lets the others go deeper. Its curve is the mean blank's over the ratio of moduli: at the depth that
/// is advised it is in the window or short of it, more likely than not.
#[test]
fn a_soft_blank_is_not_hidden_by_the_mean() {
    let mut lot = vec![11.5; 40];
    lot[7] = 8.5;
    let reads = |d: f64| 20.0 * curves().ln_compliance(d, 0.0).0.exp() * 11.5 / 8.5;
    let hidden = of_lot(&lot, &RoughCut { level: 0.03, blank_level: 1.0, ..RoughCut::default() }).unwrap();
    let grade = &hidden.plans[0].grades[0];
    assert!(
        reads(grade.depth_mm) > 1.035 * middle_mm() && grade.worst_blank == 7 && grade.worst_chance > 0.9,
        "{}",
        hidden.words
    );
    let r = of_lot(&lot, &RoughCut { level: 0.03, ..RoughCut::default() }).unwrap();
    let grade = &r.plans[0].grades[0];
    assert!(reads(grade.depth_mm) < 1.036 * middle_mm() && (grade.worst_chance - 0.5).abs() < 0.02, "{}", r.words);
    assert!(r.set_aside == [7] && r.depth_without_them_mm > grade.depth_mm + 0.5, "{}", r.words);
    assert!(r.words.contains("set aside no. 8 (8.5 GPa)"), "{}", r.words);
    let without = of_lot(&[11.5; 39], &RoughCut { level: 0.03, ..RoughCut::default() }).unwrap();
    assert!((without.plans[0].grades[0].depth_mm - r.depth_without_them_mm).abs() < 1e-6);
}

/// Blanks past the window uncarved, and blanks that the plan cannot bring there, are named and move no figure of the others.
#[test]
fn hopeless_blanks_are_named_and_left_out() {
    let plain = roughed(&RoughCut::default());
    let with = |more: &[f64]| of_lot(&[&lot()[..], more].concat(), &RoughCut::default());
    // uncarved this one reads more than the window's high end; the other, at the end of the plan, less than its low end
    let soft = 11.5 * 20.0 * curves().ln_compliance(0.0, 0.0).0.exp() / (1.3 * middle_mm());
    let stiff = 11.5 * 20.0 * curves().ln_compliance(10.0, 0.0).0.exp() / (0.7 * middle_mm());
    let r = with(&[soft, stiff]).unwrap();
    assert!(r.too_soft == [40] && r.out_of_reach == [41], "{:?} {:?}", r.too_soft, r.out_of_reach);
    assert!(r.words.contains("no. 41") && r.words.contains("no. 42"), "{}", r.words);
    // 42 blanks are looked at between 41 moduli, whose counts of passes are steps
    assert!((r.hand_passes_without - plain.hand_passes_without).abs() < 0.2);
    assert!((r.plans[0].grades[0].depth_mm - plain.plans[0].grades[0].depth_mm).abs() < 0.02);
    let none = of_lot(&[soft, 0.9 * soft], &RoughCut::default()).unwrap_err().to_string();
    assert!(none.contains("no blank of this lot") && none.contains("no. 2"), "{none}");
}

/// A large lot, looked at between some moduli, against the same lot blank by blank.
#[test]
fn a_large_lot_is_its_small_one_many_times() {
    let small = roughed(&RoughCut::default());
    let large = of_lot(&lot().repeat(20), &RoughCut::default()).unwrap();
    for (a, b) in small.plans.iter().zip(&large.plans).take(1) {
        assert!((a.grades[0].depth_mm - b.grades[0].depth_mm).abs() < 0.02, "{} {}", small.words, large.words);
        assert!((a.hand_passes - b.hand_passes).abs() < 0.15, "{} {}", a.hand_passes, b.hand_passes);
        assert!((a.worst_chance - b.worst_chance).abs() < 0.02);
    }
}

/// The share past the window against 200,000 drawn blanks: modulus and machine drawn, the curve read.
#[test]
fn the_share_past_is_the_drawn_one() {
    let cut = RoughCut { level: 0.1, machine_mm: 0.3, u_modulus: 0.06, ..RoughCut::default() };
    let r = roughed(&cut);
    let grade = &r.plans[0].grades[0];
    let c = curves();
    let high = 1.035 * 20.0 * c.ln_compliance(5.5, 0.0).0.exp();
    let mut rng = rand_xoshiro::Xoshiro256PlusPlus::seed_from_u64(5);
    let mut normal = move || -> f64 { StandardNormal.sample(&mut rng) };
    let prior = Prior::of(&plan(), &rig());
    let n = 200_000;
    let lot = lot();
    let past = (0..n)
        .filter(|i| {
            let e = lot[i % 40] * (cut.u_modulus * normal()).exp();
            // a machine that errs lowers all of its layer
            let (depth, slip) = (grade.depth_mm, cut.machine_mm * normal());
            let growth = 2.0 * slip * c.slip_growth_per_mm(depth);
            let grown = if growth.abs() < 1e-9 { 1.0 } else { growth.exp_m1() / growth };
            let (ln, _, by_ratio) = c.ln_compliance(depth, 0.0);
            let ln = ln + c.slip_per_mm(0.0, depth, depth) * slip * grown;
            let softer = ln - c.ln_compliance(0.0, 0.0).0;
            let more = by_ratio * prior.shear_ratio_ln * normal()
                + (prior.model_ln.powi(2) + (prior.slope_doubt * softer).powi(2) + prior.drift_ln.powi(2)).sqrt() * normal();
            20.0 * (ln + more - (e / c.modulus_gpa()).ln()).exp() > high
        })
        .count();
    let share = past as f64 / n as f64;
    assert!((share - grade.share_past).abs() < 0.005, "{share} {}", grade.share_past);
}

fn strip(from_mm: f64, to_mm: f64, width_mm: f64, height_mm: f64, modulus_gpa: f64) -> Strip {
    Strip { from_mm, to_mm, width_mm, height_mm, feather_mm: 0.0, modulus_gpa, density_kg_m3: 400.0 }
}

/// Against braces that are the same shape in one piece: a strip of the same wood over all the crest is a taller brace, one beside
/// it of its height a wider one.
#[test]
fn strips_of_the_same_wood_are_a_bigger_brace() {
    let blank = common::stick().with_modulus(11.0, 0.02).unwrap();
    let straight = |h: f64| Brace::new(&blank, &Profile::straight(420.0, h).unwrap(), &Section::rectangle()).unwrap();
    let b = straight(12.0);
    let e = 1000.0 * 11.0;
    let reading = rig().expected(&b).unwrap().deflection_mm;
    let goal = rig().between(0.8 * reading, 0.85 * reading).unwrap();
    let w = b.width_mm();
    let remedies = [
        ("a cap".to_string(), Remedy::OnCrest(strip(0.0, 420.0, w, 1.0, e / 1000.0))),
        ("a sister".to_string(), Remedy::Beside(strip(0.0, 420.0, 0.5 * w, 12.0, e / 1000.0))),
        ("lighter strings".to_string(), Remedy::LighterStrings { tension_ratio: 0.9 }),
    ];
    let r = repairs(&b, &goal, &remedies).unwrap();
    let taller = rig().expected(&straight(13.0)).unwrap().deflection_mm;
    assert!((r.remedies[0].after_mm / taller - 1.0).abs() < 3e-3, "{} {taller}", r.remedies[0].after_mm);
    assert!((r.remedies[1].after_mm * 1.5 / reading - 1.0).abs() < 1e-3, "{}", r.remedies[1].after_mm);
    assert!((r.remedies[1].grams - 420.0 * 0.5 * w * 12.0 * 400e-6).abs() < 1e-6);
    assert!((r.remedies[2].after_mm / reading - 0.9).abs() < 1e-9 && r.remedies[2].grams == 0.0);
    assert!(r.remedies[0].gives_back.unwrap() > 0.9 && r.words.contains("past the window"), "{}", r.words);
    for said in ["mm as before", "data sheet", "full glue line", "clamp", "eyes and skin"] {
        assert!(r.words.contains(said), "{}", r.words);
    }
    let only = repairs(&b, &rig().between(reading, 1.1 * reading).unwrap(), &remedies[2..]).unwrap();
    assert!(only.remedies[0].gives_back.is_none() && !only.words.contains("data sheet"), "{}", only.words);
}

/// A strip is glued to a flat: the whole width of a rectangle, the crest of tapered sides, none on a cap.
#[test]
fn a_strip_needs_a_flat_to_lie_on() {
    let blank = common::stick().with_modulus(11.0, 0.02).unwrap();
    let glued = |section: Section, width_mm: f64| {
        let b = Brace::new(&blank, &Profile::straight(420.0, 12.0).unwrap(), &section).unwrap();
        let goal = rig().between(0.5, 0.6).unwrap();
        repairs(&b, &goal, &[("cap".into(), Remedy::OnCrest(strip(50.0, 300.0, width_mm, 1.0, 11.0)))]).map_err(|e| e.to_string())
    };
    let w = blank.width_mm();
    assert!(glued(Section::rectangle(), w).is_ok());
    let wide = glued(Section::rectangle(), 60.0).unwrap_err();
    assert!(wide.contains("width_mm of the cap is 60 mm") && wide.contains("sister"), "{wide}");
    let tapered = Section::tapered_sides(3.0).unwrap();
    assert!(glued(tapered.clone(), 3.0).is_ok() && glued(tapered, 3.2).is_err());
    // a triangle of 6 mm rise is half its width 3 mm down
    let edge = glued(Section::triangular_cap(CapRise::Mm(6.0)).unwrap(), 0.5 * w).unwrap_err();
    assert!(edge.contains("is 0 mm at") && edge.contains("3.0 mm under its crest"), "{edge}");
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, failure_persistence: None, ..ProptestConfig::default() })]

    /// A strip never softens, a longer or taller one stiffens more, and more feather less.
    #[test]
    fn more_strip_is_stiffer(from in 0.0..150.0_f64, long in 60.0..250.0_f64, tall in 0.5..4.0_f64, beside in any::<bool>()) {
        let b = brace(5.0);
        let goal = rig().between(0.5, 0.6).unwrap();
        let after = |s: Strip| {
            let remedy = if beside { Remedy::Beside(s) } else { Remedy::OnCrest(s) };
            repairs(&b, &goal, &[("it".into(), remedy)]).unwrap().remedies[0].clone()
        };
        let one = after(strip(from, from + long, 5.0, tall, 11.0));
        prop_assert!(one.after_mm <= one.before_mm * (1.0 + 1e-9));
        let more = after(strip((from - 10.0).max(0.0), from + long + 15.0, 5.0, 1.2 * tall, 11.0));
        prop_assert!(more.after_mm <= one.after_mm * (1.0 + 1e-9) && more.grams > one.grams);
        let feathered = after(Strip { feather_mm: 20.0, ..strip(from, from + long, 5.0, tall, 11.0) });
        prop_assert!(feathered.after_mm >= one.after_mm * (1.0 - 1e-9));
    }
}
