//! Rough-carving a lot: how deep a machine or a template may take all blanks, or each grade, before the hand goes on.

use std::sync::Arc;

use rayon::prelude::*;
use serde::{Deserialize, Serialize};

use super::rough_words::{left_out, words};
use super::{Aimed, Curves, Known, Look, Prior};
use crate::advice::{Rule, Window};
use crate::error::{Error, Result, positive, within};
use crate::normal;

/// The machine, and what is known of each blank before it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct RoughCut {
    /// Allowed share of blanks past the window after the rough cut, over a grade.
    pub level: f64,
    /// Allowed chance of being past it for any one blank: a mean share may hide one that is surely ruined.
    pub blank_level: f64,
    /// Scatter of the machine, mm.
    pub machine_mm: f64,
    /// What is not known of each blank's modulus, relative: 0.12 from the species alone, 0.03 from a tap or a reading.
    pub u_modulus: f64,
    /// Uncertainty of the dial with which the hand goes on, mm.
    pub u_dial_mm: f64,
    /// Most grades to look at.
    pub most_grades: usize,
}

impl Default for RoughCut {
    /// 2 % of a grade, an even chance for any one blank; 0.1 mm; 3 %; 0.006 mm; four grades (common practice, no source).
    fn default() -> Self {
        Self { level: 0.02, blank_level: 0.5, machine_mm: 0.1, u_modulus: 0.03, u_dial_mm: 0.006, most_grades: 4 }
    }
}

/// One grade of a lot.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct RoughGrade {
    /// Blanks in it, by their place in the lot.
    pub blanks: Vec<usize>,
    /// Moduli from and to, GPa.
    pub modulus_gpa: (f64, f64),
    /// Depth of the rough cut, mm.
    pub depth_mm: f64,
    /// Share expected past the window after it.
    pub share_past: f64,
    /// The blank most likely to be past it, by its place in the lot.
    pub worst_blank: usize,
    /// That blank's own chance.
    pub worst_chance: f64,
    /// Hand passes to expect afterwards, on average over what is not past the window.
    pub hand_passes: f64,
}

/// A lot cut in so many grades.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct RoughPlan {
    /// The grades, softest wood first.
    pub grades: Vec<RoughGrade>,
    /// Hand passes to expect, on average over the lot.
    pub hand_passes: f64,
    /// Share expected past the window after the rough cut, over the lot.
    pub share_past: f64,
    /// The blank of the lot most likely to be past it, by its place.
    pub worst_blank: usize,
    /// That blank's own chance.
    pub worst_chance: f64,
}

/// A lot rough-carved: with one grade, two, and so on; and with a gauge twice as good.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct RoughCarving {
    /// One plan for each number of grades, from one.
    pub plans: Vec<RoughPlan>,
    /// The same where each blank's modulus is known twice as well.
    pub better_gauge: Vec<RoughPlan>,
    /// Blanks past the window before anything is cut, by their place in the lot; in no grade and no average.
    pub too_soft: Vec<usize>,
    /// Blanks too stiff to reach the window at the end of the plan; in no grade and no average.
    pub out_of_reach: Vec<usize>,
    /// The few soft blanks that make at least half of what goes past where all get one depth; none where no few do.
    pub set_aside: Vec<usize>,
    /// One depth for all the others, mm.
    pub depth_without_them_mm: f64,
    /// Hand passes to expect without a rough cut.
    pub hand_passes_without: f64,
    /// In a few sentences.
    pub words: String,
}

/// Points of the normal law of each blank's modulus (Gauss-Hermite).
const POINTS: [(f64, f64); 3] = [(-1.732_050_807_568_877_2, 1.0 / 6.0), (0.0, 2.0 / 3.0), (1.732_050_807_568_877_2, 1.0 / 6.0)];
/// Depths at which hand passes are counted.
const DEPTHS: usize = 25;
/// Most blanks of one lot.
const MOST: usize = 2000;
/// Fewest and most moduli at which a large lot is looked at; its blanks lie between.
const NODES: (usize, usize) = (41, 161);
/// Blanks that may be set aside, as a part of the lot.
const FEW: f64 = 0.1;
/// Depth that is worth setting them aside for, mm.
const WORTH_MM: f64 = 0.2;

