//! What is known of one brace in the making: wood, rig, hand and depth together, updated by whatever is read.

use std::sync::Arc;

use serde::{Deserialize, Serialize};

use super::Curves;
use crate::error::{Error, Result, finite, not_negative, positive, within};

/// How many things are not known.
pub(super) const N: usize = 9;
/// Logarithm of the modulus over that of the curves.
pub(super) const MODULUS: usize = 0;
/// Logarithm of the density over that of the curves.
pub(super) const DENSITY: usize = 1;
/// Logarithm of the ratio of shear to Young's modulus over the wood's own.
pub(super) const RATIO: usize = 2;
/// Give of the supports, mm/N.
pub(super) const GIVE: usize = 3;
/// Logarithm of the brace's own compliance over what the curves say: the model's error.
pub(super) const MODEL: usize = 4;
/// What the hand takes beyond its aim, as a part of it.
pub(super) const BIAS: usize = 5;
/// Part of the shavings that never reaches the pan.
pub(super) const LOST: usize = 6;
/// What the passes before the last took beyond their aims, mm.
pub(super) const BEFORE: usize = 7;
/// What the last pass took beyond its aim, mm.
pub(super) const LAST: usize = 8;

pub(super) type State = [f64; N];
pub(super) type Matrix = [[f64; N]; N];

/// What is believed before anything is read. Spreads are standard deviations; those named `_ln` are of a logarithm (0.12 reads
/// "12 %").
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Prior {
    /// Young's modulus along the brace, GPa: its median.
    pub modulus_gpa: f64,
    /// Its spread.
    pub modulus_ln: f64,
    /// Density, kg/m3: its median.
    pub density_kg_m3: f64,
    /// Its spread.
    pub density_ln: f64,
    /// Spread of the ratio of shear to Young's modulus about the wood's own.
    pub shear_ratio_ln: f64,
    /// Give of the supports, mm/N.
    pub give_mm_per_n: f64,
    /// Its spread, mm/N.
    pub u_give_mm_per_n: f64,
    /// Spread of the brace's own compliance about what the model makes of modulus and shape.
    pub model_ln: f64,
    /// What is not known of how much a cut softens, as a part of the softening: wood that varies along the brace, and a hand
    /// that takes more here and less there.
    pub slope_doubt: f64,
    /// Change of the compliance from one reading to the next by moisture, its spread.
    pub drift_ln: f64,
    /// What the hand takes beyond its aim, as a part of it.
    pub bias_fraction: f64,
    /// Its spread.
    pub u_bias_fraction: f64,
    /// Scatter of the hand that grows with the aim, as a part of it.
    pub scatter_fraction: f64,
    /// Scatter that is there even for a thin shaving, mm.
    pub scatter_mm: f64,
    /// Part of the shavings that never reaches the pan.
    pub shavings_lost: f64,
    /// Its spread.
    pub u_shavings_lost: f64,
}

impl Prior {
    /// Of the plan's own blank and rig, with a practised hand: spreads of the blank's modulus and density; shear ratio 16 %
    /// (Wood Handbook, range of G_LT/E_L over the spruces, from memory); model 1 %, slope 3 %, drift 0.5 %, hand 0 +- 5 %
    /// with a scatter of 10 % and 0.1 mm, shavings lost 3 +- 1 % (common practice, no source).
    pub fn of(plan: &crate::carve::Plan, rig: &crate::rig::Rig) -> Self {
        let blank = plan.start.blank();
        let (give, u_give) = rig.give_mm_per_n();
        Self {
            modulus_gpa: blank.modulus_gpa(),
            modulus_ln: blank.modulus_spread(),
            density_kg_m3: blank.density_kg_m3(),
            density_ln: blank.density_spread(),
            shear_ratio_ln: 0.16,
            give_mm_per_n: give,
            u_give_mm_per_n: u_give,
            model_ln: 0.01,
            slope_doubt: 0.03,
            drift_ln: 0.005,
            bias_fraction: 0.0,
            u_bias_fraction: 0.05,
            scatter_fraction: 0.10,
            scatter_mm: 0.10,
            shavings_lost: 0.03,
            u_shavings_lost: 0.01,
        }
    }

    /// Itself, unless a figure is what none can be.
    pub fn checked(self) -> Result<Self> {
        self.check()?;
        Ok(self)
    }

