//! Laws of taps: round trips, budgets against Monte Carlo, and that bad input gets a sentence.

#![allow(clippy::unwrap_used)]

use bracewright::mechanics::plate::{Edge, Grid, Outline, Plate, PlateLaw, PlateOptions};
use bracewright::tap::{
    AddedMass, BarePlate, Bending, DynamicOverStatic, Foam, LengthwiseTap, Pickup, PlateReading, PlateUncertainty, StickTap,
    TapReading,
};
use bracewright::{Blank, Blend, Brace, Error, Profile, Section, SizeUncertainty, Wood};
use proptest::prelude::*;

/// Normal draws, the tests' own: splitmix64 and Box-Muller.
struct Draws(u64);

impl Draws {
    fn uniform(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((z ^ (z >> 31)) >> 11) as f64 / (1u64 << 53) as f64
    }

    fn normal(&mut self) -> f64 {
        (-2.0 * (1.0 - self.uniform()).ln()).sqrt() * (std::f64::consts::TAU * self.uniform()).cos()
    }
}

fn spread(values: &[f64]) -> (f64, f64) {
    let n = values.len() as f64;
    let mean = values.iter().sum::<f64>() / n;
    (mean, (values.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / (n - 1.0)).sqrt())
}

fn wood(e: f64, g: f64) -> Wood {
    Wood::custom("invented", 420.0, e).unwrap().with_shear_ratios(g / e, g / e, 0.05 * g / e).unwrap()
}

fn stick(w: &Wood, l: f64, b: f64, h: f64, m: f64) -> Brace {
    Brace::uncarved(&Blank::new(w, l, b, h, Some(m)).unwrap())
}

/// The budget of one flat tap against 2500 draws of everything in it, refitted: 5 % of the standard uncertainty.
#[test]
fn stick_budget_by_monte_carlo() {
    let w = wood(11.5, 0.75);
    let (l, b, h, m) = (420.0, 16.0, 8.0, 22.8);
    let pickup = Pickup { x_mm: 400.0, mass_g: 0.4, u_mass_g: 0.05 };
    let tap = StickTap::new(&stick(&w, l, b, h, m), Bending::Flat).with_pickup(pickup).unwrap();
    let f = tap.expected_hz(4).unwrap();
    let one = TapReading::new(1, f[0], 0.6).unwrap();
    let found = tap.modulus(&[one]).unwrap();
    let four = TapReading::new(4, f[3], 1.5).unwrap();
    let joint = tap.modulus(&[one, four]).unwrap();
    assert!((found.modulus_gpa / 11.5 - 1.0).abs() < 1e-9 && (joint.shear_gpa / 0.75 - 1.0).abs() < 1e-6);
    let u = SizeUncertainty::default();
    let mut d = Draws(7);
    let (mut single, mut e, mut g) = (Vec::new(), Vec::new(), Vec::new());
    for _ in 0..2500 {
        let ratio = (1.0 + 0.2 * d.normal()).max(0.3);
        let size = [l + u.length_mm * d.normal(), b + u.width_mm * d.normal(), h + u.height_mm * d.normal()];
        let mass = m + u.mass_g * d.normal();
        let p = Pickup { mass_g: 0.4 + 0.05 * d.normal(), ..pickup };
        let heard = [(f[0], 0.6), (f[3], 1.5)].map(|(f, u)| f * (1.0 + 0.001 * d.normal()) + u * d.normal());
        let at = |w: &Wood| {
            StickTap::new(&stick(w, size[0], size[1], size[2], mass), Bending::Flat)
                .with_pickup(Pickup { x_mm: 400.0 * size[0] / l, ..p })
                .unwrap()
        };
        let r = [TapReading::new(1, heard[0], 0.6).unwrap(), TapReading::new(4, heard[1], 1.5).unwrap()];
        single.push(at(&wood(11.5, 0.75 * ratio)).modulus(&r[..1]).unwrap().modulus_gpa.ln());
        let both = at(&w).modulus(&r).unwrap();
        e.push(both.modulus_gpa.ln());
        g.push(both.shear_gpa.ln());
    }
    let near = |name: &str, budget: f64, drawn: &[f64]| {
        let s = spread(drawn).1;
        assert!((budget / s - 1.0).abs() < 0.05, "{name}: budget {budget}, drawn {s}");
    };
    near("one mode", found.u_gpa / found.modulus_gpa, &single);
    near("E of two modes", joint.u_gpa / joint.modulus_gpa, &e);
    near("G of two modes", joint.u_shear_gpa / joint.shear_gpa, &g);
}

