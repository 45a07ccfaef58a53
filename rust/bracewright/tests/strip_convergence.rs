//! Strips against three-dimensional elasticity.
#![allow(clippy::unwrap_used)]

use bracewright::strip::{GluedLoad, PressedOn, Strip, StripSize};
use bracewright::{Blank, Blend, Brace, Profile, Quantity, Scallop, ScallopShape, Section, Wood};

fn spruce() -> Wood {
    let mut w = Wood::custom("test spruce", 410.0, 11.5).unwrap();
    for (q, v) in [
        (Quantity::ErEl, 900.0 / 11500.0),
        (Quantity::EtEl, 500.0 / 11500.0),
        (Quantity::GrtEl, 35.0 / 11500.0),
        (Quantity::GltEl, 720.0 / 11500.0),
        (Quantity::GlrEl, 750.0 / 11500.0),
        (Quantity::NuLr, 0.37),
        (Quantity::NuLt, 0.45),
        (Quantity::NuRt, 0.45),
    ] {
        w = w.with_value(q, v).unwrap();
    }
    w
}

#[test]
fn scratch() {
    let wood = spruce();
    let blank = Blank::new(&wood, 400.0, 8.0, 16.0, None).unwrap();
    let s = |at_mm| Scallop { at_mm, left_mm: 55.0, right_mm: 55.0, depth_mm: 9.0, shape: ScallopShape::Cosine };
    let profile = Profile::straight(400.0, 15.0)
        .unwrap()
        .with_ends(50.0, 3.0, Blend::Cosine)
        .unwrap()
        .with_scallops(&[s(100.0), s(300.0)])
        .unwrap();
    let brace = Brace::new(&blank, &profile, &Section::rectangle()).unwrap();
    for (w, th, truth) in [(40.0, 0.0, 0.80533), (160.0, 0.0, 0.6585), (100.0, 90.0, 1.5606), (100.0, 45.0, 1.2131), (160.0, 45.0, 1.0634), (160.0, 90.0, 1.3580)] {
        let strip = Strip::new(&brace, &wood, StripSize { thickness_mm: 2.8, width_mm: w, grain_deg: th, length_mm: None }).unwrap();
        let load = GluedLoad { x_mm: 200.0, force_n: 20.0, pad_mm: 10.0, on: PressedOn::Top };
        let t = std::time::Instant::now();
        let b = strip.bend(&[load], &[200.0, 100.0]).unwrap();
        println!("{w} {th} {truth} {:?} {b:?}", t.elapsed());
        println!("lag {} {}", strip.lag_width_mm().unwrap(), strip.en_limit_mm());
    }
}
