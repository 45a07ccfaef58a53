//! Advice as sentences for the bench.

use super::{Advice, ClosedForm, Kind, Limit, Stop, Window};

impl Advice {
    /// The advice in plain sentences.
    pub fn text(&self) -> String {
        let (now, dial) = (&self.now.deflection_mm, &self.expected_reading_mm);
        Spoken {
            kind: &self.kind,
            window: &self.window,
            alpha: self.alpha,
            depth_mm: self.depth_mm,
            allowed_mm: self.allowed_mm,
            mass_g: self.mass_g,
            chance_over: self.chance_over,
            chance_in_window: self.chance_in_window,
            now_mm: [now.mean, now.q05, now.q95],
            dial_mm: [dial.q50, dial.q05, dial.q95],
        }
        .text()
    }
}

/// What the sentences are made of, whoever decided.
pub(crate) struct Spoken<'a> {
    pub kind: &'a Kind,
    pub window: &'a Window,
    pub alpha: f64,
    pub depth_mm: f64,
    pub allowed_mm: f64,
    pub mass_g: Option<f64>,
    pub chance_over: f64,
    pub chance_in_window: f64,
    /// As it stands: middle, 5 and 95 % quantiles.
    pub now_mm: [f64; 3],
    /// What the dial should show afterwards, likewise.
    pub dial_mm: [f64; 3],
}

impl Spoken<'_> {
    pub fn text(&self) -> String {
        let (low, high) = (self.window.low_mm, self.window.high_mm);
        let [now, least, most] = self.now_mm;
        let here = format!("By all that was read it stands at {now:.3} mm ({least:.3} to {most:.3})");
        let window = format!("the window, {low:.3} to {high:.3} mm");
        match *self.kind {
            Kind::Carve { held_by } => {
                let grams = self.mass_g.map_or(String::new(), |g| format!(" (about {g:.2} g)"));
                let [dial, dial_least, dial_most] = self.dial_mm;
                let why = match held_by {
                    Limit::Target => "That goes straight at the target.".into(),
                    Limit::Chance => format!("Deeper, the chance of going past would be above {}.", percent(self.alpha)),
                    Limit::Deepest => "The plan goes no deeper.".into(),
                    Limit::Strength => "Deeper, the margin of strength would fall below the one asked for.".into(),
                    Limit::OnePass => format!(
                        "In all {:.2} mm may come off, more than one pass takes: carve this, read the dial, and ask again.",
                        self.allowed_mm
                    ),
                };
                format!(
                    "Carve {:.2} mm{grams}. Chance of going past {high:.3} mm: {}; of landing between {low:.3} and {high:.3} mm: {}. \
                     The dial should then show {dial:.3} mm ({dial_least:.3} to {dial_most:.3} nine times in ten). {why}",
                    self.depth_mm,
                    percent(self.chance_over),
                    percent(self.chance_in_window),
                )
            }
            Kind::Stop(Stop::InWindow) => format!(
                "Stop: it is in {window}. {here}; chance of lying in it: {}. Take nothing more off.",
                percent(self.chance_in_window)
            ),
            Kind::Stop(Stop::ShavingTooSmall { allowed_mm, held_by }) => {
                let what = match held_by {
                    Limit::Target => format!("the target is only {allowed_mm:.2} mm away"),
                    _ => format!(
                        "no more than {allowed_mm:.2} mm may come off within the allowed chance of {}",
                        percent(self.alpha)
                    ),
                };
                format!(
                    "Stop: {what}, thinner than the tool can be trusted with. {here}; chance of lying in {window}: {}. \
                     Leave it; or seat it again and read it once more, or take a finer tool, and ask again.",
                    percent(self.chance_in_window)
                )
            }
            Kind::Stop(Stop::GainBelowLoss { stopping, carving }) => format!(
                "Stop: another pass is expected to cost more ({carving:.3}) than leaving it ({stopping:.3}). {here}; chance of lying \
                 in {window}: {}. Leave it.",
                percent(self.chance_in_window)
            ),
            Kind::Stop(Stop::SafetyFloor) => {
                format!(
                    "Stop: the plan goes no deeper; its end or the smallest safe height is reached. {here}, short of {window}; take \
                     wood elsewhere, or change the goal."
                )
            }
            Kind::Stop(Stop::ReadingInconsistent { reading_mm, expected_mm, sigmas }) => format!(
                "Do not carve: the last reading{} does not go with what was read and taken off before. About {expected_mm:.3} mm was to \
                 be expected; it is {:.1} standard deviations {}. Check the decimal and the load, seat the brace again, read, and \
                 write that down as a reading of its own. If it shows something else, take this one out of the log. If it shows the \
                 same and this is said again, what the log says above it does not hold: measure the heights, and put right the \
                 depth, the shavings or the reading that is wrong there. Only then does it matter how it lies to {window}.",
                reading_mm.map_or(String::new(), |r| format!(", {r:.3} mm,")),
                sigmas.abs(),
                if sigmas > 0.0 { "too soft" } else { "too stiff" }
            ),
            Kind::Stop(Stop::DoesNotFit { what, read, expected, sigmas }) => format!(
                "Do not carve: the {} does not go with the rest. {} was read where about {} was to be expected, {:.1} standard \
                 deviations off. {}",
                what.name(),
                what.figure(read),
                what.figure(expected),
                sigmas.abs(),
                what.remedy()
            ),
            Kind::Stop(Stop::TooDry { rh_percent, low_percent }) => format!(
                "Do not carve today: the shop is at {rh_percent:.0} % relative humidity, below {low_percent:.0} %. Dry wood reads \
                 stiffer than it will be. Bring the shop back, let the wood rest, read again."
            ),
            Kind::Stop(Stop::TooDamp { rh_percent, high_percent }) => format!(
                "Do not carve today: the shop is at {rh_percent:.0} % relative humidity, above {high_percent:.0} %. Damp wood reads \
                 softer than it will be. Bring the shop back, let the wood rest, read again."
            ),
            Kind::Stop(Stop::TooWeak { margin, least_margin }) => format!(
                "Stop: deeper, the wood would be less than {least_margin:.1} times as strong as the bending asks (it is {margin:.1} \
                 times now). {here}, short of {low:.3} mm; take wood elsewhere, or change the goal."
            ),
            Kind::Stop(Stop::CannotReach { chance }) => format!(
                "Stop and think: even the whole depth allowed will hardly reach {window} (chance {}). {here}. Allow more depth or \
                 length, take wood elsewhere, or change the goal.",
                percent(chance)
            ),
            Kind::Stop(Stop::AlreadyPast) => format!(
                "Stop: it is too soft for {window}. {here}; chance of being past {high:.3} mm: {}. Wood cannot be put back: use it where a softer \
                 brace is wanted, stiffen it with a cap or a sister, or change the goal; if the reading is in doubt, seat it again \
                 and read first.",
                percent(self.chance_over)
            ),
        }
    }
}

impl std::fmt::Display for ClosedForm {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            ClosedForm::Carve { depth_mm } => write!(f, "carve no deeper than {depth_mm:.2} mm"),
            ClosedForm::DoNotCarve => write!(f, "do not carve"),
            ClosedForm::OutsideItsRange { q } => write!(f, "the closed form does not hold here (q = {q:.3}); use the draws"),
        }
    }
}

/// A chance as a person says it.
fn percent(chance: f64) -> String {
    match chance {
        c if c < 0.001 => "under 0.1 %".into(),
        c if c < 0.1 => format!("{:.1} %", 100.0 * c),
        c if c > 0.999 => "over 99.9 %".into(),
        c => format!("{:.0} %", 100.0 * c),
    }
}