/// On edge every share is what the answer moves when that input moves by its uncertainty.
#[test]
fn edge_shares_one_at_a_time() {
    let w = wood(11.5, 0.72);
    let (l, b, h, m) = (500.0, 8.0, 16.0, 26.3);
    let at = |l, b, h, m| StickTap::new(&stick(&w, l, b, h, m), Bending::Edge);
    let tap = at(l, b, h, m);
    let f = tap.expected_hz(2).unwrap();
    let r = [TapReading::new(1, f[0], 0.3).unwrap(), TapReading::new(2, f[1], 0.8).unwrap()];
    let found = tap.modulus(&r).unwrap();
    assert!((found.modulus_gpa / 11.5 - 1.0).abs() < 1e-6 && (found.shear_gpa / 0.72 - 1.0).abs() < 1e-4, "{found:?}");
    let u = SizeUncertainty::default();
    let moved = [
        ("length", at(l + u.length_mm, b, h, m)),
        ("width", at(l, b + u.width_mm, h, m)),
        ("height", at(l, b, h + u.height_mm, m)),
        ("mass", at(l, b, h, m + u.mass_g)),
    ];
    for (name, tap) in moved {
        let share = |b: &[bracewright::TapShare]| b.iter().find(|s| s.source == name).map_or(0.0, |s| 0.01 * s.u_percent);
        let other = tap.modulus(&r).unwrap();
        let (e, g) = ((other.modulus_gpa / found.modulus_gpa).ln().abs(), (other.shear_gpa / found.shear_gpa).ln().abs());
        assert!((share(&found.budget) - e).abs() < 0.05 * e + 2e-5, "{name}: {} {e}", share(&found.budget));
        assert!((share(&found.shear_budget) - g).abs() < 0.08 * g + 5e-4, "{name}: {} {g}", share(&found.shear_budget));
    }
}

/// A carved brace tapped: its own frequencies give E and G back, on edge through the depth-resolved beam; foam at the nodes does
/// nothing and off them is taken off.
#[test]
fn carved_brace() {
    let blank = Blank::new(&wood(12.0, 0.8), 420.0, 8.0, 16.0, Some(22.6)).unwrap();
    let shape = Profile::straight(420.0, 16.0).unwrap().with_ends(50.0, 4.0, Blend::Cosine).unwrap();
    let brace = Brace::new(&blank, &shape, &Section::rectangle()).unwrap();
    let tap = StickTap::new(&brace, Bending::Edge);
    let f = tap.expected_hz(2).unwrap();
    let other = brace.with_blank(&blank.with_modulus(9.0, 0.2).unwrap()).unwrap();
    let r = [TapReading::new(1, f[0], 0.2).unwrap(), TapReading::new(2, f[1], 0.5).unwrap()];
    let found = StickTap::new(&other, Bending::Edge).modulus(&r).unwrap();
    assert!((found.modulus_gpa / 12.0 - 1.0).abs() < 1e-4 && (found.shear_gpa / 0.8 - 1.0).abs() < 2e-3, "{found:?}");
    let nodes = tap.nodes_mm(1).unwrap();
    let foam = |x: [f64; 2]| {
        let f = |x_mm| Foam { x_mm, stiffness_n_per_mm: 1.0, u_stiffness_n_per_mm: 0.5 };
        tap.with_foam(&[f(x[0]), f(x[1])]).unwrap()
    };
    let at_nodes = foam([nodes[0], nodes[1]]);
    assert!((at_nodes.expected_hz(1).unwrap()[0] / f[0] - 1.0).abs() < 1e-6);
    let off = foam([20.0, 400.0]);
    let heard = off.expected_hz(1).unwrap()[0];
    assert!(heard > f[0] * 1.001, "{heard} {}", f[0]);
    let back = off.modulus(&[TapReading::new(1, heard, 0.2).unwrap()]).unwrap();
    assert!((back.modulus_gpa / 12.0 - 1.0).abs() < 1e-6 && back.foam_percent[0] > 0.1, "{back:?}");
    assert!(back.budget.iter().any(|s| s.source.starts_with("stiffness of the support")));
    // the static factor is never in there unless asked, and says where it comes from
    let s = back.static_modulus(&DynamicOverStatic::usual());
    assert!((s.modulus_gpa * 1.065 / back.modulus_gpa - 1.0).abs() < 1e-12 && s.words.contains("no source read"));
}

