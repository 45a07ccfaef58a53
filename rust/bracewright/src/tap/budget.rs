//! Shares of a relative uncertainty, and the step from a dynamic to a static modulus.

use serde::{Deserialize, Serialize};

use crate::error::{Result, within};

/// One line of a relative uncertainty budget (JCGM 100).
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct TapShare {
    /// Where it comes from.
    pub source: String,
    /// What it is worth as a relative standard uncertainty of the result, percent.
    pub u_percent: f64,
}

/// Combined relative standard uncertainty of independent shares, as a part of 1.
pub(crate) fn combined(shares: &[TapShare]) -> f64 {
    shares.iter().map(|s| (0.01 * s.u_percent).powi(2)).sum::<f64>().sqrt()
}

/// Without the empty lines, the largest first.
pub(crate) fn sorted(shares: impl IntoIterator<Item = (String, f64)>) -> Vec<TapShare> {
    let mut out: Vec<TapShare> = shares
        .into_iter()
        .map(|(source, u)| TapShare { source, u_percent: 100.0 * u.abs() })
        .filter(|s| s.u_percent > 0.0)
        .collect();
    out.sort_by(|a, b| b.u_percent.total_cmp(&a.u_percent));
    out
}

/// How much higher a modulus read at a few hundred hertz is than one read with a dial.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct DynamicOverStatic {
    /// Dynamic over static modulus, 0.8 to 1.5.
    pub ratio: f64,
    /// Its standard uncertainty.
    pub u_ratio: f64,
    /// Where it was taken from.
    pub source: String,
}

impl DynamicOverStatic {
    /// A ratio of the user's own.
    pub fn new(ratio: f64, u_ratio: f64, source: &str) -> Result<Self> {
        within("ratio", ratio, "", 0.8, 1.5)?;
        within("u_ratio", u_ratio, "", 0.0, 0.5)?;
        Ok(Self { ratio, u_ratio, source: source.into() })
    }

    /// 1.065 with 0.02: the middle of the 3 to 10 % that rate of loading is said to make (from memory; no source read). Tap and
    /// bend a few of your own sticks and give your own figure.
    pub fn usual() -> Self {
        Self { ratio: 1.065, u_ratio: 0.02, source: "3 to 10 % from the rate of loading: from memory, no source read".into() }
    }
}

/// A static modulus, and the factor it came by.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct StaticModulus {
    /// GPa.
    pub modulus_gpa: f64,
    /// Standard uncertainty, GPa.
    pub u_gpa: f64,
    /// The factor used.
    pub factor: DynamicOverStatic,
    /// The step, in words.
    pub words: String,
}

impl StaticModulus {
    pub(crate) fn from_dynamic(modulus_gpa: f64, u_gpa: f64, factor: &DynamicOverStatic) -> Self {
        let e = modulus_gpa / factor.ratio;
        let u = e * (u_gpa / modulus_gpa).hypot(factor.u_ratio / factor.ratio);
        let words = format!(
            "{e:.2} GPa (standard uncertainty {u:.2}) is the tapped {modulus_gpa:.2} GPa divided by {:.3} ({})",
            factor.ratio, factor.source
        );
        Self { modulus_gpa: e, u_gpa: u, factor: factor.clone(), words }
    }
}
