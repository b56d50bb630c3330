//! Tables of tools, pads, products and paints into their validated types.

use super::absent::{BORE_MM, IDLE_POWER_W};
use super::keys::{BEARING, COMPRESSION, INTERFACE, MOTOR};
use super::model::Resolved;
use super::problem::Problem;
use super::reader::{Table, report_default};
use crate::equipment::{
    Bearing, CompressionLaw, Hardness, Interface, Motor, Pad, Paint, Product, SpeedScale, Substrate, Tool, defaults,
};
use crate::error::RangeError;
use crate::units::{Acceleration, AngularRate, Inertia, Length, Mass, Power, Pressure, Stiffness, Torque, ViscousDrag};

/// What reading a table adds to beside its own result.
#[derive(Debug, Default)]
pub(super) struct Notes {
    pub(super) resolved: Vec<Resolved>,
    pub(super) warnings: Vec<String>,
}

impl Notes {
    /// Lists a table before the tables inside it, which have been listed from `start` on.
    pub(super) fn list_before(&mut self, start: usize, t: &Table<'_>, skip: &[&str]) {
        let inner = self.resolved.len() - start;
        t.report(&mut self.resolved, skip);
        self.resolved[start..].rotate_left(inner);
    }
}

/// Reads `[tool.NAME]`, its count left aside.
pub(super) fn tool(t: &Table<'_>, notes: &mut Notes) -> Result<Tool, Problem> {
    let drive = t.need_choice("drive", &["free", "geared", "rotary"])?;
    let start = notes.resolved.len();
    let rotary = drive == "rotary";
    let mut skip = vec!["counted_spin"];
    // What only a vehicle's plan uses is listed with it.
    if !t.has("pad_range_mm") {
        skip.push("pad_range_mm");
    }
    let unused = format!("is not used by a {drive} drive");
    let mut tool = match drive {
        "free" => {
            t.ignore(&["spin_per_orbit", "spin_rpm"], &unused, &mut notes.warnings)?;
            skip.extend(["spin_per_orbit", "spin_rpm"]);
            let (throw, rate) = orbit(t, drive)?;
            let bearing = bearing(t, notes)?;
            t.ranged(Tool::free(throw, rate, bearing))?
        }
        "geared" => {
            t.ignore(&["bearing", "spin_rpm", "counted_spin"], &unused, &mut notes.warnings)?;
            skip.extend(["bearing", "spin_rpm"]);
            let (throw, rate) = orbit(t, drive)?;
            let ratio = t.number("spin_per_orbit")?.ok_or_else(|| t.missing("spin_per_orbit", " of a geared drive"))?;
            t.ranged(Tool::geared(throw, rate, ratio))?
        }
        _ => {
            let keys = [
                "orbit_rate_opm",
                "orbit_rate_range_opm",
                "speed_settings",
                "setting_step",
                "spin_per_orbit",
                "bearing",
                "counted_spin",
            ];
            t.ignore(&keys, &unused, &mut notes.warnings)?;
            skip.extend(keys);
            if let Some(throw) = t.number("throw_mm")? {
                // Zero and nothing else: a subnormal number is no orbit either.
                if throw.is_nan() || throw.abs() >= f64::MIN_POSITIVE {
                    t.ranged::<()>(Err(RangeError::new(
                        "throw_mm",
                        throw,
                        "mm",
                        "0 or left out; a rotary drive does not orbit",
                    )))?;
                }
            }
            let spin = t.number("spin_rpm")?.ok_or_else(|| t.missing("spin_rpm", " of a rotary drive"))?;
            t.ranged(Tool::rotary(AngularRate::from_rpm(spin)))?
        }
    };
    if !rotary {
        if let Some((low, high)) = t.pair("orbit_rate_range_opm", "two rates, [lowest, highest], in /min")? {
            tool = t.ranged(tool.with_rate_range(AngularRate::from_opm(low), AngularRate::from_opm(high)))?;
        }
        if let Some(scale) = speed_scale(t)? {
            tool = tool.with_speed_scale(scale);
        } else {
            t.ignore(&["setting_step"], "has no scale to step on (speed_settings is missing)", &mut notes.warnings)?;
            skip.push("setting_step");
        }
    }
    if let Some(j) = t.number("spin_inertia_kgm2")? {
        tool = t.ranged(tool.with_spin_inertia(Inertia::from_kgm2(j)))?;
    }
    if let Some(motor) = motor(t, notes)? {
        tool = tool.with_motor(motor);
    }
    if let Some(m) = t.number("mass_kg")? {
        tool = t.ranged(tool.with_mass(Mass::from_kg(m)))?;
    }
    if let Some(a) = t.number("vibration_m_s2")? {
        tool = t.ranged(tool.with_vibration(Acceleration::from_m_s2(a)))?;
    }
    if let Some(level) = t.number("noise_db")? {
        tool = t.ranged(tool.with_noise_db(level))?;
    }
    notes.list_before(start, t, &skip);
    if drive == "free" && !t.has("counted_spin") {
        report_default(&mut notes.resolved, t.kind, "counted_spin", t.path_of("counted_spin"));
    }
    Ok(tool)
}

