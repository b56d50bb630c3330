//! Contact of a compliant pad with a curved panel: pressure, force balance, and the load rings that
//! friction and removal are summed over.
//!
//! Heave and tilt are constant over an orbit; the orbit-averaged normal force equals the force
//! asked for. With the pad held square, the compression at a panel point does not
//! depend on where the pad is in its orbit: δ = δ0 − g(x). The pressure is then a fixed field over
//! the panel that the orbiting face covers and uncovers, and every orbit average is a single radial
//! integral of the azimuth mean of that field times a function of the distance from the tool axis
//! (our own reduction; `reference` does it by brute force and the tests compare). With a tilt the
//! field moves with the pad, and `tilted` sums over pad points and orbit phases instead.
//!
//! A pad on a real panel, with its free edges and creases, is solved in `local` by the same reduction.
//!
//! Not here: friction (see `spin`), elastic half-space coupling.

mod error;

mod half_space;
mod hold;
mod local;
mod pressure;
pub mod reference;
mod rings;
mod solve;
mod tilted;
mod tilted_peak;
mod tilted_phase;

pub use error::{BottomedOut, ContactError};

pub use half_space::{Hertz, hertz};
pub use hold::Hold;
pub use local::{LocalContact, LocalLoad, LocalSettings, PadNodes, Site};
pub use pressure::PressureField;
pub use rings::{Ring, Rings};
pub use solve::{Contact, ContactSettings, Load, solve};
pub(crate) use solve::{solve_once, spare_force};
pub use tilted::{Sample, TiltedLoad};
