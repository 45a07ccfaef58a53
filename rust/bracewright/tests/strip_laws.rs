//! What holds for every strip.
#![allow(clippy::unwrap_used)]

use bracewright::strip::{GluedLoad, LearnedWidth, MarginOptions, PressedOn, Strip, StripSize, WidthReadings};
use bracewright::{Blank, Blend, Brace, CapRise, Profile, Scallop, ScallopShape, Section, Wood};
use proptest::prelude::*;

fn brace(height: f64, floor: f64, at: f64, section: usize) -> Brace {
    ended(height, floor, at, section, 2.5)
}

fn ended(height: f64, floor: f64, at: f64, section: usize, end: f64) -> Brace {
    let wood = Wood::published("Sitka spruce").unwrap();
    let blank = Blank::new(&wood, 380.0, 8.0, 20.0, None).unwrap();
    let scallop =
        |at_mm: f64| Scallop { at_mm, left_mm: 50.0, right_mm: 50.0, depth_mm: height - floor, shape: ScallopShape::Cosine };
    let profile = Profile::straight(380.0, height)
        .unwrap()
        .with_ends(45.0, end, Blend::Cosine)
        .unwrap()
        .with_scallops(&[scallop(at), scallop(380.0 - at)])
        .unwrap();
    let section = [Section::rectangle(), Section::parabolic_cap(CapRise::Mm(4.0)).unwrap(), Section::tapered_sides(0.6).unwrap()]
        [section % 3]
        .clone();
    Brace::new(&blank, &profile, &section).unwrap()
}

fn strip(brace: &Brace, width_mm: f64, grain_angle_deg: f64) -> Strip {
    let top = Wood::published("Engelmann spruce").unwrap();
    Strip::new(brace, &top, StripSize { thickness_mm: 2.7, width_mm, grain_angle_deg, length_mm: None }).unwrap()
}

