//! What shapes must keep: no overshoot, exact ends, arcs to 1e-12, mirrors, order of cuts; and the pieces they are made of.

#![allow(clippy::unwrap_used)]

mod common;

use bracewright::mechanics::pieces::{Pieces, Poly};
use bracewright::{Blend, Profile, Scallop, ScallopShape};
use common::integral;
use proptest::prelude::*;

fn shape() -> impl Strategy<Value = ScallopShape> {
    prop::sample::select(ScallopShape::ALL.to_vec())
}

fn blend() -> impl Strategy<Value = Blend> {
    prop::sample::select(Blend::ALL.to_vec())
}

/// Increasing stations from 0, with heights above 3.
fn measured() -> impl Strategy<Value = (Vec<f64>, Vec<f64>)> {
    prop::collection::vec((0.01..40.0_f64, 3.0..20.0_f64), 2..30).prop_map(|v| {
        let mut x = vec![0.0];
        for (dx, _) in &v[1..] {
            x.push(x[x.len() - 1] + dx);
        }
        // a brace is at least a millimetre long
        let last = x.len() - 1;
        x[last] = x[last].max(1.0);
        (x, v.into_iter().map(|v| v.1).collect())
    })
}

fn at(p: &Profile, x: f64) -> f64 {
    p.height_mm(&[x]).unwrap()[0]
}

