//! Margins along a glued brace: where wood may still go, and where it may not.

use serde::{Deserialize, Serialize};

use super::{GluedLoad, Strip, composite};
use crate::cautions::{Hazard, cautions};
use crate::error::{Error, Result, number, positive, within};
use crate::mechanics::solid::{Moments, Solid};
use crate::wood::{LoadDuration, Quantity, Wood, YEAR_S, duration_of_load_factor, k_mod, size_factor, slope_of_grain_factor};

/// Settings of the margins that have usual values.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct MarginOptions {
    /// How long the load stays, years.
    pub years: f64,
    /// Strength of clear wood over stress that is wanted beyond what time and grain take off, at least.
    pub least_margin: f64,
    /// Short-term bending strength of the brace's clear wood, MPa; the wood's own when `None`.
    pub bending_strength_mpa: Option<f64>,
    /// Shear strength of the weaker of brace and top along the joint, MPa; of the woods' own when `None`.
    pub shear_strength_mpa: Option<f64>,
    /// Length of lining an end of the brace bears on, mm.
    pub lining_mm: f64,
    /// Whether a small brace may be lent the strength that the size effect gives it.
    pub size_effect: bool,
    /// Width of top that goes along with the brace, mm, as learned from readings; [`Strip::lag_width_mm`] when `None`.
    pub flange_mm: Option<f64>,
}

impl Default for MarginOptions {
    /// Fifty years; twice (common practice, no source: it comes to three tenths of the modulus of rupture for good); the woods'
    /// own strengths; 6 mm of lining; no size effect; the flange of shear lag's estimate.
    fn default() -> Self {
        Self {
            years: 50.0,
            least_margin: 2.0,
            bending_strength_mpa: None,
            shear_strength_mpa: None,
            lining_mm: 6.0,
            size_effect: false,
            flange_mm: None,
        }
    }
}

/// Margins along the brace: strength that lasts over stress.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Margins {
    /// Places along the brace, mm.
    pub x_mm: Vec<f64>,
    /// Height there, mm.
    pub height_mm: Vec<f64>,
    /// Greatest bending stress of the brace there by the transformed section, MPa.
    pub bending_mpa: Vec<f64>,
    /// The same by the strip solved with its shear lag and scallops, at crest or foot, MPa.
    pub resolved_mpa: Vec<f64>,
    /// Lasting strength over bending stress, of the worst height it passed; a million where there is no stress.
    pub bending_margin: Vec<f64>,
    /// Shear at the glue line, MPa.
    pub glue_mpa: Vec<f64>,
    /// Lasting shear strength over it; where the brace is feathered, of the worst height it passed.
    pub glue_margin: Vec<f64>,
    /// Height down to which the brace may go there with the least margin kept, nothing else changed, mm.
    pub lowest_mm: Vec<f64>,
    /// Bending strength that lasts, MPa, and the factors it is made of: short-term strength, duration, grain, size.
    pub lasting_mpa: f64,
    /// Short-term strength of clear wood, MPa.
    pub strength_mpa: f64,
    /// What the duration leaves: Wood 1951, beyond ten years no more than k_mod for permanent load in service class 1.
    pub duration_factor: f64,
    /// What run-out leaves.
    pub grain_factor: f64,
    /// What size gives; 1 unless asked for.
    pub size_factor: f64,
    /// Shear strength that lasts, MPa.
    pub lasting_shear_mpa: f64,
    /// The least bending margin and where, mm.
    pub least: (f64, f64),
    /// The least margin of the strip as solved, and where, mm.
    pub least_resolved: (f64, f64),
    /// What the ends press on their lining, N, left and right; below 0 they lift.
    pub end_n: (f64, f64),
    /// Pressure of the ends on the lining, MPa: left and right.
    pub bearing_mpa: (f64, f64),
    /// Lasting strength across the grain over the greater of them; `None` where the wood carries no such strength.
    pub bearing_margin: Option<f64>,
    /// The margin wanted.
    pub least_margin: f64,
    /// What should be known, as sentences.
    pub words: Vec<String>,
}

