//! A plan of passes, each a cut.

use serde::{Deserialize, Serialize};

use super::side::{self, Side};
use super::tool::rolled;
use crate::brace::Brace;
use crate::error::{Error, Result, number, positive, within};
use crate::mechanics::pieces::Pieces;
use crate::rig::{Expected, Rig};
use crate::section::Section;

/// A stretch of the brace, mm from the left end.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Zone {
    /// From.
    pub start_mm: f64,
    /// To.
    pub end_mm: f64,
}

/// What a plan respects.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PlanOptions {
    /// Deepest cut of one pass, mm.
    pub max_depth_mm: f64,
    /// Radius of the gouge or drum, mm: hollows tighter than that are left as the tool leaves them.
    pub gouge_radius_mm: Option<f64>,
    /// No pass goes below this height between the end ramps of the target, mm.
    pub smallest_safe_height_mm: Option<f64>,
    /// Stretches that no pass touches.
    pub untouched: Vec<Zone>,
    /// Which side of the middle is carved, or both alike.
    #[serde(default)]
    pub side: Side,
    /// The middle that `side` is about, mm from the left end; that of the brace when `None`.
    #[serde(default)]
    pub middle_mm: Option<f64>,
    /// Stations of the tables, mm; evenly spaced when empty.
    pub stations_mm: Vec<f64>,
}

impl PlanOptions {
    /// Only a deepest cut.
    pub fn new(max_depth_mm: f64) -> Self {
        Self {
            max_depth_mm,
            gouge_radius_mm: None,
            smallest_safe_height_mm: None,
            untouched: vec![],
            side: Side::Both,
            middle_mm: None,
            stations_mm: vec![],
        }
    }
}

/// One station of a pass.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct PassStation {
    /// Where, mm.
    pub x_mm: f64,
    /// Height before, mm.
    pub before_mm: f64,
    /// Height after, mm.
    pub after_mm: f64,
    /// Depth to take off, mm.
    pub depth_mm: f64,
    /// EI of the drawing after over before.
    pub ei_left: f64,
}

/// One pass.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Pass {
    /// What is done, in a few words.
    pub what: String,
    /// Table along the brace.
    pub stations: Vec<PassStation>,
    /// The stretch from the first to the last place cut, mm; `None` for a pass that only works the cap.
    pub cut_mm: Option<Zone>,
    /// The stretches where more than a shaving (0.02 mm) comes off, from left to right; empty for a pass that only works the cap.
    #[serde(default)]
    pub stretches_mm: Vec<Zone>,
    /// Deepest cut, mm.
    pub deepest_mm: f64,
    /// Height at the lowest place between the end ramps of the target after it, mm: the floor as it then stands.
    #[serde(default)]
    pub floor_mm: f64,
    /// Grams this pass takes off.
    pub grams_off: f64,
    /// Grams left after it.
    pub grams_left: f64,
    /// Brace after the pass.
    pub after: Brace,
}

/// The plan.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Plan {
    /// The brace as it stands.
    pub start: Brace,
    /// What it becomes: the target, as far as tool, floor and untouched stretches allow.
    pub end: Brace,
    /// The target as asked for.
    pub target: Brace,
    /// The passes in order.
    pub passes: Vec<Pass>,
    /// What kept the end from the target, in words.
    pub notes: Vec<String>,
    /// The options it was made with.
    pub options: PlanOptions,
}

/// Stations of a pass table unless others are given.
pub const USUAL_STATIONS: usize = 22;
/// Most stations of a table of marks, but for those of scallops.
const MOST_MARKS: f64 = 24.0;
/// Marks closer than this are one, mm.
const CLOSEST_MARKS_MM: f64 = 1.0;

/// Most passes of a plan: beyond it the deepest cut is too small to be meant.
pub const MOST_PASSES: usize = 400;

/// Thinnest layer that counts as a cut, mm.
const THIN_MM: f64 = 1e-7;

