//! Couplings of a step: warm paint is cut faster, a loaded pad cuts less, a drying film drags more and slows
//! the pad. Each acts back on what it comes from, so the step is worked out as a fixed point.
//!
//! ```text
//! k_p = k_p0 · f_T(T) · f_L(residue),    μ_i = μ_0 · g_i(share gone) in phase i
//! y = (f_T, f_L, g_1 … g_n) = F(y)       F: contact, spin, heat, film and pad of the step at y
//! ```
//!
//! All components are renewed together, so the order of the couplings has no say. What is held while the
//! point is sought: the path, the drops on a section and the sections between two cleanings, as they are
//! without couplings; on a real panel also the place that the state is told for. Where a target cut then
//! asks for other passes, the point is sought again with those.
//!
//! The three laws are assumed (no published numbers for paint exist), so each is off until it is switched
//! on. That polymers soften with temperature, that a filled face cuts less and that a drying film drags more
//! is common practice, no source.

use super::phase::longest;
use super::step::{StepPlan, StepTask, Work, plan_step};
use super::thermal::{StepHeat, ThermalTask, step_heat};
use crate::Error;
use crate::equipment::{Product, within};
use crate::error::RangeError;
use crate::removal::{Stop, SurfaceSettings, WorkedStop, worked_stops};
use crate::spin::{AtHand, StallSettings};
use crate::units::{Temperature, Time};
use crate::wear::{CLEAN_BELOW, FrictionRise, PadKind, PadTreatment, SectionWork, clean_interval, run_pad};

/// A coupling by its name.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Coupling {
    /// Temperature of the paint on the cut.
    Temperature,
    /// Loading of the pad on the cut.
    Loading,
    /// Drying of the film on friction, spin, cut and heat.
    Drying,
}

impl Coupling {
    /// The word for it, as in the job file.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Temperature => "temperature",
            Self::Loading => "loading",
            Self::Drying => "drying",
        }
    }
}

/// Removal coefficient of warm paint over that at a reference temperature.
///
/// ```text
/// f_T = (1 + r)^((T − T_ref)/10 K)      r relative rise for every 10 K
/// ```
///
/// Our law, assumed; rising for any positive r, 1 at the reference.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TemperatureLaw {
    /// Relative rise of the coefficient for every 10 K \[1\], 0 to 1. `coupling.cut_rise_per_10k`.
    pub rise_per_10k: f64,
    /// Paint temperature at which the coefficient was found, −40 to 100 °C. `coupling.cut_reference_c`.
    pub reference: Temperature,
}

impl Default for TemperatureLaw {
    /// Assumed, no source: a twentieth for every 10 K, from a coefficient that holds at 20 °C.
    fn default() -> Self {
        Self { rise_per_10k: 0.05, reference: Temperature::from_c(20.0) }
    }
}

impl TemperatureLaw {
    /// Checks every number.
    ///
    /// # Errors
    /// The first number outside the range that stands with its field.
    pub fn check(&self) -> Result<(), RangeError> {
        within("coupling.cut_rise_per_10k", self.rise_per_10k, 0.0, 1.0, "")?;
        within("coupling.cut_reference_c", self.reference.c(), -40.0, 100.0, "°C")?;
        Ok(())
    }

    /// f_T at a paint temperature \[1\].
    ///
    /// # Example
    /// ```
    /// use trochoid::Temperature;
    /// use trochoid::plan::TemperatureLaw;
    /// // 20 K above the reference: 1.05².
    /// let f = TemperatureLaw::default().factor(Temperature::from_c(40.0));
    /// assert!((f - 1.1025).abs() < 1e-12);
    /// ```
    #[must_use]
    pub fn factor(&self, paint: Temperature) -> f64 {
        (1.0 + self.rise_per_10k).powf((paint.k() - self.reference.k()) / 10.0)
    }
}

/// Loading: the pad with its laws, and how often it is cleaned.
#[derive(Debug, Clone, PartialEq)]
pub struct LoadingCoupling {
    /// The pad with its product.
    pub kind: PadKind,
    /// Sections between two cleanings; by its loading where none is given.
    pub every: Option<usize>,
}

/// Which couplings are reckoned with; `None` switches one off.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct CouplingLaws {
    /// Temperature of the paint on the cut.
    pub temperature: Option<TemperatureLaw>,
    /// Loading of the pad on the cut.
    pub loading: Option<LoadingCoupling>,
    /// Drying of the film on friction.
    pub drying: Option<FrictionRise>,
}

