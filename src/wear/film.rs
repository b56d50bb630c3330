//! The film of product on a section: how long it stays workable, how many drops a section needs, and
//! whether it dries inside a pass.
//!
//! Not a drying model of a mixture: the volatile part leaves at a fixed share of the rate of free water,
//! from the whole section, at a temperature that is given. The share and the state that counts as dry
//! are assumed, so working times are good for comparing (drier air, a hotter panel, another drop count)
//! and should be set right with one timed section.
//!
//! Source: physics of the film by the Lewis relation (see the file on evaporation); drops, shares and
//! bands are common practice, no source.

use super::evaporation::Exposure;
use crate::equipment::within;
use crate::error::RangeError;
use crate::units::{Area, Length, Time, Volume};

/// What a product's film is made of and when it counts as dry.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FilmProduct {
    /// Share of the volume that evaporates \[1\], water and solvent, 0.001 to 1; 0.6. `product.water_share`.
    pub volatile_share: f64,
    /// Evaporation of the volatile part against free water at the same temperature \[1\], 0.001 to 2; 0.1.
    /// `product.relative_evaporation`.
    pub relative_evaporation: f64,
    /// Density of the volatile part, 500 to 2000 kg/m³; 1000. `product.volatile_density_kg_m3`.
    pub volatile_density_kg_m3: f64,
    /// Volume of one drop, 0.01 to 5 ml; 0.25. `product.drop_ml`.
    pub drop: Volume,
    /// Share of the volatile part that has gone when the film counts as dry \[1\], 0.001 to 0.999; 0.8.
    /// `product.dry_share`.
    pub dry_share: f64,
    /// How the rate falls as the film dries: n in rate ∝ (share left)^n \[1\], 0 to 3; 0 keeps it constant.
    /// `product.falling_rate`.
    pub falling_rate: f64,
    /// Thinnest film that still covers the section, 0 to 100 µm; 2. `product.least_film_um`.
    pub least_film: Length,
    /// Rise of the friction as the film dries, if it is to be reckoned with; by default it is not.
    pub friction_rise: Option<FrictionRise>,
}

impl Default for FilmProduct {
    /// All assumed. A drop of 0.25 ml is the middle of the trade's 0.2 to 0.3 ml. The relative
    /// evaporation is set so that three drops on a section of 0.2 m² last some three minutes in ordinary
    /// air (common practice, no source): an emulsion with oils evaporates far slower than free water.
    fn default() -> Self {
        Self {
            volatile_share: 0.6,
            relative_evaporation: 0.1,
            volatile_density_kg_m3: 1000.0,
            drop: Volume::from_ml(0.25),
            dry_share: 0.8,
            falling_rate: 0.0,
            least_film: Length::from_um(2.0),
            friction_rise: None,
        }
    }
}

impl FilmProduct {
    /// Checks every number.
    ///
    /// # Errors
    /// The first number outside the range that stands with its field.
    pub fn check(&self) -> Result<(), RangeError> {
        within("product.water_share", self.volatile_share, 1e-3, 1.0, "")?;
        within("product.relative_evaporation", self.relative_evaporation, 1e-3, 2.0, "")?;
        within("product.volatile_density_kg_m3", self.volatile_density_kg_m3, 500.0, 2000.0, "kg/m³")?;
        within("product.drop_ml", self.drop.ml(), 0.01, 5.0, "ml")?;
        within("product.dry_share", self.dry_share, 1e-3, 0.999, "")?;
        within("product.falling_rate", self.falling_rate, 0.0, 3.0, "")?;
        within("product.least_film_um", self.least_film.um(), 0.0, 100.0, "µm")?;
        self.friction_rise.map_or(Ok(()), |f| f.check())
    }

    /// Share of the volume that stays \[1\]: oils, abrasive and binder.
    #[must_use]
    pub fn solids_share(&self) -> f64 {
        1.0 - self.volatile_share
    }
}

/// Friction of a drying film.
///
/// ```text
/// μ/μ0 = 1 + amplitude · (share gone)^exponent
/// ```
///
/// Our law, assumed; rising for any positive numbers.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FrictionRise {
    /// Relative rise of the friction when all of the volatile part has gone \[1\], 0 to 5; 0.5.
    /// `product.dry_friction_rise`.
    pub amplitude: f64,
    /// Exponent \[1\], 0.1 to 10; 2 keeps most of the rise for the end.
    pub exponent: f64,
}

