//! Prices of the bundles' grams, and the bound that they prove.
//!
//! Each need that takes a gram pays its cost and its price. With any prices, what all needs pay when each picks alone, less
//! what all grams would bring, is no more than any share-out costs (Lagrange's relaxation of the bundles' weights; Held,
//! Wolfe, Crowder, Math. Programming 6 (1974) 62–88, from memory). Prices climb along the overdrawn grams.
use super::pick::{Demand, Offer, Picker, relaxed};
use super::problem::Problem;
use super::together::{Member, Together};

/// Offers to each need, kept in the order of the last prices: the next order differs little.
#[derive(Debug)]
pub(super) struct Market<'p> {
    problem: &'p Problem,
    offers: Vec<Vec<(Offer, f64)>>,
    demands: Vec<Demand>,
    /// Needs that pick together since their colours touch; the others stand alone.
    groups: Vec<Vec<usize>>,
    together: Together<'p>,
}

/// What one round of prices showed.
#[derive(Debug, Default, Clone)]
pub(super) struct Round {
    pub bound: f64,
    /// Grams picked beyond what there are, by bundle; less than none where some are left.
    pub over: Vec<f64>,
}

impl<'p> Market<'p> {
    pub(super) fn new(problem: &'p Problem) -> Self {
        let offers: Vec<Vec<(Offer, f64)>> = problem.needs().map(|need| offers(problem, need)).collect();
        let demands = problem.needs().map(|need| demand(problem, need)).collect();
        Self { problem, offers, demands, groups: Together::groups(problem), together: Together::new(problem) }
    }

    /// Every need, or group of needs that touch, picks alone under these prices.
    pub(super) fn round(
        &mut self,
        prices: &[f64],
        picker: &mut Picker,
        sorted: &mut Vec<Offer>,
        told: &mut Round,
    ) {
        told.over.clear();
        told.over.extend(self.problem.bundles.iter().map(|&grams| -(grams as f64)));
        told.bound = -(prices.iter().zip(&self.problem.bundles))
            .map(|(price, &grams)| price * grams as f64)
            .sum::<f64>();
        for group in &self.groups {
            if let [need] = **group {
                let demand = self.demands[need];
                priced(&mut self.offers[need], prices, demand, sorted);
                let whole = picker.pick(sorted, demand);
                told.bound += if whole { picker.cost } else { relaxed(sorted, demand).min(picker.cost) };
                for take in &picker.best {
                    told.over[take.bundle] += take.grams as f64;
                }
                continue;
            }
            let member = |&need: &usize| {
                let demand = self.demands[need];
                let mut offers = Vec::new();
                priced(&mut self.offers[need], prices, demand, &mut offers);
                Member { need, demand, offers }
            };
            let members: Vec<Member> = group.iter().map(member).collect();
            let (least, takes) = self.together.least(&members, picker);
            told.bound += least;
            for take in takes {
                told.over[take.bundle] += take.grams as f64;
            }
        }
    }
}

/// What is cheaper than going without under these prices, cheapest gram first.
fn priced(offers: &mut [(Offer, f64)], prices: &[f64], demand: Demand, sorted: &mut Vec<Offer>) {
    for (offer, own) in offers.iter_mut() {
        offer.gram = *own + prices[offer.bundle as usize];
    }
    nearly_sorted(offers);
    sorted.clear();
    sorted.extend(offers.iter().map(|(offer, _)| *offer).take_while(|offer| offer.gram < demand.unmet));
}

/// Insertion: almost no work when little has changed.
fn nearly_sorted(offers: &mut [(Offer, f64)]) {
    for at in 1..offers.len() {
        let one = offers[at];
        let mut hole = at;
        while hole > 0 && offers[hole - 1].0.gram > one.0.gram {
            offers[hole] = offers[hole - 1];
            hole -= 1;
        }
        offers[hole] = one;
    }
}

/// What may serve a need, cheapest gram first, with the cost of a gram without a price beside each.
pub(super) fn offers(problem: &Problem, need: usize) -> Vec<(Offer, f64)> {
    let mut offers: Vec<(Offer, f64)> = (0..problem.bundles.len())
        .map(|bundle| {
            let gram = problem.gram(need, bundle);
            let offer = Offer {
                bundle: bundle as u32,
                room: problem.room(need, bundle),
                gram,
                pair: problem.pair(need, bundle),
            };
            (offer, gram)
        })
        .filter(|(offer, _)| offer.room > 0 && offer.gram < problem.unmet)
        .collect();
    offers.sort_by(|a, b| a.1.total_cmp(&b.1).then(a.0.bundle.cmp(&b.0.bundle)));
    offers
}

