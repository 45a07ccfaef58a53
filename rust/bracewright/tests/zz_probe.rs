#![allow(clippy::unwrap_used)]
use bracewright::strip::*;
use bracewright::{Blank, Blend, Brace, Profile, Quantity, Scallop, ScallopShape, Section, Wood};
#[test]
fn probe() {
    let mut w = Wood::custom("t", 410.0, 11.5).unwrap();
    for (q, v) in [(Quantity::ErEl, 900.0 / 11500.0), (Quantity::EtEl, 500.0 / 11500.0), (Quantity::GrtEl, 35.0 / 11500.0), (Quantity::GltEl, 720.0 / 11500.0), (Quantity::GlrEl, 750.0 / 11500.0), (Quantity::NuLr, 0.37), (Quantity::NuLt, 0.45), (Quantity::NuRt, 0.45)] {
        w = w.with_value(q, v).unwrap();
    }
    let blank = Blank::new(&w, 400.0, 8.0, 16.0, None).unwrap();
    let s = |at_mm| Scallop { at_mm, left_mm: 55.0, right_mm: 55.0, depth_mm: 9.0, shape: ScallopShape::Cosine };
    let p = Profile::straight(400.0, 15.0).unwrap().with_ends(50.0, 3.0, Blend::Cosine).unwrap().with_scallops(&[s(100.0), s(300.0)]).unwrap();
    let b = Brace::new(&blank, &p, &Section::rectangle()).unwrap();
    let st = Strip::new(&b, &w, StripSize { thickness_mm: 2.8, width_mm: 70.0, grain_angle_deg: 45.0, length_mm: None }).unwrap();
    let r = st.bend(&[GluedLoad { at_mm: 200.0, load_n: 20.0, pad_mm: 10.0, on: PressedOn::Top }], &[100.0, 130.0, 160.0, 175.0]).unwrap();
    println!("y {:?} fine {:?} top {:.4?} foot {:.4?} crest {:.4?}", std::env::var("PY"), std::env::var("PF"), r.top_mpa, r.foot_mpa, r.crest_mpa);
}
