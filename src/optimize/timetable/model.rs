//! The question as choices: every place that a rug could have, what it holds there, and what it adds to each aim.
use std::ops::Range;

use super::problem::{Placed, Problem};

/// What a timetable reaches: the sum of priorities, the rugs that keep what they were promised, the sum of last meetings by
/// haste, taken off. The greater is the better, the first before the second before the third.
pub(super) type Score = [i64; 3];
/// The choice of each rug, if it has one.
pub(super) type Picks = Vec<Option<usize>>;

/// What is sought, one after the other: a place in the [`Score`].
pub(super) const PRIORITY: usize = 0;
pub(super) const STAYS: usize = 1;
pub(super) const LAST: usize = 2;

/// Frames that are alike for every rug, take the same rods and are closed at the same meetings.
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
    /// The kind of rods that it takes a pair of.
    pub rods: Option<usize>,
}

pub(super) struct Model<'p> {
    problem: &'p Problem,
    pub alike: Vec<Alike>,
    /// Those of one rug lie together, the soonest done first.
    pub choices: Vec<Choice>,
    /// Which choices are whose.
    pub own: Vec<Range<usize>>,
    /// What each choice adds to the score.
    pub worth: Vec<Score>,
    /// What each choice holds one of: its frame at its meetings and the gap, and a pair of rods at its meetings.
    pub holds: Vec<[Range<usize>; 2]>,
    /// How many there are of what can be held: the frames that are alike by meeting, then the rods that are left by meeting.
    pub room: Vec<i64>,
    /// What the rugs that keep their place are worth.
    pub fixed_worth: Score,
    fixed: Vec<Option<Placed>>,
    fixed_rods: Vec<Option<usize>>,
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
        let (mut fixed, mut fixed_rods) = (vec![None; problem.rugs.len()], vec![None; problem.rugs.len()]);
        let mut fixed_worth = [0; 3];
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
            let stretch = place.from as usize - 1..place.to as usize;
            let kinds = problem.kinds(rug, place.frame);
            let there = kinds.iter().find(|&&kind| rods[kind][stretch.clone()].iter().all(|left| *left > 0));
            if let Some(&kind) = there.or(kinds.first()) {
                for left in &mut rods[kind][stretch] {
                    *left = left.saturating_sub(1);
                }
                fixed_rods[rug] = Some(kind);
            }
            fixed_worth[PRIORITY] += i64::from(problem.rugs[rug].priority);
            fixed[rug] = Some(place);
        }
        let alike = alike(problem, &busy);
        let frames = alike.iter().flat_map(|alike| vec![alike.frames.len() as i64; meetings]);
        let room = frames.chain(rods.iter().flatten().map(|pairs| i64::from(*pairs))).collect();
        let mut model = Self {
            problem,
            alike,
            choices: Vec::new(),
            own: Vec::new(),
            worth: Vec::new(),
            holds: Vec::new(),
            room,
            fixed_worth,
            fixed,
            fixed_rods,
        };
        model.list(&rods);
        model
    }

    fn list(&mut self, rods: &[Vec<u32>]) {
        let problem = self.problem;
        // Each rug takes one pair at most, and none without a frame.
        let users = problem.rugs.iter().filter(|rug| rug.fixed.is_none()).count().min(problem.frames.len());
        let plenty: Vec<bool> =
            rods.iter().map(|left| left.iter().all(|pairs| *pairs as usize >= users)).collect();
        for (at, rug) in problem.rugs.iter().enumerate() {
            let mut own = Vec::new();
            let starts = if rug.fixed.is_none() {
                rug.earliest.max(1)..rug.latest.min(problem.meetings) + 1
            } else {
                0..0
            };
            for from in starts {
                let to = problem.end_of(at, from);
                if rug.absent.contains(&from) || to > rug.latest.min(problem.meetings) {
                    continue;
                }
                let held = from as usize - 1..(to + problem.gap).min(problem.meetings) as usize;
                for (class, alike) in self.alike.iter().enumerate() {
                    let frame = alike.frames[0];
                    if !rug.fits.contains(&frame) || alike.busy[held.clone()].contains(&true) {
                        continue;
                    }
                    let choice = |rods| Choice { rug: at, alike: class, from, to, rods };
                    let kinds = problem.kinds(at, frame);
                    if kinds.is_empty() {
                        own.push(choice(None));
                    } else if let Some(&kind) = kinds.iter().find(|&&kind| plenty[kind]) {
                        own.push(choice(Some(kind)));
                    } else {
                        let stretch = from as usize - 1..to as usize;
                        let there =
                            |kind: &&usize| rods[**kind][stretch.clone()].iter().all(|left| *left > 0);
                        own.extend(kinds.iter().filter(there).map(|kind| choice(Some(*kind))));
                    }
                }
            }
            own.sort_by_key(|choice| (choice.to, choice.from));
            self.own.push(self.choices.len()..self.choices.len() + own.len());
            for choice in own {
                let stays = rug.before.is_some_and(|(frame, from)| {
                    from == choice.from && self.alike[choice.alike].frames == [frame]
                });
                let last = i64::from(choice.to) * i64::from(rug.haste.max(1));
                self.worth.push([i64::from(rug.priority), i64::from(stays), -last]);
                let meetings = problem.meetings as usize;
                let from = choice.alike * meetings + choice.from as usize - 1;
                let frame = from..choice.alike * meetings + self.held(&choice).end;
                let rods = choice.rods.filter(|kind| !plenty[*kind]).map_or(0..0, |kind| {
                    let row = (self.alike.len() + kind) * meetings;
                    row + choice.from as usize - 1..row + choice.to as usize
                });
                self.holds.push([frame, rods]);
                self.choices.push(choice);
            }
        }
    }

    /// The meetings at which a choice's frame is held, from 0 and exclusive: its own, and the gap's.
    fn held(&self, choice: &Choice) -> Range<usize> {
        choice.from as usize - 1..(choice.to + self.problem.gap).min(self.problem.meetings) as usize
    }

    /// Whether any rug that may move was promised something.
    pub fn has_promises(&self) -> bool {
        self.problem.rugs.iter().any(|rug| rug.before.is_some() && rug.fixed.is_none())
    }

    /// What all rugs that have any choice count for, besides the fixed ones.
    pub fn most(&self) -> i64 {
        self.own.iter().filter(|own| !own.is_empty()).map(|own| self.worth[own.start][PRIORITY]).sum()
    }

    pub fn score(&self, picks: &Picks) -> Score {
        let mut score = [0; 3];
        for &pick in picks.iter().flatten() {
            for (sum, worth) in score.iter_mut().zip(self.worth[pick]) {
                *sum += worth;
            }
        }
        score
    }

    /// The choices that an answer stands for; nothing of rugs whose place isn't open here.
    pub fn picks(&self, placed: &[Option<Placed>], rods: &[Option<usize>]) -> Picks {
        let mut left = self.room.clone();
        (self.own.iter().enumerate())
            .map(|(rug, own)| {
                let place = (*placed.get(rug)?)?;
                let same = |&at: &usize| {
                    let choice = &self.choices[at];
                    self.alike[choice.alike].frames.contains(&place.frame)
                        && (choice.from, choice.to) == (place.from, place.to)
                        && self.holds[at].iter().cloned().flatten().all(|held| left[held] > 0)
                };
                let best = own.clone().filter(same).min_by_key(|&at| self.choices[at].rods != rods[rug])?;
                self.holds[best].iter().cloned().flatten().for_each(|held| left[held] -= 1);
                Some(best)
            })
            .collect()
    }

    /// The choices as places, each on a frame of its own kind: by first meeting, on the frame that is free the longest; and
    /// the rods that each takes.
    pub fn placed(&self, picks: &Picks) -> (Vec<Option<Placed>>, Vec<Option<usize>>) {
        let (mut placed, mut rods) = (self.fixed.clone(), self.fixed_rods.clone());
        let mut taken: Vec<&Choice> = picks.iter().flatten().map(|&pick| &self.choices[pick]).collect();
        taken.sort_by_key(|choice| (choice.from, choice.to, choice.rug));
        let mut free: Vec<Vec<usize>> = self.alike.iter().map(|alike| vec![0; alike.frames.len()]).collect();
        for choice in taken {
            let held = self.held(choice);
            let ready = free[choice.alike].iter().position(|until| *until <= held.start);
            if let Some(which) = ready {
                free[choice.alike][which] = held.end;
                let frame = self.alike[choice.alike].frames[which];
                placed[choice.rug] = Some(Placed { frame, from: choice.from, to: choice.to });
                rods[choice.rug] = choice.rods;
            }
        }
        (placed, rods)
    }
}

