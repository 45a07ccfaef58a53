//! How likely a width is by two readings, all that is not known beside it integrated over.

/// Widths at which the deflections are worked out.
pub const STATIONS: usize = 61;
/// Spread of the load's logarithm where it is not known.
pub const ANY_LOAD: f64 = 1e3;
/// What is not known beside the width, in the order of the sensitivities.
pub const SOURCES: [&str; 5] = ["modulus of the brace", "modulus of the top", "give of the rig", "load", "model"];
pub const TOP: usize = 1;

/// Logarithm of the deflection per newton at a width, and its rates of change with the sources.
#[derive(Clone, Copy, Default)]
pub struct At {
    pub ln_d: f64,
    pub by: [f64; SOURCES.len()],
}

/// A state of the brace: deflection over the logarithm of the width.
pub struct State {
    pub at: Vec<At>,
}

/// The two readings' logarithms, their scatter and the spreads of the sources.
pub struct Readings {
    pub ln_d: [f64; 2],
    pub u: [f64; 2],
    pub spread: [f64; SOURCES.len()],
}

/// A posterior of the width: mean, spread, 95 % interval, mm, and the misfit of its best.
pub struct Posterior {
    pub mean: f64,
    pub sd: f64,
    pub interval: (f64, f64),
    pub misfit: f64,
}

impl State {
    /// Between the stations by the cubic through the four nearest.
    pub fn at(&self, ln_width: f64, (low, high): (f64, f64)) -> At {
        let t = ((ln_width - low) / (high - low) * (STATIONS - 1) as f64).clamp(0.0, (STATIONS - 1) as f64);
        let first = (t.floor() as usize).clamp(1, STATIONS - 3) - 1;
        let s = t - first as f64;
        let weights = [
            -(s - 1.0) * (s - 2.0) * (s - 3.0) / 6.0,
            s * (s - 2.0) * (s - 3.0) / 2.0,
            -s * (s - 1.0) * (s - 3.0) / 2.0,
            s * (s - 1.0) * (s - 2.0) / 6.0,
        ];
        let mut out = At::default();
        for (w, a) in weights.iter().zip(&self.at[first..first + 4]) {
            out.ln_d += w * a.ln_d;
            out.by.iter_mut().zip(&a.by).for_each(|(sum, v)| *sum += w * v);
        }
        out
    }
}

/// Covariance of the first reading's logarithm and of the second's less the first's, and their rates of change: so that a load
/// that is not known takes nothing from the digits of the ratio.
struct Joined {
    first: f64,
    cross: f64,
    apart: f64,
    by: [[f64; 2]; SOURCES.len()],
}

impl Joined {
    fn new(at: &[At; 2], r: &Readings) -> Self {
        let by: [[f64; 2]; SOURCES.len()] =
            std::array::from_fn(|k| [at[0].by[k] * r.spread[k], (at[1].by[k] - at[0].by[k]) * r.spread[k]]);
        let sum = |i: usize, j: usize| by.iter().map(|b| b[i] * b[j]).sum::<f64>();
        let (u0, u1) = (r.u[0].powi(2), r.u[1].powi(2));
        Self { first: u0 + sum(0, 0), cross: sum(0, 1) - u0, apart: u0 + u1 + sum(1, 1), by }
    }

    /// Variance of the first beyond what the difference says of it.
    fn rest(&self) -> f64 {
        (self.first - self.cross * self.cross / self.apart).max(f64::EPSILON * self.first)
    }
}

/// Log-likelihood of a width, the sources integrated over, and the square of the misfit.
fn likelihood(states: [&State; 2], r: &Readings, ln_width: f64, range: (f64, f64)) -> (f64, f64) {
    let at = states.map(|s| s.at(ln_width, range));
    let j = Joined::new(&at, r);
    let miss = [r.ln_d[0] - at[0].ln_d, r.ln_d[1] - at[1].ln_d];
    let ratio = miss[1] - miss[0];
    let beyond = miss[0] - j.cross / j.apart * ratio;
    let chi = ratio * ratio / j.apart + beyond * beyond / j.rest();
    (-0.5 * (chi + j.apart.ln() + j.rest().ln()), chi)
}

