//! The normal law: density, both tails and the quantile.

use crate::error::Result;

/// Density of the standard normal at `z`.
pub fn pdf(z: f64) -> f64 {
    (-0.5 * z * z).exp() * (0.5 * std::f64::consts::FRAC_1_PI).sqrt()
}

/// Chance that a standard normal lies below `z`; exact to rounding in both tails. `-inf` gives 0, `+inf` gives 1.
pub fn cdf(z: f64) -> f64 {
    0.5 * libm::erfc(-z * std::f64::consts::FRAC_1_SQRT_2)
}

/// Chance that a standard normal lies above `z`; keeps its digits where `1 - cdf(z)` would lose them.
pub fn upper_tail(z: f64) -> f64 {
    cdf(-z)
}

/// The `z` below which a standard normal lies with chance `chance`, for 0 < chance < 1 (anything else is an error).
/// Wichura, Algorithm AS 241 (1988), relative error about 1e-16; coefficients from memory, held by the tests
/// against tabulated quantiles and by the round trip through [`cdf`].
pub fn quantile(chance: f64) -> Result<f64> {
    if chance > 0.0 && chance < 1.0 {
        return Ok(quantile_unchecked(chance));
    }
    Err(crate::Error::OutOfRange { quantity: "chance".into(), value: chance, unit: "", allowed: "above 0 and below 1".into() })
}

/// [`quantile`] for a chance already known to lie inside (0, 1).
pub(crate) fn quantile_unchecked(p: f64) -> f64 {
    let q = p - 0.5;
    if q.abs() <= 0.425 {
        let r = 0.180_625 - q * q;
        return q * horner(&CENTRE_NUM, r) / horner(&CENTRE_DEN, r);
    }
    let r = (-(if q < 0.0 { p } else { 1.0 - p }).ln()).sqrt();
    let z = if r <= 5.0 {
        horner(&MIDDLE_NUM, r - 1.6) / horner(&MIDDLE_DEN, r - 1.6)
    } else {
        horner(&FAR_NUM, r - 5.0) / horner(&FAR_DEN, r - 5.0)
    };
    if q < 0.0 { -z } else { z }
}

fn horner(c: &[f64; 8], x: f64) -> f64 {
    c.iter().rev().fold(0.0, |s, &c| s * x + c)
}

// The digits stand as the algorithm prints them.
#[allow(clippy::excessive_precision)]
const CENTRE_NUM: [f64; 8] = [
    3.3871328727963666080,
    1.3314166789178437745e2,
    1.9715909503065514427e3,
    1.3731693765509461125e4,
    4.5921953931549871457e4,
    6.7265770927008700853e4,
    3.3430575583588128105e4,
    2.5090809287301226727e3,
];
#[allow(clippy::excessive_precision)]
const CENTRE_DEN: [f64; 8] = [
    1.0,
    4.2313330701600911252e1,
    6.8718700749205790830e2,
    5.3941960214247511077e3,
    2.1213794301586595867e4,
    3.9307895800092710610e4,
    2.8729085735721942674e4,
    5.2264952788528545610e3,
];
#[allow(clippy::excessive_precision)]
const MIDDLE_NUM: [f64; 8] = [
    1.42343711074968357734,
    4.63033784615654529590,
    5.76949722146069140550,
    3.64784832476320460504,
    1.27045825245236838258,
    2.41780725177450611770e-1,
    2.27238449892691845833e-2,
    7.74545014278341407640e-4,
];
#[allow(clippy::excessive_precision)]
const MIDDLE_DEN: [f64; 8] = [
    1.0,
    2.05319162663775882187,
    1.67638483018380384940,
    6.89767334985100004550e-1,
    1.48103976427480074590e-1,
    1.51986665636164571966e-2,
    5.47593808499534494600e-4,
    1.05075007164441684324e-9,
];
#[allow(clippy::excessive_precision)]
const FAR_NUM: [f64; 8] = [
    6.65790464350110377720,
    5.46378491116411436990,
    1.78482653991729133580,
    2.96560571828504891230e-1,
    2.65321895265761230930e-2,
    1.24266094738807843860e-3,
    2.71155556874348757815e-5,
    2.01033439929228813265e-7,
];
#[allow(clippy::excessive_precision)]
const FAR_DEN: [f64; 8] = [
    1.0,
    5.99832206555887937690e-1,
    1.36929880922735805310e-1,
    1.48753612908506148525e-2,
    7.86869131145613259100e-4,
    1.84631831751005468180e-5,
    1.42151175831644588870e-7,
    2.04426310338993978564e-15,
];
