//! The plate against published and recomputed figures. Rows are those of `data/plate_rows.csv`, ids and standings kept.
//!
//! Thin-plate rows are solved without shear strains: the classical (Kirchhoff) plate exactly, no stiff limit.

#![allow(clippy::unwrap_used, clippy::panic)]

use bracewright::mechanics::plate::{Edge, Grid, Label, Outline, Plate, PlateLaw, PlateMode, PlateOptions};

struct Row {
    id: String,
    value: f64,
    tol: f64,
    status: String,
}

fn rows(prefix: &str) -> Vec<Row> {
    let mut reader = csv::Reader::from_reader(include_str!("data/plate_rows.csv").as_bytes());
    let all = reader.records().map(|r| {
        let r = r.unwrap();
        Row { id: r[0].into(), value: r[3].parse().unwrap(), tol: r[4].parse().unwrap(), status: r[6].into() }
    });
    let out: Vec<Row> = all.filter(|r| r.id.starts_with(prefix)).collect();
    assert!(!out.is_empty(), "no rows {prefix}");
    out
}

const THIN: PlateOptions = PlateOptions { degree: 16, shear_degrees: None, oblique: false };

/// The mode number a row's id ends in.
fn mode_of(row: &Row) -> usize {
    row.id.rsplit('-').next().unwrap().parse::<usize>().unwrap()
}

fn edges(letters: &str) -> [Edge; 4] {
    let e: Vec<Edge> = letters
        .chars()
        .map(|c| match c {
            'F' => Edge::Free,
            'S' => Edge::Supported,
            'C' => Edge::Clamped,
            _ => panic!("{c}"),
        })
        .collect();
    // letters go round the plate; ours are x low, x high, y low, y high
    [e[0], e[2], e[1], e[3]]
}

/// An isotropic law of bending stiffness 1 at thickness 1 and unit mass per area.
fn unit(nu: f64) -> PlateLaw {
    let e = 12.0 * (1.0 - nu * nu);
    let g = e / (2.0 * (1.0 + nu));
    PlateLaw::orthotropic([e, e], nu, g, [g, g], 1.0, 0.0)
}

fn omegas(outline: &Outline, edges: [Edge; 4], nu: f64, count: usize) -> Vec<f64> {
    let p = Plate::new(outline, &Grid::even(1.0), edges, THIN).unwrap();
    p.modes(&unit(nu), &[], count).unwrap().iter().map(|m| m.omega_squared.sqrt()).collect()
}

fn square() -> Outline {
    Outline::Rectangle { length: 1.0, width: 1.0 }
}

fn all_meet(cases: Vec<(Row, f64)>) {
    let misses: Vec<String> = cases
        .iter()
        .filter(|(r, found)| (found / r.value - 1.0).abs() > r.tol)
        .map(|(r, found)| format!("{}: found {found}, row says {} ({}), {:.1e} allowed", r.id, r.value, r.status, r.tol))
        .collect();
    assert!(misses.is_empty(), "{}", misses.join("\n"));
}

fn status(rows: &[Row], said: &str) {
    for r in rows {
        assert_eq!(r.status, said, "{}", r.id);
    }
}

/// Square plates, nu = 0.3: high-order Ritz, cf. Leissa NASA SP-160 and JSV 31 (1973) 257; recomputed 7-8 digits (the
/// cantilever about 5 digits).
#[test]
fn square_plates() {
    let mut cases = Vec::new();
    for bc in ["SSSS", "CCCC", "FFFF", "CSCS", "SFSF", "CFFF"] {
        let rows = rows(&format!("P-SQ-{bc}-"));
        status(&rows, if bc == "CFFF" { "recomputed ~5 digits" } else { "recomputed 7-8 digits" });
        let w = omegas(&square(), edges(bc), 0.3, 6);
        cases.extend(rows.into_iter().map(|r| (mode_of(&r), r)).map(|(k, r)| (r, w[k - 1])));
    }
    all_meet(cases);
}

