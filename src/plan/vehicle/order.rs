//! The order of the kits: all cutting before all refining, so that no compound dust falls on what is
//! finished, and within that as little swapping as there can be.
//!
//! A tool keeps the pad that is on it while the other is in the hand: coming back to it costs the tool
//! swap alone. The first pad of each tool is put on while setting up. Up to [`MOST_EXACT_GROUPS`] groups
//! every order is tried; beyond that the cheapest next one is taken from every start and the best kept.

use crate::units::Time;

/// Whether a group cuts or refines.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Phase {
    /// Takes defects away.
    Cut,
    /// Takes the haze of the cut away.
    Refine,
}

impl Phase {
    /// The word for it.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Cut => "cut",
            Self::Refine => "refine",
        }
    }
}

/// What is done with one kit in one phase.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Group {
    /// Tool.
    pub tool: usize,
    /// Kit: pad and product on that tool.
    pub kit: usize,
    /// Phase.
    pub phase: Phase,
}

/// An order with what its swaps take.
#[derive(Debug, Clone, PartialEq)]
pub struct Order {
    /// Indices of the groups.
    pub sequence: Vec<usize>,
    /// Tool swaps.
    pub tool_swaps: usize,
    /// Pad swaps.
    pub pad_swaps: usize,
    /// Time of all swaps.
    pub time: Time,
    /// Whether every order was tried.
    pub exact: bool,
}

/// Most groups of which every order is tried.
pub const MOST_EXACT_GROUPS: usize = 8;

/// Tool in the hand and the kit on each tool.
#[derive(Debug, Clone, Default)]
struct Bench {
    hand: Option<usize>,
    mounted: Vec<(usize, usize)>,
}

impl Bench {
    /// Takes a group up; whether that swaps the tool, and the pad.
    fn take(&mut self, group: &Group) -> (bool, bool) {
        let tool = self.hand.is_some_and(|h| h != group.tool);
        self.hand = Some(group.tool);
        let pad = match self.mounted.iter_mut().find(|(t, _)| *t == group.tool) {
            Some((_, kit)) => core::mem::replace(kit, group.kit) != group.kit,
            None => {
                self.mounted.push((group.tool, group.kit));
                false
            }
        };
        (tool, pad)
    }
}

/// Swaps of working groups in a given order, one entry each time one is taken up: for each, whether the
/// tool and whether the pad is swapped before it.
///
/// The first pad of each tool is put on while setting up, and a tool that is laid down keeps its pad.
///
/// # Example
/// ```
/// use trochoid::plan::vehicle::{Group, Phase, swaps_of};
/// let group = |tool, kit| Group { tool, kit, phase: Phase::Cut };
/// // Tool 1 for the first time: its pad is on already. Back to tool 0 with another kit: tool and pad.
/// let swaps = swaps_of([group(0, 0), group(1, 1), group(0, 2)]);
/// assert_eq!(swaps, [(false, false), (true, false), (true, true)]);
/// ```
pub fn swaps_of(visits: impl IntoIterator<Item = Group>) -> Vec<(bool, bool)> {
    let mut bench = Bench::default();
    visits.into_iter().map(|g| bench.take(&g)).collect()
}

fn priced(groups: &[Group], sequence: Vec<usize>, tool_swap: Time, pad_swap: Time, exact: bool) -> Order {
    let swaps = swaps_of(sequence.iter().map(|i| groups[*i]));
    let (tool_swaps, pad_swaps) = (swaps.iter().filter(|s| s.0).count(), swaps.iter().filter(|s| s.1).count());
    let time = Time::from_s(tool_swaps as f64 * tool_swap.s() + pad_swaps as f64 * pad_swap.s());
    Order { sequence, tool_swaps, pad_swaps, time, exact }
}

/// Whether `next` may come while `left` is still to be done: cutting before refining.
fn may_come(groups: &[Group], next: usize, done: &[bool]) -> bool {
    groups[next].phase == Phase::Cut || (0..groups.len()).all(|g| done[g] || groups[g].phase == Phase::Refine)
}

struct Search<'a> {
    groups: &'a [Group],
    tool_s: f64,
    pad_s: f64,
    best: Option<(f64, Vec<usize>)>,
}

impl Search<'_> {
    fn extend(&mut self, sequence: &mut Vec<usize>, done: &mut [bool], bench: &Bench, cost: f64) {
        if self.best.as_ref().is_some_and(|b| cost >= b.0) {
            return;
        }
        if sequence.len() == self.groups.len() {
            self.best = Some((cost, sequence.clone()));
            return;
        }
        for next in 0..self.groups.len() {
            if done[next] || !may_come(self.groups, next, done) {
                continue;
            }
            let mut after = bench.clone();
            let (tool, pad) = after.take(&self.groups[next]);
            let more = f64::from(u8::from(tool)) * self.tool_s + f64::from(u8::from(pad)) * self.pad_s;
            done[next] = true;
            sequence.push(next);
            self.extend(sequence, done, &after, cost + more);
            sequence.pop();
            done[next] = false;
        }
    }
}

