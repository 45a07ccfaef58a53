//! Humidity against figures from outside: Timoshenko's bimetal, Wood Handbook movement and equilibrium, figures worked out for the
//! project's brief, the exact course of a first-order lag, another rule of integration along a carved brace; and the laws.

#![allow(clippy::unwrap_used)]

use bracewright::humidity::{
    ArchStrip, BraceEnd, GlueLimits, GlueRoom, SeasonOptions, bimaterial_curvature_per_m, crack_stress_mpa, glue_gate, season,
};
use bracewright::wood::emc_percent;
use bracewright::{Blank, Brace, Profile, Section, Wood};

fn near(id: &str, got: f64, want: f64, within: f64) {
    assert!((got - want).abs() <= within, "{id}: {got} for {want} within {within}");
}

/// Timoshenko 1925, J. Opt. Soc. Am. 11, Eq. 4 (from memory): 6 strain (1 + m)^2 / (h (3 (1 + m)^2 + (1 + m n)(m^2 + 1/(m n)))),
/// m the ratio of thicknesses, n of moduli, h the sum of thicknesses, one width for both.
#[test]
fn bimetal() {
    for (t1, t2, e1, e2) in [(1.0, 1.0, 10.0, 10.0), (2.8, 15.0, 0.93, 11.9), (0.5, 2.0, 50.0, 17.0), (3.0, 0.6, 1.4, 11.0)] {
        let (b, strain) = (8.0, 1e-3);
        let (m, n): (f64, f64) = (t1 / t2, e1 / e2);
        let h = 1e-3 * (t1 + t2);
        let want = 6.0 * strain * (1.0 + m).powi(2) / (h * (3.0 * (1.0 + m).powi(2) + (1.0 + m * n) * (m * m + 1.0 / (m * n))));
        let (ea, ei) = (|e: f64, t: f64| 1e3 * e * b * t, |e: f64, t: f64| 1e-3 * e * b * t.powi(3) / 12.0);
        let got = bimaterial_curvature_per_m(strain, ea(e1, t1), ei(e1, t1), ea(e2, t2), ei(e2, t2), 0.5 * (t1 + t2)).unwrap();
        near("bimetal", got / want, 1.0, 1e-12);
        // the same strip through its own door, and its rise over a length: curvature l^2 / 8
        let strip = ArchStrip::rectangular(300.0, b, t1, e1, 1e-3, e2, b, t2, 1.0).unwrap();
        let change = strip.change(8.0, 9.0).unwrap();
        near("strip", change.curvature_per_m / want, 1.0, 1e-12);
        near("rise", change.free_mm / (1e3 * want * 0.3 * 0.3 / 8.0), 1.0, 1e-12);
    }
}

/// Arch changes of the project's brief: RH 45 to 25 % (-3.10 % MC at 21 C by the Handbook's equation), brace 8 by 15 of 11.9 GPa,
/// top 2.8: across the grain -0.196 1/m and -2.2 mm over 300, plate 2.1 MPa; a leg at 50 degrees -0.111 1/m and -1.25 mm.
#[test]
fn arches_of_the_brief() {
    let (wet, dry) = (emc_percent(21.0, 45.0).unwrap(), emc_percent(21.0, 25.0).unwrap());
    near("step", dry - wet, -3.10, 0.005);
    let across = ArchStrip::rectangular(300.0, 100.0, 2.8, 0.93, 0.00148 - 0.00005, 11.9, 8.0, 15.0, 1.0).unwrap();
    let c = across.change(wet, dry).unwrap();
    near("strain", c.strain, -0.00443, 5e-6);
    near("curvature across", c.curvature_per_m, -0.196, 5e-4);
    near("arch across", c.free_mm, -2.2, 0.05);
    near("plate", c.plate_stress_mpa, 2.1, 0.05);
    let sin2 = 50.0_f64.to_radians().sin().powi(2);
    let leg = ArchStrip::rectangular(300.0, 60.0, 2.8, 1.45, 0.00143 * sin2, 11.9, 8.0, 15.0, 1.0).unwrap();
    let c = leg.change(wet, dry).unwrap();
    near("curvature of a leg", c.curvature_per_m, -0.111, 5e-4);
    near("arch of a leg", c.free_mm, -1.25, 0.005);
    near("45 to 35", leg.change(wet, emc_percent(21.0, 35.0).unwrap()).unwrap().curvature_per_m, -0.054, 5e-4);
    near("45 to 65", leg.change(wet, emc_percent(21.0, 65.0).unwrap()).unwrap().curvature_per_m, 0.125, 5e-4);
    // tension of a held top, 4.1 and 2.0 MPa, E_R 0.93 GPa
    let top = Wood::published("Sitka spruce (1999)").unwrap().with_modulus_l_gpa(11.9).unwrap();
    near("crack", crack_stress_mpa(&top, wet, dry).unwrap(), 4.1, 0.05);
    near("crack", crack_stress_mpa(&top, wet, emc_percent(21.0, 35.0).unwrap()).unwrap(), 2.0, 0.05);
}

