//! The search for the cheapest whole plan: quick starts, a dive along the relaxation, then branching on how the widest
//! piece is cut, until the plan is proven or the work is spent.
use super::master::{self, Relaxed};
use super::problem::{Pattern, Plan, Problem, Rest, Work};
use super::start::{self, Filling};
use std::cmp::Ordering;

/// The most patterns tried at one branching; with more, the search goes on but no longer proves.
const MOST_PATTERNS: usize = 4_000;
/// The most bars laid down one by one by branching, since each takes some stack.
const DEEPEST: usize = 1_000;

/// The cheapest plan found.
pub(super) struct Found {
    pub plan: Plan,
    /// What is still wanted because the stock is at its end; nothing in a full plan.
    pub lacking: Rest,
    /// What the plan costs.
    pub cost: i64,
    /// No full plan costs less; at or beyond [`Problem::beyond`] there is none.
    pub bound: i64,
}

struct Search<'a> {
    problem: &'a Problem,
    beyond: i64,
    pool: Vec<Pattern>,
    best: Found,
    work: Work,
    /// Whether every branch cut off so far was cut off by a bound.
    proving: bool,
}

/// Cuts the whole problem as cheaply as the work allows.
pub(super) fn solve(problem: &Problem, work: Work) -> Found {
    let whole = problem.whole();
    let bound = start::material(problem, &whole).max(start::l2(problem, &whole));
    let beyond = problem.beyond();
    let nothing = Found { plan: Plan::new(), lacking: whole.clone(), cost: 0, bound };
    let mut search = Search { problem, beyond, pool: Vec::new(), best: nothing, work, proving: true };
    search.finish(&Plan::new(), &whole);
    if !search.settled() {
        let limit = search.limit();
        let relaxed = master::relax(problem, &whole, &mut search.pool, limit, &mut search.work);
        search.best.bound = search.best.bound.max(relaxed.bound);
        search.dive(relaxed);
    }
    if !search.settled() {
        search.branch(&mut whole.clone(), &mut Plan::new(), 0);
        if search.proving {
            search.best.bound = search.best.bound.max(search.limit());
        }
    }
    search.best
}

