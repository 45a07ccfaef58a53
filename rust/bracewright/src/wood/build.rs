//! How a wood comes to be: what is filled in, what is derived, and whether such a material can exist.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::quantity::Quantity as Q;
use super::{Figure, Inner, Numbers, Standing, Wood, moisture};
use crate::error::{self, Error, Result, number, positive, within};

/// E_L over the published bending modulus at span/depth 14, centre load. The Handbook's own rule (from memory); the
/// Timoshenko term with E/G = 16 gives 1.098, see [`shear_free_factor`].
pub const BENDING_TO_TRUE: f64 = 1.10;

/// True modulus over the apparent one of a rectangular beam under a central load: 1 + 1.2 (E/G) (h/L)^2, Timoshenko.
/// `e_over_g` and `span_over_depth` above 0.
pub fn shear_free_factor(e_over_g: f64, span_over_depth: f64) -> Result<f64> {
    let ratio = positive("e_over_g", e_over_g, "")?;
    let slender = positive("span_over_depth", span_over_depth, "")?;
    Ok(1.0 + 1.2 * ratio / (slender * slender))
}

/// What a wood without elastic ratios of its own is given: Sitka spruce, Handbook Tables 5-1 and 5-2 (confirmed).
const ASSUMED_RATIOS: [(Q, f64); 8] = [
    (Q::ErEl, 0.078),
    (Q::EtEl, 0.043),
    (Q::GlrEl, 0.064),
    (Q::GltEl, 0.061),
    (Q::GrtEl, 0.003),
    (Q::NuLr, 0.372),
    (Q::NuLt, 0.467),
    (Q::NuRt, 0.435),
];

/// Slopes and M_p for a wood that has none of its own.
const ASSUMED_MOISTURE: [(Q, f64, Standing, &str); 4] = [
    (Q::IntersectionMoisture, 25.0, Standing::Confirmed, "Wood Handbook FPL-GTR-282 (2021) Table 5-13, for species not listed"),
    (Q::ModulusLSlope, 1.7, Standing::Estimated, "middle of 1.6 to 1.8, what Eq. 5-3 gives for spruces and Douglas-fir"),
    (Q::TransverseSlope, 3.5, Standing::FromMemory, "middle of 3 to 4, Gerhards 1982"),
    (Q::ShearModulusSlope, 2.5, Standing::FromMemory, "Gerhards 1982"),
];

/// Slope, the figure at 12 % and the green figure it follows from by Eq. 5-3.
const SLOPES: [(Q, Q, Q); 5] = [
    (Q::ModulusLSlope, Q::BendingModulus, Q::BendingModulusGreen),
    (Q::ModulusOfRuptureSlope, Q::ModulusOfRupture, Q::ModulusOfRuptureGreen),
    (Q::CompressionParallelSlope, Q::CompressionParallel, Q::CompressionParallelGreen),
    (Q::CompressionPerpendicularSlope, Q::CompressionPerpendicular, Q::CompressionPerpendicularGreen),
    (Q::ShearParallelSlope, Q::ShearParallel, Q::ShearParallelGreen),
];

/// What may be borrowed from a like species: never strengths.
const BORROWED: [Q; 14] = [
    Q::ErEl,
    Q::EtEl,
    Q::GlrEl,
    Q::GltEl,
    Q::GrtEl,
    Q::NuLr,
    Q::NuLt,
    Q::NuRt,
    Q::ChangeRadial,
    Q::ChangeTangential,
    Q::IntersectionMoisture,
    Q::ModulusLSlope,
    Q::TransverseSlope,
    Q::ShearModulusSlope,
];

impl Inner {
    pub(super) fn named(name: &str) -> Inner {
        Inner {
            name: name.trim().into(),
            botanical_name: String::new(),
            edition: String::new(),
            moisture_percent: 12.0,
            temperature_c: 20.0,
            figures: BTreeMap::new(),
            numbers: Numbers::default(),
        }
    }

    pub(super) fn set(&mut self, quantity: Q, figure: Figure) -> Result<()> {
        quantity.check(figure.value)?;
        match quantity {
            Q::ModulusL => {
                self.figures.remove(&Q::BendingModulus);
                self.figures.remove(&Q::BendingModulusGreen);
            }
            Q::Density => {
                self.figures.remove(&Q::SpecificGravityGreen);
            }
            Q::BendingModulus => {
                self.figures.insert(Q::ModulusL, true_modulus(&figure));
            }
            _ => {}
        }
        self.figures.insert(quantity, figure);
        Ok(())
    }

    /// Takes from a like species what it has and this wood has not, marked as estimated.
    pub(super) fn borrow_from(&mut self, like: &Wood) {
        let own_slope = self.figures.contains_key(&Q::BendingModulus) && self.figures.contains_key(&Q::BendingModulusGreen);
        for q in BORROWED {
            if own_slope && q == Q::ModulusLSlope {
                continue;
            }
            if let (None, Some(theirs)) = (self.figures.get(&q), like.figure(q)) {
                let source = format!("taken as {}: {}", like.name(), theirs.source);
                let figure = Figure { standing: Standing::Estimated, source, ..theirs.clone() };
                self.figures.insert(q, figure);
            }
        }
    }

