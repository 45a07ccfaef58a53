//! Twin of `stock`: a delivery of blanks graded and paired, and what it says of the next stick.

use std::path::PathBuf;

use bracewright::picture;
use bracewright::stock::{
    self as core, Delivery, Graded, Pairing, PriorsOf, SetAside, StockBlank, StockLimits, StockPair, StockPrior, StockPriors,
};
use pyo3::prelude::*;

use crate::argument::{may, need};
use crate::belief::PyUnknown;
use crate::blank::PyBlank;
use crate::convert::{read_text, word};
use crate::error::Result;
use crate::tap::{BENDINGS, PyDynamicOverStatic};
use crate::value::record;
use crate::wood::PyWood;

record! {
    /// A blank on the table: E along the grain with its uncertainty, density, and what was seen of its grain and heard of its
    /// damping. None where it was not looked at; a blank is not judged by what was not read.
    PyStockBlank, "StockBlank", StockBlank {
        /// Its name or number.
        name;
        /// Its species; may be empty.
        species;
        /// The lot it came in; may be empty.
        lot;
        /// E along the grain, GPa.
        modulus_gpa;
        /// Its standard uncertainty, GPa.
        u_gpa;
        /// Density, kg/m3.
        density_kg_m3;
        /// Its standard uncertainty, kg/m3.
        u_density_kg_m3;
        /// Slope of the grain, rise over length (1/15 for 1 in 15).
        run_out;
        /// Angle of the rings from upright, degrees.
        ring_angle_deg;
        /// Loss factor.
        loss_factor;
        /// Its standard uncertainty; 0 when there is none.
        u_loss_factor;
    }
}

#[pymethods]
impl PyStockBlank {
    #[new]
    #[pyo3(signature = (name, *, modulus_gpa, u_gpa, density_kg_m3, u_density_kg_m3=0.0, run_out=None, ring_angle_deg=None,
        loss_factor=None, u_loss_factor=0.0, species="", lot=""))]
    fn new(
        name: &str,
        #[pyo3(from_py_with = need::modulus_gpa)] modulus_gpa: f64,
        #[pyo3(from_py_with = need::u_gpa)] u_gpa: f64,
        #[pyo3(from_py_with = need::density_kg_m3)] density_kg_m3: f64,
        #[pyo3(from_py_with = need::u_density_kg_m3)] u_density_kg_m3: f64,
        #[pyo3(from_py_with = may::run_out)] run_out: Option<f64>,
        #[pyo3(from_py_with = may::ring_angle_deg)] ring_angle_deg: Option<f64>,
        #[pyo3(from_py_with = may::loss_factor)] loss_factor: Option<f64>,
        #[pyo3(from_py_with = need::u_loss_factor)] u_loss_factor: f64,
        species: &str,
        lot: &str,
    ) -> Result<Self> {
        let blank = StockBlank {
            name: name.into(),
            species: species.into(),
            lot: lot.into(),
            modulus_gpa,
            u_gpa,
            density_kg_m3,
            u_density_kg_m3,
            run_out,
            ring_angle_deg,
            loss_factor,
            u_loss_factor,
        };
        Ok(Self(blank.checked()?))
    }

    /// A Blank as it is believed to be, with a name.
    #[staticmethod]
    #[pyo3(signature = (name, blank, *, loss_factor=None))]
    fn of(name: &str, blank: &PyBlank, #[pyo3(from_py_with = may::loss_factor)] loss_factor: Option<f64>) -> Result<Self> {
        Ok(Self(StockBlank::of(name, &blank.0, loss_factor).checked()?))
    }
}

