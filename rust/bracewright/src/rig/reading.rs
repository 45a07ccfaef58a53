//! A reading, and what it says of the wood.

use serde::{Deserialize, Serialize};

use super::expect::{Share, combined, sorted};
use super::{Expected, Rig};
use crate::blank::Blank;
use crate::brace::Brace;
use crate::error::{Error, Result, number, positive};

/// What a dial showed, on which rig.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Reading {
    rig: Rig,
    deflection_mm: f64,
    u_mm: f64,
    seats: Vec<Vec<f64>>,
    left_out: Vec<f64>,
}

/// A modulus found from a reading.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ModulusEstimate {
    /// E along the grain, GPa.
    pub modulus_gpa: f64,
    /// Its standard uncertainty, GPa.
    pub u_gpa: f64,
    /// The parts of the uncertainty as they stand in the reading, mm, largest first.
    pub budget: Vec<Share>,
    /// The reading less give and weight, mm.
    pub own_mm: f64,
}

impl Rig {
    /// A reading of one figure; its uncertainty is the gauge's.
    pub fn reading(&self, deflection_mm: f64) -> Result<Reading> {
        self.readings(&[vec![deflection_mm]]).map(|r| Reading { u_mm: self.gauge().u_mm().unwrap_or(r.u_mm), ..r })
    }

    /// A reading from repeats, one list a seat (the brace taken off between lists). One figure that stands off the rest
    /// of its seat by more than five times the gauge's repeat or step is left out of the mean and kept to be printed; a seat most
    /// of whose figures stand off one another is refused, and so are seats that stand off one another by more than any
    /// re-seat explains.
    pub fn readings(&self, seats: &[Vec<f64>]) -> Result<Reading> {
        if seats.is_empty() || seats.iter().all(Vec::is_empty) {
            return Err(Error::BadList { name: "deflection_mm".into(), problem: "is empty; give at least one reading".into() });
        }
        let mut means = Vec::new();
        let mut left_out = Vec::new();
        let mut most = 0;
        for (i, seat) in seats.iter().enumerate().filter(|(_, s)| !s.is_empty()) {
            for (j, &d) in seat.iter().enumerate() {
                positive(&format!("deflection_mm[{i}][{j}]"), d, "mm")?;
            }
            let mut sorted = seat.clone();
            sorted.sort_by(f64::total_cmp);
            let median = 0.5 * (sorted[(sorted.len() - 1) / 2] + sorted[sorted.len() / 2]);
            let own = self.gauge().repeat_mm.max(self.gauge().resolution_mm);
            // a gauge of which only the whole is known
            let reach = 5.0 * if own > 0.0 { own } else { self.gauge().u_mm()? };
            let (kept, out): (Vec<f64>, Vec<f64>) = seat.iter().partition(|d| (**d - median).abs() <= reach);
            if 2 * kept.len() < seat.len() {
                return Err(Error::Refused(format!(
                    "the readings of seat {}, {} mm, do not agree with one another, and which is wrong cannot be told: check them for a slip of the decimal, seat the brace again and read again",
                    i + 1,
                    listed(seat)
                )));
            }
            most = most.max(kept.len());
            left_out.extend(out);
            means.push(kept.iter().sum::<f64>() / kept.len() as f64);
        }
        agreeing(&means, self.gauge().reseat_mm)?;
        let mean = means.iter().sum::<f64>() / means.len() as f64;
        let gauge = crate::belief::Gauge { readings_per_seat: most as u32, seats: means.len() as u32, ..self.gauge() };
        // a scatter between seats wider than the gauge's claim is believed over it
        let spread = (means.iter().map(|m| (m - mean).powi(2)).sum::<f64>() / (means.len().max(2) - 1) as f64).sqrt();
        let u = gauge.u_mm()?.max(spread / (means.len() as f64).sqrt());
        Ok(Reading { rig: self.clone(), deflection_mm: mean, u_mm: u, seats: seats.to_vec(), left_out })
    }

