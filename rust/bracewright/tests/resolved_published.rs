//! The depth-resolved beam against 3-D elasticity. Source: CalculiX 2.20, quadratic hexahedra, made for this project,
//! mesh error below 0.01 %; figures as given in the issue that asked for them.

use bracewright::mechanics::pieces::{Pieces, Poly};
use bracewright::mechanics::resolved::{Degrees, Face, Hold, Law, Patch, Resolved};
use bracewright::mechanics::solid::{Outline, Solid};

/// E_L 11 000, E_T 473, G_LT 671 MPa, nu_LT 0.467, T along the height.
fn law() -> Law {
    let (el, et, g, nu) = (11_000.0, 473.0, 671.0, 0.467);
    let d = 1.0 - nu * nu * et / el;
    Law { c: [[el / d, nu * et / d, 0.0], [nu * et / d, et / d, 0.0], [0.0, 0.0, g]] }
}

fn deflection(crest: Pieces, degrees: Degrees, longest: f64) -> (f64, usize) {
    let solid = Solid::plain(crest, 8.0, Outline::Sides(1.0));
    let law = law();
    let beam = Resolved::new(&solid, [&law, &law], 0.0, &[196.0, 200.0, 204.0], longest, degrees);
    let holds = [Hold::Section { x: 0.0 }, Hold::Section { x: 400.0 }];
    let factor = beam.factor(&holds, 0.0).unwrap();
    let rhs = beam.load(&[Patch { start: 196.0, end: 204.0, face: Face::Body, force: 20.0 }]);
    let s = beam.solve(&factor, &rhs, 20.0, 4000.0, &holds).unwrap();
    // the tip of a straight ridge is at x = 200; mid-height there is the middle of the section
    let mut mid = beam.mean_deflection(200.0, 200.0, Face::Crest);
    let glue = beam.mean_deflection(200.0, 200.0, Face::Glue);
    // value at zeta = 0 from the even polynomials: P2(0) = -1/2, P4(0) = 3/8, P6(0) = -5/16
    let even = [1.0, 0.0, -0.5, 0.0, 0.375, 0.0, -0.3125, 0.0, 35.0 / 128.0];
    let nd = degrees.along + degrees.across + 2;
    for (k, m) in mid.iter_mut().enumerate() {
        let (node, j) = (k / nd, k % nd);
        let _ = node;
        *m = if j > degrees.along { 0.5 * (*m + glue[k]) / if (j - degrees.along - 1) % 2 == 0 { 1.0 } else { 1.0 } * even[j - degrees.along - 1] } else { 0.0 };
    }
    (mid.iter().zip(&s.values).map(|(a, b)| a * b).sum(), beam.unknowns())
}

fn half_cosines(points: &[(f64, f64)]) -> Pieces {
    let f = |x: f64| {
        let k = points.windows(2).position(|w| x <= w[1].0).unwrap_or(points.len() - 2);
        let (a, b) = (points[k], points[k + 1]);
        a.1 + (b.1 - a.1) * 0.5 * (1.0 - (std::f64::consts::PI * (x - a.0) / (b.0 - a.0)).cos())
    };
    Pieces::fit(&points.iter().map(|p| p.0).collect::<Vec<_>>(), 1e-13, f)
}

#[test]
fn look() {
    let ridge = || Pieces::new(vec![0.0, 200.0, 400.0], vec![Poly::new(&[10.0, 6.0]), Poly::new(&[10.0, -6.0])]);
    let pts: Vec<(f64, f64)> = vec![(0.0, 13.0), (50.0, 8.0), (100.0, 13.0), (150.0, 8.0), (200.0, 16.0), (250.0, 8.0), (300.0, 13.0), (350.0, 8.0), (400.0, 13.0)];
    for longest in [25.0, 12.5, 6.0] {
        for order in [2,3, 4, 5] {
            for (p, q) in [(3, 2), (4, 3), (5, 4), (7, 6)] {
                let d = Degrees { along: p, across: q, order };
                let t0 = std::time::Instant::now();
                let (a, n) = deflection(ridge(), d, longest);
                let t1 = t0.elapsed();
                let (b, n2) = deflection(half_cosines(&pts), d, longest);
                println!("{longest} {order} {p}/{q} n {n} {n2} ridge {:+.4} % scallops {:+.4} %  {t1:?}", (a / 2.317738 - 1.0) * 100.0, (b / 3.548292 - 1.0) * 100.0);
            }
        }
    }
}
