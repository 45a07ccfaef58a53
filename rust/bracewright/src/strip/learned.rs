//! Effective width learned from two readings: of the brace bare and glued, or glued and then carved.

use serde::{Deserialize, Serialize};

use super::{GluedLoad, PressedOn, Strip};
use crate::Face;
use crate::brace::{Brace, Load, Support};
use crate::cautions::{Hazard, cautions};
use crate::error::{Error, Result, number, within};
use crate::wood::Quantity;

/// Two readings of one dial under one load, and what is known of rig and woods.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct WidthReadings {
    /// The reading before, mm.
    pub before_mm: f64,
    /// The reading after, mm.
    pub after_mm: f64,
    /// Standard uncertainty of each, mm.
    pub u_deflection_mm: f64,
    /// Middle of the pad and of the dial, mm along the brace.
    pub at_mm: f64,
    /// Length of the pad, mm.
    pub pad_mm: f64,
    /// What pressed, N; `None` where only the readings' ratio counts.
    pub load_n: Option<f64>,
    /// Relative standard uncertainty of the load.
    pub u_load: f64,
    /// Give of supports and frame, mm/N, in both readings.
    pub give_mm_per_n: f64,
    /// Its standard uncertainty, mm/N.
    pub u_give_mm_per_n: f64,
    /// Relative standard uncertainty of the top's modulus along the brace; its wood's own when `None`.
    pub plate_spread: Option<f64>,
}

/// What two readings say of the effective width.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct LearnedWidth {
    /// Effective width to use with this strip's own modulus of the top, mm: mean of what the readings leave possible.
    pub width_mm: f64,
    /// Its standard uncertainty, mm.
    pub u_width_mm: f64,
    /// Standard uncertainty where the width is used with this strip's own modulus of the top, mm: the readings tell modulus times
    /// width, so that the modulus's own spread drops out.
    pub u_used_mm: f64,
    /// Where the width lies with 95 % chance, used with this strip's own modulus of the top, mm: from and to.
    pub interval_mm: (f64, f64),
    /// Whether the readings pin it down: that interval spans no more than a factor of three, and ends within 1/20 of the strip's
    /// width and four times it, where widths were looked for.
    pub pinned: bool,
    /// Part of each source in `u_width_mm`, mm, by its sensitivity there: the squares add to its square as far as the width goes
    /// straight with the readings.
    pub parts: Vec<(String, f64)>,
    /// The same uncertainty as `u_used_mm` of readings before and after gluing, with the same rig and gauge, mm; `None` where that
    /// is what was read.
    pub u_by_gluing_mm: Option<f64>,
    /// Misfit of the best width, in standard uncertainties of the readings' own scatter and all that is not known beside.
    pub misfit: f64,
    /// What should be known, as sentences.
    pub words: Vec<String>,
}

/// Widths looked for, as parts of the strip's.
const SEARCHED: (f64, f64) = (0.05, 4.0);
/// Widths at which the deflections are worked out.
const STATIONS: usize = 61;
/// Spread of the load's logarithm where it is not known.
const ANY_LOAD: f64 = 1e3;
/// How well a bare brace's own correction from its section beam to the resolved one holds for it once glued, as a part of that
/// correction: judgement, from strips solved at 0 to 90 degrees with scallops of 0 to 9 mm (at most a fifth).
const MODEL: f64 = 0.12;
/// Interval that still counts as pinned down.
const PINNED: f64 = 3.0;
/// A misfit beyond this is said.
const MISFIT: f64 = 3.0;

/// What is not known beside the width, in the order of the sensitivities.
const SOURCES: [&str; 5] = ["modulus of the brace", "modulus of the top", "give of the rig", "load", "model"];
const TOP: usize = 1;

/// Logarithm of the deflection per newton at a width, and its rates of change with the sources.
#[derive(Clone, Copy, Default)]
struct At {
    ln_d: f64,
    by: [f64; SOURCES.len()],
}

/// A state of the brace: deflection over the logarithm of the width.
struct State {
    at: Vec<At>,
}

/// The two readings' logarithms, their scatter and the spreads of the sources.
struct Readings {
    ln_d: [f64; 2],
    u: [f64; 2],
    spread: [f64; SOURCES.len()],
}

/// A posterior of the width: mean, spread, 95 % interval, mm, and the misfit of its best.
struct Posterior {
    mean: f64,
    sd: f64,
    interval: (f64, f64),
    misfit: f64,
}

