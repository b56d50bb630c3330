//! Numerical tools: quadrature, roots, interpolation, elliptic integrals, statistics, ordered parallel reduction.
//!
//! Nothing here knows about pads or panels.

pub mod elliptic;
pub mod interpolate;
pub mod quadrature;
pub mod reduce;
pub mod root;
pub mod statistics;
