//! Laws of strings, bridge and years: what scales with what, uncertainties against draws, bands that hold what they say, a report
//! and never an error for a load that is too much, and nothing that panics.

#![allow(clippy::unwrap_used)]

use bracewright::cautions::{Hazard, cautions};
use bracewright::strings::{
    Bridge, BridgeKind, Core, GuitarString, Material, StringSet, couple_on_braces, note_hz, stringing, swapped, tension_n,
};
use bracewright::wood::{LoadDuration, duration_of_load_factor, k_mod, size_factor};
use bracewright::years::{action_change, creep_ratio, rotation_trend};
use proptest::prelude::*;
use rand::SeedableRng;
use rand_distr::{Distribution, StandardNormal};
use rand_xoshiro::Xoshiro256PlusPlus;

fn normal(g: &mut Xoshiro256PlusPlus) -> f64 {
    StandardNormal.sample(g)
}

fn bridge(kind: BridgeKind) -> Bridge {
    Bridge {
        kind,
        saddle_height_mm: 12.5,
        u_saddle_height_mm: 0.3,
        end_height_mm: 9.0,
        end_behind_mm: 16.0,
        foot_length_mm: 150.0,
        foot_width_mm: 32.0,
        saddle_from_front_mm: 11.0,
        top_thickness_mm: 2.8,
        neck_angle_deg: 1.0,
    }
}

