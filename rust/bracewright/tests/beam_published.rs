//! The section beam against closed forms and frequency tables: every row of `data/beam_rows.csv` (id, value, tolerance,
//! source and standing as collected for the project), each to its own tolerance; the classic Timoshenko rows to 1e-6.
#![allow(clippy::unwrap_used, clippy::panic)]

use bracewright::mechanics::section_beam::{Flexibility, Inertia, Load, Support, vibrations};

struct Row {
    id: String,
    inputs: String,
    value: f64,
    tolerance: f64,
    standing: String,
}

fn rows(prefix: &str) -> Vec<Row> {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/data/beam_rows.csv");
    let mut out = Vec::new();
    for r in csv::Reader::from_path(path).unwrap().records() {
        let r = r.unwrap();
        if r[0].starts_with(prefix) {
            let (value, tolerance) = (r[3].parse().unwrap(), r[4].parse().unwrap());
            out.push(Row { id: r[0].into(), inputs: r[2].into(), value, tolerance, standing: r[6].into() });
        }
    }
    assert!(!out.is_empty(), "no rows of {prefix}");
    out
}

fn hold(row: &Row, got: f64, tolerance: f64) {
    let far = (got / row.value - 1.0).abs();
    // a row printed to fewer digits than its tolerance asks for is held to its last digit
    assert!(far <= tolerance.max(1e-12), "{} ({}): {got} against {}, {far:e} off", row.id, row.standing, row.value);
}

/// Deflection at `at` of a beam on [0, 1] with flexibilities `f(x) = (1/EI, 1/GA)`.
fn deflection(kinks: &[f64], f: impl Fn(f64) -> (f64, f64), loads: &[Load], supports: &[Support], at: f64) -> f64 {
    let breaks = Flexibility::breaks_for(kinks, loads, supports, &[at]);
    let flex = Flexibility::new(breaks, 40, |x, _| f(x));
    let s = flex.solve(loads, supports).unwrap();
    flex.deflection(&s, at)
}

const SS: [Support; 2] = [Support::Rest { x: 0.0, compliance: 0.0 }, Support::Rest { x: 1.0, compliance: 0.0 }];
const CC: [Support; 2] = [Support::Clamp { x: 0.0 }, Support::Clamp { x: 1.0 }];
const ROOT: [Support; 1] = [Support::Clamp { x: 0.0 }];

#[test]
fn deflection_coefficients_of_the_handbook() {
    let all = [Load::spread(0.0, 1.0, 1.0)];
    let mid = [Load::point(0.5, 1.0)];
    let quarters = [Load::point(0.25, 0.5), Load::point(0.75, 0.5)];
    let tip = [Load::point(1.0, 1.0)];
    for row in rows("B-T91-").iter().chain(&rows("B-QP-CL")) {
        let (loads, supports, at): (&[Load], &[Support], f64) = match row.id.rsplit('-').next().unwrap() {
            "UDL_SS_midspan" => (&all, &SS, 0.5),
            "UDL_clamped_midspan" => (&all, &CC, 0.5),
            "mid_load_SS" => (&mid, &SS, 0.5),
            "mid_load_clamped" => (&mid, &CC, 0.5),
            "quarter_loads_SS_midspan" => (&quarters, &SS, 0.5),
            "quarter_loads_SS_at_load" => (&quarters, &SS, 0.25),
            "UDL_cantilever_tip" => (&all, &ROOT, 1.0),
            "end_load_cantilever_tip" => (&tip, &ROOT, 1.0),
            "mid" => (&quarters, &CC, 0.5),
            "load" => (&quarters, &CC, 0.25),
            other => panic!("{other}"),
        };
        let bend = deflection(&[0.0, 1.0], |_| (1.0, 0.0), loads, supports, at);
        let both = deflection(&[0.0, 1.0], |_| (1.0, 1.0), loads, supports, at);
        let got = if row.id.contains("-ks-") { both - bend } else { bend };
        // the table is printed to 15 decimals of a number of the order of 0.01
        hold(row, got, row.tolerance);
    }
}

