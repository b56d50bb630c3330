//! Hours on each tool and what they come to as hand-arm exposure, from the vibration that the tool
//! declares. Not a measurement: what a hand feels in use may be more than what is declared.

use crate::units::{Acceleration, Time};

/// Daily exposure of one day, from the declared value of each tool and its time.
///
/// ```text
/// A(8) = √( Σ a_i² T_i / 8 h )     a_i [m/s²]
/// ```
///
/// `None` where a tool that was used declares nothing.
///
/// # Example
/// ```
/// use trochoid::plan::vehicle::daily_exposure;
/// use trochoid::{Acceleration, Time};
/// // Two hours at 5 m/s²: 5 √(2/8) = 2.5 m/s², the action value of Directive 2002/44/EC.
/// let a8 = daily_exposure(&[(Some(Acceleration::from_m_s2(5.0)), Time::from_min(120.0))]);
/// assert!(a8.is_some_and(|a| (a.m_s2() - 2.5).abs() < 1e-12));
/// ```
///
/// # References
/// ISO 5349-1:2001, daily exposure of several operations (from memory).
#[must_use]
pub fn daily_exposure(used: &[(Option<Acceleration>, Time)]) -> Option<Acceleration> {
    let mut sum = 0.0;
    for (declared, time) in used.iter().filter(|(_, t)| t.s() > 0.0) {
        sum += (*declared)?.m_s2().powi(2) * time.s();
    }
    Some(Acceleration::from_m_s2((sum / (8.0 * 3600.0)).sqrt()))
}
