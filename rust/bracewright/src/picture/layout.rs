//! A whole braced top to scale, as the bracer sees it from inside, neck end up, with its clearances.

use super::axis::{Entry, legend};
use super::layout_marks::{Room, marked, sign};
use super::short;
use super::svg::{Fill, Pen, SMALL, Sheet, TEXT, Tie, WIDE};
use crate::error::{Error, Result};
use crate::layout::{Layout, LayoutReport, PartRole, PlacedBrace, RowState};
use crate::strings::BridgeKind;

const LEFT: f64 = 90.0;
const TALLEST: f64 = 1150.0;

type Place = (f64, f64);

/// The top with true widths: braces by letters, clearances by numbers, both told below. `report` is what [`Layout::check`] made of
/// the same layout; without it nothing is marked.
pub fn layout_svg(layout: &Layout, report: Option<&LayoutReport>) -> Result<String> {
    if report.is_some_and(|r| r.name != layout.name()) {
        return Err(Error::Refused("report is of another layout; check this one and give what comes of it".into()));
    }
    let p = layout.parts();
    let says = match report {
        Some(r) => r.words.first().cloned().unwrap_or_default() + ".",
        None => format!("{} braces.", layout.braces().len()),
    };
    let mut sheet = Sheet::new(layout.name(), &says);
    let y = sheet.paragraph(20.0, 78.0, SMALL, WIDE - 40.0, &says);
    let foot = legend(&mut sheet, y + 34.0, &entries(layout, report));
    let [x0, x1, y0, y1] = p.outline.bounds_mm();
    let scale = ((WIDE - 2.0 * LEFT) / (x1 - x0)).min(TALLEST / (y1 - y0));
    let top = foot + 2.2 * TEXT;
    let middle = 0.5 * WIDE - scale * 0.5 * (x0 + x1);
    let at = |q: Place| (middle + scale * q.0, top + scale * (q.1 - y0));
    let all = |v: &[Place]| v.iter().map(|q| at(*q)).collect::<Vec<_>>();
    let mut room = Room::default();

    let edge = all(p.outline.fine());
    sheet.path(&edge, true, Pen::HEAVY, Fill::None);
    room.take_shape(&edge);
    if p.lining_mm > 0.0 {
        sheet.path(&all(&p.outline.inset(p.lining_mm)?), true, Pen::DOTTED, Fill::None);
    }
    let centre = p.bridge.as_ref().map_or(0.5 * (x0 + x1), |b| b.x_mm);
    let ends = (at((centre, y0)), at((centre, y1)));
    sheet.line(ends.0.0, ends.0.1 - 8.0, ends.1.0, ends.1.1 + 8.0, Pen { dash: "18 5 3 5", ..Pen::FAINT });
    for block in [layout.block(false), layout.block(true)].into_iter().flatten() {
        let c = all(&block.corners());
        sheet.path(&c, true, Pen::THIN, Fill::Wash);
        room.take_shape(&c);
    }
    for part in &p.parts {
        let fill = if part.role == PartRole::BridgePlate { Fill::Hatch(2) } else { Fill::Hatch(0) };
        let c = all(&part.corners_mm);
        sheet.path(&c, true, Pen::THIN, fill);
        room.take_shape(&c);
    }
    if let Some(h) = &p.hole {
        let c = all(&h.points(0.05)?);
        sheet.path(&c, true, Pen::HEAVY, Fill::None);
        room.take_shape(&c);
        let m = at(h.middle());
        sheet.line(m.0 - 12.0, m.1, m.0 + 12.0, m.1, Pen::THIN);
        sheet.line(m.0, m.1 - 12.0, m.0, m.1 + 12.0, Pen::THIN);
        let size = if (h.width_mm - h.length_mm).abs() < 1e-9 {
            format!("{} mm", short(h.width_mm, 1))
        } else {
            format!("{} x {} mm", short(h.width_mm, 1), short(h.length_mm, 1))
        };
        sheet.text(m.0, m.1 - 0.2 * scale * h.length_mm, SMALL, Tie::Middle, &size);
        room.take_box(m.0, m.1 - 0.2 * scale * h.length_mm, 120.0, SMALL);
    }
    for b in layout.braces() {
        let c = all(&b.corners_mm());
        sheet.path(&c, true, Pen::EDGE, Fill::Wood);
        room.take_shape(&c);
    }
    for c in layout.crossings() {
        let (a, b) = (&layout.braces()[c.first], &layout.braces()[c.second]);
        sheet.path(&all(&a.bar().common(&b.bar())), true, Pen::EDGE, Fill::Close);
    }
    if let Some(b) = &p.bridge {
        let foot = all(&b.foot_mm());
        sheet.path(&foot, true, Pen::DASHED, Fill::None);
        room.take_shape(&foot);
        let (t, s) = b.saddle_mm();
        let (t, s) = (at(t), at(s));
        sheet.line(t.0, t.1, s.0, s.1, Pen::HEAVY);
        room.take_line(t, s);
        for q in b.holes_mm() {
            let (x, y) = at(q);
            let r = (0.5 * scale * b.hole_mm).max(2.5);
            sheet.dot(x, y, r, Pen::EDGE, Fill::None);
            if b.bridge.kind == BridgeKind::Pin {
                sheet.dot(x, y, 1.6, Pen::NONE, Fill::Ink);
            }
            room.take_box(x, y, 2.0 * r, 2.0 * r);
        }
    }
    let rows = report.map(marked).unwrap_or_default();
    for r in &rows {
        let (x, y) = at((r.x_mm, r.y_mm));
        let (x, y) = (x.clamp(20.0, WIDE - 20.0), y);
        sign(&mut sheet, x, y, r.state, 1.0);
        room.take_box(x, y, 22.0, 22.0);
    }
    for (k, r) in rows.iter().enumerate() {
        let (x, y) = at((r.x_mm, r.y_mm));
        let places: Vec<Place> = [22.0, 32.0, 44.0, 58.0]
            .into_iter()
            .flat_map(|d| {
                (0..12).map(move |j| {
                    let (s, c) = (std::f64::consts::TAU * f64::from(j) / 12.0).sin_cos();
                    (x + d * c, y + d * s)
                })
            })
            .filter(|q| q.0 > 20.0 && q.0 < WIDE - 20.0)
            .collect();
        let (wx, wy) = room.write(&mut sheet, &format!("{}", k + 1), &places);
        if (wx - x).hypot(wy - y) > 30.0 {
            let t = 13.0 / (wx - x).hypot(wy - y);
            sheet.line(x + (wx - x) * t, y + (wy - y) * t, wx - (wx - x) * t, wy - (wy - y) * t, Pen::FAINT);
        }
    }
    for (k, b) in layout.braces().iter().enumerate() {
        let places: Vec<Place> = beside(b, scale).into_iter().map(at).collect();
        room.write(&mut sheet, &letter(k), &places);
    }
    sheet.text(ends.0.0, ends.0.1 - 16.0, TEXT, Tie::Middle, "neck");
    sheet.text(ends.1.0, ends.1.1 + 12.0 + TEXT, TEXT, Tie::Middle, "tail");
    sheet.upright(32.0, top + 0.5 * scale * (y1 - y0), TEXT, Tie::Middle, "treble side");
    sheet.upright(WIDE - 18.0, top + 0.5 * scale * (y1 - y0), TEXT, Tie::Middle, "bass side");
    let mut foot = top + scale * (y1 - y0) + 2.4 * TEXT;
    grain(&mut sheet, at((x0, y0)), p.grain_angle_deg);
    bar(&mut sheet, foot, scale);
    foot += 2.2 * TEXT;
    foot = braces_told(&mut sheet, layout, foot)?;
    if let Some(r) = report {
        foot = rows_told(&mut sheet, &rows, r, foot + 1.6 * TEXT);
    }
    sheet.finish(foot + TEXT)
}

