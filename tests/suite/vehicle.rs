//! The plan of a vehicle: its minutes add up, no zone goes over its budget, kits and order are the best
//! there are, the past is kept, bad input is told.

#![cfg(feature = "cli")]

use crate::vehicle_jobs::{SMALL, job, plan, plan_of, with};
use trochoid::Length;
use trochoid::Time;
use trochoid::budget::{ClearCoat, Policy};
use trochoid::job::{Job, vehicle::VehiclePlan};
use trochoid::math::random::Seed;
use trochoid::math::reduce::with_threads;
use trochoid::plan::vehicle::{
    Group, KitCosts, Minute, Phase, ShopTimes, TimeTrace, TraceEntry, choose_kits, choose_kits_greedily, largest_cut,
    order_greedily, order_groups, pass_cut, swaps_of,
};
use trochoid::report::vehicle_json;

#[test]
fn the_minutes_add_up_to_the_total() {
    let p = plan(SMALL);
    // The sum in the order of the entries, to the bit.
    let sum = p.trace.entries().iter().fold(0.0, |s, e| s + e.time_s);
    assert_eq!(sum.to_bits(), p.trace.total().s().to_bits());
    let kinds: f64 = Minute::ALL.iter().map(|m| p.trace.of(*m).s()).sum();
    // Another order of the same sum.
    assert!((kinds - sum).abs() < 1e-9 * sum, "{kinds} {sum}");
    // Every entry starts where the one before ends.
    for w in p.trace.entries().windows(2) {
        assert!((w[0].start_s + w[0].time_s - w[1].start_s).abs() < 1e-9 * sum, "{w:?}");
    }
    // Pad-on time is that of the paths, each planned step once.
    let paths: f64 = p.steps.iter().map(|s| s.plan.time_s).sum();
    assert!((paths - p.trace.of(Minute::Work).s()).abs() < 1e-9 * paths, "rounding of the sum");
    // Two panels of 1000 x 700 mm: 6.8 m of edge at 0.4 min a metre.
    assert!((p.trace.of(Minute::Masking).s() - 6.8 * 24.0).abs() < 1e-9, "{:?}", p.trace.of(Minute::Masking));
    assert!((p.masking.m() - 6.8).abs() < 1e-12, "rounding");
    // What belongs to steps and what does not is everything.
    let own: f64 = (0..p.steps.len()).map(|i| p.trace.of_step(i).s()).sum();
    let others: f64 = p.trace.entries().iter().filter(|e| e.step.is_none()).map(|e| e.time_s).sum();
    assert!((own + others - sum).abs() < 1e-9 * sum, "rounding of the sum");
}

/// Chance of going over by simulation: each pairing's coefficient and the clear coat drawn anew.
fn simulated(p: &VehiclePlan, zone: usize, policy: &Policy, draws: u64) -> f64 {
    let z = &p.zones[zone];
    let own: Vec<_> = z.steps.iter().map(|i| &p.steps[*i]).collect();
    let seed = Seed::new(20_240_607 + zone as u64);
    let mut over = 0.0;
    for n in 0..draws {
        let mut cut = 0.0;
        for s in &own {
            // One stream for each pad with product, whatever the phase.
            let stream = s.step.pad_name.bytes().chain(s.step.product_name.bytes()).map(u64::from).sum::<u64>();
            let sd = s.step.pairing.preston_rel_sd();
            let ln_sd = (sd * sd).ln_1p().sqrt();
            let mean = s.plan.cut.map_or(s.plan.state.cut_per_pass_m * s.plan.passes as f64, |c| c.mean);
            cut += mean * (ln_sd * seed.normal(stream, n)).exp();
        }
        let clear = z.clear.mean_m() + z.clear.sd_m() * seed.normal(99_991, n);
        over += if cut > policy.allows(clear).0 { 1.0 } else { 0.0 };
    }
    over / draws as f64
}

