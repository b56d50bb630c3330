//! What a day's polishing does to the person: vibration of the hands, noise, load on the arms, and the
//! force with which the machine shakes.
//!
//! Sources: ISO 5349-1:2001 (daily exposure, frequency weighting), Directive 2002/44/EC art. 3 (action
//! and limit value), the exposure points of the HSE's ready reckoner, Directive 2003/10/EC art. 3
//! (noise). Not a medical judgement, and no limit of our own for the load on an arm: local codes hold.

mod arm;
mod dose;
mod unbalance;
mod weighting;

pub use arm::ArmLoad;
pub use dose::{
    ACTION_VALUE, HandArmDose, IN_USE_RANDOM_ORBIT, LIMIT_VALUE, LONGEST_DAY, NOISE_ACTION_VALUES_DB, NOISE_LIMIT_DB,
    NoiseTask, VibrationTask, daily_noise_level, hand_arm_dose, time_to_reach,
};
pub use unbalance::Unbalance;
pub use weighting::hand_arm_weighting;
