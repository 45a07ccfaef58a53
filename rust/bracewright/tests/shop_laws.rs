//! The virtual shop: the same to the bit on any number of cores, and what each policy comes to.

#![allow(clippy::unwrap_used)]

mod common;

use std::sync::Arc;

use bracewright::advice::{Rule, Window};
use bracewright::decide::{Aimed, Curves, Prior};
use bracewright::shop::{BookHeight, ByChance, ShopRun, ShopSettings, StraightAtTarget, run};
use bracewright::{Brace, Plan, PlanOptions, Profile, Rig, Scallop, ScallopShape, Section, plan_passes};

fn plan() -> Plan {
    let blank = common::stick().with_modulus(11.5, 0.12).unwrap();
    let start = Profile::straight(420.0, 16.0).unwrap();
    let s = |at_mm| Scallop { at_mm, left_mm: 60.0, right_mm: 60.0, depth_mm: 10.0, shape: ScallopShape::Cosine };
    let target = start.with_scallops(&[s(120.0), s(300.0)]).unwrap();
    let of = |p: &Profile| Brace::new(&blank, p, &Section::rectangle()).unwrap();
    plan_passes(&of(&start), &of(&target), &PlanOptions::new(3.0)).unwrap()
}

struct Table {
    plan: Plan,
    rig: Rig,
    curves: Arc<Curves>,
    window: Window,
}

fn table() -> Table {
    let plan = plan();
    let rig = Rig::three_point(380.0, 20.0).unwrap().with_give(0.001, 0.0006).unwrap();
    let curves = Arc::new(Curves::new(&plan, &rig, false).unwrap());
    let middle = 20.0 * curves.ln_compliance(5.5, 0.0).0.exp();
    Table { window: Window::between(0.965 * middle, 1.035 * middle).unwrap(), plan, rig, curves }
}

fn by_chance(t: &Table, prior: &Prior) -> ByChance {
    ByChance::new(&t.curves, prior, &t.window, &Rule::new(0.02, 10.0).unwrap(), Aimed::Brace, Some(0.02)).unwrap()
}

fn prior(t: &Table) -> Prior {
    Prior { modulus_ln: 0.12, bias_fraction: 0.05, u_bias_fraction: 0.08, ..Prior::of(&t.plan, &t.rig) }
}

fn show(name: &str, r: &ShopRun) {
    println!(
        "{name}: too soft {:.1} %, in window {:.1} %, too stiff {:.1} %, passes {:.2}, {:.2} g",
        100.0 * r.too_soft,
        100.0 * r.in_window,
        100.0 * r.too_stiff,
        r.passes,
        r.grams_off
    );
}

/// What a rule that knows its chances is worth, in a shop whose wood it does not know.
#[test]
fn policies_side_by_side() {
    let t = table();
    let settings = ShopSettings::default();
    let n = 2000;
    let time = std::time::Instant::now();
    let rule = run(&t.plan, &t.rig, &t.window, &settings, &by_chance(&t, &prior(&t)), n, 1).unwrap();
    println!("{:?}", time.elapsed());
    show("by chance", &rule);
    let straight = StraightAtTarget { curves: t.curves.clone(), window: t.window };
    let straight = run(&t.plan, &t.rig, &t.window, &settings, &straight, n, 1).unwrap();
    show("straight", &straight);
    let book = run(&t.plan, &t.rig, &t.window, &settings, &BookHeight { depth_mm: 5.5 }, n, 1).unwrap();
    show("book", &book);
    let coarse = ShopSettings::default().with_coarse_hand();
    let p = Prior { scatter_fraction: 0.20, scatter_mm: 0.2, ..prior(&t) };
    let rough = run(&t.plan, &t.rig, &t.window, &coarse, &by_chance(&t, &p), n, 1).unwrap();
    show("coarse hand", &rough);
}

#[test]
fn probe() {
    let t = table();
    let base = ShopSettings::default();
    let p = Prior { scatter_fraction: 0.20, scatter_mm: 0.2, ..prior(&t) };
    for (name, s) in [
        ("none", base.clone()),
        ("pass .2", ShopSettings { hand_pass: 0.2, ..base.clone() }),
        ("mm .2", ShopSettings { hand_mm: 0.2, ..base.clone() }),
        ("both", base.clone().with_coarse_hand()),
        ("both, even layer", ShopSettings { hand_scatter: 0.0, ..base.clone().with_coarse_hand() }),
        ("both, even wood", ShopSettings { modulus_along: 0.0, ..base.clone().with_coarse_hand() }),
    ] {
        show(name, &run(&t.plan, &t.rig, &t.window, &s, &by_chance(&t, &p), 500, 1).unwrap());
        let dial = ByChance::new(&t.curves, &p, &t.window, &Rule::new(0.02, 10.0).unwrap(), Aimed::Brace, None).unwrap();
        show("   no pan", &run(&t.plan, &t.rig, &t.window, &s, &dial, 500, 1).unwrap());
    }
}
