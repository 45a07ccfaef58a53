//! Cautions by the hazard at hand, printed with every report that leads to work that can hurt.

use crate::error::{Result, unknown_name};

/// What can hurt, in the maker or in the instrument.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Hazard {
    /// Strings under tension.
    Strings,
    /// Glue and clamps.
    Glue,
    /// Wood dust.
    Dust,
    /// Sharp edges.
    Edges,
    /// Dry air in service.
    DryClimate,
    /// Damp air in service.
    DampClimate,
    /// Heat in service.
    Heat,
    /// Load that never lets go.
    LongLoad,
    /// What estimates are worth.
    Estimate,
}

impl Hazard {
    /// Every hazard.
    pub const ALL: [Hazard; 9] = [
        Hazard::Strings,
        Hazard::Glue,
        Hazard::Dust,
        Hazard::Edges,
        Hazard::DryClimate,
        Hazard::DampClimate,
        Hazard::Heat,
        Hazard::LongLoad,
        Hazard::Estimate,
    ];

    /// Its name.
    pub fn name(self) -> &'static str {
        match self {
            Hazard::Strings => "strings",
            Hazard::Glue => "glue",
            Hazard::Dust => "dust",
            Hazard::Edges => "edges",
            Hazard::DryClimate => "dry climate",
            Hazard::DampClimate => "damp climate",
            Hazard::Heat => "heat",
            Hazard::LongLoad => "long load",
            Hazard::Estimate => "estimate",
        }
    }

    /// The hazard of that name.
    pub fn named(name: &str) -> Result<Hazard> {
        let plain = name.trim().to_lowercase();
        Self::ALL
            .into_iter()
            .find(|h| h.name() == plain)
            .ok_or_else(|| unknown_name("hazards", name, Self::ALL.map(Hazard::name)))
    }

    /// What to print.
    pub fn caution(self) -> &'static str {
        match self {
            Hazard::Strings => {
                "Strings under tension whip when they break: eye protection (EN 166, ISO 16321, ANSI Z87.1), face out of their line, \
                 cut ends away from hands; slacken all of them before any work on bridge or braces."
            }
            Hazard::Glue => {
                "Read the glue's safety data sheet: hot glue burns, cyanoacrylate bonds skin and eyes, epoxy sensitises. Keep fingers \
                 out of clamps."
            }
            Hazard::Dust => {
                "Dust harms lungs and some woods sensitise (redcedar, rosewoods, ebonies): mask (FFP2, N95) and extraction."
            }
            Hazard::Edges => "Clamp the work, keep both hands behind the edge, cut with a stop.",
            Hazard::DryClimate => {
                "Dry air shrinks the top across the grain: it sinks, then splits. Keep the instrument between 40 and 60 % RH (common \
                 practice), in its case with a humidifier where heating dries the air; never rehumidify it fast."
            }
            Hazard::DampClimate => {
                "Damp air swells the top, raises it and the action, and softens wood and old glue: slacken the strings when it must stay \
                 in such air."
            }
            Hazard::Heat => {
                "Above some 55 deg C (a car in the sun) many wood glues creep and bridges lift (common practice): never leave it there \
                 strung."
            }
            Hazard::LongLoad => {
                "String load never lets go: read bridge rotation at 1 hour, 1 day, 1 week and 1 month, write it down with the humidity, \
                 and look inside for lifting braces once a year."
            }
            Hazard::Estimate => {
                "Estimates from simple models and your own readings: no promise of tone, no certificate of strength, no substitute for \
                 local codes or licensed practice. They may be wrong for cracked, run-out or repaired wood."
            }
        }
    }
}

/// The cautions of these hazards, each once, in the order given.
pub fn cautions(hazards: &[Hazard]) -> Vec<String> {
    let mut seen = Vec::new();
    for h in hazards {
        if !seen.contains(h) {
            seen.push(*h);
        }
    }
    seen.into_iter().map(|h| h.caution().to_string()).collect()
}
