//! Heat of panel and pad: half-space, moving band, plates with losses, the pad's disc.

use super::{Check, Group};
use crate::heat::{
    BulkHeat, Cooling, HeatSource, Material, Overhang, PadDisc, PadEvent, PadSettings, PanelHeatSettings, PanelJob,
    Plate, Spread, Thermal, closed_form, heat_panel, pad_history,
};
use crate::units::{Length, Power, Temperature, Time};
use core::f64::consts::PI;

/// Mean and surface rise \[K\] of a small piece of plate under an even flux [W/m²].
fn even(plate: &Plate, sides: (f64, f64), flux: f64, time_s: f64) -> Option<(f64, f64)> {
    let room = Temperature::from_c(20.0);
    let side = Length::from_mm(20.0);
    let spreads = [Spread::radial(Length::from_mm(500.0), |_| 1.0).ok()?];
    let middle = 0.5 * side.m();
    let sources = [HeatSource { at_m: (middle, middle), time_s, watts: flux * side.m() * side.m(), spread: 0 }];
    let cooling = Cooling::new(room, sides.0, sides.1).ok()?;
    let job = PanelJob {
        plate,
        cooling: &cooling,
        size: (side, side),
        origin_m: (0.0, 0.0),
        start: room,
        spreads: &spreads,
        sources: &sources,
        overhang: Overhang::Pressed,
        limit: Some(Temperature::from_c(300.0)),
        probes_m: &[],
    };
    let settings = PanelHeatSettings { cell_m: Length::from_mm(5.0).m(), ..PanelHeatSettings::default() };
    let found = heat_panel(&job, &settings).ok()?;
    Some((found.final_mean_k.first()? - room.k(), found.peak.surface.k() - room.k()))
}

fn half_space(out: &mut Vec<Check>) {
    let source = "Carslaw and Jaeger (1959), half-space under a constant flux; 5 kW/m², k 0.2, diffusivity 1.2e-7";
    let mut formula = Group::published("Heat: half-space", source, "K");
    let mut solved = Group::published("Heat: surface of a thick poor conductor, solved", source, "K");
    let poor = Thermal::new(0.2, 0.2, 1000.0, 0.2 / 1.2e-7 / 1000.0).ok();
    for (time, thick_mm, rise) in [(1.0, 6.0, 9.7721), (10.0, 20.0, 30.9019)] {
        // Half the last printed digit.
        formula.add(format!("closed form at {time} s"), rise, closed_form::half_space(5e3, 0.2, 1.2e-7, time), 5e-5);
        let slab = closed_form::slab_surface(5e3, 0.2, 1.2e-7, Length::from_mm(thick_mm).m(), time);
        formula.add(format!("series of a thick slab at {time} s"), rise, slab, 5e-5);
        let surface = poor
            .and_then(|m| Plate::new(m, Length::from_mm(0.0), m, Length::from_mm(thick_mm)).ok())
            .and_then(|p| even(&p, (0.0, 0.0), 5e3, time));
        // 2 %: the plate's later modes are taken in groups.
        solved.add(format!("at {time} s"), rise, surface.map_or(f64::NAN, |s| s.1), 0.02 * rise);
    }
    out.extend(formula.checks);
    out.extend(solved.checks);
}

fn plates(out: &mut Vec<Check>) {
    let source = "closed forms qt/(ρcd) and q/h (1 − exp(−ht/(ρcd))), h summed over the sides";
    let mut group = Group::computed("Heat: thin plate under an even flux, solved", source, "K");
    let plate = Plate::painted(crate::equipment::Substrate::Steel);
    for (name, front, back) in
        [("no losses", 0.0, 0.0), ("losses on one side", 12.0, 0.0), ("losses on both sides", 12.0, 12.0)]
    {
        let (q, t, c) = (3e3, 40.0, plate.capacity());
        let expected =
            if front > 0.0 { closed_form::lossy_plate(q, c, front + back, t) } else { closed_form::lumped(q, c, t) };
        let got = even(&plate, (front, back), q, t).map_or(f64::NAN, |r| r.0);
        // Exact in time; rounding of a few hundred kelvins.
        group.add(format!("painted steel, {name}"), expected, got, 1e-9 * expected);
    }
    out.extend(group.checks);
}

fn pad(out: &mut Vec<Check>) {
    let mm = Length::from_mm;
    let room = Temperature::from_c(20.0);
    let limit = Some(Temperature::from_c(390.0));
    let foam = Material::foam().thermal;
    let last = |rim: f64, bulk: f64, watts: f64, seconds: f64, settings: &PadSettings| {
        let disc = PadDisc::new((mm(65.0), mm(0.0), mm(25.0)), foam, room, (0.0, rim, 0.0)).ok()?;
        let bulk = BulkHeat::new(bulk, 0.0).ok()?;
        let work = PadEvent::Work { time: Time::from_s(seconds), face: Power::from_w(watts), bulk, panel: None };
        pad_history(&disc, &[work], limit, settings).ok()?.moments.last().copied()
    };
    let mut slab = Group::published(
        "Heat: pad heated at its face, solved",
        "Carslaw and Jaeger (1959), slab insulated behind; 1 W on 130 mm of foam 25 mm thick",
        "K",
    );
    let flux = 1.0 / (PI * mm(65.0).m() * mm(65.0).m());
    for time in [60.0, 600.0] {
        let expected = closed_form::slab_surface(flux, foam.through(), foam.diffusivity(), mm(25.0).m(), time);
        let settings = PadSettings { longest_step_s: 0.01 * time, ..PadSettings::default() };
        let got = last(0.0, 0.0, 1.0, time, &settings).map_or(f64::NAN, |m| m.face.k() - room.k());
        // 1 %: sixteen layers.
        slab.add(format!("face after {time} s"), expected, got, 0.01 * expected);
    }
    let mut cylinder = Group::computed("Heat: pad heated in its bulk, solved", "closed form S R²/(4k), rim held", "K");
    let settings = PadSettings { rings: 48, layers: 3, longest_step_s: 200.0 };
    let expected = 2e3 * mm(65.0).m() * mm(65.0).m() / (4.0 * foam.in_plane());
    let got = last(1e4, 2e3, 0.0, 1e5, &settings).map_or(f64::NAN, |m| m.core.k() - room.k());
    // 0.2 %: the first ring's middle is half a ring off the axis, and the rings.
    cylinder.add("axis in the steady state, 2 kW/m³", expected, got, 2e-3 * expected);
    out.extend(slab.checks);
    out.extend(cylinder.checks);
}

pub(super) fn checks() -> Vec<Check> {
    let mut out = Vec::new();
    half_space(&mut out);
    let mut band =
        Group::published("Heat: moving band", "Jaeger (1942), published integral of the moving band", "q b/k");
    for (l, rise) in [(1.0, 0.99185), (5.0, 0.48464), (10.0, 0.34850)] {
        // Half the last printed digit.
        band.add(format!("largest rise at L = {l}"), rise, closed_form::jaeger_band(l), 5e-6);
    }
    out.extend(band.checks);
    plates(&mut out);
    pad(&mut out);
    out
}

#[cfg(test)]
mod tests {
    #[test]
    fn all_pass() {
        for c in super::checks() {
            assert!(c.passed(), "{}, {}: {} for {}", c.group, c.name, c.got, c.expected);
        }
    }
}
