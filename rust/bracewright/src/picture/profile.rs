//! Side view with stations, and two sections.

use super::axis::{Axis, Frame};
use super::shape::{across, side, stretch, tallest_mm};
use super::short;
use super::svg::{Fill, Pen, SMALL, Sheet, TEXT, Tie, WIDE};
use super::words::width;
use crate::brace::Brace;
use crate::carve::USUAL_STATIONS;
use crate::error::{Result, increasing};

const LEFT: f64 = 104.0;
const ROOM: f64 = WIDE - LEFT - 30.0;

/// Side view with its stations and heights, the true shape above it, and sections at the tallest place and the lowest
/// floor. Heights are drawn larger than lengths by a round number that the picture states.
///
/// `stations_mm` increase from the left end and lie on the brace; when empty, [`USUAL_STATIONS`] even ones. The glue face
/// is drawn straight: heights are measured from it also when it is arched.
pub fn profile_svg(brace: &Brace, stations_mm: &[f64]) -> Result<String> {
    let x_mm = if stations_mm.is_empty() {
        brace.stations_mm(USUAL_STATIONS).iter().map(|x| x.min(brace.length_mm())).collect()
    } else {
        stations_mm.to_vec()
    };
    increasing("stations_mm", &x_mm, "mm", 1)?;
    brace.profile().on_brace("stations_mm", &x_mm)?;
    let height_mm = brace.profile().height_mm(&x_mm)?;
    let (l, h) = (brace.length_mm(), tallest_mm(brace));
    let scale = (ROOM / l).min(260.0 / h);
    let times = stretch(260.0, scale * h);

    let facts = format!("{}: {}", brace.blank().wood().name(), words(brace)?);
    let mut sheet = Sheet::new("Brace from the side", &facts);
    let mut y = sheet.paragraph(20.0, 76.0, SMALL, WIDE - 40.0, &facts) + 16.0;
    if times > 1.0 {
        y += scale * h;
        side(&mut sheet, brace, LEFT, y, scale, scale, Pen::THIN);
        sheet.text(LEFT - 12.0, y - 2.0, SMALL, Tie::End, "to scale");
        y += 28.0;
    }
    let note =
        if times > 1.0 { format!("heights drawn {} times larger than lengths", short(times, 0)) } else { "to scale".into() };
    sheet.text(LEFT, y + 2.0, SMALL, Tie::Start, &note);
    let tall = scale * h * times;
    let frame = Frame {
        left: LEFT,
        top: y + 42.0,
        width: scale * l,
        height: tall,
        x: Axis::exact(0.0, l, 10),
        y: Axis::exact(0.0, h, 6),
    };
    frame.draw_y(&mut sheet, "height, mm");
    side(&mut sheet, brace, LEFT, frame.bottom(), scale, scale * times, Pen::EDGE);
    y = table(&mut sheet, &frame, &x_mm, &height_mm);
    let marks = sections(&mut sheet, brace, y + 30.0)?;
    for (name, x, z) in marks.1 {
        let (x, top) = frame.at(x, z);
        sheet.line(x, top - 6.0, x, frame.bottom(), Pen::DASHED);
        sheet.text(x, top - 14.0, TEXT, Tie::Middle, name);
    }
    sheet.finish(marks.0)
}

fn words(brace: &Brace) -> Result<String> {
    let mut s = format!("{} mm long, {} mm wide", short(brace.length_mm(), 1), short(brace.width_mm(), 2));
    s += &format!(", {}", brace.section().name());
    if let Some(c) = brace.section().rise_mm() {
        s += &format!(" of {} mm", short(c, 2));
    }
    if let Some(f) = brace.section().rise_of_height() {
        s += &format!(" of {} % of the height", short(100.0 * f, 1));
    }
    if let Some(r) = brace.profile().arch_radius_mm() {
        s += &format!(", glue face arched to {} m (drawn straight)", short(r / 1000.0, 2));
    }
    Ok(s + &format!(", {} g", short(brace.mass_g()?, 2)))
}

/// Fewest decimals, up to two, that say the values.
fn decimals(values: &[f64]) -> usize {
    (0..2)
        .find(|&d| values.iter().all(|v| (v - (v * 10f64.powi(d)).round() / 10f64.powi(d)).abs() < 5e-4))
        .map_or(2, |d| d as usize)
}

