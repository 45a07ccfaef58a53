//! What must hold for any wood: rotation, reciprocity, moisture there and back, files there and back, and words for bad input.
#![allow(clippy::unwrap_used)]

use bracewright::wood::{self, PlaneStiffness, Quantity, Standing, Wood};
use proptest::prelude::*;

fn any_wood() -> impl Strategy<Value = Wood> {
    ((300.0..800.0, 6.0..16.0, 0.05..0.15, 0.6..1.0), (0.04..0.15, 0.04..0.15, 0.002..0.03), (0.25..0.5, 0.25..0.5, 0.3..0.7))
        .prop_map(|((rho, e, er, et), (glr, glt, grt), (lr, lt, rt))| {
            Wood::custom("invented", rho, e)
                .and_then(|w| w.with_transverse_moduli_gpa(er * e, er * et * e))
                .and_then(|w| w.with_shear_ratios(glr, glt, grt))
                .and_then(|w| w.with_poisson_ratios(lr, lt, rt))
                .unwrap()
        })
}

fn any_published() -> impl Strategy<Value = Wood> {
    proptest::sample::select(Wood::species()).prop_map(|n| Wood::published(n).unwrap())
}

fn near(a: f64, b: f64, tol: f64) -> bool {
    (a - b).abs() <= tol * a.abs().max(b.abs()).max(1e-12)
}

/// Entries compared on the scale of their own row and column: E_L and G differ by a factor of 16.
fn same(a: &PlaneStiffness, b: &PlaneStiffness, signs: [f64; 3], tol: f64) -> bool {
    (0..3).all(|i| {
        (0..3).all(|j| {
            let scale = (a.c_gpa[i][i] * a.c_gpa[j][j]).sqrt();
            (a.c_gpa[i][j] - signs[i] * signs[j] * b.c_gpa[i][j]).abs() <= tol * scale
        })
    })
}

/// Tensor rotation written out in full, S'_ijkl = q_pi q_qj q_rk q_sl S_pqrs, the turn to the grain by Rodrigues' formula.
fn compliance_in_full(w: &Wood, ring_deg: f64, v: f64, h: f64) -> [[f64; 3]; 3] {
    let (e, nu, g) = (
        [w.modulus_l_gpa(), w.modulus_r_gpa(), w.modulus_t_gpa()],
        [[0.0, w.nu_lr(), w.nu_lt()], [w.nu_rl(), 0.0, w.nu_rt()], [w.nu_tl(), w.nu_tr(), 0.0]],
        [
            [0.0, w.shear_lr_gpa(), w.shear_lt_gpa()],
            [w.shear_lr_gpa(), 0.0, w.shear_rt_gpa()],
            [w.shear_lt_gpa(), w.shear_rt_gpa(), 0.0],
        ],
    );
    let s4 = |p: usize, q: usize, r: usize, s: usize| {
        if p == q && r == s {
            if p == r { 1.0 / e[p] } else { -nu[p][r] / e[p] }
        } else if p != q && ((p, q) == (r, s) || (p, q) == (s, r)) {
            0.25 / g[p][q]
        } else {
            0.0
        }
    };
    let phi = ring_deg.to_radians();
    let rings = [[1.0, 0.0, 0.0], [0.0, phi.cos(), phi.sin()], [0.0, -phi.sin(), phi.cos()]];
    let n = (1.0 + v * v + h * h).sqrt();
    // Axis x cross l, angle from x to l.
    let (cos, axis) = (1.0 / n, [0.0, -v / n, h / n]);
    let k = [[0.0, -axis[2], axis[1]], [axis[2], 0.0, -axis[0]], [-axis[1], axis[0], 0.0]];
    let mut turn = [[0.0; 3]; 3];
    for i in 0..3 {
        for j in 0..3 {
            let square: f64 = (0..3).map(|m| k[i][m] * k[m][j]).sum();
            turn[i][j] = f64::from(u8::from(i == j)) + k[i][j] + square / (1.0 + cos);
        }
    }
    let mut q = [[0.0; 3]; 3];
    for a in 0..3 {
        for i in 0..3 {
            q[a][i] = (0..3).map(|m| turn[i][m] * rings[a][m]).sum();
        }
    }
    let rotated = |i: usize, j: usize, k: usize, l: usize| {
        let mut sum = 0.0;
        for p in 0..3 {
            for r in 0..3 {
                for s in 0..3 {
                    for t in 0..3 {
                        sum += q[p][i] * q[r][j] * q[s][k] * q[t][l] * s4(p, r, s, t);
                    }
                }
            }
        }
        sum
    };
    let pair = [(0, 0), (2, 2), (0, 2)];
    let weight = [1.0, 1.0, 2.0];
    let mut out = [[0.0; 3]; 3];
    for a in 0..3 {
        for b in 0..3 {
            out[a][b] = weight[a] * weight[b] * rotated(pair[a].0, pair[a].1, pair[b].0, pair[b].1);
        }
    }
    out
}

