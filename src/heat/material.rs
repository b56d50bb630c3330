//! Thermal properties of what panels, paint and pads are made of: round handbook values with their
//! ranges, not those of one grade.

use crate::equipment::{Substrate, within};
use crate::error::RangeError;

/// Thermal properties of one material.
///
/// # Example
/// ```
/// // A polymer film: ρc = 1300 × 1500 = 1.95e6 J/(m³ K), k/(ρc) = 0.25/1.95e6 = 1.282e-7 m²/s,
/// // √(kρc) = √487 500 = 698.2 W √s/(m² K).
/// let film = trochoid::heat::Thermal::new(0.25, 0.25, 1300.0, 1500.0)?;
/// assert!((film.volumetric() - 1.95e6).abs() < 1e-6);
/// assert!((film.diffusivity() - 1.282e-7).abs() < 1e-10 && (film.effusivity() - 698.2).abs() < 0.05);
/// # Ok::<(), trochoid::RangeError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Thermal {
    through: f64,
    in_plane: f64,
    density: f64,
    heat_capacity: f64,
}

impl Thermal {
    /// A material from its conductivity through the thickness and in the plane [W/(m K)], density
    /// [kg/m³] and heat capacity [J/(kg K)]; see the example of [`Thermal`].
    ///
    /// # Errors
    /// Conductivities outside 0.005 to 1000 W/(m K), density outside 1 to 25 000 kg/m³, heat capacity
    /// outside 50 to 10 000 J/(kg K).
    pub fn new(through: f64, in_plane: f64, density: f64, heat_capacity: f64) -> Result<Self, RangeError> {
        Ok(Self {
            through: within("conductivity", through, 5e-3, 1e3, "W/(m K)")?,
            in_plane: within("in-plane conductivity", in_plane, 5e-3, 1e3, "W/(m K)")?,
            density: within("density", density, 1.0, 25e3, "kg/m³")?,
            heat_capacity: within("heat capacity", heat_capacity, 50.0, 1e4, "J/(kg K)")?,
        })
    }

    /// Conductivity through the thickness [W/(m K)].
    #[must_use]
    pub const fn through(&self) -> f64 {
        self.through
    }

    /// Conductivity in the plane [W/(m K)].
    #[must_use]
    pub const fn in_plane(&self) -> f64 {
        self.in_plane
    }

    /// Density [kg/m³].
    #[must_use]
    pub const fn density(&self) -> f64 {
        self.density
    }

    /// Heat capacity [J/(kg K)].
    #[must_use]
    pub const fn heat_capacity(&self) -> f64 {
        self.heat_capacity
    }

    /// Heat capacity of a volume ρc [J/(m³ K)].
    #[must_use]
    pub const fn volumetric(&self) -> f64 {
        self.density * self.heat_capacity
    }

    /// Diffusivity through the thickness k/(ρc) [m²/s].
    #[must_use]
    pub const fn diffusivity(&self) -> f64 {
        self.through / self.volumetric()
    }

    /// Effusivity √(kρc) [W √s/(m² K)]: how readily a body takes up heat at its face.
    #[must_use]
    pub fn effusivity(&self) -> f64 {
        (self.through * self.volumetric()).sqrt()
    }
}

/// A material of the table, with where its numbers come from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Material {
    /// Name by which it is asked for.
    pub name: &'static str,
    /// The values used.
    pub thermal: Thermal,
    /// Usual range of the conductivity through the thickness [W/(m K)].
    pub conductivity_range: (f64, f64),
    /// Usual thickness where it is a substrate \[mm\]; zero elsewhere.
    pub usual_mm: f64,
    /// Source of the values and of the range.
    pub source: &'static str,
}

const fn thermal(through: f64, in_plane: f64, density: f64, heat_capacity: f64) -> Thermal {
    Thermal { through, in_plane, density, heat_capacity }
}

