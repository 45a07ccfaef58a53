//! Two or three oscillators on one cavity: their modes, and what a change of the top does to them.

use std::f64::consts::TAU;

use serde::{Deserialize, Serialize};

use super::air::BodyAir;
use super::oscillators::{Hole, levels};
use crate::cautions::{Hazard, cautions};
use crate::error::{Error, Result, number, tidy, within};

/// Top or back as one oscillator, without the spring of the air behind it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct BodyPlate {
    /// Its frequency with the cavity's air spring taken away (as with the box open at the back), Hz.
    pub frequency_hz: f64,
    /// Effective mass at the place that is tapped, g, the air that moves with it counted in.
    pub mass_g: f64,
    /// Volume it sweeps for the way that place moves, cm2.
    pub area_cm2: f64,
    /// Quality factor.
    pub q: f64,
}

/// A coupled mode.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct BodyMode {
    /// Natural frequency, Hz.
    pub frequency_hz: f64,
    /// Quality factor, to first order in the damping.
    pub q: f64,
    /// Volume the top sweeps outwards; the largest of the three is 1 or -1, the top's not below 0.
    pub top_volume: f64,
    /// Volume that goes out of the hole; 0 when it is closed.
    pub air_volume: f64,
    /// Volume the back sweeps outwards; 0 when it stands still.
    pub back_volume: f64,
    /// All three together: what the mode sends out at low frequency.
    pub net_volume: f64,
    /// Modal mass at the place on the top that is tapped, g.
    pub modal_mass_g: f64,
    /// Change of the frequency for one percent more stiffness of the top, percent.
    pub per_percent_stiffness: f64,
    /// Change of the frequency for one percent more mass of the top, percent.
    pub per_percent_mass: f64,
}

/// Top, air and perhaps back on one cavity.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct CoupledBody {
    /// The cavity and its hole.
    pub air: BodyAir,
    /// Quality factor of the air in the hole.
    pub q_air: f64,
    /// The top.
    pub top: BodyPlate,
    /// The back; without one it stands still.
    pub back: Option<BodyPlate>,
}

/// What a change of the top does.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct BodyChange {
    /// The body after it.
    pub after: CoupledBody,
    /// Frequencies before, hole open, Hz.
    pub open_before_hz: Vec<f64>,
    /// Frequencies after, hole open, Hz.
    pub open_after_hz: Vec<f64>,
    /// Frequencies before, hole closed, Hz.
    pub closed_before_hz: Vec<f64>,
    /// Frequencies after, hole closed, Hz.
    pub closed_after_hz: Vec<f64>,
    /// The same, in words.
    pub words: Vec<String>,
}

impl BodyPlate {
    /// A plate of `frequency_hz` (5 to 5000), `mass_g` (1 to 10000), `area_cm2` (1 to 5000) and `q` (1 to 10000).
    pub fn new(frequency_hz: f64, mass_g: f64, area_cm2: f64, q: f64) -> Result<Self> {
        within("frequency_hz", frequency_hz, "Hz", 5.0, 5000.0)?;
        within("mass_g", mass_g, "g", 1.0, 10_000.0)?;
        within("area_cm2", area_cm2, "cm2", 1.0, 5000.0)?;
        within("q", q, "", 1.0, 10_000.0)?;
        Ok(Self { frequency_hz, mass_g, area_cm2, q })
    }

    /// The same plate, whose figures were reckoned in vacuo, with the air that moves with one or two of its `sides` added as that of
    /// a piston of its effective area in a large wall: M + n 8/3 rho a^3, the frequency down by the root. Q is kept.
    pub fn in_air(&self, air: &BodyAir, sides: usize) -> Result<Self> {
        if !(1..=2).contains(&sides) {
            return Err(Error::OutOfRange { quantity: "sides".into(), value: sides as f64, unit: "", allowed: "1 or 2".into() });
        }
        let mass_g = self.mass_g + sides as f64 * air.load_g(self.area_cm2)?;
        Self::new(self.frequency_hz * (self.mass_g / mass_g).sqrt(), mass_g, self.area_cm2, self.q)
    }

    /// The plate with `stiffness_percent` more stiffness and `mass_percent` more mass (each -90 to 900), area and Q kept.
    pub fn changed(&self, stiffness_percent: f64, mass_percent: f64) -> Result<Self> {
        let k = 1.0 + 0.01 * within("stiffness_percent", stiffness_percent, "percent", -90.0, 900.0)?;
        let m = 1.0 + 0.01 * within("mass_percent", mass_percent, "percent", -90.0, 900.0)?;
        Self::new(self.frequency_hz * (k / m).sqrt(), self.mass_g * m, self.area_cm2, self.q)
    }

    /// Stiffness at the place that is tapped, N/mm, the air spring not counted: (2 pi f)^2 M.
    pub fn stiffness_n_per_mm(&self) -> f64 {
        (TAU * self.frequency_hz).powi(2) * self.mass_g * 1e-6
    }

    /// What the cavity's spring adds to the frequency's square, as a frequency, Hz: A sqrt(mu / M) / (2 pi).
    pub(super) fn spring_hz(&self, air: &BodyAir) -> f64 {
        1e-4 * self.area_cm2 * (air.spring_pa_per_m3() / (1e-3 * self.mass_g)).sqrt() / TAU
    }
}