    pub(super) fn check(&self) -> Result<()> {
        within("modulus_gpa", self.modulus_gpa, "GPa", 0.1, 100.0)?;
        within("density_kg_m3", self.density_kg_m3, "kg/m3", 50.0, 2000.0)?;
        for (name, value, most) in [
            ("modulus_ln", self.modulus_ln, 1.0),
            ("density_ln", self.density_ln, 1.0),
            ("shear_ratio_ln", self.shear_ratio_ln, 0.5),
            ("model_ln", self.model_ln, 0.5),
            ("slope_doubt", self.slope_doubt, 1.0),
            ("drift_ln", self.drift_ln, 0.2),
            ("u_bias_fraction", self.u_bias_fraction, 0.5),
            ("scatter_fraction", self.scatter_fraction, 1.0),
            ("shavings_lost", self.shavings_lost, 0.5),
            ("u_shavings_lost", self.u_shavings_lost, 0.5),
        ] {
            within(name, value, "", 0.0, most)?;
        }
        within("bias_fraction", self.bias_fraction, "", -0.5, 1.0)?;
        within("scatter_mm", self.scatter_mm, "mm", 0.0, 5.0)?;
        within("give_mm_per_n", self.give_mm_per_n, "mm/N", 0.0, 1.0)?;
        within("u_give_mm_per_n", self.u_give_mm_per_n, "mm/N", 0.0, 1.0)?;
        Ok(())
    }
}

/// One thing read, each with its standard uncertainty.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub enum Look {
    /// The dial, mm, under the load of the rig times `load_ratio` (1 unless a heavier weight was hung on).
    Deflection {
        /// What it showed, mm.
        deflection_mm: f64,
        /// Its uncertainty, mm.
        u_mm: f64,
        /// Load over that of the rig.
        load_ratio: f64,
    },
    /// First free bending frequency by tap, Hz.
    Frequency {
        /// Hz.
        frequency_hz: f64,
        /// Its uncertainty, Hz.
        u_hz: f64,
    },
    /// The brace on the scale, g.
    Mass {
        /// g.
        mass_g: f64,
        /// Its uncertainty, g.
        u_g: f64,
    },
    /// The shavings of the last pass in the pan, g.
    Shavings {
        /// g.
        mass_g: f64,
        /// Its uncertainty, g.
        u_g: f64,
    },
    /// The depth removed since the start, by calliper, mm.
    Depth {
        /// mm.
        depth_mm: f64,
        /// Its uncertainty, mm.
        u_mm: f64,
    },
}

/// What happened, in order.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub enum Happened {
    /// A pass aimed so deep, mm.
    Pass {
        /// mm.
        aim_mm: f64,
    },
    /// Something was read.
    Looked(Look),
}

/// How a reading went with what was known before it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Surprise {
    /// What was to be expected, in the unit of the reading.
    pub expected: f64,
    /// How far off it was, in standard deviations of what was to be expected; positive when it read more.
    pub sigmas: f64,
}

/// The knowledge of one brace: means and covariances of everything not known, and what led to them. A value.
///
/// An iterated extended Kalman filter in logarithms: exact for a curve that is straight in its unknowns, and within its own
/// spread of the exact law for what a bench meets (tests hold it against weighted draws).
#[derive(Debug, Clone, PartialEq)]
pub struct Known {
    curves: Arc<Curves>,
    prior: Prior,
    pub(super) mean: State,
    pub(super) cov: Matrix,
    /// Depths of the plan that were aimed at before the last pass and with it, mm.
    aimed_mm: (f64, f64),
    happened: Vec<Happened>,
    surprise: Option<Surprise>,
    /// Uncertainty of a reading to come, where the history is left behind, mm.
    pub(super) usual_u: Option<f64>,
}

/// A figure and its standard deviation.
pub type Figure = (f64, f64);

