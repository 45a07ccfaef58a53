//! Laws of the pictures: whatever is drawn is well-formed, inside its sheet, legible, and the same every time.
#![allow(clippy::unwrap_used, clippy::expect_used)]

use bracewright::picture::{passes_svg, plate_mode_svg, profile_svg, readings_svg, sensitivity_svg, stiffness_svg, stock_svg};
use bracewright::stock::{StockBlank, StockLimits, best_pairs, grade};
use bracewright::tap::BarePlate;
use bracewright::{
    Blank, Blend, Brace, CapRise, Expected, Goal, HalfLap, NotchSide, PlanOptions, Profile, Rig, ScallopShape, Section,
    Sensitivity, Wood, Working, Zone, plan_passes,
};
use proptest::prelude::*;

/// One element: its name, attributes and the words in it.
struct Element {
    name: String,
    attributes: Vec<(String, String)>,
    words: String,
}

impl Element {
    fn get(&self, name: &str) -> Option<&str> {
        self.attributes.iter().find(|a| a.0 == name).map(|a| a.1.as_str())
    }

    fn number(&self, name: &str) -> f64 {
        self.get(name).unwrap().parse().unwrap()
    }
}

/// Elements of a file, after checking that tags balance, attributes are quoted and every & begins a known entity.
fn parsed(svg: &str) -> Vec<Element> {
    let mut out: Vec<Element> = Vec::new();
    let mut open: Vec<usize> = Vec::new();
    let mut rest = svg;
    let entities = |s: &str| {
        for part in s.split('&').skip(1) {
            assert!(["amp;", "lt;", "gt;", "quot;", "#39;"].iter().any(|e| part.starts_with(e)), "bare & before {part}");
        }
        assert!(!s.chars().any(|c| c.is_control() && c != '\n'), "a control character in {s:?}");
        s.replace("&lt;", "<").replace("&gt;", ">").replace("&quot;", "\"").replace("&#39;", "'").replace("&amp;", "&")
    };
    while let Some(at) = rest.find('<') {
        let words = entities(&rest[..at]);
        if let Some(&i) = open.last() {
            out[i].words.push_str(words.trim_matches('\n'));
        } else {
            assert!(words.trim().is_empty(), "words outside the root: {words:?}");
        }
        let end = at + rest[at..].find('>').expect("a tag that does not end");
        let tag = &rest[at + 1..end];
        rest = &rest[end + 1..];
        if let Some(name) = tag.strip_prefix('/') {
            let i = open.pop().expect("an end without a start");
            assert_eq!(out[i].name, name);
            continue;
        }
        let single = tag.ends_with('/');
        let tag = tag.trim_end_matches('/');
        let (name, mut list) = tag.split_once(' ').unwrap_or((tag, ""));
        let mut attributes: Vec<(String, String)> = Vec::new();
        while let Some((key, more)) = list.trim_start().split_once("=\"") {
            let (value, more) = more.split_once('"').expect("an attribute without its end");
            assert!(attributes.iter().all(|a| a.0 != key), "{key} twice");
            attributes.push((key.into(), entities(value)));
            list = more;
        }
        assert!(list.trim().is_empty(), "left over: {list:?}");
        out.push(Element { name: name.into(), attributes, words: String::new() });
        if !single {
            open.push(out.len() - 1);
        }
    }
    assert!(open.is_empty() && rest.trim().is_empty());
    assert_eq!(out[0].name, "svg");
    out
}

/// Advance widths of the characters from space to ~ in DejaVu Sans 2.37, among the widest of common sans-serifs; its hmtx
/// table, 2048 to the em.
#[rustfmt::skip]
const ADVANCE: [u32; 95] = [
    651, 821, 942, 1716, 1303, 1946, 1597, 563, 799, 799, 1024, 1716, 651, 739, 651, 690, 1303, 1303, 1303,
    1303, 1303, 1303, 1303, 1303, 1303, 1303, 690, 690, 1716, 1716, 1716, 1087, 2048, 1401, 1405, 1430, 1577, 1294,
    1178, 1587, 1540, 604, 604, 1343, 1141, 1767, 1532, 1612, 1235, 1612, 1423, 1300, 1251, 1499, 1401, 2025, 1403,
    1251, 1403, 799, 690, 799, 1716, 1024, 1024, 1255, 1300, 1126, 1300, 1260, 721, 1300, 1298, 569, 569, 1186,
    569, 1995, 1298, 1253, 1300, 1300, 842, 1067, 803, 1298, 1212, 1675, 1212, 1212, 1075, 1303, 690, 1303, 1716,
];