/// Two scallops that do not touch, on a straight body.
fn two() -> impl Strategy<Value = [Scallop; 2]> {
    (shape(), shape(), 20.0..50.0_f64, 20.0..50.0_f64, 20.0..50.0_f64, 20.0..50.0_f64, 0.0..8.0_f64, 0.0..8.0_f64).prop_map(
        |(s1, s2, a, b, c, d, e, f)| {
            [
                Scallop { at_mm: 100.0, left_mm: a, right_mm: b, depth_mm: e, shape: s1 },
                Scallop { at_mm: 280.0, left_mm: c, right_mm: d, depth_mm: f, shape: s2 },
            ]
        },
    )
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 100, failure_persistence: None, ..ProptestConfig::default() })]

    /// Fritsch-Carlson: through every station, and between two stations never outside them.
    #[test]
    fn measured_stations_are_never_overshot((x, h) in measured(), u in 0.0..1.0_f64) {
        let p = Profile::measured(&x, &h).unwrap();
        for i in 0..x.len() {
            // stations a hundredth apart at 300 mm cost four digits of the place
            prop_assert!((at(&p, x[i]) - h[i]).abs() < 1e-9);
        }
        for i in 0..x.len() - 1 {
            let ((_, low), (_, high)) = p.crest().extremes(x[i], x[i + 1]);
            let (a, b) = (h[i].min(h[i + 1]), h[i].max(h[i + 1]));
            prop_assert!(low > a - 1e-9 && high < b + 1e-9, "{low} {high} outside {a} {b}");
            // and the slope does not change its sign
            let s = x[i] + u * (x[i + 1] - x[i]);
            prop_assert!(p.crest().slope(s) * (h[i + 1] - h[i]) > -1e-9 * (1.0 + p.crest().slope(s).abs()));
        }
    }

    /// The higher of a crest and its mirror image, which cross in the very middle, is the higher one everywhere.
    #[test]
    fn the_higher_of_a_crest_and_its_mirror([a, b] in two(), middle in 100.0..320.0_f64) {
        let p = Profile::straight(420.0, 14.0).unwrap().with_ends(20.0, 2.0, Blend::Cosine).unwrap().with_scallops(&[a, b]).unwrap();
        let half = middle.min(420.0 - middle);
        let own = p.crest().between(middle - half, middle + half);
        let mirror = own.mirrored();
        let higher = own.max(&mirror);
        for k in 1..200 {
            let x = middle - half + 2.0 * half * f64::from(k) / 200.0;
            prop_assert!((higher.at(x) - own.at(x).max(mirror.at(x))).abs() < 1e-6, "{x} about {middle}");
        }
    }

    /// A straight line through stations stays a straight line.
    #[test]
    fn lines_are_reproduced((x, _) in measured(), a in 4.0..10.0_f64, b in 4.0..10.0_f64, u in 0.0..1.0_f64) {
        let l = x[x.len() - 1];
        let h: Vec<f64> = x.iter().map(|x| a + (b - a) * x / l).collect();
        let p = Profile::measured(&x, &h).unwrap();
        prop_assert!((at(&p, u * l) - a - (b - a) * u).abs() < 1e-9);
    }

    /// A ramp begins at its tip, ends on the body, lies between, and is monotone on a level body.
    #[test]
    fn end_ramps(b in blend(), tip in 0.5..6.0_f64, length in 12.0..150.0_f64, u in 0.0..1.0_f64, v in 0.0..1.0_f64) {
        let p = Profile::straight(400.0, 12.0).unwrap().with_left_end(length, tip, b).unwrap();
        prop_assert!((at(&p, 0.0) - tip).abs() < 1e-11 && (at(&p, length) - 12.0).abs() < 1e-11);
        let (x, y) = (length * u.min(v), length * u.max(v));
        prop_assert!(at(&p, x) <= at(&p, y) + 1e-11);
        prop_assert!(at(&p, x) >= tip - 1e-11 && at(&p, x) <= 12.0 + 1e-11);
        prop_assert!((at(&p, 0.5 * (length + 400.0)) - 12.0).abs() < 1e-13);
        // the other end is its mirror
        let q = Profile::straight(400.0, 12.0).unwrap().with_right_end(length, tip, b).unwrap();
        prop_assert!((at(&q, 400.0 - x) - at(&p, x)).abs() < 1e-11);
    }

    /// Arcs are circles to 1e-12 of their size: the end ramp level at the body, the scallop level at its floor.
    #[test]
    fn arcs_are_circles(tip in 0.5..11.0_f64, length in 12.0..150.0_f64, d in 0.5..9.0_f64, half in 12.0..60.0_f64, u in 0.0..1.0_f64) {
        let p = Profile::straight(400.0, 12.0).unwrap().with_left_end(length, tip, Blend::Arc).unwrap();
        let drop = 12.0 - tip;
        let r = (length * length + drop * drop) / (2.0 * drop);
        let x = u * length;
        let sag = |y: f64, r: f64| y * y / (r + (r * r - y * y).sqrt());
        let circle = 12.0 - sag(length - x, r);
        prop_assert!((at(&p, x) - circle).abs() < 2e-12 * 12.0, "{} {circle}", at(&p, x));
        let s = Profile::straight(400.0, 12.0).unwrap().with_scallop(200.0, 2.0 * half, d, ScallopShape::Arc).unwrap();
        let r = (half * half + d * d) / (2.0 * d);
        let x = 200.0 + half * (2.0 * u - 1.0);
        let floor = 12.0 - d + sag(x - 200.0, r);
        prop_assert!((at(&s, x) - floor).abs() < 2e-12 * 12.0, "{} {floor}", at(&s, x));
    }

    /// B(0) = 1 and B(+-1) = 0: each scallop is its depth at its place and nothing at its rims, with a level floor.
    #[test]
    fn scallops_at_their_places(s in two()) {
        let p = Profile::straight(400.0, 16.0).unwrap().with_scallops(&s).unwrap();
        for s in s {
            prop_assert!((at(&p, s.at_mm) - 16.0 + s.depth_mm).abs() < 1e-11);
            prop_assert!((at(&p, s.at_mm - s.left_mm) - 16.0).abs() < 1e-11 && (at(&p, s.at_mm + s.right_mm) - 16.0).abs() < 1e-11);
            prop_assert!(p.crest().slope(s.at_mm).abs() < 1e-9 * (1.0 + s.depth_mm));
        }
        prop_assert!((at(&p, 190.0) - 16.0).abs() < 1e-12);
    }

    /// The order of the scallops does not matter, nor whether they are given one by one.
    #[test]
    fn order_of_scallops(s in two(), x in 0.0..400.0_f64) {
        let base = Profile::straight(400.0, 16.0).unwrap().with_ends(30.0, 2.0, Blend::Cosine).unwrap();
        let p = base.with_scallops(&s).unwrap();
        let q = base.with_uneven_scallop(s[1]).unwrap().with_uneven_scallop(s[0]).unwrap();
        prop_assert!((at(&p, x) - at(&q, x)).abs() < 1e-12);
    }

    /// A mirrored profile is the mirror image, made again from its mirrored recipe or not, and twice mirrored is itself.
    #[test]
    fn mirrors(s in two(), b in blend(), x in 0.0..400.0_f64, e in 0.5..4.0_f64) {
        let p = Profile::parabolic(400.0, 16.0, 12.0, 10.0, 170.0).unwrap();
        let p = p.with_left_end(40.0, e, b).unwrap().with_right_end(25.0, 2.0, Blend::Straight).unwrap();
        let Ok(p) = p.with_scallops(&s) else { return Ok(()) };
        let m = p.mirrored();
        prop_assert!((at(&m, 400.0 - x) - at(&p, x)).abs() < 1e-11);
        prop_assert!((at(&m.mirrored(), x) - at(&p, x)).abs() < 1e-11);
        let again: Profile = serde_json::from_str(&serde_json::to_string(&m).unwrap()).unwrap();
        prop_assert!((at(&again, x) - at(&m, x)).abs() < 1e-10);
    }

    /// Every change is a cut: ends and scallops nowhere raise the crest.
    #[test]
    fn cuts_cut(s in two(), b in blend(), x in 0.0..400.0_f64, d in 0.0..1.0_f64) {
        let base = Profile::straight(400.0, 16.0).unwrap();
        let ends = base.with_ends(40.0, 3.0, b).unwrap();
        let both = ends.with_scallops(&s).unwrap();
        prop_assert!(at(&ends, x) <= 16.0 + 1e-11 && at(&both, x) <= at(&ends, x) + 1e-11);
        let deeper = s.map(|s| Scallop { depth_mm: s.depth_mm + d, ..s });
        prop_assert!(at(&ends.with_scallops(&deeper).unwrap(), x) <= at(&both, x) + 1e-11 || s.iter().any(|s| s.shape == ScallopShape::Arc));
    }

    /// Filling many stations, one at a time, sorted or not, is the same.
    #[test]
    fn filling_is_looking_up((x, h) in measured(), at in prop::collection::vec(-0.1..1.1_f64, 1..60)) {
        let p = Profile::measured(&x, &h).unwrap();
        let l = x[x.len() - 1];
        let at: Vec<f64> = at.iter().map(|u| (u * l).clamp(0.0, l)).collect();
        let mut sorted = at.clone();
        sorted.sort_by(f64::total_cmp);
        for list in [&at, &sorted] {
            let out = p.height_mm(list).unwrap();
            for (x, h) in list.iter().zip(&out) {
                prop_assert!((h - p.crest().at(*x)).abs() < 1e-12 * 20.0);
            }
        }
    }

    /// The higher and the lower of two curves, wherever they cross, touch or run together.
    #[test]
    fn higher_and_lower((x, h) in measured(), (_, g) in measured(), near in prop::sample::select(vec![1.0, 1e-3, 1e-9, 1e-13, 0.0]), u in 0.0..1.0_f64) {
        let other: Vec<f64> = h.iter().zip(g.iter().cycle()).map(|(h, g)| h + near * (g - 10.0)).collect();
        prop_assume!(other.iter().all(|v| *v > 0.0));
        let (p, q) = (Profile::measured(&x, &h).unwrap(), Profile::measured(&x, &other).unwrap());
        let (a, b) = (p.crest(), q.crest());
        let (high, low) = (a.max(b), a.min(b));
        let s = u * x[x.len() - 1];
        prop_assert!((high.at(s) - a.at(s).max(b.at(s))).abs() < 1e-9, "{} {} {}", high.at(s), a.at(s), b.at(s));
        prop_assert!((low.at(s) - a.at(s).min(b.at(s))).abs() < 1e-9);
        prop_assert!((high.at(s) + low.at(s) - a.at(s) - b.at(s)).abs() < 1e-11);
        prop_assert!(high.breaks().len() < 8 * x.len() + 8, "{} pieces", high.breaks().len());
    }

    /// Least and greatest value: no sample lies outside, and both are reached.
    #[test]
    fn extremes(c in prop::collection::vec(-2.0..2.0_f64, 1..12), a in 0.0..1.0_f64, b in 0.0..1.0_f64) {
        let p = Pieces::new(vec![0.0, 1.0], vec![Poly::new(&c)]);
        let (a, b) = (a.min(b), a.max(b));
        let ((xl, low), (xh, high)) = p.extremes(a, b);
        prop_assert!((p.at(xl) - low).abs() < 1e-9 && (p.at(xh) - high).abs() < 1e-9);
        for k in 0..=100 {
            let v = p.at(a + (b - a) * f64::from(k) / 100.0);
            prop_assert!(v >= low - 1e-9 && v <= high + 1e-9);
        }
    }

    /// Integrals of pieces against quadrature, whole and in part; a refined curve is the same curve.
    #[test]
    fn integrals((x, h) in measured(), a in 0.0..1.0_f64, b in 0.0..1.0_f64) {
        let p = Profile::measured(&x, &h).unwrap();
        let l = x[x.len() - 1];
        let (a, b) = (a.min(b) * l, a.max(b) * l);
        let mut breaks = vec![a];
        breaks.extend(x.iter().filter(|v| **v > a && **v < b));
        breaks.push(b);
        let q = integral(&breaks, |x| p.crest().at(x));
        prop_assert!((p.crest().integral(a, b) - q).abs() < 1e-11 * (1.0 + q));
        let r = p.crest().refined(&[a, b]);
        prop_assert!((r.integral(0.0, l) - p.crest().integral(0.0, l)).abs() < 1e-11 * 20.0 * l.max(1.0));
        prop_assert!((r.at(0.5 * (a + b)) - p.crest().at(0.5 * (a + b))).abs() < 1e-11);
    }
}

