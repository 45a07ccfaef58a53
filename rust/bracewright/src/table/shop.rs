//! Two tables every shop has: heights at stations, and readings on a rig.

use super::{Table, unreadable};
use crate::error::{Result, number};
use serde::{Deserialize, Serialize};
use std::collections::HashMap;

/// Heights, and widths where measured, along a brace.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Stations {
    /// Places along the brace, mm, increasing, at least two.
    pub x_mm: Vec<f64>,
    /// Height at each, mm, 0 or more.
    pub height_mm: Vec<f64>,
    /// Width at each, mm, above 0, where the table has them.
    pub width_mm: Option<Vec<f64>>,
}

/// Reads columns `x` and `height` and, where there is one, `width`, each with a unit of length.
///
/// Stations must increase down the file; they are not sorted in silence, since a swapped pair is more often a typing error.
pub fn read_stations(place: &str, text: &str) -> Result<Stations> {
    Stations::from_table(&Table::read_str(place, text)?)
}

impl Stations {
    /// The same from a table that has been read; other columns are ignored.
    pub fn from_table(table: &Table) -> Result<Stations> {
        let x_mm = table.numbers("x_mm")?;
        let height_mm = table.numbers("height_mm")?;
        let width_mm = if table.has("width_mm") { Some(table.numbers("width_mm")?) } else { None };
        let bad = |row: usize, name: &str, problem: String| Err(unreadable(&table.place_of(row, name), problem));
        if x_mm.len() < 2 {
            return bad(0, "x_mm", "is the only station; at least 2 are needed".into());
        }
        let lines: Vec<u64> = table.rows().map(|r| r.line()).collect();
        for row in 0..x_mm.len() {
            if row > 0 && x_mm[row] <= x_mm[row - 1] {
                let (here, before) = (number(x_mm[row]), number(x_mm[row - 1]));
                let problem =
                    format!("is {here} mm after {before} mm on line {}; stations must increase down the file", lines[row - 1]);
                return bad(row, "x_mm", problem);
            }
            if height_mm[row] < 0.0 {
                return bad(row, "height_mm", format!("is {} mm; it must be 0 mm or more", number(height_mm[row])));
            }
            if let Some(w) = width_mm.as_ref().map(|w| w[row]).filter(|w| *w <= 0.0) {
                return bad(row, "width_mm", format!("is {} mm; it must be above 0 mm", number(w)));
            }
        }
        Ok(Stations { x_mm, height_mm, width_mm })
    }
}

/// One reading of the dial.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ReadingRow {
    /// Line of the file, from 1.
    pub line: u64,
    /// Load, N, 0 or more.
    pub load_n: f64,
    /// Dial, mm; either sign, as the dial shows it.
    pub deflection_mm: f64,
    /// Which time the brace was laid on the rig; 1 when the table does not say.
    pub seat: u32,
    /// Distance of the supports, mm, above 0, where the table has it.
    pub span_mm: Option<f64>,
    /// When it was read, as written; may be empty.
    pub time: String,
    /// Remark; may be empty.
    pub note: String,
}

/// Reads columns `load` (N, or kg and lb as weights) and `deflection`, and where there are any `seat`, `span`, `time`, `note`.
pub fn read_readings(place: &str, text: &str) -> Result<Vec<ReadingRow>> {
    ReadingRow::from_table(&Table::read_str(place, text)?)
}

impl ReadingRow {
    /// The same from a table that has been read; other columns are ignored.
    pub fn from_table(table: &Table) -> Result<Vec<ReadingRow>> {
        let loads = table.numbers("load_n")?;
        let deflections = table.numbers("deflection_mm")?;
        let seats = if table.has("seat") { table.optional_numbers("seat")? } else { vec![None; table.len()] };
        let spans = if table.has("span_mm") { table.optional_numbers("span_mm")? } else { vec![None; table.len()] };
        let texts = |name: &str| if table.has(name) { table.texts(name) } else { Ok(vec![""; table.len()]) };
        let (times, notes) = (texts("time")?, texts("note")?);
        let bad = |row: usize, name: &str, problem: String| Err(unreadable(&table.place_of(row, name), problem));
        let mut out = Vec::with_capacity(table.len());
        for (row, line) in table.rows().map(|r| r.line()).enumerate() {
            if loads[row] < 0.0 {
                return bad(row, "load_n", format!("is {} N; it must be 0 N or more", number(loads[row])));
            }
            if let Some(span) = spans[row].filter(|s| *s <= 0.0) {
                return bad(row, "span_mm", format!("is {} mm; it must be above 0 mm", number(span)));
            }
            let seat = seats[row].unwrap_or(1.0);
            if seat.fract() != 0.0 || !(0.0..=1e6).contains(&seat) {
                return bad(row, "seat", format!("is {}; it must be a whole number from 0 to 1000000", number(seat)));
            }
            out.push(ReadingRow {
                line,
                load_n: loads[row],
                deflection_mm: deflections[row],
                seat: seat as u32,
                span_mm: spans[row],
                time: times[row].into(),
                note: notes[row].into(),
            });
        }
        Ok(out)
    }
}

