//! The row of cells beside each brace.

use super::bands::{Band, Station};
use super::{Corners, GAP_MM, ROW_MM, Sketch};
use crate::layout::{Point, apart, cross, gap_of, minus, nearest_edge};

/// Adds the cells of the rows to those of the bands, where they lie clear of all else.
pub fn beside(sketch: &Sketch, stations: &[Vec<Station>], corners: &mut Corners, quads: &mut Vec<[usize; 4]>) {
    let mut taken: Vec<[Point; 4]> = Vec::new();
    let bands: Vec<[Point; 4]> = sketch.bands.iter().map(|b| b.bar().corners()).collect();
    for (i, (band, list)) in sketch.bands.iter().zip(stations).enumerate() {
        for side in [-1.0, 1.0] {
            for pair in list.windows(2) {
                if sketch.meetings.iter().any(|m| m.cell_of(i, pair)) {
                    continue;
                }
                let at = |s: &Station, t: f64| band.place(s.at(band.half, side * t), side * t);
                let (near, far) = (band.half, band.half + ROW_MM);
                let mut quad = [at(&pair[0], near), at(&pair[1], near), at(&pair[1], far), at(&pair[0], far)];
                if side < 0.0 {
                    quad.swap(0, 1);
                    quad.swap(2, 3);
                }
                put(sketch, &bands, i, quad, &mut taken, corners, quads);
            }
        }
        for (s, way) in [(0.0, -1.0), (band.length, 1.0)] {
            let at = |along: f64, t: f64| band.place(s + way * along, way * t);
            let quad = [at(0.0, -band.half), at(ROW_MM, -band.half), at(ROW_MM, band.half), at(0.0, band.half)];
            put(sketch, &bands, i, quad, &mut taken, corners, quads);
        }
    }
    wedges(sketch, corners, quads, &bands, &mut taken);
}

/// Between two braces that cross, the corner of each angle: a cell between the four rows' ends.
fn wedges(
    sketch: &Sketch,
    corners: &mut Corners,
    quads: &mut Vec<[usize; 4]>,
    bands: &[[Point; 4]],
    taken: &mut Vec<[Point; 4]>,
) {
    for m in &sketch.meetings {
        let [a, b] = m.bands.map(|i| &sketch.bands[i]);
        for (ta, tb) in [(1.0, 1.0), (-1.0, 1.0), (-1.0, -1.0), (1.0, -1.0)] {
            // places by how far aside of each
            let at = |u: f64, v: f64| meet(a, ta * u, b, tb * v);
            let (near, far) = ([a.half, b.half], [a.half + ROW_MM, b.half + ROW_MM]);
            let mut quad = [at(near[0], near[1]), at(far[0], near[1]), at(far[0], far[1]), at(near[0], far[1])];
            if cross(minus(quad[1], quad[0]), minus(quad[2], quad[0])) < 0.0 {
                quad.swap(1, 3);
            }
            put(sketch, bands, m.bands[0], quad, taken, corners, quads);
        }
    }
}

/// The point that lies `ta` aside of one band and `tb` aside of another.
fn meet(a: &Band, ta: f64, b: &Band, tb: f64) -> Point {
    let (p, q) = (a.place(0.0, ta), b.place(0.0, tb));
    let s = cross(minus(q, p), b.way) / cross(a.way, b.way);
    (p.0 + s * a.way.0, p.1 + s * a.way.1)
}

fn put(
    sketch: &Sketch,
    bands: &[[Point; 4]],
    own: usize,
    quad: [Point; 4],
    taken: &mut Vec<[Point; 4]>,
    corners: &mut Corners,
    quads: &mut Vec<[usize; 4]>,
) {
    if clear(sketch, bands, own, &quad, taken) {
        taken.push(quad);
        quads.push(quad.map(|p| corners.add(p)));
    }
}

fn clear(sketch: &Sketch, bands: &[[Point; 4]], own: usize, quad: &[Point; 4], taken: &[[Point; 4]]) -> bool {
    let well_shaped = (0..4).all(|k| {
        let (p, a, b) = (quad[k], quad[(k + 1) % 4], quad[(k + 3) % 4]);
        let (u, v) = (minus(a, p), minus(b, p));
        cross(u, v) > 0.2 * apart(a, p) * apart(b, p)
    });
    let touches = |q: &Point, all: &[Point; 4]| all.iter().any(|p| apart(*p, *q) < 1e-4);
    // beside another brace: not at all, or along it where both meet in corners of the mesh
    let beside_bands = bands.iter().enumerate().filter(|(i, _)| *i != own).all(|(i, b)| {
        let gap = gap_of(quad, b);
        let crosses = sketch.meetings.iter().any(|m| m.bands.contains(&i) && m.bands.contains(&own));
        gap > GAP_MM || (crosses && gap > -1e-6)
    });
    let beside_others = taken.iter().all(|t| {
        let gap = gap_of(quad, t);
        gap > GAP_MM || (gap > -1e-6 && quad.iter().filter(|q| touches(q, t)).count() > 0)
    });
    let inside = |p: &Point| crate::layout::inside(&sketch.outline, *p) && apart(nearest_edge(&sketch.outline, *p), *p) > GAP_MM;
    let off_hole = sketch.hole.as_ref().is_none_or(|h| {
        quad.iter().all(|p| !crate::layout::inside(h, *p) && apart(nearest_edge(h, *p), *p) > GAP_MM)
            && h.iter().all(|p| !crate::layout::inside(quad, *p))
    });
    let free_of_outline = sketch.outline.iter().all(|p| !crate::layout::inside(quad, *p));
    well_shaped && beside_bands && beside_others && quad.iter().all(inside) && off_hole && free_of_outline
}
