//! Readings against the window.

use super::axis::{Axis, Entry, Frame, legend};
use super::short;
use super::svg::{Fill, Pen, SMALL, Sheet, TEXT, WIDE};
use crate::error::{Error, Result, finite, not_negative};
use crate::goal::{Aim, Goal};
use crate::rig::Expected;

/// What a kilogram weighs, N (standard gravity, CGPM 1901).
const KILOGRAM_N: f64 = 9.80665;
/// How many standard uncertainties a band or an error bar reaches to either side.
const BAND: f64 = 2.0;

/// The reading to expect as it stands and after each pass of the plan, with a band of two standard uncertainties, over
/// the window of the goal; and what has been read: the pass it was read after (0 as it stands), the reading and its
/// standard uncertainty, mm. Passes count in the order of the plan; working the cap is one of them.
///
/// The goal must be about a reading.
pub fn readings_svg(expected: &[Expected], goal: &Goal, read: &[(usize, f64, f64)]) -> Result<String> {
    let Aim::Deflection(rig) = goal.aim() else {
        return Err(Error::Refused(format!(
            "the goal is about the {}; readings are drawn against the window of a reading, made with rig.between(low, high)",
            goal.quantity()
        )));
    };
    if expected.is_empty() {
        return Err(Error::BadList {
            name: "expected".into(),
            problem: "is empty; it needs at least one reading to expect".into(),
        });
    }
    for (i, e) in expected.iter().enumerate() {
        finite(&format!("deflection_mm of expected[{i}]"), e.deflection_mm, "mm")?;
        not_negative(&format!("u_mm of expected[{i}]"), e.u_mm, "mm")?;
    }
    for (i, &(step, mm, u_mm)) in read.iter().enumerate() {
        finite(&format!("reading of read[{i}]"), mm, "mm")?;
        not_negative(&format!("u_mm of read[{i}]"), u_mm, "mm")?;
        if step >= expected.len() {
            return Err(Error::OutOfRange {
                quantity: format!("step of read[{i}]"),
                value: step as f64,
                unit: "",
                allowed: format!("from 0 to {}, the steps there are", expected.len() - 1),
            });
        }
    }
    let says = format!(
        "{} {} Rig: {}, {} N, the weight of {} kg.",
        window_words(goal),
        meeting(expected, goal),
        rig.name(),
        short(rig.load_n(), 1),
        short(rig.load_n() / KILOGRAM_N, 3)
    );
    let mut sheet = Sheet::new("Readings against the window", &says);
    let y = sheet.paragraph(20.0, 78.0, SMALL, WIDE - 40.0, &says);
    let value = goal.high() <= goal.low();
    let swatch = |s: &mut Sheet, x: f64, y: f64| {
        if value {
            s.line(x, y, x + 46.0, y, Pen::DASHED);
        } else {
            s.rect(x, y - 9.0, 46.0, 18.0, Pen::THIN, Fill::Hatch(0));
        }
    };
    let mut entries: Vec<Entry> = vec![
        (&swatch, if value { "goal" } else { "window" }),
        (
            &|s, x, y| {
                s.line(x, y, x + 46.0, y, Pen::EDGE);
                s.dot(x + 23.0, y, 6.0, Pen::EDGE, Fill::None);
            },
            "to expect",
        ),
        (
            &|s, x, y| {
                s.rect(x, y - 9.0, 46.0, 18.0, Pen::NONE, Fill::Wash);
                s.line(x, y - 9.0, x + 46.0, y - 9.0, Pen::DOTTED);
                s.line(x, y + 9.0, x + 46.0, y + 9.0, Pen::DOTTED);
            },
            "two standard uncertainties",
        ),
    ];
    if !read.is_empty() {
        entries.push((&|s, x, y| bar(s, x + 23.0, (y - 12.0, y, y + 12.0)), "read"));
    }
    let foot = legend(&mut sheet, y + 34.0, &entries);

    let last = expected.len() - 1;
    let low = expected
        .iter()
        .map(|e| e.deflection_mm - BAND * e.u_mm)
        .chain(read.iter().map(|r| r.1 - BAND * r.2))
        .fold(goal.low(), f64::min);
    let high = expected
        .iter()
        .map(|e| e.deflection_mm + BAND * e.u_mm)
        .chain(read.iter().map(|r| r.1 + BAND * r.2))
        .fold(goal.high(), f64::max);
    let f = Frame {
        left: 104.0,
        top: foot + 24.0,
        width: WIDE - 140.0,
        height: 400.0,
        x: Axis::steps(last),
        y: Axis::round(low.min(0.9 * goal.low()).max(0.0), high, 7),
    };
    f.draw_y(&mut sheet, "reading, mm");
    let inside = |v: f64| f.at_y(v.clamp(f.y.low, f.y.high));
    if value {
        sheet.line(f.left, inside(goal.low()), f.right(), inside(goal.low()), Pen::DASHED);
    } else {
        let (a, b) = (inside(goal.high()), inside(goal.low()));
        sheet.rect(f.left, a, f.width, b - a, Pen::THIN, Fill::Hatch(0));
    }
    let line = |s: f64| {
        expected
            .iter()
            .enumerate()
            .map(|(k, e)| (f.at_x(k as f64), inside(e.deflection_mm + s * BAND * e.u_mm)))
            .collect::<Vec<_>>()
    };
    let (upper, middle, lower) = (line(1.0), line(0.0), line(-1.0));
    let mut band = upper.clone();
    band.extend(lower.iter().rev());
    sheet.path(&band, true, Pen::NONE, Fill::Wash);
    sheet.path(&upper, false, Pen::DOTTED, Fill::None);
    sheet.path(&lower, false, Pen::DOTTED, Fill::None);
    sheet.path(&middle, false, Pen::EDGE, Fill::None);
    for &(x, y) in &middle {
        sheet.dot(x, y, if last > 60 { 2.5 } else { 6.0 }, Pen::EDGE, Fill::None);
    }
    for &(step, mm, u) in read {
        bar(&mut sheet, f.at_x(step as f64), (inside(mm + BAND * u), inside(mm), inside(mm - BAND * u)));
    }
    let foot = f.draw_x(&mut sheet, "passes of the plan done (0: as it stands)");
    sheet.finish(foot + TEXT)
}