/// What the transformed section needs, with a flange that does not move with the carving: otherwise a pass could seem to
/// strengthen.
struct Joint {
    brace_mpa: f64,
    plate_mpa: f64,
    flange_mm: f64,
    thickness_mm: f64,
}

impl Joint {
    fn new(strip: &Strip, flange_mm: Option<f64>) -> Result<Self> {
        Ok(Self {
            brace_mpa: strip.brace.modulus_x_mpa()?,
            plate_mpa: strip.plate_modulus_mpa()?,
            flange_mm: strip.flange_or_lag_mm(flange_mm)?,
            thickness_mm: strip.thickness_mm,
        })
    }

    /// Greatest stress of the brace per unit moment, E z / EI over the farther of crest and foot, and shear flow per unit shear.
    fn per_unit(&self, m: &Moments, height: f64) -> (f64, f64) {
        let upper = (self.brace_mpa, m.area, m.centroid(), m.about_centroid().max(0.0));
        let c = composite(upper, (self.plate_mpa, self.flange_mm, self.thickness_mm));
        let far = (height - c.neutral).abs().max(c.neutral.abs());
        (self.brace_mpa * far / c.ei, c.upper_first / c.ei)
    }
}

fn strength(wood: &Wood, q: Quantity, given: Option<f64>, name: &str) -> Result<f64> {
    match (given, wood.value(q)) {
        (Some(v), _) => within(name, v, "MPa", 0.1, 500.0),
        (None, Some(v)) => Ok(v),
        (None, None) => Err(Error::Refused(format!("{} carries no {}: give {name}", wood.name(), q.name()))),
    }
}

