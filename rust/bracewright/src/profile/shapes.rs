//! The curves a profile is made of.

use serde::{Deserialize, Serialize};

use super::{Profile, Scallop, ShapeChecks};
use crate::error::{Error, Result, number, unknown_name};
use crate::mechanics::pieces::{Pieces, Poly};

/// How a ramp goes from one height to another; S(u) with S(0) = 0 and S(1) = 1.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Blend {
    /// S = u.
    Straight,
    /// S = (1 - cos pi u) / 2.
    Cosine,
    /// S = 3 u^2 - 2 u^3.
    Cubic,
    /// S = 10 u^3 - 15 u^4 + 6 u^5.
    Quintic,
    /// A circular arc, level where it meets the body: for end ramps.
    Arc,
}

/// The floor of a scallop; B(v) with B(0) = 1 and B(+-1) = 0.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum ScallopShape {
    /// Circular arc: meets the crest at a corner.
    Arc,
    /// (1 + cos pi v) / 2.
    Cosine,
    /// 1 - 3 v^2 + 2 |v|^3.
    Cubic,
    /// (1 - v^2)^2.
    Quartic,
    /// 1 - 10 |v|^3 + 15 v^4 - 6 |v|^5: flat floor.
    Quintic,
}

impl Blend {
    /// Every blend.
    pub const ALL: [Self; 5] = [Self::Straight, Self::Cosine, Self::Cubic, Self::Quintic, Self::Arc];

    /// Its word.
    pub fn name(self) -> &'static str {
        match self {
            Self::Straight => "straight",
            Self::Cosine => "cosine",
            Self::Cubic => "cubic",
            Self::Quintic => "quintic",
            Self::Arc => "arc",
        }
    }
}

impl ScallopShape {
    /// Every shape.
    pub const ALL: [Self; 5] = [Self::Arc, Self::Cosine, Self::Cubic, Self::Quartic, Self::Quintic];

    /// Its word.
    pub fn name(self) -> &'static str {
        match self {
            Self::Arc => "arc",
            Self::Cosine => "cosine",
            Self::Cubic => "cubic",
            Self::Quartic => "quartic",
            Self::Quintic => "quintic",
        }
    }
}

/// sin(pi t / 2) as powers of t: the half-cosine on [-1, 1], Taylor to 1e-17.
fn half_cosine() -> Poly {
    let mut c = [0.0; 20];
    let q = std::f64::consts::FRAC_PI_2;
    let mut term = q;
    for k in (1..20).step_by(2) {
        c[k] = term;
        term *= -q * q / ((k + 1) * (k + 2)) as f64;
    }
    Poly { n: 20, c }
}

impl std::str::FromStr for Blend {
    type Err = Error;
    fn from_str(s: &str) -> Result<Self> {
        Self::ALL
            .into_iter()
            .find(|b| b.name() == s.trim().to_lowercase())
            .ok_or_else(|| unknown_name("blend", s, Self::ALL.map(|b| b.name())))
    }
}

impl std::str::FromStr for ScallopShape {
    type Err = Error;
    fn from_str(s: &str) -> Result<Self> {
        Self::ALL
            .into_iter()
            .find(|b| b.name() == s.trim().to_lowercase())
            .ok_or_else(|| unknown_name("shape", s, Self::ALL.map(|b| b.name())))
    }
}

/// The ramp from -1 (t = -1) to +1 (t = 1) of a blend.
fn ramp(blend: Blend) -> Poly {
    match blend {
        Blend::Straight | Blend::Arc => Poly::new(&[0.0, 1.0]),
        Blend::Cosine => half_cosine(),
        // 2 S((1 + t) / 2) - 1
        Blend::Cubic => Poly::new(&[0.0, 1.5, 0.0, -0.5]),
        Blend::Quintic => Poly::new(&[0.0, 1.875, 0.0, -1.25, 0.0, 0.375]),
    }
}

impl Blend {
    /// The ramp as an odd polynomial, for lots of shapes.
    pub(crate) fn odd(self) -> crate::mechanics::blend::Ramp {
        crate::mechanics::blend::Ramp::from_powers(&ramp(self).c)
    }
}

