//! Stock: what is put back, pairs against every possible pairing, heights and spares against closed forms.

#![allow(clippy::unwrap_used)]

use bracewright::stock::{StockBlank, StockLimits, best_pairs, blanks_to_buy, grade, height_ratio};
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
    assert!(out[1].reasons[0].contains("run-out 0.1"));
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

proptest! {
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
