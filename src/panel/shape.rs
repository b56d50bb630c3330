//! Analytic panels: heights over plan whose principal curvatures are known exactly.
//!
//! They stand in for real panels where none was measured, and check what is computed from height maps.
//! All sizes are invented; nothing here is the shape of a particular vehicle. The origin is the middle
//! of the panel, z out of the paint.

use super::curvature::principal_of_heights;
use super::shape_form::{Flare, Form};
use super::{HeightMap, Outline};
use crate::equipment::within;
use crate::error::RangeError;
use crate::units::{Angle, Curvature, Length};

/// Steepest slope that a panel may have \[°\]: there the plan shows a quarter of the true length.
pub const STEEPEST_DEG: f64 = 75.0;

/// A panel given by a formula: heights, slopes and principal curvatures are exact.
///
/// Lengths in plan and heights in m, the origin in the middle of the panel, z out of the paint.
///
/// # Assumptions and valid range
/// Invented sizes, no vehicle's. Slopes up to 75° on the panel ([`STEEPEST_DEG`]), checked when heights
/// are made; each constructor states the range of its numbers.
///
/// # Example
/// ```
/// use trochoid::panel::AnalyticShape;
/// use trochoid::{Curvature, Length};
/// # fn main() -> Result<(), trochoid::RangeError> {
/// // A ball of 2 m radius: 100 mm from its top it lies 2 − √(2² − 0.1²) m = 2.5016 mm lower.
/// let ball = AnalyticShape::sphere(Curvature::from_per_m(0.5))?;
/// assert!((ball.height(0.1, 0.0) + 2.5016e-3).abs() < 1e-7);
/// assert!((ball.curvatures(0.1, 0.0).0 - 0.5).abs() < 1e-12);
/// let map = ball.height_map((Length::from_mm(300.0), Length::from_mm(200.0)), Length::from_mm(5.0))?;
/// assert!((map.height_at(0.1, 0.0) - ball.height(0.1, 0.0)).abs() < 1e-12); // on a node
/// # Ok(())
/// # }
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AnalyticShape {
    form: Form,
}

/// Which part of a torus is the panel.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TorusSide {
    /// The outer equator: convex both ways, 1/tube and 1/(ring + tube).
    Outer,
    /// The inner equator: a saddle, 1/tube across and −1/(ring − tube) along the ring.
    Inner,
}

/// A straight body line: two faces that meet in an arc.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BodyLine {
    /// Angle by which the surface turns over the line, positive for a ridge, negative for a groove;
    /// `line_angle_deg`, ±2 to ±140°.
    pub angle: Angle,
    /// Radius of the arc; `line_radius_mm`, 0.5 to 500 mm.
    pub radius: Length,
    /// Distance of the line from the middle of the panel, square to it; `line_offset_mm`.
    pub offset: Length,
    /// Direction of the line from x; `line_direction_deg`.
    pub direction: Angle,
    /// Crown of the faces along the line; `crown_per_m`, within ±5 per metre.
    pub crown_along: Curvature,
    /// Crown of the faces across the line; `crown_per_m`, within ±5 per metre.
    pub crown_across: Curvature,
}

/// A crowned door: gentle over its length, tighter toward its lower edge.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CrownedDoor {
    /// Curvature along x; `crown_per_m`, within ±5 per metre.
    pub along: Curvature,
    /// Curvature along y far above the lower edge; `crown_per_m`, within ±5 per metre.
    pub across: Curvature,
    /// Curvature along y at the lower edge, of the profile in plan; `edge_crown_per_m`, within ±20.
    pub edge: Curvature,
    /// Length over which the extra curvature falls to 1/e; `edge_length_mm`, 10 to 1000 mm.
    pub length: Length,
    /// Distance of the lower edge below the middle of the panel; `edge_offset_mm`, 10 to 2000 mm.
    pub below: Length,
}

/// A wheel arch: a flat door, then a concave hollow, then a convex lip round the wheel opening.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct WheelArch {
    /// Radius of the opening; `wheel_radius_mm`, 100 to 1000 mm.
    pub wheel_radius: Length,
    /// Centre of the opening from the middle of the panel; `wheel_centre_mm`.
    pub centre: (Length, Length),
    /// Peak curvature of the hollow's profile, as a size; `flare_hollow_per_m`, 0.1 to 100 per metre.
    pub hollow: Curvature,
    /// Width of the hollow; `flare_hollow_width_mm`, 5 to 500 mm.
    pub hollow_width: Length,
    /// Peak curvature of the lip's profile; `flare_lip_per_m`, 0 to 400 per metre.
    pub lip: Curvature,
    /// Width of the lip; `flare_lip_width_mm`, 2 to 200 mm.
    pub lip_width: Length,
}

