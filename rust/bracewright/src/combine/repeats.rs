//! One quantity read again and again, within seats and re-seated: mean, scatter by one-way analysis of variance, budget,
//! and the readings that do not fit.

use serde::{Deserialize, Serialize};

use super::budget::{Budget, BudgetLine, Evaluation, rounded};
use super::chance::checked_dof;
use super::robust::{MODIFIED_Z_LIMIT, median, scale_of};
use crate::error::{Error, Result, finite, not_negative, number, positive};

/// Fewest readings (or seats) of which one can be told to be bad by the others.
const ENOUGH: usize = 5;

/// What is known besides the readings.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct RepeatOptions {
    /// Smallest step of the display; half of it either way is a rectangular law, so u is the step over the root of 12.
    pub resolution: f64,
    /// Standard uncertainty of the instrument's calibration.
    pub u_calibration: f64,
    /// Its degrees of freedom; `None` when infinitely many.
    pub calibration_dof: Option<f64>,
    /// Standard deviation of one reading known from before, used where these readings cannot show it.
    pub known_repeat_sd: Option<f64>,
    /// Standard deviation between seats known from before, used where there is one seat only.
    pub known_seat_sd: Option<f64>,
    /// Coverage of the interval, above 0 and below 1.
    pub coverage: f64,
    /// Unit, for the words.
    pub unit: String,
}

impl Default for RepeatOptions {
    fn default() -> Self {
        Self {
            resolution: 0.0,
            u_calibration: 0.0,
            calibration_dof: None,
            known_repeat_sd: None,
            known_seat_sd: None,
            coverage: 0.95,
            unit: String::new(),
        }
    }
}

/// A reading, or a whole seat, that does not fit the others.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Suspect {
    /// Its seat, from 0.
    pub seat: usize,
    /// Its place in the seat, from 0; `None` when the whole seat stands off.
    pub index: Option<usize>,
    /// What was read (of a seat, its mean).
    pub value: f64,
    /// How far it stands from the median of its like.
    pub off_by: f64,
    /// The same over the robust scatter: the modified z-score.
    pub score: f64,
}

/// A quantity from its repeats.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Repeated {
    /// With every reading.
    pub with_all: Budget,
    /// Without the suspects; the same as `with_all` when there are none.
    pub without_suspects: Budget,
    /// The readings that do not fit, worst first.
    pub suspects: Vec<Suspect>,
    /// Standard deviation of one reading within its seat, pooled, all readings in; `None` unless some seat was read twice.
    pub repeat_sd: Option<f64>,
    /// Standard deviation of the seats themselves, the readings' share taken off (0 when that leaves nothing); `None` with
    /// one seat.
    pub seat_sd: Option<f64>,
    /// The readings, one list a seat, empty seats left out.
    pub seats: Vec<Vec<f64>>,
    /// What should be known, as sentences.
    pub words: Vec<String>,
}

/// Means, scatter and counts of seats.
struct Nested {
    mean: f64,
    /// Pooled within seats, and its degrees of freedom.
    within: Option<(f64, f64)>,
    /// Variance of the seats' means.
    of_means: Option<f64>,
    seats: f64,
    /// Mean of 1 / readings over the seats.
    inverse_count: f64,
}

fn mean(values: &[f64]) -> f64 {
    // shifted, so that a small scatter on a large value keeps its digits
    let first = values.first().copied().unwrap_or(0.0);
    first + values.iter().map(|v| v - first).sum::<f64>() / values.len().max(1) as f64
}

fn squares(values: &[f64]) -> f64 {
    let m = mean(values);
    values.iter().map(|v| (v - m).powi(2)).sum()
}

fn nested(seats: &[Vec<f64>]) -> Nested {
    let means: Vec<f64> = seats.iter().map(|s| mean(s)).collect();
    let m = seats.len() as f64;
    let total: usize = seats.iter().map(Vec::len).sum();
    let free = total as f64 - m;
    Nested {
        mean: mean(&means),
        within: (free > 0.0).then(|| (seats.iter().map(|s| squares(s)).sum::<f64>() / free, free)),
        of_means: (seats.len() > 1).then(|| squares(&means) / (m - 1.0)),
        seats: m,
        inverse_count: seats.iter().map(|s| 1.0 / s.len() as f64).sum::<f64>() / m,
    }
}

