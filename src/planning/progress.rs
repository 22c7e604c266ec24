//! Where a rug is, by its log: rows woven, the weaver's pace, the time and the chance to finish. Whether the cloth lasts is
//! in `sufficiency`; dates are in `schedule`.
use super::needs::{Counting, Needs};
use super::pace::Pace;
use super::pattern::{ColourId, Pattern};
use super::plan::Plan;
use super::settings::{Estimate, Evaluation, Parameter, Sample};
use super::spec::{Rug, RugSpec, SpecError};
use super::steps::{Step, StepKind};
use super::uncertainty::chance::{NINTH_DECILE, NORMAL_POINTS, normal_below, place_of};
use super::uncertainty::estimate::{Range, Spread, effects};
use super::weft::rows_until;
use crate::units::{Length, Mass, Minutes, Units};
use serde::Serialize;

/// One entry of a rug's log, the oldest first in a list. Undone entries are left out.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Entry {
    /// Rows woven so far.
    pub rows: Option<u32>,
    /// Length woven so far.
    pub woven: Option<Length>,
    /// Time worked since the entry before.
    pub minutes: Option<Minutes>,
    /// What the rest of each colour weighs.
    pub left: Vec<(ColourId, Mass)>,
}

/// The rug as its log shows it: rows and length in one entry are a sample of that length, and beat a shorter one. What
/// can't be of this rug, since it was made shorter meanwhile, is left out of account.
pub fn measured_by(spec: &RugSpec, log: &[Entry], units: Units) -> RugSpec {
    // Under an inch the rows can't be counted well enough to say anything.
    let counted =
        |entry: &Entry| Some((entry.woven?, entry.rows?)).filter(|(woven, _)| woven.in_inches() >= 1.0);
    let Some((woven, rows)) = log.iter().rev().find_map(counted).filter(|(_, rows)| *rows > 0) else {
        return spec.clone();
    };
    let before = spec.sample;
    if before.is_some_and(|sample| sample.woven >= woven) {
        return spec.clone();
    }
    let mut measured = RugSpec { sample: Some(Sample { woven, rows, mass: None }), ..spec.clone() };
    // The sample's weight of a row is still the only one that was weighed.
    if let Some(Sample { rows, mass: Some(mass), .. }) = before {
        let row = mass.scale(1.0 / f64::from(rows.max(1)));
        measured.known.retain(|(parameter, _)| *parameter != Parameter::GramsPerRow);
        measured.known.push((Parameter::GramsPerRow, Estimate::measured_grams_per_row(row)));
    }
    if measured.check(units).is_ok() { measured } else { spec.clone() }
}

/// Where a rug is.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Progress {
    /// Rows woven.
    pub rows: u32,
    /// Length woven.
    pub woven: Length,
    /// Rows of the whole rug, expected.
    pub rows_in_all: u32,
    /// Whether weaving has begun.
    pub began: bool,
    /// Time logged for preparing.
    pub prepared: Minutes,
    /// Time logged for weaving.
    pub weaving: Minutes,
    /// What is believed of the weaver's pace, log included.
    pub pace: Pace,
    /// What was believed of it before.
    pub prior: Pace,
    /// Work that the log has timed: twists, and the minutes they took.
    pub timed: (f64, Minutes),
    /// Weaving still to do: one weaver in ten is done by low, nine in ten by take.
    pub weave_left: Range<Minutes>,
    /// Preparing and finishing still to do.
    pub other_left: Range<Minutes>,
    /// The weaving still to do.
    pub work: Work,
}

