//! Evaporation from a wet panel: heat transfer of the air over it, and the mass transfer that goes with
//! it by the Lewis relation.
//!
//! Not a boundary-layer calculation: mean coefficients over the panel, properties of air at 300 K, slow
//! evaporation (the vapour's own flow is neglected, below 5 % up to a film of 40 °C).
//!
//! Sources: F. P. Incropera, D. P. DeWitt, Fundamentals of Heat and Mass Transfer (flat plate,
//! equations 7.30 and 7.38; mixed convection, 9.64; heat and mass transfer analogy, 6.60; properties,
//! tables A.4 and A.8), numbers of equations from memory; S. W. Churchill, H. H. S. Chu, Int. J. Heat
//! Mass Transfer 18 (1975) 1323-1329 (natural convection).

use super::moist_air::MoistAir;
use crate::equipment::within;
use crate::error::RangeError;
use crate::units::{Length, STANDARD_GRAVITY, Speed, Temperature};

/// Air at 300 K: conductivity W/(m·K), kinematic viscosity m²/s, thermal diffusivity m²/s, specific
/// heat J/(kg·K).
const AIR_CONDUCTIVITY: f64 = 0.0263;
const AIR_VISCOSITY: f64 = 15.89e-6;
const AIR_DIFFUSIVITY: f64 = 22.5e-6;
const AIR_HEAT: f64 = 1007.0;
/// Diffusivity of water vapour in air at 298 K [m²/s].
const VAPOUR_DIFFUSIVITY: f64 = 26.0e-6;
/// Molar mass of water over that of dry air.
const MOLAR_RATIO: f64 = 0.622;
/// Standard atmosphere \[Pa\].
const ATMOSPHERE: f64 = 101_325.0;
/// Reynolds number at which the flow along a plate turns turbulent.
const TRANSITION: f64 = 5e5;

/// Mean heat transfer coefficient of air along one side of a panel [W/(m²·K)], without radiation.
///
/// ```text
/// forced   Nu_F = 0.664 Re^½ Pr^⅓                      Re ≤ 5e5
///          Nu_F = (0.037 Re^0.8 − 871) Pr^⅓            above
/// natural  Nu_N = (0.825 + 0.387 Ra^⅙ /[1 + (0.492/Pr)^(9/16)]^(8/27))²
/// both     Nu³ = Nu_F³ + Nu_N³,   h = Nu k/L
/// ```
///
/// # Assumptions and valid range
/// Air at 300 K (its properties change by 8 % to 60 °C). The natural part is that of a vertical panel;
/// a panel facing up loses more, one facing down less. Air speed 0 to 50 m/s, length 10 mm to 5 m,
/// difference in temperature −200 to 200 K (only its size counts).
///
/// # Accuracy
/// Correlations of this kind are good to 15 to 25 %.
///
/// # Errors
/// An argument outside its range.
///
/// # Example
/// ```
/// use trochoid::units::{Length, Speed};
/// // Laminar forced flow alone: Re = 1 x 0.5/15.89e-6 = 31 466, Nu = 0.664 x 177.4 x 0.8905 = 104.9.
/// let h = trochoid::wear::air_heat_transfer(Speed::from_m_s(1.0), Length::from_m(0.5), 0.0)?;
/// assert!((h - 104.9 * 0.0263 / 0.5).abs() < 0.01);
/// # Ok::<(), trochoid::RangeError>(())
/// ```
///
/// # References
/// Incropera and DeWitt, chapters 7 and 9; Churchill and Chu (1975).
pub fn air_heat_transfer(air_speed: Speed, length: Length, difference_k: f64) -> Result<f64, RangeError> {
    let speed = within("ambient.air_speed_m_s", air_speed.m_s(), 0.0, 50.0, "m/s")?;
    within("length along the air", length.mm(), 10.0, 5000.0, "mm")?;
    let along = length.m();
    let difference = within("difference in temperature", difference_k, -200.0, 200.0, "K")?.abs();
    let prandtl = AIR_VISCOSITY / AIR_DIFFUSIVITY;
    let reynolds = speed * along / AIR_VISCOSITY;
    let forced = prandtl.cbrt()
        * if reynolds <= TRANSITION { 0.664 * reynolds.sqrt() } else { 0.037 * reynolds.powf(0.8) - 871.0 };
    // Expansion coefficient of an ideal gas at 300 K.
    let rayleigh = STANDARD_GRAVITY / 300.0 * difference * along.powi(3) / (AIR_VISCOSITY * AIR_DIFFUSIVITY);
    let shape = (1.0 + (0.492 / prandtl).powf(9.0 / 16.0)).powf(8.0 / 27.0);
    let natural = (0.825 + 0.387 * rayleigh.powf(1.0 / 6.0) / shape).powi(2);
    Ok((forced.powi(3) + natural.powi(3)).cbrt() * AIR_CONDUCTIVITY / along)
}

