//! What the section beam must keep, whatever the shape: exact statics, cuts that only soften, splits that change nothing.

#![allow(clippy::unwrap_used)]

mod common;

use bracewright::mechanics::pieces::Pieces;
use bracewright::mechanics::section_beam::{Flexibility, Inertia, Load, Static, Support, vibrations};
use bracewright::mechanics::solid::{Cap, Outline, Rise, Solid};
use bracewright::{Blend, Brace, CapRise, Profile, Rig, ScallopShape, Section};
use common::stick;
use proptest::prelude::*;

const E: f64 = 11_000.0;
const G: f64 = 671.0;
const L: f64 = 400.0;

fn crest() -> impl Strategy<Value = Pieces> {
    prop::collection::vec(4.0..18.0_f64, 9).prop_map(|h| {
        let x: Vec<f64> = (0..9).map(|k| 50.0 * f64::from(k)).collect();
        Profile::measured(&x, &h).unwrap().crest().clone()
    })
}

fn outline() -> impl Strategy<Value = Outline> {
    prop_oneof![
        (0.3..=1.0_f64).prop_map(Outline::Sides),
        (1.0..12.0_f64, 0.2..3.0_f64).prop_map(|(c, p)| Outline::Capped(Cap::Power(p), Rise::Fixed(c))),
        (0.1..1.0_f64).prop_map(|f| Outline::Capped(Cap::Rounded, Rise::Fraction(f))),
    ]
}

fn flexibility(solid: &Solid, loads: &[Load], supports: &[Support], more: &[f64]) -> Flexibility {
    let breaks = Flexibility::breaks_for(&solid.kinks(), loads, supports, more);
    Flexibility::new(breaks, 24, |x, inside| {
        let m = solid.moments(x, inside, true);
        (1.0 / (E * m.about_centroid()), 1.2 / (G * m.area))
    })
}

fn solved(solid: &Solid, loads: &[Load], supports: &[Support], at: f64) -> (Flexibility, Static) {
    let f = flexibility(solid, loads, supports, &[at]);
    let s = f.solve(loads, supports).unwrap();
    (f, s)
}

fn sag(solid: &Solid, loads: &[Load], supports: &[Support], at: f64) -> f64 {
    let (f, s) = solved(solid, loads, supports, at);
    f.deflection(&s, at)
}

