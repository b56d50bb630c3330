//! Every check of the crate against a number from outside it, or against one of its own closed
//! forms, with the source beside it: what `trochoid verify` prints.

mod closed_forms;
mod contact;
mod exposure;
mod finish;
mod friction;
mod grains;
mod heat;
mod kinematics;
mod machine;
mod moist_air;
mod page;

pub use page::{page, summary_table};

/// Where an expected number comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[non_exhaustive]
pub enum CheckKind {
    /// Printed in the source named, or computed, apart from this crate, from its published formula.
    Published,
    /// A textbook formula, another quadrature of the model, or two forms held against each other.
    Computed,
    /// A formula derived for this project.
    Own,
}

impl CheckKind {
    /// The word for it in the tables: `published`, `computed` or `own`.
    ///
    /// # Example
    /// ```
    /// assert_eq!(trochoid::verify::CheckKind::Own.name(), "own");
    /// ```
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Published => "published",
            Self::Computed => "computed",
            Self::Own => "own",
        }
    }
}

/// One check: a number from outside beside the one computed here.
#[derive(Debug, Clone, PartialEq)]
pub struct Check {
    /// Capability that is checked.
    pub group: &'static str,
    /// What is checked, with the case.
    pub name: String,
    /// What kind of source the expected number has.
    pub kind: CheckKind,
    /// Where the expected number comes from.
    pub source: &'static str,
    /// Expected value \[`unit`\].
    pub expected: f64,
    /// Value computed here \[`unit`\].
    pub got: f64,
    /// Largest difference allowed \[`unit`\]; most are half the last digit that the source prints.
    pub tolerance: f64,
    /// Unit of all three.
    pub unit: &'static str,
}

impl Check {
    /// Whether the difference is within the tolerance; NaN is not.
    #[must_use]
    pub fn passed(&self) -> bool {
        self.error() <= self.tolerance
    }

    /// Size of the difference \[unit of the check\].
    #[must_use]
    pub fn error(&self) -> f64 {
        (self.got - self.expected).abs()
    }
}

/// Checks of one group with one source.
struct Group {
    group: &'static str,
    kind: CheckKind,
    source: &'static str,
    unit: &'static str,
    checks: Vec<Check>,
}

impl Group {
    const fn new(group: &'static str, kind: CheckKind, source: &'static str, unit: &'static str) -> Self {
        Self { group, kind, source, unit, checks: Vec::new() }
    }

    const fn published(group: &'static str, source: &'static str, unit: &'static str) -> Self {
        Self::new(group, CheckKind::Published, source, unit)
    }

    const fn computed(group: &'static str, source: &'static str, unit: &'static str) -> Self {
        Self::new(group, CheckKind::Computed, source, unit)
    }

    const fn own(group: &'static str, source: &'static str, unit: &'static str) -> Self {
        Self::new(group, CheckKind::Own, source, unit)
    }

    fn add(&mut self, name: impl Into<String>, expected: f64, got: f64, tolerance: f64) {
        self.checks.push(Check {
            group: self.group,
            name: name.into(),
            kind: self.kind,
            source: self.source,
            expected,
            got,
            tolerance,
            unit: self.unit,
        });
    }
}

/// Runs every check, group by group in the order of the page.
///
/// A check whose case could not be built has a value that is not a number, and fails.
///
/// # Example
/// ```
/// let checks = trochoid::verify::all();
/// assert!(checks.iter().all(trochoid::verify::Check::passed));
/// // A disc that slides as fast as its rim turns is held back by 8/(3π) = 0.848826 of μN.
/// assert!(checks.iter().any(|c| (c.expected - 0.848826).abs() < 5e-7));
/// ```
#[must_use]
pub fn all() -> Vec<Check> {
    let mut out = friction::checks();
    out.extend(kinematics::checks());
    out.extend(contact::checks());
    out.extend(heat::checks());
    out.extend(closed_forms::checks());
    out.extend(finish::checks());
    out.extend(moist_air::checks());
    out.extend(exposure::checks());
    out.extend(machine::checks());
    out.extend(grains::checks());
    out
}

/// Pads, tools and set-ups of the checks. The numbers are constants of the cited cases, all within
/// their ranges; a case that could not be built would show as a failed check.
mod case {
    use crate::contact::{Contact, ContactSettings, Hold, solve};
    use crate::equipment::{Bearing, CompressionLaw, Pad, Product, Tool};
    use crate::panel::Patch;
    use crate::spin::Setup;
    use crate::units::{AngularRate, Curvature, Force, Length, Stiffness, Torque, ViscousDrag};

    pub(super) fn pad(diameter_mm: f64, k_pa_m: f64) -> Option<Pad> {
        let law = CompressionLaw::linear(Stiffness::from_pa_per_m(k_pa_m)).ok()?;
        Pad::new(Length::from_mm(diameter_mm), Length::from_mm(25.0), law).ok()
    }

    pub(super) fn sphere(per_m: f64) -> Option<Patch> {
        Patch::sphere(Curvature::from_per_m(per_m)).ok()
    }

    pub(super) fn contact(diameter_mm: f64, k_pa_m: f64, per_m: f64, orbit_mm: f64, newtons: f64) -> Option<Contact> {
        let orbit = Length::from_mm(orbit_mm).m();
        solve(&pad(diameter_mm, k_pa_m)?, &sphere(per_m)?, orbit, &Hold::Flat, newtons, &ContactSettings::default())
            .ok()
    }

    pub(super) struct Free {
        pub(super) throw_mm: f64,
        pub(super) rate_opm: f64,
        pub(super) drag_nm: f64,
        pub(super) diameter_mm: f64,
        pub(super) k_pa_m: f64,
        pub(super) friction: f64,
        pub(super) force_n: f64,
    }

    impl Free {
        pub(super) fn on(&self, patch: Patch) -> Option<Setup> {
            let bearing = Bearing::new(Torque::from_nm(self.drag_nm), ViscousDrag::from_nms(0.0)).ok()?;
            let tool =
                Tool::free(Length::from_mm(self.throw_mm), AngularRate::from_opm(self.rate_opm), bearing).ok()?;
            let product = Product::new(self.friction, 2e-11).ok()?;
            Setup::new(tool, pad(self.diameter_mm, self.k_pa_m)?, product, patch, Force::from_n(self.force_n)).ok()
        }
    }
}
