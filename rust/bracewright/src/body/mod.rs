//! The box at low frequency: top, air in the hole and back as two or three oscillators coupled by the air they enclose.
//!
//! The model is the textbook one (Caldersmith, J. Acoust. Soc. Am. 63 (1978) 1133; Christensen & Vandegrift, ibid. 68 (1980) 758;
//! Christensen, ibid. 71 (1982); Fletcher & Rossing, The Physics of Musical Instruments, ch. 9; all from memory). Each plate is one
//! piston of an effective mass and area, referred to the place that is tapped, the bridge; the air in the hole is a third. All
//! displacements x are positive outwards. The cavity, of volume V, answers a swept volume with the pressure
//!
//! p = -mu (A_t x_t + S x_a + A_b x_b),   mu = rho c^2 / V,
//!
//! so that m_i x_i'' + R_i x_i' + k_i x_i = A_i p + F_i, with k = 0 for the air. In mass-weighted displacements and Hz^2 the
//! stiffness matrix is diag(f_t^2, 0, f_b^2) + v v^T with v_i = A_i sqrt(mu / m_i) / (2 pi): a diagonal and one rank. Everything
//! below follows from that.
//!
//! **What the masses hold.** An effective mass is all that moves with the plate: wood, braces, bridge, and the air outside and
//! inside that must move with it. It is what an added mass finds at the bench. A mass reckoned in vacuo needs the air's added
//! ([`BodyPlate::in_air`]). The mass of the air in the hole is rho S L with L the edge's thickness and the end corrections.
//!
//! **What is left out.** Higher modes of the plates (their springiness at rest too), sides that move, sound that radiation
//! couples outside, and heat lost to the walls. It holds for the two or three lowest peaks.

mod air;
mod coupled;
mod estimate;
mod fit;
mod mobility;
mod oscillators;
mod taps;
mod words;

pub use air::BodyAir;
pub use coupled::{BodyChange, BodyMode, BodyPlate, CoupledBody};
pub use estimate::{BodyEstimate, BodyReading};
pub use mobility::BodyMobility;
pub use oscillators::Hole;
pub use taps::{BodyTaps, TopIs};
