//! Copying what a brace that pleased works at, onto another stick.

use serde::{Deserialize, Serialize};

use crate::blank::Blank;
use crate::brace::Brace;
use crate::error::{Error, Result, number, positive};
use crate::goal::Goal;
use crate::profile::Profile;
use crate::rig::{Reading, Rig};

/// A copy of a stiffness.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CopyReport {
    /// The brace on the new stick.
    pub brace: Brace,
    /// Stations, mm.
    pub x_mm: Vec<f64>,
    /// Working stiffness of the brace that pleased, N m2.
    pub wanted_n_m2: Vec<f64>,
    /// Working stiffness of the copy, N m2.
    pub copy_n_m2: Vec<f64>,
    /// Places where the new stick is too low or the floor too high to follow, mm.
    pub short_at_mm: Vec<f64>,
    /// Largest relative miss elsewhere.
    pub worst_miss: f64,
    /// Grams of the copy less those of the brace that pleased.
    pub grams_more: f64,
    /// The reading the copy should show on the rig, mm, so that it works as the other does.
    pub reading_mm: f64,
    /// Standard uncertainty of that figure, mm: what is not known of the brace that pleased (its reading, its size) and
    /// of the new stick's own modulus is not in it, because carving to the reading takes the latter out.
    pub u_mm: f64,
    /// The window to carve to: two standard uncertainties either side.
    pub window: Goal,
    /// The same in words.
    pub words: String,
}

/// Stations at which the shape is free.
const KNOTS: usize = 41;
/// Rounds of correction.
const ROUNDS: usize = 14;
/// Stretch over which the working stiffness is compared, mm.
const WINDOW_MM: f64 = 8.0;

/// The shape on `stick` whose working stiffness along the brace is that of `pleased`.
///
/// `reading`, taken of the brace that pleased on its own rig, makes its modulus known first; `rig` is where the copy
/// will be read. Each round raises or lowers the height at the knots by the cube root of the ratio of wanted to present
/// stiffness, inside the stick and above the floor, then solves the copy again.
pub fn copy_stiffness(
    pleased: &Brace,
    reading: Option<&Reading>,
    stick: &Blank,
    rig: &Rig,
    smallest_height_mm: f64,
) -> Result<CopyReport> {
    positive("smallest_height_mm", smallest_height_mm, "mm")?;
    let l = pleased.length_mm();
    if (stick.length_mm() - l).abs() > 1e-6 {
        return Err(Error::Refused(format!(
            "the new stick is {} mm long and the brace that pleased {} mm; saw it to the same length first",
            number(stick.length_mm()),
            number(l)
        )));
    }
    let known = match reading {
        Some(r) => pleased.with_blank(&pleased.blank().learn_carved(r, pleased)?)?,
        None => pleased.clone(),
    };
    let x: Vec<f64> = known.stations_mm(KNOTS);
    let (a, b) = known.couple_span_mm();
    let margin = 0.5 * WINDOW_MM;
    let wanted = known.working_at(&x, WINDOW_MM, known.resolution(0))?;
    let h0 = known.profile().height_mm(&x)?;
    let have: Vec<f64> = stick.start().height_mm(&x)?;
    let section = known.section();
    let width = stick.width_mm();
    let scale = (known.modulus_x_mpa()? * known.width_mm() / (1000.0 * stick.stiffness()?.e_x_gpa * width)).cbrt();
    let inside = |v: f64| v > a + margin && v < b - margin;
    let mut h: Vec<f64> = (0..KNOTS).map(|i| (h0[i] * scale).clamp(smallest_height_mm.min(h0[i]), have[i])).collect();
    let shape = |h: &[f64]| -> Result<Brace> {
        let p = Profile::measured(&x, h)?;
        // the curve between stations may stand a hair above an uneven stick
        let crest = p.crest().min(stick.start().crest());
        Ok(Brace::new(stick, stick.start(), section)?.with_crest(crest))
    };
    let mut copy = shape(&h)?;
    let mut works = copy.working_at(&x, WINDOW_MM, copy.resolution(0))?;
    for _ in 0..ROUNDS {
        let mut moved = 0.0_f64;
        let step: Vec<f64> =
            (0..KNOTS).map(|i| if inside(x[i]) && works[i] > 0.0 { (wanted[i] / works[i]).cbrt() } else { 1.0 }).collect();
        for i in 0..KNOTS {
            let next = (h[i] * step[i].clamp(0.8, 1.25)).clamp(smallest_height_mm.min(h0[i]), have[i]);
            moved = moved.max((next - h[i]).abs());
            h[i] = next;
        }
        copy = shape(&h)?;
        works = copy.working_at(&x, WINDOW_MM, copy.resolution(0))?;
        if moved < 2e-3 {
            break;
        }
    }
    let short: Vec<f64> = (0..KNOTS)
        .filter(|&i| {
            inside(x[i]) && wanted[i] > works[i] * 1.02 && h[i] >= have[i] - 1e-6
                || inside(x[i]) && wanted[i] < works[i] * 0.98 && h[i] <= smallest_height_mm + 1e-6
        })
        .map(|i| x[i])
        .collect();
    let worst = (0..KNOTS)
        .filter(|&i| inside(x[i]) && !short.contains(&x[i]))
        .map(|i| (works[i] / wanted[i] - 1.0).abs())
        .fold(0.0, f64::max);
    // the reading that says "works alike": the brace that pleased, on this rig
    let own = rig.load_n() * rig.compliance_mm_per_n(&known)?.0;
    let reading_mm = rig.dial_scale().0 * own + rig.load_n() * rig.give_mm_per_n().0;
    let u_known = own * known.blank().modulus_spread();
    let u_gauge = rig.gauge().u_mm()?;
    let u_mm = (u_known * u_known + u_gauge * u_gauge + (rig.load_n() * rig.give_mm_per_n().1).powi(2)).sqrt();
    let window = rig.between((reading_mm - 2.0 * u_mm).max(0.05 * reading_mm), reading_mm + 2.0 * u_mm)?;
    let grams_more = copy.mass_g()? - known.mass_g()?;
    let mut words = format!(
        "the copy should read {reading_mm:.3} mm on the {} rig (standard uncertainty {u_mm:.3}); it is {:.2} g {} than the brace that pleased",
        rig.name(),
        grams_more.abs(),
        if grams_more < 0.0 { "lighter" } else { "heavier" }
    );
    if short.is_empty() {
        words.push_str(&format!("; along the brace it works within {:.1} % of it", 100.0 * worst));
    } else {
        words.push_str(&format!(
            "; from x = {:.0} to {:.0} mm this stick cannot follow (too low, or the floor is reached)",
            short[0],
            short[short.len() - 1]
        ));
    }
    Ok(CopyReport {
        brace: copy,
        x_mm: x,
        wanted_n_m2: wanted,
        copy_n_m2: works,
        short_at_mm: short,
        worst_miss: worst,
        grams_more,
        reading_mm,
        u_mm,
        window,
        words,
    })
}
