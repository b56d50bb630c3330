//! Contact of an elastic foundation on a paraboloid.

use super::{Check, Group, case};
use crate::units::Length;

pub(super) fn checks() -> Vec<Check> {
    let source = "closed form N = pi k d²/kappa of an elastic (Winkler) foundation on a paraboloid";
    let mut depth = Group::computed("Contact on a sphere", source, "mm");
    let mut peak = Group::computed("Contact on a sphere", source, "Pa");
    for (k, newtons, d, radius, p) in
        [(1e6, 40.0, 3.568248, 84.47779, None), (1.41e6, 8.0, 1.343880, 51.843612, Some(1894.871))]
    {
        let c = case::contact(300.0, k, 1.0, 0.0, newtons);
        let mm = |m: f64| Length::from_m(m).mm();
        // Half the last printed digit, here and below.
        depth.add(format!("indentation, {newtons} N"), d, c.as_ref().map_or(f64::NAN, |c| mm(c.heave_m)), 5e-7);
        let r = c.as_ref().map_or(f64::NAN, |c| 150.0 * c.contact_share.sqrt());
        depth.add(format!("contact radius, {newtons} N"), radius, r, if p.is_none() { 5e-6 } else { 5e-7 });
        if let Some(p) = p {
            peak.add(format!("peak pressure, {newtons} N"), p, c.map_or(f64::NAN, |c| c.peak_pressure_pa), 5e-4);
        }
    }
    let mut threshold =
        Group::computed("Contact on a sphere", "full contact needs N >= pi k R⁴/(4 rho); k 1e6 Pa/m, R 70 mm", "N");
    for (rho, newtons) in [(1.0, 18.86), (0.5, 37.71)] {
        // Bisect the force at which the whole face touches.
        let (mut low, mut high) = (1.0, 100.0);
        for _ in 0..40 {
            let mid = 0.5 * (low + high);
            let share = case::contact(140.0, 1e6, 1.0 / rho, 0.0, mid).map_or(f64::NAN, |c| c.contact_share);
            if share > 1.0 - 1e-9 {
                high = mid;
            } else {
                low = mid;
            }
        }
        threshold.add(format!("force for full contact, radius {rho} m"), newtons, 0.5 * (low + high), 5e-3);
    }
    let mut hertz =
        Group::published("Half-space, for comparison", "Hertz (1882); Johnson, Contact Mechanics (1985)", "mm");
    let h = crate::contact::hertz(1e5, Length::from_mm(10.0).m(), 1.0);
    hertz.add("contact radius, E* 1e5 Pa, R 10 mm, 1 N", 4.217163, Length::from_m(h.radius_m).mm(), 5e-7);
    hertz.add("approach", 1.778447, Length::from_m(h.approach_m).mm(), 5e-7);
    let mut foam = Group::published("Foam", "Gibson and Ashby, Cellular Solids (1997)", "kPa");
    let cells = crate::equipment::OpenCellFoam::new(0.03, crate::units::Pressure::from_mpa(45.0)).ok();
    foam.add("modulus, density 0.03, 45 MPa", 40.5, cells.map_or(f64::NAN, |f| f.modulus().kpa()), 5e-2);
    foam.add("plateau", 2.025, cells.map_or(f64::NAN, |f| f.plateau().kpa()), 5e-4);
    let mut out = depth.checks;
    out.extend(hertz.checks);
    out.extend(foam.checks);
    out.extend(peak.checks);
    out.extend(threshold.checks);
    out
}