impl Default for FrictionRise {
    /// Assumed: half as much friction again, most of it towards the end.
    fn default() -> Self {
        Self { amplitude: 0.5, exponent: 2.0 }
    }
}

impl FrictionRise {
    fn check(&self) -> Result<(), RangeError> {
        within("product.dry_friction_rise", self.amplitude, 0.0, 5.0, "")?;
        within("exponent of the friction rise", self.exponent, 0.1, 10.0, "")?;
        Ok(())
    }
}

/// A film of product on a section.
///
/// # Example
/// ```
/// use trochoid::units::{Area, Temperature, Time};
/// use trochoid::wear::{Exposure, FilmProduct, FrictionRise, MoistAir, PassExposure, ProductFilm};
/// let product = FilmProduct { friction_rise: Some(FrictionRise::default()), ..FilmProduct::default() };
/// let film = ProductFilm::from_drops(product, 3, Area::from_m2(0.2))?;
/// // 0.75 ml over 0.2 m² are 3.75 µm; 0.6 of it, 2.25 g/m², is volatile.
/// assert!((film.thickness().um() - 3.75).abs() < 1e-12 && (film.volatile_kg_m2() - 2.25e-3).abs() < 1e-15);
/// // Half as much friction again, times the square of what has gone: 1 + 0.5 × 0.8².
/// assert!((film.friction_factor(0.8) - 1.32).abs() < 1e-12);
/// // It lasts 218 s (see `working_time`): of three passes of 90 s the third, 38 s in, finds it dry.
/// let air = MoistAir::new(Temperature::from_c(20.0), 0.5)?;
/// let exposure = Exposure::with_heat_transfer(air, Temperature::from_c(30.0), 4.0)?;
/// let course = film.course(&[PassExposure { time: Time::from_s(90.0), exposure }; 3])?;
/// assert!(course.dry_out.is_some_and(|d| d.pass == 2 && (d.share_of_pass - 0.42).abs() < 0.03));
/// # Ok::<(), trochoid::RangeError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ProductFilm {
    product: FilmProduct,
    volume: Volume,
    area: Area,
}

/// One stretch of work on a section: how long it takes, and surface and air during it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PassExposure {
    /// Time that the pass takes.
    pub time: Time,
    /// Surface and air; the surface is taken as steady during the pass.
    pub exposure: Exposure,
}

/// Where and when a film dries inside the passes of a section.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DryOut {
    /// Pass in which it happens, from 0.
    pub pass: usize,
    /// Time since the product was laid down.
    pub after: Time,
    /// Share of that pass that was done by then \[1\], 0 to 1.
    pub share_of_pass: f64,
}

/// Course of a film over the passes of a section.
#[derive(Debug, Clone, PartialEq)]
pub struct FilmCourse {
    /// Share of the volatile part gone at the end of each pass \[1\].
    pub gone: Vec<f64>,
    /// Friction over that of fresh product at the end of each pass \[1\]; 1 throughout without a law.
    pub friction_factor: Vec<f64>,
    /// Where the film dries, if it does.
    pub dry_out: Option<DryOut>,
}

impl ProductFilm {
    /// A film of `volume` of product, spread evenly over `area`.
    ///
    /// # Errors
    /// A number of the product outside its range, volume outside 0.001 to 100 ml, area outside 0.001 to
    /// 10 m².
    pub fn new(product: FilmProduct, volume: Volume, area: Area) -> Result<Self, RangeError> {
        product.check()?;
        within("product on the section", volume.ml(), 1e-3, 100.0, "ml")?;
        within("area of the section", area.m2(), 1e-3, 10.0, "m²")?;
        Ok(Self { product, volume, area })
    }

    /// A film of so many drops.
    ///
    /// # Errors
    /// As [`Self::new`].
    pub fn from_drops(product: FilmProduct, drops: u32, area: Area) -> Result<Self, RangeError> {
        Self::new(product, Volume::from_m3(f64::from(drops) * product.drop.m3()), area)
    }

    /// Thickness of the fresh film.
    #[must_use]
    pub fn thickness(&self) -> Length {
        Length::from_m(self.volume.m3() / self.area.m2())
    }

