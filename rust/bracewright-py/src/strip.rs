//! Twin of `strip`: a brace on a strip of top, its margins, arches and half-laps.

use bracewright::NotchSide;
use bracewright::strip::{
    self as core, DishShape, EffectiveWidths, GluedBend, GluedLoad, GluedSection, HalfLaps, Lap, LearnedWidth, MarginOptions,
    Margins, PressedOn, Sprung, Strip, StripSize, WidthReadings,
};
use pyo3::prelude::*;

use crate::argument::{may, need};
use crate::brace::PyBrace;
use crate::convert::{DEG, MM, N, word};
use crate::error::Result;
use crate::value::{Shown, frame, html, record, report, short, value};
use crate::wood::PyWood;

/// A brace glued along the middle of a strip of quarter-sawn top, whose ends are held vertically over their faces.
///
/// thickness_mm 0.5 to 12; width_mm from the brace's and 3 mm on either side to 600; grain_angle_deg from the brace to the grain of the
/// top; length_mm of the strip, the brace's own when left out (the brace sits in its middle).
#[pyclass(frozen, eq, name = "Strip", module = "bracewright")]
#[derive(Debug, Clone, PartialEq)]
pub struct PyStrip(pub Strip);

value!(PyStrip, Strip, "Strip");

fn on(word_given: &str) -> Result<PressedOn> {
    word("on", word_given, &[("top", PressedOn::Top), ("crest", PressedOn::Crest)])
}

/// Loads of one pad length on one face.
fn loads(load_n: &Bound<'_, PyAny>, at_mm: &Bound<'_, PyAny>, pad_mm: f64, on: PressedOn) -> Result<Vec<GluedLoad>> {
    let (forces, places) = (N.list("load_n", load_n)?, MM.list("at_mm", at_mm)?);
    bracewright::error::same_length("load_n", forces.len(), "at_mm", places.len())?;
    Ok(forces.iter().zip(&places).map(|(load_n, at_mm)| GluedLoad { at_mm: *at_mm, load_n: *load_n, pad_mm, on }).collect())
}

#[pymethods]
impl PyStrip {
    #[new]
    #[pyo3(signature = (brace, top, *, thickness_mm, width_mm, grain_angle_deg, length_mm=None))]
    fn new(
        brace: &PyBrace,
        top: &PyWood,
        #[pyo3(from_py_with = need::thickness_mm)] thickness_mm: f64,
        #[pyo3(from_py_with = need::width_mm)] width_mm: f64,
        #[pyo3(from_py_with = need::grain_angle_deg)] grain_angle_deg: f64,
        #[pyo3(from_py_with = may::length_mm)] length_mm: Option<f64>,
    ) -> Result<Self> {
        Ok(Self(Strip::new(&brace.0, &top.0, StripSize { thickness_mm, width_mm, grain_angle_deg, length_mm })?))
    }

    /// The brace.
    #[getter]
    fn brace(&self) -> PyBrace {
        PyBrace(self.0.brace().clone())
    }

    /// The wood of the top.
    #[getter]
    fn top(&self) -> PyWood {
        PyWood(self.0.top().clone())
    }

    /// Thickness of the top, mm.
    #[getter]
    fn thickness_mm(&self) -> f64 {
        self.0.size().thickness_mm
    }

    /// Width of the strip, mm.
    #[getter]
    fn width_mm(&self) -> f64 {
        self.0.size().width_mm
    }

    /// Angle from the brace to the grain of the top, degrees.
    #[getter]
    fn grain_angle_deg(&self) -> f64 {
        self.0.size().grain_angle_deg
    }

    /// Length of the strip, mm.
    #[getter]
    fn length_mm(&self) -> f64 {
        self.0.length_mm()
    }

    /// Modulus of the top along the brace, GPa.
    #[getter]
    fn plate_modulus_gpa(&self) -> Result<f64> {
        Ok(self.0.plate_modulus_gpa()?)
    }

    /// Effective width by the first term of shear lag, b tanh(X)/X with X = (pi b / 2 span) sqrt(E/G), mm.
    #[getter]
    fn lag_width_mm(&self) -> Result<f64> {
        Ok(self.0.lag_width_mm()?)
    }

