//! The half-lap of crossing legs: what is left of EI and of strength in the notch.

use serde::{Deserialize, Serialize};

use crate::brace::Brace;
use crate::cautions::{Hazard, cautions};
use crate::error::{Error, Result, number, within};
use crate::profile::NotchSide;
use crate::wood::Quantity;

/// How a half-lap stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum LapState {
    /// Nothing in the notch, as when glue on end grain has let go.
    Open,
    /// The crossing leg glued in tight.
    Tight,
    /// The same with a cap of the leg's own wood glued on its crest.
    Capped,
}

impl LapState {
    /// Its name.
    pub fn name(self) -> &'static str {
        match self {
            LapState::Open => "open",
            LapState::Tight => "tight",
            LapState::Capped => "capped",
        }
    }
}

/// One leg at a half-lap in one state.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Lap {
    /// Which side of the leg is notched.
    pub side: NotchSide,
    /// How it stands.
    pub state: LapState,
    /// EI in the notch over that of the whole leg.
    pub ei_ratio: f64,
    /// Moment that opens the notch which it bears for minutes, N m.
    pub opening_n_m: f64,
    /// Moment that closes the notch which it bears for minutes, N m.
    pub closing_n_m: f64,
    /// The same of the whole leg, N m.
    pub whole_n_m: f64,
}

/// A half-lap of two like legs.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct HalfLaps {
    /// Length of the notch along the leg, mm: width of the other over the sine of the angle between them.
    pub notch_mm: f64,
    /// Height of the leg there, mm.
    pub height_mm: f64,
    /// The leg notched from its crest and the one notched from its glue face, each open, tight and capped.
    pub laps: Vec<Lap>,
    /// What should be known, as sentences.
    pub words: Vec<String>,
}

impl HalfLaps {
    /// What to mind.
    pub fn cautions(&self) -> Vec<String> {
        cautions(&[Hazard::Edges, Hazard::Glue, Hazard::Dust, Hazard::Estimate])
    }
}

/// A layer of the section: from, to, modulus (MPa), width (mm), and the stresses it bears in tension and compression (MPa).
struct Layer {
    low: f64,
    high: f64,
    modulus: f64,
    width: f64,
    tension: f64,
    compression: f64,
}

/// EI, N mm2, and the moments borne with the crest in tension and in compression, N mm.
fn strength(layers: &[Layer]) -> (f64, f64, f64) {
    let (mut ea, mut es) = (0.0, 0.0);
    for l in layers {
        let a = l.modulus * l.width * (l.high - l.low);
        ea += a;
        es += a * 0.5 * (l.low + l.high);
    }
    let neutral = es / ea;
    let ei: f64 =
        layers.iter().map(|l| l.modulus * l.width * ((l.high - neutral).powi(3) - (l.low - neutral).powi(3)) / 3.0).sum();
    let (mut up, mut down) = (f64::INFINITY, f64::INFINITY);
    for l in layers {
        for z in [l.low - neutral, l.high - neutral] {
            if z.abs() > 1e-12 {
                // moment at which this fibre reaches its limit, the crest in tension, then in compression
                let at = ei / (l.modulus * z.abs());
                let (first, second) = if z > 0.0 { (l.tension, l.compression) } else { (l.compression, l.tension) };
                up = f64::min(up, first * at);
                down = f64::min(down, second * at);
            }
        }
    }
    (ei, up, down)
}

