//! How a maker of the virtual shop decides.

use std::sync::Arc;

use serde::{Deserialize, Serialize};

use crate::advice::{Kind, Rule, Window};
use crate::decide::{Aimed, Curves, Known, Look, Prior};
use crate::error::Result;

/// What a maker sees before each decision.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Turn {
    /// Passes carved so far.
    pub passes: usize,
    /// What the last pass aimed at, mm; `None` before the first.
    pub aimed_mm: Option<f64>,
    /// The dial as it stands, mm.
    pub reading_mm: f64,
    /// Its standard uncertainty as the maker reckons it, mm.
    pub u_mm: f64,
    /// Shavings of the last pass in the pan, g; `None` before the first.
    pub shavings_g: Option<f64>,
}

/// One maker at one brace.
pub trait Maker: Send {
    /// The depth to aim at next, mm; `None` to stop.
    fn next(&mut self, turn: &Turn) -> Option<f64>;
}

/// A way of deciding, followed by every maker of a run.
pub trait Policy: Sync {
    /// A maker with a new brace.
    fn maker(&self) -> Box<dyn Maker + '_>;
}

/// Carve once to a depth out of a book, reading nothing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BookHeight {
    /// The depth, mm.
    pub depth_mm: f64,
}

struct Once(f64);

impl Maker for Once {
    fn next(&mut self, turn: &Turn) -> Option<f64> {
        (turn.passes == 0 && self.0 > 0.0).then_some(self.0)
    }
}

impl Policy for BookHeight {
    fn maker(&self) -> Box<dyn Maker + '_> {
        Box::new(Once(self.depth_mm))
    }
}

/// Read, carve straight at the target as the last reading and the curve of the plan have it, and stop once the dial shows the
/// lower limit.
#[derive(Debug, Clone)]
pub struct StraightAtTarget {
    /// The plan's curves.
    pub curves: Arc<Curves>,
    /// The window, on the brace's own deflection.
    pub window: Window,
    /// What the supports give under the load on average, mm: taken off the dial.
    pub give_mm: f64,
    /// What the hand takes beyond its aim on average, as a part of it: aimed short by it.
    pub bias_fraction: f64,
}

struct Straight<'a> {
    policy: &'a StraightAtTarget,
    depth: f64,
}

impl Maker for Straight<'_> {
    fn next(&mut self, turn: &Turn) -> Option<f64> {
        let p = self.policy;
        let own_mm = (turn.reading_mm - p.give_mm).max(1e-6);
        if own_mm >= p.window.low_mm {
            return None;
        }
        let whole = p.curves.whole_depth_mm();
        let want = p.curves.ln_compliance(self.depth, 0.0).0 + (p.window.target_mm / own_mm).ln();
        let (mut lo, mut hi) = (self.depth, whole);
        for _ in 0..40 {
            let m = 0.5 * (lo + hi);
            if p.curves.ln_compliance(m, 0.0).0 < want { lo = m } else { hi = m }
        }
        let aim = lo - self.depth;
        if aim < 1e-3 {
            return None;
        }
        self.depth = lo;
        Some(aim / (1.0 + p.bias_fraction))
    }
}

impl Policy for StraightAtTarget {
    fn maker(&self) -> Box<dyn Maker + '_> {
        Box::new(Straight { policy: self, depth: 0.0 })
    }
}

/// The rule of [`crate::decide`]: everything read goes into what is known, and the pass is as deep as the chance allows.
#[derive(Debug, Clone)]
pub struct ByChance {
    start: Known,
    window: Window,
    rule: Rule,
    aimed: Aimed,
    u_scale_g: Option<f64>,
}

impl ByChance {
    /// The rule with what is believed of a brace before it is read. `u_scale_g` is the uncertainty of the shavings on the
    /// scale; they are not weighed when it is `None`.
    pub fn new(
        curves: &Arc<Curves>,
        prior: &Prior,
        window: &Window,
        rule: &Rule,
        aimed: Aimed,
        u_scale_g: Option<f64>,
    ) -> Result<Self> {
        window.check()?;
        Ok(Self { start: Known::new(curves, prior)?, window: *window, rule: rule.clone().checked()?, aimed, u_scale_g })
    }
}

struct Rational<'a> {
    policy: &'a ByChance,
    known: Known,
}

impl Maker for Rational<'_> {
    fn next(&mut self, turn: &Turn) -> Option<f64> {
        let p = self.policy;
        if let (Some(g), Some(u_g)) = (turn.shavings_g.filter(|g| *g > 0.0), p.u_scale_g) {
            self.known.take_in(&Look::Shavings { mass_g: g, u_g }).ok()?;
        }
        let look = Look::Deflection { deflection_mm: turn.reading_mm.max(1e-6), u_mm: turn.u_mm, load_ratio: 1.0 };
        // a maker alone with the brace cannot settle a doubtful reading: it is taken in, and the next one tells
        self.known.take_in(&look).ok()?;
        let (kind, aim) = self.known.quick_next(&p.window, &p.rule, p.aimed);
        if matches!(kind, Kind::Stop(_)) {
            return None;
        }
        self.known.carve(aim);
        Some(aim)
    }
}

impl Policy for ByChance {
    fn maker(&self) -> Box<dyn Maker + '_> {
        Box::new(Rational { policy: self, known: self.start.clone() })
    }
}
