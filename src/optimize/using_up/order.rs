//! The shortest way through points: every point once, ends free. Distances are anybody's.
use crate::optimize::chance::Chance;

/// A way through all points.
#[derive(Debug, Clone, PartialEq)]
pub struct Way {
    /// The points in order.
    pub points: Vec<usize>,
    /// The steps together.
    pub length: f64,
    /// No way is shorter; the length itself where it is proven the shortest.
    pub bound: f64,
}

/// Up to so many points every way is looked at.
pub const EXACT: usize = 15;
/// Times that a way is broken up and mended.
const KICKS: usize = 400;
/// Rounds of the bound.
const ROUNDS: usize = 400;

/// The shortest way through `n` points with these distances, `n` by `n`, symmetrical. Up to [`EXACT`] points it is the
/// shortest, by dynamic programming over subsets (Held and Karp, J. SIAM 10 (1962) 196–210, from memory); beyond, the best
/// found by turning and moving stretches from many starts, with a bound by trees (Held and Karp, Oper. Res. 18 (1970)
/// 1138–1162, from memory).
///
/// # Examples
/// ```
/// use thrumhall::optimize::using_up::order::shortest;
///
/// let at: [f64; 4] = [0.0, 7.0, 1.0, 3.0];
/// let apart: Vec<f64> = at.iter().flat_map(|a| at.iter().map(move |b| (a - b).abs())).collect();
/// let way = shortest(&apart, 4, 1);
/// assert_eq!((way.points, way.length, way.bound), (vec![0, 2, 3, 1], 7.0, 7.0));
/// ```
pub fn shortest(apart: &[f64], n: usize, seed: u64) -> Way {
    let points = match n {
        0..=2 => (0..n).collect(),
        _ if n <= EXACT => exact(apart, n),
        _ => searched(apart, n, &mut Chance(seed)),
    };
    // A way has no beginning: the lower number first, so that it is told in one way.
    let points = if points.first() > points.last() { points.into_iter().rev().collect() } else { points };
    let length = length(apart, n, &points);
    let bound = if n <= EXACT { length } else { bound(apart, n, length) };
    Way { points, length, bound }
}

fn length(apart: &[f64], n: usize, points: &[usize]) -> f64 {
    points.windows(2).map(|two| apart[two[0] * n + two[1]]).sum()
}

/// The least length of a way over each set of points that ends in each of them.
fn exact(apart: &[f64], n: usize) -> Vec<usize> {
    let sets = 1_usize << n;
    let mut least = vec![f64::INFINITY; sets * n];
    for last in 0..n {
        least[(1 << last) * n + last] = 0.0;
    }
    for set in 1..sets {
        for last in (0..n).filter(|last| set >> last & 1 == 1) {
            let so_far = least[set * n + last];
            for next in (0..n).filter(|next| set >> next & 1 == 0) {
                let cell = (set | 1 << next) * n + next;
                least[cell] = least[cell].min(so_far + apart[last * n + next]);
            }
        }
    }
    let mut set = sets - 1;
    let shortest = |set: usize, to: Option<usize>| {
        let cost = |last: &usize| least[set * n + last] + to.map_or(0.0, |to| apart[last * n + to]);
        (0..n).filter(|last| set >> last & 1 == 1).min_by(|a, b| cost(a).total_cmp(&cost(b)))
    };
    let mut points: Vec<usize> = Vec::new();
    while let Some(last) = shortest(set, points.last().copied()) {
        points.push(last);
        set &= !(1 << last);
    }
    points
}

fn searched(apart: &[f64], n: usize, chance: &mut Chance) -> Vec<usize> {
    let mut best: Vec<usize> = (0..n)
        .map(|from| mended(apart, n, nearest_next(apart, n, from)))
        .min_by(|a, b| length(apart, n, a).total_cmp(&length(apart, n, b)))
        .unwrap_or_default();
    let mut shortest = length(apart, n, &best);
    for _ in 0..KICKS {
        // Two stretches change places.
        let mut cuts = [0; 3].map(|_| 1 + chance.below(n - 1));
        cuts.sort_unstable();
        let [a, b, c] = cuts;
        let kicked = [&best[..a], &best[b..c], &best[a..b], &best[c..]].concat();
        let tried = mended(apart, n, kicked);
        let long = length(apart, n, &tried);
        if long < shortest - 1e-12 {
            (best, shortest) = (tried, long);
        }
    }
    best
}