impl Nested {
    /// Variance of the seats, the readings' share taken off.
    fn seat_variance(&self) -> Option<f64> {
        self.of_means.map(|v| (v - self.within.map_or(0.0, |w| w.0) * self.inverse_count).max(0.0))
    }

    /// Budget of the mean: every seat counts alike, so its variance is that of the seats' means over their number.
    fn budget(&self, o: &RepeatOptions) -> Result<Budget> {
        let line = |source: &str, u: f64, dof: Option<f64>, e: Evaluation| BudgetLine::new(source, self.mean, u, 1.0, dof, e);
        let from_within = self.within.map(|(v, free)| (v * self.inverse_count / self.seats, free));
        let mut lines = Vec::new();
        match (self.of_means.map(|v| v / self.seats), from_within) {
            // seats no farther apart than their readings make them: the pooled scatter, which many more readings carry
            (Some(seats), Some((within, free))) if within >= seats => {
                lines.push(line("repeats; the seats add nothing to be seen", within.sqrt(), Some(free), Evaluation::A)?);
            }
            (Some(seats), _) => {
                lines.push(line("seats, and the repeats in them", seats.sqrt(), Some(self.seats - 1.0), Evaluation::A)?);
            }
            (None, Some((within, free))) => lines.push(line("repeats", within.sqrt(), Some(free), Evaluation::A)?),
            (None, None) => {
                if let Some(sd) = o.known_repeat_sd {
                    lines.push(line("repeat, known from before", sd * self.inverse_count.sqrt(), None, Evaluation::B)?);
                }
            }
        }
        if let (None, Some(sd)) = (self.of_means, o.known_seat_sd) {
            lines.push(line("seat, known from before", sd, None, Evaluation::B)?);
        }
        lines.push(line("resolution", o.resolution / 12.0_f64.sqrt(), None, Evaluation::B)?);
        lines.push(line("calibration", o.u_calibration, o.calibration_dof, Evaluation::B)?);
        lines.retain(|l| l.u > 0.0);
        if lines.is_empty() {
            return Err(Error::NotIdentifiable {
                unknown: "the uncertainty of the mean".into(),
                reason: "the readings show no scatter and nothing else was given: give resolution, or read again in another \
                         seat"
                    .into(),
            });
        }
        Budget::new(self.mean, &o.unit, lines, o.coverage)
    }
}

fn suspects(seats: &[Vec<f64>], o: &RepeatOptions, words: &mut Vec<String>) -> Vec<Suspect> {
    let floor = o.resolution / 12.0_f64.sqrt();
    let mut out = Vec::new();
    let able: Vec<usize> = (0..seats.len()).filter(|&i| seats[i].len() >= 3).collect();
    let count: usize = able.iter().map(|&i| seats[i].len()).sum();
    let medians: Vec<f64> = seats.iter().map(|s| median(s)).collect();
    let off: Vec<f64> = able.iter().flat_map(|&i| seats[i].iter().map(move |v| (i, v))).map(|(i, v)| v - medians[i]).collect();
    let scale = if count >= ENOUGH && count > able.len() {
        // each median takes one reading with it
        let lost = ((count as f64 - 1.0) / (count - able.len()) as f64).sqrt();
        Some((scale_of(&off) * lost).max(floor))
    } else {
        o.known_repeat_sd.map(|sd| sd.max(floor)).filter(|_| count > 0)
    };
    if let Some(scale) = scale.filter(|s| *s > 0.0) {
        for &i in &able {
            for (j, v) in seats[i].iter().enumerate() {
                let off_by = v - medians[i];
                if (off_by / scale).abs() > MODIFIED_Z_LIMIT {
                    out.push(Suspect { seat: i, index: Some(j), value: *v, off_by, score: off_by / scale });
                }
            }
        }
    } else if count < ENOUGH {
        words.push(format!(
            "{count} readings in seats of three or more are too few to tell a bad one by the others; {ENOUGH} would do, or a repeat known from before"
        ));
    }
    if (2..ENOUGH).contains(&seats.len()) {
        words.push(format!("{} seats are too few to tell a bad one by the others; {ENOUGH} would do", seats.len()));
    } else if seats.len() >= ENOUGH {
        let middle = median(&medians);
        let off: Vec<f64> = medians.iter().map(|m| m - middle).collect();
        let scale = scale_of(&off).max(floor);
        for (i, d) in off.iter().enumerate() {
            if scale > 0.0 && (d / scale).abs() > MODIFIED_Z_LIMIT {
                out.retain(|s: &Suspect| s.seat != i);
                out.push(Suspect { seat: i, index: None, value: mean(&seats[i]), off_by: *d, score: d / scale });
            }
        }
    }
    out.sort_by(|a, b| b.score.abs().total_cmp(&a.score.abs()));
    out
}

