//! What taps of a box say of its oscillators, each figure with its budget.

use std::f64::consts::TAU;

use serde::{Deserialize, Serialize};

use super::air::BodyAir;
use super::coupled::{BodyPlate, CoupledBody};
use super::fit::{Fitted, Layout, Reading, What, fit, readings, start};
use super::taps::{BodyTaps, TopIs};
use super::words::{said, untold};
use crate::cautions::{Hazard, cautions};
use crate::combine::{Budget, BudgetLine, Evaluation, chi_squared_upper_tail, coverage_factor};
use crate::error::{Error, Result, within};

/// A reading beside what the fit makes of it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct BodyReading {
    /// The list it stands in and its place there.
    pub name: String,
    /// As read, Hz.
    pub frequency_hz: f64,
    /// Its standard uncertainty, Hz.
    pub u_hz: f64,
    /// As fitted, Hz.
    pub fitted_hz: f64,
}

/// The oscillators behind the taps.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct BodyEstimate {
    /// Two or three.
    pub oscillators: usize,
    /// Which plate's own frequency is the top's, `lower` or `higher`; `None` with two oscillators.
    pub top_is: Option<String>,
    /// Frequency of the box with rigid walls, Hz.
    pub helmholtz_hz: Budget,
    /// The top's own frequency, without the cavity's spring, Hz.
    pub top_hz: Budget,
    /// The top's with the cavity's spring, hole closed and back still, Hz.
    pub top_closed_hz: Budget,
    /// Coupling of top and air, as a frequency, Hz: (f+^2 - f-^2)^2 = (f_c^2 - f_h^2)^2 + 4 f_x^4 for two.
    pub coupling_hz: Budget,
    /// Share of the cavity's spring in the top's stiffness, hole closed.
    pub air_share: Budget,
    /// The back's own frequency, Hz.
    pub back_hz: Option<Budget>,
    /// Share of the cavity's spring in the back's stiffness, hole closed.
    pub back_air_share: Option<Budget>,
    /// Effective mass of the top where the mass was stuck on, g, the air that moves with it counted in.
    pub top_mass_g: Option<Budget>,
    /// Effective area of the top there, cm2.
    pub top_area_cm2: Option<Budget>,
    /// Effective area over the root of effective mass of the top, cm2 / sqrt(g); it needs the volume alone.
    pub top_area_per_root_g: Option<Budget>,
    /// The same of the back.
    pub back_area_per_root_g: Option<Budget>,
    /// Length of air that moves in the hole, edge and end corrections, mm.
    pub hole_length_mm: Option<Budget>,
    /// The readings and what the fit makes of them.
    pub readings: Vec<BodyReading>,
    /// Sum of squared misses over the uncertainties.
    pub chi_squared: f64,
    /// Readings more than unknowns.
    pub dof: usize,
    /// Chance of a chi squared so large or larger; `None` when nothing is over.
    pub chance: Option<f64>,
    /// Factor by which the intervals were widened for misses larger than the uncertainties allow; 1 for none.
    pub widened: f64,
    /// The volume and hole that were given.
    pub air: Option<BodyAir>,
    /// What these taps cannot tell, and what would.
    pub not_told: Vec<String>,
    /// The whole, in words.
    pub words: Vec<String>,
}

/// Below this chance of so large a chi squared the uncertainties are taken to be too small.
const UNLIKELY: f64 = 0.05;
/// Difference of chi squared from which one plate rather than the other is the top: 1 of 20 by chance (chi squared, one degree).
const TELLS: f64 = 3.84;

/// Figures in the order of `figures`.
#[derive(Clone, Copy)]
enum Of {
    Helmholtz,
    Top,
    TopClosed,
    Coupling,
    AirShare,
    Back,
    BackAirShare,
    TopMass,
    TopArea,
    TopAreaPerRoot,
    BackAreaPerRoot,
    HoleLength,
}

/// What a figure depends on besides the unknowns.
#[derive(Clone, Copy)]
struct Beside {
    added_mass_g: f64,
    air: Option<BodyAir>,
}

/// m2 over root kg as cm2 over root g.
const PER_ROOT_G: f64 = 316.227_766_016_837_94;