fn nearest_next(apart: &[f64], n: usize, from: usize) -> Vec<usize> {
    let mut points = vec![from];
    while points.len() < n {
        let at = points[points.len() - 1];
        let open = (0..n).filter(|point| !points.contains(point));
        let Some(next) = open.min_by(|a, b| apart[at * n + a].total_cmp(&apart[at * n + b])) else { break };
        points.push(next);
    }
    points
}

/// Turns stretches round and moves short ones elsewhere as long as that makes the way shorter.
fn mended(apart: &[f64], n: usize, mut points: Vec<usize>) -> Vec<usize> {
    let step = |points: &[usize], at: usize| -> f64 {
        // The step before the place; there is none at either end.
        if at == 0 || at >= points.len() { 0.0 } else { apart[points[at - 1] * n + points[at]] }
    };
    let between = |a: Option<&usize>, b: Option<&usize>| a.zip(b).map_or(0.0, |(a, b)| apart[a * n + b]);
    loop {
        let mut better = false;
        for from in 0..n {
            for to in from + 1..n {
                let before = from.checked_sub(1).map(|at| &points[at]);
                let gain = step(&points, from) + step(&points, to + 1)
                    - between(before, Some(&points[to]))
                    - between(Some(&points[from]), points.get(to + 1));
                if gain > 1e-12 {
                    points[from..=to].reverse();
                    better = true;
                }
            }
        }
        for size in 1..=3.min(n - 1) {
            for from in 0..=n - size {
                let now = length(apart, n, &points);
                let stretch: Vec<usize> = points[from..from + size].to_vec();
                let rest = [&points[..from], &points[from + size..]].concat();
                for at in 0..=rest.len() {
                    let tried = [&rest[..at], &stretch[..], &rest[at..]].concat();
                    if length(apart, n, &tried) < now - 1e-12 {
                        points = tried;
                        better = true;
                        break;
                    }
                }
            }
        }
        if !better {
            return points;
        }
    }
}

/// A bound by least trees: a way is a tree in which no point has more than two steps, so that points which have more in the
/// least tree are made dearer, and those which have fewer cheaper, what they are dearer by being taken off again. A point
/// beside all, as near to each, closes the way to a round, whose points all have two steps.
fn bound(apart: &[f64], n: usize, target: f64) -> f64 {
    let mut dearer = vec![0.0; n];
    let (mut best, mut stride, mut idle) = (0.0_f64, 1.0, 0);
    for _ in 0..ROUNDS {
        let (tree, mut steps) = least_tree(apart, n, &dearer);
        let mut ends: Vec<usize> = (0..n).collect();
        ends.sort_by(|&a, &b| dearer[a].total_cmp(&dearer[b]));
        let closing: f64 = ends[..2].iter().map(|&end| dearer[end]).sum();
        for &end in &ends[..2] {
            steps[end] += 1;
        }
        let found = tree + closing - 2.0 * dearer.iter().sum::<f64>();
        if found > best + 1e-12 {
            (best, idle) = (found, 0);
        } else {
            idle += 1;
            if idle > 10 {
                (stride, idle) = (stride * 0.6, 0);
            }
        }
        let off: i64 = steps.iter().map(|&steps| (steps - 2) * (steps - 2)).sum();
        if off == 0 {
            break;
        }
        let move_by = stride * (target - found).max(1e-6 * target) / off as f64;
        for (price, &steps) in dearer.iter_mut().zip(&steps) {
            *price += move_by * (steps - 2) as f64;
        }
    }
    best.min(target)
}

/// The least tree over all points by Prim's way, with how many steps each point has in it.
fn least_tree(apart: &[f64], n: usize, dearer: &[f64]) -> (f64, Vec<i64>) {
    let mut steps = vec![0; n];
    let mut reach = vec![(f64::INFINITY, 0); n];
    let mut open: Vec<usize> = (1..n).collect();
    let (mut at, mut sum) = (0, 0.0);
    while !open.is_empty() {
        for &point in &open {
            let cost = apart[at * n + point] + dearer[at] + dearer[point];
            if cost < reach[point].0 {
                reach[point] = (cost, at);
            }
        }
        let Some(next) = (0..open.len()).min_by(|&a, &b| reach[open[a]].0.total_cmp(&reach[open[b]].0))
        else {
            break;
        };
        let point = open.swap_remove(next);
        sum += reach[point].0;
        steps[point] += 1;
        steps[reach[point].1] += 1;
        at = point;
    }
    (sum, steps)
}
