//! The pad as a stack: backing plate, optional interface layer, pad.

use super::{CompressionLaw, Stack, defaults, within};
use crate::error::RangeError;
use crate::units::{Length, Mass, Pressure, Stiffness};
use core::f64::consts::PI;

/// Soft layer between plate and pad; its compression law is linear, and it bottoms out at strain 1.
///
/// Thickness 0.1 to 100 mm, stiffness 1e-3 to 1e4 kPa/mm, shear modulus 0.1 kPa to 100 MPa.
///
/// # Example
/// ```
/// use trochoid::equipment::Interface;
/// use trochoid::{CompressionLaw, Length, Pad, Stiffness};
/// # fn main() -> Result<(), trochoid::RangeError> {
/// let soft = Interface::new(Length::from_mm(10.0), Stiffness::from_kpa_per_mm(0.6))?;
/// let foam = CompressionLaw::linear(Stiffness::from_kpa_per_mm(0.9))?;
/// let pad = Pad::new(Length::from_mm(130.0), Length::from_mm(25.0), foam)?.with_interface(soft);
/// // Springs in series: 1/(1/0.9 + 1/0.6) = 0.36 kPa/mm = 3.6e5 Pa/m.
/// assert!(pad.stack().linear_stiffness().is_some_and(|k| (k - 3.6e5).abs() < 1.0));
/// # Ok(())
/// # }
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Interface {
    thickness_m: f64,
    k: f64,
    shear_modulus: Option<f64>,
}

impl Interface {
    /// A layer, rigid in shear.
    ///
    /// # Errors
    /// Thickness outside 0.1 to 100 mm, stiffness outside 1e-3 to 1e4 kPa/mm.
    pub fn new(thickness: Length, stiffness: Stiffness) -> Result<Self, RangeError> {
        within("interface.thickness_mm", thickness.mm(), 0.1, 100.0, "mm")?;
        within("interface.stiffness_kpa_per_mm", stiffness.kpa_per_mm(), 1e-3, 1e4, "kPa/mm")?;
        Ok(Self { thickness_m: thickness.m(), k: stiffness.pa_per_m(), shear_modulus: None })
    }

    /// Gives the layer a shear modulus.
    ///
    /// # Errors
    /// Outside 0.1 kPa to 100 MPa.
    pub fn with_shear_modulus(mut self, modulus: Pressure) -> Result<Self, RangeError> {
        within("interface.shear_modulus_kpa", modulus.kpa(), 0.1, 1e5, "kPa")?;
        self.shear_modulus = Some(modulus.pa());
        Ok(self)
    }

    /// Thickness.
    #[must_use]
    pub const fn thickness(&self) -> Length {
        Length::from_m(self.thickness_m)
    }

    /// Foundation modulus.
    #[must_use]
    pub const fn stiffness(&self) -> Stiffness {
        Stiffness::from_pa_per_m(self.k)
    }
}

/// A pad on its backing plate: compliant layers between a stiff disc and the paint.
///
/// ```text
/// A     = π (R² − r_h²)        area of the face [m²], R its radius, r_h that of the hole [m]
/// 1/k_s = Σ h_i/(G_i A)        shear stiffness of the layers in series [N/m], h thickness [m], G [Pa]
/// ```
///
/// # Units
/// Quantities enter and leave as types with their unit in the name; `radius`, `plate_radius` and
/// `hole_radius` are in m, `face_area` in m², `shear_stiffness` in N/m.
///
/// # Assumptions and valid range
/// Round, flat, stiff plate; layers in series carry the same pressure; foam beyond the plate's edge
/// carries a load that decays as exp(−x/λ) (own law, assumed). Without a shear modulus the pad is rigid
/// in shear and keeps the whole throw at its face.
///
/// # Example
/// ```
/// use trochoid::{CompressionLaw, Length, Pad, Pressure, Stiffness};
/// # fn main() -> Result<(), trochoid::RangeError> {
/// let foam = CompressionLaw::linear(Stiffness::from_kpa_per_mm(0.9))?;
/// let pad = Pad::new(Length::from_mm(130.0), Length::from_mm(25.0), foam)?
///     .with_shear_modulus(Pressure::from_kpa(15.0))?;
/// // A = π 65² mm² = 13 273 mm²; k_s = 15 000 × 0.013273/0.025 = 7964 N/m.
/// assert!((pad.face_area() - 0.013273).abs() < 1e-6);
/// assert!((pad.shear_stiffness() - 7964.0).abs() < 1.0);
/// # Ok(())
/// # }
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Pad {
    radius: f64,
    thickness: f64,
    compression: CompressionLaw,
    plate_radius: f64,
    hole_radius: f64,
    mass: f64,
    shear_modulus: Option<f64>,
    loss_factor: f64,
    foam_density: f64,
    overhang_length: Option<f64>,
    grains_per_m2: f64,
    off_centre: f64,
    interface: Option<Interface>,
}

