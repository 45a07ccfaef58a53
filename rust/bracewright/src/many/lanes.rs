//! The three-point sum of a block of braces, as many at once as the machine takes.

use pulp::{Simd, WithSimd};

use super::bend::Rule;
use crate::mechanics::blend::Ramp;
use crate::mechanics::section_law::SectionLaw;
use crate::mechanics::simd::Wide;

/// Braces of a block: a multiple of every machine's width.
pub(super) const BLOCK: usize = 64;
/// One number of each brace.
pub(super) type Row = [f64; BLOCK];

/// Section laws of a block: the same form, each brace its own numbers.
pub(super) struct Law {
    /// A = area h and I = inertia h^3, as shear inertia/area and 1/inertia: of the whole section, or of what is lower than
    /// the rise of a fixed cap.
    shear: Row,
    scale: Row,
    /// A cap of fixed rise on a base, the same for every width.
    cap: Option<FixedCap>,
}

struct FixedCap {
    rise: f64,
    area: f64,
    /// Centroid above its base.
    centroid: f64,
    inertia: f64,
    shear: f64,
}

impl Law {
    /// The law of each brace; `shear` is the shear factor times E/G.
    pub fn new(law: impl Fn(usize) -> SectionLaw, shear: f64) -> Self {
        let mut out = Self { shear: [0.0; BLOCK], scale: [0.0; BLOCK], cap: None };
        for l in 0..BLOCK {
            let (area, inertia) = match law(l) {
                SectionLaw::Stretched { area, inertia } => (area, inertia),
                SectionLaw::FixedCap { rise, area, first, second } => {
                    let y = first / area;
                    let inertia = second - first * y;
                    out.cap =
                        Some(FixedCap { rise, area: rise * area, centroid: rise * y, inertia: rise.powi(3) * inertia, shear });
                    (area, inertia)
                }
            };
            (out.shear[l], out.scale[l]) = (shear * inertia / area, 1.0 / inertia);
        }
        out
    }
}

/// The points of a block, one row a point.
pub(super) struct Block {
    pub at: Vec<Row>,
    pub height: Vec<Row>,
    pub middle: Row,
    /// Half the span.
    pub reach: Row,
}

impl Block {
    pub fn new(points: usize) -> Self {
        Self { at: vec![[0.0; BLOCK]; points], height: vec![[0.0; BLOCK]; points], middle: [0.0; BLOCK], reach: [0.0; BLOCK] }
    }

    /// What holds for every brace of the block about a ramp on one side, so that all go the same way.
    #[inline(always)]
    fn ways(&self, p: usize, side: f64, law: &Law) -> Ways {
        let (from, to, ha, hb) = (&self.at[p], &self.at[p + 1], &self.height[p], &self.height[p + 1]);
        // greatest of each over the block, without an early way out: vector code
        let rise = law.cap.as_ref().map_or(f64::INFINITY, |c| c.rise);
        let (mut outside, mut inside, mut step) = (f64::NEG_INFINITY, f64::NEG_INFINITY, 0.0);
        let (mut lowest, mut highest) = (f64::INFINITY, f64::NEG_INFINITY);
        let more = |a: f64, b: f64| if a > b { a } else { b };
        let less = |a: f64, b: f64| if a < b { a } else { b };
        for l in 0..BLOCK {
            let support = self.middle[l] + side * self.reach[l];
            let (low, high) = (less(self.middle[l], support), more(self.middle[l], support));
            outside = more(outside, more(low - from[l], to[l] - high));
            inside = more(inside, less(high - from[l], to[l] - low));
            step = more(step, (ha[l] - hb[l]).abs());
            lowest = less(lowest, less(ha[l], hb[l]));
            highest = more(highest, more(ha[l], hb[l]));
        }
        Ways { whole: outside <= 0.0, level: step == 0.0, nothing: inside <= 0.0, under: lowest < rise, over: highest > rise }
    }
}

struct Ways {
    whole: bool,
    level: bool,
    nothing: bool,
    /// Some crest is lower than the rise of the cap, or there is no fixed cap.
    under: bool,
    over: bool,
}

/// Adds the integral of d^2/I + shear/A (width 1) on one side of the middle to `sum`, d the distance from the support.
pub(super) struct Side<'a> {
    pub block: &'a Block,
    pub law: &'a Law,
    pub rule: &'a Rule,
    /// 1 to the right of the middle, -1 to its left.
    pub side: f64,
    pub sum: &'a mut Row,
}