fn kept(seats: &[Vec<f64>], suspects: &[Suspect]) -> Vec<Vec<f64>> {
    let gone = |i: usize, j: usize| suspects.iter().any(|s| s.seat == i && s.index.is_none_or(|k| k == j));
    seats
        .iter()
        .enumerate()
        .map(|(i, s)| s.iter().enumerate().filter(|(j, _)| !gone(i, *j)).map(|(_, v)| *v).collect::<Vec<f64>>())
        .filter(|s| !s.is_empty())
        .collect()
}

/// A quantity from its repeats, one list a seat (seats may differ in their number of readings; empty ones are left out).
///
/// Every seat counts alike. The variance of the mean is that of the seats' means over their number (JCGM 100 H.5), or the
/// pooled scatter of the readings where that is larger. A reading is suspect when its modified z-score from the median of
/// its seat, scatter pooled over the seats, is above [`MODIFIED_Z_LIMIT`]; a seat likewise among 5 seats or more. Nothing is
/// hidden: both answers come back, and the words name each suspect.
pub fn repeated(readings: &[Vec<f64>], options: &RepeatOptions) -> Result<Repeated> {
    not_negative("resolution", options.resolution, "")?;
    not_negative("u_calibration", options.u_calibration, "")?;
    if let Some(n) = options.calibration_dof {
        checked_dof("calibration_dof", n)?;
    }
    if let Some(sd) = options.known_repeat_sd {
        positive("known_repeat_sd", sd, "")?;
    }
    if let Some(sd) = options.known_seat_sd {
        positive("known_seat_sd", sd, "")?;
    }
    for (i, seat) in readings.iter().enumerate() {
        for (j, v) in seat.iter().enumerate() {
            finite(&format!("readings[{i}][{j}]"), *v, "")?;
        }
    }
    let seats: Vec<Vec<f64>> = readings.iter().filter(|s| !s.is_empty()).cloned().collect();
    if seats.is_empty() {
        return Err(Error::BadList { name: "readings".into(), problem: "is empty; give at least one reading".into() });
    }
    let mut words = Vec::new();
    let all = nested(&seats);
    if all.of_means.is_none() && options.known_seat_sd.is_none() {
        words.push("one seat only: what laying the piece down again does is not in the uncertainty".into());
    }
    if all.within.is_none() && all.of_means.is_none() && options.known_repeat_sd.is_none() {
        words.push("one reading only: its repeat is not in the uncertainty; give known_repeat_sd, or read again".into());
    }
    let with_all = all.budget(options)?;
    let suspects = suspects(&seats, options, &mut words);
    let without_suspects =
        if suspects.is_empty() { with_all.clone() } else { nested(&kept(&seats, &suspects)).budget(options)? };
    for s in &suspects {
        let what = match s.index {
            Some(j) => format!("reading {} of seat {}", j + 1, s.seat + 1),
            None => format!("seat {}", s.seat + 1),
        };
        words.push(format!(
            "{what}, {}, stands {} off its like, {:.1} times their scatter",
            number(s.value),
            number(s.off_by),
            s.score.abs()
        ));
    }
    if !suspects.is_empty() {
        let (a, ua) = rounded(with_all.value, with_all.u);
        let (b, ub) = rounded(without_suspects.value, without_suspects.u);
        words.push(format!("with all readings {a} (u {ua}), without those that do not fit {b} (u {ub})"));
    }
    Ok(Repeated {
        repeat_sd: all.within.map(|w| w.0.sqrt()),
        seat_sd: all.seat_variance().map(f64::sqrt),
        with_all,
        without_suspects,
        suspects,
        seats,
        words,
    })
}
