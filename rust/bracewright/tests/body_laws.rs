//! Laws of the box: what lies between what, sums and products, slopes, round trips from taps, and intervals held against draws.

#![allow(clippy::unwrap_used)]

use bracewright::Error;
use bracewright::body::{BodyAir, BodyEstimate, BodyPlate, BodyTaps, CoupledBody, Hole, TopIs};
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

fn plates() -> impl Strategy<Value = BodyPlate> {
    (80.0..400.0_f64, 30.0..400.0_f64, 80.0..600.0_f64, 5.0..200.0_f64)
        .prop_map(|(f, m, a, q)| BodyPlate::new(f, m, a, q).unwrap())
}

fn airs() -> impl Strategy<Value = BodyAir> {
    (6.0..30.0_f64, 20.0..120.0_f64, 1.0..6.0_f64, 5.0..35.0_f64, 0.0..100.0_f64).prop_map(|(v, s, e, t, rh)| {
        BodyAir { temperature_c: t, rh_percent: rh, ..BodyAir::new(v, s, e).unwrap() }.checked().unwrap()
    })
}

fn two() -> impl Strategy<Value = CoupledBody> {
    (airs(), 5.0..200.0_f64, plates()).prop_map(|(a, q, t)| CoupledBody::new(a, q, t, None).unwrap())
}

fn three() -> impl Strategy<Value = CoupledBody> {
    (airs(), 5.0..200.0_f64, plates(), plates()).prop_map(|(a, q, t, b)| CoupledBody::new(a, q, t, Some(b)).unwrap())
}

fn open(b: &CoupledBody) -> Vec<f64> {
    b.frequencies_hz(Hole::Open).unwrap()
}

fn closed(b: &CoupledBody) -> Vec<f64> {
    b.frequencies_hz(Hole::Closed).unwrap()
}

/// The body with `grams` at the place that is tapped.
fn loaded(b: &CoupledBody, grams: f64) -> CoupledBody {
    b.with_top(b.top.changed(0.0, 100.0 * grams / b.top.mass_g).unwrap())
}

fn about(found: f64, wanted: f64, tol: f64) -> bool {
    (found - wanted).abs() <= tol * wanted.abs()
}

