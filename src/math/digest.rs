//! A digest that tells whether two texts are the same: FNV-1a, 128 bits (Fowler, Noll and Vo; offset basis
//! and prime as in the IETF draft `draft-eastlake-fnv`, from memory, with the published digest of "a" in
//! the tests).
//!
//! It finds mix-ups. It does not withstand someone who makes two texts of the same digest on purpose.

/// A digest of bytes that are put in one after the other; the default has seen none.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Digest(u128);

impl Default for Digest {
    fn default() -> Self {
        Self(0x6c62_272e_07bb_0142_62b8_2175_6295_c58d)
    }
}

impl Digest {
    /// Puts in more bytes; how they are split over the calls does not count.
    ///
    /// ```text
    /// d ← (d ⊕ byte)·(2⁸⁸ + 0x13b) mod 2¹²⁸
    /// ```
    ///
    /// # Example
    /// ```
    /// use trochoid::math::digest::Digest;
    /// assert_eq!(Digest::default().with(b"a").hex(), "d228cb696f1a8caf78912b704e4a8964");
    /// ```
    #[must_use]
    pub fn with(self, bytes: &[u8]) -> Self {
        const PRIME: u128 = 0x0100_0000_0000_0000_0000_013b;
        Self(bytes.iter().fold(self.0, |d, b| (d ^ u128::from(*b)).wrapping_mul(PRIME)))
    }

    /// Puts in a text and its end, so that two texts cannot run into one another.
    #[must_use]
    pub fn with_text(self, text: &str) -> Self {
        self.with(text.as_bytes()).with(&[0xff])
    }

    /// Thirty-two hexadecimal digits.
    #[must_use]
    pub fn hex(self) -> String {
        format!("{:032x}", self.0)
    }
}
