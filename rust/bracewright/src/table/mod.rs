//! The shop's tables: CSV with the unit in the heading, read without being told how it was written.
//!
//! Separator `,`, `;` or tab; decimal point or, where the separator leaves room for it, comma; byte-order mark, either line ending,
//! `#` comment lines and blank lines. A bench table has one line a row: a cell that runs over the end of its line is refused.

mod heading;
mod shop;
mod stock;
mod weighings;
mod write;

pub use heading::Heading;
pub use shop::{ReadingGroup, ReadingRow, SeatReadings, Stations, group_readings, read_readings, read_stations};
pub use stock::{StockRow, StockSize, read_stock};
pub use weighings::{Weighings, read_weighings};
pub use write::{Cells, write_csv};

use crate::error::{Error, Result};
use crate::units::{Comma, Dimension, parse_text, quoted};
use std::io::Read;
use std::path::Path;

/// The largest file that is read, bytes (64 MiB).
pub const MAX_FILE_BYTES: usize = 64 << 20;

/// The most columns a table may have.
pub const MAX_COLUMNS: usize = 1000;

/// A table as read: text in cells, converted to surface units when a column is asked for.
#[derive(Debug, Clone, PartialEq)]
pub struct Table {
    place: String,
    columns: Vec<Heading>,
    comma: Comma,
    lines: Vec<u64>,
    // All cells, row by row, one after the other: a cell costs its text and one index.
    body: String,
    ends: Vec<usize>,
}

/// One row of a table.
#[derive(Debug, Clone, Copy)]
pub struct Row<'a> {
    table: &'a Table,
    index: usize,
}

impl<'a> Row<'a> {
    /// The line of the file, from 1.
    pub fn line(&self) -> u64 {
        self.table.lines[self.index]
    }

    /// The cells' texts in the order of the columns, blanks around them removed.
    pub fn cells(&self) -> impl Iterator<Item = &'a str> {
        let (table, index) = (self.table, self.index);
        (0..table.columns.len()).map(move |column| table.cell(index, column))
    }
}

fn unreadable(place: &str, problem: impl Into<String>) -> Error {
    Error::Unreadable { place: place.into(), problem: problem.into() }
}

impl Table {
    /// Reads the file at `path`; its name is the place in errors.
    pub fn read_path(path: impl AsRef<Path>) -> Result<Table> {
        let place = path.as_ref().display().to_string();
        let problem = |e: std::io::Error| unreadable(&place, format!("cannot be read: {e}"));
        let mut bytes = Vec::new();
        let file = std::fs::File::open(&path).map_err(problem)?;
        file.take(MAX_FILE_BYTES as u64 + 1).read_to_end(&mut bytes).map_err(problem)?;
        Table::read_bytes(&place, &bytes)
    }

    /// Reads `bytes`, which must be UTF-8.
    pub fn read_bytes(place: &str, bytes: &[u8]) -> Result<Table> {
        if bytes.starts_with(&[0xff, 0xfe]) || bytes.starts_with(&[0xfe, 0xff]) {
            return Err(unreadable(place, "is UTF-16; save it as CSV UTF-8"));
        }
        check_size(place, bytes.len())?;
        match std::str::from_utf8(bytes) {
            Ok(text) => Table::read_str(place, text),
            Err(e) => {
                let line = 1 + bytes[..e.valid_up_to()].iter().filter(|b| **b == b'\n').count();
                let byte = bytes.get(e.valid_up_to()).copied().unwrap_or_default();
                Err(unreadable(&format!("{place} line {line}"), format!("is not UTF-8 (byte {byte:#04x}); save it as CSV UTF-8")))
            }
        }
    }

    /// Reads `text`; `place` is the file's name for errors.
    pub fn read_str(place: &str, text: &str) -> Result<Table> {
        check_size(place, text.len())?;
        let text = text.strip_prefix('\u{feff}').unwrap_or(text);
        let separator = sniff(text);
        let mut reader = csv::ReaderBuilder::new()
            .has_headers(false)
            .flexible(true)
            .delimiter(separator.unwrap_or(b';'))
            .comment(Some(b'#'))
            .from_reader(text.as_bytes());
        let comma = if separator == Some(b',') { Comma::Doubtful } else { Comma::Decimal };
        let mut table = Table { place: place.into(), columns: vec![], comma, lines: vec![], body: String::new(), ends: vec![] };
        let mut lines = LineCounter { bytes: text.as_bytes(), at: 0, line: 1 };
        let mut record = csv::StringRecord::new();
        while reader.read_record(&mut record).map_err(|e| unreadable(place, format!("is not CSV: {e}")))? {
            let line = lines.line_of(record.position().map_or(0, |p| p.byte()));
            if record.iter().all(|cell| cell.trim().is_empty()) {
                continue;
            }
            if record.iter().any(|cell| cell.contains(['\n', '\r'])) {
                let problem = "a cell runs over the end of the line; a quotation mark is not closed, or a note has a line break";
                return Err(unreadable(&format!("{place} line {line}"), problem));
            }
            if table.columns.is_empty() { table.set_header(&record, line)? } else { table.push_row(&record, line)? }
        }
        if table.columns.is_empty() {
            return Err(unreadable(place, "is empty; it needs a line of headings such as x_mm, height_mm and rows below it"));
        }
        if table.lines.is_empty() {
            return Err(unreadable(place, format!("has headings ({}) but no rows", table.column_names().join(", "))));
        }
        Ok(table)
    }

