//! A brace of the virtual shop: wood nobody sees, carved by a hand that errs, read by a rig that errs.

use rand::SeedableRng;
use rand_distr::{Distribution, StandardNormal, Uniform};
use rand_xoshiro::Xoshiro256PlusPlus;

use super::ShopSettings;
use super::stations::Stations;
use crate::blank::law;
use crate::brace::Brace;
use crate::carve::Plan;
use crate::error::Result;
use crate::fit::Beam;
use crate::mechanics::pieces::Pieces;
use crate::mechanics::quadrature::merge_breaks;
use crate::mechanics::resolved::Law;
use crate::rig::Rig;
use crate::wood::Quantity;

/// Distance of the places at which wood and hand are drawn; between them they go straight, mm.
const STEP_MM: f64 = 15.0;
/// A hand never goes through: this part of the tallest height stays.
const LEAST_OF_HEIGHT: f64 = 0.05;
/// Gauss points between two kinks of the section beam: the wood goes straight between its places, and knots are short.
const SECTION_POINTS: usize = 4;
/// Change of the modulus per percent of moisture, relative: Wood Handbook Eq. 5-3, ln(10.8/8.5)/(25 - 12) with the dry and green
/// moduli of Sitka spruce, GPa (from memory).
const MODULUS_PER_PERCENT: f64 = -0.018;

/// What all braces of a run share.
pub(super) struct Scene<'a> {
    pub plan: &'a Plan,
    pub rig: &'a Rig,
    pub settings: &'a ShopSettings,
    pub places_mm: Vec<f64>,
    pub whole_mm: f64,
    pub tallest_mm: f64,
    pub stations: Option<Stations>,
}

impl<'a> Scene<'a> {
    pub fn new(plan: &'a Plan, rig: &'a Rig, settings: &'a ShopSettings) -> Result<Self> {
        let places_mm = places_mm(plan);
        let stations = match settings.beam {
            Beam::Section => Stations::new(plan, rig, &places_mm)?,
            Beam::Resolved => None,
        };
        Ok(Self {
            plan,
            rig,
            settings,
            whole_mm: plan.whole_depth_mm(),
            tallest_mm: plan.start.profile().tallest_mm(),
            places_mm,
            stations,
        })
    }
}

/// How a brace stands: as a solid, or by its heights at the stations of a run.
enum Shape<'a> {
    Solid(Box<Brace>),
    Heights(&'a Stations, Vec<f64>),
}

/// Places along a brace at which wood and hand are drawn, mm.
fn places_mm(plan: &Plan) -> Vec<f64> {
    let length = plan.start.length_mm();
    let places = (length / STEP_MM).ceil() as usize + 1;
    (0..places).map(|k| length * k as f64 / (places - 1) as f64).collect()
}

/// What is hidden of one brace, and how it stands.
pub(super) struct HiddenBrace<'a> {
    plan: &'a Plan,
    rig: &'a Rig,
    settings: &'a ShopSettings,
    rng: Xoshiro256PlusPlus,
    x_mm: Vec<f64>,
    /// Modulus over that of the plan's blank, at every place.
    modulus: Vec<f64>,
    density: f64,
    /// Laws at the plan's modulus: sound wood, and wood beside a knot.
    laws: [[Law; 2]; 2],
    /// The same for the section beam: E and G, MPa.
    moduli: [(f64, f64); 2],
    knots_mm: Vec<f64>,
    give: f64,
    bias: f64,
    moisture: f64,
    now: Shape<'a>,
    whole_mm: f64,
    most_mm: f64,
    /// Depth the maker believes to have taken, mm.
    believed_mm: f64,
}

