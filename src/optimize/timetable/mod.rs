//! Which rug has which frame from which meeting to which: as much priority placed as can be, then the fewest changes to what
//! was promised, then the earliest finishes, by haste. Dates, weavers and what a meeting is are the caller's.
//!
//! A rug takes one stretch of meetings on one frame, so there are few places for each: at most one of them a rug, at most as
//! many rugs at a meeting as there are frames alike. Stretches that need no more frames at any meeting than there are can
//! always be given frames (interval partitioning: Kleinberg and Tardos, Algorithm Design, §4.1), so frames that are alike
//! count together. The aims are met one after the other, each kept while the next is sought. For each, prices prove a bound,
//! a search by chance comes near it, and where a gap stays, branch and bound looks at the choices that the prices leave open.
mod core;
mod model;
mod prices;
mod problem;
mod rods;
mod search;

pub use problem::{Frame, MOST_MEETINGS, Placed, Problem, ProblemError, Rug};

use model::{LAST, Model, PRIORITY, STAYS};
use prices::{Open, Prices};
use search::Search;

/// A timetable.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Solution {
    /// Each rug's place, if it has one.
    pub placed: Vec<Option<Placed>>,
    /// The kind of rods that each takes a pair of, if it does.
    pub rods: Vec<Option<usize>>,
    /// The priorities of the rugs placed, summed up.
    pub priority: u64,
    /// Their last meetings, summed up.
    pub last_sum: u64,
    /// Rugs that had a place before and have another now, or none.
    pub changes: u32,
    /// The last meetings times haste, summed up; those of fixed rugs left out, since nothing moves them.
    pub late: u64,
    /// No timetable places more priority.
    pub bound: u64,
    /// No timetable that places as much priority and changes no more has less of `late`.
    pub late_bound: u64,
    /// Whether nothing places more priority.
    pub most: bool,
    /// Whether nothing is better by all aims in their order.
    pub proven: bool,
}

impl Solution {
    /// How much more priority a timetable could place at most, as a part of the bound; and how much less of `late` one that
    /// places as much could have, as a part of it.
    pub fn gaps(&self) -> [f64; 2] {
        let part = |gap: u64, of: u64| if of == 0 { 0.0 } else { gap as f64 / of as f64 };
        [part(self.bound - self.priority, self.bound), part(self.late - self.late_bound, self.late)]
    }
}

/// The work for each aim after which the best so far is taken, where nobody says otherwise: nodes of branch and bound, and in
/// proportion steps of the search and rounds of prices.
pub const USUAL_NODES: u64 = 2_500;
/// Steps of the search for each node of the work allowed.
const STEPS: u64 = 24;
/// Steps of the search for each pair of rugs, at most.
const STEPS_A_PAIR: u64 = 40;
/// Rounds of prices in one descent, at most.
const ROUNDS: u64 = 1_500;
/// Open choices with which branch and bound still comes to something.
const MOST_OPEN: usize = 4_000;
/// One seed for all: the same question has the same answer.
const SEED: u64 = 20_261_127;

/// The best timetable. `nodes` say how much work goes into each aim before the best so far is given. `watch` is asked again
/// and again whether to go on; where it says no, the best so far is given. The same problem and answers of `watch` give the
/// same timetable.
///
/// # Examples
/// ```
/// use thrumhall::optimize::timetable::{Frame, Placed, Problem, Rug, USUAL_NODES, solve};
///
/// // Two rugs on one frame in five meetings: the shorter one goes first.
/// let rug = |meetings| Rug { fits: vec![0], meetings, earliest: 1, latest: 5, priority: 1, ..Rug::default() };
/// let problem =
///     Problem { meetings: 5, frames: vec![Frame::default()], rugs: vec![rug(3), rug(2)], ..Problem::default() };
/// problem.check()?;
/// let timetable = solve(&problem, USUAL_NODES, &mut || true);
/// assert!(timetable.proven);
/// assert_eq!(timetable.placed[0], Some(Placed { frame: 0, from: 3, to: 5 }));
/// assert_eq!(timetable.placed[1], Some(Placed { frame: 0, from: 1, to: 2 }));
/// # Ok::<(), thrumhall::optimize::timetable::ProblemError>(())
/// ```
pub fn solve(problem: &Problem, nodes: u64, watch: &mut dyn FnMut() -> bool) -> Solution {
    let model = Model::of(problem);
    let start = vec![None; problem.rugs.len()];
    let aims: &[usize] = if model.has_promises() { &[PRIORITY, STAYS, LAST] } else { &[PRIORITY, LAST] };
    Work::new(&model, start, nodes).all(problem, aims, watch)
}

/// The same as far as the first aim goes, from a timetable that keeps the rules: nothing of `start` is given up but for more
/// priority.
pub fn place_more(
    problem: &Problem,
    start: &Solution,
    nodes: u64,
    watch: &mut dyn FnMut() -> bool,
) -> Solution {
    let model = Model::of(problem);
    let picks = model.picks(&start.placed, &start.rods);
    Work::new(&model, picks, nodes).all(problem, &[PRIORITY], watch)
}

/// What is known so far.
struct Work<'m, 'p> {
    model: &'m Model<'p>,
    search: Search<'m, 'p>,
    open: Open,
    nodes: u64,
}

/// The greatest whole number that isn't above a bound, whatever the round-off.
fn whole(bound: f64) -> i64 {
    (bound + 1e-6 + 1e-9 * bound.abs()).floor() as i64
}

impl<'m, 'p> Work<'m, 'p> {
    fn new(model: &'m Model<'p>, start: model::Picks, nodes: u64) -> Self {
        Self { model, search: Search::new(model, start, SEED), open: Open::all(model), nodes }
    }

