//! What a design does over a fleet of panels, in the terms in which designs are compared.

use super::evenness::line_evenness;
use super::{Design, Fleet};
use crate::contact::Load;
use crate::equipment::Substrate;
use crate::heat::{Material, effusivity_share};
use crate::panel::Patch;
use crate::plan::Unbalance;
use crate::removal::volume_rate;
use crate::spin::{
    SEARCH_LIMIT_PER_M, SLIP_SCALE, SpinState, StallOutcome, StallSettings, spin_state, stalling_sphere,
};
use crate::units::{AngularRate, Length, Mass};

/// What designs are compared by.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Objective {
    /// Volume removed per second, mean over the fleet by share, mm³/s; to be large.
    CutRate,
    /// Spread of the cut across parallel pass lines on a flat, standard deviation over mean; to be small.
    Unevenness,
    /// Smallest distance of a panel's mean curvature from the sphere that stalls the pad, 1/m; to be large,
    /// negative where one stalls.
    StallMargin,
    /// Share of the work on which the pad stalls; to be small.
    StalledShare,
    /// Rise of the bare sheet in one pass if it kept all heat, on the panel with the most, K; to be small.
    SheetRise,
    /// Force with which what is not balanced shakes the machine, N; to be small.
    ShakingForce,
    /// Largest power on the orbit shaft over the fleet, W; to be small.
    ShaftPower,
    /// Time until the least cut place between the lines has the target cut, s/m²; to be small.
    Time,
}

impl Objective {
    /// All of them.
    pub const ALL: [Self; 8] = [
        Self::CutRate,
        Self::Unevenness,
        Self::StallMargin,
        Self::StalledShare,
        Self::SheetRise,
        Self::ShakingForce,
        Self::ShaftPower,
        Self::Time,
    ];

    /// Key in job files and results, with its unit.
    #[must_use]
    pub const fn key(self) -> &'static str {
        match self {
            Self::CutRate => "cut_rate_mm3_s",
            Self::Unevenness => "unevenness_cv",
            Self::StallMargin => "stall_margin_per_m",
            Self::StalledShare => "stalled_share",
            Self::SheetRise => "sheet_rise_k",
            Self::ShakingForce => "shaking_force_n",
            Self::ShaftPower => "shaft_power_w",
            Self::Time => "time_s_per_m2",
        }
    }

    /// Name in words, with its unit.
    #[must_use]
    pub const fn title(self) -> &'static str {
        match self {
            Self::CutRate => "cut rate [mm³/s]",
            Self::Unevenness => "unevenness, cv",
            Self::StallMargin => "stall margin [1/m]",
            Self::StalledShare => "stalled share",
            Self::SheetRise => "sheet rise a pass [K]",
            Self::ShakingForce => "shaking force [N]",
            Self::ShaftPower => "shaft power [W]",
            Self::Time => "time [s/m²]",
        }
    }

    /// Whether more of it is better.
    #[must_use]
    pub const fn larger_is_better(self) -> bool {
        matches!(self, Self::CutRate | Self::StallMargin)
    }

    /// Least and greatest value that a bound on it may have \[in the unit of its key\].
    #[must_use]
    pub const fn bounds(self) -> (f64, f64) {
        match self {
            Self::CutRate | Self::Time => (0.0, 1e6),
            Self::Unevenness => (0.0, 10.0),
            Self::StallMargin => (-40.0, 40.0),
            Self::StalledShare => (0.0, 1.0),
            Self::SheetRise => (0.0, 1000.0),
            Self::ShakingForce | Self::ShaftPower => (0.0, 1e5),
        }
    }

    /// Place in [`Performance::values`].
    const fn index(self) -> usize {
        match self {
            Self::CutRate => 0,
            Self::Unevenness => 1,
            Self::StallMargin => 2,
            Self::StalledShare => 3,
            Self::SheetRise => 4,
            Self::ShakingForce => 5,
            Self::ShaftPower => 6,
            Self::Time => 7,
        }
    }
}

/// What a design does.
#[derive(Debug, Clone, PartialEq)]
pub struct Performance {
    values: [f64; 8],
    /// Spin on each panel \[rad/s\]; NaN where the pad bottoms out.
    pub spins: Vec<f64>,
    /// The sphere on which the spin crosses the useful minimum.
    pub stall: StallOutcome,
    /// Whether the face sticks.
    pub sticks: bool,
    /// Share of the work on which the pad bottoms out, so that there is no answer \[1\]; on a flat it counts
    /// whole.
    pub bottoming_share: f64,
}

impl Performance {
    /// Value of an objective \[in the unit of its key\]; NaN where it has none.
    #[must_use]
    pub const fn value(&self, objective: Objective) -> f64 {
        self.values[objective.index()]
    }

