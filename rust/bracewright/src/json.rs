//! JSON files: the schema and version that come first, and the same sentences for whatever is wrong.

use crate::error::{Error, Result};
use crate::table::MAX_FILE_BYTES;
use serde::{Serialize, de::DeserializeOwned};
use serde_json::Value;

#[derive(Serialize)]
struct Document<'a, T> {
    schema: String,
    #[serde(flatten)]
    body: &'a T,
}

fn unreadable(place: &str, problem: String) -> Error {
    Error::Unreadable { place: place.into(), problem }
}

/// The version of a document whose `"schema"` is `family/version`, from 1 to `newest`.
///
/// `place` is the file's name, `family` such as `bracewright/wood`. No schema, another one, and a newer version are each refused.
pub fn check_schema(place: &str, value: &Value, family: &str, newest: u32) -> Result<u32> {
    let Value::Object(fields) = value else {
        return Err(unreadable(
            place,
            format!("is not a JSON object; it must be one that starts with \"schema\": \"{family}/{newest}\""),
        ));
    };
    let Some(found) = fields.get("schema") else {
        return Err(unreadable(place, format!("names no schema; it must start with \"schema\": \"{family}/{newest}\"")));
    };
    let Value::String(found) = found else {
        return Err(unreadable(place, format!("has {found} for its schema; it must be the text \"{family}/{newest}\"")));
    };
    let version = found.strip_prefix(family).and_then(|rest| rest.strip_prefix('/'));
    let version =
        version.filter(|v| v.bytes().all(|b| b.is_ascii_digit()) && !v.starts_with('0')).and_then(|v| v.parse::<u32>().ok());
    match version {
        Some(version) if version <= newest => Ok(version),
        _ => {
            let expected = if newest > 1 { format!("{family}/1 to {newest}") } else { format!("{family}/1") };
            Err(Error::Schema { place: place.into(), found: found.clone(), expected })
        }
    }
}

/// A document of `family` as a value, with its version; the `"schema"` field is taken off.
pub fn read_value(place: &str, text: &str, family: &str, newest: u32) -> Result<(Value, u32)> {
    if text.len() > MAX_FILE_BYTES {
        return Err(unreadable(place, format!("has {} bytes; at most {MAX_FILE_BYTES} are read", text.len())));
    }
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    if text.trim().is_empty() {
        return Err(unreadable(place, "is empty".into()));
    }
    let mut value: Value = serde_json::from_str(text).map_err(|e| unreadable(place, format!("is not JSON: {e}")))?;
    let version = check_schema(place, &value, family, newest)?;
    if let Value::Object(fields) = &mut value {
        fields.remove("schema");
    }
    Ok((value, version))
}

/// A document of `family` at its newest version, as a `T`.
pub fn read<T: DeserializeOwned>(place: &str, text: &str, family: &str, newest: u32) -> Result<T> {
    let (value, _) = read_value(place, text, family, newest)?;
    serde_json::from_value(value).map_err(|e| unreadable(place, format!("does not hold what {family} needs: {e}")))
}

/// `body`, a struct or map, as indented JSON whose first line is its schema; floats in full precision.
pub fn write<T: Serialize>(family: &str, version: u32, body: &T) -> Result<String> {
    serde_json::to_string_pretty(&Document { schema: format!("{family}/{version}"), body })
        .map(|text| text + "\n")
        .map_err(|e| Error::Refused(format!("{family} cannot be written: {e}")))
}
