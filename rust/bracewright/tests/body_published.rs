//! The box against closed forms, limits and figures from outside. No worked example of the journal papers could be quoted for
//! sure, so their formulas stand here as formulas (from memory), and the matrices once more in SI units and other coordinates.

#![allow(clippy::unwrap_used)]

use std::f64::consts::{PI, TAU};

use bracewright::body::{BodyAir, BodyPlate, BodyTaps, CoupledBody, Hole, TopIs};

fn close(name: &str, found: f64, wanted: f64, tol: f64) {
    assert!((found - wanted).abs() <= tol * wanted.abs(), "{name}: found {found}, expected {wanted} to {tol:.0e}");
}

fn air() -> BodyAir {
    BodyAir::new(14.0, PI * 25.0, 2.8).unwrap()
}

fn body(back: Option<BodyPlate>) -> CoupledBody {
    CoupledBody::new(air(), 30.0, BodyPlate::new(160.0, 70.0, 320.0, 25.0).unwrap(), back).unwrap()
}

/// Speed of sound of Cramer, J. Acoust. Soc. Am. 93 (1993) 2510, Eq. 15 with Eq. 16 for the vapour pressure (coefficients from
/// memory; they give the 331.5 m/s of dry air at 0 degrees C that the paper is known for), carbon dioxide 0.04 %.
fn cramer(t: f64, rh: f64, p: f64) -> f64 {
    let kelvin = t + 273.15;
    let f = 1.00062 + 3.14e-8 * p + 5.6e-7 * t * t;
    let saturated = (1.2811805e-5 * kelvin * kelvin - 1.9509874e-2 * kelvin + 34.04926034 - 6.3536311e3 / kelvin).exp();
    let (x, c) = (0.01 * rh * f * saturated / p, 0.0004);
    331.5024 + 0.603055 * t - 0.000528 * t * t
        + (51.471935 + 0.1495874 * t - 0.000782 * t * t) * x
        + (-1.82e-7 + 3.73e-8 * t - 2.93e-10 * t * t) * p
        + (-85.20931 - 0.228525 * t + 5.91e-5 * t * t) * c
        - 2.835149 * x * x
        - 2.15e-13 * p * p
        + 29.179762 * c * c
        + 0.000486 * x * p * c
}

#[test]
fn air_beside_cramer_and_oiml() {
    close("Cramer's own figure", cramer(0.0, 0.0, 101_325.0), 331.45, 2e-4);
    for t in [0.0, 10.0, 20.0, 30.0] {
        for rh in [0.0, 50.0, 100.0] {
            let a = BodyAir { temperature_c: t, rh_percent: rh, ..air() }.checked().unwrap();
            close(&format!("speed at {t}, {rh}"), a.speed_m_s(), cramer(t, rh, 101_325.0), 1e-3);
            // OIML R 111-1 (2004), E.3-1: (0.34848 p - 0.009 h exp(0.061 t)) / (273.15 + t), p in hPa, from memory; good to 2e-4
            // above 900 hPa, between 10 and 30 degrees and below 80 %
            if (10.0..=30.0).contains(&t) && rh < 80.0 {
                let oiml = (0.34848 * 1013.25 - 0.009 * rh * (0.061 * t).exp()) / (273.15 + t);
                close(&format!("density at {t}, {rh}"), a.density_kg_m3(), oiml, 1e-3);
            }
        }
    }
    // the usual handbook figures of dry air at 20 degrees C
    close("density", air().density_kg_m3(), 1.204, 5e-4);
    close("speed", air().speed_m_s(), 343.3, 5e-4);
    // rho c^2 of an ideal gas of gamma 7/5
    close("spring", air().spring_pa_per_m3(), 1.4 * 101_325.0 / 0.014, 1e-12);
}

