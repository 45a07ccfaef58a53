//! The plate of the whole top against published figures: Navier's solution of a simply supported orthotropic plate with transverse
//! shear, worked out here mode by mode, and the benchmarks of NAFEMS.
#![allow(clippy::unwrap_used)]

use bracewright::mechanics::plate::PlateLaw;
use bracewright::mechanics::ribbed::{Cells, Factor, Parts, RibDegrees, Ribbed};

/// A rectangle of n by m cells, four-cornered or each cut in two triangles, one way and the other in turn.
fn rectangle(a: f64, b: f64, n: usize, m: usize, triangles: bool) -> Cells {
    let line = |l: f64, n: usize| (0..=n).map(|i| l * i as f64 / n as f64).collect::<Vec<f64>>();
    let grid = Cells::grid(&line(a, n), &line(b, m));
    if !triangles {
        return grid;
    }
    let cells = grid
        .cells
        .iter()
        .enumerate()
        .flat_map(|(k, c)| {
            if (k % n + k / n).is_multiple_of(2) {
                [vec![c[0], c[1], c[2]], vec![c[0], c[2], c[3]]]
            } else {
                [vec![c[0], c[1], c[3]], vec![c[1], c[2], c[3]]]
            }
        })
        .collect();
    Cells::new(grid.corners, cells)
}

fn plain(cells: Cells, law: PlateLaw, t: f64) -> Ribbed {
    let thickness = vec![t; cells.nodes.len()];
    Ribbed::whole(Parts {
        cells,
        law,
        thickness,
        arch: [0.0; 3],
        ribs: vec![],
        degrees: RibDegrees::RICH,
        joints: vec![],
        patches: vec![],
        edges: vec![],
    })
}

/// Nodes on the edges at x = 0 and a, and at y = 0 and b.
fn on_edges(r: &Ribbed, a: f64, b: f64) -> [Vec<usize>; 2] {
    let on = |k: usize, l: f64| {
        let near = |v: f64| v.abs() < 1e-9 || (v - l).abs() < 1e-9;
        (0..r.cells().nodes.len()).filter(|n| near(r.cells().nodes[*n][k])).collect()
    };
    [on(0, a), on(1, b)]
}

/// Simply supported, with no turn along the edge: what Navier's functions fulfil.
fn navier_held(r: &Ribbed, a: f64, b: f64) -> Vec<usize> {
    let [ends, sides] = on_edges(r, a, b);
    let mut held = Vec::new();
    for n in ends {
        held.extend([r.deflection_of(n), r.sliding_of(n)[1] + 2]);
    }
    for n in sides {
        held.extend([r.deflection_of(n), r.sliding_of(n)[0] + 2]);
    }
    held.extend(rigid(r));
    held
}

/// Against sliding and turning in the plane.
fn rigid(r: &Ribbed) -> Vec<usize> {
    let node = |x: f64, y: f64| {
        let far = |n: usize| (r.cells().nodes[n][0] - x).hypot(r.cells().nodes[n][1] - y);
        (0..r.cells().nodes.len()).min_by(|a, b| far(*a).total_cmp(&far(*b))).unwrap()
    };
    let most = r.cells().nodes.iter().fold(0.0_f64, |m, p| m.max(p[0]));
    vec![r.sliding_of(node(0.0, 0.0))[0], r.sliding_of(node(0.0, 0.0))[1], r.sliding_of(node(most, 0.0))[1]]
}

/// Spruce-like, N, mm, t.
fn spruce() -> PlateLaw {
    PlateLaw::orthotropic([10_800.0, 850.0], 0.37, 700.0, [650.0, 35.0], 4.2e-10, 0.0)
}

