//! Laws of roving taps and of universal files: what is written is read back, damage is said in a sentence and never breaks
//! anything, plate shapes are told apart, and the pictures are whole.

#![allow(clippy::unwrap_used)]

use std::f64::consts::PI;

use bracewright::picture::mode_shapes_svg;
use bracewright::roving::{
    Estimator, FrfSet, Moving, Response, RovingModes, RovingOptions, ShapeMode, frf, mac, roving_decays, roving_frfs,
};
use bracewright::universal::{
    FunctionKind, Universal, UniversalFunction, UniversalNode, axis, frf_set, read_universal, write_universal,
    write_universal_binary,
};
use proptest::prelude::*;

fn function(at: Vec<f64>, re: Vec<f64>, im: Vec<f64>) -> UniversalFunction {
    UniversalFunction {
        kind: if im.is_empty() { FunctionKind::TimeResponse } else { FunctionKind::FrequencyResponse },
        title: "invented".into(),
        response_node: 1,
        response_direction: 3,
        reference_node: 7,
        reference_direction: -3,
        abscissa_kind: if im.is_empty() { axis::TIME } else { axis::FREQUENCY },
        abscissa: at,
        re,
        im,
        ordinate_kind: axis::ACCELERATION,
        denominator_kind: axis::FORCE,
    }
}

fn file(functions: Vec<UniversalFunction>) -> Universal {
    let nodes = (0..4).map(|k| UniversalNode { node: 7 + k, x_mm: 12.5 * k as f64, y_mm: 3.0, z_mm: 0.0 }).collect();
    Universal { functions, nodes, units: None, words: Vec::new() }
}

fn close(a: &[f64], b: &[f64], relative: f64) -> bool {
    let size = a.iter().fold(0.0_f64, |m, v| m.max(v.abs()));
    a.len() == b.len() && a.iter().zip(b).all(|(a, b)| (a - b).abs() <= relative * size.max(1e-90))
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn what_is_written_is_read(
        values in prop::collection::vec((-1e9..1e9_f64, -1e-9..1e-9_f64), 1..40), start in 0.0..50.0_f64, step in 1e-5..5.0_f64,
        complex in any::<bool>(), uneven in any::<bool>(),
    ) {
        let bend = |k: f64| if uneven { 0.3 * k * k } else { 0.0 };
        let at: Vec<f64> = (0..values.len()).map(|k| start + step * (k as f64 + bend(k as f64))).collect();
        let im = if complex { values.iter().map(|v| v.1).collect() } else { Vec::new() };
        let made = file(vec![function(at.clone(), values.iter().map(|v| v.0).collect(), im)]);
        let text = write_universal(&made).unwrap();
        prop_assert!(text.lines().all(|l| l.len() <= 80), "{text}");
        for bytes in [text.into_bytes(), write_universal_binary(&made).unwrap()] {
            let read = read_universal("made", &bytes).unwrap();
            let (f, g) = (&read.functions[0], &made.functions[0]);
            prop_assert!(close(&g.re, &f.re, 1e-11) && close(&g.im, &f.im, 1e-11));
            // the abscissa is written to six digits
            prop_assert!(close(&g.abscissa, &f.abscissa, 2e-5));
            prop_assert_eq!(
                (f.kind, f.response_node, f.response_direction, f.reference_node, f.reference_direction, f.ordinate_kind, f.denominator_kind),
                (g.kind, 1, 3, 7, -3, axis::ACCELERATION, axis::FORCE)
            );
            prop_assert!(close(&[read.nodes[3].x_mm], &[37.5], 1e-5));
            prop_assert_eq!(read.units.unwrap().code, 1);
        }
    }

    /// Any cut, any byte changed: a value or a sentence, never a panic, and a cut inside a dataset is always seen.
    #[test]
    fn damaged_files_get_a_sentence(cut in 0..5000_usize, at in 0..5000_usize, byte in any::<u8>(), binary in any::<bool>()) {
        let rows: Vec<f64> = (0..30).map(f64::from).collect();
        let made = file(vec![function(rows.clone(), rows.clone(), rows.iter().map(|v| -v).collect())]);
        let bytes = if binary { write_universal_binary(&made).unwrap() } else { write_universal(&made).unwrap().into_bytes() };
        let short = &bytes[..cut % bytes.len()];
        match read_universal("cut.uff", short) {
            Ok(_) => prop_assert!(short.trim_ascii_end().ends_with(b"-1"), "{}", short.len()),
            Err(e) => prop_assert!(e.to_string().starts_with("cut.uff, line "), "{e}"),
        }
        let mut changed = bytes.clone();
        let at = at % changed.len();
        changed[at] = byte;
        if let Err(e) = read_universal("changed.uff", &changed) {
            prop_assert!(e.to_string().starts_with("changed.uff, line "), "{e}");
        }
    }

    #[test]
    fn mac_minds_neither_scale_nor_sign(shape in prop::collection::vec(-1.0..1.0_f64, 2..20), scale in 0.1..1e6_f64) {
        prop_assume!(shape.iter().any(|v| v.abs() > 0.01));
        let other: Vec<f64> = shape.iter().map(|v| -scale * v).collect();
        prop_assert!((mac(&shape, &other).unwrap() - 1.0).abs() < 1e-12);
    }
}

