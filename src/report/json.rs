//! Machine-readable results. SI unless the key says otherwise; a number whose capability is not
//! there is null, never zero.

use super::phases::{coupling_json, phases_json};
use crate::math::statistics::Summary;
use crate::plan::{OperatingState, StepHeat, StepPlan};
use crate::removal::PanelMap;
use crate::spin::{Crossing, Remedy};
use crate::units::AngularRate;
use serde_json::{Map, Value, json};

pub(super) fn rpm(rad_s: f64) -> f64 {
    AngularRate::from_rad_s(rad_s).rpm()
}

pub(super) fn remedy(r: &Remedy) -> Value {
    json!({
        "kind": r.kind.name(),
        "value": r.value,
        "unit": r.unit,
        "reason": r.reason,
        "verified": r.verified,
        "spin_rpm": r.spin.map(rpm),
    })
}

/// The result of `state`.
///
/// The keys of the contract (`contact`, `spin`, `motion`, `removal`, `power`, `remedies`), SI unless the key says
/// otherwise; `force_n` and `hand_force_n` stand beside them. What a drive or pad does not have is null. `patch` is the
/// panel's shape at the place of the state.
///
/// # Example
/// ```
/// use trochoid::contact::ContactSettings;
/// use trochoid::job::{Job, STARTER};
/// use trochoid::plan::plan_step;
/// use trochoid::report::state_json;
/// use trochoid::spin::{AtHand, StallSettings};
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// let job = Job::parse("starter.toml", STARTER)?;
/// let step = &job.steps[0];
/// let task = step.task(job.map.cell, (0.5, 2.0));
/// let plan = plan_step(&task, &AtHand::default(), &StallSettings::default())?;
/// let told = state_json(&step.name, &step.panel_name, 35.0, step.hand_force_n, step.setup.patch(), &plan.state);
/// // 35 N over a face of π/4 · (130 mm)²: 2636.9 Pa.
/// let mean = told["contact"]["mean_pressure_pa"].as_f64().expect("the pad presses");
/// assert!((mean - 2636.9).abs() < 0.05);
/// # Ok(())
/// # }
/// ```
#[must_use]
pub fn state_json(
    step: &str,
    panel: &str,
    force_n: f64,
    hand_force_n: Option<f64>,
    patch: &crate::panel::Patch,
    s: &OperatingState,
) -> Value {
    let c = &s.run.contact;
    let at = |x: Option<Crossing>| x.map(|x| x.at);
    let free = s.limits_range.is_some();
    let spin_rpm = rpm(s.run.spin);
    let stable: Vec<f64> = if s.run.equilibria.is_empty() {
        vec![spin_rpm]
    } else {
        s.run.equilibria.iter().filter(|e| e.stable).map(|e| rpm(e.spin)).collect()
    };
    let numbers = s.limits_range.map(|(low, high)| [low.stall_number(), high.stall_number()]);
    // An upper factor without bound is no number.
    let factors = free.then(|| [s.drag_range.0, s.drag_range.1].map(|f| Some(f).filter(|f| f.is_finite())));
    json!({
        "step": step,
        "panel": panel,
        "force_n": force_n,
        "hand_force_n": hand_force_n,
        "contact": {
            "mean_pressure_pa": c.mean_pressure_pa,
            "peak_pressure_pa": c.peak_pressure_pa,
            "centre_pressure_pa": c.centre_pressure_pa,
            "contact_share": c.contact_share,
            "peak_compression_mm": c.compression_m.0 * 1e3,
            "compression_limit_mm": c.compression_m.1 * 1e3,
            "force_error_rel": c.error,
            "heave_ratio": s.heave_ratio,
        },
        "spin": {
            "spin_rpm": spin_rpm,
            "spin_rpm_range": [rpm(s.spin_range.0), rpm(s.spin_range.1)],
            "stalled": s.stalled,
            "stalled_on_flat": s.limits.stalled_on_flat,
            "reverses": s.reverses,
            "stable_spins_rpm": stable,
            "stall_number": s.limits.stall_number(),
            "stall_curvature_per_m": at(s.limits.sphere),
            "reversal_curvature_per_m": at(s.limits.reversal),
            "stall_curvature_along_panel_per_m": s.limits.along_panel_per_m(patch),
            "closed_form_reversal_curvature_per_m": s.closed_form.filter(|_| free).map(|c| c.curvature_per_m),
            "closed_form_valid": s.closed_form.is_some_and(|c| c.valid),
            "drag_factor_range": factors,
            "stall_number_over_drag_range": numbers,
            "settling_time_s": s.settling_time_s,
            "turns_again_at_factor": s.limits.along_panel.and_then(|c| c.second),
        },
        "motion": {
            "face_throw_mm": 2e3 * s.run.face_orbit_m,
            "sticks": s.run.sticks,
            "orbit_speed_m_s": s.orbit_speed_m_s,
            "pad_mean_speed_m_s": s.pad_mean_speed_m_s,
            "inertia_throw_gain": s.throw_gain,
        },
        "removal": {
            "volume_rate_mm3_s": s.volume_rate_m3_s * 1e9,
            "mean_cut_per_pass_um": s.cut_per_pass_m * 1e6,
        },
        "power": { "friction_w": s.friction_w, "orbit_torque_nm": s.orbit_torque_nm },
        "remedies": s.remedies.iter().map(remedy).collect::<Vec<_>>(),
    })
}

