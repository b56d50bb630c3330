//! Moist air: saturation pressure of water, dew point and the deficit that drives evaporation.
//!
//! Not a psychrometric library: total pressure is that of sea level, and the small enhancement of the
//! saturation pressure by the air's own pressure (0.4 % there) is left out.
//!
//! Sources: W. Wagner, A. Pruss, J. Phys. Chem. Ref. Data 22 (1993) 783-787 (IAPWS SR1-86 on the scale
//! of 1990); WMO-No. 8, Guide to Meteorological Instruments, annex 4.B (Magnus form over water).

use crate::equipment::within;
use crate::error::RangeError;
use crate::units::{Pressure, Temperature};

/// Critical point of water: K and Pa (IAPWS SR1-86).
const CRITICAL_K: f64 = 647.096;
const CRITICAL_PA: f64 = 22.064e6;
/// Coefficients and exponents of the equation of Wagner and Pruss.
const TERMS: [(f64, f64); 6] = [
    (-7.85951783, 1.0),
    (1.84408259, 1.5),
    (-11.7866497, 3.0),
    (22.6807411, 3.5),
    (-15.9618719, 4.0),
    (1.80122502, 7.5),
];
/// Magnus form of the WMO over water: Pa, 1, °C.
const MAGNUS: (f64, f64, f64) = (611.2, 17.62, 243.12);
/// Range of the Magnus form over water, °C (WMO-No. 8).
const MAGNUS_RANGE_C: (f64, f64) = (-45.0, 60.0);

/// Saturation pressure of water over its liquid.
///
/// ```text
/// ln(p/p_c) = (T_c/T) Σ a_i θ^n_i      θ = 1 − T/T_c, T_c = 647.096 K, p_c = 22.064 MPa
/// ```
///
/// # Assumptions and valid range
/// 0 °C to the critical point. The equation is stated from the triple point (0.01 °C); the hundredth of
/// a kelvin below it is extrapolation.
///
/// # Errors
/// A temperature outside that range.
///
/// # Example
/// ```
/// use trochoid::units::Temperature;
/// let p = trochoid::wear::saturation_pressure(Temperature::from_c(20.0))?;
/// assert!((p.pa() - 2339.19).abs() < 0.005);
/// # Ok::<(), trochoid::RangeError>(())
/// ```
///
/// # References
/// Wagner and Pruss (1993), equation 1.
pub fn saturation_pressure(temperature: Temperature) -> Result<Pressure, RangeError> {
    let lowest = Temperature::from_c(0.0).c();
    within("temperature", temperature.c(), lowest, Temperature::from_k(CRITICAL_K).c(), "°C")?;
    let theta = 1.0 - temperature.k() / CRITICAL_K;
    let sum: f64 = TERMS.iter().map(|(a, n)| a * theta.powf(*n)).sum();
    Ok(Pressure::from_pa(CRITICAL_PA * (CRITICAL_K / temperature.k() * sum).exp()))
}

/// Saturation pressure of water over its liquid, Magnus form of the WMO.
///
/// ```text
/// p = 611.2 Pa · exp(17.62 t/(243.12 + t))      t in °C
/// ```
///
/// # Assumptions and valid range
/// −45 to 60 °C; below 0 °C over supercooled water. Within 0.32 % of [`saturation_pressure`] from 0 to
/// 50 °C.
///
/// # Errors
/// A temperature outside that range.
///
/// # Example
/// ```
/// use trochoid::{Temperature, wear::saturation_pressure_magnus};
/// // At 20 °C: 611.2 exp(17.62 × 20/263.12) = 611.2 × 3.8164 = 2332.6 Pa; at 0 °C the first number itself.
/// assert!((saturation_pressure_magnus(Temperature::from_c(20.0))?.pa() - 2332.6).abs() < 0.05);
/// assert!((saturation_pressure_magnus(Temperature::from_c(0.0))?.pa() - 611.2).abs() < 1e-9);
/// # Ok::<(), trochoid::RangeError>(())
/// ```
///
/// # References
/// WMO-No. 8, annex 4.B.
pub fn saturation_pressure_magnus(temperature: Temperature) -> Result<Pressure, RangeError> {
    let t = within("temperature", temperature.c(), MAGNUS_RANGE_C.0, MAGNUS_RANGE_C.1, "°C")?;
    Ok(Pressure::from_pa(MAGNUS.0 * (MAGNUS.1 * t / (MAGNUS.2 + t)).exp()))
}