    /// Whether every panel of the fleet can be worked at all, stalled or not.
    #[must_use]
    pub fn runs(&self) -> bool {
        !self.sticks && self.bottoming_share <= 0.0 && self.values.iter().all(|v| !v.is_nan())
    }

    fn without(sticks: bool, bottoming_share: f64, stall: StallOutcome, panels: usize) -> Self {
        Self { values: [f64::NAN; 8], spins: vec![f64::NAN; panels], stall, sticks, bottoming_share }
    }
}

/// What performance is judged for.
#[derive(Debug, Clone, PartialEq)]
pub struct Duty {
    /// Panels and their shares.
    pub fleet: Fleet,
    /// Stall margin beyond which more is no better, 1/m: the margin of no design counts as more.
    pub enough_margin_per_m: f64,
    /// Cut that every place shall have, for the time.
    pub target_cut: Length,
    /// What the paint lies on, for the heat.
    pub substrate: Substrate,
    /// Settings of the solvers, with the useful minimum of the spin.
    pub settings: StallSettings,
}

/// Share of a pad's mass that a counterweight made for it leaves unbalanced: product held, wear and pads of one
/// make that differ. Assumed, no source.
pub const LEFT_SHARE: f64 = 0.1;

/// Power on the orbit shaft, W.
fn shaft_power(design: &Design, run: &SpinState) -> f64 {
    let setup = &design.setup;
    let rate = setup.tool().rate().rad_s();
    let friction = setup.product().friction();
    match setup.spindle_drag() {
        Some(drag) => {
            let torque =
                run.face_orbit_m * friction * run.sums.forward_n + drag.spindle_torque(rate - run.spin, SLIP_SCALE);
            torque * rate
        }
        None => friction * run.sums.speed_w,
    }
}

/// Smallest distance of a panel's mean curvature from a stalling sphere, 1/m, up to what is enough.
fn margin_past(stall: StallOutcome, duty: &Duty) -> f64 {
    let limit = match stall {
        StallOutcome::At(k) => k,
        StallOutcome::Never | StallOutcome::Driven => -SEARCH_LIMIT_PER_M,
        StallOutcome::Always | StallOutcome::Sticks | StallOutcome::Refused => SEARCH_LIMIT_PER_M,
    };
    duty.fleet.panels().iter().map(|p| p.patch.mean() - limit).fold(duty.enough_margin_per_m, f64::min)
}

/// The stall margin of [`performance`] alone \[1/m\]: for maps. See the example of [`performance`].
#[must_use]
pub fn stall_margin(design: &Design, duty: &Duty) -> f64 {
    let stall = stalling_sphere(&design.setup, &duty.settings, 1.0).map_or(StallOutcome::Refused, |s| s.outcome);
    margin_past(stall, duty)
}