#[test]
fn foreign_files_and_false_claims_get_a_sentence() {
    let said = |bytes: &[u8], words: &[&str]| {
        let e = read_universal("x.uff", bytes).unwrap_err().to_string();
        words.iter().for_each(|w| assert!(e.contains(w), "{e} lacks {w}"));
    };
    said(b"", &["empty"]);
    said(b"RIFF....WAVE", &["no universal file"]);
    said(b"hertz;value\n1;2\n", &["no universal file", "line 1"]);
    said(b"    -1\n", &["cut short"]);
    said(b"    -1\n   151\nsome\n", &["151", "cut short"]);
    said(&vec![b'x'; 4000], &["longer than 400"]);
    let rows: Vec<f64> = (0..30).map(f64::from).collect();
    let good = write_universal(&file(vec![function(rows.clone(), rows.clone(), rows.clone())])).unwrap();
    let with = |from: &str, to: &str| {
        assert!(good.contains(from), "{from}");
        good.replacen(from, to, 1).into_bytes()
    };
    // a billion values are claimed: nothing is set aside for them
    said(&with("         6        30", "         6 999999999"), &["number of data is 999999999", "from 1 to"]);
    said(&with("         6        30", "         6  19999999"), &["claims 39999998 values but holds 60"]);
    said(&with("         6        30", "         6        29"), &["more than the 58 values"]);
    said(&with("         6        30", "         9        30"), &["ordinate data type is 9"]);
    said(&with("2.90000000000E+01", "2.9000000000nE+01"), &["is no number"]);
    said(&with("2.90000000000E+01", "2.90000000000E999"), &["finite"]);
    let binary = write_universal_binary(&file(vec![function(rows.clone(), rows.clone(), rows)])).unwrap();
    let text = String::from_utf8_lossy(&binary[..600]).into_owned();
    let at = text.find("         480").unwrap();
    let mut claims = binary.clone();
    claims[at..at + 12].copy_from_slice(b"   999999999");
    // a false claim is seen through where the data end as they should, and said where they do not
    assert_eq!(read_universal("x.uff", &claims).unwrap().functions[0].re.len(), 30);
    said(&claims[..claims.len() - 9], &["claims 999999999 bytes"]);
    said(&binary[..binary.len() - 100], &["bytes", "cut short"]);
    // a file that holds no response
    let e = frf_set(&Universal::default()).unwrap_err().to_string();
    assert!(e.contains("no complex frequency response"));
}

/// A plate-like grid with invented shapes, through a file and back: points, driving point and shapes hold.
fn plate() -> (Universal, Vec<(f64, f64)>) {
    let mut nodes = Vec::new();
    let mut functions = Vec::new();
    let hz: Vec<f64> = (40..=1200).map(|k| 0.25 * f64::from(k)).collect();
    let bend = |k: usize, x: f64, y: f64| match k {
        0 => (2.0 * x - 1.0) * (2.0 * y - 1.0),
        1 => 1.0 - 2.0 * (PI * x).sin(),
        _ => 1.0 - 2.0 * (PI * y).sin(),
    };
    for i in 0..6 {
        for j in 0..5 {
            let (x, y) = (f64::from(i) / 5.0, f64::from(j) / 4.0);
            let node = i64::from(i * 5 + j + 1);
            nodes.push(UniversalNode { node, x_mm: 500.0 * x, y_mm: 400.0 * y, z_mm: 0.0 });
            let mut f = function(hz.clone(), Vec::new(), Vec::new());
            f.kind = FunctionKind::FrequencyResponse;
            (f.response_node, f.reference_node, f.response_direction, f.reference_direction) = (1, node, 3, 3);
            for h in &hz {
                let w = 2.0 * PI * h;
                let (mut re, mut im) = (0.0, 0.0);
                for (k, f0) in [84.0, 121.0, 178.0].into_iter().enumerate() {
                    let w0 = 2.0 * PI * f0;
                    let top = bend(k, x, y) * bend(k, 0.0, 0.0) / 0.06;
                    let (a, b) = (w0 * w0 - w * w, 0.02 * w0 * w);
                    re -= w * w * top * a / (a * a + b * b);
                    im += w * w * top * b / (a * a + b * b);
                }
                f.re.push(re);
                f.im.push(im);
            }
            f.abscissa_kind = axis::FREQUENCY;
            functions.push(f);
        }
    }
    let points = nodes.iter().map(|n| (n.x_mm, n.y_mm)).collect();
    (Universal { functions, nodes, units: None, words: Vec::new() }, points)
}

