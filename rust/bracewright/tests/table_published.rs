//! Unit conversions against their definitions.
//!
//! Source: NIST SP 811 (2008), appendix B.8 and B.9. Standing: the factors printed there in bold are exact by definition (inch, foot,
//! avoirdupois pound, standard gravity, pound-force as pound times gravity); the six-figure rows (psi, lb/ft3) are from memory and
//! recomputed with scipy.constants 1.x.

#![allow(clippy::unwrap_used)]

use bracewright::units::*;

fn close(found: f64, expected: f64, relative: f64) {
    assert!((found - expected).abs() <= relative * expected.abs(), "found {found}, expected {expected}");
}

#[test]
fn exact_by_definition() {
    for (text, expected_mm) in
        [("1 in", 25.4), ("1 ft", 304.8), ("1 cm", 10.0), ("1 m", 1000.0), ("64/64 in", 25.4), ("1000 um", 1.0)]
    {
        close(parse_length_mm(text, None).unwrap(), expected_mm, 1e-15);
    }
    for (text, expected_g) in [("1 lb", 453.59237), ("1 oz", 28.349523125), ("1 kg", 1000.0), ("1 lb 1 oz", 481.941893125)] {
        close(parse_mass_g(text, None).unwrap(), expected_g, 1e-15);
    }
    for (text, expected_n) in
        [("1 lbf", 4.4482216152605), ("1 lb", 4.4482216152605), ("1 kgf", 9.80665), ("1 kg", 9.80665), ("1000 g", 9.80665)]
    {
        close(parse_force_n(text, None).unwrap(), expected_n, 1e-15);
    }
    // B.9: t/C = (t/F - 32)/1.8.
    for (text, expected_c) in [("212 F", 100.0), ("-40 °F", -40.0), ("72 F", 40.0 / 1.8), ("21 °C", 21.0)] {
        close(parse_temperature_c(text, None).unwrap(), expected_c, 1e-15);
    }
    assert_eq!(parse_temperature_c("32 F", None).unwrap(), 0.0);
}

#[test]
fn six_figure_rows() {
    // "pound-force per square inch (psi)": 6.894 757 E+03 Pa; kip per square inch: 6.894 757 E+06 Pa.
    close(parse_modulus_gpa("1000 psi", None).unwrap(), 6.894757e-3, 5e-7);
    close(parse_modulus_gpa("1 Mpsi", None).unwrap(), 6.894757, 5e-7);
    close(parse_stress_mpa("1 ksi", None).unwrap(), 6.894757, 5e-7);
    // "pound per cubic foot": 1.601 846 E+01 kg/m3.
    close(parse_density_kg_m3("1 lb/ft3", None).unwrap(), 16.01846, 5e-7);
    // scipy.constants: psi = 6894.757293168361, pound/foot**3 = 16.018463373960145.
    close(parse_modulus_gpa("1 psi", None).unwrap(), 6894.757293168361e-9, 1e-14);
    close(parse_density_kg_m3("1 lb/ft³", None).unwrap(), 16.018463373960145, 1e-14);
    close(parse_angle_deg("1 rad", None).unwrap(), 57.29577951308232, 1e-15);
}

#[test]
fn words_of_refusal() {
    let said = |text: &str| parse_length_mm(text, None).unwrap_err().to_string();
    assert_eq!(said("12"), "length \"12\" has no unit; write it with one of: mm, cm, m, um, in, ft, thou");
    assert_eq!(
        said("2 furlong"),
        "length \"2 furlong\" has the unit \"furlong\"; it must be one of: mm, cm, m, um, in, ft, thou"
    );
    assert_eq!(said("1,250 mm"), "length \"1,250 mm\" can be read as 1250 or as 1.250; write it one of these ways");
    assert!(said("1.234,5 mm").contains("more than one way"));
    assert!(said("nan mm").contains("not a finite number"));
    assert!(said("1e999 mm").contains("not a finite number"));
    assert!(said("1/0 in").contains("not a finite number"));
    assert!(said("1e308 m").contains("too large"));
    assert!(said("").contains("not a number"));
    assert!(said("2 kg").contains("unit \"kg\""));
    assert!(parse_length_mm("12", Some("stone")).unwrap_err().to_string().contains("default unit of length"));
    assert_eq!(parse_length_mm("12", Some("mm")).unwrap(), 12.0);
    assert_eq!(parse_length_mm("1/2", Some("in")).unwrap(), 12.7);
    let far = inches_64(f64::NAN, Rounding::Nearest).unwrap_err().to_string();
    assert_eq!(far, "length_mm is NaN mm; it must be from -1000000 to 1000000 mm");
}

#[test]
fn sixty_fourths() {
    // Closed form: 5/16 in = 7.9375 mm, 1 3/64 in = 26.590625 mm.
    for (mm, text) in [(0.0, "0"), (7.9375, "5/16"), (26.590625, "1 3/64"), (25.4, "1"), (-6.35, "-1/4"), (25.3, "1"), (0.1, "0")]
    {
        assert_eq!(format_inches_64(mm).unwrap(), text);
    }
    let up = inches_64(7.94, Rounding::Up).unwrap();
    assert_eq!((up.text.as_str(), up.value_mm), ("21/64", 8.334375));
    close(up.error_mm, 0.394375, 1e-9);
    assert_eq!(inches_64(7.9375, Rounding::Up).unwrap().text, "5/16");
    assert_eq!(inches_64(0.1, Rounding::Up).unwrap().text, "1/64");
}
