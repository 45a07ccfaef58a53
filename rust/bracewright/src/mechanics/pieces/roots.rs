//! Every root of a polynomial on [-1, 1].

use super::Poly;

/// A polynomial smaller than this part of the numbers it was made from is rounding, not a curve.
const ROUNDING: f64 = 1e-13;
/// Most halvings spent on one polynomial: far more than twenty coefficients can need.
const MOST_PARTS: usize = 4000;

/// Roots on [-1, 1], each found to about `least`; none for a polynomial that is rounding beside `scale`.
pub(super) fn roots(p: &Poly, least: f64, scale: f64) -> Vec<f64> {
    let mut search = Isolation { least, floor: ROUNDING * scale, parts: 0, roots: Vec::new() };
    search.part(p, 0.0, 1.0);
    search.roots
}

struct Isolation {
    least: f64,
    floor: f64,
    parts: usize,
    roots: Vec<f64>,
}

impl Isolation {
    /// The part of [-1, 1] centred at `m` with half-width `r`, by halving until the sign is certain, the polynomial is
    /// monotone, or the part is smaller than `least`.
    fn part(&mut self, p: &Poly, m: f64, r: f64) {
        self.parts += 1;
        let (centre, reach) = p.centre_and_reach();
        if centre.abs() > reach * (1.0 + 1e-12) || centre.abs() + reach <= self.floor || self.parts > MOST_PARTS {
            return;
        }
        let slope_reach: f64 = (2..p.n).map(|k| k as f64 * p.c[k].abs()).sum();
        if p.n > 1 && p.c[1].abs() > slope_reach {
            self.monotone(p, m, r);
        } else if r < self.least {
            self.roots.push(m);
        } else {
            self.part(&p.rebased(-0.5, 0.5), m - 0.5 * r, 0.5 * r);
            self.part(&p.rebased(0.5, 0.5), m + 0.5 * r, 0.5 * r);
        }
    }

    /// At most one root, by Newton's method kept inside its bracket.
    fn monotone(&mut self, p: &Poly, m: f64, r: f64) {
        let (mut lo, mut hi) = (-1.0, 1.0);
        let (flo, fhi) = (p.at(lo), p.at(hi));
        // a root where two parts meet is one of both or, by rounding, of neither: the end itself is taken
        if flo.abs() <= self.floor || fhi.abs() <= self.floor {
            self.roots.push(if flo.abs() <= fhi.abs() { m - r } else { m + r });
            return;
        }
        if (flo > 0.0) == (fhi > 0.0) {
            return;
        }
        let mut t = lo - flo * (hi - lo) / (fhi - flo);
        for _ in 0..60 {
            let f = p.at(t);
            if f == 0.0 || hi - lo < 1e-15 {
                break;
            }
            if (f > 0.0) == (fhi > 0.0) {
                hi = t
            } else {
                lo = t
            }
            let newton = t - f / p.slope(t);
            let next = if newton > lo && newton < hi { newton } else { 0.5 * (lo + hi) };
            if (next - t).abs() < 1e-16 {
                break;
            }
            t = next;
        }
        self.roots.push(m + r * t);
    }
}
