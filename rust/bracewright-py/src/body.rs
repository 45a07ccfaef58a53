//! Twin of `body`: the air of a box, its coupled oscillators, and what taps say of them.

use bracewright::body::{
    BodyAir, BodyChange, BodyEstimate, BodyMobility, BodyMode, BodyPlate, BodyReading, BodyTaps, CoupledBody, Hole, TopIs,
};
use pyo3::exceptions::PyTypeError;
use pyo3::prelude::*;

use crate::argument::{may, need};
use crate::convert::{HZ, type_name, word};
use crate::error::{PyError, Result};
use crate::tap::heard;
use crate::value::{frame, getters, record, report};

fn hole_word(given: &str) -> Result<Hole> {
    word("hole", given, &[("open", Hole::Open), ("closed", Hole::Closed)])
}

record! {
    /// A cavity, its hole and the air in them: BodyAir(14.0, hole_area_cm2=78, edge_mm=2.8), or BodyAir.round_hole(...).
    PyBodyAir, "BodyAir", BodyAir {
        /// Volume enclosed, litres.
        volume_l;
        /// Its standard uncertainty, litres.
        u_volume_l;
        /// Area of the hole, cm2.
        hole_area_cm2;
        /// Its standard uncertainty, cm2.
        u_hole_area_cm2;
        /// Thickness of the plate at the hole's edge, mm.
        edge_mm;
        /// Both end corrections together, in radii of a round hole of the same area.
        end_radii;
        /// Their standard uncertainty, radii.
        u_end_radii;
        /// Temperature, degrees C.
        temperature_c;
        /// Its standard uncertainty, degrees C.
        u_temperature_c;
        /// Relative humidity, percent.
        rh_percent;
        /// Pressure, kPa.
        pressure_kpa;
    }
}

getters! { PyBodyAir {
    /// Density of the air, kg/m3: p M / (R T) of a mixture of two ideal gases.
    density_kg_m3;
    /// Speed of sound, m/s, within 0.1 % of Cramer (1993) between 0 and 40 degrees C.
    speed_m_s;
    /// Pressure for the volume pressed in, Pa/m3: rho c^2 / V.
    spring_pa_per_m3;
    /// Radius of a round hole of the same area, mm.
    hole_radius_mm;
    /// Length of the air that moves in the hole, mm: the edge and both end corrections.
    hole_length_mm;
    /// Mass of that air, g.
    hole_mass_g;
    /// Frequency of the box if its walls were rigid, Hz: c / (2 pi) sqrt(S / (V L)).
    helmholtz_hz;
}}

