//! Outlines from SVG: the tags that draw lines, through groups and their transforms, to mm by the sheet's size and view box.

use super::svg_path::{Reader, contours};
use super::svg_shapes::{Matrix, shape};
use super::{Contour, LyingAs, joined, largest};
use crate::error::{Error, Result, within};
use crate::layout::outline::Outline;
use crate::table::MAX_FILE_BYTES;

/// A pixel of CSS, mm.
const PIXEL_MM: f64 = 25.4 / 96.0;
/// What lies in these is not drawn where it stands.
const NOT_DRAWN: [&str; 7] = ["defs", "symbol", "clipPath", "mask", "pattern", "marker", "metadata"];

fn unreadable(place: &str, problem: String) -> Error {
    Error::Unreadable { place: place.into(), problem }
}

/// One tag: its name without a prefix, its attributes, whether it closes one, whether it is empty.
struct Tag<'a> {
    name: &'a str,
    attributes: Vec<(&'a str, &'a str)>,
    closes: bool,
    empty: bool,
    line: usize,
}

impl<'a> Tag<'a> {
    fn get(&self, name: &str) -> Option<&'a str> {
        self.attributes.iter().find(|a| a.0 == name).map(|a| a.1)
    }
}

fn tags<'a>(place: &str, text: &'a str) -> Result<Vec<Tag<'a>>> {
    let mut out = Vec::new();
    let mut rest = text;
    let (mut counted, mut at_line) = (0, 1);
    while let Some(i) = rest.find('<') {
        rest = &rest[i..];
        let here = text.len() - rest.len();
        at_line += text[counted..here].matches('\n').count();
        counted = here;
        let passed =
            [("<!--", "-->"), ("<![CDATA[", "]]>"), ("<?", "?>"), ("<!", ">")].into_iter().find(|p| rest.starts_with(p.0));
        if let Some((_, close)) = passed {
            let Some(j) = rest.find(close) else { break };
            rest = &rest[j + close.len()..];
            continue;
        }
        // the end of the tag: the first > outside quotes
        let mut quote = None;
        let end = rest.char_indices().find(|&(_, c)| match quote {
            Some(q) => {
                if c == q {
                    quote = None;
                }
                false
            }
            None if c == '"' || c == '\'' => {
                quote = Some(c);
                false
            }
            None => c == '>',
        });
        let Some((j, _)) = end else {
            return Err(unreadable(&format!("{place} line {at_line}"), "has a tag that does not end".into()));
        };
        let inside = &rest[1..j];
        rest = &rest[j + 1..];
        let (closes, inside) = inside.strip_prefix('/').map_or((false, inside), |s| (true, s));
        let (empty, inside) = inside.strip_suffix('/').map_or((false, inside), |s| (true, s));
        let (name, mut tail) = inside.split_once(char::is_whitespace).unwrap_or((inside, ""));
        let mut attributes = Vec::new();
        while let Some((key, after)) = tail.split_once('=') {
            let after = after.trim_start();
            let Some(q) = after.chars().next().filter(|q| *q == '"' || *q == '\'') else { break };
            let Some((value, left)) = after[1..].split_once(q) else { break };
            attributes.push((key.trim(), value));
            tail = left;
        }
        out.push(Tag { name: name.rsplit(':').next().unwrap_or(name), attributes, closes, empty, line: at_line });
    }
    Ok(out)
}

/// A length in mm, where its unit is one.
fn length_mm(text: &str) -> Option<f64> {
    let text = text.trim();
    let units =
        [("mm", 1.0), ("cm", 10.0), ("in", 25.4), ("pt", 25.4 / 72.0), ("pc", 25.4 / 6.0), ("px", PIXEL_MM), ("", PIXEL_MM)];
    let (unit, mm) = units.into_iter().find(|(u, _)| text.ends_with(u))?;
    text[..text.len() - unit.len()].trim().parse::<f64>().ok().filter(|v| v.is_finite() && *v > 0.0).map(|v| v * mm)
}

