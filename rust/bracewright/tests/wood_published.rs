//! Wood against published figures. Each row keeps the id of the collection it came from and the standing it has there.

use bracewright::wood::{self, BENDING_TO_TRUE, Quantity, Standing, Wood};

/// Species figures: id, species, quantity, value in the quantity's unit, relative tolerance, standing.
/// Sources: W-T51/W-T52 Wood Handbook FPL-GTR-190/282 Tables 5-1 and 5-2; W-T53 FPL-GTR-282 Table 5-3a; W-GTR113
/// FPL-GTR-113 (1999) Table 4-3a; W-Mp FPL-GTR-282 Table 5-13; W-SHR Table 4-3; W-DIM Table 13-5.
const ROWS: &str = include_str!("data/wood_rows.csv");

#[track_caller]
fn close(id: &str, got: f64, expected: f64, rel_tol: f64) {
    let error = (got - expected).abs() / expected.abs().max(1e-300);
    assert!(error <= rel_tol.max(1e-12), "{id}: got {got}, published {expected}, off by {error:e}, allowed {rel_tol:e}");
}

#[test]
fn species_rows() {
    let mut count = 0;
    for record in csv::Reader::from_reader(ROWS.as_bytes()).into_deserialize() {
        let (id, species, quantity, value, rel_tol, status): (String, String, String, f64, f64, String) = record.unwrap();
        let wood = Wood::published(&species).unwrap();
        // The shipped standing may be the humbler of the two, never the better.
        if quantity == "specific_gravity" {
            close(&id, wood.specific_gravity(), value, rel_tol);
            let source = &wood.figure(Quantity::Density).unwrap().source;
            let word = status.split([' ', ':']).next().unwrap().replace("from", "from memory");
            assert!(source.contains(&word), "{id}: {source} does not say {word}");
        } else {
            let figure = wood.figure(quantity.parse().unwrap()).unwrap_or_else(|| panic!("{id}: absent"));
            close(&id, figure.value, value, rel_tol);
            match figure.standing {
                Standing::Confirmed => assert!(status.starts_with("confirmed"), "{id}: {status}"),
                Standing::Secondary => assert!(status.contains("third-party"), "{id}: {status}"),
                Standing::FromMemory => assert_eq!(status, "from memory", "{id}"),
                other => panic!("{id}: a published row stands as {other}"),
            }
        }
        count += 1;
    }
    assert_eq!(count, 204);
}

/// Trap: the two editions of Sitka spruce. W-GTR113-Sitka-12-2 (from memory) and W-T53-Spruce_Sitka-12-MOE2 (secondary).
#[test]
fn sitka_editions_stay_apart() {
    let (new, old) = (Wood::published("sitka SPRUCE").unwrap(), Wood::published("Sitka spruce (1999)").unwrap());
    assert!(new.edition().contains("282") && old.edition().contains("113"));
    close("W-T53-Spruce_Sitka-12-MOE2", new.bending_modulus_gpa().unwrap(), 9.9, 1e-12);
    close("W-GTR113-Sitka-12-2", old.bending_modulus_gpa().unwrap(), 10.8, 1e-12);
    close("W-RHO with W-GTR113-Sitka-12-0", old.density_kg_m3(), 448.0, 1e-9);
    for (_, figure) in new.figures() {
        let about_slope = figure.source.contains("a slope, not a level");
        assert!(about_slope || !figure.source.contains("1999"), "{}", figure.source);
    }
    for (_, figure) in old.figures() {
        assert!(!figure.source.starts_with("Wood Handbook FPL-GTR-282"), "{}", figure.source);
    }
    // The 2021 strengths were read by nobody: absent rather than borrowed.
    assert_eq!(new.modulus_of_rupture_mpa(), None);
    close("W-GTR113-Sitka-12-1", old.modulus_of_rupture_mpa().unwrap(), 70.0, 1e-12);
}

/// W-EL-corr (from memory; recomputed 1.09796 for E/G = 16) and W-EL-corr-calc (recomputed 8 digits).
#[test]
fn bending_modulus_contains_shear() {
    close("W-EL-corr-calc", wood::shear_free_factor(16.0, 14.0).unwrap(), 1.0979592, 1e-6);
    close("W-EL-corr", BENDING_TO_TRUE, 1.1, 0.01);
    for name in Wood::species() {
        let w = Wood::published(name).unwrap();
        if let Some(moe) = w.bending_modulus_gpa() {
            close(name, w.modulus_l_gpa(), 1.1 * moe, 1e-12);
        }
    }
}

