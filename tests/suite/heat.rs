//! Is the heat right: against closed forms, against the slow obvious methods, in its balance and orders?

use crate::support::{free_tool, linear_pad, rel, setup, sphere};
use std::f64::consts::PI;
use trochoid::contact::ContactSettings;
use trochoid::equipment::Substrate;
use trochoid::heat::{
    BulkHeat, Cooling, HeatSource, MATERIALS, Material, Overhang, PadDisc, PadEvent, PadSettings, PanelContact,
    PanelHeat, PanelHeatSettings, PanelJob, Plate, Side, Spread, Thermal, closed_form, effusivity_share, heat_panel,
    matched_share, pad_history, reference, rest_before_next, sources_along, sources_of_stops,
};
use trochoid::math::reduce::with_threads;
use trochoid::motion::{Pattern, ToolPath};
use trochoid::panel::Patch;
use trochoid::removal::{Footprint, Stop, WorkedStop};
use trochoid::spin::{PlaceState, spin_state};
use trochoid::{Angle, Length, Power, Pressure, Speed, Temperature, Time};

const SUBSTRATES: [Substrate; 4] = [Substrate::Steel, Substrate::Aluminium, Substrate::Plastic, Substrate::Composite];

fn room() -> Temperature {
    Temperature::from_c(20.0)
}

fn mm(x: f64) -> Length {
    Length::from_mm(x)
}

fn air(front: f64, back: f64) -> Cooling {
    Cooling::new(room(), front, back).unwrap()
}

fn disc_spread() -> [Spread; 1] {
    [Spread::orbiting_disc(mm(65.0), mm(5.8)).unwrap()]
}

/// A job on a panel of `size` mm, from room temperature.
fn job<'a>(
    plate: &'a Plate,
    cooling: &'a Cooling,
    size: (f64, f64),
    spreads: &'a [Spread],
    sources: &'a [HeatSource],
) -> PanelJob<'a> {
    PanelJob {
        plate,
        cooling,
        size: (mm(size.0), mm(size.1)),
        origin_m: (0.0, 0.0),
        start: room(),
        spreads,
        sources,
        overhang: Overhang::Lost,
        limit: Some(Temperature::from_c(300.0)),
        probes_m: &[],
    }
}

fn cell(mm: f64) -> PanelHeatSettings {
    PanelHeatSettings { cell_m: mm * 1e-3, ..PanelHeatSettings::default() }
}

/// One panel under an even flux [W/m²] for a time, by a footprint far larger than it.
fn even(plate: &Plate, cooling: &Cooling, flux: f64, time: f64) -> PanelHeat {
    let wide = [Spread::radial(mm(500.0), |_| 1.0).unwrap()];
    let sources = [HeatSource { at_m: (0.01, 0.01), time_s: time, watts: flux * 4e-4, spread: 0 }];
    let all = PanelJob { overhang: Overhang::Pressed, ..job(plate, cooling, (20.0, 20.0), &wide, &sources) };
    heat_panel(&all, &cell(5.0)).unwrap()
}

/// Crossed passes over a section of `size` mm.
fn section(size: f64, passes: usize, feed: f64, watts: f64) -> Vec<HeatSource> {
    let path = ToolPath::over_rectangle((size * 1e-3, size * 1e-3), Pattern::Crosshatch, passes, 0.065, feed).unwrap();
    sources_along(&path, Power::from_w(watts), mm(4.0), 0).unwrap()
}

#[test]
fn an_even_flux_gives_the_lumped_plate_and_its_losses_on_one_and_both_sides() {
    for substrate in SUBSTRATES {
        let plate = Plate::painted(substrate);
        let c = plate.capacity();
        for (front, back) in [(0.0, 0.0), (12.0, 0.0), (12.0, 12.0)] {
            let found = even(&plate, &air(front, back), 3000.0, 40.0);
            let rise = found.final_mean_k[0] - room().k();
            let expected = if front > 0.0 {
                closed_form::lossy_plate(3000.0, c, front + back, 40.0)
            } else {
                closed_form::lumped(3000.0, c, 40.0)
            };
            // Both exact; rounding of 300 K.
            assert!(rel(rise, expected) < 1e-10, "{substrate:?} {front} {back}: {rise} {expected}");
        }
    }
}

#[test]
fn the_surface_of_a_thick_poor_conductor_is_a_half_space() {
    // 5 kW/m², k 0.2, α 1.2e-7: 9.7721 K at 1 s, 30.9019 K at 10 s (Carslaw and Jaeger 1959, section 2.9).
    let poor = Thermal::new(0.2, 0.2, 1000.0, 0.2 / 1.2e-7 / 1000.0).unwrap();
    for (time, thick, expected) in [(1.0, 6.0, 9.7721), (10.0, 20.0, 30.9019)] {
        let plate = Plate::new(poor, mm(0.0), poor, mm(thick)).unwrap();
        let found = even(&plate, &air(0.0, 0.0), 5000.0, time);
        let surface = found.peak.surface.k() - room().k();
        // 2 %: groups of modes, and those not followed.
        assert!(rel(surface, expected) < 0.02, "{time} s: {surface} {expected}");
        // The series of the slab is the half-space as long as it is thick: half the last digit.
        assert!((closed_form::slab_surface(5e3, 0.2, 1.2e-7, thick * 1e-3, time) - expected).abs() < 5e-5);
    }
}

