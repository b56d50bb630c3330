//! Tests of the pictures of real panels: masks, overlays, views, accounts, timelines.
//! The checks that hold for every picture are in `tests`, which takes this gallery in.

#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a test may stop at the first surprise")]

use super::canvas::Item;
use super::tests::{grid, text_boxes};
use super::*;

/// An L of 900 by 700 mm with a hole, in a map of 92 x 72 cells of 10 mm with a margin.
fn loops() -> Vec<Vec<(f64, f64)>> {
    let hole = (0..40).map(|i| {
        let (s, c) = (std::f64::consts::TAU * f64::from(i) / 40.0).sin_cos();
        (200.0 + 70.0 * c, 480.0 + 70.0 * s)
    });
    vec![vec![(0.0, 0.0), (900.0, 0.0), (900.0, 350.0), (400.0, 350.0), (400.0, 700.0), (0.0, 700.0)], hole.collect()]
}

fn on_panel(x: f64, y: f64) -> bool {
    let outer = (0.0..900.0).contains(&x) && (0.0..700.0).contains(&y) && (x < 400.0 || y < 350.0);
    outer && (x - 200.0).hypot(y - 480.0) > 70.0
}

fn masked() -> FieldMap {
    let square = |x: f64, y: f64, w: f64, h: f64| vec![vec![(x, y), (x + w, y), (x + w, y + h), (x, y + h)]];
    let section = |n: &str, x: f64, y: f64| {
        LineOverlay::loops(LineKind::Section, "section", square(x, y, 380.0, 330.0)).numbered(n)
    };
    FieldMap {
        title: "Stall number".into(),
        caption: "Made-up numbers.".into(),
        columns: 92,
        rows: 72,
        values: grid(92, 72, |u, v| {
            let (x, y) = (920.0 * u - 10.0, 720.0 * v - 10.0);
            let hollow = (-((x - 620.0) / 200.0).powi(2) - ((y - 170.0) / 140.0).powi(2)).exp();
            if on_panel(x, y) { 0.3 + 1.1 * hollow } else { f64::NAN }
        }),
        x_range: (-10.0, 910.0),
        y_range: (-10.0, 710.0),
        colour: ColourScale {
            title: "stall number [1]".into(),
            map: ColourMap::Diverging,
            centre: Some((1.0, "stalls".into())),
            sides: Sides::Own,
            ..ColourScale::default()
        },
        contours: Contours::About(6),
        missing: Missing::Paper,
        bold: Some(BoldLevel { at: 1.0, label: "stall line, S = 1".into() }),
        lines: vec![
            LineOverlay::loops(LineKind::Edge, "edge of the panel", loops()),
            section("1", 10.0, 10.0),
            section("2", 430.0, 10.0),
            section("3", 10.0, 350.0),
            LineOverlay::loops(LineKind::Tape, "tape", square(820.0, 0.0, 80.0, 350.0)),
            LineOverlay::loops(LineKind::Zone, "thin film", square(300.0, 300.0, 90.0, 100.0)),
            LineOverlay::lines(LineKind::Pass, "pass lines", vec![vec![(460.0, 40.0), (800.0, 40.0)]]),
        ],
        ..FieldMap::default()
    }
}

fn multiples() -> Page {
    let panels = [0.5, 1.0, 2.0, 4.0].map(|t| {
        let mut map = masked();
        map.title = format!("t = {t} min");
        map.caption.clear();
        map.ruler = Ruler::ScaleBar;
        map.contours = Contours::None;
        map.colour.range = Some((0.0, 3.0));
        for v in &mut map.values {
            *v *= t;
        }
        map.into()
    });
    Page {
        title: "Through the job".into(),
        columns: 2,
        panels: panels.into(),
        shared_colour: true,
        shared_legend: true,
        letters: false,
        ..Page::default()
    }
}