/// What `design` does over the fleet.
///
/// ```text
/// stall margin = min(m₀, H − κ_s of every panel)     m₀ enough, H mean curvature, κ_s stalling sphere [1/m]
/// sheet rise   = s P/(f l ρ c d)                     s share of the heat, P friction power [W], f feed [m/s],
///                                                    l line spacing [m], ρ c d sheet [J/(m²K)]
/// time         = h/(V′ m)                            h target [m], V′ cut rate [m³/s], m least cut over mean
/// ```
///
/// # Assumptions and valid range
/// Held square, feed left out of the sliding speed. A panel counts by its mean curvature in the margin: exact
/// for a sphere; elsewhere exact in full contact of a linear pad, where the torque from curvature goes with
/// the mean curvature alone; the stalled share is solved on each panel's own shape. A margin past what is
/// enough counts as enough, so that a pad that never stalls does not outweigh everything else. The sheet's
/// rise leaves out losses and the paint's own peak: a figure to compare by, not a temperature to trust; `heat`
/// tells that.
///
/// # Accuracy
/// That of [`crate::spin::spin_state`], and 2e-3 in the unevenness.
///
/// # Example
/// ```
/// use trochoid::equipment::Substrate;
/// use trochoid::plan::Working;
/// use trochoid::plan::sizing::{Design, Duty, Fleet, FleetPanel, Objective, performance, stall_margin};
/// # use trochoid::*;
/// # fn main() -> Result<(), Error> {
/// let tool = Tool::geared(Length::from_mm(15.0), AngularRate::from_opm(4200.0), 0.0)?;
/// let foam = CompressionLaw::linear(Stiffness::from_kpa_per_mm(0.9))?;
/// let pad = Pad::new(Length::from_mm(100.0), Length::from_mm(25.0), foam)?;
/// let setup = Setup::new(tool, pad, Product::new(0.35, 2e-11)?, Patch::flat(), Force::from_n(35.0))?;
/// let working = Working { feed: Speed::from_m_s(0.04), overlap: 0.5 };
/// let design = Design::new(setup, working)?;
/// let panel = FleetPanel { name: "roof".to_owned(), patch: Patch::flat(), share: 1.0 };
/// let duty = Duty {
///     fleet: Fleet::new(vec![panel])?,
///     enough_margin_per_m: 0.5,
///     target_cut: Length::from_um(2.0),
///     substrate: Substrate::Steel,
///     settings: Default::default(),
/// };
/// let does = performance(&design, &duty);
/// // k_p N eΩ = 2e-11 × 35 × 3.299 = 2.309 mm³/s, μ N eΩ = 40.41 W; a geared pad never stalls, so that all the
/// // margin that counts is there.
/// assert!((does.value(Objective::CutRate) - 2.309).abs() < 1e-3);
/// assert!((does.value(Objective::ShaftPower) - 40.41).abs() < 0.01);
/// assert!((stall_margin(&design, &duty) - 0.5).abs() < 1e-12);
/// # Ok(())
/// # }
/// ```
///
/// # References
/// Own figures of merit, see `notebooks-free-docs/tool-sizing.md`.
#[must_use]
pub fn performance(design: &Design, duty: &Duty) -> Performance {
    let setup = &design.setup;
    let panels = duty.fleet.panels();
    let contact = &duty.settings.contact;
    if setup.face_orbit().sticks {
        return Performance::without(true, 0.0, StallOutcome::Sticks, panels.len());
    }
    let stall = stalling_sphere(setup, &duty.settings, 1.0).map_or(StallOutcome::Refused, |s| s.outcome);
    let Ok(flat) = spin_state(setup, &Patch::flat(), contact) else {
        return Performance::without(false, 1.0, stall, panels.len());
    };
    let preston = setup.product().preston_per_pa();
    let (mut bottoming, mut cut, mut stalled, mut power, mut heat) = (0.0, 0.0, 0.0, 0.0_f64, 0.0_f64);
    let mut fastest = 0.0_f64;
    let mut spins = Vec::with_capacity(panels.len());
    for p in panels {
        let solved = if p.patch.is_flat() { None } else { Some(spin_state(setup, &p.patch, contact)) };
        let run = match &solved {
            None => &flat,
            Some(Ok(run)) => run,
            Some(Err(_)) => {
                bottoming += p.share;
                spins.push(f64::NAN);
                continue;
            }
        };
        cut += p.share * volume_rate(preston, &run.sums);
        if setup.stalls_at(run.spin, duty.settings.useful_spin) {
            stalled += p.share;
        }
        power = power.max(shaft_power(design, run));
        heat = heat.max(setup.product().friction() * run.sums.speed_w);
        fastest = fastest.max(run.spin.abs());
        spins.push(run.spin);
    }
    if bottoming > 0.0 {
        return Performance { spins, ..Performance::without(false, bottoming, stall, panels.len()) };
    }
    let spacing = (1.0 - design.working.overlap) * setup.pad().diameter().m();
    let feed = design.working.feed.m_s();
    let even = match &flat.contact.load {
        Load::Rings(rings) => line_evenness(rings, setup.tool().rate().rad_s(), flat.spin, spacing),
        // Designs are made with the pad held square.
        Load::Tilted(_) => return Performance::without(false, 1.0, stall, panels.len()),
    };
    let sheet = Material::of(duty.substrate);
    let per_area = sheet.thermal.volumetric() * Length::from_mm(sheet.usual_mm).m();
    let share = effusivity_share(&Material::paint_film().thermal, &Material::foam().thermal);
    let unbalance = Unbalance::of(setup, AngularRate::from_rad_s(fastest));
    let balanced = design.balanced.unwrap_or_else(|| Mass::from_kg((1.0 - LEFT_SHARE) * setup.pad().mass().kg()));
    let shaking = unbalance.balanced_for(balanced).map_or(f64::NAN, |u| u.shaking_force().n());
    let mut values = [f64::NAN; 8];
    for (objective, value) in [
        (Objective::CutRate, cut * 1e9),
        (Objective::Unevenness, even.cv),
        (Objective::StallMargin, margin_past(stall, duty)),
        (Objective::StalledShare, stalled),
        (Objective::SheetRise, share * heat / (feed * spacing * per_area)),
        (Objective::ShakingForce, shaking),
        (Objective::ShaftPower, power),
        (Objective::Time, duty.target_cut.m() / (cut * even.lowest)),
    ] {
        values[objective.index()] = value;
    }
    Performance { values, spins, stall, sticks: false, bottoming_share: 0.0 }
}
