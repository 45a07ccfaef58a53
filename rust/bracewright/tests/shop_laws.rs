//! The virtual shop: the same to the bit on any number of cores, and what each policy comes to.

#![allow(clippy::unwrap_used)]

mod common;

use std::sync::{Arc, Mutex};

use bracewright::advice::{Rule, Window};
use bracewright::decide::{Aimed, Curves, Known, Look, Prior};
use bracewright::shop::{
    BookHeight, ByChance, ChanceRule, Maker, Policy, ShopRun, ShopSettings, StraightAtTarget, Turn, Way, run,
};
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
    let mut rule = Rule::new(0.02, 10.0).unwrap();
    // no hand can be trusted with a shaving thinner than its own scatter
    rule.smallest_shaving_mm = rule.smallest_shaving_mm.max(1.5 * prior.scatter_mm);
    ByChance::new(&t.curves, prior, &t.window, &rule, Aimed::Brace, Some(0.02)).unwrap()
}

fn prior(t: &Table) -> Prior {
    ChanceRule::default().prior(&t.plan, &t.rig).unwrap()
}

fn told(r: &ShopRun) -> String {
    format!("soft {} in {} stiff {} passes {} g {}", r.too_soft, r.in_window, r.too_stiff, r.passes, r.grams_off)
}

fn go(t: &Table, settings: &ShopSettings, policy: &dyn bracewright::shop::Policy, n: usize) -> ShopRun {
    run(&t.plan, &t.rig, &t.window, settings, policy, n, 1).unwrap()
}

/// The shop: E 12 % between sticks and 4 % along them, ratios of moduli unknown, give 0 to 0.002 mm/N, a dial of
/// 0.01 mm, a hand of +5 %, 8 % between makers, 12 % along the layer; a window 7 % wide. A rule that knows its chances leaves
/// few too soft, one that aims straight at the target half.
#[test]
fn policies_side_by_side() {
    let t = table();
    let n = 1000;
    let rule = go(&t, &ShopSettings::default(), &by_chance(&t, &prior(&t)), n);
    assert!(rule.too_soft <= 0.03 && rule.in_window >= 0.94 && rule.passes <= 2.5, "{}", told(&rule));
    let straight = go(
        &t,
        &ShopSettings::default(),
        &StraightAtTarget { curves: t.curves.clone(), window: t.window, give_mm: 0.02, bias_fraction: 0.05 },
        n,
    );
    let book = go(&t, &ShopSettings::default(), &BookHeight { depth_mm: 5.5 }, n);
    assert!(straight.too_soft > 0.2 && book.in_window < 0.3, "{} {}", told(&straight), told(&book));
    // a hand of 20 % and 0.2 mm a pass, known to the rule, with what is uneven along the layer in it
    let coarse = ChanceRule::default().with_coarse_hand().prior(&t.plan, &t.rig).unwrap();
    let rule = go(&t, &ShopSettings::default().with_coarse_hand(), &by_chance(&t, &coarse), n);
    // 0.044 +- 0.003 over four thousand braces; here what a thousand leave open of it is allowed on top
    assert!(rule.too_soft <= 0.05 + 2.0 * (0.05 * 0.95 / n as f64).sqrt(), "{}", told(&rule));
}

/// What a maker believed of one brace: whether each reading after a pass lay in its 90 % interval, and at the end the modulus and
/// the brace's own deflection.
#[derive(Default, Clone)]
struct Believed {
    readings: Vec<bool>,
    modulus_gpa: (f64, f64),
    own_mm: (f64, f64),
}

/// Carves two passes whatever it reads, and keeps what it believed.
struct Watching {
    start: Known,
    kept: Mutex<Vec<Believed>>,
}

struct Watcher<'a> {
    of: &'a Watching,
    known: Known,
    believed: Believed,
}