fn squares(f: &[f64]) -> f64 {
    f.iter().map(|f| f * f).sum()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(256))]

    #[test]
    fn two_lie_apart(b in two()) {
        let (f, h, c) = (open(&b), b.helmholtz_hz(), b.top_closed_hz());
        prop_assert!(f[0] < h && h < f[1], "{f:?} {h}");
        prop_assert!(f[0] < c && c < f[1] && f[0] < b.top.frequency_hz);
        prop_assert!(about(f[0] * f[1], h * b.top.frequency_hz, 1e-9));
        prop_assert!(about(squares(&f), h * h + c * c, 1e-9));
    }

    /// Cauchy's interlacing of an eigenvalue problem with one of its oscillators held; trace and determinant.
    #[test]
    fn three_lie_apart(b in three()) {
        let (f, c, h) = (open(&b), closed(&b), b.helmholtz_hz());
        let back = b.back.unwrap();
        let slack = 1.0 + 1e-9;
        prop_assert!(f[0] <= c[0] * slack && c[0] <= f[1] * slack && f[1] <= c[1] * slack && c[1] <= f[2] * slack);
        prop_assert!(about(squares(&f), squares(&c) + h * h, 1e-9));
        prop_assert!(about(f[0] * f[1] * f[2], h * b.top.frequency_hz * back.frequency_hz, 1e-8));
        // holding the back still leaves two, which lie between the three
        let held = open(&CoupledBody { back: None, ..b });
        prop_assert!(f[0] <= held[0] * slack && held[0] <= f[1] * slack && f[1] <= held[1] * slack && held[1] <= f[2] * slack);
    }

    /// A stiffer top raises no frequency less than nothing, a heavier one raises none; to first order by the slopes each mode states.
    #[test]
    fn slopes_are_differences(b in three()) {
        for hole in [Hole::Open, Hole::Closed] {
            let f = |k: f64, m: f64| b.with_top(b.top.changed(k, m).unwrap()).frequencies_hz(hole).unwrap();
            for (i, mode) in b.modes(hole).unwrap().iter().enumerate() {
                let step = 0.01;
                let slope = |up: Vec<f64>, down: Vec<f64>| 100.0 * (up[i] / down[i]).ln() / (2.0 * step);
                let (k, m) = (slope(f(step, 0.0), f(-step, 0.0)), slope(f(0.0, step), f(0.0, -step)));
                prop_assert!((k - mode.per_percent_stiffness).abs() < 1e-4, "{k} {mode:?}");
                prop_assert!((m - mode.per_percent_mass).abs() < 1e-4, "{m} {mode:?}");
                prop_assert!(mode.per_percent_stiffness >= 0.0 && mode.per_percent_mass <= 0.0);
            }
            // the top's mass is shared out among the modes
            let shared: f64 = b.modes(hole).unwrap().iter().map(|m| b.top.mass_g / m.modal_mass_g).sum();
            prop_assert!(about(shared, 1.0, 1e-9));
        }
    }

    /// Power goes in, never out, and the sign of the imaginary part is a spring's far below and a mass's far above.
    #[test]
    fn mobility_takes_power(b in three(), f in 1.0..2000.0_f64) {
        for hole in [Hole::Open, Hole::Closed] {
            let y = b.mobility(&[f, 0.01, 1e5], hole).unwrap();
            prop_assert!(y.re_s_per_kg.iter().all(|r| *r > 0.0));
            prop_assert!(y.im_s_per_kg[1] > 0.0 && y.im_s_per_kg[2] < 0.0);
            let mass = 1.0 / (std::f64::consts::TAU * 1e5 * 1e-3 * b.top.mass_g);
            prop_assert!(about(y.size_s_per_kg[2], mass, 1e-3));
        }
    }

    /// With hardly any damping the peak of a mode is Q / (2 pi f M) of its own, and Q its first-order figure.
    #[test]
    fn peaks_are_those_of_modes(b in two()) {
        let quiet = |p: BodyPlate| BodyPlate { q: 1e4, ..p };
        let b = CoupledBody { q_air: 1e4, top: quiet(b.top), ..b };
        let modes = b.modes(Hole::Open).unwrap();
        for (i, m) in modes.iter().enumerate() {
            let other = &modes[1 - i];
            let share = m.modal_mass_g / other.modal_mass_g;
            // where the top has a part in the mode and its neighbour is far
            if m.modal_mass_g < 50.0 * b.top.mass_g && (m.frequency_hz / other.frequency_hz).ln().abs() > 0.1 && share < 50.0 {
                let y = b.mobility(&[m.frequency_hz], Hole::Open).unwrap().size_s_per_kg[0];
                let wanted = m.q / (std::f64::consts::TAU * m.frequency_hz * 1e-3 * m.modal_mass_g);
                prop_assert!(about(y, wanted, 0.02), "{y} {wanted}");
            }
        }
    }

    /// A top alone on the cavity is held still by the air in the hole at the Helmholtz frequency, and hardly moves there (two
    /// oscillators without damping: a zero of the mobility).
    #[test]
    fn the_air_stills_the_top(b in two()) {
        let b = CoupledBody { q_air: 1e9, ..b };
        let h = b.helmholtz_hz();
        let y = b.mobility(&[0.97 * h, h, 1.03 * h], Hole::Open).unwrap().size_s_per_kg;
        prop_assert!(y[1] < 0.05 * y[0] && y[1] < 0.05 * y[2], "{y:?}");
    }

    /// What taps without error say is what the body is, whichever taps they are.
    #[test]
    fn two_come_back(b in two(), grams in 5.0..40.0_f64) {
        let heavy = loaded(&b, grams);
        let (f, c, fm, cm) = (open(&b), closed(&b), open(&heavy), closed(&heavy));
        let (u2, u1) = (vec![1e-4; 2], vec![1e-4; 1]);
        let plain = BodyTaps::new(&f, &u2).unwrap();
        let shut = plain.with_closed(&c, &u1).unwrap();
        let none: (&[f64], &[f64]) = (&[], &[]);
        let ways = [
            plain.clone(),
            shut.clone(),
            plain.with_mass(grams, 0.0, (&fm, &u2), none).unwrap(),
            shut.with_mass(grams, 0.0, none, (&cm, &u1)).unwrap(),
            shut.with_mass(grams, 0.0, (&fm, &u2), (&cm, &u1)).unwrap(),
        ];
        for (i, way) in ways.iter().enumerate() {
            let e = way.identify(Some(&b.air), None, 0.95).unwrap();
            prop_assert!(about(e.helmholtz_hz.value, b.helmholtz_hz(), 1e-6), "{i}: {}", e.helmholtz_hz.value);
            prop_assert!(about(e.top_hz.value, b.top.frequency_hz, 1e-6), "{i}: {}", e.top_hz.value);
            prop_assert!(about(e.top_closed_hz.value, b.top_closed_hz(), 1e-6));
            prop_assert!(e.chi_squared < 1e-4, "{i}: {}", e.chi_squared);
            if i >= 2 {
                prop_assert!(about(e.top_mass_g.as_ref().unwrap().value, b.top.mass_g, 1e-5));
                prop_assert!(about(e.top_area_cm2.as_ref().unwrap().value, b.top.area_cm2, 1e-4));
                let again = e.body(b.top.q, b.q_air, 30.0, None).unwrap();
                for (a, w) in open(&again).iter().zip(&f) {
                    prop_assert!(about(*a, *w, 1e-6));
                }
                let at = [0.9 * f[0], 1.2 * f[1]];
                let (y, w) = (again.mobility(&at, Hole::Open).unwrap(), b.mobility(&at, Hole::Open).unwrap());
                prop_assert!(about(y.size_s_per_kg[0], w.size_s_per_kg[0], 1e-3) && about(y.size_s_per_kg[1], w.size_s_per_kg[1], 1e-3));
            } else {
                prop_assert!(e.top_mass_g.is_none() && e.top_area_cm2.is_none());
            }
        }
    }

    /// Three, and with a mass which plate is the top as well.
    #[test]
    fn three_come_back(b in three(), grams in 10.0..40.0_f64) {
        let heavy = loaded(&b, grams);
        let (f, c, fm, cm) = (open(&b), closed(&b), open(&heavy), closed(&heavy));
        let apart = |f: &[f64]| f.windows(2).all(|p| p[1] / p[0] > 1.005);
        let between = c.iter().zip(f.windows(2)).all(|(c, p)| *c > p[0] * 1.001 && *c < p[1] * 0.999);
        prop_assume!(apart(&f) && apart(&c) && between);
        let back = b.back.unwrap();
        let u = [1e-5; 3];
        let taps = BodyTaps::new(&f, &u).unwrap().with_closed(&c, &u[..2]).unwrap();
        let lower = b.top.frequency_hz < back.frequency_hz;
        let which = if lower { TopIs::Lower } else { TopIs::Higher };
        let five = taps.identify(Some(&b.air), Some(which), 0.95).unwrap();
        let all = taps.with_mass(grams, 0.0, (&fm, &u), (&cm, &u[..2])).unwrap().identify(Some(&b.air), None, 0.95).unwrap();
        for e in [&five, &all] {
            prop_assert!(about(e.helmholtz_hz.value, b.helmholtz_hz(), 1e-5));
            prop_assert!(about(e.top_hz.value, b.top.frequency_hz, 1e-5), "{} {}", e.top_hz.value, b.top.frequency_hz);
            prop_assert!(about(e.back_hz.as_ref().unwrap().value, back.frequency_hz, 1e-5));
            prop_assert!(about(e.back_area_per_root_g.as_ref().unwrap().value, back.area_cm2 / back.mass_g.sqrt(), 1e-3));
        }
        prop_assert_eq!(all.top_is.as_deref(), Some(if lower { "lower" } else { "higher" }));
        prop_assert!(about(all.top_mass_g.as_ref().unwrap().value, b.top.mass_g, 1e-4));
        prop_assert!(!all.not_told.iter().any(|w| w.contains("which plate")));
        // the back's scale is free, and nothing on the top depends on it
        let at = [1.1 * f[0], 0.98 * f[2]];
        let y = |m| all.body(25.0, 30.0, 35.0, Some(m)).unwrap().mobility(&at, Hole::Open).unwrap().size_s_per_kg;
        prop_assert!(about(y(100.0)[0], y(150.0)[0], 1e-9) && about(y(100.0)[1], y(150.0)[1], 1e-9));
    }

    /// No figures at all get anything but an answer or a sentence.
    #[test]
    fn any_taps_get_a_sentence(
        f in prop::collection::vec(-10.0..500.0_f64, 0..5), c in prop::collection::vec(50.0..500.0_f64, 0..3),
        fm in prop::collection::vec(50.0..500.0_f64, 0..4), grams in -1.0..60.0_f64, u in -0.1..3.0_f64,
    ) {
        let us = |v: &[f64]| vec![u; v.len()];
        let made = BodyTaps::new(&f, &us(&f)).and_then(|t| if c.is_empty() { Ok(t) } else { t.with_closed(&c, &us(&c)) });
        let made = made.and_then(|t| if fm.is_empty() { Ok(t) } else { t.with_mass(grams, 0.01, (&fm, &us(&fm)), (&[], &[])) });
        let top = (f.len() == 3).then_some(TopIs::Lower);
        match made.and_then(|t| t.identify(Some(&BodyAir::new(14.0, 78.0, 3.0).unwrap()), top, 0.95)) {
            Ok(e) => prop_assert!(e.top_hz.u.is_finite() && e.top_hz.value > 0.0 && e.air_share.value < 1.0),
            Err(e) => prop_assert!(e.to_string().len() > 20),
        }
    }
}

