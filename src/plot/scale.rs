//! Axes as numbers: mapping, round steps, tick labels.

use super::{PlotError, check_interval};

/// One axis of a chart.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Axis {
    /// Title with its unit, such as `Orbit rate [1/min]`.
    pub title: String,
    /// First and last value; `None` takes them from the data.
    pub range: Option<(f64, f64)>,
    /// Logarithmic; every value must then be positive.
    pub log: bool,
}

impl Axis {
    /// A linear axis over the range of the data.
    #[must_use]
    pub fn linear(title: &str) -> Self {
        Self { title: title.into(), ..Self::default() }
    }

    /// A linear axis over a given range.
    #[must_use]
    pub fn between(title: &str, low: f64, high: f64) -> Self {
        Self { title: title.into(), range: Some((low, high)), log: false }
    }

    /// A logarithmic axis over the range of the data.
    #[must_use]
    pub fn logarithmic(title: &str) -> Self {
        Self { title: title.into(), log: true, ..Self::default() }
    }

    pub(crate) fn check(&self) -> Result<(), PlotError> {
        let Some(range) = self.range else {
            return Ok(());
        };
        check_interval(&format!("range of the axis \"{}\"", self.title), range)?;
        if self.log && range.0 <= 0.0 {
            return Err(PlotError::Range {
                what: format!("start of the logarithmic axis \"{}\"", self.title),
                value: range.0,
                allowed: "above 0".into(),
            });
        }
        Ok(())
    }

    /// The interval to draw, given that of the data.
    pub(crate) fn span(&self, data: (f64, f64)) -> (f64, f64) {
        self.range.unwrap_or_else(|| if self.log { round_out_log(data) } else { round_out(data, 6) })
    }
}

/// A value with its label on an axis; no label for a minor tick.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Tick {
    pub at: f64,
    pub label: String,
}

/// Maps values to places along one direction.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Scale {
    pub low: f64,
    pub high: f64,
    pub log: bool,
    pub from: f64,
    pub to: f64,
}

impl Scale {
    pub fn new(span: (f64, f64), log: bool, from: f64, to: f64) -> Self {
        Self { low: span.0, high: span.1, log, from, to }
    }

    /// Place of a value; not a number where a logarithm does not exist.
    pub fn place(&self, value: f64) -> f64 {
        let t = if self.log {
            if value <= 0.0 {
                return f64::NAN;
            }
            (value / self.low).ln() / (self.high / self.low).ln()
        } else {
            (value - self.low) / (self.high - self.low)
        };
        // Far outside values stay finite for the clipping.
        self.from + t.clamp(-1e6, 1e6) * (self.to - self.from)
    }

    /// True within the axis, ends included, up to rounding.
    pub fn holds(&self, value: f64) -> bool {
        let slack = 1e-9 * (self.high - self.low);
        value >= self.low - slack && value <= self.high + slack
    }

    /// About `target` ticks at round values.
    pub fn ticks(&self, target: usize) -> Vec<Tick> {
        if self.log {
            return self.log_ticks(target);
        }
        let step = round_step(self.high - self.low, target);
        let decimals = decimals_of(step);
        let first = (self.low / step - 1e-6).ceil();
        let count = ((self.high / step + 1e-6).floor() - first).clamp(0.0, 200.0) as i32;
        let large = self.low.abs().max(self.high.abs());
        (0..=count)
            .map(|i| {
                let at = (first + f64::from(i)) * step;
                Tick { at, label: number(at, decimals, large) }
            })
            .collect()
    }

