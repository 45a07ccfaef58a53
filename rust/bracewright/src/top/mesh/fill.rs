//! Triangles between the braces.

use std::collections::HashSet;

use spade::{AngleLimit, ConstrainedDelaunayTriangulation, Point2, RefinementParameters, Triangulation};

use super::lines::{Line, sides};
use super::{Corners, GAP_MM, MeshSize, Sketch};
use crate::error::{Error, Result};
use crate::layout::{Point, apart, crossing, inside, minus, nearest_on};

pub struct Filled {
    pub corners: Vec<Point>,
    pub triangles: Vec<[usize; 3]>,
}

/// Angle that triangles are refined to, degrees, where lines of the mesh allow.
const ANGLE_DEG: f64 = 20.0;
/// Least area that is refined, mm2.
const LEAST_MM2: f64 = 6.0;
/// Most corners that refining adds.
const MOST_ADDED: usize = 60_000;

fn failed(what: &str, p: Point) -> Error {
    Error::AtPlace { problem: format!("the top could not be meshed: {what}; move what lies there apart"), x_mm: p.0, y_mm: p.1 }
}

pub fn between(
    sketch: &Sketch,
    size: MeshSize,
    mut corners: Corners,
    quads: &[[usize; 4]],
    left_out: &mut Vec<(Point, String)>,
) -> Result<Filled> {
    let mut edges: HashSet<(usize, usize)> = HashSet::new();
    let mut add = |a: usize, b: usize| {
        if a != b {
            edges.insert((a.min(b), a.max(b)));
        }
    };
    for q in quads {
        (0..4).for_each(|k| add(q[k], q[(k + 1) % 4]));
    }
    for polygon in std::iter::once(&sketch.outline).chain(&sketch.hole) {
        let list: Vec<usize> = polygon.iter().map(|p| corners.add(*p)).collect();
        (0..list.len()).for_each(|k| add(list[k], list[(k + 1) % list.len()]));
    }
    let of_cells: Vec<[Point; 4]> = quads.iter().map(|q| q.map(|k| corners.at[k])).collect();
    let mut of_areas: HashSet<(usize, usize)> = HashSet::new();
    for area in &sketch.areas {
        for line in sides(area) {
            for (from, to) in free_parts(line, &of_cells, sketch, left_out) {
                let n = (apart(from, to) / size.triangle_mm).ceil().max(1.0);
                let mut last = snapped(&mut corners, from);
                for k in 1..=n as usize {
                    let t = k as f64 / n;
                    let p = (from.0 + t * (to.0 - from.0), from.1 + t * (to.1 - from.1));
                    let next = snapped(&mut corners, p);
                    let (a, b) = (corners.at[last], corners.at[next]);
                    // a side of a cell may be crossed by a line that was moved to a corner
                    let blocked = edges.iter().any(|(i, j)| {
                        let (p, q) = (corners.at[*i], corners.at[*j]);
                        ![*i, *j].contains(&last) && ![*i, *j].contains(&next) && crossing(a, b, p, q).is_some()
                    });
                    if !blocked && last != next {
                        of_areas.insert((last.min(next), last.max(next)));
                    }
                    last = next;
                }
            }
        }
    }
    joined(&mut corners, &mut of_areas);
    edges.extend(of_areas);
    let vertices: Vec<Point2<f64>> = corners.at.iter().map(|p| Point2::new(p.0, p.1)).collect();
    let mut list: Vec<[usize; 2]> = edges.iter().map(|(a, b)| [*a, *b]).collect();
    list.sort_unstable();
    let mut conflict = None;
    let mut cdt = ConstrainedDelaunayTriangulation::<Point2<f64>>::try_bulk_load_cdt(vertices, list, |edge| {
        conflict.get_or_insert(edge);
    })
    .map_err(|e| failed(&e.to_string(), corners.at.first().copied().unwrap_or((0.0, 0.0))))?;
    if let Some([a, b]) = conflict {
        let (p, q) = (corners.at[a], corners.at[b]);
        return Err(failed("two lines of it cross", (0.5 * (p.0 + q.0), 0.5 * (p.1 + q.1))));
    }
    let area = 0.433 * size.triangle_mm * size.triangle_mm;
    let done = cdt.refine(
        RefinementParameters::new()
            .with_angle_limit(AngleLimit::from_deg(ANGLE_DEG))
            .with_min_required_area(LEAST_MM2)
            .with_max_allowed_area(area)
            .with_max_additional_vertices(MOST_ADDED)
            .keep_constraint_edges(),
    );
    let all: Vec<Point> = cdt.vertices().map(|v| (v.position().x, v.position().y)).collect();
    if !done.refinement_complete {
        return Err(failed("its triangles do not come to an end", sketch.outline[0]));
    }
    let mut triangles = Vec::new();
    for face in cdt.inner_faces() {
        let t = face.vertices().map(|v| v.fix().index());
        let [a, b, c] = t.map(|k| all[k]);
        let m = ((a.0 + b.0 + c.0) / 3.0, (a.1 + b.1 + c.1) / 3.0);
        let kept = inside(&sketch.outline, m)
            && sketch.hole.as_ref().is_none_or(|h| !inside(h, m))
            && !of_cells.iter().any(|q| inside(q, m));
        if kept {
            triangles.push(t);
        }
    }
    Ok(Filled { corners: all, triangles })
}

/// A corner so near to a line is one of it, mm.
const ON_MM: f64 = 0.6;
/// Most splits of lines.
const MOST_SPLITS: usize = 2000;

