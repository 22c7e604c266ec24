//! A timetable worked out: what it proposes, what that changes, who gets no turn and why, and what one more frame or meeting
//! would bring.
use std::time::{Duration, Instant};

use crate::drawing::wall as wall_picture;
use crate::drawing::wall::Turn;
use crate::optimize::timetable::{Placed, Problem, Solution, USUAL_NODES, place_more, solve};
use crate::services::timetable::{TimetableData, TimetableRow, number};
use crate::store::PersonId;
use crate::store::timetable::{NewPlace, Place};
use crate::units::{Length, Units, dates};
use crate::web::{App, Result};

pub(super) struct Proposal {
    pub answer: Solution,
    /// What more would bring, each found by solving with it: in words, and how many more rugs get done.
    pub more: Vec<(String, usize)>,
    /// Whether there was time to ask for all of it.
    pub asked_all: bool,
}

/// A line of the table: a rug and its turn.
pub(super) struct TurnLine {
    pub rug: String,
    pub rug_id: crate::store::RugId,
    pub weaver: String,
    pub frame: String,
    pub from: String,
    pub to: String,
    /// What changes by it: `new`, `moved`, or nothing.
    pub change: &'static str,
    /// Where it was before.
    pub before: String,
    pub out: bool,
    pub locked: bool,
    /// Why it isn't done within the term, if so.
    pub late: Option<String>,
    /// As it is sent to be accepted.
    pub word: String,
}

/// A rug without a turn.
pub(super) struct Without {
    pub rug: String,
    pub rug_id: crate::store::RugId,
    pub weaver: String,
    pub why: String,
    /// Where it was before; it loses that.
    pub before: String,
}

/// How long the timetable itself may take, and all of it with what would help. The work is mostly done long before.
const LONGEST: [Duration; 2] = [Duration::from_secs(6), Duration::from_secs(10)];

/// Solves the board's question, and the same with one more of each.
pub(super) async fn found(
    app: &App,
    who: PersonId,
    timetable: &TimetableData,
    units: Units,
) -> Result<Proposal> {
    let problem = timetable.problem.clone();
    let rods = |length: Length| length.show(units);
    // What each would bring is asked in groups: of one group only the first that helps is told.
    let mut more: Vec<Vec<(String, Problem)>> = Vec::new();
    for (kind, length) in timetable.rod_lengths.iter().enumerate() {
        let words = format!("one more pair of straight rods, {} or longer", rods(*length));
        more.push(vec![(words, timetable.with_rods(kind))]);
    }
    for (size, opening) in timetable.sizes(units) {
        more.push(vec![
            (format!("one more frame of {size}"), timetable.with_frame(opening, false)),
            (
                format!("one more frame of {size} and a pair of rods for it"),
                timetable.with_frame(opening, true),
            ),
        ]);
    }
    more.push(vec![("one more meeting at the end".to_owned(), timetable.with_meeting())]);
    app.search(who, move || {
        let began = Instant::now();
        let answer = solve(&problem, USUAL_NODES, &mut || began.elapsed() < LONGEST[0]);
        let done = |answer: &Solution| answer.placed.iter().flatten().count();
        let all = done(&answer) == problem.rugs.len();
        let mut helps = Vec::new();
        for group in if all { Vec::new() } else { more } {
            let tried = group.into_iter().find_map(|(words, with)| {
                let with = place_more(&with, &answer, USUAL_NODES / 4, &mut || began.elapsed() < LONGEST[1]);
                // Only what no timetable reaches without it.
                (with.priority > answer.bound).then(|| (words, done(&with).saturating_sub(done(&answer))))
            });
            helps.extend(tried);
        }
        let asked_all = began.elapsed() < LONGEST[1];
        Proposal { more: helps, asked_all, answer }
    })
    .await
}

impl Proposal {
    fn done(&self) -> usize {
        self.answer.placed.iter().flatten().count()
    }

    /// How far this is the best, in plain words.
    pub(super) fn near(&self, timetable: &TimetableData) -> String {
        let (done, all) = (self.done(), timetable.rows.len());
        let rugs = if all == 1 { "rug" } else { "rugs" };
        let best = format!("{done} of {all} {rugs} get their turn.");
        // Every rug counts for the base and a little more, so no more than this many can be placed.
        let most = ((self.answer.bound / timetable.base) as usize).min(all);
        let first = if done == all {
            "All of them.".to_owned()
        } else if self.answer.most {
            "Proven: with these frames, rods and meetings no timetable does better by priority and waiting order."
                .to_owned()
        } else if most <= done {
            "No timetable has a turn for more of them. Not proven: that none serves more urgent ones."
                .to_owned()
        } else {
            format!("Not proven the most: there may be turns for up to {most}.")
        };
        let [_, late] = self.answer.gaps();
        let second = if self.answer.proven {
            "None is done sooner on the whole.".to_owned()
        } else if late == 0.0 {
            "None that does as much is done sooner on the whole.".to_owned()
        } else {
            let percent = (late * 1e3).ceil() / 10.0;
            format!("Not proven the soonest: another might be done up to {percent} % sooner on the whole.")
        };
        format!("{best} {first} {second}")
    }

    pub(super) fn lines(&self, timetable: &TimetableData) -> Vec<TurnLine> {
        let rows = timetable.rows.iter().enumerate();
        let mut lines: Vec<(usize, u32, TurnLine)> = rows
            .filter_map(|(at, row)| {
                let placed = self.answer.placed[at]?;
                Some((placed.frame, placed.from, line(timetable, at, row, placed)?))
            })
            .collect();
        lines.sort_by_key(|(frame, from, _)| (*frame, *from));
        lines.into_iter().map(|(_, _, line)| line).collect()
    }

