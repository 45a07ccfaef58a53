//! Where the beam is cut finer: layers and short elements around the corners of a notch.
//!
//! Stress grows without bound towards a re-entrant corner, and no polynomial through the whole height follows it. Layers
//! and elements shrink towards each corner in a geometric row, the elements longer than the layers because wood carries
//! a disturbance further along the grain than across it.

use super::Degrees;
use super::through::{Through, anchors, range};
use crate::mechanics::solid::Solid;

/// How finely corners are cut.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Grading {
    /// Degrees in a layer, along the brace and across the height.
    along: usize,
    across: usize,
    /// Each layer, and each element, is this part of the next one away from the corner.
    part: f64,
    /// Layers on each side of a corner besides the outermost.
    layers: i32,
    /// Length of the element at a wall over the height of the layer at its corner.
    stretch: f64,
    /// Length of the layered zone on either side of a wall, in heights.
    reach: f64,
}

impl Grading {
    fn of(d: Degrees) -> Self {
        // two layers of degree 4 and 3 leave 0.04 % of the deflection of a half-height notch, one 0.18 %
        let (layers, along, across) = match d.along {
            ..=4 => (1, d.along.max(1), d.across.clamp(1, 3)),
            5..=6 => (2, 4, d.across.clamp(1, 3)),
            _ => (3, 5, d.across.clamp(1, 4)),
        };
        Self { along, across, part: 0.15, layers, stretch: 2.0, reach: 1.5 }
    }

    /// Borders at growing distances from a corner in a stretch of height `length`, as parts of it.
    fn row(&self, smallest: f64, length: f64) -> Vec<f64> {
        let mut out = Vec::new();
        let mut d = smallest / length;
        while d < 0.5 {
            out.push(d);
            d /= self.part;
        }
        out
    }
}

/// One end of a notch.
#[derive(Debug, Clone, PartialEq)]
struct Wall {
    x: f64,
    /// A place beside it, outside the notch and inside it.
    beside: [f64; 2],
    /// The layered zone, from the end of its outer part to the end of its inner part.
    zone: [f64; 2],
    /// True when wood stands below the lowest, or above the highest, of what the notch leaves.
    below: bool,
    above: bool,
    /// Layer borders outside, counted on the anchors inside with those two added.
    marks: Vec<f64>,
}

/// Everything that is cut finer.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Corners {
    degrees: Degrees,
    grading: Grading,
    walls: Vec<Wall>,
    /// For each wall, the layer borders inside its notch.
    inner: Vec<Vec<f64>>,
    /// Element lines this takes.
    pub lines: Vec<f64>,
    /// Longest element near a wall.
    step: f64,
}

/// Least part of the height that a cut must take, or leave, to be resolved.
const LEAST_CUT: f64 = 0.02;

/// Elements near a wall need not be shorter than this part of the greatest height but for their row towards it.
const STEP: f64 = 0.75;

impl Corners {
    pub fn new(solid: &Solid, thinnest: f64, longest: f64, degrees: Degrees) -> Self {
        let grading = Grading::of(degrees);
        let (a, b) = solid.ends();
        let tallest = solid.tallest();
        let step = longest.max(STEP * tallest);
        let mut out = Self { degrees, grading, walls: Vec::new(), inner: Vec::new(), lines: Vec::new(), step };
        let edges: Vec<f64> = solid.notches.iter().flat_map(|n| [n.start, n.end]).filter(|x| *x > a && *x < b).collect();
        for n in &solid.notches {
            let (start, end) = (n.start.max(a), n.end.min(b));
            let middle = 0.5 * (start + end);
            let low = solid.crest.extremes(start, end).0.1;
            let gap = n.strip > 0.0 && !n.filled && n.high >= low;
            let level = if n.low > 0.0 { n.low } else { n.high };
            if end <= start || gap || !(level > LEAST_CUT * low && level < (1.0 - LEAST_CUT) * low) {
                continue;
            }
            let heights: Vec<f64> = anchors(solid, thinnest, middle, middle).iter().map(|a| a[0]).collect();
            let foot = solid.arch.as_ref().map_or(0.0, |p| p.at(middle));
            let whole = [foot, foot + solid.crest.at(middle)];
            for (x, sign) in [(n.start, -1.0), (n.end, 1.0)] {
                if x <= a || x >= b {
                    continue;
                }
                // half of what lies between this wall and the next one, or the brace's end
                let next = edges.iter().filter(|e| (**e - x) * sign > 0.0).map(|e| 0.5 * (e - x).abs());
                let outer = next.fold(if sign < 0.0 { x - a } else { b - x }, f64::min).min(grading.reach * tallest);
                let inner = (grading.reach * tallest).min(0.5 * (n.end - n.start));
                if outer < LEAST_CUT * tallest {
                    continue;
                }
                out.wall(&heights, whole, x, sign, [outer, inner]);
            }
        }
        out
    }

