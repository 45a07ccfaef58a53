//! A set of strings at a tuning and a scale: the tension of each and of all.

use serde::{Deserialize, Serialize};

use super::notes::note_hz;
use super::string::{Core, GuitarString, Material, StringKind};
use crate::error::{self, Error, Result, number, within};

/// The usual tuning, from the thinnest string.
pub const STANDARD_TUNING: [&str; 6] = ["E4", "B3", "G3", "D3", "A2", "E2"];

/// Gauges of the steel sets, thousandths of an inch, from the thinnest; the first two plain, the others wound. Common practice.
const STEEL_SETS: [(&str, [f64; 6]); 3] = [
    ("extra light", [10.0, 14.0, 23.0, 30.0, 39.0, 47.0]),
    ("light", [12.0, 16.0, 24.0, 32.0, 42.0, 53.0]),
    ("medium", [13.0, 17.0, 26.0, 35.0, 45.0, 56.0]),
];
/// What a usual nylon set pulls at 650 mm, N, and half the range in use; common practice.
const NYLON_N: [(f64, f64); 6] = [(69.0, 3.0), (55.0, 3.0), (54.0, 4.0), (70.0, 4.0), (71.0, 5.0), (67.0, 5.0)];

/// Tension in N of a string of `mass_g_per_m` sounding `frequency_hz` over `scale_mm`: T = mu (2 L f)^2, the law of an ideal string.
pub fn tension_n(mass_g_per_m: f64, scale_mm: f64, frequency_hz: f64) -> Result<f64> {
    let mu = within("mass_g_per_m", mass_g_per_m, "g/m", 0.05, 60.0)?;
    let l = within("scale_mm", scale_mm, "mm", 200.0, 1200.0)?;
    let f = within("frequency_hz", frequency_hz, "Hz", 10.0, 2000.0)?;
    Ok(1e-3 * mu * (2e-3 * l * f).powi(2))
}

/// A set of strings, tuned, on a scale.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct StringSet {
    /// What it is called.
    pub name: String,
    /// The strings, in any order.
    pub strings: Vec<GuitarString>,
    /// The note of each.
    pub tuning: Vec<String>,
    /// Sounding length of each open string, mm.
    pub scale_mm: Vec<f64>,
    /// Standard uncertainty of the scale, mm: one rule measured all of them.
    pub u_scale_mm: f64,
    /// Frequency of A4, Hz.
    pub a4_hz: f64,
}

/// One string at pitch.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct StringTension {
    /// Its note.
    pub note: String,
    /// Where its mass is known from.
    pub kind: StringKind,
    /// Frequency, Hz.
    pub frequency_hz: f64,
    /// Sounding length, mm.
    pub scale_mm: f64,
    /// Mass of a metre, g.
    pub mass_g_per_m: f64,
    /// Tension, N.
    pub tension_n: f64,
    /// Its standard uncertainty, N.
    pub u_tension_n: f64,
    /// Stress in the wire of a plain string or the core of a wound one, MPa; `None` where its area is not known. In a plain
    /// string it is rho (2 L f)^2, whatever the gauge.
    pub stress_mpa: Option<f64>,
}

/// A set at pitch.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Tensions {
    /// Each string, as the set has them.
    pub strings: Vec<StringTension>,
    /// Sum of the tensions, N.
    pub total_n: f64,
    /// Its standard uncertainty, N: the scale is in all strings, what is unknown of a construction in all strings of it.
    pub u_total_n: f64,
    /// What should be known, as sentences.
    pub words: Vec<String>,
}