/// Of three bodies and sets of taps: how often the intervals hold the truth, what the budgets say beside what is drawn, and the mean
/// of chi squared. `scale` is what the true errors are of those stated.
struct Drawn {
    held: Vec<f64>,
    u_over_drawn: Vec<f64>,
    chi_squared: f64,
    dof: usize,
    refused: usize,
}

type Figures = fn(&BodyEstimate) -> Vec<(f64, f64, (f64, f64))>;

fn figures(e: &BodyEstimate) -> Vec<(f64, f64, (f64, f64))> {
    let mut out = Vec::new();
    let all = [
        Some(&e.helmholtz_hz),
        Some(&e.top_hz),
        Some(&e.air_share),
        e.back_hz.as_ref(),
        e.back_air_share.as_ref(),
        e.top_mass_g.as_ref(),
        e.top_area_cm2.as_ref(),
        e.back_area_per_root_g.as_ref(),
        e.hole_length_mm.as_ref(),
    ];
    all.into_iter().flatten().for_each(|b| out.push((b.value, b.u, b.interval)));
    out
}

struct Case {
    body: CoupledBody,
    u_hz: f64,
    /// 0 for no mass.
    grams: f64,
    shut: bool,
    scale: f64,
}

fn drawn(case: &Case, draws: usize, seed: u64, of: Figures) -> Drawn {
    let b = &case.body;
    let u = case.u_hz;
    let taps = |fs: [Vec<f64>; 4], grams: f64| {
        let [f, c, fm, cm] = fs;
        let us = |v: &[f64]| vec![u; v.len()];
        let mut t = BodyTaps::new(&f, &us(&f))?;
        if case.shut {
            t = t.with_closed(&c, &us(&c))?;
        }
        if case.grams > 0.0 {
            let shut = if case.shut { cm.clone() } else { Vec::new() };
            t = t.with_mass(grams, 0.05, (&fm, &us(&fm)), (&shut, &us(&shut)))?;
        }
        Ok::<_, Error>(t)
    };
    let heavy = if case.grams > 0.0 { loaded(b, case.grams) } else { *b };
    let clean = [open(b), closed(b), open(&heavy), closed(&heavy)];
    let truth = taps(clean.clone(), case.grams).unwrap().identify(Some(&b.air), case.top(), 0.95).unwrap();
    let want: Vec<f64> = of(&truth).iter().map(|f| f.0).collect();
    let mut d = Draws(seed);
    let (mut held, mut values, mut us) = (vec![0usize; want.len()], vec![Vec::new(); want.len()], vec![0.0; want.len()]);
    let (mut chi, mut refused) = (0.0, 0);
    for _ in 0..draws {
        let read = clean.clone().map(|list| list.into_iter().map(|f| f + case.scale * u * d.normal()).collect::<Vec<_>>());
        let air = BodyAir { volume_l: b.air.volume_l + b.air.u_volume_l * d.normal(), ..b.air };
        let air = BodyAir {
            hole_area_cm2: air.hole_area_cm2 + b.air.u_hole_area_cm2 * d.normal(),
            temperature_c: air.temperature_c + b.air.u_temperature_c * d.normal(),
            end_radii: air.end_radii + b.air.u_end_radii * d.normal(),
            ..air
        };
        let grams = if case.grams > 0.0 { case.grams + 0.05 * d.normal() } else { 0.0 };
        let Ok(e) = taps(read, grams).and_then(|t| t.identify(Some(&air), case.top(), 0.95)) else {
            refused += 1;
            continue;
        };
        chi += e.chi_squared;
        for (i, ((v, u, (low, high)), w)) in of(&e).into_iter().zip(&want).enumerate() {
            held[i] += usize::from(low <= *w && *w <= high);
            values[i].push(v);
            us[i] += u;
        }
    }
    let n = (draws - refused) as f64;
    let spread = |v: &[f64]| {
        let mean = v.iter().sum::<f64>() / n;
        (v.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / (n - 1.0)).sqrt()
    };
    Drawn {
        held: held.iter().map(|h| *h as f64 / n).collect(),
        u_over_drawn: us.iter().zip(&values).map(|(u, v)| u / n / spread(v)).collect(),
        chi_squared: chi / n,
        dof: truth.dof,
        refused,
    }
}

