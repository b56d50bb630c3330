//! Where the power comes from: mains, a battery, compressed air; per hour of work and per vehicle.
//!
//! Steady work: no starting current, no cold or aged battery, no leaks of an air net. Cords, wet floors and
//! hoses have hazards of their own; local codes hold.

use crate::equipment::within;
use crate::error::RangeError;
use crate::units::{Energy, Length, Power, Pressure, Time, Volume};

/// Absolute pressure of free air, Pa (standard reference atmosphere of ISO 8778: 100 kPa, 20 °C, 65 %).
pub const FREE_AIR_PA: f64 = 1.0e5;
/// Ratio of the specific heats of air.
pub const AIR_HEAT_RATIO: f64 = 1.4;
/// Resistivity of annealed copper at 20 °C, Ω·m (IEC 60028).
pub const COPPER_OHM_M: f64 = 1.7241e-8;

/// What feeds the tool.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub enum Supply {
    /// Single-phase mains.
    Mains(Mains),
    /// Battery packs.
    Battery(Battery),
    /// Compressed air.
    Air(CompressedAir),
}

/// Single-phase mains with a cord.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Mains {
    voltage_v: f64,
    power_factor: f64,
    efficiency: f64,
    fuse_a: Option<f64>,
    cord: Option<(f64, f64)>,
}

impl Mains {
    /// Power factor of a small motor: assumed, no source.
    pub const POWER_FACTOR: f64 = 0.95;
    /// Cross-section of a cord, mm²: assumed, no source.
    pub const CORD_MM2: f64 = 1.5;

    /// Mains of a voltage, feeding a motor of an efficiency.
    ///
    /// # Errors
    /// A voltage outside 12 to 1000 V, an efficiency outside 0.05 to 1.
    pub fn new(voltage_v: f64, efficiency: f64) -> Result<Self, RangeError> {
        Ok(Self {
            voltage_v: within("voltage_v", voltage_v, 12.0, 1000.0, "V")?,
            power_factor: Self::POWER_FACTOR,
            efficiency: within("efficiency", efficiency, 0.05, 1.0, "")?,
            fuse_a: None,
            cord: None,
        })
    }

    /// Sets the power factor.
    ///
    /// # Errors
    /// Outside 0.3 to 1.
    pub fn with_power_factor(mut self, power_factor: f64) -> Result<Self, RangeError> {
        self.power_factor = within("power_factor", power_factor, 0.3, 1.0, "")?;
        Ok(self)
    }

    /// Sets the rating of the fuse or breaker.
    ///
    /// # Errors
    /// Outside 0.5 to 125 A.
    pub fn with_fuse(mut self, ampere: f64) -> Result<Self, RangeError> {
        self.fuse_a = Some(within("fuse_a", ampere, 0.5, 125.0, "A")?);
        Ok(self)
    }

    /// Sets length and cross-section of the cord.
    ///
    /// # Errors
    /// A length outside 0 to 200 m, a cross-section outside 0.5 to 16 mm².
    pub fn with_cord(mut self, length: Length, section_mm2: f64) -> Result<Self, RangeError> {
        let length = within("cord_m", length.m(), 0.0, 200.0, "m")?;
        self.cord = Some((length, within("cord_mm2", section_mm2, 0.5, 16.0, "mm²")?));
        Ok(self)
    }