impl Strip {
    /// Margins at places along the brace under loads that stay.
    ///
    /// The margin stands on the transformed section with one flange, the one given or [`Strip::lag_width_mm`], for which no pass
    /// can raise it; the stress of the solved strip, which knows the walls of a scallop and takes no flange, is beside it.
    pub fn margins(&self, loads: &[GluedLoad], read_mm: &[f64], options: &MarginOptions) -> Result<Margins> {
        let years = within("years", options.years, "years", 1e-3, 200.0)?;
        let least_margin = within("least_margin", options.least_margin, "", 1.0, 100.0)?;
        let lining = within("lining_mm", positive("lining_mm", options.lining_mm, "mm")?, "mm", 0.5, 50.0)?;
        if !self.brace.solid()?.notches.is_empty() {
            return Err(Error::Refused(
                "the brace has a half-lap, along which no margin is judged here: take it out of the profile, and ask half_laps of it".into(),
            ));
        }
        let bend = self.bend(loads, read_mm)?;
        let wood = self.brace.blank().wood();
        let strength_mpa = strength(wood, Quantity::ModulusOfRupture, options.bending_strength_mpa, "bending_strength_mpa")?;
        let shear_mpa = match options.shear_strength_mpa {
            Some(v) => within("shear_strength_mpa", v, "MPa", 0.1, 100.0)?,
            None => strength(wood, Quantity::ShearParallel, None, "shear_strength_mpa")?
                .min(self.top.value(Quantity::ShearParallel).unwrap_or(f64::INFINITY)),
        };
        let duration_factor =
            duration_of_load_factor(years * YEAR_S)?.min(if years > 10.0 { k_mod(1.0, LoadDuration::Permanent)? } else { 1.0 });
        let grain_factor = slope_of_grain_factor(self.brace.blank().run_out())?;
        let solid = self.brace.solid()?;
        let size = if options.size_effect { size_factor(solid.tallest(), self.brace.length_mm(), 0.0)? } else { 1.0 };
        let lasting_mpa = strength_mpa * duration_factor * grain_factor * size;
        let lasting_shear_mpa = shear_mpa * duration_factor;
        let joint = Joint::new(self, options.flange_mm)?;
        let mut out = Margins {
            x_mm: read_mm.to_vec(),
            height_mm: Vec::new(),
            bending_mpa: Vec::new(),
            resolved_mpa: bend.crest_mpa.iter().zip(&bend.foot_mpa).map(|(c, f)| c.abs().max(f.abs())).collect(),
            bending_margin: Vec::new(),
            glue_mpa: Vec::new(),
            glue_margin: Vec::new(),
            lowest_mm: Vec::new(),
            lasting_mpa,
            strength_mpa,
            duration_factor,
            grain_factor,
            size_factor: size,
            lasting_shear_mpa,
            least: (IDLE, read_mm.first().copied().unwrap_or(0.0)),
            least_resolved: (IDLE, read_mm.first().copied().unwrap_or(0.0)),
            end_n: (0.0, 0.0),
            bearing_mpa: (0.0, 0.0),
            bearing_margin: None,
            least_margin,
            words: Vec::new(),
        };
        let width = self.brace.width_mm();
        let worst = joint.worst(&solid, width);
        for (i, &x) in read_mm.iter().enumerate() {
            let height = solid.crest.at(x).max(0.0);
            out.height_mm.push(height);
            let m = solid.moments(x, x, true);
            let (moment, shear) = (1000.0 * bend.moment_n_m[i].abs(), bend.shear_n[i].abs());
            let (stress, flow) = worst.at(height, if m.area > 1e-9 { joint.per_unit(&m, height) } else { (0.0, 0.0) });
            out.bending_mpa.push(stress * moment);
            let margin = over(lasting_mpa, stress * moment);
            out.bending_margin.push(margin);
            if margin < out.least.0 {
                out.least = (margin, x);
            }
            let glue = flow * shear / width;
            out.glue_mpa.push(glue);
            out.glue_margin.push(over(lasting_shear_mpa, glue));
            out.lowest_mm.push(lowest(&joint, &worst, &solid, width, height, moment, lasting_mpa / least_margin));
        }
        for (x, stress) in read_mm.iter().zip(&out.resolved_mpa) {
            let margin = over(lasting_mpa, *stress);
            if margin < out.least_resolved.0 {
                out.least_resolved = (margin, *x);
            }
        }
        let (left, right) = self.end_forces(loads)?;
        let area = lining * width;
        out.end_n = (left, right);
        out.bearing_mpa = (left.max(0.0) / area, right.max(0.0) / area);
        out.bearing_margin = wood
            .value(Quantity::CompressionPerpendicular)
            .map(|s| over(s * duration_factor, out.bearing_mpa.0.max(out.bearing_mpa.1)));
        out.words = words(&out);
        Ok(out)
    }
}

impl Joint {
    /// Stress and shear flow of a section without notches.
    fn whole(&self, solid: &Solid, width: f64, h: f64) -> (f64, f64) {
        let m = solid.outline.whole(h);
        let wide = Moments { area: width * m.area, first: width * m.first, second: width * m.second, lateral: 0.0 };
        self.per_unit(&wide, h)
    }

    /// The heights at which a section bears worst.
    fn worst(&self, solid: &Solid, width: f64) -> Worst {
        let peak = |of: &dyn Fn(f64) -> f64| {
            let (mut low, mut high) = (0.01, 40.0);
            while high - low > 1e-6 {
                let (a, b) = (low + (high - low) / 3.0, high - (high - low) / 3.0);
                if of(a) < of(b) { low = a } else { high = b }
            }
            (low, of(low))
        };
        Worst { bending: peak(&|h| self.whole(solid, width, h).0), glue: peak(&|h| self.whole(solid, width, h).1) }
    }
}

/// Heights at which stress and shear flow are greatest, mm, and how great. A brace thinner than that takes less, because the top
/// takes more; a margin keeps to the worst height it passed, or a pass at a feathered end could seem to strengthen.
struct Worst {
    bending: (f64, f64),
    glue: (f64, f64),
}

impl Worst {
    /// Stress and flow of a height, or the worst it passed.
    fn at(&self, height: f64, (stress, flow): (f64, f64)) -> (f64, f64) {
        let passed = |(turn, most): (f64, f64), now: f64| if height < turn { most.max(now) } else { now };
        (passed(self.bending, stress), passed(self.glue, flow))
    }
}

