//! Tables out, such that reading them gives the same numbers back to the last bit.

use super::{Heading, unreadable};
use crate::error::{Error, Result, same_length};

/// One column's cells.
#[derive(Debug, Clone, PartialEq)]
pub enum Cells {
    /// Finite numbers in the unit the heading names.
    Numbers(Vec<f64>),
    /// Finite numbers or nothing.
    Optional(Vec<Option<f64>>),
    /// Texts of one line; blanks around them are not kept.
    Texts(Vec<String>),
}

impl Cells {
    fn len(&self) -> usize {
        match self {
            Cells::Numbers(v) => v.len(),
            Cells::Optional(v) => v.len(),
            Cells::Texts(v) => v.len(),
        }
    }

    fn text(&self, name: &str, row: usize, decimal_comma: bool) -> Result<String> {
        let number = |v: f64| -> Result<String> {
            if !v.is_finite() {
                return Err(Error::BadList { name: format!("{name}[{row}]"), problem: format!("is {v}; it must be finite") });
            }
            // The shortest digits that read back as the same number.
            let text = format!("{v:?}");
            let text = text.strip_suffix(".0").unwrap_or(&text);
            Ok(if decimal_comma { text.replace('.', ",") } else { text.into() })
        };
        match self {
            Cells::Numbers(v) => number(v[row]),
            Cells::Optional(v) => v[row].map_or(Ok(String::new()), number),
            Cells::Texts(v) if v[row].contains(['\n', '\r']) => Err(Error::BadList {
                name: format!("{name}[{row}]"),
                problem: "has a line break; a cell must be one line".into(),
            }),
            Cells::Texts(v) => Ok(v[row].trim().into()),
        }
    }
}

/// The columns as CSV under their names, which carry the units (`height_mm`): `,` and decimal point, or `;` and decimal comma.
///
/// Refused: no columns or rows, columns of different length, names that would not be read back the same or occur twice, numbers
/// that are not finite, texts with a line break. A row without a single filled cell is a blank line to a reader.
pub fn write_csv(columns: &[(&str, Cells)], decimal_comma: bool) -> Result<String> {
    let Some((first_name, first)) = columns.first() else {
        return Err(Error::BadList { name: "columns".into(), problem: "has 0 columns; it needs at least 1".into() });
    };
    if first.len() == 0 {
        return Err(Error::BadList { name: (*first_name).into(), problem: "has 0 values; it needs at least 1".into() });
    }
    let mut known = Vec::new();
    for (name, cells) in columns {
        same_length(first_name, first.len(), name, cells.len())?;
        let heading = Heading::read(name);
        let spelled = heading.unit.map_or(heading.quantity.clone(), |u| format!("{}_{}", heading.quantity, u.symbol));
        if name.is_empty() || spelled != *name {
            let problem = format!("is no column name; write it {spelled:?} or the like: lower case, words and unit joined by _");
            return Err(Error::BadList { name: format!("{name:?}"), problem });
        }
        if known.iter().any(|k| k == heading.name()) {
            return Err(Error::BadList { name: (*name).into(), problem: format!("gives {} a second time", heading.name()) });
        }
        known.push(heading.name().to_string());
    }
    let mut writer =
        csv::WriterBuilder::new().delimiter(if decimal_comma { b';' } else { b',' }).comment(Some(b'#')).from_writer(Vec::new());
    let failed = |e: String| unreadable("table", format!("cannot be written: {e}"));
    writer.write_record(columns.iter().map(|(name, _)| name)).map_err(|e| failed(e.to_string()))?;
    for row in 0..first.len() {
        let cells: Result<Vec<String>> = columns.iter().map(|(name, cells)| cells.text(name, row, decimal_comma)).collect();
        writer.write_record(cells?).map_err(|e| failed(e.to_string()))?;
    }
    let bytes = writer.into_inner().map_err(|e| failed(e.to_string()))?;
    String::from_utf8(bytes).map_err(|e| failed(e.to_string()))
}
