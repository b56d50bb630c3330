//! The tables of a tool that describe the machine itself: balance, bearings with their ratings, duty, supply.
//!
//! Without them nothing is told of these, and no default of theirs is listed; no other command uses them.

use super::equipment::Notes;
use super::keys::{BALANCE, DUTY, PAD_BEARING, SPINDLE_BEARING, SUPPLY};
use super::problem::Problem;
use super::reader::Table;
use crate::equipment::{Drive, Tool, within};
use crate::plan::machine::{
    BalanceLayout, BallBearing, Battery, CompressedAir, Duty, MachineDescription, Mains, PadSupport, SpindleSupport,
    Supply,
};
use crate::units::{Energy, Force, Length, Mass, MassMoment, Pressure, Speed, Time, Volume};

/// What the tables of a `[tool.NAME]` tell of the machine itself; the ranges are those of the types of
/// [`MachineDescription`].
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct MachineSettings {
    /// Balance, bearings, duty, supply.
    pub description: MachineDescription,
    /// Whether the duty is described.
    pub duty_given: bool,
    /// Time of work on one vehicle, where given in place of the job's own.
    pub work_per_vehicle: Option<Time>,
}

/// Efficiency of the motor where none is given: assumed, no source.
pub(super) const EFFICIENCY: f64 = 0.6;
/// Place of the pad's plane where none is given, mm.
pub(super) const PAD_PLANE_MM: f64 = 0.0;
/// Overhang of the pad bearing where none is given, mm.
pub(super) const PAD_OVERHANG_MM: f64 = 0.0;
/// Rest where none is given, min.
pub(super) const REST_MIN: f64 = 0.0;

/// Reads what `[tool.NAME]` tells of its machine.
pub(super) fn machine(t: &Table<'_>, tool: &Tool, notes: &mut Notes) -> Result<MachineSettings, Problem> {
    let rotary = matches!(tool.drive(), Drive::Rotary { .. });
    if rotary {
        t.ignore(&["balance", "pad_bearing"], "is not used by a rotary drive", &mut notes.warnings)?;
    }
    let balance = if rotary { None } else { balance(t, notes)? };
    let spindle = spindle(t, notes)?;
    if spindle.is_some() && balance.is_none() && !rotary {
        return Err(t
            .problem("spindle_bearing", format!("[{}] has spindle bearings but no balance", t.path))
            .with_help("add `balance = { plane1_mm = … }`: the counterweights load the spindle as the pad does"));
    }
    let pad = if rotary { None } else { pad(t, notes)? };
    let (duty, duty_given) = duty(t, notes)?;
    let (supply, work_per_vehicle) = supply(t, tool, notes)?;
    let description = MachineDescription { balance, spindle, pad, duty, supply };
    Ok(MachineSettings { description, duty_given, work_per_vehicle })
}

fn mm(b: &Table<'_>, key: &str) -> Result<Option<Length>, Problem> {
    Ok(b.number(key)?.map(Length::from_mm))
}

fn balance(t: &Table<'_>, notes: &mut Notes) -> Result<Option<BalanceLayout>, Problem> {
    let Some(b) = t.table("balance", &BALANCE)? else { return Ok(None) };
    let pad_plane = Length::from_mm(b.number("pad_plane_mm")?.unwrap_or(PAD_PLANE_MM));
    let mut out = b.ranged(BalanceLayout::new(pad_plane, Length::from_mm(b.need_number("plane1_mm")?)))?;
    let second = mm(&b, "plane2_mm")?;
    if let Some(plane2) = second {
        out = b.ranged(out.with_second_plane(plane2))?;
    }
    let (radius1, radius2) = (mm(&b, "radius1_mm")?, mm(&b, "radius2_mm")?);
    let (weight1, weight2) = (b.number("weight1_gmm")?, b.number("weight2_gmm")?);
    if second.is_none() && (radius2.is_some() || weight2.is_some()) {
        let stray = if radius2.is_some() { "radius2_mm" } else { "weight2_gmm" };
        return Err(b
            .problem(stray, format!("`{}` speaks of a second plane, and there is none", b.path_of(stray)))
            .with_help("add `plane2_mm = …`, or take it out"));
    }
    out = b.ranged(out.with_radii(radius1, radius2))?;
    match (weight1, weight2) {
        (None, None) => {}
        (Some(first), second) => {
            out = b.ranged(out.with_fitted(MassMoment::from_gmm(first), second.map(MassMoment::from_gmm)))?;
        }
        (None, Some(_)) => {
            return Err(b
                .missing("weight1_gmm", " beside `weight2_gmm`")
                .with_help("give both weights as fitted, or neither to have them found"));
        }
    }
    if let Some(kg) = b.number("nominal_pad_kg")? {
        out = b.ranged(out.made_for(Mass::from_kg(kg)))?;
    }
    let dry = b.number("dry_share")?.unwrap_or(BalanceLayout::DRY_SHARE);
    let wet = b.number("wet_pore_share")?.unwrap_or(BalanceLayout::WET_PORE_SHARE);
    out = b.ranged(out.with_mass_range(dry, wet))?;
    if let Some(kg) = b.number("rotor_mass_kg")? {
        out = b.ranged(out.with_rotor_mass(Mass::from_kg(kg)))?;
    }
    let grade = b.number("grade_mm_s")?.unwrap_or(BalanceLayout::GRADE_MM_S);
    out = b.ranged(out.with_grade(Speed::from_mm_s(grade)))?;
    let skip: &[&str] = if second.is_none() { &["radius2_mm", "weight2_gmm"] } else { &[] };
    b.report(&mut notes.resolved, skip);
    Ok(Some(out))
}

