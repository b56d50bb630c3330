//! Passes for one zone, kit by kit: the shortest work that corrects it, or that refines it, within the
//! paint that may go at the stated confidence.
//!
//! The cut of a pass is the closed area mean over lines as they are really fitted onto the zone; the map
//! of the kit that is chosen follows later and may correct the passes by one.

use super::allowance::largest_cut;
use super::operator::Operator;
use super::setting::{Grid, KitOnPaint, Setting, evenly};
use super::zone::{Goal, ZoneTask, goal_of};
use crate::error::RangeError;
use crate::finish::{CLEAR_COAT_INDEX, Marks, Surface, correction, visible_depth, visible_roughness};
use crate::math::distribution::{LogNormal, normal_quantile};
use crate::plan::{Limit, PaintStep};
use crate::units::Length;

/// A step of work on a zone.
#[derive(Debug, Clone, PartialEq)]
pub struct PassWork {
    /// Rate and force.
    pub setting: Setting,
    /// Feed \[m/s\].
    pub feed: f64,
    /// Passes, crosshatched.
    pub passes: usize,
    /// Cut of all passes at the median removal coefficient, m.
    pub cut_m: f64,
    /// Standard deviation of its logarithm \[1\].
    pub ln_sd: f64,
    /// Time with the pad on, s.
    pub time_s: f64,
    /// That time with its penalties, by which kits are compared, s.
    pub cost_s: f64,
    /// Marks that it leaves; `None` without a known grain.
    pub marks: Option<Marks>,
    /// Share corrected to the eye at the low end of the cut (cutting), or RMS roughness at the high end over
    /// that from which haze shows (refining) \[1\].
    pub reaches: f64,
    /// What keeps it from the goal, where it does not reach it.
    pub short: Option<Limit>,
}

impl PassWork {
    /// The work as the paint sees it.
    #[must_use]
    pub fn paint_step(&self, name: &str, pairing: usize) -> PaintStep {
        PaintStep { name: name.to_owned(), cut_m: self.cut_m, ln_sd: self.ln_sd, pairing, marks: self.marks }
    }
}

/// Area mean of the cut \[m\] and time \[s\] of `passes` crosshatched passes over a rectangle, lines from
/// edge to edge, evenly fitted at no more than `spacing` \[m\].
///
/// ```text
/// h = V̇/f · (n_x/s_x + n_y/s_y)     t = (n_x L_x + n_y L_y)/f
/// ```
///
/// with V̇ the volume rate \[m³/s\], f the feed \[m/s\], n passes each way, s the fitted spacing \[m\] and L the
/// length of a pass \[m\], its links included.
///
/// # Assumptions and valid range
/// The cut is that away from the edges, where neighbouring lines overlap in full; contact and spin are the same
/// all over.
///
/// # Example
/// ```
/// use trochoid::plan::vehicle::pass_cut;
/// // 0.5 m across in 10 gaps of 50 mm: 2 mm³/s over 40 mm/s × 50 mm cut 1 µm; 11 lines of 1 m and 0.5 m of
/// // links take 11.5 m/0.04 m/s = 287.5 s.
/// let (cut, time) = pass_cut(2e-9, (1.0, 0.5), 0.05, 0.04, 1);
/// assert!((cut - 1e-6).abs() < 1e-15 && (time - 287.5).abs() < 1e-9);
/// ```
#[must_use]
pub fn pass_cut(volume_rate_m3_s: f64, size_m: (f64, f64), spacing: f64, feed: f64, passes: usize) -> (f64, f64) {
    let one_way = |run: f64, across: f64| {
        // As the path itself rounds it.
        let gaps = (across / spacing - 1e-9).ceil().max(1.0);
        (across / gaps, (gaps + 1.0) * run + across)
    };
    let (first, second) = (one_way(size_m.0, size_m.1), one_way(size_m.1, size_m.0));
    let (n, m) = (passes.div_ceil(2) as f64, (passes / 2) as f64);
    (volume_rate_m3_s / feed * (n / first.0 + m / second.0), (n * first.1 + m * second.1) / feed)
}

/// One rate, force and feed of a kit on a zone, and its cut for any number of passes.
struct Trial<'a> {
    kit: &'a KitOnPaint,
    setting: &'a Setting,
    size_m: (f64, f64),
    spacing: f64,
    feed: f64,
}

