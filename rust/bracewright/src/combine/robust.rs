//! Location and scale that one bad reading does not carry away, and how far each reading stands off.

use serde::{Deserialize, Serialize};

use crate::error::{Error, Result, finite};

/// Modified z-score above which a reading is suspect (Iglewicz and Hoaglin 1993; NIST/SEMATECH e-Handbook 1.3.5.17).
pub const MODIFIED_Z_LIMIT: f64 = 3.5;

/// A mean by Algorithm A of ISO 13528 (ISO 5725-5): Huber's, with readings farther than 1.5 s drawn in to there.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct RobustMean {
    /// Robust mean.
    pub mean: f64,
    /// Robust standard deviation of one reading.
    pub sd: f64,
    /// Median.
    pub median: f64,
    /// 1.4826 times the median distance from the median.
    pub mad_sd: f64,
}

/// Median; 0 of an empty list.
pub(super) fn median(values: &[f64]) -> f64 {
    let mut v = values.to_vec();
    v.sort_by(f64::total_cmp);
    if v.is_empty() { 0.0 } else { 0.5 * (v[(v.len() - 1) / 2] + v[v.len() / 2]) }
}

/// Scale of deviations about 0: 1.4826 times their median size, or where most are 0, 1.2533 times the mean size.
pub(super) fn scale_of(deviations: &[f64]) -> f64 {
    let sizes: Vec<f64> = deviations.iter().map(|d| d.abs()).collect();
    let mad = median(&sizes);
    if mad > 0.0 { mad / 0.6745 } else { 1.253_314 * sizes.iter().sum::<f64>() / sizes.len().max(1) as f64 }
}

fn checked(values: &[f64], least: usize) -> Result<()> {
    if values.len() < least {
        return Err(Error::BadList {
            name: "values".into(),
            problem: format!("has {} values; it needs at least {least}", values.len()),
        });
    }
    values.iter().enumerate().try_for_each(|(i, v)| finite(&format!("values[{i}]"), *v, "").map(|_| ()))
}

/// Modified z-scores, 0.6745 (x - median) / MAD, of 3 or more values; all 0 when the values are equal.
pub fn modified_z(values: &[f64]) -> Result<Vec<f64>> {
    checked(values, 3)?;
    let middle = median(values);
    let off: Vec<f64> = values.iter().map(|v| v - middle).collect();
    let scale = scale_of(&off);
    Ok(off.iter().map(|d| if scale > 0.0 { d / scale } else { 0.0 }).collect())
}

/// Algorithm A on 3 or more values.
pub fn robust_mean(values: &[f64]) -> Result<RobustMean> {
    checked(values, 3)?;
    let middle = median(values);
    let off: Vec<f64> = values.iter().map(|v| v - middle).collect();
    let mad_sd = scale_of(&off);
    let (mut mean, mut sd) = (middle, mad_sd);
    let n = values.len() as f64;
    for _ in 0..500 {
        let reach = 1.5 * sd;
        let drawn: Vec<f64> = values.iter().map(|v| v.clamp(mean - reach, mean + reach)).collect();
        let next = drawn.iter().sum::<f64>() / n;
        let next_sd = 1.134 * (drawn.iter().map(|v| (v - next).powi(2)).sum::<f64>() / (n - 1.0)).sqrt();
        let still = (next - mean).abs().max((next_sd - sd).abs()) <= 1e-12 * (next_sd + f64::MIN_POSITIVE);
        (mean, sd) = (next, next_sd);
        if still || sd <= 0.0 {
            break;
        }
    }
    finite("mean of values", mean, "")?;
    finite("scatter of values", sd, "")?;
    Ok(RobustMean { mean, sd, median: middle, mad_sd })
}
