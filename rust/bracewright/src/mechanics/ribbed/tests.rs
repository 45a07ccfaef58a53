use super::buffer::Buffer;
use super::rib::Stretch;
use super::*;
use crate::mechanics::pieces::Pieces;
use crate::mechanics::solid::{Outline, Solid};

/// Isotropic law of a rib.
fn isotropic(e: f64, nu: f64) -> RibLaw {
    let g = 0.5 * e / (1.0 + nu);
    let d = e / (1.0 - nu * nu);
    let mut c = [[0.0; 5]; 5];
    (c[0][0], c[1][1], c[0][1], c[1][0]) = (d, d, nu * d, nu * d);
    (c[2][2], c[3][3], c[4][4]) = (g, g, g);
    RibLaw { c }
}

#[test]
fn a_narrow_strip_is_a_t_beam() -> Result<(), &'static str> {
    let (l, b, t, h, wide) = (400.0, 60.0, 2.8, 15.0, 8.0);
    let x: Vec<f64> = (0..=14).map(|i| l * i as f64 / 14.0).collect();
    let y = [-b / 2.0, -8.0, -4.0, 4.0, 8.0, b / 2.0];
    let cells = Cells::grid(&x, &y);
    let n = x.len() - 1;
    let law = PlateLaw::orthotropic([10_000.0, 10_000.0], 0.0, 5000.0, [5000.0, 5000.0], 4e-10, 0.0);
    let rib = Rib {
        solid: Solid::plain(Pieces::constant(0.0, l, h), wide, Outline::Sides(1.0)),
        laws: [isotropic(10_000.0, 0.0); 2],
        density: 4e-10,
        start: [0.0, 0.0],
        direction: [1.0, 0.0],
        cells: (2 * n..3 * n).collect(),
    };
    let r = Ribbed::new(cells, law, t, vec![rib], RibDegrees::RICH, false);
    let mut held = Vec::new();
    for (k, p) in r.cells().nodes.iter().enumerate() {
        if p[0] == 0.0 || p[0] == l {
            held.push(r.deflection_of(k));
        }
    }
    let corner = r.cells().nodes.iter().position(|p| p[0] == 0.0 && p[1] == 4.0).ok_or("no such node")?;
    let far = r.cells().nodes.iter().position(|p| p[0] == l && p[1] == 4.0).ok_or("no such node")?;
    held.extend(r.sliding_of(corner));
    held.push(r.sliding_of(far)[1]);
    let f = r.factor(&held).ok_or("not held")?;
    let load = r.pressed([l / 2.0 - l / 14.0, l / 2.0 + l / 14.0], [-4.0, 4.0], 20.0);
    let u = f.solve(&load);
    let d = r.deflection(&u, l / 2.0, 0.0).ok_or("off the plate")?;
    let (a1, a2) = (b * t, wide * h);
    let dist = 0.5 * (t + h);
    let ei = 10_000.0 * (b * t.powi(3) / 12.0 + wide * h.powi(3) / 12.0 + a1 * a2 / (a1 + a2) * dist * dist);
    // by hand: bending of a T of one wood, and 1.2 V/GA of its web for the shear
    let by_hand = 20.0 * l.powi(3) / 48.0 / ei + 1.2 * 20.0 * l / 4.0 / (5000.0 * wide * (h + t));
    assert!((d / by_hand - 1.0).abs() < 5e-3, "{d} {by_hand}");
    Ok(())
}

/// A rectangle by its moments and by points: the same matrix.
#[test]
fn moments_are_the_points() {
    let cells = Cells::grid(&[0.0, 30.0, 60.0], &[-4.0, 4.0]);
    let crest = Pieces::fit(&[0.0, 60.0], 1e-9, |x| 15.0 - 0.002 * x * x);
    for outline in [
        Outline::Sides(1.0),
        Outline::Sides(0.6),
        Outline::Capped(crate::mechanics::solid::Cap::Power(0.5), crate::mechanics::solid::Rise::Fixed(5.0)),
        Outline::Capped(crate::mechanics::solid::Cap::Rounded, crate::mechanics::solid::Rise::Fraction(0.4)),
    ] {
        let mut law = isotropic(10_000.0, 0.3);
        (law.c[0][2], law.c[2][0], law.c[3][4], law.c[4][3]) = (90.0, 90.0, 40.0, 40.0);
        let rib = Rib {
            solid: Solid::plain(crest.clone(), 8.0, outline),
            laws: [law; 2],
            density: 4e-10,
            start: [0.0, 0.0],
            direction: [1.0, 0.0],
            cells: vec![0, 1],
        };
        for degrees in [RibDegrees::RICH, RibDegrees::LEAN] {
            let stretch = Stretch::new(&cells, &rib, 1, &degrees, 0.1);
            let (one, other) = (stretch.stiffness(), stretch.stiffness_by_points());
            let n = degrees.fields() * NODES;
            let (mut a, mut b) = (vec![0.0; n], vec![0.0; n]);
            let mut most = 0.0_f64;
            for j in 0..n {
                one.column(j, &mut a);
                most = a.iter().fold(most, |m, v| m.max(v.abs()));
            }
            for j in 0..n {
                one.column(j, &mut a);
                other.column(j, &mut b);
                for (i, (a, b)) in a.iter().zip(&b).enumerate() {
                    assert!((a - b).abs() < 1e-11 * most, "{outline:?} {i} {j}: {a} {b}");
                }
            }
        }
    }
}