    /// What the mains give for a power at the shaft.
    ///
    /// ```text
    /// P_in = P/η [W],   I = P_in/(U cos φ) [A],   ΔU/U = 2 ρ_Cu L I/(A U) [1]
    ///
    /// η efficiency [1], U voltage [V], cos φ power factor [1], L, A length [m] and section [m²] of the cord
    /// ```
    ///
    /// # Assumptions and valid range
    /// Steady work; the cord at 20 °C: at 70 °C copper loses a fifth more.
    ///
    /// # Example
    /// ```
    /// use trochoid::plan::machine::Mains;
    /// use trochoid::units::Power;
    /// // 460 W at an efficiency of a half are 920 W; over 230 V × 0.95 that is 4.211 A, 0.263 of a fuse of 16 A.
    /// let draw = Mains::new(230.0, 0.5)?.with_fuse(16.0)?.draw(Power::from_w(460.0));
    /// assert!((draw.input.w() - 920.0).abs() < 1e-9 && (draw.current_a - 4.2105).abs() < 5e-5);
    /// assert!(draw.fuse_share.is_some_and(|s| (s - 0.26316).abs() < 5e-6));
    /// # Ok::<(), trochoid::RangeError>(())
    /// ```
    #[must_use]
    pub fn draw(&self, shaft: Power) -> MainsDraw {
        let input = shaft.w() / self.efficiency;
        let current_a = input / (self.voltage_v * self.power_factor);
        let section = |mm2: f64| Length::from_mm(1.0).m().powi(2) * mm2;
        let drop = |(length, mm2): (f64, f64)| 2.0 * COPPER_OHM_M * length * current_a / section(mm2);
        MainsDraw {
            input: Power::from_w(input),
            current_a,
            fuse_share: self.fuse_a.map(|f| current_a / f),
            cord_drop_share: self.cord.map(|c| drop(c) / self.voltage_v),
        }
    }
}

/// What the mains give.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MainsDraw {
    /// Electric power.
    pub input: Power,
    /// Current, A.
    pub current_a: f64,
    /// Current over the fuse's rating \[1\]; `None` without a fuse.
    pub fuse_share: Option<f64>,
    /// Voltage lost in the cord over that of the mains \[1\]; `None` without a cord.
    pub cord_drop_share: Option<f64>,
}

/// Battery packs of one kind.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Battery {
    pack_j: f64,
    usable_share: f64,
    efficiency: f64,
}

impl Battery {
    /// Share of a pack's energy that the work gets before it is changed: assumed, no source.
    pub const USABLE_SHARE: f64 = 0.8;

    /// Packs of an energy, feeding a motor of an efficiency.
    ///
    /// # Errors
    /// A pack outside 1 to 5000 Wh, an efficiency outside 0.05 to 1.
    pub fn new(pack: Energy, efficiency: f64) -> Result<Self, RangeError> {
        Ok(Self {
            pack_j: within("pack_wh", pack.wh(), 1.0, 5000.0, "Wh").map(|_| pack.j())?,
            usable_share: Self::USABLE_SHARE,
            efficiency: within("efficiency", efficiency, 0.05, 1.0, "")?,
        })
    }

    /// Sets the share of a pack's energy that the work gets.
    ///
    /// # Errors
    /// Outside 0.1 to 1.
    pub fn with_usable_share(mut self, share: f64) -> Result<Self, RangeError> {
        self.usable_share = within("usable_share", share, 0.1, 1.0, "")?;
        Ok(self)
    }

    /// What packs give for a power at the shaft.
    ///
    /// ```text
    /// t_pack = s E η/P [s],   packs = t/t_pack [1]        E of a pack [J], s its usable share [1]
    /// ```
    ///
    /// # Assumptions and valid range
    /// A pack at room temperature and not aged; its energy does not depend on the draw.
    ///
    /// # Example
    /// ```
    /// use trochoid::plan::machine::Battery;
    /// use trochoid::units::{Energy, Power};
    /// // 240 W at an efficiency of 0.6 are 400 W; 0.8 of 100 Wh last 0.2 h, 12 min.
    /// let draw = Battery::new(Energy::from_wh(100.0), 0.6)?.draw(Power::from_w(240.0));
    /// assert!((draw.input.w() - 400.0).abs() < 1e-9 && (draw.per_pack.min() - 12.0).abs() < 1e-9);
    /// # Ok::<(), trochoid::RangeError>(())
    /// ```
    #[must_use]
    pub fn draw(&self, shaft: Power) -> BatteryDraw {
        let input = shaft.w() / self.efficiency;
        BatteryDraw { input: Power::from_w(input), per_pack: Time::from_s(self.usable_share * self.pack_j / input) }
    }
}

