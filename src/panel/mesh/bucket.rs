//! Items by key in linear time: a counting sort, which keeps the order of equal keys.

/// Items sorted by a key in `0..keys`.
pub(super) struct Buckets<T> {
    start: Vec<u32>,
    items: Vec<T>,
}

impl<T: Copy + Default> Buckets<T> {
    /// Sorts the items, which are walked twice.
    pub fn new(keys: usize, items: impl Iterator<Item = (u32, T)> + Clone) -> Self {
        let mut start = vec![0_u32; keys + 1];
        for (k, _) in items.clone() {
            start[k as usize + 1] += 1;
        }
        for k in 0..keys {
            start[k + 1] += start[k];
        }
        let mut next = start.clone();
        let mut sorted = vec![T::default(); start[keys] as usize];
        for (k, item) in items {
            let at = &mut next[k as usize];
            sorted[*at as usize] = item;
            *at += 1;
        }
        Self { start, items: sorted }
    }

    /// Items with a key.
    pub fn of(&self, key: usize) -> &[T] {
        &self.items[self.start[key] as usize..self.start[key + 1] as usize]
    }

    /// Items with a key, to be sorted further in place.
    pub fn of_mut(&mut self, key: usize) -> &mut [T] {
        &mut self.items[self.start[key] as usize..self.start[key + 1] as usize]
    }

    /// Number of keys.
    pub fn keys(&self) -> usize {
        self.start.len() - 1
    }
}