impl<'a> HiddenBrace<'a> {
    pub fn new(scene: &'a Scene, seed: u64, number: u64) -> Result<Self> {
        let Scene { plan, rig, settings, stations, .. } = scene;
        let mut rng = Xoshiro256PlusPlus::seed_from_u64(seed ^ number.wrapping_mul(0x9e37_79b9_7f4a_7c15));
        let s = settings;
        let length = plan.start.length_mm();
        let x_mm = scene.places_mm.clone();
        let between = (s.modulus_between * normal(&mut rng)).exp();
        let reach = even(&mut rng, s.modulus_length_mm);
        let along = wandering(&mut rng, &x_mm, reach);
        let modulus = along.iter().map(|v| between * (1.0 + s.modulus_along * v).max(0.2)).collect();
        let density = (s.density_between * normal(&mut rng)).exp();
        let (shear, across) = (even(&mut rng, s.shear_ratio), even(&mut rng, s.across_ratio));
        let wood = plan.start.blank().wood();
        // what lies across the grain keeps its proportions
        let by = |q: Quantity, factor: f64| wood.value(q).map(|v| (q, v * factor));
        let lateral = across / wood.value(Quantity::EtEl).unwrap_or(across);
        let sheared = shear / wood.value(Quantity::GltEl).unwrap_or(shear);
        let changed: Vec<(Quantity, f64)> = [
            by(Quantity::ErEl, lateral),
            by(Quantity::EtEl, lateral),
            by(Quantity::GlrEl, sheared),
            by(Quantity::GltEl, sheared),
        ]
        .into_iter()
        .flatten()
        .collect();
        let hidden = wood.with_values(&changed)?;
        let blank = plan.start.blank().with_wood(&hidden)?;
        let run_out = (s.run_out * normal(&mut rng)).clamp(-0.9, 0.9);
        let scale = blank.modulus_gpa() / hidden.modulus_l_gpa();
        let crossing = blank.laws()?[1];
        let of = |slope: f64| hidden.plane_stiffness(blank.ring_angle_deg(), slope, 0.0)?.scaled(scale);
        let woods = [of(run_out)?, of((run_out + s.knot_run_out).min(0.9))?];
        let laws = [[law(&woods[0]), crossing], [law(&woods[1]), crossing]];
        let moduli = [0, 1].map(|k: usize| (1000.0 * woods[k].e_x_gpa, 1000.0 * woods[k].g_xz_gpa));
        let mut knots_mm = Vec::new();
        if s.knots > 0.0 {
            // arrivals along the brace at the mean rate
            let mut at = 0.0;
            loop {
                at -= length / s.knots * even(&mut rng, (1e-12, 1.0)).ln();
                if at > length {
                    break;
                }
                knots_mm.push(at);
            }
        }
        let give = even(&mut rng, s.give_mm_per_n);
        let bias = s.hand_bias + s.hand_between * normal(&mut rng);
        let now = match stations {
            Some(s) => Shape::Heights(s, s.start_mm()),
            None => Shape::Solid(Box::new(plan.at_depth(0.0)?)),
        };
        Ok(Self {
            plan,
            rig,
            settings,
            rng,
            x_mm,
            modulus,
            density,
            laws,
            moduli,
            knots_mm,
            give,
            bias,
            moisture: 0.0,
            now,
            whole_mm: scene.whole_mm,
            most_mm: LEAST_OF_HEIGHT * scene.tallest_mm,
            believed_mm: 0.0,
        })
    }

    /// Young's modulus of the stick, mean along it, GPa.
    pub fn modulus_gpa(&self) -> f64 {
        self.plan.start.blank().modulus_gpa() * self.modulus.iter().sum::<f64>() / self.modulus.len() as f64
    }

    /// Deflection of the brace itself as it stands, in the climate of the first reading, mm.
    pub fn own_mm(&self) -> Result<f64> {
        let half = 0.5 * self.settings.knot_length_mm;
        let knotty = |x: f64| usize::from(self.knots_mm.iter().any(|k| (x - k).abs() < half));
        let brace = match &self.now {
            Shape::Heights(s, heights) => {
                return Ok(s.deflection_mm(heights, |i| {
                    let (m, (e, g)) = (s.drawn(i, &self.modulus), self.moduli[knotty(s.x_mm[i])]);
                    (m * e, m * g)
                }));
            }
            Shape::Solid(brace) => brace,
        };
        let (loads, supports, at) = self.rig.on(brace, 0.0)?;
        if self.settings.beam == Beam::Section {
            let moduli = |x: f64| {
                let (m, (e, g)) = (straight(&self.x_mm, &self.modulus, x), self.moduli[knotty(x)]);
                (m * e, m * g)
            };
            return Ok(brace.varied_section_bend(&loads, &supports, &[at], SECTION_POINTS, &moduli)?.0[0]);
        }
        let laws = |x: f64| {
            let m = straight(&self.x_mm, &self.modulus, x);
            self.laws[knotty(x)].map(|l| Law { c: l.c.map(|row| row.map(|v| v * m)) })
        };
        brace.varied_deflection(&loads, &supports, at, self.rig.dial(), &laws)
    }