impl CouplingLaws {
    /// Those switched on.
    #[must_use]
    pub fn on(&self) -> Vec<Coupling> {
        let mut out = Vec::new();
        out.extend(self.temperature.map(|_| Coupling::Temperature));
        out.extend(self.loading.as_ref().map(|_| Coupling::Loading));
        out.extend(self.drying.map(|_| Coupling::Drying));
        out
    }

    /// The same with one of them alone.
    fn only(&self, which: Coupling) -> Self {
        Self {
            temperature: self.temperature.filter(|_| which == Coupling::Temperature),
            loading: self.loading.clone().filter(|_| which == Coupling::Loading),
            drying: self.drying.filter(|_| which == Coupling::Drying),
        }
    }
}

/// Numerical knobs of the fixed point.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CouplingSettings {
    /// Largest |F(y) − y| of any factor at which the point counts as found \[1\], 1e-12 to 0.1; default 1e-6.
    pub tolerance: f64,
    /// Most rounds, 1 to 10 000; default 60.
    pub rounds: usize,
}

impl Default for CouplingSettings {
    /// A millionth, below the last digit of anything printed. A round takes up a tenth or less of the
    /// error in ordinary steps, so six to ten are usual.
    fn default() -> Self {
        Self { tolerance: 1e-6, rounds: 60 }
    }
}

/// What the couplings of a step come to.
#[derive(Debug, Clone, PartialEq)]
pub struct CouplingResult {
    /// Factor of the temperature on the removal coefficient \[1\]; `None` where it is switched off.
    pub temperature: Option<f64>,
    /// Factor of the loading on the removal coefficient, mean over the sections between two cleanings \[1\].
    pub loading: Option<f64>,
    /// Factor of the drying on the friction, mean over each phase \[1\]; one number for a step without phases.
    pub drying: Option<Vec<f64>>,
    /// Paint under the pad, mean over the work ([`StepHeat::worked_paint`]).
    pub paint: Temperature,
    /// Drops on a section, held.
    pub drops: u32,
    /// Sections between two cleanings, held; `None` without the coupling of the loading.
    pub every: Option<usize>,
    /// Removal with one coupling alone over that without any, for each that is on \[1\].
    pub cut_alone: Vec<(Coupling, f64)>,
    /// Removal with all that are on over that without any \[1\].
    pub cut_together: f64,
    /// Spin of the step's state without and with them \[rad/s\].
    pub spin: (f64, f64),
    /// Largest |F(y) − y| of any factor at the point told \[1\].
    pub residual: f64,
    /// What was asked for \[1\].
    pub tolerance: f64,
    /// Rounds that the point of all together took.
    pub rounds: usize,
    /// Whether every point was found to the tolerance, with passes that no longer change.
    pub converged: bool,
}

/// Factors of a step: 1 without couplings.
#[derive(Debug, Clone, PartialEq)]
struct Point {
    temperature: f64,
    loading: f64,
    drying: Vec<f64>,
}

impl Point {
    fn neutral(parts: usize) -> Self {
        Self { temperature: 1.0, loading: 1.0, drying: vec![1.0; parts] }
    }

    fn pairs<'a>(&'a self, other: &'a Self) -> impl Iterator<Item = (f64, f64)> + 'a {
        [(self.temperature, other.temperature), (self.loading, other.loading)]
            .into_iter()
            .chain(self.drying.iter().copied().zip(other.drying.iter().copied()))
    }

    /// Largest difference of any factor.
    fn distance(&self, other: &Self) -> f64 {
        self.pairs(other).map(|(a, b)| (a - b).abs()).fold(0.0, f64::max)
    }

    /// The point a share of the way to another.
    fn towards(&self, other: &Self, share: f64) -> Self {
        let mix = |a: f64, b: f64| a + share * (b - a);
        Self {
            temperature: mix(self.temperature, other.temperature),
            loading: mix(self.loading, other.loading),
            drying: self.drying.iter().zip(&other.drying).map(|(a, b)| mix(*a, *b)).collect(),
        }
    }

    fn scaled(&self, product: &Product, part: usize) -> Result<Product, RangeError> {
        let drying = self.drying.get(part).copied().unwrap_or(1.0);
        Product::new(product.friction() * drying, product.preston_per_pa() * self.temperature * self.loading)
    }