/// From the units inside the sheet to mm.
fn sheet(tag: &Tag, unit: Option<f64>) -> Matrix {
    let plain = |k: f64| Matrix([k, 0.0, 0.0, k, 0.0, 0.0]);
    if let Some(u) = unit {
        return plain(u);
    }
    let mut r = Reader::new(tag.get("viewBox").unwrap_or(""));
    let view: Option<Vec<f64>> = (0..4).map(|_| r.number()).collect();
    let Some([x, y, w, h]) = view.and_then(|v| <[f64; 4]>::try_from(v).ok()).filter(|v| v[2] > 0.0 && v[3] > 0.0) else {
        return plain(PIXEL_MM);
    };
    let (width, height) = (tag.get("width").and_then(length_mm), tag.get("height").and_then(length_mm));
    let (kx, ky) = match (width, height) {
        (Some(a), Some(b)) => (a / w, b / h),
        (Some(a), None) => (a / w, a / w),
        (None, Some(b)) => (b / h, b / h),
        (None, None) => (PIXEL_MM, PIXEL_MM),
    };
    // the whole is fitted in, unless the file wants it stretched
    let (kx, ky) =
        if tag.get("preserveAspectRatio").is_some_and(|p| p.trim() == "none") { (kx, ky) } else { (kx.min(ky), kx.min(ky)) };
    Matrix([kx, 0.0, 0.0, ky, -kx * x, -ky * y])
}

/// Reads the largest closed line of an SVG file. `unit` is mm per unit inside the file, in place of what its size and view box say.
pub fn outline_from_svg(place: &str, text: &str, unit: Option<f64>, lying: &LyingAs) -> Result<Outline> {
    if text.len() > MAX_FILE_BYTES {
        return Err(unreadable(place, format!("has {} bytes; at most {MAX_FILE_BYTES} are read", text.len())));
    }
    if let Some(u) = unit {
        within("unit_mm", u, "mm", 1e-6, 1e4)?;
    }
    let all = tags(place, text)?;
    if !all.iter().any(|t| t.name == "svg" && !t.closes) {
        return Err(unreadable(place, "has no <svg> tag; is it an SVG file?".into()));
    }
    let mut stack: Vec<(&str, Matrix)> = vec![("", Matrix::SAME)];
    let mut hidden: usize = 0;
    let mut lines: Vec<Contour> = Vec::new();
    let mut outermost = true;
    for tag in &all {
        if tag.closes {
            if NOT_DRAWN.contains(&tag.name) {
                hidden = hidden.saturating_sub(1);
            }
            if stack.len() > 1 && stack.last().is_some_and(|s| s.0 == tag.name) {
                stack.pop();
            }
            continue;
        }
        if NOT_DRAWN.contains(&tag.name) && !tag.empty {
            hidden += 1;
        }
        let outer = stack.last().map_or(Matrix::SAME, |s| s.1);
        let own = match tag.get("transform").filter(|_| hidden == 0) {
            None => Matrix::SAME,
            Some(t) => Matrix::read(t)
                .ok_or_else(|| unreadable(&format!("{place} line {}", tag.line), "has a transform that cannot be read".into()))?,
        };
        let mut now = outer.after(&own);
        if tag.name == "svg" && outermost {
            now = sheet(tag, unit).after(&own);
            outermost = false;
        }
        if matches!(tag.name, "svg" | "g" | "a" | "switch") && !tag.empty {
            stack.push((tag.name, now));
        }
        if hidden > 0 {
            continue;
        }
        let found = if tag.name == "path" {
            contours(tag.get("d").unwrap_or(""))
                .map_err(|e| unreadable(&format!("{place} line {}", tag.line), format!("the d of a path {e}")))?
        } else {
            let number =
                |n: &str| tag.get(n).and_then(|t| t.trim().trim_end_matches("px").parse().ok()).filter(|v: &f64| v.is_finite());
            shape(tag.name, number, tag.get("points")).into_iter().collect()
        };
        lines.extend(found.iter().map(|c| c.mapped(|p| now.of(p))));
    }
    let (mut closed, open): (Vec<_>, Vec<_>) = lines.into_iter().partition(Contour::closed);
    closed.extend(joined(place, open)?);
    largest(place, &closed, lying)
}