impl Pad {
    /// A pad from its face diameter, thickness and compression law; everything else takes the
    /// defaults of [`defaults`]. See the example of [`Pad`].
    ///
    /// # Errors
    /// Diameter outside 5 to 500 mm, thickness outside 0.5 to 150 mm.
    pub fn new(diameter: Length, thickness: Length, compression: CompressionLaw) -> Result<Self, RangeError> {
        within("diameter_mm", diameter.mm(), 5.0, 500.0, "mm")?;
        within("thickness_mm", thickness.mm(), 0.5, 150.0, "mm")?;
        let radius = 0.5 * diameter.m();
        Ok(Self {
            radius,
            thickness: thickness.m(),
            compression,
            plate_radius: radius,
            hole_radius: 0.0,
            mass: defaults::PAD_MASS_KG,
            shear_modulus: None,
            loss_factor: defaults::LOSS_FACTOR,
            foam_density: defaults::FOAM_DENSITY_KG_M3,
            overhang_length: None,
            grains_per_m2: defaults::GRAINS_PER_M2,
            off_centre: 0.0,
            interface: None,
        })
    }

    /// Sets the backing plate's diameter. A plate larger than the face carries all of it.
    ///
    /// # Errors
    /// Outside 5 to 500 mm or not above the hole.
    pub fn with_plate(mut self, diameter: Length) -> Result<Self, RangeError> {
        within("plate_mm", diameter.mm(), 5.0, 500.0, "mm")?;
        if 0.5 * diameter.m() <= self.hole_radius {
            return Err(RangeError::new(
                "plate_mm",
                diameter.mm(),
                "mm",
                format!("above the hole, {} mm", 2e3 * self.hole_radius),
            ));
        }
        self.plate_radius = 0.5 * diameter.m();
        Ok(self)
    }

    /// Sets the diameter of a centre hole in the face.
    ///
    /// # Errors
    /// Negative, or more than 0.9 of the smaller of face and plate.
    pub fn with_hole(mut self, diameter: Length) -> Result<Self, RangeError> {
        let most = 2e3 * 0.9 * self.radius.min(self.plate_radius);
        within("hole_mm", diameter.mm(), 0.0, most, "mm")?;
        self.hole_radius = 0.5 * diameter.m();
        Ok(self)
    }

    /// Sets the mass of the rotating assembly: plate, pad, product held.
    ///
    /// # Errors
    /// Outside 1 g to 10 kg.
    pub fn with_mass(mut self, mass: Mass) -> Result<Self, RangeError> {
        self.mass = within("pad.mass_kg", mass.kg(), 1e-3, 10.0, "kg")?;
        Ok(self)
    }

    /// Sets the shear modulus of the pad, by which its face lags behind its plate.
    ///
    /// # Errors
    /// Outside 0.1 kPa to 100 MPa.
    pub fn with_shear_modulus(mut self, modulus: Pressure) -> Result<Self, RangeError> {
        within("shear_modulus_kpa", modulus.kpa(), 0.1, 1e5, "kPa")?;
        self.shear_modulus = Some(modulus.pa());
        Ok(self)
    }

