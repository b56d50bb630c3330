//! The columns that a sweep computes, and how a case ended.

use crate::contact::{ContactError, ContactSettings};
use crate::job::Step;
use crate::plan::{Running, Working};
use crate::spin::{
    Crossing, Setup, SpinState, StallLimits, StallOutcome, StallSettings, closed_form, spin_state, stall_limits,
};
use crate::units::AngularRate;

/// How a case ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Status {
    /// Every column was computed.
    Ok,
    /// The pad bottoms out before it carries the force.
    BottomsOut,
    /// Its values are allowed one by one, and together they describe nothing: a throw as large as the pad.
    Refused,
    /// The solution did not reach its tolerance.
    NotConverged,
}

impl Status {
    /// All of them.
    pub const ALL: [Self; 4] = [Self::Ok, Self::BottomsOut, Self::Refused, Self::NotConverged];

    /// The word in the table: `ok`, `bottoms_out`, `refused` or `not_converged`.
    ///
    /// # Example
    /// ```
    /// use trochoid::job::sweep::Status;
    /// assert_eq!(Status::ALL.map(Status::name), ["ok", "bottoms_out", "refused", "not_converged"]);
    /// ```
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Ok => "ok",
            Self::BottomsOut => "bottoms_out",
            Self::Refused => "refused",
            Self::NotConverged => "not_converged",
        }
    }

    fn of(e: &ContactError) -> Self {
        match e {
            ContactError::BottomsOut(_) | ContactError::ForceTooLarge { .. } => Self::BottomsOut,
            ContactError::NotConverged { .. } => Self::NotConverged,
        }
    }
}

/// What a column holds in one case.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Cell {
    /// A number in the unit of the column's name.
    Number(f64),
    /// Yes or no.
    Flag(bool),
    /// There is no such number for this case: no stall in range, no centre under a hole.
    Missing,
}

impl From<Option<f64>> for Cell {
    fn from(value: Option<f64>) -> Self {
        value.map_or(Self::Missing, Self::Number)
    }
}

/// A computed column. Names and meanings are those of the JSON of `state`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Column {
    /// Spin, rpm.
    SpinRpm,
    /// Whether a free pad turns below the useful minimum.
    Stalled,
    /// Whether it does so on a flat panel.
    StalledOnFlat,
    /// Whether it turns against the orbit.
    Reverses,
    /// Stall number S: at least 1 where the pad stalls.
    StallNumber,
    /// Curvature of the sphere that stalls the pad (or frees it, positive), 1/m.
    StallCurvature,
    /// Curvature of the sphere at which the spin would reverse, 1/m.
    ReversalCurvature,
    /// The panel's own curvature at the stall limit, 1/m.
    StallCurvatureAlongPanel,
    /// Reversal curvature by the closed form, 1/m.
    ClosedFormReversal,
    /// Force over face area, Pa.
    MeanPressure,
    /// Largest pressure over pad and orbit, Pa.
    PeakPressure,
    /// Mean pressure at the pad's centre, Pa.
    CentrePressure,
    /// Share of the face that touches.
    ContactShare,
    /// Throw at the face, mm.
    FaceThrow,
    /// Whether the face sticks.
    Sticks,
    /// Speed from the orbit, m/s.
    OrbitSpeed,
    /// Mean sliding speed over the pad, m/s.
    PadMeanSpeed,
    /// Volume removed, mm³/s.
    VolumeRate,
    /// Mean cut of a pass, µm.
    CutPerPass,
    /// Friction power, W.
    Friction,
    /// Torque on the orbit shaft, N·m.
    OrbitTorque,
}

impl Column {
    /// All of them, in the order of the JSON of `state`.
    pub const ALL: [Self; 21] = [
        Self::MeanPressure,
        Self::PeakPressure,
        Self::CentrePressure,
        Self::ContactShare,
        Self::SpinRpm,
        Self::Stalled,
        Self::StalledOnFlat,
        Self::Reverses,
        Self::StallNumber,
        Self::StallCurvature,
        Self::ReversalCurvature,
        Self::StallCurvatureAlongPanel,
        Self::ClosedFormReversal,
        Self::FaceThrow,
        Self::Sticks,
        Self::OrbitSpeed,
        Self::PadMeanSpeed,
        Self::VolumeRate,
        Self::CutPerPass,
        Self::Friction,
        Self::OrbitTorque,
    ];

