//! Ordered parallel work: the only file that imports rayon.
//!
//! Work is cut into fixed chunks by index, never by thread, and results come back in index order,
//! so that every thread count gives the same bits.

/// Applies `f` to `0..count` and returns the results in order.
///
/// Runs on the current thread pool with the `parallel` feature, one after the other without it.
#[cfg(feature = "parallel")]
pub fn map_indexed<T: Send>(count: usize, f: impl Fn(usize) -> T + Sync + Send) -> Vec<T> {
    use rayon::prelude::*;
    (0..count).into_par_iter().map(f).collect()
}

/// Applies `f` to `0..count` and returns the results in order.
#[cfg(not(feature = "parallel"))]
pub fn map_indexed<T: Send>(count: usize, f: impl Fn(usize) -> T + Sync + Send) -> Vec<T> {
    (0..count).map(f).collect()
}

/// Calls `f(first_row, rows)` on fixed bands of `band` rows of `width` values each.
#[cfg(feature = "parallel")]
pub fn for_bands(values: &mut [f64], width: usize, band: usize, f: impl Fn(usize, &mut [f64]) + Sync + Send) {
    use rayon::prelude::*;
    let chunk = (width * band).max(1);
    values.par_chunks_mut(chunk).enumerate().for_each(|(i, rows)| f(i * band, rows));
}

/// Calls `f(first_row, rows)` on fixed bands of `band` rows of `width` values each.
#[cfg(not(feature = "parallel"))]
pub fn for_bands(values: &mut [f64], width: usize, band: usize, f: impl Fn(usize, &mut [f64]) + Sync + Send) {
    let chunk = (width * band).max(1);
    values.chunks_mut(chunk).enumerate().for_each(|(i, rows)| f(i * band, rows));
}

/// Runs `f` on a pool of exactly `threads` threads (1 to 1024).
///
/// Without the `parallel` feature, or where no pool can be made, `f` runs on this thread: the
/// result is the same either way.
#[cfg(feature = "parallel")]
pub fn with_threads<T: Send>(threads: usize, f: impl FnOnce() -> T + Send) -> T {
    match rayon::ThreadPoolBuilder::new().num_threads(threads.clamp(1, 1024)).build() {
        Ok(pool) => pool.install(f),
        Err(_) => f(),
    }
}

/// Runs `f` on this thread.
#[cfg(not(feature = "parallel"))]
pub fn with_threads<T: Send>(_threads: usize, f: impl FnOnce() -> T + Send) -> T {
    f()
}
