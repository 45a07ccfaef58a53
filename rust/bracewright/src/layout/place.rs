//! A brace in its place on the top.

use serde::{Deserialize, Serialize};

use super::geometry::{Bar, Point, along, apart, finite};
use crate::brace::Brace;
use crate::error::{Error, Result, number, within};

/// What a brace is there for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Role {
    /// A leg of an X.
    Leg,
    /// A tone bar.
    ToneBar,
    /// A finger brace.
    Finger,
    /// A transverse (upper) brace.
    Transverse,
    /// A fan.
    Fan,
    /// A closing bar of fans.
    ClosingBar,
    /// Any other.
    Other,
}

impl Role {
    /// Every role.
    pub const ALL: [Role; 7] =
        [Role::Leg, Role::ToneBar, Role::Finger, Role::Transverse, Role::Fan, Role::ClosingBar, Role::Other];

    /// Its word.
    pub fn name(self) -> &'static str {
        match self {
            Role::Leg => "leg",
            Role::ToneBar => "tone-bar",
            Role::Finger => "finger",
            Role::Transverse => "transverse",
            Role::Fan => "fan",
            Role::ClosingBar => "closing-bar",
            Role::Other => "other",
        }
    }

    /// The role of that word.
    pub fn named(name: &str) -> Result<Self> {
        let plain = name.trim().to_lowercase().replace([' ', '_'], "-");
        Self::ALL
            .into_iter()
            .find(|r| r.name() == plain)
            .ok_or_else(|| crate::error::unknown_name("role", name, Self::ALL.map(Role::name)))
    }
}

/// How a brace ends.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "kebab-case", deny_unknown_fields)]
pub enum Ending {
    /// In a pocket of the lining, so deep.
    Tucked {
        /// How far it reaches into the lining, mm.
        pocket_mm: f64,
    },
    /// Run out to nothing just inside the lining.
    Feathered {
        /// From the end to the inner edge of the lining, mm.
        gap_mm: f64,
    },
    /// Stops short, in the open.
    Short {
        /// From the end to the inner edge of the lining along the brace's line, where a line is made from it, mm.
        by_mm: f64,
    },
    /// Let into a notch of another brace.
    LetIn {
        /// The other brace's name.
        into: String,
        /// How far past its side, mm.
        depth_mm: f64,
    },
    /// Cut to the side of another brace and glued to it.
    Butted {
        /// The other brace's name.
        to: String,
    },
}

impl Ending {
    /// Itself, unless a size is out of range.
    pub fn checked(self) -> Result<Self> {
        match &self {
            Ending::Tucked { pocket_mm } => within("pocket_mm", *pocket_mm, "mm", 0.0, 20.0).map(|_| ()),
            Ending::Feathered { gap_mm } => within("gap_mm", *gap_mm, "mm", 0.0, 20.0).map(|_| ()),
            Ending::Short { by_mm } => within("by_mm", *by_mm, "mm", 0.0, 600.0).map(|_| ()),
            Ending::LetIn { depth_mm, .. } => within("depth_mm", *depth_mm, "mm", 0.0, 20.0).map(|_| ()),
            Ending::Butted { .. } => Ok(()),
        }?;
        Ok(self)
    }

    /// In a few words.
    pub fn words(&self) -> String {
        match self {
            Ending::Tucked { pocket_mm } => format!("tucked {} mm", number(*pocket_mm)),
            Ending::Feathered { gap_mm } => format!("feathered {} mm inside the lining", number(*gap_mm)),
            Ending::Short { .. } => "short".into(),
            Ending::LetIn { into, depth_mm } => format!("let {} mm into {into}", number(*depth_mm)),
            Ending::Butted { to } => format!("butted to {to}"),
        }
    }

    /// The brace it ends on.
    pub fn other(&self) -> Option<&str> {
        match self {
            Ending::LetIn { into, .. } => Some(into),
            Ending::Butted { to } => Some(to),
            _ => None,
        }
    }
}

