//! The path of one grain over the panel: a trochoid.
//!
//! Not here: what the grain cuts, and where it loses contact (see `removal`). Kinematics by the sum of
//! three motions, differentiated in closed form.

use core::f64::consts::PI;

/// A grain fixed to a pad that orbits, turns and travels at constant rates.
///
/// ```text
/// x(t) = feed·t + e r̂(Ωt) + r û(θ0 + ωt)                   [m]
/// v(t) = feed + eΩ θ̂ + rω n̂                                [m/s], θ̂, n̂ a quarter turn ahead of r̂, û
/// κ(t) = (v_x a_y − v_y a_x)/|v|³,   a = −eΩ² r̂ − rω² û    [1/m]
/// ```
///
/// # Assumptions and valid range
/// Flat panel; feed, orbit rate and spin constant; the pad does not shear beyond the throw at its face.
///
/// # Example
/// ```
/// use trochoid::motion::GrainPath;
/// let (orbit_m, radius_m) = (6e-3, 0.05);
/// let grain = GrainPath { orbit_m, radius_m, rate_rad_s: 440.0, spin_rad_s: 0.0, start_rad: 0.0, feed_m_s: (0.0, 0.0) };
/// // Without spin and feed every grain runs round a circle of the orbit's radius: 2π 6 mm = 37.70 mm.
/// let orbit = core::f64::consts::TAU / 440.0;
/// assert!((grain.length(0.0, orbit) - 37.699e-3).abs() < 1e-6);
/// assert!((grain.curvature(0.01) - 1.0 / 6e-3).abs() < 1e-9);
/// // At t = 0 both radii lie along x: 6 + 50 = 56 mm from the tool axis.
/// assert!((grain.position(0.0).0 - 0.056).abs() < 1e-15 && grain.position(0.0).1.abs() < 1e-15);
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GrainPath {
    /// Orbit radius at the face e \[m\].
    pub orbit_m: f64,
    /// Orbit rate Ω [rad/s].
    pub rate_rad_s: f64,
    /// Spin ω [rad/s].
    pub spin_rad_s: f64,
    /// Distance of the grain from the pad centre \[m\].
    pub radius_m: f64,
    /// Angle of the grain at t = 0 \[rad\].
    pub start_rad: f64,
    /// Feed velocity along x and y [m/s].
    pub feed_m_s: (f64, f64),
}

impl GrainPath {
    /// Position \[m\] at time `t` \[s\]. See the example of [`GrainPath`].
    #[must_use]
    pub fn position(&self, t: f64) -> (f64, f64) {
        let (so, co) = (self.rate_rad_s * t).sin_cos();
        let (ss, cs) = (self.start_rad + self.spin_rad_s * t).sin_cos();
        (
            self.feed_m_s.0 * t + self.orbit_m * co + self.radius_m * cs,
            self.feed_m_s.1 * t + self.orbit_m * so + self.radius_m * ss,
        )
    }

    /// Velocity [m/s] at time `t` \[s\].
    #[must_use]
    pub fn velocity(&self, t: f64) -> (f64, f64) {
        let (so, co) = (self.rate_rad_s * t).sin_cos();
        let (ss, cs) = (self.start_rad + self.spin_rad_s * t).sin_cos();
        let (a, b) = (self.orbit_m * self.rate_rad_s, self.radius_m * self.spin_rad_s);
        (self.feed_m_s.0 - a * so - b * ss, self.feed_m_s.1 + a * co + b * cs)
    }

    /// Signed curvature of the path at time `t` [1/m]; positive where it turns with the orbit.
    /// Infinite or NaN where the grain stands still. See the example of [`GrainPath`].
    #[must_use]
    pub fn curvature(&self, t: f64) -> f64 {
        let (vx, vy) = self.velocity(t);
        let (so, co) = (self.rate_rad_s * t).sin_cos();
        let (ss, cs) = (self.start_rad + self.spin_rad_s * t).sin_cos();
        let a = self.orbit_m * self.rate_rad_s * self.rate_rad_s;
        let b = self.radius_m * self.spin_rad_s * self.spin_rad_s;
        let (ax, ay) = (-a * co - b * cs, -a * so - b * ss);
        (vx * ay - vy * ax) / vx.hypot(vy).powi(3)
    }

    /// Path length between two times \[m\], by Gauss quadrature with 96 nodes an orbit: about 1e-9 unless the
    /// grain all but stops once an orbit. Beyond a million orbits the pieces grow longer, and nothing is said
    /// of the error. See the example of [`GrainPath`].
    #[must_use]
    pub fn length(&self, from: f64, to: f64) -> f64 {
        let fastest = self.rate_rad_s.abs().max(self.spin_rad_s.abs());
        let orbits = ((to - from).abs() * fastest / (2.0 * PI)).ceil().clamp(1.0, 1e6);
        let step = (to - from) / orbits;
        let mut sum = 0.0;
        let mut i = 0.0;
        while i < orbits {
            let start = from + i * step;
            sum += crate::math::quadrature::integrate(
                start,
                start + step,
                96,
                crate::math::quadrature::Ends::Smooth,
                |t| {
                    let (x, y) = self.velocity(t);
                    x.hypot(y)
                },
            );
            i += 1.0;
        }
        sum
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn mean_speed_along_the_path_is_the_elliptic_one() {
        // Commensurate rates: ten orbits a turn, so that one turn covers the mean exactly.
        let path = GrainPath {
            orbit_m: 6e-3,
            rate_rad_s: 400.0,
            spin_rad_s: 40.0,
            radius_m: 0.05,
            start_rad: 0.3,
            feed_m_s: (0.0, 0.0),
        };
        let turn = 2.0 * PI / 40.0;
        let mean = path.length(0.0, turn) / turn;
        let expected = crate::math::elliptic::mean_speed(6e-3 * 400.0, 40.0 * 0.05);
        // 96 Gauss nodes an orbit leave about 1e-9.
        assert!((mean / expected - 1.0).abs() < 1e-8, "{mean} {expected}");
    }

    #[test]
    fn a_grain_at_the_centre_runs_a_circle() {
        let path = GrainPath {
            orbit_m: 5e-3,
            rate_rad_s: 300.0,
            spin_rad_s: 0.0,
            radius_m: 0.0,
            start_rad: 0.0,
            feed_m_s: (0.0, 0.0),
        };
        assert!((path.curvature(0.01) - 200.0).abs() < 1e-9, "1/e, rounding only");
    }
}