/// Part of the readings and of every source in the uncertainty of the width, mm, by weighted least squares about a width.
pub fn parts(states: [&State; 2], r: &Readings, ln_width: f64, range: (f64, f64)) -> Vec<(String, f64)> {
    let step = 1e-3;
    let at = states.map(|s| s.at(ln_width, range));
    let rate = states.map(|s| (s.at(ln_width + step, range).ln_d - s.at(ln_width - step, range).ln_d) / (2.0 * step));
    let j = Joined::new(&at, r);
    let slope = [rate[0], rate[1] - rate[0]];
    // the weights that the inverse covariance gives the two
    let beyond = (slope[0] - j.cross / j.apart * slope[1]) / j.rest();
    let w = [beyond, slope[1] / j.apart - j.cross / j.apart * beyond];
    let information = w[0] * slope[0] + w[1] * slope[1];
    if information <= 0.0 {
        return Vec::new();
    }
    let width = ln_width.exp();
    let of = |v: f64| width * v.abs() / information;
    let scatter = ((w[0] - w[1]) * r.u[0]).hypot(w[1] * r.u[1]);
    let mut out = vec![("readings".to_string(), of(scatter))];
    for (k, name) in SOURCES.iter().enumerate() {
        // a load that is not known leaves the ratio
        if r.spread[k] < ANY_LOAD {
            out.push(((*name).to_string(), of(w[0] * j.by[k][0] + w[1] * j.by[k][1])));
        }
    }
    out
}

/// Mean, spread and interval of the width, beforehand even in its logarithm over the range.
pub fn posterior(states: [&State; 2], r: &Readings, range: (f64, f64)) -> Posterior {
    const POINTS: usize = 800;
    let (mut low, mut high) = range;
    let mut rows: Vec<(f64, f64, f64)> = Vec::new();
    for _ in 0..40 {
        rows = (0..=POINTS)
            .map(|k| {
                let x = low + (high - low) * k as f64 / POINTS as f64;
                let (l, chi) = likelihood(states, r, x, range);
                (x, l, chi)
            })
            .collect();
        let most = rows.iter().fold(f64::NEG_INFINITY, |m, v| m.max(v.1));
        let counts = |v: &(f64, f64, f64)| v.1 > most - 30.0;
        let (Some(a), Some(b)) = (rows.iter().position(counts), rows.iter().rposition(counts)) else { break };
        let (next_low, next_high) = (rows[a.saturating_sub(1)].0, rows[(b + 1).min(POINTS)].0);
        let shrunk = next_high - next_low < 0.5 * (high - low);
        if !shrunk {
            break;
        }
        (low, high) = (next_low, next_high);
    }
    let most = rows.iter().fold(f64::NEG_INFINITY, |m, v| m.max(v.1));
    let mass: Vec<f64> = rows.iter().map(|v| (v.1 - most).exp()).collect();
    let total: f64 = mass.iter().sum();
    let mean = rows.iter().zip(&mass).map(|(v, m)| v.0.exp() * m).sum::<f64>() / total;
    let sd = (rows.iter().zip(&mass).map(|(v, m)| (v.0.exp() - mean).powi(2) * m).sum::<f64>() / total).sqrt();
    let quantile = |q: f64| {
        let (mut sum, mut before) = (0.0, rows.first().map_or(0.0, |v| v.0));
        for (v, m) in rows.iter().zip(&mass) {
            let next = sum + m / total;
            if next >= q {
                return (before + (v.0 - before) * ((q - sum) / (next - sum)).clamp(0.0, 1.0)).exp();
            }
            (sum, before) = (next, v.0);
        }
        before.exp()
    };
    let misfit = rows.iter().fold(f64::INFINITY, |m, v| m.min(v.2)).sqrt();
    Posterior { mean, sd, interval: (quantile(0.025), quantile(0.975)), misfit }
}
