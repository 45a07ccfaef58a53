//! What a round tool leaves of a hollow it does not fit.

use crate::error::Result;
use crate::mechanics::pieces::Pieces;
use crate::profile::Profile;

/// What a round tool of radius `r` leaves of the hollows between a and b, resting on the crest: the lower envelope of
/// the tool over all places where it clears the target. Sampled at a quarter of a millimetre.
pub(super) fn rolled(crest: &Pieces, r: f64, a: f64, b: f64) -> Result<Pieces> {
    let n = (((b - a) / 0.25).ceil() as usize).clamp(8, 8000);
    let dx = (b - a) / n as f64;
    let x: Vec<f64> = (0..=n).map(|k| a + dx * k as f64).collect();
    let mut h = vec![0.0; n + 1];
    crest.fill(&x, &mut h);
    let reach = ((r / dx) as usize).min(n);
    let sag: Vec<f64> = (0..=reach).map(|k| r - (r * r - (k as f64 * dx).powi(2)).max(0.0).sqrt()).collect();
    let over = |v: &[f64], i: usize, best: &dyn Fn(f64, f64) -> f64, sign: f64| {
        let mut out = v[i];
        for (k, s) in sag.iter().enumerate().skip(1) {
            for j in [i.checked_sub(k), (i + k <= n).then_some(i + k)].into_iter().flatten() {
                out = best(out, v[j] + sign * s);
            }
        }
        out
    };
    // lowest the tool's own lowest point may stand, then the surface those places leave
    let tool: Vec<f64> = (0..=n).map(|i| over(&h, i, &f64::max, -1.0)).collect();
    let left: Vec<f64> = (0..=n).map(|i| over(&tool, i, &f64::min, 1.0).max(h[i])).collect();
    let (l0, l1) = (crest.start(), crest.end());
    let (mut at, mut v) = (x, left);
    if a > l0 + 1e-9 {
        at.insert(0, l0);
        v.insert(0, 0.0);
    }
    if b < l1 - 1e-9 {
        at.push(l1);
        v.push(0.0);
    }
    at[0] = 0.0;
    Ok(Profile::measured(&at, &v)?.crest().clone())
}
