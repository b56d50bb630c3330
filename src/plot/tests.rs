//! Tests of whole pictures: bounds, bytes, orientation, words that touch.

#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a test may stop at the first surprise")]

use super::canvas::{Anchor, Area, Item};
use super::*;

pub(crate) fn grid(columns: usize, rows: usize, f: impl Fn(f64, f64) -> f64) -> Vec<f64> {
    (0..columns * rows)
        .map(|k| f(((k % columns) as f64 + 0.5) / columns as f64, ((k / columns) as f64 + 0.5) / rows as f64))
        .collect()
}

fn map() -> FieldMap {
    FieldMap {
        title: "Cut over the panel".into(),
        caption: "Settings that are long enough to be wrapped: ".repeat(4),
        columns: 60,
        rows: 40,
        values: grid(60, 40, |x, y| 4.0 * x * (1.0 - x) * (1.0 + 0.3 * (20.0 * y).sin())),
        x_range: (0.0, 600.0),
        y_range: (0.0, 400.0),
        colour: ColourScale { title: "Cut [µm]".into(), ..ColourScale::default() },
        contours: Contours::About(6),
        ..FieldMap::default()
    }
}

fn busy_map() -> FieldMap {
    let mut map = map();
    map.values[700] = f64::NAN;
    map.strips = Strips::Mean;
    map.paths = vec![PathOverlay {
        label: "path".into(),
        points: (0..9).map(|i| (50.0 + 500.0 * f64::from(i % 2), 30.0 + 40.0 * f64::from(i))).collect(),
        directed: true,
    }];
    map.rectangles = vec![RectangleOverlay { label: "worked area".into(), x: (90.0, 510.0), y: (90.0, 310.0) }];
    map
}

fn chart() -> CurveChart {
    let curve = |k: f64| -> Vec<(f64, f64)> {
        (0..50)
            .map(|i| {
                let x = f64::from(i) / 10.0;
                (x, if i == 20 { f64::NAN } else { k * (1.0 - (-x).exp()) })
            })
            .collect()
    };
    CurveChart {
        title: "Curves that end close together".into(),
        caption: "Made-up numbers.".into(),
        x: Axis::linear("Time [s]"),
        y: Axis::linear("Height [mm]"),
        series: (0..8).map(|i| Series::new(&format!("series {i}"), curve(1.0 + 0.02 * f64::from(i)))).collect(),
        bands: vec![Band { label: "band".into(), lower: curve(0.8), upper: curve(0.9), style: 2 }],
        regions: vec![
            Region { label: "stalls".into(), shape: RegionShape::Below(curve(0.7)) },
            Region { label: "rest".into(), shape: RegionShape::Columns(1.0, 2.0) },
        ],
        limits: vec![
            Limit { label: "upper limit".into(), at: 1.3, across: Across::Y },
            Limit { label: "end of the shift".into(), at: 4.5, across: Across::X },
        ],
        marks: vec![
            Mark { label: "this job".into(), x: 3.0, y: 0.95 },
            Mark { label: "the job before".into(), x: 3.1, y: 0.96 },
        ],
        ..CurveChart::default()
    }
}

fn bars() -> BarChart {
    BarChart {
        title: "Budget".into(),
        axis: Axis::linear("Share [%]"),
        bars: (0..5)
            .map(|i| Bar {
                label: format!("panel {i} with a long name that has to be wrapped"),
                value: if i == 3 { f64::NAN } else { 20.0 * f64::from(i) },
                interval: Some((15.0 * f64::from(i), 25.0 * f64::from(i))),
                limit: Some(55.0),
                note: "%".into(),
                style: 0,
            })
            .collect(),
        limits: vec![
            BarLimit { label: "caution".into(), at: 90.0 },
            BarLimit { label: "whole budget".into(), at: 92.0 },
        ],
        ..BarChart::default()
    }
}

