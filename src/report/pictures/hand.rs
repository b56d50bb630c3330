//! Pictures of a hand that varies: percentiles of the cut, the chance of going over, which habit matters.

use crate::plan::{HandVariability, Spread};
use crate::plot::{Axis, Bar, BarChart, ColourMap, ColourScale, FieldMap, Figure, Page, PlotError, RectangleOverlay};
use crate::spin::Setup;

use super::settings_line;

fn map(v: &HandVariability, title: &str, values: Vec<f64>, colour: ColourScale) -> FieldMap {
    let (nx, ny) = v.grid.count();
    let (dx, dy) = v.grid.cell();
    FieldMap {
        title: title.into(),
        columns: nx,
        rows: ny,
        values,
        x_range: (0.0, 1e3 * dx * nx as f64),
        y_range: (0.0, 1e3 * dy * ny as f64),
        colour,
        ..FieldMap::default()
    }
}

fn range_words(s: &Spread, factor: f64, unit: &str) -> String {
    format!("{:.2}{unit} ({:.2} to {:.2})", factor * s.over.mean, factor * s.over.p5, factor * s.over.p95)
}

/// Cut at the 5th, 50th and 95th percentile of the trials in one colour scale, and, where it is known what
/// may go, the chance of taking more at each place.
///
/// Cuts in µm, chances in %. The hand is that of the example of [`hand_csv`](crate::report::hand_csv).
#[must_use]
pub fn percentile_page(setup: &Setup, v: &HandVariability, title: &str) -> Page {
    let um = |field: &[f64]| field.iter().map(|c| 1e6 * c).collect::<Vec<f64>>();
    let most = v.p95.iter().fold(0.0_f64, |a, b| a.max(1e6 * b));
    let scale =
        |range| ColourScale { title: "cut [µm]".into(), map: ColourMap::Viridis, range, ..ColourScale::default() };
    let one = Some((0.0, most));
    let mut panels = vec![
        map(v, "5 in 100 trials cut less", um(&v.p5), scale(one)),
        map(v, "Median of the trials", um(&v.p50), scale(one)),
        map(v, "5 in 100 trials cut more", um(&v.p95), scale(one)),
    ];
    if let Some(b) = &v.beyond {
        let chance: Vec<f64> = b.at_cell.iter().map(|p| 100.0 * p).collect();
        // A bar to a hundred would hide a few in a hundred.
        let highest = chance.iter().fold(1.0_f64, |a, b| a.max(*b));
        let colour = ColourScale {
            title: "over the budget [% of trials]".into(),
            map: ColourMap::Cividis,
            range: Some((0.0, highest)),
            ..ColourScale::default()
        };
        panels.push(map(v, "Where the hand goes over the budget", chance, colour));
    } else {
        let wide = v.p95.iter().zip(&v.p5).map(|(a, b)| 1e6 * (a - b)).collect();
        let colour =
            ColourScale { title: "95th less 5th [µm]".into(), map: ColourMap::Cividis, ..ColourScale::default() };
        panels.push(map(v, "How far a place strays", wide, colour));
    }
    let budget = v.beyond.as_ref().map_or(String::new(), |b| {
        let (low, high) = b.allowed.iter().fold((f64::INFINITY, 0.0_f64), |(l, h), a| (l.min(1e6 * a), h.max(1e6 * a)));
        let allowed = if high - low < 1e-6 { format!("{low:.1} µm") } else { format!("{low:.1} to {high:.1} µm") };
        format!(" May go: {allowed}; over it somewhere in {:.0} of 100 trials.", 100.0 * b.anywhere)
    });
    let inset = 1e3 * (setup.pad().radius() + setup.face_orbit().radius_m);
    for p in &mut panels {
        if 2.0 * inset < p.x_range.1.min(p.y_range.1) {
            p.rectangles = vec![RectangleOverlay {
                label: "worked area".into(),
                x: (inset, p.x_range.1 - inset),
                y: (inset, p.y_range.1 - inset),
            }];
        }
    }
    Page {
        title: title.into(),
        caption: format!(
            "{} trials, {}; mean cut {}, spread within a panel {}.{budget} {}.",
            v.replicates,
            scatter_line(v),
            range_words(&v.ensemble.mean, 1e6, " µm"),
            range_words(&v.ensemble.cv, 100.0, " %"),
            settings_line(setup)
        ),
        shared_legend: true,
        panels: panels.into_iter().map(Into::into).collect(),
        ..Page::default()
    }
}

