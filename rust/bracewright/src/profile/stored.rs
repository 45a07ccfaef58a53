//! A profile in a file: its recipe, and its crest where that is another.

use serde::{Deserialize, Serialize};

use super::{Profile, Recipe};
use crate::error::{Error, Result, increasing, same_length};
use crate::mechanics::pieces::{MAX_COEFFICIENTS, Pieces, Poly};

/// As written to a file: the recipe, and the crest itself where the cuts of a plan have left the recipe behind.
#[derive(Serialize, Deserialize)]
pub(super) struct Stored {
    #[serde(flatten)]
    recipe: Recipe,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    cut: Option<Cut>,
}

#[derive(Serialize, Deserialize)]
struct Cut {
    breaks_mm: Vec<f64>,
    coefficients: Vec<Vec<f64>>,
    bounds: ((f64, f64), (f64, f64)),
}

impl TryFrom<Stored> for Profile {
    type Error = Error;
    fn try_from(stored: Stored) -> Result<Self> {
        let plain = Self::made(stored.recipe)?;
        let Some(Cut { breaks_mm, coefficients, bounds }) = stored.cut else { return Ok(plain) };
        increasing("breaks_mm of the crest", &breaks_mm, "mm", 2)?;
        same_length("breaks_mm less one", breaks_mm.len() - 1, "coefficients", coefficients.len())?;
        let (start, end) = (breaks_mm[0], breaks_mm[breaks_mm.len() - 1]);
        let sound = coefficients.iter().all(|c| (1..=MAX_COEFFICIENTS).contains(&c.len()) && c.iter().all(|v| v.is_finite()));
        if !sound || start.abs() > 1e-9 || (end - plain.length_mm()).abs() > 1e-6 {
            return Err(Error::BadList {
                name: "the stored crest".into(),
                problem: "does not run along the whole brace in finite pieces".into(),
            });
        }
        let polys = coefficients.iter().map(|c| Poly::new(c)).collect();
        Ok(Self { recipe: plain.recipe, crest: Pieces::new(breaks_mm, polys), is_cut: true, bounds })
    }
}

impl From<Profile> for Stored {
    fn from(p: Profile) -> Self {
        let as_recipe = Profile::made(p.recipe.clone()).is_ok_and(|made| made == p);
        let cut = (!as_recipe).then(|| Cut {
            breaks_mm: p.crest.breaks().to_vec(),
            coefficients: p.crest.polys().iter().map(|q| q.c[..q.n].to_vec()).collect(),
            bounds: p.bounds,
        });
        Self { recipe: p.recipe, cut }
    }
}
