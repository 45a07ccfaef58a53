//! A gate for gluing: what the customer's climate will do to a top glued in today's air.

use serde::{Deserialize, Serialize};

use super::strip::{ArchChange, ArchStrip};
use crate::cautions::{Hazard, cautions};
use crate::error::{Error, Result, within};
use crate::wood::{CHANGE_ALONG_PER_PERCENT_MC, Quantity, Wood, emc_percent};

/// Tension across the grain of a top that is held by its braces and dries, MPa: E_R (C_R - C_L) times the fall in moisture; 0
/// where it gets damper. Elastic and all at once: slow drying lets some of it relax (unquantified).
pub fn crack_stress_mpa(top: &Wood, from_mc_percent: f64, to_mc_percent: f64) -> Result<f64> {
    let from = within("from_mc_percent", from_mc_percent, "% MC", 0.0, 30.0)?;
    let to = within("to_mc_percent", to_mc_percent, "% MC", 0.0, 30.0)?;
    let movement = top.needed(Quantity::ChangeRadial)? - CHANGE_ALONG_PER_PERCENT_MC;
    Ok(1e3 * top.modulus_r_gpa() * movement * (from - to).max(0.0))
}

/// Strength across the grain: one's own, or the wood's.
pub(super) fn strength_across(top: &Wood, own_mpa: Option<f64>) -> Result<f64> {
    match own_mpa {
        Some(s) => within("tension_perpendicular_mpa", s, "MPa", 0.1, 50.0),
        None => top.tension_perpendicular_mpa().ok_or_else(|| {
            Error::Refused(format!(
                "{} has no figure for tension across the grain; give tension_perpendicular_mpa (2 to 3 MPa for spruce, from memory)",
                top.name()
            ))
        }),
    }
}

/// Today's air and the air the instrument will live in.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct GlueRoom {
    /// Relative humidity in the shop, percent.
    pub rh_percent: f64,
    /// Temperature in the shop, deg C.
    pub temperature_c: f64,
    /// Driest air in service, percent.
    pub driest_rh_percent: f64,
    /// Dampest air in service, percent.
    pub dampest_rh_percent: f64,
    /// Temperature in service, deg C.
    pub service_temperature_c: f64,
}

/// Limits of the maker's own.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct GlueLimits {
    /// Arch built in, mm over the length of the strip.
    pub built_arch_mm: f64,
    /// Least arch that must be left in the driest air, mm.
    pub least_arch_mm: f64,
    /// Most rise allowed in the dampest air, mm; `None` for no limit.
    pub most_rise_mm: Option<f64>,
    /// Most crack index allowed in the driest air.
    pub most_crack_index: f64,
    /// Strength across the grain, MPa; `None` for the wood's own figure.
    pub tension_perpendicular_mpa: Option<f64>,
}

/// Whether to glue today.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct GluingGate {
    /// Whether all limits hold.
    pub glue: bool,
    /// Moisture content at gluing, percent, wood at rest with the shop.
    pub mc_percent: f64,
    /// What the driest air does.
    pub dry: ArchChange,
    /// What the dampest air does.
    pub damp: ArchChange,
    /// Arch left in the driest air, mm.
    pub arch_dry_mm: f64,
    /// Arch in the dampest air, mm.
    pub arch_damp_mm: f64,
    /// Tension across the grain over its strength in the driest air, the top held.
    pub crack_index: f64,
    /// Dampest shop air in which all limits that dry air strains would hold, percent; `None` where none would.
    pub highest_rh_percent: Option<f64>,
    /// Driest shop air in which the limit on the rise would hold, percent; `None` without that limit.
    pub lowest_rh_percent: Option<f64>,
    /// The reasons, as sentences; the first is the answer.
    pub words: Vec<String>,
}

