//! Twin of `strings`: strings, sets, notes and tensions.

use bracewright::strings::{self as core, Core, GuitarString, Material, StringKind, StringSet, StringTension, Tensions};
use pyo3::prelude::*;

use crate::argument::{may, need};
use crate::convert::{MM, word, words};
use crate::error::Result;
use crate::value::{ToPython, record, report_words};

impl ToPython for StringKind {
    fn to_python<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        self.words().to_string().to_python(py)
    }
    fn shown(&self) -> String {
        self.words().into()
    }
}

record! {
    /// A string as it comes off the packet: plain(...), wound(...), weighed(...), of_mass(...) or of_tension(...).
    PyGuitarString, "GuitarString", GuitarString {
        /// Where its mass is known from: "plain steel by gauge", "plain nylon by gauge", "wound by gauge", "weighed" or
        /// "tension as printed".
        kind;
        /// Outer diameter, mm; None where only the mass is known.
        gauge_mm;
        /// Mass of a metre, g.
        mass_g_per_m;
        /// Its standard uncertainty, g/m.
        u_mass_g_per_m;
        /// Area that carries the tension, mm2: wire or core; None where unknown.
        core_area_mm2;
        /// How the mass was found, and with what standing.
        words;
    }
}

#[pymethods]
impl PyGuitarString {
    /// A plain string of "steel" or "nylon" by its diameter: rho pi d^2 / 4. Without a density 7850 kg/m3 for steel and 1060 for
    /// nylon; u_relative of its mass 0.01 and 0.08 (common practice, no source: nominal diameters of nylon mislead).
    #[staticmethod]
    #[pyo3(signature = (gauge_mm, *, material="steel", density_kg_m3=None, u_relative=None))]
    fn plain(
        #[pyo3(from_py_with = need::gauge_mm)] gauge_mm: f64,
        material: &str,
        #[pyo3(from_py_with = may::density_kg_m3)] density_kg_m3: Option<f64>,
        #[pyo3(from_py_with = may::u_relative)] u_relative: Option<f64>,
    ) -> Result<Self> {
        let material = word("material", material, &[("steel", Material::Steel), ("nylon", Material::Nylon)])?;
        Ok(Self(GuitarString::plain(gauge_mm, material, density_kg_m3, u_relative)?))
    }

    /// A string of a steel core ("hex" or "round", core_of_gauge of the outer diameter) wound with touching turns of round wire.
    /// Core and wire are on no packet: the mass is known within u_relative, 3 to 5 % (common practice). Weigh it instead.
    #[staticmethod]
    #[pyo3(signature = (gauge_mm, *, core="hex", core_of_gauge=0.365, wrap_density_kg_m3=8800.0, u_relative=0.04))]
    fn wound(
        #[pyo3(from_py_with = need::gauge_mm)] gauge_mm: f64,
        core: &str,
        #[pyo3(from_py_with = need::core_of_gauge)] core_of_gauge: f64,
        #[pyo3(from_py_with = need::wrap_density_kg_m3)] wrap_density_kg_m3: f64,
        #[pyo3(from_py_with = need::u_relative)] u_relative: f64,
    ) -> Result<Self> {
        let core = word("core", core, &[("hex", Core::Hex), ("round", Core::Round)])?;
        Ok(Self(GuitarString::wound(gauge_mm, core, core_of_gauge, wrap_density_kg_m3, u_relative)?))
    }

    /// A string by its measured mass per length. plain_gauge_mm is the diameter of a plain one, for its stress.
    #[staticmethod]
    #[pyo3(signature = (mass_g_per_m, *, u_mass_g_per_m, plain_gauge_mm=None))]
    fn of_mass(
        #[pyo3(from_py_with = need::mass_g_per_m)] mass_g_per_m: f64,
        #[pyo3(from_py_with = need::u_mass_g_per_m)] u_mass_g_per_m: f64,
        #[pyo3(from_py_with = may::plain_gauge_mm)] plain_gauge_mm: Option<f64>,
    ) -> Result<Self> {
        Ok(Self(GuitarString::of_mass(mass_g_per_m, u_mass_g_per_m, plain_gauge_mm)?))
    }

    /// A string by a piece on the scale, ball and twist cut off: mass and length with their standard uncertainties.
    #[staticmethod]
    #[pyo3(signature = (mass_g, *, length_mm, u_mass_g=0.01, u_length_mm=1.0, plain_gauge_mm=None))]
    fn weighed(
        #[pyo3(from_py_with = need::mass_g)] mass_g: f64,
        #[pyo3(from_py_with = need::length_mm)] length_mm: f64,
        #[pyo3(from_py_with = need::u_mass_g)] u_mass_g: f64,
        #[pyo3(from_py_with = need::u_length_mm)] u_length_mm: f64,
        #[pyo3(from_py_with = may::plain_gauge_mm)] plain_gauge_mm: Option<f64>,
    ) -> Result<Self> {
        Ok(Self(GuitarString::weighed(mass_g, length_mm, u_mass_g, u_length_mm, plain_gauge_mm)?))
    }