impl Progress {
    /// The progress of a rug, with the plan of [`measured_by`] the same log.
    ///
    /// # Errors
    /// [`SpecError`] for a rug that can't be planned.
    pub fn of(spec: &RugSpec, plan: &Plan, log: &[Entry], units: Units) -> Result<Self, SpecError> {
        let rug = spec.check(units)?;
        let effort = Effort::of(&rug, plan);
        let row_of = |entry: &Entry| {
            let by_length = || entry.woven.map(|woven| rows_until(woven, effort.rows_per_inch));
            entry.rows.or_else(by_length).map(|rows| rows.min(plan.weft.rows))
        };
        let (shift, doubt) = Effort::doubt(&rug);
        let prior = Pace::believed(effort.twists_in_all(), plan.minutes.weave.expected * shift.exp(), doubt);
        let (mut rows, mut began, mut pace, mut since) = (0, false, prior, None::<f64>);
        let (mut prepared, mut weaving, mut timed) = (0.0, 0.0, (0.0, 0.0));
        for entry in log {
            if let Some(minutes) = entry.minutes {
                since = Some(since.unwrap_or(0.0) + minutes.get());
            }
            let Some(now) = row_of(entry) else { continue };
            match since.take() {
                // Before the first row the time went into strips, warp and winding.
                Some(minutes) if now == 0 && !began => prepared += minutes,
                Some(minutes) => {
                    weaving += minutes;
                    if now > rows {
                        let twists = effort.between(rows, now);
                        pace = pace.after(twists, Minutes::new(minutes));
                        timed = (timed.0 + twists, timed.1 + minutes);
                    }
                }
                None => {}
            }
            rows = now;
            began |= now > 0;
        }
        // Time without a place yet: weaving goes on, or hasn't begun.
        let rest = since.unwrap_or(0.0);
        if began {
            weaving += rest;
        } else {
            prepared += rest;
        }
        let last = log.iter().rev().find(|entry| row_of(entry).is_some());
        let by_rows = Length::inches(f64::from(rows) / effort.rows_per_inch);
        let woven = last.and_then(|entry| entry.woven).unwrap_or(by_rows).min(plan.length);
        let twists_left = effort.between(rows, plan.weft.rows);
        let (finish, prepare) = (plan.minutes.finish, plan.minutes.prepare);
        let other_left = if began {
            finish
        } else {
            let left = |range: Minutes| Minutes::new((range.get() - prepared).max(0.0));
            Range {
                low: left(prepare.low) + finish.low,
                expected: left(prepare.expected) + finish.expected,
                p90: left(prepare.p90) + finish.p90,
            }
        };
        let left = f64::from(plan.weft.rows.saturating_sub(rows));
        let rows_doubt = Spread::of(&rug.settings, |at| Needs::of(&rug, at, Counting::Smooth).rows).sd();
        // Where the length is measured only the rows over the rest of it are in doubt; where it isn't, the place itself is.
        let in_all = f64::from(plan.weft.rows);
        let in_doubt = match last.and_then(|entry| entry.woven) {
            Some(_) => (left / rug.unsampled()).min(in_all),
            None => in_all,
        };
        let rows_doubt = if left > 0.0 { rows_doubt * in_doubt * effort.row / twists_left } else { 0.0 };
        let work = Work { pace, twists: twists_left, doubt: rows_doubt.hypot(effort.end_doubt(&rug, left)) };
        Ok(Self {
            rows,
            woven,
            rows_in_all: plan.weft.rows,
            began,
            prepared: Minutes::new(prepared),
            weaving: Minutes::new(weaving),
            pace,
            prior,
            timed: (timed.0, Minutes::new(timed.1)),
            weave_left: work.time(),
            other_left,
            work,
        })
    }

    /// What the log alone says, in twists per minute; nothing before any were timed.
    pub fn timed_pace(&self) -> Option<f64> {
        let (twists, minutes) = self.timed;
        (minutes.get() > 0.0).then(|| twists / minutes.get())
    }

    /// The chance, 0 to 1, to end the weaving and all other work within so much time.
    ///
    /// The pace is a gamma rate and the twists to come a Poisson number of spells; that the rows still to come, and the
    /// other work, are themselves in doubt is averaged over.
    pub fn chance(&self, room: Minutes) -> f64 {
        let other = self.other_left;
        if self.work.twists <= 0.0 {
            // With the weaving done only the other work is in doubt, and its range is told.
            let (from, to) =
                if room < other.expected { (other.low, other.expected) } else { (other.expected, other.p90) };
            let step = (to.get() / from.get().max(1e-9)).ln().max(1e-9) / NINTH_DECILE;
            return normal_below((room.get().max(1e-9) / other.expected.get().max(1e-9)).ln() / step);
        }
        let sd = |up: Minutes, down: Minutes| {
            if down.get() > 0.0 { (up.get() / down.get()).ln() / NINTH_DECILE } else { 0.0 }
        };
        let (above, below) = (sd(other.p90, other.expected), sd(other.expected, other.low));
        let mut chance = 0.0;
        for (z, weight) in NORMAL_POINTS {
            let work = other.expected.get() * (z * if z > 0.0 { above } else { below }).exp();
            let left = room.get() - work;
            if left >= 0.0 {
                chance += weight * self.work.chance(Minutes::new(left));
            }
        }
        chance.min(1.0)
    }

    /// The plan's steps that are still to do, each with the time that it takes this weaver.
    pub fn steps_left(&self, plan: &Plan) -> Vec<Step> {
        let slower = match plan.minutes.weave.expected.get() {
            planned if planned > 0.0 => {
                let all = self.pace.time(plan.weft.twists as f64).expected.get();
                all / planned
            }
            _ => 1.0,
        };
        let mut spent = self.prepared.get();
        let mut left = Vec::new();
        for step in &plan.steps {
            match step.kind {
                StepKind::CutStrips | StepKind::JoinWarp | StepKind::WindOn => {
                    let done = if self.began { step.minutes.get() } else { spent.min(step.minutes.get()) };
                    spent -= done;
                    let minutes = step.minutes + Minutes::new(-done);
                    if minutes.get() > 0.0 {
                        left.push(Step { minutes, ..*step });
                    }
                }
                StepKind::Weave { band, from_row, to_row } if to_row > self.rows => {
                    let begins = from_row.max(self.rows);
                    let share = f64::from(to_row - begins) / f64::from(to_row - from_row).max(1.0);
                    let kind = StepKind::Weave { band, from_row: begins, to_row };
                    left.push(Step { kind, minutes: step.minutes * (share * slower) });
                }
                StepKind::Weave { .. } => {}
                StepKind::TakeOff | StepKind::Fringe | StepKind::Backing => left.push(*step),
            }
        }
        left
    }
}

