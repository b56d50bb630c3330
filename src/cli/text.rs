//! Results in words, for a person at a terminal.

use std::fmt::Write as _;
use trochoid::AngularRate;
use trochoid::job::{PadsInRotation, PanelPaint, Step};
use trochoid::plan::{OperatingState, StepHeat, StepPlan, SurfaceWork, ZoneKind};
use trochoid::report::{
    CUT_INTERVAL, CUT_WHERE_STALLED, advice_words, clear_coat_warning, coupling_words, cut_hides_marks, drops_words,
    limit_name_words, limit_words, phase_words, throw_gain_words, verdict_words,
};
use trochoid::spin::Remedy;
use trochoid::wear::RotationOutcome;

fn rpm(rad_s: f64) -> f64 {
    AngularRate::from_rad_s(rad_s).rpm()
}

/// Words of the report with the plain blanks and signs of a terminal.
pub(crate) fn plain(words: &str) -> String {
    words.replace('\u{a0}', " ").replace('−', "-")
}

/// Two decimals where they mean something.
pub(crate) fn curvature(k: f64) -> String {
    let gap = trochoid::report::ruler_words(k).map_or(String::new(), |w| format!(", {w}"));
    format!("{k:.3} per metre (radius {:.0} mm{gap})", 1e3 / k.abs())
}

/// What the hand does for a force on the face, in brackets.
fn by_hand(n: f64, decimals: usize) -> String {
    if n < 0.0 {
        format!(" (carry {:.decimals$} N of the tool's weight)", -n)
    } else {
        format!(" ({n:.decimals$} N by hand)")
    }
}

/// Remedies as a list.
pub(crate) fn remedies(out: &mut String, list: &[Remedy]) {
    for r in list.iter().filter(|r| r.value.is_some()) {
        let _ = writeln!(out, "    - {}: {}", r.kind.name().replace('_', " "), r.reason);
    }
    let without: Vec<_> = list.iter().filter(|r| r.value.is_none()).collect();
    if !without.is_empty() {
        let _ = writeln!(out, "    no help here:");
        for r in without {
            let _ = writeln!(out, "    - {}: {}", r.kind.name().replace('_', " "), r.reason);
        }
    }
}

/// What a face that sticks means.
pub(crate) const STICKS: &str =
    "the face sticks: the pad only kneads and cuts nothing; less force, a thinner or stiffer pad";

/// How the pad turns, in one line.
pub(crate) fn spin_line(s: &OperatingState) -> String {
    if s.run.sticks {
        return STICKS.to_owned();
    }
    if s.limits_range.is_none() {
        return format!("{:.0} rpm, driven", rpm(s.run.spin));
    }
    let word = if s.reverses {
        "turns backwards (a prediction, not yet seen in published data)"
    } else if s.stalled {
        "STALLS"
    } else {
        "turns"
    };
    format!(
        "{word}: {:.0} rpm ({:.0} to {:.0} for the range of the bearing drag), useful from {:.0}",
        rpm(s.run.spin),
        rpm(s.spin_range.0),
        rpm(s.spin_range.1),
        rpm(s.useful_spin)
    )
}

/// Where the stall limit lies, in one line.
pub(crate) fn stall_line(s: &OperatingState, patch: &trochoid::panel::Patch) -> Option<String> {
    s.limits_range?;
    if s.limits.stalled_on_flat {
        return Some("stalls on a flat panel already".to_owned());
    }
    if let (Some(number), Some(k)) = (s.limits.stall_number(), s.limits.along_panel_per_m(patch)) {
        let again =
            s.limits.along_panel.and_then(|c| c.second).map_or(String::new(), |t| {
                format!("; beyond {t:.2} times this panel it turns again, nearly free: beware")
            });
        return Some(format!("stall number {number:.2}: it stalls at {}{again}", curvature(k)));
    }
    s.limits.sphere.map(|c| format!("on a sphere it would stall at {}", curvature(c.at)))
}

