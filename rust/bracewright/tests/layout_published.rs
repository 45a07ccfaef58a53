//! Layouts against closed forms: areas and lengths of known shapes, clearances of an X by its own trigonometry, and its worked table.

#![allow(clippy::unwrap_used, clippy::panic)]

#[path = "common/tops.rs"]
mod tops;

use bracewright::layout::{
    Ending, FanPattern, Layout, LayoutLimits, LayoutReport, LayoutTolerance, Outline, PlacedBrace, PlateThickness, Role,
    RowState, SoundHole, Stick, WoodOf, XPattern,
};
use bracewright::strings::BridgeKind;
use tops::{bare, bridge, with_fan, with_x};

fn check(l: &Layout) -> LayoutReport {
    l.check(&LayoutTolerance::default(), &LayoutLimits::default()).unwrap()
}

fn gap(r: &LayoutReport, what: &str) -> f64 {
    r.rows.iter().find(|row| row.what == what).unwrap().clearance_mm
}

fn circle(radius: f64, n: usize) -> Vec<(f64, f64)> {
    (0..n)
        .map(|k| {
            let a = std::f64::consts::TAU * k as f64 / n as f64;
            (radius * a.cos(), 200.0 + radius * a.sin())
        })
        .collect()
}

/// A rectangle by its corners, and a circle through points of it (Euclid; each smooth piece is the cubic nearest an arc, 3e-4 of the
/// radius off at worst over a quarter turn, a millionth over 15 degrees).
#[test]
fn known_shapes() {
    let square = [(-100.0, 0.0), (100.0, 0.0), (100.0, 300.0), (-100.0, 300.0)];
    for smooth in [false, true] {
        let o = Outline::from_points(&square, smooth, 40.0).unwrap();
        assert!((o.area_mm2() - 60_000.0).abs() < 1e-9 && (o.perimeter_mm() - 1000.0).abs() < 1e-9);
        assert!((o.distance_mm(90.0, 150.0).unwrap() - 10.0).abs() < 1e-12);
        assert!((o.distance_mm(103.0, -4.0).unwrap() + 5.0).abs() < 1e-12);
        assert_eq!(o.points(0.01).unwrap().iter().filter(|p| p.corner).count(), 4);
        let (a, b) = o.chord(0.0, 100.0, 90.0, 0.0).unwrap();
        assert!((a.0 + 100.0).abs() < 1e-6 && (b.0 - 100.0).abs() < 1e-6 && (a.1 - 100.0).abs() < 1e-9);
        let (a, b) = o.chord(0.0, 150.0, 0.0, 20.0).unwrap();
        assert!((a.1 - 20.0).abs() < 1e-6 && (b.1 - 280.0).abs() < 1e-6);
    }
    let pi = std::f64::consts::PI;
    for (n, off) in [(12, 1e-5), (24, 1e-6), (48, 1e-6)] {
        let o = Outline::from_points(&circle(150.0, n), true, 40.0).unwrap();
        assert!((o.area_mm2() / (pi * 150.0 * 150.0) - 1.0).abs() < off, "{n}: {}", o.area_mm2() / (pi * 150.0 * 150.0) - 1.0);
        assert!((o.perimeter_mm() / (pi * 300.0) - 1.0).abs() < off);
        assert!((o.distance_mm(20.0, 200.0).unwrap() - 130.0).abs() < 0.01);
        assert!(o.points(0.01).unwrap().iter().all(|p| !p.corner));
        let inner = o.inset(30.0).unwrap();
        assert!(inner.iter().all(|p| (p.0.hypot(p.1 - 200.0) - 120.0).abs() < 0.01));
    }
}