    /// The step with these factors in the product of each phase.
    fn put_into(&self, task: &StepTask) -> Result<StepTask, RangeError> {
        let mut out = task.clone();
        let own = *task.setup.product();
        let told = task.repeated_phase().unwrap_or(0);
        out.setup = out.setup.with_product(self.scaled(&own, told)?);
        for (i, phase) in out.phases.iter_mut().enumerate() {
            phase.product = Some(self.scaled(&phase.product.unwrap_or(own), i)?);
        }
        Ok(out)
    }
}

/// A fixed point as it was found.
struct Found {
    point: Point,
    heat: StepHeat,
    residual: f64,
    rounds: usize,
    converged: bool,
    /// Everything removed at that point, m³.
    removal_m3: f64,
}

/// A step along a path that stays, run again and again with other factors.
struct Trial<'a> {
    task: &'a StepTask,
    /// The plan whose states and stops are put in anew.
    plan: StepPlan,
    /// Stops of each phase with their places on the path, on a real panel.
    stops: Vec<(Vec<Stop>, Vec<usize>)>,
    with: ThermalTask,
    every: Option<usize>,
    settings: &'a StallSettings,
    numerical: &'a CouplingSettings,
}

/// Whether a phase or pass range holds a stop.
fn part_of(plan: &StepPlan, stop: &Stop) -> usize {
    plan.phases.iter().position(|p| p.passes.contains(&(stop.pass as usize))).unwrap_or(0)
}

impl Trial<'_> {
    /// Runs the step with the factors of a point; `None` where the face then sticks throughout.
    fn run(&mut self, point: &Point) -> Result<Option<StepHeat>, Error> {
        let coupled = point.put_into(self.task)?;
        let parts = coupled.parts()?;
        let plan = &mut self.plan;
        if plan.phases.is_empty() {
            plan.setup = plan.setup.clone().with_product(*coupled.setup.product());
            plan.state.rerun(&plan.setup, &self.task.working, self.settings)?;
        } else {
            for (phase, part) in plan.phases.iter_mut().zip(&parts) {
                phase.setup = phase.setup.clone().with_product(*part.setup.product());
                phase.state.rerun(&phase.setup, &phase.working, self.settings)?;
            }
            let main = longest(plan.phases.iter().map(|p| p.time_s));
            plan.state = plan.phases[main].state.clone();
        }
        if let Work::Surface(w) = &mut plan.work {
            for (part, (stops, places)) in parts.iter().zip(&self.stops) {
                let worked = worked_stops(&part.setup, &w.surface, stops, &SurfaceSettings::default())?;
                for (stop, place) in worked.into_iter().zip(places) {
                    w.map.stops[*place] = stop;
                }
            }
        }
        step_heat(&coupled, plan, &self.with)
    }

    /// Everything that the step removes as it was run last, m³.
    fn removal(&self, point: &Point) -> Result<f64, Error> {
        let plan = &self.plan;
        let preston: Vec<f64> =
            point.put_into(self.task)?.parts()?.iter().map(|p| p.setup.product().preston_per_pa()).collect();
        Ok(match &plan.work {
            Work::Surface(w) => {
                let of = |s: &WorkedStop| {
                    s.state.map_or(0.0, |state| preston[part_of(plan, &s.stop)] * state.sums.speed_w * s.stop.time_s)
                };
                w.map.stops.iter().map(of).sum()
            }
            Work::Patch(_) if plan.phases.is_empty() => plan.state.volume_rate_m3_s * plan.time_s,
            Work::Patch(_) => plan.phases.iter().map(|p| p.state.volume_rate_m3_s * p.time_s).sum(),
        })
    }

    /// F: the factors that the step as it was run last asks for.
    fn asked(&self, laws: &CouplingLaws, at: &Point, heat: &StepHeat) -> Result<Point, Error> {
        let mut out = Point::neutral(at.drying.len());
        if let Some(law) = laws.temperature {
            out.temperature = law.factor(heat.worked_paint);
        }
        if let (Some(l), Some(every)) = (&laws.loading, self.every) {
            let mut work = heat.work;
            work.nominal_removal = crate::units::Volume::from_m3(work.nominal_removal.m3() / at.loading);
            out.loading = loading_factor(l, every, &work)?;
        }
        if laws.drying.is_some() {
            let mean = |passes: &[f64]| passes.iter().sum::<f64>() / passes.len().max(1) as f64;
            let all = &heat.friction_by_pass;
            if self.plan.phases.is_empty() {
                out.drying = vec![mean(all)];
            } else {
                let of = |p: &super::PhasePlan| mean(all.get(p.passes.clone()).unwrap_or_default());
                out.drying = self.plan.phases.iter().map(of).collect();
            }
        }
        Ok(out)
    }

    /// The fixed point: y ← y + s (F(y) − y), the share s halved whenever the residual grows. Should the face
    /// stick throughout on the way, the last point before is told, not converged; `None` where it sticks from
    /// the start.
    fn solve(&mut self, laws: &CouplingLaws) -> Result<Option<Found>, Error> {
        self.with.film.friction_rise = laws.drying;
        let mut point = Point::neutral(self.plan.phases.len().max(1));
        let mut found: Option<Found> = None;
        let mut share = 1.0;
        for rounds in 1..=self.numerical.rounds {
            let Some(heat) = self.run(&point)? else { break };
            let next = self.asked(laws, &point, &heat)?;
            let residual = point.distance(&next);
            let converged = residual <= self.numerical.tolerance;
            if found.as_ref().is_some_and(|f| residual > f.residual) {
                share *= 0.5;
            }
            let towards = point.towards(&next, share);
            let removal_m3 = self.removal(&point)?;
            found = Some(Found { point, heat, residual, rounds, converged, removal_m3 });
            if converged {
                break;
            }
            point = towards;
        }
        Ok(found)
    }
}

