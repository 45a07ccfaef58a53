//! What is left of a short-term strength: how long the load stays, how large the piece is, what a standard allows.
//!
//! Beside [`hankinson`](super::hankinson) and [`slope_of_grain_factor`](super::slope_of_grain_factor), which say what sloping
//! grain does. Pure numbers, to be multiplied: strength x slope x size x duration.

use serde::{Deserialize, Serialize};

use crate::error::{Result, not_negative, unknown_name, within};

/// Seconds in a year of 365.25 days.
pub const YEAR_S: f64 = 365.25 * 86_400.0;

/// Share of the short-term strength that clear wood holds under a load that stays `duration_s` seconds (1 s to 200 years):
/// Wood 1951 (FPL R1916), 108.4 t^-0.04635 + 18.3 percent, the curve known as Madison's. The formula is from memory.
///
/// Above 1 for loads shorter than 7.5 minutes, the length of the test that strengths come from. 0.62 after ten years; the
/// Handbook's own words, "about 60 % or less", agree. Fitted to small clear beams in bending, loads of minutes to years.
pub fn duration_of_load_factor(duration_s: f64) -> Result<f64> {
    let t = within("duration_s", duration_s, "s", 1.0, 200.0 * YEAR_S)?;
    Ok((108.4 * t.powf(-0.04635) + 18.3) / 100.0)
}

/// How long a load stays, in the words of EN 1995-1-1.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum LoadDuration {
    /// More than ten years: strings.
    Permanent,
    /// Six months to ten years.
    LongTerm,
    /// A week to six months.
    MediumTerm,
    /// Less than a week.
    ShortTerm,
    /// A knock.
    Instantaneous,
}

impl LoadDuration {
    /// Every class, longest first.
    pub const ALL: [LoadDuration; 5] = [
        LoadDuration::Permanent,
        LoadDuration::LongTerm,
        LoadDuration::MediumTerm,
        LoadDuration::ShortTerm,
        LoadDuration::Instantaneous,
    ];

    /// The word a sheet prints.
    pub fn words(self) -> &'static str {
        match self {
            LoadDuration::Permanent => "permanent",
            LoadDuration::LongTerm => "long term",
            LoadDuration::MediumTerm => "medium term",
            LoadDuration::ShortTerm => "short term",
            LoadDuration::Instantaneous => "instantaneous",
        }
    }

    /// The class of that word.
    pub fn from_words(text: &str) -> Result<LoadDuration> {
        let plain = text.trim().to_lowercase().replace(['-', '_'], " ");
        Self::ALL
            .into_iter()
            .find(|d| d.words() == plain)
            .ok_or_else(|| unknown_name("duration", text, Self::ALL.map(LoadDuration::words)))
    }
}

/// A service class of EN 1995-1-1 as a row of its tables: 1 is heated rooms (wood mostly below 12 % MC), 2 roofed outdoors (below
/// 20 %), 3 wetter. An instrument kept as instruments are lives in class 1.
fn row(service_class: f64) -> Result<usize> {
    let class = within("service_class", service_class, "", 1.0, 3.0)?;
    if class.fract() != 0.0 {
        return Err(crate::Error::OutOfRange {
            quantity: "service_class".into(),
            value: class,
            unit: "",
            allowed: "1, 2 or 3".into(),
        });
    }
    Ok(class as usize - 1)
}

/// k_mod of solid timber: strength left by moisture and duration, EN 1995-1-1:2004 Table 3.1 (confirmed in a structural design
/// manual that prints it). It multiplies a characteristic strength, which is lower than the mean of clear wood, and is to be
/// divided by a partial factor there; here it stands beside [`duration_of_load_factor`] for comparison.
pub fn k_mod(service_class: f64, duration: LoadDuration) -> Result<f64> {
    const TABLE: [[f64; 5]; 3] = [[0.6, 0.7, 0.8, 0.9, 1.1], [0.6, 0.7, 0.8, 0.9, 1.1], [0.5, 0.55, 0.65, 0.7, 0.9]];
    let column = LoadDuration::ALL.iter().position(|d| *d == duration).unwrap_or(0);
    Ok(TABLE[row(service_class)?][column])
}

/// k_def of solid timber: creep in the long run over the elastic deflection, EN 1995-1-1:2004 Table 3.2, from memory: 0.6, 0.8
/// and 2.0 in classes 1 to 3. The standard means its design life, 50 years, at the load that stays.
pub fn k_def(service_class: f64) -> Result<f64> {
    Ok([0.6, 0.8, 2.0][row(service_class)?])
}

/// Exponent of the size effect of clear beams, Wood Handbook Eq. 9-18.
pub const SIZE_EXPONENT: f64 = 18.0;
/// Height and span of the beams that published moduli of rupture come from, loaded in the middle: 2 in by 28 in.
const TESTED_MM: (f64, f64) = (2.0 * 25.4, 28.0 * 25.4);

/// Modulus of rupture of a beam of this height and span over that of the standard test beam (2 in high, 28 in between
/// supports, one load in the middle): Wood Handbook FPL-GTR-282 Eq. 9-18, exponent 18. `between_loads_mm` (0 to the span)
/// lies between two equal loads; 0 is one load. Larger beams hold less stress, small ones more: 1.11 for a brace 15 mm high
/// over 400 mm. The law was found on beams of building size; leave it out (1) where it would lend a small brace strength.
pub fn size_factor(height_mm: f64, span_mm: f64, between_loads_mm: f64) -> Result<f64> {
    let h = within("height_mm", height_mm, "mm", 0.1, 5000.0)?;
    let l = within("span_mm", span_mm, "mm", 1.0, 50_000.0)?;
    let a = within("between_loads_mm", not_negative("between_loads_mm", between_loads_mm, "mm")?, "mm", 0.0, l)?;
    let stressed = h * l * (1.0 + SIZE_EXPONENT * a / l);
    Ok((TESTED_MM.0 * TESTED_MM.1 / stressed).powf(1.0 / SIZE_EXPONENT))
}