#[test]
fn no_zone_goes_over_its_budget_at_the_stated_confidence() {
    for (text, confidence) in [
        (SMALL.to_owned(), 0.9),
        (with(&[("clear_um = 45.0", "clear_um = 24.0")]), 0.9),
        (with(&[("clear_um = 45.0", "clear_um = 16.0")]), 0.9),
        (with(&[("name = \"small\"", "name = \"small\"\nconfidence = 0.97")]), 0.97),
    ] {
        let job = job(&text);
        let p = plan_of(&job);
        assert!(p.steps.iter().any(|s| s.phase == Phase::Cut), "something is cut");
        for zone in 0..p.zones.len() {
            let z = &p.zones[zone];
            assert!(z.over_probability <= 1.0 - confidence + 1e-12, "{}: {}", z.label, z.over_probability);
            let draws = 20_000;
            let got = simulated(&p, zone, &job.budget.policy, draws);
            // Four standard errors of the simulation, and 0.01 for the moments of a sum of two cuts
            // (Fenton; see `plan::paint`).
            let slack = 4.0 * ((1.0 - confidence) * confidence / draws as f64).sqrt() + 0.01;
            assert!(got <= 1.0 - confidence + slack, "{}: simulated {got}", z.label);
            assert!((got - z.over_probability).abs() < slack, "{}: {got} against {}", z.label, z.over_probability);
            let e = z.edge.unwrap();
            assert!(e.over_probability <= 1.0 - confidence + 1e-12, "edge of {}", z.label);
            let passes: usize = z.steps.iter().map(|i| p.steps[*i].plan.passes).sum();
            assert!(2 * (e.cut + e.refine) <= passes, "edges get at most half of {passes}: {e:?}");
        }
    }
}

#[test]
fn the_largest_cut_is_that_of_the_closed_form() {
    // Clear known exactly: the 90th percentile of the cut is at the cap. Φ⁻¹(0.9) = 1.2815516 (tables of
    // the normal distribution, for example Abramowitz and Stegun 26.2).
    let clear = ClearCoat::stated(Length::from_um(45.0), Length::from_um(0.0)).unwrap();
    for sd in [0.1, 0.3, 0.6] {
        let got = largest_cut(&clear, &Policy::default(), sd, 0.9).unwrap();
        let expected = 8e-6 * (-1.281_551_6_f64 * sd).exp();
        // The bisection ends within 1e-4 below.
        assert!(got <= expected * (1.0 + 1e-9) && got >= expected * (1.0 - 1.1e-4), "{sd}: {got} {expected}");
    }
    let none = ClearCoat::stated(Length::from_um(0.0), Length::from_um(0.0)).unwrap();
    assert!(largest_cut(&none, &Policy::default(), 0.3, 0.9).unwrap() < 1e-15, "nothing may go of nothing");
}

#[test]
fn passes_cut_and_take_what_the_map_says() {
    let p = plan(SMALL);
    for s in &p.steps {
        let (size, spacing) = (&s.step.panel, (1.0 - s.step.overlap) * s.step.setup.pad().diameter().m());
        let size = (size.length().m(), size.width().m());
        let (cut, time) = pass_cut(s.plan.state.volume_rate_m3_s, size, spacing, s.step.feed.m_s(), s.plan.passes);
        // The path's own time: lines and links alike.
        assert!((time - s.plan.time_s).abs() < 1e-6 * time, "{}: {time} {}", s.step.name, s.plan.time_s);
        if let Some(map) = s.plan.cut {
            // The mean of the map holds a part of the outermost lines, which have no neighbour beyond.
            assert!((cut / map.mean - 1.0).abs() < 0.06, "{}: {cut} {}", s.step.name, map.mean);
        }
    }
}

/// Random costs of `zones` zones with `kits` kits; some kits cannot work some zones.
fn random_costs(seed: u64, zones: usize, kits: usize) -> KitCosts {
    let random = Seed::new(seed);
    let mut n = 0;
    let mut next = || {
        n += 1;
        random.uniform(1, n)
    };
    let work_s = (0..zones)
        .map(|_| (0..kits).map(|k| (k == 0 || next() > 0.3).then(|| 100.0 + 400.0 * next())).collect())
        .collect();
    KitCosts {
        work_s,
        open_s: (0..kits).map(|_| 50.0 + 200.0 * next()).collect(),
        tool: (0..kits).map(|k| k % 2).collect(),
        tool_s: 60.0,
    }
}

