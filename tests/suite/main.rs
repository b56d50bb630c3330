//! One test binary: every check of the crate against something outside it, or against its own slow
//! obvious methods.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test that cannot go on has failed")]

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
