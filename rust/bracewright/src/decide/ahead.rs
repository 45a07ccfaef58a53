//! One pass ahead: what is aimed at after a pass of any depth, its spread and its chances, without carrying the whole state
//! along for each depth that is tried.

use super::curves::PassCurves;
use super::hand::HandScatter;
use super::known::{BEFORE, BIAS, GIVE, Known, LAST, MODEL, MODULUS, Matrix, RATIO, REST};
use super::next::Aimed;
use crate::normal;

/// What moves with the aim: the rest of the state keeps still.
const WOOD: [usize; 3] = [MODULUS, RATIO, MODEL];
const MOVING: [usize; 4] = [BIAS, BEFORE, GIVE, REST];
/// Furthest slip of the hand looked at, in its standard deviations.
const MOST_SLIP: f64 = 5.0;

/// A state that is about to be carved.
pub(super) struct Ahead<'a> {
    now: &'a Known,
    aimed: Aimed,
    /// Covariances with the last pass joined to those before it.
    joined: Matrix,
    before_mm: f64,
    ln_own_now: f64,
    ln_load: f64,
    hand: HandScatter,
}

/// The state after a pass with some aim, before the hand's slip is known.
struct Carved {
    aim: f64,
    way: PassCurves,
    by_ratio: f64,
    ln_compliance: f64,
    /// Slip of the last pass at its mean, mm.
    last: f64,
    /// Variance of the hand's scatter as now believed, mm2.
    scatter: f64,
    /// Variance the cut adds to the model's error.
    model: f64,
}

/// Logarithm of what is aimed at, and its slopes.
struct Line {
    ln: f64,
    /// In ln own compliance.
    own: f64,
    before: f64,
    last: f64,
    give: f64,
    rest: f64,
}

impl<'a> Ahead<'a> {
    pub fn new(now: &'a Known, aimed: Aimed) -> Self {
        let mut joined = now.cov;
        for i in 0..joined.len() {
            joined[BEFORE][i] += joined[LAST][i];
        }
        for row in &mut joined {
            row[BEFORE] += row[LAST];
        }
        let ln_own_now = now.ln_own(&now.mean).0;
        Self {
            now,
            aimed,
            joined,
            before_mm: now.mean[BEFORE] + now.mean[LAST],
            ln_own_now,
            ln_load: now.curves.load_n().ln(),
            hand: now.hand_learned(),
        }
    }

    fn carved(&self, aim: f64) -> Carved {
        let n = self.now;
        let from = n.aimed_mm.1;
        let way = n.curves.pass(from, from + aim);
        let (ln_compliance, by_ratio) = way.ln_compliance(n.mean[RATIO]);
        let last = aim * n.mean[BIAS];
        let mut c =
            Carved { aim, way, by_ratio, ln_compliance, last, scatter: self.hand.squared * n.believed_scatter(aim), model: 0.0 };
        let softer = self.ln_own(&c, last).0 - self.ln_own_now;
        c.model = (n.prior.slope_doubt * softer).powi(2);
        c
    }

    /// Logarithm of the brace's own deflection, and its slopes in the slips.
    fn ln_own(&self, c: &Carved, last: f64) -> (f64, f64, f64) {
        let m = &self.now.mean;
        let (slipped, by_before, by_last) = c.way.slipped(self.before_mm, last);
        (self.ln_load + c.ln_compliance + slipped - m[MODULUS] + m[MODEL], by_before, by_last)
    }

    fn line(&self, c: &Carved, last: f64) -> Line {
        let (ln, before, by_last) = self.ln_own(c, last);
        if self.aimed == Aimed::Brace {
            return Line { ln, own: 1.0, before, last: by_last, give: 0.0, rest: 0.0 };
        }
        let load = self.now.curves.load_n();
        let alone = ln.exp();
        let share = 1.0 / (1.0 + alone / load * self.now.mean[REST].max(0.0));
        let own = alone * share;
        let value = own + load * self.now.mean[GIVE].max(0.0);
        let by_own = own * share / value;
        Line {
            ln: value.ln(),
            own: by_own,
            before: by_own * before,
            last: by_own * by_last,
            give: load / value,
            rest: -own * share * alone / load / value,
        }
    }

    /// Variance along a line, the hand's scatter left out.
    fn variance(&self, c: &Carved, l: &Line) -> f64 {
        // the wood's three go together, so they are one row
        let wood = [-1.0, c.by_ratio, 1.0];
        let slope = [c.aim * l.last, l.before, l.give, l.rest];
        let mut v = 0.0;
        for (i, a) in WOOD.iter().enumerate() {
            let row = &self.joined[*a];
            let own: f64 = WOOD.iter().zip(wood).map(|(b, s)| row[*b] * s).sum();
            let moved: f64 = MOVING.iter().zip(slope).map(|(b, s)| row[*b] * s).sum();
            v += wood[i] * l.own * (l.own * own + 2.0 * moved);
        }
        for (i, a) in MOVING.iter().enumerate() {
            let row = &self.joined[*a];
            v += slope[i] * MOVING.iter().zip(slope).map(|(b, s)| row[*b] * s).sum::<f64>();
        }
        v + l.own * l.own * c.model
    }

    /// Logarithm of what is aimed at along the middle of what is expected, and its standard deviation.
    pub fn middle(&self, aim: f64) -> (f64, f64) {
        let c = self.carved(aim);
        let l = self.line(&c, c.last);
        (l.ln, (self.variance(&c, &l) + l.last * l.last * c.scatter).max(0.0).sqrt())
    }

