//! Mode shapes over a stick, as curves, or over a plate, as discs: filled where it moves one way, open with a bar where it
//! moves the other.

use super::axis::{Axis, Frame};
use super::svg::{Fill, Pen, SMALL, Sheet, TEXT, Tie, WIDE};
use super::words::width;
use crate::error::{Error, Result};
use crate::roving::{RovingModes, ShapeMode};

const LEFT: f64 = 112.0;
const RIGHT: f64 = 40.0;
/// Most modes on a sheet.
const MOST: usize = 12;

/// Every mode's shape over the points, with frequency, Q and what its points say of each other in words.
pub fn mode_shapes_svg(title: &str, found: &RovingModes) -> Result<String> {
    if found.modes.is_empty() {
        return Err(Error::Refused("there is no mode to draw".into()));
    }
    if found.modes.len() > MOST {
        return Err(Error::Refused(format!(
            "there are {} modes; a sheet holds {MOST}: look for fewer or in a narrower band",
            found.modes.len()
        )));
    }
    for (i, p) in found.points_mm.iter().enumerate() {
        super::all_finite(&format!("points_mm[{i}]"), &[p.0, p.1], "mm")?;
    }
    for m in &found.modes {
        super::all_finite("shape", &m.shape, "")?;
        super::all_finite("u_shape", &m.u_shape, "")?;
        crate::error::same_length("points_mm", found.points_mm.len(), "shape", m.shape.len())?;
    }
    let list: Vec<String> = found.modes.iter().map(|m| format!("{:.1} Hz", m.frequency_hz)).collect();
    let mut sheet = Sheet::new(title, &format!("Shapes of {} modes: {}.", list.len(), list.join(", ")));
    let foot = match along(&found.points_mm) {
        Some(order) => sticks(&mut sheet, found, &order, 66.0),
        None => plates(&mut sheet, found, 66.0),
    };
    let mut y = foot + 40.0;
    for w in found.words.iter().take(4) {
        y = sheet.paragraph(20.0, y, SMALL, WIDE - 40.0, w) + 1.5 * SMALL;
    }
    sheet.finish(y)
}

/// Points that lie on a line: places along it, in order. `None` when they do not.
fn along(points: &[(f64, f64)]) -> Option<Vec<(f64, usize)>> {
    let spread = |f: fn(&(f64, f64)) -> f64| {
        points.iter().map(f).fold(f64::NEG_INFINITY, f64::max) - points.iter().map(f).fold(f64::INFINITY, f64::min)
    };
    let (dx, dy) = (spread(|p| p.0), spread(|p| p.1));
    let by_x = dx >= dy;
    if dx.min(dy) > 0.02 * dx.max(dy) {
        return None;
    }
    let mut order: Vec<(f64, usize)> = points.iter().enumerate().map(|(i, p)| (if by_x { p.0 } else { p.1 }, i)).collect();
    order.sort_by(|a, b| a.0.total_cmp(&b.0));
    Some(order)
}

fn said(m: &ShapeMode) -> String {
    let mut words = format!("{:.2} Hz, Q {:.1}", m.frequency_hz, m.quality());
    if let Some(g) = m.modal_mass_g {
        words.push_str(&format!(", modal mass {} g", super::short(g, 2)));
    }
    if m.collinearity < 0.95 {
        words.push_str(&format!(", collinearity {:.2}", m.collinearity));
    }
    words
}

fn sticks(sheet: &mut Sheet, found: &RovingModes, order: &[(f64, usize)], top: f64) -> f64 {
    let (first, last) = (order[0].0, order[order.len() - 1].0);
    let mut foot = top;
    let count = found.modes.len();
    for (k, m) in found.modes.iter().enumerate() {
        sheet.text(LEFT, foot + TEXT, TEXT, Tie::Start, &said(m));
        let f = Frame {
            left: LEFT,
            top: foot + TEXT + 14.0,
            width: WIDE - LEFT - RIGHT,
            height: 130.0,
            x: Axis::exact(first, last, 10),
            y: Axis::exact(-1.1, 1.1, 4),
        };
        f.draw_y(sheet, "shape");
        sheet.line(f.left, f.at_y(0.0), f.right(), f.at_y(0.0), Pen::DASHED);
        let line: Vec<(f64, f64)> = order.iter().map(|&(x, p)| f.at(x, m.shape[p])).collect();
        sheet.path(&line, false, Pen { width: 2.2, ..Pen::EDGE }, Fill::None);
        for &(x, p) in order {
            let (px, py) = f.at(x, m.shape[p]);
            let u = 2.0 * m.u_shape[p] * f.height / (f.y.high - f.y.low);
            if u > 7.0 {
                sheet.line(px, (py - u).max(f.top), px, (py + u).min(f.bottom()), Pen::THIN);
            }
            sheet.dot(px, py, 6.0, Pen::NONE, Fill::Ink);
        }
        foot = if k + 1 == count { f.draw_x(sheet, "place along the line of taps, mm") } else { f.bottom() + 26.0 };
    }
    foot
}