fn load(at_mm: f64, on: PressedOn) -> GluedLoad {
    GluedLoad { at_mm, load_n: 20.0, pad_mm: 12.0, on }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 12, failure_persistence: None, ..ProptestConfig::default() })]

    /// A plate turned by half a turn is the same plate; the mirrored grain deflects the same under a brace in the middle.
    #[test]
    fn half_a_turn_changes_nothing(height in 10.0..17.0_f64, angle in -90.0..90.0_f64, at in 90.0..139.0_f64, s in 0..3_usize) {
        let b = brace(height, 6.0, at, s);
        let of = |angle: f64| strip(&b, 70.0, angle).bend(&[load(190.0, PressedOn::Top)], &[190.0, 120.0]).unwrap();
        let (one, turned, mirrored) = (of(angle), of(if angle > 0.0 { angle - 180.0 } else { angle + 180.0 }), of(-angle));
        for i in 0..2 {
            prop_assert!((one.deflection_mm[i] / turned.deflection_mm[i] - 1.0).abs() < 1e-9);
            prop_assert!((one.deflection_mm[i] / mirrored.deflection_mm[i] - 1.0).abs() < 1e-7);
        }
    }

    /// Along and across the grain both sides are alike and half is solved: the same as the whole a hair beside it.
    #[test]
    fn half_is_the_whole(height in 10.0..17.0_f64, across in any::<bool>(), s in 0..3_usize) {
        let b = brace(height, 6.0, 120.0, s);
        let angle = if across { 90.0 } else { 0.0 };
        let of = |angle: f64| strip(&b, 70.0, angle).bend(&[load(190.0, PressedOn::Top)], &[190.0, 100.0]).unwrap();
        let (half, whole) = (of(angle), of(angle - 1e-4));
        for i in 0..2 {
            prop_assert!((half.deflection_mm[i] / whole.deflection_mm[i] - 1.0).abs() < 1e-5);
            prop_assert!((half.crest_mpa[i] / whole.crest_mpa[i] - 1.0).abs() < 1e-4);
            prop_assert!((half.top_mpa[i] / whole.top_mpa[i] - 1.0).abs() < 1e-4);
        }
    }

    /// Betti: what a load here does there, the same load there does here; pressing on the crest is pressing back.
    #[test]
    fn loads_answer_each_other(height in 10.0..17.0_f64, x in 60.0..320.0_f64, y in 60.0..320.0_f64) {
        let b = brace(height, 6.0, 120.0, 0);
        let s = strip(&b, 60.0, 40.0);
        // a dial as small as a pad can be
        let small = |x_mm: f64| GluedLoad { pad_mm: 1.0, ..load(x_mm, PressedOn::Top) };
        let at = |from: f64, to: f64| s.bend(&[small(from)], &[to]).unwrap();
        let (one, other) = (at(x, y), at(y, x));
        let error = one.discretisation_mm[0] + other.discretisation_mm[0] + 2e-3 * one.deflection_mm[0].abs();
        prop_assert!((one.deflection_mm[0] - other.deflection_mm[0]).abs() < error);
        let back = s.bend(&[load(x, PressedOn::Crest)], &[y]).unwrap();
        prop_assert!(back.deflection_mm[0] < 0.0);
    }

    /// More plate is stiffer, and with the grain along the brace the whole width in one plane section is stiffer than the strip
    /// solved.
    #[test]
    fn more_plate_is_stiffer(height in 9.0..17.0_f64, angle in -90.0..90.0_f64, width in 40.0..120.0_f64, s in 0..3_usize) {
        let b = brace(height, 6.0, 120.0, s);
        let of = |w: f64| strip(&b, w, angle).bend(&[load(190.0, PressedOn::Top)], &[190.0]).unwrap();
        let (narrow, wide) = (of(width), of(1.3 * width));
        prop_assert!(wide.deflection_mm[0] < narrow.deflection_mm[0]);
        // at a slant the brace also holds the plate against shearing as it is stretched, which a section knows nothing of
        let along = strip(&b, width, 0.0).bend(&[load(190.0, PressedOn::Top)], &[190.0]).unwrap();
        prop_assert!(along.whole_width_deflection_mm[0] < along.deflection_mm[0]);
        prop_assert!(along.effective_width_mm.unwrap() < width);
    }

    /// No pass raises a margin, in bending or of the glue.
    #[test]
    fn no_pass_raises_a_margin(
        height in 9.0..17.0_f64,
        floor in 3.5..8.0_f64,
        take in 0.05..0.4_f64,
        at in 90.0..139.0_f64,
        s in 0..3_usize,
        angle in -90.0..90.0_f64,
    ) {
        let before = ended(height, floor, at, s, 2.5);
        // the same crest lowered by a part of itself, and the scallops deepened
        let after = ended(height * (1.0 - 0.3 * take), floor * (1.0 - take), at, s, 2.5 - 6.2 * take);
        let x = before.stations_mm(40);
        let options = MarginOptions { bending_strength_mpa: Some(65.0), shear_strength_mpa: Some(7.0), ..MarginOptions::default() };
        let loads = [load(175.0, PressedOn::Top), load(230.0, PressedOn::Crest)];
        let of = |b: &Brace| strip(b, 80.0, angle).margins(&loads, &x, &options).unwrap();
        let (one, other) = (of(&before), of(&after));
        for i in 0..x.len() {
            if other.height_mm[i] > one.height_mm[i] + 1e-9 {
                continue;
            }
            prop_assert!(other.bending_margin[i] <= one.bending_margin[i] * (1.0 + 1e-9), "{i} at {}", x[i]);
            prop_assert!(other.glue_margin[i] <= one.glue_margin[i] * (1.0 + 1e-9), "glue {i} at {}", x[i]);
        }
    }

    /// Twice the load is twice the deflection and half the margin.
    #[test]
    fn loads_add(height in 9.0..17.0_f64, f in 5.0..60.0_f64) {
        let s = strip(&brace(height, 6.0, 120.0, 1), 60.0, 50.0);
        let of = |load_n: f64| s.bend(&[GluedLoad { load_n, ..load(190.0, PressedOn::Top) }], &[190.0]).unwrap();
        let (one, two) = (of(f), of(2.0 * f));
        prop_assert!((two.deflection_mm[0] / one.deflection_mm[0] - 2.0).abs() < 1e-9);
        prop_assert!((two.crest_mpa[0] / one.crest_mpa[0] - 2.0).abs() < 1e-9);
    }

    /// A width learned from the transformed section's own deflections, corrected as the bare brace is, is that width: by gluing
    /// without the load, by carving with it. Ten times the scatter leaves ten times the uncertainty.
    #[test]
    fn a_width_is_learned_back(height in 11.0..17.0_f64, width in 25.0..80.0_f64, angle in 0.0..90.0_f64) {
        let wood = Wood::published("Sitka spruce").unwrap();
        let known = |b: &Brace| b.with_blank(&b.blank().with_modulus(wood.modulus_l_gpa(), 0.0).unwrap()).unwrap();
        let (before, after) = (known(&brace(height, 7.0, 120.0, 0)), known(&brace(height, 5.5, 120.0, 0)));
        let (bare, _) = bare(&before);
        let (first, second) = (glued(&before, width, angle), glued(&after, width, angle));
        let s = strip(&before, 100.0, angle);
        let readings = |before_mm: f64, after_mm: f64, u: f64, load_n: Option<f64>| WidthReadings {
            before_mm, after_mm, u_deflection_mm: u * after_mm, at_mm: 190.0, pad_mm: 12.0, load_n, u_load: 0.0,
            give_mm_per_n: 0.0, u_give_mm_per_n: 0.0, plate_spread: Some(0.0),
        };
        let scatter = |l: &LearnedWidth| l.parts.iter().find(|p| p.0 == "readings").unwrap().1;
        let learned = s.width_by_gluing(&readings(bare, first, 1e-4, None)).unwrap();
        let carved = s.width_by_carving(&after, &readings(first, second, 1e-4, Some(20.0))).unwrap();
        for l in [&learned, &carved] {
            // the mean of what lies skew about the width is off it by about the square of its spread
            prop_assert!((l.width_mm / width - 1.0).abs() < 2e-3 + 1.5 * (l.u_used_mm / width).powi(2), "{} {width}", l.width_mm);
            prop_assert!(l.pinned && l.misfit < 0.1 && l.u_used_mm > 0.0 && l.u_used_mm <= 1.05 * l.u_width_mm);
        }
        let coarser = s.width_by_gluing(&readings(bare, first, 1e-3, None)).unwrap();
        prop_assert!((scatter(&coarser) / scatter(&learned) / 10.0 - 1.0).abs() < 0.05);
        // the load and the modulus known, a stick of some other modulus is found out by carving
        let off = s.width_by_carving(&after, &readings(1.4 * first, 1.3 * second, 1e-3, Some(20.0))).unwrap();
        prop_assert!(!off.pinned && off.words.iter().any(|w| w.starts_with("look again")));
        // the ratio alone tells far less of a cut than of gluing
        let ratio = s.width_by_carving(&after, &readings(first, second, 3e-3, None)).unwrap();
        prop_assert!(ratio.u_used_mm > 3.0 * ratio.u_by_gluing_mm.unwrap());
    }
}