pub(super) fn summary(s: Option<&Summary>, factor: f64) -> Map<String, Value> {
    let mut out = Map::new();
    let mut put = |key: &str, v: Option<f64>| {
        out.insert(key.to_owned(), json!(v));
    };
    put("mean", s.map(|s| factor * s.mean));
    put("cv", s.and_then(Summary::cv));
    put("p5", s.map(|s| factor * s.p5));
    put("p95", s.map(|s| factor * s.p95));
    put("max", s.map(|s| factor * s.max));
    put("min", s.map(|s| factor * s.min));
    out
}

/// The result of `map`.
///
/// Statistics of cut \[µm\], sliding length \[m\], coverage \[m/m²\] and dwell \[s\] inside the worked mask; null where
/// the pad leaves none. `volume_mm3` counts all that the pad touched, `spill_mm3` what of it fell past the edges.
///
/// # Example
/// ```
/// use trochoid::job::{Job, STARTER};
/// use trochoid::plan::{Work, plan_step};
/// use trochoid::report::map_json;
/// use trochoid::spin::{AtHand, StallSettings};
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// let job = Job::parse("starter.toml", STARTER)?;
/// let step = &job.steps[0];
/// let task = step.task(job.map.cell, (0.5, 2.0));
/// let plan = plan_step(&task, &AtHand::default(), &StallSettings::default())?;
/// let Work::Patch(map) = &plan.work else { return Err("a rectangle is one patch".into()) };
/// let told = map_json(&step.name, &step.panel_name, map);
/// // Lines at most 65 mm apart over 420 mm: 7 gaps of 60 mm.
/// assert_eq!(told["line_spacing_mm"].as_f64().map(|mm| mm.round()), Some(60.0));
/// # Ok(())
/// # }
/// ```
#[must_use]
pub fn map_json(step: &str, panel: &str, m: &PanelMap) -> Value {
    let mut cut = summary(m.cut.as_ref(), 1e6);
    cut.insert("volume_mm3".to_owned(), json!(m.volume_m3 * 1e9));
    let (nx, ny) = m.field.grid.count();
    let (dx, dy) = m.field.grid.cell();
    json!({
        "step": step,
        "panel": panel,
        "cut_um": cut,
        "sliding_length_m": summary(m.slide.as_ref(), 1.0),
        "coverage_m_per_m2": summary(m.slide.as_ref(), m.grains_per_m2),
        "dwell_s": summary(m.dwell.as_ref(), 1.0),
        "path_time_s": m.path.time(),
        "line_spacing_mm": m.path.spacing().first().map(|s| s * 1e3),
        "line_spacing_by_pass_mm": m.path.spacing().iter().map(|s| s * 1e3).collect::<Vec<_>>(),
        "spill_mm3": m.spill_m3 * 1e9,
        "mask_inset_mm": m.inset_m * 1e3,
        "gap_mm": m.gap_m * 1e3,
        "grid": { "cell_mm": dx * 1e3, "cell_y_mm": dy * 1e3, "nx": nx, "ny": ny },
    })
}

/// Names and settings of a step beside its plan.
#[derive(Debug, Clone, Copy)]
pub struct StepNames<'a> {
    /// Step.
    pub step: &'a str,
    /// Panel.
    pub panel: &'a str,
    /// Tool.
    pub tool: &'a str,
    /// Pad.
    pub pad: &'a str,
    /// Product.
    pub product: &'a str,
    /// Setting on the machine's own scale \[mark\].
    pub speed_setting: Option<f64>,
    /// Orbit rate, orbits per minute; `None` for a rotary drive.
    pub orbit_rate_opm: Option<f64>,
    /// Normal force, N.
    pub force_n: f64,
    /// Hand force, N, where the tool's mass is known.
    pub hand_force_n: Option<f64>,
}

