//! Where to hold a plate, where to tap it and where to listen, from the mode's shape.

use serde::{Deserialize, Serialize};

use super::nodal::nodal_lines;
use super::plate::{BarePlate, Fineness, named};
use crate::error::{Error, Result};
use crate::mechanics::plate::{Label, Plate, PlateMode};

/// How to bring out one mode.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PlateTapAdvice {
    /// The mode.
    pub label: Label,
    /// Where to expect it at the wood's own figures, Hz.
    pub frequency_hz: f64,
    /// Where its nodal lines cross the middle of the length and the middle of the width, mm: (x, y).
    pub node_mm: Vec<(f64, f64)>,
    /// The nodal lines themselves, each as points from one end to the other: (x, y) in mm.
    pub nodal_lines_mm: Vec<Vec<(f64, f64)>>,
    /// The edge of the plate, corner to corner and back: (x, y) in mm.
    pub outline_mm: Vec<(f64, f64)>,
    /// Two places to hold, on nodal lines, that quiet the other modes most: (x, y) in mm.
    pub hold_mm: Vec<(f64, f64)>,
    /// Where to tap, mm.
    pub tap_mm: (f64, f64),
    /// Where to listen or put the microphone, mm.
    pub listen_mm: (f64, f64),
    /// All of it in words.
    pub words: String,
}

/// Places across the plate that are tried in each direction.
const TRIED: usize = 24;

impl BarePlate {
    /// The modes worth tapping for E_L, E_R and G_LR, and how to get each: the twist, the first bending along and across.
    pub fn modes_to_tap(&self) -> Result<Vec<PlateTapAdvice>> {
        ["1,1", "0,2", "2,0"].iter().map(|l| self.how_to_tap(l)).collect()
    }

    /// How to bring out the mode of a label, at the wood's own figures.
    pub fn how_to_tap(&self, label: &str) -> Result<PlateTapAdvice> {
        let label: Label = label.parse()?;
        let ready = self.ready(0.0, 0.0, 0.0, Fineness::Coarse)?;
        let plate = &ready.plate;
        let all = named(plate, &self.law(&ready, &self.start(), &self.assumed()), 12)?;
        let Some(k) = all.iter().position(|(_, n)| n.label == label) else {
            return Err(Error::Refused(format!(
                "mode {label} is not among the twelve lowest of this plate; ask for a lower one"
            )));
        };
        let [x0, x1, y0, y1] = plate.bounds();
        let at = |i: usize, j: usize| (x0 + (x1 - x0) * i as f64 / TRIED as f64, y0 + (y1 - y0) * j as f64 / TRIED as f64);
        let places: Vec<(f64, f64)> = (0..=TRIED)
            .flat_map(|i| (0..=TRIED).map(move |j| (i, j)))
            .map(|(i, j)| at(i, j))
            .filter(|&(x, y)| plate.holds(x, y))
            .collect();
        // shapes scaled to 1 at their largest, the mode asked for first
        let scaled = |m: &PlateMode| -> Vec<f64> {
            let w: Vec<f64> = places.iter().map(|&(x, y)| plate.deflection(m, x, y)).collect();
            let most = w.iter().fold(0.0_f64, |a, b| a.max(b.abs())).max(f64::MIN_POSITIVE);
            w.into_iter().map(|v| v / most).collect()
        };
        let mode = &all[k].0;
        let own = scaled(mode);
        let most = places.iter().map(|&(x, y)| plate.deflection(mode, x, y).abs()).fold(0.0, f64::max);
        let others: Vec<Vec<f64>> =
            all.iter().take(6).enumerate().filter(|(i, _)| *i != k).map(|(_, (m, _))| scaled(m)).collect();
        let loud = |p: usize| others.iter().map(|o| o[p] * o[p]).sum::<f64>();
        let size = (x1 - x0).hypot(y1 - y0);
        let apart = |a: (f64, f64), b: (f64, f64)| (a.0 - b.0).hypot(a.1 - b.1);
        let tap = best(places.len(), |p| own[p].abs() / (0.5 + loud(p)).sqrt());
        let listen = best(places.len(), |p| {
            if own[p].abs() < 0.75 { -1.0 } else { own[p].abs() / (0.5 + loud(p)).sqrt() + apart(places[p], places[tap]) / size }
        });
        // the nodal line at its crossing with the grid nearest each quiet place
        let lines = self.crossings(plate, mode, &places, most);
        let other_modes: Vec<&PlateMode> = all.iter().take(6).enumerate().filter(|(i, _)| *i != k).map(|(_, (m, _))| m).collect();
        let peaks: Vec<f64> = other_modes
            .iter()
            .map(|m| places.iter().map(|&(x, y)| plate.deflection(m, x, y).abs()).fold(f64::MIN_POSITIVE, f64::max))
            .collect();
        let quiets: Vec<f64> = lines
            .iter()
            .map(|&(x, y)| other_modes.iter().zip(&peaks).map(|(m, p)| (plate.deflection(m, x, y) / p).powi(2)).sum())
            .collect();
        let mut hold = Vec::new();
        if !lines.is_empty() {
            let first = best(lines.len(), |i| quiets[i]);
            let second = best(lines.len(), |i| if apart(lines[i], lines[first]) < 0.3 * size { -1.0 } else { quiets[i] });
            hold.push(lines[first]);
            if second != first {
                hold.push(lines[second]);
            }
        }
        let frequency_hz = mode.omega_squared.sqrt() / std::f64::consts::TAU;
        let (mx, my) = (0.5 * (x0 + x1), 0.5 * (y0 + y1));
        let mut node_mm = self.zeros(plate, mode, |s| (x0 + (x1 - x0) * s, my));
        node_mm.extend(self.zeros(plate, mode, |s| (mx, y0 + (y1 - y0) * s)));
        let say = |p: &(f64, f64)| format!("({:.0}, {:.0})", p.0, p.1);
        let counted = |n: usize| match n {
            0 => "none".to_string(),
            1 => "one nodal line".into(),
            n => format!("{n} nodal lines"),
        };
        let words = format!(
            "Mode {label}, expected near {frequency_hz:.0} Hz at the wood's published figures: {} across the length, {} along it. Hold lightly between two fingertips at {}; tap with a soft knuckle at {}; listen at {} (mm from the corner, along the length first).",
            counted(label.across),
            counted(label.along),
            hold.iter().map(say).collect::<Vec<_>>().join(" and "),
            say(&places[tap]),
            say(&places[listen])
        );
        Ok(PlateTapAdvice {
            label,
            frequency_hz,
            node_mm,
            nodal_lines_mm: nodal_lines(|s, t| self.place(s, t), |(x, y)| plate.deflection(mode, x, y)),
            outline_mm: self.outline_mm(),
            hold_mm: hold,
            tap_mm: places[tap],
            listen_mm: places[listen],
            words,
        })
    }