#[pymethods]
impl PyBodyAir {
    /// end_radii is 16/(3 pi) when left out, Rayleigh's upper bound for both ends in a large plate; the walls near the hole are not
    /// in it, and u_end_radii stands for them (judgement).
    #[new]
    #[allow(clippy::too_many_arguments)]
    #[pyo3(signature = (volume_l, *, hole_area_cm2, edge_mm, u_volume_l=0.0, u_hole_area_cm2=0.0, end_radii=None, u_end_radii=0.12,
        temperature_c=20.0, u_temperature_c=1.0, rh_percent=50.0, pressure_kpa=101.325))]
    fn new(
        #[pyo3(from_py_with = need::volume_l)] volume_l: f64,
        #[pyo3(from_py_with = need::hole_area_cm2)] hole_area_cm2: f64,
        #[pyo3(from_py_with = need::edge_mm)] edge_mm: f64,
        #[pyo3(from_py_with = need::u_volume_l)] u_volume_l: f64,
        #[pyo3(from_py_with = need::u_hole_area_cm2)] u_hole_area_cm2: f64,
        #[pyo3(from_py_with = may::end_radii)] end_radii: Option<f64>,
        #[pyo3(from_py_with = need::u_end_radii)] u_end_radii: f64,
        #[pyo3(from_py_with = need::temperature_c)] temperature_c: f64,
        #[pyo3(from_py_with = need::u_temperature_c)] u_temperature_c: f64,
        #[pyo3(from_py_with = need::rh_percent)] rh_percent: f64,
        #[pyo3(from_py_with = need::pressure_kpa)] pressure_kpa: f64,
    ) -> Result<Self> {
        let end_radii = end_radii.unwrap_or(BodyAir::END_RADII);
        let air = BodyAir {
            volume_l,
            u_volume_l,
            hole_area_cm2,
            u_hole_area_cm2,
            edge_mm,
            end_radii,
            u_end_radii,
            temperature_c,
            u_temperature_c,
            rh_percent,
            pressure_kpa,
        };
        Ok(Self(air.checked()?))
    }

    /// The same with a round hole by its diameter.
    #[staticmethod]
    #[allow(clippy::too_many_arguments)]
    #[pyo3(signature = (volume_l, *, diameter_mm, edge_mm, u_volume_l=0.0, u_diameter_mm=0.0, end_radii=None, u_end_radii=0.12,
        temperature_c=20.0, u_temperature_c=1.0, rh_percent=50.0, pressure_kpa=101.325))]
    fn round_hole(
        #[pyo3(from_py_with = need::volume_l)] volume_l: f64,
        #[pyo3(from_py_with = need::diameter_mm)] diameter_mm: f64,
        #[pyo3(from_py_with = need::edge_mm)] edge_mm: f64,
        #[pyo3(from_py_with = need::u_volume_l)] u_volume_l: f64,
        #[pyo3(from_py_with = need::u_diameter_mm)] u_diameter_mm: f64,
        #[pyo3(from_py_with = may::end_radii)] end_radii: Option<f64>,
        #[pyo3(from_py_with = need::u_end_radii)] u_end_radii: f64,
        #[pyo3(from_py_with = need::temperature_c)] temperature_c: f64,
        #[pyo3(from_py_with = need::u_temperature_c)] u_temperature_c: f64,
        #[pyo3(from_py_with = need::rh_percent)] rh_percent: f64,
        #[pyo3(from_py_with = need::pressure_kpa)] pressure_kpa: f64,
    ) -> Result<Self> {
        let (area, u_area) = BodyAir::round_hole_cm2(diameter_mm, u_diameter_mm)?;
        Self::new(
            volume_l,
            area,
            edge_mm,
            u_volume_l,
            u_area,
            end_radii,
            u_end_radii,
            temperature_c,
            u_temperature_c,
            rh_percent,
            pressure_kpa,
        )
    }

    /// The Helmholtz frequency with where its uncertainty comes from. Walls that give are not in it.
    #[pyo3(signature = (*, coverage=0.95))]
    fn helmholtz_budget(&self, #[pyo3(from_py_with = need::coverage)] coverage: f64) -> Result<crate::combine::PyBudget> {
        Ok(crate::combine::PyBudget(self.0.helmholtz_budget(coverage)?))
    }

    /// Mass of air that moves with one side of a piston in a large wall, g: 8/3 rho a^3.
    fn load_g(&self, #[pyo3(from_py_with = need::area_cm2)] area_cm2: f64) -> Result<f64> {
        Ok(self.0.load_g(area_cm2)?)
    }
}

record! {
    /// Top or back as one oscillator without the cavity's spring: BodyPlate(160, mass_g=80, area_cm2=350, q=25). The mass is all
    /// that moves at the place that is tapped, the air outside and inside counted in; area is volume swept for the way it moves.
    PyBodyPlate, "BodyPlate", BodyPlate {
        /// Frequency with the cavity's spring taken away, Hz.
        frequency_hz;
        /// Effective mass at the place that is tapped, g.
        mass_g;
        /// Effective area, cm2.
        area_cm2;
        /// Quality factor.
        q;
    }
}

getters! { PyBodyPlate {
    /// Stiffness at the place that is tapped, N/mm, the cavity's spring not counted.
    stiffness_n_per_mm;
}}

#[pymethods]
impl PyBodyPlate {
    #[new]
    #[pyo3(signature = (frequency_hz, *, mass_g, area_cm2, q))]
    fn new(
        #[pyo3(from_py_with = need::frequency_hz)] frequency_hz: f64,
        #[pyo3(from_py_with = need::mass_g)] mass_g: f64,
        #[pyo3(from_py_with = need::area_cm2)] area_cm2: f64,
        #[pyo3(from_py_with = need::q)] q: f64,
    ) -> Result<Self> {
        Ok(Self(BodyPlate::new(frequency_hz, mass_g, area_cm2, q)?))
    }