    /// Those of a study that names none.
    pub const USUAL: [Self; 7] = [
        Self::SpinRpm,
        Self::Stalled,
        Self::StallNumber,
        Self::CutPerPass,
        Self::VolumeRate,
        Self::Friction,
        Self::MeanPressure,
    ];

    /// The name, with its unit at its end; [`Column::named`] finds the column again.
    ///
    /// # Example
    /// ```
    /// use trochoid::job::sweep::Column;
    /// assert_eq!(Column::CutPerPass.name(), "mean_cut_per_pass_um");
    /// assert!(Column::ALL.iter().all(|c| Column::named(c.name()) == Some(*c)));
    /// ```
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::SpinRpm => "spin_rpm",
            Self::Stalled => "stalled",
            Self::StalledOnFlat => "stalled_on_flat",
            Self::Reverses => "reverses",
            Self::StallNumber => "stall_number",
            Self::StallCurvature => "stall_curvature_per_m",
            Self::ReversalCurvature => "reversal_curvature_per_m",
            Self::StallCurvatureAlongPanel => "stall_curvature_along_panel_per_m",
            Self::ClosedFormReversal => "closed_form_reversal_curvature_per_m",
            Self::MeanPressure => "mean_pressure_pa",
            Self::PeakPressure => "peak_pressure_pa",
            Self::CentrePressure => "centre_pressure_pa",
            Self::ContactShare => "contact_share",
            Self::FaceThrow => "face_throw_mm",
            Self::Sticks => "sticks",
            Self::OrbitSpeed => "orbit_speed_m_s",
            Self::PadMeanSpeed => "pad_mean_speed_m_s",
            Self::VolumeRate => "volume_rate_mm3_s",
            Self::CutPerPass => "mean_cut_per_pass_um",
            Self::Friction => "friction_w",
            Self::OrbitTorque => "orbit_torque_nm",
        }
    }

    /// The column of a name.
    #[must_use]
    pub fn named(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|c| c.name() == name)
    }

    /// Whether the column needs the search for stall limits, the dearest part of a case.
    ///
    /// # Example
    /// ```
    /// use trochoid::job::sweep::Column;
    /// // Five of the 21 columns do; whether the pad stalls here and now needs none.
    /// assert_eq!(Column::ALL.iter().filter(|c| c.is_limit()).count(), 5);
    /// assert!(Column::StallNumber.is_limit() && !Column::Stalled.is_limit());
    /// ```
    #[must_use]
    pub const fn is_limit(self) -> bool {
        matches!(
            self,
            Self::StalledOnFlat
                | Self::StallNumber
                | Self::StallCurvature
                | Self::ReversalCurvature
                | Self::StallCurvatureAlongPanel
        )
    }
}

/// A solved case.
struct Solved<'s> {
    step: &'s Step,
    useful_spin: f64,
    run: SpinState,
    now: Running,
    stall: Stall,
}

/// What the columns of limits hold; nothing for a drive that is not free.
#[derive(Debug, Clone, Copy, Default)]
struct Stall {
    on_flat: Option<bool>,
    sphere: Option<f64>,
    reversal: Option<f64>,
    number: Option<f64>,
    along_panel: Option<f64>,
}

impl Stall {
    fn of_limits(limits: &StallLimits, setup: &Setup) -> Self {
        let at = |c: Option<Crossing>| c.map(|c| c.at);
        Self {
            on_flat: Some(limits.stalled_on_flat),
            sphere: at(limits.sphere),
            reversal: at(limits.reversal),
            number: limits.stall_number(),
            along_panel: limits.along_panel_per_m(setup.patch()),
        }
    }

    /// From the stalling sphere alone, for a panel that is a hollow sphere or flat: its own family of panels
    /// is that of the spheres.
    fn of_sphere(outcome: StallOutcome, own: f64) -> Self {
        let sphere = outcome.curvature();
        let hollow = sphere.filter(|k| *k < 0.0 && own < 0.0);
        Self {
            on_flat: match outcome {
                StallOutcome::At(k) => Some(k > 0.0),
                StallOutcome::Always | StallOutcome::Sticks => Some(true),
                StallOutcome::Never | StallOutcome::Driven => Some(false),
                StallOutcome::Refused => None,
            },
            sphere,
            reversal: None,
            number: hollow.map(|k| own / k),
            along_panel: hollow,
        }
    }
}

