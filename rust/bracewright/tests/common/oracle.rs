//! The depth-resolved beam built from a case of `tests/oracles/data/plane_stress.json`.
#![allow(dead_code, clippy::unwrap_used, clippy::panic)]

use std::f64::consts::PI;

use bracewright::mechanics::modes;
use bracewright::mechanics::pieces::Pieces;
use bracewright::mechanics::quadrature::merge_breaks;
use bracewright::mechanics::resolved::{Degrees, Face, Hold, Law, Patch, Resolved, Solution};
use bracewright::mechanics::solid::{Cap, Notch, Outline, Rise, Solid};
use serde_json::Value;

use super::common::law;

/// The cases by name.
pub fn cases() -> Value {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/../../tests/oracles/data/plane_stress.json");
    let all: Value = serde_json::from_str(&std::fs::read_to_string(path).unwrap()).unwrap();
    assert_eq!(all["schema"], "plane-stress-reference");
    assert_eq!(all["version"], 1);
    all["cases"].clone()
}

fn num(v: &Value) -> f64 {
    v.as_f64().unwrap_or_else(|| panic!("not a number: {v}"))
}

fn list(v: &Value) -> Vec<f64> {
    v.as_array().unwrap().iter().map(num).collect()
}

/// A curve of the table as a function and its breaks.
fn curve(v: &Value, length: f64) -> (Vec<f64>, Box<dyn Fn(f64) -> f64>) {
    match v["kind"].as_str().unwrap() {
        "flat" => {
            let h = num(&v["h_mm"]);
            (vec![0.0, length], Box::new(move |_| h))
        }
        "pieces" => {
            let (x, h) = (list(&v["x_mm"]), list(&v["h_mm"]));
            let cosine = v["law"] == "half-cosine";
            let at = x.clone();
            let f = move |s: f64| {
                let k = x.windows(2).position(|w| s <= w[1]).unwrap_or(x.len() - 2);
                let u = (s - x[k]) / (x[k + 1] - x[k]);
                h[k] + (h[k + 1] - h[k]) * if cosine { 0.5 * (1.0 - (PI * u).cos()) } else { u }
            };
            (at, Box::new(f))
        }
        "parabola" => {
            let (c, l, hc, he) = (num(&v["centre_mm"]), num(&v["half_length_mm"]), num(&v["h_centre_mm"]), num(&v["h_end_mm"]));
            (vec![0.0, length], Box::new(move |s| he + (hc - he) * (1.0 - ((s - c) / l).powi(2))))
        }
        "arc" => {
            let (r, c, l) = (num(&v["radius_mm"]), num(&v["centre_mm"]), num(&v["half_length_mm"]));
            let low = (r * r - l * l).sqrt();
            (vec![0.0, length], Box::new(move |s| (r * r - (s - c).powi(2)).sqrt() - low))
        }
        "scalloped" => {
            let (mut at, base) = curve(&v["base"], length);
            let s: Vec<[f64; 4]> = v["scallops"]
                .as_array()
                .unwrap()
                .iter()
                .map(|s| [num(&s["at_mm"]), num(&s["left_mm"]), num(&s["right_mm"]), num(&s["depth_mm"])])
                .collect();
            at.extend(s.iter().flat_map(|s| [s[0] - s[1], s[0], s[0] + s[2]]));
            let f = move |x: f64| {
                base(x)
                    - s.iter()
                        .map(|&[c, l, r, d]| {
                            let v = if x < c { (c - x) / l } else { (x - c) / r };
                            if v <= 1.0 { d * 0.5 * (1.0 + (PI * v).cos()) } else { 0.0 }
                        })
                        .sum::<f64>()
            };
            (at, Box::new(f))
        }
        other => panic!("unknown curve {other}"),
    }
}

fn pieces(v: &Value, length: f64) -> Pieces {
    let (at, f) = curve(v, length);
    Pieces::fit(&merge_breaks(0.0, length, &[&at], 1e-9), 1e-12, f)
}

pub fn solid(input: &Value) -> Solid {
    let length = num(&input["length_mm"]);
    let s = &input["section"];
    let width = num(&s["width_mm"]);
    let outline = match s["kind"].as_str().unwrap() {
        "rectangle" => Outline::Sides(1.0),
        "sides" => Outline::Sides(num(&s["crest_width_mm"]) / width),
        "cap" => Outline::Capped(Cap::Power(num(&s["power"])), Rise::Fixed(num(&s["rise_mm"]))),
        other => panic!("unknown section {other}"),
    };
    let mut out = Solid::plain(pieces(&input["height"], length), width, outline);
    if let Some(base) = input.get("base") {
        out.arch = Some(pieces(base, length));
    }
    for n in input.get("notches").and_then(Value::as_array).into_iter().flatten() {
        let cut = num(&n["to_mm"]);
        let (low, high) = if n["face"] == "glue" { (0.0, cut) } else { (cut, f64::INFINITY) };
        let filled = n["filled"].as_bool().unwrap_or(false);
        let strip = n["strip_mm"].as_f64().unwrap_or(0.0);
        out.notches.push(Notch { start: num(&n["start_mm"]), end: num(&n["end_mm"]), low, high, filled, strip });
    }
    out
}

