//! What a notice says: a subject and a sentence for people, and the same as data for programs.
use jiff::civil;
use serde::Serialize;

use crate::store::notices::{Event, Recipient};
use crate::store::{Instant, NoticeId};
use crate::units::dates::{Hours, time};

/// A notice in words.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Words {
    /// One line.
    pub subject: String,
    /// A sentence or two.
    pub text: String,
}

fn day(day: civil::Date) -> String {
    day.strftime("%A %-d %B").to_string()
}

/// A notice in words, its days written out, its times as the workroom's clock has them.
pub fn words(event: &Event, hours: Hours) -> Words {
    let (subject, text) = match event {
        Event::Overdue { frame, rug, weaver, due } => (
            format!("Frame {frame} is overdue"),
            format!("Frame {frame} was due back on {}. {weaver} has it, with {rug} on it.", day(*due)),
        ),
        Event::CalledOff { term, day: on, starts } => (
            format!("Called off: {}", day(*on)),
            format!("The meeting of {term} on {} at {} won’t take place.", day(*on), time(*starts, hours)),
        ),
        Event::OnAgain { term, day: on, starts } => (
            format!("On again: {}", day(*on)),
            format!(
                "The meeting of {term} on {} at {} takes place after all.",
                day(*on),
                time(*starts, hours)
            ),
        ),
        Event::YourTurn { frame, rug, weaver, day: on, starts, until } => (
            format!("Frame {frame} for {weaver} on {}", day(*on)),
            format!(
                "It is {weaver}’s turn: frame {frame} for {rug} is handed out on {} at {}, until {}.",
                day(*on),
                time(*starts, hours),
                day(*until)
            ),
        ),
        Event::PlaceFree { term, weaver } => (
            format!("A place in {term} for {weaver}"),
            format!("A place in {term} is free, and it is {weaver}’s."),
        ),
        Event::DueSoon { frame, rug, weaver, due } => (
            format!("Frame {frame} is due on {}", day(*due)),
            format!("Frame {frame} is due back on {}. {weaver} has it, with {rug} on it.", day(*due)),
        ),
        Event::ClothShort { rug, weaver, colour } => (
            format!("{colour} may run out"),
            format!("{colour} may run out before {weaver}’s {rug} is done."),
        ),
        Event::MayNotFinish { rug, weaver } => (
            format!("{rug} may not be finished"),
            format!("{weaver}’s {rug} may not be finished by the last meeting."),
        ),
        Event::Trial => (
            "A trial".to_owned(),
            "Somebody tried this receiver out. Nothing happened in the workroom.".to_owned(),
        ),
    };
    Words { subject, text }
}

/// The kind of an event, as programs are told it: the thing and what became of it.
pub const fn kind(event: &Event) -> &'static str {
    match event {
        Event::Overdue { .. } => "frame.overdue",
        Event::CalledOff { .. } => "meeting.called-off",
        Event::OnAgain { .. } => "meeting.on-again",
        Event::YourTurn { .. } => "frame.your-turn",
        Event::PlaceFree { .. } => "place.free",
        Event::DueSoon { .. } => "frame.due-soon",
        Event::ClothShort { .. } => "rug.cloth-short",
        Event::MayNotFinish { .. } => "rug.may-not-finish",
        Event::Trial => "trial",
    }
}

/// A message's body: type, timestamp and data, as the Standard Webhooks specification wants them.
#[derive(Serialize)]
struct Body<'a> {
    r#type: &'static str,
    timestamp: String,
    data: Data<'a>,
}

#[derive(Serialize)]
struct Data<'a> {
    id: String,
    workroom: &'a str,
    subject: String,
    text: String,
    event: &'a Event,
    people: Vec<Person<'a>>,
}

#[derive(Serialize)]
struct Person<'a> {
    name: &'a str,
    #[serde(skip_serializing_if = "Option::is_none")]
    contact: Option<&'a str>,
}

/// The body that a receiver is sent: how to reach people only where it may know that.
pub fn body<'a>(
    (workroom, hours): (&str, Hours),
    id: NoticeId,
    at: Instant,
    event: &Event,
    people: &[&'a Recipient],
    contacts: bool,
) -> String {
    let Words { subject, text } = words(event, hours);
    let person = |who: &&'a Recipient| Person { name: &who.name, contact: contacts.then_some(&*who.contact) };
    let people = people.iter().map(person).collect();
    let data = Data { id: id.to_string(), workroom, subject, text, event, people };
    let body = Body { r#type: kind(event), timestamp: at.0.to_string(), data };
    serde_json::json!(body).to_string()
}

/// The first e-mail address in what is known of how to reach somebody.
pub fn address_in(contact: &str) -> Option<&str> {
    contact
        .split(|c: char| c.is_whitespace() || matches!(c, ',' | ';' | '<' | '>' | '(' | ')'))
        .map(|word| word.trim_matches(['.', ':', '"']))
        .find(|word| word.contains('@') && word.parse::<lettre::Address>().is_ok())
}
