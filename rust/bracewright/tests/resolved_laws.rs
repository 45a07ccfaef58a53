//! What the depth-resolved beam must keep, whatever the shape.

#![allow(clippy::unwrap_used)]

mod common;

use bracewright::mechanics::modes;
use bracewright::mechanics::pieces::Pieces;
use bracewright::mechanics::resolved::{Degrees, Face, Hold, Patch, Resolved, Solution};
use bracewright::mechanics::section_beam::{self, Flexibility};
use bracewright::mechanics::solid::{Cap, Outline, Rise, Solid};
use bracewright::{Brace, CapRise, Profile, Rig, ScallopShape, Section};
use common::{law, spruce, stick};
use proptest::prelude::*;

const L: f64 = 400.0;

/// A scalloped crest: base height, and two scallops of given places, half-lengths and depths.
fn crest() -> impl Strategy<Value = Pieces> {
    (12.0..18.0_f64, 70.0..150.0_f64, 250.0..330.0_f64, 25.0..50.0_f64, 25.0..50.0_f64, 0.0..7.0_f64, 0.0..7.0_f64).prop_map(
        |(h, x1, x2, l1, l2, d1, d2)| {
            let b = [0.0, x1 - l1, x1, x1 + l1, x2 - l2, x2, x2 + l2, L];
            Pieces::fit(&b, 1e-12, |x| {
                let s = |c: f64, l: f64, d: f64| {
                    let v = (x - c) / l;
                    if v.abs() < 1.0 { d * 0.5 * (1.0 + (std::f64::consts::PI * v).cos()) } else { 0.0 }
                };
                h - s(x1, l1, d1) - s(x2, l2, d2)
            })
        },
    )
}

fn outline() -> impl Strategy<Value = Outline> {
    prop_oneof![
        Just(Outline::Sides(1.0)),
        (0.4..1.0_f64).prop_map(Outline::Sides),
        (1.0..8.0_f64).prop_map(|c| Outline::Capped(Cap::Power(0.5), Rise::Fixed(c))),
        (0.1..0.6_f64).prop_map(|f| Outline::Capped(Cap::Rounded, Rise::Fraction(f))),
    ]
}

fn faces() -> impl Strategy<Value = Face> {
    prop_oneof![Just(Face::Crest), Just(Face::Glue), Just(Face::Body)]
}

struct Held {
    beam: Resolved,
    holds: Vec<Hold>,
}

impl Held {
    /// On two pads 10 mm wide at 30 and 370, with lines where loads may end.
    fn new(solid: &Solid, stiffness: f64, lines: &[f64]) -> Self {
        let l = law(11_000.0 * stiffness, 473.0 * stiffness, 671.0 * stiffness, 0.467);
        let mut lines = lines.to_vec();
        lines.extend([25.0, 35.0, 365.0, 375.0]);
        let beam = Resolved::new(solid, [&l, &l], 420e-12, &lines, 14.0, Degrees { along: 4, across: 3, order: 3 });
        let pad = |x| Hold::Pad { x, width: 10.0, compliance: 0.0 };
        Self { beam, holds: vec![pad(30.0), pad(370.0)] }
    }

    fn under(&self, loads: &[Patch]) -> Solution {
        let factor = self.beam.factor(&self.holds, 0.0).unwrap();
        let (f, m) = loads.iter().fold((0.0, 0.0), |s, p| (s.0 + p.force, s.1 + p.force * 0.5 * (p.start + p.end)));
        self.beam.solve(&factor, &self.beam.load(loads), f, m, &self.holds).unwrap()
    }
}

