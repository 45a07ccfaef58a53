//! Writing: SI, double precision.

use std::fmt::Write as _;

use super::{FunctionKind, Universal, UniversalFunction, UniversalNode};
use crate::error::{Error, Result, same_length, within};

/// A number as Fortran's E format writes it: two digits of exponent or three.
fn e_form(v: f64, width: usize, digits: usize) -> String {
    // what two digits of exponent cannot hold is far below any reading
    let v = if v.abs() < 1e-99 { 0.0 } else { v };
    let text = format!("{v:.digits$E}");
    let (mantissa, exponent) = text.split_once('E').unwrap_or((&text, "0"));
    let (sign, size) = exponent.strip_prefix('-').map_or(('+', exponent), |e| ('-', e));
    format!("{:>width$}", format!("{mantissa}E{sign}{size:0>2}"))
}

/// A label of a node has ten columns.
fn label(name: &str, node: i64) -> Result<()> {
    if (0..=999_999_999).contains(&node) {
        return Ok(());
    }
    Err(Error::OutOfRange {
        quantity: name.into(),
        value: node as f64,
        unit: "",
        allowed: "a whole number from 0 to 999999999".into(),
    })
}

impl UniversalFunction {
    /// Error unless the function can be written; `owner` stands before the names of its parts in the sentence.
    pub fn check(&self, owner: &str) -> Result<()> {
        let name = |part: &str| format!("{owner}{part}");
        if self.abscissa.is_empty() {
            return Err(Error::BadList {
                name: name("abscissa"),
                problem: "is empty; a function needs at least one value".into(),
            });
        }
        crate::error::increasing(&name("abscissa"), &self.abscissa, "", 1)?;
        same_length(&name("abscissa"), self.abscissa.len(), &name("re"), self.re.len())?;
        if !self.im.is_empty() {
            same_length(&name("re"), self.re.len(), &name("im"), self.im.len())?;
        }
        for (part, list) in [("abscissa", &self.abscissa), ("re", &self.re), ("im", &self.im)] {
            for (i, v) in list.iter().enumerate() {
                within(&format!("{owner}{part}[{i}]"), *v, "", -9e98, 9e98)?;
            }
        }
        for (part, n) in [("response_node", self.response_node), ("reference_node", self.reference_node)] {
            label(&name(part), n)?;
        }
        for (part, d) in [("response_direction", self.response_direction), ("reference_direction", self.reference_direction)] {
            within(&name(part), f64::from(d), "", -6.0, 6.0)?;
        }
        if let FunctionKind::Other(n) = self.kind {
            within(&name("kind"), f64::from(n), "", 0.0, 9999.0)?;
        }
        Ok(())
    }
}

impl UniversalNode {
    /// Error unless the node can be written.
    pub fn check(&self, owner: &str) -> Result<()> {
        label(&format!("{owner}node"), self.node)?;
        for (name, v) in [("x_mm", self.x_mm), ("y_mm", self.y_mm), ("z_mm", self.z_mm)] {
            within(&format!("{owner}{name}"), v, "mm", -1e7, 1e7)?;
        }
        Ok(())
    }
}

/// Even when every step is the first within what E13.5 can say of it.
fn even(at: &[f64]) -> bool {
    at.len() > 1 && {
        let step = (at[at.len() - 1] - at[0]) / (at.len() - 1) as f64;
        at.iter().enumerate().all(|(i, v)| (v - at[0] - step * i as f64).abs() < 1e-6 * step)
    }
}

/// 80 characters of plain text at most, so that nothing in it can be read as the end of a dataset.
fn text(title: &str) -> String {
    let plain: String = title.chars().map(|c| if c.is_ascii() && !c.is_ascii_control() { c } else { ' ' }).take(80).collect();
    if plain.trim().is_empty() || plain.trim() == "-1" { "NONE".into() } else { plain.trim_end().into() }
}

