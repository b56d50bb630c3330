//! The pad as a disc of rings and layers, its surroundings, and one implicit step of it.
//!
//! Finite volumes in r and z; layers thin at the face and grow by an eighth each toward the plate. In time
//! the two-stage, second-order, L-stable rule of R. Alexander, SIAM J. Numer. Anal. 14 (1977) 1006.

use super::banded::Band;
use super::hysteresis::BulkHeat;
use super::material::{Material, Thermal};
use super::temperature_within;
use crate::equipment::{Pad, within};
use crate::error::RangeError;
use crate::units::{Length, Speed, Temperature};
use core::f64::consts::{FRAC_1_SQRT_2, PI};

const GAMMA: f64 = 1.0 - FRAC_1_SQRT_2;

/// The pad's body and how it loses heat. The plate side counts as insulated unless told otherwise, a hole
/// as closed.
///
/// # Example
/// ```
/// use trochoid::{Length, Temperature, heat::{Material, PadDisc}};
/// let (mm, room) = (Length::from_mm, Temperature::from_c(20.0));
/// let foam = Material::foam().thermal;
/// let disc = PadDisc::new((mm(65.0), mm(10.0), mm(25.0)), foam, room, (10.0, 40.0, 0.0))?;
/// // π (0.065² − 0.010²) × 0.025 = 3.2398e-4 m³.
/// assert!((disc.volume() - 3.2398e-4).abs() < 1e-8);
/// # Ok::<(), trochoid::RangeError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PadDisc {
    pub(super) radius: f64,
    pub(super) hole: f64,
    pub(super) thickness: f64,
    pub(super) foam: Thermal,
    pub(super) ambient: f64,
    pub(super) face_air: f64,
    pub(super) rim_air: f64,
    pub(super) plate: f64,
}

/// Coefficient of a lifted face in still air [W/(m² K)]: natural convection and radiation together
/// (assumed; the correlations of [`super::Cooling`] give 8 to 12).
const LIFTED_FACE: f64 = 10.0;

impl PadDisc {
    /// A disc of `foam` with radius, hole radius and thickness, in surroundings at `ambient`, with coefficients
    /// [W/(m² K)] for the face when it is lifted, for the rim, and through the plate; see the example of
    /// [`PadDisc`].
    ///
    /// # Errors
    /// Radius outside 2.5 to 250 mm, hole not below 0.9 of it, thickness outside 0.5 to 150 mm, ambient
    /// outside −60 to 400 °C, coefficients outside 0 to 10 000 W/(m² K).
    pub fn new(
        (radius, hole, thickness): (Length, Length, Length),
        foam: Thermal,
        ambient: Temperature,
        (face, rim, plate): (f64, f64, f64),
    ) -> Result<Self, RangeError> {
        let coefficient = |what, h| within(what, h, 0.0, 1e4, "W/(m² K)");
        Ok(Self {
            radius: Length::from_mm(within("pad radius", radius.mm(), 2.5, 250.0, "mm")?).m(),
            hole: Length::from_mm(within("hole radius", hole.mm(), 0.0, 0.9 * radius.mm(), "mm")?).m(),
            thickness: Length::from_mm(within("pad thickness", thickness.mm(), 0.5, 150.0, "mm")?).m(),
            foam,
            ambient: temperature_within("ambient temperature", ambient)?,
            face_air: coefficient("heat transfer coefficient of the lifted face", face)?,
            rim_air: coefficient("heat transfer coefficient of the rim", rim)?,
            plate: coefficient("heat transfer coefficient through the plate", plate)?,
        })
    }

    /// A pad of dry foam of its own density in air; the rim moves through it at `rim_speed`, the orbit's
    /// speed (coefficient of flow along a plate as long as the pad is thick). Conductivity and heat capacity
    /// are those of [`Material::foam`], the plate insulates; for the parts see the example of [`PadDisc`].
    ///
    /// # Errors
    /// As [`PadDisc::new`] and [`super::forced_air`].
    pub fn of(pad: &Pad, ambient: Temperature, rim_speed: Speed) -> Result<Self, RangeError> {
        let usual = Material::foam().thermal;
        let foam = Thermal::new(usual.through(), usual.in_plane(), pad.foam_density(), usual.heat_capacity())?;
        let thickness = pad.thickness();
        let rim = super::forced_air(rim_speed, thickness, ambient)? + LIFTED_FACE;
        let sizes = (Length::from_m(pad.radius()), Length::from_m(pad.hole_radius()), thickness);
        Self::new(sizes, foam, ambient, (LIFTED_FACE, rim, 0.0))
    }

