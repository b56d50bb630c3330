//! Lines over a map or a view: free edges, tape, section and zone borders, passes.
//!
//! Knows how each kind looks and where its number finds room; not what a section
//! or a zone is. The looks differ by dash as well as by colour.

use super::canvas::{Area, Canvas, Lettering, Place, Stroke};
use super::frame::Sample;
use super::place::Clutter;
use super::theme::{AXIS, Colour, INK, PAPER};
use super::{MAX_ITEMS, MAX_POINTS, PlotError, check_size, check_texts};

/// What a line over a map stands for; decides its look.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum LineKind {
    /// The line that a pad centre follows: thin.
    Pass,
    /// The border of a zone, such as a thin-film area: dash and dot.
    Zone,
    /// The border of a section: long dashes.
    Section,
    /// The border of a taped area: orange, short dashes.
    Tape,
    /// A free edge of the panel or of a hole in it: solid.
    #[default]
    Edge,
}

const TAPE: Colour = (200, 82, 0);

impl LineKind {
    pub(crate) fn stroke(self) -> Stroke {
        match self {
            Self::Pass => Stroke::new(1.4, INK),
            Self::Zone => Stroke::new(2.0, INK).dashed(&[12.0, 4.0, 3.0, 4.0]),
            Self::Section => Stroke::new(2.0, INK).dashed(&[9.0, 6.0]),
            Self::Tape => Stroke::new(2.8, TAPE).dashed(&[5.0, 3.0]),
            Self::Edge => Stroke::new(2.2, INK),
        }
    }

    /// The light border that sets the line off from the colours below it.
    pub(crate) fn casing(self) -> Stroke {
        let more = if self == Self::Pass { 1.4 } else { 1.8 };
        Stroke::new(self.stroke().width + more, PAPER)
    }
}

/// Lines of one kind over a map or a view.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct LineOverlay {
    /// Name in the legend, once for all overlays of the same kind and name; empty
    /// for none.
    pub label: String,
    /// What it stands for.
    pub kind: LineKind,
    /// Lines or loops: corners in the unit of the map's axes; a non-finite corner is
    /// a gap.
    pub lines: Vec<Vec<(f64, f64)>>,
    /// Joins the last corner of each line to its first. The loops of one overlay
    /// belong together: one inside another is a hole.
    pub closed: bool,
    /// A short word in the middle, such as the number of a section; empty for none.
    pub number: String,
}

impl LineOverlay {
    /// Closed loops, such as the free edges of a panel or a section.
    #[must_use]
    pub fn loops(kind: LineKind, label: &str, loops: Vec<Vec<(f64, f64)>>) -> Self {
        Self { label: label.into(), kind, lines: loops, closed: true, number: String::new() }
    }

    /// Open lines, such as pass lines.
    #[must_use]
    pub fn lines(kind: LineKind, label: &str, lines: Vec<Vec<(f64, f64)>>) -> Self {
        Self { label: label.into(), kind, lines, closed: false, number: String::new() }
    }

    /// The same with a short word in its middle.
    #[must_use]
    pub fn numbered(self, number: &str) -> Self {
        Self { number: number.into(), ..self }
    }

    /// Corners of each line, the first repeated at the end of a loop.
    pub(crate) fn runs(&self) -> impl Iterator<Item = Vec<(f64, f64)>> + '_ {
        self.lines.iter().map(|line| {
            let mut run = line.clone();
            if self.closed && line.len() > 2 {
                run.extend(line.first().copied());
            }
            run
        })
    }
}

/// Refuses too many lines, points or bytes.
pub(crate) fn check(overlays: &[LineOverlay]) -> Result<(), PlotError> {
    check_size("number of overlays", overlays.len() as f64, MAX_ITEMS as f64)?;
    let lines: usize = overlays.iter().map(|o| o.lines.len()).sum();
    let points: usize = overlays.iter().flat_map(|o| &o.lines).map(Vec::len).sum();
    check_size("number of overlay lines and points", (lines + points) as f64, MAX_POINTS as f64)?;
    check_texts(overlays.iter().flat_map(|o| [o.label.as_str(), &o.number]))
}

/// Legend entries, each kind and name once.
pub(crate) fn entries(overlays: &[LineOverlay]) -> Vec<(Sample, String)> {
    let mut seen: Vec<(LineKind, &str)> = Vec::new();
    for o in overlays.iter().filter(|o| !o.label.is_empty()) {
        if !seen.contains(&(o.kind, o.label.as_str())) {
            seen.push((o.kind, &o.label));
        }
    }
    seen.into_iter().map(|(kind, label)| (Sample::Cased(kind.stroke()), label.to_string())).collect()
}

