//! Several methods on one quantity: the least-squares mean with their covariances, and whether they agree.

use serde::{Deserialize, Serialize};

use super::chance::{chi_squared_upper_tail, coverage_factor};
use crate::error::{Error, Result, number, positive, within};
use crate::mechanics::dense::{Square, solve_positive};
use crate::tap::DynamicOverStatic;

/// Below this chance the methods are said to disagree.
const DISAGREE: f64 = 0.05;

/// One method's answer.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Method {
    /// Its name: "bend", "tap".
    pub name: String,
    /// Its value, above 0.
    pub value: f64,
    /// Its standard uncertainty, above 0.
    pub u: f64,
}

impl Method {
    /// An answer.
    pub fn new(name: &str, value: f64, u: f64) -> Result<Self> {
        Ok(Self { name: name.into(), value: positive("value", value, "")?, u: positive("u", u, "")? })
    }

    /// The same divided by a known factor (dynamic over static modulus), whose own uncertainty joins in.
    pub fn over(&self, factor: &DynamicOverStatic) -> Result<Self> {
        let factor = DynamicOverStatic::new(factor.ratio, factor.u_ratio, &factor.source)?;
        let value = self.value / factor.ratio;
        Self::new(&self.name, value, value * (self.u / self.value).hypot(factor.u_ratio / factor.ratio))
    }
}

/// Two methods against each other.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct MethodPair {
    /// The first.
    pub first: String,
    /// The second.
    pub second: String,
    /// Second less first.
    pub difference: f64,
    /// The same, percent of the first.
    pub difference_percent: f64,
    /// Standard uncertainty of the difference.
    pub u_difference: f64,
    /// Normalised error: |difference| over twice its standard uncertainty (ISO 13528, ISO/IEC 17043); 1 or less agrees.
    pub e_n: f64,
    /// The pair, in words.
    pub words: String,
}

/// Methods fused.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Fused {
    /// The fused value.
    pub value: f64,
    /// Its standard uncertainty: enlarged by the Birge ratio where that was asked for and is above 1.
    pub u: f64,
    /// Factor for the coverage: the normal law, or Student's t with methods - 1 when enlarged.
    pub coverage_factor: f64,
    /// The interval.
    pub interval: (f64, f64),
    /// What each method counts; their sum is 1, and with strong correlation one may be negative.
    pub weights: Vec<f64>,
    /// Chi squared of the methods about the fused value; 0 with one method.
    pub chi_squared: f64,
    /// Methods less one.
    pub dof: usize,
    /// Chance of so large a chi squared when every uncertainty is honest; 1 with one method.
    pub chance: f64,
    /// Root of chi squared over the degrees of freedom; 0 with one method.
    pub birge_ratio: f64,
    /// Whether u was enlarged.
    pub enlarged: bool,
    /// Every pair.
    pub pairs: Vec<MethodPair>,
    /// What should be known, as sentences.
    pub words: Vec<String>,
}

fn correlations(n: usize, given: Option<&[Vec<f64>]>) -> Result<Square> {
    let mut r = Square::zeros(n);
    for i in 0..n {
        r[(i, i)] = 1.0;
    }
    let Some(rows) = given else { return Ok(r) };
    if rows.len() != n || rows.iter().any(|row| row.len() != n) {
        return Err(Error::BadList {
            name: "correlation".into(),
            problem: format!("must be {n} rows of {n} values, one for each method"),
        });
    }
    for i in 0..n {
        for j in 0..n {
            let v = within(&format!("correlation[{i}][{j}]"), rows[i][j], "", -1.0, 1.0)?;
            let problem = if i == j && (v - 1.0).abs() > 1e-9 {
                "must be 1 on its diagonal"
            } else if (v - rows[j][i]).abs() > 1e-9 {
                "must be the same above and below its diagonal"
            } else {
                r[(i, j)] = v;
                continue;
            };
            return Err(Error::BadList { name: "correlation".into(), problem: problem.into() });
        }
    }
    Ok(r)
}

fn pair(a: &Method, b: &Method, r: f64) -> MethodPair {
    let difference = b.value - a.value;
    // (u_a - u_b)^2 + 2 (1 - r) u_a u_b keeps its digits when r is near 1
    let u = ((a.u - b.u).powi(2) + 2.0 * (1.0 - r) * a.u * b.u).max(0.0).sqrt();
    let e_n = difference.abs() / (2.0 * u).max(f64::MIN_POSITIVE);
    let e_n = if difference == 0.0 { 0.0 } else { e_n.min(1e300) };
    let percent = 100.0 * difference / a.value;
    let (more, size) = if difference < 0.0 { ("less", -percent) } else { ("more", percent) };
    let within = if e_n <= 1.0 { "within" } else { "outside" };
    let words = format!(
        "the {} says {:.1} % {more} than the {}, {:.1} times what both uncertainties allow (twice the standard uncertainty of the \
         difference): {within} them",
        b.name, size, a.name, e_n
    );
    MethodPair {
        first: a.name.clone(),
        second: b.name.clone(),
        difference,
        difference_percent: percent,
        u_difference: u,
        e_n,
        words,
    }
}

