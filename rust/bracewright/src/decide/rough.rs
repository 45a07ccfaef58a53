//! Rough-carving a lot: how deep a machine or a template may take all blanks, or each grade, before the hand goes on.

use std::sync::Arc;

use rayon::prelude::*;
use serde::{Deserialize, Serialize};

use super::{Aimed, Curves, Known, Look, Prior};
use crate::advice::{Rule, Window};
use crate::error::{Error, Result, positive, within};

/// The machine, and what is known of each blank before it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct RoughCut {
    /// Allowed share of blanks past the window after the rough cut.
    pub level: f64,
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
    /// 2 %; 0.1 mm; 3 %; 0.006 mm; four grades (common practice, no source).
    fn default() -> Self {
        Self { level: 0.02, machine_mm: 0.1, u_modulus: 0.03, u_dial_mm: 0.006, most_grades: 4 }
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
    /// Hand passes to expect afterwards, on average.
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
}

/// A lot rough-carved: with one grade, two, and so on; and with a gauge twice as good.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct RoughCarving {
    /// One plan for each number of grades, from one.
    pub plans: Vec<RoughPlan>,
    /// The same where each blank's modulus is known twice as well.
    pub better_gauge: Vec<RoughPlan>,
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

/// What a blank comes to over the depth of the rough cut.
struct BlankCurve {
    past: Vec<f64>,
    passes: Vec<f64>,
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
    within("machine_mm", cut.machine_mm, "mm", 0.0, 3.0)?;
    within("u_modulus", cut.u_modulus, "", 1e-3, 0.5)?;
    positive("u_dial_mm", cut.u_dial_mm, "mm")?;
    within("u_dial_mm", cut.u_dial_mm, "mm", 1e-5, 1.0)?;
    within("most_grades", cut.most_grades as f64, "", 1.0, 12.0)?;
    let of = |u_modulus: f64| plans(curves, modulus_gpa, hand, window, &rule, &RoughCut { u_modulus, ..cut.clone() });
    let (own, without) = of(cut.u_modulus)?;
    let (better, _) = of((0.5 * cut.u_modulus).max(1e-3))?;
    let words = words(&own, &better, without, cut);
    Ok(RoughCarving { plans: own, better_gauge: better, hand_passes_without: without, words })
}

