//! The depth for a goal by the section beam: where a search starts, and what a sweep over thousands of sticks uses.

use crate::brace::{Brace, MidNodes};
use crate::error::{Error, Result, number, positive};
use crate::mechanics::pieces::Pieces;

/// The value of a named dimension (mm) at which the three-point deflection per newton over `span_mm` is `goal_mm_per_n`, by
/// the section beam. The heights at fixed points are linear in a depth or a height, which makes each trial a single sum;
/// for a dimension that moves places along the brace, or turns out not to be linear, use `carve_to`.
///
/// Errors when the goal lies outside what the dimension can do between `low_mm` and `high_mm`.
pub fn section_dimension_for(
    brace: &Brace,
    name: &str,
    span_mm: f64,
    goal_mm_per_n: f64,
    low_mm: f64,
    high_mm: f64,
) -> Result<f64> {
    positive("goal_mm_per_n", goal_mm_per_n, "mm/N")?;
    crate::error::finite("low_mm", low_mm, "mm")?;
    crate::error::finite("high_mm", high_mm, "mm")?;
    if high_mm <= low_mm {
        return Err(Error::OutOfRange {
            quantity: "high_mm".into(),
            value: high_mm,
            unit: "mm",
            allowed: format!("above low_mm, {} mm", number(low_mm)),
        });
    }
    if matches!(name, "scallop length" | "width" | "cap rise") {
        return Err(Error::Refused(format!(
            "{name} does not move heights in proportion; use carve_to, or one of: scallop depth, floor height, height, end height"
        )));
    }
    let (law, line) = (brace.law()?, Line::of(brace, name, span_mm, low_mm, high_mm)?);
    let (e, w, shear) = brace.stiffness_and_shear()?;
    let want = 4.0 * e * w * goal_mm_per_n;
    let mut h = line.low.clone();
    // s runs from 0 at low to 1 at high
    let mut f = |s: f64| -> f64 {
        for ((h, a), d) in h.iter_mut().zip(&line.low).zip(&line.change) {
            *h = a + s * d;
        }
        (line.nodes.sum_at(&law, shear, &h) / want).ln()
    };
    let (fa, fb) = (f(0.0), f(1.0));
    if !(fa.is_finite() && fb.is_finite()) {
        return Err(crate::brace::bend::no_stiffness());
    }
    if fa * fb > 0.0 {
        let c = |v: f64| v.exp() * goal_mm_per_n;
        return Err(Error::OutOfRange {
            quantity: "goal_mm_per_n".into(),
            value: goal_mm_per_n,
            unit: "mm/N",
            allowed: format!(
                "from {} to {} mm/N, what {name} between {} and {} mm gives",
                number(c(fa.min(fb))),
                number(c(fa.max(fb))),
                number(low_mm),
                number(high_mm)
            ),
        });
    }
    let s = super::root::bracketed(0.0, fa, 1.0, fb, 1e-11, |s| Ok::<f64, Error>(f(s)))?;
    let found = low_mm + s * (high_mm - low_mm);
    if line.exact {
        return Ok(found);
    }
    // heights that are not quite linear in it, or a cap's kink that moves: settled on the true shapes
    let miss = |v: f64| -> Result<f64> {
        let compliance = match &line.depths {
            Some((now, change)) => {
                let crest = brace.profile().crest().combined(change, 1.0, v - now);
                brace.mid_nodes_of(span_mm, &crest, &[])?.sum(&law, shear) / (4.0 * e * w)
            }
            None => brace.with_dimension(name, v)?.section_three_point_mm_per_n(span_mm)?,
        };
        Ok((compliance / goal_mm_per_n).ln())
    };
    let (mut at, mut off) = (found, miss(found)?);
    let mut rate = (fb - fa) / (high_mm - low_mm);
    for _ in 0..MOST_CORRECTIONS {
        if off.abs() < CLOSE {
            break;
        }
        let next = (at - off / rate).clamp(low_mm, high_mm);
        if next == at {
            break;
        }
        let now = miss(next)?;
        if now != off {
            rate = (now - off) / (next - at);
        }
        (at, off) = (next, now);
    }
    if off.abs() < 1e3 * CLOSE {
        Ok(at)
    } else {
        Err(Error::Refused(format!("{name} does not settle on that goal; use carve_to")))
    }
}

