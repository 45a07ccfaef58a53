//! The nodal lines of a plate's mode, as lines to draw.

use super::plate::BarePlate;

/// Cells in each direction; odd, so that a line of symmetry runs through the middle of cells.
const CELLS: usize = 49;

impl BarePlate {
    /// The place at shares `s` of the length and `t` of the width there, mm.
    pub(super) fn place(&self, s: f64, t: f64) -> (f64, f64) {
        match &self.sides {
            None => (self.length_mm * s, self.width_mm * t),
            Some(p) => {
                let last = p.x_mm.len() - 1;
                let x = p.x_mm[0] + (p.x_mm[last] - p.x_mm[0]) * s;
                let i = p.x_mm.partition_point(|&a| a <= x).clamp(1, last) - 1;
                let u = ((x - p.x_mm[i]) / (p.x_mm[i + 1] - p.x_mm[i])).clamp(0.0, 1.0);
                let at = |v: &[f64]| v[i] + u * (v[i + 1] - v[i]);
                let (low, high) = (at(&p.low_mm), at(&p.high_mm));
                (x, low + (high - low) * t)
            }
        }
    }

    /// The edge, back to where it began.
    pub(super) fn outline_mm(&self) -> Vec<(f64, f64)> {
        let shares: Vec<f64> = match &self.sides {
            None => vec![0.0, 1.0],
            Some(p) => {
                let (first, last) = (p.x_mm[0], p.x_mm[p.x_mm.len() - 1]);
                p.x_mm.iter().map(|x| (x - first) / (last - first)).collect()
            }
        };
        let mut out: Vec<(f64, f64)> = shares.iter().map(|s| self.place(*s, 0.0)).collect();
        out.extend(shares.iter().rev().map(|s| self.place(*s, 1.0)));
        out.push(out[0]);
        out
    }
}

/// Where a shape over the unit square changes its sign: crossings of the edges of cells, joined cell by cell.
pub(super) fn nodal_lines(place: impl Fn(f64, f64) -> (f64, f64), shape: impl Fn((f64, f64)) -> f64) -> Vec<Vec<(f64, f64)>> {
    let n = CELLS + 1;
    let share = |i: usize| i as f64 / CELLS as f64;
    let mut w: Vec<f64> = (0..n * n).map(|k| shape(place(share(k / n), share(k % n)))).collect();
    let most = w.iter().fold(0.0_f64, |a, b| a.max(b.abs()));
    // a corner of a cell that lies on a line counts to one side
    w.iter_mut().filter(|v| v.abs() < 1e-9 * most).for_each(|v| *v = 1e-9 * most);
    // an edge of a cell by its lower corner and its direction: 0 along the length, 1 across
    let edge = |i: usize, j: usize, d: usize| 2 * (i * n + j) + d;
    let other = |e: usize| (e / 2) + if e.is_multiple_of(2) { n } else { 1 };
    let crossed = |e: usize| w[e / 2] * w[other(e)] < 0.0;
    let mut neighbours: std::collections::BTreeMap<usize, Vec<usize>> = std::collections::BTreeMap::new();
    for i in 0..CELLS {
        for j in 0..CELLS {
            let around = [edge(i, j, 0), edge(i + 1, j, 1), edge(i, j + 1, 0), edge(i, j, 1)];
            let hit: Vec<usize> = around.into_iter().filter(|e| crossed(*e)).collect();
            // two lines in a cell: they cross where its middle is still, otherwise the side it takes tells which corners go together
            let pairs: Vec<(usize, usize)> = match hit[..] {
                [a, b] => vec![(a, b)],
                [a, b, c, d] => {
                    let middle = shape(place(share(i) + 0.5 / CELLS as f64, share(j) + 0.5 / CELLS as f64));
                    let least = around.iter().fold(f64::INFINITY, |m, e| m.min(w[e / 2].abs()).min(w[other(*e)].abs()));
                    if middle.abs() < 0.2 * least {
                        vec![(a, c), (b, d)]
                    } else if middle * w[i * n + j] > 0.0 {
                        vec![(a, b), (c, d)]
                    } else {
                        vec![(a, d), (b, c)]
                    }
                }
                _ => Vec::new(),
            };
            for (a, b) in pairs {
                neighbours.entry(a).or_default().push(b);
                neighbours.entry(b).or_default().push(a);
            }
        }
    }
    let point = |e: usize| {
        let (a, b) = (e / 2, other(e));
        let u = w[a] / (w[a] - w[b]);
        let mix = |i: usize, j: usize| share(i) + u * (share(j) - share(i));
        place(mix(a / n, b / n), mix(a % n, b % n))
    };
    let mut out = Vec::new();
    // from the ends at the edge first, then what closes on itself
    for closed in [false, true] {
        let starts: Vec<usize> = neighbours.iter().filter(|(_, v)| closed || v.len() == 1).map(|(e, _)| *e).collect();
        for start in starts {
            let mut line = Vec::new();
            let mut here = Some(start).filter(|e| neighbours.get(e).is_some_and(|v| !v.is_empty()));
            while let Some(e) = here {
                line.push(point(e));
                here = neighbours.get_mut(&e).and_then(Vec::pop);
                if let Some(back) = here.and_then(|next| neighbours.get_mut(&next))
                    && let Some(k) = back.iter().position(|b| *b == e)
                {
                    back.remove(k);
                }
            }
            if line.len() > 1 {
                out.push(line);
            }
        }
    }
    out
}
