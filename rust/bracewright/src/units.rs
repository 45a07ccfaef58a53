//! Units at the edge: what a person types or heads a column with, in and out of the surface units.
//!
//! Factors follow from the definitions (international yard and pound of 1959, standard gravity;
//! NIST SP 811, appendix B): 1 in = 25.4 mm, 1 lb = 453.59237 g, 1 lbf = 4.4482216152605 N,
//! 1 kgf = 9.80665 N.

use crate::error::{Error, Result, within};
use serde::{Deserialize, Serialize};

const INCH_MM: f64 = 25.4;
const POUND_G: f64 = 453.59237;
const KGF_N: f64 = 9.80665;
const LBF_N: f64 = 4.4482216152605;
const PSI_MPA: f64 = LBF_N / (INCH_MM * INCH_MM);
const LB_FT3_KG_M3: f64 = POUND_G / (0.3048 * 0.3048 * 0.3048) / 1000.0;

/// What a number measures; each has one surface unit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub enum Dimension {
    /// mm.
    Length,
    /// g.
    Mass,
    /// N; grams, kilograms and pounds stand for their weight at standard gravity.
    Force,
    /// GPa: elastic and shear moduli.
    Modulus,
    /// MPa: stress and strength.
    Stress,
    /// kg/m3.
    Density,
    /// Hz.
    Frequency,
    /// Degrees.
    Angle,
    /// Percent: moisture content, relative humidity.
    Percent,
    /// Degrees Celsius.
    Temperature,
    /// s.
    Time,
    /// N m2: EI.
    BendingStiffness,
    /// N/mm: supports, springs.
    Stiffness,
    /// mm/N: give of a support.
    Compliance,
}

/// A unit and how to leave it: surface value = (value - offset) * scale.
#[derive(Debug, PartialEq)]
pub struct Unit {
    /// As it ends a column's name: `mm`, `lbf`, `kg_m3`.
    pub symbol: &'static str,
    /// What it measures.
    pub dimension: Dimension,
    scale: f64,
    offset: f64,
    spellings: &'static [&'static str],
}

