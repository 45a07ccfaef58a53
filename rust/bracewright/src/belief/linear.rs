//! The fast belief: most likely state by Gauss-Newton and the normal law around it.

use super::history::Chain;
use super::{Belief, Estimate, Response};
use crate::error::{Error, Result};
use serde::{Deserialize, Serialize};

/// The normal approximation of a belief: an iterated extended Kalman filter over the modulus, the second unknown and
/// the depth of each pass, all readings taken at once, so that their order cannot matter.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Linear {
    /// Deflection as the brace stands, mm (log-normal).
    pub deflection_mm: Estimate,
    /// Young's modulus along the brace, GPa.
    pub e_gpa: Estimate,
    /// The second unknown, N/mm or mm/N.
    pub second: Estimate,
    /// Depth removed so far, mm.
    pub depth_mm: Estimate,
    /// Correlation of the modulus with the second unknown, on the scales in which each is normal.
    pub correlation: f64,
    /// Whether Gauss-Newton came to rest.
    pub converged: bool,
}

impl Belief {
    /// The fast normal approximation.
    pub fn linear<R: Response + ?Sized>(&self, response: &R) -> Result<Linear> {
        self.check()?;
        let chain = self.chain();
        let mode = Mode::find(&chain, response)?;
        let (passes, n) = (chain.removal.len(), chain.dims());
        let deflection = chain.deflection_mm(response, &mode.z, passes);
        let sd_of = |slope: &[f64]| -> f64 {
            let mut v = 0.0;
            for i in 0..n {
                for j in 0..n {
                    v += slope[i] * mode.covariance[i][j] * slope[j];
                }
            }
            v.max(0.0).sqrt()
        };
        let sd_ln = sd_of(&slopes(&chain, response, &mode.z, passes)) / deflection;
        let depth = chain.depth_mm(&mode.z, passes);
        let mut depth_slope = vec![0.0; n];
        depth_slope[2..].iter_mut().zip(&chain.removal).for_each(|(s, r)| *s = r.1);
        let sd_depth = sd_of(&depth_slope);
        let sd = |i: usize| mode.covariance[i][i].sqrt();
        let unknown = |u: &super::Unknown, i: usize| {
            let (mean, sd_value) = u.mean_sd(mode.z[i], sd(i));
            let at = |t: f64| u.at(mode.z[i] + t * sd(i));
            Estimate { mean, sd: sd_value, q05: at(-Z95), q50: at(0.0), q95: at(Z95) }
        };
        let mean = deflection * (0.5 * sd_ln * sd_ln).exp();
        Ok(Linear {
            deflection_mm: Estimate {
                mean,
                sd: mean * (sd_ln * sd_ln).exp_m1().sqrt(),
                q05: deflection * (-Z95 * sd_ln).exp(),
                q50: deflection,
                q95: deflection * (Z95 * sd_ln).exp(),
            },
            e_gpa: unknown(&chain.e_gpa, 0),
            second: unknown(&chain.second, 1),
            depth_mm: Estimate {
                mean: depth,
                sd: sd_depth,
                q05: (depth - Z95 * sd_depth).max(0.0),
                q50: depth,
                q95: depth + Z95 * sd_depth,
            },
            correlation: mode.covariance[0][1] / (sd(0) * sd(1)),
            converged: mode.converged,
        })
    }
}

/// The 95 % quantile of the standard normal.
const Z95: f64 = 1.644_853_626_951_472_7;

/// The most likely state in standard normals, and the covariance around it.
pub(super) struct Mode {
    pub z: Vec<f64>,
    pub covariance: Vec<Vec<f64>>,
    pub converged: bool,
}

impl Mode {
    pub fn find<R: Response + ?Sized>(chain: &Chain, response: &R) -> Result<Self> {
        let n = chain.dims();
        let mut z = vec![0.0; n];
        let mut cost = chain.cost(response, &z);
        if !cost.is_finite() {
            return Err(Error::NotIdentifiable {
                unknown: "the deflection".into(),
                reason: "the response gives no positive, finite deflection at the middle of what is believed".into(),
            });
        }
        let mut converged = false;
        let mut hessian = Vec::new();
        for _ in 0..100 {
            let (h, gradient) = quadratic(chain, response, &z);
            let factor = cholesky(&h)?;
            hessian = h;
            let step = solve(&factor, &gradient);
            let size = step.iter().fold(0.0f64, |a, s| a.max(s.abs()));
            // A step of several standard deviations has left the region where the slopes hold.
            let mut t = 1f64.min(3.0 / size.max(1e-300));
            let mut moved = false;
            for _ in 0..40 {
                let next: Vec<f64> = z.iter().zip(&step).map(|(z, s)| z - t * s).collect();
                let next_cost = chain.cost(response, &next);
                if next_cost <= cost {
                    (z, cost, moved) = (next, next_cost, true);
                    break;
                }
                t *= 0.5;
            }
            if size < 1e-7 || !moved {
                converged = size < 1e-4;
                break;
            }
        }
        let factor = cholesky(&hessian)?;
        let mut covariance = vec![vec![0.0; n]; n];
        for i in 0..n {
            let unit: Vec<f64> = (0..n).map(|j| f64::from(u8::from(i == j))).collect();
            covariance[i] = solve(&factor, &unit);
        }
        Ok(Self { z, covariance, converged })
    }
}

