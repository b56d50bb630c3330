//! Where pass lines stand across a strip, and what is done with the width that is left over.
//!
//! The five answers to the left-over width follow the discussion of the same question for field
//! machines (Fields2Cover, pull request 168, 2024: a field 37 m wide, a tool 10 m wide); the example
//! there is a test here. One dimension only: the surface comes in where the offsets are used.

use crate::equipment::within;
use crate::error::RangeError;

/// Most pass lines across one strip.
pub const MAX_LINES: usize = 100_000;

/// What is done with the width that whole spacings leave over.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum LastLine {
    /// No line there: part of the strip stays bare.
    Drop,
    /// One more line, shifted back until the tool ends on the border: it overlaps its neighbour more.
    Shift,
    /// One more line at full spacing: the tool runs past the border.
    Spill,
    /// All lines moved together evenly, the tool inside the borders.
    Spread,
    /// First and last line on the borders themselves, the rest evenly between.
    #[default]
    EdgeToEdge,
}

/// Offsets of the pass lines from one border of a strip, rising \[m\].
///
/// `width` of the strip, `tool_width` (the outer lines stand half of it inside the borders; nought
/// puts them on the borders) and the largest `spacing` of neighbouring lines, all m. A strip narrower
/// than the tool gets one line along its middle with [`LastLine::Shift`] and [`LastLine::Spread`],
/// one at half the tool with [`LastLine::Spill`], none with [`LastLine::Drop`].
///
/// # Errors
/// Lengths that are negative, not finite or above 1 km, a spacing of nought, more than [`MAX_LINES`].
///
/// # Example
/// ```
/// use trochoid::motion::{LastLine, line_offsets};
/// // The outer lines 5 m inside: 27 m between them, three gaps of at most 10 m are 9 m each.
/// let lines = line_offsets(37.0, 10.0, 10.0, LastLine::Spread)?;
/// assert_eq!(lines, vec![5.0, 14.0, 23.0, 32.0]);
/// # Ok::<(), trochoid::RangeError>(())
/// ```
pub fn line_offsets(width: f64, tool_width: f64, spacing: f64, last: LastLine) -> Result<Vec<f64>, RangeError> {
    within("strip width", width, 0.0, 1e3, "m")?;
    within("tool width", tool_width, 0.0, 1e3, "m")?;
    if !(spacing.is_finite() && spacing > 0.0) {
        return Err(RangeError::new("line spacing", spacing * 1e3, "mm", "above 0"));
    }
    if width / spacing > MAX_LINES as f64 - 2.0 {
        let allowed = format!("a spacing that needs at most {MAX_LINES} lines");
        return Err(RangeError::new("line spacing", spacing * 1e3, "mm", allowed));
    }
    // A billionth of a spacing is rounding, not a remainder.
    let whole = |x: f64| (x / spacing + 1e-9).floor().max(0.0);
    let enough = |x: f64| (x / spacing - 1e-9).ceil().max(0.0);
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // bounded by MAX_LINES
    let stepped = |gaps: f64| (0..=gaps as usize).map(|i| 0.5 * tool_width + i as f64 * spacing).collect::<Vec<f64>>();
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)] // bounded by MAX_LINES
    let even = |from: f64, to: f64, gaps: f64| {
        (0..=gaps as usize).map(|i| from + (to - from) * i as f64 / gaps).collect::<Vec<f64>>()
    };
    let inner = width - tool_width;
    let narrow = inner < 1e-9 * spacing;
    Ok(match last {
        LastLine::Drop if inner < -1e-9 * spacing => Vec::new(),
        LastLine::Drop => stepped(whole(inner)),
        LastLine::Spill => stepped(enough(inner)),
        LastLine::Shift | LastLine::Spread if narrow => vec![0.5 * width],
        LastLine::Shift => {
            let mut lines = stepped(whole(inner));
            if enough(inner) > whole(inner) {
                lines.push(width - 0.5 * tool_width);
            }
            lines
        }
        LastLine::Spread => even(0.5 * tool_width, width - 0.5 * tool_width, enough(inner)),
        LastLine::EdgeToEdge if width <= 0.0 => vec![0.0],
        LastLine::EdgeToEdge => even(0.0, width, enough(width).max(1.0)),
    })
}