    /// A string by the tension its packet prints for a note at a scale; u_relative is how well you trust the print.
    #[staticmethod]
    #[pyo3(signature = (tension_n, *, note, scale_mm, a4_hz=440.0, u_relative=0.05))]
    fn of_tension(
        #[pyo3(from_py_with = need::tension_n)] tension_n: f64,
        note: &str,
        #[pyo3(from_py_with = need::scale_mm)] scale_mm: f64,
        #[pyo3(from_py_with = need::a4_hz)] a4_hz: f64,
        #[pyo3(from_py_with = need::u_relative)] u_relative: f64,
    ) -> Result<Self> {
        Ok(Self(GuitarString::of_tension(tension_n, note, scale_mm, a4_hz, u_relative)?))
    }
}

record! {
    /// A set of strings, tuned, on a scale: StringSet([...], tuning=[...], scale_mm=645), StringSet.steel("light", scale_mm=645) or
    /// StringSet.nylon(scale_mm=650).
    PyStringSet, "StringSet", StringSet {
        /// What it is called.
        name;
        /// The strings.
        strings;
        /// The note of each.
        tuning;
        /// Sounding length of each open string, mm.
        scale_mm;
        /// Standard uncertainty of the scale, mm, one for all.
        u_scale_mm;
        /// Frequency of A4, Hz.
        a4_hz;
    }
}

#[pymethods]
impl PyStringSet {
    /// scale_mm is one for all or one for each string; without a tuning E4 B3 G3 D3 A2 E2.
    #[new]
    #[pyo3(signature = (strings, *, scale_mm, tuning=None, u_scale_mm=0.5, a4_hz=440.0, name=""))]
    fn new(
        strings: Vec<PyRef<'_, PyGuitarString>>,
        scale_mm: &Bound<'_, PyAny>,
        tuning: Option<&Bound<'_, PyAny>>,
        #[pyo3(from_py_with = need::u_scale_mm)] u_scale_mm: f64,
        #[pyo3(from_py_with = need::a4_hz)] a4_hz: f64,
        name: &str,
    ) -> Result<Self> {
        let notes = match tuning {
            Some(given) => words("tuning", given)?,
            None => core::STANDARD_TUNING.map(String::from).to_vec(),
        };
        let scale = MM.list("scale_mm", scale_mm)?;
        let strings = strings.iter().map(|s| s.0.clone()).collect();
        Ok(Self(StringSet::new(name, strings, &notes, &scale, u_scale_mm, a4_hz)?))
    }

    /// Six steel strings, "extra light" (.010 to .047 in), "light" (.012 to .053) or "medium" (.013 to .056), by gauge at the usual
    /// tuning (gauges and windings common practice); masses of wound strings within 4 %.
    #[staticmethod]
    #[pyo3(signature = (name="light", *, scale_mm, u_scale_mm=0.5, a4_hz=440.0))]
    fn steel(
        name: &str,
        scale_mm: &Bound<'_, PyAny>,
        #[pyo3(from_py_with = need::u_scale_mm)] u_scale_mm: f64,
        #[pyo3(from_py_with = need::a4_hz)] a4_hz: f64,
    ) -> Result<Self> {
        Ok(Self(StringSet::steel(name, &MM.list("scale_mm", scale_mm)?, u_scale_mm, a4_hz)?))
    }

    /// Six nylon strings of usual tension (common practice: some 385 N at 650 mm, each within about 4 %), at the usual tuning.
    #[staticmethod]
    #[pyo3(signature = (*, scale_mm, u_scale_mm=0.5, a4_hz=440.0))]
    fn nylon(
        scale_mm: &Bound<'_, PyAny>,
        #[pyo3(from_py_with = need::u_scale_mm)] u_scale_mm: f64,
        #[pyo3(from_py_with = need::a4_hz)] a4_hz: f64,
    ) -> Result<Self> {
        Ok(Self(StringSet::nylon(&MM.list("scale_mm", scale_mm)?, u_scale_mm, a4_hz)?))
    }

    /// The same strings at other notes.
    fn with_tuning(&self, tuning: &Bound<'_, PyAny>) -> Result<Self> {
        Ok(Self(self.0.with_tuning(&words("tuning", tuning)?)?))
    }

    /// The same strings on another scale, one for all or one for each.
    fn with_scale(&self, scale_mm: &Bound<'_, PyAny>) -> Result<Self> {
        Ok(Self(self.0.with_scale_mm(&MM.list("scale_mm", scale_mm)?)?))
    }

