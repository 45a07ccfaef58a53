//! Twin of `strings::bridge`, `strings::share`, `strings::swap` and `strings::stages`.

use bracewright::strings::{
    self as core, BraceMoment, Bridge, BridgeKind, BridgeLoad, CoupleShares, RotationTest, SetSwap, StageAnswer, Stringing,
    StringingStage,
};
use pyo3::exceptions::PyTypeError;
use pyo3::prelude::*;
use pyo3::types::PyDict;

use crate::argument::{may, need};
use crate::convert::{PLAIN, type_name};
use crate::error::Result;
use crate::strings::{PyStringSet, PyTensions};
use crate::value::{ToPython, getters, record, report};

impl ToPython for BridgeKind {
    fn to_python<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyAny>> {
        self.words().to_string().to_python(py)
    }
    fn shown(&self) -> String {
        self.words().into()
    }
}

record! {
    /// A bridge as a rule measures it: Bridge.pin(...) or Bridge.tie(...).
    PyBridge, "Bridge", Bridge {
        /// "pin" or "tie".
        kind;
        /// Height of the strings above the top at the saddle, mm.
        saddle_height_mm;
        /// Its standard uncertainty, mm.
        u_saddle_height_mm;
        /// Height above the top where the strings leave: the bridge's face at the pin holes, or the tie holes, mm.
        end_height_mm;
        /// Distance of that place behind the saddle, mm.
        end_behind_mm;
        /// Length of the glued foot across the top, mm.
        foot_length_mm;
        /// Its width fore and aft, mm.
        foot_width_mm;
        /// Distance of the saddle behind the front edge of the foot, mm.
        saddle_from_front_mm;
        /// Thickness of the top under it, mm.
        top_thickness_mm;
        /// Angle by which the strings fall from saddle to nut, degrees.
        neck_angle_deg;
    }
}

getters! { PyBridge {
    /// Angle the strings turn by at the saddle, degrees.
    break_angle_deg;
}}

macro_rules! bridges {
    ($($(#[$doc:meta])* $name:ident, $kind:ident;)*) => {
        #[pymethods]
        impl PyBridge {$(
            $(#[$doc])*
            #[staticmethod]
            #[pyo3(signature = (*, saddle_height_mm, end_height_mm, end_behind_mm, foot_length_mm, foot_width_mm,
                saddle_from_front_mm, top_thickness_mm, neck_angle_deg=0.0, u_saddle_height_mm=0.3))]
            fn $name(
                #[pyo3(from_py_with = need::saddle_height_mm)] saddle_height_mm: f64,
                #[pyo3(from_py_with = need::end_height_mm)] end_height_mm: f64,
                #[pyo3(from_py_with = need::end_behind_mm)] end_behind_mm: f64,
                #[pyo3(from_py_with = need::foot_length_mm)] foot_length_mm: f64,
                #[pyo3(from_py_with = need::foot_width_mm)] foot_width_mm: f64,
                #[pyo3(from_py_with = need::saddle_from_front_mm)] saddle_from_front_mm: f64,
                #[pyo3(from_py_with = need::top_thickness_mm)] top_thickness_mm: f64,
                #[pyo3(from_py_with = need::neck_angle_deg)] neck_angle_deg: f64,
                #[pyo3(from_py_with = need::u_saddle_height_mm)] u_saddle_height_mm: f64,
            ) -> Result<Self> {
                let bridge = Bridge {
                    kind: BridgeKind::$kind,
                    saddle_height_mm,
                    u_saddle_height_mm,
                    end_height_mm,
                    end_behind_mm,
                    foot_length_mm,
                    foot_width_mm,
                    saddle_from_front_mm,
                    top_thickness_mm,
                    neck_angle_deg,
                };
                Ok(Self(bridge.checked()?))
            }
        )*}
    };
}

bridges! {
    /// Ball ends under the plate, held by pins. Heights above the top's face, the place where the strings turn into their holes
    /// end_behind_mm behind the saddle; neck_angle_deg is how far the strings fall towards the nut.
    pin, Pin;
    /// Strings tied through holes in the bridge, end_height_mm above the top's face and end_behind_mm behind the saddle.
    tie, Tie;
}