/// A reading with its error bar: top, middle, foot.
fn bar(sheet: &mut Sheet, x: f64, y: (f64, f64, f64)) {
    sheet.line(x, y.0, x, y.2, Pen::EDGE);
    sheet.line(x - 9.0, y.0, x + 9.0, y.0, Pen::EDGE);
    sheet.line(x - 9.0, y.2, x + 9.0, y.2, Pen::EDGE);
    sheet.dot(x, y.1, 7.0, Pen::NONE, Fill::Ink);
}

fn window_words(goal: &Goal) -> String {
    if goal.high() > goal.low() {
        format!("Window: {} to {} mm.", short(goal.low(), 3), short(goal.high(), 3))
    } else {
        format!("Goal: {} mm.", short(goal.low(), 3))
    }
}

/// When the reading to expect meets the window.
fn meeting(expected: &[Expected], goal: &Goal) -> String {
    let at = |k: usize| if k == 0 { "as it stands".to_string() } else { format!("after pass {k}") };
    let d = |k: usize| expected[k].deflection_mm;
    if let Some(k) = (0..expected.len()).find(|&k| goal.holds(d(k))) {
        return format!("The reading to expect is in it {}.", at(k));
    }
    match (0..expected.len()).find(|&k| d(k) > goal.high()) {
        Some(0) => "The reading to expect is past it as it stands.".into(),
        Some(k) => format!("The reading to expect goes past it in pass {k}."),
        None => "The reading to expect stays short of it to the end of the plan.".into(),
    }
}