const fn unit(symbol: &'static str, dimension: Dimension, scale: f64, spellings: &'static [&'static str]) -> Unit {
    Unit { symbol, dimension, scale, offset: 0.0, spellings }
}

use Dimension as D;
/// The first of each dimension is its surface unit. Spellings are lower case, as `clean` leaves them.
static UNITS: [Unit; 49] = [
    unit("mm", D::Length, 1.0, &["mm", "millimetre", "millimetres", "millimeter", "millimeters"]),
    unit("cm", D::Length, 10.0, &["cm", "centimetre", "centimetres", "centimeter", "centimeters"]),
    unit("m", D::Length, 1000.0, &["m", "metre", "metres", "meter", "meters"]),
    unit("um", D::Length, 0.001, &["um"]),
    unit("in", D::Length, INCH_MM, &["in", "inch", "inches", "\"", "''"]),
    unit("ft", D::Length, 12.0 * INCH_MM, &["ft", "foot", "feet", "'"]),
    unit("thou", D::Length, INCH_MM / 1000.0, &["thou"]),
    unit("g", D::Mass, 1.0, &["g", "gram", "grams", "gramme", "grammes"]),
    unit("kg", D::Mass, 1000.0, &["kg", "kilo", "kilos", "kilogram", "kilograms"]),
    unit("mg", D::Mass, 0.001, &["mg"]),
    unit("oz", D::Mass, POUND_G / 16.0, &["oz", "ounce", "ounces"]),
    unit("lb", D::Mass, POUND_G, &["lb", "lbs", "pound", "pounds", "lbm"]),
    unit("n", D::Force, 1.0, &["n", "newton", "newtons"]),
    unit("kn", D::Force, 1000.0, &["kn"]),
    unit("kg", D::Force, KGF_N, &["kg", "kgf", "kilo", "kilos", "kilogram", "kilograms"]),
    unit("g", D::Force, KGF_N / 1000.0, &["g", "gf", "gram", "grams", "gramme", "grammes"]),
    unit("lbf", D::Force, LBF_N, &["lbf", "lb", "lbs", "pound", "pounds"]),
    unit("ozf", D::Force, LBF_N / 16.0, &["ozf", "oz", "ounce", "ounces"]),
    unit("gpa", D::Modulus, 1.0, &["gpa", "kn/mm2"]),
    unit("mpa", D::Modulus, 1e-3, &["mpa", "n/mm2"]),
    unit("pa", D::Modulus, 1e-9, &["pa", "n/m2"]),
    unit("psi", D::Modulus, PSI_MPA * 1e-3, &["psi", "lbf/in2"]),
    unit("ksi", D::Modulus, PSI_MPA, &["ksi"]),
    unit("mpsi", D::Modulus, PSI_MPA * 1e3, &["mpsi", "msi"]),
    unit("mpa", D::Stress, 1.0, &["mpa", "n/mm2"]),
    unit("gpa", D::Stress, 1e3, &["gpa", "kn/mm2"]),
    unit("pa", D::Stress, 1e-6, &["pa", "n/m2"]),
    unit("psi", D::Stress, PSI_MPA, &["psi", "lbf/in2"]),
    unit("ksi", D::Stress, PSI_MPA * 1e3, &["ksi"]),
    unit("kg_m3", D::Density, 1.0, &["kg/m3", "kg m3", "kg per m3"]),
    unit("g_cm3", D::Density, 1000.0, &["g/cm3", "g cm3", "g/cc", "g per cm3"]),
    unit("lb_ft3", D::Density, LB_FT3_KG_M3, &["lb/ft3", "lb ft3", "lb per ft3", "lbs/ft3", "pcf"]),
    unit("hz", D::Frequency, 1.0, &["hz"]),
    unit("khz", D::Frequency, 1000.0, &["khz"]),
    unit("deg", D::Angle, 1.0, &["deg", "degree", "degrees", "°"]),
    unit("rad", D::Angle, 180.0 / std::f64::consts::PI, &["rad", "radian", "radians"]),
    unit("percent", D::Percent, 1.0, &["percent", "%", "pct", "per cent"]),
    unit("c", D::Temperature, 1.0, &["c", "°c", "deg c", "degc", "celsius"]),
    Unit { offset: 32.0, ..unit("f", D::Temperature, 5.0 / 9.0, &["f", "°f", "deg f", "degf", "fahrenheit"]) },
    unit("s", D::Time, 1.0, &["s", "sec", "second", "seconds"]),
    unit("min", D::Time, 60.0, &["min", "minute", "minutes"]),
    unit("h", D::Time, 3600.0, &["h", "hour", "hours"]),
    unit("n_m2", D::BendingStiffness, 1.0, &["n m2", "nm2"]),
    unit("n_mm2", D::BendingStiffness, 1e-6, &["n mm2", "nmm2"]),
    unit("lbf_in2", D::BendingStiffness, LBF_N * INCH_MM * INCH_MM * 1e-6, &["lbf in2", "lb in2"]),
    unit("n_per_mm", D::Stiffness, 1.0, &["n/mm", "n per mm", "kn/m"]),
    unit("lbf_per_in", D::Stiffness, LBF_N / INCH_MM, &["lbf/in", "lbf per in", "lb/in", "lb per in"]),
    unit("mm_per_n", D::Compliance, 1.0, &["mm/n", "mm per n"]),
    unit("um_per_n", D::Compliance, 0.001, &["um/n", "um per n"]),
];

impl Unit {
    /// The surface unit's value of `value` in this unit.
    pub fn to_surface(&self, value: f64) -> f64 {
        (value - self.offset) * self.scale
    }

    /// The unit of this spelling that measures `dimension`; case and typographic marks do not matter.
    pub fn find(dimension: Dimension, spelling: &str) -> Option<&'static Unit> {
        let spelling = clean(spelling);
        let spelling = spelling.trim_end_matches('.');
        UNITS.iter().find(|u| u.dimension == dimension && u.spellings.contains(&spelling))
    }

    /// Every unit of this spelling: `kg` is a mass and a force.
    pub(crate) fn all_spelled(spelling: &str) -> impl Iterator<Item = &'static Unit> {
        let spelling = clean(spelling);
        UNITS.iter().filter(move |u| u.spellings.contains(&spelling.trim_end_matches('.')))
    }
}

