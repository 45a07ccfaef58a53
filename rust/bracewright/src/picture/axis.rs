//! Axes with round values.

use super::svg::{Pen, SMALL, Sheet, TEXT, Tie, WIDE};
use super::words::width;

/// A range with round values on it.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Axis {
    pub low: f64,
    pub high: f64,
    pub ticks: Vec<f64>,
    decimals: usize,
}

/// Smallest of 1, 2, 5 times a power of ten that divides `range` into at most `most` steps.
fn round_step(range: f64, most: usize) -> f64 {
    let raw = range / most.max(1) as f64;
    let ten = 10f64.powf(raw.log10().floor());
    [1.0, 2.0, 5.0, 10.0].into_iter().map(|m| m * ten).find(|s| *s >= raw * (1.0 - 1e-9)).unwrap_or(10.0 * ten)
}

impl Axis {
    /// From `low` to `high` as they are, with round values between.
    pub fn exact(low: f64, high: f64, most: usize) -> Self {
        Self::made(low, high, most, false)
    }

    /// Widened to round values at both ends.
    pub fn round(low: f64, high: f64, most: usize) -> Self {
        Self::made(low, high, most, true)
    }

    /// Whole steps from 0 to `last`, with a little room at either side.
    pub fn steps(last: usize) -> Self {
        let room = 0.03 * last.max(1) as f64;
        let every = round_step(last as f64, 16).max(1.0) as usize;
        let ticks = (0..=last).step_by(every).map(|k| k as f64).collect();
        Self { low: -room, high: last as f64 + room, ticks, decimals: 0 }
    }

    fn made(low: f64, high: f64, most: usize, widen: bool) -> Self {
        let size = low.abs().max(high.abs());
        let (low, high) = if high - low > 1e-9 * size && high > low {
            (low, high)
        } else {
            (low - 0.5 * size.max(1e-6), high + 0.5 * size.max(1e-6))
        };
        let step = round_step(high - low, most);
        let (first, last) = if widen {
            ((low / step + 1e-9).floor(), (high / step - 1e-9).ceil())
        } else {
            ((low / step - 1e-9).ceil(), (high / step + 1e-9).floor())
        };
        let count = (last - first).clamp(0.0, 200.0) as usize;
        let ticks: Vec<f64> = (0..=count).map(|k| (first + k as f64) * step).collect();
        let (low, high) = if widen { (first * step, last * step) } else { (low, high) };
        let decimals = (-step.log10().floor()).clamp(0.0, 12.0) as usize;
        Self { low, high, ticks, decimals }
    }

    /// A value as the axis writes it.
    pub fn label(&self, v: f64) -> String {
        let s = format!("{v:.*}", self.decimals);
        if s.trim_start_matches(['-', '0', '.']).is_empty() { "0".into() } else { s }
    }
}

/// A rectangle with a horizontal and a vertical axis.
pub(super) struct Frame {
    pub left: f64,
    pub top: f64,
    pub width: f64,
    pub height: f64,
    pub x: Axis,
    pub y: Axis,
}

impl Frame {
    pub fn at_x(&self, v: f64) -> f64 {
        self.left + self.width * (v - self.x.low) / (self.x.high - self.x.low)
    }

    pub fn at_y(&self, v: f64) -> f64 {
        self.top + self.height * (self.y.high - v) / (self.y.high - self.y.low)
    }

    pub fn at(&self, x: f64, y: f64) -> (f64, f64) {
        (self.at_x(x), self.at_y(y))
    }

    pub fn bottom(&self) -> f64 {
        self.top + self.height
    }

    pub fn right(&self) -> f64 {
        self.left + self.width
    }

    /// Vertical axis: faint lines across, values, and its name with the unit reading upwards at the edge of the sheet.
    pub fn draw_y(&self, sheet: &mut Sheet, name: &str) {
        self.draw_y_around(sheet, name, &[]);
    }

    /// The same, with the lines across broken where words stand: boxes of left, top, right, bottom, from left to right.
    pub fn draw_y_around(&self, sheet: &mut Sheet, name: &str, words: &[(f64, f64, f64, f64)]) {
        for &t in &self.y.ticks {
            let y = self.at_y(t);
            let mut from = self.left;
            for &(l, _, r, _) in words.iter().filter(|b| b.1 < y && y < b.3) {
                if l > from {
                    sheet.line(from, y, l, y, Pen::FAINT);
                }
                from = from.max(r);
            }
            if from < self.right() {
                sheet.line(from, y, self.right(), y, Pen::FAINT);
            }
            sheet.text(self.left - 10.0, y + 0.35 * SMALL, SMALL, Tie::End, &self.y.label(t));
        }
        sheet.line(self.left, self.top, self.left, self.bottom(), Pen::THIN);
        sheet.upright(30.0, self.top + 0.5 * self.height, TEXT, Tie::Middle, name);
    }

    /// Horizontal axis: values where there is room, and its name with the unit; gives the foot of the name.
    pub fn draw_x(&self, sheet: &mut Sheet, name: &str) -> f64 {
        sheet.line(self.left, self.bottom(), self.right(), self.bottom(), Pen::THIN);
        for &t in &self.x.ticks {
            let x = self.at_x(t);
            sheet.line(x, self.bottom(), x, self.bottom() + 7.0, Pen::THIN);
            sheet.text(x, self.bottom() + 12.0 + SMALL, SMALL, Tie::Middle, &self.x.label(t));
        }
        let foot = self.bottom() + 20.0 + SMALL + TEXT;
        sheet.text(self.left + 0.5 * self.width, foot, TEXT, Tie::Middle, name);
        foot
    }
}

/// A sample, drawn from a left edge about a middle height, and its words.
pub(super) type Entry<'a> = (&'a dyn Fn(&mut Sheet, f64, f64), &'a str);

/// Samples in a row under the title that say what is what; gives the foot of the last row.
pub(super) fn legend(sheet: &mut Sheet, y: f64, entries: &[Entry]) -> f64 {
    let (mut x, mut y) = (20.0, y);
    for (sample, words) in entries {
        let wide = 58.0 + width(words, SMALL);
        if x > 20.0 && x + wide > WIDE - 16.0 {
            (x, y) = (20.0, y + 1.5 * SMALL);
        }
        sample(sheet, x, y - 0.35 * SMALL);
        sheet.text(x + 54.0, y, SMALL, Tie::Start, words);
        x += wide + 26.0;
    }
    y
}