fn rests() -> [Support; 2] {
    [Support::rest(20.0), Support::rest(370.0)]
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 60, failure_persistence: None, ..ProptestConfig::default() })]

    /// A cut never stiffens: the sag under the load grows with every millimetre taken anywhere; exact, no allowance.
    #[test]
    fn a_cut_never_stiffens(c in crest(), o in outline(), x in 40.0..350.0_f64, depth in 0.01..2.0_f64, from in 0.0..350.0_f64) {
        let step = Pieces::new(vec![0.0, from, from + 40.0, L], vec![
            bracewright::mechanics::pieces::Poly::new(&[0.0]),
            bracewright::mechanics::pieces::Poly::new(&[depth]),
            bracewright::mechanics::pieces::Poly::new(&[0.0]),
        ]);
        prop_assume!(from > 1.0);
        let lower = c.combined(&step, 1.0, -1.0);
        let o = if let Outline::Sides(_) = o { Outline::Sides(1.0) } else { o };
        let (before, after) = (Solid::plain(c, 8.0, o), Solid::plain(lower, 8.0, o));
        let load = [Load::spread(x - 5.0, x + 5.0, 20.0)];
        prop_assert!(sag(&after, &load, &rests(), x) >= sag(&before, &load, &rests(), x));
        prop_assert!(after.volume(0.0, L) < before.volume(0.0, L));
        // stiffness at every place
        for k in 0..40 {
            let s = 10.0 * f64::from(k) + 5.0;
            prop_assert!(after.moments(s, s, true).about_centroid() <= before.moments(s, s, true).about_centroid() * (1.0 + 1e-12));
        }
    }

    /// Splitting the beam anywhere changes nothing.
    #[test]
    fn splits(c in crest(), o in outline(), x in 40.0..350.0_f64, cuts in prop::collection::vec(1.0..399.0_f64, 1..6)) {
        let load = [Load::point(x, 20.0)];
        let a = sag(&Solid::plain(c.clone(), 8.0, o), &load, &rests(), x);
        let b = sag(&Solid::plain(c.refined(&cuts), 8.0, o), &load, &rests(), x);
        prop_assert!((a / b - 1.0).abs() < 1e-8, "{a} {b}");
        let (va, vb) = (Solid::plain(c.clone(), 8.0, o).volume(0.0, L), Solid::plain(c.refined(&cuts), 8.0, o).volume(0.0, L));
        prop_assert!((va / vb - 1.0).abs() < 1e-9, "{va} {vb}");
        let whole = Solid::plain(c, 8.0, o);
        let parts = whole.volume(0.0, cuts[0]) + whole.volume(cuts[0], L);
        prop_assert!((va / parts - 1.0).abs() < 1e-9);
    }

    /// Mirror image, Betti, superposition, and the work of the two states on each other.
    #[test]
    fn symmetry_and_superposition(c in crest(), o in outline(), x in 0.0..400.0_f64, y in 0.0..400.0_f64, f in -5.0..5.0_f64) {
        let solid = Solid::plain(c, 8.0, o);
        let (p, q) = (Load::point(x, 1.0), Load::point(y, 1.0));
        let flex = flexibility(&solid, &[p, q], &rests(), &[]);
        let (u, v) = (flex.solve(&[p], &rests()).unwrap(), flex.solve(&[q], &rests()).unwrap());
        let (a, b) = (flex.deflection(&u, y), flex.deflection(&v, x));
        let scale = flex.deflection(&u, x).abs().max(flex.deflection(&v, y).abs()).max(1e-9);
        prop_assert!((a - b).abs() < 1e-9 * scale, "{a} {b}");
        let work = flex.mutual(|s| u.moment_and_shear(s), |s| v.moment_and_shear(s));
        prop_assert!((work - a).abs() < 1e-9 * scale, "{work} {a}");
        let both = flex.solve(&[p, Load::point(y, f)], &rests()).unwrap();
        prop_assert!((flex.deflection(&both, 200.0) - flex.deflection(&u, 200.0) - f * flex.deflection(&v, 200.0)).abs() < 1e-9 * scale * (1.0 + f.abs()));
        // statics
        let r = both.reactions();
        prop_assert!((r[0].1 + r[1].1 - 1.0 - f).abs() < 1e-9);
        let mirror = [Support::rest(L - 370.0), Support::rest(L - 20.0)];
        let m = sag(&solid.mirrored(), &[Load::point(L - x, 1.0)], &mirror, L - y);
        prop_assert!((m - a).abs() < 1e-8 * scale, "{m} {a}");
    }

    /// Rests that give: each sinks by its force times its give, and the beam between is carried along.
    #[test]
    fn supports_that_give(c in crest(), g in 1e-5..0.1_f64, h in 1e-5..0.1_f64, x in 30.0..360.0_f64) {
        let solid = Solid::plain(c, 8.0, Outline::Sides(1.0));
        let load = [Load::point(x, 20.0)];
        let soft = [Support::Rest { x: 20.0, compliance: g }, Support::Rest { x: 370.0, compliance: h }];
        let (f, s) = solved(&solid, &load, &soft, x);
        let r = s.reactions();
        prop_assert!((f.deflection(&s, 20.0) - g * r[0].1).abs() < 1e-8);
        prop_assert!((f.deflection(&s, 370.0) - h * r[1].1).abs() < 1e-8);
        let carried = g * r[0].1 + (h * r[1].1 - g * r[0].1) * (x - 20.0) / 350.0;
        let rigid = sag(&solid, &load, &rests(), x);
        prop_assert!((f.deflection(&s, x) - rigid - carried).abs() < 1e-8 * (rigid + carried));
    }

    /// E times a factor bends 1/factor as far; lengths times a factor under their own units bend as the units say.
    #[test]
    fn units(c in prop::collection::vec(4.0..18.0_f64, 5), s in 0.01..50.0_f64) {
        let x: Vec<f64> = (0..5).map(|k| 100.0 * f64::from(k)).collect();
        let made = |s: f64| {
            let (x, h): (Vec<f64>, Vec<f64>) = (x.iter().map(|v| v * s).collect(), c.iter().map(|v| v * s).collect());
            let breaks: Vec<f64> = x.clone();
            let polys = x.windows(2).zip(h.windows(2)).map(|(_, h)| bracewright::mechanics::pieces::line(h[0], h[1])).collect();
            Solid::plain(Pieces::new(breaks, polys), 8.0 * s, Outline::Sides(1.0))
        };
        let d = |s: f64| sag(&made(s), &[Load::point(200.0 * s, 20.0)], &[Support::rest(0.0), Support::rest(L * s)], 200.0 * s);
        // F / (E L): one power of the length left
        prop_assert!((d(s) * s / d(1.0) - 1.0).abs() < 1e-9);
    }

    /// Free vibration: a lighter end rings higher, a softer middle lower; splitting changes nothing; no shear is stiffer.
    #[test]
    fn vibration(c in crest(), o in outline(), cut in 20.0..380.0_f64, lump in 1e-9..1e-6_f64) {
        let solid = Solid::plain(c, 8.0, o);
        let f = |x: f64, inside: f64| {
            let m = solid.moments(x, inside, true);
            Inertia { bend: E * m.about_centroid(), shear: G * m.area / 1.2, mass: 420e-12 * m.area, rotary: 420e-12 * m.about_centroid() }
        };
        let kinks = solid.kinks();
        let run = |breaks: &[f64], shear: bool, lumps: &[(f64, f64)]| vibrations(breaks, 8, shear, f, &[], lumps, 2).unwrap();
        let w = run(&kinks, true, &[]);
        let split = bracewright::mechanics::quadrature::merge_breaks(0.0, L, &[&kinks, &[cut]], 1e-6);
        let v = run(&split, true, &[]);
        prop_assert!((w[0] / v[0] - 1.0).abs() < 1e-4 && (w[1] / v[1] - 1.0).abs() < 1e-4, "{w:?} {v:?}");
        prop_assert!(run(&kinks, false, &[])[0] > w[0]);
        prop_assert!(run(&kinks, true, &[(0.0, lump)])[0] < w[0] * (1.0 + 1e-12));
    }
}