/// The state of a step.
pub(crate) fn state(out: &mut String, step: &Step, s: &OperatingState) {
    let c = &s.run.contact;
    let _ = writeln!(out, "step `{}` on `{}`", step.name, step.panel_name);
    let hand = step.hand_force_n.map_or(String::new(), |h| by_hand(h, 1));
    let _ = writeln!(out, "  force    {:.1} N on the face{hand}", step.setup.force().n());
    let centre = c.centre_pressure_pa.map_or(String::new(), |p| format!(", centre {:.2}", p / 1e3));
    let _ = writeln!(
        out,
        "  contact  mean {:.2} kPa, peak {:.2}{centre}; {:.0} % of the pad touches; pressed in {:.1} of {:.1} mm",
        c.mean_pressure_pa / 1e3,
        c.peak_pressure_pa / 1e3,
        100.0 * c.contact_share,
        1e3 * c.compression_m.0,
        1e3 * c.compression_m.1
    );
    let _ = writeln!(out, "  spin     {}", spin_line(s));
    if let Some(line) = stall_line(s, step.setup.patch()) {
        let _ = writeln!(out, "           {line}");
    }
    if let Some(t) = s.settling_time_s {
        let _ = writeln!(out, "           settles {t:.2} s after landing from free spin (within 2 % of its spin)");
    }
    let gain = throw_gain_words(s).map_or(String::new(), |g| format!(" ({})", plain(&g)));
    let _ = writeln!(
        out,
        "  motion   throw at the face {:.2} mm{gain}; orbit {:.2} m/s, mean over the pad {:.2} m/s",
        2e3 * s.run.face_orbit_m,
        s.orbit_speed_m_s,
        s.pad_mean_speed_m_s
    );
    if let Some(ratio) = s.heave_ratio.filter(|r| *r > 0.1) {
        let _ = writeln!(
            out,
            "           heave is not quite constant over an orbit: stiffness/(mass x rate^2) = {ratio:.2}"
        );
    }
    let _ = writeln!(
        out,
        "  removal  {:.2} mm³/s, {:.2} µm a pass on average",
        s.volume_rate_m3_s * 1e9,
        s.cut_per_pass_m * 1e6
    );
    if cut_hides_marks(s) {
        let _ = writeln!(out, "           {CUT_WHERE_STALLED}");
    }
    let _ = writeln!(out, "  power    friction {:.0} W, shaft torque {:.3} N·m", s.friction_w, s.orbit_torque_nm);
    if !s.remedies.is_empty() {
        let _ = writeln!(out, "  remedies, in the order to try them, each solved again for the bearing as given:");
        remedies(out, &s.remedies);
    }
}

/// Pass lines that leave a strip between them.
pub(crate) fn gap(gap_m: f64) -> String {
    format!(
        "the pass lines leave strips of {:.1} mm between them that the pad never touches; take more overlap or a smaller spacing",
        1e3 * gap_m
    )
}

/// A place in plan, mm.
fn place(at: (f64, f64)) -> String {
    format!("x {:.0} mm, y {:.0} mm", 1e3 * at.0, 1e3 * at.1)
}

/// Heat, product and pad of a step.
pub(crate) fn heat(out: &mut String, h: &StepHeat) {
    let rest = match h.rest {
        Some(t) if t.s() > 0.0 => format!("; rest {} before doing it again", minutes(t.s())),
        Some(_) => String::new(),
        None => "; no rest is long enough to do it again below the limit".to_owned(),
    };
    let _ = writeln!(
        out,
        "  heat     paint up to {:.0} °C at {}{rest}; pad core {}",
        h.peak.surface.c(),
        place(h.peak.at_m),
        if h.sections == 1 {
            format!("{:.0} °C", h.core_after_section.c())
        } else {
            format!(
                "{:.0} °C after one section, {:.0} °C after all {} without a rest",
                h.core_after_section.c(),
                h.core_without_rest.c(),
                h.sections
            )
        }
    );
    let lasts = h.working_time.map_or("it does not dry".to_owned(), |t| format!("workable for {}", minutes(t.s())));
    let dry = h.dry_out.map_or(String::new(), |p| format!("; IT DRIES OUT in pass {}", p + 1));
    let _ = writeln!(
        out,
        "  product  {} ({} a section): {lasts}{dry}",
        drops_words(h.drops, h.sections),
        minutes(h.section_time.s())
    );
}

