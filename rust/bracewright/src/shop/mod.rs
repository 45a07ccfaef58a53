//! The virtual shop: braces of hidden, uneven wood, tools and hands that err, and a policy run over thousands of them.
//!
//! The truth is the depth-resolved brace with all that [`ShopSettings`] hide; what a [`Policy`] sees is the dial and the pan.
//! Every brace has its own random numbers from the seed and its number, so a run is the same to the bit on any number of cores.

mod brace;
mod policy;
mod settings;
mod stations;
mod ways;
mod words;

use rayon::prelude::*;
use serde::{Deserialize, Serialize};

pub use policy::{BookHeight, ByChance, Maker, Policy, StraightAtTarget, Turn};
pub use settings::ShopSettings;
pub use ways::{ChanceRule, Way};
pub use words::table;

use crate::advice::Window;
use crate::carve::Plan;
use crate::error::{Error, Result};
use crate::rig::Rig;
use brace::{HiddenBrace, Scene};

/// Most braces of one run.
pub const MOST_BRACES: usize = 1_000_000;

/// How one brace ended.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Ended {
    /// Young's modulus of the stick, mean along it, GPa.
    pub modulus_gpa: f64,
    /// Its own deflection before anything was carved, mm.
    pub first_mm: f64,
    /// Its own deflection at the end, mm.
    pub deflection_mm: f64,
    /// Passes carved.
    pub passes: usize,
    /// What came off, g.
    pub grams_off: f64,
    /// True when the maker gave up after the most passes a shop allows.
    pub gave_up: bool,
}

/// A run: every brace's end, and the shares.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ShopRun {
    /// Every brace.
    pub braces: Vec<Ended>,
    /// Share past the window: too soft for good.
    pub too_soft: f64,
    /// Share in the window.
    pub in_window: f64,
    /// Share short of it.
    pub too_stiff: f64,
    /// Passes on average.
    pub passes: f64,
    /// Grams off on average.
    pub grams_off: f64,
    /// The window, mm, on the brace's own deflection.
    pub window: Window,
}

/// Runs a policy over `count` braces of the shop, each carved along `plan` and read on `rig`; `window` is on the brace's own
/// deflection, the give of the supports left out.
pub fn run(
    plan: &Plan,
    rig: &Rig,
    window: &Window,
    settings: &ShopSettings,
    policy: &dyn Policy,
    count: usize,
    seed: u64,
) -> Result<ShopRun> {
    let settings = settings.clone().checked()?;
    window.check()?;
    if !(1..=MOST_BRACES).contains(&count) {
        return Err(Error::OutOfRange {
            quantity: "count".into(),
            value: count as f64,
            unit: "",
            allowed: format!("from 1 to {MOST_BRACES}"),
        });
    }
    let scene = Scene::new(plan, rig, &settings)?;
    let braces =
        (0..count as u64).into_par_iter().map(|number| one(&scene, policy, seed, number)).collect::<Result<Vec<Ended>>>()?;
    let share = |of: &dyn Fn(&Ended) -> bool| braces.iter().filter(|b| of(b)).count() as f64 / count as f64;
    let mean = |of: &dyn Fn(&Ended) -> f64| braces.iter().map(of).sum::<f64>() / count as f64;
    Ok(ShopRun {
        too_soft: share(&|b| b.deflection_mm > window.high_mm),
        in_window: share(&|b| (window.low_mm..=window.high_mm).contains(&b.deflection_mm)),
        too_stiff: share(&|b| b.deflection_mm < window.low_mm),
        passes: mean(&|b| b.passes as f64),
        grams_off: mean(&|b| b.grams_off),
        window: *window,
        braces,
    })
}

fn one(scene: &Scene, policy: &dyn Policy, seed: u64, number: u64) -> Result<Ended> {
    let settings = scene.settings;
    let mut brace = HiddenBrace::new(scene, seed, number)?;
    let mut maker = policy.maker();
    let u_mm = settings.u_dial_mm();
    let first_mm = brace.own_mm()?;
    let (mut own, mut passes, mut aimed_mm, mut shavings_g, mut grams_off) = (first_mm, 0, None, None, 0.0);
    let gave_up = loop {
        let turn = Turn { passes, aimed_mm, reading_mm: brace.read_mm(own), u_mm, shavings_g };
        let Some(aim) = maker.next(&turn).filter(|a| *a > 0.0 && a.is_finite()) else { break false };
        if passes == settings.most_passes {
            break true;
        }
        let (pan, off) = brace.carve(aim)?;
        (aimed_mm, shavings_g) = (Some(aim), Some(pan));
        grams_off += off;
        passes += 1;
        own = brace.own_mm()?;
    };
    Ok(Ended { modulus_gpa: brace.modulus_gpa(), first_mm, deflection_mm: own, passes, grams_off, gave_up })
}