fn disc(f: impl Fn(f64, f64) -> f64) -> DiscMap {
    let side = 81;
    DiscMap {
        title: "Speed over the pad".into(),
        radius: 75.0,
        samples: DiscSamples::Cartesian {
            side,
            values: grid(side, side, |u, v| f(150.0 * u - 75.0, 150.0 * v - 75.0)),
        },
        colour: ColourScale { title: "Speed [m/s]".into(), ..ColourScale::default() },
        contours: Contours::About(5),
        arrow: Some((0.0, "feed".into())),
        ..DiscMap::default()
    }
}

fn page() -> Page {
    Page {
        title: "A page".into(),
        caption: "Common settings.".into(),
        panels: vec![map().into(), disc(f64::hypot).into(), chart().into(), bars().into()],
        shared_colour: true,
        width: 1200.0,
        ..Page::default()
    }
}

fn with_second_axis() -> CurveChart {
    CurveChart {
        second_y: Some(SecondAxis::new("Radius [m]", &[0.7, 0.8, 1.0, 2.0, 5.0, f64::INFINITY], |r| 1.0 / r)),
        ..chart()
    }
}

fn diverging() -> FieldMap {
    FieldMap {
        title: "Against the target, in a title of several lines ".repeat(4),
        colour: ColourScale {
            title: "Cut [µm]".into(),
            map: ColourMap::Diverging,
            range: Some((0.2, 0.9)),
            centre: Some((0.6, "target".into())),
            ..ColourScale::default()
        },
        ..map()
    }
}

fn gallery() -> Vec<(&'static str, Figure)> {
    let narrow = FieldMap { width: 430.0, ..busy_map() };
    let tall = FieldMap { y_range: (0.0, 2400.0), strips: Strips::CentreLine, ..map() };
    let small_chart = CurveChart { width: 340.0, ..chart() };
    let mut all = tests_panels::gallery();
    all.extend(vec![
        ("map", map().figure().unwrap()),
        ("busy map", busy_map().figure().unwrap()),
        ("narrow map", narrow.figure().unwrap()),
        ("tall map", tall.figure().unwrap()),
        ("diverging", diverging().figure().unwrap()),
        ("chart", chart().figure().unwrap()),
        ("small chart", small_chart.figure().unwrap()),
        ("second axis", with_second_axis().figure().unwrap()),
        ("bars", bars().figure().unwrap()),
        ("disc", disc(|x, _| x).figure().unwrap()),
        ("page", page().figure().unwrap()),
    ]);
    all
}

pub(crate) fn text_boxes(figure: &Figure) -> Vec<(Area, String)> {
    let fonts = figure.canvas.fonts;
    let mut boxes = Vec::new();
    for item in &figure.canvas.items {
        if let Item::Text { place, text, lettering: l } = item {
            let wide = fonts.width(text, l.em, l.bold);
            let back = match l.anchor {
                Anchor::Start => 0.0,
                Anchor::Middle => 0.5 * wide,
                Anchor::End => wide,
            };
            // Capitals only: descenders may hang into a gap, words may not touch.
            let (x, y) = *place;
            let area = if l.upward {
                Area::new(x - theme::CAP * l.em, y + back - wide, x, y + back)
            } else {
                Area::new(x - back, y - theme::CAP * l.em, x - back + wide, y)
            };
            boxes.push((area, text.clone()));
        }
    }
    boxes
}

#[test]
fn no_word_touches_another_or_leaves_the_picture() {
    for (name, figure) in gallery() {
        let whole = Area::new(0.0, 0.0, figure.width(), figure.height());
        let boxes = text_boxes(&figure);
        assert!(boxes.len() > 5, "{name}: {} words", boxes.len());
        for (i, (a, words)) in boxes.iter().enumerate() {
            assert!(a.inside(&whole), "{name}: \"{words}\" leaves: {a:?}");
            for (b, others) in &boxes[..i] {
                // Half a unit: edges may meet, the eye sees no overlap.
                let overlap = a.grown(-0.25).overlaps(&b.grown(-0.25));
                assert!(!overlap, "{name}: \"{words}\" touches \"{others}\"");
            }
        }
    }
}

