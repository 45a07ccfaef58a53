//! The plate's matrix, factored.

use std::collections::HashMap;

use rayon::prelude::*;

use super::blocks::Blocks;
use super::buffer::Buffer;
use super::fronts::{Columns, Order};
use super::places::Places;
use super::vibrate::Mass;
use super::{Piece, Ribbed};

/// What of a factorisation does not depend on any dimension: pieces, what they touch, and the order in which unknowns go.
#[derive(Debug, Clone)]
pub struct Plan {
    pieces: Vec<Piece>,
    places: Vec<Places>,
    touches: Vec<Vec<usize>>,
    order: Order,
    /// Where each unknown stands in the order they go; none where it is held.
    place: Vec<Option<usize>>,
}

/// A factored plate.
#[derive(Debug, Clone)]
pub struct Factor {
    plan: Plan,
    columns: Columns,
}

impl Ribbed {
    /// The plan of a factorisation with some unknowns held at zero.
    pub fn plan(&self, held: &[usize]) -> Plan {
        let mut free = vec![true; self.unknowns];
        held.iter().for_each(|h| free[*h] = false);
        let pieces = self.pieces();
        let at: Vec<[f64; 2]> = pieces.iter().map(|p| self.middle_of(*p)).collect();
        let places: Vec<Places> = pieces.iter().map(|p| self.places(*p)).collect();
        // what nothing touches is not solved for
        let mut touched = vec![false; self.unknowns];
        places.iter().flat_map(|p| &p.to).for_each(|p| touched[p.0] = true);
        free.iter_mut().zip(&touched).for_each(|(free, touched)| *free &= touched);
        let (group_of, sizes) = self.groups(&free);
        let mut touches = Vec::with_capacity(pieces.len());
        for p in &places {
            let mut groups: Vec<usize> = p.to.iter().filter(|p| free[p.0]).map(|p| group_of[p.0]).collect();
            groups.sort_unstable();
            groups.dedup();
            touches.push(groups);
        }
        let order = Order::new(&sizes, &at, &touches);
        // the place of each unknown in the order they go
        let mut met = vec![0; sizes.len()];
        let place: Vec<Option<usize>> = group_of
            .iter()
            .zip(&free)
            .map(|(g, free)| {
                free.then(|| {
                    met[*g] += 1;
                    order.place_of(*g) + met[*g] - 1
                })
            })
            .collect();
        Plan { pieces, places, touches, order, place }
    }

    /// The stiffness factored with some unknowns held at zero; `None` where it is not held.
    pub fn factor(&self, held: &[usize]) -> Option<Factor> {
        self.factor_by(self.plan(held), None)
    }

    /// The stiffness, with a mass times so much added to it, factored by a plan made for the same pieces.
    pub fn factor_by(&self, plan: Plan, with: Option<(&Mass, f64)>) -> Option<Factor> {
        let Plan { pieces, places, touches, order, place } = &plan;
        // cells of one shape have one matrix
        let mut shapes: HashMap<Vec<i64>, usize> = HashMap::new();
        let mut first_of_shape = Vec::new();
        let mut shape_of = vec![0; pieces.len()];
        for (i, p) in pieces.iter().enumerate() {
            if let Piece::Cell { cell, .. } = *p {
                let next = first_of_shape.len();
                shape_of[i] = *shapes.entry(self.shape_of(cell)).or_insert(next);
                if shape_of[i] == next {
                    first_of_shape.push(*p);
                }
            }
        }
        let plates: Vec<Blocks> = first_of_shape.par_iter().map(|p| self.stiffness(*p)).collect();
        let element = |i: usize| {
            let all = order.places(&touches[i]);
            let mut out = match pieces[i] {
                Piece::Cell { times, .. } => gathered(&plates[shape_of[i]], &places[i], place, &all, times),
                piece => gathered(&self.stiffness(piece), &places[i], place, &all, 1.0),
            };
            if let Some((mass, by)) = with
                && let Some(m) = mass.of_piece(i)
            {
                let m = gathered(m, &places[i], place, &all, by);
                out.iter_mut().zip(m.iter()).for_each(|(k, m)| *k += m);
            }
            out
        };
        let columns = order.factor(&element)?;
        Some(Factor { columns, plan })
    }