    /// Adds the wall at x: the heights that layers meet at inside, and the bottom and top that the notch was cut from.
    fn wall(&mut self, inner: &[f64], whole: [f64; 2], x: f64, sign: f64, reach: [f64; 2]) {
        let g = self.grading;
        let beside = [x + 1e-6 * sign * reach[0], x - 1e-6 * sign * reach[1]];
        let tol = LEAST_CUT * (whole[1] - whole[0]);
        let last = inner.len() - 1;
        let (below, above) = (whole[0] < inner[0] - tol, whole[1] > inner[last] + tol);
        let mut all = inner.to_vec();
        if below {
            all.insert(0, whole[0]);
        }
        if above {
            all.push(whole[1]);
        }
        // a corner is where the two sides differ: every height but the outermost two
        let count = all.len();
        let corner = |k: usize| k > 0 && k + 1 < count;
        let mut marks = vec![0.0];
        let mut finest = f64::INFINITY;
        for k in 0..count - 1 {
            let length = all[k + 1] - all[k];
            let least = |c: usize| g.part.powi(g.layers) * (all[c] - all[c - 1]).min(all[c + 1] - all[c]);
            if corner(k) {
                finest = finest.min(least(k));
                marks.extend(g.row(least(k), length).iter().map(|d| k as f64 + d));
            }
            if corner(k + 1) {
                finest = finest.min(least(k + 1));
                marks.extend(g.row(least(k + 1), length).iter().rev().map(|d| (k + 1) as f64 - d));
            }
            marks.push((k + 1) as f64);
        }
        marks.sort_by(f64::total_cmp);
        let shift = f64::from(u8::from(below));
        let within = |m: f64| m >= shift && m <= shift + last as f64;
        self.inner.push(marks.iter().filter(|m| within(**m)).map(|m| m - shift).collect());
        let top = if above { count - 1 } else { (0..count).rev().find(|&k| all[k] <= whole[1] + tol).unwrap_or(count - 1) };
        marks.retain(|m| *m <= top as f64);
        for (s, reach) in [(sign, reach[0]), (-sign, reach[1])] {
            let mut d = g.stretch * finest;
            while d < 0.7 * reach {
                self.lines.push(x + s * d);
                d = (d / g.part).min(d + self.step);
            }
            self.lines.push(x + s * reach);
        }
        let zone = [x + sign * reach[0], x - sign * reach[1]];
        self.walls.push(Wall { x, beside, zone, below, above, marks });
    }

    /// Lines that all but meet a wall, moved onto it.
    pub fn snapped(&self, lines: &[f64], gap: f64) -> Vec<f64> {
        let onto = |x: &f64| self.walls.iter().find(|w| (w.x - x).abs() <= gap).map_or(*x, |w| w.x);
        lines.iter().map(onto).collect()
    }

    /// Longest element about x, where it would be `longest` on a plain brace.
    pub fn longest(&self, x: f64, longest: f64) -> f64 {
        let near = self.walls.iter().any(|w| (x - w.zone[0]) * (x - w.zone[1]) < 0.0);
        if near { self.step } else { longest }
    }

    /// The height basis of the element whose middle is `x`, of a solid with the notches this was made for.
    pub fn through(&self, solid: &Solid, thinnest: f64, x: f64) -> Through {
        let near = (0..self.walls.len())
            .filter(|&k| (x - self.walls[k].zone[0]) * (x - self.walls[k].zone[1]) < 0.0)
            .min_by(|&i, &j| (x - self.walls[i].x).abs().total_cmp(&(x - self.walls[j].x).abs()));
        let Some(k) = near else { return Through::plain(self.degrees.along, self.degrees.across) };
        let (w, g) = (&self.walls[k], &self.grading);
        if (x - w.x) * (w.zone[0] - w.x) < 0.0 {
            return Through { along: g.along, across: g.across, marks: self.inner[k].clone(), anchored: true };
        }
        // outside: the same heights at the wall, from there on the same parts of the height
        let r = range(solid, thinnest, w.x, w.beside[0]);
        let mut all: Vec<f64> = anchors(solid, thinnest, w.x, w.beside[1]).iter().map(|a| a[0]).collect();
        if w.below {
            all.insert(0, r[0]);
        }
        if w.above {
            all.push(r[2]);
        }
        let last = all.len() - 1;
        let height = |m: f64| {
            let i = (m.floor() as usize).min(last);
            if i == last { all[last] } else { all[i] + (m - i as f64) * (all[i + 1] - all[i]) }
        };
        let n = w.marks.len() - 1;
        let part = |i: usize, m: f64| match i {
            0 => 0.0,
            _ if i == n => 1.0,
            _ => (height(m) - r[0]) / (r[2] - r[0]),
        };
        let marks = w.marks.iter().enumerate().map(|(i, &m)| part(i, m)).collect();
        Through { along: g.along, across: g.across, marks, anchored: false }
    }
}
