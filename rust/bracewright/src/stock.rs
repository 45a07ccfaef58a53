//! A delivery of blanks: which to put back, which two make a pair of legs, what height makes up for a softer stick, how many to
//! buy spare, and what to expect of the next stick of the lot.

mod pairs;
mod priors;
mod read;

pub use pairs::{Pairing, StockPair, best_pairs};
pub use priors::{PriorsOf, StockPrior, StockPriors, stock_priors};
pub use read::{Delivery, SetAside, delivery_from_csv, stock_from_csv};

use serde::{Deserialize, Serialize};

use crate::blank::Blank;
use crate::error::{Error, Result, not_negative, number, positive, within};

/// A blank on the table.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct StockBlank {
    /// Its name or number; not empty.
    pub name: String,
    /// Its species; may be empty.
    pub species: String,
    /// The lot it came in; may be empty.
    pub lot: String,
    /// E along the grain, GPa.
    pub modulus_gpa: f64,
    /// Its standard uncertainty, GPa.
    pub u_gpa: f64,
    /// Density, kg/m3.
    pub density_kg_m3: f64,
    /// Its standard uncertainty, kg/m3.
    pub u_density_kg_m3: f64,
    /// Slope of the grain, rise over length; `None` when it was not looked at.
    pub run_out: Option<f64>,
    /// Angle of the rings from upright, degrees; `None` when it was not looked at.
    pub ring_angle_deg: Option<f64>,
    /// Loss factor; `None` when it was not read.
    pub loss_factor: Option<f64>,
    /// Its standard uncertainty; 0 when there is none.
    pub u_loss_factor: f64,
}

/// What is put back. A limit left out is not applied; none is built in.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
pub struct StockLimits {
    /// Steepest slope of grain kept: 1 in 15 is 1/15.
    pub run_out: Option<f64>,
    /// Largest angle of the rings from upright, degrees.
    pub ring_angle_deg: Option<f64>,
    /// Lowest density, kg/m3.
    pub lowest_density_kg_m3: Option<f64>,
    /// Highest density, kg/m3.
    pub highest_density_kg_m3: Option<f64>,
    /// Lowest modulus, GPa.
    pub lowest_modulus_gpa: Option<f64>,
    /// Largest loss factor.
    pub loss_factor: Option<f64>,
}

/// A blank and what became of it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Graded {
    /// Its name.
    pub name: String,
    /// E over density, GPa per (g/cm3): higher is lighter for its stiffness.
    pub specific_modulus: f64,
    /// Why it is put back; empty when it is kept.
    pub reasons: Vec<String>,
}

/// Stiffness of a stick on its own goes with the cube of its height.
pub const EXPONENT_ALONE: f64 = 3.0;

/// Steepest slope of grain that a limit may name: 1 in 2. What is more is an angle, or the 15 of "1 in 15".
const STEEPEST_LIMIT: f64 = 0.5;

/// Most blanks graded at once.
pub const MOST_BLANKS: usize = 10_000;

impl StockLimits {
    /// Refuses a limit that is below 0 or no number.
    pub(crate) fn check(&self) -> Result<()> {
        if let Some(r) = self.run_out.filter(|r| r.is_finite() && *r > STEEPEST_LIMIT) {
            let turned = if r > 1.0 { format!("; 1 in {0} is 1/{0}", number(r)) } else { String::new() };
            return Err(Error::OutOfRange {
                quantity: "run_out limit".into(),
                value: r,
                unit: "",
                allowed: format!("a slope, rise over length, from 0 to 1/2{turned}"),
            });
        }
        for (name, v, unit) in [
            ("run_out limit", self.run_out, ""),
            ("ring_angle_deg limit", self.ring_angle_deg, "deg"),
            ("lowest_density_kg_m3", self.lowest_density_kg_m3, "kg/m3"),
            ("highest_density_kg_m3", self.highest_density_kg_m3, "kg/m3"),
            ("lowest_modulus_gpa", self.lowest_modulus_gpa, "GPa"),
            ("loss_factor limit", self.loss_factor, ""),
        ] {
            if let Some(v) = v {
                not_negative(name, v, unit)?;
            }
        }
        Ok(())
    }
}

impl StockBlank {
    /// A blank as it is believed to be.
    pub fn of(name: &str, blank: &Blank, loss_factor: Option<f64>) -> Self {
        Self {
            name: name.into(),
            species: blank.wood().name().into(),
            lot: String::new(),
            modulus_gpa: blank.modulus_gpa(),
            u_gpa: blank.modulus_gpa() * blank.modulus_spread(),
            density_kg_m3: blank.density_kg_m3(),
            u_density_kg_m3: blank.density_kg_m3() * blank.density_spread(),
            run_out: Some(blank.run_out()),
            ring_angle_deg: Some(blank.ring_angle_deg()),
            loss_factor,
            u_loss_factor: 0.0,
        }
    }

    /// Itself, unless a figure is out of range: E 0.1 to 100 GPa, density 100 to 1400 kg/m3, run-out -1 to 1, ring angle -360 to
    /// 360 degrees, loss factor above 0, uncertainties 0 or more.
    pub fn checked(self) -> Result<Self> {
        self.check()?;
        Ok(self)
    }