/// A wet surface and the air over it.
///
/// # Example
/// ```
/// use trochoid::units::Temperature;
/// use trochoid::wear::{Exposure, MoistAir};
/// // Surface as cold as air of 20 °C and 50 %: deficit 1169.6 Pa. With 10 W/(m²·K) and Le^⅔ = (22.5/26)^⅔ = 0.9081
/// // 10 × 0.622 × 1169.6/(1007 × 101 325 × 0.9081) = 7.851e-5 kg/(m²·s).
/// let air = MoistAir::new(Temperature::from_c(20.0), 0.5)?;
/// let wet = Exposure::with_heat_transfer(air, Temperature::from_c(20.0), 10.0)?;
/// assert!((wet.free_water_rate()? - 7.851e-5).abs() < 1e-8);
/// # Ok::<(), trochoid::RangeError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Exposure {
    air: MoistAir,
    surface: Temperature,
    heat_transfer: f64,
}

impl Exposure {
    /// A surface at `surface`, `length` long, under air that moves along it at `air_speed`; the heat
    /// transfer is that of [`air_heat_transfer`].
    ///
    /// # Errors
    /// Surface outside −40 to 150 °C, and the ranges of [`air_heat_transfer`].
    pub fn new(air: MoistAir, surface: Temperature, air_speed: Speed, length: Length) -> Result<Self, RangeError> {
        within("surface temperature", surface.c(), -40.0, 150.0, "°C")?;
        let difference = surface.k() - air.temperature().k();
        Self::with_heat_transfer(air, surface, air_heat_transfer(air_speed, length, difference)?)
    }

    /// A surface under air with a convective heat transfer coefficient given in W/(m²·K).
    ///
    /// # Errors
    /// Surface outside −40 to 150 °C, coefficient outside 0.01 to 1000 W/(m²·K).
    pub fn with_heat_transfer(
        air: MoistAir,
        surface: Temperature,
        heat_transfer_w_m2k: f64,
    ) -> Result<Self, RangeError> {
        within("surface temperature", surface.c(), -40.0, 150.0, "°C")?;
        let heat_transfer = within("heat transfer coefficient", heat_transfer_w_m2k, 0.01, 1000.0, "W/(m²·K)")?;
        Ok(Self { air, surface, heat_transfer })
    }

    /// The air.
    #[must_use]
    pub const fn air(&self) -> MoistAir {
        self.air
    }

    /// Temperature of the surface.
    #[must_use]
    pub const fn surface(&self) -> Temperature {
        self.surface
    }

    /// Convective heat transfer coefficient [W/(m²·K)].
    #[must_use]
    pub const fn heat_transfer_w_m2k(&self) -> f64 {
        self.heat_transfer
    }

    /// Evaporation of free water from the surface [kg/(m²·s)]; negative where vapour condenses. See the
    /// example of [`Exposure`].
    ///
    /// ```text
    /// ṁ = h · 0.622 Δp /(c_p P Le^⅔)      Δp deficit over the surface [Pa], P = 101 325 Pa
    /// ```
    ///
    /// from the Lewis relation h/h_m = ρ c_p Le^⅔ with the air's density ρ at the place where the vapour's
    /// density is taken, so that the temperature drops out; Le = 22.5/26.0.
    ///
    /// # Assumptions and valid range
    /// Slow evaporation: the vapour's own flow is neglected, below 5 % up to a film of 40 °C.
    ///
    /// # Accuracy
    /// That of the heat transfer, 15 to 25 %.
    ///
    /// # Errors
    /// As [`MoistAir::deficit_over`].
    ///
    /// # References
    /// Incropera and DeWitt, equation 6.60, number from memory.
    pub fn free_water_rate(&self) -> Result<f64, RangeError> {
        let lewis = AIR_DIFFUSIVITY / VAPOUR_DIFFUSIVITY;
        let deficit = self.air.deficit_over(self.surface)?.pa();
        Ok(self.heat_transfer * MOLAR_RATIO * deficit / (AIR_HEAT * ATMOSPHERE * lewis.powf(2.0 / 3.0)))
    }
}
