//! Nothing panics, hangs or passes NaN on: wild numbers into every constructor give a value or a sentence that names the
//! argument.

#![allow(clippy::unwrap_used)]

mod common;

use bracewright::{
    Bar, Blank, Blend, Brace, CapRise, Error, Face, HalfLap, Load, NotchSide, PlanOptions, Profile, Result, Rig, Scallop,
    ScallopShape, Section, Support, Wood, plan_passes,
};
use proptest::prelude::*;

/// Numbers people and files send: sensible ones, edges, and nonsense.
fn wild() -> impl Strategy<Value = f64> {
    prop_oneof![
        4 => 0.1..500.0_f64,
        1 => -10.0..10.0_f64,
        1 => prop::sample::select(vec![0.0, -0.0, 1.0, -1.0, 1e-300, 1e300, -1e300, 1e-9, 1e9, f64::MIN_POSITIVE, f64::EPSILON]),
        1 => prop::sample::select(vec![f64::NAN, f64::INFINITY, f64::NEG_INFINITY]),
    ]
}

fn wilds(n: usize) -> impl Strategy<Value = Vec<f64>> {
    prop::collection::vec(wild(), n)
}

/// A refusal is a sentence: long enough to say what and what is allowed, and without a debug print in it.
fn spoken(e: &Error) -> bool {
    let s = e.to_string();
    s.len() > 20 && !s.contains("Some(") && !s.contains("OutOfRange")
}

/// `prop_assert!` that takes braces in its condition.
macro_rules! holds {
    ($e:expr $(, $($more:tt)*)?) => {{
        let held: bool = $e;
        prop_assert!(held, "{}", stringify!($e));
    }};
}

/// Every height of an accepted profile is finite and within what was promised.
fn sound(p: &Profile) -> bool {
    let l = p.length_mm();
    let x: Vec<f64> = (0..=20).map(|k| (l * f64::from(k) / 20.0).min(l)).collect();
    p.height_mm(&x).unwrap().iter().all(|h| h.is_finite() && *h >= -1e-6 && *h <= 200.0 + 1e-6)
}

