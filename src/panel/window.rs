//! A square window of nodes, and the slope of the surface in it.
//!
//! On a whole window the terms of the quadratic separate into sums along x and along y; where the
//! window is cut by the grid or by a free edge, the full least squares is solved.

use super::HeightMap;
use super::polynomial::{PLANE, QUADRATIC, Sums};

/// Nodes within `half` of a node along x and y, and a point given from that node, in steps.
#[derive(Debug, Clone, Copy)]
pub(super) struct Window {
    pub(super) i: usize,
    pub(super) j: usize,
    pub(super) half: usize,
    pub(super) at: (f64, f64),
}

/// Distance to the edge from which a node counts as on the panel: one on the edge itself may come out
/// as off it by rounding.
pub(super) fn border(map: &HeightMap) -> f64 {
    -1e-6 * map.step()
}

impl Window {
    /// Slope where the whole window is on the grid and on the panel.
    pub(super) fn even_slope(&self, map: &HeightMap) -> Option<(f64, f64)> {
        let (nx, ny) = map.count();
        let h = self.half;
        if self.i < h || self.j < h || self.i + h >= nx || self.j + h >= ny {
            return None;
        }
        let width = 2 * h + 1;
        let (mut x1, mut y1, mut x2, mut y2, mut xy) = (0.0, 0.0, 0.0, 0.0, 0.0);
        let (mut sum, mut lowest) = (0.0, f64::INFINITY);
        for r in 0..width {
            let at = (self.j + r - h) * nx + self.i - h;
            let (z, edge) = (&map.heights()[at..at + width], &map.edge_distances()[at..at + width]);
            let (mut s, mut sx, mut sxx) = (0.0, 0.0, 0.0);
            for (c, (z, e)) in z.iter().zip(edge).enumerate() {
                let dx = c as f64 - h as f64;
                s += z;
                sx += dx * z;
                sxx += dx * dx * z;
                lowest = e.min(lowest);
            }
            let dy = r as f64 - h as f64;
            sum += s;
            x1 += sx;
            y1 += dy * s;
            x2 += sxx;
            y2 += dy * dy * s;
            xy += dy * sx;
        }
        if lowest < border(map) {
            return None;
        }
        // Moments of -h..h: n, Σd², Σd⁴.
        let (n, f) = (width as f64, h as f64);
        let m2 = n * (n * n - 1.0) / 12.0;
        let m4 = m2 * (3.0 * f * f + 3.0 * f - 1.0) / 5.0;
        let mean = m2 / n;
        let spread = n * (m4 - n * mean * mean);
        let (ax, ay) = (x1 / (n * m2), y1 / (n * m2));
        let (axx, ayy) = ((x2 - mean * sum) / spread, (y2 - mean * sum) / spread);
        let axy = xy / (m2 * m2);
        let (u, v) = self.at;
        Some(((ax + 2.0 * axx * u + axy * v) / map.step(), (ay + axy * u + 2.0 * ayy * v) / map.step()))
    }

    /// Slope by full least squares over the nodes on the panel, or over all of them where those on the
    /// panel are too few.
    pub(super) fn fitted_slope(&self, map: &HeightMap) -> (f64, f64) {
        let (nx, ny) = map.count();
        let narrow = self.half;
        // A small window at an edge holds two columns, which fix no quadratic: one node more does.
        let tries = [
            (true, QUADRATIC, narrow),
            (true, QUADRATIC, narrow + 1),
            (true, PLANE, narrow),
            (false, QUADRATIC, narrow),
        ];
        for (on_panel, n, h) in tries {
            // At least three nodes each way, also in the corner of the grid.
            let span = |c: usize, n: usize| (c.saturating_sub(h).min(n - 3), (c + h).clamp(2, n - 1));
            let ((i0, i1), (j0, j1)) = (span(self.i, nx), span(self.j, ny));
            let width = (2 * h + 1) as f64;
            let limit = if on_panel { border(map) } else { f64::NEG_INFINITY };
            let (m, r) = self.moments(map, h, (i0, i1), (j0, j1), limit);
            let points = m[0][0];
            // A quadratic through exactly six points would follow their noise.
            if on_panel && (points < 0.25 * width * width || points < 1.3 * n as f64) {
                continue;
            }
            if let Some(c) = Sums::from_moments(n, &m, &r).coefficients() {
                let (u, v) = (self.at.0 / h as f64, self.at.1 / h as f64);
                let scale = h as f64 * map.step();
                let quadratic = [c[1] + 2.0 * c[3] * u + c[4] * v, c[2] + c[4] * u + 2.0 * c[5] * v];
                return (quadratic[0] / scale, quadratic[1] / scale);
            }
        }
        // Three columns and rows always fix the last of these.
        (f64::NAN, f64::NAN)
    }

    /// Moments of the nodes whose edge distance is at least `limit`, in units of `h` steps from the middle
    /// node, and those of their heights over that of the middle node.
    fn moments(
        &self,
        map: &HeightMap,
        h: usize,
        (i0, i1): (usize, usize),
        (j0, j1): (usize, usize),
        limit: f64,
    ) -> ([[f64; 5]; 5], [[f64; 3]; 3]) {
        let nx = map.count().0;
        let base = map.heights()[self.j * nx + self.i];
        let unit = 1.0 / h as f64;
        let (mut m, mut r) = ([[0.0; 5]; 5], [[0.0; 3]; 3]);
        for j in j0..=j1 {
            let row = j * nx + i0..=j * nx + i1;
            // Sums of u^a and of height x u^a along the row.
            let (mut n, mut z) = ([0.0; 5], [0.0; 3]);
            let mut u = (i0 as f64 - self.i as f64) * unit;
            for (height, edge) in map.heights()[row.clone()].iter().zip(&map.edge_distances()[row]) {
                let one = if *edge >= limit { 1.0 } else { 0.0 };
                let (square, rise) = (u * u, one * (height - base));
                n[0] += one;
                n[1] += one * u;
                n[2] += one * square;
                n[3] += one * square * u;
                n[4] += one * square * square;
                z[0] += rise;
                z[1] += rise * u;
                z[2] += rise * square;
                u += unit;
            }
            let v = (j as f64 - self.j as f64) * unit;
            let mut power = 1.0;
            for b in 0..5 {
                for a in 0..5 - b {
                    m[a][b] += power * n[a];
                }
                for a in 0..3_usize.saturating_sub(b) {
                    r[a][b] += power * z[a];
                }
                power *= v;
            }
        }
        (m, r)
    }
}
