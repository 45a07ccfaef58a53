//! What two readings say of the width, in words.

use super::LearnedWidth;
use super::odds::{SOURCES, TOP};

/// A misfit beyond this is said.
pub const MISFIT: f64 = 3.0;

pub fn words(l: &LearnedWidth, load_known: bool, strip_mm: f64) -> Vec<String> {
    let round = |v: f64| if v < 9.95 { format!("{v:.1}") } else { format!("{v:.0}") };
    let (low, high) = l.interval_mm;
    let mut out = vec![if l.pinned {
        format!(
            "effective width {} mm, standard uncertainty {} mm used with this strip's modulus of the top ({} mm as a width of its own)",
            round(l.width_mm),
            round(l.u_used_mm),
            round(l.u_width_mm)
        )
    } else {
        format!(
            "these readings do not pin the effective width down: anything from {} to {} mm goes with them",
            round(low),
            round(high)
        )
    }];
    if let Some(by_gluing) = l.u_by_gluing_mm {
        let times = l.u_used_mm / by_gluing.max(1e-9);
        out.push(if times > 1.2 {
            format!(
                "readings before and after gluing, with the same gauge, would have left {} mm: {times:.1} times less. A cut changes \
                 the deflection by its depth first and by the top's share last",
                round(by_gluing)
            )
        } else {
            format!("readings before and after gluing, with the same gauge, would have left much the same, {} mm", round(by_gluing))
        });
        if !load_known {
            out.push(
                "give the load too: with a brace whose modulus is known, each reading's size tells more than their ratio".into(),
            );
        }
    }
    if l.misfit > MISFIT {
        out.push(format!(
            "look again: no width gives both readings; the best misses them by {:.1} standard uncertainties (dial, load, or the \
             brace's modulus?)",
            l.misfit
        ));
    }
    if low > strip_mm {
        out.push(format!(
            "look again: all of that is more than the strip's {} mm (the top's modulus, or a strip too narrow for this brace?)",
            round(strip_mm)
        ));
    }
    let own = |p: &&(String, f64)| p.0 != SOURCES[TOP];
    let most = l.parts.iter().filter(own).fold(("", 0.0), |m, p| if p.1 > m.1 { (p.0.as_str(), p.1) } else { m });
    if l.pinned && most.1 > 0.0 {
        out.push(format!("used so, most of the uncertainty comes from: {} ({} mm)", most.0, round(most.1)));
    }
    out
}
