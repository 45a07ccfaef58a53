//! Passes as layers.

use super::axis::{Axis, Frame};
use super::shape::{heights, side, stations, stretch, tallest_mm};
use super::short;
use super::svg::{Fill, Pen, SMALL, Sheet, TEXT, Tie, WIDE};
use super::words::width;
use crate::carve::{Pass, Plan};
use crate::error::{Result, finite, same_length};
use crate::mechanics::pieces::Pieces;
use crate::rig::Expected;

/// Room at the right for the numbers of layers that run out of the end.
const RIGHT: f64 = 46.0;
/// Layers thinner than this on the sheet are hatched by turns instead of each in its own way.
const THICK: f64 = 9.0;
/// Most passes that get a line each in the table.
const TABLE: usize = 24;
/// A layer thinner than this counts as nothing, mm.
const THIN_MM: f64 = 1e-3;

/// The layers of a plan from the side, hatched by turns and numbered where they lie deepest, with what each takes off in
/// a table. A pass that works the cap or the sides takes no height: it stands in the table alone. Numbers are the places of
/// the passes in the plan, the cap counted. `expected` is what [`Plan::readings`] gave, for the dial after each pass; may be empty.
pub fn passes_svg(plan: &Plan, expected: &[Expected]) -> Result<String> {
    if !expected.is_empty() {
        same_length("passes as they stand and after each", plan.passes.len() + 1, "expected", expected.len())?;
        for (i, e) in expected.iter().enumerate() {
            finite(&format!("deflection_mm of expected[{i}]"), e.deflection_mm, "mm")?;
        }
    }
    let (l, h) = (plan.start.length_mm(), tallest_mm(&plan.start));
    let scale = ((WIDE - 104.0 - RIGHT) / l).min(380.0 / h);
    let times = stretch(380.0, scale * h);
    let layers: Vec<(usize, &Pass)> =
        plan.passes.iter().enumerate().filter(|p| p.1.cut_mm.is_some()).map(|(i, p)| (i + 1, p)).collect();
    let deepest = layers.iter().map(|(_, p)| p.deepest_mm).fold(0.0, f64::max).min(plan.options.max_depth_mm);
    let says = match layers.len() {
        0 => format!("No height comes off; {} g in all.", short(plan.grams_off(), 2)),
        n => format!(
            "{n} {} of at most {} mm; {} g come off, {} g are left.",
            if n == 1 { "layer" } else { "layers" },
            short(deepest, 2),
            short(plan.grams_off(), 2),
            short(plan.end.mass_g()?, 2)
        ),
    };
    let mut sheet = Sheet::new("What comes off, pass by pass", &says);
    let mut y = sheet.paragraph(20.0, 78.0, SMALL, WIDE - 40.0, &says);
    for note in &plan.notes {
        y = sheet.paragraph(20.0, y + 1.4 * SMALL, SMALL, WIDE - 40.0, &format!("Note: {note}."));
    }
    let note =
        if times > 1.0 { format!("heights drawn {} times larger than lengths", short(times, 0)) } else { "to scale".into() };
    sheet.text(104.0, y + 1.6 * SMALL, SMALL, Tie::Start, &note);
    let frame = Frame {
        left: 104.0,
        top: y + 52.0,
        width: scale * l,
        height: scale * h * times,
        x: Axis::exact(0.0, l, 10),
        y: Axis::exact(0.0, h, 6),
    };
    frame.draw_y(&mut sheet, "height, mm");
    side(&mut sheet, &plan.end, frame.left, frame.bottom(), scale, scale * times, Pen::HEAVY);
    let named = draw_layers(&mut sheet, plan, &layers, &frame);
    let mut foot = frame.draw_x(&mut sheet, "mm from the left end") + 18.0;
    if named < layers.len() {
        foot += 1.0 * SMALL;
        sheet.text(104.0, foot, SMALL, Tie::Start, &format!("{named} of {} layers are numbered", layers.len()));
        foot += 0.6 * SMALL;
    }
    foot = table(&mut sheet, plan, expected, foot + 1.3 * SMALL);
    sheet.finish(foot + 22.0)
}

