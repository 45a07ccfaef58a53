//! The depth for a goal by the section beam: where a search starts, and what a sweep over thousands of sticks uses.

use crate::brace::Brace;
use crate::error::{Error, Result, number, positive};

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
    let (a, b) = (brace.with_dimension(name, low_mm)?, brace.with_dimension(name, high_mm)?);
    let law = brace.law()?;
    let (e, w, shear) = brace.stiffness_and_shear()?;
    let (na, nb) = (a.mid_nodes(span_mm, &b)?, b.mid_nodes(span_mm, &a)?);
    if na.height.len() != nb.height.len() {
        return Err(Error::Refused(format!("{name} moves places along the brace; use carve_to")));
    }
    let want = 4.0 * e * w * goal_mm_per_n;
    let mut h = na.height.clone();
    // s runs from 0 at low to 1 at high
    let mut f = |s: f64| -> f64 {
        for ((h, a), b) in h.iter_mut().zip(&na.height).zip(&nb.height) {
            *h = a + s * (b - a);
        }
        (na.sum_at(&law, shear, &h) / want).ln()
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
    Ok(low_mm + s * (high_mm - low_mm))
}
