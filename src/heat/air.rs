//! How a surface loses heat to the air and to its surroundings: natural and forced convection, radiation.
//!
//! Correlations as given by F. P. Incropera et al., Fundamentals of Heat and Mass Transfer, chapters 7
//! and 9: vertical plate by S. W. Churchill and H. H. S. Chu, Int. J. Heat Mass Transfer 18 (1975) 1323;
//! horizontal plates 0.54 Ra^1/4, 0.15 Ra^1/3 (hot side up) and 0.52 Ra^1/5 (hot side down) over area by
//! perimeter; laminar flow along a plate 0.664 Re^1/2 Pr^1/3, mixed 0.037 Re^4/5 − 871; both kinds together
//! Nu³ = Nu_forced³ + Nu_natural³. Constants from memory, held against hand values in the tests.
//! Correlations of this kind are good to 15 to 25 %.

use super::temperature_within;
use crate::equipment::within;
use crate::error::RangeError;
use crate::units::{Angle, Length, STANDARD_GRAVITY, Speed, Temperature};

/// Stefan-Boltzmann constant, W/(m² K⁴) (CODATA 2018).
const STEFAN_BOLTZMANN: f64 = 5.670374419e-8;
/// Emissivity of painted surfaces: 0.90 to 0.98, Incropera et al., table A.11, from memory.
const PAINT_EMISSIVITY: f64 = 0.93;

/// Dry air at one atmosphere; properties linear between tabulated ones.
///
/// # Example
/// ```
/// use trochoid::{Temperature, heat::Air};
/// // Half way between the tabulated 300 and 350 K: (15.89 + 20.92)/2 = 18.405e-6 m²/s, (26.3 + 30)/2 = 28.15e-3.
/// let air = Air::at(Temperature::from_k(325.0))?;
/// assert!((air.viscosity - 18.405e-6).abs() < 1e-12 && (air.conductivity - 28.15e-3).abs() < 1e-9);
/// # Ok::<(), trochoid::RangeError>(())
/// ```
///
/// # References
/// Incropera et al., table A.4, from memory.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Air {
    /// Kinematic viscosity [m²/s].
    pub viscosity: f64,
    /// Conductivity [W/(m K)].
    pub conductivity: f64,
    /// Prandtl number \[1\].
    pub prandtl: f64,
}

/// T \[K\], ν [m²/s], k [W/(m K)], Pr: Incropera et al., table A.4, from memory.
const AIR: [(f64, Air); 5] = [
    (200.0, Air { viscosity: 7.590e-6, conductivity: 18.1e-3, prandtl: 0.737 }),
    (250.0, Air { viscosity: 11.44e-6, conductivity: 22.3e-3, prandtl: 0.720 }),
    (300.0, Air { viscosity: 15.89e-6, conductivity: 26.3e-3, prandtl: 0.707 }),
    (350.0, Air { viscosity: 20.92e-6, conductivity: 30.0e-3, prandtl: 0.700 }),
    (400.0, Air { viscosity: 26.41e-6, conductivity: 33.8e-3, prandtl: 0.690 }),
];

impl Air {
    /// Air at a temperature, linear between tabulated ones 50 K apart; see the example of [`Air`].
    ///
    /// # Errors
    /// Outside 200 to 400 K.
    pub fn at(temperature: Temperature) -> Result<Self, RangeError> {
        let t = within("film temperature of the air", temperature.k(), 200.0, 400.0, "K")?;
        let i = AIR.iter().skip(1).take(3).filter(|(k, _)| t >= *k).count();
        let ((t0, a), (t1, b)) = (AIR[i], AIR[i + 1]);
        let mix = |x: f64, y: f64| x + (y - x) * (t - t0) / (t1 - t0);
        Ok(Self {
            viscosity: mix(a.viscosity, b.viscosity),
            conductivity: mix(a.conductivity, b.conductivity),
            prandtl: mix(a.prandtl, b.prandtl),
        })
    }
}

