//! Twin of `humidity`: arch, cracks, ends, the gate for gluing, a year.

use bracewright::humidity::{
    self as core, ArchChange, ArchStrip, BraceEnd, EndLift, GlueLimits, GlueRoom, GluingGate, Season, SeasonOptions,
};
use pyo3::prelude::*;

use crate::argument::{may, need};
use crate::brace::PyBrace;
use crate::convert::{CELSIUS, PERCENT};
use crate::error::Result;
use crate::value::{frame, record, report};
use crate::wood::PyWood;

record! {
    /// A strip of top under one brace: ArchStrip.under(brace, top, ...) or ArchStrip.rectangular(...). All it answers goes with the
    /// change of moisture since the glue set.
    PyArchStrip, "ArchStrip", ArchStrip {
        /// Length of the brace, mm.
        length_mm;
        /// Width of top that goes with it, mm.
        plate_width_mm;
        /// Thickness of the top, mm.
        thickness_mm;
        /// Modulus of the top along the brace, GPa.
        plate_modulus_gpa;
        /// Movement of the top along the brace less the brace's own, per percent of moisture.
        movement_per_percent_mc;
        /// Share of the free change of arch that edges, back and slow sorption leave.
        r_edge;
        /// Rise of the free strip's middle per unit of strain, mm.
        rise_mm_per_strain;
        /// Curvature at its middle per unit of strain, 1/m.
        curvature_per_m_per_strain;
        /// Mean stress in the free strip's plate per unit of strain, MPa.
        plate_stress_mpa_per_strain;
    }
}

#[pymethods]
impl PyArchStrip {
    /// The strip under a carved brace glued whole to a quarter-sawn top, the brace at grain_angle_deg to the top's grain. The width
    /// of top is yours to say; r_edge 0.45 is a guess (0.3 to 0.6 are guessed, no source) until your own seasons tell.
    #[staticmethod]
    #[pyo3(signature = (brace, top, *, thickness_mm, plate_width_mm, grain_angle_deg, r_edge=0.45))]
    fn under(
        brace: &PyBrace,
        top: &PyWood,
        #[pyo3(from_py_with = need::thickness_mm)] thickness_mm: f64,
        #[pyo3(from_py_with = need::plate_width_mm)] plate_width_mm: f64,
        #[pyo3(from_py_with = need::grain_angle_deg)] grain_angle_deg: f64,
        #[pyo3(from_py_with = need::r_edge)] r_edge: f64,
    ) -> Result<Self> {
        Ok(Self(ArchStrip::under(&brace.0, &top.0, thickness_mm, plate_width_mm, grain_angle_deg, r_edge)?))
    }

    /// A rectangular brace of one height on a strip of top, by its figures along the brace; the movement is the top's less the
    /// brace's, per percent of moisture.
    #[staticmethod]
    #[pyo3(signature = (*, length_mm, plate_width_mm, thickness_mm, plate_modulus_gpa, movement_per_percent_mc, brace_modulus_gpa,
        brace_width_mm, brace_height_mm, r_edge=0.45))]
    fn rectangular(
        #[pyo3(from_py_with = need::length_mm)] length_mm: f64,
        #[pyo3(from_py_with = need::plate_width_mm)] plate_width_mm: f64,
        #[pyo3(from_py_with = need::thickness_mm)] thickness_mm: f64,
        #[pyo3(from_py_with = need::plate_modulus_gpa)] plate_modulus_gpa: f64,
        #[pyo3(from_py_with = need::movement_per_percent_mc)] movement_per_percent_mc: f64,
        #[pyo3(from_py_with = need::brace_modulus_gpa)] brace_modulus_gpa: f64,
        #[pyo3(from_py_with = need::brace_width_mm)] brace_width_mm: f64,
        #[pyo3(from_py_with = need::brace_height_mm)] brace_height_mm: f64,
        #[pyo3(from_py_with = need::r_edge)] r_edge: f64,
    ) -> Result<Self> {
        Ok(Self(ArchStrip::rectangular(
            length_mm,
            plate_width_mm,
            thickness_mm,
            plate_modulus_gpa,
            movement_per_percent_mc,
            brace_modulus_gpa,
            brace_width_mm,
            brace_height_mm,
            r_edge,
        )?))
    }

    /// The same strip with another edge restraint, 0 (held) to 1 (free).
    fn with_r_edge(&self, #[pyo3(from_py_with = need::r_edge)] r_edge: f64) -> Result<Self> {
        Ok(Self(self.0.with_r_edge(r_edge)?))
    }

    /// The same strip with the edge restraint that a change of arch read between two moisture contents tells.
    #[pyo3(signature = (read_mm, *, from_mc_percent, to_mc_percent))]
    fn learned_r_edge(
        &self,
        #[pyo3(from_py_with = need::read_mm)] read_mm: f64,
        #[pyo3(from_py_with = need::from_mc_percent)] from_mc_percent: f64,
        #[pyo3(from_py_with = need::to_mc_percent)] to_mc_percent: f64,
    ) -> Result<Self> {
        Ok(Self(self.0.learned_r_edge(read_mm, from_mc_percent, to_mc_percent)?))
    }

    /// What a change of moisture since the glue set does.
    #[pyo3(signature = (from_mc_percent, to_mc_percent))]
    fn change(
        &self,
        #[pyo3(from_py_with = need::from_mc_percent)] from_mc_percent: f64,
        #[pyo3(from_py_with = need::to_mc_percent)] to_mc_percent: f64,
    ) -> Result<PyArchChange> {
        Ok(PyArchChange(self.0.change(from_mc_percent, to_mc_percent)?))
    }
}