/// The bearing itself of either table.
fn rated(b: &Table<'_>) -> Result<BallBearing, Problem> {
    let force = |key| b.need_number(key).map(Force::from_n);
    let bearing = b.ranged(BallBearing::new(force("dynamic_rating_n")?, force("static_rating_n")?))?;
    let bearing = b.ranged(bearing.with_f0(b.number("f0")?.unwrap_or(BallBearing::F0)))?;
    b.ranged(bearing.with_reliability(b.number("reliability")?.unwrap_or(BallBearing::RELIABILITY)))
}

fn spindle(t: &Table<'_>, notes: &mut Notes) -> Result<Option<SpindleSupport>, Problem> {
    let Some(b) = t.table("spindle_bearing", &SPINDLE_BEARING)? else { return Ok(None) };
    let bearing = rated(&b)?;
    let (overhang, span) = (b.need_number("overhang_mm")?, b.need_number("span_mm")?);
    let out = b.ranged(SpindleSupport::new(bearing, Length::from_mm(overhang), Length::from_mm(span)))?;
    b.report(&mut notes.resolved, &[]);
    Ok(Some(out))
}

fn pad(t: &Table<'_>, notes: &mut Notes) -> Result<Option<PadSupport>, Problem> {
    let Some(b) = t.table("pad_bearing", &PAD_BEARING)? else { return Ok(None) };
    let bearing = rated(&b)?;
    let overhang = Length::from_mm(b.number("overhang_mm")?.unwrap_or(PAD_OVERHANG_MM));
    let out = b.ranged(PadSupport::new(bearing, overhang, mm(&b, "span_mm")?))?;
    b.report(&mut notes.resolved, &[]);
    Ok(Some(out))
}

fn duty(t: &Table<'_>, notes: &mut Notes) -> Result<(Duty, bool), Problem> {
    let Some(d) = t.table("duty", &DUTY)? else { return Ok((Duty::default(), false)) };
    let minutes = |key: &str, default: f64| d.number(key).map(|v| Time::from_min(v.unwrap_or(default)));
    let mut out = Duty::default();
    let mut skip = Vec::new();
    if let Some(work) = d.number("work_min")? {
        out = d.ranged(out.with_cycle(Time::from_min(work), minutes("rest_min", REST_MIN)?))?;
    } else {
        d.ignore(&["rest_min"], "has no work to rest from (work_min is missing)", &mut notes.warnings)?;
        skip.push("rest_min");
    }
    let running = minutes("thermal_time_constant_min", Duty::RUNNING_MIN)?;
    out = d.ranged(out.with_time_constants(running, minutes("rest_time_constant_min", Duty::RESTING_MIN)?))?;
    let ratio = d.number("constant_loss_ratio")?.unwrap_or(Duty::CONSTANT_LOSS_RATIO);
    out = d.ranged(out.with_constant_loss_ratio(ratio))?;
    let peak = d.number("peak_force_factor")?.unwrap_or(Duty::PEAK_FORCE_FACTOR);
    out = d.ranged(out.with_peak_force_factor(peak))?;
    d.report(&mut notes.resolved, &skip);
    Ok((out, true))
}

