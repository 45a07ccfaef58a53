//! A graded delivery: density against modulus, what is kept, what goes back, and which two make a pair.

use super::axis::{Axis, Frame, legend};
use super::svg::{Fill, Pen, SMALL, Sheet, TEXT, Tie, WIDE};
use super::words::width;
use crate::error::{Error, Result, number};
use crate::stock::{Graded, Pairing, StockBlank, StockLimits, StockPair};

/// Most blanks that are named on the sheet.
const NAMED: usize = 60;

/// Every blank at its density and modulus with one standard uncertainty: rings are kept, crosses go back, lines join pairs;
/// dotted lines are the same stiffness for the weight; pairs and reasons stand in words below. `graded` is what [`crate::stock::grade`] made of the same blanks.
pub fn stock_svg(blanks: &[StockBlank], graded: &[Graded], limits: &StockLimits, pairing: Option<&Pairing>) -> Result<String> {
    crate::error::same_length("blanks", blanks.len(), "graded", graded.len())?;
    if blanks.is_empty() {
        return Err(Error::BadList { name: "blanks".into(), problem: "is empty; it needs at least one blank".into() });
    }
    limits.check()?;
    for b in blanks {
        b.clone().checked()?;
    }
    let kept = graded.iter().filter(|g| g.reasons.is_empty()).count();
    let pairs = pairing.map_or(0, |p| p.pairs.len());
    let mut says = format!("{kept} of {} blanks are kept, {} go back", blanks.len(), blanks.len() - kept);
    if pairs > 0 {
        says.push_str(&format!("; {pairs} pair{}", if pairs == 1 { "" } else { "s" }));
    }
    says.push('.');
    let mut sheet = Sheet::new("A delivery, graded", &says);
    let y = sheet.paragraph(20.0, 78.0, SMALL, WIDE - 40.0, &says);
    let mut entries: Vec<super::axis::Entry> = vec![
        (&|s, x, y| s.dot(x + 23.0, y, 6.0, Pen::EDGE, Fill::None), "kept"),
        (&|s, x, y| cross(s, x + 23.0, y), "goes back"),
    ];
    if pairs > 0 {
        entries.push((&|s, x, y| s.line(x, y, x + 46.0, y, Pen::EDGE), "a pair of legs"));
    }
    entries.push((&|s, x, y| s.line(x, y, x + 46.0, y, Pen::DOTTED), "E over density, GPa per g/cm³"));
    entries.push((
        &|s, x, y| {
            s.line(x + 6.0, y, x + 40.0, y, Pen::FAINT);
            s.line(x + 23.0, y - 11.0, x + 23.0, y + 11.0, Pen::FAINT);
        },
        "one standard uncertainty",
    ));
    let bounds = limit_words(limits);
    if !bounds.is_empty() {
        entries.push((&|s, x, y| s.line(x, y, x + 46.0, y, Pen::DASHED), &bounds));
    }
    let foot = legend(&mut sheet, y + 34.0, &entries);
    let span = |of: &dyn Fn(&StockBlank) -> (f64, f64), more: [Option<f64>; 2]| {
        let ends = blanks.iter().flat_map(|b| [of(b).0 - of(b).1, of(b).0 + of(b).1]).chain(more.into_iter().flatten());
        ends.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), v| (l.min(v), h.max(v)))
    };
    let ((d0, d1), (e0, e1)) = (
        span(&|b| (b.density_kg_m3, b.u_density_kg_m3), [limits.lowest_density_kg_m3, limits.highest_density_kg_m3]),
        span(&|b| (b.modulus_gpa, b.u_gpa), [limits.lowest_modulus_gpa, None]),
    );
    let f = Frame {
        left: 104.0,
        top: foot + 30.0,
        width: WIDE - 164.0,
        height: 520.0,
        x: Axis::round((d0 - 0.04 * (d1 - d0)).max(0.0), d1 + 0.04 * (d1 - d0), 8),
        y: Axis::round((e0 - 0.04 * (e1 - e0)).max(0.0), e1 + 0.04 * (e1 - e0), 8),
    };
    let place = |b: &StockBlank| f.at(b.density_kg_m3, b.modulus_gpa);
    let mut limited = Vec::new();
    for (upright, v) in
        [(true, limits.lowest_density_kg_m3), (true, limits.highest_density_kg_m3), (false, limits.lowest_modulus_gpa)]
    {
        if let Some(v) = v {
            limited.push(if upright {
                [f.at_x(v), f.top, f.at_x(v), f.bottom()]
            } else {
                [f.left, f.at_y(v), f.right(), f.at_y(v)]
            });
        }
    }
    // marks first, then the names that find room beside them
    let mut boxes: Vec<[f64; 4]> = blanks.iter().map(place).map(|(x, y)| [x - 8.0, y - 8.0, x + 8.0, y + 8.0]).collect();
    boxes.extend(&limited);
    let find = |name: &str| blanks.iter().find(|b| b.name == name).map(place);
    let joined: Vec<[(f64, f64); 2]> =
        pairing.map_or(&[][..], |p| &p.pairs).iter().filter_map(|p| Some([find(&p.stiffer)?, find(&p.softer)?])).collect();
    let mut names: Vec<([f64; 4], &str)> = Vec::new();
    if blanks.len() <= NAMED {
        for b in blanks {
            if let Some(room) = room(&f, &boxes, &joined, place(b), &b.name) {
                boxes.push(room);
                names.push((room, &b.name));
            }
        }
    }
    let mut words: Vec<(f64, f64, f64, f64)> = names.iter().map(|(b, _)| (b[0] - 3.0, b[1], b[2] + 3.0, b[3] + 4.0)).collect();
    words.sort_by(|a, b| a.0.total_cmp(&b.0));
    f.draw_y_around(&mut sheet, "E along the grain, GPa", &words);
    specific(&mut sheet, &f);
    for l in limited {
        sheet.line(l[0], l[1], l[2], l[3], Pen::DASHED);
    }
    for [a, b] in &joined {
        sheet.line(a.0, a.1, b.0, b.1, Pen::EDGE);
    }
    for (b, g) in blanks.iter().zip(graded) {
        let (x, y) = place(b);
        sheet.line(f.at_x(b.density_kg_m3 - b.u_density_kg_m3), y, f.at_x(b.density_kg_m3 + b.u_density_kg_m3), y, Pen::FAINT);
        sheet.line(x, f.at_y((b.modulus_gpa - b.u_gpa).max(f.y.low)), x, f.at_y(b.modulus_gpa + b.u_gpa), Pen::FAINT);
        if g.reasons.is_empty() { sheet.dot(x, y, 6.0, Pen::EDGE, Fill::None) } else { cross(&mut sheet, x, y) }
    }
    for (b, name) in names {
        sheet.text(b[0], b[3], SMALL, Tie::Start, name);
    }
    let mut foot = f.draw_x(&mut sheet, "density, kg/m³") + 0.6 * SMALL;
    if let Some(p) = pairing.filter(|p| !p.pairs.is_empty()) {
        let one = |p: &StockPair| format!("{} and {} {} %", p.stiffer, p.softer, super::short(100.0 * (p.height_ratio - 1.0), 2));
        let words = listed(&p.pairs, one, "; ");
        foot = said(&mut sheet, foot, &format!("Pairs, the stiffer first, and how much higher the softer stands: {words}."));
    }
    let back: Vec<&Graded> = graded.iter().filter(|g| !g.reasons.is_empty()).collect();
    if !back.is_empty() {
        let words = listed(&back, |g| format!("{} ({})", g.name, g.reasons.join(", ")), "; ");
        foot = said(&mut sheet, foot, &format!("Goes back: {words}."));
    }
    sheet.finish(foot + TEXT)
}

