//! Terms and their meetings, who is enrolled, and the calendar links of all who are here.
use jiff::ToSpan as _;
use jiff::civil::{Date, Time};
use proptest::prelude::*;

use super::{Answer, For, Learn, Pick, Step, pick};
use crate::model::state::{Feed, Meeting, Role, State, Term, Thing};
use crate::model::views::View;

#[derive(Clone, Debug)]
pub enum Act {
    /// A row of meetings, so many days from now, weeks apart.
    Add {
        days: i64,
        start: Pick,
        every: i64,
        count: i64,
    },
    AddMeeting {
        term: Pick,
        days: i64,
        start: Pick,
    },
    CallOff {
        meeting: Pick,
        off: bool,
    },
    Enrol {
        term: Pick,
        person: Pick,
    },
    Withdraw {
        term: Pick,
        person: Pick,
    },
    Close {
        term: Pick,
        closed: bool,
    },
    /// Somebody makes themselves a calendar link.
    NewFeed,
}

pub fn drawn() -> impl Strategy<Value = Act> {
    let two = || (any::<Pick>(), any::<Pick>());
    prop_oneof![
        2 => (-2_i64..9, any::<Pick>(), 1_i64..3, 0_i64..5)
            .prop_map(|(days, start, every, count)| Act::Add { days, start, every, count }),
        1 => (two(), -2_i64..9).prop_map(|((term, start), days)| Act::AddMeeting { term, days, start }),
        3 => (any::<Pick>(), prop::bool::weighted(0.7)).prop_map(|(meeting, off)| Act::CallOff { meeting, off }),
        4 => two().prop_map(|(term, person)| Act::Enrol { term, person }),
        1 => two().prop_map(|(term, person)| Act::Withdraw { term, person }),
        1 => (any::<Pick>(), prop::bool::weighted(0.6)).prop_map(|(term, closed)| Act::Close { term, closed }),
        3 => Just(Act::NewFeed),
    ]
}

/// Evenings, one that runs past midnight, and one in the hour that clocks skip or have twice.
const STARTS: [&str; 4] = ["18:30", "23:00", "02:30", "09:00"];
const MINUTES: i64 = 150;

/// Whether the workroom's clock has no such time on a day.
fn skipped(state: &State, day: Date, start: Time) -> bool {
    let wanted = day.to_datetime(start);
    let there = state.zone.to_timestamp(wanted).unwrap().to_zoned_datetime(state.zone.clone());
    there.datetime() != wanted
}

impl Act {
    pub fn step(&self, state: &mut State, who: Option<usize>) -> Option<Step> {
        let start = |start: Pick| STARTS[usize::from(start) % STARTS.len()];
        match *self {
            Self::Add { days, start: at, every, count } => {
                Some(add(state, who, days, start(at), (every, count)))
            }
            Self::AddMeeting { term, days, start: at } => {
                Some(add_meeting(state, who, pick(term, state.terms.len())?, days, start(at)))
            }
            Self::CallOff { meeting, off } => {
                Some(call_off(state, who, pick(meeting, state.meetings.len())?, off))
            }
            Self::Enrol { term, person } => {
                let person = pick(person, state.people.len())?;
                Some(enrol(state, who, pick(term, state.terms.len())?, person))
            }
            Self::Withdraw { term, person } => {
                let person = pick(person, state.people.len())?;
                Some(withdraw(state, who, pick(term, state.terms.len())?, person))
            }
            Self::Close { term, closed } => Some(close(state, who, pick(term, state.terms.len())?, closed)),
            Self::NewFeed => Some(new_feed(state, who)),
        }
    }
}

fn hold(state: &mut State, who: usize, term: usize, day: Date, start: &str) {
    let start = start.parse().unwrap();
    let changed = state.now;
    let meeting = Meeting { id: String::new(), term, day, start, minutes: MINUTES, off: false, changed };
    state.meetings.push(meeting);
    state.note(Some(who), Thing::Meeting(state.meetings.len() - 1), "added");
}

fn touched(state: &State, term: usize) -> Vec<View> {
    let lists = [View::Terms, View::Term(term), View::Record];
    lists.into_iter().chain((0..state.feeds.len()).map(View::Feed)).collect()
}

fn add(state: &mut State, who: Option<usize>, days: i64, start: &str, (every, count): (i64, i64)) -> Step {
    let (name, first) = (format!("Term {}", state.terms.len() + 1), state.today() + days.days());
    let texts = [first.to_string(), MINUTES.to_string(), every.to_string(), count.to_string()];
    let [day, minutes, weeks, number] = texts.each_ref().map(String::as_str);
    let fields = [
        ("name", name.as_str()),
        ("day", day),
        ("starts", start),
        ("minutes", minutes),
        ("every", weeks),
        ("count", number),
    ];
    let step = Step::post("/terms", &fields).keyed();
    let who = match For::Instructor.gate(state, who) {
        Ok(who) => who,
        Err(answer) => return step.answers(answer),
    };
    if count < 1 {
        return step.wrong(422, &["count"]);
    }
    let evenings: Vec<Date> = (0..count).map(|n| first + (n * every).weeks()).collect();
    if evenings.iter().any(|day| skipped(state, *day, start.parse().unwrap())) {
        return step.wrong(422, &["starts"]);
    }
    let term = state.terms.len();
    state.terms.push(Term {
        id: String::new(),
        name,
        closed: false,
        closed_at: state.now,
        enrolled: Vec::new(),
    });
    state.note(Some(who), Thing::Term(term), "added");
    for day in evenings {
        hold(state, who, term, day, start);
    }
    step.to("/terms/{new}?said=added").learns(Learn::Term(term)).touches(touched(state, term))
}

