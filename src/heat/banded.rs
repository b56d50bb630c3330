//! Cholesky factor of a symmetric, positive definite band: made once, solved many times.

/// L of A = L Lᵀ; row i holds columns i−width..=i, the diagonal (its inverse) last.
#[derive(Debug, Clone)]
pub(super) struct Band {
    width: usize,
    factor: Vec<f64>,
}

impl Band {
    /// Factors `lower`, rows of `width` + 1 entries: columns i−width..=i. Entries before the first column
    /// are ignored. The matrices here are diagonally dominant, so that no pivot can fail.
    pub(super) fn new(width: usize, mut lower: Vec<f64>) -> Self {
        let row = width + 1;
        let n = lower.len() / row;
        for i in 0..n {
            let first = i.saturating_sub(width);
            for j in first..=i {
                let start = first.max(j.saturating_sub(width));
                let a = &lower[i * row + start + width - i..i * row + j + width - i];
                let b = &lower[j * row + start + width - j..j * row + width];
                let dot: f64 = a.iter().zip(b).map(|(x, y)| x * y).sum();
                let left = lower[i * row + j + width - i] - dot;
                lower[i * row + j + width - i] = if i == j { 1.0 / left.sqrt() } else { left * lower[j * row + width] };
            }
        }
        Self { width, factor: lower }
    }

    /// Solves in place.
    pub(super) fn solve(&self, x: &mut [f64]) {
        let (w, row) = (self.width, self.width + 1);
        for i in 0..x.len() {
            let first = i.saturating_sub(w);
            let f = &self.factor[i * row + first + w - i..(i + 1) * row];
            let (known, here) = x.split_at_mut(i);
            let dot: f64 = f.iter().zip(&known[first..]).map(|(a, b)| a * b).sum();
            if let (Some(v), Some(inverse)) = (here.first_mut(), f.last()) {
                *v = (*v - dot) * inverse;
            }
        }
        for i in (0..x.len()).rev() {
            let first = i.saturating_sub(w);
            let f = &self.factor[i * row + first + w - i..(i + 1) * row];
            let (rest, here) = x.split_at_mut(i);
            if let (Some(v), Some((inverse, f))) = (here.first_mut(), f.split_last()) {
                *v *= inverse;
                for (r, a) in rest[first..].iter_mut().zip(f) {
                    *r -= a * *v;
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn solves_what_it_factored() {
        let (n, w) = (23, 4);
        let entry = |i: usize, j: usize| if i == j { 9.0 + i as f64 } else { -1.0 / (1.0 + (i + j) as f64 % 3.0) };
        let near = |i: usize, j: usize| i.abs_diff(j) <= w;
        let lower =
            (0..n).flat_map(|i| (0..=w).map(move |k| if i + k >= w { entry(i, i + k - w) } else { 0.0 })).collect();
        let band = Band::new(w, lower);
        let x: Vec<f64> = (0..n).map(|i| (i as f64).sin()).collect();
        let mut b: Vec<f64> =
            (0..n).map(|i| (0..n).filter(|j| near(i, *j)).map(|j| entry(i.max(j), i.min(j)) * x[j]).sum()).collect();
        band.solve(&mut b);
        for (a, b) in x.iter().zip(&b) {
            assert!((a - b).abs() < 1e-13, "rounding of 23 unknowns: {a} {b}");
        }
    }
}
