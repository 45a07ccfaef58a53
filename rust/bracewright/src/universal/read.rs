//! Reading.

use super::text::{Lines, column, numbers, whole};
use super::{FunctionKind, Universal, UniversalFunction, UniversalNode, UniversalUnits};
use crate::error::Result;

/// Values of one function that are taken at most.
const MOST_VALUES: usize = 20_000_000;

/// Reads a file's bytes; `place` is its name for messages. Nothing is set aside for what a header merely claims.
pub fn read_universal(place: &str, bytes: &[u8]) -> Result<Universal> {
    let mut lines = Lines::new(place, bytes);
    let mut out = Universal::default();
    let mut nodes = Vec::new();
    let mut skipped: Vec<String> = Vec::new();
    let mut any = false;
    while let Some(line) = lines.next()? {
        if line.trim().is_empty() {
            continue;
        }
        if line.trim() != "-1" {
            return Err(lines.wrong(if any {
                "a dataset must begin with a line that holds -1 alone"
            } else {
                "this is no universal file: it must begin with a line that holds -1 alone"
            }));
        }
        let Some(header) = lines.next()? else {
            return Err(lines.wrong("the file ends where a dataset begins; it was cut short"));
        };
        any = true;
        match column(&header, 0, 6) {
            "58" if column(&header, 6, 7).is_empty() => out.functions.push(function(&mut lines, None)?),
            "58" if column(&header, 6, 7) == "b" => out.functions.push(function(&mut lines, Some(&header))?),
            "15" => short_nodes(&mut lines, &mut nodes)?,
            "2411" => long_nodes(&mut lines, &mut nodes)?,
            "164" => out.units = Some(units(&mut lines)?),
            other => {
                whole(&lines, other, "the number of a dataset")?;
                if !skipped.iter().any(|s| s == other) {
                    skipped.push(other.into());
                }
                passed_over(&mut lines, other)?;
            }
        }
    }
    if !any {
        return Err(lines.wrong("the file is empty"));
    }
    let factor = out.units.as_ref().map_or(1.0, |u| u.length_factor);
    out.nodes = nodes
        .into_iter()
        .map(|(node, p)| UniversalNode {
            node,
            x_mm: 1000.0 * p[0] / factor,
            y_mm: 1000.0 * p[1] / factor,
            z_mm: 1000.0 * p[2] / factor,
        })
        .collect();
    if out.nodes.iter().any(|n| !(n.x_mm.is_finite() && n.y_mm.is_finite() && n.z_mm.is_finite())) {
        return Err(lines.wrong("a node lies at no finite place in mm; check the length factor of dataset 164"));
    }
    if out.units.is_none() && !(out.nodes.is_empty() && out.functions.is_empty()) {
        out.words.push("the file names no units (dataset 164); SI was taken: m, N, s".into());
    }
    if !skipped.is_empty() {
        out.words.push(format!("passed over datasets of other kinds: {}", skipped.join(", ")));
    }
    Ok(out)
}

fn passed_over(lines: &mut Lines, number: &str) -> Result<()> {
    let begun = lines.line;
    while let Some(line) = lines.next()? {
        if line.trim() == "-1" {
            return Ok(());
        }
    }
    Err(lines.wrong(&format!("the file ends inside the dataset {number} begun at line {begun}; it was cut short")))
}

/// Record 12's shape.
struct Layout {
    double: bool,
    complex: bool,
    even: bool,
    count: usize,
    start: f64,
    step: f64,
}

impl Layout {
    fn per_point(&self) -> usize {
        usize::from(!self.even) + if self.complex { 2 } else { 1 }
    }
}

fn layout(lines: &mut Lines) -> Result<Layout> {
    let line = lines.needed("record 7 (form of the data)")?;
    let field = |k: usize| column(&line, 10 * k, 10 * k + 10);
    let kind = whole(lines, field(0), "the ordinate data type")?;
    if ![2, 4, 5, 6].contains(&kind) {
        return Err(lines.wrong(&format!("the ordinate data type is {kind}; it must be 2, 4, 5 or 6")));
    }
    let count = whole(lines, field(1), "the number of data")?;
    if count < 1 || count > MOST_VALUES as i64 {
        return Err(lines.wrong(&format!("the number of data is {count}; it must be from 1 to {MOST_VALUES}")));
    }
    let spacing = whole(lines, field(2), "the abscissa spacing")?;
    if ![0, 1].contains(&spacing) {
        return Err(lines.wrong(&format!("the abscissa spacing is {spacing}; it must be 0 (uneven) or 1 (even)")));
    }
    let mut reals = Vec::new();
    numbers(lines, line.get(30.min(line.len())..).unwrap_or(""), &mut reals)?;
    let even = spacing == 1;
    if even && reals.len() < 2 {
        return Err(lines.wrong("an even abscissa needs its start and its step"));
    }
    let get = |k: usize| reals.get(k).copied().unwrap_or(0.0);
    if even && count > 1 && get(1) <= 0.0 {
        return Err(lines.wrong(&format!("the step of the abscissa is {}; it must be above 0", get(1))));
    }
    Ok(Layout { double: kind == 4 || kind == 6, complex: kind >= 5, even, count: count as usize, start: get(0), step: get(1) })
}

