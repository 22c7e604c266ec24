//! Messages: who must be told what, with a text to copy or to send from one's own phone. What notices are and how they go out by
//! themselves is in `notices`.
use askama_web::WebTemplate;
use axum::extract::State;
use axum::response::Response;

use crate::notify::address_in;
use crate::notify::reach::{mailto, mailto_all, number_in, sms};
use crate::services::messages::{Message, Messages, TermDates, Thing};
use crate::store::{PersonId, Read};
use crate::web::http::answer::done;
use crate::web::http::id::PathId as _;
use crate::web::http::route::{Route, Who, get, post};
use crate::web::{App, CurrentUser, FormData, Layout, Result};

/// The routes of this file.
pub fn routes() -> Vec<Route> {
    vec![get("/messages", Who::Instructor, list), post("/messages/told", Who::Instructor, told)]
}

/// A message as its page shows it.
struct Card {
    person: PersonId,
    name: String,
    contact: String,
    things: Vec<Thing>,
    text: String,
    /// How many lines of it show at once.
    rows: usize,
    sms: Option<String>,
    mail: Option<String>,
}

impl Card {
    fn of(message: Message, workroom: &str) -> Self {
        let says: Vec<&str> = message.things.iter().map(|thing| thing.says.as_str()).collect();
        let text = letter(&message.name, &says.join("\n\n"), workroom);
        let subject = workroom;
        Self {
            sms: number_in(&message.contact).map(|number| sms(&number, &text)),
            mail: address_in(&message.contact).map(|address| mailto(address, subject, &text)),
            rows: lines(&text),
            text,
            person: message.person,
            name: message.name,
            contact: message.contact,
            things: message.things,
        }
    }
}

/// A text with its greeting, and from whom it is.
fn letter(name: &str, says: &str, workroom: &str) -> String {
    // Who is written to by their whole name is written to by an office.
    let called = name.split_whitespace().next().unwrap_or(name);
    format!("Hello {called},\n\n{says}\n\n{workroom}")
}

/// About so many lines does a text take in a field.
fn lines(text: &str) -> usize {
    text.lines().map(|line| line.chars().count() / 60 + 1).sum::<usize>().clamp(4, 12)
}

/// When the class meets, for all of it.
struct Everybody {
    text: String,
    rows: usize,
    /// A mail to all who have an address.
    mail: Option<String>,
    /// A text to each who has a number.
    sms: Vec<(String, String)>,
    /// Those who have neither.
    unreached: Vec<String>,
}

impl Everybody {
    fn of(dates: &TermDates, workroom: &str) -> Self {
        let text = format!("{} meets on\n{}\n\n{workroom}", dates.term, dates.days.join("\n"));
        let contacts: Vec<&str> = dates.people.iter().map(|(_, contact)| contact.as_str()).collect();
        let to = |(name, contact): &(String, String)| Some((name.clone(), sms(&number_in(contact)?, &text)));
        let nowhere = |contact: &str| number_in(contact).is_none() && address_in(contact).is_none();
        Self {
            mail: mailto_all(&contacts, &dates.term, &text),
            sms: dates.people.iter().filter_map(to).collect(),
            unreached: dates
                .people
                .iter()
                .filter(|(_, contact)| nowhere(contact))
                .map(|(name, _)| name.clone())
                .collect(),
            rows: lines(&text),
            text,
        }
    }
}

#[derive(askama::Template, WebTemplate)]
#[template(path = "messages/list.html")]
struct MessagesPage {
    layout: Layout,
    cards: Vec<Card>,
    everybody: Option<Everybody>,
    mail: bool,
}

async fn list(State(app): State<App>, me: CurrentUser, mut read: Read) -> Result<MessagesPage> {
    let found = Messages::load(&mut read, app.clock.now(), &me.wall(), me.units()).await?;
    let cards = found.messages.into_iter().map(|message| Card::of(message, me.workroom())).collect();
    let everybody = found.dates.map(|dates| Everybody::of(&dates, me.workroom()));
    Ok(MessagesPage { layout: me.layout(), cards, everybody, mail: app.config.mail })
}

async fn told(State(app): State<App>, me: CurrentUser, posted: FormData) -> Result<Response> {
    let form = posted.form_of(&me);
    let person: PersonId = form.value("person").parse().map_err(|_| PersonId::none())?;
    let about: Vec<&str> = form.values("about").collect();
    let mut tx = app.write(&me).await?;
    tx.person(person).await?.filter(|one| one.left_at.is_none()).ok_or_else(PersonId::none)?;
    // What was told meanwhile, or is no news any more, is left as it is.
    let found = Messages::load(&mut tx, app.clock.now(), &me.wall(), me.units()).await?;
    tx.told_by_hand(person, &found.of(person, &about)).await?;
    done(tx, "/messages?said=told").await
}
