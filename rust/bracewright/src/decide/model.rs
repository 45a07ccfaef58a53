//! What a state would show on dial, scale, callipers and to a tap, with slopes in everything not known.

use super::known::{BEFORE, DENSITY, DRIFT, DYNAMIC, GIVE, Known, LAST, LOST, MODEL, MODULUS, N, RATIO, REST, State};
use super::look::Look;
use crate::error::{Error, Result};

/// What moisture adds to the mass over what it adds to the compliance, both relative: a percent of water is 0.9 % of the mass
/// at 8 % and 1.8 % of the compliance (Wood Handbook Eq. 5-3, from memory).
const MASS_BY_DRIFT: f64 = 0.5;

impl Known {
    fn depth_of(&self, x: &State) -> f64 {
        self.aimed_mm.1 + x[BEFORE] + x[LAST]
    }

    /// Mass left at the curves' density, g, and its slopes in what was taken beyond the aims.
    fn mass_left(&self, x: &State) -> (f64, f64, f64) {
        let m = &self.pass_mass;
        (m.now_g + m.by_before * x[BEFORE] + m.by_last * x[LAST], m.by_before, m.by_last)
    }

    /// Logarithm of the brace's own deflection under the rig's load, mm, and its slopes.
    pub(super) fn ln_own(&self, x: &State) -> (f64, State) {
        let (c, by_ratio) = self.pass.ln_compliance(x[RATIO]);
        let (slipped, by_before, by_last) = self.pass.slipped(x[BEFORE], x[LAST]);
        let mut slope = [0.0; N];
        (slope[MODULUS], slope[MODEL], slope[RATIO]) = (-1.0, 1.0, by_ratio);
        (slope[BEFORE], slope[LAST]) = (by_before, by_last);
        (self.curves.load_n().ln() + c + slipped - x[MODULUS] + x[MODEL], slope)
    }

    /// What the dial shows, mm, and its slopes.
    pub(super) fn dial(&self, x: &State, load_ratio: f64) -> (f64, State) {
        let (ln, mut slope) = self.ln_own(x);
        let load = self.curves.load_n();
        slope[DRIFT] = 1.0;
        let alone = (ln + x[DRIFT]).exp();
        // the rest of the top takes its share of the load beside the brace
        let share = 1.0 / (1.0 + alone / load * x[REST].max(0.0));
        let own = load_ratio * alone * share;
        slope.iter_mut().for_each(|s| *s *= own * share);
        slope[REST] = -own * share * alone / load;
        slope[GIVE] = load_ratio * load;
        (own + load_ratio * load * x[GIVE].max(0.0), slope)
    }

    /// What a look should show, its slopes and the uncertainty it is taken with; for what goes with a product, in logarithms.
    pub(super) fn seen(&self, look: &Look, x: &State) -> Result<(f64, State, f64, f64)> {
        let mut slope = [0.0; N];
        Ok(match *look {
            Look::Deflection { deflection_mm, u_mm, load_ratio } => {
                let (value, s) = self.dial(x, load_ratio);
                // over what is expected: a dial that shows next to nothing is no sure reading of nothing
                (value.ln(), s.map(|v| v / value), deflection_mm.ln(), u_mm / value)
            }
            Look::Frequency { frequency_hz, u_hz } => {
                let Some((f, by_depth, by_ratio)) = self.curves.ln_frequency(self.depth_of(x), x[RATIO]) else {
                    return Err(Error::Refused(
                        "a frequency was read, but the curves of this brace were made without one: make them with frequency=True"
                            .into(),
                    ));
                };
                (slope[MODULUS], slope[DENSITY], slope[MODEL], slope[DYNAMIC]) = (0.5, -0.5, -0.5, 0.5);
                slope[DRIFT] = -0.5;
                (slope[RATIO], slope[BEFORE], slope[LAST]) = (by_ratio, by_depth, by_depth);
                (
                    f + 0.5 * (x[MODULUS] + x[DYNAMIC] - x[DENSITY] - x[MODEL] - x[DRIFT]),
                    slope,
                    frequency_hz.ln(),
                    u_hz / frequency_hz,
                )
            }
            Look::Mass { mass_g, u_g } => {
                let (m, by_before, by_last) = self.mass_left(x);
                (slope[DENSITY], slope[DRIFT]) = (1.0, MASS_BY_DRIFT);
                (slope[BEFORE], slope[LAST]) = (by_before / m, by_last / m);
                (m.ln() + x[DENSITY] + MASS_BY_DRIFT * x[DRIFT], slope, mass_g.ln(), u_g / mass_g)
            }
            Look::Shavings { mass_g, u_g } => {
                let (aimed, by_last) = (self.pass_mass.before_g - self.pass_mass.now_g, -self.pass_mass.by_last);
                let (kept, density) = (1.0 - x[LOST], x[DENSITY].exp());
                let off = density * (aimed + by_last * x[LAST]);
                (slope[DENSITY], slope[LOST], slope[LAST]) = (kept * off, -off, kept * density * by_last);
                (kept * off, slope, mass_g, u_g)
            }
            Look::Depth { depth_mm, u_mm } => {
                (slope[BEFORE], slope[LAST]) = (1.0, 1.0);
                (self.depth_of(x), slope, depth_mm, u_mm)
            }
        })
    }
}
