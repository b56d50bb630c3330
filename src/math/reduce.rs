//! Ordered parallel work: the only file that imports rayon.
//!
//! Work is cut into fixed chunks by index, never by thread, and results come back in index order,
//! so that every thread count gives the same bits.

/// Applies `f` to `0..count` and returns the results in order.
///
/// Runs on the current thread pool with the `parallel` feature, one after the other without it. The bits
/// are the same as long as `f` depends on its index alone.
///
/// # Example
/// ```
/// use trochoid::math::reduce::map_indexed;
/// assert_eq!(map_indexed(4, |i| i * i), [0, 1, 4, 9]);
/// ```
pub fn map_indexed<T: Send>(count: usize, f: impl Fn(usize) -> T + Sync + Send) -> Vec<T> {
    #[cfg(feature = "parallel")]
    {
        use rayon::prelude::*;
        (0..count).into_par_iter().map(f).collect()
    }
    #[cfg(not(feature = "parallel"))]
    (0..count).map(f).collect()
}

/// Calls `f(first_row, rows)` on fixed bands of `band` rows of `width` values each; the last band may be
/// shorter. A band or width of 0 makes bands of one value.
///
/// Bands run at the same time with the `parallel` feature, one after the other without it.
///
/// # Example
/// ```
/// use trochoid::math::reduce::for_bands;
/// // Five rows of two values in bands of two rows: they start at rows 0, 2 and 4.
/// let mut values = [0.0; 10];
/// for_bands(&mut values, 2, 2, |first, rows| rows.fill(first as f64));
/// assert_eq!(values, [0.0, 0.0, 0.0, 0.0, 2.0, 2.0, 2.0, 2.0, 4.0, 4.0]);
/// ```
pub fn for_bands(values: &mut [f64], width: usize, band: usize, f: impl Fn(usize, &mut [f64]) + Sync + Send) {
    let chunk = (width * band).max(1);
    #[cfg(feature = "parallel")]
    {
        use rayon::prelude::*;
        values.par_chunks_mut(chunk).enumerate().for_each(|(i, rows)| f(i * band, rows));
    }
    #[cfg(not(feature = "parallel"))]
    values.chunks_mut(chunk).enumerate().for_each(|(i, rows)| f(i * band, rows));
}

/// Runs `f` on a pool of `threads` threads; fewer than 1 or more than 1024 are taken to the nearer of these.
///
/// Without the `parallel` feature, or where no pool can be made, `f` runs on this thread: the
/// result is the same either way.
///
/// # Example
/// ```
/// use trochoid::math::reduce::{map_indexed, with_threads};
/// // The harmonic numbers' terms, summed in order: the same bits on one thread and on three.
/// let sum = || map_indexed(1000, |i| 1.0 / (i + 1) as f64).iter().sum::<f64>();
/// let (one, three) = (with_threads(1, sum), with_threads(3, sum));
/// assert_eq!(one.to_bits(), three.to_bits());
/// ```
pub fn with_threads<T: Send>(threads: usize, f: impl FnOnce() -> T + Send) -> T {
    #[cfg(feature = "parallel")]
    if let Ok(pool) = rayon::ThreadPoolBuilder::new().num_threads(threads.clamp(1, 1024)).build() {
        return pool.install(f);
    }
    #[cfg(not(feature = "parallel"))]
    let _ = threads;
    f()
}