#[test]
fn the_drop_through_a_poor_conductor_follows_a_fine_solution_in_one_dimension() {
    // A pad that comes, stays 3 s and leaves for 4 s.
    let flux = |t: f64| if t < 3.0 { 4000.0 } else { 0.0 };
    for (substrate, thick) in [
        (Substrate::Plastic, 2.0),
        (Substrate::Plastic, 5.0),
        (Substrate::Composite, 2.0),
        (Substrate::Composite, 4.0),
        (Substrate::Steel, 0.7),
    ] {
        let plate = Plate::painted(substrate).with_thickness(mm(thick)).unwrap();
        let times = [0.1, 0.3, 1.0, 3.0, 4.0, 7.0];
        let slow = reference::through_plate(&plate, flux, &times, 96);
        for (t, (surface, mean)) in times.iter().zip(slow) {
            let wide = [Spread::radial(mm(500.0), |_| 1.0).unwrap()];
            let work = HeatSource { at_m: (0.01, 0.01), time_s: t.min(3.0), watts: 1.6, spread: 0 };
            let sources = [work, HeatSource::rest((t - 3.0).max(0.0))];
            let cooling = air(0.0, 0.0);
            let probes = [(0.01, 0.01)];
            let all = PanelJob {
                overhang: Overhang::Pressed,
                probes_m: &probes,
                ..job(&plate, &cooling, (20.0, 20.0), &wide, &sources)
            };
            let found = heat_panel(&all, &cell(5.0)).unwrap();
            let (_, m, s) = *found.histories[0].samples.last().unwrap();
            let (m, s) = (m - room().k(), s - room().k());
            assert!(rel(m, mean) < 1e-3, "{substrate:?} {thick} at {t}: mean {m} {mean}; steps of the reference");
            // 3 % of the surface: groups of modes; the reference's own cells.
            assert!((s - surface).abs() < 0.03 * surface, "{substrate:?} {thick} at {t}: surface {s} {surface}");
        }
    }
}

#[test]
fn jaeger_band_values() {
    // Jaeger (1942), as tabulated by independent quadrature: half the last digit.
    for (l, expected) in [(1.0, 0.99185), (5.0, 0.48464), (10.0, 0.34850)] {
        let got = closed_form::jaeger_band(l);
        assert!((got - expected).abs() < 5e-6, "L = {l}: {got}");
    }
    // A fast band is a half-space heated for 2b/V: θ k/(q b) → 2/√(πL), here within 2 % at L = 40.
    let got = closed_form::jaeger_band(40.0);
    let limit = 2.0 / (PI * 40.0f64).sqrt();
    assert!(rel(got, limit) < 0.02, "{got} {limit}");
}

#[test]
fn a_gaussian_patch_spreads_at_second_order() {
    let plate = Plate::painted(Substrate::Aluminium);
    let cooling = air(10.0, 10.0);
    let width: f64 = 0.03;
    let spreads = [Spread::radial(Length::from_m(5.0 * width), |r| (-(r / width).powi(2)).exp()).unwrap()];
    let sources = [HeatSource { at_m: (0.3, 0.3), time_s: 1e-6, watts: 1e5, spread: 0 }, HeatSource::rest(20.0)];
    let worst = |cell_mm: f64, share: f64| {
        let all = job(&plate, &cooling, (600.0, 600.0), &spreads, &sources);
        let settings = PanelHeatSettings { cell_m: cell_mm * 1e-3, diffusion_share: share };
        let found = heat_panel(&all, &settings).unwrap();
        let (nx, ny) = found.count;
        let mut worst: f64 = 0.0;
        for c in 0..nx * ny {
            let at = |i: usize| (i as f64 + 0.5) * found.cell_m.0 - 0.3;
            let r = at(c % nx).hypot(at(c / nx));
            let exact = closed_form::gaussian_on_plate(
                0.1,
                plate.capacity(),
                width,
                plate.lateral_diffusivity(),
                20.0,
                r,
                20.0,
            );
            worst = worst.max((found.final_mean_k[c] - room().k() - exact).abs());
        }
        worst
    };
    let space: Vec<f64> = [12.0, 6.0, 3.0].map(|h| worst(h, 2e-5)).into();
    for w in space.windows(2) {
        let order = (w[0] / w[1]).log2();
        // 2 within 0.3: the coarsest cell is a third of the patch.
        assert!((order - 2.0).abs() < 0.3, "in space: {order} {space:?}");
    }
}