/// Corrections on true shapes after the search on a straight line.
const MOST_CORRECTIONS: usize = 12;
/// Relative miss of the compliance at which they end.
const CLOSE: f64 = 1e-11;

/// Heights at fixed points as a straight line in the dimension.
struct Line {
    nodes: MidNodes,
    /// At the low end.
    low: Vec<f64>,
    /// From there to the high end.
    change: Vec<f64>,
    /// Where depths of scallops are meant: their value now, and the crest's change with them.
    depths: Option<(f64, Pieces)>,
    /// True where heights are linear in the dimension and the section has no kink that moves with it.
    exact: bool,
}

/// A crest that stays so far from the glue face and the blank needs no closer look, mm.
const CLEAR_MM: f64 = 0.5;

impl Line {
    fn of(brace: &Brace, name: &str, span_mm: f64, low_mm: f64, high_mm: f64) -> Result<Self> {
        let smooth = brace.section().rise_mm().is_none();
        if let Some(line) = Self::of_depths(brace, name, span_mm, low_mm, high_mm)? {
            return Ok(Self { exact: smooth, ..line });
        }
        let (a, b) = (brace.with_dimension(name, low_mm)?, brace.with_dimension(name, high_mm)?);
        let nodes = a.mid_nodes(span_mm, &b)?;
        let mut change = vec![0.0; nodes.x.len()];
        b.profile().crest().fill(&nodes.x, &mut change);
        change.iter_mut().zip(&nodes.height).for_each(|(b, a)| *b -= a);
        let arcs = brace.profile().scallops().iter().any(|s| s.shape == crate::profile::ScallopShape::Arc);
        Ok(Self { low: nodes.height.clone(), nodes, change, depths: None, exact: smooth && !arcs })
    }

    /// Depths of scallops move heights by the shape of the scallop; no other brace need be made.
    fn of_depths(brace: &Brace, name: &str, span_mm: f64, low_mm: f64, high_mm: f64) -> Result<Option<Self>> {
        let scallops = brace.profile().scallops();
        let now = match name {
            "scallop depth" => brace.dimension(name)?,
            "floor height" if !scallops.is_empty() => brace.dimension(name)?,
            _ => return Ok(None),
        };
        let floors: Vec<f64> = scallops.iter().map(|s| brace.profile().crest().at(s.at_mm)).collect();
        if name == "floor height" && floors.iter().any(|h| (h - now).abs() > 1e-12) || low_mm < 0.0 || now <= 0.0 {
            return Ok(None);
        }
        let nodes = brace.mid_nodes(span_mm, brace)?;
        let rate = |i: usize| if name == "floor height" { -1.0 } else { scallops[i].depth_mm / now };
        let Some(by_depth) = brace.profile().change_with_depths(rate) else { return Ok(None) };
        let mut change = vec![0.0; nodes.x.len()];
        by_depth.fill(&nodes.x, &mut change);
        let low: Vec<f64> = nodes.height.iter().zip(&change).map(|(h, d)| h + (low_mm - now) * d).collect();
        change.iter_mut().for_each(|d| *d *= high_mm - low_mm);
        // the ends of the range must be shapes that can be; where that is close, the full way decides and says why not
        let (least, most) = (brace.profile().least_mm(), brace.blank().start().least_mm());
        let sound = |v: f64, d: f64| v.min(v + d) > CLEAR_MM && v.max(v + d) < most;
        let depths = |v: f64| {
            let by = |i: usize| (v - now) * rate(i);
            scallops.iter().zip(&floors).enumerate().all(|(i, (s, h))| s.depth_mm + by(i) >= 0.0 && h - by(i) > CLEAR_MM)
        };
        let clear = least >= 0.0 && low.iter().zip(&change).all(|(v, d)| sound(*v, *d)) && depths(low_mm) && depths(high_mm);
        Ok(clear.then_some(Self { nodes, low, change, depths: Some((now, by_depth)), exact: true }))
    }
}