impl StringSet {
    /// A set. `scale_mm` is one for all or one for each string; strings, notes and scales go together.
    pub fn new(
        name: &str,
        strings: Vec<GuitarString>,
        tuning: &[String],
        scale_mm: &[f64],
        u_scale_mm: f64,
        a4_hz: f64,
    ) -> Result<Self> {
        if strings.is_empty() || strings.len() > 24 {
            return Err(Error::BadList {
                name: "strings".into(),
                problem: format!("has {} strings; it must have 1 to 24", strings.len()),
            });
        }
        error::same_length("strings", strings.len(), "tuning", tuning.len())?;
        let scale = if scale_mm.len() == 1 { vec![scale_mm[0]; strings.len()] } else { scale_mm.to_vec() };
        error::same_length("strings", strings.len(), "scale_mm", scale.len())?;
        for (k, (l, note)) in scale.iter().zip(tuning).enumerate() {
            within(&format!("scale_mm[{k}]"), *l, "mm", 200.0, 1200.0)?;
            within(&format!("frequency of {note}"), note_hz(note, a4_hz)?, "Hz", 10.0, 2000.0)?;
        }
        within("u_scale_mm", u_scale_mm, "mm", 0.0, 20.0)?;
        let set = Self { name: name.trim().into(), strings, tuning: tuning.to_vec(), scale_mm: scale, u_scale_mm, a4_hz };
        if let Some(t) = set.tensions().strings.iter().find(|t| !(1.0..=600.0).contains(&t.tension_n)) {
            return Err(Error::Refused(format!(
                "a string of mass_g_per_m {} g/m at {} over scale_mm {} mm would pull {} N; it must be from 1 to 600 N: check mass, note and \
                 scale",
                number(t.mass_g_per_m),
                t.note,
                number(t.scale_mm),
                number((10.0 * t.tension_n).round() / 10.0)
            )));
        }
        Ok(set)
    }

    /// A six-string steel set, "extra light", "light" or "medium", by gauges in common use, at the usual tuning. Wound strings:
    /// hexagonal core 0.365 of the gauge, wire of 8800 kg/m3, masses within 4 % (common practice): weigh yours.
    pub fn steel(name: &str, scale_mm: &[f64], u_scale_mm: f64, a4_hz: f64) -> Result<Self> {
        let plain = name.trim().to_lowercase();
        let gauges = STEEL_SETS
            .iter()
            .find(|s| s.0 == plain)
            .ok_or_else(|| error::unknown_name("name", name, STEEL_SETS.iter().map(|s| s.0)))?
            .1;
        let strings = gauges.iter().enumerate().map(|(k, thou)| {
            let mm = 25.4e-3 * thou;
            if k < 2 {
                GuitarString::plain(mm, Material::Steel, None, None)
            } else {
                GuitarString::wound(mm, Core::Hex, 0.365, 8800.0, 0.04)
            }
        });
        Self::new(&format!("{plain} steel"), strings.collect::<Result<_>>()?, &standard(), scale_mm, u_scale_mm, a4_hz)
    }

    /// A six-string nylon set of usual tension, masses from the middle of the ranges in use at 650 mm (385 N in all, each
    /// string within about 4 %; common practice): weigh yours.
    pub fn nylon(scale_mm: &[f64], u_scale_mm: f64, a4_hz: f64) -> Result<Self> {
        let strings = NYLON_N
            .iter()
            .zip(STANDARD_TUNING)
            .map(|((n, half), note)| GuitarString::of_tension(*n, note, 650.0, 440.0, half / n / 3.0_f64.sqrt()));
        Self::new("nylon", strings.collect::<Result<_>>()?, &standard(), scale_mm, u_scale_mm, a4_hz)
    }

    /// The same strings at other notes.
    pub fn with_tuning(&self, tuning: &[String]) -> Result<Self> {
        Self::new(&self.name, self.strings.clone(), tuning, &self.scale_mm, self.u_scale_mm, self.a4_hz)
    }

    /// The same strings on another scale, one for all or one for each.
    pub fn with_scale_mm(&self, scale_mm: &[f64]) -> Result<Self> {
        Self::new(&self.name, self.strings.clone(), &self.tuning, scale_mm, self.u_scale_mm, self.a4_hz)
    }