/// Splits lines where they cross and where a corner lies on one, so that none runs beside another or past a corner.
fn joined(corners: &mut Corners, lines: &mut HashSet<(usize, usize)>) {
    for _ in 0..MOST_SPLITS {
        let mut all: Vec<(usize, usize)> = lines.iter().copied().collect();
        all.sort_unstable();
        let mut done = true;
        for &(i, j) in &all {
            let (a, b) = (corners.at[i], corners.at[j]);
            let on = (0..corners.at.len()).filter(|k| *k != i && *k != j).find(|k| {
                let p = corners.at[*k];
                let q = nearest_on(p, a, b);
                apart(p, q) < ON_MM && apart(q, a) > 1e-9 && apart(q, b) > 1e-9
            });
            let split = on.or_else(|| {
                all.iter().filter(|(k, l)| ![i, j].contains(k) && ![i, j].contains(l)).find_map(|&(k, l)| {
                    let (t, u) = crossing(a, b, corners.at[k], corners.at[l])?;
                    let inner = |v: f64| v > 1e-9 && v < 1.0 - 1e-9;
                    (inner(t) || inner(u)).then(|| snapped(corners, (a.0 + t * (b.0 - a.0), a.1 + t * (b.1 - a.1))))
                })
            });
            if let Some(k) = split.filter(|k| *k != i && *k != j) {
                lines.remove(&(i, j));
                for (p, q) in [(i, k), (k, j)] {
                    lines.insert((p.min(q), p.max(q)));
                }
                done = false;
                break;
            }
        }
        if done {
            return;
        }
    }
}

/// A corner that lies near, or a new one.
fn snapped(corners: &mut Corners, p: Point) -> usize {
    let near = (0..corners.at.len()).map(|k| (apart(corners.at[k], p), k)).min_by(|a, b| a.0.total_cmp(&b.0));
    match near {
        Some((d, k)) if d < 1.5 * GAP_MM => k,
        _ => corners.add(p),
    }
}

/// Shortest part of a line that is kept, mm, and how far it stays off a side of a cell that it does not meet in a corner.
const SHORTEST_MM: f64 = 4.0;
const OFF_MM: f64 = 2.5;

/// The parts of a line that lie in no cell, drawn back from where they would meet a side of one between its corners.
fn free_parts(line: Line, cells: &[[Point; 4]], sketch: &Sketch, left_out: &mut Vec<(Point, String)>) -> Vec<(Point, Point)> {
    let Line { from, to } = line;
    let length = apart(from, to);
    if length < 1e-6 {
        return Vec::new();
    }
    let at = |t: f64| (from.0 + t * (to.0 - from.0), from.1 + t * (to.1 - from.1));
    let mut breaks = vec![0.0, 1.0];
    for q in cells.iter().map(|q| &q[..]).chain([&sketch.outline[..]]).chain(sketch.hole.as_deref()) {
        for Line { from: a, to: b } in sides(q) {
            breaks.extend(crossing(from, to, a, b).map(|c| c.0));
        }
    }
    breaks.sort_by(f64::total_cmp);
    breaks.dedup_by(|a, b| (*a - *b).abs() * length < 1e-6);
    let open = |p: Point| {
        !cells.iter().any(|q| inside(q, p)) && inside(&sketch.outline, p) && sketch.hole.as_ref().is_none_or(|h| !inside(h, p))
    };
    let corner = |p: Point| cells.iter().flatten().any(|q| apart(*q, p) < 1e-4);
    let on_side = |p: Point| {
        cells
            .iter()
            .map(|q| &q[..])
            .chain([&sketch.outline[..]])
            .chain(sketch.hole.as_deref())
            .any(|q| sides(q).any(|s| apart(nearest_on(p, s.from, s.to), p) < OFF_MM))
    };
    let mut out: Vec<(f64, f64)> = Vec::new();
    for w in breaks.windows(2) {
        if !open(at(0.5 * (w[0] + w[1]))) {
            continue;
        }
        match out.last_mut() {
            Some(last) if last.1 == w[0] => last.1 = w[1],
            _ => out.push((w[0], w[1])),
        }
    }
    out.into_iter()
        .filter_map(|(a, b)| {
            let step = OFF_MM / length;
            let (mut a, mut b) = (a, b);
            if !corner(at(a)) {
                while a < b && on_side(at(a)) {
                    a += 0.2 * step;
                }
            }
            if !corner(at(b)) {
                while a < b && on_side(at(b)) {
                    b -= 0.2 * step;
                }
            }
            // all along it a little off every side
            let n = 24;
            let near = (1..n).any(|k| {
                let t = a + (b - a) * k as f64 / n as f64;
                let from_ends = ((t - a) * length).min((b - t) * length);
                from_ends > 2.0 * OFF_MM && {
                    let p = at(t);
                    cells.iter().any(|q| sides(q).any(|s| apart(nearest_on(p, s.from, s.to), p) < 0.4 * OFF_MM))
                }
            });
            if (b - a) * length < SHORTEST_MM || near {
                if (b - a) * length > 1e-6 {
                    left_out.push((at(0.5 * (a + b)), "an edge that runs close beside a brace".into()));
                }
                return None;
            }
            Some((at(a), at(b)))
        })
        .collect()
}

/// Least angle of the triangles, degrees, and where.
pub fn least_angle(corners: &[Point], triangles: &[[usize; 3]]) -> (f64, Point) {
    let mut out = (60.0, (0.0, 0.0));
    for t in triangles {
        for k in 0..3 {
            let [p, a, b] = [t[k], t[(k + 1) % 3], t[(k + 2) % 3]].map(|i| corners[i]);
            let (u, v) = (minus(a, p), minus(b, p));
            let angle = crate::layout::cross(u, v).abs().atan2(u.0 * v.0 + u.1 * v.1).to_degrees();
            if angle < out.0 {
                out = (angle, p);
            }
        }
    }
    out
}