/// Readings that cannot be get a sentence, not a width: the wrong way round, equal, lost in the scatter, of a flange wider than the
/// strip. Whatever is said is finite.
#[test]
fn readings_that_cannot_be() {
    let (before, after) = (brace(14.0, 7.0, 120.0, 0), brace(14.0, 6.0, 120.0, 0));
    let s = strip(&before, 60.0, 0.0);
    let (bare, _) = bare(&before);
    let (first, second) = (glued(&before, 40.0, 0.0), glued(&after, 40.0, 0.0));
    let readings = |before_mm: f64, after_mm: f64, u: f64, load_n: Option<f64>| WidthReadings {
        before_mm,
        after_mm,
        u_deflection_mm: u,
        at_mm: 190.0,
        pad_mm: 12.0,
        load_n,
        u_load: 0.0,
        give_mm_per_n: 0.0,
        u_give_mm_per_n: 0.0,
        plate_spread: None,
    };
    let said = |l: &LearnedWidth, words: &str| l.words.iter().any(|w| w.contains(words));
    let finite = |l: &LearnedWidth| {
        let (low, high) = l.interval_mm;
        let all = [l.width_mm, l.u_width_mm, l.u_used_mm, low, high, l.misfit, l.u_by_gluing_mm.unwrap_or(0.0)];
        all.iter().chain(l.parts.iter().map(|p| &p.1)).all(|v| v.is_finite() && *v >= 0.0)
            && low < l.width_mm
            && l.width_mm < high
    };
    for (b, a) in [(first, bare), (bare, bare)] {
        assert!(s.width_by_gluing(&readings(b, a, 0.005, None)).unwrap_err().to_string().contains("deflects less"));
    }
    let turned = s.width_by_carving(&after, &readings(second, first, 1e-3 * (second - first), Some(20.0))).unwrap_err();
    assert!(turned.to_string().contains("deflects more"), "{turned}");
    // equal, or a cut less than the gauge can tell: an answer, and that it says nothing
    let equal = s.width_by_carving(&after, &readings(first, first, second - first, None)).unwrap();
    assert!(finite(&equal) && !equal.pinned && said(&equal, "lost in the gauge's scatter") && said(&equal, "do not pin"));
    for u in [1.0, 3.0, 30.0] {
        let loose = s.width_by_gluing(&readings(bare, first, u * (bare - first), None)).unwrap();
        assert!(finite(&loose) && !loose.pinned && said(&loose, "do not pin"), "{u}: {loose:?}");
    }
    // a width beyond the strip's, and far beyond all that is looked for
    let wide = s.width_by_gluing(&readings(bare, glued(&before, 150.0, 0.0), 1e-4 * first, None)).unwrap();
    assert!(finite(&wide) && said(&wide, "more than the strip's 60 mm"), "{:?}", wide.words);
    for after_mm in [0.02 * first, 0.9999 * bare] {
        let none = s.width_by_gluing(&readings(bare, after_mm, 1e-5, None)).unwrap();
        assert!(finite(&none) && !none.pinned && said(&none, "look again"), "{:?}", none.words);
    }
    let dull = s.width_by_gluing(&readings(bare, first, 1e-6, Some(20.0))).unwrap();
    assert!(finite(&dull));
    let refused = s.sprung(8000.0, bracewright::strip::DishShape::Spherical, 0.0, Some(76.0)).unwrap_err().to_string();
    assert!(refused.contains("flange_mm") && refused.contains("75"), "{refused}");
}