impl Known {
    /// Before anything is read.
    pub fn new(curves: &Arc<Curves>, prior: &Prior) -> Result<Self> {
        prior.check()?;
        let mut mean = [0.0; N];
        mean[MODULUS] = (prior.modulus_gpa / curves.modulus_gpa()).ln();
        mean[DENSITY] = (prior.density_kg_m3 / curves.density_kg_m3()).ln();
        mean[GIVE] = prior.give_mm_per_n;
        mean[BIAS] = prior.bias_fraction;
        mean[LOST] = prior.shavings_lost;
        let mut cov = [[0.0; N]; N];
        for (i, sd) in [
            (MODULUS, prior.modulus_ln),
            (DENSITY, prior.density_ln),
            (RATIO, prior.shear_ratio_ln),
            (GIVE, prior.u_give_mm_per_n),
            (MODEL, prior.model_ln),
            (BIAS, prior.u_bias_fraction),
            (LOST, prior.u_shavings_lost),
        ] {
            cov[i][i] = sd * sd;
        }
        Ok(Self {
            curves: curves.clone(),
            prior: *prior,
            mean,
            cov,
            aimed_mm: (0.0, 0.0),
            happened: Vec::new(),
            surprise: None,
            usual_u: None,
        })
    }

    /// The curves it stands on.
    pub fn curves(&self) -> &Arc<Curves> {
        &self.curves
    }

    /// What was believed before anything was read.
    pub fn prior(&self) -> &Prior {
        &self.prior
    }

    /// What happened so far; [`Known::replayed`] comes to the same state from it.
    pub fn happened(&self) -> &[Happened] {
        &self.happened
    }

    /// The state after these things have happened.
    pub fn replayed(&self, happened: &[Happened]) -> Result<Self> {
        happened.iter().try_fold(self.clone(), |k, h| match h {
            Happened::Pass { aim_mm } => k.after_pass(*aim_mm),
            Happened::Looked(look) => k.after(look),
        })
    }

    /// How the last thing read went with what was known before it; `None` before the first and after a pass.
    pub fn surprise(&self) -> Option<Surprise> {
        self.surprise
    }

    /// Young's modulus along the brace, GPa.
    pub fn modulus_gpa(&self) -> Figure {
        self.log_figure(MODULUS, self.curves.modulus_gpa())
    }

    /// Density, kg/m3.
    pub fn density_kg_m3(&self) -> Figure {
        self.log_figure(DENSITY, self.curves.density_kg_m3())
    }

    /// Shear ratio over the wood's own.
    pub fn shear_ratio(&self) -> Figure {
        self.log_figure(RATIO, 1.0)
    }

    /// Give of the supports, mm/N.
    pub fn give_mm_per_n(&self) -> Figure {
        (self.mean[GIVE].max(0.0), self.cov[GIVE][GIVE].sqrt())
    }

    /// What the hand takes beyond its aim, as a part of it.
    pub fn bias_fraction(&self) -> Figure {
        (self.mean[BIAS], self.cov[BIAS][BIAS].sqrt())
    }

    /// Part of the shavings that never reaches the pan.
    pub fn shavings_lost(&self) -> Figure {
        (self.mean[LOST], self.cov[LOST][LOST].sqrt())
    }

    /// Depth removed, mm.
    pub fn depth_mm(&self) -> Figure {
        let c = &self.cov;
        (self.depth(), (c[BEFORE][BEFORE] + 2.0 * c[BEFORE][LAST] + c[LAST][LAST]).max(0.0).sqrt())
    }

    /// Deflection of the brace itself under the rig's load, give left out, mm.
    pub fn own_deflection_mm(&self) -> Figure {
        let (ln, slope) = self.ln_own(&self.mean);
        let value = ln.exp();
        (value, value * self.sd_along(&slope))
    }

    /// What the dial would show, give and all, before its own uncertainty, mm.
    pub fn dial_mm(&self) -> Figure {
        let (value, slope) = self.dial(&self.mean, 1.0);
        (value, self.sd_along(&slope))
    }

    /// How much of its prior spread each unknown has left, by name: 1 is nothing learned, 0 pinned down.
    pub fn spread_left(&self) -> Vec<(&'static str, f64)> {
        let p = &self.prior;
        [
            ("modulus", MODULUS, p.modulus_ln),
            ("density", DENSITY, p.density_ln),
            ("shear ratio", RATIO, p.shear_ratio_ln),
            ("give", GIVE, p.u_give_mm_per_n),
            ("hand", BIAS, p.u_bias_fraction),
            ("shavings lost", LOST, p.u_shavings_lost),
        ]
        .into_iter()
        .filter(|(_, _, sd)| *sd > 0.0)
        .map(|(name, i, sd)| (name, self.cov[i][i].max(0.0).sqrt() / sd))
        .collect()
    }

    /// The same without its doubt of the last reading.
    pub(crate) fn without_surprise(&self) -> Self {
        self.light()
    }

