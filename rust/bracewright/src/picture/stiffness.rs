//! EI as drawn and as it works.

use super::axis::{Axis, Frame, legend};
use super::svg::{Fill, Pen, SMALL, Sheet, TEXT, Tie, WIDE};
use super::words::width;
use super::{all_finite, short};
use crate::brace::Working;
use crate::error::{Error, Result, increasing, not_negative, same_length};

/// Below this part of the drawing a stretch is spoken of.
const SPOKEN: f64 = 0.85;
/// Above this change under refinement the picture warns of itself.
const ROUGH: f64 = 0.05;

/// EI as drawn (dashed) and as it works (solid) over their ratio. Where the drawing promises more than works, the
/// difference is hatched, and the worst places are named in words.
///
/// Stations outside the couples of the definition, where the working stiffness is 0, are left out of its line.
pub fn stiffness_svg(working: &Working) -> Result<String> {
    let w = working;
    increasing("x_mm", &w.x_mm, "mm", 2)?;
    for (name, v) in [("drawn_n_m2", &w.drawn_n_m2), ("working_n_m2", &w.working_n_m2), ("ratio", &w.ratio)] {
        same_length("x_mm", w.x_mm.len(), name, v.len())?;
        all_finite(name, v, "")?;
    }
    not_negative("discretisation", w.discretisation, "")?;
    let live: Vec<usize> = (0..w.x_mm.len()).filter(|&i| w.working_n_m2[i] > 0.0).collect();
    let (Some(&first), Some(&last)) = (live.first(), live.last()) else {
        return Err(Error::Refused("working_n_m2 is 0 at every station; there is no stiffness to draw".into()));
    };
    // the ends bend little, so what they lend is not what the dial feels
    let (a, b) = (w.x_mm[0], w.x_mm[w.x_mm.len() - 1]);
    let nearest =
        |x: f64| live.iter().copied().fold(first, |m, i| if (w.x_mm[i] - x).abs() < (w.x_mm[m] - x).abs() { i } else { m });
    let middle = nearest(0.5 * (a + b));
    let inner = live.iter().copied().filter(|&i| w.x_mm[i] >= a + 0.25 * (b - a) && w.x_mm[i] <= b - 0.25 * (b - a));
    let worst = inner.fold(middle, |m, i| if w.ratio[i] < w.ratio[m] { i } else { m });
    let place = |i: usize| format!("{} mm from the left end", short(w.x_mm[i], 0));
    let part = |i: usize| format!("{} %", short(100.0 * w.ratio[i], 0));
    let mut says = format!(
        "In the middle, {}, EI at work is {} N m², {} of what is drawn.",
        place(middle),
        short(w.working_n_m2[middle], 1),
        part(middle)
    );
    if worst != middle {
        says.push_str(&format!(
            " In the middle half, where a load bends it most, the least of the drawing at work is {}, {}.",
            part(worst),
            place(worst)
        ));
    }
    let mut sheet = Sheet::new("Stiffness along the brace: drawn, and at work", &says);
    let y = sheet.paragraph(20.0, 78.0, SMALL, WIDE - 40.0, &says);
    let foot = legend(
        &mut sheet,
        y + 34.0,
        &[
            (&|s, x, y| s.line(x, y, x + 46.0, y, Pen::DASHED), "as drawn"),
            (&|s, x, y| s.line(x, y, x + 46.0, y, Pen::HEAVY), "as it works"),
            (&|s, x, y| s.rect(x, y - 9.0, 46.0, 18.0, Pen::THIN, Fill::Close), "drawn, but not at work"),
        ],
    );
    let greatest = w.drawn_n_m2.iter().chain(&w.working_n_m2).copied().fold(0.0, f64::max);
    let x = Axis::exact(w.x_mm[0], w.x_mm[w.x_mm.len() - 1], 10);
    let stretches = runs(&live, |i| w.ratio[i] < SPOKEN);
    let strip = if stretches.is_empty() { 22.0 } else { 24.0 + 2.4 * TEXT };
    let top = Frame {
        left: 104.0,
        top: foot + strip,
        width: WIDE - 140.0,
        height: 290.0,
        x: x.clone(),
        y: Axis::round(0.0, greatest, 6),
    };
    top.draw_y(&mut sheet, "EI, N m²");
    sheet.line(top.left, top.bottom(), top.right(), top.bottom(), Pen::THIN);
    let curve = |v: &[f64], i: &[usize], f: &Frame| i.iter().map(|&i| f.at(w.x_mm[i], v[i])).collect::<Vec<_>>();
    let between: Vec<usize> = (first..=last).collect();
    let lower: Vec<f64> = w.working_n_m2.iter().zip(&w.drawn_n_m2).map(|(a, b)| a.min(*b)).collect();
    for run in runs(&between, |i| w.drawn_n_m2[i] > w.working_n_m2[i] && w.working_n_m2[i] > 0.0) {
        let mut area = curve(&w.drawn_n_m2, &run, &top);
        area.extend(curve(&lower, &run, &top).into_iter().rev());
        sheet.path(&area, true, Pen::NONE, Fill::Close);
    }
    let all: Vec<usize> = (0..w.x_mm.len()).collect();
    sheet.path(&curve(&w.drawn_n_m2, &all, &top), false, Pen::DASHED, Fill::None);
    sheet.path(&curve(&w.working_n_m2, &live, &top), false, Pen::HEAVY, Fill::None);

    let percent: Vec<f64> = w.ratio.iter().map(|r| 100.0 * r).collect();
    let most = live.iter().map(|&i| percent[i]).fold(100.0, f64::max);
    let below =
        Frame { left: top.left, top: top.bottom() + 34.0, width: top.width, height: 150.0, x, y: Axis::round(0.0, most, 6) };
    below.draw_y(&mut sheet, "at work, %");
    let whole = below.at_y(100.0);
    sheet.line(below.left, whole, below.right(), whole, Pen::DASHED);
    sheet.path(&curve(&percent, &live, &below), false, Pen::HEAVY, Fill::None);
    speak(&mut sheet, w, &top, &stretches);
    let foot = below.draw_x(&mut sheet, "mm from the left end");
    let error = short(100.0 * w.discretisation, 2);
    let words = if w.discretisation > ROUGH {
        format!("careful: refining the calculation changes a value by {error} %; trust none closer than that")
    } else {
        format!("refining the calculation changes no value by more than {error} %")
    };
    sheet.text(top.right(), foot + 1.6 * SMALL, SMALL, Tie::End, &words);
    sheet.finish(foot + 2.6 * SMALL)
}

