//! Depths at several places that bring several goals nearest their middles: a small quadratic programme.

use crate::mechanics::dense::{Square, solve};

/// What a gram costs, in hundredths of the half window that the best place moves by a gram: little enough that no goal is missed
/// for it by more than a hundredth of its window.
const PRICE: f64 = 0.01;
/// How much dearer a place gets by the mm: one that gives a fifth less per gram waits until the best is about a mm down, and
/// places alike share.
const DEARER_PER_MM: f64 = 0.25;
/// Most changes of the set of limits that are touched.
const MOST_CHANGES: usize = 400;

/// The lines the goals are drawn by, and what limits the depths.
pub(super) struct Balance<'a> {
    /// What each goal misses at `from_mm`, in half widths of its window.
    pub miss: &'a [f64],
    /// Half widths by the mm, for each place and goal.
    pub per_mm: &'a [Vec<f64>],
    /// Depths at which the lines are drawn, mm.
    pub from_mm: &'a [f64],
    /// Grams by the mm of each place.
    pub grams: &'a [f64],
    /// Part of each layer at each station.
    pub at: &'a [&'a [f64]],
    /// What may come off at each station, mm.
    pub most_mm: &'a [f64],
    /// What each place may lose, mm; nothing where it is not to be cut.
    pub upper_mm: &'a [f64],
}

impl Balance<'_> {
    /// The depths, mm: least sum of squared misses and of the price of the wood, no station lowered by more than it may be. By the
    /// active set method (Nocedal and Wright, Numerical Optimization, section 16.5), which starts at no cut and keeps every
    /// limit on its way.
    pub fn depths_mm(&self) -> Vec<f64> {
        let free: Vec<usize> = (0..self.grams.len()).filter(|i| self.upper_mm[*i] > 0.0).collect();
        let n = free.len();
        let mut out = vec![0.0; self.grams.len()];
        if n == 0 {
            return out;
        }
        let goals = self.miss.len();
        // what is missing with no cut, by these lines
        let miss: Vec<f64> = (0..goals)
            .map(|k| self.miss[k] + (0..self.grams.len()).map(|i| self.per_mm[i][k] * self.from_mm[i]).sum::<f64>())
            .collect();
        let grams: Vec<f64> = free.iter().map(|i| self.grams[*i].max(1e-6)).collect();
        let size = |i: usize| self.per_mm[i].iter().map(|c| c * c).sum::<f64>().sqrt();
        let price = free.iter().zip(&grams).map(|(i, g)| PRICE * size(*i) / g).fold(1e-6, f64::max);
        let mut hessian = Square::zeros(n);
        for a in 0..n {
            for b in 0..n {
                hessian[(a, b)] = 2.0 * (0..goals).map(|k| self.per_mm[free[a]][k] * self.per_mm[free[b]][k]).sum::<f64>();
            }
            hessian[(a, a)] += 2.0 * DEARER_PER_MM * price * grams[a];
        }
        let pull: Vec<f64> =
            (0..n).map(|a| 2.0 * (0..goals).map(|k| self.per_mm[free[a]][k] * miss[k]).sum::<f64>() - price * grams[a]).collect();
        // rows: no depth under nothing nor over its own limit, no station over what it may lose
        let stations: Vec<usize> = (0..self.most_mm.len()).filter(|s| free.iter().any(|i| self.at[*i][*s] > 1e-9)).collect();
        let mut rows: Vec<(Vec<f64>, f64)> =
            (0..n).map(|a| ((0..n).map(|b| if a == b { -1.0 } else { 0.0 }).collect(), 0.0)).collect();
        let own = |a: usize| (0..n).map(|b| if a == b { 1.0 } else { 0.0 }).collect();
        rows.extend((0..n).filter(|a| self.upper_mm[free[*a]].is_finite()).map(|a| (own(a), self.upper_mm[free[a]])));
        rows.extend(stations.iter().map(|s| (free.iter().map(|i| self.at[*i][*s]).collect(), self.most_mm[*s].max(0.0))));
        for (a, d) in active_set(&hessian, &pull, &rows).into_iter().enumerate() {
            out[free[a]] = d.max(0.0);
        }
        // rounding, and a search that ran out of changes
        let over = (0..self.most_mm.len())
            .map(|s| (free.iter().map(|i| self.at[*i][s] * out[*i]).sum::<f64>(), self.most_mm[s].max(0.0)))
            .filter(|(sum, _)| *sum > 1e-12)
            .map(|(sum, most)| most / sum)
            .fold(1.0, f64::min);
        out.iter_mut().for_each(|d| *d *= over);
        out
    }
}

