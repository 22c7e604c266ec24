//! A rug's steps put on the days of its term's meetings.
use jiff::civil::Date;
use jiff::tz::TimeZone;

use crate::craft::pace::Pace;
use crate::craft::schedule::{self, Schedule, Slot};
use crate::craft::steps::{Step, StepKind};
use crate::craft::{Minutes, Plan, Units};
use crate::store::rugs::{Rug, RugState};
use crate::store::terms::Meeting;
use crate::web::show;

/// A rug's steps with their days.
pub(in crate::web) struct Calendar {
    /// In order; steps that end in the same stretch of time stand in one entry.
    pub entries: Vec<Entry>,
    /// Meetings that count for the rug.
    pub meetings: usize,
    /// Time that the term lacks for this rug.
    pub lacking: Option<String>,
    /// How many in ten such weavers finish by the last meeting; `None` without meetings.
    pub in_ten: Option<u32>,
}

/// What is to be done by the end of one stretch of time.
pub(in crate::web) struct Entry {
    /// `Wed 7 Oct`, `at home after Wed 7 Oct`, `after the term`, or nothing where there are no meetings.
    pub when: String,
    /// Each step in words.
    pub what: Vec<String>,
}

impl Calendar {
    /// The steps of a rug over the meetings of its term: from the day it came onto its frame, else from today.
    pub(in crate::web) fn of(
        rug: &Rug,
        plan: &Plan,
        meetings: &[Meeting],
        today: Date,
        zone: &TimeZone,
        units: Units,
    ) -> Self {
        let since = rug.on_frame_since.map(|at| at.0.to_zoned_datetime(zone.clone()).date());
        let from = match rug.state {
            RugState::Planned => today,
            _ => since.unwrap_or(today),
        };
        let ahead: Vec<&Meeting> =
            meetings.iter().filter(|meeting| !meeting.called_off && meeting.on_day.0 >= from).collect();
        let minutes: Vec<Minutes> =
            ahead.iter().map(|meeting| Minutes::new(meeting.minutes as f64)).collect();
        let home = Minutes::new(rug.fields.home_minutes as f64);
        let slots = schedule::slots(&minutes, (home.get() > 0.0).then_some(home));
        let placed = schedule::place(&plan.steps, &slots);
        let when = |slot: Option<usize>| match slot {
            _ if ahead.is_empty() => String::new(),
            None => "after the term".to_owned(),
            Some(i) => {
                let day = show::short_day(ahead[slots[i].meeting].on_day.0);
                if slots[i].home { format!("home, after {day}") } else { day }
            }
        };
        let mut entries: Vec<Entry> = Vec::new();
        for (place, words) in words(plan, &slots, &placed, units) {
            let when = when(place);
            match entries.last_mut().filter(|entry| entry.when == when && !when.is_empty()) {
                Some(entry) => entry.what.push(words),
                None => entries.push(Entry { when, what: vec![words] }),
            }
        }
        let lacking = placed.lacking;
        Self {
            entries,
            meetings: ahead.len(),
            lacking: (lacking.get() >= 1.0 && !ahead.is_empty()).then(|| lacking.show()),
            in_ten: (!ahead.is_empty()).then(|| (chance(plan, &slots) * 10.0).floor() as u32),
        }
    }
}

/// The chance to be done in the slots, at the pace expected before any log.
fn chance(plan: &Plan, slots: &[Slot]) -> f64 {
    let twists = plan.weft.twists as f64;
    let pace = Pace::before_any_log(twists, plan.minutes.weave.expected);
    let other = plan.minutes.prepare.expected + plan.minutes.finish.expected;
    schedule::finishing_chance(pace, twists, other, slots)
}

/// What is done in each stretch of time: steps where they end, and how far the weaving gets where it goes on.
fn words(plan: &Plan, slots: &[Slot], placed: &Schedule, units: Units) -> Vec<(Option<usize>, String)> {
    let mut said = Vec::new();
    for step in &placed.steps {
        let Step { kind, minutes } = plan.steps[step.step];
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

/// How far the weaving is after so many rows, from the end it is woven from: `12 in (row 48)`.
fn woven_to(plan: &Plan, rows: u32, units: Units) -> String {
    let (place, far) = plan.pattern.woven_to(rows);
    let end = if far { " from the far end" } else { "" };
    format!("{}{end} (row {rows})", place.show(units))
}