impl Case {
    fn top(&self) -> Option<TopIs> {
        self.body.back.map(|_| TopIs::Lower)
    }
}

fn a_body(back: bool) -> CoupledBody {
    let air = BodyAir { u_volume_l: 0.2, u_hole_area_cm2: 0.5, u_temperature_c: 1.0, ..BodyAir::new(14.0, 78.5, 2.8).unwrap() };
    let back = back.then(|| BodyPlate::new(225.0, 140.0, 280.0, 35.0).unwrap());
    CoupledBody::new(air, 30.0, BodyPlate::new(160.0, 80.0, 350.0, 25.0).unwrap(), back).unwrap()
}

const DRAWS: usize = 2000;

fn honest(name: &str, case: &Case, seed: u64) {
    let d = drawn(case, DRAWS, seed, figures);
    assert!(d.refused <= DRAWS / 100, "{name}: {} refused", d.refused);
    // 95 % of 2000: 0.5 % to either side is one standard deviation
    for (i, h) in d.held.iter().enumerate() {
        assert!((0.93..=0.97).contains(h), "{name}, figure {i}: held {h}, {:?}", d.held);
    }
    for (i, r) in d.u_over_drawn.iter().enumerate() {
        assert!((r - 1.0).abs() < 0.1, "{name}, figure {i}: u over drawn {r}");
    }
    let dof = d.dof as f64;
    assert!((d.chi_squared - dof).abs() <= 5.0 * (2.0 * dof / DRAWS as f64).sqrt() + 1e-6, "{name}: {} of {dof}", d.chi_squared);
}

