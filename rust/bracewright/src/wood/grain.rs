//! Grain that does not run true: ring angle and run-out by rotating the elastic tensor, and what a slope does to strength.

use serde::{Deserialize, Serialize};

use super::Wood;
use crate::error::{Error, Result, finite, positive, within};
use crate::mechanics::dense::{Square, solve_positive};

type M3 = [[f64; 3]; 3];

/// The plane-stress law of a brace in its own (x along, z up) plane, with no stress across its width.
///
/// Stress (xx, zz, xz) in GPa is `c_gpa` times strain (xx, zz, engineering shear xz).
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct PlaneStiffness {
    /// Symmetric, positive definite stiffness in GPa, rows and columns in the order xx, zz, xz.
    pub c_gpa: [[f64; 3]; 3],
    /// Young's modulus along the brace in GPa, everything else free of stress: what slender bending feels.
    pub e_x_gpa: f64,
    /// Young's modulus up the height in GPa.
    pub e_z_gpa: f64,
    /// Shear modulus in the plane of bending in GPa.
    pub g_xz_gpa: f64,
    /// Strain up the height over strain along the brace, sign turned, under stress along the brace.
    pub nu_xz: f64,
}

impl PlaneStiffness {
    /// The law of an isotropic or orthotropic material whose axes are those of the brace. Moduli in GPa, above 0;
    /// `nu_xz` such that `nu_xz^2 < e_x/e_z`.
    pub fn orthotropic(e_x_gpa: f64, e_z_gpa: f64, g_xz_gpa: f64, nu_xz: f64) -> Result<PlaneStiffness> {
        let e_x = positive("e_x_gpa", e_x_gpa, "GPa")?;
        let e_z = positive("e_z_gpa", e_z_gpa, "GPa")?;
        let g = positive("g_xz_gpa", g_xz_gpa, "GPa")?;
        let most = (e_x / e_z).sqrt();
        if !nu_xz.is_finite() || nu_xz.abs() >= most {
            return Err(Error::OutOfRange {
                quantity: "nu_xz".into(),
                value: nu_xz,
                unit: "",
                allowed: format!("smaller in size than sqrt(e_x_gpa/e_z_gpa) = {}", crate::error::number(most)),
            });
        }
        let s = -nu_xz / e_x;
        Self::from_compliance([[1.0 / e_x, s, 0.0], [s, 1.0 / e_z, 0.0], [0.0, 0.0, 1.0 / g]])
    }

    fn from_compliance(s: M3) -> Result<PlaneStiffness> {
        let c_gpa = invert_symmetric(&s).ok_or_else(|| {
            Error::Refused("the moduli given make no material: its plane-stress compliance cannot be inverted".into())
        })?;
        Ok(PlaneStiffness {
            c_gpa,
            e_x_gpa: 1.0 / s[0][0],
            e_z_gpa: 1.0 / s[1][1],
            g_xz_gpa: 1.0 / s[2][2],
            nu_xz: -s[0][1] / s[0][0],
        })
    }

    /// The same material made stiffer or softer as a whole: every modulus times `factor` (above 0). This is what a
    /// changed E_L does while the ratios stay.
    pub fn scaled(&self, factor: f64) -> Result<PlaneStiffness> {
        let f = positive("factor", factor, "")?;
        Ok(PlaneStiffness {
            c_gpa: self.c_gpa.map(|row| row.map(|c| c * f)),
            e_x_gpa: self.e_x_gpa * f,
            e_z_gpa: self.e_z_gpa * f,
            g_xz_gpa: self.g_xz_gpa * f,
            nu_xz: self.nu_xz,
        })
    }
}

fn invert_symmetric(s: &M3) -> Option<M3> {
    // Scaled to a unit diagonal first: E_L and G_RT differ by a factor of hundreds.
    if (0..3).any(|i| !s[i][i].is_finite() || s[i][i] <= 0.0) {
        return None;
    }
    let d = [0, 1, 2].map(|i| s[i][i].sqrt());
    let a = s[0][1] / (d[0] * d[1]);
    let b = s[0][2] / (d[0] * d[2]);
    let c = s[1][2] / (d[1] * d[2]);
    let det = 1.0 - a * a - b * b - c * c + 2.0 * a * b * c;
    if !det.is_finite() || det <= 1e-12 {
        return None;
    }
    let n = [[1.0 - c * c, b * c - a, a * c - b], [b * c - a, 1.0 - b * b, a * b - c], [a * c - b, a * b - c, 1.0 - a * a]];
    let mut out = [[0.0; 3]; 3];
    for i in 0..3 {
        for j in 0..3 {
            out[i][j] = n[i][j] / (det * (d[i] * d[j]));
        }
    }
    Some(out)
}

/// Strains of a rib: xx, zz, xz, xy, yz.
const RIB_COMPONENTS: [(usize, usize); 5] = [(0, 0), (2, 2), (0, 2), (0, 1), (1, 2)];

/// Strains of a solid: xx, yy, zz, yz, xz, xy.
const SOLID_COMPONENTS: [(usize, usize); 6] = [(0, 0), (1, 1), (2, 2), (1, 2), (0, 2), (0, 1)];