fn view() -> ObliqueView {
    let (columns, rows) = (91, 71);
    let nodes = |f: &dyn Fn(f64, f64) -> f64| -> Vec<f64> {
        (0..columns * rows).map(|k| f(10.0 * (k % columns) as f64, 10.0 * (k / columns) as f64)).collect()
    };
    ObliqueView {
        title: "Cut on the panel".into(),
        caption: "Made-up numbers.".into(),
        columns,
        rows,
        heights: nodes(&|x, y| {
            if on_panel(x, y) { 30.0 * (x / 300.0).sin() - 20.0 * (y / 200.0).cos() } else { f64::NAN }
        }),
        values: nodes(&|x, y| if x > 820.0 { f64::NAN } else { 0.001 * (x + y) }),
        x_range: (0.0, 900.0),
        y_range: (0.0, 700.0),
        colour: ColourScale { title: "cut [µm]".into(), ..ColourScale::default() },
        lines: masked().lines,
        missing_name: "taped".into(),
        exaggeration: 2.0,
        ..ObliqueView::default()
    }
}

fn accounts() -> BudgetChart {
    let row = |label: &str, gone: f64, job: f64, interval| BudgetRow {
        label: label.into(),
        clear_um: 45.0,
        gone_um: gone,
        job_um: job,
        job_interval_um: interval,
        limit_um: 8.0,
        note: "a verdict".into(),
    };
    BudgetChart {
        title: "Clear coat".into(),
        caption: "Made-up numbers.".into(),
        rows: vec![
            row("bonnet", 0.0, 2.4, Some((1.6, 3.4))),
            row("boot lid with a name that is long enough to be wrapped on a phone", 6.0, 3.0, Some((2.0, 4.4))),
            row("roof", 1.0, 0.0, None),
        ],
        ..BudgetChart::default()
    }
}

fn rotation() -> Timeline {
    let bar =
        |start: f64, end: f64, label: &str, kind| TimeBar { start_min: start, end_min: end, label: label.into(), kind };
    let pad = |n: usize| TimeRow {
        label: format!("pad {n}"),
        bars: (0..4)
            .flat_map(|i| {
                let t = 7.0 * n as f64 + 28.0 * f64::from(i);
                [bar(t, t + 6.0, "s1", 0), bar(t + 6.0, t + 7.0, "blow out", 1), bar(t + 7.0, t + 20.0, "rest", 2)]
            })
            .collect(),
    };
    let other = TimeRow {
        label: "lamp and wipe, between the sections".into(),
        bars: vec![bar(20.0, 35.0, "inspect", 0), bar(30.0, 40.0, "wipe", 0)],
    };
    Timeline {
        title: "Pad rotation".into(),
        caption: "Made-up numbers.".into(),
        kinds: vec!["polishing".into(), "cleaning".into(), "cooling".into()],
        rows: vec![pad(0), pad(1), pad(2), other],
        limits: vec![
            BarLimit { label: "product dry".into(), at: 50.0 },
            BarLimit { label: "end of the session".into(), at: 118.0 },
        ],
        ..Timeline::default()
    }
}

fn belief() -> DensityChart {
    let hill = |centre: f64, spread: f64| -> Vec<(f64, f64)> {
        let x = (0..200).map(|i| f64::from(i) * 0.03);
        x.map(|x| (x, (-0.5 * ((x - centre) / spread).powi(2)).exp() / spread)).collect()
    };
    DensityChart {
        title: "Removal".into(),
        x_title: "k [1e−11/Pa]".into(),
        prior: hill(2.0, 1.0),
        posterior: hill(2.6, 0.35),
        interval: (2.0, 3.2),
        median: 2.6,
        limits: vec![Limit { label: "used so far".into(), at: 1.8, across: Across::X }],
        ..DensityChart::default()
    }
}

