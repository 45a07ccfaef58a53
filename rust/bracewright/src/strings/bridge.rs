//! The bridge as a free body: what the strings do to it, to its glue and to the top.
//!
//! Axes: x from the saddle towards the tail, z up from the top's outer face, the middle of its thickness at z = -t/2. A string
//! of tension T stands `hs` above the face at the saddle. Towards the nut it falls by the neck angle n (set-back neck: n > 0),
//! behind the saddle it falls by b = atan((hs - he)/p) to where it leaves, `he` above the face and `p` behind the saddle. It turns
//! at the saddle by the break angle n + b, so the saddle is pressed by 2 T sin((n + b)/2).
//!
//! **Bridge, top and string ends together** feel only the string in front of the saddle, T (-cos n, -sin n) at (0, hs): a pull
//! T cos n towards the nut, a net press T sin n, and about the point of the mid-surface below the saddle the couple
//! T cos n (hs + t/2), which lifts the top behind the bridge and sinks it before. That is the same whichever way the strings end.
//!
//! **The bridge alone** is where the two kinds differ. *Tie bridge*: the strings end in it, so all they do to each other inside
//! it cancels, and the glue carries the whole of that force: its couple about the middle of the foot in the glue plane, at x = c, is
//! T (cos n hs + sin n c). *Pin bridge*: each string turns down into its hole at x = p and its ball end bears on the plate below the
//! top, pulling it up by T; at the hole's edge the same T presses the bridge down. The glue's couple is then
//! T (cos n hs + sin n c - (p - c)) and the foot is pressed by T (1 + sin n): ball ends that bear well clamp the foot. The couple
//! on the top is the same; only its way there differs. Holes are taken square to the top, without friction; with friction, worn
//! holes or ball ends on the edge of the plate the clamping is lost, so the peel index counts the whole couple for both kinds.

use serde::{Deserialize, Serialize};

use super::set::Tensions;
use crate::cautions::{Hazard, cautions};
use crate::error::{Error, Result, number, within};

/// How the strings end.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum BridgeKind {
    /// Ball ends under the plate, held by pins.
    Pin,
    /// Tied through holes in the bridge.
    Tie,
}

impl BridgeKind {
    /// Its word.
    pub fn words(self) -> &'static str {
        match self {
            BridgeKind::Pin => "pin",
            BridgeKind::Tie => "tie",
        }
    }
}

/// A bridge as a rule measures it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Bridge {
    /// How the strings end.
    pub kind: BridgeKind,
    /// Height of the strings above the top at the saddle, mm.
    pub saddle_height_mm: f64,
    /// Its standard uncertainty, mm.
    pub u_saddle_height_mm: f64,
    /// Height above the top of the place where the strings leave: the bridge's upper face at the pin holes, or the tie holes.
    pub end_height_mm: f64,
    /// Distance of that place behind the saddle, mm.
    pub end_behind_mm: f64,
    /// Length of the glued foot across the top, mm.
    pub foot_length_mm: f64,
    /// Its width fore and aft, mm.
    pub foot_width_mm: f64,
    /// Distance of the saddle behind the front edge of the foot, mm.
    pub saddle_from_front_mm: f64,
    /// Thickness of the top under it, mm.
    pub top_thickness_mm: f64,
    /// Angle by which the strings fall from saddle to nut, degrees.
    pub neck_angle_deg: f64,
}

/// What a set does to a bridge.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct BridgeLoad {
    /// The bridge.
    pub bridge: Bridge,
    /// Tension of all strings, N.
    pub total_n: f64,
    /// Its standard uncertainty, N.
    pub u_total_n: f64,
    /// Height of the strings above the middle of the top's thickness, mm.
    pub height_mm: f64,
    /// Angle the strings turn by at the saddle, degrees.
    pub break_angle_deg: f64,
    /// Force on the saddle, N: 2 T sin(break angle / 2).
    pub saddle_n: f64,
    /// Pull towards the nut, N.
    pub along_n: f64,
    /// Net press on the top, N; below 0 it is lifted.
    pub net_down_n: f64,
    /// Couple on the top about the middle of its thickness below the saddle, N m.
    pub couple_n_m: f64,
    /// Its standard uncertainty, N m.
    pub u_couple_n_m: f64,
    /// Pull upwards where the strings end, N: on the plate under a pin bridge, on the tie block of a tie bridge.
    pub ends_up_n: f64,
    /// Mean shear in the glue of the foot, MPa.
    pub foot_shear_mpa: f64,
    /// Peel at the rear edge of the foot as an index, MPa: 6 M / (l w^2) with the whole couple. The real peak is higher, perhaps
    /// three to five times (a guess).
    pub peel_index_mpa: f64,
    /// Couple that the glue carries in the free body of this kind of bridge, N m.
    pub foot_couple_n_m: f64,
    /// Stress across the glue at the rear edge in that free body, MPa: tension above 0, pressed below.
    pub rear_edge_mpa: f64,
    /// What should be known, as sentences.
    pub words: Vec<String>,
}

