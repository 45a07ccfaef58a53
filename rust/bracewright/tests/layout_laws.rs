//! Laws of layouts: mirrors, moves, growth, chords; chances against plain draws; files there and back; and what is refused, where.

#![allow(clippy::unwrap_used, clippy::panic)]

#[path = "common/tops.rs"]
mod tops;

use bracewright::Error;
use bracewright::layout::{
    Bouts, Ending, FanPattern, LapAt, Layout, LayoutLimits, LayoutReport, LayoutRow, LayoutTolerance, LyingAs, Neck, Outline,
    Pattern, PlacedBrace, PlateThickness, Role, SeenFrom, SoundHole, Stick, WoodOf, XPattern, outline_from_csv, outline_from_dxf,
    outline_from_svg,
};
use bracewright::picture::layout_svg;
use bracewright::strings::BridgeKind;
use proptest::prelude::*;
use rand::SeedableRng;
use rand_distr::{Distribution, StandardNormal};
use rand_xoshiro::Xoshiro256PlusPlus;
use tops::{bare, with_fan, with_x};

fn check(l: &Layout, u_mm: f64, u_deg: f64) -> LayoutReport {
    l.check(&LayoutTolerance { u_position_mm: u_mm, u_angle_deg: u_deg }, &LayoutLimits::default()).unwrap()
}

fn some_x() -> impl Strategy<Value = XPattern> {
    (85.0..105.0_f64, 25.0..48.0_f64, 6.4..9.5_f64, 0..4_usize, 0..4_usize, any::<bool>()).prop_map(
        |(angle_deg, e, w, tone_bars, fingers, bass)| XPattern {
            angle_deg,
            crossing_to_hole_mm: e,
            leg_width_mm: w,
            tone_bars,
            fingers,
            tone_bars_from_bass: bass,
            bridge_plate_length_mm: 30.0,
            ..Default::default()
        },
    )
}