/// What a blank comes to over the depth of the rough cut.
#[derive(Clone)]
struct BlankCurve {
    /// Chance of being past the window.
    past: Vec<f64>,
    /// Hand passes, counted where it is not.
    passes: Vec<f64>,
    /// Weight of those.
    alive: Vec<f64>,
    /// Chance of being past the window or in it.
    reached: Vec<f64>,
}

/// How deep to rough-carve a lot whose blanks have these moduli, GPa, along a plan whose curves these are, towards a window on
/// the brace's own deflection. `hand` is what is believed of the hand and the rig that go on by `rule`; the blanks' own moduli
/// replace its modulus.
pub fn rough_carve(
    curves: &Arc<Curves>,
    modulus_gpa: &[f64],
    hand: &Prior,
    window: &Window,
    rule: &Rule,
    cut: &RoughCut,
) -> Result<RoughCarving> {
    window.check()?;
    hand.check()?;
    let rule = rule.clone().checked()?;
    if !(2..=MOST).contains(&modulus_gpa.len()) {
        return Err(Error::BadList {
            name: "modulus_gpa".into(),
            problem: format!("holds {} blanks; give from 2 to {MOST}", modulus_gpa.len()),
        });
    }
    for (i, e) in modulus_gpa.iter().enumerate() {
        within(&format!("modulus_gpa[{i}]"), *e, "GPa", 0.5, 50.0)?;
    }
    within("level", cut.level, "", 1e-4, 0.5)?;
    within("blank_level", cut.blank_level, "", 1e-4, 1.0)?;
    within("machine_mm", cut.machine_mm, "mm", 0.0, 3.0)?;
    within("u_modulus", cut.u_modulus, "", 1e-3, 0.5)?;
    positive("u_dial_mm", cut.u_dial_mm, "mm")?;
    within("u_dial_mm", cut.u_dial_mm, "mm", 1e-5, 1.0)?;
    within("most_grades", cut.most_grades as f64, "", 1.0, 12.0)?;
    let of = |u_modulus: f64| {
        let cut = RoughCut { u_modulus, ..cut.clone() };
        Ok::<_, Error>(Lot::new(curves, modulus_gpa, &blank_curves(curves, modulus_gpa, hand, window, &rule, &cut)?, &cut))
    };
    let lot = of(cut.u_modulus)?;
    if lot.order.is_empty() {
        return Err(Error::Refused(format!(
            "no blank of this lot can end in the window: {}; choose another window, a deeper plan or other wood",
            left_out(&lot.too_soft, &lot.out_of_reach, modulus_gpa).join("; ")
        )));
    }
    let better = of((0.5 * cut.u_modulus).max(1e-3))?;
    let (plans, better_gauge) = (lot.plans(), better.plans());
    let (aside, depth_without_them_mm) = lot.set_aside();
    let out = RoughCarving {
        plans,
        better_gauge,
        too_soft: lot.too_soft.clone(),
        out_of_reach: lot.out_of_reach.clone(),
        set_aside: aside,
        depth_without_them_mm,
        hand_passes_without: lot.passes_of(0, lot.order.len(), 0.0),
        words: String::new(),
    };
    Ok(RoughCarving { words: words(&out, modulus_gpa, cut), ..out })
}

/// A lot in the order of its moduli, softest first, with sums over runs of neighbours.
struct Lot<'a> {
    modulus_gpa: &'a [f64],
    cut: RoughCut,
    whole_mm: f64,
    /// Blanks that may end in the window, by their place in the lot.
    order: Vec<usize>,
    curves: Vec<BlankCurve>,
    /// Sums over the blanks before each: past, passes, weight, by depth.
    sums: Vec<[Vec<f64>; 3]>,
    too_soft: Vec<usize>,
    out_of_reach: Vec<usize>,
}