    fn log_ticks(&self, target: usize) -> Vec<Tick> {
        let (from, to) = (self.low.log10(), self.high.log10());
        if to - from < 0.7 {
            let linear = Self { log: false, ..*self };
            return linear.ticks(target);
        }
        let decades = (to - from).ceil().max(1.0);
        // All of an axis in one way: powers where a label is that large and none needs a fraction.
        let powers = self.high >= 1e7 * (1.0 - 1e-9) && self.low >= 1.0;
        let stride = (decades / target.max(1) as f64).ceil().max(1.0) as i32;
        let labelled: &[i32] = if decades <= 2.0 {
            &[1, 2, 5]
        } else if decades <= 3.0 {
            &[1, 3]
        } else {
            &[1]
        };
        let mut ticks = Vec::new();
        for power in (from - 1e-9).floor() as i32..=(to + 1e-9).ceil() as i32 {
            for digit in 1..10 {
                let at = f64::from(digit) * 10f64.powi(power);
                if !self.holds(at) && (at / self.low - 1.0).abs() > 1e-9 {
                    continue;
                }
                let shown = power.rem_euclid(stride) == 0 && labelled.contains(&digit);
                let label = if shown {
                    number(at, (-power).max(0) as usize, if powers { self.high } else { at })
                } else {
                    String::new()
                };
                ticks.push(Tick { at, label });
            }
        }
        ticks
    }
}

/// A step of 1, 2 or 5 times a power of ten that gives about `target` parts.
fn round_step(span: f64, target: usize) -> f64 {
    let raw = span / target.max(1) as f64;
    let power = 10f64.powf(raw.log10().floor());
    let share = raw / power;
    let digit = if share <= 1.0 + 1e-9 {
        1.0
    } else if share <= 2.0 + 1e-9 {
        2.0
    } else if share <= 5.0 + 1e-9 {
        5.0
    } else {
        10.0
    };
    digit * power
}

/// The largest 1, 2 or 5 times a power of ten that is not above `most`, which is
/// positive.
pub(crate) fn round_below(most: f64) -> f64 {
    let power = 10f64.powf(most.log10().floor());
    let digit = [5.0, 2.0].into_iter().find(|d| d * power <= most * (1.0 + 1e-9));
    digit.unwrap_or(1.0) * power
}

fn decimals_of(step: f64) -> usize {
    (-(step.log10() + 1e-9).floor()).clamp(0.0, 12.0) as usize
}

/// Widens an interval to round ends; opens an interval of no width.
pub(crate) fn round_out(data: (f64, f64), target: usize) -> (f64, f64) {
    let (mut low, mut high) = data;
    let size = low.abs().max(high.abs());
    if high - low <= 1e-12 * size || high - low <= f64::MIN_POSITIVE {
        let pad = if size > 0.0 { 0.1 * size } else { 1.0 };
        low -= pad;
        high += pad;
    }
    let step = round_step(high - low, target);
    ((low / step + 1e-6).floor() * step, (high / step - 1e-6).ceil() * step)
}

fn round_out_log(data: (f64, f64)) -> (f64, f64) {
    let down = |v: f64| {
        let power = 10f64.powf(v.log10().floor());
        let digit = [5.0, 2.0, 1.0].into_iter().find(|d| d * power <= v * (1.0 + 1e-9));
        digit.unwrap_or(1.0) * power
    };
    let up = |v: f64| {
        let power = 10f64.powf(v.log10().floor());
        let digit = [1.0, 2.0, 5.0].into_iter().find(|d| d * power >= v * (1.0 - 1e-9));
        digit.unwrap_or(10.0) * power
    };
    let (low, high) = (down(data.0), up(data.1));
    if high > low * 1.01 { (low, high) } else { (low / 2.0, high * 2.0) }
}

/// A number with a real minus sign, thin spaces between thousands, powers of ten
/// where `large`, the largest number of its row, is very large or very small.
pub(crate) fn number(value: f64, decimals: usize, large: f64) -> String {
    let size = large.abs();
    if size >= 1e7 || (size > 0.0 && size < 1e-3) {
        return scientific(value);
    }
    let text = format!("{:.*}", decimals.min(12), value.abs());
    let zero = text.chars().all(|c| c == '0' || c == '.');
    let (whole, rest) = text.split_once('.').map_or((text.as_str(), None), |(w, r)| (w, Some(r)));
    let mut out = String::new();
    if value < 0.0 && !zero {
        out.push('\u{2212}');
    }
    for (i, c) in whole.chars().enumerate() {
        if i > 0 && whole.len() > 4 && (whole.len() - i).is_multiple_of(3) {
            out.push('\u{2009}');
        }
        out.push(c);
    }
    if let Some(rest) = rest {
        out.push('.');
        out.push_str(rest);
    }
    out
}

