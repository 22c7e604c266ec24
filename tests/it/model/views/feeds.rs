//! Calendar feeds by RFC 5545: what is in them for whom, and nothing else.
use jiff::{Timestamp, ToSpan as _};

use super::terms::stretch;
use super::{Seen, loans};
use crate::model::house::TAGS;
use crate::model::state::{Role, State};

/// An event as far as the model says it, one property after another. Its sequence depends on when the feed was read.
pub const PROPERTIES: [&str; 5] = ["UID", "DTSTART", "DTEND", "SUMMARY", "STATUS"];

fn utc(at: Timestamp) -> String {
    at.strftime("%Y%m%dT%H%M%SZ").to_string()
}

pub fn feed(state: &State, feed: usize) -> Seen {
    let owner = state.feeds[feed].person;
    let person = &state.people[owner];
    if state.feeds[feed].replaced || person.left || !state.in_term(owner, state.feeds[feed].made) {
        return Seen::No(404);
    }
    let own = person.role == Role::Weaver;
    let goes = |term: usize| {
        let term = &state.terms[term];
        !term.closed && (!own || term.enrolled.contains(&owner))
    };
    let meetings = state.meetings.iter().filter(|meeting| goes(meeting.term)).map(|it| {
        let (start, end) = stretch(state, it);
        let term = &state.terms[it.term].name;
        let (title, status) =
            if it.off { (format!("Called off: {term}"), "CANCELLED") } else { (term.clone(), "CONFIRMED") };
        let uid = format!("meeting-{}@thrumhall", it.id);
        [uid, utc(start), utc(end), title, status.into()]
    });
    let (out, _) = loans::in_order(state);
    let mine = |n: &usize| !own || state.weaver_of(*n) == owner;
    let due = out.into_iter().filter(mine).map(|n| {
        let loan = &state.loans[n];
        let rug = &state.rugs[loan.rug];
        let whose =
            if own { rug.name.clone() } else { format!("{}, {}", state.people[rug.weaver].name, rug.name) };
        let title = format!("Frame {} is due back ({whose})", TAGS[state.frames[loan.frame].tag]);
        let day = |date: jiff::civil::Date| date.strftime("%Y%m%d").to_string();
        let uid = format!("loan-{}@thrumhall", loan.id);
        [uid, day(loan.due), day(loan.due + 1.day()), title, "CONFIRMED".into()]
    });
    let mut events: Vec<Vec<String>> = meetings.chain(due).map(Vec::from).collect();
    events.sort();
    Seen::Feed(events)
}

/// The events of a feed, sorted; nothing where it can't be read.
pub fn read(text: &str) -> Vec<Vec<String>> {
    let mut events: Vec<Vec<String>> = Vec::new();
    for line in text.replace("\r\n ", "").split("\r\n") {
        let (name, value) = line.split_once(':').unwrap_or_default();
        let name = name.split(';').next().unwrap_or_default();
        if line == "BEGIN:VEVENT" {
            events.push(vec![String::new(); PROPERTIES.len()]);
        } else if let (Some(at), Some(event)) =
            (PROPERTIES.iter().position(|known| *known == name), events.last_mut())
        {
            event[at] = value.replace("\\,", ",").replace("\\;", ";").replace("\\\\", "\\");
        }
    }
    events.sort();
    events
}