impl<'a> Lot<'a> {
    fn new(curves: &Curves, modulus_gpa: &'a [f64], blanks: &[BlankCurve], cut: &RoughCut) -> Self {
        let mut all: Vec<usize> = (0..modulus_gpa.len()).collect();
        all.sort_by(|a, b| modulus_gpa[*a].total_cmp(&modulus_gpa[*b]));
        let soft = |i: &usize| blanks[*i].past[0] > cut.blank_level.min(0.5);
        let stiff = |i: &usize| blanks[*i].reached[DEPTHS - 1] < 0.5;
        let too_soft: Vec<usize> = all.iter().copied().filter(soft).collect();
        let out_of_reach: Vec<usize> = all.iter().copied().filter(|i| !soft(i) && stiff(i)).collect();
        let order: Vec<usize> = all.into_iter().filter(|i| !soft(i) && !stiff(i)).collect();
        let mut sums = vec![[vec![0.0; DEPTHS], vec![0.0; DEPTHS], vec![0.0; DEPTHS]]];
        for i in &order {
            let mut next = sums[sums.len() - 1].clone();
            for (sum, one) in next.iter_mut().zip([&blanks[*i].past, &blanks[*i].passes, &blanks[*i].alive]) {
                sum.iter_mut().zip(one).for_each(|(s, v)| *s += v);
            }
            sums.push(next);
        }
        let curves_of = order.iter().map(|i| blanks[*i].clone()).collect();
        let whole_mm = curves.whole_depth_mm();
        Self { modulus_gpa, cut: cut.clone(), whole_mm, order, curves: curves_of, sums, too_soft, out_of_reach }
    }

    fn between(&self, of: &[f64], depth_mm: f64) -> f64 {
        let t = (depth_mm / self.whole_mm * (DEPTHS - 1) as f64).clamp(0.0, (DEPTHS - 1) as f64);
        let k = (t.floor() as usize).min(DEPTHS - 2);
        of[k] + (t - k as f64) * (of[k + 1] - of[k])
    }

    fn sum(&self, what: usize, a: usize, z: usize, depth_mm: f64) -> f64 {
        self.between(&self.sums[z][what], depth_mm) - self.between(&self.sums[a][what], depth_mm)
    }

    fn share_past(&self, a: usize, z: usize, depth_mm: f64) -> f64 {
        self.sum(0, a, z, depth_mm) / (z - a) as f64
    }

    fn passes_of(&self, a: usize, z: usize, depth_mm: f64) -> f64 {
        self.sum(1, a, z, depth_mm) / self.sum(2, a, z, depth_mm).max(1e-9)
    }

    /// Place in the order and chance of the blank most likely past the window.
    fn worst(&self, a: usize, z: usize, depth_mm: f64) -> (usize, f64) {
        (a..z).map(|i| (i, self.between(&self.curves[i].past, depth_mm))).fold((a, 0.0), |m, v| if v.1 > m.1 { v } else { m })
    }

    /// The deepest that the share of these blanks and the softest of them allow, mm.
    fn depth_mm(&self, a: usize, z: usize) -> f64 {
        // the softest is the first of a run
        let allowed =
            |d: f64| self.share_past(a, z, d) <= self.cut.level && self.between(&self.curves[a].past, d) <= self.cut.blank_level;
        if allowed(self.whole_mm) {
            return self.whole_mm;
        }
        let (mut lo, mut hi) = (0.0, self.whole_mm);
        for _ in 0..30 {
            let m = 0.5 * (lo + hi);
            if allowed(m) { lo = m } else { hi = m }
        }
        lo
    }