/// What battery packs give.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BatteryDraw {
    /// Electric power.
    pub input: Power,
    /// Time of work on one pack.
    pub per_pack: Time,
}

/// Compressed air for an air motor under a governor.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CompressedAir {
    free_air_m3_s: f64,
    idle_share: f64,
    pressure_pa: f64,
    exponent: f64,
    compressor_efficiency: f64,
}

impl CompressedAir {
    /// Air used when running free over that at the rating: assumed, no source.
    pub const IDLE_SHARE: f64 = 0.5;
    /// Gauge pressure at which the consumption of tools is stated, bar (ISO 2787; from memory).
    pub const PRESSURE_BAR: f64 = 6.3;
    /// Ideal over real power of a small compressor with its drive: assumed, no source.
    pub const COMPRESSOR_EFFICIENCY: f64 = 0.6;

    /// Air of a tool that takes `free_air` each second at its rating.
    ///
    /// # Errors
    /// Free air outside 10 to 5000 l/min.
    pub fn new(free_air_per_s: Volume) -> Result<Self, RangeError> {
        let per_minute = Time::from_min(1.0).s() * free_air_per_s.l();
        Ok(Self {
            free_air_m3_s: within("free_air_l_min", per_minute, 10.0, 5000.0, "l/min").map(|_| free_air_per_s.m3())?,
            idle_share: Self::IDLE_SHARE,
            pressure_pa: Pressure::from_bar(Self::PRESSURE_BAR).pa(),
            exponent: AIR_HEAT_RATIO,
            compressor_efficiency: Self::COMPRESSOR_EFFICIENCY,
        })
    }

    /// Sets the air used when running free over that at the rating.
    ///
    /// # Errors
    /// Outside 0 to 1.
    pub fn with_idle_share(mut self, share: f64) -> Result<Self, RangeError> {
        self.idle_share = within("idle_air_share", share, 0.0, 1.0, "")?;
        Ok(self)
    }

    /// Sets the gauge pressure of the net.
    ///
    /// # Errors
    /// Outside 1 to 15 bar.
    pub fn with_pressure(mut self, gauge: Pressure) -> Result<Self, RangeError> {
        self.pressure_pa = within("pressure_bar", gauge.bar(), 1.0, 15.0, "bar").map(|_| gauge.pa())?;
        Ok(self)
    }

    /// Sets the ideal over the real power of the compressor with its drive.
    ///
    /// # Errors
    /// Outside 0.1 to 1.
    pub fn with_compressor_efficiency(mut self, efficiency: f64) -> Result<Self, RangeError> {
        self.compressor_efficiency = within("compressor_efficiency", efficiency, 0.1, 1.0, "")?;
        Ok(self)
    }

    /// What the air net gives at a share of the rated load, its own losses not counted.
    ///
    /// ```text
    /// q = q_r (i + (1 − i) s)        q, q_r free air [m³/s], i share when running free [1], s load [1]
    /// ```
    ///
    /// # Assumptions and valid range
    /// `load` is the share of the power between idle and rating; the straight line between the two is assumed,
    /// no source. Leaks of the net are not counted.
    ///
    /// # Example
    /// ```
    /// use trochoid::plan::machine::CompressedAir;
    /// use trochoid::units::Volume;
    /// // 10 l/s at the rating, half of it when running free: at half load 0.75 × 10 = 7.5 l/s. Compressed to
    /// // 7.3 bar with all heat carried off: 1e5 Pa × 0.0075 m³/s × ln 7.3 = 1490.9 W.
    /// let draw = CompressedAir::new(Volume::from_l(10.0))?.draw(0.5);
    /// assert!((draw.free_air_per_s.l() - 7.5).abs() < 1e-9 && (draw.isothermal.w() - 1490.9).abs() < 0.05);
    /// # Ok::<(), trochoid::RangeError>(())
    /// ```
    #[must_use]
    pub fn draw(&self, load: f64) -> AirDraw {
        let free = self.free_air_m3_s * (self.idle_share + (1.0 - self.idle_share) * load);
        let ideal = compression_power(free, FREE_AIR_PA, FREE_AIR_PA + self.pressure_pa, self.exponent);
        let isothermal = compression_power(free, FREE_AIR_PA, FREE_AIR_PA + self.pressure_pa, 1.0);
        AirDraw {
            free_air_per_s: Volume::from_m3(free),
            adiabatic: Power::from_w(ideal),
            isothermal: Power::from_w(isothermal),
            compressor: Power::from_w(ideal / self.compressor_efficiency),
        }
    }
}