impl Trial<'_> {
    fn cut(&self, passes: usize) -> f64 {
        pass_cut(self.setting.volume_rate_m3_s, self.size_m, self.spacing, self.feed, passes).0
    }

    /// Fewest passes of at least `least` that cut `wanted` \[m\], and most that cut no more than `most`
    /// \[m\], both up to `up_to`.
    fn passes(&self, wanted: f64, most: f64, least: usize, up_to: usize) -> (Option<usize>, usize) {
        let enough = (least..=up_to).find(|n| self.cut(*n) >= wanted);
        let within = (1..=up_to).take_while(|n| self.cut(*n) <= most).count();
        (enough, within)
    }

    fn work(&self, passes: usize, marks: Option<Marks>, goal: &Goal, reaches: f64, short: Option<Limit>) -> PassWork {
        let (cut_m, time_s) = pass_cut(self.setting.volume_rate_m3_s, self.size_m, self.spacing, self.feed, passes);
        let cost_s = time_s * if self.setting.sure { 1.0 } else { goal.sure_factor };
        PassWork {
            setting: self.setting.clone(),
            feed: self.feed,
            passes,
            cut_m,
            ln_sd: self.kit.ln_sd(),
            time_s,
            cost_s,
            marks,
            reaches,
            short,
        }
    }
}

/// Every trial of a kit on a zone, feeds inside settings.
fn trials<'a>(
    zone: &'a ZoneTask,
    kit: &'a KitOnPaint,
    settings: &'a [Setting],
    operator: &'a Operator,
    grid: &Grid,
) -> impl Iterator<Item = Trial<'a>> {
    let feeds = evenly(operator.feed_m_s(), grid.feeds);
    let spacing = (1.0 - operator.overlap()) * kit.pad.diameter().m();
    let cool = |s: &&Setting| zone.most_power_w.is_none_or(|w| s.friction_w <= w);
    settings.iter().filter(cool).flat_map(move |setting| {
        feeds.clone().into_iter().map(move |feed| Trial { kit, setting, size_m: zone.size_m, spacing, feed })
    })
}

/// Medians of what was cut already, m, and the largest spread among it.
fn spent(steps: &[PaintStep]) -> (f64, f64) {
    steps.iter().fold((0.0, 0.0), |(cut, sd): (f64, f64), s| (cut + s.cut_m, sd.max(s.ln_sd)))
}

/// Better of two works towards a goal: one that reaches it, then the cheaper; of two that fall short, the
/// one that comes nearer.
fn better(new: &PassWork, old: &PassWork, nearer: impl Fn(&PassWork, &PassWork) -> bool) -> bool {
    match (&new.short, &old.short) {
        (None, Some(_)) => true,
        (Some(_), None) => false,
        (None, None) => (new.cost_s, new.passes as f64) < (old.cost_s, old.passes as f64),
        (Some(_), Some(_)) => nearer(new, old),
    }
}

/// What may go on one zone, by the spread of the cut: kits share a few spreads, and each costs a search.
#[derive(Debug, Clone, Default)]
pub struct Room(Vec<(f64, f64)>);

impl Room {
    fn at(&mut self, zone: &ZoneTask, ln_sd: f64, confidence: f64) -> Result<f64, RangeError> {
        if let Some((_, most)) = self.0.iter().find(|(sd, _)| sd.to_bits() == ln_sd.to_bits()) {
            return Ok(*most);
        }
        let most = largest_cut(&zone.clear, &zone.policy, ln_sd, confidence)?;
        self.0.push((ln_sd, most));
        Ok(most)
    }
}

/// How much of the correction two works may differ by and still count as alike.
const ALIKE: f64 = 0.02;

