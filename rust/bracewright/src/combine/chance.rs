//! Quantiles of Student's t, and the tail of chi squared.

use special::{Beta, Gamma};

use crate::error::{Error, Result, not_negative, within};
use crate::normal;

/// Above so many degrees of freedom the normal law is used: it differs by less than 1e-6 there.
const NORMAL_FROM: f64 = 1e6;

/// The factor `k` with which value +- k u covers `coverage` (above 0, below 1) under Student's t with `dof` degrees of
/// freedom (0.5 or more; `None` for infinitely many: the normal law). JCGM 100 G.3.
pub fn coverage_factor(coverage: f64, dof: Option<f64>) -> Result<f64> {
    if !(coverage > 0.0 && coverage < 1.0) {
        return Err(Error::OutOfRange {
            quantity: "coverage".into(),
            value: coverage,
            unit: "",
            allowed: "above 0 and below 1".into(),
        });
    }
    match dof {
        Some(n) if checked_dof("dof", n)? < NORMAL_FROM => Ok(student(coverage, n)),
        _ => normal::quantile(0.5 + 0.5 * coverage),
    }
}

/// `Ok` when degrees of freedom are finite and not below a half.
pub(super) fn checked_dof(name: &str, dof: f64) -> Result<f64> {
    if dof.is_finite() && dof >= 0.5 {
        return Ok(dof);
    }
    Err(Error::OutOfRange { quantity: name.into(), value: dof, unit: "", allowed: "0.5 or more and finite".into() })
}

/// Chance that |t| is above `t`.
fn both_tails(t: f64, dof: f64) -> f64 {
    let (a, b) = (0.5 * dof, 0.5);
    (dof / (dof + t * t)).inc_beta(a, b, a.ln_beta(b))
}

fn student(coverage: f64, dof: f64) -> f64 {
    let left = 1.0 - coverage;
    let (mut low, mut high) = (0.0, 1.0);
    while both_tails(high, dof) > left && high < 1e300 {
        (low, high) = (high, 4.0 * high);
    }
    for _ in 0..200 {
        let mid = 0.5 * (low + high);
        if mid <= low || mid >= high {
            break;
        }
        if both_tails(mid, dof) > left { low = mid } else { high = mid }
    }
    0.5 * (low + high)
}

/// Chance that chi squared with `dof` degrees of freedom (above 0) is `value` (0 or more) or larger.
pub fn chi_squared_upper_tail(value: f64, dof: f64) -> Result<f64> {
    let v = not_negative("value", value, "")?;
    within("dof", dof, "", 1e-6, 1e9)?;
    Ok((1.0 - (0.5 * v).inc_gamma(0.5 * dof)).clamp(0.0, 1.0))
}
