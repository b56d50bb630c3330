//! Shapes and names of bands.

use crate::error::RangeError;
use crate::panel::Patch;
use crate::units::{Angle, Curvature};

/// Curvature below which a band counts as flat, 1/m: a radius of 20 m.
const FLAT_PER_M: f64 = 0.05;

/// The patch of two principal curvatures, as simple as it can be told.
pub(super) fn band_patch(first: f64, second: f64, axis: Angle) -> Result<Patch, RangeError> {
    let per_m = Curvature::from_per_m;
    let none = |k: f64| k.abs() < f64::MIN_POSITIVE;
    if none(first) && none(second) { Ok(Patch::flat()) } else { Patch::quadric(per_m(first), per_m(second), axis) }
}

/// What a band is called for its shape: flat, crown, hollow or saddle.
#[must_use]
pub(crate) fn zone_name(patch: &Patch) -> &'static str {
    let (a, b) = patch.principal();
    if a.abs().max(b.abs()) < FLAT_PER_M {
        "flat"
    } else if a.min(b) < -FLAT_PER_M && a.max(b) > FLAT_PER_M {
        "saddle"
    } else if a + b > 0.0 {
        "crown"
    } else {
        "hollow"
    }
}

/// Names of the zones of a panel, numbered from the second of a kind on.
pub(super) fn zone_names(patches: &[Patch]) -> Vec<String> {
    let mut seen: Vec<&str> = Vec::new();
    patches
        .iter()
        .map(|p| {
            let name = zone_name(p);
            let before = seen.iter().filter(|n| **n == name).count();
            seen.push(name);
            if before == 0 { name.to_owned() } else { format!("{name} {}", before + 1) }
        })
        .collect()
}