/// Springs on a rigid stick: the exact answer of a free beam on two springs for the first order's size. A stick on springs far
/// softer than itself: the shift halves with the stiffness.
#[test]
fn foam_is_first_order() {
    let tap = StickTap::new(&stick(&wood(11.0, 0.7), 400.0, 8.0, 16.0, 21.0), Bending::Flat);
    let plain = tap.expected_hz(1).unwrap()[0];
    let shift = |k: f64| {
        let f = Foam { x_mm: 60.0, stiffness_n_per_mm: k, u_stiffness_n_per_mm: 0.0 };
        tap.with_foam(&[f]).unwrap().expected_hz(1).unwrap()[0] / plain - 1.0
    };
    assert!((shift(0.2) / shift(0.1) - 2.0).abs() < 1e-2);
}

/// Added mass: budget against 4000 draws, and a mass on a real plate's corner gives the modal mass of its shape.
#[test]
fn added_mass() {
    let tap =
        AddedMass { mass_g: 20.0, u_mass_g: 0.05, before_hz: 180.0, u_before_hz: 0.36, after_hz: 164.317, u_after_hz: 0.33 };
    let found = tap.modal().unwrap();
    // the brief: 20 g on 100 g, u(f) 0.2 %: 3.4 %
    assert!((found.mass_g - 100.0).abs() < 0.02, "{}", found.mass_g);
    assert!((found.u_mass_g / found.mass_g - 0.034).abs() < 0.001, "{}", found.u_mass_g);
    let mut d = Draws(3);
    let (mut m, mut k) = (Vec::new(), Vec::new());
    for _ in 0..4000 {
        let a = AddedMass {
            mass_g: 20.0 + 0.05 * d.normal(),
            before_hz: 180.0 + 0.36 * d.normal(),
            after_hz: 164.317 + 0.33 * d.normal(),
            ..tap
        };
        let a = a.modal().unwrap();
        m.push(a.mass_g);
        k.push(a.stiffness_n_per_mm);
    }
    assert!((spread(&m).1 / found.u_mass_g - 1.0).abs() < 0.05);
    assert!((spread(&k).1 / found.u_stiffness_n_per_mm - 1.0).abs() < 0.05);
    // nothing to see: refused in words
    let close = AddedMass { after_hz: 179.5, ..tap };
    assert!(close.modal().unwrap_err().to_string().contains("heavier mass"));
    // a plate's corner: lumped mass in the model, modal mass 1/w^2 from the shape
    let law = PlateLaw::orthotropic([11_000.0, 858.0], 0.372, 704.0, [671.0, 33.0], 420e-12, 0.0);
    let outline = Outline::Rectangle { length: 500.0, width: 400.0 };
    let options = PlateOptions { degree: 9, shear_degrees: None, oblique: false };
    let plate = Plate::new(&outline, &Grid::even(2.8), [Edge::Free; 4], options).unwrap();
    let bare = &plate.modes(&law, &[], 1).unwrap()[0];
    let hertz = |w2: f64| w2.sqrt() / std::f64::consts::TAU;
    let exact_g = 1e6 / plate.deflection(bare, 500.0, 400.0).powi(2);
    for (mass, tol) in [(0.2, 0.01), (1.0, 0.05)] {
        let with = plate.modes(&law, &[(500.0, 400.0, mass * 1e-6)], 1).unwrap()[0].omega_squared;
        let a = AddedMass {
            mass_g: mass,
            u_mass_g: 0.0,
            before_hz: hertz(bare.omega_squared),
            u_before_hz: 0.0,
            after_hz: hertz(with),
            u_after_hz: 0.0,
        };
        let g = a.modal().unwrap().mass_g;
        assert!((g / exact_g - 1.0).abs() < tol, "{mass}: {g} {exact_g}");
    }
}

