//! The Python face of bracewright: convert, call one core function, convert back.
//!
//! A file here is the twin of the core file of the same name, which may stand in a folder there (`bend` in brace/,
//! `moisture` in wood/, `reading` in rig/, `response` in belief/, `sound`, `repeats` and `measures` in recording/, `plate`
//! and `loss` in tap/, `fused` and `rest` in combine/, `places`, `repair` and `rough` in decide/, `bridge` in strings/, `strength` in wood/,
//! `outline`, `place` and `pattern` in layout/);
//! `argument`, `convert`, `error` and `value` are what all twins share. Its classes are frozen one-field wrappers of the
//! core's values. To add one: a struct with public fields is a `record!` with a line of help for each; any other type is a
//! `#[pyclass(frozen, eq)]` newtype with `value!` (pickle, copies) and `getters!`. Measured arguments are converted by
//! `from_py_with = need::length_mm` and its like (argument.rs), arrays by `MM.list("x_mm", x_mm)`; long work runs in
//! `py.detach`. Then name it in the module below, in `_core.pyi`, in `__init__.py` and among the values of
//! tests/test_values.py.

mod argument;
mod convert;
mod error;
mod units;
mod value;

mod moisture;
mod wood;

mod bend;
mod blank;
mod brace;
mod profile;
mod section;

mod carve;
mod goal;
mod reading;
mod rig;

mod advice;
mod belief;
mod decide;
mod places;
mod repair;
mod response;
mod rough;

mod bench;
mod fit;
mod many;
mod shop;

mod combine;
mod fused;
mod rest;

mod measures;
mod recording;
mod repeats;
mod roving;
mod sound;
mod universal;

mod loss;
mod plate;
mod stock;
mod tap;
mod top;

mod layout;
mod outline;
mod pattern;
mod place;

mod body;

mod bridge;
mod cautions;
mod humidity;
mod strength;
mod strings;
mod strip;
mod years;

