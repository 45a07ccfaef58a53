//! A user's own species: CSV with the unit in the header, JSON with a schema.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use super::quantity::Quantity as Q;
use super::{Figure, Inner, Standing, Wood};
use crate::error::{Error, Result, finite, number};

/// Schema and version of a wood in JSON.
pub const WOOD_SCHEMA: &str = "bracewright/wood/1";

#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct WoodFile {
    schema: String,
    name: String,
    #[serde(default, skip_serializing_if = "String::is_empty")]
    botanical_name: String,
    #[serde(default, skip_serializing_if = "String::is_empty")]
    edition: String,
    #[serde(default = "twelve")]
    moisture_percent: f64,
    #[serde(default = "twenty")]
    temperature_c: f64,
    /// A published species whose ratios, slopes and movement stand in for those the file leaves out.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    like: Option<String>,
    figures: BTreeMap<String, FigureFile>,
}

#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(untagged)]
enum FigureFile {
    Plain(f64),
    Whole {
        value: f64,
        #[serde(default)]
        spread: Option<f64>,
        #[serde(default)]
        standing: Option<Standing>,
        #[serde(default)]
        source: Option<String>,
    },
}

fn twelve() -> f64 {
    12.0
}

fn twenty() -> f64 {
    20.0
}

impl From<Wood> for WoodFile {
    fn from(wood: Wood) -> WoodFile {
        let whole = |f: &Figure| FigureFile::Whole {
            value: f.value,
            spread: f.spread,
            standing: Some(f.standing),
            source: Some(f.source.clone()),
        };
        WoodFile {
            schema: WOOD_SCHEMA.into(),
            name: wood.name().into(),
            botanical_name: wood.botanical_name().into(),
            edition: wood.edition().into(),
            moisture_percent: wood.moisture_percent(),
            temperature_c: wood.temperature_c(),
            like: None,
            figures: wood.figures().map(|(q, f)| (q.name().to_string(), whole(f))).collect(),
        }
    }
}

impl TryFrom<WoodFile> for Wood {
    type Error = Error;

    fn try_from(file: WoodFile) -> Result<Wood> {
        check_schema("wood", Some(&file.schema))?;
        let mut inner = Inner::named(&file.name);
        inner.botanical_name = file.botanical_name;
        inner.edition = file.edition;
        inner.moisture_percent = file.moisture_percent;
        inner.temperature_c = file.temperature_c;
        for (name, given) in file.figures {
            let quantity: Q = name.parse()?;
            let figure = match given {
                FigureFile::Plain(value) => Figure::new(quantity, value, Standing::Own, "given by the user"),
                FigureFile::Whole { value, spread, standing, source } => Figure {
                    value,
                    spread,
                    standing: standing.unwrap_or(Standing::Own),
                    source: source.unwrap_or_else(|| "given by the user".into()),
                },
            };
            inner.figures.insert(quantity, figure);
        }
        if let Some(like) = file.like {
            inner.borrow_from(&Wood::published(&like)?);
        }
        Wood::build(inner)
    }
}

fn check_schema(place: &str, found: Option<&str>) -> Result<()> {
    match found {
        Some(WOOD_SCHEMA) => Ok(()),
        other => Err(Error::Schema { place: place.into(), found: other.unwrap_or("none").into(), expected: WOOD_SCHEMA.into() }),
    }
}

fn unreadable(place: impl Into<String>, problem: impl ToString) -> Error {
    Error::Unreadable { place: place.into(), problem: problem.to_string() }
}

impl Wood {
    /// Reads a wood from JSON with `"schema": "bracewright/wood/1"`; another schema or a newer version is refused.
    ///
    /// `place` names the file in messages. Needed: `name` and, under `figures`, `density_kg_m3` and `modulus_l_gpa` (or
    /// `bending_modulus_gpa`), each a number or `{"value", "spread", "standing", "source"}`. `like` names a published
    /// species that lends its ratios; otherwise Sitka spruce does. Either way they are marked estimated.
    pub fn from_json_str(place: &str, text: &str) -> Result<Wood> {
        let value: serde_json::Value =
            serde_json::from_str(text.trim_start_matches('\u{feff}')).map_err(|e| unreadable(place, format!("not JSON: {e}")))?;
        if !value.is_object() {
            return Err(unreadable(place, format!("holds no JSON object; expected one with \"schema\": {WOOD_SCHEMA:?}")));
        }
        check_schema(place, value.get("schema").map(|s| s.as_str().unwrap_or("not a text")))?;
        let file: WoodFile = serde_json::from_value(value).map_err(|e| unreadable(place, e))?;
        Wood::try_from(file).map_err(|e| unreadable(place, e))
    }

    /// This wood as JSON, every figure with its standing and source; [`Wood::from_json_str`] reads it back exactly.
    pub fn to_json(&self) -> Result<String> {
        serde_json::to_string_pretty(self).map_err(|e| unreadable("wood", e))
    }