#[test]
fn nothing_is_drawn_outside_the_picture() {
    for (name, figure) in gallery() {
        let whole = Area::new(0.0, 0.0, figure.width(), figure.height());
        for item in &figure.canvas.items {
            let held = match item {
                Item::Line { points, .. } | Item::Fill { points, .. } => {
                    points.iter().all(|p| Area::new(p.0, p.1, p.0, p.1).inside(&whole))
                }
                Item::Block { area, .. } | Item::Picture { area, .. } | Item::Photo { area, .. } => area.inside(&whole),
                Item::Text { .. } => true,
            };
            assert!(held, "{name}: {item:?}");
        }
    }
}

#[test]
fn the_same_data_give_the_same_bytes() {
    for ((name, first), (_, second)) in gallery().into_iter().zip(gallery()) {
        assert_eq!(first.to_svg(), second.to_svg(), "{name}");
        assert_eq!(first.to_png(0.5), second.to_png(0.5), "{name}");
    }
}

#[test]
fn bands_of_rows_do_not_show() {
    let figure = page().figure().unwrap();
    let whole = raster::rows_in_bands(&figure.canvas, (1200, 900), 1.0, 900).unwrap();
    for band in [8, 64, 300] {
        let cut = raster::rows_in_bands(&figure.canvas, (1200, 900), 1.0, band).unwrap();
        let worst = whole.iter().zip(&cut).map(|(a, b)| a.abs_diff(*b)).max();
        // 86: three of the nine samples of a pixel (85 of 255), since a slanted edge cut
        // at the border of a band is rounded to another sample; a band drawn at a
        // wrong place gives 255 at every frame and letter.
        assert!(worst <= Some(86), "{band} rows: {worst:?}");
    }
}

#[test]
fn words_are_escaped_and_nothing_outside_is_named() {
    let mut map = map();
    map.title = "a < b & \"c\" > 'd' \u{7}\u{0}".into();
    map.caption = "<script>alert(1)</script>".into();
    let svg = map.figure().unwrap().to_svg().unwrap();
    assert!(svg.contains("<title>a &lt; b &amp; &quot;c&quot; &gt; &#39;d&#39;"));
    assert!(!svg.contains("<script"), "markup got through");
    assert!(svg.contains("role=\"img\"") && svg.contains("<desc>"));
    assert!(!svg.contains('\u{7}') && !svg.contains('\u{0}'));
    let outside = svg.replace("xmlns=\"http://www.w3.org/2000/svg\"", "");
    assert!(!outside.contains("http") && !outside.contains("url("));
    for (at, _) in svg.match_indices("href=\"") {
        assert!(svg[at + 6..].starts_with("data:image/png;base64,"));
    }
}

#[test]
fn every_element_of_the_svg_is_closed() {
    for (name, figure) in gallery() {
        let svg = figure.to_svg().unwrap();
        let mut open: Vec<&str> = Vec::new();
        for tag in svg.split('<').skip(1) {
            let tag = tag.split('>').next().unwrap();
            if let Some(end) = tag.strip_prefix('/') {
                assert_eq!(open.pop(), Some(end), "{name}");
            } else if !tag.ends_with('/') {
                open.push(tag.split(' ').next().unwrap());
            }
        }
        assert!(open.is_empty(), "{name}: {open:?}");
    }
}

struct Pixels(usize, Vec<u8>);

impl Pixels {
    fn at(&self, x: usize, y: usize) -> (u8, u8, u8) {
        let at = 3 * (y * self.0 + x);
        (self.1[at], self.1[at + 1], self.1[at + 2])
    }
}

fn pixels(bytes: &[u8]) -> Pixels {
    let mut reader = png::Decoder::new(std::io::Cursor::new(bytes)).read_info().unwrap();
    let mut data = vec![0; reader.output_buffer_size().unwrap()];
    let info = reader.next_frame(&mut data).unwrap();
    Pixels(info.width as usize, data)
}

fn picture_area(figure: &Figure) -> Area {
    figure
        .canvas
        .items
        .iter()
        .find_map(|item| match item {
            Item::Picture { area, .. } => Some(*area),
            _ => None,
        })
        .unwrap()
}