/// The pads of a job.
pub(crate) fn pads(out: &mut String, r: &PadsInRotation) {
    match &r.outcome {
        RotationOutcome::Enough(found) => {
            for ((name, product), (n, kind)) in r.kinds.iter().zip(found.pads.iter().zip(&r.job.kinds)) {
                let every = if kind.policy.turn == 1 {
                    "every section".to_owned()
                } else {
                    format!("every {} sections", kind.policy.turn)
                };
                let _ = writeln!(out, "pads     {n} x `{name}` with `{product}`, cleaned {every}");
            }
        }
        RotationOutcome::Short(short) => {
            let (name, product) = &r.kinds[short.binds.kind];
            let _ = writeln!(
                out,
                "pads     no number of `{name}` with `{product}` suffices: {} {:.2} where {:.2} may be{}",
                short.binds.limit.name(),
                short.binds.value,
                short.binds.allowed,
                if short.fresh_pad_fails { ", for a fresh pad too: smaller sections or less force" } else { "" }
            );
        }
    }
    if let Some(product) = r.product() {
        let _ = writeln!(out, "product  {:.0} ml in all, priming included", product.ml());
    }
}

/// The paint of a panel after its steps.
pub(crate) fn paint(out: &mut String, p: &PanelPaint, steps: &[Step]) {
    let allowed = &p.account.allowance;
    let _ = writeln!(
        out,
        "paint of `{}`: clear coat {:.0} ± {:.0} µm; {:.1} µm may go ({:.1} to {:.1})",
        p.panel,
        1e6 * p.clear.mean_m(),
        1.645 * 1e6 * p.clear.sd_m(),
        1e6 * allowed.allowed.best,
        1e6 * allowed.allowed.low,
        1e6 * allowed.allowed.high
    );
    if let Some(film) = &p.film {
        for flag in &film.flags {
            let _ = writeln!(out, "  film     {}", plain(&flag.words()));
        }
    }
    if let Some(a) = p.account.steps.last() {
        let share = if a.used_share.is_finite() {
            format!("{:.0} % of it", 100.0 * a.used_share)
        } else {
            "nothing may go".to_owned()
        };
        let _ = writeln!(
            out,
            "  budget   all steps take {:.2} µm ({:.2} to {:.2}), {share}; beyond it with a chance of {:.1} %",
            1e6 * a.removed.mean,
            1e6 * a.removed.low,
            1e6 * a.removed.high,
            100.0 * a.over_probability
        );
        if let Some(left) = a.jobs_left {
            let _ = writeln!(out, "           after this job {}", left.words());
        }
        for d in &a.defects {
            let (best, low, high) = &d.correction;
            let _ = writeln!(
                out,
                "  defects  {}: {:.0} % corrected to the eye ({:.0} to {:.0}), {:.0} % still to be seen; {}",
                d.defect.name(),
                100.0 * best.optical,
                100.0 * low.optical,
                100.0 * high.optical,
                100.0 * best.still_seen,
                plain(&advice_words(&d.deepest))
            );
        }
        if let Some(l) = &a.look {
            let gloss = l.gloss[0].as_ref().map_or(String::new(), |g| {
                format!(", gloss at 20 degrees {:.0} ({:.0} to {:.0})", g.units.best, g.units.low, g.units.high)
            });
            let _ = writeln!(
                out,
                "  finish   roughness {:.0} nm ({:.0} to {:.0}){gloss}; {}",
                1e9 * l.roughness_m.best,
                1e9 * l.roughness_m.low,
                1e9 * l.roughness_m.high,
                verdict_words(l.decision.verdict)
            );
        }
    }
    if let Some(share) = p.over_area_share.filter(|s| *s > 0.0) {
        let _ = writeln!(
            out,
            "  EDGES    on {:.1} % of the area the steps take more than the thinner film there may give: fewer passes there, or tape",
            100.0 * share
        );
    }
    if let Some(e) = &p.edges {
        let _ = writeln!(out, "  edges    {}", e.words(p.steps.iter().map(|i| steps[*i].name.as_str())));
    }
    if let Some(f) = &p.fewest {
        let goal =
            format!("{:.0} % of the {} gone to the eye, no haze, within the budget", 100.0 * f.target, f.defect.name());
        if f.steps.is_empty() {
            let _ = writeln!(out, "  fewest   no choice of these steps reaches it ({goal}): {}", f.why_none.join("; "));
        } else {
            let list: Vec<String> = f
                .steps
                .iter()
                .zip(&f.edge_passes)
                .map(|((s, n), edge)| format!("`{s}` x {n} (along edges and lines {edge})"))
                .collect();
            let _ = writeln!(out, "  fewest   {} ({goal}): {:.1} µm", list.join(", then "), 1e6 * f.cut_m);
        }
    }
    for (what, why) in &p.account.not_by_polishing {
        let _ = writeln!(out, "  NOT BY POLISHING  {what}: {why}");
    }
    for caution in &allowed.cautions {
        let _ = writeln!(out, "           {}", plain(caution));
    }
}

