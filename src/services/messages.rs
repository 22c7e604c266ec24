//! Who must be told what, and by whom it isn't yet: the notices that no mail carried, and what the evening brings, as one
//! message to each person that somebody sends from their own phone.
use std::collections::{BTreeMap, HashMap, HashSet};

use jiff::{Timestamp, ToSpan as _, civil};

use super::outlook::Outlook;
use super::paper_data::at_hand;
use crate::services::Result;
use crate::store::notices::{Event, Untold};
use crate::store::people::Person;
use crate::store::terms::Meeting;
use crate::store::today::{Due, Running};
use crate::store::{Day, Instant, PersonId, Read};
use crate::units::dates::{self, WallClock};
use crate::units::{Units, isolated};

/// A notice that is so many days old is no news.
const NEWS: i64 = 30;
/// Where no meeting is ahead, frames due within so many days are told of.
const SOON: i64 = 7;

/// One thing that somebody must be told.
#[derive(Clone, Debug)]
pub struct Thing {
    /// What makes it the same event.
    pub about: String,
    /// What happened.
    pub event: Event,
    /// How urgent it is: bad, warn, plain, good.
    pub tone: &'static str,
    /// In a word or two, for whoever sends it.
    pub label: &'static str,
    /// As it is said to them.
    pub says: String,
}

/// What one person must be told.
#[derive(Clone, Debug)]
pub struct Message {
    /// Who.
    pub person: PersonId,
    /// Their name.
    pub name: String,
    /// How to reach them, as it was typed.
    pub contact: String,
    /// What, the most urgent first.
    pub things: Vec<Thing>,
}

/// The meetings of a term that are ahead, for everybody in it.
#[derive(Clone, Debug)]
pub struct TermDates {
    /// What the term is called.
    pub term: String,
    /// Each meeting in a line.
    pub days: Vec<String>,
    /// Those in it: their names and how to reach them.
    pub people: Vec<(String, String)>,
}

/// Everything that is to be told.
#[derive(Debug, Default)]
pub struct Messages {
    /// A message for each person, by name.
    pub messages: Vec<Message>,
    /// When the class meets, for the term that is at hand.
    pub dates: Option<TermDates>,
}

impl Messages {
    /// What is to be told now.
    pub async fn load(read: &mut Read, now: Timestamp, wall: &WallClock, units: Units) -> Result<Self> {
        let today = now.to_zoned_datetime(wall.zone.clone()).date();
        let (term, next) = at_hand(read.running_terms().await?, now, &wall.zone);
        let by = next.as_ref().map(|meeting| meeting.on_day.0);
        let by = by.or_else(|| today.checked_add(SOON.days()).ok()).unwrap_or(today).max(today);
        let since = Instant(now.checked_sub((NEWS * 24).hours()).unwrap_or(now));
        let mut things: Vec<(PersonId, Thing)> = Vec::new();
        for due in read.frames_due(Day(by)).await? {
            things.push((due.weaver_id, frame(due, today, next.as_ref(), wall)));
        }
        let mut in_term = Vec::new();
        if let Some(term) = &term {
            in_term = read.enrolled(term.id).await?;
            let expected: Vec<PersonId> = in_term.iter().map(|one| one.person_id).collect();
            let outlook = Outlook::load(read, term, &expected, (now, &wall.zone), units).await?;
            things.extend(looked_ahead(&outlook, by));
        }
        things.extend(news(read.untold(since).await?, today, wall));
        let told: HashSet<(String, PersonId)> = read.told_since(since).await?.into_iter().collect();
        things.retain(|(person, thing)| !told.contains(&(thing.about.clone(), *person)));
        let people: HashMap<PersonId, Person> =
            read.people().await?.into_iter().map(|one| (one.id, one)).collect();
        let dates = term.map(|term| {
            let of = |id| people.get(&id).map(|one| (one.name.clone(), one.contact.clone()));
            let people = in_term.iter().filter_map(|one| of(one.person_id)).collect();
            TermDates { days: days(&term, now, wall), term: term.name, people }
        });
        let dates = dates.filter(|dates| !dates.days.is_empty() && !dates.people.is_empty());
        Ok(Self { messages: by_person(things, &people), dates })
    }

    /// What one person is to be told of these things.
    pub fn of(&self, person: PersonId, about: &[&str]) -> Vec<(String, Event)> {
        let own = self.messages.iter().filter(|message| message.person == person);
        own.flat_map(|message| &message.things)
            .filter(|thing| about.contains(&thing.about.as_str()))
            .map(|thing| (thing.about.clone(), thing.event.clone()))
            .collect()
    }
}

/// One message to each person, by name; its things the most urgent first. Who left is told nothing.
fn by_person(things: Vec<(PersonId, Thing)>, people: &HashMap<PersonId, Person>) -> Vec<Message> {
    let mut messages: BTreeMap<(String, PersonId), Message> = BTreeMap::new();
    for (id, thing) in things {
        let Some(person) = people.get(&id) else { continue };
        let key = (crate::store::people::name_key(&person.name), id);
        let message = messages.entry(key).or_insert_with(|| Message {
            person: id,
            name: person.name.clone(),
            contact: person.contact.clone(),
            things: Vec::new(),
        });
        // A frame that is overdue stands among the notices, too.
        if message.things.iter().all(|one| one.about != thing.about) {
            message.things.push(thing);
        }
    }
    let urgency =
        |thing: &Thing| ["bad", "warn", "good"].iter().position(|tone| *tone == thing.tone).unwrap_or(3);
    let mut messages: Vec<Message> = messages.into_values().collect();
    for message in &mut messages {
        message.things.sort_by_key(urgency);
    }
    messages
}