fn bouts() -> impl Strategy<Value = Bouts> {
    (420.0..560.0_f64, 0.5..0.65_f64, 0.8..0.95_f64, 0.7..0.95_f64, 0.4..0.85_f64, 0.4..0.85_f64).prop_map(
        |(l, u, w, b, n, t)| Bouts {
            neck_fullness: n,
            tail_fullness: t,
            ..Bouts::usual(l, u * l, u * w * l, (b * l).max(u * l))
        },
    )
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, failure_persistence: None, ..Default::default() })]

    /// The other hand's top has the same clearances, uncertainties and chances, and the mirror of a mirror is the first.
    #[test]
    fn mirrors_and_moves(x in some_x(), slant in -3.0..3.0_f64, turn in -2.0..2.0_f64, dx in -900.0..900.0_f64, dy in -900.0..900.0_f64) {
        let mut parts = bare(BridgeKind::Pin, 85.0);
        if let Some(b) = &mut parts.bridge {
            (b.slant_mm, b.turn_deg, b.scale_mm) = (slant, turn, Some(645.0));
        }
        parts.thickness = PlateThickness::measured(&[(-90.0, 100.0), (90.0, 100.0), (0.0, 400.0), (30.0, 250.0)], &[2.6, 2.7, 2.9, 2.8]).unwrap();
        let l = with_x(parts, &x);
        let r = check(&l, 0.5, 0.5);
        let mirrored = l.mirrored().unwrap();
        prop_assert_eq!(&mirrored.mirrored().unwrap(), &l);
        for other in [mirrored.clone(), l.moved(dx, dy).unwrap()] {
            let o = check(&other, 0.5, 0.5);
            prop_assert_eq!(o.rows.len(), r.rows.len());
            let kinds: std::collections::BTreeSet<&str> = r.rows.iter().map(|w| w.check.as_str()).collect();
            for kind in kinds {
                for figure in [|w: &LayoutRow| Some(w.clearance_mm), |w: &LayoutRow| w.sd_mm, |w: &LayoutRow| w.chance] {
                    let of = |r: &LayoutReport| {
                        let mut v: Vec<f64> = r.rows.iter().filter(|w| w.check == kind).filter_map(figure).collect();
                        v.sort_by(f64::total_cmp);
                        v
                    };
                    let (one, two) = (of(&r), of(&o));
                    prop_assert_eq!(one.len(), two.len());
                    prop_assert!(one.iter().zip(&two).all(|(a, b)| (a - b).abs() < 1e-5), "{} {:?} {:?}", kind, one, two);
                }
            }
            prop_assert!((o.chance_at_most - r.chance_at_most).abs() < 1e-5);
        }
        let (a, b) = (l.thickness_mm(&[40.0], &[300.0]).unwrap()[0], mirrored.thickness_mm(&[-40.0], &[300.0]).unwrap()[0]);
        prop_assert!((a - b).abs() < 1e-9);
    }

    /// A wider error never lowers the chance of a clash for what is clear as drawn, and without any error there is no chance.
    #[test]
    fn wider_is_never_safer(x in some_x(), u in 0.05..1.5_f64, k in 1.0..4.0_f64) {
        let l = with_x(bare(BridgeKind::Pin, 85.0), &x);
        let (none, little, more) = (check(&l, 0.0, 0.0), check(&l, u, u), check(&l, k * u, k * u));
        for ((n, a), b) in none.rows.iter().zip(&little.rows).zip(&more.rows) {
            let (Some(c), Some(d), Some(e)) = (n.chance, a.chance, b.chance) else { continue };
            let bad = n.least_mm.is_some_and(|l| n.clearance_mm < l) || n.most_mm.is_some_and(|m| n.clearance_mm > m);
            prop_assert_eq!(c, f64::from(u8::from(bad)), "{:?}", n);
            if !bad {
                prop_assert!(e >= d - 1e-12, "{:?} {:?}", a, b);
            }
        }
    }

    /// Area goes with the square of the size and the perimeter with it; the outline's own curvature has no jump where it is widest.
    #[test]
    fn outlines_grow(b in bouts(), k in 0.5..1.5_f64) {
        let one = Outline::from_bouts(&b).unwrap();
        let scaled = Bouts {
            length_mm: k * b.length_mm, upper_bout_mm: k * b.upper_bout_mm, waist_mm: k * b.waist_mm, lower_bout_mm: k * b.lower_bout_mm,
            upper_at_mm: k * b.upper_at_mm, waist_at_mm: k * b.waist_at_mm, lower_at_mm: k * b.lower_at_mm, ..b
        };
        let two = Outline::from_bouts(&scaled).unwrap();
        prop_assert!((two.area_mm2() / one.area_mm2() / (k * k) - 1.0).abs() < 1e-9);
        prop_assert!((two.perimeter_mm() / one.perimeter_mm() / k - 1.0).abs() < 1e-9);
        let [x0, x1, y0, y1] = one.bounds_mm();
        prop_assert!((x1 - x0 - b.lower_bout_mm).abs() < 1e-6 && (x0 + x1).abs() < 1e-9 && y0.abs() < 1e-9 && (y1 - b.length_mm).abs() < 1e-9);
        let polygon = one.points(0.01).unwrap();
        prop_assert!(polygon.iter().all(|p| !p.corner && one.distance_mm(p.x_mm, p.y_mm).unwrap().abs() < 0.003));
        // the fine polygon's area is that of the curve, to its own tolerance
        let n = polygon.len();
        let area: f64 = (0..n).map(|i| { let (p, q) = (polygon[i], polygon[(i + 1) % n]); 0.5 * (p.x_mm * q.y_mm - q.x_mm * p.y_mm) }).sum();
        prop_assert!((area.abs() - one.area_mm2()).abs() < 0.01 * one.perimeter_mm());
    }

    /// Both ends of a chord lie where they are asked to: on the outline, or so far inside it.
    #[test]
    fn chords_end_there(b in bouts(), angle in -180.0..180.0_f64, inset in 0.0..20.0_f64, s in 0.2..0.9_f64) {
        let o = Outline::from_bouts(&b).unwrap();
        let (p, q) = o.chord(0.0, s * b.length_mm, angle, inset).unwrap();
        for e in [p, q] {
            prop_assert!((o.distance_mm(e.0, e.1).unwrap() - inset).abs() < 1e-6);
        }
        let way = (angle.to_radians().sin(), angle.to_radians().cos());
        let d = (q.0 - p.0, q.1 - p.1);
        prop_assert!((d.0 * way.1 - d.1 * way.0).abs() < 1e-6 && d.0 * way.0 + d.1 * way.1 > 0.0);
    }

    /// Thickness stays between the least and greatest measured, is what was measured at each place, and a file holds all of it.
    #[test]
    fn thickness_keeps_to_what_was_measured(places in prop::collection::vec((-150.0..150.0_f64, 0.0..480.0_f64, 2.0..3.5_f64), 1..30)) {
        let at: Vec<(f64, f64)> = places.iter().enumerate().map(|(i, p)| (p.0 + 0.2 * i as f64, p.1)).collect();
        let t: Vec<f64> = places.iter().map(|p| p.2).collect();
        let Ok(map) = PlateThickness::measured(&at, &t) else { return Ok(()) };
        for (p, v) in at.iter().zip(&t) {
            prop_assert!((map.at(*p, 50.0) - v).abs() < 1e-4, "{} {}", map.at(*p, 50.0), v);
        }
        let (low, high) = t.iter().fold((9.0_f64, 0.0_f64), |(l, h), v| (l.min(*v), h.max(*v)));
        for k in 0..40 {
            let v = map.at((f64::from(k) * 9.0 - 180.0, f64::from(k % 7) * 70.0), 50.0);
            prop_assert!(v >= low - 1e-12 && v <= high + 1e-12);
        }
    }

    /// No numbers make an X or a fan panic: they make a top or a sentence.
    #[test]
    fn wild_numbers(angle in -10.0..200.0_f64, e in -20.0..200.0_f64, w in -1.0..40.0_f64, n in 0..9_usize, s in prop::num::f64::ANY, behind in -50.0..250.0_f64) {
        let mut parts = bare(BridgeKind::Pin, 85.0);
        if let Some(b) = &mut parts.bridge { b.y_mm = 201.0 + behind; }
        let (o, h, b) = (parts.outline.clone(), parts.hole.unwrap(), parts.bridge.clone().unwrap());
        let x = XPattern { angle_deg: angle, crossing_to_hole_mm: e, leg_width_mm: w, tone_bars: n, fingers: n, scallop_depth_mm: s, ..Default::default() };
        let f = FanPattern { fans: n, spacing_mm: w * 3.0, focus_mm: s, ..Default::default() };
        for p in [bracewright::layout::x_pattern(&o, 6.0, &h, &b, &x), bracewright::layout::fan_pattern(&o, 6.0, &h, &b, &f)] {
            match p.and_then(|p| Layout::of_pattern(parts.clone(), &p)) {
                Ok(l) => {
                    let r = check(&l, 0.5, 0.5);
                    prop_assert!(r.rows.iter().all(|w| w.clearance_mm.is_finite() && w.chance.is_none_or(|c| (0.0..=1.0).contains(&c))), "{:#?}", r.rows);
                    prop_assert!(layout_svg(&l, Some(&r)).is_ok());
                }
                Err(e) => prop_assert!(e.to_string().len() > 10),
            }
        }
    }
}