    /// The same with another coefficient through the plate [W/(m² K)].
    ///
    /// # Errors
    /// Outside 0 to 10 000 W/(m² K).
    pub fn with_plate(mut self, coefficient: f64) -> Result<Self, RangeError> {
        self.plate = within("heat transfer coefficient through the plate", coefficient, 0.0, 1e4, "W/(m² K)")?;
        Ok(self)
    }

    /// Volume of the foam, the hole left out \[m³\].
    #[must_use]
    pub fn volume(&self) -> f64 {
        PI * (self.radius * self.radius - self.hole * self.hole) * self.thickness
    }
}

/// What the face meets: coefficient [W/(m² K)] and temperature over ambient \[K\] of what lies before it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Facing {
    pub(super) coefficient: f64,
    pub(super) excess: f64,
}

/// Energy that passed in one step \[J\].
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Passed {
    pub(super) entered: f64,
    pub(super) to_air: f64,
    pub(super) to_facing: f64,
}

/// The cells; layers run fastest, the face first.
#[derive(Debug, Clone)]
pub(super) struct Cells {
    pub(super) count: (usize, usize),
    /// Outer radii of the rings, and the hole before them.
    pub(super) radii: Vec<f64>,
    /// Faces of the layers, from the face of the pad.
    pub(super) depths: Vec<f64>,
    pub(super) areas: Vec<f64>,
    capacity: Vec<f64>,
    radial: Vec<f64>,
    axial: Vec<f64>,
    /// Conductance of a cell to the air at rim and plate.
    air: Vec<f64>,
    /// Conductance of an area from the middle of the first layer to the face [W/(m² K)].
    pub(super) half: f64,
}

impl Cells {
    pub(super) fn new(disc: &PadDisc, count: (usize, usize)) -> Self {
        let (nr, nz) = count;
        let radii: Vec<f64> = (0..=nr).map(|i| disc.hole + (disc.radius - disc.hole) * i as f64 / nr as f64).collect();
        let grow = |k: usize| 1.125f64.powf(16.0 * k as f64 / nz as f64) - 1.0;
        let depths: Vec<f64> = (0..=nz).map(|k| disc.thickness * grow(k) / grow(nz)).collect();
        let areas: Vec<f64> = radii.windows(2).map(|w| PI * (w[1] * w[1] - w[0] * w[0])).collect();
        let thick: Vec<f64> = depths.windows(2).map(|w| w[1] - w[0]).collect();
        let (k_r, k_z) = (disc.foam.in_plane(), disc.foam.through());
        let dr = (disc.radius - disc.hole) / nr as f64;
        let (mut capacity, mut radial, mut axial, mut air) = (Vec::new(), Vec::new(), Vec::new(), Vec::new());
        let through = |h: f64, half: f64| if h > 0.0 { 1.0 / (1.0 / h + half) } else { 0.0 };
        for i in 0..nr {
            for k in 0..nz {
                capacity.push(disc.foam.volumetric() * areas[i] * thick[k]);
                radial.push(if i + 1 < nr { k_r * 2.0 * PI * radii[i + 1] * thick[k] / dr } else { 0.0 });
                axial.push(if k + 1 < nz { 2.0 * k_z * areas[i] / (thick[k] + thick[k + 1]) } else { 0.0 });
                let rim = if i + 1 == nr {
                    2.0 * PI * disc.radius * thick[k] * through(disc.rim_air, 0.5 * dr / k_r)
                } else {
                    0.0
                };
                let plate = if k + 1 == nz { areas[i] * through(disc.plate, 0.5 * thick[k] / k_z) } else { 0.0 };
                air.push(rim + plate);
            }
        }
        Self { count, half: 2.0 * k_z / thick[0], radii, depths, areas, capacity, radial, axial, air }
    }

    /// Conductance of an area from the first layer to what the face meets.
    fn to_facing(&self, facing: Facing) -> f64 {
        if facing.coefficient > 0.0 { 1.0 / (1.0 / facing.coefficient + 1.0 / self.half) } else { 0.0 }
    }

    /// Share of heat made at the face that goes into the pad.
    pub(super) fn face_share(&self, facing: Facing) -> f64 {
        self.half / (self.half + facing.coefficient)
    }

    /// Temperature of the face over ring `i`, over ambient.
    pub(super) fn face(&self, t: &[f64], i: usize, flux: f64, facing: Facing) -> f64 {
        (flux + self.half * t[i * self.count.1] + facing.coefficient * facing.excess) / (self.half + facing.coefficient)
    }