    /// Reads woods from a table, one a line.
    ///
    /// The header names quantity and unit: `species`, `density_kg_m3` (or `density (kg/m3)`, g/cm3, lb/ft3), `modulus_l_gpa`
    /// (or MPa, Mpsi) or `bending_modulus_gpa`, and any other [`Quantity`](super::Quantity); besides `botanical_name`, `edition`,
    /// `moisture_percent` (12 if left out), `source`, `like` and `note`. Comma, semicolon or tab apart; with the last two
    /// a decimal comma is read. An empty cell is a figure you do not have.
    pub fn from_csv_str(place: &str, text: &str) -> Result<Vec<Wood>> {
        let text = text.trim_start_matches('\u{feff}');
        let first = text.lines().find(|l| !l.trim().is_empty()).unwrap_or("");
        let delimiter = if first.contains(';') {
            b';'
        } else if first.contains('\t') {
            b'\t'
        } else {
            b','
        };
        let mut reader = csv::ReaderBuilder::new().delimiter(delimiter).trim(csv::Trim::All).from_reader(text.as_bytes());
        let header = reader.headers().map_err(|e| unreadable(place, e))?.clone();
        let columns: Vec<Column> = header.iter().map(|h| column(place, h)).collect::<Result<_>>()?;
        for (i, c) in columns.iter().enumerate() {
            if *c != Column::Note && columns[..i].contains(c) {
                return Err(unreadable(place, format!("column {:?} says the same thing as another column", &header[i])));
            }
        }
        if !columns.contains(&Column::Name) {
            return Err(unreadable(place, "has no column \"species\"; the header must name it and the units"));
        }
        let mut woods = Vec::new();
        for record in reader.records() {
            let record = record.map_err(|e| unreadable(place, e))?;
            let line = record.position().map_or(0, csv::Position::line);
            let place = format!("{place} line {line}");
            woods.push(row(&place, &header, &columns, &record, delimiter != b',')?);
        }
        if woods.is_empty() {
            return Err(unreadable(place, "holds no wood; expected a header and at least one line"));
        }
        Ok(woods)
    }
}

#[derive(Debug, Clone, Copy, PartialEq)]
enum Column {
    Name,
    Botanical,
    Edition,
    Source,
    Like,
    Note,
    Moisture,
    /// A quantity, and what a cell is multiplied by to reach its unit.
    Figure(Q, Scale),
}

#[derive(Debug, Clone, Copy)]
struct Scale(f64);

// Two columns of one quantity are one too many, whatever their units.
impl PartialEq for Scale {
    fn eq(&self, _: &Scale) -> bool {
        true
    }
}

/// Other units a header may name: its ending, the ending of our own name, and the factor between.
const UNITS: [(&str, &str, f64); 7] = [
    ("_mpa", "_gpa", 1e-3),
    ("_n_mm2", "_gpa", 1e-3),
    ("_mpsi", "_gpa", 6.894757293168),
    ("_psi", "_mpa", 6.894757293168e-3),
    ("_n_mm2", "_mpa", 1.0),
    ("_g_cm3", "_kg_m3", 1e3),
    ("_lb_ft3", "_kg_m3", 16.01846337396014),
];

fn column(place: &str, header: &str) -> Result<Column> {
    let words = header.replace('%', " percent ").to_lowercase();
    let plain = words.split(|c: char| !c.is_alphanumeric()).filter(|w| !w.is_empty()).collect::<Vec<_>>().join("_");
    let figure = |name: &str, scale: f64| Q::ALL.iter().find(|q| q.name() == name).map(|&q| Column::Figure(q, Scale(scale)));
    let found = match plain.as_str() {
        "species" | "name" | "wood" => Some(Column::Name),
        "botanical_name" => Some(Column::Botanical),
        "edition" => Some(Column::Edition),
        "source" => Some(Column::Source),
        "like" => Some(Column::Like),
        "note" | "notes" => Some(Column::Note),
        "moisture_percent" => Some(Column::Moisture),
        name => figure(name, 1.0).or_else(|| {
            UNITS
                .iter()
                .find_map(|(theirs, ours, k)| name.strip_suffix(theirs).and_then(|stem| figure(&format!("{stem}{ours}"), *k)))
        }),
    };
    found.ok_or_else(|| {
        let known = Q::ALL.iter().find(|q| !plain.is_empty() && q.name().starts_with(&plain));
        match known {
            Some(q) => unreadable(place, format!("column {header:?} does not name its unit; write {:?}", q.name())),
            None => unreadable(
                place,
                format!(
                    "column {header:?} is not known; it must be one of: species, botanical_name, edition, source, like, note, \
                     moisture_percent, {}",
                    Q::ALL.iter().map(|q| q.name()).collect::<Vec<_>>().join(", ")
                ),
            ),
        }
    })
}

fn row(place: &str, header: &csv::StringRecord, columns: &[Column], cells: &csv::StringRecord, comma: bool) -> Result<Wood> {
    let mut inner = Inner::named("");
    let mut source = "given by the user".to_string();
    let mut like = None;
    let mut figures = Vec::new();
    for ((cell, column), title) in cells.iter().zip(columns).zip(header) {
        if cell.is_empty() {
            continue;
        }
        let value = || parse(cell, comma).map_err(|problem| unreadable(format!("{place}, column {title}"), problem));
        match *column {
            Column::Name => inner.name = cell.into(),
            Column::Botanical => inner.botanical_name = cell.into(),
            Column::Edition => inner.edition = cell.into(),
            Column::Source => source = cell.into(),
            Column::Like => like = Some(cell),
            Column::Note => {}
            Column::Moisture => inner.moisture_percent = value()?,
            Column::Figure(q, Scale(k)) => figures.push((q, value()? * k)),
        }
    }
    for (q, value) in figures {
        inner.figures.insert(q, Figure::new(q, value, Standing::Own, source.clone()));
    }
    let place = |e: Error| unreadable(place, e);
    if let Some(like) = like {
        inner.borrow_from(&Wood::published(like).map_err(place)?);
    }
    Wood::build(inner).map_err(place)
}

fn parse(cell: &str, comma: bool) -> std::result::Result<f64, String> {
    let text = if comma && !cell.contains('.') { cell.replacen(',', ".", 1) } else { cell.to_string() };
    let value: f64 = text.parse().map_err(|_| format!("{cell:?} is not a number"))?;
    finite("the cell", value, "").map_err(|_| format!("{} is not a finite number", number(value)))
}