fn scatter_line(v: &HandVariability) -> String {
    let parts: Vec<String> =
        crate::plan::Habit::ALL.iter().map(|h| format!("{} {}", h.name(), v.hand.in_words(*h))).collect();
    format!("scatter (one sd): {}, lasting {:.1} s", parts.join(", "), v.hand.correlation().s())
}

/// How far the cut at a place strays with one habit alone, the largest first, then with all together and with
/// half the scatter.
///
/// Stray as standard deviation \[% of the cut\]. The hand is that of the example of [`hand_csv`](crate::report::hand_csv).
#[must_use]
pub fn tornado_chart(setup: &Setup, v: &HandVariability, title: &str) -> BarChart {
    let bar = |label: String, stray: f64, note: String, style: usize| Bar {
        label,
        value: round(100.0 * stray),
        note,
        style,
        ..Bar::default()
    };
    // Independent habits add their variances; what all together have beyond the sum is the second order.
    let sum: f64 = v.habits.iter().map(|h| h.alone.local_rel_sd * h.alone.local_rel_sd).sum();
    let one = |h: &crate::plan::HabitShare| {
        let share = if sum > 0.0 { h.alone.local_rel_sd * h.alone.local_rel_sd / sum } else { 0.0 };
        let label = format!("{}, {}", h.habit.name(), v.hand.in_words(h.habit));
        bar(label, h.alone.local_rel_sd, format!("% ({:.0} % of the variance)", 100.0 * share), 0)
    };
    let mut bars: Vec<Bar> = v.habits.iter().map(one).collect();
    bars.push(bar("all together".into(), v.steadier.now.local_rel_sd, "%".into(), 1));
    bars.push(bar("all, half the scatter".into(), v.steadier.steadier.local_rel_sd, "%".into(), 2));
    BarChart {
        title: title.into(),
        caption: format!(
            "One habit alone, every other perfectly steady; RMS over the worked area of the standard deviation at a place. {}.",
            settings_line(setup)
        ),
        axis: Axis::linear("stray at a place [% of mean]"),
        bars,
        ..BarChart::default()
    }
}

/// Two decimals are all that a few hundred trials give.
fn round(value: f64) -> f64 {
    (100.0 * value).round() / 100.0
}

/// The pictures of a step's hand for a narrow screen, in the order of [`hand_pictures`].
///
/// See the example of [`hand_csv`](crate::report::hand_csv) for where the hand comes from.
///
/// # Errors
/// As there.
pub fn narrow_hand_pictures(
    stem: &str,
    step: &str,
    setup: &Setup,
    v: &HandVariability,
) -> Result<Vec<(String, Figure)>, PlotError> {
    let width = crate::report::NARROW_WIDTH;
    let page = percentile_page(setup, v, &format!("Cut by a hand that varies: {step}"));
    let mut out = vec![(format!("{stem}-hand"), Page { columns: 1, width, ..page }.figure()?)];
    if !v.habits.is_empty() {
        let chart = tornado_chart(setup, v, &format!("Which habit matters most: {step}"));
        out.push((format!("{stem}-habits"), BarChart { width, ..chart }.figure()?));
    }
    Ok(out)
}

/// The pictures of a step's hand by file stem.
///
/// [`percentile_page`] and [`tornado_chart`] under `-hand` and `-habits` after `stem`; the hand is that of the
/// example of [`hand_csv`](crate::report::hand_csv).
///
/// # Errors
/// [`PlotError`] from either of them; the tornado is left out where nothing scatters.
pub fn hand_pictures(
    stem: &str,
    step: &str,
    setup: &Setup,
    v: &HandVariability,
) -> Result<Vec<(String, Figure)>, PlotError> {
    let page = percentile_page(setup, v, &format!("Cut by a hand that varies: {step}"));
    let mut out = vec![(format!("{stem}-hand"), page.figure()?)];
    if !v.habits.is_empty() {
        let chart = tornado_chart(setup, v, &format!("Which habit matters most: {step}"));
        out.push((format!("{stem}-habits"), chart.figure()?));
    }
    Ok(out)
}