    /// Factor of C + γΔt A.
    pub(super) fn factor(&self, facing: Facing, dt: f64) -> Band {
        let (nr, nz) = self.count;
        let row = nz + 1;
        let mut lower = vec![0.0; nr * nz * row];
        let g = GAMMA * dt;
        let face = self.to_facing(facing);
        for c in 0..nr * nz {
            let (i, k) = (c / nz, c % nz);
            let mut diagonal = self.air[c] + self.radial[c] + self.axial[c];
            if i > 0 {
                diagonal += self.radial[c - nz];
                lower[c * row] = -g * self.radial[c - nz];
            }
            if k > 0 {
                diagonal += self.axial[c - 1];
                lower[c * row + nz - 1] -= g * self.axial[c - 1];
            } else {
                diagonal += face * self.areas[i];
            }
            lower[c * row + nz] = self.capacity[c] + g * diagonal;
        }
        Band::new(nz, lower)
    }

    /// Net power into each cell at temperatures `t`, and what leaves.
    fn balance(&self, t: &[f64], heat: &[f64], facing: Facing, out: &mut Vec<f64>) -> (f64, f64) {
        let nz = self.count.1;
        out.clear();
        out.extend_from_slice(heat);
        let (mut to_air, mut to_facing) = (0.0, 0.0);
        let face = self.to_facing(facing);
        for c in 0..t.len() {
            let lost = self.air[c] * t[c];
            to_air += lost;
            out[c] -= lost;
            if c % nz == 0 {
                let lost = face * self.areas[c / nz] * (t[c] - facing.excess);
                to_facing += lost;
                out[c] -= lost;
            }
            if c + 1 < t.len() && self.axial[c] > 0.0 {
                let flow = self.axial[c] * (t[c] - t[c + 1]);
                out[c] -= flow;
                out[c + 1] += flow;
            }
            if c + nz < t.len() {
                let flow = self.radial[c] * (t[c] - t[c + nz]);
                out[c] -= flow;
                out[c + nz] += flow;
            }
        }
        (to_air, to_facing)
    }

    /// One step of `dt`; `heat` is the power put into each cell.
    pub(super) fn step(
        &self,
        band: &Band,
        t: &mut [f64],
        heat: &[f64],
        facing: Facing,
        dt: f64,
        work: &mut [Vec<f64>; 3],
    ) -> Passed {
        let mut passed = Passed { entered: heat.iter().sum::<f64>() * dt, ..Passed::default() };
        let [stage, first, second] = work;
        self.balance(t, heat, facing, first);
        band.solve(first);
        stage.clear();
        stage.extend(t.iter().zip(first.iter()).map(|(t, k)| t + (1.0 - GAMMA) * dt * k));
        self.balance(stage, heat, facing, second);
        band.solve(second);
        // The losses are those at the two stages, so that the balance closes to rounding.
        let mut spare = Vec::new();
        for (weight, k, base_weight) in [(1.0 - GAMMA, &*first, 0.0), (GAMMA, &*second, 1.0 - GAMMA)] {
            stage.clear();
            stage.extend(t.iter().zip(first.iter()).zip(k).map(|((t, a), k)| t + dt * (base_weight * a + GAMMA * k)));
            let (air, face) = self.balance(stage, heat, facing, &mut spare);
            passed.to_air += weight * dt * air;
            passed.to_facing += weight * dt * face;
        }
        for ((t, a), b) in t.iter_mut().zip(first.iter()).zip(second.iter()) {
            *t += dt * ((1.0 - GAMMA) * a + GAMMA * b);
        }
        passed
    }

    /// Heat made in each cell by hysteresis \[W\].
    pub(super) fn bulk(&self, heat: &BulkHeat) -> Vec<f64> {
        let nz = self.count.1;
        let outer = self.radii.last().copied().unwrap_or(1.0);
        (0..self.capacity.len())
            .map(|c| {
                let (i, k) = (c / nz, c % nz);
                // Mean of r² over the ring.
                let square = 0.5 * (self.radii[i].powi(2) + self.radii[i + 1].powi(2));
                heat.at(square.sqrt() / outer) * self.areas[i] * (self.depths[k + 1] - self.depths[k])
            })
            .collect()
    }

    /// Heat content over ambient \[J\].
    pub(super) fn heat(&self, t: &[f64]) -> f64 {
        t.iter().zip(&self.capacity).map(|(t, c)| t * c).sum()
    }

    pub(super) fn whole_capacity(&self) -> f64 {
        self.capacity.iter().sum()
    }
}
