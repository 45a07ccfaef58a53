//! Stock: what is put back, pairs against every possible pairing, heights, spares and spreads against closed forms and draws.

#![allow(clippy::unwrap_used, clippy::panic)]

use bracewright::stock::{
    PriorsOf, StockBlank, StockLimits, best_pairs, blanks_to_buy, delivery_from_csv, grade, height_ratio, stock_from_csv,
    stock_priors,
};
use bracewright::tap::Bending;
use bracewright::{Blank, Brace, Wood};
use proptest::prelude::*;

fn blank(name: &str, e: f64) -> StockBlank {
    StockBlank {
        name: name.into(),
        species: "invented".into(),
        lot: "a".into(),
        modulus_gpa: e,
        u_gpa: 0.1,
        density_kg_m3: 420.0,
        u_density_kg_m3: 2.0,
        run_out: Some(0.02),
        ring_angle_deg: Some(5.0),
        loss_factor: Some(0.008),
        u_loss_factor: 0.0004,
    }
}

/// Least sum of mismatches over every way to choose `k` pairs, by trying them all.
fn least_by_trying(e: &[f64], k: usize) -> f64 {
    if k == 0 {
        return 0.0;
    }
    if e.len() < 2 * k {
        return f64::INFINITY;
    }
    let mut best = least_by_trying(&e[1..], k);
    for j in 1..e.len() {
        let rest: Vec<f64> = (1..e.len()).filter(|i| *i != j).map(|i| e[i]).collect();
        best = best.min((e[0] / e[j]).ln().abs() + least_by_trying(&rest, k - 1));
    }
    best
}

#[test]
fn grading_says_why() {
    let limits = StockLimits {
        run_out: Some(1.0 / 15.0),
        ring_angle_deg: Some(15.0),
        highest_density_kg_m3: Some(460.0),
        loss_factor: Some(0.01),
        ..StockLimits::default()
    };
    let good = blank("a", 11.0);
    let bad = StockBlank {
        run_out: Some(-0.1),
        ring_angle_deg: Some(170.0),
        density_kg_m3: 470.0,
        loss_factor: Some(0.02),
        ..blank("b", 11.0)
    };
    let unread = StockBlank { loss_factor: None, ring_angle_deg: Some(200.0), ..blank("c", 11.0) };
    let out = grade(&[good, bad, unread], &limits).unwrap();
    assert!(out[0].reasons.is_empty() && (out[0].specific_modulus - 11.0 / 0.42).abs() < 1e-12);
    // 170 degrees is 10 off upright: kept on that count
    assert_eq!(out[1].reasons.len(), 3, "{:?}", out[1].reasons);
    assert_eq!(out[1].reasons[0], "run-out 1 in 10, steeper than 1 in 15");
    assert_eq!(out[2].reasons, vec!["rings off upright by 20 deg, over 15 deg".to_string()]);
    assert!(grade(&[blank("a", 11.0), blank("a", 12.0)], &limits).unwrap_err().to_string().contains("two blanks called"));
    assert!(grade(&[], &limits).is_err() && grade(&[blank("a", f64::NAN)], &limits).is_err());
}

/// A stick alone of the height told has the EI of the other (exponent 3, the closed form of a rectangle).
#[test]
fn height_makes_up_for_the_modulus() {
    let ei = |e: f64, h: f64| {
        let w = Wood::custom("invented", 420.0, e).unwrap();
        Brace::uncarved(&Blank::new(&w, 400.0, 8.0, h, None).unwrap()).ei_n_m2(&[200.0]).unwrap()[0]
    };
    let h = 15.0 * height_ratio(9.5 / 12.0, 3.0).unwrap();
    assert!(h > 15.0 && (ei(9.5, h) / ei(12.0, 15.0) - 1.0).abs() < 1e-12);
    // glued, the same difference asks for more height
    assert!(height_ratio(9.5 / 12.0, 2.25).unwrap() > height_ratio(9.5 / 12.0, 3.0).unwrap());
    let p = best_pairs(&[blank("soft", 9.5), blank("stiff", 12.0)], None, 2.25).unwrap();
    assert_eq!((p.pairs[0].stiffer.as_str(), p.pairs[0].softer.as_str()), ("stiff", "soft"));
    assert!((p.pairs[0].height_ratio - height_ratio(9.5 / 12.0, 2.25).unwrap()).abs() < 1e-15);
    assert!(height_ratio(0.0, 3.0).is_err() && height_ratio(1.0, 0.0).is_err());
    assert!(best_pairs(&[blank("one", 10.0)], None, 3.0).unwrap_err().to_string().contains("at least two blanks"));
}