fn per_m(what: &'static str, k: Curvature, most: f64) -> Result<f64, RangeError> {
    within(what, k.per_m(), -most, most, "1/m")
}

fn mm(what: &'static str, l: Length, low: f64, high: f64) -> Result<f64, RangeError> {
    within(what, l.mm(), low, high, "mm")?;
    Ok(l.m())
}

fn turn(what: &'static str, a: Angle) -> Result<f64, RangeError> {
    within(what, a.deg(), -360.0, 360.0, "°")?;
    Ok(a.rad())
}

impl AnalyticShape {
    const fn of(form: Form) -> Self {
        Self { form }
    }

    /// A flat panel.
    #[must_use]
    pub const fn flat() -> Self {
        Self::of(Form::Flat)
    }

    /// A sphere, convex or hollow. See the example of [`AnalyticShape`].
    ///
    /// # Errors
    /// `curvature_per_m` beyond ±50.
    pub fn sphere(k: Curvature) -> Result<Self, RangeError> {
        Ok(Self::of(Form::Sphere { k: per_m("curvature_per_m", k, 50.0)? }))
    }

    /// A circular cylinder, curved along `axis` and straight at +90° to it.
    ///
    /// # Errors
    /// `curvature_per_m` beyond ±50, `axis_deg` beyond ±360.
    pub fn cylinder(k: Curvature, axis: Angle) -> Result<Self, RangeError> {
        Ok(Self::of(Form::Cylinder { k: per_m("curvature_per_m", k, 50.0)?, axis: turn("axis_deg", axis)? }))
    }

    /// A paraboloid with the given curvatures in its middle, the first along `axis` from x: a saddle where
    /// their signs differ.
    ///
    /// # Errors
    /// `curvature_per_m` beyond ±50, `axis_deg` beyond ±360.
    pub fn paraboloid(first: Curvature, second: Curvature, axis: Angle) -> Result<Self, RangeError> {
        let (first, second) = (per_m("curvature_per_m", first, 50.0)?, per_m("curvature_per_m", second, 50.0)?);
        Ok(Self::of(Form::Paraboloid { first, second, axis: turn("axis_deg", axis)? }))
    }

    /// A patch of a torus about its equator; the ring runs along x. The inner side is a saddle of which
    /// the curvature across stays the same everywhere. `tube` is the radius of the tube, `ring` that of
    /// the circle on which its middle runs.
    ///
    /// # Errors
    /// `tube_radius_mm` outside 20 to 50 000, `ring_radius_mm` outside 20 to 50 000 or, on the inner
    /// side, below 1.05 times the tube's.
    ///
    /// # Example
    /// ```
    /// use trochoid::Length;
    /// use trochoid::panel::{AnalyticShape, TorusSide};
    /// # fn main() -> Result<(), trochoid::RangeError> {
    /// // A tube of 0.5 m on a ring of 1.5 m: 1/0.5 across; along the ring 1/(1.5 + 0.5) outside, −1/(1.5 − 0.5) inside.
    /// let (tube, ring) = (Length::from_m(0.5), Length::from_m(1.5));
    /// let (across, along) = AnalyticShape::torus(tube, ring, TorusSide::Outer)?.curvatures(0.0, 0.0);
    /// assert!((across - 2.0).abs() < 1e-12 && (along - 0.5).abs() < 1e-12);
    /// let (_, along) = AnalyticShape::torus(tube, ring, TorusSide::Inner)?.curvatures(0.0, 0.0);
    /// assert!((along + 1.0).abs() < 1e-12);
    /// # Ok(())
    /// # }
    /// ```
    pub fn torus(tube: Length, ring: Length, side: TorusSide) -> Result<Self, RangeError> {
        let tube = mm("tube_radius_mm", tube, 20.0, 50_000.0)?;
        let low = if side == TorusSide::Inner { (1e3 * tube * 1.05).max(20.0) } else { 20.0 };
        let ring = mm("ring_radius_mm", ring, low, 50_000.0_f64.max(low))?;
        let side = if side == TorusSide::Outer { 1.0 } else { -1.0 };
        Ok(Self::of(Form::Torus { tube, ring, side }))
    }

