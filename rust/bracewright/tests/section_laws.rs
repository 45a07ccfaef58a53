//! Sections against quadrature of their own width over height, to 1e-12, and the laws cuts must keep.

#![allow(clippy::unwrap_used)]

mod common;

use bracewright::mechanics::quadrature::gauss;
use bracewright::mechanics::solid::{Cap, Moments, Outline, Rise};
use bracewright::{CapRise, Section};
use common::integral;
use proptest::prelude::*;

/// Any outline, fixed rises from far below to far above the height.
fn outline() -> impl Strategy<Value = Outline> {
    let cap = prop_oneof![
        Just(Cap::Rounded),
        Just(Cap::Power(0.5)),
        Just(Cap::Power(1.0)),
        Just(Cap::Power(2.0)),
        (0.05..8.0_f64).prop_map(Cap::Power)
    ];
    let rise = prop_oneof![(0.2..40.0_f64).prop_map(Rise::Fixed), (0.01..=1.0_f64).prop_map(Rise::Fraction)];
    prop_oneof![
        1 => (0.05..=1.0_f64).prop_map(Outline::Sides),
        4 => (cap, rise).prop_map(|(c, r)| Outline::Capped(c, r)),
    ]
}

/// Breaks that crowd towards the crest, where the width may go as any power, within [low, high].
fn breaks(o: &Outline, h: f64, low: f64, high: f64) -> Vec<f64> {
    let c = o.rise(h);
    let mut out = vec![low];
    if c > 0.0 {
        out.push(h - c);
        out.extend((1..48).map(|k| h - c * 0.5_f64.powi(k)));
    }
    out.push(high);
    out.retain(|z| *z >= low && *z <= high);
    out.dedup();
    out
}

fn by_quadrature(o: &Outline, h: f64, low: f64, high: f64) -> Moments {
    let b = breaks(o, h, low, high);
    let of = |power: i32| integral(&b, |z| o.width(z, h) * z.powi(power));
    Moments { area: of(0), first: of(1), second: of(2), lateral: integral(&b, |z| o.width(z, h).powi(3)) / 12.0 }
}

