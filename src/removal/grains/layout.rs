//! Where the grains sit on the face of a pad: at random, evenly, or at given places.
//!
//! Not the abrasive itself: no shape, no wear, no breakage. Every grain stands for the same share of
//! the face's area, so that sums over grains estimate integrals over the face.

use crate::error::RangeError;
use crate::math::random::Seed;
use crate::motion::Face;
use core::f64::consts::{PI, TAU};

/// Most grains of one simulation.
pub const MAX_GRAINS: usize = 4_000_000;

/// How far an even layout is shaken, in mean spacings to either side.
const SHAKE: f64 = 0.25;

/// Grains on a face, in the pad's own axes.
///
/// # Example
/// ```
/// use trochoid::math::random::Seed;
/// use trochoid::motion::Face;
/// use trochoid::removal::Grains;
/// use trochoid::{CompressionLaw, Length, Pad, Stiffness};
/// # fn main() -> Result<(), trochoid::RangeError> {
/// # let foam = CompressionLaw::linear(Stiffness::from_kpa_per_mm(1.0))?;
/// let face = Face::new(&Pad::new(Length::from_mm(140.0), Length::from_mm(25.0), foam)?, 9e-3);
/// // Over a disc of 70 mm the mean of r² is R²/2: to some 0.6 % by 10 000 grains at random, closer if even.
/// let mean = |g: &Grains| (0..g.len()).map(|i| g.place(i).0.powi(2) + g.place(i).1.powi(2)).sum::<f64>() / g.len() as f64;
/// assert!((mean(&Grains::random(&face, 10_000, Seed::new(1))?) / 0.00245 - 1.0).abs() < 0.02);
/// assert!((mean(&Grains::even(&face, 10_000, Seed::new(1))?) / 0.00245 - 1.0).abs() < 0.005);
/// // 80 mm from the centre there is no face.
/// assert!(Grains::at(&face, &[(0.08, 0.0)]).is_err());
/// # Ok(())
/// # }
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct Grains {
    x: Vec<f64>,
    y: Vec<f64>,
    heights: Vec<f64>,
}

fn counted(count: usize) -> Result<(), RangeError> {
    if count == 0 || count > MAX_GRAINS {
        return Err(RangeError::new("grains", count as f64, "", format!("1 to {MAX_GRAINS}")));
    }
    Ok(())
}

impl Grains {
    /// `count` grains thrown independently and evenly over the face, its hole left out.
    ///
    /// # Accuracy
    /// The relative error of a mean over the face is c/√count, with c the relative standard deviation of
    /// what is averaged: plain Monte Carlo.
    ///
    /// # Errors
    /// No grain, or more than [`MAX_GRAINS`].
    pub fn random(face: &Face, count: usize, seed: Seed) -> Result<Self, RangeError> {
        Self::spread(face, count, |i| (seed.uniform(0, i as u64), TAU * seed.uniform(1, i as u64)))
    }

    /// `count` grains spread evenly but without a lattice (blue noise): the seeds of a sunflower, each
    /// shaken by a quarter of their spacing, the whole turned by a random angle. See the example of
    /// [`Grains`].
    ///
    /// # Accuracy
    /// Low frequencies are suppressed: the number of grains in a disc scatters several times less than
    /// in [`Grains::random`], and so do means over the face.
    ///
    /// # Errors
    /// As [`Grains::random`].
    ///
    /// # References
    /// H. Vogel, Math. Biosci. 44 (1979) 179-189 (the sunflower); shaking and turning are own.
    pub fn even(face: &Face, count: usize, seed: Seed) -> Result<Self, RangeError> {
        let n = count as f64;
        let golden = PI * (3.0 - 5.0_f64.sqrt());
        let first = TAU * seed.uniform(2, 0);
        let (inner, ring) = (face.hole() * face.hole(), face.radius().powi(2) - face.hole().powi(2));
        // The mean spacing, m.
        let spacing = (PI * ring / n).sqrt();
        Self::spread(face, count, |i| {
            let place = i as f64 + 0.5;
            let radius = (inner + ring * place / n).sqrt();
            let shake = |stream: u64| SHAKE * spacing * (2.0 * seed.uniform(stream, i as u64) - 1.0);
            // A radial step as a step in enclosed area, folded back at centre and rim, keeps the density even.
            let share = (place + 2.0 * radius * shake(0) * n / ring).abs();
            let share = if share > n { 2.0 * n - share } else { share };
            ((share / n).clamp(0.0, 1.0), first + golden * i as f64 + shake(1) / radius.max(spacing))
        })
    }