    /// Volatile part of the fresh film [kg/m²].
    #[must_use]
    pub fn volatile_kg_m2(&self) -> f64 {
        self.product.volatile_share * self.product.volatile_density_kg_m3 * self.thickness().m()
    }

    /// Share of the volatile part that leaves per second from a fresh film [1/s]; 0 where nothing
    /// evaporates (the air would condense on the surface; what it would add is not counted).
    fn fresh_rate(&self, exposure: &Exposure) -> Result<f64, RangeError> {
        Ok(self.product.relative_evaporation * exposure.free_water_rate()?.max(0.0) / self.volatile_kg_m2())
    }

    /// Fresh-film seconds (rate x time) that take the share gone from 0 to `gone`:
    /// `∫ dg/(1 − g)^n`.
    fn effort(&self, gone: f64) -> f64 {
        let n = self.product.falling_rate;
        if (n - 1.0).abs() < 1e-9 { -(1.0 - gone).ln() } else { (1.0 - (1.0 - gone).powf(1.0 - n)) / (1.0 - n) }
    }

    /// Inverse of [`Self::effort`]; 1 when everything has gone.
    fn gone_at(&self, effort: f64) -> f64 {
        let n = self.product.falling_rate;
        if (n - 1.0).abs() < 1e-9 {
            return 1.0 - (-effort).exp();
        }
        let left = 1.0 - (1.0 - n) * effort;
        // Below n = 1 the film runs out at a finite time.
        if left <= 0.0 { 1.0 } else { 1.0 - left.powf(1.0 / (1.0 - n)) }
    }

    /// Share of the volatile part that has gone after `time` \[1\], 0 to 1.
    ///
    /// ```text
    /// g = min(r ṁ t/m_v, 1) at a constant rate;   1 − exp(−r ṁ t/m_v) at n = 1     as in [`Self::working_time`]
    /// ```
    ///
    /// # Errors
    /// Time negative or above a day; as [`Exposure::free_water_rate`].
    pub fn gone_after(&self, exposure: &Exposure, time: Time) -> Result<f64, RangeError> {
        within("time", time.s(), 0.0, 86_400.0, "s")?;
        Ok(self.gone_at(self.fresh_rate(exposure)? * time.s()))
    }

    /// Working time: until the dry share of the volatile part has gone. `None` where the film does not
    /// dry, because the air is as moist as the film or moister.
    ///
    /// ```text
    /// t = m_v/(r ṁ) · ∫_0^X dg/(1 − g)^n      m_v [kg/m²], r relative evaporation, ṁ [kg/(m²·s)]
    /// ```
    ///
    /// # Assumptions and valid range
    /// Surface temperature steady and given: the heat that evaporation takes (20 W/m² for an ordinary
    /// film) is small against what friction brings. The pad's own store of product is part of the
    /// volume.
    ///
    /// # Accuracy
    /// Exact for the law. Share and rate are assumed: good for comparing, to be set right with one timed
    /// section.
    ///
    /// # Errors
    /// As [`Exposure::free_water_rate`].
    ///
    /// # Example
    /// ```
    /// use trochoid::units::{Area, Temperature};
    /// use trochoid::wear::{Exposure, FilmProduct, MoistAir, ProductFilm};
    /// let film = ProductFilm::from_drops(FilmProduct::default(), 3, Area::from_m2(0.2))?;
    /// let air = MoistAir::new(Temperature::from_c(20.0), 0.5)?;
    /// let warm = Exposure::with_heat_transfer(air, Temperature::from_c(30.0), 4.0)?;
    /// // 2.25 g/m² volatile, 0.8 of it at a tenth of 8.26e-5 kg/(m²·s): 218 s.
    /// let t = film.working_time(&warm)?.map_or(0.0, |t| t.s());
    /// assert!((t - 218.0).abs() < 2.0);
    /// # Ok::<(), trochoid::RangeError>(())
    /// ```
    pub fn working_time(&self, exposure: &Exposure) -> Result<Option<Time>, RangeError> {
        let rate = self.fresh_rate(exposure)?;
        Ok((rate > 0.0).then(|| Time::from_s(self.effort(self.product.dry_share) / rate)))
    }

