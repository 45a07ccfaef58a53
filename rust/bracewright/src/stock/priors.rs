//! What the sticks of a lot, or of a species, say of the next one: how they lie about their middle once the uncertainty of the
//! readings is taken out.

use serde::{Deserialize, Serialize};

use super::{StockBlank, check_all};
use crate::belief::Unknown;
use crate::error::{Error, Result};
use crate::normal;
use crate::tap::DynamicOverStatic;
use crate::wood::{Figure, Quantity, Standing, Wood};

/// Which blanks are put together.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum PriorsOf {
    /// All of them.
    All,
    /// Those of each lot.
    Lot,
    /// Those of each species, whatever their lot: lots are not told apart.
    Species,
}

/// One quantity of a lot.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct StockPrior {
    /// What it is, with its unit: `modulus_gpa`, `density_kg_m3` or `loss_factor`.
    pub quantity: String,
    /// Sticks read.
    pub count: usize,
    /// Middle (geometric mean, each stick by its weight), in the unit of the quantity.
    pub median: f64,
    /// Its standard uncertainty, in the same unit.
    pub u_median: f64,
    /// Standard deviation of the logarithm from stick to stick, the readings' uncertainty taken out; 0 when the readings alone
    /// explain the scatter, `None` with one stick.
    pub spread: Option<f64>,
    /// 90 % interval of that.
    pub spread_90: Option<(f64, f64)>,
    /// Standard deviation of the logarithms as they were read.
    pub seen_spread: Option<f64>,
    /// Relative standard uncertainty of one reading (root mean square).
    pub u_reading: f64,
}

/// What a lot, or a species, says of its wood.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct StockPriors {
    /// The lot or the species; "all" for all.
    pub of: String,
    /// E along the grain, GPa, as it was read: dynamic when it was tapped.
    pub modulus_gpa: StockPrior,
    /// Density, kg/m3.
    pub density_kg_m3: StockPrior,
    /// Loss factor, of the sticks where it was read.
    pub loss_factor: Option<StockPrior>,
    /// The same in words.
    pub words: Vec<String>,
}

/// Fewest sticks whose spread serves for the next one.
const FEWEST: usize = 4;

/// Middle and spread of every group, in the order of first appearance.
///
/// One-way random effects on the logarithms: each stick is its lot's middle, and a deviation of its own with the spread tau, read
/// with its stated uncertainty u_i. tau is Paule and Mandel's (J. Res. NBS 87 (1982) 377, from memory): the one that makes
/// sum (y_i - mean)^2 / (tau^2 + u_i^2) equal to n - 1, the mean weighted alike; with equal u_i it is the analysis of variance,
/// tau^2 = s^2 - u^2. Its interval puts the 5 % and 95 % points of chi squared in place of n - 1 (Viechtbauer, Statistics in
/// Medicine 26 (2007) 37, from memory). What all readings share (an assumed ratio of G to E) is in neither: it moves the middle.
pub fn stock_priors(blanks: &[StockBlank], of: PriorsOf) -> Result<Vec<StockPriors>> {
    check_all(blanks)?;
    let key = |b: &StockBlank| match of {
        PriorsOf::All => "all".to_string(),
        PriorsOf::Lot => b.lot.trim().to_string(),
        PriorsOf::Species => b.species.trim().to_string(),
    };
    let mut groups: Vec<(String, Vec<&StockBlank>)> = Vec::new();
    let mut place = std::collections::HashMap::new();
    for b in blanks {
        let key = key(b);
        let at = *place.entry(key.clone()).or_insert_with(|| {
            groups.push((key, Vec::new()));
            groups.len() - 1
        });
        groups[at].1.push(b);
    }
    Ok(groups.into_iter().map(|(name, all)| priors(if name.is_empty() { "not said".into() } else { name }, &all)).collect())
}

fn priors(of: String, all: &[&StockBlank]) -> StockPriors {
    let column = |quantity: &str, read: &dyn Fn(&StockBlank) -> Option<(f64, f64)>| {
        let read: Vec<(f64, f64)> = all.iter().filter_map(|b| read(b)).map(|(v, u)| (v.ln(), u / v)).collect();
        (!read.is_empty()).then(|| prior(quantity, &read))
    };
    let modulus = prior("modulus_gpa", &all.iter().map(|b| (b.modulus_gpa.ln(), b.u_gpa / b.modulus_gpa)).collect::<Vec<_>>());
    let density = prior(
        "density_kg_m3",
        &all.iter().map(|b| (b.density_kg_m3.ln(), b.u_density_kg_m3 / b.density_kg_m3)).collect::<Vec<_>>(),
    );
    let loss = column("loss_factor", &|b| b.loss_factor.map(|l| (l, b.u_loss_factor)));
    let mut words = Vec::new();
    for (p, name, unit, digits) in
        [(Some(&modulus), "E", " GPa", 2), (Some(&density), "density", " kg/m3", 0), (loss.as_ref(), "loss factor", "", 4)]
    {
        words.extend(p.map(|p| p.words(name, unit, digits)));
    }
    StockPriors { of, modulus_gpa: modulus, density_kg_m3: density, loss_factor: loss, words }
}

/// Weighted mean, its variance, and sum (y - mean)^2 / (tau^2 + u^2).
fn pooled(read: &[(f64, f64)], tau2: f64) -> (f64, f64, f64) {
    // a reading of no uncertainty in a lot of no spread would weigh without end
    let w = |u: f64| 1.0 / (tau2 + u * u).max(1e-24);
    let total: f64 = read.iter().map(|r| w(r.1)).sum();
    let mean = read.iter().map(|r| w(r.1) * r.0).sum::<f64>() / total;
    (mean, 1.0 / total, read.iter().map(|r| w(r.1) * (r.0 - mean) * (r.0 - mean)).sum())
}