fn head(out: &mut String, f: &UniversalFunction) -> bool {
    let even = even(&f.abscissa);
    let _ = writeln!(out, "{}\nNONE\nNONE\nNONE\nNONE", text(&f.title));
    let _ = writeln!(
        out,
        "{:>5}{:>10}{:>5}{:>10} {:<10}{:>10}{:>4} {:<10}{:>10}{:>4}",
        f.kind.number(),
        0,
        0,
        0,
        "NONE",
        f.response_node,
        f.response_direction,
        "NONE",
        f.reference_node,
        f.reference_direction
    );
    let step = if even { (f.abscissa[f.abscissa.len() - 1] - f.abscissa[0]) / (f.abscissa.len() - 1) as f64 } else { 0.0 };
    let kind = if f.im.is_empty() { 4 } else { 6 };
    let _ = writeln!(
        out,
        "{kind:>10}{:>10}{:>10}{}{}{}",
        f.abscissa.len(),
        u8::from(even),
        e_form(f.abscissa[0], 13, 5),
        e_form(step, 13, 5),
        e_form(0.0, 13, 5)
    );
    for kind in [f.abscissa_kind, f.ordinate_kind, f.denominator_kind, 0] {
        // exponents of length, force, temperature: those of the ISO quantity
        let (length, force) = match kind {
            super::axis::DISPLACEMENT | super::axis::VELOCITY | super::axis::ACCELERATION => (1, 0),
            super::axis::FORCE => (0, 1),
            super::axis::PRESSURE => (-2, 1),
            _ => (0, 0),
        };
        let _ = writeln!(out, "{kind:>10}{length:>5}{force:>5}{:>5} {:<20} {:<20}", 0, "NONE", "NONE");
    }
    even
}

fn geometry(file: &Universal) -> Result<String> {
    let mut out = String::new();
    let _ = writeln!(out, "    -1\n   164");
    let _ = writeln!(out, "{:>10}{:<20}{:>10}", 1, "SI", 2);
    let _ = writeln!(out, "{}{}{}", e_form(1.0, 25, 17), e_form(1.0, 25, 17), e_form(1.0, 25, 17));
    let _ = writeln!(out, "{}", e_form(273.15, 25, 17));
    let _ = writeln!(out, "    -1");
    if !file.nodes.is_empty() {
        let _ = writeln!(out, "    -1\n    15");
        for (k, n) in file.nodes.iter().enumerate() {
            n.check(&format!("nodes[{k}]."))?;
            let m = |v: f64| e_form(v / 1000.0, 13, 5);
            let _ = writeln!(out, "{:>10}{:>10}{:>10}{:>10}{}{}{}", n.node, 0, 0, 8, m(n.x_mm), m(n.y_mm), m(n.z_mm));
        }
        let _ = writeln!(out, "    -1");
    }
    Ok(out)
}

/// A file as text: units (SI), nodes, and every function as dataset 58 in double precision.
pub fn write_universal(file: &Universal) -> Result<String> {
    let mut out = geometry(file)?;
    for (k, f) in file.functions.iter().enumerate() {
        f.check(&format!("functions[{k}]."))?;
        let _ = writeln!(out, "    -1\n    58");
        let even = head(&mut out, f);
        let mut on_line = 0;
        let mut put = |out: &mut String, text: String, most: usize| {
            out.push_str(&text);
            on_line += 1;
            if on_line == most {
                out.push('\n');
                on_line = 0;
            }
        };
        // record 12 of double precision: 4 reals a line, or 2 pairs; uneven: abscissa and value beside each other
        let most = match (even, f.im.is_empty()) {
            (true, _) | (false, true) => 4,
            (false, false) => 3,
        };
        for i in 0..f.abscissa.len() {
            if !even {
                put(&mut out, e_form(f.abscissa[i], 13, 5), most);
            }
            put(&mut out, e_form(f.re[i], 20, 11), most);
            if !f.im.is_empty() {
                put(&mut out, e_form(f.im[i], 20, 11), most);
            }
        }
        if on_line > 0 {
            out.push('\n');
        }
        let _ = writeln!(out, "    -1");
    }
    Ok(out)
}

/// The same with the data of each function in binary (58b): IEEE 754 double precision, an uneven abscissa too, low byte
/// first.
pub fn write_universal_binary(file: &Universal) -> Result<Vec<u8>> {
    let mut out = geometry(file)?.into_bytes();
    for (k, f) in file.functions.iter().enumerate() {
        f.check(&format!("functions[{k}]."))?;
        let mut lines = String::new();
        let even = head(&mut lines, f);
        let per = 8 * (1 + usize::from(!f.im.is_empty()) + usize::from(!even));
        let bytes = per * f.abscissa.len();
        let first = format!("    -1\n{:>6}b{:>6}{:>6}{:>12}{:>12}{:>6}{:>6}{:>12}{:>12}\n", 58, 1, 2, 11, bytes, 0, 0, 0, 0);
        out.extend(first.as_bytes());
        out.extend(lines.as_bytes());
        for i in 0..f.abscissa.len() {
            if !even {
                out.extend(f.abscissa[i].to_le_bytes());
            }
            out.extend(f.re[i].to_le_bytes());
            if !f.im.is_empty() {
                out.extend(f.im[i].to_le_bytes());
            }
        }
        out.extend(b"    -1\n");
    }
    Ok(out)
}