/// Chances against draws: legs, bridge, hole and graft are shifted and turned at random, clearances worked out anew by plain geometry
/// of this test. First order and the normal law are held to what 40,000 draws can tell.
#[test]
fn chances_are_those_of_draws() {
    let x = XPattern {
        crossing_to_hole_mm: 28.0,
        angle_deg: 94.0,
        tone_bars: 0,
        fingers: 0,
        transverse_width_mm: 0.0,
        ..Default::default()
    };
    let l = with_x(bare(BridgeKind::Pin, 85.0), &x);
    let (u, a) = (0.8, 0.9_f64);
    let limits = LayoutLimits { pin_mm: 25.0, ..Default::default() };
    let r = l.check(&LayoutTolerance { u_position_mm: u, u_angle_deg: a }, &limits).unwrap();
    let chance = |what: &str| r.rows.iter().find(|w| w.what == what).unwrap_or_else(|| panic!("{what}")).chance.unwrap();
    let leg = l.brace("bass leg").unwrap().1;
    let (start, end, c) = (leg.start_mm, leg.end_mm, (l.crossings()[0].x_mm, l.crossings()[0].y_mm));
    let bridge = l.parts().bridge.clone().unwrap();
    let pin = *bridge.pins_mm().last().unwrap();
    let mut g = Xoshiro256PlusPlus::seed_from_u64(6);
    let mut normal = || -> f64 { StandardNormal.sample(&mut g) };
    let n = 40_000;
    let (mut pins, mut holes) = (0, 0);
    for _ in 0..n {
        let (dx, dy, t) = (u * normal(), u * normal(), (a * normal()).to_radians());
        let moved = |p: (f64, f64)| {
            let (x, y) = (p.0 - c.0, p.1 - c.1);
            (c.0 + t.cos() * x - t.sin() * y + dx, c.1 + t.sin() * x + t.cos() * y + dy)
        };
        let (p, q) = (moved(start), moved(end));
        let far = |z: (f64, f64)| {
            let (d, e) = ((q.0 - p.0, q.1 - p.1), (z.0 - p.0, z.1 - p.1));
            (d.0 * e.1 - d.1 * e.0) / d.0.hypot(d.1)
        };
        let (bx, by, bt) = (u * normal(), u * normal(), (a * normal()).to_radians());
        let m = bridge.middle();
        let (x, y) = (pin.0 - m.0, pin.1 - m.1);
        let there = (m.0 + bt.cos() * x - bt.sin() * y + bx, m.1 + bt.sin() * x + bt.cos() * y + by);
        pins += i32::from(far(there).abs() - 4.0 - 2.5 < 25.0);
        let hole = (0.0 + u * normal(), 151.0 + u * normal());
        holes += i32::from(far(hole).abs() - 4.0 - 50.0 < 3.0);
    }
    for (what, drawn) in [("pin 6 and bass leg", pins), ("sound hole and bass leg", holes)] {
        let (p, drawn) = (chance(what), f64::from(drawn) / f64::from(n));
        assert!(p > 0.02 && p < 0.98, "{what}: {p} tells little");
        let spread = (p * (1.0 - p) / f64::from(n)).sqrt();
        assert!((p - drawn).abs() < 5.0 * spread + 0.004, "{what}: {p} but drawn {drawn}");
    }
}