    /// Points of the nodal lines: sign changes between neighbours of the grid along the length and across.
    fn crossings(&self, plate: &Plate, mode: &PlateMode, places: &[(f64, f64)], most: f64) -> Vec<(f64, f64)> {
        let [x0, x1, y0, y1] = plate.bounds();
        let step = [((x1 - x0) / TRIED as f64, 0.0), (0.0, (y1 - y0) / TRIED as f64)];
        let mut out = Vec::new();
        for &(x, y) in places {
            let a = plate.deflection(mode, x, y);
            for (dx, dy) in step {
                let (bx, by) = (x + dx, y + dy);
                if plate.holds(bx, by) {
                    let b = plate.deflection(mode, bx, by);
                    if a * b < 0.0 {
                        let s = a / (a - b);
                        out.push((x + s * dx, y + s * dy));
                    } else if a.abs() < 1e-9 * most {
                        out.push((x, y));
                    }
                }
            }
        }
        out
    }

    /// Sign changes along a line over the plate, s from 0 to 1, bisected.
    fn zeros(&self, plate: &Plate, mode: &PlateMode, line: impl Fn(f64) -> (f64, f64)) -> Vec<(f64, f64)> {
        let value = |s: f64| {
            let (x, y) = line(s);
            plate.deflection(mode, x, y)
        };
        let mut out = Vec::new();
        // an odd number of steps, so that no step ends on a line of symmetry
        let n = 61;
        for k in 0..n {
            let (mut a, mut b) = (f64::from(k) / f64::from(n), f64::from(k + 1) / f64::from(n));
            let (va, vb) = (value(a), value(b));
            if va * vb < 0.0 && va.abs().max(vb.abs()) > 0.0 {
                for _ in 0..40 {
                    let mid = 0.5 * (a + b);
                    if value(mid) * va > 0.0 { a = mid } else { b = mid }
                }
                out.push(line(0.5 * (a + b)));
            }
        }
        out
    }
}

/// The index of the largest value.
fn best(count: usize, value: impl Fn(usize) -> f64) -> usize {
    (0..count).map(|p| (p, value(p))).fold((0, f64::NEG_INFINITY), |b, c| if c.1 > b.1 { c } else { b }).0
}