    /// The same state without its history, to look ahead with.
    pub(super) fn light(&self) -> Self {
        let usual_u = self.happened.iter().rev().find_map(|h| match h {
            Happened::Looked(Look::Deflection { u_mm, .. }) => Some(*u_mm),
            _ => None,
        });
        Self { curves: self.curves.clone(), happened: Vec::new(), surprise: None, usual_u: usual_u.or(self.usual_u), ..*self }
    }

    /// The same kind of reading with the value that is to be expected.
    pub(super) fn as_expected(&self, look: &Look) -> Result<Look> {
        let mut out = *look;
        let value = self.seen(look, &self.mean)?.0;
        match &mut out {
            Look::Deflection { deflection_mm: v, .. }
            | Look::Frequency { frequency_hz: v, .. }
            | Look::Mass { mass_g: v, .. } => *v = value.exp(),
            Look::Shavings { mass_g: v, .. } | Look::Depth { depth_mm: v, .. } => *v = value.max(0.0),
        }
        Ok(out)
    }

    /// Takes in a reading that is only foreseen.
    pub(super) fn foreseen(&mut self, look: &Look) -> Result<()> {
        look.check()?;
        self.update(look)
    }

    pub(super) fn depth(&self) -> f64 {
        self.aimed_mm.1 + self.mean[BEFORE] + self.mean[LAST]
    }

    /// Depth of the plan that was aimed at so far, mm.
    pub fn aimed_mm(&self) -> f64 {
        self.aimed_mm.1
    }

    fn depth_of(&self, x: &State) -> f64 {
        self.aimed_mm.1 + x[BEFORE] + x[LAST]
    }

    fn log_figure(&self, i: usize, unit: f64) -> Figure {
        let value = unit * self.mean[i].exp();
        (value, value * self.cov[i][i].max(0.0).sqrt())
    }

    pub(super) fn sd_along(&self, slope: &State) -> f64 {
        self.variance_along(slope).sqrt()
    }

    pub(super) fn variance_along(&self, slope: &State) -> f64 {
        let mut v = 0.0;
        for i in 0..N {
            for j in 0..N {
                v += slope[i] * self.cov[i][j] * slope[j];
            }
        }
        v.max(0.0)
    }

    /// What the hand took beyond its aims adds to ln compliance, and its slopes.
    fn slipped(&self, x: &State) -> (f64, f64, f64) {
        let (from, to) = self.aimed_mm;
        let by = [self.curves.slip_per_mm(0.0, from, to), self.curves.slip_per_mm(from, to, to)];
        let growth = self.curves.slip_growth_per_mm(to);
        let slip = x[BEFORE] + x[LAST];
        // (exp(2 g s) - 1) / (2 g s), which is 1 + g s for a small slip and rises for any
        let e = 2.0 * growth * slip;
        let (grown, by_e) = if e.abs() < 1e-3 { (1.0 + 0.5 * e, 0.5) } else { (e.exp_m1() / e, (e.exp() - e.exp_m1() / e) / e) };
        let plain = by[0] * x[BEFORE] + by[1] * x[LAST];
        let more = plain * by_e * 2.0 * growth;
        (plain * grown, by[0] * grown + more, by[1] * grown + more)
    }

    /// Mass left at the curves' density, g, and its slopes in what was taken beyond the aims.
    fn mass_left(&self, x: &State) -> (f64, f64, f64) {
        let (from, to) = self.aimed_mm;
        let [start, before, now] = [0.0, from, to].map(|d| self.curves.mass_g(d).0);
        let per_mm = |a: f64, b: f64, mm: f64, at: f64| if mm > 1e-3 { (a - b) / mm } else { -self.curves.mass_g(at).1 };
        let (by_before, by_last) = (-per_mm(start, before, from, 0.0), -per_mm(before, now, to - from, to));
        (now + by_before * x[BEFORE] + by_last * x[LAST], by_before, by_last)
    }

    /// Logarithm of the brace's own deflection under the rig's load, mm, and its slopes.
    pub(super) fn ln_own(&self, x: &State) -> (f64, State) {
        let (c, _, by_ratio) = self.curves.ln_compliance(self.aimed_mm.1, x[RATIO]);
        let (slipped, by_before, by_last) = self.slipped(x);
        let mut slope = [0.0; N];
        (slope[MODULUS], slope[MODEL], slope[RATIO]) = (-1.0, 1.0, by_ratio);
        (slope[BEFORE], slope[LAST]) = (by_before, by_last);
        (self.curves.load_n().ln() + c + slipped - x[MODULUS] + x[MODEL], slope)
    }

