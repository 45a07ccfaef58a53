//! What is known of one brace in the making: wood, rig, hand and depth together, updated by whatever is read.

use std::sync::Arc;

use super::curves::{PassCurves, PassMass};
use super::hand::HandScatter;
use super::look::{Happened, Look, Surprise};
use super::{Curves, Prior};
use crate::error::{Error, Result, within};

/// How many things are not known.
pub(super) const N: usize = 12;
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
/// Stiffness of the rest of the top, which carries beside the brace, N/mm.
pub(super) const REST: usize = 9;
/// Logarithm of the modulus a tap feels over the one a dial does.
pub(super) const DYNAMIC: usize = 10;
/// Logarithm of what moisture adds to the compliance since the first reading: it shows on dial and tap, and goes again.
pub(super) const DRIFT: usize = 11;

pub(super) type State = [f64; N];
pub(super) type Matrix = [[f64; N]; N];

/// The knowledge of one brace: means and covariances of everything not known, and what led to them. A value.
///
/// An iterated extended Kalman filter in logarithms: exact for a curve that is straight in its unknowns, and within its own
/// spread of the exact law for what a bench meets (tests hold it against weighted draws).
#[derive(Debug, Clone, PartialEq)]
pub struct Known {
    pub(super) curves: Arc<Curves>,
    pub(super) prior: Prior,
    /// Spread of the modulus before the very first reading, where that was taken in before these curves.
    first_modulus_ln: f64,
    pub(super) mean: State,
    pub(super) cov: Matrix,
    /// Depths of the plan that were aimed at before the last pass and with it, mm.
    pub(super) aimed_mm: (f64, f64),
    /// What the curves say there.
    pub(super) pass: PassCurves,
    pub(super) pass_mass: PassMass,
    happened: Vec<Happened>,
    surprise: Option<Surprise>,
    /// How much more or less the hand scatters than was believed.
    pub(super) hand: HandScatter,
    /// True while the last cut was a machine's.
    by_machine: bool,
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
        mean[REST] = prior.rest_n_per_mm;
        mean[DYNAMIC] = prior.dynamic_over_static.ln();
        let mut cov = [[0.0; N]; N];
        for (i, sd) in [
            (MODULUS, prior.modulus_ln),
            (DENSITY, prior.density_ln),
            (RATIO, prior.shear_ratio_ln),
            (GIVE, prior.u_give_mm_per_n),
            (MODEL, prior.model_ln),
            (BIAS, prior.u_bias_fraction),
            (LOST, prior.u_shavings_lost),
            (REST, prior.u_rest_n_per_mm),
            (DYNAMIC, prior.u_dynamic_over_static / prior.dynamic_over_static),
        ] {
            cov[i][i] = sd * sd;
        }
        Ok(Self {
            curves: curves.clone(),
            prior: *prior,
            first_modulus_ln: prior.modulus_ln,
            mean,
            cov,
            aimed_mm: (0.0, 0.0),
            pass: curves.pass(0.0, 0.0),
            pass_mass: curves.pass_mass(0.0, 0.0),
            happened: Vec::new(),
            surprise: None,
            hand: HandScatter::new(prior.hand_passes),
            by_machine: false,
            usual_u: None,
        })
    }

    /// The curves it stands on.
    pub fn curves(&self) -> &Arc<Curves> {
        &self.curves
    }

    /// The same knowledge on other curves of the same plan and rig, as when a first tap asks for frequencies.
    pub(crate) fn on(&self, curves: &Arc<Curves>) -> Self {
        let mut next = Self { curves: curves.clone(), ..self.clone() };
        next.look_up();
        next
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
            Happened::Believed(look) => k.after_against(look),
        })
    }

    /// How the last thing read went with what was known before it; `None` before the first and after a pass.
    pub fn surprise(&self) -> Option<Surprise> {
        self.surprise
    }

    /// The same, where the modulus was known to so much only before what made this prior.
    pub(crate) fn first_spread(self, modulus_ln: f64) -> Self {
        Self { first_modulus_ln: modulus_ln, ..self }
    }

    /// How a look would go with what is known.
    pub(crate) fn met(&self, look: &Look) -> Result<Surprise> {
        look.check()?;
        let (expected, slope, seen, u) = self.seen(look, &self.mean)?;
        let sigmas = (seen - expected) / (self.variance_along(&slope) + u * u).sqrt();
        let logarithmic = !matches!(look, Look::Shavings { .. } | Look::Depth { .. });
        let expected = if logarithmic { expected.exp() } else { expected };
        Ok(Surprise { what: look.kind(), read: look.value(), expected, sigmas })
    }

    /// After a look that does not fit and is believed all the same: what it is about is doubted first by as much as it is off,
    /// the depth of the last pass by grams and callipers, the curves by dial and tap.
    pub fn after_against(&self, look: &Look) -> Result<Self> {
        let (expected, slope, seen, _) = self.seen(look, &self.mean)?;
        let off = seen - expected;
        let mut next = self.clone();
        match look {
            Look::Deflection { .. } | Look::Frequency { .. } => {
                next.cov[MODEL][MODEL] += (off / slope[MODEL].abs().max(1e-3)).powi(2)
            }
            _ => next.cov[LAST][LAST] += (off / slope[LAST].abs().max(1e-6)).powi(2).min(1e4),
        }
        next = next.after(look)?;
        if let Some(last) = next.happened.last_mut() {
            *last = Happened::Believed(*look);
        }
        Ok(next)
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

    /// Stiffness of the rest of the top, which carries beside the brace, N/mm.
    pub fn rest_n_per_mm(&self) -> Figure {
        (self.mean[REST].max(0.0), self.cov[REST][REST].max(0.0).sqrt())
    }

    /// Modulus a tap feels over the one a dial does.
    pub fn dynamic_over_static(&self) -> Figure {
        self.log_figure(DYNAMIC, 1.0)
    }

    /// What the hand takes beyond its aim, as a part of it.
    pub fn bias_fraction(&self) -> Figure {
        (self.mean[BIAS], self.cov[BIAS][BIAS].sqrt())
    }

    /// Scatter of the hand over what was believed of it.
    pub fn scatter_ratio(&self) -> Figure {
        let ratio = self.hand.squared.sqrt();
        (ratio, ratio / (2.0 * self.hand.passes).sqrt())
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

    /// First free bending frequency by tap, Hz; `None` where the curves were made without it.
    pub fn frequency_hz(&self) -> Option<Figure> {
        if !self.curves.has_frequency() {
            return None;
        }
        let (ln, slope, ..) = self.seen(&Look::Frequency { frequency_hz: 1.0, u_hz: 1.0 }, &self.mean).ok()?;
        Some((ln.exp(), ln.exp() * self.sd_along(&slope)))
    }

    /// How much of its prior spread each unknown has left, by name: 1 is nothing learned, 0 pinned down.
    pub fn spread_left(&self) -> Vec<(&'static str, f64)> {
        self.unknowns().map(|(name, i, sd)| (name, self.cov[i][i].max(0.0).sqrt() / sd)).collect()
    }

    /// The two unknowns that the readings tell apart worst, where they hang together by more than nine tenths.
    pub(super) fn goes_together(&self) -> Option<(&'static str, &'static str)> {
        let all: Vec<_> = self.unknowns().collect();
        let mut worst = (0.9, None);
        for (k, a) in all.iter().enumerate() {
            for b in &all[k + 1..] {
                let r = self.cov[a.1][b.1].abs() / (self.cov[a.1][a.1] * self.cov[b.1][b.1]).sqrt();
                if r > worst.0 {
                    worst = (r, Some((a.0, b.0)));
                }
            }
        }
        worst.1
    }

    /// Names, places and first spreads of what was not known.
    fn unknowns(&self) -> impl Iterator<Item = (&'static str, usize, f64)> {
        let p = &self.prior;
        [
            ("modulus", MODULUS, self.first_modulus_ln),
            ("density", DENSITY, p.density_ln),
            ("shear ratio", RATIO, p.shear_ratio_ln),
            ("give of the supports", GIVE, p.u_give_mm_per_n),
            ("rest of the top", REST, p.u_rest_n_per_mm),
            ("dynamic over static", DYNAMIC, p.u_dynamic_over_static / p.dynamic_over_static),
            ("bias of the hand", BIAS, p.u_bias_fraction),
            ("shavings lost", LOST, p.u_shavings_lost),
        ]
        .into_iter()
        .filter(|(_, _, sd)| *sd > 0.0)
    }

    /// The same state without its history and its doubt of the last reading, to look ahead with.
    pub(crate) fn light(&self) -> Self {
        let usual_u = self.happened.iter().rev().find_map(|h| match h {
            Happened::Looked(Look::Deflection { u_mm, .. }) | Happened::Believed(Look::Deflection { u_mm, .. }) => Some(*u_mm),
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

    /// Takes in a reading without keeping it in the history.
    pub(crate) fn take_in(&mut self, look: &Look) -> Result<()> {
        look.check()?;
        if let Look::Deflection { u_mm, .. } = look {
            self.usual_u = Some(*u_mm);
        }
        self.update(look)
    }

    pub(super) fn depth(&self) -> f64 {
        self.aimed_mm.1 + self.mean[BEFORE] + self.mean[LAST]
    }

    /// Depth of the plan that was aimed at so far, mm.
    pub fn aimed_mm(&self) -> f64 {
        self.aimed_mm.1
    }

    fn log_figure(&self, i: usize, unit: f64) -> Figure {
        let value = unit * self.mean[i].exp();
        (value, value * self.cov[i][i].max(0.0).sqrt())
    }

    pub(super) fn sd_along(&self, slope: &State) -> f64 {
        self.variance_along(slope).sqrt()
    }

    pub(super) fn variance_along(&self, slope: &State) -> f64 {
        self.along(slope).iter().zip(slope).map(|(a, s)| a * s).sum::<f64>().max(0.0)
    }

    /// Covariances with a line through the unknowns; most lines touch few of them.
    fn along(&self, slope: &State) -> State {
        let mut along = [0.0; N];
        for (row, s) in self.cov.iter().zip(slope).filter(|(_, s)| **s != 0.0) {
            for (a, c) in along.iter_mut().zip(row) {
                *a += s * c;
            }
        }
        along
    }

    /// After something was read. A reading that does not go with the rest is taken in all the same; [`Known::surprise`] says
    /// so, and the rule then advises to repeat it.
    pub fn after(&self, look: &Look) -> Result<Self> {
        let met = self.met(look)?;
        let mut next = self.clone();
        next.update(look)?;
        next.surprise = Some(met);
        next.happened.push(Happened::Looked(*look));
        Ok(next)
    }

    /// The iterated update: Gauss-Newton on prior and reading together.
    fn update(&mut self, look: &Look) -> Result<()> {
        let prior = self.mean;
        let mut gain = [0.0; N];
        let mut spread = 1.0;
        for _ in 0..8 {
            let (expected, slope, seen, u) = self.seen(look, &self.mean)?;
            let along = self.along(&slope);
            spread = along.iter().zip(&slope).map(|(a, s)| a * s).sum::<f64>().max(0.0) + u * u;
            let carried: f64 = (0..N).map(|i| slope[i] * (prior[i] - self.mean[i])).sum();
            let off = seen - expected - carried;
            let mut moved = 0.0_f64;
            for i in 0..N {
                gain[i] = along[i] / spread;
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

    pub(crate) fn carve(&mut self, aim_mm: f64) {
        let before = self.ln_own(&self.mean).0;
        self.hand = self.hand_learned();
        self.by_machine = false;
        // what the last pass took joins what went before
        self.mean[BEFORE] += self.mean[LAST];
        for i in 0..N {
            self.cov[BEFORE][i] += self.cov[LAST][i];
        }
        for i in 0..N {
            self.cov[i][BEFORE] += self.cov[i][LAST];
        }
        self.aimed_mm = (self.aimed_mm.1, self.aimed_mm.1 + aim_mm);
        self.look_up();
        // and the new one follows the aim and the hand's bias
        self.mean[LAST] = aim_mm * self.mean[BIAS];
        for i in 0..N {
            (self.cov[LAST][i], self.cov[i][LAST]) = (aim_mm * self.cov[BIAS][i], aim_mm * self.cov[i][BIAS]);
        }
        self.cov[LAST][LAST] = aim_mm * aim_mm * self.cov[BIAS][BIAS] + self.scatter_variance(aim_mm);
        let softer = self.ln_own(&self.mean).0 - before;
        self.cov[MODEL][MODEL] += (self.prior.slope_doubt * softer).powi(2);
        self.cov[DRIFT][DRIFT] += self.prior.drift_ln.powi(2);
    }

    fn look_up(&mut self) {
        let (from, to) = self.aimed_mm;
        (self.pass, self.pass_mass) = (self.curves.pass(from, to), self.curves.pass_mass(from, to));
    }

    /// Variance of what the hand takes beyond aim and bias, mm2, as now believed; a pass of nothing scatters by nothing.
    fn scatter_variance(&self, aim_mm: f64) -> f64 {
        self.hand.squared * self.believed_scatter(aim_mm)
    }

    /// The same as believed at first.
    pub(super) fn believed_scatter(&self, aim_mm: f64) -> f64 {
        if aim_mm > 0.0 { (self.prior.scatter_fraction * aim_mm).powi(2) + self.prior.scatter_mm.powi(2) } else { 0.0 }
    }

    /// The hand's scatter with what the last pass tells of it, as far as the readings since have pinned that down.
    pub(super) fn hand_learned(&self) -> HandScatter {
        let aim = self.aimed_mm.1 - self.aimed_mm.0;
        let was = self.believed_scatter(aim);
        if was <= 0.0 || self.by_machine {
            return self.hand;
        }
        let c = &self.cov;
        let off = self.mean[LAST] - aim * self.mean[BIAS];
        let left = c[LAST][LAST] - 2.0 * aim * c[LAST][BIAS] + aim * aim * c[BIAS][BIAS];
        self.hand.after(off * off / was, 1.0 - left / (self.hand.squared * was))
    }

    /// After a cut by a machine that scatters by so much, mm, and has no bias; the hand takes over with what was believed of it.
    pub(super) fn roughed(&self, depth_mm: f64, machine_mm: f64) -> Self {
        let mut next = self.clone();
        let before = next.ln_own(&next.mean).0;
        next.aimed_mm = (0.0, depth_mm);
        next.look_up();
        next.cov[LAST][LAST] = if depth_mm > 0.0 { machine_mm * machine_mm } else { 0.0 };
        let softer = next.ln_own(&next.mean).0 - before;
        next.cov[MODEL][MODEL] += (next.prior.slope_doubt * softer).powi(2);
        next.cov[DRIFT][DRIFT] += next.prior.drift_ln.powi(2);
        // what the machine took is told by its setting, and teaches nothing about the hand
        next.by_machine = true;
        next
    }
}