/// A brace on the top: the middle of its glue face runs straight from one place to another.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct PlacedBrace {
    /// What it is called.
    pub name: String,
    /// What it is there for.
    pub role: Role,
    /// Where the middle of its glue face starts, mm.
    pub start_mm: Point,
    /// Where it ends, mm.
    pub end_mm: Point,
    /// How it ends at the start.
    pub at_start: Ending,
    /// How it ends at the end.
    pub at_end: Ending,
    /// Where along the brace the line starts, mm: what is cut off its left end when the brace is longer than its line.
    pub offset_mm: f64,
    /// The brace; x along it runs from start to end.
    pub brace: Brace,
}

/// How much longer than its brace a line may be, mm: less than is read off a rule.
const LONGER_MM: f64 = 0.05;
/// Longest name taken.
pub(super) const LONGEST_NAME: usize = 80;

pub(super) fn check_name(name: &str) -> Result<()> {
    let n = name.chars().count();
    if name.trim().is_empty() || n > LONGEST_NAME || name.chars().any(char::is_control) {
        return Err(Error::BadList {
            name: "name".into(),
            problem: format!("must be 1 to {LONGEST_NAME} characters on one line, but has {n}"),
        });
    }
    Ok(())
}

impl PlacedBrace {
    /// Itself, unless brace and line contradict each other.
    pub fn checked(self) -> Result<Self> {
        check_name(&self.name)?;
        for (which, p) in [("start_mm", self.start_mm), ("end_mm", self.end_mm)] {
            if !finite(p) {
                return Err(Error::Refused(format!("{which} of {} must be two finite numbers in mm", self.name)));
            }
        }
        self.at_start.clone().checked()?;
        self.at_end.clone().checked()?;
        let (line, brace) = (self.length_mm(), self.brace.length_mm());
        if line < 5.0 {
            return Err(self.wrong(format!(
                "the line of {} from start_mm to end_mm is {line:.1} mm long; it must be at least 5 mm",
                self.name
            )));
        }
        crate::error::not_negative("offset_mm", self.offset_mm, "mm")?;
        if self.offset_mm + line > brace + LONGER_MM {
            let from =
                if self.offset_mm > 0.0 { format!(" from offset_mm {} mm on", number(self.offset_mm)) } else { String::new() };
            return Err(self.wrong(format!(
                "the line of {} from start_mm to end_mm is {line:.1} mm long{from}, but the brace {brace:.1} mm; the brace must be as long as its line",
                self.name
            )));
        }
        if !self.brace.profile().half_laps().is_empty() {
            return Err(self.wrong(format!(
                "the profile of {} has a half-lap of its own; leave it out, laps on a top are those of its crossings",
                self.name
            )));
        }
        Ok(self)
    }

    fn wrong(&self, problem: String) -> Error {
        let m = self.bar().middle();
        Error::AtPlace { problem, x_mm: m.0, y_mm: m.1 }
    }

    /// Width at the glue face, mm.
    pub fn width_mm(&self) -> f64 {
        self.brace.width_mm()
    }

    /// Length of the line, mm.
    pub fn length_mm(&self) -> f64 {
        apart(self.start_mm, self.end_mm)
    }

    /// Angle of the line from the centreline, degrees: 0 towards the tail, 90 towards +x.
    pub fn angle_deg(&self) -> f64 {
        (self.end_mm.0 - self.start_mm.0).atan2(self.end_mm.1 - self.start_mm.1).to_degrees()
    }

    /// Place on the top of the glue line so far from its start, mm.
    pub fn at(&self, along_mm: f64) -> Point {
        along(self.start_mm, self.bar().way(), along_mm)
    }

    /// The four corners of the glue face, mm.
    pub fn corners_mm(&self) -> [Point; 4] {
        self.bar().corners()
    }

    /// Height of the crest above the glue face so far from the start of the line, mm.
    pub fn height_mm(&self, along_mm: f64) -> f64 {
        self.brace.profile().crest().at((self.offset_mm + along_mm).clamp(0.0, self.brace.length_mm()))
    }

    pub(crate) fn bar(&self) -> Bar {
        Bar { from: self.start_mm, to: self.end_mm, half: 0.5 * self.width_mm() }
    }

    /// Mass of what is on the top, g.
    pub fn mass_g(&self) -> Result<f64> {
        let from = self.offset_mm.min(self.brace.length_mm());
        self.brace.mass_between_g(from, (from + self.length_mm()).min(self.brace.length_mm()))
    }
}