/// A figure; 0 where it needs what is not there.
fn figure(of: Of, layout: Layout, theta: &[f64], beside: &Beside) -> f64 {
    let e = |i: usize| theta[i].exp();
    let (h, t, g) = (e(Layout::HELMHOLTZ), e(Layout::TOP), e(Layout::TOP_SPRING));
    let mass_g = || beside.added_mass_g * e(layout.mass_at());
    let per_root = |spring: usize| beside.air.map_or(0.0, |a| PER_ROOT_G * TAU * (e(spring) / a.spring_pa_per_m3()).sqrt());
    match of {
        Of::Helmholtz => h.sqrt(),
        Of::Top => t.sqrt(),
        Of::TopClosed => (t + g).sqrt(),
        Of::Coupling => (g * h).powf(0.25),
        Of::AirShare => g / (t + g),
        Of::Back => e(Layout::BACK).sqrt(),
        Of::BackAirShare => e(Layout::BACK_SPRING) / (e(Layout::BACK) + e(Layout::BACK_SPRING)),
        Of::TopMass => mass_g(),
        Of::TopArea => per_root(Layout::TOP_SPRING) * mass_g().sqrt(),
        Of::TopAreaPerRoot => per_root(Layout::TOP_SPRING),
        Of::BackAreaPerRoot => per_root(Layout::BACK_SPRING),
        // c^2 S / ((2 pi f)^2 V): cm2 over litres is 0.1 per m, and m are 1000 mm
        Of::HoleLength => {
            beside.air.map_or(0.0, |a| 100.0 * a.speed_m_s().powi(2) * a.hole_area_cm2 / (TAU * TAU * h * a.volume_l))
        }
    }
}

/// What stands beside the frequencies and is not known exactly: name, value, uncertainty.
fn inputs(beside: &Beside, taps: &BodyTaps) -> Vec<(&'static str, f64, f64)> {
    let mut out = Vec::new();
    if taps.added_mass_g.is_some() {
        out.push(("added_mass_g", beside.added_mass_g, taps.u_added_mass_g));
    }
    if let Some(a) = beside.air {
        out.push(("volume_l", a.volume_l, a.u_volume_l));
        out.push(("hole_area_cm2", a.hole_area_cm2, a.u_hole_area_cm2));
        out.push(("end_radii", a.end_radii, a.u_end_radii));
        out.push(("temperature_c", a.temperature_c, a.u_temperature_c));
    }
    out
}

/// The same with another value of one of them.
fn with(beside: &Beside, name: &str, value: f64) -> Beside {
    let mut out = *beside;
    match (name, &mut out.air) {
        ("added_mass_g", _) => out.added_mass_g = value,
        ("volume_l", Some(a)) => a.volume_l = value,
        ("hole_area_cm2", Some(a)) => a.hole_area_cm2 = value,
        ("end_radii", Some(a)) => a.end_radii = value,
        (_, Some(a)) => a.temperature_c = value,
        (_, None) => {}
    }
    out
}

/// Everything a budget is made of.
struct Made<'a> {
    taps: &'a BodyTaps,
    layout: Layout,
    readings: &'a [Reading],
    fitted: &'a Fitted,
    beside: Beside,
    widened: f64,
    dof: usize,
    coverage: f64,
}

/// Step of a difference, relative.
const STEP: f64 = 1e-5;

impl Made<'_> {
    fn budget(&self, of: Of, unit: &str) -> Result<Budget> {
        let theta = &self.fitted.theta;
        let at = |theta: &[f64], beside: &Beside| figure(of, self.layout, theta, beside);
        let value = at(theta, &self.beside);
        let slopes: Vec<f64> = (0..theta.len())
            .map(|i| {
                let moved = |by: f64| {
                    let mut t = theta.clone();
                    t[i] += by;
                    at(&t, &self.beside)
                };
                (moved(STEP) - moved(-STEP)) / (2.0 * STEP)
            })
            .collect();
        let to_reading = |k: usize| -> f64 { slopes.iter().zip(&self.fitted.gain).map(|(s, g)| s * g[k]).sum() };
        let mut lines = Vec::new();
        let mut by_air = 0.0;
        for (k, r) in self.readings.iter().enumerate() {
            if r.what == What::Helmholtz {
                by_air = to_reading(k);
            } else {
                lines.push(BudgetLine::new(&r.name, r.hz, self.widened * r.u_hz, to_reading(k), None, Evaluation::B)?);
            }
        }
        for (name, v, u) in inputs(&self.beside, self.taps) {
            let by = STEP * v.abs().max(1.0);
            let helmholtz = |b: &Beside| b.air.map_or(0.0, |a| a.helmholtz_hz());
            let (up, down) = (with(&self.beside, name, v + by), with(&self.beside, name, v - by));
            let slope = (at(theta, &up) - at(theta, &down) + by_air * (helmholtz(&up) - helmholtz(&down))) / (2.0 * by);
            lines.push(BudgetLine::new(name, v, u, slope, None, Evaluation::B)?);
        }
        let mut out = Budget::new(value, unit, lines, self.coverage)?;
        if self.widened > 1.0 {
            let dof = self.dof as f64;
            out.dof = Some(dof);
            out.coverage_factor = coverage_factor(self.coverage, out.dof)?;
            out.expanded = out.coverage_factor * out.u;
            out.interval = (value - out.expanded, value + out.expanded);
        }
        Ok(out)
    }
}

