//! The three-point sum of a block of braces, as many at once as the machine takes.

use pulp::{Simd, WithSimd};

use super::bend::{MOST_POINTS, Rule};
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
    /// Area times second moment about the centroid of base and cap, by power of the base's height.
    joint: [f64; 5],
    shear: f64,
}

impl FixedCap {
    /// `centroid` and `inertia` of the cap, about its base and about its centroid.
    fn new(rise: f64, area: f64, centroid: f64, inertia: f64, shear: f64) -> Self {
        // (b + a)(b^3/12 + inertia) + b a (b/2 + centroid)^2
        let joint =
            [area * inertia, inertia + area * centroid * centroid, area * centroid, area / 12.0 + 0.25 * area, 1.0 / 12.0];
        Self { rise, area, joint, shear }
    }
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
                    out.cap = Some(FixedCap::new(rise, rise * area, rise * y, rise.powi(3) * inertia, shear));
                    (area, inertia)
                }
            };
            (out.shear[l], out.scale[l]) = (shear * inertia / area, 1.0 / inertia);
        }
        out
    }
}

/// The points of a block of braces: all their first points, then all their second, ..., each row `stride` long and the
/// block's beginning at `first`.
pub(super) struct Block<'a> {
    pub at: &'a [f64],
    pub height: &'a [f64],
    pub stride: usize,
    pub first: usize,
    pub middle: &'a Row,
    /// Half the span.
    pub reach: &'a Row,
}

impl Block<'_> {
    #[inline(always)]
    fn row<'r>(&self, all: &'r [f64], p: usize) -> &'r [f64] {
        let from = p * self.stride + self.first;
        &all[from..from + BLOCK]
    }

    /// Where the part that counts begins and ends.
    #[inline(always)]
    fn ends<S: Simd>(&self, simd: S, g: usize, side: f64) -> (Wide<S>, Wide<S>) {
        let middle = Wide::load(simd, self.middle, g);
        let support = middle + middle.same(side) * Wide::load(simd, self.reach, g);
        (middle.min(support), middle.max(support))
    }

    /// What holds for every brace of the block about a ramp on one side, so that all go the same way.
    #[inline(always)]
    fn ways<S: Simd>(&self, simd: S, p: usize, side: f64, law: &Law) -> Ways {
        let rise = law.cap.as_ref().map_or(f64::INFINITY, |c| c.rise);
        let [from, to] = [p, p + 1].map(|p| self.row(self.at, p));
        let [ha, hb] = [p, p + 1].map(|p| self.row(self.height, p));
        let zero = Wide::of(simd, 0.0);
        let (mut outside, mut step) = (zero.same(f64::NEG_INFINITY), zero);
        for g in 0..groups::<S>() {
            let (low, high) = self.ends(simd, g, side);
            outside = outside.max((low - zero.row(from, g)).max(zero.row(to, g) - high));
            let rise = zero.row(ha, g) - zero.row(hb, g);
            step = rise.madd(rise, step);
        }
        let mut out =
            Ways { whole: outside.greatest() <= 0.0, level: step.greatest() == 0.0, nothing: false, under: true, over: false };
        if !out.whole {
            let mut inside = zero.same(f64::NEG_INFINITY);
            for g in 0..groups::<S>() {
                let (low, high) = self.ends(simd, g, side);
                inside = inside.max((high - zero.row(from, g)).min(zero.row(to, g) - low));
            }
            out.nothing = inside.greatest() <= 0.0;
        }
        if rise < f64::INFINITY {
            let (mut lowest, mut highest) = (zero.same(f64::INFINITY), zero.same(f64::NEG_INFINITY));
            for g in 0..groups::<S>() {
                let (a, b) = (zero.row(ha, g), zero.row(hb, g));
                lowest = lowest.min(a.min(b));
                highest = highest.max(a.max(b));
            }
            (out.under, out.over) = (lowest.least() < rise, highest.greatest() > rise);
        }
        out
    }
}