    /// Limit of EN 1995-1-1 Table 9.1 (from memory) to the effective width, for plywood, the nearest of its flanges: a tenth of the
    /// span and the brace's width, mm.
    #[getter]
    fn en_limit_mm(&self) -> f64 {
        self.0.en_limit_mm()
    }

    /// The same strip under another brace.
    fn with_brace(&self, brace: &PyBrace) -> Result<Self> {
        Ok(Self(self.0.with_brace(&brace.0)?))
    }

    /// The transformed section at places along the brace, with a flange width_mm wide (the whole strip when left out): EI, neutral
    /// axis, exponents, shear flow. Plane sections are assumed, so a wide strip comes out too stiff.
    #[pyo3(signature = (x_mm, *, width_mm=None))]
    fn section(
        &self,
        x_mm: &Bound<'_, PyAny>,
        #[pyo3(from_py_with = may::width_mm)] width_mm: Option<f64>,
    ) -> Result<PyGluedSection> {
        Ok(PyGluedSection(self.0.section(&MM.list("x_mm", x_mm)?, width_mm)?))
    }

    /// Deflection and stresses under loads, by the plate with its rib: the plate's shear lag and the peaks that lend nothing come out
    /// of it.
    ///
    /// load_n pushes into the wood over pad_mm (1 to 500) at at_mm along the brace, one or several, on="top" its outer face over the
    /// brace's width or on="crest". read_mm are the places read, where the loads are when left out; deflections count from the line
    /// through the brace's ends, positive the way a load on the top pushes.
    #[pyo3(signature = (*, load_n, at_mm, read_mm=None, pad_mm=10.0, on="top"))]
    fn bend(
        &self,
        py: Python<'_>,
        load_n: &Bound<'_, PyAny>,
        at_mm: &Bound<'_, PyAny>,
        read_mm: Option<&Bound<'_, PyAny>>,
        #[pyo3(from_py_with = need::pad_mm)] pad_mm: f64,
        on: &str,
    ) -> Result<PyGluedBend> {
        let loads = loads(load_n, at_mm, pad_mm, self::on(on)?)?;
        let read = match read_mm {
            Some(r) => MM.list("read_mm", r)?,
            None => loads.iter().map(|l| l.at_mm).collect(),
        };
        Ok(PyGluedBend(py.detach(|| self.0.bend(&loads, &read))?))
    }