record! {
    /// What a change of moisture does to a strip. Made by ArchStrip.change(...).
    PyArchChange, "ArchChange", ArchChange {
        /// Moisture content the glue set at, percent.
        from_mc_percent;
        /// Moisture content now, percent.
        to_mc_percent;
        /// Strain by which the top wants to be longer than the brace.
        strain;
        /// Curvature of the free strip, 1/m; above 0 it rises.
        curvature_per_m;
        /// Rise of the free strip's middle, mm; below 0 it sinks.
        free_mm;
        /// The same with the edges' restraint.
        restrained_mm;
        /// Mean stress in the plate of the free strip, MPa; tension above 0.
        plate_stress_mpa;
        /// What should be known, as sentences.
        words;
    }
}

report!(PyArchChange);

/// Curvature, 1/m, of two strips glued face to face that want lengths differing by strain: EA in N, EI in N m2, apart_mm between
/// their centroids. Timoshenko's formula of 1925 where both have one width.
#[pyfunction]
#[pyo3(signature = (strain, *, ea_1_n, ei_1_n_m2, ea_2_n, ei_2_n_m2, apart_mm))]
pub fn bimaterial_curvature_per_m(
    #[pyo3(from_py_with = need::strain)] strain: f64,
    #[pyo3(from_py_with = need::ea_1_n)] ea_1_n: f64,
    #[pyo3(from_py_with = need::ei_1_n_m2)] ei_1_n_m2: f64,
    #[pyo3(from_py_with = need::ea_2_n)] ea_2_n: f64,
    #[pyo3(from_py_with = need::ei_2_n_m2)] ei_2_n_m2: f64,
    #[pyo3(from_py_with = need::apart_mm)] apart_mm: f64,
) -> Result<f64> {
    Ok(core::bimaterial_curvature_per_m(strain, ea_1_n, ei_1_n_m2, ea_2_n, ei_2_n_m2, apart_mm)?)
}

record! {
    /// A brace glued to a strip of top, at its end.
    PyBraceEnd, "BraceEnd", BraceEnd {
        /// Modulus of the top along the brace, GPa.
        plate_modulus_gpa;
        /// Shear modulus of the top through its thickness along the brace, GPa (rolling shear across the grain).
        plate_shear_gpa;
        /// Width of top that goes with the brace, mm.
        plate_width_mm;
        /// Thickness of the top, mm.
        thickness_mm;
        /// Modulus of the brace, GPa.
        brace_modulus_gpa;
        /// Shear modulus of the brace, GPa.
        brace_shear_gpa;
        /// Glued width, mm.
        brace_width_mm;
        /// Height of the brace near its end, mm.
        end_height_mm;
        /// Length of the brace, mm.
        length_mm;
        /// Thickness of the glue, mm.
        glue_mm;
        /// Shear modulus of the glue, GPa.
        glue_shear_gpa;
    }
}

