//! A reading carried from the climate it was made in to a reference climate.

use serde::{Deserialize, Serialize};

use super::budget::{Budget, BudgetLine, Evaluation};
use crate::error::{Result, not_negative, number, positive, within};
use crate::wood::{
    EMC_TEMPERATURE_RANGE_C, MOISTURE_RANGE_PERCENT, Quantity, Wood, density_from_specific_gravity, emc_percent,
    modulus_temperature_factor,
};

/// The state a piece of wood is in.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Climate {
    /// Moisture content, percent, 0 to 30.
    pub mc_percent: f64,
    /// Its standard uncertainty, percent of moisture.
    pub u_mc_percent: f64,
    /// Temperature, degrees C, -50 to 50.
    pub temperature_c: f64,
    /// Its standard uncertainty, degrees.
    pub u_temperature_c: f64,
}

impl Climate {
    /// A state whose moisture content is known (a meter, or weighed dry).
    pub fn new(mc_percent: f64, u_mc_percent: f64, temperature_c: f64, u_temperature_c: f64) -> Result<Self> {
        let (low, high) = MOISTURE_RANGE_PERCENT;
        within("mc_percent", mc_percent, "% MC", low, high)?;
        within("u_mc_percent", u_mc_percent, "% MC", 0.0, high)?;
        within("temperature_c", temperature_c, "deg C", -50.0, 50.0)?;
        within("u_temperature_c", u_temperature_c, "deg C", 0.0, 50.0)?;
        Ok(Self { mc_percent, u_mc_percent, temperature_c, u_temperature_c })
    }

    /// Wood settled in air: Wood Handbook Eq. 4-5, with the uncertainties of the air and `u_settled_percent` for how far real
    /// wood lies from the equation (0.6 % MC is a fair guess: it is said to lie within about 1 %).
    pub fn of_air(temperature_c: f64, u_temperature_c: f64, rh_percent: f64, u_rh_percent: f64, u_settled: f64) -> Result<Self> {
        within("u_temperature_c", u_temperature_c, "deg C", 0.0, 50.0)?;
        within("u_rh_percent", u_rh_percent, "% RH", 0.0, 50.0)?;
        within("u_settled_percent", u_settled, "% MC", 0.0, 10.0)?;
        let top = EMC_TEMPERATURE_RANGE_C.0;
        let t = within("temperature_c", temperature_c, "deg C", top, 50.0)?;
        let mc = emc_percent(t, rh_percent)?;
        let (h0, h1) = ((rh_percent - 1.0).max(0.0), (rh_percent + 1.0).min(100.0));
        let by_rh = (emc_percent(t, h1)? - emc_percent(t, h0)?) / (h1 - h0);
        let (t0, t1) = ((t - 0.5).max(top), (t + 0.5).min(50.0));
        let by_t = (emc_percent(t1, rh_percent)? - emc_percent(t0, rh_percent)?) / (t1 - t0);
        let u = (by_rh * u_rh_percent).hypot(by_t * u_temperature_c).hypot(u_settled);
        Self::new(mc.min(MOISTURE_RANGE_PERCENT.1), u.min(MOISTURE_RANGE_PERCENT.1), t, u_temperature_c)
    }
}

/// What was measured.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub enum Measured {
    /// Young's modulus along the grain.
    ModulusAlong,
    /// Young's modulus across the grain; no temperature step is known for it over the whole range, so none is made.
    ModulusAcross,
    /// A shear modulus; no temperature step.
    ShearModulus,
    /// Density, mass and volume at the same moisture.
    Density,
    /// A dimension across the grain, at an angle from the radial direction in degrees (0 radial, 90 tangential).
    Size {
        /// The angle.
        ring_angle_deg: f64,
    },
    /// A deflection under a given load and span: modulus, width and the cube of the height all move. The angle is that of
    /// the height from the radial direction (90 when the rings stand upright).
    Deflection {
        /// The angle.
        ring_angle_deg: f64,
    },
}

/// How a correction is made.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CorrectionOptions {
    /// Relative standard uncertainty of the wood's own coefficients (moisture slope, movement, temperature), 0 to 1. 0.25 is
    /// an estimate of how sticks differ from the book; no source read.
    pub u_coefficients: f64,
    /// Coverage of the interval.
    pub coverage: f64,
    /// Unit, for the words.
    pub unit: String,
}

impl Default for CorrectionOptions {
    fn default() -> Self {
        Self { u_coefficients: 0.25, coverage: 0.95, unit: String::new() }
    }
}

/// A reading at the reference climate.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Corrected {
    /// Value at the reference, and its budget.
    pub budget: Budget,
    /// What the reading was multiplied by.
    pub factor: f64,
    /// What was read.
    pub read: f64,
    /// The step, in words.
    pub words: String,
}

/// The factors of one step, each raised to how much stronger (1 is the book) its coefficient may be.
struct Step<'a> {
    wood: &'a Wood,
    what: Measured,
    to_mc: f64,
    to_t: f64,
    value: f64,
}

