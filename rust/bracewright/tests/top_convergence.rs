//! How fast the plate of the whole top comes to its limit: first frequency of a supported plate, against the closed form of a plate
//! that bends and shears (Navier's functions, isotropic: one half wave each way).
#![allow(clippy::unwrap_used, clippy::print_stdout)]

use bracewright::mechanics::plate::PlateLaw;
use bracewright::mechanics::ribbed::{Cells, RibDegrees, Ribbed};

const SIDE: f64 = 400.0;
const THICK: f64 = 10.0;

fn law() -> PlateLaw {
    PlateLaw::orthotropic([10_000.0, 10_000.0], 0.3, 10_000.0 / 2.6, [10_000.0 / 2.6; 2], 5e-10, 0.0)
}

/// Lowest omega^2 from the plate's two equations of motion for w and the turn, with rotary inertia: by hand for equal half waves,
/// where turns along and across are alike.
fn exact() -> f64 {
    let (e, nu, rho) = (10_000.0, 0.3, 5e-10);
    let d = e * THICK.powi(3) / (12.0 * (1.0 - nu * nu));
    let s = 5.0 / 6.0 * e / 2.6 * THICK;
    let k2 = 2.0 * (std::f64::consts::PI / SIDE).powi(2);
    let (m, j) = (rho * THICK, rho * THICK.powi(3) / 12.0);
    // (s k2 - m w2)(d k2 + s - j w2) = s^2 k2
    let (a, b, c) = (m * j, -(m * (d * k2 + s) + j * s * k2), s * k2 * (d * k2 + s) - s * s * k2);
    2.0 * c / (-b + (b * b - 4.0 * a * c).sqrt())
}

fn found(n: usize, triangles: bool) -> f64 {
    let line: Vec<f64> = (0..=n).map(|i| SIDE * i as f64 / n as f64).collect();
    let grid = Cells::grid(&line, &line);
    let cells = if triangles {
        let halves = grid.cells.iter().flat_map(|c| [vec![c[0], c[1], c[2]], vec![c[0], c[2], c[3]]]).collect();
        Cells::new(grid.corners, halves)
    } else {
        grid
    };
    let r = Ribbed::new(cells, law(), THICK, vec![], RibDegrees::RICH, false);
    let mut held = Vec::new();
    for (k, p) in r.cells().nodes.iter().enumerate() {
        let on = |v: f64| !(1e-9..=SIDE - 1e-9).contains(&v);
        if on(p[0]) || on(p[1]) {
            held.push(r.deflection_of(k));
        }
        // nothing moves in the plane of the middle: its displacement is the face's less the turn's, so the face is left to follow
        if on(p[0]) {
            held.push(r.sliding_of(k)[1] + 2);
        }
        if on(p[1]) {
            held.push(r.sliding_of(k)[0] + 2);
        }
    }
    let plan = r.plan(&held);
    let mass = r.mass_by(&plan);
    // the plate slides freely: the lowest that bends it is above what it does as a whole
    let shift = 1e4;
    let factor = r.factor_by(plan, Some((&mass, shift))).unwrap();
    let modes = factor.modes(&mass, shift, 5).unwrap();
    modes.iter().map(|m| m.omega_squared).find(|w2| *w2 > 1e3).unwrap()
}

/// Errors fall at least with the fourth power of the cell's size (the energy of third-order functions would let them fall with the
/// sixth; shear at fewer points costs some), until they are below a part in a million.
#[test]
fn errors_fall_with_the_size_of_the_cells() {
    for triangles in [false, true] {
        let errors: Vec<f64> = [2, 4, 8].iter().map(|n| (found(*n, triangles) / exact() - 1.0).abs()).collect();
        let rates: Vec<f64> = errors.windows(2).map(|e| (e[0] / e[1]).log2()).collect();
        println!("triangles {triangles}: errors {errors:?}, rates {rates:?}");
        assert!(errors[2] < 2e-4, "triangles {triangles}: {errors:?}");
        assert!(
            rates.iter().zip(&errors[1..]).all(|(r, e)| *r > 3.5 || *e < 1e-6),
            "triangles {triangles}: {errors:?} {rates:?}"
        );
    }
}