fn orbit(t: &Table<'_>, drive: &str) -> Result<(Length, AngularRate), Problem> {
    let throw = t.number("throw_mm")?.ok_or_else(|| t.missing("throw_mm", &format!(" of a {drive} drive")))?;
    let rate =
        t.number("orbit_rate_opm")?.ok_or_else(|| t.missing("orbit_rate_opm", &format!(" of a {drive} drive")))?;
    Ok((Length::from_mm(throw), AngularRate::from_opm(rate)))
}

fn bearing(t: &Table<'_>, notes: &mut Notes) -> Result<Bearing, Problem> {
    let b = t.table("bearing", &BEARING)?.ok_or_else(|| {
        t.missing("bearing", " of a free drive").with_help(
            "the bearing's drag is all that turns a free pad: add `bearing = { breakaway_nm = …, viscous_nms = … }`, in N·m and N·m·s",
        )
    })?;
    let mut bearing = t.ranged(Bearing::new(
        Torque::from_nm(b.need_number("breakaway_nm")?),
        ViscousDrag::from_nms(b.need_number("viscous_nms")?),
    ))?;
    let (friction, bore) = (b.number("friction")?, b.number("bore_mm")?);
    bearing =
        t.ranged(bearing.with_load_friction(friction.unwrap_or(0.0), Length::from_mm(bore.unwrap_or(BORE_MM))))?;
    if let Some(brake) = b.number("brake_nm")? {
        bearing = t.ranged(bearing.with_brake(Torque::from_nm(brake)))?;
    }
    b.report(&mut notes.resolved, &[]);
    Ok(bearing)
}

fn motor(t: &Table<'_>, notes: &mut Notes) -> Result<Option<Motor>, Problem> {
    let Some(m) = t.table("motor", &MOTOR)? else { return Ok(None) };
    let rated = m.need_number("rated_power_w")?;
    let idle = m.number("idle_power_w")?.unwrap_or(IDLE_POWER_W);
    let mut motor = t.ranged(Motor::new(Power::from_w(rated), Power::from_w(idle)))?;
    if let Some(j) = m.number("rotor_inertia_kgm2")? {
        motor = t.ranged(motor.with_rotor_inertia(Inertia::from_kgm2(j)))?;
    }
    m.report(&mut notes.resolved, &[]);
    Ok(Some(motor))
}

fn speed_scale(t: &Table<'_>) -> Result<Option<SpeedScale>, Problem> {
    let expected = "a list of pairs [setting, orbits per minute]";
    let Some(items) = t.array("speed_settings", expected)? else { return Ok(None) };
    if items.len() > 100 {
        return t.ranged(Err(RangeError::new("speed_settings", items.len() as f64, "marks", "2 to 100 marks")));
    }
    let mut marks = Vec::with_capacity(items.len());
    for item in items {
        let pair = item.get_ref().as_array().map(|a| t.numbers_in("speed_settings", a, expected)).transpose()?;
        let Some([setting, rate]) = pair.as_deref() else {
            return Err(t
                .problem("speed_settings", format!("`{}` is not {expected}", t.path_of("speed_settings")))
                .with_allowed(expected));
        };
        marks.push((*setting, AngularRate::from_opm(*rate)));
    }
    let step = t.number("setting_step")?.unwrap_or(defaults::SETTING_STEP);
    t.ranged(SpeedScale::new(&marks, step)).map(Some)
}

/// Reads `[pad.NAME]`.
pub(super) fn pad(t: &Table<'_>, notes: &mut Notes) -> Result<Pad, Problem> {
    let start = notes.resolved.len();
    let diameter = Length::from_mm(t.need_number("diameter_mm")?);
    let thickness = Length::from_mm(t.need_number("thickness_mm")?);
    let law = compression(t, notes)?;
    let mut pad = t.ranged(Pad::new(diameter, thickness, law))?;
    if let Some(plate) = t.number("plate_mm")? {
        pad = t.ranged(pad.with_plate(Length::from_mm(plate)))?;
        if plate > diameter.mm() {
            notes
                .warnings
                .push(t.warning("plate_mm", "is larger than the face (diameter_mm): the face counts as fully backed"));
        }
    }
    if let Some(hole) = t.number("hole_mm")? {
        pad = t.ranged(pad.with_hole(Length::from_mm(hole)))?;
    }
    if let Some(mass) = t.number("mass_kg")? {
        pad = t.ranged(pad.with_mass(Mass::from_kg(mass)))?;
    }
    if let Some(g) = t.number("shear_modulus_kpa")? {
        pad = t.ranged(pad.with_shear_modulus(Pressure::from_kpa(g)))?;
    }
    if let Some(loss) = t.number("loss_factor")? {
        pad = t.ranged(pad.with_loss_factor(loss))?;
    }
    if let Some(density) = t.number("foam_density_kg_m3")? {
        pad = t.ranged(pad.with_foam_density(density))?;
    }
    if let Some(length) = t.number("overhang_length_mm")? {
        pad = t.ranged(pad.with_overhang_length(Length::from_mm(length)))?;
    }
    if let Some(grains) = t.number("grains_per_m2")? {
        pad = t.ranged(pad.with_grains_per_m2(grains))?;
    }
    if let Some(off) = t.number("off_centre_mm")? {
        pad = t.ranged(pad.with_off_centre(Length::from_mm(off)))?;
    }
    if let Some(i) = t.table("interface", &INTERFACE)? {
        let mut layer = t.ranged(Interface::new(
            Length::from_mm(i.need_number("thickness_mm")?),
            Stiffness::from_kpa_per_mm(i.need_number("stiffness_kpa_per_mm")?),
        ))?;
        if let Some(g) = i.number("shear_modulus_kpa")? {
            // The layer's error names its own key, so it is looked for in the layer's table.
            layer = i.ranged(layer.with_shear_modulus(Pressure::from_kpa(g)))?;
        }
        i.report(&mut notes.resolved, &[]);
        pad = pad.with_interface(layer);
    }
    notes.list_before(start, t, if t.has("count") { &[] } else { &["count"] });
    Ok(pad)
}

