//! Which two blanks make a pair of legs.

use serde::{Deserialize, Serialize};

use super::{StockBlank, check_all, height_ratio};
use crate::error::{Error, Result, within};

/// Two blanks for a pair of legs.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct StockPair {
    /// The stiffer one.
    pub stiffer: String,
    /// The softer one.
    pub softer: String,
    /// ln of the ratio of their moduli, percent.
    pub mismatch_percent: f64,
    /// Its standard uncertainty, percent.
    pub u_percent: f64,
    /// Height of the softer leg over that of the stiffer for the same stiffness.
    pub height_ratio: f64,
    /// The standard uncertainty of that ratio.
    pub u_height_ratio: f64,
}

/// The pairs of a delivery.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Pairing {
    /// Pairs, the best matched first.
    pub pairs: Vec<StockPair>,
    /// Kept blanks without a partner.
    pub left_over: Vec<String>,
}

/// `pairs` pairs whose mismatches add up to the least possible; as many as there can be when `pairs` is `None`.
///
/// Exact: on a line the best pairs never cross or enclose one another, so they are neighbours once the blanks stand in the order
/// of their moduli, and which neighbours is decided by dynamic programming over (blanks seen, pairs made). `exponent` as in
/// [`height_ratio`].
pub fn best_pairs(blanks: &[StockBlank], pairs: Option<usize>, exponent: f64) -> Result<Pairing> {
    check_all(blanks)?;
    within("exponent", exponent, "", 1.0, 4.0)?;
    let n = blanks.len();
    if n < 2 {
        return Err(Error::BadList { name: "blanks".into(), problem: "has 1 blank; a pair needs at least two blanks".into() });
    }
    let want = pairs.unwrap_or(n / 2);
    if want == 0 || want > n / 2 {
        return Err(Error::OutOfRange {
            quantity: "pairs".into(),
            value: want as f64,
            unit: "",
            allowed: format!("from 1 to {}, half the {n} blanks", n / 2),
        });
    }
    let mut order: Vec<usize> = (0..n).collect();
    order.sort_by(|&a, &b| blanks[a].modulus_gpa.total_cmp(&blanks[b].modulus_gpa).then(a.cmp(&b)));
    let gap = |i: usize| (blanks[order[i]].modulus_gpa / blanks[order[i - 1]].modulus_gpa).ln();
    // least sum over the first i blanks with k pairs: this row and the two before it; which choice was made, a bit each
    let mut rows = [vec![f64::INFINITY; want + 1], vec![f64::INFINITY; want + 1], vec![f64::INFINITY; want + 1]];
    let words = want / 64 + 1;
    let mut paired = vec![0_u64; (n + 1) * words];
    rows[0][0] = 0.0;
    for i in 1..=n {
        let [here, last, before] = [i % 3, (i + 2) % 3, (i + 1) % 3];
        let mut row = std::mem::take(&mut rows[here]);
        row.copy_from_slice(&rows[last]);
        for k in 1..=want.min(i / 2) {
            let with = rows[before][k - 1] + gap(i - 1);
            if with < row[k] {
                row[k] = with;
                paired[i * words + k / 64] |= 1 << (k % 64);
            }
        }
        rows[here] = row;
    }
    let (mut i, mut k) = (n, want);
    let (mut out, mut left_over) = (Vec::new(), Vec::new());
    while i > 0 {
        if paired[i * words + k / 64] >> (k % 64) & 1 == 1 {
            out.push(pair(&blanks[order[i - 1]], &blanks[order[i - 2]], exponent)?);
            (i, k) = (i - 2, k - 1);
        } else {
            left_over.push(blanks[order[i - 1]].name.clone());
            i -= 1;
        }
    }
    out.sort_by(|a, b| a.mismatch_percent.total_cmp(&b.mismatch_percent));
    left_over.reverse();
    Ok(Pairing { pairs: out, left_over })
}

fn pair(stiff: &StockBlank, soft: &StockBlank, exponent: f64) -> Result<StockPair> {
    let u = (stiff.u_gpa / stiff.modulus_gpa).hypot(soft.u_gpa / soft.modulus_gpa);
    let ratio = height_ratio(soft.modulus_gpa / stiff.modulus_gpa, exponent)?;
    Ok(StockPair {
        stiffer: stiff.name.clone(),
        softer: soft.name.clone(),
        mismatch_percent: 100.0 * (stiff.modulus_gpa / soft.modulus_gpa).ln(),
        u_percent: 100.0 * u,
        height_ratio: ratio,
        u_height_ratio: ratio * u / exponent,
    })
}