fn joint(across: bool, end_height_mm: f64) -> BraceEnd {
    BraceEnd {
        plate_modulus_gpa: if across { 0.93 } else { 1.45 },
        plate_shear_gpa: if across { 0.036 } else { 0.060 },
        plate_width_mm: if across { 100.0 } else { 60.0 },
        thickness_mm: 2.8,
        brace_modulus_gpa: 11.5,
        brace_shear_gpa: 0.70,
        brace_width_mm: 8.0,
        end_height_mm,
        length_mm: 300.0,
        glue_mm: 0.1,
        glue_shear_gpa: 1.0,
    }
}

/// Shear at the ends of the project's brief, in MPa and mm, printed to two digits.
#[test]
fn ends_of_the_brief() {
    for (across, strain, rows) in [
        (true, 0.0044, [(15.0, 3.1, 23.0), (6.0, 2.3, 15.0), (3.0, 1.7, 11.0), (1.5, 1.6, 10.0)]),
        (false, 0.0026, [(15.0, 2.2, 19.0), (6.0, 1.7, 12.0), (3.0, 1.3, 8.0), (1.5, 1.2, 7.5)]),
    ] {
        for (height, shear, decay) in rows {
            let e = joint(across, height).end_lift(-strain, Some(1.5)).unwrap();
            near("shear", e.shear_mpa, shear, 0.06);
            near("decay", e.decay_mm, decay, 0.55);
            assert_eq!(e.words.len() == 2, e.shear_mpa >= 1.5);
        }
    }
}

/// The same end from a brace and two woods: moduli and the effective shear modulus (60 MPa at 50 degrees, 36 across) of the brief,
/// and rolling shear and E_R themselves across the grain.
#[test]
fn an_end_from_its_woods() {
    let top = Wood::published("Sitka spruce (1999)").unwrap().with_modulus_l_gpa(11.9).unwrap();
    let blank = Blank::new(&top, 300.0, 8.0, 17.0, None).unwrap();
    let shape = Profile::straight(300.0, 15.0).unwrap().with_ends(40.0, 3.0, bracewright::Blend::Cosine).unwrap();
    let brace = Brace::new(&blank, &shape, &Section::rectangle()).unwrap();
    let leg = BraceEnd::under(&brace, &top, 2.8, 60.0, 50.0, None).unwrap();
    near("E at 50", leg.plate_modulus_gpa, 1.45, 0.005);
    near("G at 50", leg.plate_shear_gpa, 0.060, 0.002);
    near("its end", leg.end_height_mm, 3.0, 1e-12);
    near("shear of a leg", leg.end_lift(0.0026, None).unwrap().shear_mpa, 1.3, 0.06);
    let bar = BraceEnd::under(&brace, &top, 2.8, 100.0, 90.0, Some(15.0)).unwrap();
    near("E across", bar.plate_modulus_gpa / top.modulus_r_gpa(), 1.0, 1e-12);
    near("G across", bar.plate_shear_gpa / top.shear_rt_gpa(), 1.0, 1e-12);
    near("shear of a bar", bar.end_lift(0.0044, None).unwrap().shear_mpa, 3.1, 0.06);
}