impl BodyTaps {
    /// The oscillators behind the taps, with intervals that cover `coverage` (above 0, below 1).
    ///
    /// Two oscillators need one of: the hole closed, a mass, or `air` (its Helmholtz frequency stands in, with its own doubt). Three
    /// need the hole closed. Masses need the mass; areas the volume besides. Of three, `top` says which plate's own frequency is the
    /// top's; with a mass it may be left out, the better fit then says it. Readings more than unknowns are fitted by least squares
    /// with their uncertainties as weights; where chi squared has a chance below 5 %, the intervals are widened by the root of
    /// chi squared over its degrees of freedom and Student's t is used. Uncertainties are carried on to first order (JCGM 100).
    pub fn identify(&self, air: Option<&BodyAir>, top: Option<TopIs>, coverage: f64) -> Result<BodyEstimate> {
        let air = air.map(|a| a.checked()).transpose()?;
        // refuses a coverage before any work
        coverage_factor(coverage, None)?;
        let three = self.open_hz.len() == 3;
        if !three && top.is_some() {
            return Err(Error::Refused(
                "top is given, but two frequencies with the hole open are top and air, and there is no back to tell it from; leave it out, or give three".into(),
            ));
        }
        let layout = Layout { back: three, mass: self.added_mass_g.is_some() };
        let alone = !three && self.closed_hz.is_empty() && self.added_mass_g.is_none();
        let stands_in = air.as_ref().filter(|_| alone);
        let list = readings(self, stands_in);
        let run = |top: Option<TopIs>| fit(layout, start(self, stands_in, top)?, &list);
        let (fitted, found, told) = self.which(three, top, run)?;
        let dof = list.len() - layout.count();
        let chance = (dof > 0).then(|| chi_squared_upper_tail(fitted.chi_squared, dof as f64)).transpose()?;
        let widened = match chance {
            Some(p) if p < UNLIKELY => (fitted.chi_squared / dof as f64).sqrt().max(1.0),
            _ => 1.0,
        };
        let beside = Beside { added_mass_g: self.added_mass_g.unwrap_or(0.0), air };
        let m = Made { taps: self, layout, readings: &list, fitted: &fitted, beside, widened, dof, coverage };
        let when = |yes: bool, of: Of, unit: &str| if yes { m.budget(of, unit).map(Some) } else { Ok(None) };
        let has_air = air.is_some();
        let mut out = BodyEstimate {
            oscillators: self.open_hz.len(),
            top_is: found.map(|t| if t == TopIs::Lower { "lower".into() } else { "higher".into() }),
            helmholtz_hz: m.budget(Of::Helmholtz, "Hz")?,
            top_hz: m.budget(Of::Top, "Hz")?,
            top_closed_hz: m.budget(Of::TopClosed, "Hz")?,
            coupling_hz: m.budget(Of::Coupling, "Hz")?,
            air_share: m.budget(Of::AirShare, "")?,
            back_hz: when(three, Of::Back, "Hz")?,
            back_air_share: when(three, Of::BackAirShare, "")?,
            top_mass_g: when(layout.mass, Of::TopMass, "g")?,
            top_area_cm2: when(layout.mass && has_air, Of::TopArea, "cm2")?,
            top_area_per_root_g: when(has_air, Of::TopAreaPerRoot, "cm2/sqrt(g)")?,
            back_area_per_root_g: when(three && has_air, Of::BackAreaPerRoot, "cm2/sqrt(g)")?,
            hole_length_mm: when(has_air && !alone, Of::HoleLength, "mm")?,
            readings: list
                .iter()
                .zip(&fitted.hz)
                .map(|(r, f)| BodyReading { name: r.name.clone(), frequency_hz: r.hz, u_hz: r.u_hz, fitted_hz: *f })
                .collect(),
            chi_squared: fitted.chi_squared,
            dof,
            chance,
            widened,
            air,
            not_told: Vec::new(),
            words: Vec::new(),
        };
        if let (true, Some(a)) = (alone, &air) {
            let u = a.helmholtz_budget(coverage).map_or(0.0, |b| b.u);
            out.readings.iter_mut().filter(|r| !r.name.contains('[')).for_each(|r| r.u_hz = u);
        }
        out.not_told = untold(&out, alone, told);
        out.words = said(&out);
        if found != top && top.is_some() {
            out.words.insert(1, "top was given as the other one, but the frequencies with the mass say otherwise".into());
        }
        Ok(out)
    }