impl Dimension {
    /// The surface unit, as it ends a name: `mm`, `g`, `n`, `gpa`, `kg_m3`.
    pub fn surface_unit(self) -> &'static str {
        UNITS.iter().find(|u| u.dimension == self).map_or("", |u| u.symbol)
    }

    /// The units known for it, comma separated, for a sentence.
    pub fn known_units(self) -> String {
        let known: Vec<_> = UNITS.iter().filter(|u| u.dimension == self).filter_map(|u| u.spellings.first().copied()).collect();
        known.join(", ")
    }
}

/// Lower case, plain quotes and dashes, superscripts as digits, single blanks, no `_`.
fn clean(text: &str) -> String {
    let mut s = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '’' | '‘' | '′' => s.push('\''),
            '”' | '“' | '″' => s.push('"'),
            '−' | '‐' | '‑' | '–' => s.push('-'),
            '⁄' | '∕' => s.push('/'),
            'µ' | 'μ' => s.push('u'),
            'º' => s.push('°'),
            '²' => s.push('2'),
            '³' => s.push('3'),
            '¼' => s.push_str(" 1/4"),
            '½' => s.push_str(" 1/2"),
            '¾' => s.push_str(" 3/4"),
            '⅛' => s.push_str(" 1/8"),
            '⅜' => s.push_str(" 3/8"),
            '⅝' => s.push_str(" 5/8"),
            '⅞' => s.push_str(" 7/8"),
            '^' => {}
            '·' | '⋅' | '*' | '_' => s.push(' '),
            c => s.extend(c.to_lowercase()),
        }
    }
    s.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Text as a sentence quotes it: in quotation marks, at most 40 characters.
pub(crate) fn quoted(text: &str) -> String {
    if text.chars().count() <= 40 { format!("{text:?}") } else { format!("{:?}...", text.chars().take(40).collect::<String>()) }
}

/// How to take `1,234`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Comma {
    /// The surroundings say that a comma marks decimals.
    Decimal,
    /// It could be one thousand two hundred: refuse it.
    Doubtful,
}

type Told<T> = std::result::Result<T, String>;

fn digits(s: &str) -> &str {
    &s[..s.bytes().take_while(u8::is_ascii_digit).count()]
}

/// `a/b` at the start of `s`, both whole.
fn fraction(s: &str) -> Option<(f64, &str)> {
    let top = digits(s);
    let bottom = digits(s[top.len()..].strip_prefix('/')?);
    let rest = &s[top.len() + 1 + bottom.len()..];
    Some((top.parse::<f64>().ok()? / bottom.parse::<f64>().ok()?, rest))
}

/// The number that starts cleaned text `s`, without sign, and what follows it: `12`, `0,5`, `2.5e3`, `5/16`, `1 3/4`, `1-3/4`.
fn unsigned(s: &str, comma: Comma) -> Told<(f64, &str)> {
    let finite = |v: f64| if v.is_finite() { Ok(v) } else { Err("is not a finite number".to_string()) };
    if let Some((v, rest)) = fraction(s) {
        return Ok((finite(v)?, rest));
    }
    let whole = digits(s);
    if let Some((part, rest)) = s[whole.len()..].strip_prefix([' ', '-']).and_then(fraction)
        && let Ok(whole) = whole.parse::<f64>()
    {
        return Ok((finite(whole + part)?, rest));
    }
    let mut end = s.bytes().take_while(|b| b.is_ascii_digit() || matches!(b, b'.' | b',')).count();
    let mantissa = &s[..end];
    if !mantissa.bytes().any(|b| b.is_ascii_digit()) {
        let word = s.starts_with("nan") || s.starts_with("inf");
        return Err(if word { "is not a finite number" } else { "is not a number" }.into());
    }
    let (points, commas) = (mantissa.matches('.').count(), mantissa.matches(',').count());
    if points + commas > 1 {
        return Err("can be read in more than one way; write one decimal mark and no thousands separators".into());
    }
    if let Some((left, right)) = mantissa.split_once(',') {
        if right.is_empty() {
            return Err("ends in a comma; write the decimals or leave it out".into());
        }
        if comma == Comma::Doubtful && right.len() == 3 && (1..=3).contains(&left.len()) && !left.starts_with('0') {
            return Err(format!("can be read as {left}{right} or as {left}.{right}; write it one of these ways"));
        }
    }
    if let Some(exponent) = s[end..].strip_prefix('e') {
        let sign = usize::from(exponent.starts_with(['+', '-']));
        let count = digits(&exponent[sign..]).len();
        end += if count > 0 { 1 + sign + count } else { 0 };
    }
    let v = s[..end].replace(',', ".").parse::<f64>().map_err(|_| "is not a number".to_string())?;
    Ok((finite(v)?, &s[end..]))
}

