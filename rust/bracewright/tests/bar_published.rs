//! Bars: nodes of the free beam, impulse excitation, three and four points read without shear. Rows of
//! `data/beam_rows.csv`, each to its own tolerance, its standing repeated here. (Deflections and frequencies of beams are in
//! `beam_published.rs`.)

#![allow(clippy::unwrap_used, clippy::panic)]

mod common;

use bracewright::mechanics::pieces::Pieces;
use bracewright::mechanics::section_beam::{Flexibility, Inertia, Load, Support, vibrations};
use bracewright::{Blank, Brace, Wood};
use common::{all_meet, rows};

/// Deflection of a beam of length 1 at `at` with flexibilities `f(x)` = (1/EI, 1/GA).
fn sag(kinks: &[f64], f: impl Fn(f64) -> (f64, f64), loads: &[Load], supports: &[Support], at: f64) -> f64 {
    let breaks = Flexibility::breaks_for(kinks, loads, supports, &[at]);
    let flex = Flexibility::new(breaks, 40, |x, _| f(x));
    let s = flex.solve(loads, supports).unwrap();
    flex.deflection(&s, at)
}

/// D198/D143: the same beam read as if it had no shear.
#[test]
fn apparent_modulus() {
    let (b, h, l, p, e, g) = (20.0_f64, 20.0_f64, 280.0_f64, 500.0_f64, 11_000.0_f64, 700.0_f64);
    let f = |_: f64| (12.0 / (e * b * h.powi(3)), 6.0 / (5.0 * g * b * h));
    let supports = [Support::rest(0.0), Support::rest(l)];
    let three = sag(&[0.0, l], f, &[Load::point(0.5 * l, p)], &supports, 0.5 * l);
    let four = sag(&[0.0, l], f, &[Load::point(l / 3.0, 0.5 * p), Load::point(2.0 * l / 3.0, 0.5 * p)], &supports, 0.5 * l);
    let a = l / 3.0;
    let app4 = 0.5 * p * a * (3.0 * l * l - 4.0 * a * a) / (24.0 * (b * h.powi(3) / 12.0) * four);
    all_meet([
        ("B-D198-3pt-d".into(), "recomputed 10 digits", three),
        ("B-D198-3pt".into(), "recomputed 10 digits", p * l.powi(3) / (4.0 * b * h.powi(3) * three) / 1000.0),
        ("B-D198-4pt".into(), "recomputed 10 digits", app4 / 1000.0),
    ]);
}

fn one(_: f64, _: f64) -> Inertia {
    Inertia { bend: 1.0, shear: 1.0, mass: 1.0, rotary: 0.0 }
}

/// The core gives no shapes, but a support at a node of a free beam costs its mode nothing and anywhere else lowers it:
/// the lowest frequency over supports placed in mirror pairs is highest, and equal to the free one, at the node. The
/// highest place is found on the polynomial through Chebyshev points, so that no square root of rounding enters.
#[test]
fn nodes_of_the_free_beam() {
    let node = |guess: f64, middle: bool, free: f64| {
        let at = |s: f64| {
            let mut supports = vec![Support::rest(s), Support::rest(1.0 - s)];
            let mut breaks = vec![0.0, s, 1.0 - s, 1.0];
            if middle {
                supports.push(Support::rest(0.5));
                breaks.insert(2, 0.5);
            }
            vibrations(&breaks, 12, false, one, &supports, &[], 1).unwrap()[0]
        };
        let (a, b) = (guess - 0.02, guess + 0.02);
        let curve = Pieces::fit(&[a, b], 1e-9 * free, at);
        let (mut lo, mut hi) = (a, b);
        for _ in 0..60 {
            let m = 0.5 * (lo + hi);
            if curve.slope(m) > 0.0 { lo = m } else { hi = m }
        }
        assert!((at(lo) / free - 1.0).abs() < 1e-10, "at the node the support costs nothing");
        lo
    };
    let free = vibrations(&[0.0, 0.5, 1.0], 13, false, one, &[], &[], 2).unwrap();
    all_meet([
        ("B-FF-NODE1".into(), "recomputed 10 digits", node(0.22, false, free[0])),
        ("B-FF-NODE2".into(), "recomputed 10 digits", node(0.13, true, free[1])),
    ]);
}