    /// The tension of each string and of all: T = mu (2 L f)^2.
    fn tensions(&self) -> PyTensions {
        PyTensions(self.0.tensions())
    }
}

record! {
    /// One string at pitch: its tension and what it comes from.
    PyStringTension, "StringTension", StringTension {
        /// Its note.
        note;
        /// Where its mass is known from.
        kind;
        /// Frequency, Hz.
        frequency_hz;
        /// Sounding length, mm.
        scale_mm;
        /// Mass of a metre, g.
        mass_g_per_m;
        /// Tension, N.
        tension_n;
        /// Its standard uncertainty, N.
        u_tension_n;
        /// Stress in the wire of a plain string or the core of a wound one, MPa; None where its area is unknown. In a plain string
        /// it is rho (2 L f)^2, whatever the gauge.
        stress_mpa;
    }
}

/// The strings as columns.
fn columns(t: &Tensions) -> Vec<(&'static str, Vec<f64>)> {
    let column = |f: fn(&StringTension) -> f64| t.strings.iter().map(f).collect();
    vec![
        ("frequency_hz", column(|s| s.frequency_hz)),
        ("scale_mm", column(|s| s.scale_mm)),
        ("mass_g_per_m", column(|s| s.mass_g_per_m)),
        ("tension_n", column(|s| s.tension_n)),
        ("u_tension_n", column(|s| s.u_tension_n)),
        ("stress_mpa", column(|s| s.stress_mpa.unwrap_or(f64::NAN))),
    ]
}

record! {
    /// A set at pitch. Made by StringSet.tensions().
    PyTensions, "Tensions", Tensions {
        /// Each string, as the set has them.
        strings;
        /// Sum of the tensions, N.
        total_n;
        /// Its standard uncertainty, N: the scale errs in all strings at once, what is unknown of a winding in all wound ones.
        u_total_n;
        /// What should be known, as sentences.
        words;
    } table columns
}

report_words!(PyTensions);

#[pymethods]
impl PyTensions {
    /// Energy stored in a plain steel string, J, wire of length_mm from pin to post, E 200 GPa: what a break lets go. None for
    /// others. index counts from 0.
    #[pyo3(signature = (index, *, length_mm))]
    fn stored_energy_j(
        &self,
        #[pyo3(from_py_with = need::index)] index: usize,
        #[pyo3(from_py_with = need::length_mm)] length_mm: f64,
    ) -> Result<Option<f64>> {
        Ok(self.0.stored_energy_j(index, length_mm)?)
    }

    /// Inharmonicity B of a plain steel string (n-th partial n f sqrt(1 + B n^2)): pi^3 E d^4 / (64 T L^2), Fletcher 1964. None for
    /// others. index counts from 0.
    #[pyo3(signature = (index, *, e_gpa=200.0))]
    fn inharmonicity(
        &self,
        #[pyo3(from_py_with = need::index)] index: usize,
        #[pyo3(from_py_with = need::e_gpa)] e_gpa: f64,
    ) -> Result<Option<f64>> {
        Ok(self.0.inharmonicity(index, e_gpa)?)
    }

    /// Draws the tensions as bars with two standard uncertainties on matplotlib axes (new ones when left out) and returns them.
    #[pyo3(signature = (ax=None))]
    fn plot<'py>(slf: &Bound<'py, Self>, ax: Option<&Bound<'py, PyAny>>) -> PyResult<Bound<'py, PyAny>> {
        slf.py().import("bracewright.load_plots")?.call_method1("plot_tensions", (slf, ax))
    }
}

/// Frequency of a note ("E2", "F#3", "Bb3"; C4 is middle C), Hz, twelve equal steps to the octave from A4 (ISO 16: 440 Hz).
#[pyfunction]
#[pyo3(signature = (note, *, a4_hz=440.0))]
pub fn note_hz(note: &str, #[pyo3(from_py_with = need::a4_hz)] a4_hz: f64) -> Result<f64> {
    Ok(core::note_hz(note, a4_hz)?)
}

/// Tension, N, of a string of that mass sounding frequency_hz over scale_mm: T = mu (2 L f)^2.
#[pyfunction]
#[pyo3(signature = (mass_g_per_m, *, scale_mm, frequency_hz))]
pub fn tension_n(
    #[pyo3(from_py_with = need::mass_g_per_m)] mass_g_per_m: f64,
    #[pyo3(from_py_with = need::scale_mm)] scale_mm: f64,
    #[pyo3(from_py_with = need::frequency_hz)] frequency_hz: f64,
) -> Result<f64> {
    Ok(core::tension_n(mass_g_per_m, scale_mm, frequency_hz)?)
}