    /// The modulus that explains a reading of a brace on this rig: give, weight and dial are taken off, shear and the
    /// true stiffness of scallops are in the beam.
    pub fn modulus(&self, brace: &Brace, reading: &Reading) -> Result<ModulusEstimate> {
        if !self.same_as(&reading.rig) {
            return Err(other_rig(&self.name, &reading.rig.name));
        }
        let (give, _) = self.give_mm_per_n();
        let (scale, _) = self.dial_scale();
        let own = reading.deflection_mm / scale - self.load_n() * give - self.self_weight_mm(brace)?;
        if own <= 0.0 {
            return Err(Error::NotIdentifiable {
                unknown: "modulus_gpa".into(),
                reason: format!(
                    "the reading of {} mm is no more than what the supports give and the brace's weight account for; check the give of the rig and the load",
                    number(reading.deflection_mm)
                ),
            });
        }
        let (compliance, error) = self.compliance_mm_per_n(brace)?;
        let e = brace.blank().modulus_gpa() * self.load_n() * compliance / own;
        let section = self.section_compliance_mm_per_n(brace)?;
        let mut budget: Vec<Share> =
            self.rig_budget(brace, section, own)?.into_iter().filter(|s| s.source != "reading and seat").collect();
        budget.push(Share { source: "reading and seat".into(), u_mm: reading.u_mm });
        budget.push(Share { source: "discretisation of the beam".into(), u_mm: self.load_n() * error });
        Ok(ModulusEstimate { modulus_gpa: e, u_gpa: e * combined(&budget) / own, budget: sorted(budget), own_mm: own })
    }
}

/// Seats further from the middle one than this part of it do not read the same brace (common practice, no source).
const SEATS_APART: f64 = 0.10;

/// Error when seats stand further apart than seating explains.
fn agreeing(means: &[f64], reseat_mm: f64) -> Result<()> {
    let mut sorted = means.to_vec();
    sorted.sort_by(f64::total_cmp);
    let median = 0.5 * (sorted[(sorted.len() - 1) / 2] + sorted[sorted.len() / 2]);
    let reach = (10.0 * reseat_mm).max(SEATS_APART * median);
    let odd: Vec<usize> = (0..means.len()).filter(|&i| (means[i] - median).abs() > reach).collect();
    if odd.is_empty() {
        return Ok(());
    }
    let three = |v: f64| number((v * 1000.0).round() / 1000.0);
    let all: Vec<String> = means.iter().enumerate().map(|(i, m)| format!("seat {} {} mm", i + 1, three(*m))).collect();
    let which = match odd[..] {
        [i] if means.len() > 2 => format!("seat {} stands off the others", i + 1),
        _ => "which is wrong cannot be told".into(),
    };
    Err(Error::Refused(format!(
        "the seats do not agree ({}): {which}. Check for a slip of the decimal, seat the brace again and read a seat more; strike out the one that proves wrong",
        all.join(", ")
    )))
}

fn listed(v: &[f64]) -> String {
    v.iter().map(|d| number(*d)).collect::<Vec<_>>().join(", ")
}

impl Reading {
    /// Its rig.
    pub fn rig(&self) -> &Rig {
        &self.rig
    }

    /// Mean, mm.
    pub fn deflection_mm(&self) -> f64 {
        self.deflection_mm
    }

    /// Standard uncertainty of the mean from dial and seat, mm.
    pub fn u_mm(&self) -> f64 {
        self.u_mm
    }

    /// The figures as read, one list a seat.
    pub fn seats(&self) -> &[Vec<f64>] {
        &self.seats
    }

    /// Figures left out of the mean because they stand off the rest.
    pub fn left_out(&self) -> &[f64] {
        &self.left_out
    }

    /// With an uncertainty of the user's own.
    pub fn with_u_mm(&self, u_mm: f64) -> Result<Self> {
        positive("u_mm", u_mm, "mm")?;
        Ok(Self { u_mm, ..self.clone() })
    }

