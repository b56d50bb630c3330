//! What to change when a pad stalls: each remedy with its amount, in the order in which a
//! practitioner tries them, rounded to what can be set, and verified by solving again.
//!
//! A remedy works when the spin reaches the useful minimum on the same patch. Where no value in
//! range works, the remedy is kept without a value and says why.

use super::balance::spin_state;
use super::closed_form::best_orbit;
use super::setup::Setup;
use super::stall::{NetTorque, StallSettings};
use crate::contact::Hold;
use crate::equipment::{Drive, Interface, Pad, Product, Tool};
use crate::units::{Angle, AngularRate, Force, Length, Stiffness};

/// Kinds of remedy, in the order in which they are tried.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[non_exhaustive]
pub enum RemedyKind {
    /// Ride the pad over, so that one side works the hollow.
    Reposition,
    /// Press less.
    LessForce,
    /// A higher orbit rate for this spot, then back.
    HigherRate,
    /// A softer pad.
    SofterPad,
    /// A soft layer between plate and pad.
    InterfaceLayer,
    /// A smaller pad of the same make.
    SmallerPad,
    /// A shorter throw.
    ShorterThrow,
    /// A longer throw, where the throw lies below the best one.
    LongerThrow,
    /// Another tool at hand.
    AnotherTool,
    /// A product that drags less.
    LessDragProduct,
    /// Keep the rim of the pad on the panel: lines further from the edge.
    KeepRimOn,
}

impl RemedyKind {
    /// The word in machine-readable results.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Reposition => "reposition",
            Self::LessForce => "less_force",
            Self::HigherRate => "higher_rate",
            Self::SofterPad => "softer_pad",
            Self::InterfaceLayer => "interface_layer",
            Self::SmallerPad => "smaller_pad",
            Self::ShorterThrow => "shorter_throw",
            Self::LongerThrow => "longer_throw",
            Self::AnotherTool => "another_tool",
            Self::LessDragProduct => "less_drag_product",
            Self::KeepRimOn => "keep_rim_on",
        }
    }
}

/// One remedy: what to change, to which value, and the spin that it brings; or why no value works.
#[derive(Debug, Clone, PartialEq)]
pub struct Remedy {
    /// What to change.
    pub kind: RemedyKind,
    /// The new value \[`unit`\]; `None` where none in range works.
    pub value: Option<f64>,
    /// Unit of `value`.
    pub unit: &'static str,
    /// What it does, or why there is none.
    pub reason: String,
    /// Whether the value was solved again and reaches the useful minimum.
    pub verified: bool,
    /// Spin with the remedy [rad/s].
    pub spin: Option<f64>,
    /// The set-up with the remedy.
    pub setup: Option<Setup>,
}

/// What else is at hand; nothing by default.
#[derive(Debug, Clone, Default)]
pub struct AtHand {
    /// Other tools, by name.
    pub tools: Vec<(String, Tool)>,
    /// Other pads, by name, each with what the step's product does on it.
    pub pads: Vec<(String, Pad, Product)>,
    /// Other products, by name, as they work on the step's pad and paint.
    pub products: Vec<(String, Product)>,
    /// Part of the tool's weight that presses on the panel \[N\], where known.
    pub weight_n: Option<f64>,
}

/// Smallest force proposed \[N\]: below it a pad is hardly kept on the panel.
pub(crate) const LEAST_FORCE_N: f64 = 5.0;
/// Thickness of the layer proposed \[mm\].
pub(crate) const LAYER_MM: f64 = 10.0;

/// The spin [rad/s] that a set-up reaches where it has to turn; `None` where it stays below the useful
/// minimum.
pub type Works<'a> = dyn Fn(&Setup) -> Option<f64> + 'a;

struct Search<'a> {
    setup: &'a Setup,
    settings: &'a StallSettings,
    works: &'a Works<'a>,
}

/// The spin of a set-up on its own patch where it reaches the useful minimum: a cheap test first, the
/// net torque there not negative, then the full solution.
fn turns_on_its_patch(setup: &Setup, settings: &StallSettings) -> Option<f64> {
    let may = match setup.driven_spin() {
        Some(spin) => spin >= settings.useful_spin && !setup.face_orbit().sticks,
        None => NetTorque::new(setup, settings.useful_spin, 1.0)
            .at(setup.patch(), &settings.contact)
            .is_some_and(|net| net >= 0.0),
    };
    let state = may.then(|| spin_state(setup, setup.patch(), &settings.contact).ok()).flatten()?;
    (!state.sticks && state.spin >= settings.useful_spin).then_some(state.spin)
}

