//! Twin of `tap`: damping, a small mass stuck on, and the closed forms of ASTM E1876.

use bracewright::tap::{self as core, AddedMass, Loss, ModalEstimate};
use pyo3::prelude::*;

use crate::argument::need;
use crate::error::Result;
use crate::tap::heard;
use crate::value::{getters, record};

record! {
    /// Loss factor of a mode: Loss.from_mode, or one of the loss_factor_from_... functions.
    PyLoss, "Loss", Loss {
        /// Loss factor, 1/Q.
        loss_factor;
        /// Its standard uncertainty.
        u_loss_factor;
    }
}

getters! { PyLoss {
    /// Quality factor Q.
    q;
}}

#[pymethods]
impl PyLoss {
    /// From a mode of a recording (a Mode of one tap, or a CombinedMode of several), with the uncertainty it carries.
    #[staticmethod]
    fn from_mode(heard: &Bound<'_, PyAny>) -> Result<Self> {
        let (loss_factor, u_loss_factor) = self::heard("heard", heard)?.loss_factor;
        Ok(Self(Loss { loss_factor, u_loss_factor }))
    }
}

/// The loss factor from the time in which the level falls by 60 dB: ln(1000) / (pi f T60), which is 2.2 / (f T60).
#[pyfunction]
#[pyo3(signature = (frequency_hz, decay_60_db_s, *, u_decay_60_db_s=0.0))]
pub fn loss_factor_from_decay_time(
    #[pyo3(from_py_with = need::frequency_hz)] frequency_hz: f64,
    #[pyo3(from_py_with = need::decay_60_db_s)] decay_60_db_s: f64,
    #[pyo3(from_py_with = need::u_decay_60_db_s)] u_decay_60_db_s: f64,
) -> Result<PyLoss> {
    Ok(PyLoss(core::loss_factor_from_decay_time(frequency_hz, decay_60_db_s, u_decay_60_db_s)?))
}

/// The loss factor from the width of the peak 3 dB below its top: width over frequency.
#[pyfunction]
#[pyo3(signature = (frequency_hz, bandwidth_hz, *, u_bandwidth_hz=0.0))]
pub fn loss_factor_from_bandwidth(
    #[pyo3(from_py_with = need::frequency_hz)] frequency_hz: f64,
    #[pyo3(from_py_with = need::bandwidth_hz)] bandwidth_hz: f64,
    #[pyo3(from_py_with = need::u_bandwidth_hz)] u_bandwidth_hz: f64,
) -> Result<PyLoss> {
    Ok(PyLoss(core::loss_factor_from_bandwidth(frequency_hz, bandwidth_hz, u_bandwidth_hz)?))
}

/// The loss factor from the logarithmic decrement of one cycle.
#[pyfunction]
#[pyo3(signature = (decrement, *, u_decrement=0.0))]
pub fn loss_factor_from_decrement(
    #[pyo3(from_py_with = need::decrement)] decrement: f64,
    #[pyo3(from_py_with = need::u_decrement)] u_decrement: f64,
) -> Result<PyLoss> {
    Ok(PyLoss(core::loss_factor_from_decrement(decrement, u_decrement)?))
}

record! {
    /// What one mode does at the place of an added mass. Made by AddedMass.modal.
    PyModalEstimate, "ModalEstimate", ModalEstimate {
        /// Modal mass at the place, g.
        mass_g;
        /// Its standard uncertainty, g.
        u_mass_g;
        /// Modal stiffness at the place, N/mm.
        stiffness_n_per_mm;
        /// Its standard uncertainty, N/mm.
        u_stiffness_n_per_mm;
        /// Shares of the relative uncertainty of the modal mass, largest first.
        budget;
        /// What to know of the answer, as sentences; empty when there is nothing.
        cautions;
    }
}

record! {
    /// The frequency of a mode without and with a small mass stuck on at a point.
    PyAddedMass, "AddedMass", AddedMass {
        /// The mass, g.
        mass_g;
        /// Its standard uncertainty, g.
        u_mass_g;
        /// Frequency without it, Hz.
        before_hz;
        /// Its standard uncertainty, Hz.
        u_before_hz;
        /// Frequency with it, Hz.
        after_hz;
        /// Its standard uncertainty, Hz.
        u_after_hz;
    }
}