#[test]
fn the_first_row_is_below_and_the_first_column_left() {
    for (along_x, values) in [(true, grid(20, 20, |x, _| x)), (false, grid(20, 20, |_, y| y))] {
        let map =
            FieldMap { columns: 20, rows: 20, values, x_range: (0.0, 1.0), y_range: (0.0, 1.0), ..FieldMap::default() };
        let figure = map.figure().unwrap();
        let area = picture_area(&figure);
        let image = pixels(&figure.to_png(1.0).unwrap());
        let at =
            |u: f64, v: f64| image.at((area.left + u * area.width()) as usize, (area.top + v * area.height()) as usize);
        let (low, high) = if along_x { (at(0.03, 0.5), at(0.97, 0.5)) } else { (at(0.5, 0.97), at(0.5, 0.03)) };
        // Viridis runs from dark violet (green below 60) to yellow (green above 200).
        assert!(low.1 < 60 && high.1 > 200, "{low:?} {high:?}");
    }
}

#[test]
fn both_kinds_of_disc_samples_show_the_same_way_up() {
    let (rings, spokes) = (40, 120);
    let values = (0..rings * spokes)
        .map(|k| {
            let r = ((k / spokes) as f64 + 0.5) / rings as f64 * 75.0;
            r * (std::f64::consts::TAU * (k % spokes) as f64 / spokes as f64).sin()
        })
        .collect();
    let polar = DiscMap { samples: DiscSamples::Polar { rings, spokes, values }, ..disc(|_, y| y) };
    for map in [disc(|_, y| y), polar] {
        let map = DiscMap { contours: Contours::None, ..map };
        let figure = map.figure().unwrap();
        let area = picture_area(&figure);
        let image = pixels(&figure.to_png(1.0).unwrap());
        let centre = area.centre();
        let at = |v: f64| image.at(centre.0 as usize, (area.top + v * area.height()) as usize);
        let (top, bottom, corner) = (at(0.06), at(0.94), image.at(area.right as usize - 4, area.top as usize + 4));
        assert!(top.1 > 200 && bottom.1 < 60, "{top:?} {bottom:?}");
        assert_eq!(corner, (255, 255, 255), "the corner is not part of the disc");
    }
}

#[test]
fn nothing_to_draw_is_said() {
    let empty = |e: Result<Figure, PlotError>| matches!(e, Err(PlotError::Empty { .. }));
    assert!(empty(FieldMap::default().figure()));
    assert!(empty(CurveChart::default().figure()));
    assert!(empty(BarChart::default().figure()));
    assert!(empty(Page::default().figure()));
    assert!(empty(DiscMap { radius: 1.0, ..DiscMap::default() }.figure()));
}

#[test]
fn data_without_a_finite_value_are_refused() {
    let none = |e: Result<Figure, PlotError>| matches!(e, Err(PlotError::NoFiniteData { .. }));
    let mut map = map();
    map.values.fill(f64::NAN);
    assert!(none(map.figure()));
    let mut chart = CurveChart {
        series: vec![Series::new("a", vec![(f64::NAN, 1.0), (1.0, f64::INFINITY)])],
        ..CurveChart::default()
    };
    assert!(none(chart.figure()));
    chart.series[0].points.clear();
    assert!(none(chart.figure()));
    let mut bars = bars();
    bars.limits.clear();
    for bar in &mut bars.bars {
        *bar = Bar { value: f64::NAN, ..Bar::default() };
    }
    assert!(none(bars.figure()));
    assert!(none(disc(|_, _| f64::NAN).figure()));
    let page = Page { panels: vec![map.into()], shared_colour: true, ..Page::default() };
    assert!(none(page.figure()));
}