/// Every assignment of kits to zones, one by one: the slow obvious method.
fn cheapest_by_assignment(costs: &KitCosts) -> f64 {
    fn go(costs: &KitCosts, zone: usize, used: &mut Vec<bool>, sum: f64, best: &mut f64) {
        if zone == costs.work_s.len() {
            let opened: f64 = (0..used.len()).filter(|k| used[*k]).map(|k| costs.open_s[k]).sum();
            let tools = (0..2).filter(|t| (0..used.len()).any(|k| used[k] && costs.tool[k] == *t)).count();
            *best = best.min(sum + opened + costs.tool_s * (tools.max(1) - 1) as f64);
            return;
        }
        for k in 0..used.len() {
            if let Some(c) = costs.work_s[zone][k] {
                let before = used[k];
                used[k] = true;
                go(costs, zone + 1, used, sum + c, best);
                used[k] = before;
            }
        }
    }
    let mut best = f64::INFINITY;
    go(costs, 0, &mut vec![false; costs.open_s.len()], 0.0, &mut best);
    best
}

fn cost_of(costs: &KitCosts, chosen: &[Option<usize>]) -> f64 {
    let mut used = vec![false; costs.open_s.len()];
    chosen.iter().flatten().for_each(|k| used[*k] = true);
    costs.total(&used)
}

#[test]
fn kits_are_chosen_as_by_trying_every_assignment() {
    let mut worst: f64 = 1.0;
    for seed in 0..40 {
        let costs = random_costs(seed, 5, 5);
        let slow = cheapest_by_assignment(&costs);
        let exact = cost_of(&costs, &choose_kits(&costs));
        assert!((exact - slow).abs() < 1e-9 * slow, "seed {seed}: {exact} {slow}");
        let greedy = cost_of(&costs, &choose_kits_greedily(&costs));
        assert!(greedy >= exact * (1.0 - 1e-12), "nothing beats the exact one");
        worst = worst.max(greedy / exact);
    }
    // How far the greedy search stays behind on these: seen once, held since.
    assert!(worst < 1.05, "{worst}");
}

/// Every order that keeps cutting before refining, one by one.
fn cheapest_order(groups: &[Group], tool_s: f64, pad_s: f64) -> f64 {
    fn go(left: &mut Vec<Group>, taken: &mut Vec<Group>, price: &dyn Fn(&[Group]) -> f64, best: &mut f64) {
        if left.is_empty() {
            *best = best.min(price(taken));
        }
        for i in 0..left.len() {
            if left[i].phase == Phase::Refine && left.iter().any(|g| g.phase == Phase::Cut) {
                continue;
            }
            let g = left.remove(i);
            taken.push(g);
            go(left, taken, price, best);
            taken.pop();
            left.insert(i, g);
        }
    }
    let price = |order: &[Group]| {
        let swaps = swaps_of(order.iter().copied());
        swaps.iter().map(|s| f64::from(u8::from(s.0)) * tool_s + f64::from(u8::from(s.1)) * pad_s).sum()
    };
    let mut best = f64::INFINITY;
    go(&mut groups.to_vec(), &mut Vec::new(), &price, &mut best);
    best
}

