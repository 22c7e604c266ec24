//! The search for a cheap share-out: take the cloth from a few related needs, let them pick again from what is there, and
//! keep the result if it is cheaper, or by a chance that shrinks (ruin and recreate with annealing: Schrimpf et al., J.
//! Comput. Phys. 159 (2000) 139–171, from memory).
use super::pick::{Demand, Offer, Picker};
use super::price::{demand, offers};
use super::problem::{Problem, Take};
use crate::optimize::chance::Chance;

/// How strongly the prices count when a need picks: not at all, by half, in full.
const LEANINGS: [f64; 3] = [0.0, 0.5, 1.0];
/// The most needs that lose their cloth in one step.
const MOST_RUINED: usize = 8;
/// The heat at the beginning, as a part of what a need costs, and the part of it that is left at the end. Tried on
/// random classes from plenty of cloth to hardly enough; halves and doubles differ by less than 0.5 %.
const HOT: f64 = 0.15;
const COOLED: f64 = 0.01;

/// A share-out under way.
#[derive(Debug)]
pub(super) struct Search<'p> {
    problem: &'p Problem,
    demands: Vec<Demand>,
    /// What is offered to each need, cheapest first, by leaning.
    offers: Vec<[Vec<Offer>; 3]>,
    left: Vec<i64>,
    takes: Vec<Vec<Take>>,
    costs: Vec<f64>,
    total: f64,
    users: Vec<Vec<u32>>,
    /// What each need would cost if it had all cloth to itself.
    alone: Vec<f64>,
    picker: Picker,
    filtered: Vec<Offer>,
    chance: Chance,
    ruined: Vec<usize>,
    before: Vec<Vec<Take>>,
    heat: f64,
    best: Vec<Vec<Take>>,
    /// What the cheapest so far costs.
    pub cost: f64,
}

impl<'p> Search<'p> {
    pub(super) fn new(problem: &'p Problem, prices: &[f64], seed: u64) -> Self {
        let needs = problem.wants.len();
        let mut search = Self {
            problem,
            demands: problem.needs().map(|need| demand(problem, need)).collect(),
            offers: Vec::new(),
            left: problem.bundles.clone(),
            takes: vec![Vec::new(); needs],
            costs: problem.needs().map(|need| problem.cost_of(need, &[])).collect(),
            total: problem.cost(&vec![Vec::new(); needs]),
            users: vec![Vec::new(); problem.bundles.len()],
            alone: Vec::new(),
            picker: Picker::default(),
            filtered: Vec::new(),
            chance: Chance(seed),
            ruined: Vec::new(),
            before: vec![Vec::new(); needs],
            heat: 0.0,
            best: vec![Vec::new(); needs],
            cost: f64::INFINITY,
        };
        search.perturb(prices);
        for need in problem.needs() {
            search.picker.pick(&search.offers[need][0], search.demands[need]);
            search.alone.push(search.picker.cost);
        }
        let mut sorted = search.alone.clone();
        sorted.sort_by(f64::total_cmp);
        search.heat = sorted.get(needs / 2).copied().unwrap_or(0.0);
        search.cost = search.total;
        search.build();
        search
    }

    pub(super) fn work(&self) -> u64 {
        self.picker.work
    }

    /// The cheapest share-out that was found.
    pub(super) fn into_best(self) -> Vec<Vec<Take>> {
        self.best
    }

    /// Uses these prices from now on.
    pub(super) fn perturb(&mut self, prices: &[f64]) {
        self.offers = (self.problem.needs())
            .map(|need| {
                LEANINGS.map(|leaning| {
                    let mut list: Vec<Offer> =
                        offers(self.problem, need).into_iter().map(|(offer, _)| offer).collect();
                    for offer in &mut list {
                        offer.gram += leaning * prices[offer.bundle as usize];
                    }
                    list.sort_by(|a, b| a.gram.total_cmp(&b.gram));
                    list
                })
            })
            .collect();
    }

    /// A first share-out: the needs pick in several orders.
    fn build(&mut self) {
        let mut order: Vec<usize> = self.problem.needs().collect();
        order.sort_by_key(|&need| std::cmp::Reverse(self.problem.wants[need].grams));
        for attempt in 0..12 {
            if attempt >= 3 {
                self.chance.shuffle(&mut order);
            }
            for &need in &order {
                self.clear(need);
            }
            for &need in &order {
                self.fill(need, [2, 1, 0][attempt % 3], false);
            }
            self.note();
        }
        self.go_back();
    }

    fn note(&mut self) {
        if self.total < self.cost - 1e-9 {
            self.cost = self.total;
            self.best.clone_from(&self.takes);
        }
    }

    fn go_back(&mut self) {
        for need in self.problem.needs() {
            self.clear(need);
        }
        for need in self.problem.needs() {
            let takes = self.best[need].clone();
            self.put(need, &takes);
        }
    }