/// Pictures that the checks of `tests` run over.
pub(crate) fn gallery() -> Vec<(&'static str, Figure)> {
    let phone = 420.0;
    let clock = Timeline { clock_start_min: Some(485.0), width: phone, ..rotation() };
    let straight = ObliqueView { azimuth_deg: 0.0, ..view() };
    let low = ObliqueView { azimuth_deg: 160.0, elevation_deg: 8.0, exaggeration: 6.0, ..view() };
    let plan = ObliqueView { elevation_deg: 90.0, exaggeration: 1.0, ..view() };
    let two: Page = Page {
        title: "Plan and view".into(),
        panels: vec![plan.clone().into(), view().into(), accounts().into(), rotation().into()],
        shared_legend: true,
        ..Page::default()
    };
    vec![
        ("masked map", masked().figure().unwrap()),
        ("masked map, phone", FieldMap { width: phone, ..masked() }.figure().unwrap()),
        (
            "masked map, scale bar, strips",
            FieldMap { ruler: Ruler::ScaleBar, strips: Strips::Mean, ..masked() }.figure().unwrap(),
        ),
        ("small multiples", multiples().figure().unwrap()),
        ("small multiples, phone", Page { width: phone, ..multiples() }.figure().unwrap()),
        ("view", view().figure().unwrap()),
        ("view, phone", ObliqueView { width: phone, ..view() }.figure().unwrap()),
        ("view, straight", straight.figure().unwrap()),
        ("view, low", low.figure().unwrap()),
        ("view, plan", plan.figure().unwrap()),
        ("plan and view", two.figure().unwrap()),
        ("accounts", accounts().figure().unwrap()),
        ("accounts, phone", BudgetChart { width: phone, ..accounts() }.figure().unwrap()),
        ("rotation", rotation().figure().unwrap()),
        ("rotation by the clock, phone", clock.figure().unwrap()),
        ("belief", belief().figure().unwrap()),
        ("belief, phone", DensityChart { width: phone, ..belief() }.figure().unwrap()),
    ]
}

fn said(figure: &Figure) -> Vec<String> {
    text_boxes(figure).into_iter().map(|b| b.1).collect()
}

fn says(figure: &Figure, words: &str) -> bool {
    said(figure).join(" ").contains(words)
}

#[test]
fn labels_of_a_masked_map_are_all_there() {
    let figure = masked().figure().unwrap();
    for words in ["1", "2", "3", "stalls"] {
        assert!(said(&figure).iter().any(|w| w == words), "{words} is missing");
    }
    for words in ["section", "tape", "thin film", "pass lines", "edge of the panel"] {
        assert_eq!(said(&figure).iter().filter(|w| *w == words).count(), 1, "{words} in the legend");
    }
    // On the line and in the legend.
    assert_eq!(said(&figure).iter().filter(|w| *w == "stall line, S = 1").count(), 2);
    assert!(!says(&figure, "no data"), "what is no panel has no name");
    let hatched = FieldMap { missing: Missing::Hatched, missing_name: "taped".into(), ..masked() };
    assert!(says(&hatched.figure().unwrap(), "taped"));
}

#[test]
fn what_is_no_panel_is_paper_and_off_the_scale() {
    let map = masked();
    let (low, high) = map.data_range().unwrap();
    // Bounds of the made-up formula on the panel.
    assert!(low >= 0.3 && high <= 1.4);
    let figure = map.figure().unwrap();
    let (bitmap, area) = figure
        .canvas
        .items
        .iter()
        .find_map(|i| if let Item::Picture { bitmap, area } = i { Some((bitmap, *area)) } else { None })
        .unwrap();
    let at = |x: f64, y: f64| {
        let (u, v) = ((x + 10.0) / 920.0, 1.0 - (y + 10.0) / 720.0);
        assert!(area.width() > 100.0);
        let cell = (v * bitmap.rows as f64) as usize * bitmap.columns + (u * bitmap.columns as f64) as usize;
        bitmap.palette[usize::from(bitmap.cells[cell])]
    };
    let paper = (255, 255, 255);
    assert_eq!(at(700.0, 600.0), paper, "beside the L");
    assert_eq!(at(200.0, 480.0), paper, "in the hole");
    let (hollow, far) = (at(620.0, 170.0), at(100.0, 100.0));
    assert!(hollow.0 > 80 && hollow.2 < 60, "above the centre it is red: {hollow:?}");
    assert!(far.2 > 60 && far.0 < 40, "below the centre it is blue: {far:?}");
}