#[test]
fn a_moving_pad_agrees_with_the_explicit_method_and_converges_in_time() {
    let spreads = disc_spread();
    let sources = section(200.0, 2, 0.04, 40.0);
    for substrate in [Substrate::Steel, Substrate::Aluminium] {
        let plate = Plate::painted(substrate).with_film(mm(0.0)).unwrap();
        let cooling = air(10.0, 8.0);
        let all = job(&plate, &cooling, (200.0, 200.0), &spreads, &sources);
        let (slow, largest) = reference::heat_panel_explicit(&all, 5e-3).unwrap();
        let peak = largest.iter().copied().fold(0.0, f64::max) - room().k();
        let at = |share: f64| {
            let settings = PanelHeatSettings { cell_m: 5e-3, diffusion_share: share };
            let found = heat_panel(&all, &settings).unwrap();
            let worst = found.final_mean_k.iter().zip(&slow).map(|(a, b)| (a - b).abs()).fold(0.0, f64::max);
            (worst / peak, found)
        };
        let (worst, found) = at(5e-3);
        // 1 % of the peak: what is promised at the default step.
        assert!(worst < 0.01, "{substrate:?}: final field off by {worst} of the peak");
        let drop = found.peak.surface.k() - found.peak.mean.k();
        let mean_peak = found.peak.surface.k() - room().k() - drop;
        assert!(rel(mean_peak, peak) < 0.01, "{substrate:?}: peak {mean_peak} {peak}, as promised");
        // In time, against itself at a fine step, so that the reference's own error does not show.
        let fine = at(1e-4).1;
        let off = |share: f64| {
            let f = at(share).1;
            f.final_mean_k.iter().zip(&fine.final_mean_k).map(|(a, b)| (a - b).abs()).fold(0.0, f64::max)
        };
        let (coarse, half) = (off(2e-3), off(1e-3));
        let order = (coarse / half).log2();
        // Second order once the pad moves less than its blurred rim in a step; 1.5 for what is left of that.
        assert!(order > 1.5, "{substrate:?}: order {order} in time");
        // And the cell: against a quarter of the area, the promised 1 %.
        let (_, largest) = reference::heat_panel_explicit(&all, 2.5e-3).unwrap();
        let peak = largest.iter().copied().fold(0.0, f64::max) - room().k();
        assert!(rel(mean_peak, peak) < 0.01, "{substrate:?}: peak on finer cells {mean_peak} {peak}");
    }
}

#[test]
fn heat_is_kept_with_and_without_spill() {
    let spreads = disc_spread();
    let mut sources = section(300.0, 2, 0.04, 40.0);
    sources.push(HeatSource::rest(120.0));
    for substrate in SUBSTRATES {
        let plate = Plate::painted(substrate);
        let cooling = air(12.0, 9.0);
        for overhang in [Overhang::Lost, Overhang::Pressed] {
            let all = PanelJob { overhang, ..job(&plate, &cooling, (300.0, 300.0), &spreads, &sources) };
            let found = heat_panel(&all, &cell(5.0)).unwrap();
            let e = found.energy;
            // The scalar balance and the cells are summed apart: rounding of half a thousand steps.
            assert!(e.residual() < 1e-9, "{substrate:?}: {e:?}");
            let given: f64 = sources.iter().map(|s| s.watts * s.time_s).sum();
            assert!(rel(e.input_j + found.spilled_j, given) < 1e-12, "rounding of the sum");
            assert!(e.lost_j > 0.1 * e.input_j, "the rest loses heat: {e:?}");
            match overhang {
                // Pad centres run along the edges: a good part of the footprint is past them.
                Overhang::Lost => assert!(found.spilled_j > 0.1 * given),
                Overhang::Pressed => assert!(found.spilled_j.abs() < 1e-9 * given, "rounding"),
            }
        }
    }
}

