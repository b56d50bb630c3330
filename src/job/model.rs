//! What a job is once it has been read: validated descriptions by name, and the steps.

use super::coupling::CouplingSwitches;
use super::hand::HandSettings;
use super::machine::MachineSettings;
use super::optimize::OptimizeSettings;
use super::paint_tables::BudgetSettings;
use super::real_panel::RealPanel;
use super::season::SeasonSettings;
use super::sizing::SizingSettings;
use super::vehicle::Vehicle;
use crate::budget::{Look, PairedReading};
use crate::equipment::defaults::{self, Grade};
use crate::equipment::{Pad, Paint, Pairing, Product, Tool};
use crate::error::RangeError;
use crate::finish::{Defect, Face, GlossReading, RoughnessFound};
use crate::motion::{PathOptions, Pattern};
use crate::panel::Panel;
use crate::plan::{Phase, StepPlan, StepTask, SurfaceTask, Working};
use crate::spin::{CountedSpin, Setup};
use crate::units::{AngularRate, Force, Length, Speed, Temperature};
use crate::wear::FilmProduct;
use std::sync::Arc;

/// A description and the name its table gives it: 1 to 100 characters, no control characters.
#[derive(Debug, Clone, PartialEq)]
pub struct Named<T> {
    /// The NAME of `[kind.NAME]`.
    pub name: String,
    /// What it describes.
    pub item: T,
}

/// `[ambient]` of a job: air of the workshop; 20 °C, half humidity and 0.2 m/s by default.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ambient {
    /// Air temperature, −40 to 60 °C.
    pub temperature: Temperature,
    /// Relative humidity \[1\], 0 to 1.
    pub relative_humidity: f64,
    /// Speed of the air over the panel, 0 to 50 m/s.
    pub air_speed: Speed,
}

/// `[limits]` of a job: limits that are the user's to set.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limits {
    /// Spin below which a pad counts as stalled, 0.1 to 5000 rpm; 60 rpm by default (common practice, no source).
    pub useful_spin: AngularRate,
    /// Highest temperature of the paint, 25 to 200 °C; by what lies under it where none is given.
    pub paint: Option<Temperature>,
}

/// `[map]` of a job: grid of the maps.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MapSettings {
    /// Side of a cell, 0.05 to 100 mm.
    pub cell: Length,
}

/// `[pairing.NAME]`: what one pad does with one product, on one paint or on any.
#[derive(Debug, Clone, PartialEq)]
pub struct PairingRule {
    /// Name of the pad.
    pub pad: String,
    /// Name of the product.
    pub product: String,
    /// Name of the paint; any paint without it.
    pub paint: Option<String>,
    /// Friction and removal: the product's where the pairing does not override them.
    pub pairing: Pairing,
}

/// `[tool.NAME.counted_spin]`: one counted rotation on a flat panel, ready for
/// [`calibrate_drag`](crate::spin::calibrate_drag).
#[derive(Debug, Clone, PartialEq)]
pub struct SpinCount {
    /// Name of the tool whose bearing the count is of.
    pub tool_name: String,
    /// Name of the pad used.
    pub pad_name: String,
    /// Name of the product used.
    pub product_name: String,
    /// Name of the paint worked on, where given.
    pub paint_name: Option<String>,
    /// Turns and time.
    pub count: CountedSpin,
    /// The set-up at the time of the count, on a flat, with the bearing as described.
    pub setup: Setup,
}

/// `[[spot]]`: what was recorded at a test spot worked with the settings of a step, or with settings of its own.
#[derive(Debug, Clone, PartialEq)]
pub struct TestSpotRecord {
    /// Name of the spot.
    pub name: String,
    /// Name of the step whose settings were used.
    pub step_name: String,
    /// Passes done.
    pub passes: usize,
    /// Film before and after.
    pub pairs: Vec<PairedReading>,
    /// What the eye saw after the last pass.
    pub look: Option<Look>,
    /// Counted rotation of the pad.
    pub count: Option<CountedSpin>,
    /// Gloss before and after.
    pub gloss: Option<GlossReading>,
}

/// `[[step.phase]]`: one phase of a step as it was read; what it leaves out is the step's.
#[derive(Debug, Clone, PartialEq)]
pub struct StepPhase {
    /// The phase as the planner takes it.
    pub phase: Phase,
    /// Force of the hand, N, as in [`Step::hand_force_n`].
    pub hand_force_n: Option<f64>,
    /// Setting on the machine's own scale \[mark\], as in [`Step::speed_setting`].
    pub speed_setting: Option<f64>,
}