/// The correction of the standard for impulse excitation, put to the beam: the modulus that its formula finds from the
/// frequency of a bar of E = 1 is 1 to the 0.16 % that the row gives.
#[test]
fn impulse_excitation() {
    const STANDING: &str = "formula from memory; recomputed 11 digits; agrees with Timoshenko FF to <=0.16%";
    let all = rows();
    let mut seen = 0;
    for row in all.iter().filter(|r| r.id.starts_with("B-E1876-T1-")) {
        assert_eq!(row.status, STANDING);
        let part: Vec<f64> = row.id.trim_start_matches("B-E1876-T1-").split('-').map(|v| v.parse().unwrap()).collect();
        let (t, nu) = (part[0], part[1]);
        // b = E = rho = L = 1: EI = t^3/12, m = t; shear factor 5/6 as the formula's origin
        let f = |_: f64, _: f64| Inertia {
            bend: t.powi(3) / 12.0,
            shear: 5.0 / 6.0 * t / (2.0 * (1.0 + nu)),
            mass: t,
            rotary: t.powi(3) / 12.0,
        };
        let hz = vibrations(&[0.0, 0.5, 1.0], 12, true, f, &[], &[], 1).unwrap()[0].sqrt() / (2.0 * std::f64::consts::PI);
        let e = 0.9465 * t * hz * hz * t.powi(-3) * row.value;
        assert!((e - 1.0).abs() < 0.0017, "{}: E = {e} from {} ({})", row.id, row.source, row.status);
        seen += 1;
    }
    assert_eq!(seen, 6);
    let beta = vibrations(&[0.0, 0.5, 1.0], 13, false, one, &[], &[], 1).unwrap()[0].sqrt();
    all_meet([("B-E1876-0.9465".into(), "recomputed 10 digits", 48.0 * std::f64::consts::PI.powi(2) / (beta * beta))]);
}

/// Nodes of a free bar's first two modes and shape of a clamped one: 0.22416 and 0.77584 of the length; 0.13211, 0.5 and
/// 0.86789; 0.3395 at half the length of a cantilever whose tip moves 1. Source: Euler-Bernoulli closed forms (Young and
/// Felgar's tables); standing: recomputed from the characteristic functions with beta L = 4.730041, 7.853205, 1.875104.
#[test]
fn mode_shapes_of_a_slender_bar() {
    let blank = Blank::new(&Wood::published("Sitka spruce").unwrap(), 400.0, 4.0, 2.0, None).unwrap();
    let brace = Brace::uncarved(&blank);
    let at = |parts: &[f64]| parts.iter().map(|p| 400.0 * p).collect::<Vec<f64>>();
    let free = brace.mode_shapes(&at(&[0.0, 0.224_16, 0.775_84, 1.0, 0.132_11, 0.5, 0.867_89]), 2, false).unwrap();
    assert!((free[0][0] - 1.0).abs() < 1e-3 && (free[0][3] - 1.0).abs() < 1e-3, "{free:?}");
    assert!(free[0][1].abs() < 2e-3 && free[0][2].abs() < 2e-3, "{free:?}");
    // in the middle of the first mode, -0.6078 of the ends
    assert!((free[0][5] + 0.6078).abs() < 2e-3, "{free:?}");
    assert!((free[1][0] - 1.0).abs() < 1e-3 && (free[1][3] + 1.0).abs() < 1e-3, "{free:?}");
    assert!(free[1][4..].iter().all(|v| v.abs() < 3e-3), "{free:?}");
    let held = brace.mode_shapes(&at(&[0.0, 0.5, 1.0]), 1, true).unwrap();
    assert!(held[0][0].abs() < 1e-6 && (held[0][1] - 0.3395).abs() < 1e-3 && (held[0][2] - 1.0).abs() < 1e-6, "{held:?}");
    assert!(brace.mode_shapes(&[500.0], 1, false).unwrap_err().to_string().contains("x_mm[0]"));
    assert!(brace.mode_shapes(&[5.0], 0, false).unwrap_err().to_string().contains("count"));
}