    fn set_header(&mut self, record: &csv::StringRecord, line: u64) -> Result<()> {
        let place = format!("{} line {line}", self.place);
        if filled(record) > MAX_COLUMNS {
            return Err(unreadable(&place, format!("has {} headings; at most {MAX_COLUMNS} columns are read", filled(record))));
        }
        for (i, cell) in record.iter().take(filled(record)).enumerate() {
            let heading = Heading::read(cell);
            if heading.name().is_empty() {
                return Err(unreadable(&place, format!("column {} has the heading {}; it needs a name", i + 1, quoted(cell))));
            }
            if let Some(twin) = self.columns.iter().find(|c| c.name() == heading.name()) {
                let (a, b) = (quoted(&twin.written), quoted(&heading.written));
                return Err(unreadable(&place, format!("the columns {a} and {b} both give {}; keep one", heading.name())));
            }
            self.columns.push(heading);
        }
        Ok(())
    }

    fn push_row(&mut self, record: &csv::StringRecord, line: u64) -> Result<()> {
        let (width, filled) = (self.columns.len(), filled(record));
        if record.len() < width || filled > width {
            let found = if record.len() < width { record.len() } else { filled };
            let hint = match self.comma {
                Comma::Doubtful => "; between commas a decimal comma must stand in quotation marks, or part the cells with ;",
                Comma::Decimal => "",
            };
            let problem = format!("has {found} cells but the headings are {width}{hint}");
            return Err(unreadable(&format!("{} line {line}", self.place), problem));
        }
        for cell in record.iter().take(width) {
            self.body.push_str(cell.trim());
            self.ends.push(self.body.len());
        }
        self.lines.push(line);
        Ok(())
    }

    fn cell(&self, row: usize, column: usize) -> &str {
        let i = row * self.columns.len() + column;
        let start = if i == 0 { 0 } else { self.ends[i - 1] };
        &self.body[start..self.ends[i]]
    }

    /// The file's name, as given.
    pub fn place(&self) -> &str {
        &self.place
    }

    /// The number of rows; at least one.
    pub fn len(&self) -> usize {
        self.lines.len()
    }

    /// Never true: a table without rows is refused when read.
    pub fn is_empty(&self) -> bool {
        self.lines.is_empty()
    }

    /// The columns' headings in the order of the file.
    pub fn columns(&self) -> &[Heading] {
        &self.columns
    }

    /// The columns' names: quantity and surface unit (`height_mm`), or the plain word where the heading has no unit.
    pub fn column_names(&self) -> Vec<&str> {
        self.columns.iter().map(Heading::name).collect()
    }

