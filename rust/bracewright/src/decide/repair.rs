//! What a remedy gives back to a brace that went too far.

use serde::{Deserialize, Serialize};

use crate::brace::Brace;
use crate::error::{Error, Result, number, within};
use crate::goal::{Aim, Goal};
use crate::mechanics::section_beam::POINTS;
use crate::rig::Rig;

/// A strip glued to a brace, or strings that pull less.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub enum Remedy {
    /// A strip on the crest: a cap along all of the brace, a patch over part of it.
    OnCrest(Strip),
    /// A sister beside the brace, on the glue face: its height is no more than the brace's anywhere.
    Beside(Strip),
    /// Strings that pull this part of what the window was made for.
    LighterStrings {
        /// Tension over that of the set before.
        tension_ratio: f64,
    },
}

/// A strip of wood, ends feathered.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Strip {
    /// Left end, mm.
    pub from_mm: f64,
    /// Right end, mm.
    pub to_mm: f64,
    /// Width across the brace, mm.
    pub width_mm: f64,
    /// Height, mm.
    pub height_mm: f64,
    /// Length over which each end runs out to nothing, mm.
    pub feather_mm: f64,
    /// Young's modulus along it, GPa.
    pub modulus_gpa: f64,
    /// Density, kg/m3.
    pub density_kg_m3: f64,
}

/// What one remedy gives back.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Remedied {
    /// Its name.
    pub name: String,
    /// Reading on the rig as it stands, mm.
    pub before_mm: f64,
    /// Reading after it (for lighter strings: the reading that would ask as much of the top with the old set), mm.
    pub after_mm: f64,
    /// What it adds, g.
    pub grams: f64,
    /// Stiffness gained, percent.
    pub stiffer_percent: f64,
    /// Part of what lay past the window that it gives back; 1 and more is in the window again. `None` where nothing is past it.
    pub gives_back: Option<f64>,
    /// True when it ends in the window.
    pub in_window: bool,
}

/// Remedies side by side.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Repair {
    /// Each remedy.
    pub remedies: Vec<Remedied>,
    /// In a few sentences.
    pub words: String,
}

/// Names of the remedies, the remedy with each.
pub type Named = (String, Remedy);

/// What each remedy would give back of a reading past its window. A strip is taken as one with the brace (a full glue line);
/// the ratio of the section beams with and without it is put on the depth-resolved reading, for a strip follows the crest and
/// lies where stress flows; near feathered ends that is a little bold.
pub fn repairs(brace: &Brace, goal: &Goal, remedies: &[Named]) -> Result<Repair> {
    let Aim::Deflection(rig) = goal.aim() else {
        return Err(Error::Refused(format!(
            "the goal of a repair is a reading on a rig, made with rig.between(low, high); this one is about the {}",
            goal.quantity()
        )));
    };
    if remedies.is_empty() {
        return Err(Error::BadList { name: "remedies".into(), problem: "is empty; give at least one".into() });
    }
    let before = goal.value(brace)?;
    let past = (before / goal.high()).ln();
    let section = rig.section_compliance_mm_per_n(brace)?;
    let given = rig.load_n() * rig.give_mm_per_n().0 * rig.dial_scale().0;
    let out = remedies
        .iter()
        .map(|(name, remedy)| {
            let (after_mm, grams) = match remedy {
                Remedy::LighterStrings { tension_ratio } => {
                    within("tension_ratio", *tension_ratio, "", 0.2, 1.0)?;
                    (given + (before - given) * tension_ratio, 0.0)
                }
                Remedy::OnCrest(s) | Remedy::Beside(s) => {
                    check(brace, name, s)?;
                    let beside = matches!(remedy, Remedy::Beside(_));
                    if !beside {
                        flat_enough(brace, name, s)?;
                    }
                    let with = compliance_with(brace, rig, s, beside)?;
                    (given + (before - given) * with / section, mass_g(brace, s, beside))
                }
            };
            let back = (before / after_mm).ln();
            Ok(Remedied {
                name: name.clone(),
                before_mm: before,
                after_mm,
                grams,
                stiffer_percent: 100.0 * ((before - given) / (after_mm - given) - 1.0),
                gives_back: (past > 0.0).then(|| back / past),
                in_window: goal.holds(after_mm),
            })
        })
        .collect::<Result<Vec<_>>>()?;
    let words = words(&out, remedies, goal, before);
    Ok(Repair { remedies: out, words })
}

/// Height of a strip at a place, mm: feathered at its ends, a sister no higher than the brace.
fn height_at(brace: &Brace, s: &Strip, beside: bool, x: f64) -> f64 {
    if x <= s.from_mm || x >= s.to_mm {
        return 0.0;
    }
    let run = if s.feather_mm > 0.0 { ((x - s.from_mm).min(s.to_mm - x) / s.feather_mm).min(1.0) } else { 1.0 };
    let h = s.height_mm * run;
    if beside { h.min(brace.profile().crest().at(x)) } else { h }
}

fn mass_g(brace: &Brace, s: &Strip, beside: bool) -> f64 {
    const N: usize = 400;
    let step = (s.to_mm - s.from_mm) / N as f64;
    let area: f64 = (0..N).map(|k| height_at(brace, s, beside, s.from_mm + (k as f64 + 0.5) * step) * step).sum();
    area * s.width_mm * s.density_kg_m3 * 1e-6
}