#[test]
fn orders_are_those_of_trying_every_one() {
    let (tool, pad) = (Time::from_s(30.0), Time::from_s(20.0));
    let mut worst: f64 = 1.0;
    for seed in 0..60 {
        let random = Seed::new(seed);
        let mut groups: Vec<Group> = Vec::new();
        for i in 0..6 {
            let kit = (0..5_u8).find(|k| random.uniform(1, i) * 5.0 < f64::from(*k + 1)).map_or(4, usize::from);
            let phase = if random.uniform(2, i) < 0.5 { Phase::Cut } else { Phase::Refine };
            let g = Group { tool: kit % 2, kit, phase };
            if !groups.contains(&g) {
                groups.push(g);
            }
        }
        let slow = cheapest_order(&groups, tool.s(), pad.s());
        let exact = order_groups(&groups, tool, pad);
        assert!((exact.time.s() - slow).abs() < 1e-9, "seed {seed}: {} {slow}", exact.time.s());
        assert!(exact.exact && exact.sequence.len() == groups.len());
        let greedy = order_greedily(&groups, tool, pad);
        assert!(greedy.time >= exact.time && greedy.sequence.len() == groups.len());
        worst = worst.max((greedy.time.s() + 1.0) / (exact.time.s() + 1.0));
        let last_cut = exact.sequence.iter().rposition(|g| groups[*g].phase == Phase::Cut);
        let first_fine = exact.sequence.iter().position(|g| groups[*g].phase == Phase::Refine);
        if let (Some(cut), Some(fine)) = (last_cut, first_fine) {
            assert!(cut < fine, "no compound dust on what is finished");
        }
    }
    // The cheapest next one is never far off with a handful of groups: seen once, held since.
    assert!(worst < 2.0, "{worst}");
    // A tool keeps its pad: long, short, long again is two tool swaps and no pad swap.
    let g = |tool, kit| Group { tool, kit, phase: Phase::Cut };
    assert_eq!(swaps_of([g(0, 0), g(1, 1), g(0, 0)]), [(false, false), (true, false), (true, false)]);
    assert_eq!(swaps_of([g(0, 0), g(0, 2), g(0, 0)]), [(false, false), (false, true), (false, true)]);
}

#[test]
fn swaps_are_never_more_than_panel_by_panel() {
    for changes in [
        vec![],
        vec![("[0.3, -0.6, -0.1]", "[0.3, -2.6, -0.3]")],
        vec![("finish = \"correct_and_refine\"", "finish = \"correct\"")],
    ] {
        let p = plan(&with(&changes));
        assert!(p.order.time <= p.naive.time, "{:?} {:?}", p.order, p.naive);
        assert!(p.order.tool_swaps + p.order.pad_swaps <= p.naive.tool_swaps + p.naive.pad_swaps);
        let timed = p.trace.of(Minute::ToolSwap).s() + p.trace.of(Minute::PadSwap).s();
        assert!((timed - p.order.time.s()).abs() < 1e-9, "the trace holds every swap");
    }
}

#[test]
fn the_same_bits_for_any_number_of_threads() {
    let job = job(SMALL);
    let text =
        |threads| with_threads(threads, || serde_json::to_string(&vehicle_json(&job, &plan_of(&job), &[])).unwrap());
    let one = text(1);
    assert!(one.len() > 2000);
    assert_eq!(one, text(3));
}

#[test]
fn the_json_holds_the_contract_and_its_numbers_fit_together() {
    let job = job(SMALL);
    let p = plan_of(&job);
    let v = vehicle_json(&job, &p, &[]);
    let steps = v["steps"].as_array().unwrap();
    assert_eq!(steps.len(), p.steps.len());
    for s in steps {
        for key in [
            "step",
            "panel",
            "section",
            "tool",
            "pad",
            "product",
            "speed_setting",
            "orbit_rate_opm",
            "force_n",
            "hand_force_n",
            "passes",
            "time_s",
            "cut_um",
            "stall_number",
            "stalled_share",
            "remedies",
            "peak_paint_c",
            "pad_core_c",
            "budget_used_share",
            "binding_limit",
        ] {
            assert!(s.get(key).is_some(), "{key}");
        }
        assert!(s["section"].is_string() && s["panel"].is_string());
    }
    let sum: f64 = v["time_trace"].as_array().unwrap().iter().map(|e| e["time_s"].as_f64().unwrap()).sum();
    let total = v["totals"]["time_s"].as_f64().unwrap();
    assert!((sum - total).abs() < 1e-9 * total, "rounding of the sum");
    // A(8) by hand from the hours on each tool: √(Σ a² T / 8).
    let hours = v["tool_hours"].as_array().unwrap();
    let declared = |tool: &str| if tool == "long" { 4.0 } else { 5.0 };
    let dose: f64 = hours
        .iter()
        .map(|h| f64::powi(declared(h["tool"].as_str().unwrap()), 2) * h["by_day_h"][0].as_f64().unwrap())
        .sum();
    let a8 = v["totals"]["a8_m_s2"].as_f64().unwrap();
    assert!((a8 - (dose / 8.0).sqrt()).abs() < 1e-9, "{a8} {dose}");
    assert_eq!(v["totals"]["days"], 1);
    assert_eq!(v["uncorrectable"][0]["defect"], "a stone chip");
}