fn long(words: &str, size: f64) -> f64 {
    let em = |c: char| {
        ADVANCE.get((c as usize).wrapping_sub(32)).map_or(if c as u32 > 0x2ff { 1.0 } else { 0.5 }, |w| f64::from(*w) / 2048.0)
    };
    size * words.chars().map(em).sum::<f64>()
}

/// Box of words: left, top, right, bottom.
fn word_box(e: &Element) -> [f64; 4] {
    let (x, y, size) = (e.number("x"), e.number("y"), e.number("font-size"));
    let long = long(&e.words, size);
    let before = match e.get("text-anchor") {
        None => 0.0,
        Some("middle") => 0.5 * long,
        _ => long,
    };
    match e.get("transform") {
        None => [x - before, y - 0.74 * size, x - before + long, y],
        Some(_) => [x - 0.74 * size, y + before - long, x, y + before],
    }
}

/// All that must hold of any sheet.
fn legible(svg: &str) -> Vec<Element> {
    assert!(!svg.contains("NaN") && !svg.contains("inf"), "a value that is not finite");
    let all = parsed(svg);
    let root = &all[0];
    assert_eq!(root.get("role"), Some("img"));
    assert_eq!((all[1].name.as_str(), all[1].words.as_str()), ("title", root.get("aria-label").unwrap()));
    let sheet: Vec<f64> = root.get("viewBox").unwrap().split(' ').map(|v| v.parse().unwrap()).collect();
    let inside = |x: f64, y: f64, what: &str| {
        assert!(x >= 0.0 && x <= sheet[2] && y >= 0.0 && y <= sheet[3], "{what} at {x}, {y} leaves the sheet {sheet:?}");
    };
    let tiles = all.iter().rposition(|e| e.name == "pattern").map_or(0, |i| {
        // what a tile is made of lies outside the sheet on purpose
        i + all[i + 1..]
            .iter()
            .take_while(|e| e.name == "g" || e.get("fill").is_none() && e.get("stroke").is_none() && e.name != "text")
            .count()
    });
    for e in &all[tiles + 1..] {
        match e.name.as_str() {
            "line" => {
                inside(e.number("x1"), e.number("y1"), "line");
                inside(e.number("x2"), e.number("y2"), "line");
            }
            "rect" => {
                inside(e.number("x"), e.number("y"), "rect");
                inside(e.number("x") + e.number("width"), e.number("y") + e.number("height"), "rect");
            }
            "circle" => inside(e.number("cx"), e.number("cy"), "circle"),
            "path" => path(e).iter().for_each(|p| inside(p.0, p.1, "path")),
            "text" => {
                let b = word_box(e);
                inside(b[0], b[1], &e.words);
                inside(b[2], b[3], &e.words);
                assert!(e.number("font-size") >= 19.0, "too small to read: {}", e.words);
            }
            _ => {}
        }
    }
    let words: Vec<([f64; 4], &str)> = all.iter().filter(|e| e.name == "text").map(|e| (word_box(e), e.words.as_str())).collect();
    for (i, (a, s)) in words.iter().enumerate() {
        for (b, t) in &words[i + 1..] {
            let apart = a[2] < b[0] + 1.0 || b[2] < a[0] + 1.0 || a[3] < b[1] + 1.0 || b[3] < a[1] + 1.0;
            assert!(apart, "{s:?} {a:?} lies on {t:?} {b:?}");
        }
    }
    all
}

fn path(e: &Element) -> Vec<(f64, f64)> {
    let d = e.get("d").unwrap();
    let pairs = d.trim_end_matches(" Z").split([' ', 'M', 'L']).filter(|s| !s.is_empty());
    pairs.map(|p| p.split_once(',').unwrap()).map(|(x, y)| (x.parse().unwrap(), y.parse().unwrap())).collect()
}

