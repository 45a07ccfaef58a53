//! Sections against printed figures.
//!
//! Source: project brief, section 3.5 (closed forms from elementary integrals, checked there by quadrature) and 3.4
//! (half-laps). Standing: recomputed. Tolerance: half a unit of the last digit printed.

#![allow(clippy::type_complexity, clippy::unwrap_used)]

use bracewright::mechanics::pieces::Pieces;
use bracewright::mechanics::solid::{Notch, Outline, Solid};
use bracewright::{CapRise, Section, SectionNumbers};

fn printed(name: &str, found: f64, expected: f64, digit: f64) {
    assert!((found - expected).abs() <= 0.5 * digit * (1.0 + 1e-9), "{name}: found {found}, the brief prints {expected}");
}

/// b = 8, h = 15, c = 5.
fn numbers(s: Section) -> SectionNumbers {
    s.numbers(15.0, 8.0).unwrap()
}

#[test]
fn check_values_of_the_families() {
    let five = CapRise::Mm(5.0);
    let whole = CapRise::OfHeight(1.0);
    // area and its digit, centroid and its digit, I and its digit, I / I_rect and its digit, mass ratio
    let cases: [(&str, Section, [(f64, f64); 5]); 7] = [
        ("rectangle", Section::rectangle(), [(120.0, 1e-9), (7.5, 1e-9), (2250.0, 1e-9), (1.0, 1e-9), (1.0, 1e-9)]),
        (
            "ellipse cap",
            Section::rounded_cap(five).unwrap(),
            [(111.42, 0.01), (7.008, 0.001), (1865.75, 0.01), (0.829, 0.001), (0.93, 0.01)],
        ),
        (
            "parabolic cap",
            Section::parabolic_cap(five).unwrap(),
            [(106.67, 0.01), (6.75, 0.01), (1692.38, 0.01), (0.752, 0.001), (0.89, 0.01)],
        ),
        (
            "triangular cap",
            Section::triangular_cap(five).unwrap(),
            [(100.0, 1e-9), (6.333, 0.001), (1405.56, 0.01), (0.625, 0.001), (0.83, 0.01)],
        ),
        (
            "sides 8 to 5",
            Section::tapered_sides(5.0).unwrap(),
            [(97.5, 0.1), (6.923, 0.001), (1795.67, 0.01), (0.798, 0.001), (0.81, 0.01)],
        ),
        (
            "full triangle",
            Section::triangular_cap(whole).unwrap(),
            [(60.0, 1e-9), (5.0, 1e-9), (750.0, 1e-9), (0.333, 0.001), (0.5, 0.1)],
        ),
        (
            "full half-ellipse",
            Section::rounded_cap(whole).unwrap(),
            [(94.25, 0.01), (6.366, 0.001), (1482.0, 1.0), (0.659, 0.001), (0.79, 0.01)],
        ),
    ];
    for (name, section, [a, y, i, ratio, mass]) in cases {
        let n = numbers(section);
        printed(name, n.area_mm2, a.0, a.1);
        printed(name, n.centroid_mm, y.0, y.1);
        printed(name, n.i_centroid_mm4, i.0, i.1);
        printed(name, n.i_centroid_mm4 / 2250.0, ratio.0, ratio.1);
        printed(name, n.area_mm2 / 120.0, mass.0, mass.1);
    }
}

/// A = b c / (p + 1), ybar = c / (p + 2), I = b c^3 / ((p + 2)^2 (p + 3)) for the general family over its whole height.
#[test]
fn master_family() {
    for p in [0.25, 0.5, 1.0, 1.5, 2.0, 3.7, 8.0] {
        let n = Section::power_cap(p, CapRise::OfHeight(1.0)).unwrap().numbers(13.0, 7.0).unwrap();
        let close =
            |found: f64, expected: f64| assert!((found / expected - 1.0).abs() < 1e-12, "p = {p}: {found} for {expected}");
        close(n.area_mm2, 7.0 * 13.0 / (p + 1.0));
        close(n.centroid_mm, 13.0 / (p + 2.0));
        close(n.i_centroid_mm4, 7.0 * 13.0_f64.powi(3) / ((p + 2.0).powi(2) * (p + 3.0)));
    }
}

/// Relative EI of a half-lap, h = 16, E_b 11.9, E_R 0.9 GPa: open 0.125; glued 0.24; with a wooden cap of 2.5 mm 1.16.
#[test]
fn half_laps() {
    let ei = |filled: bool, strip: f64| {
        let mut solid = Solid::plain(Pieces::constant(0.0, 100.0, 16.0), 8.0, Outline::Sides(1.0));
        solid.filler_ratio = 0.9 / 11.9;
        solid.notches.push(Notch { start: 40.0, end: 60.0, low: 8.0, high: f64::INFINITY, filled, strip });
        solid.moments(50.0, 50.0, true).about_centroid() / (8.0 * 16.0_f64.powi(3) / 12.0)
    };
    printed("open", ei(false, 0.0), 0.125, 1e-9);
    printed("glued", ei(true, 0.0), 0.24, 0.01);
    printed("glued, with a cap", ei(true, 2.5), 1.16, 0.01);
}