/// Deflection of the bare brace under the load of `load`, mm, and that of its section beam.
fn bare(b: &Brace) -> (f64, f64) {
    use bracewright::{Face, Load, Support};
    let load = Load { x_mm: 190.0, force_n: 20.0, pad_mm: 12.0, face: Face::Body };
    let bend = b.bend(&[load], &[Support::Held { x_mm: 0.0 }, Support::Held { x_mm: 380.0 }], &[190.0], Face::Glue).unwrap();
    (bend.deflection_mm[0], bend.section_deflection_mm[0])
}

/// The same of the transformed section with a flange, as much more as the bare brace deflects more than its section beam.
fn glued(b: &Brace, width: f64, angle: f64) -> f64 {
    let whole = strip(b, width, angle).bend(&[load(190.0, PressedOn::Top)], &[190.0]).unwrap().whole_width_deflection_mm[0];
    let (resolved, section) = bare(b);
    whole * resolved / section
}

/// A brace and its mirror image bear on their linings alike; a couple presses one end and lifts the other; statics by hand.
#[test]
fn ends_bear_what_statics_gives_them() {
    let b = ended(14.0, 6.0, 120.0, 0, 0.0);
    let s = strip(&b, 60.0, 40.0);
    let options = MarginOptions { bending_strength_mpa: Some(65.0), shear_strength_mpa: Some(7.0), ..MarginOptions::default() };
    let of = |loads: &[GluedLoad]| s.margins(loads, &[100.0], &options).unwrap();
    let (near, far) = (of(&[load(40.0, PressedOn::Top)]), of(&[load(340.0, PressedOn::Top)]));
    for (found, by_hand) in
        [(near.end_n.0, 20.0 * 340.0 / 380.0), (near.end_n.1, 20.0 * 40.0 / 380.0), (far.end_n.0, near.end_n.1)]
    {
        assert!((found - by_hand).abs() < 1e-6, "{found} {by_hand}");
    }
    assert!((near.bearing_mpa.0 - near.end_n.0 / (6.0 * 8.0)).abs() < 1e-9);
    let couple = of(&[load(170.0, PressedOn::Top), load(210.0, PressedOn::Crest)]);
    assert!((couple.end_n.0 + couple.end_n.1).abs() < 1e-6 && couple.end_n.0 > 0.0);
    assert_eq!(couple.bearing_mpa.1, 0.0);
    // feathered to nothing, the section still deflects less than the strip
    let bend = s.bend(&[load(190.0, PressedOn::Top)], &[190.0]).unwrap();
    assert!(bend.whole_width_deflection_mm[0] < bend.deflection_mm[0]);
}

