//! The question as linear constraints over yes-or-no variables, one for each place that a rug could have, and their solution
//! by branch and bound (`microlp`).
use microlp::{ComparisonOp, OptimizationDirection, SolveOptions, Variable};

use super::problem::{Placed, Problem};

/// What is sought, one after the other.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Aim {
    /// The greatest sum of priorities.
    Priority,
    /// The most rugs that keep what they were promised.
    Changes,
    /// The least sum of last meetings, by haste.
    Last,
}

/// Frames that are alike for every rug and closed at the same meetings.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Alike {
    pub frames: Vec<usize>,
    /// By meeting, counted from 0: whether they can't be used.
    pub busy: Vec<bool>,
}

/// A place that a rug could have.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Choice {
    pub rug: usize,
    pub alike: usize,
    pub from: u32,
    pub to: u32,
}

/// What came of an aim.
pub(super) struct Found {
    /// Which choices.
    pub chosen: Vec<bool>,
    /// How much of the aim they reach.
    pub value: i64,
    /// No choices reach more.
    pub bound: i64,
    pub proven: bool,
}

pub(super) struct Model<'p> {
    problem: &'p Problem,
    pub alike: Vec<Alike>,
    pub choices: Vec<Choice>,
    /// Rugs that keep what they have.
    fixed: Vec<Option<Placed>>,
    /// Pairs of rods left beside those, by kind and meeting.
    pub rods: Vec<Vec<u32>>,
}

impl<'p> Model<'p> {
    pub fn of(problem: &'p Problem) -> Self {
        let meetings = problem.meetings as usize;
        let mut busy: Vec<Vec<bool>> = (problem.frames.iter())
            .map(|frame| (1..=problem.meetings).map(|meeting| frame.closed.contains(&meeting)).collect())
            .collect();
        let mut rods: Vec<Vec<u32>> = (0..problem.rods.len())
            .map(|kind| (1..=problem.meetings).map(|meeting| problem.pairs(kind, meeting)).collect())
            .collect();
        let mut fixed = vec![None; problem.rugs.len()];
        // What began earlier was there first: a second that wants the same frame goes without.
        let mut order: Vec<usize> = (0..problem.rugs.len()).collect();
        order.sort_by_key(|&rug| problem.rugs[rug].fixed.map_or(u32::MAX, |(_, from)| from));
        let mut theirs = vec![vec![false; meetings]; problem.frames.len()];
        for rug in order {
            let Some(place) = problem.fixed_place(rug) else { continue };
            let until = (place.to + problem.gap).min(problem.meetings) as usize;
            let stretch = place.from as usize - 1..until;
            if theirs[place.frame][stretch.clone()].contains(&true) {
                continue;
            }
            theirs[place.frame][stretch.clone()].fill(true);
            busy[place.frame][stretch].fill(true);
            if let Some(kind) = problem.rugs[rug].rods {
                for left in &mut rods[kind][place.from as usize - 1..place.to as usize] {
                    *left = left.saturating_sub(1);
                }
            }
            fixed[rug] = Some(place);
        }
        let alike = alike(problem, &busy);
        let mut model = Self { problem, alike, choices: Vec::new(), fixed, rods };
        model.choices = model.list();
        model
    }

    fn list(&self) -> Vec<Choice> {
        let problem = self.problem;
        let mut choices = Vec::new();
        for (at, rug) in problem.rugs.iter().enumerate().filter(|(_, rug)| rug.fixed.is_none()) {
            for from in rug.earliest.max(1)..=rug.latest.min(problem.meetings) {
                let to = problem.end_of(at, from);
                if rug.absent.contains(&from) || to > rug.latest.min(problem.meetings) {
                    continue;
                }
                let held = from as usize - 1..(to + problem.gap).min(problem.meetings) as usize;
                for (class, alike) in self.alike.iter().enumerate() {
                    if rug.fits.contains(&alike.frames[0]) && !alike.busy[held.clone()].contains(&true) {
                        choices.push(Choice { rug: at, alike: class, from, to });
                    }
                }
            }
        }
        choices
    }

    /// What the rugs that keep their place count for.
    pub fn fixed_priority(&self) -> u64 {
        let kept = self.fixed.iter().zip(&self.problem.rugs).filter(|(place, _)| place.is_some());
        kept.map(|(_, rug)| u64::from(rug.priority)).sum()
    }

    /// What all rugs that have any choice count for.
    pub fn most(&self) -> u64 {
        let free = self.problem.rugs.iter().enumerate();
        let may = free.filter(|(at, _)| self.choices.iter().any(|choice| choice.rug == *at));
        self.fixed_priority() + may.map(|(_, rug)| u64::from(rug.priority)).sum::<u64>()
    }

    /// The gap's end of a choice, from 0 and exclusive: until then its frame is held.
    pub fn held(&self, choice: &Choice) -> std::ops::Range<usize> {
        choice.from as usize - 1..(choice.to + self.problem.gap).min(self.problem.meetings) as usize
    }

    pub fn rods_of(&self, rug: usize) -> Option<usize> {
        self.problem.rugs[rug].rods
    }

    pub fn priority_of(&self, rug: usize) -> u32 {
        self.problem.rugs[rug].priority
    }

    /// What a choice adds to an aim.
    fn worth(&self, aim: Aim, choice: &Choice) -> f64 {
        match aim {
            Aim::Priority => f64::from(self.problem.rugs[choice.rug].priority),
            Aim::Changes => {
                let before = self.problem.rugs[choice.rug].before;
                let stays = before.is_some_and(|(frame, from)| {
                    from == choice.from && self.alike[choice.alike].frames == [frame]
                });
                f64::from(u8::from(stays))
            }
            Aim::Last => -f64::from(choice.to) * f64::from(self.problem.rugs[choice.rug].haste.max(1)),
        }
    }