/// Two curves that are one but for rounding, and curves with many coefficients close to zero, are answered at once.
#[test]
fn nearly_equal_curves_do_not_hang() {
    let wave = |phase: f64| Pieces::fit(&[0.0, 1.0], 1e-13, |x| 5.0 + (9.0 * x + phase).sin());
    let start = std::time::Instant::now();
    for phase in [0.0, 1e-16, 1e-15, 1e-14, 1e-13, 1e-12, 1e-11, 1e-10] {
        let (a, b) = (wave(0.0), wave(phase));
        for p in [a.max(&b), a.min(&b), a.combined(&b, 1.0, -1.0).max(&Pieces::constant(0.0, 1.0, 0.0))] {
            assert!(p.breaks().len() < 200, "{} pieces at a phase of {phase:e}", p.breaks().len());
            p.extremes(0.0, 1.0);
        }
        let d = a.combined(&b, 1.0, -1.0);
        d.extremes(0.0, 1.0);
    }
    let flat = Pieces::new(vec![0.0, 1.0], vec![Poly::new(&[5.0, 0.0, 0.0, 0.0, 1e-17, 1e-18, -1e-17])]);
    flat.max(&Pieces::constant(0.0, 1.0, 5.0)).extremes(0.0, 1.0);
    assert!(start.elapsed().as_secs_f64() < 5.0);
}

/// Touching without crossing: the curve that is above stays above.
#[test]
fn touching_curves() {
    let parabola = Pieces::new(vec![-1.0, 1.0], vec![Poly::new(&[2.0, 0.0, 1.0])]);
    let line = Pieces::constant(-1.0, 1.0, 2.0);
    for k in 0..=20 {
        let x = -1.0 + 0.1 * f64::from(k);
        assert!((parabola.max(&line).at(x) - (2.0 + x * x)).abs() < 1e-12);
        assert!((parabola.min(&line).at(x) - 2.0).abs() < 1e-12, "{x} {:?}", parabola.min(&line));
    }
}