/// One ramp of a group of braces, the part of it that counts.
#[derive(Clone, Copy)]
struct Part<S: Simd> {
    /// Middle and half-length of the part in the ramp's own coordinate.
    tm: Wide<S>,
    tr: Wide<S>,
    /// Distance from the support where that coordinate is 0, and its change with it.
    d0: Wide<S>,
    dr: Wide<S>,
    /// Mean and half-difference of the ramp's heights.
    mean: Wide<S>,
    half: Wide<S>,
}

impl WithSimd for Side<'_> {
    type Output = ();

    #[inline(always)]
    fn with_simd<S: Simd>(self, simd: S) {
        let of = |v: f64| Wide::of(simd, v);
        let groups = BLOCK / (size_of::<S::f64s>() / size_of::<f64>());
        for (p, (ramp, values)) in self.rule.ramps.iter().enumerate() {
            let ways = self.block.ways(p, self.side, self.law);
            if ways.nothing {
                continue;
            }
            for g in 0..groups {
                let row = |r: &Row| Wide::load(simd, r, g);
                let (from, to) = (row(&self.block.at[p]), row(&self.block.at[p + 1]));
                let (ha, hb) = (row(&self.block.height[p]), row(&self.block.height[p + 1]));
                let middle = row(&self.block.middle);
                let support = middle + of(self.side) * row(&self.block.reach);
                let (r, x) = (of(0.5) * (to - from), of(0.5) * (to + from));
                let mut q = Part {
                    tm: of(0.0),
                    tr: of(1.0),
                    d0: support - x,
                    dr: of(0.0) - r,
                    mean: of(0.5) * (ha + hb),
                    half: of(0.5) * (hb - ha),
                };
                if !ways.whole {
                    let (a, b) = (from.max(middle.min(support)), to.min(middle.max(support)));
                    let one = of(1.0);
                    let clip = |t: Wide<S>| t.min(one).max(of(-1.0));
                    let (t0, t1) = (clip((a - x) / r), clip((b.max(a) - x) / r));
                    (q.tm, q.tr) = (of(0.5) * (t0 + t1), of(0.5) * (t1 - t0));
                }
                let stretched = (row(&self.law.shear), row(&self.law.scale));
                let mut sum = row(self.sum);
                match &self.law.cap {
                    _ if ways.level && !ways.over => sum = sum + level_below(&q, stretched),
                    None if ways.whole => sum = sum + whole(&q, stretched, values, self.rule, of(0.0)),
                    None => sum = sum + below(&q, ramp, stretched, self.rule, of(0.0)),
                    Some(_) if !ways.over && ways.whole => sum = sum + whole(&q, stretched, values, self.rule, of(0.0)),
                    Some(_) if !ways.over => sum = sum + below(&q, ramp, stretched, self.rule, of(0.0)),
                    Some(cap) if !ways.under => sum = sum + above(&q, ramp, cap, self.rule, of(0.0)),
                    Some(cap) => {
                        let (under, over) = split(&q, ramp, cap.rise, of(0.0));
                        sum = sum + below(&under, ramp, stretched, self.rule, of(0.0));
                        sum = sum + above(&over, ramp, cap, self.rule, of(0.0));
                    }
                }
                sum.store(self.sum, g);
            }
        }
    }
}

/// Value of the ramp; `t` itself for a straight one.
#[inline(always)]
fn at<S: Simd>(ramp: &Ramp, t: Wide<S>, of: impl Fn(f64) -> Wide<S>) -> Wide<S> {
    if ramp.n == 1 {
        return t;
    }
    let s = t * t;
    let mut v = of(ramp.c[ramp.n - 1]);
    for k in (0..ramp.n - 1).rev() {
        v = v.madd(s, of(ramp.c[k]));
    }
    v * t
}

#[inline(always)]
fn slope<S: Simd>(ramp: &Ramp, t: Wide<S>, of: impl Fn(f64) -> Wide<S>) -> Wide<S> {
    let s = t * t;
    let mut v = of((2 * ramp.n - 1) as f64 * ramp.c[ramp.n - 1]);
    for k in (0..ramp.n - 1).rev() {
        v = v.madd(s, of((2 * k + 1) as f64 * ramp.c[k]));
    }
    v
}

/// A ramp between equal heights, in closed form.
#[inline(always)]
fn level_below<S: Simd>(q: &Part<S>, (shear, scale): (Wide<S>, Wide<S>)) -> Wide<S> {
    let middle = q.d0 + q.dr * q.tm;
    let half = q.dr * q.tr;
    // mean of d^2 over the part
    let third = half * half / (q.mean.same(3.0));
    let squares = middle.madd(middle, third);
    q.mean.same(-2.0) * half * scale * (squares / (q.mean * q.mean) + shear) / q.mean
}