impl Strip {
    /// Effective width from deflections of the brace bare and then glued down, on supports at its ends, both under the same load
    /// on its glue face or on the top over it.
    ///
    /// The width is the flange with which the transformed section, times what the bare brace's depth-resolved beam says over its
    /// section beam, gives the readings; every width from a twentieth of the strip's to four times it is beforehand as likely as
    /// its double.
    pub fn width_by_gluing(&self, readings: &WidthReadings) -> Result<LearnedWidth> {
        let r = self.readings(readings)?;
        if readings.after_mm >= readings.before_mm {
            return Err(Error::Refused(format!(
                "after_mm is {} mm and before_mm {} mm: a glued brace deflects less than a bare one",
                number(readings.after_mm),
                number(readings.before_mm)
            )));
        }
        self.learned([&self.bare(readings)?, &self.glued(readings)?], &r, None)
    }

    /// Effective width from deflections of the glued brace before and after it was carved to `carved`, under the same load on the
    /// top over it. See [`Strip::width_by_gluing`]; the ratio of these two readings goes by far less with the width, and with
    /// `load_n` it is each reading's size, by the brace's own modulus, that tells most.
    pub fn width_by_carving(&self, carved: &Brace, readings: &WidthReadings) -> Result<LearnedWidth> {
        let r = self.readings(readings)?;
        self.is_cut(carved)?;
        let (first, second) = (self.glued(readings)?, self.with_brace(carved)?.glued(readings)?);
        self.learned([&first, &second], &r, Some(&self.bare(readings)?))
    }

    /// Whether `carved` is this brace with wood taken off.
    fn is_cut(&self, carved: &Brace) -> Result<()> {
        let own = &self.brace;
        if (carved.length_mm() - own.length_mm()).abs() > 1e-6 {
            return Err(Error::Refused(format!(
                "carved is {} mm long and the brace on the strip {} mm: give the same brace after the cut",
                number(carved.length_mm()),
                number(own.length_mm())
            )));
        }
        if (carved.modulus_x_mpa()? / own.modulus_x_mpa()? - 1.0).abs() > 1e-9 {
            return Err(Error::Refused("carved is of another modulus than the brace on the strip: give the same stick".into()));
        }
        let x = own.stations_mm(201);
        let (before, after) = (own.along(&x)?.area_mm2, carved.along(&x)?.area_mm2);
        if before.iter().zip(&after).any(|(b, a)| *a > b + 1e-6) {
            return Err(Error::Refused("carved has wood that the brace on the strip has not: a cut only takes wood away".into()));
        }
        if own.volume_mm3()? - carved.volume_mm3()? < 1e-6 {
            return Err(Error::Refused("carved is the brace on the strip: there is no cut between the readings".into()));
        }
        Ok(())
    }

    fn readings(&self, r: &WidthReadings) -> Result<Readings> {
        let before = within("before_mm", r.before_mm, "mm", 1e-4, 1000.0)?;
        let after = within("after_mm", r.after_mm, "mm", 1e-4, 1000.0)?;
        let u = within("u_deflection_mm", r.u_deflection_mm, "mm", 1e-6, 100.0)?;
        let load = r.load_n.map(|f| within("load_n", f, "N", 1e-3, 1e4)).transpose()?;
        let u_load = within("u_load", r.u_load, "", 0.0, 0.5)?;
        within("give_mm_per_n", r.give_mm_per_n, "mm/N", 0.0, 1.0)?;
        let u_give = within("u_give_mm_per_n", r.u_give_mm_per_n, "mm/N", 0.0, 1.0)?;
        let top = match r.plate_spread {
            Some(s) => within("plate_spread", s, "", 0.0, 1.0)?,
            None => self.top_spread(),
        };
        self.check(&[load_of(r)], &[r.at_mm])?;
        let f = load.unwrap_or(1.0).ln();
        Ok(Readings {
            ln_d: [before.ln() - f, after.ln() - f],
            u: [u / before, u / after],
            spread: [self.brace.blank().modulus_spread(), top, u_give, load.map_or(ANY_LOAD, |_| u_load), MODEL],
        })
    }

    fn top_spread(&self) -> f64 {
        let own = self.top.figure(Quantity::ModulusL).and_then(|f| f.sigma());
        own.map_or(crate::blank::SPECIES_SPREAD, |s| s / self.top.modulus_l_gpa())
    }