/// Amplitude stiffness of w and the two turns for Navier's functions of m and n half waves (Reddy, Mechanics of Laminated Composite
/// Plates and Shells, first-order theory, from its equations of motion; the shear factor 5/6).
fn navier(law: &PlateLaw, t: f64, kx: f64, ky: f64) -> [[f64; 3]; 3] {
    let d = |i: usize, j: usize| law.plane[i][j] * t.powi(3) / 12.0;
    let (a55, a44) = (5.0 / 6.0 * law.shear[0][0] * t, 5.0 / 6.0 * law.shear[1][1] * t);
    let mut k = [[0.0; 3]; 3];
    k[0][0] = a55 * kx * kx + a44 * ky * ky;
    k[0][1] = a55 * kx;
    k[0][2] = a44 * ky;
    k[1][1] = d(0, 0) * kx * kx + d(2, 2) * ky * ky + a55;
    k[1][2] = (d(0, 1) + d(2, 2)) * kx * ky;
    k[2][2] = d(2, 2) * kx * kx + d(1, 1) * ky * ky + a44;
    for i in 0..3 {
        for j in 0..i {
            k[i][j] = k[j][i];
        }
    }
    k
}

/// Deflection of the middle under a pressure: Navier's series.
fn navier_deflection(law: &PlateLaw, t: f64, a: f64, b: f64, pressure: f64) -> f64 {
    let pi = std::f64::consts::PI;
    let mut sum = 0.0;
    for m in (1..400_u32).step_by(2) {
        for n in (1..400_u32).step_by(2) {
            let k = navier(law, t, pi * f64::from(m) / a, pi * f64::from(n) / b);
            let q = 16.0 * pressure / (pi * pi * f64::from(m * n));
            // w by condensing the turns
            let det = k[1][1] * k[2][2] - k[1][2] * k[1][2];
            let x = (k[0][1] * k[2][2] - k[0][2] * k[1][2]) / det;
            let y = (k[0][2] * k[1][1] - k[0][1] * k[1][2]) / det;
            let w = q / (k[0][0] - k[0][1] * x - k[0][2] * y);
            let sign = if (m / 2 + n / 2).is_multiple_of(2) { 1.0 } else { -1.0 };
            sum += sign * w;
        }
    }
    sum
}

/// Lowest angular frequency squared of m and n half waves, with rotary inertia: smallest root of det(K - w2 M), by halving.
fn navier_omega2(law: &PlateLaw, t: f64, kx: f64, ky: f64) -> f64 {
    let k = navier(law, t, kx, ky);
    let (m0, m2) = (law.density * t, law.density * t.powi(3) / 12.0);
    let det = |w2: f64| {
        let a = |i: usize, j: usize| k[i][j] - if i == j { w2 * if i == 0 { m0 } else { m2 } } else { 0.0 };
        a(0, 0) * (a(1, 1) * a(2, 2) - a(1, 2) * a(1, 2)) - a(0, 1) * (a(0, 1) * a(2, 2) - a(1, 2) * a(0, 2))
            + a(0, 2) * (a(0, 1) * a(1, 2) - a(1, 1) * a(0, 2))
    };
    let (mut low, mut high) = (0.0, k[0][0] / m0);
    for _ in 0..200 {
        let mid = 0.5 * (low + high);
        if det(mid) > 0.0 { low = mid } else { high = mid }
    }
    0.5 * (low + high)
}

fn lowest(r: &Ribbed, held: &[usize], count: usize) -> Vec<f64> {
    let plan = r.plan(held);
    let mass = r.mass_by(&plan);
    let factor = r.factor_by(plan, None).unwrap();
    factor.modes(&mass, 0.0, count).unwrap().iter().map(|m| m.omega_squared.sqrt() / (2.0 * std::f64::consts::PI)).collect()
}

#[test]
fn a_supported_plate_is_naviers() {
    let (a, b, pressure) = (500.0, 400.0, 1e-4);
    for t in [0.3, 2.8, 10.0] {
        let law = spruce();
        let exact = navier_deflection(&law, t, a, b, pressure);
        let pi = std::f64::consts::PI;
        let mut frequencies: Vec<f64> = (1..12)
            .flat_map(|m| (1..12).map(move |n| (m, n)))
            .map(|(m, n)| navier_omega2(&law, t, pi * m as f64 / a, pi * n as f64 / b).sqrt() / (2.0 * pi))
            .collect();
        frequencies.sort_by(f64::total_cmp);
        for (triangles, n, m) in [(false, 10, 8), (true, 10, 8)] {
            let r = plain(rectangle(a, b, n, m, triangles), law, t);
            let held = navier_held(&r, a, b);
            let factor: Factor = r.factor(&held).unwrap();
            let load = r.pressed([0.0, a], [0.0, b], pressure * a * b);
            let u = factor.solve(&load);
            let w = r.deflection(&u, 0.5 * a, 0.5 * b).unwrap();
            assert!((w / exact - 1.0).abs() < 2e-3, "t {t} triangles {triangles}: {w} {exact}");
            // a plate 1700 times as wide as thick is past any top
            let near = if t < 1.0 { 1e-2 } else { 3e-3 };
            // modes in the plane, held at three nodes only, lie between them
            let found = lowest(&r, &held, 14);
            for e in &frequencies[..8] {
                let off = found.iter().map(|f| (f / e - 1.0).abs()).fold(f64::INFINITY, f64::min);
                assert!(off < near, "t {t} triangles {triangles}: {e} Hz exact, found {found:?}");
            }
        }
    }
}