/// `[[step]]`: a set-up and how it is led over its panel.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct Step {
    /// Name, unique in the job.
    pub name: String,
    /// Name of the tool.
    pub tool_name: String,
    /// Name of the pad.
    pub pad_name: String,
    /// Name of the product.
    pub product_name: String,
    /// Name of the panel.
    pub panel_name: String,
    /// Name of the panel's paint, where it has one.
    pub paint_name: Option<String>,
    /// Name of the pairing that holds for this pad, product and paint, where there is one.
    pub pairing_name: Option<String>,
    /// Tool at the step's rate, pad, effective product, patch, hold and face force.
    pub setup: Setup,
    /// The panel.
    pub panel: Panel,
    /// The real panel, where the job describes one; `panel` then is its box, and its patch what the
    /// pad feels in the middle.
    pub real_panel: Option<Arc<RealPanel>>,
    /// How the real panel is worked.
    pub surface: Option<SurfaceTask>,
    /// Defects seen on the panel.
    pub defects: Vec<Defect>,
    /// Grain of the product, where it is given.
    pub grain: Option<Length>,
    /// Face of the pad.
    pub face: Face,
    /// What gloss on test spots tells of the roughness that the step leaves.
    pub roughness: Option<RoughnessFound>,
    /// The product as it dries.
    pub film: FilmProduct,
    /// Drops on a section, where they are given.
    pub drops: Option<u32>,
    /// Highest core temperature of the pad.
    pub core_limit: Temperature,
    /// Sections after which the pad is cleaned, where given.
    pub clean_every: Option<usize>,
    /// Its paint; all defaults where none is named.
    pub paint: Paint,
    /// Effective product numbers and their spread.
    pub pairing: Pairing,
    /// Force of the hand, N: as given, or what the face force asks of the hand beside the tool's
    /// weight; unknown without a tool mass. Negative: the hand carries part of the weight.
    pub hand_force_n: Option<f64>,
    /// Setting on the machine's own scale \[mark\]: as given, or the one that gives the rate; none without a
    /// scale or outside it.
    pub speed_setting: Option<f64>,
    /// Feed, 0.1 to 10 000 mm/s.
    pub feed: Speed,
    /// Overlap of the pass lines \[1\], share of the pad's face diameter, −1 to 0.95; negative leaves the
    /// lines apart.
    pub overlap: f64,
    /// Number of passes, 1 to 1000; those of the phases together where there are phases.
    pub passes: usize,
    /// Phases in order, 2 to 8; empty for a step that is one phase.
    pub phases: Vec<StepPhase>,
    /// Pattern of the passes on a rectangle.
    pub pattern: Pattern,
    /// The word that the job has for the pattern.
    pub pattern_name: &'static str,
    /// Inset, turns and leads of the pass lines.
    pub path_options: PathOptions,
    /// Cut asked for, where given, 0.01 to 200 µm.
    pub target_cut: Option<Length>,
}

/// The settings that the state of a planned step is told for: the step's own, or those of its main phase.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ToldSettings {
    /// Orbit rate; 0 for a rotary drive.
    pub rate: AngularRate,
    /// Normal force on the face.
    pub force: Force,
    /// Feed.
    pub feed: Speed,
    /// Force of the hand \[N\], as in [`Step::hand_force_n`].
    pub hand_force_n: Option<f64>,
    /// Setting on the machine's own scale \[mark\], as in [`Step::speed_setting`].
    pub speed_setting: Option<f64>,
}

impl Step {
    /// The settings that the state of a plan of this step is told for: those of the main phase of the plan
    /// where it has phases, else the step's own.
    ///
    /// # Example
    /// ```
    /// use trochoid::job::{Job, STARTER};
    /// use trochoid::plan::plan_step;
    /// use trochoid::spin::{AtHand, StallSettings};
    /// # fn main() -> Result<(), Box<dyn std::error::Error>> {
    /// let job = Job::parse("starter.toml", STARTER)?;
    /// let task = job.steps[1].task(job.map.cell, (0.5, 2.0));
    /// let plan = plan_step(&task, &AtHand::default(), &StallSettings::default())?;
    /// // No phases: what the step says itself, 30 N at mark 3.
    /// let told = job.steps[1].told(&plan);
    /// assert_eq!((told.force.n(), told.speed_setting), (30.0, Some(3.0)));
    /// # Ok(())
    /// # }
    /// ```
    #[must_use]
    pub fn told(&self, plan: &StepPlan) -> ToldSettings {
        let own = ToldSettings {
            rate: self.setup.tool().rate(),
            force: self.setup.force(),
            feed: self.feed,
            hand_force_n: self.hand_force_n,
            speed_setting: self.speed_setting,
        };
        let Some(main) = plan.main_phase() else { return own };
        let read = self.phases.iter().find(|p| p.phase.name == main.name);
        ToldSettings {
            rate: main.setup.tool().rate(),
            force: main.setup.force(),
            feed: main.working.feed,
            hand_force_n: read.map_or(own.hand_force_n, |p| p.hand_force_n),
            speed_setting: read.map_or(own.speed_setting, |p| p.speed_setting),
        }
    }
}

