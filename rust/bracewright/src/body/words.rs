//! What an estimate says, and what it cannot say, in sentences.

use super::estimate::BodyEstimate;
use crate::combine::Budget;

/// Relative standard uncertainty from which a figure is hardly told.
const HARDLY: f64 = 0.3;

fn line(name: &str, budget: &Budget) -> String {
    let first = budget.lines.first().map_or(String::new(), |l| format!("; the largest part from {}", l.source));
    format!("{name}: {}{first}", budget.sentence())
}

pub(super) fn said(e: &BodyEstimate) -> Vec<String> {
    let mut out = vec![match &e.top_is {
        None => "two oscillators, top and air; the back is taken to stand still".to_string(),
        Some(which) => format!("three oscillators; of the plates' own frequencies the {which} one is the top's"),
    }];
    let mut add = |name: &str, budget: Option<&Budget>| out.extend(budget.map(|b| line(name, b)));
    add("box with rigid walls (Helmholtz)", Some(&e.helmholtz_hz));
    add("top without the cavity's spring", Some(&e.top_hz));
    add("top with it, hole closed and back still", Some(&e.top_closed_hz));
    add("share of the cavity's spring in the top's stiffness", Some(&e.air_share));
    add("back without the cavity's spring", e.back_hz.as_ref());
    add("share of the cavity's spring in the back's stiffness", e.back_air_share.as_ref());
    add("effective mass of the top, the air that moves with it counted in", e.top_mass_g.as_ref());
    add("effective area of the top", e.top_area_cm2.as_ref());
    add("length of the air that moves in the hole", e.hole_length_mm.as_ref());
    if let Some(p) = e.chance {
        let miss = e.readings.iter().max_by(|a, b| {
            let of = |r: &super::BodyReading| ((r.fitted_hz - r.frequency_hz) / r.u_hz).abs();
            of(a).total_cmp(&of(b))
        });
        let worst = miss.map_or(String::new(), |r| {
            format!("; furthest off is {}, read {:.2} Hz and fitted {:.2} Hz", r.name, r.frequency_hz, r.fitted_hz)
        });
        out.push(format!(
            "{} more than the unknowns: chi squared {:.1}, a chance of {:.0} % by the uncertainties given{worst}",
            if e.dof == 1 { "one reading".into() } else { format!("{} readings", e.dof) },
            e.chi_squared,
            100.0 * p
        ));
        if e.widened > 1.0 {
            out.push(format!(
                "that is unlikely: the uncertainties are too small or the box is not so simple; the intervals are {:.1} times as wide for it, and by Student's t",
                e.widened
            ));
        }
    }
    if let (Some(air), Some(length)) = (&e.air, &e.hole_length_mm) {
        out.push(format!(
            "volume and hole alone put the Helmholtz frequency at {:.1} Hz, with {:.0} mm of moving air where the taps ask for {:.0} mm; walls that give and braces in the way are in the second",
            air.helmholtz_hz(),
            air.hole_length_mm(),
            length.value
        ));
    }
    out.extend(e.not_told.iter().map(|n| format!("not told: {n}")));
    out
}

pub(super) fn untold(e: &BodyEstimate, by_air: bool, top_told: bool) -> Vec<String> {
    let mut out = Vec::new();
    if by_air {
        out.push("the Helmholtz frequency is that of volume and hole, not of a tap; tap with the hole closed".to_string());
    }
    if e.oscillators == 2 {
        out.push("the back's part; it needs the third frequency of the open hole and the second of the closed".into());
    }
    if e.oscillators == 3 && !top_told {
        out.push("which plate is the top: both ways fit about as well; give top, or use a heavier mass".into());
    }
    if e.top_mass_g.is_none() {
        out.push("the top's mass; it needs a tap with a known mass on the bridge".into());
    }
    if e.air.is_none() {
        out.push("areas; they need the volume (air)".into());
    } else if e.top_area_cm2.is_none() {
        out.push("the top's area by itself; it needs the mass".into());
    }
    if e.oscillators == 3 {
        out.push("the back's mass by itself; it needs a mass on the back".into());
    }
    out.push("damping; it is read from how the modes die away".into());
    for (name, budget) in [
        ("the share of the cavity's spring in the top's stiffness", Some(&e.air_share)),
        ("the share of the cavity's spring in the back's stiffness", e.back_air_share.as_ref()),
        ("the top's mass", e.top_mass_g.as_ref()),
    ] {
        if let Some(b) = budget.filter(|b| b.u > HARDLY * b.value) {
            out.push(format!("{name} better than to {:.0} % of it, its standard uncertainty", 100.0 * b.u / b.value));
        }
    }
    out
}