fn entries<'a>(layout: &Layout, report: Option<&LayoutReport>) -> Vec<Entry<'a>> {
    let p = layout.parts();
    let mut out: Vec<Entry> = vec![(&|s, x, y| s.rect(x, y - 6.0, 46.0, 12.0, Pen::EDGE, Fill::Wood), "brace, by its letter")];
    if !layout.crossings().is_empty() {
        out.push((&|s, x, y| s.rect(x + 12.0, y - 9.0, 20.0, 18.0, Pen::EDGE, Fill::Close), "half-lap"));
    }
    if p.parts.iter().any(|q| q.role == PartRole::BridgePlate) {
        out.push((&|s, x, y| s.rect(x, y - 9.0, 46.0, 18.0, Pen::THIN, Fill::Hatch(2)), "bridge plate"));
    }
    if p.parts.iter().any(|q| q.role == PartRole::Graft) {
        out.push((&|s, x, y| s.rect(x, y - 9.0, 46.0, 18.0, Pen::THIN, Fill::Hatch(0)), "graft"));
    }
    if p.bridge.is_some() {
        out.push((&|s, x, y| s.rect(x, y - 9.0, 46.0, 18.0, Pen::DASHED, Fill::None), "bridge, outside"));
    }
    if p.lining_mm > 0.0 {
        out.push((&|s, x, y| s.line(x, y, x + 46.0, y, Pen::DOTTED), "inner edge of the lining"));
    }
    if let Some(r) = report {
        if r.rows.iter().any(|row| row.state == RowState::Clear) {
            out.push((&|s, x, y| sign(s, x + 23.0, y, RowState::Clear, 0.8), "clear (the tightest of each kind)"));
        }
        if r.rows.iter().any(|row| row.state == RowState::Close) {
            out.push((&|s, x, y| sign(s, x + 23.0, y, RowState::Close, 0.8), "close"));
        }
        if r.rows.iter().any(|row| row.state == RowState::Clash) {
            out.push((&|s, x, y| sign(s, x + 23.0, y, RowState::Clash, 0.8), "clash"));
        }
    }
    out
}

/// A, B, ... Z, AA, AB, ...
fn letter(k: usize) -> String {
    let one = |k: usize| char::from(b'A' + (k % 26) as u8);
    if k < 26 { one(k).to_string() } else { format!("{}{}", one(k / 26 - 1), one(k)) }
}