#[test]
fn chips_and_dents_never_get_a_pass() {
    let p = plan(&with(&[("defects = [\"swirl_marks\", \"stone_chip\"]", "defects = [\"stone_chip\", \"dent\"]")]));
    let lid = p.zones.iter().position(|z| z.panel_name == "lid").unwrap();
    assert!(p.zones[lid].steps.is_empty(), "nothing to polish on a panel of chips and dents");
    assert!(p.zones[lid].goal.is_none());
    let never: Vec<_> = p.uncorrectable.iter().filter(|u| u.never && u.panel == "lid").map(|u| u.defect).collect();
    assert_eq!(never.len(), 2, "{never:?}");
}

#[test]
fn a_day_that_is_too_short_becomes_days() {
    let times = ShopTimes { day: Time::from_min(100.0), set_up: Time::from_min(10.0), ..ShopTimes::default() };
    let mut trace = TimeTrace::new(&times);
    let work = |min: f64| [TraceEntry::new(Minute::Work, "x", Time::from_min(min))];
    trace.block(work(60.0));
    // 10 + 60 + 40 is more than 100: the next day, with its own setting up.
    trace.block(work(40.0));
    assert_eq!(trace.days(), 2);
    assert_eq!(trace.entries().iter().map(|e| e.day).collect::<Vec<_>>(), [0, 0, 1, 1]);
    // Ten minutes of setting up twice, 60 and 40 of work.
    assert!((trace.total().s() - 120.0 * 60.0).abs() < 1e-9, "sum of whole minutes");
    // A block longer than days runs on: 50 min left of day 2, then 90 a day.
    trace.block(work(200.0));
    assert_eq!(trace.days(), 5);
    let p = plan(&with(&[("name = \"small\"", "name = \"small\"\nday_hours = 0.75\nset_up_min = 5")]));
    assert!(p.trace.days() > 1, "{}", p.trace.days());
    for day in 0..p.trace.days() {
        let used: f64 = p.trace.entries().iter().filter(|e| e.day == day).map(|e| e.time_s).sum();
        let one_block = p.steps.iter().any(|s| s.time.s() > 0.75 * 3600.0 - 300.0);
        assert!(used <= 0.75 * 3600.0 + 1e-3 || one_block, "day {day}: {used}");
    }
}

#[test]
fn what_is_done_is_fixed_and_the_rest_is_planned_again() {
    let first = plan(SMALL);
    let lid = first.steps.iter().find(|s| s.zone == 0 && s.phase == Phase::Cut).unwrap();
    let taken = 2.0 * lid.time.s() / 60.0;
    let entry = |more: &str| format!("{SMALL}\n[[done]]\npanel = \"lid\"\nstep = \"cut\"\n{more}\n");
    // It took twice as long: the rest is timed at that pace.
    let slow = plan(&entry(&format!("time_min = {taken}")));
    assert!(!slow.steps.iter().any(|s| s.zone == 0 && s.phase == Phase::Cut), "not planned again");
    assert!(slow.steps.iter().any(|s| s.zone == 0 && s.phase == Phase::Refine), "still to be refined");
    assert!((slow.trace.of(Minute::Done).s() - 60.0 * taken).abs() < 1e-6, "the time it took, as given");
    let left: f64 = slow.steps.iter().map(|s| s.plan.time_s).sum();
    assert!((slow.trace.of(Minute::Work).s() - 2.0 * left).abs() < 1e-6 * left, "twice the time of the paths");
    assert!(slow.changes.iter().any(|c| c.contains("longer than planned")), "{:?}", slow.changes);
    // The film came in low: 6.6 µm are gone, and little is left for refining.
    let read = plan(&entry("before_um = 110\nreading_um = 103.4\nreading_uncertainty_um = 0.3"));
    let z = &read.zones[0];
    let removed = z.after.as_ref().unwrap().removed.mean * 1e6;
    assert!((6.5..8.0).contains(&removed), "the reading counts, and the refining: {removed}");
    assert!(z.over_probability <= 0.1 + 1e-12, "{}", z.over_probability);
    let refined =
        |p: &VehiclePlan| p.steps.iter().find(|s| s.zone == 0 && s.phase == Phase::Refine).map(|s| s.plan.passes);
    assert!(refined(&read) <= refined(&slow), "no more is left to refine with");
    assert!(read.changes.iter().any(|c| c.contains("6.6 µm less")), "{:?}", read.changes);
    // More is gone than may go: not one pass more, and it says so.
    let spent = plan(&entry("before_um = 110\nreading_um = 101\nreading_uncertainty_um = 0.3"));
    assert_eq!(refined(&spent), None);
    assert_eq!(spent.zones[0].binding.as_ref().map(|l| l.name), Some("paint_budget"));
    assert!(spent.zones[0].over_probability > 0.5 && !spent.zones[0].reaches);
    assert!(spent.changes.iter().any(|c| c.contains("left out now")), "{:?}", spent.changes);
    // Everything done: nothing is left to plan.
    let all = plan(&format!("{SMALL}\n[[done]]\npanel = \"lid\"\n[[done]]\npanel = \"wing\"\n"));
    assert!(all.steps.is_empty() && all.zones.iter().all(|z| !z.done.is_empty()));
}

