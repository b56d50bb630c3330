//! What a random-orbit polisher does to automotive paint.

pub mod contact;
pub mod equipment;
mod error;
#[cfg(feature = "cli")]
pub mod job;
pub mod math;
pub mod motion;
pub mod panel;
pub mod plan;
#[cfg(feature = "plot")]
pub mod plot;
pub mod removal;
#[cfg(feature = "cli")]
pub mod report;
pub mod spin;
pub mod units;
pub mod verify;

pub use error::{Error, RangeError};
pub use units::{
    Acceleration, Angle, AngularRate, Curvature, Force, Inertia, Length, Mass, Power, Pressure, Speed, Stiffness,
    Temperature, Time, Torque, ViscousDrag,
};