fn compression(t: &Table<'_>, notes: &mut Notes) -> Result<CompressionLaw, Problem> {
    let c = t.table("compression", &COMPRESSION)?.ok_or_else(|| {
        t.missing("compression", "")
            .with_help("for instance `compression = { law = \"linear\", stiffness_kpa_per_mm = 0.9 }`")
    })?;
    let law = c.need_choice("law", &["linear", "measured", "power"])?;
    let used: &[&str] = match law {
        "linear" => &["law", "stiffness_kpa_per_mm"],
        "measured" => &["law", "strain", "stress_kpa"],
        _ => &["law", "stress_kpa_at_half", "exponent"],
    };
    if let Some(stray) = c.kind.keys.iter().find(|k| c.has(k.name) && !used.contains(&k.name)) {
        return Err(c
            .problem(stray.name, format!("`{}` does not belong to the {law} law", c.path_of(stray.name)))
            .with_allowed(used.join(", ")));
    }
    let lists =
        |key: &str, expected: &str| c.numbers(key, expected)?.ok_or_else(|| c.missing(key, " of the measured law"));
    let out = match law {
        "linear" => CompressionLaw::linear(Stiffness::from_kpa_per_mm(c.need_number("stiffness_kpa_per_mm")?)),
        "measured" => {
            let strain = lists("strain", "a list of strains, 0 to 1")?;
            let stress: Vec<_> =
                lists("stress_kpa", "a list of stresses in kPa")?.into_iter().map(Pressure::from_kpa).collect();
            CompressionLaw::measured(&strain, &stress)
        }
        _ => {
            CompressionLaw::power(Pressure::from_kpa(c.need_number("stress_kpa_at_half")?), c.need_number("exponent")?)
        }
    };
    let out = t.ranged(out)?;
    c.report(&mut notes.resolved, &[]);
    Ok(out)
}

/// Reads `[product.NAME]`.
pub(super) fn product(t: &Table<'_>, notes: &mut Notes) -> Result<Product, Problem> {
    let product = t.ranged(Product::new(t.need_number("friction")?, t.need_number("preston_per_pa")?))?;
    // Its default is used, and then listed, with the coupling of the drying only.
    let unused: &[&str] = if t.has("dry_friction_rise") { &[] } else { &["dry_friction_rise"] };
    t.report(&mut notes.resolved, unused);
    Ok(product)
}

/// Reads `[paint.NAME]`.
pub(super) fn paint(t: &Table<'_>, notes: &mut Notes) -> Result<Paint, Problem> {
    let word = t.choice("hardness", &["soft", "medium", "hard"])?;
    let measured = t.number("hardness_mpa")?;
    if word.is_some() && measured.is_some() {
        return Err(t
            .problem("hardness_mpa", format!("[{}] gives both hardness and hardness_mpa", t.path))
            .with_allowed("one of the two, or neither")
            .with_help("keep hardness_mpa if it was measured"));
    }
    let hardness = match (word, measured) {
        (_, Some(mpa)) => Hardness::Measured(Pressure::from_mpa(mpa)),
        (Some("soft"), None) => Hardness::Soft,
        (Some("hard"), None) => Hardness::Hard,
        (_, None) => Hardness::Medium,
    };
    let mut paint = t.ranged(Paint::default().with_hardness(hardness))?;
    if let Some(clear) = t.number("clear_um")? {
        paint = t.ranged(paint.with_clear(Length::from_um(clear)))?;
    }
    if let Some(lightness) = t.number("lightness")? {
        paint = t.ranged(paint.with_lightness(lightness))?;
    }
    paint = match t.choice("substrate", &["steel", "aluminium", "plastic", "composite"])? {
        Some("aluminium") => paint.with_substrate(Substrate::Aluminium),
        Some("plastic") => paint.with_substrate(Substrate::Plastic),
        Some("composite") => paint.with_substrate(Substrate::Composite),
        _ => paint.with_substrate(Substrate::Steel),
    };
    t.report(&mut notes.resolved, if measured.is_some() { &["hardness"] } else { &[] });
    Ok(paint)
}
