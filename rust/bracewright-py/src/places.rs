//! Twin of `decide/places`: where to cut, towards several goals at once.

use bracewright::belief::Hand;
use bracewright::decide::{self, GoalAhead, Place, PlaceLimits, PlaceWorth, WhereToCut};
use pyo3::prelude::*;

use crate::argument::{may, need};
use crate::brace::PyBrace;
use crate::error::Result;
use crate::goal::PyGoal;
use crate::value::record;

record! {
    /// A stretch of the crest that may be lowered: a layer run out to nothing at both ends.
    PyPlace, "Place", Place {
        /// Its name.
        name;
        /// Left end, mm.
        from_mm;
        /// Right end, mm.
        to_mm;
    }
}

#[pymethods]
impl PyPlace {
    #[new]
    #[pyo3(signature = (name, *, from_mm, to_mm))]
    fn new(
        name: String,
        #[pyo3(from_py_with = need::from_mm)] from_mm: f64,
        #[pyo3(from_py_with = need::to_mm)] to_mm: f64,
    ) -> Result<Self> {
        bracewright::error::not_negative("from_mm", from_mm, "mm")?;
        bracewright::error::within("to_mm", to_mm, "mm", from_mm + 5.0, 10_000.0)?;
        Ok(Self(Place { name, from_mm, to_mm }))
    }
}

record! {
    /// What one place takes and gives.
    PyPlaceWorth, "PlaceWorth", PlaceWorth {
        /// The place.
        name;
        /// Left end of its layer, mm: where a place has no height or strength to give, its layer runs out before it.
        from_mm;
        /// Right end of its layer, mm.
        to_mm;
        /// Change of each goal's quantity by a mm there, percent.
        percent_per_mm;
        /// Grams by a mm there.
        grams_per_mm;
        /// Change of the first goal's quantity by a gram there, percent.
        percent_per_gram;
        /// How deep it may go by itself, by height and strength, mm; layers that overlap share it.
        room_mm;
        /// True when strength, not height, ends it.
        held_by_strength;
        /// How deep to aim now, mm; the hand takes its bias more.
        take_mm;
    }
}

record! {
    /// One goal before and after a pass.
    PyGoalAhead, "GoalAhead", GoalAhead {
        /// The quantity.
        quantity;
        /// Its unit.
        unit;
        /// As it stands.
        now;
        /// After this pass.
        after;
        /// Low end.
        low;
        /// High end.
        high;
        /// Chance of being past its line for good after this pass.
        chance_past;
        /// Chance of being in its window after this pass.
        chance_in_window;
    }
}

record! {
    /// Where to cut now, and what comes of it. Estimates from a beam model; it certifies nothing.
    PyWhereToCut, "WhereToCut", WhereToCut {
        /// The places, that which gives most per gram first.
        places;
        /// The goals.
        goals;
        /// Grams off in this pass.
        grams;
        /// The brace after it.
        after;
        /// True when there is nothing to take.
        stop;
        /// In a few sentences.
        words;
    }
}

/// Where to cut now: which of several places, and how deep, towards all goals at once with little wood off.
///
/// goals: from rig.between, Goal.stiffness, Goal.frequency and Goal.mass. places: the brace's usual ones when left out (each
/// scallop, each end, the whole crest). No goal goes past its line for good (softer than the window, lighter, lower) with more
/// than the chance `overshoot`, given that the brace's stiffness is known to stiffness_ln and the hand takes bias_fraction more
/// than its aim and scatters by scatter_fraction of it and scatter_mm. All cuts together are nowhere deeper than
/// deepest_pass_mm, leave no less than smallest_height_mm and, with working_moment_n_m, no less strength
/// (bending_strength_mpa, or the wood's own) than least_margin times the stress. No cut is thinner than smallest_shaving_mm,
/// and none is advised once every goal is in its window with the chance `enough`.
#[pyfunction]
#[pyo3(signature = (brace, goals, *, places=None, overshoot=0.02, stiffness_ln=0.01, bias_fraction=0.0, scatter_fraction=0.1,
    scatter_mm=0.1, enough=0.9, deepest_pass_mm=1.0, smallest_shaving_mm=0.15, smallest_height_mm=3.0, working_moment_n_m=None, bending_strength_mpa=None,
    least_margin=4.0))]
pub fn where_to_cut(
    py: Python<'_>,
    brace: &PyBrace,
    goals: Vec<PyRef<'_, PyGoal>>,
    places: Option<Vec<PyRef<'_, PyPlace>>>,
    #[pyo3(from_py_with = need::overshoot)] overshoot: f64,
    #[pyo3(from_py_with = need::stiffness_ln)] stiffness_ln: f64,
    #[pyo3(from_py_with = need::bias_fraction)] bias_fraction: f64,
    #[pyo3(from_py_with = need::scatter_fraction)] scatter_fraction: f64,
    #[pyo3(from_py_with = need::scatter_mm)] scatter_mm: f64,
    #[pyo3(from_py_with = need::enough)] enough: f64,
    #[pyo3(from_py_with = need::deepest_pass_mm)] deepest_pass_mm: f64,
    #[pyo3(from_py_with = need::smallest_shaving_mm)] smallest_shaving_mm: f64,
    #[pyo3(from_py_with = need::smallest_height_mm)] smallest_height_mm: f64,
    #[pyo3(from_py_with = may::working_moment_n_m)] working_moment_n_m: Option<f64>,
    #[pyo3(from_py_with = may::bending_strength_mpa)] bending_strength_mpa: Option<f64>,
    #[pyo3(from_py_with = need::least_margin)] least_margin: f64,
) -> Result<PyWhereToCut> {
    let limits = PlaceLimits {
        overshoot,
        stiffness_ln,
        hand: Hand::new(bias_fraction, scatter_fraction, scatter_mm)?,
        enough,
        deepest_pass_mm,
        smallest_shaving_mm,
        smallest_height_mm,
        working_moment_n_m,
        bending_strength_mpa,
        least_margin,
    };
    let goals: Vec<_> = goals.iter().map(|g| g.0.clone()).collect();
    let places: Vec<Place> = match places {
        Some(given) => given.iter().map(|p| p.0.clone()).collect(),
        None => brace.0.usual_places(),
    };
    Ok(PyWhereToCut(py.detach(|| decide::where_to_cut(&brace.0, &goals, &places, &limits))?))
}
