//! What every input of a plate tap is worth in each modulus.

use super::plate::{Assumed, BarePlate, Fineness, PlateReading, Ready};
use crate::error::Result;

impl BarePlate {
    /// ln E_L, ln E_R and ln G_LR moved by one standard uncertainty of every input; `plain` is the coarse plate.
    pub(super) fn plate_shares(
        &self,
        plain: &Ready,
        moduli: &[f64; 3],
        readings: &[PlateReading],
        gain: &[Vec<f64>; 3],
    ) -> Result<Vec<(String, [f64; 3])>> {
        let of = |change: &[f64]| -> [f64; 3] { std::array::from_fn(|k| gain[k].iter().zip(change).map(|(g, c)| g * c).sum()) };
        let one = |k: usize, v: f64| -> Vec<f64> { (0..readings.len()).map(|i| if i == k { v } else { 0.0 }).collect() };
        let mut out = Vec::new();
        for (k, r) in readings.iter().enumerate() {
            out.push((format!("frequency of mode {}", r.label), of(&one(k, r.u_hz / r.frequency_hz))));
            out.push((format!("evenness of the wood, mode {}", r.label), of(&one(k, self.u.model_spread))));
        }
        let (u, a) = (self.u, self.assumed());
        let tried: [(&str, [f64; 3], Assumed); 8] = [
            ("length", [u.length_mm, 0.0, 0.0], a),
            ("width", [0.0, u.width_mm, 0.0], a),
            ("thickness", [0.0, 0.0, u.thickness_mm], a),
            ("mass", [0.0; 3], Assumed { heavy: 1.0 + u.mass_g / self.mass_g, ..a }),
            ("nu_LR, assumed", [0.0; 3], Assumed { nu_lr: a.nu_lr * (1.0 + u.poisson_spread), ..a }),
            ("G_LT, assumed", [0.0; 3], Assumed { glt_el: a.glt_el * (1.0 + u.shear_spread), ..a }),
            ("G_RT, assumed", [0.0; 3], Assumed { grt_el: a.grt_el * (1.0 + u.shear_spread), ..a }),
            // to either side alike where the grain runs true, so the whole of a step counts
            ("angle of the grain", [0.0; 3], Assumed { angle_deg: a.angle_deg + u.grain_angle_deg, ..a }),
        ];
        let at = self.at(plain, moduli, &a, readings)?;
        for (source, [longer, wider, thicker], assumed) in tried {
            if longer == 0.0 && wider == 0.0 && thicker == 0.0 && assumed == a {
                continue;
            }
            let moved = if longer + wider + thicker > 0.0 {
                self.at(&self.ready(longer, wider, thicker, Fineness::Coarse)?, moduli, &assumed, readings)?
            } else {
                self.at(plain, moduli, &assumed, readings)?
            };
            let change: Vec<f64> = at.ln_f.iter().zip(&moved.ln_f).map(|(f, g)| f - g).collect();
            out.push((source.into(), of(&change)));
        }
        Ok(out)
    }
}
