//! Spin: how a pad turns under friction and bearing drag, where it stalls, and how it gets there.
//!
//! Where the pad of the demonstration's wheel arch falls to its useful minimum, over one setting at a time: below a curve it
//! stalls, the circle is the job's own point. [`stall_curve`] computes such curves.
//!
//! <figure><style>figure { margin: 0 } figure svg { max-width: 100%; height: auto }</style>
#![doc = include_str!("../../notebooks-free-docs/figures/stall-sweeps.svg")]
//! </figure>

pub mod closed_form;

mod balance;
mod calibrate;
mod curves;
mod local;
mod remedy;
mod setup;
mod shear;
mod sphere;
mod stall;
mod torque;
mod transient;

pub(crate) use balance::spin_with_drag;
pub use balance::{Equilibrium, SLIP_SCALE, SpinState, TorqueBalance, spin_state};
pub use calibrate::{CalibrationError, CountedSpin, DragCalibration, calibrate_drag};
pub use curves::{Against, StallOutcome, force_family, stall_curvature, stall_curve, sweep_values};
pub use local::{PlaceSolver, PlaceState};
pub use remedy::{AtHand, Remedy, RemedyKind, Works, remedies, remedies_where};
pub(crate) use remedy::{LAYER_MM, LEAST_FORCE_N, downward, layered, softened};
pub use setup::Setup;
pub use shear::{FaceOrbit, face_orbit, inertia_gain};
pub use sphere::{StallingSphere, stalling_sphere};
pub use stall::{Crossing, SEARCH_LIMIT_PER_M, StallLimits, StallSettings, stall_limits, stall_limits_for};
pub(crate) use torque::ring_works;
pub use torque::{FrictionLoad, FrictionSums, friction_sums, friction_sums_of_samples};
pub use transient::{
    EnergyBalance, Event, EventKind, Footing, FrictionMode, Moment, Piece, PieceOutcome, Schedule, Start,
    TRANSIENT_SLIP_SCALE, Transient, TransientError, TransientSettings, run_transient, settling_time,
};
