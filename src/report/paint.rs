//! The paint of a panel through its steps, as JSON, and the words that text, page and pictures share.

use super::wording::{fixed, percent, short};
use crate::budget::{Binding, ClearSource, Policy};
use crate::finish::{Advice, Verdict};
use crate::job::{PanelPaint, Step};
use crate::plan::{AfterStep, DefectLeft, Look};
use serde_json::{Value, json};

/// Micrometres of a length in metres.
fn um(m: f64) -> f64 {
    crate::units::Length::from_m(m).um()
}

/// Where the clear coat of an account comes from, in words.
#[must_use]
pub(crate) const fn clear_source_words(source: ClearSource) -> &'static str {
    match source {
        ClearSource::Measured => "measured by itself",
        ClearSource::Stated => "as stated, not measured",
        ClearSource::ShareOfTotal => "an assumed share of the total film read",
    }
}

/// How much may go, in words.
#[must_use]
pub(crate) fn policy_words(policy: &Policy) -> String {
    let mut out = format!("{} of the clear coat", percent(policy.share()));
    if policy.cap_m().is_finite() {
        out = format!("{out}, at most {}\u{a0}µm", short(um(policy.cap_m())));
    }
    if policy.floor_m() > 0.0 {
        out = format!("{out}, {}\u{a0}µm must be left", short(um(policy.floor_m())));
    }
    out
}

/// Which limit of the policy binds, in words.
#[must_use]
pub(crate) const fn binding_words(binding: Binding) -> &'static str {
    match binding {
        Binding::Share => "the share binds",
        Binding::Cap => "the cap binds",
        Binding::Floor => "what must be left binds",
    }
}

/// A probability as a percentage; what rounds to nothing or to all is said to be below or above.
#[must_use]
pub(crate) fn chance_words(p: f64) -> String {
    if p < 0.001 {
        "below 0.1\u{a0}%".to_owned()
    } else if p > 0.999 {
        "above 99.9\u{a0}%".to_owned()
    } else {
        format!("{}\u{a0}%", fixed(100.0 * p, usize::from(p < 0.1)))
    }
}

/// What to do about the deepest defect, in words.
///
/// # Example
/// ```
/// use trochoid::finish::Advice;
/// use trochoid::report::advice_words;
/// let advice = Advice::CutOut { cut_m: 3.5e-6, spare_m: 1.2e-6 };
/// assert_eq!(advice_words(&advice), "the deepest can be cut out: 3.5 µm, with 1.2 µm of the budget to spare");
/// ```
#[must_use]
pub fn advice_words(advice: &Advice) -> String {
    match advice {
        Advice::CutOut { cut_m, spare_m } => {
            format!(
                "the deepest can be cut out: {:.1} µm, with {:.1} µm of the budget to spare",
                um(*cut_m),
                um(*spare_m)
            )
        }
        Advice::CutUntilUnseen { cut_m, left_m } => format!(
            "the deepest can be cut until it is not seen: {:.1} µm, {:.1} µm of it stay",
            um(*cut_m),
            um(*left_m)
        ),
        Advice::SoftenEdges { cut_m, left_m } => format!(
            "stop at {:.1} µm: chasing the deepest would cost more paint than may go; soften its edges instead, {:.1} µm of it stay",
            um(*cut_m),
            um(*left_m)
        ),
        Advice::ThroughClear { depth_m } => {
            format!("the deepest may reach through the clear coat ({:.0} µm): polishing does not mend it", um(*depth_m))
        }
    }
}

/// Whether to refine, in words.
///
/// # Example
/// ```
/// use trochoid::finish::Verdict;
/// use trochoid::report::verdict_words;
/// assert_eq!(verdict_words(Verdict::Leave), "no haze to be seen: leave it");
/// ```
#[must_use]
pub const fn verdict_words(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Refine => "haze will show: refine",
        Verdict::Leave => "no haze to be seen: leave it",
        Verdict::LookFirst => "haze may show: look at the test spot under a lamp before refining",
    }
}

fn defect(d: &DefectLeft) -> Value {
    let (best, low, high) = &d.correction;
    json!({
        "defect": d.defect.name(),
        "removed_share": best.removed,
        "removed_share_range": [low.removed, high.removed],
        "optical_correction": best.optical,
        "optical_correction_range": [low.optical, high.optical],
        "still_seen_share": best.still_seen,
        "advice": advice_words(&d.deepest),
    })
}

fn look(l: &Look) -> Value {
    let gloss = |i: usize| l.gloss[i].as_ref().map(|g| json!([g.units.low, g.units.best, g.units.high]));
    let roughness = [l.roughness_m.low, l.roughness_m.best, l.roughness_m.high].map(|m| um(m) * 1e3);
    let haze = l.haze.as_ref().map(|h| [h.low, h.middle, h.high].map(|h| h.map(|h| h.reading)));
    json!({
        "roughness_nm": roughness,
        "gloss_20": gloss(0),
        "gloss_60": gloss(1),
        "gloss_85": gloss(2),
        "haze": haze,
        "marks": l.kind.map(|k| match k {
            crate::finish::MarkKind::MicroMarring => "micro_marring",
            crate::finish::MarkKind::Hologram => "hologram",
        }),
        "earlier_marks_share": l.earlier_share,
        "refine": verdict_words(l.decision.verdict),
    })
}