    /// A crowned door.
    ///
    /// ```text
    /// −z_yy = across + (edge − across) e^(−(y + below)/length)      [1/m], y from the middle [m]
    /// ```
    ///
    /// The profile along y is level in the middle; along x it is an arc of curvature `along`.
    ///
    /// # Errors
    /// A value outside the range that stands beside its field.
    ///
    /// # Example
    /// ```
    /// use trochoid::panel::{AnalyticShape, CrownedDoor};
    /// use trochoid::{Curvature, Length};
    /// # fn main() -> Result<(), trochoid::RangeError> {
    /// let [along, across, edge] = [0.1, 0.2, 2.2].map(Curvature::from_per_m);
    /// let (length, below) = (Length::from_mm(100.0), Length::from_mm(200.0));
    /// let door = AnalyticShape::crowned_door(&CrownedDoor { along, across, edge, length, below })?;
    /// // Two lengths above the lower edge: 0.2 + 2 e⁻² = 0.4707 per metre across, 0.1 along.
    /// let (first, second) = door.curvatures(0.0, 0.0);
    /// assert!((first - 0.4707).abs() < 1e-4 && (second - 0.1).abs() < 1e-12);
    /// # Ok(())
    /// # }
    /// ```
    pub fn crowned_door(door: &CrownedDoor) -> Result<Self, RangeError> {
        Ok(Self::of(Form::Door {
            along: per_m("crown_per_m", door.along, 5.0)?,
            across: per_m("crown_per_m", door.across, 5.0)?,
            edge: per_m("edge_crown_per_m", door.edge, 20.0)?,
            length: mm("edge_length_mm", door.length, 10.0, 1000.0)?,
            edge_y: -mm("edge_offset_mm", door.below, 10.0, 2000.0)?,
        }))
    }

    /// Two faces that meet in an arc along a line.
    ///
    /// # Errors
    /// A value outside the range that stands beside its field; `line_offset_mm` beyond ±5000,
    /// `line_direction_deg` beyond ±360.
    ///
    /// # Example
    /// ```
    /// use trochoid::panel::{AnalyticShape, BodyLine};
    /// use trochoid::{Angle, Curvature, Length};
    /// # fn main() -> Result<(), trochoid::RangeError> {
    /// let (angle, radius, offset) = (Angle::from_deg(30.0), Length::from_mm(5.0), Length::from_mm(0.0));
    /// let (direction, flat) = (Angle::from_deg(0.0), Curvature::from_per_m(0.0));
    /// let line = BodyLine { angle, radius, offset, direction, crown_along: flat, crown_across: flat };
    /// let ridge = AnalyticShape::body_line(&line)?;
    /// // On the line 1/5 mm; off it each face falls by tan 15° = 0.26795.
    /// assert!((ridge.curvatures(0.0, 0.0).0 - 200.0).abs() < 1e-9);
    /// assert!((ridge.slope(0.0, 0.05).1 + 0.26795).abs() < 1e-5);
    /// # Ok(())
    /// # }
    /// ```
    pub fn body_line(line: &BodyLine) -> Result<Self, RangeError> {
        let size = within("line_angle_deg", line.angle.deg().abs(), 2.0, 140.0, "° in size")?;
        Ok(Self::of(Form::Line {
            radius: mm("line_radius_mm", line.radius, 0.5, 500.0)?,
            half_turn: Angle::from_deg(0.5 * size).rad().copysign(line.angle.rad()),
            offset: mm("line_offset_mm", line.offset, -5000.0, 5000.0)?,
            direction: turn("line_direction_deg", line.direction)?,
            along: per_m("crown_per_m", line.crown_along, 5.0)?,
            across: per_m("crown_per_m", line.crown_across, 5.0)?,
        }))
    }