proptest! {
    #[test]
    fn minor_ratios_obey_reciprocity(w in any_wood()) {
        prop_assert!(near(w.nu_rl() / w.modulus_r_gpa(), w.nu_lr() / w.modulus_l_gpa(), 1e-12));
        prop_assert!(near(w.nu_tl() / w.modulus_t_gpa(), w.nu_lt() / w.modulus_l_gpa(), 1e-12));
        prop_assert!(near(w.nu_tr() / w.modulus_t_gpa(), w.nu_rt() / w.modulus_r_gpa(), 1e-12));
    }

    #[test]
    fn no_rotation_is_the_plain_orthotropic_law(w in any_wood()) {
        let upright = PlaneStiffness::orthotropic(w.modulus_l_gpa(), w.modulus_t_gpa(), w.shear_lt_gpa(), w.nu_lt()).unwrap();
        let flat = PlaneStiffness::orthotropic(w.modulus_l_gpa(), w.modulus_r_gpa(), w.shear_lr_gpa(), w.nu_lr()).unwrap();
        prop_assert!(same(&w.plane_stiffness(0.0, 0.0, 0.0).unwrap(), &upright, [1.0; 3], 1e-12));
        prop_assert!(same(&w.plane_stiffness(90.0, 0.0, 0.0).unwrap(), &flat, [1.0; 3], 1e-12));
    }

    #[test]
    fn rotation_agrees_with_the_full_tensor(w in any_wood(), ring in -180.0..180.0, v in -0.5..0.5, h in -0.5..0.5) {
        let p = w.plane_stiffness(ring, v, h).unwrap();
        let s = compliance_in_full(&w, ring, v, h);
        for i in 0..3 {
            for j in 0..3 {
                let one: f64 = (0..3).map(|k| p.c_gpa[i][k] * s[k][j]).sum();
                let scale = (p.c_gpa[i][i] / p.c_gpa[j][j]).sqrt();
                prop_assert!((one - f64::from(u8::from(i == j))).abs() < 1e-10 * scale.max(1.0), "{i}{j}: {one}");
            }
        }
        prop_assert!(near(p.e_x_gpa, 1.0 / s[0][0], 1e-12) && near(p.e_z_gpa, 1.0 / s[1][1], 1e-12));
        prop_assert!(near(p.g_xz_gpa, 1.0 / s[2][2], 1e-12));
        prop_assert!((p.nu_xz + s[0][1] / s[0][0]).abs() < 1e-10);
    }

    #[test]
    fn half_a_turn_and_a_mirror_change_nothing(w in any_wood(), ring in -90.0..90.0, v in -0.3..0.3, h in -0.3..0.3) {
        let p = w.plane_stiffness(ring, v, h).unwrap();
        prop_assert!(same(&p, &w.plane_stiffness(ring + 180.0, v, h).unwrap(), [1.0; 3], 1e-10));
        prop_assert!(same(&p, &w.plane_stiffness(-ring, -v, h).unwrap(), [1.0, 1.0, -1.0], 1e-10));
        prop_assert!(same(&p, &w.plane_stiffness(ring, -v, -h).unwrap(), [1.0, 1.0, -1.0], 1e-10));
    }

    #[test]
    fn run_out_in_one_plane_has_the_closed_form(w in any_wood(), v in -0.4..0.4) {
        let t = f64::atan(v);
        let (c2, s2) = (t.cos().powi(2), t.sin().powi(2));
        let e = |ez: f64, g: f64, nu: f64| {
            1.0 / (c2 * c2 / w.modulus_l_gpa() + s2 * s2 / ez + c2 * s2 * (1.0 / g - 2.0 * nu / w.modulus_l_gpa()))
        };
        let lt = e(w.modulus_t_gpa(), w.shear_lt_gpa(), w.nu_lt());
        let lr = e(w.modulus_r_gpa(), w.shear_lr_gpa(), w.nu_lr());
        prop_assert!(near(w.plane_stiffness(0.0, v, 0.0).unwrap().e_x_gpa, lt, 1e-11));
        prop_assert!(near(w.plane_stiffness(0.0, 0.0, v).unwrap().e_x_gpa, lr, 1e-11));
        prop_assert!(near(w.off_axis_modulus_gpa(t.to_degrees()).unwrap(), lr, 1e-11));
    }

    #[test]
    fn plane_law_is_symmetric_and_stores_work(w in any_published(), ring in -360.0..360.0, v in -1.0..1.0, h in -1.0..1.0,
                                             x in -1.0..1.0, z in -1.0..1.0, xz in -1.0..1.0) {
        let c = w.plane_stiffness(ring, v, h).unwrap().c_gpa;
        let strain = [x, z, xz];
        let mut work = 0.0;
        for i in 0..3 {
            for j in 0..3 {
                prop_assert_eq!(c[i][j], c[j][i]);
                work += strain[i] * c[i][j] * strain[j];
            }
        }
        prop_assert!(work > 0.0 || strain == [0.0; 3]);
    }

    #[test]
    fn scaling_e_l_scales_the_plane_law(w in any_wood(), e in 5.0..20.0, ring in 0.0..90.0, v in -0.2..0.2) {
        let whole = w.with_modulus_l_gpa(e).unwrap().plane_stiffness(ring, v, 0.0).unwrap();
        let scaled = w.plane_stiffness(ring, v, 0.0).unwrap().scaled(e / w.modulus_l_gpa()).unwrap();
        prop_assert!(same(&whole, &scaled, [1.0; 3], 1e-11));
    }

    #[test]
    fn emc_rises_with_humidity_and_inverts(t in 0.0..60.0, rh in 0.0..99.0, step in 0.01..1.0) {
        let low = wood::emc_percent(t, rh).unwrap();
        prop_assert!(wood::emc_percent(t, rh + step).unwrap() > low);
        prop_assert!((wood::rh_for_emc_percent(t, low).unwrap() - rh).abs() < 1e-9);
    }

    #[test]
    fn moisture_there_and_back_returns(w in any_published(), a in 0.0..30.0, b in 0.0..30.0, t in -20.0..45.0) {
        let there = w.at_moisture(a).unwrap();
        let back = there.at_temperature(t).unwrap().at_moisture(b).unwrap().at_temperature(20.0).unwrap().at_moisture(12.0).unwrap();
        for ((q, was), (r, is)) in w.figures().zip(back.figures()) {
            prop_assert_eq!(q, r);
            prop_assert!(near(was.value, is.value, 1e-12), "{} {} {}", q, was.value, is.value);
            prop_assert_eq!((&was.source, was.standing, was.spread), (&is.source, is.standing, is.spread));
        }
        // The way does not matter either.
        let (one, two) = (there.at_moisture(b).unwrap(), w.at_moisture(b).unwrap());
        prop_assert!(near(one.modulus_l_gpa(), two.modulus_l_gpa(), 1e-12));
        prop_assert!(near(one.density_kg_m3(), two.density_kg_m3(), 1e-12));
    }

    #[test]
    fn wetter_is_heavier_and_softer(w in any_published(), m in 0.0..20.0, step in 0.1..5.0) {
        let (dry, wet) = (w.at_moisture(m).unwrap(), w.at_moisture(m + step).unwrap());
        prop_assert!(wet.density_kg_m3() > dry.density_kg_m3());
        prop_assert!(wet.modulus_l_gpa() < dry.modulus_l_gpa());
        prop_assert!(wet.modulus_r_gpa() < dry.modulus_r_gpa());
        prop_assert!(wet.shear_lt_gpa() < dry.shear_lt_gpa());
        // No water is lost or made: the oven-dry mass over the green volume stays.
        let basic = |x: &Wood| x.specific_gravity() / (1.0 + 0.265 * (1.0 - x.moisture_percent() / 30.0) * x.specific_gravity());
        prop_assert!(near(basic(&dry), basic(&wet), 1e-12));
    }

    #[test]
    fn json_returns_the_same_wood(w in any_wood(), m in 0.0..25.0) {
        let w = w.at_moisture(m).unwrap();
        prop_assert_eq!(Wood::from_json_str("memory", &w.to_json().unwrap()).unwrap(), w);
    }

    #[test]
    fn any_text_is_answered(text in ".{0,200}") {
        prop_assert!(Wood::from_json_str("x.json", &text).is_err());
        let _ = Wood::from_csv_str("x.csv", &text);
    }

    #[test]
    fn any_number_is_answered_in_words(v in proptest::num::f64::ANY) {
        let w = Wood::published("Red spruce").unwrap();
        for q in Quantity::ALL {
            if let Err(e) = w.with_value(*q, v) {
                prop_assert!(!e.to_string().is_empty());
            }
        }
        if let Ok(p) = w.plane_stiffness(v, v, v) {
            prop_assert!(p.e_x_gpa.is_finite() && p.e_x_gpa > 0.0);
        }
        for got in [wood::emc_percent(v, 50.0), wood::emc_percent(20.0, v), wood::rh_for_emc_percent(20.0, v),
                    wood::slope_of_grain_factor(v), wood::hankinson(v, 1.0, 5.0, 2.0), wood::hankinson(1.0, 1.0, v, 2.0),
                    w.off_axis_modulus_gpa(v), w.size_change_mm(v, 8.0, 9.0, 0.0), w.size_change_mm(8.0, v, 9.0, 0.0)] {
            prop_assert!(got.is_err() || got.is_ok_and(f64::is_finite));
        }
    }
}