#[test]
fn plastic_runs_hotter_than_steel_and_steel_than_aluminium() {
    // Common practice, no source: an order.
    let spreads = disc_spread();
    let sources = section(400.0, 4, 0.04, 35.0);
    let size = (mm(900.0), mm(600.0));
    let cooling =
        Cooling::of_panel(room(), Speed::from_m_s(0.2), size, Angle::from_deg(90.0), Side::Free, 20.0).unwrap();
    let peak = |substrate: Substrate, sources: &[HeatSource]| {
        let plate = Plate::painted(substrate);
        let all = PanelJob { size, ..job(&plate, &cooling, (1.0, 1.0), &spreads, sources) };
        heat_panel(&all, &cell(5.0)).unwrap().peak.surface.c()
    };
    let [steel, aluminium, plastic, composite] = SUBSTRATES.map(|s| peak(s, &sources));
    assert!(plastic > composite && composite > steel && steel > aluminium, "{plastic} {composite} {steel} {aluminium}");
    // 35 W for two minutes over 0.16 m²: warm, far from boiling. Bounds of the energy: a quarter of the work
    // in place, the whole of it in place.
    assert!(steel > 22.0 && steel < 60.0, "{steel}");
    // Less force (power in proportion) and a faster feed are cooler.
    let milder: Vec<_> = sources.iter().map(|s| HeatSource { watts: 0.6 * s.watts, ..*s }).collect();
    assert!(peak(Substrate::Steel, &milder) < steel);
    assert!(peak(Substrate::Steel, &section(400.0, 4, 0.08, 35.0)) < steel);
    // The same power under a smaller pad is hotter.
    let small = [Spread::orbiting_disc(mm(40.0), mm(5.8)).unwrap()];
    let plate = Plate::painted(Substrate::Steel);
    let all = PanelJob { size, ..job(&plate, &cooling, (1.0, 1.0), &small, &sources) };
    assert!(heat_panel(&all, &cell(5.0)).unwrap().peak.surface.c() > steel);
}

#[test]
fn the_limit_is_a_result_and_the_rest_keeps_below_it() {
    let spreads = disc_spread();
    for substrate in [Substrate::Steel, Substrate::Plastic] {
        let plate = Plate::painted(substrate);
        let cooling = air(10.0, 10.0);
        let work = [HeatSource { at_m: (0.2, 0.2), time_s: 15.0, watts: 40.0, spread: 0 }];
        let once = heat_panel(&job(&plate, &cooling, (400.0, 400.0), &spreads, &work), &cell(5.0)).unwrap();
        assert!(once.limit_reached.is_none());
        let limit = Temperature::from_k(room().k() + 1.25 * once.rise_k);
        let with_limit = PanelJob { limit: Some(limit), ..job(&plate, &cooling, (400.0, 400.0), &spreads, &work) };
        let rest = rest_before_next(&with_limit, &once, limit, &cell(5.0)).unwrap();
        let wait = rest.time.unwrap().s();
        assert!(wait > 1.0, "{substrate:?}: {rest:?}");
        let again = |wait: f64| {
            let twice = [work[0], HeatSource::rest(wait), work[0]];
            let all = PanelJob { sources: &twice, ..with_limit };
            heat_panel(&all, &cell(5.0)).unwrap()
        };
        assert!(again(wait).limit_reached.is_none(), "{substrate:?}: the rest is enough");
        let early = again(0.5 * wait).limit_reached.unwrap();
        assert!(early.time_s > 15.0 + 0.5 * wait && early.surface >= limit, "{substrate:?}: half of it is not");
        // No rest helps where the work alone is too hot; none is needed far below the limit.
        let low = Temperature::from_k(room().k() + 0.9 * once.rise_k);
        assert_eq!(rest_before_next(&with_limit, &once, low, &cell(5.0)).unwrap().time, None);
        let high = Temperature::from_k(room().k() + 3.0 * once.rise_k);
        assert_eq!(rest_before_next(&with_limit, &once, high, &cell(5.0)).unwrap().time, Some(Time::from_s(0.0)));
    }
}

#[test]
fn real_footprints_and_stops_feed_the_panel() {
    let s = setup(free_tool(12.0, 4200.0, 0.04, 1e-4), linear_pad(130.0, 9e5), 0.35, 35.0, Patch::flat());
    let state = spin_state(&s, s.patch(), &ContactSettings::default()).unwrap();
    let footprint = Footprint::new(&state.contact, s.patch(), s.tool().rate().rad_s(), state.spin);
    let spreads = [Spread::of_footprint(&footprint).unwrap()];
    let watts = 0.35 * state.sums.speed_w;
    let plate = Plate::painted(Substrate::Steel);
    let cooling = air(0.0, 0.0);
    let sources = [HeatSource { at_m: (0.2, 0.2), time_s: 0.1, watts, spread: 0 }];
    let found = heat_panel(&job(&plate, &cooling, (400.0, 400.0), &spreads, &sources), &cell(2.0)).unwrap();
    // In a tenth of a second nothing has flown off: the flux is the footprint's own work at the centre.
    let centre = found.final_mean_k[100 * 200 + 100] - room().k();
    let expected = 0.35 * footprint.at(1e-3, 1e-3).work * 0.1 / plate.capacity();
    // 0.5 %: 2 mm cells against the exact area under the rim.
    assert!(rel(centre, expected) < 5e-3, "{centre} {expected}");
    // The map is read anywhere: a cell's own value at its centre, the mean of two between them.
    let read = |x: f64| found.read(&found.final_mean_k, (x, 0.201)).unwrap();
    assert!((read(0.201) - room().k() - centre).abs() < 1e-9, "rounding of 300 K");
    assert!((read(0.240) - 0.5 * (read(0.239) + read(0.241))).abs() < 1e-9, "rounding of 300 K");
    assert!(found.read(&found.final_mean_k, (0.41, 0.2)).is_none() && found.read(&[], (0.1, 0.1)).is_none());
    // Stops on a surface: friction, the share, and the stop's own sum; nothing under the pad is a rest.
    let place = PlaceState {
        spin: state.spin,
        sticks: false,
        heave_m: 0.0,
        slopes: (0.0, 0.0),
        peak_pressure_pa: 0.0,
        contact_share: 1.0,
        overhang_share: 0.0,
        compression_share: 0.0,
        sums: state.sums,
    };
    let stop = Stop { at: (0.1, 0.2), time_s: 0.5, force_share: 1.0, pass: 0 };
    let stops = [WorkedStop { stop, state: Some(place) }, WorkedStop { stop, state: None }];
    let given = sources_of_stops(&stops, 0.35, 0.9, 0).unwrap();
    assert!(rel(given[0].watts, 0.9 * watts) < 1e-14 && given[0].at_m == stop.at, "rounding");
    assert_eq!(given[1], HeatSource { at_m: stop.at, ..HeatSource::rest(0.5) });
    assert!(sources_of_stops(&[], 0.0, 0.9, 0).is_err());
}

