//! What the readings make us believe about one brace: how stiff its wood, how much gives way beside it, how much is
//! already off.
//!
//! Unknown are Young's modulus along the brace, one second thing (the give of the supports, or the stiffness of the
//! rest of the top) and what each pass really took. A [`Belief`] holds the prior and the history; [`Belief::linear`]
//! is its fast normal approximation, [`Belief::draws`] the exact posterior as weighted draws. What a reading should
//! be comes from a [`Response`], behind which any mechanics can stand.

mod curve;
mod draws;
mod history;
mod linear;
mod response;
mod sampler;
mod shop;

pub(crate) use curve::{
    Surface as HermiteSurface, even_weights as even_hermite_weights, slopes as hermite_slopes, weights as hermite_weights,
};
pub use draws::{DEFAULT_DRAWS, Draws, Estimate, Posterior};
pub(crate) use draws::{quantiles, sum};
pub use history::{Belief, Event, Pass};
pub use linear::Linear;
pub use response::{ProportionalCurve, Second, StiffnessTable};
pub(crate) use sampler::Sequence;
pub use shop::{Gauge, Hand, Unknown};

/// What a reading should be, given what is believed and how much has been carved.
///
/// The answer must be positive and must not fall with depth or rise with modulus. It should go on smoothly (or stand
/// still) past the deepest cut of the plan: a hand may slip. A value that is not finite is taken as "impossible".
pub trait Response: Sync {
    /// Deflection in mm at the rig's load. `e_gpa` is Young's modulus along the brace, `second` the second unknown
    /// (support compliance in mm/N in series, or rest-of-top stiffness in N/mm in parallel: the response says which),
    /// `depth_mm` the depth of the planned layer removed so far (0 = as it stands at the start; where along the brace
    /// the layer lies is the plan's affair).
    fn deflection_mm(&self, e_gpa: f64, second: f64, depth_mm: f64) -> f64;
}