#[test]
fn tapered_beams_at_rest() {
    for row in rows("B-STAT-").iter().chain(&rows("B-ROARK3")) {
        let number = || row.id.rsplit('-').next().unwrap().parse::<f64>().unwrap();
        let cube = |h: f64| (1.0 / (h * h * h), 0.0);
        let (point, spread) = (Load::point(0.5, 1.0), Load::spread(0.0, 1.0, 1.0));
        let got = if row.id.starts_with("B-STAT-CANT-") {
            let c = number();
            let f = |x: f64| cube(1.0 - (1.0 - c) * x);
            if row.id.contains("-P-") {
                3.0 * deflection(&[0.0, 1.0], f, &[Load::point(1.0, 1.0)], &ROOT, 1.0)
            } else {
                8.0 * deflection(&[0.0, 1.0], f, &[spread], &ROOT, 1.0)
            }
        } else if row.id.starts_with("B-STAT-DT-") {
            let c = number();
            let f = |x: f64| cube(1.0 - (1.0 - c) * (2.0 * x - 1.0).abs());
            let (load, k) = if row.id.contains("-P-") { (point, 48.0) } else { (spread, 384.0 / 5.0) };
            k * deflection(&[0.0, 0.5, 1.0], f, &[load], &SS, 0.5)
        } else if row.id.starts_with("B-STAT-PB-") {
            let c = number();
            let f = |x: f64| cube(c + (1.0 - c) * (1.0 - (2.0 * x - 1.0).powi(2)));
            let (load, k) = if row.id.contains("-P-") { (point, 48.0) } else { (spread, 384.0 / 5.0) };
            k * deflection(&[0.0, 0.5, 1.0], f, &[load], &SS, 0.5)
        } else if row.id == "B-STAT-US" {
            // h ~ sqrt of the distance from the tip: 1/EI has a root at the tip, so the intervals shrink towards it
            let kinks: Vec<f64> = std::iter::once(0.0).chain((1..40).map(|k| 1.0 - 0.5f64.powi(k))).chain([1.0]).collect();
            3.0 * deflection(&kinks, |x| ((1.0 - x).powf(-1.5), 0.0), &[Load::point(1.0, 1.0)], &ROOT, 1.0)
        } else if row.id == "B-STAT-STEPC" {
            let f = |x: f64| (if x < 0.5 { 0.5 } else { 1.0 }, 0.0);
            3.0 * deflection(&[0.0, 0.5, 1.0], f, &[Load::point(1.0, 1.0)], &ROOT, 1.0)
        } else if row.id == "B-STAT-STEPS" {
            let f = |x: f64| (if (0.25..0.75).contains(&x) { 0.5 } else { 1.0 }, 0.0);
            deflection(&[0.0, 0.25, 0.75, 1.0], f, &[point], &SS, 0.5)
        } else {
            let k = number().cbrt() - 1.0;
            // A free and loaded at x = 0, B fixed at 1
            3.0 * deflection(&[0.0, 1.0], |x| cube(1.0 + k * x), &[Load::point(0.0, 1.0)], &[Support::Clamp { x: 1.0 }], 0.0)
        };
        hold(row, got, row.tolerance);
    }
}

/// omega^2 of mode n (1 first) of a beam on [0, 1] of height and width h(x), b(x), in units of the reference section.
fn omega(
    kinks: &[f64],
    degree: usize,
    h: impl Fn(f64) -> f64,
    b: impl Fn(f64) -> f64,
    supports: &[Support],
    lumps: &[(f64, f64)],
    n: usize,
) -> f64 {
    let f = |x: f64, _: f64| Inertia { bend: b(x) * h(x).powi(3), shear: 0.0, mass: b(x) * h(x), rotary: 0.0 };
    vibrations(kinks, degree, false, f, supports, lumps, n).unwrap()[n - 1].sqrt()
}