#[pymethods]
impl PyAddedMass {
    #[new]
    #[pyo3(signature = (mass_g, *, before_hz, after_hz, u_before_hz, u_after_hz, u_mass_g=0.01))]
    fn new(
        #[pyo3(from_py_with = need::mass_g)] mass_g: f64,
        #[pyo3(from_py_with = need::before_hz)] before_hz: f64,
        #[pyo3(from_py_with = need::after_hz)] after_hz: f64,
        #[pyo3(from_py_with = need::u_before_hz)] u_before_hz: f64,
        #[pyo3(from_py_with = need::u_after_hz)] u_after_hz: f64,
        #[pyo3(from_py_with = need::u_mass_g)] u_mass_g: f64,
    ) -> Result<Self> {
        Ok(Self(AddedMass { mass_g, u_mass_g, before_hz, u_before_hz, after_hz, u_after_hz }.checked()?))
    }

    /// From the same mode of two recordings (each a Mode of one tap, or a CombinedMode of several).
    #[staticmethod]
    #[pyo3(signature = (before, after, *, mass_g, u_mass_g=0.01))]
    fn from_modes(
        before: &Bound<'_, PyAny>,
        after: &Bound<'_, PyAny>,
        #[pyo3(from_py_with = need::mass_g)] mass_g: f64,
        #[pyo3(from_py_with = need::u_mass_g)] u_mass_g: f64,
    ) -> Result<Self> {
        let (before_hz, u_before_hz) = heard("before", before)?.frequency_hz;
        let (after_hz, u_after_hz) = heard("after", after)?.frequency_hz;
        Ok(Self(AddedMass { mass_g, u_mass_g, before_hz, u_before_hz, after_hz, u_after_hz }.checked()?))
    }

    /// Modal mass and stiffness at the place of the mass, m f1^2 / (f0^2 - f1^2) and (2 pi f0)^2 of it; exact for a part with
    /// one mode, so the mass should be small and the shift still many times its uncertainty.
    fn modal(&self) -> Result<PyModalEstimate> {
        Ok(PyModalEstimate(self.0.modal()?))
    }
}

/// T1 of ASTM E1876, section 9 (from memory): what thickness and Poisson ratio add for an isotropic bar in flexure.
/// thickness_over_length 0 to 0.5, poisson 0 to 0.5.
#[pyfunction]
#[pyo3(signature = (thickness_over_length, *, poisson=0.3))]
pub fn e1876_shape_factor(
    #[pyo3(from_py_with = need::thickness_over_length)] thickness_over_length: f64,
    #[pyo3(from_py_with = need::poisson)] poisson: f64,
) -> Result<f64> {
    Ok(core::e1876_shape_factor(thickness_over_length, poisson)?)
}

/// E of an isotropic rectangular bar from its first flexural frequency, GPa (ASTM E1876, section 9, from memory).
/// thickness_mm is the side in the direction of bending, at most half the length. For wood StickTap is the better answer.
#[pyfunction]
#[pyo3(signature = (*, mass_g, frequency_hz, length_mm, width_mm, thickness_mm, poisson=0.3))]
pub fn e1876_modulus_gpa(
    #[pyo3(from_py_with = need::mass_g)] mass_g: f64,
    #[pyo3(from_py_with = need::frequency_hz)] frequency_hz: f64,
    #[pyo3(from_py_with = need::length_mm)] length_mm: f64,
    #[pyo3(from_py_with = need::width_mm)] width_mm: f64,
    #[pyo3(from_py_with = need::thickness_mm)] thickness_mm: f64,
    #[pyo3(from_py_with = need::poisson)] poisson: f64,
) -> Result<f64> {
    Ok(core::e1876_modulus_gpa(mass_g, frequency_hz, length_mm, width_mm, thickness_mm, poisson)?)
}

/// A and B of the torsion formula of ASTM E1876 (from memory) for width over thickness, 1 to 20.
#[pyfunction]
pub fn e1876_torsion_factors(#[pyo3(from_py_with = need::width_over_thickness)] width_over_thickness: f64) -> Result<(f64, f64)> {
    Ok(core::e1876_torsion_factors(width_over_thickness)?)
}

/// G of an isotropic rectangular bar from its first torsional frequency, GPa (ASTM E1876, section 9, from memory).
#[pyfunction]
#[pyo3(signature = (*, mass_g, frequency_hz, length_mm, width_mm, thickness_mm))]
pub fn e1876_shear_modulus_gpa(
    #[pyo3(from_py_with = need::mass_g)] mass_g: f64,
    #[pyo3(from_py_with = need::frequency_hz)] frequency_hz: f64,
    #[pyo3(from_py_with = need::length_mm)] length_mm: f64,
    #[pyo3(from_py_with = need::width_mm)] width_mm: f64,
    #[pyo3(from_py_with = need::thickness_mm)] thickness_mm: f64,
) -> Result<f64> {
    Ok(core::e1876_shear_modulus_gpa(mass_g, frequency_hz, length_mm, width_mm, thickness_mm)?)
}