/// Spares by the binomial law summed term by term.
#[test]
fn spares() {
    let enough = |n: u64, needed: u64, q: f64| -> f64 {
        (0..=n - needed)
            .map(|bad| {
                (0..bad).map(|i| (n - i) as f64 / (i + 1) as f64).product::<f64>()
                    * q.powi(bad as i32)
                    * (1.0 - q).powi((n - bad) as i32)
            })
            .sum()
    };
    for (needed, q, c) in [(2, 0.3, 0.95), (20, 0.15, 0.9), (6, 0.5, 0.99), (4, 0.05, 0.5)] {
        let n = blanks_to_buy(needed, q, c).unwrap() as u64;
        assert!(enough(n, needed as u64, q) >= c, "{needed} {q} {c}: {n}");
        assert!(n == needed as u64 || enough(n - 1, needed as u64, q) < c, "{needed} {q} {c}: {n}");
    }
    assert_eq!(blanks_to_buy(5, 0.0, 0.99).unwrap(), 5);
    assert!(blanks_to_buy(0, 0.1, 0.9).is_err() && blanks_to_buy(5, 1.0, 0.9).is_err());
}

/// The largest delivery is paired in little memory and time, and its sum is that of the neighbours taken two by two.
#[test]
fn ten_thousand_blanks() {
    let blanks: Vec<StockBlank> =
        (0..10_000).map(|i| blank(&format!("b{i}"), 8.0 + 6.0 * f64::from((i * 7919) % 10_000) / 1e4)).collect();
    let p = best_pairs(&blanks, None, 3.0).unwrap();
    assert!(p.pairs.len() == 5000 && p.left_over.is_empty());
    let mut e: Vec<f64> = blanks.iter().map(|b| b.modulus_gpa).collect();
    e.sort_by(f64::total_cmp);
    // all must be paired, so each with its neighbour
    let sum: f64 = e.chunks(2).map(|c| 100.0 * (c[1] / c[0]).ln()).sum();
    let found: f64 = p.pairs.iter().map(|p| p.mismatch_percent).sum();
    assert!((found / sum - 1.0).abs() < 1e-9);
    let most: Vec<StockBlank> = (0..10_001).map(|i| blank(&format!("b{i}"), 10.0)).collect();
    assert!(best_pairs(&most, None, 3.0).unwrap_err().to_string().contains("from 1 to 10000"));
}

/// A lot drawn about `middle` with `spread` from stick to stick, each read with `u` (relative).
fn lot(d: &mut Draws, name: &str, count: usize, middle: f64, spread: f64, u: f64) -> Vec<StockBlank> {
    (0..count)
        .map(|i| {
            let e = middle * (spread * d.normal() + u * d.normal()).exp();
            StockBlank { lot: name.into(), u_gpa: u * e, ..blank(&format!("{name}{i}"), e) }
        })
        .collect()
}

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

