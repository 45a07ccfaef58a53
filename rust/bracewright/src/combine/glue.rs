//! How long the water of a glue-up disturbs readings.

use std::f64::consts::PI;

use serde::{Deserialize, Serialize};

use crate::error::{Error, Result, number, positive, within};

/// Diffusion of moisture across the grain of softwood at 20 deg C and 6 to 14 % MC, mm2 a day, where the user gives none:
/// 2e-10 m2/s. Recalled (figures from 1e-10 to 4e-10 are in use); no source read.
const USUAL_DIFFUSION: f64 = 17.3;
/// And what may be wrong with it, either way.
const USUAL_SPREAD: f64 = 2.0;

/// A glue-up.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct GlueUp {
    /// Glue that stayed in the joint, g.
    pub glue_g: f64,
    /// Water in it, percent of its mass, 0 to 100.
    pub water_percent: f64,
    /// Glued area, mm2.
    pub area_mm2: f64,
    /// Thickness of the wood on one side of the joint, mm.
    pub first_mm: f64,
    /// Thickness on the other side, mm.
    pub second_mm: f64,
    /// Density of the wood, kg/m3.
    pub density_kg_m3: f64,
    /// Moisture content it started from, percent.
    pub mc_percent: f64,
    /// Diffusion across the grain, mm2 a day (1e-10 m2/s is 8.64); `None` for the usual figure with a factor of 2 either way.
    pub diffusion_mm2_per_day: Option<f64>,
    /// Change of the reading, percent per percent of moisture; about 1.6 for a modulus along the grain of spruce.
    pub slope_percent: f64,
    /// Disturbance that may be left, percent of the reading.
    pub allowed_percent: f64,
}

/// What its water does.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct GlueWater {
    /// Water brought in, g.
    pub water_g: f64,
    /// Rise of the mean moisture content of the wood at the joint, percent.
    pub rise_percent_mc: f64,
    /// Disturbance of the reading at once, percent: the rise times the slope.
    pub disturbance_percent: f64,
    /// Time constant of the slowest part, L^2 / (pi^2 D), days.
    pub time_constant_days: f64,
    /// Days until the disturbance is below what is allowed; 0 when it never is above.
    pub days_until: f64,
    /// The same with the diffusion wrong by its factor either way; twice the same where the user gave it.
    pub days_until_range: (f64, f64),
    /// Place of the joint as a share of the thickness.
    pub place: f64,
    /// What should be known, as sentences.
    pub words: Vec<String>,
}

/// Share of water, brought in at `place` of the thickness, that is still in it after `over_tau` time constants; both faces
/// give it off freely: (4 / pi) sum over odd n of sin(n pi place) / n x exp(-n^2 t / tau).
fn left(place: f64, over_tau: f64) -> f64 {
    if over_tau <= 0.0 {
        return 1.0;
    }
    let mut sum = 0.0;
    let mut n = 1.0_f64;
    while n * n * over_tau < 40.0 && n < 2e4 {
        sum += (n * PI * place).sin() / n * (-n * n * over_tau).exp();
        n += 2.0;
    }
    (4.0 / PI * sum).clamp(0.0, 1.0)
}

impl GlueWater {
    /// Share of the water still in the wood after so many days (0 or more): Fick's law across the thickness, both faces
    /// open to the shop's air, all water in the joint at first.
    pub fn left_after(&self, days: f64) -> Result<f64> {
        let days = within("days", days, "days", 0.0, 1e6)?;
        Ok(left(self.place, days / self.time_constant_days))
    }
}

impl GlueUp {
    /// What the water does, and until when.
    pub fn water(&self) -> Result<GlueWater> {
        within("glue_g", self.glue_g, "g", 1e-6, 1e5)?;
        within("water_percent", self.water_percent, "%", 0.0, 100.0)?;
        within("area_mm2", self.area_mm2, "mm2", 1.0, 1e7)?;
        within("first_mm", self.first_mm, "mm", 0.1, 500.0)?;
        within("second_mm", self.second_mm, "mm", 0.1, 500.0)?;
        within("density_kg_m3", self.density_kg_m3, "kg/m3", 50.0, 1600.0)?;
        within("mc_percent", self.mc_percent, "% MC", 0.0, 30.0)?;
        within("slope_percent", self.slope_percent, "% per % MC", 0.0, 20.0)?;
        positive("allowed_percent", self.allowed_percent, "%")?;
        if let Some(d) = self.diffusion_mm2_per_day {
            within("diffusion_mm2_per_day", d, "mm2/day", 1e-3, 1e5)?;
        }
        let thick = self.first_mm + self.second_mm;
        let dry_g = self.density_kg_m3 * 1e-6 * self.area_mm2 * thick / (1.0 + self.mc_percent / 100.0);
        let water_g = self.glue_g * self.water_percent / 100.0;
        let rise = 100.0 * water_g / dry_g;
        if rise > 200.0 {
            return Err(Error::Refused(format!(
                "{} g of water in {} g of dry wood would raise it by {} % MC, more than wood can hold; check glue_g and area_mm2",
                number(water_g),
                number(dry_g),
                number(rise)
            )));
        }
        let disturbance = rise * self.slope_percent;
        let (d, spread) = self.diffusion_mm2_per_day.map_or((USUAL_DIFFUSION, USUAL_SPREAD), |d| (d, 1.0));
        let tau = thick * thick / (PI * PI * d);
        let place = self.first_mm / thick;
        let taus = wait(place, self.allowed_percent / disturbance.max(f64::MIN_POSITIVE));
        let mut words = vec![format!(
            "{} g of water raise the wood at the joint by {:.2} % MC and a reading by {:.2} %; after {:.1} days less than {} % is left",
            number(water_g),
            rise,
            disturbance,
            taus * tau,
            number(self.allowed_percent)
        )];
        if self.diffusion_mm2_per_day.is_none() {
            words.push(format!(
                "diffusion across the grain taken as {USUAL_DIFFUSION} mm2/day within a factor of {USUAL_SPREAD}: recalled, no source \
                 read; weigh a glued offcut over days for your own"
            ));
        }
        if self.mc_percent + rise > 25.0 {
            words.push(
                "near the joint the wood is wetter than the law of diffusion holds for; the first days are not to be trusted"
                    .into(),
            );
        }
        Ok(GlueWater {
            water_g,
            rise_percent_mc: rise,
            disturbance_percent: disturbance,
            time_constant_days: tau,
            days_until: taus * tau,
            days_until_range: (taus * tau / spread, taus * tau * spread),
            place,
            words,
        })
    }
}

/// Time constants until no more than `share` of the water is left.
fn wait(place: f64, share: f64) -> f64 {
    if share >= 1.0 {
        return 0.0;
    }
    let (mut low, mut high) = (0.0, 1.0);
    while left(place, high) > share && high < 1e4 {
        high *= 2.0;
    }
    for _ in 0..80 {
        let mid = 0.5 * (low + high);
        if left(place, mid) > share { low = mid } else { high = mid }
    }
    high
}