    /// The plate with the air that moves with one or two of its sides added, where its figures were reckoned in vacuo.
    #[pyo3(signature = (air, *, sides=1))]
    fn in_air(&self, air: &PyBodyAir, #[pyo3(from_py_with = need::sides)] sides: usize) -> Result<Self> {
        Ok(Self(self.0.in_air(&air.0, sides)?))
    }

    /// The plate with so much more stiffness and mass, percent (below 0: less); area and Q are kept.
    #[pyo3(signature = (*, stiffness_percent=0.0, mass_percent=0.0))]
    fn changed(
        &self,
        #[pyo3(from_py_with = need::stiffness_percent)] stiffness_percent: f64,
        #[pyo3(from_py_with = need::mass_percent)] mass_percent: f64,
    ) -> Result<Self> {
        Ok(Self(self.0.changed(stiffness_percent, mass_percent)?))
    }
}

record! {
    /// A coupled mode of a box. Made by CoupledBody.modes().
    PyBodyMode, "BodyMode", BodyMode {
        /// Natural frequency, Hz.
        frequency_hz;
        /// Quality factor, to first order in the damping.
        q;
        /// Volume the top sweeps outwards; the largest of the three is 1 or -1, the top's not below 0.
        top_volume;
        /// Volume that goes out of the hole; 0 when it is closed.
        air_volume;
        /// Volume the back sweeps outwards; 0 when it stands still.
        back_volume;
        /// All three together: what the mode sends out at low frequency.
        net_volume;
        /// Modal mass at the place on the top that is tapped, g.
        modal_mass_g;
        /// Change of the frequency for one percent more stiffness of the top, percent.
        per_percent_stiffness;
        /// Change of the frequency for one percent more mass of the top, percent.
        per_percent_mass;
    }
}

record! {
    /// How readily the top moves where it is tapped: velocity over force. Made by CoupledBody.mobility(...).
    PyBodyMobility, "BodyMobility", BodyMobility {
        /// Frequencies, Hz.
        frequency_hz;
        /// Real part, s/kg.
        re_s_per_kg;
        /// Imaginary part, s/kg; above 0 for a spring, below for a mass (exp(+j w t)).
        im_s_per_kg;
        /// Size, s/kg.
        size_s_per_kg;
    }
}

frame!(PyBodyMobility);

record! {
    /// What a change of the top does to a box. Made by CoupledBody.top_changed(...).
    PyBodyChange, "BodyChange", BodyChange {
        /// The body after it.
        after;
        /// Frequencies before, hole open, Hz.
        open_before_hz;
        /// Frequencies after, hole open, Hz.
        open_after_hz;
        /// Frequencies before, hole closed, Hz.
        closed_before_hz;
        /// Frequencies after, hole closed, Hz.
        closed_after_hz;
        /// The same, as sentences.
        words;
    }
}

report!(PyBodyChange);

record! {
    /// Top, air in the hole and perhaps the back on one cavity: CoupledBody(air, top, back, q_air=30). Without a back it
    /// stands still. It holds for the two or three lowest peaks; higher modes and the sides are left out.
    PyCoupledBody, "CoupledBody", CoupledBody {
        /// The cavity and its hole.
        air;
        /// Quality factor of the air in the hole.
        q_air;
        /// The top.
        top;
        /// The back; None when it stands still.
        back;
    }
}

getters! { PyCoupledBody {
    /// Frequency of the box if its walls were rigid, Hz.
    helmholtz_hz;
    /// Frequency of the top on its own stiffness and the cavity's, hole closed and back still, Hz.
    top_closed_hz;
}}