/// From what is there to a target inside it: the cap first (a section change on the height as it stands), then layers of
/// at most the deepest cut, the section kept.
pub fn plan_passes(start: &Brace, target: &Brace, options: &PlanOptions) -> Result<Plan> {
    positive("max_depth_mm", options.max_depth_mm, "mm")?;
    let l = start.length_mm();
    for z in &options.untouched {
        within("start_mm of an untouched zone", z.start_mm, "mm", 0.0, l)?;
        within("end_mm of an untouched zone", z.end_mm, "mm", 0.0, l)?;
        if z.end_mm <= z.start_mm {
            return Err(Error::Refused(format!(
                "an untouched zone runs from {} to {} mm; it must end after it starts",
                number(z.start_mm),
                number(z.end_mm)
            )));
        }
    }
    if !options.stations_mm.is_empty() {
        crate::error::increasing("stations_mm", &options.stations_mm, "mm", 2)?;
        start.profile().on_brace("stations_mm", &options.stations_mm)?;
    }
    let middle = side::middle(options.side, options.middle_mm, l)?;
    let target = target.with_blank(start.blank())?;
    inside(start, &target)?;
    let works_section = start.section() != target.section() || start.width_mm() != target.width_mm();
    if works_section && matches!(options.side, Side::Left | Side::Right) {
        return Err(Error::Refused(format!(
            "side is {:?}, but the target also {}, which runs the whole length; plan that first, with side \"both\" and the height as it stands, and carve one side from there",
            options.side.name(),
            if start.section() == target.section() {
                "narrows the sides".into()
            } else {
                format!("works the {}", target.section().name())
            }
        )));
    }
    let mut notes = Vec::new();
    let end_crest = side::carved(
        start.profile().crest(),
        reachable(start, &target, options, middle, &mut notes)?,
        options.side,
        middle,
        &mut notes,
    );
    let carved = start.with_section(target.section())?.with_width_mm(target.width_mm())?;
    let end = carved.with_crest(end_crest.clone());

    let stations = if options.stations_mm.is_empty() { marks(start, &target) } else { options.stations_mm.clone() };
    let mut passes = Vec::new();
    let body = target.profile().body_mm();
    let mut now = start.clone();
    if works_section {
        let what = if start.section() == target.section() {
            format!("narrow the sides to {} mm", number(target.width_mm()))
        } else {
            format!("work the {} on the height as it stands", target.section().name())
        };
        passes.push(pass(what, &now, carved.clone(), &stations, body)?);
        now = carved;
    }
    let (_, deepest) = start.profile().crest().combined(&end_crest, 1.0, -1.0).extremes(0.0, l);
    let count = (deepest.1 / options.max_depth_mm - 1e-9).ceil().max(0.0);
    if count > MOST_PASSES as f64 {
        return Err(Error::OutOfRange {
            quantity: "max_depth_mm".into(),
            value: options.max_depth_mm,
            unit: "mm",
            allowed: format!(
                "at least {} mm, so that {} mm come off in at most {MOST_PASSES} passes",
                number(deepest.1 / MOST_PASSES as f64),
                number(deepest.1)
            ),
        });
    }
    for k in 1..=count as usize {
        // each layer counted from the start, so that passes add up to the whole without drift
        let crest = if k == count as usize {
            end_crest.clone()
        } else {
            layer(start.profile().crest(), &end_crest, k as f64 * options.max_depth_mm)
        };
        let next = now.with_crest(crest);
        // numbered as they stand in the plan: the cap, where there is one, is the first
        passes.push(pass(format!("pass {}", passes.len() + 1), &now, next.clone(), &stations, body)?);
        now = next;
    }
    Ok(Plan { start: start.clone(), end, target, passes, notes, options: options.clone() })
}

/// Stations a rule has a mark for, every 20 mm on a usual leg, and the deepest place of each scallop.
fn marks(start: &Brace, target: &Brace) -> Vec<f64> {
    let l = start.length_mm();
    let step = [10.0, 20.0, 50.0, 100.0].into_iter().find(|s| l / s <= MOST_MARKS).unwrap_or(l / MOST_MARKS);
    let mut x: Vec<f64> = (0..=(l / step) as usize).map(|k| step * k as f64).collect();
    x.extend(target.profile().scallops().iter().map(|s| s.at_mm).filter(|a| *a > 0.0 && *a < l));
    x.push(l);
    x.sort_by(f64::total_cmp);
    x.dedup_by(|b, a| *b - *a < CLOSEST_MARKS_MM);
    if let Some(last) = x.last_mut() {
        *last = l;
    }
    x
}

/// The crest after `depth` has come off `start`, nowhere below `end`.
fn layer(start: &Pieces, end: &Pieces, depth: f64) -> Pieces {
    start.plus(-depth).max(end)
}