    /// Effective width learned from deflections of the brace bare on supports at its ends, and glued down, under the same load and
    /// dial at at_mm.
    ///
    /// u_deflection_mm is that of each reading. Without load_n only the readings' ratio counts. u_load is relative; give_mm_per_n is
    /// that of supports and frame; plate_spread the relative spread of the top's modulus along the brace, its wood's own when left
    /// out.
    #[pyo3(signature = (*, before_mm, after_mm, u_deflection_mm, at_mm, pad_mm=10.0, load_n=None, u_load=0.0,
        give_mm_per_n=0.0, u_give_mm_per_n=0.0, plate_spread=None))]
    fn width_by_gluing(
        &self,
        py: Python<'_>,
        #[pyo3(from_py_with = need::before_mm)] before_mm: f64,
        #[pyo3(from_py_with = need::after_mm)] after_mm: f64,
        #[pyo3(from_py_with = need::u_deflection_mm)] u_deflection_mm: f64,
        #[pyo3(from_py_with = need::at_mm)] at_mm: f64,
        #[pyo3(from_py_with = need::pad_mm)] pad_mm: f64,
        #[pyo3(from_py_with = may::load_n)] load_n: Option<f64>,
        #[pyo3(from_py_with = need::u_load)] u_load: f64,
        #[pyo3(from_py_with = need::give_mm_per_n)] give_mm_per_n: f64,
        #[pyo3(from_py_with = need::u_give_mm_per_n)] u_give_mm_per_n: f64,
        #[pyo3(from_py_with = may::plate_spread)] plate_spread: Option<f64>,
    ) -> Result<PyLearnedWidth> {
        let readings = WidthReadings {
            before_mm,
            after_mm,
            u_deflection_mm,
            at_mm,
            pad_mm,
            load_n,
            u_load,
            give_mm_per_n,
            u_give_mm_per_n,
            plate_spread,
        };
        Ok(PyLearnedWidth(py.detach(|| self.0.width_by_gluing(&readings))?))
    }

    /// Effective width learned from deflections of the glued brace before and after it was carved to `carved`, under the same load
    /// on the top and dial at at_mm; the other arguments as in width_by_gluing.
    ///
    /// Their ratio tells little: give load_n, and learn the brace's modulus from the bare stick first.
    #[pyo3(signature = (carved, *, before_mm, after_mm, u_deflection_mm, at_mm, pad_mm=10.0, load_n=None, u_load=0.0,
        give_mm_per_n=0.0, u_give_mm_per_n=0.0, plate_spread=None))]
    fn width_by_carving(
        &self,
        py: Python<'_>,
        carved: &PyBrace,
        #[pyo3(from_py_with = need::before_mm)] before_mm: f64,
        #[pyo3(from_py_with = need::after_mm)] after_mm: f64,
        #[pyo3(from_py_with = need::u_deflection_mm)] u_deflection_mm: f64,
        #[pyo3(from_py_with = need::at_mm)] at_mm: f64,
        #[pyo3(from_py_with = need::pad_mm)] pad_mm: f64,
        #[pyo3(from_py_with = may::load_n)] load_n: Option<f64>,
        #[pyo3(from_py_with = need::u_load)] u_load: f64,
        #[pyo3(from_py_with = need::give_mm_per_n)] give_mm_per_n: f64,
        #[pyo3(from_py_with = need::u_give_mm_per_n)] u_give_mm_per_n: f64,
        #[pyo3(from_py_with = may::plate_spread)] plate_spread: Option<f64>,
    ) -> Result<PyLearnedWidth> {
        let readings = WidthReadings {
            before_mm,
            after_mm,
            u_deflection_mm,
            at_mm,
            pad_mm,
            load_n,
            u_load,
            give_mm_per_n,
            u_give_mm_per_n,
            plate_spread,
        };
        Ok(PyLearnedWidth(py.detach(|| self.0.width_by_carving(&carved.0, &readings))?))
    }

    /// Margins along the brace under loads that stay for so many years: strength of clear wood, short of what duration (Wood 1951,
    /// k_mod), run-out and size take, over stress. read_mm are the places, 81 when left out; least_margin (2, common practice, no
    /// source) is what is wanted; flange_mm is the width of top that goes along, as learned from readings (lag_width_mm when left
    /// out). No pass raises a margin.
    #[pyo3(signature = (*, load_n, at_mm, read_mm=None, pad_mm=10.0, on="top", years=50.0, least_margin=2.0,
        bending_strength_mpa=None, shear_strength_mpa=None, lining_mm=6.0, size_effect=false, flange_mm=None))]
    fn margins(
        &self,
        py: Python<'_>,
        load_n: &Bound<'_, PyAny>,
        at_mm: &Bound<'_, PyAny>,
        read_mm: Option<&Bound<'_, PyAny>>,
        #[pyo3(from_py_with = need::pad_mm)] pad_mm: f64,
        on: &str,
        #[pyo3(from_py_with = need::years)] years: f64,
        #[pyo3(from_py_with = need::least_margin)] least_margin: f64,
        #[pyo3(from_py_with = may::bending_strength_mpa)] bending_strength_mpa: Option<f64>,
        #[pyo3(from_py_with = may::shear_strength_mpa)] shear_strength_mpa: Option<f64>,
        #[pyo3(from_py_with = need::lining_mm)] lining_mm: f64,
        size_effect: bool,
        #[pyo3(from_py_with = may::flange_mm)] flange_mm: Option<f64>,
    ) -> Result<PyMargins> {
        let loads = loads(load_n, at_mm, pad_mm, self::on(on)?)?;
        let read = match read_mm {
            Some(r) => MM.list("read_mm", r)?,
            None => self.0.brace().stations_mm(81),
        };
        let options =
            MarginOptions { years, least_margin, bending_strength_mpa, shear_strength_mpa, lining_mm, size_effect, flange_mm };
        Ok(PyMargins(py.detach(|| self.0.margins(&loads, &read, &options))?))
    }

    /// The brace and the flat top glued in a dish of dish_radius_mm, shape "spherical" or "cylindrical" (curved one way, at
    /// angle_deg to the brace): what is locked in, and the arch left once it is out. flange_mm is the width of top that goes along,
    /// as learned from readings (lag_width_mm when left out).
    #[pyo3(signature = (*, dish_radius_mm, shape="spherical", angle_deg=0.0, flange_mm=None))]
    fn sprung(
        &self,
        #[pyo3(from_py_with = need::dish_radius_mm)] dish_radius_mm: f64,
        shape: &str,
        #[pyo3(from_py_with = need::angle_deg)] angle_deg: f64,
        #[pyo3(from_py_with = may::flange_mm)] flange_mm: Option<f64>,
    ) -> Result<PySprung> {
        Ok(PySprung(self.0.sprung(dish_radius_mm, self::shape(shape)?, angle_deg, flange_mm)?))
    }

    fn __repr__(&self) -> String {
        let s = self.0.size();
        format!(
            "Strip({} mm wide, {} mm thick, grain at {} degrees, {} mm long)",
            short(s.width_mm),
            short(s.thickness_mm),
            short(s.grain_angle_deg),
            short(self.0.length_mm())
        )
    }

    fn _repr_html_(&self) -> String {
        let s = self.0.size();
        let row = |name, v: f64| Shown { name, text: short(v), column: None };
        html(
            "Strip",
            &[
                row("thickness_mm", s.thickness_mm),
                row("width_mm", s.width_mm),
                row("grain_angle_deg", s.grain_angle_deg),
                row("length_mm", self.0.length_mm()),
            ],
        )
    }
}