#[test]
fn each_side_of_a_diverging_map_reaches_its_own_end() {
    let scale = ColourScale {
        map: ColourMap::Diverging,
        centre: Some((60.0, "least".into())),
        sides: Sides::Own,
        ..ColourScale::default()
    };
    let shade = scale.shade((0.0, 400.0), None);
    assert_eq!((shade.index(0.0), shade.index(60.0), shade.index(400.0)), (0, 125, 249));
    assert_eq!(shade.index(30.0), 62);
    let turned = ColourScale { reversed: true, ..scale.clone() }.shade((0.0, 400.0), None);
    assert_eq!(turned.colour(0.0), shade.colour(400.0));
    // Data on one side of the centre only: the other half of the colours is not used.
    assert_eq!(scale.shade((100.0, 400.0), None).index(60.0), 125);
    assert_eq!(scale.shade((0.0, 30.0), None).index(60.0), 125);
    assert!(scale.shade((60.0, 60.0), None).high > 60.0);
}

#[test]
fn a_level_that_is_nowhere_reached_is_said_and_not_drawn() {
    let map = FieldMap { bold: Some(BoldLevel { at: 5.0, label: "stall line".into() }), ..masked() };
    let figure = map.figure().unwrap();
    assert!(says(&figure, "No line for \"stall line\": all values are below it."));
    assert!(!said(&figure).iter().any(|w| w == "stall line"), "the legend names a line that is not there");
    let map = FieldMap { bold: Some(BoldLevel { at: f64::NAN, label: String::new() }), ..masked() };
    assert!(matches!(map.figure(), Err(PlotError::Range { .. })));
}

#[test]
fn small_multiples_share_legend_and_bar() {
    let figure = multiples().figure().unwrap();
    for words in ["tape", "section", "stall number [1]"] {
        assert_eq!(said(&figure).iter().filter(|w| *w == words).count(), 1, "{words}");
    }
    assert_eq!(said(&figure).iter().filter(|w| *w == "200 mm").count(), 4);
}

#[test]
fn a_view_says_its_exaggeration_and_its_lengths() {
    let figure = view().figure().unwrap();
    assert!(says(&figure, "Heights are drawn 2 times as large."));
    assert!(says(&figure, "x and y arrows") && says(&figure, "z arrow"));
    for words in ["x", "y", "z", "1", "2", "3", "taped"] {
        assert!(said(&figure).iter().any(|w| w == words), "{words} is missing");
    }
    let plan = ObliqueView { elevation_deg: 90.0, exaggeration: 1.0, ..view() }.figure().unwrap();
    assert!(!says(&plan, "Heights are drawn") && !says(&plan, "z arrow"));
}

/// From straight above a view is the plan: the colours are those of the scale where the sheet is level.
#[test]
fn a_level_sheet_from_above_shows_the_colours_of_the_bar() {
    let n = 21;
    let view = ObliqueView {
        columns: n,
        rows: n,
        heights: vec![7.0; n * n],
        values: (0..n * n).map(|k| (k / n) as f64).collect(),
        azimuth_deg: 0.0,
        elevation_deg: 90.0,
        ..ObliqueView::default()
    };
    let figure = view.figure().unwrap();
    let photo = figure
        .canvas
        .items
        .iter()
        .find_map(|i| if let Item::Photo { photo, .. } = i { Some(photo) } else { None })
        .unwrap();
    let shade = view.colour.shade((0.0, 20.0), None);
    // The last row of nodes is at the top of the picture.
    let inside = 2.0 * 2.0 / photo.rows as f64;
    for share in [0.1, 0.3, 0.5, 0.9] {
        let row = (share * photo.rows as f64) as usize;
        let at = 3 * (row * photo.columns + photo.columns / 2);
        let value = 20.0 * (1.0 - (share - inside) / (1.0 - 2.0 * inside));
        let wanted = shade.colour(value);
        let got = (photo.pixels[at], photo.pixels[at + 1], photo.pixels[at + 2]);
        for (g, w) in [(got.0, wanted.0), (got.1, wanted.1), (got.2, wanted.2)] {
            // 4: two steps of the palette of 250, by at most 2 of 255 each.
            assert!(g.abs_diff(w) <= 4, "{share}: {got:?} {wanted:?}");
        }
    }
}