/// Distance from a point to an ellipse: on its axes, and where the normal from a place of it leads (the foot of a normal is the
/// nearest place as long as it stays outside).
#[test]
fn oval_holes() {
    let h = SoundHole::oval(10.0, 20.0, 120.0, 80.0).unwrap();
    let points = h.points(0.01).unwrap();
    let polygon: f64 = (0..points.len())
        .map(|i| {
            let (a, b) = (points[i], points[(i + 1) % points.len()]);
            0.5 * (a.0 * b.1 - b.0 * a.1)
        })
        .sum();
    assert!((polygon / (std::f64::consts::PI * 60.0 * 40.0) - 1.0).abs() < 1e-3);
    // a brace along the tangent, 7 mm off: the gap is 7 less half its width
    for t in [0.0, 0.3, 0.9, 1.5, 2.2, 4.0] {
        let t: f64 = t;
        let (p, n) = ((10.0 + 60.0 * t.cos(), 20.0 + 40.0 * t.sin()), (t.cos() / 60.0, t.sin() / 40.0));
        let l = n.0.hypot(n.1);
        let n = (n.0 / l, n.1 / l);
        let mid = (p.0 + 7.0 * n.0, p.1 + 7.0 * n.1);
        let (a, b) = ((mid.0 - 40.0 * n.1, mid.1 + 40.0 * n.0), (mid.0 + 40.0 * n.1, mid.1 - 40.0 * n.0));
        let mut parts = bare(BridgeKind::Pin, 85.0);
        parts.bridge = None;
        parts.outline =
            Outline::from_points(&[(-200.0, -200.0), (200.0, -200.0), (200.0, 300.0), (-200.0, 300.0)], false, 40.0).unwrap();
        parts.hole = Some(h);
        parts.braces = vec![plain("a", a, b, 6.0)];
        let r = check(&Layout::new(parts).unwrap());
        assert!((gap(&r, "sound hole and a") - 4.0).abs() < 1e-6, "{t}: {}", gap(&r, "sound hole and a"));
    }
}

fn plain(name: &str, start_mm: (f64, f64), end_mm: (f64, f64), width: f64) -> PlacedBrace {
    let long = (end_mm.0 - start_mm.0).hypot(end_mm.1 - start_mm.1);
    let short = || Ending::Short { by_mm: 0.0 };
    let brace = Stick::plain(width, 8.0, 2.0, 10.0).brace(long, &WoodOf::Name("Sitka spruce".into()), None).unwrap();
    PlacedBrace {
        name: name.into(),
        role: Role::Other,
        start_mm,
        end_mm,
        at_start: short(),
        at_end: short(),
        offset_mm: 0.0,
        brace,
    }
}

/// The worked table of an X: angle, crossing to hole edge, then clearances of hole and outer pin, and where the legs pass under the
/// bridge, worked out for this library by (e + R) sin b - R - w/2, |x cos b - y sin b| - w/2 - d/2 and y tan b (plane trigonometry; the
/// table's own rounding). R 50, w 8, hole edge to saddle 85, outer pin at 29, 16 behind the saddle, hole 5, front 11 and rear 22 from it.
#[test]
fn table_of_an_x() {
    for (angle, e, hole, pin, front, rear) in [
        (85.0_f64, 25.0_f64, -3.3, 23.5, 45.0, 75.0),
        (92.0, 25.0, -0.05, 28.0, 51.0, 85.0),
        (98.0, 25.0, 2.6, 31.8, 56.0, 94.0),
        (98.0, 35.0, 10.2, 24.3, 45.0, 83.0),
        (98.0, 45.0, 17.7, 16.7, 33.0, 71.0),
        (102.0, 35.0, 12.1, 26.5, 48.0, 89.0),
    ] {
        let x = XPattern {
            angle_deg: angle,
            crossing_to_hole_mm: e,
            tone_bars: 0,
            fingers: 0,
            transverse_width_mm: 0.0,
            ..Default::default()
        };
        let l = with_x(bare(BridgeKind::Pin, 85.0), &x);
        let r = check(&l);
        let beta = (0.5 * angle).to_radians();
        let y = 85.0 - e + 16.0;
        let formula = ((e + 50.0) * beta.sin() - 54.0, (29.0 * beta.cos() - y * beta.sin()).abs() - 6.5);
        for leg in ["bass leg", "treble leg"] {
            let got = gap(&r, &format!("sound hole and {leg}"));
            assert!((got - formula.0).abs() < 1e-9 && (got - hole).abs() < 0.06, "{angle} {e}: hole {got}");
        }
        // the outer treble pin is the first, the outer bass pin the last
        for what in ["pin 6 and bass leg", "pin 1 and treble leg"] {
            let got = gap(&r, what);
            assert!((got - formula.1).abs() < 1e-9 && (got - pin).abs() < 0.06, "{angle} {e}: pin {got}");
        }
        for leg in &r.legs {
            assert!((leg.front_mm - (85.0 - e - 11.0) * beta.tan()).abs() < 1e-9 && (leg.front_mm - front).abs() < 0.6);
            assert!((leg.rear_mm - (85.0 - e + 22.0) * beta.tan()).abs() < 1e-9 && (leg.rear_mm - rear).abs() < 0.6);
            assert_eq!(leg.half_bridge_mm, 76.0);
        }
        assert_eq!(r.rows.iter().any(|row| row.check == "sound hole and braces" && row.state == RowState::Clash), e < 30.0);
        let c = l.crossings()[0];
        assert!(
            (c.angle_deg - angle.min(180.0 - angle)).abs() < 1e-9 && (c.y_mm - 201.0 - e).abs() < 1e-9 && c.x_mm.abs() < 1e-12
        );
        assert!((c.notch_first_mm - 8.0 / angle.to_radians().sin()).abs() < 1e-9);
    }
}