    /// Grains from their share of the enclosed area and their angle.
    fn spread(face: &Face, count: usize, place: impl Fn(usize) -> (f64, f64)) -> Result<Self, RangeError> {
        counted(count)?;
        let (inner, ring) = (face.hole() * face.hole(), face.radius().powi(2) - face.hole().powi(2));
        let (mut x, mut y) = (Vec::with_capacity(count), Vec::with_capacity(count));
        for i in 0..count {
            let (share, angle) = place(i);
            let radius = (inner + ring * share).sqrt();
            x.push(radius * angle.cos());
            y.push(radius * angle.sin());
        }
        Ok(Self { x, y, heights: Vec::new() })
    }

    /// Grains at given places from the pad centre \[m\]. See the example of [`Grains`].
    ///
    /// # Errors
    /// No place or more than [`MAX_GRAINS`]; a place that is not on the face.
    pub fn at(face: &Face, places: &[(f64, f64)]) -> Result<Self, RangeError> {
        counted(places.len())?;
        for (x, y) in places {
            let r = x.hypot(*y);
            let slack = 1e-12 * face.radius();
            if !(r >= face.hole() - slack && r <= face.radius() + slack) {
                return Err(RangeError::new(
                    "grain's distance from the pad centre",
                    r * 1e3,
                    "mm",
                    format!("{} to {} mm, on the face", face.hole() * 1e3, face.radius() * 1e3),
                ));
            }
        }
        let (x, y) = places.iter().copied().unzip();
        Ok(Self { x, y, heights: Vec::new() })
    }

    /// The same grains, each standing out of the face by its height \[m\] (negative: set back). The foam
    /// behind a grain is compressed by as much more, and its pressure follows from the compression law.
    ///
    /// # Assumptions
    /// Heave is that of the face without heights: with heights of zero mean the force is kept for a
    /// linear law in full contact only.
    ///
    /// # Errors
    /// Another number of heights than grains; a height beyond 10 mm or not finite.
    pub fn with_heights(mut self, heights: Vec<f64>) -> Result<Self, RangeError> {
        if heights.len() != self.len() {
            return Err(RangeError::new(
                "grain heights",
                heights.len() as f64,
                "",
                format!("{}, one a grain", self.len()),
            ));
        }
        for h in &heights {
            crate::equipment::within("grain height", h * 1e3, -10.0, 10.0, "mm")?;
        }
        self.heights = heights;
        Ok(self)
    }

    /// Number of grains.
    #[must_use]
    pub const fn len(&self) -> usize {
        self.x.len()
    }

    /// Whether there are none; never so.
    #[must_use]
    pub const fn is_empty(&self) -> bool {
        self.x.is_empty()
    }

    /// Place of a grain from the pad centre \[m\].
    #[must_use]
    pub fn place(&self, i: usize) -> (f64, f64) {
        (self.x[i], self.y[i])
    }

    /// How far a grain stands out of the face \[m\]; 0 where no heights were given.
    #[must_use]
    pub fn height(&self, i: usize) -> f64 {
        self.heights.get(i).copied().unwrap_or(0.0)
    }

    /// Whether grains have heights of their own.
    #[must_use]
    pub const fn have_heights(&self) -> bool {
        !self.heights.is_empty()
    }

    /// Indices in the order of work: neighbours on the face stay within one block of `block` grains, so
    /// that the cells they touch stay in the nearest cache, and inside a block the order is mixed, so
    /// that two deposits in a row seldom wait for the same cell.
    pub(super) fn in_blocks(&self, block: usize) -> Vec<usize> {
        let reach = (0..self.len()).map(|i| self.x[i].abs().max(self.y[i].abs())).fold(1e-9, f64::max);
        // 0 to 65535 along each side.
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
        let side = |v: f64| ((v / reach + 1.0) * 32_767.5) as u32;
        let spread = |v: u32| {
            // Every other bit of a Morton code.
            let mut v = u64::from(v);
            for (shift, mask) in [(8, 0x00FF_00FF_u64), (4, 0x0F0F_0F0F), (2, 0x3333_3333), (1, 0x5555_5555)] {
                v = (v | (v << shift)) & mask;
            }
            v
        };
        let mut order: Vec<usize> = (0..self.len()).collect();
        order.sort_by_cached_key(|i| (spread(side(self.x[*i])) | (spread(side(self.y[*i])) << 1), *i));
        let seed = Seed::new(0);
        for chunk in order.chunks_mut(block.max(1)) {
            chunk.sort_by_cached_key(|i| seed.bits(0, *i as u64));
        }
        order
    }
}