fn shape(given: &str) -> Result<DishShape> {
    word("shape", given, &[("spherical", DishShape::Spherical), ("cylindrical", DishShape::Cylindrical)])
}

record! {
    /// The transformed section of brace and top at some places. Heights count from the glue line, up into the brace.
    PyGluedSection, "GluedSection", GluedSection {
        /// Where along the brace, mm.
        x_mm;
        /// EI of brace and top together, N m2.
        ei_n_m2;
        /// EI of the brace by itself, N m2.
        brace_ei_n_m2;
        /// Height of the neutral axis, mm; below 0 it lies in the top.
        neutral_mm;
        /// d ln EI / d ln h: 3 for a rectangular brace by itself.
        exponent_height;
        /// d ln EI / d ln E of the brace; 1 for a brace by itself.
        exponent_modulus;
        /// Shear flow over shear force at the glue line, 1/m.
        glue_flow_per_m;
    }
}
frame!(PyGluedSection);

record! {
    /// A strip under loads. Deflections are positive the way a load on the top pushes.
    PyGluedBend, "GluedBend", GluedBend {
        /// Where along the brace, mm.
        x_mm;
        /// Deflection at the glue line from the line through the brace's ends, mm.
        deflection_mm;
        /// Its discretisation error, mm.
        discretisation_mm;
        /// Deflection of the transformed section with the whole strip for a flange, mm, to compare.
        whole_width_deflection_mm;
        /// Flange with which the transformed section deflects as much at the first place, mm; None where no width does.
        effective_width_mm;
        /// Stress along the brace at its crest, MPa, tension above 0.
        crest_mpa;
        /// The same at its glue face.
        foot_mpa;
        /// Discretisation error of either, MPa.
        stress_discretisation_mpa;
        /// Stress of the top along the brace on its outer face, MPa; up to an eighth too great where the grain slants.
        top_mpa;
        /// Moment of the loads on supports at the ends, N m.
        moment_n_m;
        /// Shear of the same, N.
        shear_n;
    }
}
frame!(PyGluedBend);

record! {
    /// Margins along a glued brace: strength that lasts over stress. An estimate; it certifies nothing.
    PyMargins, "Margins", Margins {
        /// Places along the brace, mm.
        x_mm;
        /// Height there, mm.
        height_mm;
        /// Greatest bending stress of the brace by the transformed section, MPa.
        bending_mpa;
        /// The same by the strip solved, at crest or foot, MPa.
        resolved_mpa;
        /// Lasting strength over bending stress, of the worst height it passed; a million where there is no stress.
        bending_margin;
        /// Shear at the glue line, MPa.
        glue_mpa;
        /// Lasting shear strength over it.
        glue_margin;
        /// Height down to which the brace may go there with the least margin kept, nothing else changed, mm.
        lowest_mm;
        /// Bending strength that lasts, MPa.
        lasting_mpa;
        /// Short-term strength of clear wood, MPa.
        strength_mpa;
        /// What the duration leaves.
        duration_factor;
        /// What run-out leaves.
        grain_factor;
        /// What size gives; 1 unless asked for.
        size_factor;
        /// Shear strength that lasts, MPa.
        lasting_shear_mpa;
        /// The least bending margin, and where, mm.
        least;
        /// The least margin of the strip as solved, and where, mm.
        least_resolved;
        /// What the ends press on their lining, N, left and right; below 0 they lift.
        end_n;
        /// Pressure of the ends on the lining, MPa: left and right.
        bearing_mpa;
        /// Lasting strength across the grain over the greater of them; None where the wood carries no such strength.
        bearing_margin;
        /// The margin wanted.
        least_margin;
        /// What should be known, as sentences.
        words;
    }
}
frame!(PyMargins);
report!(PyMargins);