fn patch(x: f64, face: Face, force: f64) -> Patch {
    Patch { start: x - 5.0, end: x + 5.0, face, force }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, failure_persistence: None, ..ProptestConfig::default() })]

    /// Betti: a force at one place moves another as far as the same force there moves the first.
    #[test]
    fn forces_and_places_change_roles(c in crest(), o in outline(), x in 10.0..390.0_f64, y in 10.0..390.0_f64, f in faces(), g in faces()) {
        let held = Held::new(&Solid::plain(c, 8.0, o), 1.0, &[x - 5.0, x + 5.0, y - 5.0, y + 5.0]);
        let (u, v) = (held.under(&[patch(x, f, 1.0)]), held.under(&[patch(y, g, 1.0)]));
        let a = held.beam.deflection(&u, y - 5.0, y + 5.0, g);
        let b = held.beam.deflection(&v, x - 5.0, x + 5.0, f);
        let scale = held.beam.deflection(&u, x - 5.0, x + 5.0, f).abs().max(held.beam.deflection(&v, y - 5.0, y + 5.0, g).abs());
        prop_assert!((a - b).abs() < 1e-8 * scale, "{a} {b} of {scale}");
    }

    /// Two loads together bend as the sum of each alone; a load of twice the force twice as far; reactions carry the load.
    #[test]
    fn loads_add(c in crest(), o in outline(), x in 10.0..390.0_f64, y in 10.0..390.0_f64, at in 0.0..400.0_f64, f in -30.0..30.0_f64) {
        let held = Held::new(&Solid::plain(c, 8.0, o), 1.0, &[x - 5.0, x + 5.0, y - 5.0, y + 5.0]);
        let (p, q) = (patch(x, Face::Crest, 20.0), patch(y, Face::Body, f));
        let d = |loads: &[Patch]| held.beam.deflection(&held.under(loads), at, at, Face::Glue);
        let (a, b, both) = (d(&[p]), d(&[q]), d(&[p, q]));
        prop_assert!((a + b - both).abs() < 1e-9 * (a.abs() + b.abs() + 1e-3));
        let twice = d(&[Patch { force: 40.0, ..p }]);
        prop_assert!((twice - 2.0 * a).abs() < 1e-9 * a.abs().max(1e-3));
        let r = held.under(&[p, q]).pads;
        prop_assert!((r[0] + r[1] - 20.0 - f).abs() < 1e-9);
        prop_assert!((30.0 * r[0] + 370.0 * r[1] - 20.0 * x - f * y).abs() < 1e-6);
    }

    /// All moduli times a factor: deflections over it, frequencies times its root.
    #[test]
    fn stiffer_wood_bends_less(c in crest(), o in outline(), s in 0.2..5.0_f64) {
        let solid = Solid::plain(c, 8.0, o);
        let d = |k: f64| { let h = Held::new(&solid, k, &[195.0, 205.0]); let u = h.under(&[patch(200.0, Face::Crest, 20.0)]); h.beam.deflection(&u, 200.0, 200.0, Face::Glue) };
        prop_assert!((d(s) * s / d(1.0) - 1.0).abs() < 1e-9);
    }

    /// Wood of twice the width bends half as far, and rings the same: the width is a weight.
    #[test]
    fn width_is_a_weight(c in crest(), w in 3.0..20.0_f64) {
        let d = |w: f64| { let h = Held::new(&Solid::plain(c.clone(), w, Outline::Sides(1.0)), 1.0, &[195.0, 205.0]); let u = h.under(&[patch(200.0, Face::Crest, 20.0)]); (h.beam.deflection(&u, 200.0, 200.0, Face::Glue), modes::lowest(&h.beam, &[], 4e6, 1).unwrap()[0]) };
        let (a, b) = (d(w), d(8.0));
        prop_assert!((a.0 * w / (8.0 * b.0) - 1.0).abs() < 1e-9);
        prop_assert!((a.1 / b.1 - 1.0).abs() < 1e-8);
    }

    /// The mirror image bends as the mirror image.
    #[test]
    fn mirrors(c in crest(), o in outline(), x in 10.0..390.0_f64, at in 0.0..400.0_f64) {
        let solid = Solid::plain(c, 8.0, o);
        let m = solid.mirrored();
        let (a, b) = (Held::new(&solid, 1.0, &[x - 5.0, x + 5.0]), Held::new(&m, 1.0, &[L - x - 5.0, L - x + 5.0]));
        let da = a.beam.deflection(&a.under(&[patch(x, Face::Crest, 20.0)]), at, at, Face::Glue);
        let db = b.beam.deflection(&b.under(&[patch(L - x, Face::Crest, 20.0)]), L - at, L - at, Face::Glue);
        prop_assert!((da - db).abs() < 1e-7 * da.abs().max(1e-2), "{da} {db}");
    }

    /// Another element line, or a polynomial cut in two, moves nothing beyond the discretisation.
    #[test]
    fn splitting_moves_nothing(c in crest(), o in outline(), cut in 20.0..380.0_f64) {
        let solid = Solid::plain(c.clone(), 8.0, o);
        let d = |s: &Solid, lines: &[f64]| { let h = Held::new(s, 1.0, lines); let u = h.under(&[patch(200.0, Face::Body, 20.0)]); h.beam.deflection(&u, 200.0, 200.0, Face::Glue) };
        let whole = d(&solid, &[195.0, 205.0]);
        let line = d(&solid, &[195.0, 205.0, cut]);
        prop_assert!((line / whole - 1.0).abs() < 1e-3, "{whole} {line}");
        let pieces = d(&Solid::plain(c.refined(&[cut]), 8.0, o), &[195.0, 205.0]);
        prop_assert!((pieces / whole - 1.0).abs() < 1e-9, "{whole} {pieces}");
    }

    /// A cut anywhere never makes the load sink less, and on the same mesh it is so exactly: elements only lose strain
    /// energy. Measured against the discretisation of this coarse mesh.
    #[test]
    fn a_cut_never_stiffens(c in crest(), o in outline(), depth in 0.05..3.0_f64, at in 40.0..360.0_f64) {
        let lower = c.combined(&Pieces::fit(&[0.0, at - 30.0, at, at + 30.0, L], 1e-12, |x| {
            let v = (x - at) / 30.0;
            if v.abs() < 1.0 { depth * 0.5 * (1.0 + (std::f64::consts::PI * v).cos()) } else { 0.0 }
        }), 1.0, -1.0);
        prop_assume!(lower.extremes(0.0, L).0.1 > 3.0);
        // sides that taper to a crest width turn as the crest comes down: narrower above, so still a cut only when parallel
        let o = if let Outline::Sides(_) = o { Outline::Sides(1.0) } else { o };
        let work = |c: Pieces| { let h = Held::new(&Solid::plain(c, 8.0, o), 1.0, &[195.0, 205.0, at - 30.0, at, at + 30.0]); let p = [patch(200.0, Face::Body, 20.0)]; let u = h.under(&p); h.beam.deflection(&u, 195.0, 205.0, Face::Body) };
        let (before, after) = (work(c), work(lower));
        prop_assert!(after > before * (1.0 - 2e-4), "{before} {after}");
    }

    /// Free vibration: a lump of wood more at the ends lowers it, and the section beam of the same slender shape agrees.
    #[test]
    fn frequencies_agree_with_the_section_beam_when_slender(h in 3.0..6.0_f64) {
        let crest = Pieces::constant(0.0, L, h);
        let solid = Solid::plain(crest, 8.0, Outline::Sides(1.0));
        let beam = Held::new(&solid, 1.0, &[]).beam;
        let i = |x: f64, inside: f64| {
            let m = solid.moments(x, inside, true);
            section_beam::Inertia { bend: 11_000.0 * m.about_centroid(), shear: 671.0 * m.area / 1.2, mass: 420e-12 * m.area, rotary: 420e-12 * m.about_centroid() }
        };
        let s = section_beam::vibrations(&[0.0, 200.0, L], 10, true, i, &[], &[], 2).unwrap();
        let r = modes::lowest(&beam, &[], s[0], 2).unwrap();
        prop_assert!((r[0] / s[0] - 1.0).abs() < 2e-4 && (r[1] / s[1] - 1.0).abs() < 1e-3, "{r:?} {s:?}");
    }
}

