//! From the layout to the plate with its ribs.

use std::collections::HashSet;

use super::mesh::{Band, Meeting, MeshSize, Sketch, TopMesh};
use super::{BridgePart, Rim, Top, TopOptions, at};
use crate::error::{Error, Result};
use crate::layout::{Layout, PlacedBrace, PlacedBridge, Point, apart, gap_of, inside, nearest_edge};
use crate::mechanics::plate::PlateLaw;
use crate::mechanics::ribbed::{EdgeSpring, Joint, LINE, Parts, Patch, Rib, RibDegrees, Ribbed, SIDE, within};
use crate::mechanics::solid::Solid;
use crate::wood::Wood;

/// A brace ends at least so far inside the outline, and from any other that it does not cross, mm.
const CLEAR_MM: f64 = 1.2;
/// What is tried to be cut off an end for that, mm: most, and a step.
const MOST_CUT_MM: f64 = 60.0;
const CUT_STEP_MM: f64 = 0.25;
/// Shortest brace that is meshed, mm.
const SHORTEST_MM: f64 = 12.0;
/// Change of the crest between two kinks, as a part of its greatest height, from which on several cells follow it.
const STEEP_PART: f64 = 0.1;
/// Springs of a hinged rim, N/mm2: a thousand times what a millimetre of wood would give.
const STIFF_N_MM2: f64 = 1e7;

/// Law of a quarter-sawn plate whose grain lies at `angle_deg` from the centreline; MPa and t/mm3.
pub(super) fn plate_law(wood: &Wood, angle_deg: f64) -> PlateLaw {
    PlateLaw::orthotropic(
        [1000.0 * wood.modulus_l_gpa(), 1000.0 * wood.modulus_r_gpa()],
        wood.nu_lr(),
        1000.0 * wood.shear_lr_gpa(),
        [1000.0 * wood.shear_lt_gpa(), 1000.0 * wood.shear_rt_gpa()],
        wood.density_kg_m3() * 1e-12,
        (90.0 - angle_deg).to_radians(),
    )
}

pub(super) fn built(layout: &Layout, options: &TopOptions) -> Result<Top> {
    let parts = layout.parts();
    let size = MeshSize::ORDINARY.times(1.0 / options.fineness);
    let outline = resampled(layout, size.edge_mm)?;
    let hole = match parts.hole {
        Some(h) => Some(h.points(0.25_f64.min(0.02 * size.edge_mm))?),
        None => None,
    };
    let solids = layout.braces().iter().map(|b| b.brace.solid()).collect::<Result<Vec<Solid>>>()?;
    let crosses = |i: usize, j: usize| layout.crossings().iter().any(|c| (c.first, c.second) == (i.min(j), i.max(j)));
    let mut bands = Vec::new();
    let mut starts_mm = Vec::new();
    for (i, b) in layout.braces().iter().enumerate() {
        let (from, to) = cut_ends(layout, &outline, i, &crosses)?;
        let x = |s: f64| s + b.offset_mm;
        let (kinks, steep) = crest_lines(&solids[i], x(from), x(to));
        let s = |x: f64| x - b.offset_mm - from;
        starts_mm.push(x(from));
        bands.push(Band {
            name: b.name.clone(),
            start: b.at(from),
            way: b.bar().way(),
            length: to - from,
            half: 0.5 * b.width_mm(),
            kinks: kinks.iter().map(|k| s(*k)).collect(),
            steep: steep.iter().map(|(a, b)| (s(*a), s(*b))).collect(),
        });
    }
    let meetings: Vec<Meeting> = layout
        .crossings()
        .iter()
        .map(|c| {
            let bands_of = [c.first, c.second];
            let lines = [
                super::mesh::sides_of(&bands[c.first], &bands[c.second]),
                super::mesh::sides_of(&bands[c.second], &bands[c.first]),
            ];
            Meeting { bands: bands_of, at: (c.x_mm, c.y_mm), lines }
        })
        .collect();
    let mut areas: Vec<Vec<Point>> = Vec::new();
    if let Some(b) = &parts.bridge {
        areas.push(b.foot_mm().to_vec());
    }
    areas.extend(parts.parts.iter().map(|p| p.corners_mm.clone()));
    let sketch = Sketch { outline, hole, bands, meetings, areas };
    let mesh = TopMesh::new(&sketch, size)?;
    let plate = plate(layout, options, &sketch, &mesh, &solids)?;
    let held_upright = held(&plate, &mesh, options.rim);
    let mut held = held_upright.clone();
    held.extend(against_sliding(&plate, &mesh, options.rim));
    Ok(Top { layout: layout.clone(), options: options.clone(), mesh, plate, held, held_upright, starts_mm })
}