    /// Deflection per newton of the bare brace by both beams, mm.
    fn bare_mm_per_n(&self, r: &WidthReadings) -> Result<(f64, f64)> {
        let load = Load { x_mm: r.at_mm, force_n: 1.0, pad_mm: r.pad_mm, face: Face::Body };
        let held = [Support::Held { x_mm: 0.0 }, Support::Held { x_mm: self.brace.length_mm() }];
        let bend = self.brace.bend(&[load], &held, &[r.at_mm], Face::Glue)?;
        match (bend.deflection_mm.first(), bend.section_deflection_mm.first()) {
            (Some(&d), Some(&s)) if d > 0.0 && s > 0.0 => Ok((d, s)),
            _ => Err(Error::Refused(format!(
                "at_mm is {} mm, where the brace does not deflect: read it between its ends",
                number(r.at_mm)
            ))),
        }
    }

    fn bare(&self, r: &WidthReadings) -> Result<State> {
        let (d, _) = self.bare_mm_per_n(r)?;
        let all = d + r.give_mm_per_n;
        let at = At { ln_d: all.ln(), by: [-d / all, 0.0, 1.0 / all, 1.0, 0.0] };
        Ok(State { at: vec![at; STATIONS] })
    }

    fn glued(&self, r: &WidthReadings) -> Result<State> {
        let (resolved, section) = self.bare_mm_per_n(r)?;
        let more = resolved / section;
        let loads = self.on_beam(&[GluedLoad { load_n: 1.0, ..load_of(r) }]);
        let stiffer = Self { top: self.top.with_modulus_l_gpa(self.top.modulus_l_gpa() * STEP.exp())?, ..self.clone() };
        let at = (0..STATIONS)
            .map(|k| {
                let width = self.searched(k).exp();
                let d = more * self.section_deflection(&loads, width, &[r.at_mm])?[0];
                let with = more * stiffer.section_deflection(&loads, width, &[r.at_mm])?[0];
                let (all, part) = (d + r.give_mm_per_n, d / (d + r.give_mm_per_n));
                let by_top = (with / d).ln() / STEP;
                // all moduli together go straight into the deflection
                Ok(At { ln_d: all.ln(), by: [-part * (1.0 + by_top), part * by_top, 1.0 / all, 1.0, part * (more - 1.0)] })
            })
            .collect::<Result<Vec<_>>>()?;
        if at.iter().any(|a| !a.ln_d.is_finite() || a.by.iter().any(|b| !b.is_finite())) {
            return Err(Error::Refused(format!(
                "at_mm is {} mm, where the brace does not deflect: read it between its ends",
                number(r.at_mm)
            )));
        }
        Ok(State { at })
    }

    /// Logarithm of a width at which the deflections are worked out.
    fn searched(&self, k: usize) -> f64 {
        let (low, high) = self.searched_ln();
        low + (high - low) * k as f64 / (STATIONS - 1) as f64
    }

    fn searched_ln(&self) -> (f64, f64) {
        ((SEARCHED.0 * self.width_mm).ln(), (SEARCHED.1 * self.width_mm).ln())
    }

    fn learned(&self, states: [&State; 2], r: &Readings, bare: Option<&State>) -> Result<LearnedWidth> {
        let range = self.searched_ln();
        let without = |source: usize| {
            let mut spread = r.spread;
            spread[source] = 0.0;
            posterior(states, &Readings { spread, ..*r }, range)
        };
        let all = posterior(states, r, range);
        let used = without(TOP);
        let parts = parts(states, r, used.mean.ln(), range);
        let (low, high) = used.interval;
        let ends = (1.02 * range.0.exp(), range.1.exp() / 1.02);
        let pinned = high <= PINNED * low && low > ends.0 && high < ends.1 && used.misfit <= MISFIT;
        let u_by_gluing_mm = bare.map(|bare| {
            let at = used.mean.ln();
            let glued = states[0].at(at, range).ln_d;
            let first = bare.at(at, range).ln_d;
            // the same load: what it is by the first reading, where it is not known
            let shift = r.ln_d[0] - glued;
            let u_mm = r.u[0] * r.ln_d[0].exp();
            let shown = [first + shift, glued + shift];
            let u = shown.map(|d| u_mm / d.exp());
            let mut spread = r.spread;
            spread[TOP] = 0.0;
            posterior([bare, states[0]], &Readings { ln_d: shown, u, spread }, range).sd
        });
        let mut out = LearnedWidth {
            width_mm: used.mean,
            u_width_mm: all.sd,
            u_used_mm: used.sd,
            interval_mm: used.interval,
            pinned,
            parts,
            u_by_gluing_mm,
            misfit: used.misfit,
            words: Vec::new(),
        };
        out.words = words(&out, r.spread[3] < ANY_LOAD);
        Ok(out)
    }
}

/// Step of the logarithm of the top's modulus.
const STEP: f64 = 0.02;