    /// Chance of being past a limit after a pass with this aim. Straight lines are drawn where the hand's slip would meet the
    /// limit, not at its mean: a slip softens the more the further it goes; the hand's scatter is drawn from three points of its
    /// law.
    pub fn past(&self, aim: f64, limit_mm: f64) -> f64 {
        let c = self.carved(aim);
        let limit = limit_mm.ln();
        let bias = aim * aim * self.joined[BIAS][BIAS].max(0.0);
        let factors = self.hand.factors().map(|(weight, factor)| {
            let scatter = c.scatter * factor;
            (weight, scatter, MOST_SLIP * (bias + scatter).sqrt())
        });
        let (slip, line) = self.meeting(&c, limit, factors[2].2);
        let rest = self.variance(&c, &line);
        factors
            .iter()
            .map(|&(weight, scatter, most)| {
                let chance = |slip: f64, l: &Line, rest: f64| {
                    tail(l.ln - slip * l.last - limit, (rest + l.last * l.last * scatter).max(0.0).sqrt())
                };
                weight
                    * if slip.abs() <= most {
                        chance(slip, &line, rest)
                    } else {
                        let slip = slip.clamp(-most, most);
                        let l = self.line(&c, c.last + slip);
                        chance(slip, &l, self.variance(&c, &l))
                    }
            })
            .sum()
    }

    /// The slip of the hand that meets a limit, no further than `most` either way, and the line there.
    fn meeting(&self, c: &Carved, limit: f64, most: f64) -> (f64, Line) {
        let mut slip = 0.0;
        let mut l = self.line(c, c.last);
        for _ in 0..6 {
            if most * l.last <= 1e-12 {
                break;
            }
            let next = (slip + (limit - l.ln) / l.last).clamp(-most, most);
            let moved = (next - slip).abs();
            slip = next;
            l = self.line(c, c.last + slip);
            if moved < 1e-4 * most {
                break;
            }
        }
        (slip, l)
    }

    /// Chance that more than this depth is off in all after a pass with this aim.
    pub fn deeper(&self, aim: f64, depth_mm: f64) -> f64 {
        let n = self.now;
        let mean = n.aimed_mm.1 + self.before_mm + aim * (1.0 + n.mean[BIAS]) - depth_mm;
        let j = &self.joined;
        let own = j[BEFORE][BEFORE] + 2.0 * aim * j[BEFORE][BIAS] + aim * aim * j[BIAS][BIAS];
        let scatter = self.hand.squared * n.believed_scatter(aim);
        self.hand.factors().iter().map(|(w, f)| w * tail(mean, (own + f * scatter).max(0.0).sqrt())).sum()
    }
}

/// Chance of lying above 0 by this mean and standard deviation.
pub(super) fn tail(mean: f64, sd: f64) -> f64 {
    if sd > 0.0 { normal::cdf(mean / sd) } else { f64::from(u8::from(mean > 0.0)) }
}

/// Normal quantile of a chance, held off 0 and 1.
pub(super) fn in_deviations(chance: f64) -> f64 {
    normal::quantile(chance.clamp(1e-300, 1.0 - 1e-15)).unwrap_or(0.0)
}

/// Greatest x from 0 to `end` at which a falling `room` is not below 0: 0 where there is none. False position with the stale
/// end's value halved (Illinois), which is quick on the nearly straight lines met here.
pub(super) fn greatest(room: impl Fn(f64) -> f64, end: f64) -> f64 {
    if end <= 0.0 {
        return 0.0;
    }
    let (mut lo, mut at_lo) = (1e-9_f64.min(0.5 * end), 0.0);
    at_lo += room(lo);
    if at_lo < 0.0 {
        return 0.0;
    }
    let (mut hi, mut at_hi) = (end, room(end));
    if at_hi >= 0.0 {
        return end;
    }
    let mut stale = 0;
    for k in 0..60 {
        if hi - lo < 1e-6 * end {
            break;
        }
        // now and then a halving, so that a bent line does not creep
        let x = if k % 8 == 7 || at_lo - at_hi <= 0.0 { 0.5 * (lo + hi) } else { lo + (hi - lo) * at_lo / (at_lo - at_hi) };
        let x = x.clamp(lo + 1e-3 * (hi - lo), hi - 1e-3 * (hi - lo));
        let f = room(x);
        if f >= 0.0 {
            (lo, at_lo) = (x, f);
            at_hi *= if stale == 1 { 0.5 } else { 1.0 };
            stale = 1;
            // a millionth of a deviation, or of a logarithm
            if f < 1e-6 {
                break;
            }
        } else {
            (hi, at_hi) = (x, f);
            at_lo *= if stale == -1 { 0.5 } else { 1.0 };
            stale = -1;
        }
    }
    lo
}

#[cfg(test)]
mod tests {
    use super::greatest;

    #[test]
    fn greatest_is_where_the_room_ends() {
        assert!((greatest(|x| 1.0 - x, 3.0) - 1.0).abs() < 1e-5);
        assert!((greatest(|x| 0.3 - x.powi(5), 3.0) - 0.3_f64.powf(0.2)).abs() < 1e-5);
        assert!((greatest(|x| (2.0 - x).cbrt(), 3.0) - 2.0).abs() < 1e-5);
        assert_eq!(greatest(|x| 5.0 - x, 3.0), 3.0);
        assert_eq!(greatest(|x| -1.0 - x, 3.0), 0.0);
    }
}
