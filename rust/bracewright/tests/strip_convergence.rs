//! Strips against three-dimensional elasticity.
//!
//! Source: own solid models (27-node bricks by scikit-fem, the mesh of tests/oracles/solid_strip.py at 96 elements along), 2.8 mm
//! plate, brace 8 mm wide, 15 mm high with ends of 3 mm over 50 mm and two cosine scallops 110 mm long to 6 mm, 20 N over 10 mm
//! on the outer face; standing: recomputed, within 0.1 % of their own limit (it rises by less than 0.03 % from 64 to 96 elements).
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

fn strip(width_mm: f64, grain_angle_deg: f64) -> Strip {
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
    Strip::new(&brace, &wood, StripSize { thickness_mm: 2.8, width_mm, grain_angle_deg, length_mm: None }).unwrap()
}

#[test]
fn scalloped_strips_are_those_of_solid_elasticity() {
    let load = GluedLoad { at_mm: 200.0, load_n: 20.0, pad_mm: 10.0, on: PressedOn::Top };
    for (w, angle, solid) in
        [(40.0, 0.0, 0.805_328_5), (160.0, 0.0, 0.658_576_5), (100.0, 90.0, 1.563_949_4), (160.0, 45.0, 1.065_805_4)]
    {
        let b = strip(w, angle).bend(&[load], &[200.0]).unwrap();
        let off = b.deflection_mm[0] / solid - 1.0;
        assert!(off.abs() < 3e-3, "{w} mm at {angle} degrees: off by {off}");
        // and the transformed section is not
        assert!(b.whole_width_deflection_mm[0] / solid < 0.9);
        assert!(b.discretisation_mm[0] < 5e-3 * b.deflection_mm[0]);
    }
}