    fn clear(&mut self, need: usize) {
        for take in &self.takes[need] {
            self.left[take.bundle] += take.grams;
            self.users[take.bundle].retain(|&user| user != need as u32);
        }
        self.takes[need].clear();
        let cost = self.problem.cost_of(need, &[]);
        self.total += cost - self.costs[need];
        self.costs[need] = cost;
    }

    fn put(&mut self, need: usize, takes: &[Take]) {
        for take in takes {
            self.left[take.bundle] -= take.grams;
            self.users[take.bundle].push(need as u32);
        }
        self.takes[need].extend_from_slice(takes);
        let cost = self.problem.cost_of(need, takes);
        self.total += cost - self.costs[need];
        self.costs[need] = cost;
    }

    /// A need without cloth picks the best from what is left; with `blink` it now and then overlooks one.
    fn fill(&mut self, need: usize, leaning: usize, blink: bool) {
        let mut demand = self.demands[need];
        self.filtered.clear();
        let mut widest = 0;
        // Where colours touch, the cheapest cloth for one may leave none for the other.
        let overlooked = if self.problem.touching(need).is_empty() { 64 } else { 4 };
        for offer in &self.offers[need][leaning] {
            let room = self.left[offer.bundle as usize].min(offer.room);
            if room > 0
                && !(blink && self.chance.next().is_multiple_of(overlooked))
                && self.goes(need, offer.bundle as usize)
            {
                widest = widest.max(room);
                self.filtered.push(Offer { room, ..*offer });
                // What lies beyond the first few that hold it all can't be cheaper.
                if room >= demand.grams && self.filtered.len() > 24 {
                    break;
                }
            }
        }
        demand.widest = widest;
        self.picker.pick(&self.filtered, demand);
        let takes = std::mem::take(&mut self.picker.best);
        self.put(need, &takes);
        self.picker.best = takes;
    }

    /// Whether a bundle keeps a need apart from what touches it.
    fn goes(&self, need: usize, bundle: usize) -> bool {
        self.problem.touching(need).iter().all(|&other| {
            let theirs = &self.takes[other];
            theirs.iter().all(|take| self.problem.goes_beside((need, bundle), (other, take.bundle)))
        })
    }

    /// One step at a part `spent` of the way, from 0 to 1.
    pub(super) fn step(&mut self, spent: f64) {
        if self.problem.wants.is_empty() {
            return;
        }
        let heat = self.heat * HOT * COOLED.powf(spent.min(1.0));
        let was = self.total;
        self.choose();
        let mut ruined = std::mem::take(&mut self.ruined);
        for &need in &ruined {
            self.before[need].clone_from(&self.takes[need]);
            self.clear(need);
        }
        match self.chance.below(4) {
            0 => ruined.sort_by_key(|&need| std::cmp::Reverse(self.problem.wants[need].grams)),
            1 => {}
            _ => self.chance.shuffle(&mut ruined),
        }
        let leaning = [0, 0, 1, 2][self.chance.below(4)];
        let blink = self.chance.below(2) == 0;
        for &need in &ruined {
            self.fill(need, leaning, blink);
        }
        let allowed = heat * -self.chance.unit().max(1e-300).ln();
        if self.total <= was + allowed {
            self.note();
        } else {
            for &need in &ruined {
                self.clear(need);
            }
            for &need in &ruined {
                let takes = std::mem::take(&mut self.before[need]);
                self.put(need, &takes);
                self.before[need] = takes;
            }
        }
        self.ruined = ruined;
    }

    /// A need, rather one that pays much more than it would alone, and some that take what it might want.
    fn choose(&mut self) {
        let needs = self.problem.wants.len();
        let excess = |need: usize| self.costs[need] - self.alone[need];
        let (a, b) = (self.chance.below(needs), self.chance.below(needs));
        let first = if excess(a) > excess(b) { a } else { b };
        let size = (2 + self.chance.below(MOST_RUINED - 1)).min(needs);
        self.ruined.clear();
        self.ruined.push(first);
        // Colours that touch give way together.
        for &beside in self.problem.touching(first) {
            if self.ruined.len() < size && self.chance.below(2) == 0 {
                self.ruined.push(beside);
            }
        }
        let mut from = first;
        for _ in 0..size * 3 {
            if self.ruined.len() >= size {
                break;
            }
            let list = &self.offers[from][0];
            if list.is_empty() {
                break;
            }
            let bundle = if self.chance.below(3) == 0 && !self.takes[from].is_empty() {
                self.takes[from][self.chance.below(self.takes[from].len())].bundle
            } else {
                // Near the front of the list, by the square of an even chance.
                let unit = self.chance.unit();
                list[((unit * unit * list.len().min(16) as f64) as usize).min(list.len() - 1)].bundle as usize
            };
            let users = &self.users[bundle];
            if users.is_empty() {
                continue;
            }
            let user = users[self.chance.below(users.len())] as usize;
            if !self.ruined.contains(&user) {
                self.ruined.push(user);
            }
            from = self.ruined[self.chance.below(self.ruined.len())];
        }
    }
}