impl Search<'_> {
    /// First candidate that works, tried in order.
    fn first<T: Clone>(
        &self,
        candidates: impl IntoIterator<Item = T>,
        change: impl Fn(&T) -> Option<Setup>,
    ) -> Option<(T, Working)> {
        candidates.into_iter().find_map(|c| {
            let changed = change(&c)?;
            let spin = (self.works)(&changed)?;
            Some((c, Working { spin, setup: changed }))
        })
    }
}

/// A changed set-up that turns.
struct Working {
    spin: f64,
    setup: Setup,
}

fn rpm(at: &Working) -> f64 {
    AngularRate::from_rad_s(at.spin).rpm()
}

fn found(kind: RemedyKind, value: f64, unit: &'static str, at: &Working, reason: String) -> Remedy {
    Remedy::tried(kind, value, unit, at.spin, at.setup.clone(), reason)
}

impl Remedy {
    /// A remedy that was solved again: `setup` spins at `spin`.
    pub(crate) fn tried(
        kind: RemedyKind,
        value: f64,
        unit: &'static str,
        spin: f64,
        setup: Setup,
        reason: String,
    ) -> Self {
        Self { kind, value: Some(value), unit, reason, verified: true, spin: Some(spin), setup: Some(setup) }
    }

    /// A remedy of which no value in range works.
    pub(crate) fn without(kind: RemedyKind, unit: &'static str, reason: impl Into<String>) -> Self {
        Self { kind, value: None, unit, reason: reason.into(), verified: false, spin: None, setup: None }
    }
}

/// The set-up with a pad of so many percent of its stiffness.
pub(crate) fn softened(setup: &Setup, percent: f64) -> Option<Setup> {
    let law = setup.pad().compression().scaled(percent / 100.0).ok()?;
    setup.clone().with_pad(setup.pad().clone().with_compression(law)).ok()
}

/// The set-up with a soft layer of [`LAYER_MM`] between plate and pad, of a stiffness in kPa/mm.
pub(crate) fn layered(setup: &Setup, kpa_per_mm: f64) -> Option<Setup> {
    let layer = Interface::new(Length::from_mm(LAYER_MM), Stiffness::from_kpa_per_mm(kpa_per_mm)).ok()?;
    setup.clone().with_pad(setup.pad().clone().with_interface(layer)).ok()
}

/// Whole multiples of `step` from just below `from` down to `to`.
pub(crate) fn downward(from: f64, to: f64, step: f64) -> Vec<f64> {
    let mut out = Vec::new();
    let mut n = (from / step - 1e-9).ceil() - 1.0;
    while n * step >= to - 1e-9 && out.len() < 5000 {
        out.push(n * step);
        n -= 1.0;
    }
    out
}

/// Whole multiples of `step` from just above `from` up to `to`.
fn upward(from: f64, to: f64, step: f64) -> Vec<f64> {
    let mut out = Vec::new();
    let mut n = (from / step + 1e-9).floor() + 1.0;
    while n * step <= to + 1e-9 && out.len() < 5000 {
        out.push(n * step);
        n += 1.0;
    }
    out
}

/// Remedies for a pad that does not reach the useful minimum on its patch.
///
/// Empty for a drive that is not free. The set-up is taken as it stands; the caller decides whether
/// it stalls.
///
/// # Assumptions and valid range
/// Each is looked for alone, over steps that a hand can set, the mildest change first. A value that is
/// told was solved again on the same patch and reaches the useful minimum with the bearing as given.
///
/// # Example
/// ```
/// use trochoid::spin::{AtHand, StallSettings, remedies};
/// use trochoid::*;
/// # fn main() -> Result<(), Error> {
/// let bearing = Bearing::new(Torque::from_nm(0.02), ViscousDrag::from_nms(5e-5))?;
/// let tool = Tool::free(Length::from_mm(15.0), AngularRate::from_opm(4200.0), bearing)?;
/// let foam = CompressionLaw::linear(Stiffness::from_kpa_per_mm(0.9))?;
/// let pad = Pad::new(Length::from_mm(130.0), Length::from_mm(25.0), foam)?;
/// let arch = Patch::quadric(Curvature::from_per_m(-1.2), Curvature::from_per_m(-0.2), Angle::from_deg(90.0))?;
/// let setup = Setup::new(tool, pad, Product::new(0.35, 2.0e-11)?, arch, Force::from_n(35.0))?;
/// let found = remedies(&setup, &AtHand::default(), &StallSettings::default());
/// // What has a value turns at 60 rpm (6.283 rad/s) or more; what has none says why.
/// assert!(found.iter().any(|r| r.value.is_some()));
/// assert!(found.iter().all(|r| match r.value {
///     Some(_) => r.verified && r.spin.is_some_and(|s| s >= 6.283),
///     None => !r.reason.is_empty(),
/// }));
/// # Ok(())
/// # }
/// ```
#[must_use]
pub fn remedies(setup: &Setup, at_hand: &AtHand, settings: &StallSettings) -> Vec<Remedy> {
    remedies_where(setup, at_hand, settings, &|changed| turns_on_its_patch(changed, settings))
}