#[pymethods]
impl PyBraceEnd {
    /// Glue of 0.1 mm and 1 GPa unless said otherwise (common practice; it hardly matters).
    #[new]
    #[pyo3(signature = (*, end_height_mm, length_mm, brace_width_mm, brace_modulus_gpa, brace_shear_gpa, thickness_mm, plate_width_mm,
        plate_modulus_gpa, plate_shear_gpa, glue_mm=0.1, glue_shear_gpa=1.0))]
    fn new(
        #[pyo3(from_py_with = need::end_height_mm)] end_height_mm: f64,
        #[pyo3(from_py_with = need::length_mm)] length_mm: f64,
        #[pyo3(from_py_with = need::brace_width_mm)] brace_width_mm: f64,
        #[pyo3(from_py_with = need::brace_modulus_gpa)] brace_modulus_gpa: f64,
        #[pyo3(from_py_with = need::brace_shear_gpa)] brace_shear_gpa: f64,
        #[pyo3(from_py_with = need::thickness_mm)] thickness_mm: f64,
        #[pyo3(from_py_with = need::plate_width_mm)] plate_width_mm: f64,
        #[pyo3(from_py_with = need::plate_modulus_gpa)] plate_modulus_gpa: f64,
        #[pyo3(from_py_with = need::plate_shear_gpa)] plate_shear_gpa: f64,
        #[pyo3(from_py_with = need::glue_mm)] glue_mm: f64,
        #[pyo3(from_py_with = need::glue_shear_gpa)] glue_shear_gpa: f64,
    ) -> Result<Self> {
        let end = BraceEnd {
            plate_modulus_gpa,
            plate_shear_gpa,
            plate_width_mm,
            thickness_mm,
            brace_modulus_gpa,
            brace_shear_gpa,
            brace_width_mm,
            end_height_mm,
            length_mm,
            glue_mm,
            glue_shear_gpa,
        };
        end.end_lift(0.0, None)?;
        Ok(Self(end))
    }

    /// The end of a carved brace on a quarter-sawn top, the brace at grain_angle_deg to the top's grain; moduli from both woods,
    /// end_height_mm the higher of its two ends where none is said.
    #[staticmethod]
    #[pyo3(signature = (brace, top, *, thickness_mm, plate_width_mm, grain_angle_deg, end_height_mm=None))]
    fn under(
        brace: &PyBrace,
        top: &PyWood,
        #[pyo3(from_py_with = need::thickness_mm)] thickness_mm: f64,
        #[pyo3(from_py_with = need::plate_width_mm)] plate_width_mm: f64,
        #[pyo3(from_py_with = need::grain_angle_deg)] grain_angle_deg: f64,
        #[pyo3(from_py_with = may::end_height_mm)] end_height_mm: Option<f64>,
    ) -> Result<Self> {
        Ok(Self(BraceEnd::under(&brace.0, &top.0, thickness_mm, plate_width_mm, grain_angle_deg, end_height_mm)?))
    }

    /// Shear at the very end for a strain by which top and brace differ, by shear lag with a bending term (linear, all at once):
    /// an index to compare ends by. strength_mpa is what it is held against, 1 to 2 MPa of rolling shear for a spruce top.
    #[pyo3(signature = (strain, *, strength_mpa=None))]
    fn end_lift(
        &self,
        #[pyo3(from_py_with = need::strain)] strain: f64,
        #[pyo3(from_py_with = may::strength_mpa)] strength_mpa: Option<f64>,
    ) -> Result<PyEndLift> {
        Ok(PyEndLift(self.0.end_lift(strain, strength_mpa)?))
    }
}

record! {
    /// Shear at the end of a brace. Made by BraceEnd.end_lift(...).
    PyEndLift, "EndLift", EndLift {
        /// Strain by which top and brace differ.
        strain;
        /// Shear at the very end, MPa: an index, not a stress to certify.
        shear_mpa;
        /// Length over which it falls to 37 %, mm.
        decay_mm;
        /// Shear over the strength given; None without one.
        index;
        /// What should be known, as sentences.
        words;
    }
}

report!(PyEndLift);

/// Tension across the grain, MPa, of a top that is held by its braces and dries: E_R (C_R - C_L) times the fall in moisture,
/// elastic and all at once.
#[pyfunction]
#[pyo3(signature = (top, *, from_mc_percent, to_mc_percent))]
pub fn crack_stress_mpa(
    top: &PyWood,
    #[pyo3(from_py_with = need::from_mc_percent)] from_mc_percent: f64,
    #[pyo3(from_py_with = need::to_mc_percent)] to_mc_percent: f64,
) -> Result<f64> {
    Ok(core::crack_stress_mpa(&top.0, from_mc_percent, to_mc_percent)?)
}

record! {
    /// Whether to glue today. Made by glue_gate(...).
    PyGluingGate, "GluingGate", GluingGate {
        /// Whether all limits hold.
        glue;
        /// Moisture content at gluing, percent, wood at rest with the shop.
        mc_percent;
        /// What the driest air does, an ArchChange.
        dry;
        /// What the dampest air does.
        damp;
        /// Arch left in the driest air, mm.
        arch_dry_mm;
        /// Arch in the dampest air, mm.
        arch_damp_mm;
        /// Tension across the grain over its strength in the driest air, the top held.
        crack_index;
        /// Dampest shop air that would keep the limits dry air strains, percent; None where none would.
        highest_rh_percent;
        /// Driest shop air that would keep the limit on the rise, percent; None without that limit.
        lowest_rh_percent;
        /// The reasons, as sentences; the first is the answer.
        words;
    }
}

report!(PyGluingGate);