    pub(super) fn without(&self, timetable: &TimetableData) -> Vec<Without> {
        let rows = timetable.rows.iter().enumerate().filter(|(at, _)| self.answer.placed[*at].is_none());
        rows.map(|(at, row)| Without {
            rug: row.rug.fields.name.clone(),
            rug_id: row.rug.id,
            weaver: row.rug.weaver.clone(),
            why: why_not(timetable, at, row),
            before: row.place.as_ref().map_or_else(String::new, |place| place_words(timetable, place)),
        })
        .collect()
    }

    pub(super) fn picture(&self, timetable: &TimetableData) -> String {
        let turns = self.answer.placed.iter().zip(&timetable.rows).filter_map(|(placed, row)| {
            let placed = (*placed)?;
            Some(Turn {
                frame: placed.frame,
                from: placed.from as usize - 1,
                to: placed.to as usize - 1,
                label: row.rug.weaver.clone(),
                out: row.out.is_some(),
                changed: row.out.is_none() && !change(timetable, row, placed).is_empty(),
            })
        });
        picture(timetable, &turns.collect::<Vec<_>>())
    }
}

/// Any turns of a board, drawn.
pub(super) fn picture(timetable: &TimetableData, turns: &[Turn]) -> String {
    let (frames, meetings) = timetable.names();
    wall_picture::svg(&frames, &meetings, turns, "wall")
}

fn line(timetable: &TimetableData, at: usize, row: &TimetableRow, placed: Placed) -> Option<TurnLine> {
    let kept: NewPlace = timetable.kept_as(at, placed)?;
    let change = if row.out.is_some() && row.place.is_none() { "" } else { change(timetable, row, placed) };
    let day = |number: u32| dates::short_day(timetable.meetings[number as usize - 1].on_day.0);
    let left = timetable.meetings.len() as u32;
    let late = (row.out.is_some() && row.meetings > left)
        .then(|| format!("needs {} meetings, {left} are left", row.meetings));
    Some(TurnLine {
        rug: row.rug.fields.name.clone(),
        rug_id: row.rug.id,
        weaver: row.rug.weaver.clone(),
        frame: timetable.frames[placed.frame].fields.tag.clone(),
        from: day(placed.from),
        to: day(placed.to),
        before: match (&row.place, change) {
            (Some(place), "moved") => place_words(timetable, place),
            _ => String::new(),
        },
        change,
        out: row.out.is_some(),
        locked: row.place.as_ref().is_some_and(|place| place.locked),
        late,
        word: format!("{} {} {} {}", kept.rug, kept.frame, kept.from, kept.to),
    })
}

/// What a place changes for its weaver. One whose first meeting is over and who has the frame is where they were.
fn change(timetable: &TimetableData, row: &TimetableRow, placed: Placed) -> &'static str {
    let Some(place) = &row.place else { return "new" };
    let same_frame = timetable.frames[placed.frame].id == place.frame_id;
    let from = number(&timetable.meetings, place.from_meeting);
    let to = number(&timetable.meetings, place.to_meeting);
    let begins = row.out.is_some() || from == Some(placed.from);
    if same_frame && begins && to == Some(placed.to) { "" } else { "moved" }
}

/// A place in words: `S3, Wed 2 Dec to Wed 16 Dec`.
fn place_words(timetable: &TimetableData, place: &Place) -> String {
    format!("{}, {}", place.frame_tag, days(timetable, place))
}

/// The days of a place: `Wed 2 Dec to Wed 16 Dec`; a day that is over or called off isn't named.
pub(super) fn days(timetable: &TimetableData, place: &Place) -> String {
    let day = |id| {
        let meeting = timetable.meetings.iter().find(|meeting| meeting.id == id);
        meeting.map(|meeting| dates::short_day(meeting.on_day.0))
    };
    match (day(place.from_meeting), day(place.to_meeting)) {
        (Some(from), Some(to)) => format!("{from} to {to}"),
        (None, Some(to)) => format!("to {to}"),
        (Some(from), None) => format!("from {from}"),
        (None, None) => "over".to_owned(),
    }
}

fn why_not(timetable: &TimetableData, at: usize, row: &TimetableRow) -> String {
    let rug = &timetable.problem.rugs[at];
    let room = (rug.latest + 1).saturating_sub(rug.earliest);
    if timetable.meetings.is_empty() {
        "No meeting is ahead.".into()
    } else if rug.fits.is_empty() {
        "There is no frame of its size that can be used.".into()
    } else if row.meetings > room {
        let left = if rug.earliest > 1 { "are left from when it may begin" } else { "are left" };
        format!("It needs {} meetings at the frame; {room} {left}.", row.meetings)
    } else if !rug.fits.iter().any(|frame| has_rods(&timetable.problem, at, *frame)) {
        "There are no straight rods long enough for it.".into()
    } else {
        "Others of its size come first, by priority and waiting order.".into()
    }
}

/// Whether there are rods for a rug on a frame at any meeting, be they with others or not.
fn has_rods(problem: &Problem, rug: usize, frame: usize) -> bool {
    let kinds = problem.kinds(rug, frame);
    kinds.is_empty() || kinds.iter().any(|&kind| problem.rods[kind].iter().any(|pairs| *pairs > 0))
}