fn judged<T>(r: Result<T>, ok: impl FnOnce(&T) -> bool) -> bool {
    match r {
        Ok(v) => ok(&v),
        Err(e) => spoken(&e),
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 300, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn profiles(v in wilds(12), shape in prop::sample::select(ScallopShape::ALL.to_vec()), blend in prop::sample::select(Blend::ALL.to_vec())) {
        holds!(judged(Profile::straight(v[0], v[1]), sound));
        holds!(judged(Profile::linear(v[0], v[1], v[2]), sound));
        holds!(judged(Profile::parabolic(v[0], v[1], v[2], v[3], v[4]), sound));
        holds!(judged(Profile::measured(&v[..6], &v[6..]), sound));
        holds!(judged(Profile::through(&[0.0, v[0], v[1]], &v[2..5], &[blend]), sound));
        let mut sorted = v[..6].to_vec();
        sorted.sort_by(f64::total_cmp);
        sorted[0] = 0.0;
        holds!(judged(Profile::measured(&sorted, &v[6..]), sound));
        holds!(judged(Profile::through(&sorted, &v[6..], &[blend]), sound));
        holds!(judged(Profile::measured(&v[..5], &v[6..]), |_| false));
        let base = Profile::straight(420.0, 16.0).unwrap();
        holds!(judged(base.with_ends(v[0], v[1], blend), sound));
        holds!(judged(base.with_left_end(v[0], v[1], blend).and_then(|p| p.with_right_end(v[2], v[3], blend)), sound));
        holds!(judged(base.with_scallop(v[0], v[1], v[2], shape), sound));
        holds!(judged(base.with_uneven_scallop(Scallop { at_mm: v[0], left_mm: v[1], right_mm: v[2], depth_mm: v[3], shape }), sound));
        holds!(judged(base.with_arch(v[0]), sound));
        holds!(judged(base.with_height(v[0]), sound));
        holds!(judged(base.with_half_lap(HalfLap { at_mm: v[0], length_mm: v[1], depth_mm: v[2], side: NotchSide::Crest, glued: true, cap_mm: v[3] }), sound));
        holds!(judged(base.height_mm(&v), |h| h.iter().all(|h| *h == 16.0)));
        holds!(judged(base.checks(Some(v[0]), Some(v[1]), Some(v[2])), |_| true));
    }

    #[test]
    fn sections(v in wilds(5)) {
        for rise in [CapRise::Mm(v[0]), CapRise::OfHeight(v[0])] {
            for s in [Section::rounded_cap(rise), Section::parabolic_cap(rise), Section::cusp_cap(rise), Section::power_cap(v[1], rise), Section::tapered_sides(v[1]), Ok(Section::rectangle())] {
                let Ok(s) = s else { continue };
                holds!(judged(s.numbers(v[2], v[3]), |n| v[2] > 1e6 || v[3] > 1e6 || v[2] < 1e-6 || v[3] < 1e-6 || (n.area_mm2 > 0.0 && n.i_centroid_mm4 >= -1e-9 * n.i_glue_mm4 && n.centroid_mm <= v[2])));
                holds!(judged(s.width_mm(v[4], v[2], v[3]), |w| !w.is_nan() && *w >= 0.0 && *w <= v[3] * (1.0 + 1e-12)));
            }
        }
        for c in [Section::power_cap(v[1], CapRise::Mm(v[0])), Section::tapered_sides(v[0])] {
            holds!(judged(c, |_| true));
        }
    }

    #[test]
    fn blanks_and_braces(v in wilds(8)) {
        let wood = Wood::published("Sitka spruce").unwrap();
        holds!(judged(Blank::new(&wood, v[0], v[1], v[2], Some(v[3])), |b| b.density_kg_m3() > 0.0 && b.volume_mm3().is_finite()));
        holds!(judged(Blank::new(&wood, v[0], v[1], v[2], None), |b| b.density_spread().is_finite()));
        let b = common::stick();
        holds!(judged(b.with_modulus(v[0], v[1]), |b| b.modulus_gpa().is_finite()));
        holds!(judged(b.with_grain(v[0], v[1]), |b| b.stiffness().unwrap().e_x_gpa.is_finite()));
        let brace = Brace::uncarved(&b);
        holds!(judged(brace.with_width_mm(v[0]), |b| b.mass_g().unwrap() > 0.0));
        holds!(judged(brace.along(&v), |a| a.ei_n_m2.iter().all(|e| e.is_finite() && *e > 0.0)));
        holds!(judged(brace.stress_mpa(&v[..2], &v[2..4]), |_| true));
        holds!(judged(brace.mass_between_g(v[0], v[1]), |m| m.is_finite() && *m >= 0.0));
        for d in bracewright::DIMENSIONS {
            holds!(judged(brace.with_dimension(d, v[0]), |b| b.mass_g().unwrap().is_finite()), "{d}");
        }
    }

    #[test]
    fn rigs(v in wilds(8)) {
        for r in [Rig::three_point(v[0], v[1]), Rig::four_point(v[0], v[2], v[1]), Rig::cantilever(v[0], v[1])] {
            holds!(judged(r, |r| {
                judged(r.with_give(v[3], v[4]), |_| true) && judged(r.with_pad_mm(v[5]), |_| true) && judged(r.with_middle_mm(v[6]), |_| true)
                    && judged(r.with_uncertainty(v[3], v[4]), |_| true) && judged(r.reading(v[7]), |x| x.u_mm() > 0.0)
                    && judged(r.readings(&[v[..4].to_vec(), v[4..].to_vec()]), |x| x.deflection_mm().is_finite() && x.u_mm().is_finite())
                    && judged(r.between(v[3], v[4]), |_| true)
                    && judged(r.self_weight_mm(&Brace::uncarved(&common::stick())), |w| w.is_finite())
            }));
        }
        let bar = Bar::new(v[0], v[1].abs() % 0.6, v[2], v[3], 0.003);
        holds!(judged(bar, |b| judged(Rig::three_point(380.0, 19.6).unwrap().calibrated(&[(*b, v[4], v[5])]), |c| c.give_mm_per_n.0.is_finite())));
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 40, failure_persistence: None, ..ProptestConfig::default() })]

    /// Whole calls: a brace under wild loads and supports, a plan and readings with wild options.
    #[test]
    fn whole_calls(v in wilds(8), feather in 0.0..2.0_f64, face in prop::sample::select(vec![Face::Crest, Face::Glue, Face::Body])) {
        let blank = common::stick();
        let p = Profile::straight(420.0, 15.0).unwrap().with_ends(50.0, feather, Blend::Straight).unwrap();
        let b = Brace::new(&blank, &p, &Section::parabolic_cap(CapRise::Mm(5.0)).unwrap()).unwrap();
        let loads = [Load { x_mm: v[0], force_n: v[1], pad_mm: v[2], face }];
        let supports = [Support::Pad { x_mm: v[3], pad_mm: v[4], give_mm_per_n: 0.0 }, Support::Pad { x_mm: v[5], pad_mm: 10.0, give_mm_per_n: v[6] }];
        holds!(judged(b.bend(&loads, &supports, &[v[7]], face), |r| r.deflection_mm.iter().chain(&r.reaction_n).all(|d| d.is_finite())), "{:?} {:?}", loads, supports);
        holds!(judged(b.bend(&loads, &[Support::Clamped { x_mm: v[3] }], &[v[7]], face), |r| r.deflection_mm[0].is_finite()));
        holds!(judged(b.bend(&loads, &[Support::Held { x_mm: v[3] }, Support::Held { x_mm: v[5] }], &[v[7]], face), |r| r.deflection_mm[0].is_finite()));
        holds!(judged(b.working(&[v[0]], v[1]), |w| w.working_n_m2[0].is_finite()));
        holds!(judged(plan_passes(&Brace::uncarved(&blank), &b, &PlanOptions::new(v[0])), |p| p.grams_off() > 0.0));
        if let Ok(r) = Rig::three_point(v[0], v[1].abs().clamp(0.1, 100.0)) {
            holds!(judged(r.expected(&b), |e| e.deflection_mm.is_finite() && e.u_mm.is_finite()));
        }
    }
}