#[test]
fn every_species_is_listed_and_reads_back() {
    for name in Wood::species() {
        let w = Wood::published(&name.to_uppercase()).unwrap();
        assert_eq!(w.name(), name);
        assert_eq!(Wood::from_json_str("memory", &w.to_json().unwrap()).unwrap(), w);
        assert!(w.figures().all(|(_, f)| !f.source.is_empty()));
    }
    let message = Wood::published("balsa").unwrap_err().to_string();
    assert!(Wood::species().iter().all(|n| message.contains(n)), "{message}");
}

#[test]
fn a_table_of_ones_own() {
    let text = "Species;Density (g/cm3);Modulus L [MPa];er_el;like;source;moisture_percent;note\n\
                Shed spruce;0,412;11 900;;;;;\n";
    let message = Wood::from_csv_str("own.csv", text).unwrap_err().to_string();
    assert!(message.contains("own.csv line 2") && message.contains("11 900"), "{message}");
    let woods =
        Wood::from_csv_str("own.csv", &text.replace("11 900;;;;;", "11900,5;0,08;Engelmann spruce;bench, 2024;8,5;ok")).unwrap();
    let w = &woods[0];
    assert_eq!((w.name(), w.moisture_percent(), w.er_el()), ("Shed spruce", 8.5, 0.08));
    assert!(near(w.density_kg_m3(), 412.0, 1e-12) && near(w.modulus_l_gpa(), 11.9005, 1e-12));
    assert_eq!((w.et_el(), w.figure(Quantity::EtEl).unwrap().standing), (0.059, Standing::Estimated));
    assert_eq!(w.figure(Quantity::Density).unwrap().source, "bench, 2024");
    assert_eq!(w.modulus_of_rupture_mpa(), None);
    let imperial = Wood::from_csv_str("own.csv", "species,density_lb_ft3,bending_modulus_mpsi\nA,26,1.57\n").unwrap();
    // 1 psi is 6894.757 Pa, 1 lb/ft3 is 16.01846 kg/m3 (NIST SP 811, from memory).
    assert!(near(imperial[0].modulus_l_gpa(), 1.1 * 1.57 * 6.894757, 1e-6));
    assert!(near(imperial[0].density_kg_m3(), 26.0 * 16.01846, 1e-6));
}

