//! The least that needs whose colours touch can cost together.
//!
//! Each picks alone first. Where two picks don't go beside one another, every share-out either gives the one need nothing of
//! some bundles or the other nothing of others: two sets of which any pair clashes. Both cases are looked at, the cheaper
//! first (branch and bound), so that the cheapest case still open is a bound wherever it stops.
use super::pick::{Demand, Offer, Picker, relaxed};
use super::problem::{Problem, Take};
use std::collections::HashMap;
use std::rc::Rc;

/// Cases after which the cheapest open one is the bound.
const CASES: usize = 40;

/// A need's pick among others.
#[derive(Debug, Clone)]
struct Pick {
    /// No more than the need costs in this case.
    cost: f64,
    takes: Vec<Take>,
}

/// What is ruled out so far, and what each need of a group picks from the rest.
#[derive(Debug, Clone)]
struct Case {
    picks: Vec<Pick>,
    /// By need of the group: bundles that it takes nothing of.
    barred: Vec<Vec<usize>>,
}

impl Case {
    fn cost(&self) -> f64 {
        self.picks.iter().map(|pick| pick.cost).sum()
    }
}

/// A need of a group, with what is offered to it under the prices, cheapest gram first.
#[derive(Debug, Clone)]
pub(super) struct Member {
    pub need: usize,
    pub demand: Demand,
    pub offers: Vec<Offer>,
}

/// Bundles of one need, each of which clashes with each of another need's.
type Clash = Rc<[Vec<usize>; 2]>;

/// Groups of needs that touch, and the clashes met so far: they don't depend on prices.
#[derive(Debug)]
pub(super) struct Together<'p> {
    problem: &'p Problem,
    clashes: HashMap<[(usize, usize); 2], Clash>,
}

impl<'p> Together<'p> {
    pub(super) fn new(problem: &'p Problem) -> Self {
        Self { problem, clashes: HashMap::new() }
    }

    /// The needs in groups: those of a group touch one another, directly or by others.
    pub(super) fn groups(problem: &Problem) -> Vec<Vec<usize>> {
        let mut seen = vec![false; problem.wants.len()];
        let mut groups = Vec::new();
        for first in problem.needs() {
            let mut group = Vec::new();
            let mut open = vec![first];
            while let Some(need) = open.pop() {
                if !std::mem::replace(&mut seen[need], true) {
                    group.push(need);
                    open.extend(problem.touching(need));
                }
            }
            if !group.is_empty() {
                group.sort_unstable();
                groups.push(group);
            }
        }
        groups
    }

    /// A bound on what the group costs under these prices, and what it takes there.
    pub(super) fn least(&mut self, group: &[Member], picker: &mut Picker) -> (f64, Vec<Take>) {
        let none = vec![Vec::new(); group.len()];
        let picks = group.iter().map(|member| pick(member, &[], picker)).collect();
        let mut open = vec![Case { picks, barred: none }];
        for seen in 0.. {
            let cheapest = (0..open.len()).min_by(|&a, &b| open[a].cost().total_cmp(&open[b].cost()));
            let Some(case) = cheapest.map(|at| open.swap_remove(at)) else { break };
            let clash = if seen < CASES { self.clash(group, &case, picker) } else { None };
            let Some((sides, sets)) = clash else {
                return (case.cost(), case.picks.into_iter().flat_map(|pick| pick.takes).collect());
            };
            for (side, set) in sides.into_iter().zip(sets.iter()) {
                let mut other = case.clone();
                other.barred[side].extend(set);
                other.picks[side] = pick(&group[side], &other.barred[side], picker);
                open.push(other);
            }
        }
        (0.0, Vec::new())
    }

    /// The first two picks of a case that clash: whose, and the sets of which one is ruled out.
    fn clash(&mut self, group: &[Member], case: &Case, picker: &mut Picker) -> Option<([usize; 2], Clash)> {
        let problem = self.problem;
        for (one, member) in group.iter().enumerate() {
            for (two, other) in group.iter().enumerate().skip(one + 1) {
                if !problem.touching(member.need).contains(&other.need) {
                    continue;
                }
                for mine in &case.picks[one].takes {
                    for theirs in &case.picks[two].takes {
                        let pair = [(member.need, mine.bundle), (other.need, theirs.bundle)];
                        if !problem.goes_beside(pair[0], pair[1]) {
                            return Some(([one, two], self.sets(pair, picker)));
                        }
                    }
                }
            }
        }
        None
    }

    /// The widest of two sets about a pair that clashes, each grown from one side.
    fn sets(&mut self, pair: [(usize, usize); 2], picker: &mut Picker) -> Clash {
        let problem = self.problem;
        let grow = || {
            let all = 0..problem.bundles.len();
            let [(one, mine), (two, theirs)] = pair;
            let clash = |mine: usize, theirs: usize| !problem.goes_beside((one, mine), (two, theirs));
            let first: Vec<usize> = all.clone().filter(|&bundle| clash(bundle, theirs)).collect();
            let beside =
                all.clone().filter(|&other| first.iter().all(|&bundle| clash(bundle, other))).collect();
            let second: Vec<usize> = all.clone().filter(|&bundle| clash(mine, bundle)).collect();
            let before = all.filter(|&other| second.iter().all(|&bundle| clash(other, bundle))).collect();
            let ways: [[Vec<usize>; 2]; 2] = [[first, beside], [before, second]];
            let size = |way: &[Vec<usize>; 2]| way[0].len() * way[1].len();
            let wider = usize::from(size(&ways[1]) > size(&ways[0]));
            ways.into_iter().nth(wider).map(Rc::new).unwrap_or_default()
        };
        picker.work += 1;
        Rc::clone(self.clashes.entry(pair).or_insert_with(grow))
    }
}

/// What a need picks without some bundles.
fn pick(member: &Member, barred: &[usize], picker: &mut Picker) -> Pick {
    let free = |offer: &&Offer| !barred.contains(&(offer.bundle as usize));
    let offers: Vec<Offer> = member.offers.iter().filter(free).copied().collect();
    let whole = picker.pick(&offers, member.demand);
    let cost = if whole { picker.cost } else { relaxed(&offers, member.demand).min(picker.cost) };
    Pick { cost, takes: picker.best.clone() }
}
