//! A stick tapped on its end: stretching along its length, free of shear.

use serde::{Deserialize, Serialize};

use super::budget::{DynamicOverStatic, StaticModulus, TapShare, combined, sorted};
use super::stick::{MODEL_SPREAD, TapReading};
use super::stick_model::no_stiffness;
use crate::brace::Brace;
use crate::error::{Result, not_negative, within};
use crate::mechanics::dense::{Square, lowest_modes};
use crate::mechanics::quadrature::{gauss, legendre};

/// A stick tapped on its end.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct LengthwiseTap {
    brace: Brace,
    end_mass_g: f64,
    u_end_mass_g: f64,
}

/// E from a tap on the end.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct LengthwiseEstimate {
    /// Dynamic E along the grain, GPa.
    pub modulus_gpa: f64,
    /// Its standard uncertainty, GPa.
    pub u_gpa: f64,
    /// Shares of the relative uncertainty, largest first.
    pub budget: Vec<TapShare>,
    /// What the sideways motion (Rayleigh) takes off the frequency, percent.
    pub sideways_percent: f64,
}

impl LengthwiseEstimate {
    /// The static modulus by a stated factor.
    pub fn static_modulus(&self, factor: &DynamicOverStatic) -> StaticModulus {
        StaticModulus::from_dynamic(self.modulus_gpa, self.u_gpa, factor)
    }
}

/// Degree of the series of the displacement along the stick.
const DEGREE: usize = 24;

impl LengthwiseTap {
    /// A stick or carved brace, free at both ends.
    pub fn new(brace: &Brace) -> Self {
        Self { brace: brace.clone(), end_mass_g: 0.0, u_end_mass_g: 0.0 }
    }

    /// With a pickup on the right end, at most a fifth of the stick's own mass.
    pub fn with_end_mass_g(&self, mass_g: f64, u_mass_g: f64) -> Result<Self> {
        within("mass_g", mass_g, "g", 0.0, 0.2 * self.brace.mass_g()?)?;
        not_negative("u_mass_g", u_mass_g, "g")?;
        Ok(Self { end_mass_g: mass_g, u_end_mass_g: u_mass_g, ..self.clone() })
    }

    /// Squared angular frequencies at E along the grain = 1 GPa, with the sideways motion or without.
    ///
    /// A bar of area A(x), Legendre series; the sideways motion of a stretched section adds rho (nu_y^2 I_y + nu_z^2 I_z) u'^2 to
    /// the motion's energy (Rayleigh; for a straight bar f = n c / 2L over the root of 1 + nu^2 r^2 (n pi / L)^2).
    fn squared(&self, count: usize, sideways: bool, more_end_g: f64) -> Result<Vec<f64>> {
        let blank = self.brace.blank();
        let solid = self.brace.solid()?;
        let wood = blank.wood();
        let e = 1000.0 / wood.modulus_l_gpa() * wood.plane_stiffness(blank.ring_angle_deg(), blank.run_out(), 0.0)?.e_x_gpa;
        let (first, last) = solid.ends();
        let rho = self.brace.mass_g()? * 1e-6 / solid.volume(first, last);
        // between the two axes by the ring angle
        let (s, c) = blank.ring_angle_deg().to_radians().sin_cos();
        let (lr, lt) = (wood.nu_lr(), wood.nu_lt());
        let (nu_y, nu_z) = (c * c * lr + s * s * lt, s * s * lr + c * c * lt);
        let n = DEGREE + 1;
        let (mut k, mut m) = (Square::zeros(n), Square::zeros(n));
        let (mut p, mut dp) = (vec![0.0; n], vec![0.0; n]);
        let half = 0.5 * (last - first);
        let (t, w) = gauss(DEGREE + 4);
        for pair in solid.kinks().windows(2) {
            for (ti, wi) in t.iter().zip(w) {
                let x = pair[0] + (pair[1] - pair[0]) * ti;
                let q = solid.moments(x, 0.5 * (pair[0] + pair[1]), true);
                let dx = wi * (pair[1] - pair[0]);
                let lateral =
                    if sideways && q.area > 1e-9 { nu_y * nu_y * q.lateral + nu_z * nu_z * q.about_centroid() } else { 0.0 };
                legendre((x - first) / half - 1.0, &mut p, &mut dp);
                for i in 0..n {
                    for j in 0..n {
                        let slopes = dp[i] * dp[j] / (half * half);
                        k[(i, j)] += dx * e * q.area * slopes;
                        m[(i, j)] += dx * rho * (q.area * p[i] * p[j] + lateral * slopes);
                    }
                }
            }
        }
        let end = (self.end_mass_g + more_end_g) * 1e-6;
        m.a.iter_mut().for_each(|m| *m += end); // every polynomial is 1 at the right end
        let shift = e / rho / (last - first).powi(2);
        let modes = lowest_modes(&k, &m, shift, count + 1).ok_or_else(no_stiffness)?;
        Ok(modes.into_iter().skip(1).map(|(v, _)| v).collect())
    }

    /// The frequencies to expect at the blank's belief of its modulus, Hz.
    pub fn expected_hz(&self, count: usize) -> Result<Vec<f64>> {
        TapReading::new(count, 1.0, 1.0)?;
        let e = self.brace.blank().modulus_gpa();
        Ok(self.squared(count, true, 0.0)?.into_iter().map(|w| (e * w).sqrt() / std::f64::consts::TAU).collect())
    }

    /// E from one tapped mode. The density is that of the stick as weighed, so that width and height hardly enter.
    pub fn modulus(&self, reading: &TapReading) -> Result<LengthwiseEstimate> {
        let r = TapReading::new(reading.mode, reading.frequency_hz, reading.u_hz)?;
        let own = self.squared(r.mode, true, 0.0)?[r.mode - 1];
        let plain = self.squared(r.mode, false, 0.0)?[r.mode - 1];
        let heavier = self.squared(r.mode, true, self.u_end_mass_g)?[r.mode - 1];
        let e = (std::f64::consts::TAU * r.frequency_hz).powi(2) / own;
        let blank = self.brace.blank();
        let (u, mass) = (blank.size_uncertainty(), self.brace.mass_g()?);
        let weighed = blank.mass_g().is_some();
        let sideways = 1.0 - (own / plain).sqrt();
        // E A = (m / L) (2 L f / n)^2: with the mass known, E goes with the length and against the area
        let budget = sorted([
            ("frequency".to_string(), 2.0 * r.u_hz / r.frequency_hz),
            ("length".into(), u.length_mm / self.brace.length_mm()),
            ("height".into(), u.height_mm / (self.brace.volume_mm3()? / self.brace.length_mm() / self.brace.width_mm())),
            ("width".into(), u.width_mm / self.brace.width_mm()),
            (
                if weighed { "mass" } else { "density of the wood, not weighed" }.into(),
                if weighed { u.mass_g / mass } else { blank.density_spread() },
            ),
            ("mass of the pickup".into(), (heavier / own).ln()),
            ("evenness of the wood".into(), 2.0 * MODEL_SPREAD),
            // the Poisson ratios are known to a fifth
            ("sideways motion".into(), 2.0 * sideways * 0.4),
        ]);
        let u_e = combined(&budget);
        Ok(LengthwiseEstimate { modulus_gpa: e, u_gpa: e * u_e, budget, sideways_percent: 100.0 * sideways })
    }
}