/// First order by hand: a pin beside a leg errs by the place of both across the leg, the leg's turn about the crossing times the way
/// along it, and the bridge's turn times the way along the leg from the bridge's middle.
#[test]
fn uncertainty_of_a_pin() {
    let l = with_x(bare(BridgeKind::Pin, 85.0), &XPattern::default());
    let r = check(&l);
    let beta = 49.0_f64.to_radians();
    let u = (0.5_f64, 0.5_f64.to_radians());
    let (way, pin) = ((beta.sin(), beta.cos()), (29.0, 66.0));
    let arm_leg = pin.0 * way.0 + pin.1 * way.1;
    let arm_bridge = 29.0 * way.0 + 16.0 * way.1;
    let want = (2.0 * u.0 * u.0 + (u.1 * arm_leg).powi(2) + (u.1 * arm_bridge).powi(2)).sqrt();
    let row = r.rows.iter().find(|row| row.what == "pin 6 and bass leg").unwrap();
    assert!((row.sd_mm.unwrap() / want - 1.0).abs() < 1e-6, "{} {want}", row.sd_mm.unwrap());
}

/// Common practice, no source: a fan under a pin bridge runs into pins where an X of the same top stays clear, and a tie bridge frees
/// the fan.
#[test]
fn fans_and_pins() {
    let clashes = |l: &Layout| check(l).rows.iter().filter(|r| r.check.starts_with("pins") && r.state == RowState::Clash).count();
    assert!(clashes(&with_fan(bare(BridgeKind::Pin, 170.0), &FanPattern::default())) >= 1);
    assert_eq!(clashes(&with_x(bare(BridgeKind::Pin, 85.0), &XPattern::default())), 0);
    assert_eq!(clashes(&with_fan(bare(BridgeKind::Tie, 170.0), &FanPattern::default())), 0);
    assert_eq!(clashes(&with_fan(bare(BridgeKind::Tie, 85.0), &FanPattern::default())), 0);
    assert!(clashes(&with_fan(bare(BridgeKind::Pin, 85.0), &FanPattern::default())) >= 1);
}

/// The saddle of a 645 mm scale with 14 frets clear stands 645 / 2^(14/12) behind the body's end, 287.3 mm (twelve equal steps).
#[test]
fn saddle_of_a_scale() {
    let mut parts = bare(BridgeKind::Pin, 85.0);
    let mut b = bracewright::layout::PlacedBridge::new(&bridge(BridgeKind::Pin), 290.3);
    (b.scale_mm, b.slant_mm) = (Some(645.0), 2.0);
    assert!((b.uncompensated_mm().unwrap() - 645.0 / 2.0_f64.powf(14.0 / 12.0)).abs() < 1e-9);
    parts.bridge = Some(b);
    let r = check(&Layout::new(parts).unwrap());
    let plain = 645.0 / 2.0_f64.powf(14.0 / 12.0);
    assert!((gap(&r, "compensation at the outer treble string") - (289.3 - plain)).abs() < 1e-6);
    assert!((gap(&r, "compensation at the outer bass string") - (291.3 - plain)).abs() < 1e-6);
}

/// A plane through measured thicknesses comes back (the bent surface of a thin plate holds planes), and the thinned edge is the half
/// cosine at its middle.
#[test]
fn thickness_of_a_plane() {
    let at: Vec<(f64, f64)> =
        (0..5).flat_map(|i| (0..4).map(move |j| (40.0 * f64::from(i) - 80.0, 90.0 * f64::from(j)))).collect();
    let plane = |p: (f64, f64)| 2.6 + 0.001 * p.0 + 0.0005 * p.1;
    let t = PlateThickness::measured(&at, &at.iter().map(|p| plane(*p)).collect::<Vec<_>>()).unwrap();
    for p in [(0.0, 0.0), (-33.0, 17.0), (51.0, 200.0)] {
        assert!((t.at(p, 100.0) - plane(p)).abs() < 1e-6, "{}", t.at(p, 100.0) - plane(p));
    }
    let thin = PlateThickness::even(2.8).unwrap().with_thin_edge(0.4, 30.0).unwrap();
    for (depth, want) in [(0.0, 2.4), (15.0, 2.6), (30.0, 2.8), (90.0, 2.8)] {
        assert!((thin.at((0.0, 0.0), depth) - want).abs() < 1e-12);
    }
}