/// The table. Effusivities follow from it: paint film about 700, dry foam about 85 W √s/(m² K).
pub const MATERIALS: [Material; 6] = [
    Material {
        name: "steel",
        thermal: thermal(63.9, 63.9, 7832.0, 434.0),
        conductivity_range: (45.0, 65.0),
        usual_mm: 0.7,
        source: "carbon steel AISI 1010 at 300 K, Incropera et al., table A.1, from memory; sheet 0.6 to 0.9 mm, common practice",
    },
    Material {
        name: "aluminium",
        thermal: thermal(160.0, 160.0, 2700.0, 900.0),
        conductivity_range: (120.0, 200.0),
        usual_mm: 1.0,
        source: "wrought sheet alloys, general handbooks, from memory; sheet 0.9 to 1.2 mm, common practice",
    },
    Material {
        name: "plastic",
        thermal: thermal(0.2, 0.2, 950.0, 1800.0),
        conductivity_range: (0.12, 0.35),
        usual_mm: 3.0,
        source: "polypropylene blends, general handbooks, from memory; wall 2.5 to 3.5 mm, common practice",
    },
    Material {
        name: "composite",
        thermal: thermal(0.7, 4.0, 1550.0, 1000.0),
        conductivity_range: (0.4, 1.0),
        usual_mm: 2.0,
        source: "woven carbon fibre in epoxy; in the plane 2 to 10 W/(m K); general handbooks, from memory",
    },
    Material {
        name: "paint film",
        thermal: thermal(0.25, 0.25, 1300.0, 1500.0),
        conductivity_range: (0.15, 0.4),
        usual_mm: 0.0,
        source: "polymer films, general handbooks, from memory; diffusivity 1.3e-7 m²/s inside the 1 to 3e-7 measured on acrylic paint films by Coelho et al., J. Phys. IV France 125 (2005) 519",
    },
    Material {
        name: "foam",
        thermal: thermal(0.05, 0.05, 60.0, 2400.0),
        conductivity_range: (0.03, 0.06),
        usual_mm: 0.0,
        source: "polyurethane foams: 0.048 to 0.050 W/(m K) and 2359 to 2996 J/(kg K), Thermophysical properties of polyurethane foams and their melts, Fire and Materials (2013), doi 10.1002/fam.2188; density assumed; dry",
    },
];

impl Material {
    /// The material of that name.
    ///
    /// # Errors
    /// A name that is not in [`MATERIALS`]; the error names those that are.
    pub fn named(name: &str) -> Result<Self, RangeError> {
        MATERIALS.into_iter().find(|m| m.name == name).ok_or_else(|| {
            let known: Vec<&str> = MATERIALS.iter().map(|m| m.name).collect();
            RangeError::new("material", f64::NAN, "", format!("one of {}; `{name}` is not known", known.join(", ")))
        })
    }

    /// What a paint lies on: steel, aluminium, plastic or composite of the table.
    #[must_use]
    pub const fn of(substrate: Substrate) -> Self {
        match substrate {
            Substrate::Steel => MATERIALS[0],
            Substrate::Aluminium => MATERIALS[1],
            Substrate::Plastic => MATERIALS[2],
            Substrate::Composite => MATERIALS[3],
        }
    }

    /// The whole film build of a painted panel, as one material.
    #[must_use]
    pub const fn paint_film() -> Self {
        MATERIALS[4]
    }

    /// Dry pad foam.
    #[must_use]
    pub const fn foam() -> Self {
        MATERIALS[5]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_are_found_and_substrates_are_theirs() {
        for m in MATERIALS {
            assert_eq!(Material::named(m.name), Ok(m));
            let k = m.thermal.through();
            assert!(k >= m.conductivity_range.0 && k <= m.conductivity_range.1, "{} is in its own range", m.name);
        }
        assert_eq!(Material::of(Substrate::Plastic).name, "plastic");
        let e = Material::named("wood").expect_err("not in the table").to_string();
        assert!(e.contains("wood") && e.contains("steel"), "{e}");
        assert!(Thermal::new(f64::NAN, 1.0, 1.0, 100.0).is_err());
    }
}