/// Inverse of a small compliance.
fn inverted<const N: usize>(s: &[[f64; N]; N]) -> Result<[[f64; N]; N]> {
    let refused = || Error::Refused("the moduli given make no material: their compliance cannot be inverted".into());
    // to a unit diagonal first: E_L and G_RT differ by a factor of hundreds
    let d: [f64; N] = std::array::from_fn(|i| s[i][i].sqrt());
    let mut unit = Square::zeros(N);
    for i in 0..N {
        for j in 0..N {
            unit[(i, j)] = s[i][j] / (d[i] * d[j]);
        }
    }
    let mut out = [[0.0; N]; N];
    for j in 0..N {
        let mut e = [0.0; N];
        e[j] = 1.0;
        let column = solve_positive(&unit, &e).ok_or_else(refused)?;
        for i in 0..N {
            out[i][j] = column[i] / (d[i] * d[j]);
        }
    }
    Ok(out)
}

/// Directions of L, R and T as rows, in the axes of the brace (x along, y across the width, z up).
fn directions(ring_angle_deg: f64, run_out_vertical: f64, run_out_sideways: f64) -> M3 {
    let (s, c) = ring_angle_deg.to_radians().sin_cos();
    let norm = (1.0 + run_out_sideways * run_out_sideways + run_out_vertical * run_out_vertical).sqrt();
    let l = [1.0 / norm, run_out_sideways / norm, run_out_vertical / norm];
    // The shortest turn that carries x to the grain carries R and T with it.
    let turn = |v: [f64; 3]| {
        let dot = v[1] * l[1] + v[2] * l[2];
        let k = dot / (1.0 + l[0]);
        [-dot, v[1] - k * l[1], v[2] - k * l[2]]
    };
    [l, turn([0.0, c, s]), turn([0.0, -s, c])]
}

impl Wood {
    /// The plane-stress law for bending in the vertical plane of a brace cut from this wood.
    ///
    /// * `ring_angle_deg` (-360 to 360): 0 has the rings upright, as quarter-split: R across the width, T up the height,
    ///   so that vertical bending shears G_LT; 90 is flat-sawn, R up the height.
    /// * `run_out_vertical` (-1 to 1): slope of the grain in the vertical plane, rise over length: 1 in 10 is 0.1.
    /// * `run_out_sideways` (-1 to 1): its slope in the plan.
    ///
    /// Tensor rotation of the whole 3-D compliance; then no stress across the width.
    pub fn plane_stiffness(&self, ring_angle_deg: f64, run_out_vertical: f64, run_out_sideways: f64) -> Result<PlaneStiffness> {
        let phi = within("ring_angle_deg", ring_angle_deg, "deg", -360.0, 360.0)?;
        let v = within("run_out_vertical", run_out_vertical, "", -1.0, 1.0)?;
        let h = within("run_out_sideways", run_out_sideways, "", -1.0, 1.0)?;
        let (x, z) = (0, 2);
        PlaneStiffness::from_compliance(self.compliance_in(&directions(phi, v, h), [(x, x), (z, z), (x, z)]))
    }

    /// Stiffness in GPa of a brace with no stress across its width, for strains (xx, zz, xz, xy, yz) with engineering shears;
    /// arguments as of [`Wood::plane_stiffness`].
    pub(crate) fn rib_stiffness(
        &self,
        ring_angle_deg: f64,
        run_out_vertical: f64,
        run_out_sideways: f64,
    ) -> Result<[[f64; 5]; 5]> {
        let phi = within("ring_angle_deg", ring_angle_deg, "deg", -360.0, 360.0)?;
        let v = within("run_out_vertical", run_out_vertical, "", -1.0, 1.0)?;
        let h = within("run_out_sideways", run_out_sideways, "", -1.0, 1.0)?;
        inverted(&self.compliance_in(&directions(phi, v, h), RIB_COMPONENTS))
    }

    /// Stiffness in GPa of the solid wood of a brace, for strains (xx, yy, zz, yz, xz, xy) with engineering shears, in axes that the
    /// brace is turned by `angle` radians from, from x towards y; other arguments as of [`Wood::plane_stiffness`].
    pub(crate) fn solid_stiffness(&self, ring_angle_deg: f64, run_out_vertical: f64, angle: f64) -> Result<[[f64; 6]; 6]> {
        let (s, c) = angle.sin_cos();
        let axes = directions(ring_angle_deg, run_out_vertical, 0.0).map(|[x, y, z]| [c * x - s * y, s * x + c * y, z]);
        inverted(&self.compliance_in(&axes, SOLID_COMPONENTS))
    }

    /// The same of a leg that crosses in a half-lap: R along the brace, L across it, T up.
    pub(crate) fn crossing_rib_stiffness(&self) -> Result<[[f64; 5]; 5]> {
        inverted(&self.compliance_in(&[[0.0, 1.0, 0.0], [1.0, 0.0, 0.0], [0.0, 0.0, 1.0]], RIB_COMPONENTS))
    }

