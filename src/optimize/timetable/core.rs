//! What is left open as linear constraints over yes-or-no variables, one for each choice, and their solution by branch and
//! bound (`microlp`).
use microlp::{ComparisonOp, OptimizationDirection, SolveOptions, SolveOutcome, Variable};

use super::model::{Model, PRIORITY, Picks, Score};
use super::prices::Open;

/// What came of it.
pub(super) struct Found {
    pub picks: Picks,
    /// No open choices reach more of the aim.
    pub bound: i64,
    pub proven: bool,
}

/// Nodes between two looks at the time.
const LOOK: u64 = 100;

/// The best open choices for an aim that keep what `start` reaches of `earlier` ones; nothing when the solver fails. What
/// is found is never worse than `start`.
pub(super) fn solve(
    model: &Model<'_>,
    (aim, earlier): (usize, &[usize]),
    open: &Open,
    (start, reached): (&Picks, Score),
    nodes: u64,
    watch: &mut dyn FnMut() -> bool,
) -> Option<Found> {
    let mut lp = microlp::Problem::new(OptimizationDirection::Maximize);
    let mut vars: Vec<(usize, Variable)> = Vec::new();
    let mut rows: Vec<Vec<Variable>> = vec![Vec::new(); model.room.len()];
    for (rug, own) in open.choices.iter().enumerate() {
        let mut mine: Vec<usize> = own.clone();
        mine.extend(start[rug].filter(|pick| !own.contains(pick)));
        let whole = aim == PRIORITY && mine.len() > 1;
        let first = vars.len();
        for choice in mine {
            let worth = if whole { 0.0 } else { model.worth[choice][aim] as f64 };
            let var = lp.add_binary_var(worth);
            vars.push((choice, var));
            for held in model.holds[choice].clone().into_iter().flatten() {
                rows[held].push(var);
            }
        }
        let own: Vec<(Variable, f64)> = vars[first..].iter().map(|(_, var)| (*var, 1.0)).collect();
        if own.is_empty() {
            continue;
        }
        if whole {
            // Whether a rug has a place at all decides this aim: that is what to branch on.
            let has = lp.add_binary_var(model.worth[vars[first].0][aim] as f64);
            let row: Vec<(Variable, f64)> = own.into_iter().chain([(has, -1.0)]).collect();
            lp.add_constraint(row.as_slice(), ComparisonOp::Eq, 0.0);
        } else {
            // The start may do without one that any better answer has.
            let op = if open.must[rug] && start[rug].is_some() { ComparisonOp::Eq } else { ComparisonOp::Le };
            lp.add_constraint(own.as_slice(), op, 1.0);
        }
    }
    for (row, room) in rows.iter().zip(&model.room) {
        if row.len() as i64 > *room {
            let row: Vec<(Variable, f64)> = row.iter().map(|var| (*var, 1.0)).collect();
            lp.add_constraint(row.as_slice(), ComparisonOp::Le, *room as f64);
        }
    }
    for &aim in earlier {
        let row: Vec<(Variable, f64)> =
            vars.iter().map(|(choice, var)| (*var, model.worth[*choice][aim] as f64)).collect();
        // Whole numbers: half a one is as good as none, and round-off can't cut the answer off.
        lp.add_constraint(row.as_slice(), ComparisonOp::Ge, reached[aim] as f64 - 0.5);
    }
    let mut options = SolveOptions::default();
    options.node_limit = Some(nodes.min(LOOK));
    let hint = |(choice, var): &(usize, Variable)| {
        let taken = start[model.choices[*choice].rug] == Some(*choice);
        (*var, f64::from(u8::from(taken)))
    };
    options.warm_start = Some(vars.iter().map(hint).collect());
    let mut outcome = lp.solve_with(options).ok()?;
    let mut done = nodes.min(LOOK);
    while !outcome.is_optimal() && done < nodes && watch() {
        outcome = outcome.resume().ok()?;
        done += LOOK;
    }
    Some(found(model, aim, &outcome, &vars, (start, reached)))
}

fn found(
    model: &Model<'_>,
    aim: usize,
    outcome: &SolveOutcome,
    vars: &[(usize, Variable)],
    (start, reached): (&Picks, Score),
) -> Found {
    let proven = outcome.is_optimal();
    let mut picks = start.clone();
    if let Some(solution) = outcome.solution() {
        let mut chosen: Picks = vec![None; model.own.len()];
        for (choice, var) in vars {
            if solution.var_value(*var) > 0.5 {
                chosen[model.choices[*choice].rug] = Some(*choice);
            }
        }
        if model.score(&chosen)[aim] > reached[aim] {
            picks = chosen;
        }
    }
    let value = model.score(&picks)[aim];
    let bound = outcome.stats().best_bound.map_or(i64::MAX, |bound| (bound + 1e-6).floor() as i64);
    Found { picks, bound: if proven { value } else { bound }, proven }
}