fn brace_of(length: f64, height: f64, width: f64, depth: f64, cap: f64, end: f64) -> Brace {
    let wood = Wood::published("Sitka spruce").unwrap();
    let blank = Blank::new(&wood, length, width, 1.05 * height, None).unwrap();
    let shape = Profile::straight(length, height)
        .unwrap()
        .with_ends(0.12 * length, end * height, Blend::Cosine)
        .unwrap()
        .with_scallop(0.26 * length, 0.24 * length, depth * height, ScallopShape::Cosine)
        .unwrap()
        .with_scallop(0.70 * length, 0.30 * length, 0.7 * depth * height, ScallopShape::Quintic)
        .unwrap();
    let section = if cap > 0.05 { Section::parabolic_cap(CapRise::Mm(cap * height)).unwrap() } else { Section::rectangle() };
    Brace::new(&blank, &shape, &section).unwrap()
}

fn usual() -> Brace {
    brace_of(420.0, 16.0, 8.0, 0.44, 0.3, 0.19)
}

fn expected(mm: f64, u_mm: f64) -> Expected {
    Expected { deflection_mm: mm, u_mm, budget: vec![], discretisation_mm: 0.0, section_deflection_mm: mm }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(32))]

    #[test]
    fn sides_are_legible(
        length in 60.0..1500.0f64, height in 3.0..40.0f64, width in 3.0..60.0f64, depth in 0.05..0.8f64, cap in 0.0..0.9f64,
        end in 0.0..0.9f64, count in 2usize..80, crowd in 0.6..2.5f64,
    ) {
        let brace = brace_of(length, height, width, depth, cap, end);
        let at: Vec<f64> = (0..count).map(|k| length * (k as f64 / (count - 1) as f64).powf(crowd)).collect();
        let svg = profile_svg(&brace, &at).unwrap();
        legible(&svg);
        prop_assert_eq!(&svg, &profile_svg(&brace, &at).unwrap());
    }

    #[test]
    fn heights_are_drawn_as_many_times_larger_as_said(length in 60.0..1500.0f64, height in 3.0..40.0f64, depth in 0.05..0.8f64) {
        let brace = brace_of(length, height, 8.0, depth, 0.3, 0.2);
        let all = legible(&profile_svg(&brace, &[]).unwrap());
        let said = all.iter().find_map(|e| e.words.strip_prefix("heights drawn ")?.split_once(' ')?.0.parse::<f64>().ok());
        let wood: Vec<Vec<(f64, f64)>> = all.iter().filter(|e| e.name == "path" && e.get("fill") == Some("#c08a4a")).map(path).collect();
        let size = |p: &[(f64, f64)]| {
            let fold = |f: fn(f64, f64) -> f64, v: f64, x: bool| p.iter().map(|q| if x { q.0 } else { q.1 }).fold(v, f);
            (fold(f64::max, -1e9, true) - fold(f64::min, 1e9, true), fold(f64::max, -1e9, false) - fold(f64::min, 1e9, false))
        };
        for (drawn, times) in wood.iter().zip(if let Some(t) = said { vec![1.0, t] } else { vec![1.0] }) {
            let (w, h) = size(drawn);
            // coordinates are written to a hundredth
            prop_assert!((h / height - times * w / length).abs() < 0.03 / height + times * 0.03 / length, "{w} by {h} at {times}");
        }
    }

    #[test]
    fn layers_are_legible(
        length in 100.0..900.0f64, height in 5.0..30.0f64, depth in 0.05..0.7f64, cap in 0.0..0.9f64, end in 0.05..1.0f64,
        step in 0.004..0.6f64, from in 0.0..0.9f64, untouched in any::<bool>(),
    ) {
        let target = brace_of(length, height, 8.0, depth, cap, end);
        let stations_mm = vec![0.0, 0.5 * length, length];
        let zone = Zone { start_mm: from * length, end_mm: (from + 0.1) * length };
        let options = PlanOptions { untouched: if untouched { vec![zone] } else { vec![] }, stations_mm, ..PlanOptions::new(step * height) };
        let plan = plan_passes(&Brace::uncarved(target.blank()), &target, &options).unwrap();
        let svg = passes_svg(&plan, &[]).unwrap();
        let all = legible(&svg);
        prop_assert_eq!(&svg, &passes_svg(&plan, &[]).unwrap());
        if plan.passes.len() <= 8 {
            let rig = Rig::three_point(0.9 * length, 5.0).unwrap();
            let expected = plan.readings(&rig).unwrap();
            let all = legible(&passes_svg(&plan, &expected).unwrap());
            for e in &expected[1..] {
                let dial = format!("{:.3}", e.deflection_mm);
                prop_assert!(all.iter().any(|e| e.words == dial), "{} is missing", dial);
            }
            prop_assert!(passes_svg(&plan, &expected[1..]).is_err());
        }
        if plan.passes.len() <= 24 {
            // every pass has its grams in the table
            for p in &plan.passes {
                let grams = format!("{:.2}", p.grams_left);
                prop_assert!(all.iter().any(|e| e.words == grams), "{} is missing", grams);
            }
        }
    }

    #[test]
    fn readings_are_legible(
        first in 0.05..3.0f64, growth in 0.0..0.3f64, spread in 0.0..0.3f64, n in 1usize..120, low in 0.1..6.0f64, wide in 0.0..0.5f64,
        read in prop::collection::vec((0usize..1000, 0.1..4.0f64, 0.0..0.1f64), 0..6), name in "\\PC{1,120}",
    ) {
        let e: Vec<Expected> = (0..n).map(|k| first * (1.0 + growth * k as f64)).map(|mm| expected(mm, spread * mm)).collect();
        let rig = Rig::three_point(380.0, 20.0).unwrap();
        let goal = rig.named(&name).unwrap_or(rig).between(low, low * (1.0 + wide)).unwrap();
        let read: Vec<_> = read.iter().map(|&(k, mm, u)| (k % n, mm, u)).collect();
        let svg = readings_svg(&e, &goal, &read).unwrap();
        legible(&svg);
        prop_assert_eq!(&svg, &readings_svg(&e, &goal, &read).unwrap());
    }

    #[test]
    fn stiffness_is_legible(
        drawn in prop::collection::vec(0.0..60.0f64, 40), ratio in prop::collection::vec(0.0..1.2f64, 40), length in 50.0..900.0f64,
        discretisation in 0.0..9.0f64,
    ) {
        let x_mm: Vec<f64> = (0..40).map(|k| length * f64::from(k) / 39.0).collect();
        let working_n_m2 = drawn.iter().zip(&ratio).map(|(d, r)| d * r).collect();
        let w = Working { x_mm, drawn_n_m2: drawn, working_n_m2, ratio, discretisation };
        let svg = stiffness_svg(&w).unwrap();
        prop_assert_eq!(svg.contains("careful: "), discretisation > 0.05);
        legible(&svg);
        prop_assert_eq!(&svg, &stiffness_svg(&w).unwrap());
    }

    #[test]
    fn costs_are_legible(lost in prop::collection::vec(-1.0..9.0f64, 2..200), grams in 0.001..0.2f64, length in 60.0..1500.0f64) {
        let brace = brace_of(length, 16.0, 8.0, 0.4, 0.3, 0.2);
        let place_mm = length / lost.len() as f64;
        let x_mm = (0..lost.len()).map(|k| (k as f64 + 0.5) * place_mm).collect();
        let percent_per_gram = lost.iter().map(|v| v / grams).collect();
        let s = Sensitivity { x_mm, place_mm, grams_per_mm: vec![grams; lost.len()], percent_per_mm: lost, percent_per_gram };
        legible(&sensitivity_svg(&s, &brace).unwrap());
    }
}