/// Runs of neighbouring stations for which `f` holds, two or more in each.
fn runs(stations: &[usize], f: impl Fn(usize) -> bool) -> Vec<Vec<usize>> {
    let mut out: Vec<Vec<usize>> = vec![vec![]];
    for &i in stations {
        match out.last_mut() {
            Some(run) if f(i) => run.push(i),
            Some(run) if !run.is_empty() => out.push(vec![]),
            _ => {}
        }
    }
    out.retain(|r| r.len() > 1);
    out
}

/// Words above the frame over the stretches where most is missing, as many as stand side by side, each with a line down
/// to its place.
fn speak(sheet: &mut Sheet, w: &Working, f: &Frame, stretches: &[Vec<usize>]) {
    // what a stretch costs a load in the middle: what is missing of 1/EI, times the moment squared
    let (first, last) = (w.x_mm[0], w.x_mm[w.x_mm.len() - 1]);
    let lost = |r: &Vec<usize>| -> f64 {
        let at = |i: usize| (1.0 / w.working_n_m2[i] - 1.0 / w.drawn_n_m2[i]) * (w.x_mm[i] - first).min(last - w.x_mm[i]).powi(2);
        r.iter().filter(|&&i| w.drawn_n_m2[i] > 0.0).map(|&i| at(i)).sum()
    };
    let mut order: Vec<&Vec<usize>> = stretches.iter().collect();
    order.sort_by(|a, b| lost(b).total_cmp(&lost(a)));
    let mut taken: Vec<(f64, f64)> = Vec::new();
    for run in order.into_iter().take(4) {
        let deepest = run.iter().copied().fold(run[0], |m, i| if w.ratio[i] < w.ratio[m] { i } else { m });
        let words = match w.ratio[deepest] {
            r if r < 0.2 => "lends next to nothing",
            r if r < 0.5 => "lends little",
            _ => "lends less than drawn",
        };
        let number = format!("{} % at work", short(100.0 * w.ratio[deepest], 0));
        let half = 0.5 * width(words, TEXT).max(width(&number, TEXT)) + 8.0;
        let place = f.at_x(w.x_mm[deepest]);
        let x = place.max(f.left + half).min(f.right() - half);
        if taken.iter().any(|t| x - half < t.1 && x + half > t.0) {
            continue;
        }
        taken.push((x - half, x + half));
        let foot = f.top - 16.0;
        sheet.text(x, foot, TEXT, Tie::Middle, &number);
        sheet.text(x, foot - 1.2 * TEXT, TEXT, Tie::Middle, words);
        let to = f.at_y(w.drawn_n_m2[deepest]);
        sheet.line(place, foot + 8.0, place, to, Pen::THIN);
        sheet.dot(place, to, 5.0, Pen::NONE, Fill::Ink);
    }
}