    fn all(mut self, problem: &Problem, aims: &[usize], watch: &mut dyn FnMut() -> bool) -> Solution {
        let mut bounds = [0; 3];
        let mut proven = [false; 3];
        for (at, &aim) in aims.iter().enumerate() {
            bounds[aim] = self.reach(aim, &aims[..at], watch);
        }
        let score = self.search.best_score;
        // A later aim's search may have found more of an earlier one, so what is proven shows at the end.
        for &aim in aims {
            proven[aim] = bounds[aim] <= score[aim];
        }
        let (placed, rods) = self.model.placed(&self.search.best);
        debug_assert_eq!(problem.holds(&placed, &rods), Ok(()));
        let priority = (self.model.fixed_worth[PRIORITY] + score[PRIORITY]) as u64;
        let late = -score[LAST] as u64;
        Solution {
            last_sum: placed.iter().flatten().map(|placed| u64::from(placed.to)).sum(),
            changes: problem.changes(&placed),
            late,
            bound: ((self.model.fixed_worth[PRIORITY] + bounds[PRIORITY]) as u64).max(priority),
            late_bound: (-bounds[LAST].min(0) as u64).min(late),
            most: proven[PRIORITY],
            proven: aims.iter().all(|&aim| proven[aim]) && aims.contains(&LAST),
            placed,
            rods,
            priority,
        }
    }

    /// Comes as near to the best of an aim as the work allows, with what is reached of the `earlier` ones kept, and tells a
    /// bound of it.
    fn reach(&mut self, aim: usize, earlier: &[usize], watch: &mut dyn FnMut() -> bool) -> i64 {
        let model = self.model;
        // A few rugs have few ways.
        let rugs = model.own.iter().filter(|own| !own.is_empty()).count() as u64;
        let steps = self.nodes.saturating_mul(STEPS).min(rugs * rugs * STEPS_A_PAIR);
        let mut bound = i64::MAX;
        let mut goes_on = true;
        if aim == PRIORITY {
            bound = model.most();
            goes_on = self.search.improve(aim, steps / 4, bound, watch);
            if self.search.best_score[aim] >= bound {
                // Every rug has a place that counts for something; a better timetable has one too.
                let counts =
                    |own: &std::ops::Range<usize>| !own.is_empty() && model.worth[own.start][aim] > 0;
                self.open.must = model.own.iter().map(counts).collect();
                return bound;
            }
        }
        let mut prices = Prices::new(model, aim, earlier, self.search.best_score);
        let rounds = ROUNDS.min(self.nodes.max(1));
        goes_on &= self.descend(&mut prices, aim, rounds, watch);
        bound = bound.min(whole(prices.bound));
        if goes_on && bound > self.search.best_score[aim] {
            self.search.follow(&prices.worths());
            goes_on = self.search.improve(aim, steps, bound, watch);
        }
        if goes_on && bound > self.search.best_score[aim] {
            prices.again();
            goes_on = self.descend(&mut prices, aim, rounds, watch);
            bound = bound.min(whole(prices.bound));
        }
        if goes_on && bound > self.search.best_score[aim] {
            self.search.follow(&prices.worths());
            goes_on = self.search.improve(aim, steps, bound, watch);
        }
        if goes_on && bound > self.search.best_score[aim] {
            bound = self.close(&mut prices, aim, earlier, bound, watch);
        }
        let reached = self.search.best_score[aim];
        prices.rule_out(&mut self.open, reached);
        bound.max(reached)
    }

    fn descend(
        &self,
        prices: &mut Prices<'_, '_>,
        aim: usize,
        rounds: u64,
        watch: &mut dyn FnMut() -> bool,
    ) -> bool {
        descend(prices, &self.open, self.search.best_score[aim], rounds, watch)
    }

    /// Looks at what the prices leave open above what is reached.
    fn close(
        &mut self,
        prices: &mut Prices<'_, '_>,
        aim: usize,
        earlier: &[usize],
        bound: i64,
        watch: &mut dyn FnMut() -> bool,
    ) -> i64 {
        let reached = self.search.best_score;
        let mut open = self.open.clone();
        let mut before = usize::MAX;
        // Fewer choices have a lower bound, which leaves fewer open.
        while open.count() < before {
            before = open.count();
            prices.rule_out(&mut open, reached[aim] + 1);
            let mut own = prices.clone();
            own.again();
            let goes_on = descend(&mut own, &open, reached[aim], ROUNDS.min(self.nodes) / 4 + 1, watch);
            if whole(own.bound) <= reached[aim] {
                return reached[aim];
            }
            if !goes_on {
                return bound;
            }
            own.rule_out(&mut open, reached[aim] + 1);
        }
        if open.count() > MOST_OPEN {
            return bound;
        }
        let start = self.search.best.clone();
        let Some(found) =
            core::solve(self.model, (aim, earlier), &open, (&start, reached), self.nodes, watch)
        else {
            return bound;
        };
        if found.proven || self.model.score(&found.picks)[aim] > reached[aim] {
            self.search.go_to(&found.picks);
        }
        let reached = self.search.best_score[aim];
        bound.min(found.bound).max(reached)
    }
}

fn descend(
    prices: &mut Prices<'_, '_>,
    open: &Open,
    reached: i64,
    rounds: u64,
    watch: &mut dyn FnMut() -> bool,
) -> bool {
    for round in 0..rounds {
        prices.step(open, reached);
        if prices.is_done() || whole(prices.bound) <= reached {
            break;
        }
        if round % 32 == 0 && !watch() {
            return false;
        }
    }
    true
}