/// What is peculiar to a real panel: edges, coverage, zones with what to change, sections.
pub(crate) fn surface(out: &mut String, w: &SurfaceWork) {
    let _ = writeln!(
        out,
        "  panel    {:.3} m² to work; the passes touch {:.1} % of it, {} turns, {} lifts; pad centre {:.0} mm from edges and tape",
        w.report.workable_area,
        100.0 * w.map.covered_share(),
        w.report.turns,
        w.report.lifts,
        1e3 * w.inset_m
    );
    if let Some(r) = w.report.revisits {
        let _ = writeln!(
            out,
            "           a place is worked again after {:.0} s (median), {:.0} s at the longest",
            r.median, r.longest
        );
    }
    let stalled = w.map.stalled_share();
    if stalled > 0.0 {
        let _ = writeln!(out, "           the pad is below its useful spin for {:.1} % of the time", 100.0 * stalled);
    }
    for (i, z) in w.zones.zones.iter().enumerate().filter(|(_, z)| z.kind != ZoneKind::Flat) {
        let spin =
            z.least_spin.map_or("the pad cannot be put down".to_owned(), |s| format!("down to {:.0} rpm", rpm(s)));
        let _ = writeln!(
            out,
            "  zone {:<3} {}: worst at {}, {spin}, up to {:.1} kPa",
            i + 1,
            z.kind.name().replace('_', " "),
            place(z.worst_at),
            z.peak_pressure_pa / 1e3
        );
        match z.change() {
            Some(c) => {
                let _ = writeln!(out, "           {}: {}", c.kind.name().replace('_', " "), plain(&c.reason));
            }
            None => {
                let _ = writeln!(out, "           nothing that was tried helps here");
            }
        }
        if let Some(c) = w.checks.iter().find(|c| c.zone == i) {
            if c.peak_pressure_pa.1 <= 0.0 {
                let _ = writeln!(out, "           worked again with it: the pad centre no longer comes there");
                continue;
            }
            let _ = writeln!(
                out,
                "           worked again with it: stalled {:.0} % of the time there (before {:.0} %), up to {:.1} kPa (before {:.1}){}",
                100.0 * c.stalled_share.1,
                100.0 * c.stalled_share.0,
                c.peak_pressure_pa.1 / 1e3,
                c.peak_pressure_pa.0 / 1e3,
                if c.helps { "" } else { "; NOT enough in the map" }
            );
        }
    }
    for s in &w.sections {
        let cut = s.cut.map_or("nothing worked".to_owned(), |c| format!("cut {:.2} µm on average", 1e6 * c.mean));
        let _ = writeln!(
            out,
            "  section {:<2} {:.3} m², {}, {cut}",
            s.section.number(),
            s.section.area(),
            minutes(s.time_s)
        );
    }
}

/// Minutes and seconds.
pub(crate) fn minutes(seconds: f64) -> String {
    let whole = seconds.round();
    format!("{:.0} min {:02.0} s", (whole / 60.0).floor(), whole % 60.0)
}

/// The phases of a step, and which of them its state is that of.
fn phases(out: &mut String, p: &StepPlan) {
    for phase in &p.phases {
        let _ = writeln!(out, "  phase    `{}`: {}", phase.name, plain(&phase_words(phase)));
    }
    if let Some(main) = p.main_phase() {
        let _ = writeln!(out, "           settings above and state below are those of `{}`, the longest", main.name);
    }
}