pub fn material(input: &Value) -> Law {
    law_of(&input["material"])
}

fn law_of(m: &Value) -> Law {
    law(num(&m["e_x_mpa"]), num(&m["e_z_mpa"]), num(&m["g_xz_mpa"]), num(&m["nu_xz"]))
}

/// Displacement half-way up the uncut section, downward.
pub fn mid_height(beam: &Resolved, solid: &Solid, s: &Solution, x: f64) -> f64 {
    let foot = solid.arch.as_ref().map_or(0.0, |p| p.at(x));
    let f = beam.point_deflection(x, foot + 0.5 * solid.crest.at(x));
    f.iter().zip(&s.values).map(|(a, b)| a * b).sum::<f64>() + s.rigid.0 + s.rigid.1 * x
}

/// Everything the case asks for, in the order of the table: deflections, rotations or frequencies.
pub fn answers(input: &Value, d: Degrees, element_mm: f64) -> Vec<f64> {
    let solid = solid(input);
    let law = material(input);
    let filler = input.get("filler").map_or(law, law_of);
    let length = num(&input["length_mm"]);
    let density = input.get("density_kg_m3").map_or(0.0, num) * 1e-12;
    let mut lines = Vec::new();
    let read: Vec<(f64, String)> =
        input["read"].as_array().unwrap().iter().map(|r| (num(&r["x_mm"]), r["where"].as_str().unwrap().to_string())).collect();
    lines.extend(read.iter().map(|r| r.0));
    let patches: Vec<Patch> = input["loads"]
        .as_array()
        .unwrap()
        .iter()
        .map(|l| Patch {
            start: num(&l["from_mm"]),
            end: num(&l["to_mm"]),
            face: match l["kind"].as_str().unwrap() {
                "crest" => Face::Crest,
                "glue" => Face::Glue,
                _ => Face::Body,
            },
            force: num(&l["force_n"]),
        })
        .collect();
    lines.extend(patches.iter().flat_map(|p| [p.start, p.end]));
    let supports = &input["supports"];
    let holds: Vec<Hold> = match supports["kind"].as_str().unwrap() {
        "ends" => vec![Hold::Section { x: 0.0 }, Hold::Section { x: length }],
        "clamped-left" => vec![Hold::Clamp { x: 0.0 }],
        "pads" => {
            let w = num(&supports["pad_mm"]);
            list(&supports["at_mm"]).into_iter().map(|x| Hold::Pad { x, width: w, compliance: 0.0 }).collect()
        }
        _ => vec![],
    };
    for h in &holds {
        if let Hold::Pad { x, width, .. } = h {
            lines.extend([x - 0.5 * width, x + 0.5 * width]);
        }
    }
    let stations = input.get("stations_mm").map(list).unwrap_or_default();
    lines.extend(&stations);
    let beam = Resolved::new(&solid, [&law, &filler], density, &lines, element_mm, d);
    if let Some(count) = input.get("frequencies") {
        let count = count.as_u64().unwrap() as usize;
        let shift = (2.0 * PI * 400.0_f64).powi(2);
        return modes::lowest(&beam, &holds, shift, count).unwrap().into_iter().map(|v| v.sqrt() / (2.0 * PI)).collect();
    }
    let factor = beam.factor(&holds, 0.0).unwrap();
    if !stations.is_empty() {
        let u = beam.back_solve(&factor, &beam.end_couples(0.0, length, num(&input["end_couple_nmm"])));
        let turn: Vec<f64> = stations.iter().map(|&x| beam.plane_turn(&u, x)).collect();
        return turn.iter().map(|t| -(t - turn[0])).collect();
    }
    let (force, moment) = patches.iter().fold((0.0, 0.0), |s, p| (s.0 + p.force, s.1 + p.force * 0.5 * (p.start + p.end)));
    let s = beam.solve(&factor, &beam.load(&patches), force, moment, &holds).unwrap();
    read.iter()
        .map(|(x, place)| match place.as_str() {
            "crest" => beam.deflection(&s, *x, *x, Face::Crest),
            "glue" => beam.deflection(&s, *x, *x, Face::Glue),
            _ => mid_height(&beam, &solid, &s, *x),
        })
        .collect()
}

/// The table's values of the case, in the same order, and the mesh error it states.
pub fn expected(case: &Value) -> (Vec<f64>, f64) {
    for key in ["rotations_rad", "frequencies_hz", "deflections_mm"] {
        if let Some(v) = case["values"].get(key) {
            return (list(v), num(&case["mesh_error_rel"][key]));
        }
    }
    panic!("no values");
}

/// Largest relative miss, rotations relative to the largest one.
pub fn miss(case: &Value, found: &[f64]) -> f64 {
    let (want, _) = expected(case);
    assert_eq!(want.len(), found.len());
    let largest = want.iter().fold(0.0_f64, |m, v| m.max(v.abs()));
    let turning = case["values"].get("rotations_rad").is_some();
    want.iter().zip(found).map(|(w, f)| (f - w).abs() / if turning { largest } else { w.abs() }).fold(0.0, f64::max)
}
