//! Carve guitar braces to a stiffness, not to a dimension.
//!
//! The modules stand in the order the wood travels: wood, blank, section, profile, brace, carving,
//! readings on a rig, what they make us believe, and what to do next. `mechanics` is below them
//! all: pure functions on numbers that know no wood.

pub mod cautions;
pub mod error;
pub mod json;
pub mod mechanics;
pub mod normal;
pub mod table;
pub mod units;

pub mod wood;

pub mod blank;
pub mod brace;
pub mod profile;
pub mod section;

pub mod carve;
pub mod combine;
pub mod goal;
pub mod recording;
pub mod rig;
pub mod roving;
pub mod stock;
pub mod tap;

pub mod advice;
pub mod belief;
pub mod decide;

pub mod strip;

pub mod layout;
pub mod top;

pub mod body;

pub mod bench;
pub mod fit;
pub mod many;
pub mod picture;
pub mod shop;
pub mod tolerance;
pub mod universal;

pub mod humidity;
pub mod strings;
pub mod years;

pub use bench::{Bench, BenchOptions, Entry, NextStep, Seen};
pub use blank::{Blank, SizeUncertainty};
pub use body::{
    BodyAir, BodyChange, BodyEstimate, BodyMobility, BodyMode, BodyPlate, BodyReading, BodyTaps, CoupledBody, Hole, TopIs,
};
pub use brace::{AlongBrace, Bend, Brace, DIMENSIONS, Frequencies, Load, Support, Working};
pub use carve::{Pass, PassStation, Plan, PlanOptions, Sensitivity, Side, Zone, plan_passes};
pub use error::{Error, Result};
pub use fit::{
    Beam, CopyReport, FitOptions, FitReport, Outcome, ReadingsFit, carve_to, copy_stiffness, fit_readings, section_dimension_for,
};
pub use goal::{Aim, Goal};
pub use humidity::{ArchStrip, BraceEnd, GluingGate, Season};
pub use mechanics::resolved::Face;
pub use profile::{Blend, HalfLap, NotchSide, Profile, Scallop, ScallopShape, ShapeChecks};
pub use rig::{Bar, Calibration, Expected, ModulusEstimate, Reading, Rig, SetUp, Share};
pub use section::{CapRise, Section, SectionNumbers};
pub use stock::{
    Graded, Pairing, PriorsOf, StockBlank, StockLimits, StockPair, StockPrior, StockPriors, best_pairs, blanks_to_buy, grade,
    height_ratio, stock_priors,
};
pub use strings::{Bridge, BridgeKind, BridgeLoad, GuitarString, StringSet, Stringing, Tensions};
pub use tap::{
    AddedMass, BarePlate, Bending, DynamicOverStatic, Foam, LabelGuess, LengthwiseEstimate, LengthwiseTap, Loss, ModalEstimate,
    Pickup, PlateEstimate, PlateReading, PlateTapAdvice, PlateUncertainty, StaticModulus, StickEstimate, StickTap, TapReading,
    TapShare,
};
pub use wood::{Figure, PlaneStiffness, Quantity, Standing, Wood};
pub use years::{ActionChange, CreepOutlook, RotationTrend};
