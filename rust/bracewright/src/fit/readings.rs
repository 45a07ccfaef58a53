//! Modulus and give of the supports from several readings of one brace.

use serde::{Deserialize, Serialize};

use crate::brace::Brace;
use crate::error::{Error, Result, positive, same_length};
use crate::rig::Rig;

/// What readings of one brace at several loads and spans say.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ReadingsFit {
    /// E along the grain, GPa.
    pub modulus_gpa: f64,
    /// Its standard error, GPa.
    pub u_gpa: f64,
    /// Give of supports and frame, mm/N.
    pub give_mm_per_n: f64,
    /// Its standard error, mm/N.
    pub u_give_mm_per_n: f64,
    /// Correlation of the two (of 1/E and give).
    pub correlation: f64,
    /// Standard deviation of the residuals, mm.
    pub residual_mm: f64,
    /// Number of readings.
    pub readings: usize,
    /// What they pin down and what not, in words.
    pub words: String,
}

/// Which beam answers.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum Beam {
    /// Depth-resolved: the one to act on.
    Resolved,
    /// Section beam: quick.
    Section,
}

impl std::str::FromStr for Beam {
    type Err = Error;
    fn from_str(s: &str) -> Result<Self> {
        match s {
            "resolved" => Ok(Self::Resolved),
            "section" => Ok(Self::Section),
            _ => Err(crate::error::unknown_name("beam", s, ["resolved", "section"])),
        }
    }
}

/// Fits E and the give of the supports to three-point readings about the middle of the brace: deflection = load (c/E +
/// give), c the brace's compliance at 1 GPa on each span, linear in 1/E and give; least squares, errors from the
/// residuals with n - 2 degrees of freedom (from `u_mm` instead where that is given).
pub fn fit_readings(
    brace: &Brace,
    span_mm: &[f64],
    load_n: &[f64],
    deflection_mm: &[f64],
    u_mm: Option<f64>,
    beam: Beam,
) -> Result<ReadingsFit> {
    let n = deflection_mm.len();
    same_length("span_mm", span_mm.len(), "deflection_mm", n)?;
    same_length("load_n", load_n.len(), "deflection_mm", n)?;
    for i in 0..n {
        if !(load_n[i] > 0.0 && deflection_mm[i] > 0.0 && load_n[i].is_finite() && deflection_mm[i].is_finite()) {
            positive(&format!("load_n[{i}]"), load_n[i], "N")?;
            positive(&format!("deflection_mm[{i}]"), deflection_mm[i], "mm")?;
        }
    }
    if let Some(u) = u_mm {
        positive("u_mm", u, "mm")?;
    }
    let need = if u_mm.is_some() { 2 } else { 3 };
    if n < need {
        return Err(Error::NotIdentifiable {
            unknown: "modulus_gpa and give_mm_per_n".into(),
            reason: format!("{n} readings are too few; take at least {need}, on two spans"),
        });
    }
    let e0 = brace.blank().modulus_gpa();
    let mut known: Vec<(f64, f64)> = Vec::with_capacity(4);
    let (mut xx, mut xf, mut ff, mut xd, mut fd) = (0.0, 0.0, 0.0, 0.0, 0.0);
    let mut x = vec![0.0; n];
    for i in 0..n {
        let c = match known.iter().find(|k| k.0 == span_mm[i]) {
            Some(k) => k.1,
            None => {
                let c = e0
                    * match beam {
                        Beam::Section => brace.section_three_point_mm_per_n(span_mm[i])?,
                        Beam::Resolved => Rig::three_point(span_mm[i], load_n[i])?.compliance_mm_per_n(brace)?.0,
                    };
                known.push((span_mm[i], c));
                c
            }
        };
        x[i] = load_n[i] * c;
        let (f, d) = (load_n[i], deflection_mm[i]);
        (xx, xf, ff, xd, fd) = (xx + x[i] * x[i], xf + x[i] * f, ff + f * f, xd + x[i] * d, fd + f * d);
    }
    let det = xx * ff - xf * xf;
    if det <= 1e-10 * xx * ff {
        return Err(Error::NotIdentifiable {
            unknown: "modulus_gpa and give_mm_per_n".into(),
            reason: "all readings are on one span, where a softer brace and softer supports look the same; read on a second, shorter span".into(),
        });
    }
    let (inverse, give) = ((ff * xd - xf * fd) / det, (xx * fd - xf * xd) / det);
    if inverse <= 0.0 {
        return Err(Error::NotIdentifiable {
            unknown: "modulus_gpa".into(),
            reason:
                "the deflections do not grow with load and span as a beam's do; check the order of the columns and their units"
                    .into(),
        });
    }
    let ss: f64 = (0..n).map(|i| (deflection_mm[i] - x[i] * inverse - load_n[i] * give).powi(2)).sum();
    let residual = if n > 2 { (ss / (n - 2) as f64).sqrt() } else { 0.0 };
    let sigma = u_mm.unwrap_or(residual);
    let (u_inverse, u_give) = (sigma * (ff / det).sqrt(), sigma * (xx / det).sqrt());
    let modulus = 1.0 / inverse;
    let u = modulus * modulus * u_inverse;
    let words = if give < -2.0 * u_give {
        format!("the supports come out with a negative give of {give:.5} mm/N, which cannot be: a span or a load is off")
    } else if u / modulus > 0.05 {
        "the readings hardly tell a soft brace from soft supports; spans further apart would".into()
    } else {
        "both are pinned down by these readings".into()
    };
    Ok(ReadingsFit {
        modulus_gpa: modulus,
        u_gpa: u,
        give_mm_per_n: give,
        u_give_mm_per_n: u_give,
        correlation: -xf / (xx * ff).sqrt(),
        residual_mm: residual,
        readings: n,
        words,
    })
}
