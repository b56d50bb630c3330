//! What one design does: spin and cut on its own patch, and the sphere that stalls it. Cheap enough for a
//! million designs.

use crate::contact::ContactError;
use crate::error::RangeError;
use crate::math::reduce::map_indexed;
use crate::removal::volume_rate;
use crate::spin::{Setup, StallOutcome, StallSettings, spin_state, stalling_sphere};

/// Whether a design runs at all.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DesignState {
    /// It runs on its patch, perhaps stalled.
    Runs,
    /// The pad's face sticks: it kneads and cuts nothing.
    Sticks,
    /// The pad bottoms out on its patch, or the force is too much for it anywhere.
    BottomsOut,
    /// The values do not make a tool, a pad or a set-up, or its contact was not found.
    Refused,
}

impl DesignState {
    /// One word for tables.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Runs => "runs",
            Self::Sticks => "sticks",
            Self::BottomsOut => "bottoms_out",
            Self::Refused => "refused",
        }
    }
}

/// Spin, stall and cut of one design.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DesignOutcome {
    /// Whether it runs; the numbers are NaN where it does not, and zero for a face that sticks.
    pub state: DesignState,
    /// Spin on its own patch \[rad/s\].
    pub spin: f64,
    /// The sphere on which the spin crosses the useful minimum.
    pub stall: StallOutcome,
    /// Volume removed per second on its own patch, m³/s.
    pub volume_rate_m3_s: f64,
    /// Friction power on its own patch, W.
    pub friction_w: f64,
}

impl DesignOutcome {
    const fn without(state: DesignState, stall: StallOutcome) -> Self {
        Self { state, spin: f64::NAN, stall, volume_rate_m3_s: f64::NAN, friction_w: f64::NAN }
    }
}

/// Spin, stall and cut of one set-up.
///
/// A pad that bottoms out on its own patch keeps its stalling sphere: that is asked of other panels.
///
/// # Assumptions and valid range
/// As [`spin_state`] and [`stalling_sphere`]; feed left out of the sliding speed.
///
/// # Accuracy
/// That of the same two; 50 to 100 µs.
///
/// # Example
/// ```
/// use trochoid::plan::sizing::evaluate_design;
/// use trochoid::spin::StallOutcome;
/// # use trochoid::*;
/// # fn main() -> Result<(), Error> {
/// let tool = Tool::geared(Length::from_mm(15.0), AngularRate::from_opm(4200.0), 0.0)?;
/// let foam = CompressionLaw::linear(Stiffness::from_kpa_per_mm(0.9))?;
/// let pad = Pad::new(Length::from_mm(100.0), Length::from_mm(25.0), foam)?;
/// let setup = Setup::new(tool, pad, Product::new(0.35, 2e-11)?, Patch::flat(), Force::from_n(35.0))?;
/// let found = evaluate_design(&setup, &Default::default());
/// // Unspun every point slides at eΩ: μ N eΩ = 0.35 × 35 × 3.299 = 40.41 W. A geared pad cannot stall.
/// assert!((found.friction_w - 40.41).abs() < 0.01 && found.stall == StallOutcome::Driven);
/// # Ok(())
/// # }
/// ```
#[must_use]
pub fn evaluate_design(setup: &Setup, settings: &StallSettings) -> DesignOutcome {
    let stall = stalling_sphere(setup, settings, 1.0).map_or(StallOutcome::Refused, |s| s.outcome);
    match spin_state(setup, setup.patch(), &settings.contact) {
        Ok(run) => DesignOutcome {
            state: if run.sticks { DesignState::Sticks } else { DesignState::Runs },
            spin: run.spin,
            stall,
            volume_rate_m3_s: volume_rate(setup.product().preston_per_pa(), &run.sums),
            friction_w: setup.product().friction() * run.sums.speed_w,
        },
        Err(ContactError::NotConverged { .. }) => DesignOutcome::without(DesignState::Refused, stall),
        Err(_) => DesignOutcome::without(DesignState::BottomsOut, stall),
    }
}

/// Spin, stall and cut of `count` designs, in their order; `design(i)` makes the i-th.
///
/// Designs are made and solved in parallel on the current pool; the result does not depend on the threads.
/// About 50 µs a design with a linear pad, 100 µs with a measured one; nothing but the outcomes is kept.
///
/// # Example
/// ```
/// use trochoid::equipment::{CompressionLaw, Pad, Product, Tool};
/// use trochoid::panel::Patch;
/// use trochoid::plan::sizing::{DesignState, evaluate_designs};
/// use trochoid::spin::{Setup, StallSettings};
/// use trochoid::units::{AngularRate, Force, Length, Stiffness};
/// let outcomes = evaluate_designs(3, |i| {
///     let throw = Length::from_mm(8.0 + 4.0 * i as f64);
///     let tool = Tool::geared(throw, AngularRate::from_opm(4200.0), 0.0)?;
///     let law = CompressionLaw::linear(Stiffness::from_kpa_per_mm(0.9))?;
///     let pad = Pad::new(Length::from_mm(130.0), Length::from_mm(25.0), law)?;
///     Setup::new(tool, pad, Product::new(0.35, 2e-11)?, Patch::flat(), Force::from_n(35.0))
/// }, &StallSettings::default());
/// // No spin: every point slides at eΩ, so k_p N eΩ = 2e-11 · 35 · 0.006 · 439.82 m³/s for the 12 mm throw.
/// assert_eq!(outcomes[1].state, DesignState::Runs);
/// assert!((outcomes[1].volume_rate_m3_s / 1.84726e-9 - 1.0).abs() < 1e-5);
/// ```
#[must_use]
pub fn evaluate_designs(
    count: usize,
    design: impl Fn(usize) -> Result<Setup, RangeError> + Sync + Send,
    settings: &StallSettings,
) -> Vec<DesignOutcome> {
    map_indexed(count, |i| {
        design(i).map_or_else(
            |_| DesignOutcome::without(DesignState::Refused, StallOutcome::Refused),
            |setup| evaluate_design(&setup, settings),
        )
    })
}