/// Error unless the target lies inside what is there.
fn inside(start: &Brace, target: &Brace) -> Result<()> {
    let l = start.length_mm();
    if (target.length_mm() - l).abs() > 1e-6 {
        return Err(Error::Refused(format!(
            "the target is {} mm long and the brace {} mm; they must be the same",
            number(target.length_mm()),
            number(l)
        )));
    }
    let over = target.profile().crest().combined(start.profile().crest(), 1.0, -1.0).extremes(0.0, l).1;
    if over.1 > crate::brace::ABOVE_BLANK_MM {
        return Err(Error::Refused(format!(
            "the target stands {} mm above what is there at x = {} mm; a cut only takes wood away",
            number((over.1 * 1e4).round() / 1e4),
            number((over.0 * 10.0).round() / 10.0)
        )));
    }
    if target.width_mm() > start.width_mm() + 1e-9 {
        return Err(Error::OutOfRange {
            quantity: "width_mm of the target".into(),
            value: target.width_mm(),
            unit: "mm",
            allowed: format!("at most what is there, {} mm", number(start.width_mm())),
        });
    }
    if target.width_mm() == start.width_mm()
        && !start.section().contains(target.section(), start.profile().crest().extremes(0.0, l).1.1, start.width_mm())?
    {
        return Err(Error::Refused(format!(
            "the target's {} does not lie inside the {} that is there; a cut only takes wood away",
            target.section().name(),
            start.section().name()
        )));
    }
    if target.profile().half_laps() != start.profile().half_laps() {
        return Err(Error::Refused(
            "the half-laps of the target differ from those that are there; cut them first, then plan the passes".into(),
        ));
    }
    Ok(())
}

/// The target as far as tool, floor and untouched stretches allow.
fn reachable(start: &Brace, target: &Brace, o: &PlanOptions, middle: f64, notes: &mut Vec<String>) -> Result<Pieces> {
    let l = start.length_mm();
    let have = start.profile().crest();
    let mut crest = target.profile().crest().min(have);
    if o.side == Side::Symmetric {
        // before the tool: two halves laid over each other meet in hollows of their own
        crest = side::higher_half(&crest, middle).min(have);
    }
    if let Some(r) = o.gouge_radius_mm {
        within("gouge_radius_mm", r, "mm", 0.1, 1e5)?;
        let wanted = if o.side == Side::Symmetric { target.with_crest(crest.clone()) } else { target.clone() };
        let checks = wanted.profile().checks(Some(r), None, None)?;
        if let Some((tightest, x)) = checks.tightest_hollow_mm.filter(|t| t.0 < r) {
            let (a, b) = target.profile().body_mm();
            crest = rolled(&crest, r, a, b)?.max(&crest).min(have);
            notes.push(format!(
                "a tool of {} mm radius does not fit the hollow of {:.0} mm at x = {:.0} mm; the plan leaves what it cannot reach",
                number(r),
                tightest,
                x
            ));
        }
    }
    if let Some(floor) = o.smallest_safe_height_mm {
        positive("smallest_safe_height_mm", floor, "mm")?;
        let (a, b) = target.profile().body_mm();
        let low = crest.extremes(a, b).0;
        if low.1 < floor {
            notes.push(format!(
                "the target goes down to {:.2} mm at x = {:.0} mm; the plan stops at the smallest safe height of {} mm",
                low.1,
                low.0,
                number(floor)
            ));
            let least = step(l, a, b, floor);
            crest = crest.max(&least).min(have);
        }
    }
    for z in &o.untouched {
        let keep = step(l, z.start_mm, z.end_mm, crate::profile::TALLEST_MM).min(have);
        let raised = crest.max(&keep);
        if raised.combined(&crest, 1.0, -1.0).extremes(z.start_mm, z.end_mm).1.1 > THIN_MM {
            notes.push(format!("nothing is taken between {} and {} mm, as asked", number(z.start_mm), number(z.end_mm)));
        }
        crest = raised;
    }
    Ok(crest)
}

/// A height between a and b, nothing elsewhere.
fn step(l: f64, a: f64, b: f64, height: f64) -> Pieces {
    let (mut at, mut v) = (vec![0.0], Vec::new());
    for (x, h) in [(a, 0.0), (b, height), (l, 0.0)] {
        if x > at[at.len() - 1] + 1e-9 {
            at.push(x);
            v.push(crate::mechanics::pieces::Poly::new(&[h]));
        }
    }
    Pieces::new(at, v)
}

fn pass(what: String, before: &Brace, after: Brace, stations: &[f64], body: (f64, f64)) -> Result<Pass> {
    let (a, b) = (before.along(stations)?, after.along(stations)?);
    let taken = before.profile().crest().combined(after.profile().crest(), 1.0, -1.0);
    let deepest = deepest_cut(&taken);
    let table = (0..stations.len())
        .map(|i| PassStation {
            x_mm: stations[i],
            before_mm: a.height_mm[i],
            after_mm: b.height_mm[i],
            depth_mm: (a.height_mm[i] - b.height_mm[i]).max(0.0),
            ei_left: if a.ei_n_m2[i] > 0.0 { (b.ei_n_m2[i] / a.ei_n_m2[i]).min(1.0) } else { 1.0 },
        })
        .collect();
    let grams_left = after.mass_g()?;
    Ok(Pass {
        what,
        stations: table,
        cut_mm: cut_zone(&taken),
        stretches_mm: stretches(&taken),
        deepest_mm: deepest,
        floor_mm: after.profile().crest().extremes(body.0, body.1).0.1,
        grams_off: before.mass_g()? - grams_left,
        grams_left,
        after,
    })
}

