//! The solid of a brace as the mechanics sees it: an outline from the side and a width over height.

use crate::mechanics::pieces::Pieces;
use crate::mechanics::quadrature::{gauss, integrate, merge_breaks};

/// Points taken in a cap whose exponent is no half-integer: 1e-6 of the section's numbers.
const MOST_CAP_POINTS: usize = 20;

/// How a cap narrows from its base to the crest, w(y) over 0 <= y <= c.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize, serde::Deserialize)]
pub enum Cap {
    /// (1 - y/c)^p of the width: p = 1/2 a parabola, 1 a triangle, 2 a cusp.
    Power(f64),
    /// sqrt(1 - (y/c)^2) of the width: half an ellipse.
    Rounded,
}

/// How high the cap is.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize, serde::Deserialize)]
pub enum Rise {
    /// A fixed rise; where the height is less, the rise is the height and the glue width stays whole.
    Fixed(f64),
    /// A part of the height, 0 to 1.
    Fraction(f64),
}

/// Width over height as a part of the width at the glue face.
#[derive(Debug, Clone, Copy, PartialEq, serde::Serialize, serde::Deserialize)]
pub enum Outline {
    /// Straight sides narrowing from 1 at the glue face to this at the crest (1 = parallel).
    Sides(f64),
    /// Parallel sides under a cap.
    Capped(Cap, Rise),
}

/// Area, first and second moments of a part of the section, about the glue plane; for width 1 at the glue face.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Moments {
    /// Integral of w dz.
    pub area: f64,
    /// Integral of w z dz.
    pub first: f64,
    /// Integral of w z^2 dz.
    pub second: f64,
    /// Integral of w^3 dz / 12: bending sideways.
    pub lateral: f64,
}

impl Moments {
    fn minus(self, o: Self) -> Self {
        Self {
            area: self.area - o.area,
            first: self.first - o.first,
            second: self.second - o.second,
            lateral: self.lateral - o.lateral,
        }
    }

    /// Second moment about the centroid.
    pub fn about_centroid(&self) -> f64 {
        self.second - self.first * self.first / self.area
    }

    /// Height of the centroid above the glue plane.
    pub fn centroid(&self) -> f64 {
        self.first / self.area
    }
}

impl Outline {
    /// Rise of the cap where the height is `h`.
    #[inline]
    pub fn rise(&self, h: f64) -> f64 {
        match *self {
            Self::Sides(_) => 0.0,
            Self::Capped(_, Rise::Fixed(c)) => c.min(h),
            Self::Capped(_, Rise::Fraction(f)) => f * h,
        }
    }

    /// Width at height `z` of a section `h` high, as a part of the width at the glue face.
    pub fn width(&self, z: f64, h: f64) -> f64 {
        if !(0.0..=h).contains(&z) {
            return 0.0;
        }
        match *self {
            Self::Sides(t) => 1.0 - (1.0 - t) * z / h,
            Self::Capped(cap, _) => {
                let c = self.rise(h);
                let y = z - (h - c);
                if y <= 0.0 {
                    return 1.0;
                }
                let u = (1.0 - y / c).max(0.0);
                match cap {
                    Cap::Power(p) => u.powf(p),
                    Cap::Rounded => (u * (2.0 - u)).sqrt(),
                }
            }
        }
    }

    /// Moments of the whole section, height `h`, width 1 at the glue face. Closed forms.
    pub fn whole(&self, h: f64) -> Moments {
        match *self {
            Self::Sides(t) => sides_below(t, h, h),
            Self::Capped(cap, _) => {
                let c = self.rise(h);
                on_base(h - c, c, cap_whole(cap))
            }
        }
    }

    /// Moments of the part below `z`, of a section `h` high.
    pub fn below(&self, z: f64, h: f64) -> Moments {
        let z = z.clamp(0.0, h);
        match *self {
            Self::Sides(t) => sides_below(t, z, h),
            Self::Capped(cap, _) => {
                let c = self.rise(h);
                if z <= h - c { on_base(z, 0.0, Moments::default()) } else { on_base(h - c, c, cap_below(cap, (z - h + c) / c)) }
            }
        }
    }

    /// Moments of the slice between two heights.
    pub fn slice(&self, low: f64, high: f64, h: f64) -> Moments {
        if low <= 0.0 && high >= h { self.whole(h) } else { self.below(high, h).minus(self.below(low, h)) }
    }

