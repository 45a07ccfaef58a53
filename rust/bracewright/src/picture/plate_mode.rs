//! A mode of a bare plate: its nodal lines, where to hold, tap and listen.

use super::axis::{Axis, Frame, legend};
use super::short;
use super::svg::{Fill, Pen, SMALL, Sheet, TEXT, Tie, WIDE};
use crate::error::{Error, Result, finite};
use crate::tap::PlateTapAdvice;

/// The plate to scale, seen from above, with the nodal lines of one mode, two places to hold, one to tap and one to listen at.
pub fn plate_mode_svg(advice: &PlateTapAdvice) -> Result<String> {
    let places = advice.outline_mm.iter().chain(&advice.hold_mm).chain([&advice.tap_mm, &advice.listen_mm]);
    for (i, (x, y)) in places.chain(advice.nodal_lines_mm.iter().flatten()).enumerate() {
        finite(&format!("x_mm of place {}", i + 1), *x, "mm")?;
        finite(&format!("y_mm of place {}", i + 1), *y, "mm")?;
    }
    if advice.outline_mm.len() < 3 {
        return Err(Error::BadList { name: "outline_mm".into(), problem: "has fewer than three corners".into() });
    }
    let title = format!("Mode {} of the bare plate, near {} Hz", advice.label, short(advice.frequency_hz, 0));
    let mut sheet = Sheet::new(&title, &advice.words);
    let y = sheet.paragraph(20.0, 78.0, SMALL, WIDE - 40.0, &advice.words);
    let foot = legend(
        &mut sheet,
        y + 34.0,
        &[
            (&|s, x, y| s.line(x, y, x + 46.0, y, Pen::DASHED), "nodal line: still"),
            (&|s, x, y| hold(s, x + 23.0, y), "hold"),
            (&|s, x, y| tap(s, x + 23.0, y), "tap"),
            (&|s, x, y| listen(s, x + 23.0, y), "listen"),
        ],
    );
    let span = |of: fn(&(f64, f64)) -> f64| {
        advice.outline_mm.iter().map(of).fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| (l.min(v), h.max(v)))
    };
    let ((x0, x1), (y0, y1)) = (span(|p| p.0), span(|p| p.1));
    let room = WIDE - 150.0;
    // as large as the sheet is wide, and no taller than it is wide
    let scale = (room / (x1 - x0)).min(room / (y1 - y0));
    let f = Frame {
        left: 104.0,
        top: foot + 26.0,
        width: scale * (x1 - x0),
        height: scale * (y1 - y0),
        x: Axis::exact(x0, x1, 6),
        y: Axis::exact(y0, y1, 5),
    };
    let at = |p: &(f64, f64)| f.at(p.0, p.1);
    let all = |v: &[(f64, f64)]| v.iter().map(at).collect::<Vec<_>>();
    sheet.path(&all(&advice.outline_mm), true, Pen::EDGE, Fill::Wood);
    for line in &advice.nodal_lines_mm {
        sheet.path(&all(line), false, Pen::DASHED, Fill::None);
    }
    for p in &advice.hold_mm {
        let (x, y) = at(p);
        hold(&mut sheet, x, y);
    }
    let (x, y) = at(&advice.tap_mm);
    tap(&mut sheet, x, y);
    let (x, y) = at(&advice.listen_mm);
    listen(&mut sheet, x, y);
    for &t in &f.y.ticks {
        let y = f.at_y(t);
        sheet.line(f.left - 7.0, y, f.left, y, Pen::THIN);
        sheet.text(f.left - 12.0, y + 0.35 * SMALL, SMALL, Tie::End, &f.y.label(t));
    }
    sheet.upright(30.0, f.top + 0.5 * f.height, TEXT, Tie::Middle, "across the grain, mm");
    let foot = f.draw_x(&mut sheet, "along the grain, mm");
    sheet.finish(foot + TEXT)
}

fn hold(s: &mut Sheet, x: f64, y: f64) {
    s.dot(x, y, 10.0, Pen::EDGE, Fill::None);
    s.dot(x, y, 3.0, Pen::NONE, Fill::Ink);
}

fn tap(s: &mut Sheet, x: f64, y: f64) {
    s.line(x - 9.0, y - 9.0, x + 9.0, y + 9.0, Pen::HEAVY);
    s.line(x - 9.0, y + 9.0, x + 9.0, y - 9.0, Pen::HEAVY);
}

fn listen(s: &mut Sheet, x: f64, y: f64) {
    s.path(&[(x, y - 11.0), (x + 11.0, y + 8.0), (x - 11.0, y + 8.0)], true, Pen::EDGE, Fill::Ink);
}