/// Overlays from the faintest kind to the strongest, so that an edge lies on top.
pub(crate) fn in_order(overlays: &[LineOverlay]) -> Vec<&LineOverlay> {
    let mut order: Vec<&LineOverlay> = overlays.iter().collect();
    order.sort_by_key(|o| o.kind);
    order
}

/// Lines of all overlays on a flat map.
pub(crate) fn draw(
    canvas: &mut Canvas,
    overlays: &[LineOverlay],
    plot: Area,
    at: &dyn Fn(f64, f64) -> Place,
    clutter: &mut Clutter,
) {
    for overlay in in_order(overlays) {
        for run in overlay.runs() {
            let points: Vec<Place> = run.iter().map(|p| at(p.0, p.1)).collect();
            canvas.line_within(&points, overlay.kind.casing(), plot);
            canvas.line_within(&points, overlay.kind.stroke(), plot);
            clutter.avoid(&points);
        }
    }
}

/// Places for the numbers of all overlays, taken from then on; where it can be on places
/// that `held` passes.
pub(crate) fn numbers<'a>(
    canvas: &Canvas,
    overlays: &'a [LineOverlay],
    plot: Area,
    at: &dyn Fn(f64, f64) -> Place,
    held: &dyn Fn(Place) -> bool,
    clutter: &mut Clutter,
) -> Vec<(Area, &'a str)> {
    let mut found = Vec::new();
    for overlay in overlays.iter().filter(|o| !o.number.is_empty()) {
        let runs: Vec<Vec<Place>> = overlay.runs().map(|r| r.iter().map(|p| at(p.0, p.1)).collect()).collect();
        let places = if overlay.closed { inmost(&runs) } else { along(&runs) };
        let boxes: Vec<Area> = places.into_iter().map(|p| number_box(canvas, &overlay.number, p)).collect();
        let good = boxes.iter().copied().filter(|b| b.corners().into_iter().all(held));
        let chosen = clutter.choose(good, &plot);
        if let Some((area, _)) = chosen.or_else(|| clutter.choose(boxes.iter().copied(), &plot)) {
            found.push((area, overlay.number.as_str()));
        }
    }
    found
}

/// Places in plan for the number of one overlay on a view, the best first.
pub(crate) fn spots(overlay: &LineOverlay) -> Vec<(f64, f64)> {
    let runs: Vec<Vec<Place>> = overlay.runs().collect();
    if overlay.closed { inmost(&runs) } else { along(&runs) }
}

/// Box of a number about a place.
pub(crate) fn number_box(canvas: &Canvas, number: &str, p: Place) -> Area {
    let (wide, tall) = (canvas.fonts.width(number, AXIS, true) + 10.0, AXIS * 1.3);
    Area::new(p.0 - 0.5 * wide, p.1 - 0.5 * tall, p.0 + 0.5 * wide, p.1 + 0.5 * tall)
}

/// Writes the numbers, each on a ground of its own.
pub(crate) fn write_numbers(canvas: &mut Canvas, numbers: &[(Area, &str)]) {
    for (area, number) in numbers {
        canvas.frame(*area, Stroke::new(1.4, INK));
        canvas.text_on(*area, PAPER, number, Lettering::new(AXIS, INK).bold());
    }
}

/// Grid places a side for the search of the inmost one.
const SEARCH: usize = 31;