/// A round hole of 50 mm radius, 2.8 mm edge, 14 litres, reckoned in SI.
#[test]
fn helmholtz_by_hand() {
    let a = air();
    let length = 0.0028 + 16.0 / (3.0 * PI) * 0.05;
    let wanted = a.speed_m_s() / TAU * (PI * 0.05 * 0.05 / (0.014 * length)).sqrt();
    close("frequency", a.helmholtz_hz(), wanted, 1e-12);
    close("length", a.hole_length_mm(), 1e3 * length, 1e-12);
    close("mass", a.hole_mass_g(), 1e3 * a.density_kg_m3() * PI * 0.0025 * length, 1e-12);
    // the same by spring and mass: S^2 mu / m
    let by_mass = (PI * 0.0025) * (a.spring_pa_per_m3() / (1e-3 * a.hole_mass_g())).sqrt() / TAU;
    close("by spring and mass", a.helmholtz_hz(), by_mass, 1e-12);
    // Rayleigh's bounds for an edge without thickness, pi/2 and 16/(3 pi) radii for both ends (from memory): inside two standard
    // uncertainties of the default
    assert!((a.end_radii - 16.0 / (3.0 * PI)).abs() < 1e-12 && a.end_radii - PI / 2.0 < 2.0 * a.u_end_radii);
    close("a piston's load", a.load_g(PI * 100.0).unwrap(), 1e3 * 8.0 / 3.0 * a.density_kg_m3() * 1e-3, 1e-12);
}

/// Where the Helmholtz frequency's uncertainty comes from, against differences of the formula.
#[test]
fn helmholtz_budget_by_differences() {
    let a = BodyAir { u_volume_l: 0.3, u_hole_area_cm2: 0.8, u_temperature_c: 2.0, ..air() };
    let b = a.helmholtz_budget(0.95).unwrap();
    let f = |a: BodyAir| a.helmholtz_hz();
    let by = |up: BodyAir, down: BodyAir| 0.5 * (f(up) - f(down)).abs();
    let parts = [
        by(BodyAir { volume_l: 14.03, ..a }, BodyAir { volume_l: 13.97, ..a }) * 10.0,
        by(BodyAir { hole_area_cm2: a.hole_area_cm2 + 0.08, ..a }, BodyAir { hole_area_cm2: a.hole_area_cm2 - 0.08, ..a }) * 10.0,
        by(BodyAir { end_radii: a.end_radii + 0.012, ..a }, BodyAir { end_radii: a.end_radii - 0.012, ..a }) * 10.0,
        by(BodyAir { temperature_c: 20.2, ..a }, BodyAir { temperature_c: 19.8, ..a }) * 10.0,
    ];
    close("u", b.u, parts.iter().map(|p| p * p).sum::<f64>().sqrt(), 1e-4);
}

