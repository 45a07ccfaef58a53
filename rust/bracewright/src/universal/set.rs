//! The frequency responses of a file as a grid.

use super::{FunctionKind, Universal, UniversalFunction, axis};
use crate::error::{Error, Result};
use crate::roving::{FrfSet, Response};

/// The frequency responses of a file, gathered over its nodes: all over one fixed end, response (a roving tap) or reference (a
/// roving sensor), on the same frequencies, the first function of each node. Units of dataset 164 are turned to SI; places are
/// the nodes' x and y (without nodes, their labels in mm along x).
pub fn frf_set(file: &Universal) -> Result<FrfSet> {
    let all: Vec<&UniversalFunction> =
        file.functions.iter().filter(|f| f.kind == FunctionKind::FrequencyResponse && !f.im.is_empty()).collect();
    let Some(first) = all.first() else {
        return Err(Error::Refused("the file holds no complex frequency response (function type 4)".into()));
    };
    let same_end = |f: &dyn Fn(&UniversalFunction) -> (i64, i32)| all.iter().all(|g| f(g) == f(first));
    let response = |f: &UniversalFunction| (f.response_node, f.response_direction);
    let reference = |f: &UniversalFunction| (f.reference_node, f.reference_direction);
    let roving: fn(&UniversalFunction) -> (i64, i32) = if all.len() > 1 && same_end(&response) && !same_end(&reference) {
        |f| (f.reference_node, f.reference_direction)
    } else if same_end(&reference) {
        |f| (f.response_node, f.response_direction)
    } else {
        return Err(Error::Refused(
            "the frequency responses of the file share neither response nor reference; give those of one fixed end".into(),
        ));
    };
    let fixed =
        if roving(first) == reference(first) && !same_end(&reference) { first.response_node } else { first.reference_node };
    if let Some(other) =
        all.iter().find(|f| f.ordinate_kind != first.ordinate_kind || f.denominator_kind != first.denominator_kind)
    {
        return Err(Error::Refused(format!(
            "the frequency responses of the file are of different quantities: {} over {} and {} over {}",
            first.ordinate_kind, first.denominator_kind, other.ordinate_kind, other.denominator_kind
        )));
    }
    let (of, known) = match first.ordinate_kind {
        axis::DISPLACEMENT => (Response::Receptance, true),
        axis::VELOCITY => (Response::Mobility, true),
        axis::ACCELERATION => (Response::Accelerance, true),
        // a microphone: shapes go by the pressure, which follows the acceleration
        _ => (Response::Accelerance, false),
    };
    let (length, force) = file.units.as_ref().map_or((1.0, 1.0), |u| (u.length_factor, u.force_factor));
    let mut out = FrfSet {
        points_mm: Vec::new(),
        hz: first.abscissa.clone(),
        re: Vec::new(),
        im: Vec::new(),
        response: of,
        calibrated: known && first.denominator_kind == axis::FORCE,
        driving: None,
    };
    let mut seen: Vec<i64> = Vec::new();
    for f in &all {
        let (node, direction) = roving(f);
        if seen.contains(&node) {
            continue;
        }
        if f.abscissa.len() != out.hz.len() || f.abscissa.iter().zip(&out.hz).any(|(a, b)| (a - b).abs() > 1e-6 * (1.0 + b.abs()))
        {
            return Err(Error::Refused(format!(
                "the frequency response of node {node} stands on other frequencies than the first"
            )));
        }
        let at = match file.nodes.iter().find(|n| n.node == node) {
            Some(n) => (n.x_mm, n.y_mm),
            None if file.nodes.is_empty() => (node as f64, 0.0),
            None => return Err(Error::Refused(format!("the file gives no place for node {node}"))),
        };
        // minus x is the same place struck from the other side
        let sign = if (direction < 0) == (roving(first).1 < 0) { 1.0 } else { -1.0 };
        let scale = sign * if out.calibrated { force / length } else { 1.0 };
        if node == fixed {
            out.driving = Some(seen.len());
        }
        seen.push(node);
        out.points_mm.push(at);
        out.re.push(f.re.iter().map(|v| v * scale).collect());
        out.im.push(f.im.iter().map(|v| v * scale).collect());
    }
    Ok(out)
}