impl Bridge {
    /// Itself, unless a size is out of range or sizes contradict each other.
    pub fn checked(self) -> Result<Self> {
        within("saddle_height_mm", self.saddle_height_mm, "mm", 2.0, 60.0)?;
        within("u_saddle_height_mm", self.u_saddle_height_mm, "mm", 0.0, 5.0)?;
        within("end_height_mm", self.end_height_mm, "mm", -20.0, 60.0)?;
        within("end_behind_mm", self.end_behind_mm, "mm", 1.0, 100.0)?;
        within("foot_length_mm", self.foot_length_mm, "mm", 20.0, 400.0)?;
        within("foot_width_mm", self.foot_width_mm, "mm", 5.0, 150.0)?;
        within("saddle_from_front_mm", self.saddle_from_front_mm, "mm", 0.0, self.foot_width_mm)?;
        within("top_thickness_mm", self.top_thickness_mm, "mm", 0.0, 20.0)?;
        within("neck_angle_deg", self.neck_angle_deg, "deg", -10.0, 10.0)?;
        if self.end_height_mm >= self.saddle_height_mm {
            return Err(Error::OutOfRange {
                quantity: "end_height_mm".into(),
                value: self.end_height_mm,
                unit: "mm",
                allowed: format!("below the string at the saddle, {} mm", number(self.saddle_height_mm)),
            });
        }
        if self.break_angle_deg() <= 0.0 {
            return Err(Error::OutOfRange {
                quantity: "neck_angle_deg".into(),
                value: self.neck_angle_deg,
                unit: "deg",
                allowed: "such that the strings still press on the saddle: they rise to the nut more than they fall behind it"
                    .into(),
            });
        }
        Ok(self)
    }

    fn behind(&self) -> f64 {
        ((self.saddle_height_mm - self.end_height_mm) / self.end_behind_mm).atan()
    }

    /// Angle the strings turn by at the saddle, degrees.
    pub fn break_angle_deg(&self) -> f64 {
        self.behind().to_degrees() + self.neck_angle_deg
    }

    /// What a set does to it.
    pub fn load(&self, set: &Tensions) -> Result<BridgeLoad> {
        self.load_of(set.total_n, set.u_total_n)
    }

    /// What so much tension in all strings does to it, N (0 to 3000) with its standard uncertainty.
    pub fn load_of(&self, total_n: f64, u_total_n: f64) -> Result<BridgeLoad> {
        let b = self.checked()?;
        let t = within("total_n", total_n, "N", 0.0, 3000.0)?;
        let u = within("u_total_n", u_total_n, "N", 0.0, 1000.0)?;
        let (sin, cos) = b.neck_angle_deg.to_radians().sin_cos();
        let height = b.saddle_height_mm + 0.5 * b.top_thickness_mm;
        let turn = b.break_angle_deg().to_radians();
        let couple = 1e-3 * t * cos * height;
        let u_couple = 1e-3 * cos * (height * u).hypot(t * b.u_saddle_height_mm);
        let centre = 0.5 * b.foot_width_mm - b.saddle_from_front_mm;
        let (held, pressed, ends_up) = match b.kind {
            BridgeKind::Pin => (b.end_behind_mm - centre, t * (1.0 + sin), t),
            BridgeKind::Tie => (0.0, t * sin, t * b.behind().sin()),
        };
        let foot_couple = 1e-3 * t * (cos * b.saddle_height_mm + sin * centre - held);
        let (l, w) = (b.foot_length_mm, b.foot_width_mm);
        let peel = |m: f64| 6.0 * 1000.0 * m / (l * w * w);
        let (index, rear) = (peel(couple), peel(foot_couple) - pressed / (l * w));
        let mut words = vec![
            format!(
                "{t:.0} N at {height:.1} mm above the middle of the top: a couple of {couple:.2} N m (u {u_couple:.2}) that lifts behind the \
                 bridge and sinks before it"
            ),
            format!(
                "break angle {:.1} degrees, the saddle is pressed by {:.0} N; net {} on the top {:.0} N",
                b.break_angle_deg(),
                2.0 * t * (0.5 * turn).sin(),
                if sin < 0.0 { "lift" } else { "press" },
                (t * sin).abs()
            ),
            match b.kind {
                BridgeKind::Pin => format!(
                    "pin bridge: the ball ends pull the plate up by {t:.0} N at the pins and press the bridge down as much; where they bear \
                     well the glue's rear edge stands at {rear:.2} MPa ({})",
                    if rear > 0.0 { "pulled" } else { "pressed" }
                ),
                BridgeKind::Tie => format!(
                    "tie bridge: the strings end in it and the glue carries the whole couple; its rear edge stands at {rear:.2} MPa ({})",
                    if rear > 0.0 { "pulled" } else { "pressed" }
                ),
            },
            format!(
                "glue of the foot: mean shear {:.2} MPa, peel index {index:.2} MPa at the rear edge, linear and with the whole couple; \
                 the real peak is higher",
                t * cos / (l * w)
            ),
        ];
        if b.break_angle_deg() < 15.0 {
            words.push(format!(
                "a break angle of {:.1} degrees is shallow: below some 15 strings tend to buzz at the saddle (common practice)",
                b.break_angle_deg()
            ));
        }
        Ok(BridgeLoad {
            bridge: b,
            total_n: t,
            u_total_n: u,
            height_mm: height,
            break_angle_deg: b.break_angle_deg(),
            saddle_n: 2.0 * t * (0.5 * turn).sin(),
            along_n: t * cos,
            net_down_n: t * sin,
            couple_n_m: couple,
            u_couple_n_m: u_couple,
            ends_up_n: ends_up,
            foot_shear_mpa: t * cos / (l * w),
            peel_index_mpa: index,
            foot_couple_n_m: foot_couple,
            rear_edge_mpa: rear,
            words,
        })
    }
}

impl BridgeLoad {
    /// What to mind with strings on.
    pub fn cautions(&self) -> Vec<String> {
        cautions(&[Hazard::Strings, Hazard::LongLoad, Hazard::Heat, Hazard::Estimate])
    }
}
