//! What holds of any braced plate: derivatives are those of differences, crossings take no side, mirrored plates answer alike.
#![allow(clippy::unwrap_used)]

use bracewright::mechanics::pieces::Pieces;
use bracewright::mechanics::plate::PlateLaw;
use bracewright::mechanics::ribbed::{Cells, Joint, Parts, Rib, RibDegrees, RibLaw, Ribbed, SolidLaw};
use bracewright::mechanics::solid::{Cap, Outline, Rise, Solid};

const LONG: f64 = 120.0;
const WIDE: f64 = 100.0;

/// Orthotropic wood as a rib's law and as a solid's, L along x; Poisson's ratios nought, which costs no generality here.
fn laws(turned: bool) -> (RibLaw, SolidLaw) {
    let (el, er, et, grt, glt, glr) = (11_000.0, 900.0, 500.0, 35.0, 650.0, 700.0);
    let mut c = [[0.0; 5]; 5];
    (c[0][0], c[1][1], c[2][2], c[3][3], c[4][4]) = (el, et, glt, glr, grt);
    let mut d = [[0.0; 6]; 6];
    (d[0][0], d[1][1], d[2][2], d[3][3], d[4][4], d[5][5]) = (el, er, et, grt, glt, glr);
    if turned {
        (d[0][0], d[1][1], d[3][3], d[4][4]) = (er, el, glt, grt);
    }
    (RibLaw { c }, d)
}

/// A plate with a rib along x and one along y that cross, their crests raised by `raised` times a hat about 60 mm along the first
/// and 20 mm along the second; thickness from a function of the place.
fn crossed(outline: Outline, raised: [f64; 2], thickness: &dyn Fn([f64; 2]) -> f64) -> Ribbed {
    let x = [0.0, 20.0, 45.0, 52.0, 56.0, 64.0, 68.0, 80.0, 100.0, LONG];
    let y = [0.0, 20.0, 38.0, 42.0, 46.0, 54.0, 58.0, 70.0, 85.0, WIDE];
    let grid = Cells::grid(&x, &y);
    let n = x.len() - 1;
    // a rib's cells start along it; the crossing starts along the first rib
    let turned = |k: usize| k % n == 4 && k != 4 * n + 4;
    let cell = |(k, c): (usize, &Vec<usize>)| if turned(k) { vec![c[1], c[2], c[3], c[0]] } else { c.clone() };
    let cells = Cells::new(grid.corners.clone(), grid.cells.iter().enumerate().map(cell).collect());
    let rib = |length: f64, start: [f64; 2], direction: [f64; 2], of: Vec<usize>, by: f64, about: [f64; 3]| {
        let crest = Pieces::fit(&[0.0, about[0], about[1], about[2], length], 1e-12, |s| {
            let hat = ((s - about[0]) / (about[1] - about[0])).min((about[2] - s) / (about[2] - about[1])).max(0.0);
            12.0 - 0.03 * s + by * hat
        });
        Rib { solid: Solid::plain(crest, 8.0, outline), laws: [laws(false).0; 2], density: 4.2e-10, start, direction, cells: of }
    };
    let along: Vec<usize> = (1..n - 1).map(|i| 4 * n + i).collect();
    let across: Vec<usize> = (1..n - 1).map(|j| j * n + 4).collect();
    let ribs = vec![
        rib(80.0, [20.0, 50.0], [1.0, 0.0], along, raised[0], HATS[0]),
        rib(65.0, [60.0, 20.0], [0.0, 1.0], across, raised[1], HATS[1]),
    ];
    let joint = Joint { ribs: [0, 1], at: [3, 3], cell: 4 * n + 4, laws: [laws(false).1, laws(true).1], densities: [4.2e-10; 2] };
    let thickness = cells.nodes.iter().map(|p| thickness(*p)).collect();
    Ribbed::whole(Parts {
        cells,
        law: PlateLaw::orthotropic([11_000.0, 900.0], 0.3, 700.0, [650.0, 35.0], 4.2e-10, 0.3),
        thickness,
        arch: [0.0; 3],
        ribs,
        degrees: RibDegrees::RICH,
        joints: vec![joint],
        patches: vec![],
        edges: vec![],
    })
}

/// Along the first rib a hat over the crossing and beyond, along the second one beside it.
const HATS: [[f64; 3]; 2] = [[25.0, 40.0, 60.0], [0.0, 18.0, 26.0]];

fn held(r: &Ribbed) -> Vec<usize> {
    let on = |p: &[f64; 2]| p[0] < 1e-9 || p[0] > LONG - 1e-9 || p[1] < 1e-9 || p[1] > WIDE - 1e-9;
    let nodes = &r.cells().nodes;
    (0..nodes.len()).filter(|n| on(&nodes[*n])).flat_map(|n| r.all_of(n)).collect()
}

