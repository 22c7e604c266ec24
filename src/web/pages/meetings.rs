//! One term's page: its meetings, called off and on, and who is enrolled. The list of terms is in `terms`.
use askama_web::WebTemplate;
use axum::extract::State;
use axum::response::Response;
use jiff::ToSpan as _;

use super::meeting_times::{MeetingTimes, refuse_skipped};
use super::terms::from_to;
use crate::store::notices::Event;
use crate::store::terms::{Enrolled, Meeting, Term};
use crate::store::{MeetingId, PersonId, Read, TermId};
use crate::units::dates;
use crate::web::http::answer::{done, invalid};
use crate::web::http::id::{Id, PathId as _};
use crate::web::http::route::{Route, Who, get, post};
use crate::web::{App, CurrentUser, Form, FormData, Layout, Result};

/// The routes of this file.
pub fn routes() -> Vec<Route> {
    vec![
        get("/terms/{id}", Who::Instructor, show_term),
        post("/terms/{id}/meetings", Who::Instructor, add_meeting),
        post("/terms/{id}/enrol", Who::Instructor, enrol),
        post("/terms/{id}/withdraw", Who::Instructor, withdraw),
        post("/meetings/{id}/off", Who::Instructor, call_off),
        post("/meetings/{id}/on", Who::Instructor, call_on),
    ]
}

/// A meeting as its term's page shows it.
struct MeetingLine {
    meeting: Meeting,
    past: bool,
}

impl MeetingLine {
    fn day(&self) -> String {
        dates::day(self.meeting.on_day.0)
    }

    fn starts(&self) -> String {
        dates::time(self.meeting.starts_at.0)
    }

    fn act(&self) -> &'static str {
        match (self.past, self.meeting.called_off) {
            (false, false) => "Call off",
            (false, true) => "Call on again",
            (true, false) => "Did not happen",
            (true, true) => "Did happen",
        }
    }

    fn length(&self) -> String {
        dates::minutes(self.meeting.minutes as f64)
    }
}

#[derive(askama::Template, WebTemplate)]
#[template(path = "meetings/list.html")]
struct TermPage {
    layout: Layout,
    term: Term,
    meetings: Vec<MeetingLine>,
    /// Where the next meeting stands among them, counted from 1 as the page's loop does.
    next: usize,
    enrolled: Vec<Enrolled>,
    others: Vec<Enrolled>,
    /// Whether there is a rug whose papers can be printed.
    papers: bool,
    /// For one more meeting, and for the weavers to enrol.
    form: Form,
}

impl TermPage {
    async fn load(
        app: &App,
        me: &CurrentUser,
        read: &mut Read,
        id: TermId,
        form: Option<Form>,
    ) -> Result<Self> {
        let term = read.term(id).await?.ok_or_else(TermId::none)?;
        let (now, zone) = (app.clock.now(), me.zone());
        let line = |meeting: Meeting| {
            let past = meeting.end(&zone).is_none_or(|end| end <= now);
            MeetingLine { meeting, past }
        };
        let meetings: Vec<_> = read.meetings(id).await?.into_iter().map(line).collect();
        let next = meetings.iter().position(|line| !line.past && !line.meeting.called_off);
        let form = form.unwrap_or_else(|| one_more(me, &meetings));
        Ok(Self {
            layout: me.layout(),
            term,
            next: next.map_or(0, |at| at + 1),
            meetings,
            enrolled: read.enrolled(id).await?,
            others: read.not_enrolled(id).await?,
            papers: read.has_rugs_to_make(id).await?,
            form,
        })
    }
}

/// The form for one more meeting, filled in with the last one's time, a week on.
fn one_more(me: &CurrentUser, meetings: &[MeetingLine]) -> Form {
    let form = Form::blank(me.units());
    match meetings.last().map(|line| &line.meeting) {
        None => form,
        Some(last) => form
            .with("day", last.on_day.0.checked_add(1.week()).unwrap_or(last.on_day.0))
            .with("starts", dates::time(last.starts_at.0))
            .with("minutes", last.minutes),
    }
}

async fn show_term(
    State(app): State<App>,
    me: CurrentUser,
    mut read: Read,
    Id(id): Id<TermId>,
) -> Result<TermPage> {
    TermPage::load(&app, &me, &mut read, id, None).await
}