    /// The fit, which plate is the top, and whether that is known.
    fn which(
        &self,
        three: bool,
        top: Option<TopIs>,
        run: impl Fn(Option<TopIs>) -> Result<Fitted>,
    ) -> Result<(Fitted, Option<TopIs>, bool)> {
        if !three || top.is_some() {
            let fitted = run(top)?;
            let found = three.then(|| named(&fitted));
            return Ok((fitted, found, true));
        }
        if self.closed_hz.is_empty() {
            return Ok((run(None)?, None, false));
        }
        if self.added_mass_g.is_none() {
            return Err(Error::NotIdentifiable {
                unknown: "which plate is the top".into(),
                reason: "top and back may change places without a change of any frequency; give top (lower or higher), or tap with a mass on the bridge".into(),
            });
        }
        // a fit that runs away is none; one may also walk over to the other's minimum, so the name is read off where it ends
        let (a, b) = match (run(Some(TopIs::Lower)), run(Some(TopIs::Higher))) {
            (Ok(a), Ok(b)) => (a, b),
            (Ok(one), Err(_)) | (Err(_), Ok(one)) => {
                let name = named(&one);
                return Ok((one, Some(name), true));
            }
            (Err(e), Err(_)) => return Err(e),
        };
        let told = named(&a) == named(&b) || (a.chi_squared - b.chi_squared).abs() > TELLS;
        let best = if a.chi_squared <= b.chi_squared { a } else { b };
        let name = named(&best);
        Ok((best, Some(name), told))
    }
}

/// Which plate a fit of three ends with as the top.
fn named(fitted: &Fitted) -> TopIs {
    if fitted.theta[Layout::TOP] < fitted.theta[Layout::BACK] { TopIs::Lower } else { TopIs::Higher }
}

impl BodyEstimate {
    /// What to mind.
    pub fn cautions(&self) -> Vec<String> {
        cautions(&[Hazard::Estimate])
    }

    /// The body these taps speak of, for mobilities and changes. It needs the top's mass and area (a tap with a mass, and `air`); of
    /// three, `back_mass_g` sets the scale of the back, which no tap on the top can tell and nothing on the top depends on. The end
    /// corrections are those that give the Helmholtz frequency found.
    pub fn body(&self, q_top: f64, q_air: f64, q_back: f64, back_mass_g: Option<f64>) -> Result<CoupledBody> {
        let (Some(mass), Some(area), Some(air)) = (&self.top_mass_g, &self.top_area_cm2, &self.air) else {
            return Err(Error::NotIdentifiable {
                unknown: "the top's mass and area".into(),
                reason: "they need a tap with a mass on the bridge, and the volume (air)".into(),
            });
        };
        let length = self.hole_length_mm.as_ref().map_or(air.hole_length_mm(), |l| l.value);
        let end_radii = (length - air.edge_mm) / air.hole_radius_mm();
        let air = BodyAir { end_radii, u_end_radii: 0.0, ..*air };
        if !(0.1..=5.0).contains(&end_radii) {
            return Err(Error::Refused(format!(
                "the Helmholtz frequency of {:.1} Hz asks for end corrections of {end_radii:.2} radii in this hole, and they must be from 0.1 to 5; volume_l, hole_area_cm2 or the taps are not of this box",
                self.helmholtz_hz.value
            )));
        }
        for (name, q) in [("q_top", q_top), ("q_air", q_air), ("q_back", q_back)] {
            within(name, q, "", 1.0, 10_000.0)?;
        }
        if let Some(m) = back_mass_g {
            within("back_mass_g", m, "g", 1.0, 10_000.0)?;
        }
        let top = BodyPlate::new(self.top_hz.value, mass.value, area.value, q_top)?;
        let back = match (&self.back_hz, &self.back_area_per_root_g) {
            (Some(f), Some(a)) => {
                let m = back_mass_g.unwrap_or(mass.value);
                Some(BodyPlate::new(f.value, m, a.value * m.sqrt(), q_back)?)
            }
            _ => None,
        };
        CoupledBody::new(air, q_air, top, back)
    }
}
