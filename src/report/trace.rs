//! What the grains of a step draw, as JSON.

use crate::plan::GrainTrace;
use crate::units::AngularRate;
use serde_json::{Value, json};

/// JSON of a trace. What a rotary pad does not have is null.
///
/// For each drive orbit \[mm\], spin \[rpm\], direction of the scratches, halo and share touched; then the near repeat
/// and the loop at half the radius. `grain_width_m` \[m\] is that of the scratches, told in µm. The trace comes from
/// [`trace_grains`](crate::plan::trace_grains).
///
/// # Example
/// ```
/// use trochoid::contact::ContactSettings;
/// use trochoid::plan::{TraceSettings, trace_grains};
/// use trochoid::report::trace_json;
/// use trochoid::spin::{Setup, spin_state};
/// use trochoid::*;
/// # fn main() -> Result<(), Box<dyn std::error::Error>> {
/// let tool = Tool::geared(Length::from_mm(15.0), AngularRate::from_opm(4200.0), 0.1)?;
/// let law = CompressionLaw::linear(Stiffness::from_kpa_per_mm(0.9))?;
/// let pad = Pad::new(Length::from_mm(130.0), Length::from_mm(25.0), law)?;
/// let setup = Setup::new(tool, pad, Product::new(0.35, 2e-11)?, Patch::flat(), Force::from_n(35.0))?;
/// let run = spin_state(&setup, setup.patch(), &ContactSettings::default())?;
/// let settings = TraceSettings::default();
/// let told = trace_json("cut", "lid", settings.seed, settings.grain_width_m, &trace_grains(&setup, &run, &settings)?);
/// // A tenth of a turn an orbit: after ten orbits and one turn every grain is back where it was.
/// assert_eq!((told["near_repeat"]["orbits"].as_u64(), told["near_repeat"]["turns"].as_i64()), (Some(10), Some(1)));
/// assert!((told["drives"][0]["face_orbit_mm"].as_f64().unwrap_or(0.0) - 7.5).abs() < 1e-9);
/// # Ok(())
/// # }
/// ```
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