fn scientific(value: f64) -> String {
    if value.abs() < 1e-300 {
        return "0".into();
    }
    let text = format!("{:.3e}", value.abs());
    let (digits, power) = text.split_once('e').unwrap_or((&text, "0"));
    let digits = digits.trim_end_matches('0').trim_end_matches('.');
    let mut out = String::new();
    if value < 0.0 {
        out.push('\u{2212}');
    }
    if digits != "1" {
        out.push_str(digits);
        out.push('×');
    }
    out.push_str("10");
    for c in power.chars() {
        out.push(match c {
            '-' => '⁻',
            '1' => '¹',
            '2' => '²',
            '3' => '³',
            '4' => '⁴',
            '5' => '⁵',
            '6' => '⁶',
            '7' => '⁷',
            '8' => '⁸',
            '9' => '⁹',
            _ => '⁰',
        });
    }
    out
}

/// A value in running text: three significant digits.
pub(crate) fn plain(value: f64) -> String {
    if value.abs() < 1e-300 {
        return "0".into();
    }
    let digits = (2.0 - value.abs().log10().floor()).clamp(0.0, 12.0) as usize;
    let text = number(value, digits, value);
    if text.contains('.') && !text.contains('×') {
        text.trim_end_matches('0').trim_end_matches('.').to_string()
    } else {
        text
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn labels(scale: Scale, target: usize) -> Vec<String> {
        scale.ticks(target).into_iter().map(|t| t.label).filter(|l| !l.is_empty()).collect()
    }

    #[test]
    fn ticks_are_round() {
        let scale = Scale::new((-0.3, 0.3), false, 0.0, 100.0);
        assert_eq!(labels(scale, 6), ["−0.3", "−0.2", "−0.1", "0.0", "0.1", "0.2", "0.3"]);
        let scale = Scale::new((0.0, 12_000.0), false, 0.0, 100.0);
        assert_eq!(labels(scale, 3), ["0", "5000", "10\u{2009}000"]);
    }

    #[test]
    fn decades_are_labelled() {
        let scale = Scale::new((0.01, 100.0), true, 0.0, 100.0);
        assert_eq!(labels(scale, 6), ["0.01", "0.1", "1", "10", "100"]);
        let scale = Scale::new((1.0, 50.0), true, 0.0, 100.0);
        assert_eq!(labels(scale, 6), ["1", "2", "5", "10", "20", "50"]);
    }

    #[test]
    fn mapping_hits_the_ends() {
        for log in [false, true] {
            let scale = Scale::new((2.0, 50.0), log, 10.0, 90.0);
            // 1e-9: rounding of one division or logarithm on numbers below 100.
            assert!((scale.place(2.0) - 10.0).abs() < 1e-9);
            assert!((scale.place(50.0) - 90.0).abs() < 1e-9);
        }
        assert!(Scale::new((1.0, 2.0), true, 0.0, 1.0).place(-1.0).is_nan());
    }

    #[test]
    fn one_value_still_opens_an_axis() {
        for value in [0.0, 5.0, -2.0, 1e-30, 1e30] {
            let (low, high) = round_out((value, value), 6);
            assert!(low < value && value < high, "{value}: {low} {high}");
        }
    }

    #[test]
    fn bars_of_round_length_fit() {
        for (most, long) in [(199.0, 100.0), (200.0, 200.0), (499.0, 200.0), (999.0, 500.0), (0.03, 0.02)] {
            // 1e-12: one rounding of a power of ten.
            assert!((round_below(most) / long - 1.0_f64).abs() < 1e-12, "{most}: {}", round_below(most));
        }
    }

    #[test]
    fn numbers_in_words() {
        assert_eq!(plain(0.012_345), "0.0123");
        assert_eq!(plain(-1234.5), "−1234");
        assert_eq!(plain(2.5e-7), "2.5×10⁻⁷");
        assert_eq!(plain(3.0), "3");
    }
}
