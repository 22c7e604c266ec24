//! The linear relaxation over all patterns, by column generation, and the bound that it proves. Whole bars are `search`'s.
//!
//! P. C. Gilmore and R. E. Gomory, Operations Research 9 (1961) 849–859: the simplex method keeps one pattern a row, and
//! a knapsack over the prices of the pieces finds the pattern to take in next. The floats only steer: every bound is
//! worked out again in whole numbers from rounded prices, so that it holds whatever the rounding.
use super::fill::{Fills, Want};
use super::problem::{Pattern, Problem, Rest, Sort, Work};

/// What a relaxation tells.
pub(super) struct Relaxed {
    /// No way to cut the rest costs less. At or beyond [`Problem::beyond`] there is no way at all.
    pub bound: i64,
    /// Patterns with the bars, in parts, that they are used for.
    pub columns: Vec<(Pattern, f64)>,
}

const TINY: f64 = 1e-9;
/// Missing pieces cost so many times more than everything there is: a part of a piece must still cost too much.
const MISSING: i64 = 64;
const MOST_POOL: usize = 3_000;

#[derive(Clone)]
enum Column {
    Pattern(Pattern),
    /// A piece too many of that row's width.
    Surplus(usize),
    /// A piece of that row's width that isn't cut.
    Missing(usize),
    /// A bar of that row's sort that stays whole.
    Idle(usize),
}

struct Master<'a> {
    problem: &'a Problem,
    rest: &'a Rest,
    /// The widths still wanted: the first rows.
    items: Vec<usize>,
    item_row: Vec<Option<usize>>,
    /// The row of each sort of which there are only so many.
    sort_row: Vec<Option<usize>>,
    basis: Vec<Column>,
    inverse: Vec<Vec<f64>>,
    values: Vec<f64>,
    missing: f64,
}

/// Relaxes what is left, with patterns from the pool and new ones, which it adds to the pool; stops early once the bound
/// reaches `enough`, can't rise to another whole number, or the work is spent.
pub(super) fn relax(
    problem: &Problem,
    rest: &Rest,
    pool: &mut Vec<Pattern>,
    enough: i64,
    work: &mut Work,
) -> Relaxed {
    let mut master = Master::new(problem, rest);
    let scale = master.price_scale();
    let mut bound = 0;
    // A cycle of degenerate steps would end here; the bound holds at every step.
    for _ in 0..100 * master.basis.len() + 1_000 {
        let rows = master.basis.len();
        work.spend(rows * rows / 4 + pool.len() + 20);
        if work.is_spent() {
            break;
        }
        let duals = master.duals();
        if let Some(column) = master.cheapest_known(&duals, pool) {
            master.enter(column);
            continue;
        }
        let (found, proven) = master.price(&duals, scale, work);
        bound = bound.max(proven.unwrap_or(0));
        if bound >= enough || (master.cost() - 1e-6).ceil() as i64 <= bound {
            break;
        }
        let Some(best) = found.first().cloned() else { break };
        if pool.len() > MOST_POOL {
            pool.clear();
        }
        pool.extend(found);
        master.enter(Column::Pattern(best));
    }
    let columns = master.basis.iter().zip(&master.values).filter_map(|(column, &bars)| match column {
        Column::Pattern(pattern) if bars > 1e-7 => Some((pattern.clone(), bars)),
        _ => None,
    });
    Relaxed { bound, columns: columns.collect() }
}

impl<'a> Master<'a> {
    fn new(problem: &'a Problem, rest: &'a Rest) -> Self {
        let items: Vec<usize> = (0..rest.demand.len()).filter(|&item| rest.demand[item] > 0).collect();
        let mut item_row = vec![None; rest.demand.len()];
        let mut basis = Vec::new();
        let mut values = Vec::new();
        for (row, &item) in items.iter().enumerate() {
            item_row[item] = Some(row);
            basis.push(Column::Missing(row));
            values.push(f64::from(rest.demand[item]));
        }
        let mut sort_row = vec![None; rest.left.len()];
        for (sort, left) in rest.left.iter().enumerate() {
            if let Some(left) = left {
                sort_row[sort] = Some(basis.len());
                basis.push(Column::Idle(basis.len()));
                values.push(f64::from(*left));
            }
        }
        let rows = basis.len();
        let unit = |row: usize| (0..rows).map(|at| if at == row { 1.0 } else { 0.0 }).collect();
        Self {
            problem,
            rest,
            items,
            item_row,
            sort_row,
            basis,
            inverse: (0..rows).map(unit).collect(),
            values,
            missing: (problem.beyond() * MISSING) as f64,
        }
    }