/// Height to which the crest may go at a place before the stress of a moment reaches a limit, mm; without regard to notches.
fn lowest(joint: &Joint, worst: &Worst, solid: &Solid, width: f64, height: f64, moment: f64, limit: f64) -> f64 {
    let at = |h: f64| worst.at(h, joint.whole(solid, width, h)).0 * moment;
    if height <= 1e-6 || moment <= 0.0 {
        return 0.0;
    }
    if at(height) >= limit {
        return height;
    }
    let (mut low, mut high) = (1e-3 * height, height);
    if at(low) < limit {
        return 0.0;
    }
    while high - low > 1e-4 {
        let middle = 0.5 * (low + high);
        if at(middle) > limit { low = middle } else { high = middle }
    }
    high
}

/// Margin that stands for no stress to speak of.
const IDLE: f64 = 1e6;

fn over(strength: f64, stress: f64) -> f64 {
    if stress > 0.0 { (strength / stress).min(IDLE) } else { IDLE }
}

/// Where a margin is below what is wanted, in words.
fn stretches(x_mm: &[f64], margin: &[f64], least: f64) -> String {
    let mut runs: Vec<(f64, f64)> = Vec::new();
    let mut on = false;
    for (x, m) in x_mm.iter().zip(margin) {
        match (on, *m < least, runs.last_mut()) {
            (true, true, Some(run)) => run.1 = *x,
            (false, true, _) => runs.push((*x, *x)),
            _ => {}
        }
        on = *m < least;
    }
    let one = |(a, b): &(f64, f64)| if a == b { format!("at {a:.0} mm") } else { format!("from {a:.0} to {b:.0} mm") };
    runs.iter().map(one).collect::<Vec<_>>().join(" and ")
}

fn words(m: &Margins) -> Vec<String> {
    let mut out = vec![format!(
        "of {} MPa that clear wood bears for minutes, {:.1} MPa last: duration {:.2}, grain {:.2}, size {:.2}",
        number(m.strength_mpa),
        m.lasting_mpa,
        m.duration_factor,
        m.grain_factor,
        m.size_factor
    )];
    let (least, at) = m.least;
    if least >= IDLE {
        out.push("nothing bends it at these places".into());
        return out;
    }
    out.push(format!("least margin in bending {least:.2} at {at:.0} mm, wanted {}", number(m.least_margin)));
    if least < m.least_margin {
        out.push(format!(
            "caution: {} the brace is below the height that keeps this margin; take no more off there, and lighten the load or add wood",
            stretches(&m.x_mm, &m.bending_margin, m.least_margin)
        ));
    }
    let (solved, place) = m.least_resolved;
    if solved < least / 1.1 {
        let low = if solved < m.least_margin { "caution: " } else { "" };
        out.push(format!(
            "{low}the strip as solved has its least margin, {solved:.2}, at {place:.0} mm: walls of a scallop and a wide strip raise the \
             stress above the section's"
        ));
    }
    let glue = m.glue_margin.iter().fold(f64::INFINITY, |a, b| a.min(*b));
    if glue < m.least_margin {
        out.push(format!("caution: the glue line keeps a margin of only {glue:.2} in shear"));
    }
    match m.bearing_margin {
        Some(b) if b < m.least_margin => {
            out.push(format!("caution: an end of the brace presses on its lining with a margin of {b:.2}; let it bear on more"));
        }
        None => {
            out.push("the wood carries no strength across the grain, so what the ends bear on the lining is not judged".into())
        }
        _ => {}
    }
    for (side, force) in [("left", m.end_n.0), ("right", m.end_n.1)] {
        if force < -1.0 {
            out.push(format!(
                "caution: the {side} end lifts with {:.0} N and hangs on its glue: tuck it, and mind its peel",
                -force
            ));
        }
    }
    out
}

impl Margins {
    /// What to mind.
    pub fn cautions(&self) -> Vec<String> {
        cautions(&[Hazard::LongLoad, Hazard::Strings, Hazard::Glue, Hazard::Edges, Hazard::Dust, Hazard::Estimate])
    }
}