/// Layers from the top down; gives how many got a number.
fn draw_layers(sheet: &mut Sheet, plan: &Plan, layers: &[(usize, &Pass)], f: &Frame) -> usize {
    let columns = columns(plan, f);
    let per_mm = f.height / f.y.high;
    let thinnest = layers.iter().take(layers.len().max(2) - 1).map(|(_, p)| p.deepest_mm * per_mm).fold(f64::INFINITY, f64::min);
    let thick = thinnest >= THICK;
    let half = |number: usize| 0.5 * width(&format!("{number}"), SMALL);
    let gap = half(plan.passes.len()) + 6.0;
    let end = plan.end.profile().crest();
    let mut above = plan.start.profile().crest().clone();
    let mut last_foot = vec![f64::NEG_INFINITY; columns.len()];
    let mut named = 0;
    for (k, &(number, pass)) in layers.iter().enumerate() {
        let next = pass.after.profile().crest();
        let fill = match (thick, k % 2) {
            (true, _) => Fill::Hatch(k),
            (_, 0) => Fill::Wash,
            _ => Fill::None,
        };
        let open = |x: f64| columns.iter().any(|c| !c.outside && (f.at_x(x) - c.at).abs() < gap);
        for (cleared, up, down) in pieces(&above, next, open) {
            let on = |v: &[(f64, f64)]| v.iter().map(|p| f.at(p.0, p.1)).collect::<Vec<_>>();
            let (up, down) = (on(&up), on(&down));
            let edge = up.clone();
            if !cleared {
                let area: Vec<_> = up.into_iter().chain(down.into_iter().rev()).collect();
                sheet.path(&area, true, Pen::NONE, fill);
            }
            if thick || !cleared || k == 0 {
                sheet.path(
                    &edge,
                    false,
                    if k == 0 {
                        Pen::EDGE
                    } else if thick {
                        Pen::THIN
                    } else {
                        Pen::FAINT
                    },
                    Fill::None,
                );
            }
        }
        let mut got = false;
        for (c, last) in columns.iter().zip(&mut last_foot) {
            let at = l_at(f, c.at);
            let (t, b) = (above.at(at), next.at(at));
            let y = f.at_y(0.5 * (t + b)) + 0.36 * SMALL;
            // inside the wood a number keeps clear of what stays
            let clear =
                [-half(number) - 2.0, 0.0, half(number) + 2.0].iter().all(|d| y + 1.0 < f.at_y(end.at(l_at(f, c.at + d))));
            if t - b > THIN_MM && (c.outside || clear) && y - *last >= 0.98 * SMALL {
                let (x, tie) = if c.outside { (f.right() + 8.0, Tie::Start) } else { (c.at, Tie::Middle) };
                sheet.text(x, y, SMALL, tie, &format!("{number}"));
                (*last, got) = (y, true);
            }
        }
        named += usize::from(got);
        above = next.clone();
    }
    named
}

/// A piece of a layer: whether it lies in a column kept clear, its upper and its lower edge.
type Piece = (bool, Vec<(f64, f64)>, Vec<(f64, f64)>);

/// A layer in pieces, which end where it ends and at the edges of the columns of numbers.
fn pieces(above: &Pieces, next: &Pieces, open: impl Fn(f64) -> bool) -> Vec<Piece> {
    let at = stations(&[above, next]);
    let (top, foot) = (heights(above, &at), heights(next, &at));
    let mut out: Vec<Piece> = Vec::new();
    let mut going = false;
    for i in 0..at.len() {
        let x = at[i].0;
        if top[i] - foot[i] <= THIN_MM {
            going = false;
            continue;
        }
        let cleared = open(x);
        let (up, down) = ((x, top[i]), (x, foot[i]));
        match out.last_mut().filter(|_| going) {
            Some(p) => {
                p.1.push(up);
                p.2.push(down);
                if p.0 != cleared {
                    out.push((cleared, vec![up], vec![down]));
                }
            }
            None => out.push((cleared, vec![up], vec![down])),
        }
        going = true;
    }
    out
}

fn l_at(f: &Frame, column: f64) -> f64 {
    (column - f.left) / f.width * f.x.high
}

/// A column of numbers, in drawing units.
struct Column {
    at: f64,
    outside: bool,
}