/// Least of x H x / 2 - pull x under row x <= most, from x = 0, which has to be allowed.
fn active_set(hessian: &Square, pull: &[f64], rows: &[(Vec<f64>, f64)]) -> Vec<f64> {
    let n = pull.len();
    let dot = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(x, y)| x * y).sum::<f64>();
    let mut x = vec![0.0; n];
    let mut held: Vec<usize> = Vec::new();
    for _ in 0..MOST_CHANGES {
        let m = n + held.len();
        let mut kkt = Square::zeros(m);
        let mut right = vec![0.0; m];
        for a in 0..n {
            for b in 0..n {
                kkt[(a, b)] = hessian[(a, b)];
            }
            right[a] = pull[a] - (0..n).map(|b| hessian[(a, b)] * x[b]).sum::<f64>();
            for (k, r) in held.iter().enumerate() {
                kkt[(a, n + k)] = rows[*r].0[a];
                kkt[(n + k, a)] = rows[*r].0[a];
            }
        }
        let Some(step) = solve(&kkt, &right) else { break };
        let (step, force) = step.split_at(n);
        if step.iter().all(|s| s.abs() < 1e-9) {
            // the limit that pulls the wrong way is let go; none: this is the least
            let Some((k, worst)) = force.iter().enumerate().min_by(|a, b| a.1.total_cmp(b.1)) else { break };
            if *worst >= -1e-10 {
                break;
            }
            held.remove(k);
            continue;
        }
        let mut part = (1.0, None);
        for (r, (row, most)) in rows.iter().enumerate().filter(|(r, _)| !held.contains(r)) {
            let along = dot(row, step);
            if along > 1e-12 {
                let t = ((most - dot(row, &x)) / along).max(0.0);
                if t < part.0 {
                    part = (t, Some(r));
                }
            }
        }
        x.iter_mut().zip(step).for_each(|(v, s)| *v += part.0 * s);
        held.extend(part.1);
    }
    x
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        /// The least of a convex function in a box cut by a plane: no allowed point drawn anywhere lies lower.
        #[test]
        fn no_allowed_point_is_lower(
            root in prop::collection::vec(-1.0..1.0_f64, 9),
            pull in prop::collection::vec(-3.0..3.0_f64, 3),
            row in prop::collection::vec(0.0..1.0_f64, 3),
            most in 0.0..1.5_f64,
            drawn in prop::collection::vec(prop::collection::vec(0.0..2.0_f64, 3), 60),
        ) {
            let mut h = Square::zeros(3);
            for a in 0..3 {
                for b in 0..3 {
                    h[(a, b)] = (0..3).map(|k| root[3 * k + a] * root[3 * k + b]).sum::<f64>() + if a == b { 0.1 } else { 0.0 };
                }
            }
            let mut rows: Vec<(Vec<f64>, f64)> =
                (0..3).map(|a| ((0..3).map(|b| if a == b { -1.0 } else { 0.0 }).collect(), 0.0)).collect();
            rows.push((row, most));
            let value = |x: &[f64]| {
                (0..3).map(|a| 0.5 * x[a] * (0..3).map(|b| h[(a, b)] * x[b]).sum::<f64>() - pull[a] * x[a]).sum::<f64>()
            };
            let allowed = |x: &[f64]| rows.iter().all(|(r, m)| r.iter().zip(x).map(|(a, b)| a * b).sum::<f64>() <= m + 1e-9);
            let found = active_set(&h, &pull, &rows);
            prop_assert!(allowed(&found), "{found:?}");
            for x in drawn.iter().filter(|x| allowed(x)) {
                prop_assert!(value(&found) <= value(x) + 1e-7, "{found:?} {x:?}");
            }
        }
    }
}
