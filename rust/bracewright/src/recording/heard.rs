//! A record searched for as long as its modes ring, and once more for what other taps of the same recording hold.

use std::sync::Arc;

use super::decimate::{C, Plan};
use super::modes::ModeOptions;
use super::search::{Found, again, search};
use crate::error::{Error, Result, number};

/// Length the first look takes, s: a mode that rings longer lengthens it.
const FIRST_LOOK_S: f64 = 0.5;
/// A record must hold so many decay times (1/decay) of its slowest mode, or all there is.
const DECAYS_HELD: f64 = 3.5;
/// Two taps hold the same mode when their frequencies differ by less than this share,
const SAME: f64 = 0.01;
/// or by so many of their standard uncertainties.
const SAME_U: f64 = 3.0;
/// That of a tone hardly seen, as a share of its decay rate (a lone tone at a fall of 25).
const DOUBT_U: f64 = 0.4;

/// A record and what was found in it.
pub(super) struct Heard {
    pub plan: Arc<Plan>,
    pub data: Vec<C>,
    pub found: Found,
    /// Whether all of the record was used.
    pub whole: bool,
}

impl Heard {
    pub fn new(rate_hz: f64, samples: &[f64], options: &ModeOptions) -> Result<Self> {
        let band = (options.low_hz, options.high_hz);
        let all = samples.len().min((options.longest_s * rate_hz) as usize);
        let mut take = all.min((FIRST_LOOK_S.max(options.shortest_s()) * rate_hz) as usize);
        let mut start = Vec::new();
        loop {
            let Some(plan) = Plan::get(rate_hz, band, take) else {
                return Err(Error::Refused(format!(
                    "a record of {:.3} s from {} to {} Hz holds too few bins; lengthen the record or widen the band",
                    samples.len() as f64 / rate_hz,
                    number(band.0),
                    number(band.1)
                )));
            };
            let data = plan.spectrum(samples);
            let found = search(&plan, &data, &start, options.most);
            let slowest = found.fit.poles.iter().map(|s| -s.re).fold(f64::INFINITY, f64::min);
            if slowest * plan.seconds() >= DECAYS_HELD || take >= all {
                return Ok(Self { plan, data, found, whole: take >= all });
            }
            let wanted = 2.0 * DECAYS_HELD / slowest.max(1e-6);
            take = all.min((wanted.max(2.0 * plan.seconds()) * rate_hz) as usize);
            start = found.fit.poles;
        }
    }

    /// Its tones: pole and standard uncertainty of the angular frequency.
    fn tones(&self) -> Vec<(C, f64)> {
        self.found.fit.poles.iter().zip(&self.found.u_parts).zip(&self.found.widening).map(|((s, u), w)| (*s, u.1 * w)).collect()
    }
}

fn reach(a: (C, f64), b: (C, f64)) -> f64 {
    (SAME * a.0.im).max(SAME_U * a.1.hypot(b.1))
}

/// A tone that one record lists and another does not is looked for again in that, and so is one that two records nearly hold: weak
/// modes pass the test for the whole band in some taps only, and where one is known to be, less is enough.
pub(super) fn again_where_others_hear(records: &mut [&mut Heard], most: usize) {
    let lists: Vec<Vec<(C, f64)>> = records.iter().map(|h| h.tones()).collect();
    let doubts: Vec<Vec<(C, f64)>> =
        records.iter().map(|h| h.found.doubtful.iter().map(|s| (*s, -DOUBT_U * s.re)).collect()).collect();
    let among = |list: &[(C, f64)], t: (C, f64)| list.iter().any(|q| (q.0.im - t.0.im).abs() < reach(*q, t));
    let twice = |k: usize, t: (C, f64)| doubts.iter().enumerate().any(|(j, l)| j != k && among(l, t));
    let shared: Vec<(C, f64)> =
        (0..records.len()).flat_map(|k| doubts[k].iter().copied().filter(move |t| twice(k, *t)).collect::<Vec<_>>()).collect();
    for (k, h) in records.iter_mut().enumerate() {
        let others = lists.iter().enumerate().filter(|(j, _)| *j != k).flat_map(|(_, l)| l);
        let mut places: Vec<(C, f64)> = others.chain(&shared).copied().filter(|t| t.0.re < 0.0).collect();
        places.sort_by(|a, b| a.1.total_cmp(&b.1));
        let mut tried: Vec<(C, f64)> = Vec::new();
        for t in places {
            if h.found.fit.poles.len() >= most || among(&h.tones(), t) || among(&tried, t) {
                continue;
            }
            tried.push(t);
            if let Some(more) = again(&h.plan, &h.data, &h.found, t.0, reach(t, t)) {
                h.found = more;
            }
        }
    }
}
