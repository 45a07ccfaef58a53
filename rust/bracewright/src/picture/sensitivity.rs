//! What a millimetre and a gram cost at each place.

use super::axis::{Axis, Frame};
use super::shape::{side, tallest_mm};
use super::svg::{Fill, Pen, SMALL, Sheet, TEXT, Tie, WIDE};
use super::words::width;
use super::{all_finite, short};
use crate::brace::Brace;
use crate::carve::Sensitivity;
use crate::error::{Result, increasing, positive, same_length};

/// Stiffness lost per millimetre and per tenth of a gram at each place, as bars under the brace from the side. The dearest place of
/// each is hatched and named.
pub fn sensitivity_svg(s: &Sensitivity, brace: &Brace) -> Result<String> {
    increasing("x_mm", &s.x_mm, "mm", 1)?;
    brace.profile().on_brace("x_mm", &s.x_mm)?;
    positive("place_mm", s.place_mm, "mm")?;
    for (name, v, unit) in [("percent_per_mm", &s.percent_per_mm, "%/mm"), ("percent_per_gram", &s.percent_per_gram, "%/g")] {
        same_length("x_mm", s.x_mm.len(), name, v.len())?;
        all_finite(name, v, unit)?;
    }
    // a pass at the end of a job weighs tenths of a gram, not grams
    let per_tenth: Vec<f64> = s.percent_per_gram.iter().map(|v| 0.1 * v).collect();
    let (mm, gram) = (dearest(&s.percent_per_mm)[0], dearest(&per_tenth)[0]);
    let says = format!(
        "Dearest at {} mm: one millimetre over {} mm of length costs {} % of the stiffness on this rig. A tenth of a gram costs most at {} mm: {} %.",
        short(s.x_mm[mm], 0),
        short(s.place_mm, 1),
        short(s.percent_per_mm[mm], 2),
        short(s.x_mm[gram], 0),
        short(per_tenth[gram], 2)
    );
    let mut sheet = Sheet::new("What a cut costs, place by place", &says);
    let y = sheet.paragraph(20.0, 78.0, SMALL, WIDE - 40.0, &says);
    let l = brace.length_mm();
    let room = WIDE - 140.0;
    let (scale, h) = (room / l, tallest_mm(brace));
    let z_scale = (80.0 / h).max(scale.min(160.0 / h));
    let foot = y + 26.0 + z_scale * h;
    side(&mut sheet, brace, 104.0, foot, scale, z_scale, Pen::EDGE);
    sheet.text(94.0, foot - 2.0, SMALL, Tie::End, "brace");
    let upper = bars(&mut sheet, s, l, foot + 44.0, ("% lost per mm", &s.percent_per_mm), 2);
    let lower = bars(&mut sheet, s, l, upper.bottom() + 52.0, ("% lost per 0.1 g", &per_tenth), 2);
    let foot = lower.draw_x(&mut sheet, "mm from the left end");
    sheet.finish(foot + TEXT)
}

/// The dearest place, and those that come within a five-hundredth of it (the other side of a symmetrical brace); never
/// empty.
fn dearest(v: &[f64]) -> Vec<usize> {
    let most = v.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    (0..v.len()).filter(|&i| v[i] >= most - 0.002 * most.abs()).collect()
}

fn bars(sheet: &mut Sheet, s: &Sensitivity, l: f64, top: f64, (name, v): (&str, &[f64]), decimals: usize) -> Frame {
    let (low, high) = v.iter().fold((0.0, 0.0), |m: (f64, f64), &v| (m.0.min(v), m.1.max(v)));
    // a rounding below nothing is nothing
    let low = if low > -0.02 * high { 0.0 } else { low };
    let f =
        Frame { left: 104.0, top, width: WIDE - 140.0, height: 190.0, x: Axis::exact(0.0, l, 10), y: Axis::round(low, high, 4) };
    let dearest = dearest(v);
    let mut boxes: Vec<(f64, f64, f64, f64)> = Vec::new();
    let mut words = Vec::new();
    for &i in &dearest {
        let said = format!("{} %", short(v[i], decimals));
        let half = 0.5 * width(&said, TEXT);
        let (x, y) = (f.at_x(s.x_mm[i]).clamp(f.left + half, f.right() - half), f.at_y(v[i].max(0.0)) - 8.0);
        if boxes.iter().all(|b| x - half > b.2 + 8.0) {
            boxes.push((x - half - 4.0, y - TEXT, x + half + 4.0, y + 6.0));
            words.push((x, y, said));
        }
    }
    f.draw_y_around(sheet, name, &boxes);
    let zero = f.at_y(0.0);
    sheet.line(f.left, zero, f.right(), zero, Pen::THIN);
    for (i, &v) in v.iter().enumerate() {
        let (a, b) = (f.at_x((s.x_mm[i] - 0.43 * s.place_mm).max(0.0)), f.at_x((s.x_mm[i] + 0.43 * s.place_mm).min(l)));
        let y = f.at_y(v.max(low));
        let fill = if dearest.contains(&i) { Fill::Hatch(0) } else { Fill::Wood };
        sheet.rect(a, y.min(zero), b - a, (zero - y).abs(), if b - a > 6.0 { Pen::THIN } else { Pen::NONE }, fill);
    }
    for (x, y, said) in words {
        sheet.text(x, y, TEXT, Tie::Middle, &said);
    }
    f
}