/// Frames that serve the same rugs with the same rods and are closed at the same meetings count together; one that somebody was
/// promised stands for itself, since another like it would be a change.
fn alike(problem: &Problem, busy: &[Vec<bool>]) -> Vec<Alike> {
    let promised =
        |frame: usize| problem.rugs.iter().any(|rug| rug.before.is_some_and(|(of, _)| of == frame));
    let serves = |frame: usize| -> Vec<bool> {
        problem.rugs.iter().map(|rug| rug.fixed.is_none() && rug.fits.contains(&frame)).collect()
    };
    let mut found: Vec<(Vec<bool>, bool, Alike)> = Vec::new();
    for (frame, busy) in busy.iter().enumerate() {
        let (serves, alone) = (serves(frame), promised(frame));
        let rods = |alike: &Alike| problem.frames[alike.frames[0]].rods == problem.frames[frame].rods;
        let same = |(to, single, alike): &&mut (Vec<bool>, bool, Alike)| {
            !alone && !*single && *to == serves && alike.busy == *busy && rods(alike)
        };
        match found.iter_mut().find(same) {
            Some((_, _, alike)) => alike.frames.push(frame),
            None => found.push((serves, alone, Alike { frames: vec![frame], busy: busy.clone() })),
        }
    }
    found.into_iter().map(|(_, _, alike)| alike).collect()
}