/// The sphere that stalls the pad: the one call that a faster search can take the place of.
fn stalling_sphere(setup: &Setup, settings: &StallSettings) -> Result<StallOutcome, ContactError> {
    crate::spin::stalling_sphere(setup, settings, 1.0).map(|s| s.outcome)
}

/// The limits that `columns` ask for, by one search where one is enough.
fn stall(setup: &Setup, settings: &StallSettings, columns: &[Column]) -> Result<Stall, ContactError> {
    let wants = |w: fn(Column) -> bool| columns.iter().any(|c| w(*c));
    let (k1, k2) = setup.patch().principal();
    let is_sphere = (k1 - k2).abs() <= 0.0 && k1 <= 0.0;
    let others = wants(|c| c == Column::ReversalCurvature);
    let along = wants(|c| matches!(c, Column::StallNumber | Column::StallCurvatureAlongPanel));
    if !wants(Column::is_limit) {
        Ok(Stall::default())
    } else if others || (along && !is_sphere) {
        stall_limits(setup, settings, 1.0).map(|l| Stall::of_limits(&l, setup))
    } else {
        stalling_sphere(setup, settings).map(|o| Stall::of_sphere(o, k1))
    }
}

impl Solved<'_> {
    fn cell(&self, column: Column) -> Cell {
        let (setup, run, contact) = (&self.step.setup, &self.run, &self.run.contact);
        let free = setup.tool().bearing().is_some();
        match column {
            Column::SpinRpm => Cell::Number(AngularRate::from_rad_s(run.spin).rpm()),
            Column::Stalled => Cell::Flag(setup.stalls_at(run.spin, self.useful_spin)),
            Column::StalledOnFlat => self.stall.on_flat.map_or(Cell::Missing, Cell::Flag),
            Column::Reverses => Cell::Flag(free && self.now.reverses),
            Column::StallNumber => self.stall.number.into(),
            Column::StallCurvature => self.stall.sphere.into(),
            Column::ReversalCurvature => self.stall.reversal.into(),
            Column::StallCurvatureAlongPanel => self.stall.along_panel.into(),
            Column::ClosedFormReversal => closed_form::reversal_curvature(setup)
                .filter(|_| free)
                .map_or(Cell::Missing, |c| Cell::Number(c.curvature_per_m)),
            Column::MeanPressure => Cell::Number(contact.mean_pressure_pa),
            Column::PeakPressure => Cell::Number(contact.peak_pressure_pa),
            Column::CentrePressure => contact.centre_pressure_pa.into(),
            Column::ContactShare => Cell::Number(contact.contact_share),
            Column::FaceThrow => Cell::Number(2e3 * run.face_orbit_m),
            Column::Sticks => Cell::Flag(run.sticks),
            Column::OrbitSpeed => Cell::Number(run.face_orbit_m * setup.tool().rate().rad_s()),
            Column::PadMeanSpeed => Cell::Number(self.now.mean_speed_m_s),
            Column::VolumeRate => Cell::Number(self.now.volume_rate_m3_s * 1e9),
            Column::CutPerPass => Cell::Number(self.now.cut_per_pass_m * 1e6),
            Column::Friction => Cell::Number(self.now.friction_w),
            Column::OrbitTorque => Cell::Number(self.now.orbit_torque_nm),
        }
    }
}

/// Computes the columns of a step with the bearing as it is described, in their order.
pub(super) fn cells(step: &Step, useful_spin: f64, columns: &[Column]) -> Result<Vec<Cell>, Status> {
    let setup = &step.setup;
    let failed = |e: ContactError| Status::of(&e);
    let run = spin_state(setup, setup.patch(), &ContactSettings::default()).map_err(failed)?;
    let settings = StallSettings { useful_spin, ..StallSettings::default() };
    let stall = stall(setup, &settings, columns).map_err(failed)?;
    let now = Running::of(setup, &Working { feed: step.feed, overlap: step.overlap }, &run);
    let solved = Solved { step, useful_spin, run, now, stall };
    Ok(columns.iter().map(|c| solved.cell(*c)).collect())
}