#[pyo3::pymodule]
mod _core {
    #[pymodule_export]
    use super::{
        advice::{PyAdvice, PyCosts, PyEstimate, PyPosterior, PyRule, PyWindow, alpha_from_costs, d_max_closed_form},
        belief::{PyBelief, PyGauge, PyHand, PyLinear, PyUnknown},
        bench::{PyBench, PyEntry, PyNextStep},
        bend::{PyBend, PyFrequencies, PyLoad, PySupport, PyWorking},
        blank::PyBlank,
        body::{
            PyBodyAir, PyBodyChange, PyBodyEstimate, PyBodyMobility, PyBodyMode, PyBodyPlate, PyBodyReading, PyBodyTaps,
            PyCoupledBody,
        },
        brace::{PyAlongBrace, PyBrace, PyDrawn},
        bridge::{
            PyBraceMoment, PyBridge, PyBridgeLoad, PyCoupleShares, PyRotationTest, PySetSwap, PyStageAnswer, PyStringing,
            PyStringingStage, bridge_rotation_deg, couple_on_braces, stringing, swap_strings,
        },
        carve::{PyPass, PyPlan, PySensitivity, plan_passes, readings_svg},
        cautions::cautions,
        combine::{
            PyBudget, PyBudgetLine, PyClimate, PyCorrected, PyRepeated, PyRobustMean, PySuspect, coverage_factor, modified_z,
            repeated, robust_mean, to_reference,
        },
        decide::{PyDecision, PyKnownHand, PyWhatToMeasure, PyWorth},
        fit::{PyCopyReport, PyFitReport, PyReadingsFit, carve_to, copy_stiffness, fit_readings, section_dimension_for},
        fused::{PyFused, PyMethod, PyMethodPair, fuse},
        goal::PyGoal,
        humidity::{
            PyArchChange, PyArchStrip, PyBraceEnd, PyEndLift, PyGluingGate, PySeason, bimaterial_curvature_per_m,
            crack_stress_mpa, glue_gate, season,
        },
        layout::{PyLayout, PyLayoutLimits, PyLayoutReport, PyLayoutRow, PyLegAtBridge},
        loss::{
            PyAddedMass, PyLoss, PyModalEstimate, e1876_modulus_gpa, e1876_shape_factor, e1876_shear_modulus_gpa,
            e1876_torsion_factors, loss_factor_from_bandwidth, loss_factor_from_decay_time, loss_factor_from_decrement,
        },
        many::{PyAlongMany, PyLot, PyManyPasses, PyTolerance, threads, tolerance},
        measures::{PyBand, PyBandDecay, PyNoteLevel, amplitude_per_impulse, band_balance, band_decays, bands, level_balance},
        moisture::{
            at_moisture, combined_slope, density_from_specific_gravity, emc_percent, hankinson, modulus_temperature_factor,
            rh_for_emc_percent, shear_free_factor, slope_of_grain_factor, strength_temperature_factor,
        },
        outline::{PyOutline, PyPlateThickness, PySoundHole},
        pattern::{PyPattern, fan_pattern, x_pattern},
        place::{PyCrossing, PyEnding, PyLapAt, PyPlacedBrace, PyPlacedBridge, PyPlatePart},
        places::{PyGoalAhead, PyPlace, PyPlaceWorth, PyWhereToCut, where_to_cut},
        plate::{
            PyBarePlate, PyLabelGuess, PyLabelledMode, PyPlateEstimate, PyPlateModeHz, PyPlateModulus, PyPlateReading,
            PyPlateTapAdvice,
        },
        profile::{PyProfile, PyScallop, PyShapeChecks},
        reading::{
            PyExpected, PyModulusEstimate, PyReading, PyReadingGroup, PyReadingRow, PySeatReadings, PyShare, group_readings,
            read_readings,
        },
        recording::{
            PyMode, PyRecordedTap, PyRecordingModes, PySteadyTone, PyTap, PyTapModes, find_taps, many_recordings,
            recording_modes, tap_modes, tap_spectrum,
        },
        repair::{PyRemedied, PyRemedy, PyRepair, repairs},
        repeats::{PyCombined, PyCombinedMode, PyComparison, PyShift, combined, compared},
        response::{PyProportionalCurve, PyStiffnessTable},
        rest::{PyGlueWater, PyRestReport, PyWeighings, glue_water, read_weighings, rest},
        rig::{PyBar, PyCalibration, PyRig},
        rough::{PyRoughCarving, PyRoughGrade, PyRoughPlan, rough_carve},
        roving::{PyFrf, PyFrfSet, PyRovingModes, PyShapeMode, frf, mac, roving_decays, roving_frfs},
        section::{PySection, PySectionNumbers},
        shop::{PyChanceRule, PyEnded, PyShopRun, PyShopSettings, PyTurn, PyWay, shop_table, virtual_shop},
        sound::{PySound, PySoundChecks},
        stock::{
            PyDelivery, PyGraded, PyPairing, PySetAside, PyStockBlank, PyStockPair, PyStockPrior, PyStockPriors, best_pairs,
            blanks_to_buy, grade, height_ratio, read_delivery, read_stock, stock_priors, stock_svg,
        },
        strength::{duration_of_load_factor, k_def, k_mod, size_factor},
        strings::{PyGuitarString, PyStringSet, PyStringTension, PyTensions, note_hz, tension_n},
        strip::{
            PyEffectiveWidths, PyGluedBend, PyGluedSection, PyHalfLaps, PyLap, PyLearnedWidth, PyMargins, PySprung, PyStrip,
            arc_radius_mm, arc_rise_mm, dish_curvature_per_m, effective_widths, half_laps,
        },
        tap::{
            PyDynamicOverStatic, PyFoam, PyLengthwiseEstimate, PyLengthwiseTap, PyPickup, PyStaticModulus, PyStickEstimate,
            PyStickTap, PyTapReading, PyTapShare,
        },
        top::{PyBraceShave, PyMeshReport, PyPlateShave, PyShaving, PyTop, PyTopLoad, PyTopModes, PyTopUnder},
        units::{PyInches64, inches_64, parse_force_n, parse_frequency_hz, parse_length_mm, parse_mass_g},
        universal::{PyUniversal, PyUniversalFunction, PyUniversalNode, PyUniversalUnits, read_universal},
        wood::{PyFigure, PyPlaneStiffness, PyWood},
        years::{
            PyActionChange, PyCreepOutlook, PyRotationTrend, PyTrendPoint, action_change, creep_outlook, creep_ratio,
            rotation_trend,
        },
    };
}