/// tau^2 where the weighted sum of squares is `aim`; 0 when it is below that from the start. The sum falls as tau grows.
fn tau_squared(read: &[(f64, f64)], aim: f64) -> f64 {
    let left = |t: f64| pooled(read, t).2 - aim;
    if left(0.0) <= 0.0 {
        return 0.0;
    }
    let sum = pooled(read, 1.0).2;
    let (mut low, mut high) = (0.0, (sum / aim).max(1e-12));
    while left(high) > 0.0 {
        high *= 4.0;
    }
    for _ in 0..200 {
        let mid = 0.5 * (low + high);
        if left(mid) > 0.0 { low = mid } else { high = mid }
    }
    0.5 * (low + high)
}

/// A point of chi squared by Wilson and Hilferty's cube (within 1 % from 3 degrees of freedom on).
fn chi_squared(free: f64, z: f64) -> f64 {
    let c = 2.0 / (9.0 * free);
    free * (1.0 - c + z * c.sqrt()).max(0.0).powi(3)
}

fn prior(quantity: &str, read: &[(f64, f64)]) -> StockPrior {
    let n = read.len();
    let free = n as f64 - 1.0;
    let tau2 = if n > 1 { tau_squared(read, free) } else { 0.0 };
    let (mean, variance, _) = pooled(read, tau2);
    let plain = read.iter().map(|r| r.0).sum::<f64>() / n as f64;
    let seen = read.iter().map(|r| (r.0 - plain) * (r.0 - plain)).sum::<f64>();
    let z = normal::quantile_unchecked(0.95);
    StockPrior {
        quantity: quantity.into(),
        count: n,
        median: mean.exp(),
        u_median: mean.exp() * variance.sqrt(),
        spread: (n > 1).then(|| tau2.sqrt()),
        spread_90: (n > 1).then(|| {
            let at = |z: f64| tau_squared(read, chi_squared(free, z).max(1e-9)).sqrt();
            (at(z), at(-z))
        }),
        seen_spread: (n > 1).then(|| (seen / free).sqrt()),
        u_reading: (read.iter().map(|r| r.1 * r.1).sum::<f64>() / n as f64).sqrt(),
    }
}

impl StockPrior {
    /// What is believed of the next stick of the lot: log-normal about the middle, with the spread from stick to stick, the
    /// uncertainty of the middle, and for few sticks the wider tail of Student's law ((n - 1)/(n - 3) of the variance). Refused
    /// with fewer than 4 sticks: their spread says too little, and the species' own figure is the better prior.
    pub fn next_stick(&self) -> Result<Unknown> {
        let Some(spread) = self.spread.filter(|_| self.count >= FEWEST) else {
            return Err(Error::NotIdentifiable {
                unknown: format!("spread of {}", self.quantity),
                reason: format!("{} sticks say too little of it; read {FEWEST} or more, or take the species' own", self.count),
            });
        };
        let n = self.count as f64;
        let u = self.u_median / self.median;
        let sd_ln = ((spread * spread + u * u) * (n - 1.0) / (n - 3.0)).sqrt();
        Unknown::LogNormal { median: self.median, sd_ln }.checked()
    }

    fn words(&self, name: &str, unit: &str, digits: usize) -> String {
        let middle = format!(
            "{name} {:.digits$}{unit} (standard uncertainty {:.*}) from {} stick{}",
            self.median,
            digits + 1,
            self.u_median,
            self.count,
            if self.count == 1 { "" } else { "s" }
        );
        let percent = |v: f64| format!("{:.1} %", 100.0 * v);
        match (self.spread, self.spread_90) {
            (Some(s), Some((low, high))) if s > 0.0 => format!(
                "{middle}; from stick to stick {} (90 %: {} to {}), the {} of a reading taken out",
                percent(s),
                percent(low),
                percent(high),
                percent(self.u_reading)
            ),
            (Some(_), Some((_, high))) => {
                format!(
                    "{middle}; they differ by no more than their readings may, {} each (90 %: under {})",
                    percent(self.u_reading),
                    percent(high)
                )
            }
            _ => format!("{middle}; one stick says nothing of the spread"),
        }
    }
}

impl StockPriors {
    /// A wood with the lot's density and modulus, and what they spread, for the figures of `wood`: the prior of a blank of the lot
    /// that has not been read. `factor` turns a tapped modulus into the static one a dial would read. The figures hold at the
    /// moisture the sticks were read at.
    pub fn wood(&self, wood: &Wood, factor: Option<&DynamicOverStatic>) -> Result<Wood> {
        let own = |q, p: &StockPrior, ratio: f64, u: f64| -> Result<Figure> {
            let Unknown::LogNormal { median, sd_ln } = p.next_stick()? else {
                return Err(Error::Refused("the prior of a lot is log-normal".into()));
            };
            let mut f = Figure::new(q, median / ratio, Standing::Own, format!("{} sticks of lot {}", p.count, self.of));
            f.spread = Some(sd_ln.hypot(u));
            Ok(f)
        };
        let (ratio, u) = factor.map_or((1.0, 0.0), |f| (f.ratio, f.u_ratio / f.ratio));
        wood.with_figure(Quantity::Density, own(Quantity::Density, &self.density_kg_m3, 1.0, 0.0)?)?
            .with_figure(Quantity::ModulusL, own(Quantity::ModulusL, &self.modulus_gpa, ratio, u)?)
    }
}