    fn check(&self) -> Result<()> {
        if self.name.trim().is_empty() {
            return Err(Error::BadList { name: "name".into(), problem: "is empty; every blank needs a name".into() });
        }
        let of = |q: &str| format!("{q} of blank {:?}", self.name);
        within(&of("modulus_gpa"), self.modulus_gpa, "GPa", 0.1, 100.0)?;
        not_negative(&of("u_gpa"), self.u_gpa, "GPa")?;
        within(&of("density_kg_m3"), self.density_kg_m3, "kg/m3", 100.0, 1400.0)?;
        not_negative(&of("u_density_kg_m3"), self.u_density_kg_m3, "kg/m3")?;
        if let Some(r) = self.run_out {
            within(&of("run_out"), r, "", -1.0, 1.0)?;
        }
        if let Some(a) = self.ring_angle_deg {
            within(&of("ring_angle_deg"), a, "deg", -360.0, 360.0)?;
        }
        not_negative(&of("u_loss_factor"), self.u_loss_factor, "")?;
        if let Some(l) = self.loss_factor {
            positive(&of("loss_factor"), l, "")?;
        }
        Ok(())
    }

    /// Rings from upright, 0 to 90 degrees.
    fn off_upright_deg(&self) -> Option<f64> {
        self.ring_angle_deg.map(|a| a.rem_euclid(180.0)).map(|a| a.min(180.0 - a))
    }
}

fn check_all(blanks: &[StockBlank]) -> Result<()> {
    if blanks.is_empty() || blanks.len() > MOST_BLANKS {
        return Err(Error::BadList {
            name: "blanks".into(),
            problem: format!("has {} blanks; it takes from 1 to {MOST_BLANKS}", blanks.len()),
        });
    }
    let mut names = std::collections::BTreeSet::new();
    for b in blanks {
        b.check()?;
        if !names.insert(b.name.as_str()) {
            return Err(Error::BadList { name: "blanks".into(), problem: format!("has two blanks called {:?}", b.name) });
        }
    }
    Ok(())
}

/// Every blank with the reasons to put it back, in the order given. A blank is not judged by what was not read of it.
pub fn grade(blanks: &[StockBlank], limits: &StockLimits) -> Result<Vec<Graded>> {
    check_all(blanks)?;
    limits.check()?;
    let round = |v: f64, digits: i32| {
        let ten = 10_f64.powi(digits);
        number((v * ten).round() / ten)
    };
    let over = |what: &str, v: f64, most: Option<f64>, unit: &str, digits: i32| {
        most.filter(|m| v > *m).map(|m| format!("{what} {}{unit}, over {}{unit}", round(v, digits), round(m, digits)))
    };
    let under = |what: &str, v: f64, least: Option<f64>, unit: &str, digits: i32| {
        least.filter(|m| v < *m).map(|m| format!("{what} {}{unit}, under {}{unit}", round(v, digits), round(m, digits)))
    };
    let steeper = |v: f64, most: Option<f64>| {
        let level = |m: f64| if m > 0.0 { format!("1 in {}", round(1.0 / m, 1)) } else { "level".into() };
        most.filter(|m| v > *m).map(|m| format!("run-out {}, steeper than {}", level(v), level(m)))
    };
    Ok(blanks
        .iter()
        .map(|b| Graded {
            name: b.name.clone(),
            specific_modulus: b.modulus_gpa / (b.density_kg_m3 / 1000.0),
            reasons: [
                b.run_out.and_then(|r| steeper(r.abs(), limits.run_out)),
                b.off_upright_deg().and_then(|a| over("rings off upright by", a, limits.ring_angle_deg, " deg", 1)),
                under("density", b.density_kg_m3, limits.lowest_density_kg_m3, " kg/m3", 1),
                over("density", b.density_kg_m3, limits.highest_density_kg_m3, " kg/m3", 1),
                under("E", b.modulus_gpa, limits.lowest_modulus_gpa, " GPa", 2),
                b.loss_factor.and_then(|l| over("loss factor", l, limits.loss_factor, "", 5)),
            ]
            .into_iter()
            .flatten()
            .collect(),
        })
        .collect())
}

/// Height over the other leg's that makes up for a modulus `modulus_ratio` times the other's: ratio^(-1/exponent).
///
/// `exponent` 1 to 4: 3 for a stick alone ([`EXPONENT_ALONE`]); glued to a top it is 2 to 2.5, which the caller states.
pub fn height_ratio(modulus_ratio: f64, exponent: f64) -> Result<f64> {
    positive("modulus_ratio", modulus_ratio, "")?;
    within("exponent", exponent, "", 1.0, 4.0)?;
    Ok(modulus_ratio.powf(-1.0 / exponent))
}

/// How many blanks to buy so that `needed` good ones are among them with a chance of at least `confidence`, when each is put back
/// with the chance `reject_chance`: the smallest n with P(Binomial(n, 1 - reject) >= needed) >= confidence.
///
/// `needed` 1 to 1000, `reject_chance` 0 to 0.95, `confidence` 0.5 to 0.9999.
pub fn blanks_to_buy(needed: usize, reject_chance: f64, confidence: f64) -> Result<usize> {
    if !(1..=1000).contains(&needed) {
        return Err(Error::OutOfRange {
            quantity: "needed".into(),
            value: needed as f64,
            unit: "",
            allowed: "from 1 to 1000".into(),
        });
    }
    let q = within("reject_chance", reject_chance, "", 0.0, 0.95)?;
    within("confidence", confidence, "", 0.5, 0.9999)?;
    // negative binomial: chance that the needed-th good one is the n-th bought
    let mut n = needed;
    let mut term = needed as f64 * (1.0 - q).ln();
    let mut sum = term.exp();
    while sum < confidence {
        term += (n as f64 / (n + 1 - needed) as f64).ln() + q.ln();
        n += 1;
        sum += term.exp();
    }
    Ok(n)
}