/// A third pad takes what two left to it: its force is what undoes the sag there (the method of forces).
#[test]
fn a_third_pad() {
    let solid = Solid::plain(common::half_cosines(&common::DOUBLE), 8.0, Outline::Sides(1.0));
    let lines = [95.0, 105.0, 195.0, 205.0];
    let two = Held::new(&solid, 1.0, &lines);
    let load = patch(100.0, Face::Crest, 20.0);
    let sag = |loads: &[Patch]| two.beam.deflection(&two.under(loads), 195.0, 205.0, Face::Glue);
    for compliance in [0.0, 1e-3] {
        let force = sag(&[load]) / (sag(&[patch(200.0, Face::Glue, 1.0)]) + compliance);
        let mut three = Held::new(&solid, 1.0, &lines);
        three.holds.push(Hold::Pad { x: 200.0, width: 10.0, compliance });
        let s = three.under(&[load]);
        assert!((s.pads[2] / force - 1.0).abs() < 1e-8, "{} {force}", s.pads[2]);
        assert!((s.pads.iter().sum::<f64>() - 20.0).abs() < 1e-8);
        assert!((three.beam.deflection(&s, 195.0, 205.0, Face::Glue) - compliance * force).abs() < 1e-8);
    }
}

/// What holds too little is refused, not answered.
#[test]
fn too_few_supports() {
    let solid = Solid::plain(Pieces::constant(0.0, L, 10.0), 8.0, Outline::Sides(1.0));
    let mut held = Held::new(&solid, 1.0, &[195.0, 205.0]);
    held.holds.pop();
    let factor = held.beam.factor(&held.holds, 0.0).unwrap();
    let p = [patch(200.0, Face::Crest, 20.0)];
    assert!(held.beam.solve(&factor, &held.beam.load(&p), 20.0, 4000.0, &held.holds).is_none());
    assert!(held.beam.solve(&factor, &held.beam.load(&p), 20.0, 4000.0, &[]).is_none());
}