/// Two oscillators: f^2 = (f_c^2 + f_h^2)/2 +- sqrt((f_c^2 - f_h^2)^2 + 4 f_x^4)/2 with f_x^4 = mu^2 A^2 S^2 / (M m (2 pi)^4)
/// (Christensen & Vandegrift 1980, from memory, and by hand), the hole closed f_c.
#[test]
fn two_by_the_quadratic() {
    let b = body(None);
    let (mu, area, m) = (b.air.spring_pa_per_m3(), 0.0320, 0.070);
    let (s, ma) = (1e-4 * b.air.hole_area_cm2, 1e-3 * b.air.hole_mass_g());
    let c2 = 160.0_f64.powi(2) + mu * area * area / m / (TAU * TAU);
    let h2 = mu * s * s / ma / (TAU * TAU);
    let x4 = (mu * area * s).powi(2) / (m * ma) / TAU.powi(4);
    let root = ((c2 - h2).powi(2) + 4.0 * x4).sqrt();
    let open = b.frequencies_hz(Hole::Open).unwrap();
    close("f-", open[0], (0.5 * (c2 + h2 - root)).sqrt(), 1e-11);
    close("f+", open[1], (0.5 * (c2 + h2 + root)).sqrt(), 1e-11);
    let closed = b.frequencies_hz(Hole::Closed).unwrap();
    assert_eq!(closed.len(), 1);
    close("closed", closed[0], c2.sqrt(), 1e-11);
    close("closed, said", b.top_closed_hz(), c2.sqrt(), 1e-12);
    // identified from the three of them by the closed forms, each figure
    let taps = BodyTaps::new(&open, &[0.1, 0.1]).unwrap().with_closed(&closed, &[0.1]).unwrap();
    let e = taps.identify(Some(&b.air), None, 0.95).unwrap();
    close("f_h", e.helmholtz_hz.value, h2.sqrt(), 1e-9);
    close("f_t", e.top_hz.value, 160.0, 1e-9);
    close("f_x", e.coupling_hz.value, x4.powf(0.25), 1e-9);
    close("share", e.air_share.value, 1.0 - 160.0_f64.powi(2) / c2, 1e-9);
    close("area over root mass", e.top_area_per_root_g.as_ref().unwrap().value, 320.0 / 70.0_f64.sqrt(), 1e-9);
    close("length", e.hole_length_mm.as_ref().unwrap().value, b.air.hole_length_mm(), 1e-9);
    // uncertainties by hand: f_h^2 = f-^2 + f+^2 - f_c^2, f_t = f- f+ / f_h
    let h = h2.sqrt();
    let d = [open[0] / h, open[1] / h, -closed[0] / h];
    close("u f_h", e.helmholtz_hz.u, 0.1 * d.iter().map(|d| d * d).sum::<f64>().sqrt(), 1e-7);
    let t = 160.0;
    let d = [t / open[0] - t / h * d[0], t / open[1] - t / h * d[1], -t / h * d[2]];
    close("u f_t", e.top_hz.u, 0.1 * d.iter().map(|d| d * d).sum::<f64>().sqrt(), 1e-7);
}

/// Limits: a top that cannot move leaves the rigid box, a hole tuned to the closed top splits evenly.
#[test]
fn limits() {
    let heavy = body(None).with_top(BodyPlate::new(400.0, 10_000.0, 1.0, 25.0).unwrap());
    close("rigid box", heavy.frequencies_hz(Hole::Open).unwrap()[0], heavy.helmholtz_hz(), 1e-6);
    close("and the top alone", heavy.frequencies_hz(Hole::Open).unwrap()[1], 400.0, 1e-6);
    // f_c = f_h: f^2 = f_h^2 -+ f_x^2, and both modes share the top's mass evenly
    let b = body(None);
    let g = b.top_closed_hz().powi(2) - 160.0_f64.powi(2);
    let h2 = b.helmholtz_hz().powi(2);
    let even = b.with_top(BodyPlate::new((h2 - g).sqrt(), 70.0, 320.0, 25.0).unwrap());
    let x2 = (g * h2).sqrt();
    let modes = even.modes(Hole::Open).unwrap();
    close("lower", modes[0].frequency_hz, (h2 - x2).sqrt(), 1e-9);
    close("upper", modes[1].frequency_hz, (h2 + x2).sqrt(), 1e-9);
    for m in &modes {
        close("shared mass", m.modal_mass_g, 140.0, 1e-9);
    }
    // in the lower mode air goes out as the top goes in, in the upper out with it
    assert!(modes[0].air_volume < 0.0 && modes[1].air_volume > 0.0);
}

/// Top and back alike: one mode in which the air stands still at their own frequency, and two as with a top of twice the spring.
#[test]
fn like_plates() {
    let plate = BodyPlate::new(180.0, 80.0, 300.0, 40.0).unwrap();
    let b = CoupledBody::new(air(), 40.0, plate, Some(plate)).unwrap();
    let modes = b.modes(Hole::Open).unwrap();
    let g = b.top_closed_hz().powi(2) - 180.0_f64.powi(2);
    let (c2, h2) = (180.0_f64.powi(2) + 2.0 * g, b.helmholtz_hz().powi(2));
    let root = ((c2 - h2).powi(2) + 8.0 * g * h2).sqrt();
    close("first", modes[0].frequency_hz, (0.5 * (c2 + h2 - root)).sqrt(), 1e-10);
    close("second", modes[1].frequency_hz, 180.0, 1e-10);
    close("third", modes[2].frequency_hz, (0.5 * (c2 + h2 + root)).sqrt(), 1e-10);
    assert!(modes[1].air_volume.abs() < 1e-9 && (modes[1].top_volume + modes[1].back_volume).abs() < 1e-9);
    assert!(modes[1].net_volume.abs() < 1e-9);
    close("damped alike", modes[1].q, 40.0, 1e-9);
    let closed = b.frequencies_hz(Hole::Closed).unwrap();
    close("closed, still", closed[0], 180.0, 1e-10);
    close("closed, breathing", closed[1], c2.sqrt(), 1e-10);
}

