//! What a random-orbit polisher does to automotive paint.

pub mod contact;
pub mod equipment;
mod error;
pub mod math;
pub mod motion;
pub mod panel;
pub mod removal;
pub mod spin;
pub mod units;

pub use error::{Error, RangeError};
pub use units::{Acceleration, Angle, AngularRate, Curvature, Force, Inertia, Length, Mass, Power, Pressure, Speed, Stiffness, Temperature, Time, Torque, ViscousDrag};