/// What an air net gives.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AirDraw {
    /// Free air in a second.
    pub free_air_per_s: Volume,
    /// Power of an ideal compressor without cooling.
    pub adiabatic: Power,
    /// The same cooled all the way, the least there can be.
    pub isothermal: Power,
    /// Electric power of the compressor with its drive.
    pub compressor: Power,
}

/// What a supply gives at one working point.
#[derive(Debug, Clone, Copy, PartialEq)]
#[non_exhaustive]
pub enum SupplyDraw {
    /// From the mains.
    Mains(MainsDraw),
    /// From battery packs.
    Battery(BatteryDraw),
    /// From compressed air.
    Air(AirDraw),
}

impl Supply {
    /// What the supply gives for a power at the shaft; `load` is the share of the power between idle and
    /// rating, which only air asks for and which gives nothing without it.
    #[must_use]
    pub fn draw(&self, shaft: Power, load: Option<f64>) -> Option<SupplyDraw> {
        match self {
            Self::Mains(m) => Some(SupplyDraw::Mains(m.draw(shaft))),
            Self::Battery(b) => Some(SupplyDraw::Battery(b.draw(shaft))),
            Self::Air(a) => load.map(|s| SupplyDraw::Air(a.draw(s))),
        }
    }
}

impl SupplyDraw {
    /// Electric power: of the tool, or of the compressor that feeds it.
    #[must_use]
    pub const fn electric(&self) -> Power {
        match self {
            Self::Mains(m) => m.input,
            Self::Battery(b) => b.input,
            Self::Air(a) => a.compressor,
        }
    }

    /// Electric energy of a time of work.
    #[must_use]
    pub fn energy(&self, time: Time) -> Energy {
        Energy::from_j(self.electric().w() * time.s())
    }
}

/// Power of an ideal compressor that takes in `free_air` \[m³/s\] at `from` and gives it at `to` \[Pa,
/// absolute\], W.
///
/// ```text
/// P = n/(n−1) p_1 q [(p_2/p_1)^((n−1)/n) − 1]        polytropic, n = 1.4 adiabatic
/// P = p_1 q ln(p_2/p_1)                              n = 1: isothermal
/// ```
///
/// # Assumptions and valid range
/// Ideal gas, one stage, no clearance loss.
///
/// # Example
/// ```
/// use trochoid::plan::machine::compression_power;
/// // 1 m³/min from 1 bar to 7 bar: 3.5 · 1e5/60 · (7^(0.4/1.4) − 1) = 4338 W.
/// let w = compression_power(1.0 / 60.0, 1e5, 7e5, 1.4);
/// assert!((w - 4337.9).abs() < 0.05);
/// ```
///
/// # References
/// Eastop and McConkey (1993), Applied Thermodynamics for Engineering Technologists, chapter 12.
#[must_use]
pub fn compression_power(free_air_m3_s: f64, from_pa: f64, to_pa: f64, exponent: f64) -> f64 {
    let log = (to_pa / from_pa).ln();
    let k = (exponent - 1.0) / exponent;
    // Towards n = 1 the two forms meet; the difference quotient is kept away from 0/0.
    let relative = if k.abs() < 1e-9 { log } else { (k * log).exp_m1() / k };
    from_pa * free_air_m3_s * relative
}