/// Mean loading factor over the sections from one cleaning to the next, from a clean, primed pad.
fn loading_factor(l: &LoadingCoupling, every: usize, work: &SectionWork) -> Result<f64, RangeError> {
    // Loading alone is asked for: a core that warms would change nothing but the wear.
    let calm = PadKind { heating: l.kind.heating.scaled(0.0), ..l.kind.clone() };
    let treatment = PadTreatment { sections: every, cleaning: None, rest: Time::from_s(0.0) };
    let run = run_pad(&calm, work, Temperature::from_c(20.0), &treatment)?;
    Ok(run.iter().map(|s| s.outcome.cut.loading).sum::<f64>() / run.len().max(1) as f64)
}

/// Most times that the point is sought again because a target cut asks for other passes; beyond it the
/// passes go to and fro, and the result is told as not converged.
const MOST_REFITS: usize = 6;

/// Plans a step with its couplings: the step with the products that hold at the fixed point, and its plan.
///
/// With every coupling off, and where the face sticks throughout, that is the step itself and
/// [`plan_step`]'s plan.
///
/// ```text
/// y ← y + s (F(y) − y)      y factors [1], s share of the step, halved whenever |F(y) − y| grows
/// ```
///
/// # Assumptions and valid range
/// The laws are ours and assumed; what is held while the point is sought stands at the head of the module.
///
/// # Accuracy
/// Each factor agrees with what the step at the told factors asks for to the residual told. On a real panel
/// the plan is made anew at the point found; should its slowest place lie elsewhere then, the
/// factors are those of the old one.
///
/// # Errors
/// As [`plan_step`] and [`step_heat`]; a law outside its range; a friction above 5.
///
/// # Example
/// Warm paint alone, with the step of the example of [`StepTask::new`]:
/// ```
/// use trochoid::equipment::Substrate;
/// use trochoid::plan::{CouplingLaws, TemperatureLaw, ThermalTask, Workshop, plan_coupled};
/// use trochoid::wear::FilmProduct;
/// # use trochoid::plan::{StepTask, Working};
/// # use trochoid::*;
/// # fn main() -> Result<(), Error> {
/// # let tool = Tool::geared(Length::from_mm(15.0), AngularRate::from_opm(4200.0), 0.0)?;
/// # let foam = CompressionLaw::linear(Stiffness::from_kpa_per_mm(0.9))?;
/// # let pad = Pad::new(Length::from_mm(100.0), Length::from_mm(25.0), foam)?;
/// # let setup = Setup::new(tool, pad, Product::new(0.35, 2e-11)?, Patch::flat(), Force::from_n(35.0))?;
/// # let side = Length::from_mm(400.0);
/// # let working = Working { feed: Speed::from_m_s(0.04), overlap: 0.5 };
/// # let task = StepTask::new(setup, Panel::new(Patch::flat(), side, side)?, working);
/// let with = ThermalTask {
///     workshop: Workshop {
///         temperature: Temperature::from_c(20.0), relative_humidity: 0.5, air_speed: Speed::from_m_s(0.1),
///     },
///     substrate: Substrate::Steel,
///     incline: Angle::from_deg(0.0),
///     paint_limit: Temperature::from_c(60.0),
///     film: FilmProduct::default(),
///     drops: None,
/// };
/// let laws = CouplingLaws { temperature: Some(TemperatureLaw::default()), ..CouplingLaws::default() };
/// let (hand, stall, knobs) = (Default::default(), Default::default(), Default::default());
/// let (coupled, plan) = plan_coupled(&task, &hand, &stall, &with, &laws, &knobs)?;
/// // The point found obeys the law: at the paint's T the coefficient is 2e-11/Pa × 1.05^((T − 20 °C)/10 K).
/// let law = |c: f64| 1.05_f64.powf((c - 20.0) / 10.0);
/// let factor = coupled.setup.product().preston_per_pa() / 2e-11;
/// assert!(plan.coupling.is_some_and(|c| c.converged && (factor - law(c.paint.c())).abs() < 1e-5));
/// # Ok(())
/// # }
/// ```
pub fn plan_coupled(
    task: &StepTask,
    at_hand: &AtHand,
    settings: &StallSettings,
    with: &ThermalTask,
    laws: &CouplingLaws,
    numerical: &CouplingSettings,
) -> Result<(StepTask, StepPlan), Error> {
    let mut base = plan_step(task, at_hand, settings)?;
    let on = laws.on();
    if on.is_empty() {
        return Ok((task.clone(), base));
    }
    laws.temperature.map_or(Ok(()), |l| l.check())?;
    within("tolerance", numerical.tolerance, 1e-12, 0.1, "")?;
    within("rounds", numerical.rounds as f64, 1.0, 10_000.0, "")?;
    let Some(fresh) = step_heat(task, &base, with)? else { return Ok((task.clone(), base)) };
    let every = match &laws.loading {
        None => None,
        Some(l) => Some(match l.every {
            Some(n) => n,
            None => clean_interval(&l.kind, &fresh.work, CLEAN_BELOW)?.max(1),
        }),
    };
    let spin_before = base.state.run.spin;
    let held = ThermalTask { drops: Some(fresh.drops), ..*with };
    let mut refits = 0;
    loop {
        let stops = stops_by_part(&base);
        let mut trial = Trial { task, plan: base.clone(), stops, with: held, every, settings, numerical };
        let Some(found) = trial.solve(laws)? else { return Ok((task.clone(), base)) };
        let coupled = found.point.put_into(task)?;
        let mut plan = plan_step(&coupled, at_hand, settings)?;
        let settled = plan.passes == base.passes;
        if !settled && refits < MOST_REFITS {
            base = plan;
            refits += 1;
            continue;
        }
        let without = trial.solve(&CouplingLaws::default())?.map_or(0.0, |f| f.removal_m3);
        let ratio = |m3: f64| if without > 0.0 { m3 / without } else { 1.0 };
        let mut converged = found.converged && settled;
        let mut cut_alone = Vec::with_capacity(on.len());
        for which in on.iter().copied() {
            if on.len() == 1 {
                cut_alone.push((which, ratio(found.removal_m3)));
            } else if let Some(alone) = trial.solve(&laws.only(which))? {
                converged &= alone.converged;
                cut_alone.push((which, ratio(alone.removal_m3)));
            }
        }
        plan.coupling = Some(CouplingResult {
            temperature: laws.temperature.map(|_| found.point.temperature),
            loading: laws.loading.as_ref().map(|_| found.point.loading),
            drying: laws.drying.map(|_| found.point.drying.clone()),
            paint: found.heat.worked_paint,
            drops: fresh.drops,
            every,
            cut_alone,
            cut_together: ratio(found.removal_m3),
            spin: (spin_before, plan.state.run.spin),
            residual: found.residual,
            tolerance: numerical.tolerance,
            rounds: found.rounds,
            converged,
        });
        return Ok((coupled, plan));
    }
}

/// The stops of each phase with their places on the path; none on a rectangle.
fn stops_by_part(plan: &StepPlan) -> Vec<(Vec<Stop>, Vec<usize>)> {
    let Work::Surface(w) = &plan.work else { return Vec::new() };
    let mut out = vec![(Vec::new(), Vec::new()); plan.phases.len().max(1)];
    for (place, worked) in w.map.stops.iter().enumerate() {
        let (stops, places) = &mut out[part_of(plan, &worked.stop)];
        stops.push(worked.stop);
        places.push(place);
    }
    out
}