fn function(lines: &mut Lines, binary: Option<&str>) -> Result<UniversalFunction> {
    let mut titles = Vec::new();
    for k in 1..=5 {
        titles.push(lines.needed(&format!("record {k} (text)"))?);
    }
    let line = lines.needed("record 6 (what the function is)")?;
    let field = |from, to| column(&line, from, to);
    let number = |text: &str, what: &str| whole(lines, text, what);
    let kind = number(field(0, 5), "the function type")?;
    let kind = u32::try_from(kind).map_err(|_| lines.wrong(&format!("the function type is {kind}; it must be 0 or more")))?;
    let response_node = number(field(41, 51), "the response node")?;
    let response_direction = number(field(51, 55), "the response direction")?;
    let reference_node = number(field(66, 76), "the reference node")?;
    let reference_direction = number(field(76, 80), "the reference direction")?;
    let direction = |d: i64| {
        if (-6..=6).contains(&d) {
            Ok(d as i32)
        } else {
            Err(lines.wrong(&format!("a direction is {d}; it must be from -6 to 6")))
        }
    };
    let (response_direction, reference_direction) = (direction(response_direction)?, direction(reference_direction)?);
    let form = layout(lines)?;
    let mut axes = [0_u32; 4];
    for (k, a) in axes.iter_mut().enumerate() {
        let line = lines.needed(&format!("record {} (an axis)", 8 + k))?;
        let v = whole(lines, column(&line, 0, 10), "the kind of an axis")?;
        *a = u32::try_from(v).map_err(|_| lines.wrong(&format!("the kind of an axis is {v}; it must be 0 or more")))?;
    }
    let values = match binary {
        None => in_text(lines, &form)?,
        Some(header) => in_binary(lines, &form, header)?,
    };
    let per = form.per_point();
    let first = usize::from(!form.even);
    let part = |k: usize| values.chunks_exact(per).map(|c| c[k]).collect::<Vec<f64>>();
    let at: Vec<f64> = if form.even { (0..form.count).map(|k| form.start + form.step * k as f64).collect() } else { part(0) };
    if at.windows(2).any(|w| w[1] <= w[0] || w[1].is_nan()) || at.iter().any(|v| !v.is_finite()) {
        return Err(lines.wrong("the abscissa must be finite and increase from one value to the next"));
    }
    Ok(UniversalFunction {
        kind: FunctionKind::of(kind),
        title: titles[0].trim().into(),
        response_node,
        response_direction,
        reference_node,
        reference_direction,
        abscissa: at,
        re: part(first),
        im: if form.complex { part(first + 1) } else { Vec::new() },
        abscissa_kind: axes[0],
        ordinate_kind: axes[1],
        denominator_kind: axes[2],
    })
}

fn in_text(lines: &mut Lines, form: &Layout) -> Result<Vec<f64>> {
    let wanted = form.count * form.per_point();
    // a value takes two bytes at least
    let mut values = Vec::with_capacity(wanted.min(lines.left() / 2));
    let begun = lines.line;
    loop {
        let Some(line) = lines.next()? else {
            return Err(lines.wrong(&format!(
                "the file ends inside the data begun at line {}; {} of {wanted} values are there",
                begun + 1,
                values.len()
            )));
        };
        if line.trim() == "-1" {
            break;
        }
        numbers(lines, &line, &mut values)?;
        if values.len() > wanted {
            return Err(lines.wrong(&format!("there are more than the {wanted} values the dataset claims")));
        }
    }
    if values.len() != wanted {
        return Err(lines.wrong(&format!("the dataset claims {wanted} values but holds {}", values.len())));
    }
    Ok(values)
}