/// Most pairs, and blanks that go back, that are told in words.
const TOLD: usize = 24;

fn listed<T>(all: &[T], one: impl Fn(&T) -> String, between: &str) -> String {
    let mut words: Vec<String> = all.iter().take(TOLD).map(one).collect();
    if all.len() > TOLD {
        words.push(format!("and {} more", all.len() - TOLD));
    }
    words.join(between)
}

fn said(sheet: &mut Sheet, foot: f64, words: &str) -> f64 {
    sheet.paragraph(20.0, foot + 1.5 * SMALL, SMALL, WIDE - 40.0, words)
}

/// The limits that are drawn, in words; empty when none is.
fn limit_words(l: &StockLimits) -> String {
    let mut out = Vec::new();
    match (l.lowest_density_kg_m3, l.highest_density_kg_m3) {
        (Some(a), Some(b)) => out.push(format!("{} to {} kg/m³", number(a), number(b))),
        (Some(a), None) => out.push(format!("from {} kg/m³", number(a))),
        (None, Some(b)) => out.push(format!("up to {} kg/m³", number(b))),
        (None, None) => {}
    }
    if let Some(e) = l.lowest_modulus_gpa {
        out.push(format!("from {} GPa", number(e)));
    }
    if out.is_empty() { String::new() } else { format!("limits: {}", out.join(", ")) }
}

