//! Sizes that no brace has are refused where they enter, with the least and the greatest that are taken.

#![allow(clippy::unwrap_used)]

mod common;

use bracewright::{Blank, Blend, Brace, CapRise, Load, Profile, Rig, ScallopShape, Section, Support, Wood};

fn refused<T: std::fmt::Debug>(r: bracewright::Result<T>, name: &str, allowed: &str) {
    let e = r.unwrap_err().to_string();
    assert!(e.contains(name) && e.contains(allowed), "{name}: {e}");
}

#[test]
fn tiny_sizes() {
    let wood = Wood::published("Sitka spruce").unwrap();
    let stick = common::stick();
    let brace = Brace::uncarved(&stick);
    for tiny in [1e-275, f64::MIN_POSITIVE, 1e-9] {
        refused(Blank::new(&wood, tiny, 8.0, 17.0, None), "length_mm", "from 1 to 2000 mm");
        refused(Blank::new(&wood, 420.0, tiny, 17.0, None), "width_mm", "from 0.1 to 100 mm");
        refused(Blank::new(&wood, 420.0, 8.0, tiny, None), "height_mm", "from 0.1 to 200 mm");
        refused(Blank::new(&wood, 420.0, 8.0, 17.0, Some(tiny)), "mass_g", "at least 0.001 g");
        refused(Profile::measured(&[0.0, 100.0], &[tiny, tiny]), "height_mm", "from 0.1 to 200 mm");
        refused(Profile::measured(&[0.0, tiny], &[5.0, 5.0]), "at_mm", "mm");
        refused(Profile::linear(420.0, tiny, tiny), "the taller end", "from 0.1 to 200 mm");
        refused(Profile::parabolic(420.0, tiny, 0.0, 0.0, 210.0), "peak_mm", "from 0.1 to 200 mm");
        let p = Profile::straight(420.0, 16.0).unwrap();
        refused(p.with_ends(tiny, 2.0, Blend::Cosine), "length_mm", "from 0.01 to 420 mm");
        refused(p.with_scallop(200.0, tiny, 2.0, ScallopShape::Cosine), "scallop 1", "from 0.01 to 420 mm");
        refused(brace.with_width_mm(tiny), "width_mm", "from 0.1 to 8 mm");
        refused(Rig::three_point(tiny, 19.6), "span_mm", "from 1 to 2000 mm");
        refused(Rig::four_point(300.0, tiny, 19.6), "inner_mm", "from 1 to 2000 mm");
        refused(Rig::cantilever(tiny, 19.6), "reach_mm", "from 1 to 2000 mm");
        refused(Rig::three_point(380.0, tiny), "load_n", "from 0.001 to 2000 N");
        refused(Section::rounded_cap(CapRise::Mm(tiny)), "rise_mm", "from 0.001 to 1000 mm");
        refused(Section::rounded_cap(CapRise::OfHeight(tiny)), "rise_of_height", "from 0.001 to 1");
        refused(Section::tapered_sides(tiny), "crest_width_mm", "from 0.001 to 1000 mm");
        refused(Section::rectangle().numbers(tiny, 8.0), "height_mm", "from 0.001 to 1000 mm");
        refused(Section::rectangle().numbers(8.0, tiny), "width_mm", "from 0.001 to 1000 mm");
        let load = Load { x_mm: 210.0, force_n: 10.0, pad_mm: tiny, face: bracewright::Face::Body };
        let feet = [20.0, 400.0].map(|x_mm| Support::Pad { x_mm, pad_mm: 10.0, give_mm_per_n: 0.0 });
        refused(brace.bend(&[load], &feet, &[210.0], bracewright::Face::Glue), "pad_mm of load 1", "from 0.01 to 1000 mm");
    }
}

/// The least that is taken still gives figures.
#[test]
fn least_sizes() {
    let wood = Wood::published("Sitka spruce").unwrap();
    let b = Blank::new(&wood, 1.0, 0.1, 0.1, None).unwrap();
    assert!((b.volume_mm3() - 0.01).abs() < 1e-15 && Brace::uncarved(&b).mass_g().unwrap() > 0.0);
    assert!(Brace::uncarved(&b).ei_n_m2(&[0.5]).unwrap()[0] > 0.0);
}