/// A whole text as a number in the surface unit of `dimension`; the error is what follows the quoted text in a sentence.
///
/// Without a dimension the text must be a bare number. `default` is the unit of a bare number; without one it is refused.
pub(crate) fn parse_text(dimension: Option<Dimension>, text: &str, default: Option<&'static Unit>, comma: Comma) -> Told<f64> {
    let cleaned = clean(text);
    let (sign, body) = match cleaned.strip_prefix('-') {
        Some(rest) => (-1.0, rest.trim_start()),
        None => (1.0, cleaned.strip_prefix('+').unwrap_or(&cleaned).trim_start()),
    };
    let (value, rest) = unsigned(body, comma)?;
    let rest = rest.trim();
    let signed = sign * value;
    let Some(dimension) = dimension else {
        return if rest.is_empty() { Ok(signed) } else { Err("is not a number".into()) };
    };
    let surface = if rest.is_empty() {
        let known = || format!("has no unit; write it with one of: {}", dimension.known_units());
        default.ok_or_else(known)?.to_surface(signed)
    } else if let Some(unit) = Unit::find(dimension, rest) {
        unit.to_surface(signed)
    } else {
        let unknown = || format!("has the unit {}; it must be one of: {}", quoted(rest), dimension.known_units());
        // Feet and inches, pounds and ounces.
        let split = rest.find(|c: char| c.is_ascii_digit()).ok_or_else(unknown)?;
        let large = Unit::find(dimension, rest[..split].trim_end_matches([' ', '-'])).ok_or_else(unknown)?;
        let (small_value, small) = unsigned(&rest[split..], comma)?;
        let small = Unit::find(dimension, small.trim()).ok_or_else(unknown)?;
        match (large.symbol, small.symbol) {
            ("ft", "in") | ("lb", "oz") | ("lbf", "ozf") => sign * (large.to_surface(value) + small.to_surface(small_value)),
            _ => return Err(unknown()),
        }
    };
    if surface.is_finite() { Ok(surface) } else { Err("is too large".into()) }
}

/// `text` in the surface unit of `dimension`; `name` is the argument's name for the error.
///
/// Decimal point or comma, fractions (`5/16`, `1 3/4`, `1-3/4`), feet with inches and pounds with ounces are read. Refused: a bare
/// number when `default_unit` is `None`, unknown units, NaN, infinity, and a comma that could part thousands (`1,250`).
/// Negative values pass; what is sensible depends on the caller.
pub fn parse(dimension: Dimension, name: &str, text: &str, default_unit: Option<&str>) -> Result<f64> {
    let default = match default_unit {
        None => None,
        Some(given) => Some(Unit::find(dimension, given).ok_or_else(|| Error::UnknownName {
            what: format!("the default unit of {name}"),
            given: given.into(),
            allowed: dimension.known_units(),
        })?),
    };
    parse_text(Some(dimension), text, default, Comma::Doubtful)
        .map_err(|problem| Error::Refused(format!("{name} {} {problem}", quoted(text))))
}

