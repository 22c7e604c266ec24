//! A rug's steps put on the days of its term's meetings.
use jiff::Timestamp;
use jiff::tz::TimeZone;

use super::attendance::{Attendance, share};
use super::rug_plan::{RugPlan, RugStatus};
use crate::planning::Plan;
use crate::planning::reading::RowNumber;
use crate::planning::schedule::{self, Schedule, Slot};
use crate::planning::steps::{Step, StepKind};
use crate::store::MeetingId;
use crate::store::rugs::{Rug, RugState};
use crate::store::terms::Meeting;
use crate::units::Minutes;
use crate::units::Units;
use crate::units::dates;

/// A rug's steps with their days.
pub struct Calendar {
    /// In order; steps that end in the same stretch of time stand in one entry.
    pub entries: Vec<Entry>,
    /// Meetings that count for the rug.
    pub meetings: usize,
    /// Time that the term lacks for this rug.
    pub lacking: Option<String>,
    /// The last of them.
    pub last: Option<String>,
    /// The time left for it, at meetings and at home; `None` without meetings.
    pub room: Option<Minutes>,
    /// How far the weaving should be at the end of each stretch: when, and rows; only where it goes on.
    pub woven: Vec<(String, u32)>,
    /// The chance, 0 to 1, to finish by the last meeting; `None` without meetings.
    pub chance: Option<f64>,
    /// To how many meetings the weaver came, and of how many; nothing missed where nothing is known.
    came: (usize, usize),
}

/// What is to be done by the end of one stretch of time.
pub struct Entry {
    /// `Wed 7 Oct`, `at home after Wed 7 Oct`, `after the term`, or nothing where there are no meetings.
    pub when: String,
    /// Each step in words.
    pub what: Vec<String>,
    /// The meeting it is done at, or at home after; nothing beyond the term.
    pub at: Option<(MeetingId, bool)>,
}

impl Calendar {
    /// What is left of a rug over the meetings of its term that are left for it: from its last log entry, else from when it
    /// came onto its frame, else from now. No step is put on a meeting that is over: what was not logged is still to do.
    pub fn of(
        rug: &Rug,
        known: &RugPlan,
        meetings: &[Meeting],
        now: Timestamp,
        zone: &TimeZone,
        units: Units,
    ) -> Self {
        let RugPlan { plan, status, .. } = known;
        let (counted, counted_slots) = ahead(rug, status, meetings, now, zone);
        let to_come: Vec<(&Meeting, Minutes)> = counted
            .iter()
            .filter(|(meeting, _)| meeting.end(zone).is_some_and(|end| end > now))
            .copied()
            .collect();
        // When all are over, the work is still there: it is put after the term.
        let over = to_come.is_empty() && !counted.is_empty();
        let (left, slots) = (&to_come, stretches(rug, &to_come));
        let steps = status.progress.steps_left(plan);
        let placed = schedule::place(&steps, &slots);
        let when = |slot: Option<usize>| match slot {
            _ if left.is_empty() && !over => String::new(),
            None => "after the term".to_owned(),
            Some(i) => {
                let day = dates::short_day(left[slots[i].meeting].0.on_day.0);
                if slots[i].home { format!("home, after {day}") } else { day }
            }
        };
        let mut entries: Vec<Entry> = Vec::new();
        for (place, words) in words(plan, &steps, &slots, &placed, units) {
            let when = when(place);
            let same = |entry: &&mut Entry| entry.when == when && !when.is_empty();
            if let Some(entry) = entries.last_mut().filter(same) {
                entry.what.push(words);
            } else {
                let at = place.map(|i| (left[slots[i].meeting].0.id, slots[i].home));
                entries.push(Entry { when, what: vec![words], at });
            }
        }
        let lacking = placed.lacking;
        let woven =
            placed.rows_by_slot.iter().enumerate().map(|(slot, rows)| (when(Some(slot)), *rows)).collect();
        let room = room(&counted_slots);
        Self {
            woven,
            entries,
            meetings: counted.len(),
            last: counted.last().map(|(meeting, _)| dates::short_day(meeting.on_day.0)),
            lacking: (lacking.get() >= 1.0 && !counted.is_empty()).then(|| lacking.show()),
            chance: room.map(|room| status.chance(room)),
            room,
            came: (0, 0),
        }
    }

    /// The same with the time that the weaver can be expected to be there: not at meetings they said they can't come to, and of the
    /// others at their share. Steps stay on their days: who is there does what is next.
    pub fn attended(
        mut self,
        rug: &Rug,
        status: &RugStatus,
        meetings: &[Meeting],
        attendance: &Attendance,
        (now, zone): (Timestamp, &TimeZone),
    ) -> Self {
        self.came = attendance.came(rug.weaver_id, meetings, (now, zone));
        let coming: Vec<Meeting> =
            meetings.iter().filter(|one| !attendance.is_away(rug.weaver_id, one)).cloned().collect();
        self.room = attended_room(rug, status, &coming, share(self.came), (now, zone));
        self.chance = self.room.map(|room| status.chance(room));
        self
    }

    /// How often the weaver came, where they missed a meeting.
    pub fn seldom(&self) -> Option<String> {
        let (came, of) = self.came;
        (came < of).then(|| format!("{came} of {of} meetings so far"))
    }