/// A fan between two pins: the chance that either is too near is held to draws, both sides of it counted.
#[test]
fn a_brace_between_pins() {
    let f = FanPattern { fans: 1, fan_width_mm: 3.0, closing_bars: false, ..Default::default() };
    let mut parts = bare(BridgeKind::Pin, 150.0);
    if let Some(b) = &mut parts.bridge {
        (b.strings, b.spread_mm) = (2, 16.0);
    }
    let l = with_fan(parts, &f);
    let (u, a) = (0.6, 0.4_f64);
    let r = l
        .check(&LayoutTolerance { u_position_mm: u, u_angle_deg: a }, &LayoutLimits { pin_mm: 3.0, ..Default::default() })
        .unwrap();
    let p = r.rows.iter().find(|w| w.check == "pins and braces").unwrap().chance.unwrap();
    let fan = l.brace("fan 1").unwrap().1;
    let middle = 0.5 * (fan.start_mm.1 + fan.end_mm.1);
    let b = l.parts().bridge.clone().unwrap();
    let mut g = Xoshiro256PlusPlus::seed_from_u64(8);
    let mut normal = || -> f64 { StandardNormal.sample(&mut g) };
    let n = 40_000;
    let mut bad = 0;
    for _ in 0..n {
        let (dx, t, bx, bt) = (u * normal(), (a * normal()).to_radians(), u * normal(), (a * normal()).to_radians());
        let hit = [-8.0_f64, 8.0].into_iter().any(|x| {
            // the fan runs down the centreline; turns are small
            let pin = (x * bt.cos() - 16.0 * bt.sin() + bx, b.y_mm + 16.0 * bt.cos() + x * bt.sin());
            let aside = (pin.0 - dx) * t.cos() + (pin.1 - middle) * t.sin();
            aside.abs() - 1.5 - 2.5 < 3.0
        });
        bad += i32::from(hit);
    }
    let drawn = f64::from(bad) / f64::from(n);
    assert!(p > 0.05 && p < 0.95 && (p - drawn).abs() < 0.012, "{p} but drawn {drawn}");
}