macro_rules! parsers {
    ($($(#[$doc:meta])* $function:ident, $dimension:ident, $name:literal;)*) => {$(
        $(#[$doc])*
        pub fn $function(text: &str, default_unit: Option<&str>) -> Result<f64> {
            parse(Dimension::$dimension, $name, text, default_unit)
        }
    )*};
}

parsers! {
    /// A length in mm from `"7.9 mm"`, `"5/16 in"`, `"1-3/4\""`, `"1' 3 1/2\""`; see [`parse`].
    parse_length_mm, Length, "length";
    /// A force in N from `"19.6 N"`, `"2 kg"`, `"4.4 lbf"`; kg, g, lb and oz are weights at standard gravity; see [`parse`].
    parse_force_n, Force, "force";
    /// A mass in g from `"23,6 g"`, `"0.83 oz"`, `"0.0236 kg"`, `"1 lb 3 oz"`; see [`parse`].
    parse_mass_g, Mass, "mass";
    /// A modulus in GPa from `"11.5 GPa"`, `"11500 MPa"`, `"1.67 Mpsi"`; see [`parse`].
    parse_modulus_gpa, Modulus, "modulus";
    /// A stress or strength in MPa from `"70 MPa"`, `"10200 psi"`; see [`parse`].
    parse_stress_mpa, Stress, "stress";
    /// A density in kg/m3 from `"400 kg/m3"`, `"0.40 g/cm3"`, `"25 lb/ft3"`; see [`parse`].
    parse_density_kg_m3, Density, "density";
    /// Percent from `"45 %"`; see [`parse`].
    parse_percent, Percent, "percentage";
    /// Degrees Celsius from `"21 C"`, `"70 F"`; see [`parse`].
    parse_temperature_c, Temperature, "temperature";
    /// Hz from `"182 Hz"`; see [`parse`].
    parse_frequency_hz, Frequency, "frequency";
    /// Degrees from `"97 deg"`; see [`parse`].
    parse_angle_deg, Angle, "angle";
}

/// Which mark of the rule to take.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Rounding {
    /// The nearest, at most 1/128 in away.
    Nearest,
    /// The next one up, so that a line carved to never lies below the model.
    Up,
}

/// A length on an inch rule divided in 64ths.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Inches64 {
    /// `5/16`, `1 3/64`, `-1/4`, `0`: inches, without the unit.
    pub text: String,
    /// What the text says, mm.
    pub value_mm: f64,
    /// What the text says less what was given, mm; never negative when rounded up, except within a picometre of a mark.
    pub error_mm: f64,
}

/// A length this close above a mark counts as on it when rounding up, mm: float dust, not wood.
const ON_THE_MARK_MM: f64 = 1e-9;

/// `length_mm` as a fraction of an inch; finite and up to 1 km either way.
pub fn inches_64(length_mm: f64, rounding: Rounding) -> Result<Inches64> {
    within("length_mm", length_mm, "mm", -1e6, 1e6)?;
    let marks = match rounding {
        Rounding::Nearest => (length_mm * 64.0 / INCH_MM).round(),
        Rounding::Up => ((length_mm - ON_THE_MARK_MM) * 64.0 / INCH_MM).ceil(),
    } as i64;
    let value_mm = marks as f64 / 64.0 * INCH_MM;
    let (whole, mut top, mut bottom) = (marks.abs() / 64, marks.abs() % 64, 64);
    while top != 0 && top % 2 == 0 {
        (top, bottom) = (top / 2, bottom / 2);
    }
    let sign = if marks < 0 { "-" } else { "" };
    let text = match (whole, top) {
        (_, 0) => format!("{sign}{whole}"),
        (0, _) => format!("{sign}{top}/{bottom}"),
        _ => format!("{sign}{whole} {top}/{bottom}"),
    };
    Ok(Inches64 { text, value_mm, error_mm: value_mm - length_mm })
}

/// The nearest 64th of an inch, as text: `"5/16"`, `"1 3/64"`. See [`inches_64`].
pub fn format_inches_64(length_mm: f64) -> Result<String> {
    Ok(inches_64(length_mm, Rounding::Nearest)?.text)
}