#[pymethods]
impl PyCoupledBody {
    #[new]
    #[pyo3(signature = (air, top, back=None, *, q_air))]
    fn new(
        air: &PyBodyAir,
        top: &PyBodyPlate,
        back: Option<&Bound<'_, PyBodyPlate>>,
        #[pyo3(from_py_with = need::q_air)] q_air: f64,
    ) -> Result<Self> {
        Ok(Self(CoupledBody::new(air.0, q_air, top.0, back.map(|b| b.get().0))?))
    }

    /// The coupled modes, lowest first; hole is "open" or "closed".
    #[pyo3(signature = (*, hole="open"))]
    fn modes(&self, hole: &str) -> Result<Vec<PyBodyMode>> {
        Ok(self.0.modes(hole_word(hole)?)?.into_iter().map(PyBodyMode).collect())
    }

    /// Their frequencies, Hz.
    #[pyo3(signature = (*, hole="open"))]
    fn frequencies_hz<'py>(&self, py: Python<'py>, hole: &str) -> Result<Bound<'py, PyAny>> {
        let hz = self.0.frequencies_hz(hole_word(hole)?)?;
        Ok(crate::value::ToPython::to_python(&hz, py)?)
    }

    /// Velocity over force at the place on the top that is tapped, both outwards, at frequencies above 0 (a list, Hz).
    #[pyo3(signature = (frequency_hz, *, hole="open"))]
    fn mobility(&self, frequency_hz: &Bound<'_, PyAny>, hole: &str) -> Result<PyBodyMobility> {
        let hole = hole_word(hole)?;
        Ok(PyBodyMobility(self.0.mobility(&HZ.list("frequency_hz", frequency_hz)?, hole)?))
    }

    /// The body with another top.
    fn with_top(&self, top: &PyBodyPlate) -> Self {
        Self(self.0.with_top(top.0))
    }

    /// What so much more stiffness and mass of the top do, percent (below 0: looser, lighter); the area it sweeps is taken to stay.
    #[pyo3(signature = (*, stiffness_percent=0.0, mass_percent=0.0))]
    fn top_changed(
        &self,
        #[pyo3(from_py_with = need::stiffness_percent)] stiffness_percent: f64,
        #[pyo3(from_py_with = need::mass_percent)] mass_percent: f64,
    ) -> Result<PyBodyChange> {
        Ok(PyBodyChange(self.0.top_changed(stiffness_percent, mass_percent)?))
    }

    /// Draws the mobility with the hole open and closed and marks the modes, on matplotlib axes (new ones when left out).
    #[pyo3(signature = (ax=None))]
    fn plot<'py>(slf: &Bound<'py, Self>, ax: Option<&Bound<'py, PyAny>>) -> PyResult<Bound<'py, PyAny>> {
        slf.py().import("bracewright.body_plots")?.call_method1("plot_body", (slf, ax))
    }
}

record! {
    /// Frequencies tapped on a box, each list from the lowest up. Two with the hole open are top and air, the back standing
    /// still; three are top, air and back. One u for a list stands for all of it.
    PyBodyTaps, "BodyTaps", BodyTaps {
        /// Hole open, two or three, Hz.
        open_hz;
        /// Their standard uncertainties, Hz.
        u_open_hz;
        /// Hole closed, one fewer or none, Hz.
        closed_hz;
        /// Their standard uncertainties, Hz.
        u_closed_hz;
        /// Mass stuck on at the place that is tapped, g; None without one.
        added_mass_g;
        /// Its standard uncertainty, g.
        u_added_mass_g;
        /// Hole open, with the mass, Hz.
        open_with_mass_hz;
        /// Their standard uncertainties, Hz.
        u_open_with_mass_hz;
        /// Hole closed, with the mass, Hz.
        closed_with_mass_hz;
        /// Their standard uncertainties, Hz.
        u_closed_with_mass_hz;
    }
}

/// Frequencies and their uncertainties; one uncertainty stands for all.
type Listed = (Vec<f64>, Vec<f64>);

fn listed(name: &str, hz: Option<&Bound<'_, PyAny>>, u: Option<&Bound<'_, PyAny>>) -> PyResult<Listed> {
    let of = |name: &str, given: Option<&Bound<'_, PyAny>>| given.map_or_else(|| Ok(Vec::new()), |g| HZ.list(name, g));
    let (hz, mut u) = (of(name, hz)?, of(&format!("u_{name}"), u)?);
    if let [one] = u[..] {
        u = vec![one; hz.len().max(1)];
    }
    Ok((hz, u))
}