/// The best cutting work of each kit; `None` where the kit cannot work the zone, where nothing is to be
/// corrected, or where another kit reaches what this one does not. `reserve_m` of the allowed cut is left
/// for refining.
///
/// ```text
/// wanted = h exp(z σ) − done        h cut that reaches the goal [m], z quantile of the confidence [1],
///                                   σ standard deviation of ln k_p [1], done what was cut already [m]
/// ```
///
/// # Assumptions and valid range
/// The cut of a pass is [`pass_cut`]; its spread is that of the removal coefficient. Of two works that reach the
/// goal the cheaper is kept, of two that do not the one that comes nearer.
///
/// # Errors
/// A goal that no cut reaches; numbers outside the ranges of the distributions.
///
/// # Example
/// ```
/// use trochoid::budget::{ClearCoat, Policy};
/// use trochoid::equipment::{Paint, Pairing};
/// use trochoid::finish::Defect;
/// use trochoid::plan::vehicle::{Goal, Grid, KitOnPaint, Operator, Room, ZoneTask, cut_options, goal_of, settings_on};
/// # use trochoid::*;
/// # fn main() -> Result<(), Error> {
/// let tool = Tool::geared(Length::from_mm(15.0), AngularRate::from_opm(4200.0), 0.05)?;
/// let foam = CompressionLaw::linear(Stiffness::from_kpa_per_mm(0.9))?;
/// let pad = Pad::new(Length::from_mm(100.0), Length::from_mm(25.0), foam)?;
/// let pairing = Pairing::new(Product::new(0.35, 2e-11)?, 0.2)?;
/// let kit = KitOnPaint { tool, pad, pairing, grain: None, drag_range: (0.5, 2.0) };
/// let (operator, grid, flat, useful_spin) = (Operator::default(), Grid::default(), Patch::flat(), 6.28);
/// let tried = settings_on(&kit, &flat, &operator, &grid, useful_spin)?;
/// let zone = ZoneTask {
///     patch: flat,
///     size_m: (0.5, 0.4),
///     paint: Paint::default(),
///     clear: ClearCoat::stated(Length::from_um(45.0), Length::from_um(0.0))?,
///     policy: Policy::default(),
///     defects: vec![Defect::SwirlMarks],
///     kits: vec![Some(kit)],
///     most_power_w: None,
///     done: Vec::new(),
/// };
/// let (most_passes, sure_factor) = (Goal::MOST_PASSES, Goal::SURE_FACTOR);
/// let goal = Goal { correction: 0.7, confidence: 0.9, useful_spin, most_passes, sure_factor };
/// // Swirl marks are taken to be 0.8 µm deep; 70 % of what shows is gone with less than twice that.
/// let needed = goal_of(&zone, &goal)?.map_or(f64::NAN, |(_, _, cut)| cut);
/// assert!(needed > 0.2e-6 && needed < 1.6e-6);
/// // Nine times in ten a cut with the spread 0.198 of its logarithm is above its median over
/// // exp(1.2816 × 0.198) = 1.289.
/// let found = cut_options(&zone, &goal, &operator, &grid, &[tried.settings], 0.0, &mut Room::default())?;
/// assert!(found[0].as_ref().is_some_and(|w| w.short.is_none() && w.cut_m > 1.288 * needed));
/// # Ok(())
/// # }
/// ```
pub fn cut_options(
    zone: &ZoneTask,
    goal: &Goal,
    operator: &Operator,
    grid: &Grid,
    settings: &[Vec<Setting>],
    reserve_m: f64,
    room: &mut Room,
) -> Result<Vec<Option<PassWork>>, RangeError> {
    let mut out: Vec<Option<PassWork>> = vec![None; zone.kits.len()];
    let Some((_, depths, needed)) = goal_of(zone, goal)? else { return Ok(out) };
    let visible = Length::from_m(visible_depth(zone.paint.lightness())?.median());
    let z = normal_quantile(goal.confidence);
    let (done, done_sd) = spent(&zone.done);
    for (k, kit) in zone.kits.iter().enumerate() {
        let Some(kit) = kit else { continue };
        if settings[k].is_empty() {
            continue;
        }
        let ln_sd = kit.ln_sd();
        let wanted = needed * (z * ln_sd).exp() - done;
        let most = room.at(zone, ln_sd.max(done_sd), goal.confidence)? - done - reserve_m;
        for trial in trials(zone, kit, &settings[k], operator, grid) {
            let (enough, within) = trial.passes(wanted, most, 2, goal.most_passes);
            let (passes, short) = match enough {
                Some(n) if n <= within => (n, None),
                _ if within == 0 => continue,
                // Held back by the paint or by the number of passes.
                _ => {
                    let by_paint = within < goal.most_passes;
                    let (value, limit) = if by_paint { (wanted, most) } else { (wanted, trial.cut(within)) };
                    let name = if by_paint { "paint_budget" } else { "passes" };
                    let margin = (limit - value) / limit;
                    (within, Some(Limit { name, value: value * 1e6, limit: limit * 1e6, margin, unit: "µm" }))
                }
            };
            let low = (trial.cut(passes) + done) * (-z * ln_sd).exp();
            let reaches = correction(&depths, Length::from_m(low), visible)?.optical;
            let marks = kit.marks(trial.setting.pressure_pa, &zone.paint)?;
            let work = trial.work(passes, marks, goal, reaches, short);
            let nearer = |a: &PassWork, b: &PassWork| {
                a.reaches > b.reaches + ALIKE || (a.reaches > b.reaches - ALIKE && a.cost_s < b.cost_s)
            };
            if out[k].as_ref().is_none_or(|old| better(&work, old, nearer)) {
                out[k] = Some(work);
            }
        }
    }
    keep_the_able(&mut out, |best, w| w.reaches >= best - ALIKE, f64::max);
    Ok(out)
}

