//! Terms: their list, and each one's page with its meetings and weavers.
use jiff::{Timestamp, ToSpan as _};

use super::{Part, Seen};
use crate::model::house::folded;
use crate::model::state::{Meeting, Role, State};
use crate::support::days::long_day;

/// From when to when a meeting is.
pub fn stretch(state: &State, meeting: &Meeting) -> (Timestamp, Timestamp) {
    let start = state.zone.to_timestamp(meeting.day.to_datetime(meeting.start)).unwrap();
    (start, start + meeting.minutes.minutes())
}

/// A term's meetings in order.
pub fn in_order(state: &State, term: usize) -> Vec<usize> {
    let mut all: Vec<usize> = (0..state.meetings.len()).filter(|&n| state.meetings[n].term == term).collect();
    all.sort_by_key(|&n| (state.meetings[n].day, state.meetings[n].start));
    all
}

fn weavers(state: &State, fits: impl Fn(usize) -> bool) -> Vec<String> {
    let here = |&n: &usize| state.people[n].role == Role::Weaver && !state.people[n].left && fits(n);
    let mut all: Vec<usize> = (0..state.people.len()).filter(here).collect();
    all.sort_by_key(|&n| folded(&state.people[n].name));
    all.into_iter().map(|n| state.people[n].name.clone()).collect()
}

pub fn list(state: &State) -> Seen {
    let mut order: Vec<usize> = (0..state.terms.len()).rev().collect();
    order.sort_by_key(|&n| state.terms[n].closed);
    let row = |&n: &usize| {
        let held: Vec<_> = in_order(state, n).into_iter().filter(|&m| !state.meetings[m].off).collect();
        let day = |m: &usize| state.meetings[*m].day;
        let written = |m: &usize| long_day(day(m));
        let (when, now) = match (held.first(), held.last()) {
            (Some(first), Some(last)) => {
                let when = if day(first) == day(last) {
                    written(first)
                } else {
                    format!("{} to {}", written(first), written(last))
                };
                let today = state.today();
                let now = if today < day(first) {
                    "ahead"
                } else if day(last) < today {
                    "over"
                } else {
                    "running"
                };
                (when, now)
            }
            _ => ("no meetings".to_owned(), "no meetings"),
        };
        let enrolled = weavers(state, |person| state.terms[n].enrolled.contains(&person)).len();
        vec![state.terms[n].name.clone(), when, held.len().to_string(), enrolled.to_string(), now.into()]
    };
    Seen::Html(vec![Part::Rows("main tbody tr", order.iter().map(row).collect())])
}

pub fn one(state: &State, term: usize) -> Seen {
    let order = in_order(state, term);
    let next =
        order.iter().find(|&&n| !state.meetings[n].off && stretch(state, &state.meetings[n]).1 > state.now);
    let row = |&n: &usize| {
        let it = &state.meetings[n];
        let badge = match (it.off, next == Some(&n)) {
            (true, _) => " called off",
            (false, true) => " next",
            (false, false) => "",
        };
        let day = format!("{}{badge}", long_day(it.day));
        let (hours, minutes) = (it.minutes / 60, it.minutes % 60);
        vec![day, format!("{}, {hours} h {minutes} min", it.start.strftime("%H:%M"))]
    };
    let enrolled = |person: usize| state.terms[term].enrolled.contains(&person);
    Seen::Html(vec![
        Part::Texts("h1", vec![state.terms[term].name.clone()]),
        Part::Rows("main tr:has([data-label=Time])", order.iter().map(row).collect()),
        Part::Texts("main tr:has([action$='/withdraw']) th", weavers(state, enrolled)),
        Part::Texts("main label:has([name=weaver])", weavers(state, |person| !enrolled(person))),
    ])
}