    /// The dial: the mean of some readings on one seat, each to the dial's step, mm.
    pub fn read_mm(&mut self, own_mm: f64) -> f64 {
        let s = self.settings;
        let damp = 1.0 + MODULUS_PER_PERCENT * self.moisture;
        let seat = s.reseat_mm * normal(&mut self.rng);
        let true_mm = own_mm / damp + self.rig.load_n() * self.give + seat;
        let step = |v: f64| if s.dial_step_mm > 0.0 { (v / s.dial_step_mm).round() * s.dial_step_mm } else { v };
        let sum: f64 = (0..s.readings).map(|_| step(true_mm + s.dial_repeat_mm * normal(&mut self.rng))).sum();
        self.moisture += s.moisture_percent * normal(&mut self.rng);
        sum / f64::from(s.readings)
    }

    /// Carves with this aim; what went into the pan, g, and what really came off, g.
    pub fn carve(&mut self, aim_mm: f64) -> Result<(f64, f64)> {
        let s = self.settings;
        let (from, to) = (self.believed_mm, self.believed_mm + aim_mm);
        let slip = (1.0 + self.bias + s.hand_pass * normal(&mut self.rng)).max(0.0);
        let more = s.hand_mm * normal(&mut self.rng);
        let uneven = wandering(&mut self.rng, &self.x_mm, s.hand_length_mm);
        let least = self.most_mm;
        // what a height becomes where the plan takes so much and the hand is so uneven
        let carved = |stands: f64, take: f64, uneven: f64| {
            let part = if aim_mm > 0.0 { take / aim_mm } else { 0.0 };
            let off = take * (slip + s.hand_scatter * uneven) + more * part;
            stands - off.clamp(0.0, (stands - least).max(0.0))
        };
        let off = match &mut self.now {
            Shape::Heights(stations, heights) => {
                let before = stations.mass_g(heights);
                for (i, h) in heights.iter_mut().enumerate() {
                    let take = (stations.planned_mm(i, from) - stations.planned_mm(i, to)).max(0.0);
                    *h = carved(*h, take, stations.drawn(i, &uneven));
                }
                before - stations.mass_g(heights)
            }
            Shape::Solid(now) => {
                let (before, after) = (self.plan.at_depth(from)?, self.plan.at_depth(to)?);
                let (top, bottom, stands) = (before.profile().crest(), after.profile().crest(), now.profile().crest());
                let length = now.length_mm();
                let breaks =
                    merge_breaks(0.0, length, &[top.breaks(), bottom.breaks(), stands.breaks(), &self.x_mm], 1e-6 * length);
                let crest = Pieces::fit(&breaks, 1e-5, |x| {
                    carved(stands.at(x), (top.at(x) - bottom.at(x)).max(0.0), straight(&self.x_mm, &uneven, x))
                });
                let next = now.with_crest(crest);
                let off = now.mass_g()? - next.mass_g()?;
                **now = next;
                off
            }
        };
        let off = self.density * off;
        self.believed_mm = to.min(self.whole_mm);
        let kept = off * (1.0 - s.shavings_lost);
        let pan = if s.scale_step_g > 0.0 { (kept / s.scale_step_g).round() * s.scale_step_g } else { kept };
        Ok((pan.max(0.0), off))
    }
}

fn normal(rng: &mut Xoshiro256PlusPlus) -> f64 {
    StandardNormal.sample(rng)
}

/// Even between two figures, which may be one.
fn even(rng: &mut Xoshiro256PlusPlus, (low, high): (f64, f64)) -> f64 {
    Uniform::new_inclusive(low, high).map_or(low, |u| u.sample(rng))
}

/// Unit normals at the places, neighbours alike over `reach_mm` (correlation exp(-distance / reach)).
fn wandering(rng: &mut Xoshiro256PlusPlus, x_mm: &[f64], reach_mm: f64) -> Vec<f64> {
    let mut v = normal(rng);
    let mut out = vec![v];
    for w in x_mm.windows(2) {
        let r = (-(w[1] - w[0]) / reach_mm).exp();
        v = r * v + (1.0 - r * r).sqrt() * normal(rng);
        out.push(v);
    }
    out
}

/// Straight between the places.
fn straight(x_mm: &[f64], v: &[f64], x: f64) -> f64 {
    let i = x_mm.partition_point(|p| *p <= x).clamp(1, x_mm.len() - 1) - 1;
    let t = ((x - x_mm[i]) / (x_mm[i + 1] - x_mm[i])).clamp(0.0, 1.0);
    v[i] + t * (v[i + 1] - v[i])
}