proptest! {
    /// T goes with the square of scale and frequency and with the mass; the couple with the tension.
    #[test]
    fn tension_scales(mu in 0.2..10.0_f64, l in 400.0..700.0_f64, f in 60.0..500.0_f64, k in 0.7..1.4_f64) {
        let t = tension_n(mu, l, f).unwrap();
        for (got, want) in [(tension_n(k * mu, l, f), k * t), (tension_n(mu, k * l, f), k * k * t), (tension_n(mu, l, k * f), k * k * t)] {
            prop_assert!((got.unwrap() / want - 1.0).abs() < 1e-12);
        }
        for kind in [BridgeKind::Pin, BridgeKind::Tie] {
            let (one, more) = (bridge(kind).load_of(500.0, 10.0).unwrap(), bridge(kind).load_of(500.0 * k, 10.0 * k).unwrap());
            prop_assert!((more.couple_n_m - k * one.couple_n_m).abs() < 1e-9 && (more.rear_edge_mpa - k * one.rear_edge_mpa).abs() < 1e-9);
        }
    }

    /// An octave doubles, a semitone is the same step everywhere, and A4 sets all.
    #[test]
    fn notes_step_evenly(k in 0..7_usize, octave in 1..6_i32, a4 in 400.0..460.0_f64) {
        let letter = ["C", "D", "E", "F", "G", "A", "B"][k];
        let at = |accidental: &str, octave: i32, a4: f64| note_hz(&format!("{letter}{accidental}{octave}"), a4).unwrap();
        let f = at("", octave, a4);
        prop_assert!((at("", octave + 1, a4) / f - 2.0).abs() < 1e-12);
        prop_assert!((at("#", octave, a4) / f - 2.0_f64.powf(1.0 / 12.0)).abs() < 1e-12);
        prop_assert!((at("", octave, 440.0) * a4 / 440.0 / f - 1.0).abs() < 1e-12);
    }

    /// The couple on the top is the same whichever way the strings end; the glue of a tie bridge carries more than that of a pin
    /// bridge whose strings end behind the middle of the foot; a higher saddle never lessens couple, break angle or peel.
    #[test]
    fn pin_and_tie(h in 9.5..20.0_f64, p in 8.0..20.0_f64, n in -1.0..3.0_f64, more in 0.1..4.0_f64) {
        let at = |kind, h: f64| Bridge { saddle_height_mm: h, end_behind_mm: p, neck_angle_deg: n, ..bridge(kind) }.load_of(700.0, 20.0);
        let (pin, tie) = (at(BridgeKind::Pin, h).unwrap(), at(BridgeKind::Tie, h).unwrap());
        prop_assert_eq!(pin.couple_n_m, tie.couple_n_m);
        prop_assert_eq!(pin.net_down_n, tie.net_down_n);
        prop_assert!(tie.foot_couple_n_m > pin.foot_couple_n_m && tie.rear_edge_mpa > pin.rear_edge_mpa);
        let high = at(BridgeKind::Tie, h + more).unwrap();
        prop_assert!(high.couple_n_m > tie.couple_n_m && high.break_angle_deg > tie.break_angle_deg && high.rear_edge_mpa > tie.rear_edge_mpa);
    }

    /// Shares add up: what braces and rest get before and behind the bridge is the couple.
    #[test]
    fn shares_add_up(couple in 0.0..15.0_f64, a in 0.0..0.5_f64, b in 0.0..0.5_f64, front in 0.0..1.0_f64) {
        let s = couple_on_braces(couple, Some(&[("a".into(), a), ("b".into(), b)]), front).unwrap();
        let sum: f64 = s.braces.iter().map(|x| x.front_n_m + x.behind_n_m).sum();
        prop_assert!((sum + s.rest * couple - couple).abs() < 1e-9);
        prop_assert!(s.words[0].starts_with("assumed"));
    }

    /// Strength never grows with time, size, or a longer class of load; creep never shrinks.
    #[test]
    fn strength_falls(t in 10.0..1e8_f64, k in 1.01..10.0_f64, h in 2.0..50.0_f64, l in 50.0..600.0_f64) {
        prop_assert!(duration_of_load_factor(k * t).unwrap() < duration_of_load_factor(t).unwrap());
        prop_assert!(size_factor(k * h, l, 0.0).unwrap() < size_factor(h, l, 0.0).unwrap());
        prop_assert!(size_factor(h, l, 0.3 * l).unwrap() < size_factor(h, l, 0.0).unwrap());
        prop_assert!(creep_ratio(k * t / 100.0, 0.6).unwrap() > creep_ratio(t / 100.0, 0.6).unwrap());
        for class in [1.0, 2.0, 3.0] {
            for pair in LoadDuration::ALL.windows(2) {
                prop_assert!(k_mod(class, pair[0]).unwrap() < k_mod(class, pair[1]).unwrap());
            }
        }
    }

    /// Action comes back when rotation and arch do, and a fret nearer the nut feels less.
    #[test]
    fn action_is_even(r in -3.0..3.0_f64, arch in -2.0..2.0_f64, q in 0.0..30.0_f64) {
        let at = |r, arch, fret| action_change(r, arch, 13.0, q, 645.0, fret).unwrap();
        prop_assert!(at(0.0, 0.0, 12.0).rise_mm == 0.0 && at(0.0, 0.0, 12.0).cents == 0.0);
        prop_assert!(at(r, arch, 5.0).action_mm.abs() <= at(r, arch, 12.0).action_mm.abs() + 1e-15);
        prop_assert!((at(r, arch, 12.0).rise_mm - at(r, 0.0, 12.0).rise_mm - arch).abs() < 1e-12);
    }

    /// Anything at all gives an answer or a sentence.
    #[test]
    fn wild_numbers_get_an_answer_or_a_sentence(v in proptest::num::f64::ANY, w in proptest::num::f64::ANY) {
        let finite = |x: Result<f64, bracewright::Error>| match x { Ok(y) => y.is_finite(), Err(e) => e.to_string().len() > 15 };
        prop_assert!(finite(GuitarString::plain(v, Material::Steel, Some(w), Some(w)).map(|s| s.mass_g_per_m)));
        prop_assert!(finite(GuitarString::wound(v, Core::Hex, w, v, w).map(|s| s.mass_g_per_m)));
        prop_assert!(finite(GuitarString::weighed(v, w, w, v, None).map(|s| s.u_mass_g_per_m)));
        prop_assert!(finite(GuitarString::of_tension(v, "E2", w, 440.0, 0.1).map(|s| s.mass_g_per_m)));
        prop_assert!(finite(StringSet::steel("light", &[v], w, 440.0).map(|s| s.tensions().total_n)));
        let odd = Bridge { saddle_height_mm: v, end_behind_mm: w, ..bridge(BridgeKind::Pin) };
        prop_assert!(finite(odd.load_of(w, v).map(|l| l.rear_edge_mpa)));
        prop_assert!(finite(rotation_trend(&[1.0, 24.0, v], &[0.9, 1.0, w], None, 0.95).map(|t| t.forecast[2].high_deg)));
        prop_assert!(finite(action_change(v, w, 13.0, v, 645.0, w).map(|a| a.cents)));
        prop_assert!(finite(creep_ratio(v, w)) && finite(duration_of_load_factor(v)) && finite(size_factor(v, w, v)));
    }
}

