//! Quantities at the public border: a number enters with its unit in the constructor's name and
//! leaves with its unit in the getter's name. SI inside. This folder is the only place where a
//! conversion factor is written down.
//!
//! Not a dimensional-analysis system: quantities are compared and passed on, arithmetic happens
//! on plain SI numbers inside the kernels. Any number goes in, also one that is not finite or makes no
//! sense; what takes the quantity checks it against its own range.
//!
//! # Accuracy
//! One rounding in, one out: a number comes back in its own unit to about 2e-16 of itself. A temperature
//! in degrees Celsius adds and takes off 273.15, so it comes back to about 6e-14 of a degree.
//!
//! # Example
//! ```
//! use trochoid::units::{AngularRate, Length, Temperature};
//! // An inch is 25.4 mm; 60 turns a minute are one turn, 2π rad, a second.
//! assert!((Length::from_inch(1.0).mm() - 25.4).abs() < 1e-14);
//! assert!((AngularRate::from_rpm(60.0).rad_s() - core::f64::consts::TAU).abs() < 1e-15);
//! assert!((Temperature::from_c(20.0).k() - 293.15).abs() < 1e-12);
//! ```
//!
//! Source of the factors: the SI Brochure (BIPM, 9th edition, 2019); the inch is 25.4 mm exactly
//! (international yard and pound agreement, 1959); the standard acceleration of free fall is that
//! of the 3rd CGPM (1901).

use core::f64::consts::PI;

/// Standard acceleration of free fall, m/s² (3rd CGPM, 1901).
pub const STANDARD_GRAVITY: f64 = 9.80665;

/// Celsius zero on the Kelvin scale, K (SI Brochure).
pub const CELSIUS_ZERO_K: f64 = 273.15;

