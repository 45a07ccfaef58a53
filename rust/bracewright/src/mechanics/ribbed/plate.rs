//! Stiffness and mass of a cell of plate.

use super::blocks::{Blocks, Row};
use super::cells::{Cells, NODES, ORDER, Shape};
use crate::mechanics::plate::{PlateLaw, SHEAR_FACTOR};

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

/// Thickness at a point from that at the nodes of its cell.
pub fn thickness_at(shape: &Shape, thickness: &[f64]) -> f64 {
    shape.value.iter().zip(thickness).map(|(v, t)| v * t).sum()
}

/// Products of the shape functions or their slopes, summed over a cell: what all its blocks are made of.
type Products = [f64; NODES * NODES];

fn add_product(to: &mut Products, a: &Row, b: &Row, by: f64) {
    for (row, a) in to.chunks_exact_mut(NODES).zip(a) {
        let a = by * a;
        row.iter_mut().zip(b).for_each(|(v, b)| *v += a * b);
    }
}

/// Adds `by` times products to the block of two fields, and their transposes where the fields stand the other way round.
fn put(k: &mut Blocks, f: usize, g: usize, products: &Products, by: f64) {
    if by == 0.0 {
        return;
    }
    if f <= g {
        k.block(f, g).iter_mut().zip(products).for_each(|(v, p)| *v += by * p);
    } else {
        let block = k.block(g, f);
        for i in 0..NODES {
            for j in 0..NODES {
                block[j * NODES + i] += by * products[i * NODES + j];
            }
        }
    }
}

/// Adds what u or v in the middle of the plate is made of: products of the middle's rows of component `a` with those of `b`.
fn put_middle(k: &mut Blocks, a: usize, b: usize, degrees: usize, products: &Products, by: f64) {
    let sign = |d: usize| if d == 0 { 1.0 } else { -1.0 };
    for d in 0..degrees {
        for e in 0..degrees {
            // of one and the same component each pair of fields is met twice
            if a != b || field(a, d) <= field(b, e) {
                put(k, field(a, d), field(b, e), products, by * sign(d) * sign(e));
            }
        }
    }
}

/// Curvatures (xx, yy, xy) of the plate's middle before it is loaded, positive where it is hollow towards the ribs.
pub type Arch = [f64; 3];

/// Stiffness of a cell by its thickness at each node; `cubic` says which fields it has.
pub fn stiffness(cells: &Cells, cell: usize, law: &PlateLaw, thickness: &[f64], cubic: bool, arch: &Arch) -> Blocks {
    let (fields, degrees) = if cubic { (CUBIC, 4) } else { (PLAIN, 2) };
    let mut k = Blocks::new(fields);
    let zero = [0.0; NODES * NODES];
    let (mut xx, mut xy, mut yy) = (zero, zero, zero);
    // with an arch: the slopes against the deflection, and the deflection itself
    let curved = arch.iter().any(|a| *a != 0.0);
    let (mut x_w, mut y_w, mut w_w) = (zero, zero, zero);
    for (shape, weight) in cells.points(cell, ORDER + 1) {
        let by = weight * thickness_at(&shape, thickness);
        add_product(&mut xx, &shape.dx, &shape.dx, by);
        add_product(&mut xy, &shape.dx, &shape.dy, by);
        add_product(&mut yy, &shape.dy, &shape.dy, by);
        if curved {
            add_product(&mut x_w, &shape.dx, &shape.value, by);
            add_product(&mut y_w, &shape.dy, &shape.value, by);
            add_product(&mut w_w, &shape.value, &shape.value, by);
        }
    }
    let p = &law.plane;
    // strains (xx, yy, xy) of u and of v: which slope each takes, 0 along x, 1 along y
    let slopes: [[Option<usize>; 3]; 2] = [[Some(0), None, Some(1)], [None, Some(1), Some(0)]];
    for (a, b) in [(0, 0), (0, 1), (1, 1)] {
        let mut sum = zero;
        for (i, sa) in slopes[a].iter().enumerate() {
            for (j, sb) in slopes[b].iter().enumerate() {
                let (Some(sa), Some(sb)) = (sa, sb) else { continue };
                let by = p[i][j];
                if by == 0.0 {
                    continue;
                }
                match (sa, sb) {
                    (0, 0) => sum.iter_mut().zip(&xx).for_each(|(s, v)| *s += by * v),
                    (1, 1) => sum.iter_mut().zip(&yy).for_each(|(s, v)| *s += by * v),
                    (0, _) => sum.iter_mut().zip(&xy).for_each(|(s, v)| *s += by * v),
                    _ => {
                        for i in 0..NODES {
                            for j in 0..NODES {
                                sum[i * NODES + j] += by * xy[j * NODES + i];
                            }
                        }
                    }
                }
            }
        }
        // strains in the plane couple only within one degree
        put_middle(&mut k, a, b, degrees, &sum, 1.0);
        for d in 1..degrees {
            put(&mut k, field(a, d), field(b, d), &sum, 1.0 / (2 * d + 1) as f64);
        }
    }
    if curved {
        // the middle stretches by -w times its curvature as well: forces of the strains (xx, yy, xy) that a unit of w makes
        let force: [f64; 3] = [0, 1, 2].map(|i: usize| p[i][0] * arch[0] + p[i][1] * arch[1] + 2.0 * p[i][2] * arch[2]);
        for (a, of_x, of_y) in [(0, force[0], force[2]), (1, force[2], force[1])] {
            let mut sum = zero;
            sum.iter_mut().zip(&x_w).zip(&y_w).for_each(|((s, x), y)| *s = -(of_x * x + of_y * y));
            for d in 0..degrees {
                put(&mut k, field(a, d), W, &sum, if d == 0 { 1.0 } else { -1.0 });
            }
        }
        let own = arch[0] * force[0] + arch[1] * force[1] + 2.0 * arch[2] * force[2];
        put(&mut k, W, W, &w_w, own);
    }
    shear(&mut k, cells, cell, law, thickness, cubic);
    k
}