    /// How likely such weavers finish by the last meeting, in words; `None` without meetings.
    pub fn likely(&self) -> Option<String> {
        self.chance.map(|chance| dates::likely(dates::in_ten(chance)))
    }
}

/// The chance, 0 to 1, that a rug is finished by its last meeting, without its calendar, by somebody who comes to a `share` of
/// the meetings, over 0 to 1; `None` without meetings.
pub fn chance(
    rug: &Rug,
    status: &RugStatus,
    meetings: &[Meeting],
    share: f64,
    (now, zone): (Timestamp, &TimeZone),
) -> Option<f64> {
    attended_room(rug, status, meetings, share, (now, zone)).map(|room| status.chance(room))
}

/// The time that is left for a rug whose weaver comes to a `share` of the meetings; `None` without meetings.
fn attended_room(
    rug: &Rug,
    status: &RugStatus,
    meetings: &[Meeting],
    share: f64,
    (now, zone): (Timestamp, &TimeZone),
) -> Option<Minutes> {
    let (left, _) = ahead(rug, status, meetings, now, zone);
    let comes: Vec<_> =
        left.into_iter().map(|(meeting, minutes)| (meeting, Minutes::new(minutes.get() * share))).collect();
    room(&stretches(rug, &comes))
}

/// The meetings that are left for a rug, each with what is left of it, and the stretches of time that they and home make.
fn ahead<'m>(
    rug: &Rug,
    status: &RugStatus,
    meetings: &'m [Meeting],
    now: Timestamp,
    zone: &TimeZone,
) -> (Vec<(&'m Meeting, Minutes)>, Vec<Slot>) {
    let from = counted_from(rug, status, now);
    let left: Vec<(&Meeting, Minutes)> =
        meetings.iter().filter_map(|meeting| Some((meeting, left_of(meeting, from, zone)?))).collect();
    let slots = stretches(rug, &left);
    (left, slots)
}

/// The stretches of time that meetings and home make.
fn stretches(rug: &Rug, meetings: &[(&Meeting, Minutes)]) -> Vec<Slot> {
    let minutes: Vec<Minutes> = meetings.iter().map(|(_, minutes)| *minutes).collect();
    let home = Minutes::new(rug.fields.home_minutes as f64);
    schedule::slots(&minutes, (home.get() > 0.0).then_some(home))
}

/// The time in these stretches; `None` where there are none.
fn room(slots: &[Slot]) -> Option<Minutes> {
    (!slots.is_empty()).then(|| slots.iter().map(|slot| slot.minutes).sum())
}

/// From when on the time counts that a rug can be worked on.
fn counted_from(rug: &Rug, status: &RugStatus, now: Timestamp) -> Timestamp {
    let since = status.last.or(rug.on_frame_since).map(|at| at.0);
    match rug.state {
        RugState::Planned => now,
        _ => since.unwrap_or(now),
    }
}

/// What is left of a meeting that takes place; nothing of one that is over.
fn left_of(meeting: &Meeting, from: Timestamp, zone: &TimeZone) -> Option<Minutes> {
    let left = meeting.end(zone)?.duration_since(from).as_secs_f64() / 60.0;
    (!meeting.called_off && left >= 1.0).then(|| Minutes::new(left.min(meeting.minutes as f64)))
}

/// What is done in each stretch of time: steps where they end, and how far the weaving gets where it goes on.
fn words(
    plan: &Plan,
    steps: &[Step],
    slots: &[Slot],
    placed: &Schedule,
    units: Units,
) -> Vec<(Option<usize>, String)> {
    let mut said = Vec::new();
    for step in &placed.steps {
        let Step { kind, minutes } = steps[step.step];
        if let (StepKind::Weave { .. }, Some(begins)) = (kind, step.begins) {
            let ends = step.ends.unwrap_or(slots.len());
            for (slot, &rows) in placed.rows_by_slot.iter().enumerate().take(ends).skip(begins) {
                said.push((Some(slot), format!("weave to {}", woven_to(plan, rows, units))));
            }
        }
        said.push((step.ends, format!("{} ({})", in_words(kind, plan, units), minutes.show())));
    }
    said
}

fn in_words(kind: StepKind, plan: &Plan, units: Units) -> String {
    match kind {
        StepKind::CutStrips => "cut or tear the strips".into(),
        StepKind::JoinWarp if plan.warp.yarn.is_some() => "join the warp yarn".into(),
        StepKind::JoinWarp => format!("join {} strips and wind the warp ball", plan.warp.strips),
        StepKind::WindOn => "wind the warp on, tie the rods".into(),
        StepKind::Weave { band, to_row, .. } => {
            format!("weave band {} to {}", band + 1, woven_to(plan, to_row, units))
        }
        StepKind::TakeOff => "take the rug off, hide the ends".into(),
        StepKind::Fringe => "tie in the fringe".into(),
        StepKind::Backing => "stitch the backing on".into(),
    }
}

/// How far the weaving is after so many rows, from the end it is woven from: `12 in (row 48)`, `12 in from the far end (row 48
/// there)`.
fn woven_to(plan: &Plan, rows: u32, units: Units) -> String {
    let (place, far) = plan.pattern.woven_to(rows);
    let row = RowNumber::after(&plan.pattern, rows).number;
    let place = place.show(units);
    // The row is counted from the end that the place is measured from.
    if far { format!("{place} from the far end (row {row} there)") } else { format!("{place} (row {row})") }
}
