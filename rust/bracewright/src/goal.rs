//! What carving is to reach.

use serde::{Deserialize, Serialize};

use crate::brace::Brace;
use crate::error::{Error, Result, number, positive};
use crate::rig::{Rig, SetUp};

/// The quantity a goal is about.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub enum Aim {
    /// The reading on a rig, mm.
    Deflection(Box<Rig>),
    /// The working stiffness at a place, N m2.
    Stiffness {
        /// Where, mm from the left end.
        x_mm: f64,
    },
    /// The first bending frequency, free on all sides, Hz.
    Frequency,
    /// The mass, g.
    Mass,
}

/// A window for one quantity: a value is a window of no width.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Goal {
    aim: Aim,
    low: f64,
    high: f64,
}

/// Stretch of the brace over which a stiffness "at a place" is taken, mm.
pub(crate) const PLACE_MM: f64 = 10.0;

/// Greatest goal over the span of a beam on two supports: a face of a brace 16 mm high on 400 mm is then strained
/// 6 x 10 x 16 / 400^2 = 0.6 %, where spruce breaks (strength over E, Wood Handbook Table 5-3, from memory).
const FARTHEST_OF_SPAN: f64 = 1.0 / 40.0;
/// The same over the reach of a clamped beam, bent four times as far by as much strain.
const FARTHEST_OF_REACH: f64 = 1.0 / 10.0;

impl Rig {
    /// A goal: the reading between two values, mm; the middle is aimed at.
    pub fn between(&self, low_mm: f64, high_mm: f64) -> Result<Goal> {
        Goal::new(Aim::Deflection(Box::new(self.clone())), low_mm, high_mm)
    }

    /// A goal: the reading at a value, mm.
    pub fn exactly(&self, deflection_mm: f64) -> Result<Goal> {
        self.between(deflection_mm, deflection_mm)
    }
}

impl Goal {
    /// A goal of any kind, from the low to the high end of its window.
    pub fn new(aim: Aim, low: f64, high: f64) -> Result<Self> {
        let out = Self { aim, low, high };
        let (name, unit) = (out.quantity(), out.unit());
        let ends = match out.aim {
            Aim::Deflection(_) => ["low_mm", "high_mm"],
            Aim::Stiffness { .. } => ["low_n_m2", "high_n_m2"],
            Aim::Frequency => ["low_hz", "high_hz"],
            Aim::Mass => ["low_g", "high_g"],
        };
        positive(&format!("{}, the low end of the goal for the {name},", ends[0]), low, unit)?;
        positive(&format!("{}, the high end of the goal for the {name},", ends[1]), high, unit)?;
        if high < low {
            return Err(Error::Refused(format!(
                "the goal for {name} runs from {} to {} {unit}; the low end must not be above the high end",
                number(low),
                number(high)
            )));
        }
        if let Aim::Deflection(rig) = &out.aim {
            let (span, part) = match rig.set_up() {
                SetUp::ThreePoint { span_mm } | SetUp::FourPoint { span_mm, .. } => (span_mm, FARTHEST_OF_SPAN),
                SetUp::Cantilever { reach_mm } => (reach_mm, FARTHEST_OF_REACH),
            };
            if high > part * span {
                return Err(Error::Refused(format!(
                    "the goal, {} to {} mm, is more than {} mm, a {}th of the rig's {} mm: a brace breaks before it bends so far; check the decimal and the unit",
                    number(low),
                    number(high),
                    number((100.0 * part * span).round() / 100.0),
                    (1.0 / part).round(),
                    number(span)
                )));
            }
        }
        if let Aim::Stiffness { x_mm } = out.aim {
            crate::error::not_negative("x_mm of the goal", x_mm, "mm")?;
        }
        Ok(out)
    }

    /// A working stiffness at a place, N m2.
    pub fn stiffness(x_mm: f64, low_n_m2: f64, high_n_m2: f64) -> Result<Self> {
        Self::new(Aim::Stiffness { x_mm }, low_n_m2, high_n_m2)
    }

    /// A first free bending frequency, Hz.
    pub fn frequency(low_hz: f64, high_hz: f64) -> Result<Self> {
        Self::new(Aim::Frequency, low_hz, high_hz)
    }