fn cross(s: &mut Sheet, x: f64, y: f64) {
    s.line(x - 7.0, y - 7.0, x + 7.0, y + 7.0, Pen::EDGE);
    s.line(x - 7.0, y + 7.0, x + 7.0, y - 7.0, Pen::EDGE);
}

/// Room for a name beside its point, off the lines that join pairs where there is some; none where it would lie on something else.
fn room(f: &Frame, boxes: &[[f64; 4]], joined: &[[(f64, f64); 2]], (x, y): (f64, f64), words: &str) -> Option<[f64; 4]> {
    let wide = width(words, SMALL);
    let beside =
        [(12.0, -8.0), (12.0, 22.0), (-12.0 - wide, -8.0), (-12.0 - wide, 22.0), (-0.5 * wide, -14.0), (-0.5 * wide, 30.0)];
    let mut rooms = beside.iter().map(|(dx, dy)| [x + dx, y + dy - 0.8 * SMALL, x + dx + wide, y + dy]).filter(|b| {
        let inside = b[0] > f.left && b[2] < f.right() && b[1] > f.top && b[3] < f.bottom();
        let free = |o: &[f64; 4]| b[2] + 2.0 < o[0] || b[0] - 2.0 > o[2] || b[3] + 2.0 < o[1] || b[1] - 2.0 > o[3];
        inside && boxes.iter().all(free)
    });
    let first = rooms.next()?;
    let clear = |b: &[f64; 4]| !joined.iter().any(|l| crosses(l, b));
    if clear(&first) { Some(first) } else { rooms.find(clear).or(Some(first)) }
}

/// Whether a line runs through a box.
fn crosses(line: &[(f64, f64); 2], b: &[f64; 4]) -> bool {
    let [p, q] = line;
    (0..=64).any(|k| {
        let s = f64::from(k) / 64.0;
        let (x, y) = (p.0 + s * (q.0 - p.0), p.1 + s * (q.1 - p.1));
        x > b[0] - 2.0 && x < b[2] + 2.0 && y > b[1] - 2.0 && y < b[3] + 2.0
    })
}

/// Lines of the same E over density, with the ratio at the end of each where there is room.
fn specific(sheet: &mut Sheet, f: &Frame) {
    let (low, high) = (1000.0 * f.y.low / f.x.high, 1000.0 * f.y.high / f.x.low.max(1.0));
    let lines = Axis::exact(low, high, 8);
    let (mut above, mut beside) = (f64::INFINITY, f64::NEG_INFINITY);
    for &r in lines.ticks.iter().filter(|r| **r > 0.0) {
        let (e, d) = (|d: f64| 1e-3 * r * d, |e: f64| 1000.0 * e / r);
        let (a, b) = (f.x.low.max(d(f.y.low)), f.x.high.min(d(f.y.high)));
        if b - a > 0.02 * (f.x.high - f.x.low) {
            let (p, q) = (f.at(a, e(a)), f.at(b, e(b)));
            sheet.line(p.0, p.1, q.0, q.1, Pen { opacity: 0.5, ..Pen::DOTTED });
            let words = lines.label(r);
            let half = 0.5 * width(&words, SMALL) + 6.0;
            // the ratio rises: along the right side from below, then along the top from the right
            if b < f.x.high - 1e-9 {
                if q.0 + half < above.min(f.right()) && q.0 - half > f.left {
                    sheet.text(q.0, q.1 - 6.0, SMALL, Tie::Middle, &words);
                    above = q.0 - half;
                }
            } else if q.1 > f.top + 0.2 * SMALL && (beside - q.1).abs() > 1.4 * SMALL && q.0 + 2.0 * half < WIDE - 4.0 {
                sheet.text(q.0 + 6.0, q.1 + 0.35 * SMALL, SMALL, Tie::Start, &words);
                beside = q.1;
            }
        }
    }
}
