//! What rotation and arch do to saddle, action and pitch.

use serde::{Deserialize, Serialize};

use crate::cautions::{Hazard, cautions};
use crate::error::{Result, number, within};

/// Saddle and action after a rotation of the bridge and a change of the arch.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ActionChange {
    /// How far the saddle's crown came towards the nut, mm.
    pub forward_mm: f64,
    /// How far it rose, mm; below 0 it sank.
    pub rise_mm: f64,
    /// Change of the action at the fret, mm.
    pub action_mm: f64,
    /// The fret.
    pub fret: f64,
    /// What to take off the saddle (above 0) or add (below 0) to have the old action back, mm.
    pub off_saddle_mm: f64,
    /// How much sharp the shorter string sounds at the same tension and fret, cents; open it is tuned away.
    pub cents: f64,
    /// The same, in words.
    pub words: Vec<String>,
}

/// What a bridge rotation (forward, -10 to 10 degrees) and a rise of the arch under it (-20 to 20 mm; wetter air, belly) do.
///
/// The bridge turns about a point in the top `pivot_behind_mm` behind the saddle (-60 to 60): the crown, `height_mm` (2 to 60) above it,
/// comes forward by h sin r - q (1 - cos r) and sinks by q sin r + h (1 - cos r). At a fret the string lies 1 - 2^(-fret/12) of
/// the saddle's change nearer: half of it at the 12th (1 to 24). Neck and nut are taken to stay.
pub fn action_change(
    rotation_deg: f64,
    arch_rise_mm: f64,
    height_mm: f64,
    pivot_behind_mm: f64,
    scale_mm: f64,
    fret: f64,
) -> Result<ActionChange> {
    let r = within("rotation_deg", rotation_deg, "deg", -10.0, 10.0)?.to_radians();
    let arch = within("arch_rise_mm", arch_rise_mm, "mm", -20.0, 20.0)?;
    let h = within("height_mm", height_mm, "mm", 2.0, 60.0)?;
    let q = within("pivot_behind_mm", pivot_behind_mm, "mm", -60.0, 60.0)?;
    let l = within("scale_mm", scale_mm, "mm", 200.0, 1200.0)?;
    let fret = within("fret", fret, "", 1.0, 24.0)?;
    let (sin, cos) = r.sin_cos();
    let forward = h * sin - q * (1.0 - cos);
    let rise = arch - q * sin - h * (1.0 - cos);
    let action = rise * (1.0 - (-fret / 12.0).exp2());
    let cents = 1200.0 * (l / (l - forward)).log2();
    Ok(ActionChange {
        forward_mm: forward,
        rise_mm: rise,
        action_mm: action,
        fret,
        off_saddle_mm: rise,
        cents,
        words: vec![
            format!(
                "the crown comes {forward:+.2} mm towards the nut ({cents:+.1} cents) and {} by {:.2} mm",
                if rise < 0.0 { "sinks" } else { "rises" },
                rise.abs()
            ),
            format!(
                "action at fret {}: {action:+.2} mm; {} {:.2} mm {} the saddle to have it back",
                number(fret),
                if rise < 0.0 { "add" } else { "take" },
                rise.abs(),
                if rise < 0.0 { "to" } else { "off" }
            ),
        ],
    })
}

impl ActionChange {
    /// What to mind.
    pub fn cautions(&self) -> Vec<String> {
        cautions(&[Hazard::Strings, Hazard::Dust, Hazard::Estimate])
    }
}