/// The shear lag itself: the end shear integrates to the force that a long strip's middle carries, S times the strain where
/// bending is held (lambda without its bending term): Volkersen's balance. Here with the bending term, the force is strain / lambda.
#[test]
fn end_shear_carries_the_force() {
    let j = joint(true, 6.0);
    let e = j.end_lift(0.004, None).unwrap();
    let (ea1, ea2) = (930.0 * 100.0 * 2.8, 11_500.0 * 8.0 * 6.0);
    let bending = 930.0 * 100.0 * 2.8_f64.powi(3) / 12.0 + 11_500.0 * 8.0 * 216.0 / 12.0;
    let lambda = 1.0 / ea1 + 1.0 / ea2 + 4.4_f64.powi(2) / bending;
    // tau(x) = tau_end e^(-x/decay) over a width of 8
    near("force", e.shear_mpa * 8.0 * e.decay_mm / (0.004 / lambda), 1.0, 1e-6);
}

/// A first-order lag of a sine, exactly: amplitude 1/sqrt(1 + (w tau)^2). The year's air as a sine by months is straight between them,
/// so its first harmonic is smaller by sinc^2(1/12) times sampling; compared within 2 %.
#[test]
fn the_year_lags() {
    let top = Wood::published("Sitka spruce (1999)").unwrap();
    let strip = ArchStrip::rectangular(300.0, 60.0, 2.8, 1.45, 0.0008, 11.9, 8.0, 15.0, 0.45).unwrap();
    // humidities whose equilibrium is a sine of moisture
    let rh: Vec<f64> = (0..12)
        .map(|k| {
            let m = 8.5 + 1.5 * (std::f64::consts::TAU * (f64::from(k) + 0.5) / 12.0).sin();
            bracewright::wood::rh_for_emc_percent(21.0, m).unwrap()
        })
        .collect();
    let swing = |tau: f64| {
        let o =
            SeasonOptions { glued_mc_percent: 8.5, time_constant_days: tau, built_arch_mm: 2.0, tension_perpendicular_mpa: None };
        let s = season(&strip, &top, &rh, &[21.0], &o).unwrap();
        assert!((s.mc_percent[0] - s.mc_percent[s.mc_percent.len() - 1]).abs() < 1e-9, "the year does not end where it began");
        let (low, high) = s.mc_percent.iter().fold((f64::MAX, f64::MIN), |(l, h), m| (l.min(*m), h.max(*m)));
        0.5 * (high - low)
    };
    near("at once", swing(0.0), 1.5, 0.08);
    for tau in [20.0, 60.0, 180.0] {
        let want = 1.5 / (1.0 + (std::f64::consts::TAU * tau / 365.25).powi(2)).sqrt();
        near("lag", swing(tau) / want, 1.0, 0.03);
    }
}

/// Wetter then drier returns, whatever the way; nothing moves without a change; twice the change is twice the arch.
#[test]
fn it_comes_back() {
    let wood = Wood::published("Sitka spruce").unwrap();
    let blank = Blank::new(&wood, 420.0, 8.0, 17.0, None).unwrap();
    let shape = Profile::straight(420.0, 16.0).unwrap();
    let brace = Brace::new(&blank, &shape, &Section::rectangle()).unwrap();
    let strip = ArchStrip::under(&brace, &wood, 2.8, 60.0, 50.0, 0.45).unwrap();
    let way = [8.5, 11.0, 6.0, 14.0, 8.5];
    let sum: f64 = way.windows(2).map(|w| strip.change(w[0], w[1]).unwrap().restrained_mm).sum();
    near("there and back", sum, 0.0, 1e-12);
    assert_eq!(strip.change(8.5, 8.5).unwrap().free_mm, 0.0);
    let one = strip.change(8.0, 9.0).unwrap().free_mm;
    near("twice", strip.change(8.0, 10.0).unwrap().free_mm, 2.0 * one, 1e-12);
    // drying pulls on the plate and sinks it; along the grain there is nothing
    let dry = strip.change(8.5, 5.5).unwrap();
    assert!(dry.free_mm < 0.0 && dry.plate_stress_mpa > 0.0);
    assert_eq!(ArchStrip::under(&brace, &wood, 2.8, 60.0, 0.0, 0.45).unwrap().change(8.5, 5.5).unwrap().free_mm, 0.0);
    // a share read is a share learned
    let learned = strip.learned_r_edge(0.37 * dry.free_mm, 8.5, 5.5).unwrap();
    near("learned", learned.r_edge, 0.37, 1e-12);
}

