//! The row counter: what a press does to a rug's log, and the stretches of rows that are read off while weaving.
use jiff::SignedDuration;

use super::rug_plan::{self, RugPlan};
use crate::planning::ColourId;
use crate::planning::reading::{ReadingLine, lines};
use crate::services::Result;
use crate::store::rugs::log::{LogEntry, LogFields};
use crate::store::rugs::{Colour, Rug, RugState};
use crate::store::{LogId, PersonId, Read, Write};
use crate::units::{Length, Units};

/// No rug of the largest frame has as many.
pub const MOST_ROWS: i64 = 3000;
/// A count that rested for longer is another evening's.
const EVENING: SignedDuration = SignedDuration::from_hours(4);

/// How far a rug is counted, and from which written figure on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Counted {
    /// Rows so far: more than were planned, where it takes more.
    pub rows: i64,
    /// The last entry that wasn't counted row by row but written down: rows counted before it are in it.
    pub from: Option<LogId>,
}

/// What a press asks for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Press {
    /// So many rows more, or fewer: counted from this entry on.
    More { rows: i64, from: Option<LogId> },
    /// So many rows in all.
    To(i64),
}

/// What came of it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Outcome {
    Counted(Counted),
    /// Somebody wrote down another figure meanwhile, in which these rows may be.
    Overtaken(Counted),
}

impl Counted {
    /// By the log; a length that was logged without rows counts as the rows that the plan has there.
    pub fn of(log: &[LogEntry], known: &RugPlan) -> Self {
        let last = log.iter().rev().find(|entry| entry.placed());
        let planned = || i64::from(known.status.progress.rows);
        let from = log.iter().rev().find(|entry| entry.placed() && !entry.counted);
        Self {
            rows: last.map_or(0, |entry| entry.fields.rows.unwrap_or_else(planned)),
            from: from.map(|entry| entry.id),
        }
    }

    pub async fn load(read: &mut Read, rug: &Rug, units: Units) -> Result<Self> {
        let (known, log) = rug_plan::load(read, rug, units).await?;
        Ok(Self::of(&log, &known))
    }
}

/// Counts. Rows that two devices count add up: each press says how many more, and they wait for one another.
pub async fn press(tx: &mut Write, rug: &Rug, who: PersonId, press: Press, units: Units) -> Result<Outcome> {
    tx.lock_rug_log(rug.id).await?;
    let (known, log) = rug_plan::load(tx, rug, units).await?;
    let counted = Counted::of(&log, &known);
    let (rows, from) = match press {
        Press::To(rows) => {
            let id = LogId::new();
            let said = LogFields { rows: Some(rows.clamp(0, MOST_ROWS)), ..LogFields::default() };
            tx.log_rug(id, rug.id, &said).await?;
            return Ok(Outcome::Counted(Counted { rows: rows.clamp(0, MOST_ROWS), from: Some(id) }));
        }
        Press::More { rows, from } => (rows, from),
    };
    if from != counted.from {
        return Ok(Outcome::Overtaken(counted));
    }
    let rows = (counted.rows + rows).clamp(0, MOST_ROWS);
    if rows == counted.rows {
        tx.skip_audit_unseen();
        return Ok(Outcome::Counted(counted));
    }
    let now = tx.now();
    // A planned rug's first row makes it one that is being woven, which a new entry sees to.
    let goes_on = |entry: &&LogEntry| {
        rug.state == RugState::Weaving
            && entry.counted
            && entry.counts()
            && entry.person == who
            && now.0.duration_since(entry.at.0) < EVENING
    };
    // An entry written after a count, of a weight for one, keeps its place: the count goes on in a new one.
    match log.last().filter(goes_on) {
        Some(entry) => tx.go_on_counting(entry.id, rows).await?,
        None => tx.begin_count(LogId::new(), rug.id, rows).await?,
    }
    Ok(Outcome::Counted(Counted { rows, ..counted }))
}

/// Rows that are woven alike, as the counter shows them.
pub struct Stretch {
    /// The rows before it, counted as they are woven, and those up to its end.
    pub after: u32,
    pub to: u32,
    /// The first and the last of them, as the reading card counts them: from the end that they are woven from.
    pub shown: (u32, u32),
    /// How far the weaving reaches then, from that end.
    pub until: Length,
    pub colours: Vec<Colour>,
    /// Whether the frame is turned before it.
    pub turned: bool,
}

impl Stretch {
    /// Its colours: `Navy and Pale blue`.
    pub fn name(&self) -> String {
        self.colours.iter().map(|colour| colour.name.as_str()).collect::<Vec<_>>().join(" and ")
    }

    /// Whether it is woven by then.
    pub fn done(&self, rows: i64) -> bool {
        rows >= i64::from(self.to)
    }

    /// Whether it is under way then, or comes next.
    pub fn current(&self, rows: i64) -> bool {
        !self.done(rows) && rows >= i64::from(self.after)
    }
}

/// The rows of a rug in the order they are woven.
pub fn stretches(known: &RugPlan) -> Vec<Stretch> {
    let (mut after, mut far) = (0, false);
    let stretch = |line: ReadingLine| {
        let [first, other] = line.colours;
        let mut ids: Vec<ColourId> = vec![first, other];
        ids.dedup();
        let turned = line.from_far_end && !far;
        far |= line.from_far_end;
        let stretch = Stretch {
            after,
            to: after + line.rows(),
            shown: (line.first, line.last),
            until: line.until,
            colours: ids.iter().map(|id| known.input.colours[usize::from(*id)].clone()).collect(),
            turned,
        };
        after = stretch.to;
        stretch
    };
    lines(&known.plan.pattern).into_iter().map(stretch).collect()
}

/// What comes next, for somebody with their hands full: `13 more, then Pale blue`.
pub fn next(stretches: &[Stretch], rows: i64) -> String {
    let Some(at) = stretches.iter().position(|one| one.current(rows)) else {
        return "All the planned rows are woven.".to_owned();
    };
    let (now, left) = (&stretches[at], i64::from(stretches[at].to) - rows);
    if rows == i64::from(now.after) {
        let turned = if now.turned { "Turn the frame. " } else { "" };
        let many = if left == 1 { "1 row".to_owned() } else { format!("{left} rows") };
        return format!("{turned}{many} of {} now", now.name());
    }
    match stretches.get(at + 1) {
        Some(then) if then.turned => format!("{left} more, then turn the frame: {}", then.name()),
        Some(then) => format!("{left} more, then {}", then.name()),
        None => format!("{left} more, then it is woven"),
    }
}