#[pymethods]
impl PyBridge {
    /// What a StringSet (or its Tensions) does to it.
    fn load(&self, strings: &Bound<'_, PyAny>) -> Result<PyBridgeLoad> {
        if let Ok(set) = strings.cast::<PyStringSet>() {
            return Ok(PyBridgeLoad(self.0.load(&set.get().0.tensions())?));
        }
        match strings.cast::<PyTensions>() {
            Ok(tensions) => Ok(PyBridgeLoad(self.0.load(&tensions.get().0)?)),
            Err(_) => {
                let words = format!("strings must be a StringSet or its tensions, not {}", type_name(strings));
                Err(PyTypeError::new_err(words).into())
            }
        }
    }

    /// What so much tension in all strings does to it.
    #[pyo3(signature = (total_n, *, u_total_n=0.0))]
    fn load_of(
        &self,
        #[pyo3(from_py_with = need::total_n)] total_n: f64,
        #[pyo3(from_py_with = need::u_total_n)] u_total_n: f64,
    ) -> Result<PyBridgeLoad> {
        Ok(PyBridgeLoad(self.0.load_of(total_n, u_total_n)?))
    }
}

record! {
    /// What a set does to a bridge. Made by Bridge.load(...).
    ///
    /// The strings in front of the saddle pull bridge and top by T at the height of the saddle: a couple about the middle of the
    /// top's thickness, the same whichever way they end. A tie bridge's glue carries all of it; under a pin bridge the ball ends
    /// lift the plate by T and press the bridge down by as much.
    PyBridgeLoad, "BridgeLoad", BridgeLoad {
        /// The bridge.
        bridge;
        /// Tension of all strings, N.
        total_n;
        /// Its standard uncertainty, N.
        u_total_n;
        /// Height of the strings above the middle of the top's thickness, mm.
        height_mm;
        /// Angle the strings turn by at the saddle, degrees.
        break_angle_deg;
        /// Force on the saddle, N: 2 T sin(break angle / 2).
        saddle_n;
        /// Pull towards the nut, N.
        along_n;
        /// Net press on the top, N; below 0 it is lifted.
        net_down_n;
        /// Couple on the top about the middle of its thickness below the saddle, N m.
        couple_n_m;
        /// Its standard uncertainty, N m.
        u_couple_n_m;
        /// Pull upwards where the strings end, N: on the plate under a pin bridge, on the tie block of a tie bridge.
        ends_up_n;
        /// Mean shear in the glue of the foot, MPa.
        foot_shear_mpa;
        /// Peel at the rear edge of the foot as an index, MPa: 6 M / (l w^2) with the whole couple. The real peak is higher.
        peel_index_mpa;
        /// Couple that the glue carries in the free body of this kind of bridge, N m.
        foot_couple_n_m;
        /// Stress across the glue at the rear edge in that free body, MPa: tension above 0, pressed below.
        rear_edge_mpa;
        /// What should be known, as sentences.
        words;
    }
}

report!(PyBridgeLoad);

#[pymethods]
impl PyBridgeLoad {
    /// Draws bridge, strings and forces from the side on matplotlib axes (new ones when left out) and returns them.
    #[pyo3(signature = (ax=None))]
    fn plot<'py>(slf: &Bound<'py, Self>, ax: Option<&Bound<'py, PyAny>>) -> PyResult<Bound<'py, PyAny>> {
        slf.py().import("bracewright.load_plots")?.call_method1("plot_bridge", (slf, ax))
    }
}

record! {
    /// Moment in one brace at the bridge.
    PyBraceMoment, "BraceMoment", BraceMoment {
        /// The brace.
        brace;
        /// Share of the couple it is taken to carry.
        share;
        /// Moment before the bridge, N m.
        front_n_m;
        /// Moment behind it, N m, the other way round.
        behind_n_m;
    }
}

record! {
    /// A couple laid on braces by shares that are assumed. Made by couple_on_braces(...).
    PyCoupleShares, "CoupleShares", CoupleShares {
        /// The couple, N m.
        couple_n_m;
        /// The braces.
        braces;
        /// Share left to the top itself and what else is on it.
        rest;
        /// Share of the couple that goes before the bridge.
        front;
        /// The assumption and what follows, as sentences.
        words;
    }
}

report!(PyCoupleShares);