#[test]
fn two_with_the_hole_closed_keep_their_intervals() {
    honest("closed", &Case { body: a_body(false), u_hz: 0.3, grams: 0.0, shut: true, scale: 1.0 }, 1);
}

#[test]
fn two_by_volume_and_hole_keep_their_intervals() {
    // a sixth of the doubt of the ends, or the line through the top's frequency is no line
    let body = a_body(false);
    let body = CoupledBody { air: BodyAir { u_end_radii: 0.02, u_volume_l: 0.1, ..body.air }, ..body };
    honest("volume and hole", &Case { body, u_hz: 0.3, grams: 0.0, shut: false, scale: 1.0 }, 2);
}

#[test]
fn two_with_a_mass_keep_their_intervals() {
    honest("mass, hole open", &Case { body: a_body(false), u_hz: 0.1, grams: 20.0, shut: false, scale: 1.0 }, 3);
    honest("mass, open and closed", &Case { body: a_body(false), u_hz: 0.1, grams: 20.0, shut: true, scale: 1.0 }, 4);
}

#[test]
fn three_keep_their_intervals() {
    honest("three, closed", &Case { body: a_body(true), u_hz: 0.1, grams: 0.0, shut: true, scale: 1.0 }, 5);
    honest("three, with a mass", &Case { body: a_body(true), u_hz: 0.1, grams: 20.0, shut: true, scale: 1.0 }, 6);
}

/// Errors three times those stated: without widening an interval would hold the truth in some 49 of 100 (two normal deviations by
/// three), with it nearly as often as it says.
#[test]
fn stated_too_small_is_widened() {
    let case = Case { body: a_body(true), u_hz: 0.03, grams: 20.0, shut: true, scale: 3.0 };
    let of: Figures = |e| [&e.helmholtz_hz, &e.top_hz, &e.air_share].map(|b| (b.value, b.u, b.interval)).to_vec();
    let d = drawn(&case, DRAWS, 7, of);
    assert_eq!(d.dof, 4);
    for h in &d.held {
        assert!((0.85..1.0).contains(h), "{:?}", d.held);
    }
}

