//! The cautions under every plan, in words: on the terminal and in the printable report.

/// One caution a line.
pub const CAUTIONS: [&str; 7] = [
    "Every number is advice with its uncertainty, not a guarantee: prove it on a test spot first.",
    "Edges and body lines burn through first: tape them and stay off with the rim.",
    "Hot paint and plastics give way: feel the panel often, stop when it is too hot to keep a hand on.",
    "Wear eye and ear protection and a dust mask; keep cords and loose clothing off a turning pad.",
    "A pad lifted while running spins up and flings product: start and stop on the panel.",
    "Vibration adds up over a day: follow the local rules on exposure and take breaks.",
    "Where local codes or a licensed practice say otherwise, they hold.",
];

/// The cautions as plain text: a heading and one indented line each.
///
/// # Example
/// ```
/// use trochoid::report::{CAUTIONS, cautions_text};
/// assert_eq!(cautions_text().lines().count(), 1 + CAUTIONS.len());
/// ```
#[must_use]
pub fn cautions_text() -> String {
    let mut out = String::from("Cautions\n");
    for line in CAUTIONS {
        out.push_str("  ");
        out.push_str(line);
        out.push('\n');
    }
    out
}