/// The uncertainty of a total against draws of what is behind it: one error of the scale, one of all windings, one of each
/// plain string.
#[test]
fn total_agrees_with_a_monte_carlo() {
    let set = StringSet::steel("light", &[645.0], 1.5, 440.0).unwrap();
    let said = set.tensions();
    let mut g = Xoshiro256PlusPlus::seed_from_u64(2);
    let n = 40_000;
    let (mut sum, mut square) = (0.0, 0.0);
    for _ in 0..n {
        let (scale, wound) = (645.0 + 1.5 * normal(&mut g), normal(&mut g));
        let total: f64 = set
            .strings
            .iter()
            .zip(&said.strings)
            .map(|(s, t)| {
                let z = if t.note == "E4" || t.note == "B3" { normal(&mut g) } else { wound };
                tension_n(s.mass_g_per_m + s.u_mass_g_per_m * z, scale, t.frequency_hz).unwrap()
            })
            .sum();
        sum += total;
        square += total * total;
    }
    let mean = sum / f64::from(n);
    let sd = (square / f64::from(n) - mean * mean).sqrt();
    assert!((mean / said.total_n - 1.0).abs() < 1e-3);
    assert!((sd / said.u_total_n - 1.0).abs() < 0.02, "{sd} for {}", said.u_total_n);
}

/// Bands of the trend hold 95 of 100 readings to come, with a scatter that is told and with one that is found.
#[test]
fn bands_hold_what_they_say() {
    let mut g = Xoshiro256PlusPlus::seed_from_u64(8);
    let hours = [1.0, 24.0, 168.0, 730.0, 2190.0];
    for u in [Some(0.03), None] {
        let (mut held, n) = (0, 4000);
        for _ in 0..n {
            let r: Vec<f64> = hours.iter().map(|h: &f64| 0.9 + 0.08 * h.log10() + 0.03 * normal(&mut g)).collect();
            let t = rotation_trend(&hours, &r, u, 0.95).unwrap();
            let later = 0.9 + 0.08 * (20.0 * 8766.0_f64).log10() + 0.03 * normal(&mut g);
            held += i32::from(t.forecast[2].low_deg <= later && later <= t.forecast[2].high_deg);
        }
        let share = f64::from(held) / f64::from(n);
        assert!((0.935..0.965).contains(&share), "{u:?}: {share}");
    }
}

/// A set over the design load, a rotation over the limit, a shallow break angle: reports that say so, no errors.
#[test]
fn too_much_is_a_caution() {
    let light = StringSet::steel("light", &[645.0], 0.5, 440.0).unwrap();
    let medium = StringSet::steel("medium", &[645.0], 0.5, 440.0).unwrap();
    let b = bridge(BridgeKind::Pin);
    let design = b.load(&light.tensions()).unwrap().couple_n_m * 1.05;
    let swap = swapped(&light, &medium, &b, Some(design)).unwrap();
    assert!(swap.over_design && swap.words.iter().any(|w| w.contains("over the design load")), "{:?}", swap.words);
    assert!((14.0..18.0).contains(&swap.tension_change_percent));
    let back = swapped(&medium, &light, &b, Some(design)).unwrap();
    assert!(!back.over_design && (back.tension_change_n + swap.tension_change_n).abs() < 1e-9);
    assert!(swap.cautions().iter().any(|c| c.contains("eye protection") && c.contains("slacken")));

    let load = b.load(&light.tensions()).unwrap();
    let plan = stringing(&load, 7.0, 0.1, 1.3, 1.0).unwrap();
    assert!(plan.over_limit && plan.words.iter().any(|w| w.contains("caution")));
    // each stage stops in proportion: read at its stop, the last ends at the limit
    for s in &plan.stages {
        let go = plan.judge(&s.name, 0.999 * s.stop_deg, 0.0).unwrap();
        let stop = plan.judge(&s.name, 1.001 * s.stop_deg, 0.0).unwrap();
        assert!(go.go_on && !stop.go_on && stop.words.starts_with("stop") && (stop.last_deg / 1.3 - 1.001).abs() < 1e-9);
    }
    assert!(plan.stages.windows(2).all(|w| w[1].rotation_deg > w[0].rotation_deg));
    // a reading twice as large means half the stiffness
    let twice = plan.judge("at pitch", 2.0 * plan.stages[1].rotation_deg, 0.05).unwrap();
    assert!((twice.stiffness_n_m_per_deg - 3.5).abs() < 1e-12 && twice.words.contains("further off than chance"));
    let shallow = Bridge { end_height_mm: 11.0, ..b }.load_of(700.0, 0.0).unwrap();
    assert!(shallow.words.iter().any(|w| w.contains("shallow")));
}

#[test]
fn cautions_stand_once_and_in_order() {
    let list = cautions(&[Hazard::Glue, Hazard::Strings, Hazard::Glue]);
    assert_eq!(list, vec![Hazard::Glue.caution().to_string(), Hazard::Strings.caution().to_string()]);
    for h in Hazard::ALL {
        assert_eq!(Hazard::named(h.name()).unwrap(), h);
    }
}
