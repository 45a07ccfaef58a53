//! A bare top, free on all sides: its size, its modes, and the readings of a tap.

use serde::{Deserialize, Serialize};

use crate::error::{Error, Result, increasing, not_negative, number, positive, same_length, within};
use crate::mechanics::plate::{Edge, Grid, Label, NamedShape, Outline, Plate, PlateLaw, PlateMode, PlateOptions};
use crate::wood::Wood;

/// Standard uncertainties of a bare plate's size, of what is assumed of it, and of the model.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct PlateUncertainty {
    /// Of the length, mm.
    pub length_mm: f64,
    /// Of the width, mm.
    pub width_mm: f64,
    /// Of the thickness, common to the whole plate, mm.
    pub thickness_mm: f64,
    /// Of the mass, g.
    pub mass_g: f64,
    /// Of the angle of the grain, degrees.
    pub grain_angle_deg: f64,
    /// Relative, of the assumed G_LT and G_RT.
    pub shear_spread: f64,
    /// Relative, of the assumed nu_LR.
    pub poisson_spread: f64,
    /// Relative, of each frequency: wood that is not the same all over.
    pub model_spread: f64,
}

impl Default for PlateUncertainty {
    /// Rule 0.5 mm, thickness gauge 0.02 mm, scale 0.1 g, 1 degree, a fifth of the ratios, 0.2 % of frequency (common practice,
    /// no source).
    fn default() -> Self {
        Self {
            length_mm: 0.5,
            width_mm: 0.5,
            thickness_mm: 0.02,
            mass_g: 0.1,
            grain_angle_deg: 1.0,
            shear_spread: 0.2,
            poisson_spread: 0.2,
            model_spread: 0.002,
        }
    }
}

/// A bare, quarter-sawn plate: L along x, R across it, T through its thickness. A value.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct BarePlate {
    pub(super) wood: Wood,
    pub(super) length_mm: f64,
    pub(super) width_mm: f64,
    pub(super) map: Map,
    pub(super) sides: Option<Sides>,
    pub(super) mass_g: f64,
    pub(super) grain_angle_deg: f64,
    pub(super) thin: bool,
    pub(super) u: PlateUncertainty,
}

#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub(super) struct Map {
    pub x_mm: Vec<f64>,
    pub y_mm: Vec<f64>,
    pub thickness_mm: Vec<Vec<f64>>,
}

#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub(super) struct Sides {
    pub x_mm: Vec<f64>,
    pub low_mm: Vec<f64>,
    pub high_mm: Vec<f64>,
}

/// A mode as tapped.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct PlateReading {
    /// Its nodal lines: across the length, then along it.
    pub label: Label,
    /// Frequency, Hz.
    pub frequency_hz: f64,
    /// Standard uncertainty, Hz.
    pub u_hz: f64,
}

/// A mode of the model.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct PlateModeHz {
    /// Its nodal lines.
    pub label: Label,
    /// Frequency, Hz.
    pub frequency_hz: f64,
    /// Share of its shape that the label accounts for, 0 to 1; below 0.7 it is a mixture of two.
    pub share: f64,
}

/// What is not found but taken from the wood: nu_LR, G_LT/E_L, G_RT/E_L.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Assumed {
    pub nu_lr: f64,
    pub glt_el: f64,
    pub grt_el: f64,
    pub angle_deg: f64,
    /// Mass over the weighed one.
    pub heavy: f64,
}

/// The plate assembled, with its volume.
pub(super) struct Ready {
    pub plate: Plate,
    volume_mm3: f64,
}

/// How finely a plate is resolved.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Fineness {
    /// Within 0.3 % of a top's frequencies: searches, derivatives, shapes.
    Coarse,
    /// Within 0.05 %, the twist of a thin top being the slowest to settle: answers.
    Fine,
}

impl Fineness {
    /// Degrees of the deflection and of the shear strains.
    fn degrees(self) -> (usize, [usize; 2]) {
        match self {
            Self::Coarse => (9, [5, 9]),
            Self::Fine => (10, [5, 18]),
        }
    }
}

impl BarePlate {
    /// A rectangle of one thickness with the grain along its length. 50 to 2000 mm, 0.5 to 20 mm thick.
    pub fn new(wood: &Wood, length_mm: f64, width_mm: f64, thickness_mm: f64, mass_g: f64) -> Result<Self> {
        within("length_mm", length_mm, "mm", 50.0, 2000.0)?;
        within("width_mm", width_mm, "mm", 50.0, 2000.0)?;
        within("thickness_mm", thickness_mm, "mm", 0.5, 20.0)?;
        positive("mass_g", mass_g, "g")?;
        let map = Map { x_mm: vec![0.0], y_mm: vec![0.0], thickness_mm: vec![vec![thickness_mm]] };
        Self {
            wood: wood.clone(),
            length_mm,
            width_mm,
            map,
            sides: None,
            mass_g,
            grain_angle_deg: 0.0,
            thin: false,
            u: PlateUncertainty::default(),
        }
        .checked()
    }