    /// What the dial shows, mm, and its slopes.
    pub(super) fn dial(&self, x: &State, load_ratio: f64) -> (f64, State) {
        let (ln, mut slope) = self.ln_own(x);
        let own = load_ratio * ln.exp();
        slope.iter_mut().for_each(|s| *s *= own);
        let load = load_ratio * self.curves.load_n();
        slope[GIVE] = load;
        (own + load * x[GIVE].max(0.0), slope)
    }

    /// What a look should show, its slopes and the uncertainty it is taken with; for what goes with a product, in logarithms.
    pub(super) fn seen(&self, look: &Look, x: &State) -> Result<(f64, State, f64, f64)> {
        let mut slope = [0.0; N];
        Ok(match *look {
            Look::Deflection { deflection_mm, u_mm, load_ratio } => {
                let (value, s) = self.dial(x, load_ratio);
                (value.ln(), s.map(|v| v / value), deflection_mm.ln(), u_mm / deflection_mm)
            }
            Look::Frequency { frequency_hz, u_hz } => {
                let Some((f, by_depth, by_ratio)) = self.curves.ln_frequency(self.depth_of(x), x[RATIO]) else {
                    return Err(Error::Refused(
                        "a frequency was read, but the curves of this brace were made without one: make them with frequency=True"
                            .into(),
                    ));
                };
                (slope[MODULUS], slope[DENSITY], slope[MODEL]) = (0.5, -0.5, -0.5);
                (slope[RATIO], slope[BEFORE], slope[LAST]) = (by_ratio, by_depth, by_depth);
                (f + 0.5 * (x[MODULUS] - x[DENSITY] - x[MODEL]), slope, frequency_hz.ln(), u_hz / frequency_hz)
            }
            Look::Mass { mass_g, u_g } => {
                let (m, by_before, by_last) = self.mass_left(x);
                slope[DENSITY] = 1.0;
                (slope[BEFORE], slope[LAST]) = (by_before / m, by_last / m);
                (m.ln() + x[DENSITY], slope, mass_g.ln(), u_g / mass_g)
            }
            Look::Shavings { mass_g, u_g } => {
                let (from, to) = self.aimed_mm;
                let (aimed, by_last) = (self.curves.mass_g(from).0 - self.curves.mass_g(to).0, -self.mass_left(x).2);
                let (kept, density) = (1.0 - x[LOST], x[DENSITY].exp());
                let off = density * (aimed + by_last * x[LAST]);
                (slope[DENSITY], slope[LOST], slope[LAST]) = (kept * off, -off, kept * density * by_last);
                (kept * off, slope, mass_g, u_g)
            }
            Look::Depth { depth_mm, u_mm } => {
                (slope[BEFORE], slope[LAST]) = (1.0, 1.0);
                (self.depth_of(x), slope, depth_mm, u_mm)
            }
        })
    }

    /// After something was read. A reading that does not go with the rest is taken in all the same; [`Known::surprise`] says
    /// so, and the rule then advises to repeat it.
    pub fn after(&self, look: &Look) -> Result<Self> {
        look.check()?;
        let (expected, slope, seen, u) = self.seen(look, &self.mean)?;
        let sigmas = (seen - expected) / (self.variance_along(&slope) + u * u).sqrt();
        let mut next = self.clone();
        next.update(look)?;
        let logarithmic = !matches!(look, Look::Shavings { .. } | Look::Depth { .. });
        let expected = if logarithmic { expected.exp() } else { expected };
        next.surprise = Some(Surprise { expected, sigmas });
        next.happened.push(Happened::Looked(*look));
        Ok(next)
    }

