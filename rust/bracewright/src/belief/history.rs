//! A belief as prior and history: readings, passes, calipers, shavings, in the order they happened.

use super::{Gauge, Hand, Response, Unknown};
use crate::error::{self, Result};
use serde::{Deserialize, Serialize};

/// One pass: what was aimed at, and what caliper and scale say was taken.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Pass {
    /// Depth aimed at, mm, 0 or more.
    pub aim_mm: f64,
    /// Depths this pass took as measured, each with its standard uncertainty, both mm.
    pub measured_mm: Vec<(f64, f64)>,
}

impl Pass {
    /// A pass of which only the aim is known.
    pub fn aimed(aim_mm: f64) -> Result<Self> {
        Ok(Self { aim_mm: error::not_negative("aim_mm", aim_mm, "mm")?, measured_mm: Vec::new() })
    }

    /// The depth this pass took by caliper; `u_mm` above 0.
    pub fn with_caliper(mut self, depth_mm: f64, u_mm: f64) -> Result<Self> {
        self.measured_mm.push((error::not_negative("depth_mm", depth_mm, "mm")?, error::positive("u_mm", u_mm, "mm")?));
        Ok(self)
    }

    /// The depth this pass took by the mass of its shavings: `grams_per_mm` is the plan's, with its own uncertainty.
    pub fn with_shavings(self, mass_g: f64, u_mass_g: f64, grams_per_mm: f64, u_grams_per_mm: f64) -> Result<Self> {
        error::not_negative("mass_g", mass_g, "g")?;
        error::positive("u_mass_g", u_mass_g, "g")?;
        error::positive("grams_per_mm", grams_per_mm, "g/mm")?;
        error::not_negative("u_grams_per_mm", u_grams_per_mm, "g/mm")?;
        let depth = mass_g / grams_per_mm;
        self.with_caliper(depth, (u_mass_g / grams_per_mm).hypot(depth * u_grams_per_mm / grams_per_mm))
    }

    /// Mean and standard deviation of what was taken: the hand's law times the normals measured.
    pub(super) fn law(&self, hand: &Hand) -> (f64, f64) {
        let (mean, sd) = (hand.mean_mm(self.aim_mm), hand.sd_mm(self.aim_mm));
        if sd == 0.0 {
            return (mean, 0.0);
        }
        let (mut weight, mut sum) = (1.0 / (sd * sd), mean / (sd * sd));
        for &(depth, u) in &self.measured_mm {
            weight += 1.0 / (u * u);
            sum += depth / (u * u);
        }
        (sum / weight, 1.0 / weight.sqrt())
    }

    fn check(&self) -> Result<()> {
        error::within("aim_mm", self.aim_mm, "mm", 0.0, 1000.0)?;
        for &(depth, u) in &self.measured_mm {
            error::within("depth_mm", depth, "mm", 0.0, 1000.0)?;
            error::within("u_mm", u, "mm", 1e-9, 1000.0)?;
        }
        Ok(())
    }
}

/// Something that happened to the brace and tells about it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub enum Event {
    /// The dial was read.
    Reading {
        /// Deflection, mm.
        deflection_mm: f64,
        /// Its standard uncertainty, mm.
        u_mm: f64,
    },
    /// A pass was carved.
    Pass(Pass),
    /// The depth removed since so many passes were done was measured: by calliper since the start, by weighing the brace
    /// since its last weighing.
    DepthSince {
        /// Passes done where it is counted from; 0 is the start.
        passes: usize,
        /// Depth, mm.
        depth_mm: f64,
        /// Its standard uncertainty, mm.
        u_mm: f64,
    },
}

/// Prior and history of one brace. A step gives a new belief; the order of events between two passes does not matter.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Belief {
    pub(super) e_gpa: Unknown,
    pub(super) second: Unknown,
    pub(super) hand: Hand,
    pub(super) history: Vec<Event>,
}

impl Belief {
    /// A belief before any reading: `e_gpa` Young's modulus along the brace, `second` the second unknown of the
    /// response (N/mm or mm/N), independent of each other, and the hand that will carve.
    pub fn new(e_gpa: Unknown, second: Unknown, hand: Hand) -> Result<Self> {
        let belief = Self { e_gpa, second, hand, history: Vec::new() };
        belief.check()?;
        Ok(belief)
    }

    /// After a reading of the gauge; its uncertainty is the gauge's.
    pub fn after_reading(&self, deflection_mm: f64, gauge: &Gauge) -> Result<Self> {
        self.after_reading_with_u(deflection_mm, gauge.u_mm()?)
    }

    /// After a reading of known standard uncertainty.
    pub fn after_reading_with_u(&self, deflection_mm: f64, u_mm: f64) -> Result<Self> {
        self.after(Event::Reading { deflection_mm, u_mm })
    }

    /// After a pass.
    pub fn after_pass(&self, pass: Pass) -> Result<Self> {
        self.after(Event::Pass(pass))
    }

    /// After the whole removed depth was measured.
    pub fn after_total_depth(&self, depth_mm: f64, u_mm: f64) -> Result<Self> {
        self.after_depth_since(0, depth_mm, u_mm)
    }

    /// After the depth removed since `passes` passes were done was measured, as two weighings of the brace give it. It
    /// speaks of all passes since then together, so none of them is told twice.
    pub fn after_depth_since(&self, passes: usize, depth_mm: f64, u_mm: f64) -> Result<Self> {
        self.after(Event::DepthSince { passes, depth_mm, u_mm })
    }