/// Numbers of one hole: the diagonal, the rank, and f / Q of each, top first, then air, then back.
pub(super) struct Parts {
    pub d: Vec<f64>,
    pub v: Vec<f64>,
    pub width: Vec<f64>,
    /// Where the air stands, and the back.
    pub air: Option<usize>,
    pub back: Option<usize>,
}

impl CoupledBody {
    /// A body of these; `q_air` 1 to 10000.
    pub fn new(air: BodyAir, q_air: f64, top: BodyPlate, back: Option<BodyPlate>) -> Result<Self> {
        let air = air.checked()?;
        within("q_air", q_air, "", 1.0, 10_000.0)?;
        Ok(Self { air, q_air, top, back })
    }

    pub(super) fn parts(&self, hole: Hole) -> Parts {
        let mut p = Parts { d: Vec::new(), v: Vec::new(), width: Vec::new(), air: None, back: None };
        let mut push = |f: f64, v: f64, width: f64| {
            p.d.push(f * f);
            p.v.push(v);
            p.width.push(width);
            p.d.len() - 1
        };
        push(self.top.frequency_hz, self.top.spring_hz(&self.air), self.top.frequency_hz / self.top.q);
        let helmholtz = self.air.helmholtz_hz();
        let air = (hole == Hole::Open).then(|| push(0.0, helmholtz, helmholtz / self.q_air));
        let back = self.back.map(|b| push(b.frequency_hz, b.spring_hz(&self.air), b.frequency_hz / b.q));
        (p.air, p.back) = (air, back);
        p
    }

    /// The coupled modes, lowest first: with the hole open as many as there are oscillators, closed one fewer.
    pub fn modes(&self, hole: Hole) -> Result<Vec<BodyMode>> {
        let p = self.parts(hole);
        let modes = levels(&p.d, &p.v)?.into_iter().map(|level| {
            let frequency_hz = level.square.sqrt();
            let swept: Vec<f64> = p.v.iter().zip(&level.y).map(|(v, y)| v * y).collect();
            let largest = swept.iter().fold(f64::MIN_POSITIVE, |l, s| l.max(s.abs()));
            let unit = if swept[0] < 0.0 { -largest } else { largest };
            let of = |i: Option<usize>| i.map_or(0.0, |i| swept[i] / unit);
            let width: f64 = p.width.iter().zip(&level.y).map(|(w, y)| w * y * y).sum();
            let share = level.y[0] * level.y[0];
            BodyMode {
                frequency_hz,
                q: frequency_hz / width,
                top_volume: swept[0] / unit,
                air_volume: of(p.air),
                back_volume: of(p.back),
                net_volume: swept.iter().sum::<f64>() / unit,
                modal_mass_g: self.top.mass_g / share.max(1e-200),
                per_percent_stiffness: 0.5 * p.d[0] * share / level.square,
                per_percent_mass: -0.5 * share,
            }
        });
        Ok(modes.collect())
    }

    /// The frequencies of `modes`, Hz.
    pub fn frequencies_hz(&self, hole: Hole) -> Result<Vec<f64>> {
        Ok(self.modes(hole)?.iter().map(|m| m.frequency_hz).collect())
    }

    /// Frequency of the box if its walls were rigid, Hz.
    pub fn helmholtz_hz(&self) -> f64 {
        self.air.helmholtz_hz()
    }

    /// Frequency of the top on its own stiffness and the cavity's, hole closed and back still, Hz.
    pub fn top_closed_hz(&self) -> f64 {
        self.top.frequency_hz.hypot(self.top.spring_hz(&self.air))
    }

    /// The body with another top.
    pub fn with_top(&self, top: BodyPlate) -> Self {
        Self { top, ..*self }
    }

    /// What `stiffness_percent` more stiffness and `mass_percent` more mass of the top do (each -90 to 900; below 0 is looser or
    /// lighter). The area it sweeps is taken to stay, so its mode must not change its shape much.
    pub fn top_changed(&self, stiffness_percent: f64, mass_percent: f64) -> Result<BodyChange> {
        let after = self.with_top(self.top.changed(stiffness_percent, mass_percent)?);
        let hz = |b: &Self, hole| b.frequencies_hz(hole);
        let (open_before_hz, open_after_hz) = (hz(self, Hole::Open)?, hz(&after, Hole::Open)?);
        let (closed_before_hz, closed_after_hz) = (hz(self, Hole::Closed)?, hz(&after, Hole::Closed)?);
        let mut words = vec![format!(
            "the top with {} % of stiffness and {} % of mass: {:.1} Hz on its own becomes {:.1} Hz",
            signed(stiffness_percent),
            signed(mass_percent),
            self.top.frequency_hz,
            after.top.frequency_hz
        )];
        for (hole, before, now) in [("open", &open_before_hz, &open_after_hz), ("closed", &closed_before_hz, &closed_after_hz)] {
            let list: Vec<String> =
                before.iter().zip(now).map(|(b, n)| format!("{b:.1} to {n:.1} Hz ({:+.1})", tidy(n - b))).collect();
            words.push(format!("hole {hole}: {}", list.join(", ")));
        }
        Ok(BodyChange { after, open_before_hz, open_after_hz, closed_before_hz, closed_after_hz, words })
    }
}

impl BodyChange {
    /// What to mind.
    pub fn cautions(&self) -> Vec<String> {
        cautions(&[Hazard::Edges, Hazard::Dust, Hazard::Estimate])
    }
}

fn signed(v: f64) -> String {
    let tidy = number(v);
    if v > 0.0 { format!("+{tidy}") } else { tidy }
}