/// Trap: the Handbook prints nu_RL = 0.040 for Sitka (W-T52-Spruce_Sitka-nuRL, confirmed), reciprocity gives 0.0290.
#[test]
fn minor_poisson_ratios_are_derived() {
    let sitka = Wood::published("Sitka spruce").unwrap();
    close("nu_LR E_R/E_L", sitka.nu_rl(), 0.372 * 0.078, 1e-12);
    assert!((sitka.nu_rl() - 0.040).abs() > 0.01);
    // W-T52-Spruce_Sitka-nuTR 0.245 (confirmed): here printed and derived agree within 3 %.
    close("W-T52-Spruce_Sitka-nuTR", sitka.nu_tr(), 0.245, 0.03);
}

/// Temperature deg C, RH %, EMC %, tolerance. Handbook Eq. 4-5 (FPL-GTR-282): W-EMC-21.1-* coefficients confirmed and
/// recomputed to 5 digits; the others recomputed to 6; W-EMC-60-55 confirmed to 2 digits.
const EMC: [(&str, f64, f64, f64, f64); 29] = [
    ("W-EMC-21.1-5", 21.1, 5.0, 1.2984, 5e-05),
    ("W-EMC-21.1-10", 21.1, 10.0, 2.4818, 5e-05),
    ("W-EMC-21.1-15", 21.1, 15.0, 3.5407, 5e-05),
    ("W-EMC-21.1-20", 21.1, 20.0, 4.4921, 5e-05),
    ("W-EMC-21.1-25", 21.1, 25.0, 5.3604, 5e-05),
    ("W-EMC-21.1-30", 21.1, 30.0, 6.1698, 5e-05),
    ("W-EMC-21.1-35", 21.1, 35.0, 6.9425, 5e-05),
    ("W-EMC-21.1-40", 21.1, 40.0, 7.6993, 5e-05),
    ("W-EMC-21.1-45", 21.1, 45.0, 8.4594, 5e-05),
    ("W-EMC-21.1-50", 21.1, 50.0, 9.2426, 5e-05),
    ("W-EMC-21.1-55", 21.1, 55.0, 10.0698, 5e-05),
    ("W-EMC-21.1-60", 21.1, 60.0, 10.9652, 5e-05),
    ("W-EMC-21.1-65", 21.1, 65.0, 11.9585, 5e-05),
    ("W-EMC-21.1-70", 21.1, 70.0, 13.088, 5e-05),
    ("W-EMC-21.1-75", 21.1, 75.0, 14.4065, 5e-05),
    ("W-EMC-21.1-80", 21.1, 80.0, 15.9896, 5e-05),
    ("W-EMC-21.1-85", 21.1, 85.0, 17.9522, 5e-05),
    ("W-EMC-21.1-90", 21.1, 90.0, 20.4795, 5e-05),
    ("W-EMC-21.1-95", 21.1, 95.0, 23.8918, 5e-05),
    ("W-EMC-10-30", 10.0, 30.0, 6.30522, 2e-06),
    ("W-EMC-10-80", 10.0, 80.0, 16.38217, 2e-06),
    ("W-EMC-20-50", 20.0, 50.0, 9.27114, 2e-06),
    ("W-EMC-20-65", 20.0, 65.0, 11.99627, 2e-06),
    ("W-EMC-20-80", 20.0, 80.0, 16.03713, 2e-06),
    ("W-EMC-25-50", 25.0, 50.0, 9.13155, 2e-06),
    ("W-EMC-25-65", 25.0, 65.0, 11.81353, 2e-06),
    ("W-EMC-30-30", 30.0, 30.0, 5.98539, 2e-06),
    ("W-EMC-30-80", 30.0, 80.0, 15.54779, 2e-06),
    ("W-EMC-60-55", 60.0, 55.0, 8.37259, 2e-06),
];

#[test]
fn emc_rows() {
    for (id, t, rh, expected, tol) in EMC {
        let emc = wood::emc_percent(t, rh).unwrap();
        close(id, emc, expected, tol);
        close(id, wood::rh_for_emc_percent(t, emc).unwrap(), rh, 1e-10);
    }
}

