//! The eigenvalues of a diagonal and one rank: what couples through one pressure.

use serde::{Deserialize, Serialize};

use crate::error::{Error, Result};
use crate::mechanics::dense::{Square, lowest_modes};

/// How the hole is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub enum Hole {
    /// As it plays.
    Open,
    /// Shut tight by something that stands still: the air in it is no oscillator any more.
    Closed,
}

/// One mode: its frequency squared, Hz^2, and the mass-weighted displacements, of length 1.
pub(super) struct Level {
    pub square: f64,
    pub y: Vec<f64>,
}

/// Modes of diag(`d`) + `v` `v`^T, lowest first. `d` is in Hz^2 and not negative, `v` in Hz; at least one is above 0.
pub(super) fn levels(d: &[f64], v: &[f64]) -> Result<Vec<Level>> {
    let n = d.len();
    let (mut k, mut m) = (Square::zeros(n), Square::zeros(n));
    let scale = d.iter().chain(v.iter().map(|v| v * v).collect::<Vec<_>>().iter()).fold(f64::MIN_POSITIVE, |s, x| s.max(*x));
    for i in 0..n {
        m[(i, i)] = 1.0;
        for j in 0..n {
            k[(i, j)] = v[i] * v[j] / scale + if i == j { d[i] / scale } else { 0.0 };
        }
    }
    // a little shift: the matrix may be singular to rounding
    let found = lowest_modes(&k, &m, 1e-3, n)
        .ok_or_else(|| Error::Refused("these oscillators have no modes that can be told apart from rounding".into()))?;
    Ok(found
        .into_iter()
        .map(|(lambda, y)| {
            let size = y.iter().map(|y| y * y).sum::<f64>().sqrt().max(f64::MIN_POSITIVE);
            Level { square: (lambda * scale).max(0.0), y: y.into_iter().map(|y| y / size).collect() }
        })
        .collect())
}