/// How many times the machine's width goes into a block.
#[inline(always)]
fn groups<S: Simd>() -> usize {
    BLOCK / (size_of::<S::f64s>() / size_of::<f64>())
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
    pub block: &'a Block<'a>,
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
        for (p, (ramp, known)) in self.rule.ramps.iter().enumerate() {
            let ways = self.block.ways(simd, p, self.side, self.law);
            if ways.nothing {
                continue;
            }
            let [from, to] = [p, p + 1].map(|p| self.block.row(self.block.at, p));
            let [ha, hb] = [p, p + 1].map(|p| self.block.row(self.block.height, p));
            for g in 0..groups::<S>() {
                let row = |r: &[f64]| Wide::load(simd, r, g);
                let (from, to, ha, hb) = (row(from), row(to), row(ha), row(hb));
                let middle = row(self.block.middle);
                let support = middle + of(self.side) * row(self.block.reach);
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
                let values = ways.whole.then_some(known);
                match &self.law.cap {
                    _ if ways.level && !ways.over => sum = sum + level_below(&q, stretched),
                    Some(cap) if ways.level && !ways.under => sum = sum + level_above(&q, cap),
                    None if ways.whole => sum = sum + whole(&q, stretched, known, self.rule, of(0.0)),
                    None => sum = sum + below(&q, ramp, stretched, self.rule, of(0.0)),
                    Some(_) if !ways.over && ways.whole => sum = sum + whole(&q, stretched, known, self.rule, of(0.0)),
                    Some(_) if !ways.over => sum = sum + below(&q, ramp, stretched, self.rule, of(0.0)),
                    Some(cap) if !ways.under => sum = sum + above(&q, ramp, cap, self.rule, values, of(0.0)),
                    Some(cap) => {
                        let (under, over) = split(&q, ramp, cap.rise, of(0.0));
                        sum = sum + below(&under, ramp, stretched, self.rule, of(0.0));
                        sum = sum + above(&over, ramp, cap, self.rule, None, of(0.0));
                    }
                }
                sum.store(self.sum, g);
            }
        }
    }
}

/// Value of the ramp; `t` itself for a straight one.
#[inline(always)]
fn at<S: Simd>(ramp: &Ramp, t: Wide<S>, any: Wide<S>) -> Wide<S> {
    if ramp.n == 1 {
        return t;
    }
    let s = t * t;
    let mut v = any.same(ramp.c[ramp.n - 1]);
    for k in (0..ramp.n - 1).rev() {
        v = v.madd(s, any.same(ramp.c[k]));
    }
    v * t
}