fn sentence(e: Result<impl std::fmt::Debug, Error>, words: &[&str]) {
    let said = e.unwrap_err().to_string();
    for w in words {
        assert!(said.contains(w), "{w:?} not in {said:?}");
    }
}

#[test]
fn inconsistent_readings_are_refused_by_name() {
    let u2 = [0.2, 0.2];
    let taps = BodyTaps::new(&[98.0, 190.0], &u2).unwrap();
    for bad in [80.0, 98.0, 190.0, 240.0] {
        let number = format!("{bad} Hz");
        sentence(
            taps.with_closed(&[bad], &[0.2]),
            &["closed_hz[0]", &number, "above open_hz[0] = 98 Hz", "below open_hz[1] = 190 Hz"],
        );
    }
    sentence(BodyTaps::new(&[190.0, 98.0], &u2), &["open_hz", "must increase", "98 Hz after 190 Hz"]);
    sentence(BodyTaps::new(&[190.0], &[0.2]), &["open_hz", "1 values", "2 or 3"]);
    sentence(BodyTaps::new(&[98.0, 190.0], &[0.2]), &["open_hz", "u_open_hz", "same number"]);
    sentence(BodyTaps::new(&[98.0, 190.0], &[0.2, 0.0]), &["u_open_hz[1]", "0 Hz", "above 0"]);
    sentence(taps.with_closed(&[150.0, 160.0], &u2), &["closed_hz", "2 values", "one fewer"]);
    let none: (&[f64], &[f64]) = (&[], &[]);
    sentence(taps.with_mass(20.0, 0.0, none, none), &["open_with_mass_hz", "added_mass_g", "2"]);
    sentence(taps.with_mass(20.0, 0.0, (&[98.0, 195.0], &u2), none), &["open_with_mass_hz[1]", "195 Hz", "open_hz[1] = 190 Hz"]);
    sentence(taps.with_mass(-1.0, 0.0, (&[97.0, 185.0], &u2), none), &["added_mass_g", "-1 g", "0.1 to 1000 g"]);
    sentence(
        taps.with_mass(20.0, 0.0, (&[97.0, 185.0], &u2), (&[150.0], &[0.2])),
        &["closed_with_mass_hz", "as many as closed_hz"],
    );
    // no fall to speak of says nothing of a mass
    let same = taps.with_mass(20.0, 0.0, (&[98.0, 189.9], &u2), none).unwrap();
    sentence(same.identify(None, None, 0.95), &["the top's mass", "heavier mass"]);
    // two frequencies that fall as no two oscillators on one cavity could
    let odd = taps.with_mass(20.0, 0.0, (&[90.0, 190.2], &u2), none).unwrap();
    sentence(odd.identify(None, None, 0.95), &["open_with_mass_hz", "closed hole's frequency", "above 98 Hz"]);
    sentence(taps.identify(None, None, 0.95), &["Helmholtz frequency", "closed_hz", "volume and hole"]);
    let small = BodyAir::new(3.0, 78.0, 3.0).unwrap();
    sentence(taps.identify(Some(&small), None, 0.95), &["Helmholtz frequency of air", "Hz", "open_hz[1] = 190 Hz"]);
    let three = BodyTaps::new(&[98.0, 190.0, 230.0], &[0.2; 3]).unwrap();
    sentence(three.identify(None, Some(TopIs::Lower), 0.95), &["back's part", "closed_hz"]);
    let shut = taps.with_closed(&[160.0], &[0.2]).unwrap();
    sentence(shut.identify(None, Some(TopIs::Lower), 0.95), &["top is given", "leave it out"]);
    sentence(shut.identify(None, None, 1.0), &["coverage is 1"]);
    let e = shut.identify(None, None, 0.95).unwrap();
    sentence(e.body(25.0, 30.0, 35.0, None), &["top's mass and area", "mass on the bridge", "volume"]);
    assert!(e.not_told.iter().any(|w| w.contains("back's part")) && e.not_told.iter().any(|w| w.contains("areas")));
    assert!(e.words.iter().any(|w| w.starts_with("box with rigid walls")));
}