    /// Passes carved so far.
    pub fn passes(&self) -> usize {
        self.history.iter().filter(|e| matches!(e, Event::Pass(_))).count()
    }

    /// After any event.
    pub fn after(&self, event: Event) -> Result<Self> {
        let mut next = self.clone();
        next.history.push(event);
        next.check()?;
        Ok(next)
    }

    /// Without its last reading, and that reading as deflection and uncertainty (mm); `None` if there is none or
    /// something was carved since.
    pub fn without_last_reading(&self) -> Option<(Self, f64, f64)> {
        let i = self.history.iter().rposition(|e| !matches!(e, Event::DepthSince { .. }))?;
        let Event::Reading { deflection_mm, u_mm } = self.history[i] else { return None };
        let mut before = self.clone();
        before.history.remove(i);
        Some((before, deflection_mm, u_mm))
    }

    /// What happened so far.
    pub fn history(&self) -> &[Event] {
        &self.history
    }

    /// The hand that carves.
    pub fn hand(&self) -> Hand {
        self.hand
    }

    /// Uncertainty of the latest reading, mm; 0 before the first.
    pub fn last_u_mm(&self) -> f64 {
        let of = |e: &Event| if let Event::Reading { u_mm, .. } = e { Some(*u_mm) } else { None };
        self.history.iter().rev().find_map(of).unwrap_or(0.0)
    }

    /// Checked again wherever it is used, since a belief may come from a file.
    pub(super) fn check(&self) -> Result<()> {
        self.e_gpa.check("e_gpa", "GPa")?;
        if self.e_gpa.at(0.0) <= 0.0 {
            error::positive("e_gpa mean", 0.0, "GPa")?;
        }
        self.second.check("second", "(N/mm or mm/N)")?;
        self.hand.check()?;
        let mut done = 0;
        for event in &self.history {
            match event {
                Event::Reading { deflection_mm, u_mm } => {
                    error::positive("deflection_mm", *deflection_mm, "mm")?;
                    error::within("u_mm", *u_mm, "mm", 1e-9, 1000.0)?;
                }
                Event::Pass(pass) => {
                    pass.check()?;
                    done += 1;
                }
                Event::DepthSince { passes, depth_mm, u_mm } => {
                    error::within("passes", *passes as f64, "", 0.0, f64::from(done))?;
                    error::within("depth_mm", *depth_mm, "mm", 0.0, 1000.0)?;
                    error::within("u_mm", *u_mm, "mm", 1e-9, 1000.0)?;
                }
            }
        }
        Ok(())
    }

    pub(super) fn chain(&self) -> Chain {
        let (mut removal, mut readings, mut depths) = (Vec::new(), Vec::new(), Vec::new());
        for event in &self.history {
            match event {
                Event::Reading { deflection_mm, u_mm } => {
                    readings.push(Seen { since: 0, passes: removal.len(), value: *deflection_mm, u: *u_mm })
                }
                Event::Pass(pass) => removal.push(pass.law(&self.hand)),
                Event::DepthSince { passes, depth_mm, u_mm } => {
                    depths.push(Seen { since: *passes, passes: removal.len(), value: *depth_mm, u: *u_mm })
                }
            }
        }
        Chain { e_gpa: self.e_gpa, second: self.second, removal, readings, depths }
    }
}

/// A value seen after so many passes, about what was taken since some of them.
pub(super) struct Seen {
    pub since: usize,
    pub passes: usize,
    pub value: f64,
    pub u: f64,
}

/// The history as a function of independent standard normals: z[0] the modulus, z[1] the second unknown, z[2 + j] what
/// pass j took.
pub(super) struct Chain {
    pub e_gpa: Unknown,
    pub second: Unknown,
    pub removal: Vec<(f64, f64)>,
    pub readings: Vec<Seen>,
    pub depths: Vec<Seen>,
}

impl Chain {
    pub fn dims(&self) -> usize {
        2 + self.removal.len()
    }

    pub fn depth_mm(&self, z: &[f64], passes: usize) -> f64 {
        self.depth_since_mm(z, 0, passes)
    }

    pub fn depth_since_mm(&self, z: &[f64], since: usize, passes: usize) -> f64 {
        self.removal[since..passes].iter().zip(&z[2 + since..]).map(|(&(m, s), &z)| (m + s * z).max(0.0)).sum()
    }

    pub fn deflection_mm<R: Response + ?Sized>(&self, response: &R, z: &[f64], passes: usize) -> f64 {
        response.deflection_mm(self.e_gpa.at(z[0]), self.second.at(z[1]), self.depth_mm(z, passes))
    }

    /// Minus the logarithm of prior times likelihood, up to a constant; infinite where the response has no answer.
    pub fn cost<R: Response + ?Sized>(&self, response: &R, z: &[f64]) -> f64 {
        let mut sum: f64 = z.iter().map(|z| z * z).sum();
        for s in &self.readings {
            let deflection = self.deflection_mm(response, z, s.passes);
            sum += if deflection > 0.0 { ((deflection - s.value) / s.u).powi(2) } else { f64::INFINITY };
        }
        for s in &self.depths {
            sum += ((self.depth_since_mm(z, s.since, s.passes) - s.value) / s.u).powi(2);
        }
        if sum.is_finite() { 0.5 * sum } else { f64::INFINITY }
    }
}