#[test]
fn wrong_lengths_and_ranges_are_refused() {
    let mut wrong = map();
    wrong.values.pop();
    assert_eq!(
        wrong.figure().unwrap_err(),
        PlotError::Shape { what: "the field \"Cut over the panel\"".into(), expected: 2400, given: 2399 }
    );
    let range = |e: Result<Figure, PlotError>| matches!(e, Err(PlotError::Range { .. }));
    for bad in [(1.0, 1.0), (2.0, 1.0), (0.0, f64::NAN), (f64::NEG_INFINITY, 0.0)] {
        let mut wrong = map();
        wrong.x_range = bad;
        assert!(range(wrong.figure()), "{bad:?}");
        let mut wrong = map();
        wrong.colour.range = Some(bad);
        assert!(range(wrong.figure()), "{bad:?}");
        let mut wrong = chart();
        wrong.y.range = Some(bad);
        assert!(range(wrong.figure()), "{bad:?}");
    }
    let mut wrong = chart();
    wrong.y.log = true; // the curves start at zero
    assert!(range(wrong.figure()));
    let mut wrong = chart();
    wrong.marks[0].x = f64::NAN;
    assert!(range(wrong.figure()));
    let mut wrong = map();
    wrong.width = f64::NAN;
    assert!(range(wrong.figure()));
    let mut wrong = page();
    wrong.columns = 4;
    wrong.width = 600.0;
    assert!(range(wrong.figure()));
    let mut wrong = disc(|x, _| x);
    wrong.hole_radius = 75.0;
    assert!(range(wrong.figure()));
}

#[test]
fn sizes_above_the_bounds_are_refused_before_any_work() {
    let large = |e: Result<Figure, PlotError>| matches!(e, Err(PlotError::TooLarge { .. }));
    let field = |columns: usize, rows: usize| FieldMap { columns, rows, ..map() };
    assert!(large(field(usize::MAX, usize::MAX).figure()));
    assert!(large(field(MAX_CELLS, 2).figure()));
    let samples = DiscSamples::Cartesian { side: usize::MAX, values: Vec::new() };
    assert!(large(DiscMap { samples, ..disc(|x, _| x) }.figure()));
    let mut many = chart();
    many.series = vec![Series::default(); MAX_ITEMS + 1];
    assert!(large(many.figure()));
    let mut many = chart();
    many.series[0].points = vec![(0.0, 0.0); MAX_POINTS + 1];
    assert!(large(many.figure()));
    let mut long = map();
    long.title = "x".repeat(MAX_TEXT + 1);
    assert!(large(long.figure()));
    let figure = page().figure().unwrap();
    assert!(matches!(figure.to_png(8.0), Err(PlotError::TooLarge { .. })));
    for scale in [0.0, -1.0, 9.0, f64::NAN] {
        assert!(matches!(figure.to_png(scale), Err(PlotError::Range { .. })));
    }
}

#[test]
fn extreme_but_finite_data_are_drawn() {
    for size in [1e-30, 1e-9, 1e9, 1e30, 1e150] {
        let mut map = map();
        for v in &mut map.values {
            *v *= size;
        }
        assert!(map.figure().unwrap().to_svg().is_ok(), "map {size}");
        let mut chart = chart();
        for s in &mut chart.series {
            for p in &mut s.points {
                p.1 *= size;
            }
        }
        assert!(chart.figure().unwrap().to_png(0.5).is_ok(), "chart {size}");
    }
    let constant = FieldMap { values: vec![5.0; 2400], ..map() };
    assert!(constant.figure().unwrap().to_png(0.5).is_ok());
    let dot = CurveChart { series: vec![Series::new("dot", vec![(0.0, 0.0)])], ..CurveChart::default() };
    assert!(dot.figure().unwrap().to_png(0.5).is_ok());
}

#[test]
fn a_saturated_scale_is_told() {
    let figure = diverging().figure().unwrap();
    let told = text_boxes(&figure).iter().any(|(_, t)| t.contains("beyond the colour") || t.contains("Data reach"));
    assert!(told);
    let figure = map().figure().unwrap();
    assert!(!text_boxes(&figure).iter().any(|(_, t)| t.contains("beyond")));
}

#[test]
fn errors_say_what_and_how_much() {
    let text = PlotError::TooLarge { what: "number of cells of a field".into(), size: 5e6, limit: 4e6 }.to_string();
    assert_eq!(text, "number of cells of a field: 5000000 is above the largest size drawn, 4000000");
}
