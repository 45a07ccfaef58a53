//! Where braces cross: found from their lines, each with the lap that the drawing must give it.

use super::geometry::{Point, centroid, cross, crossing, dot};
use super::lap::{Crossing, LapAt};
use super::place::PlacedBrace;
use crate::error::{Error, Result};

/// Sharpest angle at which a half-lap can be cut, degrees.
const SHARPEST_DEG: f64 = 10.0;
/// Wood of two braces that share less of the top than this touches and does not cross, mm2.
const TOUCHING_MM2: f64 = 0.05;

fn at(problem: String, p: Point) -> Error {
    Error::AtPlace { problem, x_mm: p.0, y_mm: p.1 }
}

pub(super) fn found(braces: &[PlacedBrace], laps: &[LapAt]) -> Result<Vec<Crossing>> {
    let find = |name: &str| {
        braces
            .iter()
            .position(|b| b.name == name)
            .ok_or_else(|| crate::error::unknown_name("a brace of a lap", name, braces.iter().map(|b| b.name.as_str())))
    };
    let mut pairs = Vec::new();
    for lap in laps {
        lap.clone().checked()?;
        let (crest, glue) = (find(&lap.crest_cut)?, find(&lap.glue_cut)?);
        if crest == glue {
            return Err(Error::Refused(format!("{:?} cannot be lapped with itself", lap.crest_cut)));
        }
        if pairs.iter().any(|&(c, g, _)| (c, g) == (crest, glue) || (g, c) == (crest, glue)) {
            return Err(Error::Refused(format!("{} and {} are lapped twice; once is enough", lap.crest_cut, lap.glue_cut)));
        }
        pairs.push((crest, glue, lap.cap_mm));
    }
    for (i, b) in braces.iter().enumerate() {
        for other in [&b.at_start, &b.at_end].into_iter().filter_map(|e| e.other()) {
            let known = || crate::error::unknown_name("the brace another ends on", other, braces.iter().map(|b| b.name.as_str()));
            let j = braces.iter().position(|o| o.name == other).ok_or_else(known)?;
            if i == j {
                return Err(Error::Refused(format!("{} cannot end on itself", b.name)));
            }
        }
    }
    let mut out = Vec::new();
    for i in 0..braces.len() {
        for j in i + 1..braces.len() {
            let (a, b) = (&braces[i], &braces[j]);
            let lap = pairs.iter().find(|&&(c, g, _)| (c, g) == (i, j) || (c, g) == (j, i));
            let meet = crossing(a.start_mm, a.end_mm, b.start_mm, b.end_mm);
            let shared = a.bar().common(&b.bar());
            let joined = |p: &PlacedBrace, q: &PlacedBrace| [&p.at_start, &p.at_end].iter().any(|e| e.other() == Some(&q.name));
            match (lap, meet) {
                (Some(&(crest_cut, _, cap_mm)), Some((t, u))) => {
                    let (ua, ub) = (a.bar().way(), b.bar().way());
                    let sine = cross(ua, ub).abs();
                    let angle_deg = sine.atan2(dot(ua, ub).abs()).to_degrees();
                    let p = a.at(t * a.length_mm());
                    if angle_deg < SHARPEST_DEG {
                        return Err(at(
                            format!(
                                "{} and {} cross at {angle_deg:.1} degrees; a half-lap needs at least {SHARPEST_DEG} degrees",
                                a.name, b.name
                            ),
                            p,
                        ));
                    }
                    let crossing = Crossing {
                        first: i,
                        second: j,
                        crest_cut,
                        x_mm: p.0,
                        y_mm: p.1,
                        angle_deg,
                        along_first_mm: t * a.length_mm(),
                        along_second_mm: u * b.length_mm(),
                        notch_first_mm: b.width_mm() / sine,
                        notch_second_mm: a.width_mm() / sine,
                        cap_mm,
                    };
                    for (brace, along, notch) in [
                        (a, crossing.along_first_mm, crossing.notch_first_mm),
                        (b, crossing.along_second_mm, crossing.notch_second_mm),
                    ] {
                        if along < 0.5 * notch || along > brace.length_mm() - 0.5 * notch {
                            return Err(at(
                                format!(
                                    "the lap of {} and {} runs off the end of {}; end it on the other brace instead",
                                    a.name, b.name, brace.name
                                ),
                                p,
                            ));
                        }
                    }
                    out.push(crossing);
                }
                (Some(_), None) => {
                    return Err(at(format!("{} and {} are to be lapped but do not cross", a.name, b.name), a.bar().middle()));
                }
                (None, _) if joined(a, b) || joined(b, a) => {}
                (None, _) if super::geometry::signed_area(&shared).abs() > TOUCHING_MM2 => {
                    return Err(at(
                        format!(
                            "{} and {} lie on the same place without a lap; lap them, end one on the other, or move one",
                            a.name, b.name
                        ),
                        centroid(&shared),
                    ));
                }
                (None, _) => {}
            }
        }
    }
    for (i, b) in braces.iter().enumerate() {
        let mut notches: Vec<(f64, f64, &Crossing)> = out
            .iter()
            .filter_map(|c: &Crossing| match i {
                _ if c.first == i => Some((c.along_first_mm, c.notch_first_mm, c)),
                _ if c.second == i => Some((c.along_second_mm, c.notch_second_mm, c)),
                _ => None,
            })
            .collect();
        notches.sort_by(|a, b| a.0.total_cmp(&b.0));
        if let Some(w) = notches.windows(2).find(|w| w[1].0 - w[0].0 < 0.5 * (w[0].1 + w[1].1)) {
            return Err(at(format!("two laps of {} run into one another", b.name), (w[1].2.x_mm, w[1].2.y_mm)));
        }
    }
    Ok(out)
}