/// A frame that is due, or should be back.
fn frame(due: Due, today: civil::Date, next: Option<&Meeting>, wall: &WallClock) -> Thing {
    let Due { loan_id, frame_tag, rug, weaver, due_on, .. } = due;
    let day = due_on.0;
    let (frame, with) = (isolated(&frame_tag), isolated(&rug));
    if day < today {
        let bring = next.map_or_else(
            || "Please bring it back".to_owned(),
            |next| {
                let (day, time) =
                    (dates::short_day(next.on_day.0), dates::time(next.starts_at.0, wall.hours));
                format!("Please bring it to the next meeting, {day}, {time}")
            },
        );
        let says = format!("Frame {frame}, with {with} on it, was due back on {}. {bring}.", dates::day(day));
        let event = Event::Overdue { frame: frame_tag, rug, weaver, due: day };
        return Thing {
            about: format!("overdue:{loan_id}:{day}"),
            event,
            tone: "bad",
            label: "frame overdue",
            says,
        };
    }
    let says = format!("Frame {frame}, with {with} on it, is due back on {}.", dates::day(day));
    let event = Event::DueSoon { frame: frame_tag, rug, weaver, due: day };
    Thing { about: format!("due:{loan_id}:{day}"), event, tone: "warn", label: "frame due", says }
}

/// Cloth that may run out and rugs that may not be finished: told once until a meeting.
fn looked_ahead(outlook: &Outlook, by: civil::Date) -> Vec<(PersonId, Thing)> {
    let short = outlook.short.iter().map(|line| {
        let (rug, weaver, colour) = (line.rug.clone(), line.weaver.clone(), line.colour.name.clone());
        let says = format!(
            "{} may run out before {} is done. Please bring what you have left, and we’ll weigh it and look for more.",
            isolated(&colour),
            isolated(&rug)
        );
        let about = format!("short:{}:{}:{by}", line.id, colour.to_lowercase());
        let event = Event::ClothShort { rug, weaver, colour };
        (line.weaver_id, Thing { about, event, tone: "warn", label: "cloth may run out", says })
    });
    let late = outlook.late.iter().map(|line| {
        let says = format!(
            "{} may not be finished by the last meeting. An hour more at home each week helps; so does coming every time.",
            isolated(&line.rug)
        );
        let event = Event::MayNotFinish { rug: line.rug.clone(), weaver: line.weaver.clone() };
        let about = format!("late:{}:{by}", line.id);
        (line.weaver_id, Thing { about, event, tone: "plain", label: "may not finish", says })
    });
    short.chain(late).collect()
}

/// What notices say that are still news.
fn news(untold: Vec<Untold>, today: civil::Date, wall: &WallClock) -> Vec<(PersonId, Thing)> {
    // A meeting that was called off and is on again was told of twice: what was said last holds.
    let meeting = |about: &str| {
        about.strip_prefix("meeting:").and_then(|rest| rest.split(':').next()).map(str::to_owned)
    };
    let mut last: HashMap<(String, PersonId), usize> = HashMap::new();
    for (nth, one) in untold.iter().enumerate() {
        if let Some(id) = meeting(&one.about) {
            last.insert((id, one.person_id), nth);
        }
    }
    let holds = |nth: usize, one: &Untold| {
        meeting(&one.about).is_none_or(|id| last.get(&(id, one.person_id)) == Some(&nth))
    };
    let mut things = Vec::new();
    for (nth, one) in untold.into_iter().enumerate() {
        if !holds(nth, &one) {
            continue;
        }
        if let Some((tone, label, says)) = said(&one.event, today, wall) {
            things.push((one.person_id, Thing { about: one.about, event: one.event, tone, label, says }));
        }
    }
    things
}

/// A notice as it is said to the person; nothing where it is no news any more, or found afresh above.
fn said(event: &Event, today: civil::Date, wall: &WallClock) -> Option<(&'static str, &'static str, String)> {
    let time = |at: civil::Time| dates::time(at, wall.hours);
    match event {
        Event::CalledOff { term, day, starts } if *day >= today => Some((
            "bad",
            "called off",
            format!(
                "We don’t meet on {}, {}: {} is off that day.",
                dates::day(*day),
                time(*starts),
                isolated(term)
            ),
        )),
        Event::OnAgain { term, day, starts } if *day >= today => Some((
            "bad",
            "on again",
            format!("{} meets after all on {}, {}.", isolated(term), dates::day(*day), time(*starts)),
        )),
        Event::YourTurn { frame, rug, day, starts, until, .. } if *day >= today => Some((
            "good",
            "their turn",
            format!(
                "It’s your turn: frame {} for {} is yours from {}, {}, to {}.",
                isolated(frame),
                isolated(rug),
                dates::day(*day),
                time(*starts),
                dates::day(*until)
            ),
        )),
        Event::PlaceFree { term, .. } => {
            Some(("good", "has a place", format!("A place in {} is free, and it’s yours.", isolated(term))))
        }
        _ => None,
    }
}

/// The meetings ahead, a line each.
fn days(term: &Running, now: Timestamp, wall: &WallClock) -> Vec<String> {
    let ahead = term
        .meetings
        .iter()
        .filter(|one| !one.called_off && one.end(&wall.zone).is_some_and(|end| end > now));
    ahead
        .map(|one| format!("{}, {}", dates::day(one.on_day.0), dates::time(one.starts_at.0, wall.hours)))
        .collect()
}