#[pymethods]
impl PyMargins {
    /// Draws the brace with the height it may go down to and its margins on two matplotlib axes (new ones when left out) and returns
    /// them.
    #[pyo3(signature = (axes=None))]
    fn plot<'py>(slf: &Bound<'py, Self>, axes: Option<&Bound<'py, PyAny>>) -> PyResult<Bound<'py, PyAny>> {
        slf.py().import("bracewright.strip_plots")?.call_method1("plot_margins", (slf, axes))
    }
}

record! {
    /// A brace and a top glued in a dish that neither fits by itself.
    PySprung, "Sprung", Sprung {
        /// Where along the brace, mm.
        x_mm;
        /// Bending moment the brace is glued in with, N m.
        locked_n_m;
        /// Stress it puts on the brace, MPa.
        brace_mpa;
        /// Stress of the top, bent from flat into the dish, MPa.
        top_mpa;
        /// Curvature of the dish along the brace, 1/m.
        dish_per_m;
        /// Curvature left once it is out of the dish, 1/m.
        left_per_m;
        /// Rise over the brace's length in the dish, mm.
        dish_rise_mm;
        /// The same once it is out.
        left_rise_mm;
        /// Rise that springs back, mm.
        spring_back_mm;
        /// Radius over the brace's length once it is out, mm; None where nothing is left of the arch.
        left_radius_mm;
        /// What should be known, as sentences.
        words;
    }
}
report!(PySprung);

record! {
    /// What two readings say of the effective width.
    PyLearnedWidth, "LearnedWidth", LearnedWidth {
        /// Effective width, mm.
        width_mm;
        /// Its standard uncertainty, mm.
        u_width_mm;
        /// The same where the width is used with this strip's own modulus of the top, whose spread drops out then, mm.
        u_used_mm;
        /// Where it lies with 95 % chance, used so, mm: from and to.
        interval_mm;
        /// Whether the readings pin it down: the interval spans no more than a factor of three, within what was searched.
        pinned;
        /// Part of each source in u_width_mm, mm, by name.
        parts;
        /// Standard uncertainty that readings before and after gluing would have left, mm; None where that is what was read.
        u_by_gluing_mm;
        /// Misfit of the best width, in standard uncertainties; beyond 3 the readings do not go together.
        misfit;
        /// What should be known, as sentences.
        words;
    }
}
report!(PyLearnedWidth);

record! {
    /// Effective widths over width, span and angle.
    PyEffectiveWidths, "EffectiveWidths", EffectiveWidths {
        /// Width of the strip, mm.
        width_mm;
        /// Length of strip and brace, mm.
        span_mm;
        /// Angle from the brace to the grain of the top, degrees.
        grain_angle_deg;
        /// Width of flange with which the transformed section deflects as much as the strip, mm.
        effective_width_mm;
        /// The estimate by tanh, mm.
        estimate_mm;
        /// The limit of EN 1995-1-1 Table 9.1 for plywood (from memory), mm.
        en_limit_mm;
    }
}
frame!(PyEffectiveWidths);

record! {
    /// One leg at a half-lap in one state. Strengths are short-term and of clear wood.
    PyLap, "Lap", Lap {
        /// EI in the notch over that of the whole leg.
        ei_ratio;
        /// Moment that opens the notch which it bears, N m.
        opening_n_m;
        /// Moment that closes it which it bears, N m.
        closing_n_m;
        /// The same of the whole leg, N m.
        whole_n_m;
    }
}

