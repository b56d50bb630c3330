//! What can stop the contact problem from having an answer.

use core::fmt;

/// A pad that bottoms out before it carries the force.
#[derive(Debug, Clone, PartialEq)]
pub struct BottomedOut {
    /// Force asked for \[N\].
    pub force_n: f64,
    /// Largest force that keeps every strain within the law \[N\].
    pub fitting_force_n: f64,
    /// Distance of the hardest pressed point from the tool axis \[m\].
    pub radius_m: f64,
    /// Where that is, in words.
    pub place: &'static str,
}

/// Why there is no contact solution: the question cannot be answered, and how far an answer came.
///
/// Lift-off, partial contact and a peak at an edge are results, not errors.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub enum ContactError {
    /// The local strain passes the last point of the compression law somewhere on the pad during an orbit: a
    /// crown, hollow or tilt too sharp for this pad at this force.
    BottomsOut(BottomedOut),
    /// The mean pressure alone passes the end of the compression law: too much force on any panel.
    ForceTooLarge {
        /// Force asked for \[N\].
        force_n: f64,
        /// Largest force on a flat panel \[N\].
        limit_n: f64,
    },
    /// The iteration did not reach its tolerance; the best value and residual are given. On a real panel also
    /// where nothing of the face is over the panel (the heave is NaN then), or a self-aligning pad tips off an
    /// edge.
    NotConverged {
        /// Heave reached \[m\].
        heave_m: f64,
        /// Force carried there less the force asked for \[N\].
        residual_n: f64,
    },
}

impl fmt::Display for ContactError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::BottomsOut(b) => write!(
                f,
                "the pad bottoms out {} ({:.1} mm from the tool axis) before it carries {:.2} N; at most {:.2} N would fit",
                b.place,
                b.radius_m * 1e3,
                b.force_n,
                b.fitting_force_n
            ),
            Self::ForceTooLarge { force_n, limit_n } => write!(
                f,
                "a force of {force_n:.2} N bottoms the pad out even on a flat panel; at most {limit_n:.2} N would fit"
            ),
            Self::NotConverged { heave_m, residual_n } => write!(
                f,
                "the contact iteration stopped at a heave of {:.4} mm with {residual_n:.3e} N missing",
                heave_m * 1e3
            ),
        }
    }
}

impl std::error::Error for ContactError {}
