//! One test binary: every check of the crate against something outside it, or against its own slow
//! obvious methods.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, reason = "a test that cannot go on has failed")]

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
mod couplings;
mod deposit;
mod determinism;
mod docs;
mod dwell;
mod estimates;
mod exposure;
mod finish;
mod finish_steps;
mod geometry;
mod golden;
mod hand;
mod heat;
mod heat_job;
mod layering;
mod literature;
mod mesh;
mod paint_account;
mod panel_creases;
mod panel_shapes;
mod paths;
mod phases;
mod planning;
mod properties;
mod random;
mod readers;
mod reference;
mod report_html;
mod rotation;
mod sizing;
mod spot_job;
mod support;
mod surface_cli;
mod surface_contact;
mod surface_job;
mod surface_work;
mod surface_zones;
mod tilted;
mod trade;
mod vehicle;
mod vehicle_jobs;
mod vehicle_orders;
mod wear;
