//! Whether a finishing step is worth it, and how much less the edges get.
//!
//! Compares the predicted roughness, with its interval, with what shows on paint of that lightness. It
//! speaks of haze only: scratches that are still there are the business of [`super::correction`].

use super::roughness::{MarkKind, Marks, Surface};
use super::visibility::visible_roughness;
use crate::equipment::{Hardness, Paint, within};
use crate::error::RangeError;
use crate::math::distribution::LogNormal;
use crate::math::interval::Interval;
use crate::units::Length;

/// What to do next.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Verdict {
    /// Haze shows at both ends of the interval: refine.
    Refine,
    /// Haze shows at neither end: leave it.
    Leave,
    /// Haze shows at one end only: look at a test spot under a lamp first.
    LookFirst,
}

/// The decision with what it rests on.
#[derive(Debug, Clone, PartialEq)]
pub struct Decision {
    /// What to do next.
    pub verdict: Verdict,
    /// RMS roughness now, m.
    pub now_m: Interval,
    /// RMS roughness from which haze shows on this paint \[m\]; `None` where none shows.
    pub shows_from_m: Option<f64>,
    /// What the marks look like; `None` while there are none.
    pub kind: Option<MarkKind>,
    /// RMS roughness after the finishing step considered, m.
    pub after_m: Option<Interval>,
    /// Whether that step makes the surface finer at the median.
    pub step_helps: Option<bool>,
    /// The decision in words.
    pub reason: String,
}

/// Whether to refine a surface on `paint` with a clear coat of index `index`, at `confidence`; with
/// `step` (marks it leaves, cut \[m\] it makes) it also says what that finishing step would leave.
///
/// The hardness of the paint enters by the predicted roughness: soft paint keeps deeper marks. Refine where
/// the lower end of the roughness shows, leave where the upper end does not, look first between.
///
/// # Assumptions and valid range
/// As [`visible_roughness`]; scratches that are still there are not counted.
///
/// # Errors
/// An index outside 1.2 to 4, a confidence outside 0.5 to 0.999.
///
/// # Example
/// ```
/// use trochoid::equipment::Paint;
/// use trochoid::finish::{Grit, Marks, Surface, Verdict, refine_decision};
/// # fn main() -> Result<(), trochoid::finish::FinishError> {
/// // No marks, no haze. Sanding marks of some 0.15 × 10.3 µm show on black at either end of their interval.
/// let black = Paint::default().with_lightness(0.0)?;
/// let bare = refine_decision(&Surface::smooth(), &black, 1.5, 0.9, None)?;
/// let grit: Grit = "P2000".parse()?;
/// let sanded = refine_decision(&Surface::marked(Marks::sanding(&grit)?), &black, 1.5, 0.9, None)?;
/// assert_eq!((bare.verdict, sanded.verdict), (Verdict::Leave, Verdict::Refine));
/// # Ok(())
/// # }
/// ```
pub fn refine_decision(
    surface: &Surface,
    paint: &Paint,
    index: f64,
    confidence: f64,
    step: Option<(Marks, LogNormal)>,
) -> Result<Decision, RangeError> {
    let now = surface.rms(confidence)?;
    let shows_from = visible_roughness(paint.lightness(), index)?.map(Length::m);
    let verdict = match shows_from {
        Some(limit) if now.low > limit => Verdict::Refine,
        Some(limit) if now.high > limit => Verdict::LookFirst,
        _ => Verdict::Leave,
    };
    let after = match step {
        Some((marks, cut)) => Some(surface.worked(marks, cut).rms(confidence)?),
        None => None,
    };
    let helps = after.map(|a| a.best < now.best);
    let kind = surface.kind();
    Ok(Decision {
        verdict,
        now_m: now,
        shows_from_m: shows_from,
        kind,
        after_m: after,
        step_helps: helps,
        reason: reason(verdict, now, shows_from, kind, paint, helps),
    })
}

fn reason(
    verdict: Verdict,
    now: Interval,
    shows_from: Option<f64>,
    kind: Option<MarkKind>,
    paint: &Paint,
    helps: Option<bool>,
) -> String {
    let nm = |m: f64| format!("{:.1} nm", m * 1e9);
    let what = match kind {
        Some(MarkKind::Hologram) => "holograms",
        _ => "haze",
    };
    let hardness = match paint.hardness() {
        Hardness::Soft => "soft paint".to_string(),
        Hardness::Medium => "medium paint".to_string(),
        Hardness::Hard => "hard paint".to_string(),
        Hardness::Measured(h) => format!("paint of {:.0} MPa", h.mpa()),
    };
    let limit = shows_from.map_or_else(|| "shows at no roughness".to_string(), |l| format!("shows from {}", nm(l)));
    let verdict = match verdict {
        Verdict::Refine => "refine",
        Verdict::Leave => "no refining needed",
        Verdict::LookFirst => "look at a test spot under a lamp first",
    };
    let mut text = format!(
        "{verdict}: roughness {} ({} to {}) on {hardness}; on lightness {:.0} {what} {limit}",
        nm(now.best),
        nm(now.low),
        nm(now.high),
        paint.lightness()
    );
    if helps == Some(false) {
        text.push_str("; the step considered would not make it finer: take a finer product or a softer pad");
    }
    text
}

/// Share of the passes that edges and body lines get: common practice, no source. Paint is thinner there
/// and the pad presses harder.
pub const EDGE_PASS_SHARE: f64 = 0.5;
/// Width of the strip along an edge or body line that this is meant for, mm: common practice, no source.
pub const EDGE_STRIP_MM: f64 = 25.0;

/// Fewer passes near edges and body lines: half of them over 25 mm unless set (common practice, no source).
///
/// # Example
/// ```
/// use trochoid::finish::EdgeRule;
/// // Half of three passes is one, a third of the cut; half of one is none.
/// let rule = EdgeRule::default();
/// assert_eq!((rule.passes(3), rule.passes(1)), (1, 0));
/// assert!((rule.cut_factor(3) - 1.0 / 3.0).abs() < 1e-15 && rule.cut_factor(1) <= 0.0);
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct EdgeRule {
    share: f64,
    strip_m: f64,
}

impl Default for EdgeRule {
    fn default() -> Self {
        Self { share: EDGE_PASS_SHARE, strip_m: Length::from_mm(EDGE_STRIP_MM).m() }
    }
}

impl EdgeRule {
    /// A share of the passes and the width of the strip that gets only that share.
    ///
    /// # Errors
    /// A share outside 0 to 1, a strip outside 0 to 500 mm.
    pub fn new(share: f64, strip: Length) -> Result<Self, RangeError> {
        within("edge share of passes", share, 0.0, 1.0, "")?;
        within("edge strip", strip.mm(), 0.0, 500.0, "mm")?;
        Ok(Self { share, strip_m: strip.m() })
    }

    /// Width of the strip.
    #[must_use]
    pub const fn strip(&self) -> Length {
        Length::from_m(self.strip_m)
    }

    /// Passes for the strip when the field gets `passes`: rounded down, so never more than the share.
    #[must_use]
    pub fn passes(&self, passes: u32) -> u32 {
        // Exact for a half; 1e-9 lets a share such as 1/3 of 3 reach 1.
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // at most `passes`
        let n = (self.share * f64::from(passes) + 1e-9).floor() as u32;
        n.min(passes)
    }

    /// Factor on the cut of the field \[1\] for passes rounded as [`EdgeRule::passes`] does; 0 for no pass.
    #[must_use]
    pub fn cut_factor(&self, passes: u32) -> f64 {
        if passes == 0 { 0.0 } else { f64::from(self.passes(passes)) / f64::from(passes) }
    }
}