    /// Heights `z` and weights (width times dz) of a rule with `n` points in the body and at least `n + 2` in the cap, for the
    /// slice between `low` and `high`; appended to `out`.
    pub fn rule(&self, low: f64, high: f64, h: f64, n: usize, out: &mut Vec<(f64, f64)>) {
        let c = self.rise(h);
        let (body_top, cap) = match self {
            Self::Sides(_) => (h, None),
            Self::Capped(cap, _) => (h - c, Some(*cap)),
        };
        let top = high.min(body_top);
        if top > low {
            let (t, w) = gauss(n);
            for (t, w) in t.iter().zip(w) {
                let z = low + (top - low) * t;
                out.push((z, w * (top - low) * self.width(z, h)));
            }
        }
        let Some(cap) = cap else { return };
        let start = low.max(body_top);
        if high > start && c > 0.0 {
            // u = 1 - y/c = s^2 takes the root out of the crest
            let (s0, s1) = (((h - high) / c).max(0.0).sqrt(), ((h - start) / c).min(1.0).sqrt());
            let (t, w) = gauss(match cap {
                Cap::Rounded => n + 2,
                // a half power is a polynomial in s, and p more points keep it exact; any other has a weak end at the crest
                Cap::Power(p) if (2.0 * p).fract() == 0.0 => n + 2 + p.ceil() as usize,
                Cap::Power(_) => MOST_CAP_POINTS.max(n + 2),
            });
            for (t, w) in t.iter().zip(w) {
                let s = s0 + (s1 - s0) * t;
                let width = match cap {
                    Cap::Power(p) => s.powf(2.0 * p),
                    Cap::Rounded => s * (2.0 - s * s).sqrt(),
                };
                out.push((h - c * s * s, w * (s1 - s0) * 2.0 * s * c * width));
            }
        }
    }
}

fn sides_below(t: f64, z: f64, h: f64) -> Moments {
    let s = (1.0 - t) / h;
    let at = 1.0 - s * z;
    Moments {
        area: z * (1.0 - s * z / 2.0),
        first: z * z * (0.5 - s * z / 3.0),
        second: z * z * z * (1.0 / 3.0 - s * z / 4.0),
        // integral of (1 - s z)^3
        lateral: z * (1.0 + at) * (1.0 + at * at) / 48.0,
    }
}

/// Whole cap of rise 1 and base width 1, about its own base.
fn cap_whole(cap: Cap) -> Moments {
    use std::f64::consts::PI;
    match cap {
        Cap::Power(p) => Moments {
            area: 1.0 / (p + 1.0),
            first: 1.0 / ((p + 1.0) * (p + 2.0)),
            second: 2.0 / ((p + 1.0) * (p + 2.0) * (p + 3.0)),
            lateral: 1.0 / (12.0 * (3.0 * p + 1.0)),
        },
        Cap::Rounded => Moments { area: PI / 4.0, first: 1.0 / 3.0, second: PI / 16.0, lateral: PI / 64.0 },
    }
}

/// The part of a unit cap below e = y/c.
fn cap_below(cap: Cap, e: f64) -> Moments {
    let e = e.clamp(0.0, 1.0);
    match cap {
        Cap::Power(p) => {
            let u = 1.0 - e;
            let f = |k: f64| (1.0 - u.powf(k)) / k;
            let (f1, f2, f3) = (f(p + 1.0), f(p + 2.0), f(p + 3.0));
            Moments { area: f1, first: f1 - f2, second: f1 - 2.0 * f2 + f3, lateral: f(3.0 * p + 1.0) / 12.0 }
        }
        Cap::Rounded => {
            let r = (1.0 - e * e).sqrt();
            let a = e.asin();
            Moments {
                area: 0.5 * (e * r + a),
                first: (1.0 - r * r * r) / 3.0,
                second: (a - e * r * (1.0 - 2.0 * e * e)) / 8.0,
                lateral: (e * (5.0 - 2.0 * e * e) * r + 3.0 * a) / 96.0,
            }
        }
    }
}

/// A rectangle of height `h0` with a part of a unit cap, stretched to rise `c`, on top of it.
fn on_base(h0: f64, c: f64, m: Moments) -> Moments {
    let (a, s, j) = (c * m.area, c * c * m.first, c * c * c * m.second);
    Moments {
        area: h0 + a,
        first: 0.5 * h0 * h0 + h0 * a + s,
        second: h0 * h0 * h0 / 3.0 + h0 * h0 * a + 2.0 * h0 * s + j,
        lateral: h0 / 12.0 + c * m.lateral,
    }
}