/// A carved brace against the rectangle it is, and against curvatures by hand integrated by another rule (midpoints, 20 000).
#[test]
fn under_a_carved_brace() {
    let wood = Wood::published("Sitka spruce").unwrap();
    let blank = Blank::new(&wood, 420.0, 8.0, 17.0, None).unwrap();
    let plain = Brace::new(&blank, &Profile::straight(420.0, 15.0).unwrap(), &Section::rectangle()).unwrap();
    let e = 1e6 * plain.along(&[210.0]).unwrap().ei_n_m2[0] / plain.along(&[210.0]).unwrap().i_centroid_mm4[0] / 1e3;
    let ep = wood.off_axis_modulus_gpa(50.0).unwrap();
    let move_ = (0.00148 - 0.00005) * 50.0_f64.to_radians().sin().powi(2);
    let by_hand = ArchStrip::rectangular(420.0, 60.0, 2.8, ep, move_, e, 8.0, 15.0, 0.45).unwrap();
    let strip = ArchStrip::under(&plain, &wood, 2.8, 60.0, 50.0, 0.45).unwrap();
    near("rectangle", strip.rise_mm_per_strain / by_hand.rise_mm_per_strain, 1.0, 1e-9);

    let shape = Profile::straight(420.0, 15.0).unwrap().with_ends(60.0, 2.0, bracewright::Blend::Cosine).unwrap();
    let carved = Brace::new(&blank, &shape, &Section::rectangle()).unwrap();
    let strip = ArchStrip::under(&carved, &wood, 2.8, 60.0, 50.0, 0.45).unwrap();
    let n = 20_000;
    let x: Vec<f64> = (0..n).map(|k| 420.0 * (f64::from(k) + 0.5) / f64::from(n)).collect();
    let h = shape.height_mm(&x).unwrap();
    let (ea1, ei1) = (1e3 * ep * 60.0 * 2.8, 1e-3 * ep * 60.0 * 2.8_f64.powi(3) / 12.0);
    let want: f64 = x
        .iter()
        .zip(&h)
        .map(|(x, h)| {
            let k =
                bimaterial_curvature_per_m(1e-3, ea1, ei1, 1e3 * e * 8.0 * h, 1e-3 * e * 8.0 * h.powi(3) / 12.0, 1.4 + 0.5 * h);
            1e3 * k.unwrap() * 0.5 * x.min(420.0 - x) * 420.0 / f64::from(n) * 1e-3
        })
        .sum();
    near("carved", strip.rise_mm_per_strain / want, 1.0, 1e-6);
}

/// The gate: its own edge is where the answer turns, damper shop air never makes a dry winter milder, a dry climate is a caution.
#[test]
fn the_gate_turns_at_its_edge() {
    let top = Wood::published("Sitka spruce (1999)").unwrap();
    let strip = ArchStrip::rectangular(300.0, 60.0, 2.8, 1.45, 0.00084, 11.9, 8.0, 15.0, 0.45).unwrap();
    let room = |rh: f64| GlueRoom {
        rh_percent: rh,
        temperature_c: 21.0,
        driest_rh_percent: 25.0,
        dampest_rh_percent: 65.0,
        service_temperature_c: 21.0,
    };
    let limits = GlueLimits {
        built_arch_mm: 1.5,
        least_arch_mm: 0.8,
        most_rise_mm: Some(1.0),
        most_crack_index: 1.5,
        tension_perpendicular_mpa: None,
    };
    let gate = glue_gate(&strip, &top, &room(55.0), &limits).unwrap();
    assert!(!gate.glue && gate.words[0].starts_with("do not glue"));
    let edge = gate.highest_rh_percent.unwrap();
    assert!(glue_gate(&strip, &top, &room(edge - 0.01), &limits).unwrap().words.len() >= 2);
    let (under, over) =
        (glue_gate(&strip, &top, &room(edge - 0.01), &limits), glue_gate(&strip, &top, &room(edge + 0.01), &limits));
    assert!(under.unwrap().glue && !over.unwrap().glue, "{edge}");
    let mut last = f64::INFINITY;
    for rh in [30.0, 40.0, 50.0, 60.0, 70.0] {
        let g = glue_gate(&strip, &top, &room(rh), &limits).unwrap();
        assert!(g.arch_dry_mm < last);
        last = g.arch_dry_mm;
    }
    assert!(gate.cautions().iter().any(|c| c.contains("Dry air")) && gate.cautions()[0].contains("glue"));
}