/// The mobility of the top alone (a hole shut, no back): 1 / (R + j(w M - K / w)).
#[test]
fn mobility_of_one() {
    let b = body(None);
    let fc = b.top_closed_hz();
    let (m, r) = (0.070, TAU * 160.0 * 0.070 / 25.0);
    let k = (TAU * fc).powi(2) * m;
    let at = [5.0, 100.0, fc, 400.0];
    let y = b.mobility(&at, Hole::Closed).unwrap();
    for (i, f) in at.iter().enumerate() {
        let w = TAU * f;
        let x = w * m - k / w;
        close("real", y.re_s_per_kg[i], r / (r * r + x * x), 1e-9);
        assert!((y.im_s_per_kg[i] + x / (r * r + x * x)).abs() < 1e-9 * y.size_s_per_kg[i]);
    }
    close("at its peak", y.size_s_per_kg[2], 1.0 / r, 1e-9);
    // far below a spring, j w / K
    close("spring", y.im_s_per_kg[0], TAU * 5.0 / k, 2e-3);
}

type C = realfft::num_complex::Complex<f64>;

/// Gauss' elimination, the test's own.
fn solve(mut a: Vec<Vec<C>>, mut b: Vec<C>) -> Vec<C> {
    let n = b.len();
    for i in 0..n {
        let p = (i..n).max_by(|x, y| a[*x][i].norm().total_cmp(&a[*y][i].norm())).unwrap();
        a.swap(i, p);
        b.swap(i, p);
        for j in i + 1..n {
            let f = a[j][i] / a[i][i];
            for c in i..n {
                let s = a[i][c];
                a[j][c] -= f * s;
            }
            let s = b[i];
            b[j] -= f * s;
        }
    }
    for i in (0..n).rev() {
        for j in i + 1..n {
            let s = a[i][j] * b[j];
            b[i] -= s;
        }
        b[i] /= a[i][i];
    }
    b
}

/// The mobility of three, by the equations of motion in SI solved whole.
#[test]
fn mobility_by_the_whole_matrix() {
    let b = body(Some(BodyPlate::new(210.0, 120.0, 260.0, 35.0).unwrap()));
    let (mu, fh) = (b.air.spring_pa_per_m3(), b.helmholtz_hz());
    let m = [0.070, 1e-3 * b.air.hole_mass_g(), 0.120];
    let area = [0.0320, 1e-4 * b.air.hole_area_cm2, 0.0260];
    let k = [(TAU * 160.0).powi(2) * m[0], 0.0, (TAU * 210.0).powi(2) * m[2]];
    let r = [TAU * 160.0 * m[0] / 25.0, TAU * fh * m[1] / 30.0, TAU * 210.0 * m[2] / 35.0];
    for (hole, keep) in [(Hole::Open, vec![0, 1, 2]), (Hole::Closed, vec![0, 2])] {
        for f in [40.0, 95.0, 150.0, 205.0, 230.0, 600.0] {
            let w = TAU * f;
            let a = keep
                .iter()
                .map(|&i| {
                    let of = |j: usize| {
                        let own = if i == j { C::new(k[i] - w * w * m[i], w * r[i]) } else { C::new(0.0, 0.0) };
                        own + mu * area[i] * area[j]
                    };
                    keep.iter().map(|&j| of(j)).collect()
                })
                .collect();
            let mut force = vec![C::new(0.0, 0.0); keep.len()];
            force[0] = C::new(1.0, 0.0);
            let v = C::new(0.0, w) * solve(a, force)[0];
            let y = b.mobility(&[f], hole).unwrap();
            assert!((C::new(y.re_s_per_kg[0], y.im_s_per_kg[0]) - v).norm() < 1e-10 * v.norm(), "{hole:?} {f}: {v}, {y:?}");
        }
    }
}