    /// The best choices for an aim that keep what was reached of others; nothing when the solver fails.
    ///
    /// `start` are choices that keep it too; what is found is never worse.
    pub fn reach(&self, aim: Aim, kept: &[(Aim, i64)], start: &[bool], nodes: u64) -> Option<Found> {
        if self.choices.is_empty() {
            return Some(Found { chosen: Vec::new(), value: 0, bound: 0, proven: true });
        }
        let mut lp = microlp::Problem::new(OptimizationDirection::Maximize);
        let vars: Vec<Variable> =
            self.choices.iter().map(|choice| lp.add_binary_var(self.worth(aim, choice))).collect();
        let mut at_most = |which: &dyn Fn(&Choice) -> bool, most: f64| {
            let row: Vec<(Variable, f64)> = self
                .choices
                .iter()
                .zip(&vars)
                .filter(|(choice, _)| which(choice))
                .map(|(_, &var)| (var, 1.0))
                .collect();
            if row.len() as f64 > most {
                lp.add_constraint(row.as_slice(), ComparisonOp::Le, most);
            }
        };
        for rug in 0..self.problem.rugs.len() {
            at_most(&|choice| choice.rug == rug, 1.0);
        }
        for meeting in 0..self.problem.meetings as usize {
            for (class, alike) in self.alike.iter().enumerate() {
                let holds = |choice: &Choice| choice.alike == class && self.held(choice).contains(&meeting);
                at_most(&holds, alike.frames.len() as f64);
            }
            for (kind, left) in self.rods.iter().enumerate() {
                let uses = |choice: &Choice| {
                    self.rods_of(choice.rug) == Some(kind)
                        && (choice.from as usize - 1..choice.to as usize).contains(&meeting)
                };
                at_most(&uses, f64::from(left[meeting]));
            }
        }
        for (aim, value) in kept {
            let row: Vec<(Variable, f64)> = self
                .choices
                .iter()
                .zip(&vars)
                .map(|(choice, &var)| (var, self.worth(*aim, choice)))
                .collect();
            // Whole numbers: half a one is as good as none, and round-off can't cut the answer off.
            lp.add_constraint(row.as_slice(), ComparisonOp::Ge, *value as f64 - 0.5);
        }
        let mut options = SolveOptions::default();
        options.node_limit = Some(nodes);
        let value = |chosen: bool| f64::from(u8::from(chosen));
        options.warm_start =
            Some(vars.iter().zip(start).map(|(&var, &chosen)| (var, value(chosen))).collect());
        let outcome = lp.solve_with(options).ok()?;
        let proven = outcome.is_optimal();
        let solution = outcome.into_solution().ok()?;
        let chosen: Vec<bool> = vars.iter().map(|&var| solution.var_value(var) > 0.5).collect();
        let chosen = if self.value(aim, &chosen) < self.value(aim, start) { start.to_vec() } else { chosen };
        let value = self.value(aim, &chosen);
        let bound = solution.stats().best_bound.map_or(i64::MAX, |bound| (bound + 1e-6).floor() as i64);
        Some(Found { value, bound: if proven { value } else { bound }, proven, chosen })
    }

    fn value(&self, aim: Aim, chosen: &[bool]) -> i64 {
        let of = self.choices.iter().zip(chosen).filter(|(_, chosen)| **chosen);
        of.map(|(choice, _)| self.worth(aim, choice)).sum::<f64>().round() as i64
    }

    /// The choices as places, each on a frame of its own kind: by first meeting, on the frame that is free the longest.
    pub fn placed(&self, chosen: &[bool]) -> Vec<Option<Placed>> {
        let mut placed = self.fixed.clone();
        let mut taken: Vec<&Choice> = self
            .choices
            .iter()
            .zip(chosen)
            .filter(|(_, chosen)| **chosen)
            .map(|(choice, _)| choice)
            .collect();
        taken.sort_by_key(|choice| (choice.from, choice.to, choice.rug));
        let mut free: Vec<Vec<usize>> = self.alike.iter().map(|alike| vec![0; alike.frames.len()]).collect();
        for choice in taken {
            let held = self.held(choice);
            let ready = free[choice.alike].iter().position(|until| *until <= held.start);
            if let Some(which) = ready {
                free[choice.alike][which] = held.end;
                let frame = self.alike[choice.alike].frames[which];
                placed[choice.rug] = Some(Placed { frame, from: choice.from, to: choice.to });
            }
        }
        placed
    }
}

/// Frames that serve the same rugs and are closed at the same meetings count together; one that somebody was promised stands
/// for itself, since another like it would be a change.
fn alike(problem: &Problem, busy: &[Vec<bool>]) -> Vec<Alike> {
    let promised =
        |frame: usize| problem.rugs.iter().any(|rug| rug.before.is_some_and(|(of, _)| of == frame));
    let serves = |frame: usize| -> Vec<bool> {
        problem.rugs.iter().map(|rug| rug.fixed.is_none() && rug.fits.contains(&frame)).collect()
    };
    let mut found: Vec<(Vec<bool>, bool, Alike)> = Vec::new();
    for (frame, busy) in busy.iter().enumerate() {
        let (serves, alone) = (serves(frame), promised(frame));
        let same = |(to, single, alike): &&mut (Vec<bool>, bool, Alike)| {
            !alone && !*single && *to == serves && alike.busy == *busy
        };
        match found.iter_mut().find(same) {
            Some((_, _, alike)) => alike.frames.push(frame),
            None => found.push((serves, alone, Alike { frames: vec![frame], busy: busy.clone() })),
        }
    }
    found.into_iter().map(|(_, _, alike)| alike).collect()
}