    /// The tension of each string and of all.
    pub fn tensions(&self) -> Tensions {
        let (mut total, mut of_scale, mut alone) = (0.0, 0.0, 0.0);
        let mut together = [(StringKind::PlainNylon, 0.0), (StringKind::Wound, 0.0), (StringKind::Packet, 0.0)];
        let mut strings = Vec::with_capacity(self.strings.len());
        for ((s, note), &l) in self.strings.iter().zip(&self.tuning).zip(&self.scale_mm) {
            let hz = note_hz(note, self.a4_hz).unwrap_or(0.0);
            let t = 1e-3 * s.mass_g_per_m * (2e-3 * l * hz).powi(2);
            let by_mass = t * s.u_mass_g_per_m / s.mass_g_per_m;
            let by_scale = t * 2.0 * self.u_scale_mm / l;
            total += t;
            of_scale += by_scale;
            match together.iter_mut().find(|k| k.0 == s.kind) {
                Some(k) if s.kind.errs_together() => k.1 += by_mass,
                _ => alone += by_mass * by_mass,
            }
            strings.push(StringTension {
                note: note.clone(),
                kind: s.kind,
                frequency_hz: hz,
                scale_mm: l,
                mass_g_per_m: s.mass_g_per_m,
                tension_n: t,
                u_tension_n: by_mass.hypot(by_scale),
                stress_mpa: s.core_area_mm2.map(|a| t / a),
            });
        }
        let u = (alone + of_scale * of_scale + together.iter().map(|k| k.1 * k.1).sum::<f64>()).sqrt();
        let name = if self.name.is_empty() { "the set" } else { self.name.as_str() };
        let mut words = vec![format!(
            "{name} pulls {total:.0} N ({:.0} lbf), u {u:.1} N ({:.1} %)",
            total / 4.448_221_615_260_5,
            100.0 * u / total
        )];
        let guessed = self.strings.iter().filter(|s| s.kind != StringKind::Weighed && s.kind != StringKind::PlainSteel).count();
        if guessed > 0 {
            words.push(format!(
                "the mass of {guessed} of {} strings is taken from gauge or packet, and errs together in all of a kind; weigh a metre of \
                 each for a narrower figure",
                self.strings.len()
            ));
        }
        Tensions { strings, total_n: total, u_total_n: u, words }
    }
}

fn standard() -> Vec<String> {
    STANDARD_TUNING.iter().map(|n| (*n).to_string()).collect()
}

impl Tensions {
    /// Energy stored in a plain steel string, J, its wire `length_mm` long from pin to post (100 to 2000), E 200 GPa:
    /// T^2 l / (2 E A). What a break lets go. `None` for a string whose area is not known or that is not plain steel.
    pub fn stored_energy_j(&self, index: usize, length_mm: f64) -> Result<Option<f64>> {
        let l = within("length_mm", length_mm, "mm", 100.0, 2000.0)?;
        let s = self.string(index)?;
        let stress = s.stress_mpa.filter(|_| s.kind == StringKind::PlainSteel);
        Ok(stress.map(|mpa| 1e-3 * s.tension_n * mpa * l / (2.0 * 200_000.0)))
    }

    /// Inharmonicity B of a plain steel string, the n-th partial at n f sqrt(1 + B n^2): pi^3 E d^4 / (64 T L^2) with E
    /// `e_gpa` (50 to 400); Fletcher 1964. `None` where it is not plain steel.
    pub fn inharmonicity(&self, index: usize, e_gpa: f64) -> Result<Option<f64>> {
        let e = within("e_gpa", e_gpa, "GPa", 50.0, 400.0)?;
        let s = self.string(index)?;
        let area = s.stress_mpa.filter(|_| s.kind == StringKind::PlainSteel).map(|mpa| s.tension_n / mpa);
        let pi = std::f64::consts::PI;
        // d^4 = (4 A / pi)^2
        Ok(area.map(|a| pi.powi(3) * 1000.0 * e * (4.0 * a / pi).powi(2) / (64.0 * s.tension_n * s.scale_mm * s.scale_mm)))
    }

    fn string(&self, index: usize) -> Result<&StringTension> {
        self.strings.get(index).ok_or_else(|| Error::OutOfRange {
            quantity: "index".into(),
            value: index as f64,
            unit: "",
            allowed: format!("from 0 to {}", self.strings.len() - 1),
        })
    }
}