/// The order with the least time in swaps; of equals the one that keeps nearest to the order given.
///
/// # Accuracy
/// Every order for up to [`MOST_EXACT_GROUPS`] groups; beyond that as [`order_greedily`].
///
/// # Example
/// ```
/// use trochoid::plan::vehicle::order_groups;
/// use trochoid::Time;
/// # use trochoid::plan::vehicle::{Group, Phase};
/// // Cut with kit 0 on tool 0 and kit 1 on tool 1, refine with kit 2 on tool 0.
/// let group = |tool, kit, phase| Group { tool, kit, phase };
/// let groups = [group(0, 0, Phase::Cut), group(1, 1, Phase::Cut), group(0, 2, Phase::Refine)];
/// let (tool_swap, pad_swap) = (Time::from_s(30.0), Time::from_s(20.0));
/// // As given: tool, tool and pad, 80 s. With the second cut first tool 0 stays in the hand for the refining:
/// // tool, pad, 50 s.
/// let order = order_groups(&groups, tool_swap, pad_swap);
/// assert_eq!(order.sequence, [1, 0, 2]);
/// assert!((order.time.s() - 50.0).abs() < 1e-12);
/// ```
#[must_use]
pub fn order_groups(groups: &[Group], tool_swap: Time, pad_swap: Time) -> Order {
    if groups.len() > MOST_EXACT_GROUPS {
        return order_greedily(groups, tool_swap, pad_swap);
    }
    let mut search = Search { groups, tool_s: tool_swap.s(), pad_s: pad_swap.s(), best: None };
    search.extend(&mut Vec::new(), &mut vec![false; groups.len()], &Bench::default(), 0.0);
    let sequence = search.best.map_or_else(Vec::new, |b| b.1);
    priced(groups, sequence, tool_swap, pad_swap, true)
}

/// From every group that may start, the cheapest next one in turn; the best of those orders.
///
/// # Accuracy
/// Not the best there is in general: a cheap next swap can make a later one dear.
///
/// # Example
/// ```
/// use trochoid::plan::vehicle::order_greedily;
/// use trochoid::Time;
/// # use trochoid::plan::vehicle::{Group, Phase};
/// // Cut with kit 0 on tool 0 and kit 1 on tool 1, refine with kit 2 on tool 0.
/// let group = |tool, kit, phase| Group { tool, kit, phase };
/// let groups = [group(0, 0, Phase::Cut), group(1, 1, Phase::Cut), group(0, 2, Phase::Refine)];
/// let (tool_swap, pad_swap) = (Time::from_s(30.0), Time::from_s(20.0));
/// // From the first: 80 s; from the second: 50 s, here the best there is.
/// assert!((order_greedily(&groups, tool_swap, pad_swap).time.s() - 50.0).abs() < 1e-12);
/// ```
#[must_use]
pub fn order_greedily(groups: &[Group], tool_swap: Time, pad_swap: Time) -> Order {
    let mut best: Option<Order> = None;
    for start in 0..groups.len() {
        let mut done = vec![false; groups.len()];
        if !may_come(groups, start, &done) {
            continue;
        }
        let (mut bench, mut sequence, mut next) = (Bench::default(), Vec::new(), Some(start));
        while let Some(g) = next {
            bench.take(&groups[g]);
            done[g] = true;
            sequence.push(g);
            let price = |n: &usize| {
                let (tool, pad) = bench.clone().take(&groups[*n]);
                f64::from(u8::from(tool)) * tool_swap.s() + f64::from(u8::from(pad)) * pad_swap.s()
            };
            next = (0..groups.len())
                .filter(|n| !done[*n] && may_come(groups, *n, &done))
                .min_by(|a, b| price(a).total_cmp(&price(b)));
        }
        let order = priced(groups, sequence, tool_swap, pad_swap, false);
        if best.as_ref().is_none_or(|b| order.time < b.time) {
            best = Some(order);
        }
    }
    best.unwrap_or_else(|| priced(groups, Vec::new(), tool_swap, pad_swap, false))
}

/// Swaps of going panel by panel, each zone cut and refined before the next: `visits` are the groups in
/// that order, as they come.
///
/// # Example
/// ```
/// use trochoid::plan::vehicle::naive_order;
/// use trochoid::Time;
/// # use trochoid::plan::vehicle::{Group, Phase};
/// // Cut with kit 0 on tool 0 and kit 1 on tool 1, refine with kit 2 on tool 0.
/// let group = |tool, kit, phase| Group { tool, kit, phase };
/// let groups = [group(0, 0, Phase::Cut), group(1, 1, Phase::Cut), group(0, 2, Phase::Refine)];
/// let (tool_swap, pad_swap) = (Time::from_s(30.0), Time::from_s(20.0));
/// // In the order given: tool 1, then tool 0 again with another pad: 30 + 30 + 20 s.
/// assert!((naive_order(&groups, &[0, 1, 2], tool_swap, pad_swap).time.s() - 80.0).abs() < 1e-12);
/// ```
#[must_use]
pub fn naive_order(groups: &[Group], visits: &[usize], tool_swap: Time, pad_swap: Time) -> Order {
    priced(groups, visits.to_vec(), tool_swap, pad_swap, false)
}