impl Step<'_> {
    fn slope(&self, q: Quantity, mc: f64) -> Result<f64> {
        let mp = self.wood.value(Quantity::IntersectionMoisture).unwrap_or(25.0);
        Ok(-self.wood.needed(q)? / 100.0 * (self.to_mc.min(mp) - mc.min(mp)))
    }

    fn movement(&self, angle_deg: f64, mc: f64) -> Result<f64> {
        self.wood.size_change_mm(1.0, mc, self.to_mc, angle_deg)
    }

    /// Factor from (mc, t) to the reference, moisture coefficients times `km`, the temperature's times `kt`.
    fn factor(&self, mc: f64, t: f64, km: f64, kt: f64) -> Result<f64> {
        let along = || -> Result<f64> {
            let warm = modulus_temperature_factor(self.to_t, self.to_mc)? / modulus_temperature_factor(t, mc)?;
            Ok((km * self.slope(Quantity::ModulusLSlope, mc)?).exp() * warm.powf(kt))
        };
        Ok(match self.what {
            Measured::ModulusAlong => along()?,
            Measured::ModulusAcross => (km * self.slope(Quantity::TransverseSlope, mc)?).exp(),
            Measured::ShearModulus => (km * self.slope(Quantity::ShearModulusSlope, mc)?).exp(),
            Measured::Density => {
                // Eq. 4-13 and 4-14: basic specific gravity of this stick, then density at the reference
                let swelling = |x: f64| 0.265 * km * (1.0 - x.min(30.0) / 30.0);
                let g = self.value / (1000.0 * (1.0 + mc / 100.0));
                let basic = g / (1.0 + swelling(mc) * g);
                let there = basic / (1.0 - swelling(self.to_mc) * basic);
                density_from_specific_gravity(there, self.to_mc)? / self.value
            }
            Measured::Size { ring_angle_deg } => 1.0 + km * self.movement(ring_angle_deg, mc)?,
            Measured::Deflection { ring_angle_deg } => {
                let height = 1.0 + km * self.movement(ring_angle_deg, mc)?;
                let width = 1.0 + km * self.movement(90.0 - ring_angle_deg, mc)?;
                1.0 / (along()? * width * height.powi(3))
            }
        })
    }
}

/// Slope of `f` at `x` by central differences inside the range where it can be had.
fn by(f: impl Fn(f64) -> Result<f64>, x: f64, step: f64, low: f64, high: f64) -> Result<f64> {
    let (a, b) = ((x - step).max(low), (x + step).min(high));
    Ok((f(b)? - f(a)?) / (b - a))
}

/// `value` with standard uncertainty `u`, read on `wood` in the state `from`, at `to_mc_percent` and `to_temperature_c`.
///
/// Moduli follow Eq. 5-3 with the wood's slopes and M_p, the one along the grain Table 5-15 for the temperature; density
/// Eq. 4-13 and 4-14 from the stick's own specific gravity; sizes the wood's movement per percent. The budget holds the
/// reading, moisture, temperature and coefficients.
pub fn to_reference(
    wood: &Wood,
    what: Measured,
    value: f64,
    u: f64,
    from: &Climate,
    to_mc_percent: f64,
    to_temperature_c: f64,
    options: &CorrectionOptions,
) -> Result<Corrected> {
    positive("value", value, "")?;
    not_negative("u", u, "")?;
    let (dry, wet) = MOISTURE_RANGE_PERCENT;
    within("to_mc_percent", to_mc_percent, "% MC", dry, wet)?;
    within("to_temperature_c", to_temperature_c, "deg C", -50.0, 50.0)?;
    within("u_coefficients", options.u_coefficients, "", 0.0, 1.0)?;
    if let Measured::Size { ring_angle_deg } | Measured::Deflection { ring_angle_deg } = what {
        within("ring_angle_deg", ring_angle_deg, "deg", 0.0, 90.0)?;
    }
    if what == Measured::Density {
        within("value", value, "kg/m3", 50.0, 1600.0)?;
    }
    let from = Climate::new(from.mc_percent, from.u_mc_percent, from.temperature_c, from.u_temperature_c)?;
    let step = Step { wood, what, to_mc: to_mc_percent, to_t: to_temperature_c, value };
    let (mc, t) = (from.mc_percent, from.temperature_c);
    let factor = step.factor(mc, t, 1.0, 1.0)?;
    // the density's factor holds the density itself
    let by_value = by(
        |v| Ok(v * Step { value: v, ..step_of(&step) }.factor(mc, t, 1.0, 1.0)?),
        value,
        1e-4 * value,
        0.5 * value,
        2.0 * value,
    )?;
    let by_mc = by(|x| step.factor(x, t, 1.0, 1.0), mc, 0.05, dry, wet)?;
    let by_t = by(|x| step.factor(mc, x, 1.0, 1.0), t, 0.05, -50.0, 50.0)?;
    let by_km = by(|k| step.factor(mc, t, k, 1.0), 1.0, 0.01, 0.0, 2.0)?;
    let by_kt = by(|k| step.factor(mc, t, 1.0, k), 1.0, 0.01, 0.0, 2.0)?;
    let b = |source: &str, at: f64, u: f64, sensitivity: f64| BudgetLine::new(source, at, u, sensitivity, None, Evaluation::B);
    let lines = vec![
        b("reading", value, u, by_value)?,
        b("moisture content of the wood, % MC", mc, from.u_mc_percent, value * by_mc)?,
        b("temperature of the wood, deg C", t, from.u_temperature_c, value * by_t)?,
        b("moisture coefficient of the wood, relative", 1.0, options.u_coefficients, value * by_km)?,
        b("temperature coefficient of the wood, relative", 1.0, options.u_coefficients, value * by_kt)?,
    ];
    let lines = lines.into_iter().filter(|l| l.contribution > 0.0).collect();
    let budget = Budget::new(value * factor, &options.unit, lines, options.coverage)?;
    let words = format!(
        "{} read at {:.1} % MC and {:.1} deg C is {} at {} % MC and {} deg C: {:+.2} %",
        number(value),
        mc,
        t,
        budget.sentence(),
        number(to_mc_percent),
        number(to_temperature_c),
        100.0 * (factor - 1.0)
    );
    Ok(Corrected { budget, factor, read: value, words })
}

fn step_of<'a>(s: &Step<'a>) -> Step<'a> {
    Step { wood: s.wood, what: s.what, to_mc: s.to_mc, to_t: s.to_t, value: s.value }
}
