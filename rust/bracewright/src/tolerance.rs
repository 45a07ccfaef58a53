//! What the spread of wood and hand does to stiffness and mass: a million draws on the section beam.

use rand::SeedableRng;
use rand_distr::{Distribution, StandardNormal};
use rand_xoshiro::Xoshiro256PlusPlus;
use rayon::prelude::*;

use crate::brace::Brace;
use crate::error::{Error, Result, not_negative, within};

/// Spreads to draw from, as standard deviations.
#[derive(Debug, Clone, PartialEq)]
pub struct Spreads {
    /// Of E, relative.
    pub modulus: f64,
    /// Of the density, relative.
    pub density: f64,
    /// Of the width, mm.
    pub width_mm: f64,
    /// A dimension and its standard deviation, mm.
    pub dimension: Option<(String, f64)>,
}

/// Percentiles of stiffness and mass.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Tolerance {
    /// The percentiles asked for.
    pub percent: Vec<f64>,
    /// Three-point stiffness by the section beam, N/mm, at each.
    pub stiffness_n_per_mm: Vec<f64>,
    /// Mass, g, at each.
    pub mass_g: Vec<f64>,
    /// Draws made.
    pub draws: usize,
}

/// Most draws.
pub const MOST_DRAWS: usize = 50_000_000;
/// Draws of one seed: the unit of sharing out, so that the numbers do not depend on the cores.
const CHUNK: usize = 8192;
/// Standard deviations of the dimension that its curve covers; draws beyond are held at its ends (one in 10^9).
const REACH: f64 = 6.0;

/// Draws E, density, width and one dimension as independent normals and returns percentiles of the three-point stiffness
/// over `span_mm` and of the mass. The same seed gives the same numbers on any machine of one kind, on any number of cores.
pub fn tolerance(brace: &Brace, span_mm: f64, spreads: &Spreads, percent: &[f64], draws: usize, seed: u64) -> Result<Tolerance> {
    within("modulus spread", spreads.modulus, "", 0.0, 0.5)?;
    within("density spread", spreads.density, "", 0.0, 0.5)?;
    not_negative("width spread", spreads.width_mm, "mm")?;
    within("width spread", spreads.width_mm, "mm", 0.0, 0.15 * brace.width_mm())?;
    if !(2..=MOST_DRAWS).contains(&draws) {
        return Err(Error::OutOfRange {
            quantity: "draws".into(),
            value: draws as f64,
            unit: "",
            allowed: format!("from 2 to {MOST_DRAWS}"),
        });
    }
    for (i, p) in percent.iter().enumerate() {
        within(&format!("percent[{i}]"), *p, "%", 0.0, 100.0)?;
    }
    let (e, w, shear) = brace.stiffness_and_shear()?;
    let law = brace.law()?;
    let density = brace.blank().density_kg_m3() * 1e-6;
    // compliance and volume at width 1 as polynomials of the dimension
    let (centre, sd, low, high, sum, volume) = match &spreads.dimension {
        None => {
            let s = brace.mid_nodes(span_mm, brace)?.sum(&law, shear);
            (0.0, 0.0, 0.0, 0.0, vec![s], vec![brace.volume_mm3()? / w])
        }
        Some((name, sd)) => {
            not_negative("dimension spread", *sd, "mm")?;
            let centre = brace.dimension(name)?;
            let (low, high) = reach(brace, name, centre, *sd)?;
            let points = chebyshev(COUNT, low, high);
            let at = points.par_iter().map(|v| brace.with_dimension(name, *v)).collect::<Result<Vec<_>>>()?;
            let sums = at.iter().map(|b| Ok(b.mid_nodes(span_mm, b)?.sum(&law, shear))).collect::<Result<Vec<_>>>()?;
            let volumes = at.iter().map(|b| Ok(b.volume_mm3()? / w)).collect::<Result<Vec<_>>>()?;
            (centre, *sd, low, high, powers(&sums), powers(&volumes))
        }
    };
    if !sum.iter().all(|v| v.is_finite()) {
        return Err(crate::brace::bend::no_stiffness());
    }
    let mut stiffness = vec![0.0; draws];
    let mut mass = vec![0.0; draws];
    stiffness.par_chunks_mut(CHUNK).zip(mass.par_chunks_mut(CHUNK)).enumerate().for_each(|(c, (k, m))| {
        let mut rng = Xoshiro256PlusPlus::seed_from_u64(seed.wrapping_mul(0x9e37_79b9_7f4a_7c15).wrapping_add(c as u64));
        let mut z = || -> f64 { StandardNormal.sample(&mut rng) };
        let (mut t, mut ew, mut rw) = (vec![0.0; k.len()], vec![0.0; k.len()], vec![0.0; k.len()]);
        let span = (high - low).max(f64::MIN_POSITIVE);
        for i in 0..k.len() {
            let width = w + spreads.width_mm * z();
            ew[i] = e * (1.0 + spreads.modulus * z()).max(0.05) * width;
            rw[i] = density * (1.0 + spreads.density * z()).max(0.05) * width;
            let v = centre + sd * z();
            t[i] = (2.0 * v.clamp(low, high) - low - high) / span;
        }
        let mut s = vec![0.0; k.len()];
        crate::mechanics::simd::horner(&sum, 1.0, 0.0, &t, &mut s);
        crate::mechanics::simd::horner(&volume, 1.0, 0.0, &t, m);
        for i in 0..k.len() {
            k[i] = 4.0 * ew[i] / s[i];
            m[i] *= rw[i];
        }
    });
    let (stiffness, mass) = rayon::join(|| percentiles(&stiffness, percent), || percentiles(&mass, percent));
    Ok(Tolerance { percent: percent.to_vec(), stiffness_n_per_mm: stiffness, mass_g: mass, draws })
}