fn spruce_top(e: f64, r: f64, g: f64) -> BarePlate {
    let w = Wood::published("Sitka spruce").unwrap();
    let w = w.with_modulus_l_gpa(e).unwrap().with_transverse_moduli_gpa(r, 0.5).unwrap();
    let w = w.with_shear_ratios(g / e, 0.061, 0.0035).unwrap();
    BarePlate::new(&w, 510.0, 395.0, 2.9, 240.0).unwrap()
}

/// The plate's shares are what the moduli move when each input moves by its uncertainty and everything is fitted again.
#[test]
fn plate_shares_one_at_a_time() {
    let plate = spruce_top(11.5, 0.85, 0.72);
    let labels = ["1,1", "0,2", "2,0", "1,2"];
    let modes = plate.modes(8).unwrap();
    let reading = |l: &str| {
        let m = modes.iter().find(|m| m.label.to_string() == l).unwrap();
        PlateReading::new(l, m.frequency_hz, 0.1).unwrap()
    };
    let r: Vec<PlateReading> = labels.iter().map(|l| reading(l)).collect();
    let found = plate.moduli(&r).unwrap();
    let values = |p: &bracewright::PlateEstimate| [p.e_l.modulus_gpa, p.e_r.modulus_gpa, p.g_lr.modulus_gpa];
    for (v, t) in values(&found).iter().zip([11.5, 0.85, 0.72]) {
        assert!((v / t - 1.0).abs() < 1e-4, "{found:?}");
    }
    let w = plate.wood();
    let u = PlateUncertainty::default();
    let softer = w.with_shear_ratios(w.glr_el(), w.glt_el(), 1.2 * w.grt_el()).unwrap();
    let moved = [
        ("length", BarePlate::new(w, 510.0 + u.length_mm, 395.0, 2.9, 240.0).unwrap()),
        ("thickness", BarePlate::new(w, 510.0, 395.0, 2.9 + u.thickness_mm, 240.0).unwrap()),
        ("mass", BarePlate::new(w, 510.0, 395.0, 2.9, 240.0 + u.mass_g).unwrap()),
        ("G_RT, assumed", BarePlate::new(&softer, 510.0, 395.0, 2.9, 240.0).unwrap()),
    ];
    for (name, p) in moved {
        let other = p.moduli(&r).unwrap();
        for ((m, a), b) in [&found.e_l, &found.e_r, &found.g_lr].iter().zip(values(&other)).zip(values(&found)) {
            let share = m.budget.iter().find(|s| s.source == name).map_or(0.0, |s| 0.01 * s.u_percent);
            let step = (a / b).ln().abs();
            assert!((share - step).abs() < 0.05 * step + 2e-5, "{name}: {share} {step}");
        }
    }
    // and a frequency read off by its uncertainty
    let mut off = r.clone();
    off[2].frequency_hz += 0.1;
    let step = (plate.moduli(&off).unwrap().e_l.modulus_gpa / found.e_l.modulus_gpa).ln();
    let share = found.e_l.budget.iter().find(|s| s.source == "frequency of mode 2,0").unwrap().u_percent;
    assert!((0.01 * share / step - 1.0).abs() < 0.05, "{share} {step}");
    assert!(found.words[0].contains("assumed"));
    assert!((found.wood(&plate).unwrap().modulus_r_gpa() / 0.85 - 1.0).abs() < 1e-4);
}