/// The half-lap of two legs like `brace`, crossing at `at_mm` with `angle_deg` (10 to 170) between them, cut to half the height;
/// the cap is `cap_mm` thick (0.2 to 10) and as wide as the leg. Parallel sides are assumed.
///
/// Strengths are short-term and of clear wood. An open notch bears with what is left of the height. In a tight one the crossing
/// leg counts by its modulus across the grain; glued on end grain, it bears compression, but for tension only a tenth of the
/// strength across the grain (common practice has it at nothing); where leg and cap without it bear more, that is what is said.
pub fn half_laps(brace: &Brace, at_mm: f64, angle_deg: f64, cap_mm: f64, bending_strength_mpa: Option<f64>) -> Result<HalfLaps> {
    brace.profile().on_brace("at_mm", &[at_mm])?;
    let angle = within("angle_deg", angle_deg, "deg", 10.0, 170.0)?;
    let cap = within("cap_mm", cap_mm, "mm", 0.2, 10.0)?;
    let wood = brace.blank().wood();
    let bending = match (bending_strength_mpa, wood.value(Quantity::ModulusOfRupture)) {
        (Some(v), _) => within("bending_strength_mpa", v, "MPa", 1.0, 500.0)?,
        (None, Some(v)) => v,
        (None, None) => {
            return Err(Error::Refused(format!("{} carries no modulus_of_rupture_mpa: give bending_strength_mpa", wood.name())));
        }
    };
    let h = brace.profile().crest().at(at_mm);
    if h < 1.0 {
        return Err(Error::Refused(format!(
            "at_mm is {} mm, where the brace is {} mm high: too little for a half-lap",
            number(at_mm),
            number(h)
        )));
    }
    let (b, e) = (brace.width_mm(), brace.modulus_x_mpa()?);
    let crossing = e * wood.er_el();
    let across = wood.value(Quantity::CompressionPerpendicular).unwrap_or(0.06 * bending);
    let pull = 0.1 * wood.value(Quantity::TensionPerpendicular).unwrap_or(0.04 * bending);
    let own = |low: f64, high: f64| Layer { low, high, modulus: e, width: b, tension: bending, compression: bending };
    let filled = |low: f64, high: f64| Layer { low, high, modulus: crossing, width: b, tension: pull, compression: across };
    let (whole_ei, whole, _) = strength(&[own(0.0, h)]);
    let half = 0.5 * h;
    let mut laps = Vec::new();
    for side in [NotchSide::Crest, NotchSide::GlueFace] {
        let (left, notch) = match side {
            NotchSide::Crest => ((0.0, half), (half, h)),
            NotchSide::GlueFace => ((half, h), (0.0, half)),
        };
        for state in [LapState::Open, LapState::Tight, LapState::Capped] {
            let mut layers = vec![own(left.0, left.1)];
            if state != LapState::Open {
                layers.push(filled(notch.0, notch.1));
            }
            if state == LapState::Capped {
                layers.push(own(h, h + cap));
            }
            let (ei, crest_pulled, crest_pressed) = strength(&layers);
            // a joint that lets go leaves the leg and its cap, which may bear more
            let bare: Vec<Layer> =
                std::iter::once(own(left.0, left.1)).chain((state == LapState::Capped).then(|| own(h, h + cap))).collect();
            let (_, pulled_without, pressed_without) = strength(&bare);
            let (crest_pulled, crest_pressed) = (crest_pulled.max(pulled_without), crest_pressed.max(pressed_without));
            let (opening, closing) = match side {
                NotchSide::Crest => (crest_pulled, crest_pressed),
                NotchSide::GlueFace => (crest_pressed, crest_pulled),
            };
            laps.push(Lap {
                side,
                state,
                ei_ratio: ei / whole_ei,
                opening_n_m: opening * 1e-3,
                closing_n_m: closing * 1e-3,
                whole_n_m: whole * 1e-3,
            });
        }
    }
    let of =
        |side: NotchSide, state: LapState| laps.iter().find(|l| l.side == side && l.state == state).map_or(0.0, |l| l.ei_ratio);
    let words = vec![
        format!(
            "cut from the crest: {:.3} of the leg's EI open, {:.2} glued in tight, {:.2} with a cap of {} mm",
            of(NotchSide::Crest, LapState::Open),
            of(NotchSide::Crest, LapState::Tight),
            of(NotchSide::Crest, LapState::Capped),
            number(cap)
        ),
        "the leg cut from its crest needs the cap; the one cut from its glue face borrows the top under it".into(),
        "a notch that opens hangs on glue on end grain, which is not to be counted on".into(),
    ];
    Ok(HalfLaps { notch_mm: b / angle.to_radians().sin(), height_mm: h, laps, words })
}