/// The outline as a polygon with sides of much the same length, its corners kept.
fn resampled(layout: &Layout, longest: f64) -> Result<Vec<Point>> {
    let fine = layout.outline().points(0.01)?;
    let n = fine.len();
    let first = fine.iter().position(|p| p.corner).unwrap_or(0);
    let point = |k: usize| (fine[(first + k) % n].x_mm, fine[(first + k) % n].y_mm);
    let corner = |k: usize| k == n || fine[(first + k) % n].corner;
    let mut out = Vec::new();
    let mut from = 0;
    for to in (1..=n).filter(|k| corner(*k)) {
        let lengths: Vec<f64> = (from..to).map(|k| apart(point(k), point(k + 1))).collect();
        let whole: f64 = lengths.iter().sum();
        let parts = (whole / longest).ceil().max(1.0) as usize;
        let (mut k, mut gone) = (0, 0.0);
        for j in 0..parts {
            let target = whole * j as f64 / parts as f64;
            while k + 1 < lengths.len() && gone + lengths[k] < target {
                gone += lengths[k];
                k += 1;
            }
            let t = if lengths[k] > 0.0 { (target - gone) / lengths[k] } else { 0.0 };
            let (p, q) = (point(from + k), point(from + k + 1));
            out.push((p.0 + t * (q.0 - p.0), p.1 + t * (q.1 - p.1)));
        }
        from = to;
    }
    if crate::layout::signed_area(&out) < 0.0 {
        out.reverse();
    }
    Ok(out)
}

/// From where to where along its line a brace is meshed: clear of the outline and of braces it does not cross.
fn cut_ends(layout: &Layout, outline: &[Point], i: usize, crosses: &dyn Fn(usize, usize) -> bool) -> Result<(f64, f64)> {
    let b = &layout.braces()[i];
    let bar = b.bar();
    let others: Vec<[Point; 4]> =
        layout.braces().iter().enumerate().filter(|(j, _)| *j != i && !crosses(i, *j)).map(|(_, o)| o.bar().corners()).collect();
    let ends_on = |o: &PlacedBrace| [&b.at_start, &b.at_end].iter().any(|e| e.other() == Some(&o.name));
    let clear = |end: f64, way: f64| {
        // the last stretch of it
        let (a, z) = if way > 0.0 { (end - 10.0, end) } else { (end, end + 10.0) };
        let piece = [(a, -1.0), (z, -1.0), (z, 1.0), (a, 1.0)].map(|(s, t)| bar.place(s, t * bar.half));
        let last = [-1.0, 1.0].map(|t| bar.place(end, t * bar.half));
        last.iter().all(|p| inside(outline, *p) && apart(nearest_edge(outline, *p), *p) > CLEAR_MM)
            && layout
                .braces()
                .iter()
                .zip(0..)
                .filter(|(o, j)| *j != i && ends_on(o))
                .all(|(o, _)| gap_of(&piece, &o.bar().corners()) > CLEAR_MM)
            && others.iter().all(|o| gap_of(&piece, o) > 0.5 * CLEAR_MM)
    };
    let cut = |at: f64, way: f64| {
        (0..(MOST_CUT_MM / CUT_STEP_MM) as usize)
            .map(|k| k as f64 * CUT_STEP_MM)
            .find(|c| clear(at - way * c, way))
            .map(|c| at - way * c)
    };
    let l = b.length_mm();
    match (cut(0.0, -1.0), cut(l, 1.0)) {
        (Some(from), Some(to)) if to - from > SHORTEST_MM => Ok((from, to)),
        _ => {
            let m = bar.middle();
            Err(Error::AtPlace {
                problem: format!("{} lies too near the outline or another brace to be meshed; move them apart", b.name),
                x_mm: m.0,
                y_mm: m.1,
            })
        }
    }
}

/// Sharp kinks of a crest, and the stretches between them over which it changes by much.
fn crest_lines(solid: &Solid, from: f64, to: f64) -> (Vec<f64>, Vec<(f64, f64)>) {
    let kinks: Vec<f64> = solid.sharp_kinks().into_iter().filter(|x| *x > from + 1.0 && *x < to - 1.0).collect();
    let mut all = kinks.clone();
    all.extend([from, to]);
    all.sort_by(f64::total_cmp);
    let tallest = solid.tallest();
    let steep = |w: &&[f64]| {
        let at = |t: f64| solid.crest.at((w[0] + t * (w[1] - w[0])).clamp(solid.crest.start(), solid.crest.end()));
        let h = [0.0, 0.25, 0.5, 0.75, 1.0].map(at);
        h.iter().fold(0.0_f64, |m, v| m.max(*v)) - h.iter().fold(f64::MAX, |m, v| m.min(*v)) > STEEP_PART * tallest
    };
    let steep = all.windows(2).filter(steep).map(|w| (w[0], w[1])).collect();
    (kinks, steep)
}

