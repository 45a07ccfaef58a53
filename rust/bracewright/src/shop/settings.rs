//! What is hidden in the virtual shop, and how its tools err.

use serde::{Deserialize, Serialize};

use crate::error::{Result, within};
use crate::fit::Beam;

/// The shop: wood, rig, hand, scale and climate. Spreads are standard deviations, relative where no unit is named.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ShopSettings {
    /// Modulus between sticks.
    pub modulus_between: f64,
    /// Modulus along a brace.
    pub modulus_along: f64,
    /// Length over which it varies, mm: shortest and longest, one drawn for each brace.
    pub modulus_length_mm: (f64, f64),
    /// Shear over Young's modulus: least and greatest.
    pub shear_ratio: (f64, f64),
    /// Modulus across the grain over that along it: least and greatest.
    pub across_ratio: (f64, f64),
    /// Slope of the grain of a brace in the side view, rise over length.
    pub run_out: f64,
    /// Knots a brace on average; each turns the grain about it.
    pub knots: f64,
    /// Slope of the grain beside a knot.
    pub knot_run_out: f64,
    /// Length of brace a knot spoils, mm.
    pub knot_length_mm: f64,
    /// Density between sticks.
    pub density_between: f64,
    /// Give of the supports, mm/N: least and greatest, one drawn for each brace.
    pub give_mm_per_n: (f64, f64),
    /// Spread of the dial on one seat, mm.
    pub dial_repeat_mm: f64,
    /// Spread from seating again, mm.
    pub reseat_mm: f64,
    /// Step of the dial, mm.
    pub dial_step_mm: f64,
    /// Readings in one seat, their mean taken.
    pub readings: u32,
    /// Moisture between readings, percent.
    pub moisture_percent: f64,
    /// What a hand takes beyond its aim, as a part of it.
    pub hand_bias: f64,
    /// Its spread between makers.
    pub hand_between: f64,
    /// Scatter of the layer along the brace.
    pub hand_scatter: f64,
    /// Length over which it holds together, mm.
    pub hand_length_mm: f64,
    /// Scatter of a whole pass, as a part of it.
    pub hand_pass: f64,
    /// Scatter of a whole pass, mm.
    pub hand_mm: f64,
    /// Step of the scale, g.
    pub scale_step_g: f64,
    /// Part of the shavings lost.
    pub shavings_lost: f64,
    /// Most passes before a maker gives up.
    pub most_passes: usize,
    /// Which beam is the truth: the depth-resolved one, or the section beam, which is quicker and knows no stress flow.
    pub beam: Beam,
}

impl Default for ShopSettings {
    /// A shop of an invented but usual kind: sticks of one species differ by 12 %, 4 % along a brace over 60 to 100 mm, shear
    /// ratio 0.045 to 0.08, across 0.035 to 0.06, no knots; give up to 0.002 mm/N, a dial of 0.01 mm; a hand that takes 5 % too
    /// much, 8 % between makers, 12 % along the layer over 30 mm (common practice, no source).
    fn default() -> Self {
        Self {
            modulus_between: 0.12,
            modulus_along: 0.04,
            modulus_length_mm: (60.0, 100.0),
            shear_ratio: (0.045, 0.08),
            across_ratio: (0.035, 0.06),
            run_out: 0.0,
            knots: 0.0,
            knot_run_out: 0.2,
            knot_length_mm: 12.0,
            density_between: 0.06,
            give_mm_per_n: (0.0, 0.002),
            dial_repeat_mm: 0.006,
            reseat_mm: 0.004,
            dial_step_mm: 0.01,
            readings: 3,
            moisture_percent: 0.3,
            hand_bias: 0.05,
            hand_between: 0.08,
            hand_scatter: 0.12,
            hand_length_mm: 30.0,
            hand_pass: 0.0,
            hand_mm: 0.0,
            scale_step_g: 0.01,
            shavings_lost: 0.03,
            most_passes: 12,
            beam: Beam::Resolved,
        }
    }
}

impl ShopSettings {
    /// The same shop with a coarse hand: 20 % and 0.2 mm a pass.
    pub fn with_coarse_hand(self) -> Self {
        Self { hand_pass: 0.20, hand_mm: 0.2, ..self }
    }

    /// Itself, unless a figure is what none can be.
    pub fn checked(self) -> Result<Self> {
        for (name, value, most) in [
            ("modulus_between", self.modulus_between, 0.5),
            ("modulus_along", self.modulus_along, 0.3),
            ("run_out", self.run_out, 0.5),
            ("knot_run_out", self.knot_run_out, 1.0),
            ("density_between", self.density_between, 0.3),
            ("hand_between", self.hand_between, 0.5),
            ("hand_scatter", self.hand_scatter, 0.5),
            ("hand_pass", self.hand_pass, 0.5),
            ("shavings_lost", self.shavings_lost, 0.5),
        ] {
            within(name, value, "", 0.0, most)?;
        }
        within("hand_bias", self.hand_bias, "", -0.5, 1.0)?;
        within("knots", self.knots, "", 0.0, 20.0)?;
        within("readings", f64::from(self.readings), "", 1.0, 100.0)?;
        within("most_passes", self.most_passes as f64, "", 1.0, 100.0)?;
        for (name, value, least, most) in [
            ("modulus_length_mm", self.modulus_length_mm.0, 5.0, 2000.0),
            ("modulus_length_mm", self.modulus_length_mm.1, self.modulus_length_mm.0, 2000.0),
            ("knot_length_mm", self.knot_length_mm, 1.0, 100.0),
            ("dial_repeat_mm", self.dial_repeat_mm, 0.0, 1.0),
            ("reseat_mm", self.reseat_mm, 0.0, 1.0),
            ("dial_step_mm", self.dial_step_mm, 0.0, 1.0),
            ("hand_length_mm", self.hand_length_mm, 5.0, 2000.0),
            ("hand_mm", self.hand_mm, 0.0, 3.0),
        ] {
            within(name, value, "mm", least, most)?;
        }
        within("shear_ratio", self.shear_ratio.0, "", 0.01, 0.3)?;
        within("shear_ratio", self.shear_ratio.1, "", self.shear_ratio.0, 0.3)?;
        within("across_ratio", self.across_ratio.0, "", 0.01, 0.3)?;
        within("across_ratio", self.across_ratio.1, "", self.across_ratio.0, 0.3)?;
        within("give_mm_per_n", self.give_mm_per_n.0, "mm/N", 0.0, 1.0)?;
        within("give_mm_per_n", self.give_mm_per_n.1, "mm/N", self.give_mm_per_n.0, 1.0)?;
        within("moisture_percent", self.moisture_percent, "%", 0.0, 5.0)?;
        within("scale_step_g", self.scale_step_g, "g", 0.0, 10.0)?;
        Ok(self)
    }

    /// Standard uncertainty of one reading as the maker reckons it, mm: repeats in one seat, re-seating, the dial's step.
    pub fn u_dial_mm(&self) -> f64 {
        let repeat = self.dial_repeat_mm * self.dial_repeat_mm / f64::from(self.readings);
        (repeat + self.reseat_mm * self.reseat_mm + self.dial_step_mm * self.dial_step_mm / 12.0).sqrt().max(1e-6)
    }
}