    /// The rows in the order of the file.
    pub fn rows(&self) -> impl Iterator<Item = Row<'_>> {
        (0..self.lines.len()).map(move |index| Row { table: self, index })
    }

    /// Whether [`Table::numbers`] or [`Table::texts`] would find this column.
    pub fn has(&self, name: &str) -> bool {
        self.find(name).is_some()
    }

    /// Where row `row` (from 0) of a column stands, for an error: `file line 7, column "height [in]"`.
    pub fn place_of(&self, row: usize, name: &str) -> String {
        let line = self.lines.get(row).copied().unwrap_or_default();
        let written = self.find(name).map_or(name, |(i, _)| &self.columns[i].written);
        format!("{} line {line}, column {written:?}", self.place)
    }

    // The column of this name, or one of the quantity alone, whose cells then carry the unit.
    fn find(&self, name: &str) -> Option<(usize, Option<Dimension>)> {
        if let Some(i) = self.columns.iter().position(|c| c.name() == name) {
            return Some((i, self.columns[i].unit.map(|u| u.dimension)));
        }
        let wanted = Heading::read(name);
        let dimension = wanted.unit.filter(|u| u.symbol == u.dimension.surface_unit())?.dimension;
        let i = self.columns.iter().position(|c| c.unit.is_none() && c.name() == wanted.quantity)?;
        Some((i, Some(dimension)))
    }

    fn column(&self, name: &str) -> Result<(usize, Option<Dimension>)> {
        self.find(name).ok_or_else(|| {
            unreadable(&self.place, format!("has no column {name}; its columns are: {}", self.column_names().join(", ")))
        })
    }

    /// A column in its surface unit, `None` for an empty cell.
    ///
    /// A cell may carry a unit of its own (`5/16 in`), which then counts instead of the heading's. Refused, with file, line, column
    /// and text: anything but a finite number, and a column that uses both decimal marks.
    pub fn optional_numbers(&self, name: &str) -> Result<Vec<Option<f64>>> {
        let (column, dimension) = self.column(name)?;
        let unit = self.columns[column].unit;
        let first_with = |mark: char| (0..self.len()).find(|&row| self.cell(row, column).contains(mark));
        let mut out = Vec::with_capacity(self.len());
        for row in 0..self.len() {
            let text = self.cell(row, column);
            if text.is_empty() {
                out.push(None);
                continue;
            }
            let value = parse_text(dimension, text, unit, self.comma);
            out.push(Some(value.map_err(|p| unreadable(&self.place_of(row, name), format!("{} {p}", quoted(text))))?));
        }
        if let (Some(comma), Some(point)) = (first_with(','), first_with('.')) {
            let (a, b) = (quoted(self.cell(comma, column)), quoted(self.cell(point, column)));
            let problem =
                format!("{a} has a decimal comma but {b} on line {} has a point; use one mark in a column", self.lines[point]);
            return Err(unreadable(&self.place_of(comma, name), problem));
        }
        Ok(out)
    }

    /// A column in its surface unit, every cell filled. See [`Table::optional_numbers`].
    pub fn numbers(&self, name: &str) -> Result<Vec<f64>> {
        let values = self.optional_numbers(name)?;
        let needed = |row: usize| unreadable(&self.place_of(row, name), "is empty; it must be a number");
        values.into_iter().enumerate().map(|(row, v)| v.ok_or_else(|| needed(row))).collect()
    }

    /// A column's cells as they stand, blanks around them removed.
    pub fn texts(&self, name: &str) -> Result<Vec<&str>> {
        let (column, _) = self.column(name)?;
        Ok((0..self.len()).map(|row| self.cell(row, column)).collect())
    }
}

/// The cells up to the last that is not blank.
fn filled(record: &csv::StringRecord) -> usize {
    record.iter().enumerate().filter(|(_, cell)| !cell.trim().is_empty()).last().map_or(0, |(i, _)| i + 1)
}

fn check_size(place: &str, bytes: usize) -> Result<()> {
    if bytes <= MAX_FILE_BYTES {
        return Ok(());
    }
    Err(unreadable(place, format!("is larger than {} MiB, the most that is read", MAX_FILE_BYTES >> 20)))
}

/// The separator of the heading line: the one used most outside quotation marks; `None` for a single column.
fn sniff(text: &str) -> Option<u8> {
    let header =
        text.split(['\n', '\r']).find(|line| !line.starts_with('#') && !line.trim_matches([' ', ',', ';', '\t']).is_empty())?;
    let mut counts = [(b'\t', 0), (b',', 0), (b';', 0)];
    // A quotation mark opens at the start of a cell only: `x ("),height (")` has inches in it.
    let (mut inside, mut may_open) = (false, true);
    for b in header.bytes() {
        if b == b'"' && (inside || may_open) {
            (inside, may_open) = (!inside, inside);
            continue;
        }
        let known = counts.iter_mut().find(|(separator, _)| b == *separator && !inside);
        may_open = known.is_some();
        if let Some((_, count)) = known {
            *count += 1;
        }
    }
    // The last of equals wins, so `;` before `,` before tab.
    counts.into_iter().max_by_key(|(_, count)| *count).filter(|(_, count)| *count > 0).map(|(separator, _)| separator)
}

/// Line numbers of byte positions that only grow. The reader's own count stops short of the blank and comment lines it skips.
struct LineCounter<'a> {
    bytes: &'a [u8],
    at: usize,
    line: u64,
}

impl LineCounter<'_> {
    fn step(&mut self) {
        let next = self.bytes.get(self.at + 1);
        match self.bytes.get(self.at) {
            Some(b'\n') => self.line += 1,
            Some(b'\r') if next != Some(&b'\n') => self.line += 1,
            _ => {}
        }
        self.at += 1;
    }

    fn line_of(&mut self, byte: u64) -> u64 {
        while (self.at as u64) < byte {
            self.step();
        }
        while let Some(b'\n' | b'\r' | b'#') = self.bytes.get(self.at) {
            if self.bytes[self.at] == b'#' {
                while self.at < self.bytes.len() && self.bytes[self.at] != b'\n' {
                    self.step();
                }
            } else {
                self.step();
            }
        }
        self.line
    }
}
