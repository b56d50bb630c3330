//! One test binary: every check of the crate against something outside it, or against its own slow
//! obvious methods.

mod calibration;
mod closed_form;
mod contact_edges;
mod determinism;
mod estimates;
mod layering;
mod literature;
mod properties;
mod random;
mod reference;
mod support;
mod tilted;
mod trade;
