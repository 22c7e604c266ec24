//! The cutting problem in plain whole numbers, its patterns, and what is left of it while it is being solved. Kerf and
//! units are gone by now.
use std::cmp::{Ordering, Reverse};

/// Bars of one room. Every kerf is added to its piece, and one to the bar, so that pieces simply add up.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Sort {
    pub room: i64,
    pub cost: i64,
    /// Nothing where there are as many as can be wanted.
    pub count: Option<u32>,
}

/// Widths in descending order with their demands, and the sorts of bars, longest first.
#[derive(Debug, Clone)]
pub(super) struct Problem {
    pub widths: Vec<i64>,
    pub demand: Vec<u32>,
    pub sorts: Vec<Sort>,
}

impl Problem {
    /// More than all bars that could ever be taken cost together.
    pub fn beyond(&self) -> i64 {
        let pieces = self.demand.iter().copied().map(u64::from).sum::<u64>();
        let cost = |sort: &Sort| sort.cost * sort.count.map_or(pieces as i64, i64::from);
        self.sorts.iter().map(cost).sum::<i64>() + 1
    }

    /// The whole problem, nothing cut yet.
    pub fn whole(&self) -> Rest {
        Rest { demand: self.demand.clone(), left: self.sorts.iter().map(|sort| sort.count).collect() }
    }

    pub fn width_of(&self, pattern: &Pattern) -> i64 {
        pattern.cuts.iter().map(|&(item, times)| self.widths[item] * i64::from(times)).sum()
    }
}

/// How one bar is cut: of which sort, and how often each width.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Pattern {
    pub sort: usize,
    /// Width and times, widest first, each at least once.
    pub cuts: Vec<(usize, u32)>,
}

impl Pattern {
    /// The pattern with more of the widest pieces comes out greater.
    pub fn order(&self, other: &Self) -> Ordering {
        let key = |p: &Self| p.cuts.iter().map(|&(item, times)| (Reverse(item), times)).collect::<Vec<_>>();
        key(self).cmp(&key(other)).then(self.sort.cmp(&other.sort))
    }
}

/// What is still to cut, and the bars still there.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Rest {
    pub demand: Vec<u32>,
    pub left: Vec<Option<u32>>,
}

impl Rest {
    pub fn is_done(&self) -> bool {
        self.demand.iter().all(|&n| n == 0)
    }

    pub fn pieces(&self) -> i64 {
        self.demand.iter().copied().map(i64::from).sum()
    }

    /// The widest width still wanted.
    pub fn widest(&self) -> Option<usize> {
        self.demand.iter().position(|&n| n > 0)
    }

    pub fn has(&self, sort: usize) -> bool {
        self.left[sort] != Some(0)
    }

    /// How many bars can still be cut so.
    pub fn most(&self, pattern: &Pattern) -> u32 {
        let pieces = pattern.cuts.iter().map(|&(item, times)| self.demand[item] / times).min();
        pieces.unwrap_or(0).min(self.left[pattern.sort].unwrap_or(u32::MAX))
    }

    /// The pattern without the pieces that are no longer wanted.
    pub fn trim(&self, pattern: &Pattern) -> Pattern {
        let cut = |&(item, times): &(usize, u32)| (item, times.min(self.demand[item]));
        Pattern { sort: pattern.sort, cuts: pattern.cuts.iter().map(cut).filter(|c| c.1 > 0).collect() }
    }

    pub fn take(&mut self, pattern: &Pattern, bars: u32) {
        for &(item, times) in &pattern.cuts {
            self.demand[item] -= times * bars;
        }
        if let Some(left) = &mut self.left[pattern.sort] {
            *left -= bars;
        }
    }

    pub fn put_back(&mut self, pattern: &Pattern) {
        for &(item, times) in &pattern.cuts {
            self.demand[item] += times;
        }
        if let Some(left) = &mut self.left[pattern.sort] {
            *left += 1;
        }
    }
}

/// Patterns and how many bars are cut by each.
pub(super) type Plan = Vec<(Pattern, u32)>;

/// How much more may be computed, in steps of about ten nanoseconds; never a clock, so that every run ends alike.
#[derive(Debug, Clone, Copy)]
pub(super) struct Work(pub u64);

impl Work {
    pub fn spend(&mut self, steps: usize) {
        self.0 = self.0.saturating_sub(steps as u64);
    }

    pub fn is_spent(self) -> bool {
        self.0 == 0
    }
}