/// NAFEMS FV12, a free thin square plate (10 m, 50 mm, E 200 GPa, nu 0.3, 8000 kg/m3): its target values in Hz of modes 4 to 10 (The
/// Standard NAFEMS Benchmarks, 1990, from memory) come from Ritz's upper bounds (Leissa 1973); converged ones are
/// lambda sqrt(D / (rho h)) / (2 pi a^2) with lambda = 13.468, 19.596, 24.270, 34.801, 34.801, 61.093 (Liew, Xiang and Kitipornchai
/// 1993, thin limit, from memory).
#[test]
fn free_square_plate_fv12() {
    let e = 200e3;
    let g = e / 2.6;
    let law = PlateLaw::orthotropic([e, e], 0.3, g, [g, g], 8e-9, 0.0);
    let by = (200e9 * 0.05_f64.powi(3) / (12.0 * 0.91) / 400.0).sqrt() / (2.0 * std::f64::consts::PI * 100.0);
    for triangles in [false, true] {
        let r = plain(rectangle(10_000.0, 10_000.0, 6, 6, triangles), law, 50.0);
        let plan = r.plan(&[]);
        let mass = r.mass_by(&plan);
        let shift = (2.0 * std::f64::consts::PI * 0.5_f64).powi(2);
        let factor = r.factor_by(plan, Some((&mass, shift))).unwrap();
        let modes = factor.modes(&mass, shift, 12).unwrap();
        let hz: Vec<f64> = modes.iter().map(|m| m.omega_squared.max(0.0).sqrt() / (2.0 * std::f64::consts::PI)).collect();
        assert!(hz[5] < 1e-3, "six rigid motions: {hz:?}");
        let converged = [13.468, 19.596, 24.270, 34.801, 34.801, 61.093].map(|l| l * by);
        for (f, (target, e)) in hz[6..].iter().zip([1.622, 2.360, 2.922, 4.233, 4.233, 7.416].iter().zip(converged)) {
            assert!((f / e - 1.0).abs() < 4e-3, "triangles {triangles}: {f} Hz, {e} converged: {hz:?}");
            assert!(*f < target * 1.002, "triangles {triangles}: {f} Hz, upper bound {target}");
        }
    }
}

/// NAFEMS FV52, a simply supported thick square plate (10 m, 1 m, E 200 GPa, nu 0.3, 8000 kg/m3): 45.897 Hz for the first bending mode
/// in closed form, 109.44 Hz for the next two (NAFEMS, from memory).
#[test]
fn thick_square_plate_fv52() {
    let e = 200e3;
    let g = e / 2.6;
    let law = PlateLaw::orthotropic([e, e], 0.3, g, [g, g], 8e-9, 0.0);
    for triangles in [false, true] {
        let r = plain(rectangle(10_000.0, 10_000.0, 6, 6, triangles), law, 1000.0);
        let mut held = navier_held(&r, 10_000.0, 10_000.0);
        // only bending: nothing moves in the plane of the middle; the face moves as the turn does
        held.retain(|h| !rigid(&r).contains(h));
        let all = lowest(&r, &[held, rigid(&r)].concat(), 12);
        for target in [45.897, 109.44] {
            let near = all.iter().map(|f| (f / target - 1.0).abs()).fold(f64::INFINITY, f64::min);
            assert!(near < 0.015, "triangles {triangles}: {target} not among {all:?}");
        }
    }
}