/// Equal uncertainties: the analysis of variance, tau^2 = s^2 - u^2 and u(mean)^2 = s^2 / n (closed form); none left when the
/// readings explain the scatter.
#[test]
fn lots_by_the_analysis_of_variance() {
    let e = [10.2, 11.1, 12.4, 11.7, 10.9, 13.0, 11.4];
    let u = 0.03;
    let all: Vec<StockBlank> =
        e.iter().enumerate().map(|(i, e)| StockBlank { u_gpa: u * e, ..blank(&format!("b{i}"), *e) }).collect();
    let y: Vec<f64> = e.iter().map(|e: &f64| e.ln()).collect();
    let mean = y.iter().sum::<f64>() / 7.0;
    let s2 = y.iter().map(|y| (y - mean).powi(2)).sum::<f64>() / 6.0;
    let p = &stock_priors(&all, PriorsOf::All).unwrap()[0];
    let m = &p.modulus_gpa;
    assert!((m.spread.unwrap() - (s2 - u * u).sqrt()).abs() < 1e-9 && (m.seen_spread.unwrap() - s2.sqrt()).abs() < 1e-12);
    assert!((m.median / mean.exp() - 1.0).abs() < 1e-12 && (m.u_median / m.median - (s2 / 7.0).sqrt()).abs() < 1e-9);
    let (low, high) = m.spread_90.unwrap();
    // chi squared with 6 degrees: 1.635 and 12.592 (any table)
    let at = |chi: f64| (6.0 * s2 / chi - u * u).sqrt();
    assert!((low / at(12.592) - 1.0).abs() < 0.02 && (high / at(1.635) - 1.0).abs() < 0.02, "{low} {high}");
    // the next stick: spread and middle together, and the tail of few sticks
    let bracewright::belief::Unknown::LogNormal { median, sd_ln } = m.next_stick().unwrap() else { panic!() };
    assert!((median - m.median).abs() < 1e-12 && (sd_ln - ((s2 - u * u + s2 / 7.0) * 6.0 / 4.0).sqrt()).abs() < 1e-9);
    let coarse: Vec<StockBlank> = all.iter().map(|b| StockBlank { u_gpa: 0.2 * b.modulus_gpa, ..b.clone() }).collect();
    let none = &stock_priors(&coarse, PriorsOf::All).unwrap()[0];
    assert!(none.modulus_gpa.spread == Some(0.0) && none.words[0].contains("no more than their readings"));
    // density is the same in all of them, with 2 kg/m3 each
    assert!(p.density_kg_m3.spread == Some(0.0) && (p.density_kg_m3.median - 420.0).abs() < 1e-9);
    let few = &stock_priors(&all[..3], PriorsOf::All).unwrap()[0];
    assert!(few.modulus_gpa.next_stick().unwrap_err().to_string().contains("4 or more"));
    let one = &stock_priors(&all[..1], PriorsOf::Lot).unwrap()[0];
    assert!(one.modulus_gpa.spread.is_none() && one.of == "a");
}

/// The prior of a lot as a wood: a blank of it believes the lot's figures, static by the factor.
#[test]
fn a_lot_is_a_wood() {
    let all = lot(&mut Draws(3), "x", 24, 11.8, 0.08, 0.01);
    let p = &stock_priors(&all, PriorsOf::Lot).unwrap()[0];
    let spruce = Wood::published("Sitka spruce").unwrap();
    let factor = bracewright::DynamicOverStatic::new(1.06, 0.0212, "own").unwrap();
    let w = p.wood(&spruce, Some(&factor)).unwrap();
    let b = Blank::new(&w, 400.0, 8.0, 16.0, None).unwrap();
    let bracewright::belief::Unknown::LogNormal { median, sd_ln } = p.modulus_gpa.next_stick().unwrap() else { panic!() };
    assert!((b.modulus_gpa() / (median / 1.06) - 1.0).abs() < 1e-9 && (b.density_kg_m3() - p.density_kg_m3.median).abs() < 1e-9);
    assert!((b.modulus_spread() - sd_ln.hypot(0.02)).abs() < 1e-9, "{} {sd_ln}", b.modulus_spread());
}

/// 1500 lots of 12 sticks read with uneven uncertainty: the spread comes out without bias, and its interval holds the truth in 90 % of
/// them; the middle lies within 1.645 of its uncertainty about as often.
#[test]
fn spreads_of_many_lots() {
    let mut d = Draws(11);
    let (mut held, mut middle, mut variance) = (0, 0, Vec::new());
    let (tau, n) = (0.06_f64, 1500);
    for _ in 0..n {
        let all: Vec<StockBlank> = (0..12)
            .map(|i| {
                let u = [0.01, 0.03, 0.06][i % 3];
                let e = 11.0 * (tau * d.normal() + u * d.normal()).exp();
                StockBlank { u_gpa: u * e, ..blank(&format!("b{i}"), e) }
            })
            .collect();
        let m = stock_priors(&all, PriorsOf::All).unwrap().remove(0).modulus_gpa;
        let (low, high) = m.spread_90.unwrap();
        held += usize::from(low <= tau && tau <= high);
        middle += usize::from((m.median / 11.0).ln().abs() < 1.645 * m.u_median / m.median);
        variance.push(m.spread.unwrap().powi(2));
    }
    let mean = variance.iter().sum::<f64>() / f64::from(n);
    assert!((0.88..0.92).contains(&(held as f64 / f64::from(n))), "{held}");
    assert!((0.84..0.92).contains(&(middle as f64 / f64::from(n))), "{middle}");
    assert!((mean / (tau * tau) - 1.0).abs() < 0.05, "{mean}");
}