/// A value as `check` prints it.
#[derive(Debug, Clone, PartialEq)]
pub struct Resolved {
    /// Key path, as in `pad.wide.loss_factor`.
    pub key: String,
    /// The value with its unit.
    pub value: String,
    /// Where it comes from: `job file`, or the source of a default.
    pub source: String,
    /// Grade of a default or derived value; how well a value from the job file is known is its
    /// writer's to say.
    pub grade: Option<Grade>,
    /// Whether the job left the key out.
    pub is_default: bool,
}

/// A job: everything named in the file, and its steps in order.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub struct Job {
    /// Name of the file it was read from.
    pub file_name: String,
    /// Title, where given.
    pub title: Option<String>,
    /// Air of the workshop.
    pub ambient: Ambient,
    /// Limits.
    pub limits: Limits,
    /// Grid of the maps.
    pub map: MapSettings,
    /// Which couplings are reckoned with.
    pub coupling: CouplingSwitches,
    /// How much of the clear coat may go, and what was read of the film.
    pub budget: BudgetSettings,
    /// Vehicles and prices of a season, where given.
    pub season: Option<SeasonSettings>,
    /// The hand that works the steps, where the job describes one.
    pub hand: Option<HandSettings>,
    /// What a machine may do with the feed.
    pub optimize: OptimizeSettings,
    /// The designs that a tool is to be chosen from, where the job asks for it.
    pub sizing: Option<SizingSettings>,
    /// Test spots in file order.
    pub spots: Vec<TestSpotRecord>,
    /// Settings of test spots that bring their own instead of naming a step.
    pub spot_steps: Vec<Step>,
    /// The vehicle to be planned, where the job has one instead of steps.
    pub vehicle: Option<Vehicle>,
    /// What is known of the machine of each tool beside what its work needs, in the order of the tools.
    pub machines: Vec<Named<MachineSettings>>,
    /// Tools in file order.
    pub tools: Vec<Named<Tool>>,
    /// Pads in file order.
    pub pads: Vec<Named<Pad>>,
    /// Products in file order.
    pub products: Vec<Named<Product>>,
    /// Paints in file order.
    pub paints: Vec<Named<Paint>>,
    /// Pairings in file order; no two are for the same pad, product and paint.
    pub pairings: Vec<Named<PairingRule>>,
    /// Panels in file order.
    pub panels: Vec<Named<Panel>>,
    /// Counted rotations, at most one a tool.
    pub counted_spins: Vec<SpinCount>,
    /// Steps in file order, at least one; none where a vehicle is planned.
    pub steps: Vec<Step>,
    /// Every value of the job, given or default, in the order of the tables.
    pub resolved: Vec<Resolved>,
    /// What was accepted but has no effect or looks unintended.
    pub warnings: Vec<String>,
}

impl Step {
    /// The step as the planner takes it: with cells of the maps, and factors \[1\] that bound what is known of
    /// the bearing drag, (0.5, 2.0) until it is calibrated.
    ///
    /// # Example
    /// ```
    /// use trochoid::job::{Job, STARTER};
    /// let job = Job::parse("starter.toml", STARTER)?;
    /// let task = job.steps[0].task(job.map.cell, (0.5, 2.0));
    /// // Lines (1 − 0.5) · 130 mm = 65 mm apart.
    /// let spacing = (1.0 - task.working.overlap) * task.setup.pad().diameter().mm();
    /// assert!((spacing - 65.0).abs() < 1e-9);
    /// # Ok::<(), trochoid::job::Problem>(())
    /// ```
    #[must_use]
    pub fn task(&self, cell: Length, drag_range: (f64, f64)) -> StepTask {
        StepTask {
            setup: self.setup.clone(),
            panel: self.panel,
            surface: self.surface.clone(),
            pairing: self.pairing,
            working: Working { feed: self.feed, overlap: self.overlap },
            passes: self.passes,
            phases: self.phases.iter().map(|p| p.phase.clone()).collect(),
            pattern: self.pattern,
            path_options: self.path_options,
            target_cut: self.target_cut,
            cell,
            drag_range,
        }
    }
}