#[inline(always)]
fn slope<S: Simd>(ramp: &Ramp, t: Wide<S>, any: Wide<S>) -> Wide<S> {
    let s = t * t;
    let mut v = any.same((2 * ramp.n - 1) as f64 * ramp.c[ramp.n - 1]);
    for k in (0..ramp.n - 1).rev() {
        v = v.madd(s, any.same((2 * k + 1) as f64 * ramp.c[k]));
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

/// The same above the rise of a fixed cap.
#[inline(always)]
fn level_above<S: Simd>(q: &Part<S>, cap: &FixedCap) -> Wide<S> {
    let of = |v: f64| q.mean.same(v);
    let middle = q.d0 + q.dr * q.tm;
    let half = q.dr * q.tr;
    let squares = middle.madd(middle, half * half / of(3.0));
    let base = q.mean - of(cap.rise);
    let (a, j) = (base + of(cap.area), cap.joint(base));
    of(-2.0) * half * (squares * a * a + of(cap.shear) * j) / (a * j)
}

/// A whole ramp, its values at the Gauss points known beforehand, under the law of a stretched section.
#[inline(always)]
fn whole<S: Simd>(q: &Part<S>, law: (Wide<S>, Wide<S>), values: &[f64], rule: &Rule, zero: Wide<S>) -> Wide<S> {
    zero.same(-2.0)
        * q.dr
        * law.1
        * stretched(
            q,
            law.0,
            rule,
            zero,
            #[inline(always)]
            |k| (zero.same(rule.t[k]), zero.same(values[k])),
        )
}

/// Any part of a ramp under the law of a stretched section.
#[inline(always)]
fn below<S: Simd>(q: &Part<S>, ramp: &Ramp, law: (Wide<S>, Wide<S>), rule: &Rule, zero: Wide<S>) -> Wide<S> {
    let sum = stretched(
        q,
        law.0,
        rule,
        zero,
        #[inline(always)]
        |k| {
            let t = q.tr.madd(zero.same(rule.t[k]), q.tm);
            (t, at(ramp, t, zero))
        },
    );
    zero.same(-2.0) * q.dr * q.tr * law.1 * sum
}

/// The Gauss sum of (d^2/h^2 + shear)/h; `place` gives the place in the ramp and its value there. One division serves two
/// points: it is what costs most.
#[inline(always)]
fn stretched<S: Simd>(
    q: &Part<S>,
    shear: Wide<S>,
    rule: &Rule,
    zero: Wide<S>,
    place: impl Fn(usize) -> (Wide<S>, Wide<S>),
) -> Wide<S> {
    let one = zero.same(1.0);
    let (mut even, mut odd) = (zero, zero);
    let pairs = rule.points / 2;
    for k in 0..pairs {
        let ((ta, sa), (tb, sb)) = (place(2 * k), place(2 * k + 1));
        let (ha, hb) = (q.half.madd(sa, q.mean), q.half.madd(sb, q.mean));
        let r = one / (ha * hb);
        even = term(q, zero.same(rule.w[2 * k]), ta, r * hb, shear, even);
        odd = term(q, zero.same(rule.w[2 * k + 1]), tb, r * ha, shear, odd);
    }
    if rule.points > 2 * pairs {
        let (t, s) = place(2 * pairs);
        even = term(q, zero.same(rule.w[2 * pairs]), t, one / q.half.madd(s, q.mean), shear, even);
    }
    even + odd
}

#[inline(always)]
fn term<S: Simd>(q: &Part<S>, w: Wide<S>, t: Wide<S>, r: Wide<S>, shear: Wide<S>, sum: Wide<S>) -> Wide<S> {
    let d = q.dr.madd(t, q.d0) * r;
    (w * r).madd(d.madd(d, shear), sum)
}

impl FixedCap {
    #[inline(always)]
    fn joint<S: Simd>(&self, base: Wide<S>) -> Wide<S> {
        let mut j = base.same(self.joint[4]);
        for c in self.joint[..4].iter().rev() {
            j = j.madd(base, base.same(*c));
        }
        j
    }
}

/// Numerator and denominator of what point `k` adds above the rise.
#[inline(always)]
fn above_at<S: Simd>(
    q: &Part<S>,
    ramp: &Ramp,
    cap: &FixedCap,
    rule: &Rule,
    values: Option<&[f64; MOST_POINTS]>,
    k: usize,
    zero: Wide<S>,
) -> (Wide<S>, Wide<S>) {
    let (t, v) = match values {
        Some(values) => (zero.same(rule.t[k]), zero.same(values[k])),
        None => {
            let t = q.tr.madd(zero.same(rule.t[k]), q.tm);
            (t, at(ramp, t, zero))
        }
    };
    // rounding at the cut may leave a base of less than nothing
    let base = q.half.madd(v, q.mean - zero.same(cap.rise)).max(zero);
    let (a, j) = (base + zero.same(cap.area), cap.joint(base));
    let d = q.dr.madd(t, q.d0) * a;
    (zero.same(rule.w[k]) * d.madd(d, zero.same(cap.shear) * j), a * j)
}

/// Any part of a ramp that stands above the rise: a base under the whole cap. As below, one division serves two points.
#[inline(always)]
fn above<S: Simd>(
    q: &Part<S>,
    ramp: &Ramp,
    cap: &FixedCap,
    rule: &Rule,
    values: Option<&[f64; MOST_POINTS]>,
    zero: Wide<S>,
) -> Wide<S> {
    let mut sum = zero;
    let pairs = rule.points / 2;
    for k in 0..pairs {
        let ((na, da), (nb, db)) =
            (above_at(q, ramp, cap, rule, values, 2 * k, zero), above_at(q, ramp, cap, rule, values, 2 * k + 1, zero));
        sum = sum + na.madd(db, nb * da) / (da * db);
    }
    if rule.points > 2 * pairs {
        let (n, d) = above_at(q, ramp, cap, rule, values, 2 * pairs, zero);
        sum = sum + n / d;
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
            let f = at(ramp, t, zero) - want;
            low = f.if_below(zero, t, low);
            high = f.if_below(zero, high, t);
            let next = t - f / slope(ramp, t, zero);
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