#[test]
fn the_same_bits_on_one_and_two_threads() {
    let spreads = disc_spread();
    let sources = section(300.0, 2, 0.04, 40.0);
    let plate = Plate::painted(Substrate::Plastic);
    let cooling = air(10.0, 10.0);
    let all = job(&plate, &cooling, (310.0, 290.0), &spreads, &sources);
    let bits = || {
        let found = heat_panel(&all, &cell(4.0)).unwrap();
        found.largest_k.iter().chain(&found.final_mean_k).map(|v| v.to_bits()).collect::<Vec<_>>()
    };
    assert_eq!(with_threads(1, bits), with_threads(2, bits));
}

#[test]
fn shares_between_paint_and_pad() {
    let foam = Material::foam().thermal;
    for m in &MATERIALS[..5] {
        let share = effusivity_share(&m.thermal, &foam);
        assert!(share > 0.8 && share < 1.0, "{}: nearly all goes into the panel, {share}", m.name);
    }
    // Equal temperatures with the share that is found.
    let s = matched_share((300.0, 0.3), (330.0, 6.0), 30.0).unwrap();
    assert!((300.0 + 0.3 * s * 30.0 - (330.0 + 6.0 * (1.0 - s) * 30.0)).abs() < 1e-9, "rounding: {s}");
    assert!(matched_share((300.0, 0.0), (330.0, 6.0), 30.0).is_err());
}

fn disc(face: f64, rim: f64, plate: f64) -> PadDisc {
    let size = (mm(65.0), mm(0.0), mm(25.0));
    PadDisc::new(size, Material::foam().thermal, room(), (face, rim, plate)).unwrap()
}

fn work(seconds: f64, watts: f64, bulk: f64, panel: Option<PanelContact>) -> PadEvent {
    let bulk = BulkHeat::new(bulk, 0.0).unwrap();
    PadEvent::Work { time: Time::from_s(seconds), face: Power::from_w(watts), bulk, panel }
}

/// A limit that is never reached, where the disc loses nothing.
const HOT: Option<Temperature> = Some(Temperature::from_c(390.0));

#[test]
fn the_pad_agrees_with_slab_plane_and_cylinder() {
    let (foam, area) = (Material::foam().thermal, PI * 0.065f64.powi(2));
    // A flux at the face, insulated elsewhere: the slab of Carslaw and Jaeger, section 3.8.
    for time in [20.0, 120.0, 600.0] {
        let settings = PadSettings { longest_step_s: 0.01 * time, ..PadSettings::default() };
        let found = pad_history(&disc(0.0, 0.0, 0.0), &[work(time, 1.0, 0.0, None)], HOT, &settings).unwrap();
        let face = found.moments.last().unwrap().face.k() - room().k();
        let exact = closed_form::slab_surface(1.0 / area, foam.through(), foam.diffusivity(), 0.025, time);
        // 1 %: 16 layers, the thinnest 0.5 mm against a depth of heating of 3 mm at 20 s.
        assert!(rel(face, exact) < 0.01, "{time} s: {face} {exact}");
    }
    // Heat made inside, face held at room temperature, long after: S h²/(2k) at the plate.
    let cold = Some(PanelContact { coefficient: 1e5, panel: room() });
    let long = PadSettings { longest_step_s: 50.0, ..PadSettings::default() };
    let found = pad_history(&disc(0.0, 0.0, 0.0), &[work(2e4, 0.0, 4e3, cold)], HOT, &long).unwrap();
    let last = found.moments.last().unwrap();
    let exact = 4e3 * 0.025f64.powi(2) / (2.0 * foam.through());
    // 1 %: the last layer's middle is 1.5 mm from the plate, worth (1.5/25)² = 0.4 %, and the layers.
    assert!(rel(last.core.k() - room().k(), exact) < 0.01, "{last:?} {exact}");
    // Rim held at room temperature: S R²/(4k) on the axis.
    let settings = |rings| PadSettings { rings, layers: 4, longest_step_s: 200.0 };
    let axis = |rings| {
        let found = pad_history(&disc(0.0, 1e4, 0.0), &[work(1e5, 0.0, 2e3, None)], HOT, &settings(rings)).unwrap();
        found.moments.last().unwrap().core.k() - room().k()
    };
    let exact = 2e3 * 0.065f64.powi(2) / (4.0 * foam.through());
    let off = |rings: usize| {
        // The first ring's middle is half a ring from the axis: taken into account.
        let r = 0.5 * 0.065 / rings as f64;
        (axis(rings) - exact * (1.0 - (r / 0.065).powi(2))).abs() / exact
    };
    assert!(off(24) < 2e-3, "{}", off(24));
    let order = (off(8) / off(16)).log2();
    // 2 within 0.3: the rim's own coefficient of 1e4 stands in for a fixed temperature.
    assert!((order - 2.0).abs() < 0.3, "in space: {order}");
}

