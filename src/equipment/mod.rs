//! Equipment: the tool, the pad stack, the product, the paint, and what they do together.
//!
//! Physical descriptions, validated when they are made; nothing here computes contact or motion.
//! Defaults for what a user leaves out stand in [`defaults`], each with its source and grade.

pub mod defaults;

mod bearing;
mod compression;
mod foam;
mod pad;
mod paint;
mod product;
mod speed_scale;
mod stack;
mod tool;

pub use bearing::{Bearing, SpindleDrag};
pub use compression::CompressionLaw;
pub use foam::OpenCellFoam;
pub use pad::{Interface, Pad};
pub use paint::{Hardness, Paint, Substrate};
pub use product::{Pairing, Product};
pub use speed_scale::SpeedScale;
pub use stack::Stack;
pub use tool::{Drive, Motor, Tool};

use crate::error::RangeError;

/// Checks that `value` (in `unit`) is finite and within `low..=high`.
pub(crate) fn within(
    what: &'static str,
    value: f64,
    low: f64,
    high: f64,
    unit: &'static str,
) -> Result<f64, RangeError> {
    if value.is_finite() && value >= low && value <= high {
        Ok(value)
    } else {
        Err(RangeError::new(what, value, unit, format!("{low} to {high}")))
    }
}
