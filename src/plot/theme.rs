//! The one look of all pictures: text sizes, inks, series styles, colour maps.
//!
//! Not a user setting: every picture of a report looks alike. Series colours
//! are the colour-blind-safe set of Okabe and Ito, "Color universal design"
//! (2008), without its yellow, which is unreadable on white. Magnitude maps are
//! viridis and cividis; the diverging map is the red-blue one of `ColorBrewer`.

/// An opaque colour: red, green, blue.
pub(crate) type Colour = (u8, u8, u8);

/// Text sizes in picture units (em height).
pub(crate) const TITLE: f64 = 20.0;
/// Axis titles and words inside the plot.
pub(crate) const AXIS: f64 = 16.0;
/// Tick labels, line labels, legends.
pub(crate) const LABEL: f64 = 14.5;
/// The caption with the settings.
pub(crate) const CAPTION: f64 = 13.5;
/// Height of a capital letter as a share of the em (`DejaVu Sans`: 0.729).
pub(crate) const CAP: f64 = 0.73;
/// Distance between baselines as a share of the em.
pub(crate) const LEADING: f64 = 1.28;

/// Text and frame.
pub(crate) const INK: Colour = (28, 28, 28);
/// Secondary text: captions.
pub(crate) const SOFT: Colour = (84, 84, 84);
/// Leaders, ticks.
pub(crate) const LINE: Colour = (120, 120, 120);
/// Grid lines.
pub(crate) const GRID: Colour = (226, 226, 226);
/// Paper.
pub(crate) const PAPER: Colour = (255, 255, 255);
/// Limit lines.
pub(crate) const LIMIT: Colour = (176, 28, 28);
/// Ground of "no data".
pub(crate) const NO_DATA: Colour = (222, 222, 222);
/// Hatch of "no data".
pub(crate) const NO_DATA_HATCH: Colour = (168, 168, 168);

const SERIES: [Colour; 7] =
    [(0, 114, 178), (213, 94, 0), (0, 158, 115), (204, 121, 167), (230, 159, 0), (86, 180, 233), (0, 0, 0)];

const DASHES: [&[f64]; 7] = [
    &[],
    &[11.0, 5.0],
    &[3.0, 4.0],
    &[12.0, 4.0, 3.0, 4.0],
    &[7.0, 3.5],
    &[16.0, 4.0, 3.0, 4.0, 3.0, 4.0],
    &[20.0, 6.0],
];

/// Dash of limit lines.
pub(crate) const LIMIT_DASH: &[f64] = &[8.0, 4.0];

/// Shape of a data marker.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Marker {
    Circle,
    Square,
    Triangle,
    Diamond,
    Inverted,
    Cross,
    Plus,
}

const MARKERS: [Marker; 7] =
    [Marker::Circle, Marker::Square, Marker::Triangle, Marker::Diamond, Marker::Inverted, Marker::Cross, Marker::Plus];

/// Colour, dash and marker of the series number `index`; the combination first
/// repeats after 49 series.
pub(crate) fn series_style(index: usize) -> (Colour, &'static [f64], Marker) {
    let turn = index / SERIES.len();
    (SERIES[index % SERIES.len()], DASHES[(index + turn) % DASHES.len()], MARKERS[(index + 2 * turn) % MARKERS.len()])
}

/// `colour` mixed with paper, `share` of it kept: tints without transparency.
pub(crate) fn tint(colour: Colour, share: f64) -> Colour {
    let mix = |c: u8| (f64::from(c) * share + 255.0 * (1.0 - share)).round() as u8;
    (mix(colour.0), mix(colour.1), mix(colour.2))
}

/// Black or white, whichever reads better on `ground` (Rec. 709 luma on the
/// coded values, threshold by eye).
pub(crate) fn contrast(ground: Colour) -> Colour {
    let luma = 0.2126 * f64::from(ground.0) + 0.7152 * f64::from(ground.1) + 0.0722 * f64::from(ground.2);
    if luma > 120.0 { (0, 0, 0) } else { PAPER }
}

/// How a number becomes a colour.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum ColourMap {
    /// Dark violet to yellow; perceptually even.
    #[default]
    Viridis,
    /// Dark blue to yellow; perceptually even and alike for red-green blindness.
    Cividis,
    /// Blue below, white at, red above a named centre.
    Diverging,
}

impl ColourMap {
    /// The colour at `t` from 0 (low end) to 1 (high end).
    pub(crate) fn colour(self, t: f64) -> Colour {
        let t = t.clamp(0.0, 1.0);
        let c = match self {
            Self::Viridis => colorous::VIRIDIS.eval_continuous(t),
            Self::Cividis => colorous::CIVIDIS.eval_continuous(t),
            Self::Diverging => colorous::RED_BLUE.eval_continuous(1.0 - t),
        };
        (c.r, c.g, c.b)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn styles_differ_within_the_first_49() {
        let styles: Vec<_> = (0..49).map(series_style).collect();
        for (i, a) in styles.iter().enumerate() {
            assert!(styles[..i].iter().all(|b| a != b), "style {i} repeats");
        }
    }

    #[test]
    fn the_diverging_map_is_pale_in_the_middle_and_blue_below() {
        let low = ColourMap::Diverging.colour(0.1);
        let mid = ColourMap::Diverging.colour(0.5);
        assert!(low.2 > low.0);
        assert!(mid.0 > 230 && mid.1 > 230 && mid.2 > 230);
    }

    #[test]
    fn magnitude_maps_grow_lighter_all_the_way() {
        for map in [ColourMap::Viridis, ColourMap::Cividis] {
            let luma = |t: f64| {
                let (r, g, b) = map.colour(t);
                0.2126 * f64::from(r) + 0.7152 * f64::from(g) + 0.0722 * f64::from(b)
            };
            for step in 0..20 {
                let t = f64::from(step) / 20.0;
                assert!(luma(t + 0.05) > luma(t), "{map:?} at {t}");
            }
        }
    }
}