/// Solid wood bent to a circle: the exact plane-stress answer, M x / EI and no more, to rounding.
#[test]
fn pure_bending_is_exact() {
    let solid = Solid::plain(Pieces::constant(0.0, L, 16.0), 8.0, Outline::Sides(1.0));
    let l = spruce();
    let beam = Resolved::new(&solid, [&l, &l], 0.0, &[100.0, 300.0], 50.0, Degrees { along: 1, across: 2, order: 2 });
    let u = beam.back_solve(&beam.factor(&[], 0.0).unwrap(), &beam.end_couples(0.0, L, 1000.0));
    let ei = 11_000.0 * 8.0 * 16.0_f64.powi(3) / 12.0;
    let turn = beam.plane_turn(&u, 100.0) - beam.plane_turn(&u, 300.0);
    assert!((turn * ei / (1000.0 * 200.0) - 1.0).abs() < 1e-9, "{turn}");
}

fn brace() -> Brace {
    let p = Profile::straight(420.0, 16.0)
        .unwrap()
        .with_scallop(110.0, 100.0, 7.0, ScallopShape::Cosine)
        .unwrap()
        .with_scallop(310.0, 80.0, 6.0, ScallopShape::Quintic)
        .unwrap();
    Brace::new(&stick(), &p, &Section::parabolic_cap(CapRise::Mm(4.0)).unwrap()).unwrap()
}

/// The double integral of M over the working stiffness gives back the deflection under pure bending of the brace.
///
/// The brace is bent by the couples of the definition and the mean sink of its sections is read from the beam itself. What
/// is left is the warping between the plane that turns and the line that sinks: measured below 0.01 % of the sag at the
/// peaks, where a dial would stand, and 0.2 % at the floors of the scallops.
#[test]
fn working_stiffness_integrates_to_the_deflection() {
    let b = brace();
    let (n, window) = (210, 2.0);
    let x: Vec<f64> = (0..n).map(|k| window * (f64::from(k) + 0.5)).collect();
    let w = b.working(&x, window).unwrap();
    assert!(w.ratio.iter().all(|r| *r > 0.5 && *r < 1.02), "{:?}", w.ratio);
    let c = b.blank().stiffness().unwrap().c_gpa.map(|row| row.map(|v| 1000.0 * v));
    let l = bracewright::mechanics::resolved::Law { c };
    let solid = Solid::plain(b.profile().crest().clone(), b.width_mm(), b.section().outline(b.width_mm()).unwrap());
    let beam = Resolved::new(&solid, [&l, &l], 0.0, &[], 8.0, Degrees::FINER);
    let u = beam.back_solve(&beam.factor(&[], 0.0).unwrap(), &beam.end_couples(0.0, 420.0, 1000.0));
    let sink = |m: f64| beam.mean_deflection(m, m, Face::Body).iter().zip(&u).map(|(a, b)| a * b).sum::<f64>();
    for m in [60.0, 110.0, 210.0, 310.0, 360.0] {
        // the unit-load theorem over the whole length: sag against the line through the ends
        let integral: f64 = x
            .iter()
            .zip(&w.working_n_m2)
            .map(|(s, ei)| (if *s < m { s * (420.0 - m) } else { m * (420.0 - s) }) / 420.0 / ei * window * 1e-3)
            .sum();
        let sag = sink(m) - sink(0.0) - (sink(420.0) - sink(0.0)) * m / 420.0;
        let allowed = if m == 110.0 || m == 310.0 { 3e-3 } else { 2e-4 };
        assert!((integral / sag - 1.0).abs() < allowed, "at {m}: {integral} {sag} {:e}", integral / sag - 1.0);
    }
}

