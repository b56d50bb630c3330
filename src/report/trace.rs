//! What the grains of a step draw, as JSON.

use crate::plan::GrainTrace;
use crate::units::AngularRate;
use serde_json::{Value, json};

/// JSON of a trace. What a rotary pad does not have is null.
///
/// For each drive orbit \[mm\], spin \[rpm\], direction of the scratches, halo and share touched; then the near repeat
/// and the loop at half the radius. `grain_width_m` \[m\] is that of the scratches, told in µm. The trace comes from
/// [`trace_grains`](crate::plan::trace_grains).
#[must_use]
pub fn trace_json(step: &str, panel: &str, seed: u64, grain_width_m: f64, t: &GrainTrace) -> Value {
    let drives: Vec<Value> = t
        .drives
        .iter()
        .map(|d| {
            json!({
                "drive": d.name,
                "face_orbit_mm": d.orbit_m * 1e3,
                "spin_rpm": AngularRate::from_rad_s(d.spin).rpm(),
                "anisotropy": d.anisotropy,
                "halo_luminance_factor": d.halo.mean,
                "halo_streak": d.halo.streak,
                "halo_banding": d.halo.banding,
                "touched_share": d.touched.iter().map(|(_, share)| share).collect::<Vec<_>>(),
                "touched_after_orbits": d.touched.iter().map(|(orbits, _)| orbits).collect::<Vec<_>>(),
                "rose_share": d.rose.as_ref().map(|r| &r.shares),
                "rose_anisotropy": d.rose.as_ref().map(|r| r.orientation.anisotropy),
                "rose_direction_deg": d.rose.as_ref().map(|r| r.orientation.direction_rad.to_degrees()),
            })
        })
        .collect();
    json!({
        "step": step,
        "panel": panel,
        "grain_seed": seed,
        "grain_width_um": grain_width_m * 1e6,
        "feed_mm_s": t.settings.feed_m_s * 1e3,
        "near_repeat": t.repeat.map(|r| json!({
            "orbits": r.orbits,
            "turns": r.turns,
            "miss_um": r.miss_m * 1e6,
            "index": r.index,
        })),
        "loop_at_half_radius": t.loops.map(|l| json!({
            "length_mm": l.length_m * 1e3,
            "width_mm": l.width_m * 1e3,
            "drift_mm": l.drift_m * 1e3,
            "mean_curvature_per_m": l.mean_curvature_per_m,
            "tightest_radius_mm": l.tightest_radius_m * 1e3,
            "loops": l.loops,
        })),
        "drives": drives,
    })
}