fn plate(layout: &Layout, options: &TopOptions, sketch: &Sketch, mesh: &TopMesh, solids: &[Solid]) -> Result<Ribbed> {
    let parts = layout.parts();
    let cells = &mesh.cells;
    let mut ribs = Vec::new();
    for (i, b) in layout.braces().iter().enumerate() {
        let blank = b.brace.blank();
        let way = sketch.bands[i].way;
        ribs.push(Rib {
            solid: solids[i].clone(),
            laws: blank.rib_laws()?,
            density: blank.density_kg_m3() * 1e-12,
            start: at((b.start_mm.0 - b.offset_mm * way.0, b.start_mm.1 - b.offset_mm * way.1)),
            direction: at(way),
            cells: mesh.of_band[i].clone(),
        });
    }
    let mut joints = Vec::new();
    for (m, c) in layout.crossings().iter().enumerate() {
        let pair = [c.first, c.second];
        let first = sketch.bands[c.first].way;
        // the lower half is what is left of the brace cut from its crest
        let halves = if c.crest_cut == c.first { pair } else { [c.second, c.first] };
        let mut laws = [[[0.0; 6]; 6]; 2];
        for (law, brace) in laws.iter_mut().zip(halves) {
            let way = sketch.bands[brace].way;
            let angle = (first.0 * way.1 - first.1 * way.0).atan2(first.0 * way.0 + first.1 * way.1);
            *law = layout.braces()[brace].brace.blank().solid_law(angle)?;
        }
        let at = mesh.at_meeting[m];
        let densities = halves.map(|b| ribs[b].density);
        joints.push(Joint { ribs: pair, at, cell: mesh.of_band[c.first][at[0]], laws, densities });
    }
    let mut patches = Vec::new();
    for p in &parts.parts {
        let corners: Vec<[f64; 2]> = p.corners_mm.iter().map(|p| at(*p)).collect();
        patches.push(patch(mesh, true, plate_law(&p.wood, p.grain_angle_deg), p.thickness_mm, &corners, &mesh.of_band));
    }
    if let (Some(part), Some(placed)) = (&options.bridge, &parts.bridge) {
        let corners: Vec<[f64; 2]> = placed.foot_mm().iter().map(|p| at(*p)).collect();
        patches.push(patch(mesh, false, bridge_law(part, placed), part.thickness_mm, &corners, &[]));
    }
    patches.retain(|p| !p.cells.is_empty());
    let thickness = if parts.thickness.places_mm().is_empty() && parts.thickness.edge().is_none() {
        vec![parts.thickness.values_mm()[0]; cells.nodes.len()]
    } else {
        cells.nodes.iter().map(|p| parts.thickness.at((p[0], p[1]), layout.outline().depth((p[0], p[1])).max(0.0))).collect()
    };
    let curvature = parts.arch_radius_mm.map_or(0.0, |r| 1.0 / r);
    let edges = edges(mesh, options.rim, &thickness);
    Ok(Ribbed::whole(Parts {
        cells: cells.clone(),
        law: plate_law(&parts.wood, parts.grain_angle_deg),
        thickness,
        arch: [curvature, curvature, 0.0],
        ribs,
        degrees: RibDegrees::RICH,
        joints,
        patches,
        edges,
    }))
}

fn bridge_law(part: &BridgePart, placed: &PlacedBridge) -> PlateLaw {
    // its grain runs along the foot, across the top
    let mut law = plate_law(&part.wood, 90.0 - placed.turn_deg);
    if let Some(mass_g) = part.mass_g {
        let b = &placed.bridge;
        law.density = mass_g * 1e-6 / (b.foot_length_mm * b.foot_width_mm * part.thickness_mm);
    }
    law
}

/// Part of a cell that a flat piece must cover to count there.
const LEAST_COVERED: f64 = 0.25;

