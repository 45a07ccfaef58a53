//! Pictures for the bench, as SVG: one look, large type, round values, readable in black and white and on dark paper.
//!
//! Lines and letters take the colour of the text around them (`currentColor`) and the ground is transparent. Sheets are
//! 190 mm wide, to print across A5. The same input gives the same bytes.

mod axis;
mod layout;
mod layout_marks;
mod mode_shape;
mod passes;
mod plate_mode;
mod profile;
mod readings;
mod recording;
mod sensitivity;
mod shape;
mod stiffness;
mod stock;
mod svg;
mod words;

pub use layout::layout_svg;
pub use mode_shape::mode_shapes_svg;
pub use passes::passes_svg;
pub use plate_mode::plate_mode_svg;
pub use profile::profile_svg;
pub use readings::readings_svg;
pub use recording::recording_svg;
pub use sensitivity::sensitivity_svg;
pub use stiffness::stiffness_svg;
pub use stock::stock_svg;

use crate::error::{Result, finite};

/// Error unless every value is finite: what is drawn must be a number.
fn all_finite(name: &str, values: &[f64], unit: &'static str) -> Result<()> {
    values.iter().enumerate().try_for_each(|(i, &v)| finite(&format!("{name}[{i}]"), v, unit).map(|_| ()))
}

/// A number with at most `decimals`, no needless zeros.
fn short(v: f64, decimals: usize) -> String {
    let ten = 10f64.powi(decimals as i32);
    crate::error::number((v * ten).round() / ten)
}