/// Coefficient of natural convection [W/(m² K)], from a plate of `height` by `width` that is inclined:
/// 0 faces up, 90° stands, 180° faces down.
///
/// ```text
/// standing  Nu = (0.825 + 0.387 Ra^⅙ /[1 + (0.492/Pr)^(9/16)]^(8/27))²     Ra under g sin θ, L = height
/// lying     Nu = 0.54 Ra^¼ (Ra < 1e7), 0.15 Ra^⅓; 0.52 Ra^⅕ on the side from which air cannot rise
/// h = Nu k/L      Ra = g ΔT L³ Pr/(T ν²),  lying: Ra under g |cos θ|, L = area/perimeter [m]
/// ```
///
/// The larger of the two: an engineering interpolation between the published ends. A cold surface that faces
/// down sheds its air as a hot one that faces up does.
///
/// # Assumptions and valid range
/// Still air; properties at the mean temperature; even surface temperature.
///
/// # Accuracy
/// Correlations of this kind are good to 15 to 25 %.
///
/// # Errors
/// Temperatures outside −60 to 400 °C whose mean leaves 200 to 400 K, an incline outside 0 to 180°,
/// sides outside 1 mm to 20 m.
///
/// # Example
/// ```
/// use trochoid::{Angle, Length, Temperature, heat::natural_air};
/// // A standing plate of 1 m, 320 against 280 K, air of 300 K: Ra = 9.80665 × 40/300 × 0.707/15.89e-6² = 3.661e9,
/// // Nu = (0.825 + 0.387 × 39.26/1.1933)² = 183.8, h = 183.8 × 0.0263/1 = 4.834.
/// let (m, k) = (Length::from_m(1.0), Temperature::from_k);
/// let h = natural_air((m, m), Angle::from_deg(90.0), k(320.0), k(280.0))?;
/// assert!((h - 4.834).abs() < 0.002);
/// # Ok::<(), trochoid::RangeError>(())
/// ```
///
/// # References
/// Churchill and Chu, Int. J. Heat Mass Transfer 18 (1975) 1323, standing plate; Incropera et al., chapter 9,
/// lying plates; from memory.
pub fn natural_air(
    size: (Length, Length),
    incline: Angle,
    surface: Temperature,
    air: Temperature,
) -> Result<f64, RangeError> {
    let (ts, ta) = (temperature_within("surface temperature", surface)?, temperature_within("air temperature", air)?);
    within("incline_deg", incline.deg(), 0.0, 180.0, "°")?;
    let high = within("height", size.0.m(), 1e-3, 20.0, "m")?;
    let wide = within("width", size.1.m(), 1e-3, 20.0, "m")?;
    let mean = 0.5 * (ts + ta);
    let a = Air::at(Temperature::from_k(mean))?;
    // β = 1/T of an ideal gas; Ra = gβΔT L³/(να), α = ν/Pr.
    let rayleigh = |g: f64, l: f64| g * (ts - ta).abs() / mean * l.powi(3) * a.prandtl / a.viscosity.powi(2);
    let (sin, cos) = incline.rad().sin_cos();
    let ra = rayleigh(STANDARD_GRAVITY * sin.max(0.0), high);
    let shape = (1.0 + (0.492 / a.prandtl).powf(9.0 / 16.0)).powf(8.0 / 27.0);
    let standing = (0.825 + 0.387 * ra.powf(1.0 / 6.0) / shape).powi(2) * a.conductivity / high;
    let l = high * wide / (2.0 * (high + wide));
    let ra = rayleigh(STANDARD_GRAVITY * cos.abs(), l);
    // A cold surface that faces down sheds its air as a hot one that faces up does.
    let free_side = (cos >= 0.0) == (ts >= ta);
    let lying = if !free_side {
        0.52 * ra.powf(0.2)
    } else if ra < 1e7 {
        0.54 * ra.powf(0.25)
    } else {
        0.15 * ra.cbrt()
    } * a.conductivity
        / l;
    Ok(standing.max(lying))
}

/// Coefficient of forced convection [W/(m² K)], of air that flows at `speed` over `length`.
///
/// ```text
/// Nu = 0.664 Re^½ Pr^⅓ (Re < 5e5),   (0.037 Re^0.8 − 871) Pr^⅓ above;   h = Nu k/L     Re = u L/ν
/// ```
///
/// # Assumptions and valid range
/// Mean over a flat plate along the flow, properties at `mean`.
///
/// # Accuracy
/// Correlations of this kind are good to 15 to 25 %.
///
/// # Errors
/// Speed outside 0 to 100 m/s, length outside 1 mm to 20 m, mean temperature outside 200 to 400 K.
///
/// # Example
/// ```
/// use trochoid::{Length, Speed, Temperature, heat::forced_air};
/// // 2 m/s along 1 m at 300 K: Re = 2/15.89e-6 = 125 865, Nu = 0.664 × 354.8 × 0.8909 = 209.9, h = 5.519.
/// let h = forced_air(Speed::from_m_s(2.0), Length::from_m(1.0), Temperature::from_k(300.0))?;
/// assert!((h - 5.519).abs() < 0.002);
/// # Ok::<(), trochoid::RangeError>(())
/// ```
///
/// # References
/// Incropera et al., chapter 7, from memory.
pub fn forced_air(speed: Speed, length: Length, mean: Temperature) -> Result<f64, RangeError> {
    let u = within("air speed", speed.m_s(), 0.0, 100.0, "m/s")?;
    let l = within("length along the air flow", length.m(), 1e-3, 20.0, "m")?;
    let a = Air::at(mean)?;
    let re = u * l / a.viscosity;
    let nusselt = if re < 5e5 { 0.664 * re.sqrt() } else { 0.037 * re.powf(0.8) - 871.0 } * a.prandtl.cbrt();
    Ok(nusselt * a.conductivity / l)
}

