//! Lowest free vibrations of the depth-resolved beam, by subspace iteration on a shifted factor.

use crate::mechanics::dense::{self, Square};
use crate::mechanics::resolved::{Hold, Resolved};

/// Angular frequencies squared of the `count` lowest modes that are not rigid motions, `shift` of the order of the
/// first. `None` when the beam has no stiffness or mass somewhere.
pub fn lowest(beam: &Resolved, holds: &[Hold], shift: f64, count: usize) -> Option<Vec<f64>> {
    Some(lowest_shapes(beam, holds, shift, count)?.into_iter().map(|(v, _)| v).collect())
}

/// The same, each with its shape as values of the unknowns.
pub fn lowest_shapes(beam: &Resolved, holds: &[Hold], shift: f64, count: usize) -> Option<Vec<(f64, Vec<f64>)>> {
    let rigid = match holds {
        [] => 3,
        h if h.iter().any(|h| matches!(h, Hold::Clamp { .. })) => 0,
        [_] => 2,
        _ => 1,
    };
    let want = count + rigid;
    let size = (2 * want).max(want + 6);
    let n = beam.unknowns();
    let factor = beam.factor(holds, shift)?;
    // start from a spread of smooth and rough shapes
    let mut basis: Vec<Vec<f64>> = (0..size)
        .map(|k| {
            (0..n)
                .map(|i| {
                    (((i + 1) * (2 * k + 1)) as f64 * 0.618_033_988_75).fract() - 0.5 + if i % (k + 2) == 0 { 1.0 } else { 0.0 }
                })
                .collect()
        })
        .collect();
    let mut previous = vec![0.0; want];
    let mut mass = vec![vec![0.0; n]; size];
    for _ in 0..60 {
        for (x, m) in basis.iter_mut().zip(&mut mass) {
            beam.apply_mass(x, m);
            *x = beam.back_solve(&factor, m);
        }
        // Rayleigh-Ritz: x' (K + s M) x = x' M x_old, x' M x
        let mut k = Square::zeros(size);
        let mut m = Square::zeros(size);
        for i in 0..size {
            for j in 0..size {
                k[(i, j)] = dot(&basis[i], &mass[j]);
            }
        }
        for (x, mx) in basis.iter().zip(&mut mass) {
            beam.apply_mass(x, mx);
        }
        for i in 0..size {
            for j in 0..size {
                m[(i, j)] = dot(&basis[i], &mass[j]);
            }
        }
        let scale: Vec<f64> = (0..size).map(|i| 1.0 / m[(i, i)].max(f64::MIN_POSITIVE).sqrt()).collect();
        for i in 0..size {
            for j in 0..size {
                let sym = 0.5 * (k[(i, j)] + k[(j, i)]) * scale[i] * scale[j];
                if j >= i {
                    k[(i, j)] = sym;
                    k[(j, i)] = sym;
                }
                m[(i, j)] *= scale[i] * scale[j];
            }
        }
        let modes = dense::lowest_modes(&k, &m, 0.0, size)?;
        let values: Vec<f64> = modes.iter().take(want).map(|(v, _)| v - shift).collect();
        let fresh: Vec<Vec<f64>> = modes
            .iter()
            .map(|(_, v)| {
                let mut x = vec![0.0; n];
                for (c, (b, s)) in v.iter().zip(basis.iter().zip(&scale)) {
                    x.iter_mut().zip(b).for_each(|(x, b)| *x += c * s * b);
                }
                let size = dot(&x, &x).sqrt().max(f64::MIN_POSITIVE);
                x.iter_mut().for_each(|v| *v /= size);
                x
            })
            .collect();
        basis = fresh;
        if basis.len() < size {
            return None;
        }
        let settled = values.iter().zip(&previous).skip(rigid).all(|(a, b)| (a - b).abs() <= 1e-11 * a.abs());
        previous = values;
        if settled {
            break;
        }
    }
    let out: Vec<(f64, Vec<f64>)> = previous.into_iter().zip(basis).skip(rigid).collect();
    out.iter().all(|(v, _)| v.is_finite() && *v > 0.0).then_some(out)
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(x, y)| x * y).sum()
}
