//! One test binary: every check of the crate against something outside it, or against its own slow
//! obvious methods.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test that cannot go on has failed")]

mod api_docs;
mod ask;
mod bad_input;
mod budget;
mod budget_spot;
mod calibration;
mod cli;
mod closed_form;
mod conservation;
mod contact_edges;
mod contract;
mod corners;
mod couplings;
mod deposit;
mod determinism;
mod docs;
mod dwell;
mod estimates;
mod exposure;
mod faults;
mod finish;
mod finish_steps;
mod fuzz;
#[cfg(feature = "cli")]
mod fuzz_entries;
mod geometry;
mod golden;
mod grains;
mod guide;
mod halo;
mod hand;
mod heat;
mod heat_job;
/// Draws the record of benchmarks; the guide shows what it draws.
#[cfg(feature = "cli")]
#[allow(dead_code)]
#[path = "../../examples/18_how_fast.rs"]
mod how_fast;
mod layering;
mod literature;
mod machine;
mod machine_job;
mod mesh;
mod paint_account;
mod panel_creases;
mod panel_shapes;
mod pareto;
mod paths;
mod phases;
mod planning;
mod properties;
mod random;
mod readers;
mod reference;
mod report_html;
mod rotation;
mod sensitivity;
mod sizing;
mod sobol;
mod spot_job;
mod support;
mod surface_cli;
mod surface_contact;
mod surface_job;
mod surface_work;
mod surface_zones;
mod sweep;
mod tilted;
mod trade;
mod transient;
mod vehicle;
mod vehicle_jobs;
mod vehicle_orders;
mod wear;