/// What a couple asks of each brace, from shares by name, {"left leg": 0.3, ...}; front of it stands before the bridge, the rest
/// behind. Without shares two legs of 0.3 each: an assumption of common practice, no source, until a whole top is solved.
#[pyfunction]
#[pyo3(signature = (couple_n_m, *, shares=None, front=0.5))]
pub fn couple_on_braces(
    #[pyo3(from_py_with = need::couple_n_m)] couple_n_m: f64,
    shares: Option<&Bound<'_, PyDict>>,
    #[pyo3(from_py_with = need::front)] front: f64,
) -> Result<PyCoupleShares> {
    let mut given = Vec::new();
    for (name, share) in shares.into_iter().flatten() {
        let name: String = name
            .extract()
            .map_err(|_| PyTypeError::new_err("shares must be given by the names of braces, {\"left leg\": 0.3}"))?;
        given.push((name.clone(), PLAIN.one(&format!("shares of {name}"), &share)?));
    }
    Ok(PyCoupleShares(core::couple_on_braces(couple_n_m, shares.map(|_| given.as_slice()), front)?))
}

record! {
    /// What changing strings changes. Made by swap_strings(...).
    PySetSwap, "SetSwap", SetSwap {
        /// The load of the set that comes off.
        before;
        /// The load of the set that goes on.
        after;
        /// New tension less old, N.
        tension_change_n;
        /// The same, percent of the old.
        tension_change_percent;
        /// New couple less old, N m.
        couple_change_n_m;
        /// Couple the top was designed for, N m; None where none was said.
        design_couple_n_m;
        /// New couple, percent of the design couple.
        percent_of_design;
        /// Whether the new couple is above the design couple.
        over_design;
        /// What should be known, as sentences.
        words;
    }
}

report!(PySetSwap);

/// What a new set does on a bridge beside the old one. design_couple_n_m is what the braces were carved for; a set over it is a
/// caution in the report, not an error.
#[pyfunction]
#[pyo3(signature = (old, new, *, bridge, design_couple_n_m=None))]
pub fn swap_strings(
    old: &PyStringSet,
    new: &PyStringSet,
    bridge: &PyBridge,
    #[pyo3(from_py_with = may::design_couple_n_m)] design_couple_n_m: Option<f64>,
) -> Result<PySetSwap> {
    Ok(PySetSwap(core::swapped(&old.0, &new.0, &bridge.0, design_couple_n_m)?))
}

record! {
    /// Rotational stiffness of a top at its bridge, from two equal weights on a bar across it, one up and one down: no strings
    /// needed. RotationTest(force_n, arm_mm=100, rotation_deg=0.5).
    PyRotationTest, "RotationTest", RotationTest {
        /// Rotational stiffness, N m per degree.
        stiffness_n_m_per_deg;
        /// Its standard uncertainty.
        u_stiffness_n_m_per_deg;
    }
}

#[pymethods]
impl PyRotationTest {
    #[new]
    #[pyo3(signature = (force_n, *, arm_mm, rotation_deg, u_rotation_deg=0.0, u_force_n=0.0))]
    fn new(
        #[pyo3(from_py_with = need::force_n)] force_n: f64,
        #[pyo3(from_py_with = need::arm_mm)] arm_mm: f64,
        #[pyo3(from_py_with = need::rotation_deg)] rotation_deg: f64,
        #[pyo3(from_py_with = need::u_rotation_deg)] u_rotation_deg: f64,
        #[pyo3(from_py_with = need::u_force_n)] u_force_n: f64,
    ) -> Result<Self> {
        Ok(Self(RotationTest::new(force_n, arm_mm, rotation_deg, u_rotation_deg, u_force_n)?))
    }
}

/// Rotation of a bridge, degrees, from two dials apart_mm apart: how far the top rose behind it and sank before it.
#[pyfunction]
#[pyo3(signature = (*, rise_behind_mm, sink_before_mm, apart_mm))]
pub fn bridge_rotation_deg(
    #[pyo3(from_py_with = need::rise_behind_mm)] rise_behind_mm: f64,
    #[pyo3(from_py_with = need::sink_before_mm)] sink_before_mm: f64,
    #[pyo3(from_py_with = need::apart_mm)] apart_mm: f64,
) -> Result<f64> {
    Ok(core::bridge_rotation_deg(rise_behind_mm, sink_before_mm, apart_mm)?)
}

