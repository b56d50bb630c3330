//! Finding room for words: the free place that crosses the fewest lines.

use super::canvas::{Area, Place, clip_line};

/// What is already on the picture.
#[derive(Debug, Clone, Default)]
pub(crate) struct Clutter {
    taken: Vec<Area>,
    segments: Vec<(usize, Place, Place)>,
    lines: usize,
}

impl Clutter {
    /// Marks an area that no word may touch.
    pub fn take(&mut self, area: Area) {
        self.taken.push(area);
    }

    /// Marks a line that words should not cross. Points closer than three units
    /// are skipped: words are larger.
    pub fn avoid(&mut self, points: &[Place]) {
        let mut last: Option<Place> = None;
        self.lines += 1;
        for &p in points {
            if !p.0.is_finite() || !p.1.is_finite() {
                last = None;
                continue;
            }
            match last {
                Some(q) if (p.0 - q.0).hypot(p.1 - q.1) < 3.0 => {}
                Some(q) => {
                    self.segments.push((self.lines, q, p));
                    last = Some(p);
                }
                None => last = Some(p),
            }
        }
    }

    /// True if no word stands in the area.
    pub fn free(&self, area: &Area) -> bool {
        !self.taken.iter().any(|t| t.overlaps(area))
    }

    /// Number of lines, not of their segments, that run through the area.
    fn crossings(&self, area: &Area) -> usize {
        let mut count = 0;
        let mut last = 0;
        for (line, a, b) in &self.segments {
            if *line != last
                && a.0.min(b.0) < area.right
                && a.0.max(b.0) > area.left
                && a.1.min(b.1) < area.bottom
                && a.1.max(b.1) > area.top
                && !clip_line(&[*a, *b], *area).is_empty()
            {
                count += 1;
                last = *line;
            }
        }
        count
    }

    /// The candidate inside `within`, on no taken area, crossing the fewest lines;
    /// the earliest of equals. It is taken from then on. The second value is the
    /// number of lines it crosses.
    pub fn choose(&mut self, candidates: impl IntoIterator<Item = Area>, within: &Area) -> Option<(Area, usize)> {
        let mut best: Option<(Area, usize)> = None;
        for area in candidates {
            if !area.inside(within) || !self.free(&area) {
                continue;
            }
            let cost = self.crossings(&area);
            if best.is_none_or(|(_, least)| cost < least) {
                best = Some((area, cost));
                if cost == 0 {
                    break;
                }
            }
        }
        if let Some((area, _)) = best {
            self.take(area.grown(2.0));
        }
        best
    }
}

/// Moves wanted centres apart so that items of the given heights do not overlap
/// and stay between `top` and `bottom`, each as near to its wish as the order
/// allows. `wishes` must be sorted. `None` if they do not fit.
pub(crate) fn spread(wishes: &[f64], heights: &[f64], top: f64, bottom: f64) -> Option<Vec<f64>> {
    if heights.iter().sum::<f64>() > bottom - top {
        return None;
    }
    // Blocks of touching items, merged while they overlap (pool adjacent violators).
    let mut blocks: Vec<(f64, f64, usize)> = Vec::new(); // start, length, count
    for (wish, height) in wishes.iter().zip(heights) {
        let start = (wish - height / 2.0).clamp(top, bottom - height);
        blocks.push((start, *height, 1));
        while blocks.len() > 1 {
            let (b, a) = (blocks[blocks.len() - 1], blocks[blocks.len() - 2]);
            if a.0 + a.1 <= b.0 {
                break;
            }
            let length = a.1 + b.1;
            let weight = a.2 as f64 / (a.2 + b.2) as f64;
            let start = a.0 * weight + (b.0 - a.1) * (1.0 - weight);
            let start = start.clamp(top, bottom - length);
            blocks.pop();
            blocks.pop();
            blocks.push((start, length, a.2 + b.2));
        }
    }
    let mut centres = Vec::with_capacity(wishes.len());
    let mut next = 0;
    for (start, _, count) in blocks {
        let mut edge = start;
        for height in &heights[next..next + count] {
            centres.push(edge + height / 2.0);
            edge += height;
        }
        next += count;
    }
    Some(centres)
}

#[cfg(test)]
#[allow(clippy::unwrap_used, reason = "a test may stop at the first surprise")]
mod tests {
    use super::*;

    #[test]
    fn spread_items_neither_touch_nor_leave() {
        let wishes = [5.0, 5.0, 6.0, 50.0, 99.0, 99.5];
        let heights = [10.0; 6];
        let centres = spread(&wishes, &heights, 0.0, 100.0).unwrap();
        for pair in centres.windows(2) {
            // 1e-9: sums of a few numbers below 100.
            assert!(pair[1] - pair[0] >= 10.0 - 1e-9, "{centres:?}");
        }
        assert!(centres[0] >= 5.0 - 1e-9 && centres[5] <= 95.0 + 1e-9);
        assert!((centres[3] - 50.0).abs() < 1e-9, "an undisturbed item moved");
        assert!(spread(&wishes, &[20.0; 6], 0.0, 100.0).is_none());
    }

    #[test]
    fn a_word_takes_the_free_place() {
        let mut clutter = Clutter::default();
        clutter.avoid(&[(0.0, 5.0), (100.0, 5.0)]);
        let within = Area::new(0.0, 0.0, 100.0, 100.0);
        let on_line = Area::new(10.0, 0.0, 30.0, 10.0);
        let clear = Area::new(10.0, 20.0, 30.0, 30.0);
        let (first, cost) = clutter.choose([on_line, clear], &within).unwrap();
        assert!(first == clear && cost == 0);
        let (second, cost) = clutter.choose([clear, on_line], &within).unwrap();
        assert!(second == on_line && cost == 1);
        assert!(clutter.choose([clear, on_line], &within).is_none());
    }
}