/// A whole ramp, its values at the Gauss points known beforehand, under the law of a stretched section.
#[inline(always)]
fn whole<S: Simd>(q: &Part<S>, (shear, scale): (Wide<S>, Wide<S>), values: &[f64], rule: &Rule, zero: Wide<S>) -> Wide<S> {
    let one = zero.same(1.0);
    let mut sum = zero;
    for k in 0..rule.points {
        let r = one / q.half.madd(zero.same(values[k]), q.mean);
        let d = q.dr.madd(zero.same(rule.t[k]), q.d0) * r;
        sum = (zero.same(rule.w[k]) * r).madd(d.madd(d, shear), sum);
    }
    zero.same(-2.0) * q.dr * scale * sum
}

/// Any part of a ramp under the law of a stretched section.
#[inline(always)]
fn below<S: Simd>(q: &Part<S>, ramp: &Ramp, (shear, scale): (Wide<S>, Wide<S>), rule: &Rule, zero: Wide<S>) -> Wide<S> {
    let one = zero.same(1.0);
    let mut sum = zero;
    for k in 0..rule.points {
        let t = q.tr.madd(zero.same(rule.t[k]), q.tm);
        let r = one / q.half.madd(at(ramp, t, |v| zero.same(v)), q.mean);
        let d = q.dr.madd(t, q.d0) * r;
        sum = (zero.same(rule.w[k]) * r).madd(d.madd(d, shear), sum);
    }
    zero.same(-2.0) * q.dr * q.tr * scale * sum
}

/// Any part of a ramp that stands above the rise: a base under the whole cap.
#[inline(always)]
fn above<S: Simd>(q: &Part<S>, ramp: &Ramp, cap: &FixedCap, rule: &Rule, zero: Wide<S>) -> Wide<S> {
    let (area, y, own, shear) = (zero.same(cap.area), zero.same(cap.centroid), zero.same(cap.inertia), zero.same(cap.shear));
    let mean = q.mean - zero.same(cap.rise);
    let mut sum = zero;
    for k in 0..rule.points {
        let t = q.tr.madd(zero.same(rule.t[k]), q.tm);
        // rounding at the cut may leave a base of less than nothing
        let base = q.half.madd(at(ramp, t, |v| zero.same(v)), mean).max(zero);
        let a = base + area;
        let arm = base.madd(zero.same(0.5), y);
        // area times second moment about the centroid
        let j = a.madd((base * base).madd(base * zero.same(1.0 / 12.0), own), base * area * (arm * arm));
        let d = q.dr.madd(t, q.d0) * a;
        sum = zero.same(rule.w[k]).madd(d.madd(d, shear * j) / (a * j), sum);
    }
    zero.same(-2.0) * q.dr * q.tr * sum
}

/// Newton steps to the place where the crest passes the rise: a split that misses it by a thousandth of the ramp leaves an
/// error of a millionth of what the kink is worth.
const STEPS: usize = 4;

/// The part of a ramp where the crest is lower than the rise, and the rest of it.
#[inline(always)]
fn split<S: Simd>(q: &Part<S>, ramp: &Ramp, rise: f64, zero: Wide<S>) -> (Part<S>, Part<S>) {
    let one = zero.same(1.0);
    // in the direction in which the crest rises; a level ramp is on one side of the rise or the other
    let size = q.half.max(zero - q.half).max(zero.same(1e-12));
    let want = ((zero.same(rise) - q.mean) / size).min(one).max(zero - one);
    let (mut low, mut high) = (zero - one, one);
    let mut t = want;
    if ramp.n > 1 {
        t = t.min(zero.same(0.99)).max(zero.same(-0.99));
        for _ in 0..STEPS {
            let f = at(ramp, t, |v| zero.same(v)) - want;
            low = f.if_below(zero, t, low);
            high = f.if_below(zero, high, t);
            let next = t - f / slope(ramp, t, |v| zero.same(v));
            let middle = zero.same(0.5) * (low + high);
            t = next.if_below(high, low.if_below(next, next, middle), middle);
        }
        // where the ramp does not pass it at all
        t = want.if_below(one, t, one);
        t = (zero - one).if_below(want, t, zero - one);
    }
    let t0 = q.tm - q.tr;
    let t1 = q.tm + q.tr;
    let cut = q.half.if_below(zero, zero - t, t).max(t0).min(t1);
    let part = |a: Wide<S>, b: Wide<S>| Part { tm: zero.same(0.5) * (a + b), tr: zero.same(0.5) * (b - a), ..*q };
    let (first, second) = ((t0, cut), (cut, t1));
    let falling = |a: Wide<S>, b: Wide<S>| q.half.if_below(zero, b, a);
    (part(falling(first.0, second.0), falling(first.1, second.1)), part(falling(second.0, first.0), falling(second.1, first.1)))
}