/// Part of the shear stiffness taken at the points that carry it whole. At the fewer points of the rest a thin plate does not lock,
/// but one deflection of each four-cornered cell would cost nothing.
const WHOLE: f64 = 0.01;

/// Points at which shear is taken, with their weights in area.
pub fn shear_points(cells: &Cells, cell: usize) -> impl Iterator<Item = (Shape, f64)> {
    let fewer = cells.points(cell, ORDER).into_iter().map(|(shape, w)| (shape, (1.0 - WHOLE) * w));
    fewer.chain(cells.points(cell, ORDER + 1).into_iter().map(|(shape, w)| (shape, WHOLE * w)))
}

/// The shear strain through the thickness is a constant, a straight line and a parabola, each with its mean square; the constant is
/// 2 (u1 + u3) / t + the slope of w, the others 6 u2 / t and 10 u3 / t: slopes of P1, P3 = 1 + 5 P2 and P2 = 3 P1.
fn shear(k: &mut Blocks, cells: &Cells, cell: usize, law: &PlateLaw, thickness: &[f64], cubic: bool) {
    let zero = [0.0; NODES * NODES];
    let (mut turn, mut with_x, mut with_y) = (zero, zero, zero);
    let (mut xx, mut xy, mut yy) = (zero, zero, zero);
    for (shape, weight) in shear_points(cells, cell) {
        let t = thickness_at(&shape, thickness);
        add_product(&mut turn, &shape.value, &shape.value, 4.0 * weight / t);
        add_product(&mut with_x, &shape.value, &shape.dx, 2.0 * weight);
        add_product(&mut with_y, &shape.value, &shape.dy, 2.0 * weight);
        add_product(&mut xx, &shape.dx, &shape.dx, weight * t);
        add_product(&mut xy, &shape.dx, &shape.dy, weight * t);
        add_product(&mut yy, &shape.dy, &shape.dy, weight * t);
    }
    // a cubic profile is its own shear distribution; a straight one needs the factor
    let factor = if cubic { 1.0 } else { SHEAR_FACTOR };
    let g = law.shear.map(|row| row.map(|v| factor * v));
    let constant: &[usize] = if cubic { &[1, 3] } else { &[1] };
    for a in 0..2 {
        for b in a..2 {
            for d in constant {
                for e in constant {
                    if a != b || d <= e {
                        put(k, field(a, *d), field(b, *e), &turn, g[a][b]);
                    }
                }
            }
            if cubic {
                put(k, field(a, 2), field(b, 2), &turn, 9.0 / 3.0 * g[a][b]);
                put(k, field(a, 3), field(b, 3), &turn, 25.0 * 0.2 * g[a][b]);
            }
        }
        for d in constant {
            put(k, field(a, *d), W, &with_x, g[a][0]);
            put(k, field(a, *d), W, &with_y, g[a][1]);
        }
    }
    put(k, W, W, &xx, g[0][0]);
    put(k, W, W, &yy, g[1][1]);
    if g[0][1] != 0.0 {
        put(k, W, W, &xy, g[0][1]);
        let mut across = zero;
        for i in 0..NODES {
            for j in 0..NODES {
                across[i * NODES + j] = xy[j * NODES + i];
            }
        }
        put(k, W, W, &across, g[0][1]);
    }
}

/// Consistent mass of a cell.
pub fn mass(cells: &Cells, cell: usize, density: f64, thickness: &[f64], cubic: bool) -> Blocks {
    let (fields, degrees) = if cubic { (CUBIC, 4) } else { (PLAIN, 2) };
    let mut m = Blocks::new(fields);
    let mut sum = [0.0; NODES * NODES];
    for (shape, weight) in cells.points(cell, ORDER + 1) {
        add_product(&mut sum, &shape.value, &shape.value, weight * density * thickness_at(&shape, thickness));
    }
    for a in 0..2 {
        put_middle(&mut m, a, a, degrees, &sum, 1.0);
        for d in 1..degrees {
            put(&mut m, field(a, d), field(a, d), &sum, 1.0 / (2 * d + 1) as f64);
        }
    }
    put(&mut m, W, W, &sum, 1.0);
    m
}
