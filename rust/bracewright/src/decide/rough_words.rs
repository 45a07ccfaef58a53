//! Rough-carving a lot, said for the shop.

use super::{RoughCarving, RoughCut};
use crate::error::number;

/// A blank by its place in the lot, counted from one, and its modulus.
fn blank(i: usize, modulus_gpa: &[f64]) -> String {
    format!("no. {} ({} GPa)", i + 1, number((100.0 * modulus_gpa[i]).round() / 100.0))
}

/// Some blanks of a list by name, the rest by their number.
fn named(of: &[usize], modulus_gpa: &[f64]) -> String {
    const SAID: usize = 6;
    let mut names: Vec<String> = of.iter().take(SAID).map(|i| blank(*i, modulus_gpa)).collect();
    if of.len() > SAID {
        names.push(format!("{} more", of.len() - SAID));
    }
    names.join(", ")
}

pub(super) fn left_out(too_soft: &[usize], out_of_reach: &[usize], modulus_gpa: &[f64]) -> Vec<String> {
    let mut out = Vec::new();
    if !too_soft.is_empty() {
        out.push(format!("too likely past the window before anything is cut: {}", named(too_soft, modulus_gpa)));
    }
    if !out_of_reach.is_empty() {
        out.push(format!("too stiff to reach it at the end of the plan: {}", named(out_of_reach, modulus_gpa)));
    }
    out
}

pub(super) fn words(r: &RoughCarving, modulus_gpa: &[f64], cut: &RoughCut) -> String {
    let Some((one, grade)) = r.plans.first().and_then(|p| Some((p, p.grades.first()?))) else { return String::new() };
    let mut out = format!(
        "One depth for all: {:.2} mm keeps the share past the window at {:.1} %; {:.1} hand passes a brace are then to be expected, \
         against {:.1} without a rough cut. The likeliest past it is blank {}, with a chance of {:.0} %.",
        grade.depth_mm,
        100.0 * one.share_past,
        one.hand_passes,
        r.hand_passes_without,
        blank(one.worst_blank, modulus_gpa),
        100.0 * one.worst_chance
    );
    if !r.set_aside.is_empty() {
        out.push_str(&format!(
            " It is the softest that fix that depth: set aside {}, and the others may go to {:.2} mm.",
            named(&r.set_aside, modulus_gpa),
            r.depth_without_them_mm
        ));
    }
    for text in left_out(&r.too_soft, &r.out_of_reach, modulus_gpa) {
        out.push_str(&format!(" Left out, {text}."));
    }
    for (k, pair) in r.plans.windows(2).enumerate() {
        let saved = (pair[0].hand_passes - pair[1].hand_passes).max(0.0);
        let depths: Vec<String> = pair[1].grades.iter().map(|g| format!("{:.2}", g.depth_mm)).collect();
        out.push_str(&format!(
            " {} grades ({} mm): {:.1} passes, {saved:.2} saved by the one more; the likeliest past, blank {}, with {:.0} %.",
            k + 2,
            depths.join(", "),
            pair[1].hand_passes,
            blank(pair[1].worst_blank, modulus_gpa),
            100.0 * pair[1].worst_chance
        ));
    }
    if let (Some(a), Some(b)) = (r.plans.last(), r.better_gauge.last()) {
        out.push_str(&format!(
            " Knowing each modulus to {:.1} % instead of {:.1} % would save {:.2} passes more.",
            50.0 * cut.u_modulus,
            100.0 * cut.u_modulus,
            (a.hand_passes - b.hand_passes).max(0.0)
        ));
    }
    out
}
