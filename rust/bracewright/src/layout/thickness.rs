//! Thickness of the plate over its area.

use serde::{Deserialize, Serialize};

use super::geometry::{Point, apart};
use crate::error::{Error, Result, finite, within};
use crate::mechanics::dense::{Square, solve};

/// A band along the edge where the plate is thinned.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ThinEdge {
    /// How much thinner it is at the outline, mm.
    pub off_mm: f64,
    /// How far in from the outline that runs out, mm.
    pub over_mm: f64,
}

#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Recipe {
    /// One value and no place: even. Else one value for each place.
    thickness_mm: Vec<f64>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    at_mm: Vec<Point>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    edge: Option<ThinEdge>,
}

/// Thickness as a drawing or a gauge gives it.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(try_from = "Recipe", into = "Recipe")]
pub struct PlateThickness {
    recipe: Recipe,
    /// Weights of the bending surface, then of 1, x and y about the middle of the places, in units of `size`.
    weights: Vec<f64>,
    middle: Point,
    size: f64,
}

impl PartialEq for PlateThickness {
    fn eq(&self, other: &Self) -> bool {
        self.recipe == other.recipe
    }
}

/// Most places measured.
pub const MOST_PLACES: usize = 500;
const THINNEST_MM: f64 = 0.3;
const THICKEST_MM: f64 = 12.0;

impl TryFrom<Recipe> for PlateThickness {
    type Error = Error;
    fn try_from(r: Recipe) -> Result<Self> {
        match (r.thickness_mm.as_slice(), r.at_mm.is_empty()) {
            ([t], true) => {
                within("thickness_mm", *t, "mm", THINNEST_MM, THICKEST_MM)?;
            }
            (many, _) => {
                crate::error::same_length("thickness_mm", many.len(), "the places", r.at_mm.len())?;
                if many.is_empty() || many.len() > MOST_PLACES {
                    return Err(Error::BadList {
                        name: "thickness_mm".into(),
                        problem: format!("has {} values; it takes one for each of 1 to {MOST_PLACES} places", many.len()),
                    });
                }
                for (i, t) in many.iter().enumerate() {
                    within(&format!("thickness_mm[{i}]"), *t, "mm", THINNEST_MM, THICKEST_MM)?;
                    finite(&format!("x_mm[{i}]"), r.at_mm[i].0, "mm")?;
                    finite(&format!("y_mm[{i}]"), r.at_mm[i].1, "mm")?;
                    if let Some(j) = (0..i).find(|&j| apart(r.at_mm[i], r.at_mm[j]) < 0.1) {
                        return Err(Error::AtPlace {
                            problem: format!("places {} and {} of the thickness are the same", j + 1, i + 1),
                            x_mm: r.at_mm[i].0,
                            y_mm: r.at_mm[i].1,
                        });
                    }
                }
            }
        }
        let least = r.thickness_mm.iter().copied().fold(f64::INFINITY, f64::min);
        if let Some(e) = r.edge {
            within("edge_off_mm", e.off_mm, "mm", 0.0, least - THINNEST_MM)?;
            within("edge_over_mm", e.over_mm, "mm", 1.0, 300.0)?;
        }
        Self::fitted(r)
    }
}

impl From<PlateThickness> for Recipe {
    fn from(t: PlateThickness) -> Self {
        t.recipe
    }
}

/// Bending surface of a thin plate pushed at a point.
fn bump(r2: f64) -> f64 {
    if r2 > 0.0 { 0.5 * r2 * r2.ln() } else { 0.0 }
}

impl PlateThickness {
    /// The same everywhere.
    pub fn even(thickness_mm: f64) -> Result<Self> {
        Recipe { thickness_mm: vec![thickness_mm], at_mm: vec![], edge: None }.try_into()
    }

    /// As measured at places: the surface of a thin plate bent through the values, never beyond the least and the greatest of them.
    pub fn measured(at_mm: &[Point], thickness_mm: &[f64]) -> Result<Self> {
        if at_mm.is_empty() {
            return Err(Error::BadList { name: "x_mm".into(), problem: "is empty; give at least one place".into() });
        }
        Recipe { thickness_mm: thickness_mm.to_vec(), at_mm: at_mm.to_vec(), edge: None }.try_into()
    }

