//! A sheet of SVG: lines, shapes, words, and hatching that survives a black-and-white printer.

use std::fmt::Write as _;

use super::words::{escaped, wrapped};
use crate::error::{Error, Result};

/// Width of every sheet in drawing units; 190 mm wide it fills A5 across, and 5 units are about a millimetre.
pub(super) const WIDE: f64 = 1000.0;
/// Size of a title.
pub(super) const TITLE: f64 = 31.0;
/// Size of what must be read at arm's length: 4.2 mm high letters on A5.
pub(super) const TEXT: f64 = 22.0;
/// Smallest size used.
pub(super) const SMALL: f64 = 19.0;

const FONT: &str = "system-ui, sans-serif";
const PRINTED_MM: f64 = 190.0;
/// A curve is drawn with no more points than keep it within this of itself.
const THINNING: f64 = 0.12;

/// How a line is drawn.
#[derive(Clone, Copy)]
pub(super) struct Pen {
    pub width: f64,
    pub dash: &'static str,
    pub opacity: f64,
}

impl Pen {
    pub const NONE: Self = Self { width: 0.0, dash: "", opacity: 1.0 };
    pub const FAINT: Self = Self { width: 1.2, dash: "", opacity: 0.3 };
    pub const THIN: Self = Self { width: 1.6, dash: "", opacity: 0.75 };
    pub const EDGE: Self = Self { width: 2.6, dash: "", opacity: 1.0 };
    pub const HEAVY: Self = Self { width: 4.0, dash: "", opacity: 1.0 };
    pub const DASHED: Self = Self { width: 2.6, dash: "11 7", opacity: 1.0 };
    pub const DOTTED: Self = Self { width: 2.0, dash: "2 6", opacity: 0.9 };
}

/// How an area is filled.
#[derive(Clone, Copy, PartialEq)]
pub(super) enum Fill {
    None,
    Ink,
    /// A wash of the colour of wood; it prints as a light grey and nothing depends on it.
    Wood,
    /// A faint wash of the ink.
    Wash,
    /// One of the hatchings, by number, repeating.
    Hatch(usize),
    /// Close hatching, for slivers.
    Close,
}