macro_rules! quantity {
    ($(#[$doc:meta])* $name:ident: $(($from:ident, $get:ident, $factor:expr, $unit:literal)),+ $(,)?) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default)]
        pub struct $name(f64);

        impl $name {
            $(
                #[doc = concat!("From a number of ", $unit, ".")]
                #[must_use]
                pub const fn $from(value: f64) -> Self {
                    Self(value * $factor)
                }

                #[doc = concat!("The value in ", $unit, ".")]
                #[must_use]
                pub const fn $get(self) -> f64 {
                    self.0 / $factor
                }
            )+

            /// Whether the value is a finite number.
            #[must_use]
            pub const fn is_finite(self) -> bool {
                self.0.is_finite()
            }
        }
    };
}

quantity!(
    /// A length; held in m.
    Length: (from_m, m, 1.0, "metres"), (from_cm, cm, 1.0e-2, "centimetres"), (from_mm, mm, 1.0e-3, "millimetres"),
    (from_um, um, 1.0e-6, "micrometres"), (from_inch, inch, 0.0254, "international inches"),
    (from_mil, mil, 2.54e-5, "thousandths of an inch"));
quantity!(
    /// A force; held in N.
    Force: (from_n, n, 1.0, "newtons"));
quantity!(
    /// A pressure or stress; held in Pa.
    Pressure: (from_pa, pa, 1.0, "pascals"), (from_kpa, kpa, 1.0e3, "kilopascals"), (from_mpa, mpa, 1.0e6, "megapascals"), (from_bar, bar, 1.0e5, "bars"));
quantity!(
    /// Pressure per compression of an elastic layer (foundation modulus); held in Pa/m.
    Stiffness: (from_pa_per_m, pa_per_m, 1.0, "pascals per metre"), (from_kpa_per_mm, kpa_per_mm, 1.0e6, "kilopascals per millimetre"));
quantity!(
    /// An angular rate; held in rad/s. Orbits and turns per minute are the same unit, named for what they count.
    AngularRate: (from_rad_s, rad_s, 1.0, "radians per second"), (from_rpm, rpm, (2.0 * PI / 60.0), "turns per minute"), (from_opm, opm, (2.0 * PI / 60.0), "orbits per minute"));
quantity!(
    /// A torque; held in N·m.
    Torque: (from_nm, nm, 1.0, "newton metres"));
quantity!(
    /// A curvature; held in 1/m, positive where the panel is convex.
    Curvature: (from_per_m, per_m, 1.0, "reciprocal metres"));
quantity!(
    /// A plane angle; held in rad.
    Angle: (from_rad, rad, 1.0, "radians"), (from_deg, deg, (PI / 180.0), "degrees"));
quantity!(
    /// A speed; held in m/s.
    Speed: (from_m_s, m_s, 1.0, "metres per second"), (from_mm_s, mm_s, 1.0e-3, "millimetres per second"));
quantity!(
    /// A mass; held in kg.
    Mass: (from_kg, kg, 1.0, "kilograms"));
quantity!(
    /// A moment of inertia; held in kg·m².
    Inertia: (from_kgm2, kgm2, 1.0, "kilogram square metres"));
quantity!(
    /// Viscous drag of a bearing: torque per angular rate; held in N·m·s.
    ViscousDrag: (from_nms, nms, 1.0, "newton metre seconds"));
quantity!(
    /// A power; held in W.
    Power: (from_w, w, 1.0, "watts"));
quantity!(
    /// A time; held in s.
    Time: (from_s, s, 1.0, "seconds"), (from_min, min, 60.0, "minutes"), (from_h, h, 3600.0, "hours"));
quantity!(
    /// An area; held in m².
    Area: (from_m2, m2, 1.0, "square metres"));
quantity!(
    /// A volume; held in m³.
    Volume: (from_m3, m3, 1.0, "cubic metres"), (from_l, l, 1.0e-3, "litres"), (from_ml, ml, 1.0e-6, "millilitres"), (from_mm3, mm3, 1.0e-9, "cubic millimetres"));
quantity!(
    /// An energy or an amount of work; held in J.
    Energy: (from_j, j, 1.0, "joules"), (from_kj, kj, 1.0e3, "kilojoules"),
    (from_wh, wh, 3600.0, "watt hours"));
quantity!(
    /// Mass times its distance from an axis: an unbalance; held in kg·m.
    MassMoment: (from_kgm, kgm, 1.0, "kilogram metres"), (from_gmm, gmm, 1.0e-6, "gram millimetres"));
quantity!(
    /// An acceleration, as used for hand-arm vibration; held in m/s².
    Acceleration: (from_m_s2, m_s2, 1.0, "metres per second squared"),
    (from_mm_s2, mm_s2, 1.0e-3, "millimetres per second squared"));

/// A temperature; held in K. Celsius is an offset unit, so the type is written out.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Temperature(f64);

impl Temperature {
    /// From a number of kelvins.
    #[must_use]
    pub const fn from_k(value: f64) -> Self {
        Self(value)
    }

    /// From a number of degrees Celsius.
    #[must_use]
    pub const fn from_c(value: f64) -> Self {
        Self(value + CELSIUS_ZERO_K)
    }

    /// The value in kelvins \[K\].
    #[must_use]
    pub const fn k(self) -> f64 {
        self.0
    }

    /// The value in degrees Celsius \[°C\].
    #[must_use]
    pub const fn c(self) -> f64 {
        self.0 - CELSIUS_ZERO_K
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn factors_round_trip() {
        // 1e-15: one rounding each way.
        assert!((Length::from_mm(130.0).m() - 0.13).abs() < 1e-15);
        assert!((AngularRate::from_opm(4200.0).rad_s() - 439.822_971_502_571).abs() < 1e-10);
        assert!((AngularRate::from_rpm(60.0).rad_s() - 2.0 * PI).abs() < 1e-15);
        assert!((Stiffness::from_kpa_per_mm(0.9).pa_per_m() - 9.0e5).abs() < 1e-9);
        assert!((Temperature::from_c(20.0).k() - 293.15).abs() < 1e-12);
    }
}
