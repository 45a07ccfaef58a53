//! Stiffness and mass of a cell of plate.

use super::blocks::{Blocks, Row};
use super::quads::{ORDER, Quads, Shape};
use crate::mechanics::plate::{PlateLaw, SHEAR_FACTOR};
use crate::mechanics::quadrature::gauss;

/// Fields of a plain cell: u and v on the face the ribs are glued to, u1, v1, w. What u0, v0 in the middle of the plate are is the
/// face's less all others: so a rib shares one unknown with the plate, not four.
pub const PLAIN: usize = 5;
/// Of one whose displacements in the plane are cubic through the thickness: u2, v2, u3, v3 follow.
pub const CUBIC: usize = 9;
/// The deflection among them.
pub const W: usize = 4;

/// Fields of u (0) or v (1) that go with the Legendre polynomial of this degree through the thickness; degree 0 the face.
pub fn field(component: usize, degree: usize) -> usize {
    component + 2 * degree + usize::from(degree > 1)
}

/// Points of a cell, n in each direction, with their weights in area.
pub fn points(quads: &Quads, cell: usize, n: usize) -> impl Iterator<Item = (Shape, f64)> + '_ {
    let (t, w) = gauss(n);
    (0..n * n).map(move |k| {
        let (i, j) = (k % n, k / n);
        let shape = quads.shape(cell, 2.0 * t[i] - 1.0, 2.0 * t[j] - 1.0);
        let weight = 4.0 * w[i] * w[j] * shape.area;
        (shape, weight)
    })
}

/// A row of u or v in the middle of the plate, by the fields that make it.
fn middle(component: usize, degrees: usize, row: &Row) -> Vec<(usize, Row)> {
    (0..degrees).map(|d| (field(component, d), if d == 0 { *row } else { row.map(|v| -v) })).collect()
}

/// Stiffness of a cell of this thickness; `cubic` says which fields it has.
pub fn stiffness(quads: &Quads, cell: usize, law: &PlateLaw, thickness: f64, cubic: bool) -> Blocks {
    let (fields, degrees) = if cubic { (CUBIC, 4) } else { (PLAIN, 2) };
    let mut k = Blocks::new(fields);
    for (shape, weight) in points(quads, cell, ORDER + 1) {
        for degree in 0..degrees {
            let (u, v) = (field(0, degree), field(1, degree));
            // strains in the plane couple only within one degree
            let by = weight * thickness / (2 * degree + 1) as f64;
            let rows = |component: usize, row: &Row| match degree {
                0 => middle(component, degrees, row),
                _ => vec![(if component == 0 { u } else { v }, *row)],
            };
            let mut sheared = rows(0, &shape.dy);
            sheared.extend(rows(1, &shape.dx));
            let strains = [rows(0, &shape.dx), rows(1, &shape.dy), sheared];
            for (i, s) in strains.iter().enumerate() {
                k.square(s, by * law.plane[i][i]);
                for (j, t) in strains.iter().enumerate().skip(i + 1) {
                    k.cross(s, t, by * law.plane[i][j]);
                }
            }
        }
    }
    // a cubic profile is its own shear distribution; a straight one needs the factor
    let factor = if cubic { 1.0 } else { SHEAR_FACTOR };
    for (shape, weight) in points(quads, cell, ORDER) {
        // the shear strain as a constant, a straight line and a parabola through the thickness, each with its mean square
        for (degree, mean_square) in [(0, 1.0), (1, 1.0 / 3.0), (2, 0.2)] {
            let strain = |component: usize, slope: &Row| {
                let by = |v: f64| shape.value.map(|n| n * v * 2.0 / thickness);
                let mut s = Vec::with_capacity(3);
                match degree {
                    // slopes of P1, P3 = 1 + 5 P2 and P2 = 3 P1 through the thickness
                    0 => {
                        s.push((field(component, 1), by(1.0)));
                        s.push((W, *slope));
                        if cubic {
                            s.push((field(component, 3), by(1.0)));
                        }
                    }
                    1 if cubic => s.push((field(component, 2), by(3.0))),
                    2 if cubic => s.push((field(component, 3), by(5.0))),
                    _ => {}
                }
                s
            };
            let (x, y) = (strain(0, &shape.dx), strain(1, &shape.dy));
            let by = weight * thickness * mean_square * factor;
            k.square(&x, by * law.shear[0][0]);
            k.square(&y, by * law.shear[1][1]);
            k.cross(&x, &y, by * law.shear[0][1]);
        }
    }
    k
}