#[test]
fn moisture_and_density_rows() {
    // FPL-GTR-282 Eq. 5-3 worked example, p. 5-34: confirmed; recomputed 7 digits (printed 119 500).
    close("W-MC-ash", wood::at_moisture(103_000.0, 66_000.0, 8.0, 24.0).unwrap(), 119_472.6, 1e-6);
    // Recomputed 6 digits from Table 5-3a.
    close("W-MC-engelmann-8", wood::at_moisture(8900.0, 7100.0, 8.0, 25.0).unwrap(), 9540.79, 1e-5);
    let engelmann = Wood::published("Engelmann spruce").unwrap().at_moisture(8.0).unwrap();
    close("W-MC-engelmann-8", engelmann.bending_modulus_gpa().unwrap(), 9.54079, 1e-5);
    close("W-MC-engelmann-8", engelmann.modulus_l_gpa(), 1.1 * 9.54079, 1e-5);
    // At M_p = 25 and above, the green value (W-T53-Spruce_Engelmann-green-MOE2, confirmed).
    for mc in [25.0, 28.0] {
        let green = Wood::published("Engelmann spruce").unwrap().at_moisture(mc).unwrap();
        close("W-T53-Spruce_Engelmann-green-MOE2", green.bending_modulus_gpa().unwrap(), 7.1, 1e-12);
        close("W-T53-Spruce_Engelmann-green-MOR1", green.modulus_of_rupture_mpa().unwrap(), 32.0, 1e-12);
        close("W-T53-Spruce_Engelmann-green-shear5", green.shear_parallel_mpa().unwrap(), 4.4, 1e-12);
    }
    // Table 4-6a and Eq. 4-14: confirmed; recomputed exactly.
    close("W-RHO-12-060", wood::density_from_specific_gravity(0.60, 12.0).unwrap(), 672.0, 1e-9);
    close("W-RHO-100-040", wood::density_from_specific_gravity(0.40, 100.0).unwrap(), 800.0, 1e-9);
    // Eq. 4-13, p. 4-12: confirmed; recomputed 6 digits (the printed example, 0.605, is 0.4 % high).
    close("W-G12-ash", wood::specific_gravity_at(0.55, 12.0).unwrap(), 0.602707, 1e-6);
    // Eq. 4-3, p. 4-3: confirmed; recomputed 7 digits (printed about 267).
    close("W-MCMAX-030", wood::max_moisture_percent(0.30).unwrap(), 268.3983, 1e-6);
}

/// Slopes of ln E per percent of moisture, from Eq. 5-3: Sitka 0.016, Engelmann 0.0174, Douglas-fir 0.018 (computed for
/// the project's brief from the rows above, rounded there).
#[test]
fn moisture_slopes() {
    for (name, k, half) in [
        ("Sitka spruce (1999)", 1.6, 0.05),
        ("Sitka spruce", 1.6, 0.05),
        ("Engelmann spruce", 1.74, 0.005),
        ("Douglas-fir", 1.8, 0.05),
    ] {
        let got = Wood::published(name).unwrap().value(Quantity::ModulusLSlope).unwrap();
        assert!((got - k).abs() <= half, "{name}: {got}");
    }
}

/// FPL-GTR-282 Table 5-15, p. 5-36: confirmed. Change in percent against 20 deg C.
#[test]
fn temperature_rows() {
    let along = wood::modulus_temperature_factor;
    close("W-TEMP-MOE_par_0%_-50C", along(-50.0, 0.0).unwrap(), 1.11, 1e-12);
    close("W-TEMP-MOE_par_0%_+50C", along(50.0, 0.0).unwrap(), 0.94, 1e-12);
    close("W-TEMP-MOE_par_12%_-50C", along(-50.0, 12.0).unwrap(), 1.17, 1e-12);
    close("W-TEMP-MOE_par_12%_+50C", along(50.0, 12.0).unwrap(), 0.93, 1e-12);
    close("W-TEMP-MOE_perp_6%_+50C", wood::transverse_temperature_factor(50.0, 6.0).unwrap(), 0.80, 1e-12);
    close("W-TEMP-MOE_perp_12%_+50C", wood::transverse_temperature_factor(50.0, 12.0).unwrap(), 0.65, 1e-12);
    close("W-TEMP-bending_strength_11-15%_-50C", wood::strength_temperature_factor(-50.0).unwrap(), 1.35, 1e-12);
    close("W-TEMP-bending_strength_11-15%_+50C", wood::strength_temperature_factor(50.0).unwrap(), 0.80, 1e-12);
    let old = Wood::published("Sitka spruce (1999)").unwrap();
    close("the same through Wood", old.at_temperature(50.0).unwrap().modulus_l_gpa(), 11.88 * 0.93, 1e-12);
}