/// Station lines, and under them two rows that read upwards; labels that would touch are left out and the picture says so.
fn table(sheet: &mut Sheet, frame: &Frame, x_mm: &[f64], height_mm: &[f64]) -> f64 {
    let (dx, dz) = (decimals(x_mm), decimals(height_mm).max(1));
    let stations: Vec<String> = x_mm.iter().map(|v| format!("{v:.dx$}")).collect();
    let heights: Vec<String> = height_mm.iter().map(|v| format!("{v:.dz$}")).collect();
    let longest = |v: &[String]| v.iter().map(|s| width(s, SMALL)).fold(0.0, f64::max);
    let (w0, w1) = (longest(&stations), longest(&heights));
    let closest = x_mm.windows(2).map(|p| frame.at_x(p[1]) - frame.at_x(p[0])).fold(f64::INFINITY, f64::min);
    // the labels of the ends reach past the frame by half their width
    let flat = w0.max(w1) < 50.0 && closest > w0.max(w1) + 10.0;
    let (deep0, deep1) = if flat { (SMALL, SMALL) } else { (w0, w1) };
    let top = frame.bottom() + 14.0;
    let rows = [(top, deep0, &stations, "station,"), (top + deep0 + 16.0, deep1, &heights, "height,")];
    let mut last = f64::NEG_INFINITY;
    let mut named = 0;
    for i in 0..x_mm.len() {
        let (x, z) = frame.at(x_mm[i], height_mm[i]);
        sheet.line(x, z, x, frame.bottom() + 8.0, Pen::FAINT);
        sheet.dot(x, z, 3.6, Pen::NONE, Fill::Ink);
        let room = if flat { 0.0 } else { 1.15 * SMALL };
        if x - last < room {
            continue;
        }
        (last, named) = (x, named + 1);
        for (top, _, words, _) in rows {
            if flat {
                sheet.text(x, top + 0.8 * SMALL, SMALL, Tie::Middle, &words[i]);
            } else {
                sheet.upright(x + 0.35 * SMALL, top, SMALL, Tie::End, &words[i]);
            }
        }
    }
    for (top, deep, _, name) in rows {
        let middle = top + 0.5 * deep;
        if flat {
            sheet.text(frame.left - 28.0, middle + 0.3 * SMALL, SMALL, Tie::End, name.trim_end_matches(','));
        } else {
            sheet.text(frame.left - 18.0, middle - 2.0, SMALL, Tie::End, name);
            sheet.text(frame.left - 18.0, middle + SMALL, SMALL, Tie::End, "mm");
        }
        sheet.line(20.0, top + deep + 8.0, frame.right(), top + deep + 8.0, Pen::FAINT);
    }
    let mut foot = top + deep0 + deep1 + 24.0;
    if flat || named < x_mm.len() {
        foot += 1.2 * SMALL;
        let left_out =
            if named < x_mm.len() { format!("; {named} of {} stations are lettered", x_mm.len()) } else { String::new() };
        sheet.text(frame.left, foot, SMALL, Tie::Start, &format!("stations and heights in mm{left_out}"));
    }
    foot
}

/// A section's letter, its place and the height there, mm.
type Mark = (&'static str, f64, f64);

/// Sections at the tallest place and the lowest floor, true to shape; gives the foot and the marks for the side view.
fn sections(sheet: &mut Sheet, brace: &Brace, top: f64) -> Result<(f64, Vec<Mark>)> {
    let (a, b) = brace.profile().body_mm();
    let crest = brace.profile().crest();
    let (low, high) = crest.extremes(a, b);
    // of a level top, the whole millimetre nearest the middle of the body and clear of half-laps
    let at = |z: f64| {
        let middle = 0.5 * (a + b);
        let laps = brace.profile().notches();
        let near = |x: &f64| (crest.at(*x) - z).abs() < 1e-6 && !laps.iter().any(|n| n.start - 8.0 < *x && *x < n.end + 8.0);
        let tries = (a.ceil() as u32..=b.floor() as u32).map(f64::from).filter(near);
        tries.min_by(|p, q| (p - middle).abs().total_cmp(&(q - middle).abs()))
    };
    let mut marks = vec![("A", at(high.1).unwrap_or(high.0), high.1)];
    if high.1 - low.1 > 0.05 && low.1 > 0.05 {
        marks.push(("B", at(low.1).unwrap_or(low.0), low.1));
    }
    let scale = (130.0 / high.1).min(150.0 / brace.width_mm());
    let foot = top + (scale * high.1).max(4.0 * 1.35 * TEXT);
    let mut x = LEFT;
    for &(name, at, z) in &marks {
        let half = 0.5 * scale * brace.width_mm();
        let side = across(brace, z)?;
        let right = side.iter().map(|(w, z)| (x + half + scale * w, foot - scale * z));
        let left = side.iter().rev().map(|(w, z)| (x + half - scale * w, foot - scale * z));
        sheet.path(&right.chain(left).collect::<Vec<_>>(), true, Pen::EDGE, Fill::Wood);
        let say = x + 2.0 * half + 18.0;
        let ei = brace.ei_n_m2(&[at])?[0];
        let lines = [
            format!("section {name}"),
            format!("at {} mm", short(at, 1)),
            format!("{} mm high", short(z, 2)),
            format!("EI drawn {} N m²", short(ei, if ei < 100.0 { 1 } else { 0 })),
        ];
        for (k, line) in lines.iter().enumerate() {
            sheet.text(say, foot - 4.0 - (3 - k) as f64 * 1.35 * TEXT, TEXT, Tie::Start, line);
        }
        x = say + 270.0;
    }
    Ok((foot + 22.0, marks))
}