/// Compliance on the rig by the section beam with the strip as one with the brace, mm/N.
fn compliance_with(brace: &Brace, rig: &Rig, s: &Strip, beside: bool) -> Result<f64> {
    let (loads, supports, at) = rig.on(brace, 0.0)?;
    let solid = brace.solid()?;
    let stiff = brace.blank().stiffness()?;
    let (e, g) = (1000.0 * stiff.e_x_gpa, 1000.0 * stiff.g_xz_gpa);
    let e_strip = 1000.0 * s.modulus_gpa;
    let ends = [s.from_mm, s.from_mm + s.feather_mm, s.to_mm - s.feather_mm, s.to_mm];
    let bend = |x: f64, inside: f64| {
        let m = solid.moments(x, inside, true);
        if m.area <= 1e-9 {
            return (0.0, 0.0);
        }
        let h = height_at(brace, s, beside, x);
        let area = h * s.width_mm;
        let own = e_strip * s.width_mm * h.powi(3) / 12.0;
        let middle = if beside { 0.5 * h } else { solid.crest.at(x) + 0.5 * h };
        let (ea, eb) = (e * m.area, e_strip * area);
        let steiner = if eb > 0.0 { ea * eb / (ea + eb) * (m.centroid() - middle).powi(2) } else { 0.0 };
        (1.0 / (e * m.about_centroid() + own + steiner), 1.2 / (g * (m.area + area)))
    };
    let deflection = brace.section_deflection_of(&loads, &supports, at, &ends, POINTS, &bend)?;
    Ok(deflection / rig.load_n())
}

fn check(brace: &Brace, name: &str, s: &Strip) -> Result<()> {
    let l = brace.length_mm();
    within(&format!("from_mm of the {name}"), s.from_mm, "mm", 0.0, l)?;
    within(&format!("to_mm of the {name}"), s.to_mm, "mm", s.from_mm + 5.0, l)?;
    within(&format!("width_mm of the {name}"), s.width_mm, "mm", 0.5, 100.0)?;
    within(&format!("height_mm of the {name}"), s.height_mm, "mm", 0.2, 50.0)?;
    within(&format!("feather_mm of the {name}"), s.feather_mm, "mm", 0.0, 0.5 * (s.to_mm - s.from_mm))?;
    within(&format!("modulus_gpa of the {name}"), s.modulus_gpa, "GPa", 0.5, 300.0)?;
    within(&format!("density_kg_m3 of the {name}"), s.density_kg_m3, "kg/m3", 50.0, 8000.0)?;
    Ok(())
}

/// Error unless the crest is flat over the width of the strip that is glued to it.
fn flat_enough(brace: &Brace, name: &str, s: &Strip) -> Result<()> {
    const LOOKS: usize = 60;
    let width = brace.width_mm();
    let outline = brace.section().outline(width)?;
    for k in 0..=LOOKS {
        let x = s.from_mm + (s.to_mm - s.from_mm) * k as f64 / LOOKS as f64;
        let h = brace.profile().crest().at(x);
        if h <= 0.0 {
            return Err(Error::Refused(format!(
                "the {name} runs over x = {} mm, where the brace has no height to glue it to",
                tenth(x)
            )));
        }
        let flat = width * outline.width(h, h);
        if s.width_mm > flat + 1e-6 {
            // how far down the brace is as wide as the strip
            let down = (1..=1000).map(|j| h * f64::from(j) / 1000.0).find(|d| width * outline.width(h - d, h) >= s.width_mm);
            let way = match down {
                Some(d) => format!(
                    "the brace is {} mm wide only {d:.1} mm under its crest: plane a flat there first and give the brace as it is then",
                    number(s.width_mm)
                ),
                None => format!("the brace is nowhere so wide: give at most {} mm, or a sister beside it", tenth(width)),
            };
            return Err(Error::Refused(format!(
                "width_mm of the {name} is {} mm, and the flat of the {} crest it is glued to is {} mm at x = {} mm; {way}",
                number(s.width_mm),
                brace.section().name(),
                tenth(flat),
                tenth(x)
            )));
        }
    }
    Ok(())
}

fn tenth(v: f64) -> String {
    number((v * 10.0).round() / 10.0)
}

fn words(all: &[Remedied], remedies: &[Named], goal: &Goal, before: f64) -> String {
    let figure = |v: f64| number((v * 1000.0).round() / 1000.0);
    let mut out = if before > goal.high() {
        format!("It reads {} mm, past the window of {} to {} mm.", figure(before), figure(goal.low()), figure(goal.high()))
    } else {
        format!("It reads {} mm and is not past {} mm: there is nothing to repair.", figure(before), figure(goal.high()))
    };
    let mut glued = false;
    for (r, (_, remedy)) in all.iter().zip(remedies) {
        let end = if r.in_window {
            "in the window"
        } else if r.after_mm > goal.high() {
            "not enough"
        } else {
            "stiffer than the window: it can be carved down to it"
        };
        let part = r.gives_back.map_or(String::new(), |g| format!(" ({:.0} % of what was lost past the line)", 100.0 * g));
        if matches!(remedy, Remedy::LighterStrings { .. }) {
            let end = if end.starts_with("stiffer") { "more than enough" } else { end };
            out.push_str(&format!(
                " {}: the brace is as stiff as before and reads {} mm as before; they ask as much of the top as the old set would of a \
                 brace that reads {} mm{part}, {end}.",
                r.name,
                figure(before),
                figure(r.after_mm)
            ));
        } else {
            glued = true;
            out.push_str(&format!(" {}: {} mm{part}, {:.1} g more, {end}.", r.name, figure(r.after_mm), r.grams));
        }
    }
    if glued {
        out.push_str(
            " The figures of a strip are estimates for a full glue line: fit it without gaps, keep to the adhesive's own data sheet for \
             clamping, curing and air, guard eyes and skin, keep fingers out of the clamps, and read the brace again on the rig before \
             strings go on.",
        );
    }
    out
}