impl Maker for Watcher<'_> {
    fn next(&mut self, turn: &Turn) -> Option<f64> {
        if let Some(mass_g) = turn.shavings_g {
            self.known = self.known.after(&Look::Shavings { mass_g, u_g: 0.02 }).unwrap();
            let (mean, sd) = self.known.dial_mm();
            self.believed.readings.push((turn.reading_mm - mean).abs() < 1.644_85 * sd.hypot(turn.u_mm));
        }
        let look = Look::Deflection { deflection_mm: turn.reading_mm, u_mm: turn.u_mm, load_ratio: 1.0 };
        self.known = self.known.after(&look).unwrap();
        self.believed.modulus_gpa = self.known.modulus_gpa();
        self.believed.own_mm = self.known.own_deflection_mm();
        let aim = *[2.0, 1.0].get(turn.passes)?;
        self.known = self.known.after_pass(aim).unwrap();
        Some(aim)
    }
}

impl Drop for Watcher<'_> {
    fn drop(&mut self) {
        self.of.kept.lock().unwrap().push(self.believed.clone());
    }
}

impl Policy for Watching {
    fn maker(&self) -> Box<dyn Maker + '_> {
        Box::new(Watcher { of: self, known: self.start.clone(), believed: Believed::default() })
    }
}

/// Under a truth that is not the model's own (E uneven along the brace, ratios of moduli drawn evenly, a layer uneven along the
/// brace, moisture that drifts), 90 % intervals of the modulus, of the next reading and of the brace's own deflection hold 86 to 94
/// times in a hundred. The modulus that is meant is the mean along the stick.
#[test]
fn intervals_cover_a_mismatched_truth() {
    let t = table();
    let n = 2000;
    let prior = prior(&t);
    let watching = Watching { start: Known::new(&t.curves, &prior).unwrap(), kept: Mutex::new(Vec::new()) };
    // one thread, so that what was kept stands in the order of the braces
    let one = rayon::ThreadPoolBuilder::new().num_threads(1).build().unwrap();
    let r = one.install(|| run(&t.plan, &t.rig, &t.window, &ShopSettings::default(), &watching, n, 3).unwrap());
    let kept = watching.kept.lock().unwrap();
    let share = |of: &dyn Fn(&Believed, &bracewright::shop::Ended) -> bool| {
        kept.iter().zip(&r.braces).filter(|(k, b)| of(k, b)).count() as f64 / n as f64
    };
    let inside = |value: f64, (mean, sd): (f64, f64)| (value - mean).abs() < 1.644_85 * sd;
    let modulus = share(&|k, b| inside((b.modulus_gpa / k.modulus_gpa.0).ln(), (0.0, k.modulus_gpa.1 / k.modulus_gpa.0)));
    let own = share(&|k, b| inside(b.deflection_mm, k.own_mm));
    let readings = [0, 1].map(|i| share(&|k, _| k.readings[i]));
    for s in [modulus, own, readings[0], readings[1]] {
        assert!((0.86..=0.94).contains(&s), "modulus {modulus}, own {own}, readings {readings:?}");
    }
}

/// The same seed gives the same answer to the bit on one thread and on two; another seed another.
#[test]
fn threads_do_not_matter() {
    let t = table();
    let settings = ShopSettings { knots: 1.0, run_out: 0.03, ..ShopSettings::default() };
    let policy = by_chance(&t, &prior(&t));
    let on = |threads: usize, seed: u64| {
        rayon::ThreadPoolBuilder::new()
            .num_threads(threads)
            .build()
            .unwrap()
            .install(|| run(&t.plan, &t.rig, &t.window, &settings, &policy, 60, seed).unwrap())
    };
    assert_eq!(on(1, 7), on(2, 7));
    assert_ne!(on(2, 7), on(2, 8));
}