/// SDLS01/89 (VPCS, M. V. Barton 1951; code_aster V2.03.001): classic tables are upper bounds, so ours lie below, within the
/// row's tolerance. NAFEMS FV12 to its printed digits. Confirmed.
#[test]
fn published_tables() {
    for bc in ["FFFF", "CFFF"] {
        let w = omegas(&square(), edges(bc), 0.3, 6);
        for r in rows(&format!("P-VPCS-{bc}-")) {
            assert!(r.status.starts_with("confirmed; 0."), "{}", r.status);
            let below = 1.0 - w[mode_of(&r) - 1] / r.value;
            assert!((0.0..=r.tol).contains(&below), "{}: {below}", r.id);
        }
    }
    let p = Plate::new(&Outline::Rectangle { length: 10.0, width: 10.0 }, &Grid::even(0.05), [Edge::Free; 4], THIN).unwrap();
    let g = 200e9 / 2.6;
    let m = p.modes(&PlateLaw::orthotropic([200e9, 200e9], 0.3, g, [g, g], 8000.0, 0.0), &[], 8).unwrap();
    let rows = rows("P-FV12-");
    status(&rows, "confirmed; recomputed, matches all printed digits");
    all_meet(rows.into_iter().map(|r| (hertz(&m[mode_of(&r) - 1]), r)).map(|(f, r)| (r, f)).collect());
}

/// NAFEMS FV52, a plate of span/thickness 10 that needs shear. Confirmed. Row 5 (193.59 Hz) is probably a mode in the plane of
/// the plate, which this model does not have: nothing of ours lies near it.
#[test]
fn thick_plate() {
    let options = PlateOptions { degree: 10, shear_degrees: Some([10, 10]), oblique: false };
    let outline = Outline::Rectangle { length: 10.0, width: 10.0 };
    let p = Plate::new(&outline, &Grid::even(1.0), [Edge::Supported; 4], options).unwrap();
    let g = 200e9 / 2.6;
    let law = PlateLaw::orthotropic([200e9, 200e9], 0.3, g, [g, g], 8000.0, 0.0);
    let f: Vec<f64> = p.modes(&law, &[], 7).unwrap().iter().map(hertz).collect();
    let rows = rows("P-FV52-");
    let mut cases = Vec::new();
    for r in rows {
        assert!(r.status.starts_with("confirmed; needs shear"));
        match mode_of(&r) {
            5 => assert!(f.iter().all(|f| (f / r.value - 1.0).abs() > 0.05), "{f:?}"),
            k => cases.push((f[if k < 5 { k - 1 } else { k - 2 }], r)),
        }
    }
    all_meet(cases.into_iter().map(|(f, r)| (r, f)).collect());
    // closed form of the hard simply supported shear plate, mode (1, 1): Mindlin's D k^4 / (rho h) with
    // (D k^2 + S)... solved as the lowest root of its 2 x 2 problem
    let (d, s, k2) = (200e9 / (12.0 * 0.91), g * 5.0 / 6.0, 2.0 * (std::f64::consts::PI / 10.0).powi(2));
    let (m, j) = (8000.0, 8000.0 / 12.0);
    let (a, b, c) = (m * j, -(m * (d * k2 + s) + j * s * k2), s * k2 * d * k2);
    let exact = ((-b - (b * b - 4.0 * a * c).sqrt()) / (2.0 * a)).sqrt() / std::f64::consts::TAU;
    assert!((f[0] / exact - 1.0).abs() < 1e-8, "{} {exact}", f[0]);
}

/// Rectangles and other Poisson ratios: high-order Ritz; recomputed 7 digits.
#[test]
fn rectangles() {
    let mut cases = Vec::new();
    for bc in ["CCCC", "FFFF"] {
        let rows = rows(&format!("P-RECT-{bc}-"));
        status(&rows, "recomputed 7 digits");
        for r in rows {
            let printed: f64 = r.id.split('-').nth(3).unwrap().parse().unwrap();
            let ratio = if printed == 0.66667 { 2.0 / 3.0 } else { printed };
            let w = omegas(&Outline::Rectangle { length: 1.0, width: 1.0 / ratio }, edges(bc), 0.3, 3);
            cases.push((w[mode_of(&r) - 1], r));
        }
    }
    let rows = rows("P-FFFFnu-");
    status(&rows, "recomputed 7 digits");
    for r in rows {
        let printed: f64 = r.id.split('-').nth(2).unwrap().parse().unwrap();
        let nu = if printed == 0.333333 { 1.0 / 3.0 } else { printed };
        cases.push((omegas(&square(), [Edge::Free; 4], nu, 4)[mode_of(&r) - 1], r));
    }
    all_meet(cases.into_iter().map(|(w, r)| (r, w)).collect());
}