/// A delivery from a CSV file: name; length, width, height, mass and frequency of the first tap, or modulus and density with
/// u_modulus and u_density; where there are any species, lot, u_frequency, run_out (1/15 for 1 in 15), ring_angle, loss_factor,
/// u_loss_factor. Units in the headings, `;` and decimal comma read as well. ReadingsError names line and column.
///
/// A modulus from a tap is dynamic, with the ratio of G to E of `wood`, or of the published wood the column species names;
/// `bending` is the way all were tapped, "edge" or "flat". All blanks or none: read_delivery sets aside what cannot be graded.
#[pyfunction]
#[pyo3(signature = (path, *, wood=None, bending="edge"))]
pub fn read_stock(py: Python<'_>, path: PathBuf, wood: Option<&PyWood>, bending: &str) -> Result<Vec<PyStockBlank>> {
    let bending = word("bending", bending, &BENDINGS)?;
    let (place, text) = read_text(&path)?;
    let wood = wood.map(|w| &w.0);
    Ok(py.detach(|| core::stock_from_csv(&place, &text, wood, bending))?.into_iter().map(PyStockBlank).collect())
}

record! {
    /// A blank of a delivery that could not be put on the table.
    PySetAside, "SetAside", SetAside {
        /// Its name.
        name;
        /// Its line in the file, from 1.
        line;
        /// What it lacks, or what in it cannot be.
        problem;
    }
}

record! {
    /// A delivery as it was read. Made by read_delivery.
    PyDelivery, "Delivery", Delivery {
        /// The blanks that can be graded; at least one.
        blanks;
        /// The others, and why.
        set_aside;
        /// The same, as sentences.
        words;
    }
}

/// The same as read_stock, but blanks that lack a figure (one that was not tapped) and those whose figures cannot be (E outside
/// 0.3 to 2.5 times the wood's own, density outside half to twice) are set aside, with the reason in words. ReadingsError when
/// none is left.
#[pyfunction]
#[pyo3(signature = (path, *, wood=None, bending="edge"))]
pub fn read_delivery(py: Python<'_>, path: PathBuf, wood: Option<&PyWood>, bending: &str) -> Result<PyDelivery> {
    let bending = word("bending", bending, &BENDINGS)?;
    let (place, text) = read_text(&path)?;
    let wood = wood.map(|w| &w.0);
    Ok(PyDelivery(py.detach(|| core::delivery_from_csv(&place, &text, wood, bending))?))
}

record! {
    /// A blank and what became of it. Made by grade.
    PyGraded, "Graded", Graded {
        /// Its name.
        name;
        /// E over density, GPa per (g/cm3): higher is lighter for its stiffness.
        specific_modulus;
        /// Why it is put back, as words; empty when it is kept.
        reasons;
    }
}

fn blanks(given: &[PyRef<'_, PyStockBlank>]) -> Vec<StockBlank> {
    given.iter().map(|b| b.0.clone()).collect()
}

fn limits(
    run_out: Option<f64>,
    ring_angle_deg: Option<f64>,
    lowest_density_kg_m3: Option<f64>,
    highest_density_kg_m3: Option<f64>,
    lowest_modulus_gpa: Option<f64>,
    loss_factor: Option<f64>,
) -> StockLimits {
    StockLimits { run_out, ring_angle_deg, lowest_density_kg_m3, highest_density_kg_m3, lowest_modulus_gpa, loss_factor }
}

/// Every blank with the reasons to put it back, in the order given, by limits of your own; one left out is not applied. run_out:
/// steepest slope of grain kept (1/15 for 1 in 15); ring_angle_deg: largest angle of the rings from upright; loss_factor: the
/// largest kept.
#[pyfunction]
#[pyo3(signature = (blanks, *, run_out=None, ring_angle_deg=None, lowest_density_kg_m3=None, highest_density_kg_m3=None,
    lowest_modulus_gpa=None, loss_factor=None))]