/// Derivatives of the deflection after so many passes with respect to every standard normal.
fn slopes<R: Response + ?Sized>(chain: &Chain, response: &R, z: &[f64], passes: usize) -> Vec<f64> {
    let mut slope = vec![0.0; chain.dims()];
    let (e, second, depth) = (chain.e_gpa.at(z[0]), chain.second.at(z[1]), chain.depth_mm(z, passes));
    const H: f64 = 1e-4;
    slope[0] = (response.deflection_mm(chain.e_gpa.at(z[0] + H), second, depth)
        - response.deflection_mm(chain.e_gpa.at(z[0] - H), second, depth))
        / (2.0 * H);
    slope[1] = (response.deflection_mm(e, chain.second.at(z[1] + H), depth)
        - response.deflection_mm(e, chain.second.at(z[1] - H), depth))
        / (2.0 * H);
    let shallow = (depth - 1e-3).max(0.0);
    let per_mm =
        (response.deflection_mm(e, second, depth + 1e-3) - response.deflection_mm(e, second, shallow)) / (depth + 1e-3 - shallow);
    for (j, &(m, s)) in chain.removal[..passes].iter().enumerate() {
        if m + s * z[2 + j] > 0.0 {
            slope[2 + j] = per_mm * s;
        }
    }
    slope
}

/// Gauss-Newton Hessian and gradient of the cost at `z`.
fn quadratic<R: Response + ?Sized>(chain: &Chain, response: &R, z: &[f64]) -> (Vec<Vec<f64>>, Vec<f64>) {
    let n = chain.dims();
    let mut h = vec![vec![0.0; n]; n];
    (0..n).for_each(|i| h[i][i] = 1.0);
    let mut gradient = z.to_vec();
    let mut add = |slope: &[f64], residual: f64, u: f64| {
        for i in 0..n {
            gradient[i] += slope[i] * residual / (u * u);
            for j in 0..n {
                h[i][j] += slope[i] * slope[j] / (u * u);
            }
        }
    };
    for s in &chain.readings {
        add(&slopes(chain, response, z, s.passes), chain.deflection_mm(response, z, s.passes) - s.value, s.u);
    }
    for s in &chain.depths {
        let mut slope = vec![0.0; n];
        slope[2 + s.since..].iter_mut().zip(&chain.removal[s.since..s.passes]).for_each(|(v, r)| *v = r.1);
        add(&slope, chain.depth_since_mm(z, s.since, s.passes) - s.value, s.u);
    }
    (h, gradient)
}

/// Lower Cholesky factor of a small symmetric matrix.
fn cholesky(a: &[Vec<f64>]) -> Result<Vec<Vec<f64>>> {
    let n = a.len();
    let mut l = vec![vec![0.0; n]; n];
    for i in 0..n {
        for j in 0..=i {
            let s = a[i][j] - (0..j).map(|k| l[i][k] * l[j][k]).sum::<f64>();
            if i != j {
                l[i][j] = s / l[j][j];
            } else if s > 0.0 && s.is_finite() {
                l[i][i] = s.sqrt();
            } else {
                return Err(Error::NotIdentifiable {
                    unknown: "the state of the brace".into(),
                    reason: "the response does not change smoothly with modulus and depth near what is believed".into(),
                });
            }
        }
    }
    Ok(l)
}

/// Solves L L^T x = b.
fn solve(l: &[Vec<f64>], b: &[f64]) -> Vec<f64> {
    let n = b.len();
    let mut x = b.to_vec();
    for i in 0..n {
        x[i] = (x[i] - (0..i).map(|k| l[i][k] * x[k]).sum::<f64>()) / l[i][i];
    }
    for i in (0..n).rev() {
        x[i] = (x[i] - (i + 1..n).map(|k| l[k][i] * x[k]).sum::<f64>()) / l[i][i];
    }
    x
}