/// A stretch of the brace that is cut square from one side, as for a half-lap, and what fills it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Notch {
    /// From here.
    pub start: f64,
    /// To here.
    pub end: f64,
    /// Wood is taken from this height above the glue plane ...
    pub low: f64,
    /// ... to this height (the crest or more for a cut from the crest).
    pub high: f64,
    /// True when the crossing brace is glued in: the filler law holds there; false leaves it empty.
    pub filled: bool,
    /// Thickness of a strip glued over the notch, as wide as the brace and of its own wood; 0 for none.
    pub strip: f64,
}

/// A layer of the section at some x.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Layer {
    /// Bottom above the glue plane.
    pub low: f64,
    /// Top above the glue plane.
    pub high: f64,
    /// True for the crossing brace's wood.
    pub filler: bool,
    /// True for a full-width strip on top.
    pub strip: bool,
}

/// Jump of the crest's curvature, times the greatest height, from which on it gets an element line of its own.
const CURVATURE_FELT: f64 = 0.05;

/// The solid.
#[derive(Debug, Clone, PartialEq)]
pub struct Solid {
    /// Height of the crest above the glue face, over x.
    pub crest: Pieces,
    /// Height of the glue face itself (an arch); `None` when flat.
    pub arch: Option<Pieces>,
    /// Width at the glue face, over x.
    pub width: Pieces,
    /// Width over height.
    pub outline: Outline,
    /// Square cuts, not overlapping.
    pub notches: Vec<Notch>,
    /// Modulus along the brace of the filler over that of the brace.
    pub filler_ratio: f64,
}

impl Solid {
    /// A plain solid without notches or arch.
    pub fn plain(crest: Pieces, width: f64, outline: Outline) -> Self {
        let width = Pieces::constant(crest.start(), crest.end(), width);
        Self { crest, arch: None, width, outline, notches: Vec::new(), filler_ratio: 1.0 }
    }

    /// Left and right end.
    pub fn ends(&self) -> (f64, f64) {
        (self.crest.start(), self.crest.end())
    }

    /// Greatest height, as met at five places of each piece: close enough to compare sizes with.
    pub fn tallest(&self) -> f64 {
        let places = [-1.0, -0.5, 0.0, 0.5, 1.0];
        self.crest.polys().iter().flat_map(|p| places.map(|t| p.at(t))).fold(0.0, f64::max)
    }

    /// Walls of the notches, and where the floor of one comes out of a sloping crest.
    fn notch_kinks(&self) -> Vec<f64> {
        let mut out: Vec<f64> = Vec::new();
        for n in &self.notches {
            out.extend([n.start, n.end]);
            for level in [n.low, n.high].into_iter().filter(|l| *l > 0.0 && l.is_finite()) {
                out.extend(self.crest.crossings(level).into_iter().filter(|x| *x > n.start && *x < n.end));
            }
        }
        out
    }

    /// Every x where the section's numbers have a kink or a jump, ends included.
    pub fn kinks(&self) -> Vec<f64> {
        let (a, b) = self.ends();
        let mut extra = self.notch_kinks();
        if let Outline::Capped(_, Rise::Fixed(c)) = self.outline {
            extra.extend(self.crest.crossings(c));
        }
        let arch = self.arch.as_ref().map_or(&[][..], |p| p.breaks());
        merge_breaks(a, b, &[self.crest.breaks(), self.width.breaks(), arch, &extra], 1e-9 * (b - a))
    }

    /// Kinks an element must not straddle: jumps of value or slope, jumps of curvature a height would feel, and the ends;
    /// the joints of a smooth curve are left out. Where an element straddles the rim of a steep scallop the answer is off by
    /// percents; with a line there, by hundredths.
    pub fn sharp_kinks(&self) -> Vec<f64> {
        let (a, b) = self.ends();
        let mut out = self.notch_kinks();
        let tallest = self.tallest();
        for p in [Some(&self.crest), Some(&self.width), self.arch.as_ref()].into_iter().flatten() {
            let at = p.breaks();
            for k in 1..at.len() - 1 {
                let (l, r) = (p.at_from(at[k], 0.5 * (at[k - 1] + at[k])), p.at_from(at[k], 0.5 * (at[k] + at[k + 1])));
                let turn = (p.end_curvature(k - 1, 1.0) - p.end_curvature(k, -1.0)).abs();
                if (l.0 - r.0).abs() > 1e-9 || (l.1 - r.1).abs() > 1e-4 || turn * tallest > CURVATURE_FELT {
                    out.push(at[k]);
                }
            }
        }
        merge_breaks(a, b, &[&out], 1e-9 * (b - a))
    }