fn of_modes(name: &str, given: Option<&Bound<'_, PyAny>>) -> PyResult<Listed> {
    let Some(given) = given else { return Ok(Listed::default()) };
    let bad = |_| PyTypeError::new_err(format!("{name}: it must be a list of Mode or CombinedMode, not {}", type_name(given)));
    given.try_iter().map_err(bad)?.map(|one| Ok(heard(name, &one?)?.frequency_hz)).collect()
}

fn taps(open: Listed, closed: Listed, mass: (Option<f64>, f64), open_with: Listed, closed_with: Listed) -> Result<PyBodyTaps> {
    let mut out = BodyTaps::new(&open.0, &open.1)?;
    if !closed.0.is_empty() || !closed.1.is_empty() {
        out = out.with_closed(&closed.0, &closed.1)?;
    }
    out = out.with_mass_if(mass.0, mass.1, (&open_with.0, &open_with.1), (&closed_with.0, &closed_with.1))?;
    Ok(PyBodyTaps(out))
}

#[pymethods]
impl PyBodyTaps {
    #[new]
    #[allow(clippy::too_many_arguments)]
    #[pyo3(signature = (open_hz, *, u_open_hz, closed_hz=None, u_closed_hz=None, added_mass_g=None, u_added_mass_g=0.01,
        open_with_mass_hz=None, u_open_with_mass_hz=None, closed_with_mass_hz=None, u_closed_with_mass_hz=None))]
    fn new(
        open_hz: &Bound<'_, PyAny>,
        u_open_hz: &Bound<'_, PyAny>,
        closed_hz: Option<&Bound<'_, PyAny>>,
        u_closed_hz: Option<&Bound<'_, PyAny>>,
        #[pyo3(from_py_with = may::added_mass_g)] added_mass_g: Option<f64>,
        #[pyo3(from_py_with = need::u_added_mass_g)] u_added_mass_g: f64,
        open_with_mass_hz: Option<&Bound<'_, PyAny>>,
        u_open_with_mass_hz: Option<&Bound<'_, PyAny>>,
        closed_with_mass_hz: Option<&Bound<'_, PyAny>>,
        u_closed_with_mass_hz: Option<&Bound<'_, PyAny>>,
    ) -> Result<Self> {
        taps(
            listed("open_hz", Some(open_hz), Some(u_open_hz))?,
            listed("closed_hz", closed_hz, u_closed_hz)?,
            (added_mass_g, u_added_mass_g),
            listed("open_with_mass_hz", open_with_mass_hz, u_open_with_mass_hz)?,
            listed("closed_with_mass_hz", closed_with_mass_hz, u_closed_with_mass_hz)?,
        )
    }

    /// From lists of modes of recordings (each a Mode of one tap, or a CombinedMode of several), with the uncertainties they carry.
    #[staticmethod]
    #[pyo3(signature = (open, *, closed=None, added_mass_g=None, u_added_mass_g=0.01, open_with_mass=None, closed_with_mass=None))]
    fn from_modes(
        open: &Bound<'_, PyAny>,
        closed: Option<&Bound<'_, PyAny>>,
        #[pyo3(from_py_with = may::added_mass_g)] added_mass_g: Option<f64>,
        #[pyo3(from_py_with = need::u_added_mass_g)] u_added_mass_g: f64,
        open_with_mass: Option<&Bound<'_, PyAny>>,
        closed_with_mass: Option<&Bound<'_, PyAny>>,
    ) -> Result<Self> {
        taps(
            of_modes("open", Some(open))?,
            of_modes("closed", closed)?,
            (added_mass_g, u_added_mass_g),
            of_modes("open_with_mass", open_with_mass)?,
            of_modes("closed_with_mass", closed_with_mass)?,
        )
    }

    /// The oscillators behind the taps. Two need one of: the hole closed, a mass, or air (its Helmholtz frequency stands in, with
    /// its own doubt); three need the hole closed. Masses need the mass, areas the volume besides. Of three, top is "lower" or
    /// "higher": which plate's own frequency is the top's; with a mass the better fit says it. What is over is fitted by least
    /// squares; where the misses are unlikely (below 5 %) the intervals are widened, by Student's t.
    #[pyo3(signature = (air=None, *, top=None, coverage=0.95))]
    fn identify(
        &self,
        air: Option<&Bound<'_, PyBodyAir>>,
        top: Option<&str>,
        #[pyo3(from_py_with = need::coverage)] coverage: f64,
    ) -> Result<PyBodyEstimate> {
        let which = |t| word("top", t, &[("lower", TopIs::Lower), ("higher", TopIs::Higher)]);
        let top = top.map(which).transpose()?;
        Ok(PyBodyEstimate(self.0.identify(air.map(|a| &a.get().0), top, coverage).map_err(PyError::from)?))
    }
}

