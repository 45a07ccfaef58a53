//! Lines of the mesh of a strip.

use crate::mechanics::quadrature::merge_breaks;

/// How finely a strip is divided.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fineness {
    /// Longest element along the brace, mm.
    pub longest_mm: f64,
    /// Longest one beside the edge of a load or an end, mm; they grow from there.
    pub beside_mm: f64,
    /// Elements between two kinks where the crest changes much, at least.
    pub over_a_slope: f64,
    /// Widest element of the plate well beside the brace, mm.
    pub across_mm: f64,
}

impl Fineness {
    /// A tenth of a percent on scalloped braces.
    pub const ORDINARY: Self = Self { longest_mm: 30.0, beside_mm: 18.0, over_a_slope: 4.0, across_mm: 45.0 };
    /// Coarser: the difference is the stated discretisation error.
    pub const COARSER: Self = Self { longest_mm: 45.0, beside_mm: 30.0, over_a_slope: 3.0, across_mm: 70.0 };
}

/// Row of elements beside the brace in which the plate's displacements are cubic, mm.
const ROW_MM: f64 = 4.0;
/// Lines nearer to each other than this become one, mm.
const GAP_MM: f64 = 0.5;

/// Lines along the brace: every kink is one; elements start at `beside` next to the busy ones, and follow a steep crest.
pub fn along(length: f64, kinks: &[f64], busy: &[f64], fine: Fineness, steep: &dyn Fn(f64, f64) -> bool) -> Vec<f64> {
    let fixed = merge_breaks(0.0, length, &[busy, kinks], GAP_MM);
    let mut out = vec![0.0];
    for w in fixed.windows(2) {
        let (a, b) = (w[0], w[1]);
        let near = |x: f64| busy.iter().any(|p| (p - x).abs() < GAP_MM);
        let longest = if steep(a, b) { fine.longest_mm.min((b - a) / fine.over_a_slope) } else { fine.longest_mm };
        let first = |x: f64| if near(x) { fine.beside_mm.min(longest) } else { longest };
        // sizes allowed at either end grow towards the middle
        let (left, right, span) = (first(a), first(b), b - a);
        let mut sizes = Vec::new();
        let (mut l, mut r, mut filled) = (left, right, 0.0);
        while filled < span * (1.0 - 1e-9) {
            if l <= r {
                sizes.push((true, l));
                filled += l;
                l = (2.0 * l).min(longest);
            } else {
                sizes.push((false, r));
                filled += r;
                r = (2.0 * r).min(longest);
            }
        }
        let mut steps: Vec<f64> = sizes.iter().filter(|s| s.0).map(|s| s.1).collect();
        steps.extend(sizes.iter().rev().filter(|s| !s.0).map(|s| s.1));
        let mut at = a;
        for s in &steps[..steps.len() - 1] {
            at += s * span / filled;
            out.push(at);
        }
        out.push(b);
    }
    out
}

/// Lines across: edges of the strip, of the brace and of a row beside it, and some between.
pub fn across(width: f64, brace: f64, fine: Fineness) -> Vec<f64> {
    let (half, edge) = (0.5 * brace, 0.5 * width);
    let row = ROW_MM.min(0.5 * (edge - half));
    let border = half + row;
    let mut right = vec![half, border];
    let rows = ((edge - border) / fine.across_mm).ceil().max(1.0) as usize;
    for k in 1..=rows {
        // narrower near the brace, where shear lag bends the membrane stress
        let t = k as f64 / rows as f64;
        right.push(border + t * (0.5 + 0.5 * t) * (edge - border));
    }
    right.iter().rev().map(|y| -y).chain(right.iter().copied()).collect()
}