/// Linearised coefficient of radiation to surroundings at `around` [W/(m² K)].
///
/// ```text
/// h = ε σ (T_s² + T_a²)(T_s + T_a)      σ = 5.670374419e-8 W/(m² K⁴), T [K]
/// ```
///
/// # Assumptions and valid range
/// A grey surface that sees surroundings much larger than itself.
///
/// # Accuracy
/// Exact at that pair of temperatures.
///
/// # Errors
/// Emissivity outside 0 to 1, temperatures outside −60 to 400 °C.
///
/// # Example
/// ```
/// use trochoid::{Temperature, heat::radiation};
/// // Both at 300 K: 4 σ T³ = 4 × 5.6704e-8 × 2.7e7 = 6.124 W/(m² K).
/// let h = radiation(1.0, Temperature::from_k(300.0), Temperature::from_k(300.0))?;
/// assert!((h - 6.124).abs() < 1e-3);
/// # Ok::<(), trochoid::RangeError>(())
/// ```
///
/// # References
/// Law of Stefan and Boltzmann; constant of CODATA 2018.
pub fn radiation(emissivity: f64, surface: Temperature, around: Temperature) -> Result<f64, RangeError> {
    within("emissivity", emissivity, 0.0, 1.0, "")?;
    let (s, a) = (temperature_within("surface temperature", surface)?, temperature_within("surroundings", around)?);
    Ok(emissivity * STEFAN_BOLTZMANN * (s * s + a * a) * (s + a))
}

/// What the back of the panel sees.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Side {
    /// Open to the air like the front.
    #[default]
    Free,
    /// Gives off nothing: lined, foamed or resting on something soft.
    Insulated,
}

/// Linearised losses of a panel: coefficients of front and back, and the temperature of air and surroundings.
///
/// # Example
/// ```
/// use trochoid::{Angle, Length, Speed, Temperature, heat::{Cooling, Side}};
/// // A standing square metre 40 K over 280 K in still air: 4.834 by convection (see `natural_air`), and
/// // 0.93 × 5.6704e-8 × (320² + 280²) × 600 = 5.721 by radiation; nothing behind.
/// let (m, room) = (Length::from_m(1.0), Temperature::from_k(280.0));
/// let cooling =
///     Cooling::of_panel(room, Speed::from_m_s(0.0), (m, m), Angle::from_deg(90.0), Side::Insulated, 40.0)?;
/// assert!((cooling.front() - 10.555).abs() < 0.003 && (cooling.total() - cooling.front()).abs() < 1e-12);
/// # Ok::<(), trochoid::RangeError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cooling {
    ambient_k: f64,
    front: f64,
    back: f64,
}

impl Cooling {
    /// Losses with given coefficients of front and back [W/(m² K)], e.g. 10 and 10 in a still workshop.
    ///
    /// # Errors
    /// Ambient outside −60 to 400 °C, coefficients outside 0 to 10 000 W/(m² K).
    pub fn new(ambient: Temperature, front: f64, back: f64) -> Result<Self, RangeError> {
        Ok(Self {
            ambient_k: temperature_within("ambient temperature", ambient)?,
            front: within("front heat transfer coefficient", front, 0.0, 1e4, "W/(m² K)")?,
            back: within("back heat transfer coefficient", back, 0.0, 1e4, "W/(m² K)")?,
        })
    }

