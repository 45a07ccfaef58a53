//! The frequencies tapped on a closed box: hole open, hole closed, and both again with a known mass on the bridge.

use serde::{Deserialize, Serialize};

use crate::error::{Error, Result, increasing, number, positive, same_length, within};

/// Which of the two plates' own frequencies is the top's.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub enum TopIs {
    /// The lower one.
    Lower,
    /// The higher one.
    Higher,
}

/// Frequencies of a box with their standard uncertainties, each list from the lowest up.
///
/// Two with the hole open are taken for top and air, the back standing still; three for top, air and back. Natural frequencies are
/// meant; with a Q of 15 or more what a mode rings at lies within 0.1 % below, and masses come out within 0.2 % (`test_body.py`).
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct BodyTaps {
    /// Hole open, two or three, Hz.
    pub open_hz: Vec<f64>,
    /// Standard uncertainties, Hz.
    pub u_open_hz: Vec<f64>,
    /// Hole closed, one fewer or none, Hz.
    pub closed_hz: Vec<f64>,
    /// Standard uncertainties, Hz.
    pub u_closed_hz: Vec<f64>,
    /// Mass stuck on at the place that is tapped, g.
    pub added_mass_g: Option<f64>,
    /// Its standard uncertainty, g.
    pub u_added_mass_g: f64,
    /// Hole open, with the mass, Hz: as many as without, or none.
    pub open_with_mass_hz: Vec<f64>,
    /// Standard uncertainties, Hz.
    pub u_open_with_mass_hz: Vec<f64>,
    /// Hole closed, with the mass, Hz: as many as without, or none.
    pub closed_with_mass_hz: Vec<f64>,
    /// Standard uncertainties, Hz.
    pub u_closed_with_mass_hz: Vec<f64>,
}

/// Frequencies above 0 that rise, each with an uncertainty above 0.
fn list(name: &str, hz: &[f64], u_hz: &[f64]) -> Result<()> {
    let u_name = format!("u_{name}");
    same_length(name, hz.len(), &u_name, u_hz.len())?;
    for (i, (&f, &u)) in hz.iter().zip(u_hz).enumerate() {
        within(&format!("{name}[{i}]"), f, "Hz", 1.0, 10_000.0)?;
        positive(&format!("{u_name}[{i}]"), u, "Hz")?;
        within(&format!("{u_name}[{i}]"), u, "Hz", 0.0, 0.2 * f)?;
    }
    if hz.is_empty() { Ok(()) } else { increasing(name, hz, "Hz", 1) }
}

fn counted(name: &str, found: usize, allowed: &[usize], why: &str) -> Result<()> {
    if allowed.contains(&found) {
        return Ok(());
    }
    let words: Vec<String> = allowed.iter().map(ToString::to_string).collect();
    Err(Error::BadList { name: name.into(), problem: format!("has {found} values; it must have {} ({why})", words.join(" or ")) })
}

/// Closed frequencies lie between those of the open hole: shutting it holds one oscillator still (Rayleigh, Theory of Sound, art. 92a).
fn between(name: &str, closed: &[f64], open_name: &str, open: &[f64]) -> Result<()> {
    for (i, (&f, pair)) in closed.iter().zip(open.windows(2)).enumerate() {
        if !(pair[0] < f && f < pair[1]) {
            return Err(Error::OutOfRange {
                quantity: format!("{name}[{i}]"),
                value: f,
                unit: "Hz",
                allowed: format!(
                    "above {open_name}[{i}] = {} Hz and below {open_name}[{}] = {} Hz, between which the closed hole puts it",
                    number(pair[0]),
                    i + 1,
                    number(pair[1])
                ),
            });
        }
    }
    Ok(())
}

/// A mass lowers every frequency, or leaves it.
fn lowered(name: &str, with: (&[f64], &[f64]), plain_name: &str, plain: (&[f64], &[f64])) -> Result<()> {
    for (i, &f) in with.0.iter().enumerate() {
        let room = 2.0 * with.1[i].hypot(plain.1[i]);
        if f > plain.0[i] + room {
            return Err(Error::OutOfRange {
                quantity: format!("{name}[{i}]"),
                value: f,
                unit: "Hz",
                allowed: format!(
                    "not above {plain_name}[{i}] = {} Hz by more than twice their uncertainty ({} Hz): a mass lowers a frequency",
                    number(plain.0[i]),
                    number((room * 1e4).round() / 1e4)
                ),
            });
        }
    }
    Ok(())
}