#[test]
fn the_pad_converges_in_time_and_on_a_finer_grid() {
    let d = disc(10.0, 40.0, 3.0);
    let schedule = [work(180.0, 1.5, 5e3, None), PadEvent::Rest { time: Time::from_s(60.0) }];
    let at = |rings, layers, longest_step_s| {
        let found = pad_history(&d, &schedule, None, &PadSettings { rings, layers, longest_step_s }).unwrap();
        let m = *found.moments.last().unwrap();
        (m.core.k() - room().k(), m.face.k() - room().k())
    };
    let exact = at(24, 16, 0.25);
    let off = |dt| (at(24, 16, dt).1 - exact.1).abs();
    let order = (off(10.0) / off(5.0)).log2();
    // Second order, from below once the stiff first layer is damped.
    assert!(order > 1.5, "in time: {order}");
    let (fine, usual) = (at(48, 32, 1.25), at(24, 16, 5.0));
    assert!(rel(usual.0, fine.0) < 0.01 && rel(usual.1, fine.1) < 0.01, "promised 1 %: {usual:?} {fine:?}");
}

/// Just after an event begins the thin layers at the face change faster than a usual step follows: its first
/// step must not overshoot, as seen beside steps of a hundredth.
#[test]
fn the_first_step_of_an_event_follows_a_fine_step() {
    let d = disc(10.0, 40.0, 3.0);
    let warm = Some(PanelContact { coefficient: 400.0, panel: Temperature::from_c(27.0) });
    let rest = PadEvent::Rest { time: Time::from_s(30.0) };
    let schedule = [work(60.0, 40.0, 1e3, warm), rest, work(60.0, 40.0, 1e3, warm)];
    let run = |longest_step_s| {
        let settings = PadSettings { longest_step_s, ..PadSettings::default() };
        pad_history(&d, &schedule, None, &settings).unwrap()
    };
    let (usual, fine) = (run(5.0), run(0.05));
    let rise = fine.peak.hottest().k() - room().k();
    assert!(rise > 10.0, "the face warms: {rise}");
    for m in &usual.moments {
        let at = fine.moments.iter().find(|f| (f.time_s - m.time_s).abs() < 1e-6).unwrap();
        let off = |a: Temperature, b: Temperature| (a.k() - b.k()).abs() / rise;
        // 2 % of the rise: what a second-order step of 5 s leaves of the 12 s in which heat crosses a layer.
        assert!(off(m.core, at.core) < 0.02, "core at {} s: {} {}", m.time_s, m.core.c(), at.core.c());
        assert!(off(m.face, at.face) < 0.02, "face at {} s: {} {}", m.time_s, m.face.c(), at.face.c());
    }
    assert!(usual.energy.residual() < 1e-9, "closes to rounding: {}", usual.energy.residual());
}

/// Sections of two minutes; between them the pad is lifted for `pause`, blown out for `blow`, or changed.
fn vehicle(sections: usize, bulk: BulkHeat, pause: f64, blow: f64, swap: bool) -> Vec<PadEvent> {
    let panel = Some(PanelContact { coefficient: 400.0, panel: Temperature::from_c(25.0) });
    let mut out = Vec::new();
    for _ in 0..sections {
        out.push(PadEvent::Work { time: Time::from_s(120.0), face: Power::from_w(25.0), bulk, panel });
        out.push(PadEvent::Rest { time: Time::from_s(pause) });
        if blow > 0.0 {
            out.push(PadEvent::Blow { time: Time::from_s(blow), coefficient: 150.0 });
        }
        if swap {
            out.push(PadEvent::Swap);
        }
    }
    out
}

