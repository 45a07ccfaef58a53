//! Glued sections against worked figures.
//!
//! Source: checks.csv rows C-T-* (transformed section, recomputed to ten digits) and the project brief, sections 3.3, 3.4 and 3.6
//! (computed there by the same closed forms, printed to the digits held here). Limits of EN 1995-1-1 from memory.

#![allow(clippy::unwrap_used)]

use bracewright::strip::{
    BEF_LIMITS, DishShape, LapState, Strip, StripSize, composite, curvature_per_m, half_laps, lag_width_mm, radius_mm, rise_mm,
};
use bracewright::{Blank, Brace, NotchSide, Profile, Quantity, Section, Wood};

fn close(found: f64, expected: f64, relative: f64) {
    assert!((found / expected - 1.0).abs() <= relative, "found {found}, expected {expected}");
}

fn printed(found: f64, expected: f64, digit: f64) {
    assert!((found - expected).abs() <= 0.5 * digit * (1.0 + 1e-9), "found {found}, printed {expected}");
}

/// Rectangle above a rectangle: E, width and height of each.
fn two(upper: (f64, f64, f64), lower: (f64, f64, f64)) -> bracewright::strip::Composite {
    let (e, b, h) = upper;
    composite((e, b * h, 0.5 * h, b * h.powi(3) / 12.0), lower)
}

#[test]
fn homogeneous_t() {
    // flange 100 x 20 on a web 20 x 100: heights from the bottom of the web
    let c = two((1.0, 100.0, 20.0), (1.0, 20.0, 100.0));
    close(c.neutral + 100.0, 80.0, 1e-9);
    close(c.ei, 5_333_333.333, 1e-9);
    close(c.upper_first, 60_000.0, 1e-9);
}

#[test]
fn brace_on_plate() {
    // brace 11 GPa 6 x 12 mm; plate 0.8 GPa 40 x 2.8 mm
    let c = two((11_000.0, 6.0, 12.0), (800.0, 40.0, 2.8));
    close(c.neutral + 2.8, 8.047912886, 1e-9);
    close(c.ei * 1e-6, 13.97037083, 1e-9);
    // q/b of ten newtons (the load of the brief's section 6) over a width of 6 mm, Pa
    close(10.0 * c.upper_first / c.ei / 6.0 * 1e6, 71_061.463, 1e-8);
    close(two((11_000.0, 6.0, 12.0), (11_000.0, 40.0, 2.8)).neutral + 2.8, 4.295652174, 1e-9);
}

/// Brace 8 mm wide of E 11.5 GPa on a strip of E 1.45 GPa, 2.8 mm thick.
fn strip(height: f64) -> Strip {
    let wood = |e: f64, across: f64| Wood::custom("t", 410.0, e).unwrap().with_value(Quantity::ErEl, across).unwrap();
    let brace_wood = wood(11.5, 0.08);
    let blank = Blank::new(&brace_wood, 400.0, 8.0, 16.0, None).unwrap();
    let profile = Profile::straight(400.0, height).unwrap();
    let brace = Brace::new(&blank, &profile, &Section::rectangle()).unwrap();
    let top = wood(11.5, 1.45 / 11.5);
    Strip::new(&brace, &top, StripSize { thickness_mm: 2.8, width_mm: 60.0, grain_angle_deg: 90.0, length_mm: None }).unwrap()
}

#[test]
fn exponents_of_a_glued_brace() {
    for (h, n, m) in [(15.0, 2.54, 0.67), (10.0, 2.35, 0.59), (6.0, 2.05, 0.52)] {
        let s = strip(h).section(&[200.0], None).unwrap();
        printed(s.exponent_height[0], n, 0.01);
        printed(s.exponent_modulus[0], m, 0.01);
    }
}

#[test]
fn stress_of_a_glued_brace() {
    // M 1.4 N m: crest stress, MPa; V 10 N: glue shear, MPa
    for (h, crest, digit) in [(15.0, 3.4, 0.1), (10.0, 6.5, 0.1), (6.0, 13.8, 0.1), (4.0, 23.0, 1.0)] {
        let s = strip(h).section(&[200.0], None).unwrap();
        printed(11_500.0 * 1400.0 * (h - s.neutral_mm[0]) / (s.ei_n_m2[0] * 1e6), crest, digit);
    }
    for (h, shear) in [(15.0, 0.05), (4.0, 0.27)] {
        let s = strip(h).section(&[200.0], None).unwrap();
        printed(s.glue_flow_per_m[0] * 1e-3 * 10.0 / 8.0, shear, 0.01);
    }
}