/// What the advice says is true of the shape: the places to hold are still, the places to tap and listen are not, and the nodal
/// lines are as many as the label says.
#[test]
fn advice_for_a_top() {
    let plate = spruce_top(11.5, 0.85, 0.72);
    for a in plate.modes_to_tap().unwrap() {
        let label = a.label.to_string();
        assert!(a.words.contains(&label) && a.hold_mm.len() == 2, "{a:?}");
        let on = |p: &(f64, f64), x: f64, y: f64| (p.0 - x).abs() < 1.0 && (p.1 - y).abs() < 1.0;
        match label.as_str() {
            // the twist is still on both middle lines
            "1,1" => assert!(a.hold_mm.iter().all(|p| (p.0 - 255.0).abs() < 12.0 || (p.1 - 197.5).abs() < 12.0), "{a:?}"),
            // first bendings: nodes near 0.224 of the side, a little out by the coupling
            "2,0" => assert!(
                a.node_mm
                    .iter()
                    .filter(|p| (p.1 - 197.5).abs() < 1e-6)
                    .all(|p| on(p, 113.0, 197.5) || on(p, 397.0, 197.5) || (p.0 - 255.0).abs() > 120.0),
                "{a:?}"
            ),
            "0,2" => assert_eq!(a.node_mm.iter().filter(|p| (p.0 - 255.0).abs() < 1e-6).count(), 2, "{a:?}"),
            _ => unreachable!(),
        }
    }
    assert!(plate.how_to_tap("5,6").unwrap_err().to_string().contains("lowest"));
    assert!(plate.how_to_tap("one").unwrap_err().to_string().contains("label"));
}