    /// Whole prices for each unit of cost: fine, and yet no bar's worth leaves an `i64`.
    fn price_scale(&self) -> i64 {
        let narrowest = self.items.iter().map(|&item| self.problem.widths[item]).min().unwrap_or(1);
        let room = self.problem.sorts.iter().map(|sort| sort.room).max().unwrap_or(1);
        let dearest = self.missing * ((room / narrowest.max(1)).min(self.rest.pieces()) + 1) as f64;
        (1e18 / dearest).clamp(1.0, f64::from(1 << 26)) as i64
    }

    fn column_cost(&self, column: &Column) -> f64 {
        match column {
            Column::Pattern(pattern) => self.problem.sorts[pattern.sort].cost as f64,
            Column::Missing(_) => self.missing,
            Column::Surplus(_) | Column::Idle(_) => 0.0,
        }
    }

    fn cost(&self) -> f64 {
        self.basis.iter().zip(&self.values).map(|(column, value)| self.column_cost(column) * value).sum()
    }

    fn duals(&self) -> Vec<f64> {
        let mut duals = vec![0.0; self.basis.len()];
        for (column, row) in self.basis.iter().zip(&self.inverse) {
            let cost = self.column_cost(column);
            if cost != 0.0 {
                duals.iter_mut().zip(row).for_each(|(dual, part)| *dual += cost * part);
            }
        }
        duals
    }

    fn entries(&self, column: &Column) -> Vec<(usize, f64)> {
        match column {
            Column::Surplus(row) => vec![(*row, -1.0)],
            Column::Missing(row) | Column::Idle(row) => vec![(*row, 1.0)],
            Column::Pattern(pattern) => {
                let cuts = pattern
                    .cuts
                    .iter()
                    .filter_map(|&(item, times)| self.item_row[item].map(|row| (row, f64::from(times))));
                cuts.chain(self.sort_row[pattern.sort].map(|row| (row, 1.0))).collect()
            }
        }
    }

    fn reduced(&self, column: &Column, duals: &[f64]) -> f64 {
        let worth: f64 = self.entries(column).iter().map(|&(row, part)| part * duals[row]).sum();
        self.column_cost(column) - worth
    }

    /// The column outside the knapsack that saves the most, if one saves anything.
    fn cheapest_known(&self, duals: &[f64], pool: &[Pattern]) -> Option<Column> {
        let fits = |p: &&Pattern| {
            self.rest.has(p.sort) && p.cuts.iter().all(|&(item, times)| times <= self.rest.demand[item])
        };
        let pooled = pool.iter().filter(fits).map(|pattern| {
            // Without building the column: there may be thousands.
            let worth: f64 = pattern
                .cuts
                .iter()
                .map(|&(item, times)| self.item_row[item].map_or(0.0, |row| duals[row]) * f64::from(times))
                .sum();
            let bar = self.sort_row[pattern.sort].map_or(0.0, |row| duals[row]);
            (self.problem.sorts[pattern.sort].cost as f64 - worth - bar, pattern)
        });
        let best = pooled.min_by(|a, b| a.0.total_cmp(&b.0)).filter(|best| best.0 < -1e-6);
        if let Some((_, pattern)) = best {
            return Some(Column::Pattern(pattern.clone()));
        }
        let rows = 0..self.basis.len();
        let plain = rows.flat_map(|row| {
            if row < self.items.len() {
                vec![Column::Surplus(row), Column::Missing(row)]
            } else {
                vec![Column::Idle(row)]
            }
        });
        let priced = plain.map(|column| (self.reduced(&column, duals), column));
        priced.min_by(|a, b| a.0.total_cmp(&b.0)).filter(|best| best.0 < -1e-7).map(|best| best.1)
    }