/// Places beside a brace where its letter may stand, mm.
fn beside(b: &PlacedBrace, scale: f64) -> Vec<Place> {
    let bar = b.bar();
    let mut out = Vec::new();
    for off in [15.0, 20.0] {
        for t in [0.86, 0.14, 0.74, 0.26, 0.93, 0.62, 0.38, 0.5] {
            for side in [1.0, -1.0] {
                out.push(bar.place(t * bar.length(), side * (bar.half + off / scale)));
            }
        }
    }
    out
}

/// Direction of the grain, in the corner beside the neck.
fn grain(sheet: &mut Sheet, corner: Place, angle_deg: f64) {
    let (s, c) = angle_deg.to_radians().sin_cos();
    let (x, y) = (corner.0 + 30.0, corner.1 + 10.0);
    for k in [-9.0, 0.0, 9.0] {
        let (px, py) = (x + k * c, y - k * s);
        sheet.line(px - 26.0 * s, py - 26.0 * c, px + 26.0 * s, py + 26.0 * c, Pen::THIN);
    }
    let words = if angle_deg == 0.0 { "grain".to_string() } else { format!("grain, {} deg", short(angle_deg, 1)) };
    sheet.text(x - 18.0, y + 30.0 + SMALL, SMALL, Tie::Start, &words);
}

/// 100 mm as they are drawn.
fn bar(sheet: &mut Sheet, y: f64, scale: f64) {
    let (x, w) = (40.0, 100.0 * scale);
    sheet.line(x, y, x + w, y, Pen::EDGE);
    for k in 0..=10 {
        let long = if k % 5 == 0 { 12.0 } else { 7.0 };
        sheet.line(x + 0.1 * w * f64::from(k), y - long, x + 0.1 * w * f64::from(k), y, Pen::THIN);
    }
    sheet.text(x + w + 14.0, y, SMALL, Tie::Start, "100 mm of the top");
}

fn braces_told(sheet: &mut Sheet, layout: &Layout, from: f64) -> Result<f64> {
    let mut y = from;
    let half = layout.braces().len().div_ceil(2);
    for (k, b) in layout.braces().iter().enumerate() {
        let (column, row) = (k / half, k % half);
        let (x, line) = (40.0 + 480.0 * column as f64, from + 1.4 * SMALL * row as f64);
        let words =
            format!("{}: {} x {} mm, {} g", b.name, short(b.width_mm(), 1), short(b.length_mm(), 0), short(b.mass_g()?, 1));
        sheet.text(x, line, SMALL, Tie::Start, &letter(k));
        sheet.text(
            x + 34.0,
            line,
            SMALL,
            Tie::Start,
            &super::words::wrapped(&words, SMALL, 440.0).first().cloned().unwrap_or_default(),
        );
        y = y.max(line);
    }
    Ok(y)
}

fn rows_told(sheet: &mut Sheet, rows: &[&crate::layout::LayoutRow], report: &LayoutReport, from: f64) -> f64 {
    let mut y = from;
    if rows.is_empty() {
        return y;
    }
    let columns = [
        (78.0, Tie::Start, "clearance"),
        (600.0, Tie::End, "mm"),
        (620.0, Tie::Start, "allowed"),
        (980.0, Tie::End, "chance of a clash"),
    ];
    for (x, tie, name) in columns {
        sheet.text(x, y, SMALL, tie, name);
    }
    sheet.line(20.0, y + 8.0, WIDE - 20.0, y + 8.0, Pen::THIN);
    for (k, r) in rows.iter().enumerate() {
        y += 1.55 * SMALL;
        let lines = super::words::wrapped(&r.what, SMALL, 450.0);
        sign(sheet, 56.0, y - 0.35 * SMALL, r.state, 0.7);
        sheet.text(34.0, y, SMALL, Tie::End, &format!("{}", k + 1));
        sheet.text(600.0, y, SMALL, Tie::End, &format!("{:.1}", crate::error::tidy(r.clearance_mm)));
        sheet.text(620.0, y, SMALL, Tie::Start, &r.allowed());
        let chance = match (r.state, r.chance) {
            (RowState::Clash, Some(c)) => format!("CLASH, {}", crate::layout::percent(c)),
            (RowState::Clash, None) => "CLASH".into(),
            (_, Some(c)) => crate::layout::percent(c),
            (_, None) => "fitted".into(),
        };
        sheet.text(980.0, y, SMALL, Tie::End, &chance);
        for (j, line) in lines.iter().enumerate() {
            if j > 0 {
                y += 1.25 * SMALL;
            }
            sheet.text(78.0, y, SMALL, Tie::Start, line);
        }
    }
    let t = report.tolerance;
    let words = format!(
        "Errors of place counted: {} mm each way, {} degrees of turn (standard uncertainties). Limits are common practice, no source.",
        short(t.u_position_mm, 2),
        short(t.u_angle_deg, 2)
    );
    sheet.paragraph(20.0, y + 2.0 * SMALL, SMALL, WIDE - 40.0, &words)
}
