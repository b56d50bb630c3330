//! One test binary: every check of the crate against something outside it, or against its own slow
//! obvious methods.

mod literature;
mod support;