    fn grade(&self, a: usize, z: usize) -> RoughGrade {
        let depth_mm = self.depth_mm(a, z);
        let (worst, worst_chance) = self.worst(a, z, depth_mm);
        let members = &self.order[a..z];
        RoughGrade {
            blanks: members.to_vec(),
            modulus_gpa: (self.modulus_gpa[members[0]], self.modulus_gpa[members[members.len() - 1]]),
            depth_mm,
            share_past: self.share_past(a, z, depth_mm),
            worst_blank: self.order[worst],
            worst_chance,
            hand_passes: self.passes_of(a, z, depth_mm),
        }
    }

    /// The fewest soft blanks that make half of what goes past with one depth for all, if they are few; and one depth without.
    fn set_aside(&self) -> (Vec<usize>, f64) {
        let n = self.order.len();
        let depth = self.depth_mm(0, n);
        let half = 0.5 * self.sum(0, 0, n, depth);
        let count = (1..n).find(|k| self.sum(0, 0, *k, depth) >= half).unwrap_or(n);
        let few = ((FEW * n as f64).floor() as usize).max(1);
        if depth >= self.whole_mm || count > few || count >= n {
            return (Vec::new(), depth);
        }
        let without = self.depth_mm(count, n);
        if without < depth + WORTH_MM { (Vec::new(), depth) } else { (self.order[..count].to_vec(), without) }
    }

    /// The grades with the fewest hand passes, for one grade, two, and so on.
    fn plans(&self) -> Vec<RoughPlan> {
        let n = self.order.len();
        if n == 0 {
            return Vec::new();
        }
        let most = self.cut.most_grades.min(n);
        // a lot of hundreds is cut between groups of neighbours, not between any two blanks
        let groups = n.min(40);
        let knots: Vec<usize> = (0..=groups).map(|k| k * n / groups).collect();
        let m = knots.len();
        let mut cost = vec![vec![f64::INFINITY; m]; m];
        for a in 0..m {
            for z in a + 1..m {
                let (from, to) = (knots[a], knots[z]);
                cost[a][z] = self.passes_of(from, to, self.depth_mm(from, to)) * (to - from) as f64;
            }
        }
        let mut best = vec![vec![f64::INFINITY; m]; most + 1];
        let mut from = vec![vec![0; m]; most + 1];
        best[0][0] = 0.0;
        for g in 1..=most {
            for z in 1..m {
                for a in 0..z {
                    let c = best[g - 1][a] + cost[a][z];
                    if c < best[g][z] - 1e-12 {
                        (best[g][z], from[g][z]) = (c, a);
                    }
                }
            }
        }
        (1..=most)
            .filter(|g| best[*g][m - 1].is_finite())
            .map(|g| {
                let (mut z, mut grades) = (m - 1, Vec::new());
                for k in (1..=g).rev() {
                    let a = from[k][z];
                    grades.push(self.grade(knots[a], knots[z]));
                    z = a;
                }
                grades.reverse();
                let mean =
                    |of: fn(&RoughGrade) -> f64| grades.iter().map(|x| of(x) * x.blanks.len() as f64).sum::<f64>() / n as f64;
                let (hand_passes, share_past) = (mean(|x| x.hand_passes), mean(|x| x.share_past));
                let (worst_blank, worst_chance) =
                    grades.iter().fold((0, -1.0), |m, x| if x.worst_chance > m.1 { (x.worst_blank, x.worst_chance) } else { m });
                RoughPlan { hand_passes, share_past, worst_blank, worst_chance, grades }
            })
            .collect()
    }
}