#[test]
fn bad_files_are_refused_in_words() {
    let json = |text: &str| Wood::from_json_str("w.json", text).unwrap_err().to_string();
    let good = r#"{"schema":"bracewright/wood/1","name":"A","figures":{"density_kg_m3":400,"modulus_l_gpa":11}}"#;
    assert!(Wood::from_json_str("w.json", good).is_ok());
    for (text, words) in [
        (good.replace("wood/1", "wood/2"), vec!["w.json", "bracewright/wood/2", "bracewright/wood/1"]),
        (good.replace("wood/1", "rig/1"), vec!["bracewright/rig/1"]),
        (good.replace("\"schema\":\"bracewright/wood/1\",", ""), vec!["w.json", "none", "bracewright/wood/1"]),
        (good.replace("400", "-400"), vec!["w.json", "density_kg_m3", "-400", "kg/m3", "1600"]),
        (good.replace(":11}", ":11000}"), vec!["modulus_l_gpa", "11000", "GPa", "60"]),
        (good.replace("modulus_l_gpa", "stiffness"), vec!["stiffness", "modulus_l_gpa"]),
        (good.replace(",\"modulus_l_gpa\":11", ""), vec!["modulus_l_gpa"]),
        (good.replace("\"A\"", "\" \""), vec!["name", "empty"]),
        ("[1]".into(), vec!["w.json", "object"]),
        ("{".into(), vec!["w.json", "not JSON", "line 1"]),
    ] {
        let message = json(&text);
        assert!(words.iter().all(|w| message.contains(w)), "{text}\n{message}");
    }
    let csv = |text: &str| Wood::from_csv_str("w.csv", text).unwrap_err().to_string();
    for (text, words) in [
        ("", vec!["w.csv", "species"]),
        ("species,density_kg_m3\n", vec!["w.csv", "no wood"]),
        ("density_kg_m3,modulus_l_gpa\n400,11\n", vec!["species"]),
        ("species,density,modulus_l_gpa\nA,400,11\n", vec!["density", "unit", "density_kg_m3"]),
        ("species,colour\nA,red\n", vec!["colour", "density_kg_m3"]),
        ("species,density_kg_m3,modulus_l_gpa\nA,400\n", vec!["w.csv"]),
        ("species,density_kg_m3,modulus_l_gpa\nA,400,stiff\n", vec!["line 2", "modulus_l_gpa", "stiff"]),
        ("species,density_kg_m3,modulus_l_gpa\nA,400,NaN\n", vec!["line 2", "modulus_l_gpa", "finite"]),
        ("species,modulus_l_gpa,modulus_l_mpa\nA,11,11000\n", vec!["modulus_l_mpa", "same"]),
        ("species,density_kg_m3,modulus_l_gpa,like\nA,400,11,balsa\n", vec!["balsa", "Sitka spruce"]),
    ] {
        let message = csv(text);
        assert!(words.iter().all(|w| message.contains(w)), "{text}\n{message}");
    }
}