    /// Consistent mass of the pieces of a plan.
    pub fn mass_by(&self, plan: &Plan) -> Mass {
        Mass::new(plan.pieces.par_iter().map(|p| self.mass(*p)).collect(), &plan.places, self.unknowns)
    }

    /// The group of each unknown, one for a node or a rib's station, and how many of each are free.
    fn groups(&self, free: &[bool]) -> (Vec<usize>, Vec<usize>) {
        let mut group_of = Vec::with_capacity(self.unknowns);
        let mut sizes = vec![0; self.starts.len()];
        for (g, start) in self.starts.iter().enumerate() {
            let end = self.starts.get(g + 1).copied().unwrap_or(self.unknowns);
            group_of.extend((*start..end).map(|_| g));
            sizes[g] = free[*start..end].iter().filter(|f| **f).count();
        }
        (group_of, sizes)
    }

    /// Sides of a cell, to a nanometre where lengths are mm, its thickness and whether it is cubic: what its matrix goes by. A cell
    /// that is not of one thickness goes by itself.
    fn shape_of(&self, cell: usize) -> Vec<i64> {
        let corners: Vec<[f64; 2]> = self.cells.corners_of(cell).collect();
        let nm = |v: f64| (v * 1e6).round() as i64;
        let mut out: Vec<i64> = corners[1..].iter().flat_map(|p| [nm(p[0] - corners[0][0]), nm(p[1] - corners[0][1])]).collect();
        out.push(i64::from(self.cubic_cell[cell]));
        let nodes = &self.cells.of_cell[cell];
        let t = self.thickness[nodes[0]];
        out.push(t.to_bits() as i64);
        if nodes.iter().any(|n| self.thickness[*n] != t) {
            out.push(cell as i64);
        }
        out
    }
}

/// A piece's matrix over the unknowns of the groups it touches in the order they go, column by column, lower triangle.
fn gathered(k: &Blocks, places: &Places, place: &[Option<usize>], all: &[usize], times: f64) -> Buffer {
    // places, and rows that go there with a factor, in the order they go
    let mut rows: Vec<(usize, usize, f64)> = Vec::with_capacity(places.to.len());
    for i in 0..places.len() {
        rows.extend(places.of(i).iter().filter_map(|(u, by)| Some((place[*u]?, i, *by))));
    }
    rows.sort_unstable_by_key(|r| (r.0, r.1));
    let n = all.len();
    let mut next = 0;
    for r in &mut rows {
        while all[next] < r.0 {
            next += 1;
        }
        r.0 = next;
    }
    let mut column = vec![0.0; places.len()];
    let mut out = Buffer::lower(n, n);
    let mut from = 0;
    for (at, &(q, j, b)) in rows.iter().enumerate() {
        if at > 0 && rows[at - 1].0 != q {
            from = at;
        }
        k.column(j, &mut column);
        let b = b * times;
        let into = &mut out[q * n..(q + 1) * n];
        for &(p, i, a) in &rows[from..] {
            into[p] += a * b * column[i];
        }
    }
    out
}

impl Factor {
    /// Displacements under a load.
    pub fn solve(&self, load: &[f64]) -> Vec<f64> {
        self.solve_all(&[load]).pop().unwrap_or_default()
    }

    /// Displacements under several loads at once.
    pub fn solve_all(&self, loads: &[&[f64]]) -> Vec<Vec<f64>> {
        let Plan { order, place, .. } = &self.plan;
        let n = order.unknowns();
        let mut sides = vec![0.0; n * loads.len()];
        for (side, load) in sides.chunks_exact_mut(n.max(1)).zip(loads) {
            for (place, v) in place.iter().zip(*load) {
                if let Some(p) = place {
                    side[*p] = *v;
                }
            }
        }
        order.solve(&self.columns, &mut sides);
        let back = |k: usize| place.iter().map(|p| p.map_or(0.0, |p| sides[k * n + p])).collect();
        (0..loads.len()).map(back).collect()
    }

    /// The plan it was made by.
    pub fn plan(&self) -> &Plan {
        &self.plan
    }

    /// How many unknowns were solved for.
    pub fn solved_for(&self) -> usize {
        self.plan.order.unknowns()
    }
}

impl Plan {
    /// Whether an unknown is solved for.
    pub fn free(&self, unknown: usize) -> bool {
        self.place[unknown].is_some()
    }

    /// How many unknowns are solved for.
    pub fn solved_for(&self) -> usize {
        self.order.unknowns()
    }
}