    /// Sets the loss factor of the foam under cyclic load \[1\]: loss modulus over storage modulus, the tangent
    /// of the angle by which force leads compression.
    ///
    /// # Errors
    /// Outside 0 to 2.
    pub fn with_loss_factor(mut self, loss_factor: f64) -> Result<Self, RangeError> {
        self.loss_factor = within("loss_factor", loss_factor, 0.0, 2.0, "")?;
        Ok(self)
    }

    /// Sets how far the pad's middle is mounted off the axis of its bearing. It shakes the machine; contact
    /// and spin are told for a pad on the axis.
    ///
    /// # Errors
    /// Outside 0 to 50 mm.
    pub fn with_off_centre(mut self, distance: Length) -> Result<Self, RangeError> {
        self.off_centre = Length::from_mm(within("off_centre_mm", distance.mm(), 0.0, 50.0, "mm")?).m();
        Ok(self)
    }

    /// How far the pad's middle is off the axis of its bearing.
    #[must_use]
    pub const fn off_centre(&self) -> Length {
        Length::from_m(self.off_centre)
    }

    /// Sets the apparent density of the foam, kg/m³.
    ///
    /// # Errors
    /// Outside 1 to 2000 kg/m³.
    pub fn with_foam_density(mut self, density_kg_m3: f64) -> Result<Self, RangeError> {
        self.foam_density = within("foam_density_kg_m3", density_kg_m3, 1.0, 2000.0, "kg/m³")?;
        Ok(self)
    }

    /// Sets the decay length of the load beyond the plate's edge.
    ///
    /// # Errors
    /// Outside 0.1 to 500 mm.
    pub fn with_overhang_length(mut self, length: Length) -> Result<Self, RangeError> {
        within("overhang_length_mm", length.mm(), 0.1, 500.0, "mm")?;
        self.overhang_length = Some(length.m());
        Ok(self)
    }

    /// Sets the number of abrasive grains in action per square metre of face.
    ///
    /// # Errors
    /// Outside 1e-6 to 1e18.
    pub fn with_grains_per_m2(mut self, grains: f64) -> Result<Self, RangeError> {
        self.grains_per_m2 = within("grains_per_m2", grains, 1e-6, 1e18, "1/m²")?;
        Ok(self)
    }

    /// Puts a soft layer between plate and pad.
    #[must_use]
    pub const fn with_interface(mut self, interface: Interface) -> Self {
        self.interface = Some(interface);
        self
    }

    /// The same pad with another compression law.
    #[must_use]
    pub fn with_compression(mut self, compression: CompressionLaw) -> Self {
        self.compression = compression;
        self
    }

    /// The same pad in another thickness; its compression law stays (a linear law does not depend
    /// on the thickness, the others are laws of strain).
    ///
    /// # Errors
    /// As [`Pad::new`].
    pub fn with_thickness(&self, thickness: Length) -> Result<Self, RangeError> {
        within("thickness_mm", thickness.mm(), 0.5, 150.0, "mm")?;
        let mut pad = self.clone();
        pad.thickness = thickness.m();
        Ok(pad)
    }

    /// A pad of the same make in another diameter: plate and hole in proportion, mass with the
    /// area, thickness and material as they are.
    ///
    /// # Errors
    /// As [`Pad::new`].
    ///
    /// # Example
    /// ```
    /// use trochoid::{CompressionLaw, Length, Mass, Pad, Stiffness};
    /// let foam = CompressionLaw::linear(Stiffness::from_kpa_per_mm(0.9))?;
    /// let pad = Pad::new(Length::from_mm(150.0), Length::from_mm(25.0), foam)?.with_mass(Mass::from_kg(0.2))?;
    /// // Half the diameter: a quarter of the area and of the mass, so four times the pressure at one force.
    /// let small = pad.resized(Length::from_mm(75.0))?;
    /// assert!((small.mass().kg() - 0.05).abs() < 1e-12);
    /// assert!((pad.face_area() / small.face_area() - 4.0).abs() < 1e-12);
    /// # Ok::<(), trochoid::RangeError>(())
    /// ```
    pub fn resized(&self, diameter: Length) -> Result<Self, RangeError> {
        within("diameter_mm", diameter.mm(), 5.0, 500.0, "mm")?;
        let scale = 0.5 * diameter.m() / self.radius;
        let mut pad = self.clone();
        pad.radius *= scale;
        pad.plate_radius *= scale;
        pad.hole_radius *= scale;
        pad.mass *= scale * scale;
        Ok(pad)
    }