/// Stretches shorter than this are left by the search for crossings, not by a tool, mm.
const SLIVER_MM: f64 = 1e-5;

/// Deepest cut over stretches that a tool could make.
fn deepest_cut(taken: &Pieces) -> f64 {
    let b = taken.breaks();
    (0..b.len() - 1).filter(|&i| b[i + 1] - b[i] > SLIVER_MM).map(|i| taken.extremes_of_piece(i).1.1).fold(0.0, f64::max)
}

/// What is less than this is not spoken of as cut, mm: no edge tool takes it on purpose (common practice, no source).
pub const SHAVING_MM: f64 = 0.02;
/// Steps of the search for the ends of a stretch, mm.
const SEEK_MM: f64 = 0.5;

/// Stretches where more than a shaving comes off.
fn stretches(taken: &Pieces) -> Vec<Zone> {
    let b = taken.breaks();
    let mut out: Vec<Zone> = Vec::new();
    for w in b.windows(2).filter(|w| w[1] - w[0] > SLIVER_MM) {
        let n = ((w[1] - w[0]) / SEEK_MM).ceil().max(1.0) as usize;
        let step = (w[1] - w[0]) / n as f64;
        // the middle of a step lies in this piece, whatever jumps at its ends
        for k in 0..n {
            let (from, to) = (w[0] + step * k as f64, w[0] + step * (k + 1) as f64);
            if taken.at(0.5 * (from + to)) <= SHAVING_MM {
                continue;
            }
            match out.last_mut().filter(|z| from - z.end_mm < SEEK_MM) {
                Some(z) => z.end_mm = to,
                None => out.push(Zone { start_mm: from, end_mm: to }),
            }
        }
    }
    out
}

/// First to last place where something comes off.
fn cut_zone(taken: &Pieces) -> Option<Zone> {
    let b = taken.breaks();
    let cut = |i: usize| b[i + 1] - b[i] > SLIVER_MM && taken.extremes_of_piece(i).1.1 > THIN_MM;
    let first = (0..b.len() - 1).find(|&i| cut(i))?;
    let last = (0..b.len() - 1).rev().find(|&i| cut(i))?;
    Some(Zone { start_mm: b[first], end_mm: b[last + 1] })
}

impl Pass {
    /// Where it takes wood, as a person writes it: "0-46, 63-157 mm"; the whole length for a pass that works the cap or sides.
    pub fn places(&self) -> String {
        if self.cut_mm.is_none() {
            return "whole length".into();
        }
        if self.stretches_mm.is_empty() {
            return "a trace".into();
        }
        let one = |z: &Zone| format!("{:.0}-{:.0}", z.start_mm, z.end_mm);
        format!("{} mm", self.stretches_mm.iter().map(one).collect::<Vec<_>>().join(", "))
    }
}

impl Plan {
    /// The reading to expect as it stands and after each pass, with its band.
    pub fn readings(&self, rig: &Rig) -> Result<Vec<Expected>> {
        std::iter::once(&self.start).chain(self.passes.iter().map(|p| &p.after)).map(|b| rig.expected(b)).collect()
    }

    /// The brace after `depth_mm` of the layers has come off (the cap is worked first).
    pub fn at_depth(&self, depth_mm: f64) -> Result<Brace> {
        crate::error::not_negative("depth_mm", depth_mm, "mm")?;
        let carved = self.carved();
        let crest = layer(self.start.profile().crest(), self.end.profile().crest(), depth_mm);
        Ok(carved.with_crest(crest))
    }

    fn carved(&self) -> Brace {
        self.end.with_crest(self.start.profile().crest().clone())
    }

    /// Whole depth of the layers where it is greatest, mm.
    pub fn whole_depth_mm(&self) -> f64 {
        let l = self.start.length_mm();
        self.start.profile().crest().combined(self.end.profile().crest(), 1.0, -1.0).extremes(0.0, l).1.1.max(0.0)
    }

    /// Grams of the whole plan.
    pub fn grams_off(&self) -> f64 {
        self.passes.iter().map(|p| p.grams_off).sum()
    }

    /// True when a section change is part of it and has to be cut before the layers.
    pub fn works_section(&self) -> bool {
        self.start.section() != self.end.section() || self.start.width_mm() != self.end.width_mm()
    }

    /// The section the layers keep.
    pub fn section(&self) -> &Section {
        self.end.section()
    }
}