/// Bad input of every kind gets a sentence that names it.
#[test]
fn sentences() {
    let tap = StickTap::new(&stick(&wood(11.0, 0.7), 400.0, 8.0, 16.0, 21.0), Bending::Flat);
    let says = |e: Error, word: &str| assert!(e.to_string().contains(word), "{e}");
    says(tap.modulus(&[]).unwrap_err(), "readings");
    says(TapReading::new(0, 100.0, 1.0).unwrap_err(), "mode");
    says(TapReading::new(1, f64::NAN, 1.0).unwrap_err(), "frequency_hz");
    says(TapReading::new(1, 100.0, 0.0).unwrap_err(), "u_hz");
    let bad = TapReading { mode: 1, frequency_hz: f64::INFINITY, u_hz: 1.0 };
    says(tap.modulus(&[bad]).unwrap_err(), "frequency_hz");
    let r = |m, f| TapReading::new(m, f, 1.0).unwrap();
    says(tap.modulus(&[r(1, 200.0), r(1, 201.0)]).unwrap_err(), "twice");
    says(tap.modulus(&[r(1, 900.0), r(2, 300.0)]).unwrap_err(), "higher mode");
    says(tap.with_pickup(Pickup { x_mm: 500.0, mass_g: 1.0, u_mass_g: 0.1 }).unwrap_err(), "x_mm");
    says(tap.with_pickup(Pickup { x_mm: 5.0, mass_g: 15.0, u_mass_g: 0.1 }).unwrap_err(), "microphone");
    let hard = tap.with_foam(&[Foam { x_mm: 0.0, stiffness_n_per_mm: 1e3, u_stiffness_n_per_mm: 1.0 }]).unwrap();
    says(hard.modulus(&[r(1, 200.0)]).unwrap_err(), "foam");
    let plate = spruce_top(11.5, 0.85, 0.72);
    says(plate.moduli(&[PlateReading::new("1,1", 22.0, 0.1).unwrap()]).unwrap_err(), "three moduli");
    let p = |l: &str, f| PlateReading::new(l, f, 0.1).unwrap();
    says(plate.moduli(&[p("1,1", 22.0), p("1,2", 50.0), p("0,2", 28.0)]).unwrap_err(), "2,0");
    says(plate.moduli(&[p("1,1", 22.0), p("1,1", 22.0), p("0,2", 28.0)]).unwrap_err(), "twice");
    says(plate.suggest_labels(&[20.0]).unwrap_err(), "frequency_hz");
    says(BarePlate::new(plate.wood(), 500.0, 400.0, 2.8, 24.0).unwrap_err(), "density");
    says(plate.with_thickness_map(&[0.0, 1.0], &[0.0], &[vec![2.0], vec![f64::NAN]]).unwrap_err(), "thickness_mm[1][0]");
    says(plate.with_sides(&[0.0, 500.0], &[0.0, 399.0], &[400.0, 400.0]).unwrap_err(), "high_mm[1]");
    // labels swapped: it comes back and says so, with no panic and no silence
    let swapped = plate.moduli(&[p("1,1", 28.0), p("2,0", 22.0), p("0,2", 62.0)]);
    assert!(swapped.map_or_else(|e| !e.to_string().is_empty(), |e| e.words.len() > 4));
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, ..ProptestConfig::default() })]

    /// Any stick's own frequencies give E and G back, flat, whatever the start; lengthwise too.
    #[test]
    fn round_trips(e in 6.0..18.0f64, ratio in 8.0..20.0f64, l in 250.0..600.0f64, b in 5.0..12.0f64, h in 8.0..20.0f64) {
        let mass = 420e-6 * l * b * h;
        let truth = stick(&wood(e, e / ratio), l, b, h, mass);
        let other = stick(&wood(11.0, 11.0 / 13.0), l, b, h, mass);
        let f = StickTap::new(&truth, Bending::Flat).expected_hz(3).unwrap();
        prop_assert!(f[0] < f[1] && f[1] < f[2]);
        let r: Vec<TapReading> = f.iter().enumerate().map(|(k, f)| TapReading::new(k + 1, *f, 1e-3 * f).unwrap()).collect();
        let found = StickTap::new(&other, Bending::Flat).modulus(&r).unwrap();
        prop_assert!((found.modulus_gpa / e - 1.0).abs() < 1e-5, "{found:?}");
        prop_assert!((found.shear_gpa * ratio / e - 1.0).abs() < 1e-3, "{found:?}");
        let f = LengthwiseTap::new(&truth).expected_hz(1).unwrap()[0];
        let found = LengthwiseTap::new(&other).modulus(&TapReading::new(1, f, 1.0).unwrap()).unwrap();
        prop_assert!((found.modulus_gpa / e - 1.0).abs() < 1e-6);
    }

    /// Moduli and mass scaled together leave the frequencies of a plate; every size doubled halves them.
    #[test]
    fn plate_scales(k in 0.5..1.6f64, r in 0.5..1.5f64, g in 0.5..1.0f64) {
        let options = PlateOptions { degree: 7, shear_degrees: Some([5, 6]), oblique: false };
        let at = |s: f64, k: f64| {
            let outline = Outline::Rectangle { length: 300.0 * s, width: 240.0 * s };
            let p = Plate::new(&outline, &Grid::even(3.0 * s), [Edge::Free; 4], options).unwrap();
            let law = PlateLaw::orthotropic([11e3 * k, 1e3 * k * r], 0.3, 1e3 * k * g, [700.0 * k, 40.0 * k], 400e-12 * k, 0.0);
            p.modes(&law, &[], 5).unwrap().iter().map(|m| m.omega_squared.sqrt()).collect::<Vec<_>>()
        };
        let (a, b, c) = (at(1.0, 1.0), at(1.0, k), at(2.0, 1.0));
        for i in 0..5 {
            prop_assert!((a[i] / b[i] - 1.0).abs() < 1e-8 && (0.5 * a[i] / c[i] - 1.0).abs() < 1e-8);
        }
    }
}