fn plates(sheet: &mut Sheet, found: &RovingModes, top: f64) -> f64 {
    let bound = |f: fn(&(f64, f64)) -> f64| {
        found.points_mm.iter().map(f).fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| (l.min(v), h.max(v)))
    };
    let ((x0, x1), (y0, y1)) = (bound(|p| p.0), bound(|p| p.1));
    // the nearest neighbour decides how large a disc may be
    let mut gap = f64::INFINITY;
    for (i, a) in found.points_mm.iter().enumerate() {
        for b in &found.points_mm[i + 1..] {
            let d = (a.0 - b.0).hypot(a.1 - b.1);
            gap = if d > 0.0 { gap.min(d) } else { gap };
        }
    }
    let columns = if found.modes.len() == 1 { 1 } else { 2 };
    let across = (WIDE - 60.0) / columns as f64 - 20.0;
    let room = 0.5 * gap.min(0.25 * (x1 - x0).max(y1 - y0));
    let scale = (across / (x1 - x0 + 2.0 * room)).min(520.0 / (y1 - y0 + 2.0 * room));
    let (wide, high) = (scale * (x1 - x0 + 2.0 * room), scale * (y1 - y0 + 2.0 * room));
    let (pitch, largest) = (across + 20.0, (scale * room * 0.94).clamp(3.0, 40.0));
    let sample = |k: usize| {
        move |s: &mut Sheet, x: f64, y: f64| match k {
            0 => disc(s, x + 24.0, y, 11.0, 1.0),
            _ => disc(s, x + 24.0, y, 11.0, -1.0),
        }
    };
    let (up, down) = (sample(0), sample(1));
    let foot =
        super::axis::legend(sheet, top + 6.0, &[(&up, "moves one way"), (&down, "the other way; the size of a disc is how far")]);
    let block = high + 2.4 * TEXT + 26.0;
    for (k, m) in found.modes.iter().enumerate() {
        let left = 30.0 + pitch * (k % columns) as f64;
        let head = foot + 26.0 + block * (k / columns) as f64;
        let words = said(m);
        let size = if width(&words, TEXT) > across { SMALL } else { TEXT };
        let end = sheet.paragraph(left, head + TEXT, size, across, &words);
        let upper = end.max(head + TEXT) + 12.0;
        sheet.rect(left, upper, wide, high, Pen::THIN, Fill::None);
        for (p, at) in found.points_mm.iter().enumerate() {
            let (x, y) = (left + scale * (at.0 - x0 + room), upper + high - scale * (at.1 - y0 + room));
            disc(sheet, x, y, largest * m.shape[p].abs().min(1.0), m.shape[p]);
        }
    }
    let rows = found.modes.len().div_ceil(columns);
    let foot = foot + 26.0 + block * rows as f64;
    let size = format!(
        "{} by {} mm between the outermost points; x to the right, y up",
        super::short(x1 - x0, 1),
        super::short(y1 - y0, 1)
    );
    sheet.text(30.0, foot, SMALL, Tie::Start, &size);
    foot
}

/// A filled disc, or an open one with a bar; a speck where nothing moves.
fn disc(sheet: &mut Sheet, x: f64, y: f64, radius: f64, sign: f64) {
    if radius < 1.5 {
        sheet.dot(x, y, 1.2, Pen::NONE, Fill::Ink);
    } else if sign > 0.0 {
        sheet.dot(x, y, radius, Pen::NONE, Fill::Ink);
    } else {
        let r = radius - 1.0;
        sheet.dot(x, y, r, Pen { width: 2.0, ..Pen::EDGE }, Fill::None);
        sheet.line(x - 0.6 * r, y, x + 0.6 * r, y, Pen { width: 2.0, ..Pen::EDGE });
    }
}
