//! What a test does to a mode that only just passed it.
//!
//! Of weak modes the test lets through those that noise made stronger: what is listed is louder than the truth and its uncertainty,
//! which goes with one over the level, too small. A mode's fall of the misfit follows, for a true strength x, a non-central chi
//! squared law of four degrees; given that it passed, it follows that law cut off at the charge. The strength taken is the one of
//! which half the modes that pass would have shown more (the median-unbiased estimate of the cut law).

/// The strength is taken as no less than this share of what was seen: just above the charge the data say nothing of how weak the
/// mode may be. With it intervals hold as often as they say for every strength that passes in one record of five or more.
const LEAST: f64 = 0.35;
/// A fall of so many charges is far from any cut.
const FAR: f64 = 4.0;

/// Chance of more than `fall` for a non-central chi squared law of four degrees: its half is passed when a Poisson number of mean
/// fall / 2 is at most one more than another of mean strength / 2.
fn chance_of_more(fall: f64, strength: f64) -> f64 {
    let (x, y) = (0.5 * fall, 0.5 * strength);
    let most = (y + 12.0 * y.sqrt() + 20.0) as usize;
    let mut term_x = (-x).exp();
    let mut below = term_x;
    let mut term_y = (-y).exp();
    let mut sum = 0.0;
    for j in 0..=most {
        term_x *= x / (j + 1) as f64;
        below += term_x;
        sum += term_y * below;
        term_y *= y / (j + 1) as f64;
    }
    sum.min(1.0)
}

/// By how much the level of a mode whose loss costs `fall` is too high and its uncertainty too low, having passed a test at `charge`.
pub(super) fn widening(fall: f64, charge: f64) -> f64 {
    if fall.is_nan() || fall > FAR * charge {
        return 1.0;
    }
    let fall = fall.max(1.000_001 * charge);
    let more = |strength: f64| chance_of_more(fall, strength) / chance_of_more(charge, strength);
    let (mut low, mut high) = (LEAST * fall, fall);
    if more(low) < 0.5 {
        for _ in 0..24 {
            let mid = 0.5 * (low + high);
            if more(mid) < 0.5 { low = mid } else { high = mid }
        }
    }
    (fall / low).sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// scipy.stats.ncx2.sf(fall, 4, strength), scipy 1.17.
    #[test]
    fn the_non_central_law_is_that_of_a_library() {
        for (fall, strength, chance) in [
            (30.5, 21.3, 0.271_272_658_671_749_4),
            (30.5, 30.9, 0.621_070_784_882_785_9),
            (18.5, 10.0, 0.232_874_635_786_469_2),
            (60.0, 20.0, 0.001_258_870_708_137_946_3),
            (100.0, 90.0, 0.359_828_926_299_068_6),
        ] {
            let ours = chance_of_more(fall, strength);
            assert!((ours / chance - 1.0).abs() < 1e-9, "{fall} {strength}: {ours}");
        }
    }

    /// Just over the charge most is taken away, far above nothing, and never more than the floor allows.
    #[test]
    fn what_passed_easily_is_left_alone() {
        let at = |fall: f64| widening(fall, 30.0);
        assert!((at(30.0) - (1.0 / LEAST).sqrt()).abs() < 1e-3, "{}", at(30.0));
        assert_eq!(at(30.0), at(10.0));
        assert!(at(40.0) > at(60.0) && at(60.0) > at(90.0) && (1.0..1.03).contains(&at(110.0)), "{} {}", at(60.0), at(110.0));
        assert_eq!(at(1000.0), 1.0);
    }
}