/// The line written out is the line of `mechanics::lagrange`.
#[test]
fn the_line_is_the_general_one() {
    use crate::mechanics::lagrange::{lagrange, lobatto};
    for k in 0..=20 {
        let s = -1.0 + 0.1 * f64::from(k);
        let (one, other) = (cells::along(s), lagrange(&lobatto(ORDER), s));
        for i in 0..SIDE {
            assert!((one.0[i] - other.0[i]).abs() < 1e-14 && (one.1[i] - other.1[i]).abs() < 1e-13, "{i} at {s}");
        }
    }
}

/// Elements of random matrices over groups of several sizes: what is solved gives the loads back, for two of them at once, and
/// the same bits on one thread.
#[test]
fn fronts_solve_what_the_elements_sum_to() -> Result<(), &'static str> {
    use super::fronts::Order;
    let sizes = [3, 0, 5, 1, 4, 2, 6, 3, 0, 2, 5, 4, 1, 3];
    let touches: Vec<Vec<usize>> = (0..24).map(|e| vec![e % 14, (e * 5 + 3) % 14, (e * 3 + 1) % 14]).collect();
    let touches: Vec<Vec<usize>> = touches
        .into_iter()
        .map(|mut t| {
            t.sort_unstable();
            t.dedup();
            t
        })
        .collect();
    let at: Vec<[f64; 2]> = (0..24).map(|e| [f64::from(e % 6), f64::from(e / 6)]).collect();
    let order = Order::new(&sizes, &at, &touches);
    let n = order.unknowns();
    assert_eq!(n, sizes.iter().sum::<usize>());
    let element = |e: usize| {
        let m = order.places(&touches[e]).len();
        let mut k = Buffer::zeros(m * m);
        for j in 0..m {
            for i in 0..m {
                let (low, high) = (i.min(j), i.max(j));
                let v = ((e * 97 + low * 31 + high * 17) as f64 * 0.618_033_988_75).fract() - 0.5;
                k[j * m + i] = v + if i == j { 2.0 * m as f64 } else { 0.0 };
            }
        }
        k
    };
    let mut whole = vec![0.0; n * n];
    for e in 0..24 {
        let (k, places) = (element(e), order.places(&touches[e]));
        for (j, q) in places.iter().enumerate() {
            for (i, p) in places.iter().enumerate() {
                whole[q * n + p] += k[j * places.len() + i];
            }
        }
    }
    let loads: Vec<f64> = (0..2 * n).map(|i| (i as f64 * 0.754_877_666).fract() - 0.5).collect();
    let mut x = loads.clone();
    order.solve(&order.factor(&element).ok_or("not positive definite")?, &mut x);
    for (x, load) in x.chunks_exact(n).zip(loads.chunks_exact(n)) {
        for i in 0..n {
            let back: f64 = (0..n).map(|j| whole[j * n + i] * x[j]).sum();
            assert!((back - load[i]).abs() < 1e-12, "{i}: {back} {}", load[i]);
        }
    }
    let one = rayon::ThreadPoolBuilder::new().num_threads(1).build().map_err(|_| "no threads")?;
    let mut alone = loads.clone();
    let factor = one.install(|| order.factor(&element)).ok_or("not positive definite")?;
    order.solve(&factor, &mut alone);
    assert_eq!(x, alone);
    Ok(())
}

/// Triangles interpolate: a shape function is one at its node and nothing at the others, its slopes are those of differences, and
/// the rules carry their degree by the closed form i! j! / (i + j + 2)!.
#[test]
fn triangles_interpolate_and_integrate() {
    use super::triangle::{CORNERED, rule, shapes};
    // corners, two on each side in turn, the middle
    let (a, b) = (0.5 * (1.0 + cells::LINE[1]), 0.5 * (1.0 + cells::LINE[2]));
    let third = 1.0 / 3.0;
    let nodes = [[0.0, 0.0], [1.0, 0.0], [0.0, 1.0], [a, 0.0], [b, 0.0], [b, a], [a, b], [0.0, b], [0.0, a], [third, third]];
    for (k, [s, t]) in nodes.into_iter().enumerate() {
        for (i, f) in shapes(s, t).iter().enumerate() {
            assert!((f[0] - f64::from(u8::from(i == k))).abs() < 1e-13, "{i} at {k}: {f:?}");
        }
    }
    let (s, t, d) = (0.31, 0.42, 1e-6);
    let of = |s: f64, t: f64, i: usize| shapes(s, t)[i][0];
    for i in 0..CORNERED {
        let f = shapes(s, t)[i];
        assert!((f[1] - (of(s + d, t, i) - of(s - d, t, i)) / (2.0 * d)).abs() < 1e-8);
        assert!((f[2] - (of(s, t + d, i) - of(s, t - d, i)) / (2.0 * d)).abs() < 1e-8);
    }
    let factorial = |n: i32| (1..=n).map(f64::from).product::<f64>();
    for degree in [4, 6] {
        for i in 0..=degree {
            for j in 0..=degree - i {
                let sum: f64 = rule(degree as usize).iter().map(|(p, w)| w * p[0].powi(i) * p[1].powi(j)).sum();
                let exact = factorial(i) * factorial(j) / factorial(i + j + 2);
                assert!((sum - exact).abs() < 1e-13, "{degree}: {i} {j}: {sum} {exact}");
            }
        }
    }
}
