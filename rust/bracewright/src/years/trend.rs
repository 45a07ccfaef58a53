//! A straight line of rotation over log time through one's own readings, carried on for years, with its bands.

use serde::{Deserialize, Serialize};

use super::creep::MECHANO_SORPTIVE;
use crate::cautions::{Hazard, cautions};
use crate::combine::{chi_squared_upper_tail, coverage_factor};
use crate::error::{self, Error, Result, number, within};

/// Hours in a year.
pub(crate) const YEAR_H: f64 = 8766.0;

/// What the trend says of one moment.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct TrendPoint {
    /// Hours under tension.
    pub hours: f64,
    /// Rotation, degrees.
    pub rotation_deg: f64,
    /// Lower end of the band in which a reading then is to be expected, degrees.
    pub low_deg: f64,
    /// Its upper end, degrees.
    pub high_deg: f64,
}

/// Rotation = a + b log10(hours), fitted.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct RotationTrend {
    /// Hours of the readings.
    pub hours: Vec<f64>,
    /// The readings, degrees.
    pub rotation_deg: Vec<f64>,
    /// Rotation of the line at one hour, degrees.
    pub at_1_hour_deg: f64,
    /// Growth each time the hours grow tenfold, degrees.
    pub per_decade_deg: f64,
    /// Its standard uncertainty, degrees.
    pub u_per_decade_deg: f64,
    /// Scatter of one reading about the line that the bands use, degrees.
    pub scatter_deg: f64,
    /// Degrees of freedom of that scatter; `None` where it was given.
    pub dof: Option<f64>,
    /// Share of readings that the bands are to hold.
    pub coverage: f64,
    /// The line at 1, 5 and 20 years.
    pub forecast: Vec<TrendPoint>,
    /// What should be known, as sentences.
    pub words: Vec<String>,
}