/// Deflection beside the crossing under a patch, and the first three frequencies squared.
fn answers(r: &Ribbed) -> Vec<f64> {
    let plan = r.plan(&held(r));
    let mass = r.mass_by(&plan);
    let factor = r.factor_by(plan, None).unwrap();
    let u = factor.solve(&r.pressed([30.0, 70.0], [30.0, 60.0], 20.0));
    let read = r.deflection_at([70.0, 40.0]).unwrap();
    let mut out = vec![read.iter().zip(&u).map(|(a, b)| a * b).sum()];
    out.extend(factor.modes(&mass, 0.0, 3).unwrap().iter().map(|m| m.omega_squared));
    out
}

/// The same derivatives from the adjoint: to the height of a rib, or to the thickness at every corner.
fn derivatives(r: &Ribbed, rib: Option<usize>) -> Vec<Vec<f64>> {
    let plan = r.plan(&held(r));
    let mass = r.mass_by(&plan);
    let factor = r.factor_by(plan, None).unwrap();
    let (load, read) = (r.pressed([30.0, 70.0], [30.0, 60.0], 20.0), r.deflection_at([70.0, 40.0]).unwrap());
    let mut states = factor.solve_all(&[&load, &read]);
    let modes = factor.modes(&mass, 0.0, 3).unwrap();
    states.extend(modes.iter().map(|m| m.shape.clone()));
    let list: Vec<&[f64]> = states.iter().map(Vec::as_slice).collect();
    let pairs = [(1, 0), (2, 2), (3, 3), (4, 4)];
    let change = |p: &[[f64; 2]]| -> Vec<f64> {
        let mut out = vec![-p[0][0]];
        out.extend(modes.iter().zip(&p[1..]).map(|(m, p)| p[0] - m.omega_squared * p[1]));
        out
    };
    match rib {
        Some(rib) => r.rib_slopes(rib, &HATS[rib], &list, &pairs).iter().map(|s| change(&s.of_pairs)).collect(),
        None => r.plate_slopes(&list, &pairs).iter().map(|s| change(&s.0)).collect(),
    }
}

#[test]
fn height_derivatives_are_those_of_differences() {
    for outline in [Outline::Sides(1.0), Outline::Sides(0.6), Outline::Capped(Cap::Power(0.5), Rise::Fraction(0.4))] {
        let even = |_: [f64; 2]| 2.8;
        let r = crossed(outline, [0.0; 2], &even);
        let all = [0, 1].map(|rib| derivatives(&r, Some(rib))[1].clone());
        for rib in 0..2 {
            let by = |v: f64| if rib == 0 { [v, 0.0] } else { [0.0, v] };
            let of = |step: f64| {
                let (more, less) = (answers(&crossed(outline, by(step), &even)), answers(&crossed(outline, by(-step), &even)));
                more.iter().zip(&less).map(|(a, b)| (a - b) / (2.0 * step)).collect::<Vec<f64>>()
            };
            // two steps, so that they may be long enough to keep their digits
            let (one, two) = (of(0.03), of(0.06));
            for (k, d) in all[rib].iter().enumerate() {
                let differences = (4.0 * one[k] - two[k]) / 3.0;
                // a hat that does next to nothing is held to what the other does: differences lose digits
                let size = all.iter().fold(0.0_f64, |m, a| m.max(a[k].abs()));
                assert!((d - differences).abs() < 1e-6 * size, "{outline:?} rib {rib} answer {k}: {d} {differences}");
            }
        }
    }
}

#[test]
fn thickness_derivatives_are_those_of_differences() {
    let outline = Outline::Sides(1.0);
    let sloping = |p: [f64; 2]| 2.6 + 0.002 * p[0] - 0.001 * p[1];
    let r = crossed(outline, [0.0; 2], &sloping);
    let all = derivatives(&r, None);
    // thicker everywhere, and along a slope: both straight over every cell
    for direction in [|_: [f64; 2]| 1.0, |p: [f64; 2]| p[0] / LONG] {
        let step = 1e-3;
        let answers = |by: f64| answers(&crossed(outline, [0.0; 2], &|p| sloping(p) + by * direction(p)));
        let (more, less) = (answers(step), answers(-step));
        for k in 0..4 {
            let found: f64 = r.cells().corners.iter().zip(&all).map(|(p, d)| direction(*p) * d[k]).sum();
            let differences = (more[k] - less[k]) / (2.0 * step);
            assert!((found / differences - 1.0).abs() < 1e-6, "answer {k}: {found} {differences}");
        }
    }
}