/// A shop without faults and a hand that does what it is told: straight at the target lands on it.
#[test]
fn a_shop_without_faults() {
    let t = table();
    let ratio = {
        let w = t.plan.start.blank().wood().clone();
        let of = |q| w.value(q).unwrap();
        (of(bracewright::wood::Quantity::GltEl), of(bracewright::wood::Quantity::EtEl))
    };
    let settings = ShopSettings {
        modulus_along: 0.0,
        shear_ratio: (ratio.0, ratio.0),
        across_ratio: (ratio.1, ratio.1),
        density_between: 0.0,
        give_mm_per_n: (0.0, 0.0),
        dial_repeat_mm: 0.0,
        reseat_mm: 0.0,
        dial_step_mm: 0.0,
        moisture_percent: 0.0,
        hand_bias: 0.0,
        hand_between: 0.0,
        hand_scatter: 0.0,
        ..ShopSettings::default()
    };
    let policy = StraightAtTarget { curves: t.curves.clone(), window: t.window, give_mm: 0.0, bias_fraction: 0.0 };
    let r = go(&t, &settings, &policy, 100);
    for b in r.braces.iter().filter(|b| b.deflection_mm < t.window.high_mm * 1.2 && b.passes > 0) {
        assert!((b.deflection_mm / t.window.target_mm - 1.0).abs() < 2e-3, "{b:?}");
    }
    assert!(r.in_window > 0.9, "{}", told(&r));
}

/// The section beam as truth: quick, and the same rule on curves of that beam keeps its chances; by name the policies are those
/// made by hand.
#[test]
fn ways_by_name_and_the_quick_beam() {
    let t = table();
    let quick = ShopSettings { beam: bracewright::Beam::Section, ..ShopSettings::default() };
    let curves = Curves::of_section(&t.plan, &t.rig).unwrap();
    let middle = 20.0 * curves.ln_compliance(5.5, 0.0).0.exp();
    let window = Window::between(0.965 * middle, 1.035 * middle).unwrap();
    let on_window = Way::Chance(ChanceRule::default()).policy(&t.plan, &t.rig, &window, &quick).unwrap();
    let r = run(&t.plan, &t.rig, &window, &quick, on_window.as_ref(), 2000, 1).unwrap();
    assert!(r.too_soft <= 0.03 && r.in_window >= 0.92, "{}", told(&r));
    let usual = ShopSettings::default();
    let by_name = Way::Book { depth_mm: 3.0 }.policy(&t.plan, &t.rig, &t.window, &usual).unwrap();
    assert_eq!(go(&t, &usual, by_name.as_ref(), 20), go(&t, &usual, &BookHeight { depth_mm: 3.0 }, 20));
    assert!(Way::Book { depth_mm: 300.0 }.policy(&t.plan, &t.rig, &t.window, &usual).is_err());
}

/// Knots and run-out make softer sticks than sound wood of the same modulus.
#[test]
fn knots_soften() {
    let t = table();
    let first = |s: ShopSettings| {
        let r = go(&t, &s, &BookHeight { depth_mm: 0.0 }, 80);
        r.braces.iter().map(|b| b.first_mm).sum::<f64>() / 80.0
    };
    let sound = first(ShopSettings::default());
    let run_out = first(ShopSettings { run_out: 0.06, ..ShopSettings::default() });
    let knots = first(ShopSettings { knots: 3.0, ..ShopSettings::default() });
    assert!(run_out > 1.005 * sound && knots > 1.01 * sound, "{sound} {run_out} {knots}");
}

#[test]
fn bad_settings_are_refused_by_name() {
    let t = table();
    let policy = BookHeight { depth_mm: 1.0 };
    for (bad, name) in [
        (ShopSettings { modulus_between: -0.1, ..ShopSettings::default() }, "modulus_between"),
        (ShopSettings { modulus_length_mm: (100.0, 60.0), ..ShopSettings::default() }, "modulus_length_mm"),
        (ShopSettings { give_mm_per_n: (0.0, f64::NAN), ..ShopSettings::default() }, "give_mm_per_n"),
        (ShopSettings { readings: 0, ..ShopSettings::default() }, "readings"),
    ] {
        let e = run(&t.plan, &t.rig, &t.window, &bad, &policy, 5, 1).unwrap_err().to_string();
        assert!(e.contains(name), "{e}");
    }
    assert!(run(&t.plan, &t.rig, &t.window, &ShopSettings::default(), &policy, 0, 1).unwrap_err().to_string().contains("count"));
}