fn load_of(r: &WidthReadings) -> GluedLoad {
    GluedLoad { at_mm: r.at_mm, load_n: r.load_n.unwrap_or(1.0), pad_mm: r.pad_mm, on: PressedOn::Top }
}

impl State {
    /// Between the stations by the cubic through the four nearest.
    fn at(&self, ln_width: f64, (low, high): (f64, f64)) -> At {
        let t = ((ln_width - low) / (high - low) * (STATIONS - 1) as f64).clamp(0.0, (STATIONS - 1) as f64);
        let first = (t.floor() as usize).clamp(1, STATIONS - 3) - 1;
        let s = t - first as f64;
        let weights = [
            -(s - 1.0) * (s - 2.0) * (s - 3.0) / 6.0,
            s * (s - 2.0) * (s - 3.0) / 2.0,
            -s * (s - 1.0) * (s - 3.0) / 2.0,
            s * (s - 1.0) * (s - 2.0) / 6.0,
        ];
        let mut out = At::default();
        for (w, a) in weights.iter().zip(&self.at[first..first + 4]) {
            out.ln_d += w * a.ln_d;
            out.by.iter_mut().zip(&a.by).for_each(|(sum, v)| *sum += w * v);
        }
        out
    }
}

/// Covariance of the first reading's logarithm and of the second's less the first's, and their rates of change: so that a load
/// that is not known takes nothing from the digits of the ratio.
struct Joined {
    first: f64,
    cross: f64,
    apart: f64,
    by: [[f64; 2]; SOURCES.len()],
}

impl Joined {
    fn new(at: &[At; 2], r: &Readings) -> Self {
        let by: [[f64; 2]; SOURCES.len()] =
            std::array::from_fn(|k| [at[0].by[k] * r.spread[k], (at[1].by[k] - at[0].by[k]) * r.spread[k]]);
        let sum = |i: usize, j: usize| by.iter().map(|b| b[i] * b[j]).sum::<f64>();
        let (u0, u1) = (r.u[0].powi(2), r.u[1].powi(2));
        Self { first: u0 + sum(0, 0), cross: sum(0, 1) - u0, apart: u0 + u1 + sum(1, 1), by }
    }

    /// Variance of the first beyond what the difference says of it.
    fn rest(&self) -> f64 {
        (self.first - self.cross * self.cross / self.apart).max(f64::MIN_POSITIVE)
    }
}

/// Log-likelihood of a width, the sources integrated over, and the square of the misfit.
fn likelihood(states: [&State; 2], r: &Readings, ln_width: f64, range: (f64, f64)) -> (f64, f64) {
    let at = states.map(|s| s.at(ln_width, range));
    let j = Joined::new(&at, r);
    let miss = [r.ln_d[0] - at[0].ln_d, r.ln_d[1] - at[1].ln_d];
    let ratio = miss[1] - miss[0];
    let beyond = miss[0] - j.cross / j.apart * ratio;
    let chi = ratio * ratio / j.apart + beyond * beyond / j.rest();
    (-0.5 * (chi + j.apart.ln() + j.rest().ln()), chi)
}

/// Part of the readings and of every source in the uncertainty of the width, mm, by weighted least squares about a width.
fn parts(states: [&State; 2], r: &Readings, ln_width: f64, range: (f64, f64)) -> Vec<(String, f64)> {
    let step = 1e-3;
    let at = states.map(|s| s.at(ln_width, range));
    let rate = states.map(|s| (s.at(ln_width + step, range).ln_d - s.at(ln_width - step, range).ln_d) / (2.0 * step));
    let j = Joined::new(&at, r);
    let slope = [rate[0], rate[1] - rate[0]];
    // the weights that the inverse covariance gives the two
    let beyond = (slope[0] - j.cross / j.apart * slope[1]) / j.rest();
    let w = [beyond, slope[1] / j.apart - j.cross / j.apart * beyond];
    let information = w[0] * slope[0] + w[1] * slope[1];
    if information <= 0.0 {
        return Vec::new();
    }
    let width = ln_width.exp();
    let of = |v: f64| width * v.abs() / information;
    let scatter = ((w[0] - w[1]) * r.u[0]).hypot(w[1] * r.u[1]);
    let mut out = vec![("readings".to_string(), of(scatter))];
    for (k, name) in SOURCES.iter().enumerate() {
        // a load that is not known leaves the ratio
        if r.spread[k] < ANY_LOAD {
            out.push(((*name).to_string(), of(w[0] * j.by[k][0] + w[1] * j.by[k][1])));
        }
    }
    out
}

