//! Which bundles of cloth serve which needs of the class, near the cheapest there is, and a bound that says how near.
//! Where needs and bundles come from, and what becomes of the answer, is not known here.
mod contrast;
mod job;
mod pick;
mod price;
mod problem;
mod search;
mod together;

pub use contrast::keeps_apart;
pub use job::{Bundle, Job, JobError, MOST_CELLS, MOST_GRAMS, Need, Weights};
pub use problem::{Problem, Take, Want};

use price::DualAscent;
use search::Search;

/// How far the work is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Progress {
    /// What the best answer so far costs.
    pub cost: f64,
    /// No answer costs less; infinitely low before the first round.
    pub bound: f64,
    /// Work done so far, in looks at a bundle for a need: the same on any machine.
    pub work: u64,
}

/// A share-out.
#[derive(Debug, Clone, PartialEq)]
pub struct Allocation {
    /// What each need takes, by bundle.
    pub takes: Vec<Vec<Take>>,
    /// What that costs.
    pub cost: f64,
    /// No share-out costs less.
    pub bound: f64,
    /// Work done, as in [`Progress`].
    pub work: u64,
}

impl Allocation {
    /// How much cheaper a share-out could be at most, as a part of this one's cost: 0 when this is proven the cheapest.
    pub fn gap(&self) -> f64 {
        if self.cost > 0.0 { ((self.cost - self.bound) / self.cost).max(0.0) } else { 0.0 }
    }

    /// Grams that a need doesn't get.
    pub fn unmet(&self, problem: &Problem, need: usize) -> i64 {
        problem.wants[need].grams - self.takes[need].iter().map(|take| take.grams).sum::<i64>()
    }
}

/// Work that an ordinary machine does in a second, for those who count effort in seconds.
pub const USUAL_PACE: f64 = 10e6;
/// The part of the work that may go into the bound; mostly far less is needed.
const BOUND_SHARE: f64 = 0.3;
/// Steps of the search between two looks at the clock.
const STEPS: u32 = 16;
/// Costs nearer than this part are the same: the sums of a thousand costs round to less.
const SAME: f64 = 1e-9;

/// Shares the bundles out. `watch` is told how far the work is and answers which part of its effort is spent: at 1 or more
/// the best so far is given. The same problem, seed and answers of `watch` give the same share-out.
///
/// # Examples
/// ```
/// use thrumhall::optimize::share_out::{Bundle, Job, Need, Take, Weights, solve};
/// use thrumhall::planning::colour::Hex;
///
/// let [cream, navy] = [Hex::parse("#f1e7cf")?.lab(), Hex::parse("#22305a")?.lab()];
/// let need = |grams, lab, warp| Need { grams, lab, warp, most: 2, ..Need::default() };
/// let job = Job {
///     bundles: vec![
///         Bundle { grams: 900, lab: navy, warp_worthy: false },
///         Bundle { grams: 1_200, lab: cream, warp_worthy: true },
///     ],
///     needs: vec![need(500, None, true), need(800, Some(navy), false)],
///     weights: Weights::default(),
/// };
/// let mut looks = 0.0;
/// let found = solve(&job.problem()?, 7, &mut |_| { looks += 0.01; looks });
/// // The warp takes the cloth that holds.
/// assert_eq!(found.takes, [[Take { bundle: 1, grams: 500 }], [Take { bundle: 0, grams: 800 }]]);
/// assert_eq!(found.gap(), 0.0);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn solve(problem: &Problem, seed: u64, watch: &mut dyn FnMut(Progress) -> f64) -> Allocation {
    let mut search = Search::new(problem, &vec![0.0; problem.bundles.len()], seed);
    let mut ascent = DualAscent::new(problem);
    let safe = |bound: f64| bound - SAME * bound.abs().max(1.0);
    loop {
        ascent.step(search.cost);
        let work = search.work() + ascent.work();
        let spent = watch(Progress { cost: search.cost, bound: safe(ascent.bound), work });
        if ascent.is_done() || spent >= BOUND_SHARE || is_proven(search.cost, ascent.bound) {
            break;
        }
    }
    search.perturb(&ascent.prices);
    while !is_proven(search.cost, ascent.bound) {
        let work = search.work() + ascent.work();
        let spent = watch(Progress { cost: search.cost, bound: safe(ascent.bound), work });
        if spent >= 1.0 {
            break;
        }
        for _ in 0..STEPS {
            search.step(spent);
        }
    }
    let work = search.work() + ascent.work();
    let takes = search.into_best();
    let cost = problem.cost(&takes);
    let bound = if is_proven(cost, ascent.bound) { cost } else { safe(ascent.bound) };
    Allocation { takes, cost, bound: bound.clamp(0.0, cost), work }
}

fn is_proven(cost: f64, bound: f64) -> bool {
    cost - bound <= SAME * cost.max(1.0)
}
