//! What several test files share: the rows of outside figures, a quadrature of their own, shapes.
#![allow(dead_code, clippy::unwrap_used, clippy::panic)]

use bracewright::mechanics::pieces::Pieces;
use bracewright::mechanics::resolved::Law;
use bracewright::{Blank, Wood};

/// One row of `data/beam_rows.csv`.
pub struct Row {
    pub id: String,
    pub value: f64,
    pub tol: f64,
    pub source: String,
    pub status: String,
}

/// All rows of the table of outside figures on beams and bars.
pub fn rows() -> Vec<Row> {
    let mut reader = csv::Reader::from_reader(include_str!("../data/beam_rows.csv").as_bytes());
    reader
        .records()
        .map(|r| {
            let r = r.unwrap();
            Row {
                id: r[0].into(),
                value: r[3].parse().unwrap(),
                tol: r[4].parse().unwrap(),
                source: r[5].into(),
                status: r[6].into(),
            }
        })
        .collect()
}

/// Error unless `found` is the row's value to the row's own tolerance. `standing` must be the row's.
pub fn meets(id: &str, standing: &str, found: f64) -> Result<(), String> {
    let all = rows();
    let row = all.iter().find(|r| r.id == id).unwrap_or_else(|| panic!("no row {id}"));
    assert_eq!(row.status, standing, "{id}: the test words the standing of its source differently from the table");
    let miss = (found / row.value - 1.0).abs();
    if miss <= row.tol {
        Ok(())
    } else {
        Err(format!(
            "{id}: found {found}, {} says {} ({}); off by {miss:.2e}, allowed {:.0e}",
            row.source, row.value, row.status, row.tol
        ))
    }
}

/// Runs every case and fails with all the misses at once.
pub fn all_meet(cases: impl IntoIterator<Item = (String, &'static str, f64)>) {
    let misses: Vec<String> = cases.into_iter().filter_map(|(id, standing, found)| meets(&id, standing, found).err()).collect();
    assert!(misses.is_empty(), "{}", misses.join("\n"));
}

/// Gauss-Legendre nodes and weights on [-1, 1], by Newton on the Legendre polynomial: the tests' own.
pub fn gauss(n: usize) -> Vec<(f64, f64)> {
    (0..n)
        .map(|i| {
            let mut x = (std::f64::consts::PI * (i as f64 + 0.75) / (n as f64 + 0.5)).cos();
            let mut slope = 1.0;
            for _ in 0..20 {
                let (mut p0, mut p1) = (1.0, x);
                for k in 2..=n {
                    (p0, p1) = (p1, ((2 * k - 1) as f64 * x * p1 - (k - 1) as f64 * p0) / k as f64);
                }
                slope = n as f64 * (x * p1 - p0) / (x * x - 1.0);
                x -= p1 / slope;
            }
            (x, 2.0 / ((1.0 - x * x) * slope * slope))
        })
        .collect()
}

/// Integral over the intervals between `breaks`, 20 points each.
pub fn integral(breaks: &[f64], f: impl Fn(f64) -> f64) -> f64 {
    let rule = gauss(20);
    breaks
        .windows(2)
        .map(|w| {
            let half = 0.5 * (w[1] - w[0]);
            rule.iter().map(|(t, wt)| wt * half * f(w[0] + half * (1.0 + t))).sum::<f64>()
        })
        .sum()
}

/// E_L 11 000, E_T 473, G_LT 671 MPa, nu_LT 0.467, T along the height: the wood of the reference solutions.
pub fn spruce() -> Law {
    law(11_000.0, 473.0, 671.0, 0.467)
}

/// Plane-stress law from moduli in MPa.
pub fn law(ex: f64, ez: f64, g: f64, nu: f64) -> Law {
    let d = 1.0 - nu * nu * ez / ex;
    Law { c: [[ex / d, nu * ez / d, 0.0], [nu * ez / d, ez / d, 0.0], [0.0, 0.0, g]] }
}

/// Half-cosine pieces through points.
pub fn half_cosines(points: &[(f64, f64)]) -> Pieces {
    let f = |x: f64| {
        let k = points.windows(2).position(|w| x <= w[1].0).unwrap_or(points.len() - 2);
        let (a, b) = (points[k], points[k + 1]);
        a.1 + (b.1 - a.1) * 0.5 * (1.0 - (std::f64::consts::PI * (x - a.0) / (b.0 - a.0)).cos())
    };
    Pieces::fit(&points.iter().map(|p| p.0).collect::<Vec<_>>(), 1e-13, f)
}

/// Heights of the double scallop of the reference solutions.
pub const DOUBLE: [(f64, f64); 9] = [
    (0.0, 13.0),
    (50.0, 8.0),
    (100.0, 13.0),
    (150.0, 8.0),
    (200.0, 16.0),
    (250.0, 8.0),
    (300.0, 13.0),
    (350.0, 8.0),
    (400.0, 13.0),
];

/// An invented stick: 420 x 8 x 17 mm of a published spruce, weighed.
pub fn stick() -> Blank {
    Blank::new(&Wood::published("Sitka spruce").unwrap(), 420.0, 8.0, 17.0, Some(23.6)).unwrap()
}
