//! Which rug has which frame from which meeting to which: as much priority placed as can be, then the fewest changes to what
//! was promised, then the earliest finishes, by haste. Dates, weavers and what a meeting is are the caller's.
//!
//! A rug takes one stretch of meetings on one frame, so there are few places for each: one yes-or-no variable for each
//! place, at most one place a rug, at most as many rugs at a meeting as there are frames alike. Stretches that need no more
//! frames at any meeting than there are can always be given frames (interval partitioning: Kleinberg and Tardos, Algorithm
//! Design, §4.1), so frames that are alike count together. The aims are met one after the other, each kept while the next is
//! sought.
mod greedy;
mod model;
mod problem;

pub use problem::{Frame, MOST_MEETINGS, Placed, Problem, ProblemError, Rug};

use model::{Aim, Model};

/// A timetable.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Solution {
    /// Each rug's place, if it has one.
    pub placed: Vec<Option<Placed>>,
    /// The priorities of the rugs placed, summed up.
    pub priority: u64,
    /// Their last meetings, summed up.
    pub last_sum: u64,
    /// Rugs that had a place before and have another now, or none.
    pub changes: u32,
    /// No timetable places more priority.
    pub bound: u64,
    /// Whether nothing is better by all aims in their order.
    pub proven: bool,
}

/// Nodes of the search for each aim after which the best so far is taken, where nobody says otherwise.
pub const USUAL_NODES: u64 = 4_000;

/// The best timetable. `nodes` of the search are looked at for each aim before the best so far is given. `watch` is asked
/// between the aims whether to go on; where it says no, the best so far is given. The same problem and answers of `watch`
/// give the same timetable.
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
    let mut chosen = greedy::greedy(&model);
    let mut best = model.placed(&chosen);
    let mut bound = model.most();
    let mut proven = true;
    let mut kept = Vec::new();
    let mut aims = vec![Aim::Priority];
    if problem.rugs.iter().any(|rug| rug.before.is_some() && rug.fixed.is_none()) {
        aims.push(Aim::Changes);
    }
    aims.push(Aim::Last);
    for aim in aims {
        if !watch() {
            proven = false;
            break;
        }
        let Some(found) = model.reach(aim, &kept, &chosen, nodes) else {
            proven = false;
            break;
        };
        if aim == Aim::Priority {
            bound = bound.min(model.fixed_priority() + found.bound.max(0) as u64);
        }
        let placed = model.placed(&found.chosen);
        if problem.holds(&placed).is_err() {
            proven = false;
            break;
        }
        (best, chosen) = (placed, found.chosen);
        proven &= found.proven;
        kept.push((aim, found.value));
    }
    let answer = told(problem, best, bound, proven);
    Solution { bound: bound.max(answer.priority), ..answer }
}

fn told(problem: &Problem, placed: Vec<Option<Placed>>, bound: u64, proven: bool) -> Solution {
    let both = || placed.iter().zip(&problem.rugs);
    let priority =
        both().filter(|(placed, _)| placed.is_some()).map(|(_, rug)| u64::from(rug.priority)).sum();
    let last_sum = placed.iter().flatten().map(|placed| u64::from(placed.to)).sum();
    let moved = |(placed, rug): &(&Option<Placed>, &Rug)| {
        rug.before.is_some_and(|before| placed.is_none_or(|placed| (placed.frame, placed.from) != before))
    };
    let changes = both().filter(moved).count() as u32;
    Solution { placed, priority, last_sum, changes, bound, proven }
}