#[test]
fn a_plate_through_a_file() {
    let (made, points) = plate();
    let read = read_universal("plate.uff", write_universal(&made).unwrap().as_bytes()).unwrap();
    let set = frf_set(&read).unwrap();
    assert_eq!((set.points_mm.len(), set.driving, set.calibrated, set.response), (30, Some(0), true, Response::Accelerance));
    assert!(set.points_mm.iter().zip(&points).all(|(a, b)| (a.0 - b.0).abs() < 1e-2 && (a.1 - b.1).abs() < 1e-2));
    let found = roving_frfs(&set, &RovingOptions { low_hz: 50.0, high_hz: 290.0, most: 6 }).unwrap();
    let hz: Vec<f64> = found.modes.iter().map(|m| m.frequency_hz).collect();
    assert_eq!(hz.len(), 3, "{hz:?}");
    for (got, want) in hz.iter().zip([84.0, 121.0, 178.0]) {
        assert!((got - want * (1.0_f64 - 1e-4).sqrt()).abs() < 0.02, "{got} {want}");
    }
    assert!(found.modes.iter().all(|m| (m.modal_mass_g.unwrap() / 60.0 - 1.0).abs() < 0.01));
    let same = found.mac_with(&found).unwrap();
    assert!((0..3).all(|i| (same[i][i] - 1.0).abs() < 1e-9) && same[0][1] < 0.05);
    let svg = mode_shapes_svg("Invented plate", &found).unwrap();
    assert!(svg.starts_with("<svg") && svg.contains("modal mass") && !svg.contains("NaN"));
    if let Ok(folder) = std::env::var("BRACEWRIGHT_PICTURES") {
        std::fs::write(format!("{folder}/plate_shapes.svg"), svg).unwrap();
    }
}

#[test]
fn pictures_of_sticks_are_whole() {
    let n = 11;
    let points: Vec<(f64, f64)> = (0..n).map(|i| (42.0 * i as f64, 0.0)).collect();
    let mode = |k: usize| ShapeMode {
        frequency_hz: 90.0 * (k + 1) as f64,
        u_frequency_hz: 0.1,
        decay_per_s: 4.0,
        u_decay_per_s: 0.1,
        shape: (0..n).map(|i| ((k + 2) as f64 * PI * i as f64 / (n - 1) as f64).cos()).collect(),
        u_shape: vec![0.06; n],
        imaginary: vec![0.0; n],
        collinearity: if k == 1 { 0.7 } else { 1.0 },
        seen_at: n,
        modal_mass_g: (k == 0).then_some(6.2),
        u_modal_mass_g: None,
    };
    let found = RovingModes { points_mm: points, modes: (0..3).map(mode).collect(), words: vec!["invented".into()] };
    let svg = mode_shapes_svg("Invented stick", &found).unwrap();
    assert!(svg.contains("collinearity 0.70") && svg.contains("place along the line"));
    if let Ok(folder) = std::env::var("BRACEWRIGHT_PICTURES") {
        std::fs::write(format!("{folder}/stick_shapes.svg"), svg).unwrap();
    }
    let none = RovingModes { modes: Vec::new(), ..found };
    assert!(mode_shapes_svg("x", &none).is_err());
}

#[test]
fn what_is_wrong_is_said() {
    let said =
        |e: bracewright::Error, words: &[&str]| words.iter().for_each(|w| assert!(e.to_string().contains(w), "{e} lacks {w}"));
    let o = RovingOptions::default();
    let quiet = vec![vec![vec![0.0; 4000]]];
    said(roving_decays(&[(0.0, 0.0)], 4000.0, &quiet, None, Moving::Tap, &o).unwrap_err(), &["silent"]);
    said(roving_decays(&[], 4000.0, &[], None, Moving::Tap, &o).unwrap_err(), &["points_mm"]);
    said(roving_decays(&[(0.0, 0.0)], 4000.0, &[vec![]], None, Moving::Tap, &o).unwrap_err(), &["samples[0]", "no tap"]);
    said(roving_decays(&[(0.0, 0.0)], 1000.0, &quiet, None, Moving::Tap, &o).unwrap_err(), &["high_hz"]);
    let short = vec![vec![vec![0.1, 0.2, 0.1]]];
    said(roving_decays(&[(0.0, 0.0)], 4000.0, &short, None, Moving::Tap, &o).unwrap_err(), &["at least"]);
    let blow = vec![1.0; 100];
    said(frf(4000.0, std::slice::from_ref(&blow), &[], Estimator::H1, 500.0).unwrap_err(), &["force_n", "response"]);
    said(frf(4000.0, std::slice::from_ref(&blow), std::slice::from_ref(&blow), Estimator::H1, 500.0).unwrap_err(), &["silent"]);
    let (made, _) = plate();
    let set = frf_set(&made).unwrap();
    said(roving_frfs(&set, &o).unwrap_err(), &["high_hz is 1000 Hz"]);
    let bad = FrfSet { hz: set.hz.iter().map(|h| h * h).collect(), ..set.clone() };
    said(roving_frfs(&bad, &RovingOptions { high_hz: 290.0, ..o.clone() }).unwrap_err(), &["hz", "evenly"]);
    let bad = FrfSet { driving: Some(99), ..set };
    said(roving_frfs(&bad, &RovingOptions { high_hz: 290.0, ..o }).unwrap_err(), &["driving"]);
    said(mac(&[0.0, 0.0], &[1.0, 1.0]).unwrap_err(), &["first", "0 everywhere"]);
}