/// Keys that every supply has.
const ALWAYS: [&str; 2] = ["kind", "work_min_per_vehicle"];
/// Keys of each kind of supply beside those.
const OF_MAINS: [&str; 6] = ["efficiency", "voltage_v", "power_factor", "fuse_a", "cord_m", "cord_mm2"];
const OF_BATTERY: [&str; 3] = ["efficiency", "pack_wh", "usable_share"];
const OF_AIR: [&str; 4] = ["free_air_l_min", "idle_air_share", "pressure_bar", "compressor_efficiency"];

fn supply(t: &Table<'_>, tool: &Tool, notes: &mut Notes) -> Result<(Option<Supply>, Option<Time>), Problem> {
    let Some(s) = t.table("supply", &SUPPLY)? else { return Ok((None, None)) };
    let kind = s.need_choice("kind", &["mains", "battery", "air"])?;
    let own: &[&str] = match kind {
        "mains" => &OF_MAINS,
        "battery" => &OF_BATTERY,
        _ => &OF_AIR,
    };
    let foreign: Vec<&'static str> =
        SUPPLY.keys.iter().map(|k| k.name).filter(|k| !own.contains(k) && !ALWAYS.contains(k)).collect();
    if let Some(stray) = foreign.iter().find(|k| s.has(k)) {
        return Err(s
            .problem(stray, format!("`{}` does not belong to a supply of kind \"{kind}\"", s.path_of(stray)))
            .with_allowed(own.join(", ")));
    }
    let mut skip = foreign;
    let efficiency = s.number("efficiency")?.unwrap_or(EFFICIENCY);
    let out = match kind {
        "mains" => mains(&s, efficiency, &mut skip, notes)?,
        "battery" => {
            let pack = s.number("pack_wh")?.ok_or_else(|| s.missing("pack_wh", " of a battery"))?;
            let battery = s.ranged(Battery::new(Energy::from_wh(pack), efficiency))?;
            let share = s.number("usable_share")?.unwrap_or(Battery::USABLE_SHARE);
            Supply::Battery(s.ranged(battery.with_usable_share(share))?)
        }
        _ => air(&s, tool, t)?,
    };
    let work = s.number("work_min_per_vehicle")?;
    let work = work.map(|m| s.ranged(within("work_min_per_vehicle", m, 0.1, 10_000.0, "min"))).transpose()?;
    s.report(&mut notes.resolved, &skip);
    Ok((Some(out), work.map(Time::from_min)))
}

fn mains(s: &Table<'_>, efficiency: f64, skip: &mut Vec<&'static str>, notes: &mut Notes) -> Result<Supply, Problem> {
    let volts = s.number("voltage_v")?.ok_or_else(|| s.missing("voltage_v", " of the mains"))?;
    let mut out = s.ranged(Mains::new(volts, efficiency))?;
    out = s.ranged(out.with_power_factor(s.number("power_factor")?.unwrap_or(Mains::POWER_FACTOR)))?;
    if let Some(fuse) = s.number("fuse_a")? {
        out = s.ranged(out.with_fuse(fuse))?;
    }
    if let Some(cord) = s.number("cord_m")? {
        let section = s.number("cord_mm2")?.unwrap_or(Mains::CORD_MM2);
        out = s.ranged(out.with_cord(Length::from_m(cord), section))?;
    } else {
        s.ignore(&["cord_mm2"], "has no cord (cord_m is missing)", &mut notes.warnings)?;
        skip.push("cord_mm2");
    }
    Ok(Supply::Mains(out))
}

fn air(s: &Table<'_>, tool: &Tool, t: &Table<'_>) -> Result<Supply, Problem> {
    if tool.motor().is_none() {
        return Err(s
            .problem("kind", format!("[{}] runs on air but has no motor", t.path))
            .with_help("add `motor = { rated_power_w = …, idle_power_w = … }`: the air used goes with the load"));
    }
    let litres = s.number("free_air_l_min")?.ok_or_else(|| s.missing("free_air_l_min", " of an air supply"))?;
    let per_second = Volume::from_l(litres / Time::from_min(1.0).s());
    let out = s.ranged(CompressedAir::new(per_second))?;
    let out = s.ranged(out.with_idle_share(s.number("idle_air_share")?.unwrap_or(CompressedAir::IDLE_SHARE)))?;
    let pressure = Pressure::from_bar(s.number("pressure_bar")?.unwrap_or(CompressedAir::PRESSURE_BAR));
    let out = s.ranged(out.with_pressure(pressure))?;
    let efficiency = s.number("compressor_efficiency")?.unwrap_or(CompressedAir::COMPRESSOR_EFFICIENCY);
    Ok(Supply::Air(s.ranged(out.with_compressor_efficiency(efficiency))?))
}