/// The readings of one seat, under one load and span.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct SeatReadings {
    /// Number of the seat.
    pub seat: u32,
    /// What the dial showed, mm, in the order of the file; at least one.
    pub deflections_mm: Vec<f64>,
}

/// Readings that repeat one another: one load, one span.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ReadingGroup {
    /// Load, N.
    pub load_n: f64,
    /// Span, mm, where the table has it.
    pub span_mm: Option<f64>,
    /// The seats in the order of the file; at least one.
    pub seats: Vec<SeatReadings>,
}

// Numbers that count as the same, within 1e-9 of their size, share an id.
fn ids(values: impl Iterator<Item = f64>) -> Vec<usize> {
    let values: Vec<f64> = values.collect();
    let mut order: Vec<usize> = (0..values.len()).collect();
    order.sort_by(|&a, &b| values[a].total_cmp(&values[b]));
    let mut out = vec![0; values.len()];
    for pair in order.windows(2) {
        let (a, b) = (values[pair[0]], values[pair[1]]);
        out[pair[1]] = out[pair[0]] + usize::from((a - b).abs() > 1e-9 * a.abs().max(b.abs()));
    }
    out
}

/// Puts repeats and re-seats of the same load and span together, in the order of first appearance.
///
/// Loads and spans count as the same within 1e-9 of their size, so that 2 kg and 19.6133 N meet.
pub fn group_readings(rows: &[ReadingRow]) -> Vec<ReadingGroup> {
    let loads = ids(rows.iter().map(|r| r.load_n));
    let spans = ids(rows.iter().map(|r| r.span_mm.unwrap_or(-1.0)));
    let (mut groups, mut group_at, mut seat_at) = (Vec::<ReadingGroup>::new(), HashMap::new(), HashMap::new());
    for (i, row) in rows.iter().enumerate() {
        let at = *group_at.entry((loads[i], spans[i])).or_insert_with(|| {
            groups.push(ReadingGroup { load_n: row.load_n, span_mm: row.span_mm, seats: Vec::new() });
            groups.len() - 1
        });
        let seats = &mut groups[at].seats;
        let seat = *seat_at.entry((at, row.seat)).or_insert_with(|| {
            seats.push(SeatReadings { seat: row.seat, deflections_mm: Vec::new() });
            seats.len() - 1
        });
        seats[seat].deflections_mm.push(row.deflection_mm);
    }
    groups
}

fn mean(v: &[f64]) -> f64 {
    v.iter().sum::<f64>() / v.len().max(1) as f64
}

fn squares(v: &[f64]) -> f64 {
    let m = mean(v);
    v.iter().map(|x| (x - m) * (x - m)).sum()
}

impl ReadingGroup {
    fn seat_means_mm(&self) -> Vec<f64> {
        self.seats.iter().map(|s| mean(&s.deflections_mm)).collect()
    }

    /// Mean of the seats' means, mm: every seat counts alike, however often it was read.
    pub fn mean_mm(&self) -> f64 {
        mean(&self.seat_means_mm())
    }

    /// Standard deviation of a reading within its seat, mm, pooled over the seats; `None` unless some seat was read twice.
    pub fn repeat_sd_mm(&self) -> Option<f64> {
        let free: usize = self.seats.iter().map(|s| s.deflections_mm.len().saturating_sub(1)).sum();
        let sum: f64 = self.seats.iter().map(|s| squares(&s.deflections_mm)).sum();
        (free > 0).then(|| (sum / free as f64).sqrt())
    }

    /// Standard deviation of the seats' means, mm, with what is left of the repeats in it; `None` with one seat.
    pub fn seat_sd_mm(&self) -> Option<f64> {
        let means = self.seat_means_mm();
        (means.len() > 1).then(|| (squares(&means) / (means.len() - 1) as f64).sqrt())
    }
}