fn after(step: &str, a: &AfterStep) -> Value {
    json!({
        "step": step,
        "removed_um": { "mean": um(a.removed.mean), "lo": um(a.removed.low), "hi": um(a.removed.high) },
        "budget_used_share": Some(a.used_share).filter(|s| s.is_finite()),
        "over_budget_probability": a.over_probability,
        "jobs_left": a.jobs_left.map(|j| [j.low, j.best, j.high]),
        "defects": a.defects.iter().map(defect).collect::<Vec<_>>(),
        "finish": a.look.as_ref().map(look),
    })
}

/// The paint of one panel: clear coat, what may go, and how it stands after each step. Every interval is
/// of 90 %.
///
/// `steps` are those that the indices of `p` mean. Lengths in µm, roughness in nm, shares 1; what is not known is null.
///
/// # Example
/// ```
/// use trochoid::job::{Job, STARTER, paint_accounts};
/// use trochoid::plan::plan_step;
/// use trochoid::report::panel_paint_json;
/// use trochoid::spin::{AtHand, StallSettings};
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// let job = Job::parse("starter.toml", STARTER)?;
/// let step = &job.steps[0];
/// let task = step.task(job.map.cell, (0.5, 2.0));
/// let plan = plan_step(&task, &AtHand::default(), &StallSettings::default())?;
/// let mut plans = [plan];
/// let panels = paint_accounts(&job, &job.steps[..1], &mut plans)?;
/// let told = panel_paint_json(&panels[0], &job.steps);
/// // 45 µm as the paint states it; a quarter would be 11.25 µm, but no more than 8 µm may go.
/// assert_eq!(told["clear_um"]["mean"].as_f64().map(|um| um.round()), Some(45.0));
/// assert_eq!(told["allowed_um"]["mean"].as_f64().map(|um| um.round()), Some(8.0));
/// # Ok(())
/// # }
/// ```
#[must_use]
pub fn panel_paint_json(p: &PanelPaint, steps: &[Step]) -> Value {
    let allowed = &p.account.allowance;
    let film = p.film.as_ref().map(|f| {
        json!({
            "mean_um": [um(f.mean.low), um(f.mean.best), um(f.mean.high)],
            "anywhere_um": [um(f.anywhere.low), um(f.anywhere.best), um(f.anywhere.high)],
            "readings": f.readings.len(),
            "flags": f.flags.iter().map(crate::budget::FilmFlag::words).collect::<Vec<_>>(),
        })
    });
    json!({
        "panel": p.panel,
        "film": film,
        "clear_um": { "mean": um(p.clear.mean_m()), "sd": um(p.clear.sd_m()) },
        "allowed_um": { "mean": um(allowed.allowed.best), "lo": um(allowed.allowed.low), "hi": um(allowed.allowed.high) },
        "spent": allowed.spent,
        "steps": p.steps.iter().zip(&p.account.steps).map(|(i, a)| after(&steps[*i].name, a)).collect::<Vec<_>>(),
        "not_by_polishing": p.account.not_by_polishing.iter()
            .map(|(what, why)| json!({ "defect": what, "reason": why })).collect::<Vec<_>>(),
        "over_budget_area_share": p.over_area_share,
        "fewest_steps": p.fewest.as_ref().map(|f| json!({
            "defect": f.defect.name(),
            "target_correction": f.target,
            "tried": f.tried,
            "steps": f.steps.iter().zip(&f.edge_passes)
                .map(|((s, n), edge)| json!({ "step": s, "passes": n, "edge_passes": edge })).collect::<Vec<_>>(),
            "cut_um": (!f.steps.is_empty()).then(|| um(f.cut_m)),
            "why_none": f.why_none,
        })),
        "edges": p.edges.as_ref().map(|e| json!({
            "strip_mm": e.strip.mm(),
            "area_share": e.area_share,
            "over_allowed": e.over_allowed.filter(|o| o.is_finite()),
            "film_binds": e.film_binds,
            "steps": p.steps.iter().zip(&e.passes)
                .map(|(i, (there, all))| json!({ "step": steps[*i].name, "passes": all, "edge_passes": there }))
                .collect::<Vec<_>>(),
        })),
        "cautions": allowed.cautions,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn chances_in_words() {
        assert_eq!(
            [0.0, 0.0004, 0.012, 0.34, 0.9999].map(chance_words),
            ["below 0.1\u{a0}%", "below 0.1\u{a0}%", "1.2\u{a0}%", "34\u{a0}%", "above 99.9\u{a0}%"]
        );
    }
}