    /// Thinned by `off_mm` at the outline, running out smoothly over `over_mm`.
    pub fn with_thin_edge(&self, off_mm: f64, over_mm: f64) -> Result<Self> {
        Recipe { edge: Some(ThinEdge { off_mm, over_mm }), ..self.recipe.clone() }.try_into()
    }

    pub(crate) fn mapped(&self, f: impl Fn(Point) -> Point) -> Result<Self> {
        Recipe { at_mm: self.recipe.at_mm.iter().map(|p| f(*p)).collect(), ..self.recipe.clone() }.try_into()
    }

    /// Values as given, mm.
    pub fn values_mm(&self) -> &[f64] {
        &self.recipe.thickness_mm
    }

    /// Places as given, mm; none where it is even.
    pub fn places_mm(&self) -> &[Point] {
        &self.recipe.at_mm
    }

    /// The thinned edge.
    pub fn edge(&self) -> Option<ThinEdge> {
        self.recipe.edge
    }

    fn fitted(recipe: Recipe) -> Result<Self> {
        let at = &recipe.at_mm;
        let n = at.len();
        let mut out = Self { recipe: recipe.clone(), weights: vec![], middle: (0.0, 0.0), size: 1.0 };
        if n < 2 {
            return Ok(out);
        }
        let m = (at.iter().map(|p| p.0).sum::<f64>() / n as f64, at.iter().map(|p| p.1).sum::<f64>() / n as f64);
        let size = at.iter().map(|p| apart(*p, m)).fold(0.0, f64::max);
        let z: Vec<Point> = at.iter().map(|p| ((p.0 - m.0) / size, (p.1 - m.1) / size)).collect();
        let mean = recipe.thickness_mm.iter().sum::<f64>() / n as f64;
        let mut a = Square::zeros(n + 3);
        let mut b = vec![0.0; n + 3];
        for i in 0..n {
            b[i] = recipe.thickness_mm[i] - mean;
            for j in 0..n {
                a[(i, j)] = bump((z[i].0 - z[j].0).powi(2) + (z[i].1 - z[j].1).powi(2));
            }
            for (k, v) in [1.0, z[i].0, z[i].1].into_iter().enumerate() {
                a[(i, n + k)] = v;
                a[(n + k, i)] = v;
            }
        }
        // places on one line leave the slope across it open: the least tilt is taken
        for k in 0..3 {
            a[(n + k, n + k)] = -1e-9;
        }
        let mut w = solve(&a, &b).ok_or_else(|| {
            Error::Refused("no smooth surface goes through these places of the thickness; leave some out".into())
        })?;
        w[n] += mean;
        (out.weights, out.middle, out.size) = (w, m, size);
        Ok(out)
    }

    /// Thickness at a place that lies `depth_mm` inside the outline.
    pub fn at(&self, p: Point, depth_mm: f64) -> f64 {
        let r = &self.recipe;
        let least = r.thickness_mm.iter().copied().fold(f64::INFINITY, f64::min);
        let most = r.thickness_mm.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let n = r.at_mm.len();
        let body = if self.weights.len() == n + 3 && n > 1 {
            let z = ((p.0 - self.middle.0) / self.size, (p.1 - self.middle.1) / self.size);
            let bumps: f64 = r
                .at_mm
                .iter()
                .zip(&self.weights)
                .map(|(q, w)| w * bump(((p.0 - q.0) / self.size).powi(2) + ((p.1 - q.1) / self.size).powi(2)))
                .sum();
            (bumps + self.weights[n] + self.weights[n + 1] * z.0 + self.weights[n + 2] * z.1).clamp(least, most)
        } else {
            r.thickness_mm.iter().sum::<f64>() / r.thickness_mm.len().max(1) as f64
        };
        let off = r.edge.map_or(0.0, |e| {
            let u = (depth_mm / e.over_mm).clamp(0.0, 1.0);
            e.off_mm * 0.5 * (1.0 + (std::f64::consts::PI * u).cos())
        });
        body - off
    }
}