    /// A mass, g.
    pub fn mass(low_g: f64, high_g: f64) -> Result<Self> {
        Self::new(Aim::Mass, low_g, high_g)
    }

    /// The quantity.
    pub fn aim(&self) -> &Aim {
        &self.aim
    }

    /// Low end.
    pub fn low(&self) -> f64 {
        self.low
    }

    /// High end.
    pub fn high(&self) -> f64 {
        self.high
    }

    /// What is aimed at: the middle of the window.
    pub fn target(&self) -> f64 {
        0.5 * (self.low + self.high)
    }

    /// Unit of the quantity.
    pub fn unit(&self) -> &'static str {
        match self.aim {
            Aim::Deflection(_) => "mm",
            Aim::Stiffness { .. } => "N m2",
            Aim::Frequency => "Hz",
            Aim::Mass => "g",
        }
    }

    /// Name of the quantity.
    pub fn quantity(&self) -> String {
        match &self.aim {
            Aim::Deflection(rig) => format!("reading on the {} rig", rig.name()),
            Aim::Stiffness { x_mm } => format!("working stiffness at x = {} mm", number(*x_mm)),
            Aim::Frequency => "first bending frequency".into(),
            Aim::Mass => "mass".into(),
        }
    }

    /// True when carving raises the quantity (a deflection) rather than lowering it (a stiffness, a mass). A frequency
    /// may go either way.
    pub fn rises_with_carving(&self) -> bool {
        matches!(self.aim, Aim::Deflection(_))
    }

    /// True when a value lies in the window (a window of no width allows a ten-thousandth either side).
    pub fn holds(&self, value: f64) -> bool {
        let slack = 1e-4 * self.target();
        value >= self.low - slack && value <= self.high + slack
    }

    /// The quantity of a brace by the depth-resolved beam at its ordinary resolution.
    pub fn value(&self, brace: &Brace) -> Result<f64> {
        match &self.aim {
            Aim::Deflection(rig) => {
                let own = rig.load_n() * rig.resolved_compliance(brace)?;
                Ok(rig.dial_scale().0 * (own + rig.load_n() * rig.give_mm_per_n().0 + rig.self_weight_mm(brace)?))
            }
            Aim::Stiffness { x_mm } => {
                brace.profile().on_brace("x_mm of the goal", &[*x_mm])?;
                Ok(brace.working_at(&[*x_mm], PLACE_MM, brace.resolution(0))?[0])
            }
            Aim::Frequency => brace.first_frequency_hz(),
            Aim::Mass => brace.mass_g(),
        }
    }

    /// The discretisation error of [`Goal::value`] for a brace.
    pub fn discretisation(&self, brace: &Brace) -> Result<f64> {
        match &self.aim {
            Aim::Deflection(rig) => Ok(rig.load_n() * rig.compliance_mm_per_n(brace)?.1),
            Aim::Stiffness { x_mm } => {
                let (a, b) = (0, -1);
                let fine = brace.working_at(&[*x_mm], PLACE_MM, brace.resolution(a))?[0];
                Ok((fine - brace.working_at(&[*x_mm], PLACE_MM, brace.resolution(b))?[0]).abs())
            }
            Aim::Frequency => Ok(brace.frequencies(1, false)?.discretisation_hz[0]),
            Aim::Mass => Ok(0.0),
        }
    }

    /// The same quantity by the section beam: where searches start.
    pub fn section_value(&self, brace: &Brace) -> Result<f64> {
        match &self.aim {
            Aim::Deflection(rig) => {
                let own = rig.load_n() * rig.section_compliance_mm_per_n(brace)?;
                Ok(rig.dial_scale().0 * (own + rig.load_n() * rig.give_mm_per_n().0 + rig.self_weight_mm(brace)?))
            }
            Aim::Stiffness { x_mm } => Ok(brace.ei_n_m2(&[*x_mm])?[0]),
            Aim::Frequency => Ok(brace.section_frequencies_hz(1, false)?[0]),
            Aim::Mass => brace.mass_g(),
        }
    }
}