/// A wider flange lowers the crest's stress and springs back less of a sprung brace; the estimate given is the estimate.
#[test]
fn a_flange_given_is_the_flange() {
    use bracewright::strip::DishShape;
    let s = strip(&brace(14.0, 6.0, 120.0, 0), 80.0, 50.0);
    let of = |flange_mm| {
        let options = MarginOptions {
            bending_strength_mpa: Some(65.0),
            shear_strength_mpa: Some(7.0),
            flange_mm,
            ..MarginOptions::default()
        };
        s.margins(&[load(190.0, PressedOn::Top)], &[100.0, 120.0, 190.0], &options).unwrap()
    };
    let sprung = |flange_mm| s.sprung(8000.0, DishShape::Spherical, 0.0, flange_mm).unwrap();
    let lag = Some(s.lag_width_mm().unwrap());
    assert_eq!(of(None), of(lag));
    assert_eq!(sprung(None), sprung(lag));
    let (narrow, wide) = (of(Some(30.0)), of(Some(90.0)));
    for i in 0..3 {
        assert!(wide.bending_margin[i] > narrow.bending_margin[i] && wide.lowest_mm[i] < narrow.lowest_mm[i]);
    }
    assert!(sprung(Some(90.0)).spring_back_mm < sprung(Some(30.0)).spring_back_mm);
    assert_eq!(narrow.resolved_mpa, wide.resolved_mpa);
}

/// A lap glued in bears no less than an open one.
#[test]
fn a_glued_lap_bears_what_an_open_one_does() {
    use bracewright::strip::{LapState, half_laps};
    let b = brace(15.0, 7.0, 100.0, 0);
    let laps = half_laps(&b, 190.0, 98.0, 2.5, Some(65.0)).unwrap().laps;
    for side in [bracewright::NotchSide::Crest, bracewright::NotchSide::GlueFace] {
        let of = |state| laps.iter().find(|l| l.side == side && l.state == state).unwrap();
        let (open, tight, capped) = (of(LapState::Open), of(LapState::Tight), of(LapState::Capped));
        assert!(open.opening_n_m <= tight.opening_n_m && open.closing_n_m <= tight.closing_n_m);
        assert!(open.opening_n_m <= capped.opening_n_m && capped.ei_ratio > tight.ei_ratio);
    }
}

#[test]
fn what_cannot_be_is_said() {
    let b = brace(14.0, 6.0, 120.0, 0);
    let top = Wood::published("Sitka spruce").unwrap();
    let size = StripSize { thickness_mm: 2.8, width_mm: 60.0, grain_angle_deg: 0.0, length_mm: None };
    let bad = |size: StripSize| Strip::new(&b, &top, size).unwrap_err().to_string();
    assert!(bad(StripSize { width_mm: 9.0, ..size }).contains("width_mm is 9 mm"));
    assert!(bad(StripSize { thickness_mm: f64::NAN, ..size }).contains("thickness_mm"));
    assert!(bad(StripSize { length_mm: Some(381.0), ..size }).contains("length_mm is 381 mm"));
    let s = Strip::new(&b, &top, size).unwrap();
    assert!(s.bend(&[], &[1.0]).unwrap_err().to_string().contains("load_n is empty"));
    assert!(s.bend(&[load(500.0, PressedOn::Top)], &[1.0]).unwrap_err().to_string().contains("at_mm[0] is 500 mm"));
    assert!(s.bend(&[load(190.0, PressedOn::Top)], &[]).unwrap_err().to_string().contains("read_mm is empty"));
}
