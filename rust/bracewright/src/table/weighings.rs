//! Weighings over days: one row a weighing, of one piece or of several.

use serde::{Deserialize, Serialize};

use super::{Table, unreadable};
use crate::error::{Result, number};
use crate::units::quoted;

/// The weighings of one piece, in the order of time.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Weighings {
    /// Its name; empty where the table has one piece and no names.
    pub name: String,
    /// Date (and time) of the first weighing, as `2026-03-01` or `2026-03-01T08:30`; `None` where the table counts days.
    pub from_date: Option<String>,
    /// Days from the first weighing; from the table's own 0 where it counts days.
    pub days: Vec<f64>,
    /// Masses, g.
    pub mass_g: Vec<f64>,
}

/// Scale steps looked for, g.
const STEPS_G: [f64; 5] = [10.0, 1.0, 0.1, 0.01, 0.001];

impl Weighings {
    /// The step of the scale, g, from 10 down to 0.001: the coarsest decimal that all masses are whole multiples of; `None` when
    /// they are of none (another unit, say).
    pub fn step_g(&self) -> Option<f64> {
        let whole = |s: &f64| self.mass_g.iter().all(|m| (m / s - (m / s).round()).abs() < 1e-6);
        STEPS_G.into_iter().find(whole)
    }
}

/// Days from 1 January 1970 of a date of the Gregorian calendar; `None` when there is no such day.
fn days_of(year: i64, month: i64, day: i64) -> Option<i64> {
    let leap = year % 4 == 0 && (year % 100 != 0 || year % 400 == 0);
    let lengths = [31, if leap { 29 } else { 28 }, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31];
    let long = *lengths.get(usize::try_from(month - 1).ok()?)?;
    if !(1..=long).contains(&day) || !(1900..=2999).contains(&year) {
        return None;
    }
    let before = |y: i64| 365 * y + y / 4 - y / 100 + y / 400;
    let in_year: i64 = lengths[..(month - 1) as usize].iter().sum::<i64>() + day - 1;
    Some(before(year - 1) - before(1969) + in_year)
}

/// `2026-03-01`, `1.3.2026`, with or without ` 08:30` or `T08:30` behind it: days from 1970, and the same in the first form.
fn date(text: &str) -> Option<(f64, String)> {
    let (day, time) = match text.split_once([' ', 'T']) {
        Some((d, t)) => (d, Some(t.trim())),
        None => (text, None),
    };
    let numbers = |text: &str, mark: char| -> Option<Vec<i64>> {
        text.split(mark)
            .map(|p| p.parse().ok().filter(|_| p.bytes().all(|b| b.is_ascii_digit()) && p.len() <= 4))
            .collect::<Option<Vec<i64>>>()
    };
    let [y, m, d] = match (numbers(day, '-').as_deref(), numbers(day, '.').as_deref()) {
        (Some(&[y, m, d]), _) | (_, Some(&[d, m, y])) => [y, m, d],
        _ => return None,
    };
    let whole = days_of(y, m, d)?;
    let minutes = match time.map(|t| numbers(t, ':')) {
        None => None,
        Some(Some(t)) => match t[..] {
            [h, m] if h < 24 && m < 60 => Some((h, m)),
            [h, m, s] if h < 24 && m < 60 && s < 60 => Some((h, m)),
            _ => return None,
        },
        Some(None) => return None,
    };
    let clock = minutes.map_or(String::new(), |(h, m)| format!("T{h:02}:{m:02}"));
    Some((whole as f64 + minutes.map_or(0.0, |(h, m)| (60 * h + m) as f64 / 1440.0), format!("{y:04}-{m:02}-{d:02}{clock}")))
}

/// Reads weighings: `date` (2026-03-01 or 1.3.2026, with a time behind it or not) or `days`, `mass`, and `name` where the table
/// holds several pieces. Rows of one piece must follow one another in time; pieces come in the order of first appearance.
pub fn read_weighings(place: &str, text: &str) -> Result<Vec<Weighings>> {
    let table = Table::read_str(place, text)?;
    let mass = table.numbers("mass_g")?;
    let names = if table.has("name") { table.texts("name")? } else { vec![""; table.len()] };
    let column = ["date", "days", "day"].into_iter().find(|c| table.has(c));
    let Some(column) = column else {
        return Err(unreadable(
            place,
            format!("has no column date or days; its columns are: {}", table.column_names().join(", ")),
        ));
    };
    let bad = |row: usize, name: &str, problem: String| unreadable(&table.place_of(row, name), problem);
    let times: Vec<(f64, Option<String>)> = if column == "date" {
        let read = |(row, text): (usize, &&str)| {
            date(text).map(|(d, t)| (d, Some(t))).ok_or_else(|| {
                bad(
                    row,
                    "date",
                    format!("{} is no date; it must be as 2026-03-01 or 1.3.2026, a time as 08:30 behind it", quoted(text)),
                )
            })
        };
        table.texts("date")?.iter().enumerate().map(read).collect::<Result<_>>()?
    } else {
        table.numbers(column)?.into_iter().map(|d| (d, None)).collect()
    };
    let mut out: Vec<Weighings> = Vec::new();
    let mut first: Vec<f64> = Vec::new();
    for (row, ((time, written), grams)) in times.into_iter().zip(mass).enumerate() {
        if grams <= 0.0 {
            return Err(bad(row, "mass_g", format!("is {} g; it must be above 0 g", number(grams))));
        }
        let at = out.iter().position(|w| w.name == names[row]).unwrap_or_else(|| {
            first.push(if written.is_some() { time } else { 0.0 });
            out.push(Weighings { name: names[row].into(), from_date: written, days: Vec::new(), mass_g: Vec::new() });
            out.len() - 1
        });
        let day = time - first[at];
        if out[at].days.last().is_some_and(|last| day <= *last) {
            return Err(bad(row, column, "is not after the weighing before it; put the rows in the order of time".into()));
        }
        out[at].days.push(day);
        out[at].mass_g.push(grams);
    }
    Ok(out)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Days between dates by the calendar: a leap day, a century that is none, one that is (proleptic Gregorian calendar).
    #[test]
    fn days_between_dates() {
        let d = |y, m, d| days_of(y, m, d);
        assert_eq!(d(1970, 1, 1), Some(0));
        assert_eq!(d(2000, 3, 1).zip(d(2000, 2, 28)).map(|(a, b)| a - b), Some(2));
        assert_eq!(d(1900, 3, 1).zip(d(1900, 2, 28)).map(|(a, b)| a - b), Some(1));
        // 2026-03-01 is Unix day 20513 (seconds 1 772 323 200 over 86 400)
        assert_eq!(d(2026, 3, 1), Some(20_513));
        assert_eq!((d(2026, 2, 29), d(2026, 13, 1), d(2026, 0, 1), d(2026, 4, 31)), (None, None, None, None));
        assert_eq!(date("1.3.2026 18:00"), Some((20_513.75, "2026-03-01T18:00".into())));
        assert_eq!(date("2026-03-01"), Some((20_513.0, "2026-03-01".into())));
        for wrong in ["", "2026-03", "03/01/2026", "2026-03-01 25:00", "2026-03-01 noon", "-1.3.2026", "2026-3--1"] {
            assert_eq!(date(wrong), None, "{wrong}");
        }
    }
}
