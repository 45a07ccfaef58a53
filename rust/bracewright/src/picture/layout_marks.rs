//! Where letters and numbers find room on a drawn top, and the signs of its clearances.

use super::svg::{Fill, Pen, SMALL, Sheet, Tie};
use super::words::width;
use crate::layout::{LayoutReport, LayoutRow, RowState};

/// Most clearances marked on the drawing besides those that clash.
const MOST_MARKS: usize = 14;
/// Most clashes marked.
const MOST_CLASHES: usize = 20;

/// What takes up room: lines on the sheet, each with half its thickness, and boxes of words.
#[derive(Default)]
pub(super) struct Room {
    lines: Vec<[f64; 4]>,
    boxes: Vec<[f64; 4]>,
}

impl Room {
    pub fn take_line(&mut self, a: (f64, f64), b: (f64, f64)) {
        self.lines.push([a.0, a.1, b.0, b.1]);
    }

    pub fn take_shape(&mut self, points: &[(f64, f64)]) {
        for i in 0..points.len() {
            self.take_line(points[i], points[(i + 1) % points.len()]);
        }
    }

    /// How much room there is round a box, negative where it is taken.
    fn free(&self, x: f64, y: f64, w: f64, h: f64) -> f64 {
        let mut least = f64::INFINITY;
        for l in &self.lines {
            let n = ((l[2] - l[0]).hypot(l[3] - l[1]) / 6.0).ceil().max(1.0) as usize;
            for k in 0..=n {
                let t = k as f64 / n as f64;
                let (px, py) = (l[0] + t * (l[2] - l[0]), l[1] + t * (l[3] - l[1]));
                let (dx, dy) = ((px - x).abs() - 0.5 * w, (py - y).abs() - 0.5 * h);
                least = least.min(if dx > 0.0 && dy > 0.0 { dx.hypot(dy) } else { dx.max(dy) });
            }
        }
        for b in &self.boxes {
            let (dx, dy) = ((b[0] - x).abs() - 0.5 * (w + b[2]), (b[1] - y).abs() - 0.5 * (h + b[3]));
            least = least.min(dx.max(dy));
        }
        least
    }

    /// Writes words at the first of the places with room enough, or else where there is most.
    pub fn write(&mut self, sheet: &mut Sheet, words: &str, places: &[(f64, f64)]) -> (f64, f64) {
        let (w, h) = (width(words, SMALL), 0.8 * SMALL);
        let mut best = (f64::NEG_INFINITY, (0.0, 0.0));
        for &(x, y) in places {
            let free = self.free(x, y, w, h);
            if free > best.0 {
                best = (free, (x, y));
            }
            if free > 4.0 {
                break;
            }
        }
        let (x, y) = best.1;
        self.boxes.push([x, y, w, h]);
        sheet.text(x, y + 0.36 * SMALL, SMALL, Tie::Middle, words);
        (x, y)
    }

    pub fn take_box(&mut self, x: f64, y: f64, w: f64, h: f64) {
        self.boxes.push([x, y, w, h]);
    }
}

/// The rows marked on the drawing: what clashes, what is close, and the tightest of each kind, in the report's order.
pub(super) fn marked(report: &LayoutReport) -> Vec<&LayoutRow> {
    let tightness = |r: &LayoutRow| r.chance.unwrap_or(0.0);
    let mut keep = vec![false; report.rows.len()];
    let mut order: Vec<usize> = (0..report.rows.len()).collect();
    order.sort_by(|&a, &b| tightness(&report.rows[b]).total_cmp(&tightness(&report.rows[a])));
    let mut kinds: Vec<&str> = Vec::new();
    let (mut marks, mut clashes) = (0, 0);
    for i in order {
        let r = &report.rows[i];
        let first = !kinds.contains(&r.check.as_str());
        if first {
            kinds.push(&r.check);
        }
        match r.state {
            RowState::Clash if clashes < MOST_CLASHES => {
                keep[i] = true;
                clashes += 1;
            }
            RowState::Close if marks < MOST_MARKS => {
                keep[i] = true;
                marks += 1;
            }
            RowState::Clear if first && r.chance.is_some() && marks < MOST_MARKS => {
                keep[i] = true;
                marks += 1;
            }
            _ => {}
        }
    }
    report.rows.iter().zip(keep).filter(|(_, k)| *k).map(|(r, _)| r).collect()
}

/// The sign of a clearance: a dot, a triangle, a heavy cross in a ring.
pub(super) fn sign(sheet: &mut Sheet, x: f64, y: f64, state: RowState, k: f64) {
    match state {
        RowState::Clear => sheet.dot(x, y, 5.0 * k, Pen::NONE, Fill::Ink),
        RowState::Close => {
            sheet.path(&[(x, y - 10.0 * k), (x + 9.5 * k, y + 7.0 * k), (x - 9.5 * k, y + 7.0 * k)], true, Pen::EDGE, Fill::None);
        }
        RowState::Clash => {
            let pen = Pen { width: 4.0 * k, ..Pen::HEAVY };
            sheet.dot(x, y, 14.0 * k, pen, Fill::None);
            sheet.line(x - 9.0 * k, y - 9.0 * k, x + 9.0 * k, y + 9.0 * k, pen);
            sheet.line(x - 9.0 * k, y + 9.0 * k, x + 9.0 * k, y - 9.0 * k, pen);
        }
    }
}