    /// Strain answers to a unit stress in each of some components, the others free of stress; the rows of `q` are the
    /// directions of L, R and T.
    fn compliance_in<const N: usize>(&self, q: &M3, components: [(usize, usize); N]) -> [[f64; N]; N] {
        // work pairs give the compliance
        let local: [[f64; 6]; N] = components.map(|(i, j)| {
            let t = |a: usize, b: usize| {
                if i == j { q[a][i] * q[b][i] } else { q[a][i] * q[b][j] + q[a][j] * q[b][i] }
            };
            [t(0, 0), t(1, 1), t(2, 2), t(1, 2), t(0, 2), t(0, 1)]
        });
        let s6 = self.compliance_per_gpa();
        let mut s = [[0.0; N]; N];
        for i in 0..N {
            for j in i..N {
                let mut sum = 0.0;
                for a in 0..6 {
                    for b in 0..6 {
                        sum += local[i][a] * s6[a][b] * local[j][b];
                    }
                }
                s[i][j] = sum;
                s[j][i] = sum;
            }
        }
        s
    }

    /// The 6x6 compliance in 1/GPa in the wood's own axes, order LL, RR, TT, RT, LT, LR (engineering shears).
    pub fn compliance_per_gpa(&self) -> [[f64; 6]; 6] {
        let mut s = [[0.0; 6]; 6];
        s[0][0] = 1.0 / self.modulus_l_gpa();
        s[1][1] = 1.0 / self.modulus_r_gpa();
        s[2][2] = 1.0 / self.modulus_t_gpa();
        s[3][3] = 1.0 / self.shear_rt_gpa();
        s[4][4] = 1.0 / self.shear_lt_gpa();
        s[5][5] = 1.0 / self.shear_lr_gpa();
        for (i, j, nu) in [(0, 1, self.nu_lr()), (0, 2, self.nu_lt()), (1, 2, self.nu_rt())] {
            s[i][j] = -nu * s[i][i];
            s[j][i] = s[i][j];
        }
        s
    }

    /// Young's modulus in GPa of a quarter-sawn plate at `theta_deg` (-360 to 360) to the grain, in the LR plane:
    /// 1/E = c^4/E_L + s^4/E_R + c^2 s^2 (1/G_LR - 2 nu_LR/E_L).
    pub fn off_axis_modulus_gpa(&self, theta_deg: f64) -> Result<f64> {
        let (s, c) = within("theta_deg", theta_deg, "deg", -360.0, 360.0)?.to_radians().sin_cos();
        let (c2, s2) = (c * c, s * s);
        let (el, er, g) = (self.modulus_l_gpa(), self.modulus_r_gpa(), self.shear_lr_gpa());
        Ok(1.0 / (c2 * c2 / el + s2 * s2 / er + c2 * s2 * (1.0 / g - 2.0 * self.nu_lr() / el)))
    }
}

/// Hankinson's formula, N = PQ / (P sin^n + Q cos^n): strength (or another property) at `angle_deg` (0 to 90) to the grain
/// from its values along (`parallel`) and across (`perpendicular`) the grain, both above 0 and in the same unit, which is
/// also the answer's. `exponent` from 1 to 4, usually 2.
pub fn hankinson(parallel: f64, perpendicular: f64, angle_deg: f64, exponent: f64) -> Result<f64> {
    let p = positive("parallel", parallel, "")?;
    let q = positive("perpendicular", perpendicular, "")?;
    let (s, c) = within("angle_deg", angle_deg, "deg", 0.0, 90.0)?.to_radians().sin_cos();
    let n = within("exponent", exponent, "", 1.0, 4.0)?;
    Ok(p * q / (p * s.powf(n) + q * c.max(0.0).powf(n)))
}

/// Slope of grain against the share of the modulus of rupture left: Handbook Table 5-12, from memory.
const SLOPE_MOR: [(f64, f64); 6] =
    [(0.0, 1.0), (1.0 / 25.0, 0.96), (1.0 / 20.0, 0.93), (1.0 / 15.0, 0.89), (1.0 / 10.0, 0.81), (1.0 / 5.0, 0.55)];

/// Share of the modulus of rupture that straight grain would have, for grain sloping by `slope` (rise over length, -0.2 to
/// 0.2; the sign does not matter). Straight between the entries of Wood Handbook Table 5-12 (from memory), the steepest of
/// which is 1 in 5; beyond it the stick is refused, not extrapolated.
pub fn slope_of_grain_factor(slope: f64) -> Result<f64> {
    let s = within("slope", slope, "", -0.2, 0.2)?.abs();
    for pair in SLOPE_MOR.windows(2) {
        let ((x0, y0), (x1, y1)) = (pair[0], pair[1]);
        if s <= x1 {
            return Ok(y0 + (y1 - y0) * (s - x0) / (x1 - x0));
        }
    }
    Ok(SLOPE_MOR[SLOPE_MOR.len() - 1].1)
}

/// Slope of grain (rise over length) seen as one number from the slopes in two faces: the root of the sum of squares.
pub fn combined_slope(vertical: f64, sideways: f64) -> Result<f64> {
    Ok(finite("vertical", vertical, "")?.hypot(finite("sideways", sideways, "")?))
}