    /// A flare round a wheel opening that is cut out of the panel.
    ///
    /// From the flat door inward, along the radius about the wheel, hollow and lip are bells of curvature,
    /// sin² over their widths.
    ///
    /// # Errors
    /// A value outside the range that stands beside its field; `wheel_centre_mm` beyond ±5000.
    ///
    /// # Example
    /// ```
    /// use trochoid::panel::{AnalyticShape, WheelArch};
    /// use trochoid::{Curvature, Length};
    /// # fn main() -> Result<(), trochoid::RangeError> {
    /// let arch = AnalyticShape::wheel_arch(&WheelArch {
    ///     wheel_radius: Length::from_mm(350.0),
    ///     centre: (Length::from_mm(0.0), Length::from_mm(-300.0)),
    ///     hollow: Curvature::from_per_m(5.0),
    ///     hollow_width: Length::from_mm(80.0),
    ///     lip: Curvature::from_per_m(20.0),
    ///     lip_width: Length::from_mm(20.0),
    /// })?;
    /// // The hollow runs from 450 to 370 mm about the wheel. Halfway, half its turn is done: a slope of 5 × 80 mm/4
    /// // = 0.1, and the profile has its full 5 per metre, over (1 + 0.1²)^1.5 as a curvature.
    /// assert!((arch.slope(0.0, 0.11).1 + 0.1).abs() < 1e-12);
    /// assert!((arch.curvatures(0.0, 0.11).0 + 5.0 / 1.01f64.powf(1.5)).abs() < 1e-9);
    /// assert!(arch.height(0.0, 0.16).abs() <= 0.0); // the door beyond
    /// # Ok(())
    /// # }
    /// ```
    pub fn wheel_arch(arch: &WheelArch) -> Result<Self, RangeError> {
        let hollow = within("flare_hollow_per_m", arch.hollow.per_m(), 0.1, 100.0, "1/m")?;
        let lip = within("flare_lip_per_m", arch.lip.per_m(), 0.0, 400.0, "1/m")?;
        Ok(Self::of(Form::Flare(Flare {
            wheel: mm("wheel_radius_mm", arch.wheel_radius, 100.0, 1000.0)?,
            centre: (
                mm("wheel_centre_mm", arch.centre.0, -5000.0, 5000.0)?,
                mm("wheel_centre_mm", arch.centre.1, -5000.0, 5000.0)?,
            ),
            hollow,
            hollow_width: mm("flare_hollow_width_mm", arch.hollow_width, 5.0, 500.0)?,
            lip,
            lip_width: mm("flare_lip_width_mm", arch.lip_width, 2.0, 200.0)?,
        })))
    }

    /// A cosine of plan along `axis`, with a crest in the middle.
    ///
    /// ```text
    /// z = a cos(2π s/λ)      a amplitude [m], λ wavelength [m], s plan along the axis [m]
    /// ```
    ///
    /// # Errors
    /// `amplitude_mm` outside 0.001 to 200, `wavelength_mm` outside 5 to 10 000, `axis_deg` beyond ±360.
    ///
    /// # Example
    /// ```
    /// use trochoid::panel::AnalyticShape;
    /// use trochoid::{Angle, Length};
    /// # fn main() -> Result<(), trochoid::RangeError> {
    /// // On the crest a (2π/λ)² = 0.001 × 31.416² = 0.98696 per metre; in the trough 100 mm on as much, hollow.
    /// let wave = AnalyticShape::sine(Length::from_mm(1.0), Length::from_mm(200.0), Angle::from_deg(0.0))?;
    /// assert!((wave.curvatures(0.0, 0.0).0 - 0.98696).abs() < 1e-5);
    /// assert!((wave.curvatures(0.1, 0.0).0 + 0.98696).abs() < 1e-5);
    /// # Ok(())
    /// # }
    /// ```
    pub fn sine(amplitude: Length, wavelength: Length, axis: Angle) -> Result<Self, RangeError> {
        Ok(Self::of(Form::Sine {
            amplitude: mm("amplitude_mm", amplitude, 0.001, 200.0)?,
            wavelength: mm("wavelength_mm", wavelength, 5.0, 10_000.0)?,
            axis: turn("axis_deg", axis)?,
        }))
    }