/// A pattern and a layout come back from their files as they were; a pattern's braces in a layout file become the same braces.
#[test]
fn files() {
    let x = XPattern::default();
    let parts = bare(BridgeKind::Pin, 85.0);
    let pattern =
        bracewright::layout::x_pattern(&parts.outline, 6.0, &parts.hole.unwrap(), parts.bridge.as_ref().unwrap(), &x).unwrap();
    let text = pattern.to_json().unwrap();
    assert!(text.contains("bracewright/pattern/1"));
    assert_eq!(Pattern::from_json_str("p", &text).unwrap(), pattern);
    let l = Layout::of_pattern(parts, &pattern).unwrap();
    let text = l.to_json().unwrap();
    assert_eq!(Layout::from_json_str("l", &text).unwrap(), l);
    let mut file: serde_json::Value = serde_json::from_str(&text).unwrap();
    let plain: serde_json::Value = serde_json::from_str(&pattern.to_json().unwrap()).unwrap();
    file["braces"] = plain["braces"].clone();
    file["brace_wood"] = plain["wood"].clone();
    file["thickness"] = serde_json::json!(2.8);
    assert_eq!(Layout::from_json_str("l", &file.to_string()).unwrap(), l);
    file["schema"] = serde_json::json!("bracewright/layout/2");
    assert!(matches!(Layout::from_json_str("l", &file.to_string()), Err(Error::Schema { .. })));
    file["schema"] = serde_json::json!("bracewright/layout/1");
    file["braces"][1]["stick"]["width_mm"] = serde_json::json!("wide");
    let e = Layout::from_json_str("l", &file.to_string()).unwrap_err().to_string();
    assert!(e.contains("bass leg") && e.contains("brace 2"), "{e}");
}

fn bar(name: &str, a: (f64, f64), b: (f64, f64)) -> PlacedBrace {
    let short = || Ending::Short { by_mm: 0.0 };
    let brace = Stick::plain(8.0, 8.0, 2.0, 10.0)
        .brace((b.0 - a.0).hypot(b.1 - a.1), &WoodOf::Name("Sitka spruce".into()), None)
        .unwrap();
    PlacedBrace {
        name: name.into(),
        role: Role::Other,
        start_mm: a,
        end_mm: b,
        at_start: short(),
        at_end: short(),
        offset_mm: 0.0,
        brace,
    }
}

/// What cannot be is refused with a sentence and the place of it.
#[test]
fn refused_with_its_place() {
    let refused = |change: &dyn Fn(&mut bracewright::layout::LayoutParts)| {
        let mut parts = bare(BridgeKind::Pin, 85.0);
        change(&mut parts);
        match Layout::new(parts).unwrap_err() {
            Error::AtPlace { problem, x_mm, y_mm } => (problem, x_mm, y_mm),
            e => panic!("no place: {e}"),
        }
    };
    let (words, x, y) = refused(&|p| p.braces = vec![bar("A", (0.0, 300.0), (260.0, 300.0))]);
    assert!(words.contains("end of A") && words.contains("outside"), "{words}");
    assert_eq!((x, y), (260.0, 300.0));
    // both ends inside, but the waist between them
    let (words, x, y) = refused(&|p| p.braces = vec![bar("A", (135.0, 80.0), (190.0, 370.0))]);
    assert!(words.contains("runs out of the outline"), "{words}");
    assert!(x > 120.0 && y > 80.0 && y < 370.0);
    let (words, x, y) =
        refused(&|p| p.braces = vec![bar("A", (-100.0, 300.0), (100.0, 300.0)), bar("B", (20.0, 250.0), (20.0, 400.0))]);
    assert!(words.contains("without a lap"), "{words}");
    assert!((x - 20.0).abs() < 1e-6 && (y - 300.0).abs() < 1e-6);
    let (words, x, _) = refused(&|p| p.hole = Some(SoundHole::round(100.0, 151.0, 100.0).unwrap()));
    assert!(words.contains("edge of the sound hole") && x > 100.0, "{words}");
    let lap = LapAt { crest_cut: "A".into(), glue_cut: "B".into(), cap_mm: 0.0 };
    let (words, ..) = refused(&|p| {
        p.braces = vec![bar("A", (-100.0, 300.0), (100.0, 300.0)), bar("B", (20.0, 310.0), (20.0, 400.0))];
        p.laps = vec![lap.clone()];
    });
    assert!(words.contains("do not cross"), "{words}");
    let (words, ..) = refused(&|p| {
        if let Some(b) = &mut p.bridge {
            b.y_mm = 490.0;
        }
    });
    assert!(words.contains("bridge's foot"), "{words}");
    let bow_tie = Outline::from_points(&[(0.0, 0.0), (100.0, 100.0), (100.0, 0.0), (0.0, 100.0)], false, 40.0);
    assert!(
        matches!(bow_tie, Err(Error::AtPlace { x_mm, y_mm, .. }) if (x_mm - 50.0).abs() < 1e-6 && (y_mm - 50.0).abs() < 1e-6)
    );
}