fn close(a: f64, b: f64, scale: f64, tol: f64) -> bool {
    (a - b).abs() <= tol * scale
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 200, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn whole_sections(o in outline(), h in 0.5..30.0_f64) {
        let (m, q) = (o.whole(h), by_quadrature(&o, h, 0.0, h));
        prop_assert!(close(m.area, q.area, q.area, 1e-12), "area {} {}", m.area, q.area);
        prop_assert!(close(m.first, q.first, q.first, 1e-12), "first {} {}", m.first, q.first);
        prop_assert!(close(m.second, q.second, q.second, 1e-12), "second {} {}", m.second, q.second);
        prop_assert!(close(m.lateral, q.lateral, q.lateral, 1e-12), "lateral {} {}", m.lateral, q.lateral);
        // about the centroid, integrated about the centroid
        let i = integral(&breaks(&o, h, 0.0, h), |z| o.width(z, h) * (z - m.centroid()).powi(2));
        prop_assert!(close(m.about_centroid(), i, m.second, 1e-12), "I {} {i}", m.about_centroid());
    }

    #[test]
    fn slices(o in outline(), h in 0.5..30.0_f64, a in 0.0..1.0_f64, b in 0.0..1.0_f64) {
        let (low, high) = (h * a.min(b), h * a.max(b));
        let (m, q, w) = (o.slice(low, high, h), by_quadrature(&o, h, low, high), o.whole(h));
        prop_assert!(close(m.area, q.area, w.area, 1e-12));
        prop_assert!(close(m.first, q.first, w.first, 1e-12));
        prop_assert!(close(m.second, q.second, w.second, 1e-12), "{} {} {}", m.second, q.second, w.second);
        prop_assert!(close(m.lateral, q.lateral, w.lateral, 1e-12));
        // below, slice and above add up
        let (x, y) = (o.below(low, h), o.slice(high, h, h));
        prop_assert!(close(x.area + m.area + y.area, w.area, w.area, 1e-14));
        prop_assert!(close(x.second + m.second + y.second, w.second, w.second, 1e-13));
    }

    /// The rule of the resolved beam takes polynomials with the width as weight. `n` points in the body are exact to degree
    /// 2n - 1; those of the cap stand in the root of the distance from the crest, so for a width that goes as a half
    /// power p they are exact to degree n + 1 - p; widths in between are met to 2e-5 up to there.
    #[test]
    fn rule_takes_polynomials(o in outline(), h in 1.0..30.0_f64, n in 4_usize..9, a in 0.0..1.0_f64) {
        let mut rule = Vec::new();
        let low = if n % 2 == 0 { 0.0 } else { 0.9 * a * h };
        o.rule(low, h, h, n, &mut rule);
        let (exact, exact_to) = match o {
            Outline::Sides(_) => (true, 2 * n as i32 - 2),
            Outline::Capped(Cap::Power(p), _) => ((2.0 * p).fract() == 0.0, (n as f64 + 1.0 - p).floor() as i32),
            Outline::Capped(Cap::Rounded, _) => (false, n as i32),
        };
        for k in 0..=exact_to {
            let tol = if exact { 1e-12 } else { 2e-5 };
            let scale = integral(&breaks(&o, h, 0.0, h), |z| o.width(z, h) * (z / h).powi(k));
            let want = integral(&breaks(&o, h, low, h), |z| o.width(z, h) * (z / h).powi(k));
            let found: f64 = rule.iter().map(|(z, w)| w * (z / h).powi(k)).sum();
            prop_assert!(close(found, want, scale, tol), "degree {k} with {n} points: {found} for {want}, {:e}", (found - want) / scale);
        }
    }

    /// Lowering the crest, raising a cap, narrowing a crest: the width shrinks at every height and no number grows.
    #[test]
    fn cuts_are_nested(o in outline(), h in 2.0..30.0_f64, f in 0.3..1.0_f64, z in 0.0..1.0_f64) {
        // straight sides turn about the foot when the crest comes down to the same crest width, so they are left out
        if let Outline::Capped(cap, rise) = o {
            let lower = o.whole(f * h);
            let whole = o.whole(h);
            prop_assert!(lower.area <= whole.area * (1.0 + 1e-14) && lower.about_centroid() <= whole.about_centroid() * (1.0 + 1e-12));
            if let Rise::Fixed(c) = rise {
                prop_assert!(o.width(z * f * h, f * h) <= o.width(z * f * h, h) + 1e-12);
                let more = Outline::Capped(cap, Rise::Fixed(c / f));
                prop_assert!(more.width(z * h, h) <= o.width(z * h, h) + 1e-12);
                prop_assert!(more.whole(h).area <= whole.area * (1.0 + 1e-14));
            }
        }
    }

    /// A fixed rise is continuous where the height passes it, and below it the glue width stays whole.
    #[test]
    fn height_below_the_rise(p in 0.05..8.0_f64, c in 1.0..10.0_f64, f in 0.1..1.0_f64) {
        let o = Outline::Capped(Cap::Power(p), Rise::Fixed(c));
        let (above, below) = (o.whole(c * (1.0 + 1e-9)), o.whole(c * (1.0 - 1e-9)));
        prop_assert!((above.second / below.second - 1.0).abs() < 1e-7);
        let h = f * c;
        prop_assert!((o.width(0.0, h) - 1.0).abs() < 1e-15);
        let full = Outline::Capped(Cap::Power(p), Rise::Fraction(1.0)).whole(h);
        prop_assert!((o.whole(h).second / full.second - 1.0).abs() < 1e-14);
    }

    #[test]
    fn numbers_agree_with_one_another(h in 1.0..30.0_f64, b in 1.0..20.0_f64, rise in 0.1..30.0_f64, p in 0.05..8.0_f64) {
        for s in [Section::power_cap(p, CapRise::Mm(rise)), Section::rounded_cap(CapRise::Mm(rise)), Section::tapered_sides(0.5 * b)] {
            let s = s.unwrap();
            let n = s.numbers(h, b).unwrap();
            let steiner = n.i_centroid_mm4 + n.area_mm2 * n.centroid_mm.powi(2);
            prop_assert!((n.i_glue_mm4 / steiner - 1.0).abs() < 1e-12);
            prop_assert!((n.modulus_crest_mm3 * (h - n.centroid_mm) / n.i_centroid_mm4 - 1.0).abs() < 1e-12);
            prop_assert!((n.modulus_glue_mm3 * n.centroid_mm / n.i_centroid_mm4 - 1.0).abs() < 1e-12);
            prop_assert!((s.width_mm(0.0, h, b).unwrap() / b - 1.0).abs() < 1e-14);
            prop_assert_eq!(s.width_mm(h * 1.000001, h, b).unwrap(), 0.0);
        }
    }

    /// Units of length are free: all numbers scale with their power.
    #[test]
    fn scales_with_its_units(o in outline(), h in 1.0..30.0_f64, s in 0.01..100.0_f64) {
        let big = match o {
            Outline::Capped(c, Rise::Fixed(r)) => Outline::Capped(c, Rise::Fixed(s * r)),
            other => other,
        };
        let (m, n) = (o.whole(h), big.whole(s * h));
        prop_assert!((n.second / (m.second * s.powi(3)) - 1.0).abs() < 1e-12);
        prop_assert!((n.about_centroid() / (m.about_centroid() * s.powi(3)) - 1.0).abs() < 1e-11);
    }
}

/// The tests' own quadrature and the core's agree on what neither was made for.
#[test]
fn rules_are_gauss_rules() {
    for n in 1..=64 {
        let (x, w) = gauss(n);
        for k in [0, 1, 2 * n - 1] {
            let sum: f64 = x.iter().zip(w).map(|(x, w)| w * x.powi(k as i32)).sum();
            assert!((sum * (k + 1) as f64 - 1.0).abs() < 1e-13 * n as f64, "{n} points, degree {k}: {sum}");
        }
        let beyond: f64 = x.iter().zip(w).map(|(x, w)| w * (2.0 * x - 1.0).powi(2 * n as i32)).sum();
        assert!(
            n > 20 || (beyond - 1.0 / (2.0 * n as f64 + 1.0)).abs() > 1e-15,
            "a rule of {n} points is not exact beyond its degree"
        );
    }
}