/// Mean, spread and interval of the width, beforehand even in its logarithm over the range.
fn posterior(states: [&State; 2], r: &Readings, range: (f64, f64)) -> Posterior {
    const POINTS: usize = 800;
    let (mut low, mut high) = range;
    let mut rows: Vec<(f64, f64, f64)> = Vec::new();
    for _ in 0..40 {
        rows = (0..=POINTS)
            .map(|k| {
                let x = low + (high - low) * k as f64 / POINTS as f64;
                let (l, chi) = likelihood(states, r, x, range);
                (x, l, chi)
            })
            .collect();
        let most = rows.iter().fold(f64::NEG_INFINITY, |m, v| m.max(v.1));
        let counts = |v: &(f64, f64, f64)| v.1 > most - 30.0;
        let (Some(a), Some(b)) = (rows.iter().position(counts), rows.iter().rposition(counts)) else { break };
        let (next_low, next_high) = (rows[a.saturating_sub(1)].0, rows[(b + 1).min(POINTS)].0);
        let shrunk = next_high - next_low < 0.5 * (high - low);
        if !shrunk {
            break;
        }
        (low, high) = (next_low, next_high);
    }
    let most = rows.iter().fold(f64::NEG_INFINITY, |m, v| m.max(v.1));
    let mass: Vec<f64> = rows.iter().map(|v| (v.1 - most).exp()).collect();
    let total: f64 = mass.iter().sum();
    let mean = rows.iter().zip(&mass).map(|(v, m)| v.0.exp() * m).sum::<f64>() / total;
    let sd = (rows.iter().zip(&mass).map(|(v, m)| (v.0.exp() - mean).powi(2) * m).sum::<f64>() / total).sqrt();
    let quantile = |q: f64| {
        let (mut sum, mut before) = (0.0, rows.first().map_or(0.0, |v| v.0));
        for (v, m) in rows.iter().zip(&mass) {
            let next = sum + m / total;
            if next >= q {
                return (before + (v.0 - before) * ((q - sum) / (next - sum)).clamp(0.0, 1.0)).exp();
            }
            (sum, before) = (next, v.0);
        }
        before.exp()
    };
    let misfit = rows.iter().fold(f64::INFINITY, |m, v| m.min(v.2)).sqrt();
    Posterior { mean, sd, interval: (quantile(0.025), quantile(0.975)), misfit }
}

fn words(l: &LearnedWidth, load_known: bool) -> Vec<String> {
    let round = |v: f64| if v < 9.95 { format!("{v:.1}") } else { format!("{v:.0}") };
    let (low, high) = l.interval_mm;
    let mut out = vec![if l.pinned {
        format!(
            "effective width {} mm, standard uncertainty {} mm used with this strip's modulus of the top ({} mm as a width of its own)",
            round(l.width_mm),
            round(l.u_used_mm),
            round(l.u_width_mm)
        )
    } else {
        format!(
            "these readings do not pin the effective width down: anything from {} to {} mm goes with them",
            round(low),
            round(high)
        )
    }];
    if let Some(by_gluing) = l.u_by_gluing_mm {
        let times = l.u_used_mm / by_gluing.max(1e-9);
        out.push(if times > 1.2 {
            format!(
                "readings before and after gluing, with the same gauge, would have left {} mm: {times:.1} times less. A cut changes \
                 the deflection by its depth first and by the top's share last",
                round(by_gluing)
            )
        } else {
            format!("readings before and after gluing, with the same gauge, would have left much the same, {} mm", round(by_gluing))
        });
        if !load_known {
            out.push(
                "give the load too: with a brace whose modulus is known, each reading's size tells more than their ratio".into(),
            );
        }
    }
    if l.misfit > MISFIT {
        out.push(format!(
            "look again: no width gives both readings; the best misses them by {:.1} standard uncertainties (dial, load, or the \
             brace's modulus?)",
            l.misfit
        ));
    }
    let own = |p: &&(String, f64)| p.0 != SOURCES[TOP];
    let most = l.parts.iter().filter(own).fold(("", 0.0), |m, p| if p.1 > m.1 { (p.0.as_str(), p.1) } else { m });
    if l.pinned && most.1 > 0.0 {
        out.push(format!("used so, most of the uncertainty comes from: {} ({} mm)", most.0, round(most.1)));
    }
    out
}

impl LearnedWidth {
    /// What to mind.
    pub fn cautions(&self) -> Vec<String> {
        cautions(&[Hazard::Edges, Hazard::Dust, Hazard::Glue, Hazard::Estimate])
    }
}