#[pymethods]
impl PyLap {
    /// Side of the leg that is notched: "crest" or "glue face".
    #[getter]
    fn side(&self) -> &'static str {
        if self.0.side == NotchSide::Crest { "crest" } else { "glue face" }
    }

    /// "open", "tight" or "capped".
    #[getter]
    fn state(&self) -> &'static str {
        self.0.state.name()
    }
}

record! {
    /// A half-lap of two like legs.
    PyHalfLaps, "HalfLaps", HalfLaps {
        /// Length of the notch along the leg, mm.
        notch_mm;
        /// Height of the leg there, mm.
        height_mm;
        /// The leg notched from its crest and the one from its glue face, each open, tight and capped.
        laps;
        /// What should be known, as sentences.
        words;
    }
}
report!(PyHalfLaps);

/// Effective widths of strips of a top under a straight brace like this one (its blank and section, as tall as its tallest place),
/// for every combination of width_mm, span_mm and grain_angle_deg, a load in the middle.
#[pyfunction]
#[pyo3(signature = (brace, top, *, thickness_mm, width_mm, span_mm, grain_angle_deg))]
pub fn effective_widths(
    py: Python<'_>,
    brace: &PyBrace,
    top: &PyWood,
    #[pyo3(from_py_with = need::thickness_mm)] thickness_mm: f64,
    width_mm: &Bound<'_, PyAny>,
    span_mm: &Bound<'_, PyAny>,
    grain_angle_deg: &Bound<'_, PyAny>,
) -> Result<PyEffectiveWidths> {
    let (w, l, a) = (MM.list("width_mm", width_mm)?, MM.list("span_mm", span_mm)?, DEG.list("grain_angle_deg", grain_angle_deg)?);
    Ok(PyEffectiveWidths(py.detach(|| core::effective_widths(&brace.0, &top.0, thickness_mm, &w, &l, &a))?))
}

/// The half-lap of two legs like `brace`, crossing at at_mm with angle_deg between them and cut to half the height, with a cap of
/// cap_mm: what is left of EI, and the moments it bears when it opens and when it closes.
#[pyfunction]
#[pyo3(signature = (brace, *, at_mm, angle_deg, cap_mm=2.5, bending_strength_mpa=None))]
pub fn half_laps(
    brace: &PyBrace,
    #[pyo3(from_py_with = need::at_mm)] at_mm: f64,
    #[pyo3(from_py_with = need::angle_deg)] angle_deg: f64,
    #[pyo3(from_py_with = need::cap_mm)] cap_mm: f64,
    #[pyo3(from_py_with = may::bending_strength_mpa)] bending_strength_mpa: Option<f64>,
) -> Result<PyHalfLaps> {
    Ok(PyHalfLaps(core::half_laps(&brace.0, at_mm, angle_deg, cap_mm, bending_strength_mpa)?))
}

/// Rise of an arc over a chord, mm.
#[pyfunction]
#[pyo3(signature = (*, radius_mm, chord_mm))]
pub fn arc_rise_mm(
    #[pyo3(from_py_with = need::radius_mm)] radius_mm: f64,
    #[pyo3(from_py_with = need::chord_mm)] chord_mm: f64,
) -> Result<f64> {
    Ok(core::rise_mm(radius_mm, chord_mm)?)
}

/// Radius of the arc with this rise over a chord, mm.
#[pyfunction]
#[pyo3(signature = (*, rise_mm, chord_mm))]
pub fn arc_radius_mm(
    #[pyo3(from_py_with = need::rise_mm)] rise_mm: f64,
    #[pyo3(from_py_with = need::chord_mm)] chord_mm: f64,
) -> Result<f64> {
    Ok(core::radius_mm(rise_mm, chord_mm)?)
}

/// Curvature along a line at angle_deg to the way a dish is curved, 1/m; shape "spherical" or "cylindrical".
#[pyfunction]
#[pyo3(signature = (*, radius_mm, shape="spherical", angle_deg=0.0))]
pub fn dish_curvature_per_m(
    #[pyo3(from_py_with = need::radius_mm)] radius_mm: f64,
    shape: &str,
    #[pyo3(from_py_with = need::angle_deg)] angle_deg: f64,
) -> Result<f64> {
    Ok(core::curvature_per_m(radius_mm, self::shape(shape)?, angle_deg)?)
}