    /// Friction over that of fresh product when the share `gone` (0 to 1) of the volatile part has gone
    /// \[1\]; 1 without a law. See the example of [`ProductFilm`].
    #[must_use]
    pub fn friction_factor(&self, gone: f64) -> f64 {
        self.product.friction_rise.map_or(1.0, |f| 1.0 + f.amplitude * gone.powf(f.exponent))
    }

    /// Drying over the passes of a section, and where it dries out; see the example of [`ProductFilm`].
    ///
    /// # Errors
    /// No pass or more than 1000, a pass that takes no time or more than a day; as
    /// [`Exposure::free_water_rate`].
    pub fn course(&self, passes: &[PassExposure]) -> Result<FilmCourse, RangeError> {
        within("passes of the section", passes.len() as f64, 1.0, 1000.0, "")?;
        let dry = self.effort(self.product.dry_share);
        let (mut effort, mut clock) = (0.0, 0.0);
        let mut out = FilmCourse { gone: Vec::new(), friction_factor: Vec::new(), dry_out: None };
        for (pass, p) in passes.iter().enumerate() {
            within("time of the pass", p.time.s(), 1e-3, 86_400.0, "s")?;
            let rate = self.fresh_rate(&p.exposure)?;
            let next = effort + rate * p.time.s();
            if out.dry_out.is_none() && next >= dry {
                let inside = (dry - effort) / rate;
                out.dry_out =
                    Some(DryOut { pass, after: Time::from_s(clock + inside), share_of_pass: inside / p.time.s() });
            }
            effort = next;
            clock += p.time.s();
            let gone = self.gone_at(effort);
            out.gone.push(gone);
            out.friction_factor.push(self.friction_factor(gone));
        }
        Ok(out)
    }
}

/// Drops that a section needs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DropsNeeded {
    /// Whole drops.
    pub drops: u32,
    /// The same before rounding up \[drops\].
    pub exact: f64,
    /// Whether the thinnest covering film asks for more than the drying does.
    pub cover_binds: bool,
}

/// Most drops that [`drops_needed`] gives for one section.
pub const MOST_DROPS: u32 = 400;

/// Drops for a section of `area` so that the film stays workable for `time`, and covers.
///
/// ```text
/// drops = ⌈max(time/working time of one drop, least film/film of one drop)⌉, at least 1
/// ```
///
/// # Assumptions and valid range
/// As [`ProductFilm::working_time`]; the whole film is laid down at the start. Where nothing evaporates only the
/// cover counts.
///
/// # Errors
/// A number of the product outside its range, area outside 0.001 to 10 m², time outside 1 s to 2 h, more
/// than [`MOST_DROPS`]; as [`Exposure::free_water_rate`].
///
/// # Example
/// ```
/// use trochoid::units::{Area, Temperature, Time};
/// use trochoid::wear::{Exposure, FilmProduct, MoistAir, drops_needed};
/// let air = MoistAir::new(Temperature::from_c(20.0), 0.5)?;
/// let warm = Exposure::with_heat_transfer(air, Temperature::from_c(30.0), 4.0)?;
/// let need = drops_needed(FilmProduct::default(), Area::from_m2(0.2), Time::from_min(3.0), &warm)?;
/// assert_eq!(need.drops, 3); // 180 s/(218 s/3) = 2.5 before rounding
/// # Ok::<(), trochoid::RangeError>(())
/// ```
pub fn drops_needed(
    product: FilmProduct,
    area: Area,
    time: Time,
    exposure: &Exposure,
) -> Result<DropsNeeded, RangeError> {
    within("working time", time.s(), 1.0, 7200.0, "s")?;
    let one = ProductFilm::from_drops(product, 1, area)?;
    // Working time and thickness both go with the volume.
    let by_drying = one.working_time(exposure)?.map_or(0.0, |t| time.s() / t.s());
    let by_cover = product.least_film.m() / one.thickness().m();
    let exact = by_drying.max(by_cover);
    within("drops on the section", exact, 0.0, f64::from(MOST_DROPS), "drops")?;
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // 0 to MOST_DROPS, checked above
    let drops = exact.ceil().max(1.0) as u32;
    Ok(DropsNeeded { drops, exact, cover_binds: by_cover > by_drying })
}