/// Where numbers stand: beside the right end when layers run out of it, and over the deepest places, well apart.
fn columns(plan: &Plan, f: &Frame) -> Vec<Column> {
    let taken = plan.start.profile().crest().combined(plan.end.profile().crest(), 1.0, -1.0);
    let n = 300;
    let depth: Vec<(f64, f64)> =
        (0..=n).map(|k| f.left + f.width * f64::from(k) / f64::from(n)).map(|u| (u, taken.at(l_at(f, u)))).collect();
    // on a level stretch its middle, so that an even layer has its number in the middle
    let mut peaks: Vec<(f64, f64)> = Vec::new();
    let mut i = 0;
    while i < depth.len() {
        let mut j = i;
        while j + 1 < depth.len() && (depth[j + 1].1 - depth[i].1).abs() < 1e-6 {
            j += 1;
        }
        let rises = i == 0 || depth[i - 1].1 < depth[i].1;
        let falls = j + 1 == depth.len() || depth[j + 1].1 < depth[j].1;
        if rises && falls && depth[i].1 > THIN_MM {
            peaks.push((0.5 * (depth[i].0 + depth[j].0), depth[i].1));
        }
        i = j + 1;
    }
    peaks.sort_by(|p, q| q.1.total_cmp(&p.1));
    let at_right = depth[depth.len() - 1].1;
    let mut out: Vec<Column> = Vec::new();
    if at_right > THIN_MM {
        out.push(Column { at: f.right(), outside: true });
    }
    for (u, d) in peaks {
        let inner = u.clamp(f.left + 24.0, f.right() - 24.0);
        // the ends are level with each other: one column serves both
        let served = inner != u && at_right >= d - 0.5;
        if out.len() < 6 && !served && out.iter().all(|c| (c.at - inner).abs() > 80.0) {
            out.push(Column { at: inner, outside: false });
        }
    }
    out
}

/// Where the columns of the table end, but for the second, which starts.
const ENDS: [f64; 7] = [70.0, 92.0, 600.0, 710.0, 780.0, 860.0, 970.0];

/// A line for each pass; gives the foot.
fn table(sheet: &mut Sheet, plan: &Plan, expected: &[Expected], top: f64) -> f64 {
    if plan.passes.is_empty() {
        return top;
    }
    if plan.passes.len() > TABLE {
        return sheet.paragraph(
            20.0,
            top,
            SMALL,
            WIDE - 40.0,
            &format!("{} passes, too many for a table on this sheet.", plan.passes.len()),
        );
    }
    let columns = if expected.is_empty() { 6 } else { 7 };
    let heads = ["pass", "where, mm", "deepest, mm", "floor, mm", "off, g", "left, g", "dial, mm"];
    let tie = |k: usize| if k == 1 { Tie::Start } else { Tie::End };
    for (k, words) in heads.iter().enumerate().take(columns) {
        sheet.text(ENDS[k], top, SMALL, tie(k), words);
    }
    sheet.line(20.0, top + 8.0, ENDS[columns - 1] + 10.0, top + 8.0, Pen::THIN);
    let step = 1.3 * TEXT;
    for (i, pass) in plan.passes.iter().enumerate() {
        let y = top + 8.0 + step * (i as f64 + 1.0);
        let (place, deep) = if pass.cut_mm.is_some() {
            (stretches(pass), format!("{:.2}", pass.deepest_mm))
        } else if pass.after.section() == plan.start.section() {
            ("the sides, whole length".into(), "–".to_string())
        } else {
            ("the cap, whole length".into(), "–".to_string())
        };
        let dial = expected.get(i + 1).map_or(String::new(), |e| format!("{:.3}", e.deflection_mm));
        let cells = [
            format!("{}", i + 1),
            place,
            deep,
            format!("{:.2}", pass.floor_mm),
            format!("{:.2}", pass.grams_off),
            format!("{:.2}", pass.grams_left),
            dial,
        ];
        for (k, words) in cells.iter().enumerate().take(columns) {
            sheet.text(ENDS[k], y, if k == 1 { SMALL } else { TEXT }, tie(k), words);
        }
    }
    let mut foot = top + 8.0 + step * plan.passes.len() as f64;
    let still: Vec<String> = (1..expected.len())
        .filter(|&k| expected[k].deflection_mm - expected[k - 1].deflection_mm < 5e-4)
        .map(|k| k.to_string())
        .collect();
    if !still.is_empty() {
        let words = if still.len() == 1 {
            format!("Pass {} hardly moves the dial: it works where the rig feels nothing, as beyond its supports.", still[0])
        } else {
            format!(
                "Passes {} hardly move the dial: they work where the rig feels nothing, as beyond its supports.",
                still.join(", ")
            )
        };
        foot = sheet.paragraph(20.0, foot + 1.6 * SMALL, SMALL, WIDE - 40.0, &words);
    }
    foot
}

/// The stretches of a pass, or the first and last place where there are more than the column holds.
fn stretches(pass: &Pass) -> String {
    let places = pass.places();
    let all = places.trim_end_matches(" mm");
    match (width(all, SMALL) > ENDS[2] - 145.0 - ENDS[1], pass.cut_mm) {
        (true, Some(z)) => format!("{:.0}-{:.0}, {} stretches", z.start_mm, z.end_mm, pass.stretches_mm.len()),
        _ => all.into(),
    }
}