    /// The iterated update: Gauss-Newton on prior and reading together.
    fn update(&mut self, look: &Look) -> Result<()> {
        let prior = self.mean;
        let mut gain = [0.0; N];
        let mut slope = [0.0; N];
        let mut spread = 1.0;
        for _ in 0..8 {
            let (expected, s, seen, u) = self.seen(look, &self.mean)?;
            slope = s;
            spread = self.variance_along(&slope) + u * u;
            let carried: f64 = (0..N).map(|i| slope[i] * (prior[i] - self.mean[i])).sum();
            let off = seen - expected - carried;
            let mut moved = 0.0_f64;
            for i in 0..N {
                gain[i] = (0..N).map(|j| self.cov[i][j] * slope[j]).sum::<f64>() / spread;
                let to = prior[i] + gain[i] * off;
                moved = moved.max((to - self.mean[i]).abs() / self.cov[i][i].max(1e-300).sqrt());
                self.mean[i] = to;
            }
            if moved < 1e-9 {
                break;
            }
        }
        for i in 0..N {
            for j in 0..N {
                self.cov[i][j] -= gain[i] * gain[j] * spread;
            }
        }
        let _ = slope;
        if self.mean.iter().any(|v| !v.is_finite()) {
            return Err(Error::NotIdentifiable {
                unknown: "the state of the brace".into(),
                reason: "the reading lies so far from what is believed that no brace of this plan explains it".into(),
            });
        }
        self.mean[LOST] = self.mean[LOST].clamp(0.0, 0.9);
        Ok(())
    }

    /// After a pass of which only the aim is known.
    pub fn after_pass(&self, aim_mm: f64) -> Result<Self> {
        within("aim_mm", aim_mm, "mm", 0.0, 200.0)?;
        let mut next = self.clone();
        next.carve(aim_mm);
        next.surprise = None;
        next.happened.push(Happened::Pass { aim_mm });
        Ok(next)
    }

    pub(super) fn carve(&mut self, aim_mm: f64) {
        let before = self.ln_own(&self.mean).0;
        // what the last pass took joins what went before
        self.mean[BEFORE] += self.mean[LAST];
        for i in 0..N {
            self.cov[BEFORE][i] += self.cov[LAST][i];
        }
        for i in 0..N {
            self.cov[i][BEFORE] += self.cov[i][LAST];
        }
        self.aimed_mm = (self.aimed_mm.1, self.aimed_mm.1 + aim_mm);
        // and the new one follows the aim and the hand's bias
        self.mean[LAST] = aim_mm * self.mean[BIAS];
        for i in 0..N {
            (self.cov[LAST][i], self.cov[i][LAST]) = (aim_mm * self.cov[BIAS][i], aim_mm * self.cov[i][BIAS]);
        }
        self.cov[LAST][LAST] = aim_mm * aim_mm * self.cov[BIAS][BIAS]
            + (self.prior.scatter_fraction * aim_mm).powi(2)
            + self.scatter_mm(aim_mm).powi(2);
        let softer = self.ln_own(&self.mean).0 - before;
        self.cov[MODEL][MODEL] += (self.prior.slope_doubt * softer).powi(2) + self.prior.drift_ln.powi(2);
    }

    /// A pass of nothing scatters by nothing.
    pub(super) fn scatter_mm(&self, aim_mm: f64) -> f64 {
        if aim_mm > 0.0 { self.prior.scatter_mm } else { 0.0 }
    }
}

impl Look {
    pub(super) fn check(&self) -> Result<()> {
        match *self {
            Look::Deflection { deflection_mm, u_mm, load_ratio } => {
                within("deflection_mm", deflection_mm, "mm", 1e-6, 1000.0)?;
                positive("u_mm", u_mm, "mm")?;
                within("load_ratio", load_ratio, "", 0.05, 20.0)?;
                finite("u_mm", u_mm, "mm")?;
            }
            Look::Frequency { frequency_hz, u_hz } => {
                within("frequency_hz", frequency_hz, "Hz", 1.0, 1e5)?;
                within("u_hz", u_hz, "Hz", 1e-9, 1e4)?;
            }
            Look::Mass { mass_g, u_g } => {
                within("mass_g", mass_g, "g", 1e-3, 1e5)?;
                within("u_g", u_g, "g", 1e-9, 1e4)?;
            }
            Look::Shavings { mass_g, u_g } => {
                not_negative("mass_g", mass_g, "g")?;
                within("mass_g", mass_g, "g", 0.0, 1e5)?;
                within("u_g", u_g, "g", 1e-9, 1e4)?;
            }
            Look::Depth { depth_mm, u_mm } => {
                within("depth_mm", depth_mm, "mm", 0.0, 200.0)?;
                within("u_mm", u_mm, "mm", 1e-9, 100.0)?;
            }
        }
        Ok(())
    }
}