pub(super) fn demand(problem: &Problem, need: usize) -> Demand {
    let want = &problem.wants[need];
    let may = || (0..problem.bundles.len()).filter(|&bundle| problem.gram(need, bundle) < problem.unmet);
    Demand {
        grams: want.grams,
        most: want.most,
        unmet: problem.unmet,
        least_pair: may().map(|bundle| problem.pair(need, bundle)).fold(f64::INFINITY, f64::min),
        widest: may().map(|bundle| problem.room(need, bundle)).max().unwrap_or(0),
    }
}

/// The ascent of the prices, a round at a time.
#[derive(Debug)]
pub(super) struct DualAscent<'p> {
    market: Market<'p>,
    at: Vec<f64>,
    way: Vec<f64>,
    step: f64,
    idle: u32,
    round: Round,
    picker: Picker,
    sorted: Vec<Offer>,
    /// The best prices so far.
    pub prices: Vec<f64>,
    /// The bound that they prove.
    pub bound: f64,
}

/// First prices that are tried, as parts of what a gram costs that is lacking.
const LEVELS: [f64; 8] = [0.0, 0.25, 0.5, 0.75, 0.9, 0.97, 0.99, 1.0];
/// Rounds without gain after which the step is made smaller.
const PATIENCE: u32 = 12;
/// Steps smaller than this no longer gain.
const SMALLEST: f64 = 1e-3;

impl<'p> DualAscent<'p> {
    pub(super) fn new(problem: &'p Problem) -> Self {
        let none = vec![0.0; problem.bundles.len()];
        let mut ascent = Self {
            market: Market::new(problem),
            at: none.clone(),
            way: none.clone(),
            step: 1.0,
            idle: 0,
            round: Round::default(),
            picker: Picker::default(),
            sorted: Vec::new(),
            prices: none,
            bound: f64::NEG_INFINITY,
        };
        ascent.begin(problem.unmet);
        ascent
    }

    /// One price for every gram, the one that proves most: where cloth is scarce a gram is worth nearly what it costs to be
    /// without, and where there is plenty nothing.
    fn begin(&mut self, unmet: f64) {
        for part in LEVELS {
            self.at.fill(part * unmet);
            self.market.round(&self.at, &mut self.picker, &mut self.sorted, &mut self.round);
            if self.round.bound > self.bound {
                self.bound = self.round.bound;
                self.prices.clone_from(&self.at);
            }
        }
        self.at.clone_from(&self.prices);
    }

    pub(super) fn work(&self) -> u64 {
        self.picker.work
    }

    pub(super) fn is_done(&self) -> bool {
        self.step < SMALLEST
    }

    /// One round towards `target`, a cost that is known to be reached.
    pub(super) fn step(&mut self, target: f64) {
        self.market.round(&self.at, &mut self.picker, &mut self.sorted, &mut self.round);
        let bound = self.round.bound;
        if bound > self.bound {
            // A gain of almost nothing isn't one, or the ascent would never end.
            if bound > self.bound + 1e-5 * bound.abs().max(1.0) {
                self.idle = 0;
            }
            self.bound = bound;
            self.prices.clone_from(&self.at);
        }
        self.idle += 1;
        if self.idle > PATIENCE {
            self.idle = 0;
            self.step *= 0.7;
            self.at.clone_from(&self.prices);
            self.way.fill(0.0);
            self.market.round(&self.at, &mut self.picker, &mut self.sorted, &mut self.round);
        }
        // A free bundle that has grams left has no way down.
        let over = self
            .round
            .over
            .iter()
            .zip(&self.at)
            .map(|(&over, &price)| if price <= 0.0 { over.max(0.0) } else { over });
        for (way, over) in self.way.iter_mut().zip(over) {
            *way = 0.6 * *way + 0.4 * over;
        }
        let length: f64 = self.way.iter().map(|way| way * way).sum();
        if length < 1e-12 {
            self.step = 0.0;
            return;
        }
        let stride = self.step * (target - bound).max(1e-4 * target.abs()).max(1e-9) / length;
        for (price, way) in self.at.iter_mut().zip(&self.way) {
            *price = (*price + stride * way).max(0.0);
        }
    }
}