/// What the customer's climate will do to a top glued in today's air, and whether that keeps your limits: the arch that must be
/// left in the driest air, the crack index allowed there, the rise allowed in the dampest.
#[pyfunction]
#[pyo3(signature = (strip, top, *, rh_percent, temperature_c, driest_rh_percent, dampest_rh_percent, built_arch_mm,
    service_temperature_c=21.0, least_arch_mm=0.0, most_rise_mm=None, most_crack_index=1.0, tension_perpendicular_mpa=None))]
pub fn glue_gate(
    strip: &PyArchStrip,
    top: &PyWood,
    #[pyo3(from_py_with = need::rh_percent)] rh_percent: f64,
    #[pyo3(from_py_with = need::temperature_c)] temperature_c: f64,
    #[pyo3(from_py_with = need::driest_rh_percent)] driest_rh_percent: f64,
    #[pyo3(from_py_with = need::dampest_rh_percent)] dampest_rh_percent: f64,
    #[pyo3(from_py_with = need::built_arch_mm)] built_arch_mm: f64,
    #[pyo3(from_py_with = need::service_temperature_c)] service_temperature_c: f64,
    #[pyo3(from_py_with = need::least_arch_mm)] least_arch_mm: f64,
    #[pyo3(from_py_with = may::most_rise_mm)] most_rise_mm: Option<f64>,
    #[pyo3(from_py_with = need::most_crack_index)] most_crack_index: f64,
    #[pyo3(from_py_with = may::tension_perpendicular_mpa)] tension_perpendicular_mpa: Option<f64>,
) -> Result<PyGluingGate> {
    let room = GlueRoom { rh_percent, temperature_c, driest_rh_percent, dampest_rh_percent, service_temperature_c };
    let limits = GlueLimits { built_arch_mm, least_arch_mm, most_rise_mm, most_crack_index, tension_perpendicular_mpa };
    Ok(PyGluingGate(core::glue_gate(&strip.0, &top.0, &room, &limits)?))
}

record! {
    /// A year of air and the top that follows it, the same every year. Made by season(...).
    PySeason, "Season", Season {
        /// Day of the year, from 0.
        day;
        /// Relative humidity, percent.
        rh_percent;
        /// Moisture content the air would give, percent.
        emc_percent;
        /// Moisture content of the wood, percent.
        mc_percent;
        /// Arch, mm.
        arch_mm;
        /// Change of action at the 12th fret from the arch alone, mm.
        action_mm;
        /// Tension across the grain over its strength, the top held; 0 where it is damper than at gluing.
        crack_index;
        /// Moisture content at which the glue set, percent.
        glued_mc_percent;
        /// Arch built in, mm.
        built_arch_mm;
        /// Lowest arch of the year, mm.
        lowest_arch_mm;
        /// Highest arch of the year, mm.
        highest_arch_mm;
        /// Largest crack index of the year.
        most_crack_index;
        /// Driest air of the year, percent.
        driest_rh_percent;
        /// What should be known, as sentences.
        words;
    }
}

report!(PySeason);
frame!(PySeason);

#[pymethods]
impl PySeason {
    /// Draws air, moisture, arch and crack index over the year on three matplotlib axes (new ones when left out), and returns them.
    #[pyo3(signature = (axes=None))]
    fn plot<'py>(slf: &Bound<'py, Self>, axes: Option<&Bound<'py, PyAny>>) -> PyResult<Bound<'py, PyAny>> {
        slf.py().import("bracewright.load_plots")?.call_method1("plot_season", (slf, axes))
    }
}

/// A year of air by months (12 humidities from January, 12 temperatures or one) on a strip of top glued at glued_mc_percent. The
/// wood follows with one time constant: a finished box weeks, 21 days by default (common practice, no source).
#[pyfunction]
#[pyo3(signature = (strip, top, *, rh_percent, glued_mc_percent, built_arch_mm, temperature_c=None, time_constant_days=21.0,
    tension_perpendicular_mpa=None))]
pub fn season(
    strip: &PyArchStrip,
    top: &PyWood,
    rh_percent: &Bound<'_, PyAny>,
    #[pyo3(from_py_with = need::glued_mc_percent)] glued_mc_percent: f64,
    #[pyo3(from_py_with = need::built_arch_mm)] built_arch_mm: f64,
    temperature_c: Option<&Bound<'_, PyAny>>,
    #[pyo3(from_py_with = need::time_constant_days)] time_constant_days: f64,
    #[pyo3(from_py_with = may::tension_perpendicular_mpa)] tension_perpendicular_mpa: Option<f64>,
) -> Result<PySeason> {
    let rh = PERCENT.list("rh_percent", rh_percent)?;
    let celsius = temperature_c.map_or_else(|| Ok(vec![21.0]), |t| CELSIUS.list("temperature_c", t))?;
    let options = SeasonOptions { glued_mc_percent, time_constant_days, built_arch_mm, tension_perpendicular_mpa };
    Ok(PySeason(core::season(&strip.0, &top.0, &rh, &celsius, &options)?))
}