pub fn grade(
    blanks: Vec<PyRef<'_, PyStockBlank>>,
    #[pyo3(from_py_with = may::run_out)] run_out: Option<f64>,
    #[pyo3(from_py_with = may::ring_angle_deg)] ring_angle_deg: Option<f64>,
    #[pyo3(from_py_with = may::lowest_density_kg_m3)] lowest_density_kg_m3: Option<f64>,
    #[pyo3(from_py_with = may::highest_density_kg_m3)] highest_density_kg_m3: Option<f64>,
    #[pyo3(from_py_with = may::lowest_modulus_gpa)] lowest_modulus_gpa: Option<f64>,
    #[pyo3(from_py_with = may::loss_factor)] loss_factor: Option<f64>,
) -> Result<Vec<PyGraded>> {
    let limits = limits(run_out, ring_angle_deg, lowest_density_kg_m3, highest_density_kg_m3, lowest_modulus_gpa, loss_factor);
    Ok(core::grade(&self::blanks(&blanks), &limits)?.into_iter().map(PyGraded).collect())
}

/// A graded delivery as SVG: density against E, rings kept, crosses put back, pairs joined; the limits of density and modulus
/// are drawn where they are given. `graded` is what grade made of the same blanks.
#[pyfunction]
#[pyo3(signature = (blanks, graded, *, pairing=None, lowest_density_kg_m3=None, highest_density_kg_m3=None,
    lowest_modulus_gpa=None))]
pub fn stock_svg(
    blanks: Vec<PyRef<'_, PyStockBlank>>,
    graded: Vec<PyRef<'_, PyGraded>>,
    pairing: Option<&PyPairing>,
    #[pyo3(from_py_with = may::lowest_density_kg_m3)] lowest_density_kg_m3: Option<f64>,
    #[pyo3(from_py_with = may::highest_density_kg_m3)] highest_density_kg_m3: Option<f64>,
    #[pyo3(from_py_with = may::lowest_modulus_gpa)] lowest_modulus_gpa: Option<f64>,
) -> Result<String> {
    let limits = limits(None, None, lowest_density_kg_m3, highest_density_kg_m3, lowest_modulus_gpa, None);
    let graded: Vec<Graded> = graded.iter().map(|g| g.0.clone()).collect();
    Ok(picture::stock_svg(&self::blanks(&blanks), &graded, &limits, pairing.map(|p| &p.0))?)
}

record! {
    /// Two blanks for a pair of legs.
    PyStockPair, "StockPair", StockPair {
        /// The stiffer one.
        stiffer;
        /// The softer one.
        softer;
        /// ln of the ratio of their moduli, percent.
        mismatch_percent;
        /// Its standard uncertainty, percent.
        u_percent;
        /// Height of the softer leg over that of the stiffer for the same stiffness.
        height_ratio;
        /// The standard uncertainty of that ratio.
        u_height_ratio;
    }
}

record! {
    /// The pairs of a delivery. Made by best_pairs.
    PyPairing, "Pairing", Pairing {
        /// Pairs, the best matched first.
        pairs;
        /// Blanks without a partner.
        left_over;
    }
}

/// The pairs of legs whose mismatches of E add up to the least possible; as many as there can be when `pairs` is None. exponent
/// 1 to 4: how stiffness goes with height, 3 for a stick alone, 2 to 2.5 glued to a top. Grade first: what is put back is not
/// to be paired.
#[pyfunction]
#[pyo3(signature = (blanks, *, exponent, pairs=None))]
pub fn best_pairs(
    py: Python<'_>,
    blanks: Vec<PyRef<'_, PyStockBlank>>,
    #[pyo3(from_py_with = need::exponent)] exponent: f64,
    #[pyo3(from_py_with = may::pairs)] pairs: Option<usize>,
) -> Result<PyPairing> {
    let blanks = self::blanks(&blanks);
    Ok(PyPairing(py.detach(|| core::best_pairs(&blanks, pairs, exponent))?))
}

/// Height over the other leg's that makes up for a modulus modulus_ratio times the other's: modulus_ratio^(-1/exponent).
/// exponent 1 to 4: 3 for a stick alone; glued to a top it is 2 to 2.5, which you state.
#[pyfunction]
#[pyo3(signature = (modulus_ratio, *, exponent))]
pub fn height_ratio(
    #[pyo3(from_py_with = need::modulus_ratio)] modulus_ratio: f64,
    #[pyo3(from_py_with = need::exponent)] exponent: f64,
) -> Result<f64> {
    Ok(core::height_ratio(modulus_ratio, exponent)?)
}