/// The same circle and stadium from DXF bulges, DXF arcs and lines, SVG arcs, SVG shapes under transforms, and a table.
#[test]
fn outlines_from_files() {
    let lying = LyingAs::default();
    let pi = std::f64::consts::PI;
    let pair = |code: i32, value: &str| format!("{code}\n{value}\n");
    let head = |unit: i32| {
        format!(
            "{}{}{}{}{}{}{}{}",
            pair(0, "SECTION"),
            pair(2, "HEADER"),
            pair(9, "$INSUNITS"),
            pair(70, &unit.to_string()),
            pair(0, "ENDSEC"),
            pair(0, "SECTION"),
            pair(2, "ENTITIES"),
            ""
        )
    };
    let tail = format!("{}{}", pair(0, "ENDSEC"), pair(0, "EOF"));
    // a stadium: two sides of 300, ends of radius 100, bulge 1 is half a circle
    let vertex =
        |x: f64, y: f64, b: f64| format!("{}{}{}", pair(10, &x.to_string()), pair(20, &y.to_string()), pair(42, &b.to_string()));
    let lw = format!(
        "{}{}{}{}{}{}{}{}",
        head(4),
        pair(0, "LWPOLYLINE"),
        pair(70, "1"),
        vertex(-100.0, 0.0, 1.0),
        vertex(100.0, 0.0, 0.0),
        vertex(100.0, 300.0, 1.0),
        vertex(-100.0, 300.0, 0.0),
        tail
    );
    let line = |a: (f64, f64), b: (f64, f64)| {
        format!(
            "{}{}{}{}{}",
            pair(0, "LINE"),
            pair(10, &a.0.to_string()),
            pair(20, &a.1.to_string()),
            pair(11, &b.0.to_string()),
            pair(21, &b.1.to_string())
        )
    };
    let arc = |y: f64, from: f64, to: f64| {
        format!(
            "{}{}{}{}{}{}",
            pair(0, "ARC"),
            pair(10, "0"),
            pair(20, &y.to_string()),
            pair(40, "10"),
            pair(50, &from.to_string()),
            pair(51, &to.to_string())
        )
    };
    let pieces = format!(
        "{}{}{}{}{}{}",
        head(5),
        line((10.0, 30.0), (10.0, 0.0)),
        arc(30.0, 0.0, 180.0),
        line((-10.0, 0.0), (-10.0, 30.0)),
        arc(0.0, 180.0, 360.0),
        tail
    );
    let svg = r#"<?xml version="1.0"?><svg xmlns="http://www.w3.org/2000/svg" width="300mm" height="600mm" viewBox="0 0 150 300">
        <!-- <path d="M0 0"/> --><defs><circle r="500"/></defs><g transform="translate(75,50) scale(.5)">
        <path d="M-100-100v300a100,100 0 0 0 100 100 100 100 0 00 100-100l0-300A100 100 0 1 0-100-100z"/></g></svg>"#;
    let area = 200.0 * 300.0 + pi * 100.0 * 100.0;
    for (what, o) in [
        ("bulges", outline_from_dxf("d", &lw, None, &lying).unwrap()),
        ("arcs", outline_from_dxf("d", &pieces, None, &lying).unwrap()),
        ("svg", outline_from_svg("s", svg, None, &lying).unwrap()),
    ] {
        assert!((o.area_mm2() / area - 1.0).abs() < 1e-7, "{what}: {}", o.area_mm2() / area);
        assert!((o.perimeter_mm() / (600.0 + 200.0 * pi) - 1.0).abs() < 1e-7, "{what}");
        let [x0, x1, y0, y1] = o.bounds_mm();
        assert!(
            (x0 + 100.0).abs() < 1e-3 && (x1 - 100.0).abs() < 1e-3 && y0.abs() < 1e-3 && (y1 - 500.0).abs() < 1e-3,
            "{what} {y0} {y1}"
        );
    }
    // one corner of a triangle tells how a drawing was turned: neck, then the side it is seen from
    let csv = |p: [(f64, f64); 3]| {
        format!("x (cm);y (cm)\n{}", p.iter().map(|q| format!("{};{}\n", q.0, q.1).replace('.', ",")).collect::<String>())
    };
    let up = [(0.0, 0.0), (10.0, 20.0), (-20.0, 20.5)];
    let reach = |o: &Outline| o.bounds_mm();
    let straight = LyingAs { centre_mm: Some(0.0), ..lying };
    let one = reach(&outline_from_csv("c", &csv(up), false, 40.0, &straight).unwrap());
    assert!((one[0] + 200.0).abs() < 1e-9 && (one[1] - 100.0).abs() < 1e-9 && one[2].abs() < 1e-9);
    for (neck, turn) in [(Neck::Bottom, 2), (Neck::Left, 3), (Neck::Right, 1)] {
        let turned = up.map(|p| (0..turn).fold(p, |q: (f64, f64), _| (-q.1, q.0)));
        let got = reach(&outline_from_csv("c", &csv(turned), false, 40.0, &LyingAs { neck, ..straight }).unwrap());
        assert!((0..4).all(|k| (got[k] - one[k]).abs() < 1e-6), "{neck:?} {got:?}");
    }
    let outside =
        reach(&outline_from_csv("c", &csv(up), false, 40.0, &LyingAs { seen_from: SeenFrom::Outside, ..straight }).unwrap());
    assert!((outside[0] + 100.0).abs() < 1e-6 && (outside[1] - 200.0).abs() < 1e-6);
    let half = "y_mm,half_width_mm\n0,0\n40,80\n100,140\n200,120\n350,190\n450,120\n490,0\n";
    let o = outline_from_csv("c", half, true, 40.0, &lying).unwrap();
    assert!((o.distance_mm(120.0, 200.0).unwrap()).abs() < 1e-9 && (o.distance_mm(-120.0, 200.0).unwrap()).abs() < 1e-9);
    for (text, word) in [
        ("", "svg"),
        ("<p>", "svg"),
        ("<svg><path d='M0 0 L10'/></svg>", "few numbers"),
        ("<svg><path d='M0 0 X'/></svg>", "command"),
        ("<svg><path d='M0 0 L100 0 L100 100'/></svg>", "closed"),
    ] {
        let e = outline_from_svg("s", text, None, &lying).unwrap_err().to_string();
        assert!(e.contains(word), "{e}");
    }
    for (text, word) in [
        ("", "unit"),
        ("x\ny\n", "group code"),
        (&*format!("{}{}", head(0), tail), "unit_mm"),
        (&*format!("{}{}", head(4), tail), "no line"),
    ] {
        let e = outline_from_dxf("d", text, None, &lying).unwrap_err().to_string();
        assert!(e.contains(word), "{e}");
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 300, failure_persistence: None, ..Default::default() })]

    /// Whatever stands in a file, reading it gives an outline or a sentence.
    #[test]
    fn readers_never_panic(junk in "[<>a-zA-Z0-9 \"'=/().,\\-\n]{0,160}", path in "[MmLlHhVvCcSsQqTtAaZz0-9 .,eE-]{0,80}") {
        let lying = LyingAs::default();
        let _ = outline_from_svg("s", &junk, None, &lying);
        let _ = outline_from_svg("s", &format!("<svg viewBox='{junk}'><g transform='{junk}'><path d=\"{path}\"/></g></svg>"), None, &lying);
        let _ = outline_from_dxf("d", &junk, Some(1.0), &lying);
        let _ = outline_from_csv("c", &junk, true, 40.0, &lying);
        let _ = Layout::from_json_str("l", &junk);
    }
}

/// The drawing of a clash says so in words and by a sign, is the same each time, and another layout's report is refused.
#[test]
fn drawing() {
    let l = with_fan(bare(BridgeKind::Pin, 150.0), &FanPattern::default());
    let r = check(&l, 0.5, 0.5);
    let svg = layout_svg(&l, Some(&r)).unwrap();
    assert_eq!(svg, layout_svg(&l, Some(&r)).unwrap());
    assert!(
        svg.contains("CLASH")
            && svg.contains("pin 3 and fan 4")
            && svg.contains("bass side")
            && svg.contains("100 mm of the top")
    );
    assert!(!layout_svg(&l, None).unwrap().contains("CLASH"));
    let other = LayoutReport { name: "another".into(), ..r };
    assert!(layout_svg(&l, Some(&other)).is_err());
}