#[test]
fn half_lap_of_the_brief() {
    // h 16, E_b 11.9, E_R 0.9 GPa, cap 2.5 mm
    let wood = Wood::custom("t", 410.0, 11.9).unwrap().with_value(Quantity::ErEl, 0.9 / 11.9).unwrap();
    let blank = Blank::new(&wood, 400.0, 8.0, 16.0, None).unwrap();
    let brace = Brace::new(&blank, &Profile::straight(400.0, 16.0).unwrap(), &Section::rectangle()).unwrap();
    let l = half_laps(&brace, 200.0, 90.0, 2.5, Some(70.0)).unwrap();
    let of = |state| l.laps.iter().find(|l| l.side == NotchSide::Crest && l.state == state).unwrap();
    printed(of(LapState::Open).ei_ratio, 0.125, 0.001);
    printed(of(LapState::Tight).ei_ratio, 0.24, 0.01);
    printed(of(LapState::Capped).ei_ratio, 1.16, 0.01);
    // by hand: an open notch of half the height bears a quarter of the moment, b h^2 / 6 times the strength
    close(of(LapState::Open).opening_n_m, 70.0 * 8.0 * 64.0 / 6.0 * 1e-3, 1e-12);
    close(of(LapState::Open).whole_n_m, 70.0 * 8.0 * 256.0 / 6.0 * 1e-3, 1e-12);
    close(half_laps(&brace, 200.0, 30.0, 2.5, Some(70.0)).unwrap().notch_mm, 16.0, 1e-12);
}

#[test]
fn rises_of_the_brief() {
    for (r, s) in [(7620.0, 2.62), (8530.0, 2.34), (12_200.0, 1.64)] {
        // printed by L^2 / 8 R; the arc itself rises by 4e-4 mm more
        printed(400.0 * 400.0 / (8.0 * r), s, 0.01);
        close(rise_mm(r, 400.0).unwrap(), 400.0 * 400.0 / (8.0 * r), 1e-3);
        close(radius_mm(rise_mm(r, 400.0).unwrap(), 400.0).unwrap(), r, 1e-12);
    }
    // built arch of 0.117 to 0.131 1/m
    printed(curvature_per_m(7620.0, DishShape::Spherical, 30.0).unwrap(), 0.131, 0.001);
    close(curvature_per_m(8000.0, DishShape::Cylindrical, 60.0).unwrap(), 0.125 * 0.25, 1e-12);
}

#[test]
fn shear_lag_by_hand() {
    // a narrow strip goes along whole; tanh(1)/1 at X = 1
    close(lag_width_mm(1.0, 1000.0, 10.0, 1.0).unwrap(), 1.0, 1e-4);
    let b = 2.0 * 400.0 / std::f64::consts::PI / 4.0;
    close(lag_width_mm(b, 400.0, 16.0, 1.0).unwrap(), b * 0.761_594_155_955_765, 1e-12);
    assert_eq!(BEF_LIMITS.map(|l| l.1), [0.1, 0.1, 0.15, 0.2]);
}

/// A brace with its arch cut to the dish brings no moment; a flat one brings EI times the dish's curvature and springs back by
/// EI over EI (the brief, 3.3, which leaves out the top's own).
#[test]
fn a_sprung_brace() {
    let s = strip(15.0);
    let out = s.sprung(7620.0, DishShape::Spherical, 0.0, None).unwrap();
    let ei = 11.5e3 * 8.0 * 15.0_f64.powi(3) / 12.0 * 1e-6;
    close(out.locked_n_m[40], ei / 7.62, 1e-9);
    let section = s.section(&[200.0], Some(s.lag_width_mm().unwrap())).unwrap();
    let plate = 1450.0 * s.lag_width_mm().unwrap() * 2.8_f64.powi(3) / 12.0 * 1e-6;
    close(1.0 / 7.62 - out.left_per_m[40], (ei + plate) / section.ei_n_m2[0] / 7.62, 1e-9);
    close(out.dish_rise_mm, 400.0 * 400.0 / 8.0 / 7620.0, 1e-3);
    let arched = s.with_brace(&s.brace().with_profile(&s.brace().profile().with_arch(7620.0).unwrap()).unwrap()).unwrap();
    assert!(arched.sprung(7620.0, DishShape::Spherical, 0.0, None).unwrap().locked_n_m[40].abs() < 1e-12);
}
