//! Quick ways to cut a rest, and bounds that need no relaxation. The search is in `search`.
use super::fill::{Fills, Want};
use super::problem::{Pattern, Plan, Problem, Rest, Work};
use std::cmp::Reverse;

/// How a bar is filled by the quick ways.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Filling {
    /// First fit decreasing: the widest piece that still fits, again and again.
    WidestFirst,
    /// The widest piece, then whatever leaves the least (best fit, bar by bar).
    Fullest,
}

/// Cuts the rest bar by bar, each from the sort that is filled best for its cost; gives the bars, and what is still wanted
/// when the stock is at its end.
pub(super) fn cut(problem: &Problem, mut rest: Rest, filling: Filling, work: &mut Work) -> (Plan, Rest) {
    let mut plan = Plan::new();
    while let Some(widest) = rest.widest() {
        let sorts = (0..rest.left.len())
            .filter(|&sort| rest.has(sort) && problem.sorts[sort].room >= problem.widths[widest]);
        let patterns = match filling {
            Filling::Fullest if !work.is_spent() => {
                fullest(problem, &rest, widest, &sorts.collect::<Vec<_>>(), work)
            }
            _ => sorts.map(|sort| widest_first(problem, &rest, sort)).collect::<Vec<_>>(),
        };
        let rate = |p: &Pattern| problem.width_of(p) as f64 / problem.sorts[p.sort].cost as f64;
        let Some(pattern) = patterns.into_iter().max_by(|a, b| rate(a).total_cmp(&rate(b))) else { break };
        let bars = rest.most(&pattern);
        rest.take(&pattern, bars);
        plan.push((pattern, bars));
    }
    (plan, rest)
}

fn widest_first(problem: &Problem, rest: &Rest, sort: usize) -> Pattern {
    let mut room = problem.sorts[sort].room;
    let mut cuts = Vec::new();
    for (item, &width) in problem.widths.iter().enumerate() {
        let times = rest.demand[item].min(u32::try_from(room / width).unwrap_or(u32::MAX));
        if times > 0 {
            room -= width * i64::from(times);
            cuts.push((item, times));
        }
    }
    Pattern { sort, cuts }
}

fn fullest(problem: &Problem, rest: &Rest, widest: usize, sorts: &[usize], work: &mut Work) -> Vec<Pattern> {
    let taken = problem.widths[widest];
    let pieces: Vec<(i64, u32, i64)> = (problem.widths.iter().enumerate())
        .map(|(item, &width)| (width, rest.demand[item] - u32::from(item == widest), width))
        .collect();
    let want = |&sort: &usize| Want { room: problem.sorts[sort].room - taken, above: 0 };
    let wants: Vec<Want> = sorts.iter().map(want).collect();
    let fills = Fills::of(&pieces, &wants, work);
    let pattern = |(&sort, want): (&usize, &Want)| {
        let mut cuts = fills.cuts(fills.best(want.room));
        match cuts.first_mut().filter(|first| first.0 == widest) {
            Some(first) => first.1 += 1,
            None => cuts.insert(0, (widest, 1)),
        }
        Pattern { sort, cuts }
    };
    sorts.iter().zip(&wants).map(pattern).collect()
}

/// Moves every bar's cuts to the shortest, cheapest bar that takes them, the fullest first.
pub(super) fn shrink(problem: &Problem, plan: Plan) -> Plan {
    let mut left = problem.whole().left;
    let mut plan = plan;
    plan.sort_by_key(|(pattern, _)| Reverse(problem.width_of(pattern)));
    let mut cheap: Vec<usize> = (0..problem.sorts.len()).collect();
    cheap.sort_by_key(|&sort| (problem.sorts[sort].cost, problem.sorts[sort].room));
    let mut out = Plan::new();
    for (pattern, mut bars) in plan {
        let width = problem.width_of(&pattern);
        for &sort in cheap.iter().filter(|&&sort| problem.sorts[sort].room >= width) {
            let now = bars.min(left[sort].unwrap_or(u32::MAX));
            if now > 0 {
                left[sort] = left[sort].map(|n| n - now);
                bars -= now;
                out.push((Pattern { sort, cuts: pattern.cuts.clone() }, now));
            }
        }
    }
    out
}

/// No way to cut the rest costs less than its length in the bars that give the most for their cost;
/// [`Problem::beyond`] where they don't hold it.
pub(super) fn material(problem: &Problem, rest: &Rest) -> i64 {
    let widths =
        problem.widths.iter().zip(&rest.demand).map(|(&width, &n)| i128::from(width) * i128::from(n));
    let mut wanted: i128 = widths.sum();
    let mut sorts: Vec<usize> = (0..rest.left.len()).filter(|&sort| rest.has(sort)).collect();
    let cross = |a: usize, b: usize| i128::from(problem.sorts[a].room) * i128::from(problem.sorts[b].cost);
    sorts.sort_by(|&a, &b| cross(b, a).cmp(&cross(a, b)));
    let mut cost = 0;
    for sort in sorts {
        let (room, each) = (i128::from(problem.sorts[sort].room), i128::from(problem.sorts[sort].cost));
        match rest.left[sort] {
            Some(left) if room * i128::from(left) < wanted => {
                wanted -= room * i128::from(left);
                cost += each * i128::from(left);
            }
            _ => return (cost + (wanted * each + room - 1).div_euclid(room)) as i64,
        }
    }
    if wanted > 0 { problem.beyond() } else { cost as i64 }
}

/// The bound L₂: for each split of the widths, bars for the pieces that can't share one, and for the small pieces that
/// find no room beside them. Bars, at the cost of the cheapest.
///
/// Source: S. Martello and P. Toth, Knapsack Problems, 1990, section 8.3 (from memory).
pub(super) fn l2(problem: &Problem, rest: &Rest) -> i64 {
    let room = problem.sorts.iter().map(|sort| sort.room).max().unwrap_or(1);
    let cheapest = problem.sorts.iter().map(|sort| sort.cost).min().unwrap_or(0);
    let wanted = || problem.widths.iter().zip(&rest.demand).map(|(&width, &n)| (width, i64::from(n)));
    let splits = std::iter::once(0).chain(wanted().map(|(width, _)| width).filter(|width| width * 2 <= room));
    let bars = splits.map(|split| {
        let (mut alone, mut halves, mut spare, mut small) = (0, 0, 0, 0);
        for (width, n) in wanted() {
            if width > room - split {
                alone += n;
            } else if width * 2 > room {
                halves += n;
                spare += (room - width) * n;
            } else if width >= split {
                small += width * n;
            }
        }
        alone + halves + ((small - spare).max(0) + room - 1).div_euclid(room)
    });
    bars.max().unwrap_or(0) * cheapest
}