impl BodyTaps {
    /// Taps with the hole open: two or three frequencies (1 to 10000 Hz, rising) with their standard uncertainties (above 0, at most
    /// a fifth of the frequency).
    pub fn new(open_hz: &[f64], u_open_hz: &[f64]) -> Result<Self> {
        list("open_hz", open_hz, u_open_hz)?;
        counted("open_hz", open_hz.len(), &[2, 3], "top and air, or top, air and back")?;
        Ok(Self {
            open_hz: open_hz.to_vec(),
            u_open_hz: u_open_hz.to_vec(),
            closed_hz: Vec::new(),
            u_closed_hz: Vec::new(),
            added_mass_g: None,
            u_added_mass_g: 0.0,
            open_with_mass_hz: Vec::new(),
            u_open_with_mass_hz: Vec::new(),
            closed_with_mass_hz: Vec::new(),
            u_closed_with_mass_hz: Vec::new(),
        })
    }

    /// With the hole closed: one frequency fewer, each between two of the open hole.
    pub fn with_closed(&self, closed_hz: &[f64], u_closed_hz: &[f64]) -> Result<Self> {
        list("closed_hz", closed_hz, u_closed_hz)?;
        counted("closed_hz", closed_hz.len(), &[self.open_hz.len() - 1], "one fewer than open_hz")?;
        between("closed_hz", closed_hz, "open_hz", &self.open_hz)?;
        Ok(Self { closed_hz: closed_hz.to_vec(), u_closed_hz: u_closed_hz.to_vec(), ..self.clone() })
    }

    /// With a mass of `added_mass_g` (0.1 to 1000) on the place that is tapped: hole open, closed or both, as many frequencies as
    /// without it and none above its fellow by more than twice their uncertainty.
    pub fn with_mass(
        &self,
        added_mass_g: f64,
        u_added_mass_g: f64,
        open: (&[f64], &[f64]),
        closed: (&[f64], &[f64]),
    ) -> Result<Self> {
        within("added_mass_g", added_mass_g, "g", 0.1, 1000.0)?;
        within("u_added_mass_g", u_added_mass_g, "g", 0.0, 0.5 * added_mass_g)?;
        list("open_with_mass_hz", open.0, open.1)?;
        list("closed_with_mass_hz", closed.0, closed.1)?;
        let (n, c) = (self.open_hz.len(), self.closed_hz.len());
        if open.0.is_empty() && closed.0.is_empty() {
            let problem = format!("has 0 values; with added_mass_g it must have {n}, or closed_with_mass_hz must have its own");
            return Err(Error::BadList { name: "open_with_mass_hz".into(), problem });
        }
        counted("open_with_mass_hz", open.0.len(), &[0, n], "none, or as many as open_hz")?;
        let allowed = if c == 0 { vec![0] } else { vec![0, c] };
        counted("closed_with_mass_hz", closed.0.len(), &allowed, "none, or as many as closed_hz")?;
        lowered("open_with_mass_hz", open, "open_hz", (&self.open_hz, &self.u_open_hz))?;
        lowered("closed_with_mass_hz", closed, "closed_hz", (&self.closed_hz, &self.u_closed_hz))?;
        between("closed_with_mass_hz", closed.0, "open_with_mass_hz", open.0)?;
        Ok(Self {
            added_mass_g: Some(added_mass_g),
            u_added_mass_g,
            open_with_mass_hz: open.0.to_vec(),
            u_open_with_mass_hz: open.1.to_vec(),
            closed_with_mass_hz: closed.0.to_vec(),
            u_closed_with_mass_hz: closed.1.to_vec(),
            ..self.clone()
        })
    }

    /// `with_mass` where there is a mass; without one there must be no frequencies with it.
    pub fn with_mass_if(
        &self,
        added_mass_g: Option<f64>,
        u_added_mass_g: f64,
        open: (&[f64], &[f64]),
        closed: (&[f64], &[f64]),
    ) -> Result<Self> {
        if let Some(mass) = added_mass_g {
            return self.with_mass(mass, u_added_mass_g, open, closed);
        }
        for (name, (hz, u)) in [("open_with_mass_hz", open), ("closed_with_mass_hz", closed)] {
            if !hz.is_empty() || !u.is_empty() {
                return Err(Error::Refused(format!(
                    "{name} has {} values, but added_mass_g is not given; it must be the mass in g that was stuck on, 0.1 to 1000",
                    hz.len()
                )));
            }
        }
        Ok(self.clone())
    }
}