fn plans(
    curves: &Arc<Curves>,
    modulus_gpa: &[f64],
    hand: &Prior,
    window: &Window,
    rule: &Rule,
    cut: &RoughCut,
) -> Result<(Vec<RoughPlan>, f64)> {
    let n = modulus_gpa.len();
    let whole = curves.whole_depth_mm();
    let depth: Vec<f64> = (0..DEPTHS).map(|k| whole * k as f64 / (DEPTHS - 1) as f64).collect();
    let mut order: Vec<usize> = (0..n).collect();
    order.sort_by(|a, b| modulus_gpa[*a].total_cmp(&modulus_gpa[*b]));
    let blanks = order
        .par_iter()
        .map(|&i| blank_curve(curves, modulus_gpa[i], hand, window, rule, cut, &depth))
        .collect::<Result<Vec<BlankCurve>>>()?;
    // each run of neighbours as one grade: its depth by the level, its passes there
    let grade = |a: usize, z: usize| -> (f64, f64, f64) {
        let mean = |of: &dyn Fn(&BlankCurve) -> f64| blanks[a..z].iter().map(of).sum::<f64>() / (z - a) as f64;
        let at = |d: f64, of: fn(&BlankCurve) -> &Vec<f64>| {
            let t = (d / whole * (DEPTHS - 1) as f64).clamp(0.0, (DEPTHS - 1) as f64);
            let k = (t.floor() as usize).min(DEPTHS - 2);
            mean(&|b| of(b)[k] + (t - k as f64) * (of(b)[k + 1] - of(b)[k]))
        };
        let (mut lo, mut hi) = (0.0, whole);
        if at(whole, |b| &b.past) <= cut.level {
            lo = whole;
        } else {
            for _ in 0..30 {
                let m = 0.5 * (lo + hi);
                if at(m, |b| &b.past) <= cut.level { lo = m } else { hi = m }
            }
        }
        (lo, at(lo, |b| &b.past), at(lo, |b| &b.passes))
    };
    let without = blanks.iter().map(|b| b.passes[0]).sum::<f64>() / n as f64;
    let most = cut.most_grades.min(n);
    // a lot of hundreds is cut between groups of neighbours, not between any two blanks
    let knots: Vec<usize> = {
        let groups = n.min(40);
        (0..=groups).map(|k| k * n / groups).collect()
    };
    let m = knots.len();
    let mut cost = vec![vec![f64::INFINITY; m]; m];
    let pairs: Vec<(usize, usize)> = (0..m).flat_map(|a| (a + 1..m).map(move |z| (a, z))).collect();
    let costs: Vec<f64> = pairs.par_iter().map(|&(a, z)| grade(knots[a], knots[z]).2 * (knots[z] - knots[a]) as f64).collect();
    for ((a, z), c) in pairs.into_iter().zip(costs) {
        cost[a][z] = c;
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
    let out = (1..=most)
        .filter(|g| best[*g][m - 1].is_finite())
        .map(|g| {
            let (mut z, mut grades) = (m - 1, Vec::new());
            for k in (1..=g).rev() {
                let a = from[k][z];
                let (depth_mm, share_past, hand_passes) = grade(knots[a], knots[z]);
                let members = &order[knots[a]..knots[z]];
                grades.push(RoughGrade {
                    blanks: members.to_vec(),
                    modulus_gpa: (modulus_gpa[members[0]], modulus_gpa[members[members.len() - 1]]),
                    depth_mm,
                    share_past,
                    hand_passes,
                });
                z = a;
            }
            grades.reverse();
            let mean = |of: fn(&RoughGrade) -> f64| grades.iter().map(|x| of(x) * x.blanks.len() as f64).sum::<f64>() / n as f64;
            RoughPlan { hand_passes: mean(|x| x.hand_passes), share_past: mean(|x| x.share_past), grades }
        })
        .collect();
    Ok((out, without))
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
    let past: Vec<f64> = depth.iter().map(|d| before.chances(*d, window, Aimed::Brace).0).collect();
    let passes = depth
        .iter()
        .map(|d| {
            let mut sum = 0.0;
            for (z, weight) in POINTS {
                let e = modulus_gpa * (z * cut.u_modulus).exp();
                let mut known = Known::new(curves, &Prior { modulus_gpa, modulus_ln: cut.u_modulus, ..*hand })?;
                known = known.roughed(*d, cut.machine_mm);
                // the first reading by hand shows what this blank is
                let shown = known.dial_mm().0 * modulus_gpa / e;
                known = known.after(&Look::Deflection { deflection_mm: shown, u_mm: cut.u_dial_mm, load_ratio: 1.0 })?;
                sum += weight * known.without_surprise().passes_to_expect(window, rule, Aimed::Brace) as f64;
            }
            Ok(sum)
        })
        .collect::<Result<Vec<f64>>>()?;
    Ok(BlankCurve { past, passes })
}

fn words(own: &[RoughPlan], better: &[RoughPlan], without: f64, cut: &RoughCut) -> String {
    let Some(one) = own.first() else { return String::new() };
    let mut out = format!(
        "One depth for all: {:.2} mm keeps the share past the window at {:.1} %; {:.1} hand passes a brace are then to be expected, \
         against {without:.1} without a rough cut.",
        one.grades.first().map_or(0.0, |g| g.depth_mm),
        100.0 * one.share_past,
        one.hand_passes
    );
    for (k, pair) in own.windows(2).enumerate() {
        let saved = pair[0].hand_passes - pair[1].hand_passes;
        let depths: Vec<String> = pair[1].grades.iter().map(|g| format!("{:.2}", g.depth_mm)).collect();
        out.push_str(&format!(
            " {} grades ({} mm): {:.1} passes, {saved:.2} saved by the one more.",
            k + 2,
            depths.join(", "),
            pair[1].hand_passes
        ));
    }
    if let (Some(a), Some(b)) = (own.last(), better.last()) {
        out.push_str(&format!(
            " Knowing each modulus to {:.1} % instead of {:.1} % would save {:.2} passes more.",
            50.0 * cut.u_modulus,
            100.0 * cut.u_modulus,
            (a.hand_passes - b.hand_passes).max(0.0)
        ));
    }
    out
}
