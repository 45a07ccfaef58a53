//! Lines of a file, numbers in fixed columns and numbers that run together.

use crate::error::{Error, Result};

/// A file being read.
pub(super) struct Lines<'a> {
    pub place: &'a str,
    bytes: &'a [u8],
    at: usize,
    /// Number of the line last given, from 1.
    pub line: usize,
}

impl<'a> Lines<'a> {
    pub fn new(place: &'a str, bytes: &'a [u8]) -> Self {
        Self { place, bytes, at: 0, line: 0 }
    }

    /// The next line without its end; `None` at the end of the file. No line is longer than 400 bytes.
    pub fn next(&mut self) -> Result<Option<String>> {
        let rest = &self.bytes[self.at..];
        if rest.is_empty() {
            return Ok(None);
        }
        self.line += 1;
        let long = rest.iter().take(401).position(|b| *b == b'\n');
        let end = match long {
            Some(end) => end,
            None if rest.len() <= 400 => rest.len(),
            None => return Err(self.wrong("is longer than 400 characters; a line of a universal file has 80")),
        };
        self.at += (end + 1).min(rest.len());
        let line = &rest[..end];
        let line = line.strip_suffix(b"\r").unwrap_or(line);
        Ok(Some(line.iter().map(|b| if b.is_ascii() && !b.is_ascii_control() { *b as char } else { ' ' }).collect()))
    }

    /// The next line, which must be there.
    pub fn needed(&mut self, what: &str) -> Result<String> {
        match self.next()? {
            Some(line) if line.trim() == "-1" => Err(self.wrong(&format!("the dataset ends before its {what}"))),
            Some(line) => Ok(line),
            None => Err(self.wrong(&format!("the file ends before the {what} of this dataset; it was cut short"))),
        }
    }

    /// So many bytes as they stand.
    pub fn raw(&mut self, count: usize) -> Result<&'a [u8]> {
        let left = self.bytes.len() - self.at;
        if count > left {
            return Err(
                self.wrong(&format!("the dataset claims {count} bytes of data but the file has {left} left; it was cut short"))
            );
        }
        let out = &self.bytes[self.at..self.at + count];
        self.at += count;
        Ok(out)
    }

    /// Whether the closing -1 stands after so many bytes.
    pub fn ends_after(&self, count: usize) -> bool {
        self.bytes[self.at..].get(count..).is_some_and(|rest| {
            let rest = rest.trim_ascii_start();
            rest.starts_with(b"-1") && rest.get(2).is_none_or(|b| b.is_ascii_whitespace())
        })
    }

    /// Bytes not yet read.
    pub fn left(&self) -> usize {
        self.bytes.len() - self.at
    }

    pub fn wrong(&self, problem: &str) -> Error {
        Error::Unreadable { place: format!("{}, line {}", self.place, self.line), problem: problem.into() }
    }
}

/// The part of a line in columns `from` (0 first) to `to`, trimmed; empty past its end.
pub(super) fn column(line: &str, from: usize, to: usize) -> &str {
    line.get(from.min(line.len())..to.min(line.len())).unwrap_or("").trim()
}

/// A whole number of a field; an empty one is 0.
pub(super) fn whole(lines: &Lines, field: &str, what: &str) -> Result<i64> {
    if field.is_empty() {
        return Ok(0);
    }
    field.parse().map_err(|_| lines.wrong(&format!("{what} is {field:?}; it must be a whole number")))
}

/// Numbers of a line: apart by blanks, or run together where the next has a sign; exponents by E or D.
pub(super) fn numbers(lines: &Lines, line: &str, out: &mut Vec<f64>) -> Result<()> {
    for word in line.split_ascii_whitespace() {
        let mut from = 0;
        let bytes = word.as_bytes();
        for i in 1..=bytes.len() {
            let sign = i < bytes.len() && matches!(bytes[i], b'+' | b'-') && !matches!(bytes[i - 1], b'E' | b'e' | b'D' | b'd');
            if i == bytes.len() || sign {
                let text = word[from..i].replace(['D', 'd'], "E");
                let value: f64 = text.parse().map_err(|_| lines.wrong(&format!("{text:?} is no number")))?;
                if !value.is_finite() {
                    return Err(lines.wrong(&format!("{text:?} is not finite; every value must be")));
                }
                out.push(value);
                from = i;
            }
        }
    }
    Ok(())
}