#[test]
fn nothing_that_works_says_what_binds() {
    // Every tool's bearing too slack for any pad in a deep hollow.
    let p = plan(&with(&[
        ("breakaway_nm = 0.03, viscous_nms = 8.0e-5", "breakaway_nm = 0.0005, viscous_nms = 1.0e-7"),
        ("breakaway_nm = 0.015, viscous_nms = 4.0e-5", "breakaway_nm = 0.0003, viscous_nms = 1.0e-7"),
        ("[0.3, -0.6, -0.1]", "[0.3, -3.0, -1.0]"),
    ]));
    let z = p.zones.iter().find(|z| z.name == "hollow").unwrap();
    assert!(!z.reaches && z.steps.is_empty());
    assert_eq!(z.binding.as_ref().map(|l| l.name), Some("spin"));
    assert!(z.unmet[0].contains("every pad stalls"), "{:?}", z.unmet);
    assert!(!p.reaches());
}

/// What the reader says of a text.
fn refused(text: &str) -> String {
    match Job::parse("vehicle.toml", text) {
        Err(p) => p.to_string(),
        Ok(_) => panic!("accepted:\n{text}"),
    }
}

#[test]
fn bad_vehicles_are_told_in_plain_words() {
    let step = "[[step]]\nname = \"s\"\ntool = \"long\"\npad = \"cutting\"\nproduct = \"compound\"\npanel = \"lid\"\nforce_n = 35\nfeed_mm_s = 40\noverlap = 0.5\npasses = 2\npattern = \"raster\"\n";
    let empty = "schema = 1\n[vehicle]\nname = \"empty\"\n";
    for (text, words) in [
        (format!("{SMALL}{step}"), vec!["both a [vehicle] and [[step]]s", "not both"]),
        (empty.to_owned(), vec!["the job has no panel", "at least one [panel.NAME]"]),
        (with(&[("count = 8", "count = 0")]), vec!["count", "1 to 40"]),
        (
            with(&[
                ("pad_range_mm = [120.0, 150.0]", "pad_range_mm = [200, 220]"),
                ("pad_range_mm = [50.0, 90.0]", "pad_range_mm = [20, 40]"),
            ]),
            vec!["no pad at hand goes on any tool", "takes 200 to 220 mm", "130 mm"],
        ),
        (
            with(&[("[[0.7, 0.2, 0.3], [0.3, -0.6, -0.1]]", "[[0.7, 0.2, 0.3], [0.1, -0.6, -0.1]]")]),
            vec!["sum to 0.800", "sum to 1"],
        ),
        (with(&[("force_n = [20.0, 50.0]", "force_n = [50.0, 20.0]")]), vec!["force_n", "50 to 2000"]),
        (
            with(&[("name = \"small\"", "name = \"small\"\nday_hours = 1\nset_up_min = 90")]),
            vec!["set_up_min", "leaves nothing of a day"],
        ),
        (with(&[("name = \"small\"", "name = \"small\"\nconfidence = 1.0")]), vec!["confidence", "0.5 to 0.999"]),
        (format!("{SMALL}[[done]]\npanel = \"door\"\n"), vec!["there is no such panel", "lid, wing"]),
        (format!("{SMALL}[[done]]\npanel = \"wing\"\nzone = \"flat\"\n"), vec!["has no zone", "crown, hollow"]),
        (
            format!("{SMALL}[[done]]\npanel = \"lid\"\nbefore_um = 100\nreading_um = 120\n"),
            vec!["polishing does not add film", "at most 104.2"],
        ),
        (format!("{SMALL}[[done]]\npanel = \"lid\"\nreading_um = 100\n"), vec!["before_um", "no film readings"]),
        (format!("{SMALL}[[done]]\npanel = \"lid\"\n[[done]]\npanel = \"lid\"\nstep = \"cut\"\n"), vec!["done twice"]),
        (with(&[("[vehicle]\nname = \"small\"", "[vehicle]\nnam = \"small\"")]), vec!["nam", "did you mean `name`?"]),
    ] {
        let told = refused(&text);
        for word in words {
            assert!(told.contains(word), "lacks {word:?}:\n{told}");
        }
    }
    // A job of steps may not tell what is done, and its stray keys are told.
    let steps = format!(
        "{}{step}",
        with(&[(
            "[vehicle]\nname = \"small\"\nfinish = \"correct_and_refine\"\nforce_n = [20.0, 50.0]\nfeed_mm_s = [25.0, 60.0]\ncell_mm = 8.0\n",
            ""
        )])
    );
    let read = job(&steps);
    assert!(
        read.warnings.iter().any(|w| w.contains("pad.cutting.count") && w.contains("[vehicle] only")),
        "{:?}",
        read.warnings
    );
    assert!(refused(&format!("{steps}[[done]]\npanel = \"lid\"\n")).contains("has no [vehicle]"));
}