/// Refusals name the argument.
#[test]
fn refusals_name_the_argument() {
    let wood = Wood::published("Sitka spruce").unwrap();
    let says = |r: Result<()>, name: &str| {
        let s = r.unwrap_err().to_string();
        assert!(s.contains(name), "{s:?} does not name {name}");
    };
    let rig = Rig::three_point(380.0, 19.6).unwrap();
    let base = Profile::straight(420.0, 16.0).unwrap();
    for bad in [0.0, -3.0, f64::NAN, f64::INFINITY, f64::NEG_INFINITY] {
        says(Profile::straight(bad, 16.0).map(drop), "length_mm");
        says(Profile::straight(420.0, bad).map(drop), "height_mm");
        says(Profile::parabolic(420.0, bad, 3.0, 3.0, 210.0).map(drop), "peak_mm");
        says(base.with_scallop(100.0, bad, 3.0, ScallopShape::Cosine).map(drop), "length_mm");
        says(base.with_ends(bad, 3.0, Blend::Cosine).map(drop), "length_mm");
        says(Section::rounded_cap(CapRise::Mm(bad)).map(drop), "rise_mm");
        says(Section::rounded_cap(CapRise::OfHeight(bad)).map(drop), "rise_of_height");
        says(Section::power_cap(bad, CapRise::Mm(3.0)).map(drop), "exponent");
        says(Section::tapered_sides(bad).map(drop), "crest_width_mm");
        says(Section::rectangle().numbers(bad, 8.0).map(drop), "height_mm");
        says(Section::rectangle().numbers(16.0, bad).map(drop), "width_mm");
        says(Blank::new(&wood, 420.0, bad, 16.0, None).map(drop), "width_mm");
        says(Blank::new(&wood, 420.0, 8.0, 16.0, Some(bad)).map(drop), "mass_g");
        says(common::stick().with_modulus(bad, 0.1).map(drop), "modulus_gpa");
        says(Rig::three_point(bad, 19.6).map(drop), "span_mm");
        says(Rig::three_point(380.0, bad).map(drop), "load_n");
        says(Rig::four_point(380.0, bad, 19.6).map(drop), "inner_mm");
        says(Rig::cantilever(bad, 19.6).map(drop), "reach_mm");
        says(rig.reading(bad).map(drop), "deflection_mm");
        says(Brace::uncarved(&common::stick()).working(&[100.0], bad).map(drop), "window_mm");
        says(Bar::new(bad, 0.3, 10.0, 5.0, 0.0).map(drop), "modulus_gpa");
        says(Bar::new(69.0, 0.3, bad, 5.0, 0.0).map(drop), "width_mm");
    }
    for bad in [-3.0, f64::NAN, f64::INFINITY] {
        says(Profile::linear(420.0, bad, 3.0).map(drop), "left_mm");
        says(base.with_scallop(100.0, 50.0, bad, ScallopShape::Cosine).map(drop), "depth_mm");
        says(base.with_scallop(bad, 50.0, 3.0, ScallopShape::Cosine).map(drop), "scallop 1");
        says(base.with_ends(50.0, bad, Blend::Cosine).map(drop), "height_mm");
        says(rig.with_give(bad, 0.0).map(drop), "give_mm_per_n");
        says(rig.with_uncertainty(0.0, bad).map(drop), "u_span_mm");
        says(base.height_mm(&[bad]).map(drop), "x_mm");
    }
    says(Profile::measured(&[0.0, 10.0, 5.0], &[3.0, 3.0, 3.0]).map(drop), "at_mm");
    says(Profile::measured(&[0.0, 10.0], &[3.0, 3.0, 3.0]).map(drop), "height_mm");
    says(Profile::measured(&[], &[]).map(drop), "at_mm");
    says(Profile::measured(&[5.0, 10.0], &[3.0, 3.0]).map(drop), "at_mm");
    says(rig.readings(&[]).map(drop), "deflection_mm");
}