fn add_meeting(state: &mut State, who: Option<usize>, term: usize, days: i64, start: &str) -> Step {
    let path = format!("/terms/{}", state.terms[term].id);
    let (day, minutes) = (state.today() + days.days(), MINUTES.to_string());
    let fields = [("day", day.to_string()), ("starts", start.to_owned()), ("minutes", minutes)];
    let step = Step { fields: fields.to_vec(), ..Step::post(format!("{path}/meetings"), &[]) }.keyed();
    let who = match For::Instructor.gate(state, who) {
        Ok(who) => who,
        Err(answer) => return step.answers(answer),
    };
    let at: Time = start.parse().unwrap();
    if skipped(state, day, at) {
        return step.wrong(422, &["starts"]);
    }
    if state.meetings.iter().any(|other| other.term == term && other.day == day && other.start == at) {
        return step.wrong(422, &["day"]);
    }
    hold(state, who, term, day, start);
    step.to(format!("{path}?said=added")).learns(Learn::Term(term)).touches(touched(state, term))
}

fn call_off(state: &mut State, who: Option<usize>, meeting: usize, off: bool) -> Step {
    let step = Step::post(
        format!("/meetings/{}/{}", state.meetings[meeting].id, if off { "off" } else { "on" }),
        &[],
    );
    let who = match For::Instructor.gate(state, who) {
        Ok(who) => who,
        Err(answer) => return step.answers(answer),
    };
    let (now, it) = (state.now, &mut state.meetings[meeting]);
    let term = it.term;
    if it.off != off {
        (it.off, it.changed) = (off, now);
        state.note(Some(who), Thing::Meeting(meeting), if off { "called off" } else { "called on again" });
    }
    let said = if off { "called-off" } else { "called-on" };
    step.to(format!("/terms/{}?said={said}", state.terms[term].id)).touches(touched(state, term))
}

fn enrol(state: &mut State, who: Option<usize>, term: usize, person: usize) -> Step {
    let path = format!("/terms/{}", state.terms[term].id);
    let step = Step::post(format!("{path}/enrol"), &[("weaver", &state.people[person].id)]);
    let who = match For::Instructor.gate(state, who) {
        Ok(who) => who,
        Err(answer) => return step.answers(answer),
    };
    let fit = state.people[person].role == Role::Weaver && !state.people[person].left;
    if fit && !state.terms[term].enrolled.contains(&person) {
        state.terms[term].enrolled.push(person);
        state.note(Some(who), Thing::Term(term), "enrolled");
    }
    step.to(format!("{path}?said=enrolled")).touches(touched(state, term))
}

fn withdraw(state: &mut State, who: Option<usize>, term: usize, person: usize) -> Step {
    let path = format!("/terms/{}", state.terms[term].id);
    let step = Step::post(format!("{path}/withdraw"), &[("person", &state.people[person].id)]);
    let who = match For::Instructor.gate(state, who) {
        Ok(who) => who,
        Err(answer) => return step.answers(answer),
    };
    let Some(at) = state.terms[term].enrolled.iter().position(|one| *one == person) else {
        return step.no(409);
    };
    state.terms[term].enrolled.remove(at);
    state.note(Some(who), Thing::Term(term), "withdrawn");
    step.to(format!("{path}?said=withdrawn")).touches(touched(state, term))
}

fn close(state: &mut State, who: Option<usize>, term: usize, closed: bool) -> Step {
    let path = format!("/terms/{}", state.terms[term].id);
    let step = Step::post(format!("{path}/{}", if closed { "close" } else { "open" }), &[]).keyed();
    let who = match For::Instructor.gate(state, who) {
        Ok(who) => who,
        Err(answer) => return step.answers(answer),
    };
    if state.terms[term].closed != closed {
        state.terms[term].closed = closed;
        state.terms[term].closed_at = state.now;
        state.note(Some(who), Thing::Term(term), if closed { "closed" } else { "opened again" });
    }
    let said = if closed { "term-closed" } else { "term-opened" };
    step.to(format!("{path}?said={said}")).touches(touched(state, term))
}

fn new_feed(state: &mut State, who: Option<usize>) -> Step {
    let step = Step::post("/me/calendar", &[]);
    let who = match For::SignedIn.gate(state, who) {
        Ok(who) => who,
        Err(answer) => return step.answers(answer),
    };
    for feed in state.feeds.iter_mut().filter(|feed| feed.person == who) {
        feed.replaced = true;
    }
    let feed = state.feeds.len();
    state.feeds.push(Feed { path: String::new(), person: who, replaced: false, made: state.now });
    state.note(Some(who), Thing::Person(who), "calendar link replaced");
    let views = (0..=feed).map(View::Feed).chain([View::Record]);
    step.answers(Answer::Page).learns(Learn::Feed(feed)).touches(views)
}