/// The sensitivity map against solving the brace again with a little taken off there: within 1 % of the greatest.
#[test]
fn sensitivity_is_the_derivative() {
    // cut from a blank with wood to spare, so that the crest can be raised too
    let b = brace();
    let rig = Rig::three_point(380.0, 19.6).unwrap();
    let s = b.sensitivity(&rig, 14).unwrap();
    let most = s.percent_per_mm.iter().fold(0.0_f64, |m, v| m.max(*v));
    let depth = 0.02;
    // stations close together on the brace itself, so that both sides of the comparison see one crest
    let x: Vec<f64> = (0..=1680).map(|i| 0.25 * f64::from(i)).collect();
    let h = b.profile().height_mm(&x).unwrap();
    for k in [2, 3, 6, 7, 10] {
        let with = |sign: f64| {
            let bump =
                |x: f64| depth * 0.5 * (1.0 + (std::f64::consts::PI * ((x - s.x_mm[k]) / s.place_mm).clamp(-1.0, 1.0)).cos());
            let h: Vec<f64> = x.iter().zip(&h).map(|(x, h)| h + sign * bump(*x)).collect();
            rig.compliance_mm_per_n(&b.with_profile(&Profile::measured(&x, &h).unwrap()).unwrap()).unwrap().0
        };
        let (more, less) = (with(-1.0), with(1.0));
        let slope = 100.0 * (more - less) / (0.5 * (more + less)) / (2.0 * depth);
        assert!((slope - s.percent_per_mm[k]).abs() < 0.01 * most, "place {k}: {slope} {}", s.percent_per_mm[k]);
    }
}

/// Redundant supports of the section beam: three rests by its own system, and by the mutual work of two states.
#[test]
fn redundant_section_beam() {
    let f = |x: f64, _: f64| (1.0 / (1.0 + x), 0.01);
    let loads = [section_beam::Load::spread(0.1, 0.5, 2.0)];
    let rests = |at: &[f64]| at.iter().map(|x| section_beam::Support::rest(*x)).collect::<Vec<_>>();
    let flex = Flexibility::new(vec![0.0, 0.1, 0.5, 0.6, 1.0], 24, f);
    let three = flex.solve(&loads, &rests(&[0.0, 0.6, 1.0])).unwrap();
    let two = flex.solve(&loads, &rests(&[0.0, 1.0])).unwrap();
    let unit = flex.solve(&[section_beam::Load::point(0.6, 1.0)], &rests(&[0.0, 1.0])).unwrap();
    let (m, n) = (|x: f64| two.moment_and_shear(x), |x: f64| unit.moment_and_shear(x));
    let sag = flex.mutual(m, n);
    assert!((sag / flex.deflection(&two, 0.6) - 1.0).abs() < 1e-12);
    let force = sag / flex.mutual(n, n);
    let found = three.reactions()[1].1;
    assert!((found / force - 1.0).abs() < 1e-11, "{found} {force}");
    assert!(flex.deflection(&three, 0.6).abs() < 1e-13);
}