/// One step of `plan`.
///
/// The keys of the contract for one entry of `steps`, with spin, remedies, phases and couplings beside them. `heat` fills
/// the temperatures and the film, `pad_core_c` \[°C\] is the hottest core over all sections; without them they are
/// null. `section` is null: see [`section_entries`](super::section_entries).
///
/// # Example
/// ```
/// use trochoid::job::{Job, STARTER};
/// use trochoid::plan::plan_step;
/// use trochoid::report::{StepNames, plan_json, step_json};
/// use trochoid::spin::{AtHand, StallSettings};
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// let job = Job::parse("starter.toml", STARTER)?;
/// let step = &job.steps[0];
/// let task = step.task(job.map.cell, (0.5, 2.0));
/// let plan = plan_step(&task, &AtHand::default(), &StallSettings::default())?;
/// let names = StepNames {
///     step: &step.name, panel: &step.panel_name, tool: &step.tool_name, pad: &step.pad_name, product: &step.product_name,
///     speed_setting: step.speed_setting, orbit_rate_opm: Some(3400.0), force_n: 35.0, hand_force_n: step.hand_force_n,
/// };
/// let told = plan_json(&[step_json(&names, &plan, None, None)], &[("cutting", Some(1))], None, plan.time_s, &[]);
/// assert_eq!(told["steps"][0]["passes"], 4);
/// assert_eq!(told["totals"]["pads"]["cutting"], 1);
/// // Heat was not asked for: null, not zero.
/// assert!(told["steps"][0]["peak_paint_c"].is_null());
/// # Ok(())
/// # }
/// ```
#[must_use]
pub fn step_json(names: &StepNames<'_>, p: &StepPlan, heat: Option<&StepHeat>, pad_core_c: Option<f64>) -> Value {
    json!({
        "step": names.step,
        "panel": names.panel,
        "section": null,
        "tool": names.tool,
        "pad": names.pad,
        "product": names.product,
        "speed_setting": names.speed_setting,
        "orbit_rate_opm": names.orbit_rate_opm,
        "force_n": names.force_n,
        "hand_force_n": names.hand_force_n,
        "passes": p.passes,
        "time_s": p.time_s,
        "cut_um": {
            "mean": p.cut.map(|c| c.mean * 1e6),
            "lo": p.cut.map(|c| c.low * 1e6),
            "hi": p.cut.map(|c| c.high * 1e6),
        },
        "cut_per_pass_um": p.state.cut_per_pass_m * 1e6,
        "spin_rpm": rpm(p.state.run.spin),
        "spin_rpm_range": [rpm(p.state.spin_range.0), rpm(p.state.spin_range.1)],
        "stalled": p.state.stalled,
        "stall_number": p.state.limits.stall_number(),
        "stalled_share": p.stalled_share,
        "remedies": p.state.remedies.iter().map(remedy).collect::<Vec<_>>(),
        "peak_paint_c": heat.map(|h| h.peak.surface.c()),
        "pad_core_c": pad_core_c,
        "working_time_s": heat.and_then(|h| h.working_time).map(crate::units::Time::s),
        "drops_per_section": heat.map(|h| h.drops),
        "dries_out_in_pass": heat.and_then(|h| h.dry_out).map(|p| p + 1),
        "rest_before_repeat_s": heat.and_then(|h| h.rest).map(crate::units::Time::s),
        // Where nothing may go any cut is beyond every share: told as null with the limit beside it.
        "budget_used_share": p.paint.as_ref().map(|a| a.used_share).filter(|s| s.is_finite()),
        "over_budget_probability": p.paint.as_ref().map(|a| a.over_probability),
        "gap_mm": p.work.gap_m() * 1e3,
        "target_out_of_reach": p.target_out_of_reach,
        "binding_limit": p.limits.first().map(|l| json!({
            "name": l.name, "value": l.value, "limit": l.limit, "margin": l.margin, "unit": l.unit,
            "phase": p.phase_of(l).map(|p| &p.name),
        })),
        "main_phase": p.main_phase().map(|p| &p.name),
        "phases": phases_json(p),
        "coupling": coupling_json(p.coupling.as_ref()),
    })
}

/// The result of `plan`, from its steps, the pads used (how many of each, where that is known), the
/// product and the assumptions made.
///
/// `time_s` is the time of all steps \[s\], `product_ml` all product \[ml\]; `a8_m_s2` is null until
/// [`put_exposure`](super::put_exposure) fills it. See the example of [`step_json`].
#[must_use]
pub fn plan_json(
    steps: &[Value],
    pads: &[(&str, Option<usize>)],
    product_ml: Option<f64>,
    time_s: f64,
    assumptions: &[Value],
) -> Value {
    let pads: Map<String, Value> = pads.iter().map(|(p, n)| ((*p).to_owned(), json!(n))).collect();
    json!({
        "steps": steps,
        "totals": { "time_s": time_s, "pads": pads, "product_ml": product_ml, "a8_m_s2": null },
        "assumptions": assumptions,
    })
}
