//! Terms: their list, adding one with a row of meetings, changing its name. One term's page is in `meetings`.
use askama_web::WebTemplate;
use axum::extract::State;
use axum::response::Response;
use jiff::ToSpan as _;
use jiff::civil;

use super::meeting_times::{MeetingTimes, refuse_skipped};
use crate::store::terms::Term;
use crate::store::{self, EntityKind, Read, TermId};
use crate::units::dates;
use crate::web::http::answer::{conflict, done, invalid};
use crate::web::http::form::{LINE, NOTE};
use crate::web::http::id::{Id, PathId as _};
use crate::web::http::route::{Route, Who, get, post};
use crate::web::{App, CurrentUser, Form, FormData, Layout, Result};

/// The routes of this file.
pub fn routes() -> Vec<Route> {
    vec![
        get("/terms", Who::Instructor, list).kept(),
        get("/terms/new", Who::Instructor, new),
        post("/terms", Who::Instructor, add),
        get("/terms/{id}/edit", Who::Instructor, edit),
        post("/terms/{id}", Who::Instructor, save),
    ]
}

#[derive(askama::Template, WebTemplate)]
#[template(path = "terms/list.html")]
struct TermsPage {
    layout: Layout,
    terms: Vec<TermLine>,
}

/// A term as its list shows it.
struct TermLine {
    term: Term,
    stretch: Stretch,
}

/// How a term lies to the day.
enum Stretch {
    NoMeetings,
    Ahead,
    Running,
    Over,
}

impl TermLine {
    fn new(term: Term, today: civil::Date) -> Self {
        let stretch = match (term.first_day, term.last_day) {
            (Some(first), _) if today < first.0 => Stretch::Ahead,
            (_, Some(last)) if last.0 < today => Stretch::Over,
            (Some(_), Some(_)) => Stretch::Running,
            _ => Stretch::NoMeetings,
        };
        Self { term, stretch }
    }
}

async fn list(State(app): State<App>, me: CurrentUser, mut read: Read) -> Result<TermsPage> {
    let today = me.today(&app);
    let terms = read.terms().await?.into_iter().map(|term| TermLine::new(term, today)).collect();
    Ok(TermsPage { layout: me.layout(), terms })
}

/// From when to when a term runs, in words; nothing without meetings.
pub(in crate::web) fn from_to(term: &Term) -> Option<String> {
    match (term.first_day?.0, term.last_day?.0) {
        (first, last) if first == last => Some(dates::day(first)),
        (first, last) => Some(format!("{} to {}", dates::day(first), dates::day(last))),
    }
}

#[derive(askama::Template, WebTemplate)]
#[template(path = "terms/new.html")]
struct NewTermPage {
    layout: Layout,
    form: Form,
}

async fn new(me: CurrentUser) -> NewTermPage {
    let form = Form::blank(me.units()).with("every", 1).with("count", 10).with("minutes", 150);
    NewTermPage { layout: me.layout(), form }
}

/// A first day and others a whole number of weeks apart: a course's evenings.
fn series(first: civil::Date, every: i64, count: i64) -> Vec<civil::Date> {
    (0..count).filter_map(|n| first.checked_add((n * every).weeks()).ok()).collect()
}

async fn add(State(app): State<App>, me: CurrentUser, posted: FormData) -> Result<Response> {
    let mut form = posted.form_of(&me);
    let fields = read_fields(&mut form);
    let times = MeetingTimes::read(&mut form, "The first day");
    let every = form.count("every", "The number of weeks", 1..=8);
    let count = form.count("count", "The number of meetings", 1..=60);
    let mut days = Vec::new();
    if let (Some(times), Some(every), Some(count)) = (&times, every, count) {
        days = series(times.day, every, count);
        refuse_skipped(&mut form, &me.zone(), times.starts, &days);
    }
    let (Some(fields), Some(times), true) = (fields, times, form.is_ok()) else {
        return Ok(invalid(NewTermPage { layout: me.layout(), form }));
    };
    let id = TermId::new();
    let to = format!("/terms/{id}?said=added");
    let mut tx = app.write(&me).await?;
    tx.idempotent(form.key, &to).await?;
    tx.add_term(id, &fields.name, &fields.note).await?;
    if fields.most.is_some() {
        tx.limit_term(id, fields.most).await?;
    }
    for day in days {
        tx.add_meeting(&times.meeting(id, day)).await?;
    }
    done(tx, &to).await
}

/// What can be said of a term in a form.
struct TermFields {
    name: String,
    note: String,
    /// How many weavers it takes; `None` for any number.
    most: Option<i64>,
}

fn read_fields(form: &mut Form) -> Option<TermFields> {
    let (name, note) = (form.text("name", "The name", LINE), form.optional_text("note", "The note", NOTE));
    let most =
        form.optional("most", None, |form| form.count("most", "The size of the class", 1..=500).map(Some));
    Some(TermFields { name: name?, note: note?, most: most? })
}

/// How many weavers a term takes, as its field says it.
fn most_typed(term: &Term) -> String {
    term.most.map_or_else(String::new, |most| most.to_string())
}

#[derive(askama::Template, WebTemplate)]
#[template(path = "terms/edit.html")]
struct EditTermPage {
    layout: Layout,
    term: Term,
    form: Form,
}

async fn edit(me: CurrentUser, mut read: Read, Id(id): Id<TermId>) -> Result<EditTermPage> {
    let term = read.term(id).await?.ok_or_else(TermId::none)?;
    let form = Form::blank(me.units())
        .with("name", &term.name)
        .with("note", &term.note)
        .with("most", most_typed(&term))
        .with("revision", term.revision);
    Ok(EditTermPage { layout: me.layout(), term, form })
}

/// Who changed a term's name or note last; enrolments stand in a term's record too, but they clash with nobody.
async fn last_editor(read: &mut Read, id: TermId) -> Result<String> {
    let lines = read.audit_log_of(EntityKind::Term, &id.to_string()).await?;
    let who = lines.into_iter().find(|line| line.act == "changed").and_then(|line| line.who);
    Ok(who.unwrap_or_else(|| "somebody".into()))
}

async fn save(
    State(app): State<App>,
    me: CurrentUser,
    Id(id): Id<TermId>,
    posted: FormData,
) -> Result<Response> {
    let mut tx = app.write(&me).await?;
    let term = tx.term(id).await?.ok_or_else(TermId::none)?;
    let mut form = posted.form_of(&me);
    let page = |term, form| EditTermPage { layout: me.layout(), term, form };
    let Some(fields) = read_fields(&mut form) else { return Ok(invalid(page(term, form))) };
    match tx.change_term(id, form.revision(), &fields.name, &fields.note).await {
        Ok(()) => {
            tx.limit_term(id, fields.most).await?;
            done(tx, &format!("/terms/{id}?said=saved")).await
        }
        Err(store::Error::Stale) => {
            let now = tx.term(id).await?.ok_or_else(TermId::none)?;
            let who = last_editor(&mut tx, id).await?;
            let fields = [
                ("name", "The name", now.name.clone()),
                ("note", "The note", now.note.clone()),
                ("most", "The size of the class", most_typed(&now)),
            ];
            form.conflict(&who, now.revision, &fields);
            Ok(conflict(page(now, form)))
        }
        Err(other) => Err(other.into()),
    }
}