/// Places inside loops (even-odd rule) at least half as far from every loop as
/// the farthest, which comes first. A search on a grid: near enough for a label.
fn inmost(loops: &[Vec<Place>]) -> Vec<Place> {
    let finite = |p: &&Place| p.0.is_finite() && p.1.is_finite();
    let x = super::finite_range(loops.iter().flatten().filter(finite).map(|p| p.0));
    let y = super::finite_range(loops.iter().flatten().filter(finite).map(|p| p.1));
    let (Some(x), Some(y)) = (x, y) else {
        return Vec::new();
    };
    // Corners nearer than a three-hundredth of the box to the last one are skipped: a
    // label is larger, and the outline of a scan has many.
    let near = (x.1 - x.0).hypot(y.1 - y.0) / 300.0;
    let sparse: Vec<Vec<Place>> = loops
        .iter()
        .map(|l| {
            let mut kept: Vec<Place> = Vec::new();
            for (i, p) in l.iter().enumerate() {
                let last = i + 1 == l.len();
                if last || kept.last().is_none_or(|k| (k.0 - p.0).hypot(k.1 - p.1) >= near) {
                    kept.push(*p);
                }
            }
            kept
        })
        .collect();
    let mut places: Vec<(f64, Place)> = Vec::new();
    for row in 0..SEARCH {
        for column in 0..SEARCH {
            let share = |i: usize| (i as f64 + 0.5) / SEARCH as f64;
            let p = (x.0 + share(column) * (x.1 - x.0), y.0 + share(row) * (y.1 - y.0));
            let mut inside = false;
            let mut distance = f64::INFINITY;
            for (a, b) in sparse.iter().flat_map(|l| l.windows(2).map(|w| (w[0], w[1]))) {
                if (a.1 > p.1) != (b.1 > p.1) && p.0 < a.0 + (p.1 - a.1) / (b.1 - a.1) * (b.0 - a.0) {
                    inside = !inside;
                }
                let (ux, uy) = (b.0 - a.0, b.1 - a.1);
                let square = ux * ux + uy * uy;
                let t =
                    if square > 0.0 { (((p.0 - a.0) * ux + (p.1 - a.1) * uy) / square).clamp(0.0, 1.0) } else { 0.0 };
                distance = distance.min((p.0 - a.0 - t * ux).hypot(p.1 - a.1 - t * uy));
            }
            if inside {
                places.push((distance, p));
            }
        }
    }
    // A stable sort: of equals the first in row order.
    places.sort_by(|a, b| b.0.total_cmp(&a.0));
    let most = places.first().map_or(0.0, |p| p.0);
    places.into_iter().take_while(|p| p.0 >= 0.5 * most).map(|p| p.1).collect()
}

/// Places along open lines: the corners of the longest, from its middle outward.
fn along(lines: &[Vec<Place>]) -> Vec<Place> {
    let length = |l: &Vec<Place>| l.windows(2).map(|w| (w[1].0 - w[0].0).hypot(w[1].1 - w[0].1)).sum::<f64>();
    let Some(longest) = lines.iter().max_by(|a, b| length(a).total_cmp(&length(b))) else {
        return Vec::new();
    };
    let whole = length(longest);
    let mut places: Vec<(f64, Place)> = Vec::new();
    for step in 1..20 {
        let share = f64::from(step) / 20.0;
        let mut left = share * whole;
        for w in longest.windows(2) {
            let (a, b) = (w[0], w[1]);
            let piece = (b.0 - a.0).hypot(b.1 - a.1);
            if piece >= left && piece > 0.0 {
                let t = left / piece;
                places.push(((share - 0.5).abs(), (a.0 + t * (b.0 - a.0), a.1 + t * (b.1 - a.1))));
                break;
            }
            left -= piece;
        }
    }
    places.sort_by(|a, b| a.0.total_cmp(&b.0));
    places.into_iter().map(|p| p.1).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_inmost_place_of_an_l_is_in_its_wide_arm_and_off_the_hole() {
        let l = vec![(0.0, 0.0), (100.0, 0.0), (100.0, 40.0), (30.0, 40.0), (30.0, 100.0), (0.0, 100.0), (0.0, 0.0)];
        let p = inmost(std::slice::from_ref(&l))[0];
        assert!(p.1 < 40.0 && p.0 < 100.0, "{p:?}");
        let hole = vec![(5.0, 5.0), (60.0, 5.0), (60.0, 35.0), (5.0, 35.0), (5.0, 5.0)];
        for p in inmost(&[l, hole]) {
            assert!(!(p.0 > 5.0 && p.0 < 60.0 && p.1 > 5.0 && p.1 < 35.0), "{p:?} is in the hole");
        }
        assert!(inmost(&[]).is_empty());
    }

    #[test]
    fn a_number_on_a_line_starts_at_its_middle() {
        let p = along(&[vec![(0.0, 0.0), (10.0, 0.0)], vec![(0.0, 5.0), (100.0, 5.0)]])[0];
        // 1e-9: a few roundings on numbers below 100.
        assert!((p.0 - 50.0).abs() < 1e-9 && (p.1 - 5.0).abs() < 1e-9, "{p:?}");
    }

    #[test]
    fn the_same_kind_and_name_stand_once_in_the_legend() {
        let section = |n: &str| LineOverlay::loops(LineKind::Section, "section", Vec::new()).numbered(n);
        let overlays = [section("1"), section("2"), LineOverlay::loops(LineKind::Edge, "", Vec::new())];
        assert_eq!(entries(&overlays).len(), 1);
    }

    #[test]
    fn edges_lie_over_passes() {
        let of = |kind| LineOverlay::lines(kind, "", Vec::new());
        let overlays = [of(LineKind::Edge), of(LineKind::Pass), of(LineKind::Tape)];
        let kinds: Vec<LineKind> = in_order(&overlays).iter().map(|o| o.kind).collect();
        assert_eq!(kinds, [LineKind::Pass, LineKind::Tape, LineKind::Edge]);
    }
}