impl Search<'_> {
    /// What a full plan must stay under to be worth finding.
    fn limit(&self) -> i64 {
        if self.best.lacking.is_done() { self.best.cost } else { self.beyond }
    }

    fn settled(&self) -> bool {
        self.best.bound >= self.limit()
    }

    fn record(&mut self, plan: Plan, lacking: Rest) {
        let cost = plan.iter().map(|(p, bars)| self.problem.sorts[p.sort].cost * i64::from(*bars)).sum();
        let mut plan = plan;
        let mut key = (lacking.pieces(), cost);
        if lacking.is_done() {
            plan = start::shrink(self.problem, plan);
            key.1 = plan.iter().map(|(p, bars)| self.problem.sorts[p.sort].cost * i64::from(*bars)).sum();
        }
        if self.best.plan.is_empty() || key < (self.best.lacking.pieces(), self.best.cost) {
            self.pool.extend(plan.iter().map(|(pattern, _)| pattern.clone()));
            self.best = Found { plan, lacking, cost: key.1, bound: self.best.bound };
        }
    }

    /// Cuts the rest in both quick ways after what is planned already.
    fn finish(&mut self, planned: &Plan, rest: &Rest) {
        for filling in [Filling::WidestFirst, Filling::Fullest] {
            let (mut plan, lacking) = start::cut(self.problem, rest.clone(), filling, &mut self.work);
            plan.splice(0..0, planned.iter().cloned());
            self.record(plan, lacking);
        }
    }

    /// Follows the relaxation: takes the whole bars of it, or else one bar of what it uses most, and relaxes the rest.
    fn dive(&mut self, first: Relaxed) {
        let mut rest = self.problem.whole();
        let mut plan = Plan::new();
        let mut columns = first.columns;
        while !rest.is_done() && !columns.is_empty() && !self.settled() && !self.work.is_spent() {
            columns.sort_by(|a, b| b.1.total_cmp(&a.1));
            let whole = columns.iter().filter(|column| column.1 > 1.0 - 1e-6);
            let mut taken: Vec<(Pattern, u32)> =
                whole.map(|(pattern, bars)| (pattern.clone(), (bars + 1e-6).floor() as u32)).collect();
            if taken.is_empty() {
                taken.push((columns[0].0.clone(), 1));
            }
            for (pattern, bars) in taken {
                let pattern = rest.trim(&pattern);
                let bars = bars.min(rest.most(&pattern));
                if bars > 0 {
                    rest.take(&pattern, bars);
                    plan.push((pattern, bars));
                }
            }
            self.finish(&plan, &rest);
            columns = master::relax(self.problem, &rest, &mut self.pool, self.beyond, &mut self.work).columns;
        }
    }

    /// Tries every way to cut the next bar with the widest piece still wanted.
    ///
    /// Complete: among the cheapest plans, take the one whose bars, greatest first, are greatest; none of its bars has
    /// room for a piece of a later one, and each is no greater than the one before.
    fn branch(&mut self, rest: &mut Rest, plan: &mut Plan, spent: i64) {
        let Some(widest) = rest.widest() else {
            self.record(plan.clone(), rest.clone());
            return;
        };
        if spent + start::material(self.problem, rest).max(start::l2(self.problem, rest)) >= self.limit() {
            return;
        }
        if self.work.is_spent() || plan.len() > DEEPEST {
            self.proving = false;
            return;
        }
        let enough = self.limit() - spent;
        let relaxed = master::relax(self.problem, rest, &mut self.pool, enough, &mut self.work);
        if spent + relaxed.bound >= self.limit() {
            return;
        }
        self.finish(plan, rest);
        let last = plan.last().map(|last| last.0.clone());
        for pattern in self.patterns(rest, widest, last.as_ref(), &relaxed.columns) {
            if self.settled() {
                return;
            }
            let cost = spent + self.problem.sorts[pattern.sort].cost;
            rest.take(&pattern, 1);
            plan.push((pattern, 1));
            self.branch(rest, plan, cost);
            if let Some((pattern, _)) = plan.pop() {
                rest.put_back(&pattern);
            }
        }
    }

    /// The patterns with the widest piece that have no room for another one, no greater than the last; first those that
    /// the relaxation uses most, then the fullest.
    fn patterns(
        &mut self,
        rest: &Rest,
        widest: usize,
        last: Option<&Pattern>,
        liked: &[(Pattern, f64)],
    ) -> Vec<Pattern> {
        let mut found = Vec::new();
        for sort in (0..rest.left.len()).filter(|&sort| rest.has(sort)) {
            let room = self.problem.sorts[sort].room;
            if room < self.problem.widths[widest] {
                continue;
            }
            let mut pattern = Pattern { sort, cuts: Vec::new() };
            self.extend(rest, widest, room, &mut pattern, &mut found);
        }
        found.retain(|pattern| {
            pattern.cuts.first().is_some_and(|first| first.0 == widest)
                && last.is_none_or(|last| pattern.order(last) != Ordering::Greater)
        });
        let liking = |pattern: &Pattern| {
            liked.iter().filter(|like| like.0 == *pattern).map(|like| like.1).sum::<f64>()
        };
        let free = |p: &Pattern| self.problem.sorts[p.sort].room - self.problem.width_of(p);
        let mut found: Vec<_> = found.into_iter().map(|p| (liking(&p), free(&p), p)).collect();
        found.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
        found.into_iter().map(|found| found.2).collect()
    }

    /// Every pattern that goes on from this one with widths from `item` on and has no room for another wanted piece.
    fn extend(
        &mut self,
        rest: &Rest,
        item: usize,
        room: i64,
        pattern: &mut Pattern,
        found: &mut Vec<Pattern>,
    ) {
        self.work.spend(rest.demand.len() / 2 + 4);
        if found.len() >= MOST_PATTERNS || self.work.is_spent() {
            self.proving = false;
            return;
        }
        let Some(next) =
            (item..rest.demand.len()).find(|&i| rest.demand[i] > 0 && self.problem.widths[i] <= room)
        else {
            let used = |item| pattern.cuts.iter().find(|cut| cut.0 == item).map_or(0, |cut| cut.1);
            let fits = |i: usize| self.problem.widths[i] <= room && rest.demand[i] > used(i);
            if !(0..rest.demand.len()).any(fits) {
                found.push(pattern.clone());
            }
            return;
        };
        let width = self.problem.widths[next];
        let most = rest.demand[next].min(u32::try_from(room / width).unwrap_or(u32::MAX));
        // The widest piece is in every one of them.
        let least = u32::from(pattern.cuts.is_empty());
        for times in (least..=most).rev() {
            if times > 0 {
                pattern.cuts.push((next, times));
            }
            self.extend(rest, next + 1, room - width * i64::from(times), pattern, found);
            if times > 0 {
                pattern.cuts.pop();
            }
        }
    }
}