    /// The notch that covers `x`, if any.
    pub fn notch_at(&self, x: f64) -> Option<&Notch> {
        self.notches.iter().find(|n| x > n.start && x < n.end)
    }

    /// The layers at `x`, whose height is `h`, bottom first. `inside` names the side of a jump.
    pub fn layers(&self, h: f64, inside: f64) -> ([Layer; 4], usize) {
        let wood = Layer { low: 0.0, high: h, filler: false, strip: false };
        let mut out = [wood; 4];
        let Some(n) = self.notch_at(inside) else { return (out, 1) };
        let mut count = 0;
        let mut push = |low: f64, high: f64, filler: bool, strip: bool| {
            if high > low && count < 4 {
                out[count] = Layer { low, high, filler, strip };
                count += 1;
            }
        };
        let (low, high) = (n.low.min(h), n.high.min(h));
        push(0.0, low, false, false);
        if n.filled {
            push(low, high, true, false);
        }
        push(high, h, false, false);
        if n.strip > 0.0 {
            push(h, h + n.strip, false, true);
        }
        (out, count)
    }

    /// Moments of the section at `x`, layers weighted by their modulus when `elastic`, by 1 otherwise (and then the
    /// filler, which is another brace's wood, is left out).
    pub fn moments(&self, x: f64, inside: f64, elastic: bool) -> Moments {
        let h = self.crest.at_from(x, inside).0.max(0.0);
        let w = self.width.at_from(x, inside).0;
        let mut sum = Moments::default();
        let (layers, count) = self.layers(h, inside);
        for l in &layers[..count] {
            let factor = match (l.filler, elastic) {
                (false, _) => 1.0,
                (true, true) => self.filler_ratio,
                (true, false) => continue,
            };
            let m = if l.strip {
                let f = |z: f64| on_base(z, 0.0, Moments::default());
                f(l.high).minus(f(l.low))
            } else {
                self.outline.slice(l.low, l.high, h)
            };
            sum.area += factor * w * m.area;
            sum.first += factor * w * m.first;
            sum.second += factor * w * m.second;
            sum.lateral += factor * w * w * w * m.lateral;
        }
        sum
    }

    /// Volume of the brace's own wood between `a` and `b`, exact: without a notch every outline's area is linear in the
    /// height, but for a kink where a cap of fixed rise takes the whole of it.
    pub fn volume(&self, a: f64, b: f64) -> f64 {
        let kinks = merge_breaks(a, b, &[&self.kinks()], 1e-9 * (b - a));
        let level = |p: &Pieces| p.polys().len() == 1 && p.polys()[0].n == 1;
        let mut sum = 0.0;
        for pair in kinks.windows(2) {
            let mid = 0.5 * (pair[0] + pair[1]);
            let whole = self.notch_at(mid).is_none() && level(&self.width);
            sum += match self.outline {
                Outline::Capped(_, Rise::Fixed(c)) if whole && self.crest.at(mid) > c => {
                    let cap = self.outline.whole(c).area - c;
                    self.width.at(mid) * (self.crest.integral(pair[0], pair[1]) + cap * (pair[1] - pair[0]))
                }
                Outline::Capped(_, Rise::Fixed(c)) if whole => {
                    self.width.at(mid) * self.outline.whole(c).area / c * self.crest.integral(pair[0], pair[1])
                }
                _ if whole => self.width.at(mid) * self.outline.whole(1.0).area * self.crest.integral(pair[0], pair[1]),
                _ => integrate(pair, 14, |x| self.moments(x, mid, false).area),
            };
        }
        sum
    }

    /// The solid seen from the other end.
    pub fn mirrored(&self) -> Self {
        let (a, b) = self.ends();
        let mut out = self.clone();
        out.crest = self.crest.mirrored();
        out.width = self.width.mirrored();
        out.arch = self.arch.as_ref().map(Pieces::mirrored);
        for n in &mut out.notches {
            (n.start, n.end) = (a + b - n.end, a + b - n.start);
        }
        out.notches.reverse();
        out
    }
}