#[test]
fn views_and_charts_that_cannot_be_drawn_say_why() {
    let none = |e: Result<Figure, PlotError>| matches!(e, Err(PlotError::NoFiniteData { .. }));
    let range = |e: Result<Figure, PlotError>| matches!(e, Err(PlotError::Range { .. }));
    let empty = |e: Result<Figure, PlotError>| matches!(e, Err(PlotError::Empty { .. }));
    let nan = || vec![f64::NAN; view().heights.len()];
    assert!(none(ObliqueView { heights: nan(), ..view() }.figure()));
    assert!(none(ObliqueView { values: nan(), ..view() }.figure()));
    assert!(none(FieldMap { values: vec![f64::NAN; 92 * 72], ..masked() }.figure()));
    assert!(empty(ObliqueView::default().figure()));
    let line = ObliqueView { columns: 1, rows: 2, heights: vec![0.0; 2], values: vec![0.0; 2], ..view() };
    assert!(range(line.figure()));
    assert!(range(ObliqueView { elevation_deg: 3.0, ..view() }.figure()));
    assert!(range(ObliqueView { azimuth_deg: f64::NAN, ..view() }.figure()));
    assert!(range(ObliqueView { exaggeration: 0.0, ..view() }.figure()));
    let mut short = view();
    short.values.pop();
    assert!(matches!(short.figure(), Err(PlotError::Shape { .. })));

    assert!(empty(BudgetChart::default().figure()));
    for bad in [-1.0, f64::NAN, f64::INFINITY] {
        let mut wrong = accounts();
        wrong.rows[0].job_um = bad;
        assert!(range(wrong.figure()), "{bad}");
        let mut wrong = accounts();
        wrong.rows[0].job_interval_um = Some((1.0, bad));
        assert!(range(wrong.figure()), "{bad}");
    }
    assert!(empty(Timeline::default().figure()));
    let mut wrong = rotation();
    wrong.rows[0].bars[0].end_min = -5.0;
    assert!(range(wrong.figure()));
    let mut wrong = rotation();
    wrong.rows[0].bars[0].kind = 3;
    assert!(range(wrong.figure()));
    let mut wrong = rotation();
    wrong.limits[0].at = f64::INFINITY;
    assert!(range(wrong.figure()));
    let many = Timeline { kinds: vec![String::new(); 8], ..rotation() };
    assert!(matches!(many.figure(), Err(PlotError::TooLarge { .. })));
}

#[test]
fn the_smallest_and_the_flattest_panels_are_drawn() {
    let one = FieldMap { columns: 1, rows: 1, values: vec![2.0], lines: Vec::new(), ..masked() };
    assert!(one.figure().unwrap().to_png(0.5).is_ok());
    let flat = FieldMap { values: vec![3.0; 92 * 72], ..masked() };
    assert!(flat.figure().unwrap().to_png(0.5).is_ok());
    for heights in [vec![0.0; 4], vec![0.0, 1.0, f64::NAN, 1.0]] {
        let cell = ObliqueView { columns: 2, rows: 2, heights, values: vec![1.0; 4], lines: Vec::new(), ..view() };
        assert!(cell.figure().unwrap().to_svg().is_ok());
    }
    // A needle: the box of the view has nearly no height.
    let needle = ObliqueView {
        columns: 50,
        rows: 2,
        heights: vec![0.0; 100],
        values: vec![1.0; 100],
        y_range: (0.0, 1e-3),
        lines: Vec::new(),
        ..view()
    };
    assert!(needle.figure().unwrap().to_svg().is_ok());
}

#[test]
fn bars_without_room_for_words_are_counted_in_the_caption() {
    // Four bars of one minute on each of three pads hold no "blow out".
    assert!(says(&rotation().figure().unwrap(), "short bars have no room for words."));
    let mut bare = rotation();
    for bar in bare.rows.iter_mut().flat_map(|r| &mut r.bars) {
        bar.label.clear();
    }
    assert!(!says(&bare.figure().unwrap(), "no room for words"));
}
