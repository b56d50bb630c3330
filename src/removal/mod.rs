//! Removal: Preston cut, footprint, deposit over a panel, uniformity.
mod field;
pub use field::FieldError;