    /// Losses of a painted panel of that size from natural convection, air speed and radiation,
    /// linearised at `excess_k` above ambient (20 K suits most work; the coefficient of natural
    /// convection grows only as the fourth root of it). The back faces the other way. See the example of
    /// [`Cooling`].
    ///
    /// ```text
    /// h = (h_natural³ + h_forced³)^⅓ + h_radiation      a side; emissivity 0.93, flow over √area
    /// ```
    ///
    /// # Accuracy
    /// 15 to 25 %, as the correlations.
    ///
    /// # Errors
    /// Excess outside 1 to 100 K; as [`natural_air`], [`forced_air`] and [`Cooling::new`].
    pub fn of_panel(
        ambient: Temperature,
        air_speed: Speed,
        size: (Length, Length),
        incline: Angle,
        back: Side,
        excess_k: f64,
    ) -> Result<Self, RangeError> {
        within("excess temperature", excess_k, 1.0, 100.0, "K")?;
        let surface = Temperature::from_k(temperature_within("ambient temperature", ambient)? + excess_k);
        let mean = Temperature::from_k(ambient.k() + 0.5 * excess_k);
        let length = Length::from_m((size.0.m() * size.1.m()).sqrt());
        let forced = forced_air(air_speed, length, mean)?;
        let radiated = radiation(PAINT_EMISSIVITY, surface, ambient)?;
        let one = |incline: Angle| -> Result<f64, RangeError> {
            let natural = natural_air(size, incline, surface, ambient)?;
            Ok((natural.powi(3) + forced.powi(3)).cbrt() + radiated)
        };
        let other = match back {
            Side::Free => one(Angle::from_rad((core::f64::consts::PI - incline.rad()).max(0.0)))?,
            Side::Insulated => 0.0,
        };
        Self::new(ambient, one(incline)?, other)
    }

    /// Temperature of air and surroundings.
    #[must_use]
    pub const fn ambient(&self) -> Temperature {
        Temperature::from_k(self.ambient_k)
    }

    /// Coefficient of the front [W/(m² K)].
    #[must_use]
    pub const fn front(&self) -> f64 {
        self.front
    }

    /// Coefficient of the back [W/(m² K)].
    #[must_use]
    pub const fn back(&self) -> f64 {
        self.back
    }

    /// Both together [W/(m² K)].
    #[must_use]
    pub const fn total(&self) -> f64 {
        self.front + self.back
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn correlations_give_values_worked_by_hand() {
        // 1 m standing plate, 320 against 280 K, properties of 300 K: Ra = 9.80665 × 40/300 × 0.707/15.89e-6²
        // = 3.66126e9; Nu = (0.825 + 0.387 × 39.258/1.19328)² = 183.80; h = 4.834. By hand, 4 digits.
        let m = Length::from_m(1.0);
        let k = Temperature::from_k;
        let h = natural_air((m, m), Angle::from_deg(90.0), k(320.0), k(280.0)).unwrap();
        assert!((h - 4.834).abs() < 0.002, "{h}");
        // Lying, facing up: L = 0.25 m, Ra = 5.721e7, Nu = 0.15 × 385.3 = 57.80, h = 6.080.
        let h = natural_air((m, m), Angle::from_deg(0.0), k(320.0), k(280.0)).unwrap();
        assert!((h - 6.080).abs() < 0.002, "{h}");
        // Flow of 2 m/s over 1 m: Re 125 865, Nu = 0.664 × 354.77 × 0.89087 = 209.86, h = 5.519.
        let h = forced_air(Speed::from_m_s(2.0), m, k(300.0)).unwrap();
        assert!((h - 5.519).abs() < 0.002, "{h}");
        // 4σT³ at 300 K both: 6.124.
        let h = radiation(1.0, k(300.0), k(300.0)).unwrap();
        assert!((h - 6.124).abs() < 1e-3, "{h}");
    }

    #[test]
    fn more_air_and_a_free_back_lose_more_and_bad_input_is_refused() {
        let size = (Length::from_m(0.9), Length::from_m(1.2));
        let of = |v: f64, back: Side| {
            Cooling::of_panel(Temperature::from_c(20.0), Speed::from_m_s(v), size, Angle::from_deg(90.0), back, 20.0)
        };
        let (still, wind) = (of(0.1, Side::Free).unwrap(), of(3.0, Side::Free).unwrap());
        assert!(wind.total() > still.total() && still.total() > of(0.1, Side::Insulated).unwrap().total());
        // Still air in a room: 8 to 12 W/(m² K) a side with radiation, common engineering knowledge.
        assert!(still.front() > 7.0 && still.front() < 13.0, "{}", still.front());
        assert!(of(f64::NAN, Side::Free).is_err() && of(-1.0, Side::Free).is_err());
        for bad in [0.0, -5.0, f64::NAN, f64::INFINITY] {
            assert!(Cooling::new(Temperature::from_k(bad), 10.0, 10.0).is_err(), "{bad} K");
        }
    }
}