    /// With a thickness map: lines across the length, lines along it, and a row of thicknesses for each line across; bilinear
    /// between the lines, level beyond them.
    pub fn with_thickness_map(&self, x_mm: &[f64], y_mm: &[f64], thickness_mm: &[Vec<f64>]) -> Result<Self> {
        increasing("x_mm", x_mm, "mm", 1)?;
        increasing("y_mm", y_mm, "mm", 1)?;
        if x_mm.len() * y_mm.len() > 2500 {
            return Err(Error::BadList { name: "thickness_mm".into(), problem: "has more than 2500 values".into() });
        }
        same_length("x_mm", x_mm.len(), "thickness_mm", thickness_mm.len())?;
        for (i, row) in thickness_mm.iter().enumerate() {
            same_length("y_mm", y_mm.len(), &format!("thickness_mm[{i}]"), row.len())?;
            for (j, &t) in row.iter().enumerate() {
                within(&format!("thickness_mm[{i}][{j}]"), t, "mm", 0.5, 20.0)?;
            }
        }
        let map = Map { x_mm: x_mm.to_vec(), y_mm: y_mm.to_vec(), thickness_mm: thickness_mm.to_vec() };
        Self { map, ..self.clone() }.checked()
    }

    /// With sides that are not parallel: y of the lower and the upper side at stations from one end to the other, straight
    /// between them. For tops cut near their outline but still four-sided; length and width become those of the sides.
    pub fn with_sides(&self, x_mm: &[f64], low_mm: &[f64], high_mm: &[f64]) -> Result<Self> {
        increasing("x_mm", x_mm, "mm", 2)?;
        same_length("x_mm", x_mm.len(), "low_mm", low_mm.len())?;
        same_length("x_mm", x_mm.len(), "high_mm", high_mm.len())?;
        if x_mm.len() > 50 {
            return Err(Error::BadList { name: "x_mm".into(), problem: "has more than 50 stations".into() });
        }
        for (i, (l, h)) in low_mm.iter().zip(high_mm).enumerate() {
            crate::error::finite(&format!("low_mm[{i}]"), *l, "mm")?;
            crate::error::finite(&format!("high_mm[{i}]"), *h, "mm")?;
            within(&format!("high_mm[{i}] - low_mm[{i}]"), h - l, "mm", 20.0, 2000.0)?;
        }
        let sides = Sides { x_mm: x_mm.to_vec(), low_mm: low_mm.to_vec(), high_mm: high_mm.to_vec() };
        let length = x_mm[x_mm.len() - 1] - x_mm[0];
        within("length of x_mm", length, "mm", 50.0, 2000.0)?;
        let low = low_mm.iter().copied().fold(f64::INFINITY, f64::min);
        let high = high_mm.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        within("width of the sides", high - low, "mm", 50.0, 2000.0)?;
        Self { sides: Some(sides), length_mm: length, width_mm: high - low, ..self.clone() }.checked()
    }

    /// With the grain turned from the length, from x towards y, -45 to 45 degrees.
    pub fn with_grain_angle_deg(&self, grain_angle_deg: f64) -> Result<Self> {
        within("grain_angle_deg", grain_angle_deg, "deg", -45.0, 45.0)?;
        Ok(Self { grain_angle_deg, ..self.clone() })
    }

    /// With other uncertainties.
    pub fn with_uncertainty(&self, u: PlateUncertainty) -> Result<Self> {
        for (name, v, unit, most) in [
            ("u_length_mm", u.length_mm, "mm", 50.0),
            ("u_width_mm", u.width_mm, "mm", 50.0),
            ("u_thickness_mm", u.thickness_mm, "mm", 0.4),
            ("u_mass_g", u.mass_g, "g", self.mass_g),
            ("u_grain_angle_deg", u.grain_angle_deg, "deg", 20.0),
            ("shear_spread", u.shear_spread, "", 0.5),
            ("poisson_spread", u.poisson_spread, "", 0.5),
            ("model_spread", u.model_spread, "", 0.1),
        ] {
            within(name, v, unit, 0.0, most)?;
        }
        Ok(Self { u, ..self.clone() })
    }

    /// Without transverse shear and rotary inertia (the classical thin plate), to compare with tables. A spruce top
    /// comes out up to a percent higher so, most in its twist.
    pub fn as_thin(&self) -> Self {
        Self { thin: true, ..self.clone() }
    }

    /// The wood whose ratios are assumed and whose moduli start the search.
    pub fn wood(&self) -> &Wood {
        &self.wood
    }

    /// Density from mass and size, kg/m3.
    pub fn density_kg_m3(&self) -> Result<f64> {
        let plain = Self { thin: true, ..self.clone() };
        Ok(self.mass_g * 1e6 / plain.ready(0.0, 0.0, 0.0, Fineness::Coarse)?.volume_mm3)
    }

    fn checked(self) -> Result<Self> {
        let rho = self.density_kg_m3()?;
        if (100.0..=1400.0).contains(&rho) {
            Ok(self)
        } else {
            Err(Error::Refused(format!(
                "mass_g is {} g, which over the plate's size is a density of {:.0} kg/m3; wood lies between 100 and 1400: check the units of size and mass",
                number(self.mass_g),
                rho
            )))
        }
    }

