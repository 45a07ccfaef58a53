//! Laws of reading and writing: one quantity in any spelling, tables that come back as they went, and words for whatever is wrong.

#![allow(clippy::unwrap_used)]

use bracewright::json::{check_schema, read, read_value, write};
use bracewright::table::*;
use bracewright::units::*;
use proptest::prelude::*;
use std::path::Path;

fn data(name: &str) -> Table {
    Table::read_path(Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data").join(name)).unwrap()
}

fn close(a: f64, b: f64) -> bool {
    (a - b).abs() <= 1e-12 * a.abs().max(b.abs()).max(1.0)
}

fn all_close(a: &[f64], b: &[f64]) -> bool {
    a.len() == b.len() && a.iter().zip(b).all(|(a, b)| close(*a, *b))
}

proptest! {
    #[test]
    fn a_length_is_the_same_in_every_spelling(marks in 1i64..4000) {
        let mm = marks as f64 / 64.0 * 25.4;
        let (feet, inches, whole, top) = (marks / 768, marks % 768, marks / 64, marks % 64);
        let decimal = marks as f64 / 64.0;
        let spellings = [
            format!("{marks}/64 in"), format!("{whole} {top}/64 inch"), format!("{whole}-{top}/64\""), format!("{whole} {top}⁄64 ″"),
            format!("{feet}' {} {}/64\"", inches / 64, inches % 64), format!("{feet} ft {} in", inches as f64 / 64.0),
            format!("{decimal} in."), format!("{decimal:e} Inches"), format!("{mm}mm"), format!(" +{} cm ", mm / 10.0),
            format!("{} m", mm / 1000.0), format!("{mm:.9} mm").replace('.', ","), format!("{} thou", decimal * 1000.0),
        ];
        for s in &spellings {
            let found = parse_length_mm(s, None).unwrap();
            prop_assert!(close(found, mm), "{s}: {found} against {mm}");
            prop_assert!(close(parse_length_mm(&format!("-{}", s.trim().trim_start_matches('+')), None).unwrap(), -mm), "-{s}");
        }
    }

    #[test]
    fn a_force_is_the_same_in_every_spelling(newtons in 0.01f64..500.0) {
        let (kg, lbf) = (newtons / 9.80665, newtons / 4.4482216152605);
        let spellings = [
            format!("{newtons} N"), format!("{newtons:.12}n").replace('.', ","), format!("{kg} kg"), format!("{kg} kgf"), format!("{} g", kg * 1000.0),
            format!("{lbf} lbf"), format!("{lbf} lb"), format!("{} oz", lbf * 16.0), format!("{} lb {} oz", lbf.floor(), lbf.fract() * 16.0),
        ];
        for s in &spellings {
            let found = parse_force_n(s, None).unwrap();
            prop_assert!(close(found, newtons), "{s}: {found} against {newtons}");
        }
    }

    #[test]
    fn parsing_ends_in_a_finite_number_or_words(text in any::<String>(), near in "[-+]?[0-9]{0,4}[ ,./'e-]{0,2}[0-9]{0,3}[ /]?[0-9]{0,2} ?(mm|in|\"|'|kg|lb|F|½|%)?") {
        for s in [text, near] {
            for default in [None, Some("mm")] {
                if let Ok(v) = parse_length_mm(&s, default) { prop_assert!(v.is_finite()) }
            }
            for v in [parse_force_n(&s, None), parse_temperature_c(&s, None), parse_percent(&s, None)].into_iter().flatten() {
                prop_assert!(v.is_finite());
            }
        }
    }

    #[test]
    fn sixty_fourths_stay_near_and_never_below(mm in -5000.0f64..5000.0) {
        let near = inches_64(mm, Rounding::Nearest).unwrap();
        prop_assert!(near.error_mm.abs() <= 25.4 / 128.0 + 1e-9);
        let up = inches_64(mm, Rounding::Up).unwrap();
        prop_assert!(up.error_mm >= -1e-9 && up.error_mm < 25.4 / 64.0);
        for r in [near, up] {
            prop_assert!(close(r.value_mm - r.error_mm, mm));
            prop_assert_eq!(parse_length_mm(&r.text, Some("in")).unwrap(), r.value_mm);
            prop_assert_eq!(inches_64(r.value_mm, Rounding::Up).unwrap().text, r.text);
        }
    }

    #[test]
    fn reading_any_bytes_ends_in_a_table_or_words(bytes in prop::collection::vec(any::<u8>(), 0..200), text in "[x_m;,\t\"#\r\n0-9.]{0,80}", any in any::<String>()) {
        let _ = Table::read_bytes("bytes", &bytes);
        for s in [text, any] {
            let _ = (read_stations("text", &s), read_readings("text", &s), read_value("text", &s, "bracewright/x", 1));
            if let Ok(table) = Table::read_str("text", &s) {
                for name in table.column_names() {
                    if let Ok(v) = table.numbers(name) { prop_assert!(v.iter().all(|v| v.is_finite())) }
                }
                prop_assert!(table.rows().all(|row| row.cells().count() == table.columns().len()));
            }
        }
    }

    #[test]
    fn a_table_comes_back_to_the_last_bit(
        rows in prop::collection::vec((any::<f64>(), prop::option::of(any::<f64>()), "[^\r\n]{0,12}"), 1..12),
        decimal_comma in any::<bool>(),
    ) {
        let keep = |v: f64| if v.is_finite() { v } else { 0.1 };
        let x: Vec<f64> = rows.iter().map(|r| keep(r.0)).collect();
        let h: Vec<Option<f64>> = rows.iter().map(|r| r.1.map(keep)).collect();
        let t: Vec<String> = rows.iter().map(|r| r.2.trim().to_string()).collect();
        let columns = [("note", Cells::Texts(t.clone())), ("x_mm", Cells::Numbers(x.clone())), ("ei_n_m2", Cells::Optional(h.clone()))];
        let text = write_csv(&columns, decimal_comma).unwrap();
        let table = Table::read_str("text", &text).unwrap();
        let bits = |v: &[f64]| v.iter().map(|v| v.to_bits()).collect::<Vec<_>>();
        prop_assert_eq!(table.column_names(), vec!["note", "x_mm", "ei_n_m2"]);
        prop_assert_eq!(bits(&table.numbers("x_mm").unwrap()), bits(&x));
        prop_assert_eq!(table.optional_numbers("ei_n_m2").unwrap(), h);
        prop_assert_eq!(table.texts("note").unwrap(), t);
    }

    #[test]
    fn lines_are_counted_through_comments_blanks_and_endings(gaps in prop::collection::vec(0usize..3, 2..8), crlf in any::<bool>()) {
        let (end, mut text, mut line, mut expected) = (if crlf { "\r\n" } else { "\n" }, String::new(), 1u64, vec![]);
        for (i, gap) in gaps.iter().enumerate() {
            for k in 0..*gap {
                text += ["# a remark, \"quoted", "", ";;"][(i + k) % 3];
                text += end;
                line += 1;
            }
            text += &if i == 0 { "x_mm;height_mm".to_string() } else { expected.push(line); format!("{i};1") };
            text += end;
            line += 1;
        }
        let table = Table::read_str("text", &text).unwrap();
        prop_assert_eq!(table.rows().map(|r| r.line()).collect::<Vec<_>>(), expected);
    }
}

#[test]
fn inches_between_semicolons_are_millimetres_between_commas() {
    let (a, b) = (data("stations_mm.csv"), data("stations_in.csv"));
    assert_eq!(a.column_names(), b.column_names());
    assert_eq!(a.texts("note").unwrap(), b.texts("note").unwrap());
    let (a, b) = (Stations::from_table(&a).unwrap(), Stations::from_table(&b).unwrap());
    assert!(all_close(&a.x_mm, &b.x_mm) && all_close(&a.height_mm, &b.height_mm));
    assert!(all_close(&a.width_mm.unwrap(), &b.width_mm.unwrap()));
    assert_eq!(a.height_mm, [6.35, 12.7, 9.525, 15.875]);
}

#[test]
fn readings_group_whatever_the_unit_of_the_load() {
    let (a, b) =
        (ReadingRow::from_table(&data("readings_kg.csv")).unwrap(), ReadingRow::from_table(&data("readings_lbf.csv")).unwrap());
    let (a, b) = (group_readings(&a), group_readings(&b));
    assert_eq!(a.len(), 2);
    for (a, b) in a.iter().zip(&b) {
        assert!(close(a.load_n, b.load_n) && close(a.span_mm.unwrap(), b.span_mm.unwrap()));
        assert_eq!(a.seats.len(), b.seats.len());
    }
    assert!(close(a[1].load_n, 19.6133));
    assert_eq!(a[1].seats[0].deflections_mm, [0.858, 0.862]);
    // By hand: seats 0.860 and 0.870; within the first, deviations of 0.002 with one degree of freedom.
    assert!(close(a[1].mean_mm(), 0.865));
    assert!(close(a[1].repeat_sd_mm().unwrap(), 0.002 * 2f64.sqrt()));
    assert!(close(a[1].seat_sd_mm().unwrap(), 0.005 * 2f64.sqrt()));
    assert_eq!((a[0].repeat_sd_mm(), a[0].seat_sd_mm()), (None, None));
}

#[test]
fn headings_in_any_form() {
    for (text, name) in [
        ("height_mm", "height_mm"),
        ("Height [in]", "height_mm"),
        ("height (\")", "height_mm"),
        ("Height in mm", "height_mm"),
        ("height_in", "height_mm"),
        ("deflection_mm", "deflection_mm"),
        ("load_lbf", "load_n"),
        ("Load (kg)", "load_n"),
        ("load/N", "load_n"),
        ("mass (g)", "mass_g"),
        ("mass removed, lb", "mass_removed_g"),
        ("rh_percent", "rh_percent"),
        ("RH %", "rh_percent"),
        ("rh%", "rh_percent"),
        ("modulus_MPa", "modulus_gpa"),
        ("bending strength (psi)", "bending_strength_mpa"),
        ("density kg/m³", "density_kg_m3"),
        ("density_lb_ft3", "density_kg_m3"),
        ("f1_hz", "f1_hz"),
        ("temperature_f", "temperature_c"),
        ("Temp (°F)", "temp_c"),
        ("section_c", "section_c"),
        ("ei_n_m2", "ei_n_m2"),
        ("EI (N·m²)", "ei_n_m2"),
        ("support_n_per_mm", "support_n_per_mm"),
        ("moment_n_mm", "moment_n_mm"),
        ("re-seat", "re_seat"),
        ("Note", "note"),
        ("angle_deg", "angle_deg"),
    ] {
        assert_eq!(Heading::read(text).name(), name, "{text}");
    }
    let marks = Table::read_str("t", "x (\"),height (\")\n1,1/2\n").unwrap();
    assert_eq!((marks.numbers("x_mm").unwrap()[0], marks.numbers("height_mm").unwrap()[0]), (25.4, 12.7));
    let quoted = Table::read_str("t", "\"height, left; mm\";x_mm\n1,5;2\n").unwrap();
    assert_eq!(quoted.numbers("height_left_mm").unwrap(), [1.5]);
    let both = Table::read_str("t", "modulus_psi;load_kg;rh (%)\n1000000;2;45\n").unwrap();
    assert!(close(both.numbers("modulus_gpa").unwrap()[0], 6.894757293168361));
    assert!(close(both.numbers("load_n").unwrap()[0], 19.6133));
}

#[test]
fn quoted_decimal_commas_between_commas() {
    let table = Table::read_str("t", "x_mm,height_mm\n\"0,5\",\"12,25\"\n").unwrap();
    assert_eq!((table.numbers("x_mm").unwrap()[0], table.numbers("height_mm").unwrap()[0]), (0.5, 12.25));
    let single = Table::read_str("t", "x_mm\n0,5\n1,250\n").unwrap();
    assert_eq!(single.numbers("x_mm").unwrap(), [0.5, 1.25]);
}

#[test]
fn what_is_wrong_with_a_table_is_said() {
    let table = |text: &str| Table::read_str("t.csv", text).unwrap_err().to_string();
    let numbers = |text: &str| Table::read_str("t.csv", text).unwrap().numbers("height_mm").unwrap_err().to_string();
    assert!(table("").starts_with("t.csv: is empty"));
    assert!(table("# only a remark\n\n").starts_with("t.csv: is empty"));
    assert_eq!(table("x_mm,height_mm\n"), "t.csv: has headings (x_mm, height_mm) but no rows");
    assert!(table("x_mm;height_mm\n1;2\n3\n").starts_with("t.csv line 3: has 1 cells but the headings are 2"));
    assert!(table("x_mm,height_mm\n0,5,12\n").contains("decimal comma must stand in quotation marks"));
    assert!(table("height_mm;height (in)\n1;2\n").contains("both give height_mm; keep one"));
    assert!(table(&"a,".repeat(1001)).contains("has 1001 headings; at most 1000 columns are read"));
    assert!(table("x_mm;;height_mm\n1;2;3\n").contains("column 2 has the heading \"\""));
    assert!(table("x_mm;note\n1;\"left\n2;right\n").starts_with("t.csv line 2: a cell runs over the end"));
    assert_eq!(numbers("x_mm;height_mm\n1;2\n# more\n3;low\n"), "t.csv line 4, column \"height_mm\": \"low\" is not a number");
    assert!(numbers("x_mm;height_mm\n1;NaN\n").contains("\"NaN\" is not a finite number"));
    assert!(numbers("x_mm;height_mm\n1;inf\n").contains("\"inf\" is not a finite number"));
    assert!(numbers("x_mm;height_mm\n1;\n").contains("is empty; it must be a number"));
    assert!(numbers("x_mm;height_mm\n1;1.234,5\n").contains("\"1.234,5\" can be read in more than one way"));
    assert!(numbers("x_mm,height_mm\n1,\"1,234\"\n").contains("as 1234 or as 1.234"));
    assert!(numbers("x_mm;height_mm\n1;12,5\n2;12.5\n").contains("use one mark in a column"));
    assert!(numbers("x_mm;height\n1;12\n").contains("line 2, column \"height\": \"12\" has no unit"));
    assert_eq!(numbers("x_mm;depth_mm\n1;2\n"), "t.csv: has no column height_mm; its columns are: x_mm, depth_mm");
    assert!(
        Table::read_bytes("t.csv", b"x_mm;note\n1;\xe9\n")
            .unwrap_err()
            .to_string()
            .starts_with("t.csv line 2: is not UTF-8 (byte 0xe9)")
    );
    assert!(Table::read_bytes("t.csv", b"\xff\xfex\0").unwrap_err().to_string().contains("UTF-16"));
    let large = vec![b' '; MAX_FILE_BYTES + 1];
    assert_eq!(
        Table::read_bytes("t.csv", &large).unwrap_err().to_string(),
        "t.csv: is larger than 64 MiB, the most that is read"
    );
    assert!(Table::read_path("no/such.csv").unwrap_err().to_string().starts_with("no/such.csv: cannot be read"));
}

#[test]
fn what_is_wrong_with_stations_and_readings_is_said() {
    let stations = |text: &str| read_stations("s.csv", text).unwrap_err().to_string();
    assert_eq!(
        stations("x_mm;height_mm\n0;1\n\n60;2\n40;3\n"),
        "s.csv line 5, column \"x_mm\": is 40 mm after 60 mm on line 4; stations must increase down the file"
    );
    assert!(stations("x_mm;height_mm\n0;1\n0;2\n").contains("is 0 mm after 0 mm"));
    assert!(stations("x_mm;height_mm\n0;1\n").contains("at least 2"));
    assert!(stations("x_mm;height_mm\n0;1\n5;-2\n").contains("line 3, column \"height_mm\": is -2 mm; it must be 0 mm or more"));
    assert!(stations("x_mm;height_mm;width_mm\n0;1;8\n5;2;0\n").contains("line 3, column \"width_mm\": is 0 mm"));
    let readings = |text: &str| read_readings("r.csv", text).unwrap_err().to_string();
    assert!(readings("load_n;deflection_mm\n-2;0,1\n").contains("column \"load_n\": is -2 N"));
    assert!(readings("load_n;deflection_mm;seat\n2;0,1;1,5\n").contains("column \"seat\": is 1.5; it must be a whole number"));
    assert!(readings("load_n;deflection_mm;span_mm\n2;0,1;0\n").contains("column \"span_mm\": is 0 mm"));
    assert!(readings("load_n\n2\n").contains("has no column deflection_mm"));
}

#[test]
fn what_cannot_be_written_is_said() {
    let numbers = |v: &[f64]| Cells::Numbers(v.to_vec());
    let said = |columns: &[(&str, Cells)]| write_csv(columns, false).unwrap_err().to_string();
    assert!(said(&[]).contains("at least 1"));
    assert!(said(&[("x_mm", numbers(&[]))]).contains("has 0 values"));
    assert!(said(&[("x_mm", numbers(&[1.0])), ("height_mm", numbers(&[1.0, 2.0]))]).contains("must have the same number"));
    assert_eq!(said(&[("x_mm", numbers(&[f64::NAN]))]), "x_mm[0] is NaN; it must be finite");
    assert!(said(&[("Height (mm)", numbers(&[1.0]))]).contains("write it \"height_mm\""));
    assert!(said(&[("x_mm", numbers(&[1.0])), ("x_in", numbers(&[1.0]))]).contains("gives x_mm a second time"));
    assert!(said(&[("note", Cells::Texts(vec!["a\nb".into()]))]).contains("has a line break"));
}

#[test]
fn schemas_are_checked_in_words() {
    #[derive(Debug, PartialEq, serde::Serialize, serde::Deserialize)]
    struct Stick {
        mass_g: f64,
        name: String,
    }
    let stick = Stick { mass_g: 0.1 + 0.2, name: "spare".into() };
    let text = write("bracewright/stick", 1, &stick).unwrap();
    assert!(text.starts_with("{\n  \"schema\": \"bracewright/stick/1\",\n  \"mass_g\": 0.30000000000000004,"));
    assert_eq!(read::<Stick>("s.json", &text, "bracewright/stick", 1).unwrap(), stick);
    let said = |text: &str| read::<Stick>("s.json", text, "bracewright/stick", 2).unwrap_err().to_string();
    assert_eq!(said("{}"), "s.json: names no schema; it must start with \"schema\": \"bracewright/stick/2\"");
    assert!(said("[1]").contains("is not a JSON object"));
    assert!(said("").contains("is empty"));
    assert!(said("{\"schema\": ").contains("is not JSON: EOF"));
    assert!(said("{\"schema\": 1}").contains("has 1 for its schema"));
    for other in [
        "bracewright/stick/3",
        "bracewright/top/1",
        "bracewright/stick/0",
        "bracewright/stick/+1",
        "bracewright/stick",
        "bracewright/stick/",
    ] {
        let expected = format!("s.json says schema {other:?}; this version reads \"bracewright/stick/1 to 2\"");
        assert_eq!(said(&format!("{{\"schema\": \"{other}\"}}")), expected);
    }
    assert!(said("{\"schema\": \"bracewright/stick/2\", \"mass_g\": 1}").contains("missing field `name`"));
    assert!(said(&format!("{}{}", "[".repeat(100_000), "]".repeat(100_000))).contains("is not JSON"));
    assert_eq!(check_schema("s.json", &serde_json::json!({"schema": "bracewright/stick/2"}), "bracewright/stick", 2), Ok(2));
}

#[test]
fn weighings_are_read_as_they_were_written_down() {
    let text = "# invented\nname;Datum;date;mass [g]\nleft;x;28.2.2026;412,35\nright;x;2026-02-28 20:00;398,20\n\
                left;x;2026-03-01 12:00;411,9\nright;x;2026-03-02T08:00;397,8\n";
    let w = read_weighings("w.csv", text).unwrap();
    assert_eq!((w.len(), w[0].name.as_str(), w[1].name.as_str()), (2, "left", "right"));
    assert!(all_close(&w[0].days, &[0.0, 1.5]) && all_close(&w[1].days, &[0.0, 1.5]));
    assert!(all_close(&w[0].mass_g, &[412.35, 411.9]));
    assert_eq!((w[0].from_date.as_deref(), w[1].from_date.as_deref()), (Some("2026-02-28"), Some("2026-02-28T20:00")));
    assert_eq!((w[0].step_g(), w[1].step_g()), (Some(0.01), Some(0.1)));
    let days = read_weighings("w.csv", "days,mass (oz)\n0.5,14\n2,13.9\n").unwrap();
    assert!(all_close(&days[0].days, &[0.5, 2.0]) && (days[0].mass_g[0] - 14.0 * 28.349_523_125).abs() < 1e-9);
    assert_eq!((days[0].from_date.as_deref(), days[0].step_g()), (None, None));
    let says = |text: &str, words: &[&str]| {
        let e = read_weighings("w.csv", text).unwrap_err().to_string();
        assert!(words.iter().all(|w| e.contains(w)), "{e}");
    };
    says("mass [g]\n400\n", &["w.csv", "no column date or days"]);
    says("days,mass [g]\n0,400\n0,399\n", &["line 3", "order of time"]);
    says("days,mass [g]\n0,400\n1,-3\n", &["line 3", "-3 g", "above 0 g"]);
    says("date,mass [g]\n2026-02-29,400\n", &["line 2", "column \"date\"", "2026-02-29", "2026-03-01"]);
    says("date,mass [g]\n,400\n", &["line 2", "no date"]);
    says("days,mass [g]\n1,\n", &["line 2", "empty"]);
}

proptest! {
    #[test]
    fn no_text_of_weighings_panics(s in "[0-9.,;:T /a-z\n-]{0,60}") {
        let _ = read_weighings("w", &format!("date;mass [g]\n{s}\n"));
        let _ = read_weighings("w", &s);
    }
}
