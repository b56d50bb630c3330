//! Fields over a panel.
use core::fmt;
/// Why a map cannot be made.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub enum FieldError {
    /// The grid would need more memory than the bound.
    TooLarge {
        /// Bytes that the grid would need.
        bytes: f64,
    },
}
impl fmt::Display for FieldError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::TooLarge { bytes } => write!(f, "the grid would need {:.1} GiB, more than the 2 GiB allowed", bytes / 1_073_741_824.0),
        }
    }
}
impl std::error::Error for FieldError {}
