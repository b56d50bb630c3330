//! Fewer passes along edges and body lines: how many of each step's passes the strip there gets.
//!
//! Advice, not a map: the maps of the plan show every pass over the whole panel, so what they show in the
//! strip is what happens without it. The rule of the trade (a share of the passes) is held against the
//! thinner film there, and the smaller of the two counts.

use super::account::PanelPaint;
use super::model::Step;
use crate::budget::Policy;
use crate::finish::EdgeRule;
use crate::panel::crease_distances;
use crate::plan::StepPlan;
use crate::units::Length;

/// Passes for the strip along free edges and body lines of one panel; part of
/// [`PanelPaint`].
///
/// ```text
/// passes there = min(⌊n/r⌋, rule(n)) for r > 1, else rule(n)
/// n   passes on the field [1]
/// r   `over_allowed`, cut over what may go [1]
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct EdgePasses {
    /// Width of the strip.
    pub strip: Length,
    /// Share \[1\] of the area to be worked that lies in it.
    pub area_share: f64,
    /// What all passes together take there over what the film there may give \[1\], at the medians, where that
    /// is reached on one twentieth of the strip; `None` where no film is known. Above 1 the strip would
    /// lose too much.
    pub over_allowed: Option<f64>,
    /// Whether the film asks for fewer passes than the rule of the trade.
    pub film_binds: bool,
    /// Passes there and on the field, of each step of the panel in order.
    pub passes: Vec<(usize, usize)>,
}

/// Share of the strip that may be above the ratio told: single cells at the very rim are the grid's.
const EXCEPTED: f64 = 0.05;

/// The value that is passed on no more than a share of the area, of values with their areas.
fn reached_on(values: &mut [(f64, f64)], share: f64) -> Option<f64> {
    values.sort_by(|a, b| b.0.total_cmp(&a.0));
    let whole: f64 = values.iter().map(|v| v.1).sum();
    let mut above = 0.0;
    values.iter().find_map(|(value, area)| {
        above += area;
        (above > share * whole).then_some(*value)
    })
}

/// Passes for the strip along edges and body lines; `None` where the steps do not all work a real panel,
/// or nothing of it lies in the strip.
pub(super) fn edge_passes(
    steps: &[Step],
    plans: &[StepPlan],
    panel: &PanelPaint,
    rule: &EdgeRule,
    policy: &Policy,
) -> Option<EdgePasses> {
    let real = steps[*panel.steps.first()?].real_panel.as_ref()?;
    let works: Vec<_> = panel.steps.iter().filter_map(|i| plans[*i].work.surface()).collect();
    let first = works.first().filter(|_| works.len() == panel.steps.len())?;
    let heights = real.surface.heights();
    let lines = crease_distances(heights, &real.creases, Some(true));
    let near: Vec<f64> = heights.edge_distances().iter().zip(&lines).map(|(e, l)| e.min(*l)).collect();
    let (mut whole, mut inside) = (0.0, 0.0);
    let mut ratios = Vec::new();
    for k in (0..first.map.grid.len()).filter(|k| first.map.is_workable(*k)) {
        let area = first.map.area[k];
        whole += area;
        let (x, y) = first.map.grid.centre(k % first.map.grid.count.0, k / first.map.grid.count.0);
        if heights.read(&near, x, y) > rule.strip().m() {
            continue;
        }
        inside += area;
        if let Some(film) = first.film_at(k) {
            let (allowed, _) = policy.allows(film);
            let cut: f64 = works.iter().map(|w| w.map.cut(k)).sum();
            ratios.push((if allowed > 0.0 { cut / allowed } else { f64::INFINITY }, area));
        }
    }
    if inside <= 0.0 {
        return None;
    }
    let over_allowed = reached_on(&mut ratios, EXCEPTED);
    let fits = |n: usize| {
        let by_film = match over_allowed {
            #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // at most the passes
            Some(over) if over > 1.0 => (n as f64 / over + 1e-9).floor() as usize,
            _ => n,
        };
        let by_rule = rule.passes(u32::try_from(n).unwrap_or(u32::MAX)) as usize;
        (by_film.min(by_rule), by_film < by_rule)
    };
    let all: Vec<usize> = panel.steps.iter().map(|i| plans[*i].passes).collect();
    Some(EdgePasses {
        strip: rule.strip(),
        area_share: inside / whole,
        over_allowed,
        film_binds: all.iter().any(|n| fits(*n).1),
        passes: all.iter().map(|n| (fits(*n).0, *n)).collect(),
    })
}

impl EdgePasses {
    /// In words, with the names of the panel's steps in order.
    ///
    /// # Example
    /// ```
    /// use trochoid::Length;
    /// use trochoid::job::EdgePasses;
    /// let edges = EdgePasses {
    ///     strip: Length::from_mm(20.0), area_share: 0.1, over_allowed: Some(2.0), film_binds: true, passes: vec![(2, 4)],
    /// };
    /// let words = edges.words(["cut"].into_iter());
    /// // All 4 passes would take twice what may go there: 4/2 = 2 of them.
    /// assert!(words.starts_with("20 mm along edges and body lines (10 % of the area): 2 of 4 passes of `cut`"));
    /// ```
    #[must_use]
    pub fn words<'n>(&self, names: impl Iterator<Item = &'n str>) -> String {
        let each: Vec<String> = names
            .zip(&self.passes)
            .map(|(name, (there, all))| format!("{there} of {all} passes of `{name}`"))
            .collect();
        let why = match self.over_allowed {
            Some(over) if over.is_infinite() => "; nothing may go there".to_owned(),
            Some(over) if over > 1.0 => {
                format!("; all of them would take up to {over:.1} times what the film there may give")
            }
            Some(_) => "; all of them stay within what the film there may give, the rule is for care".to_owned(),
            None => String::new(),
        };
        format!(
            "{:.0} mm along edges and body lines ({:.0} % of the area): {}{why}",
            self.strip.mm(),
            100.0 * self.area_share,
            each.join(", ")
        )
    }
}