#[test]
fn impossible_materials_name_the_ratio() {
    let sitka = Wood::published("Sitka spruce").unwrap();
    let say = |r: bracewright::Result<Wood>| r.unwrap_err().to_string();
    assert!(say(sitka.with_poisson_ratios(0.37, 0.47, 1.4)).contains("nu_rt"));
    assert!(say(sitka.with_value(Quantity::ErEl, 0.03).and_then(|w| w.with_value(Quantity::NuRt, 0.9))).contains("nu_rt"));
    assert!(
        say(sitka.with_transverse_moduli_gpa(15.0, 15.0).and_then(|w| w.with_poisson_ratios(0.45, 0.9, 0.3))).contains("nu_lt")
    );
    // Each pair possible, the three together not.
    let even = sitka.with_transverse_moduli_gpa(sitka.modulus_l_gpa(), sitka.modulus_l_gpa()).unwrap();
    assert!(even.with_poisson_ratios(0.49, 0.49, 0.49).is_ok());
    assert!(say(even.with_poisson_ratios(0.51, 0.52, 0.51)).contains("nu_lt"));
    assert!(say(sitka.with_modulus_l_gpa(f64::NAN)).contains("modulus_l_gpa is NaN GPa"));
    assert!(say(sitka.at_moisture(31.0)).contains("mc_percent is 31 % MC"));
    assert!(say(sitka.with_spread(Quantity::ModulusOfRupture, 0.1)).contains("modulus_of_rupture_mpa"));
}

#[test]
fn own_figures_replace_the_books() {
    let w = Wood::published("Engelmann spruce").unwrap();
    let own = w.with_modulus_l_gpa(10.0).unwrap();
    assert_eq!((own.bending_modulus_gpa(), own.figure(Quantity::ModulusL).unwrap().standing), (None, Standing::Own));
    // The book's slope is kept: ln(8.9/7.1)/13 per percent (Eq. 5-3, figures of Table 5-3a, confirmed).
    let expected = 10.0 * ((8.9f64 / 7.1).ln() / 13.0 * 4.0).exp();
    assert!(near(own.at_moisture(8.0).unwrap().modulus_l_gpa(), expected, 1e-12));
    let bent = w.with_value(Quantity::BendingModulus, 10.0).unwrap();
    assert!(near(bent.modulus_l_gpa(), 11.0, 1e-12));
}

#[test]
fn slope_of_grain_falls_without_jumps() {
    let f = |s: f64| wood::slope_of_grain_factor(s).unwrap();
    assert_eq!(f(0.0), 1.0);
    for i in 0..400 {
        let (a, b) = (f(0.2 * f64::from(i) / 400.0), f(0.2 * f64::from(i + 1) / 400.0));
        assert!(b < a && a - b < 0.003);
    }
    assert!(wood::slope_of_grain_factor(0.25).is_err());
}
