//! The shelf counted: what each stocktake covers, what was read off the scale, and by how much that differs.
use jiff::Timestamp;

use super::cloth::{COLOURS, Weighing};
use super::state::State;

pub struct Stocktake {
    pub id: String,
    pub by: usize,
    pub begun: Timestamp,
    pub kind: Option<&'static str>,
    pub family: Option<&'static str>,
    pub closed: bool,
    pub lines: Vec<Counted>,
}

/// A bundle that was counted last so; nothing on the scale where it wasn't found.
pub struct Counted {
    pub bundle: usize,
    pub by: usize,
    pub weighing: Option<Weighing>,
    /// What the ledger said at that moment.
    pub balance: i64,
}

impl Counted {
    pub fn difference(&self) -> i64 {
        self.weighing.as_ref().map_or(0, Weighing::net) - self.balance
    }
}

impl State {
    /// Whether a stocktake is about a bundle at all: washed, of its kind and colour, and there when it began.
    pub fn covers(&self, stocktake: usize, bundle: usize) -> bool {
        let (it, bundle) = (&self.stocktakes[stocktake], &self.bundles[bundle]);
        bundle.state == "ready"
            && bundle.entries[0].at <= it.begun
            && it.kind.is_none_or(|kind| kind == bundle.kind)
            && it.family.is_none_or(|family| family == COLOURS[bundle.colour].3)
    }

    pub fn line(&self, stocktake: usize, bundle: usize) -> Option<&Counted> {
        self.stocktakes[stocktake].lines.iter().find(|line| line.bundle == bundle)
    }

    /// The bundles on its list, by tag: those that hold something or were counted.
    pub fn listed(&self, stocktake: usize) -> Vec<usize> {
        let holds = |n: usize| self.bundles[n].balance() > 0 || self.line(stocktake, n).is_some();
        (0..self.bundles.len()).filter(|&n| self.covers(stocktake, n) && holds(n)).collect()
    }

    /// The lines that differ by more than the scale may be off; what wasn't found differs by all there is.
    pub fn differing(&self, stocktake: usize) -> Vec<&Counted> {
        let lines = self.listed(stocktake).into_iter().filter_map(|n| self.line(stocktake, n));
        let doubt = |line: &Counted| if line.weighing.is_some() { self.doubt } else { 0 };
        lines.filter(|line| line.difference().abs() > doubt(line)).collect()
    }
}