fn running() -> (trochoid::spin::Setup, BulkHeat) {
    let pad = linear_pad(130.0, 9e5).with_shear_modulus(Pressure::from_kpa(15.0)).unwrap();
    let s = setup(free_tool(12.0, 4200.0, 0.04, 1e-4), pad, 0.35, 35.0, Patch::flat());
    let bulk = BulkHeat::of(&s, 10.0).unwrap();
    (s, bulk)
}

#[test]
fn a_pad_used_without_rest_fails_first_at_its_centre() {
    // Common practice, no source: an order.
    let (s, bulk) = running();
    let d = PadDisc::of(s.pad(), room(), Speed::from_m_s(2.5)).unwrap();
    let limit = Some(Temperature::from_c(50.0));
    let settings = PadSettings::default();
    let used = pad_history(&d, &vehicle(30, bulk, 0.0, 0.0, false), limit, &settings).unwrap();
    let failed = used.limit_reached.unwrap();
    let hot = used.peak.core_at_m;
    // The centre: within a quarter of the radius, not at the face, hotter than face and mean.
    assert!(hot.0 < 0.25 * 0.065 && hot.1 > 0.3 * 0.025, "{hot:?}");
    assert!(used.peak.core > used.peak.face && used.peak.core.k() > used.peak.mean.k() + 1.0, "{:?}", used.peak);
    // Rest, air and a change of pads each keep it cooler.
    let peak = |events: &[PadEvent]| pad_history(&d, events, limit, &settings).unwrap().peak.core.c();
    let worst = peak(&vehicle(30, bulk, 0.0, 0.0, false));
    let rested = peak(&vehicle(30, bulk, 120.0, 0.0, false));
    let blown = peak(&vehicle(30, bulk, 60.0, 60.0, false));
    let changed = peak(&vehicle(30, bulk, 0.0, 0.0, true));
    assert!(worst > rested && rested > blown && worst > changed, "{worst} {rested} {blown} {changed}");
    assert!(failed.time_s > 120.0, "the first section is survived: {failed:?}");
    // Without heat made inside the face is the hottest.
    let none = BulkHeat::default();
    let panel = Some(PanelContact { coefficient: 400.0, panel: Temperature::from_c(25.0) });
    let face_only = [PadEvent::Work { time: Time::from_s(120.0), face: Power::from_w(25.0), bulk: none, panel }];
    let cold = pad_history(&d, &face_only, limit, &settings).unwrap().peak;
    assert!(cold.hottest_face > cold.core, "{cold:?}");
}

#[test]
fn the_pads_heat_is_kept_through_every_event() {
    let (s, bulk) = running();
    let d = PadDisc::of(s.pad(), room(), Speed::from_m_s(2.5)).unwrap().with_plate(5.0).unwrap();
    let found = pad_history(&d, &vehicle(12, bulk, 20.0, 15.0, false), None, &PadSettings::default()).unwrap();
    // Losses are summed at the stages of each step: rounding.
    assert!(found.energy.residual() < 1e-9, "{:?}", found.energy);
    let made: f64 = 12.0 * 120.0 * (25.0 + bulk.shear() * d.volume());
    assert!(rel(found.energy.input_j + found.past_pad_j, made) < 1e-9, "rounding: {found:?}", found = found.energy);
    assert!(found.into_panel_j.abs() > 1.0 && found.past_pad_j > 0.0);
    let swapped = pad_history(&d, &vehicle(12, bulk, 20.0, 0.0, true), None, &PadSettings::default()).unwrap();
    assert!(swapped.energy.residual() < 1e-9 && swapped.energy.stored_j.abs() < 1e-12, "{:?}", swapped.energy);
    let rest = found.first_below(Temperature::from_c(500.0), Time::from_s(100.0)).unwrap();
    assert!(rest.s() >= 100.0);
}

#[test]
fn hysteresis_follows_its_laws() {
    let (s, flat) = running();
    assert!(flat.compression_at_rim().abs() < 1e-300, "nothing swings on the flat");
    // Twice the force, twice the strain, four times the heat; the face still orbits at 60 N.
    let more = BulkHeat::of(&s.clone().at_force(trochoid::Force::from_n(60.0)).unwrap(), 10.0).unwrap();
    assert!(rel(more.shear() / flat.shear(), (60.0f64 / 35.0).powi(2)) < 1e-12, "rounding");
    // Pressure amplitude k κ e R on a sphere, ½ η a²/(k h) a turn.
    let ball = s.clone().on(sphere(0.5));
    let got = BulkHeat::of(&ball, 10.0).unwrap().compression_at_rim();
    let e = ball.face_orbit().radius_m;
    let expected = 0.5 * 0.25 * 9e5 * (0.5 * e * 0.065f64).powi(2) * (s.tool().rate().rad_s() - 10.0) / 0.025;
    assert!(rel(got, expected) < 1e-9, "{got} {expected}: rounding of the stack's slope");
    // Rigid in shear: none.
    let rigid = setup(free_tool(12.0, 4200.0, 0.04, 1e-4), linear_pad(130.0, 9e5), 0.35, 35.0, Patch::flat());
    assert!(BulkHeat::of(&rigid, 10.0).unwrap().shear() < 1e-300);
}

