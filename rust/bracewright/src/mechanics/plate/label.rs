//! What a mode of a free plate is called: how many nodal lines cross its length and its width.

use std::fmt;
use std::str::FromStr;

use super::{Plate, PlateMode};
use crate::error::Error;

/// Nodal lines: `across` lie across the length (x), `along` run along it. (1, 1) is the twist, (2, 0) the first bending of the
/// length, (0, 2) the first bending of the width.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize, serde::Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Label {
    /// Lines that cross the length.
    pub across: usize,
    /// Lines that run along the length.
    pub along: usize,
}

impl fmt::Display for Label {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{},{}", self.across, self.along)
    }
}

impl FromStr for Label {
    type Err = Error;

    fn from_str(text: &str) -> Result<Self, Error> {
        let wrong = || Error::UnknownName {
            what: "label".into(),
            given: text.into(),
            allowed: "two whole numbers from 0 to 6 and a comma, at least 2 together, as \"1,1\", \"2,0\", \"0,2\"".into(),
        };
        let (a, b) = text.split_once(',').ok_or_else(wrong)?;
        let read = |s: &str| s.trim().parse::<usize>().ok().filter(|n| *n <= MOST).ok_or_else(wrong);
        let label = Self { across: read(a)?, along: read(b)? };
        if label.across + label.along >= 2 { Ok(label) } else { Err(wrong()) }
    }
}

impl TryFrom<String> for Label {
    type Error = Error;

    fn try_from(text: String) -> Result<Self, Error> {
        text.parse()
    }
}

impl From<Label> for String {
    fn from(label: Label) -> Self {
        label.to_string()
    }
}

/// A label and how much of the shape it is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NamedShape {
    /// The label.
    pub label: Label,
    /// Share of the shape's square, 0 to 1, that the product of the two free bars' shapes accounts for.
    pub share: f64,
}

/// Most nodal lines looked for in one direction.
const MOST: usize = 6;

impl Plate {
    /// Labels of a mode, the largest share first: its projections on products of free bars' shapes.
    pub fn labels(&self, mode: &PlateMode) -> Vec<NamedShape> {
        let [x0, x1, y0, y1] = self.bounds();
        let (mut dot, mut own) = ([[0.0; MOST + 1]; MOST + 1], [[0.0; MOST + 1]; MOST + 1]);
        let mut all = 0.0;
        for p in &self.points {
            let w = self.deflection(mode, p.x, p.y);
            let (a, b) = ((p.x - x0) / (x1 - x0), (p.y - y0) / (y1 - y0));
            let (a, b): ([f64; MOST + 1], [f64; MOST + 1]) =
                (std::array::from_fn(|m| free_bar(m, a)), std::array::from_fn(|n| free_bar(n, b)));
            all += p.weight * w * w;
            for m in 0..=MOST {
                for n in 0..=MOST {
                    let f = a[m] * b[n];
                    dot[m][n] += p.weight * w * f;
                    own[m][n] += p.weight * f * f;
                }
            }
        }
        let mut out = Vec::new();
        for across in 0..=MOST {
            for along in 0..=MOST {
                if across + along >= 2 {
                    let share = dot[across][along].powi(2) / (own[across][along] * all);
                    out.push(NamedShape { label: Label { across, along }, share });
                }
            }
        }
        out.sort_by(|a, b| b.share.total_cmp(&a.share));
        out
    }
}

/// Shape with `nodes` nodes of a free uniform bar at s in 0..1 (Euler-Bernoulli; the first two are its rigid motions).
fn free_bar(nodes: usize, s: f64) -> f64 {
    match nodes {
        0 => 1.0,
        1 => 2.0 * s - 1.0,
        _ => {
            let k = nodes as f64 - 1.0;
            // roots of cos b cosh b = 1; (k + 1/2) pi is right to 1e-3 from the second on
            let b = if nodes == 2 { 4.730_040_744_86 } else { (k + 0.5) * std::f64::consts::PI };
            let u = b * (s - 0.5);
            let h = 0.5 * b;
            // symmetric shapes are cos and cosh about the middle, the others sin and sinh
            if nodes.is_multiple_of(2) {
                u.cos() / h.cos() + u.cosh() / h.cosh()
            } else {
                u.sin() / h.sin() + u.sinh() / h.sinh()
            }
        }
    }
}