fn in_binary(lines: &mut Lines, form: &Layout, header: &str) -> Result<Vec<f64>> {
    let field = |from, to| column(header, from, to);
    let order = whole(lines, field(7, 13), "the order of bytes")?;
    if ![1, 2].contains(&order) {
        return Err(lines.wrong(&format!("the order of bytes is {order}; it must be 1 (low first) or 2 (high first)")));
    }
    let format = whole(lines, field(13, 19), "the floating point format")?;
    if format != 2 {
        return Err(lines.wrong(&format!("the floating point format is {format}; only 2 (IEEE 754) is read")));
    }
    let claimed = whole(lines, field(31, 43), "the number of bytes")?;
    let wide = if form.double { 8 } else { 4 };
    // an uneven abscissa of double values may be in single or in double precision
    let per_narrow = if form.double {
        4 * usize::from(!form.even) + 8 * (form.per_point() - usize::from(!form.even))
    } else {
        4 * form.per_point()
    };
    let per_wide = wide * form.per_point();
    // writers differ in what they count; where the claim fits neither size, what follows the data decides
    let fits = |per: usize| claimed == (per * form.count) as i64;
    let per = if fits(per_wide) || (!fits(per_narrow) && lines.ends_after(per_wide * form.count)) {
        per_wide
    } else if fits(per_narrow) || lines.ends_after(per_narrow * form.count) {
        per_narrow
    } else {
        return Err(lines.wrong(&format!(
            "the dataset claims {claimed} bytes of data; {} values of it take {}, and it does not end after those either: it is damaged or \
             was cut short",
            form.count,
            per_wide * form.count
        )));
    };
    let data = lines.raw(per * form.count)?;
    let real = |b: &[u8]| -> f64 {
        let mut buffer = [0_u8; 8];
        buffer[..b.len()].copy_from_slice(b);
        if order == 2 {
            buffer[..b.len()].reverse();
        }
        if b.len() == 8 {
            f64::from_le_bytes(buffer)
        } else {
            f64::from(f32::from_le_bytes([buffer[0], buffer[1], buffer[2], buffer[3]]))
        }
    };
    let mut values = Vec::with_capacity(form.count * form.per_point());
    for point in data.chunks_exact(per) {
        let mut at = 0;
        for k in 0..form.per_point() {
            let size = if k == 0 && !form.even && per != per_wide { 4 } else { wide };
            values.push(real(&point[at..at + size]));
            at += size;
        }
    }
    if values.iter().any(|v| !v.is_finite()) {
        return Err(lines.wrong("the binary data hold a value that is not finite"));
    }
    match lines.next()? {
        Some(line) if line.trim() == "-1" => Ok(values),
        // some writers end the data with a line end
        Some(line) if line.trim().is_empty() && lines.next()?.is_some_and(|l| l.trim() == "-1") => Ok(values),
        _ => Err(lines.wrong("the binary data are not followed by -1; the file is damaged")),
    }
}

type Places = Vec<(i64, [f64; 3])>;

fn short_nodes(lines: &mut Lines, nodes: &mut Places) -> Result<()> {
    loop {
        let Some(line) = lines.next()? else { return Err(lines.wrong("the file ends inside the nodes; it was cut short")) };
        if line.trim() == "-1" {
            return Ok(());
        }
        let node = whole(lines, column(&line, 0, 10), "the label of a node")?;
        let mut p = Vec::new();
        numbers(lines, line.get(40.min(line.len())..).unwrap_or(""), &mut p)?;
        let [x, y, z] = p[..] else { return Err(lines.wrong("a node needs three coordinates")) };
        nodes.push((node, [x, y, z]));
    }
}

fn long_nodes(lines: &mut Lines, nodes: &mut Places) -> Result<()> {
    loop {
        let Some(line) = lines.next()? else { return Err(lines.wrong("the file ends inside the nodes; it was cut short")) };
        if line.trim() == "-1" {
            return Ok(());
        }
        let node = whole(lines, column(&line, 0, 10), "the label of a node")?;
        let mut p = Vec::new();
        let line = lines.needed("coordinates of a node")?;
        numbers(lines, &line, &mut p)?;
        let [x, y, z] = p[..] else { return Err(lines.wrong("a node needs three coordinates")) };
        nodes.push((node, [x, y, z]));
    }
}

fn units(lines: &mut Lines) -> Result<UniversalUnits> {
    let line = lines.needed("units")?;
    let code = whole(lines, column(&line, 0, 10), "the code of the units")?;
    let description = column(&line, 10, 30).to_string();
    let mut factors = Vec::new();
    loop {
        let Some(line) = lines.next()? else { return Err(lines.wrong("the file ends inside the units; it was cut short")) };
        if line.trim() == "-1" {
            break;
        }
        numbers(lines, &line, &mut factors)?;
        if factors.len() > 8 {
            return Err(lines.wrong("dataset 164 holds more than its four factors"));
        }
    }
    let good = |k: usize| factors.get(k).copied().filter(|f| *f > 1e-12 && *f < 1e12);
    match (u32::try_from(code), good(0), good(1)) {
        (Ok(code), Some(length_factor), Some(force_factor)) => {
            Ok(UniversalUnits { code, description, length_factor, force_factor })
        }
        _ => Err(lines.wrong("dataset 164 needs a code and factors above 0 for length and force")),
    }
}