/// The weaving still to do.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Work {
    /// The weaver's pace.
    pub pace: Pace,
    /// Twists, as many as would take the same time at an even pace.
    pub twists: f64,
    /// The relative doubt of that: the rows still to come, and how slow the last stretch is, are only estimated.
    pub doubt: f64,
}

impl Work {
    /// The chance, 0 to 1, to weave it within so much time.
    pub fn chance(&self, minutes: Minutes) -> f64 {
        let one = |(z, weight): (f64, f64)| {
            weight * self.pace.chance(self.twists * (1.0 + z * self.doubt).max(0.02), minutes)
        };
        NORMAL_POINTS.into_iter().map(one).sum::<f64>().min(1.0)
    }

    fn time(&self) -> Range<Minutes> {
        if self.twists <= 0.0 {
            return Range { low: Minutes::ZERO, expected: Minutes::ZERO, p90: Minutes::ZERO };
        }
        // Ten times what the slowest of ten needs is beyond anybody; halving finds the rest.
        let most = self.pace.time(self.twists).p90.get() * 10.0;
        let at = |chance: f64| Minutes::new(most * place_of(chance, |x| self.chance(Minutes::new(most * x))));
        Range { low: at(0.1), expected: at(0.5), p90: at(0.9) }
    }
}

/// How much work rows are: twists, with the slow last stretch counted for as many as would take the same time.
struct Effort {
    rows: u32,
    rows_per_inch: f64,
    /// Twists that one row is.
    row: f64,
    slow_rows: f64,
    /// What a turn more is, and how many there are in the rows up to each, in the order of weaving; nothing without charts.
    turn: f64,
    turns: Vec<u32>,
    /// What a row of the slow stretch is on top.
    slow_row: f64,
}

impl Effort {
    fn of(rug: &Rug, plan: &Plan) -> Self {
        let at = rug.settings.at();
        let needs = Needs::of(rug, &at, Counting::Whole);
        let slow_rows = (at.length(Parameter::SlowEnd).in_inches() * needs.rows_per_inch).min(needs.rows);
        let twists = plan.weft.twists as f64;
        let slow =
            if needs.time.weave.get() > 0.0 { needs.time.slow.get() / needs.time.weave.get() } else { 0.0 };
        let turns = turns_so_far(&plan.pattern);
        let turning = if needs.time.weave.get() > 0.0 {
            needs.time.turning.get() / needs.time.weave.get()
        } else {
            0.0
        };
        Self {
            rows: plan.weft.rows,
            rows_per_inch: needs.rows_per_inch,
            row: twists * (1.0 - slow - turning) / needs.rows.max(1.0),
            slow_rows,
            turn: twists * turning / needs.extra_turns.max(1.0),
            turns,
            slow_row: twists * slow / slow_rows.max(f64::EPSILON),
        }
    }

    fn twists_in_all(&self) -> f64 {
        self.between(0, self.rows)
    }

    fn between(&self, from: u32, to: u32) -> f64 {
        let turns = |row: u32| self.turns.get(row as usize).or(self.turns.last()).copied().unwrap_or(0);
        let turning = self.turn * f64::from(turns(to.max(from)) - turns(from));
        let (from, to) = (f64::from(from), f64::from(to.max(from)));
        let slow_from = (f64::from(self.rows) - self.slow_rows).max(0.0);
        let slow = (to - from.max(slow_from)).max(0.0);
        self.row * (to - from) + self.slow_row * slow + turning
    }

    /// How far the middle of the time for given rows lies above the expected, on the logarithm, and its standard
    /// deviation there, before any log.
    fn doubt(rug: &Rug) -> (f64, f64) {
        let per_row = |at: &Evaluation| {
            let needs = Needs::of(rug, at, Counting::Smooth);
            needs.time.weave.get() / needs.rows.max(1.0)
        };
        let shift = effects(&rug.settings, per_row).iter().map(|effect| effect.mean).sum();
        (shift, Spread::of(&rug.settings, per_row).sd())
    }

    /// The relative doubt of the rest against the rows woven, because nobody knows yet how slow the last stretch is.
    fn end_doubt(&self, rug: &Rug, left: f64) -> f64 {
        let in_steady_rows = |at: &Evaluation| {
            let needs = Needs::of(rug, at, Counting::Smooth);
            let steady = (needs.time.weave.get() - needs.time.slow.get()) / needs.rows.max(1.0);
            left + needs.time.slow.get() / steady.max(f64::EPSILON)
        };
        if left > 0.0 && left < f64::from(self.rows) {
            Spread::of(&rug.settings, in_steady_rows).sd()
        } else {
            0.0
        }
    }
}

/// The turns more in the rows up to each, as they are woven, from none before the first.
fn turns_so_far(pattern: &Pattern) -> Vec<u32> {
    if pattern.charts.is_empty() {
        return Vec::new();
    }
    let half = pattern.first_half();
    let woven = (0..half).chain((half..pattern.rows()).rev());
    let so_far = woven.scan(0, |sum, row| {
        *sum += pattern.extra_turns(row);
        Some(*sum)
    });
    std::iter::once(0).chain(so_far).collect()
}