#[test]
fn what_a_user_writes_is_escaped() {
    let rig = Rig::three_point(380.0, 20.0).unwrap().named("<b> & \"left\" 'right' \u{1}]]>").unwrap();
    let svg = readings_svg(&[expected(1.0, 0.05)], &rig.between(0.9, 1.1).unwrap(), &[]).unwrap();
    assert!(svg.contains("&lt;b&gt; &amp; &quot;left&quot; &#39;right&#39; ]]&gt;"));
    assert!(legible(&svg).iter().any(|e| e.words.contains("<b> & \"left\" 'right'")));
}

#[test]
fn half_laps_are_drawn() {
    let lap = |at_mm, side, glued, cap_mm| HalfLap { at_mm, length_mm: 10.0, depth_mm: 6.0, side, glued, cap_mm };
    let brace = usual();
    let open = brace.profile().with_half_lap(lap(210.0, NotchSide::Crest, false, 0.0)).unwrap();
    let both = open
        .with_half_lap(lap(240.0, NotchSide::GlueFace, true, 0.0))
        .unwrap()
        .with_half_lap(lap(60.0, NotchSide::Crest, true, 1.5))
        .unwrap();
    let count = |p: &Profile| {
        legible(&profile_svg(&brace.with_profile(p).unwrap(), &[]).unwrap()).iter().filter(|e| e.name == "rect").count()
    };
    // in each of the two views: one filling for the glued leg below, filling and strip for the one above
    assert_eq!((count(brace.profile()), count(&open), count(&both)), (0, 0, 6));
}

