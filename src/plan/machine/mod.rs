//! The machine itself: its balance, its bearings, its motor, and what feeds it.
//!
//! From the bottom up: [`resultant_unbalance`] and [`two_plane_correction`] on any rigid rotor;
//! [`BalanceLayout`] makes counterweights for a pad and tells what they leave at other masses;
//! [`Supports`] gives what two bearings carry, [`BallBearing`] how long they live; [`MotorLoad`] and [`Duty`]
//! what is left of the motor, [`Supply`] what it draws. [`machine_state`] puts them together for a set-up.
//!
//! Not a design of castings, fits or windings, and no vibration of the housing: the force that shakes it is
//! told, and [`crate::plan::Unbalance`] has the estimate of the hand's share.

mod assess;
mod bearing_load;
mod counterweight;
mod motor;
mod rating_life;
mod supply;
mod unbalance;
mod work;

pub use assess::{
    BalanceState, LivesAtRate, MachineDescription, MachineState, PadSupport, Residual, SpindleSupport, lives_over_rate,
    machine_state,
};
pub use bearing_load::{CrossLoad, Reactions, Supports};
pub use counterweight::{BalanceLayout, Counterweights, PadMasses};
pub use motor::{Duty, MotorLoad};
pub use rating_life::{
    AXIAL_FACTORS, BallBearing, BearingLoad, LARGEST_LOAD_SHARE, LEAST_LOAD_SHARE, RADIAL_FACTOR, RELIABILITY_FACTORS,
    RatingLife, life_of_shares, reliability_factor,
};
pub use supply::{
    AIR_HEAT_RATIO, AirDraw, Battery, BatteryDraw, COPPER_OHM_M, CompressedAir, FREE_AIR_PA, Mains, MainsDraw, Supply,
    SupplyDraw, compression_power,
};
pub use unbalance::{
    PlaneUnbalance, ResultantUnbalance, grade_of, one_plane_correction, permissible_unbalance_kgm, resultant_unbalance,
    two_plane_correction,
};
pub use work::{MachineWork, machine_work};