#[test]
fn a_test_spot_brings_its_own_settings() {
    let spot = "[[spot]]\nname = \"low_left\"\ntool = \"long\"\npad = \"cutting\"\nproduct = \"compound\"\npanel = \"lid\"\nforce_n = 35\nfeed_mm_s = 40\noverlap = 0.5\npasses = 4\npairs_um = [[118.0, 114.0], [121.0, 116.0]]\n";
    let read = job(&format!("{SMALL}{spot}"));
    assert_eq!((read.spots.len(), read.spot_steps.len()), (1, 1));
    assert_eq!(read.step("low_left").unwrap().pad_name, "cutting");
    assert!(
        refused(&format!("{SMALL}[[spot]]\nname = \"x\"\nswirls_left = \"few\"\n"))
            .contains("tool, pad, product, panel")
    );
}

#[test]
fn a_real_panel_is_surveyed_into_zones() {
    let p = plan(&with(&[(
        "shape = \"flat\"\nsize_mm = [1000.0, 700.0]\nincline_deg = 85.0\npaint = \"clear\"\ndefects = [\"swirl_marks\"]\nbands = [[0.7, 0.2, 0.3], [0.3, -0.6, -0.1]]",
        "shape = \"wheel_arch\"\nsize_mm = [900.0, 520.0]\nwheel_radius_mm = 330\nwheel_centre_mm = [450.0, -60.0]\nflare_hollow_per_m = 6.0\nflare_hollow_width_mm = 110\nflare_lip_per_m = 9.0\ngrid_mm = 5\nincline_deg = 85.0\npaint = \"clear\"\ndefects = [\"swirl_marks\"]",
    )]));
    let own: Vec<_> = p.zones.iter().filter(|z| z.panel_name == "wing").collect();
    // The flare is hollow along the arch's radius; what it is called depends on the other direction.
    let hollow = own.iter().any(|z| z.patch.mean() < -0.15);
    assert!(own.len() >= 2 && hollow, "{:?}", own.iter().map(|z| &z.name).collect::<Vec<_>>());
    let area: f64 = own.iter().map(|z| z.area.m2()).sum();
    // Less than the rectangle: the wheel's opening is cut out of it, and the shares sum to the rest.
    assert!((0.25..0.46).contains(&area), "{area}");
}