/// A brace of the public kind, scalloped and capped.
fn brace() -> Brace {
    let p = Profile::straight(420.0, 16.0)
        .unwrap()
        .with_ends(45.0, 2.5, Blend::Cubic)
        .unwrap()
        .with_scallop(120.0, 90.0, 6.0, ScallopShape::Cosine)
        .unwrap()
        .with_scallop(300.0, 100.0, 7.0, ScallopShape::Arc)
        .unwrap();
    Brace::new(&stick(), &p, &Section::rounded_cap(CapRise::Mm(4.0)).unwrap()).unwrap()
}

/// Both beams of a public brace: mirrored rigs read alike, E and its inverse, and the resolved one is never the stiffer.
#[test]
fn both_beams_of_a_brace() {
    let b = brace();
    for rig in [Rig::three_point(360.0, 19.6).unwrap(), Rig::four_point(360.0, 120.0, 19.6).unwrap()] {
        let (r, s) = (rig.compliance_mm_per_n(&b).unwrap().0, rig.section_compliance_mm_per_n(&b).unwrap());
        assert!(r > s && r < 1.25 * s, "{r} {s}");
        let m = b.mirrored().unwrap();
        assert!((rig.compliance_mm_per_n(&m).unwrap().0 / r - 1.0).abs() < 1e-6);
        assert!((rig.section_compliance_mm_per_n(&m).unwrap() / s - 1.0).abs() < 1e-9);
        assert!((m.mass_g().unwrap() / b.mass_g().unwrap() - 1.0).abs() < 1e-12);
        let stiff = b.with_blank(&b.blank().with_modulus(2.0 * b.blank().modulus_gpa(), 0.1).unwrap()).unwrap();
        assert!((2.0 * rig.compliance_mm_per_n(&stiff).unwrap().0 / r - 1.0).abs() < 1e-9);
        assert!((2.0 * rig.section_compliance_mm_per_n(&stiff).unwrap() / s - 1.0).abs() < 1e-9);
    }
    let f = b.frequencies(2, false).unwrap();
    assert!(f.frequency_hz[0] < f.section_frequency_hz[0] && f.frequency_hz[0] > 0.8 * f.section_frequency_hz[0], "{f:?}");
    let m = b.mirrored().unwrap().frequencies(2, false).unwrap();
    assert!((m.frequency_hz[0] / f.frequency_hz[0] - 1.0).abs() < 1e-6);
}

/// Nothing that holds: told, not answered.
#[test]
fn not_held() {
    let solid = Solid::plain(Pieces::constant(0.0, L, 10.0), 8.0, Outline::Sides(1.0));
    let load = [Load::point(200.0, 1.0)];
    let flex = flexibility(&solid, &load, &[], &[20.0]);
    assert!(flex.solve(&load, &[]).is_none());
    assert!(flex.solve(&load, &[Support::rest(20.0)]).is_none());
    assert!(flex.solve(&load, &[Support::rest(20.0), Support::rest(20.0)]).is_none());
    let empty = |_: f64, _: f64| Inertia { bend: 0.0, shear: 0.0, mass: 1.0, rotary: 0.0 };
    assert!(vibrations(&[0.0, 1.0], 4, false, empty, &[], &[], 2).is_none());
}