    /// The plate assembled, a little longer, wider and thicker (mm).
    pub(super) fn ready(&self, longer: f64, wider: f64, thicker: f64, fineness: Fineness) -> Result<Ready> {
        let (sx, sy) = (1.0 + longer / self.length_mm, 1.0 + wider / self.width_mm);
        let all = |v: &[f64], s: f64| v.iter().map(|v| v * s).collect::<Vec<_>>();
        let outline = match &self.sides {
            None => Outline::Rectangle { length: self.length_mm * sx, width: self.width_mm * sy },
            Some(s) => Outline::Sided { x: all(&s.x_mm, sx), low: all(&s.low_mm, sy), high: all(&s.high_mm, sy) },
        };
        let grid = Grid {
            x: all(&self.map.x_mm, sx),
            y: all(&self.map.y_mm, sy),
            value: self.map.thickness_mm.iter().map(|r| r.iter().map(|t| t + thicker).collect()).collect(),
        };
        let (degree, shear) = fineness.degrees();
        let options = PlateOptions { degree, shear_degrees: (!self.thin).then_some(shear), oblique: true };
        let plate = Plate::new(&outline, &grid, [Edge::Free; 4], options).ok_or_else(no_modes)?;
        let volume_mm3 = plate.volume();
        Ok(Ready { plate, volume_mm3 })
    }

    pub(super) fn assumed(&self) -> Assumed {
        Assumed {
            nu_lr: self.wood.nu_lr(),
            glt_el: self.wood.glt_el(),
            grt_el: self.wood.grt_el(),
            angle_deg: self.grain_angle_deg,
            heavy: 1.0,
        }
    }

    /// The law for moduli E_L, E_R, G_LR in GPa.
    pub(super) fn law(&self, ready: &Ready, moduli: &[f64; 3], a: &Assumed) -> PlateLaw {
        let [e_l, e_r, g] = moduli.map(|m| 1000.0 * m);
        // a Poisson ratio too large for the ratio of moduli makes no material
        let nu = a.nu_lr.clamp(-0.95 * (e_l / e_r).sqrt(), 0.95 * (e_l / e_r).sqrt());
        let rho = self.mass_g * a.heavy * 1e-6 / ready.volume_mm3;
        PlateLaw::orthotropic([e_l, e_r], nu, g, [a.glt_el * e_l, a.grt_el * e_l], rho, a.angle_deg.to_radians())
    }

    /// The moduli of the wood, GPa.
    pub(super) fn start(&self) -> [f64; 3] {
        [self.wood.modulus_l_gpa(), self.wood.modulus_r_gpa(), self.wood.shear_lr_gpa()]
    }

    /// The lowest modes at the wood's own figures. At most 12.
    pub fn modes(&self, count: usize) -> Result<Vec<PlateModeHz>> {
        if !(1..=12).contains(&count) {
            return Err(Error::OutOfRange {
                quantity: "count".into(),
                value: count as f64,
                unit: "",
                allowed: "from 1 to 12".into(),
            });
        }
        let ready = self.ready(0.0, 0.0, 0.0, Fineness::Fine)?;
        let law = self.law(&ready, &self.start(), &self.assumed());
        Ok(named(&ready.plate, &law, count)?.iter().map(|(m, l)| mode_hz(m, l)).collect())
    }
}

impl PlateReading {
    /// A checked reading; `label` as "2,0": nodal lines across the length, then along it.
    pub fn new(label: &str, frequency_hz: f64, u_hz: f64) -> Result<Self> {
        positive("frequency_hz", frequency_hz, "Hz")?;
        not_negative("u_hz", u_hz, "Hz")?;
        Ok(Self { label: label.parse()?, frequency_hz, u_hz })
    }
}

pub(super) fn mode_hz(mode: &PlateMode, name: &NamedShape) -> PlateModeHz {
    PlateModeHz { label: name.label, frequency_hz: mode.omega_squared.sqrt() / std::f64::consts::TAU, share: name.share }
}

/// The lowest modes, each with a label no other has: the largest shares choose first.
pub(super) fn named(plate: &Plate, law: &PlateLaw, count: usize) -> Result<Vec<(PlateMode, NamedShape)>> {
    let modes = plate.modes(law, &[], count).ok_or_else(no_modes)?;
    let mut claims: Vec<(usize, NamedShape)> = Vec::new();
    for (k, m) in modes.iter().enumerate() {
        claims.extend(plate.labels(m).into_iter().map(|l| (k, l)));
    }
    claims.sort_by(|a, b| b.1.share.total_cmp(&a.1.share));
    let mut given: Vec<Option<NamedShape>> = vec![None; modes.len()];
    let mut taken = std::collections::BTreeSet::new();
    for (k, l) in claims {
        if given[k].is_none() && taken.insert(l.label) {
            given[k] = Some(l);
        }
    }
    let out: Vec<_> = modes.into_iter().zip(given).filter_map(|(m, g)| Some((m, g?))).collect();
    if out.len() == count { Ok(out) } else { Err(no_modes()) }
}

pub(super) fn no_modes() -> Error {
    Error::Refused("the plate's size, thickness and moduli make no plate that can vibrate; check their units".into())
}