    /// New patterns that save something, the best first, and the bound that these prices prove.
    fn price(&self, duals: &[f64], scale: i64, work: &mut Work) -> (Vec<Pattern>, Option<i64>) {
        let whole = |price: f64| (price * scale as f64).clamp(-4e18, 4e18).floor() as i64;
        let pieces: Vec<(i64, u32, i64)> = (self.items.iter().enumerate())
            .map(|(row, &item)| (self.problem.widths[item], self.rest.demand[item], whole(duals[row]).max(0)))
            .collect();
        let sorts: Vec<usize> = (0..self.rest.left.len()).filter(|&sort| self.rest.has(sort)).collect();
        let wants: Vec<Want> = (sorts.iter())
            .map(|&sort| {
                let scarce = self.sort_row[sort].map_or(0, |row| whole(-duals[row]).max(0));
                let Sort { room, cost, .. } = self.problem.sorts[sort];
                Want { room, above: cost * scale + scarce }
            })
            .collect();
        let fills = Fills::of(&pieces, &wants, work);
        let mut found = Vec::new();
        let mut worths = Vec::new();
        for (&sort, want) in sorts.iter().zip(&wants) {
            let end = fills.best(want.room);
            worths.push((sort, end.worth.max(want.above)));
            let saved = end.worth - want.above;
            if saved as f64 > 1e-7 * scale as f64 {
                let cuts = fills.cuts(end).into_iter().map(|(row, times)| (self.items[row], times)).collect();
                found.push((saved, Pattern { sort, cuts }));
            }
        }
        found.sort_by_key(|found| std::cmp::Reverse(found.0));
        let proven = fills.complete.then(|| self.proven(&pieces, &worths, scale));
        (found.into_iter().map(|found| found.1).collect(), proven)
    }

    /// The bound that whole prices prove: what the pieces are worth, less what bars of which there are only so many
    /// gain. Where a bar without limit is worth more than it costs, all prices are scaled down until it isn't (A. A.
    /// Farley, Operations Research 38 (1990) 922–923).
    fn proven(&self, pieces: &[(i64, u32, i64)], worths: &[(usize, i64)], scale: i64) -> i64 {
        let total: i128 = pieces.iter().map(|&(_, n, price)| i128::from(n) * i128::from(price)).sum();
        let cost = |sort: usize| i128::from(self.problem.sorts[sort].cost) * i128::from(scale);
        let (mut num, mut den) = (1, 1);
        for &(sort, worth) in worths.iter().filter(|(sort, _)| self.rest.left[*sort].is_none()) {
            let worth = i128::from(worth);
            if worth * num > cost(sort) * den {
                (num, den) = (cost(sort), worth);
            }
        }
        let gained = worths.iter().filter_map(|&(sort, worth)| {
            let gain = (num * i128::from(worth) - cost(sort) * den).max(0);
            self.rest.left[sort].map(|left| gain * i128::from(left))
        });
        let value = num * total - gained.sum::<i128>();
        let unit = den * i128::from(scale);
        value.max(0).div_euclid(unit) as i64 + i64::from(value.max(0).rem_euclid(unit) > 0)
    }

    fn enter(&mut self, column: Column) {
        let entries = self.entries(&column);
        let rows = self.basis.len();
        let change: Vec<f64> =
            (self.inverse.iter()).map(|row| entries.iter().map(|&(at, part)| row[at] * part).sum()).collect();
        let ratio = |row: usize| self.values[row].max(0.0) / change[row];
        let out = (0..rows)
            .filter(|&row| change[row] > 1e-7)
            .min_by(|&a, &b| ratio(a).total_cmp(&ratio(b)).then(change[b].total_cmp(&change[a])));
        // Costs aren't negative, so some row always limits; rounding alone can hide it.
        let Some(out) = out else { return };
        let step = self.values[out] / change[out];
        self.inverse[out].iter_mut().for_each(|part| *part /= change[out]);
        let pivot = self.inverse[out].clone();
        for row in (0..rows).filter(|&row| row != out && change[row].abs() > TINY) {
            self.values[row] -= change[row] * step;
            self.inverse[row].iter_mut().zip(&pivot).for_each(|(part, by)| *part -= change[row] * by);
        }
        self.values[out] = step;
        self.basis[out] = column;
    }
}