/// Drops what falls short where something reaches the goal, else what is clearly behind the best.
fn keep_the_able(
    options: &mut [Option<PassWork>],
    near: impl Fn(f64, &PassWork) -> bool,
    best_of: impl Fn(f64, f64) -> f64,
) {
    let reaches = options.iter().flatten().any(|w| w.short.is_none());
    let best = options.iter().flatten().map(|w| w.reaches).reduce(best_of);
    for o in options.iter_mut() {
        let keep =
            o.as_ref().is_some_and(|w| if reaches { w.short.is_none() } else { best.is_some_and(|b| near(b, w)) });
        if !keep {
            *o = None;
        }
    }
}

/// The best refining work of each kit with a known grain, on a surface as the work before left it;
/// `spent_steps` is that work. `None` where the kit cannot work the zone or would take more paint than
/// may go.
///
/// Haze is gone where the roughness at the upper end of its interval is below that from which it shows on
/// paint of that lightness; where none gets there, the finest stay, marked short.
///
/// The tables are made as in the example of [`cut_options`]; `before` is a
/// [`Surface`](crate::finish::Surface) that was worked with the marks of the cutting step, and each kit tells
/// its `grain`.
///
/// # Assumptions and valid range
/// As [`cut_options`]; the finish as in [`crate::finish`], whose depths of marks are estimates.
///
/// # Errors
/// Numbers outside the ranges of the finish models.
#[allow(clippy::too_many_arguments)] // what stands before the refining, beside what stands for both
pub fn refine_options(
    zone: &ZoneTask,
    goal: &Goal,
    operator: &Operator,
    grid: &Grid,
    settings: &[Vec<Setting>],
    before: &Surface,
    spent_steps: &[PaintStep],
    room: &mut Room,
) -> Result<Vec<Option<PassWork>>, RangeError> {
    let mut out: Vec<Option<PassWork>> = vec![None; zone.kits.len()];
    let Some(visible) = visible_roughness(zone.paint.lightness(), CLEAR_COAT_INDEX)?.map(Length::m) else {
        return Ok(out);
    };
    let (done, done_sd) = spent(spent_steps);
    for (k, kit) in zone.kits.iter().enumerate() {
        let Some(kit) = kit.as_ref().filter(|k| k.grain.is_some()) else { continue };
        if settings[k].is_empty() {
            continue;
        }
        let ln_sd = kit.ln_sd();
        let most = room.at(zone, ln_sd.max(done_sd), goal.confidence)? - done;
        for trial in trials(zone, kit, &settings[k], operator, grid) {
            let Some(marks) = kit.marks(trial.setting.pressure_pa, &zone.paint)? else { continue };
            let (_, within) = trial.passes(f64::INFINITY, most, 2, goal.most_passes);
            if within == 0 {
                continue;
            }
            let rough = |n: usize| -> Result<f64, RangeError> {
                Ok(before.worked(marks, LogNormal::new(trial.cut(n), ln_sd)?).rms(goal.confidence)?.high)
            };
            let end = rough(within)?;
            // Within a tenth of what the longest work leaves is as fine as it gets.
            let target = if end <= visible { visible } else { 1.1 * end };
            let (mut passes, mut got) = (within, end);
            for n in 2.min(within)..within {
                let r = rough(n)?;
                if r <= target {
                    (passes, got) = (n, r);
                    break;
                }
            }
            let short = (got > visible).then(|| Limit {
                name: "finish",
                value: got * 1e9,
                limit: visible * 1e9,
                margin: (visible - got) / visible,
                unit: "nm",
            });
            let work = trial.work(passes, Some(marks), goal, got / visible, short);
            let nearer = |a: &PassWork, b: &PassWork| {
                a.reaches < 0.98 * b.reaches || (a.reaches < 1.02 * b.reaches && a.cost_s < b.cost_s)
            };
            if out[k].as_ref().is_none_or(|old| better(&work, old, nearer)) {
                out[k] = Some(work);
            }
        }
    }
    keep_the_able(&mut out, |best, w| w.reaches <= 1.05 * best, f64::min);
    Ok(out)
}
