//! A brace from the side and across, as points.

use crate::brace::Brace;
use crate::error::Result;
use crate::mechanics::pieces::Pieces;
use crate::mechanics::quadrature::merge_breaks;

use super::svg::{Fill, Pen, Sheet};

/// Points per length of the brace.
const FINE: f64 = 400.0;

/// Stations of several crests together, each with a place inside the interval it belongs to: jumps keep both sides.
pub(super) fn stations(crests: &[&Pieces]) -> Vec<(f64, f64)> {
    let Some(first) = crests.first() else { return Vec::new() };
    let (a, b) = (first.start(), first.end());
    let lists: Vec<&[f64]> = crests.iter().map(|c| c.breaks()).collect();
    let breaks = merge_breaks(a, b, &lists, 1e-9 * (b - a));
    let mut out = Vec::new();
    for w in breaks.windows(2) {
        let n = (FINE * (w[1] - w[0]) / (b - a)).ceil().max(1.0);
        out.extend((0..=n as usize).map(|k| (w[0] + (w[1] - w[0]) * k as f64 / n, 0.5 * (w[0] + w[1]))));
    }
    out
}

/// Heights of a crest at such stations.
pub(super) fn heights(crest: &Pieces, at: &[(f64, f64)]) -> Vec<f64> {
    at.iter().map(|&(x, inside)| crest.at_from(x, inside).0.max(0.0)).collect()
}

/// The side view: wood, open and filled half-laps, strips over them; the glue face is drawn straight.
pub(super) fn side(sheet: &mut Sheet, brace: &Brace, left: f64, foot: f64, x_scale: f64, z_scale: f64, edge: Pen) {
    let crest = brace.profile().crest();
    let at = stations(&[crest]);
    let p = |x: f64, z: f64| (left + x_scale * x, foot - z_scale * z);
    let tops = heights(crest, &at);
    let notches = brace.profile().notches();
    let mut top = Vec::new();
    let mut base = vec![p(brace.length_mm(), 0.0)];
    let mut below: Vec<_> = notches.iter().filter(|n| n.high.is_finite()).collect();
    below.sort_by(|a, b| b.start.total_cmp(&a.start));
    for n in below {
        base.extend([p(n.end, 0.0), p(n.end, n.high), p(n.start, n.high), p(n.start, 0.0)]);
    }
    base.push(p(0.0, 0.0));
    let mut above: Vec<_> = notches.iter().filter(|n| !n.high.is_finite()).collect();
    above.sort_by(|a, b| a.start.total_cmp(&b.start));
    let mut next = above.into_iter().peekable();
    let mut inside_until = f64::NEG_INFINITY;
    for (&(x, _), &h) in at.iter().zip(&tops) {
        while let Some(n) = next.peek().filter(|n| x >= n.start) {
            top.extend([p(n.start, crest.at(n.start)), p(n.start, n.low), p(n.end, n.low), p(n.end, crest.at(n.end))]);
            inside_until = n.end;
            next.next();
        }
        if x >= inside_until {
            top.push(p(x, h));
        }
    }
    let mut outline = top.clone();
    outline.extend(base);
    sheet.path(&outline, true, edge, Fill::Wood);
    for n in &notches {
        let roof = crest.at(0.5 * (n.start + n.end));
        let (a, b) = (p(n.start, n.high.min(roof)), p(n.end, n.low));
        if n.filled {
            sheet.rect(a.0, a.1, b.0 - a.0, b.1 - a.1, Pen::THIN, Fill::Hatch(0));
        }
        if n.strip > 0.0 {
            let (a, b) = (p(n.start, roof + n.strip), p(n.end, roof));
            sheet.rect(a.0, a.1, b.0 - a.0, b.1 - a.1, Pen::THIN, Fill::Wood);
        }
    }
}

/// Tallest thing on the brace, strips included, mm.
pub(super) fn tallest_mm(brace: &Brace) -> f64 {
    let crest = brace.profile().crest();
    let top = crest.extremes(0.0, brace.length_mm()).1.1;
    brace.profile().notches().iter().map(|n| crest.at(0.5 * (n.start + n.end)) + n.strip).fold(top, f64::max)
}

/// The outline across, at a height: half widths and heights, mm, from the glue face up.
pub(super) fn across(brace: &Brace, height_mm: f64) -> Result<Vec<(f64, f64)>> {
    let outline = brace.section().outline(brace.width_mm())?;
    let n = 96;
    Ok((0..=n)
        .map(|k| {
            // closer together towards the crest, where a cap turns fastest
            let u = 1.0 - f64::from(k) / f64::from(n);
            let z = height_mm * (1.0 - u * u);
            (0.5 * brace.width_mm() * outline.width(z, height_mm), z)
        })
        .collect())
}

/// How many times larger than lengths heights may be drawn to fill `room`, as a round number; at least 1.
pub(super) fn stretch(room: f64, height: f64) -> f64 {
    let most = (room / height).max(1.0);
    let ten = 10f64.powf(most.log10().floor());
    if ten > 1.0 { (most / ten).floor() * ten } else { most.floor() }
}