/// Wood Handbook Table 5-12 (from memory): percent of straight-grain MOR.
#[test]
fn slope_of_grain_rows() {
    let rows = [
        ("W-GRAIN-MOR-25", 25.0, 96.0),
        ("W-GRAIN-MOR-20", 20.0, 93.0),
        ("W-GRAIN-MOR-15", 15.0, 89.0),
        ("W-GRAIN-MOR-10", 10.0, 81.0),
        ("W-GRAIN-MOR-5", 5.0, 55.0),
    ];
    for (id, n, percent) in rows {
        close(id, 100.0 * wood::slope_of_grain_factor(1.0 / n).unwrap(), percent, 1e-12);
    }
}

/// Hankinson-type formula, Wood Handbook chapter 5: recomputed 7 digits. Id, Q/P, slope 1 in n, N/P.
#[test]
fn hankinson_rows() {
    let rows = [
        ("W-HANK-010-25", 0.10, 25.0, 0.9858268),
        ("W-HANK-010-20", 0.10, 20.0, 0.9780488),
        ("W-HANK-010-10", 0.10, 10.0, 0.9181818),
        ("W-HANK-010-5", 0.10, 5.0, 0.7428571),
        ("W-HANK-008-25", 0.08, 25.0, 0.9819608),
        ("W-HANK-008-20", 0.08, 20.0, 0.9721212),
        ("W-HANK-008-15", 0.08, 15.0, 0.9515789),
        ("W-HANK-008-10", 0.08, 10.0, 0.8977778),
        ("W-HANK-008-5", 0.08, 5.0, 0.6933333),
    ];
    for (id, q, n, expected) in rows {
        let angle = (1.0_f64 / n).atan().to_degrees();
        close(id, wood::hankinson(1.0, q, angle, 2.0).unwrap(), expected, 1e-6);
    }
}

/// Sitka with E_L 11.9 GPa, computed for the project's brief from the closed form, printed to two or three digits:
/// a plate at an angle, and E_x/E_L of a brace with run-out.
#[test]
fn off_axis_figures_of_the_brief() {
    let sitka = Wood::published("Sitka spruce (1999)").unwrap().with_modulus_l_gpa(11.9).unwrap();
    let plate = [
        (0.0, 11.9, 0.05),
        (15.0, 6.4, 0.05),
        (30.0, 2.9, 0.05),
        (45.0, 1.66, 0.005),
        (50.0, 1.45, 0.005),
        (60.0, 1.18, 0.005),
        (90.0, 0.93, 0.005),
    ];
    for (angle, e, half) in plate {
        let got = sitka.off_axis_modulus_gpa(angle).unwrap();
        assert!((got - e).abs() <= half, "{angle} deg: {got}");
    }
    // Rings flat puts R up the height, so a vertical slope lies in LR; rings upright in LT.
    for (ring, n, ratio) in [(90.0, 15.0, 0.946), (90.0, 10.0, 0.887), (0.0, 15.0, 0.944), (0.0, 10.0, 0.882)] {
        let got = sitka.plane_stiffness(ring, 1.0 / n, 0.0).unwrap().e_x_gpa / 11.9;
        assert!((got - ratio).abs() <= 0.0005, "ring {ring}, 1 in {n}: {got}");
    }
}

/// Movement: 8 mm radial by 1 % MC of Sitka is 8 x 0.00148 (W-DIM-Spruce_Sitka-CR, third-party transcription).
#[test]
fn movement_across_the_grain() {
    let sitka = Wood::published("Sitka spruce").unwrap();
    close("W-DIM-Spruce_Sitka-CR", sitka.size_change_mm(8.0, 9.0, 8.0, 0.0).unwrap(), -8.0 * 0.00148, 1e-12);
    close("W-DIM-Spruce_Sitka-CT", sitka.size_change_mm(16.0, 8.0, 9.0, 90.0).unwrap(), 16.0 * 0.00263, 1e-12);
}