    /// The word for it in a job file.
    #[must_use]
    pub const fn name(&self) -> &'static str {
        match self.form {
            Form::Flat => "flat",
            Form::Sphere { .. } => "sphere",
            Form::Cylinder { .. } => "cylinder",
            Form::Paraboloid { .. } => "paraboloid",
            Form::Torus { .. } => "torus",
            Form::Door { .. } => "crowned_door",
            Form::Line { .. } => "body_line",
            Form::Flare(_) => "wheel_arch",
            Form::Sine { .. } => "sine",
        }
    }

    /// Height at a point of the plan \[m\].
    #[must_use]
    pub fn height(&self, x: f64, y: f64) -> f64 {
        self.form.jet(x, y).z
    }

    /// Slopes dz/dx and dz/dy \[1\] at a point of the plan \[m\].
    #[must_use]
    pub fn slope(&self, x: f64, y: f64) -> (f64, f64) {
        self.form.jet(x, y).slope
    }

    /// Principal curvatures from the exact derivatives \[1/m\], the larger in size first, positive where
    /// convex. At the ends of a body line's arc, where the curvature jumps, that of the face.
    #[must_use]
    pub fn curvatures(&self, x: f64, y: f64) -> (f64, f64) {
        let jet = self.form.jet(x, y);
        principal_of_heights(jet.slope, jet.second)
    }

    /// The free edges of a panel of the given plan size about the origin; the wheel opening is cut out
    /// of it, its arc in steps of at most 1 mm.
    ///
    /// # Errors
    /// `size_mm` outside 10 mm to 20 m a side; a wheel opening that neither lies within the panel nor
    /// crosses its lower edge and nothing else.
    ///
    /// # Example
    /// ```
    /// use trochoid::Length;
    /// use trochoid::panel::AnalyticShape;
    /// # fn main() -> Result<(), trochoid::RangeError> {
    /// let edge = AnalyticShape::flat().outline((Length::from_mm(400.0), Length::from_mm(300.0)))?;
    /// assert!((edge.plan_area() - 0.12).abs() < 1e-15); // 0.4 x 0.3 m
    /// # Ok(())
    /// # }
    /// ```
    pub fn outline(&self, size: (Length, Length)) -> Result<Outline, RangeError> {
        let (hx, hy) = half(size)?;
        match &self.form {
            Form::Flare(f) => arch_outline(f, hx, hy),
            _ => Outline::rectangle((-hx, -hy), (hx, hy)),
        }
    }

    /// Heights of a panel of the given plan size about the origin, nodes `step` apart.
    ///
    /// See the example of [`AnalyticShape`].
    ///
    /// # Errors
    /// As [`AnalyticShape::outline`] and [`HeightMap::new`]; a slope above 75° on the panel.
    pub fn height_map(&self, size: (Length, Length), step: Length) -> Result<HeightMap, RangeError> {
        let (hx, hy) = half(size)?;
        let outline = self.outline(size)?;
        let map = HeightMap::sampled((-hx, -hy), (hx, hy), step.m(), |x, y| self.height(x, y), outline)?;
        let (nx, _) = map.count();
        let mut steepest = 0.0_f64;
        for at in (0..map.heights().len()).filter(|at| map.edge_distances()[*at] >= 0.0) {
            let (x, y) = map.node(at % nx, at / nx);
            let s = self.slope(x, y);
            steepest = steepest.max(s.0.hypot(s.1));
        }
        let degrees = Angle::from_rad(steepest.atan()).deg();
        if degrees > STEEPEST_DEG {
            let allowed = format!("up to {STEEPEST_DEG}: a smaller size_mm or a gentler shape");
            return Err(RangeError::new("slope of the panel", degrees, "°", allowed));
        }
        Ok(map)
    }
}

fn half(size: (Length, Length)) -> Result<(f64, f64), RangeError> {
    Ok((0.5 * mm("size_mm", size.0, 10.0, 20_000.0)?, 0.5 * mm("size_mm", size.1, 10.0, 20_000.0)?))
}

/// Panel edge with the wheel opening cut out.
fn arch_outline(f: &Flare, hx: f64, hy: f64) -> Result<Outline, RangeError> {
    let ((cx, cy), r) = (f.centre, f.wheel);
    let corners = vec![(-hx, -hy), (hx, -hy), (hx, hy), (-hx, hy)];
    // Corners stand on the circle: chords of 1 mm leave 1 µm of sagitta at 125 mm.
    let arc = |from: f64, to: f64| {
        let n = ((to - from).abs() * r / 1e-3).ceil().max(3.0);
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // at most 2π x 1 m in 1 mm
        let n = n as usize;
        (0..=n).map(move |i| {
            let t = from + (to - from) * i as f64 / n as f64;
            (cx + r * t.cos(), cy + r * t.sin())
        })
    };
    let apart = (cx.abs() + r - hx).max(cy + r - hy);
    if apart < 0.0 && cy - r > -hy {
        let mut circle: Vec<_> = arc(0.0, 2.0 * core::f64::consts::PI).collect();
        circle.pop();
        return Outline::new(vec![corners, circle]);
    }
    // Where the circle meets the lower edge.
    let down = -hy - cy;
    let reach = (r * r - down * down).max(0.0).sqrt();
    let sides = if down > 0.0 { reach } else { r };
    if reach <= 0.0 || cx.abs() + sides >= hx || cy + r >= hy {
        let allowed = "an opening within the panel, or across its lower edge alone";
        return Err(RangeError::new("wheel_centre_mm", Length::from_m(cy).mm(), "mm", allowed));
    }
    let right = down.atan2(reach);
    let mut edge = vec![(-hx, -hy)];
    // From the left crossing over the top to the right one.
    edge.extend(arc(core::f64::consts::PI - right, right));
    edge.extend([(hx, -hy), (hx, hy), (-hx, hy)]);
    Outline::new(vec![edge])
}