#[test]
fn bad_input_is_refused() {
    let spreads = disc_spread();
    let plate = Plate::painted(Substrate::Steel);
    let cooling = air(10.0, 10.0);
    let none = air(0.0, 0.0);
    let good = HeatSource { at_m: (0.1, 0.1), time_s: 1.0, watts: 10.0, spread: 0 };
    let panel = |s: HeatSource, change: &dyn Fn(&mut PanelJob<'_>)| {
        let sources = [s];
        let mut j = job(&plate, &cooling, (200.0, 200.0), &spreads, &sources);
        change(&mut j);
        heat_panel(&j, &cell(5.0)).map(|h| h.peak)
    };
    assert!(panel(good, &|_| ()).is_ok());
    for bad in [f64::NAN, f64::INFINITY, -1.0] {
        assert!(panel(HeatSource { time_s: bad, ..good }, &|_| ()).is_err());
        assert!(panel(HeatSource { watts: bad, ..good }, &|_| ()).is_err());
    }
    assert!(panel(HeatSource { at_m: (f64::NAN, 0.0), ..good }, &|_| ()).is_err());
    assert!(panel(HeatSource { spread: 1, ..good }, &|_| ()).is_err());
    let endless = [HeatSource { time_s: 1e6, ..good }];
    let all = job(&plate, &cooling, (200.0, 200.0), &spreads, &endless);
    assert!(heat_panel(&all, &cell(1.0)).is_err(), "too many steps, refused at once");
    assert!(panel(good, &|j| j.start = Temperature::from_k(0.0)).is_err());
    assert!(panel(good, &|j| j.limit = Some(Temperature::from_c(19.0))).is_err());
    assert!(panel(good, &|j| j.probes_m = &[(0.3, 0.1)]).is_err());
    assert!(panel(good, &|j| j.size.0 = Length::from_m(f64::NAN)).is_err());
    let sources = [good];
    let mut lossless = job(&plate, &none, (200.0, 200.0), &spreads, &sources);
    assert!(heat_panel(&lossless, &cell(5.0)).is_ok(), "a limit is given");
    lossless.limit = None;
    assert!(heat_panel(&lossless, &cell(5.0)).is_err(), "neither losses nor a limit");
    for bad in [f64::NAN, 0.0, 0.01, 60.0, 30.0] {
        let j = job(&plate, &cooling, (200.0, 200.0), &spreads, &sources);
        assert!(heat_panel(&j, &cell(bad)).is_err(), "cell of {bad} mm");
    }
    assert!(Spread::radial(mm(65.0), |_| -1.0).is_err() && Spread::radial(mm(65.0), |_| 0.0).is_err());
    assert!(Spread::radial(mm(65.0), |_| f64::NAN).is_err() && Spread::orbiting_disc(mm(65.0), mm(65.0)).is_err());
    assert!(Plate::painted(Substrate::Steel).with_thickness(mm(0.0)).is_err());
    assert!(Material::named("unobtainium").is_err() && Thermal::new(0.2, 0.2, -1.0, 1000.0).is_err());

    let d = disc(0.0, 0.0, 0.0);
    let settings = PadSettings::default();
    let t = |s: f64| PadEvent::Rest { time: Time::from_s(s) };
    assert!(pad_history(&d, &[t(10.0)], None, &settings).is_err(), "neither losses nor a limit");
    let d = disc(10.0, 10.0, 0.0);
    for bad in [f64::NAN, -1.0, 2e6] {
        assert!(pad_history(&d, &[t(bad)], None, &settings).is_err(), "{bad} s");
        let blow = PadEvent::Blow { time: Time::from_s(1.0), coefficient: bad };
        assert!(pad_history(&d, &[blow], None, &settings).is_err(), "{bad} W/(m² K)");
    }
    assert!(pad_history(&d, &[t(1.0)], Some(Temperature::from_c(10.0)), &settings).is_err());
    let cold = Some(PanelContact { coefficient: 10.0, panel: Temperature::from_k(0.0) });
    assert!(pad_history(&d, &[work(1.0, 1.0, 0.0, cold)], None, &settings).is_err(), "absolute zero");
    assert!(pad_history(&d, &[t(1.0)], None, &PadSettings { rings: 0, ..settings }).is_err());
    assert!(pad_history(&d, &[], None, &settings).unwrap().moments.len() == 1, "nothing happened: the start");
}
