//! The best few bundles for one need, exactly, when each gram of each bundle has its cost.
use super::problem::Take;

/// A bundle that a need may take from.
#[derive(Debug, Clone, Copy)]
pub(super) struct Offer {
    pub bundle: u32,
    /// Grams there are for this need.
    pub room: i64,
    /// Cost of a gram.
    pub gram: f64,
    /// Cost of taking any.
    pub pair: f64,
}

/// What one need comes to.
#[derive(Debug, Clone, Copy)]
pub(super) struct Demand {
    pub grams: i64,
    pub most: usize,
    pub unmet: f64,
    /// No offer costs less to take any of.
    pub least_pair: f64,
    /// No offer has more room.
    pub widest: i64,
}

/// Nodes after which a search gives up and says only what it found.
const NODES: u32 = 20_000;

/// The search for the best takes of one need, with its memory kept from one search to the next.
#[derive(Debug, Default)]
pub(super) struct Picker {
    path: Vec<Take>,
    /// The best takes found.
    pub best: Vec<Take>,
    /// What they cost.
    pub cost: f64,
    nodes: u32,
    /// Looks at an offer so far, in all searches.
    pub work: u64,
}

impl Picker {
    /// The best takes from `offers`, cheapest gram first, left in `best` and `cost`.
    ///
    /// Within a chosen few, the cheaper gram is taken first and to the full, so an ordered search misses nothing. A
    /// result of `false` says that it was given up: then only a weaker bound holds.
    pub(super) fn pick(&mut self, offers: &[Offer], demand: Demand) -> bool {
        self.path.clear();
        self.best.clear();
        self.cost = demand.unmet * demand.grams as f64;
        self.nodes = 0;
        if demand.grams > 0 && demand.most > 0 {
            self.deeper(offers, demand, 0.0);
        }
        self.work += 1 + u64::from(self.nodes) + offers.len() as u64 / 16;
        self.nodes < NODES
    }

    fn deeper(&mut self, offers: &[Offer], demand: Demand, spent: f64) {
        let reach = demand.grams.min(demand.widest.saturating_mul(demand.most as i64));
        let beyond = demand.unmet * (demand.grams - reach) as f64;
        for (at, offer) in offers.iter().enumerate() {
            if spent + demand.least_pair + offer.gram * reach as f64 + beyond >= self.cost
                || self.nodes >= NODES
            {
                return;
            }
            if offer.room == 0 {
                continue;
            }
            self.nodes += 1;
            let grams = offer.room.min(demand.grams);
            let spent = spent + offer.pair + offer.gram * grams as f64;
            let rest = demand.grams - grams;
            self.path.push(Take { bundle: offer.bundle as usize, grams });
            let cost = spent + demand.unmet * rest as f64;
            if cost < self.cost {
                self.cost = cost;
                self.best.clone_from(&self.path);
            }
            if rest > 0 && demand.most > 1 {
                self.deeper(
                    &offers[at + 1..],
                    Demand { grams: rest, most: demand.most - 1, ..demand },
                    spent,
                );
            }
            self.path.pop();
        }
    }
}

/// Less than any choice can cost: the cheapest grams without a limit on bundles, and one pair.
pub(super) fn relaxed(offers: &[Offer], demand: Demand) -> f64 {
    let (mut rest, mut cost) = (demand.grams, demand.least_pair);
    for offer in offers {
        let grams = offer.room.min(rest);
        cost += offer.gram * grams as f64;
        rest -= grams;
    }
    (cost + demand.unmet * rest as f64).min(demand.unmet * demand.grams as f64)
}