impl Default for Ambient {
    fn default() -> Self {
        Self {
            temperature: Temperature::from_c(defaults::AIR_TEMPERATURE_C),
            relative_humidity: defaults::RELATIVE_HUMIDITY,
            air_speed: Speed::from_m_s(defaults::AIR_SPEED_M_S),
        }
    }
}

impl Ambient {
    /// Air from its numbers.
    ///
    /// # Errors
    /// Temperature outside −40 to 60 °C, humidity outside 0 to 1, air speed outside 0 to 50 m/s.
    ///
    /// # Example
    /// ```
    /// use trochoid::job::Ambient;
    /// use trochoid::{Speed, Temperature};
    /// let usual = Ambient::new(Temperature::from_c(20.0), 0.5, Speed::from_m_s(0.2))?;
    /// assert_eq!(usual, Ambient::default());
    /// assert!(Ambient::new(Temperature::from_c(20.0), 50.0, Speed::from_m_s(0.2)).is_err()); // a share, not %
    /// # Ok::<(), trochoid::RangeError>(())
    /// ```
    pub fn new(temperature: Temperature, relative_humidity: f64, air_speed: Speed) -> Result<Self, RangeError> {
        crate::equipment::within("temperature_c", temperature.c(), -40.0, 60.0, "°C")?;
        crate::equipment::within("relative_humidity", relative_humidity, 0.0, 1.0, "")?;
        crate::equipment::within("air_speed_m_s", air_speed.m_s(), 0.0, 50.0, "m/s")?;
        Ok(Self { temperature, relative_humidity, air_speed })
    }
}

impl Default for Limits {
    fn default() -> Self {
        Self { useful_spin: AngularRate::from_rpm(defaults::USEFUL_SPIN_RPM), paint: None }
    }
}

impl Default for MapSettings {
    fn default() -> Self {
        Self { cell: Length::from_mm(defaults::CELL_MM) }
    }
}

/// The pairing that holds for a pad, a product and a paint: the one for this paint, else the one
/// for any paint.
pub(super) fn pairing_for<'r>(
    rules: &'r [Named<PairingRule>],
    pad: &str,
    product: &str,
    paint: Option<&str>,
) -> Option<&'r Named<PairingRule>> {
    let fits = |r: &&Named<PairingRule>| r.item.pad == pad && r.item.product == product;
    let exact = paint.and_then(|p| rules.iter().filter(fits).find(|r| r.item.paint.as_deref() == Some(p)));
    exact.or_else(|| rules.iter().filter(fits).find(|r| r.item.paint.is_none()))
}

impl Job {
    /// What `pad` does with `product` on `paint`: the pairing that holds, else the product alone
    /// with the default spread. A pairing for this paint goes before one for any paint. `None` where there is no
    /// product of that name.
    ///
    /// # Example
    /// ```
    /// use trochoid::job::{Job, STARTER};
    /// let spot = "[pairing.spot]\npad = \"cutting\"\nproduct = \"compound\"\npreston_per_pa = 2.4e-11\n";
    /// let job = Job::parse("starter.toml", &format!("{STARTER}\n{spot}"))?;
    /// let per_pa = |pad: &str| job.pairing(pad, "compound", None).map(|p| p.product().preston_per_pa());
    /// // The pairing overrides the product's 2e-11 1/Pa for this pad only.
    /// assert_eq!((per_pa("cutting"), per_pa("finishing")), (Some(2.4e-11), Some(2.0e-11)));
    /// # Ok::<(), trochoid::job::Problem>(())
    /// ```
    #[must_use]
    pub fn pairing(&self, pad: &str, product: &str, paint: Option<&str>) -> Option<Pairing> {
        pairing_for(&self.pairings, pad, product, paint)
            .map(|r| r.item.pairing)
            .or_else(|| self.products.iter().find(|p| p.name == product).map(|p| Pairing::of(p.item)))
    }

    /// What is known of the machine of a tool; nothing for a name that the job does not have.
    #[must_use]
    pub fn machine(&self, tool: &str) -> MachineSettings {
        self.machines.iter().find(|m| m.name == tool).map(|m| m.item).unwrap_or_default()
    }

    /// The step of a name, or the settings of a test spot of that name that brings its own.
    #[must_use]
    pub fn step(&self, name: &str) -> Option<&Step> {
        self.steps.iter().chain(&self.spot_steps).find(|s| s.name == name)
    }
}