/// Circular plates: Leissa NASA SP-160 chapter 2; recomputed 9 digits. The row's n and s are nodal diameters and circles; found
/// by order: diameters come in pairs, and no other mode lies between those named.
#[test]
fn circles() {
    let disc = Outline::Ellipse { length: 2.0, width: 2.0 };
    let rows = rows("P-CIRC-");
    status(&rows, "recomputed 9 digits");
    let mut cases = Vec::new();
    for r in rows {
        let (edge, nu) = match r.id.as_str() {
            id if id.contains("clamped") => (Edge::Clamped, 0.3),
            id if id.contains("SS-nu.3-") => (Edge::Supported, 0.3),
            id if id.contains("free-nu.33") => (Edge::Free, 0.33),
            _ => (Edge::Free, 0.3),
        };
        let w = omegas(&disc, [edge; 4], nu, 8);
        // held: 00, 10 10, 20 20, 01; free: 20 20, 01, 30 30
        let k = match (edge, r.id.rsplit('-').next().unwrap()) {
            (Edge::Free, "n2s0") => 0,
            (Edge::Free, "n3s0") => 3,
            (_, "n0s0") => 0,
            (_, "n1s0") => 1,
            (_, "n2s0") => 3,
            (_, "n0s1") => 5,
            other => panic!("{other:?}"),
        };
        cases.push((r, w[k]));
    }
    all_meet(cases);
}

fn hertz(m: &PlateMode) -> f64 {
    m.omega_squared.sqrt() / std::f64::consts::TAU
}

/// The plate of rows P-ORTH: mm, MPa, t.
fn orth(bc: &str, degree: usize) -> (Plate, PlateLaw) {
    let law = PlateLaw::orthotropic([11_000.0, 858.0], 0.372, 704.0, [671.0, 33.0], 420e-12, 0.0);
    let outline = Outline::Rectangle { length: 500.0, width: 400.0 };
    (Plate::new(&outline, &Grid::even(2.8), edges(bc), PlateOptions { degree, ..THIN }).unwrap(), law)
}

/// Orthotropic plates: closed form (Leissa SP-160 ch. 9; Hearmon) and high-order Ritz, recomputed 6 to 8 digits. The clamped
/// ones lie 0.12 to 0.20 % below Hearmon's single term (1959, J Appl Mech 26:537; formula from memory).
#[test]
fn orthotropic() {
    let mut cases = Vec::new();
    for (bc, name, said) in
        [("SSSS", "SS", "recomputed 8 digits"), ("CCCC", "CC", "recomputed 8 digits"), ("FFFF", "FF", "recomputed 6-7 digits")]
    {
        let (p, law) = orth(bc, 16);
        let f: Vec<f64> = p.modes(&law, &[], 6).unwrap().iter().map(hertz).collect();
        let rows: Vec<Row> = rows(&format!("P-ORTH-{name}-")).into_iter().filter(|r| !r.id.contains("-w")).collect();
        status(&rows, said);
        cases.extend(rows.into_iter().map(|r| (f[mode_of(&r) - 1], r)).map(|(f, r)| (r, f)));
        if bc == "CCCC" {
            for r in self::rows("P-ORTH-HEARMON-") {
                assert_eq!(r.status, "formula from memory; recomputed; 0.12-0.20% above Ritz");
                let above = r.value / f[mode_of(&r) - 1] - 1.0;
                assert!((0.0010..0.0021).contains(&above), "{}: {above}", r.id);
            }
        }
    }
    all_meet(cases);
}