/// Saturation pressure over any temperature a workshop has: Wagner and Pruss from 0 °C, Magnus below.
/// The two differ by 2e-5 of their value at 0 °C.
fn saturation(temperature: Temperature) -> Result<Pressure, RangeError> {
    if temperature < Temperature::from_c(0.0) {
        saturation_pressure_magnus(temperature)
    } else {
        saturation_pressure(temperature)
    }
}

/// Air with its temperature (−40 to 60 °C) and relative humidity (0 to 1), at the pressure of sea level.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MoistAir {
    temperature: Temperature,
    relative_humidity: f64,
}

impl MoistAir {
    /// Air from its temperature and relative humidity (0 to 1, over liquid water).
    ///
    /// # Errors
    /// Temperature outside −40 to 60 °C, humidity outside 0 to 1.
    pub fn new(temperature: Temperature, relative_humidity: f64) -> Result<Self, RangeError> {
        within("ambient.temperature_c", temperature.c(), -40.0, 60.0, "°C")?;
        within("ambient.relative_humidity", relative_humidity, 0.0, 1.0, "")?;
        Ok(Self { temperature, relative_humidity })
    }

    /// Temperature.
    #[must_use]
    pub const fn temperature(&self) -> Temperature {
        self.temperature
    }

    /// Relative humidity \[1\], 0 to 1.
    #[must_use]
    pub const fn relative_humidity(&self) -> f64 {
        self.relative_humidity
    }

    /// Partial pressure of the water vapour: relative humidity times saturation pressure.
    ///
    /// # Errors
    /// None for air that could be made; the type carries the range check of the saturation pressure.
    pub fn vapour_pressure(&self) -> Result<Pressure, RangeError> {
        Ok(Pressure::from_pa(self.relative_humidity * saturation(self.temperature)?.pa()))
    }

    /// Vapour-pressure deficit of the air itself: how far it is from saturation.
    ///
    /// # Errors
    /// As [`Self::vapour_pressure`].
    ///
    /// # Example
    /// ```
    /// use trochoid::units::Temperature;
    /// use trochoid::wear::MoistAir;
    /// let air = MoistAir::new(Temperature::from_c(20.0), 0.5)?;
    /// assert!((air.deficit()?.pa() - 1169.6).abs() < 0.05); // half of 2339.19
    /// # Ok::<(), trochoid::RangeError>(())
    /// ```
    pub fn deficit(&self) -> Result<Pressure, RangeError> {
        self.deficit_over(self.temperature)
    }

    /// Vapour-pressure deficit over a wet surface at `surface`: what drives evaporation from it.
    /// Negative where the air would condense on the surface.
    ///
    /// # Errors
    /// A surface below −45 °C or above the critical point of water.
    pub fn deficit_over(&self, surface: Temperature) -> Result<Pressure, RangeError> {
        Ok(Pressure::from_pa(saturation(surface)?.pa() - self.vapour_pressure()?.pa()))
    }

    /// Dew point: the temperature at which this air would be saturated, by the Magnus form.
    ///
    /// ```text
    /// γ = ln(φ) + 17.62 t/(243.12 + t),   t_d = 243.12 γ/(17.62 − γ)      t in °C
    /// ```
    ///
    /// # Errors
    /// Perfectly dry air has none; neither has air so dry that it lies below −45 °C, where the Magnus
    /// form ends.
    ///
    /// # Example
    /// ```
    /// use trochoid::{Temperature, wear::MoistAir};
    /// // γ = ln 0.5 + 17.62 × 20/263.12 = 0.64617; 243.12 × 0.64617/(17.62 − 0.64617) = 9.255 °C.
    /// let dew = MoistAir::new(Temperature::from_c(20.0), 0.5)?.dew_point()?;
    /// assert!((dew.c() - 9.255).abs() < 5e-4);
    /// # Ok::<(), trochoid::RangeError>(())
    /// ```
    ///
    /// # References
    /// WMO-No. 8, annex 4.B.
    pub fn dew_point(&self) -> Result<Temperature, RangeError> {
        let humidity = self.relative_humidity;
        if humidity <= 0.0 {
            return Err(RangeError::new(
                "ambient.relative_humidity",
                humidity,
                "",
                "above 0: dry air has no dew point",
            ));
        }
        let t = self.temperature.c();
        let gamma = humidity.ln() + MAGNUS.1 * t / (MAGNUS.2 + t);
        let dew = MAGNUS.2 * gamma / (MAGNUS.1 - gamma);
        Ok(Temperature::from_c(within("dew point", dew, MAGNUS_RANGE_C.0, MAGNUS_RANGE_C.1, "°C")?))
    }
}