async fn add_meeting(
    State(app): State<App>,
    me: CurrentUser,
    Id(id): Id<TermId>,
    posted: FormData,
) -> Result<Response> {
    let mut tx = app.write(&me).await?;
    tx.term(id).await?.ok_or_else(TermId::none)?;
    let mut form = posted.form_of(&me);
    let times = MeetingTimes::read(&mut form, "The day");
    if let Some(times) = &times {
        refuse_skipped(&mut form, &me.zone(), times.starts, &[times.day]);
    }
    let (Some(times), true) = (times, form.is_ok()) else {
        return Ok(invalid(TermPage::load(&app, &me, &mut tx, id, Some(form)).await?));
    };
    let to = format!("/terms/{id}?said=added");
    tx.idempotent(form.key, &to).await?;
    match tx.add_meeting(&times.meeting(id, times.day)).await {
        Ok(()) => done(tx, &to).await,
        Err(e) if e.violates("u_meeting__term_id__on_day__starts_at") => {
            form.add_error("day", "The term has a meeting on this day and at this time already.");
            // What the database refused can't read any more.
            drop(tx);
            let mut read = app.store.read().await?;
            Ok(invalid(TermPage::load(&app, &me, &mut read, id, Some(form)).await?))
        }
        Err(other) => Err(other.into()),
    }
}

async fn enrol(
    State(app): State<App>,
    me: CurrentUser,
    Id(id): Id<TermId>,
    posted: FormData,
) -> Result<Response> {
    let mut tx = app.write(&me).await?;
    tx.term(id).await?.ok_or_else(TermId::none)?;
    let form = posted.form_of(&me);
    let chosen: Option<Vec<PersonId>> = form.values("weaver").map(|text| text.parse().ok()).collect();
    let chosen = chosen.filter(|chosen| !chosen.is_empty());
    let Some(chosen) = chosen else {
        let mut page = TermPage::load(&app, &me, &mut tx, id, None).await?;
        page.form.add_error("weaver", "Tick at least one weaver.");
        return Ok(invalid(page));
    };
    for weaver in chosen {
        tx.enrol(id, weaver).await?;
    }
    done(tx, &format!("/terms/{id}?said=enrolled")).await
}

async fn withdraw(
    State(app): State<App>,
    me: CurrentUser,
    Id(id): Id<TermId>,
    posted: FormData,
) -> Result<Response> {
    let mut tx = app.write(&me).await?;
    tx.term(id).await?.ok_or_else(TermId::none)?;
    let weaver = posted.form_of(&me).value("person").parse().map_err(|_| PersonId::none())?;
    tx.withdraw(id, weaver).await?;
    done(tx, &format!("/terms/{id}?said=withdrawn")).await
}

async fn call_off(State(app): State<App>, me: CurrentUser, Id(id): Id<MeetingId>) -> Result<Response> {
    set_called_off(&app, &me, id, true).await
}

async fn call_on(State(app): State<App>, me: CurrentUser, Id(id): Id<MeetingId>) -> Result<Response> {
    set_called_off(&app, &me, id, false).await
}

async fn set_called_off(app: &App, me: &CurrentUser, id: MeetingId, off: bool) -> Result<Response> {
    let mut tx = app.write(me).await?;
    let meeting = tx.meeting(id).await?.ok_or_else(MeetingId::none)?;
    let term = tx.term(meeting.term_id).await?.ok_or_else(TermId::none)?;
    let past = meeting.end(&me.zone()).is_none_or(|end| end <= app.clock.now());
    let revision = tx.call_off(id, off).await?;
    // Of a meeting that is over nobody needs to be told: it is set right in the books.
    if let (Some(revision), false) = (revision, past) {
        let enrolled = tx.enrolled(term.id).await?;
        let (term, day, starts) = (term.name, meeting.on_day.0, meeting.starts_at.0);
        let happening =
            if off { Event::CalledOff { term, day, starts } } else { Event::OnAgain { term, day, starts } };
        let people = enrolled.iter().map(|who| who.person_id).collect();
        tx.enqueue(&(format!("meeting:{id}:{revision}"), happening, people)).await?;
    }
    let said = if off { "called-off" } else { "called-on" };
    done(tx, &format!("/terms/{}?said={said}", meeting.term_id)).await
}