#[test]
fn a_peak_that_lends_nothing_is_named() {
    let x_mm: Vec<f64> = (0..41).map(|k| 10.0 * f64::from(k)).collect();
    let ratio: Vec<f64> = x_mm.iter().map(|x| if (180.0..=220.0).contains(x) { 0.1 } else { 1.0 }).collect();
    let w = Working {
        drawn_n_m2: vec![10.0; 41],
        working_n_m2: ratio.iter().map(|r| 10.0 * r).collect(),
        x_mm,
        ratio,
        discretisation: 1e-3,
    };
    let all = legible(&stiffness_svg(&w).unwrap());
    assert!(all.iter().any(|e| e.words == "lends next to nothing") && all.iter().any(|e| e.words == "10 % at work"));
}

#[test]
fn refusals_name_what_is_wrong() {
    let brace = usual();
    let text = |r: bracewright::Result<String>| r.unwrap_err().to_string();
    assert!(text(profile_svg(&brace, &[0.0, 500.0])).contains("stations_mm[1] is 500 mm"));
    assert!(text(profile_svg(&brace, &[10.0, 5.0])).contains("stations_mm must increase"));
    assert!(text(profile_svg(&brace, &[f64::NAN])).contains("stations_mm[0]"));
    let goal = Rig::three_point(380.0, 20.0).unwrap().between(1.0, 1.1).unwrap();
    assert!(text(readings_svg(&[], &goal, &[])).contains("expected is empty"));
    assert!(text(readings_svg(&[expected(f64::NAN, 0.1)], &goal, &[])).contains("deflection_mm of expected[0]"));
    assert!(text(readings_svg(&[expected(1.0, 0.1)], &goal, &[(1, 1.0, 0.1)])).contains("step of read[0] is 1"));
    assert!(text(readings_svg(&[expected(1.0, 0.1)], &Goal::mass(10.0, 11.0).unwrap(), &[])).contains("mass"));
    let w = Working {
        x_mm: vec![0.0, 1.0],
        drawn_n_m2: vec![1.0, f64::NAN],
        working_n_m2: vec![1.0, 1.0],
        ratio: vec![1.0, 1.0],
        discretisation: 0.0,
    };
    assert!(text(stiffness_svg(&w)).contains("drawn_n_m2[1]"));
    assert!(text(stiffness_svg(&Working { drawn_n_m2: vec![1.0], ..w.clone() })).contains("drawn_n_m2 has 1"));
    let none = Working { drawn_n_m2: vec![1.0; 2], working_n_m2: vec![0.0; 2], ..w };
    assert!(text(stiffness_svg(&none)).contains("no stiffness"));
    let s = Sensitivity {
        x_mm: vec![100.0, 500.0],
        place_mm: 10.0,
        percent_per_mm: vec![1.0; 2],
        grams_per_mm: vec![1.0; 2],
        percent_per_gram: vec![1.0; 2],
    };
    assert!(text(sensitivity_svg(&s, &brace)).contains("x_mm[1] is 500 mm"));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(32))]

    #[test]
    fn deliveries_are_legible(
        e in prop::collection::vec((6.0..16.0f64, 300.0..520.0f64, 0.0..0.5f64, 0.0..12.0f64), 1..80), lowest in 6.0..14.0f64,
        scale in 0.05..1.0f64,
    ) {
        let blanks: Vec<StockBlank> = e.iter().enumerate().map(|(i, (e, d, u, ud))| StockBlank {
            name: format!("no. {i}"), species: String::new(), lot: String::new(), modulus_gpa: 8.0 + scale * (e - 8.0), u_gpa: *u,
            density_kg_m3: 400.0 + scale * (d - 400.0), u_density_kg_m3: *ud, run_out: None, ring_angle_deg: None,
            loss_factor: None, u_loss_factor: 0.0,
        }).collect();
        let limits = StockLimits { lowest_modulus_gpa: Some(lowest), highest_density_kg_m3: Some(480.0), ..StockLimits::default() };
        let graded = grade(&blanks, &limits).unwrap();
        let kept = graded.iter().filter(|g| g.reasons.is_empty()).count();
        let pairing = (blanks.len() > 1).then(|| best_pairs(&blanks, None, 2.25).unwrap());
        let svg = stock_svg(&blanks, &graded, &limits, pairing.as_ref()).unwrap();
        legible(&svg);
        let said = format!("{kept} of {} blanks are kept", blanks.len());
        prop_assert!(svg.contains(&said));
        prop_assert!(stock_svg(&blanks, &graded[1..], &limits, None).is_err());
        let none = StockLimits { lowest_modulus_gpa: Some(f64::NAN), ..limits };
        prop_assert!(stock_svg(&blanks, &graded, &none, None).unwrap_err().to_string().contains("lowest_modulus_gpa"));
    }
}