/// Fuses methods by generalised least squares. `correlation` holds the correlation of each pair's errors (independent when
/// `None`): a span, a scale or a factor that two methods share. `enlarge` multiplies u by the Birge ratio when that is above
/// 1, the usual amends when nobody knows which method is off.
pub fn fuse(methods: &[Method], correlation: Option<&[Vec<f64>]>, coverage: f64, enlarge: bool) -> Result<Fused> {
    let n = methods.len();
    if n == 0 {
        return Err(Error::BadList { name: "methods".into(), problem: "is empty; give at least one method".into() });
    }
    for m in methods {
        Method::new(&m.name, m.value, m.u)?;
    }
    let r = correlations(n, correlation)?;
    // in units of each method's own uncertainty the matrix is the correlation itself
    let ones: Vec<f64> = methods.iter().map(|m| methods[0].u / m.u).collect();
    let singular = || {
        Error::Refused(
            "correlation is no possible one: with these values some difference of the methods would have no uncertainty, or a \
             negative one; give smaller correlations"
                .into(),
        )
    };
    let solved = solve_positive(&r, &ones).ok_or_else(singular)?;
    let information: f64 = ones.iter().zip(&solved).map(|(a, b)| a * b).sum();
    if !(information.is_finite() && information > 0.0) {
        return Err(singular());
    }
    let weights: Vec<f64> = ones.iter().zip(&solved).map(|(a, s)| a * s / information).collect();
    let first = methods[0].value;
    let value = first + methods.iter().zip(&weights).map(|(m, w)| w * (m.value - first)).sum::<f64>();
    let own_u = methods[0].u / information.sqrt();
    let off: Vec<f64> = methods.iter().map(|m| (m.value - value) / m.u).collect();
    let against = solve_positive(&r, &off).ok_or_else(singular)?;
    let chi_squared: f64 = off.iter().zip(&against).map(|(a, b)| a * b).sum::<f64>().max(0.0);
    let dof = n - 1;
    let (chance, birge_ratio) =
        if dof > 0 { (chi_squared_upper_tail(chi_squared, dof as f64)?, (chi_squared / dof as f64).sqrt()) } else { (1.0, 0.0) };
    let enlarged = enlarge && birge_ratio > 1.0;
    let u = if enlarged { own_u * birge_ratio } else { own_u };
    let k = coverage_factor(coverage, enlarged.then_some(dof as f64))?;
    let mut pairs = Vec::new();
    for i in 0..n {
        for j in i + 1..n {
            pairs.push(pair(&methods[i], &methods[j], r[(i, j)]));
        }
    }
    let mut words: Vec<String> = pairs.iter().filter(|p| p.e_n > 1.0).map(|p| p.words.clone()).collect();
    if dof > 0 && chance < DISAGREE {
        words.push(format!(
            "the methods disagree: chi squared {chi_squared:.1} on {dof} degrees of freedom, a chance of {}; at least one is off by \
             more than it says",
            if chance < 1e-4 { "less than 0.01 %".into() } else { format!("{:.2} %", 100.0 * chance) }
        ));
        if !enlarged {
            words.push(format!(
                "with the Birge ratio of {birge_ratio:.2} the uncertainty would be {}",
                number(own_u * birge_ratio)
            ));
        }
    } else if dof > 0 {
        words.push(format!(
            "the methods agree within their uncertainties: chi squared {chi_squared:.1} on {dof} degrees of freedom"
        ));
    }
    if enlarged {
        words.push(format!("the uncertainty was enlarged by the Birge ratio, {birge_ratio:.2}"));
    }
    let (low, high) = methods.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), m| (l.min(m.value), h.max(m.value)));
    if value < low * (1.0 - 1e-12) || value > high * (1.0 + 1e-12) {
        words.push(
            "the fused value lies outside all methods: correlation this strong says they err together; check that it is meant"
                .into(),
        );
    }
    Ok(Fused {
        value,
        u,
        coverage_factor: k,
        interval: (value - k * u, value + k * u),
        weights,
        chi_squared,
        dof,
        chance,
        birge_ratio,
        enlarged,
        pairs,
        words,
    })
}
