//! The plate with more functions: how fast, and to what.

#![allow(clippy::unwrap_used)]

use bracewright::mechanics::plate::{Edge, Grid, Outline, Plate, PlateLaw, PlateOptions};

fn frequencies(
    outline: &Outline,
    grid: &Grid,
    law: &PlateLaw,
    degree: usize,
    shear: Option<[usize; 2]>,
    count: usize,
) -> Vec<f64> {
    let options = PlateOptions { degree, shear_degrees: shear, oblique: true };
    let p = Plate::new(outline, grid, [Edge::Free; 4], options).unwrap();
    p.modes(law, &[], count).unwrap().iter().map(|m| m.omega_squared.sqrt() / std::f64::consts::TAU).collect()
}

fn top() -> (Outline, PlateLaw) {
    let law = PlateLaw::orthotropic([11_000.0, 858.0], 0.372, 704.0, [671.0, 33.0], 420e-12, 0.0);
    (Outline::Rectangle { length: 500.0, width: 400.0 }, law)
}

/// Every degree more brings the frequencies down (Ritz, an upper bound), as the fifth power of the degree or faster: the free
/// corners of a thin plate are a little rough.
#[test]
fn thin_free_plate_converges_from_above() {
    let (outline, law) = top();
    let at = |d: usize| frequencies(&outline, &Grid::even(2.8), &law, d, None, 5);
    let finest = at(18);
    let errors: Vec<Vec<f64>> = [6, 10, 14].map(|d| at(d).iter().zip(&finest).map(|(a, b)| a / b - 1.0).collect()).to_vec();
    for m in 0..5 {
        assert!(errors[0][m] > 0.0 && errors[1][m] >= -1e-10, "{errors:?}");
        assert!(errors[1][m] < 0.6_f64.powi(5) * errors[0][m], "mode {m}: {errors:?}");
        assert!(errors[2][m] < (10.0_f64 / 14.0).powi(5) * errors[1][m] + 1e-9, "mode {m}: {errors:?}");
        assert!(errors[1][m] < 1e-5, "mode {m}: {errors:?}");
    }
}

/// The degrees the taps use are within 0.05 % of much higher ones, on an even top and on a tapering one with the grain askew.
#[test]
fn the_degrees_in_use() {
    let (outline, law) = top();
    let sided = Outline::Sided { x: vec![0.0, 500.0], low: vec![0.0, 30.0], high: vec![400.0, 370.0] };
    let map = Grid { x: vec![0.0, 500.0], y: vec![0.0, 400.0], value: vec![vec![3.0, 3.4], vec![2.5, 2.9]] };
    let askew = PlateLaw::orthotropic([11_500.0, 850.0], 0.37, 720.0, [690.0, 40.0], 410e-12, 5.0_f64.to_radians());
    for (o, g, l) in [(&outline, &Grid::even(2.8), &law), (&sided, &map, &askew)] {
        let used = frequencies(o, g, l, 10, Some([5, 18]), 6);
        let fine = frequencies(o, g, l, 14, Some([12, 20]), 6);
        for (u, f) in used.iter().zip(&fine) {
            assert!((u / f - 1.0).abs() < 5e-4, "{used:?} {fine:?}");
        }
    }
}

/// No locking: as the plate thins, the shear plate's frequency over its thickness tends to the thin plate's, the gap falling with
/// the square of the thickness.
#[test]
fn thin_limit_of_the_shear_plate() {
    let (outline, law) = top();
    let gap = |t: f64| {
        let thin = frequencies(&outline, &Grid::even(t), &law, 10, None, 4);
        let shear = frequencies(&outline, &Grid::even(t), &law, 10, Some([5, 18]), 4);
        thin.iter().zip(&shear).map(|(a, b)| a / b - 1.0).collect::<Vec<_>>()
    };
    let (thick, half) = (gap(1.0), gap(0.5));
    for (a, b) in thick.iter().zip(&half) {
        let slope = (a / b).log2();
        assert!((1.5..2.1).contains(&slope), "{thick:?} {half:?}");
    }
}

/// The solids of `data/plate_solid.csv`: the plate theory with factor 5/6 is within 0.15 % of three-dimensional elasticity and the
/// mesh error printed beside each figure.
#[test]
fn solids() {
    let mut reader = csv::ReaderBuilder::new().comment(Some(b'#')).from_reader(include_str!("data/plate_solid.csv").as_bytes());
    let rows: Vec<(String, f64, f64)> =
        reader.records().map(|r| r.unwrap()).map(|r| (r[0].into(), r[2].parse().unwrap(), r[3].parse().unwrap())).collect();
    let thick = PlateLaw::orthotropic([13_000.0, 900.0], 0.40, 950.0, [720.0, 45.0], 430e-12, 0.0);
    let rectangle = Outline::Rectangle { length: 240.0, width: 190.0 };
    let sided = Outline::Sided { x: vec![0.0, 500.0], low: vec![0.0, 30.0], high: vec![400.0, 370.0] };
    let map = Grid { x: vec![0.0, 500.0], y: vec![0.0, 400.0], value: vec![vec![3.0, 3.4], vec![2.5, 2.9]] };
    let askew = PlateLaw::orthotropic([11_500.0, 850.0], 0.37, 720.0, [690.0, 40.0], 410e-12, 5.0_f64.to_radians());
    for (name, o, g, l) in [("thick", &rectangle, &Grid::even(6.0), &thick), ("mapped", &sided, &map, &askew)] {
        let found = frequencies(o, g, l, 12, Some([9, 16]), 8);
        for ((_, f, error), found) in rows.iter().filter(|r| r.0 == name).zip(&found) {
            assert!((found / f - 1.0).abs() < 1.5e-3 + error / f, "{name}: {found} for {f}");
        }
    }
}

/// A circle by polar points and a rectangle as four sides agree with the same plates said otherwise.
#[test]
fn the_same_plate_said_otherwise() {
    let (outline, law) = top();
    let sided = Outline::Sided { x: vec![0.0, 200.0, 500.0], low: vec![0.0; 3], high: vec![400.0; 3] };
    let map = Grid { x: vec![0.0, 100.0, 500.0], y: vec![50.0, 300.0], value: vec![vec![2.8; 2]; 3] };
    let a = frequencies(&outline, &Grid::even(2.8), &law, 10, Some([5, 18]), 6);
    let b = frequencies(&sided, &map, &law, 10, Some([5, 18]), 6);
    // the grain along y of a plate turned by a quarter is the same plate
    let turned = PlateLaw::orthotropic([11_000.0, 858.0], 0.372, 704.0, [671.0, 33.0], 420e-12, 0.5 * std::f64::consts::PI);
    let c = frequencies(&Outline::Rectangle { length: 400.0, width: 500.0 }, &Grid::even(2.8), &turned, 10, Some([5, 18]), 6);
    for k in 0..6 {
        assert!((a[k] / b[k] - 1.0).abs() < 1e-9 && (a[k] / c[k] - 1.0).abs() < 1e-9, "{a:?} {b:?} {c:?}");
    }
}