/// A job in a folder of its own with files beside it.
fn folder_with(name: &str, files: &[(&str, &str)]) -> std::path::PathBuf {
    let folder = std::path::Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
    std::fs::create_dir_all(&folder).unwrap();
    for (file, text) in files {
        std::fs::write(folder.join(file), text).unwrap();
    }
    folder
}

#[test]
fn readings_that_contradict_each_other_are_refused() {
    let head = "panel,value_um,kind,uncertainty_um,substrate,layer\n";
    let lines = |clear: u32, total: u32| {
        format!(
            "{head}lid,{clear},ultrasonic,1,steel,clear\nlid,{clear},ultrasonic,1,steel,clear\nlid,{total},magnetic,1,steel,total\nlid,{total},magnetic,1,steel,total\n"
        )
    };
    let text = with(&[("target_correction = 0.9", "target_correction = 0.9\nreadings_file = \"film.csv\"")]);
    let told = |clear, total| {
        let folder = folder_with(&format!("vehicle-film-{clear}-{total}"), &[("film.csv", &lines(clear, total))]);
        Job::parse_in("vehicle.toml", &text, Some(&folder)).map(|_| ()).map_err(|p| p.to_string())
    };
    assert_eq!(told(45, 120), Ok(()));
    let refused = told(160, 90).unwrap_err();
    assert!(refused.contains("contradict each other: 160 µm of clear coat in 90 µm of film"), "{refused}");
}

#[test]
fn the_command_plans_reports_and_plans_again() {
    use std::process::Command;
    let folder = folder_with(
        "vehicle-cli",
        &[
            ("small.toml", SMALL),
            ("done.toml", "schema = 1\n[[done]]\npanel = \"lid\"\nstep = \"cut\"\ntime_min = 30\n"),
            ("wrong.toml", "schema = 1\n[vehicle]\n"),
            ("evil.toml", &with(&[("name = \"small\"", "name = \"<script>alert(1)</script>&\"")])),
        ],
    );
    let run = |arguments: &[&str]| {
        let out = Command::new(env!("CARGO_BIN_EXE_trochoid")).current_dir(&folder).args(arguments).output().unwrap();
        (out.status.code(), String::from_utf8(out.stdout).unwrap(), String::from_utf8(out.stderr).unwrap())
    };
    let (code, text, error) = run(&["plan", "evil.toml", "--out", "report"]);
    assert_eq!(code, Some(0), "{error}");
    assert!(text.contains("cut with `long`") && text.contains("minutes") && text.contains("A(8)"), "{text}");
    let report = std::fs::read_to_string(folder.join("report/report.html")).unwrap();
    assert!(
        report.contains("&lt;script&gt;alert(1)&lt;/script&gt;&amp;") && !report.contains("<script>alert"),
        "escaped"
    );
    for part in ["Order of work", "Job cards", "Where every minute comes from", "Shopping list", "Cautions"] {
        assert!(report.contains(part), "{part}");
    }
    assert_eq!(report.matches("<script>").count(), 1, "our own");
    assert!(!report.contains("http://") && !report.contains("https://"), "nothing from outside");
    for file in ["plan.json", "plan.txt", "time-trace.csv"] {
        assert!(folder.join("report").join(file).exists(), "{file}");
    }
    let (code, text, error) = run(&["plan", "small.toml", "--done", "done.toml", "--json"]);
    assert_eq!(code, Some(0), "{error}");
    let json: serde_json::Value = serde_json::from_str(&text).unwrap();
    assert!(!json["changes"].as_array().unwrap().is_empty());
    let (code, _, error) = run(&["plan", "small.toml", "--done", "wrong.toml"]);
    assert_eq!(code, Some(2), "{error}");
    assert!(error.contains("does not belong into a file of what was done"), "{error}");
    let (code, _, error) = run(&["state", "small.toml"]);
    assert_eq!(code, Some(2));
    assert!(error.contains("plans a [vehicle]"), "{error}");
    let (code, text, _) = run(&["check", "small.toml"]);
    assert_eq!(code, Some(0));
    for key in ["vehicle.confidence", "vehicle.wipe_s_per_section", "pad.small.count", "panel.lid.masking_m"] {
        assert!(text.contains(key), "{key} is not listed");
    }
}