/// Nodal lines lie on the plate, meet its edge or close, and are as many as the label says; the sheet is legible.
#[test]
fn plate_modes_are_legible() {
    let wood = Wood::published("Sitka spruce").unwrap();
    let plate = BarePlate::new(&wood, 520.0, 400.0, 3.2, 272.0).unwrap();
    let narrow = plate.with_sides(&[0.0, 520.0], &[0.0, 40.0], &[400.0, 360.0]).unwrap();
    for (plate, label, lines) in
        [(&plate, "1,1", 2), (&plate, "2,0", 2), (&plate, "0,2", 2), (&plate, "2,1", 3), (&narrow, "1,2", 3)]
    {
        let how = plate.how_to_tap(label).unwrap();
        legible(&plate_mode_svg(&how).unwrap());
        assert_eq!(how.nodal_lines_mm.len(), lines, "{label}: {:?}", how.nodal_lines_mm.iter().map(Vec::len).collect::<Vec<_>>());
        for line in &how.nodal_lines_mm {
            assert!(line.iter().all(|p| (-1e-9..=520.0 + 1e-9).contains(&p.0) && (-1e-9..=400.0 + 1e-9).contains(&p.1)));
        }
    }
    // the twist of a rectangle is still on its two middle lines, by symmetry
    let twist = plate.how_to_tap("1,1").unwrap();
    assert!(
        twist
            .nodal_lines_mm
            .iter()
            .all(|l| l.iter().all(|p| (p.0 - 260.0).abs() < 1e-3) || l.iter().all(|p| (p.1 - 200.0).abs() < 1e-3))
    );
    // lines of 2,0 of this plate by the places found along its middle
    let bend = plate.how_to_tap("2,0").unwrap();
    for line in &bend.nodal_lines_mm {
        let close = |n: &(f64, f64)| line.iter().any(|p| (p.0 - n.0).abs() < 0.5 && (p.1 - n.1).abs() < 6.0);
        assert!(bend.node_mm.iter().any(close), "{:?}", bend.node_mm);
    }
}