fn scaled(p: &Poly, left: f64, right: f64) -> Poly {
    let mut out = *p;
    for c in &mut out.c {
        *c *= 0.5 * (right - left);
    }
    out.c[0] += 0.5 * (left + right);
    out
}

/// Through points with a blend for each interval.
pub(crate) fn through(at: &[f64], height: &[f64], blend: &[Blend]) -> Pieces {
    let polys = (0..blend.len())
        .map(|i| {
            let (l, r) = (height[i], height[i + 1]);
            if l == r { Poly::new(&[l]) } else { scaled(&ramp(blend[i]), l, r) }
        })
        .collect();
    Pieces::new(at.to_vec(), polys)
}

/// Two half parabolas, level at the peak.
pub(crate) fn parabola(length: f64, peak: f64, left: f64, right: f64, at: f64) -> Pieces {
    // on [0, at]: h = peak - (peak - left) s^2, s = (1 - t) / 2 from the peak
    let side = |end: f64, sign: f64| {
        let d = peak - end;
        Poly::new(&[peak - 0.25 * d, -sign * 0.5 * d, -0.25 * d])
    };
    Pieces::new(vec![0.0, at, length], vec![side(left, -1.0), side(right, 1.0)])
}

/// Monotone cubic through stations.
pub(crate) fn monotone(at: &[f64], height: &[f64]) -> Pieces {
    let n = at.len();
    let step: Vec<f64> = at.windows(2).map(|w| w[1] - w[0]).collect();
    let rise: Vec<f64> = (0..n - 1).map(|i| (height[i + 1] - height[i]) / step[i]).collect();
    let mut slope = vec![0.0; n];
    if n == 2 {
        slope = vec![rise[0]; 2];
    } else {
        for i in 1..n - 1 {
            if rise[i - 1] * rise[i] > 0.0 {
                let (w1, w2) = (2.0 * step[i] + step[i - 1], step[i] + 2.0 * step[i - 1]);
                slope[i] = (w1 + w2) / (w1 / rise[i - 1] + w2 / rise[i]);
            }
        }
        slope[0] = end_slope(step[0], step[1], rise[0], rise[1]);
        slope[n - 1] = end_slope(step[n - 2], step[n - 3], rise[n - 2], rise[n - 3]);
    }
    let polys = (0..n - 1)
        .map(|i| {
            let (h0, h1, m0, m1) = (height[i], height[i + 1], 0.5 * step[i] * slope[i], 0.5 * step[i] * slope[i + 1]);
            // Hermite cubic on [-1, 1]
            Poly::new(&[
                0.5 * (h0 + h1) + 0.25 * (m0 - m1),
                0.75 * (h1 - h0) - 0.25 * (m0 + m1),
                0.25 * (m1 - m0),
                0.25 * (h0 - h1) + 0.25 * (m0 + m1),
            ])
        })
        .collect();
    Pieces::new(at.to_vec(), polys)
}

/// One-sided three-point slope, kept monotone.
fn end_slope(h0: f64, h1: f64, d0: f64, d1: f64) -> f64 {
    let s = ((2.0 * h0 + h1) * d0 - h0 * d1) / (h0 + h1);
    if s * d0 <= 0.0 {
        0.0
    } else if d0 * d1 <= 0.0 && s.abs() > 3.0 * d0.abs() {
        3.0 * d0
    } else {
        s
    }
}