/// How many blanks to buy so that `needed` good ones (1 to 1000) are among them with a chance of at least `confidence` (0.5 to
/// 0.9999), when each is put back with the chance reject_chance (0 to 0.95).
#[pyfunction]
#[pyo3(signature = (needed, *, reject_chance, confidence=0.95))]
pub fn blanks_to_buy(
    #[pyo3(from_py_with = need::needed)] needed: usize,
    #[pyo3(from_py_with = need::reject_chance)] reject_chance: f64,
    #[pyo3(from_py_with = need::confidence)] confidence: f64,
) -> Result<usize> {
    Ok(core::blanks_to_buy(needed, reject_chance, confidence)?)
}

record! {
    /// One quantity of a lot: its middle, and how it spreads from stick to stick once the uncertainty of the readings is out.
    PyStockPrior, "StockPrior", StockPrior {
        /// What it is, with its unit: modulus_gpa, density_kg_m3 or loss_factor.
        quantity;
        /// Sticks read.
        count;
        /// Middle (geometric mean, each stick by its weight), in the unit of the quantity.
        median;
        /// Its standard uncertainty, in the same unit.
        u_median;
        /// Standard deviation of the logarithm from stick to stick (0.1 reads "10 %"); 0 when the readings alone explain the
        /// scatter, None with one stick.
        spread;
        /// 90 % interval of that.
        spread_90;
        /// Standard deviation of the logarithms as they were read.
        seen_spread;
        /// Relative standard uncertainty of one reading.
        u_reading;
    }
}

#[pymethods]
impl PyStockPrior {
    /// What is believed of the next stick of the lot, to hand to a Belief. Needs 4 sticks or more.
    fn next_stick(&self) -> Result<PyUnknown> {
        Ok(PyUnknown(self.0.next_stick()?))
    }
}

record! {
    /// What a lot, or a species, says of its wood. Made by stock_priors.
    PyStockPriors, "StockPriors", StockPriors {
        /// The lot or the species; "all" for all.
        of;
        /// E along the grain, GPa, as it was read: dynamic when it was tapped.
        modulus_gpa;
        /// Density, kg/m3.
        density_kg_m3;
        /// Loss factor, of the sticks where it was read; None where there are none.
        loss_factor;
        /// The same, as sentences.
        words;
    }
}

#[pymethods]
impl PyStockPriors {
    /// A wood with the lot's density and modulus, and what they spread, in place of those of `wood`: the prior of a blank of the
    /// lot that has not been read. `factor` turns a tapped modulus into the static one a dial would read. The figures hold at
    /// the moisture the sticks were read at. Needs 4 sticks or more.
    #[pyo3(signature = (wood, *, factor=None))]
    fn wood(&self, wood: &PyWood, factor: Option<&PyDynamicOverStatic>) -> Result<PyWood> {
        Ok(PyWood(self.0.wood(&wood.0, factor.map(|f| &f.0))?))
    }
}

/// Middle and spread of E, density and loss factor, of "all", each "lot" or each "species", in the order of first appearance.
/// One-way random effects on the logarithms: what the stated uncertainty of the readings explains is taken out of the spread.
#[pyfunction]
#[pyo3(signature = (blanks, *, of="lot"))]
pub fn stock_priors(blanks: Vec<PyRef<'_, PyStockBlank>>, of: &str) -> Result<Vec<PyStockPriors>> {
    let of = word("of", of, &[("all", PriorsOf::All), ("lot", PriorsOf::Lot), ("species", PriorsOf::Species)])?;
    Ok(core::stock_priors(&self::blanks(&blanks), of)?.into_iter().map(PyStockPriors).collect())
}