/// How many hatchings take turns.
const CYCLE: usize = 4;
/// Hatchings that differ without colour: name and what one 12 by 12 tile holds.
const HATCHES: [(&str, &str); CYCLE + 1] = [
    ("rising", r#"<path d="M-3,3 L3,-3 M-3,15 L15,-3 M9,15 L15,9"/>"#),
    ("falling", r#"<path d="M-3,9 L3,15 M-3,-3 L15,15 M9,-3 L15,3"/>"#),
    ("dotted", r#"<circle cx="3" cy="3" r="1.1"/><circle cx="9" cy="9" r="1.1"/>"#),
    ("upright", r#"<path d="M3,0 V12 M9,0 V12"/>"#),
    ("close", r#"<path d="M-1,1 L1,-1 M-1,7 L7,-1 M-1,13 L13,-1 M5,13 L13,5 M11,13 L13,11"/>"#),
];

/// Where a word is tied to its point.
#[derive(Clone, Copy, PartialEq)]
pub(super) enum Tie {
    Start,
    Middle,
    End,
}

/// The sheet.
pub(super) struct Sheet {
    title: String,
    says: String,
    body: String,
    hatches: [bool; HATCHES.len()],
    broken: bool,
}

impl Sheet {
    /// A sheet with its title; `says` is the same in a sentence, for those who listen.
    pub fn new(title: &str, says: &str) -> Self {
        let mut out =
            Self { title: title.into(), says: says.into(), body: String::new(), hatches: [false; HATCHES.len()], broken: false };
        out.text(20.0, 42.0, TITLE, Tie::Start, title);
        out
    }

    fn n(&mut self, v: f64) -> String {
        if !v.is_finite() {
            self.broken = true;
            return "0".into();
        }
        let s = format!("{v:.2}");
        let s = s.trim_end_matches('0').trim_end_matches('.');
        if s == "-0" { "0".into() } else { s.into() }
    }

    fn add(&mut self, s: &str) {
        self.body.push_str(s);
        self.body.push('\n');
    }

    fn looks(&mut self, pen: Pen, fill: Fill) -> String {
        let mut s = match fill {
            Fill::None => r#" fill="none""#.to_string(),
            Fill::Ink => r#" fill="currentColor""#.into(),
            Fill::Wood => r##" fill="#c08a4a" fill-opacity="0.3""##.into(),
            Fill::Wash => r#" fill="currentColor" fill-opacity="0.12""#.into(),
            Fill::Hatch(_) | Fill::Close => {
                let k = if let Fill::Hatch(k) = fill { k % CYCLE } else { CYCLE };
                self.hatches[k] = true;
                format!(r##" fill="url(#bracewright-{})""##, HATCHES[k].0)
            }
        };
        if pen.width > 0.0 {
            let w = self.n(pen.width);
            let _ = write!(s, r#" stroke="currentColor" stroke-width="{w}" stroke-linejoin="round""#);
            if pen.opacity < 1.0 {
                let o = self.n(pen.opacity);
                let _ = write!(s, r#" stroke-opacity="{o}""#);
            }
            if !pen.dash.is_empty() {
                let _ = write!(s, r#" stroke-dasharray="{}""#, pen.dash);
            }
        }
        s
    }

    pub fn line(&mut self, x1: f64, y1: f64, x2: f64, y2: f64, pen: Pen) {
        let looks = self.looks(pen, Fill::None);
        let (x1, y1, x2, y2) = (self.n(x1), self.n(y1), self.n(x2), self.n(y2));
        self.add(&format!(r#"<line x1="{x1}" y1="{y1}" x2="{x2}" y2="{y2}"{looks}/>"#));
    }

    pub fn rect(&mut self, x: f64, y: f64, width: f64, height: f64, pen: Pen, fill: Fill) {
        let looks = self.looks(pen, fill);
        let (x, y, w, h) = (self.n(x), self.n(y), self.n(width.max(0.0)), self.n(height.max(0.0)));
        self.add(&format!(r#"<rect x="{x}" y="{y}" width="{w}" height="{h}"{looks}/>"#));
    }

    pub fn dot(&mut self, x: f64, y: f64, radius: f64, pen: Pen, fill: Fill) {
        let looks = self.looks(pen, fill);
        let (x, y, r) = (self.n(x), self.n(y), self.n(radius));
        self.add(&format!(r#"<circle cx="{x}" cy="{y}" r="{r}"{looks}/>"#));
    }

    /// A line through points, or the area inside them.
    pub fn path(&mut self, points: &[(f64, f64)], closed: bool, pen: Pen, fill: Fill) {
        if points.len() < 2 {
            return;
        }
        let looks = self.looks(pen, fill);
        let mut d = String::new();
        for (i, (x, y)) in thinned(points).into_iter().enumerate() {
            let (x, y) = (self.n(x), self.n(y));
            let _ = write!(d, "{}{x},{y}", if i == 0 { "M" } else { " L" });
        }
        let end = if closed { " Z" } else { "" };
        self.add(&format!(r#"<path d="{d}{end}"{looks}/>"#));
    }

    /// Words with their foot on `y`.
    pub fn text(&mut self, x: f64, y: f64, size: f64, tie: Tie, words: &str) {
        self.words(x, y, size, tie, words, false);
    }

    /// Words that read upwards.
    pub fn upright(&mut self, x: f64, y: f64, size: f64, tie: Tie, words: &str) {
        self.words(x, y, size, tie, words, true);
    }

    fn words(&mut self, x: f64, y: f64, size: f64, tie: Tie, words: &str, upright: bool) {
        let (x, y, size) = (self.n(x), self.n(y), self.n(size));
        let anchor = match tie {
            Tie::Start => "",
            Tie::Middle => r#" text-anchor="middle""#,
            Tie::End => r#" text-anchor="end""#,
        };
        let turn = if upright { format!(r#" transform="rotate(-90 {x} {y})""#) } else { String::new() };
        let words = escaped(words);
        self.add(&format!(r#"<text x="{x}" y="{y}" font-size="{size}"{anchor}{turn}>{words}</text>"#));
    }

    /// A paragraph in lines no wider than `width`; gives the foot of its last line.
    pub fn paragraph(&mut self, x: f64, y: f64, size: f64, width: f64, words: &str) -> f64 {
        let mut foot = y;
        for (i, line) in wrapped(words, size, width).iter().enumerate() {
            foot = y + i as f64 * 1.3 * size;
            self.text(x, foot, size, Tie::Start, line);
        }
        foot
    }

    /// The file, for a sheet of that height.
    pub fn finish(mut self, height: f64) -> Result<String> {
        let height = self.n(height.ceil());
        let printed = self.n(PRINTED_MM * height.parse::<f64>().unwrap_or(WIDE) / WIDE);
        if self.broken {
            return Err(Error::Refused(format!(
                "the picture \"{}\" holds a number that is not finite; every value drawn must be finite",
                self.title
            )));
        }
        let (title, says) = (escaped(&self.title), escaped(&self.says));
        let mut s = format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" role=\"img\" aria-label=\"{title}\" width=\"{PRINTED_MM}mm\" height=\"{printed}mm\" \
             viewBox=\"0 0 {WIDE} {height}\" style=\"max-width:100%\" font-family=\"{FONT}\" fill=\"currentColor\">\n\
             <title>{title}</title>\n<desc>{says}</desc>\n"
        );
        if self.hatches.contains(&true) {
            s.push_str("<defs>\n");
            for (_, (name, tile)) in self.hatches.iter().zip(HATCHES).filter(|(used, _)| **used) {
                let _ = writeln!(
                    s,
                    r#"<pattern id="bracewright-{name}" patternUnits="userSpaceOnUse" width="12" height="12"><g stroke="currentColor" stroke-width="1.2" stroke-opacity="0.75" fill="currentColor">{tile}</g></pattern>"#
                );
            }
            s.push_str("</defs>\n");
        }
        s.push_str(&self.body);
        s.push_str("</svg>\n");
        Ok(s)
    }
}

/// Fewer points on the same curve (the farthest point from each chord is kept while it is off by more than the eye sees).
fn thinned(points: &[(f64, f64)]) -> Vec<(f64, f64)> {
    let mut keep = vec![false; points.len()];
    let last = points.len() - 1;
    (keep[0], keep[last]) = (true, true);
    let mut todo = vec![(0, last)];
    while let Some((a, b)) = todo.pop() {
        let (p, q) = (points[a], points[b]);
        let (dx, dy) = (q.0 - p.0, q.1 - p.1);
        let long = dx.hypot(dy);
        let off = |r: (f64, f64)| {
            let (ex, ey) = (r.0 - p.0, r.1 - p.1);
            if long < 1e-9 { ex.hypot(ey) } else { (dx * ey - dy * ex).abs() / long }
        };
        let far = (a + 1..b).map(|i| (i, off(points[i]))).fold((a, 0.0), |m, v| if v.1 > m.1 { v } else { m });
        if far.1 > THINNING {
            keep[far.0] = true;
            todo.extend([(a, far.0), (far.0, b)]);
        }
    }
    points.iter().zip(keep).filter(|(_, k)| *k).map(|(p, _)| *p).collect()
}