/// Points of the curve over the dimension.
const COUNT: usize = 16;

/// Range of the dimension: six standard deviations, less where the shape ends.
fn reach(brace: &Brace, name: &str, centre: f64, sd: f64) -> Result<(f64, f64)> {
    let edge = |sign: f64| -> f64 {
        let far = centre + sign * REACH * sd;
        let ok = |v: f64| brace.with_dimension(name, v).is_ok();
        if ok(far) {
            return far;
        }
        let (mut good, mut bad) = (centre, far);
        for _ in 0..40 {
            let m = 0.5 * (good + bad);
            if ok(m) { good = m } else { bad = m }
        }
        good
    };
    let (low, high) = (edge(-1.0), edge(1.0));
    if sd > 0.0 && high - low < sd {
        return Err(Error::Refused(format!("{name} can hardly move inside blank and shape; there is nothing to draw")));
    }
    Ok((low, high.max(low + 1e-9)))
}

fn chebyshev(n: usize, low: f64, high: f64) -> Vec<f64> {
    (0..n).map(|j| 0.5 * (low + high) + 0.5 * (high - low) * (std::f64::consts::PI * (j as f64 + 0.5) / n as f64).cos()).collect()
}

/// Powers of t on [-1, 1] through values at the Chebyshev points.
fn powers(values: &[f64]) -> Vec<f64> {
    let n = values.len();
    let mut cheb = vec![0.0; n];
    for (k, c) in cheb.iter_mut().enumerate() {
        let s: f64 = values
            .iter()
            .enumerate()
            .map(|(j, v)| v * (k as f64 * std::f64::consts::PI * (j as f64 + 0.5) / n as f64).cos())
            .sum();
        *c = s * if k == 0 { 1.0 } else { 2.0 } / n as f64;
    }
    let (mut t0, mut t1, mut out) = (vec![0.0; n + 1], vec![0.0; n + 1], vec![0.0; n]);
    t0[0] = 1.0;
    t1[1] = 1.0;
    for (k, c) in cheb.iter().enumerate() {
        let now = match k {
            0 => t0.clone(),
            1 => t1.clone(),
            _ => {
                let t2: Vec<f64> = (0..=n).map(|j| if j > 0 { 2.0 * t1[j - 1] } else { 0.0 } - t0[j]).collect();
                t0 = std::mem::replace(&mut t1, t2.clone());
                t2
            }
        };
        for j in 0..n {
            out[j] += c * now[j];
        }
    }
    out
}

/// Percentiles with linear interpolation between order statistics (as numpy's default), exact: values are counted into
/// narrow bins, and only the bins that hold a wanted rank are sorted.
fn percentiles(values: &[f64], percent: &[f64]) -> Vec<f64> {
    const BINS: usize = 4096;
    let (low, high) = values
        .par_chunks(1 << 16)
        .map(|c| c.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |m, v| (m.0.min(*v), m.1.max(*v))))
        .reduce(|| (f64::INFINITY, f64::NEG_INFINITY), |a, b| (a.0.min(b.0), a.1.max(b.1)));
    let scale = if high > low { (BINS as f64 - 1.0) / (high - low) } else { 0.0 };
    let bin = |v: f64| ((v - low) * scale) as usize;
    let counts = values
        .par_chunks(1 << 16)
        .map(|c| {
            let mut n = vec![0u32; BINS];
            for v in c {
                n[bin(*v).min(BINS - 1)] += 1;
            }
            n
        })
        .reduce(
            || vec![0u32; BINS],
            |mut a, b| {
                a.iter_mut().zip(&b).for_each(|(a, b)| *a += b);
                a
            },
        );
    let mut before = vec![0usize; BINS + 1];
    for (k, n) in counts.iter().enumerate() {
        before[k + 1] = before[k] + *n as usize;
    }
    let last = values.len() - 1;
    let mut ranks = Vec::new();
    for p in percent {
        let r = p / 100.0 * last as f64;
        ranks.push((r.floor() as usize, (r.floor() as usize + 1).min(last), r.fract()));
    }
    let mut wanted: Vec<usize> = ranks.iter().flat_map(|r| [r.0, r.1]).map(|r| before.partition_point(|b| *b <= r) - 1).collect();
    wanted.sort_unstable();
    wanted.dedup();
    let mut flags = vec![false; BINS];
    wanted.iter().for_each(|b| flags[*b] = true);
    let mut held: Vec<f64> = values.iter().copied().filter(|v| flags[bin(*v).min(BINS - 1)]).collect();
    held.sort_by(f64::total_cmp);
    let at = |rank: usize| {
        let b = before.partition_point(|x| *x <= rank) - 1;
        // position of the rank among the values held: those of wanted bins below, and its place in its own
        let below: usize = wanted.iter().filter(|w| **w < b).map(|w| counts[*w] as usize).sum();
        held[below + rank - before[b]]
    };
    ranks.iter().map(|&(a, b, f)| at(a) * (1.0 - f) + at(b) * f).collect()
}