/// What the couplings of a step come to.
fn couplings(out: &mut String, p: &StepPlan) {
    for (i, line) in p.coupling.iter().flat_map(coupling_words).enumerate() {
        let _ = writeln!(out, "  {:8} {}", if i == 0 { "coupled" } else { "" }, plain(&line));
    }
}

/// A planned step.
pub(crate) fn planned(out: &mut String, step: &Step, p: &StepPlan) {
    let told = step.told(p);
    let setting = told.speed_setting.map_or(String::new(), |s| format!(" (setting {s:.1})"));
    let rate = if told.rate.opm() > 0.0 {
        format!("{:.0} orbits/min{setting}", told.rate.opm())
    } else {
        format!("{:.0} rpm", rpm(p.state.run.spin))
    };
    let _ = writeln!(
        out,
        "step `{}`: {} + {} + {} on `{}`",
        step.name, step.tool_name, step.pad_name, step.product_name, step.panel_name
    );
    let hand = told.hand_force_n.map_or(String::new(), |h| by_hand(h, 0));
    let _ = writeln!(
        out,
        "  set      {rate}, {:.0} N on the face{hand}, {:.0} mm/s, overlap {:.0} %, {} passes {}",
        told.force.n(),
        told.feed.mm_s(),
        100.0 * step.overlap,
        p.passes,
        step.pattern_name
    );
    phases(out, p);
    let _ = writeln!(out, "  spin     {}", spin_line(&p.state));
    if let Some(line) = stall_line(&p.state, p.setup.patch()) {
        let _ = writeln!(out, "           {line}");
    }
    if let Some(at) = p.told_at {
        let _ = writeln!(out, "           told for its slowest place, {}", place(at));
    }
    if let Some(gain) = throw_gain_words(&p.state) {
        let throw = 2e3 * p.state.run.face_orbit_m;
        let _ = writeln!(out, "  throw    {throw:.2} mm at the face; {}", plain(&gain));
    }
    match (&p.cut, p.work.cut().and_then(|c| c.cv())) {
        (Some(c), cv) => {
            let _ = writeln!(
                out,
                "  cut      {:.2} µm on average ({:.2} to {:.2}, {}), spread over the panel {:.0} %",
                1e6 * c.mean,
                1e6 * c.low,
                1e6 * c.high,
                plain(CUT_INTERVAL),
                100.0 * cv.unwrap_or(0.0)
            );
        }
        (None, _) => {
            let _ = writeln!(
                out,
                "  cut      the pad is too large for the panel to leave a worked area inside its rim; {:.3} µm a pass",
                1e6 * p.state.cut_per_pass_m
            );
        }
    }
    if cut_hides_marks(&p.state) {
        let _ = writeln!(out, "           {CUT_WHERE_STALLED}");
    }
    if let Some(warning) = clear_coat_warning(step, p) {
        let _ = writeln!(out, "           BEYOND A LIMIT: {}", plain(&warning));
    }
    if p.work.gap_m() > 0.0 {
        let _ = writeln!(out, "           {}", gap(p.work.gap_m()));
    }
    if let Some(w) = p.work.surface() {
        surface(out, w);
    }
    if p.target_out_of_reach {
        let _ = writeln!(out, "           the target cut is out of reach with these settings");
    }
    let _ = writeln!(out, "  time     {} with the pad on", minutes(p.time_s));
    if let Some(l) = p.limits.first() {
        let (_, numbers, margin) = limit_words(l);
        let _ = writeln!(out, "  binds    {}", plain(&format!("{}: {numbers}, {margin}", limit_name_words(p, l))));
    }
    couplings(out, p);
    if !p.state.remedies.is_empty() {
        let _ = writeln!(out, "  change   in the order to try, each solved again for the bearing as given:");
        remedies(out, &p.state.remedies);
    }
    let main = p.main_phase().map(|m| &m.name);
    for phase in p.phases.iter().filter(|f| Some(&f.name) != main && !f.state.remedies.is_empty()) {
        let _ = writeln!(out, "  change   in phase `{}`:", phase.name);
        remedies(out, &phase.state.remedies);
    }
}