/// As [`remedies`], where `works` says which spin a changed set-up reaches where it has to turn: on a
/// zone of a real panel, for instance. The patch of `setup` tells how that place is curved.
///
/// Empty for a drive that is not free, as [`remedies`].
///
/// # Example
/// ```
/// use trochoid::spin::{AtHand, RemedyKind, StallSettings, remedies_where};
/// use trochoid::*;
/// # fn main() -> Result<(), RangeError> {
/// # let bearing = Bearing::new(Torque::from_nm(0.02), ViscousDrag::from_nms(5e-5))?;
/// # let tool = Tool::free(Length::from_mm(15.0), AngularRate::from_opm(4200.0), bearing)?;
/// # let foam = CompressionLaw::linear(Stiffness::from_kpa_per_mm(0.9))?;
/// # let pad = Pad::new(Length::from_mm(130.0), Length::from_mm(25.0), foam)?;
/// let setup = Setup::new(tool, pad, Product::new(0.35, 2e-11)?, Patch::flat(), Force::from_n(35.0))?;
/// // A place where the pad turns, at 7 rad/s, at 20.5 N or less: the first whole newton below is 20 N.
/// let works = |changed: &Setup| (changed.force().n() <= 20.5).then_some(7.0);
/// let found = remedies_where(&setup, &AtHand::default(), &StallSettings::default(), &works);
/// let force = found.iter().find(|r| r.kind == RemedyKind::LessForce);
/// assert!(force.and_then(|r| r.value).is_some_and(|n| (n - 20.0).abs() < 1e-9));
/// // Nothing else helps there.
/// assert!(found.iter().all(|r| r.value.is_none() || r.kind == RemedyKind::LessForce));
/// # Ok(())
/// # }
/// ```
#[must_use]
pub fn remedies_where(setup: &Setup, at_hand: &AtHand, settings: &StallSettings, works: &Works<'_>) -> Vec<Remedy> {
    if setup.tool().bearing().is_none() {
        return Vec::new();
    }
    let search = Search { setup, settings, works };
    let mut out =
        vec![search.reposition(), search.less_force(at_hand.weight_n), search.higher_rate(), search.softer_pad()];
    if setup.pad().interface().is_none() {
        out.push(search.interface_layer());
    }
    out.push(search.smaller_pad(&at_hand.pads));
    out.push(search.throw());
    out.push(search.another_tool(&at_hand.tools));
    out.push(search.less_drag(&at_hand.products));
    out
}