/// The curve of each blank; in a large lot by those of some moduli, between which the probit of the chance is taken as straight.
fn blank_curves(
    curves: &Arc<Curves>,
    modulus_gpa: &[f64],
    hand: &Prior,
    window: &Window,
    rule: &Rule,
    cut: &RoughCut,
) -> Result<Vec<BlankCurve>> {
    let whole = curves.whole_depth_mm();
    let depth: Vec<f64> = (0..DEPTHS).map(|k| whole * k as f64 / (DEPTHS - 1) as f64).collect();
    let one = |e: f64| blank_curve(curves, e, hand, window, rule, cut, &depth);
    let (low, high) = modulus_gpa.iter().fold((f64::INFINITY, 0.0_f64), |m, e| (m.0.min(*e), m.1.max(*e)));
    let range = (high / low).ln();
    let nodes = ((range / (0.4 * cut.u_modulus)).ceil() as usize).clamp(NODES.0, NODES.1);
    if modulus_gpa.len() <= nodes || range < 1e-9 {
        return modulus_gpa.par_iter().map(|e| one(*e)).collect();
    }
    let step = range / (nodes - 1) as f64;
    let at = (0..nodes).into_par_iter().map(|k| one(low * (step * k as f64).exp())).collect::<Result<Vec<_>>>()?;
    modulus_gpa
        .iter()
        .map(|e| {
            let t = (e / low).ln() / step;
            let k = (t.floor() as usize).min(nodes - 2);
            let t = t - k as f64;
            let line = |of: fn(&BlankCurve) -> &Vec<f64>| -> Vec<f64> {
                of(&at[k]).iter().zip(of(&at[k + 1])).map(|(a, b)| a + t * (b - a)).collect()
            };
            let chance = |of: fn(&BlankCurve) -> &Vec<f64>| -> Result<Vec<f64>> {
                of(&at[k])
                    .iter()
                    .zip(of(&at[k + 1]))
                    .map(|(a, b)| {
                        let z = |p: f64| normal::quantile(p.clamp(1e-12, 1.0 - 1e-12));
                        Ok(normal::cdf(z(*a)? + t * (z(*b)? - z(*a)?)))
                    })
                    .collect()
            };
            Ok(BlankCurve {
                past: chance(|b| &b.past)?,
                passes: line(|b| &b.passes),
                alive: line(|b| &b.alive),
                reached: chance(|b| &b.reached)?,
            })
        })
        .collect()
}

/// Chance of being past the window, and hand passes to expect, over the depth of the rough cut.
fn blank_curve(
    curves: &Arc<Curves>,
    modulus_gpa: f64,
    hand: &Prior,
    window: &Window,
    rule: &Rule,
    cut: &RoughCut,
    depth: &[f64],
) -> Result<BlankCurve> {
    let machine = Prior {
        modulus_gpa,
        modulus_ln: cut.u_modulus,
        bias_fraction: 0.0,
        u_bias_fraction: 0.0,
        scatter_fraction: 0.0,
        scatter_mm: cut.machine_mm,
        hand_passes: 1e6,
        ..*hand
    };
    let before = Known::new(curves, &machine)?;
    let (mut past, mut reached) = (Vec::new(), Vec::new());
    for d in depth {
        let (over, inside) = before.chances(*d, window, Aimed::Brace);
        past.push(over);
        reached.push(over + inside);
    }
    let (mut passes, mut alive) = (Vec::new(), Vec::new());
    for d in depth {
        let (mut sum, mut weights) = (0.0, 0.0);
        for (z, weight) in POINTS {
            let e = modulus_gpa * (z * cut.u_modulus).exp();
            let mut known = Known::new(curves, &Prior { modulus_gpa, modulus_ln: cut.u_modulus, ..*hand })?;
            known = known.roughed(*d, cut.machine_mm);
            // the first reading by hand shows what this blank is
            let shown = known.dial_mm().0 * modulus_gpa / e;
            known = known.after(&Look::Deflection { deflection_mm: shown, u_mm: cut.u_dial_mm, load_ratio: 1.0 })?;
            let known = known.light();
            // what is past the window has no passes to come, and would make a bold cut look thrifty
            let weight = weight * (1.0 - known.chances(0.0, window, Aimed::Brace).0);
            sum += weight * known.passes_to_expect(window, rule, Aimed::Brace) as f64;
            weights += weight;
        }
        passes.push(sum);
        alive.push(weights);
    }
    Ok(BlankCurve { past, passes, alive, reached })
}