/// The crest with one end brought down: e + (h - e) S(x / a).
pub(crate) fn end_ramp(crest: &Pieces, length: f64, height: f64, blend: Blend, at_left: bool) -> Result<Pieces> {
    if !at_left {
        return Ok(end_ramp(&crest.mirrored(), length, height, blend, true)?.mirrored());
    }
    let (a, b) = (crest.start(), crest.end());
    let join = a + length;
    let s: Box<dyn Fn(f64) -> f64> = if blend == Blend::Arc {
        // an arc level at the join: S(u) = (sqrt(R^2 - (1-u)^2 a^2) - R + d) / d with d the drop there
        let d = crest.at(join) - height;
        if d <= 0.0 {
            Box::new(|_| 1.0)
        } else {
            if d >= length {
                return Err(Error::Refused(format!(
                    "an arc that drops {} mm over {} mm would be steeper than upright; give it more length or another blend",
                    number(d),
                    number(length)
                )));
            }
            let r = (length * length + d * d) / (2.0 * d);
            // written without the difference of two large numbers
            Box::new(move |u: f64| {
                let y = (1.0 - u) * length;
                1.0 - y * y / (r + (r * r - y * y).max(0.0).sqrt()) / d
            })
        }
    } else {
        let p = ramp(blend);
        Box::new(move |u: f64| 0.5 * (1.0 + p.at(2.0 * u - 1.0)))
    };
    let mut breaks: Vec<f64> = crest.breaks().iter().copied().filter(|x| *x < join - 1e-9).collect();
    breaks.push(join.min(b));
    let scale = crest.extremes(a, join.min(b)).1.1.max(1.0);
    let part = Pieces::fit(&breaks, 1e-13 * scale, |x| height + (crest.at(x) - height) * s((x - a) / length));
    if join >= b - 1e-9 {
        return Ok(part);
    }
    let rest = crest.between(join, b);
    let mut all = part.breaks().to_vec();
    all.extend_from_slice(&rest.breaks()[1..]);
    let mut polys = part.polys().to_vec();
    polys.extend_from_slice(rest.polys());
    Ok(Pieces::new(all, polys))
}

/// Depth curve of half a scallop on [-1, 1], from 0 at the rim (t = -1) to 1 at the floor (t = 1).
fn half_scallop(shape: ScallopShape, depth: f64, half_length: f64) -> Pieces {
    // v = (1 - t) / 2 runs from 1 at the rim to 0 at the floor
    let powers = |c: &[f64]| Pieces::new(vec![-1.0, 1.0], vec![Poly::new(c).rebased(0.5, -0.5)]);
    match shape {
        ScallopShape::Cosine => Pieces::new(vec![-1.0, 1.0], vec![scaled(&half_cosine(), 0.0, 1.0)]),
        ScallopShape::Cubic => powers(&[1.0, 0.0, -3.0, 2.0]),
        ScallopShape::Quartic => powers(&[1.0, 0.0, -2.0, 0.0, 1.0]),
        ScallopShape::Quintic => powers(&[1.0, 0.0, 0.0, -10.0, 15.0, -6.0]),
        ScallopShape::Arc => {
            let r = (half_length * half_length + depth * depth) / (2.0 * depth);
            Pieces::fit(&[-1.0, 1.0], 1e-14, |t| {
                let x = 0.5 * (1.0 - t) * half_length;
                1.0 - x * x / (r + (r * r - x * x).max(0.0).sqrt()) / depth
            })
        }
    }
}

/// The crest with one scallop taken out.
pub(crate) fn scalloped(crest: &Pieces, s: &Scallop, k: usize) -> Result<Pieces> {
    if s.depth_mm == 0.0 {
        return Ok(crest.clone());
    }
    if s.shape == ScallopShape::Arc && s.depth_mm >= 0.95 * s.left_mm.min(s.right_mm) {
        return Err(Error::OutOfRange {
            quantity: format!("depth_mm of scallop {k}"),
            value: s.depth_mm,
            unit: "mm",
            allowed: format!(
                "below {} mm: an arc cannot be deeper than it is long on each side",
                number(0.95 * s.left_mm.min(s.right_mm))
            ),
        });
    }
    Ok(crest.combined(&dip(crest.start(), crest.end(), s), 1.0, -s.depth_mm))
}

/// What a scallop takes at each place for one millimetre of its depth: 1 at its floor, 0 beyond its rims.
pub(crate) fn dip(a: f64, b: f64, s: &Scallop) -> Pieces {
    let (left, right) = (half_scallop(s.shape, s.depth_mm, s.left_mm), half_scallop(s.shape, s.depth_mm, s.right_mm).mirrored());
    let mut breaks = vec![a];
    let mut polys = Vec::new();
    let mut push = |x: f64, p: Poly| {
        if let Some(&last) = breaks.last()
            && x > last + 1e-9
        {
            breaks.push(x);
            polys.push(p);
        }
    };
    push((s.at_mm - s.left_mm).max(a), Poly::new(&[0.0]));
    for (half, from, length) in [(&left, s.at_mm - s.left_mm, s.left_mm), (&right, s.at_mm, s.right_mm)] {
        for (i, p) in half.polys().iter().enumerate() {
            push((from + 0.5 * length * (1.0 + half.breaks()[i + 1])).min(b), *p);
        }
    }
    push(b, Poly::new(&[0.0]));
    Pieces::new(breaks, polys)
}