record! {
    /// One stage of a first stringing.
    PyStringingStage, "StringingStage", StringingStage {
        /// Its name: "half tension", "at pitch", "1 hour", "1 day", "1 week" or "1 month".
        name;
        /// Hours at pitch.
        hours;
        /// Share of the tension that is on.
        tension_share;
        /// Couple, N m.
        couple_n_m;
        /// Rotation to expect, degrees.
        rotation_deg;
        /// Its standard uncertainty, degrees.
        u_rotation_deg;
        /// Stop here when more is read, degrees: the last stage would pass the limit.
        stop_deg;
    }
}

/// The stages as columns.
fn columns(s: &Stringing) -> Vec<(&'static str, Vec<f64>)> {
    let column = |f: fn(&StringingStage) -> f64| s.stages.iter().map(f).collect();
    vec![
        ("hours", column(|s| s.hours)),
        ("tension_share", column(|s| s.tension_share)),
        ("couple_n_m", column(|s| s.couple_n_m)),
        ("rotation_deg", column(|s| s.rotation_deg)),
        ("u_rotation_deg", column(|s| s.u_rotation_deg)),
        ("stop_deg", column(|s| s.stop_deg)),
    ]
}

record! {
    /// A first stringing in stages. Made by stringing(...).
    PyStringing, "Stringing", Stringing {
        /// The stages, in order.
        stages;
        /// Rotational stiffness used, N m per degree.
        stiffness_n_m_per_deg;
        /// The limit, degrees, as given.
        limit_deg;
        /// Whether the last stage is expected to pass the limit.
        over_limit;
        /// What should be known, as sentences.
        words;
    } table columns
}

report!(PyStringing);

#[pymethods]
impl PyStringing {
    /// What a rotation read at a stage, by its name, says: go on, or slacken.
    #[pyo3(signature = (stage, rotation_deg, *, u_deg=0.1))]
    fn judge(
        &self,
        stage: &str,
        #[pyo3(from_py_with = need::rotation_deg)] rotation_deg: f64,
        #[pyo3(from_py_with = need::u_deg)] u_deg: f64,
    ) -> Result<PyStageAnswer> {
        Ok(PyStageAnswer(self.0.judge(stage, rotation_deg, u_deg)?))
    }

    /// Draws the stages, their bands and stops on matplotlib axes (new ones when left out) and returns them; read holds pairs
    /// (name of a stage, degrees read).
    #[pyo3(signature = (read=None, ax=None))]
    fn plot<'py>(
        slf: &Bound<'py, Self>,
        read: Option<&Bound<'py, PyAny>>,
        ax: Option<&Bound<'py, PyAny>>,
    ) -> PyResult<Bound<'py, PyAny>> {
        slf.py().import("bracewright.load_plots")?.call_method1("plot_stringing", (slf, read, ax))
    }
}

record! {
    /// What a reading at a stage says. Made by Stringing.judge(...).
    PyStageAnswer, "StageAnswer", StageAnswer {
        /// Whether to go on.
        go_on;
        /// Rotational stiffness as the reading has it, N m per degree, creep taken out.
        stiffness_n_m_per_deg;
        /// Rotation at the last stage if the rest goes as foreseen, degrees.
        last_deg;
        /// What to do, as a sentence.
        words;
    }
}

/// The stages of a first stringing, half tension to one month: rotation is couple over stiffness_n_m_per_deg (from RotationTest, a
/// like instrument or computed; u_stiffness relative, 0.2 a guess), growing by k_def of the service class over log time (a guess).
/// limit_deg is yours: no ceiling is built in.
#[pyfunction]
#[pyo3(signature = (load, *, stiffness_n_m_per_deg, limit_deg, u_stiffness=0.2, service_class=1.0))]
pub fn stringing(
    load: &PyBridgeLoad,
    #[pyo3(from_py_with = need::stiffness_n_m_per_deg)] stiffness_n_m_per_deg: f64,
    #[pyo3(from_py_with = need::limit_deg)] limit_deg: f64,
    #[pyo3(from_py_with = need::u_stiffness)] u_stiffness: f64,
    #[pyo3(from_py_with = need::service_class)] service_class: f64,
) -> Result<PyStringing> {
    Ok(PyStringing(core::stringing(&load.0, stiffness_n_m_per_deg, u_stiffness, limit_deg, service_class)?))
}