record! {
    /// A frequency that was tapped, beside what the fit makes of it.
    PyBodyReading, "BodyReading", BodyReading {
        /// The list it stands in and its place there.
        name;
        /// As read, Hz.
        frequency_hz;
        /// Its standard uncertainty, Hz.
        u_hz;
        /// As fitted, Hz.
        fitted_hz;
    }
}

record! {
    /// The oscillators behind taps of a box, each figure a Budget. Made by BodyTaps.identify(...).
    PyBodyEstimate, "BodyEstimate", BodyEstimate {
        /// Two or three.
        oscillators;
        /// Which plate's own frequency is the top's, "lower" or "higher"; None with two oscillators.
        top_is;
        /// Frequency of the box with rigid walls, Hz.
        helmholtz_hz;
        /// The top's own frequency, without the cavity's spring, Hz.
        top_hz;
        /// The top's with the cavity's spring, hole closed and back still, Hz.
        top_closed_hz;
        /// Coupling of top and air as a frequency, Hz.
        coupling_hz;
        /// Share of the cavity's spring in the top's stiffness, hole closed.
        air_share;
        /// The back's own frequency, Hz; None with two oscillators.
        back_hz;
        /// Share of the cavity's spring in the back's stiffness; None with two oscillators.
        back_air_share;
        /// Effective mass of the top, g, the air that moves with it counted in; None without a mass stuck on.
        top_mass_g;
        /// Effective area of the top, cm2; None without a mass and a volume.
        top_area_cm2;
        /// Effective area over the root of effective mass of the top, cm2 / sqrt(g); None without a volume.
        top_area_per_root_g;
        /// The same of the back.
        back_area_per_root_g;
        /// Length of air that moves in the hole, mm; None without volume and hole.
        hole_length_mm;
        /// The readings and what the fit makes of them.
        readings;
        /// Sum of squared misses over the uncertainties.
        chi_squared;
        /// Readings more than unknowns.
        dof;
        /// Chance of a chi squared so large or larger; None when nothing is over.
        chance;
        /// Factor by which the intervals were widened; 1 for none.
        widened;
        /// The volume and hole that were given.
        air;
        /// What these taps cannot tell, and what would.
        not_told;
        /// The whole, as sentences.
        words;
    }
}

report!(PyBodyEstimate);

#[pymethods]
impl PyBodyEstimate {
    /// The body these taps speak of, for mobilities and changes; it needs the top's mass and area. back_mass_g sets the scale of the
    /// back, which nothing on the top depends on (the top's mass when left out).
    #[pyo3(signature = (*, q_top, q_air, q_back=30.0, back_mass_g=None))]
    fn body(
        &self,
        #[pyo3(from_py_with = need::q_top)] q_top: f64,
        #[pyo3(from_py_with = need::q_air)] q_air: f64,
        #[pyo3(from_py_with = need::q_back)] q_back: f64,
        #[pyo3(from_py_with = may::back_mass_g)] back_mass_g: Option<f64>,
    ) -> Result<PyCoupledBody> {
        Ok(PyCoupledBody(self.0.body(q_top, q_air, q_back, back_mass_g)?))
    }
}