/// A delivery in the shop's own hand: decimal comma, inches, one stick tapped and one with its figures; and what is wrong in words.
#[test]
fn a_delivery_is_read() {
    let text = "name;lot;species;length [mm];width [in];height [mm];mass [g];frequency [Hz];modulus [GPa];u_modulus [GPa];run-out;ring angle [deg];loss factor\n\
                1;a;Sitka spruce;500;5/16;16,0;26,3;345,2;;;0;4;0,0081\n\
                2;a;Sitka spruce;500;5/16;16,0;26,3;;11,2;0,1;1/20;;\n";
    let found = stock_from_csv("d.csv", text, None, Bending::Edge).unwrap();
    assert_eq!((found[1].run_out, found[0].loss_factor, found[1].loss_factor), (Some(0.05), Some(0.0081), None));
    // the closed form of the slender bar with Goens' correction for shear and rotation (brief, section 4, recomputed)
    let (l, h, w) = (0.5_f64, 0.016_f64, Wood::published("Sitka spruce").unwrap());
    let rho = 26.3e-3 / (l * 0.0079375 * h);
    let slender = (std::f64::consts::TAU * 345.2).powi(2) * rho * l.powi(4) * 12.0 / (4.730_040_744_86_f64.powi(4) * h * h) / 1e9;
    let e = slender * (1.0 + h * h / (12.0 * l * l) * (49.48 + 12.30 * 1.2 / w.glt_el()));
    assert!((found[0].modulus_gpa / e - 1.0).abs() < 0.01, "{} {e}", found[0].modulus_gpa);
    assert!((found[0].density_kg_m3 / rho - 1.0).abs() < 1e-9 && found[0].u_gpa > 0.0 && found[1].modulus_gpa == 11.2);
    let says = |text: &str, word: &str| {
        let e = stock_from_csv("d.csv", text, None, Bending::Edge).unwrap_err().to_string();
        assert!(e.contains(word) && e.contains("d.csv"), "{e}");
    };
    says("name,modulus_gpa,density_kg_m3\n1,11,400\n", "u_modulus_gpa");
    says("name,modulus_gpa,u_modulus_gpa\n1,11,0.1\n", "neither a density");
    says("name,density [kg/m3],u_density [kg/m3]\n1,400,2\n", "neither a modulus");
    says("name,length_mm,width_mm,height_mm,mass_g,frequency_hz\n1,500,8,16,26,345\n", "species");
    says("name,species,length_mm,width_mm,height_mm,mass_g,frequency_hz\n1,Stika,500,8,16,26,345\n", "Sitka spruce");
    says("name,length_mm\n,500\n", "needs a name");
    says("name,length_mm\n1,-500\n", "above 0 mm");
    says("name,modulus_gpa,u_modulus_gpa,density [kg/m3],u_density [kg/m3]\n1,1100,1,400,2\n", "from 0.1 to 100 GPa");
}

/// One blank that was not tapped, and three whose figures cannot be, do not hold up the others; each is said, with the slip that
/// would explain it. Ratios by the closed form of the free bar: E goes with f^2, and with width and height changed over by
/// (16.95/8.1)^2.
#[test]
fn what_cannot_be_is_set_aside() {
    let head =
        "name,species,length_mm,width_mm,height_mm,mass_g,frequency_hz,modulus_gpa,u_modulus_gpa,density_kg_m3,u_density_kg_m3\n";
    let rows = [
        "1,Sitka spruce,499,8.1,16.95,26.94,370.3,,,,",
        "2,Sitka spruce,499,8.1,16.95,26.94,,,,,",
        "3,Sitka spruce,499,8.1,16.95,26.94,37,,,,",
        "4,Sitka spruce,499,16.95,8.1,26.94,374,,,,",
        "5,Sitka spruce,499,8.1,16.95,60,370.3,,,,",
        "6,Sitka spruce,,,,,,1.1,0.1,400,3",
        "7,Sitka spruce,499,8.1,16.95,26.94,374.0,,,,",
    ];
    let text = format!("{head}{}\n", rows.join("\n"));
    let d = delivery_from_csv("d.csv", &text, None, Bending::Edge).unwrap();
    let names: Vec<&str> = d.blanks.iter().map(|b| b.name.as_str()).collect();
    assert_eq!(names, ["1", "7"]);
    let aside: Vec<(&str, u64)> = d.set_aside.iter().map(|s| (s.name.as_str(), s.line)).collect();
    assert_eq!(aside, [("2", 3), ("3", 4), ("4", 5), ("5", 6), ("6", 7)]);
    let problem = |k: usize| d.set_aside[k].problem.as_str();
    assert!(problem(0).contains("neither a modulus nor a tapped frequency"), "{}", problem(0));
    // E goes with f^2
    let low = format!("37 Hz makes E {:.3} GPa", d.blanks[0].modulus_gpa * (37.0_f64 / 370.3).powi(2));
    assert!(problem(1).contains(&low) && problem(1).contains("370 Hz would make it"), "{} {low}", problem(1));
    assert!(problem(2).contains("width and height changed over"), "{}", problem(2));
    assert!(problem(4).contains("0.1 times"), "{}", problem(4));
    assert!(d.words.len() == 5 && d.words[0].starts_with("2 (line 3) is set aside: has neither"), "{:?}", d.words);
    // what the changed-over reading would be is what the right sizes give
    let e = d.blanks[1].modulus_gpa;
    assert!(problem(2).ends_with(&format!("it would be {e:.1} GPa")), "{} {e}", problem(2));
    // all or none: the first is an error with its line
    let e = stock_from_csv("d.csv", &text, None, Bending::Edge).unwrap_err().to_string();
    assert!(e.starts_with("d.csv line 3, blank \"2\""), "{e}");
    let none = format!("{head}{}\n{}\n", rows[1], rows[2]);
    let e = delivery_from_csv("d.csv", &none, None, Bending::Edge).unwrap_err().to_string();
    assert!(e.starts_with("d.csv line 2, blank \"2\""), "{e}");
    let e =
        delivery_from_csv("d.csv", &format!("{head}{}\n{}\n", rows[0], rows[0]), None, Bending::Edge).unwrap_err().to_string();
    assert!(e.contains("two blanks called"), "{e}");
}