    /// This reading less another of the same rig, and its uncertainty, mm. Two rigs are refused: a span or a seat that
    /// differs moves a reading by more than a pass does. [`Reading::compared`] bridges two calibrated rigs.
    pub fn less(&self, other: &Self) -> Result<(f64, f64)> {
        if !self.rig.same_as(&other.rig) {
            return Err(other_rig(&self.rig.name, &other.rig.name));
        }
        Ok((self.deflection_mm - other.deflection_mm, self.u_mm.hypot(other.u_mm)))
    }

    /// Two readings of one brace on two rigs, both calibrated with a bar of known modulus: the ratio of the moduli each
    /// of them gives (1 when they agree) and its uncertainty.
    pub fn compared(&self, other: &Self, brace: &Brace) -> Result<(f64, f64)> {
        let bridged = self.rig.calibrated && other.rig.calibrated;
        if !bridged && !self.rig.same_as(&other.rig) {
            return Err(other_rig(&self.rig.name, &other.rig.name));
        }
        let (a, b) = (self.rig.modulus(brace, self)?, other.rig.modulus(brace, other)?);
        let ratio = a.modulus_gpa / b.modulus_gpa;
        Ok((ratio, ratio * (a.u_gpa / a.modulus_gpa).hypot(b.u_gpa / b.modulus_gpa)))
    }
}

/// Least and greatest modulus of a stick over its species' own that a reading is believed to show (common practice, no source).
const BELIEVABLE: (f64, f64) = (0.3, 2.5);

impl Blank {
    /// The blank after a reading of it as it stands: a narrower belief of its modulus.
    pub fn learn(&self, reading: &Reading) -> Result<Self> {
        self.learn_carved(reading, &Brace::uncarved(self))
    }

    /// The blank after a reading of a brace carved from it.
    pub fn learn_carved(&self, reading: &Reading, brace: &Brace) -> Result<Self> {
        let brace = brace.with_blank(self)?;
        let found = reading.rig().modulus(&brace, reading)?;
        self.believable(found.modulus_gpa, reading)?;
        let (prior, su) = (self.modulus_spread(), found.u_gpa / found.modulus_gpa);
        if prior == 0.0 {
            return self.learned(self.modulus_gpa(), 0.0);
        }
        // product of two normals of ln E
        let weight = prior * prior / (prior * prior + su * su);
        let ln_e = self.modulus_gpa().ln() + weight * (found.modulus_gpa / self.modulus_gpa()).ln();
        self.learned(ln_e.exp(), prior * su / prior.hypot(su))
    }

    /// Whether a modulus lies where a sound stick of this wood can be.
    pub(crate) fn is_believable(&self, modulus_gpa: f64) -> bool {
        (BELIEVABLE.0..=BELIEVABLE.1).contains(&(modulus_gpa / self.wood().modulus_l_gpa()))
    }

    /// What is said of a modulus that is not: where its wood lies.
    pub(crate) fn far_off(&self, modulus_gpa: f64) -> String {
        format!(
            "E {modulus_gpa:.2} GPa; {} lies near {:.1} GPa, and no stick below {} or above {} times that",
            self.wood().name(),
            self.wood().modulus_l_gpa(),
            number(BELIEVABLE.0),
            number(BELIEVABLE.1)
        )
    }

    /// No sound stick lies so far from its species: a decimal, a unit or another span or load has slipped in.
    fn believable(&self, modulus_gpa: f64, reading: &Reading) -> Result<()> {
        if self.is_believable(modulus_gpa) {
            return Ok(());
        }
        Err(Error::Refused(format!(
            "deflection_mm of {} mm would mean {}: check the decimal, the unit, the load and the span",
            number(reading.deflection_mm()),
            self.far_off(modulus_gpa)
        )))
    }

    /// What the dial should show for the blank as it stands.
    pub fn expected(&self, rig: &Rig) -> Result<Expected> {
        rig.expected(&Brace::uncarved(self))
    }
}

fn other_rig(a: &str, b: &str) -> Error {
    Error::Refused(format!(
        "the readings come from two rigs, \"{a}\" and \"{b}\", or from one that was changed in between; rigs differ in span, give and seat, so their readings are not compared: read a bar of known modulus on both first"
    ))
}