/// What the customer's climate will do to a top glued in today's air, and whether that keeps your limits.
pub fn glue_gate(strip: &ArchStrip, top: &Wood, room: &GlueRoom, limits: &GlueLimits) -> Result<GluingGate> {
    let shop_rh = within("rh_percent", room.rh_percent, "% RH", 5.0, 95.0)?;
    let shop_c = within("temperature_c", room.temperature_c, "deg C", 0.0, 50.0)?;
    let dampest = within("dampest_rh_percent", room.dampest_rh_percent, "% RH", 5.0, 95.0)?;
    let driest = within("driest_rh_percent", room.driest_rh_percent, "% RH", 5.0, dampest)?;
    let service_c = within("service_temperature_c", room.service_temperature_c, "deg C", 0.0, 50.0)?;
    let built = within("built_arch_mm", limits.built_arch_mm, "mm", 0.0, 30.0)?;
    let least = within("least_arch_mm", limits.least_arch_mm, "mm", -30.0, 30.0)?;
    let most_rise = limits.most_rise_mm.map(|r| within("most_rise_mm", r, "mm", 0.0, 30.0)).transpose()?;
    let most_crack = within("most_crack_index", limits.most_crack_index, "", 0.0, 20.0)?;
    let strength = strength_across(top, limits.tension_perpendicular_mpa)?;

    let (mc, dry_mc, damp_mc) =
        (emc_percent(shop_c, shop_rh)?, emc_percent(service_c, driest)?, emc_percent(service_c, dampest)?);
    let (dry, damp) = (strip.change(mc, dry_mc)?, strip.change(mc, damp_mc)?);
    let crack = crack_stress_mpa(top, mc, dry_mc)? / strength;
    let (arch_dry, arch_damp) = (built + dry.restrained_mm, built + damp.restrained_mm);

    // both limits that dry air strains are straight lines in the moisture content at gluing
    let dry_holds = |rh: f64| -> Result<bool> {
        let m = emc_percent(shop_c, rh)?;
        Ok(built + strip.change(m, dry_mc)?.restrained_mm >= least && crack_stress_mpa(top, m, dry_mc)? / strength <= most_crack)
    };
    let highest = highest_that(5.0, 95.0, dry_holds)?;
    let lowest = match most_rise {
        Some(most) => {
            let holds =
                |rh: f64| -> Result<bool> { Ok(strip.change(emc_percent(shop_c, 100.0 - rh)?, damp_mc)?.restrained_mm <= most) };
            highest_that(5.0, 95.0, holds)?.map(|rh| 100.0 - rh)
        }
        None => None,
    };

    let mut reasons = Vec::new();
    if arch_dry < least {
        reasons.push(format!("in the driest air the arch is {arch_dry:.2} mm, less than the {least:.2} mm it must keep"));
    }
    if crack > most_crack {
        reasons.push(format!("in the driest air the crack index is {crack:.2}, over {most_crack:.2}"));
    }
    if let Some(most) = most_rise.filter(|m| damp.restrained_mm > *m) {
        reasons.push(format!("in the dampest air the top rises by {:.2} mm, over {most:.2} mm", damp.restrained_mm));
    }
    let glue = reasons.is_empty();
    let mut words = vec![format!(
        "{}: glued at {shop_rh:.0} % RH and {shop_c:.0} deg C ({mc:.1} % MC), the arch of {built:.2} mm goes to {arch_dry:.2} at {driest:.0} % RH \
         and {arch_damp:.2} at {dampest:.0} % RH; crack index {crack:.2}",
        if glue { "glue" } else { "do not glue today" }
    )];
    words.append(&mut reasons);
    match highest {
        Some(rh) if !glue && rh < shop_rh => words.push(format!("glue at {rh:.0} % RH or less, the wood at rest with that air")),
        None => words
            .push("no air dry enough to glue in keeps these limits: build in more arch, or change the customer's climate".into()),
        _ => {}
    }
    words.push(
        "wood at rest with the shop's air is taken for granted: a stack fresh from a damper room is damper; the crack index takes the top as \
         held and the drying as sudden"
            .into(),
    );
    Ok(GluingGate {
        glue,
        mc_percent: mc,
        dry,
        damp,
        arch_dry_mm: arch_dry,
        arch_damp_mm: arch_damp,
        crack_index: crack,
        highest_rh_percent: highest,
        lowest_rh_percent: lowest,
        words,
    })
}

/// The largest value between that holds, for what holds below and not above; `None` where it holds nowhere.
fn highest_that(low: f64, high: f64, holds: impl Fn(f64) -> Result<bool>) -> Result<Option<f64>> {
    if !holds(low)? {
        return Ok(None);
    }
    if holds(high)? {
        return Ok(Some(high));
    }
    let (mut low, mut high) = (low, high);
    for _ in 0..60 {
        let mid = 0.5 * (low + high);
        if holds(mid)? { low = mid } else { high = mid }
    }
    Ok(Some(low))
}

impl GluingGate {
    /// What to mind.
    pub fn cautions(&self) -> Vec<String> {
        let mut hazards = vec![Hazard::Glue];
        if self.dry.to_mc_percent < self.mc_percent {
            hazards.push(Hazard::DryClimate);
        }
        if self.damp.to_mc_percent > self.mc_percent {
            hazards.push(Hazard::DampClimate);
        }
        hazards.push(Hazard::Estimate);
        cautions(&hazards)
    }
}