/// Hollows, walls and floors.
pub(crate) fn checks(p: &Profile, gouge: Option<f64>, wall: Option<f64>, floor: Option<f64>) -> ShapeChecks {
    let crest = p.crest();
    let (b0, b1) = p.body_mm();
    let mut tightest: Option<(f64, f64)> = None;
    let mut steepest = (0.0, 0.0);
    let note = |r: f64, x: f64, t: &mut Option<(f64, f64)>| {
        if t.is_none_or(|(old, _)| r < old) {
            *t = Some((r, x));
        }
    };
    let b = crest.breaks();
    for i in 0..b.len() - 1 {
        let half = 0.5 * (b[i + 1] - b[i]);
        let poly = &crest.polys()[i];
        let curve = Poly::new(
            &(2..poly.n.max(3)).map(|k| if k < poly.n { (k * (k - 1)) as f64 * poly.c[k] } else { 0.0 }).collect::<Vec<_>>(),
        );
        for k in 0..=48 {
            let t = -1.0 + k as f64 / 24.0;
            let (slope, second) = (poly.slope(t) / half, curve.at(t) / (half * half));
            let x = b[i] + half * (1.0 + t);
            if slope.abs() > f64::tan(f64::to_radians(steepest.0)) {
                steepest = (slope.abs().atan().to_degrees(), x);
            }
            if second > 1e-9 && x >= b0 && x <= b1 {
                note((1.0 + slope * slope).powf(1.5) / second, x, &mut tightest);
            }
        }
        if i > 0 {
            let (l, r) = (crest.at_from(b[i], 0.5 * (b[i - 1] + b[i])).1, crest.at_from(b[i], 0.5 * (b[i] + b[i + 1])).1);
            // the end ramps' own corners are sawn or planed, not gouged
            if r - l > 1e-3 && b[i] > b0 + 1e-6 && b[i] < b1 - 1e-6 {
                note(0.0, b[i], &mut tightest);
            }
        }
    }
    let low = crest.extremes(b0, b1).0;
    let lowest = (low.1, low.0);
    let (mut bad, mut good) = (Vec::new(), Vec::new());
    if let Some((r, x)) = tightest {
        let text = format!("the tightest hollow has a radius of {r:.0} mm, at x = {x:.0} mm");
        match gouge {
            Some(g) if r < g => bad.push(format!("{text}: a gouge or drum of {} mm does not fit into it", number(g))),
            Some(g) => good.push(format!("{text}: a gouge or drum of {} mm fits", number(g))),
            None => good.push(text),
        }
    }
    let run_out = f64::tan(f64::to_radians(steepest.0));
    let text = format!(
        "the steepest wall is {:.1} degrees, at x = {:.0} mm{}",
        steepest.0,
        steepest.1,
        if run_out > 1e-3 { format!(": grain runs out 1 in {:.1} there", 1.0 / run_out) } else { String::new() }
    );
    match wall {
        Some(w) if steepest.0 > w => bad.push(format!("{text}; more than the {} degrees allowed", number(w))),
        _ => good.push(text),
    }
    let text = format!("the lowest floor is {:.2} mm, at x = {:.0} mm", lowest.0, lowest.1);
    match floor {
        Some(f) if lowest.0 < f => bad.push(format!("{text}; below the smallest safe height of {} mm", number(f))),
        _ => good.push(text),
    }
    let ok = bad.is_empty();
    bad.extend(good);
    ShapeChecks { tightest_hollow_mm: tightest, steepest_wall_deg: steepest, lowest_floor_mm: lowest, words: bad, ok }
}