    fn fill(&mut self) -> Result<()> {
        let at_book = self.moisture_percent == 12.0 && self.temperature_c == 20.0;
        if let (None, Some(bending)) = (self.figures.get(&Q::ModulusL), self.figures.get(&Q::BendingModulus)) {
            self.figures.insert(Q::ModulusL, true_modulus(bending));
        }
        if let (None, Some(basic)) = (self.figures.get(&Q::Density), self.figures.get(&Q::SpecificGravityGreen)) {
            let m = self.moisture_percent;
            let g = moisture::specific_gravity_at(basic.value, m)?;
            let value = moisture::density_from_specific_gravity(g, m)?;
            let source = format!("Eq. 4-13 and 4-14 from {} ({}: {})", number(basic.value), basic.standing, basic.source);
            self.figures.insert(Q::Density, Figure { value, source, standing: Standing::Recomputed, spread: basic.spread });
        }
        for (q, value) in ASSUMED_RATIOS {
            self.figures.entry(q).or_insert_with(|| {
                Figure::new(q, value, Standing::Estimated, "no figure of its own; taken as Sitka spruce, Tables 5-1 and 5-2")
            });
        }
        let (first, rest) = ASSUMED_MOISTURE.split_at(1);
        for &(q, value, standing, source) in first {
            self.figures.entry(q).or_insert_with(|| Figure::new(q, value, standing, source));
        }
        let mp = self.figures.get(&Q::IntersectionMoisture).map_or(25.0, |f| f.value);
        for (slope, dry, green) in SLOPES {
            if let (true, None, Some(d), Some(g)) =
                (at_book, self.figures.get(&slope), self.figures.get(&dry), self.figures.get(&green))
            {
                let value = 100.0 * (d.value / g.value).ln() / (mp - 12.0);
                let source = format!("Eq. 5-3 from {dry} ({}) and {green} ({})", d.standing, g.standing);
                self.figures.insert(slope, Figure::new(slope, value, Standing::Recomputed, source));
            }
        }
        for &(q, value, standing, source) in rest {
            self.figures.entry(q).or_insert_with(|| Figure::new(q, value, standing, source));
        }
        Ok(())
    }
}

fn true_modulus(bending: &Figure) -> Figure {
    Figure {
        value: bending.value * BENDING_TO_TRUE,
        spread: bending.spread,
        standing: Standing::Recomputed,
        source: format!(
            "1.10 x bending modulus {} GPa ({}: {}); the 10 % rule is the Handbook's, from memory",
            number(bending.value),
            bending.standing,
            bending.source
        ),
    }
}

impl Wood {
    /// A wood of your own from the least that is needed: name, density in kg/m3 (50 to 1600) and E_L in GPa (0.5 to 60),
    /// at 12 % MC. Ratios are taken as Sitka spruce's and marked estimated until you set them.
    pub fn custom(name: &str, density_kg_m3: f64, modulus_l_gpa: f64) -> Result<Wood> {
        let mut inner = Inner::named(name);
        for (q, v) in [(Q::Density, density_kg_m3), (Q::ModulusL, modulus_l_gpa)] {
            inner.set(q, Figure::new(q, v, Standing::Own, "given by the user"))?;
        }
        Wood::build(inner)
    }

    /// Fills what is missing, checks every figure and the material as a whole.
    pub(super) fn build(mut inner: Inner) -> Result<Wood> {
        if inner.name.is_empty() {
            return Err(Error::Refused("name is empty; a wood needs a name".into()));
        }
        let (low, high) = moisture::MOISTURE_RANGE_PERCENT;
        within("moisture_percent", inner.moisture_percent, "% MC", low, high)?;
        within("temperature_c", inner.temperature_c, "deg C", -50.0, 50.0)?;
        inner.fill()?;
        for (q, figure) in &inner.figures {
            q.check(figure.value)?;
            if let Some(spread) = figure.spread {
                within(&format!("spread of {q}"), spread, "", 0.0, 2.0)?;
            }
        }
        let get = |q: Q| {
            inner
                .figures
                .get(&q)
                .map(|f| f.value)
                .ok_or_else(|| Error::Refused(format!("{} has no {q}; it is needed", inner.name)))
        };
        let numbers = Numbers {
            density: get(Q::Density)?,
            e_l: get(Q::ModulusL)?,
            er: get(Q::ErEl)?,
            et: get(Q::EtEl)?,
            glr: get(Q::GlrEl)?,
            glt: get(Q::GltEl)?,
            grt: get(Q::GrtEl)?,
            nu_lr: get(Q::NuLr)?,
            nu_lt: get(Q::NuLt)?,
            nu_rt: get(Q::NuRt)?,
        };
        admissible(&numbers)?;
        inner.numbers = numbers;
        Ok(Wood(Arc::new(inner)))
    }
}

/// A compliance that is not positive definite would give back more work than was put in; the message names the ratio.
fn admissible(n: &Numbers) -> Result<()> {
    let pairs =
        [("nu_lr", n.nu_lr, n.er, "er_el"), ("nu_lt", n.nu_lt, n.et, "et_el"), ("nu_rt", n.nu_rt, n.et / n.er, "et_el/er_el")];
    for (name, nu, ratio, of) in pairs {
        let most = 1.0 / ratio.sqrt();
        if nu.abs() >= most {
            return Err(Error::OutOfRange {
                quantity: name.into(),
                value: nu,
                unit: "",
                allowed: format!("smaller in size than 1/sqrt({of}) = {}, or the material would create energy", number(most)),
            });
        }
    }
    let det = 1.0
        - n.nu_lr * n.nu_lr * n.er
        - n.nu_lt * n.nu_lt * n.et
        - n.nu_rt * n.nu_rt * n.et / n.er
        - 2.0 * n.nu_lr * n.nu_lt * n.nu_rt * n.et;
    if det > 1e-9 {
        return Ok(());
    }
    let (name, nu, ..) = pairs.into_iter().fold(pairs[0], |a, b| if b.1 * b.1 * b.2 > a.1 * a.1 * a.2 { b } else { a });
    Err(error::Error::OutOfRange {
        quantity: name.into(),
        value: nu,
        unit: "",
        allowed: "smaller beside the other two Poisson ratios, or the material would create energy under pressure from all sides"
            .into(),
    })
}