/// A delivery that names no wood it can be held against is taken as it is written.
#[test]
fn figures_of_no_known_wood_are_taken_as_written() {
    let text = "name,species,modulus_gpa,u_modulus_gpa,density_kg_m3,u_density_kg_m3\n1,bog oak,2.1,0.1,900,3\n2,,40,0.1,900,3\n";
    let d = delivery_from_csv("d.csv", text, None, Bending::Edge).unwrap();
    assert!(d.blanks.len() == 2 && d.set_aside.is_empty() && d.words.is_empty());
}

proptest! {
    /// Scaling every modulus and its uncertainty scales the middle and leaves the spread; the order of the sticks does not matter.
    #[test]
    fn priors_scale(k in 0.5..2.0f64, seed in 1u64..1000, n in 2usize..20) {
        let all = lot(&mut Draws(seed), "x", n, 11.0, 0.1, 0.02);
        let a = stock_priors(&all, PriorsOf::All).unwrap().remove(0).modulus_gpa;
        let more: Vec<StockBlank> = all.iter().rev()
            .map(|b| StockBlank { modulus_gpa: k * b.modulus_gpa, u_gpa: k * b.u_gpa, ..b.clone() }).collect();
        let b = stock_priors(&more, PriorsOf::All).unwrap().remove(0).modulus_gpa;
        prop_assert!((b.median / a.median / k - 1.0).abs() < 1e-9);
        prop_assert!((b.spread.unwrap() - a.spread.unwrap()).abs() < 1e-9);
        let (low, high) = a.spread_90.unwrap();
        prop_assert!(low <= a.spread.unwrap() + 1e-9 && a.spread.unwrap() <= high + 1e-9);
        prop_assert!(a.spread.unwrap() <= a.seen_spread.unwrap() * 1.5 + 1e-12);
    }

    /// No pairing of all that are possible has a smaller sum.
    #[test]
    fn pairs_are_the_best(e in prop::collection::vec(8.0..14.0f64, 2..9), k in 1usize..5) {
        let k = k.min(e.len() / 2);
        let blanks: Vec<StockBlank> = e.iter().enumerate().map(|(i, e)| blank(&format!("b{i}"), *e)).collect();
        let p = best_pairs(&blanks, Some(k), 3.0).unwrap();
        let sum: f64 = p.pairs.iter().map(|p| 0.01 * p.mismatch_percent).sum();
        prop_assert!((sum - least_by_trying(&e, k)).abs() < 1e-12);
        prop_assert_eq!(p.pairs.len(), k);
        let mut names: Vec<&String> = p.left_over.iter().chain(p.pairs.iter().flat_map(|p| [&p.stiffer, &p.softer])).collect();
        names.sort();
        names.dedup();
        prop_assert_eq!(names.len(), e.len());
    }
}
