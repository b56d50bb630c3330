//! Numerical tools: quadrature, roots, elliptic integrals, statistics, distributions, seeded random
//! numbers and processes, low-discrepancy points, ordered parallel reduction.
//!
//! Nothing here knows about pads or panels.

pub mod cholesky;
pub mod digest;
pub mod distribution;
pub mod elliptic;
pub mod interpolate;
pub mod interval;
pub mod ornstein_uhlenbeck;
pub mod quadrature;
pub mod random;
pub mod reduce;
pub mod root;
pub mod sobol;
pub mod statistics;