/// A flat piece over the cells it covers; on the inner face not those under braces.
fn patch(mesh: &TopMesh, inside: bool, law: PlateLaw, thickness: f64, corners: &[[f64; 2]], under: &[Vec<usize>]) -> Patch {
    let taken: HashSet<usize> = under.iter().flatten().copied().collect();
    let (mut cells, mut covered) = (Vec::new(), Vec::new());
    for c in (0..mesh.cells.cells.len()).filter(|c| !taken.contains(c)) {
        let points = mesh.cells.points(c, 4);
        let all: f64 = points.iter().map(|p| p.1).sum();
        let part = points.iter().filter(|p| within(corners, p.0.at)).map(|p| p.1).sum::<f64>() / all;
        if part > LEAST_COVERED {
            cells.push(c);
            covered.push(part);
        }
    }
    Patch { inside, law, thickness, cells, covered }
}

/// Nodes of a side of the rim, from corner to corner.
fn nodes_of(mesh: &TopMesh, [a, b]: [usize; 2]) -> Option<[usize; SIDE]> {
    let (p, q) = (mesh.cells.corners[a], mesh.cells.corners[b]);
    let cell = mesh.cells.cells.iter().position(|c| c.contains(&a) && c.contains(&b))?;
    let between = |t: f64| {
        let want = [p[0] + t * (q[0] - p[0]), p[1] + t * (q[1] - p[1])];
        mesh.cells.of_cell[cell].iter().copied().find(|n| {
            let at = mesh.cells.nodes[*n];
            (at[0] - want[0]).hypot(at[1] - want[1]) < 1e-7 * (1.0 + (q[0] - p[0]).hypot(q[1] - p[1]))
        })
    };
    Some([a, between(0.5 * (1.0 + LINE[1]))?, between(0.5 * (1.0 + LINE[2]))?, b])
}

fn edges(mesh: &TopMesh, rim: Rim, thickness: &[f64]) -> Vec<EdgeSpring> {
    let (in_plane, turn) = match rim {
        Rim::Hinged => (STIFF_N_MM2, 0.0),
        Rim::Elastic { in_plane_n_mm2, turning_n } => (in_plane_n_mm2, turning_n),
        _ => return Vec::new(),
    };
    mesh.rim
        .iter()
        .filter_map(|side| {
            let nodes = nodes_of(mesh, *side)?;
            let ends = [mesh.cells.corners[side[0]], mesh.cells.corners[side[1]]];
            Some(EdgeSpring { nodes, ends, thickness: thickness[nodes[0]], in_plane, up: 0.0, turn })
        })
        .collect()
}

/// Nodes on the rim.
fn rim_nodes(mesh: &TopMesh) -> Vec<usize> {
    let mut nodes: Vec<usize> = mesh.rim.iter().filter_map(|s| nodes_of(mesh, *s)).flatten().collect();
    nodes.sort_unstable();
    nodes.dedup();
    nodes
}

/// The unknowns held at zero at the rim.
fn held(plate: &Ribbed, mesh: &TopMesh, rim: Rim) -> Vec<usize> {
    match rim {
        Rim::Free => Vec::new(),
        Rim::Clamped => rim_nodes(mesh).into_iter().flat_map(|n| plate.all_of(n)).collect(),
        _ => rim_nodes(mesh).into_iter().map(|n| plate.deflection_of(n)).collect(),
    }
}

/// No more than keeps a top that rests from sliding and turning in its plane, where the plate is largest.
fn against_sliding(plate: &Ribbed, mesh: &TopMesh, rim: Rim) -> Vec<usize> {
    let slides = rim == Rim::Resting || matches!(rim, Rim::Elastic { in_plane_n_mm2: 0.0, .. });
    let (Some(a), Some(b), true) = (ends_of(mesh, &rim_nodes(mesh)).0, ends_of(mesh, &rim_nodes(mesh)).1, slides) else {
        return Vec::new();
    };
    let ([x, y], far) = (plate.sliding_of(a), plate.sliding_of(b));
    let d = [mesh.cells.nodes[b][0] - mesh.cells.nodes[a][0], mesh.cells.nodes[b][1] - mesh.cells.nodes[a][1]];
    vec![x, y, if d[0].abs() > d[1].abs() { far[1] } else { far[0] }]
}

/// The rim's nodes nearest to and furthest from the neck end.
fn ends_of(mesh: &TopMesh, nodes: &[usize]) -> (Option<usize>, Option<usize>) {
    let y = |n: &usize| mesh.cells.nodes[*n][1] + 1e-3 * mesh.cells.nodes[*n][0];
    let first = nodes.iter().copied().min_by(|a, b| y(a).total_cmp(&y(b)));
    (first, nodes.iter().copied().max_by(|a, b| y(a).total_cmp(&y(b))))
}