/// A plate reckoned in vacuo, with the air of one side: M + 8/3 rho a^3, the stiffness kept.
#[test]
fn plate_in_air() {
    let bare = BodyPlate::new(170.0, 60.0, PI * 100.0, 25.0).unwrap();
    let wet = bare.in_air(&air(), 1).unwrap();
    let load = 1e3 * 8.0 / 3.0 * air().density_kg_m3() * 0.1_f64.powi(3);
    close("mass", wet.mass_g, 60.0 + load, 1e-12);
    close("stiffness", wet.stiffness_n_per_mm(), bare.stiffness_n_per_mm(), 1e-12);
    close("stiffness by hand", bare.stiffness_n_per_mm(), (TAU * 170.0).powi(2) * 0.060 * 1e-3, 1e-12);
    close("both sides", bare.in_air(&air(), 2).unwrap().mass_g, 60.0 + 2.0 * load, 1e-12);
}

/// A lighter, looser top by hand: f_t goes with sqrt(K / M), the spring's part with 1 / sqrt(M).
#[test]
fn a_changed_top() {
    let b = body(None);
    let c = b.top_changed(-10.0, -5.0).unwrap();
    let g = b.top_closed_hz().powi(2) - 160.0_f64.powi(2);
    close("closed", c.closed_after_hz[0], ((160.0_f64.powi(2) * 0.9 + g) / 0.95).sqrt(), 1e-9);
    close("product", c.open_after_hz[0] * c.open_after_hz[1], 160.0 * (0.9_f64 / 0.95).sqrt() * b.helmholtz_hz(), 1e-9);
    close("before", c.closed_before_hz[0], b.top_closed_hz(), 1e-9);
    assert!(c.words[1].starts_with("hole open: "));
}

/// Three oscillators told from five taps, by either name of the top, to the last digits.
#[test]
fn three_from_five() {
    let back = BodyPlate::new(210.0, 120.0, 260.0, 35.0).unwrap();
    let b = body(Some(back));
    let (open, closed) = (b.frequencies_hz(Hole::Open).unwrap(), b.frequencies_hz(Hole::Closed).unwrap());
    let taps = BodyTaps::new(&open, &[0.1; 3]).unwrap().with_closed(&closed, &[0.1; 2]).unwrap();
    let e = taps.identify(Some(&b.air), Some(TopIs::Lower), 0.95).unwrap();
    close("f_h", e.helmholtz_hz.value, b.helmholtz_hz(), 1e-9);
    close("f_t", e.top_hz.value, 160.0, 1e-9);
    close("f_b", e.back_hz.as_ref().unwrap().value, 210.0, 1e-9);
    close("A_t", e.top_area_per_root_g.as_ref().unwrap().value, 320.0 / 70.0_f64.sqrt(), 1e-8);
    close("A_b", e.back_area_per_root_g.as_ref().unwrap().value, 260.0 / 120.0_f64.sqrt(), 1e-8);
    let other = taps.identify(None, Some(TopIs::Higher), 0.95).unwrap();
    close("the other way round", other.top_hz.value, 210.0, 1e-9);
    assert!(e.top_mass_g.is_none() && e.not_told.iter().any(|w| w.contains("top's mass")));
    // without a name nothing is guessed
    let words = taps.identify(None, None, 0.95).unwrap_err().to_string();
    assert!(words.contains("which plate is the top") && words.contains("mass on the bridge"), "{words}");
}
