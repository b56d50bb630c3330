//! Numerical tools: quadrature, roots, differential equations, elliptic integrals, statistics,
//! distributions, seeded random numbers and processes, low-discrepancy points, trade-offs and their search, sensitivities,
//! ordered parallel reduction.
//!
//! Nothing here knows about pads or panels.

pub mod cholesky;
pub mod digest;
pub mod distribution;
pub mod elliptic;
pub mod evolve;
pub mod interpolate;
pub mod interval;
pub mod ode;
pub mod ornstein_uhlenbeck;
pub mod pareto;
pub mod quadrature;
pub mod random;
pub mod reduce;
pub mod root;
pub mod sensitivity;
pub mod sobol;
pub mod statistics;