/// Fits rotation (degrees) over hours under tension (increasing, above 0) by least squares and carries it on to 1, 5 and 20 years.
///
/// `u_deg` is the standard uncertainty of one reading (0.001 to 5). Without one the scatter about the line is used, with Student's t
/// for the few degrees of freedom; it takes three readings. With one it takes two, and the scatter is used instead where it is larger
/// than chance allows (5 %). Bands are for a further reading, share `coverage` (0.5 to 0.999):
/// k s sqrt(1 + 1/n + (x - mean x)^2 / Sxx), x = log10 hours.
pub fn rotation_trend(hours: &[f64], rotation_deg: &[f64], u_deg: Option<f64>, coverage: f64) -> Result<RotationTrend> {
    error::same_length("hours", hours.len(), "rotation_deg", rotation_deg.len())?;
    let least = if u_deg.is_some() { 2 } else { 3 };
    error::increasing("hours", hours, "h", least)?;
    within("hours[0]", hours[0], "h", 1e-3, 1e7)?;
    within("the last of hours", hours[hours.len() - 1], "h", 1e-3, 1e7)?;
    for (k, r) in rotation_deg.iter().enumerate() {
        within(&format!("rotation_deg[{k}]"), *r, "deg", -30.0, 30.0)?;
    }
    let u = u_deg.map(|u| within("u_deg", u, "deg", 1e-3, 5.0)).transpose()?;
    within("coverage", coverage, "", 0.5, 0.999)?;

    let n = hours.len() as f64;
    let x: Vec<f64> = hours.iter().map(|h| h.log10()).collect();
    let (mx, my) = (x.iter().sum::<f64>() / n, rotation_deg.iter().sum::<f64>() / n);
    let sxx: f64 = x.iter().map(|v| (v - mx).powi(2)).sum();
    if sxx < 1e-6 {
        return Err(Error::BadList {
            name: "hours".into(),
            problem: "lie too close together in log time to carry a line; read at 1 hour, 1 day, 1 week, 1 month".into(),
        });
    }
    let b = x.iter().zip(rotation_deg).map(|(v, r)| (v - mx) * (r - my)).sum::<f64>() / sxx;
    let a = my - b * mx;
    let sse: f64 = x.iter().zip(rotation_deg).map(|(v, r)| (r - a - b * v).powi(2)).sum();
    let left = n - 2.0;
    let own = if left > 0.0 { (sse / left).sqrt() } else { 0.0 };
    let mut words = Vec::new();
    let (scatter, dof) = match u {
        None => (own, Some(left)),
        Some(u) if left > 0.0 && own > u && chi_squared_upper_tail(sse / (u * u), left)? < 0.05 => {
            words.push(format!(
                "the readings scatter by {own:.3} degrees about the line, more than their stated {} allows: the bands use the scatter; \
                 humidity at each reading is the usual reason",
                number(u)
            ));
            (own, Some(left))
        }
        Some(u) => (u, None),
    };
    let mut trend = RotationTrend {
        hours: hours.to_vec(),
        rotation_deg: rotation_deg.to_vec(),
        at_1_hour_deg: a,
        per_decade_deg: b,
        u_per_decade_deg: scatter / sxx.sqrt(),
        scatter_deg: scatter,
        dof,
        coverage,
        forecast: Vec::new(),
        words: Vec::new(),
    };
    for years in [1.0, 5.0, 20.0] {
        trend.forecast.push(trend.at_hours(YEAR_H * years)?);
    }
    let told: Vec<String> = [1, 5, 20]
        .iter()
        .zip(&trend.forecast)
        .map(|(y, p)| {
            format!("{y} year{} {:.2} ({:.2} to {:.2})", if *y == 1 { "" } else { "s" }, p.rotation_deg, p.low_deg, p.high_deg)
        })
        .collect();
    words.insert(0, format!("{a:.2} degrees at 1 hour and {b:+.3} for each tenfold of time: {}", told.join(", ")));
    let (first, last) = (x[0], x[x.len() - 1]);
    let ahead = ((20.0 * YEAR_H).log10() - last) / (last - first);
    if ahead > 1.0 {
        words.push(format!(
            "20 years lie {ahead:.1} times the span of the readings ahead, in log time; the band is that of the line, not of what else can \
             happen: read on"
        ));
    }
    words.push(MECHANO_SORPTIVE.into());
    trend.words = words;
    Ok(trend)
}

impl RotationTrend {
    /// The line and its band after so many hours (0.001 to 1e7).
    pub fn at_hours(&self, hours: f64) -> Result<TrendPoint> {
        let v = within("hours", hours, "h", 1e-3, 1e7)?.log10();
        let n = self.hours.len() as f64;
        let mean = self.hours.iter().map(|h| h.log10()).sum::<f64>() / n;
        let sxx: f64 = self.hours.iter().map(|h| (h.log10() - mean).powi(2)).sum();
        let rotation = self.at_1_hour_deg + self.per_decade_deg * v;
        let reach =
            coverage_factor(self.coverage, self.dof)? * self.scatter_deg * (1.0 + 1.0 / n + (v - mean).powi(2) / sxx).sqrt();
        Ok(TrendPoint { hours, rotation_deg: rotation, low_deg: rotation - reach, high_deg: rotation + reach })
    }

    /// Years until the line reaches `limit_deg` (-30 to 30); `None` when it does not within 200 years.
    pub fn years_until(&self, limit_deg: f64) -> Result<Option<f64>> {
        let limit = within("limit_deg", limit_deg, "deg", -30.0, 30.0)?;
        if self.per_decade_deg <= 0.0 {
            return Ok(None);
        }
        let years = 10.0_f64.powf((limit - self.at_1_hour_deg) / self.per_decade_deg) / YEAR_H;
        Ok((years <= 200.0).then_some(years))
    }

    /// What to mind.
    pub fn cautions(&self) -> Vec<String> {
        cautions(&[Hazard::LongLoad, Hazard::DryClimate, Hazard::Heat, Hazard::Estimate])
    }
}
