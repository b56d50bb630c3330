//! Few kits for all zones: each kit costs its pad swap and priming once, each tool beyond the first its
//! swap, each zone the time of the kit that works it.
//!
//! With up to [`MOST_EXACT_KITS`] kits (after those that another of the same tool beats everywhere are
//! left out) every choice of kits is tried. Beyond that a greedy search adds, drops and exchanges kits
//! while that helps; it can end in a local best, and a test tells how far from the exact one.

/// What each kit costs.
#[derive(Debug, Clone, PartialEq)]
pub struct KitCosts {
    /// Time of each zone with each kit, s; `None` where the kit cannot work it.
    pub work_s: Vec<Vec<Option<f64>>>,
    /// Taking a kit into use, s.
    pub open_s: Vec<f64>,
    /// Tool of each kit.
    pub tool: Vec<usize>,
    /// Taking one more tool into use, s.
    pub tool_s: f64,
}

/// Most kits of which every choice is tried.
pub const MOST_EXACT_KITS: usize = 14;

impl KitCosts {
    fn kits(&self) -> usize {
        self.open_s.len()
    }

    fn zones_with_work(&self) -> impl Iterator<Item = &Vec<Option<f64>>> {
        self.work_s.iter().filter(|z| z.iter().any(Option::is_some))
    }

    /// Cheapest kit of a zone among those in use: the first of equals.
    fn cheapest(zone: &[Option<f64>], used: &[bool]) -> Option<(usize, f64)> {
        let mut best: Option<(usize, f64)> = None;
        for (k, cost) in zone.iter().enumerate().filter(|(k, _)| used[*k]) {
            if let Some(c) = cost
                && best.is_none_or(|(_, b)| *c < b)
            {
                best = Some((k, *c));
            }
        }
        best
    }

    /// Cost of working everything with the kits in use \[s\]; infinite where a zone is left over.
    #[must_use]
    pub fn total(&self, used: &[bool]) -> f64 {
        let mut tools: Vec<usize> = (0..self.kits()).filter(|k| used[*k]).map(|k| self.tool[k]).collect();
        tools.sort_unstable();
        tools.dedup();
        let mut sum = self.tool_s * tools.len().saturating_sub(1) as f64;
        sum += (0..self.kits()).filter(|k| used[*k]).map(|k| self.open_s[k]).sum::<f64>();
        for zone in self.zones_with_work() {
            match Self::cheapest(zone, used) {
                Some((_, cost)) => sum += cost,
                None => return f64::INFINITY,
            }
        }
        sum
    }

    /// Kits worth trying: they can work something, and no other kit of the same tool is at least as cheap
    /// everywhere.
    fn useful(&self) -> Vec<usize> {
        let able = |k: usize| self.work_s.iter().any(|z| z[k].is_some());
        let beats = |j: usize, k: usize| {
            let cost = |z: &[Option<f64>], i: usize| z[i].unwrap_or(f64::INFINITY);
            let nowhere_worse =
                self.work_s.iter().all(|z| cost(z, j) <= cost(z, k)) && self.open_s[j] <= self.open_s[k];
            let alike = self.work_s.iter().all(|z| cost(z, j) >= cost(z, k)) && self.open_s[j] >= self.open_s[k];
            // Of two alike the first stays.
            self.tool[j] == self.tool[k] && nowhere_worse && (!alike || j < k)
        };
        (0..self.kits()).filter(|k| able(*k) && !(0..self.kits()).any(|j| j != *k && able(j) && beats(j, *k))).collect()
    }

    fn assign(&self, used: &[bool]) -> Vec<Option<usize>> {
        self.work_s.iter().map(|z| Self::cheapest(z, used).map(|(k, _)| k)).collect()
    }
}

/// A kit for each zone; `None` where none can work it.
///
/// ```text
/// cost = Σ_zones t(zone, its kit) + Σ_kits used t_open + (tools used − 1) t_tool        [s]
/// ```
///
/// # Accuracy
/// Exact for up to [`MOST_EXACT_KITS`] kits worth trying, at the cost of every choice of them; beyond that as
/// [`choose_kits_greedily`].
///
/// # Example
/// ```
/// use trochoid::plan::vehicle::{KitCosts, choose_kits};
/// // Two zones, two kits on one tool; the second kit cannot work the second zone.
/// let costs = KitCosts {
///     work_s: vec![vec![Some(600.0), Some(500.0)], vec![Some(400.0), None]],
///     open_s: vec![60.0, 60.0],
///     tool: vec![0, 0],
///     tool_s: 120.0,
/// };
/// // The first kit alone takes 600 + 400 + 60 = 1060 s, both take 500 + 400 + 2·60 = 1020 s.
/// assert!((costs.total(&[true, false]) - 1060.0).abs() < 1e-9);
/// assert!((costs.total(&[true, true]) - 1020.0).abs() < 1e-9);
/// assert_eq!(choose_kits(&costs), [Some(1), Some(0)]);
/// ```
#[must_use]
pub fn choose_kits(costs: &KitCosts) -> Vec<Option<usize>> {
    let useful = costs.useful();
    if useful.len() > MOST_EXACT_KITS {
        return choose_kits_greedily(costs);
    }
    let mut best: (f64, Vec<bool>) = (f64::INFINITY, vec![false; costs.kits()]);
    for choice in 0_u32..1 << useful.len() {
        let mut used = vec![false; costs.kits()];
        for (bit, k) in useful.iter().enumerate() {
            used[*k] = choice & (1 << bit) != 0;
        }
        let total = costs.total(&used);
        // The first of equals stays.
        if total < best.0 {
            best = (total, used);
        }
    }
    costs.assign(&best.1)
}

/// As [`choose_kits`], by adding, dropping and exchanging kits while that lowers the cost.
///
/// # Accuracy
/// It can end in a local best; the tests tell how far from the exact choice.
///
/// # Example
/// ```
/// use trochoid::plan::vehicle::{KitCosts, choose_kits_greedily};
/// // From both kits on: dropping the first saves its 100 s and costs 30 s more work.
/// let work_s = vec![vec![Some(200.0), Some(230.0)]];
/// let costs = KitCosts { work_s, open_s: vec![100.0, 40.0], tool: vec![0, 0], tool_s: 0.0 };
/// assert_eq!(choose_kits_greedily(&costs), [Some(1)]);
/// ```
#[must_use]
pub fn choose_kits_greedily(costs: &KitCosts) -> Vec<Option<usize>> {
    let useful = costs.useful();
    // Start from all of them, which leaves no zone over.
    let mut used = vec![false; costs.kits()];
    for k in &useful {
        used[*k] = true;
    }
    let mut now = costs.total(&used);
    loop {
        let mut best: Option<(f64, Vec<bool>)> = None;
        let mut consider = |trial: Vec<bool>| {
            let total = costs.total(&trial);
            if total < best.as_ref().map_or(now, |b| b.0) {
                best = Some((total, trial));
            }
        };
        for k in &useful {
            let mut flipped = used.clone();
            flipped[*k] = !flipped[*k];
            consider(flipped);
            for j in useful.iter().filter(|j| used[*k] && !used[**j]) {
                let mut exchanged = used.clone();
                exchanged[*k] = false;
                exchanged[*j] = true;
                consider(exchanged);
            }
        }
        match best {
            Some((total, trial)) => (now, used) = (total, trial),
            None => return costs.assign(&used),
        }
    }
}