fn last(id: &str) -> usize {
    id.rsplit('-').next().unwrap().parse().unwrap()
}

fn supports(word: &str) -> Vec<Support> {
    match word {
        "FF" | "FF_CC" => vec![],
        "CF" => vec![Support::Clamp { x: 0.0 }],
        "FC" => vec![Support::Clamp { x: 1.0 }],
        "CC" => CC.to_vec(),
        "SS" => SS.to_vec(),
        "CP_FP" => vec![Support::Clamp { x: 0.0 }, Support::rest(1.0)],
        other => panic!("{other}"),
    }
}

#[test]
fn uniform_beams_and_tip_masses() {
    for row in rows("B-UNI-") {
        let word = row.id.split('-').nth(2).unwrap();
        let n = last(&row.id);
        for s in if word == "FF_CC" { vec![vec![], CC.to_vec()] } else { vec![supports(word)] } {
            hold(&row, omega(&[0.0, 0.5, 1.0], 14, |_| 1.0, |_| 1.0, &s, &[], n).sqrt(), row.tolerance);
        }
    }
    for row in rows("B-TIPMASS-") {
        let m: f64 = row.id.trim_start_matches("B-TIPMASS-").parse().unwrap();
        hold(&row, omega(&[0.0, 1.0], 12, |_| 1.0, |_| 1.0, &ROOT, &[(1.0, m)], 1), row.tolerance);
    }
}

#[test]
fn wedges_and_cones() {
    for row in rows("B-WEDGE-").iter().chain(&rows("B-CONE-")) {
        let parts: Vec<&str> = row.id.split('-').collect();
        let (bc, c, n): (&str, f64, usize) = (parts[2], parts[3].parse().unwrap(), last(&row.id));
        let h = |x: f64| 1.0 - (1.0 - c) * x;
        let cone = row.id.contains("CONE");
        let got = omega(&[0.0, 0.5, 0.8, 1.0], 9, h, |x| if cone { h(x) } else { 1.0 }, &supports(bc), &[], n);
        hold(row, got, row.tolerance);
    }
    for row in rows("B-SDLL09-") {
        let b: f64 = if row.id.contains("-45-") { 5.0 } else { 4.0 };
        assert!(row.inputs.contains("h0/h1=4"));
        let (h, w) = (|x: f64| 4.0 - 3.0 * x, |x: f64| b - (b - 1.0) * x);
        hold(&row, omega(&[0.0, 0.5, 1.0], 12, h, w, &ROOT, &[], last(&row.id)), row.tolerance);
    }
}

#[test]
fn free_tapers_and_parabolas() {
    for row in rows("B-DTAPER-").iter().chain(&rows("B-PARAB-")) {
        let parabola = row.id.contains("PARAB");
        let h = |x: f64| {
            let s = 2.0 * x - 1.0;
            if parabola { 0.5 + 0.5 * (1.0 - s * s) } else { 1.0 - 0.5 * s.abs() }
        };
        hold(row, omega(&[0.0, 0.25, 0.5, 0.75, 1.0], 9, h, |_| 1.0, &[], &[], last(&row.id)), row.tolerance);
    }
}

#[test]
fn timoshenko_beams() {
    for row in rows("B-TIMO-") {
        let parts: Vec<&str> = row.id.split('-').collect();
        let (bc, r): (&str, f64) = (parts[2], parts[3].parse().unwrap());
        // EI = 1, rho A = 1; nu = 0.3, kappa = 5/6: G = E / 2.6
        let i_over_a = r * r / 12.0;
        let shear = 5.0 / 6.0 / (2.6 * i_over_a);
        let f = |_: f64, _: f64| Inertia { bend: 1.0, shear, mass: 1.0, rotary: i_over_a };
        let n = last(&row.id);
        let got = vibrations(&[0.0, 0.5, 1.0], 12, true, f, &supports(bc), &[], n).unwrap()[n - 1].sqrt().sqrt();
        hold(&row, got, 1e-6);
    }
}