/// Sag under even pressure: Timoshenko & Woinowsky-Krieger, Navier series and Ritz; recomputed. P-ROSSOW-bare_plate stands at
/// "3.5-5 digits" and is held to 3.5: the coefficient of P-STAT-SS_uniform_w0_D_qa^4 makes it 2.609464, not 2.608593.
#[test]
fn pressure() {
    let row = |id: &str| rows(id).into_iter().next().unwrap();
    let p = Plate::new(&square(), &Grid::even(1.0), edges("SSSS"), THIN).unwrap();
    let mut cases = vec![(row("P-STAT-SS_uniform"), p.sag(&unit(0.3), 1.0, 0.0, 0.5, 0.5).unwrap())];
    for (bc, id) in [("SSSS", "P-ORTH-SS-wu"), ("CCCC", "P-ORTH-CC-wu")] {
        let (p, law) = orth(bc, 20);
        cases.push((row(id), p.sag(&law, 100e-6, 0.0, 250.0, 200.0).unwrap()));
    }
    let bare = Plate::new(&square(), &Grid::even(0.01), edges("SSSS"), THIN).unwrap();
    let g = 17e6 / 2.6;
    let law = PlateLaw::orthotropic([17e6, 17e6], 0.3, g, [g, g], 1.0, 0.0);
    let (rossow, found) = (row("P-ROSSOW-bare_plate"), 1000.0 * bare.sag(&law, 1.0, 0.0, 0.5, 0.5).unwrap());
    assert_eq!(rossow.status, "recomputed 3.5-5 digits; published from memory");
    assert!((found / rossow.value - 1.0).abs() < 5e-4, "{found}");
    let coefficient = cases[0].0.value;
    assert!((found / (1000.0 * coefficient * 12.0 * 0.91 / 17.0) - 1.0).abs() < 1e-8, "{found}");
    all_meet(cases);
}

/// A force at the middle: the sag has r^2 ln r in it, which products of polynomials reach only slowly and from below: 0.25 %
/// at degree 22. The rows to their own tolerance belong to a series; here within 0.4 %, below, and nearer with the degree.
#[test]
fn force_at_the_middle() {
    let row = |id: &str| rows(id).into_iter().next().unwrap();
    let at = |bc: &str, degree: usize| {
        let p = Plate::new(&square(), &Grid::even(1.0), edges(bc), PlateOptions { degree, ..THIN }).unwrap();
        p.sag(&unit(0.3), 0.0, 1.0, 0.5, 0.5).unwrap()
    };
    let grain = |degree: usize| {
        let (p, law) = orth("SSSS", degree);
        p.sag(&law, 0.0, 10.0, 250.0, 200.0).unwrap()
    };
    for (r, found) in [(row("P-STAT-SS_centre"), [at("SSSS", 14), at("SSSS", 22)]), (row("P-ORTH-SS-w"), [grain(14), grain(22)])]
    {
        let below = found.map(|f| 1.0 - f / r.value);
        assert!((0.0..4e-3).contains(&below[1]) && below[1] < 0.6 * below[0], "{}: {below:?}", r.id);
    }
    let r = row("P-STAT-CC_centre");
    assert_eq!(r.status, "published from memory; Ritz lower bound 0.005598");
    assert!((at("CCCC", 22) / r.value - 1.0).abs() < r.tol, "{}", r.id);
}

/// P-RING: a plate whose sides are as (E_L/E_R)^(1/4) has its two first bendings at one frequency when they do not couple
/// (value from memory; recomputed 9 digits).
#[test]
fn ring_ratio() {
    let r = rows("P-RING").into_iter().next().unwrap();
    assert_eq!(r.status, "value from memory; recomputed 9 digits");
    let law = PlateLaw::orthotropic([1.0, 0.078], 0.0, 0.064, [1.0, 1.0], 1.0, 0.0);
    let p = Plate::new(&Outline::Rectangle { length: r.value, width: 1.0 }, &Grid::even(0.01), [Edge::Free; 4], THIN).unwrap();
    let m = p.modes(&law, &[], 4).unwrap();
    let find = |across, along| {
        let k = m.iter().position(|m| {
            let l = p.labels(m);
            l[..2].iter().any(|l| l.label == Label { across, along })
        });
        m[k.unwrap()].omega_squared
    };
    assert!((find(2, 0) / find(0, 2) - 1.0).abs() < 1e-6);
}