    /// Radius of the face \[m\].
    #[must_use]
    pub const fn radius(&self) -> f64 {
        self.radius
    }

    /// Diameter of the face.
    #[must_use]
    pub const fn diameter(&self) -> Length {
        Length::from_m(2.0 * self.radius)
    }

    /// Thickness of the pad without plate and interface layer.
    #[must_use]
    pub const fn thickness(&self) -> Length {
        Length::from_m(self.thickness)
    }

    /// Compression law of the pad.
    #[must_use]
    pub const fn compression(&self) -> &CompressionLaw {
        &self.compression
    }

    /// Radius of the backing plate \[m\].
    #[must_use]
    pub const fn plate_radius(&self) -> f64 {
        self.plate_radius
    }

    /// Radius of the centre hole \[m\].
    #[must_use]
    pub const fn hole_radius(&self) -> f64 {
        self.hole_radius
    }

    /// Mass of the rotating assembly.
    #[must_use]
    pub const fn mass(&self) -> Mass {
        Mass::from_kg(self.mass)
    }

    /// Moment of inertia of a uniform disc of the rotating assembly's mass and face, ½ m R², the default
    /// where the tool gives none. The hole is left out of account.
    #[must_use]
    pub fn disc_inertia(&self) -> crate::units::Inertia {
        crate::units::Inertia::from_kgm2(0.5 * self.mass * self.radius * self.radius)
    }

    /// Shear modulus, where given; without one the pad is rigid in shear.
    #[must_use]
    pub fn shear_modulus(&self) -> Option<Pressure> {
        self.shear_modulus.map(Pressure::from_pa)
    }

    /// Loss factor of the foam \[1\].
    #[must_use]
    pub const fn loss_factor(&self) -> f64 {
        self.loss_factor
    }

    /// Apparent density of the foam [kg/m³].
    #[must_use]
    pub const fn foam_density(&self) -> f64 {
        self.foam_density
    }

    /// Grains in action per square metre of face [1/m²].
    #[must_use]
    pub const fn grains_per_m2(&self) -> f64 {
        self.grains_per_m2
    }

    /// The soft layer between plate and pad, where fitted.
    #[must_use]
    pub const fn interface(&self) -> Option<&Interface> {
        self.interface.as_ref()
    }

    /// Decay length of the load beyond the plate's edge; half the pad's thickness where none was set.
    #[must_use]
    pub fn overhang_length(&self) -> Length {
        Length::from_m(self.overhang_length.unwrap_or(defaults::OVERHANG_LENGTH_PER_THICKNESS * self.thickness))
    }

    /// Area of the face \[m²\]; the hole is left out.
    #[must_use]
    pub fn face_area(&self) -> f64 {
        PI * (self.radius * self.radius - self.hole_radius * self.hole_radius)
    }

    /// The compliant layers in series.
    #[must_use]
    pub fn stack(&self) -> Stack {
        Stack::new(&self.compression, self.thickness, self.interface.as_ref())
    }

    /// Shear stiffness of all layers in series [N/m]; infinite where every layer is rigid in shear.
    ///
    /// ```text
    /// 1/k_s = Σ h_i / (G_i A)      h layer thickness [m], G shear modulus [Pa], A face area [m²]
    /// ```
    #[must_use]
    pub fn shear_stiffness(&self) -> f64 {
        let area = self.face_area();
        let pad = self.shear_modulus.map_or(0.0, |g| self.thickness / (g * area));
        let layer = self.interface.and_then(|i| i.shear_modulus.map(|g| i.thickness_m / (g * area))).unwrap_or(0.0);
        1.0 / (pad + layer)
    }
}