impl Search<'_> {
    fn reposition(&self) -> Remedy {
        let kind = RemedyKind::Reposition;
        if self.setup.patch().is_flat() {
            return Remedy::without(kind, "deg", "the panel is flat: tilting the pad gains nothing");
        }
        if !matches!(self.setup.hold(), Hold::Flat | Hold::SelfAligning) {
            return Remedy::without(kind, "deg", "the pad is tilted already");
        }
        // Tilts along the panel's own principal directions, the gentlest first.
        let axis = self.setup.patch().axis().rad();
        let mut candidates = Vec::new();
        for half_degrees in 1..=8 {
            let slope = Angle::from_deg(0.5 * f64::from(half_degrees)).rad().tan();
            for turn in [axis, axis + core::f64::consts::FRAC_PI_2] {
                candidates.push((0.5 * f64::from(half_degrees), slope * turn.cos(), slope * turn.sin(), turn));
            }
        }
        let hold =
            |c: &(f64, f64, f64, f64)| Hold::tilted(Angle::from_rad(c.1.atan()), Angle::from_rad(c.2.atan())).ok();
        match self.first(candidates, |c| Some(self.setup.clone().with_hold(hold(c)?))) {
            Some((c, at)) => found(
                kind,
                c.0,
                "deg",
                &at,
                format!(
                    "ride the pad over so that its edge works the {}: tilted by {:.1} degrees toward {:.0} degrees from x it turns at {:.0} rpm",
                    if self.setup.patch().mean() < 0.0 { "hollow" } else { "crown" },
                    c.0,
                    Angle::from_rad(c.3).deg(),
                    rpm(&at)
                ),
            ),
            None => {
                Remedy::without(kind, "deg", "no tilt up to 4 degrees along either principal direction makes it turn")
            }
        }
    }

    fn less_force(&self, weight_n: Option<f64>) -> Remedy {
        let kind = RemedyKind::LessForce;
        let now = self.setup.force().n();
        match self.first(downward(now, LEAST_FORCE_N, 1.0), |n| self.setup.clone().at_force(Force::from_n(*n)).ok()) {
            Some((n, at)) => {
                let hand = weight_n.filter(|w| *w > n).map_or(String::new(), |w| {
                    format!("; the tool's weight alone presses with {w:.0} N here, so carry {:.0} N of it", w - n)
                });
                found(kind, n, "N", &at, format!("at {n:.0} N it turns at {:.0} rpm{hand}", rpm(&at)))
            }
            None => Remedy::without(kind, "N", format!("not even {LEAST_FORCE_N:.0} N lets it turn here")),
        }
    }

    fn higher_rate(&self) -> Remedy {
        let kind = RemedyKind::HigherRate;
        let tool = self.setup.tool();
        let (_, high) = tool.rate_range();
        let now = tool.rate().opm();
        if high.opm() <= now * (1.0 + 1e-9) {
            return Remedy::without(kind, "opm", "the tool runs at the top of its range, or no range is given");
        }
        let rates: Vec<(f64, Option<f64>)> = match tool.speed_scale() {
            Some(scale) => scale
                .settings()
                .into_iter()
                .filter_map(|s| Some((scale.rate_at(s).ok()?.opm(), Some(s))))
                .filter(|(r, _)| *r > now * (1.0 + 1e-9) && *r <= high.opm() * (1.0 + 1e-9))
                .collect(),
            None => upward(now, high.opm(), 50.0).into_iter().map(|r| (r, None)).collect(),
        };
        match self.first(rates, |(r, _)| self.setup.clone().at_rate(AngularRate::from_opm(*r)).ok()) {
            Some(((r, setting), at)) => {
                let dial = setting.map_or(String::new(), |s| format!(", setting {s:.1}"));
                found(
                    kind,
                    r,
                    "opm",
                    &at,
                    format!("at {r:.0} orbits per minute{dial} it turns at {:.0} rpm; go back on the flat", rpm(&at)),
                )
            }
            None => Remedy::without(
                kind,
                "opm",
                format!("not even {:.0} orbits per minute, the top of the range, lets it turn", high.opm()),
            ),
        }
    }

    fn softer_pad(&self) -> Remedy {
        let kind = RemedyKind::SofterPad;
        match self.first(downward(100.0, 20.0, 5.0), |percent| softened(self.setup, *percent)) {
            Some((p, at)) => found(
                kind,
                p,
                "% of stiffness",
                &at,
                format!("a pad of at most {p:.0} % of this one's stiffness turns at {:.0} rpm", rpm(&at)),
            ),
            None => Remedy::without(
                kind,
                "% of stiffness",
                "no pad down to a fifth of the stiffness turns, or it bottoms out",
            ),
        }
    }

    fn interface_layer(&self) -> Remedy {
        let kind = RemedyKind::InterfaceLayer;
        match self.first(downward(5.1, 0.1, 0.1), |k| layered(self.setup, *k)) {
            Some((k, at)) => found(
                kind,
                k,
                "kPa/mm",
                &at,
                format!(
                    "with a {LAYER_MM:.0} mm layer of at most {k:.1} kPa/mm between plate and pad it turns at {:.0} rpm",
                    rpm(&at)
                ),
            ),
            None => Remedy::without(
                kind,
                "kPa/mm",
                format!("no {LAYER_MM:.0} mm layer from 5 down to 0.1 kPa/mm is enough, or it bottoms out"),
            ),
        }
    }

    fn smaller_pad(&self, pads: &[(String, Pad, Product)]) -> Remedy {
        let kind = RemedyKind::SmallerPad;
        let pad = self.setup.pad();
        let now = pad.diameter().mm();
        // A pad that is at hand comes before one that would have to be bought.
        let mut own: Vec<&(String, Pad, Product)> =
            pads.iter().filter(|(_, p, _)| p.diameter().mm() < now - 1e-6).collect();
        own.sort_by(|a, b| b.1.radius().total_cmp(&a.1.radius()));
        if let Some(((name, p, _), at)) =
            self.first(own, |(_, p, with)| Some(self.setup.clone().with_pad(p.clone()).ok()?.with_product(*with)))
        {
            let d = p.diameter().mm();
            return found(kind, d, "mm", &at, format!("the {d:.0} mm pad `{name}` turns at {:.0} rpm", rpm(&at)));
        }
        let change = |d: &f64| self.setup.clone().with_pad(pad.resized(Length::from_mm(*d)).ok()?).ok();
        match self.first(downward(now, 30.0, 5.0), change) {
            Some((d, at)) => found(
                kind,
                d,
                "mm",
                &at,
                format!("a pad of the same make, {d:.0} mm across, turns at {:.0} rpm; watch the pressure", rpm(&at)),
            ),
            None => Remedy::without(
                kind,
                "mm",
                "no pad of the same make down to 30 mm turns at this force, or it bottoms out",
            ),
        }
    }

    fn throw(&self) -> Remedy {
        let tool = self.setup.tool();
        let now = tool.throw().mm();
        let change = |t: &f64| self.setup.clone().with_tool(tool.clone().with_throw(Length::from_mm(*t)).ok()?).ok();
        let shorter = self.first(downward(now, 1.0, 0.5), change);
        let most = (2.0 * now).min(0.5 * self.setup.pad().diameter().mm());
        let longer = self.first(upward(now, most, 0.5), change);
        let optimum = best_orbit(self.setup, self.settings.useful_spin)
            .filter(|(best, _)| 2e3 * best <= most)
            .map_or(String::new(), |(best, _)| format!(" (small-spin optimum {:.1} mm)", 2e3 * best));
        let pick_shorter = match (&shorter, &longer) {
            (Some((s, _)), Some((l, _))) => now - s <= l - now,
            (Some(_), None) => true,
            _ => false,
        };
        match (shorter, longer) {
            (Some((t, at)), _) if pick_shorter => found(
                RemedyKind::ShorterThrow,
                t,
                "mm",
                &at,
                format!("a throw of {t:.1} mm turns at {:.0} rpm{optimum}", rpm(&at)),
            ),
            (_, Some((t, at))) => found(
                RemedyKind::LongerThrow,
                t,
                "mm",
                &at,
                format!("this throw lies below the best one{optimum}: {t:.1} mm turns at {:.0} rpm", rpm(&at)),
            ),
            _ => Remedy::without(
                RemedyKind::ShorterThrow,
                "mm",
                format!("no throw from 1 mm up to {most:.0} mm turns here{optimum}"),
            ),
        }
    }

    fn another_tool(&self, tools: &[(String, Tool)]) -> Remedy {
        let kind = RemedyKind::AnotherTool;
        let candidates: Vec<&(String, Tool)> = tools.iter().filter(|(_, t)| t != self.setup.tool()).collect();
        if candidates.is_empty() {
            return Remedy::without(kind, "mm", "no other tool in the job; a geared drive turns whatever the hollow");
        }
        match self.first(candidates, |(_, t)| self.setup.clone().with_tool(t.clone()).ok()) {
            Some(((name, tool), at)) => {
                let drive = match tool.drive() {
                    Drive::Free(_) => "free drive",
                    Drive::Geared { .. } => "geared, driven round",
                    Drive::Rotary { .. } => "rotary, driven round",
                };
                found(
                    kind,
                    tool.throw().mm(),
                    "mm",
                    &at,
                    format!("`{name}` ({drive}, throw {:.0} mm) turns at {:.0} rpm", tool.throw().mm(), rpm(&at)),
                )
            }
            None => Remedy::without(kind, "mm", "no other tool in the job turns this pad here"),
        }
    }

    fn less_drag(&self, products: &[(String, Product)]) -> Remedy {
        let kind = RemedyKind::LessDragProduct;
        let now = *self.setup.product();
        let own = products.iter().filter(|(_, p)| p.friction() < now.friction());
        if let Some(((name, p), at)) = self.first(own, |(_, p)| Some(self.setup.clone().with_product(*p))) {
            return found(
                kind,
                p.friction(),
                "",
                &at,
                format!("with `{name}` (friction {:.2}) it turns at {:.0} rpm", p.friction(), rpm(&at)),
            );
        }
        let change = |mu: &f64| Some(self.setup.clone().with_product(Product::new(*mu, now.preston_per_pa()).ok()?));
        match self.first(downward(now.friction(), 0.05, 0.01), change) {
            Some((mu, at)) => found(
                kind,
                mu,
                "",
                &at,
                format!("a product with a friction of at most {mu:.2} lets it turn at {:.0} rpm", rpm(&at)),
            ),
            None => Remedy::without(kind, "", "no friction down to 0.05 is low enough"),
        }
    }
}
